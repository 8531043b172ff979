//! Which findings got better or worse, stayed, are gone or new.

use serde::Serialize;

use super::How;
use super::outcome::Place;
use super::places::{Moved, Pair};
use crate::report::model::Kind;

/// Two findings are one matter where they share so much of the shorter one's height.
const SHARED: f64 = 0.3;

/// A finding then and now.
#[derive(Debug, Clone, Serialize)]
pub struct FindingChange {
    /// How it fares.
    pub how: How,
    /// The view's name.
    pub view: String,
    /// What kind it is, or was where it is gone.
    pub kind: Kind,
    /// What kind it was, where it is another one now.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kind_was: Option<Kind>,
    /// Its number in the later check; `None` where it is gone.
    pub number: Option<usize>,
    /// Its number in the earlier check; `None` where it is new.
    pub number_was: Option<usize>,
    /// Lower end, later units.
    pub y_from: f64,
    /// Upper end.
    pub y_to: f64,
    /// How far the mesh was off there at most; `None` where it is new.
    pub distance_was: Option<f64>,
    /// How far it is off there now; `None` where it is gone.
    pub distance_now: Option<f64>,
    /// Parts of the body where it lies.
    pub parts: Vec<String>,
    /// It does not count for the verdict.
    pub excused: bool,
    /// In words.
    pub text: String,
}

impl FindingChange {
    /// By how much it changed.
    pub fn change(&self) -> f64 {
        (self.distance_now.unwrap_or(0.0) - self.distance_was.unwrap_or(0.0)).abs()
    }
}

/// Kinds that can turn into each other: what the outer edges do, and what gaps do.
fn is_gap(kind: Kind) -> bool {
    matches!(kind, Kind::GapClosed | Kind::GapOpen)
}

/// A finding's words up to where it says the place.
fn head(text: &str) -> &str {
    [" between ", " (", ";"]
        .iter()
        .fold(text, |t, at| t.split_once(at).map_or(t, |p| p.0))
}

impl Pair<'_> {
    /// All findings of both checks. One that fell in two is told for each of its parts, and one of two that grew together
    /// belongs to the one that it shares more with.
    pub(super) fn findings(&self, rows: &[Moved]) -> Vec<FindingChange> {
        let (was, now) = (&self.was.0.findings, &self.now.0.findings);
        let shared = |w: &Place, n: &Place| {
            let (from, to) = (self.scale.y(w.y_from), self.scale.y(w.y_to));
            let shared = to.min(n.y_to) - from.max(n.y_from);
            let shorter = (to - from).min(n.y_to - n.y_from).max(f64::MIN_POSITIVE);
            (is_gap(w.kind) == is_gap(n.kind) && shared >= SHARED * shorter).then_some(shared)
        };
        let mut out = Vec::with_capacity(now.len());
        for n in now {
            let same = was
                .iter()
                .filter_map(|w| Some((w, shared(w, n)?)))
                .max_by(|a, b| a.1.total_cmp(&b.1))
                .map(|(w, _)| w);
            out.push(match same {
                Some(w) => self.both(w, n, rows),
                None => self.one(n, How::New),
            });
        }
        let gone = |w: &&Place| now.iter().all(|n| shared(w, n).is_none());
        out.extend(was.iter().filter(gone).map(|w| self.one(w, How::Gone)));
        out
    }

    fn both(&self, w: &Place, n: &Place, rows: &[Moved]) -> FindingChange {
        let worst_was = self.scale.y(w.worst_y);
        // The earlier one's worst place belongs to another part of it that is told by itself.
        let elsewhere =
            !(n.y_from - self.scale.tolerance..=n.y_to + self.scale.tolerance).contains(&worst_was);
        let (then, after) = if elsewhere {
            self.farthest(rows, n)
        } else {
            (w.worst_distance * self.scale.units, n.worst_distance)
        };
        let how = self.scale.how(then, after);
        let turned = (w.kind != n.kind).then_some(w.kind);
        FindingChange {
            how,
            kind: n.kind,
            kind_was: turned,
            number: Some(n.number),
            number_was: Some(w.number),
            distance_was: Some(then),
            distance_now: Some(after),
            text: format!(
                "{}; {} off, {} before",
                head(&n.text),
                self.scale.say(after),
                self.scale.say(then)
            ),
            ..self.of(n)
        }
    }

    /// How far the edges that a finding is about were and are off within its rows.
    fn farthest(&self, rows: &[Moved], n: &Place) -> (f64, f64) {
        let edges = if is_gap(n.kind) { 2..3 } else { 0..2 };
        rows.iter()
            .filter(|r| (n.y_from..=n.y_to).contains(&r.y))
            .flat_map(|r| {
                edges
                    .clone()
                    .map(move |e| (r.off_was.edges[e], r.off_now.edges[e]))
            })
            .fold((0.0, 0.0), |(a, b), (was, now)| {
                (f64::max(a, was.unwrap_or(0.0)), f64::max(b, now.unwrap_or(0.0)))
            })
    }

    fn one(&self, f: &Place, how: How) -> FindingChange {
        let gone = how == How::Gone;
        let units = if gone { self.scale.units } else { 1.0 };
        let off = f.worst_distance * units;
        FindingChange {
            how,
            number: (!gone).then_some(f.number),
            number_was: gone.then_some(f.number),
            distance_was: gone.then_some(off),
            distance_now: (!gone).then_some(off),
            y_from: if gone { self.scale.y(f.y_from) } else { f.y_from },
            y_to: if gone { self.scale.y(f.y_to) } else { f.y_to },
            text: if gone {
                format!("{}; within tolerance now", head(&f.text))
            } else {
                format!(
                    "{}; {} off, within tolerance before",
                    head(&f.text),
                    self.scale.say(off)
                )
            },
            ..self.of(f)
        }
    }

    fn of(&self, f: &Place) -> FindingChange {
        FindingChange {
            how: How::Stayed,
            view: self.now.0.name.clone(),
            kind: f.kind,
            kind_was: None,
            number: None,
            number_was: None,
            y_from: f.y_from,
            y_to: f.y_to,
            distance_was: None,
            distance_now: None,
            parts: f.parts.clone(),
            excused: f.excused,
            text: String::new(),
        }
    }
}
