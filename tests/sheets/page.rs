//! A sheet in the making: figures are set on it, and what is known about each is written down.

use super::body::Body;
use super::canvas::Canvas;
use super::curve::{bounds, even};
use super::encode::{Kind, encode};
use super::pen::{Pen, along, around};
use super::rng::Rng;
use super::solid::{P, Ring};

/// One drawn figure, levelled pixels.
pub(crate) struct Figure {
    pub(crate) name: &'static str,
    pub(crate) facing: &'static str,
    pub(crate) rings: Vec<Ring>,
    /// Half the width of the line around it.
    pub(crate) half_line: f64,
    pub(crate) places: Vec<(&'static str, [f64; 4])>,
}

/// What is known about a figure that was drawn; levelled pixels.
pub(crate) struct Facts {
    pub(crate) name: &'static str,
    pub(crate) azimuth: f64,
    pub(crate) rings: Vec<Ring>,
    pub(crate) places: Vec<(&'static str, [f64; 4])>,
    pub(crate) half_line: f64,
}

/// What is true about a sheet.
pub(crate) struct Truth {
    pub(crate) width: usize,
    pub(crate) height: usize,
    pub(crate) skew_deg: f64,
    /// Left to right.
    pub(crate) figures: Vec<Figure>,
    /// Guide lines that run across most of the sheet.
    pub(crate) guides: Vec<f64>,
    /// Other level straight lines: frames, tables.
    pub(crate) other_lines: Vec<f64>,
    /// Paper, line or scan are damaged: the wider limits hold.
    pub(crate) damaged: bool,
}

pub(crate) struct Sheet {
    pub(crate) bytes: Vec<u8>,
    pub(crate) truth: Truth,
}

#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Fill {
    None,
    /// One colour all over.
    Plain([u8; 3]),
    /// Each part in its own.
    Parts,
}

#[derive(Clone, Copy)]
pub(crate) struct Style {
    /// The pen of the outline; none: flat colour.
    pub(crate) pen: Option<Pen>,
    /// The pen of the lines inside.
    pub(crate) inner: Option<Pen>,
    pub(crate) fill: Fill,
    /// Strokes of shading along one side.
    pub(crate) hatch: bool,
    /// A grey tone along one side.
    pub(crate) tone: bool,
    /// Inner lines run this many points past the outline.
    pub(crate) cross: usize,
    /// Colour of eyes and mouth.
    pub(crate) dark: [u8; 3],
}

impl Style {
    pub(crate) const fn line(pen: Pen) -> Self {
        Self {
            pen: Some(pen),
            inner: Some(pen),
            fill: Fill::None,
            hatch: false,
            tone: false,
            cross: 0,
            dark: pen.colour,
        }
    }
}

/// Where a view is set: name, azimuth, height of the figure, column of its axis, ground row.
#[derive(Clone, Copy)]
pub(crate) struct Set(
    pub(crate) &'static str,
    pub(crate) f64,
    pub(crate) f64,
    pub(crate) f64,
    pub(crate) f64,
);

pub(crate) struct Page {
    pub(crate) canvas: Canvas,
    pub(crate) truth: Truth,
    pub(crate) rng: Rng,
}

impl Page {
    pub(crate) fn new(width: usize, height: usize, paper: [u8; 3], skew_deg: f64, seed: u64) -> Self {
        Self {
            canvas: Canvas::new(width, height, paper, skew_deg),
            truth: Truth {
                width,
                height,
                skew_deg,
                figures: Vec::new(),
                guides: Vec::new(),
                other_lines: Vec::new(),
                damaged: false,
            },
            rng: Rng::new(seed),
        }
    }

    /// Draws one view of a body.
    pub(crate) fn view(&mut self, body: &Body, Set(name, azimuth, height, axis, ground): Set, style: &Style) {
        let whole = bounds(&super::solid::outline(body.parts.iter().map(|p| &p.solid), 0.0));
        let unit = height / (whole[3] - whole[1]);
        let place = |p: &P| [axis + p[0] * unit, ground - (p[1] - whole[1]) * unit];
        let set = |ring: &Ring| ring.iter().map(place).collect::<Ring>();
        let path = body.path(azimuth, &mut self.rng);
        let rings: Vec<Ring> = path.iter().map(&set).collect();

        let inside = self.canvas.area(&rings);
        if style.fill != Fill::None {
            let first = match style.fill {
                Fill::Plain(colour) => colour,
                _ => body.parts[0].colour,
            };
            self.canvas.lay(&inside, first, 1.0);
        }
        if style.fill == Fill::Parts {
            let mut order: Vec<usize> = (0..body.parts.len()).collect();
            let near = |i: usize| body.parts[i].solid.nearest(azimuth);
            order.sort_by(|&a, &b| near(a).total_cmp(&near(b)));
            for i in order {
                let part: Vec<Ring> = body.parts[i].solid.rings(azimuth).iter().map(&set).collect();
                let mask = self.canvas.area(&part).and(&inside);
                self.canvas.lay(&mask, body.parts[i].colour, 1.0);
            }
        }
        if style.tone {
            let moved: Vec<Ring> = rings
                .iter()
                .map(|r| {
                    r.iter()
                        .map(|p| [p[0] - 0.022 * height, p[1] - 0.006 * height])
                        .collect()
                })
                .collect();
            let mask = self.canvas.area(&rings).without(&self.canvas.area(&moved));
            self.canvas.lay(&mask, [60, 62, 80], 0.22);
        }
        if style.hatch {
            self.hatch(&rings, height, style);
        }
        if let Some(pen) = &style.inner {
            let mut strokes = Vec::new();
            for line in body.inner_lines(&path, azimuth, style.cross) {
                strokes.extend(along(&set(&line), height, pen, &mut self.rng));
            }
            let mask = self.canvas.strokes(&strokes);
            self.canvas.lay(&mask, pen.colour, 1.0);
        }
        self.face(body, azimuth, unit, place, &rings, style);
        if let Some(pen) = &style.pen {
            let strokes = around(&rings, height, pen, &mut self.rng);
            let mask = self.canvas.strokes(&strokes);
            self.canvas.lay(&mask, pen.colour, 1.0);
        }
        let places = body.places_in(azimuth).map(|q| {
            let (a, b) = (
                place(&[q.window[0], q.window[3]]),
                place(&[q.window[2], q.window[1]]),
            );
            (q.what, [a[0], a[1], b[0], b[1]])
        });
        let places = places.collect();
        let half_line = style.pen.map_or(0.0, |p| p.width / 2.0);
        self.note(Facts {
            name,
            azimuth,
            rings,
            places,
            half_line,
        });
    }

    /// Writes down what is true about a figure that was drawn.
    pub(crate) fn note(&mut self, facts: Facts) {
        let Facts {
            name,
            azimuth,
            rings,
            places,
            half_line,
        } = facts;
        let facing = match name.split('-').next() {
            Some("side") if azimuth > 0.0 => "right",
            Some("side") => "left",
            Some("back") => "away",
            _ => "viewer",
        };
        self.truth.figures.push(Figure {
            name,
            facing,
            rings,
            half_line,
            places,
        });
    }

    fn face(
        &mut self,
        body: &Body,
        azimuth: f64,
        unit: f64,
        place: impl Fn(&P) -> P,
        rings: &[Ring],
        style: &Style,
    ) {
        for (at, half) in body.eyes_seen(azimuth) {
            let m = place(&at);
            let eye: Ring = (0..40)
                .map(|i| {
                    let (s, c) = (f64::from(i) / 40.0 * std::f64::consts::TAU).sin_cos();
                    [m[0] + half[0] * unit * c, m[1] + half[1] * unit * s]
                })
                .collect();
            let mask = self.canvas.area(&[eye]).and(&self.canvas.area(rings));
            self.canvas.lay(&mask, style.dark, 1.0);
        }
    }

    /// Slanting strokes inside the right-hand side of the figure; some touch the outline.
    fn hatch(&mut self, rings: &[Ring], height: f64, style: &Style) {
        let inside = self.canvas.area(rings);
        let moved: Vec<Ring> = rings
            .iter()
            .map(|r| r.iter().map(|p| [p[0] - 0.03 * height, p[1]]).collect())
            .collect();
        let band = inside.without(&self.canvas.area(&moved));
        let [x0, y0, x1, y1] = bounds(rings);
        let mut strokes = Vec::new();
        let mut at = x0 - (y1 - y0);
        while at < x1 {
            strokes.push(vec![([at, y1], 0.6, 0.6), ([at + (y1 - y0), y0], 0.6, 0.6)]);
            at += 0.011 * height;
        }
        let mask = self.canvas.strokes(&strokes).and(&band);
        self.canvas.lay(&mask, style.dark, 0.75);
    }

    /// Says that the paper, the lines or the scan are damaged.
    pub(crate) fn damaged(&mut self) {
        self.truth.damaged = true;
    }

    /// Ends the sheet.
    pub(crate) fn finish(mut self, kind: Kind) -> Sheet {
        let left = |f: &Figure| bounds(&f.rings)[0];
        self.truth.figures.sort_by(|a, b| left(a).total_cmp(&left(b)));
        Sheet {
            bytes: encode(&self.canvas, kind),
            truth: self.truth,
        }
    }

    /// Draws lines with a pen.
    pub(crate) fn pen(&mut self, lines: &[Ring], pen: &Pen) {
        let mut strokes = Vec::new();
        for line in lines {
            strokes.extend(along(line, 1000.0, pen, &mut self.rng));
        }
        let mask = self.canvas.strokes(&strokes);
        self.canvas.lay(&mask, pen.colour, 1.0);
    }

    /// Fills a closed ring.
    pub(crate) fn patch(&mut self, ring: &Ring, colour: [u8; 3], strength: f64) {
        let mask = self.canvas.area(&[even(ring, 2.0)]);
        self.canvas.lay(&mask, colour, strength);
    }
}
