//! Of which cage vertices, by which shares, a vertex of the smoothed surface is the sum: the rules of `positions`, read
//! backwards. For the few vertices that something is asked of; all positions are faster gathered step by step.

use std::collections::HashMap;

use super::topology::{SharpEnd, Topology};
use super::{Plan, Smoothing};
use crate::mesh::adjacency::NONE;

/// Shares of vertices, which sum to one; ascending, each vertex once.
pub type Stencil = Vec<(u32, f64)>;

impl Plan {
    /// The shares of the cage's vertices in vertices of the smoothed surface.
    ///
    /// # Panics
    /// The surface has no such vertex.
    pub fn stencils(&self, vertices: &[u32]) -> Vec<Stencil> {
        let mut rules: Vec<HashMap<u32, Stencil>> = vec![HashMap::new(); self.levels.len()];
        vertices
            .iter()
            .map(|&v| {
                let mut shares = match self.smoothing {
                    Smoothing::Limit => limit(&self.last, v),
                    Smoothing::Steps(_) => vec![(v, 1.0)],
                };
                for (level, known) in self.levels.iter().zip(&mut rules).rev() {
                    let mut before = Stencil::new();
                    for &(u, share) in &shares {
                        let rule = known.entry(u).or_insert_with(|| step(level, u));
                        add(&mut before, rule, share);
                    }
                    shares = summed(before);
                }
                shares
            })
            .collect()
    }
}

fn add(sum: &mut Stencil, shares: &Stencil, by: f64) {
    sum.extend(shares.iter().map(|&(v, s)| (v, by * s)));
}

/// Shares of which some are of one vertex, put in order.
pub(crate) fn summed(mut shares: Stencil) -> Stencil {
    shares.sort_by_key(|s| s.0);
    shares.dedup_by(|next, kept| {
        let same = next.0 == kept.0;
        if same {
            kept.1 += next.1;
        }
        same
    });
    shares
}

/// What a vertex after a step is made of.
fn step(topology: &Topology, refined: u32) -> Stencil {
    let (vertices, edges) = (topology.vertex_count(), topology.edges().len());
    let r = refined as usize;
    summed(if r < vertices {
        vertex(topology, r)
    } else if r < vertices + edges {
        edge(topology, r - vertices)
    } else {
        middle(topology, r - vertices - edges)
    })
}

fn middle(topology: &Topology, face: usize) -> Stencil {
    let starts = topology.starts();
    let own = &topology.corners()[starts[face] as usize..starts[face + 1] as usize];
    own.iter().map(|&c| (c, 1.0 / own.len() as f64)).collect()
}

fn edge(topology: &Topology, edge: usize) -> Stencil {
    let straight: Stencil = topology.edges()[edge].map(|v| (v, 0.5)).to_vec();
    let corners = topology.edge_corners()[edge];
    if corners[1] == NONE {
        return straight;
    }
    let mut smooth = Stencil::new();
    add(&mut smooth, &straight, 0.5);
    for c in corners {
        add(&mut smooth, &middle(topology, topology.face_of(c as usize)), 0.25);
    }
    let sharp = topology.sharp();
    match sharp.binary_search_by_key(&(edge as u32), |s| s.0) {
        Ok(at) => mix(&smooth, &straight, f64::from(sharp[at].1).min(1.0)),
        Err(_) => smooth,
    }
}

fn mix(a: &Stencil, b: &Stencil, share: f64) -> Stencil {
    let mut out = Stencil::new();
    add(&mut out, a, 1.0 - share);
    add(&mut out, b, share);
    out
}

fn ends_of(topology: &Topology, vertex: usize) -> &[SharpEnd] {
    let all = topology.sharp_ends();
    let first = all.partition_point(|end| (end.vertex as usize) < vertex);
    let count = all[first..].partition_point(|end| end.vertex as usize == vertex);
    &all[first..first + count]
}

fn vertex(topology: &Topology, v: usize) -> Stencil {
    let ends = ends_of(topology, v);
    let by_rule = |least: f32| {
        let sharp: Vec<u32> = ends
            .iter()
            .filter(|e| e.sharpness > least)
            .map(|e| e.other)
            .collect();
        match sharp[..] {
            [a, b] => vec![(v as u32, 0.75), (a, 0.125), (b, 0.125)],
            [_, _, _, ..] => vec![(v as u32, 1.0)],
            _ => smooth_vertex(topology, v),
        }
    };
    let fading: Vec<f64> = ends
        .iter()
        .filter(|e| e.sharpness <= 1.0)
        .map(|e| f64::from(e.sharpness))
        .collect();
    if fading.is_empty() {
        return by_rule(0.0);
    }
    let share = fading.iter().sum::<f64>() / fading.len() as f64;
    mix(&by_rule(1.0), &by_rule(0.0), share)
}

/// (F + 2R + (n - 3) P) / n, R the mean of the edges' middles.
fn smooth_vertex(topology: &Topology, v: usize) -> Stencil {
    let ring = topology.ring_at(v);
    if ring.is_empty() {
        return vec![(v as u32, 1.0)];
    }
    let mut own: Vec<u32> = ring
        .iter()
        .flat_map(|&c| [c as usize, topology.before(c as usize)])
        .map(|c| topology.corner_edges()[c])
        .collect();
    own.sort_unstable();
    own.dedup();
    let (n, m) = (own.len() as f64, ring.len() as f64);
    // Each edge's middle is half of the vertex: all of them give one P of the n - 2 that are left.
    let mut out = vec![(v as u32, (n - 2.0) / n)];
    for &e in &own {
        let [a, b] = topology.edges()[e as usize];
        out.push((if a as usize == v { b } else { a }, 1.0 / (n * n)));
    }
    for &c in ring {
        add(
            &mut out,
            &middle(topology, topology.face_of(c as usize)),
            1.0 / (n * m),
        );
    }
    out
}

/// What a vertex of an all-quad mesh is on its limit surface.
fn limit(topology: &Topology, v: u32) -> Stencil {
    let ends = ends_of(topology, v as usize);
    let border: Vec<u32> = ends
        .iter()
        .filter(|e| e.sharpness.is_infinite())
        .map(|e| e.other)
        .collect();
    let ring = topology.ring_at(v as usize);
    match border[..] {
        [a, b] => return vec![(v, 4.0 / 6.0), (a, 1.0 / 6.0), (b, 1.0 / 6.0)],
        [_, _, _, ..] => return vec![(v, 1.0)],
        _ if ring.is_empty() => return vec![(v, 1.0)],
        _ => {}
    }
    let corners = topology.corners();
    let n = ring.len() as f64;
    let whole = n * (n + 5.0);
    let mut out = vec![(v, n * n / whole)];
    for &c in ring {
        let c = c as usize;
        out.push((corners[topology.next(c)], 2.0 / whole));
        out.push((corners[topology.before(c)], 2.0 / whole));
        out.push((corners[c ^ 2], 1.0 / whole));
    }
    summed(out)
}

#[cfg(test)]
mod tests {
    use super::super::Crease;
    use super::*;
    use crate::mesh::Mesh;

    /// A block of open cubes with a triangle and a five-sided face among its quads: borders, poles, n-gons.
    fn cage() -> Mesh {
        let mut positions: Vec<[f64; 3]> = (0..27)
            .map(|i| [i % 3, i / 3 % 3, i / 9].map(|c| f64::from(c) + 0.1 * f64::from(i * i % 7)))
            .collect();
        positions.push([0.5, 2.7, 0.4]);
        let mut faces: Vec<Vec<u32>> = Vec::new();
        for z in 0..2_u32 {
            for (a, b) in [(0, 1), (1, 2), (2, 5), (5, 8), (8, 7), (7, 6), (6, 3), (3, 0)] {
                let base = 9 * z;
                faces.push(vec![base + a, base + b, base + 9 + b, base + 9 + a]);
            }
        }
        faces.extend([
            vec![0, 3, 4, 1],
            vec![1, 4, 5, 2],
            vec![3, 6, 7, 4],
            vec![4, 7, 8],
        ]);
        faces.push(vec![18, 19, 20, 23, 22]);
        faces.push(vec![6, 27, 7]);
        Mesh::from_polygons(positions, faces).unwrap()
    }

    #[test]
    fn shares_give_the_places_that_the_steps_give() {
        let cage = cage();
        let creases = [
            Crease {
                edge: [1, 4],
                sharpness: 1.5,
            },
            Crease {
                edge: [4, 7],
                sharpness: 0.3,
            },
            Crease {
                edge: [3, 4],
                sharpness: 0.7,
            },
        ];
        for smoothing in [
            Smoothing::Steps(1),
            Smoothing::Steps(2),
            Smoothing::Steps(3),
            Smoothing::Limit,
        ] {
            for creases in [&creases[..], &[]] {
                let plan = match smoothing {
                    Smoothing::Limit => Plan::limit(&cage, creases, 2_000).unwrap(),
                    _ => Plan::new(&cage, smoothing, creases).unwrap(),
                };
                let places = plan.positions(cage.positions());
                let all: Vec<u32> = (0..places.len() as u32).collect();
                for (place, shares) in places.iter().zip(plan.stencils(&all)) {
                    let sum: f64 = shares.iter().map(|s| s.1).sum();
                    assert!((sum - 1.0).abs() < 1e-12);
                    for (i, c) in place.iter().enumerate() {
                        let own: f64 = shares
                            .iter()
                            .map(|&(v, s)| s * cage.positions()[v as usize][i])
                            .sum();
                        assert!((own - c).abs() < 1e-11, "{smoothing:?}: {own} for {c}");
                    }
                }
            }
        }
    }
}
