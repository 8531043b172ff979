//! The border of a pixel region as closed rings along the cracks between pixels.
//!
//! Crack following (Rosenfeld 1970): the region lies to the left as seen, so outer rings run counter-clockwise and
//! holes clockwise; pixels that meet at a corner belong together.

use super::figures::Region;
use super::runs::Run;

/// Corners of a ring, in upright pixels; neighbours are one pixel apart along x or y.
pub type CrackRing = Vec<[i32; 2]>;

/// Directions in order of a turn to the right as seen: down, left, up, right.
const STEPS: [[i32; 2]; 4] = [[0, 1], [-1, 0], [0, -1], [1, 0]];

/// In the grid of a region: what is no part of it.
const OUTSIDE: u8 = 0;
/// A pixel of the region.
const INSIDE: u8 = 1;
/// A pixel of the region along whose left side a ring has been followed.
const FOLLOWED: u8 = 2;

/// The rings of a region less the given holes (runs with their rows, in upright pixels).
pub fn rings(region: &Region, holes: &[(usize, Run)]) -> Vec<CrackRing> {
    let [x0, y0, x1, y1] = region.bounds;
    // One empty pixel around, so that no look-up leaves the grid.
    let (w, h) = (x1 - x0 + 2, y1 - y0 + 2);
    let mut grid = vec![OUTSIDE; w * h];
    for (row, runs) in region.rows.iter().enumerate() {
        for r in runs {
            let line = (row + 1) * w;
            grid[line + r.x0 as usize - x0 + 1..line + r.x1 as usize - x0 + 1].fill(INSIDE);
        }
    }
    for (y, r) in holes {
        let line = (y - y0 + 1) * w;
        grid[line + r.x0 as usize - x0 + 1..line + r.x1 as usize - x0 + 1].fill(OUTSIDE);
    }
    let mut out = Vec::new();
    // Rings begin where a run does, or where a hole ends.
    let mut begins: Vec<[usize; 2]> = Vec::with_capacity(region.rows.len());
    for (row, runs) in region.rows.iter().enumerate() {
        begins.extend(runs.iter().map(|r| [row + 1, r.x0 as usize - x0 + 1]));
    }
    if !holes.is_empty() {
        begins.extend(holes.iter().map(|(y, r)| [y - y0 + 1, r.x1 as usize - x0 + 1]));
        begins.sort_unstable();
    }
    for [y, x] in begins {
        let i = y * w + x;
        if grid[i] == INSIDE && grid[i - 1] == OUTSIDE {
            let mut ring = follow(&mut grid, w, x, y);
            for p in &mut ring {
                p[0] += x0 as i32 - 1;
                p[1] += y0 as i32 - 1;
            }
            out.push(ring);
        }
    }
    out
}

/// Follows one ring, starting downwards along the left side of the pixel `(x, y)`.
fn follow(grid: &mut [u8], w: usize, x: usize, y: usize) -> CrackRing {
    let start = [x as i32, y as i32];
    let (mut p, mut dir) = (start, 0usize);
    let mut ring = Vec::new();
    loop {
        ring.push(p);
        if dir == 0 {
            grid[p[1] as usize * w + p[0] as usize] = FOLLOWED;
        }
        p = [p[0] + STEPS[dir][0], p[1] + STEPS[dir][1]];
        // The pixels ahead of the corner that was reached, on the left and on the right of the way.
        let (left, right) = match dir {
            0 => ([p[0], p[1]], [p[0] - 1, p[1]]),
            1 => ([p[0] - 1, p[1]], [p[0] - 1, p[1] - 1]),
            2 => ([p[0] - 1, p[1] - 1], [p[0], p[1] - 1]),
            _ => ([p[0], p[1] - 1], [p[0], p[1]]),
        };
        let at = |px: i32, py: i32| grid[py as usize * w + px as usize] != OUTSIDE;
        if at(right[0], right[1]) {
            dir = (dir + 1) % 4;
        } else if !at(left[0], left[1]) {
            dir = (dir + 3) % 4;
        }
        if p == start && dir == 0 {
            return ring;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn region(rows: &[&str]) -> Region {
        let mut out = Region {
            bounds: [0, 0, rows[0].len(), rows.len()],
            area: 0,
            rows: vec![Vec::new(); rows.len()],
            cut: false,
            pockets: Vec::new(),
        };
        for (y, row) in rows.iter().enumerate() {
            for (x, c) in row.bytes().enumerate() {
                if c == b'#' {
                    out.rows[y].push(Run {
                        x0: x as u32,
                        x1: x as u32 + 1,
                    });
                }
            }
        }
        out
    }

    /// Twice the area by the shoelace sum, y down: negative for a ring that is counter-clockwise as seen.
    fn twice_area(ring: &CrackRing) -> i32 {
        (0..ring.len())
            .map(|i| {
                let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
                a[0] * b[1] - b[0] * a[1]
            })
            .sum()
    }

    #[test]
    fn outer_rings_and_holes_wind_oppositely_and_areas_add_up() {
        let r = rings(&region(&["####", "#..#", "####"]), &[]);
        let mut areas: Vec<i32> = r.iter().map(twice_area).collect();
        areas.sort_unstable();
        assert_eq!(areas, [-24, 4]);
    }

    #[test]
    fn pixels_that_meet_at_a_corner_are_one_ring() {
        assert_eq!(rings(&region(&["#.", ".#"]), &[]).len(), 1);
    }
}
