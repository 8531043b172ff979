//! Text: the shipped font's glyphs laid side by side.
//!
//! Font: Ubuntu Light (Ubuntu Font Licence 1.0), from the crate `epaint_default_fonts`, which holds the licence texts.
//! Limits: left to right only, no kerning, no ligatures; a character that the font lacks shows as an empty box.

use std::collections::HashMap;
use std::sync::{Arc, LazyLock, Mutex, PoisonError};

use skrifa::instance::{LocationRef, Size};
use skrifa::outline::{DrawSettings, OutlineGlyphCollection};
use skrifa::{FontRef, GlyphId, MetadataProvider as _, charmap::Charmap};

use super::glyph::{BOX, Chains, Glyph};
use crate::error::{Error, Result};

const FONT: &[u8] = epaint_default_fonts::UBUNTU_LIGHT;

/// Glyphs met so far: outlines do not depend on the size, and the pictures of a check share them.
static MET: LazyLock<Mutex<HashMap<char, Arc<Glyph>>>> = LazyLock::new(Mutex::default);

/// The shipped font.
pub(crate) struct Font {
    font: FontRef<'static>,
    charmap: Charmap<'static>,
    outlines: OutlineGlyphCollection<'static>,
    units: f32,
}

impl Font {
    pub(crate) fn new() -> Result<Self> {
        let font =
            FontRef::new(FONT).map_err(|e| Error::new(format!("the shipped font cannot be read ({e})")))?;
        let metrics = font.metrics(Size::unscaled(), LocationRef::default());
        Ok(Self {
            charmap: font.charmap(),
            outlines: font.outline_glyphs(),
            units: f32::from(metrics.units_per_em),
            font,
        })
    }

    /// The number of a character's glyph, if the font has one that says something.
    fn number(&self, c: char) -> Option<GlyphId> {
        self.charmap.map(c).filter(|g| *g != GlyphId::NOTDEF)
    }

    /// The glyph of a character; a box if the font has none.
    pub(super) fn glyph(&self, c: char) -> Arc<Glyph> {
        let mut met = MET.lock().unwrap_or_else(PoisonError::into_inner);
        Arc::clone(met.entry(c).or_insert_with(|| Arc::new(self.read(c))))
    }

    fn read(&self, c: char) -> Glyph {
        let number = self.number(c);
        let (size, place) = (Size::unscaled(), LocationRef::default());
        let advance = number
            .and_then(|g| self.font.glyph_metrics(size, place).advance_width(g))
            .map_or(BOX[0], |a| a / self.units);
        let Some(outline) = number.and_then(|g| self.outlines.get(g)) else {
            return Chains::missing().into_glyph(advance);
        };
        let mut chains = Chains::new(self.units);
        // A glyph that cannot be drawn leaves its space empty.
        let _ = outline.draw(DrawSettings::unhinted(size, place), &mut chains);
        chains.into_glyph(advance)
    }

    /// Width of a text of a size, in the unit of the size.
    pub(crate) fn width(&self, text: &str, size: f64) -> f64 {
        text.chars()
            .map(|c| f64::from(self.glyph(c).advance) * size)
            .sum()
    }

    /// The text, shortened with an ellipsis if it is wider than `room`.
    pub(crate) fn shortened(&self, text: &str, size: f64, room: f64) -> String {
        if self.width(text, size) <= room {
            return text.to_string();
        }
        let mut left = room - self.width("…", size);
        let kept: String = text
            .chars()
            .take_while(|c| {
                left -= f64::from(self.glyph(*c).advance) * size;
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
    use crate::report::overlay::canvas::Weight;
    use crate::report::overlay::glyph::Cover;

    #[test]
    fn every_text_can_be_drawn() {
        let font = Font::new().expect("the font");
        for text in ["", " ", "née Ωμέγα Ёж", "名前 \u{1f642}\u{0}\u{202e}", "±−·…–"] {
            let wide = font.width(text, 16.0);
            assert!(wide.is_finite() && wide >= 0.0);
        }
        let covers = |c: char| {
            font.glyph(c)
                .cover(Weight::Book, 16.0, [0.0; 2], &mut Cover::default())
        };
        assert!(covers('名'), "a box for what the font lacks");
        assert!(covers('a') && !covers(' '));
        for c in "±−·…–äß".chars() {
            assert!(font.number(c).is_some(), "{c}");
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
