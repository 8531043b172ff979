//! Slits of a few pixels in an outline, where a guide line was taken out or a thin stroke fades.
//!
//! The marks are closed by a small square (dilated, then eroded), and of what that adds only those pieces are kept
//! that part the outside from ground which the outside reached before: a slit. A filled wedge tip parts nothing
//! and is given back.

use super::figures::outside;
use super::runs::{Joined, Run, Runs, push_joined};

/// Marks with slits of up to `2 radius` pixels closed; `reached_before` is what the outside reaches so far.
pub fn close(marks: &Runs, reached_before: &Runs, radius: u32) -> Runs {
    let filled = erode(&dilate(marks, radius), radius);
    let closed = inner(&filled, radius).union(marks);
    let added = closed.intersection(&marks.complement());
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
    Runs::build(w as usize, h, |y, out| {
        if y < r as usize || y + r as usize >= h {
            return;
        }
        let clip = |s: &Run| Run {
            x0: s.x0.max(r),
            x1: s.x1.min(w.saturating_sub(r)),
        };
        out.extend(marks.row(y).iter().map(clip).filter(|s| s.x0 < s.x1));
    })
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
    let (width, height, r) = (marks.width, marks.height(), r as usize);
    let grown = |s: &Run| Run {
        x0: s.x0.saturating_sub(r as u32),
        x1: (s.x1 + r as u32).min(width),
    };
    // With `r` empty rows above, row y of the result is what rows y to y + 2 r of this hold together.
    let mut all = Runs::build(width as usize, height + r, |y, out| {
        if let Some(y) = y.checked_sub(r) {
            push_joined(marks.row(y).iter().map(grown), out);
        }
    });
    // Each pass joins every row with one farther down: 2, 4, 8 … rows are then joined, and at last all.
    let (side, mut reach) = (2 * r + 1, 1);
    while reach < side {
        let step = reach.min(side - reach);
        reach += step;
        // The last pass needs no row beyond those of the result.
        let rows = if reach < side { height + r } else { height };
        all = Runs::build(width as usize, rows, |y, out| {
            let below = if y + step < all.height() {
                all.row(y + step)
            } else {
                &[]
            };
            push_joined(in_order(all.row(y), below), out);
        });
    }
    all
}

/// The runs of two rows by their first column.
fn in_order<'a>(a: &'a [Run], b: &'a [Run]) -> impl Iterator<Item = Run> + 'a {
    let (mut i, mut j) = (0, 0);
    std::iter::from_fn(move || {
        let first = match (a.get(i), b.get(j)) {
            (Some(p), Some(q)) => p.x0 <= q.x0,
            (p, _) => p.is_some(),
        };
        let (next, at) = if first {
            (a.get(i), &mut i)
        } else {
            (b.get(j), &mut j)
        };
        *at += 1;
        next.copied()
    })
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

    /// The definition, pixel by pixel.
    #[test]
    fn dilation_by_rows_is_the_dilation_of_the_definition() {
        let (w, h) = (41usize, 37usize);
        let values: Vec<u8> = (0..(w * h) as u32)
            .map(|i| u8::from(i.wrapping_mul(2_654_435_761) >> 24 > 243))
            .collect();
        let marks = Runs::at_least(&values, w, 1);
        for r in [0, 1, 2, 3, 5, 40] {
            let plain: Vec<u8> = (0..w * h)
                .map(|i| {
                    let (x, y) = (i % w, i / w);
                    let near = |j: usize| (j % w).abs_diff(x) <= r && (j / w).abs_diff(y) <= r;
                    u8::from((0..w * h).any(|j| values[j] > 0 && near(j)))
                })
                .collect();
            assert_eq!(dilate(&marks, r as u32), Runs::at_least(&plain, w, 1), "{r}");
        }
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
        let close = |m: &Runs| close(m, &outside(m), 1);
        let closed = close(&slit);
        assert_eq!(closed.row(1), &[Run { x0: 1, x1: 10 }]);
        let wedge = mask(&[
            "...........",
            ".###.#####.",
            ".###.#####.",
            ".#########.",
            "...........",
        ]);
        assert_eq!(close(&wedge), wedge);
    }
}
