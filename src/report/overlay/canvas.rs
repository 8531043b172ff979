//! A picture being drawn: lines, areas, text; encoded as PNG with its physical resolution.

use skrifa::instance::{LocationRef, Size};
use skrifa::outline::{DrawSettings, OutlinePen};
use skrifa::{FontRef, MetadataProvider as _};
use tiny_skia::{
    Color, FillRule, LineCap, LineJoin, Paint, Path, PathBuilder, Pixmap, PremultipliedColorU8, Rect, Stroke,
    StrokeDash, Transform,
};

use crate::error::{Error, Result};
use crate::report::look::{Colour, INK, PAPER, PIXELS_PER_METRE};

/// The text's font, shipped with the program (Ubuntu Light, Ubuntu Font Licence 1.0).
const FONT: &[u8] = epaint_default_fonts::UBUNTU_LIGHT;

/// A canvas in pixels, y down.
pub(super) struct Canvas {
    pixmap: Pixmap,
    font: FontRef<'static>,
}

fn paint(colour: Colour) -> Paint<'static> {
    let mut paint = Paint::default();
    paint.set_color_rgba8(colour[0], colour[1], colour[2], 255);
    paint.anti_alias = true;
    paint
}

/// Collects a glyph's outline at a place; font space has y up.
struct Pen {
    path: PathBuilder,
    x: f32,
    y: f32,
}

impl OutlinePen for Pen {
    fn move_to(&mut self, x: f32, y: f32) {
        self.path.move_to(self.x + x, self.y - y);
    }
    fn line_to(&mut self, x: f32, y: f32) {
        self.path.line_to(self.x + x, self.y - y);
    }
    fn quad_to(&mut self, cx: f32, cy: f32, x: f32, y: f32) {
        self.path
            .quad_to(self.x + cx, self.y - cy, self.x + x, self.y - y);
    }
    fn curve_to(&mut self, ax: f32, ay: f32, bx: f32, by: f32, x: f32, y: f32) {
        self.path.cubic_to(
            self.x + ax,
            self.y - ay,
            self.x + bx,
            self.y - by,
            self.x + x,
            self.y - y,
        );
    }
    fn close(&mut self) {
        self.path.close();
    }
}

impl Canvas {
    /// An empty canvas.
    pub(super) fn new(width: usize, height: usize) -> Result<Self> {
        let size = |v: usize| u32::try_from(v).ok();
        let mut pixmap = size(width)
            .zip(size(height))
            .and_then(|(w, h)| Pixmap::new(w, h))
            .ok_or_else(|| Error::new("the overlay has no size"))?;
        pixmap.fill(Color::from_rgba8(PAPER[0], PAPER[1], PAPER[2], 255));
        let font =
            FontRef::new(FONT).map_err(|e| Error::new(format!("the shipped font cannot be read ({e})")))?;
        Ok(Self { pixmap, font })
    }

    /// Sets one pixel.
    pub(super) fn set(&mut self, x: usize, y: usize, c: Colour) {
        let w = self.pixmap.width() as usize;
        if let (Some(p), Some(q)) = (
            PremultipliedColorU8::from_rgba(c[0], c[1], c[2], 255),
            self.pixmap.pixels_mut().get_mut(y * w + x),
        ) {
            *q = p;
        }
    }

    /// Fills a rectangle.
    pub(super) fn rectangle(&mut self, x0: f64, y0: f64, x1: f64, y1: f64, c: Colour) {
        if let Some(r) = Rect::from_ltrb(x0 as f32, y0 as f32, x1 as f32, y1 as f32) {
            self.pixmap.fill_rect(r, &paint(c), Transform::identity(), None);
        }
    }

    /// Draws lines through points; `dash` empty for a solid line.
    pub(super) fn line(&mut self, points: &[(f64, f64)], closed: bool, width: f32, dash: &[f32], c: Colour) {
        let mut path = PathBuilder::new();
        for (i, p) in points.iter().enumerate() {
            if i == 0 {
                path.move_to(p.0 as f32, p.1 as f32);
            } else {
                path.line_to(p.0 as f32, p.1 as f32);
            }
        }
        if closed {
            path.close();
        }
        let Some(path) = path.finish() else { return };
        let stroke = Stroke {
            width,
            line_join: LineJoin::Round,
            line_cap: if dash.is_empty() {
                LineCap::Round
            } else {
                LineCap::Butt
            },
            dash: StrokeDash::new(dash.to_vec(), 0.0),
            ..Stroke::default()
        };
        self.pixmap
            .stroke_path(&path, &paint(c), &stroke, Transform::identity(), None);
    }

    /// A filled disc.
    pub(super) fn disc(&mut self, x: f64, y: f64, r: f64, c: Colour) {
        if let Some(path) = PathBuilder::from_circle(x as f32, y as f32, r as f32) {
            self.pixmap
                .fill_path(&path, &paint(c), FillRule::Winding, Transform::identity(), None);
        }
    }

    fn glyphs(&self, text: &str, size: f64, at: (f64, f64)) -> (Option<Path>, f64) {
        let size = Size::new(size as f32);
        let metrics = self.font.glyph_metrics(size, LocationRef::default());
        let (charmap, outlines) = (self.font.charmap(), self.font.outline_glyphs());
        let mut pen = Pen {
            path: PathBuilder::new(),
            x: at.0 as f32,
            y: at.1 as f32,
        };
        for ch in text.chars() {
            // A character that the font lacks shows as the font's own box (glyph 0).
            let glyph = charmap.map(ch).unwrap_or_default();
            if let Some(outline) = outlines.get(glyph) {
                // A glyph that cannot be drawn leaves its space empty.
                let _ = outline.draw(DrawSettings::unhinted(size, LocationRef::default()), &mut pen);
            }
            pen.x += metrics.advance_width(glyph).unwrap_or(0.0);
        }
        let end = f64::from(pen.x);
        (pen.path.finish(), end - at.0)
    }

    /// Width of a text.
    pub(super) fn width_of(&self, text: &str, size: f64) -> f64 {
        self.glyphs(text, size, (0.0, 0.0)).1
    }

    /// Writes a text with its baseline's left end at a place.
    pub(super) fn text(&mut self, text: &str, size: f64, x: f64, y: f64, c: Colour) {
        if let Some(path) = self.glyphs(text, size, (x, y)).0 {
            self.pixmap
                .fill_path(&path, &paint(c), FillRule::Winding, Transform::identity(), None);
            // The shipped weight is light; a hair's stroke brings it to that of a book face.
            let stroke = Stroke {
                width: 0.35,
                ..Stroke::default()
            };
            self.pixmap
                .stroke_path(&path, &paint(c), &stroke, Transform::identity(), None);
        }
    }

    /// Writes a text into at most `room` pixels, shortened with an ellipsis.
    pub(super) fn text_within(&mut self, text: &str, size: f64, x: f64, y: f64, room: f64, c: Colour) {
        let mut shown = text.to_string();
        while self.width_of(&shown, size) > room && shown.chars().count() > 2 {
            let kept = shown.chars().count().saturating_sub(3);
            shown = shown.chars().take(kept).collect::<String>() + "…";
        }
        self.text(&shown, size, x, y, c);
    }

    /// A number in a disc.
    pub(super) fn badge(&mut self, number: usize, x: f64, y: f64) {
        self.disc(x, y, 12.5, PAPER);
        self.disc(x, y, 11.5, INK);
        let text = number.to_string();
        let w = self.width_of(&text, 15.0);
        self.text(&text, 15.0, x - w / 2.0, y + 5.2, PAPER);
    }

    /// Encodes the picture.
    pub(super) fn encode(&self) -> Result<Vec<u8>> {
        let failed = |e: png::EncodingError| Error::new(format!("the overlay cannot be encoded ({e})"));
        let mut out = Vec::new();
        let mut encoder = png::Encoder::new(&mut out, self.pixmap.width(), self.pixmap.height());
        encoder.set_color(png::ColorType::Rgb);
        encoder.set_depth(png::BitDepth::Eight);
        encoder.set_compression(png::Compression::Fast);
        encoder.set_source_srgb(png::SrgbRenderingIntent::Perceptual);
        encoder.set_pixel_dims(Some(png::PixelDimensions {
            xppu: PIXELS_PER_METRE,
            yppu: PIXELS_PER_METRE,
            unit: png::Unit::Meter,
        }));
        let rgb: Vec<u8> = self
            .pixmap
            .pixels()
            .iter()
            .flat_map(|p| [p.red(), p.green(), p.blue()])
            .collect();
        let mut writer = encoder.write_header().map_err(failed)?;
        writer.write_image_data(&rgb).map_err(failed)?;
        writer.finish().map_err(failed)?;
        Ok(out)
    }
}
