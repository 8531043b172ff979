//! The course on the terminal: a table, a chart, and what changed in words.

use std::fmt::Write as _;

use super::Point;
use crate::report::changes::{Changes, How};
use crate::report::model::Verdict;
use crate::report::terminal::{Style, clean};

/// Checks in the table and columns in the chart, at most: the latest ones.
const MOST: usize = 24;
/// Lines of the chart.
const LINES: usize = 7;
/// Columns of one check in the chart, with the space behind it.
const COLUMN: usize = 3;
/// Names are shortened to this.
const NAME: usize = 18;
/// Stretches within tolerance or elsewhere that are told, at most.
const MOST_PLACES: usize = 6;

/// Table and chart, ended by a line feed. Writing to a string cannot fail.
pub fn course(points: &[Point], style: Style) -> String {
    let mut out = String::new();
    let first = points.len().saturating_sub(MOST);
    let shown = &points[first..];
    let mut views: Vec<&str> = Vec::new();
    for (name, _) in shown.iter().flat_map(|p| &p.views) {
        if !views.contains(&name.as_str()) {
            views.push(name);
        }
    }
    let mut heads = format!(
        "{:>4}  {:<16}  {:<NAME$}  {:<9}  {:>8}  {:>9}  {:>8}",
        "no.", "when, UTC", "called", "verdict", "findings", "worst off", "outside"
    );
    for view in &views {
        let _ = write!(
            heads,
            "  {:>width$}",
            clean(view),
            width = view.chars().count().max(6)
        );
    }
    let _ = writeln!(out, "{}", style.bold(&heads));
    for p in shown {
        let time = p.time.as_deref().map_or_else(String::new, |t| {
            t.chars().take(16).collect::<String>().replace('T', " ")
        });
        let name = shortened(&clean(p.name.as_deref().unwrap_or_default()));
        let _ = write!(
            out,
            "{:>4}  {time:<16}  {name:<NAME$}  {:<9}  {:>8}  {:>7.1} %  {:>6.1} %",
            p.number,
            word(p.verdict),
            p.findings,
            p.worst_pct,
            p.outside_pct
        );
        for view in &views {
            let width = view.chars().count().max(6);
            let share = p
                .views
                .iter()
                .find(|(n, _)| n == view)
                .map_or_else(|| "–".to_string(), |(_, v)| format!("{v:.1} %"));
            let _ = write!(out, "  {share:>width$}");
        }
        out.push('\n');
    }
    if first > 0 {
        let _ = writeln!(out, "      {first} earlier");
    }
    let _ = writeln!(
        out,
        "      outside: rows outside tolerance; worst off: in percent of the figure's height"
    );
    if shown.len() > 1 {
        chart(&mut out, shown);
    }
    out
}

fn word(verdict: Verdict) -> &'static str {
    crate::report::overlay::words(verdict)
}

fn shortened(name: &str) -> String {
    if name.chars().count() <= NAME {
        return name.to_string();
    }
    let kept: String = name.chars().take(NAME - 1).collect();
    format!("{kept}…")
}

/// Rows outside tolerance as columns, in eighths of a line.
fn chart(out: &mut String, points: &[Point]) {
    const EIGHTHS: [char; 9] = [' ', '▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'];
    let most = points.iter().map(|p| p.outside_pct).fold(0.0, f64::max);
    let top = round_up(most);
    let _ = writeln!(out, "\n      rows outside tolerance, percent");
    for line in (0..LINES).rev() {
        let label = match line {
            l if l + 1 == LINES => format!("{top}"),
            0 => "0".to_string(),
            _ => String::new(),
        };
        let mut text = format!("{label:>4} ┤");
        for p in points {
            let filled = p.outside_pct / top * LINES as f64 - line as f64;
            let mut eighths = (filled * 8.0).round().clamp(0.0, 8.0) as usize;
            // Little is not nothing.
            if line == 0 && p.outside_pct > 0.0 {
                eighths = eighths.max(1);
            }
            text.push(EIGHTHS[eighths]);
            text.push(EIGHTHS[eighths]);
            text.push(' ');
        }
        let _ = writeln!(out, "{}", text.trim_end());
    }
    let numbers: String = points
        .iter()
        .map(|p| format!("{:<COLUMN$}", p.number % 100))
        .collect();
    let _ = writeln!(out, "      {}", numbers.trim_end());
}

/// The next of 1, 2, 5 times a power of ten, at most 100.
fn round_up(most: f64) -> f64 {
    [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0]
        .into_iter()
        .find(|t| *t >= most)
        .unwrap_or(100.0)
}

/// What changed, in words, under a heading; ended by a line feed.
pub fn changed(title: &str, changes: &Changes, style: Style) -> String {
    let mut out = format!("{}\n", style.bold(title));
    let was = word(changes.was);
    let now = word(changes.now);
    if was != now {
        let _ = writeln!(out, "  verdict    {now}, {was} before");
    }
    for f in changes.findings.iter().filter(|f| f.how != How::Stayed) {
        let kind = f.kind_was.map(|_| ", of another kind").unwrap_or_default();
        let _ = writeln!(
            out,
            "  {:<9}  {}: {}{kind}",
            how(f.how),
            clean(&f.view),
            clean(&f.text)
        );
    }
    for (word, list) in [("new", &changes.others_new), ("gone", &changes.others_gone)] {
        for text in list {
            let _ = writeln!(out, "  {word:<9}  {}", clean(text));
        }
    }
    let stayed = changes.count(How::Stayed);
    if stayed > 0 {
        let _ = writeln!(
            out,
            "  stayed     {stayed} finding{}",
            if stayed == 1 { "" } else { "s" }
        );
    }
    let told = |p: &&crate::report::changes::PlaceChange| {
        changes
            .findings
            .iter()
            .any(|f| f.how != How::Stayed && f.view == p.view && f.y_from <= p.at_y && p.at_y <= f.y_to)
    };
    let places: Vec<_> = changes.places.iter().filter(|p| !told(p)).collect();
    for p in places.iter().take(MOST_PLACES) {
        let _ = writeln!(
            out,
            "  {:<9}  {}: {}",
            if p.how == How::Better { "nearer" } else { "farther" },
            clean(&p.view),
            clean(&p.text)
        );
    }
    if places.len() > MOST_PLACES {
        let _ = writeln!(
            out,
            "             and {} smaller ones",
            places.len() - MOST_PLACES
        );
    }
    if changes.is_nothing() {
        let _ = writeln!(out, "  nothing changed");
    }
    out
}

fn how(how: How) -> &'static str {
    match how {
        How::New => "new",
        How::Worse => "worse",
        How::Better => "better",
        How::Gone => "gone",
        How::Stayed => "stayed",
    }
}
