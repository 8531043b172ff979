//! The picture as PNG: sRGB said, physical size said, compressed fast; with a palette where its colours allow it.

use png::{
    BitDepth, ColorType, Compression, Encoder, EncodingError, Filter, PixelDimensions, SrgbRenderingIntent,
    Unit,
};
use tiny_skia::Pixmap;

use crate::error::{Error, Result};
use crate::report::look::POINTS_PER_METRE;

/// Most colours of a palette (PNG, 11.2.2).
const PALETTE: usize = 256;
/// Different colours that are counted at most: soft edges make some thousand.
const MOST_COUNTED: usize = 12_000;
/// Slots of the table that finds a colour again: a power of two well above [`MOST_COUNTED`].
const SLOTS: usize = 1 << 15;
/// Colours that differ only in so many of their lowest bits pass for each other at a soft edge: less than eight of 255.
const ALIKE_BITS: u32 = 3;
/// Pixels that are looked at together.
const TOGETHER: usize = 16;

/// Encodes an opaque picture with `unit` pixels a point.
pub(crate) fn encode(pixmap: &Pixmap, unit: f64) -> Result<Vec<u8>> {
    let per_metre = (POINTS_PER_METRE * unit).round() as u32;
    let failed = |e: EncodingError| Error::new(format!("the overlay cannot be encoded ({e})"));
    let rgba = pixmap.data();
    let mut out = Vec::with_capacity(rgba.len() / 8);
    let mut encoder = Encoder::new(&mut out, pixmap.width(), pixmap.height());
    encoder.set_depth(BitDepth::Eight);
    encoder.set_compression(Compression::Fast);
    encoder.set_source_srgb(SrgbRenderingIntent::Perceptual);
    encoder.set_pixel_dims(Some(PixelDimensions {
        xppu: per_metre,
        yppu: per_metre,
        unit: Unit::Meter,
    }));
    let data = if let Some((palette, indices)) = indexed(rgba) {
        encoder.set_color(ColorType::Indexed);
        encoder.set_palette(palette);
        // Most rows are much like the one above: what is left is zeros, which this compression is fastest with.
        encoder.set_filter(Filter::Up);
        indices
    } else {
        encoder.set_color(ColorType::Rgb);
        rgba.chunks_exact(4).flat_map(|p| [p[0], p[1], p[2]]).collect()
    };
    let mut writer = encoder.write_header().map_err(failed)?;
    writer.write_image_data(&data).map_err(failed)?;
    writer.finish().map_err(failed)?;
    Ok(out)
}

/// Encodes an opaque picture of soft shades, which a palette would break into steps; `said` are texts that it carries,
/// besides who made it.
pub(crate) fn encode_smooth(pixmap: &Pixmap, unit: f64, said: &[(&str, String)]) -> Result<Vec<u8>> {
    let per_metre = (POINTS_PER_METRE * unit).round() as u32;
    let failed = |e: EncodingError| Error::new(format!("the picture cannot be encoded ({e})"));
    let data: Vec<u8> = pixmap
        .data()
        .chunks_exact(4)
        .flat_map(|p| [p[0], p[1], p[2]])
        .collect();
    let mut out = Vec::with_capacity(data.len() / 4);
    let mut encoder = Encoder::new(&mut out, pixmap.width(), pixmap.height());
    encoder.set_depth(BitDepth::Eight);
    encoder.set_color(ColorType::Rgb);
    encoder.set_compression(Compression::Balanced);
    encoder.set_source_srgb(SrgbRenderingIntent::Perceptual);
    encoder.set_pixel_dims(Some(PixelDimensions {
        xppu: per_metre,
        yppu: per_metre,
        unit: Unit::Meter,
    }));
    let by = ("Software", "drawntrue".to_string());
    for (name, text) in std::iter::once(&by).chain(said) {
        encoder
            .add_text_chunk((*name).to_string(), text.clone())
            .map_err(failed)?;
    }
    let mut writer = encoder.write_header().map_err(failed)?;
    writer.write_image_data(&data).map_err(failed)?;
    writer.finish().map_err(failed)?;
    Ok(out)
}

/// Palette and indices of a picture; `None` if it has too many colours.
fn indexed(rgba: &[u8]) -> Option<(Vec<u8>, Vec<u8>)> {
    let mut colours = Colours::default();
    // Number of the colour and length of each run.
    let mut runs: Vec<(u16, u32)> = Vec::new();
    each_run(rgba, |colour, length| {
        runs.push((colours.count(colour, length), length as u32));
    });
    let palette = colours.choose()?;
    let mut indices = Vec::with_capacity(rgba.len() / 4);
    for (number, length) in runs {
        let place = colours.places[usize::from(number)];
        indices.resize(indices.len() + length as usize, place);
    }
    Some((palette, indices))
}

/// Calls `see` with each run of pixels of one colour and its length; a run may come in pieces.
fn each_run(rgba: &[u8], mut see: impl FnMut(u32, usize)) {
    let colour = |p: &[u8]| u32::from_be_bytes([0, p[0], p[1], p[2]]);
    let (mut last, mut length) = (u32::MAX, 0);
    for part in rgba.chunks(4 * TOGETHER) {
        if part[4..] == part[..part.len() - 4] && colour(part) == last {
            length += part.len() / 4;
            continue;
        }
        for p in part.chunks_exact(4) {
            let c = colour(p);
            if c != last {
                if length > 0 {
                    see(last, length);
                }
                (last, length) = (c, 0);
            }
            length += 1;
        }
    }
    if length > 0 {
        see(last, length);
    }
}

/// The colours of a picture, how often each occurs, and its place in the palette.
#[derive(Default)]
struct Colours {
    /// Colour and number in `known`, by hash; `u32::MAX` is free.
    slots: Vec<(u32, u32)>,
    known: Vec<(u32, usize)>,
    places: Vec<u8>,
}

impl Colours {
    /// The slot of a colour, or the free one where it belongs.
    fn slot(&self, colour: u32) -> usize {
        // Fibonacci hashing (Knuth, The Art of Computer Programming 3, 6.4), then the next free slot.
        let mut slot = (colour.wrapping_mul(2_654_435_769) >> 8) as usize % SLOTS;
        while self.slots[slot].1 != u32::MAX && self.slots[slot].0 != colour {
            slot = (slot + 1) % SLOTS;
        }
        slot
    }

    /// Counts a colour, whose number it returns.
    fn count(&mut self, colour: u32, times: usize) -> u16 {
        self.slots.resize(SLOTS, (0, u32::MAX));
        // A picture of so many colours gets no palette: no need to know them all.
        if self.known.len() > MOST_COUNTED {
            return 0;
        }
        let slot = self.slot(colour);
        if self.slots[slot].1 == u32::MAX {
            self.slots[slot] = (colour, self.known.len() as u32);
            self.known.push((colour, 0));
        }
        let number = self.slots[slot].1;
        self.known[number as usize].1 += times;
        number as u16
    }

    /// Chooses the palette, the most frequent colour first, and gives every colour its place there. Frequent colours
    /// keep themselves; of those that are alike to within [`ALIKE_BITS`] the most frequent stands for the rest, which are
    /// the soft edges of lines and letters.
    fn choose(&mut self) -> Option<Vec<u8>> {
        if self.known.len() > MOST_COUNTED {
            return None;
        }
        let mut order: Vec<usize> = (0..self.known.len()).collect();
        order.sort_unstable_by_key(|&i| (std::cmp::Reverse(self.known[i].1), self.known[i].0));
        let alike = |colour: u32| {
            let [_, r, g, b] = colour.to_be_bytes().map(|v| usize::from(v >> ALIKE_BITS));
            (r << (8 - ALIKE_BITS) | g) << (8 - ALIKE_BITS) | b
        };
        // Who stands for each group of alike colours: the first of it.
        let mut leads = vec![u32::MAX; 1 << (3 * (8 - ALIKE_BITS))];
        let mut groups = 0;
        for &i in &order {
            let lead = &mut leads[alike(self.known[i].0)];
            if *lead == u32::MAX {
                *lead = i as u32;
                groups += 1;
            }
        }
        let mut room = PALETTE.checked_sub(groups)?;
        let mut palette = Vec::with_capacity(3 * PALETTE);
        self.places = vec![0; self.known.len()];
        for &i in &order {
            let (colour, _) = self.known[i];
            let lead = leads[alike(colour)] as usize;
            if lead != i {
                if room == 0 {
                    self.places[i] = self.places[lead];
                    continue;
                }
                room -= 1;
            }
            self.places[i] = (palette.len() / 3) as u8;
            palette.extend_from_slice(&colour.to_be_bytes()[1..]);
        }
        Some(palette)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(rgba: &[u8]) -> Option<(usize, Vec<[u8; 3]>)> {
        let (palette, indices) = indexed(rgba)?;
        let colour = |i: &u8| std::array::from_fn(|k| palette[3 * usize::from(*i) + k]);
        Some((palette.len() / 3, indices.iter().map(colour).collect()))
    }

    #[test]
    fn few_colours_come_back_as_they_are() {
        let rgba: Vec<u8> = (0..256u32 * 40)
            .flat_map(|i| [(i / 40) as u8, 7, 9, 255])
            .collect();
        let (count, colours) = shown(&rgba).expect("a palette");
        assert_eq!(count, 256);
        assert!(rgba.chunks(4).zip(&colours).all(|(p, c)| p[..3] == c[..]));
    }

    /// A soft ramp of 1,800 colours on paper: the paper stays, the rest is off by less than eight of 255.
    #[test]
    fn soft_edges_are_off_by_no_more_than_is_seen() {
        let ramp = (0..1800u32).flat_map(|i| [(i / 8) as u8, (i / 8) as u8, (i / 8 + i % 8) as u8, 255]);
        let rgba: Vec<u8> = std::iter::repeat_n([253, 253, 251, 255], 5000)
            .flatten()
            .chain(ramp)
            .collect();
        let (count, colours) = shown(&rgba).expect("a palette");
        assert_eq!((count, colours[0]), (PALETTE, [253, 253, 251]));
        let off = rgba
            .chunks(4)
            .zip(&colours)
            .flat_map(|(p, c)| (0..3).map(move |k| p[k].abs_diff(c[k])));
        assert!(off.max().is_some_and(|off| (1..8).contains(&off)));
    }

    #[test]
    fn many_colours_have_no_palette() {
        let rgba: Vec<u8> = (0..60_000u32)
            .flat_map(|i| [i as u8, (i >> 8) as u8, (i * 7) as u8, 255])
            .collect();
        assert!(shown(&rgba).is_none());
    }
}
