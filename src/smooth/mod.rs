//! The surface that smoothing makes of a cage: Catmull-Clark subdivision, in steps and in the limit.
//!
//! Rules: Catmull and Clark 1978; borders and creases as DeRose, Kass and Truong 1998; limit positions as Halstead, Kass
//! and DeRose 1993. An edge with one face, or with more than two, is a border: its curve depends on itself alone. Where
//! two border edges meet the vertex runs along their curve, where more meet it stays.
//!
//! A half model must be mirrored and joined before (see [`crate::mesh::mirror`]): smoothed by itself its centre line
//! would be a border. Vertices of the cage keep their numbers; those of its edges and faces follow.

mod positions;
mod stencils;
mod topology;
mod values;

pub use stencils::Stencil;
pub(crate) use stencils::summed;
pub use topology::{Crease, Topology};
pub use values::Values;

use positions::Borders;

use crate::error::{Error, Result};
use crate::mesh::Mesh;

/// Most steps: each makes four faces of one.
pub const MOST_STEPS: u8 = 5;
/// The limit surface is shown by at most so many faces, all their corners on it.
const LIMIT_FACES: usize = 400_000;
/// Most faces that a smoothed mesh may have.
const MOST_FACES: usize = 200_000_000;

/// How far a cage is smoothed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Smoothing {
    /// So many steps, 1 to [`MOST_STEPS`].
    Steps(u8),
    /// To the limit: as many steps as are worth it, then every vertex onto the limit surface.
    Limit,
}

impl Smoothing {
    /// Reads `1` to `5` or `limit`.
    pub fn parse(text: &str) -> Option<Self> {
        if text == "limit" {
            return Some(Self::Limit);
        }
        let steps: u8 = text.parse().ok()?;
        (1..=MOST_STEPS).contains(&steps).then_some(Self::Steps(steps))
    }
}

/// Faces after some steps of a cage with so many corners: each corner is a face after the first step.
fn faces_after(corners: usize, steps: u8) -> usize {
    corners.saturating_mul(1 << (2 * (u32::from(steps) - 1)))
}

impl serde::Serialize for Smoothing {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> std::result::Result<S::Ok, S::Error> {
        match self {
            Self::Steps(n) => serializer.serialize_u8(*n),
            Self::Limit => serializer.serialize_str("limit"),
        }
    }
}

#[cfg(feature = "schema")]
impl schemars::JsonSchema for Smoothing {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Smoothing".into()
    }

    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        schemars::json_schema!({
            "description": "How far a cage is smoothed: steps, or `limit`.",
            "oneOf": [
                { "type": "integer", "minimum": 1, "maximum": MOST_STEPS },
                { "const": "limit" },
            ],
        })
    }
}

/// Memory for positions, kept from one use of a [`Plan`] to the next.
#[derive(Debug, Clone, Default)]
pub struct Room {
    now: Vec<[f64; 3]>,
    before: Vec<[f64; 3]>,
}

/// The topology of every step from a cage to its smoothed surface: made once, used for any positions of that cage.
#[derive(Debug, Clone)]
pub struct Plan {
    /// The cage's and those of all steps but the last.
    levels: Vec<Topology>,
    /// The last step's; its faces alone where no more is needed.
    last: Topology,
    smoothing: Smoothing,
}

impl Plan {
    /// Plans the smoothing of a cage; `creases` are its sharp edges.
    ///
    /// # Errors
    /// The smoothed mesh would have too many faces.
    pub fn new(mesh: &Mesh, smoothing: Smoothing, creases: &[Crease]) -> Result<Self> {
        match smoothing {
            Smoothing::Steps(n) => Self::build(mesh, n, smoothing, creases),
            Smoothing::Limit => Self::limit(mesh, creases, LIMIT_FACES),
        }
    }

    /// Plans the limit surface of a cage, shown by at most so many faces if one step has no more.
    ///
    /// # Errors
    /// It would have too many faces.
    pub fn limit(mesh: &Mesh, creases: &[Crease], most_faces: usize) -> Result<Self> {
        let corners = mesh.corners().len();
        let steps = (1..=MOST_STEPS)
            .rev()
            .find(|n| faces_after(corners, *n) <= most_faces);
        Self::build(mesh, steps.unwrap_or(1), Smoothing::Limit, creases)
    }

    fn build(mesh: &Mesh, steps: u8, smoothing: Smoothing, creases: &[Crease]) -> Result<Self> {
        let faces = faces_after(mesh.corners().len(), steps);
        if faces > MOST_FACES {
            return Err(Error::new(format!(
                "smoothing would make {faces} faces, more than {MOST_FACES}"
            ))
            .advise("use fewer steps"));
        }
        let mut levels = vec![Topology::of(mesh, creases)];
        for _ in 1..steps {
            let next = levels[levels.len() - 1].refined();
            levels.push(next);
        }
        let before = &levels[levels.len() - 1];
        let last = match smoothing {
            Smoothing::Steps(_) => before.refined_faces(),
            Smoothing::Limit => before.refined(),
        };
        Ok(Self {
            levels,
            last,
            smoothing,
        })
    }

    /// Positions of the smoothed surface from positions of the cage, in the order of its vertices.
    ///
    /// # Panics
    /// There are fewer positions than the cage has vertices.
    pub fn positions(&self, cage: &[[f64; 3]]) -> Vec<[f64; 3]> {
        self.carried(cage, Borders::Curved)
    }

    /// The same within memory that is kept between calls: for a cage whose vertices move again and again, where asking the
    /// system for memory takes as long as the sums.
    ///
    /// # Panics
    /// As [`Plan::positions`].
    pub fn positions_in<'a>(&self, cage: &[[f64; 3]], room: &'a mut Room) -> &'a [[f64; 3]] {
        self.carry(cage, Borders::Curved, room)
    }

    fn carried(&self, cage: &[[f64; 3]], borders: Borders) -> Vec<[f64; 3]> {
        let mut room = Room::default();
        self.carry(cage, borders, &mut room);
        room.now
    }

    fn carry<'a>(&self, cage: &[[f64; 3]], borders: Borders, room: &'a mut Room) -> &'a [[f64; 3]] {
        let next = |room: &mut Room, count: usize| {
            std::mem::swap(&mut room.now, &mut room.before);
            if room.now.capacity() < count {
                // Memory that comes cleared is not written to twice.
                room.now = vec![[0.0; 3]; count];
            }
            room.now.resize(count, [0.0; 3]);
        };
        for (i, level) in self.levels.iter().enumerate() {
            next(room, positions::refined_count(level));
            let at = if i == 0 { cage } else { &room.before };
            positions::refined(level, at, borders, &mut room.now);
        }
        if self.smoothing == Smoothing::Limit {
            next(room, self.last.vertex_count());
            positions::limit(&self.last, &room.before, borders, &mut room.now);
        }
        &room.now
    }

    /// After how many steps the surface's faces come.
    pub fn steps(&self) -> u8 {
        self.levels.len() as u8
    }

    /// The faces of the smoothed mesh that some neighbouring faces of the cage become.
    pub fn faces_of(&self, cage: [usize; 2]) -> [usize; 2] {
        // A face becomes as many as it has corners.
        let onward = |f: usize| self.levels.iter().fold(f, |f, level| level.starts()[f] as usize);
        cage.map(onward)
    }

    /// The smoothed mesh of a cage, with its groups.
    ///
    /// # Errors
    /// Positions overflow.
    pub fn mesh(&self, cage: &Mesh) -> Result<Mesh> {
        let faces = (self.last.corners().to_vec(), self.last.starts().to_vec());
        self.assembled(cage, faces)
    }

    /// As [`Plan::mesh`], when the plan is not needed any more: its lists of faces become the mesh's.
    ///
    /// # Errors
    /// Positions overflow.
    pub fn into_mesh(mut self, cage: &Mesh) -> Result<Mesh> {
        let faces = match self.smoothing {
            Smoothing::Steps(_) => std::mem::take(&mut self.last).into_faces(),
            // Its topology is needed once more.
            Smoothing::Limit => (self.last.corners().to_vec(), self.last.starts().to_vec()),
        };
        self.assembled(cage, faces)
    }

    fn assembled(&self, cage: &Mesh, (corners, starts): (Vec<u32>, Vec<u32>)) -> Result<Mesh> {
        let runs = cage
            .group_runs()
            .map(|r| (self.faces_of([r.faces.start; 2])[0] as u32, r.group as u32))
            .collect();
        let positions = self.positions(cage.positions());
        Mesh::with_faces_known(positions, corners, starts, cage.groups().to_vec(), runs)
    }
}

/// The smoothed mesh of a cage without creases. See [`Plan`].
///
/// # Errors
/// As [`Plan::new`] and [`Plan::mesh`].
pub fn smooth(mesh: &Mesh, smoothing: Smoothing) -> Result<Mesh> {
    Plan::new(mesh, smoothing, &[])?.into_mesh(mesh)
}
