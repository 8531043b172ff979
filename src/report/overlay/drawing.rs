//! The drawing in its place: levelled, scaled and moved onto the mesh, by resampling the picture.
//!
//! Method: the picture is first averaged in whole squares of pixels (see [`shrunk`]); each pixel of the pane then takes
//! four neighbours of that, weighted by distance. The ground is divided out, so that tinted paper becomes the page's
//! paper; other figures' boxes are left blank. Where all squares of a tile are as bright as the ground, its pixels are
//! paper and need no look.
//!
//! [`shrunk`]: super::shrunk

use super::Subject;
use super::frame::{Pane, Stage};
use super::light::{Light, decode, mix};
use super::shrunk::Shrunk;
use crate::report::look::{DARK_FADE, DARK_GROUND, DRAWING_FADE, GRAIN, PAPER};
use crate::space::{Point, Upright};

/// Every so many pixels, across and down, one is looked at to find the ground's colour: some ten thousand are plenty.
const GROUND_STEP: usize = 8;
/// Around the figure's own box so much still belongs to it, in pixels of the picture: the blur of a line.
const BOX_MARGIN: f64 = 4.0;
/// Squares across and down a tile: a few pixels more than a line is wide, and fewer down, as they are asked row by row.
const TILE: [usize; 2] = [8, 4];
/// A picture is level if a row of the pane climbs by less than so many squares from its middle to its end: a fiftieth of
/// a pixel's tone.
const LEVEL: f64 = 0.02;

/// No light is known.
const NOTHING: Light = [f32::NAN; 4];

/// A box of squares: columns and rows.
type Squares = [std::ops::Range<usize>; 2];

/// The drawing, ready to be read at the pixels of the pane.
pub(super) struct Drawing<'a> {
    shrunk: &'a Shrunk<'a>,
    /// Place in the picture, in squares, of the pane's top left corner, and the steps of one pixel to the right and down.
    origin: (f64, f64),
    across: (f64, f64),
    down: (f64, f64),
    /// What belongs to other figures, and what to this one in spite of that.
    others: Vec<Squares>,
    own: Option<Squares>,
    ground: Light,
    /// What a light is multiplied by to even out the ground.
    even: Light,
    fade: f32,
    blank: Light,
    /// Whether each tile of the picture shows anything but ground; empty where that is not known.
    drawn: Vec<bool>,
    tiles: [usize; 2],
    /// Middle of the pane's rows, in pixels from its left.
    middle: f64,
}

/// Reads pixels of one row of the pane from left to right, keeping the columns of squares that neighbours share.
pub(super) struct RowReader<'a> {
    drawing: &'a Drawing<'a>,
    row: usize,
    /// The two rows of squares and the share of the lower one; `None` where the picture is not level or ends.
    level: Option<([usize; 2], f32)>,
    /// The columns that were read last, mixed from both rows.
    columns: [(usize, Light); 2],
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
            fade: DRAWING_FADE,
            blank: decode(PAPER),
            drawn: Vec::new(),
            tiles: [shrunk.width.div_ceil(TILE[0]), shrunk.height.div_ceil(TILE[1])],
            middle: stage.pane.width / 2.0,
        };
        if let Some(ground) = drawing.find_ground(stage, figure) {
            drawing.ground = ground;
            if luminance(ground) < DARK_GROUND {
                drawing.fade = DARK_FADE;
            } else {
                drawing.even = ground.map(|v| 1.0 / (GRAIN * v).max(f32::EPSILON));
                drawing.find_drawn(stage, ground.map(|v| GRAIN * v));
            }
        }
        Some(drawing)
    }

    /// The same, not lightened.
    pub(super) fn unfaded(self) -> Self {
        Self { fade: 0.0, ..self }
    }

    /// Looks for tiles darker than `limit` where the pane lies.
    fn find_drawn(&mut self, stage: &Stage, limit: Light) {
        let [columns, rows] = self.tiles;
        let (width, height) = (stage.pane.width as usize, stage.pane.height as usize);
        let mut drawn = vec![false; columns * rows];
        let [across, down] = self.around(0..width, 0..height);
        for y in down {
            let row = &mut drawn[y / TILE[1] * columns..][..columns];
            let tiles = across.start / TILE[0]..across.end.div_ceil(TILE[0]);
            for (drawn, tile) in row[tiles.clone()].iter_mut().zip(tiles) {
                let squares = tile * TILE[0]..((tile + 1) * TILE[0]).min(self.shrunk.width);
                *drawn = *drawn || self.shrunk.any_below(y, squares, limit);
            }
        }
        self.drawn = drawn;
    }

    /// The squares that pixels of the pane take their light from, and some around them.
    fn around(&self, columns: std::ops::Range<usize>, rows: std::ops::Range<usize>) -> Squares {
        let (u0, u1) = (columns.start as f64, columns.end as f64);
        let (v0, v1) = (rows.start as f64, rows.end as f64);
        let all = [(u0, v0), (u1, v0), (u0, v1), (u1, v1)].map(|(u, v)| self.place(u, v));
        let range = |of: fn(&(f64, f64)) -> f64, most: usize| {
            let (low, high) = all
                .iter()
                .map(of)
                .fold((f64::MAX, f64::MIN), |(a, b), v| (a.min(v), b.max(v)));
            let cell = |v: f64| v.clamp(0.0, most as f64) as usize;
            cell((low - 1.0).floor())..cell((high + 1.0).ceil())
        };
        [
            range(|p| p.0, self.shrunk.width),
            range(|p| p.1, self.shrunk.height),
        ]
    }

    /// Whether some pixels of a row of the pane, side by side, surely show ground only, which becomes the page's paper.
    #[inline]
    pub(super) fn is_blank(&self, columns: std::ops::Range<usize>, row: usize) -> bool {
        if self.drawn.is_empty() {
            return false;
        }
        let [across, down] = self.around(columns, row..row + 1);
        if across.is_empty() || down.is_empty() {
            return true;
        }
        let tiles = across.start / TILE[0]..across.end.div_ceil(TILE[0]);
        (down.start / TILE[1]..down.end.div_ceil(TILE[1]))
            .all(|y| !self.drawn[y * self.tiles[0]..][tiles.clone()].contains(&true))
    }

    /// A reader of one row of the pane.
    pub(super) fn row(&self, row: usize) -> RowReader<'_> {
        let climb = self.across.1 * self.middle;
        let (_, v) = self.place(self.middle, row as f64 + 0.5);
        let height = self.shrunk.height as f64;
        let level = (climb.abs() < LEVEL && (0.0..height).contains(&v)).then(|| {
            let v = (v - 0.5).clamp(0.0, height - 1.0);
            let upper = v as usize;
            let lower = (upper + 1).min(self.shrunk.height - 1);
            ([upper, lower], (v - upper as f64) as f32)
        });
        RowReader {
            drawing: self,
            row,
            level,
            columns: [(usize::MAX, NOTHING); 2],
        }
    }

    /// Place in the picture, in squares, of a place in the pane.
    #[inline]
    fn place(&self, u: f64, v: f64) -> (f64, f64) {
        (
            self.origin.0 + u * self.across.0 + v * self.down.0,
            self.origin.1 + u * self.across.1 + v * self.down.1,
        )
    }

    /// The light of a pixel of the pane, from the four squares around it; not a number where there is nothing.
    #[inline]
    fn read(&self, i: usize, j: usize) -> Light {
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

impl RowReader<'_> {
    /// The light of a pixel of the row, evened out and lightened.
    #[inline]
    pub(super) fn light(&mut self, i: usize) -> Light {
        let drawing = self.drawing;
        let read = match self.level {
            Some((rows, share)) => self.between(i, rows, share),
            None => drawing.read(i, self.row),
        };
        let light = if read[0].is_nan() { drawing.ground } else { read };
        std::array::from_fn(|k| {
            let even = (light[k] * drawing.even[k]).min(1.0);
            (even + (1.0 - even) * drawing.fade) * drawing.blank[k]
        })
    }

    /// The light of a pixel of a level row, from the four squares around it.
    #[inline]
    fn between(&mut self, i: usize, rows: [usize; 2], share: f32) -> Light {
        let drawing = self.drawing;
        let width = drawing.shrunk.width;
        let (u, _) = drawing.place(i as f64 + 0.5, self.row as f64 + 0.5);
        if !(0.0..width as f64).contains(&u) {
            return NOTHING;
        }
        let u = (u - 0.5).clamp(0.0, width as f64 - 1.0);
        let left = u as usize;
        let right = (left + 1).min(width - 1);
        let [a, b] = self.columns;
        let column = |i: usize| {
            if i == a.0 {
                a
            } else if i == b.0 {
                b
            } else {
                let [upper, lower] = rows.map(|j| drawing.take(i, j));
                (i, mix(upper, lower, share))
            }
        };
        self.columns = [column(left), column(right)];
        let [a, b] = self.columns;
        mix(a.1, b.1, (u - left as f64) as f32)
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
