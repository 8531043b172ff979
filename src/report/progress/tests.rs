//! A course whose every step is known.

use std::time::{Duration, SystemTime};

use super::*;
use crate::report::changes::How;
use crate::report::terminal::Style;
use crate::report::{json, sample};

/// The sample's line with its worst finding so far off, and so many rows outside.
fn entry(name: Option<&str>, worst: f64, outside: usize) -> Entry {
    let mut report = sample::report();
    for view in &mut report.views {
        view.summary.rows_outside = outside;
        view.summary.rows_total = 400;
        for f in view.findings.iter_mut().filter(|f| f.number == 1) {
            f.worst_distance = worst;
        }
    }
    let report = json::write(&report).expect("a report");
    let time = SystemTime::UNIX_EPOCH + Duration::from_secs(1_700_000_000);
    Entry::new(&report, name, time).expect("a line")
}

#[test]
fn the_chosen_check_is_found() {
    let all = [
        entry(Some("a"), 9.0, 0),
        entry(Some("a"), 8.0, 0),
        entry(None, 7.0, 0),
        entry(Some("b"), 6.0, 0),
    ];
    let find = |c: Chosen| c.find(&all);
    assert_eq!(find(Chosen::Last).expect("there"), 2);
    assert_eq!(find(Chosen::Named("a".into())).expect("there"), 1);
    assert_eq!(find(Chosen::Number(1)).expect("there"), 0);
    // The last one is not compared with itself.
    for (chosen, said) in [
        (Chosen::Number(4), "no check 4 before"),
        (Chosen::Number(0), "no check 0"),
        (Chosen::Named("b".into()), "called b"),
    ] {
        let text = find(chosen).expect_err("refused").to_string();
        assert!(text.contains(said) && text.contains("1 to 3"), "{text}");
    }
    assert!(Chosen::Last.find(&all[..1]).is_err() && Chosen::Last.find(&[]).is_err());
}

/// The worst finding of a figure 160 tall was 9, then 4, off: 5.625 and 2.5 percent.
#[test]
fn figures_are_the_reports() {
    let points = points(&[entry(None, 9.0, 100), entry(Some("x"), 4.0, 50)]);
    assert!((points[0].worst_pct - 5.625).abs() < 1e-9 && (points[1].worst_pct - 2.5).abs() < 1e-9);
    assert!((points[0].outside_pct - 25.0).abs() < 1e-9 && (points[1].outside_pct - 12.5).abs() < 1e-9);
    assert_eq!((points[1].number, points[1].name.as_deref()), (2, Some("x")));
    assert_eq!(points[0].time.as_deref(), Some("2023-11-14T22:13:20Z"));
    let text = course(&points, Style::Plain);
    assert!(
        text.contains("2023-11-14 22:13") && text.contains("12.5 %"),
        "{text}"
    );
    // Of seven lines for fifty percent the one takes three and a half, the other one and three quarters; two columns each.
    let count = |sign: char| text.matches(sign).count();
    assert_eq!((count('█'), count('▄'), count('▆')), (8, 2, 2), "{text}");
}

#[test]
fn findings_are_followed_from_check_to_check() {
    let (was, now) = (entry(None, 9.0, 100), entry(None, 4.0, 50));
    let of = |c: &Changes| {
        c.findings
            .iter()
            .find(|f| f.number == Some(1))
            .map(|f| (f.how, f.distance_was, f.distance_now))
    };
    let better = between(&was.short, &now.short).expect("changes");
    assert_eq!(of(&better), Some((How::Better, Some(9.0), Some(4.0))));
    let worse = between(&now.short, &was.short).expect("changes");
    assert_eq!(of(&worse), Some((How::Worse, Some(4.0), Some(9.0))));
    assert!(between(&now.short, &now.short).expect("changes").is_nothing());
    let text = changed("since", &better, Style::Plain);
    assert!(
        text.contains("better") && !text.contains("nothing changed"),
        "{text}"
    );
}

#[test]
fn a_page_compares_with_the_latest_and_the_first() {
    let all: Vec<Entry> = (0..100).map(|k| entry(None, 9.0, k)).collect();
    let course = course_of(&all, &entry(None, 4.0, 50).short, Some("now")).expect("a course");
    assert_eq!(course.points.len(), MOST_SHOWN);
    let last = course.points.last().expect("the last");
    assert_eq!(
        (last.number, last.time.as_deref(), last.name.as_deref()),
        (101, None, Some("now"))
    );
    let numbers: Vec<usize> = course.since.iter().map(|s| s.number).collect();
    assert_eq!(numbers[..2], [100, 99]);
    assert_eq!(
        (numbers.len(), numbers.last()),
        (MOST_COMPARED + 1, Some(&course.points[0].number))
    );
    assert!(
        course_of(&[], &all[0].short, None)
            .expect("a course")
            .since
            .is_empty()
    );
}
