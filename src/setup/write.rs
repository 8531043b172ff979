//! A setup file as it is first written: what was found in an image, every line with what it is for.

use std::fmt::Write as _;

use crate::sheet::edge::LineEdge;

/// What was found in an image, for its first setup.
#[derive(Debug, Clone, Default)]
pub struct Found {
    /// The image's path, relative to where the setup will lie.
    pub file: String,
    /// Which edge of the line was taken.
    pub line_edge: LineEdge,
    /// How far a mark departs from the paper.
    pub threshold: u8,
    /// The widest opening that is closed, percent of the figure height.
    pub widest_gap: f64,
    /// The views.
    pub views: Vec<FoundView>,
    /// The guide lines.
    pub guides: Vec<FoundGuide>,
    /// Enclosed areas that are paper-coloured and large enough to matter.
    pub areas: Vec<FoundArea>,
}

/// A view as it was found.
#[derive(Debug, Clone)]
pub struct FoundView {
    /// Its name.
    pub name: String,
    /// Its box.
    pub box_px: [f64; 4],
    /// How sure the reading is.
    pub confidence: f64,
    /// What made the reader unsure.
    pub warnings: Vec<String>,
}

/// A guide line as it was found.
#[derive(Debug, Clone)]
pub struct FoundGuide {
    /// Its height on the levelled sheet.
    pub y_px: f64,
}

/// An enclosed area as it was found.
#[derive(Debug, Clone)]
pub struct FoundArea {
    /// A place in it.
    pub place: [f64; 2],
    /// It was taken as ground, not as part of the figure.
    pub ground: bool,
}

/// A whole setup for an image.
pub fn write(found: &Found) -> String {
    let mut out = String::from(
        "# Setup for drawntrue. Every line may be changed or taken out; what is taken out is found anew.\n\
         # Options on the command line win over this file. Paths are relative to it. Pixels are those of the\n\
         # upright picture, the first one reaches from 0 to 1; x to the right, y down.\n\
         \n\
         # Name of the mesh's unit of length.\n\
         unit = \"\"\n\
         # Height of the drawn figure from ground to crown in mesh units, its ground at y = 0; without this line\n\
         # scale and ground are found.\n\
         # figure-height = 180.0\n\
         # Piece by piece, what is not given is still found: mesh units for a pixel of the leading view's image, and\n\
         # the mesh height at which its drawn ground lies.\n\
         # scale = 0.14\n\
         # ground = 0.0\n\
         # The view that leads where the drawn views differ: \"front\" or \"side\".\n\
         # lead = \"front\"\n\
         # Compare the surface after so many Catmull-Clark steps (1 to 5), or \"limit\"; without this line the cage.\n\
         # smooth = 2\n\
         # Keep the first placement of a series beside the results and use it in later runs.\n\
         # hold-placement = true\n\
         # How far the mesh may lie off the drawing, percent of the figure height.\n\
         tolerance = 1.0\n\
         # Also in percent of the local width: the closer of the two limits holds.\n\
         # tolerance-width = 10.0\n\
         # Or the tolerances of a stage of the work, where the two above are not given: \"block-in\", \"refine\" or\n\
         # \"final\".\n\
         # stage = \"refine\"\n\
         # Parts that the mesh does not have yet are listed but not held against it.\n\
         unfinished = false\n\
         # The mesh's arms: \"as-modelled\", \"drop\", \"ignore\", or degrees below the horizontal. Where the shoulders are not\n\
         # found: [[arm]] with side = \"left\" or \"right\" (the character's own), joint = [x, y, z] or joint-group or\n\
         # joint-vertices (whose middle it is), axis = [x, y, z] outwards, group or vertices (that are the arm).\n\
         # arms = \"drop\"\n\
         # Hold the proportions against a canon, or against landmarks.csv of another character.\n\
         # canon = \"segments\"\n\
         \n\
         [mesh]\n\
         # Axis of the file that points up: \"y\" (facing z) or \"z\" (facing -y), and the one that the figure looks\n\
         # along: \"x\", \"-x\", \"y\", \"-y\", \"z\" or \"-z\"; without these lines they are told from the drawing.\n\
         # up = \"y\"\n\
         # facing = \"z\"\n\
         # The mesh is one half, to be mirrored and joined.\n\
         mirror = false\n\
         # Only these groups count (none named: all), and these do not.\n\
         groups = []\n\
         skip-groups = []\n\
         # Where the mirror plane x lies; without this line it is found.\n\
         # plane = 0.0\n\
         # Open borders that are meant, each named by one of its vertices, counted from 0 (a neck, a cuff).\n\
         borders = []\n",
    );
    out += &append(found);
    out
}

/// The part of a setup that is about one image, to be put behind what is there.
pub fn append(found: &Found) -> String {
    let mut out = String::new();
    let edge = match found.line_edge {
        LineEdge::Centre => "centre",
        LineEdge::Outer => "outer",
        LineEdge::Inner => "inner",
    };
    let places = |ground: bool| -> String {
        let all: Vec<String> = found
            .areas
            .iter()
            .filter(|a| a.ground == ground)
            .map(|a| format!("[{:.1}, {:.1}]", a.place[0], a.place[1]))
            .collect();
        format!("[{}]", all.join(", "))
    };
    // Writing to a string cannot fail.
    let _ = write!(
        out,
        "\n[[image]]\n\
         file = {}\n\
         # What it shows: \"sheet\" (all views), \"front\", \"side\", \"back\" or \"top\".\n\
         shows = \"sheet\"\n\
         # Which edge of an ink line is the outline: \"centre\", \"outer\" or \"inner\".\n\
         line-edge = \"{edge}\"\n\
         # How far a mark departs from the paper, 1 to 254. Lower: fainter lines count.\n\
         threshold = {}\n\
         # A wider opening of the outline is left open, percent of the figure height.\n\
         widest-gap = {:?}\n\
         # Boxes [x0, y0, x1, y1] that are read as empty paper: a label that touches the outline, a stain.\n\
         erase = []\n\
         # Places [x, y] in enclosed areas that are ground (between an arm and the body), and in such that belong\n\
         # to the figure.\n\
         ground = {}\n\
         surface = {}\n",
        quoted(&found.file),
        found.threshold,
        found.widest_gap,
        places(true),
        places(false),
    );
    if !found.views.is_empty() {
        out += "\n# The views. Where some are listed, no others are taken. Names: \"front\", \"side\", \"back\",\n\
                # \"three-quarter\", \"top\". A line axis = 512.0 gives the column of the levelled sheet that lies on the\n\
                # mesh's own axis; without it that is found.\n";
    }
    for v in &found.views {
        let [x0, y0, x1, y1] = v.box_px;
        let _ = write!(out, "\n# Read with confidence {:.2}.\n", v.confidence);
        for w in &v.warnings {
            let _ = writeln!(out, "# {}", w.replace(char::is_control, " "));
        }
        let _ = write!(
            out,
            "[[image.view]]\nname = \"{}\"\nbox = [{x0:.1}, {y0:.1}, {x1:.1}, {y1:.1}]\n",
            v.name
        );
    }
    if !found.guides.is_empty() {
        out += "\n# The sheet's guide lines: height on the levelled sheet, and the place of the body that each marks.\n";
    }
    for g in &found.guides {
        let _ = write!(out, "\n[[image.guide]]\ny = {:.2}\nmeans = \"\"\n", g.y_px);
    }
    out
}

/// A TOML basic string (TOML 1.0, "String").
fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => out += "\\\"",
            '\\' => out += "\\\\",
            c if c.is_control() => {
                let _ = write!(out, "\\u{:04X}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out + "\""
}
