//! A character's two figures, drawing and shaded mesh, side by side on nothing but paper: what a line-up of a whole cast
//! is put together from. The picture says its scale and where its ground is.

use std::path::Path;

use super::canvas::Canvas;
use super::contact::{drawing, solid};
use super::frame::{Pane, Stage};
use super::shrunk::AllShrunk;
use super::{Subject, extent, png};
use crate::error::{Error, Result};
use crate::mesh::Mesh;
use crate::report::look::{FIGURES_TALL, FIGURES_WIDE};
use crate::report::solid::Body;

/// What the picture calls its scale and its ground.
const SCALE: &str = "Units per pixel";
const GROUND: &str = "Ground row";
/// Paper around each figure, pixels.
const AROUND: f64 = 4.0;

/// Size and scale of a picture of figures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct FiguresSize {
    /// Pixels: both panes together, half of it each.
    pub(crate) width: u32,
    /// Pixels.
    pub(crate) height: u32,
    /// The mesh's units.
    pub(crate) units_per_px: f64,
    /// Row of the ground, from the top.
    pub(crate) ground_px: f64,
}

impl FiguresSize {
    /// Reads the head of a picture of this program.
    pub(crate) fn read(path: &Path) -> Result<Self> {
        let no = || {
            Error::new("these are no figures of this program")
                .in_file(path)
                .advise("check the character again")
        };
        let file = std::fs::File::open(path).map_err(|_| no())?;
        let reader = ::png::Decoder::new(std::io::BufReader::new(file))
            .read_info()
            .map_err(|_| no())?;
        let info = reader.info();
        let number = |name: &str| {
            let said = info.uncompressed_latin1_text.iter().find(|t| t.keyword == name);
            said.and_then(|t| t.text.parse::<f64>().ok())
                .filter(|v| v.is_finite() && *v > 0.0)
                .ok_or_else(no)
        };
        Ok(Self {
            width: info.width,
            height: info.height,
            units_per_px: number(SCALE)?,
            ground_px: number(GROUND)?,
        })
    }
}

/// Draws and encodes the figures of the front view, or of the first one where there is no front.
///
/// # Errors
/// There are no views, or the view has no outline.
pub fn figures(subjects: &[Subject<'_>], mesh: &Mesh) -> Result<Vec<u8>> {
    let subject = subjects
        .iter()
        .find(|s| s.view().name == "front")
        .or(subjects.first())
        .ok_or_else(|| Error::new("there are no views to draw"))?;
    let all = extent(&subject.shown.drawing, &subject.shown.mesh)?;
    let ground = subject.report.ground_y;
    let scale = (FIGURES_TALL / all.height()).min(FIGURES_WIDE / all.width());
    if !(scale.is_finite() && scale > 0.0) {
        return Err(Error::new("the view has no size, there is nothing to draw"));
    }
    let pane = Pane {
        left: 0.0,
        top: 0.0,
        width: (all.width() * scale + 2.0 * AROUND).ceil(),
        height: (all.height() * scale + 2.0 * AROUND).ceil(),
    };
    let stage = |left: f64| Stage {
        pane: Pane { left, ..pane },
        zero: (left + AROUND - all.x0 * scale, AROUND + all.y1 * scale),
        scale,
    };
    let (left, right) = (stage(0.0), stage(pane.width));
    let mut canvas = Canvas::new(2.0 * pane.width, pane.height, 1.0)?;
    let shrunk = AllShrunk::new([(subject, scale)]);
    drawing(&mut canvas, subject, &left, &shrunk);
    let body = Body::new(mesh, subject.shown.placed.azimuth);
    solid(&mut canvas, &body, &right, subject.report.figure_height);
    let said = [
        (SCALE, scale.recip().to_string()),
        (GROUND, left.row(ground).to_string()),
    ];
    png::encode_smooth(canvas.pixmap(), 1.0, &said)
}
