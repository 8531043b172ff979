//! Completes a half model: mirrors it about the plane x = c on which it is open, and joins it there.
//!
//! Method: open edges are those of one face only. At the lowest and at the highest x of the mesh, the open
//! edges within the joining distance are collected; the longer collection gives the plane (one at 0 goes
//! first), c being the median of their x, weighted by length (0 where that differs from 0 by rounding only).
//! Vertices of open edges that run along the plane within the joining distance, and others of open edges that
//! are off it by rounding only, are joined: both halves use the same vertex, which keeps its position in the
//! file, except that one which is off the plane by rounding only is put onto it.
//!
//! The face (a, b, c, d) becomes (a', d', c', b'): it starts at the same corner and runs the other way round,
//! so that both fans are mirror images. Mirrored vertices follow the file's vertices, in their order;
//! mirrored faces follow the file's faces and keep their groups. A face all of whose corners are joined
//! lies in the plane, is its own image, and is not doubled.
//!
//! Assumptions: the mesh is turned upright (x across the figure). Limits: the plane is x = c; a half whose cut
//! is closed by faces has no open edge there and is refused.

use super::plane::Noted;
use super::{Extent, Mesh};
use crate::{Error, Result};

/// Vertices of open edges within this part of the mesh's largest extent of the plane are joined. The
/// thousandth is a tenth of the default tolerance of a check: a centre line drawn by hand, not snapped,
/// closes, and no error of a size that counts arises. Found by reasoning, not by trial.
const JOIN: f64 = 1e-3;
/// Offsets within this part of the largest extent are rounding: files commonly write six significant digits,
/// an error of 5e-6 of a coordinate; twice that to be safe.
const ROUNDING: f64 = 1e-5;
/// The border of a half spans at least this part of the mesh seen from the side (diagonals of the boxes).
/// The head and trunk of a figure are half of its height (crotch at 0.48 of stature, ANSUR II 2012); the
/// open wrist of an outstretched arm is less than a tenth.
const LEAST_BORDER: f64 = 0.25;
const ADVICE: &str = "leave --mirror away if the model is whole, or cut it in half at its middle";

/// Mirrors a half model and joins both halves. The mesh must be y up, facing z.
///
/// # Errors
/// If the mesh is no half: it has no open border on a plane x = c that spans it, or it lies on both sides of
/// that plane. If the whole has more vertices or corners than 32 bits can number.
pub fn mirror(mesh: Mesh) -> Result<Noted> {
    mirror_and_trace(mesh).map(|done| done.0)
}

/// As [`mirror`]; also gives for each face that was added, in order, the face whose image it is.
///
/// # Errors
/// As [`mirror`].
pub fn mirror_and_trace(mut mesh: Mesh) -> Result<(Noted, Vec<u32>)> {
    let Some(extent) = mesh.bounds_of_faces() else {
        return Err(Error::new("the mesh has no faces to mirror").advise("choose other groups"));
    };
    let border = Border::of(&mesh);
    let join = JOIN * extent.largest();
    let rounding = ROUNDING * extent.largest();
    let plane = find_plane(&mesh, &border, &extent, join, rounding)?;

    let [border_vertices, along] = border.vertices(&mesh, plane, join);
    let mut notes = Vec::new();
    let vertices = mesh.positions.len();
    let mut used = vec![false; vertices];
    mesh.corners.iter().for_each(|&v| used[v as usize] = true);
    // The vertex that takes the place of each vertex in the mirrored half.
    let mut image: Vec<u32> = (0..vertices as u32).collect();
    let (mut joined, mut loose, mut farthest) = (0_usize, 0_usize, 0.0_f64);
    for v in 0..vertices {
        if !used[v] {
            continue;
        }
        let offset = (mesh.positions[v][0] - plane).abs();
        if border_vertices[v] && offset <= if along[v] { join } else { rounding } {
            joined += 1;
            if offset <= rounding {
                mesh.positions[v][0] = plane;
            } else {
                loose += 1;
                farthest = farthest.max(offset);
            }
            continue;
        }
        image[v] = u32::try_from(mesh.positions.len()).map_err(|_| too_large())?;
        let [x, y, z] = mesh.positions[v];
        mesh.positions.push([2.0 * plane - x, y, z]);
    }
    let faces = mesh.face_count();
    let images_of = append_mirrored_faces(&mut mesh, &image)?;
    notes.push(format!(
        "mirrored {} faces about x = {plane:.6} and joined {joined} vertices of the border",
        mesh.face_count() - faces,
    ));
    if loose > 0 {
        notes.push(format!(
            "{loose} of the joined vertices are off the mirror plane, by up to {farthest:.6}; they were left in place"
        ));
    }
    Ok((Noted { mesh, notes }, images_of))
}

/// The x of the plane at which a mesh looks like one half: it is open along it and lies on one side. The mesh must be y up,
/// facing z. An open sheet may look so too.
pub fn looks_like_a_half(mesh: &Mesh) -> Option<f64> {
    let extent = mesh.bounds_of_faces()?;
    let size = extent.largest();
    find_plane(mesh, &Border::of(mesh), &extent, JOIN * size, ROUNDING * size).ok()
}

fn append_mirrored_faces(mesh: &mut Mesh, image: &[u32]) -> Result<Vec<u32>> {
    let runs: Vec<_> = mesh.group_runs().collect();
    let mut images_of = Vec::with_capacity(mesh.face_count());
    for run in runs {
        for face in run.faces {
            let corners = mesh.starts[face] as usize..mesh.starts[face + 1] as usize;
            if mesh.corners[corners.clone()]
                .iter()
                .all(|&v| image[v as usize] == v)
            {
                continue;
            }
            images_of.push(face as u32);
            mesh.start_run(run.group as u32);
            mesh.corners.push(image[mesh.corners[corners.start] as usize]);
            for corner in (corners.start + 1..corners.end).rev() {
                mesh.corners.push(image[mesh.corners[corner] as usize]);
            }
            mesh.starts
                .push(u32::try_from(mesh.corners.len()).map_err(|_| too_large())?);
        }
    }
    Ok(images_of)
}

fn too_large() -> Error {
    Error::new("the mirrored mesh has more vertices or corners than 32 bits can number")
        .advise("reduce the mesh")
}

/// The open border of a mesh.
struct Border {
    edges: Vec<[u32; 2]>,
}

impl Border {
    fn of(mesh: &Mesh) -> Self {
        // Both ends in one number, the lower vertex first: equal edges become neighbours.
        let mut keys = Vec::with_capacity(mesh.corners.len());
        for face in mesh.faces() {
            for (i, &a) in face.iter().enumerate() {
                let b = face[(i + 1) % face.len()];
                if a != b {
                    keys.push(u64::from(a.min(b)) << 32 | u64::from(a.max(b)));
                }
            }
        }
        keys.sort_unstable();
        let single = keys.chunk_by(|a, b| a == b).filter(|equal| equal.len() == 1);
        let edges: Vec<[u32; 2]> = single.map(|key| [(key[0] >> 32) as u32, key[0] as u32]).collect();
        Self { edges }
    }

    /// For each vertex, whether it is on an open edge, and whether on one that runs along the plane: within
    /// `reach` of it, and farther along than across. The vertices next to the plane of an open waist with
    /// short edges are not.
    fn vertices(&self, mesh: &Mesh, plane: f64, reach: f64) -> [Vec<bool>; 2] {
        let mut on = vec![false; mesh.positions.len()];
        let mut along = on.clone();
        for &edge in &self.edges {
            let x = edge.map(|v| mesh.positions[v as usize][0]);
            let runs_along = x.iter().all(|x| (x - plane).abs() <= reach)
                && (x[0] - x[1]).abs() <= self.length(mesh, edge);
            for v in edge {
                on[v as usize] = true;
                along[v as usize] |= runs_along;
            }
        }
        [on, along]
    }

    /// Length of an edge seen from the side.
    fn length(&self, mesh: &Mesh, edge: [u32; 2]) -> f64 {
        let [a, b] = edge.map(|v| mesh.positions[v as usize]);
        (a[1] - b[1]).hypot(a[2] - b[2])
    }

    /// The open edges within `reach` of `x`, if they span the mesh as the border of a half does.
    fn along(&self, mesh: &Mesh, extent: &Extent, x: f64, reach: f64) -> Option<Along> {
        let position = |v: u32| mesh.positions[v as usize];
        let mut weighted = Vec::new();
        let mut points = Vec::new();
        for &edge in &self.edges {
            let ends = edge.map(position);
            if ends.iter().all(|p| (p[0] - x).abs() <= reach) {
                let length = self.length(mesh, edge);
                weighted.extend(ends.map(|p| (p[0], length)));
                points.extend(ends);
            }
        }
        let diagonal = |e: &Extent| e.size()[1].hypot(e.size()[2]);
        let spans = diagonal(&Extent::around(points)?) >= LEAST_BORDER * diagonal(extent);
        spans.then(|| Along {
            length: weighted.iter().map(|w| w.1).sum(),
            median: weighted_median(weighted),
        })
    }
}

/// Open edges that run along a plane of one x.
struct Along {
    length: f64,
    /// Of the edges' x, weighted by length.
    median: f64,
}

/// The x of the mirror plane.
fn find_plane(mesh: &Mesh, border: &Border, extent: &Extent, join: f64, rounding: f64) -> Result<f64> {
    if border.edges.is_empty() {
        return Err(Error::new("the mesh is closed, it is not the half of a model").advise(ADVICE));
    }
    // A vertex that is off by the joining distance may itself be the end of the mesh.
    let ends = [extent.min[0], extent.max[0]];
    let at_ends = ends
        .iter()
        .filter_map(|&end| border.along(mesh, extent, end, 2.0 * join));
    // The middle is at 0 in most files: an end there wins over a longer open border elsewhere.
    let rank = |along: &Along| (along.median.abs() <= join, along.length);
    let longest = at_ends.reduce(|a, b| if rank(&b) > rank(&a) { b } else { a });
    // No half; where the open border lies tells why.
    let anywhere = || {
        let x = |v: u32| mesh.positions[v as usize][0];
        let level = border.edges.iter().filter(|[a, b]| (x(*a) - x(*b)).abs() <= join);
        let weighted = level
            .map(|&edge| (x(edge[0]), border.length(mesh, edge)))
            .collect();
        border.along(mesh, extent, weighted_median(weighted), 2.0 * join)
    };
    let Some(Along { median, .. }) = longest.or_else(anywhere) else {
        return Err(Error::new(
            "the mesh is not the half of a model: it has no open border along its middle",
        )
        .advise(ADVICE));
    };
    let plane = if median.abs() <= rounding { 0.0 } else { median };
    let low = plane - extent.min[0];
    let high = extent.max[0] - plane;
    if low.min(high) > join {
        return Err(Error::new(format!(
            "the mesh lies on both sides of its open border at x = {plane:.6} ({low:.6} to one side, {high:.6} to the other)"
        ))
        .advise(ADVICE));
    }
    if low.max(high) <= join {
        return Err(Error::new(format!("the mesh is flat: all of it lies at x = {plane:.6}")).advise(ADVICE));
    }
    Ok(plane)
}

/// The value at which half of the weight is reached; 0 without values.
fn weighted_median(mut weighted: Vec<(f64, f64)>) -> f64 {
    weighted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let half: f64 = weighted.iter().map(|w| w.1).sum::<f64>() / 2.0;
    let mut sum = 0.0;
    for &(value, weight) in &weighted {
        sum += weight;
        if sum >= half {
            return value;
        }
    }
    0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rings of a tube along y, cut in half: `side` 1 is the half with x >= 0. The first and the last vertex
    /// of each ring of five lie on the plane. The tube's ends are open too.
    fn half(side: f64, middle: f64) -> Mesh {
        let mut positions = Vec::new();
        let mut faces = Vec::new();
        // The quarter turns exactly, the eighths by the square root of a half.
        let s = std::f64::consts::FRAC_1_SQRT_2;
        let ring = [[0.0, 1.0], [s, s], [1.0, 0.0], [s, -s], [0.0, -1.0]];
        for level in 0..6_u32 {
            positions.extend(ring.map(|[x, z]| [middle + side * x, f64::from(level), z]));
            for i in 0..4 {
                let a = 5 * level + i;
                if level < 5 {
                    faces.push(vec![a, a + 1, a + 6, a + 5]);
                }
            }
        }
        Mesh::from_polygons(positions, faces).unwrap()
    }

    #[test]
    fn both_sides_mirror_to_a_whole_that_is_closed_along_the_middle() {
        for (side, middle) in [(1.0, 0.0), (-1.0, 0.0), (1.0, 0.5), (-1.0, -3.25)] {
            let given = half(side, middle);
            let Noted { mesh, notes } = mirror(given.clone()).unwrap();
            // 30 vertices, 12 of them on the plane; 20 faces.
            assert_eq!(mesh.positions().len(), 30 + 18);
            assert_eq!(mesh.face_count(), 40);
            assert_eq!(&mesh.positions()[..30], given.positions());
            let extent = mesh.bounds_of_faces().unwrap();
            assert_eq!((extent.min[0], extent.max[0]), (middle - 1.0, middle + 1.0));
            // Open are the two rings of eight at the ends, nothing else.
            assert_eq!(Border::of(&mesh).edges.len(), 16);
            assert_eq!(notes.len(), 1, "{notes:?}");
        }
    }

    #[test]
    fn the_mirrored_face_starts_at_the_same_corner_and_runs_the_other_way() {
        let mesh = mirror(half(1.0, 0.0)).unwrap().mesh;
        let mirrored = |v: u32| {
            let [x, y, z] = mesh.positions()[v as usize];
            [-x, y, z]
        };
        for f in 0..20 {
            let &[a, b, c, d] = mesh.face(f) else {
                panic!("quads stay quads")
            };
            let image: Vec<_> = mesh
                .face(f + 20)
                .iter()
                .map(|&v| mesh.positions()[v as usize])
                .collect();
            assert_eq!(image, [a, d, c, b].map(mirrored));
        }
        // Vertices 1, 2, 3 are off the plane and get the first new numbers; 0 and 5 are on it.
        assert_eq!(mesh.face(0), [0, 1, 6, 5]);
        assert_eq!(mesh.face(20), [0, 5, 33, 30]);
    }

    #[test]
    fn sloppy_border_vertices_are_joined_where_they_are_and_rounding_is_taken_out() {
        let mut mesh = half(1.0, 0.0);
        mesh.positions[5][0] = 0.004;
        mesh.positions[10][0] = -0.003;
        mesh.positions[15][0] = 2e-7;
        let noted = mirror(mesh).unwrap();
        assert_eq!(noted.mesh.positions().len(), 48);
        let x = |v: usize| noted.mesh.positions()[v][0];
        assert_eq!([x(5), x(10), x(15)], [0.004, -0.003, 0.0]);
        assert!(
            noted.notes[1].starts_with("2 of the joined vertices"),
            "{:?}",
            noted.notes
        );
    }

    #[test]
    fn a_fine_open_end_across_the_plane_is_not_joined_to_itself() {
        // A sheet open all around, finer across than the joining distance; the middle at 0 wins over x = 1.
        let columns = [0.0, 0.0004, 0.0008, 0.5, 1.0];
        let positions = (0..3)
            .flat_map(|y| columns.map(|x| [x, f64::from(y), 0.0]))
            .collect();
        let cells = [0_u32, 1, 2, 3, 5, 6, 7, 8];
        let mesh = Mesh::from_polygons(positions, cells.map(|a| [a, a + 1, a + 6, a + 5])).unwrap();
        let noted = mirror(mesh).unwrap();
        assert_eq!(noted.mesh.positions().len(), 15 + 12);
        assert_eq!(noted.mesh.bounds_of_faces().unwrap().min[0], -1.0);
        assert_eq!(noted.notes.len(), 1, "{:?}", noted.notes);
    }

    #[test]
    fn whole_models_are_refused() {
        let whole = mirror(half(1.0, 0.0)).unwrap().mesh;
        let message = mirror(whole.clone()).unwrap_err().to_string();
        assert!(message.contains("no open border along its middle"), "{message}");
        let tetrahedron = vec![[0.0; 3], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
        let faces = [[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]];
        let closed = Mesh::from_polygons(tetrahedron, faces).unwrap();
        assert!(mirror(closed).unwrap_err().to_string().contains("closed"));
        // A half with the far side of one face reaching across the plane.
        let mut crossing = half(1.0, 0.0);
        crossing.positions[12] = [-0.5, 2.0, 0.0];
        let message = mirror(crossing).unwrap_err().to_string();
        assert!(
            message.contains("both sides of its open border at x = 0.000000"),
            "{message}"
        );
        assert!(mirror(Mesh::default()).is_err());
        let sheet = vec![[0.0; 3], [0.0, 1.0, 0.0], [0.0, 1.0, 1.0]];
        let message = mirror(Mesh::from_polygons(sheet, [[0, 1, 2]]).unwrap())
            .unwrap_err()
            .to_string();
        assert!(message.contains("flat"), "{message}");
    }

    #[test]
    fn an_open_wrist_is_not_the_middle() {
        // The half tube with an arm that ends open at x = 4.
        let mut mesh = half(1.0, 0.0);
        let ring = [
            [4.0, 3.9, 0.1],
            [4.0, 4.1, 0.1],
            [4.0, 4.1, -0.1],
            [4.0, 3.9, -0.1],
        ];
        let foot = ring.map(|[_, y, z]| [1.0, y, z]);
        mesh.positions.extend(foot.into_iter().chain(ring));
        for i in 0..4 {
            let j = (i + 1) % 4;
            mesh.corners.extend([30 + i, 30 + j, 34 + j, 34 + i]);
            mesh.starts.push(mesh.corners.len() as u32);
        }
        let whole = mirror(mesh).unwrap().mesh;
        let extent = whole.bounds_of_faces().unwrap();
        assert_eq!((extent.min[0], extent.max[0]), (-4.0, 4.0));
    }
}
