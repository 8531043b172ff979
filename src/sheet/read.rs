//! The whole way from a picture to drawn figures, step by step.

use super::edge::{Edge, refine};
use super::figures::{self, Pocket, Region};
use super::gaps::{self, Bridge};
use super::lines::{self, Course, StraightLine};
use super::picture::Picture;
use super::runs::{Run, Runs};
use super::slits;
use super::tone::{Departure, Paper};
use super::trace;
use crate::error::{Error, Result};
use crate::place::transform::Levelling;
use crate::profile::Outline;
use crate::report::model::{DrawnView, Facing, LineEdge};
use crate::space::{Level, Upright};

/// Smallest turn that is taken out: below it a row of 2,000 pixels stays within half a pixel.
const LEAST_SKEW_DEG: f64 = 0.015;
/// A pocket smaller than this share of its figure's area is a speck (an eye's highlight).
const LEAST_POCKET: f64 = 0.0004;
/// At least this share of a figure's area must depart from the paper for its enclosed paper to be ground.
const FILLED_SHARE: f64 = 0.62;
/// Where a head is looked for, in shares of the height from the crown.
const HEAD: (f64, f64) = (0.03, 0.30);
/// The darkest ink departs from the paper by at least this share of the largest departure in the head.
const DARK: f64 = 0.9;
/// Fewest pixels of height that a figure can be measured with.
const LEAST_FIGURE_PX: usize = 120;
/// More figures than this are no turnaround.
const MOST_FIGURES: usize = 8;

/// A sheet's image as it was read.
#[derive(Debug, Clone)]
pub struct Reading {
    /// The turn that levels it.
    pub levelling: Levelling,
    /// The turn of the file's picture in degrees, counter-clockwise as seen.
    pub skew_deg: f64,
    /// Heights of guide lines on the levelled sheet, from the top down.
    pub guide_lines_px: Vec<f64>,
    /// The drawn figures, left to right.
    pub figures: Vec<Figure>,
}

/// One drawn figure.
#[derive(Debug, Clone)]
pub struct Figure {
    /// `[x0, y0, x1, y1]`, outer edge of the line, upright pixels.
    pub box_px: [f64; 4],
    /// Its outline in the upright picture.
    pub upright: Outline<Upright>,
    /// The same on the levelled sheet.
    pub level: Outline<Level>,
    /// Highest row of the outline on the levelled sheet.
    pub crown_px: f64,
    /// Lowest row.
    pub ground_px: f64,
    /// Median width of the ink line, 0 without one.
    pub line_px: f64,
    /// How much of the head's inside is the darkest ink in patches thicker than a line: eyes, mouth, brows. Strands of
/// hair are lines, and a head of hair is paler than the eyes in it.
fn face(departure: &Departure, region: &Region, line_px: f64) -> f64 {
    let height = region.height() as f64;
    let margin = (3.0 * line_px).max(0.012 * height) as usize;
    let reach = (0.6 * line_px).max(0.0012 * height).ceil() as usize;
    let rows = (HEAD.0 * height) as usize..(HEAD.1 * height) as usize;
    let inside = || {
        rows.clone().filter_map(|row| region.rows.get(row).map(|runs| (row + region.bounds[1], runs))).flat_map(
            |(y, runs)| {
                runs.iter().flat_map(move |r| {
                    let (x0, x1) = (r.x0 as usize + margin, (r.x1 as usize).saturating_sub(margin));
                    (x0..x1.max(x0)).map(move |x| (x, y))
                })
            },
        )
    };
    let darkest = inside().map(|(x, y)| departure.row(y)[x]).max().unwrap_or(0);
    let dark = |x: usize, y: usize| f64::from(departure.row(y)[x]) >= DARK * f64::from(darkest);
    let patch = |x: usize, y: usize| {
        dark(x, y)
            && y >= reach
            && y + reach < departure.height
            && [(x - reach.min(x), y), (x + reach, y), (x, y - reach), (x, y + reach)]
                .iter()
                .all(|&(x, y)| x < departure.width && dark(x, y))
    };
    let (patches, total) =
        inside().fold((0u32, 0u32), |(p, t), (x, y)| (p + u32::from(patch(x, y)), t + 1));
    f64::from(patches) / f64::from(total.max(1))
}

impl Figure {
    /// The figure as a report describes it.
    pub fn describe(&self, name: String, facing: Facing, sheet: usize) -> DrawnView {
        DrawnView {
            name,
            sheet,
            box_px: self.box_px,
            facing,
            crown_px: self.crown_px,
            ground_px: self.ground_px,
            line_px: self.line_px,
            confidence: self.confidence,
            warnings: self.warnings.clone(),
        }
    }
}
