//! What the terminal shows: a short table of views, findings worst first, the verdict. Returns text, prints nothing.
//!
//! Fits [`WIDTH`] columns; long sentences are wrapped. Control characters of file names and labels are replaced, so
//! that no input can steer the terminal.

use std::fmt::Write as _;
use std::path::Path;
use std::time::Duration;

use crate::check::MOST_CAGE_FACES;
use crate::compare::wording::length;
use crate::report::changes::Changes;
use crate::report::model::{AxesFrom, Facing, Kind, LandmarkSeen, Report, Verdict, View};

/// Columns that the text keeps to.
pub const WIDTH: usize = 96;
/// Most findings that are shown; the rest is counted. More do not fit one screen.
const MOST_FINDINGS: usize = 20;
/// Most remarks on one drawn view.
const MOST_REMARKS: usize = 3;
/// Where the text of a finding begins: behind its number and its view.
const INDENT: usize = 6;

/// Plain text or with colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Style {
    /// No escape codes.
    Plain,
    /// Emphasis by escape codes (ECMA-48, select graphic rendition).
    Colour,
}

impl Style {
    pub(super) fn wrap(self, code: &str, text: &str) -> String {
        match self {
            Self::Plain => text.to_string(),
            Self::Colour => format!("\u{1b}[{code}m{text}\u{1b}[0m"),
        }
    }

    pub(super) fn bold(self, text: &str) -> String {
        self.wrap("1", text)
    }

    pub(super) fn faint(self, text: &str) -> String {
        self.wrap("2", text)
    }

    /// Too much and too little in two colours; the words say it as well.
    fn kind(self, kind: Kind, text: &str) -> String {
        match kind {
            Kind::Thick | Kind::Extra | Kind::GapClosed => self.wrap("1;33", text),
            Kind::Thin | Kind::Missing | Kind::GapOpen => self.wrap("1;36", text),
            Kind::Shifted => self.bold(text),
        }
    }
}

/// The verdict in words.
pub fn verdict(report: &Report) -> &'static str {
    match report.verdict {
        // The table above lists what was excused; the verdict must not deny it.
        Verdict::OnModel if report.views.iter().flat_map(|v| &v.findings).any(|f| f.excused) => {
            "on model so far: what the mesh has is within tolerance"
        }
        Verdict::OnModel => "on model: everything is within tolerance",
        Verdict::OffModel => "off model",
        Verdict::Undecided => "undecided: the drawing or its placement could not be read surely enough",
    }
}

/// A text from outside on one line, without characters that steer a terminal or turn the direction of writing.
pub(super) fn clean(text: &str) -> String {
    let steers = |c: char| {
        c.is_control()
            || matches!(c, '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
    };
    text.chars().map(|c| if steers(c) { '?' } else { c }).collect()
}

/// The last part of a path.
pub(super) fn file_name(path: &str) -> String {
    clean(path.rsplit(['/', '\\']).next().unwrap_or(path))
}

/// The summary of a check, ended by a line feed.
pub fn summary(report: &Report, style: Style) -> String {
    let mut out = String::new();
    heading(&mut out, report, style);
    table(&mut out, report, style);
    findings(&mut out, report, style);
    arms(&mut out, report, style);
    remarks(&mut out, report, style);
    let _ = writeln!(out, "\n{}", style.bold(verdict(report)));
    for reason in &report.undecided {
        let _ = writeln!(out, "{}", wrapped(&format!("  {}", clean(reason)), WIDTH, 2));
    }
    out
}

/// The table of landmarks, ended by a line feed: heights above the ground in units, and in heads where a chin is seen.
/// Less sure ones are marked.
pub fn landmarks(report: &Report, style: Style) -> String {
    /// Below this a height is marked.
    const SURE: f64 = 0.7;
    let mut out = String::new();
    let _ = writeln!(
        out,
        "\n{}",
        style.bold(&format!(
            "{:<12}{:>14}{:>14}{:>12}{:>12}{:>15}{:>12}",
            "height of", "drawn, front", "drawn, side", "mesh", "difference", "drawn, heads", "mesh, heads"
        ))
    );
    let show = |v: f64| length(v, report.figure_height);
    let dash = || "-".to_string();
    let seen = |s: Option<LandmarkSeen>| {
        s.map_or_else(dash, |s| {
            let mark = if s.confidence < SURE { "?" } else { "" };
            format!("{mark}{}", show(s.y - report.ground_y))
        })
    };
    let heads = |h: Option<f64>| h.map_or_else(dash, |h| format!("{h:.2}"));
    for l in &report.landmarks {
        let difference = l.difference.map_or_else(dash, |d| {
            format!("{}{}", if d < 0.0 { "−" } else { "+" }, show(d.abs()))
        });
        let _ = writeln!(
            out,
            "{:<12}{:>14}{:>14}{:>12}{:>12}{:>15}{:>12}",
            l.name,
            seen(l.drawing_front),
            seen(l.drawing_side),
            l.mesh.map_or_else(dash, |m| show(m - report.ground_y)),
            difference,
            heads(l.drawing_heads),
            heads(l.mesh_heads),
        );
    }
    out
}

/// The proportions against a canon, ended by a line feed; empty where none was chosen.
pub fn proportions(report: &Report, style: Style) -> String {
    let Some(p) = &report.proportions else {
        return String::new();
    };
    let mut out = String::new();
    let _ = writeln!(
        out,
        "\n{}",
        style.bold(&format!(
            "{:<14}{:>7}{:>9}{:>9}{:>14}{:>13}{:>9}{:>9}{:>9}",
            "percent, heads",
            "drawn",
            "mesh",
            "canon",
            "drawn off by",
            "mesh off by",
            "drawn",
            "mesh",
            "canon"
        ))
    );
    let pct = |v: Option<f64>| v.map_or_else(|| "-".to_string(), |v| format!("{v:.1}"));
    let heads = |v: Option<f64>| v.map_or_else(|| "-".to_string(), |v| format!("{v:.2}"));
    let off = |v: Option<f64>| {
        v.map_or_else(
            || "-".to_string(),
            |v| format!("{}{:.1}", if v < 0.0 { "−" } else { "+" }, v.abs()),
        )
    };
    for r in &p.rows {
        let _ = writeln!(
            out,
            "{:<14}{:>7}{:>9}{:>9}{:>14}{:>13}{:>9}{:>9}{:>9}",
            r.name,
            pct(r.drawing_pct),
            pct(r.mesh_pct),
            pct(r.canon_pct),
            off(r.drawing_off_pct),
            off(r.mesh_off_pct),
            heads(r.drawing_heads),
            heads(r.mesh_heads),
            heads(r.canon_heads),
        );
    }
    let source = format!("canon {}: {}; information, no finding", clean(&p.canon), p.source);
    let _ = writeln!(out, "{}", style.faint(&wrapped(&source, WIDTH, 2)));
    out
}

/// One line for a check of a series: number, verdict, worst finding, what changed, how long it took.
pub fn one_line(
    report: &Report,
    number: usize,
    changes: Option<&Changes>,
    took: Duration,
    style: Style,
) -> String {
    let all = report
        .views
        .iter()
        .flat_map(|v| v.findings.iter().map(move |f| (v, f)));
    let worst = all.min_by_key(|(_, f)| f.number).map(|(v, f)| {
        let head = [" between ", " (", ";"]
            .iter()
            .fold(f.text.as_str(), |t, at| t.split_once(at).map_or(t, |p| p.0));
        format!("{}: {head}", v.name)
    });
    let other = || report.findings.first().map(|f| f.text.clone());
    let mut parts = vec![style.bold(verdict(report))];
    parts.extend(worst.or_else(other).map(|t| clean(&t)));
    parts.extend(changes.map(|c| clean(&c.text)));
    parts.push(style.faint(&format!("{} ms", took.as_millis())));
    format!("{number:>3}  {}", parts.join(" | "))
}

/// Said of files that were saved as they were.
pub fn unchanged() -> String {
    "     saved without a change".to_string()
}

/// Said of the version from which changes are counted from now on.
pub fn pinned(number: usize) -> String {
    format!("     number {number} is pinned")
}

/// Where the results are: one line with the folder and the files' names.
pub fn written(folder: &Path, names: &[String]) -> String {
    let names: Vec<String> = names.iter().map(|n| clean(n)).collect();
    let text = format!(
        "written to {}: {}",
        clean(&folder.display().to_string()),
        names.join(", ")
    );
    wrapped(&text, WIDTH, 2)
}

// Writing to a string cannot fail; the results of `writeln!` below are dropped for that reason.

fn heading(out: &mut String, report: &Report, style: Style) {
    let height = report.figure_height;
    let unit = clean(&report.unit);
    let unit = if unit.is_empty() {
        String::new()
    } else {
        format!(" {unit}")
    };
    let mut sheets: Vec<String> = report.inputs.sheets.iter().map(|s| file_name(&s.path)).collect();
    sheets.dedup();
    let files = format!(
        "{} against {}",
        file_name(&report.inputs.mesh.path),
        sheets.join(", ")
    );
    let _ = writeln!(out, "{}", style.bold(&wrapped(&files, WIDTH, 2)));
    let measures = format!(
        "{}{unit} tall, ground at y {}; tolerance {} % = {}{unit}{}{}",
        length(height, height),
        length(report.ground_y, height),
        report.settings.tolerance_pct,
        length(report.settings.tolerance_pct / 100.0 * height, height),
        report
            .settings
            .tolerance_width_pct
            .map_or_else(String::new, |p| format!(", and {p} % of the local width")),
        report
            .settings
            .stage
            .map_or_else(String::new, |s| format!(" ({})", s.name())),
    );
    let _ = writeln!(out, "{}", wrapped(&measures, WIDTH, 2));
    let _ = writeln!(out, "{}\n", wrapped(&placed(report), WIDTH, 2));
}

/// Where the drawing lies, and how sure that is.
fn placed(report: &Report) -> String {
    let (p, height) = (&report.placement, report.figure_height);
    let mut out = format!("placed: {}", p.how.words());
    if let Some(pct) = p.scale_uncertainty_pct.filter(|v| *v > 0.0) {
        out += &format!(", scale ±{pct:.2} %");
    }
    if let Some(ground) = p.ground_uncertainty.filter(|v| *v > 0.0) {
        out += &format!(", ground ±{}", length(ground, height));
    }
    if let Some(share) = p.outline_share {
        out += &format!(", by {:.0} % of the outline", 100.0 * share);
    }
    if p.axes_from != AxesFrom::Usual {
        out += &format!("; mesh {}", p.axes);
    }
    out
}

fn table(out: &mut String, report: &Report, style: Style) {
    let _ = writeln!(out, "{:33}{}", "", style.faint("outer width off by"));
    let _ = writeln!(
        out,
        "{}",
        style.bold(&format!(
            "{:<15}{:>9}{:>8}{:>8}{:>8}{:>8}{:>10}{:>16}{:>7}",
            "view", "units/px", "line px", "mean", "p95", "max", "overlap", "rows outside", "sure"
        ))
    );
    for view in &report.views {
        let s = &view.summary;
        let show = |v: f64| length(v, report.figure_height);
        let drawn = report.sheet.views.iter().find(|d| d.name == view.name);
        let optional = |v: Option<String>| v.unwrap_or_else(|| "-".to_string());
        let _ = writeln!(
            out,
            "{:<15}{:>9}{:>8}{:>8}{:>8}{:>8}{:>8.1} %{:>16}{:>7}",
            name(report, view),
            significant(view.units_per_px),
            optional(drawn.map(|d| format!("{:.1}", d.line_px))),
            show(s.outer_diff_mean_abs),
            show(s.outer_diff_p95_abs),
            show(s.outer_diff_max_abs),
            100.0 * s.iou,
            format!("{} of {}", s.rows_outside, s.rows_total),
            optional(drawn.map(|d| format!("{:.2}", d.confidence))),
        );
    }
}

/// The view's name, and where a side view looks.
fn name(report: &Report, view: &View) -> String {
    let name = clean(&view.name);
    match report
        .sheet
        .views
        .iter()
        .find(|d| d.name == view.name)
        .map(|d| d.facing)
    {
        Some(Facing::Left) => format!("{name} (left)"),
        Some(Facing::Right) => format!("{name} (right)"),
        _ => name,
    }
}

/// Four digits that count.
fn significant(value: f64) -> String {
    let digits = 3.0 - value.abs().max(1e-12).log10().floor();
    format!("{value:.0$}", digits.clamp(0.0, 9.0) as usize)
}

fn findings(out: &mut String, report: &Report, style: Style) {
    let mut all: Vec<_> = report
        .views
        .iter()
        .flat_map(|v| v.findings.iter().map(move |f| (f, v.name.as_str())))
        .collect();
    all.sort_by_key(|(f, _)| f.number);
    if !all.is_empty() || !report.findings.is_empty() {
        out.push('\n');
    }
    for (f, view) in all.iter().take(MOST_FINDINGS) {
        let view = format!("{}: ", clean(view));
        let text = hanging(&format!("{view}{}", clean(&f.text)));
        let head = view.trim_end();
        let rest = text.strip_prefix(head).unwrap_or(&text);
        let number = format!("{:>4}", f.number);
        let _ = writeln!(out, "{}  {}{rest}", style.bold(&number), style.kind(f.kind, head));
    }
    if all.len() > MOST_FINDINGS {
        let _ = writeln!(
            out,
            "{:INDENT$}and {} more, see report.json",
            "",
            all.len() - MOST_FINDINGS
        );
    }
    for (view, f) in report.views.iter().flat_map(|v| {
        v.limbs
            .iter()
            .flat_map(move |l| l.findings.iter().map(move |f| (v, f)))
    }) {
        let text = format!("{}: {}", clean(&view.name), clean(&f.text));
        let _ = writeln!(out, "   -  {}", hanging(&text));
    }
    for f in &report.findings {
        let _ = writeln!(out, "   -  {}", hanging(&clean(&f.text)));
    }
}

/// The arms: where they hang, how long they are, what to look at.
fn arms(out: &mut String, report: &Report, style: Style) {
    if report.arms.is_empty() {
        return;
    }
    let show = |v: f64| length(v, report.figure_height);
    let optional = |v: Option<f64>| v.map_or_else(|| "-".to_string(), show);
    let degrees = |v: Option<f64>| v.map_or_else(|| "-".to_string(), |v| format!("{v:.1}"));
    let height = |y: f64| y - report.ground_y;
    let _ = writeln!(
        out,
        "\n{}",
        style.bold(&format!(
            "{:<11}{:>9}{:>9}{:>9}{:>9}{:>12}{:>9}{:>9}{:>9}",
            "arms", "degrees", "elbow", "wrist", "tip", "tip, mesh", "length", "mesh", "off by"
        ))
    );
    for a in &report.arms {
        let off = a.length_diff.map_or_else(
            || "-".to_string(),
            |d| format!("{}{}", if d < 0.0 { "−" } else { "+" }, show(d.abs())),
        );
        let _ = writeln!(
            out,
            "{:<11}{:>9}{:>9}{:>9}{:>9}{:>12}{:>9}{:>9}{:>9}",
            a.side.word(),
            degrees(a.angle_deg),
            optional(a.elbow_y.map(height)),
            optional(a.wrist_y.map(height)),
            optional(a.fingertip_y.map(height)),
            show(height(a.mesh_fingertip_y)),
            optional(a.length),
            show(a.mesh_length),
            off,
        );
    }
    // Both arms mostly say the same: a line that only differs in its side is said once.
    let mut said: Vec<String> = Vec::new();
    for a in &report.arms {
        let lower = format!(
            "turned about the armpit instead of the shoulder joint the hand would land {} {}",
            show(a.armpit_lower.abs()),
            if a.armpit_lower < 0.0 { "higher" } else { "lower" }
        );
        let bends = a.shoulder_bends.iter().map(|b| b.text.clone());
        let practice = a.practice.iter().cloned();
        let own = std::iter::once(a.text.clone()).filter(|t| report.findings.iter().all(|f| f.text != *t));
        said.extend(own.chain([lower]).chain(bends).chain(practice));
    }
    let mut lines: Vec<String> = Vec::new();
    for text in said {
        if !lines.contains(&text) {
            lines.push(text);
        }
    }
    for line in lines {
        let _ = writeln!(out, "   -  {}", hanging(&clean(&line)));
    }
}

fn remarks(out: &mut String, report: &Report, style: Style) {
    let mut lines: Vec<String> = Vec::new();
    for v in &report.sheet.views {
        for w in v.warnings.iter().take(MOST_REMARKS) {
            lines.push(format!("{} view: {}", clean(&v.name), clean(w)));
        }
        if v.warnings.len() > MOST_REMARKS {
            let more = v.warnings.len() - MOST_REMARKS;
            lines.push(format!(
                "{} view: {more} more remarks, see report.json",
                clean(&v.name)
            ));
        }
    }
    for v in &report.views {
        let lost = v.other_surface.iter().flat_map(|o| &o.lost);
        lines.extend(lost.map(|l| format!("{} view: {}", clean(&v.name), clean(&l.text))));
    }
    lines.extend(report.notes.iter().map(|n| clean(n)));
    lines.push(report.mesh_audit.as_ref().map_or_else(
        || format!("the mesh was not audited: above {MOST_CAGE_FACES} faces `drawntrue audit` does it"),
        |a| clean(&a.text),
    ));
    if !lines.is_empty() {
        out.push('\n');
    }
    for line in lines {
        let _ = writeln!(out, "{}", style.faint(&format!("note  {}", hanging(&line))));
    }
}

pub(super) fn hanging(text: &str) -> String {
    wrapped(text, WIDTH - INDENT, 0).replace('\n', &format!("\n{:INDENT$}", ""))
}

/// Breaks a text at blanks so that no line is longer than `width` columns, further lines indented; a longer word stays
/// whole.
fn wrapped(text: &str, width: usize, indent: usize) -> String {
    let mut out = String::new();
    let mut column = 0;
    for word in text.split(' ').filter(|w| !w.is_empty()) {
        let long = word.chars().count();
        if column > 0 && column + 1 + long > width {
            let _ = write!(out, "\n{:indent$}", "");
            column = indent;
        } else if column > 0 {
            out.push(' ');
            column += 1;
        }
        out.push_str(word);
        column += long;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    fn report() -> Report {
        let mut report = sample::report();
        report.inputs.mesh.path = "meshes/odd\u{1b}[31m\nname.obj".to_string();
        report.notes = vec!["a note that is long enough to be wrapped, ".repeat(6)];
        report
    }

    /// ECMA-48: every control sequence begins with ESC.
    #[test]
    fn plain_text_steers_nothing() {
        let text = summary(&report(), Style::Plain);
        assert!(text.chars().all(|c| c == '\n' || !c.is_control()), "{text:?}");
        assert!(summary(&report(), Style::Colour).contains("\u{1b}[1m"));
    }

    #[test]
    fn colour_changes_no_letter() {
        let coloured = summary(&report(), Style::Colour);
        let mut stripped = String::new();
        let mut rest = coloured.as_str();
        while let Some((before, after)) = rest.split_once('\u{1b}') {
            stripped.push_str(before);
            rest = after.split_once('m').map_or("", |p| p.1);
        }
        stripped.push_str(rest);
        assert_eq!(stripped, summary(&report(), Style::Plain));
    }

    /// Common practice, no source: a terminal of 100 columns shows every line whole.
    #[test]
    fn no_line_is_too_long() {
        for line in summary(&report(), Style::Plain).lines() {
            assert!(
                line.chars().count() <= WIDTH,
                "{} columns: {line}",
                line.chars().count()
            );
        }
    }

    #[test]
    fn numbers_are_those_of_the_report() {
        let report = report();
        let text = summary(&report, Style::Plain);
        for view in &report.views {
            let s = &view.summary;
            let line = text
                .lines()
                .find(|l| l.starts_with(&view.name))
                .expect("the view's line");
            for number in [s.outer_diff_mean_abs, s.outer_diff_p95_abs, s.outer_diff_max_abs] {
                assert!(line.contains(&length(number, report.figure_height)), "{line}");
            }
            assert!(
                line.contains(&format!("{} of {}", s.rows_outside, s.rows_total)),
                "{line}"
            );
            assert!(line.contains(&format!("{:.1} %", 100.0 * s.iou)), "{line}");
            for f in &view.findings {
                let start = format!("{:>4}  {}: ", f.number, view.name);
                assert!(text.lines().any(|l| l.starts_with(&start)), "{start} in {text}");
            }
        }
        assert!(text.trim_end().ends_with("off model"));
    }
}
