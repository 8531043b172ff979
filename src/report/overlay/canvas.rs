//! A picture being drawn: lines, areas, discs, text.
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
use super::hatch::{self, Lean};
use super::light::{Light, decode, encode};
use super::text::Font;
use crate::error::{Error, Result};
use crate::report::look::{BOOK_WEIGHT, Colour, PAPER, STRONG_WEIGHT};

/// Points of a line closer than this, in pixels, are one: what the eye cannot see need not be drawn.
const CLOSE: f64 = 0.7;

/// How heavy a text is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Weight {
    Book,
    Strong,
}

/// A canvas in pixels, y down.
pub(crate) struct Canvas {
    pixmap: Pixmap,
    font: Font,
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
fn opaque(colour: Colour) -> PremultipliedColorU8 {
    ColorU8::from_rgba(colour[0], colour[1], colour[2], 255).premultiply()
}

fn paint(colour: Colour) -> Paint<'static> {
    let mut paint = Paint::default();
    paint.set_color_rgba8(colour[0], colour[1], colour[2], 255);
    paint.anti_alias = true;
    paint
}

/// Appends a chain of points to a path, leaving out those that lie on the one before.
pub(crate) fn chain(path: &mut PathBuilder, points: impl IntoIterator<Item = (f64, f64)>, closed: bool) {
    let mut last: Option<(f64, f64)> = None;
    let mut held: Option<(f64, f64)> = None;
    for p in points {
        match last {
            None => path.move_to(p.0 as f32, p.1 as f32),
            Some(l) if (p.0 - l.0).abs() < CLOSE && (p.1 - l.1).abs() < CLOSE => {
                held = Some(p);
                continue;
            }
            Some(_) => path.line_to(p.0 as f32, p.1 as f32),
        }
        held = None;
        last = Some(p);
    }
    // The last point counts, also when it lies close.
    if let Some(p) = held {
        path.line_to(p.0 as f32, p.1 as f32);
    }
    if closed && last.is_some() {
        path.close();
    }
}

impl Canvas {
    /// An empty canvas.
    pub(crate) fn new(width: usize, height: usize) -> Result<Self> {
        let size = |v: usize| u32::try_from(v).ok();
        let mut pixmap = size(width)
            .zip(size(height))
            .and_then(|(w, h)| Pixmap::new(w, h))
            .ok_or_else(|| Error::new("the overlay has no size"))?;
        pixmap.fill(Color::from_rgba8(PAPER[0], PAPER[1], PAPER[2], 255));
        Ok(Self {
            pixmap,
            font: Font::new()?,
        })
    }

    pub(crate) fn pixmap(&self) -> &Pixmap {
        &self.pixmap
    }

    pub(crate) fn font(&self) -> &Font {
        &self.font
    }

    /// Sets every pixel of a pane, in any order; `light` is asked by column and row of the pane.
    pub(crate) fn paint(&mut self, pane: Pane, light: impl Fn(usize, usize) -> Light + Sync) {
        let width = self.pixmap.width() as usize;
        let rows = self
            .pixmap
            .pixels_mut()
            .par_chunks_mut(width)
            .skip(pane.top)
            .take(pane.height);
        rows.enumerate().for_each(|(j, row)| {
            let columns = row.iter_mut().skip(pane.left).take(pane.width);
            for (i, pixel) in columns.enumerate() {
                *pixel = opaque(encode(light(i, j)));
            }
        });
    }

    /// Hatches what `path` covers within a box `[x0, y0, x1, y1]` of whole pixels.
    pub(crate) fn hatch(&mut self, path: &Path, within: [usize; 4], lean: Lean, colour: Colour) {
        let [x0, y0, x1, y1] = within;
        let (w, h) = (x1.saturating_sub(x0), y1.saturating_sub(y0));
        if x0 >= self.pixmap.width() as usize {
            return;
        }
        let Some(mask) = coverage(path, x0, y0, w, h) else {
            return;
        };
        let colour = decode(colour);
        let width = self.pixmap.width() as usize;
        let rows = self
            .pixmap
            .pixels_mut()
            .chunks_exact_mut(width)
            .enumerate()
            .skip(y0);
        for ((y, row), covers) in rows.zip(mask.data().chunks_exact(w)) {
            for (x, (pixel, cover)) in row[x0..]
                .iter_mut()
                .zip(covers)
                .enumerate()
                .filter(|(_, p)| *p.1 > 0)
            {
                let base = decode([pixel.red(), pixel.green(), pixel.blue()]);
                let mixed = hatch::over(base, x0 + x, y, lean, colour, f32::from(*cover) / 255.0, 1.0);
                *pixel = opaque(encode(mixed));
            }
        }
    }

    /// Fills a rectangle.
    pub(crate) fn rectangle(&mut self, x0: f64, y0: f64, x1: f64, y1: f64, colour: Colour) {
        if let Some(r) = Rect::from_ltrb(x0 as f32, y0 as f32, x1 as f32, y1 as f32) {
            self.pixmap
                .fill_rect(r, &paint(colour), Transform::identity(), None);
        }
    }

    /// Fills a path.
    pub(crate) fn fill(&mut self, path: &Path, colour: Colour, rule: FillRule) {
        self.pixmap
            .fill_path(path, &paint(colour), rule, Transform::identity(), None);
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
        self.pixmap
            .stroke_path(path, &paint(pen.colour), &stroke, Transform::identity(), None);
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

    /// A filled disc.
    pub(crate) fn disc(&mut self, x: f64, y: f64, radius: f64, colour: Colour) {
        if let Some(path) = PathBuilder::from_circle(x as f32, y as f32, radius as f32) {
            self.pixmap.fill_path(
                &path,
                &paint(colour),
                FillRule::Winding,
                Transform::identity(),
                None,
            );
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
        if let Some(path) = self.font.path(text, size, at.0, at.1) {
            let share = match weight {
                Weight::Book => BOOK_WEIGHT,
                Weight::Strong => STRONG_WEIGHT,
            };
            let stroke = Stroke {
                width: share * size as f32,
                line_join: LineJoin::Round,
                ..Stroke::default()
            };
            let paint = paint(colour);
            self.pixmap
                .fill_path(&path, &paint, FillRule::Winding, Transform::identity(), None);
            self.pixmap
                .stroke_path(&path, &paint, &stroke, Transform::identity(), None);
        }
        at.0 + self.font.width(text, size)
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

/// The share of each pixel of a box that a path covers, 0 to 255, row by row; `None` for an empty box.
pub(crate) fn coverage(path: &Path, left: usize, top: usize, width: usize, height: usize) -> Option<Mask> {
    let mut mask = Mask::new(u32::try_from(width).ok()?, u32::try_from(height).ok()?)?;
    let shift = Transform::from_translate(-(left as f32), -(top as f32));
    mask.fill_path(path, FillRule::Winding, true, shift);
    Some(mask)
}
