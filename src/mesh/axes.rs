//! Which way the mesh stands and looks in its file, and the turn to y up, facing +z, which everything later relies on.
//!
//! Usual for y up: the figure faces +z. Usual for z up: the figure faces −y, and x stays to the right of the picture. Both
//! turns change no length and no order of corners. First z is brought up by the quarter turn about x that takes
//! (x, y, z) to (x, z, −y), then the figure is turned about y in quarter turns until it faces +z.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::Mesh;

/// Which axis of the mesh file points up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, Default)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
pub enum UpAxis {
    /// y up, usually facing +z.
    #[default]
    Y,
    /// z up, usually facing −y.
    Z,
}

/// The axis of the mesh file along which the figure looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[allow(missing_docs, reason = "the names say it")]
pub enum Heading {
    #[serde(rename = "x")]
    X,
    #[serde(rename = "-x")]
    MinusX,
    #[serde(rename = "y")]
    Y,
    #[serde(rename = "-y")]
    MinusY,
    #[serde(rename = "z")]
    Z,
    #[serde(rename = "-z")]
    MinusZ,
}

impl Heading {
    /// The axis of a name: `x`, `+x` or `-x` and so on.
    pub fn parse(text: &str) -> Option<Self> {
        Some(match text.strip_prefix('+').unwrap_or(text) {
            "x" => Self::X,
            "-x" => Self::MinusX,
            "y" => Self::Y,
            "-y" => Self::MinusY,
            "z" => Self::Z,
            "-z" => Self::MinusZ,
            _ => return None,
        })
    }

    /// The opposite way.
    #[must_use]
    pub fn back(self) -> Self {
        match self {
            Self::X => Self::MinusX,
            Self::MinusX => Self::X,
            Self::Y => Self::MinusY,
            Self::MinusY => Self::Y,
            Self::Z => Self::MinusZ,
            Self::MinusZ => Self::Z,
        }
    }
}

impl fmt::Display for Heading {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::X => "x",
            Self::MinusX => "-x",
            Self::Y => "y",
            Self::MinusY => "-y",
            Self::Z => "z",
            Self::MinusZ => "-z",
        })
    }
}

/// Which way a mesh stands and looks. A figure never looks along the axis that points up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Axes {
    up: UpAxis,
    facing: Heading,
}

impl Axes {
    /// The axes that are meant; `None` where the figure would look straight up or down.
    pub fn new(up: UpAxis, facing: Heading) -> Option<Self> {
        let along = match up {
            UpAxis::Y => [Heading::Y, Heading::MinusY],
            UpAxis::Z => [Heading::Z, Heading::MinusZ],
        };
        (!along.contains(&facing)).then_some(Self { up, facing })
    }

    /// What is usual for an axis that points up.
    pub fn usual(up: UpAxis) -> Self {
        Self {
            up,
            facing: match up {
                UpAxis::Y => Heading::Z,
                UpAxis::Z => Heading::MinusY,
            },
        }
    }

    /// The axis that points up.
    pub fn up(self) -> UpAxis {
        self.up
    }

    /// The axis that the figure looks along.
    pub fn facing(self) -> Heading {
        self.facing
    }

    /// The figure turned about.
    #[must_use]
    pub fn about(self) -> Self {
        Self {
            facing: self.facing.back(),
            ..self
        }
    }
}

impl Default for Axes {
    fn default() -> Self {
        Self::usual(UpAxis::Y)
    }
}

impl fmt::Display for Axes {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let up = match self.up {
            UpAxis::Y => "y",
            UpAxis::Z => "z",
        };
        write!(f, "{up} up facing {}", self.facing)
    }
}

/// The mesh turned to y up, facing +z. Exact: coordinates are exchanged and change sign, none is computed.
#[must_use]
pub fn turn_upright(mut mesh: Mesh, axes: Axes) -> Mesh {
    if axes == Axes::default() {
        return mesh;
    }
    for p in &mut mesh.positions {
        *p = upright(*p, axes);
    }
    mesh
}

/// A place of the file, turned upright.
fn upright(p: [f64; 3], axes: Axes) -> [f64; 3] {
    // Where the heading lies once z is up: (x, y, z) to (x, z, −y).
    let heading = match (axes.up, axes.facing) {
        (UpAxis::Z, Heading::Y) => Heading::MinusZ,
        (UpAxis::Z, Heading::MinusY) => Heading::Z,
        (_, other) => other,
    };
    let [x, y, z] = match axes.up {
        UpAxis::Y => p,
        UpAxis::Z => [p[0], p[2], -p[1]],
    };
    match heading {
        Heading::X => [-z, y, x],
        Heading::MinusX => [z, y, -x],
        Heading::MinusZ => [-x, y, -z],
        _ => [x, y, z],
    }
}

/// The place in the file of a place of the upright mesh: the turn back.
pub fn turn_back(p: [f64; 3], axes: Axes) -> [f64; 3] {
    // The rows of a turn are where its inverse takes the axes from.
    let unit = |k: usize| {
        let mut e = [0.0; 3];
        e[k] = 1.0;
        upright(e, axes)
    };
    let dot = |a: [f64; 3]| a[0] * p[0] + a[1] * p[1] + a[2] * p[2];
    [dot(unit(0)), dot(unit(1)), dot(unit(2))]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn z_up_facing_minus_y_becomes_y_up_facing_plus_z() {
        // Crown above the origin, tip of the nose in front of it, the picture's right hand side.
        let file = vec![[0.0, 0.0, 2.0], [0.0, -1.0, 0.0], [3.0, 0.0, 0.0]];
        let mesh = Mesh::from_polygons(file.clone(), [[0, 1, 2]]).unwrap();
        let upright = turn_upright(mesh.clone(), Axes::usual(UpAxis::Z));
        assert_eq!(
            upright.positions(),
            [[0.0, 2.0, 0.0], [0.0, 0.0, 1.0], [3.0, 0.0, 0.0]]
        );
        let back: Vec<[f64; 3]> = upright
            .positions()
            .iter()
            .map(|p| turn_back(*p, Axes::usual(UpAxis::Z)))
            .collect();
        assert_eq!(back, file);
        assert_eq!(turn_upright(mesh, Axes::default()).positions(), file);
    }

    /// Every way a figure can stand and look: its crown ends up at +y, its nose at +z, and right stays right (the
    /// determinant of the turn is 1, so no figure is mirrored).
    #[test]
    fn crown_nose_and_hand_land_where_they_belong() {
        use Heading::{MinusX, MinusY, MinusZ, X, Y, Z};
        let axis = |h: Heading| match h {
            X => [1.0, 0.0, 0.0],
            MinusX => [-1.0, 0.0, 0.0],
            Y => [0.0, 1.0, 0.0],
            MinusY => [0.0, -1.0, 0.0],
            Z => [0.0, 0.0, 1.0],
            MinusZ => [0.0, 0.0, -1.0],
        };
        let cross = |a: [f64; 3], b: [f64; 3]| {
            [
                a[1] * b[2] - a[2] * b[1],
                a[2] * b[0] - a[0] * b[2],
                a[0] * b[1] - a[1] * b[0],
            ]
        };
        let mut seen = 0;
        for (up, crown) in [(UpAxis::Y, [0.0, 1.0, 0.0]), (UpAxis::Z, [0.0, 0.0, 1.0])] {
            for facing in [X, MinusX, Y, MinusY, Z, MinusZ] {
                let Some(axes) = Axes::new(up, facing) else {
                    continue;
                };
                let nose = axis(facing);
                let mesh = Mesh::from_polygons(vec![crown, nose, cross(crown, nose)], [[0, 1, 2]]).unwrap();
                let turned = turn_upright(mesh, axes);
                let expected = [[0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0]];
                for (p, e) in turned.positions().iter().zip(expected) {
                    assert!((0..3).all(|k| p[k] == e[k]), "{axes}: {p:?} is not {e:?}");
                }
                seen += 1;
            }
        }
        assert_eq!(seen, 8);
    }
}
