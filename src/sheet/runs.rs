//! A mask as runs of marked pixels, row after row, and its connected regions.
//!
//! All topology of the reader (what is outside, what is enclosed, what belongs together) is done on runs: a sheet
//! has a few dozen of them a row, so it costs next to nothing even at a hundred megapixels. Regions of runs are
//! found by union-find over neighbouring rows (Rosenfeld and Pfaltz 1966, on runs instead of pixels).

use rayon::prelude::*;

/// Rows whose runs one thread writes at a time.
const BAND: usize = 64;

/// A run of pixels `x0..x1` (end excluded) of one row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Run {
    /// First column.
    pub x0: u32,
    /// Column after the last.
    pub x1: u32,
}

/// Runs of all rows; each row's runs left to right, with at least one unmarked pixel between two.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Runs {
    /// Width of the mask in pixels.
    pub width: u32,
    /// Row `y` owns `runs[starts[y]..starts[y + 1]]`.
    pub starts: Vec<u32>,
    /// All runs.
    pub runs: Vec<Run>,
}

/// Which neighbours a pixel is joined to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Joined {
    /// The four at its sides.
    Four,
    /// Those and the four at its corners.
    Eight,
}

/// A label for every run: runs of one connected region share it; labels count from 0 in order of appearance.
#[derive(Debug, Clone)]
pub struct Labels {
    /// The label of each run.
    pub of_run: Vec<u32>,
    /// Number of labels.
    pub count: usize,
}

impl Runs {
    /// The pixels of a plane of `width` columns that are at least `threshold`.
    pub fn at_least(values: &[u8], width: usize, threshold: u8) -> Self {
        let row = |y: usize| &values[y * width..(y + 1) * width];
        Self::build(width, values.len() / width.max(1), |y, out| {
            row_runs(row(y), threshold, |run| out.push(run));
        })
    }

    /// Runs of so many rows, each written by `row` behind what the list holds already: in order and apart.
    pub(super) fn build(width: usize, height: usize, row: impl Fn(usize, &mut Vec<Run>) + Sync) -> Self {
        // A list for each band of rows, not for each row: most rows have but a few runs.
        let bands: Vec<(Vec<u32>, Vec<Run>)> = (0..height.div_ceil(BAND))
            .into_par_iter()
            .map(|band| {
                let rows = band * BAND..((band + 1) * BAND).min(height);
                let mut ends = Vec::with_capacity(rows.len());
                let mut runs = Vec::with_capacity(8 * rows.len());
                for y in rows {
                    row(y, &mut runs);
                    ends.push(runs.len() as u32);
                }
                (ends, runs)
            })
            .collect();
        let mut starts = Vec::with_capacity(height + 1);
        let mut runs = Vec::with_capacity(bands.iter().map(|b| b.1.len()).sum());
        starts.push(0);
        for (ends, more) in &bands {
            let before = runs.len() as u32;
            starts.extend(ends.iter().map(|e| before + e));
            runs.extend_from_slice(more);
        }
        Self {
            width: width as u32,
            starts,
            runs,
        }
    }

    /// Height of the mask in pixels.
    pub fn height(&self) -> usize {
        self.starts.len() - 1
    }

    /// The runs of one row.
    pub fn row(&self, y: usize) -> &[Run] {
        &self.runs[self.range(y)]
    }

    /// The indices of the runs of one row.
    pub fn range(&self, y: usize) -> std::ops::Range<usize> {
        self.starts[y] as usize..self.starts[y + 1] as usize
    }

    /// Whether the pixel around a place is marked; outside the mask nothing is.
    pub fn contains(&self, x: f64, y: f64) -> bool {
        self.index_at(x, y).is_some()
    }

    /// Index of the run around a place, if the place is marked.
    pub fn index_at(&self, x: f64, y: f64) -> Option<usize> {
        let within = x >= 0.0 && y >= 0.0 && y < self.height() as f64;
        within.then(|| self.index_of(x as u32, y as usize)).flatten()
    }

    /// Index of the run that covers a pixel, if it is marked.
    pub fn index_of(&self, x: u32, y: usize) -> Option<usize> {
        let row = self.row(y);
        let i = row.partition_point(|r| r.x1 <= x);
        row.get(i)
            .is_some_and(|r| r.x0 <= x)
            .then(|| self.starts[y] as usize + i)
    }

    /// The mask with rows and columns exchanged.
    #[must_use]
    pub fn transposed(&self) -> Self {
        let (width, height) = (self.width as usize, self.height());
        // Columns are followed all at once, row by row: where each has begun, and all that have ended.
        let mut begun = vec![0u32; width];
        let mut ended: Vec<(u32, Run)> = Vec::new();
        for y in 0..=height {
            let above = if y > 0 { self.row(y - 1) } else { &[] };
            let here = if y < height { self.row(y) } else { &[] };
            each_less(above, here, |x| {
                let run = Run {
                    x0: begun[x as usize],
                    x1: y as u32,
                };
                ended.push((x, run));
            });
            each_less(here, above, |x| begun[x as usize] = y as u32);
        }
        let mut starts = vec![0u32; width + 1];
        for (x, _) in &ended {
            starts[*x as usize + 1] += 1;
        }
        for x in 0..width {
            starts[x + 1] += starts[x];
        }
        let mut next = starts.clone();
        let mut runs = vec![Run { x0: 0, x1: 0 }; ended.len()];
        for (x, run) in ended {
            let slot = &mut next[x as usize];
            runs[*slot as usize] = run;
            *slot += 1;
        }
        Self {
            width: height as u32,
            starts,
            runs,
        }
    }

    /// What is not marked.
    #[must_use]
    pub fn complement(&self) -> Self {
        Self::build(self.width as usize, self.height(), |y, out| {
            let mut x = 0;
            for r in self.row(y) {
                if r.x0 > x {
                    out.push(Run { x0: x, x1: r.x0 });
                }
                x = r.x1;
            }
            if x < self.width {
                out.push(Run {
                    x0: x,
                    x1: self.width,
                });
            }
        })
    }

    /// Only the runs for which `keep` answers yes; touching neighbours cannot arise.
    #[must_use]
    pub fn filtered(&self, keep: impl Fn(usize) -> bool + Sync) -> Self {
        Self::build(self.width as usize, self.height(), |y, out| {
            out.extend(self.range(y).filter(|&i| keep(i)).map(|i| self.runs[i]));
        })
    }

    /// What is marked in either; both have the same size.
    #[must_use]
    pub fn union(&self, other: &Self) -> Self {
        self.combined(other, |a, b| a || b)
    }

    /// What is marked in both; both have the same size.
    #[must_use]
    pub fn intersection(&self, other: &Self) -> Self {
        self.combined(other, |a, b| a && b)
    }

    fn combined(&self, other: &Self, keep: impl Fn(bool, bool) -> bool + Sync) -> Self {
        // The edges of a row from left to right: beginnings and ends of its runs.
        let edge = |runs: &[Run], i: usize| match runs.get(i / 2) {
            Some(r) if i.is_multiple_of(2) => r.x0,
            Some(r) => r.x1,
            None => u32::MAX,
        };
        Self::build(self.width as usize, self.height(), |y, out| {
            let (a, b) = (self.row(y), other.row(y));
            let (mut i, mut j, mut open) = (0, 0, None);
            let (mut next_a, mut next_b) = (edge(a, 0), edge(b, 0));
            loop {
                let x = next_a.min(next_b);
                if x == u32::MAX {
                    break;
                }
                if next_a == x {
                    i += 1;
                    next_a = edge(a, i);
                }
                if next_b == x {
                    j += 1;
                    next_b = edge(b, j);
                }
                // An odd number of edges passed means that the place is marked.
                match (keep(i % 2 == 1, j % 2 == 1), open) {
                    (true, None) => open = Some(x),
                    (false, Some(x0)) => {
                        out.push(Run { x0, x1: x });
                        open = None;
                    }
                    _ => {}
                }
            }
        })
    }

    /// Marks further runs, given as `(row, run)` in any order.
    #[must_use]
    pub fn with(&self, extra: &[(usize, Run)]) -> Self {
        let mut sorted: Vec<(usize, Run)> = extra
            .iter()
            .map(|(y, run)| {
                let clipped = Run {
                    x0: run.x0.min(self.width),
                    x1: run.x1.min(self.width),
                };
                (*y, clipped)
            })
            .filter(|(y, run)| *y < self.height() && run.x0 < run.x1)
            .collect();
        sorted.sort_unstable_by_key(|(y, run)| (*y, run.x0));
        let more = Self::build(self.width as usize, self.height(), |y, out| {
            let from = sorted.partition_point(|s| s.0 < y);
            // Overlapping pieces would upset the counting of edges.
            let here = sorted[from..].iter().take_while(|s| s.0 == y);
            push_joined(here.map(|s| s.1), out);
        });
        self.union(&more)
    }

    /// Connected regions.
    pub fn labels(&self, joined: Joined) -> Labels {
        let mut parent: Vec<u32> = (0..self.runs.len() as u32).collect();
        let reach = u32::from(joined == Joined::Eight);
        for y in 1..self.height() {
            let (above, here) = (self.range(y - 1), self.range(y));
            let mut a = above.start;
            for b in here {
                let r = self.runs[b];
                while a < above.end && self.runs[a].x1 + reach <= r.x0 {
                    a += 1;
                }
                let mut k = a;
                while k < above.end && self.runs[k].x0 < r.x1 + reach {
                    unite(&mut parent, k as u32, b as u32);
                    k += 1;
                }
            }
        }
        let mut name = vec![u32::MAX; self.runs.len()];
        let mut count = 0u32;
        let of_run = (0..self.runs.len() as u32)
            .map(|i| {
                let root = find(&mut parent, i) as usize;
                if name[root] == u32::MAX {
                    name[root] = count;
                    count += 1;
                }
                name[root]
            })
            .collect();
        Labels {
            of_run,
            count: count as usize,
        }
    }
}

/// Calls `see` with each column that the runs of one row cover and those of another do not, from left to right.
fn each_less(row: &[Run], other: &[Run], mut see: impl FnMut(u32)) {
    let mut k = 0;
    for r in row {
        let mut x = r.x0;
        while x < r.x1 {
            while k < other.len() && other[k].x1 <= x {
                k += 1;
            }
            let next = other.get(k).map_or(r.x1, |o| o.x0.min(r.x1)).max(x);
            (x..next).for_each(&mut see);
            x = next.max(other.get(k).map_or(r.x1, |o| o.x1));
        }
    }
}

fn find(parent: &mut [u32], mut i: u32) -> u32 {
    while parent[i as usize] != i {
        parent[i as usize] = parent[parent[i as usize] as usize];
        i = parent[i as usize];
    }
    i
}

fn unite(parent: &mut [u32], a: u32, b: u32) {
    let (a, b) = (find(parent, a), find(parent, b));
    // The smaller index is the root, so labels do not depend on the order of unions.
    if a < b {
        parent[b as usize] = a;
    } else {
        parent[a as usize] = b;
    }
}

/// Appends runs, sorted by their first column, to a row that begins where `out` ends; those that overlap or touch become
/// one.
pub(super) fn push_joined(sorted: impl Iterator<Item = Run>, out: &mut Vec<Run>) {
    let first = out.len();
    for r in sorted {
        match out[first..].last_mut() {
            Some(last) if last.x1 >= r.x0 => last.x1 = last.x1.max(r.x1),
            _ => out.push(r),
        }
    }
}

/// Calls `found` with each run of values of at least `threshold`, from left to right.
pub(super) fn row_runs(row: &[u8], threshold: u8, mut found: impl FnMut(Run)) {
    let mut x = 0;
    const STRIDE: usize = 32;
    while x < row.len() {
        // Empty paper is skipped in strides that the compiler turns into vector comparisons.
        while x + STRIDE <= row.len() && row[x..x + STRIDE].iter().fold(0, |m, v| m.max(*v)) < threshold {
            x += STRIDE;
        }
        while x < row.len() && row[x] < threshold {
            x += 1;
        }
        if x >= row.len() {
            break;
        }
        let x0 = x;
        while x < row.len() && row[x] >= threshold {
            x += 1;
        }
        found(Run {
            x0: x0 as u32,
            x1: x as u32,
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mask(rows: &[&str]) -> Runs {
        let width = rows[0].len();
        let values: Vec<u8> = rows
            .iter()
            .flat_map(|r| r.bytes().map(|c| u8::from(c == b'#')))
            .collect();
        Runs::at_least(&values, width, 1)
    }

    #[test]
    fn corners_join_only_with_eight_neighbours() {
        let m = mask(&["#..#", ".##.", "#..#"]);
        assert_eq!(m.labels(Joined::Eight).count, 1);
        assert_eq!(m.labels(Joined::Four).count, 5);
    }

    #[test]
    fn columns_are_the_rows_of_the_mask_turned_over() {
        let m = mask(&["#..#", "....", "####", ".##."]);
        assert_eq!(m.transposed(), mask(&["#.#.", "..##", "..##", "#.#."]));
        assert_eq!(m.transposed().transposed(), m);
        assert_eq!(m.index_of(2, 2), Some(2));
        assert_eq!(m.index_of(1, 0), None);
    }

    #[test]
    fn complement_twice_is_the_same() {
        let m = mask(&["#..#", "....", "####", ".##."]);
        assert_eq!(m.complement().complement(), m);
    }

    #[test]
    fn a_ring_encloses_one_region() {
        let m = mask(&[".....", ".###.", ".#.#.", ".###.", "....."]);
        assert_eq!(m.complement().labels(Joined::Four).count, 2);
    }

    #[test]
    fn further_runs_are_merged() {
        let m = mask(&["#..#"]).with(&[(0, Run { x0: 1, x1: 3 }), (7, Run { x0: 0, x1: 1 })]);
        assert_eq!(m.runs, vec![Run { x0: 0, x1: 4 }]);
    }
}
