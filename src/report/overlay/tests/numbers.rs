//! What the pictures say in figures is what `report.json` says.

use serde_json::Value;

use super::super::{Subject, draw, draw_all};
use super::whole;
use crate::report::json;
use crate::report::look::PICTURE_HEIGHT;
use crate::report::sample::{Scene, scene};

/// A number as the picture writes it: a thousandth of 160 units is seen, so one decimal.
fn written(v: f64) -> String {
    let text = format!("{:.1}", v.abs());
    let sign = if v < 0.0 && text != "0.0" { "−" } else { "" };
    format!("{sign}{text}")
}

fn report(scene: &Scene) -> Value {
    let bytes = json::write(&scene.report).expect("a report");
    serde_json::from_slice(&bytes).expect("JSON")
}

fn number(v: &Value, path: &str) -> f64 {
    v.pointer(path)
        .and_then(Value::as_f64)
        .unwrap_or_else(|| panic!("no number at {path}"))
}

/// What a picture of the view `k` must say of each of its findings.
fn of_findings(report: &Value, k: usize) -> Vec<String> {
    let findings = report
        .pointer(&format!("/views/{k}/findings"))
        .and_then(Value::as_array)
        .expect("findings");
    findings
        .iter()
        .flat_map(|f| {
            let [from, to, worst] = ["/y_from", "/y_to", "/worst_y"].map(|p| written(number(f, p)));
            let place = match f["kind"].as_str() {
                Some("missing" | "extra") => format!("from y {from} to {to} cm"),
                _ => format!("y {from} to {to}, worst at {worst} cm"),
            };
            let mut out = vec![f["number"].to_string(), place];
            if let (Some(l), Some(r)) = (f["left_diff"].as_f64(), f["right_diff"].as_f64()) {
                let signed = |v: f64| {
                    let text = written(v);
                    let plus = if v > 0.0 && text != "0.0" { "+" } else { "" };
                    format!("{plus}{text}")
                };
                out.push(format!("left {}, right {}", signed(l), signed(r)));
                out.push(written(number(f, "/outer_diff").abs()));
            }
            out
        })
        .collect()
}

fn holds(texts: &[String], wanted: &str) {
    assert!(
        texts.iter().any(|t| t.contains(wanted)),
        "{wanted:?} is not in the picture: {texts:#?}"
    );
}

#[test]
fn numbers_in_a_view_s_picture_are_the_report_s() {
    let scene = scene();
    let report = report(&scene);
    let canvas = draw(&whole(&scene), PICTURE_HEIGHT).expect("drawn");
    for wanted in of_findings(&report, 0) {
        holds(&canvas.written, &wanted);
    }
    let view = &report["views"][0]["summary"];
    holds(
        &canvas.written,
        &format!(
            "outlines apart: {} on average, {} cm at most",
            written(number(view, "/contour_mean")),
            written(number(view, "/contour_max"))
        ),
    );
    holds(
        &canvas.written,
        &format!(
            "{} of {} rows outside tolerance",
            view["rows_outside"], view["rows_total"]
        ),
    );
    let tolerance = number(&report, "/settings/tolerance_pct") / 100.0 * number(&report, "/figure_height");
    holds(&canvas.written, &format!("= {} cm", written(tolerance)));
}

#[test]
fn numbers_in_the_picture_of_all_views_are_the_report_s() {
    let scene = scene();
    let report = report(&scene);
    let subjects: Vec<Subject<'_>> = (0..2)
        .map(|view| Subject {
            view,
            ..whole(&scene)
        })
        .collect();
    let canvas = draw_all(&subjects, PICTURE_HEIGHT).expect("drawn");
    for wanted in of_findings(&report, 0).into_iter().chain(of_findings(&report, 1)) {
        holds(&canvas.written, &wanted);
    }
    holds(&canvas.written, "6 findings in 2 views");
    let height = number(&report, "/figure_height");
    holds(&canvas.written, &format!("figure {} cm tall", written(height)));
}
