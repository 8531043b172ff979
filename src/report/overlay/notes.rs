//! The findings beside the chart, at their heights, numbered as in the terminal.

use super::canvas::Canvas;
use super::{Frame, NOTE, Subject};
use crate::compare::wording::{edges, length};
use crate::report::look::{CHART, INK, NOTES, QUIET, SMALL};
use crate::report::model::Finding;

/// Height that a note takes.
const NOTE_HEIGHT: f64 = 66.0;

pub(super) fn draw(canvas: &mut Canvas, subject: &Subject<'_>, frame: &Frame, left: f64) {
    let report = subject.report;
    let view = &report.views[subject.view];
    if view.findings.is_empty() {
        canvas.text(
            "no findings in this view",
            NOTE,
            left,
            frame.pane[1] + 24.0,
            QUIET,
        );
        return;
    }
    let mut findings: Vec<&Finding> = view.findings.iter().collect();
    findings.sort_by(|a, b| b.worst_y.total_cmp(&a.worst_y));
    let places = spread(
        &findings
            .iter()
            .map(|f| frame.at(0.0, f64::midpoint(f.y_from, f.y_to)).1)
            .collect::<Vec<_>>(),
        frame.pane[1] + NOTE_HEIGHT / 2.0,
        frame.pane[3] - NOTE_HEIGHT / 2.0,
    );
    let names = edges(subject.shown.placed.facing);
    let show = |v: f64| {
        format!(
            "{}{}",
            if v < 0.0 { "−" } else { "+" },
            length(v.abs(), report.figure_height)
        )
    };
    for (f, y) in findings.iter().zip(places) {
        let (_, top) = frame.at(0.0, f.y_to);
        let (_, bottom) = frame.at(0.0, f.y_from);
        let edge = left - 14.0;
        canvas.line(
            &[
                (edge - 4.0, top),
                (edge, top),
                (edge, bottom),
                (edge - 4.0, bottom),
            ],
            false,
            1.6,
            &[],
            INK,
        );
        canvas.line(
            &[(edge, f64::midpoint(top, bottom)), (left + 2.0, y)],
            false,
            1.0,
            &[],
            INK,
        );
        canvas.badge(f.number, left + 14.0, y);
        // The same number stands at the worst row, beside the figure.
        canvas.badge(f.number, left - CHART - 24.0, frame.at(0.0, f.worst_y).1);
        // The finding's own words up to where it says the place, which the picture shows.
        let head = f
            .text
            .split(" between ")
            .next()
            .and_then(|t| t.split(" (").next())
            .unwrap_or_default();
        let x = left + 34.0;
        let room = NOTES - 40.0;
        canvas.text_within(head, NOTE, x, y - 9.0, room, INK);
        if let (Some(l), Some(r)) = (f.left_diff, f.right_diff) {
            canvas.text_within(
                &format!("{} {}, {} {}", names.0, show(l), names.1, show(r)),
                SMALL,
                x,
                y + 10.0,
                room,
                INK,
            );
        }
        let place = match f.between.as_slice() {
            [a, b] => format!(
                "between {a} and {b}, y {}",
                length(f.worst_y, report.figure_height)
            ),
            _ => format!("at y {}", length(f.worst_y, report.figure_height)),
        };
        canvas.text_within(&place, SMALL, x, y + 28.0, room, QUIET);
    }
}

/// Moves heights (ascending) apart so that notes do not touch, within `top` and `bottom` where they fit.
fn spread(wanted: &[f64], top: f64, bottom: f64) -> Vec<f64> {
    let mut out = wanted.to_vec();
    let mut floor = top;
    for y in &mut out {
        *y = y.max(floor);
        floor = *y + NOTE_HEIGHT;
    }
    let mut ceiling = bottom;
    for y in out.iter_mut().rev() {
        *y = y.min(ceiling);
        ceiling = *y - NOTE_HEIGHT;
    }
    out
}
