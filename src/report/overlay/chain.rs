//! Chains of points as paths, without the points that change nothing.

use tiny_skia::PathBuilder;

/// Places of a chain this far from a straight line, in points, lie on it: a twentieth of a pixel changes no pixel's tone
/// by more than that.
const STRAIGHT: f64 = 0.05;
/// Places that one straight line stands for at most, so that long chains cost no more than their length.
const MOST_LEFT_OUT: usize = 32;

/// Distance of a point from the line between two others.
pub(super) fn from_line(p: (f64, f64), a: (f64, f64), b: (f64, f64)) -> f64 {
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let along = ((p.0 - a.0) * dx + (p.1 - a.1) * dy) / (dx * dx + dy * dy).max(f64::MIN_POSITIVE);
    let t = along.clamp(0.0, 1.0);
    (a.0 + t * dx - p.0).hypot(a.1 + t * dy - p.1)
}

/// Whether all of some points lie on the line between two others, to within [`STRAIGHT`].
fn on_line(points: &[(f64, f64)], a: (f64, f64), b: (f64, f64)) -> bool {
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let length = dx * dx + dy * dy;
    let near = STRAIGHT * STRAIGHT;
    points.iter().all(|p| {
        let (x, y) = (p.0 - a.0, p.1 - a.1);
        let along = x * dx + y * dy;
        if along <= 0.0 {
            x * x + y * y <= near
        } else if along >= length {
            (x - dx) * (x - dx) + (y - dy) * (y - dy) <= near
        } else {
            let across = x * dy - y * dx;
            across * across <= near * length
        }
    })
}

/// Appends a chain of points to a path, leaving out those that lie on the line between their neighbours.
pub(crate) fn chain(path: &mut PathBuilder, points: impl IntoIterator<Item = (f64, f64)>, closed: bool) {
    let mut points = points.into_iter();
    let Some(mut from) = points.next() else { return };
    path.move_to(from.0 as f32, from.1 as f32);
    let mut left_out: Vec<(f64, f64)> = Vec::with_capacity(MOST_LEFT_OUT);
    for p in points {
        let straight = left_out.len() < MOST_LEFT_OUT && on_line(&left_out, from, p);
        if !straight && let Some(kept) = left_out.pop() {
            path.line_to(kept.0 as f32, kept.1 as f32);
            from = kept;
            left_out.clear();
        }
        left_out.push(p);
    }
    if let Some(last) = left_out.pop() {
        path.line_to(last.0 as f32, last.1 as f32);
    }
    if closed {
        path.close();
    }
}
