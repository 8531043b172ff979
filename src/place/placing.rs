//! What placing a sheet takes and gives: drawn figures, what a person said of them, and where each lies on the mesh.

use serde::{Deserialize, Serialize};

use super::fit::{Drawn, Known, Spread};
use super::transform::Placement;
use crate::profile::Outline;
use crate::sheet::read::Figure;
use crate::sheet::views::Facing;
use crate::silhouette::Azimuth;
use crate::space::{Level, Point, ViewUnits};

/// Below this share of agreeing outline a placement rests on too little.
const LEAST_AGREEING: f64 = 0.25;
/// Another placement that costs less than this many times as much fits as well. By trial on bodies with missing and
/// wrong parts: the costs of true and false placements differ by a factor of 1.5 and more.
const RIVAL: f64 = 1.15;
/// A scale that is less sure than this (standard deviation, percent) cannot be measured with.
const LEAST_SURE_PCT: f64 = 2.0;

/// The mesh's outlines from any viewpoint, in the order of the viewpoints.
pub type Look<'a> = dyn Fn(&[Azimuth]) -> Vec<Outline<ViewUnits>> + Sync + 'a;

/// What is known of a drawn figure before the mesh is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Asked {
    /// Nothing: any view.
    Any,
    /// Given as a front view.
    Front,
    /// Given as a side view.
    Side,
    /// Given as a back view.
    Back,
    /// Given as a view from above.
    Top,
}

/// One drawn figure of one image.
pub struct Candidate<'a> {
    /// Index of its image.
    pub image: usize,
    /// What it was given as.
    pub asked: Asked,
    /// The figure as it was read.
    pub figure: &'a Figure,
    /// Levelled column of view x = 0, where a person gave it.
    pub axis_px: Option<f64>,
}

/// What a person gave; the rest is found.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Given {
    /// Height of the leading view's figure in mesh units, its ground at y = 0 unless `ground_y` says otherwise.
    pub figure_height: Option<f64>,
    /// Mesh units per pixel of the leading view's image; wins over the height.
    pub units_per_px: Option<f64>,
    /// Mesh height at which the leading view's ground lies.
    pub ground_y: Option<f64>,
    /// Which view leads: scale and ground are found from it alone.
    pub lead: Option<Lead>,
}

/// The view that leads where the drawn views differ.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Lead {
    /// The front view.
    Front,
    /// The side view.
    Side,
}

impl Lead {
    /// The view of a name.
    pub fn parse(text: &str) -> Option<Self> {
        match text {
            "front" => Some(Self::Front),
            "side" => Some(Self::Side),
            _ => None,
        }
    }

    /// As it is typed.
    pub fn name(self) -> &'static str {
        match self {
            Self::Front => "front",
            Self::Side => "side",
        }
    }

    /// Whether a view from an azimuth is meant.
    pub fn means(self, azimuth: Azimuth) -> bool {
        match self {
            Self::Front => azimuth == Azimuth::FRONT,
            Self::Side => azimuth == Azimuth::FACING_RIGHT || azimuth == Azimuth::FACING_LEFT,
        }
    }
}

impl Given {
    /// What is known once the leading view is.
    pub fn known(&self, lead: &Drawn) -> Known {
        Known {
            units_per_px: self
                .units_per_px
                .or(self.figure_height.map(|h| h / lead.height())),
            ground_y: self.ground_y.or(self.figure_height.map(|_| 0.0)),
        }
    }
}

/// A drawn figure with its place on the mesh.
#[derive(Debug, Clone)]
pub struct Placed {
    /// `front`, `side`, `back`, `three-quarter`, `top`, with a number for further ones.
    pub name: String,
    /// Where it looks; seen from above, where on the page the figure looks (`viewer`: down the page).
    pub facing: Facing,
    /// The mesh's view that it shows.
    pub azimuth: Azimuth,
    /// Where it lies.
    pub placement: Placement,
    /// Share of the mesh's outline that agrees with it.
    pub agreeing: f64,
}

impl Placed {
    /// A drawn outline in the view's units.
    pub fn outline(&self, level: &Outline<Level>) -> Outline<ViewUnits> {
        Outline {
            rings: level
                .rings
                .iter()
                .map(|r| r.iter().map(|q| self.placement.to_view(*q)).collect())
                .collect(),
        }
    }
}

/// All figures placed.
#[derive(Debug, Clone)]
pub struct Placing {
    /// One for each candidate.
    pub views: Vec<Placed>,
    /// Index of the leading view.
    pub lead: usize,
    /// Share of the mesh's outline that agrees with the drawing, over all views.
    pub agreeing: f64,
    /// Mean judged distance over the upright views, 0 to 1; what readings of the mesh's axes are compared by.
    pub cost: f64,
    /// How sure scale and ground are; `None` where the outlines do not hold them.
    pub spread: Option<Spread>,
    /// Least cost of a clearly different placement over the cost of this one, where one was looked for.
    pub rival: Option<f64>,
    /// Whether the side views say that the mesh looks the other way than it is read: their drawn feet point against
    /// the way in which they fit. `None` where they say nothing.
    pub backwards: Option<bool>,
    /// Drawn front views fit the mesh's side and drawn side views its front.
    pub sideways: bool,
}

impl Placing {
    /// Why the placement cannot be relied on, and what would help.
    pub fn doubt(&self, given: &Given) -> Option<String> {
        let all_given =
            given.figure_height.is_some() || (given.units_per_px.is_some() && given.ground_y.is_some());
        let give =
            "give --figure-height, or --scale and --ground, or see whether mesh and sheet belong together";
        if self.agreeing < LEAST_AGREEING {
            return Some(format!(
                "only {:.0} % of the mesh's outline lies on the drawing, too little to place it by; {give}",
                100.0 * self.agreeing
            ));
        }
        if all_given {
            return None;
        }
        if self.rival.is_some_and(|r| r < RIVAL) {
            return Some(format!(
                "the mesh fits the drawing in two places equally well; {give}"
            ));
        }
        match self.spread {
            Some(s) if s.scale_pct <= LEAST_SURE_PCT => None,
            Some(s) => Some(format!(
                "the scale is unsure by {:.1} %, the mesh shows too little outline to place it by; {give}",
                s.scale_pct
            )),
            None => Some(format!(
                "the mesh shows too little outline to place it by; {give}"
            )),
        }
    }

    /// The largest difference to other placements of the same figures, in units, over the corners of their boxes.
    pub fn farthest_from(&self, other: &[Placement], figures: &[&Figure]) -> f64 {
        self.views
            .iter()
            .zip(other)
            .zip(figures)
            .filter_map(|((v, o), f)| Some((&v.placement, o, f.level.bounds()?)))
            .flat_map(|(a, b, bounds)| {
                [
                    (bounds.x0, bounds.y0),
                    (bounds.x0, bounds.y1),
                    (bounds.x1, bounds.y0),
                    (bounds.x1, bounds.y1),
                ]
                .map(|(x, y)| {
                    let p = Point::<Level>::new(x, y);
                    a.to_view(p).distance(b.to_view(p))
                })
            })
            .fold(0.0, f64::max)
    }
}

/// Rows of crown and ground of a figure in a view's units.
pub fn reach(placement: &Placement, figure: &Figure) -> (f64, f64) {
    let y = |px: f64| placement.to_view(Point::<Level>::new(0.0, px)).y;
    (y(figure.crown_px), y(figure.ground_px))
}
