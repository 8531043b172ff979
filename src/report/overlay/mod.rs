//! The overlay of one view: the drawing in its place, the mesh over it, what differs, and the row chart beside it.
//!
//! Made from the report and the outlines alone, without a clock: the same input gives the same bytes.

mod canvas;
mod chart;
mod figure;
mod notes;

use canvas::Canvas;

use crate::check::Shown;
use crate::compare::wording::length;
use crate::error::Result;
use crate::report::look::{
    BOTTOM, CHART, DRAWING_DASH, DRAWING_LINE, FIGURE_PX, INK, MESH_LINE, NOTES, OVER, QUIET, SIDE, SMALL,
    TEXT, TITLE, TOP, UNDER, WIDEST_FIGURE_PX,
};
use crate::report::model::Report;
use crate::report::terminal::verdict;
use crate::sheet::picture::Picture;
use crate::sheet::read::Reading;
use crate::space::{Bounds, ViewUnits};

/// What an overlay shows.
pub struct Subject<'a> {
    /// The finished result.
    pub report: &'a Report,
    /// Index of the view.
    pub view: usize,
    /// The view's outlines and place.
    pub shown: &'a Shown,
    /// The image that the view was drawn in.
    pub picture: &'a Picture,
    /// How that image was read.
    pub reading: &'a Reading,
}

/// Where units of the view lie in the picture.
struct Frame {
    /// Picture column of view x = 0 and row of view y = 0.
    zero: (f64, f64),
    /// Pixels a unit.
    scale: f64,
    /// The figure's pane: left, top, right, bottom.
    pane: [f64; 4],
}

impl Frame {
    fn at(&self, x: f64, y: f64) -> (f64, f64) {
        (self.zero.0 + x * self.scale, self.zero.1 - y * self.scale)
    }
}

/// Draws and encodes the overlay of one view.
///
/// # Errors
/// The view has no size.
pub fn overlay(subject: &Subject<'_>) -> Result<Vec<u8>> {
    let rings = subject
        .shown
        .drawing
        .rings
        .iter()
        .chain(&subject.shown.mesh.rings)
        .flatten()
        .copied();
    let extent: Bounds<ViewUnits> = Bounds::around(rings)
        .ok_or_else(|| crate::Error::new("the view is empty, there is nothing to draw"))?;
    let scale = (FIGURE_PX / extent.height().max(1e-9)).min(WIDEST_FIGURE_PX / extent.width().max(1e-9));
    let (w, h) = (extent.width() * scale, extent.height() * scale);
    // A narrow figure still needs room for its scale bar and legend.
    let pane_width = w.max(380.0) + 2.0 * SIDE;
    let pane = [0.0, TOP - 16.0, pane_width, TOP + h + 16.0];
    let middle = f64::midpoint(extent.x0, extent.x1);
    let frame = Frame {
        zero: (pane_width / 2.0 - middle * scale, TOP + extent.y1 * scale),
        scale,
        pane,
    };
    let width = (pane_width + CHART + NOTES + SIDE / 2.0).ceil() as usize;
    let mut canvas = Canvas::new(width, (TOP + h + BOTTOM).ceil() as usize)?;
    figure::draw(&mut canvas, subject, &frame);
    chart::draw(&mut canvas, subject, &frame, pane_width);
    notes::draw(&mut canvas, subject, &frame, pane_width + CHART + 12.0);
    title(&mut canvas, subject, width as f64);
    legend(&mut canvas, subject, &frame, TOP + h + 50.0);
    canvas.encode()
}

fn file_name(path: &str) -> String {
    path.rsplit(['/', '\\']).next().unwrap_or(path).to_string()
}

fn title(canvas: &mut Canvas, subject: &Subject<'_>, width: f64) {
    let report = subject.report;
    let view = &report.views[subject.view].name;
    let height = report.figure_height;
    let tolerance = report.settings.tolerance_pct;
    let unit = &report.unit;
    let room = width - SIDE;
    canvas.text_within(
        &format!("{view} view — {}", verdict(report)),
        TITLE,
        SIDE / 2.0,
        36.0,
        room,
        INK,
    );
    let line = format!(
        "{} against {}   ·   tolerance {tolerance} % of the height = {}{}{unit}",
        file_name(&report.inputs.mesh.path),
        report
            .inputs
            .sheets
            .get(subject.shown.image)
            .map(|s| file_name(&s.path))
            .unwrap_or_default(),
        length(tolerance / 100.0 * height, height),
        if unit.is_empty() { "" } else { " " },
    );
    canvas.text_within(&line, SMALL, SIDE / 2.0, 60.0, room, QUIET);
}

/// A length of 1, 2 or 5 times a power of ten that is at most `most`.
fn round_length(most: f64) -> f64 {
    let power = 10f64.powf(most.log10().floor());
    [5.0, 2.0, 1.0]
        .into_iter()
        .map(|m| m * power)
        .find(|l| *l <= most)
        .unwrap_or(power)
}

fn legend(canvas: &mut Canvas, subject: &Subject<'_>, frame: &Frame, y: f64) {
    let bar = round_length(150.0 / frame.scale);
    let x = SIDE / 2.0;
    let end = x + bar * frame.scale;
    canvas.line(&[(x, y - 4.0), (x, y + 4.0)], false, 1.5, &[], INK);
    canvas.line(&[(x, y), (end, y)], false, 1.5, &[], INK);
    canvas.line(&[(end, y - 4.0), (end, y + 4.0)], false, 1.5, &[], INK);
    let unit = if subject.report.unit.is_empty() {
        "units"
    } else {
        &subject.report.unit
    };
    canvas.text(&format!("{bar} {unit}"), SMALL, end + 8.0, y + 5.0, INK);

    let y = y + 34.0;
    let mut x = SIDE / 2.0;
    canvas.line(&[(x, y - 5.0), (x + 30.0, y - 5.0)], false, MESH_LINE, &[], INK);
    x += 38.0;
    x = label(canvas, "mesh", x, y);
    canvas.line(
        &[(x, y - 5.0), (x + 34.0, y - 5.0)],
        false,
        DRAWING_LINE,
        &DRAWING_DASH,
        UNDER,
    );
    x += 42.0;
    x = label(canvas, "outline as drawn", x, y);
    for (over, text) in [(true, "mesh beyond the drawing"), (false, "mesh short of it")] {
        for dy in 0..16 {
            for dx in 0..30 {
                let (px, py) = (x as usize + dx, (y - 13.0) as usize + dy);
                if figure::hatched(px as i64, py as i64, over) {
                    canvas.set(px, py, if over { OVER } else { UNDER });
                }
            }
        }
        x = label(canvas, text, x + 38.0, y);
    }
}

fn label(canvas: &mut Canvas, text: &str, x: f64, y: f64) -> f64 {
    canvas.text(text, SMALL, x, y, INK);
    x + canvas.width_of(text, SMALL) + 24.0
}

/// Text size of notes, for the parts that share it.
const NOTE: f64 = TEXT;
