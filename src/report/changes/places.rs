//! Which stretches of the mesh's edges moved towards the drawing or away from it.

use serde::Serialize;

use super::distances::Off;
use super::outcome::{Cut, Seen};
use super::{How, Scale, ViewChange};
use crate::compare::wording::edges;
use crate::report::model::Facing;

/// A break between two stretches of one kind is passed over up to this share of the height: noise of an outline.
const BREAK: f64 = 0.01;
/// Shorter stretches are none, share of the height: a single row says nothing.
const LEAST: f64 = 0.005;
/// Left and right are told as one where they share so much of the longer one's height: a mirrored change.
const TOGETHER: f64 = 0.6;

/// Which edge of the mesh.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Edge {
    /// Outermost on the left as seen.
    Left,
    /// Outermost on the right as seen.
    Right,
    /// Both of these.
    Both,
    /// Along a gap.
    Inner,
}

/// A stretch of an edge that moved.
#[derive(Debug, Clone, Serialize)]
pub struct PlaceChange {
    /// [`How::Better`] or [`How::Worse`].
    pub how: How,
    /// The view's name.
    pub view: String,
    /// Which edge.
    pub edge: Edge,
    /// Lower end.
    pub y_from: f64,
    /// Upper end.
    pub y_to: f64,
    /// Where it moved most.
    pub at_y: f64,
    /// How far the edge was off there; `None` where there was none.
    pub distance_was: Option<f64>,
    /// How far it is off there now; `None` where there is none.
    pub distance_now: Option<f64>,
    /// It was, or is, outside tolerance somewhere.
    pub outside: bool,
    /// In words, without the view and the heights.
    pub text: String,
}

impl PlaceChange {
    /// By how much it moved.
    pub fn change(&self) -> f64 {
        (self.distance_now.unwrap_or(0.0) - self.distance_was.unwrap_or(0.0)).abs()
    }
}

/// A row of the later view with what belongs to it in the earlier one; `None` where only one of the two has the row.
pub(super) struct Moved {
    /// Later height.
    pub(super) y: f64,
    /// Row of the later view.
    now: Option<usize>,
    pub(super) off_was: Off,
    pub(super) off_now: Off,
}

/// The same view in both checks.
pub(super) struct Pair<'a> {
    pub(super) was: (&'a Seen, &'a [Off]),
    pub(super) now: (&'a Seen, &'a [Off]),
    pub(super) facing: Facing,
    pub(super) unit: &'a str,
    pub(super) scale: Scale,
}

impl Pair<'_> {
    /// All rows of both, from the top down.
    pub(super) fn rows(&self) -> Vec<Moved> {
        let (was, now) = (&self.was.0.rows, &self.now.0.rows);
        let step = |rows: &[Cut]| match rows {
            [first, .., last] => (first.y - last.y).abs() / (rows.len() - 1) as f64,
            _ => 0.0,
        };
        // A row belongs to the nearest one of the other check, unless that ends before it.
        let near = 0.75 * step(now).max(step(was) * self.scale.units);
        let heights: Vec<f64> = was.iter().map(|r| self.scale.y(r.y)).collect();
        let mut out: Vec<Moved> = Vec::with_capacity(now.len());
        let mut used = vec![false; was.len()];
        for (i, row) in now.iter().enumerate() {
            let below = heights.partition_point(|y| *y > row.y);
            let nearest = [below.checked_sub(1), Some(below)]
                .into_iter()
                .flatten()
                .filter(|k| heights.get(*k).is_some_and(|y| (y - row.y).abs() <= near))
                .min_by(|a, b| {
                    let apart = |k: &usize| (heights[*k] - row.y).abs();
                    apart(a).total_cmp(&apart(b))
                });
            if let Some(k) = nearest {
                used[k] = true;
            }
            out.push(Moved {
                y: row.y,
                now: Some(i),
                off_was: nearest.map_or_else(Off::default, |k| self.scaled(k)),
                off_now: self.now.1[i],
            });
        }
        // What only the earlier check shows: a crown that stood higher.
        let (top, low) = (now.first().map(|r| r.y), now.last().map(|r| r.y));
        let beyond = |y: f64| top.is_none_or(|t| y > t + near) || low.is_none_or(|l| y < l - near);
        out.extend(
            (0..was.len())
                .filter(|k| !used[*k] && beyond(heights[*k]))
                .map(|k| Moved {
                    y: heights[k],
                    now: None,
                    off_was: self.scaled(k),
                    off_now: Off::default(),
                }),
        );
        out.sort_by(|a, b| b.y.total_cmp(&a.y));
        out
    }

    fn scaled(&self, k: usize) -> Off {
        Off {
            edges: self.was.1[k].edges.map(|e| e.map(|v| v * self.scale.units)),
        }
    }

    /// The view as a whole.
    pub(super) fn view(&self, rows: &[Moved]) -> ViewChange {
        let mut counts = [0; 3];
        for row in rows {
            let worst = |off: &Off| off.edges.iter().flatten().fold(0.0, |a: f64, b| a.max(*b));
            counts[match self.scale.how(worst(&row.off_was), worst(&row.off_now)) {
                How::Better => 0,
                How::Worse => 1,
                _ => 2,
            }] += 1;
        }
        let (was, now) = (&self.was.0.summary, &self.now.0.summary);
        let outside =
            |s: &super::outcome::Figures| 100.0 * s.rows_outside as f64 / s.rows_total.max(1) as f64;
        ViewChange {
            view: self.now.0.name.clone(),
            mean_was: Some(was.contour_mean * self.scale.units),
            mean_now: Some(now.contour_mean),
            outside_pct_was: Some(outside(was)),
            outside_pct_now: Some(outside(now)),
            rows_better: counts[0],
            rows_worse: counts[1],
            rows_stayed: counts[2],
        }
    }

    /// The stretches that moved.
    pub(super) fn places(&self, rows: &[Moved]) -> Vec<PlaceChange> {
        let mut sides: [Vec<(How, std::ops::Range<usize>)>; 3] = Default::default();
        for (edge, out) in sides.iter_mut().enumerate() {
            *out = self.runs(rows, edge);
        }
        let [mut left, mut right, inner] = sides;
        let mut out = Vec::new();
        left.retain(|(how, a)| {
            let alike = |(h, b): &(How, std::ops::Range<usize>)| {
                let shared = a.end.min(b.end).saturating_sub(a.start.max(b.start)) as f64;
                h == how && shared >= TOGETHER * a.len().max(b.len()) as f64
            };
            let Some(k) = right.iter().position(alike) else {
                return true;
            };
            let (_, b) = right.remove(k);
            let both = a.start.min(b.start)..a.end.max(b.end);
            out.push(self.place(rows, *how, Edge::Both, both));
            false
        });
        for (edge, runs) in [(Edge::Left, left), (Edge::Right, right), (Edge::Inner, inner)] {
            out.extend(runs.into_iter().map(|(how, r)| self.place(rows, how, edge, r)));
        }
        out
    }

    /// Runs of rows whose edge fares alike.
    fn runs(&self, rows: &[Moved], edge: usize) -> Vec<(How, std::ops::Range<usize>)> {
        let mut runs: Vec<(How, std::ops::Range<usize>)> = Vec::new();
        for (i, row) in rows.iter().enumerate() {
            let (was, now) = (row.off_was.edges[edge], row.off_now.edges[edge]);
            let how = self.scale.how(was.unwrap_or(0.0), now.unwrap_or(0.0));
            if how == How::Stayed {
                continue;
            }
            match runs.last_mut() {
                Some((h, r)) if *h == how && rows[r.end - 1].y - row.y <= BREAK * self.scale.height => {
                    r.end = i + 1;
                }
                _ => runs.push((how, i..i + 1)),
            }
        }
        runs.retain(|(_, r)| rows[r.start].y - rows[r.end - 1].y >= LEAST * self.scale.height);
        runs
    }

    fn place(&self, rows: &[Moved], how: How, edge: Edge, run: std::ops::Range<usize>) -> PlaceChange {
        let of: &[usize] = match edge {
            Edge::Left => &[0],
            Edge::Right => &[1],
            Edge::Both => &[0, 1],
            Edge::Inner => &[2],
        };
        let change = |row: &Moved, e: usize| {
            let [was, now] = [row.off_was, row.off_now].map(|o| o.edges[e].unwrap_or(0.0));
            if how == How::Better { was - now } else { now - was }
        };
        let all = || run.clone().flat_map(|i| of.iter().map(move |e| (i, *e)));
        let (at, e) = all()
            .max_by(|a, b| change(&rows[a.0], a.1).total_cmp(&change(&rows[b.0], b.1)))
            .unwrap_or((run.start, of[0]));
        let row = &rows[at];
        let (was, now) = (row.off_was.edges[e], row.off_now.edges[e]);
        let outside = all().any(|(i, e)| {
            let most = |o: &Off| o.edges[e].unwrap_or(0.0);
            most(&rows[i].off_was).max(most(&rows[i].off_now)) > self.scale.tolerance
        });
        let (l, r) = edges(self.facing);
        let edge_words = match edge {
            Edge::Left => format!("{l} edge"),
            Edge::Right => format!("{r} edge"),
            Edge::Both => format!("{l} and {r} edge"),
            Edge::Inner => "inner edge".to_string(),
        };
        let part = row
            .now
            .and_then(|i| part(&self.now.0.rows[i], edge))
            .map_or_else(String::new, |p| format!("{p}, "));
        let off = |v: Option<f64>| v.map_or("not there".to_string(), |v| self.scale.say(v));
        let unit = if self.unit.is_empty() {
            String::new()
        } else {
            format!(" {}", self.unit)
        };
        PlaceChange {
            how,
            view: self.now.0.name.clone(),
            edge,
            y_from: rows[run.end - 1].y,
            y_to: rows[run.start].y,
            at_y: row.y,
            distance_was: was,
            distance_now: now,
            outside,
            text: format!("{part}{edge_words}: {} → {}{unit} off", off(was), off(now)),
        }
    }
}

/// The part of the body at an edge of a row.
fn part(row: &Cut, edge: Edge) -> Option<&str> {
    let mut named = row.spans.iter();
    match edge {
        Edge::Left => named.find(|s| s.drawing == 0),
        Edge::Right => named.find(|s| s.drawing + 1 == row.drawing.len()),
        // Both ends of one part, or of a pair of them.
        Edge::Both | Edge::Inner => named
            .next()
            .filter(|s| row.spans.iter().all(|o| o.part == s.part)),
    }
    .map(|s| s.part.as_str())
}

/// A view that one of the two checks does not show; `has` is 0 for the earlier one, 1 for the later one.
pub(super) fn alone(view: &Seen, has: usize, scale: &Scale) -> ViewChange {
    let s = &view.summary;
    let pct = 100.0 * s.rows_outside as f64 / s.rows_total.max(1) as f64;
    let earlier = has == 0;
    ViewChange {
        view: view.name.clone(),
        mean_was: earlier.then_some(s.contour_mean * scale.units),
        mean_now: (!earlier).then_some(s.contour_mean),
        outside_pct_was: earlier.then_some(pct),
        outside_pct_now: (!earlier).then_some(pct),
        rows_better: 0,
        rows_worse: 0,
        rows_stayed: 0,
    }
}
