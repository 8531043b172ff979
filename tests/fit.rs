//! Fits against what is known: solids in closed form, bodies with parts wrong on purpose, random smooth distortions of
//! bodies, each fitted to the exact silhouettes of what it was before.

#![allow(clippy::print_stdout, reason = "what was measured is shown with --nocapture")]

mod bodies;
#[path = "sheets/rng.rs"]
#[allow(dead_code, reason = "other tests use the rest")]
mod rng;

use bodies::{Build, Wrong, outlines};
use drawntrue::audit::{Options, examine};
use drawntrue::fit::{Ask, Fit, LEFT_ALONE, LeastSquares, MOST_MOVE, NO_PARTNER, Target, fit};
use drawntrue::mesh::Mesh;
use drawntrue::mesh::vector::{Vector, distance, mirrored, norm};
use drawntrue::profile::{ContourDistances, DistanceIndex, Outline, contour_distances};
use drawntrue::silhouette::Azimuth;
use drawntrue::smooth::{Smoothing, smooth};
use drawntrue::space::{Point, ViewUnits};
use rng::Rng;

const VIEWS: [Azimuth; 2] = [Azimuth::FRONT, Azimuth::FACING_RIGHT];
/// Tolerance, percent of the height.
const TOLERANCE_PCT: f64 = 1.0;

/// Who mirrors whom, and the first vertex at each one's place.
fn together(mesh: &Mesh) -> [Vec<u32>; 2] {
    let options = Options {
        quick: true,
        ..Options::default()
    };
    let known = examine(mesh, &options);
    let partners = known
        .symmetry
        .map_or(vec![NO_PARTNER; mesh.positions().len()], |s| s.partner);
    [partners, known.same]
}

fn height(outlines: &[Outline<ViewUnits>]) -> f64 {
    outlines[0].bounds().expect("a figure").height()
}

fn fitted(cage: &Mesh, drawn: &[Outline<ViewUnits>], smoothing: Option<Smoothing>) -> Fit {
    let height = height(drawn);
    let targets: Vec<Target<'_>> = VIEWS
        .iter()
        .zip(drawn)
        .map(|(&azimuth, drawing)| Target {
            azimuth,
            drawing,
            weight: 1.0,
            asked: &|_| true,
        })
        .collect();
    let [partners, same] = together(cage);
    let ask = Ask {
        height,
        tolerance: TOLERANCE_PCT / 100.0 * height,
        smoothing,
        partners: &partners,
        same: &same,
        movable: &[],
        counting: None,
        most_move: MOST_MOVE * height,
        amount: 1.0,
        progress: &|_| (),
    };
    fit(cage, &targets, &ask).expect("a fit")
}

/// How far a surface's outlines are from the drawn ones, the worse of both views, percent of the height.
fn off(surface: &Mesh, drawn: &[Outline<ViewUnits>]) -> ContourDistances {
    let height = height(drawn);
    let of = |(own, drawn): (&Outline<ViewUnits>, &Outline<ViewUnits>)| {
        let (a, b) = (DistanceIndex::new(own), DistanceIndex::new(drawn));
        let d = contour_distances((own, &a), (drawn, &b), 0.001 * height).expect("two outlines");
        [d.mean, d.p95, d.max].map(|v| 100.0 * v / height)
    };
    let both: Vec<[f64; 3]> = outlines(surface, &VIEWS).iter().zip(drawn).map(of).collect();
    let [mean, p95, max] = std::array::from_fn(|i| both[0][i].max(both[1][i]));
    ContourDistances { mean, p95, max }
}

fn surface(cage: &Mesh, smoothing: Option<Smoothing>) -> Mesh {
    smoothing.map_or_else(|| cage.clone(), |s| smooth(cage, s).expect("smoothed"))
}

/// A cube of so many cells along each edge, blown up to a ball of radius 1: an all-quad cage.
fn ball(cells: u32) -> Mesh {
    let mut positions: Vec<Vector> = Vec::new();
    let mut numbers = std::collections::HashMap::new();
    let mut faces = Vec::new();
    let at = |i: u32| (f64::from(i) / f64::from(cells) - 0.5) * std::f64::consts::FRAC_PI_2;
    for axis in 0..3 {
        for far in [false, true] {
            for u in 0..cells {
                for v in 0..cells {
                    let corner = |du: u32, dv: u32| {
                        let mut key = [0; 3];
                        key[axis] = if far { cells } else { 0 };
                        key[(axis + 1) % 3] = u + du;
                        key[(axis + 2) % 3] = v + dv;
                        key
                    };
                    let mut face = [corner(0, 0), corner(1, 0), corner(1, 1), corner(0, 1)];
                    if !far {
                        face.reverse();
                    }
                    faces.push(face.map(|key| {
                        *numbers.entry(key).or_insert_with(|| {
                            let p = key.map(|k| at(k).tan());
                            let long = norm(p);
                            positions.push(p.map(|c| c / long));
                            positions.len() as u32 - 1
                        })
                    }));
                }
            }
        }
    }
    // The two sides are images of each other to the bit: what rounding left is taken out.
    let tidy = |p: Vector| p.map(|c| (c * 1e12).round() / 1e12);
    Mesh::from_polygons(positions.into_iter().map(tidy).collect(), faces).expect("a ball")
}

fn ellipse(a: f64, b: f64) -> Outline<ViewUnits> {
    let at = |i: u32| {
        let (s, c) = (f64::from(i) * std::f64::consts::TAU / 720.0).sin_cos();
        Point::new(a * c, b * s)
    };
    Outline {
        rings: vec![(0..720).map(at).collect()],
    }
}

/// The silhouettes of an ellipsoid along its axes are ellipses of its half axes (closed form).
#[test]
fn a_ball_becomes_the_ellipsoid_whose_two_views_are_drawn() {
    let drawn = [ellipse(0.88, 1.0), ellipse(1.1, 1.0)];
    for smoothing in [None, Some(Smoothing::Limit), Some(Smoothing::Steps(2))] {
        // In the limit a cage shrinks: it is begun with one that is about as large as the ball.
        let cage = ball(8);
        let before = off(&surface(&cage, smoothing), &drawn);
        let found = fitted(&cage, &drawn, smoothing);
        let moved = cage.moved(found.positions(&cage));
        let after = off(&surface(&moved, smoothing), &drawn);
        println!(
            "{smoothing:?}: {:.2} to {:.3} in {} rounds",
            before.p95, after.p95, found.rounds
        );
        assert!(
            before.p95 > 4.0 && after.p95 < 0.3,
            "{smoothing:?}: {before:?} {after:?}"
        );
        assert!(after.max < 0.6, "{smoothing:?}: {after:?}");
        // Away from both outlines nothing is drawn; the surface follows about half of the way (1 / 0.88 before).
        for p in surface(&moved, smoothing).positions() {
            let r = norm([p[0] / 0.88, p[1], p[2] / 1.1]);
            assert!((r - 1.0).abs() < 0.075, "{smoothing:?}: {p:?} at {r}");
        }
    }
}

#[test]
fn mirrored_halves_stay_mirrors_to_the_bit() {
    let cage = ball(6);
    let [pairs, _] = together(&cage);
    let drawn = [ellipse(0.9, 1.0), ellipse(1.05, 1.0)];
    let found = fitted(&cage, &drawn, None);
    let places = found.positions(&cage);
    assert!(found.moved() > 100);
    for (v, &u) in pairs.iter().enumerate() {
        assert_ne!(u, NO_PARTNER);
        assert_eq!(
            mirrored(places[v], 0.0).map(|c| c + 0.0),
            places[u as usize].map(|c| c + 0.0)
        );
        if u as usize == v {
            assert_eq!(
                places[v][0],
                cage.positions()[v][0],
                "the centre line stays on its plane"
            );
        }
    }
}

/// A drawing that leans to one side: a symmetric mesh takes the mean, and says so.
#[test]
fn of_a_drawing_that_is_not_symmetric_the_mean_is_taken_and_the_rest_is_told() {
    let cage = ball(8);
    let mut leaning = ellipse(1.0, 1.0);
    for p in &mut leaning.rings[0] {
        // Moved aside by up to 4 percent of the height where it is widest.
        *p = Point::new(p.x + 0.08 * (1.0 - p.y * p.y), p.y);
    }
    let drawn = [leaning, ellipse(1.0, 1.0)];
    let found = fitted(&cage, &drawn, None);
    let widest = found
        .positions(&cage)
        .iter()
        .map(|p| p[0].abs())
        .fold(0.0, f64::max);
    assert!((widest - 1.0).abs() < 0.01, "{widest}");
    let told = |r: &&drawntrue::fit::Rest| r.reason == drawntrue::fit::Reason::NotSymmetric;
    assert!(found.rest.iter().filter(told).count() >= 2, "{:?}", found.rest);
}

const PLANTED: [(&[&str], f64, f64); 6] = [
    (&["torso"], 1.15, 1.0),
    (&["pelvis"], 1.15, 1.0),
    (&["left-thigh", "right-thigh"], 1.25, 1.0),
    (&["left-calf", "right-calf"], 0.75, 1.0),
    (&["left-foot", "right-foot"], 1.0, 1.3),
    (&["head"], 1.15, 1.0),
];

#[test]
fn planted_faults_go_and_what_is_far_from_them_stays() {
    for (number, (parts, thick, long)) in PLANTED.into_iter().enumerate() {
        for seed in 0..3 {
            let build = Build::random(&mut Rng::new(100 * number as u64 + seed));
            let wrong: Vec<Wrong> = parts.iter().map(|&part| Wrong { part, thick, long }).collect();
            let drawn = outlines(&build.figure(&[], &[], 178.0), &VIEWS);
            let mesh = build.figure(&[], &wrong, 178.0);
            let height = height(&drawn);
            let before = off(&mesh, &drawn);
            let found = fitted(&mesh, &drawn, None);
            let after = off(&mesh.moved(found.positions(&mesh)), &drawn);
            println!(
                "{parts:?} {seed}: mean {:.2} to {:.2}, p95 {:.2} to {:.2}, {} rounds, {} held back",
                before.mean, after.mean, before.p95, after.p95, found.rounds, found.held_back
            );
            assert!(
                after.p95 < (before.p95 / 5.0).max(0.3),
                "{parts:?} {seed}: {before:?} {after:?}"
            );
            // What is as far above or below as a correction reaches, and as much again.
            let originals = build.figure(&[], &[], 178.0);
            let places = mesh.positions().iter().zip(originals.positions());
            let changed: Vec<f64> = places
                .filter(|(a, b)| distance(**a, **b) > 0.001 * height)
                .map(|(a, _)| a[1])
                .collect();
            let (low, high) = changed.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |e, y| {
                (e.0.min(*y), e.1.max(*y))
            });
            for (p, m) in mesh.positions().iter().zip(&found.moves) {
                if p[1] < low - 0.3 * height || p[1] > high + 0.3 * height {
                    assert!(norm(*m) < 0.001 * height, "{parts:?} {seed}: {p:?} went {m:?}");
                }
            }
        }
    }
}

#[test]
fn what_is_on_model_hardly_moves() {
    for seed in 0..6 {
        let build = Build::random(&mut Rng::new(seed));
        let mesh = build.figure(&[], &[], 178.0);
        let mut rng = Rng::new(seed + 50);
        let drawn: Vec<_> = outlines(&mesh, &VIEWS)
            .iter()
            .map(|o| bodies::drawn_by_hand(o, 0.0015 * 178.0, &mut rng))
            .collect();
        let found = fitted(&mesh, &drawn, None);
        let most = LEFT_ALONE * TOLERANCE_PCT / 100.0 * height(&drawn);
        assert!(found.largest() <= most, "{seed}: {} of {most}", found.largest());
    }
}

/// A smooth bump on both sides: what it does to a place.
struct Bump {
    at: Vector,
    by: Vector,
    radius: f64,
}

impl Bump {
    fn of(&self, p: Vector) -> Vector {
        let one = |at: Vector, by: Vector| {
            let far = distance(p, at) / self.radius;
            let share = (-far * far).exp();
            by.map(|c| share * c)
        };
        let (a, b) = (
            one(self.at, self.by),
            one(mirrored(self.at, 0.0), mirrored(self.by, 0.0)),
        );
        std::array::from_fn(|i| a[i] + b[i])
    }

    fn distance(&self, p: Vector) -> f64 {
        distance(p, self.at).min(distance(p, mirrored(self.at, 0.0)))
    }
}

#[test]
fn a_hundred_random_smooth_distortions_come_back() {
    let (mut worst, mut sum, mut count) = (0.0_f64, 0.0, 0);
    let mut missed = Vec::new();
    for seed in 0..100 {
        let mut rng = Rng::new(1000 + seed);
        let build = Build::random(&mut rng);
        let scale = 10f64.powf(rng.range(-1.0, 2.3));
        let mesh = build.figure(&[], &[], scale);
        let drawn = outlines(&mesh, &VIEWS);
        let height = height(&drawn);
        let vertex = mesh.positions()[rng.below(mesh.positions().len())];
        let turn = rng.range(0.0, std::f64::consts::TAU);
        let amount = rng.range(0.01, 0.04) * height;
        let bump = Bump {
            at: vertex,
            by: [
                amount * turn.cos(),
                0.3 * amount * turn.sin(),
                amount * turn.sin(),
            ],
            radius: rng.range(0.06, 0.12) * height,
        };
        let bent = mesh.moved(
            mesh.positions()
                .iter()
                .map(|p| std::array::from_fn(|i| p[i] + bump.of(*p)[i]))
                .collect(),
        );
        let before = off(&bent, &drawn);
        let found = fitted(&bent, &drawn, None);
        let after = off(&bent.moved(found.positions(&bent)), &drawn);
        if after.p95 >= (before.p95 / 5.0).max(0.3) {
            missed.push(format!(
                "{seed}: {before:?} {after:?}, {} rounds, {} held back, {:?} {}",
                found.rounds,
                found.held_back,
                bump.at,
                amount / height
            ));
        }
        // What the distortion did not reach, and a correction of it does not either.
        let far = |p: Vector| bump.distance(p) > 2.5 * bump.radius + 0.2 * height;
        let places = bent.positions().iter().zip(&found.moves);
        let farthest = places
            .filter(|(p, _)| far(**p))
            .map(|(_, m)| norm(*m) / height)
            .fold(0.0, f64::max);
        if farthest >= 0.001 {
            missed.push(format!("{seed}: untouched places went {:.2} %", 100.0 * farthest));
        }
        worst = worst.max(after.p95);
        sum += after.p95;
        count += 1;
    }
    println!(
        "{count} distortions: 95th percentile {:.3} on the mean, {worst:.3} at worst",
        sum / f64::from(count)
    );
    assert!(missed.is_empty(), "{}: {missed:#?}", missed.len());
}

#[test]
fn legs_that_touch_part_where_the_drawing_shows_ground_between_them() {
    let mut rng = Rng::new(7);
    let build = loop {
        let build = Build::random(&mut rng);
        let drawn = outlines(&build.figure(&[], &[], 1.0), &VIEWS[..1]);
        // A drawing with a wide gap between its legs.
        let rows = drawn[0].row_spans(&[0.3]);
        if rows.row(0).len() == 2 && rows.row(0)[1].x0 - rows.row(0)[0].x1 > 0.03 {
            break build;
        }
    };
    let drawn = outlines(&build.figure(&[], &[], 178.0), &VIEWS);
    let thick = |part| Wrong {
        part,
        thick: 1.35,
        long: 1.0,
    };
    let mesh = build.figure(&[], &[thick("left-thigh"), thick("right-thigh")], 178.0);
    let found = fitted(&mesh, &drawn, None);
    let after = off(&mesh.moved(found.positions(&mesh)), &drawn);
    assert!(after.p95 < 0.3, "{after:?}");
}

#[test]
fn half_of_the_way_is_half_of_every_move_and_none_is_none() {
    let cage = ball(6);
    let drawn = [ellipse(0.9, 1.0), ellipse(1.05, 1.0)];
    let whole = fitted(&cage, &drawn, None);
    let [pairs, same] = together(&cage);
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
    let of = |amount: f64, most_move: f64, movable: &[bool]| {
        let ask = Ask {
            height: 2.0,
            tolerance: 0.02,
            smoothing: None,
            partners: &pairs,
            same: &same,
            movable,
            counting: None,
            most_move,
            amount,
            progress: &|_| (),
        };
        fit(&cage, &targets, &ask).expect("a fit")
    };
    let half = of(0.5, 1.0, &[]);
    for (a, b) in half.moves.iter().zip(&whole.moves) {
        assert!((0..3).all(|i| (2.0 * a[i] - b[i]).abs() < 1e-4), "{a:?} {b:?}");
    }
    assert_eq!(of(0.0, 1.0, &[]).moved(), 0);
    let short = of(1.0, 0.02, &[]);
    assert!(short.largest() <= 0.02 * (1.0 + 1e-12) && short.cut > 0);
    let told = |r: &drawntrue::fit::Rest| r.reason == drawntrue::fit::Reason::TooFar;
    assert!(short.rest.iter().any(told), "{:?}", short.rest);
    // Only the lower half may move.
    let lower: Vec<bool> = cage.positions().iter().map(|p| p[1] < 0.0).collect();
    let confined = of(1.0, 1.0, &lower);
    assert!(confined.moved() > 20);
    for (m, may) in confined.moves.iter().zip(&lower) {
        assert!(*may || *m == [0.0; 3]);
    }
}

/// The sparse solver against the dense Cholesky factorisation of the crate nalgebra.
#[test]
fn sparse_least_squares_agree_with_dense_ones() {
    let mut rng = Rng::new(3);
    let count = 60;
    let mut sparse = LeastSquares::new(count);
    let mut matrix = nalgebra::DMatrix::<f64>::zeros(count, count);
    let mut right = nalgebra::DVector::<f64>::zeros(count);
    for term in 0..400 {
        let mut shares: Vec<(usize, f64)> = if term < count {
            vec![(term, 1.0)]
        } else {
            (0..4).map(|_| (rng.below(count), rng.range(-1.0, 1.0))).collect()
        };
        shares.sort_by_key(|s| s.0);
        shares.dedup_by_key(|s| s.0);
        let (target, weight) = (rng.range(-1.0, 1.0), rng.range(0.01, 10.0));
        sparse.add(&shares, target, weight);
        for &(i, a) in &shares {
            right[i] += weight * a * target;
            for &(j, b) in &shares {
                matrix[(i, j)] += weight * a * b;
            }
        }
    }
    let dense = matrix.cholesky().expect("positive").solve(&right);
    for (a, b) in sparse.solve().expect("solved").iter().zip(dense.iter()) {
        assert!((a - b).abs() < 1e-10 * (1.0 + b.abs()), "{a} {b}");
    }
    // An unknown that nothing is said of.
    let mut open = LeastSquares::new(2);
    open.add(&[(0, 1.0)], 1.0, 1.0);
    assert!(open.solve().is_err());
}
