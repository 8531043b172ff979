//! The one error type of the library: what is wrong, where, and what to do about it.

use std::path::{Path, PathBuf};

/// Why a result could not be made. Its `Display` is one line: file, place, matter, remedy.
#[derive(Debug, thiserror::Error)]
#[error("{}{}{}", place_prefix(.path.as_deref(), .place.as_deref()), plain(.matter), advice_suffix(.advice.as_deref()))]
pub struct Error {
    /// The file that is at fault, if one is.
    pub path: Option<PathBuf>,
    /// Where in the file, in words (`line 12`, `near x 812, y 1440`).
    pub place: Option<String>,
    /// What is wrong.
    pub matter: String,
    /// What to do about it.
    pub advice: Option<String>,
}

/// The library's result.
pub type Result<T> = std::result::Result<T, Error>;

impl Error {
    /// An error that says what is wrong and nothing else yet.
    pub fn new(matter: impl Into<String>) -> Self {
        Self {
            path: None,
            place: None,
            matter: matter.into(),
            advice: None,
        }
    }

    /// Names the place within the file.
    #[must_use]
    pub fn at(mut self, place: impl Into<String>) -> Self {
        self.place = Some(place.into());
        self
    }

    /// Names the file, unless one is named already.
    #[must_use]
    pub fn in_file(mut self, path: &Path) -> Self {
        self.path.get_or_insert_with(|| path.to_path_buf());
        self
    }

    /// Says what to do.
    #[must_use]
    pub fn advise(mut self, advice: impl Into<String>) -> Self {
        self.advice = Some(advice.into());
        self
    }
}

/// Names and values from files may be long and hold control characters; the message stays one line that can be read.
fn plain(text: &str) -> String {
    /// Longest part of a message that is taken from a file, characters: some lines of a terminal.
    const MOST: usize = 300;
    let mut out: String = text
        .chars()
        .take(MOST)
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    if text.chars().nth(MOST).is_some() {
        out.push('…');
    }
    out
}

fn place_prefix(path: Option<&Path>, place: Option<&str>) -> String {
    // The path is not shortened: it is what the user has to find.
    let name = path.map(|p| p.display().to_string().replace(char::is_control, "?"));
    match (name, place.map(plain)) {
        (Some(p), Some(w)) => format!("{p}: {w}: "),
        (Some(p), None) => format!("{p}: "),
        (None, Some(w)) => format!("{w}: "),
        (None, None) => String::new(),
    }
}

fn advice_suffix(advice: Option<&str>) -> String {
    advice
        .filter(|a| !a.is_empty())
        .map(|a| format!("; {}", plain(a)))
        .unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_message_is_one_line_whatever_the_file_says() {
        let error = Error::new(format!("there is no key a\n\u{1b}[31m{}", "x".repeat(100_000)))
            .in_file(Path::new("a\rb"))
            .at("line 1\n")
            .advise("do\nthis");
        let text = error.to_string();
        assert!(!text.contains(char::is_control), "{text:?}");
        assert!(text.starts_with("a?b: line 1 : there is no key a  [31mxxx") && text.ends_with("; do this"));
        assert!(text.len() < 1000);
        assert_eq!(Error::new("x").advise("").to_string(), "x");
    }
}
