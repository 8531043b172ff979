//! What a person should look at: the places where a reading had to guess, in words.

use super::edge::Seen;
use super::evidence::{bad, rank, stretches};
use super::holes::{Beside, Enclosed};
use crate::profile::Outline;
use crate::space::{Point, Upright};

/// Disturbed stretches longer than this share of the height are named: a label, not a single letter's stem.
const WORTH_NAMING: f64 = 0.03;
/// At most so many places of one matter are named; the others are counted.
const MOST_NAMED: usize = 3;
/// The outline is called faint where it departs from the paper by less than this share of its median.
const PALE_LINE: f32 = 0.5;
/// A stretch is handed on in pieces of at most this share of the height, so that each is nearly straight.
const PIECE: f64 = 0.02;

/// A closed gap in pixels of the upright picture.
#[derive(Debug, Clone, Copy)]
pub(super) struct Gap {
    pub(super) ends: [[f64; 2]; 2],
}

impl Gap {
    fn length(&self) -> f64 {
        let [a, b] = self.ends;
        (a[0] - b[0]).hypot(a[1] - b[1])
    }
}

/// One line a gap, the widest first, and one for what is left.
pub(super) fn gaps(gaps: &[Gap]) -> Vec<String> {
    let mut widest: Vec<&Gap> = gaps.iter().collect();
    widest.sort_by(|a, b| b.length().total_cmp(&a.length()));
    let mut out: Vec<String> = widest
        .iter()
        .take(MOST_NAMED)
        .map(|g| {
            let [a, b] = g.ends;
            let (x, y) = (f64::midpoint(a[0], b[0]), f64::midpoint(a[1], b[1]));
            let gap = g.length();
            format!("outline open near x {x:.0}, y {y:.0} (gap {gap:.0} px), closed by a straight line")
        })
        .collect();
    if let Some(next) = widest.get(MOST_NAMED) {
        out.push(format!(
            "outline open in {} more places (gaps up to {:.0} px), closed by straight lines",
            widest.len() - MOST_NAMED,
            next.length()
        ));
    }
    out
}

/// Said of views from the front and back that no face tells apart; their outlines mirror each other.
pub(super) const FACELESS: &str =
    "no face tells front and back apart: unless they are named, the first from the left is the front";

/// Why a reading is unsure.
pub(super) fn unsure(why: &[&str]) -> String {
    format!("the reading is unsure: {}", why.join("; "))
}

/// What an enclosed area of the paper's colour was taken for.
pub(super) fn enclosed([x, y]: [f64; 2], beside: Beside, what: Enclosed) -> String {
    let between = match beside {
        Beside::Body => " between a limb and the body",
        Beside::Legs => " between the legs",
        Beside::Elsewhere => "",
    };
    let taken = match what {
        Enclosed::Ground => "background, its border is drawn like the outline",
        Enclosed::PerhapsGround => "background by its place alone",
        _ => "part of the figure, it could be background",
    };
    format!("the enclosed area near x {x:.0}, y {y:.0}{between} is taken as {taken}")
}

/// A stretch of the outline where the line is disturbed or faint.
pub(super) struct Stretch {
    long: f64,
    text: String,
    /// Nearly straight pieces of it, upright pixels.
    pub(super) pieces: Vec<[[f64; 2]; 2]>,
}

/// The stretches where the outline is disturbed or faint, the longest first.
pub(super) fn doubtful(outline: &Outline<Upright>, seen: &[Vec<Seen>], line_px: f64) -> Vec<Stretch> {
    let height = outline.bounds().map_or(1.0, |b| b.height());
    let mut peaks: Vec<f64> = seen.iter().flatten().map(|s| f64::from(s.peak)).collect();
    let usual = rank(&mut peaks, 0.5) as f32;
    let mut found: Vec<Stretch> = Vec::new();
    for (ring, seen) in outline.rings.iter().zip(seen) {
        let n = ring.len();
        for (from, len) in stretches(&seen.iter().map(|s| bad(s, line_px)).collect::<Vec<_>>()) {
            let part = || (0..len).map(|k| (from + k) % n);
            let long: f64 = part().map(|i| ring[i].distance(ring[(i + 1) % n])).sum();
            if long < WORTH_NAMING * height {
                continue;
            }
            let at = ring[(from + len / 2) % n];
            let pale = part().filter(|i| seen[*i].peak < PALE_LINE * usual).count();
            let abuts = part().filter(|i| !seen[*i].clean).count();
            let what = if 2 * pale > len {
                "the outline is faint or missing"
            } else if 2 * abuts > len {
                "a label, stroke or stain touches the outline"
            } else {
                continue;
            };
            found.push(Stretch {
                long,
                text: format!("{what} near x {:.0}, y {:.0}, over {long:.0} px", at.x, at.y),
                pieces: pieces(&part().map(|i| ring[i]).collect::<Vec<_>>(), PIECE * height),
            });
        }
    }
    found.sort_by(|a, b| b.long.total_cmp(&a.long));
    found
}

/// Chords of a chain of points, each at most `longest` along it.
fn pieces(points: &[Point<Upright>], longest: f64) -> Vec<[[f64; 2]; 2]> {
    let mut out = Vec::new();
    let Some(mut from) = points.first().copied() else {
        return out;
    };
    let mut along = 0.0;
    for w in points.windows(2) {
        along += w[0].distance(w[1]);
        if along >= longest {
            out.push([[from.x, from.y], [w[1].x, w[1].y]]);
            (from, along) = (w[1], 0.0);
        }
    }
    let last = points[points.len() - 1];
    if along > 0.0 {
        out.push([[from.x, from.y], [last.x, last.y]]);
    }
    out
}

/// One line a stretch, the longest first.
pub(super) fn stretches_named(found: &[Stretch]) -> Vec<String> {
    let mut out: Vec<String> = found.iter().take(MOST_NAMED).map(|s| s.text.clone()).collect();
    if found.len() > MOST_NAMED {
        out.push(format!(
            "the outline is disturbed or faint in {} more places",
            found.len() - MOST_NAMED
        ));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gaps_are_named_widest_first_and_the_others_counted() {
        let gap = |x: f64, long: f64| Gap {
            ends: [[x, 100.0], [x, 100.0 + long]],
        };
        let all = [
            gap(10.0, 4.0),
            gap(812.0, 25.0),
            gap(30.0, 6.0),
            gap(40.0, 5.0),
            gap(50.0, 3.0),
        ];
        let told = gaps(&all);
        assert_eq!(
            told[0],
            "outline open near x 812, y 112 (gap 25 px), closed by a straight line"
        );
        assert_eq!(told.len(), 4);
        assert_eq!(
            told[3],
            "outline open in 2 more places (gaps up to 4 px), closed by straight lines"
        );
        assert!(gaps(&[]).is_empty());
    }

    #[test]
    fn an_enclosed_area_is_told_with_what_it_lies_between() {
        assert_eq!(
            enclosed([20.0, 30.4], Beside::Body, Enclosed::PerhapsGround),
            "the enclosed area near x 20, y 30 between a limb and the body is taken as background by its place alone"
        );
    }

    /// A square with an undisturbed line of 3 px, but for a third of its upper side.
    #[test]
    fn a_label_and_a_faint_line_are_told_with_their_place() {
        let side = 100usize;
        let ring: Vec<Point<Upright>> = (0..4 * side)
            .map(|i| {
                let k = (i % side) as f64;
                let s = side as f64;
                match i / side {
                    0 => Point::new(k, 0.0),
                    1 => Point::new(s, k),
                    2 => Point::new(s - k, s),
                    _ => Point::new(0.0, s - k),
                }
            })
            .collect();
        let seen = |clean: bool, peak: f32| -> Vec<Seen> {
            (0..4 * side)
                .map(|i| {
                    let calm = !(30..60).contains(&i);
                    Seen {
                        clean: calm || clean,
                        width: (calm || clean).then_some(if calm { 3.0 } else { 9.0 }),
                        peak: if calm { 200.0 } else { peak },
                        climb: 1.5,
                    }
                })
                .collect()
        };
        let outline = Outline { rings: vec![ring] };
        let told = |s| stretches_named(&doubtful(&outline, &[s], 3.0));
        assert_eq!(
            told(seen(false, 200.0)),
            ["a label, stroke or stain touches the outline near x 45, y 0, over 30 px"]
        );
        assert_eq!(
            told(seen(true, 40.0)),
            ["the outline is faint or missing near x 45, y 0, over 30 px"]
        );
        let found = doubtful(&outline, &[seen(false, 200.0)], 3.0);
        assert_eq!(found[0].pieces.first().map(|p| p[0]), Some([30.0, 0.0]));
        assert!(found[0].pieces.len() > 10);
    }
}
