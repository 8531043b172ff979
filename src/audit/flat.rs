//! Rings that are commonly meant to be flat: where arm and leg leave the trunk, wrist, ankle, neck.
//!
//! The plane of best fit goes through the middle; its normal is the direction of least spread (the eigenvector of the
//! smallest eigenvalue of the covariance, Pearson 1901).

use nalgebra::{Matrix3, SymmetricEigen, Vector3};

use super::found::Found;
use super::joints::side;
use super::model::{FlatRing, Side};
use crate::limbs::joints::{Ring, rings};
use crate::limbs::{EdgeLoops, JointPlace, Kind, Limbs};
use crate::mesh::Mesh;
use crate::mesh::vector::{Vector, distance, dot, mean, sub};

const AXES: [&str; 3] = ["x", "y", "z"];

/// The rings.
pub(super) fn flat_rings(
    mesh: &Mesh,
    loops: &EdgeLoops,
    limbs: &Limbs,
    joints: &[JointPlace],
) -> Vec<FlatRing> {
    let mut out = Vec::new();
    for (index, limb) in limbs.limbs.iter().enumerate() {
        let all = rings(mesh, loops, limbs, index);
        if limb.kind == Kind::Head {
            // The neck is the narrowest place between shoulders and head.
            let half = limb.axis.len() / 2;
            let narrow =
                (0..half.max(1)).min_by(|&a, &b| limb.axis[a].radius.total_cmp(&limb.axis[b].radius));
            if let Some(ring) = narrow.and_then(|s| nearest(&all, limb.axis[s].at, 2.0 * limb.axis[s].radius))
            {
                out.push(measured(mesh, loops, "neck", Side::Middle, ring));
            }
            continue;
        }
        let first = if limb.kind == Kind::Arm {
            "arm opening"
        } else {
            "leg opening"
        };
        let start = limb.axis[0];
        if let Some(ring) = nearest(&all, start.at, 2.0 * start.radius) {
            out.push(measured(mesh, loops, first, side(limbs, index), ring));
        }
        for joint in joints
            .iter()
            .filter(|j| j.limb == index && matches!(j.name, "wrist" | "ankle"))
        {
            if let Some(ring) = nearest(&all, joint.at, joint.diameter) {
                out.push(measured(mesh, loops, joint.name, side(limbs, index), ring));
            }
        }
    }
    out
}

fn nearest(rings: &[Ring], at: Vector, reach: f64) -> Option<&Ring> {
    rings
        .iter()
        .filter(|r| distance(r.at, at) <= reach)
        .min_by(|a, b| distance(a.at, at).total_cmp(&distance(b.at, at)))
}

fn measured(mesh: &Mesh, loops: &EdgeLoops, name: &'static str, side: Side, ring: &Ring) -> FlatRing {
    let vertices = loops.vertices(ring.index).to_vec();
    let points: Vec<Vector> = vertices.iter().map(|&v| mesh.positions()[v as usize]).collect();
    let (normal, off_plane) = plane_of(&points);
    let axis = (0..3).fold(0, |best, k| {
        if normal[k].abs() > normal[best].abs() {
            k
        } else {
            best
        }
    });
    FlatRing {
        name,
        side,
        vertices,
        at: ring.at,
        normal,
        off_plane,
        off_plane_share: off_plane / (2.0 * ring.radius),
        axis: AXES[axis],
        axis_deg: normal[axis].abs().min(1.0).acos().to_degrees(),
    }
}

/// The unit normal of the plane of best fit, its largest component positive, and the largest distance from the plane.
pub(super) fn plane_of(points: &[Vector]) -> (Vector, f64) {
    let middle = mean(points.iter().copied());
    let mut spread = Matrix3::zeros();
    for p in points {
        let d = Vector3::from(sub(*p, middle));
        spread += d * d.transpose();
    }
    let eigen = SymmetricEigen::new(spread);
    let least = eigen.eigenvalues.imin();
    let n = eigen.eigenvectors.column(least);
    let mut normal = [n[0], n[1], n[2]];
    let largest = (0..3).fold(0, |best, k| {
        if normal[k].abs() > normal[best].abs() {
            k
        } else {
            best
        }
    });
    if normal[largest] < 0.0 {
        normal = normal.map(|c| -c);
    }
    let off = points
        .iter()
        .map(|p| dot(sub(*p, middle), normal).abs())
        .fold(0.0, f64::max);
    (normal, off)
}

/// The rings in one sentence.
pub(super) fn found(rings: &[FlatRing]) -> Found {
    if rings.is_empty() {
        return Found::nothing("not judged: no ring of a limb was found");
    }
    let worst = rings
        .iter()
        .max_by(|a, b| a.off_plane_share.total_cmp(&b.off_plane_share))
        .map_or_else(String::new, |r| {
            format!(
                "the {} {} is off its plane by up to {:.4} ({:.0} % of its diameter), {:.0} degrees from square to {}",
                r.side.word(),
                r.name,
                r.off_plane,
                100.0 * r.off_plane_share,
                r.axis_deg,
                r.axis
            )
            .replace("  ", " ")
        });
    Found {
        count: 0,
        ..Found::nothing(format!("{} rings measured; {worst}", rings.len()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A ring on a plane leaning by atan(½) about z, one point lifted off it.
    #[test]
    fn the_plane_of_a_leaning_ring() {
        let ring: Vec<Vector> = (0..12)
            .map(|i| {
                let a = f64::from(i) * std::f64::consts::TAU / 12.0;
                [a.cos(), a.cos() / 2.0, a.sin()]
            })
            .collect();
        let (normal, off) = plane_of(&ring);
        assert!(off < 1e-12);
        // (−½, 1, 0) normalised.
        assert!((normal[0] + 0.2_f64.sqrt()).abs() < 1e-12 && (normal[1] - 0.8_f64.sqrt()).abs() < 1e-12);
    }
}
