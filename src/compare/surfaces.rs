//! Cage and smoothed surface side by side: where smoothing takes away so much that a cage that is on model is a form that
//! is too thin.

use crate::compare::bands::LEAST_HEIGHT;
use crate::compare::wording::length;
use crate::report::model::{Lost, OtherSurface, Row};
use crate::silhouette::Silhouette;

/// Which of two surfaces is the other one, the one that does not decide.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Other {
    /// The smoothed surface; the rows are the cage's.
    Smoothed,
    /// The cage; the rows are the smoothed surface's.
    Cage,
}

/// A row in which both surfaces and the drawing are there: height, outer widths of drawing, cage, smoothed surface.
struct Widths {
    y: f64,
    drawing: f64,
    cage: f64,
    smooth: f64,
}

/// Compares the other surface's silhouette with a view's rows. `tolerance` and `height` are in units.
pub fn compare(rows: &[Row], seen: &Silhouette, other: Other, [tolerance, height]: [f64; 2]) -> OtherSurface {
    let ys: Vec<f64> = rows.iter().map(|r| r.y).collect();
    let spans = seen.row_spans(&ys);
    let width = |s: &[[f64; 2]]| Some(s.last()?[1] - s.first()?[0]);
    let both: Vec<Widths> = rows
        .iter()
        .enumerate()
        .filter_map(|(i, r)| {
            let (own, beside) = (width(&r.mesh)?, spans.outer(i)?.width());
            let (cage, smooth) = match other {
                Other::Smoothed => (own, beside),
                Other::Cage => (beside, own),
            };
            Some(Widths {
                y: r.y,
                drawing: width(&r.drawing)?,
                cage,
                smooth,
            })
        })
        .collect();
    let mut off: Vec<f64> = both
        .iter()
        .map(|w| match other {
            Other::Smoothed => (w.smooth - w.drawing).abs(),
            Other::Cage => (w.cage - w.drawing).abs(),
        })
        .collect();
    off.sort_by(f64::total_cmp);
    // Nearest rank, as in the summaries.
    let p95 = off.get((off.len() * 95).div_ceil(100).saturating_sub(1));
    OtherSurface {
        surface: match other {
            Other::Smoothed => "limit",
            Other::Cage => "cage",
        },
        outer_diff_mean_abs: off.iter().sum::<f64>() / off.len().max(1) as f64,
        outer_diff_p95_abs: p95.copied().unwrap_or(0.0),
        outer_diff_max_abs: off.last().copied().unwrap_or(0.0),
        lost: lost(&both, tolerance, height),
    }
}

fn lost(rows: &[Widths], tolerance: f64, height: f64) -> Vec<Lost> {
    let thin = |w: &Widths| (w.cage - w.drawing).abs() <= tolerance && w.smooth - w.drawing < -tolerance;
    rows.chunk_by(|a, b| thin(a) == thin(b))
        .filter(|run| thin(&run[0]) && run[0].y - run[run.len() - 1].y > LEAST_HEIGHT * height)
        .filter_map(|run| {
            let worst = run
                .iter()
                .min_by(|a, b| (a.smooth - a.drawing).total_cmp(&(b.smooth - b.drawing)))?;
            let missing = worst.drawing - worst.smooth;
            // Smoothing takes the same share of a wider cage.
            let wider = missing * worst.cage / worst.smooth.max(f64::MIN_POSITIVE);
            let show = |v: f64| length(v, height);
            Some(Lost {
                y_from: run[run.len() - 1].y,
                y_to: run[0].y,
                worst_y: worst.y,
                cage_outer_diff: worst.cage - worst.drawing,
                smooth_outer_diff: -missing,
                cage_wider_by: wider,
                text: format!(
                    "smoothing makes it {} too thin from y {} to {}; at y {} the cage would have to be {} wider",
                    show(missing),
                    show(run[run.len() - 1].y),
                    show(run[0].y),
                    show(worst.y),
                    show(wider)
                ),
            })
        })
        .collect()
}
