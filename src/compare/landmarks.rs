//! Places of the body that a front silhouette shows: crown, neck, armpit, crotch, ground.
//!
//! Read off the rows of one figure. What cannot be seen is left out, never guessed.

use crate::profile::Span;
use crate::report::model::Row;

/// A named height, in units.
#[derive(Debug, Clone, PartialEq)]
pub struct Landmark {
    /// Its name in a modeller's words.
    pub name: &'static str,
    /// Its height.
    pub y: f64,
}

/// A neck is narrower than this share of the head above it.
const NECK_SHARE: f64 = 0.85;
/// And keeps narrower for this share of the figure's height; less is a crease.
const NECK_TALL: f64 = 0.004;
/// The arm's lower edge is where the outer width falls by this share of the height within a fiftieth of it.
const ARM_STEP: f64 = 0.08;

/// The gap beside the body goes on for this share of the height.
const ARMPIT_GAP: f64 = 0.04;
/// An armpit lies below this share of the height, also in a figure of three heads.
const HIGHEST_ARMPIT: f64 = 0.8;

/// The landmarks of a drawn front view, from the ground up.
pub fn find(rows: &[Row]) -> Vec<Landmark> {
    let rows: Vec<(f64, Vec<Span>)> = rows
        .iter()
        .filter(|r| !r.drawing.is_empty())
        .map(|r| {
            (
                r.y,
                r.drawing.iter().map(|s| Span { x0: s[0], x1: s[1] }).collect(),
            )
        })
        .collect();
    let (Some(first), Some(last)) = (rows.first(), rows.last()) else {
        return Vec::new();
    };
    let (crown, ground) = (first.0, last.0);
    let height = crown - ground;
    let share = |y: f64| (y - ground) / height;
    let outer = |s: &[Span]| s.last().map_or(0.0, |b| b.x1) - s.first().map_or(0.0, |a| a.x0);
    let mut middles: Vec<f64> = rows
        .iter()
        .map(|(_, s)| f64::midpoint(s[0].x0, s[s.len() - 1].x1))
        .collect();
    middles.sort_by(f64::total_cmp);
    let axis = middles[middles.len() / 2];

    let mut out = vec![Landmark {
        name: "ground",
        y: ground,
    }];
    // Crotch: from the shins up, the row where the gap between the legs ends.
    let parted = |s: &[Span]| s.windows(2).any(|w| w[0].x1 <= axis && axis <= w[1].x0);
    let legs: Vec<&(f64, Vec<Span>)> = rows
        .iter()
        .rev()
        .skip_while(|r| share(r.0) < 0.12)
        .take_while(|r| parted(&r.1))
        .collect();
    if let Some(top) = legs.last().filter(|r| share(r.0) > 0.15 && share(r.0) < 0.7) {
        out.push(Landmark {
            name: "crotch",
            y: top.0,
        });
    }
    let above = out[out.len() - 1].y;
    // Armpit: the highest gap beside the body, or the step below an outstretched arm.
    // A gap beside an ear ends at once; the one beside the body goes on downwards.
    let lasting = ((ARMPIT_GAP * rows.len() as f64) as usize).max(1);
    let gap = |r: &(f64, Vec<Span>)| r.0 > above && r.1.len() > 1 && !parted(&r.1);
    let beside = rows
        .windows(lasting)
        .find(|w| share(w[0].0) < HIGHEST_ARMPIT && w.iter().all(gap))
        .map(|w| w[0].0);
    let reach = (rows.len() / 50).max(1);
    let step = rows
        .windows(reach + 1)
        .find(|w| {
            let y = w[reach].0;
            y > above
                && share(y) < HIGHEST_ARMPIT
                && outer(&w[0].1) - outer(&w[reach].1) > ARM_STEP * height
                && share(y) > 0.4
        })
        .map(|w| w[reach].0);
    let armpit = beside
        .into_iter()
        .chain(step)
        .fold(None, |m: Option<f64>, y| Some(m.map_or(y, |m| m.max(y))));
    if let Some(y) = armpit {
        out.push(Landmark { name: "armpit", y });
    }
    // Neck: the lowest place above the shoulders that is narrower than the head above it and than what is below it; a
    // knot of hair has one too, higher up.
    let floor = armpit.unwrap_or(ground + 0.6 * height);
    let widths: Vec<(f64, f64)> = rows
        .iter()
        .take_while(|r| r.0 > floor)
        .map(|r| (r.0, outer(&r.1)))
        .collect();
    if let Some(y) = neck(&widths, NECK_TALL * height) {
        out.push(Landmark { name: "neck", y });
    }
    out.push(Landmark {
        name: "crown",
        y: crown,
    });
    out
}

/// The height of the neck among heights and outer widths from the crown down to the shoulders; `tall` is the height of the
/// smallest dent that can be one.
fn neck(widths: &[(f64, f64)], tall: f64) -> Option<f64> {
    // The widest from the crown down to each row, and from each row down to the shoulders.
    let running = |w: &mut f64, v: &f64| {
        *w = w.max(*v);
        Some(*w)
    };
    let only: Vec<f64> = widths.iter().map(|w| w.1).collect();
    let above: Vec<f64> = only.iter().scan(0.0, running).collect();
    let mut below: Vec<f64> = only.iter().rev().scan(0.0, running).collect();
    below.reverse();
    let dented = |i: usize| only[i] < NECK_SHARE * above[i].min(below[i]);
    let mut end = only.len();
    while let Some(last) = (0..end).rev().find(|i| dented(*i)) {
        let first = (0..last).rev().find(|i| !dented(*i)).map_or(0, |i| i + 1);
        if widths[first].0 - widths[last].0 >= tall {
            return (first..=last)
                .min_by(|a, b| only[*a].total_cmp(&only[*b]))
                .map(|i| widths[i].0);
        }
        end = first;
    }
    None
}

/// The landmarks next below and next above a height.
pub fn between(landmarks: &[Landmark], y: f64) -> Vec<String> {
    let below = landmarks.iter().rev().find(|l| l.y <= y);
    let above = landmarks.iter().find(|l| l.y > y);
    match (below, above) {
        (Some(b), Some(a)) => vec![b.name.to_string(), a.name.to_string()],
        _ => Vec::new(),
    }
}
