//! The worked example of the library's documentation, on the demo: it says what the demo's makers planted.

#[path = "../examples/worst_finding.rs"]
mod example;

use std::path::Path;

use drawntrue::report::model::Verdict;

/// The head of the demo's cage sits 3.6 cm too far forward: that is its worst fault.
#[test]
fn the_example_finds_the_planted_fault() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let (verdict, worst) =
        example::worst(&root.join("refs/tamsel.obj"), &root.join("refs/tamsel-sheet.png")).expect("checked");
    let worst = worst.expect("a finding");
    assert_eq!(verdict, Verdict::OffModel);
    assert!(
        worst.starts_with("side: head 3.") && worst.contains("cm shifted towards the front"),
        "{worst}"
    );
}
