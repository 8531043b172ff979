//! The row charts: how far the mesh reaches beyond the drawing at the left and at the right edge, at the figure's own
//! heights. Outwards is beyond, as in the figure: to the left in the left chart, to the right in the right one.
//!
//! Rows whose difference says nothing have no bar: dots where only one of the two has the row, rungs where the edge runs
//! level or belongs to a part that the other does not have there, an arm in another pose for instance.

use tiny_skia::{LineCap, PathBuilder};

use super::canvas::{Canvas, Pen, Weight};
use super::chain::chain;
use super::frame::{Frame, Pane};
use super::hatch::Lean;
use super::heading::capital;
use super::{Subject, round_length, scale_number};
use crate::compare::rows::EdgeReading;
use crate::report::look::{
    BAND, BEYOND_MARK, CHART, DOT, DOTS, FINE_LINE, HAIRLINE, INK, OVER, QUIET, RULE, RUNG, RUNGS, SMALL,
    TEXT, UNDER,
};
use crate::report::model::{Finding, Kind, Row};

/// The scale reaches this many tolerances at least.
const LEAST_REACH: f64 = 2.5;
/// And as far as all but this share of the rows.
const BEYOND: f64 = 0.02;
/// Room behind the farthest value, as a share of it.
const SLACK: f64 = 1.1;
/// The scale's number lies at most at this share of it, so that it keeps within the chart.
const TICK_AT: f64 = 0.85;
/// A longer unit, with its blank, stands at the scale bar only.
const LONGEST_UNIT: usize = 4;
/// Rungs reach this far beyond their rows.
const LEAST_RUNGS: f64 = 2.0;
/// Length of a tick below the chart.
const TICK: f64 = 5.0;

/// One edge's chart.
struct Panel {
    /// Column of no difference.
    middle: f64,
    /// Pixels a unit, negative in the left chart.
    scale: f64,
    left: f64,
}

impl Panel {
    fn x(&self, value: f64) -> f64 {
        (self.middle + value * self.scale).clamp(self.left, self.left + CHART)
    }
}

/// What one edge's chart shows of one row.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Mark {
    /// How far the mesh reaches beyond the drawing.
    Difference(f64),
    /// Only one of the two has the row.
    OneSided,
    /// The difference says nothing.
    NoMeasure,
}

/// Heights from the top down, and what is shown there.
type Marks = Vec<(f64, Mark)>;

fn marks(subject: &Subject<'_>, side: usize) -> Marks {
    let mark = |(row, edges): (&Row, &[EdgeReading; 2])| {
        let difference = [row.left_diff, row.right_diff][side];
        let mark = match (difference, edges[side]) {
            (None, _) => Mark::OneSided,
            (Some(v), EdgeReading::Measured) => Mark::Difference(v),
            (Some(_), EdgeReading::Level | EdgeReading::OtherPart) => Mark::NoMeasure,
        };
        (row.y, mark)
    };
    subject
        .view()
        .rows
        .iter()
        .zip(&subject.shown.edges)
        .map(mark)
        .collect()
}

/// Whether a view's charts have rows of these kinds: only one of the two, no measure.
pub(super) fn unmeasured(subject: &Subject<'_>) -> [bool; 2] {
    let all: Vec<Mark> = (0..2)
        .flat_map(|side| marks(subject, side))
        .map(|m| m.1)
        .collect();
    [Mark::OneSided, Mark::NoMeasure].map(|kind| all.contains(&kind))
}

pub(super) fn draw(canvas: &mut Canvas, subject: &Subject<'_>, frame: &Frame) {
    let both = [marks(subject, 0), marks(subject, 1)];
    let reach = reach(subject, &both);
    for (side, marks) in both.iter().enumerate() {
        let left = frame.charts[side];
        let outwards = if side == 0 { -1.0 } else { 1.0 };
        let panel = Panel {
            middle: left + CHART / 2.0,
            scale: outwards * CHART / 2.0 / reach,
            left,
        };
        band(canvas, subject, frame, &panel);
        curve(canvas, frame, &panel, marks);
        beyond(canvas, frame, &panel, marks, reach);
        bare(canvas, frame, &panel, marks);
        scale(canvas, subject, frame, &panel, reach);
        headings(canvas, subject, frame, &panel, side);
    }
}

fn reach(subject: &Subject<'_>, both: &[Marks; 2]) -> f64 {
    let mut all: Vec<f64> = both
        .iter()
        .flatten()
        .filter_map(|(_, m)| match m {
            Mark::Difference(v) => Some(v.abs()),
            Mark::OneSided | Mark::NoMeasure => None,
        })
        .collect();
    all.sort_by(f64::total_cmp);
    let high = all
        .get(((1.0 - BEYOND) * all.len() as f64) as usize)
        .copied()
        .unwrap_or(0.0);
    // What is listed as a finding is seen whole, if it is a measure at all.
    let most = all.last().copied().unwrap_or(0.0);
    let outer = |f: &&Finding| matches!(f.kind, Kind::Thick | Kind::Thin | Kind::Shifted);
    let listed = subject
        .view()
        .findings
        .iter()
        .filter(outer)
        .flat_map(|f| [f.left_diff, f.right_diff])
        .flatten()
        .map(f64::abs)
        .fold(0.0, f64::max)
        .min(most);
    let reach = SLACK * high.max(listed).max(LEAST_REACH * subject.tolerance());
    if reach.is_finite() && reach > 0.0 {
        reach
    } else {
        1.0
    }
}

/// The tolerance, and the line of no difference.
fn band(canvas: &mut Canvas, subject: &Subject<'_>, frame: &Frame, panel: &Panel) {
    let (top, bottom) = (frame.stage.pane.top, frame.stage.pane.bottom());
    let (a, b) = (panel.x(-subject.tolerance()), panel.x(subject.tolerance()));
    canvas.rectangle(a.min(b), top, a.max(b), bottom, BAND);
    for mark in &subject.shown.landmarks {
        let y = frame.stage.row(mark.y);
        canvas.line(
            &[(panel.left, y), (panel.left + CHART, y)],
            Pen::solid(HAIRLINE, RULE),
        );
    }
    canvas.line(
        &[(panel.middle, top), (panel.middle, bottom)],
        Pen::solid(HAIRLINE, QUIET),
    );
}

/// Runs of rows that show a difference: heights and values.
fn runs(marks: &Marks) -> Vec<Vec<(f64, f64)>> {
    let mut out = vec![Vec::new()];
    for (y, mark) in marks {
        match (mark, out.last_mut()) {
            (Mark::Difference(v), Some(run)) => run.push((*y, *v)),
            (_, Some(run)) if !run.is_empty() => out.push(Vec::new()),
            _ => {}
        }
    }
    out
}

fn curve(canvas: &mut Canvas, frame: &Frame, panel: &Panel, marks: &Marks) {
    let runs = runs(marks);
    let pane = frame.stage.pane;
    let within = Pane {
        left: panel.left,
        width: CHART,
        ..pane
    };
    let positive: fn(f64) -> f64 = |v| v.max(0.0);
    let negative: fn(f64) -> f64 = |v| v.min(0.0);
    let halves = [(positive, Lean::Up, OVER), (negative, Lean::Down, UNDER)];
    for (half, lean, colour) in halves {
        let mut area = PathBuilder::new();
        for run in runs.iter().filter(|r| !r.is_empty()) {
            let ends = [run[run.len() - 1].0, run[0].0].map(|y| (panel.middle, frame.stage.row(y)));
            let points = run.iter().map(|(y, v)| (panel.x(half(*v)), frame.stage.row(*y)));
            chain(&mut area, points.chain(ends), true);
        }
        if let Some(area) = area.finish() {
            canvas.hatch(&area, within, lean, colour);
        }
    }
    let mut line = PathBuilder::new();
    for run in &runs {
        chain(
            &mut line,
            run.iter().map(|(y, v)| (panel.x(*v), frame.stage.row(*y))),
            false,
        );
    }
    if let Some(line) = line.finish() {
        canvas.stroke(&line, Pen::solid(FINE_LINE, INK), LineCap::Butt);
    }
}

/// A wedge at the chart's border for each run of rows whose value lies beyond it.
fn beyond(canvas: &mut Canvas, frame: &Frame, panel: &Panel, marks: &Marks, reach: f64) {
    let side = |mark: &Mark| match mark {
        Mark::Difference(v) if v.abs() > reach => v.signum() as i8,
        _ => 0,
    };
    for run in marks.chunk_by(|a, b| side(&a.1) == side(&b.1)) {
        let (first, last) = (run[0], run[run.len() - 1]);
        if side(&first.1) == 0 {
            continue;
        }
        let towards = f64::from(side(&first.1)) * panel.scale.signum();
        let (x, y) = (
            panel.middle + towards * CHART / 2.0,
            f64::midpoint(frame.stage.row(first.0), frame.stage.row(last.0)),
        );
        let mut wedge = PathBuilder::new();
        let corners = [
            (x, y - BEYOND_MARK),
            (x + towards * 1.5 * BEYOND_MARK, y),
            (x, y + BEYOND_MARK),
        ];
        chain(&mut wedge, corners, true);
        if let Some(wedge) = wedge.finish() {
            canvas.fill(&wedge, INK);
        }
    }
}

/// Rows without a difference: dots or rungs on the line of no difference, no bar.
fn bare(canvas: &mut Canvas, frame: &Frame, panel: &Panel, marks: &Marks) {
    for run in marks.chunk_by(|a, b| a.1 == b.1) {
        let ends = [run[0].0, run[run.len() - 1].0].map(|y| (panel.middle, frame.stage.row(y)));
        match run[0].1 {
            Mark::OneSided => dots(canvas, ends),
            // A level edge takes a row or two: the rungs need some room to be seen.
            Mark::NoMeasure => rungs(
                canvas,
                [
                    (ends[0].0, ends[0].1 - LEAST_RUNGS),
                    (ends[1].0, ends[1].1 + LEAST_RUNGS),
                ],
            ),
            Mark::Difference(_) => {}
        }
    }
}

/// The mark for rows that only one of the two has.
pub(super) fn dots(canvas: &mut Canvas, [from, to]: [(f64, f64); 2]) {
    let pen = Pen {
        weight: DOT,
        dash: &DOTS,
        colour: QUIET,
    };
    canvas.dots(from, to, pen);
}

/// The mark for rows whose difference says nothing.
pub(super) fn rungs(canvas: &mut Canvas, ends: [(f64, f64); 2]) {
    let pen = Pen {
        weight: RUNG,
        dash: &RUNGS,
        colour: QUIET,
    };
    canvas.line(&ends, pen);
}

fn scale(canvas: &mut Canvas, subject: &Subject<'_>, frame: &Frame, panel: &Panel, reach: f64) {
    let bottom = frame.stage.pane.bottom();
    let tick = round_length(TICK_AT * reach, &[8.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.0]);
    for (value, sign) in [(-tick, "−"), (0.0, ""), (tick, "+")] {
        let x = panel.x(value);
        canvas.line(&[(x, bottom), (x, bottom + TICK)], Pen::solid(HAIRLINE, QUIET));
        // The unit stands on the outer side, where there is room for it, if it is short.
        let unit = subject.unit();
        let unit = if value > 0.0 && unit.chars().count() <= LONGEST_UNIT {
            unit.as_str()
        } else {
            ""
        };
        let text = format!("{sign}{}{unit}", scale_number(value));
        canvas.text_about(&text, SMALL, Weight::Book, (x, bottom + TICK + SMALL), QUIET);
    }
}

fn headings(canvas: &mut Canvas, subject: &Subject<'_>, frame: &Frame, panel: &Panel, side: usize) {
    let top = frame.stage.pane.top;
    let edge = subject.edges()[side];
    let edge = capital(edge);
    canvas.text_about(
        &format!("{edge} edge"),
        TEXT,
        Weight::Strong,
        (panel.middle, top - 28.0),
        INK,
    );
    let (outer, inner) = ("beyond", "short");
    let words = if side == 0 { [outer, inner] } else { [inner, outer] };
    let y = top - 10.0;
    canvas.text(words[0], SMALL, Weight::Book, (panel.left, y), QUIET);
    canvas.text_left_of(words[1], SMALL, Weight::Book, (panel.left + CHART, y), QUIET);
}
