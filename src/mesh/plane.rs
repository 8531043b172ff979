//! Leaves out drawing planes: upright flat rectangles that carry the drawing next to the model.
//!
//! Method: connected pieces of the mesh (faces that share a vertex) of few faces are tested for lying in
//! one upright plane and filling a rectangle in it. A rectangle that touches the rest of the mesh is part of
//! a surface whose faces do not share vertices, and stays. What is left and spans the figure, measured
//! without the rectangles, is a drawing plane.
//!
//! Assumptions: y is up. Limits: a cape that is one exact upright rectangle as high as the figure would be
//! taken for a drawing plane; the note says what was left out. A mesh of nothing but rectangles stays whole.

use std::collections::{HashMap, HashSet};

use super::Mesh;
use super::bounds::Extent;
use super::select::printable;

/// Faces of a drawing plane at most: a grid of 64 by 64.
const MOST_FACES: usize = 4096;
/// Distance from the plane, as a part of the piece's extent, that is rounding: files commonly write six
/// significant digits, an error of 5e-6 of a coordinate; twice that for the difference of two.
const FLATNESS: f64 = 1e-5;
/// Largest |y| of the unit normal of an upright plane: one degree off.
const UPRIGHT: f64 = 0.0175;
/// Part of its bounding rectangle that a piece at least fills. The rounding of the corners above accounts for
/// 4e-5.
const FILLED: f64 = 0.9999;
/// Part of the figure's height that a drawing plane at least reaches in height. A drawing that the figure was
/// built on is as high as the figure; a tenth is left for hair and shoes that outgrew it.
const LEAST_HEIGHT: f64 = 0.9;
/// Part of the figure's height that it at least measures across: a figure with hanging arms is about a
/// quarter of its height wide (shoulders 0.259 of stature, Drillis and Contini 1966).
const LEAST_WIDTH: f64 = 0.25;
/// Planes that get a note of their own; a person builds on two or three.
const MOST_NOTES: usize = 6;

/// A mesh and what a person should know about how it came about.
#[derive(Debug, Clone, PartialEq)]
pub struct Noted {
    /// The mesh.
    pub mesh: Mesh,
    /// Sentences without a full stop.
    pub notes: Vec<String>,
}

/// The mesh without its drawing planes, and a note on each. The mesh must be y up.
#[must_use]
pub fn leave_out_drawing_planes(mesh: Mesh) -> Noted {
    let pieces = Pieces::of(&mesh);
    let mut flat: Vec<(u32, Extent)> = Vec::new();
    for (piece, faces) in pieces.small(&mesh) {
        if let Some(extent) = upright_rectangle(&mesh, &faces) {
            flat.push((piece, extent));
        }
    }
    if flat.is_empty() {
        return Noted {
            mesh,
            notes: Vec::new(),
        };
    }
    let alone = stand_alone(&mesh, &pieces, &flat);
    let rectangles: HashSet<u32> = alone.iter().map(|(piece, _)| *piece).collect();
    let rest = mesh
        .corners()
        .iter()
        .filter(|&&v| !rectangles.contains(&pieces.lowest[v as usize]));
    let Some(figure) = Extent::around(rest.map(|&v| mesh.positions()[v as usize])) else {
        return Noted {
            mesh,
            notes: Vec::new(),
        };
    };
    let height = figure.size()[1];
    let mut planes: HashMap<u32, (usize, usize)> = alone
        .iter()
        .filter(|(_, extent)| {
            let [x, y, z] = extent.size();
            y >= LEAST_HEIGHT * height && x.hypot(z) >= LEAST_WIDTH * height
        })
        .map(|(piece, _)| (*piece, (usize::MAX, 0)))
        .collect();
    if planes.is_empty() {
        return Noted {
            mesh,
            notes: Vec::new(),
        };
    }
    let mut keep = vec![true; mesh.face_count()];
    for (face, keep) in keep.iter_mut().enumerate() {
        if let Some((first, count)) = planes.get_mut(&pieces.of_face(&mesh, face)) {
            *first = face.min(*first);
            *count += 1;
            *keep = false;
        }
    }
    let mut notes: Vec<String> = alone
        .iter()
        .filter_map(|(piece, extent)| {
            planes
                .get(piece)
                .map(|&(first, count)| note(&mesh, first, count, extent))
        })
        .take(MOST_NOTES)
        .collect();
    if planes.len() > MOST_NOTES {
        notes.push(format!(
            "left out {} more drawing planes",
            planes.len() - MOST_NOTES
        ));
    }
    Noted {
        mesh: mesh.keep_faces(&keep),
        notes,
    }
}

fn note(mesh: &Mesh, first: usize, faces: usize, extent: &Extent) -> String {
    let run = mesh.group_runs().find(|run| run.faces.contains(&first));
    let name = run.map_or("", |run| &mesh.groups()[run.group].name);
    let [x, y, z] = extent.size();
    format!(
        "left out a drawing plane: the flat rectangle in group \"{}\", {:.6} wide and {y:.6} high, {} face{}",
        printable(name),
        x.hypot(z),
        faces,
        if faces == 1 { "" } else { "s" },
    )
}

/// The connected pieces of a mesh, each named by its lowest vertex.
struct Pieces {
    /// The lowest vertex of each vertex's piece.
    lowest: Vec<u32>,
}

impl Pieces {
    fn of(mesh: &Mesh) -> Self {
        // Union-find with path halving (Tarjan and van Leeuwen 1984); the lower root wins, so roots are the
        // lowest vertices and do not depend on the order of the faces.
        let mut parent: Vec<u32> = (0..mesh.positions().len() as u32).collect();
        for face in mesh.faces() {
            let mut root = find(&mut parent, face[0]);
            for &corner in &face[1..] {
                let other = find(&mut parent, corner);
                let (low, high) = (root.min(other), root.max(other));
                parent[high as usize] = low;
                root = low;
            }
        }
        for v in 0..parent.len() as u32 {
            // Parents are lower than their children and so are roots already.
            parent[v as usize] = parent[parent[v as usize] as usize];
        }
        Self { lowest: parent }
    }

    fn of_face(&self, mesh: &Mesh, face: usize) -> u32 {
        self.lowest[mesh.face(face)[0] as usize]
    }

    /// The faces of each piece with few faces, in the order of their first faces.
    fn small(&self, mesh: &Mesh) -> Vec<(u32, Vec<usize>)> {
        let mut counts = vec![0_u32; self.lowest.len()];
        for face in 0..mesh.face_count() {
            counts[self.of_face(mesh, face) as usize] += 1;
        }
        let mut slots: HashMap<u32, usize> = HashMap::new();
        let mut small: Vec<(u32, Vec<usize>)> = Vec::new();
        for face in 0..mesh.face_count() {
            let piece = self.of_face(mesh, face);
            if counts[piece as usize] as usize > MOST_FACES {
                continue;
            }
            let slot = *slots.entry(piece).or_insert_with(|| {
                small.push((piece, Vec::new()));
                small.len() - 1
            });
            small[slot].1.push(face);
        }
        small
    }
}

fn find(parent: &mut [u32], mut v: u32) -> u32 {
    while parent[v as usize] != v {
        parent[v as usize] = parent[parent[v as usize] as usize];
        v = parent[v as usize];
    }
    v
}

/// The pieces that touch nothing but each other; a piece that touches a surface belongs to it, and so does
/// what touches that piece.
fn stand_alone(mesh: &Mesh, pieces: &Pieces, flat: &[(u32, Extent)]) -> Vec<(u32, Extent)> {
    // Positions are compared bit for bit, except that 0 and -0 are the same place.
    let key = |v: u32| mesh.positions()[v as usize].map(|c| (c + 0.0).to_bits());
    let ids: HashMap<u32, u32> = flat
        .iter()
        .zip(0..)
        .map(|((piece, _), id)| (*piece, id))
        .collect();
    let id_of = |corner: u32| ids.get(&pieces.lowest[corner as usize]).copied();
    // Rectangles that share a place are joined; one that shares a place with a surface marks them all.
    let mut joined: Vec<u32> = (0..flat.len() as u32).collect();
    let mut places: HashMap<[u64; 3], u32> = HashMap::new();
    for &corner in mesh.corners() {
        if let Some(id) = id_of(corner) {
            let there = *places.entry(key(corner)).or_insert(id);
            let (a, b) = (find(&mut joined, there), find(&mut joined, id));
            joined[a.max(b) as usize] = a.min(b);
        }
    }
    let mut attached = vec![false; flat.len()];
    for &corner in mesh.corners() {
        if id_of(corner).is_none()
            && let Some(&there) = places.get(&key(corner))
        {
            attached[find(&mut joined, there) as usize] = true;
        }
    }
    flat.iter()
        .zip(0..)
        .filter(|&(_, id)| !attached[find(&mut joined, id) as usize])
        .map(|(piece, _)| *piece)
        .collect()
}

/// The box around a piece that is an upright, flat, filled rectangle.
fn upright_rectangle(mesh: &Mesh, faces: &[usize]) -> Option<Extent> {
    let position = |v: u32| mesh.positions()[v as usize];
    let corners = || faces.iter().flat_map(|&f| mesh.face(f)).map(|&v| position(v));
    let extent = Extent::around(corners())?;
    let origin = extent.min;
    // Newell's normal (Newell 1972) of each face; its length is twice the area.
    let mut normal = [0.0; 3];
    let mut area = 0.0;
    for &f in faces {
        let n = newell(mesh.face(f).iter().map(|&v| subtract(position(v), origin)));
        // Faces of one plane may be wound either way.
        let sign = if dot(n, normal) < 0.0 { -1.0 } else { 1.0 };
        normal = [0, 1, 2].map(|k| normal[k] + sign * n[k]);
        area += dot(n, n).sqrt() / 2.0;
    }
    let length = dot(normal, normal).sqrt();
    // Also refuses a piece without area, and one whose area overflows.
    if !(length > 0.0 && length.is_finite()) {
        return None;
    }
    let normal = normal.map(|c| c / length);
    if normal[1].abs() > UPRIGHT {
        return None;
    }
    let offsets = corners().map(|p| dot(subtract(p, origin), normal));
    let (low, high) = offsets.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), d| {
        (l.min(d), h.max(d))
    });
    if high - low > FLATNESS * extent.largest() {
        return None;
    }
    // The rectangle's sides run along some edge of any of its faces (in a triangle one edge is a diagonal).
    let first = mesh.face(*faces.first()?);
    let filled = (0..first.len()).any(|i| {
        let edge = subtract(position(first[(i + 1) % first.len()]), position(first[i]));
        let size = dot(edge, edge).sqrt();
        let along = edge.map(|c| c / size);
        let across = cross(normal, along);
        let spread = |axis: [f64; 3]| {
            let along_axis = corners().map(|p| dot(subtract(p, origin), axis));
            let (l, h) = along_axis.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), d| {
                (l.min(d), h.max(d))
            });
            h - l
        };
        size > 0.0 && area >= FILLED * spread(along) * spread(across)
    });
    filled.then_some(extent)
}

fn newell(corners: impl Iterator<Item = [f64; 3]> + Clone) -> [f64; 3] {
    let next = corners.clone().skip(1).chain(corners.clone().take(1));
    corners.zip(next).fold([0.0; 3], |n, (a, b)| {
        let c = cross(a, b);
        [0, 1, 2].map(|k| n[k] + c[k])
    })
}

fn subtract(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn cross(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A closed box, 1 wide, `height` high, its corners shared (`welded`) or not.
    fn figure(height: f64, welded: bool) -> (Vec<[f64; 3]>, Vec<Vec<u32>>) {
        let corner = |i: u32| {
            [
                f64::from(i & 1),
                f64::from(i >> 1 & 1) * height,
                f64::from(i >> 2 & 1),
            ]
        };
        let sides = [
            [0, 1, 3, 2],
            [4, 6, 7, 5],
            [0, 4, 5, 1],
            [2, 3, 7, 6],
            [0, 2, 6, 4],
            [1, 5, 7, 3],
        ];
        if welded {
            return ((0..8).map(corner).collect(), sides.map(|s| s.to_vec()).to_vec());
        }
        let positions = sides.iter().flatten().map(|&i| corner(i)).collect();
        (positions, (0..6).map(|f| (4 * f..4 * f + 4).collect()).collect())
    }

    /// Adds a flat grid of `n` by `n` quads, turned by `turn` radians about the y axis.
    fn add_plane(mesh: &mut (Vec<[f64; 3]>, Vec<Vec<u32>>), width: f64, height: f64, turn: f64, n: u32) {
        let first = mesh.0.len() as u32;
        for i in 0..=n {
            for j in 0..=n {
                let along = width * f64::from(j) / f64::from(n) - 3.0;
                mesh.0.push([
                    along * turn.cos(),
                    height * f64::from(i) / f64::from(n),
                    along * turn.sin() - 5.0,
                ]);
            }
        }
        for i in 0..n {
            for j in 0..n {
                let a = first + i * (n + 1) + j;
                mesh.1.push(vec![a, a + 1, a + n + 2, a + n + 1]);
            }
        }
    }

    fn build(parts: (Vec<[f64; 3]>, Vec<Vec<u32>>)) -> Mesh {
        Mesh::from_polygons(parts.0, parts.1).unwrap()
    }

    fn left(parts: &(Vec<[f64; 3]>, Vec<Vec<u32>>)) -> (usize, usize) {
        let noted = leave_out_drawing_planes(build(parts.clone()));
        assert_eq!(noted.mesh.positions(), parts.0);
        (noted.mesh.face_count(), noted.notes.len())
    }

    #[test]
    fn rectangles_that_span_the_figure_are_left_out() {
        for welded in [true, false] {
            let mut parts = figure(4.0, welded);
            assert_eq!(left(&parts), (6, 0), "welded: {welded}");
            add_plane(&mut parts, 4.0, 4.5, 0.0, 1);
            add_plane(&mut parts, 4.0, 4.5, 0.7, 8);
            assert_eq!(left(&parts), (6, 2), "welded: {welded}");
        }
        let mut parts = figure(4.0, true);
        add_plane(&mut parts, 3.0, 4.0, 0.3, 1);
        // The same rectangle as two triangles.
        let quad = parts.1.pop().unwrap();
        parts
            .1
            .extend([vec![quad[0], quad[1], quad[2]], vec![quad[0], quad[2], quad[3]]]);
        assert_eq!(left(&parts), (6, 1));
        let notes = leave_out_drawing_planes(build(parts)).notes;
        assert!(
            notes[0].contains("\"default\"") && notes[0].contains("2 faces"),
            "{notes:?}"
        );
    }

    #[test]
    fn other_flat_parts_stay() {
        let mut low = figure(4.0, true);
        add_plane(&mut low, 4.0, 2.0, 0.0, 1);
        assert_eq!(left(&low), (7, 0));
        let mut narrow = figure(4.0, true);
        add_plane(&mut narrow, 0.5, 5.0, 0.0, 1);
        assert_eq!(left(&narrow), (7, 0));
        let mut bent = figure(4.0, true);
        add_plane(&mut bent, 4.0, 5.0, 0.0, 2);
        bent.0[8][2] += 0.1;
        assert_eq!(left(&bent), (10, 0));
        let mut slanted = figure(4.0, true);
        add_plane(&mut slanted, 4.0, 5.0, 0.0, 1);
        for p in &mut slanted.0[8..] {
            p[2] += 0.5 * p[1];
        }
        assert_eq!(left(&slanted), (7, 0));
        let mut trapezium = figure(4.0, true);
        add_plane(&mut trapezium, 4.0, 5.0, 0.0, 1);
        trapezium.0[8][0] += 1.0;
        assert_eq!(left(&trapezium), (7, 0));
        let mut only_planes = (Vec::new(), Vec::new());
        add_plane(&mut only_planes, 4.0, 5.0, 0.0, 1);
        assert_eq!(left(&only_planes), (1, 0));
    }
}
