//! How far two figures cover each other, row by row: areas of both, of what they share and of both together.
//!
//! Each row stands for the heights nearer to it than to its neighbours (the first and last row for a full distance to
//! their one neighbour): the midpoint rule, whose error falls with the square of the row distance.

use super::{RowSpans, Span};

/// Areas in squared units.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Overlap {
    /// Area of the first figure.
    pub first: f64,
    /// Area of the second figure.
    pub second: f64,
    /// Area of what both cover.
    pub shared: f64,
}

impl Overlap {
    /// Area of what either covers.
    pub fn union(&self) -> f64 {
        self.first + self.second - self.shared
    }

    /// Intersection over union, 0 to 1; `None` where neither figure has an area.
    pub fn iou(&self) -> Option<f64> {
        let union = self.union();
        (union > 0.0).then(|| (self.shared / union).clamp(0.0, 1.0))
    }
}

/// Measures two figures cut by the same rows. Rows beyond the shorter of the two are not counted.
pub fn overlap(first: &RowSpans, second: &RowSpans) -> Overlap {
    let rows = first.len().min(second.len());
    let mut sum = Overlap::default();
    for i in 0..rows {
        let height = row_height(&first.ys[..rows], i);
        sum.first += height * first.solid_width(i);
        sum.second += height * second.solid_width(i);
        sum.shared += height * shared_width(first.row(i), second.row(i));
    }
    sum
}

/// The height that row `i` stands for.
fn row_height(ys: &[f64], i: usize) -> f64 {
    match (i.checked_sub(1).map(|j| ys[j]), ys.get(i + 1)) {
        (Some(before), Some(after)) => (after - before).abs() / 2.0,
        (Some(before), None) => (ys[i] - before).abs(),
        (None, Some(after)) => (after - ys[i]).abs(),
        (None, None) => 0.0,
    }
}

/// Length that two rows of spans share.
pub(crate) fn shared_width(a: &[Span], b: &[Span]) -> f64 {
    let (mut i, mut j, mut sum) = (0, 0, 0.0);
    while i < a.len() && j < b.len() {
        sum += (a[i].x1.min(b[j].x1) - a[i].x0.max(b[j].x0)).max(0.0);
        if a[i].x1 < b[j].x1 {
            i += 1;
        } else {
            j += 1;
        }
    }
    sum
}
