//! Random triangle soups against the slow, obvious method: per row the union of every triangle's interval.

use drawntrue::mesh::Mesh;
use drawntrue::profile::trace;
use drawntrue::silhouette::{Azimuth, Silhouette, silhouettes};
use drawntrue::space::ViewUnits;
use proptest::prelude::*;

/// Roundings of a cut on coordinates up to ten, and of closing gaps of that size, once for each of up to 200 ends.
const ROUNDING: f64 = 200.0 * 1e-13;

/// The interval that the row just above `y` cuts out of a triangle.
fn interval(t: [[f64; 2]; 3], y: f64) -> Option<(f64, f64)> {
    let mut xs = Vec::new();
    for i in 0..3 {
        let (p, q) = (t[i], t[(i + 1) % 3]);
        let (p, q) = if p[1] <= q[1] { (p, q) } else { (q, p) };
        if p[1] <= y && y < q[1] {
            xs.push(p[0] + (y - p[1]) * (q[0] - p[0]) / (q[1] - p[1]));
        }
    }
    let x0 = xs.iter().copied().reduce(f64::min)?;
    Some((x0, xs.iter().copied().reduce(f64::max)?))
}

fn union(mut intervals: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    intervals.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut out: Vec<(f64, f64)> = Vec::new();
    for (a, b) in intervals {
        match out.last_mut() {
            Some(last) if a <= last.1 => last.1 = last.1.max(b),
            _ => out.push((a, b)),
        }
    }
    out
}

fn length(spans: &[(f64, f64)]) -> f64 {
    spans.iter().map(|s| s.1 - s.0).sum()
}

/// Length covered by exactly one of the two.
fn disagreement(a: &[(f64, f64)], b: &[(f64, f64)]) -> f64 {
    let both = union(a.iter().chain(b).copied().collect());
    2.0 * length(&both) - length(a) - length(b)
}

fn check(positions: &[[f64; 3]], faces: &[Vec<u32>], degrees: f64, ys: &[f64]) -> Result<(), TestCaseError> {
    let azimuth = Azimuth::from_degrees(degrees);
    let view = Silhouette::new(
        &Mesh::from_polygons(positions.to_vec(), faces).expect("a sound test mesh"),
        azimuth,
    );
    let rows = view.row_spans(ys);
    for (i, &y) in ys.iter().enumerate() {
        let mut intervals = Vec::new();
        for face in faces {
            for k in 1..face.len() - 1 {
                let t = [face[0], face[k], face[k + 1]].map(|c| {
                    let p = positions[c as usize];
                    [azimuth.view_x(p), p[1]]
                });
                intervals.extend(interval(t, y));
            }
        }
        let slow = union(intervals);
        let fast: Vec<(f64, f64)> = rows.row(i).iter().map(|s| (s.x0, s.x1)).collect();
        prop_assert!(
            fast.windows(2).all(|w| w[0].1 < w[1].0),
            "touching spans in row {}: {:?}",
            y,
            fast
        );
        prop_assert!(fast.iter().all(|s| s.0 <= s.1));
        prop_assert!(
            disagreement(&fast, &slow) < ROUNDING,
            "row {}: {:?}, not {:?}",
            y,
            fast,
            slow
        );
    }
    Ok(())
}

fn faces(vertices: u32) -> impl Strategy<Value = Vec<Vec<u32>>> {
    prop::collection::vec(prop::collection::vec(0..vertices, 3..6), 1..40)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn any_soup(
        positions in prop::collection::vec(prop::array::uniform3(-5.0f64..5.0), 12),
        faces in faces(12),
        degrees in prop::sample::select(vec![0.0, 90.0, 180.0, -90.0, 33.0, 211.5]),
        ys in prop::collection::vec(-5.5f64..5.5, 20),
    ) {
        check(&positions, &faces, degrees, &ys)?;
    }

    /// On a small grid nearly everything is degenerate: triangles on a line, edges that coincide, rows through vertices.
    #[test]
    fn soup_on_a_grid(
        positions in prop::collection::vec(prop::array::uniform3(-2i32..=2), 30),
        faces in faces(30),
        degrees in prop::sample::select(vec![0.0, 90.0, 180.0, -90.0]),
    ) {
        let positions: Vec<[f64; 3]> = positions.iter().map(|p| p.map(f64::from)).collect();
        let ys: Vec<f64> = (-12..=12).map(|i| f64::from(i) / 4.0).collect();
        check(&positions, &faces, degrees, &ys)?;
    }

    /// The exact area against 4,000 rows: the midpoint rule on a piecewise linear width.
    #[test]
    fn area_is_what_many_rows_add_up_to(
        positions in prop::collection::vec(prop::array::uniform3(-1.0f64..1.0), 9),
        faces in faces(9),
    ) {
        let view = Silhouette::new(&Mesh::from_polygons(positions, &faces).expect("a sound test mesh"), Azimuth::FRONT);
        let rows = 4000;
        let step = 2.0 / f64::from(rows);
        let ys: Vec<f64> = (0..rows).map(|i| -1.0 + (f64::from(i) + 0.5) * step).collect();
        let spans = view.row_spans(&ys);
        let sum: f64 = (0..ys.len()).map(|i| spans.solid_width(i) * step).sum();
        // Where the width jumps or bends, at 9 heights and at crossings, a row is off by at most the width (2) times its
        // height; jumps (horizontal edges) are absent almost surely, so half of that for the 9 heights is ample.
        prop_assert!((view.projected_area() - sum).abs() < 9.0 * step, "{} and {}", view.projected_area(), sum);
    }

    /// Rings of a soup cut by the same rows are the spans that they were made from.
    #[test]
    fn tracing_and_cutting_returns_the_spans(
        positions in prop::collection::vec(prop::array::uniform3(-5.0f64..5.0), 12),
        faces in faces(12),
        rows in 2usize..200,
        downwards: bool,
    ) {
        let view = Silhouette::new(&Mesh::from_polygons(positions, &faces).expect("a sound test mesh"), Azimuth::FRONT);
        // The uppermost row lies above everything: rows are half-open.
        let mut ys: Vec<f64> = (0..rows).map(|i| -5.5 + 11.0 * i as f64 / (rows - 1) as f64).collect();
        if downwards {
            ys.reverse();
        }
        let spans = view.row_spans(&ys);
        let outline = trace::<ViewUnits>(&spans);
        prop_assert_eq!(outline.row_spans(&ys), spans);
    }
}

#[test]
fn several_views_at_once_are_the_views_one_by_one_on_any_number_of_threads() {
    let positions: Vec<[f64; 3]> = (0..400u32)
        .map(|i| [7, 31, 59].map(|k| f64::from(i * i % 401 * k % 97) / 97.0))
        .collect();
    let faces: Vec<[u32; 4]> = (0..300_000u32)
        .map(|i| [i % 400, i * 7 % 399, i * 11 % 397, i * 13 % 389])
        .collect();
    let mesh = Mesh::from_polygons(positions, &faces).expect("a sound test mesh");
    let azimuths = [0.0, 90.0, 180.0, -90.0, 30.0].map(Azimuth::from_degrees);
    let ys: Vec<f64> = (0..100).map(|i| f64::from(i) / 100.0).collect();
    let cut = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .expect("a pool");
        pool.install(|| {
            silhouettes(&mesh, &azimuths)
                .iter()
                .map(|s| s.row_spans(&ys))
                .collect::<Vec<_>>()
        })
    };
    let (one, three) = (cut(1), cut(3));
    assert_eq!(one, three);
    for (azimuth, rows) in azimuths.iter().zip(&one) {
        assert_eq!(&Silhouette::new(&mesh, *azimuth).row_spans(&ys), rows);
    }
}
