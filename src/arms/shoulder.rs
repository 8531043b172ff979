//! Where an arm leaves the trunk: armpit, joint, and which vertices turn with it.
//!
//! Method: along the arm's line from its middle inwards, the lower edge runs level with the line until it turns down
//! along the trunk. The armpit is where it has turned half of the way: at a sharp corner the corner, at a round one its
//! middle. The joint is the place of the arm's own line straight above it. An arm that is a shell of its own ends inside the trunk
//! in a cap; its joint is the cap's centre: the end of a capsule.
//!
//! Limits: a shoulder girdle drops too when an arm is lowered (about one part in three, Inman, Saunders and Abbott 1944);
//! here the arm alone turns.

use super::found::{End, Figure, JointFrom, MeshArm, Told};
use super::line::{Flat, Line, fit};
use super::shape::{Shape, Slice};
use crate::mesh::Mesh;
use crate::mesh::adjacency::NONE;
use crate::mesh::vector::{Vector, dot, sub};

/// The lower edge is the trunk's where it lies so many half widths from the arm's line.
const TRUNK: f64 = 1.8;
/// A cut takes part from this share of the arm's length inwards: what flares farther out is a sleeve or a muscle.
const FROM: f64 = 0.42;
/// Cuts over which the slope of the lower edge is taken.
const SLOPE_CUTS: usize = 2;
/// The arm's lower edge is fitted between so many half widths outside the rough corner, the trunk's side between so many
/// below it, in so many rows: faces of half of that round the corner off.
const ARM_EDGE: [f64; 2] = [0.6, 3.0];
/// See [`ARM_EDGE`].
const SIDE: [f64; 2] = [0.6, 2.5];
/// See [`ARM_EDGE`].
const SIDE_ROWS: usize = 16;
/// The trunk's side hangs straight down, and an arm that hangs steeper than this still stands off it by as much, degrees.
const LEAST_CORNER_DEG: f64 = 20.0;
/// A shell belongs to an arm whole if this share of its vertices does.
const MOSTLY: f64 = 0.5;
/// And its inner end reaches at most so many half widths beyond the armpit.
const INSIDE: f64 = 3.0;
/// A vertex at this share of the cap's radius or less closes a shell's end.
const POLE: f64 = 0.3;
/// Vertices of a cap between these shares of its radius give its depth: nearer to either end it is ill defined.
const CAP: [f64; 2] = [0.3, 0.95];
/// A cut-off cap ends where it reaches this share of its radius.
const FULL: f64 = 0.98;
/// What lies within so many half widths of the arm's line at the shoulder turns with it, in part.
pub(super) const AROUND: f64 = 1.6;
/// And on the arm's side of the armpit what lies within so many: a sleeve.
const BESIDE: f64 = 3.0;
/// An arm tapers from the shoulder on; a cap's radius is taken within so many half widths of the shell's inner end.
const NEAR_CAP: f64 = 4.0;
/// The arm's end is what lies within this share of its length.
const AT_END: f64 = 0.08;
/// An end is flat if so near to it, in shares of the length, the arm is still as wide as [`FLAT_WIDTH`] of its width so
/// far before it: a round one is half as wide there, also in faces of a hundredth of the height.
const FLAT_WITHIN: [f64; 2] = [0.004, 0.03];
/// See [`FLAT_WITHIN`].
const FLAT_WIDTH: f64 = 0.85;

/// Puts together what is known of an arm; `None` where no joint is found.
pub(super) fn complete(
    mesh: &Mesh,
    figure: &Figure,
    left: bool,
    mut shape: Shape,
    seeds: &[bool],
    told: &Told,
) -> Option<MeshArm> {
    if let (Some(at), Some(axis)) = (told.shoulder, told.axis)
        && let Some(line) = Line::through([at[0], at[1]], [at[0] + axis[0], at[1] + axis[1]])
    {
        shape.turn_upper(&line);
    }
    let radius = shape.half_width();
    let inner = if left { -1.0 } else { 1.0 };
    let (s, edge) = match (armpit(figure, &shape, inner, radius), told.shoulder) {
        (Some(found), _) => found,
        // A named joint does without an armpit; it then lies below it.
        (None, Some(at)) => (shape.upper.s([at[0], at[1]]), radius),
        (None, None) => return None,
    };
    let armpit = shape.upper.place(s, inner * edge);
    let (s, from) = match of_shell(mesh, figure, &shape, seeds, s, radius) {
        Some(own) => (own, JointFrom::Shell),
        None => (above(&shape, s, edge), JointFrom::Armpit),
    };
    let flat = shape.upper.place(s, 0.0);
    let (shoulder, from) = match told.shoulder {
        Some(at) => (at, JointFrom::Setup),
        None => (
            [flat[0], flat[1], depth(mesh, seeds, &shape.upper, s, radius)],
            from,
        ),
    };
    let mut arm = MeshArm {
        left,
        shoulder,
        from,
        members: Vec::new(),
        whole: Vec::new(),
        radius,
        armpit,
        elbow_loops: None,
        end: End::Closed,
        shape,
    };
    (arm.members, arm.whole) = members(mesh, figure, &arm, seeds, !told.vertices.is_empty());
    arm.end = end(mesh, figure, &arm);
    Some(arm)
}

/// Distance of the lower edge from the arm's line.
fn lower(slice: &Slice, inner: f64) -> f64 {
    if inner > 0.0 { slice.high } else { -slice.low }
}

/// Where along the line the armpit is, and how far from it.
fn armpit(figure: &Figure, shape: &Shape, inner: f64, radius: f64) -> Option<(f64, f64)> {
    let slices = &shape.slices;
    let long = shape.upper.s(shape.tip).max(slices.last()?.s);
    let from = slices.partition_point(|c| c.s < FROM * long).checked_sub(1)?;
    // Where the lower edge is the trunk's, or the cuts are lost in it.
    let trunk = (0..=from)
        .rev()
        .find(|&i| lower(&slices[i], inner) > TRUNK * radius)
        .map_or(0, |i| i + 1);
    let opening = (90.0 - shape.upper.below_horizontal_deg()).max(LEAST_CORNER_DEG);
    let half = (opening / 2.0).min(80.0).to_radians().tan();
    let slope = |i: usize| {
        let j = (i + SLOPE_CUTS).min(slices.len() - 1);
        (lower(&slices[i], inner) - lower(&slices[j], inner)) / (slices[j].s - slices[i].s)
    };
    let at = (trunk..from).find(|&i| slope(i) < half)?;
    let rough = (slices[at].s, lower(&slices[at], inner));
    Some(corner(figure, shape, inner, radius, rough).unwrap_or(rough))
}

/// The corner between the arm's lower edge and the trunk's side, where the lines along both meet: faces round the corner
/// itself off. Along the line and away from it; `None` where no side hangs down below it.
fn corner(figure: &Figure, shape: &Shape, inner: f64, radius: f64, rough: (f64, f64)) -> Option<(f64, f64)> {
    let at = shape.upper.place(rough.0, inner * rough.1);
    let ys: Vec<f64> = (0..SIDE_ROWS)
        .map(|k| at[1] - radius * (SIDE[0] + (SIDE[1] - SIDE[0]) * k as f64 / (SIDE_ROWS - 1) as f64))
        .collect();
    let rows = figure.front().row_spans(&ys);
    let side: Vec<Flat> = (0..rows.len())
        .filter_map(|i| {
            // Inner is towards x below for the left arm.
            let ends = rows.row(i).iter().map(|t| if inner < 0.0 { t.x1 } else { t.x0 });
            let x = ends.min_by(|a, b| (a - at[0]).abs().total_cmp(&(b - at[0]).abs()))?;
            ((x - at[0]).abs() < 1.5 * radius).then_some([x, rows.ys[i]])
        })
        .collect();
    if side.len() < SIDE_ROWS / 2 {
        return None;
    }
    let edge: Vec<Flat> = shape
        .slices
        .iter()
        .filter(|c| (ARM_EDGE[0]..ARM_EDGE[1]).contains(&((c.s - rough.0) / radius)))
        .map(|c| shape.upper.place(c.s, inner * lower(c, inner)))
        .collect();
    let met = fit(&edge)?.0.meets(&fit(&side)?.0)?;
    let place = (shape.upper.s(met), inner * shape.upper.off(met));
    let near = (place.0 - rough.0).abs() <= radius && (place.1 - rough.1).abs() <= radius;
    near.then_some(place)
}

/// Where along the line the place straight above the armpit is: the trunk's side goes on there, and the joint lies on it.
fn above(shape: &Shape, s: f64, edge: f64) -> f64 {
    let down = (90.0 - shape.upper.below_horizontal_deg()).max(LEAST_CORNER_DEG);
    s - edge / down.to_radians().tan()
}

/// Where along the line the cap's centre lies of an arm that is a shell of its own.
fn of_shell(
    mesh: &Mesh,
    figure: &Figure,
    shape: &Shape,
    seeds: &[bool],
    armpit: f64,
    radius: f64,
) -> Option<f64> {
    let z = depth(mesh, seeds, &shape.upper, armpit + 2.0 * radius, radius);
    // The shell of most vertices around the line beside the armpit.
    let mut votes: Vec<(u32, usize)> = Vec::new();
    let shells = figure.shells();
    let place = |v: usize| {
        let p = mesh.positions()[v];
        let flat = [p[0], p[1]];
        (shape.upper.s(flat), shape.upper.off(flat).hypot(p[2] - z))
    };
    for v in (0..seeds.len()).filter(|&v| seeds[v] && shells.of_vertex(v as u32) != NONE) {
        let (s, r) = place(v);
        if (armpit..armpit + 6.0 * radius).contains(&s) && r < AROUND * radius {
            let own = shells.of_vertex(v as u32);
            match votes.iter_mut().find(|(o, _)| *o == own) {
                Some((_, n)) => *n += 1,
                None => votes.push((own, 1)),
            }
        }
    }
    let own = votes.iter().max_by_key(|(o, n)| (*n, std::cmp::Reverse(*o)))?.0;
    let mut around: Vec<(f64, f64)> = (0..seeds.len())
        .filter(|&v| shells.of_vertex(v as u32) == own)
        .map(place)
        .collect();
    around.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let begin = around.first()?.0;
    if begin < armpit - INSIDE * radius {
        return None;
    }
    let near: Vec<(f64, f64)> = around
        .into_iter()
        .take_while(|(s, _)| *s < begin + NEAR_CAP * radius)
        .collect();
    let full = near.iter().map(|(_, r)| *r).fold(0.0, f64::max);
    if near[0].1 <= POLE * full {
        // An ellipsoid's cap of some depth about its centre.
        let mut depths: Vec<f64> = near
            .iter()
            .map(|(s, r)| (s - begin, r / full))
            .take_while(|(_, f)| *f < 1.0)
            .filter(|(_, f)| (CAP[0]..CAP[1]).contains(f))
            .map(|(s, f)| s / (1.0 - (1.0 - f * f).sqrt()))
            .collect();
        depths.sort_by(f64::total_cmp);
        if let Some(depth) = depths.get(depths.len() / 2) {
            return Some(begin + depth);
        }
    }
    near.iter().find(|(_, r)| *r >= FULL * full).map(|(s, _)| *s)
}

/// The middle of the arm's depth at a place of its line.
fn depth(mesh: &Mesh, seeds: &[bool], line: &Line, s: f64, radius: f64) -> f64 {
    // Farther out where no vertex of the arm lies near.
    for reach in [1.0, 2.0, 4.0, 8.0] {
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for (p, _) in mesh.positions().iter().zip(seeds).filter(|(_, s)| **s) {
            let off = line.s([p[0], p[1]]) - s;
            if off >= -0.5 * radius && off <= reach * radius {
                (low, high) = (low.min(p[2]), high.max(p[2]));
            }
        }
        if low <= high {
            return f64::midpoint(low, high);
        }
    }
    0.0
}

/// The vertices that turn with an arm, in part or whole, and those whose shells turn as a whole.
fn members(
    mesh: &Mesh,
    figure: &Figure,
    arm: &MeshArm,
    seeds: &[bool],
    told: bool,
) -> (Vec<bool>, Vec<bool>) {
    let count = seeds.len();
    let shells = figure.shells();
    let s_of = |p: Vector| arm.along(p);
    let (mut all, mut mine) = (vec![0_u32; shells.count()], vec![0_u32; shells.count()]);
    let mut begin = vec![f64::INFINITY; shells.count()];
    for (v, seed) in seeds.iter().enumerate() {
        let shell = shells.of_vertex(v as u32);
        if shell == NONE {
            continue;
        }
        all[shell as usize] += 1;
        mine[shell as usize] += u32::from(*seed);
        begin[shell as usize] = begin[shell as usize].min(s_of(mesh.positions()[v]));
    }
    let turns_whole = |shell: u32| {
        let k = shell as usize;
        f64::from(mine[k]) > MOSTLY * f64::from(all[k]) && begin[k] > -INSIDE * arm.radius
    };
    let whole: Vec<bool> = (0..count)
        .map(|v| {
            let shell = shells.of_vertex(v as u32);
            shell != NONE && turns_whole(shell)
        })
        .collect();
    if told {
        return (seeds.to_vec(), vec![false; count]);
    }
    // From the seeds inwards, along edges, as long as the way keeps near the arm's line at the shoulder, or on the arm's
    // side of the armpit; the seeds' own border slants across the arm.
    let near = |v: usize| {
        let p = mesh.positions()[v];
        let (s, away) = (s_of(p) / arm.radius, arm.away(p) / arm.radius);
        s >= -1.0
            && (s > BESIDE && seeds[v] || s <= BESIDE && away <= AROUND || away <= BESIDE && arm.is_beyond(p))
    };
    let mut members: Vec<bool> = (0..count).map(|v| whole[v] || (seeds[v] && near(v))).collect();
    let mut open: Vec<u32> = (0..count as u32).filter(|&v| members[v as usize]).collect();
    while let Some(v) = open.pop() {
        for w in figure.spokes().neighbours(figure.table(), v) {
            let k = w as usize;
            if !members[k] && near(k) {
                members[k] = true;
                open.push(w);
            }
        }
    }
    (members, whole)
}

/// How an arm ends.
fn end(mesh: &Mesh, figure: &Figure, arm: &MeshArm) -> End {
    let line = arm.shape.last();
    let reach = line.s(arm.shape.tip);
    let long = arm.shape.length([arm.shoulder[0], arm.shoulder[1]]);
    let at_end = |v: u32| {
        let p = mesh.positions()[v as usize];
        arm.members[v as usize] && line.s([p[0], p[1]]) > reach - AT_END * long
    };
    let table = figure.table();
    let open = table
        .edges()
        .iter()
        .enumerate()
        .any(|(e, [a, b])| table.uses(e).len() == 1 && at_end(*a) && at_end(*b));
    if open {
        return End::Open;
    }
    let slices = if arm.shape.fore.is_some() {
        &arm.shape.fore_slices
    } else {
        &arm.shape.slices
    };
    let end = slices.last().map_or(0.0, |c| c.s);
    let width = |back: f64| {
        let at = end - back * long;
        slices
            .iter()
            .min_by(|a, b| (a.s - at).abs().total_cmp(&(b.s - at).abs()))
            .map_or(0.0, Slice::width)
    };
    if width(FLAT_WITHIN[0]) > FLAT_WIDTH * width(FLAT_WITHIN[1]) {
        End::Flat
    } else {
        End::Closed
    }
}

impl MeshArm {
    /// How far along the upper arm a place lies, from the joint.
    pub fn along(&self, p: Vector) -> f64 {
        let d = sub(p, self.shoulder);
        dot(d, [self.shape.upper.along[0], self.shape.upper.along[1], 0.0])
    }

    /// How far from the upper arm's line a place lies.
    pub fn away(&self, p: Vector) -> f64 {
        let off = self.shape.upper.off([p[0], p[1]]);
        off.hypot(p[2] - self.shoulder[2])
    }

    /// The joint in the frontal plane.
    pub fn joint(&self) -> Flat {
        [self.shoulder[0], self.shoulder[1]]
    }

    /// Length from the joint to the end.
    pub fn length(&self) -> f64 {
        self.shape.length(self.joint())
    }
}
