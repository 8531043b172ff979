//! Where edges are to go: an arrow whose tip lies where the edge belongs, its tail some way behind where it is now.

use tiny_skia::PathBuilder;

use super::Subject;
use super::canvas::{Canvas, Pen};
use super::frame::Stage;
use crate::report::look::{ARROW_HEAD, ARROW_LINE, ARROW_TAIL, INK, PAPER};

pub(super) fn draw(canvas: &mut Canvas, subject: &Subject<'_>, stage: &Stage) {
    for arrow in &subject.view().arrows {
        let [from, to] = [arrow.from, arrow.to].map(|[x, y]| stage.at(x, y));
        one(canvas, from, to);
    }
}

/// An arrow with its tip at `to`.
pub(super) fn one(canvas: &mut Canvas, from: (f64, f64), to: (f64, f64)) {
    let (dx, dy) = (to.0 - from.0, to.1 - from.1);
    let long = dx.hypot(dy);
    if long == 0.0 {
        return;
    }
    let (dx, dy) = (dx / long, dy / long);
    let behind = |d: f64, aside: f64| (to.0 - d * dx - aside * dy, to.1 - d * dy + aside * dx);
    let [length, half] = ARROW_HEAD;
    let shaft = [behind(long + ARROW_TAIL, 0.0), behind(0.7 * length, 0.0)];
    let head = |wider: f64| {
        let mut path = PathBuilder::new();
        let corners = [
            behind(-2.0 * wider, 0.0),
            behind(length + wider, half + wider),
            behind(length + wider, -half - wider),
        ];
        super::chain::chain(&mut path, corners, true);
        path.finish()
    };
    canvas.line(&shaft, Pen::solid(ARROW_LINE + 2.2, PAPER));
    if let Some(path) = head(1.1) {
        canvas.fill(&path, PAPER);
    }
    canvas.line(&shaft, Pen::solid(ARROW_LINE, INK));
    if let Some(path) = head(0.0) {
        canvas.fill(&path, INK);
    }
}
