//! Walks over the bytes of an OBJ file and reads numbers exactly.
//!
//! Decimal to double: where the digits make an integer of at most 2^53 and the power of ten is at most 22,
//! both are doubles without rounding, so one multiplication or division rounds once and is exact
//! (Clinger 1990, "How to read floating point numbers accurately"). Everything else goes to the standard
//! library, which is exact too. Digits are taken eight at a time (Lemire 2021, "Number parsing at a
//! gigabyte per second").
//!
//! The end of the bytes reads as a line end.

/// Powers of ten that are doubles without rounding.
const POWERS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18,
    1e19, 1e20, 1e21, 1e22,
];
/// Ten to the number of digits taken at once.
const SHIFTS: [u64; 9] = [
    1,
    10,
    100,
    1_000,
    10_000,
    100_000,
    1_000_000,
    10_000_000,
    100_000_000,
];
/// Every integer up to this one is a double.
const EXACT: u64 = 1 << 53;
/// Digits that surely fit into 64 bits.
pub(super) const SAFE_DIGITS: usize = 19;

/// A place in the bytes.
#[derive(Clone, Copy)]
pub(super) struct Cursor<'a> {
    pub(super) bytes: &'a [u8],
    pub(super) at: usize,
}

pub(super) fn is_line_end(b: u8) -> bool {
    b == b'\n' || b == b'\r'
}

pub(super) fn is_blank(b: u8) -> bool {
    // Space, tab, vertical tab, form feed.
    matches!(b, b' ' | b'\t' | 0x0b | 0x0c)
}

/// What may stand right behind a number. A `#` may not: old writers print NaN as `1.#IND`.
fn ends_number(b: u8) -> bool {
    is_blank(b) || is_line_end(b) || b == b'\\'
}

impl<'a> Cursor<'a> {
    #[inline]
    pub(super) fn byte(&self, at: usize) -> u8 {
        self.bytes.get(at).copied().unwrap_or(b'\n')
    }

    #[inline]
    pub(super) fn peek(&self) -> u8 {
        self.byte(self.at)
    }

    pub(super) fn at_end(&self) -> bool {
        self.at >= self.bytes.len()
    }

    /// Skips blanks, and line ends that a backslash takes back.
    #[inline]
    pub(super) fn skip_blanks(&mut self) {
        loop {
            let b = self.peek();
            if is_blank(b) {
                self.at += 1;
            } else if b == b'\\' && is_line_end(self.byte(self.at + 1)) {
                self.at += 1;
                self.skip_line_end();
            } else {
                return;
            }
        }
    }

    /// Skips one line end: LF, CR LF or CR. At the end of the bytes nothing is left to skip.
    #[inline]
    pub(super) fn skip_line_end(&mut self) {
        let crlf = self.peek() == b'\r' && self.bytes.get(self.at + 1) == Some(&b'\n');
        self.at = (self.at + 1 + usize::from(crlf)).min(self.bytes.len());
    }

    /// Skips to the line end, but not over it, and gives what was skipped.
    #[inline]
    pub(super) fn rest_of_line(&mut self) -> &'a [u8] {
        let rest = self.bytes.get(self.at..).unwrap_or_default();
        let length = line_length(rest);
        self.at += length;
        &rest[..length]
    }

    /// The characters up to the next blank or line end.
    pub(super) fn token(&self) -> &'a [u8] {
        let rest = self.bytes.get(self.at..).unwrap_or_default();
        let end = rest.iter().position(|&b| is_blank(b) || is_line_end(b));
        let token = &rest[..end.unwrap_or(rest.len())];
        // A backslash that takes back the line end is no part of the token.
        token.strip_suffix(b"\\").unwrap_or(token)
    }

    /// Appends the decimal digits that follow to `value`, wrapping on overflow; gives how many there were.
    #[inline]
    pub(super) fn digits(&mut self, value: &mut u64) -> usize {
        let start = self.at;
        while let Some(eight) = self.bytes.get(self.at..).and_then(|rest| rest.first_chunk::<8>()) {
            let word = u64::from_le_bytes(*eight) ^ 0x3030_3030_3030_3030;
            // Bytes 0 to 9 are digits; adding 118 carries any greater one into its highest bit.
            let other =
                (((word & 0x7f7f_7f7f_7f7f_7f7f) + 0x7676_7676_7676_7676) | word) & 0x8080_8080_8080_8080;
            let count = (other.trailing_zeros() / 8) as usize;
            if count == 0 {
                return self.at - start;
            }
            // The digits move to the end of the word, zeros stand before them.
            let word = word << (64 - 8 * count);
            *value = value.wrapping_mul(SHIFTS[count]).wrapping_add(eight_digits(word));
            self.at += count;
            if count < 8 {
                return self.at - start;
            }
        }
        while self.peek().is_ascii_digit() {
            *value = value.wrapping_mul(10).wrapping_add(u64::from(self.peek() - b'0'));
            self.at += 1;
        }
        self.at - start
    }

    /// Reads a decimal number, rounded to the nearest double, and stops right behind it. May be infinite or
    /// NaN. `None`, without moving, if it is no number.
    #[inline]
    pub(super) fn float(&mut self) -> Option<f64> {
        let start = self.at;
        let negative = self.peek() == b'-';
        if negative || self.peek() == b'+' {
            self.at += 1;
        }
        let mut mantissa = 0;
        let mut count = self.digits(&mut mantissa);
        let mut exponent = 0_i64;
        if self.peek() == b'.' {
            self.at += 1;
            let fraction = self.digits(&mut mantissa);
            count += fraction;
            exponent = -(fraction as i64);
        }
        let mut plain = count > 0 && count <= SAFE_DIGITS && mantissa <= EXACT;
        if self.peek() | 0x20 == b'e' {
            self.at += 1;
            let down = self.peek() == b'-';
            if down || self.peek() == b'+' {
                self.at += 1;
            }
            let mut power = 0;
            let digits = self.digits(&mut power);
            // Nine digits fit; so long an exponent is not exact anyway.
            plain &= digits > 0 && digits <= 9;
            exponent += if down {
                -(power as i64 & 0xffff_ffff)
            } else {
                power as i64 & 0xffff_ffff
            };
        }
        let power = exponent.unsigned_abs() as usize;
        if plain && power < POWERS.len() && ends_number(self.peek()) {
            let magnitude = if exponent < 0 {
                mantissa as f64 / POWERS[power]
            } else {
                mantissa as f64 * POWERS[power]
            };
            return Some(if negative { -magnitude } else { magnitude });
        }
        self.at = start;
        self.slow_float()
    }

    #[cold]
    fn slow_float(&mut self) -> Option<f64> {
        let token = self.token();
        let value = std::str::from_utf8(token).ok()?.parse().ok()?;
        self.at += token.len();
        Some(value)
    }
}

/// The value of eight bytes 0 to 9, the first the highest, in three multiplications.
#[inline]
fn eight_digits(word: u64) -> u64 {
    let pairs = word.wrapping_mul(10) + (word >> 8);
    let low = (pairs & 0x0000_00ff_0000_00ff).wrapping_mul(0x000f_4240_0000_0064);
    let high = ((pairs >> 16) & 0x0000_00ff_0000_00ff).wrapping_mul(0x0000_2710_0000_0001);
    low.wrapping_add(high) >> 32
}

/// Number of bytes before the first LF or CR, eight at a time.
#[inline]
fn line_length(bytes: &[u8]) -> usize {
    const ONES: u64 = 0x0101_0101_0101_0101;
    const HIGHS: u64 = 0x8080_8080_8080_8080;
    // Marks the bytes that are zero; the lowest mark is always right (Mycroft 1987).
    let zeros = |w: u64| w.wrapping_sub(ONES) & !w & HIGHS;
    let mut at = 0;
    while let Some(eight) = bytes.get(at..).and_then(|rest| rest.first_chunk::<8>()) {
        let word = u64::from_le_bytes(*eight);
        let found = zeros(word ^ (ONES * u64::from(b'\n'))) | zeros(word ^ (ONES * u64::from(b'\r')));
        if found != 0 {
            return at + (found.trailing_zeros() / 8) as usize;
        }
        at += 8;
    }
    let tail = &bytes[at..];
    at + tail.iter().position(|&b| is_line_end(b)).unwrap_or(tail.len())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn read(text: &str) -> Option<f64> {
        Cursor {
            bytes: text.as_bytes(),
            at: 0,
        }
        .float()
    }

    fn same(text: &str) {
        // The standard library's reading is the outside source: bit for bit, NaN included as "is NaN".
        let expected = text.parse::<f64>().ok();
        let (got, with_tail) = (read(text), read(&format!("{text} 12345678 ")));
        for value in [got, with_tail] {
            match (value, expected) {
                (Some(a), Some(b)) => {
                    assert!(a.to_bits() == b.to_bits() || a.is_nan() && b.is_nan(), "{text}");
                }
                (a, b) => assert_eq!(a, b, "{text}"),
            }
        }
    }

    #[test]
    fn numbers_at_the_edges_read_as_the_standard_library_reads_them() {
        for text in [
            "0",
            "-0",
            "+0.0",
            "1",
            "-1.",
            ".5",
            "-.5",
            ".",
            "-",
            "+",
            "e5",
            "1e",
            "1e+",
            "1e5",
            "1E-5",
            "1e22",
            "1e23",
            "9007199254740992",
            "9007199254740993",
            "9007199254740993e1",
            "123456789012345678901234567890",
            "0.00000000000000000000000001",
            "1e-22",
            "1e-23",
            "1e400",
            "-1e400",
            "1e-400",
            "nan",
            "-inf",
            "infinity",
            "1e99999999999999999999",
            "1e-99999999999999999999",
            "1e4294967296",
            "0e4294967296",
            "1..2",
            "1.2.3",
            "--1",
            "1e1e1",
            "0x10",
            "1_000",
            "1,5",
            "1.#IND",
            "18446744073709551616",
            "1e000000000000000022",
            "5e-324",
            "2.2250738585072011e-308",
            "1.7976931348623157e308",
            "00000000000000000000001.5",
        ] {
            same(text);
        }
    }

    #[test]
    fn a_line_ends_at_the_first_line_end_wherever_it_stands() {
        for length in 0..40 {
            for end in ["\n", "\r", "\r\n", ""] {
                // 0x0a ^ 0x01 next to a line end would fool a careless search.
                let line = format!("{}{end}\u{b}\u{c}rest", "\u{b}".repeat(length));
                let expected = line.find(['\n', '\r']).unwrap_or(line.len());
                assert_eq!(line_length(line.as_bytes()), expected);
            }
        }
    }

    proptest! {
        #[test]
        fn any_double_reads_back_bit_for_bit(bits in any::<u64>()) {
            let value = f64::from_bits(bits);
            same(&format!("{value}"));
            same(&format!("{value:e}"));
        }

        #[test]
        fn any_short_decimal_reads_as_the_standard_library_reads_it(text in "[-+]?[0-9]{0,12}(\\.[0-9]{0,12})?([eE][-+]?[0-9]{0,3})?") {
            same(&text);
        }

        #[test]
        fn any_long_decimal_reads_as_the_standard_library_reads_it(text in "-?[0-9]{0,25}\\.?[0-9]{0,25}(e-?[0-9]{1,3})?") {
            same(&text);
        }

        #[test]
        fn ordinary_coordinates_read_bit_for_bit(value in -1e4..1e4_f64, places in 0_usize..10) {
            same(&format!("{value:.places$}"));
        }
    }
}
