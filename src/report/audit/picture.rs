//! Pictures of an audit: the mesh shaded with its edges from three sides, the places marked and numbered as in the text,
//! sections as small drawn outlines.
//!
//! Method: faces are painted from the farthest to the nearest (by their middles), lit from the viewer. Made from the
//! audit and the mesh alone: the same input gives the same bytes. Limits: large faces that cut through each other may be
//! painted in the wrong order; a mesh of more than `MOST_EDGED` faces is drawn without its edges, which would be a
//! solid grey.

use tiny_skia::PathBuilder;

use crate::audit::model::{Audit, Outcome};
use crate::error::Result;
use crate::mesh::Mesh;
use crate::mesh::vector::{Vector, dot, mean, newell, unit};
use crate::report::look::{
    BAND, Colour, DISC, FIGURE, FINE_LINE, HAIRLINE, INK, MARGIN, MESH, NOTES, OVER, PAPER, QUIET, SMALL,
    TEXT, TITLE, UNDER, WIDEST_FIGURE,
};
use crate::report::overlay::canvas::{Canvas, Pen, Weight};
use crate::report::overlay::png;

/// Faces beyond which edges are not drawn.
const MOST_EDGED: usize = 60_000;
/// The three pictures: name, and the turn about y of the direction from which the mesh is seen, degrees.
const SEEN_FROM: [(&str, f64); 3] = [("front", 0.0), ("side", 90.0), ("three-quarter", 40.0)];
/// Lines of text that a note takes at most.
const NOTE_LINES: usize = 3;
/// A mark is on the far side if it lies behind the middle by this share of the height.
const BEHIND: f64 = 0.01;
/// Width of a small section, pixels.
const SECTION: f64 = 44.0;
/// Sections in a row.
const SECTIONS_A_ROW: usize = 6;
/// Height of a line of text over its size.
const LEADING: f64 = 1.3;

/// All pictures: file names and contents.
///
/// # Errors
/// The mesh has no size, or a picture cannot be encoded.
pub fn pictures(mesh: &Mesh, audit: &Audit) -> Result<Vec<(String, Vec<u8>)>> {
    SEEN_FROM
        .iter()
        .map(|&(name, turn)| Ok((format!("audit-{name}.png"), picture(mesh, audit, name, turn)?)))
        .collect()
}

fn picture(mesh: &Mesh, audit: &Audit, name: &str, turn: f64) -> Result<Vec<u8>> {
    let (sin, cos) = turn.to_radians().sin_cos();
    let right = [cos, 0.0, -sin];
    let toward = [sin, 0.0, cos];
    let (mut low, mut high) = ([f64::MAX; 2], [f64::MIN; 2]);
    for &v in mesh.corners() {
        let p = mesh.positions()[v as usize];
        for (k, c) in [dot(p, right), p[1]].into_iter().enumerate() {
            low[k] = low[k].min(c);
            high[k] = high[k].max(c);
        }
    }
    let scale = (FIGURE / (high[1] - low[1])).min(WIDEST_FIGURE / (high[0] - low[0]));
    let scale = if scale.is_finite() { scale } else { 1.0 };
    let top = MARGIN + 2.0 * TITLE;
    let figure = ((high[0] - low[0]) * scale).max(NOTES);
    let notes = MARGIN + figure + MARGIN;
    // The picture is as high as the column of notes needs.
    let height = top + ((high[1] - low[1]) * scale).max(FIGURE) + MARGIN;
    let mut canvas = Canvas::new(notes + NOTES + MARGIN, height, 1.0)?;
    let shift = MARGIN + (figure - (high[0] - low[0]) * scale) / 2.0;
    let at = |p: Vector| {
        (
            shift + (dot(p, right) - low[0]) * scale,
            top + (high[1] - p[1]) * scale,
        )
    };

    surface(&mut canvas, mesh, toward, &at);
    let title = format!("{name}: {}", super::terminal::verdict(audit));
    canvas.text(&title, TITLE, Weight::Strong, (MARGIN, MARGIN + TITLE * 0.6), INK);
    let mut y = top;
    let mut taken: Vec<(f64, f64)> = Vec::new();
    let middle = mean(mesh.positions().iter().copied());
    let mut marks = Vec::new();
    for check in audit
        .checks
        .iter()
        .filter(|c| c.outcome != Outcome::Pass && !c.places.is_empty())
    {
        let colour = if check.outcome == Outcome::Fail {
            OVER
        } else {
            UNDER
        };
        for place in &check.places {
            let spot = at(place.at);
            let mark = free(spot, &taken);
            taken.push(mark);
            // What lies level with the middle, as the joints do, is no far side.
            let behind = dot(place.at, toward) < dot(middle, toward) - BEHIND * (high[1] - low[1]);
            marks.push((spot, mark, place.number, colour, behind));
        }
        y = note(&mut canvas, (notes, y), check, colour, height - MARGIN);
    }
    // Leaders first, so that no number is struck through.
    for &(spot, mark, _, colour, _) in &marks {
        canvas.line(&[spot, mark], Pen::solid(FINE_LINE, colour));
    }
    for &(_, mark, number, colour, behind) in &marks {
        disc(&mut canvas, mark, number, colour, behind);
    }
    sections(&mut canvas, audit, (notes, y), height - MARGIN);
    png::encode(canvas.pixmap(), 1.0)
}

/// The shaded faces with their edges.
fn surface(canvas: &mut Canvas, mesh: &Mesh, toward: Vector, at: &impl Fn(Vector) -> (f64, f64)) {
    let mut faces: Vec<(f64, u32)> = mesh
        .faces()
        .enumerate()
        .map(|(f, face)| {
            let middle = mean(face.iter().map(|&v| mesh.positions()[v as usize]));
            (dot(middle, toward), f as u32)
        })
        .collect();
    faces.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let edged = mesh.face_count() <= MOST_EDGED;
    for (_, f) in faces {
        let points: Vec<Vector> = mesh
            .face(f as usize)
            .iter()
            .map(|&v| mesh.positions()[v as usize])
            .collect();
        // A face that looks away is drawn as well: where the hull has a hole its inside shows, darker.
        let facing = unit(newell(&points)).map_or(0.0, |n| dot(n, toward));
        let light = if facing >= 0.0 { 0.72 + 0.28 * facing } else { 0.5 };
        let colour: Colour = BAND.map(|c| (f64::from(c) * light) as u8);
        let mut path = PathBuilder::new();
        for (i, &p) in points.iter().enumerate() {
            let (x, y) = at(p);
            if i == 0 {
                path.move_to(x as f32, y as f32);
            } else {
                path.line_to(x as f32, y as f32);
            }
        }
        path.close();
        let Some(path) = path.finish() else { continue };
        canvas.fill(&path, colour);
        // Without edges a line of the face's own colour closes the seams between faces.
        let line = if edged { MESH } else { colour };
        canvas.stroke(&path, Pen::solid(HAIRLINE, line), tiny_skia::LineCap::Round);
    }
}

/// The place nearest to a spot, on rings around it, where a mark covers no other one.
fn free(spot: (f64, f64), taken: &[(f64, f64)]) -> (f64, f64) {
    /// Directions that are tried on each ring, and rings.
    const DIRECTIONS: usize = 8;
    const RINGS: usize = 6;
    let clear = |p: (f64, f64)| taken.iter().all(|t| (t.0 - p.0).hypot(t.1 - p.1) >= 2.0 * DISC);
    let rings = (1..=RINGS).flat_map(|ring| {
        (0..DIRECTIONS).map(move |k| {
            let (sin, cos) = (std::f64::consts::TAU * k as f64 / DIRECTIONS as f64).sin_cos();
            let away = 2.2 * DISC * ring as f64;
            (spot.0 + away * cos, spot.1 - away * sin)
        })
    });
    std::iter::once(spot)
        .chain(rings)
        .find(|&p| clear(p))
        .unwrap_or(spot)
}

/// A numbered mark; one on the far side is a ring.
fn disc(canvas: &mut Canvas, at: (f64, f64), number: usize, colour: Colour, behind: bool) {
    canvas.disc(at.0, at.1, DISC, colour);
    if behind {
        canvas.disc(at.0, at.1, DISC - 2.0, PAPER);
    }
    let ink = if behind { colour } else { PAPER };
    canvas.text_about(
        &number.to_string(),
        SMALL,
        Weight::Strong,
        (at.0, at.1 + SMALL * 0.36),
        ink,
    );
}

/// A check and its places in the column beside the figure; returns where the next one begins.
fn note(
    canvas: &mut Canvas,
    at: (f64, f64),
    check: &crate::audit::model::Check,
    colour: Colour,
    bottom: f64,
) -> f64 {
    let (x, mut y) = at;
    if y + LEADING * TEXT > bottom {
        return y;
    }
    y += LEADING * TEXT;
    canvas.text(check.id, TEXT, Weight::Strong, (x, y), colour);
    let lines = canvas.font().lines(&check.text, SMALL, NOTES, NOTE_LINES);
    for line in lines {
        y += LEADING * SMALL;
        if y > bottom {
            return y;
        }
        canvas.text(&line, SMALL, Weight::Book, (x, y), INK);
    }
    let places: Vec<String> = check
        .places
        .iter()
        .map(|p| format!("{} {}", p.number, p.r#where))
        .collect();
    let lines = canvas.font().lines(&places.join("; "), SMALL, NOTES, NOTE_LINES);
    for line in lines {
        y += LEADING * SMALL;
        if y > bottom {
            return y;
        }
        canvas.text(&line, SMALL, Weight::Book, (x, y), QUIET);
    }
    y + TEXT / 2.0
}

/// Small outlines of the slices, as far as there is room; boxy and pinched ones are named.
fn sections(canvas: &mut Canvas, audit: &Audit, at: (f64, f64), bottom: f64) {
    if audit.sections.is_empty() {
        return;
    }
    let row = SECTION + LEADING * SMALL + 8.0;
    let (x, mut y) = (at.0, at.1 + LEADING * TEXT);
    if y + row > bottom {
        return;
    }
    canvas.text(
        "slices, from the trunk outwards",
        TEXT,
        Weight::Strong,
        (x, y),
        INK,
    );
    y += 8.0;
    for part in audit
        .sections
        .chunk_by(|a, b| (a.part, a.side) == (b.part, b.side))
    {
        if y + row > bottom {
            return;
        }
        let worst = part
            .iter()
            .max_by(|a, b| (a.roundness - 1.0).abs().total_cmp(&(b.roundness - 1.0).abs()));
        let label = format!("{} {}", part[0].side.word(), part[0].part);
        let shape = worst.map_or_else(String::new, |w| {
            format!("{}, {} at {:.2}", label.trim(), w.form, w.roundness)
        });
        canvas.text(&shape, SMALL, Weight::Book, (x, y + LEADING * SMALL), QUIET);
        let widest = part.iter().map(|s| s.width.max(s.depth)).fold(0.0, f64::max);
        for (i, section) in part.iter().take(SECTIONS_A_ROW).enumerate() {
            let middle = (
                x + (i as f64 + 0.5) * SECTION,
                y + LEADING * SMALL + 6.0 + SECTION / 2.0,
            );
            let scale = (SECTION - 6.0) / widest;
            let colour = if section.form == "round" { MESH } else { OVER };
            for ring in &section.outline {
                // The outline's own middle, so that it sits in its cell.
                let centre = mean(ring.iter().map(|p| [p[0], p[1], 0.0]));
                let mut points: Vec<(f64, f64)> = ring
                    .iter()
                    .map(|p| {
                        (
                            middle.0 + (p[0] - centre[0]) * scale,
                            middle.1 - (p[1] - centre[1]) * scale,
                        )
                    })
                    .collect();
                points.extend(points.first().copied());
                canvas.line(&points, Pen::solid(1.2, colour));
            }
        }
        y += row;
    }
}
