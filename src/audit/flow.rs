//! Edge flow: poles, loops that do not close, warped and long quads, jumps of spacing.
//!
//! All of it is information, but a pole on a joint, and a quad that is nearly folded: those are warned of.

use rayon::prelude::*;

use super::found::{Found, Spot, counted};
use super::model::Outcome;
use crate::limbs::{EdgeLoops, JointPlace};
use crate::mesh::Mesh;
use crate::mesh::adjacency::Spokes;
use crate::mesh::vector::{Vector, cross, distance, dot, norm, sub};

/// Edges of a pole.
const POLE: usize = 5;
/// A quad whose halves lean against each other by more than this is nearly folded, degrees. Found by reasoning: at 90 its
/// halves are square to each other.
const FOLDED_DEG: f64 = 60.0;
/// A quad that is this many times longer than wide is long. Common practice, no source.
const LONG: f64 = 8.0;
/// Two edges of a loop that follow each other may differ by this factor. Common practice, no source.
const JUMP: f64 = 3.0;
/// Share of triangles above which the mesh is not made for smoothing, so that poles mean nothing.
const MOSTLY: f64 = 0.5;

/// Whether poles and loops say anything about this mesh.
pub(super) fn made_of_quads(mesh: &Mesh) -> bool {
    mesh.face_counts().triangles as f64 <= MOSTLY * mesh.face_count() as f64
}

/// Vertices of five edges and more.
pub(super) fn poles(mesh: &Mesh, spokes: &Spokes, joints: &[JointPlace]) -> Found {
    if !made_of_quads(mesh) {
        return Found::nothing("not judged: most faces are triangles");
    }
    let vertices: Vec<u32> = (0..mesh.positions().len() as u32)
        .filter(|&v| spokes.of(v).len() >= POLE)
        .collect();
    let on_joint = |v: u32| {
        joints.iter().find(|j| {
            let off = sub(mesh.positions()[v as usize], j.at);
            // Hips and shoulders are where limbs grow out of the trunk: poles belong there.
            !matches!(j.name, "hip" | "shoulder")
                && norm(off) <= j.diameter
                && dot(off, j.direction).abs() <= j.diameter / 2.0
        })
    };
    let pinching: Vec<(u32, &JointPlace)> =
        vertices.iter().filter_map(|&v| Some((v, on_joint(v)?))).collect();
    let spots: Vec<Spot> = pinching
        .iter()
        .map(|&(v, j)| Spot {
            vertices: vec![v],
            text: format!(
                "vertex {v} has {} edges and lies on the {}",
                spokes.of(v).len(),
                j.name
            ),
            at: None,
        })
        .collect();
    let most = vertices.iter().map(|&v| spokes.of(v).len()).max().unwrap_or(0);
    let mut found = Found::vertices(vertices, Outcome::Warn, "no vertex has five edges or more", |n| {
        format!(
            "{} of five edges or more (the most is {most}), {} on joints",
            counted(n, "vertex"),
            pinching.len()
        )
    });
    found.outcome = (!spots.is_empty()).then_some(Outcome::Warn);
    found.spots = spots;
    found
}

/// How many loops close.
pub(super) fn open_loops(mesh: &Mesh, loops: &EdgeLoops) -> Found {
    if !made_of_quads(mesh) {
        return Found::nothing("not judged: most faces are triangles");
    }
    let closed = (0..loops.count()).filter(|&l| loops.closed(l)).count();
    Found {
        count: loops.count() - closed,
        ..Found::nothing(format!(
            "{} close, {} end at poles, borders or triangles",
            counted(closed, "loop"),
            loops.count() - closed
        ))
    }
}

/// Warped and long quads.
pub(super) fn face_shape(mesh: &Mesh) -> Found {
    let shapes: Vec<(u32, f64, f64)> = (0..mesh.face_count() as u32)
        .into_par_iter()
        .filter_map(|f| {
            let &[a, b, c, d] = mesh.face(f as usize) else {
                return None;
            };
            let q = [a, b, c, d].map(|v| mesh.positions()[v as usize]);
            Some((f, warp(&q), longness(&q)))
        })
        .filter(|s| s.1 > FOLDED_DEG || s.2 > LONG)
        .collect();
    let folded: Vec<u32> = shapes.iter().filter(|s| s.1 > FOLDED_DEG).map(|s| s.0).collect();
    let long = shapes.iter().filter(|s| s.2 > LONG).count();
    let long_text = format!(
        "{} more than {LONG} times longer than wide",
        counted(long, "quad")
    );
    let n = folded.len();
    Found {
        outcome: (n > 0).then_some(Outcome::Warn),
        faces: folded,
        count: n,
        text: if n == 0 {
            format!("no quad is nearly folded; {long_text}")
        } else {
            format!(
                "{} folded by more than {FOLDED_DEG} degrees; {long_text}",
                counted(n, "quad")
            )
        },
        ..Found::default()
    }
}

/// The larger of the angles between the two halves of a quad, over both of its diagonals, degrees.
pub(super) fn warp(q: &[Vector; 4]) -> f64 {
    let angle = |a: Vector, b: Vector| {
        let lengths = norm(a) * norm(b);
        if lengths > 0.0 {
            (dot(a, b) / lengths).clamp(-1.0, 1.0).acos().to_degrees()
        } else {
            0.0
        }
    };
    let half = |i: usize, j: usize, k: usize| cross(sub(q[j], q[i]), sub(q[k], q[i]));
    angle(half(0, 1, 2), half(0, 2, 3)).max(angle(half(1, 2, 3), half(1, 3, 0)))
}

/// Length over width of a quad, from the means of opposite sides.
fn longness(q: &[Vector; 4]) -> f64 {
    let side = |i: usize| distance(q[i], q[(i + 1) % 4]);
    let (a, b) = (side(0) + side(2), side(1) + side(3));
    let (long, short) = (a.max(b), a.min(b));
    if short > 0.0 { long / short } else { 0.0 }
}

/// Vertices where the spacing along a loop jumps.
pub(super) fn edge_spacing(mesh: &Mesh, loops: &EdgeLoops) -> Found {
    if !made_of_quads(mesh) {
        return Found::nothing("not judged: most faces are triangles");
    }
    let length = |a: u32, b: u32| distance(mesh.positions()[a as usize], mesh.positions()[b as usize]);
    let mut vertices = Vec::new();
    for l in 0..loops.count() {
        for three in loops.vertices(l).windows(3) {
            let (a, b) = (length(three[0], three[1]), length(three[1], three[2]));
            if a.max(b) > JUMP * a.min(b) {
                vertices.push(three[1]);
            }
        }
    }
    vertices.sort_unstable();
    vertices.dedup();
    let mut found = Found::vertices(
        vertices,
        Outcome::Warn,
        "the spacing of loops changes gently",
        |n| {
            format!(
                "{} where the spacing along a loop changes more than {JUMP} times",
                counted(n, "vertex")
            )
        },
    );
    found.outcome = None;
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A unit square with one corner lifted by h: its halves meet at the diagonal, each at distance √½ from the other
    /// corners, so that the angle is 2 atan(h/2 ÷ √½) for both lifted equally; by hand for h = √2: 90 degrees.
    #[test]
    fn warp_of_a_lifted_square() {
        let h = std::f64::consts::FRAC_1_SQRT_2;
        // Corners 0 and 2 down, 1 and 3 up by √½: either half leans by 45 degrees about the diagonal 0–2.
        let q = [[0.0, 0.0, 0.0], [1.0, 0.0, h], [1.0, 1.0, 0.0], [0.0, 1.0, h]];
        assert!((warp(&q) - 90.0).abs() < 1e-9);
        assert_eq!(
            warp(&[[0.0; 3], [1.0, 0.0, 0.0], [1.0, 1.0, 0.0], [0.0, 1.0, 0.0]]),
            0.0
        );
    }
}
