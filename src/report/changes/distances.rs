//! How far the ends of every row's spans lie from the other outline, told from the rows alone.
//!
//! Method: the ends of neighbouring rows are joined to the outline that they were cut from. Where two rows have as many
//! ends, these are joined in their order; where one has two more, the two neighbouring ends whose leaving out brings
//! the others nearest to the other row's belong to a gap or a limb that begins there, and are joined level. The distance
//! of a point is that to the nearest joining line, looked for from its own row up and down no further than the nearest
//! found so far. A level edge, which shifts a row's end by much when it moves by little, is measured square to itself.
//! Limit: between two rows nothing is known; a distance is true to half a row.

use rayon::prelude::*;

use super::outcome::{Cut, Spans};

/// Ends that a row may have more than its neighbour and still be joined end by end; beyond that, as in a tangle of many
/// small spans, nothing is joined.
const MOST_APART: usize = 8;

/// How far a row's ends are off: outermost left and right, and the farthest of the inner ones; `None` where the row has
/// no such end.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Off {
    pub(super) edges: [Option<f64>; 3],
}

type Line = [[f64; 2]; 2];

/// Lines of an outline: `lines[i]` lie at row `i` or between rows `i` and `i + 1`.
struct Joined {
    heights: Vec<f64>,
    lines: Vec<Vec<Line>>,
}

impl Joined {
    fn new(rows: &[Cut], of: fn(&Cut) -> &Spans) -> Self {
        let ends: Vec<Vec<f64>> = rows
            .iter()
            .map(|r| of(r).iter().flatten().copied().collect())
            .collect();
        let none: &[f64] = &[];
        let mut lines: Vec<Vec<Line>> = Vec::with_capacity(rows.len());
        for (i, row) in rows.iter().enumerate() {
            let mut here = Vec::new();
            let next = ends.get(i + 1);
            let low = rows.get(i + 1).map_or(row.y, |r| r.y);
            if i == 0 {
                level(none, &ends[0], row.y, &mut here);
            }
            join(&ends[i], row.y, next.map_or(none, Vec::as_slice), low, &mut here);
            lines.push(here);
        }
        Self {
            heights: rows.iter().map(|r| r.y).collect(),
            lines,
        }
    }

    /// Distance of a point in row `at`; infinite where there is no outline.
    fn distance(&self, at: usize, [x, y]: [f64; 2]) -> f64 {
        let mut best = f64::INFINITY;
        let look = |i: usize, best: &mut f64| {
            for line in &self.lines[i] {
                *best = best.min(to_line([x, y], line));
            }
        };
        look(at, &mut best);
        for i in (0..at).rev() {
            // The lines of row i reach down to row i + 1.
            if self.heights[i + 1] - y > best {
                break;
            }
            look(i, &mut best);
        }
        for i in at + 1..self.lines.len() {
            if y - self.heights[i] > best {
                break;
            }
            look(i, &mut best);
        }
        best
    }
}

/// Joins the ends of two neighbouring rows.
fn join(upper: &[f64], high: f64, lower: &[f64], low: f64, out: &mut Vec<Line>) {
    let (more, fewer, y) = if upper.len() >= lower.len() {
        (upper, lower, high)
    } else {
        (lower, upper, low)
    };
    let kept = level(fewer, more, y, out);
    let (a, b) = if upper.len() >= lower.len() {
        (kept.as_slice(), lower)
    } else {
        (upper, kept.as_slice())
    };
    out.extend(a.iter().zip(b).map(|(a, b)| [[*a, high], [*b, low]]));
}

/// Joins level, pair by pair, the ends of `more` that `fewer` has no counterpart for; gives those that are left.
fn level(fewer: &[f64], more: &[f64], y: f64, out: &mut Vec<Line>) -> Vec<f64> {
    let mut left = more.to_vec();
    if left.len() > fewer.len() + MOST_APART && !fewer.is_empty() {
        return Vec::new();
    }
    while left.len() > fewer.len() {
        // Ends before the pair keep their places, those behind it move up by two.
        let cost = |k: usize| -> f64 {
            fewer
                .iter()
                .enumerate()
                .filter_map(|(i, f)| left.get(if i < k { i } else { i + 2 }).map(|m| (m - f).abs()))
                .sum()
        };
        let Some(k) = (0..left.len() - 1).min_by(|a, b| cost(*a).total_cmp(&cost(*b))) else {
            break;
        };
        out.push([[left[k], y], [left[k + 1], y]]);
        left.drain(k..k + 2);
    }
    left
}

fn to_line([x, y]: [f64; 2], [[ax, ay], [bx, by]]: &Line) -> f64 {
    let (dx, dy) = (bx - ax, by - ay);
    let length = dx * dx + dy * dy;
    let t = if length > 0.0 {
        (((x - ax) * dx + (y - ay) * dy) / length).clamp(0.0, 1.0)
    } else {
        0.0
    };
    (ax + t * dx - x).hypot(ay + t * dy - y)
}

/// How far the ends of every row are off, both ways: the mesh's from the drawing and the drawing's from the mesh.
pub(super) fn distances(rows: &[Cut]) -> Vec<Off> {
    if rows.is_empty() {
        return Vec::new();
    }
    let (drawing, mesh) = (Joined::new(rows, |r| &r.drawing), Joined::new(rows, |r| &r.mesh));
    rows.par_iter()
        .enumerate()
        .map(|(i, row)| {
            let mut off = Off::default();
            for (spans, other) in [(&row.drawing, &mesh), (&row.mesh, &drawing)] {
                let ends = spans.as_flattened();
                for (k, x) in ends.iter().enumerate() {
                    let edge = match k {
                        0 => 0,
                        k if k + 1 == ends.len() => 1,
                        _ => 2,
                    };
                    let d = other.distance(i, [*x, row.y]);
                    if d.is_finite() {
                        let most = off.edges[edge].get_or_insert(d);
                        *most = most.max(d);
                    }
                }
            }
            off
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(of: impl Fn(f64) -> (Spans, Spans)) -> Vec<Cut> {
        (0..100)
            .map(|k| {
                let y = 99.5 - f64::from(k);
                let (drawing, mesh) = of(y);
                Cut {
                    y,
                    drawing,
                    mesh,
                    spans: Vec::new(),
                }
            })
            .collect()
    }

    /// Two edges that lean by 45 degrees and lie 4 apart along the row are 4 / √2 apart.
    #[test]
    fn a_slanting_edge_is_measured_square_to_itself() {
        let all = distances(&rows(|y| (vec![[-200.0, y]], vec![[-200.0, y + 4.0]])));
        let off = all[50].edges[1].expect("a right edge");
        assert!((off - 4.0 / 2.0_f64.sqrt()).abs() < 1e-9, "{off}");
        assert_eq!(all[50].edges[0], Some(0.0));
    }

    /// A limb that hangs two rows lower in the mesh is two rows off, however far it reaches out: its end is 30 wide and is
    /// joined to the body one row on, so that it leans by 1 in 30.
    #[test]
    fn a_level_end_is_off_by_how_far_it_moved() {
        let body = |y: f64, from: f64| {
            if y > from {
                vec![[-40.0, 10.0]]
            } else {
                vec![[-10.0, 10.0]]
            }
        };
        let all = distances(&rows(|y| (body(y, 60.0), body(y, 58.0))));
        let worst = all.iter().filter_map(|o| o.edges[0]).fold(0.0, f64::max);
        assert!((worst - 60.0 / 901.0_f64.sqrt()).abs() < 1e-9, "{worst}");
    }

    /// A gap that the mesh fills: its top is level, its sides are as far from anything as the gap is deep at most.
    #[test]
    fn a_filled_gap_is_an_inner_edge() {
        let all = distances(&rows(|y| {
            let legs = if y < 50.0 {
                vec![[-10.0, -3.0], [3.0, 10.0]]
            } else {
                vec![[-10.0, 10.0]]
            };
            (legs, vec![[-10.0, 10.0]])
        }));
        assert!(
            all.iter()
                .all(|o| o.edges[0] == Some(0.0) && o.edges[1] == Some(0.0))
        );
        // The outer edge is 7 away from the inner one.
        assert_eq!(all[80].edges[2], Some(7.0));
        assert_eq!(all[20].edges[2], None);
    }

    /// Where only the drawing is there, its ends are off by their way to the mesh.
    #[test]
    fn what_is_missing_is_off_by_its_length() {
        let all = distances(&rows(|y| {
            (
                vec![[-5.0, 5.0]],
                if y < 90.0 { vec![[-5.0, 5.0]] } else { Vec::new() },
            )
        }));
        assert!((all[0].edges[0].expect("an end") - 10.0).abs() < 1e-9);
        assert_eq!(all[50].edges[0], Some(0.0));
        // Without any mesh nothing can be said.
        assert_eq!(
            distances(&rows(|_| (vec![[0.0, 1.0]], Vec::new())))[3],
            Off::default()
        );
    }
}
