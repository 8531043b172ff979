//! The audit: whether a mesh is technically sound before it is smoothed and rigged, and which vertices are not.
//!
//! One file a check or a family of checks; each takes the mesh and its tables and gives a [`found::Found`]. This file
//! runs them in their one order: faults of single faces first, then what lies inside, so that later checks (which way
//! round, borders, mirror halves) see the surface without it. Nothing here changes the mesh.
//!
//! Outcomes: `fail` is kept for what is not sound by itself (holes, doubled vertices, halves that differ); what is
//! common practice only (loops at a joint, n-gons, shells) is a `warn`; forms and poles away from joints are information.
//!
//! The mesh must be upright, facing +z, as `mesh::prepare` makes it.

mod borders;
mod census;
mod centre;
mod flat;
mod flow;
pub mod found;
mod inside;
mod joints;
pub mod model;
mod places;
mod plane;
mod same;
mod sections;
mod symmetry;
mod turn;
mod why;
mod winding;

pub use borders::{Border, borders};
pub use centre::MovedPair;
pub use plane::Plane;
pub use symmetry::Symmetry;

use rayon::prelude::*;

use self::found::Found;
use self::model::{AUDIT_SCHEMA, Audit, Check, MeshCounts, Outcome};
use crate::limbs::{self, EdgeLoops};
use crate::mesh::adjacency::{Adjacency, NONE, Spokes};
use crate::mesh::formats::quads;
use crate::mesh::near::Near;
use crate::mesh::shells::Shells;
use crate::mesh::vector::distance;
use crate::mesh::{Extent, Mesh};

/// Offsets within this part of the largest extent are rounding: files commonly write six significant digits, an error
/// of 5e-6 of a coordinate; twice that to be safe. The same as in `mesh::mirror`.
pub const ROUNDING: f64 = 1e-5;
/// Edges that are measured for the width of the cells of the place index.
const SAMPLED_EDGES: usize = 4096;

/// What to audit by.
#[derive(Debug, Clone, Default)]
pub struct Options {
    /// x of the mirror plane; without it the plane is found.
    pub plane_x: Option<f64>,
    /// Borders that are meant, each named by one of its vertices.
    pub meant_borders: Vec<u32>,
    /// Label of the unit of length.
    pub unit: String,
    /// Only what a check shows in one line: no joints, rings, sections and flow.
    pub quick: bool,
}

/// Faults and tables, for whoever repairs them.
pub struct Examined {
    /// The result.
    pub audit: Audit,
    /// Rounding in the mesh's units.
    pub rounding: f64,
    /// The mirror plane.
    pub plane: Option<Plane>,
    /// Partners about it, for a whole mesh.
    pub symmetry: Option<Symmetry>,
    /// For each vertex the first one at its place.
    pub same: Vec<u32>,
    /// Open edges that coincide with another one, ascending.
    pub unwelded: Vec<[u32; 2]>,
    /// Pairs of partners that are no mirror images, with the one that is likely right where that can be told.
    pub moved: Vec<MovedPair>,
}

/// Audits a mesh.
pub fn audit(mesh: &Mesh, options: &Options) -> Audit {
    examine(mesh, options).audit
}

/// Audits a mesh and keeps what was learnt about it.
pub fn examine(mesh: &Mesh, options: &Options) -> Examined {
    let extent = mesh.bounds_of_faces().unwrap_or(Extent {
        min: [0.0; 3],
        max: [0.0; 3],
    });
    let rounding = ROUNDING * extent.largest();
    let collapsed: Vec<bool> = mesh.faces().map(census::collapsed).collect();
    let (shells, table) = rayon::join(|| Shells::of(mesh), || Adjacency::without(mesh, |f| collapsed[f]));
    let near = same::index(mesh, typical_edge(mesh, &table));
    let same = same::same(mesh, &near, rounding);

    let doubled = census::doubled_faces(mesh, &same);
    let mut left_out = collapsed;
    doubled.iter().for_each(|&f| left_out[f as usize] = true);
    let non_manifold = census::non_manifold_edges(&table);
    let inside = inside::inside(mesh, &table, &shells, &left_out);
    inside.left_over.iter().for_each(|&f| left_out[f as usize] = true);
    // Without what is doubled or inside, the surface is what the modeller means.
    let cleaned = (!doubled.is_empty() || !inside.left_over.is_empty())
        .then(|| Adjacency::without(mesh, |f| left_out[f]));
    let hull = cleaned.as_ref().unwrap_or(&table);
    let hull_shells = left_out
        .contains(&true)
        .then(|| Shells::without(mesh, |f| left_out[f]));
    let spokes = hull.spokes(mesh.positions().len());

    // The long walks over the mesh do not need each other.
    let ((pinched, turned), (plane, symmetry)) = rayon::join(
        || {
            let pinched = census::pinched_vertices(mesh, hull, &spokes);
            let touching = !pinched.vertices.is_empty();
            let turned = turn::turned(
                mesh,
                hull,
                hull_shells.as_ref().unwrap_or(&shells),
                touching,
                |f| left_out[f],
            );
            (pinched, turned)
        },
        || {
            let plane = plane::find(mesh, hull, &extent, rounding, options.plane_x);
            let symmetry = plane
                .filter(|p| !p.half)
                .map(|p| symmetry::symmetry(mesh, hull, &spokes, &near, p.x, rounding));
            (plane, symmetry)
        },
    );
    let mut all_borders = borders::borders(&table);
    // The rim of a doubled face is no border of the surface.
    if !doubled.is_empty() {
        all_borders = borders::borders(hull);
    }
    let asked = borders::Asked {
        mesh,
        table: if doubled.is_empty() { &table } else { hull },
        shells: &shells,
        same: &same,
        half: plane.filter(|p| p.half).map(|p| (p.x, p.reach)),
        meant: &options.meant_borders,
    };
    let opened = borders::open_edges(&asked, &all_borders);
    let duplicates = borders::duplicate_vertices(mesh, &table, &shells, &same, &all_borders);
    let (centre_line, mirror, moved) = halves(mesh, hull, &spokes, plane, rounding, &same, symmetry.as_ref());

    let loose_inside = inside.loose.len();
    let mut interior = Found::faces(
        inside.left_over,
        Outcome::Fail,
        "no face lies inside the surface",
        |n| format!("{} left inside the surface", found::counted(n, "face")),
    );
    if loose_inside > 0 {
        interior.text += &format!(
            "; {} of open pieces of their own lie inside, which may be meant",
            found::counted(loose_inside, "face")
        );
        interior.outcome.get_or_insert(Outcome::Warn);
    }
    let mut founds: Vec<(&'static str, Found)> = vec![
        ("centre-line", centre_line),
        ("mirror", mirror),
        ("open-edges", opened.open),
        ("interior-faces", interior),
        ("non-manifold-edges", non_manifold),
        ("non-manifold-vertices", pinched),
        ("duplicate-vertices", duplicates),
        ("loose-vertices", census::loose_vertices(mesh)),
        (
            "doubled-faces",
            Found::faces(doubled, Outcome::Fail, "no face is there twice", |n| {
                format!(
                    "{} with the same corners as another one",
                    found::counted(n, "face")
                )
            }),
        ),
        ("degenerate-faces", census::degenerate_faces(mesh)),
        ("flipped-faces", flipped(turned)),
        ("n-gons", census::n_gons(mesh)),
        ("separate-shells", separate_shells(&shells)),
    ];
    let counts = mesh.face_counts();
    let mut audit = Audit {
        schema: AUDIT_SCHEMA,
        unit: options.unit.clone(),
        mesh: MeshCounts {
            path: String::new(),
            vertices: mesh.positions().len(),
            faces: mesh.face_count(),
            triangles: counts.triangles,
            quads: counts.quads,
            ngons: counts.ngons,
            shells: shells.count(),
        },
        height: extent.size()[1],
        plane_x: plane.map(|p| p.x),
        half: plane.is_some_and(|p| p.half),
        checks: Vec::new(),
        joints: Vec::new(),
        rings: Vec::new(),
        sections: Vec::new(),
        notes: Vec::new(),
    };
    let mut words = places::Words::new(&extent, plane.map_or(0.0, |p| p.x));
    if !options.quick {
        let of = Form {
            mesh,
            table: hull,
            spokes: &spokes,
            shells: &shells,
            near: &near,
            extent: &extent,
            plane: plane.map_or(f64::midpoint(extent.min[0], extent.max[0]), |p| p.x),
        };
        form(&of, &mut audit, &mut words, &mut founds);
    }
    // What is at fault is numbered first: the pictures mark it and leave information out.
    let mut number = 0;
    let mut checks: Vec<Option<Check>> = founds.iter().map(|_| None).collect();
    for passes in [false, true] {
        for (made, (id, found)) in checks.iter_mut().zip(&mut founds) {
            if made.is_none() && (found.outcome.unwrap_or(Outcome::Pass) == Outcome::Pass) == passes {
                *made = Some(check(
                    mesh,
                    &table,
                    &words,
                    id,
                    std::mem::take(found),
                    &mut number,
                ));
            }
        }
    }
    audit.checks = checks.into_iter().flatten().collect();
    Examined {
        audit,
        rounding,
        plane,
        symmetry,
        same,
        unwelded: opened.unwelded,
        moved,
    }
}

/// What form is judged by.
struct Form<'a> {
    mesh: &'a Mesh,
    table: &'a Adjacency,
    spokes: &'a Spokes,
    shells: &'a Shells,
    near: &'a Near<'a>,
    extent: &'a Extent,
    plane: f64,
}

/// Joints, rings, sections and edge flow; parts get names for the words of places.
fn form(
    of: &Form<'_>,
    audit: &mut Audit,
    words: &mut places::Words,
    founds: &mut Vec<(&'static str, Found)>,
) {
    let mesh = of.mesh;
    // Where quads were cut into triangles, limbs and loops are looked for on what they were.
    let cut = !flow::made_of_quads(mesh);
    let rejoined = cut
        .then(|| quads::join(mesh).0)
        .filter(flow::made_of_quads)
        .map(|quads| {
            let table = Adjacency::of(&quads);
            let spokes = table.spokes(quads.positions().len());
            (table, spokes)
        });
    let (table, spokes) = rejoined
        .as_ref()
        .map_or((of.table, of.spokes), |(table, spokes)| (table, spokes));
    let (loops, limbs) = rayon::join(
        || EdgeLoops::of(mesh, table, spokes),
        || limbs::find(mesh, table, of.shells, of.near, of.plane, of.extent),
    );
    let mut joint_places = Vec::new();
    let mut joint_found = joints::joint_loops(&[], &[], &loops);
    if let Some(limbs) = &limbs {
        if !cut || rejoined.is_some() {
            joint_places = limbs::joints(mesh, &loops, limbs, of.extent.min[1]);
            audit.joints = joints::joints(mesh, &loops, limbs, &joint_places);
            joint_found = joints::joint_loops(&audit.joints, &joint_places, &loops);
            audit.rings = flat::flat_rings(mesh, &loops, limbs, &joint_places);
        }
        if rejoined.is_some() {
            audit.notes.push(
                "most faces are triangles: pairs of them were joined to quads to find limbs and count the loops around joints".into(),
            );
        }
        if let Some(missing) = joints::missing(limbs, audit.half) {
            audit.notes.push(missing);
        }
        audit.sections = sections::sections(mesh, of.table, limbs, of.extent);
        for (i, limb) in limbs.limbs.iter().enumerate() {
            words.limb(limb, joints::side(limbs, i), of.extent.min[1]);
        }
    }
    founds.push(("poles", flow::poles(mesh, of.spokes, &joint_places)));
    founds.push(("open-loops", flow::open_loops(mesh, &loops)));
    founds.push(("face-shape", flow::face_shape(mesh)));
    founds.push(("edge-spacing", flow::edge_spacing(mesh, &loops)));
    founds.push(("joint-loops", joint_found));
    founds.push(("flat-rings", flat::found(&audit.rings)));
    founds.push(("sections", sections::found(&audit.sections)));
}

/// Mean length of some edges, spread over the mesh.
fn typical_edge(mesh: &Mesh, table: &Adjacency) -> f64 {
    let edges = table.edges();
    let step = edges.len().div_ceil(SAMPLED_EDGES).max(1);
    let lengths: Vec<f64> = edges
        .iter()
        .step_by(step)
        .map(|&[a, b]| distance(mesh.positions()[a as usize], mesh.positions()[b as usize]))
        .collect();
    lengths.iter().sum::<f64>() / lengths.len().max(1) as f64
}

/// The checks about the mirror plane.
fn halves(
    mesh: &Mesh,
    table: &Adjacency,
    spokes: &Spokes,
    plane: Option<Plane>,
    rounding: f64,
    same: &[u32],
    symmetry: Option<&Symmetry>,
) -> (Found, Found, Vec<MovedPair>) {
    let Some(plane) = plane else {
        let text = "not judged: the mesh is not built about a mirror plane x = c";
        let found = || Found {
            outcome: Some(Outcome::Warn),
            ..Found::nothing(text)
        };
        return (found(), found(), Vec::new());
    };
    let asked = centre::Asked {
        mesh,
        table,
        spokes,
        plane,
        rounding,
        same,
    };
    let (mirror, moved) = match symmetry {
        None => (Found::nothing("one half only: nothing to compare"), Vec::new()),
        Some(s) => {
            let mut used = vec![false; mesh.positions().len()];
            mesh.corners().iter().for_each(|&v| used[v as usize] = true);
            centre::mirror(&asked, s, &used)
        }
    };
    let centre = if mirror.outcome == Some(Outcome::Warn) {
        Found {
            outcome: Some(Outcome::Warn),
            ..Found::nothing("not judged: the mesh does not look mirrored")
        }
    } else {
        centre::centre_line(&asked, symmetry)
    };
    (centre, mirror, moved)
}

fn flipped(turned: turn::Turned) -> Found {
    let one_sided = turned.one_sided.len();
    let mut found = Found::faces(turned.faces, Outcome::Fail, "all faces look outward", |n| {
        format!(
            "{} the wrong way round",
            if n == 1 {
                "1 face runs".into()
            } else {
                format!("{n} faces run")
            }
        )
    });
    if one_sided > 0 {
        found.text += &format!(
            "; across {} no turn agrees, the surface has one side only",
            found::counted(one_sided, "edge")
        );
        found.outcome = Some(Outcome::Fail);
        found.edges = turned.one_sided;
    }
    found
}

fn separate_shells(shells: &Shells) -> Found {
    if shells.count() < 2 {
        return Found::nothing("the mesh is one connected piece");
    }
    let largest = (0..shells.count())
        .max_by_key(|&s| (shells.faces(s), std::cmp::Reverse(s)))
        .unwrap_or(0);
    let mut sizes: Vec<u32> = (0..shells.count()).map(|s| shells.faces(s)).collect();
    sizes.sort_unstable_by(|a, b| b.cmp(a));
    let smallest = sizes.last().copied().unwrap_or(0);
    let mut faces: Vec<u32> = (0..shells.count())
        .filter(|&s| s != largest)
        .map(|s| shells.first_face(s))
        .collect();
    faces.sort_unstable();
    Found {
        count: shells.count(),
        text: format!(
            "{} separate pieces, of {} to {smallest} faces; listed is the first face of each but the largest",
            shells.count(),
            sizes[0],
        ),
        faces,
        outcome: Some(Outcome::Warn),
        ..Found::default()
    }
}

/// A check in words, with its places numbered on.
fn check(
    mesh: &Mesh,
    table: &Adjacency,
    words: &places::Words,
    id: &'static str,
    mut found: Found,
    number: &mut usize,
) -> Check {
    found.vertices.sort_unstable();
    found.edges.par_sort_unstable();
    found.faces.sort_unstable();
    let outcome = found.outcome.unwrap_or(Outcome::Pass);
    let places = places::places(mesh, table, words, &found, number);
    let (why, advice) = why::of(id);
    Check {
        id,
        outcome,
        count: found.count,
        vertices: found.vertices,
        edges: found.edges,
        faces: found.faces,
        text: found.text,
        why,
        advice,
        places,
    }
}

impl Audit {
    /// Gives faces the numbers that they have in the file: `numbers[f]` for face `f` of the audited mesh.
    pub fn renumber_faces(&mut self, numbers: &[u32]) {
        for check in &mut self.checks {
            for f in &mut check.faces {
                *f = numbers.get(*f as usize).copied().unwrap_or(NONE);
            }
        }
    }
}
