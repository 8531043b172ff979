//! The contact picture, to be sent or shown in a review: beside each drawn view the mesh, softly shaded, at the same scale
//! on the same ground line; above it the verdict, beside or below it the worst findings in words.

use rayon::prelude::*;

use super::canvas::{Canvas, Pen, Weight, opaque};
use super::drawing::Drawing;
use super::figure::path;
use super::frame::{Pane, Stage};
use super::heading::{capital, words};
use super::light::{decode, encode, mix};
use super::notes::{INDENT, Note};
use super::shrunk::AllShrunk;
use super::{Subject, all, extent, heights, legend, marks, png};
use crate::error::{Error, Result};
use crate::mesh::Mesh;
use crate::report::look::{
    CONTACT_WIDTH, DISC_ROOM, FINE_LINE, INK, LABELS, MARGIN, NOTES, PAD, PAPER, QUIET, RULE, SMALL, TEXT,
    TITLE,
};
use crate::report::model::Verdict;
use crate::report::solid::{Body, Window};
use crate::report::terminal::{clean, file_name};
use crate::space::Bounds;

/// Pixels a point: what is to be read in a chat is larger than on a page.
const UNIT: f64 = 1.25;
/// Width in points.
const WIDTH: f64 = CONTACT_WIDTH as f64 / UNIT;
/// Space above the figures.
const HEAD: f64 = 132.0;
/// Baselines of the title and the line under it.
const LINES: [f64; 2] = [56.0, 84.0];
/// Size of the title.
const LARGE: f64 = 1.35 * TITLE;
/// Space below the figures for what they are and the scale.
const FOOT: f64 = 58.0;
/// Height of the figures at most: with findings beside them, and above them.
const FIGURES: [f64; 2] = [690.0, 560.0];
/// Space between the pictures of one view and between views.
const APART: f64 = 44.0;
/// Room beside a figure for what juts out, and for the numbers of findings.
const SIDE: f64 = 12.0;
/// Findings in words at most.
const MOST_NOTES: usize = 9;
/// Views at most: more would make all of them small.
const MOST_VIEWS: usize = 3;
/// So far above and below its outline a drawing is shown, share of the figure's height: a line has a width.
const BEYOND: f64 = 0.008;
/// Findings stand beside the figures unless those are then smaller than this share of what they could be.
const NEARLY: f64 = 0.88;
/// Space below the findings.
const UNDER: f64 = 30.0;

/// A view with its two pictures.
struct Pair<'a, 'b> {
    subject: &'a Subject<'b>,
    drawing: Stage,
    mesh: Stage,
}

/// Draws and encodes the contact picture. `mesh` is the compared surface, upright.
///
/// # Errors
/// There are no views, a view has no outline, or its coordinates are not finite.
pub fn contact(subjects: &[Subject<'_>], mesh: &Mesh) -> Result<Vec<u8>> {
    let canvas = draw(subjects, mesh)?;
    png::encode_smooth(canvas.pixmap(), canvas.unit(), &[])
}

/// The views that are shown: not the back where the front says the same, and not more than have room.
fn shown<'a, 'b>(subjects: &'a [Subject<'b>]) -> Vec<&'a Subject<'b>> {
    let front = subjects.iter().any(|s| s.view().name == "front");
    let kept = subjects
        .iter()
        .filter(|s| !(front && s.view().name.starts_with("back")));
    kept.take(MOST_VIEWS).collect()
}

pub(super) fn draw(subjects: &[Subject<'_>], mesh: &Mesh) -> Result<Canvas> {
    let shown = shown(subjects);
    let first = *shown
        .first()
        .ok_or_else(|| Error::new("there are no views to draw"))?;
    let extents = shown
        .iter()
        .map(|s| extent(&s.shown.drawing, &s.shown.mesh))
        .collect::<Result<Vec<_>>>()?;
    let crown = extents.iter().map(|e| e.y1).fold(f64::MIN, f64::max);
    let ground = extents.iter().map(|e| e.y0).fold(f64::MAX, f64::min);
    let sketch = Canvas::new(1.0, 1.0, 1.0)?;
    let (notes, more) = worst(&sketch, subjects);
    let layout = Layout::new(&extents, crown - ground, &notes)?;
    let mut canvas = Canvas::new(WIDTH, layout.height, UNIT)?;

    let top = HEAD + PAD + crown * layout.scale;
    let mut left = layout.left;
    let pairs: Vec<Pair<'_, '_>> = shown
        .iter()
        .zip(&extents)
        .map(|(subject, e)| {
            let mut stage = || {
                let pane = Pane {
                    left,
                    top: HEAD,
                    width: (e.width() * layout.scale + 2.0 * layout.side).ceil(),
                    height: ((crown - ground) * layout.scale + 2.0 * PAD).round(),
                };
                left = pane.right();
                Stage {
                    pane,
                    zero: (pane.left + layout.side - e.x0 * layout.scale, top),
                    scale: layout.scale,
                }
            };
            let pair = Pair {
                subject,
                drawing: stage(),
                mesh: stage(),
            };
            left += APART;
            pair
        })
        .collect();
    figures(&mut canvas, &pairs, mesh);
    title(&mut canvas, first, subjects);
    legend::bar(&mut canvas, first, &pairs[0].drawing.lowered(FOOT - 26.0));
    list(&mut canvas, &layout, &notes, more, first);
    Ok(canvas)
}

/// Where things are.
struct Layout {
    /// Points a unit.
    scale: f64,
    /// Left side of the figures, and the room beside each.
    left: f64,
    side: f64,
    /// Left and top of the findings, their columns, and the room of one.
    list: (f64, f64),
    columns: usize,
    room: f64,
    height: f64,
}

impl Layout {
    fn new(extents: &[Bounds<crate::space::ViewUnits>], tall: f64, notes: &[Note<'_>]) -> Result<Self> {
        let side = SIDE + DISC_ROOM * 0.5;
        let wide: f64 = extents.iter().map(|e| 2.0 * e.width()).sum();
        let views = extents.len() as f64;
        let around = MARGIN + LABELS + 4.0 * views * side + (views - 1.0) * APART + MARGIN;
        let fit = |width: f64, high: f64| ((width - around) / wide).min(high / tall);
        let column = if notes.is_empty() { 0.0 } else { NOTES + APART };
        let beside = fit(WIDTH - column, FIGURES[0]);
        let columns = ((WIDTH - 2.0 * MARGIN + APART) / (NOTES + APART)) as usize;
        let below = fit(WIDTH, FIGURES[1]);
        // Beside them the findings are read at one glance with the figures.
        let beside_them = beside >= NEARLY * below;
        let scale = if beside_them { beside } else { below };
        if !(scale.is_finite() && scale > 0.0) {
            return Err(Error::new("the views have no size, there is nothing to draw"));
        }
        let figures = tall * scale + 2.0 * PAD;
        let under = HEAD + figures + FOOT;
        let used = around + wide * scale - 2.0 * MARGIN;
        Ok(if beside_them {
            let free = WIDTH - 2.0 * MARGIN - column - used;
            let left = MARGIN + LABELS + free / 2.0;
            Self {
                scale,
                left,
                side,
                list: (WIDTH - MARGIN - NOTES, HEAD),
                columns: 1,
                room: under - HEAD - UNDER,
                height: under,
            }
        } else {
            let room = 1.9 * TEXT + all::least_room(notes, columns);
            Self {
                scale,
                left: MARGIN + LABELS + (WIDTH - 2.0 * MARGIN - used) / 2.0,
                side,
                list: (MARGIN, under),
                columns,
                room,
                height: under + room + UNDER,
            }
        })
    }
}

/// The worst findings as they are said in the picture of all views, and how many more there are.
fn worst<'a>(canvas: &Canvas, subjects: &'a [Subject<'_>]) -> (Vec<Note<'a>>, usize) {
    let mut notes = all::all_notes(canvas, subjects);
    let more = notes.len().saturating_sub(MOST_NOTES);
    notes.truncate(MOST_NOTES);
    (notes, more)
}

fn figures(canvas: &mut Canvas, pairs: &[Pair<'_, '_>], mesh: &Mesh) {
    let unit = canvas.unit();
    let shrunk = AllShrunk::new(pairs.iter().map(|p| (p.subject, p.drawing.scale * unit)));
    for pair in pairs {
        drawing(canvas, pair.subject, &pair.drawing, &shrunk);
    }
    let bodies: Vec<Body> = pairs
        .par_iter()
        .map(|p| Body::new(mesh, p.subject.shown.placed.azimuth))
        .collect();
    for (pair, body) in pairs.iter().zip(&bodies) {
        solid(canvas, body, &pair.mesh, pair.subject.report.figure_height);
    }
    let right = pairs.last().map_or(0.0, |p| p.mesh.pane.right());
    let all: Vec<(&Subject<'_>, &Stage)> = pairs
        .iter()
        .flat_map(|p| [(p.subject, &p.drawing), (p.subject, &p.mesh)])
        .collect();
    heights::draw_through(canvas, &all, right);
    for pair in pairs {
        marks::draw(canvas, pair.subject, &pair.mesh);
        let ground = pair.mesh.row(pair.subject.report.ground_y);
        let (from, to) = (pair.drawing.pane.left, pair.mesh.pane.right());
        canvas.line(&[(from, ground), (to, ground)], Pen::solid(FINE_LINE, QUIET));
        let named = HEAD - 16.0;
        let middle = f64::midpoint(from, to);
        canvas.text_about(
            &capital(&pair.subject.view().name),
            TEXT,
            Weight::Strong,
            (middle, named),
            INK,
        );
        canvas.line(
            &[(from, HEAD - 6.0), (to, HEAD - 6.0)],
            Pen::solid(FINE_LINE, RULE),
        );
        let below = pair.mesh.pane.bottom() + TEXT;
        for (stage, what) in [(&pair.drawing, "drawing"), (&pair.mesh, "mesh")] {
            let middle = stage.pane.left + stage.pane.width / 2.0;
            canvas.text_about(what, SMALL, Weight::Book, (middle, below), QUIET);
        }
    }
}

/// The drawing in its pane as it is, but for its paper, which becomes the picture's.
pub(super) fn drawing(canvas: &mut Canvas, subject: &Subject<'_>, stage: &Stage, shrunk: &AllShrunk<'_>) {
    let cells = canvas.cells(stage.pane);
    let inside = path(&subject.shown.drawing, stage)
        .and_then(|p| canvas.coverage(&p, cells))
        .unwrap_or_else(|| vec![0; cells.width * cells.height]);
    let pixels = stage.in_pixels(cells, canvas.unit());
    let Some(reduced) = shrunk.of(subject, stage.scale * canvas.unit()) else {
        return;
    };
    let Some(drawing) = Drawing::new(subject, &pixels, &inside, reduced) else {
        return;
    };
    let drawing = drawing.unfaded();
    // Captions above and below the figure are none of it.
    let (low, high) = subject
        .shown
        .drawing
        .rings
        .iter()
        .flatten()
        .fold((f64::MAX, f64::MIN), |(a, b), p| (a.min(p.y), b.max(p.y)));
    let beyond = BEYOND * subject.report.figure_height;
    let tools = || (drawing.reader(), vec![[0.0; 4]; cells.width]);
    canvas.rows(cells, tools, |(reader, lights), j, row| {
        let y = pixels.height_at((cells.top + j) as f64 + 0.5);
        if !(low - beyond..=high + beyond).contains(&y) {
            return;
        }
        reader.go_to(j);
        if reader.lights(0, lights) {
            for (pixel, light) in row.iter_mut().zip(lights) {
                *pixel = opaque(encode(*light));
            }
        }
    });
}

/// The mesh in its pane, shaded.
pub(super) fn solid(canvas: &mut Canvas, body: &Body, stage: &Stage, figure: f64) {
    let cells = canvas.cells(stage.pane);
    let pixels = stage.in_pixels(cells, canvas.unit());
    let window = Window {
        width: cells.width,
        height: cells.height,
        zero: (
            pixels.zero.0 - cells.left as f64,
            pixels.zero.1 - cells.top as f64,
        ),
        scale: pixels.scale,
    };
    let shaded = body.shade(&window, figure);
    let paper = decode(PAPER);
    let tools = || ();
    canvas.rows(cells, tools, |(), j, row| {
        for (i, pixel) in row.iter_mut().enumerate() {
            let (light, share) = shaded.at(i, j);
            if share > 0.0 {
                *pixel = opaque(encode(mix(paper, light, share)));
            }
        }
    });
}

fn title(canvas: &mut Canvas, first: &Subject<'_>, subjects: &[Subject<'_>]) {
    let report = first.report;
    let [upper, lower] = LINES;
    let end = canvas.text(
        &capital(words(report.verdict)),
        LARGE,
        Weight::Strong,
        (MARGIN, upper),
        INK,
    );
    let count = subjects
        .iter()
        .flat_map(|s| &s.view().findings)
        .filter(|f| !f.excused)
        .count()
        + report.findings.len();
    // What front and back both show is one place.
    let count = count.saturating_sub(all::twins(subjects).len());
    let counted = match (report.verdict, count) {
        (Verdict::Undecided, _) => report.undecided.first().map(|t| clean(t)).unwrap_or_default(),
        (_, 0) => "nothing to correct".to_string(),
        (_, 1) => "1 place to correct".to_string(),
        (_, n) => format!("{n} places to correct"),
    };
    let room = WIDTH - 2.0 * MARGIN;
    let counted = canvas
        .font()
        .shortened(&counted, LARGE, room - (end - MARGIN) - 20.0);
    canvas.text(&counted, LARGE, Weight::Book, (end + 18.0, upper), INK);
    let sheets: Vec<String> = report.inputs.sheets.iter().map(|s| file_name(&s.path)).collect();
    let line = format!(
        "{} against {}   ·   tolerance {} % of the height = {}{}   ·   figure {}{} tall",
        file_name(&report.inputs.mesh.path),
        sheets.join(", "),
        report.settings.tolerance_pct,
        first.length(first.tolerance()),
        first.unit(),
        first.length(report.figure_height),
        first.unit(),
    );
    let line = canvas.font().shortened(&line, TEXT, room);
    canvas.text(&line, TEXT, Weight::Book, (MARGIN, lower), QUIET);
}

fn list(canvas: &mut Canvas, layout: &Layout, notes: &[Note<'_>], mut more: usize, first: &Subject<'_>) {
    let (left, top) = layout.list;
    let others = &first.report.findings;
    if notes.is_empty() && others.is_empty() {
        return;
    }
    canvas.text(
        "Farthest off first",
        TEXT,
        Weight::Strong,
        (left, top + 0.9 * TEXT),
        INK,
    );
    let start = top + 1.9 * TEXT;
    let (mut column, mut y) = (0, start);
    for (shown, note) in notes.iter().enumerate() {
        if y + note.height() > top + layout.room && y > start {
            column += 1;
            y = start;
        }
        if column >= layout.columns {
            more += notes.len() - shown;
            column = layout.columns - 1;
            y = top + layout.room;
            break;
        }
        note.draw(
            canvas,
            left + column as f64 * (NOTES + APART),
            y + note.height() / 2.0,
        );
        y += note.height();
    }
    let x = left + column as f64 * (NOTES + APART) + INDENT;
    let mut lines: Vec<String> = Vec::new();
    if more > 0 {
        lines.push(format!("and {more} more"));
    } else {
        for f in others.iter().take(3) {
            lines.extend(canvas.font().lines(&clean(&f.text), SMALL, NOTES - INDENT, 3));
        }
    }
    for line in lines {
        y += 1.25 * SMALL;
        if y > layout.height - 6.0 {
            break;
        }
        canvas.text(&line, SMALL, Weight::Book, (x, y), QUIET);
    }
}
