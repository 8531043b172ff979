//! A mask as runs of marked pixels, row after row, and its connected regions.
//!
//! All topology of the reader (what is outside, what is enclosed, what belongs together) is done on runs: a sheet
//! has a few dozen of them a row, so it costs next to nothing even at a hundred megapixels. Regions of runs are
//! found by union-find over neighbouring rows (Rosenfeld and Pfaltz 1966, on runs instead of pixels).

use rayon::prelude::*;

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
        let rows: Vec<Vec<Run>> = values
            .par_chunks(width)
            .map(|row| row_runs(row, threshold))
            .collect();
        Self::from_rows(width, &rows)
    }

    /// Runs from rows that are each in order and apart.
    pub(super) fn from_rows(width: usize, rows: &[Vec<Run>]) -> Self {
        let mut starts = Vec::with_capacity(rows.len() + 1);
        let mut runs = Vec::with_capacity(rows.iter().map(Vec::len).sum());
        starts.push(0);
        for row in rows {
            runs.extend_from_slice(row);
            starts.push(runs.len() as u32);
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
        if x < 0.0 || y < 0.0 || y >= self.height() as f64 {
            return None;
        }
        let row = self.row(y as usize);
        let i = row.partition_point(|r| f64::from(r.x1) <= x);
        let inside = row.get(i).is_some_and(|r| f64::from(r.x0) <= x);
        inside.then(|| self.starts[y as usize] as usize + i)
    }

    /// What is not marked.
    #[must_use]
    pub fn complement(&self) -> Self {
        let rows: Vec<Vec<Run>> = (0..self.height())
            .into_par_iter()
            .map(|y| {
                let mut x = 0;
                let mut out = Vec::with_capacity(self.row(y).len() + 1);
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
                out
            })
            .collect();
        Self::from_rows(self.width as usize, &rows)
    }

    /// Only the runs for which `keep` answers yes; touching neighbours cannot arise.
    #[must_use]
    pub fn filtered(&self, keep: impl Fn(usize) -> bool) -> Self {
        let rows: Vec<Vec<Run>> = (0..self.height())
            .map(|y| self.range(y).filter(|&i| keep(i)).map(|i| self.runs[i]).collect())
            .collect();
        Self::from_rows(self.width as usize, &rows)
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
        let edges = |runs: &[Run]| runs.iter().flat_map(|r| [r.x0, r.x1]).collect::<Vec<u32>>();
        let rows: Vec<Vec<Run>> = (0..self.height())
            .into_par_iter()
            .map(|y| {
                let (a, b) = (edges(self.row(y)), edges(other.row(y)));
                let (mut i, mut j, mut open) = (0, 0, None);
                let mut out = Vec::with_capacity(a.len() / 2 + b.len() / 2);
                while i < a.len() || j < b.len() {
                    let x = a
                        .get(i)
                        .copied()
                        .unwrap_or(u32::MAX)
                        .min(b.get(j).copied().unwrap_or(u32::MAX));
                    i += usize::from(a.get(i) == Some(&x));
                    j += usize::from(b.get(j) == Some(&x));
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
                out
            })
            .collect();
        Self::from_rows(self.width as usize, &rows)
    }

    /// Marks further runs, given as `(row, run)` in any order.
    #[must_use]
    pub fn with(&self, extra: &[(usize, Run)]) -> Self {
        let mut rows: Vec<Vec<Run>> = vec![Vec::new(); self.height()];
        for (y, run) in extra {
            let run = Run {
                x0: run.x0.min(self.width),
                x1: run.x1.min(self.width),
            };
            if let Some(row) = rows.get_mut(*y).filter(|_| run.x0 < run.x1) {
                row.push(run);
            }
        }
        for row in &mut rows {
            row.sort_unstable_by_key(|r| r.x0);
            // Overlapping pieces would upset the counting of edges.
            let mut apart: Vec<Run> = Vec::with_capacity(row.len());
            for r in row.iter() {
                match apart.last_mut() {
                    Some(last) if last.x1 >= r.x0 => last.x1 = last.x1.max(r.x1),
                    _ => apart.push(*r),
                }
            }
            *row = apart;
        }
        self.union(&Self::from_rows(self.width as usize, &rows))
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

fn row_runs(row: &[u8], threshold: u8) -> Vec<Run> {
    let mut out = Vec::new();
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
        out.push(Run {
            x0: x0 as u32,
            x1: x as u32,
        });
    }
    out
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
