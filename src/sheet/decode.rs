//! From an image file to an upright [`Picture`]: PNG, JPEG, TIFF, WebP, told by their content, not their name.
//!
//! Sixteen-bit channels are reduced to eight by their high byte, orientation tags are applied. Dimensions are
//! checked before any pixel is decoded, so that a small file cannot claim the memory of a huge one.

use std::io::Cursor;

use image::metadata::Orientation;
use image::{ColorType, DynamicImage, ImageDecoder, ImageError, ImageFormat, ImageReader, Limits};

use super::picture::{Channels, Picture};
use super::whole::{jpeg_is_whole, webp_is_whole};
use crate::caught::caught;
use crate::error::{Error, Result};

/// Largest picture that is decoded, in pixels: a 600 dpi scan of A2 is 139 megapixels.
pub const DEFAULT_MAX_PIXELS: u64 = 250_000_000;

/// Smallest side in pixels: below it no outline can be measured to a percent.
const MIN_SIDE: u32 = 32;

/// Bytes a decoder may hold beyond the picture itself, a pixel: 16-bit RGBA.
const DECODER_BYTES_PER_PIXEL: u64 = 8;

/// Decodes a picture.
///
/// # Errors
/// The bytes are no PNG, JPEG, TIFF or WebP, are damaged, or hold more than `max_pixels` pixels.
pub fn decode(bytes: &[u8], max_pixels: u64) -> Result<Picture> {
    if bytes.is_empty() {
        return Err(Error::new("the file is empty").advise("export the drawing again"));
    }
    // Decoders of hostile files have panicked before; a panic is one more way of being unreadable.
    caught(|| decode_inner(bytes, max_pixels)).unwrap_or_else(|| Err(damaged("the decoder gave up")))
}

fn damaged(what: &str) -> Error {
    Error::new(format!("the picture is damaged or of a rare kind: {what}"))
        .advise("save it again as an 8-bit PNG")
}

fn decode_inner(bytes: &[u8], max_pixels: u64) -> Result<Picture> {
    let reader = ImageReader::new(Cursor::new(bytes))
        .with_guessed_format()
        .map_err(|e| damaged(&e.to_string()))?;
    match reader.format() {
        Some(ImageFormat::Png | ImageFormat::Jpeg | ImageFormat::Tiff | ImageFormat::WebP) => {}
        _ => {
            return Err(Error::new("this is not a PNG, JPEG, TIFF or WebP picture")
                .advise("give the scanned or exported drawing in one of these formats"));
        }
    }
    let format = reader.format();
    let mut decoder = reader.into_decoder().map_err(|e| explain(&e))?;
    let (width, height) = decoder.dimensions();
    let pixels = u64::from(width) * u64::from(height);
    if pixels > max_pixels {
        return Err(Error::new(format!(
            "the picture has {width} × {height} = {pixels} pixels, more than the limit of {max_pixels}"
        ))
        .advise("scale it down, or raise the limit with --max-pixels"));
    }
    if width < MIN_SIDE || height < MIN_SIDE {
        return Err(
            Error::new(format!("the picture is only {width} × {height} pixels"))
                .advise("a figure needs some hundred pixels of height to be measured"),
        );
    }
    let whole = match format {
        Some(ImageFormat::Jpeg) => jpeg_is_whole(bytes),
        Some(ImageFormat::WebP) => webp_is_whole(bytes),
        _ => true,
    };
    if !whole {
        return Err(Error::new("the picture breaks off before its end").advise("copy or export it again"));
    }
    let mut limits = Limits::default();
    limits.max_alloc = Some(pixels * DECODER_BYTES_PER_PIXEL + (64 << 20));
    decoder.set_limits(limits).map_err(|e| explain(&e))?;
    let orientation = decoder.orientation().unwrap_or(Orientation::NoTransforms);
    let colour = decoder.color_type();
    let size =
        usize::try_from(decoder.total_bytes()).map_err(|_| damaged("it is too large for this machine"))?;
    let mut data = Vec::new();
    data.try_reserve_exact(size)
        .map_err(|_| Error::new("not enough memory for the picture").advise("scale it down"))?;
    data.resize(size, 0);
    decoder.read_image(&mut data).map_err(|e| explain(&e))?;

    let (channels, wide) = match colour {
        ColorType::L8 => (Channels::Grey, false),
        ColorType::La8 => (Channels::GreyAlpha, false),
        ColorType::Rgb8 => (Channels::Rgb, false),
        ColorType::Rgba8 => (Channels::Rgba, false),
        ColorType::L16 => (Channels::Grey, true),
        ColorType::La16 => (Channels::GreyAlpha, true),
        ColorType::Rgb16 => (Channels::Rgb, true),
        ColorType::Rgba16 => (Channels::Rgba, true),
        other => return Err(damaged(&format!("pixels of type {other:?}"))),
    };
    if wide {
        // Native-endian 16-bit values; the high byte is the 8-bit value.
        let high = usize::from(cfg!(target_endian = "little"));
        data = data.chunks_exact(2).map(|pair| pair[high]).collect();
    }
    let (w, h) = (width as usize, height as usize);
    if orientation == Orientation::NoTransforms {
        return Ok(Picture::new(w, h, channels, data));
    }
    orient(w, h, channels, data, orientation)
}

fn orient(
    w: usize,
    h: usize,
    channels: Channels,
    data: Vec<u8>,
    orientation: Orientation,
) -> Result<Picture> {
    let (w32, h32) = (w as u32, h as u32);
    let wrapped = match channels {
        Channels::Grey => image::GrayImage::from_raw(w32, h32, data).map(DynamicImage::ImageLuma8),
        Channels::GreyAlpha => image::GrayAlphaImage::from_raw(w32, h32, data).map(DynamicImage::ImageLumaA8),
        Channels::Rgb => image::RgbImage::from_raw(w32, h32, data).map(DynamicImage::ImageRgb8),
        Channels::Rgba => image::RgbaImage::from_raw(w32, h32, data).map(DynamicImage::ImageRgba8),
    };
    let mut picture = wrapped.ok_or_else(|| damaged("its data is shorter than its size says"))?;
    picture.apply_orientation(orientation);
    let (w, h) = (picture.width() as usize, picture.height() as usize);
    Ok(Picture::new(w, h, channels, picture.into_bytes()))
}

fn explain(error: &ImageError) -> Error {
    match error {
        ImageError::Limits(_) => {
            Error::new("decoding the picture would need too much memory").advise("scale it down")
        }
        ImageError::Unsupported(e) => damaged(&e.to_string()),
        other => {
            let text = other.to_string().replace('\n', " ");
            if text.contains("CRC error") {
                return Error::new("the picture was damaged on its way, a checksum of it is wrong")
                    .advise("copy or export it again");
            }
            Error::new(format!(
                "the picture cannot be decoded, it may be cut short: {text}"
            ))
            .advise("export it again")
        }
    }
}
