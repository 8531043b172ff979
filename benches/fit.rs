//! How long a fit takes: a cage of 5,000 quads that is smoothed twice, and 200,000 quads as they are, each with a smooth
//! bump on both sides of the trunk and on both thighs, fitted to the exact silhouettes of the body without them.
//! Elapsed and processor time as in `clock`; memory is the peak of the process above what was there before, in bytes a
//! vertex.
//!
//! `cargo bench --bench fit -- 20000` takes another number of quads for the second.

#![allow(clippy::print_stdout, reason = "a benchmark prints its figures")]

mod bodies;
mod clock;

use clock::{peak, shortest};
use drawntrue::audit::{Options, examine};
use drawntrue::fit::{Ask, MOST_MOVE, NO_PARTNER, Target, fit};
use drawntrue::mesh::Mesh;
use drawntrue::profile::{DistanceIndex, Outline, contour_distances};
use drawntrue::silhouette::{Azimuth, silhouettes};
use drawntrue::smooth::{Smoothing, smooth};
use drawntrue::space::ViewUnits;

const VIEWS: [Azimuth; 2] = [Azimuth::FRONT, Azimuth::FACING_RIGHT];
const ROWS: usize = 800;

fn outlines(mesh: &Mesh, smoothing: Option<Smoothing>) -> Vec<Outline<ViewUnits>> {
    let smoothed = smoothing.map(|s| smooth(mesh, s).expect("smoothed"));
    silhouettes(smoothed.as_ref().unwrap_or(mesh), &VIEWS)
        .iter()
        .map(|s| s.outline(ROWS))
        .collect()
}

/// The body with bumps: at two heights, in shares of its own.
fn bumpy(mesh: &Mesh, height: f64, ground: f64) -> Mesh {
    let bump = |y: f64, at: f64, width: f64| {
        let far = (y - ground - at * height) / (width * height);
        (-far * far).exp()
    };
    let moved = mesh.positions().iter().map(|&[x, y, z]| {
        let (trunk, thigh) = (bump(y, 0.68, 0.06), bump(y, 0.38, 0.05));
        [x * (1.0 + 0.12 * thigh), y, z * (1.0 + 0.2 * trunk)]
    });
    mesh.moved(moved.collect())
}

fn figures(name: &str, quads: usize, smoothing: Option<Smoothing>) {
    let body = bodies::body(quads);
    let bounds = body.bounds_of_faces().expect("a body");
    let height = bounds.size()[1];
    let drawn = outlines(&body, smoothing);
    let cage = bumpy(&body, height, bounds.min[1]);
    let known = examine(
        &cage,
        &Options {
            quick: true,
            ..Options::default()
        },
    );
    let partners = known
        .symmetry
        .map_or(vec![NO_PARTNER; cage.positions().len()], |s| s.partner);
    let targets: Vec<Target<'_>> = VIEWS
        .iter()
        .zip(&drawn)
        .map(|(&azimuth, drawing)| Target {
            azimuth,
            drawing,
            weight: 1.0,
            asked: &|_| true,
        })
        .collect();
    let ask = Ask {
        height,
        tolerance: 0.01 * height,
        smoothing,
        partners: &partners,
        same: &known.same,
        movable: &[],
        counting: None,
        most_move: MOST_MOVE * height,
        amount: 1.0,
        progress: &|_| (),
    };
    let off = |mesh: &Mesh| {
        let both = outlines(mesh, smoothing);
        let worst = both.iter().zip(&drawn).map(|(own, drawn)| {
            let (a, b) = (DistanceIndex::new(own), DistanceIndex::new(drawn));
            let d = contour_distances((own, &a), (drawn, &b), 0.001 * height).expect("outlines");
            100.0 * d.p95 / height
        });
        worst.fold(0.0, f64::max)
    };
    let before = peak();
    let mut found = None;
    let took = shortest(|| found = Some(fit(&cage, &targets, &ask).expect("a fit")));
    let memory = peak().saturating_sub(before) / cage.positions().len() as u64;
    let found = found.expect("it ran");
    println!(
        "{name}: {} vertices, {} moved, {} rounds; {took}; {memory}; {:.2} to {:.2}",
        cage.positions().len(),
        found.moved(),
        found.rounds,
        off(&cage),
        off(&cage.moved(found.positions(&cage)))
    );
}

fn main() {
    let quads = std::env::args().find_map(|a| a.parse().ok()).unwrap_or(200_000);
    println!(
        "load; ms elapsed / of processors; bytes a vertex; 95th percentile of the outline, percent of the height"
    );
    figures("5,000 quads, smoothed twice", 5_000, Some(Smoothing::Steps(2)));
    figures("as they are", quads, None);
}
