//! An orthographic view of a mesh: exact outline and exact row spans. Knows nothing of drawings.
//!
//! View x is `x cos a + z sin a` at azimuth `a`, view y is the mesh's y; seen from above view y is `x sin a − z cos a`,
//! so (x, −z) at 0. Polygons are cut into a fan from their first
//! corner. What the view covers is the union of all fan triangles, exact but for rounding; faces seen edge-on, which
//! have no area in the view, drop out.

mod area;
mod azimuth;
mod cancel;
mod orientation;
mod rim;

pub use azimuth::Azimuth;
pub use rim::{OnRim, Rim, RimEdge};

use std::borrow::Cow;
use std::sync::Arc;

use crate::mesh::Mesh;
use crate::profile::scan::{Edge, Ends, cut_rounding, scan, scan_ascending};
use crate::profile::{Outline, RowSpans, trace};
use crate::space::{Bounds, Point, ViewUnits};

/// Heights at which something begins, ends, splits or merges are found to this fraction of the figure height: a tenth
/// of the error of 1e-6 that spans may have.
const EVENT_HEIGHT: f64 = 1e-7;

/// Rows that [`Silhouette::outline`] uses at least.
const FEWEST_ROWS: usize = 2;

/// What one view of a mesh covers.
#[derive(Debug, Clone)]
pub struct Silhouette {
    azimuth: Azimuth,
    /// Shared, as there may be some hundred thousand.
    edges: Arc<Vec<Edge>>,
}

/// Silhouettes of several views in one walk over the mesh, in the order of the azimuths.
pub fn silhouettes(mesh: &Mesh, azimuths: &[Azimuth]) -> Vec<Silhouette> {
    azimuths
        .chunks(cancel::VIEWS)
        .flat_map(|some| {
            let edges = cancel::remaining_edges(mesh, some);
            some.iter().zip(edges).map(|(&azimuth, edges)| Silhouette {
                azimuth,
                edges: Arc::new(edges),
            })
        })
        .collect()
}

impl Silhouette {
    /// The view of a mesh from an azimuth. Several views are cheaper together, see [`silhouettes`].
    pub fn new(mesh: &Mesh, azimuth: Azimuth) -> Self {
        let edges = cancel::remaining_edges(mesh, &[azimuth])
            .pop()
            .unwrap_or_default();
        Self {
            azimuth,
            edges: Arc::new(edges),
        }
    }

    /// Where the viewer stands.
    pub fn azimuth(&self) -> Azimuth {
        self.azimuth
    }

    /// The box around the view, exact; `None` where the view covers nothing.
    pub fn bounds(&self) -> Option<Bounds<ViewUnits>> {
        Bounds::around(
            self.edges
                .iter()
                .flat_map(|e| [Point::new(e.x0, e.y0), Point::new(e.x1, e.y1)]),
        )
    }

    /// The spans that rows at the heights `ys` (units, any order) cut out of the view, parts that touch united.
    ///
    /// Exact up to a few roundings. Rows are half-open: one at the ground meets the figure, one at the crown does not.
    pub fn row_spans(&self, ys: &[f64]) -> RowSpans {
        scan(&self.edges, ys, Ends::Above)
    }

    /// The covered area in squared units, without sampling.
    pub fn projected_area(&self) -> f64 {
        area::covered_area(&self.edges)
    }

    /// The outline through at least `rows` rows from the ground to the crown.
    ///
    /// Its points are exact; between two rows it runs straight. Crown and ground are exact, other heights at which
    /// something begins, ends, splits or merges are found to 1e-7 of the figure height.
    pub fn outline(&self, rows: usize) -> Outline<ViewUnits> {
        trace(&self.outline_rows(rows))
    }

    fn outline_rows(&self, rows: usize) -> RowSpans {
        let Some(bounds) = self.bounds() else {
            return RowSpans::default();
        };
        let (ground, crown) = (bounds.y0, bounds.y1);
        let intervals = rows.max(FEWEST_ROWS) - 1;
        let step = bounds.height() / intervals as f64;
        let inner: Vec<f64> = (1..intervals).map(|i| ground + i as f64 * step).collect();
        let mut found = RowSpans::default();
        let ground_row = scan(&self.edges, &[ground], Ends::AboveWithPoints);
        found.push_row(ground, ground_row.row(0));
        let inner = scan(&self.edges, &inner, Ends::Above);
        for (i, &y) in inner.ys.iter().enumerate() {
            found.push_row(y, inner.row(i));
        }
        let crown_row = scan(&self.edges, &[crown], Ends::BelowWithPoints);
        found.push_row(crown, crown_row.row(0));
        self.refine(found, EVENT_HEIGHT * bounds.height())
    }

    /// Halves the distance between rows whose spans do not pair one to one, until it is at most `finest`.
    ///
    /// Ends also where more places are left than the edges can have ends in: then something is so flat and slanting that
    /// no two rows meet in it, and halving would go on through all its height. Such a sliver stays in steps.
    fn refine(&self, mut rows: RowSpans, finest: f64) -> RowSpans {
        let most = (ENDS_OF_EDGE * self.edges.len() + rows.len()).min(MOST_PLACES);
        let rounding = cut_rounding(&self.edges);
        // Edges near the rows that are left: they get fewer as the rows get closer.
        let mut near: Cow<'_, [Edge]> = Cow::Borrowed(&self.edges);
        loop {
            let gaps: Vec<(f64, f64, f64)> = (1..rows.len())
                .filter(|&i| !pairs(&rows, i - 1, i))
                .map(|i| (rows.ys[i - 1], rows.ys[i]))
                .filter(|(a, b)| b - a > finest)
                .map(|(a, b)| (a, 0.5 * (a + b), b))
                // Far from zero two rows may have no height between them.
                .filter(|&(a, y, b)| a < y && y < b)
                .collect();
            if gaps.is_empty() || gaps.len() > most {
                return rows;
            }
            let reaches_any = |e: &&Edge| {
                let next = gaps.partition_point(|(_, _, b)| *b < e.y0);
                gaps.get(next).is_some_and(|(a, _, _)| *a <= e.y1)
            };
            near = near.iter().filter(reaches_any).copied().collect();
            let between: Vec<f64> = gaps.iter().map(|g| g.1).collect();
            let new = scan_ascending(&near, &between, Ends::Above, rounding);
            let mut merged =
                RowSpans::with_capacity(rows.len() + new.len(), rows.spans.len() + new.spans.len());
            let mut next = 0;
            for (i, &y) in rows.ys.iter().enumerate() {
                while next < new.len() && new.ys[next] < y {
                    merged.push_row(new.ys[next], new.row(next));
                    next += 1;
                }
                merged.push_row(y, rows.row(i));
            }
            rows = merged;
        }
    }
}

/// Ends of an edge, at each of which something may begin, end, split or merge.
const ENDS_OF_EDGE: usize = 2;
/// Most places at which an outline is refined at a time: a hundred times those of a finely modelled figure.
const MOST_PLACES: usize = 1 << 15;

/// Whether each span of one row meets exactly its own counterpart in the other.
fn pairs(rows: &RowSpans, i: usize, j: usize) -> bool {
    let (a, b) = (rows.row(i), rows.row(j));
    a.len() == b.len()
        && a.iter().zip(b).all(|(s, t)| s.x0 <= t.x1 && t.x0 <= s.x1)
        && a.iter().zip(b.iter().skip(1)).all(|(s, t)| s.x1 < t.x0)
        && b.iter().zip(a.iter().skip(1)).all(|(s, t)| s.x1 < t.x0)
}
