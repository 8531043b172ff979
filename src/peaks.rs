//! Tips: maxima of a distance over the places of a net that stand out from what they merge with.
//!
//! Method: places from the farthest inwards, joined to neighbours that are farther; where two tips' grounds meet, the
//! nearer tip ends there (the elder rule of persistence, Edelsbrunner, Letscher and Zomorodian 2002), the farther one
//! learns the level too: its limb ends at its first meeting with another one that stands out.

use std::cmp::Reverse;

use crate::sets::Sets;

/// A tip.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Tip {
    /// Number of the place.
    pub(crate) at: u32,
    /// Distance at which its ground meets that of another tip that stands out.
    pub(crate) level: f64,
    /// How far it stands out.
    pub(crate) stands_out: f64,
}

/// The tips that stand out by at least `least`, the farthest out first. `roads` join neighbours, `away` has the distance
/// of each place, infinite where no way leads.
pub(crate) fn tips(roads: impl Iterator<Item = [u32; 2]>, away: &[f64], least: f64) -> Vec<Tip> {
    let mut farthest: Vec<(Reverse<u64>, u32)> = away
        .iter()
        .enumerate()
        .filter(|(_, d)| d.is_finite())
        // Distances are not negative: their bits are in their order.
        .map(|(v, d)| (Reverse(d.to_bits()), v as u32))
        .collect();
    farthest.sort_unstable();
    let order: Vec<u32> = farthest.into_iter().map(|f| f.1).collect();
    let mut rank = vec![u32::MAX; away.len()];
    for (i, &v) in order.iter().enumerate() {
        rank[v as usize] = i as u32;
    }
    let roads = by_later_end(roads, &rank, order.len());
    let mut sets = Sets::new(order.len());
    let mut level: Vec<Option<f64>> = vec![None; order.len()];
    let mut ended: Vec<Tip> = Vec::new();
    for (later, earlier) in roads {
        // A set's root is its lowest rank: its tip.
        let (a, b) = (sets.root(later), sets.root(earlier));
        if a == b {
            continue;
        }
        let (elder, younger) = (a.min(b), a.max(b));
        let here = away[order[later as usize] as usize];
        let top = away[order[younger as usize] as usize];
        if top - here >= least {
            ended.push(Tip {
                at: order[younger as usize],
                level: level[younger as usize].unwrap_or(here),
                stands_out: top - here,
            });
            level[elder as usize].get_or_insert(here);
        }
        sets.join(a, b);
    }
    // The farthest of all never ends; it counts if another one met it.
    let mut roots: Vec<u32> = (0..order.len() as u32).map(|r| sets.root(r)).collect();
    roots.sort_unstable();
    roots.dedup();
    for r in roots {
        if let Some(here) = level[r as usize] {
            let top = away[order[r as usize] as usize];
            ended.push(Tip {
                at: order[r as usize],
                level: here,
                stands_out: top - here,
            });
        }
    }
    ended.sort_by(|a, b| b.stands_out.total_cmp(&a.stands_out).then(a.at.cmp(&b.at)));
    ended
}

/// Roads as ranks of their later and their earlier end, in the order of both; those that lead nowhere are left out.
///
/// Counting by the later end, as ranks are small whole numbers: a place has few roads.
fn by_later_end(roads: impl Iterator<Item = [u32; 2]>, rank: &[u32], ranks: usize) -> Vec<(u32, u32)> {
    let roads: Vec<(u32, u32)> = roads
        .map(|[a, b]| {
            let (x, y) = (rank[a as usize], rank[b as usize]);
            (x.max(y), x.min(y))
        })
        .filter(|r| r.0 != u32::MAX)
        .collect();
    let mut starts = vec![0usize; ranks + 1];
    for (later, _) in &roads {
        starts[*later as usize + 1] += 1;
    }
    for i in 0..ranks {
        starts[i + 1] += starts[i];
    }
    let mut next = starts.clone();
    let mut sorted = vec![(0, 0); roads.len()];
    for road in roads {
        let place = &mut next[road.0 as usize];
        sorted[*place] = road;
        *place += 1;
    }
    for ends in starts.windows(2) {
        sorted[ends[0]..ends[1]].sort_unstable();
    }
    sorted
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A chain of triangles whose distances go 5 4 1 1 3 2: two tips, the nearer of which stands out by 2.
    #[test]
    fn two_hills_meet_in_the_valley() {
        let roads = (0..5u32).map(|i| [i, i + 1]).chain((0..4u32).map(|i| [i, i + 2]));
        let tips = tips(roads, &[5.0, 4.0, 1.0, 1.0, 3.0, 2.0], 1.5);
        let found: Vec<(u32, f64)> = tips.iter().map(|t| (t.at, t.level)).collect();
        assert_eq!(found, [(0, 1.0), (4, 1.0)]);
    }
}
