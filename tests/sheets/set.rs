//! Sheets that are hard by how they are laid out: rows, many views, frames, axes, sizes.

use super::cast;
use super::encode::Kind;
use super::furniture::Guide;
use super::page::{Fill, Page, Set, Sheet, Style};
use super::pen::Pen;

/// Two rows: the side view stands lower, under an outstretched hand; their columns overlap.
pub(crate) fn fingers_two_rows() -> Sheet {
    let mut page = Page::new(1700, 1750, [252, 252, 250], 0.0, 51);
    let style = Style::line(Pen::ink(3.4).brush(0.25, 0.6));
    page.view(&cast::fingers(), Set("front", 0.0, 1050.0, 650.0, 1150.0), &style);
    page.view(
        &cast::fingers(),
        Set("side", -90.0, 1050.0, 1160.0, 1660.0),
        &style,
    );
    page.label([1290.0, 1690.0], 28.0, 6, [60, 60, 66]);
    page.finish(Kind::Rgb)
}

/// Five views all round, in colour with a line, guides behind them.
pub(crate) fn tailed_five_views() -> Sheet {
    let mut page = Page::new(3700, 1050, [255, 253, 248], 0.0, 52);
    for y in [110.0, 930.0] {
        page.guide(y, Guide::Dashed, &Pen::ink(1.8).colour([170, 180, 190]));
    }
    let style = Style {
        fill: Fill::Parts,
        ..Style::line(Pen::ink(3.2))
    };
    let views = [
        ("front", 0.0, 380.0),
        ("three-quarter", 45.0, 1060.0),
        ("side", 90.0, 1900.0),
        ("three-quarter-2", 135.0, 2620.0),
        ("back", 180.0, 3280.0),
    ];
    for (name, azimuth, x) in views {
        page.view(&cast::tailed(), Set(name, azimuth, 820.0, x, 930.0), &style);
    }
    page.finish(Kind::Rgb)
}

/// A large scan: doubled pencil, two thousand pixels tall, a fold, a cup's ring at the figure.
pub(crate) fn stocky_large_scan() -> Sheet {
    let mut page = Page::new(3200, 2300, [240, 236, 226], 0.9, 53);
    page.canvas.uneven_light(0.1);
    page.canvas.cup_ring([1500.0, 700.0], 260.0, 0.14);
    page.canvas.fold(1150.0, false, 0.1);
    let style = Style::line(Pen::pencil(6.0));
    page.view(&cast::stocky(), Set("side", -90.0, 1950.0, 520.0, 2120.0), &style);
    page.view(&cast::stocky(), Set("front", 0.0, 1950.0, 2140.0, 2120.0), &style);
    for y in [170.0, 640.0, 2120.0] {
        page.guide(y, Guide::Solid, &Pen::pencil(2.6).colour([150, 150, 152]));
    }
    page.damaged();
    let mut rng = page.rng.clone();
    page.canvas.dust(150, &mut rng);
    page.canvas.grain(4.0, &mut rng);
    page.finish(Kind::GreyJpeg(85))
}

/// Flat colour without lines; the tinted paper shows between arms and body.
pub(crate) fn akimbo_flat() -> Sheet {
    let mut page = Page::new(1500, 1150, [214, 226, 232], 0.0, 54);
    let style = Style {
        pen: None,
        inner: None,
        fill: Fill::Parts,
        ..Style::line(Pen::ink(3.0))
    };
    page.view(&cast::akimbo(), Set("front", 0.0, 940.0, 460.0, 1050.0), &style);
    page.view(&cast::akimbo(), Set("side", 90.0, 940.0, 1100.0, 1050.0), &style);
    page.finish(Kind::Rgb)
}

/// Arms along the body in clean ink: a narrow hole on each side, legs pressed together.
pub(crate) fn soldier_ink() -> Sheet {
    let mut page = Page::new(1500, 1400, [255, 255, 255], 0.0, 55);
    let style = Style::line(Pen::ink(3.0));
    page.view(&cast::soldier(), Set("front", 0.0, 1180.0, 430.0, 1290.0), &style);
    page.view(
        &cast::soldier(),
        Set("side", 90.0, 1180.0, 1030.0, 1290.0),
        &style,
    );
    page.finish(Kind::Grey)
}

/// Red crayon on grey paper, tapering strokes, gently compressed.
pub(crate) fn child_crayon() -> Sheet {
    let mut page = Page::new(1600, 1250, [206, 206, 200], 0.0, 56);
    page.canvas.uneven_light(0.06);
    let pen = Pen::pencil(5.0).colour([150, 52, 44]);
    page.view(
        &cast::child(),
        Set("front", 0.0, 980.0, 520.0, 1120.0),
        &Style::line(pen),
    );
    page.view(
        &cast::child(),
        Set("side", 90.0, 980.0, 1130.0, 1120.0),
        &Style::line(pen),
    );
    page.damaged();
    let mut rng = page.rng.clone();
    page.canvas.grain(5.0, &mut rng);
    page.finish(Kind::Jpeg(85))
}

/// A frame, a title block, leaders whose heads touch the outline, guides that stop short of the figures.
pub(crate) fn messenger_framed() -> Sheet {
    let mut page = Page::new(1900, 1400, [255, 255, 255], 0.0, 57);
    let thin = Pen::ink(2.0).colour([60, 60, 66]);
    let style = Style {
        tone: true,
        ..Style::line(Pen::ink(3.4))
    };
    page.view(
        &cast::messenger(),
        Set("front", 0.0, 1000.0, 560.0, 1160.0),
        &style,
    );
    page.view(
        &cast::messenger(),
        Set("side", -90.0, 1000.0, 1360.0, 1160.0),
        &style,
    );
    for y in [160.0, 430.0, 700.0, 1160.0] {
        page.guide(y, Guide::Short, &Pen::ink(1.6).colour([170, 176, 186]));
    }
    page.frame([30.0, 30.0, 1870.0, 1370.0], &Pen::ink(3.0));
    page.title_block([1300.0, 1250.0, 1870.0, 1370.0], &thin);
    page.arrow([820.0, 280.0], [636.0, 235.0], 24.0, &thin);
    page.arrow([240.0, 560.0], [352.0, 612.0], 24.0, &thin);
    page.arrow([1640.0, 520.0], [1432.0, 500.0], 24.0, &thin);
    page.finish(Kind::Rgb)
}

/// A small grey scan of the narrow figure, a little soft.
pub(crate) fn hatted_small() -> Sheet {
    let mut page = Page::new(760, 560, [250, 250, 250], 0.0, 58);
    let style = Style::line(Pen::ink(1.8));
    page.view(&cast::hatted(), Set("front", 0.0, 440.0, 160.0, 510.0), &style);
    page.view(&cast::hatted(), Set("side", 90.0, 440.0, 380.0, 510.0), &style);
    page.view(&cast::hatted(), Set("back", 180.0, 440.0, 600.0, 510.0), &style);
    page.damaged();
    page.canvas.blur(0.6);
    page.finish(Kind::Grey)
}

/// Flat pale figures without lines on dark paper, a few pale specks around.
pub(crate) fn dumpling_night() -> Sheet {
    let mut page = Page::new(2300, 900, [30, 28, 44], 0.0, 59);
    let style = Style {
        pen: None,
        inner: None,
        fill: Fill::Plain([232, 222, 206]),
        ..Style::line(Pen::ink(3.0).colour([60, 50, 70]))
    };
    page.view(&cast::dumpling(), Set("front", 0.0, 700.0, 420.0, 800.0), &style);
    page.view(&cast::dumpling(), Set("side", 90.0, 700.0, 1130.0, 800.0), &style);
    page.view(
        &cast::dumpling(),
        Set("back", 180.0, 700.0, 1800.0, 800.0),
        &style,
    );
    page.finish(Kind::Rgb)
}

/// Faint pencil on white, grain of the scanner.
pub(crate) fn tailed_faint() -> Sheet {
    let mut page = Page::new(1800, 1200, [253, 253, 252], 0.35, 60);
    let pen = Pen {
        tone: (0.26, 0.42),
        passes: 1,
        ..Pen::pencil(4.2)
    };
    page.view(
        &cast::tailed(),
        Set("front", 0.0, 960.0, 480.0, 1080.0),
        &Style::line(pen),
    );
    page.view(
        &cast::tailed(),
        Set("side", 90.0, 960.0, 1260.0, 1080.0),
        &Style::line(pen),
    );
    page.guide(120.0, Guide::Solid, &Pen::pencil(1.8).colour([170, 170, 174]));
    page.guide(1080.0, Guide::Solid, &Pen::pencil(1.8).colour([170, 170, 174]));
    page.damaged();
    let mut rng = page.rng.clone();
    page.canvas.grain(3.0, &mut rng);
    page.finish(Kind::Grey)
}

/// Axes through every figure and guides at every joint, all as dark as the figure's own line.
pub(crate) fn wanderer_axes() -> Sheet {
    let mut page = Page::new(1900, 1350, [255, 255, 255], 0.0, 61);
    let style = Style::line(Pen::ink(3.6));
    page.view(
        &cast::wanderer(),
        Set("front", 0.0, 1100.0, 560.0, 1230.0),
        &style,
    );
    page.view(
        &cast::wanderer(),
        Set("side", -90.0, 1100.0, 1350.0, 1230.0),
        &style,
    );
    let thin = Pen::ink(1.6).colour([40, 40, 44]);
    for y in [130.0, 340.0, 620.0, 960.0, 1245.0] {
        page.guide(y, Guide::Solid, &thin);
    }
    page.centre_line(560.0, 70.0, 1300.0, &thin);
    page.centre_line(1350.0, 70.0, 1300.0, &thin);
    page.finish(Kind::Rgb)
}
