//! Which marks are drawn figures: what the outside does not reach, sorted by size and shape.
//!
//! The outside is what can be reached from the border of the sheet without crossing a mark (four neighbours); all
//! the rest, marks and what they enclose, falls into connected regions (eight neighbours). A figure is a region of
//! a figure's height that is neither a rectangle (frame, inset) nor cut off by the border.

use super::runs::{Joined, Labels, Run, Runs};

/// A figure is at least this share of the tallest candidate's height: views of one sheet are drawn at one scale.
const HEIGHT_SHARE: f64 = 0.55;
/// A figure is at least this share of the sheet's height.
const SHEET_SHARE: f64 = 0.16;
/// A region that fills more of its box than this is a frame or a swatch, unless it is a box with a head.
const RECTANGLE: f64 = 0.93;
/// What a frame lacks of its box (round corners, a little turn) it lacks all around: at least this share of its rows span
/// this share of its width. A boxy body lacks it beside its head or its feet, which take a tenth of the height at
/// least.
const FULL_ROWS: f64 = 0.9;
/// A region that fills less of its box than this is a loose stroke.
const STROKE: f64 = 0.06;
/// A region wider than this many times its height is no standing figure.
const TOO_WIDE: f64 = 2.4;
/// From above: outstretched arms span a body's height, its depth is a tenth of that.
const TOO_WIDE_ABOVE: f64 = 12.0;
/// And a figure so wide that fills a square sheet is no taller.
const SHEET_SHARE_ABOVE: f64 = 0.05;
/// A region narrower than this share of its height is a ruler or a bar: the slimmest drawn figure seen from the side has
/// twice as much.
const TOO_NARROW: f64 = 0.06;

/// A connected region of marks and what they enclose, with its box (end excluded).
#[derive(Debug, Clone)]
pub struct Region {
    /// First column, first row, column after the last, row after the last.
    pub bounds: [usize; 4],
    /// Number of pixels.
    pub area: u64,
    /// Rows from `bounds[1]` on, each with its runs.
    pub rows: Vec<Vec<Run>>,
    /// It touches the border of the sheet.
    pub cut: bool,
    /// Unmarked parts that it encloses.
    pub pockets: Vec<Pocket>,
}

/// An unmarked part of the sheet that a region encloses: the ground between an arm and the body, or paper-coloured
/// skin, which only further evidence can tell apart.
#[derive(Debug, Clone)]
pub struct Pocket {
    /// Its runs with their rows.
    pub runs: Vec<(usize, Run)>,
    /// Number of pixels.
    pub area: u64,
}

impl Region {
    /// Height in pixels.
    pub fn height(&self) -> usize {
        self.bounds[3] - self.bounds[1]
    }

    /// Width in pixels.
    pub fn width(&self) -> usize {
        self.bounds[2] - self.bounds[0]
    }

    /// Whether the pixel at a place belongs to the region.
    pub fn contains(&self, x: f64, y: f64) -> bool {
        (y as usize)
            .checked_sub(self.bounds[1])
            .and_then(|row| self.rows.get(row))
            .is_some_and(|row| {
                row.iter()
                    .any(|r| (f64::from(r.x0)..f64::from(r.x1)).contains(&x))
            })
    }

    /// Whether a pocket lies in it.
    pub(super) fn holds(&self, pocket: &Pocket) -> bool {
        let (y, run) = pocket.runs[0];
        y.checked_sub(self.bounds[1])
            .and_then(|row| self.rows.get(row))
            .is_some_and(|row| row.iter().any(|r| r.x0 <= run.x0 && run.x1 <= r.x1))
    }

    /// What of a pocket lies in it.
    pub(super) fn within(&self, pocket: &Pocket) -> Pocket {
        let row = |y: usize| y.checked_sub(self.bounds[1]).and_then(|row| self.rows.get(row));
        let runs: Vec<(usize, Run)> = pocket
            .runs
            .iter()
            .flat_map(|(y, run)| row(*y).into_iter().flatten().map(move |own| (*y, *run, own)))
            .map(|(y, run, own)| {
                let common = Run {
                    x0: run.x0.max(own.x0),
                    x1: run.x1.min(own.x1),
                };
                (y, common)
            })
            .filter(|(_, run)| run.x0 < run.x1)
            .collect();
        let area = runs.iter().map(|(_, r)| u64::from(r.x1 - r.x0)).sum();
        Pocket { runs, area }
    }

    /// A frame or a swatch.
    fn rectangle(&self) -> bool {
        let full = |row: &&Vec<Run>| {
            let solid: u32 = row.iter().map(|r| r.x1 - r.x0).sum();
            f64::from(solid) >= FULL_ROWS * self.width() as f64
        };
        self.fill() >= RECTANGLE
            && self.rows.iter().filter(full).count() as f64 >= FULL_ROWS * self.height() as f64
    }

    fn fill(&self) -> f64 {
        self.area as f64 / (self.width() * self.height()) as f64
    }
}

/// A mark that runs along this share of a side of the picture is the scanner's border or the table's edge.
const ALONG_BORDER: f64 = 0.3;

/// Its mean depth is at most this share of the picture's shorter side.
const BORDER_DEPTH: f64 = 0.08;

/// The marks without dark borders: what runs along the border of the picture. A figure that the border cuts off
/// meets it with its limbs only.
#[must_use]
pub fn without_borders(marks: &Runs) -> Runs {
    let height = marks.height();
    let touches = |y: usize| y == 0 || y + 1 == height;
    let any = (0..height).any(|y| {
        let row = marks.row(y);
        (touches(y) && !row.is_empty())
            || row.first().is_some_and(|r| r.x0 == 0)
            || row.last().is_some_and(|r| r.x1 == marks.width)
    });
    if !any {
        return marks.clone();
    }
    let labels = marks.labels(Joined::Eight);
    let mut contact = vec![[0u32; 4]; labels.count];
    let mut area = vec![0u64; labels.count];
    for y in 0..height {
        for i in marks.range(y) {
            let (r, c) = (marks.runs[i], &mut contact[labels.of_run[i] as usize]);
            area[labels.of_run[i] as usize] += u64::from(r.x1 - r.x0);
            c[0] += u32::from(r.x0 == 0);
            c[1] += u32::from(r.x1 == marks.width);
            c[2] += if y == 0 { r.x1 - r.x0 } else { 0 };
            c[3] += if y + 1 == height { r.x1 - r.x0 } else { 0 };
        }
    }
    let sides = [
        height as f64,
        height as f64,
        f64::from(marks.width),
        f64::from(marks.width),
    ];
    let border: Vec<bool> = contact
        .iter()
        .zip(area)
        .map(|(c, area)| {
            let along = c.iter().map(|n| f64::from(*n)).sum::<f64>();
            let long = (0..4).any(|k| f64::from(c[k]) >= ALONG_BORDER * sides[k]);
            long && area as f64 <= BORDER_DEPTH * sides[0].min(sides[2]) * along
        })
        .collect();
    if !border.contains(&true) {
        return marks.clone();
    }
    marks.filtered(|i| !border[labels.of_run[i] as usize])
}

/// Unmarked pixels that can be reached from the border.
pub fn outside(marks: &Runs) -> Runs {
    let ground = marks.complement();
    let labels = ground.labels(Joined::Four);
    let reached = reached(&ground, &labels);
    ground.filtered(|i| reached[labels.of_run[i] as usize])
}

/// Which labels of the ground touch the border.
fn reached(ground: &Runs, labels: &Labels) -> Vec<bool> {
    let mut out = vec![false; labels.count];
    let height = ground.height();
    for y in 0..height {
        for i in ground.range(y) {
            let r = ground.runs[i];
            if y == 0 || y + 1 == height || r.x0 == 0 || r.x1 == ground.width {
                out[labels.of_run[i] as usize] = true;
            }
        }
    }
    out
}

/// The regions that the outside does not reach, largest first.
pub fn regions(marks: &Runs) -> Vec<Region> {
    let ground = marks.complement();
    let labels = ground.labels(Joined::Four);
    let outside = reached(&ground, &labels);
    let height = ground.height();
    let solid = ground
        .filtered(|i| outside[labels.of_run[i] as usize])
        .complement();
    let mut regions = collect(&solid);
    let mut pockets: Vec<Pocket> = vec![
        Pocket {
            runs: Vec::new(),
            area: 0
        };
        labels.count
    ];
    for y in 0..height {
        for i in ground.range(y) {
            let l = labels.of_run[i] as usize;
            if !outside[l] {
                pockets[l].runs.push((y, ground.runs[i]));
                pockets[l].area += u64::from(ground.runs[i].x1 - ground.runs[i].x0);
            }
        }
    }
    for pocket in pockets.into_iter().filter(|p| !p.runs.is_empty()) {
        if let Some(owner) = regions.iter_mut().find(|r| r.holds(&pocket)) {
            owner.pockets.push(pocket);
        }
    }
    regions
}

fn collect(solid: &Runs) -> Vec<Region> {
    let labels = solid.labels(Joined::Eight);
    let mut boxes = vec![[usize::MAX, usize::MAX, 0, 0]; labels.count];
    let mut areas = vec![0u64; labels.count];
    for y in 0..solid.height() {
        for i in solid.range(y) {
            let (r, l) = (solid.runs[i], labels.of_run[i] as usize);
            let b = &mut boxes[l];
            b[0] = b[0].min(r.x0 as usize);
            b[1] = b[1].min(y);
            b[2] = b[2].max(r.x1 as usize);
            b[3] = y + 1;
            areas[l] += u64::from(r.x1 - r.x0);
        }
    }
    // Specks are not worth their rows.
    let tall = boxes.iter().map(|b| b[3].saturating_sub(b[1])).max().unwrap_or(0);
    let keep = |l: usize| (boxes[l][3] - boxes[l][1]) * 5 >= tall;
    let mut place = vec![usize::MAX; labels.count];
    let mut out: Vec<Region> = Vec::new();
    for l in (0..labels.count).filter(|&l| keep(l)) {
        let b = boxes[l];
        place[l] = out.len();
        let cut = b[0] == 0 || b[1] == 0 || b[2] == solid.width as usize || b[3] == solid.height();
        out.push(Region {
            bounds: b,
            area: areas[l],
            rows: vec![Vec::new(); b[3] - b[1]],
            cut,
            pockets: Vec::new(),
        });
    }
    for y in 0..solid.height() {
        for i in solid.range(y) {
            if let Some(region) = out.get_mut(place[labels.of_run[i] as usize]) {
                let top = region.bounds[1];
                region.rows[y - top].push(solid.runs[i]);
            }
        }
    }
    out.sort_by(|a, b| b.area.cmp(&a.area).then(a.bounds.cmp(&b.bounds)));
    out
}

/// Regions stand in one row if they share at least this share of the lower one's height.
const ROW_SHARED: f64 = 0.5;

/// Row by row from the top, in each from left to right.
fn in_reading_order(mut regions: Vec<Region>) -> Vec<Region> {
    regions.sort_by_key(|r| [r.bounds[1], r.bounds[0]]);
    let mut rows: Vec<Vec<Region>> = Vec::new();
    for region in regions {
        let shares = |other: &Region| {
            let common =
                region.bounds[3].min(other.bounds[3]) as f64 - region.bounds[1].max(other.bounds[1]) as f64;
            common >= ROW_SHARED * region.height().min(other.height()) as f64
        };
        match rows.iter_mut().find(|row| shares(&row[0])) {
            Some(row) => row.push(region),
            None => rows.push(vec![region]),
        }
    }
    for row in &mut rows {
        row.sort_by_key(|r| r.bounds);
    }
    rows.into_iter().flatten().collect()
}

/// Chooses the figures among the regions, in reading order, and those of a figure's size that the border cuts off.
/// `from_above`: a single figure may be wide and shallow.
pub fn choose(regions: Vec<Region>, sheet_height: usize, from_above: bool) -> (Vec<Region>, Vec<Region>) {
    let (too_wide, sheet_share) = if from_above {
        (TOO_WIDE_ABOVE, SHEET_SHARE_ABOVE)
    } else {
        (TOO_WIDE, SHEET_SHARE)
    };
    let shaped: Vec<Region> = regions
        .into_iter()
        .filter(|r| {
            let slim = r.width() as f64 / r.height() as f64;
            !r.rectangle() && r.fill() > STROKE && (TOO_NARROW..too_wide).contains(&slim)
        })
        .filter(|r| r.height() as f64 >= sheet_share * sheet_height as f64)
        .collect();
    let tallest = shaped.iter().map(Region::height).max().unwrap_or(0) as f64;
    let (cut, whole): (Vec<Region>, Vec<Region>) = shaped
        .into_iter()
        .filter(|r| r.height() as f64 >= HEIGHT_SHARE * tallest)
        .partition(|r| r.cut);
    (in_reading_order(whole), in_reading_order(cut))
}
