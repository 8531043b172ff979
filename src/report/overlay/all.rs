//! The overlay of all views: side by side at one scale on one ground line, every finding in words.
//!
//! The findings stand to the right of the figures or below them, whichever leaves the figures larger.

use super::canvas::{Canvas, Pen, Weight};
use super::figure::Figure;
use super::frame::{Pane, Stage};
use super::heading::{capital, words};
use super::notes::{INDENT, Note, note};
use super::shrunk::AllShrunk;
use super::{Subject, extent, heights, joints, legend, marks, unit};
use crate::error::{Error, Result};
use crate::report::look::{
    DISC_ROOM, FINE_LINE, INK, LABELS, MARGIN, NOTES, PAD, PICTURE_HEIGHT, PICTURE_WIDTH, QUIET, SMALL, TEXT,
    TITLE,
};
use crate::report::model::{Facing, Finding, Kind};
use crate::report::terminal::{clean, file_name};
use crate::space::Bounds;

/// Space above the figures for the title and the views' names.
const HEAD: f64 = 124.0;
/// Space below everything for the legend.
const FOOT: f64 = 62.0;
/// Space below the figures for the scale bar.
const BAR: f64 = 30.0;
/// Space between the figures and the findings.
const APART: f64 = 40.0;
/// Baselines of the title's lines.
const LINES: [f64; 2] = [43.0, 65.0];
/// A view's name stands this far above its pane.
const NAME: f64 = 14.0;
/// Figures are not made smaller than this for the findings' sake.
const LEAST_FIGURE: f64 = 380.0;
/// The narrowest picture has room for its title and legend.
const LEAST_WIDTH: f64 = 900.0;

/// What all figures take together, in units.
struct Common {
    /// Sum of their widths.
    width: f64,
    crown: f64,
    ground: f64,
}

impl Common {
    fn height(&self) -> f64 {
        self.crown - self.ground
    }
}

/// Findings of opposite views are one if so much of their heights, and of their amounts, agrees.
const SAME_PLACE: f64 = 0.9;
/// Room for the list's heading.
const LIST_HEAD: f64 = 2.2 * TEXT;
/// Room for what is not about one view, in lines of small text.
const SHEET_LINES: f64 = 3.0;

/// Where the findings stand.
struct Layout {
    /// Points a unit.
    scale: f64,
    /// Left and top of the findings, and their columns.
    list: (f64, f64),
    columns: usize,
    /// Rows that the findings may take.
    room: f64,
    size: (f64, f64),
}

/// What stands where.
pub(super) struct Plan<'a> {
    first: &'a Subject<'a>,
    subjects: &'a [Subject<'a>],
    layout: Layout,
    pub(super) stages: Vec<Stage>,
    notes: Vec<Note<'a>>,
}

impl<'a> Plan<'a> {
    pub(super) fn new(subjects: &'a [Subject<'a>]) -> Result<Self> {
        let first = subjects
            .first()
            .ok_or_else(|| Error::new("there are no views to draw"))?;
        let extents = subjects
            .iter()
            .map(|s| extent(&s.shown.drawing, &s.shown.mesh))
            .collect::<Result<Vec<_>>>()?;
        let common = Common {
            width: extents.iter().map(Bounds::width).sum(),
            crown: extents.iter().map(|e| e.y1).fold(f64::MIN, f64::max),
            ground: extents.iter().map(|e| e.y0).fold(f64::MAX, f64::min),
        };
        // The words decide how much room the figures have; they are set on a canvas that is then thrown away.
        let sketch = Canvas::new(1.0, 1.0, 1.0)?;
        let notes = all_notes(&sketch, subjects);
        let layout = layout(&common, subjects.len(), &notes, !first.report.findings.is_empty())?;
        let ground = HEAD + PAD + common.crown * layout.scale;
        let mut left = MARGIN + LABELS;
        let stages = extents
            .iter()
            .map(|e| {
                let pane = Pane {
                    left,
                    top: HEAD,
                    width: (e.width() * layout.scale + 2.0 * DISC_ROOM).ceil(),
                    height: (common.height() * layout.scale + 2.0 * PAD).round(),
                };
                left = pane.right();
                Stage {
                    pane,
                    zero: (pane.left + DISC_ROOM - e.x0 * layout.scale, ground),
                    scale: layout.scale,
                }
            })
            .collect();
        Ok(Self {
            first,
            subjects,
            layout,
            stages,
            notes,
        })
    }

    pub(super) fn draw(&self, height: u32, shrunk: &AllShrunk<'_>, memory: Vec<u8>) -> Result<Canvas> {
        let Self { first, layout, .. } = self;
        let mut canvas = Canvas::on(memory, layout.size.0, layout.size.1, unit(height))?;
        figures(&mut canvas, self.subjects, &self.stages, shrunk);
        title(&mut canvas, first, self.subjects, layout.size.0 - MARGIN);
        list(&mut canvas, layout, &self.notes, first);
        legend::bar(&mut canvas, first, &self.stages[0]);
        legend::draw(&mut canvas, first, &self.stages[0], layout.size, false);
        Ok(canvas)
    }
}

fn figures(canvas: &mut Canvas, subjects: &[Subject<'_>], stages: &[Stage], shrunk: &AllShrunk<'_>) {
    let right = stages.last().map_or(0.0, |s| s.pane.right());
    let drawn: Vec<Figure> = subjects
        .iter()
        .zip(stages)
        .map(|(s, stage)| Figure::new(s, stage))
        .collect();
    for ((figure, subject), stage) in drawn.iter().zip(subjects).zip(stages) {
        let reduced = shrunk.of(subject, stage.scale * canvas.unit());
        figure.areas(canvas, subject, stage, reduced);
    }
    heights::draw(canvas, &subjects[0], &stages[0], [right; 2]);
    for ((figure, subject), stage) in drawn.iter().zip(subjects).zip(stages) {
        figure.outlines(canvas);
        joints::draw(canvas, subject, stage);
        super::arrows::draw(canvas, subject, stage);
        marks::draw(canvas, subject, stage);
        let middle = stage.pane.left + stage.pane.width / 2.0;
        let name = match subject.shown.placed.facing {
            Facing::Viewer | Facing::Away => capital(&subject.view().name),
            Facing::Left => format!("{}, facing left", capital(&subject.view().name)),
            Facing::Right => format!("{}, facing right", capital(&subject.view().name)),
        };
        canvas.text_about(&name, TEXT, Weight::Strong, (middle, HEAD - NAME), INK);
    }
    let ground = stages[0].zero.1 - subjects[0].report.ground_y * stages[0].scale;
    canvas.line(
        &[(stages[0].pane.left, ground), (right, ground)],
        Pen::solid(FINE_LINE, QUIET),
    );
}

/// The findings of all views in the order of their numbers; what the front and the back view both show stands once.
pub(super) fn all_notes<'a>(canvas: &Canvas, subjects: &'a [Subject<'_>]) -> Vec<Note<'a>> {
    paired(subjects)
        .into_iter()
        .map(|((subject, finding), twin)| {
            let name = capital(&subject.view().name);
            let Some((other, twin)) = twin else {
                return note(canvas, subject, finding, Some(&name), NOTES - INDENT);
            };
            let both = format!("{name} and {}", clean(&other.view().name));
            let mut both = note(canvas, subject, finding, Some(&both), NOTES - INDENT);
            both.twin = Some(twin);
            both
        })
        .collect()
}

/// A finding and the view it is of.
type Seen<'a> = (&'a Subject<'a>, &'a Finding);

/// The findings of all views in the order of their numbers, each with what the opposite view shows of the same fault.
fn paired<'a>(subjects: &'a [Subject<'_>]) -> Vec<(Seen<'a>, Option<Seen<'a>>)> {
    let mut all: Vec<Seen<'a>> = subjects
        .iter()
        .flat_map(|s| s.view().findings.iter().map(move |f| (s, f)))
        .collect();
    all.sort_by_key(|(_, f)| f.number);
    let mut out = Vec::new();
    while !all.is_empty() {
        let (subject, finding) = all.remove(0);
        let twin = all
            .iter()
            .position(|(s, f)| opposite(subject, s) && same_place(finding, f));
        out.push(((subject, finding), twin.map(|k| all.remove(k))));
    }
    out
}

/// Numbers of findings that are one fault, seen from opposite sides.
pub(crate) fn twins(subjects: &[Subject<'_>]) -> Vec<[usize; 2]> {
    paired(subjects)
        .into_iter()
        .filter_map(|((_, f), twin)| Some([f.number, twin?.1.number]))
        .collect()
}

/// Whether two views see the figure from opposite sides.
fn opposite(a: &Subject<'_>, b: &Subject<'_>) -> bool {
    let turn = (a.view().azimuth_deg - b.view().azimuth_deg).rem_euclid(360.0);
    let from_above = |s: &Subject<'_>| s.view().name.starts_with("top");
    (turn - 180.0).abs() < 1e-6 && from_above(a) == from_above(b)
}

/// Whether two findings of opposite views show one fault.
fn same_place(a: &Finding, b: &Finding) -> bool {
    let amount = |f: &Finding| f.outer_diff.unwrap_or(0.0);
    let common = a.y_to.min(b.y_to) - a.y_from.max(b.y_from);
    let whole = a.y_to.max(b.y_to) - a.y_from.min(b.y_from);
    // Mirrored, a shift turns round; a width does not.
    a.kind == b.kind
        && a.kind != Kind::Shifted
        && common > SAME_PLACE * whole
        && (amount(a) - amount(b)).abs() <= (1.0 - SAME_PLACE) * amount(a).abs()
}

fn layout(common: &Common, views: usize, notes: &[Note<'_>], sheet_findings: bool) -> Result<Layout> {
    let whole = f64::from(PICTURE_HEIGHT);
    let around = MARGIN + LABELS + 2.0 * DISC_ROOM * views as f64;
    let fit = |width: f64, height: f64| {
        ((width - around - MARGIN) / common.width).min((height - 2.0 * PAD) / common.height())
    };
    let width_at = |scale: f64| around + common.width * scale;
    let figures = whole - HEAD - BAR - FOOT;

    let column = if notes.is_empty() && !sheet_findings {
        0.0
    } else {
        APART + NOTES
    };
    let beside = fit(PICTURE_WIDTH - column, figures);
    let columns = ((PICTURE_WIDTH - 2.0 * MARGIN + APART) / (NOTES + APART)) as usize;
    let listed = (LIST_HEAD + least_room(notes, columns) + SHEET_LINES * SMALL).min(figures - LEAST_FIGURE);
    let below = fit(PICTURE_WIDTH, figures - listed);
    let scale = beside.max(below);
    if !(scale.is_finite() && scale > 0.0) {
        return Err(Error::new("the views have no size, there is nothing to draw"));
    }
    let top = HEAD + common.height() * scale + 2.0 * PAD + BAR;
    Ok(if beside >= below {
        let left = width_at(scale) + APART;
        Layout {
            scale,
            list: (left, HEAD),
            columns: 1,
            room: top - HEAD,
            size: ((width_at(scale) + column + MARGIN).max(LEAST_WIDTH), top + FOOT),
        }
    } else {
        Layout {
            scale,
            list: (MARGIN, top),
            columns,
            room: listed,
            size: ((width_at(scale) + MARGIN).max(PICTURE_WIDTH), top + listed + FOOT),
        }
    })
}

/// The least height in which the findings fit so many columns, in their order.
pub(super) fn least_room(notes: &[Note<'_>], columns: usize) -> f64 {
    let heights: Vec<f64> = notes.iter().map(Note::height).collect();
    let fits = |room: f64| {
        let (mut column, mut y) = (1, 0.0);
        for h in &heights {
            if y + h > room {
                column += 1;
                y = 0.0;
            }
            y += h;
        }
        column <= columns
    };
    // A column ends behind some finding: the sums of neighbours are all that need be tried.
    let mut rooms: Vec<f64> = (0..heights.len())
        .flat_map(|i| {
            heights[i..].iter().scan(0.0, |sum: &mut f64, h| {
                *sum += h;
                Some(*sum)
            })
        })
        .collect();
    let tallest = heights.iter().copied().fold(0.0, f64::max);
    rooms.retain(|r| *r >= tallest);
    rooms.sort_by(f64::total_cmp);
    rooms.into_iter().find(|r| fits(*r)).unwrap_or(0.0)
}

fn title(canvas: &mut Canvas, first: &Subject<'_>, subjects: &[Subject<'_>], right: f64) {
    let report = first.report;
    let [upper, lower] = LINES;
    let verdict = capital(words(report.verdict));
    let end = canvas.text(&verdict, TITLE, Weight::Strong, (MARGIN, upper), INK);
    let count = subjects.iter().map(|s| s.view().findings.len()).sum::<usize>() + report.findings.len();
    let counted = match count {
        0 => "nothing to correct".to_string(),
        1 => "1 finding".to_string(),
        n => format!("{n} findings"),
    };
    let views = subjects.len();
    let text = format!("{counted} in {views} view{}", if views == 1 { "" } else { "s" });
    canvas.text(&text, TITLE, Weight::Book, (end + APART / 2.0, upper), INK);
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
    let line = canvas.font().shortened(&line, SMALL, right - MARGIN);
    canvas.text(&line, SMALL, Weight::Book, (MARGIN, lower), QUIET);
}

fn list(canvas: &mut Canvas, layout: &Layout, notes: &[Note<'_>], first: &Subject<'_>) {
    let (left, top) = layout.list;
    let under = top + layout.room;
    if notes.is_empty() && first.report.findings.is_empty() {
        return;
    }
    canvas.text(
        "Findings, farthest off first; left, right as seen",
        TEXT,
        Weight::Strong,
        (left, top + TEXT),
        INK,
    );
    let start = top + LIST_HEAD;
    let (mut column, mut y) = (0, start);
    let at = |column: usize| left + column as f64 * (NOTES + APART);
    let mut shown = 0;
    for note in notes {
        if y + note.height() > under && y > start {
            column += 1;
            y = start;
        }
        if column >= layout.columns {
            break;
        }
        note.draw(canvas, at(column), y + note.height() / 2.0);
        y += note.height();
        shown += 1;
    }
    if shown < notes.len() {
        let text = format!("and {} more, see report.json", notes.len() - shown);
        canvas.text(
            &text,
            SMALL,
            Weight::Book,
            (at(layout.columns - 1) + INDENT, under + SMALL),
            QUIET,
        );
        return;
    }
    // What is not about one view has no number.
    for finding in &first.report.findings {
        for line in canvas
            .font()
            .lines(&clean(&finding.text), SMALL, NOTES - INDENT, 4)
        {
            y += 1.3 * SMALL;
            canvas.text(&line, SMALL, Weight::Book, (at(column) + INDENT, y), INK);
        }
        y += SMALL;
    }
}
