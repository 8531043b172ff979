//! A figure row by row: widths over all, ends of the spans inside, how many spans there are.

use drawntrue::profile::{Outline, RowSpans, Span};
use drawntrue::sheet::level::Levelling;
use drawntrue::sheet::read;
use drawntrue::space::{Level, Point};

use super::curve::bounds;
use super::limits::Limits;
use super::measure::{Fault, Matter};
use super::page::{Figure, Truth};
use super::places;

/// Rows in which a figure is measured.
const ROWS: usize = 300;
/// A row is steep where an outermost end moves by more than this share of the height within `STEEP_WITHIN` of it.
const STEEP: f64 = 0.01;
const STEEP_WITHIN: f64 = 0.004;

fn truth_outline(figure: &Figure) -> Outline<Level> {
    let rings = figure
        .rings
        .iter()
        .map(|r| r.iter().map(|p| Point::new(p[0], p[1])).collect());
    Outline {
        rings: rings.collect(),
    }
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

/// Everything that is measured on a figure whose reading was found.
pub(crate) fn measured(
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
        let (open, filled) = places::filled(&want, &got, *window);
        log.push(format!(
            "{name}: {what} open {:.0} px², filled {filled:.1} %",
            open
        ));
        if filled > limits.filled {
            out.push((Matter::Concave, format!("{name}: {what} filled to {filled:.0} %")));
        }
    }
    places::holes(name, h, &want, &got, limits, out, log);
}
