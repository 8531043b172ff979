//! A connected body of quads, of as many as asked for: blocks that stand with arms outstretched, their surface divided
//! evenly and rounded. Mirror halves match; the order of vertices and faces may be shuffled.
#![allow(dead_code, reason = "every benchmark uses another part of it")]

use std::collections::HashMap;

use drawntrue::mesh::Mesh;

/// Boxes of the block figure: lowest and highest corner, in blocks. They touch by whole squares only, so that every edge
/// has two faces. x across, y up, z to the viewer.
const BLOCKS: [([i32; 3], [i32; 3]); 6] = [
    // Trunk, head on its neck, arms, legs.
    ([-3, 10, 0], [3, 19, 3]),
    ([-1, 19, 1], [1, 23, 3]),
    ([-12, 16, 1], [-3, 18, 2]),
    ([3, 16, 1], [12, 18, 2]),
    ([-3, 0, 1], [-1, 10, 3]),
    ([1, 0, 1], [3, 10, 3]),
];
/// Rounds of moving each vertex half-way to the middle of its neighbours.
const ROUNDING: usize = 6;
/// Rings around limbs that are closed off, evenly spread over all of them.
const WALLS: usize = 8;

/// The surface of the block figure with each square of a block divided into `n` by `n` quads.
fn surface(n: i32) -> (Vec<[f64; 3]>, Vec<[u32; 4]>) {
    let solid = |c: [i32; 3]| {
        BLOCKS
            .iter()
            .any(|(low, high)| (0..3).all(|k| c[k] >= low[k] * n && c[k] < high[k] * n))
    };
    let mut numbers: HashMap<[i32; 3], u32> = HashMap::new();
    let (mut positions, mut faces) = (Vec::new(), Vec::new());
    // The thin shell of each box is all that can have open sides.
    for (low, high) in BLOCKS {
        let [low, high] = [low, high].map(|p| p.map(|c| c * n));
        for axis in 0..3 {
            let (u, v) = ((axis + 1) % 3, (axis + 2) % 3);
            for (layer, out) in [(low[axis], -1), (high[axis] - 1, 1)] {
                for i in low[u]..high[u] {
                    for j in low[v]..high[v] {
                        let mut cell = [0; 3];
                        (cell[axis], cell[u], cell[v]) = (layer, i, j);
                        let mut beyond = cell;
                        beyond[axis] += out;
                        if solid(beyond) {
                            continue;
                        }
                        let mut corners = [[0, 0], [1, 0], [1, 1], [0, 1]];
                        if out < 0 {
                            corners.reverse();
                        }
                        faces.push(corners.map(|[a, b]| {
                            let mut p = cell;
                            p[axis] += i32::from(out > 0);
                            p[u] += a;
                            p[v] += b;
                            *numbers.entry(p).or_insert_with(|| {
                                positions.push(p.map(|c| f64::from(c) / f64::from(n)));
                                positions.len() as u32 - 1
                            })
                        }));
                    }
                }
            }
        }
    }
    (positions, faces)
}

/// Squares of the block figure when each block is one.
fn squares() -> usize {
    surface(1).1.len()
}

fn rounded(mut positions: Vec<[f64; 3]>, faces: &[[u32; 4]]) -> Vec<[f64; 3]> {
    for _ in 0..ROUNDING {
        let mut sums = vec![([0.0; 3], 0.0); positions.len()];
        for f in faces {
            for k in 0..4 {
                for other in [f[(k + 1) % 4], f[(k + 3) % 4]] {
                    let sum = &mut sums[f[k] as usize];
                    (0..3).for_each(|i| sum.0[i] += positions[other as usize][i]);
                    sum.1 += 1.0;
                }
            }
        }
        for (p, (sum, n)) in positions.iter_mut().zip(sums) {
            *p = std::array::from_fn(|i| f64::midpoint(p[i], sum[i] / n));
        }
        // Sums in another order would leave the halves apart by rounding.
        positions
            .iter_mut()
            .for_each(|p| *p = p.map(|c| (c * 1e6).round() / 1e6));
    }
    positions
}

/// A body of about so many quads.
pub(crate) fn body(quads: usize) -> Mesh {
    let n = ((quads as f64 / squares() as f64).sqrt().round() as i32).max(1);
    let (positions, faces) = surface(n);
    let positions = rounded(positions, &faces);
    Mesh::from_polygons(positions, faces).expect("a mesh")
}

/// The same surface with vertices and faces in a random order: the worst for memory that is read in order.
pub(crate) fn shuffled(mesh: &Mesh) -> Mesh {
    let mut state = 0x9e37_79b9_7f4a_7c15u64;
    let mut order = |n: usize| {
        let mut list: Vec<u32> = (0..n as u32).collect();
        for i in (1..n).rev() {
            // xorshift64 (Marsaglia 2003)
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            list.swap(i, (state % (i as u64 + 1)) as usize);
        }
        list
    };
    let vertices = order(mesh.positions().len());
    let faces = order(mesh.face_count());
    let mut positions = vec![[0.0; 3]; vertices.len()];
    for (old, &new) in vertices.iter().enumerate() {
        positions[new as usize] = mesh.positions()[old];
    }
    let polygons = faces.iter().map(|&f| {
        let face = mesh.face(f as usize);
        face.iter().map(|&v| vertices[v as usize]).collect::<Vec<_>>()
    });
    Mesh::from_polygons(positions, polygons).expect("a mesh")
}

/// The body with faces left inside: rings around limbs that were closed off, with strips as wide as one quad.
pub(crate) fn with_walls(mesh: &Mesh) -> Mesh {
    let mut faces: Vec<Vec<u32>> = mesh.faces().map(<[u32]>::to_vec).collect();
    let p = mesh.positions();
    let table = drawntrue::mesh::adjacency::Adjacency::of(mesh);
    let spokes = table.spokes(p.len());
    let loops = drawntrue::limbs::EdgeLoops::of(mesh, &table, &spokes);
    // A ring of an arm or a leg, closed off by quads from one side of it to the other.
    let across = |loop_: &[u32]| {
        let (mut low, mut high) = ([f64::MAX; 3], [f64::MIN; 3]);
        for &v in loop_ {
            for k in 0..3 {
                low[k] = low[k].min(p[v as usize][k]);
                high[k] = high[k].max(p[v as usize][k]);
            }
        }
        high[0] - low[0] < 4.0 && high[1] - low[1] < 4.0 && high[2] - low[2] < 4.0
    };
    let rings: Vec<usize> = (0..loops.count())
        .filter(|&l| loops.closed(l) && loops.vertices(l).len() % 2 == 0 && across(loops.vertices(l)))
        .collect();
    for &l in rings.iter().step_by(rings.len() / WALLS) {
        let ring = loops.vertices(l);
        let n = ring.len();
        for i in 0..n / 2 - 1 {
            faces.push(vec![ring[i], ring[i + 1], ring[n - 2 - i], ring[n - 1 - i]]);
        }
    }
    Mesh::from_polygons(p.to_vec(), faces).expect("a mesh")
}
