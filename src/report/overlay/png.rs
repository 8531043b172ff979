//! The picture as PNG: sRGB said, physical size said, compressed fast; with a palette where few colours allow it.

use png::{
    BitDepth, ColorType, Compression, Encoder, EncodingError, Filter, PixelDimensions, SrgbRenderingIntent,
    Unit,
};
use tiny_skia::Pixmap;

use crate::error::{Error, Result};
use crate::report::look::POINTS_PER_METRE;

/// Most colours of a palette (PNG, 11.2.2).
const PALETTE: usize = 256;
/// Slots of the table that finds a colour again: a power of two well above [`PALETTE`].
const SLOTS: usize = 4096;

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
    let data = if let Some((palette, indices)) = few_colours(rgba) {
        encoder.set_color(ColorType::Indexed);
        encoder.set_palette(palette);
        encoder.set_filter(Filter::NoFilter);
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

/// Palette and indices of a picture of few colours, in the order in which they first appear.
fn few_colours(rgba: &[u8]) -> Option<(Vec<u8>, Vec<u8>)> {
    let mut slots: Vec<Option<(u32, u8)>> = vec![None; SLOTS];
    let mut palette: Vec<u8> = Vec::with_capacity(3 * PALETTE);
    let mut indices = Vec::with_capacity(rgba.len() / 4);
    let mut last = (u32::MAX, 0);
    for p in rgba.chunks_exact(4) {
        let colour = u32::from_be_bytes([0, p[0], p[1], p[2]]);
        if colour != last.0 {
            // Fibonacci hashing (Knuth, The Art of Computer Programming 3, 6.4), then the next free slot.
            let mut slot = (colour.wrapping_mul(2_654_435_769) >> 20) as usize % SLOTS;
            last = loop {
                match slots[slot] {
                    Some(known) if known.0 == colour => break known,
                    Some(_) => slot = (slot + 1) % SLOTS,
                    None => {
                        let index = u8::try_from(palette.len() / 3).ok()?;
                        palette.extend_from_slice(&p[..3]);
                        slots[slot] = Some((colour, index));
                        break (colour, index);
                    }
                }
            };
        }
        indices.push(last.1);
    }
    Some((palette, indices))
}
