//! What is said of a cast.

use super::*;
use crate::report::{json, sample};

fn cast() -> Vec<Character> {
    let report = json::write(&sample::report()).expect("a report");
    let short = Short::read(&report).expect("short");
    let of = |name: &str| Character::of(name, PathBuf::from("out").join(name), &short, 1, true);
    let mut fine = of("Fine");
    (
        fine.verdict,
        fine.status,
        fine.findings,
        fine.worst,
        fine.worst_pct,
    ) = (Some(Verdict::OnModel), 0, 0, None, None);
    let broken = Character::failed(
        "<b>Broken",
        PathBuf::from("out/x"),
        2,
        &Error::new("there is <no> file"),
    );
    vec![fine, of("Off & on"), broken]
}

#[test]
fn what_needs_work_stands_first() {
    let all = cast();
    let names: Vec<&str> = by_need(&all).iter().map(|c| c.name.as_str()).collect();
    assert_eq!(names, ["<b>Broken", "Off & on", "Fine"]);
    assert_eq!(counted(&all), "1 not checked, 1 off model, 1 on model");
}

/// OWASP, "Cross site scripting prevention", rule 1 (from memory): no name and no message becomes markup.
#[test]
fn no_name_is_markup() {
    let html = String::from_utf8(page(&cast(), None).expect("a page")).expect("UTF-8");
    assert!(
        html.contains("&lt;b&gt;Broken")
            && html.contains("Off &amp; on")
            && html.contains("there is &lt;no&gt; file")
    );
    assert!(!html.contains("<b>Broken") && !html.contains("<no>") && !html.contains("<script"));
    assert!(html.contains("<h1>1 of 3 on model</h1>"));
}

#[test]
fn a_line_is_one_line_of_json() {
    for c in cast() {
        let text = line(&c);
        assert_eq!(text.matches('\n').count(), 1);
        let value: serde_json::Value = serde_json::from_str(&text).expect("JSON");
        assert_eq!(
            (&value["schema"], &value["character"]),
            (&CAST_SCHEMA.into(), &c.name.clone().into())
        );
        assert_eq!(value["error"].is_null(), value["verdict"].is_string());
    }
}
