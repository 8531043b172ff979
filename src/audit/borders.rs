//! Open edges: which run where another border runs too and should be joined to it, which go around a hole, which are
//! meant.
//!
//! Method: edges of one face are chained to borders. An edge whose ends share their places with the ends of another
//! open edge is an unwelded one. The rest of a border is a hole. Meant is the border of a half model that runs along the
//! mirror plane, and a border that was named.

use std::collections::HashMap;

use super::found::{Found, Spot, counted};
use super::model::Outcome;
use crate::mesh::Mesh;
use crate::mesh::adjacency::Adjacency;
use crate::mesh::shells::Shells;
use crate::mesh::vector::{Vector, distance, mean};

/// Two borders are meant to meet if their middles are apart by less than this many of their mean radii: a head that
/// waits above its neck. Found by reasoning.
const FACING: f64 = 1.0;

/// Borders that are compared with each other at most: a figure has a few openings, more are no parts to be joined.
const MOST_COMPARED: usize = 64;

/// A connected run of open edges.
#[derive(Debug, Clone)]
pub struct Border {
    /// Its edges, as indices into the table, ascending.
    pub edges: Vec<u32>,
    /// Its vertices in their order where it is a plain loop or chain, otherwise ascending.
    pub vertices: Vec<u32>,
    /// Every vertex has two open edges: a loop.
    pub closed: bool,
}

/// The borders of a mesh, in the order of their first edge.
pub fn borders(table: &Adjacency) -> Vec<Border> {
    let open: Vec<u32> = (0..table.edges().len() as u32)
        .filter(|&e| table.uses(e as usize).len() == 1)
        .collect();
    let mut at: HashMap<u32, Vec<u32>> = HashMap::new();
    for &e in &open {
        for v in table.edges()[e as usize] {
            at.entry(v).or_default().push(e);
        }
    }
    let mut done = vec![false; table.edges().len()];
    let mut out = Vec::new();
    for &first in &open {
        if done[first as usize] {
            continue;
        }
        let (mut edges, mut open_ends) = (vec![first], vec![first]);
        done[first as usize] = true;
        while let Some(e) = open_ends.pop() {
            for v in table.edges()[e as usize] {
                for &n in &at[&v] {
                    if !done[n as usize] {
                        done[n as usize] = true;
                        edges.push(n);
                        open_ends.push(n);
                    }
                }
            }
        }
        edges.sort_unstable();
        let mut vertices: Vec<u32> = edges.iter().flat_map(|&e| table.edges()[e as usize]).collect();
        vertices.sort_unstable();
        vertices.dedup();
        let closed = vertices.iter().all(|v| at[v].len() == 2);
        if vertices.iter().all(|v| at[v].len() <= 2) {
            vertices = chain(table, &at, &vertices);
        }
        out.push(Border {
            edges,
            vertices,
            closed,
        });
    }
    out
}

/// The vertices of a plain border in their order.
fn chain(table: &Adjacency, at: &HashMap<u32, Vec<u32>>, vertices: &[u32]) -> Vec<u32> {
    let start = vertices
        .iter()
        .copied()
        .find(|v| at[v].len() == 1)
        .unwrap_or(vertices[0]);
    let (mut out, mut last_edge, mut v) = (vec![start], u32::MAX, start);
    while out.len() < vertices.len() {
        let Some(&e) = at[&v].iter().find(|&&e| e != last_edge) else {
            break;
        };
        let [a, b] = table.edges()[e as usize];
        v = if a == v { b } else { a };
        last_edge = e;
        out.push(v);
    }
    out
}

/// What the check of open edges needs to know.
pub(super) struct Asked<'a> {
    pub(super) mesh: &'a Mesh,
    pub(super) table: &'a Adjacency,
    pub(super) shells: &'a Shells,
    /// For each vertex the first one at its place.
    pub(super) same: &'a [u32],
    /// Plane and reach of a half model's border.
    pub(super) half: Option<(f64, f64)>,
    /// Vertices by which borders are named as meant.
    pub(super) meant: &'a [u32],
}

/// Open edges that are not meant, and vertices that should be one.
pub(super) struct Opened {
    pub(super) open: Found,
    /// Open edges that coincide with another one, ascending.
    pub(super) unwelded: Vec<[u32; 2]>,
}

pub(super) fn open_edges(asked: &Asked<'_>, borders: &[Border]) -> Opened {
    let table = asked.table;
    let place = |e: u32| {
        let [a, b] = table.edges()[e as usize].map(|v| asked.same[v as usize]);
        [a.min(b), a.max(b)]
    };
    let mut at_place: HashMap<[u32; 2], u32> = HashMap::new();
    for &e in borders.iter().flat_map(|b| &b.edges) {
        *at_place.entry(place(e)).or_default() += 1;
    }
    let coincides = |e: u32| at_place[&place(e)] > 1;
    let on_plane = |e: u32| {
        asked.half.is_some_and(|(plane, reach)| {
            let [p, q] = table.edges()[e as usize].map(|v| asked.mesh.positions()[v as usize]);
            (p[0] - plane).abs() <= reach
                && (q[0] - plane).abs() <= reach
                && (p[0] - q[0]).abs() <= (p[1] - q[1]).hypot(p[2] - q[2])
        })
    };
    let (mut faulty, mut unwelded, mut spots) = (Vec::new(), Vec::new(), Vec::new());
    let (mut seams, mut holes, mut meant) = (0, 0, 0);
    for border in borders {
        if border.vertices.iter().any(|v| asked.meant.contains(v)) {
            meant += 1;
            continue;
        }
        let left: Vec<u32> = border.edges.iter().copied().filter(|&e| !on_plane(e)).collect();
        meant += usize::from(left.is_empty());
        let (seam, hole): (Vec<u32>, Vec<u32>) = left.iter().partition(|&&e| coincides(e));
        for (edges, is_seam) in [(seam, true), (hole, false)] {
            if edges.is_empty() {
                continue;
            }
            if is_seam {
                seams += 1;
                unwelded.extend(edges.iter().map(|&e| table.edges()[e as usize]));
            } else {
                holes += 1;
            }
            let whole = edges.len() == border.edges.len();
            let mut vertices: Vec<u32> = edges.iter().flat_map(|&e| table.edges()[e as usize]).collect();
            vertices.sort_unstable();
            vertices.dedup();
            let across = widest(asked.mesh, &vertices);
            let size = counted(edges.len(), "edge");
            let text = match (is_seam, whole && border.closed) {
                (true, _) => format!("{size} lie on the edges of another border but are not joined to them"),
                (false, true) => format!("a hole of {size}, {across:.4} across"),
                (false, false) => format!("an open border of {size}, {across:.4} across"),
            };
            spots.push(Spot {
                vertices,
                text,
                at: None,
            });
            faulty.extend(edges.iter().map(|&e| table.edges()[e as usize]));
        }
    }
    faulty.sort_unstable();
    unwelded.sort_unstable();
    let mut none = "the surface is closed".to_string();
    if meant > 0 {
        none = format!(
            "{} open where that is meant, otherwise the surface is closed",
            counted(meant, "border")
        );
    }
    let mut open = Found::edges(faulty, Outcome::Fail, &none, |n| {
        let mut parts = Vec::new();
        if seams > 0 {
            parts.push(format!(
                "{} of borders that coincide without being joined",
                counted(seams, "run")
            ));
        }
        if holes > 0 {
            parts.push(counted(holes, "hole"));
        }
        format!("{} open: {}", counted(n, "edge"), parts.join(", "))
    });
    for text in facing(asked, borders) {
        open.text += "; ";
        open.text += &text;
    }
    open.spots = spots;
    Opened { open, unwelded }
}

/// The longest distance between the vertices, found as the longest extent along an axis: cheap, and no more than
/// 1.8 times too short.
fn widest(mesh: &Mesh, vertices: &[u32]) -> f64 {
    crate::mesh::Extent::around(vertices.iter().map(|&v| mesh.positions()[v as usize]))
        .map_or(0.0, |e| e.largest())
}

/// Borders of two shells that look as if they were to be joined, compared.
fn facing(asked: &Asked<'_>, borders: &[Border]) -> Vec<String> {
    let position = |v: u32| asked.mesh.positions()[v as usize];
    let rings: Vec<(&Border, Vector, f64)> = borders
        .iter()
        .take(MOST_COMPARED)
        .filter(|b| b.closed && !b.vertices.iter().any(|v| asked.meant.contains(v)))
        .map(|b| {
            let middle = mean(b.vertices.iter().map(|&v| position(v)));
            let radius = b
                .vertices
                .iter()
                .map(|&v| distance(position(v), middle))
                .sum::<f64>()
                / b.vertices.len() as f64;
            (b, middle, radius)
        })
        .collect();
    let mut out = Vec::new();
    for (i, (a, at, ra)) in rings.iter().enumerate() {
        for (b, bt, rb) in &rings[i + 1..] {
            let shell = |border: &Border| asked.shells.of_vertex(border.vertices[0]);
            let near = distance(*at, *bt) < FACING * ra.min(*rb);
            if shell(a) == shell(b) || !near {
                continue;
            }
            let gaps: Vec<f64> = a
                .vertices
                .iter()
                .map(|&v| {
                    b.vertices
                        .iter()
                        .map(|&w| distance(position(v), position(w)))
                        .fold(f64::MAX, f64::min)
                })
                .collect();
            let (low, high) = gaps
                .iter()
                .fold((f64::MAX, 0.0_f64), |(l, h), &g| (l.min(g), h.max(g)));
            if high == 0.0 {
                continue;
            }
            let count = if a.vertices.len() == b.vertices.len() {
                format!("both have {}", counted(a.vertices.len(), "vertex"))
            } else {
                format!(
                    "they have {} and {}, which do not match one to one",
                    a.vertices.len(),
                    counted(b.vertices.len(), "vertex")
                )
            };
            out.push(format!(
                "the borders at vertices {} and {} face each other: {count}, {low:.4} to {high:.4} apart",
                a.vertices[0], b.vertices[0],
            ));
        }
    }
    out
}

/// Vertices that share their place with another one and should be one with it: both on an open border, or joined by an
/// edge. Closed surfaces that touch, as lips do, are not to be joined.
pub(super) fn duplicate_vertices(
    mesh: &Mesh,
    table: &Adjacency,
    shells: &Shells,
    same: &[u32],
    borders: &[Border],
) -> Found {
    let mut on_border = vec![false; mesh.positions().len()];
    borders
        .iter()
        .flat_map(|b| &b.vertices)
        .for_each(|&v| on_border[v as usize] = true);
    let used = |v: u32| shells.of_vertex(v) != crate::mesh::adjacency::NONE;
    let mut keyed: Vec<(u32, u32)> = (0..same.len() as u32)
        .filter(|&v| used(v))
        .map(|v| (same[v as usize], v))
        .collect();
    keyed.sort_unstable();
    let mut vertices = Vec::new();
    for group in keyed.chunk_by(|a, b| a.0 == b.0).filter(|g| g.len() > 1) {
        for &(_, v) in group {
            let partner = group.iter().any(|&(_, w)| {
                w != v && (table.between(v, w).is_some() || (on_border[v as usize] && on_border[w as usize]))
            });
            if partner {
                vertices.push(v);
            }
        }
    }
    vertices.sort_unstable();
    Found::vertices(
        vertices,
        Outcome::Fail,
        "no two vertices that should be one share a place",
        |n| {
            format!(
                "{} share their place with another one that they should be one with",
                counted(n, "vertex")
            )
        },
    )
}
