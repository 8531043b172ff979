//! How fast OBJ text is read: a grid of a million quads, plain and with texture and normal indices, on all
//! threads and on one.

use std::fmt::Write;
use std::hint::black_box;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use drawntrue::mesh::obj::{Limits, read};

/// Quads along one side of the grid.
const SIDE: usize = 1000;

/// The grid as a modelling program would write it: six decimals.
fn grid(attributes: bool) -> String {
    let mut text = String::from("# a grid\no grid\n");
    let step = 1.0 / SIDE as f64;
    let vertices = (0..=SIDE).flat_map(|i| (0..=SIDE).map(move |j| (i as f64, j as f64)));
    for (i, j) in vertices {
        let z = (i * j * step * step).sin();
        writeln!(text, "v {:.6} {:.6} {z:.6}", i * 0.1234567 - 60.0, j * 0.1234567).unwrap();
        if attributes {
            writeln!(text, "vt {:.6} {:.6}", i * step, j * step).unwrap();
            writeln!(text, "vn {:.4} {:.4} {:.4}", z * 0.5, 0.5 - z, 0.25).unwrap();
        }
    }
    for i in 0..SIDE {
        for j in 0..SIDE {
            let a = i * (SIDE + 1) + j + 1;
            text.push('f');
            for v in [a, a + 1, a + SIDE + 2, a + SIDE + 1] {
                match attributes {
                    true => write!(text, " {v}/{v}/{v}").unwrap(),
                    false => write!(text, " {v}").unwrap(),
                }
            }
            text.push('\n');
        }
    }
    text
}

fn reading(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("read_obj");
    group.sample_size(10);
    let one = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
    for (name, attributes) in [("plain", false), ("with attributes", true)] {
        let text = grid(attributes);
        group.throughput(Throughput::Bytes(text.len() as u64));
        group.bench_function(format!("{name}, all threads"), |b| {
            b.iter(|| read(black_box(text.as_bytes()), Limits::default()).unwrap());
        });
        group.bench_function(format!("{name}, one thread"), |b| {
            b.iter(|| one.install(|| read(black_box(text.as_bytes()), Limits::default()).unwrap()));
        });
    }
    group.finish();
}

criterion_group!(benches, reading);
criterion_main!(benches);
