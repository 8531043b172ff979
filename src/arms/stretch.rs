//! An arm made longer or shorter along its own axis: every loop goes along the arm, none changes its section.

use super::found::MeshArm;
use super::turn::share;
use crate::mesh::Mesh;
use crate::mesh::vector::Vector;

/// How far along an arm a place is now and where it should be, both from the shoulder.
pub type Knot = (f64, f64);

/// For each vertex how far it goes so that the places of `knots`, ascending, come to lie where they should; between them, and
/// from the shoulder to the first, in proportion. What lies behind the last one goes with it.
pub fn stretched(mesh: &Mesh, arm: &MeshArm, knots: &[Knot]) -> Vec<Vector> {
    let upper = arm.shape.upper;
    let begin = upper.s(arm.joint());
    let elbow = arm.shape.fore.map(|fore| (fore, upper.s(fore.at) - begin));
    let gain = |s: f64| {
        let mut before = (0.0, 0.0);
        for &(now, wanted) in knots {
            if s <= now && now > before.0 {
                let t = (s - before.0) / (now - before.0);
                return before.1 - before.0 + t * ((wanted - now) - (before.1 - before.0));
            }
            before = (now, wanted);
        }
        before.1 - before.0
    };
    let place = |v: usize| {
        let p = mesh.positions()[v];
        let flat = [p[0], p[1]];
        let with_arm = share(arm, v, p);
        let s = upper.s(flat) - begin;
        if with_arm == 0.0 || s <= 0.0 {
            return [0.0; 3];
        }
        let along = match elbow {
            Some((fore, at)) if s > at && fore.s(flat) > 0.0 => {
                let (first, all) = (gain(at), gain(at + fore.s(flat)));
                [0, 1].map(|i| first * upper.along[i] + (all - first) * fore.along[i])
            }
            _ => upper.along.map(|c| c * gain(s)),
        };
        [with_arm * along[0], with_arm * along[1], 0.0]
    };
    (0..mesh.positions().len()).map(place).collect()
}
