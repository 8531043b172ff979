//! What the terminal shows of an audit: one line a check, the places of those that did not pass, what to do.
//!
//! Returns text, prints nothing. Fits the columns of `report::terminal`.

use std::fmt::Write as _;

use crate::audit::model::{Audit, Outcome};
use crate::report::terminal::{Style, clean, file_name, hanging};

/// Places of a check that are shown.
const MOST_PLACES: usize = 5;

/// The summary of an audit, ended by a line feed. Writing to a string cannot fail; those results are dropped.
pub fn summary(audit: &Audit, style: Style) -> String {
    let mut out = String::new();
    let m = &audit.mesh;
    let _ = writeln!(
        out,
        "{}",
        style.bold(&format!(
            "{}: {} vertices, {} faces ({} quads, {} triangles, {} with more corners), {} piece{}",
            file_name(&m.path),
            m.vertices,
            m.faces,
            m.quads,
            m.triangles,
            m.ngons,
            m.shells,
            if m.shells == 1 { "" } else { "s" },
        ))
    );
    match (audit.plane_x, audit.half) {
        (Some(x), false) => drop(writeln!(out, "mirror plane x = {x}\n")),
        (Some(x), true) => drop(writeln!(out, "one half of a model, open along x = {x}\n")),
        (None, _) => drop(writeln!(out, "no mirror plane x = c was found\n")),
    }
    for check in &audit.checks {
        let (mark, code) = match check.outcome {
            Outcome::Pass => ("ok  ", "2"),
            Outcome::Warn => ("warn", "1;36"),
            Outcome::Fail => ("FAIL", "1;33"),
        };
        let _ = writeln!(
            out,
            "{}  {}",
            style.wrap(code, mark),
            hanging(&format!("{}: {}", check.id, clean(&check.text)))
        );
        if check.outcome == Outcome::Pass {
            continue;
        }
        for place in check.places.iter().take(MOST_PLACES) {
            let _ = writeln!(
                out,
                "      {}",
                hanging(&format!("{}. {}: {}", place.number, place.r#where, place.text))
                    .replace('\n', "\n   ")
            );
        }
        if check.places.len() > MOST_PLACES {
            let _ = writeln!(out, "      and {} more places", check.places.len() - MOST_PLACES);
        }
        // A check that could not be made has nothing to advise on.
        if !check.why.is_empty() && check.count > 0 {
            let _ = writeln!(out, "{}", style.faint(&format!("      {}", hanging(check.why))));
            let _ = writeln!(
                out,
                "{}",
                style.faint(&format!("      {}", hanging(check.advice)))
            );
        }
    }
    for note in &audit.notes {
        let _ = writeln!(
            out,
            "{}",
            style.faint(&format!("note  {}", hanging(&clean(note))))
        );
    }
    let _ = writeln!(out, "\n{}", style.bold(&verdict(audit)));
    out
}

/// The whole audit in a few words.
pub fn verdict(audit: &Audit) -> String {
    let count = |o: Outcome| audit.checks.iter().filter(|c| c.outcome == o).count();
    match (count(Outcome::Fail), count(Outcome::Warn)) {
        (0, 0) => "sound".into(),
        (0, w) => format!("sound; {w} to look at"),
        (f, w) => format!("not sound: {f} failed, {w} more to look at"),
    }
}
