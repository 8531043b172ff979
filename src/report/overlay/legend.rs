//! The scale bar under the figure, and the legend along the lower edge.

use tiny_skia::PathBuilder;

use super::canvas::{Canvas, Pen, Weight};
use super::chart::{dots, rungs, unmeasured};
use super::frame::{Pane, Stage};
use super::hatch::Lean;
use super::{Subject, round_length, scale_number};
use crate::report::look::{
    ARM, ARM_DASH, ARM_LINE, ARROW_TAIL, BAND, DRAWING_DASH, DRAWING_LINE, FINE_LINE, HALF_LETTER, INK,
    MARGIN, MESH, MESH_LINE, OVER, QUIET, SMALL, UNDER,
};

/// Length of the scale bar at most.
const BAR: f64 = 130.0;
/// Size of a legend's sample.
const SWATCH: [f64; 2] = [30.0, 14.0];
/// Space behind a sample, and behind its text.
const SPACES: [f64; 2] = [8.0, 26.0];
/// Distance of the lower line's middle from the lower edge.
const FROM_BOTTOM: f64 = 22.0;
/// Distance of the legend's lines.
const LINE: f64 = 22.0;
/// From this share on, in percent, the drawing counts as shown whole.
const WHOLE: f64 = 99.5;

/// One thing that the legend explains.
#[derive(Clone, Copy)]
enum Sample {
    Mesh,
    Cage,
    Arm,
    Arrow,
    Drawing,
    Hatching(Lean, [u8; 3]),
    Band,
    Dots,
    Rungs,
}

/// The legend along the lower edge of a picture of this size, in two lines where one does not hold it; `charted` says
/// that the picture has charts.
pub(super) fn draw(
    canvas: &mut Canvas,
    subject: &Subject<'_>,
    stage: &Stage,
    size: (f64, f64),
    charted: bool,
) {
    let mut entries = vec![
        (Sample::Mesh, "mesh"),
        (Sample::Drawing, "drawing"),
        (Sample::Hatching(Lean::Up, OVER), "mesh sticks out"),
        (Sample::Hatching(Lean::Down, UNDER), "mesh falls short"),
    ];
    if subject.cage().is_some() {
        entries[0].1 = "mesh, smoothed";
        entries.insert(1, (Sample::Cage, "its cage"));
    }
    if !subject.report.arms.is_empty() {
        entries.push((Sample::Arm, "arm that was turned, its joint"));
    }
    if subject.report.views.iter().any(|v| !v.arrows.is_empty()) {
        entries.push((Sample::Arrow, "where the edge belongs"));
    }
    if charted {
        let [one_sided, no_measure] = unmeasured(subject);
        entries.push((Sample::Band, "within tolerance"));
        entries.extend(one_sided.then_some((Sample::Dots, "no counterpart at this height")));
        entries.extend(no_measure.then_some((Sample::Rungs, "no measure: level edge or arm")));
    }
    let reduced = reduced(canvas, subject, stage);
    let right = size.0 - MARGIN;
    let start = (MARGIN, size.1 - FROM_BOTTOM - LINE);
    let (mut x, mut y) = start;
    let turn = |x: &mut f64, y: &mut f64, width: f64| {
        if *x + width > right {
            (*x, *y) = (start.0, start.1 + LINE);
        }
    };
    for (sample, text) in entries {
        let width = SWATCH[0] + SPACES[0] + canvas.font().width(text, SMALL);
        turn(&mut x, &mut y, width);
        draw_sample(canvas, sample, x, y);
        let at = (x + SWATCH[0] + SPACES[0], y + HALF_LETTER * SMALL);
        x = canvas.text(text, SMALL, Weight::Book, at, INK) + SPACES[1];
    }
    if let Some(text) = reduced {
        turn(&mut x, &mut y, canvas.font().width(&text, SMALL));
        canvas.text(&text, SMALL, Weight::Book, (x, y + HALF_LETTER * SMALL), QUIET);
    }
}

fn draw_sample(canvas: &mut Canvas, sample: Sample, x: f64, y: f64) {
    let [w, h] = SWATCH;
    let ends = [(x, y), (x + w, y)];
    match sample {
        Sample::Mesh => canvas.line(&ends, Pen::solid(MESH_LINE, MESH)),
        Sample::Cage => canvas.line(&ends, Pen::solid(FINE_LINE, MESH)),
        Sample::Arm => {
            let pen = Pen {
                weight: ARM_LINE,
                dash: &ARM_DASH,
                colour: ARM,
            };
            canvas.dots((x + 12.0, y), (x + w, y), pen);
            canvas.ring(x + 5.0, y, 4.0, Pen::solid(ARM_LINE, INK));
        }
        Sample::Arrow => super::arrows::one(canvas, (x + ARROW_TAIL, y), (x + w - 2.0, y)),
        Sample::Drawing => {
            let pen = Pen {
                weight: DRAWING_LINE,
                dash: &DRAWING_DASH,
                colour: INK,
            };
            canvas.line(&ends, pen);
        }
        Sample::Hatching(lean, colour) => swatch(canvas, x, y, lean, colour),
        Sample::Band => canvas.rectangle(x, y - h / 2.0, x + w, y + h / 2.0, BAND),
        Sample::Dots => dots(canvas, [(x + 2.0, y), (x + w - 2.0, y)]),
        Sample::Rungs => rungs(canvas, [(x + 2.0, y), (x + w - 2.0, y)]),
    }
}

/// How much smaller than in its file the drawing is shown.
fn reduced(canvas: &Canvas, subject: &Subject<'_>, stage: &Stage) -> Option<String> {
    let share = 100.0 * stage.scale * canvas.unit() * subject.view().units_per_px;
    let height = canvas.pixmap().height();
    (share < WHOLE).then(|| format!("drawing reduced to {share:.0} %: picture {height} px high"))
}

fn swatch(canvas: &mut Canvas, x: f64, y: f64, lean: Lean, colour: [u8; 3]) {
    let [width, height] = SWATCH;
    let (left, top) = (x.round(), (y - height / 2.0).round());
    let Some(r) = tiny_skia::Rect::from_xywh(left as f32, top as f32, width as f32, height as f32) else {
        return;
    };
    let within = Pane {
        left,
        top,
        width,
        height,
    };
    canvas.hatch(&PathBuilder::from_rect(r), within, lean, colour);
}

/// The scale bar below a stage.
pub(super) fn bar(canvas: &mut Canvas, subject: &Subject<'_>, stage: &Stage) {
    let length = round_length(BAR / stage.scale, &[5.0, 2.0, 1.0]);
    let (x, y) = (stage.pane.left, stage.pane.bottom() + 10.0);
    let end = x + length * stage.scale;
    let pen = Pen::solid(FINE_LINE, INK);
    canvas.line(&[(x, y - 4.0), (x, y + 4.0)], pen);
    canvas.line(&[(x, y), (end, y)], pen);
    canvas.line(&[(end, y - 4.0), (end, y + 4.0)], pen);
    let unit = subject.unit();
    let unit = if unit.is_empty() { " units" } else { &unit };
    let text = format!("{}{unit}", scale_number(length));
    let at = (end + SPACES[0], y + HALF_LETTER * SMALL);
    canvas.text(&text, SMALL, Weight::Book, at, INK);
}
