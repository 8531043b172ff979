//! The course of a character over its checks: figures of each, and finding by finding what got better or worse since the
//! last check and since a chosen one. Made from the history's lines alone.

mod terminal;

use serde::Serialize;

use crate::error::{Error, Result};
use crate::report::changes::{Changes, Version, changes};
use crate::report::history::{Entry, Short};
use crate::report::model::Verdict;

pub use terminal::{changed, course};

/// Versions that a page compares the last one with, at most: the latest ones before it, and the first.
const MOST_COMPARED: usize = 12;
/// Versions that a page shows at most.
const MOST_SHOWN: usize = 60;

/// The figures of one check.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Point {
    /// Number of the check, from 1.
    pub number: usize,
    /// What it was called.
    pub name: Option<String>,
    /// When it was done (RFC 3339, UTC); `None` for the one that is being written.
    pub time: Option<String>,
    /// What it ended with.
    pub verdict: Verdict,
    /// Findings that count, also those that are not about rows.
    pub findings: usize,
    /// How far the worst finding is off, percent of the figure's height; 0 without one.
    pub worst_pct: f64,
    /// Rows outside tolerance, percent of all rows.
    pub outside_pct: f64,
    /// For each view its name and its rows outside, percent.
    pub views: Vec<(String, f64)>,
}

impl Point {
    fn new(number: usize, short: &Short, name: Option<&str>, time: Option<&str>) -> Self {
        let share = |outside: usize, total: usize| 100.0 * outside as f64 / total.max(1) as f64;
        let sum = |of: fn(&crate::report::history::Seen) -> usize| -> usize {
            short.views.iter().map(|v| of(&v.summary)).sum()
        };
        let counted = short.counted();
        let across: usize = short
            .views
            .iter()
            .flat_map(|v| &v.limbs)
            .map(|l| l.findings.len())
            .sum();
        let worst = counted
            .first()
            .map_or(0.0, |(_, f)| 100.0 * f.worst_distance / short.figure_height);
        Self {
            number,
            name: name.map(str::to_string),
            time: time.map(str::to_string),
            verdict: short.verdict,
            findings: counted.len() + across + short.findings.len(),
            worst_pct: if worst.is_finite() { worst } else { 0.0 },
            outside_pct: share(sum(|s| s.rows_outside), sum(|s| s.rows_total)),
            views: short
                .views
                .iter()
                .map(|v| {
                    (
                        v.name.clone(),
                        share(v.summary.rows_outside, v.summary.rows_total),
                    )
                })
                .collect(),
        }
    }
}

/// What changed since a check.
#[derive(Debug, Clone, Serialize)]
pub struct Since {
    /// Number of that check.
    pub number: usize,
    /// What changed from it to the last one.
    pub changes: Changes,
}

/// The course up to the last check.
#[derive(Debug, Clone, Serialize)]
pub struct Course {
    /// Its checks, the first one first.
    pub points: Vec<Point>,
    /// What changed since some of them, the latest first.
    pub since: Vec<Since>,
}

/// Which check changes are counted from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Chosen {
    /// The one before the last.
    Last,
    /// By its number, from 1.
    Number(usize),
    /// The latest of this name, by `--as`.
    Named(String),
}

impl Chosen {
    /// The place of the chosen check among all but the last one.
    ///
    /// # Errors
    /// There is none of this number or name before the last one.
    pub fn find(&self, entries: &[Entry]) -> Result<usize> {
        let before = entries.len().saturating_sub(1);
        let found = match self {
            Self::Last => before.checked_sub(1),
            Self::Number(n) => n.checked_sub(1).filter(|i| *i < before),
            Self::Named(name) => entries[..before]
                .iter()
                .rposition(|e| e.name.as_deref() == Some(name)),
        };
        found.ok_or_else(|| {
            let what = match self {
                Self::Last => "there is only one check so far".to_string(),
                Self::Number(n) => format!("there is no check {n} before the last one"),
                Self::Named(name) => format!("no check before the last one is called {name}"),
            };
            let names: Vec<&str> = entries[..before]
                .iter()
                .filter_map(|e| e.name.as_deref())
                .collect();
            Error::new(what).advise(if before == 0 {
                "check again when the mesh has changed".to_string()
            } else if names.is_empty() {
                format!("use a number from 1 to {before}; --as names a check")
            } else {
                format!("use a number from 1 to {before}, or one of {}", names.join(", "))
            })
        })
    }
}

/// Figures of every check.
pub fn points(entries: &[Entry]) -> Vec<Point> {
    entries
        .iter()
        .enumerate()
        .map(|(i, e)| Point::new(i + 1, &e.short, e.name.as_deref(), Some(&e.time)))
        .collect()
}

/// What changed from one check to another one.
///
/// # Errors
/// A line does not say enough.
pub fn between(was: &Short, now: &Short) -> Result<Changes> {
    Ok(changes(
        &Version::new(was.outcome()?),
        &Version::new(now.outcome()?),
    ))
}

/// The course for a page: the log's checks, and after them the one that is being written, which has no time yet.
///
/// # Errors
/// A line does not say enough.
pub fn course_of(entries: &[Entry], now: &Short, name: Option<&str>) -> Result<Course> {
    let mut points = points(entries);
    points.push(Point::new(entries.len() + 1, now, name, None));
    let first = points.len().saturating_sub(MOST_SHOWN);
    points.drain(..first);
    let latest = (0..entries.len()).rev().take(MOST_COMPARED);
    let oldest = (entries.len() > MOST_COMPARED).then_some(first);
    let since = latest
        .chain(oldest)
        .map(|i| {
            Ok(Since {
                number: i + 1,
                changes: between(&entries[i].short, now)?,
            })
        })
        .collect::<Result<Vec<_>>>()?;
    Ok(Course { points, since })
}

#[cfg(test)]
mod tests;
