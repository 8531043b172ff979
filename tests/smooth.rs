//! Smoothing against published rules and values, and against a second implementation that is slow and plain.

use std::collections::{BTreeMap, BTreeSet};

use drawntrue::mesh::{Group, Mesh};
use drawntrue::smooth::{Crease, Plan, Smoothing, smooth};
use proptest::prelude::*;

mod shapes;

type Vector = [f64; 3];

/// The cube from -1 to 1, all faces turned outwards.
fn cube() -> Mesh {
    let positions = (0..8).map(|i| [0, 1, 2].map(|axis| if i >> axis & 1 == 1 { 1.0 } else { -1.0 }));
    Mesh::from_polygons(
        positions.collect(),
        [
            [0u32, 4, 6, 2],
            [1, 3, 7, 5],
            [0, 1, 5, 4],
            [2, 6, 7, 3],
            [0, 2, 3, 1],
            [4, 5, 7, 6],
        ],
    )
    .unwrap()
}

#[track_caller]
fn near(found: Vector, wanted: Vector, within: f64) {
    for i in 0..3 {
        assert!(
            (found[i] - wanted[i]).abs() <= within,
            "{found:?} instead of {wanted:?}"
        );
    }
}

fn volume(mesh: &Mesh) -> f64 {
    let p = mesh.positions();
    let sum: f64 = mesh
        .triangles()
        .map(|t| {
            let [a, b, c] = t.map(|v| p[v as usize]);
            a[0] * (b[1] * c[2] - b[2] * c[1]) - a[1] * (b[0] * c[2] - b[2] * c[0])
                + a[2] * (b[0] * c[1] - b[1] * c[0])
        })
        .sum();
    (sum / 6.0).abs()
}

fn area(mesh: &Mesh) -> f64 {
    let p = mesh.positions();
    mesh.triangles()
        .map(|t| {
            let [a, b, c] = t.map(|v| p[v as usize]);
            let (u, w) = ([0, 1, 2].map(|i| b[i] - a[i]), [0, 1, 2].map(|i| c[i] - a[i]));
            let n = [0, 1, 2].map(|i| u[(i + 1) % 3] * w[(i + 2) % 3] - u[(i + 2) % 3] * w[(i + 1) % 3]);
            n.iter().map(|x| x * x).sum::<f64>().sqrt() / 2.0
        })
        .sum()
}

fn edges(mesh: &Mesh) -> BTreeSet<[u32; 2]> {
    mesh.faces()
        .flat_map(|f| (0..f.len()).map(move |i| [f[i], f[(i + 1) % f.len()]]))
        .map(|[a, b]| [a.min(b), a.max(b)])
        .collect()
}

/// The cube from -1 to 1 after one step, worked by hand from the rules of Catmull and Clark 1978: middles of faces at 1,
/// of edges at 3/4, vertices at 5/9.
#[test]
fn a_cube_after_one_step() {
    let cage = cube();
    let one = smooth(&cage, Smoothing::Steps(1)).unwrap();
    assert_eq!((one.positions().len(), one.face_count()), (26, 24));
    for (v, p) in cage.positions().iter().enumerate() {
        near(one.positions()[v], p.map(|c| c * 5.0 / 9.0), 1e-15);
    }
    for p in &one.positions()[8..20] {
        let mut sizes = p.map(f64::abs);
        sizes.sort_by(f64::total_cmp);
        near(sizes, [0.0, 0.75, 0.75], 1e-15);
    }
    for p in &one.positions()[20..] {
        let mut sizes = p.map(f64::abs);
        sizes.sort_by(f64::total_cmp);
        near(sizes, [0.0, 0.0, 1.0], 1e-15);
    }
    for (steps, count) in [(2, (98, 96)), (3, (386, 384))] {
        let mesh = smooth(&cage, Smoothing::Steps(steps)).unwrap();
        assert_eq!((mesh.positions().len(), mesh.face_count()), count);
    }
}

/// Limit positions by the masks of Halstead, Kass and DeRose 1993: corners at 1/2, middles of edges at 395/648, of faces
/// at 68/81; volume 2.62042 and area 9.1976 (from a fine subdivision by another program).
#[test]
fn a_cube_in_the_limit() {
    let cage = cube();
    let limit = smooth(&cage, Smoothing::Limit).unwrap();
    for (v, p) in cage.positions().iter().enumerate() {
        near(limit.positions()[v], p.map(|c| c * 0.5), 1e-12);
    }
    for p in &limit.positions()[8..20] {
        let mut sizes = p.map(f64::abs);
        sizes.sort_by(f64::total_cmp);
        near(sizes, [0.0, 395.0 / 648.0, 395.0 / 648.0], 1e-12);
    }
    for p in &limit.positions()[20..26] {
        let mut sizes = p.map(f64::abs);
        sizes.sort_by(f64::total_cmp);
        near(sizes, [0.0, 0.0, 68.0 / 81.0], 1e-12);
    }
    assert!((volume(&limit) - 2.62042).abs() < 0.004, "{}", volume(&limit));
    assert!((area(&limit) - 9.1976).abs() < 0.008, "{}", area(&limit));
}

/// A long tube of n sides keeps (2 + cos(2 pi / n)) / 3 of its radius at its vertices: a cubic B-spline of a regular
/// polygon. Its ends are borders.
#[test]
fn tubes_grow_thin() {
    for (n, factor) in [
        (4usize, 0.666_67),
        (6, 0.833_33),
        (8, 0.902_37),
        (12, 0.955_34),
        (16, 0.974_63),
    ] {
        let rings = 9usize;
        let positions: Vec<Vector> = (0..rings * n)
            .map(|i| {
                let turn = (i % n) as f64 / n as f64 * std::f64::consts::TAU;
                [turn.cos(), (i / n) as f64, turn.sin()]
            })
            .collect();
        let at = |r: usize, k: usize| (r * n + k % n) as u32;
        let faces = (0..rings - 1)
            .flat_map(|r| (0..n).map(move |k| [at(r, k), at(r, k + 1), at(r + 1, k + 1), at(r + 1, k)]));
        let mesh = Mesh::from_polygons(positions, faces).unwrap();
        let limit = smooth(&mesh, Smoothing::Limit).unwrap();
        let middle = limit.positions()[4 * n];
        assert!(
            (middle[0].hypot(middle[2]) - factor).abs() < 5e-6,
            "{n}: {middle:?}"
        );
        // The border is the B-spline of the end's own polygon.
        let end = limit.positions()[0];
        assert!((end[0].hypot(end[2]) - factor).abs() < 5e-6 && end[1].abs() < 1e-12);
    }
}

/// Faces, edges and vertices keep Euler's characteristic, borders and all; groups keep their share of the surface.
#[test]
fn topology_is_kept() {
    let torus = shapes::torus(3.0, 1.0, 12, 8);
    let fine = smooth(&torus, Smoothing::Steps(2)).unwrap();
    let chi = |m: &Mesh| m.positions().len() as i64 - edges(m).len() as i64 + m.face_count() as i64;
    assert_eq!((chi(&torus), chi(&fine)), (0, 0));
    let cage = cube();
    let groups = ["top", "rest"].map(|name| Group { name: name.into() }).to_vec();
    let grouped = Mesh::new(
        cage.positions().to_vec(),
        cage.corners().to_vec(),
        cage.starts().to_vec(),
        groups,
        vec![(0, 0), (1, 1)],
    )
    .unwrap();
    let fine = smooth(&grouped, Smoothing::Steps(2)).unwrap();
    let runs: Vec<(usize, usize)> = fine.group_runs().map(|r| (r.group, r.faces.len())).collect();
    assert_eq!(runs, [(0, 16), (1, 80)]);
    assert_eq!(chi(&fine), 2);
}

/// Sharp edges by DeRose, Kass and Truong 1998: all edges of a cube sharp for ever leave a cube; a sharpness of one is a
/// step of it; a half is half-way.
#[test]
fn creases_hold() {
    let cage = cube();
    let all = |sharpness: f32| -> Vec<Crease> {
        edges(&cage)
            .into_iter()
            .map(|edge| Crease { edge, sharpness })
            .collect()
    };
    let positions = |creases: &[Crease], steps| {
        let plan = Plan::new(&cage, Smoothing::Steps(steps), creases).unwrap();
        plan.positions(cage.positions())
    };
    let hard = Plan::new(&cage, Smoothing::Steps(3), &all(f32::INFINITY))
        .unwrap()
        .mesh(&cage)
        .unwrap();
    assert!((volume(&hard) - 8.0).abs() < 1e-12 && (area(&hard) - 24.0).abs() < 1e-12);
    assert_eq!(positions(&all(1.0), 1), positions(&all(f32::INFINITY), 1));
    assert_ne!(positions(&all(1.0), 2), positions(&all(f32::INFINITY), 2));
    let (soft, sharp, half) = (
        positions(&[], 1),
        positions(&all(1.0), 1),
        positions(&all(0.5), 1),
    );
    for v in 0..26 {
        near(
            half[v],
            [0, 1, 2].map(|i| f64::midpoint(soft[v][i], sharp[v][i])),
            1e-12,
        );
    }
}

/// One step, written down rule by rule with tables, as slowly as it comes: the vertices' new places, edges in ascending
/// order, faces.
fn plainly(mesh: &Mesh) -> Vec<Vector> {
    let p = mesh.positions();
    let mean = |list: &[Vector]| -> Vector {
        [0, 1, 2].map(|i| list.iter().map(|q| q[i]).sum::<f64>() / list.len() as f64)
    };
    let middles: Vec<Vector> = mesh
        .faces()
        .map(|f| mean(&f.iter().map(|&v| p[v as usize]).collect::<Vec<_>>()))
        .collect();
    let mut of_edge: BTreeMap<[u32; 2], Vec<usize>> = BTreeMap::new();
    for (f, face) in mesh.faces().enumerate() {
        for i in 0..face.len() {
            let (a, b) = (face[i], face[(i + 1) % face.len()]);
            of_edge.entry([a.min(b), a.max(b)]).or_default().push(f);
        }
    }
    let at = |v: u32| p[v as usize];
    let mut out = Vec::new();
    for v in 0..p.len() as u32 {
        let own: Vec<(&[u32; 2], &Vec<usize>)> = of_edge.iter().filter(|(e, _)| e.contains(&v)).collect();
        let other = |e: &[u32; 2]| if e[0] == v { e[1] } else { e[0] };
        let border: Vec<u32> = own
            .iter()
            .filter(|(_, f)| f.len() != 2)
            .map(|(e, _)| other(e))
            .collect();
        out.push(match border.len() {
            _ if own.is_empty() => at(v),
            2 => [0, 1, 2].map(|i| (at(border[0])[i] + 6.0 * at(v)[i] + at(border[1])[i]) / 8.0),
            n if n > 2 => at(v),
            _ => {
                let n = own.len() as f64;
                let faces: Vec<Vector> = (0..mesh.face_count())
                    .filter(|&f| mesh.face(f).contains(&v))
                    .map(|f| middles[f])
                    .collect();
                let halves: Vec<Vector> = own.iter().map(|(e, _)| mean(&[at(e[0]), at(e[1])])).collect();
                let (f, r) = (mean(&faces), mean(&halves));
                [0, 1, 2].map(|i| (f[i] + 2.0 * r[i] + (n - 3.0) * at(v)[i]) / n)
            }
        });
    }
    for (e, faces) in &of_edge {
        let mut ends = vec![at(e[0]), at(e[1])];
        if faces.len() == 2 {
            ends.extend(faces.iter().map(|&f| middles[f]));
        }
        out.push(mean(&ends));
    }
    out.extend(middles);
    out
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// Random cages of triangles, quads and five-sided faces with a border: both implementations agree.
    #[test]
    fn two_implementations_agree(
        seed in proptest::collection::vec(-1.0f64..1.0, 3 * 25),
        merges in proptest::collection::vec(0u8..3, 16),
    ) {
        // A grid of 5 x 5 vertices; some quads are cut into triangles, some left out.
        let positions: Vec<Vector> = (0..25usize)
            .map(|i| [(i % 5) as f64 + 0.3 * seed[3 * i], (i / 5) as f64 + 0.3 * seed[3 * i + 1], seed[3 * i + 2]])
            .collect();
        let mut faces: Vec<Vec<u32>> = Vec::new();
        for (k, how) in merges.iter().enumerate() {
            let (x, y) = ((k % 4) as u32, (k / 4) as u32);
            let [a, b, c, d] = [y * 5 + x, y * 5 + x + 1, y * 5 + x + 6, y * 5 + x + 5];
            match how {
                0 => faces.push(vec![a, b, c, d]),
                1 => faces.extend([vec![a, b, c], vec![a, c, d]]),
                _ if k % 5 == 0 => {}
                _ => faces.push(vec![a, b, c, d]),
            }
        }
        let mut cage = Mesh::from_polygons(positions, &faces).unwrap();
        for _ in 0..2 {
            let fine = smooth(&cage, Smoothing::Steps(1)).unwrap();
            for (a, b) in fine.positions().iter().zip(plainly(&cage)) {
                for i in 0..3 {
                    prop_assert!((a[i] - b[i]).abs() < 1e-12);
                }
            }
            prop_assert_eq!(fine.positions().len(), plainly(&cage).len());
            cage = fine;
        }
    }
}
