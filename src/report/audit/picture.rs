//! Pictures of an audit: the mesh shaded with its edges from three sides, the places marked and numbered as in the text,
//! sections as small drawn outlines.
//!
//! Method: faces are painted from the farthest to the nearest (by their middles), lit from the viewer. Made from the
//! audit and the mesh alone: the same input gives the same bytes. Limits: large faces that cut through each other may be
//! painted in the wrong order; a mesh of more than `MOST_EDGED` faces is drawn without its edges, which would be a
//! solid grey.

use tiny_skia::PathBuilder;

use crate::audit::model::{Audit, Check, Outcome, Section};
use crate::error::Result;
use crate::mesh::Mesh;
use crate::mesh::vector::{Vector, dot, mean, newell, unit};
use crate::report::look::{
    BAND, Colour, DISC, FIGURE, FINE_LINE, HAIRLINE, HALF_LETTER, INK, MARGIN, MESH, NOTES, OVER, PAPER,
    QUIET, SMALL, TEXT, TITLE, UNDER, WIDEST_FIGURE,
};
use crate::report::overlay::canvas::{Canvas, Pen, Weight};
use crate::report::overlay::png;
use crate::report::overlay::text::Font;

/// Faces beyond which edges are not drawn.
const MOST_EDGED: usize = 60_000;
/// The three pictures: name, and the turn about y of the direction from which the mesh is seen, degrees.
const SEEN_FROM: [(&str, f64); 3] = [("front", 0.0), ("side", 90.0), ("three-quarter", 40.0)];
/// Lines of text that what a check found takes at most, and the list of its places.
const NOTE_LINES: [usize; 2] = [3, 8];
/// Rings of places around a spot on which a mark looks for room, and directions on each.
const RINGS: usize = 24;
const DIRECTIONS: usize = 12;
/// A mark is on the far side if it lies behind the middle by this share of the height.
const BEHIND: f64 = 0.01;
/// Width of a small section, pixels.
const SECTION: f64 = 44.0;
/// Sections in a row.
const SECTIONS_A_ROW: usize = 6;
/// Radius of the dot at the fault's own place, where its mark stands beside it.
const SPOT: f64 = 2.5;
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
    png::encode(draw(mesh, audit, name, turn)?.0.into_pixmap(), 1.0)
}

/// A mark: where its fault is, where it stands, its number, colour, and whether the fault is on the far side.
struct Mark {
    spot: (f64, f64),
    at: (f64, f64),
    number: usize,
    colour: Colour,
    behind: bool,
}

/// The picture from left to right: the figure with its marks, the checks that did not pass, the slices.
fn draw(mesh: &Mesh, audit: &Audit, name: &str, turn: f64) -> Result<(Canvas, Vec<Mark>)> {
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
    let top = MARGIN + 4.0 * TITLE;
    let figure = ((high[0] - low[0]) * scale).max(NOTES);
    let notes = MARGIN + figure + MARGIN;
    let faulty: Vec<&Check> = audit
        .checks
        .iter()
        .filter(|c| c.outcome != Outcome::Pass && !c.places.is_empty())
        .collect();
    let font = Font::new()?;
    let blocks: Vec<Block> = faulty.iter().map(|check| Block::of(check, &font)).collect();
    // The picture is as high as its highest column needs.
    let listed: f64 = blocks.iter().map(Block::height).sum();
    let drawn = (high[1] - low[1]) * scale;
    let height = top + drawn.max(FIGURE).max(listed).max(slices_height(audit)) + MARGIN;
    let slices = notes + NOTES + MARGIN;
    let width = if audit.sections.is_empty() {
        slices
    } else {
        slices + SECTION * SECTIONS_A_ROW as f64 + MARGIN
    };
    let mut canvas = Canvas::new(width, height, 1.0)?;
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
    legend(&mut canvas, &faulty, (MARGIN + DISC, MARGIN + TITLE * 1.7));
    let middle = mean(mesh.positions().iter().copied());
    let room = [(DISC, notes - DISC), (top - DISC, height - DISC)];
    let mut marks: Vec<Mark> = Vec::new();
    for check in &faulty {
        for place in &check.places {
            let spot = at(place.at);
            marks.push(Mark {
                spot,
                at: free(spot, &marks, room),
                number: place.number,
                colour: colour(check.outcome),
                // What lies level with the middle, as the joints do, is no far side.
                behind: dot(place.at, toward) < dot(middle, toward) - BEHIND * (high[1] - low[1]),
            });
        }
    }
    // Leaders first, so that no number is struck through; a dot where each begins.
    for mark in marks.iter().filter(|m| m.at != m.spot) {
        canvas.line(&[mark.spot, mark.at], Pen::solid(FINE_LINE, mark.colour));
        canvas.disc(mark.spot.0, mark.spot.1, SPOT, mark.colour);
    }
    for mark in &marks {
        disc(
            &mut canvas,
            mark.at,
            &mark.number.to_string(),
            mark.colour,
            mark.behind,
        );
    }
    let mut y = top;
    for block in &blocks {
        y = block.draw(&mut canvas, (notes, y));
    }
    sections(&mut canvas, audit, (slices, top));
    Ok((canvas, marks))
}

fn colour(outcome: Outcome) -> Colour {
    if outcome == Outcome::Fail { OVER } else { UNDER }
}

/// What the marks mean, as far as there are such.
fn legend(canvas: &mut Canvas, faulty: &[&Check], at: (f64, f64)) {
    let kinds = [
        (Outcome::Fail, false, "failed"),
        (Outcome::Warn, false, "to look at"),
        (Outcome::Fail, true, "ring: on the far side"),
    ];
    let mut x = at.0;
    for (outcome, behind, words) in kinds {
        let drawn = if behind {
            !faulty.is_empty()
        } else {
            faulty.iter().any(|c| c.outcome == outcome)
        };
        if !drawn {
            continue;
        }
        let ink = if behind { QUIET } else { colour(outcome) };
        disc(canvas, (x, at.1), "", ink, behind);
        let text = (x + 1.7 * DISC, at.1 + SMALL * HALF_LETTER);
        canvas.text(words, SMALL, Weight::Book, text, QUIET);
        x = text.0 + canvas.font().width(words, SMALL) + 3.0 * DISC;
    }
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

/// The place nearest to a spot, on rings around it within the room, where a mark covers no other one. Where nothing is
/// free it covers.
fn free(spot: (f64, f64), taken: &[Mark], room: [(f64, f64); 2]) -> (f64, f64) {
    let clear = |p: (f64, f64)| {
        (room[0].0..room[0].1).contains(&p.0)
            && (room[1].0..room[1].1).contains(&p.1)
            && taken
                .iter()
                .all(|t| (t.at.0 - p.0).hypot(t.at.1 - p.1) >= 2.0 * DISC)
    };
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
fn disc(canvas: &mut Canvas, at: (f64, f64), number: &str, colour: Colour, behind: bool) {
    canvas.disc(at.0, at.1, DISC, colour);
    if behind {
        canvas.disc(at.0, at.1, DISC - 2.0, PAPER);
    }
    let ink = if behind { colour } else { PAPER };
    canvas.text_about(number, SMALL, Weight::Strong, (at.0, at.1 + SMALL * 0.36), ink);
}

/// A check and its places in the column beside the figure.
struct Block {
    id: &'static str,
    colour: Colour,
    text: Vec<String>,
    places: Vec<String>,
}

impl Block {
    fn of(check: &Check, font: &Font) -> Self {
        let places: Vec<String> = check
            .places
            .iter()
            .map(|p| format!("{} {}", p.number, p.r#where))
            .collect();
        Self {
            id: check.id,
            colour: colour(check.outcome),
            text: font.lines(&check.text, SMALL, NOTES, NOTE_LINES[0]),
            places: font.lines(&places.join("; "), SMALL, NOTES, NOTE_LINES[1]),
        }
    }

    fn height(&self) -> f64 {
        let lines = (self.text.len() + self.places.len()) as f64;
        LEADING * (TEXT + lines * SMALL) + TEXT / 2.0
    }

    /// Returns where the next one begins.
    fn draw(&self, canvas: &mut Canvas, (x, top): (f64, f64)) -> f64 {
        let mut y = top + LEADING * TEXT;
        canvas.text(self.id, TEXT, Weight::Strong, (x, y), self.colour);
        for (lines, ink) in [(&self.text, INK), (&self.places, QUIET)] {
            for line in lines {
                y += LEADING * SMALL;
                canvas.text(line, SMALL, Weight::Book, (x, y), ink);
            }
        }
        top + self.height()
    }
}

/// Height of a row of slices with its words.
const SLICES_ROW: f64 = SECTION + LEADING * SMALL + 8.0;

fn parts(audit: &Audit) -> impl Iterator<Item = &[Section]> {
    audit
        .sections
        .chunk_by(|a, b| (a.part, a.side) == (b.part, b.side))
}

fn slices_height(audit: &Audit) -> f64 {
    LEADING * (TEXT + SMALL) + 8.0 + SLICES_ROW * parts(audit).count() as f64
}

/// Small outlines of the slices; boxy and pinched ones are named.
fn sections(canvas: &mut Canvas, audit: &Audit, at: (f64, f64)) {
    if audit.sections.is_empty() {
        return;
    }
    let (x, mut y) = (at.0, at.1 + LEADING * TEXT);
    canvas.text(
        "slices, from the trunk outwards",
        TEXT,
        Weight::Strong,
        (x, y),
        INK,
    );
    y += LEADING * SMALL;
    let about = "box 1.27, ellipse 1, diamond 0.64";
    canvas.text(about, SMALL, Weight::Book, (x, y), QUIET);
    y += 8.0;
    for part in parts(audit) {
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
        y += SLICES_ROW;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audit::{Options, audit};

    /// A standing body of blocks: trunk with head, two arms, two legs, divided into squares; `hole` leaves faces out on
    /// its front, so that there are places to mark.
    fn body(hole: bool) -> Mesh {
        let solid = |[x, y, _]: [i32; 3]| match y {
            0..10 => (-3..-1).contains(&x) || (1..3).contains(&x),
            10..19 => (-3..3).contains(&x) || ((16..18).contains(&y) && (-12..12).contains(&x)),
            19..23 => (-1..1).contains(&x),
            _ => false,
        };
        let inside = |c: [i32; 3]| (0..2).contains(&c[2]) && solid(c);
        let mut numbers = std::collections::BTreeMap::new();
        let mut positions = Vec::new();
        let mut faces: Vec<Vec<u32>> = Vec::new();
        for x in -12..12 {
            for y in 0..23 {
                for z in 0..2 {
                    for (axis, out) in [(0, 1), (0, -1), (1, 1), (1, -1), (2, 1), (2, -1)] {
                        let cell = [x, y, z];
                        let mut beyond = cell;
                        beyond[axis] += out;
                        let left_out = hole && axis == 2 && out == 1 && y == 12 && i32::abs(x) < 2;
                        if !inside(cell) || inside(beyond) || left_out {
                            continue;
                        }
                        let (u, v) = ((axis + 1) % 3, (axis + 2) % 3);
                        let mut corners = [[0, 0], [1, 0], [1, 1], [0, 1]];
                        if out < 0 {
                            corners.reverse();
                        }
                        let face = corners.map(|[a, b]| {
                            let mut p = cell;
                            p[axis] += i32::from(out > 0);
                            p[u] += a;
                            p[v] += b;
                            *numbers.entry(p).or_insert_with(|| {
                                positions.push(p.map(f64::from));
                                positions.len() as u32 - 1
                            })
                        });
                        faces.push(face.to_vec());
                    }
                }
            }
        }
        Mesh::from_polygons(positions, faces).unwrap()
    }

    /// Marks have the numbers of the text, none covers another one, each stands within the picture; what passes is not
    /// marked. The figure is drawn, in the same bytes by one thread and by two.
    #[test]
    fn places_are_marked_with_their_numbers() {
        let mesh = body(true);
        let found = audit(&mesh, &Options::default());
        let numbers: Vec<usize> = found
            .checks
            .iter()
            .filter(|c| c.outcome != Outcome::Pass)
            .flat_map(|c| c.places.iter().map(|p| p.number))
            .collect();
        assert!(numbers.len() >= 3, "{numbers:?}");
        let mut in_order = numbers.clone();
        in_order.sort_unstable();
        assert_eq!(in_order, (1..=numbers.len()).collect::<Vec<_>>());
        for (name, turn) in SEEN_FROM {
            let (canvas, marks) = draw(&mesh, &found, name, turn).unwrap();
            assert_eq!(marks.iter().map(|m| m.number).collect::<Vec<_>>(), numbers);
            let (w, h) = (canvas.pixmap().width(), canvas.pixmap().height());
            assert!(h >= FIGURE as u32 && w >= (NOTES * 2.0) as u32, "{w} x {h}");
            for (i, a) in marks.iter().enumerate() {
                assert!(a.at.0 > 0.0 && a.at.0 < f64::from(w) && a.at.1 > 0.0 && a.at.1 < f64::from(h));
                for b in &marks[i + 1..] {
                    let apart = (a.at.0 - b.at.0).hypot(a.at.1 - b.at.1);
                    assert!(apart >= 2.0 * DISC, "{name}: {} and {}", a.number, b.number);
                }
                let pixel = canvas.pixmap().pixel((a.at.0 - 0.8 * DISC) as u32, a.at.1 as u32);
                let pixel = pixel.map(|p| [p.red(), p.green(), p.blue()]);
                assert!(
                    a.behind || pixel == Some(a.colour),
                    "{name} {}: {pixel:?}",
                    a.number
                );
            }
            // Figure, notes and legend take a twentieth of the picture at least, also from the side, where a body is thin.
            let paper = canvas.pixmap().pixel(0, 0);
            let painted = canvas
                .pixmap()
                .pixels()
                .iter()
                .filter(|p| Some(**p) != paper)
                .count();
            assert!(painted * 20 > (w * h) as usize, "{name}: {painted} of {}", w * h);
        }
        let made = |threads: usize| {
            let pool = rayon::ThreadPoolBuilder::new()
                .num_threads(threads)
                .build()
                .unwrap();
            pool.install(|| pictures(&mesh, &audit(&mesh, &Options::default())).unwrap())
        };
        assert!(made(1) == made(2));
    }

    /// A sound body has no marks; the legend says nothing of colours that are not there.
    #[test]
    fn a_sound_body_is_drawn_without_failures() {
        let mesh = body(false);
        let found = audit(&mesh, &Options::default());
        assert!(found.outcome() < Outcome::Fail);
        let (_, marks) = draw(&mesh, &found, "front", 0.0).unwrap();
        assert!(marks.iter().all(|m| m.colour == UNDER));
    }
}
