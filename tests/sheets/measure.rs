//! A reading against the truth of its sheet. Every shortfall is a fault with its matter, place and size.

use drawntrue::sheet::decode::{DEFAULT_MAX_PIXELS, decode};
use drawntrue::sheet::edge::LineEdge;
use drawntrue::sheet::read::{Reading, read};
use drawntrue::sheet::views;

use super::canvas::Canvas;
use super::curve::bounds;
use super::limits::{CLEAN, DAMAGED, LOW};
use super::page::{Figure, Sheet, Truth};
use super::rows;
use super::solid::Ring;
use super::wrong;

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
    /// A view that is read wrongly has a confidence above 0.5.
    Sure,
}

pub(crate) type Fault = (Matter, String);

/// All faults of reading a sheet, and figures for the log.
pub(crate) fn faults(sheet: &Sheet) -> (Vec<Fault>, Vec<String>) {
    let truth = &sheet.truth;
    let reading = match decode(&sheet.bytes, DEFAULT_MAX_PIXELS).and_then(|p| read(&p, LineEdge::Centre)) {
        Ok(r) => r,
        Err(e) => return (vec![(Matter::Refused, e.to_string())], Vec::new()),
    };
    let mut out = Vec::new();
    let mut log = Vec::new();
    for (f, wrong) in reading.figures.iter().zip(wrong::wrong(truth, &reading)) {
        let told: Vec<String> = f
            .evidence
            .named()
            .iter()
            .map(|(name, amount)| format!("{name}={amount:.5}"))
            .collect();
        log.push(format!("view;{wrong};{:.3};{}", f.confidence, told.join(";")));
        if !wrong.is_empty() && f.confidence > 0.5 {
            out.push((Matter::Sure, format!("{wrong}, confidence {:.2}", f.confidence)));
        }
    }
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
        rows::measured(truth, figure, &reading.figures[i], low, &mut out, &mut log);
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
pub(crate) fn box_in_file(truth: &Truth, figure: &Figure) -> [f64; 4] {
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

pub(crate) fn box_iou(a: [f64; 4], b: [f64; 4]) -> f64 {
    let (w, h) = (a[2].min(b[2]) - a[0].max(b[0]), a[3].min(b[3]) - a[1].max(b[1]));
    let both = w.max(0.0) * h.max(0.0);
    both / ((a[2] - a[0]) * (a[3] - a[1]) + (b[2] - b[0]) * (b[3] - b[1]) - both)
}
