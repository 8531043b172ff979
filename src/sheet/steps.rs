//! What each step of the reading sees, for a person who wants to know where a reading went wrong.

use super::figures::Region;
use super::gaps::Bridge;
use super::level::Levelling;
use super::lines::StraightLine;
use super::picture::Picture;
use super::runs::Runs;
use super::tone::Departure;

/// A step's result. Places are pixels of the reduced picture unless said otherwise.
pub enum Step<'a> {
    /// The picture in which figures are looked for, reduced by a whole factor, and the turn that levels the full one.
    Levelled {
        /// The reduced picture.
        picture: &'a Picture,
        /// Of the full picture.
        levelling: Levelling,
        /// Pixels of the full picture that one of the reduced picture is made of, along a side.
        factor: usize,
    },
    /// How far each pixel departs from the paper around it.
    Flattened(&'a Departure),
    /// Long straight lines.
    Guides(&'a [StraightLine]),
    /// What counts as a stroke or a coloured area, before gaps are closed.
    Marks(&'a Runs),
    /// The same with the gaps closed, and where.
    Closed {
        /// Strokes and bridges.
        marks: &'a Runs,
        /// Where gaps were closed.
        bridges: &'a [Bridge],
    },
    /// The figures.
    Figures(&'a [Region]),
}

/// Sees each step once, in order.
pub trait Watch {
    /// A step is done.
    fn see(&mut self, step: &Step<'_>);
}

/// Nobody looks.
impl Watch for () {
    fn see(&mut self, _: &Step<'_>) {}
}
