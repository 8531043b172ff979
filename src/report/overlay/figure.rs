//! The figure: the drawing in its place, the mesh tinted over it, over and under hatched, both outlines on top.

use tiny_skia::{LineCap, Path, PathBuilder};

use super::Subject;
use super::canvas::{Canvas, Pen, STRETCH, all, opaque};
use super::chain::chain;
use super::drawing::Drawing;
use super::frame::Stage;
use super::hatch::Lean;
use super::light::{Light, decode, encode, mix};
use super::shrunk::Shrunk;
use crate::profile::Outline;
use crate::report::look::{
    DRAWING_DASH, DRAWING_LINE, FINE_LINE, HATCH_CLEARS, HATCH_WITHIN, INK, MESH, MESH_LINE, MESH_TINT,
    MESH_TINT_SHARE, OVER, PAPER, UNDER,
};
use crate::space::ViewUnits;

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
                .unwrap_or_else(|| vec![0; cells.width * cells.height])
        });
        let pixels = stage.in_pixels(cells, canvas.unit());
        let drawing = shrunk.and_then(|s| Drawing::new(subject, &pixels, &in_drawing, s));
        let strengths: Vec<f32> = (0..cells.height)
            .map(|j| strength(subject, &pixels, cells.top + j))
            .collect();
        let (paper, tint, over, under) = (decode(PAPER), decode(MESH_TINT), decode(OVER), decode(UNDER));
        let [up, down] = [Lean::Up, Lean::Down].map(|lean| canvas.hatching(lean).densities(cells));
        let levels: [f32; 256] = std::array::from_fn(|v| v as f32 / 255.0);
        let tinted = |light: Light| mix(light, tint, MESH_TINT_SHARE);
        let inside = opaque(encode(tinted(paper)));
        let reader = || drawing.as_ref().map(Drawing::reader);
        canvas.rows(cells, reader, |reader, j, row| {
            if let Some(reader) = reader {
                reader.go_to(j);
            }
            let (up, down, strength) = (up.row(j), down.row(j), strengths[j]);
            let mut lights = [paper; STRETCH];
            let of_row = j * cells.width..(j + 1) * cells.width;
            let (in_mesh, in_drawing) = (&in_mesh[of_row.clone()], &in_drawing[of_row]);
            for first in (0..row.len()).step_by(STRETCH) {
                let places = first..(first + STRETCH).min(row.len());
                let (mesh, drawn) = (&in_mesh[places.clone()], &in_drawing[places.clone()]);
                let pixels = &mut row[places.clone()];
                let outside = all(mesh, 0) && all(drawn, 0);
                let within = all(mesh, u8::MAX) && all(drawn, u8::MAX);
                let drawn_on = reader.as_mut().is_some_and(|reader| {
                    !reader.is_blank(places) && reader.lights(first, &mut lights[..pixels.len()])
                });
                if outside && !drawn_on {
                    // The canvas is paper as it is.
                    continue;
                }
                if within && !drawn_on {
                    pixels.fill(inside);
                    continue;
                }
                if !drawn_on {
                    lights = [paper; STRETCH];
                }
                let lit = pixels.iter_mut().zip(lights);
                if outside {
                    lit.for_each(|(pixel, light)| *pixel = opaque(encode(light)));
                    continue;
                }
                if within {
                    lit.for_each(|(pixel, light)| *pixel = opaque(encode(tinted(light))));
                    continue;
                }
                let covers = mesh.iter().zip(drawn).enumerate();
                for ((pixel, mut light), (k, (m, d))) in lit.zip(covers) {
                    let (m, d) = (levels[usize::from(*m)], levels[usize::from(*d)]);
                    light = mix(light, tint, MESH_TINT_SHARE * m);
                    let i = first + k;
                    if m > d {
                        light = mix(light, paper, HATCH_CLEARS * (m - d));
                        light = mix(light, over, (m - d) * strength * up[i]);
                    } else if d > m {
                        light = mix(light, paper, HATCH_CLEARS * (d - m));
                        light = mix(light, under, (d - m) * strength * down[i]);
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
