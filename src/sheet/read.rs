//! The whole way from a picture to drawn figures, step by step.

use super::edge::{self, Edge, LineEdge, refine};
use super::figures::{self, Pocket, Region};
use super::gaps::{self, Bridge};
use super::level::Levelling;
use super::lines::{self, Course, StraightLine};
use super::picture::Picture;
use super::runs::{Run, Runs};
use super::slits;
use super::tone::{Departure, Paper};
use super::trace;
use crate::error::{Error, Result};

use crate::profile::Outline;
use crate::space::{Level, Upright};

/// Smallest turn that is taken out: below it a row of 2,000 pixels stays within half a pixel.
const LEAST_SKEW_DEG: f64 = 0.015;
/// A pocket smaller than this share of its figure's area is a speck (an eye's highlight).
const LEAST_POCKET: f64 = 0.0004;
/// At least this share of a figure's area must depart from the paper for its enclosed paper to be ground.
const FILLED_SHARE: f64 = 0.62;
/// A mark of an inked figure departs from the paper by at least this share of what its ink does: the tapered ends of
/// strokes stay above it, uneven paper below.
const INK_SHARE: f64 = 0.2;
/// Where a head is looked for, in shares of the height from the crown.
const HEAD: (f64, f64) = (0.03, 0.30);
/// The darkest ink departs from the paper by at least this share of the largest departure in any head.
const DARK: f64 = 0.95;
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
    /// Share of the head's inside that is dark patches: a face has eyes, the back of a head has none.
    pub face: f64,
    /// How sure the reading is.
    pub confidence: f64,
    /// What made the reader unsure.
    pub warnings: Vec<String>,
}

/// Reads the figures of a picture.
///
/// # Errors
/// No figure, a figure that the border cuts off, or more figures than a turnaround has.
pub fn read(picture: &Picture, edge: LineEdge) -> Result<Reading> {
    let paper = Paper::find(picture);
    let mut departure = paper.departure(picture);
    let straight = lines::find(&departure);
    let skew = lines::skew_of(&straight).unwrap_or(0.0).to_degrees();
    let skew_deg = if skew.abs() < LEAST_SKEW_DEG { 0.0 } else { skew };
    lines::erase(&mut departure, &straight);
    let levelling = Levelling::new(picture.width(), picture.height(), skew_deg);

    let (mut whole, mut cut, mut bridges) = candidates(&departure);
    if let Some(raised) = raised_threshold(picture, &paper, &departure, &whole) {
        departure.threshold = raised;
        (whole, cut, bridges) = candidates(&departure);
    }
    check(&whole, &cut)?;
    let mut figures = whole
        .iter()
        .map(|region| figure(picture, &paper, &departure, region, &bridges, &levelling, edge))
        .collect::<Vec<_>>();
    find_faces(&departure, &whole, &mut figures);
    Ok(Reading {
        levelling,
        skew_deg,
        guide_lines_px: guides(&straight, &levelling, picture),
        figures,
    })
}

/// The figures that the marks above the threshold show, those that the border cuts off, and the closed gaps.
fn candidates(departure: &Departure) -> (Vec<Region>, Vec<Region>, Vec<Bridge>) {
    let marks = Runs::at_least(&departure.values, departure.width, departure.threshold);
    let (marks, bridges) = close(departure, marks);
    let (whole, cut) = figures::choose(figures::regions(&marks), departure.height);
    (whole, cut, bridges)
}

/// Where every figure has an ink line, marks far weaker than the ink are no outline: blotches of the paper, rubbed
/// pencil. The threshold to use instead, if it is higher.
fn raised_threshold(picture: &Picture, paper: &Paper, departure: &Departure, whole: &[Region]) -> Option<u8> {
    let ink = whole
        .iter()
        .map(|r| {
            edge::ink(
                picture,
                paper,
                departure.threshold,
                &trace::rings(r, &[]),
                r.height() as f64,
            )
        })
        .collect::<Option<Vec<f64>>>()?;
    // The figure with the palest line decides.
    let raised = (INK_SHARE * ink.into_iter().reduce(f64::min)?) as u8;
    (raised > departure.threshold).then_some(raised)
}

/// Closes the gaps of the outlines; returns the marks with the bridges drawn in, and the bridges.
fn close(departure: &Departure, marks: Runs) -> (Runs, Vec<Bridge>) {
    // The figures' height is not known yet; the tallest region of marks comes close, gaps or no gaps.
    let tallest = figures::regions(&marks)
        .iter()
        .filter(|r| !r.cut)
        .map(Region::height)
        .max()
        .unwrap_or(departure.height * 3 / 4);
    let marks = match gaps::slits(departure, &marks, &figures::outside(&marks)) {
        Some(radius) => slits::close(&marks, radius),
        None => marks,
    };
    let bridges = gaps::find(departure, &marks, tallest as f64);
    if bridges.is_empty() {
        return (marks, bridges);
    }
    let width = (tallest as f64 * 0.003).max(3.0);
    let extra: Vec<(usize, Run)> = bridges.iter().flat_map(|b| b.runs(width)).collect();
    (marks.with(&extra), bridges)
}

fn check(whole: &[Region], cut: &[Region]) -> Result<()> {
    let tallest = whole.iter().map(Region::height).max().unwrap_or(0);
    if let Some(r) = cut.iter().find(|r| r.height() as f64 > 0.8 * tallest as f64) {
        let [x0, y0, x1, y1] = r.bounds;
        return Err(Error::new("a figure is cut off at the border of the picture")
            .at(format!("x {x0} to {x1}, y {y0} to {y1}"))
            .advise("scan it again with paper all around the figure"));
    }
    if whole.is_empty() {
        return Err(Error::new("no figure can be read in this picture")
            .advise("a figure needs a closed outline, or colours that differ from the paper"));
    }
    if tallest < LEAST_FIGURE_PX {
        return Err(Error::new(format!("the figures are only {tallest} pixels tall"))
            .advise("scan at a higher resolution"));
    }
    if whole.len() > MOST_FIGURES {
        return Err(
            Error::new(format!("{} figures are too many for a turnaround", whole.len()))
                .advise("cut the sheet so that it shows the views of one figure"),
        );
    }
    Ok(())
}

fn guides(straight: &[StraightLine], levelling: &Levelling, picture: &Picture) -> Vec<f64> {
    let mut out: Vec<f64> = straight
        .iter()
        .filter(|l| l.course == Course::Across)
        .map(|l| {
            levelling
                .level(crate::space::Point::new(picture.width() as f64 / 2.0, l.middle))
                .y
        })
        .collect();
    out.sort_by(f64::total_cmp);
    out
}

fn figure(
    picture: &Picture,
    paper: &Paper,
    departure: &Departure,
    region: &Region,
    bridges: &[Bridge],
    levelling: &Levelling,
    edge: LineEdge,
) -> Figure {
    let mut warnings = Vec::new();
    let height = region.height() as f64;
    let outer = trace::rings(region, &[]);
    let first = refine(picture, paper, departure.threshold, &outer, height, edge);
    let holes: Vec<&Pocket> = region
        .pockets
        .iter()
        .filter(|p| p.area as f64 >= LEAST_POCKET * region.area as f64)
        .filter(|_| is_ground(paper, region, &first))
        .collect();
    if !holes.is_empty() && !paper.transparent {
        warnings.push(format!(
            "{} enclosed areas of the paper's colour are taken as ground",
            holes.len()
        ));
    }
    let Edge {
        rings,
        box_px,
        line_px,
        clean,
    } = if holes.is_empty() {
        first
    } else {
        let runs: Vec<(usize, Run)> = holes.iter().flat_map(|p| p.runs.iter().copied()).collect();
        refine(
            picture,
            paper,
            departure.threshold,
            &trace::rings(region, &runs),
            height,
            edge,
        )
    };
    let mut closed = 0.0;
    for b in bridges {
        // A label beside the figure lies in its box, too.
        if region.contains(b.from[0], b.from[1]) {
            closed += b.length();
            warnings.push(format!(
                "outline open near x {:.0}, y {:.0} (gap {:.0} px), closed",
                (b.from[0] + b.to[0]) / 2.0,
                (b.from[1] + b.to[1]) / 2.0,
                b.length()
            ));
        }
    }
    let upright = Outline { rings };
    let level = Outline {
        rings: upright
            .rings
            .iter()
            .map(|r| r.iter().map(|p| levelling.level(*p)).collect())
            .collect(),
    };
    let (crown_px, ground_px) = level.bounds().map_or((0.0, 0.0), |b| (b.y0, b.y1));
    // Undisturbed outline makes a reading sure, closed gaps take from it.
    let confidence = (clean - 4.0 * closed / upright.perimeter().max(1.0)).clamp(0.05, 0.99);
    Figure {
        box_px,
        face: 0.0,
        upright,
        level,
        crown_px,
        ground_px,
        line_px,
        confidence,
        warnings,
    }
}

/// Whether paper that a figure encloses is ground: it is on transparent paper and in flat colour without a line, if
/// the figure's surface departs from the paper nearly everywhere. Inside an ink line, paper is the figure's own
/// surface.
fn is_ground(paper: &Paper, region: &Region, edge: &Edge) -> bool {
    let enclosed: u64 = region.pockets.iter().map(|p| p.area).sum();
    let marked = 1.0 - enclosed as f64 / region.area as f64;
    marked > FILLED_SHARE && (paper.transparent || edge.line_px == 0.0)
}

/// The pixels inside a figure's head, away from its outline.
fn head<'a>(region: &'a Region, line_px: f64) -> impl Iterator<Item = (usize, usize)> + 'a {
    let height = region.height() as f64;
    let margin = (3.0 * line_px).max(0.012 * height) as usize;
    let rows = (HEAD.0 * height) as usize..(HEAD.1 * height) as usize;
    rows.filter_map(|row| region.rows.get(row).map(|runs| (row + region.bounds[1], runs)))
        .flat_map(move |(y, runs)| {
            runs.iter().flat_map(move |r| {
                let (x0, x1) = (r.x0 as usize + margin, (r.x1 as usize).saturating_sub(margin));
                (x0..x1.max(x0)).map(move |x| (x, y))
            })
        })
}

/// How much of each head's inside is the sheet's darkest ink in patches thicker than a line: eyes, mouth, brows.
/// Strands of hair are lines, and a head of hair is paler than the eyes of the view that shows the face.
fn find_faces(departure: &Departure, regions: &[Region], figures: &mut [Figure]) {
    let value = |x: usize, y: usize| departure.row(y)[x];
    let darkest = regions
        .iter()
        .zip(figures.iter())
        .flat_map(|(r, f)| head(r, f.line_px))
        .map(|(x, y)| value(x, y))
        .max()
        .unwrap_or(0);
    let dark = |x: usize, y: usize| f64::from(value(x, y)) >= DARK * f64::from(darkest);
    for (region, figure) in regions.iter().zip(figures) {
        let reach = (0.6 * figure.line_px).max(0.0012 * region.height() as f64).ceil() as usize;
        let patch = |x: usize, y: usize| {
            dark(x, y)
                && x >= reach
                && y >= reach
                && x + reach < departure.width
                && y + reach < departure.height
                && dark(x - reach, y)
                && dark(x + reach, y)
                && dark(x, y - reach)
                && dark(x, y + reach)
        };
        let (patches, total) = head(region, figure.line_px)
            .fold((0u32, 0u32), |(p, t), (x, y)| (p + u32::from(patch(x, y)), t + 1));
        figure.face = f64::from(patches) / f64::from(total.max(1));
    }
}
