//! Each overrule of a setup changes what it should and nothing else. The sheet is drawn here: two egg-shaped figures
//! with a window on either side, inked with one pen.

use drawntrue::Result;
use drawntrue::place::assign::Asked;
use drawntrue::setup::{ImageSetup, SetupFile};
use drawntrue::sheet::picture::{Channels, Picture};
use drawntrue::sheet::read::{Figure, Reading, read_overruled};

const WIDTH: usize = 1000;
const HEIGHT: usize = 900;
/// Middles of the figures, and half their height.
const MIDDLES: [f64; 2] = [280.0, 720.0];
const ROW: f64 = 450.0;
const HALF: [f64; 2] = [150.0, 330.0];
/// Half the pen.
const PEN: f64 = 2.5;

/// How far a place lies from an ellipse's line, about: good enough to ink it evenly.
fn from_ellipse(x: f64, y: f64, middle: [f64; 2], half: [f64; 2]) -> f64 {
    let (u, v) = ((x - middle[0]) / half[0], (y - middle[1]) / half[1]);
    let r = u.hypot(v).max(1e-9);
    let slope = (u / half[0]).hypot(v / half[1]) / r;
    ((r - 1.0) / slope).abs()
}

/// The sheet; `extra` says what else is inked, or left out.
fn sheet(extra: impl Fn(f64, f64, bool) -> bool) -> Picture {
    let data = (0..WIDTH * HEIGHT)
        .map(|i| {
            let (x, y) = ((i % WIDTH) as f64 + 0.5, (i / WIDTH) as f64 + 0.5);
            let inked = MIDDLES.iter().any(|m| {
                from_ellipse(x, y, [*m, ROW], HALF) <= PEN
                    || [-70.0, 70.0]
                        .iter()
                        .any(|off| from_ellipse(x, y, [m + off, ROW - 40.0], [30.0, 70.0]) <= PEN)
            });
            if extra(x, y, inked) { 20 } else { 250 }
        })
        .collect();
    Picture::new(WIDTH, HEIGHT, Channels::Grey, data)
}

fn plain() -> Picture {
    sheet(|_, _, inked| inked)
}

fn read(picture: &Picture, lines: &str) -> Result<Reading> {
    let file = SetupFile::parse(&format!("[[image]]\nfile = \"sheet.png\"\n{lines}"))?;
    let image = &file.setup.images[0];
    let mut reading = read_overruled(picture, &image.overrules())?;
    image.apply(&mut reading);
    Ok(reading)
}

fn outer(figure: &Figure) -> Vec<[f64; 2]> {
    let longest = figure
        .upright
        .rings
        .iter()
        .max_by_key(|r| r.len())
        .expect("a ring");
    longest.iter().map(|p| [p.x, p.y]).collect()
}

#[test]
fn an_empty_setup_changes_nothing() {
    let picture = plain();
    let (with, without) = (
        read(&picture, "").expect("a reading"),
        read_overruled(&picture, &ImageSetup::default().overrules()).expect("a reading"),
    );
    assert_eq!(with.figures.len(), 2);
    for (a, b) in with.figures.iter().zip(&without.figures) {
        assert_eq!(outer(a), outer(b));
        assert_eq!((a.confidence, &a.warnings), (b.confidence, &b.warnings));
    }
}

#[test]
fn enclosed_areas_are_what_the_person_says() {
    let picture = plain();
    let said = |key: &str| {
        let lines = format!("{key} = [[210, 410], [350, 410]]\n");
        read(&picture, &lines).expect("a reading")
    };
    let (ground, surface) = (said("ground"), said("surface"));
    assert_eq!(
        ground.figures[0].upright.rings.len(),
        3,
        "two windows are cut out"
    );
    assert_eq!(surface.figures[0].upright.rings.len(), 1);
    // The other figure and the outer line stay as they were.
    assert_eq!(outer(&ground.figures[0]), outer(&surface.figures[0]));
    assert_eq!(outer(&ground.figures[1]), outer(&surface.figures[1]));
    assert_eq!(
        ground.figures[1].upright.rings.len(),
        surface.figures[1].upright.rings.len()
    );
}

#[test]
fn an_erased_box_is_empty_paper() {
    // A pointer that touches the left figure's right side.
    let pointer = sheet(|x, y, inked| inked || ((430.0..=520.0).contains(&x) && (y - 450.0).abs() <= PEN));
    let erased = read(&pointer, "erase = [[434, 430, 540, 470]]\n").expect("a reading");
    let clean = read(&plain(), "").expect("a reading");
    let [a, b] = [&erased.figures[0], &clean.figures[0]];
    assert!(
        (a.box_px[2] - b.box_px[2]).abs() < 2.5,
        "{:?} {:?}",
        a.box_px,
        b.box_px
    );
    assert_eq!(outer(&erased.figures[1]), outer(&clean.figures[1]));
}

#[test]
fn an_opening_wider_than_allowed_stays_open() {
    // A gap of 8 pixels, 1.2 % of the height, at the crown of the left figure.
    let open = sheet(|x, y, inked| inked && !((276.0..284.0).contains(&x) && y < 200.0));
    assert_eq!(read(&open, "").expect("a reading").figures.len(), 2);
    // What is left of the left figure is a stroke, no figure.
    let tight = read(&open, "widest-gap = 0.2\n").expect("a reading");
    assert_eq!(tight.figures.len(), 1);
    assert!(tight.figures[0].box_px[0] > 500.0);
}

#[test]
fn a_threshold_above_the_ink_leaves_nothing() {
    assert!(read(&plain(), "threshold = 250\n").is_err());
    assert_eq!(
        read(&plain(), "threshold = 60\n")
            .expect("a reading")
            .figures
            .len(),
        2
    );
}

#[test]
fn only_listed_views_are_taken_under_their_names() {
    let picture = plain();
    let all = read(&picture, "").expect("a reading");
    let [x0, y0, x1, y1] = all.figures[1].box_px;
    let lines = format!("[[image.view]]\nname = \"side\"\nbox = [{x0}, {y0}, {x1}, {y1}]\n");
    let file = SetupFile::parse(&format!("[[image]]\nfile = \"sheet.png\"\n{lines}")).expect("a setup");
    let image = &file.setup.images[0];
    let mut one = read_overruled(&picture, &image.overrules()).expect("a reading");
    assert_eq!(image.apply(&mut one), [Some(Asked::Side)]);
    assert_eq!(outer(&one.figures[0]), outer(&all.figures[1]));
    assert_eq!(image.axes_px(&one), [None]);
    let with_axis = SetupFile::parse(&format!("[[image]]\nfile = \"sheet.png\"\n{lines}axis = 640.5\n"));
    let image = &with_axis.expect("a setup").setup.images[0];
    assert_eq!(image.axes_px(&one), [Some(640.5)]);
    let nowhere = "[[image.view]]\nname = \"side\"\nbox = [0, 0, 40, 40]\n";
    let message = read(&picture, nowhere).expect_err("no figure there").to_string();
    assert!(message.contains("x 0 to 40"), "{message}");
}

#[test]
fn guide_lines_are_those_of_the_setup() {
    let lines = "[[image.guide]]\ny = 500.0\nmeans = \"hip\"\n[[image.guide]]\ny = 200.0\n";
    let reading = read(&plain(), lines).expect("a reading");
    assert_eq!(reading.guide_lines_px, [200.0, 500.0]);
    assert_eq!(reading.guide_means, ["", "hip"]);
}

#[test]
fn the_edge_of_the_line_is_the_one_that_counts() {
    let width = |edge: &str| {
        let b = read(&plain(), &format!("line-edge = \"{edge}\"\n"))
            .expect("a reading")
            .figures[0]
            .upright
            .bounds()
            .expect("an outline");
        b.width()
    };
    let (inner, centre, outer) = (width("inner"), width("centre"), width("outer"));
    // Half a pen on either side, to a third of a pixel: the pen's edge is not smoothed.
    assert!((outer - centre - 2.0 * PEN).abs() < 0.35, "{outer} {centre}");
    assert!((centre - inner - 2.0 * PEN).abs() < 0.35, "{centre} {inner}");
}
