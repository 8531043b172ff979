//! A figure in square cells: ways inside it, and which part a place belongs to.

use crate::profile::Outline;
use crate::space::{Point, ViewUnits};

/// Cells along the figure's height: an arm is some eight across, and a gap of half a percent is still one.
const ALONG: f64 = 200.0;
/// Cells around a place in which it is looked for: an outline runs between cells.
const AROUND: isize = 2;
/// Costs of a straight and of a slanting step, whose ratio is nearest to the square root of two among small numbers
/// (Borgefors 1986).
const STEPS: [u32; 2] = [5, 7];
/// What is not inside.
const OUTSIDE: u32 = u32::MAX;

/// The inner cells of a figure, row by row from the top.
#[derive(Debug, Clone)]
pub(super) struct Cells {
    side: f64,
    x0: f64,
    top: f64,
    cols: usize,
    /// For each place of the net the number of its cell; a place around all of it is outside, so that each cell has eight
    /// neighbours.
    number: Vec<u32>,
    /// Column and row of each cell.
    places: Vec<[u32; 2]>,
}

impl Cells {
    pub(super) fn of(outline: &Outline<ViewUnits>, height: f64) -> Self {
        let side = height / ALONG;
        let Some(b) = outline.bounds() else {
            return Self {
                side,
                x0: 0.0,
                top: 0.0,
                cols: 0,
                number: Vec::new(),
                places: Vec::new(),
            };
        };
        // A figure far larger than its frame says would take all memory; it has no parts.
        let count = |length: f64| (length / side).ceil().clamp(1.0, 8.0 * ALONG) as usize;
        let (cols, rows) = (count(b.width()), count(b.height()));
        let ys: Vec<f64> = (0..rows).map(|r| b.y1 - (r as f64 + 0.5) * side).collect();
        let spans = outline.row_spans(&ys);
        let mut number = vec![OUTSIDE; (cols + 2) * (rows + 2)];
        let mut places = Vec::new();
        for r in 0..rows {
            for s in spans.row(r) {
                // Cells whose middle is covered.
                let first = ((s.x0 - b.x0) / side - 0.5).ceil().max(0.0) as usize;
                let last = ((s.x1 - b.x0) / side - 0.5).floor();
                for c in first..((last + 1.0).max(0.0) as usize).min(cols) {
                    number[(r + 1) * (cols + 2) + c + 1] = places.len() as u32;
                    places.push([c as u32, r as u32]);
                }
            }
        }
        Self {
            side,
            x0: b.x0,
            top: b.y1,
            cols,
            number,
            places,
        }
    }

    pub(super) fn len(&self) -> usize {
        self.places.len()
    }

    /// Length of a cell's side, units.
    pub(super) fn side(&self) -> f64 {
        self.side
    }

    /// The middle of a cell.
    pub(super) fn middle(&self, cell: usize) -> Point<ViewUnits> {
        let [c, r] = self.places[cell];
        Point::new(
            self.x0 + (f64::from(c) + 0.5) * self.side,
            self.top - (f64::from(r) + 0.5) * self.side,
        )
    }

    /// The cell of a column and row of the net.
    fn cell(&self, c: isize, r: isize) -> Option<usize> {
        if c < 0 || r < 0 || c as usize >= self.cols {
            return None;
        }
        let n = *self
            .number
            .get((r as usize + 1) * (self.cols + 2) + c as usize + 1)?;
        (n != OUTSIDE).then_some(n as usize)
    }

    fn column_row(&self, x: f64, y: f64) -> (isize, isize) {
        (
            ((x - self.x0) / self.side).floor() as isize,
            ((self.top - y) / self.side).floor() as isize,
        )
    }

    /// The cell at a place, or the nearest one close to it.
    pub(super) fn nearest(&self, x: f64, y: f64) -> Option<usize> {
        let (c, r) = self.column_row(x, y);
        if let Some(cell) = self.cell(c, r) {
            return Some(cell);
        }
        let mut best: Option<(f64, usize)> = None;
        for dr in -AROUND..=AROUND {
            for dc in -AROUND..=AROUND {
                if let Some(cell) = self.cell(c + dc, r + dr) {
                    let d = self.middle(cell).distance(Point::new(x, y));
                    if best.is_none_or(|b| d < b.0) {
                        best = Some((d, cell));
                    }
                }
            }
        }
        best.map(|b| b.1)
    }

    /// The cells of the row at a height between two places.
    pub(super) fn between(&self, x0: f64, x1: f64, y: f64) -> impl Iterator<Item = usize> + '_ {
        let ((c0, r), (c1, _)) = (self.column_row(x0, y), self.column_row(x1, y));
        (c0.max(0)..=c1.min(self.cols as isize)).filter_map(move |c| self.cell(c, r))
    }

    /// The eight places around a cell, those at its sides first: numbers of cells, or [`OUTSIDE`].
    #[inline]
    fn eight(&self, cell: usize) -> [u32; 8] {
        let [c, r] = self.places[cell];
        let row = self.cols + 2;
        let at = (r as usize + 1) * row + c as usize + 1;
        let (above, here, below) = (
            &self.number[at - row - 1..at - row + 2],
            &self.number[at - 1..at + 2],
            &self.number[at + row - 1..at + row + 2],
        );
        [
            here[2], here[0], below[1], above[1], below[2], above[2], below[0], above[0],
        ]
    }

    /// The up to eight cells around one.
    pub(super) fn around(&self, cell: usize) -> impl Iterator<Item = usize> + '_ {
        let all = self.eight(cell).into_iter();
        all.filter(|n| *n != OUTSIDE).map(|n| n as usize)
    }

    /// The length of the shortest way inside the figure from the nearest of some cells to each, units; infinite where no
    /// way leads.
    ///
    /// Dijkstra's method with a ring of buckets, as steps cost small whole numbers (Dial 1969).
    pub(super) fn ways(&self, from: &[usize]) -> Vec<f64> {
        let mut cost = vec![OUTSIDE; self.len()];
        let mut ring: Vec<Vec<u32>> = vec![Vec::new(); STEPS[1] as usize + 1];
        for &cell in from {
            cost[cell] = 0;
            ring[0].push(cell as u32);
        }
        let (mut now, mut idle) = (0u32, 0);
        while idle < ring.len() {
            let slot = now as usize % ring.len();
            let due = std::mem::take(&mut ring[slot]);
            idle = if due.is_empty() { idle + 1 } else { 0 };
            for cell in due {
                if cost[cell as usize] != now {
                    continue;
                }
                for (k, next) in self.eight(cell as usize).into_iter().enumerate() {
                    let reached = now + STEPS[usize::from(k >= 4)];
                    if next != OUTSIDE && reached < cost[next as usize] {
                        cost[next as usize] = reached;
                        let slot = reached as usize % ring.len();
                        ring[slot].push(next);
                    }
                }
            }
            now += 1;
        }
        let unit = self.side / f64::from(STEPS[0]);
        cost.into_iter()
            .map(|c| {
                if c == OUTSIDE {
                    f64::INFINITY
                } else {
                    f64::from(c) * unit
                }
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A horseshoe: the way from one foot to the other leads over the bow.
    #[test]
    fn ways_stay_inside() {
        let ring = [
            (0.0, 0.0),
            (20.0, 0.0),
            (20.0, 80.0),
            (80.0, 80.0),
            (80.0, 0.0),
            (100.0, 0.0),
            (100.0, 100.0),
            (0.0, 100.0),
        ];
        let outline = Outline {
            rings: vec![ring.iter().map(|p| Point::new(p.0, p.1)).collect()],
        };
        let cells = Cells::of(&outline, 200.0);
        assert_eq!(cells.len(), 20 * 100 * 2 + 60 * 20);
        let from = cells.nearest(10.0, 1.0).unwrap();
        let ways = cells.ways(&[from]);
        let to = cells.nearest(90.0, 1.0).unwrap();
        // By hand: up to the inner corner, across, down.
        let by_hand = 2.0 * (10.0f64.hypot(79.0)) + 60.0;
        assert!((ways[to] - by_hand).abs() < 0.04 * by_hand, "{}", ways[to]);
        assert!(cells.nearest(50.0, 40.0).is_none());
        assert_eq!(cells.between(-5.0, 500.0, 40.0).count(), 40);
    }
}
