//! Meshes of known shape for tests. Corners are numbered as a modeller would; all shapes are inscribed: their vertices
//! lie on the true surface.
#![allow(dead_code, reason = "every test file uses another part of it")]

use std::f64::consts::{PI, TAU};

use drawntrue::mesh::Mesh;

/// Corner of a closed grid of quads.
fn at(i: usize, j: usize, columns: usize) -> u32 {
    (i * columns + j % columns) as u32
}

/// A surface of revolution-like grid: `rows` open, `columns` closed, point `(i, j)` from `place`, both ends closed by fans.
fn closed_tube(
    rows: usize,
    columns: usize,
    place: impl Fn(usize, usize) -> [f64; 3],
    ends: [[f64; 3]; 2],
) -> Mesh {
    let mut positions: Vec<[f64; 3]> = (0..rows * columns)
        .map(|n| place(n / columns, n % columns))
        .collect();
    let mut faces: Vec<Vec<u32>> = Vec::new();
    for i in 0..rows - 1 {
        for j in 0..columns {
            faces.push(vec![
                at(i, j, columns),
                at(i, j + 1, columns),
                at(i + 1, j + 1, columns),
                at(i + 1, j, columns),
            ]);
        }
    }
    for (end, row) in [(0, 0), (1, rows - 1)] {
        let apex = positions.len() as u32;
        positions.push(ends[end]);
        for j in 0..columns {
            faces.push(vec![apex, at(row, j, columns), at(row, j + 1, columns)]);
        }
    }
    Mesh::from_polygons(positions, &faces).expect("a sound test mesh")
}

/// Latitude of ring `i` of `rings` between the poles.
pub(crate) fn latitude(i: usize, rings: usize) -> f64 {
    -PI / 2.0 + PI * (i + 1) as f64 / (rings + 1) as f64
}

/// An ellipsoid with half axes `a`, `b`, `c` along x, y, z: `rings` rings between the poles, `n` vertices each.
pub(crate) fn ellipsoid(a: f64, b: f64, c: f64, rings: usize, n: usize) -> Mesh {
    closed_tube(
        rings,
        n,
        |i, j| {
            let (sin, cos) = latitude(i, rings).sin_cos();
            let (s, k) = (TAU * j as f64 / n as f64).sin_cos();
            [a * cos * k, b * sin, c * cos * s]
        },
        [[0.0, -b, 0.0], [0.0, b, 0.0]],
    )
}

/// A capsule of radius `r` about a segment of length `l` along y, leaning towards the viewer by `lean`.
pub(crate) fn capsule(r: f64, l: f64, lean: f64, rings: usize, n: usize) -> Mesh {
    let (s, c) = lean.sin_cos();
    let leaning = move |p: [f64; 3]| [p[0], p[1] * c - p[2] * s, p[1] * s + p[2] * c];
    // An odd number of rings would put one on the equator, which has to be there twice.
    assert_eq!(rings % 2, 1);
    let equator = rings / 2;
    closed_tube(
        rings + 1,
        n,
        |i, j| {
            let (ring, end) = if i <= equator {
                (i, -0.5 * l)
            } else {
                (i - 1, 0.5 * l)
            };
            let (sin, cos) = latitude(ring, rings).sin_cos();
            let (ts, tc) = (TAU * j as f64 / n as f64).sin_cos();
            leaning([r * cos * tc, end + r * sin, r * cos * ts])
        },
        [
            leaning([0.0, -0.5 * l - r, 0.0]),
            leaning([0.0, 0.5 * l + r, 0.0]),
        ],
    )
}

/// A torus about the z axis: radius `big` of the middle line, `small` of the tube, `n` vertices around, `m` across.
pub(crate) fn torus(big: f64, small: f64, n: usize, m: usize) -> Mesh {
    let positions = (0..n * m)
        .map(|k| {
            let (s, c) = (TAU * (k / m) as f64 / n as f64).sin_cos();
            let (ts, tc) = (TAU * (k % m) as f64 / m as f64).sin_cos();
            [(big + small * tc) * c, (big + small * tc) * s, small * ts]
        })
        .collect();
    let mut faces: Vec<[u32; 4]> = Vec::new();
    for i in 0..n {
        for j in 0..m {
            let next = (i + 1) % n;
            faces.push([at(i, j, m), at(next, j, m), at(next, j + 1, m), at(i, j + 1, m)]);
        }
    }
    Mesh::from_polygons(positions, &faces).expect("a sound test mesh")
}

/// A cube of half side `h` about zero.
pub(crate) fn cube(h: f64) -> Mesh {
    let positions = (0..8)
        .map(|i| [0, 1, 2].map(|axis| if i >> axis & 1 == 1 { h } else { -h }))
        .collect();
    Mesh::from_polygons(
        positions,
        [
            [0u32, 1, 3, 2],
            [4, 5, 7, 6],
            [0, 1, 5, 4],
            [2, 3, 7, 6],
            [0, 2, 6, 4],
            [1, 3, 7, 5],
        ],
    )
    .expect("a sound test mesh")
}

/// Flat polygons facing the viewer, each a face of its own.
pub(crate) fn flat(polygons: &[Vec<(f64, f64)>]) -> Mesh {
    let mut positions = Vec::new();
    let mut faces = Vec::new();
    for polygon in polygons {
        let first = positions.len() as u32;
        positions.extend(polygon.iter().map(|&(x, y)| [x, y, 0.0]));
        faces.push((first..positions.len() as u32).collect::<Vec<u32>>());
    }
    Mesh::from_polygons(positions, &faces).expect("a sound test mesh")
}

/// A regular polygon of `n` corners on the circle of radius `r` about `(x, y)`.
pub(crate) fn disc(x: f64, y: f64, r: f64, n: usize) -> Vec<(f64, f64)> {
    (0..n)
        .map(|i| {
            let (s, c) = (TAU * i as f64 / n as f64).sin_cos();
            (x + r * c, y + r * s)
        })
        .collect()
}

/// Area of a regular polygon of `n` corners on a circle of radius `r`.
pub(crate) fn polygon_area(r: f64, n: usize) -> f64 {
    0.5 * n as f64 * (TAU / n as f64).sin() * r * r
}

/// Positions and faces of a plain OBJ file; enough for the files beside the tests.
pub(crate) fn read_obj(text: &str) -> Mesh {
    let mut positions = Vec::new();
    let mut faces: Vec<Vec<u32>> = Vec::new();
    for line in text.lines() {
        let mut words = line.split_whitespace();
        match words.next() {
            Some("v") => {
                let p: Vec<f64> = words.map(|w| w.parse().expect("a number")).collect();
                positions.push([p[0], p[1], p[2]]);
            }
            Some("f") => faces.push(
                words
                    .map(|w| w.split('/').next().unwrap_or(w).parse::<u32>().expect("an index") - 1)
                    .collect(),
            ),
            _ => {}
        }
    }
    Mesh::from_polygons(positions, &faces).expect("a sound test mesh")
}
