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
pub mod live;
mod palette;
mod path;
mod picture;
mod plain;
mod told;

use sha2::{Digest as _, Sha256};

use crate::error::Result;
use crate::report::model::Report;
use crate::report::overlay::{Subject, words};
use crate::report::progress::Course;
use crate::report::terminal::file_name;
use letters::base64;
pub(in crate::report) use plain::escaped;

/// The page without its parts; `{{name}}` stands for a part.
const PAGE: &str = include_str!("page.html");
/// The page's style.
pub(super) const STYLE: &str = include_str!("page.css");
/// The page's scripts, in the order in which they stand in it; [`LIVE`] stands before the last.
const SCRIPTS: [&[&str]; 2] = [
    &[
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
        include_str!("script/course.js"),
    ],
    &[include_str!("script/page.js")],
];
/// What a page that is served has besides.
const LIVE: &str = concat!(include_str!("script/changes.js"), include_str!("script/live.js"));

/// Makes the page of a check. `subjects` are all its compared views in their order.
///
/// # Errors
/// A picture cannot be encoded.
pub fn page(subjects: &[Subject<'_>]) -> Result<Vec<u8>> {
    page_with(subjects, None)
}

/// The same, with the course over earlier checks.
///
/// # Errors
/// As [`page`].
pub fn page_with(subjects: &[Subject<'_>], course: Option<&Course>) -> Result<Vec<u8>> {
    let Some(report) = subjects.first().map(|s| s.report) else {
        return Ok(Vec::new());
    };
    let mut text = Vec::new();
    plain::plain(report, &mut text);
    Ok(filled(
        &title(report),
        &text,
        &data::data(subjects, course)?,
        false,
    ))
}

/// What a check's page is called.
pub fn title(report: &Report) -> String {
    format!(
        "{}: {}",
        file_name(&report.inputs.mesh.path),
        words(report.verdict)
    )
}

/// The page with its parts; `served` by the program, or in a file.
fn filled(title: &str, plain: &[u8], data: &[u8], served: bool) -> Vec<u8> {
    let [before, last] = SCRIPTS;
    let script = if served {
        [before, &[LIVE], last].concat().concat()
    } else {
        [before, last].concat().concat()
    };
    // A page in a file has no one to listen to.
    let own = if served {
        " 'self'; connect-src 'self'"
    } else {
        " data:"
    };
    let policy = format!(
        "default-src 'none'; script-src '{}'; style-src '{}'; img-src{own}; base-uri 'none'; form-action 'none'",
        digest(&script),
        digest(STYLE)
    );
    let mut out = Vec::with_capacity(PAGE.len() + STYLE.len() + script.len() + data.len() + 4096);
    let mut rest = PAGE;
    while let Some((before, after)) = rest.split_once("{{") {
        let (name, after) = after.split_once("}}").unwrap_or((after, ""));
        out.extend_from_slice(before.as_bytes());
        match name {
            "policy" => out.extend_from_slice(policy.as_bytes()),
            "title" => plain::escaped(title, &mut out),
            "style" => out.extend_from_slice(STYLE.as_bytes()),
            "plain" => out.extend_from_slice(plain),
            "data" => out.extend_from_slice(data),
            "script" => out.extend_from_slice(script.as_bytes()),
            _ => {}
        }
        rest = after;
    }
    out.extend_from_slice(rest.as_bytes());
    out
}

/// How a policy names a script or a style.
fn digest(text: &str) -> String {
    let mut name = String::from("sha256-");
    base64(&Sha256::digest(text.as_bytes()), &mut name);
    name
}

#[cfg(test)]
mod tests {
    use serde_json::Value;

    use super::*;
    use crate::report::number::RESOLUTION;
    use crate::report::sample::{self, Scene};

    /// The scripts become one module, in which a name can be given once.
    #[test]
    fn no_name_is_given_twice() {
        let scripts = [SCRIPTS[0], SCRIPTS[1], &[LIVE]].concat().concat();
        let names = scripts.lines().filter_map(|line| {
            let words: Vec<&str> = line.splitn(3, ' ').collect();
            match words[..] {
                ["const" | "let" | "function" | "class", name, _] if line.starts_with(words[0]) => Some(name),
                _ => None,
            }
        });
        let mut names: Vec<&str> = names.collect();
        assert!(names.len() > 50);
        names.sort_unstable();
        let twice: Vec<_> = names.windows(2).filter(|n| n[0] == n[1]).collect();
        assert!(twice.is_empty(), "{twice:?}");
    }

    fn subject(scene: &Scene) -> Subject<'_> {
        Subject {
            report: &scene.report,
            view: 0,
            shown: &scene.shown,
            picture: &scene.picture,
            reading: &scene.reading,
        }
    }

    fn made(scene: &Scene) -> String {
        String::from_utf8(page(&[subject(scene)]).expect("a page")).expect("UTF-8")
    }

    /// What stands between a tag and the next closing one.
    fn within<'a>(html: &'a str, tag: &str) -> &'a str {
        let after = html.split_once(tag).expect("the tag").1;
        after.split_once("</").expect("its end").0
    }

    #[test]
    fn the_policy_names_what_is_there() {
        let html = made(&sample::scene());
        let policy = within(&html, "Content-Security-Policy\" content=\"");
        for text in [
            within(&html, "<style>"),
            html.split_once("<script type=\"module\">").expect("a script").1,
        ] {
            let text = text.split_once("</script>").map_or(text, |t| t.0);
            assert!(policy.contains(&digest(text)), "{policy}");
        }
    }

    /// HTML: nothing in the page loads anything; the one address names the format of drawings.
    #[test]
    fn nothing_comes_from_elsewhere() {
        let html = made(&sample::scene()).replace("http://www.w3.org/2000/svg", "");
        for forbidden in [
            "http:",
            "https:",
            "src=",
            "@import",
            "fetch(",
            "innerHTML",
            "eval(",
        ] {
            assert!(!html.contains(forbidden), "{forbidden}");
        }
        assert!(
            html.match_indices("url(")
                .all(|(i, _)| html[i..].starts_with("url(#"))
        );
    }

    /// Rows as the report has them, to half a step of what it is written with; and pixel (300, 900) of the picture lies
    /// at (0, 0) of the view, a pixel being 0.2 units, as the sample says.
    #[test]
    fn data_are_the_reports() {
        let scene = sample::scene();
        let html = made(&scene);
        let data: Value = serde_json::from_str(within(&html, "id=\"data\">")).expect("JSON");
        let view = &data["views"][0];
        let rows = view["rows"].as_array().expect("rows");
        assert_eq!(rows.len(), scene.report.views[0].rows.len());
        let half = 0.505 * RESOLUTION * scene.report.figure_height;
        let near = |v: &Value, w: Option<f64>| match (v.as_f64(), w) {
            (Some(v), Some(w)) => (v - w).abs() <= half,
            (None, None) => v.is_null(),
            _ => false,
        };
        for (row, of) in rows.iter().zip(&scene.report.views[0].rows) {
            let diffs = [of.left_diff, of.right_diff, of.outer_diff, of.solid_diff];
            assert!(
                near(&row[0], Some(of.y)) && diffs.iter().zip(4..).all(|(w, k)| near(&row[k], *w)),
                "{row}"
            );
            for (k, spans) in [(8, &of.drawing), (9, &of.mesh)] {
                let ends = row[k].as_array().expect("spans");
                assert!(
                    ends.len() == 2 * spans.len()
                        && ends
                            .iter()
                            .zip(spans.as_flattened())
                            .all(|(v, w)| near(v, Some(*w)))
                );
            }
        }
        let meta = &view["meta"];
        let number = |v: &Value| v.as_f64().expect("a number");
        let [step, x0, y0] = [&meta["step"], &meta["origin"][0], &meta["origin"][1]].map(number);
        let matrix: Vec<f64> = (0..6).map(|k| number(&meta["picture"]["matrix"][k])).collect();
        // The cut begins at the figure's box less four percent of its height beside and 1.4 above: (96, 87).
        let (i, j) = (300.0 - 96.0, 900.0 - 87.0);
        let x = (matrix[0] * i + matrix[2] * j + matrix[4]) * step + x0;
        let y = y0 - (matrix[1] * i + matrix[3] * j + matrix[5]) * step;
        assert!(x.abs() < 1e-6 && y.abs() < 1e-6, "{x} {y}");
        assert!((matrix[0] * step - 0.2).abs() < 1e-9);
    }

    /// The picture comes back from the page as it was drawn: line black, paper white.
    #[test]
    fn the_drawing_is_in_it() {
        let scene = sample::scene();
        let cut = picture::picture(&subject(&scene), 1)
            .expect("a picture")
            .expect("a figure");
        assert_eq!(cut.kind, "image/png");
        let read = image::load_from_memory(&cut.bytes).expect("a PNG").to_rgba8();
        for (x, y, p) in read.enumerate_pixels() {
            let drawn = scene
                .picture
                .rgba(x as usize + cut.origin[0], y as usize + cut.origin[1]);
            // Paper is left out.
            let expected = if drawn[0] == 255 {
                [255, 255, 255, 0]
            } else {
                [0, 0, 0, 255]
            };
            assert_eq!(p.0, expected, "{x} {y}");
        }
    }
}
