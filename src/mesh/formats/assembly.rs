//! A mesh being put together from what a library read: positions, faces, groups.

use crate::mesh::obj::Limits;
use crate::mesh::{Group, MIN_CORNERS, Mesh};
use crate::{Error, Result};

#[derive(Debug, Default)]
pub(super) struct Assembly {
    pub(super) positions: Vec<[f64; 3]>,
    corners: Vec<u32>,
    starts: Vec<u32>,
    groups: Vec<Group>,
    runs: Vec<(u32, u32)>,
    limit: usize,
}

impl Assembly {
    pub(super) fn new(limits: Limits) -> Self {
        Self {
            starts: vec![0],
            limit: limits.max_faces,
            ..Self::default()
        }
    }

    pub(super) fn faces(&self) -> usize {
        self.starts.len() - 1
    }

    /// Faces from here on belong to a group of this name.
    pub(super) fn group(&mut self, name: String) {
        let first = self.faces() as u32;
        let at = match self.groups.iter().position(|g| g.name == name) {
            Some(at) => at,
            None => {
                self.groups.push(Group { name });
                self.groups.len() - 1
            }
        } as u32;
        if let Some(last) = self.runs.last_mut().filter(|r| r.0 == first) {
            last.1 = at;
        } else {
            self.runs.push((first, at));
        }
    }

    /// Adds a face.
    pub(super) fn face(&mut self, corners: impl IntoIterator<Item = u32>) -> Result<()> {
        if self.faces() >= self.limit {
            return Err(too_many(self.limit));
        }
        self.corners.extend(corners);
        let before = self.starts[self.faces()] as usize;
        if self.corners.len() < before + MIN_CORNERS {
            return Err(
                Error::new("a face has fewer than three corners").at(format!("face {}", self.faces()))
            );
        }
        let end = u32::try_from(self.corners.len()).map_err(|_| too_many(self.limit))?;
        self.starts.push(end);
        Ok(())
    }

    pub(super) fn finish(mut self) -> Result<Mesh> {
        let faces = self.faces() as u32;
        if faces == 0 {
            return Err(Error::new("the file has no faces").advise("export the mesh again, with its faces"));
        }
        self.runs.retain(|r| r.0 < faces);
        Mesh::new(self.positions, self.corners, self.starts, self.groups, self.runs)
    }
}

/// The refusal of a mesh that is too large.
pub(super) fn too_many(limit: usize) -> Error {
    Error::new(format!("the mesh has more than {limit} faces")).advise("raise the limit with --max-faces")
}
