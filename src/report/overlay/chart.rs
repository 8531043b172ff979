//! The row chart: how far the mesh reaches beyond the drawing at the left and the right edge, at the figure's own
//! heights.

use super::canvas::Canvas;
use super::{Frame, Subject, round_length};
use crate::compare::wording::edges;
use crate::report::look::{BAND, CHART, INK, OVER, QUIET, RULE, SMALL, UNDER};
use crate::report::model::Row;

/// The chart's scale reaches this many tolerances at least.
const LEAST_REACH: f64 = 2.5;
/// And as far as all but this share of the rows.
const BEYOND: f64 = 0.02;

pub(super) fn draw(canvas: &mut Canvas, subject: &Subject<'_>, frame: &Frame, left: f64) {
    let report = subject.report;
    let view = &report.views[subject.view];
    let tolerance = report.settings.tolerance_pct / 100.0 * report.figure_height;
    let mut all: Vec<f64> = view
        .rows
        .iter()
        .flat_map(|r| [r.left_diff, r.right_diff])
        .flatten()
        .map(f64::abs)
        .collect();
    all.sort_by(f64::total_cmp);
    let high = all
        .get(((1.0 - BEYOND) * all.len() as f64) as usize)
        .copied()
        .unwrap_or(0.0);
    let reach = 1.1 * high.max(LEAST_REACH * tolerance);
    let half = CHART / 2.0 - 16.0;
    let middle = left + CHART / 2.0;
    let x = |v: f64| middle + (v / reach).clamp(-1.0, 1.0) * half;
    let (top, bottom) = (frame.pane[1], frame.pane[3]);

    canvas.rectangle(x(-tolerance), top, x(tolerance), bottom, BAND);
    canvas.line(&[(middle, top), (middle, bottom)], false, 1.0, &[], INK);
    let tick = round_length(reach * 0.9);
    for v in [-tick, tick] {
        canvas.line(&[(x(v), top), (x(v), bottom)], false, 0.8, &[2.0, 4.0], RULE);
        let text = format!("{}{}", if v < 0.0 { "−" } else { "+" }, tick);
        let w = canvas.width_of(&text, SMALL);
        canvas.text(&text, SMALL, x(v) - w / 2.0, bottom + 18.0, QUIET);
    }
    let w = canvas.width_of("0", SMALL);
    canvas.text("0", SMALL, middle - w / 2.0, bottom + 18.0, QUIET);
    let caption = "mesh short  ·  mesh beyond";
    let w = canvas.width_of(caption, SMALL);
    canvas.text(caption, SMALL, middle - w / 2.0, bottom + 38.0, QUIET);

    one_sided(canvas, &view.rows, frame, x(-reach));
    let facing = subject.shown.placed.facing;
    let names = edges(facing);
    curve(
        canvas,
        &view.rows,
        frame,
        &x,
        |r| r.left_diff,
        1.4,
        &[5.0, 3.0],
        UNDER,
    );
    curve(canvas, &view.rows, frame, &x, |r| r.right_diff, 2.0, &[], OVER);
    let y = top - 8.0;
    canvas.line(
        &[(left + 18.0, y - 5.0), (left + 46.0, y - 5.0)],
        false,
        1.4,
        &[5.0, 3.0],
        UNDER,
    );
    canvas.text(&format!("{} edge", names.0), SMALL, left + 52.0, y, INK);
    canvas.line(
        &[(middle + 12.0, y - 5.0), (middle + 40.0, y - 5.0)],
        false,
        2.0,
        &[],
        OVER,
    );
    canvas.text(&format!("{} edge", names.1), SMALL, middle + 46.0, y, INK);
}

/// Rows that only one of the two has: a mark at the chart's side, no bar.
fn one_sided(canvas: &mut Canvas, rows: &[Row], frame: &Frame, x: f64) {
    let mut start: Option<f64> = None;
    for i in 0..=rows.len() {
        let alone = rows.get(i).is_some_and(|r| r.outer_diff.is_none());
        match (alone, start) {
            (true, None) => start = Some(frame.at(0.0, rows[i].y).1),
            (false, Some(y)) => {
                let end = frame.at(0.0, rows[i - 1].y).1;
                canvas.line(&[(x, y), (x, end)], false, 4.0, &[1.5, 3.0], QUIET);
                start = None;
            }
            _ => {}
        }
    }
}

#[allow(clippy::too_many_arguments, reason = "one curve of the chart, called twice")]
fn curve(
    canvas: &mut Canvas,
    rows: &[Row],
    frame: &Frame,
    x: &impl Fn(f64) -> f64,
    value: impl Fn(&Row) -> Option<f64>,
    width: f32,
    dash: &[f32],
    colour: [u8; 3],
) {
    let mut piece: Vec<(f64, f64)> = Vec::new();
    for row in rows {
        match value(row) {
            Some(v) => piece.push((x(v), frame.at(0.0, row.y).1)),
            None => canvas.line(&std::mem::take(&mut piece), false, width, dash, colour),
        }
    }
    canvas.line(&piece, false, width, dash, colour);
}
