//! A picture being drawn: lines, areas, discs (see [`fill`]), text.
//!
//! Places, sizes and weights are given in points; `unit` pixels make one. Whole pixels are [`Cells`].
//!
//! What is blended pixel by pixel is blended in linear light (see [`light`]).
//!
//! [`fill`]: super::fill
//! [`light`]: super::light

use std::sync::{Mutex, PoisonError};

use rayon::prelude::*;
use tiny_skia::{ColorU8, IntSize, Pixmap, PremultipliedColorU8, Transform};

use super::frame::Pane;
use super::glyph::Cover;
use super::hatch::{Hatching, Lean};
use super::light::{Light, encode};
use super::text::Font;
use crate::error::{Error, Result};
use crate::report::look::{Colour, PAPER};

/// Rows that one thread draws at a time, at least: fewer are not worth handing out.
const ROWS_TOGETHER: usize = 32;

/// Pixels side by side that are looked at together: if they show one thing, they are set at once.
pub(super) const STRETCH: usize = 8;

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
    pub(super) pixmap: Pixmap,
    font: Font,
    /// Pixels a point.
    unit: f64,
    /// What was written, so that tests can read it.
    #[cfg(test)]
    pub(crate) written: Vec<String>,
}

/// Memory of pictures that are done, for those to come: new memory takes longer to come by than to fill.
#[derive(Default)]
pub(super) struct Spare(Mutex<Vec<Vec<u8>>>);

impl Spare {
    /// Some memory, or none yet.
    pub(super) fn take(&self) -> Vec<u8> {
        let mut all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        all.pop().unwrap_or_default()
    }

    pub(super) fn give(&self, memory: Vec<u8>) {
        let mut all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        all.push(memory);
    }
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

/// Whether all of some bytes are `value`.
#[inline]
pub(super) fn all(bytes: &[u8], value: u8) -> bool {
    match <[u8; STRETCH]>::try_from(bytes) {
        // A whole stretch is one number.
        Ok(stretch) => stretch == [value; STRETCH],
        Err(_) => bytes.iter().all(|b| *b == value),
    }
}

impl Canvas {
    /// An empty canvas of so many points, `unit` pixels each.
    pub(crate) fn new(width: f64, height: f64, unit: f64) -> Result<Self> {
        Self::on(Vec::new(), width, height, unit)
    }

    /// The same, in the memory of another one.
    pub(super) fn on(mut memory: Vec<u8>, width: f64, height: f64, unit: f64) -> Result<Self> {
        let size = |v: f64| {
            let v = (v * unit).round();
            (v >= 1.0 && v <= f64::from(u16::MAX)).then_some(v as u32)
        };
        let pixmap = size(width)
            .zip(size(height))
            .and_then(|(w, h)| {
                let row = [PAPER[0], PAPER[1], PAPER[2], u8::MAX].repeat(w as usize);
                memory.clear();
                memory.reserve_exact(row.len() * h as usize);
                (0..h).for_each(|_| memory.extend_from_slice(&row));
                Pixmap::from_vec(memory, IntSize::from_wh(w, h)?)
            })
            .ok_or_else(|| Error::new("the overlay has no size that a picture can have"))?;
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

    pub(crate) fn into_pixmap(self) -> Pixmap {
        self.pixmap
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

    pub(super) fn transform(&self) -> Transform {
        Transform::from_scale(self.unit as f32, self.unit as f32)
    }

    /// Hands out the rows of a box, in any order, with what `tools` made for some of them.
    pub(crate) fn rows<T>(
        &mut self,
        cells: Cells,
        tools: impl Fn() -> T + Sync + Send,
        draw: impl Fn(&mut T, usize, &mut [PremultipliedColorU8]) + Sync + Send,
    ) {
        let width = self.pixmap.width() as usize;
        let rows = self
            .pixmap
            .pixels_mut()
            .par_chunks_mut(width)
            .skip(cells.top)
            .take(cells.height)
            .with_min_len(ROWS_TOGETHER);
        rows.enumerate().for_each_init(tools, |tools, (j, row)| {
            draw(tools, j, &mut row[cells.left..cells.left + cells.width]);
        });
    }

    /// Sets every pixel of a box, in any order; `light` is asked by column and row of the box.
    pub(crate) fn paint(&mut self, cells: Cells, light: impl Fn(usize, usize) -> Light + Sync + Send) {
        let tools = || ();
        self.rows(cells, tools, |(), j, row| {
            for (i, pixel) in row.iter_mut().enumerate() {
                *pixel = opaque(encode(light(i, j)));
            }
        });
    }

    /// A hatching's lines at this picture's size.
    pub(crate) fn hatching(&self, lean: Lean) -> Hatching {
        Hatching::new(lean, self.unit)
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
