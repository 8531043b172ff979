//! The check as plain text in the page: what a mail program shows that runs no scripts. The scripts replace it.

use crate::report::model::Report;
use crate::report::overlay::words;
use crate::report::terminal::{clean, file_name};

/// Appends a text so that none of it is markup, neither between tags nor in an attribute.
pub(in crate::report) fn escaped(text: &str, out: &mut Vec<u8>) {
    for c in clean(text).chars() {
        match c {
            '<' => out.extend_from_slice(b"&lt;"),
            '>' => out.extend_from_slice(b"&gt;"),
            '&' => out.extend_from_slice(b"&amp;"),
            '"' => out.extend_from_slice(b"&quot;"),
            '\'' => out.extend_from_slice(b"&#39;"),
            _ => out.extend_from_slice(c.encode_utf8(&mut [0; 4]).as_bytes()),
        }
    }
}

/// Appends the verdict and the findings.
pub(super) fn plain(report: &Report, out: &mut Vec<u8>) {
    let mut element = |name: &str, text: &str| {
        out.extend_from_slice(format!("<{name}>").as_bytes());
        escaped(text, out);
        out.extend_from_slice(format!("</{name}>\n").as_bytes());
    };
    let sheets: Vec<String> = report.inputs.sheets.iter().map(|s| file_name(&s.path)).collect();
    element("h1", words(report.verdict));
    element(
        "p",
        &format!(
            "{} against {}",
            file_name(&report.inputs.mesh.path),
            sheets.join(", ")
        ),
    );
    let mut all: Vec<_> = report
        .views
        .iter()
        .flat_map(|v| v.findings.iter().map(move |f| (f, v.name.as_str())))
        .collect();
    all.sort_by_key(|(f, _)| f.number);
    for (f, view) in all {
        element("p", &format!("{}  {view}: {}", f.number, f.text));
    }
    let others = report.findings.iter().map(|f| &f.text);
    for text in others.chain(&report.undecided).chain(&report.notes) {
        element("p", text);
    }
}

#[cfg(test)]
mod tests {
    /// The five characters of "Cross site scripting prevention", rule 1, of the OWASP cheat sheets (from memory).
    #[test]
    fn no_text_is_markup() {
        let mut out = Vec::new();
        super::escaped("<b onclick='x'>\"&\u{202e}", &mut out);
        assert_eq!(
            String::from_utf8(out).expect("UTF-8"),
            "&lt;b onclick=&#39;x&#39;&gt;&quot;&amp;?"
        );
    }
}
