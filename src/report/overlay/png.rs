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
pub(crate) fn encode(pixmap: Pixmap, unit: f64) -> Result<Vec<u8>> {
    encode_and_keep(pixmap, unit).map(|(png, _)| png)
}

/// The same, and what is left of the picture's memory. It takes what is handed to the encoder: a picture has some
/// megabytes, and as many new ones take longer to come by than to fill.
pub(super) fn encode_and_keep(pixmap: Pixmap, unit: f64) -> Result<(Vec<u8>, Vec<u8>)> {
    let per_metre = (POINTS_PER_METRE * unit).round() as u32;
    let failed = |e: EncodingError| Error::new(format!("the overlay cannot be encoded ({e})"));
    let (width, height) = (pixmap.width(), pixmap.height());
    let mut data = pixmap.take();
    let mut out = Vec::with_capacity(data.len() / 8);
    let mut encoder = Encoder::new(&mut out, width, height);
    encoder.set_depth(BitDepth::Eight);
    encoder.set_compression(Compression::Fast);
    encoder.set_source_srgb(SrgbRenderingIntent::Perceptual);
    encoder.set_pixel_dims(Some(PixelDimensions {
        xppu: per_metre,
        yppu: per_metre,
        unit: Unit::Meter,
    }));
    if let Some(palette) = index(&mut data) {
        encoder.set_color(ColorType::Indexed);
        encoder.set_palette(palette);
        // Most rows are much like the one above: what is left is zeros, which this compression is fastest with.
        encoder.set_filter(Filter::Up);
    } else {
        encoder.set_color(ColorType::Rgb);
        let pixels = data.len() / 4;
        for i in 0..pixels {
            data.copy_within(4 * i..4 * i + 3, 3 * i);
        }
        data.truncate(3 * pixels);
    }
    let mut writer = encoder.write_header().map_err(failed)?;
    writer.write_image_data(&data).map_err(failed)?;
    writer.finish().map_err(failed)?;
    Ok((out, data))
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

/// Makes indices of a picture's pixels, and gives the palette; `None`, and the pixels are left, if it has too many colours.
fn index(data: &mut Vec<u8>) -> Option<Vec<u8>> {
    let mut colours = Colours::new();
    // Number of the colour and length of each run.
    let mut runs: Vec<(u16, u32)> = Vec::new();
    each_run(data, |colour, length| {
        runs.push((colours.count(colour, length), length as u32));
    });
    let palette = colours.choose()?;
    let mut at = 0;
    for (number, length) in runs {
        let end = at + length as usize;
        data[at..end].fill(colours.places[usize::from(number)]);
        at = end;
    }
    data.truncate(at);
    Some(palette)
}

/// Calls `see` with each run of pixels of one colour and its length; a run may come in pieces.
fn each_run(rgba: &[u8], mut see: impl FnMut(u32, usize)) {
    let (pixels, _) = rgba.as_chunks::<4>();
    let Some(first) = pixels.first() else { return };
    // Compared as they lie in memory.
    let (mut last, mut length) = (u32::from_ne_bytes(*first), 0);
    let mut ended = |pixel: u32, length: usize| {
        let [r, g, b, _] = pixel.to_ne_bytes();
        see(u32::from_be_bytes([0, r, g, b]), length);
    };
    let (parts, rest) = pixels.as_chunks::<TOGETHER>();
    for part in parts {
        let differs = |off, p: &[u8; 4]| off | (u32::from_ne_bytes(*p) ^ last);
        if part.iter().fold(0, differs) == 0 {
            length += TOGETHER;
            continue;
        }
        for p in part {
            let pixel = u32::from_ne_bytes(*p);
            if pixel != last {
                ended(last, length);
                (last, length) = (pixel, 0);
            }
            length += 1;
        }
    }
    ended(last, length);
    for p in rest {
        ended(u32::from_ne_bytes(*p), 1);
    }
}

/// The colours of a picture, how often each occurs, and its place in the palette.
struct Colours {
    /// Colour and number in `known`, by hash; `u32::MAX` is free.
    slots: Vec<(u32, u32)>,
    known: Vec<(u32, usize)>,
    places: Vec<u8>,
}

impl Colours {
    fn new() -> Self {
        Self {
            slots: vec![(0, u32::MAX); SLOTS],
            known: Vec::new(),
            places: Vec::new(),
        }
    }

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
        let mut indices = rgba.to_vec();
        let palette = index(&mut indices)?;
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
