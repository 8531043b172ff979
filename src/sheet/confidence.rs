//! How sure the reading of a figure is: what the evidence adds up to.
//!
//! Each piece of [`Evidence`] is 0 where all is well and grows with what may have gone wrong. What exceeds an amount
//! that right readings have too, divided by a further amount, is a doubt. Doubts add as squares, so that one large
//! doubt counts for more than many small ones, and the confidence is `1 / (1 + sum of squares)`: a single piece of
//! evidence brings it to 0.5 at the sum of its two amounts, and it never rises as evidence grows.
//!
//! The amounts were found on sheets from seeds with known truth (`tests/sheets/random.rs`, sheets 0 to 319): the
//! smallest loss, a wrong view that is sure weighed as 15 right ones that are not, first by a linear programme over the
//! squares, then one amount at a time, then rounded by hand so that the right readings of the shared cases stay sure.
//! Sheets 448 to 575 chose between variants, later ones took no part and confirm them. "How sure a reading is" in
//! `DEVELOPERS.md` has the figures.
//!
//! What no evidence shows: a limb that was erased without a trace where an inner line closes the rest.

use super::evidence::Evidence;
use super::read::Figure;
use super::views::{self, Shows, Signs};
use super::warnings;

/// How much of a piece of evidence is no doubt, and how much more is a doubt of 1.
#[derive(Debug, Clone, Copy)]
struct Doubt {
    free: f64,
    one: f64,
}

const fn doubt(free: f64, one: f64) -> Doubt {
    Doubt { free, one }
}

// All found by calibration, see above; the comments say which cases decide.

/// Labels and stains across the outline; inner lines that run past it are free.
const DISTURBED: Doubt = doubt(0.005, 0.08);
/// Dashed outlines; up to ten closed gaps are usually right.
const CLOSED: Doubt = doubt(0.004, 0.15);
/// Areas between arms and body, or a tail, decided by their place: always a guess.
const DOUBTFUL: Doubt = doubt(0.0, 0.0026);
/// Ground behind a tail or an arm; sleeves and pockets of right readings reach 0.045.
const HOLLOW: Doubt = doubt(0.0, 0.05);
/// Ground whose border is drawn like the outline in part; hands on hips that were read rightly reach 0.0115.
const LEAN: Doubt = doubt(0.0105, 0.004);
/// Ground between the arms of coloured figures; light clothes reach 0.007.
const WINDOW: Doubt = doubt(0.0, 0.009);
/// Heads of coloured figures that were cut off; soles are free.
const FLAT: Doubt = doubt(0.02, 0.06);
/// Small blurred views, whose box grows by more than a hundredth; sharp ones stay below 0.003.
const BLUR: Doubt = doubt(0.0032, 0.001);
/// A cut across the whole sheet leaves limbs hanging on one view and none on the next; arrows are free.
const OTHERS: Doubt = doubt(0.025, 0.018);
/// Limbs that leaked away; arrows and labels that touch are right up to 0.02.
const ATTACHED: Doubt = doubt(0.008, 0.022);
/// Limbs lost together with all that joined them; notes lie there too.
const NEARBY: Doubt = doubt(0.06, 0.2);
/// Figures merged by a thin bar; feet and hands are free.
const HALVES: Doubt = doubt(0.029, 0.18);
/// Stains and smudges.
const PALE: Doubt = doubt(0.03, 0.09);
/// Sleeves of small figures taken for ground.
const WEIGHED: Doubt = doubt(0.0, 0.0047);
/// Sleeves and armpits in pencil taken for ground; no hole that counts is smaller.
const UNEVEN: Doubt = doubt(0.0, 0.0034);
/// Stains on line drawings; hatching along the outline is free.
const BLOT: Doubt = doubt(0.05, 0.13);
/// A part taken for a figure; a sheet full of notes is free.
const ELSEWHERE: Doubt = doubt(0.5, 4.0);
/// Blurred figures of flat colour.
const SOFT: Doubt = doubt(0.003, 0.0012);
/// Cut edges of coloured figures.
const CUT: Doubt = doubt(0.03, 0.1);
/// Guide lines that stayed on; soles are free.
const STRAIGHT: Doubt = doubt(0.06, 0.1);
/// Lost heads and feet; views that were drawn a little taller are free.
const APART: Doubt = doubt(0.012, 0.1);
/// Pencil hardly darker than the paper's grain.
const FAINT: Doubt = doubt(0.3, 0.6);
/// Letters that became part of the outline; brush strokes are free.
const SPREAD: Doubt = doubt(0.45, 0.3);
/// Front views with a tail that encloses ground; other right ones stay below 0.25.
const LOPSIDED: Doubt = doubt(0.25, 0.02);

/// Bounds of a confidence: nothing is certain.
const BOUNDS: (f64, f64) = (0.02, 0.99);
/// A reading less sure than this decides nothing, and says why.
pub const UNSURE: f64 = 0.5;
/// A doubt counts beside the greatest if it adds at least this share of it.
const COUNTS: f64 = 0.3;
/// Doubts that are told at most.
const MOST_WORDS: usize = 3;
/// Number of pieces of evidence.
pub const PIECES: usize = 24;

impl Doubt {
    /// The doubt that an amount of evidence raises.
    fn of(self, amount: f64) -> f64 {
        (amount - self.free).max(0.0) / self.one
    }
}

/// A piece of evidence, and what it means where it raises a doubt.
struct Piece {
    name: &'static str,
    amount: f64,
    doubt: Doubt,
    words: &'static str,
}

impl Piece {
    /// What it adds to the sum.
    fn square(&self) -> f64 {
        self.doubt.of(self.amount).powi(2)
    }
}

impl Evidence {
    fn pieces(&self) -> [Piece; PIECES] {
        let piece = |name, amount, doubt, words| Piece {
            name,
            amount,
            doubt,
            words,
        };
        [
            piece(
                "disturbed",
                self.disturbed,
                DISTURBED,
                "labels or other strokes touch much of the outline",
            ),
            piece(
                "closed",
                self.closed,
                CLOSED,
                "much of the outline is open and was closed by straight lines",
            ),
            piece(
                "doubtful",
                self.doubtful,
                DOUBTFUL,
                "enclosed areas were told from background by their place alone",
            ),
            piece(
                "hollow",
                self.hollow,
                HOLLOW,
                "enclosed areas that may be background were taken as part of the figure",
            ),
            piece(
                "lean",
                self.lean,
                LEAN,
                "an enclosed area that was taken as part of the figure is bordered in part like background",
            ),
            piece(
                "window",
                self.window,
                WINDOW,
                "light areas of a coloured figure may be background",
            ),
            piece(
                "flat",
                self.flat,
                FLAT,
                "the figure ends in a bare edge, as if it were cut off",
            ),
            piece("blur", self.blur, BLUR, "the drawing is blurred"),
            piece(
                "others",
                self.others,
                OTHERS,
                "ink hangs on another view of the sheet that is none of its outline",
            ),
            piece(
                "attached",
                self.attached,
                ATTACHED,
                "ink hangs on the figure that is none of its outline",
            ),
            piece(
                "nearby",
                self.nearby,
                NEARBY,
                "ink lies loose close to the figure",
            ),
            piece(
                "halves",
                self.halves,
                HALVES,
                "the figure hangs together by a narrow neck only",
            ),
            piece(
                "pale",
                self.pale,
                PALE,
                "a long stretch of the outline is paler than its line",
            ),
            piece(
                "weighed",
                self.weighed,
                WEIGHED,
                "enclosed areas were taken as background by how heavily they are bordered",
            ),
            piece(
                "uneven",
                self.uneven,
                UNEVEN,
                "the line's width varies too much to tell the outline from inner lines",
            ),
            piece(
                "blot",
                self.blot,
                BLOT,
                "a long stretch of the outline shows no line",
            ),
            piece(
                "elsewhere",
                self.elsewhere,
                ELSEWHERE,
                "much ink on the sheet belongs to no figure",
            ),
            piece("soft", self.soft, SOFT, "the edges are soft"),
            piece(
                "straight",
                self.straight,
                STRAIGHT,
                "a straight level stretch of the outline may be a guide line",
            ),
            piece(
                "cut",
                self.cut,
                CUT,
                "a straight stretch of the outline without a line looks like a cut",
            ),
            piece(
                "apart",
                self.apart,
                APART,
                "its height is not that of the other views",
            ),
            piece(
                "faint",
                self.faint,
                FAINT,
                "the line is hardly darker than the paper's grain",
            ),
            piece("spread", self.spread, SPREAD, "the line's width varies much"),
            piece(
                "lopsided",
                self.lopsided,
                LOPSIDED,
                "a view from the front or back is far from its own mirror image",
            ),
        ]
    }

    /// Each piece of evidence with its name.
    pub fn named(&self) -> [(&'static str, f64); PIECES] {
        self.pieces().map(|p| (p.name, p.amount))
    }

    /// The confidence, from 0.02 to 0.99.
    pub fn confidence(&self) -> f64 {
        let squares = self.pieces().map(|p| p.square());
        (1.0 / (1.0 + squares.iter().sum::<f64>())).clamp(BOUNDS.0, BOUNDS.1)
    }

    /// What raises the doubts that count, in words, the greatest first; empty where there is none.
    pub fn why(&self) -> Vec<&'static str> {
        let mut doubts: Vec<(f64, &'static str)> =
            self.pieces().iter().map(|p| (p.square(), p.words)).collect();
        doubts.sort_by(|a, b| b.0.total_cmp(&a.0));
        let least = COUNTS * doubts[0].0;
        let counting = doubts.iter().filter(|d| d.0 > 0.0 && d.0 >= least);
        counting.take(MOST_WORDS).map(|d| d.1).collect()
    }
}

/// Adds what the views of a sheet tell about each other and sets every figure's confidence.
pub(super) fn judge(figures: &mut [Figure], signs: &[Signs]) {
    let mut heights: Vec<f64> = figures.iter().map(|f| f.ground_px - f.crown_px).collect();
    let own = heights.clone();
    heights.sort_by(f64::total_cmp);
    let n = heights.len();
    let usual = heights
        .get(n / 2)
        .map_or(1.0, |m| (m + heights[(n - 1) / 2]) / 2.0);
    let shows = views::shows(signs);
    let attached: Vec<f64> = figures.iter().map(|f| f.evidence.attached).collect();
    for (i, figure) in figures.iter_mut().enumerate() {
        let others = attached.iter().enumerate().filter(|(k, _)| *k != i);
        figure.evidence.others = others.map(|(_, a)| *a).fold(0.0, f64::max);
        figure.evidence.apart = (own[i] / usual - 1.0).abs();
        if shows[i] == Shows::Middle {
            figure.evidence.lopsided = 1.0 - signs[i].symmetry;
        }
        figure.confidence = figure.evidence.confidence();
        if figure.confidence < UNSURE {
            // The first remark is the one that is read.
            figure
                .warnings
                .insert(0, warnings::unsure(&figure.evidence.why()));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_evidence_is_sure_and_a_doubt_of_one_is_half() {
        let calm = Evidence::default();
        assert!((calm.confidence() - BOUNDS.1).abs() < 1e-12);
        let torn = Evidence {
            attached: ATTACHED.free + ATTACHED.one,
            ..calm
        };
        assert!((torn.confidence() - 0.5).abs() < 1e-12);
    }

    #[test]
    fn the_greatest_doubts_are_told() {
        assert!(Evidence::default().why().is_empty());
        let torn = Evidence {
            nearby: NEARBY.free + 2.0 * NEARBY.one,
            blur: BLUR.free + 3.0 * BLUR.one,
            soft: SOFT.free + 0.2 * SOFT.one,
            ..Evidence::default()
        };
        assert_eq!(
            torn.why(),
            ["the drawing is blurred", "ink lies loose close to the figure"]
        );
    }

    #[test]
    fn more_evidence_never_makes_surer() {
        let mut last = 1.0;
        for k in 0..50 {
            let e = Evidence {
                pale: f64::from(k) * 0.01,
                apart: 0.05,
                ..Evidence::default()
            };
            assert!(e.confidence() <= last);
            last = e.confidence();
        }
    }
}
