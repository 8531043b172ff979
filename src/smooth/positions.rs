//! Positions after a step of smoothing, and on the limit surface.

use super::topology::Topology;

type Vector = [f64; 3];

fn add(sum: &mut Vector, p: &Vector) {
    for i in 0..3 {
        sum[i] += p[i];
    }
}

fn mix(a: &Vector, b: &Vector, share: f64) -> Vector {
    [0, 1, 2].map(|i| a[i] + share * (b[i] - a[i]))
}

/// The sharp edges that meet at each vertex: how many, how sharp in sum, and the sum of their other ends.
struct Sharp {
    count: Vec<u16>,
    sharpness: Vec<f32>,
    others: Vec<Vector>,
}

impl Sharp {
    fn of(topology: &Topology, at: &[Vector]) -> Self {
        let n = topology.vertex_count();
        let mut out = Self {
            count: vec![0; n],
            sharpness: vec![0.0; n],
            others: vec![[0.0; 3]; n],
        };
        for (e, &[a, b]) in topology.edges().iter().enumerate() {
            let sharpness = topology.sharpness(e);
            if sharpness > 0.0 {
                for (own, other) in [(a, b), (b, a)] {
                    let v = own as usize;
                    out.count[v] = out.count[v].saturating_add(1);
                    out.sharpness[v] += sharpness.min(1.0);
                    add(&mut out.others[v], &at[other as usize]);
                }
            }
        }
        out
    }
}

/// Positions after one step, in the order of [`Topology::refined`]'s vertices.
pub(super) fn refined(topology: &Topology, at: &[Vector]) -> Vec<Vector> {
    let (vertices, edges) = (topology.vertex_count(), topology.edges());
    let (starts, corners) = (topology.starts(), topology.corners());
    let mut faces: Vec<Vector> = Vec::with_capacity(topology.face_count());
    let mut beside_edge = vec![[0.0; 3]; edges.len()];
    // Sums over a vertex's faces and edges.
    let mut beside = vec![[0.0; 3]; vertices];
    let mut valence = vec![0u32; vertices];
    for ends in starts.windows(2) {
        let own = ends[0] as usize..ends[1] as usize;
        let mut middle = [0.0; 3];
        for &c in &corners[own.clone()] {
            add(&mut middle, &at[c as usize]);
        }
        let share = 1.0 / own.len() as f64;
        middle = middle.map(|m| m * share);
        for c in own {
            add(&mut beside[corners[c] as usize], &middle);
            add(&mut beside_edge[topology.corner_edges()[c] as usize], &middle);
        }
        faces.push(middle);
    }
    let mut along = vec![[0.0; 3]; vertices];
    let mut edge_points: Vec<Vector> = Vec::with_capacity(edges.len());
    for (e, &[a, b]) in edges.iter().enumerate() {
        let (a, b) = (a as usize, b as usize);
        let middle = mix(&at[a], &at[b], 0.5);
        for v in [a, b] {
            add(&mut along[v], &middle);
            valence[v] += 1;
        }
        let sharpness = topology.sharpness(e);
        edge_points.push(if sharpness >= 1.0 {
            middle
        } else {
            let smooth = [0, 1, 2].map(|i| (at[a][i] + at[b][i] + beside_edge[e][i]) / 4.0);
            mix(&smooth, &middle, f64::from(sharpness))
        });
    }
    let sharp = Sharp::of(topology, at);
    let mut out = Vec::with_capacity(vertices + edges.len() + faces.len());
    for v in 0..vertices {
        let p = &at[v];
        let n = f64::from(valence[v]);
        if valence[v] == 0 {
            out.push(*p);
            continue;
        }
        // (F + 2R + (n - 3) P) / n, with F and R the means over faces and edges.
        let smooth = || [0, 1, 2].map(|i| (beside[v][i] / n + 2.0 * along[v][i] / n + (n - 3.0) * p[i]) / n);
        let count = sharp.count[v];
        let held = match count {
            0 | 1 => {
                out.push(smooth());
                continue;
            }
            2 => [0, 1, 2].map(|i| (6.0 * p[i] + sharp.others[v][i]) / 8.0),
            _ => *p,
        };
        let sharpness = f64::from(sharp.sharpness[v]) / f64::from(count);
        out.push(if sharpness >= 1.0 {
            held
        } else {
            mix(&smooth(), &held, sharpness)
        });
    }
    out.extend(edge_points);
    out.extend(faces);
    out
}

/// Every vertex of an all-quad mesh moved to its place on the limit surface. What finite sharpness is left counts as none.
pub(super) fn limit(topology: &Topology, at: &[Vector]) -> Vec<Vector> {
    let n = topology.vertex_count();
    let (mut near, mut across) = (vec![[0.0; 3]; n], vec![[0.0; 3]; n]);
    let mut valence = vec![0u32; n];
    let mut border = vec![(0u32, [0.0; 3]); n];
    for (e, &[a, b]) in topology.edges().iter().enumerate() {
        for (own, other) in [(a as usize, b as usize), (b as usize, a as usize)] {
            add(&mut near[own], &at[other]);
            valence[own] += 1;
            if topology.sharpness(e).is_infinite() {
                border[own].0 += 1;
                add(&mut border[own].1, &at[other]);
            }
        }
    }
    for face in topology.corners().chunks_exact(4) {
        for k in 0..4 {
            add(&mut across[face[k] as usize], &at[face[(k + 2) % 4] as usize]);
        }
    }
    (0..n)
        .map(|v| {
            let p = &at[v];
            let m = f64::from(valence[v]);
            match border[v].0 {
                _ if valence[v] == 0 => *p,
                0 | 1 => {
                    [0, 1, 2].map(|i| (m * m * p[i] + 4.0 * near[v][i] + across[v][i]) / (m * (m + 5.0)))
                }
                2 => [0, 1, 2].map(|i| (4.0 * p[i] + border[v].1[i]) / 6.0),
                _ => *p,
            }
        })
        .collect()
}
