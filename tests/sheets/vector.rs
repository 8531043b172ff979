//! A figure drawn by someone else, from a vector file: paths of M, L, C and z in absolute coordinates, groups that
//! are moved. Nothing more is read.

use i_overlay::core::fill_rule::FillRule;
use i_overlay::float::simplify::SimplifyShape;

use super::page::Facts;
use super::page::{Page, Set};
use super::pen::{Pen, along, around};
use super::solid::{Ring, union};

/// Straight pieces that stand for one curve.
const PIECES: usize = 24;

/// One path of the drawing; y points up.
struct Path {
    lines: Vec<Ring>,
    closed: bool,
    fill: Option<[u8; 3]>,
}

pub(crate) struct Drawing {
    paths: Vec<Path>,
    /// Its outline: everything that is filled, united.
    outline: Vec<Ring>,
}

impl Drawing {
    pub(crate) fn parse(text: &str) -> Self {
        let mut moves: Vec<[f64; 2]> = Vec::new();
        let mut paths = Vec::new();
        for tag in text.split('<').skip(1) {
            let attribute = |name: &str| {
                let start = tag.find(&format!(" {name}=\""))? + name.len() + 3;
                Some(&tag[start..start + tag[start..].find('"')?])
            };
            if tag.starts_with("g ") || tag.starts_with("g>") {
                let by = attribute("transform").map_or(vec![0.0, 0.0], numbers);
                moves.push([by[0], by[1]]);
            } else if tag.starts_with("/g>") {
                moves.pop();
            } else if let Some(d) = tag.starts_with("path").then(|| attribute("d")).flatten() {
                let shift = moves.iter().fold([0.0; 2], |a, b| [a[0] + b[0], a[1] + b[1]]);
                let style = attribute("style").expect("a style");
                let fill = style.split(';').find_map(|s| s.strip_prefix("fill:#"));
                let grey = fill.map(|f| u8::from_str_radix(&f[..2], 16).expect("a colour"));
                paths.push(Path {
                    lines: lines(d, shift),
                    closed: d.contains('z'),
                    fill: grey.map(|g| [g; 3]),
                });
            }
        }
        let filled: Vec<Ring> = paths
            .iter()
            .filter(|p| p.fill.is_some())
            .flat_map(|p| p.lines.simplify_shape(FillRule::EvenOdd).into_iter().flatten())
            .collect();
        Self {
            outline: union(&filled),
            paths,
        }
    }
}

fn numbers(text: &str) -> Vec<f64> {
    text.split(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-'))
        .filter_map(|t| t.parse().ok())
        .collect()
}

fn lines(d: &str, shift: [f64; 2]) -> Vec<Ring> {
    let mut out: Vec<Ring> = Vec::new();
    let mut tokens = d
        .split(|c: char| c.is_whitespace() || c == ',')
        .filter(|t| !t.is_empty())
        .peekable();
    let mut command = "M";
    while let Some(token) = tokens.peek() {
        if token.chars().all(char::is_alphabetic) {
            command = tokens.next().expect("a command");
            if command == "z" {
                continue;
            }
        }
        let mut point = || {
            let mut next = || {
                tokens
                    .next()
                    .and_then(|t| t.parse::<f64>().ok())
                    .expect("a number")
            };
            let (x, y) = (next(), next());
            [x + shift[0], -(y + shift[1])]
        };
        match command {
            "M" => out.push(vec![point()]),
            "L" => out.last_mut().expect("a start").push(point()),
            "C" => {
                let (b, c, d) = (point(), point(), point());
                let ring = out.last_mut().expect("a start");
                let a = *ring.last().expect("a start");
                ring.extend((1..=PIECES).map(|i| {
                    let t = i as f64 / PIECES as f64;
                    let w = [
                        (1.0 - t).powi(3),
                        3.0 * t * (1.0 - t).powi(2),
                        3.0 * t * t * (1.0 - t),
                        t.powi(3),
                    ];
                    [0, 1].map(|k| w[0] * a[k] + w[1] * b[k] + w[2] * c[k] + w[3] * d[k])
                }));
            }
            other => panic!("the path command {other} is not read"),
        }
    }
    out
}

impl Page {
    /// Draws a view of the drawing: `unit` pixels for each of its units, its own zero at `axis`, its lowest point at
    /// `ground`; windows of concave places `[x0, y0, x1, y1]` in the file's coordinates, y down.
    pub(crate) fn drawing(
        &mut self,
        drawing: &Drawing,
        Set(name, azimuth, unit, axis, ground): Set,
        places: &[(&'static str, [f64; 4])],
        pen: &Pen,
        filled: bool,
    ) {
        let low = super::curve::bounds(&drawing.outline)[1];
        let place = |p: &[f64; 2]| [axis + p[0] * unit, ground - (p[1] - low) * unit];
        let set = |r: &Ring| r.iter().map(place).collect::<Ring>();
        let rings: Vec<Ring> = drawing.outline.iter().map(set).collect();
        let b = super::curve::bounds(&rings);
        for path in &drawing.paths {
            let lines: Vec<Ring> = path.lines.iter().map(set).collect();
            if let (Some(colour), true) = (path.fill, filled) {
                let mask = self.canvas.area(&lines);
                self.canvas.lay(&mask, colour, 1.0);
            }
            let strokes = if path.closed {
                around(&lines, b[3] - b[1], pen, &mut self.rng)
            } else {
                lines
                    .iter()
                    .flat_map(|l| along(l, b[3] - b[1], pen, &mut self.rng))
                    .collect()
            };
            let mask = self.canvas.strokes(&strokes);
            self.canvas.lay(&mask, pen.colour, 1.0);
        }
        let window = |w: &[f64; 4]| {
            let (p, q) = (place(&[w[0], -w[1]]), place(&[w[2], -w[3]]));
            [p[0], p[1], q[0], q[1]]
        };
        let places = places.iter().map(|(what, w)| (*what, window(w))).collect();
        self.note(Facts {
            name,
            azimuth,
            rings,
            places,
            half_line: pen.width / 2.0,
        });
    }
}
