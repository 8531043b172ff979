//! What the reader cannot do yet. The list may only shrink: a line that no longer fails makes its test fail.

use super::judge::Known;
use super::measure::Matter::{self, Figures, Guides, Holes, Inner, Names, Outer};

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
    known("dumpling_small", Names, TURNED),
    known("messenger_busy", Guides, GROUND_LINE),
    known("stocky_gaps", Figures, WIDE_GAPS),
    known("stocky_gaps", Outer, WIDE_GAPS),
    known("stocky_gaps", Inner, WIDE_GAPS),
    known("dumpling_night", Names, PALE_FACE),
    known("hatted_small", Names, BACK),
    known("messenger_framed", Inner, ENCLOSED),
    known("messenger_framed", Names, BAG),
    known("tailed_faint", Inner, ENCLOSED),
    known("tailed_faint", Holes, ENCLOSED),
    known("tailed_five_views", Inner, ENCLOSED),
    known("tailed_five_views", Holes, ENCLOSED),
    known("tailed_five_views", Names, TURNED),
];
