//! What a check of a whole cast says: a line of JSON for each character, a summary for the terminal, a page, and a picture
//! of all of them.

mod lineup;
mod page;
mod terminal;

use std::path::{Path, PathBuf};

use serde::Serialize;

use crate::error::Error;
use crate::report::history::Short;
use crate::report::model::Verdict;

pub use lineup::lineup;
pub use page::page;
pub use terminal::summary;

/// The value of `schema` in a line.
pub const CAST_SCHEMA: &str = "drawntrue.cast/1";
/// What the page of a cast is called.
pub const CAST_PAGE: &str = "cast.html";
/// What the picture of a cast is called.
pub const LINEUP: &str = "lineup.png";

/// A character whose check is done. As a line of JSON it is what a studio's own programs read.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Character {
    /// [`CAST_SCHEMA`].
    pub schema: &'static str,
    /// Its name in the cast's file.
    #[serde(rename = "character")]
    pub name: String,
    /// Exit status that its check by itself ends with: 0, 1 or 2.
    pub status: u8,
    /// `None` where it could not be checked.
    pub verdict: Option<Verdict>,
    /// It was checked now; otherwise its results were up to date.
    pub computed: bool,
    /// Findings that count.
    pub findings: usize,
    /// How far the worst of them is off, percent of the figure's height.
    pub worst_pct: Option<f64>,
    /// What is most off, or why the verdict is undecided, in words.
    pub worst: Option<String>,
    /// For each view its name and the share of rows outside tolerance, percent.
    pub views: Vec<ViewShare>,
    /// Height of the figure, units.
    pub figure_height: Option<f64>,
    /// Label of the unit of length, empty if none was given.
    pub unit: String,
    /// The folder of its results.
    pub folder: PathBuf,
    /// Why it could not be checked, in one line.
    pub error: Option<String>,
}

/// How much of a view is off.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ViewShare {
    /// The view's name.
    pub name: String,
    /// Rows outside tolerance, percent.
    pub outside_pct: f64,
}

impl Character {
    /// One that was checked.
    pub fn of(name: &str, folder: PathBuf, report: &Short, status: u8, computed: bool) -> Self {
        let counted = report.counted();
        let height = report.figure_height;
        let worst = counted.first().map(|(_, f)| 100.0 * f.worst_distance / height);
        let words = match report.verdict {
            Verdict::Undecided => report.undecided.first().cloned().or_else(|| report.worst()),
            _ => report.worst(),
        };
        let across = report
            .views
            .iter()
            .flat_map(|v| &v.limbs)
            .map(|l| l.findings.len());
        Self {
            schema: CAST_SCHEMA,
            name: name.to_string(),
            status,
            verdict: Some(report.verdict),
            computed,
            findings: counted.len() + report.findings.len() + across.sum::<usize>(),
            worst_pct: worst.filter(|w| w.is_finite()),
            worst: words,
            views: report
                .views
                .iter()
                .map(|v| ViewShare {
                    name: v.name.clone(),
                    outside_pct: 100.0 * v.summary.rows_outside as f64 / v.summary.rows_total.max(1) as f64,
                })
                .collect(),
            figure_height: Some(height),
            unit: report.unit.clone(),
            folder,
            error: None,
        }
    }

    /// One that could not be checked.
    pub fn failed(name: &str, folder: PathBuf, status: u8, error: &Error) -> Self {
        Self {
            schema: CAST_SCHEMA,
            name: name.to_string(),
            status,
            verdict: None,
            computed: true,
            findings: 0,
            worst_pct: None,
            worst: None,
            views: Vec::new(),
            figure_height: None,
            unit: String::new(),
            folder,
            error: Some(error.to_string()),
        }
    }

    /// Why it could not be checked, or what is most off up to the numbers of its place.
    fn said(&self) -> Option<&str> {
        let worst = self.worst.as_deref();
        let head = worst.map(|w| w.split([';', '(']).next().unwrap_or(w).trim_end());
        let told = if self.verdict == Some(Verdict::Undecided) {
            worst
        } else {
            head
        };
        self.error.as_deref().or(told)
    }

    /// The verdict in words.
    fn words(&self) -> &'static str {
        self.verdict.map_or("not checked", crate::report::overlay::words)
    }

    /// The folder's own name: where its results lie as seen from the page.
    fn below(&self) -> String {
        let name = self.folder.file_name().unwrap_or(Path::new("").as_os_str());
        name.to_string_lossy().into_owned()
    }
}

/// A character as one line of JSON, ended by a line feed.
pub fn line(character: &Character) -> String {
    // Every field is a number, a text or a list of such: nothing that JSON lacks, as the amounts are finite.
    let text = serde_json::to_string(character).unwrap_or_default();
    format!("{text}\n")
}

/// How many characters have each outcome, in words, worst first.
fn counted(all: &[Character]) -> String {
    let outcomes: [(&str, Option<Verdict>); 4] = [
        ("not checked", None),
        ("undecided", Some(Verdict::Undecided)),
        ("off model", Some(Verdict::OffModel)),
        ("on model", Some(Verdict::OnModel)),
    ];
    let told: Vec<String> = outcomes
        .iter()
        .map(|(words, verdict)| (all.iter().filter(|c| c.verdict == *verdict).count(), words))
        .filter(|(n, _)| *n > 0)
        .map(|(n, words)| format!("{n} {words}"))
        .collect();
    told.join(", ")
}

/// The order of a summary: what needs work first.
fn by_need(all: &[Character]) -> Vec<&Character> {
    let rank = |c: &Character| match c.verdict {
        None => 0,
        Some(Verdict::OffModel) => 1,
        Some(Verdict::Undecided) => 2,
        Some(Verdict::OnModel) => 3,
    };
    let mut order: Vec<&Character> = all.iter().collect();
    let worst = |c: &Character| c.worst_pct.unwrap_or(0.0);
    order.sort_by(|a, b| rank(a).cmp(&rank(b)).then(worst(b).total_cmp(&worst(a))));
    order
}

#[cfg(test)]
mod tests;
