//! What eyes that see fewer colours are left with.

use super::super::canvas::Canvas;
use super::super::hatch::Lean;
use super::super::light::decode;
use crate::report::look::{Colour, INK, MESH, OVER, PAPER, QUIET, UNDER};

type Matrix = [[f64; 3]; 3];

/// Machado, Oliveira and Fernandes (2009), "A Physiologically-based Model for Simulation of Color Vision Deficiency",
/// IEEE TVCG 15(6), severity 1.0, for linear sRGB: protanomaly, deuteranomaly, tritanomaly.
const DEFICIENCIES: [Matrix; 3] = [
    [
        [0.152_286, 1.052_583, -0.204_868],
        [0.114_503, 0.786_281, 0.099_216],
        [-0.003_882, -0.048_116, 1.051_998],
    ],
    [
        [0.367_322, 0.860_646, -0.227_968],
        [0.280_085, 0.672_501, 0.047_413],
        [-0.011_820, 0.042_940, 0.968_881],
    ],
    [
        [1.255_528, -0.076_749, -0.178_779],
        [-0.078_411, 0.930_809, 0.147_602],
        [0.004_733, 0.691_367, 0.303_900],
    ],
];
/// Over and under stay this far apart in CIE 1976 L*a*b*: ten times what trained eyes tell apart side by side (about
/// 2.3; Mahy, Van Eycken and Oosterlinck 1994).
const APART: f64 = 23.0;

fn linear(c: Colour) -> [f64; 3] {
    let l = decode(c);
    [0, 1, 2].map(|k| f64::from(l[k]))
}

fn times(m: &Matrix, v: [f64; 3]) -> [f64; 3] {
    m.map(|row| row.iter().zip(v).map(|(a, b)| a * b).sum::<f64>().clamp(0.0, 1.0))
}

/// CIE 1976 L*a*b* of linear sRGB (IEC 61966-2-1 primaries, D65).
fn lab(rgb: [f64; 3]) -> [f64; 3] {
    let xyz: Matrix = [
        [0.412_4, 0.357_6, 0.180_5],
        [0.212_6, 0.715_2, 0.072_2],
        [0.019_3, 0.119_2, 0.950_5],
    ];
    let white = [0.950_5, 1.0, 1.089];
    let f = |t: f64| {
        if t > 216.0 / 24389.0 {
            t.cbrt()
        } else {
            (24389.0 / 27.0 * t + 16.0) / 116.0
        }
    };
    let [x, y, z]: [f64; 3] = std::array::from_fn(|k| {
        let sum: f64 = xyz[k].iter().zip(rgb).map(|(a, b)| a * b).sum();
        f(sum / white[k])
    });
    [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
}

fn distance(a: [f64; 3], b: [f64; 3]) -> f64 {
    a.iter().zip(b).map(|(p, q)| (p - q).powi(2)).sum::<f64>().sqrt()
}

/// L* of white is 100, of middle grey 119 about 50 (from memory: 50.03).
#[test]
fn lightness_of_known_greys() {
    assert!((lab([1.0; 3])[0] - 100.0).abs() < 1e-9);
    assert!((lab(linear([119; 3]))[0] - 50.03).abs() < 0.01);
}

#[test]
fn over_and_under_stay_apart_for_all_eyes() {
    let (over, under) = (linear(OVER), linear(UNDER));
    for m in &DEFICIENCIES {
        let d = distance(lab(times(m, over)), lab(times(m, under)));
        assert!(d >= APART, "{d}");
        // And both from the paper.
        for c in [over, under] {
            assert!(distance(lab(times(m, c)), lab(times(m, linear(PAPER)))) >= APART);
        }
    }
}

/// In grey the two colours are told apart by the way the lines lean: turned to grey, a swatch's pixels repeat along its
/// lines and change across them.
#[test]
fn in_grey_they_differ_by_hatching() {
    for (lean, colour, along) in [(Lean::Up, OVER, -1i64), (Lean::Down, UNDER, 1)] {
        let mut canvas = Canvas::new(60.0, 60.0, 1.0).expect("a canvas");
        let path = tiny_skia::PathBuilder::from_rect(
            tiny_skia::Rect::from_xywh(0.0, 0.0, 60.0, 60.0).expect("a box"),
        );
        let within = super::super::frame::Pane {
            left: 0.0,
            top: 0.0,
            width: 60.0,
            height: 60.0,
        };
        canvas.hatch(&path, within, lean, colour);
        let grey = |x: i64, y: i64| {
            let p = canvas.pixmap().pixel(x as u32, y as u32).expect("a pixel");
            let [r, g, b] = linear([p.red(), p.green(), p.blue()]);
            lab([0.2126 * r + 0.7152 * g + 0.0722 * b; 3])[0]
        };
        let change = |dy: i64| -> f64 {
            let inner = (10..50i64).flat_map(|y| (10..50i64).map(move |x| (x, y)));
            inner.map(|(x, y)| (grey(x, y) - grey(x + 1, y + dy)).abs()).sum()
        };
        assert!(3.0 * change(along) < change(-along), "{lean:?}");
    }
}

/// WCAG 2.2: contrast is (L1 + 0.05) / (L2 + 0.05) of relative luminances; 4.5 for text (1.4.3), 3 for what is needed to
/// understand a picture (1.4.11).
#[test]
fn text_and_marks_have_contrast() {
    let luminance = |c: Colour| {
        let [r, g, b] = linear(c);
        0.2126 * r + 0.7152 * g + 0.0722 * b
    };
    let contrast = |a: Colour, b: Colour| {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    };
    for (text, ground) in [(INK, PAPER), (QUIET, PAPER), (PAPER, INK)] {
        assert!(contrast(text, ground) >= 4.5, "{text:?} on {ground:?}");
    }
    for mark in [OVER, UNDER, MESH, INK] {
        assert!(contrast(mark, PAPER) >= 3.0, "{mark:?}");
    }
}
