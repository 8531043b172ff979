//! Whether a mesh can be measured at all: it has faces, and extent along at least two axes.
//!
//! A mesh that is flat in one axis still has one view to measure; a line or a point has none.

use super::Mesh;
use crate::{Error, Result};

/// An extent below this part of the largest coordinate is none: a few units in the last place of a double,
/// so that coordinates which differ by the rounding of some sums count as equal.
const NO_EXTENT: f64 = 16.0 * f64::EPSILON;

/// Largest coordinate that can be measured: products of four lengths (squared areas) stay finite below it,
/// 10^(308 / 4).
const LARGEST_COORDINATE: f64 = 1e75;

/// Checks that the mesh has faces to measure.
///
/// # Errors
/// If there is no face, if the faces have no extent along two or all axes, or if coordinates are so large
/// that areas would overflow.
pub fn check_usable(mesh: &Mesh) -> Result<()> {
    let Some(extent) = mesh.bounds_of_faces() else {
        return Err(
            Error::new("the mesh has no faces").advise("choose other groups or export the surface again")
        );
    };
    let largest = extent
        .min
        .iter()
        .chain(&extent.max)
        .fold(0.0, |m: f64, c| m.max(c.abs()));
    if largest > LARGEST_COORDINATE {
        return Err(
            Error::new(format!("the coordinates reach {largest:e}, too large to measure"))
                .advise("scale the mesh to ordinary units"),
        );
    }
    let flat: Vec<&str> = ["x", "y", "z"]
        .into_iter()
        .zip(extent.size())
        .filter_map(|(axis, size)| (size <= NO_EXTENT * largest).then_some(axis))
        .collect();
    if flat.len() >= 2 {
        return Err(
            Error::new(format!("the mesh has no extent along {}", flat.join(" and ")))
                .advise("export the whole surface, not a line or a point"),
        );
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn triangle(a: [f64; 3], b: [f64; 3], c: [f64; 3]) -> Mesh {
        Mesh::from_polygons(vec![a, b, c], [[0, 1, 2]]).unwrap()
    }

    #[test]
    fn a_line_is_refused_and_a_sheet_is_not() {
        let line = triangle([0.0; 3], [0.0, 1.0, 0.0], [0.0, 2.0, 0.0]);
        assert!(
            check_usable(&line)
                .unwrap_err()
                .to_string()
                .contains("no extent along x and z")
        );
        let point = triangle([5.0; 3], [5.0; 3], [5.0; 3]);
        assert!(
            check_usable(&point)
                .unwrap_err()
                .to_string()
                .contains("along x and y and z")
        );
        assert!(check_usable(&triangle([0.0; 3], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0])).is_ok());
        assert!(check_usable(&triangle([0.0; 3], [1e200, 0.0, 0.0], [0.0, 1.0, 0.0])).is_err());
        assert!(check_usable(&Mesh::default()).is_err());
    }
}
