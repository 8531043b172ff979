//! A reading against the truth of its sheet. Every shortfall is a fault with its matter, place and size.

use drawntrue::profile::{Outline, RowSpans, Span, overlap};
use drawntrue::sheet::decode::{DEFAULT_MAX_PIXELS, decode};
use drawntrue::sheet::edge::LineEdge;
use drawntrue::sheet::level::Levelling;
use drawntrue::sheet::read::{self, Reading, read};
use drawntrue::sheet::views;
use drawntrue::space::{Level, Point};

use super::canvas::Canvas;
use super::curve::bounds;
use super::limits::{CLEAN, DAMAGED, LOW, Limits};
use super::page::{Figure, Sheet, Truth};
use super::solid::Ring;

/// What a fault is about. A known failure names one of these.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Matter {
    /// The reading ended with an error.
    Refused,
    /// A figure is not found, or something that is none is one, or its box is wrong.
    Figures,
    /// A view's name or facing.
    Names,
    Skew,
    Guides,
    /// Widths over all, and the place to the left or right.
    Outer,
    /// Ends of spans inside the figure, and how many spans a row has.
    Inner,
    /// A concave place was filled.
    Concave,
    /// A hole was filled, or there is one where none is.
    Holes,
}

pub(crate) type Fault = (Matter, String);

/// Rows in which a figure is measured.
const ROWS: usize = 300;
/// Rows in which areas are measured.
const FINE_ROWS: usize = 1500;
/// A row is steep where an outermost end moves by more than this share of the height within `STEEP_WITHIN` of it.
const STEEP: f64 = 0.01;
const STEEP_WITHIN: f64 = 0.004;
/// A hole smaller than this share of the square of the height is none.
const LEAST_HOLE: f64 = 0.0004;

fn truth_outline(figure: &Figure) -> Outline<Level> {
    let rings = figure
        .rings
        .iter()
        .map(|r| r.iter().map(|p| Point::new(p[0], p[1])).collect());
    Outline {
        rings: rings.collect(),
    }
}

/// All faults of reading a sheet, and figures for the log.
pub(crate) fn faults(sheet: &Sheet) -> (Vec<Fault>, Vec<String>) {
    let truth = &sheet.truth;
    let reading = match decode(&sheet.bytes, DEFAULT_MAX_PIXELS).and_then(|p| read(&p, LineEdge::Centre)) {
        Ok(r) => r,
        Err(e) => return (vec![(Matter::Refused, e.to_string())], Vec::new()),
    };
    let mut out = Vec::new();
    let mut log = Vec::new();
    let tallest = truth.figures.iter().map(|f| height(&f.rings)).fold(0.0, f64::max);
    let limits = if truth.damaged { &DAMAGED } else { &CLEAN };
    if (reading.skew_deg - truth.skew_deg).abs() > limits.skew_deg {
        out.push((
            Matter::Skew,
            format!("skew {:.3} instead of {:.3}", reading.skew_deg, truth.skew_deg),
        ));
    }
    guides(truth, &reading, &mut out);
    let named = views::name(
        &reading
            .figures
            .iter()
            .map(|f| views::signs(&f.level, f.face))
            .collect::<Vec<_>>(),
    );
    let mut used = vec![false; reading.figures.len()];
    for figure in &truth.figures {
        let want = box_in_file(truth, figure);
        let best = (0..used.len())
            .filter(|&i| !used[i])
            .map(|i| (box_iou(reading.figures[i].box_px, want), i))
            .max_by(|a, b| a.0.total_cmp(&b.0));
        let Some((iou, i)) = best.filter(|b| b.0 > 0.5) else {
            out.push((
                Matter::Figures,
                format!("{}: not found at {want:.0?}", figure.name),
            ));
            continue;
        };
        used[i] = true;
        if iou < limits.box_iou {
            out.push((Matter::Figures, format!("{}: box IoU {iou:.3}", figure.name)));
        }
        let (name, facing) = (&named[i].0, format!("{:?}", named[i].1).to_lowercase());
        if name != figure.name {
            out.push((Matter::Names, format!("{}: named {name}", figure.name)));
        } else if figure.name != "three-quarter" && facing != figure.facing {
            out.push((Matter::Names, format!("{}: faces {facing}", figure.name)));
        }
        let low = if tallest < 600.0 { &LOW } else { limits };
        measured(truth, figure, &reading.figures[i], low, &mut out, &mut log);
    }
    for (i, f) in reading.figures.iter().enumerate().filter(|(i, _)| !used[*i]) {
        out.push((
            Matter::Figures,
            format!("{} at {:.0?} is no view", named[i].0, f.box_px),
        ));
    }
    (out, log)
}

fn guides(truth: &Truth, reading: &Reading, out: &mut Vec<Fault>) {
    let near = 3.0 + 0.002 * truth.height as f64;
    let missed: Vec<&f64> = truth
        .guides
        .iter()
        .filter(|g| !reading.guide_lines_px.iter().any(|r| (*r - **g).abs() <= near))
        .collect();
    if !missed.is_empty() {
        out.push((Matter::Guides, format!("guide lines {missed:.0?} not found")));
    }
    let known = |r: &f64| {
        truth
            .guides
            .iter()
            .chain(&truth.other_lines)
            .any(|g| (*r - *g).abs() <= near)
    };
    let wrong: Vec<&f64> = reading.guide_lines_px.iter().filter(|r| !known(r)).collect();
    if !wrong.is_empty() {
        out.push((Matter::Guides, format!("guide lines {wrong:.0?} are none")));
    }
}

fn height(rings: &[Ring]) -> f64 {
    let b = bounds(rings);
    b[3] - b[1]
}

/// An empty canvas that turns as the sheet is turned.
pub(crate) fn turner(truth: &Truth) -> Canvas {
    Canvas {
        width: truth.width,
        height: truth.height,
        skew_deg: truth.skew_deg,
        rgb: Vec::new(),
        alpha: None,
    }
}

/// Box of the line's outer edge in the file.
fn box_in_file(truth: &Truth, figure: &Figure) -> [f64; 4] {
    let turn = turner(truth);
    let turned: Vec<Ring> = figure
        .rings
        .iter()
        .map(|r| r.iter().map(|p| turn.to_file(*p)).collect())
        .collect();
    let b = bounds(&turned);
    let h = figure.half_line;
    [b[0] - h, b[1] - h, b[2] + h, b[3] + h]
}

fn box_iou(a: [f64; 4], b: [f64; 4]) -> f64 {
    let (w, h) = (a[2].min(b[2]) - a[0].max(b[0]), a[3].min(b[3]) - a[1].max(b[1]));
    let both = w.max(0.0) * h.max(0.0);
    both / ((a[2] - a[0]) * (a[3] - a[1]) + (b[2] - b[0]) * (b[3] - b[1]) - both)
}

/// Median and 95th percentile.
fn middle_and_high(mut values: Vec<f64>) -> (f64, f64) {
    values.sort_by(f64::total_cmp);
    let at = |q: f64| {
        values
            .get(((values.len() as f64 - 1.0) * q).round() as usize)
            .copied()
            .unwrap_or(0.0)
    };
    (at(0.5), at(0.95))
}

fn ends(spans: &[Span]) -> Vec<f64> {
    spans.iter().flat_map(|s| [s.x0, s.x1]).collect()
}

fn measured(
    truth: &Truth,
    figure: &Figure,
    found: &read::Figure,
    limits: &Limits,
    out: &mut Vec<Fault>,
    log: &mut Vec<String>,
) {
    let want = truth_outline(figure);
    // The reading is levelled by the true turn: a wrong skew is a fault of its own.
    let level = Levelling::new(truth.width, truth.height, truth.skew_deg);
    let got = Outline {
        rings: found
            .upright
            .rings
            .iter()
            .map(|r| r.iter().map(|p| level.level(*p)).collect())
            .collect(),
    };
    let b = bounds(&figure.rings);
    let h = b[3] - b[1];
    let name = figure.name;
    let ys: Vec<f64> = (0..ROWS)
        .map(|i| b[1] + (i as f64 + 0.5) / ROWS as f64 * h)
        .collect();
    let near = |d: f64| want.row_spans(&ys.iter().map(|y| y + d * STEEP_WITHIN * h).collect::<Vec<_>>());
    let (above, below) = (near(-1.0), near(1.0));
    let (w, g) = (want.row_spans(&ys), got.row_spans(&ys));
    let (mut widths, mut asides, mut inner, mut counted, mut miscounted) = (vec![], vec![], vec![], 0, 0);
    for i in 0..ROWS {
        let Some(o) = w.outer(i) else { continue };
        let steady = |n: &RowSpans| {
            n.outer(i)
                .is_some_and(|n| (n.x0 - o.x0).abs().max((n.x1 - o.x1).abs()) < STEEP * h)
        };
        let same = above.row(i).len() == w.row(i).len() && below.row(i).len() == w.row(i).len();
        if !steady(&above) || !steady(&below) || !same {
            continue;
        }
        let Some(r) = g.outer(i) else {
            widths.push(o.width() / h * 100.0);
            continue;
        };
        widths.push((r.width() - o.width()).abs() / h * 100.0);
        asides.push(((r.x0 + r.x1 - o.x0 - o.x1) / 2.0).abs() / h * 100.0);
        let (we, ge) = (ends(w.row(i)), ends(g.row(i)));
        let flat = |n: &RowSpans| {
            ends(n.row(i))
                .iter()
                .zip(&we)
                .any(|(p, q)| (p - q).abs() > STEEP * h)
        };
        if flat(&above) || flat(&below) {
            continue;
        }
        counted += 1;
        if we.len() != ge.len() {
            miscounted += 1;
        } else if we.len() > 2 {
            inner.extend((1..we.len() - 1).map(|k| (we[k] - ge[k]).abs() / h * 100.0));
        }
    }
    let (median, p95) = middle_and_high(widths);
    let (aside, _) = middle_and_high(asides);
    let (inner_median, inner_p95) = middle_and_high(inner);
    let missed = f64::from(miscounted) / f64::from(counted.max(1)) * 100.0;
    log.push(format!(
        "{name}: outer {median:.3}/{p95:.3} aside {aside:.3} inner {inner_median:.3}/{inner_p95:.3} miscounted {missed:.1}"
    ));
    if !(median <= limits.outer_median && p95 <= limits.outer_p95 && aside <= limits.aside) {
        out.push((
            Matter::Outer,
            format!("{name}: outer width {median:.3}/{p95:.3} %, aside {aside:.3} %"),
        ));
    }
    if !(inner_p95 <= limits.inner_p95 && missed <= limits.miscounted) {
        out.push((
            Matter::Inner,
            format!(
                "{name}: inner ends {inner_p95:.3} %, {missed:.1} % of the rows with a wrong number of spans"
            ),
        ));
    }
    for (what, window) in &figure.places {
        let (open, filled) = filled(&want, &got, *window);
        log.push(format!(
            "{name}: {what} open {:.0} px², filled {filled:.1} %",
            open
        ));
        if filled > limits.filled {
            out.push((Matter::Concave, format!("{name}: {what} filled to {filled:.0} %")));
        }
    }
    holes(name, h, &want, &got, limits, out, log);
}

/// Cuts rows to a window.
fn cut(rows: &RowSpans, x0: f64, x1: f64) -> RowSpans {
    let mut out = RowSpans::with_capacity(rows.len(), rows.spans.len());
    for i in 0..rows.len() {
        let row: Vec<Span> = rows
            .row(i)
            .iter()
            .map(|s| Span {
                x0: s.x0.max(x0),
                x1: s.x1.min(x1),
            })
            .filter(|s| s.x1 > s.x0)
            .collect();
        out.push_row(rows.ys[i], &row);
    }
    out
}

/// Open area of a window (px²), and which share of it was filled, in percent.
fn filled(want: &Outline<Level>, got: &Outline<Level>, [x0, y0, x1, y1]: [f64; 4]) -> (f64, f64) {
    let step = (y1 - y0) / FINE_ROWS as f64;
    let ys: Vec<f64> = (0..FINE_ROWS).map(|i| y0 + (i as f64 + 0.5) * step).collect();
    let o = overlap(
        &cut(&want.row_spans(&ys), x0, x1),
        &cut(&got.row_spans(&ys), x0, x1),
    );
    let open = (x1 - x0) * (y1 - y0) - o.first;
    assert!(
        open > 0.05 * (x1 - x0) * (y1 - y0) && o.first > 0.0,
        "the window shows no concave place"
    );
    (open, (o.second - o.shared) / open * 100.0)
}

fn holes(
    name: &str,
    h: f64,
    want: &Outline<Level>,
    got: &Outline<Level>,
    limits: &Limits,
    out: &mut Vec<Fault>,
    log: &mut Vec<String>,
) {
    let of = |o: &Outline<Level>| {
        o.rings
            .iter()
            .filter(|r| drawntrue::profile::ring_area(r) < -LEAST_HOLE * h * h)
            .map(|r| Outline {
                rings: vec![r.iter().rev().copied().collect()],
            })
            .collect::<Vec<Outline<Level>>>()
    };
    let (w, g) = (of(want), of(got));
    let mut missing = 0;
    for hole in &w {
        let Some(b) = hole.bounds() else { continue };
        let ys: Vec<f64> = (0..FINE_ROWS)
            .map(|i| b.y0 + (i as f64 + 0.5) / FINE_ROWS as f64 * b.height())
            .collect();
        let rows = hole.row_spans(&ys);
        let area = |o: &Outline<Level>| o.area().abs();
        let iou = g
            .iter()
            .map(|o| {
                let both = overlap(&rows, &o.row_spans(&ys));
                both.shared / (both.first + area(o) - both.shared)
            })
            .fold(0.0, f64::max);
        log.push(format!(
            "{name}: hole of {:.2} % of the square of the height, IoU {iou:.3}",
            area(hole) / h / h * 100.0
        ));
        missing += usize::from(iou < limits.hole_iou);
    }
    if missing > 0 || g.len() > w.len() {
        out.push((
            Matter::Holes,
            format!("{name}: {} holes, {} read, {missing} not met", w.len(), g.len()),
        ));
    }
}
