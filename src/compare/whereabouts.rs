//! In which part of the body a finding lies.

use std::collections::BTreeMap;

use super::bands::Band;
use super::landmarks::Divided;
use super::rows::{EdgeReading, Measured};
use crate::anatomy::{Anatomy, Arm, Part, Region, Side};
use crate::report::model::Kind;

/// An edge takes part if it deviates by at least this share of the tolerance, the cases' own rule for a row.
const TAKES_PART: f64 = 0.6;
/// A limb is named instead of one of its parts if that one has less than this share of the limb's edges.
const ONE_PART: f64 = 0.7;
/// A second part is named if at least this share of the edges lies in it.
const SECOND: f64 = 0.3;

/// The part, or the two parts, in which most of a band's edges lie.
pub fn parts(rows: &[Measured], band: &Band, divided: &Divided, tolerance: f64) -> Vec<Part> {
    let mut votes: BTreeMap<Part, usize> = BTreeMap::new();
    let members = rows
        .iter()
        .filter(|r| band.y_from <= r.row.y && r.row.y <= band.y_to && r.kind == Some(band.kind));
    for row in members {
        for x in places(row, band.kind, tolerance) {
            let part = match band.kind {
                // What only one of the two has is that one's part.
                Kind::Extra => divided.mesh.part_at(x, row.row.y),
                _ => divided
                    .drawing
                    .part_at(x, row.row.y)
                    .or_else(|| divided.mesh.part_at(x, row.row.y)),
            };
            if let Some(part) = part {
                *votes.entry(part).or_default() += 1;
            }
        }
    }
    let ranked = ranked(&votes);
    let all: usize = votes.values().sum();
    let enough = |n: usize| n as f64 >= SECOND * all as f64;
    // What spreads over a limb is the limb's.
    let of_limb = |p: &Part| -> usize {
        let own = ranked.iter().filter(|(q, _)| q.limb() == p.limb());
        own.map(|(_, n)| n).sum()
    };
    let spread = ranked
        .first()
        .is_some_and(|(p, n)| (*n as f64) < ONE_PART * of_limb(p) as f64);
    let ranked = if spread {
        let mut limbs: BTreeMap<Part, usize> = BTreeMap::new();
        for (p, n) in ranked {
            *limbs.entry(p.limb()).or_default() += n;
        }
        self::ranked(&limbs)
    } else {
        ranked
    };
    ranked
        .iter()
        .enumerate()
        .filter(|(k, (_, n))| *k == 0 || (*k == 1 && enough(*n)))
        .map(|(_, (p, _))| *p)
        .collect()
}

/// Parts by their votes, most first.
fn ranked(votes: &BTreeMap<Part, usize>) -> Vec<(Part, usize)> {
    let mut out: Vec<(Part, usize)> = votes.iter().map(|(p, n)| (*p, *n)).collect();
    out.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(&b.0)));
    out
}

/// The drawn ends of a row that make it what it is; the mesh's where nothing is drawn.
fn places(row: &Measured, kind: Kind, tolerance: f64) -> Vec<f64> {
    let r = &row.row;
    let ends = |spans: &[[f64; 2]]| -> Vec<f64> { spans.iter().flatten().copied().collect() };
    match kind {
        Kind::Missing => ends(&r.drawing),
        Kind::Extra => ends(&r.mesh),
        Kind::Thick | Kind::Thin | Kind::Shifted => {
            let (Some(first), Some(last)) = (r.drawing.first(), r.drawing.last()) else {
                return Vec::new();
            };
            let off = |d: Option<f64>| d.is_some_and(|d| d.abs() >= TAKES_PART * tolerance);
            [
                (first[0], off(r.left_diff), row.edges[0]),
                (last[1], off(r.right_diff), row.edges[1]),
            ]
            .into_iter()
            .filter(|e| e.1 && e.2 != EdgeReading::Level)
            .map(|e| e.0)
            .collect()
        }
        Kind::GapClosed | Kind::GapOpen => {
            // The ends around the gaps of whichever has them.
            let gapped = if r.drawing.len() >= r.mesh.len() {
                &r.drawing
            } else {
                &r.mesh
            };
            gapped.windows(2).flat_map(|w| [w[0][1], w[1][0]]).collect()
        }
    }
}

/// Whether parts are the ends of arms that lie flat: their outer edges say how far the arms reach.
pub fn reaches(parts: &[Part], drawing: &Anatomy) -> bool {
    let flat = |a: &Arm| !a.axis.is_empty() && a.is_flat(a.axis.len() / 2);
    !parts.is_empty()
        && parts.iter().all(|p| {
            p.limb().region == Region::Arm && drawing.arms.iter().any(|a| Some(a.side) == p.side && flat(a))
        })
}

/// Parts in words: `both thighs`, `trunk`, `left arm and trunk`.
pub fn words(parts: &[Part]) -> String {
    match parts {
        [] => String::new(),
        [one] => one.name().to_string(),
        [a, b, ..] if a.region == b.region => {
            let alone = Part {
                region: a.region,
                side: None,
            }
            .name();
            let many = if alone == "foot" {
                "feet".to_string()
            } else {
                format!("{alone}s")
            };
            format!("both {many}")
        }
        [a, b, ..] => {
            // From left to right, as seen.
            let (a, b) = if b.side == Some(Side::Left) || a.side == Some(Side::Right) {
                (b, a)
            } else {
                (a, b)
            };
            format!("{} and {}", a.name(), b.name())
        }
    }
}
