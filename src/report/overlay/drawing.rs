//! The drawing in its place: levelled, scaled and moved onto the mesh, by resampling the picture.
//!
//! Method: the part of the picture that shows is first averaged in whole squares of pixels, in linear light, so that
//! thin lines survive a reduction; each pixel of the pane then takes four neighbours of that, weighted by distance.
//! The ground is divided out, so that tinted paper becomes the page's paper; other figures' boxes are left blank.

use rayon::prelude::*;

use super::Subject;
use super::frame::{Pane, Stage};
use super::light::{Light, decode, mix, table};
use crate::report::look::{DARK_FADE, DARK_GROUND, DRAWING_FADE, GRAIN, PAPER};
use crate::sheet::picture::{Channels, Picture};
use crate::space::{Point, Upright};

/// Every so many pixels, across and down, one is looked at to find the ground's colour: some ten thousand are plenty.
const GROUND_STEP: usize = 8;
/// Around the figure's own box so much still belongs to it, in pixels of the picture: the blur of a line.
const BOX_MARGIN: f64 = 4.0;

/// A part of the picture, averaged in squares.
struct Reduced {
    /// Pixels of the picture on each side of a square.
    square: usize,
    /// First column and row of the picture.
    origin: (usize, usize),
    width: usize,
    height: usize,
    lights: Vec<Light>,
    /// The page's paper.
    blank: Light,
}

/// The drawing, ready to be read at the pixels of the pane.
pub(super) struct Drawing {
    reduced: Reduced,
    /// Place in the picture of the pane's top left corner, and the steps of one pixel to the right and down.
    origin: (f64, f64),
    across: (f64, f64),
    down: (f64, f64),
    ground: Light,
    /// What a light is multiplied by to even out the ground.
    even: Light,
    fade: f32,
}

impl Drawing {
    /// Prepares the drawing for a stage in pixels; `figure` is the share of each of its pixels that the drawn figure covers.
    /// `None` if it lies nowhere.
    pub(super) fn new(subject: &Subject<'_>, stage: &Stage, figure: &[u8]) -> Option<Self> {
        let corners = corners(subject, stage)?;
        let [origin, right, below] = corners;
        let step = |to: Point<Upright>, n: f64| ((to.x - origin.x) / n, (to.y - origin.y) / n);
        let mut drawing = Self {
            reduced: reduce(subject, stage, corners),
            origin: (origin.x, origin.y),
            across: step(right, stage.pane.width),
            down: step(below, stage.pane.height),
            ground: [1.0; 4],
            even: [1.0; 4],
            fade: DRAWING_FADE,
        };
        if let Some(ground) = drawing.find_ground(stage, figure) {
            drawing.ground = ground;
            if luminance(ground) < DARK_GROUND {
                drawing.fade = DARK_FADE;
            } else {
                drawing.even = ground.map(|v| 1.0 / (GRAIN * v).max(f32::EPSILON));
            }
        }
        Some(drawing)
    }

    /// The light of a pixel of the pane, evened out and lightened.
    #[inline]
    pub(super) fn light(&self, i: usize, j: usize) -> Light {
        let read = self.read(i, j);
        let light = if read[0].is_nan() { self.ground } else { read };
        std::array::from_fn(|k| {
            let even = (light[k] * self.even[k]).min(1.0);
            (even + (1.0 - even) * self.fade) * self.reduced.blank[k]
        })
    }

    #[inline]
    fn read(&self, i: usize, j: usize) -> Light {
        let (u, v) = (i as f64 + 0.5, j as f64 + 0.5);
        let x = self.origin.0 + u * self.across.0 + v * self.down.0;
        let y = self.origin.1 + u * self.across.1 + v * self.down.1;
        self.reduced.at(x, y)
    }

    /// The median light outside the figure: the paper.
    fn find_ground(&self, stage: &Stage, figure: &[u8]) -> Option<Light> {
        let (width, height) = (stage.pane.width as usize, stage.pane.height as usize);
        let outside: Vec<Light> = (0..height)
            .step_by(GROUND_STEP)
            .flat_map(|j| (0..width).step_by(GROUND_STEP).map(move |i| (i, j)))
            .filter(|(i, j)| figure[j * width + i] == 0)
            .map(|(i, j)| self.read(i, j))
            .filter(|l| !l[0].is_nan())
            .collect();
        if outside.is_empty() {
            return None;
        }
        Some(std::array::from_fn(|k| {
            let mut one: Vec<f32> = outside.iter().map(|l| l[k]).collect();
            let middle = one.len() / 2;
            *one.select_nth_unstable_by(middle, f32::total_cmp).1
        }))
    }
}

fn luminance(light: Light) -> f32 {
    // Weights of Rec. 709, as in WCAG 2.2.
    0.2126 * light[0] + 0.7152 * light[1] + 0.0722 * light[2]
}

/// Top left, top right and bottom left corner of the pane in the picture; `None` if they are nowhere.
fn corners(subject: &Subject<'_>, stage: &Stage) -> Option<[Point<Upright>; 3]> {
    let Pane { left, top, .. } = stage.pane;
    let place = |column: f64, row: f64| {
        let view = Point::new((column - stage.zero.0) / stage.scale, stage.height_at(row));
        subject
            .reading
            .levelling
            .unlevel(subject.shown.placed.placement.to_sheet(view))
    };
    let all = [
        place(left, top),
        place(stage.pane.right(), top),
        place(left, stage.pane.bottom()),
    ];
    all.iter()
        .all(|p| p.x.is_finite() && p.y.is_finite())
        .then_some(all)
}

/// Averages the part of the picture that the pane shows.
fn reduce(subject: &Subject<'_>, stage: &Stage, corners: [Point<Upright>; 3]) -> Reduced {
    let [a, b, c] = corners;
    let picture = subject.picture;
    let (w, h) = (picture.width(), picture.height());
    let xs = [a.x, b.x, c.x, b.x + c.x - a.x];
    let ys = [a.y, b.y, c.y, b.y + c.y - a.y];
    let low = |v: &[f64; 4], most: usize| {
        v.iter().copied().fold(f64::MAX, f64::min).clamp(0.0, most as f64) as usize
    };
    let high = |v: &[f64; 4], most: usize| {
        v.iter()
            .copied()
            .fold(f64::MIN, f64::max)
            .clamp(0.0, most as f64)
            .ceil() as usize
    };
    let (x0, x1, y0, y1) = (low(&xs, w), high(&xs, w), low(&ys, h), high(&ys, h));
    let square = (a.distance(b) / stage.pane.width)
        .round()
        .clamp(1.0, w.max(1) as f64) as usize;
    let (width, height) = (
        x1.saturating_sub(x0).div_ceil(square),
        y1.saturating_sub(y0).div_ceil(square),
    );
    let blank = decode(PAPER);
    let mut lights = vec![blank; width * height];
    lights
        .par_chunks_mut(width.max(1))
        .enumerate()
        .for_each(|(j, row)| {
            let rows = y0 + j * square..(y0 + (j + 1) * square).min(y1);
            average(picture, rows, x0..x1, square, row);
        });
    let mut reduced = Reduced {
        square,
        origin: (x0, y0),
        width,
        height,
        lights,
        blank,
    };
    blank_others(subject, &mut reduced);
    reduced
}

/// Means of the squares that lie side by side in some rows of the picture.
fn average(
    picture: &Picture,
    rows: std::ops::Range<usize>,
    columns: std::ops::Range<usize>,
    square: usize,
    out: &mut [Light],
) {
    let table = table();
    let light = |v: u8| table[usize::from(v)];
    let blank = decode(PAPER);
    let n = picture.channels().count();
    let count = rows.len();
    out.fill([0.0; 4]);
    for y in rows {
        let row = &picture.row(y)[columns.start * n..columns.end * n];
        match picture.channels() {
            Channels::Grey => add(row, square, out, |p: [u8; 1]| {
                let v = light(p[0]);
                [v, v, v, 0.0]
            }),
            Channels::Rgb => add(row, square, out, |p: [u8; 3]| {
                [light(p[0]), light(p[1]), light(p[2]), 0.0]
            }),
            Channels::GreyAlpha => add(row, square, out, |p: [u8; 2]| {
                let v = light(p[0]);
                mix(blank, [v, v, v, 0.0], f32::from(p[1]) / 255.0)
            }),
            Channels::Rgba => add(row, square, out, |p: [u8; 4]| {
                let over = [light(p[0]), light(p[1]), light(p[2]), 0.0];
                mix(blank, over, f32::from(p[3]) / 255.0)
            }),
        }
    }
    let total = columns.len();
    for (i, sum) in out.iter_mut().enumerate() {
        let wide = square.min(total - i * square);
        let share = 1.0 / (wide * count) as f32;
        *sum = sum.map(|v| v * share);
    }
}

/// Adds the lights of a row of pixels of `N` bytes to the squares that they lie in.
fn add<const N: usize>(row: &[u8], square: usize, out: &mut [Light], light: impl Fn([u8; N]) -> Light) {
    let (pixels, _) = row.as_chunks::<N>();
    let sum_up = |sum: &mut Light, p: &[u8; N]| {
        let l = light(*p);
        *sum = std::array::from_fn(|k| sum[k] + l[k]);
    };
    if square == 1 {
        out.iter_mut().zip(pixels).for_each(|(sum, p)| sum_up(sum, p));
    } else {
        for (sum, group) in out.iter_mut().zip(pixels.chunks(square)) {
            group.iter().for_each(|p| sum_up(sum, p));
        }
    }
}

/// Takes out what belongs to other figures of the same picture.
fn blank_others(subject: &Subject<'_>, reduced: &mut Reduced) {
    let views = &subject.report.sheet.views;
    let name = &subject.view().name;
    let here: Vec<_> = views.iter().filter(|v| v.sheet == subject.shown.image).collect();
    let Some(own) = here.iter().find(|v| v.name == *name).map(|v| v.box_px) else {
        return;
    };
    let side = reduced.square as f64;
    let (x0, y0) = (reduced.origin.0 as f64, reduced.origin.1 as f64);
    // Squares whose middles lie in a box.
    let range = |from: f64, to: f64, origin: f64, most: usize| {
        let at = |v: f64| ((v - origin) / side - 0.5).clamp(0.0, most as f64);
        at(from).ceil() as usize..at(to).ceil() as usize
    };
    let squares = |b: [f64; 4], margin: f64| {
        let columns = range(b[0] - margin, b[2] + margin, x0, reduced.width);
        (columns, range(b[1] - margin, b[3] + margin, y0, reduced.height))
    };
    let (own_columns, own_rows) = squares(own, BOX_MARGIN);
    let others: Vec<_> = here
        .iter()
        .filter(|v| v.name != *name)
        .map(|v| squares(v.box_px, BOX_MARGIN))
        .collect();
    for (columns, rows) in others {
        for j in rows {
            for i in columns.clone() {
                if !(own_columns.contains(&i) && own_rows.contains(&j)) {
                    // Not a number: nothing is there; it becomes ground when the ground is known.
                    reduced.lights[j * reduced.width + i] = [f32::NAN; 4];
                }
            }
        }
    }
}

impl Reduced {
    /// The light at a place of the picture, from the four squares around it; not a number where there is nothing.
    #[inline]
    fn at(&self, x: f64, y: f64) -> Light {
        const NOTHING: Light = [f32::NAN; 4];
        let side = self.square as f64;
        let u = (x - self.origin.0 as f64) / side;
        let v = (y - self.origin.1 as f64) / side;
        let (w, h) = (self.width as f64, self.height as f64);
        if !(0.0..w).contains(&u) || !(0.0..h).contains(&v) {
            return NOTHING;
        }
        // Half a square from the border there is one neighbour only.
        let (u, v) = ((u - 0.5).clamp(0.0, w - 1.0), (v - 0.5).clamp(0.0, h - 1.0));
        let (i, j) = (u as usize, v as usize);
        let (fu, fv) = ((u - i as f64) as f32, (v - j as f64) as f32);
        let (right, down) = ((i + 1).min(self.width - 1), (j + 1).min(self.height - 1));
        let take = |i: usize, j: usize| self.lights[j * self.width + i];
        mix(
            mix(take(i, j), take(right, j), fu),
            mix(take(i, down), take(right, down), fu),
            fv,
        )
    }
}
