//! Who mirrors whom: partners of vertices across the plane, by connectivity.
//!
//! Method: vertices that lie in each other's image, and no other one does, are partners; so are faces of such corners. For
//! the rest a walk from pairs of faces that are known to mirror each other. Across each edge of such a pair lie two
//! faces that mirror each other too, and their corners pair off in opposite directions. The walk begins at edges of the
//! centre line, then, for shells that do not cross the plane, at faces whose corners have exact images. A first walk
//! goes only where all but one corner of a face lie near their images, so that a wrong start cannot spread; a second one
//! goes wherever vertices have no partner yet. A vertex that moved therefore keeps its partner. A vertex that pairs
//! with itself belongs on the plane, however far off it is.
//!
//! Limits: a side with other faces than the other one stops the walk; what lies behind is paired only where positions
//! agree.

use rayon::prelude::*;

use crate::mesh::Mesh;
use crate::mesh::adjacency::{Adjacency, NONE, Spokes};
use crate::mesh::near::Near;
use crate::mesh::vector::{distance, mirrored};

/// How far a corner may lie from its image to support a pair of faces in the first walk, in lengths of the face's
/// longest edge. Found by reasoning: half an edge away lies the next vertex's ground.
const NEAR: f64 = 0.5;

/// Vertices or faces that one thread works through at a time.
const CHUNK: usize = 1 << 12;

/// Partners of all vertices.
#[derive(Debug, Clone)]
pub struct Symmetry {
    /// The partner of each vertex, itself on the centre line, [`NONE`] where there is none.
    pub partner: Vec<u32>,
}

/// A face to walk from: the corner of its first vertex, and which way round.
#[derive(Debug, Clone, Copy)]
struct Way {
    face: u32,
    corner: u32,
    forward: bool,
}

struct Walk<'a> {
    mesh: &'a Mesh,
    table: &'a Adjacency,
    plane: f64,
    partner: Vec<u32>,
    face_partner: Vec<u32>,
}

/// Pairs the vertices of a mesh about a plane. `table` is without faces left inside.
pub(super) fn symmetry(
    mesh: &Mesh,
    table: &Adjacency,
    spokes: &Spokes,
    near: &Near<'_>,
    plane: f64,
    rounding: f64,
) -> Symmetry {
    let mut walk = Walk {
        mesh,
        table,
        plane,
        partner: vec![NONE; mesh.positions().len()],
        face_partner: vec![NONE; mesh.face_count()],
    };
    let on = |v: u32| (mesh.positions()[v as usize][0] - plane).abs() <= rounding;
    let mut starts: Vec<(Way, Way)> = Vec::new();
    for (e, &[a, b]) in table.edges().iter().enumerate() {
        if let &[c, d] = table.uses(e)
            && on(a)
            && on(b)
        {
            starts.push((walk.along(c, a), walk.along(d, a)));
        }
    }
    let exact = |v: u32| {
        let mut only = NONE;
        let mut many = false;
        near.each(mirrored(mesh.positions()[v as usize], plane), rounding, |i, _| {
            many |= only != NONE;
            only = i;
        });
        if many { NONE } else { only }
    };
    // Where vertices lie in each other's image, and no other one does, there is nothing to walk for.
    let images: Vec<u32> = (0..mesh.positions().len() as u32)
        .into_par_iter()
        .with_min_len(CHUNK)
        .map(exact)
        .collect();
    walk.partner
        .par_iter_mut()
        .enumerate()
        .with_min_len(CHUNK)
        .for_each(|(v, partner)| {
            let u = images[v];
            if u != NONE && images[u as usize] == v as u32 {
                *partner = u;
            }
        });
    if !walk.partner.par_iter().with_min_len(CHUNK).any(|u| *u == NONE) {
        return Symmetry {
            partner: walk.partner,
        };
    }
    drop(images);
    walk.pair_faces(spokes);
    let rim = walk.rim();
    walk.spread(rim, true);
    walk.spread(starts.clone(), true);
    // Shells beside the plane, and what the centre line did not reach.
    for face in 0..mesh.face_count() {
        if walk.face_partner[face] != NONE {
            continue;
        }
        if let Some(pair) = walk.exact_pair(face, exact) {
            walk.spread(vec![pair], true);
        }
    }
    walk.second(starts);
    // Vertices that no walk reached: a loose one, one inside a face that the other side does not have.
    for v in 0..walk.partner.len() {
        if walk.partner[v] != NONE {
            continue;
        }
        let u = exact(v as u32);
        if u != NONE && (walk.partner[u as usize] == NONE || u as usize == v) {
            walk.partner[v] = u;
            walk.partner[u as usize] = v as u32;
        }
    }
    Symmetry {
        partner: walk.partner,
    }
}

impl Walk<'_> {
    /// The face of a corner, walked so that the corner's edge is begun at `from`.
    fn along(&self, corner: u32, from: u32) -> Way {
        let face = self.table.face_of(corner as usize);
        if self.mesh.corners()[corner as usize] == from {
            Way {
                face,
                corner,
                forward: true,
            }
        } else {
            Way {
                face,
                corner: self.step(face, corner, true),
                forward: false,
            }
        }
    }

    /// The next corner of a face.
    fn step(&self, face: u32, corner: u32, forward: bool) -> u32 {
        let (from, to) = (
            self.mesh.starts()[face as usize],
            self.mesh.starts()[face as usize + 1],
        );
        match forward {
            true if corner + 1 == to => from,
            true => corner + 1,
            false if corner == from => to - 1,
            false => corner - 1,
        }
    }

    /// The corners of a way, in its order.
    fn corners(&self, way: Way) -> impl Iterator<Item = u32> + '_ {
        let count = self.mesh.face(way.face as usize).len();
        std::iter::successors(Some(way.corner), move |&c| {
            Some(self.step(way.face, c, way.forward))
        })
        .take(count)
    }

    /// A face and its image, if all corners have exact images that make a face.
    fn exact_pair(&self, face: usize, exact: impl Fn(u32) -> u32) -> Option<(Way, Way)> {
        let corners = self.mesh.face(face);
        let image = |&v: &u32| Some(exact(v)).filter(|u| *u != NONE);
        let images: Vec<u32> = corners.iter().map(image).collect::<Option<_>>()?;
        let e = self.table.between(images[0], images[1])?;
        for &c in self.table.uses(e) {
            let way = Way {
                face: face as u32,
                corner: self.mesh.starts()[face],
                forward: true,
            };
            let other = self.along(c, images[0]);
            if self
                .corners(other)
                .map(|c| self.mesh.corners()[c as usize])
                .eq(images.iter().copied())
            {
                return Some((way, other));
            }
        }
        None
    }

    /// Walks from pairs of faces; `careful` asks the corners to lie near their images.
    fn spread(&mut self, mut open: Vec<(Way, Way)>, careful: bool) {
        open.reverse();
        let (mut ca, mut cb) = (Vec::new(), Vec::new());
        while let Some((a, b)) = open.pop() {
            if self.face_partner[a.face as usize] != NONE || self.face_partner[b.face as usize] != NONE {
                continue;
            }
            if self.mesh.face(a.face as usize).len() != self.mesh.face(b.face as usize).len() {
                continue;
            }
            ca.clear();
            ca.extend(self.corners(a));
            cb.clear();
            cb.extend(self.corners(b));
            let mesh = self.mesh;
            let vertex = |c: u32| mesh.corners()[c as usize];
            let fits = ca.iter().zip(&cb).all(|(&c, &d)| {
                let (v, u) = (vertex(c), vertex(d));
                let (pv, pu) = (self.partner[v as usize], self.partner[u as usize]);
                (pv == NONE || pv == u) && (pu == NONE || pu == v)
            });
            if !fits || (careful && !self.plausible(&ca, &cb)) {
                continue;
            }
            for (&c, &d) in ca.iter().zip(&cb) {
                let (v, u) = (vertex(c), vertex(d));
                self.partner[v as usize] = u;
                self.partner[u as usize] = v;
            }
            self.face_partner[a.face as usize] = b.face;
            self.face_partner[b.face as usize] = a.face;
            self.push_neighbours(a, b, &ca, &cb, &mut open);
        }
    }

    fn push_neighbours(&self, a: Way, b: Way, ca: &[u32], cb: &[u32], open: &mut Vec<(Way, Way)>) {
        let count = ca.len();
        for k in 0..count {
            let next = (k + 1) % count;
            // The edge from the k-th to the next vertex is used by the corner that comes first in the file's turn.
            let used = |way: Way, c: &[u32]| if way.forward { c[k] } else { c[next] };
            let Some(x) = self.table.across(used(a, ca) as usize) else {
                continue;
            };
            // What was paired already needs no second look.
            if self.face_partner[self.table.face_of(x as usize) as usize] != NONE {
                continue;
            }
            let Some(y) = self.table.across(used(b, cb) as usize) else {
                continue;
            };
            let vertex = |c: u32| self.mesh.corners()[c as usize];
            open.push((self.along(x, vertex(ca[k])), self.along(y, vertex(cb[k]))));
        }
    }

    /// Whether all but one corner lie near their images.
    fn plausible(&self, ca: &[u32], cb: &[u32]) -> bool {
        let position = |c: u32| self.mesh.positions()[self.mesh.corners()[c as usize] as usize];
        let longest = (0..ca.len())
            .map(|k| distance(position(ca[k]), position(ca[(k + 1) % ca.len()])))
            .fold(0.0, f64::max);
        let far = ca
            .iter()
            .zip(cb)
            .filter(|(c, d)| distance(mirrored(position(**c), self.plane), position(**d)) > NEAR * longest)
            .count();
        far <= 1
    }

    /// Pairs the faces whose corners are all paired, where their partners make a face.
    fn pair_faces(&mut self, spokes: &Spokes) {
        let image = |f: usize| {
            let face = self.mesh.face(f);
            let partner = |k: usize| self.partner[face[k] as usize];
            if face.iter().any(|&v| self.partner[v as usize] == NONE) {
                return NONE;
            }
            let (a, b) = (partner(0), partner(1));
            let edge = spokes.of(a).iter().find(|&&e| {
                let [p, q] = self.table.edges()[e as usize];
                [p, q] == [a, b] || [q, p] == [a, b]
            });
            let along = edge.map_or(&[][..], |&e| self.table.uses(e as usize));
            let found = along.iter().find(|&&c| {
                let way = self.along(c, a);
                let corners = self.corners(way).map(|c| self.mesh.corners()[c as usize]);
                self.mesh.face(way.face as usize).len() == face.len()
                    && corners.eq(face.iter().map(|&v| self.partner[v as usize]))
            });
            found.map_or(NONE, |&c| self.table.face_of(c as usize))
        };
        // Corners of faces that were left out have no edge.
        let images: Vec<u32> = (0..self.mesh.face_count())
            .into_par_iter()
            .with_min_len(CHUNK)
            .map(image)
            .collect();
        for (f, &g) in images.iter().enumerate() {
            if g != NONE && images[g as usize] == f as u32 {
                self.face_partner[f] = g;
            }
        }
    }

    /// Pairs of faces across the edges of pairs that were found, wherever one is left.
    fn rim(&self) -> Vec<(Way, Way)> {
        let at_rim = |f: usize| {
            self.face_partner[f] != NONE
                && (self.mesh.starts()[f]..self.mesh.starts()[f + 1]).any(|c| {
                    self.table
                        .across(c as usize)
                        .is_some_and(|x| self.face_partner[self.table.face_of(x as usize) as usize] == NONE)
                })
        };
        let rim: Vec<usize> = (0..self.mesh.face_count())
            .into_par_iter()
            .with_min_len(CHUNK)
            .filter(|&f| at_rim(f))
            .collect();
        let mut open = Vec::new();
        for f in rim {
            let g = self.face_partner[f];
            let a = Way {
                face: f as u32,
                corner: self.mesh.starts()[f],
                forward: true,
            };
            let ca: Vec<u32> = self.corners(a).collect();
            let images: Vec<u32> = ca
                .iter()
                .map(|&c| self.partner[self.mesh.corners()[c as usize] as usize])
                .collect();
            let Some(e) = self.table.between(images[0], images[1]) else {
                continue;
            };
            let use_of_g = self
                .table
                .uses(e)
                .iter()
                .copied()
                .find(|&c| self.table.face_of(c as usize) == g);
            let Some(c) = use_of_g else { continue };
            let b = self.along(c, images[0]);
            let cb: Vec<u32> = self.corners(b).collect();
            self.push_neighbours(a, b, &ca, &cb, &mut open);
        }
        open
    }

    /// The second walk: from every pair of faces that was found, wherever it was stopped for distance.
    fn second(&mut self, starts: Vec<(Way, Way)>) {
        let mut open = self.rim();
        open.extend(starts);
        self.spread(open, false);
    }
}

/// How far a vertex lies from the middle of its neighbours: where one of two partners moved, it sticks out more.
pub(super) fn unevenness(mesh: &Mesh, table: &Adjacency, spokes: &Spokes, vertex: u32) -> f64 {
    let around = crate::mesh::vector::mean(
        spokes
            .neighbours(table, vertex)
            .map(|n| mesh.positions()[n as usize]),
    );
    distance(around, mesh.positions()[vertex as usize])
}
