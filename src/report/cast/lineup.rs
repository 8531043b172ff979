//! The picture of a cast: every character's drawing and mesh, seen from the front, at one scale on one ground line.
//!
//! Each character's two figures lie in its folder at a size of their own (see `overlay::figures`); here they are brought to
//! the common scale. The picture is written line by line of figures, so that a large cast takes no more memory than a
//! small one. A cast that is too wide for one ground line gets more of them.

use std::io::Write;
use std::path::PathBuf;

use image::RgbImage;
use image::imageops::{FilterType, resize};
use png::{BitDepth, ColorType, Compression, Encoder};

use super::Character;
use super::page::MOST_CARRIED;
use crate::error::{Error, Result};
use crate::report::files::FIGURES;
use crate::report::look::{
    CONTACT_WIDTH, FINE_LINE, HAIRLINE, HALF_LETTER, INK, MARGIN, PAPER, QUIET, RULE, SMALL, TEXT, TITLE,
};
use crate::report::overlay::canvas::{Canvas, Pen, Weight};
use crate::report::overlay::{FiguresSize, round_length, scale_number};
use crate::report::terminal::clean;

/// Pixels a point, as in the contact picture.
const UNIT: f64 = 1.25;
/// Width in points.
const WIDTH: f64 = CONTACT_WIDTH as f64 / UNIT;
/// Height of the tallest figure in points: at most, and at least before the cast is broken into lines.
const TALL: [f64; 2] = [500.0, 250.0];
/// Room for the heights' numbers at the left.
const HEIGHTS: f64 = 64.0;
/// Space between two characters, and between a drawing and its mesh.
const SPACES: [f64; 2] = [36.0, 10.0];
/// Steps of the search for a scale: each halves what is left of it.
const HALVINGS: usize = 40;
/// Room of a character at least, for its name.
const NAME: f64 = 128.0;
/// Space above the first line, above each line's figures, and below their ground for names.
const ROOMS: [f64; 3] = [86.0, 26.0, 66.0];
/// Heights that are marked, at most.
const MARKS: f64 = 6.0;

/// Known units of length in metres (SI; international yard and pound agreement of 1959).
const METRES: [(&str, f64); 5] = [
    ("mm", 0.001),
    ("cm", 0.01),
    ("m", 1.0),
    ("in", 0.0254),
    ("ft", 0.3048),
];

/// A character that has figures.
struct Standing<'a> {
    character: &'a Character,
    path: PathBuf,
    size: FiguresSize,
    /// Common units one of its own.
    units: f64,
}

impl Standing<'_> {
    /// Width of both figures, and height above and below the ground, common units.
    fn extent(&self) -> [f64; 3] {
        let s = self.size.units_per_px * self.units;
        let pane = f64::from(self.size.width) / 2.0 * s;
        let above = self.size.ground_px * s;
        [2.0 * pane, above, f64::from(self.size.height) * s - above]
    }

    /// Points from its left to its right at a scale.
    fn room(&self, scale: f64) -> f64 {
        (self.extent()[0] * scale + SPACES[1]).max(NAME)
    }
}

/// Writes the picture by `write`, which is told how to fill a file; gives its bytes back where they are few enough for a
/// page to carry.
///
/// # Errors
/// A character's figures cannot be read, or the picture cannot be written.
pub fn lineup(
    all: &[Character],
    write: impl FnOnce(&mut dyn FnMut(&mut dyn Write) -> Result<()>) -> Result<PathBuf>,
) -> Result<Option<Vec<u8>>> {
    let standing = standing(all);
    let scale = Scale::new(&standing);
    let path = write(&mut |to| picture(&standing, &scale, all.len(), to))?;
    let short = std::fs::metadata(&path).is_ok_and(|m| m.len() <= MOST_CARRIED as u64);
    Ok(short.then(|| std::fs::read(&path).ok()).flatten())
}

/// The characters that have figures. Units that are all known lengths are brought to metres.
fn standing(all: &[Character]) -> Vec<Standing<'_>> {
    let metres = |c: &Character| METRES.iter().find(|(u, _)| *u == c.unit).map(|(_, m)| *m);
    let checked = || all.iter().filter(|c| c.error.is_none());
    let known = checked().all(|c| metres(c).is_some());
    checked()
        .filter_map(|character| {
            let path = character.folder.join(FIGURES);
            let size = FiguresSize::read(&path).ok()?;
            let units = if known { metres(character)? } else { 1.0 };
            Some(Standing {
                character,
                path,
                size,
                units,
            })
        })
        .collect()
}

/// The common scale, and which characters stand on which ground line.
struct Scale {
    /// Points a common unit.
    scale: f64,
    /// Numbers of the first and behind the last character of each line.
    lines: Vec<std::ops::Range<usize>>,
    /// Largest heights above and below the ground, common units.
    above: f64,
    below: f64,
}

impl Scale {
    fn new(standing: &[Standing<'_>]) -> Self {
        let extents: Vec<[f64; 3]> = standing.iter().map(Standing::extent).collect();
        let most = |k: usize| extents.iter().map(|e| e[k]).fold(0.0, f64::max);
        let (above, below) = (most(1), most(2));
        if !(above.is_finite() && above > 0.0) {
            return Self {
                scale: 1.0,
                lines: Vec::new(),
                above: 0.0,
                below: 0.0,
            };
        }
        let [large, small] = TALL.map(|t| t / above);
        let room = WIDTH - 2.0 * MARGIN - HEIGHTS;
        // All on one line at the largest scale that allows it: rooms grow with it, so halving finds it.
        let needs = |scale: f64| {
            let rooms: f64 = standing.iter().map(|s| s.room(scale) + SPACES[0]).sum();
            rooms - SPACES[0]
        };
        let (mut fits, mut too_wide) = (0.0, large);
        for _ in 0..HALVINGS {
            let scale = f64::midpoint(fits, too_wide);
            if needs(scale) <= room {
                fits = scale;
            } else {
                too_wide = scale;
            }
        }
        let one_line = if needs(large) <= room { large } else { fits };
        // No figure is wider than a line.
        let widest = (room - SPACES[1]) / most(0);
        let scale = if one_line >= small { one_line } else { small }.min(widest);
        let mut lines = Vec::new();
        let (mut first, mut x) = (0, 0.0);
        for (i, s) in standing.iter().enumerate() {
            let wide = s.room(scale);
            if i > first && x + wide > room + 1e-6 {
                lines.push(first..i);
                (first, x) = (i, 0.0);
            }
            x += wide + SPACES[0];
        }
        if first < extents.len() {
            lines.push(first..extents.len());
        }
        Self {
            scale,
            lines,
            above,
            below,
        }
    }

    /// Height of one line of figures, points, whole pixels.
    fn line(&self) -> f64 {
        let high = ROOMS[1] + (self.above + self.below) * self.scale + ROOMS[2];
        (high * UNIT).ceil() / UNIT
    }
}

fn failed(e: &dyn std::fmt::Display) -> Error {
    Error::new(format!("the line-up cannot be written ({e})")).advise("make room on the disk")
}

/// Encodes the picture line by line.
fn picture(standing: &[Standing<'_>], scale: &Scale, count: usize, to: &mut dyn Write) -> Result<()> {
    let head = head(scale, standing, count)?;
    let line_px = (scale.line() * UNIT).round() as u32;
    let height = head.pixmap().height() + line_px * scale.lines.len() as u32;
    let mut encoder = Encoder::new(to, CONTACT_WIDTH, height);
    encoder.set_depth(BitDepth::Eight);
    encoder.set_color(ColorType::Rgb);
    encoder.set_compression(Compression::Balanced);
    encoder.set_source_srgb(png::SrgbRenderingIntent::Perceptual);
    let mut writer = encoder.write_header().map_err(|e| failed(&e))?;
    let mut stream = writer.stream_writer().map_err(|e| failed(&e))?;
    let mut send = |canvas: &Canvas| {
        let rows: Vec<u8> = canvas
            .pixmap()
            .data()
            .chunks_exact(4)
            .flat_map(|p| [p[0], p[1], p[2]])
            .collect();
        stream.write_all(&rows).map_err(|e| failed(&e))
    };
    send(&head)?;
    for range in &scale.lines {
        let canvas = line(&standing[range.clone()], scale)?;
        send(&canvas)?;
    }
    stream.finish().map_err(|e| failed(&e))?;
    writer.finish().map_err(|e| failed(&e))
}

/// The title.
fn head(scale: &Scale, standing: &[Standing<'_>], count: usize) -> Result<Canvas> {
    let mut canvas = Canvas::new(WIDTH, ROOMS[0], UNIT)?;
    let passed = standing.iter().filter(|s| s.character.status == 0).count();
    let end = canvas.text(
        &format!("{passed} of {count} on model"),
        1.35 * TITLE,
        Weight::Strong,
        (MARGIN, 52.0),
        INK,
    );
    let lines = if scale.lines.len() > 1 {
        "all at one scale"
    } else {
        "at one scale on one ground line"
    };
    let absent = count - standing.len();
    let absent = if absent > 0 {
        format!(";  {absent} not shown: not checked")
    } else {
        String::new()
    };
    let text = format!("drawing and mesh, {lines}{absent}");
    canvas.text(&text, TEXT, Weight::Book, (end + 20.0, 52.0), QUIET);
    Ok(canvas)
}

/// One line of figures on its ground.
fn line(standing: &[Standing<'_>], scale: &Scale) -> Result<Canvas> {
    let mut canvas = Canvas::new(WIDTH, scale.line(), UNIT)?;
    let ground = ROOMS[1] + scale.above * scale.scale;
    let used: f64 = standing
        .iter()
        .map(|s| s.room(scale.scale) + SPACES[0])
        .sum::<f64>()
        - SPACES[0];
    let left = MARGIN + HEIGHTS;
    let mut x = left + ((WIDTH - MARGIN - left - used) / 2.0).max(0.0);
    heights(&mut canvas, scale, ground, standing);
    for s in standing {
        let [wide, above, _] = s.extent().map(|v| v * scale.scale);
        let panes = panes(s, scale.scale)?;
        let slot = s.room(scale.scale);
        let first = x + (slot - wide - SPACES[1]) / 2.0;
        for (k, pane) in panes.iter().enumerate() {
            let at = first + k as f64 * (wide / 2.0 + SPACES[1]);
            canvas.overlay(pane.as_raw(), pane.width() as usize, (at, ground - above));
        }
        let (middle, room) = (x + slot / 2.0, slot + 0.8 * SPACES[0]);
        let name = canvas.font().shortened(&clean(&s.character.name), TEXT, room);
        let below = ground + scale.below * scale.scale;
        canvas.text_about(&name, TEXT, Weight::Strong, (middle, below + 1.35 * TEXT), INK);
        let off = s.character.worst_pct.filter(|_| s.character.status != 0);
        let words = s.character.words();
        let said = off.map_or_else(|| words.to_string(), |w| format!("{words}, {w:.1} %"));
        let said = canvas.font().shortened(&said, SMALL, room);
        canvas.text_about(&said, SMALL, Weight::Book, (middle, below + 2.6 * TEXT), QUIET);
        x += slot + SPACES[0];
    }
    canvas.line(
        &[(left - 6.0, ground), (WIDTH - MARGIN, ground)],
        Pen::solid(FINE_LINE, QUIET),
    );
    Ok(canvas)
}

/// Rules at round heights, with their numbers.
fn heights(canvas: &mut Canvas, scale: &Scale, ground: f64, standing: &[Standing<'_>]) {
    let units: Vec<&str> = standing.iter().map(|s| s.character.unit.as_str()).collect();
    let one = units.windows(2).all(|w| w[0] == w[1]);
    // In the cast's own unit where it has one, else in metres.
    let own = standing.first().filter(|_| one).map_or(1.0, |s| s.units);
    let unit = match units.first() {
        Some(u) if one => (*u).to_string(),
        _ if standing
            .iter()
            .all(|s| METRES.iter().any(|(u, _)| *u == s.character.unit)) =>
        {
            "m".to_string()
        }
        _ => String::new(),
    };
    let step = round_length(scale.above / own / MARKS * 2.0, &[5.0, 2.0, 1.0]);
    let mut k = 1.0;
    while k * step * own <= scale.above {
        let y = ground - k * step * own * scale.scale;
        canvas.line(
            &[(MARGIN + HEIGHTS - 6.0, y), (WIDTH - MARGIN, y)],
            Pen::solid(HAIRLINE, RULE),
        );
        let text = format!("{} {}", scale_number(k * step), clean(&unit));
        canvas.text_left_of(
            text.trim_end(),
            SMALL,
            Weight::Book,
            (MARGIN + HEIGHTS - 14.0, y + HALF_LETTER * SMALL),
            QUIET,
        );
        k += 1.0;
    }
}

/// Drawing and mesh of a character at the common scale.
fn panes(s: &Standing<'_>, scale: f64) -> Result<[RgbImage; 2]> {
    let no =
        |e: &dyn std::fmt::Display| Error::new(format!("the figures cannot be read ({e})")).in_file(&s.path);
    let bytes = std::fs::read(&s.path).map_err(|e| no(&e))?;
    let both = image::load_from_memory_with_format(&bytes, image::ImageFormat::Png)
        .map_err(|e| no(&e))?
        .to_rgb8();
    let pane = both.width() / 2;
    let share = s.size.units_per_px * s.units * scale * UNIT;
    let size = |v: u32| (f64::from(v) * share).round().max(1.0) as u32;
    Ok([0, pane].map(|left| {
        let one = image::imageops::crop_imm(&both, left, 0, pane, both.height()).to_image();
        resize(&one, size(pane), size(both.height()), FilterType::Triangle)
    }))
}

/// The paper's colour is that of the figures: they leave no box.
const _: () = assert!(PAPER[0] == 253);
