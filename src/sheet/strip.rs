//! What hangs on a figure but is none of it: leaders and arrows of notes, stubs of guide lines, overrunning strokes.
//!
//! The filled figure is opened by a square that a stroke falls through (erosion and dilation, Serra 1982) and its
//! largest piece kept. Of what the opening took, tips that stay close to that piece are given back: corners, fingers
//! and locks of hair are wedges, which the opening only blunts. What reaches farther is a stroke.

use super::figures::Region;
use super::runs::{Joined, Run, Runs};
use super::slits::{dilate, erode};

/// Half the opening's side, in line widths: two lines that touch (a closed finger) do not fall through it.
const HALF_SIDE: f64 = 0.85;
/// A tip reaches at most this many line widths beyond the opened figure. Two lines that meet at 10 degrees are
/// narrower than the square over four line widths.
const TIP: f64 = 5.0;

/// The region without strokes that hang on it; `line_px` is the width of its line.
#[must_use]
pub fn strokes(region: &Region, line_px: f64) -> Region {
    let half = ((HALF_SIDE * line_px) as u32).max(1);
    let tip = (TIP * line_px).ceil() as u32;
    let pad = half + 1;
    let [x0, y0, ..] = region.bounds;
    let local = framed(region, pad);
    let opened = largest(&dilate(&erode(&local, half), half));
    if opened.runs.is_empty() {
        return region.clone();
    }
    let rest = local.intersection(&opened.complement());
    let labels = rest.labels(Joined::Eight);
    let (near, touching) = (dilate(&opened, tip), dilate(&opened, 1));
    let mut kept = vec![true; labels.count];
    let mut joined = vec![false; labels.count];
    for y in 0..rest.height() {
        for i in rest.range(y) {
            let (r, l) = (rest.runs[i], labels.of_run[i] as usize);
            let within = |of: &Runs| of.row(y).iter().any(|n| n.x0 <= r.x0 && r.x1 <= n.x1);
            kept[l] &= within(&near);
            joined[l] |= touching.row(y).iter().any(|n| n.x0 < r.x1 && r.x0 < n.x1);
        }
    }
    let given_back = rest.filtered(|i| {
        let l = labels.of_run[i] as usize;
        kept[l] && joined[l]
    });
    let clean = opened.union(&given_back);
    rebuilt(
        region,
        &clean,
        [x0 as i64 - i64::from(pad), y0 as i64 - i64::from(pad)],
    )
}

/// The region's mask with `pad` empty pixels around.
pub(super) fn framed(region: &Region, pad: u32) -> Runs {
    let x0 = region.bounds[0] as u32;
    let (width, height) = (
        region.width() + 2 * pad as usize,
        region.rows.len() + 2 * pad as usize,
    );
    Runs::build(width, height, |y, out| {
        let row = y.checked_sub(pad as usize).and_then(|y| region.rows.get(y));
        out.extend(row.into_iter().flatten().map(|r| Run {
            x0: r.x0 - x0 + pad,
            x1: r.x1 - x0 + pad,
        }));
    })
}

/// The largest connected piece.
fn largest(mask: &Runs) -> Runs {
    let labels = mask.labels(Joined::Four);
    let mut area = vec![0u64; labels.count];
    for (r, l) in mask.runs.iter().zip(&labels.of_run) {
        area[*l as usize] += u64::from(r.x1 - r.x0);
    }
    let best = (0..labels.count).max_by_key(|&l| (area[l], std::cmp::Reverse(l)));
    mask.filtered(|i| Some(labels.of_run[i] as usize) == best)
}

/// The region with the pixels of `mask`, whose corner lies at `corner` on the sheet.
fn rebuilt(region: &Region, mask: &Runs, corner: [i64; 2]) -> Region {
    let rows: Vec<(usize, Vec<Run>)> = (0..mask.height())
        .filter(|&y| !mask.row(y).is_empty())
        .map(|y| {
            let shift = |x: u32| (i64::from(x) + corner[0]) as u32;
            let runs = mask.row(y).iter().map(|r| Run {
                x0: shift(r.x0),
                x1: shift(r.x1),
            });
            ((y as i64 + corner[1]) as usize, runs.collect())
        })
        .collect();
    let left = rows.iter().filter_map(|(_, r)| r.first()).map(|r| r.x0).min();
    let right = rows.iter().filter_map(|(_, r)| r.last()).map(|r| r.x1).max();
    let (Some(left), Some(right), Some(first), Some(last)) = (left, right, rows.first(), rows.last()) else {
        return region.clone();
    };
    let bounds = [left as usize, first.0, right as usize, last.0 + 1];
    let area = rows
        .iter()
        .flat_map(|(_, r)| r)
        .map(|r| u64::from(r.x1 - r.x0))
        .sum();
    let mut out = Region {
        bounds,
        area,
        rows: vec![Vec::new(); bounds[3] - bounds[1]],
        cut: region.cut,
        pockets: Vec::new(),
    };
    for (y, runs) in rows {
        out.rows[y - bounds[1]] = runs;
    }
    // A stroke that was taken off may have enclosed some of a pocket: that part lies outside now.
    let held = region.pockets.iter().filter(|p| out.holds(p));
    out.pockets = held.map(|p| out.within(p)).collect();
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::figures::regions;

    /// A body 40 × 60 with a spike on top, and a stroke that leads away from its side to a note.
    fn body(stroke: bool) -> Region {
        let (w, h) = (120, 100);
        let mut values = vec![0u8; w * h];
        for y in 30..90 {
            values[y * w + 20..y * w + 60].fill(1);
        }
        for k in 0..10 {
            values[(20 + k) * w + 40 - k / 2..(20 + k) * w + 41 + k / 2].fill(1);
        }
        if stroke {
            for x in 60..100 {
                for t in 0..3 {
                    values[(70 - x / 4 + t) * w + x] = 1;
                }
            }
        }
        regions(&Runs::at_least(&values, w, 1)).remove(0)
    }

    #[test]
    fn a_leader_is_taken_off_and_a_spike_stays() {
        let (plain, noted) = (body(false), body(true));
        assert_eq!(strokes(&plain, 3.0).bounds, plain.bounds);
        let stripped = strokes(&noted, 3.0);
        assert_eq!(stripped.bounds, plain.bounds);
        assert!(
            stripped.area.abs_diff(plain.area) < 12,
            "{} {}",
            stripped.area,
            plain.area
        );
    }
}
