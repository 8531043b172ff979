//! Which heads show a face: the only thing that tells a front view from a back view, whose outlines mirror each other.

use super::figures::Region;
use super::tone::Departure;

/// Where a head is looked for, in shares of the height from the crown.
const HEAD: (f64, f64) = (0.03, 0.30);
/// The darkest ink departs from the paper by at least this share of the largest departure in any head.
const DARK: f64 = 0.95;

/// The pixels inside a figure's head, away from its outline.
fn head<'a>(region: &'a Region, line_px: f64) -> impl Iterator<Item = (usize, usize)> + 'a {
    let height = region.height() as f64;
    let margin = (3.0 * line_px).max(0.012 * height) as usize;
    let rows = (HEAD.0 * height) as usize..(HEAD.1 * height) as usize;
    rows.filter_map(|row| region.rows.get(row).map(|runs| (row + region.bounds[1], runs)))
        .flat_map(move |(y, runs)| {
            runs.iter().flat_map(move |r| {
                let (x0, x1) = (r.x0 as usize + margin, (r.x1 as usize).saturating_sub(margin));
                (x0..x1.max(x0)).map(move |x| (x, y))
            })
        })
}

/// How much of each head's inside is the sheet's darkest ink in patches thicker than a line: eyes, mouth, brows.
/// Strands of hair are lines, and a head of hair is paler than the eyes of the view that shows the face. Each region
/// with the width of its line in pixels.
pub fn find(departure: &Departure, heads: &[(&Region, f64)]) -> Vec<f64> {
    let value = |x: usize, y: usize| departure.row(y)[x];
    let darkest = heads
        .iter()
        .flat_map(|(r, line_px)| head(r, *line_px))
        .map(|(x, y)| value(x, y))
        .max()
        .unwrap_or(0);
    let dark = |x: usize, y: usize| f64::from(value(x, y)) >= DARK * f64::from(darkest);
    heads
        .iter()
        .map(|(region, line_px)| {
            let reach = (0.6 * line_px).max(0.0012 * region.height() as f64).ceil() as usize;
            let patch = |x: usize, y: usize| {
                dark(x, y)
                    && x >= reach
                    && y >= reach
                    && x + reach < departure.width
                    && y + reach < departure.height
                    && dark(x - reach, y)
                    && dark(x + reach, y)
                    && dark(x, y - reach)
                    && dark(x, y + reach)
            };
            let (patches, total) = head(region, *line_px)
                .fold((0u32, 0u32), |(p, t), (x, y)| (p + u32::from(patch(x, y)), t + 1));
            f64::from(patches) / f64::from(total.max(1))
        })
        .collect()
}
