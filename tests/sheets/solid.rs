//! Solids that a figure is put together from, and their exact outline seen from any side.
//!
//! Space: x to the right as seen from the front, y up from the ground, z towards the viewer, heights about 1. A view
//! at azimuth `a` shows `x cos a + z sin a`: 0 front, 90 side facing right, -90 side facing left, 180 back.

use i_overlay::core::fill_rule::FillRule;
use i_overlay::float::simplify::SimplifyShape;

pub(crate) type P = [f64; 2];
pub(crate) type Ring = Vec<P>;

/// Corners of a projected ellipse.
const CORNERS: usize = 72;

/// An ellipsoid with axes along x, y, z.
#[derive(Clone, Copy)]
pub(crate) struct Ball {
    pub(crate) at: [f64; 3],
    pub(crate) half: [f64; 3],
}

#[derive(Clone)]
pub(crate) enum Solid {
    /// Each ball and the next one in a tight skin.
    Loft(Vec<Ball>),
    /// A box with faces along the axes.
    Block(Ball),
}

/// A ball of equal half axes.
pub(crate) fn ball(x: f64, y: f64, z: f64, r: f64) -> Ball {
    oval([x, y, z], [r; 3])
}

pub(crate) fn oval(at: [f64; 3], half: [f64; 3]) -> Ball {
    Ball { at, half }
}

fn turn(p: [f64; 3], azimuth: f64) -> P {
    let (s, c) = azimuth.to_radians().sin_cos();
    [p[0] * c + p[2] * s, p[1]]
}

/// How near to the viewer a point is.
pub(crate) fn depth(p: [f64; 3], azimuth: f64) -> f64 {
    let (s, c) = azimuth.to_radians().sin_cos();
    p[2] * c - p[0] * s
}

fn ellipse(b: &Ball, azimuth: f64) -> Ring {
    let (s, c) = azimuth.to_radians().sin_cos();
    let half = ((b.half[0] * c).powi(2) + (b.half[2] * s).powi(2)).sqrt();
    let m = turn(b.at, azimuth);
    (0..CORNERS)
        .map(|i| {
            let (s, c) = (i as f64 / CORNERS as f64 * std::f64::consts::TAU).sin_cos();
            [m[0] + half * c, m[1] + b.half[1] * s]
        })
        .collect()
}

impl Solid {
    /// Convex pieces whose union is the solid's projection.
    fn pieces(&self, azimuth: f64) -> Vec<Ring> {
        match self {
            Self::Loft(balls) if balls.len() == 1 => vec![ellipse(&balls[0], azimuth)],
            Self::Loft(balls) => balls
                .windows(2)
                .map(|w| {
                    let mut points = ellipse(&w[0], azimuth);
                    points.extend(ellipse(&w[1], azimuth));
                    hull(points)
                })
                .collect(),
            Self::Block(b) => {
                let mut points = Vec::new();
                for corner in 0..8 {
                    let sign = |bit: usize| if corner >> bit & 1 == 1 { 1.0 } else { -1.0 };
                    points.push(turn([0, 1, 2].map(|k| b.at[k] + sign(k) * b.half[k]), azimuth));
                }
                vec![hull(points)]
            }
        }
    }

    /// The projection's rings.
    pub(crate) fn rings(&self, azimuth: f64) -> Vec<Ring> {
        union(&self.pieces(azimuth))
    }

    /// Depth of the point that is nearest to the viewer.
    pub(crate) fn nearest(&self, azimuth: f64) -> f64 {
        let (s, c) = azimuth.to_radians().sin_cos();
        let near =
            |b: &Ball| depth(b.at, azimuth) + ((b.half[2] * c).powi(2) + (b.half[0] * s).powi(2)).sqrt();
        match self {
            Self::Loft(balls) => balls.iter().map(near).fold(f64::MIN, f64::max),
            Self::Block(b) => depth(b.at, azimuth) + (b.half[2] * c).abs() + (b.half[0] * s).abs(),
        }
    }

    pub(crate) fn middle(&self) -> [f64; 3] {
        let balls = match self {
            Self::Loft(balls) => balls.as_slice(),
            Self::Block(b) => std::slice::from_ref(b),
        };
        [0, 1, 2].map(|k| balls.iter().map(|b| b.at[k]).sum::<f64>() / balls.len() as f64)
    }
}

/// The rings around all solids together; outer ones counter-clockwise with y up.
pub(crate) fn outline<'a>(solids: impl Iterator<Item = &'a Solid>, azimuth: f64) -> Vec<Ring> {
    union(&solids.flat_map(|s| s.pieces(azimuth)).collect::<Vec<_>>())
}

/// Union of rings that all run counter-clockwise with y up.
pub(crate) fn union(rings: &[Ring]) -> Vec<Ring> {
    rings
        .to_vec()
        .simplify_shape(FillRule::Positive)
        .into_iter()
        .flatten()
        .map(|mut ring| {
            ring.dedup();
            ring
        })
        .collect()
}

/// Convex hull, counter-clockwise with y up (Andrew 1979).
fn hull(mut points: Vec<P>) -> Ring {
    points.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    let half = |points: &mut dyn Iterator<Item = P>| {
        let mut out: Ring = Vec::new();
        for p in points {
            while out.len() > 1 {
                let (a, b) = (out[out.len() - 2], out[out.len() - 1]);
                if (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]) > 0.0 {
                    break;
                }
                out.pop();
            }
            out.push(p);
        }
        out.pop();
        out
    };
    let mut lower = half(&mut points.iter().copied());
    lower.extend(half(&mut points.iter().rev().copied()));
    lower
}
