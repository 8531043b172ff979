//! Silhouettes of shapes whose silhouettes are known in closed form.

mod shapes;

use std::f64::consts::PI;

use drawntrue::profile::RowSpans;
use drawntrue::silhouette::{Azimuth, Silhouette, silhouettes};
use proptest::prelude::*;
use shapes::{capsule, cube, disc, ellipsoid, flat, latitude, polygon_area, torus};

/// A few dozen roundings on numbers of size one to ten.
const ROUNDING: f64 = 1e-13;

/// Azimuths that matter: the quarter turns and some between.
const TURNS: [f64; 8] = [0.0, 90.0, 180.0, -90.0, 17.0, 45.0, 123.4, 301.0];

fn ends(rows: &RowSpans, i: usize) -> Vec<(f64, f64)> {
    rows.row(i).iter().map(|s| (s.x0, s.x1)).collect()
}

fn area(polygons: &[Vec<(f64, f64)>]) -> f64 {
    Silhouette::new(&flat(polygons), Azimuth::FRONT).projected_area()
}

// Ellipsoid widths, torus and capsule areas, cube: elementary geometry; no outside source needed.

#[test]
fn ellipsoid_is_as_wide_as_the_formula_says_at_every_turn() {
    let (a, b, c, rings, n) = (1.3, 2.0, 0.7, 63, 64);
    let views = silhouettes(&ellipsoid(a, b, c, rings, n), &TURNS.map(Azimuth::from_degrees));
    let ys: Vec<f64> = (0..rings).map(|i| b * latitude(i, rings).sin()).collect();
    for view in &views {
        let turn = view.azimuth().degrees().to_radians();
        let half = (a * a * turn.cos().powi(2) + c * c * turn.sin().powi(2)).sqrt();
        let rows = view.row_spans(&ys);
        for (i, &y) in ys.iter().enumerate() {
            let full = 2.0 * half * (1.0 - y * y / (b * b)).sqrt();
            let width = rows.solid_width(i);
            // In a ring's own height the section is the n-gon inscribed in the true one: no wider, and narrower by at
            // most the factor cos(π/n); at quarter turns vertices lie on the extremes.
            let quarter = view.azimuth().degrees() % 90.0 == 0.0;
            let least = if quarter {
                full
            } else {
                full * (PI / n as f64).cos()
            };
            assert!(
                width <= full + ROUNDING && width >= least - ROUNDING,
                "turn {turn}, y {y}: {width}, not {full}"
            );
        }
    }
}

#[test]
fn ellipsoid_between_rings_stays_within_its_chords() {
    let (a, b, rings) = (1.3, 2.0, 63);
    let view = Silhouette::new(&ellipsoid(a, b, 0.7, rings, 64), Azimuth::FRONT);
    let ys: Vec<f64> = (0..997)
        .map(|i| b * (-0.99 + 1.98 * f64::from(i) / 996.0))
        .collect();
    let rows = view.row_spans(&ys);
    // A chord over the angle δ of the unit circle keeps at least cos(δ/2) from the centre.
    let sag = (PI / (rings + 1) as f64 / 2.0).cos();
    for (i, &y) in ys.iter().enumerate() {
        let half = |k: f64| 2.0 * a * (k * k - y * y / (b * b)).max(0.0).sqrt();
        let width = rows.solid_width(i);
        assert!(
            width <= half(1.0) + ROUNDING && width >= half(sag) - ROUNDING,
            "y {y}: {width}"
        );
    }
}

#[test]
fn torus_keeps_its_hole_and_its_area() {
    let (big, small, n, m) = (3.0, 1.0, 96, 32);
    let views = silhouettes(&torus(big, small, n, m), &[Azimuth::FRONT, Azimuth::FACING_RIGHT]);
    // Face-on: what lies between two n-gons. The true value 4πRr is larger by the factor of polygon to circle.
    let face_on = polygon_area(big + small, n) - polygon_area(big - small, n);
    let true_value = 4.0 * PI * big * small;
    assert!((views[0].projected_area() - face_on).abs() < ROUNDING * true_value);
    assert!((face_on / true_value - polygon_area(1.0, n) / PI).abs() < ROUNDING);
    // Edge-on: a stadium of 4Rr + πr² with an m-gon for its caps.
    let edge_on = 4.0 * big * small + polygon_area(small, m);
    assert!((views[1].projected_area() - edge_on).abs() < ROUNDING * edge_on);
    assert!(
        (edge_on - (4.0 * big * small + PI * small * small)).abs() <= PI - polygon_area(1.0, m) + ROUNDING
    );

    let rows = views[0].row_spans(&[0.0, 2.5]);
    let middle = ends(&rows, 0);
    assert_eq!(middle.len(), 2);
    for (found, known) in middle.iter().zip([(-4.0, -2.0), (2.0, 4.0)]) {
        assert!((found.0 - known.0).abs() < ROUNDING && (found.1 - known.1).abs() < ROUNDING);
    }
    assert_eq!(rows.row(1).len(), 1);

    // Pieces of one ring beside the hole: an outer and an inner ring.
    let outline = views[0].outline(2001);
    assert_eq!(outline.rings.len(), 2);
    // Straight lines between rows cut off less than a row's height along each ring.
    let row = 2.0 * (big + small) / 2000.0;
    assert!((outline.area() - face_on).abs() < row * outline.perimeter());
    let bounds = outline.bounds().expect("a figure");
    assert!((bounds.y1 - (big + small)).abs() < ROUNDING && (bounds.y0 + big + small).abs() < ROUNDING);
}

#[test]
fn leaning_capsule_is_a_stadium() {
    let (r, l, rings, n) = (0.8, 3.0, 63, 128);
    for lean in [0.0f64, 0.3, 1.0, 1.4] {
        let view = Silhouette::new(&capsule(r, l, lean, rings, n), Azimuth::FRONT);
        // The tessellated ball lies between the true one and one smaller by both chords.
        let inner = r * (PI / n as f64).cos() * (PI / (rings + 1) as f64 / 2.0).cos();
        let stadium = |r: f64| 2.0 * r * l * lean.cos() + PI * r * r;
        let found = view.projected_area();
        assert!(
            found <= stadium(r) + ROUNDING && found >= stadium(inner) - ROUNDING,
            "lean {lean}: {found}"
        );
        let middle = view.row_spans(&[0.0]).solid_width(0);
        assert!(middle <= 2.0 * r + ROUNDING && middle >= 2.0 * inner - ROUNDING);
    }
}

#[test]
fn cube_has_its_width_at_every_height_and_turn() {
    let h = 1.5;
    let views = silhouettes(&cube(h), &TURNS.map(Azimuth::from_degrees));
    let ys: Vec<f64> = (0..600).map(|i| -h + 2.0 * h * f64::from(i) / 600.0).collect();
    for view in &views {
        let turn = view.azimuth().degrees().to_radians();
        let width = 2.0 * h * (turn.cos().abs() + turn.sin().abs());
        let rows = view.row_spans(&ys);
        for i in 0..ys.len() {
            assert_eq!(rows.row(i).len(), 1);
            assert!((rows.solid_width(i) - width).abs() < ROUNDING);
        }
        assert!((view.projected_area() - 2.0 * h * width).abs() < 10.0 * ROUNDING);
        // The ground belongs to the figure, the crown does not.
        let edges = view.row_spans(&[-h, h]);
        assert_eq!((edges.row(0).len(), edges.row(1).len()), (1, 0));
    }
}

#[test]
fn quarter_turns_do_not_round() {
    let p = [0.1, 0.2, 0.3];
    for (degrees, x) in [
        (0.0, 0.1),
        (90.0, 0.3),
        (180.0, -0.1),
        (-90.0, -0.3),
        (270.0, -0.3),
        (-180.0, -0.1),
    ] {
        assert_eq!(Azimuth::from_degrees(degrees).view_x(p), x);
    }
}

#[test]
fn overlapping_parts_count_once() {
    let square = |x: f64, y: f64| vec![(x, y), (x + 2.0, y), (x + 2.0, y + 2.0), (x, y + 2.0)];
    assert!((area(&[square(0.0, 0.0), square(1.0, 1.0)]) - 7.0).abs() < ROUNDING);
    // The same, one of them wound the other way and one given twice.
    let mut back = square(1.0, 1.0);
    back.reverse();
    assert!((area(&[square(0.0, 0.0), back, square(0.0, 0.0)]) - 7.0).abs() < ROUNDING);

    let n = 1000;
    let found = area(&[disc(0.0, 0.0, 1.0, n), disc(1.0, 0.0, 1.0, n)]);
    let known = 4.0 * PI / 3.0 + 3.0f64.sqrt() / 2.0;
    // Two inscribed n-gons miss at most what each misses of its disc.
    assert!(
        found <= known && found >= known - 2.0 * (PI - polygon_area(1.0, n)),
        "{found}"
    );
}

#[test]
fn touching_parts_are_one_span() {
    let mesh = flat(&[
        vec![(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)],
        vec![(1.0, 0.0), (2.0, 0.0), (2.0, 1.0), (1.0, 1.0)],
        vec![(2.5, 0.0), (3.0, 0.0), (3.0, 1.0), (2.5, 1.0)],
    ]);
    let rows = Silhouette::new(&mesh, Azimuth::FRONT).row_spans(&[0.5]);
    assert_eq!(ends(&rows, 0), vec![(0.0, 2.0), (2.5, 3.0)]);
}

#[test]
fn a_folded_quad_is_its_two_triangles() {
    // Fan from the first corner: (0 1 2) runs left, (0 2 3) runs right; both lie on the same side of the diagonal.
    let mesh = flat(&[vec![(0.0, 0.0), (4.0, 0.0), (0.0, 4.0), (1.0, 1.0)]]);
    let view = Silhouette::new(&mesh, Azimuth::FRONT);
    // (0 0, 0 4, 1 1) lies inside (0 0, 4 0, 0 4).
    assert!((view.projected_area() - 8.0).abs() < ROUNDING);
}

#[test]
fn edge_on_and_empty_meshes_cover_nothing() {
    let card = flat(&[vec![(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)]]);
    let side = Silhouette::new(&card, Azimuth::FACING_RIGHT);
    assert!(side.bounds().is_none());
    assert_eq!(side.projected_area(), 0.0);
    assert!(side.row_spans(&[0.5]).row(0).is_empty());
    assert!(side.outline(100).rings.is_empty());
}

#[test]
fn rows_may_run_either_way_and_hold_no_numbers() {
    let view = Silhouette::new(&cube(1.0), Azimuth::FRONT);
    let rows = view.row_spans(&[0.5, f64::NAN, 0.0, -3.0, 0.25]);
    assert_eq!(rows.len(), 5);
    let counts: Vec<usize> = (0..5).map(|i| rows.row(i).len()).collect();
    assert_eq!(counts, [1, 0, 1, 0, 1]);
    assert!(view.row_spans(&[]).is_empty());
    assert!(view.row_spans(&[f64::NAN]).row(0).is_empty());
}

proptest! {
    #[test]
    fn moving_and_mirroring_the_mesh_moves_and_mirrors_the_spans(
        dx in -5.0f64..5.0, dy in -5.0f64..5.0, turn in -180.0f64..180.0,
    ) {
        let mesh = torus(3.0, 1.0, 24, 12);
        let faces: Vec<Vec<u32>> = mesh.faces().map(<[u32]>::to_vec).collect();
        let azimuth = Azimuth::from_degrees(turn);
        let map = |f: &dyn Fn([f64; 3]) -> [f64; 3]| {
            let positions = mesh.positions().iter().map(|&p| f(p)).collect();
            Silhouette::new(&drawntrue::mesh::Mesh::from_polygons(positions, &faces).expect("a sound test mesh"), azimuth)
        };
        let ys: Vec<f64> = (0..101).map(|i| -4.01 + 0.0801 * f64::from(i)).collect();
        let plain = map(&|p| p).row_spans(&ys);

        // A half turn about y and a mirror in z together flip view x for every azimuth: exactly.
        let mirrored = map(&|p| [-p[0], p[1], -p[2]]).row_spans(&ys);
        for i in 0..ys.len() {
            let flipped: Vec<_> = ends(&mirrored, i).iter().rev().map(|&(a, b)| (-b, -a)).collect();
            prop_assert_eq!(ends(&plain, i), flipped);
        }

        let moved_ys: Vec<f64> = ys.iter().map(|y| y + dy).collect();
        let moved = map(&|p| [p[0] + dx, p[1] + dy, p[2]]).row_spans(&moved_ys);
        let shift = azimuth.view_x([dx, 0.0, 0.0]);
        for i in 0..ys.len() {
            // Moving rounds every y by up to an ulp of 10 (2e-15). A cut moves by that over the edge's steepness, and
            // near a horizontal edge by its whole length, hence the widest tolerance only for the summed width.
            let (a, b) = (plain.solid_width(i), moved.solid_width(i));
            prop_assert!((a - b).abs() < 1e-9, "row {}: {} and {}", i, a, b);
            if let (Some(a), Some(b)) = (plain.outer(i), moved.outer(i)) {
                prop_assert!((a.x0 + shift - b.x0).abs() < 1e-9 && (a.x1 + shift - b.x1).abs() < 1e-9);
            }
        }
    }
}
