//! Times of silhouettes, rows, outlines and distances on a lumpy ellipsoid of quads.

use std::f64::consts::TAU;
use std::hint::black_box;
use std::time::Duration;

use criterion::{Criterion, criterion_group, criterion_main};
use drawntrue::mesh::Mesh;
use drawntrue::profile::{DistanceIndex, boundary_iou, contour_distances, overlap};
use drawntrue::silhouette::{Azimuth, silhouettes};
use drawntrue::space::Point;

/// Waves on the surface, so that there are contours inside the outline too.
const WAVES: f64 = 7.0;

/// `side * side` quads in file order row by row, closed around y.
fn lumpy(side: usize, size: f64) -> Mesh {
    let mut positions = Vec::with_capacity((side + 1) * side);
    for i in 0..=side {
        let (sin, cos) = (TAU / 2.0 * (i as f64 / side as f64 - 0.5)).sin_cos();
        for j in 0..side {
            let turn = TAU * j as f64 / side as f64;
            let r = size * (1.0 + 0.05 * (WAVES * turn).sin() * (WAVES * sin).cos());
            positions.push([r * cos * turn.cos(), 2.0 * size * sin, 0.7 * r * cos * turn.sin()]);
        }
    }
    let faces: Vec<[u32; 4]> = (0..side * side)
        .map(|f| {
            let (i, j) = (f / side, f % side);
            let next = (j + 1) % side;
            [
                i * side + j,
                i * side + next,
                (i + 1) * side + next,
                (i + 1) * side + j,
            ]
            .map(|c| c as u32)
        })
        .collect();
    Mesh::from_polygons(positions, &faces).expect("a sound test mesh")
}

fn heights(rows: usize) -> Vec<f64> {
    (0..rows)
        .map(|i| 2.0 - 4.0 * (i as f64 + 0.5) / rows as f64)
        .collect()
}

fn meshes(c: &mut Criterion) {
    let views = [Azimuth::FRONT, Azimuth::FACING_RIGHT];
    let mut group = c.benchmark_group("silhouette");
    group.sample_size(10).measurement_time(Duration::from_secs(5));
    for side in [500usize, 2000] {
        let mesh = lumpy(side, 1.0);
        let quads = side * side;
        group.bench_function(format!("two views of {quads} quads"), |b| {
            b.iter(|| silhouettes(black_box(&mesh), &views));
        });
        let front = &silhouettes(&mesh, &views)[0];
        let ys = heights(4000);
        group.bench_function(format!("4000 rows of {quads} quads"), |b| {
            b.iter(|| front.row_spans(black_box(&ys)));
        });
        group.bench_function(format!("outline through 4000 rows of {quads} quads"), |b| {
            b.iter(|| front.outline(4000));
        });
        group.bench_function(format!("exact area of {quads} quads"), |b| {
            b.iter(|| front.projected_area());
        });
    }
    group.finish();
}

fn outlines(c: &mut Criterion) {
    let mut group = c.benchmark_group("outline");
    group.sample_size(10).measurement_time(Duration::from_secs(3));
    let outline = |size: f64, rows: usize| silhouettes(&lumpy(400, size), &[Azimuth::FRONT])[0].outline(rows);
    let dense = outline(1.0, 50_000);
    let index = DistanceIndex::new(&dense);
    let queries: Vec<Point<_>> = dense
        .rings
        .iter()
        .flatten()
        .map(|p| Point::new(p.x * 0.97, p.y * 0.97 + 0.01))
        .collect();
    let (segments, points) = (dense.segments().count(), queries.len());
    group.bench_function(format!("index of {segments} segments"), |b| {
        b.iter(|| DistanceIndex::new(black_box(&dense)));
    });
    group.bench_function(format!("{points} distances to {segments} segments"), |b| {
        b.iter(|| queries.iter().map(|&p| index.distance(p)).sum::<f64>());
    });
    let (a, b) = (outline(1.0, 2000), outline(0.97, 2000));
    let (ia, ib) = (DistanceIndex::new(&a), DistanceIndex::new(&b));
    let ys = heights(2000);
    let (ra, rb) = (a.row_spans(&ys), b.row_spans(&ys));
    group.bench_function("overlap of 2000 rows", |bench| {
        bench.iter(|| overlap(black_box(&ra), &rb));
    });
    group.bench_function("contour distances of 2000 rows", |bench| {
        bench.iter(|| contour_distances((&a, &ia), (&b, &ib), 0.002));
    });
    group.bench_function("boundary IoU of 2000 rows", |bench| {
        bench.iter(|| boundary_iou((&ra, &a), (&rb, &b), 0.04));
    });
    group.finish();
}

criterion_group!(benches, meshes, outlines);
criterion_main!(benches);
