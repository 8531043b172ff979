//! Spans to rings: links the span ends of neighbouring rows into closed rings.
//!
//! Method: spans of two neighbouring rows that share an x belong together; a group of `n` lower and `m` upper spans
//! keeps its outermost ends linked by straight lines, and the gaps between its members are closed by horizontal caps
//! half way between the rows, as are spans without a partner. Every span end thus has one successor, and following
//! them gives the rings: left ends are walked downwards, right ends upwards, so the inside is always on the left.
//!
//! Limits: what begins, ends, splits or merges does so at an unknown height between two rows; half way is wrong by at
//! most half their distance. In the first and last row caps lie on the row itself.

use super::{Outline, Ring, RowSpans, Span};
use crate::space::{Point, Space};

/// What follows a span's end on its ring.
#[derive(Clone, Copy)]
struct Step {
    to: u32,
    /// Height of the cap on the way, if there is one.
    cap: Option<f64>,
}

/// Joins the rows' spans into an outline; rows from the top down or from the bottom up, at least two rows for
/// an outline that is not empty. Rings have at least three points.
///
/// [`Outline::row_spans`] at the same heights gives the same spans, but for the row of the largest y, where half-open
/// rows end, and for spans without width.
pub fn trace<S: Space>(rows: &RowSpans) -> Outline<S> {
    let count = rows.ys.len();
    if count < 2 {
        return Outline::default();
    }
    // Row numbers from the bottom up as seen.
    let bottom_up = (rows.ys[count - 1] - rows.ys[0]) * S::UP > 0.0;
    let order: Vec<usize> = if bottom_up {
        (0..count).collect()
    } else {
        (0..count).rev().collect()
    };
    let mut steps = vec![Step { to: 0, cap: None }; 2 * rows.spans.len()];
    let mut links = Links {
        rows,
        steps: &mut steps,
    };
    links.band(None, order.first().copied());
    for pair in order.windows(2) {
        links.band(Some(pair[0]), Some(pair[1]));
    }
    links.band(order.last().copied(), None);
    collect(rows, &steps)
}

/// Node of a span's left end; the right end is the one after it.
fn left(span: usize) -> usize {
    2 * span
}

fn right(span: usize) -> usize {
    2 * span + 1
}

struct Links<'a> {
    rows: &'a RowSpans,
    steps: &'a mut [Step],
}

impl Links<'_> {
    /// Links the spans of two neighbouring rows; `None` is the emptiness beyond the first or last row.
    fn band(&mut self, lower: Option<usize>, upper: Option<usize>) {
        let rows = self.rows;
        let range =
            |row: Option<usize>| row.map_or(0..0, |i| rows.starts[i] as usize..rows.starts[i + 1] as usize);
        let (below, above) = (range(lower), range(upper));
        let cap = match (lower, upper) {
            (Some(a), Some(b)) => 0.5 * (rows.ys[a] + rows.ys[b]),
            (Some(a), None) | (None, Some(a)) => rows.ys[a],
            (None, None) => return,
        };
        let meets = |a: &Span, b: &Span| a.x0 <= b.x1 && b.x0 <= a.x1;
        let (mut a, mut b) = (below.start, above.start);
        while a < below.end || b < above.end {
            // A group grows from its leftmost member for as long as the next span meets the last one of the other row.
            let (a0, b0) = (a, b);
            if b == above.end || (a < below.end && rows.spans[a].x0 <= rows.spans[b].x0) {
                a += 1;
            } else {
                b += 1;
            }
            loop {
                let last_a = (a > a0).then(|| &rows.spans[a - 1]);
                let last_b = (b > b0).then(|| &rows.spans[b - 1]);
                if b < above.end && last_a.is_some_and(|s| meets(s, &rows.spans[b])) {
                    b += 1;
                } else if a < below.end && last_b.is_some_and(|s| meets(s, &rows.spans[a])) {
                    a += 1;
                } else {
                    break;
                }
            }
            self.group(a0..a, b0..b, cap);
        }
    }

    fn group(&mut self, below: std::ops::Range<usize>, above: std::ops::Range<usize>, cap: f64) {
        if below.is_empty() {
            for s in above {
                self.link(left(s), right(s), Some(cap));
            }
            return;
        }
        if above.is_empty() {
            for s in below {
                self.link(right(s), left(s), Some(cap));
            }
            return;
        }
        self.link(left(above.start), left(below.start), None);
        self.link(right(below.end - 1), right(above.end - 1), None);
        for s in below.start + 1..below.end {
            self.link(right(s - 1), left(s), Some(cap));
        }
        for s in above.start + 1..above.end {
            self.link(left(s), right(s - 1), Some(cap));
        }
    }

    fn link(&mut self, from: usize, to: usize, cap: Option<f64>) {
        self.steps[from] = Step { to: to as u32, cap };
    }
}

fn collect<S: Space>(rows: &RowSpans, steps: &[Step]) -> Outline<S> {
    let mut heights = vec![0.0; rows.spans.len()];
    for (i, &y) in rows.ys.iter().enumerate() {
        heights[rows.starts[i] as usize..rows.starts[i + 1] as usize].fill(y);
    }
    let x_of = |node: usize| {
        let span = rows.spans[node / 2];
        if node.is_multiple_of(2) { span.x0 } else { span.x1 }
    };
    let mut seen = vec![false; steps.len()];
    let mut rings = Vec::new();
    for start in 0..steps.len() {
        let mut ring: Ring<S> = Vec::new();
        let mut node = start;
        while !seen[node] {
            seen[node] = true;
            push(&mut ring, x_of(node), heights[node / 2]);
            let step = steps[node];
            let to = step.to as usize;
            if let Some(cap) = step.cap {
                push(&mut ring, x_of(node), cap);
                push(&mut ring, x_of(to), cap);
            }
            node = to;
        }
        while ring.len() > 1 && ring.first() == ring.last() {
            ring.pop();
        }
        if ring.len() > 2 {
            rings.push(ring);
        }
    }
    Outline { rings }
}

/// Appends a point unless it repeats the last one.
fn push<S: Space>(ring: &mut Ring<S>, x: f64, y: f64) {
    let point = Point::new(x, y);
    if ring.last() != Some(&point) {
        ring.push(point);
    }
}
