//! The findings in words beside the charts, each joined to its rows, numbered as in the terminal and in the figure.

use super::Subject;
use super::canvas::{Canvas, Pen, Weight};
use super::frame::Frame;
use super::marks::badge;
use super::spread::{Wanted, spread};
use crate::report::look::{
    CHART, DISC, FINE_LINE, HAIRLINE, HALF_LETTER, INK, LEADERS, NOTES, QUIET, SMALL, TEXT,
};
use crate::report::model::{Facing, Finding, Kind};
use crate::report::terminal::clean;

/// Distance of a line's baseline from the one above, times its size.
const LEADING: f64 = 1.3;
/// Space between two findings.
const BETWEEN: f64 = 16.0;
/// Lines of a finding's heading at most.
const HEAD_LINES: usize = 2;
/// Distance of brackets that lie side by side.
const LANE: f64 = 5.0;
/// Brackets side by side at most.
const MOST_LANES: usize = 4;
/// Length of a bracket's end.
const HOOK: f64 = 3.0;

/// Room for a finding's disc before its words.
pub(super) const INDENT: f64 = 2.0 * DISC + 8.0;

/// A finding with its lines.
pub(super) struct Note<'a> {
    pub(super) finding: &'a Finding,
    /// The same place seen from the other side, if one note stands for both.
    pub(super) twin: Option<&'a Finding>,
    head: Vec<String>,
    lines: Vec<String>,
}

impl Note<'_> {
    /// The room it takes, with the space to the next.
    pub(super) fn height(&self) -> f64 {
        LEADING * (TEXT * self.head.len() as f64 + SMALL * self.lines.len() as f64) + BETWEEN
    }

    /// Draws it about a row, its disc's left side at `x`.
    pub(super) fn draw(&self, canvas: &mut Canvas, x: f64, middle: f64) {
        let mut y = middle - (self.height() - BETWEEN) / 2.0 - 0.2 * SMALL;
        let first = y + LEADING * TEXT - HALF_LETTER * TEXT;
        badge(canvas, self.finding, x + DISC, first);
        if let Some(twin) = self.twin {
            badge(canvas, twin, x + DISC, first + 2.0 * DISC + 3.0);
        }
        for line in &self.head {
            y += LEADING * TEXT;
            canvas.text(line, TEXT, Weight::Strong, (x + INDENT, y), INK);
        }
        for line in &self.lines {
            y += LEADING * SMALL;
            canvas.text(line, SMALL, Weight::Book, (x + INDENT, y), QUIET);
        }
    }
}

pub(super) fn draw(canvas: &mut Canvas, subject: &Subject<'_>, frame: &Frame) {
    let (x, top) = (frame.notes, frame.stage.pane.top);
    canvas.text("Findings", TEXT, Weight::Strong, (x + INDENT, top - 28.0), INK);
    let findings = &subject.view().findings;
    if findings.is_empty() {
        canvas.text(
            "none in this view",
            SMALL,
            Weight::Book,
            (x + INDENT, top - 10.0),
            QUIET,
        );
        return;
    }
    canvas.text(
        side_words(subject),
        SMALL,
        Weight::Book,
        (x + INDENT, top - 10.0),
        QUIET,
    );
    // The worst that fit; findings come worst first.
    let room = frame.stage.pane.height;
    let mut taken = 0.0;
    let mut notes: Vec<Note<'_>> = Vec::new();
    for finding in findings {
        let note = note(canvas, subject, finding, None, NOTES - INDENT);
        taken += note.height();
        if taken > room {
            break;
        }
        notes.push(note);
    }
    let left_out = findings.len() - notes.len();
    let wanted_row = |f: &Finding| frame.stage.row(f.worst_y);
    notes.sort_by(|a, b| wanted_row(a.finding).total_cmp(&wanted_row(b.finding)));
    let labels: Vec<Wanted> = notes
        .iter()
        .map(|n| Wanted {
            middle: wanted_row(n.finding),
            size: n.height(),
        })
        .collect();
    let middles = spread(&labels, top, frame.stage.pane.bottom());
    let lanes = lanes(&notes);
    for ((note, middle), lane) in notes.iter().zip(middles).zip(lanes) {
        leader(canvas, frame, note.finding, lane, middle);
        note.draw(canvas, x, middle);
    }
    if left_out > 0 {
        let text = format!("and {left_out} more, see report.json");
        canvas.text(
            &text,
            SMALL,
            Weight::Book,
            (x + INDENT, frame.stage.pane.bottom() + SMALL + 5.0),
            QUIET,
        );
    }
}

/// What 1 means, and whose left and right are meant where it could be asked.
fn side_words(subject: &Subject<'_>) -> &'static str {
    match subject.shown.placed.facing {
        Facing::Viewer | Facing::Away => "1 is farthest off; left, right as seen",
        Facing::Left | Facing::Right => "1 is farthest off of all views",
    }
}

/// A finding in words, its lines no wider than `room`; `view` is named where the picture shows several.
pub(super) fn note<'a>(
    canvas: &Canvas,
    subject: &Subject<'_>,
    finding: &'a Finding,
    view: Option<&str>,
    room: f64,
) -> Note<'a> {
    let font = canvas.font();
    // The finding's own words up to where it says the place, which the picture shows.
    let text = clean(&finding.text);
    let head = text
        .split(" between ")
        .next()
        .and_then(|t| t.split(" (").next())
        .unwrap_or(&text);
    let head = head.split(';').next().unwrap_or(head);
    let head = view.map_or_else(|| head.to_string(), |v| format!("{v}: {head}"));
    let mut lines = Vec::new();
    let outer = matches!(finding.kind, Kind::Thick | Kind::Thin | Kind::Shifted);
    if let (true, Some(l), Some(r)) = (outer, finding.left_diff, finding.right_diff) {
        let [left, right] = subject.edges();
        lines.push(format!(
            "{left} {}, {right} {}",
            subject.signed(l),
            subject.signed(r)
        ));
    }
    let unit = subject.unit();
    let [low, high, worst] = [finding.y_from, finding.y_to, finding.worst_y].map(|y| subject.length(y));
    // A part that is not there is not worst anywhere.
    if matches!(finding.kind, Kind::Missing | Kind::Extra) {
        lines.push(format!("from y {low} to {high}{unit}"));
    } else {
        lines.push(format!("y {low} to {high}, worst at {worst}{unit}"));
    }
    if finding.unsure {
        lines.push("unsure: the outline is open, faint or disturbed here".to_string());
    }
    if finding.excused {
        lines.push("not counted: unfinished".to_string());
    }
    Note {
        finding,
        twin: None,
        head: font.lines(&head, TEXT, room, HEAD_LINES),
        lines: lines
            .iter()
            .flat_map(|l| font.lines(&clean(l), SMALL, room, 2))
            .collect(),
    }
}

/// Findings whose rows overlap get brackets side by side.
fn lanes(notes: &[Note<'_>]) -> Vec<usize> {
    let mut out: Vec<usize> = Vec::new();
    for (i, note) in notes.iter().enumerate() {
        let taken: Vec<usize> = notes[..i]
            .iter()
            .zip(&out)
            .filter(|(n, _)| n.finding.y_from <= note.finding.y_to && note.finding.y_from <= n.finding.y_to)
            .map(|(_, lane)| *lane)
            .collect();
        out.push((0..MOST_LANES).find(|l| !taken.contains(l)).unwrap_or(MOST_LANES));
    }
    out
}

/// A bracket over the finding's rows, and a line from its worst row to its note.
fn leader(canvas: &mut Canvas, frame: &Frame, finding: &Finding, lane: usize, middle: f64) {
    let x = frame.charts[1] + CHART + 10.0 + LANE * lane as f64;
    let (top, bottom) = (frame.stage.row(finding.y_to), frame.stage.row(finding.y_from));
    let worst = frame
        .stage
        .row(finding.worst_y)
        .clamp(top.min(bottom), bottom.max(top));
    let pen = Pen::solid(FINE_LINE, INK);
    canvas.line(&[(x - HOOK, top), (x, top), (x, bottom), (x - HOOK, bottom)], pen);
    let bend = frame.charts[1] + CHART + 10.0 + LANE * (MOST_LANES + 1) as f64;
    let end = frame.charts[1] + CHART + LEADERS - 4.0;
    canvas.line(
        &[(x, worst), (bend, worst), (end, middle)],
        Pen::solid(HAIRLINE, INK),
    );
}
