//! The whole way from a picture to drawn figures, step by step.

use rayon::prelude::*;

use super::confidence;
use super::edge::{self, Edge, LineEdge, Look, refine};
use super::ends;
use super::evidence::{Evidence, Sheet};
use super::faces;
use super::figures::{self, Pocket, Region};
use super::gaps::{self, Bridge};
use super::holes::{self, Enclosed};
use super::ink::{self, Pen};
use super::level::Levelling;
use super::lines::{self, Course, StraightLine};
use super::overrule::{self, Overrules};
use super::picture::Picture;
use super::runs::{Run, Runs};
use super::slits;
use super::small;
use super::steps::{Step, Watch};
use super::strip;
use super::tilt;
use super::tone::{Departure, Paper};
use super::trace;
use super::views::{self, Shows, Signs};
use super::warnings::{self, Gap};
use crate::error::{Error, Result};

use crate::profile::Outline;
use crate::space::{Level, Upright};

/// Smallest turn that is taken out: below it a row of 2,000 pixels stays within half a pixel.
const LEAST_SKEW_DEG: f64 = 0.015;
/// Width of the stroke that closes a gap, as a share of the figure's height: about a line's.
const BRIDGE_WIDTH: f64 = 0.003;
/// And at least this many pixels, so that it holds at corners.
const LEAST_BRIDGE_PX: f64 = 3.0;
/// How far to the sides of a bridge it is looked at what lies there, pixels: beyond half its width.
const BESIDE_BRIDGE_PX: f64 = 5.0;
/// Width of strokes that may hang on a figure whose own line is not known, as a share of its height.
const USUAL_LINE: f64 = 0.0028;
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
    /// What each of them marks, where a person said it; shorter than the list where nothing was said.
    pub guide_means: Vec<String>,
    /// Whether a person put the line where the sheet has none; shorter than the list where nobody did.
    pub guide_given: Vec<bool>,
    /// How far a mark departs from the paper, of 255.
    pub threshold: u8,
    /// The drawn figures, row by row from the top, in each from left to right.
    pub figures: Vec<Figure>,
}

/// An area of the paper's colour that a figure encloses.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EnclosedArea {
    /// A place in it, upright pixels.
    pub place: [f64; 2],
    /// It is taken as ground, not as part of the figure.
    pub ground: bool,
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
    /// The drawing itself tells that it is seen from between front and side, or between back and side.
    pub oblique: bool,
    /// Enclosed areas that are ground or could be.
    pub enclosed: Vec<EnclosedArea>,
    /// Where the outline was open and a gap was closed: its two ends, upright pixels.
    pub closed: Vec<[[f64; 2]; 2]>,
    /// Nearly straight pieces of the outline where it is faint or something touches it: their two ends, upright pixels.
    pub doubtful: Vec<[[f64; 2]; 2]>,
    /// How far the climb to the ink reaches beyond half of the line's width, pixels: blur.
    pub soft_px: f64,
    /// How sure the reading is, see [`super::confidence`].
    pub confidence: f64,
    /// What tells how sure it is.
    pub evidence: Evidence,
    /// What made the reader unsure.
    pub warnings: Vec<String>,
}

/// Reads the figures of a picture.
///
/// # Errors
/// No figure, a figure that the border cuts off, or more figures than a turnaround has.
pub fn read(picture: &Picture, edge: LineEdge) -> Result<Reading> {
    let overrules = Overrules {
        edge,
        ..Overrules::default()
    };
    read_overruled(picture, &overrules)
}

/// The same, with what a person overrules.
///
/// # Errors
/// As [`read`]; a listed box that no figure is in.
pub fn read_overruled(picture: &Picture, overrules: &Overrules) -> Result<Reading> {
    read_watched(picture, overrules, &mut ())
}

/// The same, and somebody sees what each step saw.
///
/// # Errors
/// As [`read_overruled`]; the steps up to the error are seen.
pub fn read_watched(picture: &Picture, overrules: &Overrules, watch: &mut dyn Watch) -> Result<Reading> {
    let erased = overrule::erased(picture, &overrules.erase);
    let picture = erased.as_ref().unwrap_or(picture);
    let factor = small::factor(picture.height());
    let reduced = (factor > 1).then(|| small::reduced(picture, factor));
    let small = reduced.as_ref().unwrap_or(picture);
    let paper = Paper::find(small);
    let mut departure = paper.departure(small);
    departure.threshold = overrules.threshold.unwrap_or(departure.threshold);
    let straight = lines::find(&departure, small, &paper);
    // The step before the lines were taken out is shown when the turn is known.
    let flattened = (!straight.is_empty()).then(|| departure.clone());
    lines::erase(&mut departure, &straight, small, &paper);

    let mut seen = look(small, &paper, &departure, &straight, overrules);
    let skew = lines::skew_of(&straight).or_else(|| tilt::skew_of(&seen.whole));
    let skew = skew.unwrap_or(0.0).to_degrees();
    let skew_deg = if skew.abs() < LEAST_SKEW_DEG { 0.0 } else { skew };
    let levelling = Levelling::new(picture.width(), picture.height(), skew_deg);
    watch.see(&Step::Levelled {
        picture: small,
        levelling,
        factor,
    });
    watch.see(&Step::Flattened(flattened.as_ref().unwrap_or(&departure)));
    drop(flattened);
    watch.see(&Step::Guides(&straight));
    watch.see(&Step::Marks(&seen.strokes));
    watch.see(&Step::Closed {
        marks: &seen.marks,
        bridges: &seen.bridges,
    });
    watch.see(&Step::Figures(&seen.whole));
    seen.whole = overrule::chosen(seen.whole, &overrules.boxes, factor)?;
    check(&seen)?;
    let full = Full {
        picture,
        paper: &paper,
        factor,
        levelling,
        overrules,
    };
    let sheet = Sheet::new(&departure, &seen.strokes, &seen.whole);
    let mut figures: Vec<Figure> = seen
        .whole
        .par_iter()
        .map(|r| full.figure(&sheet, &seen, r))
        .collect();
    let heads: Vec<(&Region, f64)> = seen
        .whole
        .iter()
        .zip(figures.iter().map(|f| f.line_px / factor as f64))
        .collect();
    for (figure, face) in figures.iter_mut().zip(faces::find(&departure, &heads)) {
        figure.face = face;
    }
    let signs: Vec<Signs> = figures
        .par_iter()
        .map(|f| views::signs(&f.level, f.face))
        .collect();
    let shows = views::shows(&signs);
    for (figure, shows) in figures.iter_mut().zip(&shows) {
        figure.oblique = *shows == Shows::Oblique;
    }
    let fronts = views::fronts(&signs, &shows);
    if fronts.len() > 1 {
        for i in fronts {
            figures[i].warnings.push(warnings::FACELESS.to_string());
        }
    }
    confidence::judge(&mut figures, &signs);
    Ok(Reading {
        levelling,
        skew_deg,
        guide_lines_px: guides(&straight, &levelling, factor),
        guide_means: Vec::new(),
        guide_given: Vec::new(),
        threshold: departure.threshold,
        figures,
    })
}

/// What one way of telling marks from paper shows.
struct Seen {
    /// Marks before gaps were closed.
    strokes: Runs,
    /// And after.
    marks: Runs,
    /// Figures.
    whole: Vec<Region>,
    /// Figures that the border cuts off.
    cut: Vec<Region>,
    /// Closed gaps.
    bridges: Vec<Bridge>,
}

/// Looks for figures: in a line drawing among its strokes; otherwise among all that departs from the paper and, if
/// what was found has a line all around, among the strokes after all.
fn look(
    small: &Picture,
    paper: &Paper,
    departure: &Departure,
    straight: &[StraightLine],
    overrules: &Overrules,
) -> Seen {
    // A guide line that crosses a shadow is narrow only once the shadow is taken away.
    let strokes = |pen: &Pen| {
        let grey = ink::is_grey(departure, pen, small, paper)
            .then(|| paper.least_departure(small, departure.threshold));
        let mut narrow = ink::narrow(grey.as_ref().unwrap_or(departure), pen);
        lines::erase(&mut narrow, straight, small, paper);
        Runs::at_least(&narrow.values, narrow.width, narrow.threshold)
    };
    let pen = ink::pen(departure);
    if let Some(pen) = pen {
        let seen = candidates(departure, &strokes(&pen), Some(pen), overrules);
        if !seen.whole.is_empty() {
            return seen;
        }
    }
    let all = Runs::at_least(&departure.values, departure.width, departure.threshold);
    let plain = candidates(departure, &all, None, overrules);
    let Some(pen) = outline_pen(small, paper, departure, &plain.whole) else {
        return plain;
    };
    let inked = candidates(departure, &strokes(&pen), Some(pen), overrules);
    if inked.whole.len() >= plain.whole.len() {
        inked
    } else {
        plain
    }
}

/// Figures, those that the border cuts off, and the closed gaps among marks.
fn candidates(departure: &Departure, marks: &Runs, pen: Option<Pen>, overrules: &Overrules) -> Seen {
    let strokes = figures::without_borders(marks);
    let (marks, bridges) = close(strokes.clone(), pen.is_some(), overrules.widest_gap_pct);
    let (whole, cut) = figures::choose(figures::regions(&marks), departure.height, overrules.from_above);
    let line_px = |r: &Region| pen.map_or((USUAL_LINE * r.height() as f64).max(1.0), |p| p.width);
    let whole = whole.par_iter().map(|r| strip::strokes(r, line_px(r))).collect();
    Seen {
        strokes,
        marks,
        whole,
        cut,
        bridges,
    }
}

/// The pen that figures are outlined with, if all are.
fn outline_pen(small: &Picture, paper: &Paper, departure: &Departure, whole: &[Region]) -> Option<Pen> {
    let pens = whole
        .iter()
        .map(|r| {
            edge::pen(
                small,
                paper,
                departure.threshold,
                &trace::rings(r, &[]),
                r.height() as f64,
            )
        })
        .collect::<Option<Vec<Pen>>>()?;
    // The figure with the palest line decides.
    pens.into_iter().min_by(|a, b| a.strength.total_cmp(&b.strength))
}

/// Closes the gaps of the outlines; returns the marks with the bridges drawn in, and the bridges. Broken strokes are
/// joined first, narrow places come next; slits last, as they show only once no wider gap lets the outside in. Wider
/// openings than `widest_pct` percent of the figure height stay open.
fn close(mut marks: Runs, strokes: bool, widest_pct: Option<f64>) -> (Runs, Vec<Bridge>) {
    let figure_px = gaps::figure_height(&marks);
    let width = (figure_px * BRIDGE_WIDTH).max(LEAST_BRIDGE_PX);
    let mut bridges = Vec::new();
    // What the outside reaches, as long as the marks stay as they are.
    let mut reached = None;
    let steps: [fn(&Runs, f64) -> Vec<Bridge>; 2] = [ends::join, gaps::narrows];
    for (i, step) in steps.into_iter().enumerate() {
        // A break in the border of enclosed ground is no leak, so strokes are joined in any case; fills have no ends.
        if i > 0 || !strokes {
            let reached = reached.get_or_insert_with(|| figures::outside(&marks));
            if !gaps::leaks(&marks, reached, figure_px) {
                break;
            }
        }
        let mut found = step(&marks, figure_px);
        if let Some(pct) = widest_pct {
            found.retain(|b| b.length() <= pct / 100.0 * figure_px);
        }
        let extra: Vec<(usize, Run)> = found.iter().flat_map(|b| b.runs(width)).collect();
        if !extra.is_empty() {
            marks = marks.with(&extra);
            reached = None;
        }
        bridges.extend(found);
    }
    let reached = reached.unwrap_or_else(|| figures::outside(&marks));
    if let Some(radius) = gaps::slits(&marks, &reached) {
        marks = slits::close(&marks, &reached, radius);
    }
    (marks, bridges)
}

fn check(seen: &Seen) -> Result<()> {
    let (whole, cut) = (&seen.whole, &seen.cut);
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

fn guides(straight: &[StraightLine], levelling: &Levelling, factor: usize) -> Vec<f64> {
    let mut out: Vec<f64> = straight
        .iter()
        .filter(|l| l.course == Course::Across)
        .map(|l| {
            let y = l.middle * factor as f64;
            levelling.level(crate::space::Point::new(levelling.centre.0, y)).y
        })
        .collect();
    out.sort_by(f64::total_cmp);
    out
}

/// Whether a closed gap lies on a region's border: one side of it inside, the other not.
fn opens(region: &Region, bridge: &Bridge) -> bool {
    let (dx, dy) = (bridge.to[0] - bridge.from[0], bridge.to[1] - bridge.from[1]);
    let away = BESIDE_BRIDGE_PX / dx.hypot(dy).max(1e-9);
    let side = |sign: f64| {
        let x = (bridge.from[0] + bridge.to[0]) / 2.0 - sign * dy * away;
        let y = (bridge.from[1] + bridge.to[1]) / 2.0 + sign * dx * away;
        region.contains(x, y)
    };
    side(1.0) != side(-1.0)
}

/// The full picture, from which outlines are read.
struct Full<'a> {
    picture: &'a Picture,
    /// In pixels of the reduced picture.
    paper: &'a Paper,
    factor: usize,
    levelling: Levelling,
    overrules: &'a Overrules,
}

impl Full<'_> {
    /// The outline of a region less holes in it; `before`: a look along it as a whole.
    fn refine(&self, threshold: u8, region: &Region, holes: &[(usize, Run)], before: Option<&Look>) -> Edge {
        let height = (region.height() * self.factor) as f64;
        let rings = trace::rings(region, holes);
        refine(
            self.picture,
            self.paper,
            threshold,
            &rings,
            self.factor,
            height,
            self.overrules.edge,
            before,
        )
    }

    fn figure(&self, sheet: &Sheet<'_>, seen: &Seen, region: &Region) -> Figure {
        let departure = sheet.departure;
        let mut warnings = Vec::new();
        let (first, (weights, gathered)) = rayon::join(
            || self.refine(departure.threshold, region, &[], None),
            || {
                rayon::join(
                    || holes::weigh(departure, &seen.marks, region),
                    || sheet.gather(region),
                )
            },
        );
        let cut_out = self.paper.transparent || first.line_px == 0.0;
        let decided = holes::decide(departure, region, weights.as_ref(), cut_out);
        let (mut doubtful, mut weighed) = (0u64, 0u64);
        let mut surface = Vec::new();
        let mut ground: Vec<(usize, Run)> = Vec::new();
        let mut enclosed = Vec::new();
        for (pocket, found) in region.pockets.iter().zip(decided) {
            let said = self.overrules.enclosed(pocket, self.factor);
            let what = said.unwrap_or(found.what);
            if said.is_some() || what != Enclosed::Surface {
                enclosed.push(EnclosedArea {
                    place: self.place_in(pocket),
                    ground: matches!(what, Enclosed::Ground | Enclosed::PerhapsGround),
                });
            }
            if matches!(what, Enclosed::Ground | Enclosed::PerhapsGround) {
                ground.extend_from_slice(&pocket.runs);
            }
            if !matches!(what, Enclosed::Ground | Enclosed::Surface) {
                doubtful += pocket.area;
            }
            if said.is_none() && what == Enclosed::Ground && !cut_out {
                weighed += pocket.area;
            }
            if said.is_none() && what == Enclosed::Surface {
                surface.push((pocket, found.heavy));
            }
            if said.is_none() && what != Enclosed::Surface {
                let beside = holes::beside(region, pocket);
                warnings.push(warnings::enclosed(self.place_in(pocket), beside, what));
            }
        }
        let Edge {
            rings,
            box_px,
            line_px,
            seen: traces,
            ..
        } = if ground.is_empty() {
            first
        } else {
            self.refine(departure.threshold, region, &ground, Some(&first.look))
        };
        let scale = self.factor as f64;
        let open: Vec<&Bridge> = seen.bridges.iter().filter(|b| opens(region, b)).collect();
        let closed = scale * open.iter().map(|b| b.length()).sum::<f64>();
        let gaps: Vec<Gap> = open
            .iter()
            .map(|b| Gap {
                ends: [b.from, b.to].map(|p| p.map(|v| v * scale)),
            })
            .collect();
        warnings.extend(warnings::gaps(&gaps));
        let upright = Outline { rings };
        let level = Outline {
            rings: upright
                .rings
                .iter()
                .map(|r| r.iter().map(|p| self.levelling.level(*p)).collect())
                .collect(),
        };
        let (crown_px, ground_px) = level.bounds().map_or((0.0, 0.0), |b| (b.y0, b.y1));
        let square = (region.height() as f64).powi(2);
        let mut evidence = Evidence {
            closed: closed / upright.perimeter().max(1.0),
            doubtful: doubtful as f64 / square,
            ..Evidence::gather(sheet, region, &gathered, &upright, &traces, scale, line_px)
        };
        evidence.add_weighed(weighed as f64 / square, line_px / scale);
        for (pocket, heavy) in surface {
            evidence.add_surface(sheet, region, pocket, heavy, line_px / scale);
        }
        let doubtful = warnings::doubtful(&upright, &traces, line_px);
        warnings.extend(warnings::stretches_named(&doubtful));
        Figure {
            box_px,
            face: 0.0,
            oblique: false,
            upright,
            level,
            crown_px,
            ground_px,
            line_px,
            enclosed,
            closed: gaps.iter().map(|g| g.ends).collect(),
            doubtful: doubtful.into_iter().flat_map(|s| s.pieces).collect(),
            soft_px: evidence.soft * region.height() as f64 * scale,
            confidence: 0.0,
            evidence,
            warnings,
        }
    }

    /// A place in a pocket, upright pixels.
    fn place_in(&self, pocket: &Pocket) -> [f64; 2] {
        let (y, run) = pocket.runs[pocket.runs.len() / 2];
        let scale = self.factor as f64;
        [f64::from(run.x0 + run.x1) / 2.0 * scale, (y as f64 + 0.5) * scale]
    }
}
