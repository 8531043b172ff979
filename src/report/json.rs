//! `report.json`: the one result. Indented, but one line a row, and rows with lengths rounded to what they can mean.
//!
//! Numbers inside rows are lengths and are written by [`Decimals`]; all others keep every digit. A number that is not
//! finite is refused: JSON has none, and a null would claim that there is nothing to measure.

use std::io::{self, Write};

use serde::Serialize as _;
use serde_json::ser::{CompactFormatter, Formatter, PrettyFormatter, Serializer};

use crate::error::{Error, Result};
use crate::report::model::Report;
use crate::report::number::Decimals;

/// The arrays whose elements take one line each and hold lengths only.
const ROWS: [&[u8]; 2] = [b"rows", b"sections"];
/// Arrays that stay on the line of their name.
const SHORT: [&[u8]; 12] = [
    b"shoulder",
    b"box_px",
    b"between",
    b"parts",
    b"from",
    b"to",
    b"worst",
    b"line_diff_pct",
    b"groups",
    b"skip_groups",
    b"borders",
    b"height_diff_pct",
];
/// Bytes that a row takes, about: to ask for memory once.
const BYTES_A_ROW: usize = 200;

/// Writes a report, ended by a line feed.
///
/// # Errors
/// A number is not finite; the error names it.
pub fn write(report: &Report) -> Result<Vec<u8>> {
    finite(report)?;
    let rows: usize = report.views.iter().map(|v| v.rows.len()).sum();
    let mut out = Vec::with_capacity(4096 + BYTES_A_ROW * rows);
    report
        .serialize(&mut Serializer::with_formatter(
            &mut out,
            Layout::new(Decimals::for_height(report.figure_height)),
        ))
        .map_err(|e| Error::new(format!("report.json cannot be made ({e})")))?;
    out.push(b'\n');
    Ok(out)
}

/// Refuses numbers that JSON cannot write.
///
/// # Errors
/// A number is not finite; the error names it.
pub fn check(report: &Report) -> Result<()> {
    finite(report)
}

fn finite(report: &Report) -> Result<()> {
    let refuse = |place: String, what: &str| {
        Err(
            Error::new(format!("{what} is not a finite number, no report can be written"))
                .at(place)
                .advise("check the mesh for extreme coordinates"),
        )
    };
    for (what, v) in [
        ("figure_height", report.figure_height),
        ("ground_y", report.ground_y),
        ("crown_y", report.crown_y),
        ("tolerance_pct", report.settings.tolerance_pct),
        ("placement.units_per_px", report.placement.units_per_px),
        ("placement.ground_y", report.placement.ground_y),
        (
            "placement.scale_uncertainty_pct",
            report.placement.scale_uncertainty_pct.unwrap_or(0.0),
        ),
        (
            "placement.ground_uncertainty",
            report.placement.ground_uncertainty.unwrap_or(0.0),
        ),
        (
            "placement.held.differs",
            report.placement.held.as_ref().map_or(0.0, |h| h.differs),
        ),
        (
            "settings.figure_height",
            report.settings.figure_height.unwrap_or(0.0),
        ),
    ] {
        if !v.is_finite() {
            return refuse("the report".to_string(), what);
        }
    }
    for image in &report.sheet.images {
        if !image.skew_deg.is_finite() || !image.guide_lines_px.iter().all(|v| v.is_finite()) {
            return refuse("the sheet".to_string(), "a guide line or the skew");
        }
    }
    for v in &report.sheet.views {
        let numbers = [v.crown_px, v.ground_px, v.line_px, v.confidence];
        if !v.box_px.iter().chain(&numbers).all(|v| v.is_finite()) {
            return refuse(format!("the drawn {} view", v.name), "a measure");
        }
    }
    if !report
        .sheet
        .agreement
        .height_diff_pct
        .iter()
        .all(|v| v.is_finite())
    {
        return refuse("the sheet".to_string(), "an agreement");
    }
    let agreement = &report.sheet.agreement;
    let symmetry = agreement.symmetry.iter();
    let said = agreement
        .landmarks
        .iter()
        .flat_map(|l| [l.front, l.side, l.diff_pct])
        .chain(symmetry.flat_map(|s| [s.mean_pct, s.worst_pct, s.worst_y]))
        .chain(agreement.line_diff_pct.iter().copied());
    let marked = report.landmarks.iter().flat_map(|l| {
        let seen = [l.drawing_front, l.drawing_side].into_iter().flatten();
        seen.flat_map(|s| [s.y, s.within, s.confidence]).chain(
            [l.mesh, l.difference, l.drawing_heads, l.mesh_heads]
                .into_iter()
                .flatten(),
        )
    });
    if !said.chain(marked).all(f64::is_finite) {
        return refuse("the report".to_string(), "a landmark");
    }
    let armed = report.arms.iter().flat_map(|a| {
        let seen = [
            a.angle_deg,
            a.elbow_bend_deg,
            a.elbow_y,
            a.wrist_y,
            a.fingertip_y,
            a.mesh_elbow_y,
            a.mesh_wrist_y,
            a.length,
            a.length_diff,
        ];
        let known = [
            a.mesh_angle_deg,
            a.turned_deg,
            a.mesh_fingertip_y,
            a.mesh_length,
            a.armpit_lower,
        ];
        let bends = a.shoulder_bends.iter().flat_map(|b| {
            [
                b.volume_pct,
                b.shoulder_width_lost_pct,
                b.armpit_width_lost_pct,
                b.turned_deg,
                b.step_deg,
            ]
        });
        let parts = a.segments.iter().flat_map(|s| [s.length, s.mesh_length, s.diff]);
        let places = a.shoulder.into_iter().chain(known);
        places.chain(seen.into_iter().flatten()).chain(bends).chain(parts)
    });
    let proportions = report.proportions.iter().flat_map(|p| &p.rows).flat_map(|r| {
        [
            r.drawing_pct,
            r.mesh_pct,
            r.canon_pct,
            r.drawing_off_pct,
            r.mesh_off_pct,
            r.drawing_heads,
            r.mesh_heads,
            r.canon_heads,
        ]
    });
    if !proportions.flatten().all(f64::is_finite) {
        return refuse("the report".to_string(), "a proportion");
    }
    if !armed.clone().all(f64::is_finite) {
        return refuse("the arms".to_string(), "a measure");
    }
    for view in &report.views {
        let s = &view.summary;
        let numbers = [
            view.units_per_px,
            view.azimuth_deg,
            s.iou,
            s.boundary_iou,
            s.outer_diff_mean_abs,
            s.outer_diff_p95_abs,
            s.outer_diff_max_abs,
            s.contour_mean,
            s.contour_p95,
            s.contour_max,
        ];
        if !numbers.iter().all(|v| v.is_finite()) {
            return refuse(format!("the {} view", view.name), "a summary");
        }
        for row in &view.rows {
            let spans = row.drawing.iter().chain(&row.mesh).flatten();
            let diffs = [row.outer_diff, row.solid_diff, row.left_diff, row.right_diff];
            let paired = row.spans.iter().flat_map(|p| [&p.left_diff, &p.right_diff]);
            if !spans
                .chain(paired.flatten())
                .chain(diffs.iter().flatten())
                .chain([&row.y])
                .all(|v| v.is_finite())
            {
                return refuse(format!("the {} view", view.name), "a row");
            }
        }
        let beside = view.other_surface.iter().flat_map(|o| {
            let lost = o.lost.iter().flat_map(|l| {
                let diffs = [l.cage_outer_diff, l.smooth_outer_diff, l.cage_wider_by];
                [l.y_from, l.y_to, l.worst_y].into_iter().chain(diffs)
            });
            let all = [o.outer_diff_mean_abs, o.outer_diff_p95_abs, o.outer_diff_max_abs];
            all.into_iter().chain(lost)
        });
        if !beside.clone().all(f64::is_finite) {
            return refuse(format!("the {} view", view.name), "a width of the other surface");
        }
        let cuts = view.limbs.iter().flat_map(|l| &l.sections).flat_map(|s| {
            let [[d0, d1], [m0, m1]] = [s.drawing, s.mesh];
            [s.x, s.y, d0, d1, m0, m1, s.upper_diff, s.lower_diff]
        });
        let axes = view.limbs.iter().flat_map(|l| {
            let ([x0, y0], [x1, y1]) = (l.from, l.to);
            [x0, y0, x1, y1, l.below_horizontal_deg]
        });
        if !cuts.chain(axes).all(f64::is_finite) {
            return refuse(format!("the {} view", view.name), "a section of a limb");
        }
        for f in &view.findings {
            let diffs = [f.outer_diff, f.left_diff, f.right_diff];
            let numbers = [
                f.y_from,
                f.y_to,
                f.worst_y,
                f.worst_distance,
                f.explained_pct.unwrap_or(0.0),
            ];
            if !numbers
                .iter()
                .chain(diffs.iter().flatten())
                .all(|v| v.is_finite())
            {
                return refuse(format!("the {} view", view.name), "a finding");
            }
        }
    }
    Ok(())
}

/// Indented outside, compact inside rows and short arrays.
struct Layout {
    pretty: PrettyFormatter<'static>,
    decimals: Decimals,
    /// The key that was written last.
    key: Vec<u8>,
    in_key: bool,
    in_rows: bool,
    /// Open brackets of the compact part, 0 outside.
    compact: usize,
    /// The number that is being written.
    digits: Vec<u8>,
}

impl Layout {
    fn new(decimals: Decimals) -> Self {
        Self {
            pretty: PrettyFormatter::with_indent(b" "),
            decimals,
            digits: Vec::new(),
            key: Vec::new(),
            in_key: false,
            in_rows: false,
            compact: 0,
        }
    }

    /// The end of a bracket inside the compact part.
    fn leave<W: ?Sized + Write>(&mut self, writer: &mut W, bracket: &[u8]) -> io::Result<()> {
        self.compact -= 1;
        writer.write_all(bracket)
    }
}

impl Formatter for Layout {
    fn write_f64<W: ?Sized + Write>(&mut self, writer: &mut W, value: f64) -> io::Result<()> {
        if self.in_rows {
            self.digits.clear();
            self.decimals.push(value, &mut self.digits);
            writer.write_all(&self.digits)
        } else {
            CompactFormatter.write_f64(writer, value)
        }
    }

    fn begin_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        if self.compact > 0 || SHORT.contains(&self.key.as_slice()) {
            self.compact += 1;
            return writer.write_all(b"[");
        }
        self.in_rows = ROWS.contains(&self.key.as_slice());
        self.pretty.begin_array(writer)
    }

    fn end_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        if self.compact > 0 {
            return self.leave(writer, b"]");
        }
        self.in_rows = false;
        self.pretty.end_array(writer)
    }

    fn begin_array_value<W: ?Sized + Write>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        match (self.compact > 0 || self.in_rows, first) {
            (true, _) if self.compact == 0 => writer.write_all(if first { b"\n" } else { b",\n" }),
            (true, true) => Ok(()),
            (true, false) => writer.write_all(b","),
            (false, _) => self.pretty.begin_array_value(writer, first),
        }
    }

    fn end_array_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        if self.compact > 0 {
            Ok(())
        } else {
            self.pretty.end_array_value(writer)
        }
    }

    fn begin_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        if self.compact > 0 || self.in_rows {
            self.compact += 1;
            return writer.write_all(b"{");
        }
        // An object inside an array of objects must not take the array's key for its own.
        self.key.clear();
        self.pretty.begin_object(writer)
    }

    fn end_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        if self.compact > 0 {
            self.leave(writer, b"}")
        } else {
            self.pretty.end_object(writer)
        }
    }

    fn begin_object_key<W: ?Sized + Write>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        self.key.clear();
        self.in_key = true;
        match (self.compact > 0, first) {
            (true, true) => Ok(()),
            (true, false) => writer.write_all(b","),
            (false, _) => self.pretty.begin_object_key(writer, first),
        }
    }

    fn end_object_key<W: ?Sized + Write>(&mut self, _writer: &mut W) -> io::Result<()> {
        self.in_key = false;
        Ok(())
    }

    fn begin_object_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        writer.write_all(if self.compact > 0 { b":" } else { b": " })
    }

    fn end_object_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        if self.compact > 0 {
            Ok(())
        } else {
            self.pretty.end_object_value(writer)
        }
    }

    fn write_string_fragment<W: ?Sized + Write>(&mut self, writer: &mut W, fragment: &str) -> io::Result<()> {
        // Nothing is laid out by keys within a line.
        if self.in_key && self.compact == 0 {
            self.key.extend_from_slice(fragment.as_bytes());
        }
        writer.write_all(fragment.as_bytes())
    }
}

#[cfg(test)]
mod tests {
    use serde_json::Value;

    use super::*;
    use crate::report::sample;

    /// The report read back equals the value, lengths within half a step of 1e-7 of the height (the contract allows
    /// spans 1e-6), everything else exactly.
    #[test]
    fn the_file_says_what_the_report_says() {
        let report = sample::report();
        let bytes = write(&report).expect("finite");
        let read: Value = serde_json::from_slice(&bytes).expect("valid JSON");
        let half = 0.505 * super::super::number::RESOLUTION * report.figure_height;
        for (v, view) in report.views.iter().enumerate() {
            let rows = read["views"][v]["rows"].as_array().expect("rows");
            assert_eq!(rows.len(), view.rows.len());
            for (r, row) in rows.iter().zip(&view.rows) {
                for (name, spans) in [("drawing", &row.drawing), ("mesh", &row.mesh)] {
                    let written: Vec<[f64; 2]> = serde_json::from_value(r[name].clone()).expect("spans");
                    assert_eq!(written.len(), spans.len());
                    for (a, b) in written.iter().flatten().zip(spans.iter().flatten()) {
                        assert!((a - b).abs() <= half, "{a} for {b}");
                    }
                }
                assert_eq!(r["outer_diff"].is_null(), row.outer_diff.is_none());
            }
            assert_eq!(read["views"][v]["units_per_px"], view.units_per_px);
            assert_eq!(read["views"][v]["summary"]["iou"], view.summary.iou);
            assert_eq!(
                read["views"][v]["findings"].as_array().map(Vec::len),
                Some(view.findings.len())
            );
        }
        assert_eq!(read["schema"], report.schema);
        assert_eq!(read["verdict"], "off-model");
    }

    /// Common practice, no source: a row a line, so that two reports can be compared line by line.
    #[test]
    fn a_row_takes_one_line() {
        let report = sample::report();
        let text = String::from_utf8(write(&report).expect("finite")).expect("UTF-8");
        let lines = text.lines().filter(|l| l.starts_with("{\"y\":")).count();
        assert_eq!(lines, report.views.iter().map(|v| v.rows.len()).sum::<usize>());
    }

    #[test]
    fn a_number_that_is_not_finite_is_refused() {
        let mut report = sample::report();
        report.views[0].rows[3].mesh = vec![[0.0, f64::NAN]];
        assert!(write(&report).expect_err("refused").to_string().contains("front"));
        let mut report = sample::report();
        report.views[0].summary.iou = f64::INFINITY;
        assert!(write(&report).is_err());
    }
}
