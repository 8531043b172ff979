//! The polygon mesh: positions and faces in the order of their file, with the file's groups.
//!
//! Owns the mesh, its readers (one file a format) and what changes a mesh as a whole before anything is
//! measured (choosing groups, turning axes, mirroring a half). Knows nothing of views or pictures.

/// A polygon mesh. Every corner of every face is a valid index into `positions`, every face has at least
/// three corners, and every coordinate is finite.
#[derive(Debug, Clone, Default)]
pub struct Mesh {
    positions: Vec<[f64; 3]>,
    corners: Vec<u32>,
    /// Face `f` has the corners `starts[f]..starts[f + 1]`; one longer than the number of faces.
    starts: Vec<u32>,
    groups: Vec<Group>,
    /// `(first face, group)`: runs of faces of one group, first faces strictly increasing.
    runs: Vec<(u32, u32)>,
}

/// A named part of the file (an OBJ `o` or `g` statement).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Group {
    /// The name as the file writes it; several names of one statement are joined by blanks.
    pub name: String,
}

impl Mesh {
    /// A mesh without groups from positions and faces. Faces that the mesh cannot hold (fewer than three corners, a
    /// corner that does not exist or whose position is not finite) are left out.
    pub fn from_parts<F: AsRef<[u32]>>(positions: Vec<[f64; 3]>, faces: &[F]) -> Self {
        let mut mesh = Self {
            starts: vec![0],
            ..Self::default()
        };
        for face in faces.iter().map(AsRef::as_ref) {
            let fits = |&c: &u32| {
                positions
                    .get(c as usize)
                    .is_some_and(|p| p.iter().all(|v| v.is_finite()))
            };
            if face.len() >= 3 && face.iter().all(fits) {
                mesh.corners.extend_from_slice(face);
                mesh.starts.push(mesh.corners.len() as u32);
            }
        }
        mesh.positions = positions;
        mesh
    }

    /// Vertex positions in file order, in the file's units.
    pub fn positions(&self) -> &[[f64; 3]] {
        &self.positions
    }

    /// Number of faces.
    pub fn face_count(&self) -> usize {
        self.starts.len().saturating_sub(1)
    }

    /// The corners of one face, as indices into [`Mesh::positions`], in file order.
    ///
    /// # Panics
    /// If there is no such face.
    pub fn face(&self, face: usize) -> &[u32] {
        &self.corners[self.starts[face] as usize..self.starts[face + 1] as usize]
    }

    /// All faces in file order.
    pub fn faces(&self) -> impl ExactSizeIterator<Item = &[u32]> + '_ {
        (0..self.face_count()).map(|f| self.face(f))
    }
}
