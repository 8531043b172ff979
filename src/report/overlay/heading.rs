//! The title: which view, the verdict, the files, the tolerance, and the view's figures at the right.

use super::Subject;
use super::canvas::{Canvas, Weight};
use super::frame::Frame;
use crate::report::look::{INK, MARGIN, QUIET, SMALL, TEXT, TITLE};
use crate::report::model::Verdict;
use crate::report::terminal::{clean, file_name};

/// Baselines of the two lines.
const FIRST: f64 = 43.0;
const SECOND: f64 = 65.0;
/// Space between texts on one line.
const APART: f64 = 22.0;

pub(super) fn draw(canvas: &mut Canvas, subject: &Subject<'_>, frame: &Frame) {
    let right = frame.width as f64 - MARGIN;
    let name = clean(&subject.view().name);
    let mut letters = name.chars();
    let name: String = letters
        .next()
        .into_iter()
        .flat_map(char::to_uppercase)
        .chain(letters)
        .collect();
    let end = canvas.text(
        &format!("{name} view"),
        TITLE,
        Weight::Strong,
        (MARGIN, FIRST),
        INK,
    );
    let verdict = match subject.report.verdict {
        Verdict::OnModel => "on model",
        Verdict::OffModel => "off model",
        Verdict::Undecided => "undecided",
    };
    let end_first = canvas.text(verdict, TITLE, Weight::Book, (end + APART, FIRST), INK);

    let summary = subject.view().summary;
    let unit = subject.unit();
    let show = |v: f64| subject.length(v);
    let figures = format!(
        "outer width off by: mean {}, p95 {}, max {}{unit}",
        show(summary.outer_diff_mean_abs),
        show(summary.outer_diff_p95_abs),
        show(summary.outer_diff_max_abs),
    );
    let share = format!(
        "overlap {:.1} %, {} of {} rows outside tolerance",
        100.0 * summary.iou,
        summary.rows_outside,
        summary.rows_total
    );
    let room = right - end_first - APART;
    let figures = canvas.font().shortened(&figures, TEXT, room);
    canvas.text_left_of(&figures, TEXT, Weight::Book, (right, FIRST), INK);
    canvas.text_left_of(&share, SMALL, Weight::Book, (right, SECOND), QUIET);

    let sheet = subject.report.inputs.sheets.get(subject.shown.image);
    let line = format!(
        "{} against {}   ·   tolerance {} % of the height = {}{unit}",
        file_name(&subject.report.inputs.mesh.path),
        sheet.map(|s| file_name(&s.path)).unwrap_or_default(),
        subject.report.settings.tolerance_pct,
        show(subject.tolerance()),
    );
    let room = right - MARGIN - APART - canvas.font().width(&share, SMALL);
    let line = canvas.font().shortened(&line, SMALL, room);
    canvas.text(&line, SMALL, Weight::Book, (MARGIN, SECOND), QUIET);
}
