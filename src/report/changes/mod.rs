//! What changed from one check to another: which places got better, got worse, stayed, are gone or new.
//!
//! Two finished results are compared, live ones or such as were read back from a `report.json`; nothing is measured on
//! mesh or drawing again. Both are laid on each other by heights as shares of the figure, so that results with different
//! placements or units can be compared; lengths are told in the later one's units. A change counts from [`COUNTS`] on.

mod distances;
mod findings;
mod outcome;
mod places;

use serde::Serialize;

pub use findings::FindingChange;
pub use outcome::Outcome;
pub use places::{Edge, PlaceChange};

use crate::compare::wording::length;
use crate::report::model::{Facing, Verdict};
use distances::{Off, distances};

/// What a change must exceed to count, as a share of the tolerance. Common practice, no source: a tenth of what is
/// allowed is no step of anybody's work.
pub const COUNTS: f64 = 0.1;
/// And as a share of the figure's height: lengths are shown in steps of a thousandth, and half of one is not seen.
pub const COUNTS_OF_HEIGHT: f64 = 0.0005;

/// How a place fares, in the order in which it is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum How {
    /// It was not off before.
    New,
    /// Farther off than before.
    Worse,
    /// Nearer than before.
    Better,
    /// It is not off any more.
    Gone,
    /// As it was, but for less than what counts.
    Stayed,
}

/// What changed from one check to another.
#[derive(Debug, Clone, Serialize)]
pub struct Changes {
    /// Verdict of the earlier check.
    pub was: Verdict,
    /// Verdict of the later check.
    pub now: Verdict,
    /// A change counts from so much on, units.
    pub counts_from: f64,
    /// Finding by finding: new and worse ones first, the largest change first.
    pub findings: Vec<FindingChange>,
    /// Stretches of an edge that moved towards the drawing or away from it, also within tolerance; the largest first.
    pub places: Vec<PlaceChange>,
    /// View by view.
    pub views: Vec<ViewChange>,
    /// Other findings, in words, that are not there any more.
    pub others_gone: Vec<String>,
    /// Other findings, in words, that were not there before.
    pub others_new: Vec<String>,
    /// All of it in one line.
    pub text: String,
}

/// A view then and now. `None` where one of the two checks does not show it.
#[derive(Debug, Clone, Serialize)]
pub struct ViewChange {
    /// Its name.
    pub view: String,
    /// Mean distance between the outlines then, later units.
    pub mean_was: Option<f64>,
    /// The same now.
    pub mean_now: Option<f64>,
    /// Rows outside tolerance then, percent.
    pub outside_pct_was: Option<f64>,
    /// The same now.
    pub outside_pct_now: Option<f64>,
    /// Rows that got nearer to the drawing.
    pub rows_better: usize,
    /// Rows that got farther from it.
    pub rows_worse: usize,
    /// Rows that stayed as far as they were.
    pub rows_stayed: usize,
}

/// A result made ready to be compared with others.
#[derive(Debug, Clone)]
pub struct Version {
    outcome: Outcome,
    /// For each view and row.
    off: Vec<Vec<Off>>,
}

impl Version {
    /// Works out how far every row's ends are off.
    pub fn new(outcome: Outcome) -> Self {
        Self {
            off: outcome.views.iter().map(|v| distances(&v.rows)).collect(),
            outcome,
        }
    }

    /// What it was made from.
    pub fn outcome(&self) -> &Outcome {
        &self.outcome
    }
}

/// The comparison's measures, units of the later check.
#[derive(Debug, Clone, Copy)]
struct Scale {
    /// Later units an earlier one.
    units: f64,
    /// Earlier and later ground.
    grounds: [f64; 2],
    height: f64,
    tolerance: f64,
    counts_from: f64,
}

impl Scale {
    fn new(was: &Outcome, now: &Outcome) -> Self {
        let tolerance = now.settings.tolerance_pct / 100.0 * now.figure_height;
        Self {
            units: if was.figure_height > 0.0 {
                now.figure_height / was.figure_height
            } else {
                1.0
            },
            grounds: [was.ground_y, now.ground_y],
            height: now.figure_height,
            tolerance,
            counts_from: (COUNTS * tolerance).max(COUNTS_OF_HEIGHT * now.figure_height),
        }
    }

    /// An earlier height as a later one.
    fn y(&self, was: f64) -> f64 {
        self.grounds[1] + (was - self.grounds[0]) * self.units
    }

    fn say(&self, v: f64) -> String {
        length(v, self.height)
    }

    /// How a distance that was and is now fares.
    fn how(&self, was: f64, now: f64) -> How {
        if now - was >= self.counts_from {
            How::Worse
        } else if was - now >= self.counts_from {
            How::Better
        } else {
            How::Stayed
        }
    }
}

/// Compares an earlier check with a later one.
pub fn changes(was: &Version, now: &Version) -> Changes {
    let scale = Scale::new(&was.outcome, &now.outcome);
    let mut findings = Vec::new();
    let mut places = Vec::new();
    let mut views = Vec::new();
    for (v, view) in now.outcome.views.iter().enumerate() {
        let Some(w) = was.outcome.views.iter().position(|w| w.name == view.name) else {
            continue;
        };
        let facing = now.outcome.sheet.views.iter().find(|d| d.name == view.name);
        let pair = places::Pair {
            was: (&was.outcome.views[w], &was.off[w]),
            now: (view, &now.off[v]),
            facing: facing.map_or(Facing::Viewer, |d| d.facing),
            unit: &now.outcome.unit,
            scale,
        };
        let moved = pair.rows();
        findings.extend(pair.findings(&moved));
        views.push(pair.view(&moved));
        places.extend(pair.places(&moved));
    }
    for (a, b, has) in [(&was.outcome, &now.outcome, 0), (&now.outcome, &was.outcome, 1)] {
        for view in a
            .views
            .iter()
            .filter(|v| b.views.iter().all(|o| o.name != v.name))
        {
            views.push(places::alone(view, has, &scale));
        }
    }
    findings.sort_by(|a, b| a.how.cmp(&b.how).then(b.change().total_cmp(&a.change())));
    places.sort_by(|a, b| b.change().total_cmp(&a.change()));
    let others = |of: &Outcome, not_in: &Outcome| -> Vec<String> {
        let known: Vec<String> = others(not_in).map(|t| without_numbers(&t)).collect();
        others(of)
            .filter(|t| !known.contains(&without_numbers(t)))
            .collect()
    };
    let mut changes = Changes {
        was: was.outcome.verdict,
        now: now.outcome.verdict,
        counts_from: scale.counts_from,
        others_gone: others(&was.outcome, &now.outcome),
        others_new: others(&now.outcome, &was.outcome),
        findings,
        places,
        views,
        text: String::new(),
    };
    changes.text = in_one_line(&changes);
    changes
}

/// Findings that are not those of rows, in words.
fn others(of: &Outcome) -> impl Iterator<Item = String> + '_ {
    let limbs = of.views.iter().flat_map(|v| {
        v.limbs
            .iter()
            .flat_map(|l| &l.findings)
            .map(|f| format!("{}: {}", v.name, f.text))
    });
    limbs.chain(of.findings.iter().map(|f| f.text.clone()))
}

/// The same matter with another amount reads the same.
fn without_numbers(text: &str) -> String {
    text.chars()
        .filter(|c| !c.is_ascii_digit() && *c != '.')
        .collect()
}

impl Changes {
    /// Findings that fare so.
    pub fn count(&self, how: How) -> usize {
        self.findings.iter().filter(|f| f.how == how).count()
    }

    /// Whether nothing moved by as much as counts.
    pub fn is_nothing(&self) -> bool {
        self.places.is_empty()
            && self.count(How::Stayed) == self.findings.len()
            && self.others_gone.is_empty()
            && self.others_new.is_empty()
            && self.was == self.now
    }
}

fn in_one_line(changes: &Changes) -> String {
    if changes.is_nothing() {
        return "nothing changed".to_string();
    }
    let told = |list: &[(usize, &str)]| -> Vec<String> {
        list.iter()
            .filter(|(n, _)| *n > 0)
            .map(|(n, word)| format!("{n} {word}"))
            .collect()
    };
    let findings = told(&[
        (changes.count(How::New), "new"),
        (changes.count(How::Worse), "worse"),
        (changes.count(How::Better), "better"),
        (changes.count(How::Gone), "gone"),
    ]);
    let places = |how| changes.places.iter().filter(|p| p.how == how).count();
    let moved = told(&[(places(How::Better), "nearer"), (places(How::Worse), "farther")]);
    let mut parts = Vec::new();
    if !findings.is_empty() {
        parts.push(format!("findings: {}", findings.join(", ")));
    }
    if !moved.is_empty() {
        parts.push(format!("places: {}", moved.join(", ")));
    }
    let others = told(&[
        (changes.others_new.len(), "new"),
        (changes.others_gone.len(), "gone"),
    ]);
    if !others.is_empty() {
        parts.push(format!("other findings: {}", others.join(", ")));
    }
    if parts.is_empty() {
        parts.push("the verdict changed".to_string());
    }
    parts.join("; ")
}

#[cfg(test)]
mod tests;
