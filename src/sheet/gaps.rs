//! Where a broken outline is closed, and where a narrow passage is left open.
//!
//! Works on a reduced mask (a few hundred pixels a figure). The ground between the marks is flooded from its
//! widest places down, in the order of the exact distance to the nearest mark (Felzenszwalb and Huttenlocher 2012).
//! Two basins meet at a saddle, the narrowest place of the way between them. Where the saddle is no wider than a
//! gap may be and both basins open up behind it, the way is closed by a short bridge between the marks on its two
//! sides, but only if the drawing shows a stroke that *ends* there: the stroke on one side at least must run
//! along the bridge. Two legs that nearly touch, or a hand close to the hip, have strokes that run across the
//! bridge on both sides: that passage is ground and stays open. Wedges (crotch, armpit) have no basin behind the
//! narrow place and are never closed.

use super::figures;
use super::runs::{Joined, Run, Runs, push_joined};
use super::slits::dilate;

/// Rows of the reduced mask.
const REDUCED_ROWS: usize = 760;
/// Rows of the mask that is enough to see whether there are gaps at all.
const COARSE_ROWS: usize = 400;
/// Cells of that mask that ground behind a gap covers at least.
const LEAST_BEHIND: usize = 8;
/// Widest gap that is closed, as a share of the figure's height.
const WIDEST_GAP: f64 = 0.012;
/// A gap spans at least this many cells of the reduced mask.
const CELLS_IN_GAP: f64 = 3.0;
/// Widest break of a stroke that is mended end to end, as a share of the figure's height.
pub const WIDEST_BREAK: f64 = 0.03;
/// Marks within twice this share of the sheet's height of each other belong to one figure.
const TOGETHER: f64 = 0.008;
/// Fewer cells than this behind a slit are not worth closing it: a letter, an eye.
const SLIT_CELLS: usize = 40;
/// A basin's widest place must be this many times as wide as the saddle. From trials on broken outlines.
const OPENS_UP: f32 = 1.5;
/// Around a bridge's end the stroke's direction is read within this many reduced pixels beyond the half gap.
const NEIGHBOURHOOD: i64 = 5;
/// Cosine from which a stroke counts as running along the bridge (50 degrees).
const ALONG: f64 = 0.64;
/// The two nearest marks of a saddle lie on opposite sides if the angle between them is wider than 110 degrees.
const OPPOSITE: f64 = -0.34;

/// A closed gap, in upright pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bridge {
    /// One end.
    pub from: [f64; 2],
    /// The other end.
    pub to: [f64; 2],
}

impl Bridge {
    /// Width of the gap in pixels.
    pub fn length(&self) -> f64 {
        (self.from[0] - self.to[0]).hypot(self.from[1] - self.to[1])
    }

    /// The runs that draw it as a stroke `width` pixels thick.
    pub fn runs(&self, width: f64) -> Vec<(usize, Run)> {
        let r = (width / 2.0).max(0.75);
        let (a, b) = (self.from, self.to);
        let (y0, y1) = (
            (a[1].min(b[1]) - r).floor().max(0.0) as usize,
            (a[1].max(b[1]) + r).ceil().max(0.0) as usize,
        );
        let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
        let len2 = (dx * dx + dy * dy).max(1e-9);
        let (x0, x1) = (
            (a[0].min(b[0]) - r).floor().max(0.0) as u32,
            (a[0].max(b[0]) + r).ceil().max(0.0) as u32,
        );
        let inside = |x: u32, y: usize| {
            let (px, py) = (f64::from(x) + 0.5 - a[0], y as f64 + 0.5 - a[1]);
            let t = ((px * dx + py * dy) / len2).clamp(0.0, 1.0);
            (px - t * dx).powi(2) + (py - t * dy).powi(2) <= r * r
        };
        let mut out = Vec::new();
        for y in y0..=y1 {
            let mut columns = (x0..=x1).filter(|x| inside(*x, y));
            if let Some(first) = columns.next() {
                let last = columns.next_back().unwrap_or(first);
                out.push((
                    y,
                    Run {
                        x0: first,
                        x1: last + 1,
                    },
                ));
            }
        }
        out
    }
}

/// A reduced mask: a cell is marked if any pixel of its square is.
pub(super) struct Reduced {
    pub(super) width: usize,
    pub(super) height: usize,
    pub(super) factor: usize,
    pub(super) marked: Vec<bool>,
}

/// The mask reduced to about so many rows, as runs, and by how much.
fn reduced_runs(marks: &Runs, rows: usize) -> (Runs, usize) {
    let f = (marks.height() / rows).max(1);
    if f == 1 {
        return (marks.clone(), 1);
    }
    let (width, height) = ((marks.width as usize).div_ceil(f), marks.height().div_ceil(f));
    let cells = |r: &Run| Run {
        x0: r.x0 / f as u32,
        x1: (r.x1 - 1) / f as u32 + 1,
    };
    let reduced = Runs::build(width, height, |y, out| {
        let rows = y * f..((y + 1) * f).min(marks.height());
        let mut all: Vec<Run> = rows.flat_map(|y| marks.row(y).iter().map(cells)).collect();
        all.sort_unstable_by_key(|r| r.x0);
        push_joined(all.into_iter(), out);
    });
    (reduced, f)
}

/// How many cells of a mask reduced by `f`, from its border on, have their middle pixel before this one.
fn cells_before(pixel: u32, f: usize) -> u32 {
    (pixel as usize).saturating_sub(f / 2).div_ceil(f) as u32
}

fn reduce_by(marks: &Runs, factor: usize) -> Reduced {
    let (width, height) = (
        (marks.width as usize).div_ceil(factor),
        marks.height().div_ceil(factor),
    );
    let mut marked = vec![false; width * height];
    for y in 0..marks.height() {
        let line = y / factor * width;
        for r in marks.row(y) {
            marked[line + r.x0 as usize / factor..=line + (r.x1 as usize - 1) / factor].fill(true);
        }
    }
    Reduced {
        width,
        height,
        factor,
        marked,
    }
}

/// Whether the outside reaches places that the reduced mask encloses: through a slit too narrow to show in it.
/// Returns the radius of the closing that shuts such slits.
pub fn slits(marks: &Runs, reached: &Runs) -> Option<u32> {
    let (mask, f) = reduced_runs(marks, REDUCED_ROWS);
    if f == 1 {
        // Nothing is lost in a mask that is not reduced.
        return None;
    }
    let enclosed = figures::outside(&mask).union(&mask).complement();
    (behind(&enclosed, f, reached) > SLIT_CELLS).then_some(f as u32)
}

/// How many cells of a mask reduced by `f` have their middle where the outside reaches.
fn behind(cells: &Runs, f: usize, reached: &Runs) -> usize {
    let mut count = 0usize;
    for y in 0..cells.height() {
        let row = reached.row((y * f + f / 2).min(reached.height() - 1));
        for cell in cells.row(y) {
            let first = row.partition_point(|r| cells_before(r.x1, f) <= cell.x0);
            for r in row[first..]
                .iter()
                .take_while(|r| cells_before(r.x0, f) < cell.x1)
            {
                let (x0, x1) = (
                    cells_before(r.x0, f).max(cell.x0),
                    cells_before(r.x1, f).min(cell.x1),
                );
                count += x1.saturating_sub(x0) as usize;
            }
        }
    }
    count
}

/// Narrow places of the ground where a stroke ends, in pixels of the marks; the figures are about `figure_px` tall.
pub fn narrows(marks: &Runs, figure_px: f64) -> Vec<Bridge> {
    let widest_px = WIDEST_GAP * figure_px;
    // Not coarser than a third of the gap, not finer than needed: the flooding takes most of the time.
    let finest = (widest_px / CELLS_IN_GAP) as usize;
    let mask = reduce_by(marks, marks.height().div_ceil(REDUCED_ROWS).min(finest).max(1));
    let f = mask.factor as f64;
    let limit = (widest_px / f) as f32;
    if limit < 1.0 {
        return Vec::new();
    }
    let field = Field::new(&mask);
    let middle = |i: usize| [(i % mask.width) as f64 + 0.5, (i / mask.width) as f64 + 0.5].map(|c| c * f);
    watershed(&mask, &field, limit)
        .into_iter()
        .map(|(a, b)| Bridge {
            from: middle(a),
            to: middle(b),
        })
        .collect()
}

/// Whether there is ground that the outside (`reached`) reaches only through places as narrow as a gap can be, in
/// figures about `figure_px` tall: without it there is nothing to close.
pub fn leaks(marks: &Runs, reached: &Runs, figure_px: f64) -> bool {
    let (mask, f) = reduced_runs(marks, COARSE_ROWS);
    let thick = dilate(&mask, (WIDEST_BREAK * figure_px / 2.0 / f as f64).ceil() as u32);
    let open = dilate(&figures::outside(&thick), 1);
    behind(&thick.union(&open).complement(), f, reached) > LEAST_BEHIND
}

/// About how tall the figures are, in pixels: the tallest group of marks that lie close together, broken or not,
/// other than a frame around everything.
pub fn figure_height(marks: &Runs) -> f64 {
    let (mask, f) = reduced_runs(marks, COARSE_ROWS);
    let (w, h) = (mask.width as usize, mask.height());
    let r = ((TOGETHER * h as f64) as usize).max(1);
    let groups = dilate(&mask, r as u32);
    let labels = groups.labels(Joined::Eight);
    let mut boxes = vec![[usize::MAX, 0, usize::MAX, 0]; labels.count];
    for y in 0..h {
        for i in groups.range(y) {
            let (run, b) = (groups.runs[i], &mut boxes[labels.of_run[i] as usize]);
            *b = [
                b[0].min(y),
                y + 1,
                b[2].min(run.x0 as usize),
                b[3].max(run.x1 as usize),
            ];
        }
    }
    let tall = boxes
        .iter()
        .filter(|b| b[1] - b[0] < h * 19 / 20 || b[3] - b[2] < w / 2)
        .map(|b| (b[1] - b[0]).saturating_sub(2 * r))
        .max();
    (tall.unwrap_or(h * 3 / 4) * f) as f64
}

/// Distance of every cell to the nearest mark, and which mark that is.
struct Field {
    distance: Vec<f32>,
    nearest: Vec<u32>,
}

impl Field {
    /// Two passes of lower envelopes of parabolas (Felzenszwalb and Huttenlocher 2012), keeping the nearest mark.
    fn new(mask: &Reduced) -> Self {
        let (w, h) = (mask.width, mask.height);
        const FAR: f32 = 1e12;
        let mut squared = vec![FAR; w * h];
        let mut nearest_row = vec![0u32; w * h];
        for x in 0..w {
            let mut last: Option<usize> = None;
            for y in 0..h {
                if mask.marked[y * w + x] {
                    last = Some(y);
                }
                if let Some(l) = last {
                    squared[y * w + x] = ((y - l) * (y - l)) as f32;
                    nearest_row[y * w + x] = l as u32;
                }
            }
            last = None;
            for y in (0..h).rev() {
                if mask.marked[y * w + x] {
                    last = Some(y);
                }
                if let Some(l) = last {
                    let d = ((l - y) * (l - y)) as f32;
                    if d < squared[y * w + x] {
                        squared[y * w + x] = d;
                        nearest_row[y * w + x] = l as u32;
                    }
                }
            }
        }
        let mut distance = vec![FAR; w * h];
        let mut nearest = vec![0u32; w * h];
        let mut hull = vec![0usize; w];
        let mut bound = vec![0f32; w + 1];
        for y in 0..h {
            let f = &squared[y * w..(y + 1) * w];
            let mut k = 0usize;
            let mut any = false;
            for q in 0..w {
                if f[q] >= FAR {
                    continue;
                }
                if !any {
                    any = true;
                    hull[0] = q;
                    bound[0] = f32::NEG_INFINITY;
                    bound[1] = f32::INFINITY;
                    continue;
                }
                let meet =
                    |v: usize| ((f[q] + (q * q) as f32) - (f[v] + (v * v) as f32)) / (2.0 * (q - v) as f32);
                let mut s = meet(hull[k]);
                while s <= bound[k] && k > 0 {
                    k -= 1;
                    s = meet(hull[k]);
                }
                k += 1;
                hull[k] = q;
                bound[k] = s;
                bound[k + 1] = f32::INFINITY;
            }
            if !any {
                continue;
            }
            let mut k = 0;
            for q in 0..w {
                while bound[k + 1] < q as f32 {
                    k += 1;
                }
                let v = hull[k];
                let d = q.abs_diff(v);
                distance[y * w + q] = ((d * d) as f32 + f[v]).sqrt();
                nearest[y * w + q] = nearest_row[y * w + v] * w as u32 + v as u32;
            }
        }
        Self { distance, nearest }
    }
}

/// Basins joined from the widest place down; returns the pairs of marks between which a gap is closed.
fn watershed(mask: &Reduced, field: &Field, limit: f32) -> Vec<(usize, usize)> {
    let (w, h) = (mask.width, mask.height);
    let n = w * h;
    // Counting sort by the distance in quarters of a cell, widest first.
    let key = |i: usize| (field.distance[i] * 4.0).min(4.0 * (w + h) as f32) as usize;
    let keys = 4 * (w + h) + 1;
    let mut count = vec![0u32; keys + 1];
    let cells: Vec<usize> = (0..n).filter(|&i| !mask.marked[i]).collect();
    for &i in &cells {
        count[keys - key(i)] += 1;
    }
    let mut sum = 0;
    for c in &mut count {
        (*c, sum) = (sum, sum + *c);
    }
    let mut order = vec![0u32; cells.len()];
    for &i in &cells {
        let slot = &mut count[keys - key(i)];
        order[*slot as usize] = i as u32;
        *slot += 1;
    }
    let mut parent = vec![u32::MAX; n];
    let mut peak = vec![0f32; n];
    let mut outer = vec![false; n];
    let mut refused: Vec<(usize, usize, usize)> = Vec::new();
    let mut known = Known::new(w, h, limit);
    for &p in &order {
        let p = p as usize;
        parent[p] = p as u32;
        peak[p] = field.distance[p];
        let (x, y) = (p % w, p / w);
        outer[p] = x == 0 || y == 0 || x + 1 == w || y + 1 == h;
        for (nx, ny) in neighbours(x, y, w, h) {
            let q = ny * w + nx;
            if parent[q] == u32::MAX {
                continue;
            }
            let (a, b) = (find_root(&mut parent, p), find_root(&mut parent, q));
            if a == b {
                continue;
            }
            let saddle = field.distance[p];
            let narrow = 2.0 * saddle <= limit && peak[a].min(peak[b]) >= OPENS_UP * saddle.max(1.0);
            if narrow {
                let ends = known
                    .find(&refused, w, p, limit)
                    .or_else(|| gap_ends(mask, field, p, saddle));
                if let Some((from, to)) = ends {
                    known.add(refused.len(), w, p);
                    refused.push((p, from, to));
                    continue;
                }
            }
            let (keep, drop) = if peak[a] >= peak[b] { (a, b) } else { (b, a) };
            parent[drop] = keep as u32;
            outer[keep] |= outer[drop];
        }
    }
    // Only gaps between the outside and something it does not reach are closed; inner cells may leak.
    let mut out: Vec<(usize, usize)> = Vec::new();
    for (p, from, to) in refused {
        let (x, y) = (p % w, p / w);
        let sides: Vec<bool> = neighbours(x, y, w, h)
            .chain([(x, y)])
            .map(|(nx, ny)| ny * w + nx)
            .filter_map(|q| match parent[q] {
                u32::MAX => None,
                _ => Some(outer[find_root(&mut parent, q)]),
            })
            .collect();
        if sides.contains(&true) && sides.contains(&false) && !out.contains(&(from, to)) {
            out.push((from, to));
        }
    }
    out
}

/// Gaps that were found already, by squares of a gap's width.
struct Known {
    side: usize,
    columns: usize,
    rows: usize,
    squares: Vec<Vec<usize>>,
}

impl Known {
    fn new(w: usize, h: usize, limit: f32) -> Self {
        let side = (limit.ceil() as usize).max(1);
        let (columns, rows) = (w / side + 1, h / side + 1);
        Self {
            side,
            columns,
            rows,
            squares: vec![Vec::new(); columns * rows],
        }
    }

    fn add(&mut self, index: usize, w: usize, p: usize) {
        self.squares[p / w / self.side * self.columns + p % w / self.side].push(index);
    }

    /// The ends of the first gap whose saddle lies within a gap's width of `p`.
    fn find(
        &self,
        refused: &[(usize, usize, usize)],
        w: usize,
        p: usize,
        limit: f32,
    ) -> Option<(usize, usize)> {
        let (x, y) = (p % w, p / w);
        let (cx, cy) = (x / self.side, y / self.side);
        let near = |i: &usize| {
            let s = refused[*i].0;
            let (dx, dy) = ((s % w).abs_diff(x) as f32, (s / w).abs_diff(y) as f32);
            dx.hypot(dy) <= limit
        };
        let mut first: Option<usize> = None;
        for ny in cy.saturating_sub(1)..(cy + 2).min(self.rows) {
            for nx in cx.saturating_sub(1)..(cx + 2).min(self.columns) {
                let found = self.squares[ny * self.columns + nx]
                    .iter()
                    .copied()
                    .find(|i| near(i));
                first = [first, found].into_iter().flatten().min();
            }
        }
        first.map(|i| (refused[i].1, refused[i].2))
    }
}

fn neighbours(x: usize, y: usize, w: usize, h: usize) -> impl Iterator<Item = (usize, usize)> {
    (y.saturating_sub(1)..(y + 2).min(h))
        .flat_map(move |ny| (x.saturating_sub(1)..(x + 2).min(w)).map(move |nx| (nx, ny)))
        .filter(move |n| *n != (x, y))
}

fn find_root(parent: &mut [u32], mut i: usize) -> usize {
    while parent[i] as usize != i {
        parent[i] = parent[parent[i] as usize];
        i = parent[i] as usize;
    }
    i
}

/// The marks on the two sides of a saddle, if they are the ends of a broken stroke.
fn gap_ends(mask: &Reduced, field: &Field, p: usize, saddle: f32) -> Option<(usize, usize)> {
    let (w, h) = (mask.width, mask.height);
    let (px, py) = ((p % w) as f64, (p / w) as f64);
    let from = field.nearest[p] as usize;
    let away = |i: usize| ((i % w) as f64 - px, (i / w) as f64 - py);
    let (ax, ay) = away(from);
    let al = ax.hypot(ay).max(1e-9);
    let cosine = |i: usize| {
        let (bx, by) = away(i);
        (ax * bx + ay * by) / (al * bx.hypot(by).max(1e-9))
    };
    let reach = saddle.ceil() as i64 + 2;
    let mut best: Option<(f64, usize)> = None;
    for dy in -reach..=reach {
        for dx in -reach..=reach {
            let (x, y) = (px as i64 + dx, py as i64 + dy);
            if x < 0 || y < 0 || x >= w as i64 || y >= h as i64 {
                continue;
            }
            let i = y as usize * w + x as usize;
            let d = (dx as f64).hypot(dy as f64);
            if mask.marked[i] && cosine(i) < OPPOSITE && best.is_none_or(|(b, _)| d < b) {
                best = Some((d, i));
            }
        }
    }
    let to = best?.1;
    let (bx, by) = (
        (to % w) as f64 - (from % w) as f64,
        (to / w) as f64 - (from / w) as f64,
    );
    let length = bx.hypot(by).max(1e-9);
    let bridge = [bx / length, by / length];
    let reach = NEIGHBOURHOOD + saddle as i64;
    let ends = |end: usize, sign: f64| stroke_ends(mask, end, reach, [bridge[0] * sign, bridge[1] * sign]);
    (ends(from, 1.0) || ends(to, -1.0)).then_some((from, to))
}

/// Whether the stroke at `end` runs along `towards` and stops there: the marks around it lie behind it, along the
/// direction of the bridge.
fn stroke_ends(mask: &Reduced, end: usize, reach: i64, towards: [f64; 2]) -> bool {
    let (w, h) = (mask.width as i64, mask.height as i64);
    let (ex, ey) = (end as i64 % w, end as i64 / w);
    // Only marks connected to the end within the neighbourhood count: another stroke may pass by.
    let side = 2 * reach + 1;
    let mut met = vec![false; (side * side) as usize];
    met[(reach * side + reach) as usize] = true;
    let mut seen = vec![(ex, ey)];
    let mut next = 0;
    while next < seen.len() {
        let (x, y) = seen[next];
        next += 1;
        for (nx, ny) in (-1..=1).flat_map(|dy| (-1..=1).map(move |dx| (x + dx, y + dy))) {
            let (lx, ly) = (nx - ex + reach, ny - ey + reach);
            let near = (0..side).contains(&lx) && (0..side).contains(&ly);
            if !near || !(0..w).contains(&nx) || !(0..h).contains(&ny) {
                continue;
            }
            let place = (ly * side + lx) as usize;
            if !met[place] && mask.marked[(ny * w + nx) as usize] {
                met[place] = true;
                seen.push((nx, ny));
            }
        }
    }
    let n = seen.len() as f64;
    let (mx, my) = (
        seen.iter().map(|s| (s.0 - ex) as f64).sum::<f64>() / n,
        seen.iter().map(|s| (s.1 - ey) as f64).sum::<f64>() / n,
    );
    // A stroke that ends here has its mass behind the end; one that passes has it on both sides.
    let length = mx.hypot(my);
    if length < reach as f64 * 0.2 {
        return false;
    }
    -(mx * towards[0] + my * towards[1]) / length >= ALONG
}

#[cfg(test)]
mod tests {
    use super::*;

    /// SciPy's documented example of `distance_transform_edt` (SciPy 1.17.1): distances of the ones to the zeros.
    #[test]
    fn distances_are_those_of_the_documented_example() {
        let rows = ["01111", "00111", "01111", "01110", "01100"];
        let mask = Reduced {
            width: 5,
            height: 5,
            factor: 1,
            marked: rows.iter().flat_map(|r| r.bytes().map(|c| c == b'0')).collect(),
        };
        let field = Field::new(&mask);
        let row = |y: usize| field.distance[5 * y..5 * y + 5].to_vec();
        let root = f32::sqrt;
        assert_eq!(row(0), [0.0, 1.0, root(2.0), root(5.0), 3.0]);
        assert_eq!(row(2), [0.0, 1.0, root(2.0), root(2.0), 1.0]);
        for i in 0..25 {
            let n = field.nearest[i] as usize;
            let d = ((i % 5) as f32 - (n % 5) as f32).hypot((i / 5) as f32 - (n / 5) as f32);
            assert!(
                mask.marked[n] && (d - field.distance[i]).abs() < 1e-6,
                "the nearest mark of cell {i}"
            );
        }
    }

    #[test]
    fn a_bridge_is_drawn_as_a_connected_stroke() {
        let bridge = Bridge {
            from: [2.0, 2.0],
            to: [9.0, 6.0],
        };
        let runs = bridge.runs(3.0);
        let rows: Vec<usize> = runs.iter().map(|r| r.0).collect();
        assert!(rows.windows(2).all(|w| w[1] == w[0] + 1), "{rows:?}");
        assert!(
            runs.windows(2)
                .all(|w| w[0].1.x1 >= w[1].1.x0 && w[1].1.x1 >= w[0].1.x0)
        );
    }
}
