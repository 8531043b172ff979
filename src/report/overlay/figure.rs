//! The figure: the drawing resampled into its place, the mesh tinted over it, over and under hatched, both outlines.

use super::canvas::Canvas;
use super::{Frame, Subject};
use crate::profile::Span;
use crate::report::look::{
    Colour, DRAWING_DASH, DRAWING_LINE, HATCH, HATCH_LINE, INK, MESH_LINE, MESH_TINT, MESH_TINT_SHARE, OVER,
    PAPER, QUIET, RULE, SMALL, UNDER,
};
use crate::sheet::picture::Picture;
use crate::space::Point;

/// Most samples along one side of an output pixel.
const MOST_SAMPLES: usize = 4;

/// Whether a pixel lies on a hatch line: upwards to the right for what is over, downwards for what is under.
pub(super) fn hatched(x: i64, y: i64, over: bool) -> bool {
    let along = if over { x + y } else { x - y };
    along.rem_euclid(HATCH) < HATCH_LINE
}

fn mix(a: Colour, b: Colour, share: f32) -> Colour {
    [0, 1, 2].map(|k| (f32::from(a[k]) * (1.0 - share) + f32::from(b[k]) * share).round() as u8)
}

fn covers(spans: &[Span], x: f64) -> bool {
    spans.iter().any(|s| s.x0 <= x && x < s.x1)
}

pub(super) fn draw(canvas: &mut Canvas, subject: &Subject<'_>, frame: &Frame) {
    let [x0, y0, x1, y1] = frame.pane.map(|v| v.round() as usize);
    let ys: Vec<f64> = (y0..y1)
        .map(|y| (frame.zero.1 - (y as f64 + 0.5)) / frame.scale)
        .collect();
    let (drawing, mesh) = (
        subject.shown.drawing.row_spans(&ys),
        subject.shown.mesh.row_spans(&ys),
    );
    let samples = (1.0 / (frame.scale * subject.shown.placed.placement.units_per_px)).ceil() as usize;
    let samples = samples.clamp(1, MOST_SAMPLES);
    use rayon::prelude::*;
    let rows: Vec<Vec<Colour>> = ys
        .par_iter()
        .enumerate()
        .map(|(row, &y)| {
            (x0..x1)
                .map(|column| {
                    let x = (column as f64 + 0.5 - frame.zero.0) / frame.scale;
                    let paper = sample(subject, (x, y), 1.0 / frame.scale, samples);
                    let (in_drawing, in_mesh) = (covers(drawing.row(row), x), covers(mesh.row(row), x));
                    let base = if in_mesh {
                        mix(paper, MESH_TINT, MESH_TINT_SHARE)
                    } else {
                        paper
                    };
                    let (px, py) = (column as i64, (y0 + row) as i64);
                    match (in_mesh, in_drawing) {
                        (true, false) if hatched(px, py, true) => OVER,
                        (false, true) if hatched(px, py, false) => UNDER,
                        _ => base,
                    }
                })
                .collect()
        })
        .collect();
    for (row, colours) in rows.into_iter().enumerate() {
        for (column, c) in colours.into_iter().enumerate() {
            canvas.set(x0 + column, y0 + row, c);
        }
    }
    landmarks(canvas, subject, frame);
    for (outline, width, dash, colour) in [
        (&subject.shown.mesh, MESH_LINE, &[][..], INK),
        (&subject.shown.drawing, DRAWING_LINE, &DRAWING_DASH[..], UNDER),
    ] {
        for ring in &outline.rings {
            let points: Vec<(f64, f64)> = ring.iter().map(|p| frame.at(p.x, p.y)).collect();
            canvas.line(&points, true, width, dash, colour);
        }
    }
}

/// The drawing at a place of the view, averaged over a square of side `side`; lightened, so that outlines and
/// hatching stand out.
fn sample(subject: &Subject<'_>, at: (f64, f64), side: f64, n: usize) -> Colour {
    let mut sum = [0u32; 3];
    for j in 0..n {
        for i in 0..n {
            let offset = |k: usize| ((k as f64 + 0.5) / n as f64 - 0.5) * side;
            let view = Point::new(at.0 + offset(i), at.1 + offset(j));
            let p = subject
                .reading
                .levelling
                .unlevel(subject.shown.placed.placement.to_sheet(view));
            let c = pixel(subject.picture, p.x, p.y);
            for k in 0..3 {
                sum[k] += u32::from(c[k]);
            }
        }
    }
    mix(sum.map(|s| (s / (n * n) as u32) as u8), PAPER, 0.35)
}

fn pixel(picture: &Picture, x: f64, y: f64) -> Colour {
    if x < 0.0 || y < 0.0 || x >= picture.width() as f64 || y >= picture.height() as f64 {
        return PAPER;
    }
    let [r, g, b, a] = picture.rgba(x as usize, y as usize);
    mix(PAPER, [r, g, b], f32::from(a) / 255.0)
}

fn landmarks(canvas: &mut Canvas, subject: &Subject<'_>, frame: &Frame) {
    let mut last = f64::MAX;
    for mark in &subject.shown.landmarks {
        let (_, y) = frame.at(0.0, mark.y);
        canvas.line(
            &[(frame.pane[0], y), (frame.pane[2], y)],
            false,
            0.8,
            &[2.0, 4.0],
            RULE,
        );
        // Names that would touch give way to the lower one.
        if last - y > SMALL {
            canvas.text(mark.name, SMALL, 8.0, y - 4.0, QUIET);
            last = y;
        }
    }
}
