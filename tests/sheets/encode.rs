//! From the canvas to the bytes of a file, in the kinds that studios send.

use std::io::Cursor;

use image::codecs::jpeg::JpegEncoder;
use image::{DynamicImage, ExtendedColorType, ImageFormat};

use super::canvas::Canvas;

#[derive(Clone, Copy)]
pub(crate) enum Kind {
    Rgb,
    Grey,
    Grey16,
    Rgb16,
    /// Sixteen tones by index.
    Palette,
    /// With the canvas's opacity.
    Rgba,
    /// Quality.
    Jpeg(u8),
    GreyJpeg(u8),
    Tiff,
    Webp,
}

fn byte(v: f32) -> u8 {
    v.round().clamp(0.0, 255.0) as u8
}

fn luma(p: &[f32; 3]) -> f32 {
    0.299 * p[0] + 0.587 * p[1] + 0.114 * p[2]
}

pub(crate) fn encode(canvas: &Canvas, kind: Kind) -> Vec<u8> {
    let (w, h) = (canvas.width as u32, canvas.height as u32);
    let mut out = Cursor::new(Vec::new());
    let rgb = || canvas.rgb.iter().flat_map(|p| p.map(byte)).collect::<Vec<u8>>();
    let grey = || canvas.rgb.iter().map(|p| byte(luma(p))).collect::<Vec<u8>>();
    let rgb8 = || {
        image::RgbImage::from_raw(w, h, rgb())
            .map(DynamicImage::ImageRgb8)
            .expect("a whole picture")
    };
    let done = match kind {
        Kind::Rgb => rgb8().write_to(&mut out, ImageFormat::Png),
        Kind::Tiff => rgb8().write_to(&mut out, ImageFormat::Tiff),
        Kind::Webp => rgb8().write_to(&mut out, ImageFormat::WebP),
        Kind::Jpeg(q) => JpegEncoder::new_with_quality(&mut out, q).encode_image(&rgb8()),
        Kind::GreyJpeg(q) => {
            JpegEncoder::new_with_quality(&mut out, q).encode(&grey(), w, h, ExtendedColorType::L8)
        }
        Kind::Grey => image::GrayImage::from_raw(w, h, grey())
            .map(DynamicImage::ImageLuma8)
            .expect("a whole picture")
            .write_to(&mut out, ImageFormat::Png),
        Kind::Grey16 => {
            let data = canvas
                .rgb
                .iter()
                .map(|p| (luma(p) * 257.0).round().clamp(0.0, 65535.0) as u16)
                .collect();
            image::ImageBuffer::<image::Luma<u16>, Vec<u16>>::from_raw(w, h, data)
                .map(DynamicImage::ImageLuma16)
                .expect("a whole picture")
                .write_to(&mut out, ImageFormat::Png)
        }
        Kind::Rgb16 => {
            let wide = |v: f32| (v * 257.0).round().clamp(0.0, 65535.0) as u16;
            let data = canvas.rgb.iter().flat_map(|p| p.map(wide)).collect();
            image::ImageBuffer::<image::Rgb<u16>, Vec<u16>>::from_raw(w, h, data)
                .map(DynamicImage::ImageRgb16)
                .expect("a whole picture")
                .write_to(&mut out, ImageFormat::Png)
        }
        Kind::Rgba => {
            let alpha = canvas.alpha.as_ref().expect("transparent paper");
            let data = canvas
                .rgb
                .iter()
                .zip(alpha)
                .flat_map(|(p, a)| [byte(p[0]), byte(p[1]), byte(p[2]), byte(a * 255.0)])
                .collect();
            image::RgbaImage::from_raw(w, h, data)
                .map(DynamicImage::ImageRgba8)
                .expect("a whole picture")
                .write_to(&mut out, ImageFormat::Png)
        }
        Kind::Palette => return palette(canvas),
    };
    done.expect("an encoder that works");
    out.into_inner()
}

/// Sixteen even tones from black to white: what a fax or a cheap scanner makes of a line drawing.
fn palette(canvas: &Canvas) -> Vec<u8> {
    const TONES: u8 = 16;
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, canvas.width as u32, canvas.height as u32);
    encoder.set_color(png::ColorType::Indexed);
    encoder.set_depth(png::BitDepth::Eight);
    let step = 255 / (TONES - 1);
    encoder.set_palette((0..TONES).flat_map(|i| [i * step; 3]).collect::<Vec<u8>>());
    let data: Vec<u8> = canvas
        .rgb
        .iter()
        .map(|p| byte(luma(p) / f32::from(step)))
        .collect();
    let mut writer = encoder.write_header().expect("a header");
    writer.write_image_data(&data).expect("picture data");
    writer.finish().expect("an end");
    bytes
}
