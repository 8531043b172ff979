//! The summary of a cast on the terminal: a line a character, what needs work first.

use std::fmt::Write as _;
use std::path::Path;

use super::{Character, by_need, counted};
use crate::report::terminal::{Style, clean};

/// Widest column of names, and of words.
const COLUMNS: [usize; 2] = [24, 76];

/// The summary, ended by a line feed.
pub fn summary(all: &[Character], out: &Path, style: Style) -> String {
    let widest = all
        .iter()
        .map(|c| clean(&c.name).chars().count())
        .max()
        .unwrap_or(0);
    let [most, words] = COLUMNS;
    let width = widest.min(most);
    let mut text = String::new();
    // Writing to a string cannot fail.
    for c in by_need(all) {
        let name = shortened(&clean(&c.name), most);
        let off = c.worst_pct.map_or_else(String::new, |w| format!("{w:.1} %"));
        let said = c.said().unwrap_or_default();
        let line = format!(
            "{name:<width$}  {:<11}  {off:>7}  {}",
            c.words(),
            shortened(&clean(said), words)
        );
        let _ = writeln!(text, "{}", line.trim_end());
    }
    let fresh = all.iter().filter(|c| !c.computed).count();
    let kept = if fresh > 0 {
        format!("; {fresh} were up to date")
    } else {
        String::new()
    };
    let _ = writeln!(text, "\n{}{kept}", style.bold(&counted(all)));
    let _ = writeln!(
        text,
        "written to {}: cast.html, lineup.png, a folder for each",
        clean(&out.display().to_string())
    );
    text
}

fn shortened(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_string();
    }
    let kept: String = text.chars().take(most - 1).collect();
    format!("{}…", kept.trim_end())
}
