//! The scale bar under the figure, and the legend along the lower edge.

use tiny_skia::PathBuilder;

use super::canvas::{Canvas, Pen, Weight};
use super::figure::HALF_LETTER;
use super::frame::Frame;
use super::hatch::Lean;
use super::{Subject, round_length, scale_number};
use crate::report::look::{
    BAND, DOT, DOTS, DRAWING_DASH, DRAWING_LINE, FINE_LINE, INK, MARGIN, MESH, MESH_LINE, OVER, QUIET, SMALL,
    UNDER,
};

/// Length of the scale bar at most.
const BAR: f64 = 130.0;
/// Size of a legend's sample.
const SWATCH: [f64; 2] = [30.0, 14.0];
/// Space behind a sample, and behind its text.
const SPACES: [f64; 2] = [8.0, 26.0];
/// Distance of the legend's middle from the lower edge.
const FROM_BOTTOM: f64 = 24.0;

pub(super) fn draw(canvas: &mut Canvas, subject: &Subject<'_>, frame: &Frame) {
    bar(canvas, subject, frame);
    let y = frame.height as f64 - FROM_BOTTOM;
    let mut x = MARGIN;
    let [w, _] = SWATCH;
    canvas.line(&[(x, y), (x + w, y)], Pen::solid(MESH_LINE, MESH));
    x = label(canvas, "mesh", x, y);
    canvas.line(
        &[(x, y), (x + w, y)],
        Pen {
            weight: DRAWING_LINE,
            dash: &DRAWING_DASH,
            colour: INK,
        },
    );
    x = label(canvas, "drawing", x, y);
    for (lean, colour, text) in [
        (Lean::Up, OVER, "mesh beyond the drawing"),
        (Lean::Down, UNDER, "mesh short of the drawing"),
    ] {
        swatch(canvas, x, y, lean, colour);
        x = label(canvas, text, x, y);
    }
    let h = SWATCH[1] / 2.0;
    canvas.rectangle(x, y - h, x + w, y + h, BAND);
    x = label(canvas, "within tolerance", x, y);
    canvas.dots(
        (x + 2.0, y),
        (x + w - 2.0, y),
        Pen {
            weight: DOT,
            dash: &DOTS,
            colour: QUIET,
        },
    );
    label(canvas, "rows that only one of the two has", x, y);
}

fn label(canvas: &mut Canvas, text: &str, x: f64, y: f64) -> f64 {
    let at = (x + SWATCH[0] + SPACES[0], y + HALF_LETTER * SMALL);
    canvas.text(text, SMALL, Weight::Book, at, INK) + SPACES[1]
}

fn swatch(canvas: &mut Canvas, x: f64, y: f64, lean: Lean, colour: [u8; 3]) {
    let [w, h] = SWATCH;
    let (x0, y0) = (x.round(), (y - h / 2.0).round());
    let Some(r) = tiny_skia::Rect::from_xywh(x0 as f32, y0 as f32, w as f32, h as f32) else {
        return;
    };
    let within = [x0, y0, x0 + w, y0 + h].map(|v| v as usize);
    canvas.hatch(&PathBuilder::from_rect(r), within, lean, colour);
}

fn bar(canvas: &mut Canvas, subject: &Subject<'_>, frame: &Frame) {
    let length = round_length(BAR / frame.scale, &[5.0, 2.0, 1.0]);
    let (x, y) = (frame.pane.left as f64, frame.pane.bottom() + 10.0);
    let end = x + length * frame.scale;
    let pen = Pen::solid(FINE_LINE, INK);
    canvas.line(&[(x, y - 4.0), (x, y + 4.0)], pen);
    canvas.line(&[(x, y), (end, y)], pen);
    canvas.line(&[(end, y - 4.0), (end, y + 4.0)], pen);
    let unit = subject.unit();
    let unit = if unit.is_empty() { " units" } else { &unit };
    let text = format!("{}{unit}", scale_number(length));
    canvas.text(
        &text,
        SMALL,
        Weight::Book,
        (end + SPACES[0], y + HALF_LETTER * SMALL),
        INK,
    );
}
