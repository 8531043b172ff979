//! Palette, sizes and line weights of every picture, in one place.
//!
//! Colours are of the set of Okabe and Ito (2008), which stays distinct for colour-blind eyes; over and under are
//! told apart by the direction of their hatching first.

/// Red, green, blue.
pub type Colour = [u8; 3];

/// The ground of a picture.
pub const PAPER: Colour = [252, 252, 250];
/// Text and the mesh's outline.
pub const INK: Colour = [28, 32, 38];
/// Secondary text (contrast above 4.5 on [`PAPER`]).
pub const QUIET: Colour = [92, 97, 105];
/// Thin rules.
pub const RULE: Colour = [200, 203, 207];
/// The tolerance band.
pub const BAND: Colour = [232, 236, 238];
/// The mesh reaches beyond the drawing: vermilion, hatched upwards to the right.
pub const OVER: Colour = [0xD5, 0x5E, 0x00];
/// The mesh falls short of the drawing: blue, hatched downwards to the right.
pub const UNDER: Colour = [0x00, 0x72, 0xB2];
/// The inside of the mesh.
pub const MESH_TINT: Colour = [150, 165, 180];
/// How strongly the inside of the mesh is tinted.
pub const MESH_TINT_SHARE: f32 = 0.16;

/// Height of the figure in a picture, pixels: the picture then fits a 1080-row screen.
pub const FIGURE_PX: f64 = 850.0;
/// Widest figure, pixels.
pub const WIDEST_FIGURE_PX: f64 = 1200.0;
/// Space above the figure for the title.
pub const TOP: f64 = 116.0;
/// Space below it for scale bar and legend.
pub const BOTTOM: f64 = 104.0;
/// Space at the sides.
pub const SIDE: f64 = 56.0;
/// Width of the row chart.
pub const CHART: f64 = 270.0;
/// Width of the column of findings.
pub const NOTES: f64 = 300.0;
/// Pixels a metre written into the file: 144 a inch, so that the height takes 18 cm of an A4 page.
pub const PIXELS_PER_METRE: u32 = 5669;
/// Distance of two hatch lines, pixels.
pub const HATCH: i64 = 7;
/// Thickness of a hatch line, pixels.
pub const HATCH_LINE: i64 = 2;
/// Weight of the mesh's outline.
pub const MESH_LINE: f32 = 2.2;
/// Weight of the drawing's outline.
pub const DRAWING_LINE: f32 = 1.3;
/// Dashes of the drawing's outline.
pub const DRAWING_DASH: [f32; 2] = [6.0, 4.0];
/// Sizes of text: title, text, small.
pub const TITLE: f64 = 24.0;
/// Body text.
pub const TEXT: f64 = 17.0;
/// Labels.
pub const SMALL: f64 = 14.5;
