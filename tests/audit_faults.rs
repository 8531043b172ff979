//! One fault injected at random into sound cages, one connected and one of several shells: it is found, nothing else is
//! told, and where it can be repaired without taste, repairing leaves nothing to find.

mod shapes;

use std::sync::LazyLock;

use drawntrue::audit::model::{Audit, Outcome};
use drawntrue::audit::{Options, audit};
use drawntrue::limbs::{EdgeLoops, find, joints::rings};
use drawntrue::mesh::adjacency::Adjacency;
use drawntrue::mesh::near::Near;
use drawntrue::mesh::obj::{Limits, read_file};
use drawntrue::mesh::shells::Shells;
use drawntrue::mesh::{Mesh, UpAxis};
use drawntrue::repair::{ALL, Wanted, repair};
use proptest::prelude::*;

const QUICK: fn() -> Options = || Options {
    quick: true,
    ..Options::default()
};

/// A sound cage and rings of vertices across which a wall can be put.
struct Cage {
    positions: Vec<[f64; 3]>,
    faces: Vec<Vec<u32>>,
    rings: Vec<Vec<u32>>,
}

fn parts(mesh: &Mesh) -> (Vec<[f64; 3]>, Vec<Vec<u32>>) {
    (
        mesh.positions().to_vec(),
        mesh.faces().map(<[u32]>::to_vec).collect(),
    )
}

static CONNECTED: LazyLock<Cage> = LazyLock::new(|| {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("refs/tamsel.obj");
    let mesh = read_file(&path, Limits::default()).expect("the demo's cage");
    let table = Adjacency::of(&mesh);
    let loops = EdgeLoops::of(&mesh, &table, &table.spokes(mesh.positions().len()));
    let near = Near::new(mesh.positions(), 2.0);
    let extent = mesh.bounds().expect("positions");
    let limbs = find(&mesh, &table, &Shells::of(&mesh), &near, 0.0, &extent).expect("a figure");
    let rings = (0..4)
        .flat_map(|l| rings(&mesh, &loops, &limbs, l))
        .map(|r| loops.vertices(r.index).to_vec())
        .collect();
    let (positions, faces) = parts(&mesh);
    Cage {
        positions,
        faces,
        rings,
    }
});

/// A trunk on the plane and two arms beside it, overlapping.
static SHELLS: LazyLock<Cage> = LazyLock::new(|| {
    let (rows, columns) = (11, 12);
    let mut cage = Cage {
        positions: Vec::new(),
        faces: Vec::new(),
        rings: Vec::new(),
    };
    for (shift, side, size) in [
        (0.0, 1.0, [20.0, 60.0, 12.0]),
        (35.0, 1.0, [22.0, 7.0, 8.0]),
        (35.0, -1.0, [22.0, 7.0, 8.0]),
    ] {
        let (positions, faces) = parts(&shapes::ellipsoid(size[0], size[1], size[2], rows, columns));
        let first = cage.positions.len() as u32;
        // Written with five decimals, so that the halves are exact and −0 is 0.
        let round = |c: f64| (c * 1e5).round() / 1e5 + 0.0;
        cage.positions.extend(
            positions
                .iter()
                .map(|p| [side * round(p[0] + shift), round(p[1]), round(p[2])].map(|c| c + 0.0)),
        );
        for mut face in faces {
            if side < 0.0 {
                face.reverse();
            }
            cage.faces.push(face.iter().map(|v| first + v).collect());
        }
        cage.rings.extend((1..rows as u32 - 1).map(|i| {
            (0..columns as u32)
                .map(|j| first + i * columns as u32 + j)
                .collect()
        }));
    }
    // The ellipsoid's caps may run inward: all faces outward.
    let mesh = Mesh::from_polygons(cage.positions.clone(), &cage.faces).expect("a cage");
    let turned = audit(&mesh, &QUICK())
        .check("flipped-faces")
        .expect("the check")
        .faces
        .clone();
    for f in turned {
        cage.faces[f as usize].reverse();
    }
    cage
});

#[derive(Debug, Clone, Copy, PartialEq)]
enum Fault {
    Drift,
    Moved,
    Hole,
    Flipped,
    Split,
    NGon,
    Doubled,
    Wall,
    Collapsed,
    Loose,
}

const FAULTS: [Fault; 10] = [
    Fault::Drift,
    Fault::Moved,
    Fault::Hole,
    Fault::Flipped,
    Fault::Split,
    Fault::NGon,
    Fault::Doubled,
    Fault::Wall,
    Fault::Collapsed,
    Fault::Loose,
];

/// What must be told: the check, its vertices, edges or faces, and checks that follow from the fault.
struct Truth {
    id: &'static str,
    vertices: Option<Vec<u32>>,
    faces: Option<Vec<u32>>,
    edges: Option<usize>,
    also: &'static [&'static str],
}

fn told(id: &'static str) -> Truth {
    Truth {
        id,
        vertices: None,
        faces: None,
        edges: None,
        also: &[],
    }
}

#[allow(clippy::too_many_lines, reason = "one arm a fault")]
fn inject(cage: &mut Cage, fault: Fault, pick: usize, by: f64) -> Truth {
    let height = 150.0;
    let face = pick % cage.faces.len();
    let vertices = cage.positions.len() as u32;
    match fault {
        Fault::Drift => {
            let centre: Vec<u32> = (0..vertices)
                .filter(|&v| cage.positions[v as usize][0] == 0.0)
                .collect();
            let v = centre[pick % centre.len()];
            // A thousandth of the height and more.
            cage.positions[v as usize][0] += 0.001 * height * (1.0 + by);
            Truth {
                vertices: Some(vec![v]),
                ..told("centre-line")
            }
        }
        Fault::Moved => {
            let beside: Vec<u32> = (0..vertices)
                .filter(|&v| cage.positions[v as usize][0] != 0.0)
                .collect();
            let v = beside[pick % beside.len()];
            let [x, y, z] = cage.positions[v as usize];
            let u = cage
                .positions
                .iter()
                .position(|p| *p == [-x, y, z])
                .expect("a partner") as u32;
            let d = 0.002 * height * (1.0 + by);
            cage.positions[v as usize] = [x, y + d, z - d];
            Truth {
                vertices: Some(vec![v.min(u), v.max(u)]),
                ..told("mirror")
            }
        }
        Fault::Hole => {
            let gone = cage.faces.remove(face);
            Truth {
                edges: Some(gone.len()),
                ..told("open-edges")
            }
        }
        Fault::Flipped => {
            cage.faces[face].reverse();
            Truth {
                faces: Some(vec![face as u32]),
                ..told("flipped-faces")
            }
        }
        Fault::Split => {
            let corner = pick % cage.faces[face].len();
            let v = cage.faces[face][corner];
            cage.faces[face][corner] = vertices;
            cage.positions.push(cage.positions[v as usize]);
            Truth {
                vertices: Some(vec![v, vertices]),
                also: &["open-edges"],
                ..told("duplicate-vertices")
            }
        }
        Fault::NGon => {
            // Two quads that share an edge become one face of six corners.
            let quads = |f: &[u32]| f.len() == 4;
            let start = (0..cage.faces.len()).map(|i| (face + i) % cage.faces.len());
            let (a, b, i, j) = start
                .filter(|&a| quads(&cage.faces[a]))
                .find_map(|a| {
                    (0..4).find_map(|i| {
                        let (p, q) = (cage.faces[a][i], cage.faces[a][(i + 1) % 4]);
                        cage.faces
                            .iter()
                            .enumerate()
                            .filter(|(b, f)| *b != a && quads(f))
                            .find_map(|(b, f)| {
                                (0..4)
                                    .find(|&j| f[j] == q && f[(j + 1) % 4] == p)
                                    .map(|j| (a, b, i, j))
                            })
                    })
                })
                .expect("two quads");
            let (fa, fb) = (cage.faces[a].clone(), cage.faces[b].clone());
            let mut joined: Vec<u32> = (1..4).map(|k| fa[(i + k) % 4]).collect();
            joined.push(fa[i]);
            joined.extend((2..4).map(|k| fb[(j + k) % 4]));
            cage.faces[a] = joined;
            cage.faces.remove(b);
            let at = if b < a { a - 1 } else { a };
            Truth {
                faces: Some(vec![at as u32]),
                ..told("n-gons")
            }
        }
        Fault::Doubled => {
            let mut twin = cage.faces[face].clone();
            twin.rotate_left(1);
            cage.faces.push(twin);
            Truth {
                faces: Some(vec![cage.faces.len() as u32 - 1]),
                also: &["non-manifold-edges"],
                ..told("doubled-faces")
            }
        }
        Fault::Wall => {
            let ring = cage.rings[pick % cage.rings.len()].clone();
            let from = cage.faces.len() as u32;
            cage.faces
                .extend((1..ring.len() - 1).map(|i| vec![ring[0], ring[i], ring[i + 1]]));
            Truth {
                faces: Some((from..cage.faces.len() as u32).collect()),
                also: &["non-manifold-edges"],
                ..told("interior-faces")
            }
        }
        Fault::Collapsed => {
            let (a, b) = (cage.faces[face][0], cage.faces[face][1]);
            cage.faces.push(vec![a, b, b]);
            Truth {
                faces: Some(vec![cage.faces.len() as u32 - 1]),
                ..told("degenerate-faces")
            }
        }
        Fault::Loose => {
            cage.positions.push([1.0, 2.0, by]);
            Truth {
                vertices: Some(vec![vertices]),
                ..told("loose-vertices")
            }
        }
    }
}

fn text(cage: &Cage) -> Vec<u8> {
    let mut out = String::from("# cage\ng all\n");
    for p in &cage.positions {
        out += &format!("v {} {} {}\n", p[0], p[1], p[2]);
    }
    for f in &cage.faces {
        out += "f";
        for v in f {
            out += &format!(" {}/{}", v + 1, v + 1);
        }
        out += "\n";
    }
    out.into_bytes()
}

fn found(cage: &Cage) -> Audit {
    audit(
        &Mesh::from_polygons(cage.positions.clone(), &cage.faces).expect("a mesh"),
        &QUICK(),
    )
}

fn copy(cage: &Cage) -> Cage {
    Cage {
        positions: cage.positions.clone(),
        faces: cage.faces.clone(),
        rings: cage.rings.clone(),
    }
}

fn wanted() -> Wanted {
    Wanted {
        kinds: ALL.to_vec(),
        from_left: None,
        up: UpAxis::Y,
        limits: Limits::default(),
        audit: QUICK(),
    }
}

#[test]
fn sound_cages_are_sound_and_repairing_them_changes_no_byte() {
    for cage in [&*CONNECTED, &*SHELLS] {
        assert!(cage.rings.len() > 10);
        let result = found(cage);
        for check in &result.checks {
            assert_ne!(check.outcome, Outcome::Fail, "{}: {}", check.id, check.text);
        }
        let before = text(cage);
        let done = repair(&before, &wanted()).expect("repaired");
        assert!(done.changes.is_empty(), "{:?}", done.changes);
        assert_eq!(done.text, before);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn one_fault_is_found_and_nothing_else(kind in 0..FAULTS.len(), several in any::<bool>(), pick in any::<u32>(), by in 0.0..1.0_f64) {
        let fault = FAULTS[kind];
        let sound = if several { &*SHELLS } else { &*CONNECTED };
        let base = found(sound);
        let mut cage = copy(sound);
        let truth = inject(&mut cage, fault, pick as usize, by);
        let got = found(&cage);
        for (check, before) in got.checks.iter().zip(&base.checks) {
            if check.id == truth.id {
                prop_assert!(check.outcome > Outcome::Pass, "{fault:?}: {} was not told", check.id);
                if let Some(v) = &truth.vertices {
                    prop_assert_eq!(&check.vertices, v);
                }
                if let Some(f) = &truth.faces {
                    prop_assert_eq!(&check.faces, f);
                }
                if let Some(n) = truth.edges {
                    prop_assert_eq!(check.edges.len(), n);
                }
            } else if !truth.also.contains(&check.id) {
                prop_assert_eq!(check.outcome, before.outcome, "{:?}: {} {}", fault, check.id, check.text);
                prop_assert_eq!(check.count, before.count, "{:?}: {} {}", fault, check.id, check.text);
            }
        }
        // A hole and a face of six corners take taste.
        if matches!(fault, Fault::Hole | Fault::NGon) {
            return Ok(());
        }
        let before = text(&cage);
        let mut how = wanted();
        if fault == Fault::Moved {
            // Which side is right is for the modeller to say.
            let moved = truth.vertices.as_ref().expect("two vertices").iter().copied()
                .find(|&v| cage.positions[v as usize] != sound.positions[v as usize]).expect("one moved");
            how.from_left = Some(cage.positions[moved as usize][0] < 0.0);
        }
        let done = repair(&before, &how).expect("repaired");
        prop_assert!(!done.changes.is_empty(), "{fault:?}");
        for check in &done.audit.checks {
            prop_assert_ne!(check.outcome, Outcome::Fail, "{:?} left: {} {}", fault, check.id, &check.text);
        }
        // Everything is back where it was, but for the order of a turned face's corners.
        let now = drawntrue::mesh::obj::read(&done.text, Limits::default()).expect("a mesh");
        prop_assert_eq!(now.positions(), &sound.positions[..]);
        prop_assert_eq!(now.face_count(), sound.faces.len());
    }
}
