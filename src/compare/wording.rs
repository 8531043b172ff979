//! Findings in a modeller's words: what, how much, where, on which edge.

use super::bands::Band;
use super::rows::{EdgeReading, Measured};
use crate::report::model::{Facing, Kind, Section};

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

/// What is said behind a finding in arms that were left out.
pub const IGNORED: &str = "; not counted: arms are ignored";

/// What share of a finding the views' disagreement must explain to be said.
pub const WORTH_SAYING_PCT: f64 = 20.0;

/// What is said behind a finding that the other view contradicts.
pub fn explained(share_pct: f64, frontal: bool) -> String {
    let other = if frontal { "side" } else { "front" };
    format!("; {share_pct:.0} % of it goes away where the {other} view has this height")
}

/// Where a finding lies.
pub struct Place<'a> {
    /// The part of the body in words, empty if unknown.
    pub parts: String,
    /// Its outer edges are the ends of outstretched arms.
    pub reaches: bool,
    /// The landmarks below and above, or none.
    pub between: &'a [String],
    /// Where the view looks.
    pub facing: Facing,
    /// Height of the ground, units.
    pub ground: f64,
    /// Height of the figure, units.
    pub height: f64,
    /// Label of the unit of length.
    pub unit: &'a str,
}

/// Across a limb that lies flat, for instance `left forearm 1.2 too thick on its upper side`.
pub fn across(kind: Kind, worst: &Section, height: f64, unit: &str) -> String {
    let unit = spaced(unit);
    let (up, low) = (worst.upper_diff, worst.lower_diff);
    let show = |v: f64| length(v.abs(), height);
    // One side alone is to blame if it makes up most of the difference.
    let side = match (up.abs(), low.abs()) {
        (u, l) if u > 3.0 * l => " on its upper side",
        (u, l) if l > 3.0 * u => " on its lower side",
        _ => "",
    };
    let part = worst.part;
    match kind {
        Kind::Thick => format!("{part} {}{unit} too thick{side}", show(up + low)),
        Kind::Thin => format!("{part} {}{unit} too thin{side}", show(up + low)),
        _ => {
            let way = if up > low { "high" } else { "low" };
            format!(
                "{part} {}{unit} too {way}",
                show(f64::midpoint(up.abs(), low.abs()))
            )
        }
    }
}

/// A unit's label behind a number.
pub(super) fn spaced(unit: &str) -> String {
    if unit.is_empty() {
        String::new()
    } else {
        format!(" {unit}")
    }
}

/// Where and what, for instance `trunk 6.6 too thick between crotch and armpit (55 to 78 % of the height); at y 115.2:
/// back +3.1, front +3.5`.
pub fn text(band: &Band, row: &Measured, at: &Place<'_>) -> String {
    let (facing, ground, height, between) = (at.facing, at.ground, at.height, at.between);
    let unit = spaced(at.unit);
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
    // Where both edges run level, or one that most of the difference is at (the underside of a tail), the row's width says
    // nothing; the distance from the other outline does.
    let mostly = |side: usize, off: f64| row.edges[side] == EdgeReading::Level && off.abs() > 0.5 * amount;
    let level = row.edges == [EdgeReading::Level; 2] || mostly(0, l) || mostly(1, r);
    let what = match band.kind {
        Kind::Thick if other_part => format!("{}{unit} wider: a part that is not drawn here", show(amount)),
        Kind::Thin if other_part => format!("{}{unit} narrower: a drawn part is not there", show(amount)),
        // Outstretched arms end there: that is reach, not thickness.
        Kind::Thick if at.reaches => format!("{}{unit} farther apart", show(amount)),
        Kind::Thin if at.reaches => format!("{}{unit} nearer together", show(amount)),
        // A hand that hangs lower than the drawn one: the row's width jumps from the legs to the hands.
        Kind::Thick if level => format!("{}{unit} beyond the drawing", show(row.deviation)),
        Kind::Thin if level => format!("{}{unit} short of the drawing", show(row.deviation)),
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
    let part = match at.parts.as_str() {
        "" => String::new(),
        some if matches!(band.kind, Kind::GapClosed | Kind::GapOpen) => format!("{some}: "),
        some => format!("{some} "),
    };
    format!("{part}{what}{place}{range}{edges}{excuse}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::model::Row;

    /// A row whose left edge is off by 60 along it and lies 4 from the drawing: the underside of a tail.
    fn told(edges: [EdgeReading; 2], kind: Kind) -> String {
        let row = Measured {
            row: Row {
                y: 14.0,
                drawing: vec![[0.0, 20.0]],
                mesh: vec![[-60.0, 20.0]],
                outer_diff: Some(60.0),
                solid_diff: Some(60.0),
                left_diff: Some(60.0),
                right_diff: Some(0.0),
                edge_sure_pct: 100,
                spans: Vec::new(),
            },
            deviation: 4.0,
            strength: 4.0,
            kind: Some(kind),
            inner: 0.0,
            edges,
        };
        let band = Band {
            kind,
            y_from: 12.0,
            y_to: 16.0,
            worst: 0,
            peak: 4.0,
            excused: false,
        };
        let place = Place {
            parts: "trunk".to_string(),
            reaches: false,
            between: &[],
            facing: Facing::Viewer,
            ground: 0.0,
            height: 100.0,
            unit: "",
        };
        text(&band, &row, &place)
    }

    #[test]
    fn a_level_edge_is_told_by_its_distance() {
        use EdgeReading::{Level, Measured};
        assert!(told([Measured, Measured], Kind::Thick).contains("60.0 too thick"));
        assert!(told([Level, Measured], Kind::Thick).contains("4.0 beyond the drawing"));
        assert!(told([Level, Measured], Kind::Thin).contains("4.0 short of the drawing"));
        // The level edge is not where the difference is.
        assert!(told([Measured, Level], Kind::Thick).contains("60.0 too thick"));
    }
}
