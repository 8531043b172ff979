//! Smoothing against OpenSubdiv 3.5.0 (Apache-2.0 with changes; Debian package libosd-dev), whose results are frozen in
//! `tests/data/smooth/opensubdiv.txt`; `opensubdiv.cpp` beside it made them and says how.
//!
//! Of its rules for borders ours is "edge only": a border is the curve of its own edges, a corner of one face no
//! exception. Where "edge and corner" gives the same it is compared too; on the open cages it must differ.

use std::fs;

use drawntrue::mesh::Mesh;
use drawntrue::mesh::obj::dress::Dress;
use drawntrue::mesh::obj::{Limits, read};
use drawntrue::smooth::{Crease, Plan, Smoothing, Values};

/// Twelve digits are frozen, of numbers below ten; both sides add up some tens of products.
const ROUNDING: f64 = 1e-10;

struct Block {
    file: String,
    kind: String,
    steps: u8,
    boundary: String,
    faces: usize,
    rows: Vec<[f64; 5]>,
}

fn folder() -> String {
    format!("{}/tests/data/smooth", env!("CARGO_MANIFEST_DIR"))
}

fn blocks() -> Vec<Block> {
    let text = fs::read_to_string(folder() + "/opensubdiv.txt").expect("frozen results");
    let mut lines = text.lines();
    assert_eq!(lines.next(), Some("# OpenSubdiv 3.5.0, made by opensubdiv.cpp"));
    let mut out: Vec<Block> = Vec::new();
    for line in lines {
        let words: Vec<&str> = line.split(' ').collect();
        if words[0] == "block" {
            out.push(Block {
                file: words[1].into(),
                kind: words[2].into(),
                steps: words[3].parse().unwrap(),
                boundary: words[4].into(),
                faces: words[6].parse().unwrap(),
                rows: Vec::new(),
            });
        } else {
            let mut row = [0.0; 5];
            for (k, word) in words.iter().enumerate() {
                row[k] = word.parse().unwrap();
            }
            out.last_mut().unwrap().rows.push(row);
        }
    }
    out
}

fn cage(file: &str) -> (Mesh, Vec<Crease>, Dress) {
    let text = fs::read(format!("{}/{file}", folder())).expect("a cage");
    let mesh = read(&text, Limits::default()).unwrap();
    let creases = String::from_utf8_lossy(&text)
        .lines()
        .filter_map(|l| l.strip_prefix("#crease "))
        .map(|l| {
            let n: Vec<f32> = l.split(' ').map(|w| w.parse().unwrap()).collect();
            Crease {
                edge: [n[0] as u32 - 1, n[1] as u32 - 1],
                // From 10 on an edge is sharp for ever there.
                sharpness: if n[2] >= 10.0 { f32::INFINITY } else { n[2] },
            }
        })
        .collect();
    let dress = Dress::read(&text).unwrap();
    (mesh, creases, dress)
}

/// Our rows: positions, with texture coordinates where the block has them, each pair once.
fn ours(block: &Block) -> (usize, Vec<[f64; 5]>) {
    let (mesh, creases, dress) = cage(&block.file);
    let plan = match block.kind.as_str() {
        "limit" => Plan::limit(&mesh, &creases, block.faces),
        _ => Plan::new(&mesh, Smoothing::Steps(block.steps), &creases),
    }
    .unwrap();
    assert_eq!(plan.steps(), block.steps);
    let fine = plan.mesh(&mesh).unwrap();
    let row = |p: [f64; 3], t: [f64; 3]| [p[0], p[1], p[2], t[0], t[1]];
    let mut rows: Vec<[f64; 5]> = if block.kind == "uv" {
        let given = Values {
            at: dress.values,
            corners: dress.corners,
        };
        let values = plan.values(&mesh, &given, |_| 0).unwrap();
        let corners = fine.corners().iter().zip(&values.corners);
        corners
            .map(|(&v, &t)| row(fine.positions()[v as usize], values.at[t as usize]))
            .collect()
    } else {
        fine.positions().iter().map(|&p| row(p, [0.0; 3])).collect()
    };
    let order = |a: &[f64; 5], b: &[f64; 5]| a.partial_cmp(b).unwrap();
    rows.sort_by(order);
    if block.kind == "uv" {
        rows.dedup();
    }
    (fine.face_count(), rows)
}

/// The greatest distance of a frozen row from ours, each taken once.
fn farthest(frozen: &[[f64; 5]], ours: &[[f64; 5]]) -> f64 {
    let apart = |a: &[f64; 5], b: &[f64; 5]| (0..5).map(|i| (a[i] - b[i]).abs()).fold(0.0, f64::max);
    let mut left: Vec<&[f64; 5]> = ours.iter().collect();
    let mut worst = 0.0f64;
    for row in frozen {
        let nearest = (0..left.len()).min_by(|&i, &j| apart(row, left[i]).total_cmp(&apart(row, left[j])));
        let Some(nearest) = nearest else {
            return f64::INFINITY;
        };
        worst = worst.max(apart(row, left.swap_remove(nearest)));
    }
    worst
}

#[test]
fn steps_limits_creases_and_texture_coordinates_agree() {
    let mut compared = 0;
    let mut wrong = Vec::new();
    for block in blocks() {
        let (faces, rows) = ours(&block);
        let name = format!("{} {} {} {}", block.file, block.kind, block.steps, block.boundary);
        assert_eq!((faces, rows.len()), (block.faces, block.rows.len()), "{name}");
        let off = farthest(&block.rows, &rows);
        let has_corners = matches!(block.file.as_str(), "border.obj" | "uv.obj");
        let corner_of_one_face = has_corners && block.boundary == "edge-and-corner";
        if corner_of_one_face != (off > ROUNDING) {
            wrong.push(format!("{name}: {off:e}"));
        }
        compared += 1;
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    // Four cages with steps, three of them with limits, one with texture coordinates; one and two steps, two rules.
    assert_eq!(compared, 4 * (4 + 3 + 1));
}
