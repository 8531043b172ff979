//! The one result of an audit, as its JSON writes it. Every other output is made from this value.
//!
//! Indices count from 0 in the order of the file. Lengths are in the mesh's unit; places are in the upright mesh's
//! own coordinates (y up, facing +z). Left and right are the character's own.

use serde::Serialize;

/// The value of `schema` in an audit.
pub const AUDIT_SCHEMA: &str = "drawntrue.audit/1";

/// What a check came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
pub enum Outcome {
    /// Nothing to do, or information only.
    Pass,
    /// Sound, but against common practice: the modeller decides.
    Warn,
    /// Not sound: smoothing or rigging will show it.
    Fail,
}

/// A whole audit.
#[derive(Debug, Clone, Serialize)]
pub struct Audit {
    /// [`AUDIT_SCHEMA`].
    pub schema: &'static str,
    /// Label of the unit of length, empty if none was given.
    pub unit: String,
    /// The file as it was given.
    pub mesh: MeshCounts,
    /// Extent of the mesh along y.
    pub height: f64,
    /// `x` of the mirror plane, if one was found or given.
    pub plane_x: Option<f64>,
    /// The mesh is one half of a model.
    pub half: bool,
    /// The checks, in one order.
    pub checks: Vec<Check>,
    /// The joints that were found.
    pub joints: Vec<Joint>,
    /// Rings that are commonly meant to be flat.
    pub rings: Vec<FlatRing>,
    /// Slices across trunk and limbs.
    pub sections: Vec<Section>,
    /// Things a person should know.
    pub notes: Vec<String>,
}

/// The mesh file and what it holds.
#[derive(Debug, Clone, Default, Serialize)]
#[allow(missing_docs, reason = "the names say it")]
pub struct MeshCounts {
    pub path: String,
    pub vertices: usize,
    pub faces: usize,
    pub triangles: usize,
    pub quads: usize,
    pub ngons: usize,
    pub shells: usize,
}

/// One check.
#[derive(Debug, Clone, Serialize)]
pub struct Check {
    /// Its name.
    pub id: &'static str,
    /// What it came to.
    pub outcome: Outcome,
    /// Number of faults, in what the check counts: vertices, edges, faces, joints or shells.
    pub count: usize,
    /// Vertices at fault, ascending.
    pub vertices: Vec<u32>,
    /// Edges at fault, lower vertex first, ascending.
    pub edges: Vec<[u32; 2]>,
    /// Faces at fault, ascending.
    pub faces: Vec<u32>,
    /// What was found.
    pub text: String,
    /// Why it matters for smoothing or bending.
    pub why: &'static str,
    /// What to do.
    pub advice: &'static str,
    /// Where, in the order of their numbers.
    pub places: Vec<Place>,
}

/// One place of a check; pictures mark it with its number.
#[derive(Debug, Clone, Serialize)]
pub struct Place {
    /// The same number in text and pictures; counts through all checks, first those that fail or warn.
    pub number: usize,
    /// Its middle.
    pub at: [f64; 3],
    /// Where that is, in words.
    pub r#where: String,
    /// What is there.
    pub text: String,
    /// Vertices at the place, ascending.
    pub vertices: Vec<u32>,
}

/// Which side of the character.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Side {
    /// The character's left, x above the plane.
    Left,
    /// The character's right, x below the plane.
    Right,
    /// On the plane.
    Middle,
}

impl Side {
    /// In words; empty for the middle.
    pub fn word(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
            Self::Middle => "",
        }
    }
}

/// A joint and the edge loops that let it bend.
#[derive(Debug, Clone, Serialize)]
pub struct Joint {
    /// `shoulder`, `elbow`, `wrist`, `hip`, `knee` or `ankle`.
    pub name: &'static str,
    /// The character's own side.
    pub side: Side,
    /// Closed loops around the limb within one diameter.
    pub loops: usize,
    /// Where the limb's axis bends.
    pub at: [f64; 3],
    /// The limb's diameter there.
    pub diameter: f64,
    /// Places of the loops along the axis, from the joint, towards the tip positive.
    pub offsets: Vec<f64>,
    /// The loops lie closer together at the bend than beside it; nothing where there are too few to say.
    pub closest_at_bend: Option<bool>,
    /// Edge loops near the joint that run around the limb without closing.
    pub open_loops: usize,
    /// What there is to say.
    pub text: String,
}

/// A ring of edges that is commonly meant to be flat.
#[derive(Debug, Clone, Serialize)]
pub struct FlatRing {
    /// Which ring.
    pub name: &'static str,
    /// The character's own side.
    pub side: Side,
    /// Vertices of the ring in their order.
    pub vertices: Vec<u32>,
    /// Its middle.
    pub at: [f64; 3],
    /// Unit normal of the plane of best fit.
    pub normal: [f64; 3],
    /// Largest distance of a vertex from that plane.
    pub off_plane: f64,
    /// The same as a share of the ring's mean diameter.
    pub off_plane_share: f64,
    /// The axis that the plane is nearest to square to, and the angle between the two.
    pub axis: &'static str,
    /// Angle between the normal and that axis.
    pub axis_deg: f64,
}

/// A slice across trunk or limb.
#[derive(Debug, Clone, Serialize)]
pub struct Section {
    /// Which part.
    pub part: &'static str,
    /// The character's own side.
    pub side: Side,
    /// Middle of the slice.
    pub at: [f64; 3],
    /// Direction along the part.
    pub along: [f64; 3],
    /// Extent across, along the axis that the front view shows.
    pub width: f64,
    /// Extent across, along the axis that the side view shows.
    pub depth: f64,
    /// Area over the area of the ellipse of that width and depth: 1 for an ellipse, 4/π for a box, 2/π for a diamond.
    pub roundness: f64,
    /// `boxy`, `pinched` or `round`.
    pub form: &'static str,
    /// The outline across: closed rings, width to the right, depth upwards, about the middle.
    pub outline: Vec<Vec<[f64; 2]>>,
}

impl Audit {
    /// The worst outcome of all checks.
    pub fn outcome(&self) -> Outcome {
        self.checks
            .iter()
            .map(|c| c.outcome)
            .max()
            .unwrap_or(Outcome::Pass)
    }

    /// A check by its name.
    pub fn check(&self, id: &str) -> Option<&Check> {
        self.checks.iter().find(|c| c.id == id)
    }
}
