//! Arms, legs and their joints on a standing figure, found without names.
//!
//! Method: geodesic distance from the middle of the trunk; its maxima that stand out are the tips of head, hands and
//! feet, and the part beyond the level at which a tip's ground meets another one is its limb (merge trees: Carr,
//! Snoeyink and Axen 2003). The limb's axis runs through the middles of its level sets; it ends at the trunk where
//! their radius jumps. Joints lie at the shares of the limb that bodies have on the mean (Drillis and Contini 1966, in
//! Winter 2009) and move to where edge loops crowd nearby.
//!
//! Assumptions: y up, facing +z, one standing figure, arms apart from the trunk. Several overlapping shells are
//! bridged where they come near each other. Limits: a hand that touches the body ends its arm there; a seated figure or
//! an animal has no joints here.

pub mod joints;
pub mod loops;
mod ways;

pub use joints::{JointPlace, joints};
pub use loops::EdgeLoops;

use crate::mesh::adjacency::Adjacency;
use crate::mesh::near::Near;
use crate::mesh::shells::Shells;
use crate::mesh::vector::{Vector, add_scaled, distance, mean, sub, unit};
use crate::mesh::{Extent, Mesh};
use crate::peaks::{Roads, Tip, tips};

/// Levels along a limb's axis: an arm of 0.44 of the height then has steps of about a hundredth of it.
const LEVELS: usize = 48;
/// A tip stands out by this share of the height at least: a hand by an arm (0.44), a finger by 0.04 (Drillis and
/// Contini 1966); found by reasoning.
const STANDS_OUT: f64 = 0.12;
/// Tips below this share of the height are feet: an ankle is at 0.039, a hanging fingertip at 0.378.
const FEET_BELOW: f64 = 0.15;
/// A tip of the middle above this share of the height is the crown, of a figure whose head may be missing.
const HEAD_ABOVE: f64 = 0.7;
/// Tips nearer to the plane than this share of the height belong to the middle: half a head's width.
const MIDDLE: f64 = 0.04;
/// The trunk begins where the radius exceeds the limb's own by this factor. Found by trial on the drawn cases.
const JUMP: f64 = 1.5;
/// Parts of the levels that give the limb's own radius: the quarter before the place.
const OWN: usize = LEVELS / 4;

/// Which limb.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// From shoulder to fingertip.
    Arm,
    /// From hip to toe.
    Leg,
    /// From the shoulders to the crown.
    Head,
}

/// A place on a limb's axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Station {
    /// Middle of the level set.
    pub at: Vector,
    /// Its mean radius.
    pub radius: f64,
    /// Geodesic distance from the trunk's middle.
    pub away: f64,
}

/// A limb.
#[derive(Debug, Clone)]
pub struct Limb {
    /// Arm or leg.
    pub kind: Kind,
    /// The character's left, x above the plane.
    pub left: bool,
    /// The vertex at its tip.
    pub tip: u32,
    /// From the trunk to the tip.
    pub axis: Vec<Station>,
}

/// The limbs of a figure, and what was measured on the way.
#[derive(Debug, Clone)]
pub struct Limbs {
    /// Left arm, right arm, left leg, right leg, head, those that were found.
    pub limbs: Vec<Limb>,
    /// Geodesic distance of each vertex from the trunk's middle; infinite where no way leads.
    pub away: Vec<f64>,
    /// For each vertex the limb that it belongs to, as an index; `usize::MAX` for the trunk.
    pub of_vertex: Vec<u8>,
}

/// No limb.
pub const TRUNK: u8 = u8::MAX;

impl Limb {
    /// Direction of the axis at a station, towards the tip.
    pub fn direction(&self, station: usize) -> Vector {
        let last = self.axis.len() - 1;
        let (a, b) = (station.saturating_sub(2), (station + 2).min(last));
        unit(sub(self.axis[b].at, self.axis[a].at)).unwrap_or([0.0, -1.0, 0.0])
    }

    /// Lengths along the axis from its beginning to each station.
    pub fn lengths(&self) -> Vec<f64> {
        let mut sum = 0.0;
        let mut out = vec![0.0];
        for pair in self.axis.windows(2) {
            sum += distance(pair[0].at, pair[1].at);
            out.push(sum);
        }
        out
    }

    /// The station nearest to a place.
    pub fn nearest(&self, place: Vector) -> usize {
        let mut best = (f64::MAX, 0);
        for (i, s) in self.axis.iter().enumerate() {
            let d = distance(s.at, place);
            if d < best.0 {
                best = (d, i);
            }
        }
        best.1
    }
}

/// What is an arm at least, in shares of the figure's height.
#[derive(Debug, Clone, Copy)]
pub struct Least {
    /// How far its tip stands out.
    pub stands_out: f64,
    /// Its length.
    pub length: f64,
}

impl Least {
    /// A whole arm: 0.44 of the height on the mean (Drillis and Contini 1966); invented figures have arms half as long.
    pub const WHOLE: Self = Self {
        stands_out: STANDS_OUT,
        length: 0.2,
    };
    /// One that ends at the elbow so far, after 0.186 of the height on the mean, half as long again; more than a finger
    /// (0.04).
    pub const BEGUN: Self = Self {
        stands_out: 0.06,
        length: 0.08,
    };
}

/// Finds arms and legs. `extent` is the box of the figure. Empty where the mesh is no standing figure.
pub fn find(
    mesh: &Mesh,
    table: &Adjacency,
    shells: &Shells,
    near: &Near<'_>,
    plane: f64,
    extent: &Extent,
) -> Option<Limbs> {
    find_at_least(mesh, table, shells, near, plane, extent, Least::WHOLE)
}

/// The same with other least measures of an arm.
pub fn find_at_least(
    mesh: &Mesh,
    table: &Adjacency,
    shells: &Shells,
    near: &Near<'_>,
    plane: f64,
    extent: &Extent,
    least: Least,
) -> Option<Limbs> {
    let height = extent.size()[1];
    let sources = trunk(mesh, table, plane, extent)?;
    let bridges = ways::bridges(mesh, table, shells, near, plane);
    let away = ways::distances(mesh, table, &bridges, &sources);
    let roads = Roads::new(table.edges().iter().chain(&bridges).copied(), away.len());
    let tips = tips(|v| roads.from(v), &away, least.stands_out * height);
    let share = |v: u32| (mesh.positions()[v as usize][1] - extent.min[1]) / height;
    let side = |v: u32| mesh.positions()[v as usize][0] - plane;
    let mut limbs = Vec::new();
    let mut of_vertex = vec![TRUNK; mesh.positions().len()];
    for kind in [Kind::Arm, Kind::Leg, Kind::Head] {
        for left in [true, false] {
            let fits = |t: &&Tip| {
                let foot = share(t.at) < FEET_BELOW;
                let middle = side(t.at).abs() <= MIDDLE * height;
                let own_side = (side(t.at) > 0.0) == left;
                match kind {
                    Kind::Leg => foot && own_side,
                    Kind::Arm => !foot && !middle && own_side,
                    // One head is enough: it is looked for once.
                    Kind::Head => middle && left && share(t.at) > HEAD_ABOVE,
                }
            };
            if kind == Kind::Leg && tips.iter().filter(fits).count() > 1 {
                // More than two feet: no standing figure of two legs.
                return None;
            }
            let limb = tips.iter().filter(fits).find_map(|tip| {
                let members = ways::beyond(table, &bridges, &away, tip.at, tip.level);
                let axis = axis(mesh, table, &away, &members, tip, kind);
                plausible(kind, &axis, plane, height, least.length).then_some((tip, members, axis))
            });
            let Some((tip, members, axis)) = limb else {
                continue;
            };
            for (v, member) in members.iter().enumerate() {
                if *member {
                    of_vertex[v] = limbs.len() as u8;
                }
            }
            limbs.push(Limb {
                kind,
                left,
                tip: tip.at,
                axis,
            });
        }
    }
    Some(Limbs {
        limbs,
        away,
        of_vertex,
    })
}

/// Whether an axis is that of such a limb: an ear, a horn or the stump of a neck is no arm.
fn plausible(kind: Kind, axis: &[Station], plane: f64, height: f64, least: f64) -> bool {
    /// What goes up by more than this part of its length from the trunk is an ear, not a raised arm in a turnaround.
    const RAISED: f64 = 0.8;
    if axis.len() < 4 {
        return false;
    }
    if kind != Kind::Arm {
        return true;
    }
    let (root, tip) = (axis[0].at, axis[axis.len() - 1].at);
    let length: f64 = axis.windows(2).map(|p| distance(p[0].at, p[1].at)).sum();
    let beside = (axis[axis.len() / 2].at[0] - plane).abs();
    length >= least * height && beside > MIDDLE * height && tip[1] - root[1] < RAISED * length
}

/// Vertices of the trunk's middle: on the plane as nearly as any, between the heights of hip and waist.
fn trunk(mesh: &Mesh, table: &Adjacency, plane: f64, extent: &Extent) -> Option<Vec<u32>> {
    /// The hip is at 0.53 of the height (Drillis and Contini 1966); the waist above it.
    const BETWEEN: [f64; 2] = [0.5, 0.64];
    let height = extent.size()[1];
    let within = |v: u32, reach: f64| {
        let p = mesh.positions()[v as usize];
        let share = (p[1] - extent.min[1]) / height;
        (p[0] - plane).abs() <= reach * height && (BETWEEN[0]..BETWEEN[1]).contains(&share)
    };
    let mut used: Vec<u32> = table.edges().iter().map(|e| e[0]).collect();
    used.dedup();
    for reach in [0.01, MIDDLE, 3.0 * MIDDLE] {
        let found: Vec<u32> = used.iter().copied().filter(|&v| within(v, reach)).collect();
        if !found.is_empty() {
            return Some(found);
        }
    }
    None
}

/// The axis of a limb, from the trunk to the tip.
fn axis(
    mesh: &Mesh,
    table: &Adjacency,
    away: &[f64],
    members: &[bool],
    tip: &Tip,
    kind: Kind,
) -> Vec<Station> {
    let (low, high) = (tip.level, away[tip.at as usize]);
    let step = (high - low) / LEVELS as f64;
    let mut points: Vec<Vec<Vector>> = vec![Vec::new(); LEVELS];
    for &[a, b] in table.edges() {
        if !members[a as usize] && !members[b as usize] {
            continue;
        }
        let (da, db) = (away[a as usize], away[b as usize]);
        let (from, to, d0, d1) = if da <= db { (a, b, da, db) } else { (b, a, db, da) };
        if !members[to as usize] || d1 <= d0 {
            continue;
        }
        // Levels half a step off both ends.
        let first = ((d0 - low) / step - 0.5).ceil().max(0.0) as usize;
        for (k, level) in points.iter_mut().enumerate().skip(first) {
            let t = low + (k as f64 + 0.5) * step;
            if t > d1 {
                break;
            }
            let share = (t - d0) / (d1 - d0);
            let (p, q) = (mesh.positions()[from as usize], mesh.positions()[to as usize]);
            level.push(add_scaled(p, share, sub(q, p)));
        }
    }
    let stations: Vec<Station> = points
        .iter()
        .enumerate()
        .filter(|(_, p)| p.len() > 2)
        .map(|(k, p)| {
            let at = mean(p.iter().copied());
            Station {
                at,
                radius: p.iter().map(|q| distance(*q, at)).sum::<f64>() / p.len() as f64,
                away: low + (k as f64 + 0.5) * step,
            }
        })
        .collect();
    let count = stations.len();
    if kind == Kind::Leg {
        // Both legs meet at the crotch: that is where they end.
        return stations;
    }
    // From the tip towards the trunk: the first place whose radius jumps.
    for i in (0..count / 2).rev() {
        let mut own: Vec<f64> = stations[i + 1..(i + 1 + OWN).min(count)]
            .iter()
            .map(|s| s.radius)
            .collect();
        own.sort_by(f64::total_cmp);
        if stations[i].radius > JUMP * own[own.len() / 2] {
            return stations[i + 1..].to_vec();
        }
    }
    stations
}
