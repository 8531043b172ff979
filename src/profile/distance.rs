//! Distance from a point to an outline: the nearest point on any segment.
//!
//! Method: a tree of boxes with four children each over the segments in ring order (neighbours on a ring are neighbours in the plane,
//! so nothing needs sorting), searched nearer box first and pruned by the best distance so far. Exact up to rounding.
//! Building is linear; a query visits a number of boxes that grows with the logarithm of the segments for points near
//! the outline and more for points that are equally far from much of it. A query that begins with a segment close by, as
//! those of neighbours do, looks into the few cells of a net that can hold a nearer one instead (see [`net`]).
//!
//! [`net`]: super::net

use super::Outline;
use super::net::Net;
use crate::space::{Point, Space};

/// Segments a leaf holds; found by trial on outlines of 10^5 segments (2 to 16 tried).
const LEAF: usize = 8;

/// Children of a box: as many as two or four lanes of arithmetic work on together.
const CHILDREN: usize = 4;

/// Boxes that wait at most: three of each level, and 20 levels hold 4^20 leaves.
const MAX_PENDING: usize = 60;

#[derive(Debug, Clone, Copy)]
struct Segment {
    x: f64,
    y: f64,
    dx: f64,
    dy: f64,
    /// `1 / (dx² + dy²)`, 0 for a point.
    inverse: f64,
}

#[derive(Debug, Clone, Copy)]
struct Box2 {
    x0: f64,
    y0: f64,
    x1: f64,
    y1: f64,
}

impl Box2 {
    const NONE: Self = Self {
        x0: f64::INFINITY,
        y0: f64::INFINITY,
        x1: f64::NEG_INFINITY,
        y1: f64::NEG_INFINITY,
    };

    fn join(self, other: Self) -> Self {
        Self {
            x0: self.x0.min(other.x0),
            y0: self.y0.min(other.y0),
            x1: self.x1.max(other.x1),
            y1: self.y1.max(other.y1),
        }
    }
}

/// The boxes of the children of one node, coordinate by coordinate.
#[derive(Debug, Clone, Copy)]
struct Children {
    x0: [f64; CHILDREN],
    y0: [f64; CHILDREN],
    x1: [f64; CHILDREN],
    y1: [f64; CHILDREN],
}

impl Children {
    fn new(boxes: &[Box2]) -> Self {
        let side = |of: fn(&Box2) -> f64| std::array::from_fn(|i| of(&boxes[i]));
        Self {
            x0: side(|b| b.x0),
            y0: side(|b| b.y0),
            x1: side(|b| b.x1),
            y1: side(|b| b.y1),
        }
    }

    fn squared_distances(&self, x: f64, y: f64) -> [f64; CHILDREN] {
        std::array::from_fn(|i| {
            let dx = (self.x0[i] - x).max(x - self.x1[i]).max(0.0);
            let dy = (self.y0[i] - y).max(y - self.y1[i]).max(0.0);
            dx * dx + dy * dy
        })
    }
}

/// An outline prepared for distance queries.
#[derive(Debug, Clone)]
pub struct DistanceIndex<S: Space> {
    segments: Vec<Segment>,
    /// The inner nodes of a complete tree, root at 0, children of `n` from `4 n + 1` on; the leaves follow.
    nodes: Vec<Children>,
    net: Net,
    space: std::marker::PhantomData<S>,
}

/// The best found so far: squared distance and segment.
#[derive(Clone, Copy)]
struct Best {
    squared: f64,
    segment: usize,
}

const NO_SEGMENT: usize = usize::MAX;

impl<S: Space> DistanceIndex<S> {
    /// Prepares an outline; points that are not finite are passed over.
    pub fn new(outline: &Outline<S>) -> Self {
        let segments: Vec<Segment> = outline
            .segments()
            .map(|(p, q)| {
                let (dx, dy) = (q.x - p.x, q.y - p.y);
                let squared = dx * dx + dy * dy;
                Segment {
                    x: p.x,
                    y: p.y,
                    dx,
                    dy,
                    inverse: if squared > 0.0 { squared.recip() } else { 0.0 },
                }
            })
            .filter(|s| {
                s.x.is_finite()
                    && s.y.is_finite()
                    && s.inverse.is_finite()
                    && s.dx.is_finite()
                    && s.dy.is_finite()
            })
            .collect();
        let mut leaves = 1;
        while leaves * LEAF < segments.len() {
            leaves *= CHILDREN;
        }
        let first_leaf = (leaves - 1) / (CHILDREN - 1);
        let mut boxes = vec![Box2::NONE; first_leaf + leaves];
        for (leaf, chunk) in segments.chunks(LEAF).enumerate() {
            boxes[first_leaf + leaf] = chunk.iter().fold(Box2::NONE, |b, s| {
                b.join(Box2 {
                    x0: s.x.min(s.x + s.dx),
                    y0: s.y.min(s.y + s.dy),
                    x1: s.x.max(s.x + s.dx),
                    y1: s.y.max(s.y + s.dy),
                })
            });
        }
        let children = |n: usize| CHILDREN * n + 1..CHILDREN * (n + 1) + 1;
        for n in (0..first_leaf).rev() {
            boxes[n] = boxes[children(n)].iter().fold(Box2::NONE, |a, b| a.join(*b));
        }
        let nodes = (0..first_leaf)
            .map(|n| Children::new(&boxes[children(n)]))
            .collect();
        let net = Net::new(segments.iter().map(|s| [s.x, s.y, s.x + s.dx, s.y + s.dy]));
        Self {
            segments,
            nodes,
            net,
            space: std::marker::PhantomData,
        }
    }

    /// Distance to the outline; infinite for an outline without segments.
    pub fn distance(&self, p: Point<S>) -> f64 {
        self.search(p, f64::INFINITY, NO_SEGMENT).squared.sqrt()
    }

    /// The nearest point of the outline and its distance; `None` for an outline without segments.
    pub fn nearest(&self, p: Point<S>) -> Option<(Point<S>, f64)> {
        let mut hint = NO_SEGMENT;
        self.nearest_near(p, &mut hint)
    }

    /// The same, for points that follow each other closely: begins with the segment that was nearest to the point
    /// before, and writes the new one there.
    pub fn nearest_near(&self, p: Point<S>, hint: &mut usize) -> Option<(Point<S>, f64)> {
        let best = self.search(p, f64::INFINITY, *hint);
        *hint = best.segment;
        let segment = self.segments.get(best.segment)?;
        let t = segment.parameter(p.x, p.y);
        let at = Point::new(segment.x + t * segment.dx, segment.y + t * segment.dy);
        Some((at, best.squared.sqrt()))
    }

    /// Unit direction in which a segment runs, as the rings do; `None` for no such segment and for one without length.
    pub fn direction(&self, segment: usize) -> Option<(f64, f64)> {
        let s = self.segments.get(segment)?;
        (s.inverse > 0.0).then(|| (s.dx * s.inverse.sqrt(), s.dy * s.inverse.sqrt()))
    }

    /// Distance to the outline if it is at most `limit`; faster than [`Self::distance`] the smaller the limit.
    pub fn within(&self, p: Point<S>, limit: f64) -> Option<f64> {
        let best = self.search(p, limit * limit, NO_SEGMENT);
        (best.segment != NO_SEGMENT).then(|| best.squared.sqrt())
    }

    /// Distance to the outline, starting from the segment that answered the last query and leaving the new one there:
    /// faster when the points of successive queries are neighbours. Start with `usize::MAX`.
    pub fn distance_near(&self, p: Point<S>, segment: &mut usize) -> f64 {
        let best = self.search(p, f64::INFINITY, *segment);
        *segment = best.segment;
        best.squared.sqrt()
    }

    /// The nearest segment no farther than the square root of `limit`.
    fn search(&self, p: Point<S>, limit: f64, hint: usize) -> Best {
        let mut best = match self.segments.get(hint) {
            Some(s) => Best {
                squared: s.squared_distance(p.x, p.y),
                segment: hint,
            },
            None => Best {
                squared: limit,
                segment: NO_SEGMENT,
            },
        };
        if !(p.x.is_finite() && p.y.is_finite()) || self.segments.is_empty() {
            return Best {
                squared: f64::INFINITY,
                segment: NO_SEGMENT,
            };
        }
        if best.squared < f64::INFINITY
            && let Some(cells) = self.net.around(p.x, p.y, best.squared.sqrt())
        {
            for &segment in cells.flatten() {
                self.try_segment(segment as usize, p, &mut best);
            }
            return best;
        }
        let mut pending = [(0.0f64, 0usize); MAX_PENDING];
        let mut count = 1;
        while count > 0 {
            count -= 1;
            let (nearest, node) = pending[count];
            if nearest > best.squared {
                continue;
            }
            let Some(children) = self.nodes.get(node) else {
                self.search_leaf(node - self.nodes.len(), p, &mut best);
                continue;
            };
            // The farther ones are put down first, so that the nearest is next. Boxes of nothing are infinitely far.
            let first = count;
            for (i, &d) in children.squared_distances(p.x, p.y).iter().enumerate() {
                if d <= best.squared && d < f64::INFINITY && count < MAX_PENDING {
                    let mut at = count;
                    while at > first && pending[at - 1].0 < d {
                        pending[at] = pending[at - 1];
                        at -= 1;
                    }
                    pending[at] = (d, CHILDREN * node + 1 + i);
                    count += 1;
                }
            }
        }
        best
    }

    fn search_leaf(&self, leaf: usize, p: Point<S>, best: &mut Best) {
        let first = leaf * LEAF;
        let end = (first + LEAF).min(self.segments.len());
        for segment in first.min(end)..end {
            self.try_segment(segment, p, best);
        }
    }

    #[inline]
    fn try_segment(&self, segment: usize, p: Point<S>, best: &mut Best) {
        let squared = self.segments[segment].squared_distance(p.x, p.y);
        if squared < best.squared || (squared == best.squared && best.segment == NO_SEGMENT) {
            *best = Best { squared, segment };
        }
    }
}

impl Segment {
    fn parameter(&self, x: f64, y: f64) -> f64 {
        (((x - self.x) * self.dx + (y - self.y) * self.dy) * self.inverse).clamp(0.0, 1.0)
    }

    fn squared_distance(&self, x: f64, y: f64) -> f64 {
        let t = self.parameter(x, y);
        let (dx, dy) = (x - self.x - t * self.dx, y - self.y - t * self.dy);
        dx * dx + dy * dy
    }
}
