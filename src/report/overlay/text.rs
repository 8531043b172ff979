//! Text as outlines: the shipped font's glyphs, laid side by side, made heavier by a stroke where asked.
//!
//! Font: Ubuntu Light (Ubuntu Font Licence 1.0), from the crate `epaint_default_fonts`, which holds the licence texts.
//! Limits: left to right only, no kerning, no ligatures; a character that the font lacks shows as an empty box.

use skrifa::instance::{LocationRef, Size};
use skrifa::metrics::GlyphMetrics;
use skrifa::outline::{DrawSettings, OutlineGlyphCollection, OutlinePen};
use skrifa::{FontRef, GlyphId, MetadataProvider as _, charmap::Charmap};
use tiny_skia::{Path, PathBuilder};

use crate::error::{Error, Result};

const FONT: &[u8] = epaint_default_fonts::UBUNTU_LIGHT;

/// Width of the box for a missing character, and its height and gap, as shares of the size.
const BOX: [f32; 3] = [0.5, 0.66, 0.08];

/// The shipped font.
pub(crate) struct Font {
    font: FontRef<'static>,
    charmap: Charmap<'static>,
    outlines: OutlineGlyphCollection<'static>,
}

/// Collects outlines at a place; a font's y points up.
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
        let (u, v) = (self.x, self.y);
        self.path.cubic_to(u + ax, v - ay, u + bx, v - by, u + x, v - y);
    }
    fn close(&mut self) {
        self.path.close();
    }
}

impl Pen {
    /// The box of a missing character.
    fn missing(&mut self, size: f32) {
        let [w, h, gap] = BOX.map(|v| v * size);
        // Two rings of opposite winding leave the frame only.
        for (inset, back) in [(0.0, false), (gap, true)] {
            let (x0, x1, y0, y1) = (gap + inset, w - gap - inset, inset, h - inset);
            let mut corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)];
            if back {
                corners.reverse();
            }
            self.move_to(corners[0].0, corners[0].1);
            for (x, y) in &corners[1..] {
                self.line_to(*x, *y);
            }
            self.close();
        }
    }
}

impl Font {
    pub(crate) fn new() -> Result<Self> {
        let font =
            FontRef::new(FONT).map_err(|e| Error::new(format!("the shipped font cannot be read ({e})")))?;
        Ok(Self {
            charmap: font.charmap(),
            outlines: font.outline_glyphs(),
            font,
        })
    }

    fn metrics(&self, size: f64) -> GlyphMetrics<'static> {
        self.font
            .glyph_metrics(Size::new(size as f32), LocationRef::default())
    }

    /// The glyph of a character, if the font has one that says something.
    fn glyph(&self, c: char) -> Option<GlyphId> {
        self.charmap.map(c).filter(|g| *g != GlyphId::NOTDEF)
    }

    fn advance(glyph: Option<GlyphId>, metrics: &GlyphMetrics<'_>, size: f64) -> f32 {
        glyph
            .and_then(|g| metrics.advance_width(g))
            .unwrap_or(BOX[0] * size as f32)
    }

    /// Width of a text, pixels.
    pub(crate) fn width(&self, text: &str, size: f64) -> f64 {
        let metrics = self.metrics(size);
        text.chars()
            .map(|c| f64::from(Self::advance(self.glyph(c), &metrics, size)))
            .sum()
    }

    /// The outlines of a text whose baseline begins at `(x, y)`; `None` if it leaves no mark.
    pub(crate) fn path(&self, text: &str, size: f64, x: f64, y: f64) -> Option<Path> {
        let metrics = self.metrics(size);
        let settings = || DrawSettings::unhinted(Size::new(size as f32), LocationRef::default());
        let mut pen = Pen {
            path: PathBuilder::new(),
            x: x as f32,
            y: y as f32,
        };
        for c in text.chars() {
            let glyph = self.glyph(c);
            match glyph.and_then(|g| self.outlines.get(g)) {
                Some(outline) => {
                    // A glyph that cannot be drawn leaves its space empty.
                    let _ = outline.draw(settings(), &mut pen);
                }
                None => pen.missing(size as f32),
            }
            pen.x += Self::advance(glyph, &metrics, size);
        }
        pen.path.finish()
    }

    /// The text, shortened with an ellipsis if it is wider than `room`.
    pub(crate) fn shortened(&self, text: &str, size: f64, room: f64) -> String {
        if self.width(text, size) <= room {
            return text.to_string();
        }
        let metrics = self.metrics(size);
        let mut left = room - self.width("…", size);
        let kept: String = text
            .chars()
            .take_while(|c| {
                left -= f64::from(Self::advance(self.glyph(*c), &metrics, size));
                left >= 0.0
            })
            .collect();
        format!("{}…", kept.trim_end())
    }

    /// The text in at most `most` lines, broken at blanks; what does not fit is shortened.
    pub(crate) fn lines(&self, text: &str, size: f64, room: f64, most: usize) -> Vec<String> {
        let mut out: Vec<String> = Vec::new();
        for word in text.split_whitespace() {
            let full = out.len() >= most;
            match out.last_mut() {
                Some(line) if full || self.width(&format!("{line} {word}"), size) <= room => {
                    line.push(' ');
                    line.push_str(word);
                }
                _ => out.push(word.to_string()),
            }
        }
        out.iter().map(|line| self.shortened(line, size, room)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_text_can_be_drawn() {
        let font = Font::new().expect("the font");
        for text in ["", " ", "née Ωμέγα Ёж", "名前 \u{1f642}\u{0}\u{202e}", "±−·…–"] {
            let wide = font.width(text, 16.0);
            assert!(wide.is_finite() && wide >= 0.0);
            let _ = font.path(text, 16.0, 0.0, 0.0);
        }
        assert!(
            font.path("名", 16.0, 0.0, 20.0).is_some(),
            "a box for what the font lacks"
        );
        for c in "±−·…–äß".chars() {
            assert!(font.glyph(c).is_some(), "{c}");
        }
    }

    #[test]
    fn shortened_and_broken_lines_keep_to_their_room() {
        let font = Font::new().expect("the font");
        let text = "a rather long sentence on one finding, which needs more than a line or two in its column";
        for room in [60.0, 140.0, 300.0] {
            assert!(font.width(&font.shortened(text, 16.0, room), 16.0) <= room);
            let lines = font.lines(text, 16.0, room, 2);
            assert!(
                lines.len() <= 2 && lines.iter().all(|l| font.width(l, 16.0) <= room),
                "{lines:?}"
            );
        }
        assert_eq!(font.lines("two words", 16.0, 1000.0, 2), ["two words"]);
    }
}
