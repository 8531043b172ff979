//! Slits of a few pixels in an outline, where a guide line was taken out or a thin stroke fades.
//!
//! The marks are closed by a small square (dilated, then eroded), and of what that adds only those pieces are kept
//! that part the outside from ground which the outside reached before: a slit. A filled wedge tip parts nothing
//! and is given back.

use super::figures::outside;
use super::runs::{Joined, Run, Runs};

/// Marks with slits of up to `2 radius` pixels closed.
pub fn close(marks: &Runs, radius: u32) -> Runs {
    let filled = erode(&dilate(marks, radius), radius);
    let closed = inner(&filled, radius).union(marks);
    let added = closed.intersection(&marks.complement());
    let reached_before = outside(marks);
    let reached_after = outside(&closed);
    let lost = reached_before
        .intersection(&reached_after.complement())
        .intersection(&closed.complement());
    let labels = added.labels(Joined::Eight);
    let touches_outside = touching(&added, &labels.of_run, labels.count, &reached_after);
    let touches_lost = touching(&added, &labels.of_run, labels.count, &lost);
    let kept = added.filtered(|i| {
        let l = labels.of_run[i] as usize;
        touches_outside[l] && touches_lost[l]
    });
    marks.union(&kept)
}

/// What lies farther than `r` from the border, where the erosion does not know what would lie beyond it.
fn inner(marks: &Runs, r: u32) -> Runs {
    let (w, h) = (marks.width, marks.height());
    let rows: Vec<Vec<Run>> = (0..h)
        .map(|y| {
            if y < r as usize || y + r as usize >= h {
                return Vec::new();
            }
            let clip = |s: &Run| Run {
                x0: s.x0.max(r),
                x1: s.x1.min(w.saturating_sub(r)),
            };
            marks.row(y).iter().map(clip).filter(|s| s.x0 < s.x1).collect()
        })
        .collect();
    Runs::from_rows(w as usize, &rows)
}

/// Which labelled regions of `a` have a neighbour (of eight) in `b`.
fn touching(a: &Runs, labels: &[u32], count: usize, b: &Runs) -> Vec<bool> {
    let mut out = vec![false; count];
    let near = dilate(b, 1);
    for y in 0..a.height() {
        let mut k = 0;
        let row = near.row(y);
        for i in a.range(y) {
            let r = a.runs[i];
            while k < row.len() && row[k].x1 <= r.x0 {
                k += 1;
            }
            if k < row.len() && row[k].x0 < r.x1 {
                out[labels[i] as usize] = true;
            }
        }
    }
    out
}

/// Erosion by a square of side `2 r + 1`; beyond the plane everything counts as marked.
pub(super) fn erode(marks: &Runs, r: u32) -> Runs {
    dilate(&marks.complement(), r).complement()
}

/// Dilation by a square of side `2 r + 1`.
pub(super) fn dilate(marks: &Runs, r: u32) -> Runs {
    let width = marks.width;
    let wide: Vec<Vec<Run>> = (0..marks.height())
        .map(|y| {
            let grown = marks.row(y).iter().map(|s| Run {
                x0: s.x0.saturating_sub(r),
                x1: (s.x1 + r).min(width),
            });
            joined(grown.collect())
        })
        .collect();
    let h = wide.len();
    let rows: Vec<Vec<Run>> = (0..h)
        .map(|y| {
            let (lo, hi) = (y.saturating_sub(r as usize), (y + r as usize + 1).min(h));
            let mut all: Vec<Run> = wide[lo..hi].iter().flatten().copied().collect();
            all.sort_unstable_by_key(|s| s.x0);
            joined(all)
        })
        .collect();
    Runs::from_rows(width as usize, &rows)
}

/// Merges runs, sorted by their first column, that overlap or touch.
fn joined(sorted: Vec<Run>) -> Vec<Run> {
    let mut out: Vec<Run> = Vec::with_capacity(sorted.len());
    for r in sorted {
        match out.last_mut() {
            Some(last) if last.x1 >= r.x0 => last.x1 = last.x1.max(r.x1),
            _ => out.push(r),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mask(rows: &[&str]) -> Runs {
        let values: Vec<u8> = rows
            .iter()
            .flat_map(|r| r.bytes().map(|c| u8::from(c == b'#')))
            .collect();
        Runs::at_least(&values, rows[0].len(), 1)
    }

    #[test]
    fn a_slit_is_closed_and_a_wedge_is_not() {
        let slit = mask(&[
            "...........",
            ".####.####.",
            ".#.......#.",
            ".#.......#.",
            ".#.......#.",
            ".#########.",
            "...........",
        ]);
        let closed = close(&slit, 1);
        assert_eq!(closed.row(1), &[Run { x0: 1, x1: 10 }]);
        let wedge = mask(&[
            "...........",
            ".###.#####.",
            ".###.#####.",
            ".#########.",
            "...........",
        ]);
        assert_eq!(close(&wedge, 1), wedge);
    }
}
