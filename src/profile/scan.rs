//! Rows against directed edges: where each row enters and leaves the covered region.
//!
//! Method: every edge is cut at the rows it meets, the cuts of a row are sorted and the winding number is swept
//! from left to right; a row is inside where the number is at least one (scan conversion as in Foley, van Dam,
//! Feiner and Hughes 1990, with exact heights in place of pixels). Edges cover their heights half-open, so that a
//! row through a vertex meets each chain once. Cost: edges times the logarithm of the rows, plus the cuts.
//!
//! A cut is computed from the edge's lower end whichever way the edge runs, so two edges on the same two points cut
//! every row at the very same x. Gaps no wider than the rounding of a cut are closed, and spans no wider than that
//! are dropped: neither can be told from edges that touch.

use rayon::prelude::*;

use super::{RowSpans, Span};

/// Rows that are worked on together; found by trial on 2 cores (32 to 256 differ by a few percent).
const BLOCK_ROWS: usize = 64;

/// Rounding of a cut in units of the largest |x| times the machine epsilon: three products and sums of half an epsilon
/// each on a difference that may be twice that large, for either side of a gap.
const CUT_ROUNDING: f64 = 8.0;

/// A non-horizontal edge, lower end first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Edge {
    pub(crate) x0: f64,
    pub(crate) y0: f64,
    pub(crate) x1: f64,
    pub(crate) y1: f64,
    /// What the winding number gains from left to right across the edge.
    pub(crate) winding: i32,
}

impl Edge {
    /// The edge from `p` to `q` walked `times` times, with the inside on its left in a space whose y points up.
    /// `None` for horizontal edges, which no row cuts.
    pub(crate) fn walked(p: (f64, f64), q: (f64, f64), times: i32) -> Option<Self> {
        // Walking down, the left hand points to larger x.
        if q.1 < p.1 {
            Some(Self {
                x0: q.0,
                y0: q.1,
                x1: p.0,
                y1: p.1,
                winding: times,
            })
        } else if q.1 > p.1 {
            Some(Self {
                x0: p.0,
                y0: p.1,
                x1: q.0,
                y1: q.1,
                winding: -times,
            })
        } else {
            None
        }
    }

    /// Where the row `y` cuts the edge.
    pub(crate) fn cut(&self, y: f64) -> f64 {
        if y >= self.y1 {
            return self.x1;
        }
        let (lo, hi) = if self.x0 < self.x1 {
            (self.x0, self.x1)
        } else {
            (self.x1, self.x0)
        };
        (self.x0 + (y - self.y0) / (self.y1 - self.y0) * (self.x1 - self.x0)).clamp(lo, hi)
    }
}

/// Which end of its heights an edge owns, and what becomes of spans without width.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Ends {
    /// Lower end in, upper end out: the row just above `y`.
    Above,
    /// As `Above`, and spans without width stay.
    AboveWithPoints,
    /// Lower end out, upper end in, and spans without width stay: the row just below `y`.
    BelowWithPoints,
}

impl Ends {
    fn below(self) -> bool {
        self == Self::BelowWithPoints
    }
}

/// One cut of a row: place and gain of the winding number.
pub(crate) type Cut = (f64, i32);

/// Sorts the cuts of one row and calls `found` for every maximal interval of winding at least one, united where the
/// gap is at most `rounding`.
pub(crate) fn sweep(cuts: &mut [Cut], rounding: f64, mut found: impl FnMut(Span)) {
    // At equal x what opens comes first, so that touching parts unite.
    cuts.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)));
    let mut winding = 0i64;
    let mut open: Option<Span> = None;
    for &mut (x, gain) in cuts {
        let before = winding;
        winding += i64::from(gain);
        if before < 1 && winding >= 1 {
            open = match open {
                Some(span) if x - span.x1 <= rounding => Some(span),
                Some(span) => {
                    found(span);
                    Some(Span { x0: x, x1: x })
                }
                None => Some(Span { x0: x, x1: x }),
            };
        } else if before >= 1
            && winding < 1
            && let Some(span) = &mut open
        {
            span.x1 = x;
        }
    }
    if let Some(span) = open {
        found(span);
    }
}

/// Rounding of a cut among these edges.
pub(crate) fn cut_rounding(edges: &[Edge]) -> f64 {
    let reach = edges
        .iter()
        .fold(0.0f64, |m, e| m.max(e.x0.abs()).max(e.x1.abs()));
    CUT_ROUNDING * f64::EPSILON * reach
}

/// Edges by block of rows: block `b` owns `members[starts[b]..starts[b + 1]]`.
pub(crate) struct Blocks {
    /// Rows `rows[e].0..rows[e].1` are cut by edge `e`.
    pub(crate) rows: Vec<(u32, u32)>,
    starts: Vec<usize>,
    members: Vec<u32>,
    size: usize,
    count: usize,
}

impl Blocks {
    /// Sorts edges into blocks of `size` rows; `first` and `end` give the rows of an edge.
    pub(crate) fn new(
        edges: &[Edge],
        row_count: usize,
        range: impl Fn(&Edge) -> (usize, usize) + Sync,
    ) -> Self {
        let size = BLOCK_ROWS;
        let count = row_count.div_ceil(size);
        let rows: Vec<(u32, u32)> = edges
            .par_iter()
            .map(|e| {
                let (first, end) = range(e);
                (first as u32, end as u32)
            })
            .collect();
        let blocks_of = |&(first, end): &(u32, u32)| {
            if first < end {
                first as usize / size..(end as usize - 1) / size + 1
            } else {
                0..0
            }
        };
        let mut starts = vec![0usize; count + 1];
        for r in &rows {
            for b in blocks_of(r) {
                starts[b + 1] += 1;
            }
        }
        for b in 0..count {
            starts[b + 1] += starts[b];
        }
        let mut members = vec![0u32; starts[count]];
        let mut next = starts.clone();
        for (e, r) in rows.iter().enumerate() {
            for b in blocks_of(r) {
                members[next[b]] = e as u32;
                next[b] += 1;
            }
        }
        Self {
            rows,
            starts,
            members,
            size,
            count,
        }
    }

    /// Calls `work` for every block with its rows and the edges of each of them, in parallel; results in order.
    pub(crate) fn map<T: Send>(
        &self,
        row_count: usize,
        work: impl Fn(usize, &RowMembers<'_>) -> T + Sync,
    ) -> Vec<T> {
        (0..self.count)
            .into_par_iter()
            .map(|b| {
                let first = b * self.size;
                let end = (first + self.size).min(row_count);
                let members = &self.members[self.starts[b]..self.starts[b + 1]];
                work(first, &RowMembers::new(self, members, first, end))
            })
            .collect()
    }
}

/// The edges of each row of one block.
pub(crate) struct RowMembers<'a> {
    starts: Vec<usize>,
    edges: Vec<u32>,
    blocks: &'a Blocks,
}

impl<'a> RowMembers<'a> {
    fn new(blocks: &'a Blocks, members: &[u32], first: usize, end: usize) -> Self {
        let rows_of = |e: u32| {
            let (a, b) = blocks.rows[e as usize];
            (a as usize).max(first) - first..(b as usize).min(end) - first
        };
        let mut starts = vec![0usize; end - first + 1];
        for &e in members {
            for r in rows_of(e) {
                starts[r + 1] += 1;
            }
        }
        for r in 0..end - first {
            starts[r + 1] += starts[r];
        }
        let mut edges = vec![0u32; starts[end - first]];
        let mut next = starts.clone();
        for &e in members {
            for r in rows_of(e) {
                edges[next[r]] = e;
                next[r] += 1;
            }
        }
        Self {
            starts,
            edges,
            blocks,
        }
    }

    /// Number of rows in the block.
    pub(crate) fn len(&self) -> usize {
        debug_assert!(self.blocks.size >= self.starts.len() - 1);
        self.starts.len() - 1
    }

    /// The edges that row `r` of the block cuts.
    pub(crate) fn row(&self, r: usize) -> &[u32] {
        &self.edges[self.starts[r]..self.starts[r + 1]]
    }
}

/// The spans that rows at the heights `ys` cut out of the region. Any order of heights; a height that is not a number
/// has no spans.
pub(crate) fn scan(edges: &[Edge], ys: &[f64], ends: Ends) -> RowSpans {
    let rounding = cut_rounding(edges);
    let ascending = ys.windows(2).all(|w| w[0] <= w[1]);
    if ascending {
        return scan_ascending(edges, ys, ends, rounding);
    }
    let mut order: Vec<usize> = (0..ys.len()).filter(|&i| !ys[i].is_nan()).collect();
    order.sort_by(|&a, &b| ys[a].total_cmp(&ys[b]));
    let sorted: Vec<f64> = order.iter().map(|&i| ys[i]).collect();
    let found = scan_ascending(edges, &sorted, ends, rounding);
    let mut place = vec![None; ys.len()];
    for (sorted_at, &i) in order.iter().enumerate() {
        place[i] = Some(sorted_at);
    }
    let mut out = RowSpans::with_capacity(ys.len(), found.spans.len());
    for (&y, at) in ys.iter().zip(&place) {
        out.push_row(y, at.map_or(&[][..], |r| found.row(r)));
    }
    out
}

/// Ascending heights of rows, most often evenly spaced.
struct Heights<'a> {
    ys: &'a [f64],
    /// Rows a unit, if they were evenly spaced.
    density: f64,
}

impl<'a> Heights<'a> {
    fn new(ys: &'a [f64]) -> Self {
        let density = match ys {
            [first, .., last] => (ys.len() - 1) as f64 / (last - first),
            _ => 0.0,
        };
        Self { ys, density }
    }

    /// How many of the heights come before a place, of which `before` is true up to about `near`.
    #[inline]
    fn place(&self, near: f64, before: impl Fn(f64) -> bool) -> usize {
        /// Steps from where the place would be among evenly spaced heights.
        const STEPS: usize = 3;
        let ys = self.ys;
        let Some(first) = ys.first() else { return 0 };
        let mut i = (((near - first) * self.density) as usize).min(ys.len());
        for _ in 0..STEPS {
            if i < ys.len() && before(ys[i]) {
                i += 1;
            } else if i > 0 && !before(ys[i - 1]) {
                i -= 1;
            } else {
                return i;
            }
        }
        ys.partition_point(|&y| before(y))
    }
}

/// The same for ascending heights, with the rounding of a cut among all edges where these are only some of them: those
/// that the rows cut.
pub(crate) fn scan_ascending(edges: &[Edge], ys: &[f64], ends: Ends, rounding: f64) -> RowSpans {
    let ys_valid = if ys.len() == 1 && ys[0].is_nan() {
        &[][..]
    } else {
        ys
    };
    let heights = Heights::new(ys_valid);
    let blocks = Blocks::new(edges, ys_valid.len(), |e| {
        let place = |of: f64| {
            if ends.below() {
                heights.place(of, |y| y <= of)
            } else {
                heights.place(of, |y| y < of)
            }
        };
        (place(e.y0), place(e.y1))
    });
    let parts = blocks.map(ys_valid.len(), |first, members| {
        let mut part = RowSpans::with_capacity(members.len(), 2 * members.len());
        let mut cuts = Vec::new();
        for r in 0..members.len() {
            let y = ys_valid[first + r];
            cuts.clear();
            cuts.extend(members.row(r).iter().map(|&e| {
                let edge = &edges[e as usize];
                (edge.cut(y), edge.winding)
            }));
            part.begin_row(y);
            sweep(&mut cuts, rounding, |span| {
                if ends != Ends::Above || span.x1 - span.x0 > rounding {
                    part.spans.push(span);
                }
            });
            part.end_row();
        }
        part
    });
    let mut out = RowSpans::with_capacity(ys.len(), parts.iter().map(|p| p.spans.len()).sum());
    for part in &parts {
        for r in 0..part.ys.len() {
            out.push_row(part.ys[r], part.row(r));
        }
    }
    if ys_valid.len() < ys.len() {
        out.push_row(ys[0], &[]);
    }
    out
}
