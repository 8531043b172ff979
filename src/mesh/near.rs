//! Finds points near a place: a grid of cells, hashed into a table of buckets.
//!
//! Method: points are counted into buckets by the hash of their cell; a query looks at the cells that its ball
//! touches. Cells should hold a few points each, so a cell is about as wide as an edge is long. Buckets keep the
//! order of the points.

/// Cells of a query along an axis at most; a wider ball would be a wrong use of the grid.
const MOST_CELLS: i64 = 64;

/// An index of points in space.
#[derive(Debug)]
pub struct Near<'a> {
    points: &'a [[f64; 3]],
    cell: f64,
    mask: u64,
    starts: Vec<u32>,
    members: Vec<u32>,
}

impl<'a> Near<'a> {
    /// An index with cells of this width (a positive length in the points' units).
    pub fn new(points: &'a [[f64; 3]], cell: f64) -> Self {
        let cell = if cell.is_finite() && cell > 0.0 { cell } else { 1.0 };
        let mask = (points.len().max(1).next_power_of_two() * 2 - 1) as u64;
        let mut starts = vec![0_u32; mask as usize + 2];
        let bucket = |p: &[f64; 3]| (hash(p.map(|c| cell_of(c, cell))) & mask) as usize;
        let of: Vec<u32> = points.iter().map(|p| bucket(p) as u32).collect();
        for &b in &of {
            starts[b as usize + 1] += 1;
        }
        for b in 1..starts.len() {
            starts[b] += starts[b - 1];
        }
        let mut fill = starts.clone();
        let mut members = vec![0; points.len()];
        for (i, &b) in of.iter().enumerate() {
            members[fill[b as usize] as usize] = i as u32;
            fill[b as usize] += 1;
        }
        Self {
            points,
            cell,
            mask,
            starts,
            members,
        }
    }

    /// Calls `found` with each point within `radius` of `at` and its squared distance, once each.
    pub fn each(&self, at: [f64; 3], radius: f64, mut found: impl FnMut(u32, f64)) {
        let low = at.map(|c| cell_of(c - radius, self.cell));
        let high = at.map(|c| cell_of(c + radius, self.cell));
        if (0..3).any(|k| high[k].saturating_sub(low[k]) >= MOST_CELLS) {
            for (i, p) in self.points.iter().enumerate() {
                let d = squared(*p, at);
                if d <= radius * radius {
                    found(i as u32, d);
                }
            }
            return;
        }
        for x in low[0]..=high[0] {
            for y in low[1]..=high[1] {
                for z in low[2]..=high[2] {
                    let bucket = (hash([x, y, z]) & self.mask) as usize;
                    let range = self.starts[bucket] as usize..self.starts[bucket + 1] as usize;
                    for &i in &self.members[range] {
                        let p = self.points[i as usize];
                        let d = squared(p, at);
                        // Cells may share a bucket: a point belongs to the query of its own cell only.
                        if d <= radius * radius && p.map(|c| cell_of(c, self.cell)) == [x, y, z] {
                            found(i, d);
                        }
                    }
                }
            }
        }
    }

    /// The nearest point within `radius` that is wanted, and its distance; of equal ones the first.
    pub fn nearest(&self, at: [f64; 3], radius: f64, wanted: impl Fn(u32) -> bool) -> Option<(u32, f64)> {
        let mut best: Option<(f64, u32)> = None;
        self.each(at, radius, |i, d| {
            if wanted(i) && best.is_none_or(|b| (d, i) < b) {
                best = Some((d, i));
            }
        });
        best.map(|(d, i)| (i, d.sqrt()))
    }
}

impl Near<'_> {
    /// The point of the lowest number within `radius`.
    pub fn nearest_first(&self, at: [f64; 3], radius: f64) -> Option<u32> {
        let mut first = None;
        self.each(at, radius, |i, _| {
            first = Some(first.map_or(i, |f: u32| f.min(i)));
        });
        first
    }
}

fn squared(a: [f64; 3], b: [f64; 3]) -> f64 {
    (0..3).map(|k| (a[k] - b[k]) * (a[k] - b[k])).sum()
}

/// The number of the cell of a coordinate.
fn cell_of(c: f64, cell: f64) -> i64 {
    // The same as `floor`, which is a call where the processor's own rounding is not counted on.
    let v = c / cell;
    let whole = v as i64;
    whole.saturating_sub(i64::from(whole as f64 > v))
}

/// Cells along an axis whose buckets lie side by side: points that follow each other in a file are mostly neighbours,
/// and memory is read in lines. A power of two.
const BLOCK_BITS: u32 = 2;

/// Mixes three cell numbers (the multipliers of the splitmix64 generator, Steele, Lea and Flood 2014), block by block.
fn hash(cell: [i64; 3]) -> u64 {
    let mut h = 0_u64;
    let mut within = 0_u64;
    for c in cell {
        h = (h ^ (c >> BLOCK_BITS) as u64).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        h ^= h >> 29;
        within = within << BLOCK_BITS | (c as u64 & ((1 << BLOCK_BITS) - 1));
    }
    h.wrapping_mul(0x94d0_49bb_1331_11eb) >> 8 << (3 * BLOCK_BITS) | within
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against looking at every point.
    #[test]
    fn finds_what_a_search_of_all_points_finds() {
        let mut seed = 9_u64;
        let mut next = || {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            (seed >> 33) as f64 / f64::from(u32::MAX >> 1) * 10.0 - 5.0
        };
        let points: Vec<[f64; 3]> = (0..500).map(|_| [next(), next(), next()]).collect();
        for cell in [0.3, 1.0, 20.0] {
            let near = Near::new(&points, cell);
            for q in 0..40 {
                let at = points[q].map(|c| c + 0.05);
                let mut seen = Vec::new();
                near.each(at, 1.3, |i, _| seen.push(i));
                seen.sort_unstable();
                let all: Vec<u32> = (0..500)
                    .filter(|&i| squared(points[i as usize], at) <= 1.69)
                    .collect();
                assert_eq!(seen, all);
            }
        }
    }
}
