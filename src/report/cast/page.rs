//! `cast.html`: the cast on one page that opens anywhere, in the look of the report's own page. No scripts.

use base64::Engine as _;
use sha2::{Digest as _, Sha256};

use super::{CAST_PAGE, Character, LINEUP, by_need, counted};
use crate::error::Result;
use crate::report::files;
use crate::report::page::{STYLE, escaped};

/// What is added to the page's style.
const OWN_STYLE: &str = include_str!("cast.css");
/// Largest picture, bytes, that the page carries; a larger one lies beside it.
pub(super) const MOST_CARRIED: usize = 1 << 20;

/// The page of a cast. `lineup` is the picture of all characters, where it is small enough to be carried.
///
/// # Errors
/// None at present.
pub fn page(all: &[Character], lineup: Option<&[u8]>) -> Result<Vec<u8>> {
    let style = format!("{STYLE}{OWN_STYLE}");
    let digest = base64::engine::general_purpose::STANDARD.encode(Sha256::digest(style.as_bytes()));
    let mut out =
        String::with_capacity(style.len() + 1024 * all.len() + lineup.map_or(0, |l| 4 * l.len() / 3));
    out +=
        "<!doctype html>\n<html lang=\"en\" data-made-by=\"drawntrue\">\n<head>\n<meta charset=\"utf-8\">\n";
    out += &format!(
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'sha256-{digest}'; \
         img-src data:; base-uri 'none'; form-action 'none'\">\n"
    );
    out += "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n";
    out += "<meta name=\"color-scheme\" content=\"light dark\">\n<meta name=\"referrer\" content=\"no-referrer\">\n";
    let counts = counted(all);
    out += &format!(
        "<title>Cast: {counts}</title>\n<style>{style}</style>\n</head>\n<body>\n<main class=\"cast\">\n"
    );
    let passed = all.iter().filter(|c| c.status == 0).count();
    out += &format!(
        "<h1>{passed} of {} on model</h1>\n<p class=\"lede\">{counts}</p>\n",
        all.len()
    );
    out += "<figure class=\"standing\">";
    match lineup {
        Some(bytes) => {
            out += "<img alt=\"All characters, drawing and mesh, at one scale\" src=\"data:image/png;base64,";
            base64::engine::general_purpose::STANDARD.encode_string(bytes, &mut out);
            out += "\">";
        }
        None => {
            out += &format!(
                "<p class=\"small\">The picture of all characters lies beside this page: <a href=\"{LINEUP}\">{LINEUP}</a>.</p>"
            );
        }
    }
    out += "</figure>\n<table class=\"characters\">\n<thead><tr><th scope=\"col\">Character</th><th scope=\"col\">Verdict</th>\
            <th scope=\"col\" class=\"number\">Findings</th><th scope=\"col\" class=\"number\">Worst off</th>\
            <th scope=\"col\">What is most off</th><th scope=\"col\">Rows outside tolerance</th></tr></thead>\n<tbody>\n";
    for c in by_need(all) {
        row(c, &mut out);
    }
    out += "</tbody>\n</table>\n<p class=\"small\">What needs work stands first. “Worst off” is the largest distance between drawing \
            and mesh in a finding, in percent of the figure’s height. A name opens the character’s own page.</p>\n";
    out += "</main>\n</body>\n</html>\n";
    debug_assert!(CAST_PAGE.ends_with(".html"));
    Ok(out.into_bytes())
}

fn row(c: &Character, out: &mut String) {
    let class = match c.status {
        0 => "is-passed",
        1 => "is-off",
        _ => "is-failed",
    };
    *out += &format!("<tr class=\"{class}\"><th scope=\"row\">");
    let page = c.folder.join(files::PAGE);
    if c.error.is_none() && page.is_file() {
        *out += &format!("<a href=\"{}/{}\">", addressed(&c.below()), files::PAGE);
        escape(&c.name, out);
        *out += "</a>";
    } else {
        escape(&c.name, out);
    }
    *out += &format!(
        "</th><td class=\"said\"><span class=\"sign\" aria-hidden=\"true\"></span>{}</td>",
        c.words()
    );
    let findings = if c.error.is_some() {
        "–".to_string()
    } else {
        c.findings.to_string()
    };
    let off = c
        .worst_pct
        .map_or_else(|| "–".to_string(), |w| format!("{w:.1} %"));
    *out += &format!("<td class=\"number\">{findings}</td><td class=\"number\">{off}</td><td>");
    escape(c.said().unwrap_or("nothing"), out);
    *out += "</td><td>";
    let shares: Vec<String> = c
        .views
        .iter()
        .map(|v| format!("{} {:.0} %", v.name, v.outside_pct))
        .collect();
    escape(&shares.join(", "), out);
    *out += "</td></tr>\n";
}

fn escape(text: &str, out: &mut String) {
    let mut bytes = Vec::with_capacity(text.len());
    escaped(text, &mut bytes);
    *out += &String::from_utf8_lossy(&bytes);
}

/// A folder's name as part of an address: all but the unreserved characters in percent signs (RFC 3986, 2.3).
fn addressed(name: &str) -> String {
    name.bytes()
        .map(|b| match b {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' => char::from(b).to_string(),
            _ => format!("%{b:02X}"),
        })
        .collect()
}
