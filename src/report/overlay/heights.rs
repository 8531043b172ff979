//! Named heights: the figure's landmarks and the sheet's guide lines, with names and numbers at the left and rules
//! through what lies beside them.

use super::Subject;
use super::canvas::{Canvas, Pen, Weight};
use super::frame::Stage;
use super::spread::{Wanted, spread};
use crate::compare::landmarks::is_near;
use crate::report::look::{GUIDE_DASH, HAIRLINE, HALF_LETTER, QUIET, RULE, SMALL};
use crate::report::model::Row;
use crate::report::terminal::clean;
use crate::space::{Level, Point};

/// Room that a name takes, times its size.
const LEADING: f64 = 1.25;
/// A guide line closer to a landmark than this share of the figure's height is drawn for it and needs no name.
const SAME_PLACE: f64 = 0.006;
/// Distances from the pane's left side: end of the name, bend of its rule, begin of the rule proper.
const STEPS: [f64; 3] = [16.0, 11.0, 3.0];

/// Rules end so far from the figure.
const CLEAR: f64 = 6.0;

/// A height with a name.
struct Height {
    y: f64,
    name: String,
    guide: bool,
}

/// Draws the heights of a figure's landmarks and its sheet's guide lines; `right` is where the rules of the ones and of
/// the others end.
pub(super) fn draw(canvas: &mut Canvas, subject: &Subject<'_>, stage: &Stage, right: [f64; 2]) {
    let mut heights = heights(subject);
    let inside = stage.pane.top..=stage.pane.bottom();
    heights.retain(|h| inside.contains(&stage.row(h.y)));
    heights.sort_by(|a, b| b.y.total_cmp(&a.y));
    let labels: Vec<Wanted> = heights
        .iter()
        .map(|h| Wanted {
            middle: stage.row(h.y),
            size: LEADING * SMALL,
        })
        .collect();
    let rows = spread(&labels, stage.pane.top, stage.pane.bottom());
    let left = stage.pane.left;
    let [end, bend, begin] = STEPS;
    for (height, row) in heights.iter().zip(rows) {
        let y = stage.row(height.y);
        let pen = Pen {
            weight: HAIRLINE,
            dash: if height.guide { &GUIDE_DASH } else { &[] },
            colour: if height.guide { QUIET } else { RULE },
        };
        let text = format!("{} {}", height.name, subject.length(height.y));
        canvas.text_left_of(
            &text,
            SMALL,
            Weight::Book,
            (left - end, row + HALF_LETTER * SMALL),
            QUIET,
        );
        let stop = right[usize::from(height.guide)];
        let from = (left - bend, row);
        match figure_at(subject, height.y) {
            Some([a, b]) => {
                let [a, b] = [stage.at(a, 0.0).0 - CLEAR, stage.at(b, 0.0).0 + CLEAR];
                canvas.line(&[from, (left - begin, y), (a.max(left - begin), y)], pen);
                canvas.line(&[(b, y), (stop, y)], pen);
            }
            None => canvas.line(&[from, (left - begin, y), (stop, y)], pen),
        }
    }
}

/// The same for figures side by side at one scale on one ground line, the first of which is named: rules run between
/// them up to `right`. Guide lines are left out.
pub(super) fn draw_through(canvas: &mut Canvas, figures: &[(&Subject<'_>, &Stage)], right: f64) {
    let Some((subject, stage)) = figures.first() else {
        return;
    };
    let mut heights = heights(subject);
    let inside = stage.pane.top..=stage.pane.bottom();
    heights.retain(|h| !h.guide && inside.contains(&stage.row(h.y)));
    heights.sort_by(|a, b| b.y.total_cmp(&a.y));
    let labels: Vec<Wanted> = heights
        .iter()
        .map(|h| Wanted {
            middle: stage.row(h.y),
            size: LEADING * SMALL,
        })
        .collect();
    let rows = spread(&labels, stage.pane.top, stage.pane.bottom());
    let [end, bend, begin] = STEPS;
    let left = stage.pane.left;
    let pen = Pen::solid(HAIRLINE, RULE);
    for (height, row) in heights.iter().zip(rows) {
        let y = stage.row(height.y);
        let text = format!("{} {}", height.name, subject.length(height.y));
        let at = (left - end, row + HALF_LETTER * SMALL);
        canvas.text_left_of(&text, SMALL, Weight::Book, at, QUIET);
        canvas.line(&[(left - bend, row), (left - begin, y)], pen);
        let mut from = left - begin;
        for (subject, stage) in figures {
            if let Some([a, b]) = figure_at(subject, height.y) {
                let (a, b) = (stage.at(a, 0.0).0 - CLEAR, stage.at(b, 0.0).0 + CLEAR);
                if a > from {
                    canvas.line(&[(from, y), (a, y)], pen);
                }
                from = from.max(b);
            }
        }
        if from < right {
            canvas.line(&[(from, y), (right, y)], pen);
        }
    }
}

/// From where to where mesh and drawing reach at a height.
fn figure_at(subject: &Subject<'_>, y: f64) -> Option<[f64; 2]> {
    let off = |r: &Row| (r.y - y).abs();
    let row = subject
        .view()
        .rows
        .iter()
        .min_by(|a, b| off(a).total_cmp(&off(b)))?;
    let ends = || row.drawing.iter().chain(&row.mesh).flatten().copied();
    let (low, high) = (ends().fold(f64::MAX, f64::min), ends().fold(f64::MIN, f64::max));
    (low <= high).then_some([low, high])
}

/// The same for another picture: name, height, and whether it is a guide line.
pub(crate) fn told(subject: &Subject<'_>) -> Vec<(String, f64, bool)> {
    let mut all = heights(subject);
    all.sort_by(|a, b| b.y.total_cmp(&a.y));
    all.into_iter().map(|h| (h.name, h.y, h.guide)).collect()
}

/// Landmarks, and guide lines that are not one's.
fn heights(subject: &Subject<'_>) -> Vec<Height> {
    let mut out: Vec<Height> = subject
        .shown
        .landmarks
        .iter()
        .map(|m| Height {
            y: m.y,
            name: m.name.to_string(),
            guide: false,
        })
        .collect();
    let near = SAME_PLACE * subject.report.figure_height;
    for (i, row) in subject.reading.guide_lines_px.iter().enumerate() {
        let place = Point::<Level>::new(0.0, *row);
        let y = subject.shown.placed.placement.to_view(place).y;
        if !is_near(y, subject.report.ground_y, subject.report.figure_height) {
            continue;
        }
        let means = subject.reading.guide_means.get(i).filter(|m| !m.is_empty());
        if means.is_some() || out.iter().all(|h| (h.y - y).abs() > near) {
            out.push(Height {
                y,
                name: means.map_or_else(|| "guide".to_string(), |m| clean(m)),
                guide: true,
            });
        }
    }
    out
}
