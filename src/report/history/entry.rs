//! One line: a report in short.

use std::io::BufRead as _;
use std::time::SystemTime;

use serde::{Deserialize, Serialize};

use super::HISTORY_SCHEMA;
use crate::error::{Error, Result};
use crate::report::changes::Outcome;
use crate::report::model::{Facing, Kind, REPORT_SCHEMA, Verdict};

/// How the line of a row begins.
const ROW: &[u8] = b"{\"y\":";

/// One check in the course of a character.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Entry {
    /// [`HISTORY_SCHEMA`].
    pub schema: String,
    /// When the check was done, UTC, to the second (RFC 3339).
    pub time: String,
    /// `--as`: what the person calls this version.
    #[serde(rename = "as", default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// The report in short.
    #[serde(flatten)]
    pub short: Short,
}

/// A report without its rows: enough to follow every finding over versions. Names, units and spaces are those of
/// [`crate::report::model::Report`].
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[allow(missing_docs, reason = "the report's own fields")]
pub struct Short {
    pub program: Tool,
    pub unit: String,
    pub figure_height: f64,
    pub ground_y: f64,
    pub crown_y: f64,
    pub inputs: Files,
    pub settings: Limits,
    pub sheet: ShortSheet,
    pub placement: Placed,
    pub views: Vec<ShortView>,
    pub findings: Vec<Matter>,
    pub undecided: Vec<String>,
    pub verdict: Verdict,
}

/// What made the report.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[allow(missing_docs, reason = "the report's own fields")]
pub struct Tool {
    pub version: String,
    pub request_sha256: String,
}

/// The files that were read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[allow(missing_docs, reason = "the report's own fields")]
pub struct Files {
    pub mesh: File,
    pub sheets: Vec<File>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub setup: Option<File>,
}

/// A file and its digest.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[allow(missing_docs, reason = "the report's own fields")]
pub struct File {
    pub path: String,
    pub sha256: String,
}

/// What decides whether something is off.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[allow(missing_docs, reason = "the report's own fields")]
pub struct Limits {
    pub tolerance_pct: f64,
    pub tolerance_width_pct: Option<f64>,
}

/// The drawing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ShortSheet {
    /// The drawn views.
    pub views: Vec<DrawnFacing>,
}

/// A drawn view.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[allow(missing_docs, reason = "the report's own fields")]
pub struct DrawnFacing {
    pub name: String,
    pub facing: Facing,
}

/// Where the drawing lies on the mesh.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[allow(missing_docs, reason = "the report's own fields")]
pub struct Placed {
    pub how: String,
    pub lead: String,
    pub units_per_px: f64,
    pub ground_y: f64,
}

/// A compared view.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[allow(missing_docs, reason = "the report's own fields")]
pub struct ShortView {
    pub name: String,
    pub summary: Seen,
    pub findings: Vec<Place>,
    pub limbs: Vec<Limb>,
}

/// Figures for the whole view.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[allow(missing_docs, reason = "the report's own fields")]
pub struct Seen {
    pub iou: f64,
    pub boundary_iou: f64,
    pub outer_diff_mean_abs: f64,
    pub outer_diff_p95_abs: f64,
    pub outer_diff_max_abs: f64,
    pub contour_mean: f64,
    pub contour_p95: f64,
    pub contour_max: f64,
    pub rows_total: usize,
    pub rows_outside: usize,
}

/// A finding.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[allow(missing_docs, reason = "the report's own fields")]
pub struct Place {
    pub number: usize,
    pub kind: Kind,
    pub y_from: f64,
    pub y_to: f64,
    pub worst_y: f64,
    pub outer_diff: Option<f64>,
    pub left_diff: Option<f64>,
    pub right_diff: Option<f64>,
    pub worst_distance: f64,
    pub parts: Vec<String>,
    pub between: Vec<String>,
    pub text: String,
    pub excused: bool,
    pub unsure: bool,
}

/// A limb that is measured across.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[allow(missing_docs, reason = "the report's own fields")]
pub struct Limb {
    pub part: String,
    pub findings: Vec<Across>,
}

/// A finding across a limb.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[allow(missing_docs, reason = "the report's own fields")]
pub struct Across {
    pub kind: Kind,
    pub part: String,
    pub text: String,
}

/// A finding that is not about one view.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[allow(missing_docs, reason = "the report's own fields")]
pub struct Matter {
    pub kind: String,
    pub text: String,
}

impl Short {
    /// Takes in short what a `report.json` says.
    ///
    /// # Errors
    /// The text is no report, or one of a version that did not write all of this.
    pub fn read(report_json: &[u8]) -> Result<Self> {
        serde_json::from_slice(report_json).map_err(|e| {
            Error::new(format!("this is no report of this program ({e})"))
                .advise("make it anew with drawntrue check")
        })
    }

    /// What of it takes part in a comparison of two checks; there are no rows in it.
    ///
    /// # Errors
    /// It does not say enough, which no line of this program does.
    pub fn outcome(&self) -> Result<Outcome> {
        let made = serde_json::to_value(self).and_then(|mut value| {
            value["schema"] = REPORT_SCHEMA.into();
            serde_json::from_value(value)
        });
        made.map_err(|e| Error::new(format!("a check of the history cannot be compared ({e})")))
    }

    /// Findings that count, farthest off first, each with the name of its view.
    pub fn counted(&self) -> Vec<(&str, &Place)> {
        let mut all: Vec<(&str, &Place)> = self
            .views
            .iter()
            .flat_map(|v| v.findings.iter().map(move |f| (v.name.as_str(), f)))
            .filter(|(_, f)| !f.excused)
            .collect();
        all.sort_by_key(|(_, f)| f.number);
        all
    }

    /// What is most off, in words; `None` where nothing is.
    pub fn worst(&self) -> Option<String> {
        let of_view = self.counted().first().map(|(v, f)| format!("{v}: {}", f.text));
        let across = self.views.iter().find_map(|v| {
            let f = v.limbs.iter().flat_map(|l| &l.findings).next()?;
            Some(format!("{}: {}", v.name, f.text))
        });
        let other = self.findings.first().map(|f| f.text.clone());
        of_view.or(across).or(other)
    }
}

/// A report of this program without its rows, which take a line each: most of it, and nothing of it is kept.
fn without_rows(report_json: &[u8]) -> Vec<u8> {
    let (mut rest, mut out) = (report_json, Vec::new());
    while !rest.is_empty() {
        // Reading from memory cannot fail.
        let _ = if rest.starts_with(ROW) {
            rest.skip_until(b'\n')
        } else {
            rest.read_until(b'\n', &mut out)
        };
    }
    out
}

impl Entry {
    /// The line for a finished check.
    ///
    /// # Errors
    /// As [`Short::read`].
    pub fn new(report_json: &[u8], name: Option<&str>, time: SystemTime) -> Result<Self> {
        Ok(Self {
            schema: HISTORY_SCHEMA.to_string(),
            time: humantime::format_rfc3339_seconds(time).to_string(),
            name: name.map(str::to_string),
            short: Short::read(&without_rows(report_json)).or_else(|_| Short::read(report_json))?,
        })
    }
}
