//! The reader against one person drawn by hand by one artist (public domain, see `data/figure-LICENSE.txt`), rendered
//! as scans of several qualities. The vector outline is the truth.

mod sheets;

use sheets::encode::Kind;
use sheets::furniture::Guide;
use sheets::judge::{Known, judge};
use sheets::known::known;
use sheets::look;
use sheets::measure::Matter;
use sheets::page::{Page, Set, Sheet};
use sheets::pen::Pen;
use sheets::vector::Drawing;

const FRONT: &str = include_str!("data/figure-front.svg");
const SIDE: &str = include_str!("data/figure-side.svg");
const BACK: &str = include_str!("data/figure-back.svg");

/// Concave places in the coordinates of the front view's file.
const PLACES: [(&str, [f64; 4]); 2] = [
    ("crotch", [86.0, 205.0, 99.0, 290.0]),
    ("armpit", [40.0, 92.0, 63.0, 155.0]),
];

const POSE: &str = "weight on one leg and a hand on the hip: the front view is not symmetric and named side";
const ENCLOSED: &str = "where strokes touch, the ground that they enclose counts as the figure's own surface";

/// What the reader cannot do yet; the list may only shrink.
const KNOWN: &[Known] = &[
    known("open_clean", Matter::Names, POSE),
    known("open_clean", Matter::Inner, ENCLOSED),
    known("open_clean", Matter::Concave, ENCLOSED),
    known("open_clean", Matter::Holes, ENCLOSED),
    known("open_pencil", Matter::Inner, ENCLOSED),
    known("open_pencil", Matter::Concave, ENCLOSED),
    known("open_pencil", Matter::Holes, ENCLOSED),
    known("open_soft", Matter::Inner, ENCLOSED),
    known("open_soft", Matter::Concave, ENCLOSED),
    known("open_soft", Matter::Holes, ENCLOSED),
    known("open_low", Matter::Names, POSE),
    known("open_low", Matter::Inner, ENCLOSED),
    known("open_low", Matter::Concave, ENCLOSED),
    known("open_low", Matter::Holes, ENCLOSED),
];

/// The three views, `unit` pixels for a unit of the drawing (the figure is about 435 units tall).
fn views(page: &mut Page, unit: f64, ground: f64, pen: &Pen, filled: bool) {
    let step = 165.0 * unit;
    let set = |name, azimuth, k: f64| Set(name, azimuth, unit, 20.0 * unit + k * step, ground);
    page.drawing(
        &Drawing::parse(FRONT),
        set("front", 0.0, 0.0),
        &PLACES,
        pen,
        filled,
    );
    page.drawing(&Drawing::parse(SIDE), set("side", -90.0, 1.0), &[], pen, filled);
    page.drawing(&Drawing::parse(BACK), set("back", 180.0, 2.0), &[], pen, filled);
}

/// As the file says: line and light fill on white.
fn clean() -> Sheet {
    let mut page = Page::new(1300, 1150, [255, 255, 255], 0.0, 71);
    views(&mut page, 2.4, 1100.0, &Pen::ink(3.0), true);
    page.finish(Kind::Grey)
}

/// Doubled pencil, no fill, on shaded paper, turned, between guide lines.
fn pencil() -> Sheet {
    let mut page = Page::new(1400, 1300, [246, 242, 232], 1.3, 72);
    page.canvas.uneven_light(0.12);
    views(&mut page, 2.5, 1200.0, &Pen::pencil(3.6), false);
    for y in [60.0, 1240.0] {
        page.guide(y, Guide::Solid, &Pen::pencil(2.0).colour([150, 150, 154]));
    }
    page.damaged();
    let mut rng = page.rng.clone();
    page.canvas.grain(3.0, &mut rng);
    page.finish(Kind::Grey)
}

/// Turned, soft, strongly compressed.
fn soft() -> Sheet {
    let mut page = Page::new(1400, 1300, [250, 248, 244], -1.9, 73);
    views(&mut page, 2.5, 1200.0, &Pen::ink(3.4), true);
    for y in [60.0, 1240.0] {
        page.guide(y, Guide::Solid, &Pen::ink(1.8).colour([150, 150, 154]));
    }
    page.damaged();
    page.canvas.blur(1.5);
    let mut rng = page.rng.clone();
    page.canvas.grain(3.0, &mut rng);
    page.finish(Kind::GreyJpeg(60))
}

/// A thumbnail of 390 pixels.
fn low() -> Sheet {
    let mut page = Page::new(500, 440, [255, 255, 255], 0.0, 74);
    views(&mut page, 0.9, 420.0, &Pen::ink(1.4), true);
    page.damaged();
    page.canvas.blur(0.5);
    page.finish(Kind::Grey)
}

fn check(name: &str, sheet: &Sheet) {
    look::write(name, sheet);
    judge(name, sheet, KNOWN);
}

#[test]
fn clean_lines_and_light_fill() {
    check("open_clean", &clean());
}

#[test]
fn doubled_pencil_on_shaded_paper() {
    check("open_pencil", &pencil());
}

#[test]
fn soft_turned_and_compressed() {
    check("open_soft", &soft());
}

#[test]
fn low_resolution() {
    check("open_low", &low());
}
