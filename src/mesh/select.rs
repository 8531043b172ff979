//! Chooses which groups of the file count, by name.
//!
//! A name is compared with the groups' names exactly, else without regard to case, else with the single
//! names of statements that give several (`g arm left`), again exactly first. Faces of other groups are
//! dropped; positions stay, so that a vertex keeps its number in the file.

use super::Mesh;
use crate::{Error, Result};

/// Names that an error lists at most, nearest first; more would not fit on a line.
const NAMES_LISTED: usize = 8;

/// Which groups count. Names as [`crate::mesh::Group::name`] holds them.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Choice {
    /// Only these groups; empty: all.
    pub groups: Vec<String>,
    /// These groups not, even if they are among `groups`.
    pub skip_groups: Vec<String>,
}

/// The mesh with only the chosen groups' faces.
///
/// # Errors
/// If a name belongs to no group (the error lists the nearest names), or if no face is left.
pub fn choose(mesh: Mesh, choice: &Choice) -> Result<Mesh> {
    if choice.groups.is_empty() && choice.skip_groups.is_empty() {
        return Ok(mesh);
    }
    let mut wanted = vec![choice.groups.is_empty(); mesh.groups().len()];
    for (names, value) in [(&choice.groups, true), (&choice.skip_groups, false)] {
        for name in names {
            for group in find(&mesh, name)? {
                wanted[group] = value;
            }
        }
    }
    let mut keep = vec![false; mesh.face_count()];
    for run in mesh.group_runs() {
        keep[run.faces].fill(wanted[run.group]);
    }
    if !keep.contains(&true) {
        return Err(Error::new("the chosen groups leave no face").advise(available(&mesh, "")));
    }
    Ok(mesh.keep_faces(&keep))
}

/// The groups that a name means.
fn find(mesh: &Mesh, name: &str) -> Result<Vec<usize>> {
    let lower = name.to_lowercase();
    let rules: [&dyn Fn(&str) -> bool; 4] = [
        &|group| group == name,
        &|group| group.to_lowercase() == lower,
        &|group| group.split_whitespace().any(|word| word == name),
        &|group| group.split_whitespace().any(|word| word.to_lowercase() == lower),
    ];
    for matches in rules {
        let groups = mesh.groups().iter().enumerate();
        let found: Vec<usize> = groups.filter(|(_, g)| matches(&g.name)).map(|(i, _)| i).collect();
        if !found.is_empty() {
            return Ok(found);
        }
    }
    Err(
        Error::new(format!("the mesh has no group named \"{}\"", printable(name)))
            .advise(available(mesh, &lower)),
    )
}

/// Names of groups for an advice, those that are nearest to `wanted` (in lower case) first.
fn available(mesh: &Mesh, wanted: &str) -> String {
    let mut names: Vec<(usize, &str)> = mesh
        .groups()
        .iter()
        .map(|g| (distance(&g.name.to_lowercase(), wanted), g.name.as_str()))
        .collect();
    if !wanted.is_empty() {
        // Stable: equally near names keep the order of the file.
        names.sort_by_key(|&(distance, _)| distance);
    }
    let listed: Vec<String> = names
        .iter()
        .take(NAMES_LISTED)
        .map(|(_, name)| format!("\"{}\"", printable(name)))
        .collect();
    let more = match names.len().saturating_sub(NAMES_LISTED) {
        0 => String::new(),
        n => format!(" and {n} more"),
    };
    format!("its groups are {}{more}", listed.join(", "))
}

/// A name of the file or the command line as it can stand in a message of one line.
pub(super) fn printable(name: &str) -> String {
    name.replace(char::is_control, "?")
}

/// Number of characters to insert, remove or exchange to get from one name to the other (Levenshtein 1966,
/// computed row by row after Wagner and Fischer 1974).
fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, y) in b.iter().enumerate() {
            let exchanged = diagonal + usize::from(x != *y);
            diagonal = row[j + 1];
            row[j + 1] = exchanged.min(diagonal + 1).min(row[j] + 1);
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mesh::Group;

    /// One triangle for each name.
    fn parts(names: &[&str]) -> Mesh {
        let n = names.len() as u32;
        let groups = names.iter().map(|&name| Group { name: name.into() }).collect();
        let positions = (0..3 * n)
            .map(|i| [f64::from(i), f64::from(i % 2), 0.0])
            .collect();
        Mesh::new(
            positions,
            (0..3 * n).collect(),
            (0..=n).map(|f| 3 * f).collect(),
            groups,
            (0..n).map(|f| (f, f)).collect(),
        )
        .unwrap()
    }

    fn left(names: &[&str], groups: &[&str], skip_groups: &[&str]) -> Result<Vec<u32>> {
        let owned = |list: &[&str]| list.iter().map(ToString::to_string).collect();
        let choice = Choice {
            groups: owned(groups),
            skip_groups: owned(skip_groups),
        };
        let mesh = choose(parts(names), &choice)?;
        assert_eq!(mesh.positions().len(), 3 * names.len());
        Ok(mesh.faces().map(|face| face[0] / 3).collect())
    }

    #[test]
    fn names_match_exactly_before_they_match_loosely() {
        let names = ["Arm", "arm", "leg left", "Leg right", "Ärmel"];
        assert_eq!(left(&names, &[], &[]).unwrap(), [0, 1, 2, 3, 4]);
        assert_eq!(left(&names, &["arm"], &[]).unwrap(), [1]);
        assert_eq!(left(&names, &["ARM"], &[]).unwrap(), [0, 1]);
        assert_eq!(left(&names, &["leg"], &[]).unwrap(), [2]);
        assert_eq!(left(&names, &["RIGHT", "ärmel"], &[]).unwrap(), [3, 4]);
        assert_eq!(left(&names, &[], &["Arm", "LEG RIGHT"]).unwrap(), [1, 2, 4]);
        assert_eq!(left(&names, &["ARM"], &["Arm"]).unwrap(), [1]);
    }

    #[test]
    fn unknown_names_and_empty_choices_name_the_groups() {
        let message = left(&["head", "hand", "foot"], &["hnad"], &[])
            .unwrap_err()
            .to_string();
        assert!(
            message.starts_with("the mesh has no group named \"hnad\"; its groups are \"head\", \"hand\"")
        );
        let message = left(&["head"], &[], &["head"]).unwrap_err().to_string();
        assert_eq!(
            message,
            "the chosen groups leave no face; its groups are \"head\""
        );
        let many: Vec<String> = (0..20).map(|i| format!("part{i}")).collect();
        let many: Vec<&str> = many.iter().map(String::as_str).collect();
        let message = left(&many, &["pert17"], &[]).unwrap_err().to_string();
        assert!(
            message.contains("its groups are \"part17\"") && message.ends_with(" and 12 more"),
            "{message}"
        );
    }

    #[test]
    fn distances_of_words() {
        // kitten, sitting: the usual example of the method.
        assert_eq!(distance("kitten", "sitting"), 3);
        assert_eq!(distance("", "abc"), 3);
        assert_eq!(distance("same", "same"), 0);
    }
}
