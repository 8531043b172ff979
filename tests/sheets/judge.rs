//! Reads a sheet, prints what was measured, and fails unless the faults are exactly the known ones.

use super::measure::{Matter, faults};
use super::page::Sheet;

/// A shortfall that is known: in which sheet, about what, and why.
pub(crate) struct Known {
    pub(crate) sheet: &'static str,
    pub(crate) matter: Matter,
    pub(crate) why: &'static str,
}

/// # Panics
/// If a fault is not on the list, or one on the list no longer occurs: the list may only shrink.
pub(crate) fn judge(name: &str, sheet: &Sheet, known: &[Known]) {
    let start = std::time::Instant::now();
    let (found, log) = faults(sheet);
    eprintln!(
        "{name}: read and measured in {:.2} s",
        start.elapsed().as_secs_f64()
    );
    for line in &log {
        eprintln!("{name}: {line}");
    }
    let listed = |m: Matter| known.iter().find(|k| k.sheet == name && k.matter == m);
    let mut wrong = Vec::new();
    for (matter, text) in &found {
        match listed(*matter) {
            Some(k) => eprintln!("{name}: known ({}): {text}", k.why),
            None => wrong.push(format!("{matter:?}: {text}")),
        }
    }
    for k in known.iter().filter(|k| k.sheet == name) {
        if !found.iter().any(|f| f.0 == k.matter) {
            wrong.push(format!(
                "{:?} is on the list of known failures and does not fail: take it off",
                k.matter
            ));
        }
    }
    assert!(wrong.is_empty(), "{name}:\n  {}", wrong.join("\n  "));
}
