//! Joints: how many loops let each one bend, and how they lie.

use super::found::{Found, Spot, counted};
use super::model::{Joint, Outcome, Side};
use crate::limbs::{EdgeLoops, JointPlace, Kind, Limbs};
use crate::mesh::Mesh;
use crate::mesh::vector::{Vector, newell, unit};

/// Loops that a joint has at least. Common practice, no source.
pub(super) const LEAST_LOOPS: usize = 3;
/// Loops lie closest at the bend if their spacing is at most this part of that beside it. Found by reasoning: equal
/// spacing, 1, is not closer; a tenth is left for what the eye takes as equal.
const CLOSER: f64 = 0.9;
/// A hip loop whose plane leans outward by less than this runs level across the thigh, degrees; the fold of the groin
/// rises by about 45. Common practice, no source.
const LEVEL_DEG: f64 = 15.0;

/// The side of a limb.
pub(super) fn side(limbs: &Limbs, limb: usize) -> Side {
    if limbs.limbs[limb].left {
        Side::Left
    } else {
        Side::Right
    }
}

/// Which arms and legs were not found, in words; nothing where all were. Of one half of a model one of each is enough.
pub(super) fn missing(limbs: &Limbs, half: bool) -> Option<String> {
    let has = |kind: Kind, left: bool| limbs.limbs.iter().any(|l| l.kind == kind && l.left == left);
    let mut out = Vec::new();
    for (kind, name) in [(Kind::Arm, "arm"), (Kind::Leg, "leg")] {
        for (left, side) in [(true, "left"), (false, "right")] {
            let found = has(kind, left) || half && has(kind, !left);
            if !found {
                out.push(format!("{side} {name}"));
            }
        }
    }
    (!out.is_empty()).then(|| {
        format!(
            "not found, and their joints not counted: {}; a limb that touches the trunk or its neighbour all along is not told from it",
            out.join(", ")
        )
    })
}

/// The joints in the words of the result.
pub(super) fn joints(mesh: &Mesh, loops: &EdgeLoops, limbs: &Limbs, places: &[JointPlace]) -> Vec<Joint> {
    places
        .iter()
        .map(|p| {
            let closest = p.crowding.map(|c| c <= CLOSER);
            let mut text = counted(p.loops.len(), "loop");
            if p.loops.len() < LEAST_LOOPS {
                text += &format!(", {LEAST_LOOPS} or more are common practice");
            }
            match closest {
                Some(true) => text += ", closest at the bend",
                Some(false) => text += ", no closer at the bend than beside it",
                None => {}
            }
            if p.open > 0 {
                text += &format!(", {} more end without closing", counted(p.open, "loop"));
            }
            if p.name == "hip"
                && let Some(lean) = lean(mesh, loops, p, limbs.limbs[p.limb].left)
            {
                text += if lean < LEVEL_DEG {
                    ", they run level instead of rising to the outside along the fold"
                } else {
                    ", they rise to the outside along the fold"
                };
            }
            Joint {
                name: p.name,
                side: side(limbs, p.limb),
                loops: p.loops.len(),
                at: p.at,
                diameter: p.diameter,
                offsets: p.loops.iter().map(|l| l.0).collect(),
                closest_at_bend: closest,
                open_loops: p.open,
                text,
            }
        })
        .collect()
}

/// Mean angle by which the loops of a hip rise to the outside, degrees.
fn lean(mesh: &Mesh, loops: &EdgeLoops, place: &JointPlace, left: bool) -> Option<f64> {
    let outward = if left { 1.0 } else { -1.0 };
    let leans: Vec<f64> = place
        .loops
        .iter()
        .filter_map(|&(_, l)| {
            let points: Vec<Vector> = loops
                .vertices(l)
                .iter()
                .map(|&v| mesh.positions()[v as usize])
                .collect();
            let n = unit(newell(&points))?;
            let n = if n[1] < 0.0 { n.map(|c| -c) } else { n };
            // A plane that rises to the outside has a normal that leans inward.
            Some((-outward * n[0]).atan2(n[1]).to_degrees())
        })
        .collect();
    (!leans.is_empty()).then(|| leans.iter().sum::<f64>() / leans.len() as f64)
}

/// The check of joints.
pub(super) fn joint_loops(joints: &[Joint], places: &[JointPlace], loops: &EdgeLoops) -> Found {
    if joints.is_empty() {
        return Found::nothing("not judged: no arms or legs were found, or they are not made of quads");
    }
    let few: Vec<usize> = (0..joints.len())
        .filter(|&j| joints[j].loops < LEAST_LOOPS)
        .collect();
    let spots = few
        .iter()
        .map(|&j| Spot {
            vertices: places[j]
                .loops
                .iter()
                .flat_map(|&(_, l)| loops.vertices(l))
                .copied()
                .collect(),
            text: format!("{} {}: {}", joints[j].side.word(), joints[j].name, joints[j].text),
            at: Some(joints[j].at),
        })
        .collect();
    let mut vertices: Vec<u32> = few
        .iter()
        .flat_map(|&j| places[j].loops.iter().flat_map(|&(_, l)| loops.vertices(l)))
        .copied()
        .collect();
    vertices.sort_unstable();
    vertices.dedup();
    let list: Vec<String> = few
        .iter()
        .map(|&j| format!("{} {} {}", joints[j].side.word(), joints[j].name, joints[j].loops))
        .collect();
    let all = counted(joints.len(), "joint");
    Found {
        vertices,
        count: few.len(),
        text: if few.is_empty() {
            format!("{all}, each with {LEAST_LOOPS} loops or more")
        } else {
            format!(
                "{} of {all} with fewer than {LEAST_LOOPS} loops: {}",
                few.len(),
                list.join(", ")
            )
        },
        outcome: (!few.is_empty()).then_some(Outcome::Warn),
        spots,
        ..Found::default()
    }
}
