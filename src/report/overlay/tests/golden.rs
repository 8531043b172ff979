//! Golden pictures: small, one matter each, compared exactly. On a mismatch expected, actual and difference are written
//! side by side.
//!
//! `DRAWNTRUE_NEW_GOLDEN=1 cargo test golden` writes them anew and still fails, so that nobody does it unseen.

use std::path::PathBuf;

use tiny_skia::PathBuilder;

use super::super::canvas::{Canvas, Pen, Weight};
use super::super::frame::{Pane, Stage};
use super::super::hatch::Lean;
use super::super::shrunk::Shrunk;
use super::super::{Subject, chart, figure::Figure, frame::Frame, heights, legend, marks};
use super::whole;
use crate::compare::rows::EdgeReading;
use crate::report::look::{DRAWING_DASH, DRAWING_LINE, INK, MESH, MESH_LINE, OVER, SMALL, TITLE, UNDER};
use crate::report::sample::{Scene, scene};

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/golden")
}

/// Compares a canvas with the golden picture of this name.
fn compare(name: &str, canvas: &Canvas) {
    let actual = canvas.pixmap();
    let file = folder().join(format!("{name}.png"));
    let failures = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("target/golden-failures");
    if std::env::var_os("DRAWNTRUE_NEW_GOLDEN").is_some() {
        // Without a palette, which may stand for colours that are merely alike.
        let bytes = actual.encode_png().expect("encoded");
        std::fs::write(&file, bytes).expect("written");
        panic!("{name}: written anew; look at it, then run without DRAWNTRUE_NEW_GOLDEN");
    }
    let expected = image::open(&file).unwrap_or_else(|e| panic!("{}: {e}", file.display()));
    let expected = expected.to_rgb8();
    let (w, h) = (actual.width(), actual.height());
    let got = |x: u32, y: u32| {
        let p = actual
            .pixel(x, y)
            .map_or([0; 3], |p| [p.red(), p.green(), p.blue()]);
        image::Rgb(p)
    };
    let same_size = expected.dimensions() == (w, h);
    let off = |x: u32, y: u32| *expected.get_pixel(x, y) != got(x, y);
    let differ = if same_size {
        (0..h)
            .flat_map(|y| (0..w).map(move |x| (x, y)))
            .filter(|(x, y)| off(*x, *y))
            .count()
    } else {
        usize::MAX
    };
    if differ == 0 {
        return;
    }
    // Expected, actual, and in black where they differ.
    let (we, he) = expected.dimensions();
    let mut beside = image::RgbImage::from_pixel(we + 2 * w + 20, h.max(he), image::Rgb([200, 200, 200]));
    for (x, y, p) in expected.enumerate_pixels() {
        beside.put_pixel(x, y, *p);
    }
    for y in 0..h {
        for x in 0..w {
            beside.put_pixel(we + 10 + x, y, got(x, y));
            let same = same_size && !off(x, y);
            beside.put_pixel(we + w + 20 + x, y, image::Rgb([if same { 255 } else { 0 }; 3]));
        }
    }
    std::fs::create_dir_all(&failures).expect("a folder");
    let to = failures.join(format!("{name}.png"));
    beside.save(&to).expect("written");
    panic!(
        "{name}: {differ} pixels differ; expected, actual and difference: target/golden-failures/{name}.png"
    );
}

/// The sample's figure on a small stage.
fn small(scene: &Scene) -> (Canvas, Stage) {
    let pane = Pane {
        left: 130.0,
        top: 10.0,
        width: 180.0,
        height: 220.0,
    };
    let stage = Stage {
        pane,
        zero: (220.0, 215.0),
        scale: 1.2,
    };
    assert_eq!(scene.report.views.len(), 2, "the sample's front view is drawn");
    (Canvas::new(320.0, 240.0, 1.0).expect("a canvas"), stage)
}

#[test]
fn golden_hatching_leans_both_ways() {
    let mut canvas = Canvas::new(120.0, 60.0, 1.0).expect("a canvas");
    for (left, lean, colour) in [(5.0, Lean::Up, OVER), (65.0, Lean::Down, UNDER)] {
        let path = PathBuilder::from_circle(left as f32 + 25.0, 30.0, 24.0).expect("a circle");
        let within = Pane {
            left,
            top: 5.0,
            width: 50.0,
            height: 50.0,
        };
        canvas.hatch(&path, within, lean, colour);
    }
    compare("hatching", &canvas);
}

#[test]
fn golden_outlines_differ_in_weight_and_dash() {
    let mut canvas = Canvas::new(120.0, 40.0, 1.0).expect("a canvas");
    canvas.line(&[(5.0, 12.0), (115.0, 12.0)], Pen::solid(MESH_LINE, MESH));
    let pen = Pen {
        weight: DRAWING_LINE,
        dash: &DRAWING_DASH,
        colour: INK,
    };
    canvas.line(&[(5.0, 28.0), (115.0, 28.0)], pen);
    compare("outlines", &canvas);
}

#[test]
fn golden_figure() {
    let mut scene = scene();
    scene.report.views[0].findings.clear();
    let (mut canvas, stage) = small(&scene);
    let subject = whole(&scene);
    let figure = Figure::new(&subject, &stage);
    let reduced = Shrunk::new(
        &scene.picture,
        Shrunk::side(&subject, stage.scale * canvas.unit()),
    );
    figure.areas(&mut canvas, &subject, &stage, Some(&reduced));
    figure.outlines(&mut canvas);
    compare("figure", &canvas);
}

/// Twice as many pixels a point: the same picture, finer.
#[test]
fn golden_figure_twice_as_fine() {
    let scene = scene();
    let (_, stage) = small(&scene);
    let mut canvas = Canvas::new(320.0, 240.0, 2.0).expect("a canvas");
    let subject = whole(&scene);
    let figure = Figure::new(&subject, &stage);
    let reduced = Shrunk::new(
        &scene.picture,
        Shrunk::side(&subject, stage.scale * canvas.unit()),
    );
    figure.areas(&mut canvas, &subject, &stage, Some(&reduced));
    figure.outlines(&mut canvas);
    marks::draw(&mut canvas, &subject, &stage);
    compare("figure-fine", &canvas);
}

#[test]
fn golden_numbers_of_findings() {
    let mut scene = scene();
    scene.report.views[0].findings[1].excused = true;
    let (mut canvas, stage) = small(&scene);
    marks::draw(&mut canvas, &whole(&scene), &stage);
    compare("numbers", &canvas);
}

/// A guide line at a height of its own is named, one at a landmark is not named twice.
#[test]
fn golden_heights_and_guide_lines() {
    let mut scene = scene();
    // Heights 135 and 110.2 by the sample's placement: 900 px is y 0, 0.2 units a pixel.
    scene.reading.guide_lines_px = vec![225.0, 349.0];
    let (mut canvas, stage) = small(&scene);
    heights::draw(&mut canvas, &whole(&scene), &stage, [315.0, 315.0]);
    let names: Vec<&str> = canvas.written.iter().map(String::as_str).collect();
    assert_eq!(
        names,
        [
            "crown 160.0",
            "guide 135.0",
            "armpit 110.0",
            "crotch 60.0",
            "ground 0.0"
        ]
    );
    compare("heights", &canvas);
}

/// Differences, rows that only the drawing has (dots), rows whose difference says nothing (rungs, no bar), and a value
/// beyond the scale (a wedge).
#[test]
fn golden_chart() {
    let mut scene = scene();
    let rows = &mut scene.report.views[0].rows;
    let without = rows.iter_mut().zip(&mut scene.shown.edges).skip(200).take(40);
    for (row, edges) in without {
        *edges = [EdgeReading::OtherPart, EdgeReading::Level];
        row.left_diff = Some(-60.0);
    }
    rows[380].right_diff = Some(100.0);
    let subject = Subject { ..whole(&scene) };
    let outlines = super::frame(&scene);
    let frame = Frame {
        width: 330.0,
        height: 240.0,
        stage: Stage {
            pane: Pane {
                left: 0.0,
                top: 45.0,
                width: 10.0,
                height: 165.0,
            },
            zero: (0.0, 205.0),
            scale: 0.95,
        },
        charts: [20.0, 168.0],
        ..outlines
    };
    let mut canvas = Canvas::new(frame.width, frame.height, 1.0).expect("a canvas");
    chart::draw(&mut canvas, &subject, &frame);
    compare("chart", &canvas);
}

#[test]
fn golden_scale_bar_and_legend() {
    let scene = scene();
    let (_, stage) = small(&scene);
    let mut canvas = Canvas::new(560.0, 300.0, 1.0).expect("a canvas");
    let subject = whole(&scene);
    legend::bar(&mut canvas, &subject, &stage);
    legend::draw(&mut canvas, &subject, &stage, (560.0, 300.0), true);
    compare("legend", &canvas);
}

/// Letters of three scripts, and an empty box for what the font lacks.
#[test]
fn golden_text() {
    let mut canvas = Canvas::new(260.0, 80.0, 1.0).expect("a canvas");
    canvas.text("née Ωμέγα Ёж", TITLE, Weight::Strong, (8.0, 34.0), INK);
    canvas.text("名前.obj ± − … 12.5 %", SMALL, Weight::Book, (8.0, 62.0), INK);
    compare("text", &canvas);
}
