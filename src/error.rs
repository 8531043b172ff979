//! The one error type of the library: what is wrong, where, and what to do about it.

use std::path::{Path, PathBuf};

/// Why a result could not be made. Its `Display` is one line: file, place, matter, remedy.
#[derive(Debug, thiserror::Error)]
#[error("{}{matter}{}", place_prefix(.path.as_deref(), .place.as_deref()), advice_suffix(.advice.as_deref()))]
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

fn place_prefix(path: Option<&Path>, place: Option<&str>) -> String {
    // A file name may hold control characters; the message must stay one line.
    let name = path.map(|p| p.display().to_string().replace(char::is_control, "?"));
    match (name, place) {
        (Some(p), Some(w)) => format!("{p}: {w}: "),
        (Some(p), None) => format!("{p}: "),
        (None, Some(w)) => format!("{w}: "),
        (None, None) => String::new(),
    }
}

fn advice_suffix(advice: Option<&str>) -> String {
    advice.map(|a| format!("; {a}")).unwrap_or_default()
}
