//! A small kernel for building a quad cage the way a modeller does: rings of vertices, lofted, capped,
//! pulled out, mirrored and smoothed by one Catmull-Clark step.
//!
//! Source of the smoothing rules: Catmull and Clark, "Recursively generated B-spline surfaces on arbitrary
//! topological meshes" (1978). Assumes a closed mesh whose faces are wound counter-clockwise seen from
//! outside. Only the half x >= 0 is ever built by hand; mirroring makes the rest, so symmetry is exact.

use std::collections::BTreeMap;
use std::fmt::Write as _;

/// What a face is made of; decides its wash on the sheet and where seams are inked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Material {
    Skin,
    Hair,
    Tie,
    Scarf,
    Coat,
    Cuff,
    Apron,
    Belt,
    Breeches,
    Boot,
    Sole,
    Glove,
}

/// A point or direction of space: x to the figure's left, y up, z to its front.
pub(crate) type V3 = [f64; 3];

/// A mesh of quads with one material a face.
#[derive(Debug, Clone, Default)]
pub(crate) struct Cage {
    pub(crate) positions: Vec<V3>,
    pub(crate) quads: Vec<[u32; 4]>,
    pub(crate) materials: Vec<Material>,
}

/// Vertices nearer to the mirror plane than this lie on it; the tables of the figure write such
/// coordinates as sines of multiples of pi, which miss zero by about 1e-15.
const ON_PLANE: f64 = 1e-9;

impl Cage {
    /// Adds a vertex and gives its index.
    pub(crate) fn vertex(&mut self, p: V3) -> u32 {
        self.positions.push(if p[0].abs() < ON_PLANE {
            [0.0, p[1], p[2]]
        } else {
            p
        });
        u32::try_from(self.positions.len() - 1).unwrap_or(u32::MAX)
    }

    /// Adds a ring of vertices.
    pub(crate) fn ring(&mut self, points: &[V3]) -> Vec<u32> {
        points.iter().map(|&p| self.vertex(p)).collect()
    }

    /// Adds a face, corners counter-clockwise seen from outside.
    pub(crate) fn quad(&mut self, corners: [u32; 4], material: Material) {
        self.quads.push(corners);
        self.materials.push(material);
    }

    /// Joins two rings of equal length by a band of quads; `material` is asked for each step along the
    /// ring and answers `None` where an opening is to stay. The ring runs so that ring direction times
    /// the direction from `from` to `to` points outward.
    pub(crate) fn loft(
        &mut self,
        from: &[u32],
        to: &[u32],
        closed: bool,
        material: impl Fn(usize) -> Option<Material>,
    ) {
        let n = from.len();
        for k in 0..if closed { n } else { n - 1 } {
            if let Some(m) = material(k) {
                let next = (k + 1) % n;
                self.quad([from[k], from[next], to[next], to[k]], m);
            }
        }
    }

    /// Mirrors the half at x = 0 and joins it along the vertices that lie on the plane. Vertices of
    /// the half come first, in their order.
    pub(crate) fn mirrored(&self) -> Self {
        let mut whole = self.clone();
        let partner: Vec<u32> = self
            .positions
            .iter()
            .enumerate()
            .map(|(i, p)| {
                if p[0] == 0.0 {
                    u32::try_from(i).unwrap_or(u32::MAX)
                } else {
                    whole.vertex([-p[0], p[1], p[2]])
                }
            })
            .collect();
        for (q, &m) in self.quads.iter().zip(&self.materials) {
            let [a, b, c, d] = q.map(|i| partner[i as usize]);
            whole.quad([a, d, c, b], m);
        }
        whole
    }

    /// The half x >= 0 of a symmetric mesh, vertices in their order.
    pub(crate) fn positive_half(&self) -> Self {
        let mut half = Self::default();
        let mut index = vec![u32::MAX; self.positions.len()];
        for (q, &m) in self.quads.iter().zip(&self.materials) {
            let middle: f64 = q.iter().map(|&i| self.positions[i as usize][0]).sum();
            if middle > 0.0 {
                let corners = q.map(|i| {
                    let slot = &mut index[i as usize];
                    if *slot == u32::MAX {
                        *slot = half.vertex(self.positions[i as usize]);
                    }
                    *slot
                });
                half.quad(corners, m);
            }
        }
        half
    }

    /// One Catmull-Clark step of a closed mesh.
    pub(crate) fn subdivided(&self) -> Self {
        let mut fine = Self::default();
        let n = self.positions.len();
        let mut face_sum = vec![[0.0; 3]; n];
        let mut middle_sum = vec![[0.0; 3]; n];
        let mut valence = vec![0.0; n];
        let mut edges: BTreeMap<(u32, u32), (V3, u32)> = BTreeMap::new();
        let centres: Vec<V3> = self
            .quads
            .iter()
            .map(|q| {
                let sum = q
                    .iter()
                    .fold([0.0; 3], |s, &i| add(s, self.positions[i as usize]));
                scale(sum, 0.25)
            })
            .collect();
        for (q, &centre) in self.quads.iter().zip(&centres) {
            for (c, &a) in q.iter().enumerate() {
                let b = q[(c + 1) % 4];
                face_sum[a as usize] = add(face_sum[a as usize], centre);
                valence[a as usize] += 1.0;
                let edge = edges.entry((a.min(b), a.max(b))).or_insert(([0.0; 3], 0));
                edge.0 = add(edge.0, centre);
            }
        }
        for &(a, b) in edges.keys() {
            let m = scale(add(self.positions[a as usize], self.positions[b as usize]), 0.5);
            middle_sum[a as usize] = add(middle_sum[a as usize], m);
            middle_sum[b as usize] = add(middle_sum[b as usize], m);
        }
        for i in 0..n {
            let v = valence[i];
            // (F + 2 R + (n - 3) P) / n with F, R the means of face points and edge middles.
            let p = add(
                scale(add(face_sum[i], scale(middle_sum[i], 2.0)), 1.0 / (v * v)),
                scale(self.positions[i], (v - 3.0) / v),
            );
            fine.vertex(p);
        }
        for (&(a, b), edge) in &mut edges {
            let ends = add(self.positions[a as usize], self.positions[b as usize]);
            edge.1 = fine.vertex(scale(add(ends, edge.0), 0.25));
        }
        for ((q, &centre), &m) in self.quads.iter().zip(&centres).zip(&self.materials) {
            let middle = fine.vertex(centre);
            let side = |a: u32, b: u32| edges[&(a.min(b), a.max(b))].1;
            for c in 0..4 {
                let (before, here, after) = (q[(c + 3) % 4], q[c], q[(c + 1) % 4]);
                fine.quad([here, side(here, after), middle, side(before, here)], m);
            }
        }
        fine
    }

    /// The vertex normals, area-weighted (the sum of the cross products of the faces' diagonals).
    pub(crate) fn normals(&self) -> Vec<V3> {
        let mut sums = vec![[0.0; 3]; self.positions.len()];
        for q in &self.quads {
            let [a, b, c, d] = q.map(|i| self.positions[i as usize]);
            let n = cross(sub(c, a), sub(d, b));
            for &i in q {
                sums[i as usize] = add(sums[i as usize], n);
            }
        }
        sums.iter()
            .map(|&n| scale(n, 1.0 / dot(n, n).sqrt().max(f64::MIN_POSITIVE)))
            .collect()
    }

    /// The mesh as an OBJ file: one object, four decimals (a tenth of a thousandth of a centimetre).
    pub(crate) fn to_obj(&self, name: &str, head: &[&str]) -> String {
        let mut text = String::new();
        for line in head {
            let _ = writeln!(text, "# {line}");
        }
        let _ = writeln!(text, "o {name}");
        for p in &self.positions {
            // Adding zero turns a negative zero into a plain one.
            let [x, y, z] = p.map(|c| (c * 1e4).round() / 1e4 + 0.0);
            let _ = writeln!(text, "v {x:.4} {y:.4} {z:.4}");
        }
        for q in &self.quads {
            let [a, b, c, d] = q.map(|i| i + 1);
            let _ = writeln!(text, "f {a} {b} {c} {d}");
        }
        text
    }
}

/// Sum of two vectors.
pub(crate) fn add(a: V3, b: V3) -> V3 {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}

/// Difference of two vectors.
pub(crate) fn sub(a: V3, b: V3) -> V3 {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

/// A vector times a number.
pub(crate) fn scale(a: V3, s: f64) -> V3 {
    a.map(|c| c * s)
}

/// Scalar product.
pub(crate) fn dot(a: V3, b: V3) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// Vector product.
pub(crate) fn cross(a: V3, b: V3) -> V3 {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}
