//! What the reader cannot do yet. The list may only shrink: a line that no longer fails makes its test fail.

use super::judge::Known;
use super::measure::Matter::{
    self, Concave, Figures, Guides, Holes, Inner, Names, Outer, Refused, Skew, Sure,
};

pub(crate) const fn known(sheet: &'static str, matter: Matter, why: &'static str) -> Known {
    Known { sheet, matter, why }
}

const ENCLOSED: &str = "ground that an inked figure encloses counts as the figure's own surface";
const WIDE_GAPS: &str = "gaps of up to 2.5 % of the height stay open, what lies behind is lost";
const GAPS: &str = "of several gaps of up to 1 % of the height some stay open, what lies behind is lost";
const TURNED: &str = "a view turned by 40 degrees is named side or back, three-quarter does not exist";
const GROUND_LINE: &str = "shadow and ground line tie the figures of a row together";
const LID: &str = "nothing is found on paper that the scanner's dark lid surrounds";
const SOLES: &str = "soles drawn on a dark ground line are taken out with it";

const FOLD: &str = "a fold across the sheet counts as a stroke that ties the figures to the border";
const BACK: &str =
    "the long straight back of a small figure is taken for an upright line: false skew, the back is lost";
const PALE_FACE: &str =
    "dark eyes on dark paper do not count as a face, and a round figure is symmetric from the side too";
const BAG: &str = "a bag makes front and back unlike their mirror images: the side view is named back";
const CROWN: &str =
    "a crown that touches a guide line as dark as itself is taken out with it, and so is what axes cross";

pub(crate) const KNOWN: &[Known] = &[
    known("akimbo_ink", Inner, ENCLOSED),
    known("akimbo_ink", Concave, ENCLOSED),
    known("akimbo_ink", Holes, ENCLOSED),
    known("akimbo_colour", Inner, ENCLOSED),
    known("akimbo_colour", Concave, ENCLOSED),
    known("akimbo_colour", Holes, ENCLOSED),
    known("soldier_pencil", Outer, SOLES),
    known("soldier_pencil", Inner, ENCLOSED),
    known("soldier_pencil", Concave, ENCLOSED),
    known("dumpling_small", Names, TURNED),
    known("messenger_busy", Guides, GROUND_LINE),
    known("messenger_busy", Figures, GROUND_LINE),
    known("messenger_binder", Refused, LID),
    known("fingers_pencil", Figures, GAPS),
    known("fingers_pencil", Names, GAPS),
    known("fingers_pencil", Outer, GAPS),
    known("fingers_pencil", Inner, GAPS),
    known("robot_fax", Outer, SOLES),
    known("robot_fax", Inner, SOLES),
    known("stocky_gaps", Figures, WIDE_GAPS),
    known("stocky_gaps", Outer, WIDE_GAPS),
    known("stocky_gaps", Inner, WIDE_GAPS),
    known("wanderer_gaps", Figures, GAPS),
    known("wanderer_gaps", Outer, GAPS),
    known("wanderer_gaps", Inner, GAPS),
    known("dumpling_night", Names, PALE_FACE),
    known("hatted_small", Skew, BACK),
    known("hatted_small", Names, BACK),
    known("hatted_small", Outer, BACK),
    known("hatted_small", Inner, BACK),
    known("messenger_framed", Inner, ENCLOSED),
    known("messenger_framed", Names, BAG),
    known("soldier_ink", Inner, ENCLOSED),
    known("soldier_ink", Concave, ENCLOSED),
    known("stocky_large_scan", Refused, FOLD),
    known("tailed_faint", Inner, ENCLOSED),
    known("tailed_faint", Holes, ENCLOSED),
    known("tailed_five_views", Inner, ENCLOSED),
    known("tailed_five_views", Holes, ENCLOSED),
    known("tailed_five_views", Names, TURNED),
    known("tailed_five_views", Sure, ENCLOSED),
    known("wanderer_axes", Outer, CROWN),
    known("wanderer_axes", Inner, CROWN),
];
