//! A mesh under repair: what becomes of each vertex and face of the file.

use crate::error::Result;
use crate::mesh::adjacency::NONE;
use crate::mesh::obj::rewrite::{Edits, FaceEdit};
use crate::mesh::{Mesh, UpAxis};

/// The state of a repair. Vertices and faces have the numbers of the file.
pub(super) struct Work {
    pub(super) positions: Vec<[f64; 3]>,
    pub(super) stands_for: Vec<u32>,
    pub(super) dropped: Vec<bool>,
    /// Corners of each face: which vertex of the file, and which corner it was.
    faces: Vec<Face>,
    /// Faces that are no part of the figure and stay as they are.
    aside: Vec<bool>,
    /// Vertices that must stay; `None`: all must.
    pub(super) elsewhere: Option<Vec<u32>>,
}

#[derive(Clone)]
struct Face {
    vertices: Vec<u32>,
    /// The corners that stay, in their new order; empty where nothing changed.
    order: Vec<u32>,
    dropped: bool,
}

impl Work {
    /// `kept` is `whole` with only the faces of the figure.
    pub(super) fn new(whole: &Mesh, kept: &Mesh, elsewhere: Option<Vec<u32>>) -> Self {
        let mut aside = vec![false; whole.face_count()];
        if kept.face_count() < whole.face_count() {
            let mut next = 0;
            for (f, aside) in aside.iter_mut().enumerate() {
                if next < kept.face_count() && kept.face(next) == whole.face(f) {
                    next += 1;
                } else {
                    *aside = true;
                }
            }
        }
        Self {
            positions: whole.positions().to_vec(),
            stands_for: (0..whole.positions().len() as u32).collect(),
            dropped: vec![false; whole.positions().len()],
            faces: whole
                .faces()
                .map(|f| Face {
                    vertices: f.to_vec(),
                    order: Vec::new(),
                    dropped: false,
                })
                .collect(),
            aside,
            elsewhere,
        }
    }

    /// The mesh as it is now, and for each of its faces the number in the file. Vertices keep their numbers.
    pub(super) fn mesh(&self) -> Result<(Mesh, Vec<u32>)> {
        let numbers: Vec<u32> = (0..self.faces.len() as u32)
            .filter(|&f| !self.faces[f as usize].dropped && !self.aside[f as usize])
            .collect();
        let polygons = numbers.iter().map(|&f| self.corners(f));
        Ok((Mesh::from_polygons(self.positions.clone(), polygons)?, numbers))
    }

    /// The vertices of a face as they are now.
    fn corners(&self, face: u32) -> Vec<u32> {
        let face = &self.faces[face as usize];
        let now = |v: u32| self.stands_for[v as usize];
        if face.order.is_empty() {
            face.vertices.iter().map(|&v| now(v)).collect()
        } else {
            face.order
                .iter()
                .map(|&c| now(face.vertices[c as usize]))
                .collect()
        }
    }

    pub(super) fn drop_face(&mut self, face: u32) {
        self.faces[face as usize].dropped = true;
    }

    /// Turns a face round; it keeps its first corner.
    pub(super) fn turn_face(&mut self, face: u32) {
        let face = &mut self.faces[face as usize];
        if face.order.is_empty() {
            face.order = (0..face.vertices.len() as u32).collect();
        }
        face.order[1..].reverse();
    }

    /// Takes corners out of a face that name the vertex before them again; drops it if fewer than three are left.
    /// Says whether it changed.
    pub(super) fn tidy_face(&mut self, face: u32) -> bool {
        let now = self.corners(face);
        let count = now.len();
        let stays: Vec<usize> = (0..count)
            .filter(|&i| now[i] != now[(i + count - 1) % count])
            .collect();
        if stays.len() == count {
            return false;
        }
        let face = &mut self.faces[face as usize];
        if stays.len() < 3 {
            face.dropped = true;
            return true;
        }
        let order: Vec<u32> = if face.order.is_empty() {
            (0..count as u32).collect()
        } else {
            face.order.clone()
        };
        face.order = stays.into_iter().map(|i| order[i]).collect();
        true
    }

    /// Lets a vertex be one with another one, once [`Self::weld_all`] is called.
    pub(super) fn weld_later(&mut self, vertex: u32, into: u32) {
        self.stands_for[vertex as usize] = into;
        self.dropped[vertex as usize] = true;
    }

    /// Follows welded vertices to the one that stays.
    pub(super) fn weld_all(&mut self) {
        for v in 0..self.stands_for.len() {
            let mut to = self.stands_for[v];
            while self.stands_for[to as usize] != to {
                to = self.stands_for[to as usize];
            }
            self.stands_for[v] = to;
        }
    }

    pub(super) fn face_count(&self) -> usize {
        self.faces.len()
    }

    /// Whether a face that stays names one of some vertices (ascending) in the file.
    pub(super) fn touches(&self, face: u32, vertices: &[u32]) -> bool {
        let face = &self.faces[face as usize];
        !face.dropped && face.vertices.iter().any(|v| vertices.binary_search(v).is_ok())
    }

    /// Whether a vertex must stay for something else than a face.
    pub(super) fn must_stay(&self, vertex: u32) -> bool {
        self.elsewhere
            .as_ref()
            .is_none_or(|used| used.binary_search(&vertex).is_ok())
    }

    /// Vertices that no face uses now and that are still there.
    pub(super) fn unused(&self) -> Vec<u32> {
        let mut used = self.dropped.clone();
        for f in 0..self.faces.len() as u32 {
            if !self.faces[f as usize].dropped {
                for v in self.corners(f) {
                    used[v as usize] = true;
                }
            }
        }
        (0..used.len() as u32).filter(|&v| !used[v as usize]).collect()
    }

    /// The number of each face now.
    pub(super) fn face_numbers(&self) -> Vec<Option<u32>> {
        let mut next = 0;
        self.faces
            .iter()
            .map(|f| {
                if f.dropped {
                    return None;
                }
                next += 1;
                Some(next - 1)
            })
            .collect()
    }

    /// The changes to the file. `before` are its positions: one that did not move is given back as it was.
    pub(super) fn edits(&self, up: UpAxis, before: &[[f64; 3]]) -> Edits {
        let in_file = |p: [f64; 3]| match up {
            UpAxis::Y => p,
            // The turn back of `mesh::axes`.
            UpAxis::Z => [p[0], -p[2], p[1]],
        };
        debug_assert!(self.stands_for.iter().all(|&v| v != NONE));
        Edits {
            positions: self
                .positions
                .iter()
                .zip(before)
                .map(|(p, old)| {
                    let new = in_file(*p);
                    if new == *old { *old } else { new }
                })
                .collect(),
            stands_for: self.stands_for.clone(),
            dropped: self.dropped.clone(),
            faces: self
                .faces
                .iter()
                .map(|f| match (f.dropped, f.order.is_empty()) {
                    (true, _) => FaceEdit::Drop,
                    (false, true) => FaceEdit::Keep,
                    (false, false) => FaceEdit::Corners(f.order.clone()),
                })
                .collect(),
        }
    }
}
