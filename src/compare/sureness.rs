//! How sure the drawing's edge is, row by row.
//!
//! The outline lies somewhere within the drawn line: the broader the line and its blur are against the tolerance, the
//! less sure. Where a gap of the outline was closed, there was no line at all; where the line is faint or a label
//! touches it, its place is taken from the line nearby.

use super::rows::Measured;
use crate::space::{Point, ViewUnits};

/// A line as broad as the tolerance takes this from the sureness, in percent: half of it to either side of the middle is
/// half the tolerance.
const BROAD: f64 = 25.0;
/// The most that a broad line takes.
const MOST_BROAD: f64 = 60.0;
/// What is left, in percent, at a closed gap.
const CLOSED: f64 = 30.0;
/// What is left, in percent, where the outline is faint or something touches it: less than half, since it was not seen
/// undisturbed, more than at a gap, since there is something.
const DOUBTFUL: f64 = 45.0;
/// Below this a row is unsure.
pub const UNSURE_PCT: u8 = 50;

/// Closed gaps of a figure, and its line.
pub struct Drawing<'a> {
    /// The ends of each closed gap.
    pub closed: &'a [[Point<ViewUnits>; 2]],
    /// The ends of short pieces of the outline where it is faint or something touches it.
    pub doubtful: &'a [[Point<ViewUnits>; 2]],
    /// Width of the line, units; 0 without one.
    pub line: f64,
    /// Width of the line's blur, units.
    pub blur: f64,
    /// The tolerance, units.
    pub tolerance: f64,
}

/// Writes into each row how sure the drawing's edges are there.
pub fn judge(rows: &mut [Measured], drawing: &Drawing<'_>) {
    let broad = (BROAD * (drawing.line + drawing.blur) / drawing.tolerance).min(MOST_BROAD);
    let base = (100.0 - broad).round() as u8;
    for row in rows {
        let y = row.row.y;
        let ends: Vec<f64> = row.row.drawing.iter().flatten().copied().collect();
        let meets = |places: &[[Point<ViewUnits>; 2]]| {
            places.iter().any(|[a, b]| {
                // Half the gap and half a line around its middle.
                let reach = 0.5 * (a.distance(*b) + drawing.line);
                let middle: Point<ViewUnits> = Point::new(f64::midpoint(a.x, b.x), f64::midpoint(a.y, b.y));
                (middle.y - y).abs() <= reach
                    && ends.iter().any(|x| middle.distance(Point::new(*x, y)) <= reach)
            })
        };
        row.row.edge_sure_pct = if meets(drawing.closed) {
            base.min(CLOSED as u8)
        } else if meets(drawing.doubtful) {
            base.min(DOUBTFUL as u8)
        } else {
            base
        };
    }
}

/// Whether most of the rows between two heights are unsure.
pub fn mostly_unsure(rows: &[Measured], y_from: f64, y_to: f64) -> bool {
    let within = || rows.iter().filter(|r| y_from <= r.row.y && r.row.y <= y_to);
    let unsure = within().filter(|r| r.row.edge_sure_pct < UNSURE_PCT).count();
    2 * unsure > within().count()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compare::rows::EdgeReading;
    use crate::report::model::Row;

    fn rows() -> Vec<Measured> {
        (0..10)
            .map(|k| Measured {
                row: Row {
                    y: f64::from(10 - k),
                    drawing: vec![[-5.0, 5.0]],
                    mesh: vec![[-5.0, 5.0]],
                    outer_diff: Some(0.0),
                    solid_diff: Some(0.0),
                    left_diff: Some(0.0),
                    right_diff: Some(0.0),
                    edge_sure_pct: 100,
                    spans: Vec::new(),
                },
                deviation: 0.0,
                strength: 0.0,
                kind: None,
                inner: 0.0,
                edges: [EdgeReading::Measured; 2],
            })
            .collect()
    }

    /// A gap from y 3 to y 6 at the right edge; a line half as broad as the tolerance.
    #[test]
    fn a_closed_gap_makes_its_rows_unsure() {
        let mut rows = rows();
        let closed = [[Point::new(5.0, 3.0), Point::new(5.0, 6.0)]];
        judge(
            &mut rows,
            &Drawing {
                closed: &closed,
                doubtful: &[],
                line: 0.5,
                blur: 0.0,
                tolerance: 1.0,
            },
        );
        let unsure: Vec<f64> = rows
            .iter()
            .filter(|r| r.row.edge_sure_pct < UNSURE_PCT)
            .map(|r| r.row.y)
            .collect();
        assert_eq!(unsure, [6.0, 5.0, 4.0, 3.0]);
        // 100 - 25 / 2, rounded.
        assert_eq!(rows[0].row.edge_sure_pct, 88);
        assert!(mostly_unsure(&rows, 2.5, 6.5) && !mostly_unsure(&rows, 0.0, 11.0));
    }
    /// The left edge is faint at y 8, and the line is blurred by its own width.
    #[test]
    fn a_faint_stretch_and_blur_make_rows_less_sure() {
        let mut rows = rows();
        judge(
            &mut rows,
            &Drawing {
                closed: &[],
                doubtful: &[[Point::new(-5.0, 7.5), Point::new(-5.0, 8.5)]],
                line: 0.4,
                blur: 0.4,
                tolerance: 1.0,
            },
        );
        let sure = |y: f64| rows.iter().find(|r| r.row.y == y).map(|r| r.row.edge_sure_pct);
        assert_eq!(sure(8.0), Some(45));
        assert_eq!(sure(5.0), Some(80));
    }
}
