//! Repairs a mesh where no taste is needed, and says what it changed.
//!
//! Each repair has a name and can be left out. They run in one order, and the mesh is examined anew between them: faces
//! that are inside, doubled or without area go first, then coincident borders are joined, centre vertices put onto the
//! plane, moved vertices put where their partners say, faces turned. What could be repaired in more than one way is
//! left and named. A sound mesh comes out byte for byte.
//!
//! The text of the file is changed as `mesh::obj::rewrite` says: vertex order stays where no vertex goes.

mod steps;
mod work;

use serde::Serialize;

use crate::audit::model::{Audit, Outcome};
use crate::audit::{Options, examine};
use crate::error::{Error, Result};
use crate::mesh::adjacency::NONE;
use crate::mesh::obj::rewrite::{rewrite, used_elsewhere};
use crate::mesh::obj::{self, Limits};
use crate::mesh::plane::leave_out_drawing_planes;
use crate::mesh::{Axes, UpAxis, axes};

use self::work::Work;

/// The value of `schema` in what a repair writes about itself.
pub const REPAIR_SCHEMA: &str = "drawntrue.repair/1";

/// A repair.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Kind {
    /// Drop faces that are inside, doubled or without area.
    Faces,
    /// Join borders that coincide.
    Weld,
    /// Put centre vertices onto the mirror plane.
    Centre,
    /// Copy the right one of two partners to the other side.
    Mirror,
    /// Turn faces that run the wrong way round.
    Turn,
    /// Drop vertices without a face.
    Loose,
}

/// All repairs, in the order in which they run.
pub const ALL: [Kind; 6] = [
    Kind::Faces,
    Kind::Weld,
    Kind::Centre,
    Kind::Mirror,
    Kind::Turn,
    Kind::Loose,
];

impl Kind {
    /// Its name on the command line.
    pub fn name(self) -> &'static str {
        match self {
            Self::Faces => "faces",
            Self::Weld => "weld",
            Self::Centre => "centre",
            Self::Mirror => "mirror",
            Self::Turn => "turn",
            Self::Loose => "loose",
        }
    }

    /// The repair of this name.
    pub fn named(name: &str) -> Option<Self> {
        ALL.into_iter().find(|k| k.name() == name)
    }
}

/// How to repair.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// The repairs to make.
    pub kinds: Vec<Kind>,
    /// The side that is copied where two partners differ: `Some(true)` the character's left. Without it only partners
    /// of which one is clearly right are mended.
    pub from_left: Option<bool>,
    /// Which axis of the file points up.
    pub up: UpAxis,
    /// What is not read.
    pub limits: Limits,
    /// What to audit by.
    pub audit: Options,
}

/// What a repair changed.
#[derive(Debug, Clone, Serialize)]
pub struct Change {
    /// Which repair.
    pub repair: Kind,
    /// Number of vertices or faces that it changed.
    pub count: usize,
    /// In words.
    pub text: String,
    /// Vertices of the file before that were moved, joined or dropped.
    pub vertices: Vec<u32>,
    /// Faces of the file before that were dropped or turned.
    pub faces: Vec<u32>,
}

/// A repaired mesh.
#[derive(Debug, Clone, Serialize)]
pub struct Repaired {
    /// [`REPAIR_SCHEMA`].
    pub schema: &'static str,
    /// What was changed.
    pub changes: Vec<Change>,
    /// What was found and left, as it takes taste or more than one way would do.
    pub left: Vec<String>,
    /// For each vertex of the file before its number now, nothing where it went.
    pub vertices: Vec<Option<u32>>,
    /// The same for faces.
    pub faces: Vec<Option<u32>>,
    /// The file's new text.
    #[serde(skip)]
    pub text: Vec<u8>,
    /// The audit of the repaired mesh.
    #[serde(skip)]
    pub audit: Audit,
}

/// Repairs the text of an OBJ file.
///
/// # Errors
/// The text cannot be read as a mesh, or the changed one could not.
pub fn repair(text: &[u8], wanted: &Wanted) -> Result<Repaired> {
    let file = obj::read(text, wanted.limits)?;
    let elsewhere = used_elsewhere(text);
    let before = file.positions().to_vec();
    let whole = axes::turn_upright(file, Axes::usual(wanted.up));
    let kept = leave_out_drawing_planes(whole.clone()).mesh;
    let mut work = Work::new(&whole, &kept, elsewhere);
    let (mut changes, mut left) = (Vec::new(), Vec::new());
    for kind in ALL {
        if !wanted.kinds.contains(&kind) {
            continue;
        }
        let (mesh, numbers) = work.mesh()?;
        let examined = examine(&mesh, &quick(&wanted.audit));
        let change = match kind {
            Kind::Faces => steps::faces(&mut work, &mesh, &numbers, &examined, &mut left),
            Kind::Weld => steps::weld(&mut work, &mesh, &examined, &mut left),
            Kind::Centre => steps::centre(&mut work, &examined),
            Kind::Mirror => steps::mirror(&mut work, &examined, wanted.from_left, &mut left),
            Kind::Turn => steps::turn(&mut work, &numbers, &examined),
            Kind::Loose => steps::loose(&mut work, &examined, &mut left),
        };
        changes.extend(change.filter(|c| c.count > 0));
    }
    let edits = work.edits(wanted.up, &before);
    let text = rewrite(text, &before, &edits)?;
    let now = obj::read(&text, wanted.limits)
        .map_err(|e| Error::new(format!("the repaired mesh could not be read again ({e})")))?;
    let kept = leave_out_drawing_planes(axes::turn_upright(now, Axes::usual(wanted.up))).mesh;
    let audit = examine(&kept, &quick(&wanted.audit)).audit;
    for check in audit.checks.iter().filter(|c| c.outcome == Outcome::Fail) {
        left.push(format!("{}: {}", check.id, check.text));
    }
    let known = |n: u32| (n != NONE).then_some(n);
    Ok(Repaired {
        schema: REPAIR_SCHEMA,
        changes,
        left,
        vertices: edits.numbers().into_iter().map(known).collect(),
        faces: work.face_numbers(),
        text,
        audit,
    })
}

fn quick(options: &Options) -> Options {
    Options {
        quick: true,
        ..options.clone()
    }
}
