//! What of a check takes part in a comparison of two: taken from a finished check, or read back from its `report.json`.

use serde::Deserialize;

use crate::error::{Error, Result};
use crate::report::model::{Facing, Kind, REPORT_SCHEMA, Report, Verdict};

/// Spans of a row as `[x0, x1]`, left to right.
pub(super) type Spans = Vec<[f64; 2]>;

/// A finished check, as far as it is compared. Names, units and spaces are those of [`Report`].
#[derive(Debug, Clone, Deserialize)]
#[allow(missing_docs, reason = "the report's own fields")]
pub struct Outcome {
    pub schema: String,
    pub unit: String,
    pub figure_height: f64,
    pub ground_y: f64,
    pub settings: Limits,
    pub sheet: Drawn,
    pub views: Vec<Seen>,
    pub findings: Vec<General>,
    pub verdict: Verdict,
}

/// The setting that takes part.
#[derive(Debug, Clone, Copy, Deserialize)]
pub struct Limits {
    /// Percent of the figure height.
    pub tolerance_pct: f64,
}

/// The drawn views.
#[derive(Debug, Clone, Deserialize)]
pub struct Drawn {
    /// In the order of the inputs.
    pub views: Vec<Figure>,
}

/// A drawn view.
#[derive(Debug, Clone, Deserialize)]
pub struct Figure {
    /// Its name.
    pub name: String,
    /// Where it looks.
    pub facing: Facing,
}

/// A compared view.
#[derive(Debug, Clone, Deserialize)]
pub struct Seen {
    /// The drawn view's name.
    pub name: String,
    /// Rows from the top down; none where only findings are known, as in a history.
    #[serde(default)]
    pub rows: Vec<Cut>,
    /// Its measures.
    pub summary: Figures,
    /// Worst first.
    pub findings: Vec<Place>,
    /// Limbs that lie too flat for rows.
    pub limbs: Vec<Limb>,
}

/// A row.
#[derive(Debug, Clone, Deserialize)]
pub struct Cut {
    /// Height.
    pub y: f64,
    /// The drawing's spans.
    pub drawing: Spans,
    /// The mesh's spans.
    pub mesh: Spans,
    /// Which spans are the same part.
    #[serde(default)]
    pub spans: Vec<Named>,
}

/// A part of the body in a row.
#[derive(Debug, Clone, Deserialize)]
pub struct Named {
    /// Its name, left and right as seen.
    pub part: String,
    /// Index into the row's `drawing`.
    pub drawing: usize,
}

/// Measures of a view.
#[derive(Debug, Clone, Copy, Deserialize)]
#[allow(missing_docs, reason = "the report's own fields")]
pub struct Figures {
    pub contour_mean: f64,
    pub contour_p95: f64,
    pub contour_max: f64,
    pub rows_total: usize,
    pub rows_outside: usize,
}

/// A finding of a view.
#[derive(Debug, Clone, Deserialize)]
#[allow(missing_docs, reason = "the report's own fields")]
pub struct Place {
    pub number: usize,
    pub kind: Kind,
    pub y_from: f64,
    pub y_to: f64,
    pub worst_y: f64,
    pub worst_distance: f64,
    #[serde(default)]
    pub parts: Vec<String>,
    pub text: String,
    #[serde(default)]
    pub excused: bool,
}

/// A limb that is measured across.
#[derive(Debug, Clone, Deserialize)]
pub struct Limb {
    /// What is outside tolerance.
    pub findings: Vec<Across>,
}

/// A finding across a limb.
#[derive(Debug, Clone, Deserialize)]
pub struct Across {
    /// In words.
    pub text: String,
}

/// A finding that is not about one view.
#[derive(Debug, Clone, Deserialize)]
pub struct General {
    /// In words.
    pub text: String,
}

impl Outcome {
    /// Reads a `report.json`.
    ///
    /// # Errors
    /// The text is no report, or one of another schema.
    pub fn read(json: &[u8]) -> Result<Self> {
        let no = |why: String| {
            Error::new(format!("this is no report of a check ({why})"))
                .advise("give a report.json of this program")
        };
        let outcome: Self = serde_json::from_slice(json).map_err(|e| no(e.to_string()))?;
        if outcome.schema != REPORT_SCHEMA {
            return Err(no(format!("its schema is {}", outcome.schema)));
        }
        Ok(outcome)
    }
}

impl From<&Report> for Outcome {
    fn from(report: &Report) -> Self {
        let place = |f: &crate::report::model::Finding| Place {
            number: f.number,
            kind: f.kind,
            y_from: f.y_from,
            y_to: f.y_to,
            worst_y: f.worst_y,
            worst_distance: f.worst_distance,
            parts: f.parts.iter().map(|p| (*p).to_string()).collect(),
            text: f.text.clone(),
            excused: f.excused,
        };
        let cut = |r: &crate::report::model::Row| Cut {
            y: r.y,
            drawing: r.drawing.clone(),
            mesh: r.mesh.clone(),
            spans: r
                .spans
                .iter()
                .map(|s| Named {
                    part: s.part.to_string(),
                    drawing: s.drawing,
                })
                .collect(),
        };
        let view = |v: &crate::report::model::View| Seen {
            name: v.name.clone(),
            rows: v.rows.iter().map(cut).collect(),
            summary: Figures {
                contour_mean: v.summary.contour_mean,
                contour_p95: v.summary.contour_p95,
                contour_max: v.summary.contour_max,
                rows_total: v.summary.rows_total,
                rows_outside: v.summary.rows_outside,
            },
            findings: v.findings.iter().map(place).collect(),
            limbs: v
                .limbs
                .iter()
                .map(|l| Limb {
                    findings: l
                        .findings
                        .iter()
                        .map(|f| Across { text: f.text.clone() })
                        .collect(),
                })
                .collect(),
        };
        Self {
            schema: report.schema.to_string(),
            unit: report.unit.clone(),
            figure_height: report.figure_height,
            ground_y: report.ground_y,
            settings: Limits {
                tolerance_pct: report.settings.tolerance_pct,
            },
            sheet: Drawn {
                views: report
                    .sheet
                    .views
                    .iter()
                    .map(|v| Figure {
                        name: v.name.clone(),
                        facing: v.facing,
                    })
                    .collect(),
            },
            views: report.views.iter().map(view).collect(),
            findings: report
                .findings
                .iter()
                .map(|f| General { text: f.text.clone() })
                .collect(),
            verdict: report.verdict,
        }
    }
}
