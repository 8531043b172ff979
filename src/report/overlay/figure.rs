//! The figure: the drawing in its place, the mesh tinted over it, over and under hatched, both outlines on top.

use tiny_skia::{LineCap, Path, PathBuilder};

use super::Subject;
use super::canvas::{Canvas, Pen, chain, opaque};
use super::drawing::Drawing;
use super::frame::Stage;
use super::hatch::Lean;
use super::light::{decode, encode, mix};
use super::shrunk::Shrunk;
use crate::profile::Outline;
use crate::report::look::{
    DRAWING_DASH, DRAWING_LINE, FINE_LINE, HATCH_CLEARS, HATCH_WITHIN, INK, MESH, MESH_LINE, MESH_TINT,
    MESH_TINT_SHARE, OVER, PAPER, UNDER,
};
use crate::space::ViewUnits;

/// Pixels side by side that are looked at together: if they show one thing, they are set at once.
const STRETCH: usize = 8;

/// A figure on its stage.
pub(super) struct Figure {
    mesh: Option<Path>,
    drawing: Option<Path>,
    /// The cage, where the smoothed surface is the mesh that counts.
    cage: Option<Path>,
}

impl Figure {
    pub(super) fn new(subject: &Subject<'_>, stage: &Stage) -> Self {
        let [mesh, drawing] = [&subject.shown.mesh, &subject.shown.drawing].map(|o| path(o, stage));
        let cage = subject.cage().and_then(|o| path(o, stage));
        Self { mesh, drawing, cage }
    }

    /// The drawing, the mesh's tint and the hatching, on paper. `shrunk` is the reduced picture for this stage, if there
    /// is a drawing to show.
    pub(super) fn areas(
        &self,
        canvas: &mut Canvas,
        subject: &Subject<'_>,
        stage: &Stage,
        shrunk: Option<&Shrunk<'_>>,
    ) {
        let cells = canvas.cells(stage.pane);
        let [in_mesh, in_drawing] = [&self.mesh, &self.drawing].map(|path| {
            path.as_ref()
                .and_then(|p| canvas.coverage(p, cells))
                .map_or_else(|| vec![0; cells.width * cells.height], tiny_skia::Mask::take)
        });
        let pixels = stage.in_pixels(cells, canvas.unit());
        let drawing = shrunk.and_then(|s| Drawing::new(subject, &pixels, &in_drawing, s));
        let strengths: Vec<f32> = (0..cells.height)
            .map(|j| strength(subject, &pixels, cells.top + j))
            .collect();
        let (paper, tint, over, under) = (decode(PAPER), decode(MESH_TINT), decode(OVER), decode(UNDER));
        let (up, down) = (canvas.hatching(Lean::Up), canvas.hatching(Lean::Down));
        let levels: [f32; 256] = std::array::from_fn(|v| v as f32 / 255.0);
        let inside = opaque(encode(mix(paper, tint, MESH_TINT_SHARE)));
        canvas.rows(cells, |j, row| {
            let of_row = j * cells.width..(j + 1) * cells.width;
            let parts = row
                .chunks_mut(STRETCH)
                .zip(in_mesh[of_row.clone()].chunks(STRETCH))
                .zip(in_drawing[of_row].chunks(STRETCH));
            let mut reader = drawing.as_ref().map(|d| d.row(j));
            for (n, ((pixels, mesh), drawn)) in parts.enumerate() {
                let first = n * STRETCH;
                let blank = drawing
                    .as_ref()
                    .is_none_or(|d| d.is_blank(first..first + pixels.len(), j));
                if blank && all(mesh, 0) && all(drawn, 0) {
                    // The canvas is paper as it is.
                    continue;
                }
                if blank && all(mesh, u8::MAX) && all(drawn, u8::MAX) {
                    pixels.fill(inside);
                    continue;
                }
                for (k, (pixel, (m, d))) in pixels.iter_mut().zip(mesh.iter().zip(drawn)).enumerate() {
                    let mut light = match &mut reader {
                        Some(reader) if !blank => reader.light(first + k),
                        _ => paper,
                    };
                    let (m, d) = (levels[usize::from(*m)], levels[usize::from(*d)]);
                    light = mix(light, tint, MESH_TINT_SHARE * m);
                    let (x, y) = (cells.left + first + k, cells.top + j);
                    if m > d {
                        light = mix(light, paper, HATCH_CLEARS * (m - d));
                        light = up.over(light, x, y, over, (m - d) * strengths[j]);
                    } else if d > m {
                        light = mix(light, paper, HATCH_CLEARS * (d - m));
                        light = down.over(light, x, y, under, (d - m) * strengths[j]);
                    }
                    *pixel = opaque(encode(light));
                }
            }
        });
    }

    /// The outlines: the mesh's broad, the cage's thin beside it, the drawing's thin and dashed on top of it.
    pub(super) fn outlines(&self, canvas: &mut Canvas) {
        if let Some(path) = &self.cage {
            canvas.stroke(path, Pen::solid(FINE_LINE, MESH), LineCap::Butt);
        }
        if let Some(path) = &self.mesh {
            canvas.stroke(path, Pen::solid(MESH_LINE, MESH), LineCap::Butt);
        }
        if let Some(path) = &self.drawing {
            let pen = Pen {
                weight: DRAWING_LINE,
                dash: &DRAWING_DASH,
                colour: INK,
            };
            canvas.stroke(path, pen, LineCap::Butt);
        }
    }
}

/// Whether all of some bytes are `value`.
fn all(bytes: &[u8], value: u8) -> bool {
    bytes.iter().fold(0, |off, b| off | (b ^ value)) == 0
}

pub(super) fn path(outline: &Outline<ViewUnits>, stage: &Stage) -> Option<Path> {
    let mut path = PathBuilder::new();
    for ring in &outline.rings {
        chain(&mut path, ring.iter().map(|p| stage.at(p.x, p.y)), true);
    }
    path.finish()
}

/// Rows of a finding are hatched in full, others quietly.
fn strength(subject: &Subject<'_>, stage: &Stage, row: usize) -> f32 {
    let (high, low) = (stage.height_at(row as f64), stage.height_at(row as f64 + 1.0));
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
