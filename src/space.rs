//! The coordinate spaces of the program and the points that live in them.
//!
//! Directions, windings and signs are stated here once; other files refer to this one.
//!
//! | space | x | y | unit |
//! | --- | --- | --- | --- |
//! | [`Upright`] | right | **down** | pixels of the picture as it is meant to be seen (orientation tag applied) |
//! | [`Level`] | right | **down** | pixels after the sheet's skew has been turned out, about the middle of the picture |
//! | [`ViewUnits`] | right as the viewer sees it | **up** | units of the mesh, the mesh's own zero |
//!
//! Pixel `i` covers `i` to `i + 1`. Outer rings run counter-clockwise *as seen*, holes clockwise, in
//! every space: in a space whose y points down the shoelace sum of an outer ring is therefore negative.

use std::fmt::Debug;
use std::marker::PhantomData;

/// A coordinate space. Implemented by the marker types of this module only.
pub trait Space: Copy + Clone + Debug + PartialEq + Default + Send + Sync + 'static {
    /// `1.0` where y points up, `-1.0` where it points down.
    const UP: f64;
}

/// Pixels of the picture, upright, y down.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Upright;
/// Pixels of the levelled sheet, y down.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Level;
/// Units of the mesh seen in one view, y up.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ViewUnits;

impl Space for Upright {
    const UP: f64 = -1.0;
}
impl Space for Level {
    const UP: f64 = -1.0;
}
impl Space for ViewUnits {
    const UP: f64 = 1.0;
}

/// A point in the space `S`.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Point<S: Space> {
    /// To the right, in the unit of the space.
    pub x: f64,
    /// Up or down, see [`Space::UP`].
    pub y: f64,
    space: PhantomData<S>,
}

impl<S: Space> Point<S> {
    /// A point of the space `S`.
    pub const fn new(x: f64, y: f64) -> Self {
        Self {
            x,
            y,
            space: PhantomData,
        }
    }

    /// Euclidean distance, in the unit of the space.
    pub fn distance(self, other: Self) -> f64 {
        (self.x - other.x).hypot(self.y - other.y)
    }
}

/// An axis-parallel box in the space `S`; `x0 <= x1` and `y0 <= y1` whichever way y points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds<S: Space> {
    /// Smallest x.
    pub x0: f64,
    /// Smallest y.
    pub y0: f64,
    /// Largest x.
    pub x1: f64,
    /// Largest y.
    pub y1: f64,
    space: PhantomData<S>,
}

impl<S: Space> Bounds<S> {
    /// The smallest box around the points; `None` without points.
    pub fn around(points: impl IntoIterator<Item = Point<S>>) -> Option<Self> {
        let mut points = points.into_iter();
        let first = points.next()?;
        let start = Self {
            x0: first.x,
            y0: first.y,
            x1: first.x,
            y1: first.y,
            space: PhantomData,
        };
        Some(points.fold(start, |b, p| Self {
            x0: b.x0.min(p.x),
            y0: b.y0.min(p.y),
            x1: b.x1.max(p.x),
            y1: b.y1.max(p.y),
            space: PhantomData,
        }))
    }

    /// Extent along x.
    pub fn width(&self) -> f64 {
        self.x1 - self.x0
    }

    /// Extent along y.
    pub fn height(&self) -> f64 {
        self.y1 - self.y0
    }
}
