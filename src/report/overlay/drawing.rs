//! The drawing in its place: levelled, scaled and moved onto the mesh, by resampling the picture.
//!
//! Method: the picture is first averaged in whole squares of pixels (see [`shrunk`]); each pixel of the pane then takes
//! four neighbours of that, weighted by distance. The ground is divided out, so that tinted paper becomes the page's
//! paper; other figures' boxes are left blank. Where all squares of a tile are as bright as the ground, its pixels are
//! paper and need no look.
//!
//! [`shrunk`]: super::shrunk

use std::ops::Range;

use super::Subject;
use super::frame::{Pane, Stage};
use super::light::{Light, decode, mix};
use super::reader::Reader;
use super::shrunk::{Shrunk, TILE};
use crate::report::look::{DARK_FADE, DARK_GROUND, DRAWING_FADE, GRAIN, PAPER};
use crate::space::{Point, Upright};

/// Every so many pixels, across and down, one is looked at to find the ground's colour: some ten thousand are plenty.
const GROUND_STEP: usize = 8;
/// Around the figure's own box so much still belongs to it, in pixels of the picture: the blur of a line.
const BOX_MARGIN: f64 = 4.0;
/// No light is known.
pub(super) const NOTHING: Light = [f32::NAN; 4];

/// A box of squares: columns and rows.
type Squares = [Range<usize>; 2];

/// The drawing, ready to be read at the pixels of the pane.
pub(super) struct Drawing<'a> {
    pub(super) shrunk: &'a Shrunk<'a>,
    /// Place in the picture, in squares, of the pane's top left corner, and the steps of one pixel to the right and down.
    origin: (f64, f64),
    pub(super) across: (f64, f64),
    pub(super) down: (f64, f64),
    /// What belongs to other figures, and what to this one in spite of that.
    others: Vec<Squares>,
    own: Option<Squares>,
    ground: Light,
    /// What a light is multiplied by to even out the ground, and the least light that is then paper; nothing is where the
    /// ground is dark.
    even: Light,
    limit: Light,
    fade: f32,
    paper: Light,
    /// Whether each tile of the picture shows anything but ground, which becomes the page's paper; empty where that is not
    /// known.
    pub(super) drawn: Vec<bool>,
    /// Middle of the pane's rows, in pixels from its left.
    pub(super) middle: f64,
}

impl<'a> Drawing<'a> {
    /// Prepares the drawing for a stage in pixels; `figure` is the share of each of its pixels that the drawn figure covers.
    /// `None` if it lies nowhere.
    pub(super) fn new(
        subject: &Subject<'_>,
        stage: &Stage,
        figure: &[u8],
        shrunk: &'a Shrunk<'a>,
    ) -> Option<Self> {
        let [origin, right, below] = corners(subject, stage)?;
        let side = shrunk.square as f64;
        let step = |to: Point<Upright>, n: f64| ((to.x - origin.x) / n / side, (to.y - origin.y) / n / side);
        let (own, others) = boxes(subject, shrunk);
        let mut drawing = Self {
            shrunk,
            origin: (origin.x / side, origin.y / side),
            across: step(right, stage.pane.width),
            down: step(below, stage.pane.height),
            others,
            own,
            ground: [1.0; 4],
            even: [1.0; 4],
            limit: [f32::INFINITY; 4],
            fade: DRAWING_FADE,
            paper: decode(PAPER),
            drawn: Vec::new(),
            middle: stage.pane.width / 2.0,
        };
        if let Some(ground) = drawing.find_ground(stage, figure) {
            drawing.ground = ground;
            if luminance(ground) < DARK_GROUND {
                drawing.fade = DARK_FADE;
            } else {
                drawing.even = ground.map(|v| 1.0 / (GRAIN * v).max(f32::EPSILON));
                drawing.limit = ground.map(|v| GRAIN * v);
                let darkest = drawing.shrunk.darkest.iter();
                drawing.drawn = darkest.map(|light| !drawing.is_paper(light)).collect();
            }
        }
        Some(drawing)
    }

    /// The same, not lightened.
    pub(super) fn unfaded(self) -> Self {
        Self { fade: 0.0, ..self }
    }

    /// Whether a light becomes the page's paper. Where nothing is known to be there it is not asked.
    #[inline]
    pub(super) fn is_paper(&self, light: &Light) -> bool {
        light[0] >= self.limit[0] && light[1] >= self.limit[1] && light[2] >= self.limit[2]
    }

    /// A reader of the pane's pixels.
    pub(super) fn reader(&self) -> Reader<'_> {
        Reader::new(self)
    }

    /// The tiles that pixels of the pane take their light from, and some around them.
    pub(super) fn around(&self, columns: Range<usize>, rows: Range<usize>) -> Squares {
        let (u0, u1) = (columns.start as f64, columns.end as f64);
        let (v0, v1) = (rows.start as f64, rows.end as f64);
        let all = [(u0, v0), (u1, v0), (u0, v1), (u1, v1)].map(|(u, v)| self.place(u, v));
        let range = |of: fn(&(f64, f64)) -> f64, most: usize, tile: usize| {
            let (low, high) = all
                .iter()
                .map(of)
                .fold((f64::MAX, f64::MIN), |(a, b), v| (a.min(v), b.max(v)));
            let cell = |v: f64| v.clamp(0.0, most as f64) as usize;
            cell(low - 1.0) / tile..cell(high + 2.0).div_ceil(tile)
        };
        [
            range(|p| p.0, self.shrunk.width, TILE[0]),
            range(|p| p.1, self.shrunk.height, TILE[1]),
        ]
    }

    /// Place in the picture, in squares, of a place in the pane.
    #[inline]
    pub(super) fn place(&self, u: f64, v: f64) -> (f64, f64) {
        (
            self.origin.0 + u * self.across.0 + v * self.down.0,
            self.origin.1 + u * self.across.1 + v * self.down.1,
        )
    }

    /// The light of a pixel of the pane, from the four squares around it; not a number where there is nothing.
    #[inline]
    pub(super) fn read(&self, i: usize, j: usize) -> Light {
        let (u, v) = self.place(i as f64 + 0.5, j as f64 + 0.5);
        let (width, height) = (self.shrunk.width, self.shrunk.height);
        let (w, h) = (width as f64, height as f64);
        if !(0.0..w).contains(&u) || !(0.0..h).contains(&v) {
            return NOTHING;
        }
        // Half a square from the border there is one neighbour only.
        let (u, v) = ((u - 0.5).clamp(0.0, w - 1.0), (v - 0.5).clamp(0.0, h - 1.0));
        let (i, j) = (u as usize, v as usize);
        let (fu, fv) = ((u - i as f64) as f32, (v - j as f64) as f32);
        let (right, down) = ((i + 1).min(width - 1), (j + 1).min(height - 1));
        mix(
            mix(self.take(i, j), self.take(right, j), fu),
            mix(self.take(i, down), self.take(right, down), fu),
            fv,
        )
    }

    /// The light of a square; not a number where it belongs to another figure.
    #[inline]
    fn take(&self, i: usize, j: usize) -> Light {
        if self.is_others(i, j) {
            NOTHING
        } else {
            self.shrunk.take(i, j)
        }
    }

    /// Whether a square belongs to another figure: nothing is there, it becomes ground.
    #[inline]
    fn is_others(&self, i: usize, j: usize) -> bool {
        let within = |b: &Squares| b[0].contains(&i) && b[1].contains(&j);
        self.others.iter().any(within) && !self.own.as_ref().is_some_and(within)
    }

    /// Leaves out what belongs to other figures in some squares of a row, whose lights are given.
    #[inline]
    pub(super) fn leave_out_others(&self, j: usize, columns: Range<usize>, lights: &mut [Light]) {
        for [across, _] in self.others.iter().filter(|other| other[1].contains(&j)) {
            for i in across.start.max(columns.start)..across.end.min(columns.end) {
                if self.is_others(i, j) {
                    lights[i - columns.start] = NOTHING;
                }
            }
        }
    }

    /// The light of a place, evened out and lightened.
    #[inline]
    pub(super) fn shown(&self, read: Light) -> Light {
        let light = if read[0].is_nan() { self.ground } else { read };
        let lane = |k: usize| {
            let even = (light[k] * self.even[k]).min(1.0);
            (even + (1.0 - even) * self.fade) * self.paper[k]
        };
        [lane(0), lane(1), lane(2), lane(3)]
    }

    /// The median light outside the figure: the paper.
    fn find_ground(&self, stage: &Stage, figure: &[u8]) -> Option<Light> {
        let (width, height) = (stage.pane.width as usize, stage.pane.height as usize);
        let mut reader = self.reader();
        let mut outside: Vec<Light> = Vec::new();
        for j in (0..height).step_by(GROUND_STEP) {
            reader.go_to(j);
            let columns = (0..width).step_by(GROUND_STEP);
            let beyond = columns.filter(|i| figure[j * width + i] == 0);
            outside.extend(beyond.map(|i| reader.one(i)).filter(|l| !l[0].is_nan()));
        }
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

/// The squares whose middles lie in the boxes of this figure and of the others of its picture; none where this one has no
/// box.
fn boxes(subject: &Subject<'_>, shrunk: &Shrunk<'_>) -> (Option<Squares>, Vec<Squares>) {
    let views = &subject.report.sheet.views;
    let name = &subject.view().name;
    let here: Vec<_> = views.iter().filter(|v| v.sheet == subject.shown.image).collect();
    let Some(own) = here.iter().find(|v| v.name == *name).map(|v| v.box_px) else {
        return (None, Vec::new());
    };
    let side = shrunk.square as f64;
    let range = |from: f64, to: f64, most: usize| {
        let at = |v: f64| (v / side - 0.5).clamp(0.0, most as f64);
        at(from).ceil() as usize..at(to).ceil() as usize
    };
    let squares = |b: [f64; 4]| {
        [
            range(b[0] - BOX_MARGIN, b[2] + BOX_MARGIN, shrunk.width),
            range(b[1] - BOX_MARGIN, b[3] + BOX_MARGIN, shrunk.height),
        ]
    };
    let others = here.iter().filter(|v| v.name != *name);
    (Some(squares(own)), others.map(|v| squares(v.box_px)).collect())
}
