//! The overlay of one view: the drawing in its place, the mesh over it, what differs, and the row charts beside it.
//!
//! Made from the report, the outlines and the picture alone, without a clock: the same input gives the same bytes.
//! Heights are the same in all columns: a row of the figure, of the charts and a landmark's rule lie level.

mod all;
mod arrows;
pub(crate) mod canvas;
mod chain;
mod chart;
mod contact;
mod drawing;
mod figure;
mod figures;
mod fill;
mod frame;
mod glyph;
mod hatch;
mod heading;
mod heights;
mod joints;
mod legend;
mod light;
mod marks;
mod notes;
pub(crate) mod png;
mod reader;
mod shrunk;
mod spread;
mod steps;
pub(crate) mod text;

use rayon::prelude::*;

use crate::check::Shown;
use crate::compare::wording::{edges, length};
use crate::error::{Error, Result};
use crate::profile::Outline;
use crate::report::look::{CHART, PICTURE_HEIGHT};
use crate::report::model::{Report, View};
use crate::report::terminal::clean;
use crate::sheet::picture::Picture;
use crate::sheet::read::Reading;
use crate::space::{Bounds, ViewUnits};

pub use contact::contact;
pub use figures::figures;
pub use steps::StepPictures;

pub(crate) use all::twins;
pub(crate) use figures::FiguresSize;
pub(crate) use heading::words;
pub(crate) use heights::told as heights;
pub(crate) use light::{Light, decode as light_of, encode as encode_light};

use all::Plan;
use canvas::{Canvas, Spare};
use figure::Figure;
use frame::Frame;
use shrunk::AllShrunk;

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

impl Subject<'_> {
    fn view(&self) -> &View {
        &self.report.views[self.view]
    }

    /// The cage's outline, where the smoothed surface is what counts.
    fn cage(&self) -> Option<&Outline<ViewUnits>> {
        let smoothed = self.report.settings.smooth.is_some();
        self.shown.other.as_ref().filter(|_| smoothed)
    }

    /// The tolerance in units.
    fn tolerance(&self) -> f64 {
        self.report.settings.tolerance_pct / 100.0 * self.report.figure_height
    }

    /// A length in digits that count, as the findings say it; what rounds to nothing has no sign.
    fn length(&self, value: f64) -> String {
        let text = self.signed(value);
        text.strip_prefix('+').map(str::to_string).unwrap_or(text)
    }

    /// A difference with its sign; what rounds to nothing has none.
    fn signed(&self, value: f64) -> String {
        let text = length(value.abs(), self.report.figure_height);
        if text.bytes().all(|b| matches!(b, b'0' | b'.')) {
            text
        } else {
            format!("{}{text}", if value < 0.0 { '−' } else { '+' })
        }
    }

    /// The unit's label with a blank before it, or nothing.
    fn unit(&self) -> String {
        if self.report.unit.is_empty() {
            String::new()
        } else {
            format!(" {}", clean(&self.report.unit))
        }
    }

    /// What the left and the right edge are called.
    fn edges(&self) -> [&'static str; 2] {
        let (left, right) = edges(self.shown.placed.facing);
        [left, right]
    }
}

/// Draws and encodes the overlay of one view: a PNG of sRGB colours, `height` pixels high, less if the figure is wide.
///
/// # Errors
/// The view has no outline, there is no such view, its coordinates are not finite, or `height` is none that a picture
/// can have.
pub fn overlay(subject: &Subject<'_>, height: u32) -> Result<Vec<u8>> {
    let canvas = draw(subject, height)?;
    encoded(canvas)
}

/// Draws and encodes the overlay of all views side by side, at one scale on one ground line, with all findings: the one
/// picture to send. `height` as in [`overlay`].
///
/// # Errors
/// As [`overlay`]; there are no views.
pub fn overlay_all(subjects: &[Subject<'_>], height: u32) -> Result<Vec<u8>> {
    let canvas = draw_all(subjects, height)?;
    encoded(canvas)
}

/// Both: the overlay of all views, and that of each.
///
/// # Errors
/// As [`overlay_all`].
pub fn overlays(subjects: &[Subject<'_>], height: u32) -> Result<(Vec<u8>, Vec<Vec<u8>>)> {
    let plan = Plan::new(subjects)?;
    let frames = subjects.iter().map(frame).collect::<Result<Vec<_>>>()?;
    // Reducing a large sheet takes longer than drawing: pictures of about one scale share it.
    let stages = plan.stages.iter().chain(frames.iter().map(|f| &f.stage));
    let scales = stages.map(|s| s.scale * unit(height));
    let shrunk = AllShrunk::new(subjects.iter().chain(subjects).zip(scales));
    let spare = Spare::default();
    let encoded = |canvas: Canvas| {
        let unit = canvas.unit();
        let (png, memory) = png::encode_and_keep(canvas.into_pixmap(), unit)?;
        spare.give(memory);
        Ok(png)
    };
    let (all, single) = rayon::join(
        || plan.draw(height, &shrunk, spare.take()).and_then(encoded),
        || {
            let both = subjects.par_iter().zip(&frames);
            both.map(|(s, frame)| draw_in(s, frame, height, &shrunk, spare.take()).and_then(encoded))
                .collect::<Result<Vec<_>>>()
        },
    );
    Ok((all?, single?))
}

fn encoded(canvas: Canvas) -> Result<Vec<u8>> {
    let unit = canvas.unit();
    png::encode(canvas.into_pixmap(), unit)
}

/// Pixels a point of a picture of this height.
fn unit(height: u32) -> f64 {
    f64::from(height) / f64::from(PICTURE_HEIGHT)
}

/// The layout of one view's picture.
fn frame(subject: &Subject<'_>) -> Result<Frame> {
    if subject.view >= subject.report.views.len() {
        return Err(Error::new(format!(
            "there is no view {} to draw",
            subject.view + 1
        )));
    }
    Frame::new(extent(&subject.shown.drawing, &subject.shown.mesh)?)
}

fn draw(subject: &Subject<'_>, height: u32) -> Result<Canvas> {
    let frame = frame(subject)?;
    let shrunk = AllShrunk::new([(subject, frame.stage.scale * unit(height))]);
    draw_in(subject, &frame, height, &shrunk, Vec::new())
}

fn draw_all(subjects: &[Subject<'_>], height: u32) -> Result<Canvas> {
    let plan = Plan::new(subjects)?;
    let scales = plan.stages.iter().map(|s| s.scale * unit(height));
    let shrunk = AllShrunk::new(subjects.iter().zip(scales));
    plan.draw(height, &shrunk, Vec::new())
}

fn draw_in(
    subject: &Subject<'_>,
    frame: &Frame,
    height: u32,
    shrunk: &AllShrunk<'_>,
    memory: Vec<u8>,
) -> Result<Canvas> {
    let mut canvas = Canvas::on(memory, frame.width, frame.height, unit(height))?;
    let figure = Figure::new(subject, &frame.stage);
    let reduced = shrunk.of(subject, frame.stage.scale * canvas.unit());
    figure.areas(&mut canvas, subject, &frame.stage, reduced);
    let rules = [frame.charts[1] + CHART, frame.stage.pane.right()];
    heights::draw(&mut canvas, subject, &frame.stage, rules);
    figure.outlines(&mut canvas);
    joints::draw(&mut canvas, subject, &frame.stage);
    arrows::draw(&mut canvas, subject, &frame.stage);
    chart::draw(&mut canvas, subject, frame);
    marks::draw(&mut canvas, subject, &frame.stage);
    notes::draw(&mut canvas, subject, frame);
    heading::draw(&mut canvas, subject, frame);
    legend::bar(&mut canvas, subject, &frame.stage);
    let size = (frame.width, frame.height);
    legend::draw(&mut canvas, subject, &frame.stage, size, true);
    Ok(canvas)
}

/// The box around both outlines, or around the only one there is.
fn extent(drawing: &Outline<ViewUnits>, mesh: &Outline<ViewUnits>) -> Result<Bounds<ViewUnits>> {
    Bounds::around(drawing.rings.iter().chain(&mesh.rings).flatten().copied())
        .ok_or_else(|| Error::new("the view is empty, there is nothing to draw"))
}

/// The largest of some round numbers (descending, ending in 1) times a power of ten that is at most `most`, for scales.
pub(crate) fn round_length(most: f64, round: &[f64]) -> f64 {
    let power = 10f64.powf(most.log10().floor());
    round
        .iter()
        .map(|m| m * power)
        .find(|l| *l <= most)
        .unwrap_or(power)
}

/// A scale's number: no zeros behind it, a true minus.
pub(crate) fn scale_number(value: f64) -> String {
    // Powers of ten carry a rounding error; nine decimals hide it.
    let text = format!("{:.9}", value.abs());
    text.trim_end_matches('0').trim_end_matches('.').to_string()
}

#[cfg(test)]
mod tests;
