//! What a wrong reading of a view is: one definition, for the confidence to be held against.

use drawntrue::profile::{Outline, overlap, ring_area};
use drawntrue::sheet::level::Levelling;
use drawntrue::sheet::read::{self, Reading};
use drawntrue::space::{Level, Point};

use super::measure::{box_in_file, box_iou};
use super::page::{Figure, Truth};

/// 95th percentile of the outer width's error, percent of the height.
pub(crate) const OUTER_P95: f64 = 1.0;
pub(crate) const BOX_IOU: f64 = 0.97;
/// Least area of a hole that counts, share of the square of the height.
pub(crate) const HOLE: f64 = 0.003;
/// A box that overlaps a true view by less than this shows none.
const NO_VIEW: f64 = 0.5;
const ROWS: usize = 300;
/// Rows where an end moves by more than this share of the height within `STEEP_WITHIN` of it are left out: a hair up
/// or down changes the width by a lot there.
const STEEP: f64 = 0.01;
const STEEP_WITHIN: f64 = 0.004;
const HOLE_ROWS: usize = 400;

/// What is wrong with each read view, empty where it is right.
pub(crate) fn wrong(truth: &Truth, reading: &Reading) -> Vec<String> {
    reading.figures.iter().map(|f| faults(truth, f)).collect()
}

fn faults(truth: &Truth, found: &read::Figure) -> String {
    let best = truth
        .figures
        .iter()
        .map(|t| (box_iou(found.box_px, box_in_file(truth, t)), t))
        .max_by(|a, b| a.0.total_cmp(&b.0));
    let Some((iou, figure)) = best.filter(|b| b.0 > NO_VIEW) else {
        return "no view".into();
    };
    let mut out = Vec::new();
    if iou < BOX_IOU {
        out.push(format!("box {iou:.3}"));
    }
    let want = Outline::<Level> {
        rings: figure
            .rings
            .iter()
            .map(|r| r.iter().map(|p| Point::new(p[0], p[1])).collect())
            .collect(),
    };
    let level = Levelling::new(truth.width, truth.height, truth.skew_deg);
    let got = Outline {
        rings: found
            .upright
            .rings
            .iter()
            .map(|r| r.iter().map(|p| level.level(*p)).collect())
            .collect(),
    };
    let p95 = outer_p95(&want, &got);
    if p95 > OUTER_P95 {
        out.push(format!("outer {p95:.2}"));
    }
    holes(figure, &want, &got, &mut out);
    out.join(", ")
}

fn outer_p95(want: &Outline<Level>, got: &Outline<Level>) -> f64 {
    let b = want.bounds().expect("a figure");
    let h = b.height();
    let ys: Vec<f64> = (0..ROWS)
        .map(|i| b.y0 + (i as f64 + 0.5) / ROWS as f64 * h)
        .collect();
    let near = |d: f64| want.row_spans(&ys.iter().map(|y| y + d * STEEP_WITHIN * h).collect::<Vec<_>>());
    let (w, g, above, below) = (want.row_spans(&ys), got.row_spans(&ys), near(-1.0), near(1.0));
    let mut errors: Vec<f64> = (0..ROWS)
        .filter_map(|i| {
            let o = w.outer(i)?;
            let steady = [&above, &below].iter().all(|n| {
                n.outer(i)
                    .is_some_and(|n| (n.x0 - o.x0).abs().max((n.x1 - o.x1).abs()) < STEEP * h)
            });
            let read = g.outer(i).map_or(0.0, |r| r.width());
            steady.then(|| (read - o.width()).abs() / h * 100.0)
        })
        .collect();
    errors.sort_by(f64::total_cmp);
    errors[((errors.len() as f64 - 1.0) * 0.95).round() as usize]
}

/// Holes that the other outline has mostly filled.
fn filled(of: &Outline<Level>, by: &Outline<Level>, h: f64) -> usize {
    of.rings
        .iter()
        .filter(|r| ring_area(r) < -HOLE * h * h)
        .filter(|r| {
            let hole = Outline {
                rings: vec![r.iter().rev().copied().collect()],
            };
            let b = hole.bounds().expect("a hole");
            let ys: Vec<f64> = (0..HOLE_ROWS)
                .map(|i| b.y0 + (i as f64 + 0.5) / HOLE_ROWS as f64 * b.height())
                .collect();
            let both = overlap(&hole.row_spans(&ys), &by.row_spans(&ys));
            both.shared > 0.5 * both.first
        })
        .count()
}

fn holes(figure: &Figure, want: &Outline<Level>, got: &Outline<Level>, out: &mut Vec<String>) {
    let b = super::curve::bounds(&figure.rings);
    let h = b[3] - b[1];
    let (missed, false_ones) = (filled(want, got, h), filled(got, want, h));
    if missed > 0 {
        out.push(format!("{missed} holes missed"));
    }
    if false_ones > 0 {
        out.push(format!("{false_ones} false holes"));
    }
}
