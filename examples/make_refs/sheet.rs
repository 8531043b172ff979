//! The turnaround sheet: paper, washes, pencil guides, inked figures, lettering, in this order.
//!
//! All three figures share one scale and one ground. The middle of the outline's line runs along the exact
//! outline of the cage without faults, up to the hand's wobble (below 0.12 % of the figure's height).

use crate::cage::{Cage, Material};
use crate::details::{self, Mark, Weight};
use crate::figure::HEIGHT;
use crate::ink::{self, Pen, Strokes};
use crate::lettering;
use crate::noise;
use crate::picture::{Picture, Rgb};
use crate::view::{self, Lines, Seen, V2, View};

/// Size of the sheet, px.
const WIDTH: u32 = 2640;
const TALL: u32 = 1440;
/// Pixels a cm of the figure.
const DENSITY: f64 = 7.0;
/// Row of the ground, and the columns of x = 0 (z = 0 in the side view), px.
const GROUND: f64 = 1190.0;
const COLUMNS: [(View, f64); 3] = [(View::Front, 602.0), (View::Side, 1308.0), (View::Back, 2038.0)];
/// Dots a metre that the file states: 150 dots an inch, a desk scanner's everyday setting.
const PER_METRE: u32 = 5906;

const PAPER: Rgb = [244.0, 236.0, 219.0];
const INK: Rgb = [45.0, 38.0, 42.0];
const GUIDE: Rgb = [126.0, 165.0, 196.0];
const PENCIL: Rgb = [132.0, 130.0, 134.0];

/// The outline: the wobble stays below 0.12 % of the height (1.3 px).
const OUTLINE: Pen = Pen {
    width: 3.7,
    swell: 1.0,
    wobble: 0.8,
    taper: 0.0,
};
/// A hand rounds the corners between the cage's edges, by no more than this, px: 0.05 % of the height.
const CORNER: f64 = 0.53;
/// Lines on the underside, away from the light, are heavier by up to this, px.
const UNDERSIDE: f64 = 0.9;
const CONTOUR: Pen = Pen {
    width: 2.7,
    swell: 0.6,
    wobble: 0.6,
    taper: 22.0,
};
const SEAM: Pen = Pen {
    width: 2.3,
    swell: 0.5,
    wobble: 0.9,
    taper: 12.0,
};

fn pen_of(weight: Weight) -> Pen {
    let (width, wobble, taper) = match weight {
        Weight::Bold => (4.0, 0.3, 20.0),
        Weight::Plain => (2.1, 0.6, 16.0),
        Weight::Light | Weight::Solid => (1.5, 0.6, 26.0),
    };
    Pen {
        width,
        swell: width / 5.0,
        wobble,
        taper,
    }
}

/// Heights that the guides mark, cm, with their names; `true` lets the line run lightly across the figures.
const GUIDES: [(f64, &str, bool); 7] = [
    (HEIGHT, "CROWN", false),
    (128.0, "FRINGE", false),
    (108.0, "CHIN", false),
    (72.0, "BELT", true),
    (51.0, "CROTCH", false),
    (33.0, "BOOT TOP", true),
    (0.0, "GROUND", false),
];

/// The sheet of the figure as a PNG file.
pub(crate) fn png(figure: &Cage) -> Result<Vec<u8>, String> {
    let mut picture = paper();
    let fine = figure.subdivided();
    let mut figures = Strokes::default();
    let mut folds = Strokes::default();
    let mut outlines = Vec::new();
    for (k, (view, column)) in COLUMNS.into_iter().enumerate() {
        let seed = 100 * (k as u64 + 1);
        let rings: Vec<Vec<V2>> = view::outline(figure, view)
            .iter()
            .map(|r| {
                let ring: Vec<V2> = r.iter().map(|&p| on_sheet(p, column)).collect();
                ink::rounded(&ring, CORNER)
            })
            .collect();
        let origin = [-column / DENSITY, GROUND / DENSITY];
        let size = [WIDTH as usize, TALL as usize];
        let seen = Seen::new(&fine, view, origin, size, DENSITY);
        wash(&mut picture, &seen, seed);
        for (i, ring) in rings.iter().enumerate() {
            outline(&mut figures, ring, seed + i as u64);
        }
        let found = view::lines(&fine, view, &seen);
        inner(&mut figures, &found, &rings, column, seed);
        let marks = match view {
            View::Front => details::FRONT,
            View::Side => details::SIDE,
            View::Back => details::BACK,
        };
        for (i, mark) in marks.iter().enumerate() {
            by_hand(&mut figures, &mut folds, mark, column, seed + 13 * i as u64);
        }
        outlines.extend(rings);
    }
    guides(&mut picture, &outlines);
    lay(&mut picture, folds, INK, 0.72);
    lay(&mut picture, figures, INK, 1.0);
    captions(&mut picture);
    picture.to_png(PER_METRE)
}

fn on_sheet([x, y]: V2, column: f64) -> V2 {
    [column + DENSITY * x, GROUND - DENSITY * y]
}

/// Warm paper: grain, mottling, a shade towards the corners.
fn paper() -> Picture {
    let (w, h) = (f64::from(WIDTH), f64::from(TALL));
    let mut pixels = Vec::with_capacity((WIDTH * TALL) as usize);
    for y in 0..TALL {
        for x in 0..WIDTH {
            let (x, y) = (f64::from(x), f64::from(y));
            let (u, v) = (2.0 * x / w - 1.0, 2.0 * y / h - 1.0);
            let shade = -5.0 * (u * u * u * u + v * v * v * v) - 2.5 * (u + v)
                + 1.6 * noise::over(x / 210.0, y / 170.0, 1)
                + 1.2 * noise::over(x / 23.0, y / 31.0, 2)
                + 1.5 * noise::over(x / 1.7, y / 2.3, 3);
            let shade = shade.round();
            pixels.push([PAPER[0] + shade, PAPER[1] + shade, PAPER[2] + 1.2 * shade]);
        }
    }
    Picture {
        width: WIDTH,
        height: TALL,
        pixels,
    }
}

/// Tint and strength of a material's wash.
fn tint(material: Material) -> (Rgb, f64) {
    match material {
        Material::Skin => ([246.0, 210.0, 182.0], 0.45),
        Material::Hair => ([196.0, 118.0, 70.0], 0.74),
        Material::Tie => ([86.0, 128.0, 130.0], 0.8),
        Material::Scarf => ([98.0, 148.0, 146.0], 0.75),
        Material::Coat => ([204.0, 200.0, 190.0], 0.6),
        Material::Cuff => ([228.0, 218.0, 196.0], 0.5),
        Material::Apron => ([210.0, 168.0, 112.0], 0.66),
        Material::Belt => ([138.0, 98.0, 70.0], 0.75),
        Material::Breeches => ([150.0, 156.0, 168.0], 0.58),
        Material::Boot => ([146.0, 104.0, 74.0], 0.7),
        Material::Sole => ([110.0, 84.0, 66.0], 0.7),
        Material::Glove => ([216.0, 164.0, 78.0], 0.66),
    }
}

/// Watercolour: thin in the light, denser in the shade and at the rim, never quite even.
fn wash(picture: &mut Picture, seen: &Seen, seed: u64) {
    /// The rim where pigment gathers, px.
    const RIM: i64 = 4;
    let (w, h) = (seen.width as i64, seen.height as i64);
    for y in 0..h {
        for x in 0..w {
            let i = (y * w + x) as usize;
            let Some(m) = seen.material[i] else { continue };
            let (colour, strength) = tint(m);
            let (fx, fy) = (x as f64, y as f64);
            let bloom = noise::over(fx / 46.0, fy / 58.0, seed + 7);
            let same = |dx: i64, dy: i64| {
                let (u, v) = (x + dx, y + dy);
                (0..w).contains(&u) && (0..h).contains(&v) && seen.material[(v * w + u) as usize] == Some(m)
            };
            let rim = !(same(RIM, 0) && same(-RIM, 0) && same(0, RIM) && same(0, -RIM));
            // Two brush loads: a light one overall, a second one in the shade with a soft, wavering edge.
            let edge = 0.30 + 0.12 * bloom;
            let shade = ((edge - seen.light[i]) / 0.16 + 0.5).clamp(0.0, 1.0);
            let bare = ((seen.light[i] - 0.86 - 0.08 * bloom) / 0.08).clamp(0.0, 1.0);
            let share = strength
                * (0.66 + 0.10 * bloom + 0.26 * shade + if rim { 0.10 } else { 0.0 })
                * (1.0 - 0.55 * bare);
            // Round so that the few colours of the file are spent on what is seen.
            picture.blend(i, colour, (share.clamp(0.0, 1.0) * 48.0).round() / 48.0);
        }
    }
}

fn outline(out: &mut Strokes, ring: &[V2], seed: u64) {
    // Down is positive on the sheet; either side of the line may be the outside, hence both signs.
    let sign = shoelace(ring).signum();
    out.closed(ring, OUTLINE, seed, |n| UNDERSIDE * (sign * n[1]).max(-0.4));
    overshoots(out, ring);
}

fn shoelace(ring: &[V2]) -> f64 {
    let n = ring.len();
    (0..n)
        .map(|i| {
            let (a, b) = (ring[i], ring[(i + 1) % n]);
            a[0] * b[1] - a[1] * b[0]
        })
        .sum()
}

/// At sharp corners one stroke runs a little past the other.
fn overshoots(out: &mut Strokes, ring: &[V2]) {
    /// The directions this many points before and after a corner are compared.
    const REACH: usize = 5;
    /// Cosine of the turn from which on a corner counts as sharp: about 55 degrees.
    const SHARP: f64 = 0.57;
    /// Where the stroke starts before the corner and ends behind it, px; 3 px are 0.28 % of the height.
    const BEFORE: f64 = 12.0;
    const BEHIND: f64 = 3.0;
    let p = ink::resampled(ring, true);
    let n = p.len();
    let turn = |i: usize| {
        let (a, b, c) = (p[(i + n - REACH) % n], p[i], p[(i + REACH) % n]);
        let (u, v) = ([b[0] - a[0], b[1] - a[1]], [c[0] - b[0], c[1] - b[1]]);
        let (lu, lv) = (u[0].hypot(u[1]), v[0].hypot(v[1]));
        let cosine = (u[0] * v[0] + u[1] * v[1]) / (lu * lv).max(f64::MIN_POSITIVE);
        (cosine, [u[0] / lu, u[1] / lu])
    };
    for (i, corner) in p.iter().enumerate() {
        let (cosine, along) = turn(i);
        let sharpest = (1..=REACH).all(|k| cosine < turn((i + k) % n).0 && cosine <= turn((i + n - k) % n).0);
        if cosine < SHARP && sharpest {
            let at = |s: f64| [corner[0] + s * along[0], corner[1] + s * along[1]];
            let pen = Pen {
                width: 2.6,
                swell: 0.0,
                wobble: 0.0,
                taper: BEFORE,
            };
            out.open(&[at(-BEFORE), at(BEHIND)], pen, i as u64);
        }
    }
}

/// Contours and seams that the cage itself gives.
fn inner(out: &mut Strokes, lines: &Lines, rings: &[Vec<V2>], column: f64, seed: u64) {
    /// A contour nearer to the outline than this is the outline itself, px.
    const SAME: f64 = 6.0;
    /// Shorter pieces are left out, px.
    const SHORT: f64 = 16.0;
    let outline: Vec<V2> = rings.iter().flat_map(|r| ink::resampled(r, true)).collect();
    let apart = |p: V2| outline.iter().all(|q| (p[0] - q[0]).hypot(p[1] - q[1]) > SAME);
    let mut pieces: Vec<(Vec<V2>, Pen)> = Vec::new();
    for (chains, pen, near) in [(&lines.contours, CONTOUR, false), (&lines.seams, SEAM, true)] {
        for chain in chains {
            let mut run = Vec::new();
            for &p in chain {
                let p = on_sheet(p, column);
                if near || apart(p) {
                    run.push(p);
                } else {
                    pieces.push((std::mem::take(&mut run), pen));
                }
            }
            pieces.push((run, pen));
        }
    }
    for (i, (run, pen)) in pieces.iter().enumerate() {
        let length: f64 = run
            .windows(2)
            .map(|w| (w[1][0] - w[0][0]).hypot(w[1][1] - w[0][1]))
            .sum();
        if length > SHORT {
            out.open(
                &ink::evened(&ink::resampled(run, false), 8),
                *pen,
                seed + 31 * i as u64,
            );
        }
    }
}

fn by_hand(bold: &mut Strokes, light: &mut Strokes, mark: &Mark, column: f64, seed: u64) {
    for (k, side) in [1.0, -1.0]
        .into_iter()
        .enumerate()
        .take(1 + usize::from(mark.both))
    {
        let points: Vec<V2> = mark
            .points
            .iter()
            .map(|p| on_sheet([side * p[0], p[1]], column))
            .collect();
        let seed = seed + 7 * k as u64;
        match mark.weight {
            Weight::Solid => {
                let mut closed = points;
                closed.extend(closed.first().copied());
                let mut shape = ink::curve(&closed);
                if shoelace(&shape) < 0.0 {
                    shape.reverse();
                }
                bold.ring(&shape);
            }
            Weight::Light => light.open(&ink::curve(&points), pen_of(mark.weight), seed),
            _ => bold.open(&ink::curve(&points), pen_of(mark.weight), seed),
        }
    }
}

/// Pencilled height lines with their labels and a ruler on the left.
fn guides(picture: &mut Picture, outlines: &[Vec<V2>]) {
    /// Guides stop this far before a figure, px.
    const CLEAR: f64 = 11.0;
    const MARGIN: f64 = 34.0;
    let line = Pen {
        width: 1.5,
        swell: 0.3,
        wobble: 0.35,
        taper: 0.0,
    };
    let text = Pen {
        width: 1.6,
        swell: 0.2,
        wobble: 0.2,
        taper: 0.0,
    };
    let right = f64::from(WIDTH) - MARGIN;
    let (mut full, mut faint, mut labels) = (Strokes::default(), Strokes::default(), Strokes::default());
    for (i, (height, name, across)) in GUIDES.into_iter().enumerate() {
        let y = GROUND - DENSITY * height;
        let seed = 900 + i as u64;
        let mut x = MARGIN;
        for [from, to] in covered(outlines, y, CLEAR) {
            full.open(&[[x, y], [from, y]], line, seed);
            if across {
                faint.open(&[[from, y], [to, y]], line, seed);
            }
            x = to;
        }
        full.open(&[[x, y], [right, y]], line, seed);
        let label = format!("{height:.0} {name}");
        let base = y - 8.0;
        lettering::write(&mut labels, &label, [MARGIN + 26.0, base], 15.0, text, seed);
        let end = right - 10.0 - lettering::length(&label[..label.find(' ').unwrap_or(0)], 15.0);
        let number = format!("{height:.0}");
        lettering::write(&mut labels, &number, [end, base], 15.0, text, seed);
    }
    // The ruler: a tick every 10 cm, a longer one every 50.
    for tick in (0..=150).step_by(10) {
        let y = GROUND - DENSITY * f64::from(tick);
        let long = if tick % 50 == 0 { 16.0 } else { 9.0 };
        full.open(&[[MARGIN, y], [MARGIN + long, y]], line, 950 + tick as u64);
    }
    let (top, bottom) = (GROUND - DENSITY * HEIGHT - 6.0, GROUND + 6.0);
    full.open(&[[MARGIN, top], [MARGIN, bottom]], line, 990);
    lay(picture, faint, GUIDE, 0.34);
    lay(picture, full, GUIDE, 0.78);
    lay(picture, labels, PENCIL, 0.85);
}

/// The stretches of a row that figures cover, widened by `clear` and joined where they meet.
fn covered(outlines: &[Vec<V2>], y: f64, clear: f64) -> Vec<[f64; 2]> {
    let mut spans: Vec<[f64; 2]> = Vec::new();
    for ring in outlines {
        let n = ring.len();
        // A band, not a line: a guide that only grazes a figure stops as well.
        let inside: Vec<f64> = (0..n)
            .flat_map(|i| {
                let (a, b) = (ring[i], ring[(i + 1) % n]);
                (0..=8).map(move |k| {
                    let t = f64::from(k) / 8.0;
                    [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])]
                })
            })
            .filter(|p| (p[1] - y).abs() < 4.0)
            .map(|p| p[0])
            .collect();
        let low = inside.iter().copied().fold(f64::INFINITY, f64::min);
        let high = inside.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        if low <= high {
            spans.push([low - clear, high + clear]);
        }
    }
    spans.sort_by(|a, b| a[0].total_cmp(&b[0]));
    spans
}

/// Captions below the figures and the title at the foot of the sheet.
fn captions(picture: &mut Picture) {
    let mut out = Strokes::default();
    let caption = Pen {
        width: 2.4,
        swell: 0.4,
        wobble: 0.4,
        taper: 0.0,
    };
    for (i, (view, column)) in COLUMNS.into_iter().enumerate() {
        let text = match view {
            View::Front => "FRONT",
            View::Side => "SIDE",
            View::Back => "BACK",
        };
        let at = [column - lettering::length(text, 24.0) / 2.0, GROUND + 62.0];
        lettering::write(&mut out, text, at, 24.0, caption, 400 + i as u64);
    }
    let title = Pen {
        width: 4.4,
        swell: 0.8,
        ..caption
    };
    let foot = f64::from(TALL) - 78.0;
    lettering::write(&mut out, "TAMSEL WICK", [64.0, foot], 56.0, title, 500);
    let small = Pen {
        width: 2.0,
        ..caption
    };
    lettering::write(
        &mut out,
        "LAMP TRIMMER AT THE NORTH LIGHT",
        [68.0, foot + 38.0],
        20.0,
        small,
        501,
    );
    let notes = [
        "TURNAROUND, T-POSE",
        "HEIGHT 152 CM, CROWN TO GROUND",
        "SHEET 3 OF 7",
    ];
    for (i, note) in notes.into_iter().enumerate() {
        let x = f64::from(WIDTH) - 64.0 - lettering::length(note, 18.0);
        let at = [x, foot - 22.0 + 30.0 * i as f64];
        lettering::write(&mut out, note, at, 18.0, small, 510 + i as u64);
    }
    lay(picture, out, INK, 0.92);
}

/// Lays strokes onto the paper; the grain shows through a little.
fn lay(picture: &mut Picture, strokes: Strokes, colour: Rgb, strength: f64) {
    let width = picture.width as usize;
    for (i, c) in strokes
        .coverage(picture.width, picture.height)
        .into_iter()
        .enumerate()
    {
        if c > 0.0 {
            let (x, y) = ((i % width) as f64, (i / width) as f64);
            let grain = 0.93 + 0.07 * noise::over(x / 1.9, y / 1.9, 77);
            picture.blend(i, colour, c * strength * grain);
        }
    }
}
