//! Limbs that lie flat, measured square to their own axis.
//!
//! An outstretched arm's thickness runs across the rows, so no row measures it. Along the drawn arm's axis a line square
//! to it is laid through every station; where it leaves the drawing and the mesh is the arm's upper and lower edge.

use super::bands::{LEAST_HEIGHT, LEAST_PEAK};
use super::rows::outer_kind;
use super::wording;
use crate::anatomy::{Anatomy, Arm};
use crate::profile::Outline;
use crate::report::model::{FlatLimb, LimbFinding, Section};
use crate::space::{Point, ViewUnits};

/// Edges farther from the axis than this many widths of the limb are another part's.
const REACH: f64 = 2.0;
/// Sections at each end that are left out: there the line runs along the trunk's edge or along fingers.
const ENDS: [usize; 2] = [2, 2];

/// What a finding is held against.
pub struct Limits<'a> {
    /// Units.
    pub tolerance: f64,
    /// Height of the figure, units.
    pub height: f64,
    /// Label of the unit of length.
    pub unit: &'a str,
}

/// Measures the arms of a drawing that lie flatter than 45 degrees, station by station.
pub fn flat_limbs(
    anatomy: &Anatomy,
    drawing: &Outline<ViewUnits>,
    mesh: &Outline<ViewUnits>,
    limits: &Limits<'_>,
) -> Vec<FlatLimb> {
    anatomy
        .arms
        .iter()
        .filter(|a| a.axis.len() > ENDS[0] + ENDS[1])
        .filter_map(|arm| {
            let inner = ENDS[0]..arm.axis.len() - ENDS[1];
            let sections: Vec<Section> = inner
                .filter(|&i| arm.is_flat(i))
                .filter_map(|i| section(arm, i, drawing, mesh))
                .collect();
            let (first, last) = (arm.axis.first()?.at, arm.axis.last()?.at);
            (!sections.is_empty()).then(|| FlatLimb {
                part: arm.name(),
                from: [first.x, first.y],
                to: [last.x, last.y],
                below_horizontal_deg: (first.y - last.y).atan2((last.x - first.x).abs()).to_degrees(),
                findings: findings(&sections, limits),
                sections,
            })
        })
        .collect()
}

fn section(
    arm: &Arm,
    station: usize,
    drawing: &Outline<ViewUnits>,
    mesh: &Outline<ViewUnits>,
) -> Option<Section> {
    let at = arm.axis[station].at;
    let [dx, dy] = arm.direction(station);
    // Square to the axis, upwards.
    let up = if dx > 0.0 { [-dy, dx] } else { [dy, -dx] };
    let reach = REACH * arm.axis[station].width;
    let [d0, d1] = edges(drawing, at, up, reach)?;
    let [m0, m1] = edges(mesh, at, up, reach)?;
    Some(Section {
        part: arm.part_at(station).name(),
        x: at.x,
        y: at.y,
        drawing: [d0, d1],
        mesh: [m0, m1],
        upper_diff: m1 - d1,
        lower_diff: d0 - m0,
    })
}

/// The stretches of a limb that are outside tolerance, long and deep enough to be worth a modeller's time, see
/// [`super::bands`].
fn findings(sections: &[Section], limits: &Limits<'_>) -> Vec<LimbFinding> {
    let call = |s: &Section| outer_kind(s.lower_diff, s.upper_diff, limits.tolerance);
    let depth = |s: &Section| s.lower_diff.abs().max(s.upper_diff.abs());
    sections
        .chunk_by(|a, b| call(a) == call(b))
        .filter_map(|run| {
            let kind = call(&run[0])?;
            let (first, last) = (run.first()?, run.last()?);
            let worst = run.iter().max_by(|a, b| depth(a).total_cmp(&depth(b)))?;
            let long = (first.x - last.x).hypot(first.y - last.y);
            (long > LEAST_HEIGHT * limits.height && depth(worst) > LEAST_PEAK * limits.tolerance).then(|| {
                LimbFinding {
                    kind,
                    part: worst.part,
                    from: [first.x, first.y],
                    to: [last.x, last.y],
                    worst: [worst.x, worst.y],
                    upper_diff: worst.upper_diff,
                    lower_diff: worst.lower_diff,
                    text: wording::across(kind, worst, limits.height, limits.unit),
                }
            })
        })
        .collect()
}

/// Where a line through a place leaves the outline on both sides, along `up`; `None` where the place is not inside or
/// an edge lies beyond the reach.
fn edges(outline: &Outline<ViewUnits>, at: Point<ViewUnits>, up: [f64; 2], reach: f64) -> Option<[f64; 2]> {
    let mut cuts: Vec<f64> = Vec::new();
    // In the line's own frame: t along it, s across it.
    let frame = |p: Point<ViewUnits>| {
        let (x, y) = (p.x - at.x, p.y - at.y);
        (x * up[1] - y * up[0], x * up[0] + y * up[1])
    };
    for ring in &outline.rings {
        for (i, p) in ring.iter().enumerate() {
            let ((s0, t0), (s1, t1)) = (frame(*p), frame(ring[(i + 1) % ring.len()]));
            if (s0 < 0.0) != (s1 < 0.0) {
                cuts.push(t0 + (t1 - t0) * s0 / (s0 - s1));
            }
        }
    }
    cuts.sort_by(f64::total_cmp);
    let above = cuts.partition_point(|t| *t < 0.0);
    if above % 2 == 1 {
        let (low, high) = (cuts[above - 1], *cuts.get(above)?);
        return (-low <= reach && high <= reach).then_some([low, high]);
    }
    // The place lies in a gap or outside: the limb itself may lie a little higher or lower.
    let middle = |k: usize| f64::midpoint(cuts[k], cuts[k + 1]).abs();
    let nearest = (0..cuts.len() / 2)
        .map(|k| 2 * k)
        .min_by(|a, b| middle(*a).total_cmp(&middle(*b)))?;
    let (low, high) = (cuts[nearest], cuts[nearest + 1]);
    (low.abs() <= reach && high.abs() <= reach).then_some([low, high])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_finds_the_edges_around_its_place() {
        let bar = |y0: f64, y1: f64| {
            vec![
                Point::new(0.0, y0),
                Point::new(10.0, y0),
                Point::new(10.0, y1),
                Point::new(0.0, y1),
            ]
        };
        let two = Outline {
            rings: vec![bar(0.0, 1.0), bar(3.0, 5.0)],
        };
        let up = [0.0, 1.0];
        assert_eq!(edges(&two, Point::new(5.0, 4.0), up, 3.0), Some([-1.0, 1.0]));
        // Just below the upper bar: still that bar.
        assert_eq!(
            edges(&two, Point::new(5.0, 2.9), up, 3.0).map(|e| e.map(|t| (t * 10.0).round())),
            Some([1.0, 21.0])
        );
        assert_eq!(edges(&two, Point::new(5.0, 4.0), up, 0.5), None);
        assert_eq!(edges(&two, Point::new(50.0, 4.0), up, 3.0), None);
    }
}
