//! Broken strokes mended end to end, before the narrow places of the ground are looked at.
//!
//! The marks are thinned to lines one cell wide (Zhang and Suen 1984). Each free end has a direction, read off
//! the last cells of its line. Two ends that look at each other are one stroke that was broken, and are joined by a
//! straight bridge, the nearest and straightest first, each end once (the idea of joining stroke ends: Fourey,
//! Tschumperlé and Revoy 2018, there with splines). An end without a partner may stop short of a stroke that passes
//! ahead of it. Legs, fingers and arms beside a body are strokes that run side by side: their ends do not look at
//! each other, so concave places stay open.
//!
//! Two ends whose strokes, run on, meet nearby are a corner that fell into a gap. Bridges within a figure or a note do
//! no harm.

use super::figures;
use super::gaps::Bridge;
use super::runs::{Run, Runs};

/// Widest gap that is mended, as a share of the figure's height: broken pencil outlines have gaps up to 2.5 %, and
/// their ends taper.
const WIDEST: f64 = 0.03;
/// Gaps up to this share are mended even if the ends are crooked: grain breaks a stroke anywhere.
const SHORT: f64 = 0.006;
/// Widest gap between an end and a stroke that passes ahead of it.
const TO_STROKE: f64 = 0.016;
/// Share of the figure's height over which a line tells its direction at the end.
const TAIL: f64 = 0.014;
/// Lines shorter than this share from their end to a branch are stumps of the thinning: a line is about 0.35 % wide.
const STUMP: f64 = 0.005;
/// Marks within this share of a thinned line are its own stroke.
const OWN: f64 = 0.003;
/// Cosine between a stroke's end and a long bridge, at least: 40 degrees, as an outline may turn within the gap.
const FACING: f64 = 0.766;
/// Sum of both ends' cosines, at least, for a long bridge.
const BOTH_FACING: f64 = 1.65;
/// Cosine of the ends of a short gap, at least.
const CROOKED: f64 = 0.2;
/// Half the thickness of the thickest stroke, as a share of the figure's height.
const THICKEST: f64 = 0.012;
/// Thickness of the bridges while they are tried, pixels: no way through at corners.
const BRIDGE: f64 = 2.5;
/// Sine of the angle at a corner, at least: strokes more nearly parallel meet too far off.
const TURNS: f64 = 0.2;
/// Cosine between a stroke's end and the way to a stroke ahead, at least.
const AHEAD: f64 = 0.85;

/// A free end of a thinned line, in cells, with its outward direction.
#[derive(Debug, Clone)]
struct End {
    at: [f64; 2],
    towards: [f64; 2],
    /// Cells of its own line, not to be met by its bridge.
    tail: Vec<usize>,
    /// Marks this close to the tail are its own stroke.
    own: usize,
}

/// A possible bridge between ends or from an end to a place, with its cost.
struct Link {
    cost: f64,
    ends: [usize; 2],
    from: [f64; 2],
    /// Where it turns.
    corner: Option<[f64; 2]>,
    to: [f64; 2],
}

/// Bridges that mend the broken strokes of figures about `figure` pixels tall, in pixels of the marks.
pub fn join(marks: &Runs, figure: f64) -> Vec<Bridge> {
    let mut mask = Mask::new(marks);
    let cells: Vec<usize> = (0..mask.height)
        .flat_map(|y| {
            marks
                .row(y)
                .iter()
                .flat_map(move |r| r.x0 as usize..r.x1 as usize)
                .map(move |x| (x, y))
        })
        .map(|(x, y)| y * mask.width + x)
        .collect();
    let mut cells = thin(&mut mask, cells, (THICKEST * figure).ceil() as usize);
    prune(&mut mask, &mut cells, figure);
    let mask = &mask;
    let ends = ends(mask, &cells, figure);
    let mut used = vec![false; ends.len()];
    let mut out = greedy(&mut between(mask, &ends, figure), &mut used);
    let straight = out.len();
    out.extend(greedy(&mut corners(mask, &ends, &used, figure), &mut used));
    let mut ahead: Vec<Link> = (0..ends.len())
        .filter(|&i| !used[i])
        .filter_map(|i| to_stroke(mask, &ends[i], i, TO_STROKE * figure))
        .collect();
    out.extend(greedy(&mut ahead, &mut used));
    needed(marks, &out, straight)
}

/// The first `straight` bridges, and those of the others that part outside from inside once all are drawn: hatching has
/// many ends that stop short of strokes.
fn needed(marks: &Runs, bridges: &[Bridge], straight: usize) -> Vec<Bridge> {
    if bridges.len() <= straight {
        return bridges.to_vec();
    }
    let extra: Vec<(usize, Run)> = bridges.iter().flat_map(|b| b.runs(BRIDGE)).collect();
    let drawn = marks.with(&extra);
    let open = figures::outside(&drawn);
    let parts = |b: &Bridge| {
        let (dx, dy) = (b.to[0] - b.from[0], b.to[1] - b.from[1]);
        let length = dx.hypot(dy).max(1e-9);
        let middle = [(b.from[0] + b.to[0]) / 2.0, (b.from[1] + b.to[1]) / 2.0];
        // The first unmarked pixel on each side.
        let side = |sign: f64| {
            (1..8).find_map(|k| {
                let d = sign * f64::from(k) / length;
                let (x, y) = (middle[0] - dy * d, middle[1] + dx * d);
                (x >= 0.0 && y >= 0.0 && !drawn.contains(x, y)).then(|| open.contains(x, y))
            })
        };
        matches!((side(1.0), side(-1.0)), (Some(a), Some(b)) if a != b)
    };
    let keep = |(i, b): &(usize, &Bridge)| *i < straight || parts(b);
    bridges.iter().enumerate().filter(keep).map(|(_, b)| *b).collect()
}

fn greedy(links: &mut [Link], used: &mut [bool]) -> Vec<Bridge> {
    links.sort_by(|a, b| a.cost.total_cmp(&b.cost).then(a.ends.cmp(&b.ends)));
    let mut out = Vec::new();
    for l in links.iter() {
        if l.ends.iter().any(|e| used[*e]) {
            continue;
        }
        for e in l.ends {
            used[e] = true;
        }
        let stops = [Some(l.from), l.corner, Some(l.to)];
        let stops: Vec<[f64; 2]> = stops.into_iter().flatten().collect();
        out.extend(stops.windows(2).map(|w| Bridge { from: w[0], to: w[1] }));
    }
    out
}

/// In a [`Mask`]: a mark.
const MARKED: u8 = 1;
/// In a [`Mask`]: what thinning leaves of it.
const THIN: u8 = 2;

/// The marks as a grid, and the lines that they are thinned to.
struct Mask {
    width: usize,
    height: usize,
    of: Vec<u8>,
}

impl Mask {
    fn new(marks: &Runs) -> Self {
        let (width, height) = (marks.width as usize, marks.height());
        let mut of = vec![0; width * height];
        for y in 0..height {
            for r in marks.row(y) {
                of[y * width + r.x0 as usize..y * width + r.x1 as usize].fill(MARKED | THIN);
            }
        }
        Self { width, height, of }
    }

    fn is_marked(&self, cell: usize) -> bool {
        self.of[cell] & MARKED > 0
    }

    fn is_thin(&self, cell: usize) -> bool {
        self.of[cell] & THIN > 0
    }
}

fn cell(mask: &Mask, x: f64, y: f64) -> Option<usize> {
    (x >= 0.0 && y >= 0.0 && (x as usize) < mask.width && (y as usize) < mask.height)
        .then(|| y as usize * mask.width + x as usize)
}

/// Bridges between two ends that look at each other.
fn between(mask: &Mask, ends: &[End], figure: f64) -> Vec<Link> {
    let (limit, short) = (WIDEST * figure, (SHORT * figure).max(3.0));
    let mut order: Vec<usize> = (0..ends.len()).collect();
    order.sort_by(|&a, &b| ends[a].at[0].total_cmp(&ends[b].at[0]).then(a.cmp(&b)));
    let mut out = Vec::new();
    for (k, &i) in order.iter().enumerate() {
        for &j in &order[k + 1..] {
            let (a, b) = (&ends[i], &ends[j]);
            let (dx, dy) = (b.at[0] - a.at[0], b.at[1] - a.at[1]);
            if dx > limit {
                break;
            }
            let length = dx.hypot(dy);
            if length > limit {
                continue;
            }
            let cosine = |t: [f64; 2], sign: f64| {
                if length < 1.0 {
                    1.0
                } else {
                    sign * (t[0] * dx + t[1] * dy) / length
                }
            };
            let (ca, cb) = (cosine(a.towards, 1.0), cosine(b.towards, -1.0));
            let facing = if length <= short {
                ca.min(cb) >= CROOKED
            } else {
                ca.min(cb) >= FACING && ca + cb >= BOTH_FACING
            };
            if facing && clear(mask, a, b) {
                out.push(Link {
                    cost: length * (1.0 + 2.0 * (2.0 - ca - cb)),
                    ends: [i.min(j), i.max(j)],
                    from: a.at,
                    corner: None,
                    to: b.at,
                });
            }
        }
    }
    out
}

impl End {
    /// Whether a pixel belongs to the end's own stroke.
    fn owns(&self, i: usize, width: usize) -> bool {
        let (x, y) = (i % width, i / width);
        self.tail
            .iter()
            .any(|t| (t % width).abs_diff(x) <= self.own && (t / width).abs_diff(y) <= self.own)
    }
}

/// Bridges around a corner that fell into a gap: two ends whose strokes, run on, meet within a gap's width.
fn corners(mask: &Mask, ends: &[End], used: &[bool], figure: f64) -> Vec<Link> {
    let limit = WIDEST * figure;
    let free: Vec<usize> = (0..ends.len()).filter(|&i| !used[i]).collect();
    let mut out = Vec::new();
    for (k, &i) in free.iter().enumerate() {
        for &j in &free[k + 1..] {
            let (a, b) = (&ends[i], &ends[j]);
            let (dx, dy) = (b.at[0] - a.at[0], b.at[1] - a.at[1]);
            if dx.hypot(dy) > limit {
                continue;
            }
            let ([ax, ay], [bx, by]) = (a.towards, b.towards);
            let cross = ax * by - ay * bx;
            if cross.abs() < TURNS {
                continue;
            }
            // How far each stroke runs on to where they meet.
            let (s, t) = ((dx * by - dy * bx) / cross, (dx * ay - dy * ax) / cross);
            if s < 0.0 || t < 0.0 || s > limit || t > limit {
                continue;
            }
            let corner = [a.at[0] + s * ax, a.at[1] + s * ay];
            let meeting = End {
                at: corner,
                ..a.clone()
            };
            if clear(mask, a, &meeting)
                && clear(
                    mask,
                    b,
                    &End {
                        at: corner,
                        ..b.clone()
                    },
                )
            {
                out.push(Link {
                    cost: s + t,
                    ends: [i, j],
                    from: a.at,
                    corner: Some(corner),
                    to: b.at,
                });
            }
        }
    }
    out
}

/// Whether no mark lies between two ends, but for their own strokes.
fn clear(mask: &Mask, a: &End, b: &End) -> bool {
    let (dx, dy) = (b.at[0] - a.at[0], b.at[1] - a.at[1]);
    let count = (2.0 * dx.hypot(dy)) as usize;
    (1..count).all(|k| {
        let t = k as f64 / count as f64;
        cell(mask, a.at[0] + dx * t, a.at[1] + dy * t)
            .is_some_and(|i| !mask.is_marked(i) || a.owns(i, mask.width) || b.owns(i, mask.width))
    })
}

/// The bridge from an end to the nearest stroke ahead of it.
fn to_stroke(mask: &Mask, end: &End, index: usize, limit: f64) -> Option<Link> {
    let r = limit.ceil() as i64;
    let mut best: Option<(f64, [f64; 2])> = None;
    for dy in -r..=r {
        for dx in -r..=r {
            let (x, y) = (end.at[0] + dx as f64, end.at[1] + dy as f64);
            let Some(i) = cell(mask, x, y) else { continue };
            let length = (dx as f64).hypot(dy as f64);
            if !mask.is_marked(i) || length > limit || length < 1.5 || end.owns(i, mask.width) {
                continue;
            }
            let cosine = (end.towards[0] * dx as f64 + end.towards[1] * dy as f64) / length;
            let cost = length * (2.0 - cosine);
            if cosine >= AHEAD && best.is_none_or(|(c, _)| cost < c) {
                best = Some((cost, [x.floor() + 0.5, y.floor() + 0.5]));
            }
        }
    }
    best.map(|(cost, to)| Link {
        cost,
        ends: [index, index],
        from: end.at,
        corner: None,
        to,
    })
}

/// Some of a cell's eight neighbours.
#[derive(Default)]
struct Around {
    cells: [usize; 8],
    count: usize,
}

impl std::ops::Deref for Around {
    type Target = [usize];

    fn deref(&self) -> &[usize] {
        &self.cells[..self.count]
    }
}

/// The thinned neighbours of a cell, row after row. No cell of the border is left by thinning.
fn around(mask: &Mask, i: usize) -> Around {
    let w = mask.width;
    let mut out = Around::default();
    for j in [
        i - w - 1,
        i - w,
        i - w + 1,
        i - 1,
        i + 1,
        i + w - 1,
        i + w,
        i + w + 1,
    ] {
        if mask.is_thin(j) {
            out.cells[out.count] = j;
            out.count += 1;
        }
    }
    out
}

/// Steps along rows and columns between two cells.
fn steps(w: usize, a: usize, b: usize) -> usize {
    (a % w).abs_diff(b % w) + (a / w).abs_diff(b / w)
}

/// The line from a free end inwards, at most `length` cells, and whether it stopped at a branch; `None` if no line ends
/// here.
fn tail(mask: &Mask, i: usize, length: usize) -> Option<(Vec<usize>, bool)> {
    let w = mask.width;
    // One neighbour, or two that touch each other: the line stops here.
    match *around(mask, i) {
        [_] => {}
        [a, b] if steps(w, a, b) == 1 => {}
        _ => return None,
    }
    let mut tail = vec![i];
    while tail.len() < length {
        let last = tail[tail.len() - 1];
        let before = tail.len().checked_sub(2).map(|k| around(mask, tail[k]));
        let next: Vec<usize> = around(mask, last)
            .iter()
            .copied()
            .filter(|n| !tail.contains(n) && before.as_ref().is_none_or(|b| !b.contains(n)))
            .collect();
        match next[..] {
            [] => break,
            [n] => tail.push(n),
            // Both cells of a step: the one straight on first.
            [a, b] if steps(w, a, b) == 1 => tail.push(if steps(w, a, last) <= steps(w, b, last) {
                a
            } else {
                b
            }),
            _ => return Some((tail, true)),
        }
    }
    Some((tail, false))
}

/// Takes off stumps: lines that reach a branch after a few cells, as thinning leaves them at blunt ends.
fn prune(mask: &mut Mask, cells: &mut Vec<usize>, figure: f64) {
    let stump = ((STUMP * figure) as usize).max(3);
    let stumps: Vec<usize> = cells
        .iter()
        .filter_map(|&i| tail(mask, i, stump + 1))
        .filter(|(tail, branched)| *branched && tail.len() <= stump)
        .flat_map(|(mut tail, _)| {
            // The last cell is the branch itself.
            tail.pop();
            tail
        })
        .collect();
    for i in stumps {
        mask.of[i] &= !THIN;
    }
    cells.retain(|&i| mask.is_thin(i));
}

/// The free ends of the thinned lines.
fn ends(mask: &Mask, cells: &[usize], figure: f64) -> Vec<End> {
    let length = ((TAIL * figure) as usize).max(6);
    let stump = ((STUMP * figure) as usize).max(3);
    let own = ((OWN * figure).ceil() as usize).max(2);
    let w = mask.width;
    let mut out = Vec::new();
    for &i in cells {
        let Some((tail, branched)) = tail(mask, i, length) else {
            continue;
        };
        if tail.len() < 3 || (branched && tail.len() <= stump) {
            continue;
        }
        let middle = |k: usize| [(k % w) as f64 + 0.5, (k / w) as f64 + 0.5];
        let (tip, root) = (middle(i), middle(tail[tail.len() - 1]));
        let length = (tip[0] - root[0]).hypot(tip[1] - root[1]).max(1e-9);
        let towards = [(tip[0] - root[0]) / length, (tip[1] - root[1]) / length];
        out.push(End {
            at: tip_of(mask, tip, towards, own),
            towards,
            tail,
            own,
        });
    }
    out
}

/// Thinning eats the end of a stroke; its tip lies farther on, as far as there are marks.
fn tip_of(mask: &Mask, from: [f64; 2], towards: [f64; 2], most: usize) -> [f64; 2] {
    let mut at = from;
    for _ in 0..most {
        let next = [at[0] + towards[0], at[1] + towards[1]];
        match cell(mask, next[0], next[1]) {
            Some(i) if mask.is_marked(i) => at = next,
            _ => break,
        }
    }
    at
}

/// Whether Zhang and Suen's thinning takes a cell away in the first and in the second step of a round, by its neighbours: a
/// bit each, north first, then clockwise.
const TAKEN: [[bool; 2]; 256] = {
    let mut out = [[false; 2]; 256];
    let mut around = 0usize;
    while around < 256 {
        let n = around as u8;
        // Changes from unmarked to marked on the way around.
        let turns = (!n & n.rotate_right(1)).count_ones();
        if 2 <= n.count_ones() && n.count_ones() <= 6 && turns == 1 {
            let [north, east, south, west] = [n & 1 > 0, n & 4 > 0, n & 16 > 0, n & 64 > 0];
            out[around] = [
                !(east && south && (north || west)),
                !(north && west && (east || south)),
            ];
        }
        around += 1;
    }
    out
};

/// Zhang and Suen's thinning of the marked cells, at most so many rounds: what is thicker is a fill and has no ends.
/// Returns the cells that remain.
fn thin(mask: &mut Mask, mut cells: Vec<usize>, rounds: usize) -> Vec<usize> {
    let (w, h, of) = (mask.width, mask.height, &mut mask.of);
    for x in 0..w {
        of[x] &= !THIN;
        of[(h - 1) * w + x] &= !THIN;
    }
    for y in 0..h {
        of[y * w] &= !THIN;
        of[y * w + w - 1] &= !THIN;
    }
    cells.retain(|&i| of[i] & THIN > 0);
    let mut removed = Vec::new();
    for _ in 0..rounds {
        let before = cells.len();
        for step in [0, 1] {
            removed.clear();
            for &i in &cells {
                let (above, here, below) = (&of[i - w - 1..], &of[i - 1..], &of[i + w - 1..]);
                let thin = |v: u8| (v & THIN) / THIN;
                let around = thin(above[1])
                    | thin(above[2]) << 1
                    | thin(here[2]) << 2
                    | thin(below[2]) << 3
                    | thin(below[1]) << 4
                    | thin(below[0]) << 5
                    | thin(here[0]) << 6
                    | thin(above[0]) << 7;
                if TAKEN[usize::from(around)][step] {
                    removed.push(i);
                }
            }
            for &i in &removed {
                of[i] &= !THIN;
            }
            cells.retain(|&i| of[i] & THIN > 0);
        }
        if cells.len() == before {
            break;
        }
    }
    cells
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A square outline, open for `gap` pixels on its left side, 60 pixels tall.
    fn square(gap: usize) -> Runs {
        let (w, h) = (60, 80);
        let mut marked = vec![0; w * h];
        for y in 10..70 {
            for x in 10..50 {
                let border = !(12..=67).contains(&y) || !(12..=47).contains(&x);
                marked[y * w + x] = u8::from(border && !(x < 12 && (30..30 + gap).contains(&y)));
            }
        }
        Runs::at_least(&marked, w, 1)
    }

    #[test]
    fn two_ends_that_look_at_each_other_are_joined() {
        let bridges = join(&square(6), 240.0);
        assert_eq!(bridges.len(), 1);
        let b = bridges[0];
        assert!((b.length() - 6.0).abs() < 2.5, "{b:?}");
        assert!(join(&square(12), 240.0).is_empty(), "5 % of the height is no gap");
    }

    #[test]
    fn strokes_side_by_side_are_not_joined() {
        // A vessel that is open at the top: its two walls end side by side.
        let (w, h) = (40, 60);
        let mut marked = vec![0; w * h];
        for y in 10..50 {
            for x in 12..24 {
                marked[y * w + x] = u8::from(!(14..=21).contains(&x) || y > 47);
            }
        }
        assert!(join(&Runs::at_least(&marked, w, 1), 400.0).is_empty());
    }
}
