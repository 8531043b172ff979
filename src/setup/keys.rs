//! The keys of a setup file, table by table, and the nearest known key to a mistyped one.

/// Keys at the top.
pub(super) const TOP: [&str; 16] = [
    "unit",
    "figure-height",
    "scale",
    "ground",
    "hold-placement",
    "tolerance",
    "tolerance-width",
    "lead",
    "smooth",
    "stage",
    "unfinished",
    "arms",
    "arm",
    "canon",
    "mesh",
    "image",
];
/// Keys of `[mesh]`.
pub(super) const MESH: [&str; 7] = [
    "up",
    "facing",
    "mirror",
    "groups",
    "skip-groups",
    "plane",
    "borders",
];
/// Keys of `[[image]]`.
pub(super) const IMAGE: [&str; 10] = [
    "file",
    "shows",
    "line-edge",
    "threshold",
    "widest-gap",
    "erase",
    "ground",
    "surface",
    "view",
    "guide",
];
/// Keys of `[[image.view]]`.
pub(super) const VIEW: [&str; 3] = ["name", "box", "axis"];
/// Keys of `[[image.guide]]`.
pub(super) const GUIDE: [&str; 2] = ["y", "means"];
/// Keys of `[[arm]]`.
pub(super) const ARM: [&str; 6] = ["side", "joint", "joint-group", "joint-vertices", "axis", "group"];
/// Views by their geometry.
pub(super) const VIEWS: [&str; 5] = ["front", "side", "back", "three-quarter", "top"];

/// The known key that a mistyped one is nearest to, by the number of letters inserted, dropped, changed or swapped
/// (Damerau 1964).
///
/// None for a key so long that it is no slip: the work grows with its length.
pub(super) fn nearest<'a>(typed: &str, known: &[&'a str]) -> Option<&'a str> {
    /// Longest key that may be a known one mistyped, bytes: three times the longest.
    const LONGEST: usize = 40;
    if typed.len() > LONGEST {
        return None;
    }
    known
        .iter()
        .map(|k| (strsim::damerau_levenshtein(typed, k), *k))
        .min()
        .map(|(_, k)| k)
}
