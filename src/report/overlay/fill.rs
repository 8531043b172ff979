//! What a canvas fills: areas, hatched ones, lines, all drawn by `tiny-skia`.

use tiny_skia::{FillRule, LineCap, LineJoin, Mask, Paint, Path, PathBuilder, Rect, Stroke, StrokeDash};

use super::canvas::{Canvas, Cells, Pen, STRETCH, all, opaque};
use super::chain::chain;
use super::frame::Pane;
use super::hatch::Lean;
use super::light::{decode, encode, mix};
use crate::report::look::Colour;

fn paint(colour: Colour) -> Paint<'static> {
    let mut paint = Paint::default();
    paint.set_color_rgba8(colour[0], colour[1], colour[2], 255);
    paint.anti_alias = true;
    paint
}

impl Canvas {
    /// The share of each pixel of a box that a path covers, 0 to 255, row by row; `None` for an empty box.
    pub(crate) fn coverage(&self, path: &Path, cells: Cells) -> Option<Vec<u8>> {
        let mut mask = Mask::new(
            u32::try_from(cells.width).ok()?,
            u32::try_from(cells.height).ok()?,
        )?;
        let shift = self
            .transform()
            .post_translate(-(cells.left as f32), -(cells.top as f32));
        mask.fill_path(path, FillRule::Winding, true, shift);
        Some(mask.take())
    }

    /// Hatches what `path` covers within a pane.
    pub(crate) fn hatch(&mut self, path: &Path, within: Pane, lean: Lean, colour: Colour) {
        let cells = self.cells(within);
        let Some(shares) = self.coverage(path, cells) else {
            return;
        };
        let densities = self.hatching(lean).densities(cells);
        let colour = decode(colour);
        let width = self.pixmap.width() as usize;
        let rows = self.pixmap.pixels_mut().chunks_exact_mut(width).skip(cells.top);
        let covers = shares.chunks_exact(cells.width).enumerate();
        for (row, (j, covers)) in rows.zip(covers) {
            let parts = row[cells.left..]
                .chunks_mut(STRETCH)
                .zip(covers.chunks(STRETCH))
                .zip(densities.row(j).chunks(STRETCH));
            for ((pixels, covers), densities) in parts.filter(|((_, covers), _)| !all(covers, 0)) {
                let pixels = pixels.iter_mut().zip(covers).zip(densities);
                for ((pixel, cover), density) in pixels.filter(|((_, cover), _)| **cover > 0) {
                    let base = decode([pixel.red(), pixel.green(), pixel.blue()]);
                    let share = f32::from(*cover) / 255.0;
                    *pixel = opaque(encode(mix(base, colour, share * density)));
                }
            }
        }
    }

    /// Fills a rectangle.
    pub(crate) fn rectangle(&mut self, x0: f64, y0: f64, x1: f64, y1: f64, colour: Colour) {
        if let Some(r) = Rect::from_ltrb(x0 as f32, y0 as f32, x1 as f32, y1 as f32) {
            let transform = self.transform();
            self.pixmap.fill_rect(r, &paint(colour), transform, None);
        }
    }

    /// Draws a path.
    pub(crate) fn stroke(&mut self, path: &Path, pen: Pen<'_>, cap: LineCap) {
        let stroke = Stroke {
            width: pen.weight,
            line_join: LineJoin::Round,
            line_cap: cap,
            dash: StrokeDash::new(pen.dash.to_vec(), 0.0),
            ..Stroke::default()
        };
        let transform = self.transform();
        self.pixmap
            .stroke_path(path, &paint(pen.colour), &stroke, transform, None);
    }

    /// Draws lines through points.
    pub(crate) fn line(&mut self, points: &[(f64, f64)], pen: Pen<'_>) {
        let mut path = PathBuilder::new();
        chain(&mut path, points.iter().copied(), false);
        if let Some(path) = path.finish() {
            self.stroke(&path, pen, LineCap::Butt);
        }
    }

    /// A row of round dots.
    pub(crate) fn dots(&mut self, from: (f64, f64), to: (f64, f64), pen: Pen<'_>) {
        let mut path = PathBuilder::new();
        chain(&mut path, [from, to], false);
        if let Some(path) = path.finish() {
            self.stroke(&path, pen, LineCap::Round);
        }
    }

    /// Fills a path.
    pub(crate) fn fill(&mut self, path: &Path, colour: Colour) {
        let transform = self.transform();
        self.pixmap
            .fill_path(path, &paint(colour), FillRule::Winding, transform, None);
    }

    /// A filled disc.
    pub(crate) fn disc(&mut self, x: f64, y: f64, radius: f64, colour: Colour) {
        if let Some(path) = PathBuilder::from_circle(x as f32, y as f32, radius as f32) {
            self.fill(&path, colour);
        }
    }

    /// A circle's line.
    pub(crate) fn ring(&mut self, x: f64, y: f64, radius: f64, pen: Pen<'_>) {
        if let Some(path) = PathBuilder::from_circle(x as f32, y as f32, radius as f32) {
            self.stroke(&path, pen, LineCap::Butt);
        }
    }
}
