//! Which long straight lines are strokes of a figure: a staff in the hand, the side of a robot.
//!
//! A guide line ends freely, runs off the sheet or ends on another line, as the sides of a frame do. A stroke of an
//! outline goes on at its ends: the ink turns away to one side and runs on, as at the cap of a staff or the corner of a
//! box. From each end the ink is followed beside the line (eight neighbours, breadth first), not back along the line and
//! not along lines of the other course; a line is a stroke if the ink turns away at one end and the other is not free.
//!
//! Assumes that a stroke's ends are whole: an outline that is broken at a cap still looks like a guide line there. A
//! bracket whose arms are longer than a tick passes for a stroke and stays.

use std::collections::VecDeque;

use super::lines::{StraightLine, sizes, value};
use super::tone::Departure;

/// Ink that runs on beside the line for less than this share of the line's length is a tick, an arrow's head or a
/// letter. Ticks of rulers take up to three hundredths. By trial.
const TICK: f64 = 0.05;
/// Two lines meet in a frame's corner if each ends within this share of its length of the other: corners may be round.
const CORNER: f64 = 0.03;
/// A drawn line strays from the fitted one by this many pixels at most.
const STRAY: f64 = 2.5;
/// Blanks that a line is followed across to its end, pixels.
const BLANK: usize = 2;
/// A line that ends within so many pixels of the sheet's border runs off it.
const BORDER: i64 = 3;

/// How a line ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum End {
    /// Nothing goes on there, or the sheet ends.
    Free,
    /// On another line, or amid ink to both sides.
    Joined,
    /// The ink turns away to one side.
    Turned,
}

/// The lines without those that are strokes of a figure.
pub(super) fn without_strokes(departure: &Departure, lines: Vec<StraightLine>) -> Vec<StraightLine> {
    let stroke = |line: &StraightLine| {
        let crossing: Vec<&StraightLine> = lines.iter().filter(|l| l.course != line.course).collect();
        let side = Side {
            departure,
            line,
            crossing: &crossing,
        };
        let ends = [side.end(true), side.end(false)];
        ends.contains(&End::Turned) && !ends.contains(&End::Free)
    };
    let strokes: Vec<bool> = lines.iter().map(stroke).collect();
    let kept = lines.into_iter().zip(strokes).filter(|(_, stroke)| !stroke);
    kept.map(|(line, _)| line).collect()
}

/// A line among the marks.
struct Side<'a> {
    departure: &'a Departure,
    line: &'a StraightLine,
    /// The lines of the other course.
    crossing: &'a [&'a StraightLine],
}

impl Side<'_> {
    fn marked(&self, along: i64, across: i64) -> bool {
        let (length, breadth) = sizes(self.departure, self.line.course);
        (0..length as i64).contains(&along)
            && (0..breadth as i64).contains(&across)
            && value(self.departure, self.line.course, along as usize, across as usize)
                >= self.departure.threshold
    }

    /// How far a place lies from the line's middle; negative above an across line, left of an upright one.
    fn off(&self, along: i64, across: i64) -> f64 {
        across as f64 + 0.5 - self.line.at(along as f64 + 0.5, self.departure)
    }

    /// Half the width of the band that the line takes.
    fn half(&self) -> f64 {
        self.line.thickness / 2.0 + STRAY
    }

    fn inked(&self, along: i64) -> bool {
        let middle = self.line.at(along as f64 + 0.5, self.departure);
        let (from, to) = (middle - self.half(), middle + self.half());
        (from.floor() as i64..=to.ceil() as i64)
            .any(|k| self.off(along, k).abs() <= self.half() && self.marked(along, k))
    }

    /// The last place along the line that is inked, from where it was last seen on.
    fn tip(&self, first: bool) -> i64 {
        let step = if first { -1 } else { 1 };
        let mut tip = self.line.ends[usize::from(!first)] as i64;
        let mut at = tip;
        while (at - tip).unsigned_abs() as usize <= BLANK {
            at += step;
            if self.inked(at) {
                tip = at;
            }
        }
        tip
    }

    /// Whether a line of the other course takes a place.
    fn crossed(&self, along: i64, across: i64) -> bool {
        self.crossing.iter().any(|l| {
            let off = along as f64 + 0.5 - l.at(across as f64 + 0.5, self.departure);
            off.abs() <= l.thickness / 2.0 + STRAY
        })
    }

    /// Whether a line of the other course ends where this one does: a frame's corner.
    fn framed(&self, tip: i64) -> bool {
        let here = self.line.at(tip as f64 + 0.5, self.departure);
        self.crossing.iter().any(|l| {
            let length = self.line.length().max(l.length());
            let there = l.at(here, self.departure);
            (there - tip as f64).abs() <= CORNER * length
                && l.ends.iter().any(|e| (e - here).abs() <= CORNER * length)
        })
    }

    fn end(&self, first: bool) -> End {
        let tip = self.tip(first);
        let last = sizes(self.departure, self.line.course).0 as i64 - 1;
        if tip <= BORDER || tip >= last - BORDER {
            return End::Free;
        }
        if self.framed(tip) {
            return End::Joined;
        }
        let needed = TICK * self.line.length();
        let [before, after] = self.reaches(tip, first, needed);
        match (before >= needed, after >= needed) {
            (true, true) => End::Joined,
            (true, false) | (false, true) => End::Turned,
            (false, false) if self.crossed(tip, self.line.at(tip as f64, self.departure) as i64) => {
                End::Joined
            }
            (false, false) => End::Free,
        }
    }

    /// How many pixels the ink runs on from the tip to either side of the line, followed up to `needed`.
    fn reaches(&self, tip: i64, first: bool, needed: f64) -> [f64; 2] {
        let thick = self.line.thickness.ceil() as i64;
        // Inward from the tip.
        let depth = |along: i64| if first { along - tip } else { tip - along };
        let reach = needed.ceil() as i64 + 2;
        let size = 2 * reach + 1;
        let centre = self.line.at(tip as f64 + 0.5, self.departure) as i64;
        let index = |along: i64, across: i64| {
            let (i, j) = (along - tip + reach, across - centre + reach);
            let inside = (0..size).contains(&i) && (0..size).contains(&j);
            inside.then_some((i * size + j) as usize)
        };
        let mut seen = vec![false; (size * size) as usize];
        let mut queue = VecDeque::new();
        let band = self.half().ceil() as i64 + 1;
        for along in tip - 2 * thick..=tip + 2 * thick {
            for across in centre - band..=centre + band {
                let seed =
                    (0..=2 * thick).contains(&depth(along)) && self.off(along, across).abs() <= self.half();
                let ink = seed && self.marked(along, across) && !self.crossed(along, across);
                if let Some(i) = index(along, across).filter(|i| ink && !seen[*i]) {
                    seen[i] = true;
                    queue.push_back((along, across, 0.0));
                }
            }
        }
        let mut out = [0.0f64; 2];
        while let Some((along, across, steps)) = queue.pop_front() {
            let off = self.off(along, across);
            // Clear of the line itself, which may stray.
            if off.abs() > self.half() + self.line.thickness {
                let side = &mut out[usize::from(off > 0.0)];
                *side = side.max(steps);
            }
            if steps >= needed {
                continue;
            }
            for (da, dc) in [
                (-1, 0),
                (1, 0),
                (0, -1),
                (0, 1),
                (-1, -1),
                (-1, 1),
                (1, -1),
                (1, 1),
            ] {
                let (a, c) = (along + da, across + dc);
                let back = depth(a) > 2 * thick && self.off(a, c).abs() <= self.half();
                let Some(i) = index(a, c).filter(|i| !seen[*i]) else {
                    continue;
                };
                if !back && self.marked(a, c) && !self.crossed(a, c) {
                    seen[i] = true;
                    queue.push_back((a, c, steps + 1.0));
                }
            }
        }
        out
    }
}

impl StraightLine {
    /// Its middle at a place along it.
    fn at(&self, along: f64, departure: &Departure) -> f64 {
        self.middle + self.slope * (along - sizes(departure, self.course).0 as f64 / 2.0)
    }

    fn length(&self) -> f64 {
        self.ends[1] - self.ends[0]
    }
}

#[cfg(test)]
mod tests {
    use super::super::lines::Course;
    use super::*;

    const SIZE: usize = 400;

    /// Marks along segments, 4 pixels wide, and the upright line at `x` from 40 to 360.
    fn upright(x: f64, strokes: &[[f64; 4]]) -> (Departure, StraightLine) {
        let near = |px: f64, py: f64, [x0, y0, x1, y1]: [f64; 4]| {
            let (dx, dy) = (x1 - x0, y1 - y0);
            let t = (((px - x0) * dx + (py - y0) * dy) / (dx * dx + dy * dy)).clamp(0.0, 1.0);
            (px - x0 - t * dx).hypot(py - y0 - t * dy) <= 2.0
        };
        let values = (0..SIZE * SIZE)
            .map(|i| {
                let (px, py) = ((i % SIZE) as f64 + 0.5, (i / SIZE) as f64 + 0.5);
                let on = near(px, py, [x, 40.0, x, 360.0]) || strokes.iter().any(|s| near(px, py, *s));
                if on { 200 } else { 0 }
            })
            .collect();
        let departure = Departure {
            width: SIZE,
            height: SIZE,
            values,
            threshold: 40,
        };
        (departure, line(Course::Upright, x, [40.0, 360.0]))
    }

    fn line(course: Course, middle: f64, ends: [f64; 2]) -> StraightLine {
        StraightLine {
            course,
            middle,
            slope: 0.0,
            thickness: 4.0,
            strength: 200.0,
            coverage: 1.0,
            ends,
            most: [255.0; 3],
        }
    }

    fn kept(x: f64, strokes: &[[f64; 4]], crossing: &[StraightLine]) -> bool {
        let (departure, own) = upright(x, strokes);
        let lines = [&[own], crossing].concat();
        without_strokes(&departure, lines).contains(&own)
    }

    #[test]
    fn the_side_of_a_staff_is_a_stroke() {
        let staff = [
            [200.0, 40.0, 214.0, 40.0],
            [214.0, 40.0, 214.0, 360.0],
            [214.0, 360.0, 200.0, 360.0],
        ];
        assert!(!kept(200.0, &staff, &[]));
    }

    #[test]
    fn a_line_with_free_ends_stays_one_with_ticks_and_strokes_across_it() {
        let ruler: Vec<[f64; 4]> = (0..9)
            .map(|i| 40.0 + 40.0 * f64::from(i))
            .map(|y| [200.0, y, 210.0, y])
            .collect();
        assert!(kept(200.0, &[], &[]));
        assert!(kept(200.0, &ruler, &[]));
        assert!(kept(200.0, &[[120.0, 100.0, 300.0, 180.0]], &[]));
    }

    #[test]
    fn the_sides_of_a_frame_stay_lines() {
        let frame = [
            [40.0, 40.0, 360.0, 40.0],
            [40.0, 360.0, 360.0, 360.0],
            [360.0, 40.0, 360.0, 360.0],
        ];
        let crossing = [40.0, 360.0].map(|y| line(Course::Across, y, [40.0, 360.0]));
        assert!(kept(40.0, &frame, &crossing));
    }

    #[test]
    fn a_centre_line_from_crown_to_ground_stays_a_line() {
        let crown = [[150.0, 80.0, 200.0, 40.0], [200.0, 40.0, 250.0, 80.0]];
        assert!(kept(200.0, &crown, &[]));
    }
}
