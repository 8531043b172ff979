//! From the text of a setup file to what it says, each complaint with its line.

use std::path::PathBuf;

use toml_edit::{Item, Table, Value};

use super::keys::{ARM, GUIDE, IMAGE, MESH, TOP, VIEW, VIEWS};
use super::lines::Text;
use super::{ArmSetup, GuideSetup, ImageSetup, MeshSetup, Setup, Shows, ViewSetup};
use crate::error::Result;
use crate::mesh::{Heading, UpAxis};
use crate::report::model::{ArmsMode, Lead, Smoothing, Stage};
use crate::sheet::edge::LineEdge;

fn text(item: &Item) -> Option<String> {
    item.as_str().map(str::to_string)
}

fn number(value: &Value) -> Option<f64> {
    let whole = value.as_integer().map(|v| v as f64);
    value.as_float().or(whole).filter(|v| v.is_finite())
}

fn positive(item: &Item) -> Option<f64> {
    item.as_value().and_then(number).filter(|v| *v > 0.0)
}

fn texts(item: &Item) -> Option<Vec<String>> {
    item.as_array()?
        .iter()
        .map(|v| v.as_str().map(str::to_string))
        .collect()
}

/// A list of `N` numbers.
fn numbers<const N: usize>(value: &Value) -> Option<[f64; N]> {
    let all: Vec<f64> = value.as_array()?.iter().map(number).collect::<Option<_>>()?;
    all.try_into().ok()
}

fn a_box(value: &Value) -> Option<[f64; 4]> {
    numbers(value).filter(|b: &[f64; 4]| b[0] < b[2] && b[1] < b[3])
}

fn list<T>(item: &Item, make: impl Fn(&Value) -> Option<T>) -> Option<Vec<T>> {
    item.as_array()?.iter().map(make).collect()
}

/// What a box is, in complaints.
const A_BOX: &str = "a box [x0, y0, x1, y1] in pixels, left of right and above below";
const BOXES: &str = "a list of boxes [x0, y0, x1, y1] in pixels";
const PLACES: &str = "a list of places [x, y] in pixels";

/// Reads a setup.
pub(super) fn setup(source: &str) -> Result<Setup> {
    let text_of = Text(source);
    let document = text_of.document("the setup is TOML: key = value, texts in quotes")?;
    let top = document.as_table();
    let t = &text_of;
    t.known(top, &TOP)?;
    let mesh = match top.get("mesh") {
        None => MeshSetup::default(),
        Some(Item::Table(m)) => mesh(t, m)?,
        Some(other) => return Err(t.wrong("mesh", other, "a heading of its own, [mesh]")),
    };
    Ok(Setup {
        unit: t.get(top, "unit", "a text", text)?,
        figure_height: t.get(top, "figure-height", "a number above zero", positive)?,
        scale: t.get(top, "scale", "a number above zero", positive)?,
        ground: t.get(top, "ground", "a number", |i| i.as_value().and_then(number))?,
        lead: t.get(top, "lead", "\"front\" or \"side\"", |i| {
            i.as_str().and_then(Lead::parse)
        })?,
        smooth: t.get(
            top,
            "smooth",
            "a whole number from 1 to 5, or \"limit\"",
            |i| match i.as_integer() {
                Some(n) => Smoothing::parse(&n.to_string()),
                None => i.as_str().and_then(Smoothing::parse),
            },
        )?,
        hold_placement: t.get(top, "hold-placement", "true or false", Item::as_bool)?,
        tolerance: t.get(top, "tolerance", "a number above zero", positive)?,
        tolerance_width: t.get(top, "tolerance-width", "a number above zero", positive)?,
        stage: t.get(top, "stage", "\"block-in\", \"refine\" or \"final\"", |i| {
            i.as_str().and_then(Stage::parse)
        })?,
        unfinished: t.get(top, "unfinished", "true or false", Item::as_bool)?,
        arms: t.get(
            top,
            "arms",
            "\"as-modelled\", \"drop\", \"ignore\" or degrees from -90 to 90",
            |i| match i.as_value().and_then(number) {
                Some(degrees) => ArmsMode::parse(&degrees.to_string()),
                None => i.as_str().and_then(ArmsMode::parse),
            },
        )?,
        canon: t.get(top, "canon", "the name of a canon or a file", text)?,
        arm: t.tables(top, "arm", |table| arm(t, table))?,
        mesh,
        images: t.tables(top, "image", |table| image(t, table))?,
    })
}

fn arm(t: &Text<'_>, table: &Table) -> Result<ArmSetup> {
    t.known(table, &ARM)?;
    let side = |i: &Item| match i.as_str()? {
        "left" => Some(true),
        "right" => Some(false),
        _ => None,
    };
    let place = |i: &Item| i.as_value().and_then(numbers);
    let index = |v: &Value| v.as_integer().and_then(|n| u32::try_from(n).ok());
    let vertices = |i: &Item| list(i, index);
    let wanted = "a list of vertices, counted from 0";
    Ok(ArmSetup {
        left: t.must(table, "side", "\"left\" or \"right\", the character's own", side)?,
        joint: t.get(table, "joint", "a place [x, y, z]", place)?,
        joint_group: t.get(table, "joint-group", "the name of a group", text)?,
        joint_vertices: t
            .get(table, "joint-vertices", wanted, vertices)?
            .unwrap_or_default(),
        axis: t.get(table, "axis", "a direction [x, y, z] outwards", |i| {
            place(i).filter(|a: &[f64; 3]| a[0].hypot(a[1]) > 0.0)
        })?,
        group: t.get(table, "group", "the name of a group", text)?,
        vertices: t.get(table, "vertices", wanted, vertices)?.unwrap_or_default(),
    })
}

fn mesh(t: &Text<'_>, table: &Table) -> Result<MeshSetup> {
    t.known(table, &MESH)?;
    let up = |item: &Item| match item.as_str()? {
        "y" => Some(UpAxis::Y),
        "z" => Some(UpAxis::Z),
        _ => None,
    };
    Ok(MeshSetup {
        up: t.get(table, "up", "\"y\" or \"z\"", up)?,
        facing: t.get(
            table,
            "facing",
            "\"x\", \"-x\", \"y\", \"-y\", \"z\" or \"-z\"",
            |i| i.as_str().and_then(Heading::parse),
        )?,
        mirror: t.get(table, "mirror", "true or false", Item::as_bool)?,
        groups: t.get(table, "groups", "a list of names", texts)?,
        skip_groups: t.get(table, "skip-groups", "a list of names", texts)?,
        plane: t.get(table, "plane", "a number", |i| i.as_value().and_then(number))?,
        borders: t.get(table, "borders", "a list of vertices, counted from 0", |i| {
            list(i, |v| v.as_integer().and_then(|n| u32::try_from(n).ok()))
        })?,
    })
}

fn image(t: &Text<'_>, table: &Table) -> Result<ImageSetup> {
    t.known(table, &IMAGE)?;
    let shows = |item: &Item| match item.as_str()? {
        "sheet" => Some(Shows::Sheet),
        "front" => Some(Shows::Front),
        "side" => Some(Shows::Side),
        "back" => Some(Shows::Back),
        "top" => Some(Shows::Top),
        _ => None,
    };
    let edge = |item: &Item| match item.as_str()? {
        "centre" => Some(LineEdge::Centre),
        "outer" => Some(LineEdge::Outer),
        "inner" => Some(LineEdge::Inner),
        _ => None,
    };
    let threshold = |item: &Item| {
        item.as_integer()
            .filter(|v| (1..=254).contains(v))
            .and_then(|v| u8::try_from(v).ok())
    };
    let gap = |item: &Item| {
        item.as_value()
            .and_then(number)
            .filter(|v| (0.0..=10.0).contains(v))
    };
    Ok(ImageSetup {
        file: t.must(table, "file", "the image's path", |i| text(i).map(PathBuf::from))?,
        shows: t
            .get(
                table,
                "shows",
                "\"sheet\", \"front\", \"side\", \"back\" or \"top\"",
                shows,
            )?
            .unwrap_or_default(),
        line_edge: t.get(table, "line-edge", "\"centre\", \"outer\" or \"inner\"", edge)?,
        threshold: t.get(table, "threshold", "a whole number from 1 to 254", threshold)?,
        widest_gap: t.get(table, "widest-gap", "a number from 0 to 10", gap)?,
        erase: t
            .get(table, "erase", BOXES, |i| list(i, a_box))?
            .unwrap_or_default(),
        ground: t
            .get(table, "ground", PLACES, |i| list(i, numbers))?
            .unwrap_or_default(),
        surface: t
            .get(table, "surface", PLACES, |i| list(i, numbers))?
            .unwrap_or_default(),
        views: t.tables(table, "view", |v| view(t, v))?,
        guides: t.tables(table, "guide", |g| guide(t, g))?,
    })
}

fn view(t: &Text<'_>, table: &Table) -> Result<ViewSetup> {
    t.known(table, &VIEW)?;
    let name = |item: &Item| item.as_str().filter(|n| VIEWS.contains(n)).map(str::to_string);
    let names = "\"front\", \"side\", \"back\", \"three-quarter\" or \"top\"";
    Ok(ViewSetup {
        name: t.must(table, "name", names, name)?,
        box_px: t.must(table, "box", A_BOX, |i| i.as_value().and_then(a_box))?,
        axis_px: t.get(table, "axis", "a column in pixels", |i| {
            i.as_value().and_then(number)
        })?,
    })
}

fn guide(t: &Text<'_>, table: &Table) -> Result<GuideSetup> {
    t.known(table, &GUIDE)?;
    Ok(GuideSetup {
        y_px: t.must(table, "y", "a height in pixels", |i| {
            i.as_value().and_then(number)
        })?,
        means: t
            .get(table, "means", "the name of a place of the body", text)?
            .unwrap_or_default(),
    })
}
