//! The options in force in a check, defaults included.

use serde::Serialize;

use super::{ArmsMode, Heading, Lead, LineEdge, Smoothing, UpAxis};
use crate::mesh::Axes;

/// A named set of tolerances for a stage of the work.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Stage {
    /// Masses are set up: proportions count.
    BlockIn,
    /// Forms are worked out.
    Refine,
    /// The model is handed on.
    Final,
}

impl Stage {
    /// Percent of the figure height, and percent of the local width. Common practice, no source.
    pub fn tolerances(self) -> (f64, Option<f64>) {
        match self {
            Self::BlockIn => (2.0, None),
            Self::Refine => (1.0, Some(10.0)),
            Self::Final => (0.5, Some(5.0)),
        }
    }

    /// The stage of a name.
    pub fn parse(text: &str) -> Option<Self> {
        [Self::BlockIn, Self::Refine, Self::Final]
            .into_iter()
            .find(|s| s.name() == text)
    }

    /// As it is typed.
    pub fn name(self) -> &'static str {
        match self {
            Self::BlockIn => "block-in",
            Self::Refine => "refine",
            Self::Final => "final",
        }
    }
}

/// Options in force.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Settings {
    /// `--figure-height`, if it was given.
    pub figure_height: Option<f64>,
    /// `--scale`, mesh units per pixel of the leading view's image, if it was given.
    pub scale: Option<f64>,
    /// `--ground`, mesh height of the leading view's ground, if it was given.
    pub ground: Option<f64>,
    /// `--lead`, if it was given: the view that scale and ground are found from.
    pub lead: Option<Lead>,
    /// `--hold-placement`.
    pub hold_placement: bool,
    /// `--smooth`: how far the surface that decides is smoothed; `None`: the cage decides.
    pub smooth: Option<Smoothing>,
    /// `--stage`, if it was given.
    pub stage: Option<Stage>,
    /// `--tolerance`, percent of the figure height.
    pub tolerance_pct: f64,
    /// `--tolerance-width`, percent of the local width; `None`: off.
    pub tolerance_width_pct: Option<f64>,
    /// `--unfinished`.
    pub unfinished: bool,
    /// `--mirror`.
    pub mirror: bool,
    /// `--arms`.
    pub arms: ArmsMode,
    /// `--canon`, if one was chosen: its name, or the file of another character's landmarks.
    pub canon: Option<String>,
    /// `--groups`; empty: all.
    pub groups: Vec<String>,
    /// `--skip-groups`.
    pub skip_groups: Vec<String>,
    /// Open borders that are meant, by the setup file: each named by one of its vertices.
    pub borders: Vec<u32>,
    /// x of the mirror plane, by the setup file; `None`: found.
    pub plane: Option<f64>,
    /// `--line-edge`: `centre`, `outer` or `inner`.
    pub line_edge: LineEdge,
    /// `--up`: `y` or `z`; `None`: recognised, see the placement.
    pub up: Option<UpAxis>,
    /// `--facing`: `x`, `-x`, `y`, `-y`, `z` or `-z`; `None`: recognised, or the usual for `--up`.
    pub facing: Option<Heading>,
    /// `--unit`.
    pub unit: String,
}

impl Settings {
    /// How the mesh stands in its file, where a person said it; an axis that was not named is the usual one.
    pub fn axes(&self) -> Option<Axes> {
        match (self.up, self.facing) {
            (None, None) => None,
            (up, None) => Some(Axes::usual(up.unwrap_or_default())),
            (Some(up), Some(facing)) => Axes::new(up, facing),
            // A figure that looks along y has z up, any other one y.
            (None, Some(facing)) => [UpAxis::Y, UpAxis::Z]
                .into_iter()
                .find_map(|up| Axes::new(up, facing)),
        }
    }
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            figure_height: None,
            scale: None,
            ground: None,
            hold_placement: false,
            lead: None,
            smooth: None,
            stage: None,
            tolerance_pct: 1.0,
            tolerance_width_pct: None,
            unfinished: false,
            mirror: false,
            arms: ArmsMode::AsModelled,
            canon: None,
            groups: Vec::new(),
            skip_groups: Vec::new(),
            borders: Vec::new(),
            plane: None,
            line_edge: LineEdge::default(),
            up: None,
            facing: None,
            unit: String::new(),
        }
    }
}
