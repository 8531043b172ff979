//! The drawing of one view for the page: cut out, reduced to what a screen shows, its paper made white.
//!
//! The picture is not turned: the page lays it in place with a matrix, which costs nothing here and blurs nothing.
//! It is reduced by whole squares of pixels, averaged by light. It becomes a PNG with a palette; where that is large, as
//! photographs and grainy scans are, also a JPEG, and the smaller one is taken.

use image::codecs::jpeg::JpegEncoder;
use png::{BitDepth, ColorType, Compression, Encoder, Filter};

use super::palette::{Palette, cell, palette};
use crate::error::{Error, Result};
use crate::report::look::{DARK_GROUND, GRAIN};
use crate::report::overlay::{Light, Subject, encode_light, light_of};
use crate::sheet::picture::{Channels, Picture};
use crate::space::{Point, Upright};

/// Most rows of a picture: more than a screen has, so that there is something to zoom into.
const MOST_ROWS: f64 = 1400.0;
/// Most pixels of all pictures of a page, so that it stays below 3 MB.
const MOST_PIXELS: f64 = 2.6e6;
/// Paper around the figure, beside it and above and below, as shares of its height: captions stand below.
const AROUND: [f64; 2] = [0.04, 0.014];
/// Every so many pixels along the border of the cut one is looked at to find the ground's colour.
const GROUND_STEP: usize = 3;
/// From this size on a JPEG is tried: below it a page is small whatever its pictures are.
const LARGE: usize = 250_000;
/// Quality of the JPEG, 1 to 100: lines keep clean to the eye. By trial on drawn and photographed sheets.
const QUALITY: u8 = 80;
/// Pixels, or squares, that are looked at together: if they show one colour, they need no look each.
const TOGETHER: usize = 16;
/// Full light in sums: a square of 255 pixels a side does not overflow them.
const FULL: usize = 65_535;
/// Steps of light that are told apart: every byte has its own but the darkest few.
const LIGHTS: usize = 4096;
/// What is darker than the ground of a dark drawing by up to this factor is ground: the counterpart of [`GRAIN`].
const DARK_GRAIN: f32 = 1.3;

/// A picture and where it lies.
pub(super) struct Cut {
    /// `image/png` or `image/jpeg`.
    pub(super) kind: &'static str,
    /// The file.
    pub(super) bytes: Vec<u8>,
    /// Pixels across and down.
    pub(super) size: [usize; 2],
    /// From pixels of the cut to those of the upright picture: first pixel, and pixels a pixel.
    pub(super) origin: [usize; 2],
    pub(super) side: usize,
    /// The drawing is light on a dark ground; its ground has been made black.
    pub(super) dark: bool,
}

/// Columns and rows of a picture.
pub(super) type Cells = [std::ops::Range<usize>; 2];

/// How far the pictures of some views are reduced: pixels a side of a square, for each.
pub(super) fn sides(subjects: &[Subject<'_>]) -> Vec<usize> {
    let cuts: Vec<Option<Cells>> = subjects.iter().map(cut).collect();
    let pixels = |sides: &[usize]| -> f64 {
        let one = |(c, side): (&Option<Cells>, &usize)| {
            c.as_ref()
                .map_or(0.0, |[x, y]| (x.len() / side * (y.len() / side)) as f64)
        };
        cuts.iter().zip(sides).map(one).sum()
    };
    let mut most = MOST_ROWS;
    loop {
        let of = |c: &Option<Cells>| {
            c.as_ref()
                .map_or(1, |[_, y]| (y.len() as f64 / most).ceil().max(1.0) as usize)
        };
        let sides: Vec<usize> = cuts.iter().map(of).collect();
        if pixels(&sides) <= MOST_PIXELS {
            return sides;
        }
        most *= 0.9;
    }
}

/// Cuts out the drawing of a view. `None` where it lies nowhere.
///
/// # Errors
/// The picture cannot be encoded.
pub(super) fn picture(subject: &Subject<'_>, side: usize) -> Result<Option<Cut>> {
    let Some(cells) = cut(subject) else {
        return Ok(None);
    };
    let source = Source {
        picture: subject.picture,
        cells: cells.clone(),
        side,
        others: others(subject),
    };
    let ground = source.ground();
    let dark = luminance(ground) < DARK_GROUND;
    let even = Even::new(ground, dark);
    let size = cells.clone().map(|c| c.len().div_ceil(side));
    let grey = matches!(subject.picture.channels(), Channels::Grey);
    let (bytes, kind) = encoded(&source, &even, size, grey)?;
    Ok(Some(Cut {
        kind,
        bytes,
        size,
        origin: [cells[0].start, cells[1].start],
        side,
        dark,
    }))
}

/// Where the view's figure lies, with some paper around it.
pub(super) fn cut(subject: &Subject<'_>) -> Option<Cells> {
    let [x0, y0, x1, y1] = own(subject)?;
    let range = |from: f64, to: f64, share: f64, most: usize| {
        let around = share * (y1 - y0);
        let at = |v: f64| v.clamp(0.0, most as f64) as usize;
        at((from - around).floor())..at((to + around).ceil())
    };
    let cells = [
        range(x0, x1, AROUND[0], subject.picture.width()),
        range(y0, y1, AROUND[1], subject.picture.height()),
    ];
    (!cells[0].is_empty() && !cells[1].is_empty()).then_some(cells)
}

/// The box of the view's figure, upright pixels.
fn own(subject: &Subject<'_>) -> Option<[f64; 4]> {
    let name = &subject.report.views[subject.view].name;
    let views = subject.report.sheet.views.iter();
    views
        .filter(|v| v.sheet == subject.shown.image)
        .find(|v| v.name == *name)
        .map(|v| v.box_px)
        .filter(|b| b.iter().all(|v| v.is_finite()))
}

/// The boxes of the other figures of the same picture.
fn others(subject: &Subject<'_>) -> Vec<[f64; 4]> {
    let name = &subject.report.views[subject.view].name;
    let views = subject.report.sheet.views.iter();
    views
        .filter(|v| v.sheet == subject.shown.image && v.name != *name)
        .map(|v| v.box_px)
        .collect()
}

/// Where the pixels come from.
struct Source<'a> {
    picture: &'a Picture,
    cells: Cells,
    side: usize,
    others: Vec<[f64; 4]>,
}

impl Source<'_> {
    /// The median colour along the border of the cut: the paper.
    fn ground(&self) -> Light {
        let [xs, ys] = &self.cells;
        let (left, right, top, bottom) = (xs.start, xs.end - 1, ys.start, ys.end - 1);
        let level = xs
            .clone()
            .step_by(GROUND_STEP)
            .flat_map(|x| [(x, top), (x, bottom)]);
        let upright = ys
            .clone()
            .step_by(GROUND_STEP)
            .flat_map(|y| [(left, y), (right, y)]);
        let mut channels: [Vec<u8>; 3] = Default::default();
        for (x, y) in level.chain(upright) {
            if !self.is_others(x, y) {
                let seen = on_white(self.picture.rgba(x, y));
                (0..3).for_each(|k| channels[k].push(seen[k]));
            }
        }
        light_of(channels.map(|mut c| {
            let middle = c.len() / 2;
            if c.is_empty() {
                u8::MAX
            } else {
                *c.select_nth_unstable(middle).1
            }
        }))
    }

    fn is_others(&self, x: usize, y: usize) -> bool {
        let (x, y) = (x as f64 + 0.5, y as f64 + 0.5);
        self.others
            .iter()
            .any(|[x0, y0, x1, y1]| *x0 <= x && x <= *x1 && *y0 <= y && y <= *y1)
    }

    /// Hands on the cut's pixels, reduced, the ground made even, row by row: a colour and how many times it follows.
    fn pixels(&self, even: &Even, mut put: impl FnMut([u8; 3], usize)) {
        let [xs, ys] = &self.cells;
        let n = self.picture.channels().count();
        let stretch = TOGETHER * self.side * n;
        let width = xs.len() * n;
        let mut sums = [[0u32; 3]; TOGETHER];
        for from in ys.clone().step_by(self.side) {
            let rows = from..(from + self.side).min(ys.end);
            for start in (0..width).step_by(stretch) {
                let columns = xs.start * n + start..xs.start * n + (start + stretch).min(width);
                let part = |y: usize| &self.picture.row(y)[columns.clone()];
                let first = part(from);
                let squares = (first.len() / n).div_ceil(self.side);
                if one_colour(first, n) && rows.clone().skip(1).all(|y| part(y) == first) {
                    put(even.of_bytes(opaque(&first[..n])), squares);
                } else if self.side == 1 {
                    first
                        .chunks_exact(n)
                        .for_each(|p| put(even.of_bytes(opaque(p)), 1));
                } else {
                    sums.fill([0; 3]);
                    rows.clone()
                        .for_each(|y| even.add(&mut sums, part(y), self.side * n, n));
                    for (i, sum) in sums.iter().take(squares).enumerate() {
                        let pixels = self.side.min(first.len() / n - i * self.side) * rows.len();
                        put(even.of_light(sum.map(|v| v / pixels as u32)), 1);
                    }
                }
            }
        }
    }
}

/// Whether all pixels of some bytes are alike.
#[inline]
fn one_colour(bytes: &[u8], n: usize) -> bool {
    bytes[n..] == bytes[..bytes.len() - n]
}

/// A pixel of any channels, over white.
#[inline]
fn opaque(pixel: &[u8]) -> [u8; 3] {
    match *pixel {
        [v] => [v; 3],
        [r, g, b] => [r, g, b],
        [v, a] => on_white([v, v, v, a]),
        [r, g, b, a, ..] => on_white([r, g, b, a]),
        [] => [u8::MAX; 3],
    }
}

/// A colour over white.
#[inline]
fn on_white([r, g, b, a]: [u8; 4]) -> [u8; 3] {
    if a == u8::MAX {
        return [r, g, b];
    }
    let a = u32::from(a);
    [r, g, b].map(|v| ((u32::from(v) * a + 255 * (255 - a) + 127) / 255) as u8)
}

/// What each byte, and each light, of a channel becomes, so that the ground becomes white, or black where it is dark.
struct Even {
    bytes: [[u8; 256]; 3],
    lights: [[u8; LIGHTS]; 3],
    /// The light of a byte, in parts of [`FULL`].
    light: [u32; 256],
}

impl Even {
    fn new(ground: Light, dark: bool) -> Self {
        let evened = |light: f32, k: usize| {
            let evened = if dark {
                let floor = (DARK_GRAIN * ground[k]).min(0.5);
                ((light - floor) / (1.0 - floor)).max(0.0)
            } else {
                (light / (GRAIN * ground[k]).max(f32::EPSILON)).min(1.0)
            };
            encode_light([evened; 4])[0]
        };
        let light: [f32; 256] = std::array::from_fn(|v| light_of([v as u8; 3])[0]);
        let step = |v: usize| v as f32 / (LIGHTS - 1) as f32;
        Self {
            bytes: std::array::from_fn(|k| light.map(|v| evened(v, k))),
            lights: std::array::from_fn(|k| std::array::from_fn(|v| evened(step(v), k))),
            light: light.map(|v| (v * FULL as f32 + 0.5) as u32),
        }
    }

    /// Adds the light of some pixels, `square` bytes of them to each sum.
    fn add(&self, sums: &mut [[u32; 3]], bytes: &[u8], square: usize, n: usize) {
        for (sum, square) in sums.iter_mut().zip(bytes.chunks(square)) {
            if n == 1 {
                let light: u32 = square.iter().map(|v| self.light[usize::from(*v)]).sum();
                *sum = sum.map(|v| v + light);
            } else {
                for p in square.chunks_exact(n) {
                    let light = self.light(opaque(p));
                    *sum = std::array::from_fn(|k| sum[k] + light[k]);
                }
            }
        }
    }

    #[inline]
    fn light(&self, colour: [u8; 3]) -> [u32; 3] {
        colour.map(|v| self.light[usize::from(v)])
    }

    #[inline]
    fn of_bytes(&self, colour: [u8; 3]) -> [u8; 3] {
        std::array::from_fn(|k| self.bytes[k][usize::from(colour[k])])
    }

    #[inline]
    fn of_light(&self, light: [u32; 3]) -> [u8; 3] {
        std::array::from_fn(|k| self.lights[k][(light[k] as usize * (LIGHTS - 1) + FULL / 2) / FULL])
    }
}

/// The picture as a file, whichever is smaller.
fn encoded(
    source: &Source<'_>,
    even: &Even,
    [width, height]: [usize; 2],
    grey: bool,
) -> Result<(Vec<u8>, &'static str)> {
    let mut cells: Vec<u16> = Vec::with_capacity(width * height);
    source.pixels(even, |colour, times| {
        cells.resize(cells.len() + times, cell(colour));
    });
    let Palette { colours, indices } = palette(&cells);
    let failed =
        |e: &dyn std::fmt::Display| Error::new(format!("the drawing cannot be put into the page ({e})"));
    let mut out = Vec::with_capacity(cells.len() / 4);
    let mut encoder = Encoder::new(&mut out, width as u32, height as u32);
    encoder.set_color(ColorType::Indexed);
    encoder.set_depth(BitDepth::Eight);
    encoder.set_palette(colours);
    // The first colour is the paper: the page has its own.
    encoder.set_trns(vec![0u8]);
    encoder.set_compression(Compression::Fast);
    // Most rows are much like the one above: what is left is zeros, which this compression is fastest with.
    encoder.set_filter(Filter::Up);
    let mut writer = encoder.write_header().map_err(|e| failed(&e))?;
    writer.write_image_data(&indices).map_err(|e| failed(&e))?;
    writer.finish().map_err(|e| failed(&e))?;
    if out.len() < LARGE {
        return Ok((out, "image/png"));
    }
    let (channels, colours) = if grey {
        (1, image::ExtendedColorType::L8)
    } else {
        (3, image::ExtendedColorType::Rgb8)
    };
    let mut bytes = Vec::with_capacity(cells.len() * channels);
    source.pixels(even, |colour, times| {
        (0..times).for_each(|_| bytes.extend_from_slice(&colour[..channels]));
    });
    let mut photo = Vec::with_capacity(LARGE);
    let encoder = JpegEncoder::new_with_quality(&mut photo, QUALITY);
    let written = image::ImageEncoder::write_image(encoder, &bytes, width as u32, height as u32, colours);
    // What a JPEG cannot hold, for its size, stays a PNG.
    Ok(match written {
        Ok(()) if photo.len() < out.len() => (photo, "image/jpeg"),
        _ => (out, "image/png"),
    })
}

fn luminance(light: Light) -> f32 {
    // Weights of Rec. 709, as in WCAG 2.2.
    0.2126 * light[0] + 0.7152 * light[1] + 0.0722 * light[2]
}

/// The matrix that lays the cut's pixels into a view: `[a, b, c, d, e, f]` of x' = a x + c y + e, y' = b x + d y + f, to
/// steps right and down from the view's upper left corner.
pub(super) fn matrix(cut: &Cut, subject: &Subject<'_>, steps: super::path::Steps) -> [f64; 6] {
    let place = |i: f64, j: f64| {
        let [x, y] = [(cut.origin[0], i), (cut.origin[1], j)].map(|(o, k)| o as f64 + k * cut.side as f64);
        let level = subject.reading.levelling.level(Point::<Upright>::new(x, y));
        let p = subject.shown.placed.placement.to_view(level);
        (
            (p.x - steps.origin.0) / steps.step,
            (steps.origin.1 - p.y) / steps.step,
        )
    };
    let (zero, right, down) = (place(0.0, 0.0), place(1.0, 0.0), place(0.0, 1.0));
    [
        right.0 - zero.0,
        right.1 - zero.1,
        down.0 - zero.0,
        down.1 - zero.1,
        zero.0,
        zero.1,
    ]
}
