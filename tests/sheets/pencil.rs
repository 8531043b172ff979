//! Sheets in pencil, scanned and damaged.

use super::cast;
use super::encode::Kind;
use super::furniture::Guide;
use super::page::{Page, Set, Sheet, Style};
use super::pen::Pen;

/// Doubled pencil on shaded paper with a cup's ring, turned; compressed.
pub(crate) fn soldier_pencil() -> Sheet {
    let mut page = Page::new(1600, 1500, [244, 240, 230], 1.7, 31);
    page.canvas.uneven_light(0.16);
    page.canvas.cup_ring([1180.0, 1210.0], 170.0, 0.16);
    let style = Style::line(Pen::pencil(3.6));
    page.view(&cast::soldier(), Set("front", 0.0, 1180.0, 520.0, 1340.0), &style);
    page.view(
        &cast::soldier(),
        Set("side", 90.0, 1180.0, 1120.0, 1340.0),
        &style,
    );
    for y in [160.0, 430.0, 760.0, 1340.0] {
        page.guide(y, Guide::Solid, &Pen::pencil(2.0).colour([150, 150, 152]));
    }
    page.damaged();
    page.canvas.blur(0.8);
    let mut rng = page.rng.clone();
    page.canvas.grain(4.0, &mut rng);
    page.finish(Kind::Jpeg(82))
}

/// Broken ink: gaps as wide as 2.5 % of the height, on white.
pub(crate) fn stocky_gaps() -> Sheet {
    let mut page = Page::new(2000, 1300, [255, 255, 255], 0.0, 32);
    let style = Style::line(Pen::ink(4.0).broken(7, 0.025));
    page.view(&cast::stocky(), Set("side", -90.0, 1050.0, 450.0, 1160.0), &style);
    page.view(&cast::stocky(), Set("front", 0.0, 1050.0, 1250.0, 1160.0), &style);
    page.damaged();
    page.finish(Kind::Grey)
}

/// The same damage a little milder: gaps of up to 1 %, brush strokes that taper.
pub(crate) fn wanderer_gaps() -> Sheet {
    let mut page = Page::new(2100, 1350, [250, 248, 240], -0.8, 33);
    let style = Style::line(Pen::ink(3.6).brush(0.3, 0.25).broken(8, 0.01));
    page.view(
        &cast::wanderer(),
        Set("front", 0.0, 1100.0, 520.0, 1230.0),
        &style,
    );
    page.view(
        &cast::wanderer(),
        Set("side", 90.0, 1100.0, 1100.0, 1230.0),
        &style,
    );
    page.view(
        &cast::wanderer(),
        Set("back", 180.0, 1100.0, 1640.0, 1230.0),
        &style,
    );
    page.guide(1230.0, Guide::Solid, &Pen::ink(1.6).colour([160, 160, 166]));
    page.guide(130.0, Guide::Solid, &Pen::ink(1.6).colour([160, 160, 166]));
    page.damaged();
    page.finish(Kind::Rgb)
}

/// Pencil with a hatched side, binder holes, a fold, the scanner's dark lid around the paper.
pub(crate) fn messenger_binder() -> Sheet {
    let mut page = Page::new(1900, 1450, [238, 234, 222], 0.0, 34);
    let style = Style {
        hatch: true,
        ..Style::line(Pen::pencil(4.0))
    };
    page.view(
        &cast::messenger(),
        Set("front", 0.0, 1050.0, 640.0, 1240.0),
        &style,
    );
    page.view(
        &cast::messenger(),
        Set("side", 90.0, 1050.0, 1330.0, 1240.0),
        &style,
    );
    page.canvas.fold(1000.0, true, 0.12);
    page.canvas.punch_holes(90.0, 17.0, [30, 30, 32]);
    page.canvas.scanner_border([26.0, 20.0, 34.0, 30.0], 34.0);
    page.damaged();
    page.canvas.blur(0.9);
    let mut rng = page.rng.clone();
    page.canvas.grain(5.0, &mut rng);
    page.finish(Kind::GreyJpeg(75))
}

/// A small picture of a round figure, four hundred pixels tall, four views.
pub(crate) fn dumpling_small() -> Sheet {
    let mut page = Page::new(1900, 520, [255, 255, 255], 0.0, 35);
    let style = Style {
        fill: crate::sheets::page::Fill::Parts,
        ..Style::line(Pen::ink(2.0))
    };
    let views = [
        ("front", 0.0, 260.0),
        ("three-quarter", -40.0, 720.0),
        ("side", -90.0, 1160.0),
        ("back", 180.0, 1600.0),
    ];
    for (name, azimuth, x) in views {
        page.view(&cast::dumpling(), Set(name, azimuth, 400.0, x, 465.0), &style);
    }
    page.finish(Kind::Rgb)
}

/// A faxed robot: sixteen tones, dust, turned.
pub(crate) fn robot_fax() -> Sheet {
    let mut page = Page::new(1500, 1200, [255, 255, 255], -2.4, 36);
    let style = Style::line(Pen::ink(3.4));
    page.view(&cast::robot(), Set("front", 0.0, 900.0, 480.0, 1060.0), &style);
    page.view(&cast::robot(), Set("side", 90.0, 900.0, 1080.0, 1060.0), &style);
    page.guide(1060.0, Guide::Solid, &Pen::ink(2.0).colour([120, 120, 120]));
    page.guide(160.0, Guide::Dashed, &Pen::ink(2.0).colour([120, 120, 120]));
    page.damaged();
    let mut rng = page.rng.clone();
    page.canvas.dust(220, &mut rng);
    page.canvas.blur(0.7);
    page.finish(Kind::Palette)
}

/// Soft scan: strong blur and compression, strange order of the views, separate scales.
pub(crate) fn skirted_soft() -> Sheet {
    let mut page = Page::new(2200, 1400, [246, 240, 228], 2.6, 37);
    page.canvas.uneven_light(0.12);
    let style = Style::line(Pen::pencil(4.6).colour([56, 54, 60]));
    page.view(
        &cast::skirted(),
        Set("back", 180.0, 1120.0, 440.0, 1250.0),
        &style,
    );
    page.view(
        &cast::skirted(),
        Set("front", 0.0, 1080.0, 1210.0, 1250.0),
        &style,
    );
    page.view(
        &cast::skirted(),
        Set("side", -90.0, 1135.0, 1850.0, 1250.0),
        &style,
    );
    for y in [130.0, 1250.0] {
        page.guide(y, Guide::Solid, &Pen::pencil(2.2).colour([140, 140, 146]));
    }
    page.damaged();
    page.canvas.blur(1.8);
    let mut rng = page.rng.clone();
    page.canvas.grain(3.0, &mut rng);
    page.finish(Kind::Jpeg(60))
}

/// Spread fingers in pencil with gaps of up to 1 %.
pub(crate) fn fingers_pencil() -> Sheet {
    let mut page = Page::new(2900, 1700, [248, 246, 240], -1.1, 38);
    page.canvas.uneven_light(0.08);
    let style = Style {
        cross: 2,
        ..Style::line(Pen::pencil(4.4).broken(6, 0.01))
    };
    page.view(
        &cast::fingers(),
        Set("front", 0.0, 1350.0, 1000.0, 1520.0),
        &style,
    );
    page.view(
        &cast::fingers(),
        Set("side", 90.0, 1350.0, 2350.0, 1520.0),
        &style,
    );
    for y in [170.0, 1520.0] {
        page.guide(y, Guide::Solid, &Pen::pencil(2.0).colour([150, 150, 156]));
    }
    page.damaged();
    page.canvas.blur(0.7);
    page.finish(Kind::Jpeg(88))
}
