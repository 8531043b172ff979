//! Small drawn sheets, one matter each: turned sheets without lines, straight strokes that are no guide lines, views that
//! no face tells apart.

mod sheets;

use drawntrue::sheet::decode::{DEFAULT_MAX_PIXELS, decode};
use drawntrue::sheet::edge::LineEdge;
use drawntrue::sheet::read::{Reading, read};
use drawntrue::sheet::views;
use sheets::body::Body;
use sheets::build::both;
use sheets::cast;
use sheets::encode::Kind;
use sheets::furniture::Guide;
use sheets::page::{Page, Set, Sheet, Style};
use sheets::pen::Pen;
use sheets::solid::{Solid, ball, oval};

const HEIGHT: f64 = 480.0;
/// What a turn read off figures is asked for, degrees.
const TURN: f64 = 0.1;

/// Three views of a body; `grounds`: the rows they stand on.
fn turnaround(body: &Body, skew_deg: f64, grounds: [f64; 3]) -> Page {
    let mut page = Page::new(1400, 620, [255, 255, 255], skew_deg, 71);
    let style = Style {
        inner: None,
        ..Style::line(Pen::ink(2.6))
    };
    let views = [
        ("front", 0.0, 280.0),
        ("side", 90.0, 700.0),
        ("back", 180.0, 1120.0),
    ];
    for ((name, azimuth, x), ground) in views.into_iter().zip(grounds) {
        page.view(body, Set(name, azimuth, HEIGHT, x, ground), &style);
    }
    page
}

fn reading(sheet: &Sheet) -> Reading {
    let picture = decode(&sheet.bytes, DEFAULT_MAX_PIXELS).expect("a picture");
    read(&picture, LineEdge::Centre).expect("figures")
}

/// The body on both legs, leaning to its left as a whole.
fn leaning(mut body: Body, deg: f64) -> Body {
    let (s, c) = f64::to_radians(deg).sin_cos();
    for part in &mut body.parts {
        if let Solid::Loft(balls) = &mut part.solid {
            for b in balls {
                let [x, y, z] = b.at;
                b.at = [x * c + y * s, y * c - x * s, z];
            }
        }
    }
    body
}

#[test]
fn a_turn_without_lines_is_read_off_the_figures() {
    for (body, deg) in [
        (cast::stocky(), 1.5),
        (cast::child(), -2.3),
        (cast::skirted(), -0.6),
    ] {
        let read = reading(&turnaround(&body, deg, [560.0; 3]).finish(Kind::Grey));
        assert_eq!(read.figures.len(), 3);
        assert!(
            (read.skew_deg - deg).abs() < TURN,
            "{:.3} instead of {deg}",
            read.skew_deg
        );
    }
}

#[test]
fn two_views_are_enough() {
    let mut page = Page::new(900, 620, [255, 255, 255], 1.2, 72);
    let style = Style::line(Pen::ink(2.6));
    page.view(&cast::stocky(), Set("front", 0.0, HEIGHT, 280.0, 555.0), &style);
    page.view(&cast::stocky(), Set("side", 90.0, HEIGHT, 680.0, 555.0), &style);
    let read = reading(&page.finish(Kind::Grey));
    assert!((read.skew_deg - 1.2).abs() < TURN, "{:.3}", read.skew_deg);
}

#[test]
fn level_sheets_are_left_alone() {
    // Up to 1.5 degrees of slope between the views.
    let uneven = [549.0, 560.0, 571.0];
    let level = [560.0; 3];
    for (what, body, grounds) in [
        ("level", cast::stocky(), level),
        ("lopsided", cast::wanderer(), level),
        ("uneven ground rows", cast::stocky(), uneven),
        ("leaning", leaning(cast::stocky(), 2.0), level),
        ("leaning on uneven ground", leaning(cast::stocky(), 1.5), uneven),
    ] {
        let read = reading(&turnaround(&body, 0.0, grounds).finish(Kind::Grey));
        assert!(read.skew_deg.abs() < 1e-9, "{what}: {:.3}", read.skew_deg);
    }
}

/// Arms held out, a staff in the left hand.
fn with_staff() -> Body {
    let mut body = sheets::build::person(&sheets::build::Build {
        arms: both([
            [0.12, 0.765, 0.0],
            [0.22, 0.62, 0.0],
            [0.30, 0.48, 0.0],
            [0.34, 0.43, 0.0],
        ]),
        ..sheets::people::plain()
    });
    let staff = [ball(0.34, 0.02, 0.0, 0.016), ball(0.34, 1.2, 0.0, 0.016)];
    body.add(Solid::Loft(staff.to_vec()), [120, 90, 60], false);
    body
}

#[test]
fn an_upright_staff_belongs_to_the_figure() {
    let mut page = turnaround(&with_staff(), 0.0, [560.0; 3]);
    let lines = Pen::ink(1.4).colour([120, 170, 225]);
    let bare = turnaround(&with_staff(), 0.0, [560.0; 3]).finish(Kind::Rgb);
    page.guide(330.0, Guide::Solid, &lines);
    page.guide(560.0, Guide::Dashed, &lines);
    page.centre_line(280.0, 30.0, 600.0, &lines);
    for (sheet, guides) in [(bare, 0), (page.finish(Kind::Rgb), 2)] {
        let read = reading(&sheet);
        assert_eq!(read.guide_lines_px.len(), guides);
        assert_eq!(read.figures.len(), 3);
        for (figure, truth) in read.figures.iter().zip(&sheet.truth.figures) {
            let [x0, _, x1, _] = sheets::curve::bounds(&truth.rings);
            let wide = figure.box_px[2] - figure.box_px[0];
            assert!(
                (wide - (x1 - x0)).abs() < 6.0,
                "{} is {wide:.0} px wide",
                truth.name
            );
        }
    }
}

#[test]
fn a_box_with_a_head_is_no_frame() {
    let mut body = Body::default();
    for (at, half) in [
        ([0.0, 0.5, 0.0], [0.16, 0.44, 0.1]),
        ([0.0, 0.97, 0.0], [0.06, 0.03, 0.07]),
        ([-0.08, 0.04, 0.0], [0.04, 0.04, 0.07]),
        ([0.08, 0.04, 0.0], [0.04, 0.04, 0.07]),
    ] {
        body.add(Solid::Block(oval(at, half)), [150, 150, 150], true);
    }
    let mut page = turnaround(&body, 0.0, [560.0; 3]);
    page.frame([15.0, 15.0, 1385.0, 605.0], &Pen::ink(2.0));
    let read = reading(&page.finish(Kind::Grey));
    assert_eq!(read.figures.len(), 3);
}

fn names(reading: &Reading) -> Vec<String> {
    let signs: Vec<_> = reading
        .figures
        .iter()
        .map(|f| views::signs(&f.level, f.face))
        .collect();
    views::name(&signs).into_iter().map(|n| n.0).collect()
}

#[test]
fn without_a_face_the_order_tells_front_from_back_and_this_is_said() {
    let told = |r: &Reading| {
        let faceless = |w: &String| w.starts_with("no face tells front and back apart");
        r.figures
            .iter()
            .filter(|f| f.warnings.iter().any(faceless))
            .count()
    };
    let mut plain = cast::stocky();
    plain.eyes.clear();
    let read = reading(&turnaround(&plain, 0.0, [560.0; 3]).finish(Kind::Grey));
    assert_eq!(names(&read), ["front", "side", "back"]);
    assert_eq!(told(&read), 2);
    let read = reading(&turnaround(&cast::stocky(), 0.0, [560.0; 3]).finish(Kind::Grey));
    assert_eq!(names(&read), ["front", "side", "back"]);
    assert_eq!(told(&read), 0);
}
