//! What the drawn views are, as far as the drawing alone tells: by symmetry, width, feet and face. Captions are
//! never read.
//!
//! A front or back view is its own mirror image, a side view is not; of two such views the one with more drawn
//! inside its head shows the face; where none shows more, the first from the left is the front. A side view faces the
//! way its toes point. With a mesh at hand the comparison with its silhouettes decides instead (see [`crate::place`]).

use serde::{Deserialize, Serialize};

use crate::profile::{Outline, RowSpans};
use crate::space::Level;

/// A figure overlaps its mirror image by at least this much less than the most symmetric one and still counts as
/// seen from the front or back. A pose that is the same in both views differs by a hand's jitter only.
const SYMMETRY_SLACK: f64 = 0.06;
/// Front and back views mirror each other and so have one width; a figure narrower than this share of the widest that is
/// its own mirror image is seen from the side, however symmetric it is. By trial; a hand's jitter and a pose that is
/// turned a little change the width by some percent.
const SAME_WIDTH: f64 = 0.75;
/// A figure seen from between front and side is at least this many times as wide as from the side. By trial; two side
/// views of one figure differ in width by a hand's jitter.
const WIDER: f64 = 1.12;
/// What is thinner than this share of the height and has no twin on the other side is a staff or a sword, and tells
/// nothing of the view. Wrists are hardly thinner and have their twin.
const THIN: f64 = 0.04;
/// How far from the middle of a figure its axis may lie and by which steps it is sought, shares of the height.
const ASIDE: (i32, f64) = (8, 0.004);
/// Rows that a figure is looked at in.
const ROWS: usize = 240;
/// Faces that differ by less than this share of the head's inside are the same: a few pixels.
const SAME_FACE: f64 = 0.0005;
/// Share of the height from the ground that the feet take.
const FEET: f64 = 0.05;

/// Where a drawn figure looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
#[allow(missing_docs, reason = "the names say it")]
pub enum Facing {
    Viewer,
    Away,
    Left,
    Right,
}

/// What one figure shows about its view.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Signs {
    /// Overlap (intersection over union) with its own mirror image.
    pub symmetry: f64,
    /// How far the feet reach out to the right of the shins, in shares of the height; negative: to the left.
    pub toes: f64,
    /// Strength of what is drawn inside the head.
    pub face: f64,
    /// Width in shares of the height.
    pub width: f64,
}

/// From where a figure is seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shows {
    /// From the front or the back.
    Middle,
    /// From the side.
    Side,
    /// From between.
    Oblique,
}

/// From where each figure of a sheet is seen. Figures that are their own mirror image, and as wide as each other, are
/// seen from the front or back.
/// Of the others the narrowest is a side view, and so is all that is hardly wider (the other side); a clearly wider
/// one is seen from between.
pub fn shows(signs: &[Signs]) -> Vec<Shows> {
    let best = signs.iter().map(|s| s.symmetry).fold(0.0, f64::max);
    let symmetric = |s: &Signs| s.symmetry >= best - SYMMETRY_SLACK;
    let widest = signs
        .iter()
        .filter(|s| symmetric(s))
        .map(|s| s.width)
        .fold(0.0, f64::max);
    let middle = |s: &Signs| symmetric(s) && s.width >= SAME_WIDTH * widest;
    let narrowest = signs
        .iter()
        .filter(|s| !middle(s))
        .map(|s| s.width)
        .fold(f64::MAX, f64::min);
    signs
        .iter()
        .map(|s| {
            if middle(s) {
                Shows::Middle
            } else if s.width > WIDER * narrowest {
                Shows::Oblique
            } else {
                Shows::Side
            }
        })
        .collect()
}

/// The views from the front or back that show a face no less than any other, from the left. More than one: no face
/// tells them apart.
pub(super) fn fronts(signs: &[Signs], shows: &[Shows]) -> Vec<usize> {
    let middle: Vec<usize> = (0..signs.len()).filter(|&i| shows[i] == Shows::Middle).collect();
    let faces: Vec<f64> = middle.iter().map(|&i| signs[i].face).collect();
    facing(&faces).map(|k| middle[k]).collect()
}

/// Which of some figures seen from the front or back show a face no less than any other, in their order.
pub(crate) fn facing(faces: &[f64]) -> impl Iterator<Item = usize> + '_ {
    let most = faces.iter().copied().fold(0.0, f64::max);
    (0..faces.len()).filter(move |&k| faces[k] > most - SAME_FACE)
}

/// Name and facing of each figure. Where no face tells front and back apart, the first from the left is the front, the
/// trade's usual order (common practice, no source).
pub fn name(signs: &[Signs]) -> Vec<(String, Facing)> {
    let shows = shows(signs);
    let face = fronts(signs, &shows).first().copied();
    let plain = signs.iter().enumerate().map(|(i, s)| {
        let aside = if s.toes < 0.0 { Facing::Left } else { Facing::Right };
        match shows[i] {
            Shows::Middle if Some(i) == face => ("front", Facing::Viewer),
            Shows::Middle => ("back", Facing::Away),
            Shows::Side => ("side", aside),
            Shows::Oblique => ("three-quarter", aside),
        }
    });
    number(&plain.collect::<Vec<_>>())
}

/// What a name that may carry a number stands for: `side` for `side-2`.
pub fn kind(name: &str) -> &str {
    match name.rsplit_once('-') {
        Some((kind, number)) if number.bytes().all(|b| b.is_ascii_digit()) => kind,
        _ => name,
    }
}

/// Gives further views of a name their number.
pub fn number(plain: &[(&str, Facing)]) -> Vec<(String, Facing)> {
    let mut out: Vec<(String, Facing)> = Vec::with_capacity(plain.len());
    for (i, (name, facing)) in plain.iter().enumerate() {
        let before = plain[..i].iter().filter(|(n, _)| n == name).count();
        let name = if before == 0 {
            (*name).to_string()
        } else {
            format!("{name}-{}", before + 1)
        };
        out.push((name, *facing));
    }
    out
}

/// Rows over the outline's height, from the top down.
fn rows(outline: &Outline<Level>) -> Option<(RowSpans, f64)> {
    let b = outline.bounds()?;
    let ys: Vec<f64> = (0..ROWS)
        .map(|i| b.y0 + (i as f64 + 0.5) / ROWS as f64 * b.height())
        .collect();
    Some((outline.row_spans(&ys), b.height()))
}

/// Overlap with its own mirror image about the best axis, and where the toes point.
pub fn signs(outline: &Outline<Level>, face: f64) -> Signs {
    let Some((rows, height)) = rows(outline) else {
        return Signs {
            symmetry: 0.0,
            toes: 0.0,
            face,
            width: 0.0,
        };
    };
    let symmetry = symmetry(&rows, height, ASIDE);
    let from_ground = |share: f64| ((1.0 - share) * ROWS as f64) as usize;
    let mean = |range: std::ops::Range<usize>, side: fn(&crate::profile::Span) -> f64| {
        let v: Vec<f64> = range.filter_map(|i| rows.outer(i)).map(|s| side(&s)).collect();
        if v.is_empty() {
            0.0
        } else {
            v.iter().sum::<f64>() / v.len() as f64
        }
    };
    let (feet, shins) = (from_ground(FEET)..ROWS, from_ground(0.2)..from_ground(0.12));
    let right = mean(feet.clone(), |s| s.x1) - mean(shins.clone(), |s| s.x1);
    let left = mean(shins, |s| s.x0) - mean(feet, |s| s.x0);
    Signs {
        symmetry,
        toes: (right - left) / height,
        face,
        width: outline.bounds().map_or(0.0, |b| b.width() / height),
    }
}

/// Overlap with its own mirror image about the best upright axis, sought `aside.0` steps of `aside.1` heights around the
/// middle of the outer width and, as a staff in one hand moves that, around the middle of what is not thin.
pub(super) fn symmetry(rows: &RowSpans, height: f64, aside: (i32, f64)) -> f64 {
    let thin = THIN * height;
    let outer = (0..rows.len())
        .filter_map(|i| rows.outer(i))
        .map(|s| f64::midpoint(s.x0, s.x1));
    let thick = (0..rows.len()).filter_map(|i| {
        let thick = || rows.row(i).iter().filter(|s| s.width() >= thin);
        Some(f64::midpoint(thick().next()?.x0, thick().next_back()?.x1))
    });
    let median = |mut v: Vec<f64>| {
        v.sort_by(f64::total_cmp);
        v.get(v.len() / 2).copied()
    };
    let [outer, thick] = [median(outer.collect()), median(thick.collect())];
    let around = |middle: f64| (-aside.0..=aside.0).map(move |k| middle + f64::from(k) * aside.1 * height);
    outer
        .into_iter()
        .chain(thick)
        .flat_map(around)
        .map(|axis| mirrored_overlap(rows, axis, thin))
        .fold(0.0, f64::max)
}

/// Overlap about one axis. What is thinner than `thin` and meets nothing on the other side is left out: it is carried.
fn mirrored_overlap(rows: &RowSpans, axis: f64, thin: f64) -> f64 {
    let (mut both, mut either) = (0.0, 0.0);
    for i in 0..rows.len() {
        let row = rows.row(i);
        let mut solid = 0.0;
        let mut common = 0.0;
        for a in row {
            let own: f64 = row
                .iter()
                .map(|b| (a.x1.min(2.0 * axis - b.x0) - a.x0.max(2.0 * axis - b.x1)).max(0.0))
                .sum();
            if own > 0.0 || a.width() >= thin {
                solid += a.width();
            }
            common += own;
        }
        both += common;
        either += 2.0 * solid - common;
    }
    if either > 0.0 { both / either } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sign(symmetry: f64, width: f64, face: f64, toes: f64) -> Signs {
        Signs {
            symmetry,
            toes,
            face,
            width,
        }
    }

    #[test]
    fn five_views_are_told_by_symmetry_width_face_and_toes() {
        let named = name(&[
            sign(0.97, 0.95, 0.0, 0.0),
            sign(0.80, 0.27, 0.01, -0.02),
            sign(0.71, 0.68, 0.02, 0.03),
            sign(0.96, 0.96, 0.02, 0.0),
            sign(0.81, 0.26, 0.01, 0.02),
        ]);
        let names: Vec<&str> = named.iter().map(|n| n.0.as_str()).collect();
        assert_eq!(names, ["back", "side", "three-quarter", "front", "side-2"]);
        assert_eq!((named[1].1, named[4].1), (Facing::Left, Facing::Right));
    }

    #[test]
    fn without_a_face_the_first_from_the_left_is_the_front() {
        let named = name(&[
            sign(0.97, 0.95, 0.0, 0.0),
            sign(0.80, 0.27, 0.0, 0.02),
            sign(0.97, 0.95, 0.0002, 0.0),
        ]);
        let names: Vec<&str> = named.iter().map(|n| n.0.as_str()).collect();
        assert_eq!(names, ["front", "side", "back"]);
    }

    #[test]
    fn a_symmetric_figure_that_is_much_narrower_is_a_side_view() {
        let named = name(&[
            sign(0.93, 0.64, 0.02, 0.0),
            sign(0.90, 0.23, 0.0, 0.02),
            sign(0.92, 0.64, 0.0, 0.0),
        ]);
        let names: Vec<&str> = named.iter().map(|n| n.0.as_str()).collect();
        assert_eq!(names, ["front", "side", "back"]);
    }
}
