//! The repairs, one function each. Each takes what the examination found and changes the work.

use std::collections::HashMap;

use super::work::Work;
use super::{Change, Kind};
use crate::audit::Examined;
use crate::audit::found::counted;
use crate::mesh::Mesh;
use crate::mesh::vector::mirrored;

fn change(repair: Kind, text: String, mut vertices: Vec<u32>, mut faces: Vec<u32>) -> Change {
    vertices.sort_unstable();
    faces.sort_unstable();
    Change {
        repair,
        count: if faces.is_empty() {
            vertices.len()
        } else {
            faces.len()
        },
        text,
        vertices,
        faces,
    }
}

/// Faces at fault, by the file's numbers.
fn faces_of(examined: &Examined, id: &str, numbers: &[u32]) -> Vec<u32> {
    let check = examined.audit.check(id);
    check.map_or_else(Vec::new, |c| {
        c.faces.iter().map(|&f| numbers[f as usize]).collect()
    })
}

pub(super) fn faces(
    work: &mut Work,
    mesh: &Mesh,
    numbers: &[u32],
    examined: &Examined,
    left: &mut Vec<String>,
) -> Option<Change> {
    let before = work.unused();
    let mut gone = Vec::new();
    let interior = examined.audit.check("interior-faces")?;
    // Open pieces inside are told but may be meant; they are not among the faces of the check.
    for &f in &interior.faces {
        gone.push(numbers[f as usize]);
    }
    gone.extend(faces_of(examined, "doubled-faces", numbers));
    gone.sort_unstable();
    gone.dedup();
    for &f in &gone {
        work.drop_face(f);
    }
    let dropped = gone.len();
    let degenerate = examined.audit.check("degenerate-faces")?;
    let mut tidied = 0;
    for &f in &degenerate.faces {
        if work.tidy_face(numbers[f as usize]) {
            tidied += 1;
            gone.push(numbers[f as usize]);
        } else if mesh.face(f as usize).len() > 2 {
            left.push(format!(
                "face {} has no area, but dropping it would leave a gap: move its vertices",
                numbers[f as usize]
            ));
        }
    }
    gone.sort_unstable();
    gone.dedup();
    // A vertex that lost its last face goes with it.
    let mut vertices = Vec::new();
    for v in work.unused() {
        if before.binary_search(&v).is_err() && !work.must_stay(v) {
            work.dropped[v as usize] = true;
            vertices.push(v);
        }
    }
    let text = format!(
        "dropped {} inside or doubled, dropped or tidied {} without area, dropped {} that they leave behind",
        counted(dropped, "face"),
        counted(tidied, "face"),
        counted(vertices.len(), "vertex")
    );
    Some(change(Kind::Faces, text, vertices, gone))
}

pub(super) fn weld(
    work: &mut Work,
    mesh: &Mesh,
    examined: &Examined,
    left: &mut Vec<String>,
) -> Option<Change> {
    let same = |v: u32| examined.same[v as usize];
    let place = |e: &[u32; 2]| {
        let [a, b] = e.map(same);
        [a.min(b), a.max(b)]
    };
    let mut at: HashMap<[u32; 2], usize> = HashMap::new();
    for e in &examined.unwelded {
        *at.entry(place(e)).or_default() += 1;
    }
    // Two edges in one place become one; with more it is not said which belong together.
    let (mut joined, mut many) = (Vec::new(), 0);
    for e in &examined.unwelded {
        if at[&place(e)] == 2 {
            joined.extend(*e);
        } else {
            many += 1;
        }
    }
    if many > 0 {
        left.push(format!(
            "{} open edges lie three or more in one place: join them by hand",
            many
        ));
    }
    // An edge whose ends share a place is collapsed.
    let short = examined
        .audit
        .check("duplicate-vertices")
        .map_or(&[][..], |c| &c.vertices);
    let table = crate::mesh::adjacency::Adjacency::of(mesh);
    joined.extend(
        short
            .iter()
            .copied()
            .filter(|&v| same(v) != v && table.between(v, same(v)).is_some()),
    );
    joined.sort_unstable();
    joined.dedup();
    let mut groups: HashMap<u32, u32> = HashMap::new();
    let mut vertices = Vec::new();
    for &v in &joined {
        // The first of a place stands for all.
        let into = *groups.entry(same(v)).or_insert(v);
        let into = if table.between(v, same(v)).is_some() {
            same(v)
        } else {
            into
        };
        if into == v {
            continue;
        }
        if work.must_stay(v) {
            left.push(format!(
                "vertex {v} shares its place but a line or curve of the file uses it"
            ));
            continue;
        }
        vertices.push(v);
        work.weld_later(v, into);
    }
    work.weld_all();
    let mut faces = Vec::new();
    for f in 0..work.face_count() as u32 {
        if work.touches(f, &vertices) && work.tidy_face(f) {
            faces.push(f);
        }
    }
    let text = format!(
        "joined {} to those in the same place{}",
        counted(vertices.len(), "vertex"),
        if faces.is_empty() {
            String::new()
        } else {
            format!(", which closed or simplified {}", counted(faces.len(), "face"))
        }
    );
    let count = vertices.len();
    let mut done = change(Kind::Weld, text, vertices, faces);
    done.count = count;
    Some(done)
}

pub(super) fn centre(work: &mut Work, examined: &Examined) -> Option<Change> {
    let plane = examined.plane?;
    let check = examined.audit.check("centre-line")?;
    let farthest = check
        .vertices
        .iter()
        .map(|&v| (work.positions[v as usize][0] - plane.x).abs())
        .fold(0.0, f64::max);
    for &v in &check.vertices {
        work.positions[v as usize][0] = plane.x;
    }
    let text = format!(
        "put {} onto the mirror plane x = {}, by up to {farthest:.5}",
        counted(check.vertices.len(), "vertex"),
        plane.x
    );
    Some(change(Kind::Centre, text, check.vertices.clone(), Vec::new()))
}

pub(super) fn mirror(
    work: &mut Work,
    examined: &Examined,
    from_left: Option<bool>,
    left: &mut Vec<String>,
) -> Option<Change> {
    let plane = examined.plane?;
    let mut moved = Vec::new();
    for pair in &examined.moved {
        let [a, b] = pair.vertices;
        let right = match from_left {
            Some(left) => {
                // The one that is farther to the wanted side: both may lie on one side of the plane.
                let a_is_left = work.positions[a as usize][0] > work.positions[b as usize][0];
                Some(if a_is_left == left { a } else { b })
            }
            None => pair.right,
        };
        let Some(right) = right else {
            left.push(format!(
                "vertices {a} and {b} are partners but differ by {:.5}, and neither is clearly right: choose with --from",
                pair.by
            ));
            continue;
        };
        let wrong = if right == a { b } else { a };
        work.positions[wrong as usize] = mirrored(work.positions[right as usize], plane.x);
        moved.push(wrong);
    }
    let text = format!(
        "moved {} to where their partners say",
        counted(moved.len(), "vertex")
    );
    Some(change(Kind::Mirror, text, moved, Vec::new()))
}

pub(super) fn turn(work: &mut Work, numbers: &[u32], examined: &Examined) -> Option<Change> {
    let faces = faces_of(examined, "flipped-faces", numbers);
    for &f in &faces {
        work.turn_face(f);
    }
    Some(change(
        Kind::Turn,
        format!("turned {} round", counted(faces.len(), "face")),
        Vec::new(),
        faces,
    ))
}

pub(super) fn loose(work: &mut Work, examined: &Examined, left: &mut Vec<String>) -> Option<Change> {
    let loose = &examined.audit.check("loose-vertices")?.vertices;
    let unused = work.unused();
    let mut gone = Vec::new();
    for &v in loose {
        if work.dropped[v as usize] || unused.binary_search(&v).is_err() {
            continue;
        }
        if work.must_stay(v) {
            left.push(format!(
                "vertex {v} has no face, but a line or curve of the file uses it"
            ));
        } else {
            work.dropped[v as usize] = true;
            gone.push(v);
        }
    }
    Some(change(
        Kind::Loose,
        format!("dropped {} without a face", counted(gone.len(), "vertex")),
        gone,
        Vec::new(),
    ))
}
