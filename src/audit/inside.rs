//! Faces left inside a surface.
//!
//! Method: a surface is cut along its edges of three faces and more into patches; without such edges none is inside.
//! A patch is inside if just off both its sides the other patches of its shell wind around the place: the faces of a
//! wall inside have the inside on either side, the faces of the hull only on one. Faces that are doubled are left out.
//! Open pieces that lie wholly inside the rest are found in the same way, but may be meant (teeth, the back of an eye).
//!
//! Source: winding numbers after Jacobson et al. 2013 (see `winding`). Limits: a patch is judged as a whole, by a
//! sample of its faces; one that leaves the surface without an edge of three faces is not found.

use rayon::prelude::*;

use super::winding::Winding;
use crate::mesh::Mesh;
use crate::mesh::adjacency::{Adjacency, NONE};
use crate::mesh::shells::Shells;
use crate::mesh::vector::{Vector, add_scaled, mean, newell, norm, unit};
use crate::sets::Sets;

/// Faces of a patch that are asked at most.
const ASKED: usize = 24;
/// Winding numbers above this are inside: halfway between outside and inside.
const INSIDE: f64 = 0.5;
/// How far off the face the place is, as a part of the square root of its area: near against the face, far against
/// rounding. Found by reasoning.
const OFF: f64 = 1e-3;
/// Share of the asked faces that must be inside: a wall may touch the hull at its rim.
const MOST: f64 = 0.75;
/// Patches of a shell at most: beyond, the surface is a heap of faces that has no inside.
const MOST_PATCHES: usize = 2000;

/// Faces inside.
pub(super) struct Inside {
    /// Hung on the surface by edges of three faces: left over.
    pub(super) left_over: Vec<u32>,
    /// Open pieces of their own that lie wholly inside.
    pub(super) loose: Vec<u32>,
}

/// Finds them; `doubled` faces take no part.
pub(super) fn inside(mesh: &Mesh, table: &Adjacency, shells: &Shells, doubled: &[bool]) -> Inside {
    let patches = Patches::of(mesh, table, doubled);
    let mut left_over = Vec::new();
    for shell in patches.split_shells(mesh, table, shells, doubled) {
        let members = patches.of_shell(mesh, shells, shell);
        if members.len() > MOST_PATCHES {
            continue;
        }
        let mut places = vec![(NONE, 0); mesh.face_count()];
        for (p, faces) in (0..).zip(&members) {
            for (i, &f) in (0..).zip(faces) {
                places[f as usize] = (p, i);
            }
        }
        let local = |patch: usize, f: u32| {
            let (p, i) = places[f as usize];
            (p as usize == patch).then_some(i as usize)
        };
        let turned: Vec<Vec<bool>> = members
            .par_iter()
            .enumerate()
            .map(|(p, m)| super::turn::alike(mesh, table, m, |f| local(p, f)))
            .collect();
        let surfaces: Vec<Winding> = members
            .par_iter()
            .zip(&turned)
            .map(|(m, t)| surface(mesh, m, t))
            .collect();
        let meetings = meetings(mesh, table, &places, &turned);
        let asked: Vec<bool> = (0..members.len())
            .into_par_iter()
            .map(|p| {
                let signs = signs(&members, &meetings, p);
                within(mesh, &members[p], |at| {
                    surfaces
                        .iter()
                        .zip(&signs)
                        .map(|(s, sign)| if *sign == 0.0 { 0.0 } else { sign * s.about(at) })
                        .sum()
                })
            })
            .collect();
        for (faces, inside) in members.iter().zip(asked) {
            if inside {
                left_over.extend(faces);
            }
        }
    }
    left_over.sort_unstable();
    let loose = loose_pieces(mesh, table, shells, &left_over);
    Inside { left_over, loose }
}

/// Whether most of some faces have the inside on both sides.
fn within(mesh: &Mesh, faces: &[u32], winding: impl Fn(Vector) -> f64) -> bool {
    let step = faces.len().div_ceil(ASKED);
    let (mut inside, mut asked) = (0_u32, 0_u32);
    for &f in faces.iter().step_by(step) {
        let points: Vec<Vector> = mesh
            .face(f as usize)
            .iter()
            .map(|&v| mesh.positions()[v as usize])
            .collect();
        let area = newell(&points);
        let Some(normal) = unit(area) else { continue };
        let off = OFF * (norm(area) / 2.0).sqrt();
        let middle = mean(points.iter().copied());
        asked += 1;
        let sides = [off, -off].map(|s| winding(add_scaled(middle, s, normal)).abs() > INSIDE);
        inside += u32::from(sides == [true, true]);
    }
    asked > 0 && f64::from(inside) >= MOST * f64::from(asked)
}

/// The patches along each edge of three faces and more, and which way each of them runs along it; each kind of meeting
/// once. `places` has each face's patch and its number there.
fn meetings(
    mesh: &Mesh,
    table: &Adjacency,
    places: &[(u32, u32)],
    turned: &[Vec<bool>],
) -> Vec<Vec<(usize, bool)>> {
    let mut out: Vec<Vec<(usize, bool)>> = (0..table.edges().len())
        .filter(|&e| table.uses(e).len() > 2)
        .map(|e| {
            let low = table.edges()[e][0];
            let along = table.uses(e).iter().filter_map(|&c| {
                let (p, i) = places[table.face_of(c as usize) as usize];
                let turned = *turned.get(p as usize)?.get(i as usize)?;
                Some((p as usize, (mesh.corners()[c as usize] == low) != turned))
            });
            let mut along: Vec<(usize, bool)> = along.collect();
            along.sort_unstable();
            along
        })
        .collect();
    out.sort_unstable();
    out.dedup();
    out
}

/// How to turn the patches so that they run on into each other once one of them is taken away: 1 or −1 for each, 0 for
/// the one. The rest is a surface of its own where it has just two faces at an edge. What does not run on into another
/// patch stays as the file turns it, and so does the largest of those that do: more likely hull than wall.
fn signs(members: &[Vec<u32>], meetings: &[Vec<(usize, bool)>], without: usize) -> Vec<f64> {
    let count = members.len();
    let mut signs = vec![0.0; count];
    let pairs: Vec<((usize, bool), (usize, bool))> = meetings
        .iter()
        .filter_map(|m| {
            let mut rest = m.iter().copied().filter(|x| x.0 != without);
            match (rest.next(), rest.next(), rest.next()) {
                (Some(a), Some(b), None) if a.0 != b.0 => Some((a, b)),
                _ => None,
            }
        })
        .collect();
    let mut starts: Vec<usize> = (0..count).filter(|&p| p != without).collect();
    starts.sort_by_key(|&p| std::cmp::Reverse(members[p].len()));
    for start in starts {
        if signs[start] != 0.0 {
            continue;
        }
        signs[start] = 1.0;
        let mut open = vec![start];
        while let Some(p) = open.pop() {
            for &(a, b) in pairs.iter().filter(|(a, b)| a.0 == p || b.0 == p) {
                let other = if a.0 == p { b.0 } else { a.0 };
                if signs[other] == 0.0 {
                    // Two faces that run alike go along their edge in opposite directions.
                    signs[other] = if a.1 == b.1 { -signs[p] } else { signs[p] };
                    open.push(other);
                }
            }
        }
    }
    signs
}

/// A patch's triangles, all turned as most of its area is in the file.
fn surface(mesh: &Mesh, faces: &[u32], turned: &[bool]) -> Winding {
    let mut triangles = Vec::with_capacity(2 * faces.len());
    for (&f, &turned) in faces.iter().zip(turned) {
        let face = mesh.face(f as usize);
        for pair in face[1..].windows(2) {
            let (b, c) = if turned {
                (pair[1], pair[0])
            } else {
                (pair[0], pair[1])
            };
            triangles.push([face[0], b, c].map(|v| mesh.positions()[v as usize]));
        }
    }
    Winding::new(triangles)
}

/// Faces joined across edges of just two faces.
struct Patches {
    of_face: Vec<u32>,
}

impl Patches {
    fn of(mesh: &Mesh, table: &Adjacency, doubled: &[bool]) -> Self {
        let mut sets = Sets::new(mesh.face_count());
        for e in 0..table.edges().len() {
            let mut faces = table.faces(e).filter(|&f| !doubled[f as usize]);
            if let (Some(a), Some(b), None) = (faces.next(), faces.next(), faces.next()) {
                sets.join(a, b);
            }
        }
        let of_face = (0..mesh.face_count() as u32)
            .map(|f| if doubled[f as usize] { NONE } else { sets.root(f) })
            .collect();
        Self { of_face }
    }

    /// Shells that have edges of three faces.
    fn split_shells(&self, mesh: &Mesh, table: &Adjacency, shells: &Shells, doubled: &[bool]) -> Vec<u32> {
        let mut found: Vec<u32> = (0..table.edges().len())
            .filter(|&e| table.uses(e).len() > 2)
            .filter(|&e| table.faces(e).filter(|&f| !doubled[f as usize]).count() > 2)
            .map(|e| shells.of_vertex(table.edges()[e][0]))
            .collect();
        found.sort_unstable();
        found.dedup();
        debug_assert!(self.of_face.len() == mesh.face_count());
        found
    }

    /// The faces of a shell's patches.
    fn of_shell(&self, mesh: &Mesh, shells: &Shells, shell: u32) -> Vec<Vec<u32>> {
        let mut keyed: Vec<(u32, u32)> = (0..mesh.face_count() as u32)
            .filter(|&f| self.of_face[f as usize] != NONE)
            .filter(|&f| shells.of_vertex(mesh.face(f as usize)[0]) == shell)
            .map(|f| (self.of_face[f as usize], f))
            .collect();
        keyed.sort_unstable();
        keyed
            .chunk_by(|a, b| a.0 == b.0)
            .map(|c| c.iter().map(|k| k.1).collect())
            .collect()
    }
}

/// Open shells of which every asked face lies inside the closed ones.
fn loose_pieces(mesh: &Mesh, table: &Adjacency, shells: &Shells, left_over: &[u32]) -> Vec<u32> {
    if shells.count() < 2 {
        return Vec::new();
    }
    let mut open = vec![false; shells.count()];
    for e in 0..table.edges().len() {
        if table.uses(e).len() == 1 {
            open[shells.of_vertex(table.edges()[e][0]) as usize] = true;
        }
    }
    if !open.contains(&true) || !open.contains(&false) {
        return Vec::new();
    }
    let mut members: Vec<Vec<u32>> = vec![Vec::new(); shells.count()];
    for (f, face) in mesh.faces().enumerate() {
        if left_over.binary_search(&(f as u32)).is_err() {
            members[shells.of_vertex(face[0]) as usize].push(f as u32);
        }
    }
    let mut closed: Vec<u32> = (0..shells.count())
        .filter(|&s| !open[s])
        .flat_map(|s| members[s].clone())
        .collect();
    closed.sort_unstable();
    let turned = super::turn::alike(mesh, table, &closed, |f| closed.binary_search(&f).ok());
    let hull = surface(mesh, &closed, &turned);
    let mut found: Vec<u32> = (0..shells.count())
        .filter(|&s| open[s] && within(mesh, &members[s], |at| hull.about(at)))
        .flat_map(|s| members[s].clone())
        .collect();
    found.sort_unstable();
    found
}
