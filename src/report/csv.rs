//! `rows.csv`, one line per row and view, and `landmarks.csv`, one line a landmark, for a spreadsheet. The fields are quoted as RFC 4180 asks (crate `csv`).
//!
//! Lengths are written as in `report.json` (see [`Decimals`]); a cell is empty where the figure or the mesh has no
//! span in the row.

use csv::{ByteRecord, Writer};

use crate::error::{Error, Result};
use crate::report::model::Report;
use crate::report::number::Decimals;

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

/// The header of `moves.csv`.
const MOVES: [&str; 4] = ["vertex", "dx", "dy", "dz"];

/// Writes moves of vertices, in the file's own axes and order: what to add to each of them, the digits that tell it.
///
/// # Errors
/// None in practice: the sink is memory.
pub fn moves(moves: &[(u32, [f64; 3])]) -> Result<Vec<u8>> {
    let failed = |e: &dyn std::fmt::Display| Error::new(format!("moves.csv cannot be made ({e})"));
    let mut out = Writer::from_writer(Vec::new());
    out.write_record(MOVES).map_err(|e| failed(&e))?;
    for (vertex, by) in moves {
        let cells = [
            vertex.to_string(),
            by[0].to_string(),
            by[1].to_string(),
            by[2].to_string(),
        ];
        out.write_record(cells).map_err(|e| failed(&e))?;
    }
    out.into_inner().map_err(|e| failed(&e))
}

/// Writes all rows of a report, view after view, from the top down.
///
/// # Errors
/// None in practice: the sink is memory.
pub fn write(report: &Report) -> Result<Vec<u8>> {
    let failed = |e: &dyn std::fmt::Display| Error::new(format!("rows.csv cannot be made ({e})"));
    let decimals = Decimals::for_height(report.figure_height);
    let mut out = Writer::from_writer(Vec::new());
    out.write_record(HEADER).map_err(|e| failed(&e))?;
    let mut record = ByteRecord::new();
    let mut cell = Vec::new();
    for view in &report.views {
        for row in &view.rows {
            record.clear();
            record.push_field(view.name.as_bytes());
            let [dl, dr, ds] = ends(&row.drawing);
            let [ml, mr, ms] = ends(&row.mesh);
            for value in [
                Some(row.y),
                dl,
                dr,
                ds,
                ml,
                mr,
                ms,
                row.left_diff,
                row.right_diff,
                row.outer_diff,
                row.solid_diff,
            ] {
                cell.clear();
                if let Some(v) = value.filter(|v| v.is_finite()) {
                    decimals.push(v, &mut cell);
                }
                record.push_field(&cell);
            }
            out.write_byte_record(&record).map_err(|e| failed(&e))?;
        }
    }
    out.into_inner().map_err(|e| failed(&e))
}

/// The header of `landmarks.csv`.
pub const LANDMARKS_HEADER: [&str; 7] = [
    "landmark",
    "drawing_front",
    "drawing_side",
    "mesh",
    "difference",
    "drawing_heads",
    "mesh_heads",
];

/// Writes the table of landmarks, from the crown down; a cell is empty where nothing shows it.
///
/// # Errors
/// None in practice: the sink is memory.
pub fn landmarks(report: &Report) -> Result<Vec<u8>> {
    let failed = |e: &dyn std::fmt::Display| Error::new(format!("landmarks.csv cannot be made ({e})"));
    let decimals = Decimals::for_height(report.figure_height);
    let mut out = Writer::from_writer(Vec::new());
    out.write_record(LANDMARKS_HEADER).map_err(|e| failed(&e))?;
    for l in &report.landmarks {
        let mut record = ByteRecord::new();
        record.push_field(l.name.as_bytes());
        let lengths = [
            l.drawing_front.map(|s| s.y),
            l.drawing_side.map(|s| s.y),
            l.mesh,
            l.difference,
        ];
        for value in lengths {
            let mut cell = Vec::new();
            if let Some(v) = value {
                decimals.push(v, &mut cell);
            }
            record.push_field(&cell);
        }
        for heads in [l.drawing_heads, l.mesh_heads] {
            record.push_field(heads.map_or(String::new(), |h| format!("{h:.2}")).as_bytes());
        }
        out.write_byte_record(&record).map_err(|e| failed(&e))?;
    }
    out.into_inner().map_err(|e| failed(&e))
}

/// Rows of another character's `landmarks.csv`: name, and its height drawn from the front, from the side, and in the mesh.
///
/// # Errors
/// The text is no such table.
pub fn read_landmarks(bytes: &[u8]) -> Result<Vec<(String, [Option<f64>; 3])>> {
    let wrong = |what: String| {
        Error::new(what)
            .advise("give a canon's name, or the landmarks.csv that a check of the other character wrote")
    };
    let mut reader = csv::Reader::from_reader(bytes);
    let header = reader
        .headers()
        .map_err(|e| wrong(format!("this is no table ({e})")))?;
    if !header.iter().take(4).eq(LANDMARKS_HEADER.into_iter().take(4)) {
        return Err(wrong("this is no table of landmarks".to_string()));
    }
    reader
        .records()
        .map(|record| {
            let record = record.map_err(|e| wrong(format!("this is no table ({e})")))?;
            let cell = |k: usize| match record.get(k).unwrap_or_default() {
                "" => Ok(None),
                text => match text.parse::<f64>() {
                    Ok(v) if v.is_finite() => Ok(Some(v)),
                    _ => Err(wrong(format!("{} has a height that is no number", &record[0]))),
                },
            };
            Ok((record[0].to_string(), [cell(1)?, cell(2)?, cell(3)?]))
        })
        .collect()
}

/// Left end, right end and summed length; nothing without spans.
fn ends(spans: &[[f64; 2]]) -> [Option<f64>; 3] {
    match (spans.first(), spans.last()) {
        (Some(first), Some(last)) => [
            Some(first[0]),
            Some(last[1]),
            Some(spans.iter().map(|s| s[1] - s[0]).sum()),
        ],
        _ => [None; 3],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    /// The header is fixed by the contract of the report; the cells are those of the value it was made from.
    #[test]
    fn header_and_cells() {
        let report = sample::report();
        let bytes = write(&report).expect("written");
        let text = String::from_utf8(bytes.clone()).expect("UTF-8");
        assert_eq!(
            text.lines().next(),
            Some(
                "view,y,drawing_left,drawing_right,drawing_solid,mesh_left,mesh_right,mesh_solid,\
                 left_diff,right_diff,outer_diff,solid_diff"
            )
        );
        let mut reader = csv::Reader::from_reader(bytes.as_slice());
        let records: Vec<_> = reader.records().map(|r| r.expect("a record")).collect();
        let rows: Vec<_> = report
            .views
            .iter()
            .flat_map(|v| v.rows.iter().map(move |r| (&v.name, r)))
            .collect();
        assert_eq!(records.len(), rows.len());
        for (record, (name, row)) in records.iter().zip(rows) {
            assert_eq!(&record[0], name);
            assert_eq!(
                record[1].parse::<f64>().ok().map(|y| (y - row.y).abs() < 1e-5),
                Some(true)
            );
            assert_eq!(record[2].is_empty(), row.drawing.is_empty());
            assert_eq!(record[5].is_empty(), row.mesh.is_empty());
            // Half a step of 1e-5 for a figure of 160 units.
            match row.outer_diff {
                None => assert!(record[10].is_empty() && record[8].is_empty()),
                Some(d) => assert!((record[10].parse::<f64>().expect("a number") - d).abs() <= 0.505e-5),
            }
        }
    }
}
