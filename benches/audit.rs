//! How long an audit takes: a connected body of a million quads, in the order in which it was made and shuffled, with and
//! without faces left inside. Elapsed and processor time as in `clock`; memory is the peak of the process above what the
//! mesh itself took, in bytes a quad.
//!
//! `cargo bench --bench audit -- 200000` takes another number of quads.

#![allow(clippy::print_stdout, reason = "a benchmark prints its figures")]

mod bodies;
mod clock;

use std::hint::black_box;

use clock::{peak, shortest};
use drawntrue::audit::{Options, audit};
use drawntrue::mesh::Mesh;

/// Quads, without another number.
const QUADS: usize = 1_000_000;

fn main() {
    let quads = std::env::args().find_map(|a| a.parse().ok()).unwrap_or(QUADS);
    println!(
        "load: quads; ms elapsed / of processors, all threads; one thread; bytes a quad; faces found inside"
    );
    let one = rayon::ThreadPoolBuilder::new()
        .num_threads(1)
        .build()
        .expect("a pool");
    let body = bodies::body(quads);
    let figures = |name: &str, mesh: &Mesh| {
        let before = peak();
        let mut inside = 0;
        let run = || audit(black_box(mesh), &Options::default());
        let all = shortest(|| {
            let made = run();
            inside = made.check("interior-faces").map_or(0, |c| c.count);
        });
        let memory = peak().saturating_sub(before) / mesh.face_count() as u64;
        let single = one.install(|| shortest(|| drop(black_box(run()))));
        println!(
            "{name}: {}; {all}; {single}; {memory}; {inside}",
            mesh.face_count()
        );
    };
    figures("in order", &body);
    figures("with faces inside", &bodies::with_walls(&body));
    figures("shuffled", &bodies::shuffled(&body));
}
