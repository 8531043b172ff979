//! Measures between outlines against closed forms and slow methods.

use std::f64::consts::{PI, TAU};

use drawntrue::profile::{
    DistanceIndex, Outline, RowSpans, Span, boundary_iou, contour_distances, overlap, ring_area, trace,
};
use drawntrue::space::{Level, Point, Space, ViewUnits};
use proptest::prelude::*;

fn ring<S: Space>(points: &[(f64, f64)]) -> Vec<Point<S>> {
    points.iter().map(|&(x, y)| Point::new(x, y)).collect()
}

fn outline<S: Space>(rings: &[&[(f64, f64)]]) -> Outline<S> {
    Outline {
        rings: rings.iter().map(|r| ring(r)).collect(),
    }
}

/// A circle as a polygon of `n` corners, counter-clockwise with y up.
fn circle(r: f64, n: usize) -> Outline<ViewUnits> {
    let points: Vec<(f64, f64)> = (0..n)
        .map(|i| {
            let (s, c) = (TAU * i as f64 / n as f64).sin_cos();
            (r * c, r * s)
        })
        .collect();
    outline(&[&points])
}

fn spans(rows: &RowSpans, i: usize) -> Vec<(f64, f64)> {
    rows.row(i).iter().map(|s| (s.x0, s.x1)).collect()
}

const SQUARE: [(f64, f64); 4] = [(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)];
const HOLE: [(f64, f64); 4] = [(1.0, 1.0), (1.0, 3.0), (3.0, 3.0), (3.0, 1.0)];

#[test]
fn holes_cut_and_overlapping_rings_unite() {
    let holed: Outline<ViewUnits> = outline(&[&SQUARE, &HOLE]);
    let rows = holed.row_spans(&[3.5, 2.0, 0.0, 4.0]);
    assert_eq!(spans(&rows, 0), [(0.0, 4.0)]);
    assert_eq!(spans(&rows, 1), [(0.0, 1.0), (3.0, 4.0)]);
    assert_eq!(spans(&rows, 2), [(0.0, 4.0)]);
    assert_eq!(spans(&rows, 3), []);
    assert_eq!((holed.area(), holed.perimeter()), (12.0, 24.0));

    let moved = SQUARE.map(|(x, y)| (x + 3.0, y + 1.0));
    let two: Outline<ViewUnits> = outline(&[&SQUARE, &moved]);
    assert_eq!(spans(&two.row_spans(&[2.0]), 0), [(0.0, 7.0)]);
}

#[test]
fn signs_turn_with_the_direction_of_y() {
    // The same pictures in a space whose y points down.
    let flipped = |points: &[(f64, f64)]| points.iter().map(|&(x, y)| (x, 10.0 - y)).collect::<Vec<_>>();
    let holed: Outline<Level> = outline(&[&flipped(&SQUARE), &flipped(&HOLE)]);
    assert_eq!(holed.area(), 12.0);
    assert_eq!(ring_area(&holed.rings[1]), -4.0);
    assert_eq!(spans(&holed.row_spans(&[8.0]), 0), [(0.0, 1.0), (3.0, 4.0)]);
    let bounds = holed.bounds().expect("points");
    assert_eq!(
        (bounds.x0, bounds.y0, bounds.x1, bounds.y1),
        (0.0, 6.0, 4.0, 10.0)
    );
}

/// Rows of a figure with two legs, a body with a hole and one head, from the bottom up.
fn figure() -> RowSpans {
    let rows: [&[(f64, f64)]; 7] = [
        &[(0.0, 1.0), (3.0, 4.0)],
        &[(0.0, 1.5), (2.5, 4.0)],
        &[(0.0, 4.0)],
        &[(0.0, 1.0), (2.0, 4.0)],
        &[(0.0, 4.0)],
        &[(1.5, 2.5)],
        &[],
    ];
    let mut out = RowSpans::default();
    for (i, row) in rows.iter().enumerate() {
        let row: Vec<Span> = row.iter().map(|&(x0, x1)| Span { x0, x1 }).collect();
        out.push_row(i as f64, &row);
    }
    out
}

fn top_down(rows: &RowSpans) -> RowSpans {
    let mut out = RowSpans::default();
    for i in (0..rows.len()).rev() {
        out.push_row(rows.ys[i], rows.row(i));
    }
    out
}

#[test]
fn tracing_joins_splits_merges_and_holes() {
    for rows in [figure(), top_down(&figure())] {
        let traced: Outline<ViewUnits> = trace(&rows);
        let mut areas: Vec<f64> = traced.rings.iter().map(ring_area).collect();
        areas.sort_by(f64::total_cmp);
        assert_eq!(areas.len(), 2);
        // The hole is one row, capped half way to its neighbours.
        assert_eq!(areas[0], -1.0);
        // From the bottom: two legs 2.5; the body less half a row of the gap 3.5; body 4 and 4; shoulders 2.5; half a
        // row of head.
        assert_eq!(areas[1], 2.5 + 3.5 + 4.0 + 4.0 + 2.5 + 0.5);
        assert_eq!(traced.row_spans(&rows.ys), rows);
    }
    // Seen with y down, the same heights run the other way and the signs stay.
    let down: Outline<Level> = trace(&figure());
    let mut areas: Vec<f64> = down.rings.iter().map(ring_area).collect();
    areas.sort_by(f64::total_cmp);
    assert_eq!((areas.len(), areas[0]), (2, -1.0));
    assert_eq!(down.row_spans(&figure().ys), figure());
}

#[test]
fn rings_of_a_disc_and_back() {
    let disc = circle(1.0, 4000);
    let ys: Vec<f64> = (0..=2000).map(|i| -1.0 + 0.001 * f64::from(i)).collect();
    let rows = disc.row_spans(&ys);
    let traced: Outline<ViewUnits> = trace(&rows);
    assert_eq!(traced.rings.len(), 1);
    // Cut straight between rows, the outline loses less than a row's height along its length.
    assert!((traced.area() - PI).abs() < 0.001 * TAU);
    assert_eq!(traced.row_spans(&ys), rows);
}

#[test]
fn concentric_discs() {
    // Hausdorff 2, IoU (28/30)², boundary IoU at d = 4: (28² − 26²)/(30² − 24²) = 1/3.
    let n = 2000;
    let (a, b) = (circle(30.0, n), circle(28.0, n));
    let (ia, ib) = (DistanceIndex::new(&a), DistanceIndex::new(&b));
    // Inscribed polygons lie within their sagitta of the circle.
    let sagitta = 30.0 * (1.0 - (PI / n as f64).cos());
    let found = contour_distances((&a, &ia), (&b, &ib), 0.1).expect("outlines");
    for value in [found.mean, found.p95, found.max] {
        assert!((value - 2.0).abs() <= 2.0 * sagitta, "{found:?}");
    }

    let rows = 2400;
    let ys: Vec<f64> = (0..rows)
        .map(|i| 30.0 - 60.0 * (f64::from(i) + 0.5) / f64::from(rows))
        .collect();
    let (ra, rb) = (a.row_spans(&ys), b.row_spans(&ys));
    // Midpoint rule on a half circle: 0.2 (h/r)^1.5 of the area at the two ends, here 5e-6; polygons 2e-6.
    let iou = overlap(&ra, &rb).iou().expect("areas");
    assert!((iou - (28.0f64 / 30.0).powi(2)).abs() < 2e-5, "{iou}");
    // The midpoint rule again: the inner border of a band ends twice more at the top and at the bottom.
    let boundary = boundary_iou((&ra, &a), (&rb, &b), 4.0).expect("bands");
    assert!((boundary - 1.0 / 3.0).abs() < 4e-5, "{boundary}");
}

#[test]
fn an_outline_against_itself_reads_zero_and_one() {
    let a: Outline<ViewUnits> = outline(&[&SQUARE, &HOLE]);
    let index = DistanceIndex::new(&a);
    let found = contour_distances((&a, &index), (&a, &index), 0.37).expect("outlines");
    // Sample points on slanted segments would round; these are axis-parallel.
    assert_eq!((found.mean, found.p95, found.max), (0.0, 0.0, 0.0));
    let ys: Vec<f64> = (0..40).map(|i| 0.05 + 0.1 * f64::from(i)).collect();
    let rows = a.row_spans(&ys);
    assert_eq!(overlap(&rows, &rows).iou(), Some(1.0));
    assert_eq!(boundary_iou((&rows, &a), (&rows, &a), 0.2), Some(1.0));
    assert!((overlap(&rows, &rows).shared - 12.0).abs() < 1e-12);
}

#[test]
fn hausdorff_of_two_lines() {
    // The documented example of a discrete Hausdorff distance: 14.1421 between vertices, 70 when every segment is
    // halved. Lines are rings that go there and back.
    let a: Outline<ViewUnits> = outline(&[&[(130.0, 0.0), (0.0, 0.0), (0.0, 150.0), (0.0, 0.0)]]);
    let b: Outline<ViewUnits> = outline(&[&[(10.0, 10.0), (10.0, 150.0), (130.0, 10.0), (10.0, 150.0)]]);
    let (ia, ib) = (DistanceIndex::new(&a), DistanceIndex::new(&b));
    let max = |step: f64| {
        contour_distances((&a, &ia), (&b, &ib), step)
            .expect("outlines")
            .max
    };
    assert!((max(1000.0) - 200.0f64.sqrt()).abs() < 1e-12);
    assert_eq!(max(100.0), 70.0);
    // Finely: where the slanted line is equally far from both arms, x = y = 10 + 120·140/260.
    assert!((max(0.01) - (10.0 + 120.0 * 140.0 / 260.0)).abs() <= 0.005);
}

#[test]
fn empty_outlines_measure_nothing() {
    let none = Outline::<ViewUnits>::default();
    let a: Outline<ViewUnits> = outline(&[&SQUARE]);
    let (i, ia) = (DistanceIndex::new(&none), DistanceIndex::new(&a));
    assert_eq!(i.distance(Point::new(1.0, 1.0)), f64::INFINITY);
    assert!(i.nearest(Point::new(1.0, 1.0)).is_none());
    assert!(contour_distances((&none, &i), (&a, &ia), 1.0).is_none());
    assert!(
        overlap(&none.row_spans(&[0.0, 1.0]), &none.row_spans(&[0.0, 1.0]))
            .iou()
            .is_none()
    );
    assert_eq!(trace::<ViewUnits>(&RowSpans::default()), none);
}

proptest! {
    /// The tree against a look at every segment.
    #[test]
    fn nearest_is_the_nearest_of_all(
        points in prop::collection::vec((-9i32..9, -9i32..9), 1..80),
        queries in prop::collection::vec((-12.0f64..12.0, -12.0f64..12.0), 20),
        limit in 0.0f64..6.0,
    ) {
        let points: Vec<(f64, f64)> = points.iter().map(|&(x, y)| (f64::from(x), f64::from(y))).collect();
        let rings: Outline<ViewUnits> = outline(&[&points[..points.len() / 2], &points[points.len() / 2..]]);
        let index = DistanceIndex::new(&rings);
        let mut hint = usize::MAX;
        for &(x, y) in &queries {
            let slow = rings
                .segments()
                .map(|(p, q)| {
                    let (dx, dy) = (q.x - p.x, q.y - p.y);
                    let square = dx * dx + dy * dy;
                    let t = if square > 0.0 { (((x - p.x) * dx + (y - p.y) * dy) / square).clamp(0.0, 1.0) } else { 0.0 };
                    (x - p.x - t * dx).hypot(y - p.y - t * dy)
                })
                .fold(f64::INFINITY, f64::min);
            let p = Point::new(x, y);
            let found = index.distance(p);
            // A few roundings on coordinates up to 12.
            prop_assert!((found - slow).abs() < 1e-13, "{} and {}", found, slow);
            prop_assert_eq!(index.distance_near(p, &mut hint), found);
            let (at, distance) = index.nearest(p).expect("segments");
            prop_assert!((at.distance(p) - distance).abs() < 1e-13);
            prop_assert_eq!(index.within(p, limit).is_some(), found <= limit);
        }
    }
}
