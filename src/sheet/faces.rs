//! Which heads show a face: the only thing that tells a front view from a back view, whose outlines mirror each other.

use super::figures::Region;
use super::tone::Departure;

/// A head begins this share of the height below the crown: above it there is hair or a hat.
const HEAD: f64 = 0.03;
/// The neck is the narrowest row between these shares of the height from the crown, from tall figures (a knot of hair
/// is tied higher up) to child-like ones. Common practice, no source.
const NECK: (f64, f64) = (0.12, 0.36);
/// The darkest ink lies within this share of the darkest pixels of any head.
const DARK: f64 = 0.05;
/// Or within this share of the threshold that the paper's noise asks for: grain spreads the ink, too.
const GRAIN: f64 = 0.75;
/// One marked pixel in so many is darker than the darkest ink by chance.
const CHANCE: u64 = 400;

/// The pixels inside a figure's head, away from its outline.
fn head<'a>(region: &'a Region, line_px: f64) -> impl Iterator<Item = (usize, usize)> + 'a {
    let height = region.height() as f64;
    let margin = (3.0 * line_px).max(0.012 * height) as usize;
    let width = |row: &usize| match (region.rows[*row].first(), region.rows[*row].last()) {
        (Some(first), Some(last)) => last.x1 - first.x0,
        _ => u32::MAX,
    };
    let neck = ((NECK.0 * height) as usize..(NECK.1 * height) as usize)
        .min_by_key(width)
        .unwrap_or(0);
    let rows = (HEAD * height) as usize..neck;
    rows.filter_map(|row| region.rows.get(row).map(|runs| (row + region.bounds[1], runs)))
        .flat_map(move |(y, runs)| {
            runs.iter().flat_map(move |r| {
                let (x0, x1) = (r.x0 as usize + margin, (r.x1 as usize).saturating_sub(margin));
                (x0..x1.max(x0)).map(move |x| (x, y))
            })
        })
}

/// Mean departure of a pixel and of four others around it, `reach` away, which is farther than a line is wide; 0 at the border. A mean, as
/// grain and compression spread the ink.
fn patch(departure: &Departure, reach: usize, x: usize, y: usize) -> u8 {
    if x < reach || y < reach || x + reach >= departure.width || y + reach >= departure.height {
        return 0;
    }
    let value = |x: usize, y: usize| u32::from(departure.row(y)[x]);
    let sum =
        value(x, y) + value(x - reach, y) + value(x + reach, y) + value(x, y - reach) + value(x, y + reach);
    (sum / 5) as u8
}

/// How much of each head's inside is the sheet's darkest ink in patches thicker than a line: eyes, mouth, brows.
/// Strands of hair are lines, and a head of hair is paler than the eyes of the view that shows the face. Each region
/// with the width of its line in pixels.
pub fn find(departure: &Departure, heads: &[(&Region, f64)]) -> Vec<f64> {
    let patches: Vec<Vec<u8>> = heads
        .iter()
        .map(|(r, line_px)| {
            let reach = (0.6 * line_px).max(0.0012 * r.height() as f64).ceil() as usize;
            head(r, *line_px)
                .map(|(x, y)| patch(departure, reach, x, y))
                .collect()
        })
        .collect();
    let mut histogram = [0u64; 256];
    for v in patches.iter().flatten() {
        histogram[usize::from(*v)] += 1;
    }
    let marked: u64 = histogram[usize::from(departure.threshold)..].iter().sum();
    let mut above = 0;
    let darkest = (0..256)
        .rev()
        .find(|&v| {
            above += histogram[v];
            above * CHANCE > marked
        })
        .unwrap_or(255) as f64;
    let least = darkest - (DARK * darkest).max(GRAIN * f64::from(departure.threshold));
    patches
        .iter()
        .map(|p| p.iter().filter(|v| f64::from(**v) >= least).count() as f64 / p.len().max(1) as f64)
        .collect()
}
