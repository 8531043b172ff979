//! Standing figures of capsules whose shoulder joints, arm lengths and angles are known: of several shells, or as one
//! connected cage (surface nets after Gibson 1998 over the union of the solids' distance fields).
#![allow(dead_code, reason = "every test file uses another part of it")]

use std::f64::consts::{PI, TAU};

use drawntrue::mesh::Mesh;

/// Height of the figures, units.
pub(crate) const HEIGHT: f64 = 170.0;
/// Cell of the connected cages, units: an arm is eight of them thick.
const CELL: f64 = 1.3;

type V = [f64; 3];

/// How far an arm is there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Ends {
    /// A mitten.
    Hand,
    /// At a share of the length, with a border or a flat cap; of several shells only.
    At(f64, Cut),
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Cut {
    Open,
    Capped,
}

/// The measures of a figure; lengths in units.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Body {
    /// Half width of the trunk, where the shoulder's joint lies.
    pub(crate) half_width: f64,
    /// Height of the shoulder.
    pub(crate) shoulder_y: f64,
    /// How far the shoulder lies before the trunk's middle.
    pub(crate) shoulder_z: f64,
    /// Radius of the arm at the shoulder and at the wrist.
    pub(crate) radius: [f64; 2],
    /// From the joint to the fingertip.
    pub(crate) length: f64,
    /// Upper arm below the horizontal, degrees.
    pub(crate) angle: f64,
    /// The forearm's further turn at 0.43 of the length, degrees.
    pub(crate) bend: f64,
    pub(crate) ends: Ends,
}

impl Body {
    pub(crate) fn usual() -> Self {
        Self {
            half_width: 18.0,
            shoulder_y: 0.8 * HEIGHT,
            shoulder_z: 0.0,
            radius: [5.2, 3.8],
            length: 0.43 * HEIGHT,
            angle: 0.0,
            bend: 0.0,
            ends: Ends::Hand,
        }
    }

    /// The shoulder's joint, the elbow and the fingertip of one side (1: the character's left, −1).
    pub(crate) fn places(&self, side: f64) -> [V; 3] {
        let along = |from: V, angle: f64, length: f64| {
            let (s, c) = angle.to_radians().sin_cos();
            [from[0] + side * c * length, from[1] - s * length, from[2]]
        };
        let shoulder = [side * self.half_width, self.shoulder_y, self.shoulder_z];
        let elbow = along(shoulder, self.angle, 0.43 * self.length);
        let tip = along(elbow, self.angle + self.bend, 0.57 * self.length);
        [shoulder, elbow, tip]
    }

    /// Cones with round ends: `[from, to]`, and the radius at both.
    fn trunk(&self) -> Vec<([V; 2], [f64; 2])> {
        let w = self.half_width;
        let mut out = vec![
            // Two upright ones side by side: the sides are straight at the shoulder.
            (
                [[w - 11.0, 0.53 * HEIGHT, 0.0], [w - 11.0, 0.79 * HEIGHT, 0.0]],
                [11.0, 11.0],
            ),
            (
                [[11.0 - w, 0.53 * HEIGHT, 0.0], [11.0 - w, 0.79 * HEIGHT, 0.0]],
                [11.0, 11.0],
            ),
            (
                [[0.0, 0.55 * HEIGHT, 0.0], [0.0, 0.79 * HEIGHT, 0.0]],
                [11.0, 11.0],
            ),
            ([[0.0, 0.8 * HEIGHT, 0.0], [0.0, 0.9 * HEIGHT, 0.0]], [5.0, 5.0]),
            ([[0.0, 0.9 * HEIGHT, 1.0], [0.0, HEIGHT - 10.0, 1.0]], [9.0, 10.0]),
        ];
        for side in [-1.0, 1.0] {
            let x = side * (w - 8.5);
            out.push(([[x, 0.5 * HEIGHT, 0.0], [x, 5.0, 0.0]], [8.0, 5.0]));
            out.push(([[x, 4.0, 0.0], [x, 4.0, 11.0]], [4.0, 4.0]));
        }
        out
    }

    fn arm(&self, side: f64) -> Vec<([V; 2], [f64; 2])> {
        let [shoulder, elbow, tip] = self.places(side);
        let [a, b] = self.radius;
        let middle = a + 0.5 * (b - a);
        let mix = |t: f64| std::array::from_fn(|k| elbow[k] + t * (tip[k] - elbow[k]));
        // The wrist at 0.76, the mitten's end a radius before the fingertip.
        let fore = 0.57 * self.length;
        let wrist: V = mix((0.76 - 0.43) / 0.57);
        let palm: V = mix(1.0 - 1.15 * b / fore);
        vec![
            ([shoulder, elbow], [a, middle]),
            ([elbow, wrist], [middle, 0.85 * b]),
            ([wrist, palm], [0.85 * b, 1.15 * b]),
        ]
    }

    /// Of several shells: one for the whole arm, one for each part of the rest.
    pub(crate) fn shells(&self, rings: usize, columns: usize) -> Mesh {
        let mut solids = Solids::default();
        for (ends, radii) in self.trunk() {
            solids.cone(ends, radii, rings, columns);
        }
        for side in [1.0, -1.0] {
            solids.sweep(&self.arm(side), self.ends, self.length, columns);
        }
        solids.mesh()
    }

    /// One connected cage.
    pub(crate) fn connected(&self) -> Mesh {
        self.connected_in(CELL)
    }

    /// The same in cells of another size.
    pub(crate) fn connected_in(&self, size: f64) -> Mesh {
        let mut all = self.trunk();
        for side in [1.0, -1.0] {
            all.extend(self.arm(side));
        }
        surface_net(&all, size)
    }

    /// Volume of an arm from its joint outwards.
    pub(crate) fn arm_volume(&self) -> f64 {
        self.arm(1.0)
            .iter()
            .map(|([p, q], [a, b])| {
                let d: f64 = (0..3).map(|k| (p[k] - q[k]).powi(2)).sum::<f64>().sqrt();
                PI * d * (a * a + a * b + b * b) / 3.0
            })
            .sum()
    }
}

fn sub(a: V, b: V) -> V {
    std::array::from_fn(|k| a[k] - b[k])
}

fn dot(a: V, b: V) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn unit(a: V) -> V {
    let n = dot(a, a).sqrt();
    a.map(|c| c / n)
}

fn cross(a: V, b: V) -> V {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}

#[derive(Default)]
struct Solids {
    positions: Vec<V>,
    faces: Vec<Vec<u32>>,
}

impl Solids {
    /// Rings of `columns` places about the middles `(at, radius)`, square to `along`; ends closed by their middle where
    /// the radius there is none.
    fn rings(&mut self, rings: &[(V, f64, V)], columns: usize) {
        let first = self.positions.len() as u32;
        for (at, radius, along) in rings {
            // The same turn for all rings of a limb in the frontal plane.
            let u = [0.0, 0.0, 1.0];
            let u = if along[2].abs() > 0.9 { [0.0, 1.0, 0.0] } else { u };
            let v = unit(cross(*along, u));
            let u = cross(v, *along);
            for j in 0..columns {
                let (s, c) = (TAU * j as f64 / columns as f64).sin_cos();
                self.positions
                    .push(std::array::from_fn(|k| at[k] + radius * (c * u[k] + s * v[k])));
            }
        }
        let at = |i: usize, j: usize| first + (i * columns + j % columns) as u32;
        for i in 0..rings.len() - 1 {
            for j in 0..columns {
                self.faces
                    .push(vec![at(i, j), at(i, j + 1), at(i + 1, j + 1), at(i + 1, j)]);
            }
        }
    }

    fn cap(&mut self, ring: u32, columns: usize, forward: bool) {
        let mut face: Vec<u32> = (0..columns as u32).map(|j| ring + j).collect();
        if !forward {
            face.reverse();
        }
        self.faces.push(face);
    }

    /// A cone with round ends.
    fn cone(&mut self, [from, to]: [V; 2], [a, b]: [f64; 2], rings: usize, columns: usize) {
        let w = unit(sub(to, from));
        let place = |m: V, s: f64| std::array::from_fn(|k| m[k] + s * w[k]);
        let mut all = Vec::new();
        for i in 0..=rings {
            let t = PI / 2.0 * (1.0 - i as f64 / rings as f64);
            all.push((place(from, -a * t.sin()), (a * t.cos()).max(1e-4), w));
        }
        for i in 1..6 {
            let t = f64::from(i) / 6.0;
            all.push((
                std::array::from_fn(|k| from[k] + t * (to[k] - from[k])),
                a + t * (b - a),
                w,
            ));
        }
        for i in 0..=rings {
            let t = PI / 2.0 * i as f64 / rings as f64;
            all.push((place(to, b * t.sin()), (b * t.cos()).max(1e-4), w));
        }
        let first = self.positions.len() as u32;
        self.rings(&all, columns);
        self.cap(first, columns, false);
        self.cap(first + ((all.len() - 1) * columns) as u32, columns, true);
    }

    /// One shell along an arm's cones, from the round end inside the trunk outwards.
    fn sweep(&mut self, cones: &[([V; 2], [f64; 2])], ends: Ends, length: f64, columns: usize) {
        const ROUND: usize = 6;
        const ALONG: usize = 9;
        let mut all: Vec<(V, f64, V)> = Vec::new();
        let ([from, to], [a, _]) = cones[0];
        let w = unit(sub(to, from));
        for i in 0..ROUND {
            let t = PI / 2.0 * (1.0 - i as f64 / ROUND as f64);
            all.push((
                std::array::from_fn(|k| from[k] - a * t.sin() * w[k]),
                (a * t.cos()).max(1e-4),
                w,
            ));
        }
        let most = match ends {
            Ends::Hand => f64::INFINITY,
            Ends::At(share, _) => share * length,
        };
        let mut gone = 0.0;
        'all: for ([from, to], [a, b]) in cones {
            let d = sub(*to, *from);
            let long = dot(d, d).sqrt();
            for i in 0..ALONG {
                let t = i as f64 / ALONG as f64;
                if gone + t * long > most - 0.3 * long / ALONG as f64 {
                    break 'all;
                }
                all.push((
                    std::array::from_fn(|k| from[k] + t * d[k]),
                    a + t * (b - a),
                    unit(d),
                ));
            }
            gone += long;
        }
        let first = self.positions.len() as u32;
        match ends {
            Ends::Hand => {
                let ([from, to], [_, b]) = cones[cones.len() - 1];
                let w = unit(sub(to, from));
                for i in 0..=ROUND {
                    let t = PI / 2.0 * i as f64 / ROUND as f64;
                    all.push((
                        std::array::from_fn(|k| to[k] + b * t.sin() * w[k]),
                        (b * t.cos()).max(1e-4),
                        w,
                    ));
                }
            }
            Ends::At(share, _) => {
                // The last ring lies where the arm is cut.
                let mut left = share * length;
                for ([from, to], [a, b]) in cones {
                    let d = sub(*to, *from);
                    let long = dot(d, d).sqrt();
                    if left <= long + 1e-9 {
                        let t = left / long;
                        all.push((
                            std::array::from_fn(|k| from[k] + t * d[k]),
                            a + t * (b - a),
                            unit(d),
                        ));
                        break;
                    }
                    left -= long;
                }
            }
        }
        self.rings(&all, columns);
        self.cap(first, columns, false);
        if !matches!(ends, Ends::At(_, Cut::Open)) {
            self.cap(first + ((all.len() - 1) * columns) as u32, columns, true);
        }
    }

    fn mesh(self) -> Mesh {
        Mesh::from_polygons(self.positions, &self.faces).expect("a sound figure")
    }
}

/// Distance from a cone with round ends, negative inside (about: the slant is not taken into account).
fn distance(p: V, [from, to]: [V; 2], [a, b]: [f64; 2]) -> f64 {
    let d = sub(to, from);
    let t = (dot(sub(p, from), d) / dot(d, d)).clamp(0.0, 1.0);
    let off: V = std::array::from_fn(|k| p[k] - from[k] - t * d[k]);
    dot(off, off).sqrt() - (a + t * (b - a))
}

/// The surface of the union as quads.
fn surface_net(solids: &[([V; 2], [f64; 2])], size: f64) -> Mesh {
    let mut low = [f64::INFINITY; 3];
    let mut high = [f64::NEG_INFINITY; 3];
    for (ends, radii) in solids {
        for (p, r) in ends.iter().zip(radii) {
            for k in 0..3 {
                low[k] = low[k].min(p[k] - r);
                high[k] = high[k].max(p[k] + r);
            }
        }
    }
    let low = low.map(|c| c - 1.37 * size);
    let n: [usize; 3] = std::array::from_fn(|k| ((high[k] - low[k]) / size).ceil() as usize + 3);
    let at = |i: [usize; 3]| -> V { std::array::from_fn(|k| low[k] + size * i[k] as f64) };
    let number = |i: [usize; 3]| (i[2] * n[1] + i[1]) * n[0] + i[0];
    let mut values = vec![f64::INFINITY; n[0] * n[1] * n[2]];
    for z in 0..n[2] {
        for y in 0..n[1] {
            for x in 0..n[0] {
                let p = at([x, y, z]);
                values[number([x, y, z])] = solids
                    .iter()
                    .map(|(e, r)| distance(p, *e, *r))
                    .fold(f64::INFINITY, f64::min);
            }
        }
    }
    let (mut positions, mut vertex) = (Vec::new(), vec![u32::MAX; values.len()]);
    for z in 0..n[2] - 1 {
        for y in 0..n[1] - 1 {
            for x in 0..n[0] - 1 {
                // The mean of the places where the cell's edges cross the surface.
                let corner = |c: usize| [x + (c & 1), y + (c >> 1 & 1), z + (c >> 2 & 1)];
                let (mut sum, mut count) = ([0.0; 3], 0.0);
                for c in 0..8_usize {
                    for k in 0..3 {
                        let d = c | 1 << k;
                        let (u, v) = (values[number(corner(c))], values[number(corner(d))]);
                        if c != d && (u < 0.0) != (v < 0.0) {
                            let (p, q) = (at(corner(c)), at(corner(d)));
                            for j in 0..3 {
                                sum[j] += p[j] + u / (u - v) * (q[j] - p[j]);
                            }
                            count += 1.0;
                        }
                    }
                }
                if count > 0.0 {
                    vertex[number([x, y, z])] = positions.len() as u32;
                    positions.push(sum.map(|c| c / count));
                }
            }
        }
    }
    let mut faces: Vec<[u32; 4]> = Vec::new();
    for z in 1..n[2] - 1 {
        for y in 1..n[1] - 1 {
            for x in 1..n[0] - 1 {
                for k in 0..3 {
                    let mut next = [x, y, z];
                    next[k] += 1;
                    let inside = values[number([x, y, z])] < 0.0;
                    if inside == (values[number(next)] < 0.0) {
                        continue;
                    }
                    let (u, v) = ((k + 1) % 3, (k + 2) % 3);
                    let cell = |du: usize, dv: usize| {
                        let mut i = [x, y, z];
                        i[u] -= du;
                        i[v] -= dv;
                        vertex[number(i)]
                    };
                    let face = [cell(1, 1), cell(0, 1), cell(0, 0), cell(1, 0)];
                    faces.push(if inside {
                        face
                    } else {
                        [face[3], face[2], face[1], face[0]]
                    });
                }
            }
        }
    }
    Mesh::from_polygons(positions, faces).expect("a sound cage")
}

/// Signed volume of the fan triangles (divergence theorem).
pub(crate) fn volume(mesh: &Mesh) -> f64 {
    mesh.triangles()
        .map(|t| {
            let [a, b, c] = t.map(|v| mesh.positions()[v as usize]);
            dot(a, cross(b, c)) / 6.0
        })
        .sum()
}
