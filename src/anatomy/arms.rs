//! Arms that stand out from the body in one view, with their axes.
//!
//! Method: as for the mesh in [`crate::limbs`], in the plane: ways inside the figure from the trunk's axis; their maxima
//! that stand out are the tips of head, hands and feet; a hand's ground beyond its meeting with another tip's is the arm;
//! its axis runs through the middles of the levels and begins where their width jumps.

use super::cells::Cells;
use super::parts::{Part, Region, Side, of_arm};
use super::{Frame, Landmark, height_of, seen, sure};
use crate::peaks::{Tip, tips};
use crate::space::{Point, ViewUnits};

use super::turns::turns;

/// A tip stands out by this share of the height at least, as in [`crate::limbs`].
const STANDS_OUT: f64 = 0.12;
/// An arm is at least so long: 0.44 of the height on the mean (Drillis and Contini 1966), invented figures have arms
/// half as long.
const LEAST_LENGTH: f64 = 0.2;
/// Tips nearer to the axis than this share of the height are no hands: half a head's width.
const MIDDLE: f64 = 0.06;
/// Tips below this share of the height are feet.
const FEET_BELOW: f64 = 0.15;
/// An arm begins above this share of the height: the corner of a skirt or coat does not.
const LOWEST_ROOT: f64 = 0.42;
/// Levels along an arm.
const LEVELS: usize = 40;
/// A level is at least so many cells long, or its middle jumps about.
const LEVEL_CELLS: f64 = 1.6;
/// The trunk begins where the width exceeds the arm's own by this factor, as in [`crate::limbs`].
const JUMP: f64 = 1.5;
/// Levels of the arm that give its own width: few, as an arm tapers.
const OWN: usize = 5;
/// A sleeve is less than so many times as wide as the arm that comes out of it; a trunk is wider.
const SLEEVE: f64 = 2.2;
/// A level of two pieces, each at least this share of it, belongs to an arm that touches the body again.
const PIECE: f64 = 0.2;
/// And at least this share of the levels, or it is a thumb.
const LOOPED: f64 = 0.3;
/// The wrist lies within these shares of the arm's length; on the mean at 0.75 (Drillis and Contini 1966).
const WRIST: [f64; 2] = [0.62, 0.9];
/// The elbow lies within these; on the mean at 0.42.
const ELBOW: [f64; 2] = [0.28, 0.6];
/// The width of a wrist is less than that of the forearm and the hand by this share of the height.
const WRIST_DENT: f64 = 0.002;
/// An arm that bends by less than this shows no elbow, degrees.
const BEND_DEG: f64 = 20.0;
/// What lies flatter is measured square to its own axis, and heights along it say nothing.
const FLAT_DEG: f64 = 45.0;

/// A place on an arm's axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Station {
    /// Middle of the level.
    pub at: Point<ViewUnits>,
    /// Its mean width.
    pub width: f64,
    /// Length of the way from the trunk's axis.
    pub away: f64,
}

/// An arm as seen in one view.
#[derive(Debug, Clone, PartialEq)]
pub struct Arm {
    /// As the viewer sees it.
    pub side: Side,
    /// From the trunk to the tip. Empty where the arm touches the body again.
    pub axis: Vec<Station>,
    /// Length of the way from the trunk's axis to the shoulder and to the tip: an arm's outline begins at the armpit, its
    /// own width farther out than the joint.
    pub reach: [f64; 2],
}

/// An arm with the cells it takes.
pub(super) struct ArmCells {
    pub(super) arm: Arm,
    /// For each cell how far along the arm it lies, 0 to 1; negative: not in it.
    pub(super) along: Vec<f32>,
}

impl Arm {
    /// Direction of the axis at a station, towards the tip, of length 1.
    pub fn direction(&self, station: usize) -> [f64; 2] {
        let last = self.axis.len() - 1;
        let (a, b) = (
            self.axis[station.saturating_sub(3)].at,
            self.axis[(station + 3).min(last)].at,
        );
        let d = a.distance(b).max(f64::MIN_POSITIVE);
        [(b.x - a.x) / d, (b.y - a.y) / d]
    }

    /// Whether the axis lies flatter than 45 degrees at a station.
    pub fn is_flat(&self, station: usize) -> bool {
        let [x, y] = self.direction(station);
        y.abs() < x.abs() * FLAT_DEG.to_radians().tan()
    }

    /// `left arm` or `right arm`.
    pub fn name(&self) -> &'static str {
        let part = Part {
            region: Region::Arm,
            side: Some(self.side),
        };
        part.name()
    }

    /// Upper arm, forearm or hand at a station.
    pub fn part_at(&self, station: usize) -> Part {
        Part {
            region: of_arm(self.along(station) as f32, false),
            side: Some(self.side),
        }
    }

    /// Share of the arm's length at a station.
    pub fn along(&self, station: usize) -> f64 {
        let [first, last] = self.reach;
        (self.axis[station].away - first) / (last - first).max(f64::MIN_POSITIVE)
    }
}

/// The arms of a figure seen from the front, from behind or from between.
pub(super) fn find(cells: &Cells, landmarks: &[Landmark], frame: &Frame, axis: f64) -> Vec<ArmCells> {
    let at = |share: f64| frame.ground + share * frame.height;
    let crotch = height_of(landmarks, "crotch");
    let neck = height_of(landmarks, "neck");
    // The trunk's axis; without crotch and neck between hip (0.53) and waist (Drillis and Contini 1966).
    let (low, high) = match (crotch, neck) {
        (Some(c), Some(n)) => (c + 0.1 * (n - c), n - 0.25 * (n - c)),
        (Some(c), None) => (c + 0.03 * frame.height, at(0.68).max(c + 0.08 * frame.height)),
        (None, Some(n)) => (at(0.5), n - 0.12 * frame.height),
        (None, None) => (at(0.5), at(0.68)),
    };
    let source: Vec<usize> = (0..cells.len())
        .filter(|&i| {
            let m = cells.middle(i);
            (m.x - axis).abs() <= cells.side() && (low..=high).contains(&m.y)
        })
        .collect();
    if source.is_empty() {
        return Vec::new();
    }
    let ways = cells.ways(&source);
    let around = |cell: u32| cells.around(cell as usize).map(|n| n as u32);
    let found = tips(around, &ways, STANDS_OUT * frame.height);
    let ceiling = neck.unwrap_or(at(0.87));
    [Side::Left, Side::Right]
        .into_iter()
        .filter_map(|side| {
            found
                .iter()
                .filter(|t| {
                    let m = cells.middle(t.at as usize);
                    (m.x - axis).abs() > MIDDLE * frame.height
                        && (m.x < axis) == (side == Side::Left)
                        && frame.share(m.y) > FEET_BELOW
                })
                .find_map(|tip| arm(cells, &ways, tip, side, frame, ceiling))
        })
        .collect()
}

fn arm(cells: &Cells, ways: &[f64], tip: &Tip, side: Side, frame: &Frame, ceiling: f64) -> Option<ArmCells> {
    let reach = ways[tip.at as usize] - tip.level;
    let levels = ((reach / (LEVEL_CELLS * cells.side())) as usize).clamp(1, LEVELS);
    let step = reach / levels as f64;
    let level = |i: usize| (((ways[i] - tip.level) / step) as usize).min(levels - 1);
    // What lies beyond the tip's level and hangs together with it.
    let beyond = |i: usize| ways[i].is_finite() && ways[i] > tip.level;
    let mut taken = vec![false; cells.len()];
    let mut members = grown(cells, tip.at as usize, &mut taken, beyond);
    members.sort_unstable();
    let mut of_level: Vec<Vec<usize>> = vec![Vec::new(); levels];
    for &i in &members {
        of_level[level(i)].push(i);
    }
    let in_pieces = |k: usize, cells_of: &[usize], seen: &mut Vec<bool>| {
        let mut large = 0;
        for &i in cells_of {
            if !seen[i] {
                let piece = grown(cells, i, seen, |n| taken[n] && level(n) == k).len();
                large += usize::from(piece as f64 > PIECE * cells_of.len() as f64);
            }
        }
        large > 1
    };
    let mut seen = vec![false; cells.len()];
    let pieces = of_level
        .iter()
        .enumerate()
        .filter(|(k, l)| in_pieces(*k, l, &mut seen))
        .count();
    let looped = pieces as f64 > LOOPED * levels as f64;
    let mut axis: Vec<Station> = of_level
        .iter()
        .enumerate()
        .filter(|(_, l)| !l.is_empty())
        .map(|(k, l)| {
            let n = l.len() as f64;
            let sum = l.iter().fold((0.0, 0.0), |s, &i| {
                let m = cells.middle(i);
                (s.0 + m.x, s.1 + m.y)
            });
            Station {
                at: Point::new(sum.0 / n, sum.1 / n),
                width: n * cells.side() * cells.side() / step,
                away: tip.level + (k as f64 + 0.5) * step,
            }
        })
        .collect();
    if let Some(root) = root(&axis) {
        axis.drain(..=root);
    }
    let (first, last) = (axis.first()?, axis.last()?);
    let long = last.away - first.away;
    let root = frame.share(first.at.y);
    if (!looped && long < LEAST_LENGTH * frame.height) || root < LOWEST_ROOT || first.at.y > ceiling {
        return None;
    }
    let begin = first.away - step / 2.0;
    let mut widths: Vec<f64> = axis.iter().take(OWN).map(|s| s.width).collect();
    widths.sort_by(f64::total_cmp);
    let joint = begin - widths[widths.len() / 2];
    let end = ways[tip.at as usize];
    let mut along = vec![-1.0; cells.len()];
    for i in members {
        if ways[i] >= begin {
            along[i] = (((ways[i] - joint) / (end - joint)) as f32).min(1.0);
        }
    }
    Some(ArmCells {
        arm: Arm {
            side,
            axis: if looped { Vec::new() } else { smoothed(&axis) },
            reach: [joint, end],
        },
        along,
    })
}

/// The station at which an arm's axis leaves the trunk, looked for from the middle inwards: the first whose width jumps. A
/// sleeve's end or a cuff jumps too, but what follows it is hardly wider than an arm; then the next jump counts. `None` where
/// the axis begins outside the trunk.
fn root(axis: &[Station]) -> Option<usize> {
    let median = |of: &[Station]| {
        let mut widths: Vec<f64> = of.iter().map(|s| s.width).collect();
        widths.sort_by(f64::total_cmp);
        widths.get(widths.len() / 2).copied().unwrap_or(0.0)
    };
    let own = |i: usize| median(&axis[i + 1..(i + 1 + OWN).min(axis.len())]);
    let jumps: Vec<usize> = (0..axis.len() / 2)
        .rev()
        .filter(|&i| axis[i].width > JUMP * own(i))
        .collect();
    // Jumps side by side are one.
    let begins = |k: &usize| *k == 0 || jumps[*k - 1] > jumps[*k] + 1;
    let is_sleeve = |i: usize| i >= OWN && median(&axis[i - OWN..i]) < SLEEVE * own(i);
    (0..jumps.len())
        .filter(begins)
        .map(|k| jumps[k])
        .find(|&i| !is_sleeve(i))
}

/// The cells that hang together with one and belong, which are marked in `seen`.
fn grown(cells: &Cells, from: usize, seen: &mut [bool], belongs: impl Fn(usize) -> bool) -> Vec<usize> {
    let mut piece = vec![from];
    seen[from] = true;
    let mut k = 0;
    while let Some(&cell) = piece.get(k) {
        for next in cells.around(cell) {
            if !seen[next] && belongs(next) {
                seen[next] = true;
                piece.push(next);
            }
        }
        k += 1;
    }
    piece
}

/// Middles of three.
fn smoothed(axis: &[Station]) -> Vec<Station> {
    let n = axis.len();
    (0..n)
        .map(|i| {
            let some = &axis[i.saturating_sub(1)..(i + 2).min(n)];
            let count = some.len() as f64;
            Station {
                at: if some.len() < 3 {
                    axis[i].at
                } else {
                    Point::new(
                        some.iter().map(|s| s.at.x).sum::<f64>() / count,
                        some.iter().map(|s| s.at.y).sum::<f64>() / count,
                    )
                },
                ..axis[i]
            }
        })
        .collect()
}

/// Elbow, wrist and fingertip as heights, the mean of both arms where both show them. Wrists and fingertips of arms that
/// lie flat are left out: their heights say nothing.
pub(super) fn landmarks(arms: &[ArmCells], frame: &Frame) -> Vec<Landmark> {
    let each: Vec<[Option<Landmark>; 3]> = arms
        .iter()
        .filter(|a| a.arm.axis.len() > 8)
        .map(|a| [elbow(&a.arm), wrist(&a.arm, frame), fingertip(&a.arm)])
        .collect();
    (0..3)
        .filter_map(|k| {
            let some: Vec<&Landmark> = each.iter().filter_map(|e| e[k].as_ref()).collect();
            let n = some.len() as f64;
            Some(seen(
                some.first()?.name,
                some.iter().map(|l| l.y).sum::<f64>() / n,
                some.iter().map(|l| l.confidence).sum::<f64>() / n,
            ))
        })
        .collect()
}

fn fingertip(arm: &Arm) -> Option<Landmark> {
    let last = arm.axis.len() - 1;
    // The last level ends half a step beyond its middle.
    let half = (arm.axis[last].away - arm.axis[last - 1].away) / 2.0;
    (!arm.is_flat(last)).then(|| {
        let [_, y] = arm.direction(last);
        seen("fingertip", arm.axis[last].at.y + half * y, 0.9)
    })
}

fn wrist(arm: &Arm, frame: &Frame) -> Option<Landmark> {
    let least = WRIST_DENT * frame.height;
    let widths: Vec<f64> = arm.axis.iter().map(|s| s.width).collect();
    let dent = turns(&widths, least)
        .into_iter()
        .filter(|t| !t.high && (WRIST[0]..WRIST[1]).contains(&arm.along(t.at)) && !arm.is_flat(t.at))
        .max_by(|a, b| a.by.total_cmp(&b.by))?;
    Some(seen("wrist", arm.axis[dent.at].at.y, sure(dent.by, least)))
}

/// The place where the axis bends most, seen from stations well to both sides.
fn elbow(arm: &Arm) -> Option<Landmark> {
    let n = arm.axis.len();
    let reach = n / 5;
    let heading = |a: Point<ViewUnits>, b: Point<ViewUnits>| (b.y - a.y).atan2(b.x - a.x);
    let bend = |i: usize| {
        let (a, m, b) = (arm.axis[i - reach].at, arm.axis[i].at, arm.axis[i + reach].at);
        let turn = (heading(m, b) - heading(a, m)).to_degrees().rem_euclid(360.0);
        turn.min(360.0 - turn)
    };
    (reach..n - reach)
        .filter(|&i| (ELBOW[0]..ELBOW[1]).contains(&arm.along(i)))
        .map(|i| (bend(i), i))
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .filter(|(by, _)| *by >= BEND_DEG)
        .map(|(by, i)| seen("elbow", arm.axis[i].at.y, sure(by, BEND_DEG)))
}
