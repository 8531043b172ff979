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

/// The tips that stand out by at least `least`, the farthest out first. `around` gives the neighbours of a place, `away`
/// has the distance of each place, infinite where no way leads.
pub(crate) fn tips<N: Iterator<Item = u32>>(around: impl Fn(u32) -> N, away: &[f64], least: f64) -> Vec<Tip> {
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
    let mut sets = Sets::new(order.len());
    let mut level: Vec<Option<f64>> = vec![None; order.len()];
    let mut ended: Vec<Tip> = Vec::new();
    let mut earlier: Vec<u32> = Vec::new();
    for (later, &place) in (0u32..).zip(&order) {
        earlier.clear();
        earlier.extend(around(place).map(|n| rank[n as usize]).filter(|r| *r < later));
        // Nearly always all of them belong to one tip's ground, which takes the place in.
        let mut grounds = earlier.iter().map(|r| sets.root(*r));
        if let Some(first) = grounds.next()
            && grounds.all(|other| other == first)
        {
            sets.join(later, first);
            continue;
        }
        earlier.sort_unstable();
        for &met in &earlier {
            // A set's root is its lowest rank: its tip.
            let (a, b) = (sets.root(later), sets.root(met));
            if a == b {
                continue;
            }
            let (elder, younger) = (a.min(b), a.max(b));
            let here = away[place as usize];
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
    }
    // The farthest of all never ends; it counts if another one met it.
    for r in 0..order.len() as u32 {
        if let Some(here) = level[r as usize].filter(|_| sets.root(r) == r) {
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

/// Roads between places, by the place that they lead from.
pub(crate) struct Roads {
    starts: Vec<u32>,
    ends: Vec<u32>,
}

impl Roads {
    /// Roads that join pairs of the places below `count`, both ways.
    pub(crate) fn new(pairs: impl Iterator<Item = [u32; 2]> + Clone, count: usize) -> Self {
        let mut starts = vec![0u32; count + 1];
        for place in pairs.clone().flatten() {
            starts[place as usize + 1] += 1;
        }
        for v in 0..count {
            starts[v + 1] += starts[v];
        }
        let mut next = starts.clone();
        let mut ends = vec![0; starts[count] as usize];
        for [a, b] in pairs {
            for (from, to) in [(a, b), (b, a)] {
                let slot = &mut next[from as usize];
                ends[*slot as usize] = to;
                *slot += 1;
            }
        }
        Self { starts, ends }
    }

    /// The places that roads from one lead to.
    pub(crate) fn from(&self, place: u32) -> impl Iterator<Item = u32> + '_ {
        let of = self.starts[place as usize] as usize..self.starts[place as usize + 1] as usize;
        self.ends[of].iter().copied()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A chain of triangles whose distances go 5 4 1 1 3 2: two tips, the nearer of which stands out by 2.
    #[test]
    fn two_hills_meet_in_the_valley() {
        let roads = (0..5u32).map(|i| [i, i + 1]).chain((0..4u32).map(|i| [i, i + 2]));
        let roads = Roads::new(roads, 6);
        let tips = tips(|v| roads.from(v), &[5.0, 4.0, 1.0, 1.0, 3.0, 2.0], 1.5);
        let found: Vec<(u32, f64)> = tips.iter().map(|t| (t.at, t.level)).collect();
        assert_eq!(found, [(0, 1.0), (4, 1.0)]);
    }
}
