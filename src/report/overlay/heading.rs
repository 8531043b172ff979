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

/// The verdict in words.
pub(crate) fn words(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::OnModel => "on model",
        Verdict::OffModel => "off model",
        Verdict::Undecided => "undecided",
    }
}

/// A view's name as a heading.
pub(super) fn capital(name: &str) -> String {
    let name = clean(name);
    let mut letters = name.chars();
    letters
        .next()
        .into_iter()
        .flat_map(char::to_uppercase)
        .chain(letters)
        .collect()
}

pub(super) fn draw(canvas: &mut Canvas, subject: &Subject<'_>, frame: &Frame) {
    let right = frame.width - MARGIN;
    let name = capital(&subject.view().name);
    let end = canvas.text(
        &format!("{name} view"),
        TITLE,
        Weight::Strong,
        (MARGIN, FIRST),
        INK,
    );
    let here = subject.view().findings.iter().any(|f| !f.excused);
    let verdict = match subject.report.verdict {
        Verdict::OffModel if !here => "within tolerance in this view",
        verdict => words(verdict),
    };
    let end_first = canvas.text(verdict, TITLE, Weight::Book, (end + APART, FIRST), INK);

    let summary = subject.view().summary;
    let unit = subject.unit();
    let show = |v: f64| subject.length(v);
    let figures = format!(
        "outlines apart: {} on average, {}{unit} at most",
        show(summary.contour_mean),
        show(summary.contour_max),
    );
    let short = if summary.rows_outside > 0 && subject.view().findings.is_empty() {
        ", too short a stretch or too little to point at"
    } else {
        ""
    };
    let share = format!(
        "{} of {} rows outside tolerance{short}",
        summary.rows_outside, summary.rows_total
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
