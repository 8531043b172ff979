//! Which way round a triangle is seen, decided without error.
//!
//! Method: the sign of the determinant in plain arithmetic where its error bound allows, otherwise the same determinant
//! as an expansion, an exact sum of non-overlapping numbers (Shewchuk 1997, Adaptive precision floating-point
//! arithmetic). Limit: exact while no product over- or underflows, that is for coordinate differences that are zero or
//! between about 1e-140 and 1e150.

/// Error of the plain determinant relative to the sum of its products' sizes, (3 + 16 e) e with e half the machine
/// epsilon: Shewchuk's `ccwerrboundA`.
const PLAIN_ERROR: f64 = (3.0 + 8.0 * f64::EPSILON) * f64::EPSILON / 2.0;

/// 1 if `a`, `b`, `c` run counter-clockwise (y up), −1 if clockwise, 0 on one line.
#[inline]
pub(crate) fn orientation(a: (f64, f64), b: (f64, f64), c: (f64, f64)) -> i32 {
    let left = (a.0 - c.0) * (b.1 - c.1);
    let right = (a.1 - c.1) * (b.0 - c.0);
    let det = left - right;
    if det.abs() >= PLAIN_ERROR * (left.abs() + right.abs()) {
        return i32::from(det > 0.0) - i32::from(det < 0.0);
    }
    exact(a, b, c)
}

/// The same by exact sums; also the answer for what overflows, which counts as 0.
#[cold]
fn exact(a: (f64, f64), b: (f64, f64), c: (f64, f64)) -> i32 {
    // Six products of plain coordinates: ax by − ay bx + bx cy − by cx + cx ay − cy ax.
    let products = [
        (a.0, b.1),
        (-a.1, b.0),
        (b.0, c.1),
        (-b.1, c.0),
        (c.0, a.1),
        (-c.1, a.0),
    ];
    let mut sum = [0.0f64; 12];
    for (n, &(p, q)) in products.iter().enumerate() {
        let high = p * q;
        let low = p.mul_add(q, -high);
        grow(&mut sum[..2 * n + 1], low);
        grow(&mut sum[..2 * n + 2], high);
    }
    // Components do not overlap and grow in size: the last that is not zero outweighs the rest.
    let sign = sum.iter().rev().find(|v| **v != 0.0).copied().unwrap_or(0.0);
    i32::from(sign > 0.0) - i32::from(sign < 0.0)
}

/// Adds `value` to the expansion in all but the last place of `sum`, whose last place is still zero.
fn grow(sum: &mut [f64], value: f64) {
    let mut carry = value;
    let last = sum.len() - 1;
    for place in &mut sum[..last] {
        let total = carry + *place;
        let virtual_place = total - carry;
        let error = (carry - (total - virtual_place)) + (*place - virtual_place);
        *place = error;
        carry = total;
    }
    sum[last] = carry;
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The same determinant in whole numbers: coordinates are multiples of 2^-52 below 2^8.
    fn in_integers(a: (f64, f64), b: (f64, f64), c: (f64, f64)) -> i32 {
        let scale = 2.0f64.powi(52);
        let w = |v: f64| (v * scale) as i128;
        let det = (w(a.0) - w(c.0)) * (w(b.1) - w(c.1)) - (w(a.1) - w(c.1)) * (w(b.0) - w(c.0));
        det.signum() as i32
    }

    #[test]
    fn agrees_with_whole_numbers_next_to_a_line() {
        // The grid of neighbouring floats of Kettner, Mehlhorn, Pion, Schirra and Yap 2008, figure 1.
        let step = 2.0f64.powi(-52);
        for i in 0..64 {
            for j in 0..64 {
                let p = (0.5 + f64::from(i) * step, 0.5 + f64::from(j) * step);
                let (q, r) = ((12.0, 12.0), (24.0, 24.0));
                assert_eq!(orientation(p, q, r), in_integers(p, q, r), "at {i}, {j}");
                assert_eq!(exact(p, q, r), in_integers(p, q, r), "at {i}, {j}");
            }
        }
    }

    #[test]
    fn knows_left_from_right() {
        assert_eq!(orientation((0.0, 0.0), (1.0, 0.0), (0.0, 1.0)), 1);
        assert_eq!(orientation((0.0, 0.0), (0.0, 1.0), (1.0, 0.0)), -1);
        assert_eq!(
            orientation((0.1, 0.1), (0.2, 0.2), (0.3, 0.3)),
            in_integers((0.1, 0.1), (0.2, 0.2), (0.3, 0.3))
        );
        assert_eq!(orientation((1.0, 2.0), (1.0, 2.0), (5.0, 7.0)), 0);
    }
}
