//! Parts and landmarks of outlines: of a body whose measures are known, and of a human figure made by others.

use std::path::Path;

use drawntrue::anatomy::{Anatomy, Aspect, Frame, Region, Side};
use drawntrue::mesh::Mesh;
use drawntrue::profile::Outline;
use drawntrue::silhouette::{Azimuth, Silhouette};
use drawntrue::space::{Point, ViewUnits};

/// A tube of rings around a line, closed at both ends: radii and places along it.
fn tube(
    at: &[([f64; 3], f64)],
    across: [[f64; 3]; 2],
    positions: &mut Vec<[f64; 3]>,
    faces: &mut Vec<Vec<u32>>,
) {
    const AROUND: u32 = 24;
    let base = positions.len() as u32;
    for (centre, radius) in at {
        for k in 0..AROUND {
            let turn = f64::from(k) / f64::from(AROUND) * std::f64::consts::TAU;
            let (c, s) = (radius * turn.cos(), radius * turn.sin());
            positions.push([0, 1, 2].map(|i| centre[i] + c * across[0][i] + s * across[1][i]));
        }
    }
    let rings = at.len() as u32;
    for r in 0..rings - 1 {
        for k in 0..AROUND {
            let next = (k + 1) % AROUND;
            let (a, b) = (base + r * AROUND, base + (r + 1) * AROUND);
            faces.push(vec![a + k, a + next, b + next, b + k]);
        }
    }
    faces.push((0..AROUND).rev().map(|k| base + k).collect());
    faces.push((0..AROUND).map(|k| base + (rings - 1) * AROUND + k).collect());
}

/// A body of tubes without names, 100 units tall: ankles at 5, knees at 26, crotch near 46, waist at 60, armpits near 75,
/// neck at 85, arms of 36 units that hang by `hang_deg`, with a wrist at three quarters of them.
fn body(hang_deg: f64) -> Mesh {
    const FLAT: [[f64; 3]; 2] = [[1.0, 0.0, 0.0], [0.0, 0.0, 1.0]];
    let (mut positions, mut faces) = (Vec::new(), Vec::new());
    let upright = |list: &[(f64, f64)], x: f64| -> Vec<([f64; 3], f64)> {
        list.iter().map(|(y, r)| ([x, *y, 0.0], *r)).collect()
    };
    let leg = [
        (0.0, 2.6),
        (5.0, 1.8),
        (17.0, 3.4),
        (26.0, 2.6),
        (40.0, 4.4),
        (48.0, 4.6),
    ];
    for x in [-5.2, 5.2] {
        tube(&upright(&leg, x), FLAT, &mut positions, &mut faces);
    }
    let trunk = [
        (45.9, 9.6),
        (50.0, 10.0),
        (60.0, 7.0),
        (74.0, 9.0),
        (80.0, 8.0),
        (83.0, 3.0),
    ];
    tube(&upright(&trunk, 0.0), FLAT, &mut positions, &mut faces);
    let head = [
        (82.0, 3.0),
        (85.0, 2.6),
        (88.0, 4.2),
        (93.0, 6.0),
        (97.0, 5.0),
        (100.0, 1.0),
    ];
    tube(&upright(&head, 0.0), FLAT, &mut positions, &mut faces);
    let (s, c) = hang_deg.to_radians().sin_cos();
    for side in [-1.0, 1.0] {
        let arm: Vec<([f64; 3], f64)> = [
            (0.0, 2.8),
            (15.0, 2.4),
            (21.0, 2.5),
            (28.0, 1.5),
            (31.0, 2.3),
            (36.0, 1.0),
        ]
        .iter()
        .map(|(t, r)| ([side * (8.0 + t * c), 78.0 - t * s, 0.0], *r))
        .collect();
        tube(
            &arm,
            [[s * side, c, 0.0], [0.0, 0.0, 1.0]],
            &mut positions,
            &mut faces,
        );
    }
    Mesh::from_polygons(positions, faces.iter().map(Vec::as_slice)).expect("a mesh")
}

fn frame(height: f64) -> Frame {
    Frame {
        ground: 0.0,
        height,
        crotch: None,
        neck: None,
    }
}

fn divided(mesh: &Mesh, azimuth: Azimuth) -> Anatomy {
    let outline = Silhouette::new(mesh, azimuth).outline(700);
    Anatomy::of(&outline, &frame(100.0), Aspect::of(azimuth))
}

#[track_caller]
fn at(anatomy: &Anatomy, name: &str, y: f64, within: f64) {
    let found = anatomy.landmark(name).unwrap_or_else(|| panic!("no {name}"));
    assert!(
        (found.y - y).abs() <= within,
        "{name} at {} instead of {y}",
        found.y
    );
    assert!((0.0..=1.0).contains(&found.confidence));
}

#[test]
fn landmarks_of_a_known_body() {
    let hanging = divided(&body(70.0), Azimuth::FRONT);
    at(&hanging, "ground", 0.0, 0.01);
    at(&hanging, "crown", 100.0, 0.01);
    at(&hanging, "ankle", 5.0, 0.3);
    at(&hanging, "knee", 26.0, 0.3);
    at(&hanging, "waist", 60.0, 0.3);
    at(&hanging, "neck", 85.0, 0.3);
    // The legs of the trunk's tube begin at 45.9.
    at(&hanging, "crotch", 45.9, 0.3);
    let (s, _) = 70f64.to_radians().sin_cos();
    at(&hanging, "wrist", 78.0 - 28.0 * s, 0.8);
    at(&hanging, "fingertip", 78.0 - 36.0 * s, 0.8);
    // Arms that lie flat have no heights.
    let flat = divided(&body(10.0), Azimuth::FRONT);
    assert!(flat.landmark("wrist").is_none() && flat.landmark("fingertip").is_none());
    at(&flat, "armpit", 72.5, 3.0);
    // A straight arm shows no elbow.
    assert!(hanging.landmark("elbow").is_none());
}

/// Every part lies where it was built, at any angle of the arms, on a mesh without names.
#[test]
fn parts_are_where_they_were_built() {
    for degrees in [0.0, 30.0, 50.0, 75.0] {
        let a = divided(&body(degrees), Azimuth::FRONT);
        let region = |x: f64, y: f64| a.part_at(x, y).map(|p| (p.region, p.side));
        let (s, c) = f64::to_radians(degrees).sin_cos();
        for (side, x) in [(Side::Left, -1.0), (Side::Right, 1.0)] {
            let arm = |t: f64| region(x * (8.0 + t * c), 78.0 - t * s);
            assert_eq!(arm(24.0), Some((Region::Forearm, Some(side))), "{degrees}");
            assert_eq!(arm(33.0), Some((Region::Hand, Some(side))), "{degrees}");
            assert_eq!(region(x * 5.2, 35.0), Some((Region::Thigh, Some(side))));
            assert_eq!(region(x * 5.2, 15.0), Some((Region::LowerLeg, Some(side))));
            assert_eq!(region(x * 5.2, 2.0), Some((Region::Foot, Some(side))));
        }
        assert_eq!(region(0.0, 60.0), Some((Region::Trunk, None)));
        assert_eq!(region(0.0, 85.0), Some((Region::Neck, None)));
        assert_eq!(region(0.0, 94.0), Some((Region::Head, None)));
        assert_eq!(a.arms.len(), 2);
    }
}

/// What is not there is not named: without arms, without a head.
#[test]
fn what_cannot_be_seen_is_left_out() {
    let whole = body(70.0);
    let no_head: Vec<bool> = whole
        .faces()
        .map(|f| f.iter().all(|&v| whole.positions()[v as usize][1] < 80.5))
        .collect();
    let a = divided(&whole.keep_faces(&no_head), Azimuth::FRONT);
    assert!(a.landmark("crown").is_none() && a.landmark("neck").is_none());
    let no_arms: Vec<bool> = whole
        .faces()
        .map(|f| f.iter().all(|&v| whole.positions()[v as usize][0].abs() < 10.5))
        .collect();
    let a = divided(&whole.keep_faces(&no_arms), Azimuth::FRONT);
    assert!(a.arms.is_empty() && a.landmark("fingertip").is_none() && a.landmark("wrist").is_none());
    at(&a, "knee", 26.0, 0.3);
}

/// The outlines of a file: `view NAME`, `ring COUNT`, then points.
fn outlines(file: &str) -> Vec<Outline<ViewUnits>> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data")
        .join(file);
    let text = std::fs::read_to_string(path).expect("the outlines");
    let mut out: Vec<Outline<ViewUnits>> = Vec::new();
    for line in text.lines() {
        let words: Vec<&str> = line.split(' ').collect();
        match words[0] {
            "view" => out.push(Outline { rings: Vec::new() }),
            "ring" => out.last_mut().expect("a view").rings.push(Vec::new()),
            _ => {
                let number = |k: usize| words[k].parse::<f64>().expect("a number");
                let ring = out.last_mut().and_then(|o| o.rings.last_mut()).expect("a ring");
                ring.push(Point::new(number(0), number(1)));
            }
        }
    }
    out
}

/// Landmarks of a human figure made by others (tests/data/human-LICENSE.txt) against published ratios of the stature:
/// Drillis and Contini 1966, in Winter 2009, figure 4.1 (knee 0.285, ankle 0.039), ANSUR II 2012
/// (NATICK/TR-15/007; crotch 0.480 to 0.482). The knee's and the ankle's dent lie near the joint, not at it: a range.
#[test]
fn a_human_figure_agrees_with_published_ratios() {
    let views = outlines("human-outlines.txt");
    let bounds = views[0].bounds().expect("a figure");
    let tall = bounds.height();
    let base = Frame {
        ground: bounds.y0,
        ..frame(tall)
    };
    let front = Anatomy::of(&views[0], &base, Aspect::Frontal);
    let y = |a: &Anatomy, name: &str| a.landmark(name).map(|l| (l.y - bounds.y0) / tall);
    let side = Anatomy::of(
        &views[1],
        &Frame {
            crotch: front.landmark("crotch").map(|l| l.y),
            neck: front.landmark("neck").map(|l| l.y),
            ..base
        },
        Aspect::Profile { forward: 1.0 },
    );
    let near = |found: Option<f64>, published: f64, range: f64, name: &str| {
        let found = found.unwrap_or_else(|| panic!("no {name}"));
        assert!(
            (found - published).abs() <= range,
            "{name} {found} against {published}"
        );
    };
    near(y(&front, "crotch"), 0.481, 0.03, "crotch");
    near(y(&front, "knee"), 0.285, 0.04, "knee");
    // Its head is an egg: no chin is seen, and none is guessed.
    assert!(y(&side, "chin").is_none());
    near(y(&front, "ankle"), 0.039, 0.04, "ankle");
    near(y(&side, "knee"), 0.285, 0.05, "knee from the side");
    // Chin 0.870, acromion 0.818: the neck lies about there.
    assert!(y(&front, "neck").is_some_and(|n| (0.8..0.9).contains(&n)));
    // Acromion 0.818; the armpit lies below it.
    assert!(y(&front, "armpit").is_some_and(|a| (0.68..0.818).contains(&a)));
}

/// The demo's sleeves end in cuffs, out of which narrower hands come: the arms begin at the body all the same, on both
/// sides and from both sides alike.
#[test]
fn a_sleeve_is_part_of_the_arm() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mesh = drawntrue::mesh::obj::read_file(&root.join("refs/tamsel.obj"), Default::default())
        .expect("the demo mesh");
    for azimuth in [Azimuth::FRONT, Azimuth::BACK] {
        let outline = Silhouette::new(&mesh, azimuth).outline(1000);
        let height = outline.bounds().expect("a figure").height();
        let found = Anatomy::of(&outline, &frame(height), Aspect::Frontal);
        let begins: Vec<f64> = found.arms.iter().map(|a| a.axis[0].at.x.abs() / height).collect();
        assert_eq!(begins.len(), 2, "{begins:?}");
        // The trunk ends and the sleeves begin some 14 to 20 of 152 units from the axis, the cuffs end at 42.
        assert!(begins.iter().all(|x| (0.08..0.16).contains(x)), "{begins:?}");
    }
}
