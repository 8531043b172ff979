//! Places that must not be filled: concave ones, and holes.

use drawntrue::profile::{Outline, RowSpans, Span, overlap, ring_area};
use drawntrue::space::Level;

use super::limits::Limits;
use super::measure::{Fault, Matter};

/// Rows in which areas are measured.
const FINE_ROWS: usize = 1500;
/// A hole smaller than this share of the square of the height is none.
const LEAST_HOLE: f64 = 0.0004;

/// Cuts rows to a window.
fn cut(rows: &RowSpans, x0: f64, x1: f64) -> RowSpans {
    let mut out = RowSpans::with_capacity(rows.len(), rows.spans.len());
    for i in 0..rows.len() {
        let row: Vec<Span> = rows
            .row(i)
            .iter()
            .map(|s| Span {
                x0: s.x0.max(x0),
                x1: s.x1.min(x1),
            })
            .filter(|s| s.x1 > s.x0)
            .collect();
        out.push_row(rows.ys[i], &row);
    }
    out
}

/// Open area of a window (px²), and which share of it was filled, in percent.
pub(crate) fn filled(want: &Outline<Level>, got: &Outline<Level>, [x0, y0, x1, y1]: [f64; 4]) -> (f64, f64) {
    let step = (y1 - y0) / FINE_ROWS as f64;
    let ys: Vec<f64> = (0..FINE_ROWS).map(|i| y0 + (i as f64 + 0.5) * step).collect();
    let o = overlap(
        &cut(&want.row_spans(&ys), x0, x1),
        &cut(&got.row_spans(&ys), x0, x1),
    );
    let open = (x1 - x0) * (y1 - y0) - o.first;
    assert!(
        open > 0.05 * (x1 - x0) * (y1 - y0) && o.first > 0.0,
        "the window shows no concave place"
    );
    (open, (o.second - o.shared) / open * 100.0)
}

/// Holes of the truth against those of the reading.
pub(crate) fn holes(
    name: &str,
    h: f64,
    want: &Outline<Level>,
    got: &Outline<Level>,
    limits: &Limits,
    out: &mut Vec<Fault>,
    log: &mut Vec<String>,
) {
    let of = |o: &Outline<Level>| {
        o.rings
            .iter()
            .filter(|r| ring_area(r) < -LEAST_HOLE * h * h)
            .map(|r| Outline {
                rings: vec![r.iter().rev().copied().collect()],
            })
            .collect::<Vec<Outline<Level>>>()
    };
    let (w, g) = (of(want), of(got));
    let mut missing = 0;
    for hole in &w {
        let Some(b) = hole.bounds() else { continue };
        let ys: Vec<f64> = (0..FINE_ROWS)
            .map(|i| b.y0 + (i as f64 + 0.5) / FINE_ROWS as f64 * b.height())
            .collect();
        let rows = hole.row_spans(&ys);
        let area = |o: &Outline<Level>| o.area().abs();
        let iou = g
            .iter()
            .map(|o| {
                let both = overlap(&rows, &o.row_spans(&ys));
                both.shared / (both.first + area(o) - both.shared)
            })
            .fold(0.0, f64::max);
        log.push(format!(
            "{name}: hole of {:.2} % of the square of the height, IoU {iou:.3}",
            area(hole) / h / h * 100.0
        ));
        missing += usize::from(iou < limits.hole_iou);
    }
    if missing > 0 || g.len() > w.len() {
        out.push((
            Matter::Holes,
            format!("{name}: {} holes, {} read, {missing} not met", w.len(), g.len()),
        ));
    }
}
