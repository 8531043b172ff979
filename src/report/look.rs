//! Palette, sizes and line weights of every picture, in one place.
//!
//! Colours are of the set of Okabe and Ito (2008, "Color Universal Design"), which stays distinct for colour-blind eyes.
//! Nothing is told by colour alone: over and under lean in opposite directions first, the outlines differ in weight and
//! dash. Sizes are in points and were found by trial on pictures of 1040 rows seen at 100 %, which have a pixel a point.

/// Red, green, blue, in sRGB (IEC 61966-2-1).
pub type Colour = [u8; 3];

/// The ground of a picture.
pub const PAPER: Colour = [253, 253, 251];
/// Text and the outline as drawn.
pub const INK: Colour = [26, 30, 36];
/// Secondary text; above 4.5 : 1 on [`PAPER`], as WCAG 2.2 (1.4.3) asks.
pub const QUIET: Colour = [76, 81, 89];
/// Thin rules and ticks.
pub const RULE: Colour = [206, 209, 213];
/// The tolerance band.
pub const BAND: Colour = [233, 236, 239];
/// The mesh's outline: above 3 : 1 on [`PAPER`], as WCAG 2.2 (1.4.11) asks of graphics.
pub const MESH: Colour = [104, 116, 130];
/// The inside of the mesh.
pub const MESH_TINT: Colour = [150, 165, 180];
/// How strongly the inside of the mesh is tinted, 0 to 1.
pub const MESH_TINT_SHARE: f32 = 0.16;
/// The turned arm, its axis and its joint: reddish purple of the same set, darkened to 3.4 : 1 on [`PAPER`].
pub const ARM: Colour = [0xC4, 0x6F, 0x9E];
/// The mesh reaches beyond the drawing: vermilion, hatched upwards to the right.
pub const OVER: Colour = [0xD5, 0x5E, 0x00];
/// The mesh falls short of the drawing: blue, hatched downwards to the right.
pub const UNDER: Colour = [0x00, 0x72, 0xB2];
/// Colours that tell parts apart where they only need to differ from their neighbours: the set of Okabe and Ito.
pub const PARTS: [Colour; 6] = [
    [0x00, 0x72, 0xB2],
    [0xD5, 0x5E, 0x00],
    [0x00, 0x9E, 0x73],
    [0xCC, 0x79, 0xA7],
    [0x56, 0xB4, 0xE9],
    [0xE6, 0x9F, 0x00],
];

/// Distance of two hatch lines, square to them: where the mesh is over, and where it is under. Coarse against fine is
/// seen also where the lean is not.
pub const HATCH: [f32; 2] = [7.5, 4.2];
/// Thickness of a hatch line, likewise.
pub const HATCH_LINE: [f32; 2] = [3.2, 1.2];
/// How far the drawing gives way to the paper under hatching, 0 to 1: its own shading may be hatched too.
pub const HATCH_CLEARS: f32 = 0.55;
/// Strength of the even tint between hatch lines, 0 to 1.
pub const HATCH_TINT: f32 = 0.16;
/// Strength of hatching in rows that no finding names: there, but in the background.
pub const HATCH_WITHIN: f32 = 0.45;
/// How far the drawing is lightened towards the paper, so that outlines and hatching stand out.
pub const DRAWING_FADE: f32 = 0.36;
/// Below this luminance the drawing's own ground counts as dark and is kept: middle grey.
pub const DARK_GROUND: f32 = 0.18;
/// How far a drawing on a dark ground is lightened: its ground is then pale enough for ink on it.
pub const DARK_FADE: f32 = 0.72;
/// What is brighter than this share of the ground's light is ground: hides the grain of paper and of JPEG.
pub const GRAIN: f32 = 0.95;

/// Weight of the mesh's outline.
pub const MESH_LINE: f32 = 3.2;
/// Weight of the drawing's outline.
pub const DRAWING_LINE: f32 = 1.3;
/// Dashes of the drawing's outline.
pub const DRAWING_DASH: [f32; 2] = [6.0, 3.5];
/// Weight of leader lines and of the chart's curve.
pub const FINE_LINE: f32 = 1.1;
/// Weight of the outline of what turns with an arm, and its dots.
pub const ARM_LINE: f32 = 1.6;
/// See [`ARM_LINE`].
pub const ARM_DASH: [f32; 2] = [0.1, 4.2];
/// Shaft of an arrow that says where an edge is to go.
pub const ARROW_LINE: f32 = 1.7;
/// Length and half width of its head.
pub const ARROW_HEAD: [f64; 2] = [7.5, 3.6];
/// How far its tail begins behind the edge.
pub const ARROW_TAIL: f64 = 13.0;
/// Weight of rules.
pub const HAIRLINE: f32 = 0.8;
/// Dots that mark rows which only one of the two has.
pub const DOTS: [f32; 2] = [0.1, 5.0];
/// Size of these dots.
pub const DOT: f32 = 2.6;
/// Rungs that mark rows in which an edge says nothing.
pub const RUNGS: [f32; 2] = [1.2, 2.8];
/// Width of these rungs.
pub const RUNG: f32 = 9.0;
/// Dashes of a guide line of the sheet.
pub const GUIDE_DASH: [f32; 2] = [9.0, 4.0];
/// Half the height of the mark for a value beyond the chart.
pub const BEYOND_MARK: f64 = 4.0;

/// Height of a picture in points and, unless asked for otherwise, in pixels: it fits a 1080-row screen.
pub const PICTURE_HEIGHT: u32 = 1040;
/// Fewest and most pixels that the height may be given as: text is legible from the one on, a file is handy up to the
/// other.
pub const PICTURE_HEIGHTS: std::ops::RangeInclusive<u32> = 700..=8000;
/// Width of the picture of all views: it fits a 1920-column screen.
pub const PICTURE_WIDTH: f64 = 1880.0;
/// Width of the contact picture in pixels: that of a wide screen.
pub const CONTACT_WIDTH: u32 = 1920;
/// Height and width in pixels of a figure that is kept for a cast's line-up, at most.
pub const FIGURES_TALL: f64 = 720.0;
/// See [`FIGURES_TALL`].
pub const FIGURES_WIDE: f64 = 1440.0;
/// Height of the figure at most: the picture is then [`PICTURE_HEIGHT`] high.
pub const FIGURE: f64 = 800.0;
/// Width of the figure at most: the picture then fits 1920 columns.
pub const WIDEST_FIGURE: f64 = 972.0;
/// Width and height that are kept free for the figure at least, so that the legend and the findings have room.
pub const LEAST_FIGURE: [f64; 2] = [240.0, 300.0];
/// Outer margin.
pub const MARGIN: f64 = 44.0;
/// Space above the figure's pane for title and headings.
pub const TOP: f64 = 124.0;
/// Space below it for scales and legend.
pub const BOTTOM: f64 = 84.0;
/// Space above and below the figure in its pane.
pub const PAD: f64 = 16.0;
/// Column of the landmarks' names and heights.
pub const LABELS: f64 = 104.0;
/// Space beside the figure for the numbers of findings.
pub const DISC_ROOM: f64 = 46.0;
/// Space between columns.
pub const GAP: f64 = 30.0;
/// Width of one edge's chart.
pub const CHART: f64 = 124.0;
/// Space between the charts.
pub const CHART_GAP: f64 = 24.0;
/// Space between charts and findings, for their brackets and leader lines.
pub const LEADERS: f64 = 62.0;
/// Width of the column of findings.
pub const NOTES: f64 = 292.0;
/// Radius of a finding's disc.
pub const DISC: f64 = 11.0;

/// Size of the title.
pub const TITLE: f64 = 26.0;
/// Size of headings and of a finding's first line.
pub const TEXT: f64 = 16.0;
/// Size of labels.
pub const SMALL: f64 = 14.5;
/// Half the height of small letters, times their size: sets a text's middle onto a line.
pub const HALF_LETTER: f64 = 0.33;
/// The shipped font is light; lines heavier by this share of its size bring it to the weight of a book face.
pub const BOOK_WEIGHT: f32 = 0.022;
/// The same for headings.
pub const STRONG_WEIGHT: f32 = 0.062;

/// Points a metre: 144 an inch, so that the height takes 18 cm of an A4 page.
pub const POINTS_PER_METRE: f64 = 5669.0;

/// Contrast of two colours, 1 to 21, by the formula of WCAG 2.2 (relative luminance, sRGB).
pub fn contrast(a: Colour, b: Colour) -> f64 {
    let luminance = |c: Colour| {
        let [r, g, b] = c.map(|v| {
            let v = f64::from(v) / 255.0;
            // The threshold of WCAG 2.2; IEC 61966-2-1 has 0.04045, which no 8-bit value tells apart.
            if v <= 0.03928 {
                v / 12.92
            } else {
                ((v + 0.055) / 1.055).powf(2.4)
            }
        });
        0.2126 * r + 0.7152 * g + 0.0722 * b
    };
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// WCAG 2.2: 4.5 for text (1.4.3), 3 for graphics (1.4.11); black on white is 21 by definition.
    #[test]
    fn text_and_lines_stand_out() {
        assert!((contrast([0; 3], [255; 3]) - 21.0).abs() < 1e-9);
        for text in [INK, QUIET] {
            assert!(contrast(text, PAPER) >= 4.5, "{text:?}");
        }
        for line in [MESH, OVER, UNDER] {
            assert!(contrast(line, PAPER) >= 3.0, "{line:?}");
        }
    }

    /// Contrast on white of two colours of the set, computed apart from this program.
    #[test]
    fn the_pair_is_that_of_the_published_set() {
        assert!((contrast(OVER, [255; 3]) - 3.87).abs() < 0.005);
        assert!((contrast(UNDER, [255; 3]) - 5.19).abs() < 0.005);
    }
}
