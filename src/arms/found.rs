//! The arms of a mesh: which vertices they are, how they lie, where their shoulder joints are.

use super::line::Flat;
use super::shape::{Shape, trace};
use super::shoulder;
use crate::limbs::{self, EdgeLoops, Kind, Least, Limb, Limbs};
use crate::mesh::adjacency::{Adjacency, Spokes};
use crate::mesh::near::Near;
use crate::mesh::shells::Shells;
use crate::mesh::vector::{Vector, distance};
use crate::mesh::{Extent, Mesh};
use crate::profile::Outline;
use crate::silhouette::{Azimuth, Silhouette};
use crate::space::ViewUnits;

/// Edges whose lengths give the typical one, spread over the mesh, as for an audit.
const SAMPLED_EDGES: usize = 2_000;
/// The plane of symmetry is the middle of what lies between these shares of the height: legs and hips, which are there
/// also where an arm is not.
const PLANE_FROM: [f64; 2] = [0.02, 0.5];
/// Rows of the outline that arms are traced in.
const ROWS: usize = 800;

/// What a person set of an arm.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Told {
    /// The shoulder's joint.
    pub shoulder: Option<Vector>,
    /// Where the upper arm points, from the shoulder outwards.
    pub axis: Option<Vector>,
    /// The vertices of the arm; empty: found.
    pub vertices: Vec<u32>,
}

/// How a joint became known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum JointFrom {
    /// The arm leaves the trunk there.
    Armpit,
    /// The arm is a shell of its own, whose inner end rounds about it.
    Shell,
    /// The mesh's arm turned about it lies along the drawn one.
    Drawing,
    /// A person set it.
    Setup,
}

/// An arm of a mesh.
#[derive(Debug, Clone)]
pub struct MeshArm {
    /// The character's left.
    pub left: bool,
    /// The shoulder's joint.
    pub shoulder: Vector,
    /// How it became known.
    pub from: JointFrom,
    /// Its shape in the frontal plane.
    pub shape: Shape,
    /// For each vertex whether it belongs to the arm, from the joint outwards.
    pub members: Vec<bool>,
    /// Shells that belong to it whole; for each vertex.
    pub whole: Vec<bool>,
    /// Half the width of the upper arm.
    pub radius: f64,
    /// The armpit: where the lower edge leaves the trunk.
    pub armpit: Flat,
    /// The elbow of a straight arm, where edge loops crowd for it.
    pub elbow_loops: Option<Flat>,
    /// How the arm ends.
    pub end: End,
}

impl MeshArm {
    /// The elbow as modelled: where the arm bends, or where its loops crowd to let it bend; `None` where neither shows it.
    pub fn elbow(&self) -> Option<Flat> {
        self.shape.elbow().or(self.elbow_loops)
    }
}

/// How far an arm is modelled.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum End {
    /// In something that tapers or rounds off: fingers, a mitten.
    Closed,
    /// In an open border.
    Open,
    /// In a flat cap.
    Flat,
}

/// What arms are looked for in.
pub struct Figure {
    table: Adjacency,
    spokes: Spokes,
    shells: Shells,
    extent: Extent,
    plane: f64,
    front: Outline<ViewUnits>,
}

impl Figure {
    /// The figure of a mesh that stands upright. `frame` are the heights of ground and crown where the mesh does not
    /// have them yet; `None` without faces.
    pub fn new(mesh: &Mesh, frame: Option<[f64; 2]>) -> Option<Self> {
        let mut extent = mesh.bounds_of_faces()?;
        if let Some([ground, crown]) = frame {
            (extent.min[1], extent.max[1]) = (ground, crown);
        }
        let height = extent.size()[1];
        let low = |p: &&Vector| {
            let share = (p[1] - extent.min[1]) / height;
            (PLANE_FROM[0]..PLANE_FROM[1]).contains(&share)
        };
        let used = || mesh.corners().iter().map(|&v| &mesh.positions()[v as usize]);
        let legs = Extent::around(used().filter(low).copied()).unwrap_or(extent);
        let table = Adjacency::of(mesh);
        Some(Self {
            spokes: table.spokes(mesh.positions().len()),
            table,
            shells: Shells::of(mesh),
            plane: f64::midpoint(legs.min[0], legs.max[0]),
            front: Silhouette::new(mesh, Azimuth::FRONT).outline(ROWS),
            extent,
        })
    }

    /// Height of the figure.
    pub fn height(&self) -> f64 {
        self.extent.size()[1]
    }

    /// The outline from the front.
    pub fn front(&self) -> &Outline<ViewUnits> {
        &self.front
    }

    pub(super) fn table(&self) -> &Adjacency {
        &self.table
    }

    pub(super) fn spokes(&self) -> &Spokes {
        &self.spokes
    }

    pub(super) fn shells(&self) -> &Shells {
        &self.shells
    }

    fn typical_edge(&self, mesh: &Mesh) -> f64 {
        let edges = self.table.edges();
        let step = edges.len().div_ceil(SAMPLED_EDGES).max(1);
        let lengths = edges
            .iter()
            .step_by(step)
            .map(|&[a, b]| distance(mesh.positions()[a as usize], mesh.positions()[b as usize]));
        // Cells as wide as long edges: shells are bridged over the length of their longest edges.
        let (sum, count) = lengths.fold((0.0, 0.0_f64), |(s, n), l| (s + l * l, n + 1.0));
        (sum / count.max(1.0)).sqrt()
    }
}

/// The arms of a mesh, left then right, those that are found. `told`: what a person set of the left and the right one.
pub fn find(mesh: &Mesh, figure: &Figure, told: &[Told; 2]) -> Vec<MeshArm> {
    let near = Near::new(mesh.positions(), figure.typical_edge(mesh));
    let look = |least: Least| {
        limbs::find_at_least(
            mesh,
            &figure.table,
            &figure.shells,
            &near,
            figure.plane,
            &figure.extent,
            least,
        )
    };
    let loops = std::cell::OnceCell::new();
    let of = |limbs: &Option<Limbs>, left: bool| -> Option<MeshArm> {
        let limbs = limbs.as_ref()?;
        let index = limbs
            .limbs
            .iter()
            .position(|l| l.kind == Kind::Arm && l.left == left)?;
        let mut arm = arm(mesh, figure, limbs, index, &told[usize::from(!left)])?;
        if arm.shape.fore.is_none() {
            let loops = loops.get_or_init(|| EdgeLoops::of(mesh, &figure.table, &figure.spokes));
            arm.elbow_loops = elbow_loops(mesh, figure, limbs, index, &arm, loops);
        }
        Some(arm)
    };
    let whole = look(Least::WHOLE);
    let mut begun: Option<Option<Limbs>> = None;
    [true, false]
        .into_iter()
        .filter_map(|left| {
            of(&whole, left)
                .or_else(|| {
                    let limbs = begun.get_or_insert_with(|| look(Least::BEGUN));
                    of(limbs, left)
                })
                .or_else(|| named(mesh, figure, left, &told[usize::from(!left)]))
        })
        .collect()
}

/// An arm that a person named: its joint, and its vertices.
fn named(mesh: &Mesh, figure: &Figure, left: bool, told: &Told) -> Option<MeshArm> {
    /// Places of the straight way from the joint to the farthest vertex.
    const PLACES: usize = 12;
    let joint = told.shoulder.filter(|_| !told.vertices.is_empty())?;
    let far = told
        .vertices
        .iter()
        .map(|&v| mesh.positions()[v as usize])
        .max_by(|a, b| distance(*a, joint).total_cmp(&distance(*b, joint)))?;
    let way: Vec<Flat> = (0..=PLACES)
        .map(|k| {
            let t = k as f64 / PLACES as f64;
            [
                joint[0] + t * (far[0] - joint[0]),
                joint[1] + t * (far[1] - joint[1]),
            ]
        })
        .collect();
    let shape = trace(&figure.front, &way)?;
    let seeds: Vec<bool> = (0..mesh.positions().len() as u32)
        .map(|v| told.vertices.binary_search(&v).is_ok())
        .collect();
    shoulder::complete(mesh, figure, left, shape, &seeds, told)
}

/// The elbow of a straight arm by its loops: three or more that lie closer there than beside.
fn elbow_loops(
    mesh: &Mesh,
    figure: &Figure,
    limbs: &Limbs,
    index: usize,
    arm: &MeshArm,
    loops: &EdgeLoops,
) -> Option<Flat> {
    /// Loops that let a joint bend. Common practice, no source.
    const LEAST: usize = 3;
    /// Their spacing against that of the loops beside them, as for an audit.
    const CLOSER: f64 = 0.9;
    // The other limbs' joints are not asked for.
    let alone = Limbs {
        limbs: vec![limbs.limbs[index].clone()],
        away: limbs.away.clone(),
        of_vertex: Vec::new(),
    };
    let places = limbs::joints(mesh, loops, &alone, figure.extent.min[1]);
    let elbow = places.iter().find(|p| p.name == "elbow")?;
    (elbow.loops.len() >= LEAST && elbow.crowding.is_some_and(|c| c <= CLOSER)).then(|| {
        let line = &arm.shape.upper;
        line.place(line.s([elbow.at[0], elbow.at[1]]), 0.0)
    })
}

fn arm(mesh: &Mesh, figure: &Figure, limbs: &Limbs, index: usize, told: &Told) -> Option<MeshArm> {
    let limb: &Limb = &limbs.limbs[index];
    let way: Vec<Flat> = limb.axis.iter().map(|s| [s.at[0], s.at[1]]).collect();
    let shape = trace(&figure.front, &way)?;
    let root = limb.axis.first()?.away;
    let seeds: Vec<bool> = (0..mesh.positions().len())
        .map(|v| {
            if told.vertices.is_empty() {
                usize::from(limbs.of_vertex[v]) == index && limbs.away[v] >= root
            } else {
                told.vertices.binary_search(&(v as u32)).is_ok()
            }
        })
        .collect();
    shoulder::complete(mesh, figure, limb.left, shape, &seeds, told)
}
