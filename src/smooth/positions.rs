//! Positions after a step of smoothing, and on the limit surface. Every position is gathered by itself, so that the work
//! can be shared out in any way and the bytes stay the same.

use rayon::prelude::*;

use super::topology::{CHUNK, SharpEnd, Topology};
use crate::mesh::adjacency::NONE;

type Vector = [f64; 3];

#[inline]
fn add(sum: &mut Vector, p: &Vector) {
    for i in 0..3 {
        sum[i] += p[i];
    }
}

#[inline]
fn mix(a: &Vector, b: &Vector, share: f64) -> Vector {
    [0, 1, 2].map(|i| a[i] + share * (b[i] - a[i]))
}

/// Fills a list in parallel, each place from its number.
fn fill(out: &mut [Vector], each: impl Fn(usize) -> Vector + Sync) {
    out.par_chunks_mut(CHUNK).enumerate().for_each(|(i, chunk)| {
        for (k, place) in (i * CHUNK..).zip(chunk) {
            *place = each(k);
        }
    });
}

/// How the vertices of sharp edges move.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Borders {
    /// Along the curve of two sharp edges; where more meet the vertex stays (DeRose, Kass and Truong 1998).
    Curved,
    /// Not at all: sharp edges keep their straight lines.
    Straight,
}

/// Number of positions that [`refined`] gives.
pub(super) fn refined_count(topology: &Topology) -> usize {
    topology.vertex_count() + topology.edges().len() + topology.face_count()
}

/// Positions after one step, in the order of [`Topology::refined`]'s vertices; `out` has [`refined_count`] places.
pub(super) fn refined(topology: &Topology, at: &[Vector], borders: Borders, out: &mut [Vector]) {
    let (vertices, edges) = (topology.vertex_count(), topology.edges());
    let (new_vertices, rest) = out.split_at_mut(vertices);
    let (new_edges, middles) = rest.split_at_mut(edges.len());
    if topology.is_all_quads() {
        let corners = topology.corners();
        fill(middles, |f| {
            let own = &corners[4 * f..4 * f + 4];
            let mut sum = at[own[0] as usize];
            own[1..].iter().for_each(|&c| add(&mut sum, &at[c as usize]));
            sum.map(|s| 0.25 * s)
        });
    } else {
        fill(middles, |f| middle(topology, at, f));
    }
    let middles = &*middles;
    rayon::join(
        || {
            fill(new_edges, |e| {
                let [a, b] = edges[e].map(|v| &at[v as usize]);
                let corners = topology.edge_corners()[e];
                if corners[1] == NONE {
                    return mix(a, b, 0.5);
                }
                let [f, g] = corners.map(|c| &middles[topology.face_of(c as usize)]);
                [0, 1, 2].map(|i| 0.25 * ((a[i] + b[i]) + (f[i] + g[i])))
            });
            for &(e, sharpness) in topology.sharp() {
                let [a, b] = edges[e as usize].map(|v| &at[v as usize]);
                let straight = mix(a, b, 0.5);
                let place = &mut new_edges[e as usize];
                *place = if sharpness >= 1.0 {
                    straight
                } else {
                    mix(place, &straight, f64::from(sharpness))
                };
            }
        },
        || {
            if topology.is_all_quads() {
                fill(new_vertices, |v| among_quads(topology, at, middles, v));
            } else {
                fill(new_vertices, |v| plain(topology, at, middles, v));
            }
            for ends in topology.sharp_ends().chunk_by(|a, b| a.vertex == b.vertex) {
                let v = ends[0].vertex as usize;
                new_vertices[v] = held(topology, at, middles, ends, borders);
            }
        },
    );
}

fn middle(topology: &Topology, at: &[Vector], face: usize) -> Vector {
    let starts = topology.starts();
    let own = &topology.corners()[starts[face] as usize..starts[face + 1] as usize];
    let mut sum = [0.0; 3];
    own.iter().for_each(|&c| add(&mut sum, &at[c as usize]));
    let share = 1.0 / own.len() as f64;
    sum.map(|s| s * share)
}

/// A vertex without sharp edges, all its faces quads. The rule of [`plain`], with what lies beside the vertex expressed
/// by a face's middle and its opposite corner, so that less is gathered: the sum over the neighbours is half of the sum
/// over the faces of 4 middle - opposite, less n times the vertex.
#[inline]
fn among_quads(topology: &Topology, at: &[Vector], middles: &[Vector], v: usize) -> Vector {
    let (mut sum, mut opposite) = ([0.0; 3], [0.0; 3]);
    let ring = topology.ring_at(v);
    let p = &at[v];
    if ring.is_empty() {
        return *p;
    }
    for &c in ring {
        let c = c as usize;
        add(&mut sum, &middles[c >> 2]);
        // Two corners on within the same four.
        add(&mut opposite, &at[topology.corners()[c ^ 2] as usize]);
    }
    let n = ring.len() as f64;
    let share = 1.0 / n;
    [0, 1, 2].map(|i| share * (share * (3.0 * sum[i] - 0.5 * opposite[i]) + (n - 2.5) * p[i]))
}

/// A vertex without sharp edges: (F + 2R + (n - 3) P) / n, F and R the means over its faces' and its edges' middles
/// (Catmull and Clark 1978).
fn plain(topology: &Topology, at: &[Vector], middles: &[Vector], v: usize) -> Vector {
    let (mut faces, mut beside) = ([0.0; 3], [0.0; 3]);
    let ring = topology.ring_at(v);
    let p = &at[v];
    if ring.is_empty() {
        return *p;
    }
    let corners = topology.corners();
    for &c in ring {
        let c = c as usize;
        add(&mut faces, &middles[topology.face_of(c)]);
        add(&mut beside, &at[corners[topology.next(c)] as usize]);
        add(&mut beside, &at[corners[topology.before(c)] as usize]);
    }
    // Every neighbour was met twice.
    let n = ring.len() as f64;
    [0, 1, 2].map(|i| ((faces[i] + 0.5 * beside[i]) / n + (n - 2.0) * p[i]) / n)
}

/// A vertex at sharp edges (DeRose, Kass and Truong 1998; where edges of different sharpness meet as in OpenSubdiv 3).
fn held(
    topology: &Topology,
    at: &[Vector],
    middles: &[Vector],
    ends: &[SharpEnd],
    borders: Borders,
) -> Vector {
    let v = ends[0].vertex as usize;
    let p = &at[v];
    if borders == Borders::Straight {
        return *p;
    }
    // By how many of its edges stay sharp enough: none or one smooth, two along their curve, more hold the vertex.
    let by_rule = |least: f32| {
        let mut sharp = ends.iter().filter(|end| end.sharpness > least);
        match [sharp.next(), sharp.next(), sharp.next()] {
            [Some(a), Some(b), None] => {
                let [a, b] = [a, b].map(|end| &at[end.other as usize]);
                [0, 1, 2].map(|i| (6.0 * p[i] + (a[i] + b[i])) / 8.0)
            }
            [Some(_), Some(_), Some(_)] => *p,
            _ => with_odd_edges(topology, at, middles, v),
        }
    };
    // Edges whose sharpness ends with this step: by it the rule of now and the one of then are mixed.
    let fading = ends.iter().filter(|end| end.sharpness <= 1.0);
    let (count, sum) = fading.fold((0, 0.0), |(n, sum), end| (n + 1, sum + f64::from(end.sharpness)));
    if count == 0 {
        by_rule(0.0)
    } else {
        mix(&by_rule(1.0), &by_rule(0.0), sum / f64::from(count))
    }
}

/// The rule of [`plain`] at a vertex some of whose edges may have other than two faces: edges are counted one by one.
fn with_odd_edges(topology: &Topology, at: &[Vector], middles: &[Vector], v: usize) -> Vector {
    let ring = topology.ring_at(v);
    let mut own: Vec<u32> = ring
        .iter()
        .flat_map(|&c| [c as usize, topology.before(c as usize)])
        .map(|c| topology.corner_edges()[c])
        .collect();
    own.sort_unstable();
    own.dedup();
    let (mut faces, mut others) = ([0.0; 3], [0.0; 3]);
    for &c in ring {
        add(&mut faces, &middles[topology.face_of(c as usize)]);
    }
    for &e in &own {
        let [a, b] = topology.edges()[e as usize];
        add(&mut others, &at[if a as usize == v { b } else { a } as usize]);
    }
    let p = &at[v];
    let n = own.len() as f64;
    let m = ring.len() as f64;
    [0, 1, 2].map(|i| (faces[i] / m + (p[i] + others[i] / n) + (n - 3.0) * p[i]) / n)
}

/// Every vertex of an all-quad mesh moved to its place on the limit surface. What finite sharpness is left counts as none.
pub(super) fn limit(topology: &Topology, at: &[Vector], borders: Borders, out: &mut [Vector]) {
    let corners = topology.corners();
    fill(out, |v| {
        let p = &at[v];
        let ring = topology.ring_at(v);
        if ring.is_empty() {
            return *p;
        }
        let (mut near, mut across) = ([0.0; 3], [0.0; 3]);
        for &c in ring {
            let c = c as usize;
            add(&mut near, &at[corners[topology.next(c)] as usize]);
            add(&mut near, &at[corners[topology.before(c)] as usize]);
            add(&mut across, &at[corners[c ^ 2] as usize]);
        }
        let n = ring.len() as f64;
        // Every neighbour was met twice: 4 of each are 2 of each meeting.
        [0, 1, 2].map(|i| (n * n * p[i] + 2.0 * near[i] + across[i]) / (n * (n + 5.0)))
    });
    for ends in topology.sharp_ends().chunk_by(|a, b| a.vertex == b.vertex) {
        let v = ends[0].vertex as usize;
        let border: Vec<&SharpEnd> = ends.iter().filter(|end| end.sharpness.is_infinite()).collect();
        let p = &at[v];
        match border[..] {
            _ if border.is_empty() => {}
            _ if borders == Borders::Straight => out[v] = *p,
            [_] => {}
            [a, b] => {
                let [a, b] = [a, b].map(|end| &at[end.other as usize]);
                out[v] = [0, 1, 2].map(|i| (4.0 * p[i] + (a[i] + b[i])) / 6.0);
            }
            _ => out[v] = *p,
        }
    }
}
