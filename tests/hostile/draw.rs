//! Drawings made of bytes: each few bytes are a stroke, a disc, a patch or grain, so that a mutation of the bytes is
//! another drawing and not noise only.

use drawntrue::sheet::picture::{Channels, Picture};

/// Bytes before the strokes.
pub(crate) const HEADER: usize = 18;
/// Bytes of a stroke.
pub(crate) const STROKE: usize = 7;
/// Sides of the picture, pixels: least, and what a byte may add.
const SIDES: (usize, usize) = (32, 255);

/// A drawing. The first bytes: width, height, channels, paper; then (up to [`HEADER`]) what the overrules are made of,
/// see `holds::overrules`; then strokes.
pub(crate) fn drawn(bytes: &[u8]) -> Picture {
    let at = |i: usize| bytes.get(i).copied().unwrap_or(0);
    let (w, h) = (
        SIDES.0 + usize::from(at(0)).min(SIDES.1),
        SIDES.0 + usize::from(at(1)).min(SIDES.1),
    );
    let channels =
        [Channels::Grey, Channels::GreyAlpha, Channels::Rgb, Channels::Rgba][usize::from(at(2) % 4)];
    let n = channels.count();
    let mut data = vec![at(3); w * h * n];
    for stroke in bytes.get(HEADER..).unwrap_or_default().chunks_exact(STROKE) {
        put(&mut data, (w, h, n), stroke);
    }
    Picture::new(w, h, channels, data)
}

fn put(data: &mut [u8], (w, h, n): (usize, usize, usize), stroke: &[u8]) {
    let [kind, x0, y0, x1, y1, size, tone] = stroke else {
        return;
    };
    let (x0, y0) = (f64::from(*x0), f64::from(*y0));
    let (x1, y1) = (f64::from(*x1), f64::from(*y1));
    let size = f64::from(*size) / 8.0;
    let mut set = |x: usize, y: usize, strength: f64| {
        for (k, v) in data[(y * w + x) * n..][..n].iter_mut().enumerate() {
            // Colours differ a little from channel to channel, so that grey and colour both occur.
            let to = f64::from(tone.rotate_left(u32::from(*kind >> 5) * k as u32));
            *v = (f64::from(*v) + (to - f64::from(*v)) * strength) as u8;
        }
    };
    for y in 0..h {
        for x in 0..w {
            let (px, py) = (x as f64 + 0.5, y as f64 + 0.5);
            // Distance into the shape, pixels; coverage falls off over one pixel.
            let inside = match kind % 6 {
                0 | 1 => {
                    let (dx, dy) = (x1 - x0, y1 - y0);
                    let t =
                        (((px - x0) * dx + (py - y0) * dy) / (dx * dx + dy * dy).max(1e-9)).clamp(0.0, 1.0);
                    size / 4.0 - (px - x0 - t * dx).hypot(py - y0 - t * dy)
                }
                2 => {
                    let r = ((px - x0) / x1.max(1.0)).hypot((py - y0) / y1.max(1.0));
                    size / 8.0 + 0.5 - ((r - 1.0) * x1.min(y1).max(1.0)).abs()
                }
                3 => {
                    let r = ((px - x0) / x1.max(1.0)).hypot((py - y0) / y1.max(1.0));
                    (1.0 - r) * x1.min(y1).max(1.0)
                }
                4 => (px - x0.min(x1))
                    .min(x0.max(x1) - px)
                    .min(py - y0.min(y1))
                    .min(y0.max(y1) - py),
                _ => {
                    // Grain: a cheap hash of the place.
                    let mix = (x * 73_856_093) ^ (y * 19_349_663) ^ usize::from(*tone);
                    if (mix.wrapping_mul(2_654_435_761) >> 13) % 256 < usize::from(stroke[5]) {
                        1.0
                    } else {
                        0.0
                    }
                }
            };
            let coverage = (inside + 0.5).clamp(0.0, 1.0);
            let coverage = if kind % 6 == 5 && inside == 0.0 {
                0.0
            } else {
                coverage
            };
            if coverage > 0.0 {
                set(x, y, coverage);
            }
        }
    }
}
