//! Checks of whole overlays, made from a report whose every number can be worked by hand.

mod golden;
mod numbers;
mod seen;

use super::*;
use crate::report::look::{OVER, POINTS_PER_METRE, UNDER};
use crate::report::sample::{Scene, scene};

/// A decoded picture.
struct Pixels {
    width: usize,
    height: usize,
    rgb: Vec<[u8; 3]>,
}

fn bytes(scene: &Scene) -> Vec<u8> {
    overlay(&whole(scene), PICTURE_HEIGHT).expect("drawn")
}

fn pixels(png: &[u8]) -> Pixels {
    let picture = image::load_from_memory(png).expect("a PNG").to_rgb8();
    Pixels {
        width: picture.width() as usize,
        height: picture.height() as usize,
        rgb: picture.pixels().map(|p| p.0).collect(),
    }
}

fn frame(scene: &Scene) -> Frame {
    Frame::new(extent(&scene.shown.drawing, &scene.shown.mesh).expect("an extent")).expect("a frame")
}

/// Mean over a square about a place of the view of how alike pixels one step apart are along a diagonal:
/// the smaller, the more the hatching runs along it. `lean` 1: up to the right.
fn change_along(p: &Pixels, at: (f64, f64), lean: i64) -> f64 {
    let (cx, cy) = (at.0 as i64, at.1 as i64);
    let get = |x: i64, y: i64| p.rgb[y as usize * p.width + x as usize].map(f64::from);
    let mut sum = 0.0;
    for y in cy - 8..=cy + 8 {
        for x in cx - 8..=cx + 8 {
            let (a, b) = (get(x, y), get(x + 1, y - lean));
            sum += (0..3).map(|k| (a[k] - b[k]).abs()).sum::<f64>();
        }
    }
    sum
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    let scene = scene();
    let one = rayon::ThreadPoolBuilder::new()
        .num_threads(1)
        .build()
        .expect("a pool");
    assert_eq!(bytes(&scene), one.install(|| bytes(&scene)));
}

/// The mesh is 9 beyond at y 87 on the right and 7 short at y 34 on the left; the middles of these areas are hatched in
/// opposite directions, each in its own colour.
#[test]
fn over_and_under_lean_in_opposite_directions() {
    let scene = scene();
    let (p, f) = (pixels(&bytes(&scene)), frame(&scene));
    let row = |y: f64| {
        scene.report.views[0]
            .rows
            .iter()
            .find(|r| r.y <= y)
            .expect("a row")
    };
    // Away from the leader lines, which end in the worst rows.
    let (over, under) = (row(93.0), row(29.0));
    let over = f
        .stage
        .at(f64::midpoint(over.drawing[0][1], over.mesh[0][1]), over.y);
    let under = f
        .stage
        .at(f64::midpoint(under.drawing[0][0], under.mesh[0][0]), under.y);
    for (at, lean, colour) in [(over, 1, OVER), (under, -1, UNDER)] {
        // Along the hatching nothing changes, across it everything: a factor of three is a tenth of what is seen.
        assert!(
            3.0 * change_along(&p, at, lean) < change_along(&p, at, -lean),
            "{colour:?}"
        );
        let near = (0..400).filter(|i| {
            let (x, y) = (at.0 as usize + i % 20 - 10, at.1 as usize + i / 20 - 10);
            let c = p.rgb[y * p.width + x];
            // A fine line covers no pixel quite: what is nearer to its colour than to paper is the line.
            let off = |to: [u8; 3]| (0..3).map(|k| u32::from(c[k].abs_diff(to[k]))).sum::<u32>();
            off(colour) < off([255; 3])
        });
        assert!(near.count() > 20, "{colour:?} is seen");
    }
}

/// The drawn line lies where the placement puts it: at its height and half width, half a line to each side.
#[test]
fn the_drawing_lies_in_its_place() {
    let mut scene = scene();
    scene.report.views[0].findings.clear();
    scene.shown.landmarks.clear();
    let f = frame(&scene);
    let pane = f.stage.pane;
    let (width, height) = (pane.width as usize, pane.height as usize);
    let figure = vec![0; width * height];
    let reduced = shrunk::Shrunk::new(
        &scene.picture,
        shrunk::Shrunk::side(&whole(&scene), f.stage.scale),
    );
    let drawing = drawing::Drawing::new(&whole(&scene), &f.stage, &figure, &reduced).expect("a place");
    let row = scene.report.views[0]
        .rows
        .iter()
        .find(|r| r.y <= 80.0)
        .expect("a row");
    let y = f.stage.row(row.y) as usize - pane.top as usize;
    let mut reader = drawing.reader();
    reader.go_to(y);
    let mut line: Vec<light::Light> = vec![[0.0; 4]; width];
    assert!(reader.lights(0, &mut line), "a line");
    let brightest = line.iter().map(|l| l[0]).fold(0.0, f32::max);
    let (mut sum, mut weight) = (0.0, 0.0);
    for (i, l) in line.iter().enumerate().skip(width / 2) {
        let dark = f64::from(brightest - l[0]);
        sum += dark * (i as f64 + 0.5);
        weight += dark;
    }
    let (expected, _) = f.stage.at(row.drawing[0][1], row.y);
    // The line's middle, worked from pixels of the picture that are inked or not: each edge is off by at most half a
    // pixel of 0.2 units.
    let off = (sum / weight + pane.left - expected).abs();
    assert!(off <= 0.1 * f.stage.scale + 0.1, "{off} pixels");
}

/// A picture asked for twice as high has twice the pixels and prints at the same size.
#[test]
fn a_higher_picture_is_finer_not_larger() {
    let scene = scene();
    let sizes = [1, 2].map(|times| {
        let png = overlay(&whole(&scene), times * PICTURE_HEIGHT).expect("drawn");
        let reader = ::png::Decoder::new(std::io::Cursor::new(&png))
            .read_info()
            .expect("a PNG");
        let info = reader.info();
        let dims = info.pixel_dims.expect("a resolution");
        (info.width, info.height, dims.xppu)
    });
    let [(w, h, d), fine] = sizes;
    assert_eq!(fine, (2 * w, 2 * h, 2 * d));
}

/// PNG (third edition), 11.3: pHYs in pixels a metre, sRGB with its intent.
#[test]
fn resolution_and_colour_space_are_said() {
    let scene = scene();
    let png = bytes(&scene);
    let reader = ::png::Decoder::new(std::io::Cursor::new(&png))
        .read_info()
        .expect("a PNG");
    let dims = reader.info().pixel_dims.expect("a resolution");
    assert_eq!(
        (dims.xppu, dims.yppu),
        (POINTS_PER_METRE as u32, POINTS_PER_METRE as u32)
    );
    assert!(reader.info().srgb.is_some());
}

/// Common practice, no source: the picture fits a screen of 1920 by 1080 at 100 %, also when the figure is wide.
#[test]
fn the_picture_fits_a_screen() {
    let mut scene = scene();
    for stretch in [1.0, 8.0] {
        for p in scene.shown.drawing.rings.iter_mut().flatten() {
            p.x *= stretch;
        }
        let p = pixels(&bytes(&scene));
        assert!(p.width <= 1920 && p.height <= 1080, "{} by {}", p.width, p.height);
        for count in [1, 2, 5] {
            let subjects: Vec<Subject<'_>> = (0..count).map(|_| whole(&scene)).collect();
            let p = pixels(&overlay_all(&subjects, PICTURE_HEIGHT).expect("drawn"));
            assert!(p.width <= 1920 && p.height <= 1080, "{} by {}", p.width, p.height);
        }
    }
}

#[test]
fn odd_input_is_drawn_or_refused() {
    let mut odd = scene();
    odd.report.inputs.mesh.path = "名前\u{202e}\n".repeat(200);
    odd.report.unit = "尺".to_string();
    odd.report.views[0].rows.clear();
    odd.shown.landmarks.clear();
    let _ = pixels(&bytes(&odd));

    let mut many = scene();
    let finding = many.report.views[0].findings[0].clone();
    many.report.views[0].findings = (1..=120)
        .map(|number| {
            let mut f = finding.clone();
            f.number = number;
            f
        })
        .collect();
    let _ = pixels(&bytes(&many));

    let mut flat = scene();
    flat.shown.mesh.rings.clear();
    for p in flat.shown.drawing.rings.iter_mut().flatten() {
        *p = crate::space::Point::new(1.0, 1.0);
    }
    assert!(overlay(&whole(&flat), PICTURE_HEIGHT).is_err());
    flat.shown.drawing.rings.clear();
    assert!(overlay(&whole(&flat), PICTURE_HEIGHT).is_err());
    let none = scene();
    assert!(
        overlay(
            &Subject {
                view: 9,
                ..whole(&none)
            },
            PICTURE_HEIGHT
        )
        .is_err()
    );
}

fn whole(s: &Scene) -> Subject<'_> {
    Subject {
        report: &s.report,
        view: 0,
        shown: &s.shown,
        picture: &s.picture,
        reading: &s.reading,
    }
}
