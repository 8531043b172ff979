//! The page's data: the report without its rows, and for each view its rows in short, its outlines and its picture.
//!
//! A row is `[y, sure, parts, edges, left, right, outer, solid, drawing, mesh]`, numbers as `report.json` has them: sure in
//! percent; parts an index into the view's list of parts; edges three times what the left edge says plus what the right
//! edge says, 0 for a measure, 1 for a level edge, 2 for another part; differences or null; spans one number after the
//! other.

use rayon::prelude::*;
use serde::Serialize;

use super::letters::base64;
use super::live::{Before, Live};
use super::path::{STEPS, Steps, path};
use super::picture::{Cut, matrix, picture, sides};
use super::told::tell;
use crate::compare::rows::EdgeReading;
use crate::compare::wording::{edges, length};
use crate::error::Result;
use crate::report::model::{Facing, Row};
use crate::report::number::Decimals;
use crate::report::overlay::{Subject, heights, twins};
use crate::report::progress::Course;
use crate::space::Bounds;

/// Bytes that a row takes, about: to ask for memory once.
const BYTES_A_ROW: usize = 110;

/// What is said of a view besides the report.
#[derive(Serialize)]
struct Meta<'a> {
    name: &'a str,
    facing: Facing,
    /// What its left and right edge are called.
    edges: [&'static str; 2],
    /// Upper left corner and size of what is shown, units.
    origin: [f64; 2],
    extent: [f64; 2],
    /// Units a step of the paths.
    step: f64,
    /// Named heights: name, height, whether it is a guide line of the sheet.
    heights: Vec<(String, f64, bool)>,
    /// Each the parts of the body that a row shows.
    parts: Vec<String>,
    /// Place and kind of the picture, `None` where there is none.
    picture: Option<Shown>,
}

/// A picture in its place.
#[derive(Serialize)]
struct Shown {
    size: [usize; 2],
    matrix: [f64; 6],
    dark: bool,
}

/// The data of a page that holds all it shows.
///
/// # Errors
/// A picture cannot be encoded.
pub(super) fn data(subjects: &[Subject<'_>], course: Option<&Course>) -> Result<Vec<u8>> {
    let sides = sides(subjects);
    let views = subjects
        .par_iter()
        .zip(&sides)
        .map(|(s, side)| {
            let cut = picture(s, *side)?;
            view(s, cut.as_ref().map(|c| (c, href(c))), &[])
        })
        .collect::<Result<Vec<_>>>()?;
    whole(subjects, &views, None, course)
}

/// The data of a page that is served: its pictures have addresses, and what changed stands in it.
///
/// # Errors
/// A number is not finite.
pub(super) fn served(subjects: &[Subject<'_>], live: &Live<'_>) -> Result<Vec<u8>> {
    let views = subjects
        .par_iter()
        .map(|s| view(s, live.pictures.of(s), live.before))
        .collect::<Result<Vec<_>>>()?;
    whole(subjects, &views, Some(live), None)
}

/// The views put together.
fn whole(
    subjects: &[Subject<'_>],
    views: &[Vec<u8>],
    live: Option<&Live<'_>>,
    course: Option<&Course>,
) -> Result<Vec<u8>> {
    let mut out = Vec::with_capacity(views.iter().map(Vec::len).sum::<usize>() + 65_536);
    out.extend_from_slice(b"{\"version\":");
    tell(&env!("CARGO_PKG_VERSION"), &mut out)?;
    if let Some(first) = subjects.first() {
        let digits = length(0.0, first.report.figure_height);
        out.extend_from_slice(b",\"decimals\":");
        tell(&digits.split_once('.').map_or(0, |d| d.1.len()), &mut out)?;
        out.extend_from_slice(b",\"report\":");
        tell(first.report, &mut out)?;
    }
    out.extend_from_slice(b",\"twins\":");
    tell(&twins(subjects), &mut out)?;
    out.extend_from_slice(b",\"views\":[");
    for (i, view) in views.iter().enumerate() {
        if i > 0 {
            out.push(b',');
        }
        out.extend_from_slice(view);
    }
    out.extend_from_slice(b"]");
    if let Some(course) = course {
        out.extend_from_slice(b",\"course\":");
        tell(course, &mut out)?;
    }
    if let Some(live) = live {
        out.extend_from_slice(b",\"live\":");
        tell(&live.told, &mut out)?;
    }
    out.extend_from_slice(b"}");
    Ok(out)
}

fn view(subject: &Subject<'_>, cut: Option<(&Cut, String)>, before: &[Before<'_>]) -> Result<Vec<u8>> {
    let (report, shown) = (subject.report, subject.shown);
    let view = &report.views[subject.view];
    let outlines = [&shown.drawing, &shown.mesh];
    let all = outlines.into_iter().flat_map(|o| &o.rings).flatten().copied();
    let Some(bounds) = Bounds::around(all) else {
        return Ok(b"null".to_vec());
    };
    let steps = Steps {
        origin: (bounds.x0, bounds.y1),
        step: report.figure_height / STEPS,
    };
    let (parts, of_row) = parts(&view.rows);
    let meta = Meta {
        name: &view.name,
        facing: shown.placed.facing,
        edges: edges(shown.placed.facing).into(),
        origin: [bounds.x0, bounds.y1],
        extent: [bounds.width(), bounds.height()],
        step: steps.step,
        heights: heights(subject),
        parts,
        picture: cut.as_ref().map(|(cut, _)| Shown {
            size: cut.size,
            matrix: matrix(cut, subject, steps),
            dark: cut.dark,
        }),
    };
    let image = cut.map_or_else(String::new, |(_, href)| href);
    let mut out = Vec::with_capacity(image.len() + BYTES_A_ROW * view.rows.len() + 65_536);
    out.extend_from_slice(b"{\"meta\":");
    tell(&meta, &mut out)?;
    for (name, outline) in [
        ("drawing", Some(&shown.drawing)),
        ("mesh", Some(&shown.mesh)),
        ("other", shown.other.as_ref()),
    ] {
        // A path has no character that JSON or a page would have to escape, and Base64 has none either.
        let text = outline.map(|o| path(o, steps)).unwrap_or_default();
        out.extend_from_slice(format!(",\"{name}\":\"{text}\"").as_bytes());
    }
    for of in before {
        let outline = of.outlines.iter().find(|(name, _)| *name == view.name);
        let text = outline.map(|(_, o)| path(o, steps)).unwrap_or_default();
        out.extend_from_slice(format!(",\"{}\":\"{text}\"", of.name).as_bytes());
    }
    out.extend_from_slice(format!(",\"image\":\"{image}\",\"rows\":[").as_bytes());
    rows(&view.rows, &shown.edges, &of_row, report.figure_height, &mut out);
    out.extend_from_slice(b"]}");
    Ok(out)
}

fn href(cut: &Cut) -> String {
    let mut out = format!("data:{};base64,", cut.kind);
    base64(&cut.bytes, &mut out);
    out
}

/// The parts that rows show, each list of them once, and which list is each row's.
fn parts(rows: &[Row]) -> (Vec<String>, Vec<usize>) {
    let mut lists: Vec<Vec<&'static str>> = Vec::new();
    let mut last = (Vec::new(), usize::MAX);
    let of_row = rows
        .iter()
        .map(|row| {
            let mut names: Vec<&'static str> = row.spans.iter().map(|s| s.part).collect();
            names.dedup();
            if last.1 == usize::MAX || last.0 != names {
                let known = lists.iter().position(|l| *l == names).unwrap_or_else(|| {
                    lists.push(names.clone());
                    lists.len() - 1
                });
                last = (names, known);
            }
            last.1
        })
        .collect();
    (lists.iter().map(|l| l.join(", ")).collect(), of_row)
}

fn rows(rows: &[Row], edges: &[[EdgeReading; 2]], parts: &[usize], height: f64, out: &mut Vec<u8>) {
    let decimals = Decimals::for_height(height);
    let says = |e: EdgeReading| match e {
        EdgeReading::Measured => 0u64,
        EdgeReading::Level => 1,
        EdgeReading::OtherPart => 2,
    };
    for (i, row) in rows.iter().enumerate() {
        out.extend_from_slice(if i > 0 { b",[" } else { b"[" });
        decimals.push(row.y, out);
        let edge = edges.get(i).map_or(0, |[l, r]| 3 * says(*l) + says(*r));
        for whole in [u64::from(row.edge_sure_pct), parts[i] as u64, edge] {
            out.push(b',');
            digits(whole, out);
        }
        for diff in [row.left_diff, row.right_diff, row.outer_diff, row.solid_diff] {
            out.push(b',');
            match diff {
                Some(v) => decimals.push(v, out),
                None => out.extend_from_slice(b"null"),
            }
        }
        for spans in [&row.drawing, &row.mesh] {
            out.extend_from_slice(b",[");
            for (k, end) in spans.iter().flatten().enumerate() {
                if k > 0 {
                    out.push(b',');
                }
                decimals.push(*end, out);
            }
            out.push(b']');
        }
        out.push(b']');
    }
}

/// Appends a whole number; these have a digit or three.
fn digits(value: u64, out: &mut Vec<u8>) {
    if value >= 10 {
        digits(value / 10, out);
    }
    out.push(b'0' + (value % 10) as u8);
}
