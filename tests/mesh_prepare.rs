//! A mesh from its file to what is measured: groups, axes, drawing planes, mirroring, in their one order.

use std::path::Path;

use drawntrue::mesh::obj::{Limits, read, read_file};
use drawntrue::mesh::prepare::{Preparation, prepare};
use drawntrue::mesh::select::Choice;
use drawntrue::mesh::{Axes, Mesh, UpAxis};

/// The half of a box (x from 0 to 1), z up, open at x = 0, with a drawing plane and a stand.
const HALF_BOX: &str = "\
    o sheet\nv -3 2 0\nv 3 2 0\nv 3 2 5\nv -3 2 5\nf 1 2 3 4\n\
    o Figure\nv 0 -1 0\nv 1 -1 0\nv 1 -1 4\nv 0 -1 4\nv 0 1 0\nv 1 1 0\nv 1 1 4\nv 0 1 4\n\
    f 5 6 7 8\nf 10 9 12 11\nf 6 10 11 7\nf 8 7 11 12\nf 9 10 6 5\n\
    o stand\nv 0 0 -1\nv 1 0 -1\nv 1 1 -1\nf 13 14 15\n";

fn half_box() -> Mesh {
    read(HALF_BOX.as_bytes(), Limits::default()).unwrap()
}

#[test]
fn a_half_in_a_busy_file_becomes_a_whole_figure() {
    let choice = Choice {
        skip_groups: vec!["Stand".into()],
        ..Choice::default()
    };
    let preparation = Preparation {
        axes: Axes::usual(UpAxis::Z),
        choice,
        mirror: true,
    };
    let noted = prepare(half_box(), &preparation).unwrap();
    let extent = noted.mesh.bounds_of_faces().unwrap();
    assert_eq!((extent.min, extent.max), ([-1.0, 0.0, -1.0], [1.0, 4.0, 1.0]));
    // 15 vertices of the file and the mirror images of four.
    assert_eq!(noted.mesh.positions().len(), 19);
    assert_eq!(noted.mesh.face_count(), 10);
    assert_eq!(noted.mesh.positions()[4], [0.0, 0.0, 1.0]);
    assert!(
        noted.notes[0].contains("drawing plane") && noted.notes[0].contains("\"sheet\""),
        "{:?}",
        noted.notes
    );
    assert!(noted.notes[1].contains("joined 4 vertices"), "{:?}", noted.notes);
}

#[test]
fn named_groups_are_kept_even_if_they_are_flat() {
    let choice = Choice {
        groups: vec!["sheet".into(), "figure".into()],
        ..Choice::default()
    };
    let noted = prepare(
        half_box(),
        &Preparation {
            axes: Axes::usual(UpAxis::Z),
            choice,
            mirror: false,
        },
    )
    .unwrap();
    assert_eq!(noted.mesh.face_count(), 6);
    assert!(noted.notes.is_empty());
}

#[test]
fn half_of_the_animal_mirrors_to_its_width() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/animal.obj");
    let animal = read_file(&path, Limits::default()).unwrap();
    let whole = prepare(
        animal.clone(),
        &Preparation {
            mirror: true,
            ..Preparation::default()
        },
    );
    assert!(
        whole.unwrap_err().to_string().contains("half"),
        "a whole animal is no half"
    );

    // Cut it at x = c between its vertices: drop what reaches beyond, push the ragged border onto the plane.
    let reach = |m: &Mesh, f: usize| {
        m.face(f)
            .iter()
            .filter(|&&v| m.positions()[v as usize][0] > 0.0)
            .count()
    };
    let keep: Vec<bool> = (0..animal.face_count()).map(|f| reach(&animal, f) > 0).collect();
    let mut positions = animal.positions().to_vec();
    positions.iter_mut().for_each(|p| p[0] = p[0].max(0.0));
    let faces: Vec<&[u32]> = animal
        .faces()
        .zip(&keep)
        .filter(|(_, keep)| **keep)
        .map(|(face, _)| face)
        .collect();
    let half = Mesh::from_polygons(positions, faces.iter().copied()).unwrap();
    let noted = prepare(
        half.clone(),
        &Preparation {
            mirror: true,
            ..Preparation::default()
        },
    )
    .unwrap();
    let (given, made) = (
        half.bounds_of_faces().unwrap(),
        noted.mesh.bounds_of_faces().unwrap(),
    );
    assert_eq!(made.min, [-given.max[0], given.min[1], given.min[2]]);
    assert_eq!(made.max, given.max);
    assert_eq!(
        noted.mesh.positions()[..half.positions().len()],
        *half.positions()
    );
}
