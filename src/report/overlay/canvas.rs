//! A picture being drawn: lines, areas, discs, text.
//!
//! Places, sizes and weights are given in points; `unit` pixels make one. Whole pixels are [`Cells`].
//!
//! Lines and text are drawn by `tiny-skia`; what is blended pixel by pixel is blended in linear light (see [`light`]).
//!
//! [`light`]: super::light

use rayon::prelude::*;
use tiny_skia::{
    Color, ColorU8, FillRule, LineCap, LineJoin, Mask, Paint, Path, PathBuilder, Pixmap,
    PremultipliedColorU8, Rect, Stroke, StrokeDash, Transform,
};

use super::frame::Pane;
use super::glyph::Cover;
use super::hatch::{Hatching, Lean};
use super::light::{Light, decode, encode};
use super::text::Font;
use crate::error::{Error, Result};
use crate::report::look::{Colour, PAPER};

/// Places of a chain this far from a straight line, in points, lie on it: a twentieth of a pixel changes no pixel's tone
/// by more than that.
const STRAIGHT: f64 = 0.05;
/// Places that one straight line stands for at most, so that long chains cost no more than their length.
const MOST_LEFT_OUT: usize = 32;
/// Rows that one thread draws at a time, at least: fewer are not worth handing out.
const ROWS_TOGETHER: usize = 32;

/// How heavy a text is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Weight {
    Book,
    Strong,
}

/// A box of whole pixels.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Cells {
    pub(crate) left: usize,
    pub(crate) top: usize,
    pub(crate) width: usize,
    pub(crate) height: usize,
}

/// A canvas, y down.
pub(crate) struct Canvas {
    pixmap: Pixmap,
    font: Font,
    /// Pixels a point.
    unit: f64,
    /// What was written, so that tests can read it.
    #[cfg(test)]
    pub(crate) written: Vec<String>,
}

/// A line's weight and dashes.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Pen<'a> {
    pub(crate) weight: f32,
    /// Lengths of dash and gap, empty for a solid line.
    pub(crate) dash: &'a [f32],
    pub(crate) colour: Colour,
}

impl Pen<'_> {
    pub(crate) const fn solid(weight: f32, colour: Colour) -> Self {
        Self {
            weight,
            dash: &[],
            colour,
        }
    }
}

/// An opaque colour is its own premultiplied form.
pub(super) fn opaque(colour: Colour) -> PremultipliedColorU8 {
    ColorU8::from_rgba(colour[0], colour[1], colour[2], 255).premultiply()
}

fn paint(colour: Colour) -> Paint<'static> {
    let mut paint = Paint::default();
    paint.set_color_rgba8(colour[0], colour[1], colour[2], 255);
    paint.anti_alias = true;
    paint
}

/// Distance of a point from the line between two others.
pub(super) fn from_line(p: (f64, f64), a: (f64, f64), b: (f64, f64)) -> f64 {
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let along = ((p.0 - a.0) * dx + (p.1 - a.1) * dy) / (dx * dx + dy * dy).max(f64::MIN_POSITIVE);
    let t = along.clamp(0.0, 1.0);
    (a.0 + t * dx - p.0).hypot(a.1 + t * dy - p.1)
}

/// Appends a chain of points to a path, leaving out those that lie on the line between their neighbours.
pub(crate) fn chain(path: &mut PathBuilder, points: impl IntoIterator<Item = (f64, f64)>, closed: bool) {
    let mut points = points.into_iter();
    let Some(mut from) = points.next() else { return };
    path.move_to(from.0 as f32, from.1 as f32);
    let mut left_out: Vec<(f64, f64)> = Vec::with_capacity(MOST_LEFT_OUT);
    for p in points {
        let straight =
            left_out.len() < MOST_LEFT_OUT && left_out.iter().all(|q| from_line(*q, from, p) <= STRAIGHT);
        if !straight && let Some(kept) = left_out.pop() {
            path.line_to(kept.0 as f32, kept.1 as f32);
            from = kept;
            left_out.clear();
        }
        left_out.push(p);
    }
    if let Some(last) = left_out.pop() {
        path.line_to(last.0 as f32, last.1 as f32);
    }
    if closed {
        path.close();
    }
}

impl Canvas {
    /// An empty canvas of so many points, `unit` pixels each.
    pub(crate) fn new(width: f64, height: f64, unit: f64) -> Result<Self> {
        let size = |v: f64| {
            let v = (v * unit).round();
            (v >= 1.0 && v <= f64::from(u16::MAX)).then_some(v as u32)
        };
        let mut pixmap = size(width)
            .zip(size(height))
            .and_then(|(w, h)| Pixmap::new(w, h))
            .ok_or_else(|| Error::new("the overlay has no size that a picture can have"))?;
        pixmap.fill(Color::from_rgba8(PAPER[0], PAPER[1], PAPER[2], 255));
        Ok(Self {
            pixmap,
            font: Font::new()?,
            unit,
            #[cfg(test)]
            written: Vec::new(),
        })
    }

    pub(crate) fn pixmap(&self) -> &Pixmap {
        &self.pixmap
    }

    pub(crate) fn font(&self) -> &Font {
        &self.font
    }

    pub(crate) fn unit(&self) -> f64 {
        self.unit
    }

    /// The pixels of a pane, as far as they lie in the picture.
    pub(crate) fn cells(&self, pane: Pane) -> Cells {
        let (w, h) = (self.pixmap.width() as usize, self.pixmap.height() as usize);
        let cell = |v: f64, most: usize| ((v * self.unit).round().max(0.0) as usize).min(most);
        let (left, top) = (cell(pane.left, w), cell(pane.top, h));
        Cells {
            left,
            top,
            width: cell(pane.right(), w).saturating_sub(left),
            height: cell(pane.bottom(), h).saturating_sub(top),
        }
    }

    fn transform(&self) -> Transform {
        Transform::from_scale(self.unit as f32, self.unit as f32)
    }

    /// Hands out the rows of a box, in any order.
    pub(crate) fn rows(&mut self, cells: Cells, draw: impl Fn(usize, &mut [PremultipliedColorU8]) + Sync) {
        let width = self.pixmap.width() as usize;
        let rows = self
            .pixmap
            .pixels_mut()
            .par_chunks_mut(width)
            .skip(cells.top)
            .take(cells.height)
            .with_min_len(ROWS_TOGETHER);
        rows.enumerate()
            .for_each(|(j, row)| draw(j, &mut row[cells.left..cells.left + cells.width]));
    }

    /// Sets every pixel of a box, in any order; `light` is asked by column and row of the box.
    pub(crate) fn paint(&mut self, cells: Cells, light: impl Fn(usize, usize) -> Light + Sync) {
        self.rows(cells, |j, row| {
            for (i, pixel) in row.iter_mut().enumerate() {
                *pixel = opaque(encode(light(i, j)));
            }
        });
    }

    /// The share of each pixel of a box that a path covers, 0 to 255, row by row; `None` for an empty box.
    pub(crate) fn coverage(&self, path: &Path, cells: Cells) -> Option<Mask> {
        let mut mask = Mask::new(
            u32::try_from(cells.width).ok()?,
            u32::try_from(cells.height).ok()?,
        )?;
        let shift = self
            .transform()
            .post_translate(-(cells.left as f32), -(cells.top as f32));
        mask.fill_path(path, FillRule::Winding, true, shift);
        Some(mask)
    }

    /// A hatching's lines at this picture's size.
    pub(crate) fn hatching(&self, lean: Lean) -> Hatching {
        Hatching::new(lean, self.unit)
    }

    /// Hatches what `path` covers within a pane.
    pub(crate) fn hatch(&mut self, path: &Path, within: Pane, lean: Lean, colour: Colour) {
        let cells = self.cells(within);
        let Some(mask) = self.coverage(path, cells) else {
            return;
        };
        let hatching = self.hatching(lean);
        let colour = decode(colour);
        let width = self.pixmap.width() as usize;
        let rows = self
            .pixmap
            .pixels_mut()
            .chunks_exact_mut(width)
            .enumerate()
            .skip(cells.top);
        for ((y, row), covers) in rows.zip(mask.data().chunks_exact(cells.width)) {
            for (x, (pixel, cover)) in row[cells.left..]
                .iter_mut()
                .zip(covers)
                .enumerate()
                .filter(|(_, p)| *p.1 > 0)
            {
                let base = decode([pixel.red(), pixel.green(), pixel.blue()]);
                let share = f32::from(*cover) / 255.0;
                *pixel = opaque(encode(hatching.over(base, cells.left + x, y, colour, share)));
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

    /// Lays rows of `width` colours, three bytes each, over a place, like a slide: where they are light, what was there
    /// shows through. What lies outside is left out.
    pub(crate) fn overlay(&mut self, rgb: &[u8], width: usize, at: (f64, f64)) {
        let (w, h) = (self.pixmap.width() as usize, self.pixmap.height() as usize);
        let (left, top) = (
            (at.0 * self.unit).round() as i64,
            (at.1 * self.unit).round() as i64,
        );
        let pixels = self.pixmap.pixels_mut();
        for (y, row) in (top..).zip(rgb.chunks_exact(3 * width.max(1))) {
            let Some(y) = usize::try_from(y).ok().filter(|y| *y < h) else {
                continue;
            };
            for (x, p) in (left..).zip(row.chunks_exact(3)) {
                if let Some(x) = usize::try_from(x).ok().filter(|x| *x < w) {
                    let pixel = &mut pixels[y * w + x];
                    let under = [pixel.red(), pixel.green(), pixel.blue()];
                    *pixel = opaque(std::array::from_fn(|k| p[k].min(under[k])));
                }
            }
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

    /// Writes a text with its baseline's left end at a place; returns where it ends.
    pub(crate) fn text(
        &mut self,
        text: &str,
        size: f64,
        weight: Weight,
        at: (f64, f64),
        colour: Colour,
    ) -> f64 {
        #[cfg(test)]
        self.written.push(text.to_string());
        let size_px = (size * self.unit) as f32;
        // Level strokes of letters are sharp where the baseline runs between two rows of pixels.
        let (mut x, baseline) = ((at.0 * self.unit) as f32, (at.1 * self.unit).round() as f32);
        let mut cover = Cover::default();
        for c in text.chars() {
            let glyph = self.font.glyph(c);
            if glyph.cover(weight, size_px, [x, baseline], &mut cover) {
                self.ink(&cover, colour);
            }
            x += glyph.advance * size_px;
        }
        at.0 + self.font.width(text, size)
    }

    /// Lays a colour over the pixels that something covers.
    fn ink(&mut self, cover: &Cover, colour: Colour) {
        let (w, h) = (self.pixmap.width() as usize, self.pixmap.height() as usize);
        let pixels = self.pixmap.pixels_mut();
        for (y, shares) in (cover.top..).zip(cover.shares.chunks_exact(cover.width)) {
            let Some(y) = usize::try_from(y).ok().filter(|y| *y < h) else {
                continue;
            };
            for (x, share) in (cover.left..).zip(shares).filter(|(_, s)| **s > 0.0) {
                if let Some(x) = usize::try_from(x).ok().filter(|x| *x < w) {
                    let pixel = &mut pixels[y * w + x];
                    let under = [pixel.red(), pixel.green(), pixel.blue()];
                    let blend = |k: usize| {
                        let (a, b) = (f32::from(under[k]), f32::from(colour[k]));
                        (a + (b - a) * share + 0.5) as u8
                    };
                    *pixel = opaque([blend(0), blend(1), blend(2)]);
                }
            }
        }
    }

    /// The same, ending at a place.
    pub(crate) fn text_left_of(
        &mut self,
        text: &str,
        size: f64,
        weight: Weight,
        at: (f64, f64),
        colour: Colour,
    ) {
        let w = self.font.width(text, size);
        self.text(text, size, weight, (at.0 - w, at.1), colour);
    }

    /// The same, about a place.
    pub(crate) fn text_about(
        &mut self,
        text: &str,
        size: f64,
        weight: Weight,
        at: (f64, f64),
        colour: Colour,
    ) {
        let w = self.font.width(text, size);
        self.text(text, size, weight, (at.0 - w / 2.0, at.1), colour);
    }
}
