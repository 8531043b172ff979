//! The two outlines that are fitted to each other: a drawn one to ask for the nearest place, a mesh's one as samples.

use super::field::Field;
use crate::profile::{DistanceIndex, Outline};
use crate::space::{Level, Point, ViewUnits};

/// Samples along a mesh outline: about one for each percent of a standing figure's height.
const SAMPLES: usize = 420;

/// A sample of a mesh outline: place, unit normal that points out of the figure.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sample {
    pub(super) x: f64,
    pub(super) y: f64,
    pub(super) nx: f64,
    pub(super) ny: f64,
}

/// A drawn outline ready to be fitted onto.
pub struct Drawn {
    index: DistanceIndex<Level>,
    pub(super) field: Field,
    /// Crown row.
    pub crown_px: f64,
    /// Ground row.
    pub ground_px: f64,
    /// Left end.
    pub left_px: f64,
    /// Right end.
    pub right_px: f64,
}

/// The place of a drawn outline that is nearest to a point.
pub(super) struct Near {
    pub(super) x: f64,
    pub(super) y: f64,
    pub(super) distance: f64,
    /// Unit normal that points out of the drawn figure, y down.
    pub(super) normal: (f64, f64),
}

impl Drawn {
    /// Prepares an outline; `None` for an empty one.
    pub fn new(outline: &Outline<Level>) -> Option<Self> {
        let (index, field) = rayon::join(|| DistanceIndex::new(outline), || Field::new(outline));
        let field = field?;
        let b = outline.bounds()?;
        Some(Self {
            index,
            field,
            crown_px: b.y0,
            ground_px: b.y1,
            left_px: b.x0,
            right_px: b.x1,
        })
    }

    /// From crown to ground.
    pub fn height(&self) -> f64 {
        self.ground_px - self.crown_px
    }

    /// From end to end.
    pub fn width(&self) -> f64 {
        self.right_px - self.left_px
    }

    pub(super) fn middle_px(&self) -> f64 {
        f64::midpoint(self.left_px, self.right_px)
    }

    /// The nearest place; begins with the segment that `hint` names, and leaves the new one there.
    pub(super) fn nearest(&self, x: f64, y: f64, hint: &mut usize) -> Option<Near> {
        let (at, distance) = self.index.nearest_near(Point::new(x, y), hint)?;
        // Rings run counter-clockwise as seen: outside lies to the right of the way, y down.
        let (dx, dy) = self.index.direction(*hint).unwrap_or_default();
        Some(Near {
            x: at.x,
            y: at.y,
            distance,
            normal: (-dy, dx),
        })
    }
}

/// A mesh outline ready to be fitted.
pub struct Modelled {
    pub(super) samples: Vec<Sample>,
    /// Lowest and highest y.
    pub low: f64,
    /// Highest y.
    pub high: f64,
    /// Smallest x.
    pub left: f64,
    /// Largest x.
    pub right: f64,
}

impl Modelled {
    /// Samples an outline evenly along its length; `None` for an empty one.
    pub fn new(outline: &Outline<ViewUnits>) -> Option<Self> {
        let b = outline.bounds()?;
        let step = outline.perimeter() / SAMPLES as f64;
        if step.is_nan() || step <= 0.0 {
            return None;
        }
        let mut samples = Vec::with_capacity(SAMPLES + 8);
        let mut carry = step / 2.0;
        for (p, q) in outline.segments() {
            let (dx, dy) = (q.x - p.x, q.y - p.y);
            let len = dx.hypot(dy);
            if len <= 0.0 {
                continue;
            }
            while carry < len {
                let t = carry / len;
                samples.push(Sample {
                    x: p.x + t * dx,
                    y: p.y + t * dy,
                    nx: dy / len,
                    ny: -dx / len,
                });
                carry += step;
            }
            carry -= len;
        }
        Some(Self {
            samples,
            low: b.y0,
            high: b.y1,
            left: b.x0,
            right: b.x1,
        })
    }

    /// The outline seen from the other side: left and right exchanged, and every sample's order with it.
    #[must_use]
    pub fn flipped(&self) -> Self {
        Self {
            samples: self
                .samples
                .iter()
                .rev()
                .map(|s| Sample {
                    x: -s.x,
                    nx: -s.nx,
                    ..*s
                })
                .collect(),
            left: -self.right,
            right: -self.left,
            ..*self
        }
    }

    /// Extent along y.
    pub fn height(&self) -> f64 {
        self.high - self.low
    }

    /// Extent along x.
    pub fn width(&self) -> f64 {
        self.right - self.left
    }

    /// The larger extent.
    pub fn size(&self) -> f64 {
        self.height().max(self.width())
    }

    pub(super) fn middle(&self) -> f64 {
        f64::midpoint(self.left, self.right)
    }
}

/// A drawn view and the mesh's view that it is held against.
#[derive(Clone, Copy)]
pub struct Pair<'a> {
    /// The drawing.
    pub drawn: &'a Drawn,
    /// The mesh.
    pub modelled: &'a Modelled,
    /// Levelled column of view x = 0, where a person gave it.
    pub origin_px: Option<f64>,
}
