//! A net of square cells over an outline's segments: which of them can lie close to a point.
//!
//! Cells are some segments wide, so that an outline passes each of them with a few. A net that would hold much more than
//! its segments, as some of them are far longer than others, is left empty.

/// A cell's side, in lengths of a usual segment.
const SEGMENTS_ACROSS: f64 = 4.0;
/// Cells along the longer side at most.
const MOST_ALONG: f64 = 256.0;
/// A segment stands in so many cells at most, on the mean.
const MOST_ENTRIES: usize = 8;
/// Cells that are looked into at most: those about a point in the corner of one.
const MOST_CELLS: usize = 4;

/// Which segments pass each cell.
#[derive(Debug, Clone, Default)]
pub(super) struct Net {
    x0: f64,
    y0: f64,
    side: f64,
    columns: usize,
    rows: usize,
    /// Where each cell's segments begin, row by row, and where the last one's end; empty for no net.
    starts: Vec<u32>,
    segments: Vec<u32>,
}

impl Net {
    /// A net over segments, given by both ends `[x0, y0, x1, y1]`, all finite.
    pub(super) fn new(segments: impl ExactSizeIterator<Item = [f64; 4]> + Clone) -> Self {
        let count = segments.len();
        let mut bounds = [f64::MAX, f64::MAX, f64::MIN, f64::MIN];
        let mut length = 0.0;
        for [x0, y0, x1, y1] in segments.clone() {
            bounds = [
                bounds[0].min(x0.min(x1)),
                bounds[1].min(y0.min(y1)),
                bounds[2].max(x0.max(x1)),
                bounds[3].max(y0.max(y1)),
            ];
            length += (x1 - x0).abs().max((y1 - y0).abs());
        }
        let (width, height) = (bounds[2] - bounds[0], bounds[3] - bounds[1]);
        let side = (SEGMENTS_ACROSS * length / count.max(1) as f64).max(width.max(height) / MOST_ALONG);
        if count == 0 || count > u32::MAX as usize / MOST_ENTRIES || !side.is_normal() {
            return Self::default();
        }
        let mut net = Self {
            x0: bounds[0],
            y0: bounds[1],
            side,
            columns: (width / side) as usize + 1,
            rows: (height / side) as usize + 1,
            starts: Vec::new(),
            segments: Vec::new(),
        };
        let mut starts = vec![0u32; net.columns * net.rows + 1];
        let mut entries = 0;
        for s in segments.clone() {
            let [across, down] = net.cells(s);
            entries += across.len() * down.len();
            if entries > MOST_ENTRIES * count {
                return Self::default();
            }
            for cell in down.flat_map(|r| across.clone().map(move |c| (r, c))) {
                starts[cell.0 * net.columns + cell.1 + 1] += 1;
            }
        }
        for i in 1..starts.len() {
            starts[i] += starts[i - 1];
        }
        let mut next = starts.clone();
        net.segments = vec![0; entries];
        for (k, s) in (0u32..).zip(segments) {
            let [across, down] = net.cells(s);
            for cell in down.flat_map(|r| across.clone().map(move |c| (r, c))) {
                let slot = &mut next[cell.0 * net.columns + cell.1];
                net.segments[*slot as usize] = k;
                *slot += 1;
            }
        }
        net.starts = starts;
        net
    }

    /// Columns and rows of the cells that a box between two corners meets.
    #[inline]
    fn cells(&self, [x0, y0, x1, y1]: [f64; 4]) -> [std::ops::Range<usize>; 2] {
        let range = |a: f64, b: f64, count: usize| {
            let cell = |v: f64| ((v / self.side).max(0.0) as usize).min(count - 1);
            cell(a.min(b))..cell(a.max(b)) + 1
        };
        [
            range(x0 - self.x0, x1 - self.x0, self.columns),
            range(y0 - self.y0, y1 - self.y0, self.rows),
        ]
    }

    /// The segments of the cells within `reach` of a point, cell by cell; `None` where that is too far for the net.
    #[inline]
    pub(super) fn around(&self, x: f64, y: f64, reach: f64) -> Option<impl Iterator<Item = &[u32]>> {
        if self.starts.is_empty() || reach > self.side {
            return None;
        }
        let [across, down] = self.cells([x - reach, y - reach, x + reach, y + reach]);
        (across.len() * down.len() <= MOST_CELLS).then(|| {
            down.map(move |r| {
                // Cells side by side follow each other.
                let row = r * self.columns;
                let (from, to) = (self.starts[row + across.start], self.starts[row + across.end]);
                &self.segments[from as usize..to as usize]
            })
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn around(net: &Net, x: f64, y: f64, reach: f64) -> Option<Vec<u32>> {
        let mut found: Vec<u32> = net.around(x, y, reach)?.flatten().copied().collect();
        found.sort_unstable();
        found.dedup();
        Some(found)
    }

    #[test]
    fn what_lies_close_is_found_and_little_else() {
        let n = 1000u32;
        let at = |i: u32| {
            let (sin, cos) = (f64::from(i % n) / f64::from(n) * std::f64::consts::TAU).sin_cos();
            [50.0 * cos, 50.0 * sin]
        };
        let segments: Vec<[f64; 4]> = (0..n)
            .map(|i| {
                let (a, b) = (at(i), at(i + 1));
                [a[0], a[1], b[0], b[1]]
            })
            .collect();
        let net = Net::new(segments.iter().copied());
        for i in (0..n).step_by(7) {
            let [x, y] = at(i);
            let found = around(&net, 1.002 * x, 1.002 * y, 0.2).expect("near enough");
            assert!(found.contains(&i) && found.contains(&((i + n - 1) % n)), "{i}");
            assert!(found.len() < 24, "{}", found.len());
        }
        assert!(around(&net, 0.0, 0.0, 50.0).is_none());
    }

    #[test]
    fn long_segments_among_short_ones_have_no_net() {
        let short = (0..500).map(|i| [f64::from(i) * 0.1, 0.0, f64::from(i) * 0.1 + 0.1, 0.0]);
        let long = (0..500).map(|i| [0.0, 0.0, 500.0, 500.0 - f64::from(i)]);
        let all: Vec<[f64; 4]> = short.chain(long).collect();
        // A usual segment is 250 long: one cell holds them all, and each stands in few.
        assert!(!Net::new(all.iter().copied()).starts.is_empty());
        let few = (0..5).map(|i| [0.0, 0.0, 500.0, 500.0 - f64::from(i)]);
        let short = (0..5000).map(|i| [f64::from(i) * 0.1, 0.0, f64::from(i) * 0.1 + 0.1, 0.0]);
        let all: Vec<[f64; 4]> = short.chain(few).collect();
        assert!(Net::new(all.iter().copied()).starts.is_empty());
        assert!(around(&Net::new([].into_iter()), 0.0, 0.0, 1.0).is_none());
    }
}
