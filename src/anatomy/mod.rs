//! Parts and landmarks of a standing figure, read off its outline in one view.
//!
//! The drawing and the mesh are both divided here, by the same rules, so that what is compared is the same thing. What
//! an outline does not show is left out, never guessed. Knows nothing of where an outline came from.
//!
//! Limits: a figure that stands on two legs; pieces that do not touch in the view belong to no arm; in a side view arms
//! are part of the trunk; where an arm lies on the body without a gap between them, no outline tells them apart.

mod arms;
mod cells;
mod frontal;
mod parts;
mod profile;
mod rows;
mod turns;

pub use arms::{Arm, Station};
pub use parts::{Part, Region, Side};

use crate::profile::Outline;
use crate::silhouette::Azimuth;
use crate::space::ViewUnits;
use cells::Cells;
use rows::Rows;

/// Names of all landmarks, from the crown down.
pub const NAMES: [&str; 15] = [
    "crown",
    "chin",
    "neck",
    "shoulder",
    "armpit",
    "elbow",
    "wrist",
    "fingertip",
    "chest",
    "waist",
    "hip",
    "crotch",
    "knee",
    "ankle",
    "ground",
];

/// How a landmark was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Found {
    /// The outline turns, parts or ends there.
    Outline,
    /// A guide line of the sheet bears its name.
    GuideLine,
    /// A person set it.
    Setup,
}

/// A named height.
#[derive(Debug, Clone, PartialEq)]
pub struct Landmark {
    /// One of [`NAMES`].
    pub name: &'static str,
    /// Its height, units.
    pub y: f64,
    /// It lies within so much of it, units: a neck is as narrow over some of its length.
    pub within: f64,
    /// How sure it is, 0 to 1: by how clearly the outline shows it.
    pub confidence: f64,
    /// How it was found.
    pub found: Found,
}

/// From where a figure is seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Aspect {
    /// From the front or from behind.
    Frontal,
    /// From the side; the figure looks towards `forward` times x, 1 or -1.
    Profile {
        /// 1 or -1.
        forward: f64,
    },
    /// From between.
    Between,
}

impl Aspect {
    /// What a view from an azimuth shows.
    pub fn of(azimuth: Azimuth) -> Self {
        match azimuth {
            Azimuth::FRONT | Azimuth::BACK => Self::Frontal,
            Azimuth::FACING_RIGHT => Self::Profile { forward: 1.0 },
            Azimuth::FACING_LEFT => Self::Profile { forward: -1.0 },
            _ => Self::Between,
        }
    }
}

/// Heights that are known before a figure is looked at.
#[derive(Debug, Clone, Copy)]
pub struct Frame {
    /// Height of the ground, units.
    pub ground: f64,
    /// Height of the whole figure, also where this one has no head, units.
    pub height: f64,
    /// Height of the crotch where another view shows it: no side view does.
    pub crotch: Option<f64>,
    /// Height of the neck in another view: seen from the side a waist may look like one.
    pub neck: Option<f64>,
}

impl Frame {
    fn share(&self, y: f64) -> f64 {
        (y - self.ground) / self.height
    }
}

/// A figure in one view, divided.
#[derive(Debug, Clone)]
pub struct Anatomy {
    /// From the ground up.
    pub landmarks: Vec<Landmark>,
    /// Arms that stand out, the left one as seen first.
    pub arms: Vec<Arm>,
    cells: Cells,
    parts: Vec<Option<Part>>,
}

impl Anatomy {
    /// Divides an outline.
    pub fn of(outline: &Outline<ViewUnits>, frame: &Frame, aspect: Aspect) -> Self {
        let rows = Rows::of(outline);
        let cells = Cells::of(outline, frame.height);
        let mut landmarks = match aspect {
            Aspect::Frontal | Aspect::Between => frontal::landmarks(&rows, frame),
            Aspect::Profile { forward } => profile::landmarks(&rows, frame, forward),
        };
        let axis = rows.axis();
        let arms = match aspect {
            Aspect::Profile { .. } => Vec::new(),
            _ => arms::find(&cells, &landmarks, frame, axis),
        };
        let parts = parts::divide(&cells, &rows, &landmarks, &arms, frame, (axis, aspect));
        if aspect == Aspect::Frontal {
            let trunk = |x: f64, y: f64| at(&cells, &parts, x, y).is_some_and(|p| p.region == Region::Trunk);
            landmarks.extend(frontal::of_trunk(&rows, &landmarks, trunk));
            landmarks.extend(arms::landmarks(&arms, frame));
        }
        landmarks.sort_by(|a, b| a.y.total_cmp(&b.y));
        Self {
            landmarks,
            arms: arms.into_iter().map(|a| a.arm).collect(),
            cells,
            parts,
        }
    }

    /// The part that lies at a place of the view or within a cell's reach of it.
    pub fn part_at(&self, x: f64, y: f64) -> Option<Part> {
        at(&self.cells, &self.parts, x, y)
    }

    /// The parts that a row meets between two places, in order.
    pub fn parts_between(&self, x0: f64, x1: f64, y: f64) -> Vec<Part> {
        let mut out: Vec<Part> = Vec::new();
        for part in self.cells.between(x0, x1, y).filter_map(|i| self.parts[i]) {
            if out.last() != Some(&part) {
                out.push(part);
            }
        }
        out
    }

    /// The landmark of a name.
    pub fn landmark(&self, name: &str) -> Option<&Landmark> {
        self.landmarks.iter().find(|l| l.name == name)
    }
}

fn at(cells: &Cells, parts: &[Option<Part>], x: f64, y: f64) -> Option<Part> {
    cells.nearest(x, y).and_then(|i| parts[i])
}

/// The landmark of a name among some.
fn height_of(landmarks: &[Landmark], name: &str) -> Option<f64> {
    landmarks.iter().find(|l| l.name == name).map(|l| l.y)
}

/// The landmarks next below and next above a height, lower one first; empty beyond them.
pub fn between(landmarks: &[Landmark], y: f64) -> Vec<String> {
    let below = landmarks.iter().rev().find(|l| l.y <= y);
    let above = landmarks.iter().find(|l| l.y > y);
    match (below, above) {
        (Some(b), Some(a)) => vec![b.name.to_string(), a.name.to_string()],
        _ => Vec::new(),
    }
}

/// A figure's top is its crown above this share of the height, and its bottom its ground below the rest: a mesh without
/// a head has no crown.
const NEARLY_WHOLE: f64 = 0.88;

/// Crown and ground, where the figure has them.
fn ends(rows: &Rows, frame: &Frame) -> Vec<Landmark> {
    let mut out = Vec::new();
    if rows.len() > 0 && frame.share(rows.bottom()) < 1.0 - NEARLY_WHOLE {
        out.push(seen("ground", rows.bottom(), 0.95));
    }
    if rows.len() > 0 && frame.share(rows.top()) > NEARLY_WHOLE {
        out.push(seen("crown", rows.top(), 0.95));
    }
    out
}

/// A landmark where a curve over rows is lowest or highest: the middle of the stretch where it is so to `flat`.
fn at_turn(
    name: &'static str,
    (values, y_of): (&[f64], impl Fn(usize) -> f64),
    at: usize,
    flat: f64,
    confidence: f64,
) -> Landmark {
    let near = |k: &usize| (values[*k] - values[at]).abs() <= flat;
    let first = (0..at).rev().take_while(near).last().unwrap_or(at);
    let last = (at + 1..values.len()).take_while(near).last().unwrap_or(at);
    let (a, b) = (y_of(first), y_of(last));
    Landmark {
        within: (a - b).abs() / 2.0,
        ..seen(name, f64::midpoint(a, b), confidence)
    }
}

/// Curves are as low or high over a stretch where they differ by at most this share of the height: a hand is true to
/// 0.15 %.
const FLAT: f64 = 0.0015;

/// How sure a turn of a curve is that swings by `by`, where `least` is the smallest that counts.
fn sure(by: f64, least: f64) -> f64 {
    /// Nothing that is read off an outline is certain.
    const MOST: f64 = 0.95;
    (1.0 - 0.5 * least / by.max(least)).min(MOST)
}

/// A landmark that the outline shows at one height.
fn seen(name: &'static str, y: f64, confidence: f64) -> Landmark {
    Landmark {
        name,
        y,
        within: 0.0,
        confidence,
        found: Found::Outline,
    }
}
