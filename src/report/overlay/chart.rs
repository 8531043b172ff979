//! The row charts: how far the mesh reaches beyond the drawing at the left and at the right edge, at the figure's own
//! heights. Outwards is beyond, as in the figure: to the left in the left chart, to the right in the right one.

use tiny_skia::{LineCap, PathBuilder};

use super::canvas::{Canvas, Pen, Weight, chain};
use super::frame::Frame;
use super::hatch::Lean;
use super::{Subject, round_length, scale_number};
use crate::report::look::{
    BAND, CHART, DOT, DOTS, FINE_LINE, HAIRLINE, INK, OVER, QUIET, RULE, SMALL, TEXT, UNDER,
};
use crate::report::model::{Finding, Kind, Row};

/// The scale reaches this many tolerances at least.
const LEAST_REACH: f64 = 2.5;
/// And as far as all but this share of the rows: an arm's edge makes a few rows of any length.
const BEYOND: f64 = 0.02;
/// Room behind the farthest value, as a share of it.
const SLACK: f64 = 1.1;
/// The scale's number lies at most at this share of it, so that it keeps within the chart.
const TICK_AT: f64 = 0.85;
/// A longer unit, with its blank, stands at the scale bar only.
const LONGEST_UNIT: usize = 4;
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

pub(super) fn draw(canvas: &mut Canvas, subject: &Subject<'_>, frame: &Frame) {
    let reach = reach(subject);
    let values: [fn(&Row) -> Option<f64>; 2] = [|r| r.left_diff, |r| r.right_diff];
    for (side, value) in values.into_iter().enumerate() {
        let left = frame.charts[side];
        let outwards = if side == 0 { -1.0 } else { 1.0 };
        let panel = Panel {
            middle: left + CHART / 2.0,
            scale: outwards * CHART / 2.0 / reach,
            left,
        };
        band(canvas, subject, frame, &panel);
        curve(canvas, subject, frame, &panel, value);
        one_sided(canvas, subject, frame, &panel);
        scale(canvas, subject, frame, &panel, reach);
        headings(canvas, subject, frame, &panel, side);
    }
}

fn reach(subject: &Subject<'_>) -> f64 {
    let rows = &subject.view().rows;
    let mut all: Vec<f64> = rows
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
    // What is listed as a finding is seen whole.
    let outer = |f: &&Finding| matches!(f.kind, Kind::Thick | Kind::Thin | Kind::Shifted);
    let listed = subject
        .view()
        .findings
        .iter()
        .filter(outer)
        .flat_map(|f| [f.left_diff, f.right_diff]);
    let listed = listed.flatten().map(f64::abs).fold(0.0, f64::max);
    let reach = SLACK * high.max(listed).max(LEAST_REACH * subject.tolerance());
    if reach.is_finite() && reach > 0.0 {
        reach
    } else {
        1.0
    }
}

/// The tolerance, and the line of no difference.
fn band(canvas: &mut Canvas, subject: &Subject<'_>, frame: &Frame, panel: &Panel) {
    let (top, bottom) = (frame.pane.top as f64, frame.pane.bottom());
    let (a, b) = (panel.x(-subject.tolerance()), panel.x(subject.tolerance()));
    canvas.rectangle(a.min(b), top, a.max(b), bottom, BAND);
    for mark in &subject.shown.landmarks {
        let y = frame.row(mark.y);
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

/// Runs of rows that both have.
fn runs(rows: &[Row], value: fn(&Row) -> Option<f64>) -> Vec<Vec<(f64, f64)>> {
    let mut out = vec![Vec::new()];
    for row in rows {
        match (value(row), out.last_mut()) {
            (Some(v), Some(run)) => run.push((row.y, v)),
            (None, Some(run)) if !run.is_empty() => out.push(Vec::new()),
            _ => {}
        }
    }
    out
}

fn curve(
    canvas: &mut Canvas,
    subject: &Subject<'_>,
    frame: &Frame,
    panel: &Panel,
    value: fn(&Row) -> Option<f64>,
) {
    let runs = runs(&subject.view().rows, value);
    let pane = frame.pane;
    let within = [
        panel.left as usize,
        pane.top,
        (panel.left + CHART) as usize,
        pane.top + pane.height,
    ];
    let positive: fn(f64) -> f64 = |v| v.max(0.0);
    let negative: fn(f64) -> f64 = |v| v.min(0.0);
    let halves = [(positive, Lean::Up, OVER), (negative, Lean::Down, UNDER)];
    for (half, lean, colour) in halves {
        let mut area = PathBuilder::new();
        for run in runs.iter().filter(|r| !r.is_empty()) {
            let ends = [run[run.len() - 1].0, run[0].0].map(|y| (panel.middle, frame.row(y)));
            let points = run.iter().map(|(y, v)| (panel.x(half(*v)), frame.row(*y)));
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
            run.iter().map(|(y, v)| (panel.x(*v), frame.row(*y))),
            false,
        );
    }
    if let Some(line) = line.finish() {
        canvas.stroke(&line, Pen::solid(FINE_LINE, INK), LineCap::Butt);
    }
}

/// Rows that only one of the two has: dots on the line of no difference, no bar.
fn one_sided(canvas: &mut Canvas, subject: &Subject<'_>, frame: &Frame, panel: &Panel) {
    let rows = &subject.view().rows;
    let pen = Pen {
        weight: DOT,
        dash: &DOTS,
        colour: QUIET,
    };
    for run in rows.chunk_by(|a, b| a.outer_diff.is_none() == b.outer_diff.is_none()) {
        if let ([first, ..], [.., last]) = (run, run)
            && first.outer_diff.is_none()
        {
            canvas.dots(
                (panel.middle, frame.row(first.y)),
                (panel.middle, frame.row(last.y)),
                pen,
            );
        }
    }
}

fn scale(canvas: &mut Canvas, subject: &Subject<'_>, frame: &Frame, panel: &Panel, reach: f64) {
    let bottom = frame.pane.bottom();
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
    let top = frame.pane.top as f64;
    let edge = subject.edges()[side];
    let mut letters = edge.chars();
    let edge: String = letters
        .next()
        .map(|c| c.to_ascii_uppercase())
        .into_iter()
        .chain(letters)
        .collect();
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
