//! What a person overrules in the reading of a sheet, and how it is done.

use super::edge::LineEdge;
use super::figures::{Pocket, Region};
use super::holes::Enclosed;
use super::picture::Picture;
use crate::error::{Error, Result};

/// What is overruled; the default overrules nothing. Places and boxes are in pixels of the upright picture.
#[derive(Debug, Clone, Default)]
pub struct Overrules {
    /// Which edge of an ink line is the outline.
    pub edge: LineEdge,
    /// How far a mark departs from the paper, 1 to 254.
    pub threshold: Option<u8>,
    /// Wider openings of an outline stay open, percent of the figure height; at most what the reader closes anyway.
    pub widest_gap_pct: Option<f64>,
    /// Boxes `[x0, y0, x1, y1]` that are read as empty paper.
    pub erase: Vec<[f64; 4]>,
    /// Places in enclosed areas that are ground.
    pub ground: Vec<[f64; 2]>,
    /// Places in enclosed areas that belong to the figure.
    pub surface: Vec<[f64; 2]>,
    /// Boxes of the figures; where some are listed, no others are taken.
    pub boxes: Vec<[f64; 4]>,
    /// The picture shows a figure from above, wide and shallow.
    pub from_above: bool,
}

/// A figure is the one meant by a box if they overlap by at least this much (intersection over union).
const SAME_BOX: f64 = 0.5;
/// Pixels around an erased box whose median colour is its paper.
const RIM: usize = 3;

/// The picture with the boxes painted over in the colour of the paper around each; `None` if there are none.
pub(super) fn erased(picture: &Picture, boxes: &[[f64; 4]]) -> Option<Picture> {
    if boxes.is_empty() {
        return None;
    }
    let (w, h, n) = (picture.width(), picture.height(), picture.channels().count());
    let mut data: Vec<u8> = (0..h).flat_map(|y| picture.row(y).iter().copied()).collect();
    for b in boxes {
        let cell = |v: f64, most: usize| (v.max(0.0) as usize).min(most);
        let (x0, y0) = (cell(b[0].floor(), w), cell(b[1].floor(), h));
        let (x1, y1) = (cell(b[2].ceil(), w), cell(b[3].ceil(), h));
        let rows = y0.saturating_sub(RIM)..(y1 + RIM).min(h);
        let columns = x0.saturating_sub(RIM)..(x1 + RIM).min(w);
        let outside = |x: usize, y: usize| !((x0..x1).contains(&x) && (y0..y1).contains(&y));
        let rim: Vec<&[u8]> = rows
            .flat_map(|y| columns.clone().map(move |x| (x, y)))
            .filter(|(x, y)| outside(*x, *y))
            .map(|(x, y)| &picture.row(y)[x * n..(x + 1) * n])
            .collect();
        if rim.is_empty() {
            continue;
        }
        let paper: Vec<u8> = (0..n)
            .map(|k| {
                let mut one: Vec<u8> = rim.iter().map(|p| p[k]).collect();
                let middle = one.len() / 2;
                *one.select_nth_unstable(middle).1
            })
            .collect();
        for y in y0..y1 {
            for x in x0..x1 {
                data[(y * w + x) * n..][..n].copy_from_slice(&paper);
            }
        }
    }
    Some(Picture::new(w, h, picture.channels(), data))
}

/// The figures that the boxes mean, in the order of the figures; all, if no boxes are listed. `factor` pixels of the
/// picture make one of the regions'.
///
/// # Errors
/// A box that no figure is in.
pub(super) fn chosen(regions: Vec<Region>, boxes: &[[f64; 4]], factor: usize) -> Result<Vec<Region>> {
    if boxes.is_empty() {
        return Ok(regions);
    }
    let of = |r: &Region| r.bounds.map(|v| (v * factor) as f64);
    for b in boxes {
        if !regions.iter().any(|r| overlap(of(r), *b) >= SAME_BOX) {
            let [x0, y0, x1, y1] = b;
            return Err(Error::new("the setup lists a view where no figure is read")
                .at(format!("x {x0:.0} to {x1:.0}, y {y0:.0} to {y1:.0}"))
                .advise("take the view out of the setup, or correct its box"));
        }
    }
    Ok(regions
        .into_iter()
        .filter(|r| boxes.iter().any(|b| overlap(of(r), *b) >= SAME_BOX))
        .collect())
}

/// Intersection over union of two boxes.
pub fn overlap(a: [f64; 4], b: [f64; 4]) -> f64 {
    let area = |b: [f64; 4]| (b[2] - b[0]).max(0.0) * (b[3] - b[1]).max(0.0);
    let common = area([a[0].max(b[0]), a[1].max(b[1]), a[2].min(b[2]), a[3].min(b[3])]);
    let all = area(a) + area(b) - common;
    if all > 0.0 { common / all } else { 0.0 }
}

impl Overrules {
    /// What the person says that an enclosed part is, if anything.
    pub(super) fn enclosed(&self, pocket: &Pocket, factor: usize) -> Option<Enclosed> {
        let lies_in = |place: &[f64; 2]| {
            let [x, y] = place.map(|v| v / factor as f64);
            x >= 0.0
                && y >= 0.0
                && pocket
                    .runs
                    .iter()
                    .any(|(row, r)| *row == y as usize && (r.x0..r.x1).contains(&(x as u32)))
        };
        if self.ground.iter().any(lies_in) {
            Some(Enclosed::Ground)
        } else if self.surface.iter().any(lies_in) {
            Some(Enclosed::Surface)
        } else {
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::picture::Channels;

    #[test]
    fn a_box_becomes_the_paper_around_it() {
        let data: Vec<u8> = (0..20 * 10)
            .map(|i| {
                if i % 20 >= 8 && i % 20 < 12 {
                    0
                } else {
                    200 + (i % 2) as u8
                }
            })
            .collect();
        let picture = Picture::new(20, 10, Channels::Grey, data);
        let clean = erased(&picture, &[[7.5, 2.0, 13.0, 8.0]]).expect("changed");
        assert!((2..8).all(|y| clean.row(y)[7..13].iter().all(|v| *v >= 200)));
        assert_eq!(clean.row(0), picture.row(0));
        assert!(erased(&picture, &[]).is_none());
    }

    #[test]
    fn overlap_of_boxes() {
        assert_eq!(overlap([0.0, 0.0, 2.0, 2.0], [0.0, 0.0, 2.0, 2.0]), 1.0);
        // Two squares of side 2 that share one of side 1: 1 of 7.
        assert!((overlap([0.0, 0.0, 2.0, 2.0], [1.0, 1.0, 3.0, 3.0]) - 1.0 / 7.0).abs() < 1e-12);
        assert_eq!(overlap([0.0, 0.0, 1.0, 1.0], [5.0, 5.0, 6.0, 6.0]), 0.0);
    }
}
