//! The figure: the drawing in its place, the mesh tinted over it, over and under hatched, both outlines on top.

use tiny_skia::{LineCap, Path, PathBuilder};

use super::Subject;
use super::canvas::{Canvas, Pen, Weight, chain, coverage};
use super::drawing::Drawing;
use super::frame::Frame;
use super::hatch::{self, Lean};
use super::light::{decode, mix};
use super::spread::{Wanted, spread};
use crate::profile::Outline;
use crate::report::look::{
    CHART, DRAWING_DASH, DRAWING_LINE, HAIRLINE, HATCH_WITHIN, INK, MESH, MESH_LINE, MESH_TINT,
    MESH_TINT_SHARE, OVER, PAPER, QUIET, RULE, SMALL, UNDER,
};
use crate::space::ViewUnits;

/// Room that a landmark's name takes, times its size.
const LEADING: f64 = 1.25;
/// Half the height of small letters, times their size: sets a text's middle onto a line.
pub(super) const HALF_LETTER: f64 = 0.33;

pub(super) fn draw(canvas: &mut Canvas, subject: &Subject<'_>, frame: &Frame) {
    let outlines = [&subject.shown.mesh, &subject.shown.drawing].map(|o| path(o, frame));
    areas(canvas, subject, frame, &outlines);
    landmarks(canvas, subject, frame);
    let [mesh, drawing] = &outlines;
    if let Some(path) = mesh {
        canvas.stroke(path, Pen::solid(MESH_LINE, MESH), LineCap::Butt);
    }
    if let Some(path) = drawing {
        canvas.stroke(
            path,
            Pen {
                weight: DRAWING_LINE,
                dash: &DRAWING_DASH,
                colour: INK,
            },
            LineCap::Butt,
        );
    }
}

fn path(outline: &Outline<ViewUnits>, frame: &Frame) -> Option<Path> {
    let mut path = PathBuilder::new();
    for ring in &outline.rings {
        chain(&mut path, ring.iter().map(|p| frame.at(p.x, p.y)), true);
    }
    path.finish()
}

/// Drawing, tint and hatching, pixel by pixel.
fn areas(canvas: &mut Canvas, subject: &Subject<'_>, frame: &Frame, outlines: &[Option<Path>; 2]) {
    let pane = frame.pane;
    let covers = outlines.each_ref().map(|path| {
        path.as_ref()
            .and_then(|p| coverage(p, pane.left, pane.top, pane.width, pane.height))
            .map_or_else(|| vec![0; pane.width * pane.height], tiny_skia::Mask::take)
    });
    let [in_mesh, in_drawing] = &covers;
    let drawing = Drawing::new(subject, frame, in_drawing);
    let paper = decode(PAPER);
    let strengths: Vec<f32> = (0..pane.height)
        .map(|j| strength(subject, frame, pane.top + j))
        .collect();
    let (tint, over, under) = (decode(MESH_TINT), decode(OVER), decode(UNDER));
    let levels: [f32; 256] = std::array::from_fn(|v| v as f32 / 255.0);
    canvas.paint(pane, |i, j| {
        let k = j * pane.width + i;
        let mut light = drawing.as_ref().map_or(paper, |d| d.light(i, j));
        let (m, d) = (
            levels[usize::from(in_mesh[k])],
            levels[usize::from(in_drawing[k])],
        );
        if m > 0.0 {
            light = mix(light, tint, MESH_TINT_SHARE * m);
        }
        let (x, y) = (pane.left + i, pane.top + j);
        if m > d {
            light = hatch::over(light, x, y, Lean::Up, over, m - d, strengths[j]);
        } else if d > m {
            light = hatch::over(light, x, y, Lean::Down, under, d - m, strengths[j]);
        }
        light
    });
}

/// Rows of a finding are hatched in full, others quietly.
fn strength(subject: &Subject<'_>, frame: &Frame, row: usize) -> f32 {
    let (high, low) = (frame.height_at(row as f64), frame.height_at(row as f64 + 1.0));
    if subject
        .view()
        .findings
        .iter()
        .any(|f| f.y_from <= high && low <= f.y_to)
    {
        1.0
    } else {
        HATCH_WITHIN
    }
}

/// Names at the left, thin rules through all columns.
fn landmarks(canvas: &mut Canvas, subject: &Subject<'_>, frame: &Frame) {
    let mut marks: Vec<(f64, &str)> = subject
        .shown
        .landmarks
        .iter()
        .map(|m| (frame.row(m.y), m.name))
        .collect();
    marks.retain(|(y, _)| (frame.pane.top as f64..=frame.pane.bottom()).contains(y));
    marks.sort_by(|a, b| a.0.total_cmp(&b.0));
    let labels: Vec<Wanted> = marks
        .iter()
        .map(|(y, _)| Wanted {
            middle: *y,
            size: LEADING * SMALL,
        })
        .collect();
    let rows = spread(&labels, frame.pane.top as f64, frame.pane.bottom());
    let left = frame.pane.left as f64;
    let pen = Pen::solid(HAIRLINE, RULE);
    for ((y, name), row) in marks.iter().zip(rows) {
        canvas.text_left_of(
            name,
            SMALL,
            Weight::Book,
            (left - 16.0, row + HALF_LETTER * SMALL),
            QUIET,
        );
        canvas.line(
            &[
                (left - 11.0, row),
                (left - 3.0, *y),
                (frame.charts[1] + CHART, *y),
            ],
            pen,
        );
    }
}
