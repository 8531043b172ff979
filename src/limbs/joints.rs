//! Where a limb bends, and the edge loops around it there.
//!
//! A joint's first guess is the share of the limb that bodies have on the mean; it moves to where most loops lie within
//! one diameter, at most `SEARCH` of the limb away, of equal places to the nearest. Loops count within half a diameter
//! to either side.

use super::{EdgeLoops, Kind, Limb, Limbs};
use crate::mesh::Mesh;
use crate::mesh::vector::{Vector, add_scaled, distance, dot, mean, newell, norm, sub};

/// Shares of stature (Drillis and Contini 1966, in Winter 2009, figure 4.1).
const UPPER_ARM: f64 = 0.186;
const FOREARM: f64 = 0.146;
const HAND: f64 = 0.108;
const HIP: f64 = 0.530;
const KNEE: f64 = 0.285;
const ANKLE: f64 = 0.039;
/// The crotch (ANSUR II 2012, mean of men and women).
const CROTCH: f64 = 0.481;
/// How far a joint may lie from its guess, as a share of its limb: invented characters differ from the mean. Found by
/// trial on the drawn cases.
const SEARCH: f64 = 0.12;
/// A loop runs around the limb if its plane is square to the axis to within this cosine.
const AROUND: f64 = 0.5;
/// A loop around the limb is not much smaller than the limb: a finger's is. Found by reasoning.
const LEAST_RADIUS: f64 = 0.5;
/// Or larger.
const MOST_RADIUS: f64 = 2.0;
/// Loops of no more vertices than this are none: a cap's last ring of four still is one.
const LEAST_VERTICES: usize = 4;

/// A joint's place.
#[derive(Debug, Clone)]
pub struct JointPlace {
    /// `shoulder`, `elbow`, `wrist`, `hip`, `knee`, `ankle`.
    pub name: &'static str,
    /// Index of the limb.
    pub limb: usize,
    /// Where.
    pub at: Vector,
    /// Along the limb, towards the tip.
    pub direction: Vector,
    /// Mean diameter of the limb there.
    pub diameter: f64,
    /// Loops within half a diameter: place along the axis and index, ascending.
    pub loops: Vec<(f64, usize)>,
    /// Spacing of the loops at the bend over that of the next ones beside it, where both can be told.
    pub crowding: Option<f64>,
    /// Loops within half a diameter that run across the axis without closing.
    pub open: usize,
}

/// A closed loop around a limb.
#[derive(Debug, Clone, Copy)]
pub struct Ring {
    /// Index into the loops.
    pub index: usize,
    /// Its middle.
    pub at: Vector,
    /// Its mean radius.
    pub radius: f64,
    /// Nearest station of the axis.
    pub station: usize,
}

/// The closed loops around a limb, from the trunk to the tip.
pub fn rings(mesh: &Mesh, loops: &EdgeLoops, limbs: &Limbs, limb: usize) -> Vec<Ring> {
    let this = &limbs.limbs[limb];
    let Some(first) = this.axis.first() else {
        return Vec::new();
    };
    // A slanted ring at the root reaches up to a diameter beyond it.
    let reach = first.away - 2.0 * first.radius;
    let mut out: Vec<Ring> = (0..loops.count())
        .filter(|&l| loops.closed(l) && loops.vertices(l).len() >= LEAST_VERTICES)
        .filter(|&l| loops.vertices(l).iter().all(|&v| limbs.away[v as usize] >= reach))
        .filter_map(|l| ring(mesh, loops.vertices(l), this, l))
        .collect();
    out.sort_by(|a, b| a.station.cmp(&b.station).then(a.index.cmp(&b.index)));
    out
}

fn ring(mesh: &Mesh, vertices: &[u32], limb: &Limb, index: usize) -> Option<Ring> {
    let points: Vec<Vector> = vertices.iter().map(|&v| mesh.positions()[v as usize]).collect();
    let at = mean(points.iter().copied());
    let station = limb.nearest(at);
    let own = limb.axis[station].radius;
    let radius = points.iter().map(|p| distance(*p, at)).sum::<f64>() / points.len() as f64;
    let area = newell(&points);
    let around = dot(area, limb.direction(station)).abs() >= AROUND * norm(area);
    let fits = (LEAST_RADIUS * own..MOST_RADIUS * own).contains(&radius)
        && distance(at, limb.axis[station].at) <= own;
    (around && fits).then_some(Ring {
        index,
        at,
        radius,
        station,
    })
}

/// The joints of all limbs.
pub fn joints(mesh: &Mesh, loops: &EdgeLoops, limbs: &Limbs, ground: f64) -> Vec<JointPlace> {
    let mut out = Vec::new();
    for (index, limb) in limbs.limbs.iter().enumerate() {
        let rings = rings(mesh, loops, limbs, index);
        let lengths = limb.lengths();
        let Some(&whole) = lengths.last() else { continue };
        let at_share = |share: f64| {
            lengths
                .partition_point(|&l| l < share * whole)
                .min(lengths.len() - 1)
        };
        let guesses: Vec<(&'static str, usize)> = match limb.kind {
            Kind::Arm => {
                let arm = UPPER_ARM + FOREARM + HAND;
                vec![
                    ("shoulder", 0),
                    ("elbow", at_share(UPPER_ARM / arm)),
                    ("wrist", at_share((UPPER_ARM + FOREARM) / arm)),
                ]
            }
            Kind::Leg => {
                // The axis begins at the crotch.
                let crotch = limb.axis[0].at[1] - ground;
                let at_height = |share: f64| {
                    let y = ground + share / CROTCH * crotch;
                    let off = |i: &usize| (limb.axis[*i].at[1] - y).abs();
                    (0..limb.axis.len())
                        .min_by(|a, b| off(a).total_cmp(&off(b)))
                        .unwrap_or(0)
                };
                // A leg that is bent or cut short gives heights beyond its axis; the nearest station stands for them.
                vec![
                    ("hip", at_height(HIP)),
                    ("knee", at_height(KNEE)),
                    ("ankle", at_height(ANKLE)),
                ]
            }
            Kind::Head => continue,
        };
        for (name, guess) in guesses {
            out.push(place(mesh, loops, limb, &lengths, &rings, index, name, guess));
        }
    }
    out
}

#[allow(
    clippy::too_many_arguments,
    reason = "one call, all of them plain values of the limb"
)]
fn place(
    mesh: &Mesh,
    loops: &EdgeLoops,
    limb: &Limb,
    lengths: &[f64],
    rings: &[Ring],
    index: usize,
    name: &'static str,
    guess: usize,
) -> JointPlace {
    let whole = lengths[lengths.len() - 1];
    // The ring nearest to a station knows the limb's girth better than a level set, which may lean.
    let girth = |station: usize| {
        let s = &limb.axis[station];
        rings
            .iter()
            .map(|r| (distance(r.at, s.at), r.radius))
            .filter(|r| r.0 <= 2.0 * s.radius)
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .map_or(s.radius, |r| r.1)
    };
    let around = |station: usize| -> Vec<(f64, &Ring)> {
        let (s, direction, radius) = (&limb.axis[station], limb.direction(station), girth(station));
        let mut here: Vec<(f64, &Ring)> = rings
            .iter()
            .filter(|r| within(r, s.at, direction, radius))
            .map(|r| (dot(sub(r.at, s.at), direction), r))
            .collect();
        here.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.index.cmp(&b.1.index)));
        here
    };
    let station = (0..limb.axis.len())
        .filter(|&i| (lengths[i] - lengths[guess]).abs() <= SEARCH * whole)
        .max_by(|&a, &b| {
            let far = |i: usize| (lengths[i] - lengths[guess]).abs();
            around(a)
                .len()
                .cmp(&around(b).len())
                .then(far(b).total_cmp(&far(a)))
        })
        .unwrap_or(guess);
    let direction = limb.direction(station);
    let radius = girth(station);
    let here = around(station);
    // The bend is in the middle of its loops.
    let (at, middle) = match (here.first(), here.last()) {
        (Some(first), Some(last)) => {
            let middle = f64::midpoint(first.0, last.0);
            let before = here.iter().rev().find(|h| h.0 <= middle).unwrap_or(first);
            let behind = here.iter().find(|h| h.0 >= middle).unwrap_or(last);
            let span = behind.0 - before.0;
            let share = if span > 0.0 {
                (middle - before.0) / span
            } else {
                0.0
            };
            (
                add_scaled(before.1.at, share, sub(behind.1.at, before.1.at)),
                middle,
            )
        }
        _ => (limb.axis[station].at, 0.0),
    };
    let here: Vec<(f64, usize)> = here.iter().map(|&(o, r)| (o - middle, r.index)).collect();
    let beside = |sign: f64| {
        rings
            .iter()
            .filter(|r| distance(r.at, at) < 3.0 * radius)
            .map(|r| sign * dot(sub(r.at, at), direction))
            .filter(|o| {
                here.last()
                    .zip(here.first())
                    .is_some_and(|(h, l)| *o > (sign * h.0).max(sign * l.0))
            })
            .fold(f64::INFINITY, f64::min)
    };
    let crowding = (here.len() >= 3).then(|| {
        let span = here[here.len() - 1].0 - here[0].0;
        let inner = span / (here.len() - 1) as f64;
        let outer = [beside(1.0) - here[here.len() - 1].0, beside(-1.0) + here[0].0];
        let known: Vec<f64> = outer.into_iter().filter(|o| o.is_finite() && *o > 0.0).collect();
        inner / (known.iter().sum::<f64>() / known.len() as f64)
    });
    JointPlace {
        name,
        limb: index,
        at,
        direction,
        diameter: 2.0 * radius,
        loops: here,
        crowding: crowding.filter(|c| c.is_finite()),
        open: open_loops(mesh, loops, at, direction, radius),
    }
}

/// Whether a ring crosses the axis within a radius of a place.
fn within(ring: &Ring, at: Vector, direction: Vector, radius: f64) -> bool {
    dot(sub(ring.at, at), direction).abs() <= radius && distance(ring.at, at) <= 2.0 * radius
}

/// Loops near a joint that run across the axis and end there: all of their vertices lie within a radius along the axis
/// and two radii of the joint.
fn open_loops(mesh: &Mesh, loops: &EdgeLoops, at: Vector, direction: Vector, radius: f64) -> usize {
    (0..loops.count())
        .filter(|&l| !loops.closed(l) && loops.vertices(l).len() >= LEAST_VERTICES)
        .filter(|&l| {
            loops.vertices(l).iter().all(|&v| {
                let p = mesh.positions()[v as usize];
                dot(sub(p, at), direction).abs() <= radius && distance(p, at) <= 2.0 * radius
            })
        })
        .count()
}
