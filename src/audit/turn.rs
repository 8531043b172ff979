//! Faces that run the wrong way round.
//!
//! Method: from face to face across edges of just two faces; both must run along the edge in opposite directions.
//! Each connected part is then turned outward: a closed one so that its volume is positive, an open one likewise,
//! measured from the middle of its border, where that volume counts; otherwise as most of its area is in the file.
//!
//! Limits: a closed shell that lies inside another one may be a hollow and is left as it is in the file as a whole. A
//! surface that has one side only has no right turn; such edges are counted.

use rayon::prelude::*;

use super::winding::Winding;
use crate::mesh::Mesh;
use crate::mesh::adjacency::{Adjacency, NONE};
use crate::mesh::shells::Shells;
use crate::mesh::vector::{Vector, add_scaled, cross, dot, newell, norm, sub};

/// Faces that one thread works through at a time.
const CHUNK: usize = 1 << 13;

/// An open surface's volume counts if it is at least this part of its area to the power 3/2: a hemisphere has 0.13, a
/// flat sheet none. Found by reasoning.
const LEAST_VOLUME: f64 = 0.01;

/// Faces that run the wrong way round.
#[derive(Debug, Clone, Default)]
pub(super) struct Turned {
    /// The faces, ascending.
    pub(super) faces: Vec<u32>,
    /// Edges across which no turn agrees: the surface has one side only.
    pub(super) one_sided: Vec<[u32; 2]>,
}

/// For each of some faces, in ascending order, whether it must be turned to run as most of the area of its connected part
/// does. `local` gives a face's place among them, nothing for others.
pub(super) fn alike(
    mesh: &Mesh,
    table: &Adjacency,
    faces: &[u32],
    local: impl Fn(u32) -> Option<usize>,
) -> Vec<bool> {
    let mut turned = vec![None; faces.len()];
    for start in 0..faces.len() {
        if turned[start].is_some() {
            continue;
        }
        let part = spread(mesh, table, faces, &local, start, &mut turned, &mut Vec::new());
        let area = |flag: bool| -> f64 {
            part.iter()
                .filter(|&&i| turned[i] == Some(flag))
                .map(|&i| norm(area_vector(mesh, faces[i])))
                .sum()
        };
        if area(true) > area(false) {
            for &i in &part {
                turned[i] = turned[i].map(|t| !t);
            }
        }
    }
    turned.into_iter().map(|t| t.unwrap_or(false)).collect()
}

fn area_vector(mesh: &Mesh, face: u32) -> Vector {
    let points: Vec<Vector> = mesh
        .face(face as usize)
        .iter()
        .map(|&v| mesh.positions()[v as usize])
        .collect();
    newell(&points)
}

/// Walks over a connected part and turns every face as the first one.
fn spread(
    mesh: &Mesh,
    table: &Adjacency,
    faces: &[u32],
    local: &impl Fn(u32) -> Option<usize>,
    start: usize,
    turned: &mut [Option<bool>],
    one_sided: &mut Vec<[u32; 2]>,
) -> Vec<usize> {
    turned[start] = Some(false);
    let mut part = vec![start];
    let mut next = 0;
    while let Some(&i) = part.get(next) {
        next += 1;
        let f = faces[i] as usize;
        for c in mesh.starts()[f] as usize..mesh.starts()[f + 1] as usize {
            let Some(other) = table.across(c) else { continue };
            let g = table.face_of(other as usize);
            let Some(j) = local(g) else { continue };
            // Two faces that run alike both begin the edge at the same vertex.
            let same = mesh.corners()[c] == mesh.corners()[other as usize];
            let wanted = turned[i].map(|t| t != same);
            match turned[j] {
                None => {
                    turned[j] = wanted;
                    part.push(j);
                }
                have if have != wanted && i < j => one_sided.push(table.edges()[table.edge_of(c) as usize]),
                _ => {}
            }
        }
    }
    part
}

/// The parts of a surface whose faces all run alike, each in the order of the file and the parts by their first faces:
/// its shells. Empty where some face disagrees with a neighbour, or where a shell may be more than one part: at edges of
/// more than two faces and at vertices in which surfaces touch.
fn agreed(mesh: &Mesh, table: &Adjacency, shells: &Shells, pinched: bool, faces: &[u32]) -> Vec<Vec<usize>> {
    let disagrees = |f: u32| {
        (mesh.starts()[f as usize]..mesh.starts()[f as usize + 1]).any(|c| {
            let c = c as usize;
            match table.across(c) {
                Some(other) => mesh.corners()[c] == mesh.corners()[other as usize],
                None => table.edge_of(c) != NONE && table.uses(table.edge_of(c) as usize).len() > 2,
            }
        })
    };
    if pinched
        || faces.len() < mesh.face_count()
        || faces.par_iter().with_min_len(CHUNK).any(|&f| disagrees(f))
    {
        return Vec::new();
    }
    let mut parts: Vec<Vec<usize>> = vec![Vec::new(); shells.count()];
    for (i, &f) in faces.iter().enumerate() {
        parts[shells.of_vertex(mesh.face(f as usize)[0]) as usize].push(i);
    }
    parts.retain(|p| !p.is_empty());
    parts.sort_by_key(|p| p[0]);
    parts
}

/// The faces that run the wrong way round; those that are left out take no part, `table` and `shells` must be without them.
pub(super) fn turned(
    mesh: &Mesh,
    table: &Adjacency,
    shells: &Shells,
    pinched: bool,
    left_out: impl Fn(usize) -> bool,
) -> Turned {
    let faces: Vec<u32> = (0..mesh.face_count() as u32)
        .filter(|&f| !left_out(f as usize))
        .collect();
    let mut places = vec![u32::MAX; mesh.face_count()];
    for (i, &f) in faces.iter().enumerate() {
        places[f as usize] = i as u32;
    }
    let local = |f: u32| Some(places[f as usize] as usize).filter(|&i| i < faces.len());
    let mut flags = vec![None; faces.len()];
    let mut out = Turned::default();
    let mut inverted: Vec<Vec<usize>> = Vec::new();
    let mut agreed = agreed(mesh, table, shells, pinched, &faces).into_iter();
    for start in 0..faces.len() {
        if flags[start].is_some() {
            continue;
        }
        let part = if let Some(part) = agreed.next() {
            part.iter().for_each(|&i| flags[i] = Some(false));
            part
        } else {
            spread(mesh, table, &faces, &local, start, &mut flags, &mut out.one_sided)
        };
        let flip = outward(mesh, table, &faces, &part, &flags);
        if flip {
            for &i in &part {
                flags[i] = flags[i].map(|t| !t);
            }
        }
        if part.iter().all(|&i| flags[i] == Some(true)) {
            inverted.push(part);
        }
    }
    for part in inverted {
        // A part that is wholly inside out may be the hollow of another one.
        if part.len() < faces.len() && hollow(mesh, &faces, &part) {
            for &i in &part {
                flags[i] = Some(false);
            }
        }
    }
    out.faces = faces
        .iter()
        .zip(&flags)
        .filter(|(_, t)| **t == Some(true))
        .map(|(f, _)| *f)
        .collect();
    out.one_sided.sort_unstable();
    out.one_sided.dedup();
    out
}

/// Sums over some faces of a part, added up in chunks of the file's order, so that they do not depend on the number of
/// threads.
#[derive(Clone, Copy, Default)]
struct Sums {
    /// Corners at open edges, and the sum of their positions.
    border: (usize, Vector),
    volume: f64,
    area: f64,
    turned_area: f64,
}

impl Sums {
    fn and(mut self, other: &Self) -> Self {
        self.border.0 += other.border.0;
        self.border.1 = add_scaled(self.border.1, 1.0, other.border.1);
        self.volume += other.volume;
        self.area += other.area;
        self.turned_area += other.turned_area;
        self
    }
}

/// Whether a part, turned as its flags say, has to be turned as a whole.
fn outward(mesh: &Mesh, table: &Adjacency, faces: &[u32], part: &[usize], flags: &[Option<bool>]) -> bool {
    let position = |v: u32| mesh.positions()[v as usize];
    let summed = |each: &(dyn Fn(usize) -> Sums + Sync)| -> Sums {
        let chunks: Vec<Sums> = part
            .par_chunks(CHUNK)
            .map(|chunk| chunk.iter().fold(Sums::default(), |sum, &i| sum.and(&each(i))))
            .collect();
        chunks.iter().fold(Sums::default(), Sums::and)
    };
    let border = summed(&|i| {
        let f = faces[i] as usize;
        let mut sums = Sums::default();
        for c in mesh.starts()[f] as usize..mesh.starts()[f + 1] as usize {
            let e = table.edge_of(c);
            // What has another use is the rule.
            if table.across(c).is_none() && e != NONE && table.uses(e as usize).len() == 1 {
                sums.border.0 += 1;
                sums.border.1 = add_scaled(sums.border.1, 1.0, position(mesh.corners()[c]));
            }
        }
        sums
    })
    .border;
    let closed = border.0 == 0;
    let about = if closed {
        position(mesh.face(faces[part[0]] as usize)[0])
    } else {
        border.1.map(|c| c / border.0 as f64)
    };
    let all = summed(&|i| {
        let face = mesh.face(faces[i] as usize);
        let turned = flags[i] == Some(true);
        let first = sub(position(face[0]), about);
        let mut volume = 0.0;
        let mut double_area = [0.0; 3];
        for pair in face[1..].windows(2) {
            let (b, c) = (sub(position(pair[0]), about), sub(position(pair[1]), about));
            volume += dot(first, cross(b, c)) / 6.0;
            double_area = add_scaled(double_area, 1.0, cross(sub(b, first), sub(c, first)));
        }
        let area = norm(double_area) / 2.0;
        Sums {
            volume: if turned { -volume } else { volume },
            area,
            turned_area: if turned { area } else { 0.0 },
            ..Sums::default()
        }
    });
    if all.volume.abs() >= if closed { 1e-9 } else { LEAST_VOLUME } * all.area.powf(1.5) {
        all.volume < 0.0
    } else {
        all.turned_area > all.area / 2.0
    }
}

/// Whether a part lies inside the others.
fn hollow(mesh: &Mesh, faces: &[u32], part: &[usize]) -> bool {
    let mut member = vec![false; faces.len()];
    for &i in part {
        member[i] = true;
    }
    let others = faces
        .iter()
        .enumerate()
        .filter(|(i, _)| !member[*i])
        .flat_map(|(_, &f)| {
            let face = mesh.face(f as usize);
            face[1..]
                .windows(2)
                .map(move |p| [face[0], p[0], p[1]].map(|v| mesh.positions()[v as usize]))
        });
    let surface = Winding::new(others.collect());
    let at = mesh.positions()[mesh.face(faces[part[0]] as usize)[0] as usize];
    surface.about(at).abs() > 0.5
}
