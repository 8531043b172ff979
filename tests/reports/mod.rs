//! Every report that a test makes is read through here: the published schema must accept it.

use std::sync::LazyLock;

use jsonschema::Validator;
use serde_json::Value;

static REPORT: LazyLock<Validator> = LazyLock::new(|| validator(&drawntrue::report::schema::report()));

/// A validator of JSON Schema (draft 2020-12), which checks the schema itself as well.
pub(crate) fn validator(schema: &Value) -> Validator {
    assert!(jsonschema::meta::is_valid(schema), "no schema");
    jsonschema::draft202012::new(schema).expect("a schema")
}

/// What a schema has against a value; empty where it accepts it.
pub(crate) fn against(validator: &Validator, value: &Value) -> Vec<String> {
    let errors = validator.iter_errors(value);
    errors.map(|e| format!("{}: {e}", e.instance_path())).collect()
}

/// The report in the text of a `report.json`.
#[track_caller]
pub(crate) fn accepted(text: &[u8]) -> Value {
    let report = serde_json::from_slice(text).expect("JSON");
    let wrong = against(&REPORT, &report);
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    report
}

/// A history's lines without their times, the only thing that may differ from one run to the next.
pub(crate) fn without_times(lines: &[u8]) -> Vec<u8> {
    let text = std::str::from_utf8(lines).expect("UTF-8");
    assert!(text.ends_with('\n'), "a line is not whole");
    let mut out = Vec::new();
    for line in text.lines() {
        let mut entry: Value = serde_json::from_str(line).expect("a line of JSON");
        let time = entry.as_object_mut().and_then(|e| e.remove("time"));
        assert!(
            time.is_some_and(|t| t.as_str().is_some_and(|t| t.ends_with('Z'))),
            "{line}"
        );
        out.extend_from_slice(entry.to_string().as_bytes());
        out.push(b'\n');
    }
    out
}
