//! Which way is up in the file, and the turn to y up, facing +z, which everything later relies on.
//!
//! Convention for z up: the figure faces −y, and x stays to the right of the picture. The turn is the
//! quarter turn about x that takes (x, y, z) to (x, z, −y); it changes no length and no order of corners.

use serde::Serialize;

use super::Mesh;

/// Which axis of the mesh file points up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Default)]
#[serde(rename_all = "lowercase")]
pub enum UpAxis {
    /// y up, facing +z.
    #[default]
    Y,
    /// z up, facing −y.
    Z,
}

/// The mesh turned to y up, facing +z. Exact: coordinates are exchanged, none is computed.
#[must_use]
pub fn turn_upright(mut mesh: Mesh, up: UpAxis) -> Mesh {
    if up == UpAxis::Z {
        for p in &mut mesh.positions {
            *p = [p[0], p[2], -p[1]];
        }
    }
    mesh
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn z_up_facing_minus_y_becomes_y_up_facing_plus_z() {
        // Crown above the origin, tip of the nose in front of it, the picture's right hand side.
        let file = vec![[0.0, 0.0, 2.0], [0.0, -1.0, 0.0], [3.0, 0.0, 0.0]];
        let mesh = Mesh::from_polygons(file.clone(), [[0, 1, 2]]).unwrap();
        let upright = turn_upright(mesh.clone(), UpAxis::Z);
        assert_eq!(
            upright.positions(),
            [[0.0, 2.0, 0.0], [0.0, 0.0, 1.0], [3.0, 0.0, 0.0]]
        );
        assert_eq!(turn_upright(mesh, UpAxis::Y).positions(), file);
    }
}
