//! How long smoothing takes: 5,000 and 50,000 quads, three steps, as a whole and the positions alone with the topology
//! kept; on all threads and on one. The shortest of some runs counts: other work on the machine only makes runs longer.

#![allow(clippy::print_stdout, reason = "a benchmark prints its figures")]

mod bodies;

use std::hint::black_box;
use std::time::{Duration, Instant};

use drawntrue::smooth::{Plan, Smoothing, smooth};

/// Runs of each thing that is timed.
const RUNS: usize = 15;
/// As long as the bound says, in milliseconds: all, positions alone.
const BOUNDS: [(usize, f64); 2] = [(5_000, 60.0), (50_000, 250.0)];

fn shortest<T>(mut run: impl FnMut() -> T) -> f64 {
    let times = (0..RUNS).map(|_| {
        let start = Instant::now();
        let made = black_box(run());
        let took = start.elapsed();
        drop(made);
        took
    });
    1000.0 * times.min().unwrap_or(Duration::ZERO).as_secs_f64()
}

fn main() {
    let one = rayon::ThreadPoolBuilder::new()
        .num_threads(1)
        .build()
        .expect("a pool");
    println!("quads, after 3 steps: all threads / one thread / bound, ms");
    for (quads, bound) in BOUNDS {
        let cage = bodies::body(quads);
        let whole = || smooth(&cage, Smoothing::Steps(3)).expect("smoothed");
        let plan = Plan::new(&cage, Smoothing::Steps(3), &[]).expect("a plan");
        let alone = || plan.positions(cage.positions());
        let (count, fine) = (cage.face_count(), whole().face_count());
        let figures = |name: &str, run: &(dyn Fn() + Sync), bound: f64| {
            let (all, single) = (shortest(run), one.install(|| shortest(run)));
            println!("{count}, {fine}, {name}: {all:.1} / {single:.1} / {bound:.1}");
        };
        figures("all", &|| drop(black_box(whole())), bound);
        figures("positions alone", &|| drop(black_box(alone())), bound / 4.0);
    }
}
