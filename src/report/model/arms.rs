//! The arms in a check's result: where they are, how they hang, how long they are.

use serde::Serialize;

pub use crate::arms::{End, JointFrom};

/// `--arms`: what becomes of the mesh's arms before it is compared.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum ArmsMode {
    /// They stay as they are modelled.
    #[default]
    AsModelled,
    /// They are turned until they hang as the drawing's.
    Drop,
    /// They are turned until they point so far below the horizontal.
    Degrees(f64),
    /// They are left out, and what the drawing has of them is not held against the mesh.
    Ignore,
}

impl ArmsMode {
    /// The mode of what was typed: `as-modelled`, `drop`, `ignore`, or degrees below the horizontal from −90 (overhead)
    /// to 90 (hanging straight down).
    pub fn parse(text: &str) -> Option<Self> {
        match text {
            "as-modelled" => Some(Self::AsModelled),
            "drop" => Some(Self::Drop),
            "ignore" => Some(Self::Ignore),
            _ => text
                .parse()
                .ok()
                .filter(|d| (-90.0..=90.0).contains(d))
                .map(Self::Degrees),
        }
    }
}

impl std::fmt::Display for ArmsMode {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::AsModelled => f.write_str("as-modelled"),
            Self::Drop => f.write_str("drop"),
            Self::Degrees(d) => write!(f, "{d}"),
            Self::Ignore => f.write_str("ignore"),
        }
    }
}

impl Serialize for ArmsMode {
    fn serialize<S: serde::Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.collect_str(self)
    }
}

#[cfg(feature = "schema")]
impl schemars::JsonSchema for ArmsMode {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "ArmsMode".into()
    }

    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        schemars::json_schema!({
            "description": "What becomes of the mesh's arms: a word, or degrees below the horizontal as a text.",
            "type": "string",
            "pattern": r"^(as-modelled|drop|ignore|-?[0-9]+(\.[0-9]+)?)$",
        })
    }
}

/// Which of the two, the character's own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
#[allow(missing_docs, reason = "the names say it")]
pub enum Side {
    Left,
    Right,
}

impl Side {
    /// `left` or `right`.
    pub fn word(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
        }
    }
}

/// An arm of the mesh and of the drawing. Heights and places are those of the turned arm; `null` what cannot be seen.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ArmReport {
    /// The character's own side.
    pub side: Side,
    /// The shoulder's joint.
    pub shoulder: [f64; 3],
    /// How it became known.
    pub shoulder_from: JointFrom,
    /// Where the turned arm of the mesh runs: joint, elbow where it bends, end.
    pub axis: Vec<[f64; 3]>,
    /// Half the width of the upper arm: the turn rises from nothing so far inside the joint to all so far outside it.
    pub half_width: f64,
    /// The drawn upper arm below the horizontal.
    pub angle_deg: Option<f64>,
    /// The modelled upper arm below the horizontal, before it was turned.
    pub mesh_angle_deg: f64,
    /// How far it was turned down about the shoulder; negative: up.
    pub turned_deg: f64,
    /// How far the drawn forearm bends from the upper arm; `None`: not at all, or it cannot be seen.
    pub elbow_bend_deg: Option<f64>,
    /// Height of the drawn elbow.
    pub elbow_y: Option<f64>,
    /// Height of the drawn wrist.
    pub wrist_y: Option<f64>,
    /// Height of the drawn fingertip.
    pub fingertip_y: Option<f64>,
    /// Height of the mesh's elbow.
    pub mesh_elbow_y: Option<f64>,
    /// Height of the mesh's wrist.
    pub mesh_wrist_y: Option<f64>,
    /// Height of the mesh's fingertip, or of where the arm ends so far.
    pub mesh_fingertip_y: f64,
    /// From the shoulder to the fingertip, along the arm.
    pub length: Option<f64>,
    /// The same of the mesh, to where the arm ends so far.
    pub mesh_length: f64,
    /// `mesh_length - length`; `None` where one of the two ends elsewhere.
    pub length_diff: Option<f64>,
    /// Parts of the arm that both show, from the shoulder outwards.
    pub segments: Vec<ArmSegment>,
    /// How the mesh's arm ends.
    pub end: End,
    /// How much lower the hand would land if the arm were turned about the armpit.
    pub armpit_lower: f64,
    /// Edge loops around the arm at the shoulder; `None` where the arm is a shell of its own.
    pub shoulder_loops: Option<usize>,
    /// What hanging and being raised overhead cost there; empty where the arm is a shell of its own.
    pub shoulder_bends: Vec<ShoulderBend>,
    /// The difference in words.
    pub text: String,
    /// What is common practice to look at: information, no finding.
    pub practice: Vec<String>,
}

/// What a turn of the arm costs at the shoulder.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ShoulderBend {
    /// `hanging` or `overhead`.
    pub pose: &'static str,
    /// The turn from the arm as modelled, down positive.
    pub turned_deg: f64,
    /// Change of volume, percent of one diameter of the arm at the joint; negative: lost.
    pub volume_pct: f64,
    /// Width lost above the arm's line, percent.
    pub shoulder_width_lost_pct: f64,
    /// Width lost below it, at the armpit.
    pub armpit_width_lost_pct: f64,
    /// Largest part of the turn from one loop to the next.
    pub step_deg: f64,
    /// Whether the loops there can carry it.
    pub carried: bool,
    /// In words.
    pub text: String,
}

/// A part of an arm that drawing and mesh both show.
#[derive(Debug, Clone, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ArmSegment {
    /// `upper arm`, `forearm and hand`, `arm to the wrist`, `hand`.
    pub part: &'static str,
    /// Its length in the drawing.
    pub length: f64,
    /// Its length in the mesh.
    pub mesh_length: f64,
    /// Mesh minus drawing.
    pub diff: f64,
}
