//! The connected pieces of a mesh: faces that share a vertex belong to one shell.

use super::Mesh;
use crate::sets::Sets;

/// The shells of a mesh, numbered by their first face.
#[derive(Debug, Clone)]
pub struct Shells {
    of_vertex: Vec<u32>,
    first_faces: Vec<u32>,
    face_counts: Vec<u32>,
}

impl Shells {
    /// The shells of a mesh.
    pub fn of(mesh: &Mesh) -> Self {
        Self::without(mesh, |_| false)
    }

    /// The shells that the faces make which are not left out.
    pub fn without(mesh: &Mesh, left_out: impl Fn(usize) -> bool) -> Self {
        let mut sets = Sets::new(mesh.positions().len());
        let faces = || mesh.faces().enumerate().filter(|(f, _)| !left_out(*f));
        for (_, face) in faces() {
            for pair in face.windows(2) {
                sets.join(pair[0], pair[1]);
            }
        }
        let mut number = vec![super::adjacency::NONE; mesh.positions().len()];
        let (mut first_faces, mut face_counts) = (Vec::new(), Vec::new());
        for (f, face) in faces() {
            let root = sets.root(face[0]) as usize;
            if number[root] == super::adjacency::NONE {
                number[root] = first_faces.len() as u32;
                first_faces.push(f as u32);
                face_counts.push(0);
            }
            face_counts[number[root] as usize] += 1;
        }
        let of_vertex = (0..mesh.positions().len() as u32)
            .map(|v| number[sets.root(v) as usize])
            .collect();
        Self {
            of_vertex,
            first_faces,
            face_counts,
        }
    }

    /// How many there are.
    pub fn count(&self) -> usize {
        self.first_faces.len()
    }

    /// The shell of a vertex; [`NONE`](super::adjacency::NONE) where no face uses it.
    pub fn of_vertex(&self, vertex: u32) -> u32 {
        self.of_vertex[vertex as usize]
    }

    /// The first face of a shell.
    pub fn first_face(&self, shell: usize) -> u32 {
        self.first_faces[shell]
    }

    /// The number of faces of a shell.
    pub fn faces(&self, shell: usize) -> u32 {
        self.face_counts[shell]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shells_are_numbered_by_their_first_face() {
        let mesh = Mesh::from_polygons(vec![[0.0; 3]; 8], [[5, 6, 7], [0, 1, 2], [2, 3, 0]]).unwrap();
        let shells = Shells::of(&mesh);
        assert_eq!(shells.count(), 2);
        assert_eq!((shells.of_vertex(6), shells.of_vertex(3)), (0, 1));
        assert_eq!(shells.of_vertex(4), super::super::adjacency::NONE);
        assert_eq!((shells.first_face(1), shells.faces(1)), (1, 2));
    }
}
