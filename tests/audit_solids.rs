//! Closed solids of known topology, and a second opinion on whether a mesh is watertight and wound one way.

mod shapes;

use drawntrue::audit::{Options, audit};
use drawntrue::mesh::Mesh;
use drawntrue::mesh::adjacency::Adjacency;
use drawntrue::mesh::obj::{Limits, read_file};
use drawntrue::mesh::shells::Shells;

fn file(path: &str) -> Mesh {
    read_file(
        &std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(path),
        Limits::default(),
    )
    .expect("a mesh")
}

/// A torus of `m` by `n` quads.
fn torus(m: u32, n: u32) -> Mesh {
    let angle = |i: u32, of: u32| std::f64::consts::TAU * f64::from(i) / f64::from(of);
    let positions = (0..m * n)
        .map(|k| {
            let (a, b) = (angle(k / n, m), angle(k % n, n));
            [(3.0 + b.cos()) * a.cos(), b.sin(), (3.0 + b.cos()) * a.sin()]
        })
        .collect();
    let at = |i: u32, j: u32| i % m * n + j % n;
    let faces = (0..m * n).map(|k| {
        let (i, j) = (k / n, k % n);
        [at(i, j), at(i, j + 1), at(i + 1, j + 1), at(i + 1, j)]
    });
    Mesh::from_polygons(positions, faces).expect("a torus")
}

/// Euler's characteristic is 2 − 2g: 2 for a ball, 0 for a torus; of a closed mesh of quads the sum of 4 − valence is
/// four times that.
#[test]
fn euler_characteristic_and_genus() {
    let ball = shapes::ellipsoid(1.0, 2.0, 3.0, 9, 12);
    assert_eq!(Adjacency::of(&ball).euler_characteristic(), 2);
    for mesh in [torus(7, 5), torus(12, 16)] {
        assert_eq!(Adjacency::of(&mesh).euler_characteristic(), 0);
    }
    for (mesh, characteristic) in [
        (torus(7, 5), 0),
        (file("refs/tamsel.obj"), 2),
        (file("tests/data/animal.obj"), 2),
    ] {
        let table = Adjacency::of(&mesh);
        let spokes = table.spokes(mesh.positions().len());
        let sum: i64 = (0..mesh.positions().len() as u32)
            .map(|v| 4 - spokes.of(v).len() as i64)
            .sum();
        assert_eq!(table.euler_characteristic(), characteristic);
        assert_eq!(sum, 4 * characteristic);
    }
}

/// What the library trimesh says of the same files: `is_watertight`, `is_winding_consistent`, `euler_number`,
/// `body_count`; the version stands beside the figures.
#[test]
fn watertight_and_winding_as_a_mesh_library_says() {
    let cases = include_str!("data/trimesh.txt");
    let mut seen = 0;
    for line in cases.lines().filter(|l| !l.starts_with('#')) {
        let w: Vec<&str> = line.split_whitespace().collect();
        let whole = file(w[0]);
        let mut faces: Vec<Vec<u32>> = whole.faces().map(<[u32]>::to_vec).collect();
        match w[1] {
            "cut" => drop(faces.remove(50)),
            "turned" => faces[50].reverse(),
            _ => {}
        }
        let mesh = Mesh::from_polygons(whole.positions().to_vec(), &faces).expect("a mesh");
        let result = audit(
            &mesh,
            &Options {
                quick: true,
                ..Options::default()
            },
        );
        let none = |id: &str| result.check(id).expect("the check").count == 0;
        assert_eq!(none("open-edges"), w[2] == "True", "{line}");
        assert_eq!(none("flipped-faces"), w[3] == "True", "{line}");
        assert_eq!(
            Adjacency::of(&mesh).euler_characteristic(),
            w[4].parse::<i64>().expect("a number"),
            "{line}"
        );
        assert_eq!(
            Shells::of(&mesh).count(),
            w[5].parse::<usize>().expect("a number"),
            "{line}"
        );
        seen += 1;
    }
    assert_eq!(seen, 6);
}
