//! Sheets in ink and colour.

use super::cast;
use super::encode::Kind;
use super::furniture::Guide;
use super::page::{Fill, Page, Set, Sheet, Style};
use super::pen::Pen;

const GREY: [u8; 3] = [150, 152, 158];

/// Two views in clean ink on white, a stocky figure; labels below.
pub(crate) fn stocky_ink() -> Sheet {
    let mut page = Page::new(1900, 1300, [255, 255, 255], 0.0, 11);
    let style = Style::line(Pen::ink(4.0));
    page.view(&cast::stocky(), Set("front", 0.0, 1050.0, 620.0, 1160.0), &style);
    page.view(&cast::stocky(), Set("side", 90.0, 1050.0, 1450.0, 1160.0), &style);
    page.label([560.0, 1240.0], 26.0, 5, [40, 40, 40]);
    page.label([1400.0, 1240.0], 26.0, 4, [40, 40, 40]);
    page.finish(Kind::Rgb)
}

/// Side first, facing left; a child with a bun; brush line, sixteen bits of grey.
pub(crate) fn child_brush() -> Sheet {
    let mut page = Page::new(1500, 1250, [250, 250, 248], 0.0, 12);
    let style = Style {
        cross: 2,
        ..Style::line(Pen::ink(5.5).brush(0.35, 0.4))
    };
    page.view(&cast::child(), Set("side", -90.0, 1000.0, 430.0, 1140.0), &style);
    page.view(&cast::child(), Set("front", 0.0, 1000.0, 1040.0, 1140.0), &style);
    for y in [140.0, 590.0, 1140.0] {
        page.guide(y, Guide::Solid, &Pen::ink(1.6).colour(GREY));
    }
    page.finish(Kind::Grey16)
}

/// Tall and thin with a narrow gap between arm and body; coloured dashed guides, dotted centre lines.
pub(crate) fn hatted_guides() -> Sheet {
    let mut page = Page::new(1700, 1500, [255, 255, 255], 0.0, 13);
    let blue = Pen::ink(2.0).colour([120, 170, 225]);
    for y in [160.0, 330.0, 560.0, 880.0, 1360.0] {
        page.guide(y, Guide::Dashed, &blue);
    }
    let style = Style::line(Pen::ink(3.2));
    for (name, azimuth, x) in [
        ("front", 0.0, 350.0),
        ("side", 90.0, 850.0),
        ("back", 180.0, 1350.0),
    ] {
        page.view(&cast::hatted(), Set(name, azimuth, 1200.0, x, 1360.0), &style);
        page.centre_line(x, 110.0, 1420.0, &Pen::ink(1.3).colour([225, 130, 120]));
    }
    page.finish(Kind::Rgb)
}

/// Flat colour without lines on tinted paper; a skirt, forearms turned out.
pub(crate) fn skirted_flat() -> Sheet {
    let mut page = Page::new(1900, 1200, [226, 218, 200], 0.0, 14);
    let style = Style {
        pen: None,
        inner: None,
        fill: Fill::Parts,
        ..Style::line(Pen::ink(3.0))
    };
    for (name, azimuth, x) in [
        ("back", 180.0, 380.0),
        ("side", -90.0, 960.0),
        ("front", 0.0, 1480.0),
    ] {
        page.view(&cast::skirted(), Set(name, azimuth, 980.0, x, 1080.0), &style);
    }
    page.finish(Kind::Rgb)
}

/// Colour with ink on transparent paper; ears and a tail that curls away from the back.
pub(crate) fn tailed_transparent() -> Sheet {
    let mut page = Page::new(1750, 1150, [0, 0, 0], 0.0, 15);
    page.canvas.alpha = Some(vec![0.0; 1750 * 1150]);
    let style = Style {
        fill: Fill::Parts,
        tone: true,
        ..Style::line(Pen::ink(4.0).brush(0.3, 0.5))
    };
    page.view(&cast::tailed(), Set("front", 0.0, 920.0, 450.0, 1040.0), &style);
    page.view(&cast::tailed(), Set("side", 90.0, 920.0, 1250.0, 1040.0), &style);
    page.finish(Kind::Rgba)
}

/// A messenger with a bag at one hip, front, three-quarter, side and back; frame, title block, arrows, swatches.
pub(crate) fn messenger_busy() -> Sheet {
    let mut page = Page::new(3000, 1350, [248, 246, 240], 0.0, 16);
    let thin = Pen::ink(2.0).colour([90, 90, 96]);
    let style = Style {
        hatch: true,
        ..Style::line(Pen::ink(3.6))
    };
    let body = cast::messenger();
    let views = [
        ("front", 0.0, 420.0),
        ("three-quarter", 40.0, 1010.0),
        ("side", 90.0, 1560.0),
        ("back", 180.0, 2120.0),
    ];
    for (name, azimuth, x) in views {
        page.view(&body, Set(name, azimuth, 1000.0, x, 1180.0), &style);
        page.shadow(0.5);
    }
    page.frame([40.0, 40.0, 2960.0, 1310.0], &Pen::ink(3.0));
    page.title_block([2420.0, 1180.0, 2960.0, 1310.0], &thin);
    page.swatches(
        [2640.0, 720.0],
        60.0,
        &[[238, 200, 170], [120, 150, 96], [92, 84, 120], [150, 104, 62]],
        &thin,
    );
    page.inset(&body, [2480.0, 130.0, 2860.0, 560.0], 0.8, &style);
    page.arrow([700.0, 300.0], [497.0, 245.0], 26.0, &thin);
    page.arrow([150.0, 800.0], [262.0, 770.0], 26.0, &thin);
    for y in [180.0, 1180.0] {
        page.guide_between(
            y,
            60.0,
            2380.0,
            Guide::Solid,
            &Pen::ink(1.5).colour([190, 196, 205]),
        );
        page.truth.guides.push(y);
    }
    page.finish(Kind::Rgb)
}

/// Spread fingers in clean ink, tall sheet.
pub(crate) fn fingers_ink() -> Sheet {
    let mut page = Page::new(2450, 1700, [255, 255, 255], 0.0, 17);
    let style = Style {
        cross: 3,
        ..Style::line(Pen::ink(4.2))
    };
    page.view(&cast::fingers(), Set("front", 0.0, 1400.0, 880.0, 1560.0), &style);
    page.view(
        &cast::fingers(),
        Set("side", 90.0, 1400.0, 2050.0, 1560.0),
        &style,
    );
    page.finish(Kind::Grey)
}

/// Hands on the hips in ink: true ground in the elbows.
pub(crate) fn akimbo_ink() -> Sheet {
    let mut page = Page::new(1500, 1250, [252, 250, 244], 0.0, 18);
    let style = Style::line(Pen::ink(3.4).colour([40, 32, 60]));
    page.view(&cast::akimbo(), Set("front", 0.0, 1020.0, 480.0, 1150.0), &style);
    page.view(&cast::akimbo(), Set("side", 90.0, 1020.0, 1150.0, 1150.0), &style);
    page.guide(130.0, Guide::Short, &Pen::ink(1.6).colour(GREY));
    page.guide(1150.0, Guide::Short, &Pen::ink(1.6).colour(GREY));
    page.finish(Kind::Tiff)
}

/// Hands on the hips in flat colour with a line.
pub(crate) fn akimbo_colour() -> Sheet {
    let mut page = Page::new(1900, 1150, [236, 240, 244], 0.0, 19);
    let style = Style {
        fill: Fill::Parts,
        ..Style::line(Pen::ink(3.0))
    };
    for (name, azimuth, x) in [
        ("front", 0.0, 400.0),
        ("side", -90.0, 960.0),
        ("back", 180.0, 1500.0),
    ] {
        page.view(&cast::akimbo(), Set(name, azimuth, 940.0, x, 1060.0), &style);
    }
    page.finish(Kind::Webp)
}

/// A robot of boxes: level edges that look like guide lines.
pub(crate) fn robot_ink() -> Sheet {
    let mut page = Page::new(1750, 1150, [255, 255, 255], 0.0, 20);
    let style = Style {
        fill: Fill::Plain([226, 230, 236]),
        ..Style::line(Pen::ink(3.6))
    };
    for (name, azimuth, x) in [
        ("front", 0.0, 400.0),
        ("side", 90.0, 920.0),
        ("back", 180.0, 1380.0),
    ] {
        page.view(&cast::robot(), Set(name, azimuth, 900.0, x, 1030.0), &style);
    }
    page.guide(1030.0, Guide::Solid, &Pen::ink(1.8).colour(GREY));
    page.guide(130.0, Guide::Solid, &Pen::ink(1.8).colour(GREY));
    page.finish(Kind::Rgb)
}

/// Light lines on dark paper.
pub(crate) fn wanderer_dark() -> Sheet {
    let mut page = Page::new(1700, 1350, [22, 40, 66], 0.0, 21);
    let white = Pen::ink(3.2).colour([236, 240, 246]);
    let style = Style::line(white);
    page.view(
        &cast::wanderer(),
        Set("front", 0.0, 1100.0, 560.0, 1230.0),
        &style,
    );
    page.view(
        &cast::wanderer(),
        Set("side", -90.0, 1100.0, 1250.0, 1230.0),
        &style,
    );
    for y in [130.0, 690.0, 1230.0] {
        page.guide(y, Guide::Solid, &Pen::ink(1.4).colour([92, 118, 150]));
    }
    page.label([480.0, 1310.0], 24.0, 5, white.colour);
    page.finish(Kind::Rgb16)
}
