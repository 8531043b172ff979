//! The reduced picture in which figures are found; only their outlines are read off the full one.
//!
//! A mean over squares: it keeps a line's darkness times its width, and the paper's grain shrinks with the side of
//! the square.

use rayon::prelude::*;

use super::picture::{Channels, Picture};

/// Rows that a reduced picture keeps at least. A figure that fills two thirds of the sheet has a thousand of them,
/// so a row is a thousandth of its height: enough to tell a passage from a touch. Found by trial on the cases.
const KEPT_ROWS: usize = 1600;

/// Side of the squares, in pixels, that a picture of this height is reduced by; 1 keeps it as it is.
pub fn factor(height: usize) -> usize {
    (height / KEPT_ROWS).max(1)
}

/// The picture as means over squares of side `factor`; squares at the right and lower border may be cut. Colours
/// count by their opacity.
pub fn reduced(picture: &Picture, factor: usize) -> Picture {
    let n = picture.channels().count();
    let (w, h) = (
        picture.width().div_ceil(factor),
        picture.height().div_ceil(factor),
    );
    let mut data = vec![0u8; w * h * n];
    if picture.channels() == Channels::Grey && factor <= WIDEST_SHORT {
        data.par_chunks_mut(w)
            .enumerate()
            .for_each_init(Vec::new, |sums, (y, out)| {
                reduce_grey(picture, factor, y, sums, out);
            });
        return Picture::new(w, h, Channels::Grey, data);
    }
    data.par_chunks_mut(w * n).enumerate().for_each(|(y, out)| {
        let rows = y * factor..((y + 1) * factor).min(picture.height());
        let (mut sums, count) = (vec![0u32; picture.width() * n], rows.len() as u32);
        let alpha = matches!(picture.channels(), Channels::GreyAlpha | Channels::Rgba);
        for row in rows {
            if alpha {
                for (s, p) in sums.chunks_exact_mut(n).zip(picture.row(row).chunks_exact(n)) {
                    let a = u32::from(p[n - 1]);
                    for k in 0..n - 1 {
                        s[k] += u32::from(p[k]) * a;
                    }
                    s[n - 1] += a;
                }
            } else {
                for (s, v) in sums.iter_mut().zip(picture.row(row)) {
                    *s += u32::from(*v);
                }
            }
        }
        for (o, square) in out.chunks_exact_mut(n).zip(sums.chunks(factor * n)) {
            let mut total = [0u32; 4];
            for p in square.chunks_exact(n) {
                for k in 0..n {
                    total[k] += p[k];
                }
            }
            let pixels = count * (square.len() / n) as u32;
            let weight = if alpha { total[n - 1] } else { pixels };
            let colours = if alpha { n - 1 } else { n };
            for k in 0..colours {
                o[k] = ((total[k] + weight / 2).checked_div(weight).unwrap_or(255)) as u8;
            }
            if alpha {
                o[n - 1] = ((total[n - 1] + pixels / 2) / pixels) as u8;
            }
        }
    });
    Picture::new(w, h, picture.channels(), data)
}

/// Widest square whose rows' sums fit 16 bits, and whose area is small enough for [`reduce_grey`]'s division.
const WIDEST_SHORT: usize = 60;

/// Row `y` of the reduced picture of a grey one.
fn reduce_grey(picture: &Picture, factor: usize, y: usize, sums: &mut Vec<u16>, out: &mut [u8]) {
    let rows = y * factor..((y + 1) * factor).min(picture.height());
    let count = rows.len();
    sums.clear();
    sums.resize(picture.width(), 0);
    for row in rows {
        for (s, v) in sums.iter_mut().zip(picture.row(row)) {
            *s += u16::from(*v);
        }
    }
    // Division by the area as a multiplication: exact, as sums times areas stay below 2 to the power of 32.
    let pixels = (count * factor) as u32;
    let inverse = (1u64 << 32) / u64::from(pixels) + 1;
    let mean = |sum: u32| ((u64::from(sum + pixels / 2) * inverse) >> 32) as u8;
    let rest = match factor {
        2 => means::<2>(sums, mean, out),
        3 => means::<3>(sums, mean, out),
        4 => means::<4>(sums, mean, out),
        5 => means::<5>(sums, mean, out),
        _ => {
            let squares = sums.chunks_exact(factor);
            let rest = squares.remainder();
            out.iter_mut().zip(squares).for_each(|(o, s)| *o = mean(sum(s)));
            rest
        }
    };
    if let (Some(o), false) = (out.last_mut(), rest.is_empty()) {
        let pixels = (count * rest.len()) as u32;
        *o = ((sum(rest) + pixels / 2) / pixels) as u8;
    }
}

fn sum(square: &[u16]) -> u32 {
    square.iter().map(|s| u32::from(*s)).sum()
}

/// The means of squares of a side that the compiler knows; returns what is left of a cut one.
fn means<'a, const SIDE: usize>(sums: &'a [u16], mean: impl Fn(u32) -> u8, out: &mut [u8]) -> &'a [u16] {
    let (squares, rest) = sums.as_chunks::<SIDE>();
    out.iter_mut().zip(squares).for_each(|(o, s)| *o = mean(sum(s)));
    rest
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn squares_are_averaged_and_cut_at_the_border() {
        let p = Picture::new(3, 2, Channels::Grey, vec![0, 100, 30, 100, 200, 50]);
        let r = reduced(&p, 2);
        assert_eq!((r.width(), r.height()), (2, 1));
        assert_eq!(r.row(0), [100, 40]);
    }

    /// Against the mean in floating-point numbers, halves rounded up, for squares of all sides up to the widest.
    #[test]
    fn grey_means_are_exact() {
        let (w, h) = (131, 67);
        let data: Vec<u8> = (0..w * h)
            .map(|i| ((i as u32).wrapping_mul(2_654_435_761) >> 24) as u8)
            .collect();
        let p = Picture::new(w, h, Channels::Grey, data);
        for factor in 1..=WIDEST_SHORT + 2 {
            let r = reduced(&p, factor);
            for (y, x) in (0..r.height()).flat_map(|y| (0..r.width()).map(move |x| (y, x))) {
                let (rows, columns) = (y * factor.., x * factor..);
                let square: Vec<f64> = rows
                    .take(factor)
                    .take_while(|y| *y < h)
                    .flat_map(|y| {
                        columns
                            .clone()
                            .take(factor)
                            .take_while(|x| *x < w)
                            .map(move |x| (x, y))
                    })
                    .map(|(x, y)| f64::from(p.row(y)[x]))
                    .collect();
                let mean = square.iter().sum::<f64>() / square.len() as f64;
                assert_eq!(f64::from(r.row(y)[x]), (mean + 0.5).floor(), "{factor} {x} {y}");
            }
        }
    }

    #[test]
    fn a_clear_pixel_has_no_colour_to_give() {
        let p = Picture::new(2, 1, Channels::GreyAlpha, vec![10, 255, 200, 0]);
        assert_eq!(reduced(&p, 2).row(0), [10, 128]);
    }
}
