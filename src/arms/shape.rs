//! An arm as the frontal outline shows it, the drawing's and the mesh's alike: middle line, elbow, width, fingertip.
//!
//! Method: from a rough way along the arm, lines square to it are laid across the outline from the middle of the arm
//! towards both ends; the span that hangs together with the last one is the arm. A straight line is fitted to the
//! spans' middles, and two lines where they bend; both are laid anew on the better line. The fingertip is where the
//! last span ends, the trunk begins where the span widens or is lost.
//!
//! Limits: what overlaps the body in the view is not seen; a hand that touches a thigh ends where the two part.

use super::line::{Flat, Line, fit};
use crate::profile::{Across, Outline, Span};
use crate::space::ViewUnits;

/// Cuts along an arm: each then is a five-hundredth of the figure's height from the next.
const CUTS: usize = 220;
/// Shares of the arm's length, from where the trunk begins, whose middles are fitted: before them lies the shoulder,
/// behind them the hand, which may be turned to one side.
const FITTED: [f64; 2] = [0.12, 0.72];
/// Share of the length from which cuts begin: past the shoulder, before the elbow of most.
const MIDDLE: f64 = 0.4;
/// Times that cuts are laid anew on the line of the cuts before.
const ROUNDS: usize = 3;
/// A span that is wider than the arm's own width by this factor belongs to the trunk too.
const WIDER: f64 = 2.6;
/// An arm that bends by less is taken as straight: on drawn outlines two lines of an arm are each true to about half a
/// degree, and the chord of such an arm is shorter by a thousandth.
const BEND_DEG: f64 = 5.0;
/// What a rough way must show of a bend to be looked at, degrees: two lines that bend less meet nowhere for sure.
const ROUGH_BEND_DEG: f64 = 2.0;
/// The elbow lies within these shares of the arm's length; on the mean at 0.42 (Drillis and Contini 1966).
const ELBOW: [f64; 2] = [0.25, 0.68];
/// Two lines must leave at most this share of what one line leaves, or the arm is not bent but rough.
const BETTER: f64 = 0.5;
/// The wrist lies within these shares of the arm's length; on the mean at 0.755.
const WRIST: [f64; 2] = [0.62, 0.9];
/// Forearm and hand are wider than the wrist by this share of the arm's length, as for `anatomy`, whose share of the
/// height is two and a half times smaller.
const WRIST_DENT: f64 = 0.005;

/// A cut square to the arm: how far along its line, and from where to where to the left of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slice {
    /// Along the line.
    pub s: f64,
    /// Right end, to the left of the line positive.
    pub low: f64,
    /// Left end.
    pub high: f64,
}

impl Slice {
    fn middle(&self) -> f64 {
        f64::midpoint(self.low, self.high)
    }

    /// Width of the arm there.
    pub fn width(&self) -> f64 {
        self.high - self.low
    }
}

/// An arm's shape in the frontal plane.
#[derive(Debug, Clone)]
pub struct Shape {
    /// The line of the upper arm, or of the whole arm where it is straight; its origin is where the cuts begin.
    pub upper: Line,
    /// The line of the forearm where the arm bends, its origin the elbow.
    pub fore: Option<Line>,
    /// The end of the arm, on its line.
    pub tip: Flat,
    /// Cuts along `upper`, from the trunk outwards; up to the elbow where the arm bends.
    pub slices: Vec<Slice>,
    /// Cuts along `fore`, from the elbow outwards.
    pub fore_slices: Vec<Slice>,
}

impl Shape {
    /// Takes another line for the upper arm; cuts are kept, their places along it are about the same.
    pub(super) fn turn_upper(&mut self, line: &Line) {
        let begin = line.beginning_at(self.upper.at);
        if self.fore.is_none() {
            self.tip = begin.place(begin.s(self.tip), 0.0);
        }
        self.upper = begin;
    }

    /// Where the arm bends.
    pub fn elbow(&self) -> Option<Flat> {
        self.fore.map(|f| f.at)
    }

    /// The line that ends in the fingertip.
    pub fn last(&self) -> Line {
        self.fore.unwrap_or(self.upper)
    }

    /// Length from a shoulder, along both lines where the arm bends.
    pub fn length(&self, shoulder: Flat) -> f64 {
        match self.fore {
            None => self.upper.s(self.tip) - self.upper.s(shoulder),
            Some(fore) => {
                let elbow = fore.at;
                (elbow[0] - shoulder[0]).hypot(elbow[1] - shoulder[1]) + fore.s(self.tip)
            }
        }
    }

    /// Half of the upper arm's width, the median of its middle part.
    pub fn half_width(&self) -> f64 {
        half_width(
            &self.slices,
            if self.fore.is_some() {
                [0.3, 0.9]
            } else {
                [0.15, 0.45]
            },
        )
    }

    /// The place of the wrist, where the arm is narrower than before and behind it; `shoulder` as in [`Self::length`].
    pub fn wrist(&self, shoulder: Flat) -> Option<Flat> {
        let whole = self.length(shoulder);
        let (line, slices, begin) = match self.fore {
            None => (self.upper, &self.slices, -self.upper.s(shoulder)),
            Some(fore) => (fore, &self.fore_slices, whole - fore.s(self.tip)),
        };
        let share = |s: f64| (begin + s) / whole;
        let within: Vec<&Slice> = slices
            .iter()
            .filter(|c| (ELBOW[0]..1.0).contains(&share(c.s)))
            .collect();
        let (at, _) = within
            .iter()
            .enumerate()
            .filter(|(_, c)| (WRIST[0]..WRIST[1]).contains(&share(c.s)))
            .min_by(|a, b| a.1.width().total_cmp(&b.1.width()))?;
        let widest = |some: &[&Slice]| some.iter().map(|c| c.width()).fold(0.0, f64::max);
        let narrow = within[at].width();
        let dent = widest(&within[..at]).min(widest(&within[at + 1..])) - narrow;
        (dent >= WRIST_DENT * whole).then(|| line.place(within[at].s, 0.0))
    }
}

fn half_width(slices: &[Slice], shares: [f64; 2]) -> f64 {
    let n = slices.len() as f64;
    let some = &slices[(shares[0] * n) as usize..((shares[1] * n) as usize).min(slices.len())];
    let mut widths: Vec<f64> = some.iter().map(Slice::width).collect();
    widths.sort_by(f64::total_cmp);
    widths.get(widths.len() / 2).map_or(0.0, |w| w / 2.0)
}

/// Traces an arm along a rough way from the trunk to its end; `None` where no arm is found on it.
pub fn trace(outline: &Outline<ViewUnits>, way: &[Flat]) -> Option<Shape> {
    traced(outline, way).map(|t| t.shape)
}

/// The same, with what the lines leave.
pub(super) fn traced(outline: &Outline<ViewUnits>, way: &[Flat]) -> Option<Traced> {
    let way = Way::new(way)?;
    let straight = fit(&way.between(FITTED))
        .and_then(|(line, _)| straight(outline, line.beginning_at(way.at(MIDDLE)), way.long()));
    match (straight, bent(outline, &way)) {
        (Some(s), Some(b)) if b.left >= BETTER * s.left => Some(s),
        (_, Some(b)) => Some(b),
        (s, None) => s,
    }
}

/// A shape, and what its line or lines leave of the middles (root of the mean square).
pub(super) struct Traced {
    pub(super) shape: Shape,
    pub(super) left: f64,
}

/// An arm traced as one straight line, from a first one whose origin lies in the arm's middle.
fn straight(outline: &Outline<ViewUnits>, first: Line, long: f64) -> Option<Traced> {
    let mut line = first;
    for round in 0.. {
        let cuts = Cuts::along(outline, &line, long, -long..=long)?;
        let [begin, end] = cuts.ends();
        let reach = end - begin;
        let (fitted, left) =
            fit(&cuts.middles(&line, begin + FITTED[0] * reach..=begin + FITTED[1] * reach))?;
        if round == ROUNDS {
            return Some(Traced {
                shape: Shape {
                    upper: Line {
                        at: line.place(begin, 0.0),
                        ..line
                    },
                    fore: None,
                    tip: line.place(end, 0.0),
                    slices: cuts.beginning_at(begin),
                    fore_slices: Vec::new(),
                },
                left,
            });
        }
        line = fitted.beginning_at(line.place(begin + MIDDLE * reach, 0.0));
    }
    None
}

/// An arm traced as upper arm and forearm; `None` where it bends too little.
fn bent(outline: &Outline<ViewUnits>, way: &Way) -> Option<Traced> {
    let (mut upper, mut fore) = broken(way)?;
    let long = way.long();
    for round in 0.. {
        let elbow = upper.meets(&fore)?;
        let bend = turn(fore.heading() - upper.heading()).abs().to_degrees();
        // The rough way may show less of a bend than there is.
        if bend < if round < ROUNDS { ROUGH_BEND_DEG } else { BEND_DEG } {
            return None;
        }
        let (along_upper, along_fore) = (upper.beginning_at(elbow), fore.beginning_at(elbow));
        // From the middles of both parts, as the way has them.
        let [u, f] = [along_upper.s(way.at(0.22)), along_fore.s(way.at(0.58))];
        if u >= 0.0 || f <= 0.0 {
            return None;
        }
        let start = |line: &Line, s: f64| Line {
            at: line.place(s, 0.0),
            ..*line
        };
        let upper_cuts = Cuts::along(outline, &start(&along_upper, u), long, -long..=-u)?;
        let fore_cuts = Cuts::along(outline, &start(&along_fore, f), long, -f..=long)?;
        let own = half_width(&upper_cuts.slices, [0.3, 0.9]);
        let [begin, _] = upper_cuts.ends();
        let [_, end] = fore_cuts.ends();
        let (length, fore_length) = (-u - begin, f + end);
        let whole = length + fore_length;
        // At the bend the middles round the corner.
        let clear = own * (0.5 * bend.to_radians()).tan().max(0.3);
        let upper_places =
            upper_cuts.middles(&start(&along_upper, u), begin + FITTED[0] * whole..=-u - clear);
        let fore_places = fore_cuts.middles(
            &start(&along_fore, f),
            -f + clear..=FITTED[1] * whole - length - f,
        );
        let (fitted_upper, a) = fit(&upper_places)?;
        let (fitted_fore, b) = fit(&fore_places)?;
        if round == ROUNDS {
            let share = length / whole;
            return (ELBOW[0]..ELBOW[1]).contains(&share).then(|| Traced {
                shape: Shape {
                    upper: Line {
                        at: start(&along_upper, u).place(begin, 0.0),
                        ..along_upper
                    },
                    fore: Some(along_fore),
                    tip: along_fore.place(fore_length, 0.0),
                    slices: upper_cuts.beginning_at(begin),
                    fore_slices: fore_cuts.beginning_at(-f),
                },
                left: ((a * a + b * b) / 2.0).sqrt(),
            });
        }
        (upper, fore) = (fitted_upper, fitted_fore);
    }
    None
}

/// An angle between −π and π.
pub fn turn(angle: f64) -> f64 {
    use std::f64::consts::{PI, TAU};
    (angle + PI).rem_euclid(TAU) - PI
}

/// The two lines that lie best along a way that bends once.
fn broken(way: &Way) -> Option<(Line, Line)> {
    /// Places at which the way may bend that are tried.
    const TRIED: usize = 18;
    let mut best: Option<(f64, (Line, Line))> = None;
    for k in 0..=TRIED {
        let at = ELBOW[0] + (ELBOW[1] - ELBOW[0]) * k as f64 / TRIED as f64;
        let fitted = fit(&way.between([FITTED[0], at])).zip(fit(&way.between([at, 0.8])));
        let Some(((upper, a), (fore, b))) = fitted else {
            continue;
        };
        let left = at * a * a + (1.0 - at) * b * b;
        if best.as_ref().is_none_or(|b| left < b.0) {
            best = Some((left, (upper, fore)));
        }
    }
    best.map(|b| b.1)
}

/// A rough way along an arm.
struct Way {
    places: Vec<Flat>,
    lengths: Vec<f64>,
}

impl Way {
    /// Places that are looked at.
    const PLACES: usize = 80;

    fn new(way: &[Flat]) -> Option<Self> {
        let mut lengths = vec![0.0];
        for pair in way.windows(2) {
            let step = (pair[1][0] - pair[0][0]).hypot(pair[1][1] - pair[0][1]);
            lengths.push(lengths[lengths.len() - 1] + step);
        }
        (way.len() > 3 && lengths[lengths.len() - 1] > 0.0).then(|| Self {
            places: way.to_vec(),
            lengths,
        })
    }

    fn long(&self) -> f64 {
        self.lengths[self.lengths.len() - 1]
    }

    /// The place at a share of the length.
    fn at(&self, share: f64) -> Flat {
        let s = share * self.long();
        let k = self
            .lengths
            .partition_point(|l| *l < s)
            .clamp(1, self.lengths.len() - 1);
        let (a, b) = (self.places[k - 1], self.places[k]);
        let step = self.lengths[k] - self.lengths[k - 1];
        let t = if step > 0.0 {
            (s - self.lengths[k - 1]) / step
        } else {
            0.0
        };
        [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])]
    }

    /// Even places between two shares of the length.
    fn between(&self, shares: [f64; 2]) -> Vec<Flat> {
        let n = (((shares[1] - shares[0]) * Self::PLACES as f64) as usize).max(3);
        (0..=n)
            .map(|i| self.at(shares[0] + (shares[1] - shares[0]) * i as f64 / n as f64))
            .collect()
    }
}

/// Cuts along a line.
struct Cuts {
    slices: Vec<Slice>,
    /// Where the arm ends, finer than the cuts.
    end: f64,
}

impl Cuts {
    /// Cuts from the line's origin, which lies in the arm, towards both ends within `between`.
    fn along(
        outline: &Outline<ViewUnits>,
        line: &Line,
        long: f64,
        between: std::ops::RangeInclusive<f64>,
    ) -> Option<Self> {
        let across = Across::new(outline, line.at, line.along, between.clone());
        let step = long / CUTS as f64;
        let one = |s: f64, last: Span| {
            let spans = across.spans(s);
            let mut touching = spans.iter().filter(|t| t.x0 < last.x1 && last.x0 < t.x1);
            let first = touching.next()?;
            Some(touching.fold(*first, |a, b| Span {
                x0: a.x0.min(b.x0),
                x1: a.x1.max(b.x1),
            }))
        };
        // The span nearest to the origin.
        let away = |t: &Span| t.x0.max(-t.x1).max(0.0);
        let first = across
            .spans(0.0)
            .into_iter()
            .min_by(|a, b| away(a).total_cmp(&away(b)))
            .filter(|t| away(t) < long / 8.0)?;
        let walk = |sign: f64, most: f64| {
            let (mut last, mut found, mut widths) = (first, Vec::new(), vec![first.width()]);
            let mut lost = most;
            for k in 1.. {
                let s = sign * step * f64::from(k);
                if s.abs() > most {
                    break;
                }
                let mut own = widths.clone();
                own.sort_by(f64::total_cmp);
                let usual = own[own.len() / 2];
                match one(s, last).filter(|t| t.width() <= WIDER * usual) {
                    Some(t) => {
                        found.push(Slice {
                            s,
                            low: t.x0,
                            high: t.x1,
                        });
                        widths.push(t.width());
                        last = t;
                    }
                    None => {
                        // Halved down to a thousandth of a step.
                        let (mut inside, mut outside) = (s.abs() - step, s.abs());
                        for _ in 0..10 {
                            let m = f64::midpoint(inside, outside);
                            match one(sign * m, last).filter(|t| t.width() <= WIDER * usual) {
                                Some(_) => inside = m,
                                None => outside = m,
                            }
                        }
                        lost = inside;
                        break;
                    }
                }
            }
            (found, lost)
        };
        let (mut slices, _) = walk(-1.0, -between.start());
        slices.reverse();
        slices.push(Slice {
            s: 0.0,
            low: first.x0,
            high: first.x1,
        });
        let (outwards, end) = walk(1.0, *between.end());
        slices.extend(outwards);
        (slices.len() > 8).then_some(Self { slices, end })
    }

    fn ends(&self) -> [f64; 2] {
        [self.slices[0].s, self.end]
    }

    /// The middles between two places of the line.
    fn middles(&self, line: &Line, between: std::ops::RangeInclusive<f64>) -> Vec<Flat> {
        self.slices
            .iter()
            .filter(|c| between.contains(&c.s))
            .map(|c| line.place(c.s, c.middle()))
            .collect()
    }

    /// The cuts with another origin.
    fn beginning_at(&self, origin: f64) -> Vec<Slice> {
        let moved = |c: &Slice| Slice {
            s: c.s - origin,
            ..*c
        };
        self.slices.iter().map(moved).collect()
    }
}
