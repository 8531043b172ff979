//! Lengths as decimal text, written only as finely as a figure can mean them.
//!
//! Method: a length is scaled to whole steps of its last decimal, rounded half away from zero and written as an
//! integer with a point in it. The step is at most [`RESOLUTION`] of the figure's height, so that no length moves by
//! more than half of that; the contract allows spans an error of 1e-6. Zeros at the end are left out.

use std::io::Write as _;

/// Coarsest step of a written length, as a share of the figure's height: a tenth of the error that a span may have.
pub const RESOLUTION: f64 = 1e-7;
/// Most decimals: beyond them a double of ordinary size has no digits left.
const MOST_DECIMALS: f64 = 15.0;
/// From here on not every integer is a double (IEEE 754), so that scaling could invent digits.
const WHOLE: f64 = 9_007_199_254_740_992.0;

/// Characters of the longest number: a sign, a point and a digit before it, and sixteen digits of [`WHOLE`].
const MOST_DIGITS: usize = 24;

/// How many decimals lengths are written with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Decimals {
    count: usize,
    /// `10^count`.
    factor: f64,
}

impl Decimals {
    /// The decimals for lengths of a figure of this height. A height that is not a positive number keeps all digits.
    pub fn for_height(height: f64) -> Self {
        let wanted = -(RESOLUTION * height.abs()).log10();
        let count = if wanted.is_finite() {
            wanted.ceil().clamp(0.0, MOST_DECIMALS)
        } else {
            MOST_DECIMALS
        };
        Self {
            count: count as usize,
            factor: 10f64.powi(count as i32),
        }
    }

    /// Appends a finite length as a plain decimal number, valid in JSON and CSV.
    pub fn push(self, value: f64, out: &mut Vec<u8>) {
        let scaled = (value * self.factor).abs();
        // What is not a number is neither.
        if scaled.is_nan() || scaled >= WHOLE {
            // Writing to memory cannot fail.
            let _ = write!(out, "{value}");
            return;
        }
        // Half away from zero; the difference of neighbours is exact.
        let below = scaled as i64;
        let steps = below as u64 + u64::from(scaled - below as f64 >= 0.5);
        let one = self.factor as u64;
        let (mut whole, mut part) = (steps / one, steps % one);
        let mut text = [0; MOST_DIGITS];
        let mut at = text.len();
        if part > 0 {
            let mut decimals = self.count;
            while part.is_multiple_of(10) {
                part /= 10;
                decimals -= 1;
            }
            for _ in 0..decimals {
                at -= 1;
                text[at] = b'0' + (part % 10) as u8;
                part /= 10;
            }
            at -= 1;
            text[at] = b'.';
        }
        loop {
            at -= 1;
            text[at] = b'0' + (whole % 10) as u8;
            whole /= 10;
            if whole == 0 {
                break;
            }
        }
        if value < 0.0 && steps > 0 {
            at -= 1;
            text[at] = b'-';
        }
        out.extend_from_slice(&text[at..]);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(height: f64, value: f64) -> String {
        let mut out = Vec::new();
        Decimals::for_height(height).push(value, &mut out);
        String::from_utf8(out).expect("digits")
    }

    /// Worked by hand: 178 units ask for steps of 1e-5, 1.78 units for 1e-7.
    #[test]
    fn lengths_keep_the_decimals_that_the_height_asks_for() {
        for (height, value, shown) in [
            (178.0, 12.345_678_9, "12.34568"),
            (178.0, -0.000_004, "0"),
            (178.0, -0.000_006, "-0.00001"),
            (178.0, 100.0, "100"),
            (178.0, 0.5, "0.5"),
            (178.0, -178.000_01, "-178.00001"),
            (1.78, 0.123_456_78, "0.1234568"),
            (5e7, 123_456.5, "123457"),
            (f64::NAN, 0.1, "0.1"),
            (0.0, 2.0, "2"),
        ] {
            assert_eq!(text(height, value), shown, "{value} of a figure of {height}");
        }
    }

    /// Half a step is at most 5e-8 of the height; the quotient of two doubles adds far less than a hundredth of it.
    #[test]
    fn a_written_length_reads_back_within_half_a_step() {
        for height in [0.017, 1.6, 178.0, 17_800.0] {
            for k in 0..1000 {
                let value = height * (f64::from(k) * 0.618_033_988_75).fract();
                let back: f64 = text(height, value).parse().expect("a number");
                assert!(
                    (back - value).abs() <= 0.505 * RESOLUTION * height,
                    "{value} became {back}"
                );
            }
        }
    }
}
