//! Row by row: spans of both, differences of their edges, distances of every span's end from the other outline.
//!
//! *Outside tolerance* is judged by distance from the other outline, not along the row: where an outline runs nearly
//! level, a hair's breadth up or down changes a row's width by a lot and means nothing.

use rayon::prelude::*;

use super::tolerance::Tolerance;
use crate::profile::{
    ContourDistances, DistanceIndex, Outline, RowSpans, Span, boundary_iou, contour_distances, overlap,
};
use crate::report::model::{Kind, Row, Summary};
use crate::silhouette::Silhouette;
use crate::space::{Point, ViewUnits};

/// Most rows of a view: finer ones say nothing more about a figure than a hand can draw.
const MOST_ROWS: usize = 2400;
/// Rows in which the bands of the boundary's overlap are measured: twice as many change it by less than 0.001 on the
/// drawn cases.
const BAND_ROWS: usize = 300;
/// Rows that are compared one after the other.
const TOGETHER: usize = 64;
/// A gap counts as one if it is wider than this many tolerances.
const GAP_WIDTH: f64 = 1.3;
/// A gap is closed if the other covers more than this share of it.
const GAP_COVERED: f64 = 0.93;
/// A drawing cannot show a gap that is narrower than this many of its lines: half a line stands on either side of it, and
/// about as much paper must be left between them.
const DRAWABLE_LINES: f64 = 2.0;
/// And none that is narrower than so many pixels.
const DRAWABLE_PX: f64 = 3.0;
/// The width agrees and the place does not if what both edges deviate by sums to less than this share of the
/// larger deviation.
const SHIFT_SHARE: f64 = 0.6;

/// An edge's difference along the row says nothing if it is more than this many times its distance from the other
/// outline: there the outline runs nearly level (at 60 degrees from upright the two differ by a factor of two).
const LEVEL: f64 = 2.0;
/// Along-row differences below this share of the tolerance are too small for that question.
const MATTERS: f64 = 0.5;
/// An edge farther from the other outline than this share of the height belongs to a part that the other does not have
/// there: an arm in another pose, or none. Found by trial; no finding of the drawn cases is half as far off.
const OTHER_PART: f64 = 0.1;

/// What the difference of an outermost edge says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EdgeReading {
    /// How far the mesh reaches beyond the drawing.
    Measured,
    /// Nothing: the outline runs nearly level.
    Level,
    /// Nothing: one of the two edges is that of a part which the other does not have at this height.
    OtherPart,
}

/// A compared row: what the report writes, and what findings are made from.
#[derive(Debug, Clone)]
pub struct Measured {
    /// The report's row.
    pub row: Row,
    /// Largest distance of a span's end from the other outline.
    pub deviation: f64,
    /// The largest of the same distances in shares of the limit at their place.
    pub strength: f64,
    /// What is wrong here, if something is outside tolerance.
    pub kind: Option<Kind>,
    /// For gaps: by how much they are narrower or wider in sum, or else how far an inner end lies off.
    pub inner: f64,
    /// What the differences of the left and of the right edge say.
    pub edges: [EdgeReading; 2],
}

/// A compared view.
#[derive(Debug, Clone)]
pub struct Comparison {
    /// Rows from the top down.
    pub rows: Vec<Measured>,
    /// Figures for the whole view.
    pub summary: Summary,
    /// The mesh's outline, for pictures.
    pub mesh_outline: Outline<ViewUnits>,
}

/// Compares a view; `row_height` (units) is that of one drawing pixel, `line` that of the drawn line, 0 without one.
pub fn compare(
    drawing: &Outline<ViewUnits>,
    mesh: &Silhouette,
    row_height: f64,
    line: f64,
    limits: &Tolerance,
) -> Comparison {
    let drawable = (DRAWABLE_LINES * line).max(DRAWABLE_PX * row_height);
    let tolerance = limits.most;
    let boxes = [drawing.bounds(), mesh.bounds()];
    let top = boxes.iter().flatten().map(|b| b.y1).fold(f64::MIN, f64::max);
    let bottom = boxes.iter().flatten().map(|b| b.y0).fold(f64::MAX, f64::min);
    let height = (top - bottom).max(0.0);
    let step = row_height.max(height / MOST_ROWS as f64);
    let count = (height / step).ceil().max(1.0) as usize;
    let ys: Vec<f64> = (0..count).map(|i| top - (i as f64 + 0.5) * step).collect();
    let (mesh_outline, (d, m)) = rayon::join(
        || mesh.outline(count),
        || (drawing.row_spans(&ys), mesh.row_spans(&ys)),
    );
    let (to_drawing, to_mesh) = rayon::join(
        || DistanceIndex::new(drawing),
        || DistanceIndex::new(&mesh_outline),
    );
    let each_row = || -> Vec<Measured> {
        (0..count)
            .into_par_iter()
            .chunks(TOGETHER)
            .flat_map_iter(|rows| {
                let mut near = Nearby::default();
                let (ys, d, m) = (&ys, &d, &m);
                let (to_drawing, to_mesh) = (&to_drawing, &to_mesh);
                rows.into_iter().map(move |i| {
                    let deviations = near.row(ys[i], (d.row(i), to_drawing), (m.row(i), to_mesh));
                    measure(ys[i], d.row(i), m.row(i), deviations, limits, height, drawable)
                })
            })
            .collect()
    };
    let wholes = || {
        wholes(
            (drawing, &d, &to_drawing),
            (&mesh_outline, &m, &to_mesh),
            step,
            tolerance,
        )
    };
    let (rows, wholes) = rayon::join(each_row, wholes);
    let summary = summarise(&rows, wholes);
    Comparison {
        rows,
        summary,
        mesh_outline,
    }
}

fn pairs(spans: &[Span]) -> Vec<[f64; 2]> {
    spans.iter().map(|s| [s.x0, s.x1]).collect()
}

/// Spans of a row and the outline that belongs to them.
type RowOf<'a> = (&'a [Span], &'a DistanceIndex<ViewUnits>);

/// The segments that were nearest to each span's ends in the row before, for both outlines: a query that begins there is
/// short.
#[derive(Default)]
struct Nearby([Vec<usize>; 2]);

impl Nearby {
    /// For every span's end of the drawing and of the mesh, its distance from the other's outline.
    fn row(&mut self, y: f64, drawing: RowOf<'_>, mesh: RowOf<'_>) -> [Vec<f64>; 2] {
        let mut distances = |near: usize, spans: &[Span], other: &DistanceIndex<ViewUnits>| {
            let near = &mut self.0[near];
            near.resize(near.len().max(2 * spans.len()), usize::MAX);
            let ends = spans.iter().flat_map(|s| [s.x0, s.x1]).zip(near);
            ends.map(|(x, near)| other.distance_near(Point::new(x, y), near))
                .map(|v| if v.is_finite() { v } else { 0.0 })
                .collect()
        };
        [distances(0, drawing.0, mesh.1), distances(1, mesh.0, drawing.1)]
    }
}

/// A mesh's spans with their ends' distances, without the gaps narrower than `drawable` that lie within the drawing: there
/// it shows nothing to compare with.
fn drawable_gaps(
    drawing: &[Span],
    mesh: &[Span],
    distances: Vec<f64>,
    drawable: f64,
) -> (Vec<Span>, Vec<f64>) {
    let within = |a: f64, b: f64| drawing.iter().any(|s| s.x0 <= a && b <= s.x1);
    let shut = |w: &[Span]| w[1].x0 - w[0].x1 < drawable && within(w[0].x1, w[1].x0);
    if !mesh.windows(2).any(shut) {
        return (mesh.to_vec(), distances);
    }
    let (mut spans, mut ends): (Vec<Span>, Vec<f64>) = (Vec::new(), Vec::new());
    for (i, span) in mesh.iter().enumerate() {
        match spans.last_mut() {
            Some(last) if shut(&mesh[i - 1..=i]) => {
                last.x1 = span.x1;
                ends.pop();
                ends.push(distances[2 * i + 1]);
            }
            _ => {
                spans.push(*span);
                ends.extend_from_slice(&distances[2 * i..2 * i + 2]);
            }
        }
    }
    (spans, ends)
}

/// Compares a row; `dd` and `dm` are the distances of the ends of both spans from the other outline.
fn measure(
    y: f64,
    drawing: &[Span],
    modelled: &[Span],
    [dd, dm]: [Vec<f64>; 2],
    limits: &Tolerance,
    height: f64,
    drawable: f64,
) -> Measured {
    let (mesh, dm) = drawable_gaps(drawing, modelled, dm, drawable);
    let mesh = mesh.as_slice();
    let tolerance = limits.most;
    let deviation = dd.iter().chain(&dm).copied().fold(0.0, f64::max);
    // Where the limit is closer than elsewhere, the same distance counts for more.
    let closer = |spans: &[Span]| {
        spans
            .iter()
            .flat_map(|s| [tolerance / limits.at(s); 2])
            .collect::<Vec<f64>>()
    };
    let weighed = |of: &[f64], by: &[f64]| of.iter().zip(by).map(|(d, c)| d * c).collect::<Vec<f64>>();
    let (cd, cm) = (closer(drawing), closer(mesh));
    let (wd, wm) = (weighed(&dd, &cd), weighed(&dm, &cm));
    let strength = wd.iter().chain(&wm).copied().fold(0.0, f64::max) / tolerance;
    let mut row = Row {
        y,
        drawing: pairs(drawing),
        mesh: pairs(modelled),
        outer_diff: None,
        solid_diff: None,
        left_diff: None,
        right_diff: None,
        edge_sure_pct: 100,
        spans: Vec::new(),
    };
    let (Some(d0), Some(d1), Some(m0), Some(m1)) =
        (drawing.first(), drawing.last(), mesh.first(), mesh.last())
    else {
        let kind = (strength > 1.0).then_some(if mesh.is_empty() {
            Kind::Missing
        } else {
            Kind::Extra
        });
        return Measured {
            row,
            deviation,
            strength,
            kind,
            inner: 0.0,
            edges: [EdgeReading::Measured; 2],
        };
    };
    let (left, right) = (d0.x0 - m0.x0, m1.x1 - d1.x1);
    let solid = |s: &[Span]| s.iter().map(Span::width).sum::<f64>();
    row.left_diff = Some(left);
    row.right_diff = Some(right);
    row.outer_diff = Some(left + right);
    row.solid_diff = Some(solid(modelled) - solid(drawing));
    let ends = |v: &[f64]| (v[0], v[v.len() - 1]);
    let ((dl, dr), (ml, mr)) = (ends(&dd), ends(&dm));
    let (far_left, far_right) = (dl.max(ml), dr.max(mr));
    let edge = |difference: f64, far: f64| {
        if far > OTHER_PART * height {
            EdgeReading::OtherPart
        } else if difference.abs() > (LEVEL * far).max(MATTERS * tolerance) {
            EdgeReading::Level
        } else {
            EdgeReading::Measured
        }
    };
    let edges = [edge(left, far_left), edge(right, far_right)];
    let (left, right) = (
        left.clamp(-far_left, far_left),
        right.clamp(-far_right, far_right),
    );
    let (closer_left, closer_right) = (ends(&cd).0.max(ends(&cm).0), ends(&cd).1.max(ends(&cm).1));
    let kind = outer_kind(left * closer_left, right * closer_right, tolerance)
        .or_else(|| gap_kind(drawing, mesh, &wd, &wm, tolerance));
    // How much narrower or wider the gaps are in sum; where they only lie elsewhere, how far. Where one of the two has none,
    // its inside is far from any outline, and the gap is as wide as it is.
    let solid_diff = solid(mesh) - solid(drawing);
    let gaps = (row.outer_diff.unwrap_or(0.0) - solid_diff).abs();
    let elsewhere = inner_ends(&dd).chain(inner_ends(&dm)).fold(0.0, f64::max);
    let only_one = drawing.len() == 1 || mesh.len() == 1;
    let inner = if gaps > MATTERS * tolerance || only_one {
        gaps
    } else {
        elsewhere
    };
    Measured {
        row,
        deviation,
        strength,
        kind,
        inner,
        edges,
    }
}

/// Thick, thin or shifted, from how far the mesh reaches beyond the drawing on both sides.
pub(super) fn outer_kind(left: f64, right: f64, tolerance: f64) -> Option<Kind> {
    let larger = left.abs().max(right.abs());
    if larger <= tolerance {
        return None;
    }
    let sum = left + right;
    Some(if sum.abs() < SHIFT_SHARE * larger {
        Kind::Shifted
    } else if sum > 0.0 {
        Kind::Thick
    } else {
        Kind::Thin
    })
}

fn inner_ends(distances: &[f64]) -> impl Iterator<Item = f64> + '_ {
    distances
        .iter()
        .take(distances.len().saturating_sub(1))
        .skip(1)
        .copied()
}

fn gap_kind(
    drawing: &[Span],
    mesh: &[Span],
    of_drawing: &[f64],
    of_mesh: &[f64],
    tolerance: f64,
) -> Option<Kind> {
    let gaps = |s: &[Span]| -> Vec<(f64, f64)> { s.windows(2).map(|w| (w[0].x1, w[1].x0)).collect() };
    let closed = |gaps: &[(f64, f64)], by: &[Span]| {
        gaps.iter().any(|(a, b)| {
            let covered: f64 = by.iter().map(|s| (s.x1.min(*b) - s.x0.max(*a)).max(0.0)).sum();
            b - a > GAP_WIDTH * tolerance && covered > GAP_COVERED * (b - a)
        })
    };
    let (gd, gm) = (gaps(drawing), gaps(mesh));
    if closed(&gd, mesh) {
        return Some(Kind::GapClosed);
    }
    if closed(&gm, drawing) {
        return Some(Kind::GapOpen);
    }
    let sum = |g: &[(f64, f64)]| g.iter().map(|(a, b)| b - a).sum::<f64>();
    inner_ends(of_drawing)
        .chain(inner_ends(of_mesh))
        .any(|d| d > tolerance)
        .then_some(if sum(&gm) > sum(&gd) {
            Kind::GapOpen
        } else {
            Kind::GapClosed
        })
}

/// Every so many rows, evenly, so that at most [`BAND_ROWS`] are left.
fn thinned(rows: &RowSpans) -> RowSpans {
    let every = rows.len().div_ceil(BAND_ROWS).max(1);
    let mut out = RowSpans::with_capacity(rows.len() / every + 1, rows.spans.len() / every + 1);
    for i in (every / 2..rows.len()).step_by(every) {
        out.push_row(rows.ys[i], rows.row(i));
    }
    out
}

type Side<'a> = (&'a Outline<ViewUnits>, &'a RowSpans, &'a DistanceIndex<ViewUnits>);

/// How far the two figures agree as wholes: their contours' distances, their overlap and that of their borders.
fn wholes(
    drawing: Side<'_>,
    mesh: Side<'_>,
    step: f64,
    tolerance: f64,
) -> (Option<ContourDistances>, [f64; 2]) {
    let contour = contour_distances(
        (drawing.0, drawing.2),
        (mesh.0, mesh.2),
        step.max(tolerance / 8.0),
    );
    let iou = overlap(drawing.1, mesh.1).iou();
    let borders = boundary_iou(
        (&thinned(drawing.1), drawing.0),
        (&thinned(mesh.1), mesh.0),
        tolerance,
    );
    (contour, [iou.unwrap_or(0.0), borders.unwrap_or(0.0)])
}

fn summarise(
    rows: &[Measured],
    (contour, [iou, boundary_iou]): (Option<ContourDistances>, [f64; 2]),
) -> Summary {
    let mut outer: Vec<f64> = rows
        .iter()
        .filter_map(|r| r.row.outer_diff)
        .map(f64::abs)
        .collect();
    outer.sort_by(f64::total_cmp);
    let mean = if outer.is_empty() {
        0.0
    } else {
        outer.iter().sum::<f64>() / outer.len() as f64
    };
    // Nearest rank: the smallest value that 95 % do not exceed.
    let p95 = outer
        .get((outer.len() * 95).div_ceil(100).saturating_sub(1))
        .copied()
        .unwrap_or(0.0);
    let (contour_mean, contour_p95, contour_max) =
        contour.map_or((0.0, 0.0, 0.0), |c| (c.mean, c.p95, c.max));
    Summary {
        iou,
        boundary_iou,
        outer_diff_mean_abs: mean,
        outer_diff_p95_abs: p95,
        outer_diff_max_abs: outer.last().copied().unwrap_or(0.0),
        contour_mean,
        contour_p95,
        contour_max,
        rows_total: rows.len(),
        rows_outside: rows.iter().filter(|r| r.strength > 1.0).count(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spans(ends: &[[f64; 2]]) -> Vec<Span> {
        ends.iter().map(|[x0, x1]| Span { x0: *x0, x1: *x1 }).collect()
    }

    #[test]
    fn a_slit_that_no_drawing_could_show_is_none() {
        let mesh = spans(&[[-10.0, -1.0], [0.5, 10.0]]);
        let whole = spans(&[[-10.0, 10.0]]);
        let off = vec![0.1, 7.0, 7.0, 0.2];
        let told = |drawing: &[Span], drawable| drawable_gaps(drawing, &mesh, off.clone(), drawable);
        assert_eq!(told(&whole, 2.0), (whole.clone(), vec![0.1, 0.2]));
        assert_eq!(told(&whole, 1.0), (mesh.clone(), off.clone()));
        // The drawing shows it.
        let drawn = spans(&[[-10.0, -0.8], [0.4, 10.0]]);
        assert_eq!(told(&drawn, 2.0), (mesh.clone(), off.clone()));
    }
}
