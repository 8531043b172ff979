//! `report.html`: the check as one page that opens anywhere, without a network.
//!
//! The page is made of [`page.html`](page.html), [`page.css`](page.css) and the scripts under `script/`, which are the same for every
//! check, and of one block of data: the report as `report.json` has it, its rows in short form, the outlines as paths
//! and the drawing's pictures. All text reaches the page through that block and is set as text, never as markup; the
//! page's own policy forbids it every connection and every script and style but its own, which are named by their
//! digests (Content Security Policy Level 3, W3C).
//!
//! The same input gives the same bytes: there is no clock and no chance in it.

mod data;
mod letters;
mod palette;
mod path;
mod picture;
mod plain;
mod told;

use sha2::{Digest as _, Sha256};

use crate::error::Result;
use crate::report::overlay::{Subject, words};
use crate::report::terminal::file_name;
use letters::base64;

/// The page without its parts; `{{name}}` stands for a part.
const PAGE: &str = include_str!("page.html");
/// The page's style.
const STYLE: &str = include_str!("page.css");
/// The page's scripts, in the order in which they stand in it.
const SCRIPTS: [&str; 11] = [
    include_str!("script/words.js"),
    include_str!("script/make.js"),
    include_str!("script/place.js"),
    include_str!("script/figure.js"),
    include_str!("script/lineup.js"),
    include_str!("script/chart.js"),
    include_str!("script/reading.js"),
    include_str!("script/stage.js"),
    include_str!("script/findings.js"),
    include_str!("script/tables.js"),
    include_str!("script/page.js"),
];

/// Makes the page of a check. `subjects` are all its compared views in their order.
///
/// # Errors
/// A picture cannot be encoded.
pub fn page(subjects: &[Subject<'_>]) -> Result<Vec<u8>> {
    let Some(report) = subjects.first().map(|s| s.report) else {
        return Ok(Vec::new());
    };
    let script = SCRIPTS.concat();
    let title = format!(
        "{}: {}",
        file_name(&report.inputs.mesh.path),
        words(report.verdict)
    );
    let policy = format!(
        "default-src 'none'; script-src '{}'; style-src '{}'; img-src data:; base-uri 'none'; form-action 'none'",
        digest(&script),
        digest(STYLE)
    );
    let data = data::data(subjects)?;
    let mut out = Vec::with_capacity(PAGE.len() + STYLE.len() + script.len() + data.len() + 4096);
    let mut rest = PAGE;
    while let Some((before, after)) = rest.split_once("{{") {
        let (name, after) = after.split_once("}}").unwrap_or((after, ""));
        out.extend_from_slice(before.as_bytes());
        match name {
            "policy" => out.extend_from_slice(policy.as_bytes()),
            "title" => plain::escaped(&title, &mut out),
            "style" => out.extend_from_slice(STYLE.as_bytes()),
            "plain" => plain::plain(report, &mut out),
            "data" => out.extend_from_slice(&data),
            "script" => out.extend_from_slice(script.as_bytes()),
            _ => {}
        }
        rest = after;
    }
    out.extend_from_slice(rest.as_bytes());
    Ok(out)
}

/// How a policy names a script or a style.
fn digest(text: &str) -> String {
    let mut name = String::from("sha256-");
    base64(&Sha256::digest(text.as_bytes()), &mut name);
    name
}
