//! Reads the drawing's light row by row of the pane.
//!
//! In a level row all pixels lie between the same two rows of squares, whose columns are mixed once for the pixels that
//! share them.

use std::ops::Range;

use super::drawing::{Drawing, NOTHING};
use super::light::{Light, mix};
use super::shrunk::TILE;

/// A picture is level if a row of the pane climbs by less than so many squares from its middle to its end: a fiftieth of
/// a pixel's tone.
const LEVEL: f64 = 0.02;

/// Reads pixels of rows of the pane, each from left to right, keeping the columns of squares that neighbours share.
pub(super) struct Reader<'a> {
    drawing: &'a Drawing<'a>,
    row: usize,
    /// The two rows of squares and the share of the lower one; `None` where the picture is not level or ends.
    level: Option<([usize; 2], f32)>,
    /// For each pixel of a level row the square to its left, and the share of the next one; not a number outside the
    /// picture.
    places: Vec<(u32, f32)>,
    /// Squares of both rows, mixed; the last one twice.
    mixed: Vec<Light>,
    /// Those that are mixed.
    known: Range<usize>,
    /// For a level row, whether any of its squares in a column of tiles shows anything but ground, as far as that is known;
    /// one more for what lies right of the picture. And the rows of tiles it is from.
    drawn: Vec<bool>,
    tiles: Option<[usize; 2]>,
}

impl<'a> Reader<'a> {
    pub(super) fn new(drawing: &'a Drawing<'a>) -> Self {
        Self {
            drawing,
            row: 0,
            level: None,
            places: Vec::new(),
            mixed: vec![NOTHING; drawing.shrunk.width + 1],
            known: 0..0,
            drawn: Vec::new(),
            tiles: None,
        }
    }

    /// Goes to a row of the pane.
    pub(super) fn go_to(&mut self, row: usize) {
        let drawing = self.drawing;
        let (climb, lean) = (drawing.across.1 * drawing.middle, drawing.down.0);
        let (_, v) = drawing.place(drawing.middle, row as f64 + 0.5);
        let height = drawing.shrunk.height as f64;
        self.row = row;
        self.known = 0..0;
        self.level = (climb.abs() < LEVEL && (0.0..height).contains(&v)).then(|| {
            let v = (v - 0.5).clamp(0.0, height - 1.0);
            let upper = v as usize;
            let lower = (upper + 1).min(drawing.shrunk.height - 1);
            ([upper, lower], (v - upper as f64) as f32)
        });
        // In a picture that does not lean, all rows have the same places.
        if self.level.is_some() && (self.places.is_empty() || lean != 0.0) {
            self.find_places();
        }
        if let Some((rows, _)) = self.level.filter(|_| !drawing.drawn.is_empty()) {
            self.find_drawn(rows.map(|j| j / TILE[1]));
        }
    }

    /// Finds the columns of tiles in which one of two rows of them shows anything but ground.
    fn find_drawn(&mut self, rows: [usize; 2]) {
        if self.tiles == Some(rows) {
            return;
        }
        let columns = self.drawing.shrunk.tiles[0];
        let [upper, lower] = rows.map(|j| &self.drawing.drawn[j * columns..][..columns]);
        self.tiles = Some(rows);
        self.drawn.clear();
        self.drawn.extend(upper.iter().zip(lower).map(|(a, b)| *a || *b));
        self.drawn.push(false);
    }

    /// Finds the squares of a level row's pixels.
    fn find_places(&mut self) {
        let (drawing, row) = (self.drawing, self.row as f64 + 0.5);
        let width = drawing.shrunk.width;
        let pixels = 0..(2.0 * drawing.middle) as usize;
        self.places.clear();
        self.places.extend(pixels.map(|i| {
            let (at, _) = drawing.place(i as f64 + 0.5, row);
            // Half a square from the border there is one neighbour only.
            let u = (at - 0.5).clamp(0.0, width as f64 - 1.0);
            let inside = (0.0..width as f64).contains(&at);
            let share = (u - f64::from(u as u32)) as f32;
            (u as u32, if inside { share } else { f32::NAN })
        }));
    }

    /// Whether some pixels of the row, side by side, surely show ground only.
    #[inline]
    pub(super) fn is_blank(&self, pixels: Range<usize>) -> bool {
        let drawing = self.drawing;
        if drawing.drawn.is_empty() || pixels.is_empty() {
            return false;
        }
        if self.level.is_some() {
            let [from, to] = [pixels.start, pixels.end - 1].map(|i| self.places[i].0 as usize);
            let (from, to) = (from.min(to), from.max(to) + 1);
            return !self.drawn[from / TILE[0]..=to / TILE[0]].contains(&true);
        }
        let [across, down] = drawing.around(pixels, self.row..self.row + 1);
        let mut rows = down.map(|y| &drawing.drawn[y * drawing.shrunk.tiles[0]..]);
        rows.all(|row| !row[across.clone()].contains(&true))
    }

    /// The lights of pixels side by side, evened out and lightened; `false`, and none of them, if all are paper.
    #[inline]
    pub(super) fn lights(&mut self, first: usize, out: &mut [Light]) -> bool {
        let drawing = self.drawing;
        let Some((rows, share)) = self.level else {
            for (i, out) in (first..).zip(out) {
                *out = drawing.shown(drawing.read(i, self.row));
            }
            return true;
        };
        let places = first..first + out.len();
        if let [(a, _), ..] = self.places[places.clone()]
            && let [.., (b, _)] = self.places[places.clone()]
        {
            let columns = a.min(b) as usize..a.max(b) as usize + 2;
            self.mix(rows, share, columns.clone());
            if self.mixed[columns].iter().all(|l| drawing.is_paper(l)) {
                return false;
            }
        }
        for (out, (left, share)) in out.iter_mut().zip(&self.places[places]) {
            let pair = &self.mixed[*left as usize..][..2];
            *out = drawing.shown(mix(pair[0], pair[1], *share));
        }
        true
    }

    /// The light of one pixel, as it is; not a number where there is nothing.
    pub(super) fn one(&self, i: usize) -> Light {
        let drawing = self.drawing;
        let Some((rows, share)) = self.level else {
            return drawing.read(i, self.row);
        };
        let (left, aside) = self.places[i];
        let columns = left as usize..(left as usize + 2).min(drawing.shrunk.width);
        let mut pair = [NOTHING; 2];
        drawing.shrunk.mix_rows(rows, share, columns.clone(), &mut pair);
        for j in rows {
            drawing.leave_out_others(j, columns.clone(), &mut pair);
        }
        let right = if columns.len() == 2 { pair[1] } else { pair[0] };
        mix(pair[0], right, aside)
    }

    /// Mixes two rows of squares from one column up to another, as far as that is still to do.
    #[inline]
    fn mix(&mut self, rows: [usize; 2], share: f32, columns: Range<usize>) {
        let shrunk = self.drawing.shrunk;
        let end = columns.end.min(shrunk.width);
        if !(self.known.start..=self.known.end).contains(&columns.start) {
            self.known = columns.start..columns.start;
        }
        if end <= self.known.end {
            return;
        }
        let columns = self.known.end..end;
        shrunk.mix_rows(rows, share, columns.clone(), &mut self.mixed[columns.clone()]);
        for j in rows {
            let mixed = &mut self.mixed[columns.clone()];
            self.drawing.leave_out_others(j, columns.clone(), mixed);
        }
        self.known.end = end;
        if end == shrunk.width {
            self.mixed[end] = self.mixed[end - 1];
        }
    }
}
