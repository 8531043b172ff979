//! A coarse table of distances to a drawn outline, for searches that ask many thousand times.
//!
//! Method: the cells that the outline runs through are marked, and the distance of every cell's middle to the nearest
//! marked one is found by lower envelopes of parabolas, first along columns, then along rows (Felzenszwalb and
//! Huttenlocher 2012). Error: at most a cell's diagonal.

use crate::profile::Outline;
use crate::space::Level;

/// Cells over the figure's height; a cell is then a third of the usual tolerance across two.
const CELLS: f64 = 160.0;
/// Margin around the figure in shares of its height.
const MARGIN: f64 = 0.12;
/// Places marked along an outline, for each cell's length.
const MARKS: f64 = 2.0;

/// Distances in pixels of a grid around one figure.
pub struct Field {
    x0: f64,
    y0: f64,
    cell: f64,
    width: usize,
    height: usize,
    values: Vec<f32>,
    far: f64,
}

impl Field {
    /// Tabulates the distance to an outline; `None` for an empty one.
    pub fn new(outline: &Outline<Level>) -> Option<Self> {
        let b = outline.bounds()?;
        let cell = (b.height() / CELLS).max(1e-6);
        let margin = MARGIN * b.height();
        let (x0, y0) = (b.x0 - margin, b.y0 - margin);
        let width = ((b.width() + 2.0 * margin) / cell).ceil() as usize + 1;
        let height = ((b.height() + 2.0 * margin) / cell).ceil() as usize + 1;
        // Farther than any cell from any other, and squares of it stay exact.
        let beyond = (width + height) as f32;
        let mut squared = vec![beyond * beyond; width * height];
        for (p, q) in outline.segments() {
            let pieces = (MARKS * p.distance(q) / cell).ceil().max(1.0);
            for k in 0..=pieces as usize {
                let t = k as f64 / pieces;
                let (x, y) = (p.x + t * (q.x - p.x), p.y + t * (q.y - p.y));
                let (i, j) = ((x - x0) / cell + 0.5, (y - y0) / cell + 0.5);
                squared[j as usize * width + i as usize] = 0.0;
            }
        }
        let mut line = Envelope::default();
        for i in 0..width {
            line.transform(&mut squared, i, width, height);
        }
        for j in 0..height {
            line.transform(&mut squared, j * width, 1, width);
        }
        Some(Self {
            x0,
            y0,
            cell,
            width,
            height,
            values: squared.iter().map(|v| v.sqrt() * cell as f32).collect(),
            far: margin,
        })
    }

    /// Distance at a point, from the nearest tabulated one; the margin's width outside the table.
    pub fn at(&self, x: f64, y: f64) -> f64 {
        let (fx, fy) = ((x - self.x0) / self.cell + 0.5, (y - self.y0) / self.cell + 0.5);
        if fx < 0.0 || fy < 0.0 || fx >= self.width as f64 || fy >= self.height as f64 {
            return self.far;
        }
        f64::from(self.values[fy as usize * self.width + fx as usize])
    }
}

/// The lower envelope of parabolas along one line of cells.
#[derive(Default)]
struct Envelope {
    heights: Vec<f32>,
    /// Places of the parabolas that make it, and from where on each does.
    places: Vec<usize>,
    from: Vec<f32>,
}

impl Envelope {
    /// Replaces the squared heights of `count` cells, from `first` on at every `stride`, by their distance transform.
    fn transform(&mut self, cells: &mut [f32], first: usize, stride: usize, count: usize) {
        self.heights.clear();
        self.heights.extend((0..count).map(|k| cells[first + k * stride]));
        self.places.clear();
        self.from.clear();
        for (q, &height) in self.heights.iter().enumerate() {
            let mut begin = f32::NEG_INFINITY;
            while let (Some(&p), Some(&from)) = (self.places.last(), self.from.last()) {
                let (pf, qf) = (p as f32, q as f32);
                begin = ((height + qf * qf) - (self.heights[p] + pf * pf)) / (2.0 * (qf - pf));
                if begin > from {
                    break;
                }
                self.places.pop();
                self.from.pop();
                begin = f32::NEG_INFINITY;
            }
            self.places.push(q);
            self.from.push(begin);
        }
        let mut at = 0;
        for k in 0..count {
            while self.from.get(at + 1).is_some_and(|f| *f <= k as f32) {
                at += 1;
            }
            let off = k as f32 - self.places[at] as f32;
            cells[first + k * stride] = off * off + self.heights[self.places[at]];
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::profile::DistanceIndex;
    use crate::space::Point;

    /// The example documented for SciPy 1.17.1's exact Euclidean distance transform: a row of squares.
    #[test]
    fn a_published_example() {
        // 1 is far, 0 is marked; the first and the third row become 0, 1, sqrt 2, sqrt 5, 3 and 0, 1, sqrt 2, sqrt 2, 1.
        let input = [
            [0, 1, 1, 1, 1],
            [0, 0, 1, 1, 1],
            [0, 1, 1, 1, 1],
            [0, 1, 1, 1, 0],
            [0, 1, 1, 0, 0],
        ];
        let mut cells: Vec<f32> = input.iter().flatten().map(|v| *v as f32 * 100.0).collect();
        let mut line = Envelope::default();
        (0..5).for_each(|i| line.transform(&mut cells, i, 5, 5));
        (0..5).for_each(|j| line.transform(&mut cells, 5 * j, 1, 5));
        assert_eq!(cells[..5], [0.0, 1.0, 2.0, 5.0, 9.0]);
        assert_eq!(cells[10..15], [0.0, 1.0, 2.0, 2.0, 1.0]);
    }

    /// Within a cell's diagonal of the exact distance.
    #[test]
    fn close_to_the_exact_distance() {
        let ring: Vec<Point<Level>> = (0..60)
            .map(|k| {
                let a = f64::from(k) / 60.0 * std::f64::consts::TAU;
                Point::new(300.0 + 100.0 * a.cos(), 500.0 + 400.0 * a.sin())
            })
            .collect();
        let outline = Outline { rings: vec![ring] };
        let field = Field::new(&outline).expect("a table");
        let exact = DistanceIndex::new(&outline);
        for k in 0..500 {
            let (x, y) = (180.0 + f64::from(k % 24) * 10.0, 60.0 + f64::from(k / 24) * 40.0);
            let off = (field.at(x, y) - exact.distance(Point::new(x, y))).abs();
            assert!(off <= 1.5 * field.cell, "{off} at {x}, {y}");
        }
    }
}
