//! Landmarks that a view from the front or from behind shows.

use super::rows::Rows;
use super::turns::{Turn, turns};
use super::{FLAT, Frame, Landmark, at_turn, ends, height_of, seen, sure};
use crate::profile::Span;
use crate::space::{Point, ViewUnits};

/// A neck is narrower than this share of the head above it.
const NECK_SHARE: f64 = 0.85;
/// And keeps narrower for this share of the figure's height; less is a crease.
const NECK_TALL: f64 = 0.004;
/// The arm's lower edge is where the outer width falls by this share of the height within a fiftieth of it.
const ARM_STEP: f64 = 0.08;
/// The gap beside the body goes on for this share of the height.
const ARMPIT_GAP: f64 = 0.04;
/// An armpit lies between these shares of the height, also in a figure of three heads.
const ARMPIT: [f64; 2] = [0.4, 0.8];
/// Legs are looked at from this share of the height up: below, feet meet.
const ABOVE_FEET: f64 = 0.12;
/// A crotch lies between these.
const CROTCH: [f64; 2] = [0.15, 0.7];
/// Knee and ankle as shares of the crotch's height lie within these; on the mean at 0.6 and 0.083 (Drillis and Contini
/// 1966; ANSUR II 2012 for the crotch).
const KNEE: [f64; 2] = [0.38, 0.78];
const ANKLE: [f64; 2] = [0.03, 0.3];
/// A dent of a limb or of the waist that counts, share of the height.
pub(super) const DENT: f64 = 0.003;
/// A shoulder stands out from the line between neck and arm by this share of the height.
const SHOULDER: f64 = 0.012;
/// Arms whose outer edge is farther out than this share of the height at the armpit do not hang: the outline does not
/// turn at the shoulder.
const HANGING: f64 = 0.2;

/// Gaps narrower than this share of the height are none: between two drawn lines they fill with ink.
const GAP: f64 = 0.006;

/// Whether the row parts at the axis by at least some width.
fn parted(spans: &[Span], axis: f64, least: f64) -> bool {
    spans
        .windows(2)
        .any(|w| w[0].x1 <= axis && axis <= w[1].x0 && w[1].x0 - w[0].x1 >= least)
}

/// Crown, neck, shoulder, armpit, crotch, knee, ankle, ground.
pub(super) fn landmarks(rows: &Rows, frame: &Frame) -> Vec<Landmark> {
    let axis = rows.axis();
    let n = rows.len();
    let height = frame.height;
    let share = |i: usize| frame.share(rows.y(i));
    let mut out = ends(rows, frame);
    // Crotch: from the shins up, the row where the gap between the legs ends.
    let crotch = (0..n)
        .rev()
        .skip_while(|&i| share(i) < ABOVE_FEET)
        .take_while(|&i| parted(rows.spans(i), axis, GAP * height))
        .last()
        .filter(|&i| (CROTCH[0]..CROTCH[1]).contains(&share(i)));
    if let Some(i) = crotch {
        out.push(seen("crotch", rows.y(i) + rows.step() / 2.0, 0.95));
        out.extend(of_legs(rows, frame, rows.y(i), |spans: &[Span]| {
            spans.iter().map(Span::width).sum::<f64>() / 2.0
        }));
    }
    let above = crotch.map_or(rows.bottom(), |i| rows.y(i));
    let armpit = armpit(rows, frame, above, axis);
    if let Some((y, confidence)) = armpit {
        out.push(seen("armpit", y, confidence));
    }
    let floor = armpit.map_or(frame.ground + 0.6 * height, |a| a.0);
    if let Some(i) = neck(rows, floor, NECK_TALL * height) {
        let widths: Vec<f64> = (0..n).map(|i| rows.outer(i)).collect();
        out.push(at_turn("neck", (&widths, |i| rows.y(i)), i, FLAT * height, 0.9));
        if let Some((armpit, _)) = armpit {
            out.extend(shoulder(rows, frame, rows.y(i), armpit));
        }
    }
    out
}

/// The highest gap beside the body, or the step below an outstretched arm; with its confidence.
fn armpit(rows: &Rows, frame: &Frame, above: f64, axis: f64) -> Option<(f64, f64)> {
    let n = rows.len();
    let share = |i: usize| frame.share(rows.y(i));
    // A gap beside an ear ends at once; the one beside the body goes on downwards.
    let lasting = ((ARMPIT_GAP * frame.height / rows.step()) as usize).max(1);
    let wide = |i: usize| {
        let gaps = rows.spans(i).windows(2).map(|w| w[1].x0 - w[0].x1);
        gaps.fold(0.0, f64::max) >= GAP * frame.height
    };
    let gap = |i: usize| rows.y(i) > above && wide(i) && !parted(rows.spans(i), axis, 0.0);
    let beside = (0..n.saturating_sub(lasting))
        .filter(|&i| share(i) < ARMPIT[1])
        .find(|&i| (i..i + lasting).all(gap))
        .map(|i| (rows.y(i) + rows.step() / 2.0, 0.9));
    let reach = ((frame.height / 50.0 / rows.step()) as usize).max(1);
    let step = (reach..n)
        .filter(|&i| rows.y(i) > above && (ARMPIT[0]..ARMPIT[1]).contains(&share(i)))
        .find(|&i| rows.outer(i - reach) - rows.outer(i) > ARM_STEP * frame.height)
        .map(|i| (rows.y(i), 0.8));
    beside.into_iter().chain(step).max_by(|a, b| a.0.total_cmp(&b.0))
}

/// The row of the neck: the lowest place above the shoulders that is narrower than the head above it and than what is
/// below it; a knot of hair has one too, higher up. `tall` is the height of the smallest dent that can be one.
fn neck(rows: &Rows, floor: f64, tall: f64) -> Option<usize> {
    let widths: Vec<f64> = (0..rows.len())
        .take_while(|&i| rows.y(i) > floor)
        .map(|i| rows.outer(i))
        .collect();
    // The widest from the crown down to each row, and from each row down to the shoulders.
    let running = |w: &mut f64, v: &f64| {
        *w = w.max(*v);
        Some(*w)
    };
    let above: Vec<f64> = widths.iter().scan(0.0, running).collect();
    let mut below: Vec<f64> = widths.iter().rev().scan(0.0, running).collect();
    below.reverse();
    let dented = |i: usize| widths[i] < NECK_SHARE * above[i].min(below[i]);
    let mut end = widths.len();
    while let Some(last) = (0..end).rev().find(|i| dented(*i)) {
        let first = (0..last).rev().find(|i| !dented(*i)).map_or(0, |i| i + 1);
        if rows.y(first) - rows.y(last) >= tall {
            return (first..=last).min_by(|a, b| widths[*a].total_cmp(&widths[*b]));
        }
        end = first;
    }
    None
}

/// Knee and ankle: where the legs are narrowest within the reach of each. `width` measures a row's legs.
pub(super) fn of_legs(
    rows: &Rows,
    frame: &Frame,
    crotch: f64,
    width: impl Fn(&[Span]) -> f64,
) -> Vec<Landmark> {
    let legs = rows.between(frame.ground, crotch);
    let widths: Vec<f64> = legs.clone().map(|i| width(rows.spans(i))).collect();
    let least = DENT * frame.height;
    let dents = turns(&widths, least);
    let tall = crotch - frame.ground;
    [("knee", KNEE), ("ankle", ANKLE)]
        .into_iter()
        .filter_map(|(name, within)| {
            let dent = dents
                .iter()
                .filter(|t| !t.high)
                .filter(|t| within[0] <= (rows.y(legs.start + t.at) - frame.ground) / tall)
                .filter(|t| (rows.y(legs.start + t.at) - frame.ground) / tall <= within[1])
                .max_by(|a, b| a.by.total_cmp(&b.by))?;
            let y_of = |i: usize| rows.y(legs.start + i);
            Some(at_turn(
                name,
                (&widths, y_of),
                dent.at,
                FLAT * frame.height,
                sure(dent.by, least),
            ))
        })
        .collect()
}

/// The shoulder: where the outline turns from the neck's slope down along a hanging arm.
fn shoulder(rows: &Rows, frame: &Frame, neck: f64, armpit: f64) -> Option<Landmark> {
    let range = rows.between(armpit, neck);
    if range.len() < 3 {
        return None;
    }
    let path: Vec<Point<ViewUnits>> = range
        .map(|i| Point::new(rows.outer(i) / 2.0, rows.y(i)))
        .collect();
    let (a, b) = (path[0], path[path.len() - 1]);
    if b.x > HANGING * frame.height {
        return None;
    }
    let long = a.distance(b);
    let off = |p: &Point<ViewUnits>| ((b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x)) / long;
    path.iter()
        .map(|p| (off(p), p.y))
        .max_by(|p, q| p.0.total_cmp(&q.0))
        .filter(|p| p.0 >= SHOULDER * frame.height)
        .map(|p| seen("shoulder", p.1, sure(p.0, SHOULDER * frame.height)))
}

/// Waist and hip: where the trunk is narrowest and widest between armpit and crotch, if arms leave both its edges free.
pub(super) fn of_trunk(
    rows: &Rows,
    landmarks: &[Landmark],
    is_trunk: impl Fn(f64, f64) -> bool,
) -> Vec<Landmark> {
    let (Some(armpit), Some(crotch), Some(crown)) = (
        height_of(landmarks, "armpit"),
        height_of(landmarks, "crotch"),
        height_of(landmarks, "crown"),
    ) else {
        return Vec::new();
    };
    let axis = rows.axis();
    let ground = height_of(landmarks, "ground").unwrap_or(0.0);
    let least = DENT * (crown - ground);
    let free: Vec<(f64, f64)> = rows
        .between(crotch, armpit)
        .filter_map(|i| {
            let s = rows.spans(i).iter().find(|s| s.x0 <= axis && axis <= s.x1)?;
            let y = rows.y(i);
            (is_trunk(s.x0, y) && is_trunk(s.x1, y)).then_some((y, s.width()))
        })
        .collect();
    let widths: Vec<f64> = free.iter().map(|f| f.1).collect();
    let found = turns(&widths, least);
    let Some(waist) = found
        .iter()
        .filter(|t| !t.high)
        .min_by(|a, b| widths[a.at].total_cmp(&widths[b.at]))
    else {
        return Vec::new();
    };
    let hip = found
        .iter()
        .filter(|t| t.high && t.at > waist.at)
        .max_by(|a, b| widths[a.at].total_cmp(&widths[b.at]));
    let found = |name, t: &Turn| {
        let flat = FLAT * (crown - ground);
        at_turn(
            name,
            (&widths, |i: usize| free[i].0),
            t.at,
            flat,
            sure(t.by, least),
        )
    };
    let mut out = vec![found("waist", waist)];
    out.extend(hip.map(|h| found("hip", h)));
    out
}
