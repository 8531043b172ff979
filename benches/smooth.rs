//! How long smoothing takes: 5,000 and 50,000 quads, three steps, as a whole and the positions alone with the topology
//! kept, in new memory and in memory kept from the run before; on all threads and on one.
//!
//! The shortest of some runs counts, as other work on the machine only makes runs longer; beside it stands the least time
//! that processors worked on it, which other work hardly touches.

#![allow(clippy::print_stdout, reason = "a benchmark prints its figures")]

mod bodies;
mod clock;

use std::hint::black_box;

use clock::shortest;
use drawntrue::smooth::{Plan, Room, Smoothing, smooth};

/// Quads of the cage, and the bounds in milliseconds of all of it on all threads.
const BOUNDS: [(usize, f64); 2] = [(5_000, 60.0), (50_000, 250.0)];
/// The part of the bound that positions alone may take.
const ALONE: f64 = 0.25;

fn main() {
    let one = rayon::ThreadPoolBuilder::new()
        .num_threads(1)
        .build()
        .expect("a pool");
    println!("quads, after 3 steps: all threads; one thread; bound, ms (elapsed / processor time)");
    for (quads, bound) in BOUNDS {
        let cage = bodies::body(quads);
        let whole = || smooth(&cage, Smoothing::Steps(3)).expect("smoothed");
        let plan = Plan::new(&cage, Smoothing::Steps(3), &[]).expect("a plan");
        let (count, fine) = (cage.face_count(), whole().face_count());
        let figures = |name: &str, run: &mut (dyn FnMut() + Send), bound: f64| {
            let (all, single) = (shortest(&mut *run), one.install(|| shortest(run)));
            println!("{count}, {fine}, {name}: {all}; {single}; {bound:.1}");
        };
        figures("all", &mut || drop(black_box(whole())), bound);
        let mut new = || drop(black_box(plan.positions(cage.positions())));
        figures("positions alone", &mut new, ALONE * bound);
        let mut room = Room::default();
        let mut kept = || {
            black_box(plan.positions_in(cage.positions(), &mut room));
        };
        figures("the same, memory kept", &mut kept, ALONE * bound);
    }
}
