//! A mesh against its own silhouette, drawn perfectly: whatever the body, the check reads zero within the noise of the
//! drawing. The drawing is made of exact row spans with coverage, not by way of the reader.

#[path = "hostile/mutate.rs"]
#[allow(dead_code, reason = "only the numbers are used here")]
mod mutate;
#[path = "hostile/png.rs"]
#[allow(dead_code, reason = "used by the mutations")]
mod png;
#[allow(dead_code, reason = "other tests use the rest")]
mod reports;
mod shapes;

use drawntrue::check::{Ahead, ImageRead, Kept, check, check_with};
use drawntrue::mesh::Mesh;
use drawntrue::place::assign::Asked;
use drawntrue::report::json;
use drawntrue::report::model::{LineEdge, MeshInput, Settings, SheetInput, Verdict};
use drawntrue::sheet::picture::{Channels, Picture};
use drawntrue::sheet::read::read;
use drawntrue::silhouette::{Azimuth, Silhouette};
use drawntrue::smooth::Smoothing;
use mutate::Rng;

/// Height of the drawn figures, pixels, and paper around them.
const FIGURE_PX: f64 = 420.0;
const MARGIN: f64 = 25.0;
/// Sub-rows of a pixel row: coverage is exact along x and a mean of these along y.
const SUB_ROWS: usize = 32;
/// What the drawing itself leaves open, pixels: coverage is rounded to 8 bits, and rows are as high as a pixel, which
/// blurs corners by up to half of one. The mean must be far below, the 95th percentile below a third.
const MEAN_PX: f64 = 0.1;
const P95_PX: f64 = 0.34;
/// Bodies that are tried.
const BODIES: u64 = 8;

/// Puts a part of a body in its place.
fn put(positions: &mut Vec<[f64; 3]>, faces: &mut Vec<Vec<u32>>, part: &Mesh, at: [f64; 3]) {
    let first = positions.len() as u32;
    positions.extend(
        part.positions()
            .iter()
            .map(|p| [p[0] + at[0], p[1] + at[1], p[2] + at[2]]),
    );
    faces.extend(part.faces().map(|f| f.iter().map(|c| c + first).collect()));
}

/// A body of overlapping ellipsoids, capsules and a torus, standing about as a figure does.
fn body(seed: u64) -> Mesh {
    let mut rng = Rng::new(seed);
    let mut within = |a: f64, b: f64| a + (b - a) * rng.unit();
    let (mut positions, mut faces) = (Vec::new(), Vec::new());
    let chest = within(16.0, 26.0);
    let trunk = shapes::ellipsoid(chest, within(38.0, 46.0), within(11.0, 17.0), 31, 32);
    put(&mut positions, &mut faces, &trunk, [0.0, 110.0, 0.0]);
    let head = shapes::ellipsoid(within(9.0, 13.0), within(13.0, 16.0), within(10.0, 14.0), 31, 32);
    put(&mut positions, &mut faces, &head, [0.0, 158.0, within(0.0, 4.0)]);
    let belt = shapes::torus(within(15.0, 19.0), within(3.0, 5.0), 40, 16);
    put(&mut positions, &mut faces, &belt, [0.0, 95.0, 0.0]);
    let (radius, apart) = (within(6.0, 9.0), within(9.0, 13.0));
    let leg = shapes::capsule(radius, 70.0, 0.0, 15, 24);
    for side in [-1.0, 1.0] {
        put(&mut positions, &mut faces, &leg, [side * apart, 45.0, 0.0]);
    }
    Mesh::from_polygons(positions, &faces).expect("a sound mesh")
}

/// The silhouette as a picture, dark on white, and the length of a pixel in units.
fn drawn(mesh: &Mesh, azimuth: Azimuth) -> (Picture, f64) {
    let seen = Silhouette::new(mesh, azimuth);
    let bounds = seen.bounds().expect("a body");
    let unit = bounds.height() / FIGURE_PX;
    let size = |length: f64| (length / unit + 2.0 * MARGIN).ceil() as usize;
    let (w, h) = (size(bounds.width()), size(bounds.height()));
    let mut data = Vec::with_capacity(w * h);
    for y in 0..h {
        let mut covered = vec![0.0; w];
        // The file's rows run down, the view's heights up; rows are asked for in ascending order.
        let ys: Vec<f64> = (0..SUB_ROWS)
            .rev()
            .map(|k| bounds.y1 - unit * (y as f64 + (k as f64 + 0.5) / SUB_ROWS as f64 - MARGIN))
            .collect();
        let rows = seen.row_spans(&ys);
        for i in 0..SUB_ROWS {
            for span in rows.row(i) {
                let [x0, x1] = [span.x0, span.x1].map(|x| (x - bounds.x0) / unit + MARGIN);
                for (x, c) in covered.iter_mut().enumerate() {
                    *c += (x1.min(x as f64 + 1.0) - x0.max(x as f64)).max(0.0) / SUB_ROWS as f64;
                }
            }
        }
        data.extend(covered.iter().map(|c: &f64| (250.0 - 190.0 * c).round() as u8));
    }
    (Picture::new(w, h, Channels::Grey, data), unit)
}

/// Front and side of a mesh, drawn and read, with the length of a pixel in units.
fn views(mesh: &Mesh) -> (Vec<ImageRead>, Vec<f64>) {
    let asked = [
        (Azimuth::FRONT, Asked::Front),
        (Azimuth::FACING_RIGHT, Asked::Side),
    ];
    let view = |(azimuth, asked)| {
        let (picture, unit) = drawn(mesh, azimuth);
        let image = ImageRead {
            asked,
            named: Vec::new(),
            axes_px: Vec::new(),
            reading: read(&picture, LineEdge::Centre).expect("a figure"),
            input: SheetInput {
                path: String::new(),
                sha256: String::new(),
                width_px: picture.width() as u32,
                height_px: picture.height() as u32,
            },
        };
        (image, unit)
    };
    asked.into_iter().map(view).unzip()
}

fn input(mesh: &Mesh) -> MeshInput {
    MeshInput {
        path: String::new(),
        sha256: String::new(),
        vertices: mesh.positions().len(),
        faces: mesh.face_count(),
        triangles: 0,
        quads: 0,
        ngons: 0,
    }
}

fn settings() -> Settings {
    Settings {
        tolerance_pct: 1.0,
        ..Settings::default()
    }
}

/// What is told of a mesh before its drawing is read changes no byte of the report: of a mesh as it usually stands, of one
/// that stands along z, which is turned upright, and of one that is smoothed.
#[test]
fn what_is_told_ahead_is_what_would_be_found() {
    let usual = body(1);
    let along_z = Mesh::from_polygons(
        usual.positions().iter().map(|[x, y, z]| [*x, -z, *y]).collect(),
        usual.faces().map(<[u32]>::to_vec).collect::<Vec<_>>(),
    )
    .expect("a sound mesh");
    let (images, _) = views(&usual);
    let smoothed = Settings {
        smooth: Some(Smoothing::Steps(1)),
        ..settings()
    };
    for (mesh, settings) in [(&usual, settings()), (&along_z, settings()), (&usual, smoothed)] {
        let ahead = Ahead::of(mesh, &settings);
        let report = |ahead: Option<&Ahead>| {
            let kept = Kept {
                ahead,
                ..Kept::default()
            };
            let checked = check_with(mesh, input(mesh), &images, settings.clone(), Vec::new(), &kept);
            json::write(&checked.expect("a check").report).expect("a report")
        };
        assert!(report(None) == report(Some(&ahead)));
    }
}

#[test]
fn a_mesh_against_its_own_silhouette_reads_zero() {
    for seed in 0..BODIES {
        let mesh = body(seed);
        let (images, units) = views(&mesh);
        let report = check(&mesh, input(&mesh), &images, settings(), Vec::new())
            .unwrap_or_else(|e| panic!("body {seed}: {e}"))
            .report;
        assert_eq!(
            report.verdict,
            Verdict::OnModel,
            "body {seed}: {:?}",
            report.undecided
        );
        reports::accepted(&json::write(&report).expect("a report"));
        for (view, unit) in report.views.iter().zip(units) {
            let s = &view.summary;
            let px = |v: f64| v / unit;
            eprintln!(
                "body {seed} {}: contour mean {:.3}, p95 {:.3}, max {:.3} px, outer p95 {:?}",
                view.name,
                px(s.contour_mean),
                px(s.contour_p95),
                px(s.contour_max),
                s.outer_diff_p95_abs
            );
            assert!(px(s.contour_mean) < MEAN_PX, "body {seed}, {}: {s:?}", view.name);
            assert!(px(s.contour_p95) < P95_PX, "body {seed}, {}: {s:?}", view.name);
            assert_eq!(s.rows_outside, 0, "body {seed}, {}", view.name);
            assert!(view.findings.is_empty());
        }
    }
}
