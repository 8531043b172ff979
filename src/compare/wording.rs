//! Findings in a modeller's words: what, how much, where, on which edge.

use super::bands::Band;
use super::rows::{EdgeReading, Measured};
use crate::report::model::{Facing, Kind};

/// Names of the left and right edge as the viewer sees them.
pub fn edges(facing: Facing) -> (&'static str, &'static str) {
    match facing {
        Facing::Viewer | Facing::Away => ("left", "right"),
        Facing::Right => ("back", "front"),
        Facing::Left => ("front", "back"),
    }
}

/// Most decimals of a length in words.
const MOST_DECIMALS: f64 = 6.0;

/// Formats a length in steps of at most a thousandth of the figure's height, the finest that a drawing shows.
pub fn length(value: f64, height: f64) -> String {
    let decimals = 3.0 - height.abs().max(f64::MIN_POSITIVE).log10();
    // A height of exactly a power of ten must not fall to either side by rounding.
    let decimals = (decimals - 1e-9).ceil().clamp(0.0, MOST_DECIMALS) as usize;
    format!("{value:.decimals$}")
}

/// What is said behind a finding that rests on closed gaps.
pub const UNSURE: &str = "; unsure: the drawing's outline is open, faint or disturbed here";

/// Where and what, for instance `thick by 6.6 between crotch and armpit (55–78 % of the height), worst at y 115.2:
/// back +3.1, front +3.5`.
pub fn text(
    band: &Band,
    row: &Measured,
    between: &[String],
    facing: Facing,
    ground: f64,
    height: f64,
    unit: &str,
) -> String {
    let unit = if unit.is_empty() {
        String::new()
    } else {
        format!(" {unit}")
    };
    let show = |v: f64| length(v, height);
    let signed = |v: f64| format!("{}{}", if v < 0.0 { "−" } else { "+" }, show(v.abs()));
    let (left, right) = edges(facing);
    let (l, r) = (
        row.row.left_diff.unwrap_or(0.0),
        row.row.right_diff.unwrap_or(0.0),
    );
    let amount = row.row.outer_diff.unwrap_or(0.0).abs();
    // Widths of different parts are not a measure of thickness.
    let other_part = row.edges.contains(&EdgeReading::OtherPart);
    let what = match band.kind {
        Kind::Thick if other_part => format!("{}{unit} wider: a part that is not drawn here", show(amount)),
        Kind::Thin if other_part => format!("{}{unit} narrower: a drawn part is not there", show(amount)),
        Kind::Thick => format!("{}{unit} too thick", show(amount)),
        Kind::Thin => format!("{}{unit} too thin", show(amount)),
        Kind::Shifted => {
            let to = if r > l { right } else { left };
            let toward = match facing {
                Facing::Viewer | Facing::Away => format!("to the {to}"),
                Facing::Left | Facing::Right => format!("towards the {to}"),
            };
            format!("{}{unit} shifted {toward}", show(f64::midpoint(l.abs(), r.abs())))
        }
        Kind::GapClosed => format!("gap too narrow or closed, by {}{unit}", show(row.inner)),
        Kind::GapOpen => format!(
            "gap where the drawing has none or a narrower one, by {}{unit}",
            show(row.inner)
        ),
        Kind::Missing => "drawn, but not in the mesh".to_string(),
        Kind::Extra => "in the mesh, but not drawn".to_string(),
    };
    let percent = |y: f64| format!("{:.0}", (y - ground) / height * 100.0);
    let place = match between {
        [low, high] => format!(" between {low} and {high}"),
        _ => String::new(),
    };
    let range = format!(
        " ({} to {} % of the height)",
        percent(band.y_from),
        percent(band.y_to)
    );
    let edges = match band.kind {
        Kind::Thick | Kind::Thin | Kind::Shifted => {
            format!(
                "; at y {}: {left} {}, {right} {}",
                show(row.row.y),
                signed(l),
                signed(r)
            )
        }
        _ => format!("; worst at y {}", show(row.row.y)),
    };
    let excuse = if band.excused {
        ", not counted: the mesh is unfinished"
    } else {
        ""
    };
    format!("{what}{place}{range}{edges}{excuse}")
}
