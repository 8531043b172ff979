//! A body like a column, 200 high, in two versions whose rows are worked by hand.

use super::outcome::{Across, Cut, Drawn, Figure, Figures, General, Limb, Limits, Named, Place, Seen};
use super::*;
use crate::report::model::{Facing, Kind, REPORT_SCHEMA};
use crate::report::{json, sample};

/// Tolerance 2, so that 0.2 counts.
fn outcome(height: f64, mesh: impl Fn(f64) -> [f64; 2]) -> Outcome {
    let k = height / 200.0;
    let rows: Vec<Cut> = (0..200)
        .map(|i| {
            let y = 199.5 - f64::from(i);
            Cut {
                y: y * k,
                drawing: vec![[-20.0 * k, 20.0 * k]],
                mesh: vec![mesh(y).map(|x| x * k)],
                spans: vec![Named {
                    part: "trunk".to_string(),
                    drawing: 0,
                }],
            }
        })
        .collect();
    Outcome {
        schema: REPORT_SCHEMA.to_string(),
        unit: String::new(),
        figure_height: height,
        ground_y: 0.0,
        settings: Limits { tolerance_pct: 1.0 },
        sheet: Drawn {
            views: vec![Figure {
                name: "side".to_string(),
                facing: Facing::Right,
            }],
        },
        views: vec![Seen {
            name: "side".to_string(),
            rows,
            summary: Figures {
                contour_mean: 1.0 * k,
                contour_p95: 2.0 * k,
                contour_max: 3.0 * k,
                rows_total: 200,
                rows_outside: 50,
            },
            findings: Vec::new(),
            limbs: Vec::new(),
        }],
        findings: Vec::new(),
        verdict: Verdict::OffModel,
    }
}

fn place(number: usize, kind: Kind, [y_from, y_to]: [f64; 2], off: f64) -> Place {
    Place {
        number,
        kind,
        y_from,
        y_to,
        worst_y: f64::midpoint(y_from, y_to),
        worst_distance: off,
        parts: vec!["trunk".to_string()],
        text: format!("trunk {off} too thick between a and b (1 to 2 % of the height); at y 3: left +1"),
        excused: false,
    }
}

fn compare(was: Outcome, now: Outcome) -> Changes {
    changes(&Version::new(was), &Version::new(now))
}

fn rows(c: &Changes) -> [usize; 3] {
    let v = &c.views[0];
    [v.rows_better, v.rows_worse, v.rows_stayed]
}

fn within(y: f64, from: f64, to: f64) -> bool {
    (from..to).contains(&y)
}

#[test]
fn the_same_check_twice_is_no_change() {
    let bulge = |y: f64| [-20.0, if within(y, 50.0, 80.0) { 25.0 } else { 20.0 }];
    let with = || {
        let mut o = outcome(200.0, bulge);
        o.views[0].findings = vec![place(1, Kind::Thick, [50.0, 80.0], 5.0)];
        o
    };
    let c = compare(with(), with());
    assert!(c.is_nothing() && c.text == "nothing changed", "{}", c.text);
    assert_eq!(rows(&c), [0, 0, 200]);
    assert_eq!(c.findings[0].how, How::Stayed);
}

/// The right edge, which is the front in this view, was 5 off from 50 to 80 and is 2 off now; the left edge was right and
/// is 1 short from 120 to 150 now.
#[test]
fn edges_that_moved_are_named() {
    let was = outcome(200.0, |y| {
        [-20.0, if within(y, 50.0, 80.0) { 25.0 } else { 20.0 }]
    });
    let now = outcome(200.0, |y| {
        [
            if within(y, 120.0, 150.0) { -19.0 } else { -20.0 },
            if within(y, 50.0, 80.0) { 22.0 } else { 20.0 },
        ]
    });
    let c = compare(was, now);
    assert_eq!(c.counts_from, 0.2);
    assert_eq!(c.places.len(), 2);
    let better = &c.places[0];
    assert_eq!((better.how, better.edge), (How::Better, Edge::Right));
    assert!((better.y_from - 50.5).abs() < 1e-9 && (better.y_to - 79.5).abs() < 1e-9);
    assert!(better.outside);
    assert_eq!(better.text, "trunk, front edge: 5.0 → 2.0 off");
    let worse = &c.places[1];
    assert_eq!(
        (worse.how, worse.edge, worse.outside),
        (How::Worse, Edge::Left, false)
    );
    assert_eq!(rows(&c), [30, 30, 140]);
    assert_eq!(c.text, "places: 1 nearer, 1 farther");
}

#[test]
fn a_mirrored_change_is_one_place() {
    let wide = |by: f64| {
        move |y: f64| {
            let x = if within(y, 50.0, 80.0) { 20.0 + by } else { 20.0 };
            [-x, x]
        }
    };
    let c = compare(outcome(200.0, wide(5.0)), outcome(200.0, wide(1.0)));
    assert_eq!(c.places.len(), 1);
    assert_eq!(c.places[0].edge, Edge::Both);
    assert_eq!(c.places[0].text, "trunk, back and front edge: 5.0 → 1.0 off");
}

#[test]
fn less_than_what_counts_stays() {
    let wide = |by: f64| move |_: f64| [-20.0, 20.0 + by];
    let c = compare(outcome(200.0, wide(1.0)), outcome(200.0, wide(1.19)));
    assert!(c.places.is_empty(), "{:?}", c.places);
    let c = compare(outcome(200.0, wide(1.0)), outcome(200.0, wide(1.21)));
    assert_eq!(c.places.len(), 1);
}

#[test]
fn findings_are_matched_by_place() {
    let plain = |_: f64| [-20.0, 20.0];
    let mut was = outcome(200.0, plain);
    was.views[0].findings = vec![
        place(1, Kind::Thick, [50.0, 80.0], 5.0),
        place(2, Kind::Missing, [180.0, 200.0], 4.0),
        place(3, Kind::Thin, [100.0, 120.0], 3.0),
        place(4, Kind::GapClosed, [60.0, 70.0], 2.5),
    ];
    let mut now = outcome(200.0, plain);
    now.views[0].findings = vec![
        place(1, Kind::Thin, [101.0, 122.0], 6.0),
        place(2, Kind::Shifted, [55.0, 78.0], 3.0),
        place(3, Kind::GapOpen, [20.0, 30.0], 2.5),
        place(4, Kind::GapClosed, [60.0, 70.0], 2.6),
    ];
    let c = compare(was, now);
    let told: Vec<_> = c
        .findings
        .iter()
        .map(|f| (f.how, f.number, f.number_was, f.kind_was))
        .collect();
    assert_eq!(
        told,
        [
            (How::New, Some(3), None, None),
            (How::Worse, Some(1), Some(3), None),
            (How::Better, Some(2), Some(1), Some(Kind::Thick)),
            (How::Gone, None, Some(2), None),
            (How::Stayed, Some(4), Some(4), None),
        ]
    );
    assert_eq!(c.findings[1].text, "trunk 6 too thick; 6.0 off, 3.0 before");
    assert_eq!(c.text, "findings: 1 new, 1 worse, 1 better, 1 gone");
}

/// A long finding whose middle was mended falls in two; the part that nobody touched stayed, though the worst place of the
/// old one is not in it.
#[test]
fn a_finding_that_fell_in_two_is_told_by_its_own_rows() {
    let wide = |middle: f64| {
        move |y: f64| {
            let by = match y {
                y if within(y, 95.0, 115.0) => middle,
                y if within(y, 50.0, 150.0) => 4.0,
                _ => 0.0,
            };
            [-20.0, 20.0 + by]
        }
    };
    let mut was = outcome(200.0, wide(9.0));
    was.views[0].findings = vec![place(1, Kind::Thick, [50.0, 150.0], 9.0)];
    let mut now = outcome(200.0, wide(0.0));
    now.views[0].findings = vec![
        place(1, Kind::Thick, [50.0, 90.0], 4.0),
        place(2, Kind::Thick, [120.0, 150.0], 4.0),
    ];
    let c = compare(was, now);
    assert!(
        c.findings.iter().all(|f| f.how == How::Stayed),
        "{:?}",
        c.findings
    );
    assert_eq!(c.places.len(), 1);
    assert_eq!(c.places[0].how, How::Better);
}

/// Twice the units: the same figure in millimetres and in half of them.
#[test]
fn units_do_not_matter() {
    let bulge = |by: f64| move |y: f64| [-20.0, if within(y, 50.0, 80.0) { 20.0 + by } else { 20.0 }];
    assert!(compare(outcome(400.0, bulge(5.0)), outcome(200.0, bulge(5.0))).is_nothing());
    let c = compare(outcome(400.0, bulge(5.0)), outcome(200.0, bulge(3.0)));
    assert_eq!(c.places[0].text, "trunk, front edge: 5.0 → 3.0 off");
}

#[test]
fn a_crown_that_stood_higher_is_nearer_now() {
    let plain = |_: f64| [-20.0, 20.0];
    let mut was = outcome(200.0, plain);
    let top = (0..10).map(|k| Cut {
        y: 209.5 - f64::from(k),
        drawing: Vec::new(),
        mesh: vec![[-20.0, 20.0]],
        spans: Vec::new(),
    });
    let rows = was.views[0].rows.clone();
    was.views[0].rows = top.chain(rows).collect();
    let c = compare(was, outcome(200.0, plain));
    assert_eq!(c.places.len(), 1);
    let p = &c.places[0];
    assert!(
        p.how == How::Better && p.distance_now.is_none() && p.y_to == 209.5,
        "{p:?}"
    );
}

#[test]
fn other_findings_are_told_by_their_words() {
    let plain = |_: f64| [-20.0, 20.0];
    let (mut was, mut now) = (outcome(200.0, plain), outcome(200.0, plain));
    let say = |t: &str| General { text: t.to_string() };
    was.findings = vec![
        say("the left arm is 2.5 too long"),
        say("the chin is drawn 1.2 % higher"),
    ];
    now.findings = vec![say("the left arm is 1.5 too long")];
    now.views[0].limbs = vec![Limb {
        findings: vec![Across {
            text: "left forearm 1.2 too thick".to_string(),
        }],
    }];
    let c = compare(was, now);
    assert_eq!(c.others_gone, ["the chin is drawn 1.2 % higher"]);
    assert_eq!(c.others_new, ["side: left forearm 1.2 too thick"]);
}

#[test]
fn a_view_that_is_new_is_told() {
    let plain = |_: f64| [-20.0, 20.0];
    let mut was = outcome(200.0, plain);
    was.views.clear();
    let c = compare(was, outcome(200.0, plain));
    assert_eq!((c.views[0].mean_was, c.views[0].mean_now), (None, Some(1.0)));
    assert!(c.places.is_empty() && c.findings.is_empty());
}

/// A report read back says what the live one says.
#[test]
fn a_written_report_is_read_back() {
    let report = sample::scene().report;
    let text = json::write(&report).expect("written");
    let (live, read) = (Outcome::from(&report), Outcome::read(&text).expect("read"));
    assert_eq!(read.views[0].rows.len(), live.views[0].rows.len());
    assert_eq!(read.views[0].findings.len(), live.views[0].findings.len());
    assert!(compare(live, read).is_nothing());
    let other = String::from_utf8(text)
        .expect("UTF-8")
        .replace(REPORT_SCHEMA, "another/1");
    let error = Outcome::read(other.as_bytes()).expect_err("refused").to_string();
    assert!(error.contains("another/1"), "{error}");
    assert!(Outcome::read(b"{}").is_err());
}
