//! The polygon mesh: positions and faces in the order of their file, with the file's groups.
//!
//! Owns the mesh, its readers (one file a format) and what changes a mesh as a whole before anything is
//! measured (choosing groups, turning axes, mirroring a half). Knows nothing of views or pictures.

pub mod adjacency;
pub mod axes;
pub mod bounds;
pub mod crossing;
pub mod formats;
pub mod mirror;
pub mod near;
pub mod obj;
pub mod plane;
pub mod prepare;
pub mod select;
pub mod shells;
pub mod stray;
pub mod usable;
pub mod vector;

pub use axes::{Axes, Heading, UpAxis};
pub use bounds::Extent;

use std::ops::Range;

use crate::{Error, Result};

/// Name of the group of faces that stand before any group statement, and of a statement without a name.
pub const DEFAULT_GROUP: &str = "default";

/// Corners that the smallest polygon has.
pub(crate) const MIN_CORNERS: usize = 3;

/// A polygon mesh.
///
/// # Guarantees
/// Every corner of every face is a valid index into the positions, every face has at least three corners,
/// every coordinate is finite, every face belongs to exactly one group. A face may name a vertex twice, and
/// a vertex may belong to no face.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Mesh {
    positions: Vec<[f64; 3]>,
    corners: Vec<u32>,
    /// Face `f` has the corners `starts[f]..starts[f + 1]`; one longer than the number of faces.
    starts: Vec<u32>,
    groups: Vec<Group>,
    /// `(first face, group)`: runs of faces of one group, first faces strictly increasing from 0.
    runs: Vec<(u32, u32)>,
}

/// A named part of the file (an OBJ `o` or `g` statement).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Group {
    /// The name as the file writes it; several names of one statement are joined by blanks.
    pub name: String,
}

/// How many faces of each kind a mesh has.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct FaceCounts {
    /// Faces with three corners.
    pub triangles: usize,
    /// Faces with four corners.
    pub quads: usize,
    /// Faces with more than four corners.
    pub ngons: usize,
}

/// A run of neighbouring faces that belong to one group.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GroupRun {
    /// Index into [`Mesh::groups`].
    pub group: usize,
    /// The faces, as indices in file order.
    pub faces: Range<usize>,
}

impl Mesh {
    /// A mesh from its parts, checked.
    ///
    /// * `positions`: vertices in the file's units.
    /// * `corners`, `starts`: face `f` has the corners `corners[starts[f]..starts[f + 1]]`, so `starts`
    ///   begins with 0, ends with the number of corners and is one longer than the number of faces (both
    ///   may be empty).
    /// * `groups`, `runs`: `(first face, group)`, first faces strictly increasing from 0. Both may be empty:
    ///   all faces then belong to a group named [`DEFAULT_GROUP`].
    ///
    /// # Errors
    /// If a guarantee of [`Mesh`] would be broken; the message names the vertex, face or run (counted from 0).
    pub fn new(
        positions: Vec<[f64; 3]>,
        corners: Vec<u32>,
        mut starts: Vec<u32>,
        mut groups: Vec<Group>,
        mut runs: Vec<(u32, u32)>,
    ) -> Result<Self> {
        if let Some(v) = positions.iter().position(|p| !p.iter().all(|c| c.is_finite())) {
            return Err(Error::new("a coordinate is not a finite number").at(format!("vertex {v}")));
        }
        if starts.is_empty() {
            starts.push(0);
        }
        if starts[0] != 0 || starts.last().map(|&e| e as usize) != Some(corners.len()) {
            return Err(Error::new("the faces do not use up the list of corners"));
        }
        for (f, ends) in starts.windows(2).enumerate() {
            if (ends[1] as usize) < ends[0] as usize + MIN_CORNERS {
                return Err(Error::new("a face has fewer than three corners").at(format!("face {f}")));
            }
        }
        if let Some(c) = corners.iter().position(|&v| v as usize >= positions.len()) {
            let face = starts.partition_point(|&s| s as usize <= c) - 1;
            let matter = format!(
                "vertex {} does not exist, there are {}",
                corners[c],
                positions.len()
            );
            return Err(Error::new(matter).at(format!("face {face}")));
        }
        let faces = starts.len() - 1;
        if runs.is_empty() && faces > 0 {
            runs.push((0, groups.len() as u32));
            groups.push(Group {
                name: DEFAULT_GROUP.into(),
            });
        }
        let sorted = runs.windows(2).all(|r| r[0].0 < r[1].0);
        let valid = runs
            .iter()
            .all(|r| (r.0 as usize) < faces && (r.1 as usize) < groups.len());
        if !sorted || !valid || runs.first().is_some_and(|r| r.0 != 0) {
            return Err(Error::new("the runs of groups do not cover the faces in order"));
        }
        Ok(Self {
            positions,
            corners,
            starts,
            groups,
            runs,
        })
    }

    /// A mesh whose faces and groups hold by the way they were made; only its positions are checked.
    ///
    /// # Errors
    /// If a coordinate is not finite.
    pub(crate) fn with_faces_known(
        positions: Vec<[f64; 3]>,
        corners: Vec<u32>,
        starts: Vec<u32>,
        groups: Vec<Group>,
        runs: Vec<(u32, u32)>,
    ) -> Result<Self> {
        use rayon::prelude::*;
        let broken = positions
            .par_iter()
            .with_min_len(1 << 14)
            .position_first(|p| !p.iter().all(|c| c.is_finite()));
        if let Some(v) = broken {
            return Err(Error::new("a coordinate is not a finite number").at(format!("vertex {v}")));
        }
        let made = Self {
            positions,
            corners,
            starts,
            groups,
            runs,
        };
        debug_assert!(
            Self::new(
                made.positions.clone(),
                made.corners.clone(),
                made.starts.clone(),
                made.groups.clone(),
                made.runs.clone()
            )
            .is_ok()
        );
        Ok(made)
    }

    /// A mesh of one group from a list of polygons, checked as in [`Mesh::new`].
    ///
    /// ```
    /// use drawntrue::mesh::Mesh;
    /// let square = [[0., 0., 0.], [1., 0., 0.], [1., 1., 0.], [0., 1., 0.]];
    /// let mesh = Mesh::from_polygons(square.to_vec(), [[0, 1, 2, 3]])?;
    /// assert_eq!(mesh.triangles().collect::<Vec<_>>(), [[0, 1, 2], [0, 2, 3]]);
    /// # Ok::<(), drawntrue::Error>(())
    /// ```
    ///
    /// # Errors
    /// As [`Mesh::new`].
    pub fn from_polygons<P: AsRef<[u32]>>(
        positions: Vec<[f64; 3]>,
        polygons: impl IntoIterator<Item = P>,
    ) -> Result<Self> {
        let (mut corners, mut starts) = (Vec::new(), vec![0]);
        for polygon in polygons {
            corners.extend_from_slice(polygon.as_ref());
            let end =
                u32::try_from(corners.len()).map_err(|_| Error::new("the mesh has too many corners"))?;
            starts.push(end);
        }
        Self::new(positions, corners, starts, Vec::new(), Vec::new())
    }

    /// Vertex positions in file order, in the file's units.
    pub fn positions(&self) -> &[[f64; 3]] {
        &self.positions
    }

    /// The corners of all faces one after the other, as indices into [`Mesh::positions`].
    pub fn corners(&self) -> &[u32] {
        &self.corners
    }

    /// Face `f` has the corners `corners()[starts()[f]..starts()[f + 1]]`. One longer than the number of
    /// faces, except that a mesh without any face may have it empty.
    pub fn starts(&self) -> &[u32] {
        &self.starts
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

    /// All faces cut into a fan from their first corner: `(a, b, c, d)` gives `(a, b, c)`, `(a, c, d)`.
    /// Corners keep their turn. A non-planar face's silhouette depends on this choice.
    pub fn triangles(&self) -> impl Iterator<Item = [u32; 3]> + '_ {
        self.faces()
            .flat_map(|face| face[1..].windows(2).map(|edge| [face[0], edge[0], edge[1]]))
    }

    /// Number of triangles that [`Mesh::triangles`] yields.
    pub fn triangle_count(&self) -> usize {
        // Each face gives two triangles fewer than it has corners.
        self.corners.len() - (MIN_CORNERS - 1) * self.face_count()
    }

    /// How many faces of each kind there are.
    pub fn face_counts(&self) -> FaceCounts {
        let mut counts = FaceCounts::default();
        for ends in self.starts.windows(2) {
            match ends[1] - ends[0] {
                3 => counts.triangles += 1,
                4 => counts.quads += 1,
                _ => counts.ngons += 1,
            }
        }
        counts
    }

    /// The groups that have (or had, before faces were left out) faces, in the order of their first face.
    pub fn groups(&self) -> &[Group] {
        &self.groups
    }

    /// The runs of faces of one group; together they are all faces in file order.
    pub fn group_runs(&self) -> impl ExactSizeIterator<Item = GroupRun> + '_ {
        (0..self.runs.len()).map(|r| {
            let end = self
                .runs
                .get(r + 1)
                .map_or(self.face_count(), |next| next.0 as usize);
            GroupRun {
                group: self.runs[r].1 as usize,
                faces: self.runs[r].0 as usize..end,
            }
        })
    }

    /// Box around all positions, whether a face uses them or not; `None` without positions.
    pub fn bounds(&self) -> Option<Extent> {
        Extent::around(self.positions.iter().copied())
    }

    /// Box around the corners of the faces: what measuring goes by; `None` without faces.
    pub fn bounds_of_faces(&self) -> Option<Extent> {
        Extent::around(self.corners.iter().map(|&v| self.positions[v as usize]))
    }

    /// The same mesh with its vertices elsewhere.
    ///
    /// # Panics
    /// If there is not one finite place for each vertex.
    #[must_use]
    pub fn moved(&self, positions: Vec<[f64; 3]>) -> Self {
        assert_eq!(positions.len(), self.positions.len(), "one place for each vertex");
        assert!(positions.iter().flatten().all(|c| c.is_finite()), "finite places");
        Self {
            positions,
            ..self.clone()
        }
    }

    /// The same mesh with only the faces whose flag is set; positions and groups stay, so that a vertex
    /// keeps the number that it has in the file. Flags that are missing count as not set.
    #[must_use]
    pub fn keep_faces(&self, keep: &[bool]) -> Self {
        let mut kept = Self {
            positions: self.positions.clone(),
            groups: self.groups.clone(),
            starts: vec![0],
            ..Self::default()
        };
        for run in self.group_runs() {
            for face in run.faces {
                if !keep.get(face).copied().unwrap_or(false) {
                    continue;
                }
                kept.start_run(run.group as u32);
                kept.corners.extend_from_slice(self.face(face));
                kept.starts.push(kept.corners.len() as u32);
            }
        }
        kept
    }

    /// The same faces over other vertices: `number` has for each vertex the one of `positions` that takes its place.
    ///
    /// # Panics
    /// A vertex has no number, or one that does not exist.
    #[must_use]
    pub(crate) fn with_vertices(&self, positions: Vec<[f64; 3]>, number: &[u32]) -> Self {
        let corners: Vec<u32> = self.corners.iter().map(|&v| number[v as usize]).collect();
        assert!(corners.iter().all(|&v| (v as usize) < positions.len()));
        Self {
            positions,
            corners,
            ..self.clone()
        }
    }

    /// The same vertices and groups with other faces: `face` has the corners of each one, `None` where it goes.
    ///
    /// # Panics
    /// A face has fewer than three corners.
    #[must_use]
    pub(crate) fn with_faces(&self, face: impl Fn(usize) -> Option<Vec<u32>>) -> Self {
        let mut out = Self {
            positions: self.positions.clone(),
            groups: self.groups.clone(),
            starts: vec![0],
            ..Self::default()
        };
        for run in self.group_runs() {
            for corners in run.faces.filter_map(&face) {
                assert!(corners.len() >= MIN_CORNERS);
                out.start_run(run.group as u32);
                out.corners.extend(corners);
                out.starts.push(out.corners.len() as u32);
            }
        }
        out
    }

    /// Lets the face that is added next belong to this group.
    fn start_run(&mut self, group: u32) {
        if self.runs.last().is_none_or(|run| run.1 != group) {
            self.runs.push((self.face_count() as u32, group));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn strip() -> Vec<[f64; 3]> {
        (0..6).map(|i| [f64::from(i), 0.0, f64::from(i % 2)]).collect()
    }

    #[test]
    fn broken_parts_are_refused() {
        let nan = vec![[0.0, f64::NAN, 0.0]; 3];
        assert!(Mesh::from_polygons(nan, [[0, 1, 2]]).is_err());
        assert!(Mesh::from_polygons(strip(), [[0, 1, 6]]).is_err());
        assert!(Mesh::from_polygons(strip(), [[0, 1]]).is_err());
        assert!(Mesh::new(strip(), vec![0, 1, 2], vec![0, 2], vec![], vec![]).is_err());
        assert!(Mesh::new(strip(), vec![0, 1, 2], vec![], vec![], vec![]).is_err());
        assert!(Mesh::new(strip(), vec![0, 1, 2], vec![0, 3], vec![], vec![(0, 0)]).is_err());
        assert!(Mesh::new(strip(), vec![0, 1, 2], vec![0, 3], vec![], vec![]).is_ok());
        let message = Mesh::from_polygons(strip(), [[0, 1, 2], [3, 4, 9]])
            .unwrap_err()
            .to_string();
        assert!(message.starts_with("face 1: vertex 9"), "{message}");
    }

    #[test]
    fn polygons_become_fans_from_their_first_corner() {
        let mesh = Mesh::from_polygons(strip(), [vec![5, 4, 3], vec![1, 2, 3, 4, 5]]).unwrap();
        let fans: Vec<_> = mesh.triangles().collect();
        assert_eq!(fans, [[5, 4, 3], [1, 2, 3], [1, 3, 4], [1, 4, 5]]);
        assert_eq!(mesh.triangle_count(), fans.len());
        assert_eq!(
            mesh.face_counts(),
            FaceCounts {
                triangles: 1,
                quads: 0,
                ngons: 1
            }
        );
    }

    #[test]
    fn dropping_faces_keeps_vertex_numbers_and_bounds_follow_the_faces() {
        let groups = ["a", "b"].map(|n| Group { name: n.into() }).to_vec();
        let corners = vec![0, 1, 2, 1, 2, 3, 3, 4, 5];
        let mesh = Mesh::new(
            strip(),
            corners,
            vec![0, 3, 6, 9],
            groups,
            vec![(0, 0), (1, 1), (2, 0)],
        )
        .unwrap();
        let kept = mesh.keep_faces(&[true, false, true]);
        assert_eq!(kept.positions(), mesh.positions());
        assert_eq!(kept.faces().collect::<Vec<_>>(), [&[0, 1, 2][..], &[3, 4, 5]]);
        assert_eq!(
            kept.group_runs().collect::<Vec<_>>(),
            [GroupRun {
                group: 0,
                faces: 0..2
            }]
        );
        let first = mesh.keep_faces(&[true]);
        assert_eq!(first.bounds_of_faces().unwrap().max, [2.0, 0.0, 1.0]);
        assert_eq!(first.bounds().unwrap().max, [5.0, 0.0, 1.0]);
        assert!(mesh.keep_faces(&[]).bounds_of_faces().is_none());
    }
}
