//! Sums and products of points in space, in the mesh's own coordinates.

/// A point or a direction.
pub type Vector = [f64; 3];

/// `a - b`.
#[inline]
pub fn sub(a: Vector, b: Vector) -> Vector {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

/// `a + s b`.
#[inline]
pub fn add_scaled(a: Vector, s: f64, b: Vector) -> Vector {
    [a[0] + s * b[0], a[1] + s * b[1], a[2] + s * b[2]]
}

/// The scalar product.
#[inline]
pub fn dot(a: Vector, b: Vector) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// The vector product, right-handed.
#[inline]
pub fn cross(a: Vector, b: Vector) -> Vector {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}

/// The length.
#[inline]
pub fn norm(a: Vector) -> f64 {
    dot(a, a).sqrt()
}

/// The distance of two points.
#[inline]
pub fn distance(a: Vector, b: Vector) -> f64 {
    norm(sub(a, b))
}

/// The direction, or nothing for a vector without length.
pub fn unit(a: Vector) -> Option<Vector> {
    let length = norm(a);
    (length > 0.0 && length.is_finite()).then(|| a.map(|c| c / length))
}

/// The mean of points; the origin without any.
pub fn mean(points: impl IntoIterator<Item = Vector>) -> Vector {
    let (mut sum, mut count) = ([0.0; 3], 0.0_f64);
    for p in points {
        sum = add_scaled(sum, 1.0, p);
        count += 1.0;
    }
    sum.map(|c| c / count.max(1.0))
}

/// Twice the area of a polygon as a vector along its normal (Newell 1972, in Sutherland, Sproull and Schumacker
/// 1974); counter-clockwise as seen from its tip.
pub fn newell(points: &[Vector]) -> Vector {
    let mut sum = [0.0; 3];
    let Some(&first) = points.first() else {
        return sum;
    };
    // About the first corner, so that coordinates far from the origin lose no digits.
    for pair in points.windows(2) {
        sum = add_scaled(sum, 1.0, cross(sub(pair[0], first), sub(pair[1], first)));
    }
    sum
}

/// The mirror image about the plane x = `plane`.
#[inline]
pub fn mirrored(p: Vector, plane: f64) -> Vector {
    [2.0 * plane - p[0], p[1], p[2]]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_normal_of_a_square_points_to_where_it_runs_counter_clockwise() {
        let square = [[1.0, 1.0, 5.0], [3.0, 1.0, 5.0], [3.0, 3.0, 5.0], [1.0, 3.0, 5.0]];
        assert_eq!(newell(&square), [0.0, 0.0, 8.0]);
    }
}
