//! `rows.csv`: one line per row and view, for a spreadsheet.

use crate::error::{Error, Result};
use crate::report::model::Report;

/// The fixed header.
pub const HEADER: [&str; 12] = [
    "view",
    "y",
    "drawing_left",
    "drawing_right",
    "drawing_solid",
    "mesh_left",
    "mesh_right",
    "mesh_solid",
    "left_diff",
    "right_diff",
    "outer_diff",
    "solid_diff",
];

/// Writes all rows of a report.
///
/// # Errors
/// None in practice: the sink is memory.
pub fn write(report: &Report) -> Result<Vec<u8>> {
    let failed = |e: &dyn std::fmt::Display| Error::new(format!("rows.csv cannot be made ({e})"));
    let mut out = csv::Writer::from_writer(Vec::new());
    out.write_record(HEADER).map_err(|e| failed(&e))?;
    let number = |v: Option<f64>| v.map(|v| format!("{v}")).unwrap_or_default();
    for view in &report.views {
        for row in &view.rows {
            let ends = |spans: &[[f64; 2]]| {
                let solid: f64 = spans.iter().map(|s| s[1] - s[0]).sum();
                [
                    number(spans.first().map(|s| s[0])),
                    number(spans.last().map(|s| s[1])),
                    number((!spans.is_empty()).then_some(solid)),
                ]
            };
            let mut record = vec![view.name.clone(), format!("{}", row.y)];
            record.extend(ends(&row.drawing));
            record.extend(ends(&row.mesh));
            record.extend([row.left_diff, row.right_diff, row.outer_diff, row.solid_diff].map(number));
            out.write_record(&record).map_err(|e| failed(&e))?;
        }
    }
    out.into_inner().map_err(|e| failed(&e))
}
