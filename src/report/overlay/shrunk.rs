//! The picture in linear light, averaged over whole squares of pixels, so that thin lines survive a reduction.
//!
//! Squares of one pixel are read from the picture itself. Stretches of one colour, which is most of a sheet, are added
//! up at once.

use rayon::prelude::*;

use super::Subject;
use super::light::{Light, decode, mix, table};
use crate::report::look::PAPER;
use crate::sheet::picture::{Channels, Picture};

/// Full light in the means.
const FULL: f32 = 65_535.0;
/// Squares that are looked at together: if they show one colour, they need no adding up.
const TOGETHER: usize = 16;
/// Squares across and down a tile: a few pixels more than a line is wide, and fewer down, as they are asked row by row.
pub(super) const TILE: [usize; 2] = [8, 4];

/// A picture averaged in squares.
pub(super) struct Shrunk<'a> {
    /// Pixels of the picture on each side of a square.
    pub(super) square: usize,
    /// Squares across and down; the last ones may be cut.
    pub(super) width: usize,
    pub(super) height: usize,
    picture: &'a Picture,
    /// One or three means a square; none where a square is a pixel.
    means: Vec<u16>,
    lanes: usize,
    table: &'static [f32; 256],
    /// The same in parts of [`FULL`].
    parts: [u32; 256],
    blank: Light,
    /// Tiles across and down, and the least light of each channel in each of them: found once for all pictures that show
    /// this one.
    pub(super) tiles: [usize; 2],
    pub(super) darkest: Vec<Light>,
}

/// A light in parts of [`FULL`].
fn in_parts(light: f32) -> u32 {
    (light * FULL + 0.5) as u32
}

impl<'a> Shrunk<'a> {
    /// Averages a picture in squares of so many pixels a side.
    pub(super) fn new(picture: &'a Picture, square: usize) -> Self {
        let (w, h) = (picture.width(), picture.height());
        let (width, height) = (w.div_ceil(square), h.div_ceil(square));
        let lanes = match picture.channels() {
            Channels::Grey => 1,
            // Transparent paper becomes the page's, which is not quite grey.
            Channels::GreyAlpha | Channels::Rgb | Channels::Rgba => 3,
        };
        let mut shrunk = Self {
            square,
            width,
            height,
            picture,
            means: Vec::new(),
            lanes,
            table: table(),
            parts: table().map(in_parts),
            blank: decode(PAPER),
            tiles: [width.div_ceil(TILE[0]), height.div_ceil(TILE[1])],
            darkest: Vec::new(),
        };
        if square > 1 {
            let mut means = vec![0; width * height * lanes];
            let rows = means.par_chunks_mut(width * lanes).enumerate();
            rows.for_each(|(j, out)| shrunk.average(j * square..((j + 1) * square).min(h), out));
            shrunk.means = means;
        }
        let rows = (0..height).into_par_iter().step_by(TILE[1]);
        shrunk.darkest = rows
            .flat_map_iter(|j| shrunk.darkest_of(j..(j + TILE[1]).min(height)))
            .collect();
        shrunk
    }

    /// The least light of each channel in the tiles that lie side by side in some rows of squares.
    fn darkest_of(&self, rows: std::ops::Range<usize>) -> Vec<Light> {
        let length = self.width * self.lanes;
        let row_of_means = |j: usize| &self.means[j * length..][..length];
        let row = |j: usize| self.picture.row(j);
        if self.square > 1 && self.lanes == 1 {
            return least::<_, 1>(rows.map(row_of_means), |v| light_of_mean(v));
        }
        if self.square > 1 {
            return least::<_, 3>(rows.map(row_of_means), |v| light_of_mean(v));
        }
        match self.picture.channels() {
            // More of a byte is more light.
            Channels::Grey => least::<_, 1>(rows.map(row), |v| self.of_pixel(v)),
            Channels::Rgb => least::<_, 3>(rows.map(row), |v| self.of_pixel(v)),
            Channels::GreyAlpha | Channels::Rgba => (0..self.tiles[0])
                .map(|tile| {
                    let columns = tile * TILE[0]..((tile + 1) * TILE[0]).min(self.width);
                    let lights = rows
                        .clone()
                        .flat_map(|j| columns.clone().map(move |i| self.take(i, j)));
                    lights.fold([1.0; 4], |a: Light, b| std::array::from_fn(|k| a[k].min(b[k])))
                })
                .collect(),
        }
    }

    /// The side of the squares that suit a picture in which a unit takes so many pixels.
    pub(super) fn side(subject: &Subject<'_>, pixels_a_unit: f64) -> usize {
        let most = subject.picture.width().max(1) as f64;
        let side = (subject.shown.placed.placement.units_per_px * pixels_a_unit).recip();
        side.round().clamp(1.0, most) as usize
    }

    /// Means of the squares that lie side by side in some rows of the picture.
    fn average(&self, rows: std::ops::Range<usize>, out: &mut [u16]) {
        let n = self.picture.channels().count();
        let (side, count) = (self.square * n, rows.len() as u32);
        let first = self.picture.row(rows.start);
        let parts = first.chunks(TOGETHER * side).enumerate();
        for ((i, part), out) in parts.zip(out.chunks_mut(TOGETHER * self.lanes)) {
            let from = i * TOGETHER * side;
            let row = |y: usize| &self.picture.row(y)[from..from + part.len()];
            let colour = &part[..n];
            let one_colour = |row: &[u8]| row[..n] == *colour && row[n..] == row[..row.len() - n];
            if rows.clone().map(row).all(one_colour) {
                let light = self.parts(colour);
                for mean in out.chunks_exact_mut(self.lanes) {
                    mean.iter_mut().zip(light).for_each(|(m, l)| *m = l as u16);
                }
                continue;
            }
            let mut sums = [[0u32; 3]; TOGETHER];
            for row in rows.clone().map(row) {
                for (sum, square) in sums.iter_mut().zip(row.chunks(side)) {
                    if n == 1 {
                        sum[0] += square.iter().map(|v| self.parts[usize::from(*v)]).sum::<u32>();
                        continue;
                    }
                    for p in square.chunks_exact(n) {
                        let light = self.parts(p);
                        *sum = std::array::from_fn(|k| sum[k] + light[k]);
                    }
                }
            }
            let means = out.chunks_exact_mut(self.lanes).zip(&sums);
            for ((mean, sum), square) in means.zip(part.chunks(side)) {
                let pixels = (square.len() / n) as u32 * count;
                for (mean, sum) in mean.iter_mut().zip(sum) {
                    *mean = ((sum + pixels / 2) / pixels) as u16;
                }
            }
        }
    }

    /// The light of a pixel of the picture, in parts of [`FULL`]. A square of 255 pixels a side does not overflow their
    /// sum, and no sheet is reduced so far.
    #[inline]
    fn parts(&self, pixel: &[u8]) -> [u32; 3] {
        let part = |v: u8| self.parts[usize::from(v)];
        match *pixel {
            [v] => [part(v); 3],
            [r, g, b] => [part(r), part(g), part(b)],
            _ => {
                let [r, g, b, _] = self.of_pixel(pixel);
                [r, g, b].map(in_parts)
            }
        }
    }

    #[inline]
    fn of_pixel(&self, pixel: &[u8]) -> Light {
        let light = |v: u8| self.table[usize::from(v)];
        match *pixel {
            [v] => [light(v), light(v), light(v), 0.0],
            [v, a] => mix(
                self.blank,
                [light(v), light(v), light(v), 0.0],
                f32::from(a) / 255.0,
            ),
            [r, g, b] => [light(r), light(g), light(b), 0.0],
            [r, g, b, a, ..] => mix(
                self.blank,
                [light(r), light(g), light(b), 0.0],
                f32::from(a) / 255.0,
            ),
            [] => self.blank,
        }
    }

    /// The light of a square.
    #[inline]
    pub(super) fn take(&self, i: usize, j: usize) -> Light {
        if self.square == 1 {
            let n = self.picture.channels().count();
            return self.of_pixel(&self.picture.row(j)[i * n..][..n]);
        }
        light_of_mean(&self.means[(j * self.width + i) * self.lanes..][..self.lanes])
    }

    /// Lights of squares side by side, each mixed from two rows with a share of the second.
    pub(super) fn mix_rows(
        &self,
        rows: [usize; 2],
        share: f32,
        columns: std::ops::Range<usize>,
        out: &mut [Light],
    ) {
        if self.square > 1 {
            let part = |j: usize| {
                let row = &self.means[j * self.width * self.lanes..][..self.width * self.lanes];
                &row[columns.start * self.lanes..columns.end * self.lanes]
            };
            return match self.lanes {
                1 => mix_parts::<_, 1>(rows.map(part), share, out, |p| light_of_mean(p)),
                _ => mix_parts::<_, 3>(rows.map(part), share, out, |p| light_of_mean(p)),
            };
        }
        let n = self.picture.channels().count();
        let part = |j: usize| &self.picture.row(j)[columns.start * n..columns.end * n];
        match self.picture.channels() {
            Channels::Grey => mix_parts::<_, 1>(rows.map(part), share, out, |p| self.of_pixel(p)),
            Channels::GreyAlpha => mix_parts::<_, 2>(rows.map(part), share, out, |p| self.of_pixel(p)),
            Channels::Rgb => mix_parts::<_, 3>(rows.map(part), share, out, |p| self.of_pixel(p)),
            Channels::Rgba => mix_parts::<_, 4>(rows.map(part), share, out, |p| self.of_pixel(p)),
        }
    }
}

/// The light of a mean.
#[inline]
fn light_of_mean(mean: &[u16]) -> Light {
    let light = |v: u16| f32::from(v) / FULL;
    match *mean {
        [r, g, b, ..] => [light(r), light(g), light(b), 0.0],
        [v, ..] => [light(v), light(v), light(v), 0.0],
        [] => [0.0; 4],
    }
}

/// Mixes two rows, `N` channels a square, with a share of the second.
#[inline]
fn mix_parts<T, const N: usize>(
    [upper, lower]: [&[T]; 2],
    share: f32,
    out: &mut [Light],
    light: impl Fn(&[T; N]) -> Light,
) {
    let pairs = upper.as_chunks().0.iter().zip(lower.as_chunks().0);
    for (out, (a, b)) in out.iter_mut().zip(pairs) {
        *out = mix(light(a), light(b), share);
    }
}

/// The light of the least value of each of `N` channels, in the tiles of some rows.
fn least<'a, T: Copy + Ord + 'a, const N: usize>(
    mut rows: impl Iterator<Item = &'a [T]>,
    light: impl Fn(&[T; N]) -> Light,
) -> Vec<Light> {
    let mut least = rows.next().unwrap_or_default().to_vec();
    for row in rows {
        for (least, v) in least.iter_mut().zip(row) {
            *least = (*least).min(*v);
        }
    }
    let (squares, _) = least.as_chunks::<N>();
    let tiles = squares.chunks(TILE[0]).map(|tile| {
        let mut least = tile[0];
        for square in tile {
            for (least, v) in least.iter_mut().zip(square) {
                *least = (*least).min(*v);
            }
        }
        light(&least)
    });
    tiles.collect()
}

/// The reduced pictures that some overlays need, each made once.
pub(super) struct AllShrunk<'a>(Vec<(usize, Shrunk<'a>)>);

impl<'a> AllShrunk<'a> {
    /// Makes those of some figures, each with the pixels that one of its units will take.
    pub(super) fn new(shown: impl IntoIterator<Item = (&'a Subject<'a>, f64)>) -> Self {
        let mut all: Vec<(usize, Shrunk<'a>)> = Vec::new();
        for (subject, pixels_a_unit) in shown {
            let (image, side) = (subject.shown.image, Shrunk::side(subject, pixels_a_unit));
            if !all.iter().any(|(i, s)| *i == image && s.square == side) {
                all.push((image, Shrunk::new(subject.picture, side)));
            }
        }
        Self(all)
    }

    /// That of a figure; `None` if it was not made.
    pub(super) fn of(&self, subject: &Subject<'_>, pixels_a_unit: f64) -> Option<&Shrunk<'a>> {
        let (image, side) = (subject.shown.image, Shrunk::side(subject, pixels_a_unit));
        let made = self.0.iter().find(|(i, s)| *i == image && s.square == side);
        made.map(|(_, s)| s)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Four pixels by light: half black, half white is half the light, whatever the channels.
    #[test]
    fn squares_are_averaged_by_light() {
        for (channels, pixel) in [
            (Channels::Grey, [[0u8, 0, 0, 0], [255, 0, 0, 0]]),
            (Channels::Rgb, [[0, 0, 0, 0], [255, 255, 255, 0]]),
            (Channels::GreyAlpha, [[0, 255, 0, 0], [255, 255, 0, 0]]),
            (Channels::Rgba, [[0, 0, 0, 255], [255, 255, 255, 255]]),
        ] {
            let n = channels.count();
            let data: Vec<u8> = [0, 1, 1, 0]
                .iter()
                .flat_map(|i: &usize| pixel[*i][..n].to_vec())
                .collect();
            let picture = Picture::new(2, 2, channels, data);
            let one = Shrunk::new(&picture, 2);
            assert_eq!((one.width, one.height), (1, 1));
            assert!(
                (0..3).all(|k| (one.take(0, 0)[k] - 0.5).abs() < 1e-4),
                "{channels:?}"
            );
            let four = Shrunk::new(&picture, 1);
            assert!(
                four.take(0, 0)[0] < 1e-6 && four.take(1, 0)[0] > 0.999,
                "{channels:?}"
            );
            for s in [&one, &four] {
                let [darkest] = s.darkest[..] else {
                    panic!("one tile")
                };
                let same = (0..3).all(|k| darkest[k] == s.take(0, 0)[k]);
                assert!(same, "{channels:?}");
                let mut mixed = [[0.0; 4]; 1];
                s.mix_rows([0, s.height - 1], 0.25, 0..1, &mut mixed);
                let [a, b] = [0, s.height - 1].map(|j| s.take(0, j));
                assert_eq!(mixed, [mix(a, b, 0.25)], "{channels:?}");
            }
        }
    }
}
