//! The turned arms in a figure: what turns, about which joint, along which axis.

use super::Subject;
use super::canvas::{Canvas, Pen};
use super::figure::path;
use super::frame::Stage;
use crate::report::look::{ARM, ARM_DASH, ARM_LINE, FINE_LINE, INK, PAPER};
use tiny_skia::LineCap;

/// Radius of a joint's ring, and of the dot in its middle.
const RING: [f64; 2] = [6.0, 2.0];
/// Radius of the dot at an elbow and at the arm's end.
const SPOT: f64 = 2.6;

pub(super) fn draw(canvas: &mut Canvas, subject: &Subject<'_>, stage: &Stage) {
    let azimuth = subject.shown.placed.azimuth;
    if subject.report.arms.is_empty() || azimuth.is_above() {
        return;
    }
    if let Some(path) = subject.shown.arms.as_ref().and_then(|o| path(o, stage)) {
        let pen = Pen {
            weight: ARM_LINE,
            dash: &ARM_DASH,
            colour: ARM,
        };
        canvas.stroke(&path, pen, LineCap::Round);
    }
    let (sin, cos) = azimuth.degrees().to_radians().sin_cos();
    for arm in &subject.report.arms {
        let places: Vec<(f64, f64)> = arm
            .axis
            .iter()
            .map(|[x, y, z]| stage.at(x * cos + z * sin, *y))
            .collect();
        canvas.line(&places, Pen::solid(FINE_LINE + 2.4, PAPER));
        canvas.line(&places, Pen::solid(FINE_LINE, ARM));
        let Some((&(x, y), rest)) = places.split_first() else {
            continue;
        };
        for &(x, y) in rest {
            canvas.disc(x, y, SPOT + 1.2, PAPER);
            canvas.disc(x, y, SPOT, ARM);
        }
        canvas.disc(x, y, RING[0] + 1.6, PAPER);
        canvas.ring(x, y, RING[0], Pen::solid(ARM_LINE, INK));
        canvas.disc(x, y, RING[1], INK);
    }
}
