//! What the terminal shows: a short table of views, findings worst first, the verdict. Returns text, prints nothing.

use std::fmt::Write as _;

use crate::compare::wording::length;
use crate::report::model::{Report, Verdict};

/// Plain text or with colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Style {
    /// No escape codes.
    Plain,
    /// Emphasis by escape codes.
    Colour,
}

impl Style {
    fn bold(self, text: &str) -> String {
        match self {
            Self::Plain => text.to_string(),
            Self::Colour => format!("\u{1b}[1m{text}\u{1b}[0m"),
        }
    }
}

/// The verdict in words.
pub fn verdict(report: &Report) -> &'static str {
    match report.verdict {
        Verdict::OnModel => "on model: everything is within tolerance",
        Verdict::OffModel => "off model",
        Verdict::Undecided => "undecided: the drawing or its placement could not be read surely enough",
    }
}

/// The summary of a check.
pub fn summary(report: &Report, style: Style) -> String {
    let mut out = String::new();
    let height = report.figure_height;
    let unit = if report.unit.is_empty() {
        "units"
    } else {
        &report.unit
    };
    // Writing to a string cannot fail.
    let _ = writeln!(
        out,
        "figure {} {unit} tall, ground at y {}, tolerance {} % = {} {unit}\n",
        length(height, height),
        length(report.ground_y, height),
        report.settings.tolerance_pct,
        length(report.settings.tolerance_pct / 100.0 * height, height),
    );
    let _ = writeln!(
        out,
        "{}",
        style.bold("view             outer width off by: mean    p95    max   rows outside   overlap   sure")
    );
    for (view, drawn) in report.views.iter().zip(&report.sheet.views) {
        let s = &view.summary;
        let facing = format!("{:?}", drawn.facing).to_lowercase();
        let name = if view.name.starts_with("side") {
            format!("{} ({facing})", view.name)
        } else {
            view.name.clone()
        };
        let rows = format!("{}/{}", s.rows_outside, s.rows_total);
        let _ = writeln!(
            out,
            "{name:<31}{:>10}{:>7}{:>7}{rows:>15}{:>9.1}%{:>7.2}",
            length(s.outer_diff_mean_abs, height),
            length(s.outer_diff_p95_abs, height),
            length(s.outer_diff_max_abs, height),
            100.0 * s.iou,
            drawn.confidence,
        );
    }
    out.push('\n');
    let mut findings: Vec<_> = report
        .views
        .iter()
        .flat_map(|v| v.findings.iter().map(move |f| (f, v.name.as_str())))
        .collect();
    findings.sort_by_key(|(f, _)| f.number);
    for (f, view) in findings {
        let _ = writeln!(out, "{:>3}  {}: {}", f.number, style.bold(view), f.text);
    }
    for f in &report.findings {
        let _ = writeln!(out, "  -  {}", f.text);
    }
    for v in &report.sheet.views {
        for w in v.warnings.iter().take(6) {
            let _ = writeln!(out, "     note on the {} view: {w}", v.name);
        }
    }
    for note in &report.notes {
        let _ = writeln!(out, "     note: {note}");
    }
    let _ = writeln!(out, "\n{}", style.bold(verdict(report)));
    out
}
