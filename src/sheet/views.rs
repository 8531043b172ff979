//! What the drawn views are, as far as the drawing alone tells: by symmetry, width, feet and face. Captions are
//! never read.
//!
//! A front or back view is its own mirror image, a side view is not; of two such views the one with more drawn
//! inside its head shows the face. A side view faces the way its toes point. With a mesh at hand the comparison
//! with its silhouettes decides instead (see [`crate::place`]).

use serde::Serialize;

use crate::profile::{Outline, RowSpans};
use crate::space::Level;

/// A figure overlaps its mirror image by at least this much less than the most symmetric one and still counts as
/// seen from the front or back. A pose that is the same in both views differs by a hand's jitter only.
const SYMMETRY_SLACK: f64 = 0.06;
/// Rows that a figure is looked at in.
const ROWS: usize = 240;
/// Share of the height from the ground that the feet take.
const FEET: f64 = 0.05;

/// Where a drawn figure looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
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
}

/// Name and facing of each figure.
pub fn name(signs: &[Signs]) -> Vec<(String, Facing)> {
    let best = signs.iter().map(|s| s.symmetry).fold(0.0, f64::max);
    let frontal: Vec<bool> = signs
        .iter()
        .map(|s| s.symmetry >= best - SYMMETRY_SLACK)
        .collect();
    let face = (0..signs.len())
        .filter(|&i| frontal[i])
        .max_by(|&a, &b| signs[a].face.total_cmp(&signs[b].face));
    let plain = signs.iter().enumerate().map(|(i, s)| {
        if Some(i) == face {
            ("front", Facing::Viewer)
        } else if frontal[i] {
            ("back", Facing::Away)
        } else {
            ("side", if s.toes < 0.0 { Facing::Left } else { Facing::Right })
        }
    });
    number(&plain.collect::<Vec<_>>())
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
        };
    };
    let middles: Vec<f64> = (0..rows.len())
        .filter_map(|i| rows.outer(i))
        .map(|s| (s.x0 + s.x1) / 2.0)
        .collect();
    let mut sorted = middles;
    sorted.sort_by(f64::total_cmp);
    let axis = sorted.get(sorted.len() / 2).copied().unwrap_or(0.0);
    let symmetry = (-8..=8)
        .map(|k| mirrored_overlap(&rows, axis + f64::from(k) * 0.004 * height))
        .fold(0.0, f64::max);
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
    }
}

fn mirrored_overlap(rows: &RowSpans, axis: f64) -> f64 {
    let (mut both, mut either) = (0.0, 0.0);
    for i in 0..rows.len() {
        let row = rows.row(i);
        let solid: f64 = row.iter().map(crate::profile::Span::width).sum();
        let common: f64 = row
            .iter()
            .flat_map(|a| row.iter().map(move |b| (a, b)))
            .map(|(a, b)| (a.x1.min(2.0 * axis - b.x0) - a.x0.max(2.0 * axis - b.x1)).max(0.0))
            .sum();
        both += common;
        either += 2.0 * solid - common;
    }
    if either > 0.0 { both / either } else { 0.0 }
}
