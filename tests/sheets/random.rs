//! Small sheets from seeds: figure, pose, pen and one kind of damage, from hardly any to hopeless.

use super::body::Body;
use super::cast;
use super::curve::bounds;
use super::encode::Kind;
use super::furniture::Guide;
use super::page::{Fill, Page, Set, Sheet, Style};
use super::pen::Pen;
use super::rng::Rng;
use super::solid::{P, Ring};

/// What is done to a sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Damage {
    Clean,
    Coloured,
    Flat,
    Gaps,
    Pencil,
    Guides,
    Skewed,
    Soft,
    Faint,
    Smudged,
    Merged,
    CutByBorder,
    CutWithin,
    Stained,
    Labelled,
    Dashed,
}

/// All kinds; sheet `n` has kind `n % 16`.
pub(crate) const KINDS: [Damage; 16] = [
    Damage::Clean,
    Damage::Coloured,
    Damage::Flat,
    Damage::Gaps,
    Damage::Pencil,
    Damage::Guides,
    Damage::Skewed,
    Damage::Soft,
    Damage::Faint,
    Damage::Smudged,
    Damage::Merged,
    Damage::CutByBorder,
    Damage::CutWithin,
    Damage::Stained,
    Damage::Labelled,
    Damage::Dashed,
];

fn character(rng: &mut Rng) -> Body {
    match rng.below(12) {
        0 => cast::stocky(),
        1 => cast::child(),
        2 => cast::hatted(),
        3 => cast::messenger(),
        4 => cast::skirted(),
        5 => cast::soldier(),
        6 => cast::fingers(),
        7 => cast::tailed(),
        8 => cast::robot(),
        9 => cast::akimbo(),
        10 => cast::wanderer(),
        _ => cast::dumpling(),
    }
}

/// A point of a figure's outline and the outward normal there.
fn on_outline(ring: &Ring, rng: &mut Rng) -> (P, P) {
    let i = rng.below(ring.len());
    let (a, b) = (
        ring[(i + ring.len() - 2) % ring.len()],
        ring[(i + 2) % ring.len()],
    );
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    let l = dx.hypot(dy).max(1e-9);
    (ring[i], [dy / l, -dx / l])
}

fn longest(rings: &[Ring]) -> Ring {
    rings.iter().max_by_key(|r| r.len()).cloned().unwrap_or_default()
}

/// An uneven blot.
fn blot(at: P, radius: f64, rng: &mut Rng) -> Ring {
    let waves = rng.waves(90, 12);
    (0..90)
        .map(|i| {
            let (s, c) = (f64::from(i) / 90.0 * std::f64::consts::TAU).sin_cos();
            let r = radius * (1.0 + 0.35 * waves[i as usize]);
            [at[0] + r * c, at[1] + r * s]
        })
        .collect()
}

/// Sheet `number` and what was done to it.
pub(crate) fn sheet(number: u64) -> (Damage, Sheet) {
    let damage = KINDS[number as usize % KINDS.len()];
    (damage, spoilt(number, damage, None))
}

/// Sheet `number` with a damage of its own, from 0 (hardly any; of faint lines: the faintest) to 1.
pub(crate) fn spoilt(number: u64, damage: Damage, severity: Option<f64>) -> Sheet {
    let mut rng = Rng::new(7000 + number);
    let body = character(&mut rng);
    let h = rng.range(450.0, 690.0);
    let paper = [[255, 255, 255], [250, 248, 240], [238, 234, 222], [252, 252, 253]][rng.below(4)];
    let skew = if damage == Damage::Skewed {
        rng.range(-3.0, 3.0)
    } else {
        0.0
    };
    let whole = bounds(&super::solid::outline(body.parts.iter().map(|p| &p.solid), 0.0));
    let side = bounds(&super::solid::outline(body.parts.iter().map(|p| &p.solid), 90.0));
    let unit = h / (whole[3] - whole[1]);
    let (front_w, side_w) = ((whole[2] - whole[0]) * unit, (side[2] - side[0]) * unit);
    let gap = rng.range(0.1, 0.3) * h;
    let three = rng.below(4) == 0;
    let mut x = gap;
    let mut views = vec![("front", 0.0, x - whole[0] * unit)];
    x += front_w + gap;
    views.push(("side", 90.0, x - side[0] * unit));
    x += side_w + gap;
    if three {
        views.push(("back", 180.0, x + whole[2] * unit));
        x += front_w + gap;
    }
    let mut ground = 1.1 * h;
    let mut tall = (1.22 * h) as usize;
    if damage == Damage::CutByBorder {
        match rng.below(3) {
            0 => tall = (ground - rng.range(0.005, 0.3) * h) as usize,
            1 => ground = h * rng.range(0.75, 0.995),
            _ => x -= gap + rng.range(0.1, 0.6) * side_w,
        }
    }
    let mut page = Page::new(x as usize, tall, paper, skew, 900 + number);
    let width = (h * rng.range(0.0028, 0.0065)).max(1.4);
    let mut pen = if rng.below(3) == 0 {
        Pen::pencil(width.max(2.0))
    } else {
        Pen::ink(width)
    };
    let drawn = rng.unit();
    let severity = severity.unwrap_or(drawn);
    let mut grain = if rng.below(3) == 0 {
        rng.range(0.5, 3.0)
    } else {
        0.0
    };
    let mut blur: f64 = if rng.below(3) == 0 {
        rng.range(0.3, 0.8)
    } else {
        0.0
    };
    match damage {
        Damage::Gaps => pen = pen.broken(1 + (severity * 10.0) as usize, rng.range(0.004, 0.03)),
        Damage::Dashed => pen = pen.broken(12 + (severity * 40.0) as usize, rng.range(0.01, 0.05)),
        Damage::Pencil => pen = Pen::pencil(width.max(2.0)).brush(0.3, rng.range(0.08, 0.3)),
        Damage::Soft => blur = 0.6 + 3.0 * severity,
        Damage::Faint => {
            let tone = 0.04 + 0.36 * severity;
            pen.tone = (0.7 * tone, tone);
            grain = rng.range(1.0, 6.0);
        }
        _ => {}
    }
    let style = Style {
        fill: match damage {
            Damage::Coloured => Fill::Parts,
            Damage::Flat if rng.below(2) == 0 => Fill::Parts,
            Damage::Flat => Fill::Plain([150, 120, 96]),
            _ if rng.below(6) == 0 => Fill::Parts,
            _ => Fill::None,
        },
        pen: (damage != Damage::Flat).then_some(pen),
        hatch: damage == Damage::Pencil && rng.below(2) == 0,
        ..Style::line(pen)
    };
    for (name, azimuth, axis) in &views {
        page.view(&body, Set(name, *azimuth, h, *axis, ground), &style);
    }
    let with_guides = matches!(damage, Damage::Guides | Damage::Skewed) || rng.below(4) == 0;
    if with_guides {
        let thin = Pen::ink((0.5 * width).max(1.0)).colour([150, 150, 156]);
        for share in [0.0, 0.13, 0.5, 1.0] {
            let kind = if rng.below(3) == 0 {
                Guide::Dashed
            } else {
                Guide::Solid
            };
            page.guide(ground - share * h, kind, &thin);
        }
    }
    spoil(&mut page, damage, severity, h, &pen, &mut rng);
    if blur > 0.0 {
        page.canvas.blur(blur);
    }
    if rng.below(3) == 0 {
        page.canvas.uneven_light(rng.range(0.0, 0.15));
    }
    if grain > 0.0 {
        page.canvas.grain(grain, &mut rng);
    }
    page.damaged();
    let kind = if rng.below(4) == 0 {
        Kind::Jpeg(70 + rng.below(25) as u8)
    } else {
        Kind::Rgb
    };
    page.finish(kind)
}

/// What is done after the drawing.
fn spoil(page: &mut Page, damage: Damage, severity: f64, h: f64, pen: &Pen, rng: &mut Rng) {
    let paper = page.canvas.rgb[0].map(|v| v as u8);
    let all: Vec<Ring> = page.truth.figures.iter().map(|f| longest(&f.rings)).collect();
    let hit = all[rng.below(all.len())].clone();
    match damage {
        Damage::Smudged => {
            // Graphite rubbed across the outline, and the outline rubbed pale with it.
            for _ in 0..1 + rng.below(4) {
                let (at, n) = on_outline(&hit, rng);
                let r = (0.02 + 0.1 * severity) * h;
                for k in 0..7 {
                    let p = [
                        at[0] + n[0] * f64::from(k) * 0.2 * r,
                        at[1] + n[1] * f64::from(k) * 0.2 * r,
                    ];
                    let ring = blot(p, r * (1.0 - 0.1 * f64::from(k)), rng);
                    page.patch(&ring, [120, 120, 124], 0.05 + 0.12 * severity);
                }
                let pale = blot(at, 0.7 * r, rng);
                page.patch(&pale, paper, 0.9 * severity);
            }
        }
        Damage::Stained => {
            for _ in 0..1 + rng.below(3) {
                let (at, _) = on_outline(&hit, rng);
                let r = (0.01 + 0.09 * severity) * h;
                let tone = 30 + rng.below(150) as u8;
                let ring = blot(at, r, rng);
                page.patch(&ring, [tone, tone, tone / 2 + 40], rng.range(0.3, 1.0));
            }
        }
        Damage::Merged => {
            let (a, b) = (bounds(&all[0..1]), bounds(&all[1..2]));
            let (first, _) = on_outline(&all[0], rng);
            let y = first[1].clamp(a[1] + 0.1 * h, a[3] - 0.05 * h);
            let (from, to) = (
                [(a[0] + a[2]) / 2.0, y],
                [(b[0] + b[2]) / 2.0, y + rng.range(-0.1, 0.1) * h],
            );
            if severity < 0.6 {
                let stroke = Pen {
                    width: pen.width * rng.range(0.8, 4.0),
                    ..Pen::ink(2.0)
                };
                page.pen(&[vec![from, to]], &stroke);
                if severity < 0.3 {
                    let down = rng.range(0.02, 0.2) * h;
                    page.pen(&[vec![[from[0], from[1] + down], [to[0], to[1] + down]]], &stroke);
                }
            } else {
                let t = (0.02 + 0.2 * (severity - 0.6)) * h;
                let ring = vec![from, to, [to[0], to[1] + t], [from[0], from[1] + t]];
                page.patch(&ring, [90, 92, 104], rng.range(0.4, 1.0));
            }
        }
        Damage::CutWithin => {
            // A strip of paper pasted over, or a part of the scan missing.
            let b = bounds(std::slice::from_ref(&hit));
            let cut = (0.01 + 0.25 * severity) * h;
            let (w, tall) = (page.truth.width as f64, page.truth.height as f64);
            let [x0, y0, x1, y1] = match rng.below(4) {
                0 => [0.0, 0.0, w, b[1] + cut],
                1 => [0.0, b[3] - cut, w, tall],
                2 => [b[2] - cut, b[1] - 5.0, b[2] + 5.0, b[3] + 5.0],
                _ => {
                    let y = rng.range(b[1], b[3]);
                    [b[0] - 5.0, y, b[2] + 5.0, y + 0.3 * cut]
                }
            };
            page.patch(&vec![[x0, y0], [x1, y0], [x1, y1], [x0, y1]], paper, 1.0);
        }
        Damage::Labelled => {
            for _ in 0..1 + rng.below(4) {
                let (at, _) = on_outline(&hit, rng);
                let size = (0.02 + 0.1 * severity) * h;
                let letters = 2 + rng.below(8);
                let start = [at[0] - size * rng.range(0.0, 2.0), at[1] + 0.5 * size];
                page.label(start, size, letters, pen.colour);
            }
        }
        _ => {}
    }
}
