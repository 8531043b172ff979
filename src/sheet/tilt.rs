//! How a sheet without straight lines is turned, told by its figures.
//!
//! Two kinds of evidence that know nothing of each other:
//! - the axis about which a front or back view mirrors itself best, each such view on its own;
//! - the rows that all figures stand on and reach up to: the turn that brings the lowest points onto one row, and the
//!   one that does so with the highest points, if both agree.
//!
//! At least two pieces are needed, one of them an axis, and all must agree. So a figure that leans on a level sheet turns
//! nothing: its ground and crown rows stay level, and from the back it leans the other way. Uneven ground rows turn
//! nothing either, as the axes stay upright. A sheet of one figure, of side views only or of figures in a pose that is
//! no mirror image of itself keeps its turn, and so does one that is turned by less than `LEAST_DEG`, where chance
//! could not be told from a turn.

use rayon::prelude::*;

use super::figures::Region;
use super::level::Levelling;
use super::trace;
use super::views::{self, Shows, Signs};
use crate::profile::Outline;
use crate::space::{Bounds, Level, Point, Upright};

/// Largest turn that is looked for, in degrees: that of straight lines.
const MOST_DEG: f64 = 3.6;
/// Smallest that is believed. Hand-drawn rows and axes of level sheets are off by up to half as much.
const LEAST_DEG: f64 = 0.3;
/// Pieces of evidence agree within so many degrees of their mean.
const AGREE_DEG: f64 = 0.25;
/// A figure that overlaps its mirror image by less than this has no axis.
const MIRRORED: f64 = 0.9;
/// And the overlap falls by at least this, one degree to either side: a ball has every axis.
const SHARP: f64 = 0.01;
/// Heights of views that stand on one row agree within this share.
const SAME_HEIGHT: f64 = 0.03;
/// And their ends lie on it within this share of the height (root mean square).
const ON_ROW: f64 = 0.004;
/// Steps of the search for an axis, coarse and fine, in degrees.
const STEPS_DEG: (f64, f64) = (0.3, 0.05);
/// Rows that a figure is looked at in.
const ROWS: usize = 200;
/// Every how manieth corner of a border is looked at: borders of a thousand pixels of height have some ten thousand.
const EVERY: usize = 3;
/// How far from the middle of the outer width an axis may lie and by which steps it is sought, shares of the height.
const ASIDE: (i32, f64) = (12, 0.003);
/// Turns by which rows are brought level; each leaves a hundredth of the angle.
const ROUNDS: usize = 4;

/// The sheet's turn in radians, counter-clockwise as seen, if its figures agree on one.
pub(super) fn skew_of(figures: &[Region]) -> Option<f64> {
    if figures.len() < 2 {
        return None;
    }
    let borders: Vec<Outline<Upright>> = figures.iter().map(border).collect();
    if is_level(&borders) {
        return None;
    }
    let mut pieces = axes(&borders);
    if pieces.is_empty() {
        return None;
    }
    pieces.extend(rows(&borders));
    let mean = pieces.iter().sum::<f64>() / pieces.len() as f64;
    let agree = pieces.iter().all(|p| (p - mean).abs() <= AGREE_DEG);
    (pieces.len() > 1 && agree && (LEAST_DEG..=MOST_DEG).contains(&mean.abs())).then(|| mean.to_radians())
}

/// Whether the figure that mirrors itself best does so upright: then nothing is turned, and the search is spared.
fn is_level(borders: &[Outline<Upright>]) -> bool {
    let upright: Vec<f64> = borders.par_iter().map(|b| mirrored(b, 0.0).0).collect();
    let Some(best) = (0..borders.len()).max_by(|&a, &b| upright[a].total_cmp(&upright[b])) else {
        return true;
    };
    let aside = [-0.5, 0.5].map(|share| share * LEAST_DEG);
    upright[best] >= MIRRORED
        && aside
            .par_iter()
            .all(|deg| mirrored(&borders[best], *deg).0 < upright[best])
}

fn border(region: &Region) -> Outline<Upright> {
    let corner = |c: &[i32; 2]| Point::new(f64::from(c[0]), f64::from(c[1]));
    Outline {
        rings: trace::rings(region, &[])
            .iter()
            .map(|ring| ring.iter().step_by(EVERY).map(corner).collect())
            .collect(),
    }
}

/// A border on a sheet that is turned back by `deg` degrees.
fn levelled(border: &Outline<Upright>, deg: f64) -> Outline<Level> {
    let turn = Levelling::new(0, 0, deg);
    Outline {
        rings: border
            .rings
            .iter()
            .map(|r| r.iter().map(|p| turn.level(*p)).collect())
            .collect(),
    }
}

/// Tilts of the views from the front or back, in degrees.
fn axes(borders: &[Outline<Upright>]) -> Vec<f64> {
    let best: Vec<(f64, Signs)> = borders.par_iter().map(axis).collect();
    let signs: Vec<Signs> = best.iter().map(|b| b.1).collect();
    let shows = views::shows(&signs);
    (0..borders.len())
        .filter(|&i| shows[i] == Shows::Middle && signs[i].symmetry >= MIRRORED)
        .filter(|&i| {
            let beside = |deg: f64| mirrored(&borders[i], best[i].0 + deg).0;
            signs[i].symmetry - beside(1.0).max(beside(-1.0)) >= SHARP
        })
        .map(|i| best[i].0)
        .collect()
}

/// The tilt at which a figure mirrors itself best, and what it shows then.
fn axis(border: &Outline<Upright>) -> (f64, Signs) {
    let (coarse, fine) = STEPS_DEG;
    let best = |around: f64, reach: f64, step: f64| {
        let n = (reach / step).round() as i32;
        (-n..=n)
            .map(|k| around + f64::from(k) * step)
            .map(|deg| (deg, mirrored(border, deg)))
            .max_by(|a, b| a.1.0.total_cmp(&b.1.0))
            .unwrap_or_default()
    };
    let (rough, _) = best(0.0, MOST_DEG, coarse);
    let (deg, (symmetry, width)) = best(rough, coarse, fine);
    let signs = Signs {
        symmetry,
        toes: 0.0,
        face: 0.0,
        width,
    };
    (deg, signs)
}

/// Overlap of a border, turned back by `deg` degrees, with its own mirror image, and its width in heights.
fn mirrored(border: &Outline<Upright>, deg: f64) -> (f64, f64) {
    let turned = levelled(border, deg);
    let Some(b) = turned.bounds() else {
        return (0.0, 0.0);
    };
    let ys: Vec<f64> = (0..ROWS)
        .map(|i| b.y0 + (i as f64 + 0.5) / ROWS as f64 * b.height())
        .collect();
    let rows = turned.row_spans(&ys);
    let overlap = views::symmetry(&rows, b.height(), ASIDE);
    (overlap, b.width() / b.height())
}

/// The turn that ground and crown rows tell, in degrees, if they agree.
fn rows(borders: &[Outline<Upright>]) -> Option<f64> {
    let ground = row(borders, |b| b.1)?;
    let crown = row(borders, |b| b.0)?;
    ((ground - crown).abs() <= AGREE_DEG).then(|| f64::midpoint(ground, crown))
}

/// The turn that brings one end of all figures, chosen among the highest and the lowest, onto one row.
fn row(borders: &[Outline<Upright>], end: fn(&(f64, f64)) -> f64) -> Option<f64> {
    let n = borders.len() as f64;
    let mut deg = 0.0;
    let (mut off, mut uneven) = (f64::MAX, f64::MAX);
    for _ in 0..ROUNDS {
        let bounds: Vec<_> = borders
            .iter()
            .map(|b| levelled(b, deg).bounds())
            .collect::<Option<_>>()?;
        let tall = bounds.iter().map(Bounds::height);
        let (least, most) = tall.fold((f64::MAX, 0.0f64), |(l, m), h| (l.min(h), m.max(h)));
        let at = bounds
            .iter()
            .map(|b| (f64::midpoint(b.x0, b.x1), end(&(b.y0, b.y1))));
        let (sx, sy) = at.clone().fold((0.0, 0.0), |s, p| (s.0 + p.0 / n, s.1 + p.1 / n));
        let sxx: f64 = at.clone().map(|p| (p.0 - sx).powi(2)).sum();
        let sxy: f64 = at.clone().map(|p| (p.0 - sx) * (p.1 - sy)).sum();
        let slope = sxy / sxx.max(1e-9);
        // y points down: a sheet that is turned counter-clockwise climbs to the right.
        deg -= slope.atan().to_degrees();
        off = (at.map(|p| (p.1 - sy - slope * (p.0 - sx)).powi(2)).sum::<f64>() / n).sqrt() / most;
        uneven = 1.0 - least / most;
        if deg.abs() > MOST_DEG {
            return None;
        }
    }
    (off <= ON_ROW && uneven <= SAME_HEIGHT).then_some(deg)
}
