//! From faces to the directed edges that remain when opposite ones have cancelled.
//!
//! Method: every fan triangle of every face, turned counter-clockwise as seen, walks its three edges; an edge counts
//! +1 in one direction and −1 in the other, and what sums to zero bounds nothing. Because all triangles turn the same
//! way the winding number is nowhere negative and at least one exactly where something covers the view, whether the
//! mesh is open, badly wound, doubled or overlaps itself. In a face whose triangles all turn the same way the fan's
//! diagonals cancel, so only its border is walked; triangles without area join the rest of their face.
//!
//! Faces that share an edge usually follow each other closely in the file: edges wait for their partners in a small
//! direct-mapped table, those displaced from it are put aside, sorted and summed in the end. The result is the same for
//! every order of work. Several views share one walk over the mesh.
//!
//! Limit: a file whose faces come in random order displaces nearly every edge, 16 bytes each: a mesh of 4 million quads
//! then takes ten times as long and half a gigabyte.

use rayon::prelude::*;

use super::azimuth::Azimuth;
use super::orientation::orientation;
use crate::mesh::Mesh;
use crate::profile::scan::Edge;

/// Views that share one walk.
pub(crate) const VIEWS: usize = 4;

/// Slots of the table of waiting edges, 2 to this power at most: 1 MB, what a core's second-level cache holds.
const SLOT_BITS: u32 = 16;

/// Faces a task takes at least, so that setting up its table does not count.
const MIN_TASK_FACES: usize = 1 << 17;

/// An edge's count is put aside before it could leave 16 bits; a face adds at most two at a time.
const COUNT_LIMIT: i16 = i16::MAX - 2;

/// No edge: its two vertex numbers would be equal.
const EMPTY: u64 = u64::MAX;

/// 2^64 over the golden ratio: spreads neighbouring keys over the table (Knuth 1973, section 6.4).
const SPREAD: u64 = 0x9e37_79b9_7f4a_7c15;

/// How often an edge is walked in each view, more often from its smaller vertex to its larger than back.
type Counts = [i16; VIEWS];

#[derive(Clone, Copy)]
struct Waiting {
    /// Smaller vertex number in the upper half, larger in the lower.
    key: u64,
    counts: Counts,
}

struct Table {
    slots: Vec<Waiting>,
    /// What a spread key is shifted by to make the number of a slot.
    shift: u32,
    aside: Vec<Waiting>,
}

impl Table {
    /// A table for so many faces: two edges a face, no slots for more.
    fn new(faces: usize) -> Self {
        let bits = (2 * faces.max(1)).next_power_of_two().ilog2().min(SLOT_BITS);
        let empty = Waiting {
            key: EMPTY,
            counts: [0; VIEWS],
        };
        Self {
            slots: vec![empty; 1 << bits],
            shift: u64::BITS - bits,
            aside: Vec::new(),
        }
    }

    #[inline]
    fn walk(&mut self, from: u32, to: u32, turns: Counts) {
        if from == to {
            return;
        }
        let (key, turns) = if from < to {
            (u64::from(from) << 32 | u64::from(to), turns)
        } else {
            (u64::from(to) << 32 | u64::from(from), turns.map(|t| -t))
        };
        let slot = &mut self.slots[(key.wrapping_mul(SPREAD) >> self.shift) as usize];
        if slot.key != key {
            if slot.key != EMPTY {
                self.aside.push(*slot);
            }
            *slot = Waiting { key, counts: turns };
            return;
        }
        for (count, turn) in slot.counts.iter_mut().zip(turns) {
            *count += turn;
        }
        if slot.counts == [0; VIEWS] {
            slot.key = EMPTY;
        } else if slot.counts.iter().any(|c| c.abs() >= COUNT_LIMIT) {
            self.aside.push(*slot);
            slot.key = EMPTY;
        }
    }

    fn finish(mut self) -> Vec<Waiting> {
        self.aside.extend(self.slots.iter().filter(|s| s.key != EMPTY));
        self.aside
    }
}

/// The edges that remain in each view, in the order of their vertex numbers; at most [`VIEWS`] views.
pub(crate) fn remaining_edges(mesh: &Mesh, views: &[Azimuth]) -> Vec<Vec<Edge>> {
    let mut edges = vec![Vec::new(); views.len()];
    each_remaining(mesh, views, |v, [a, b], times| {
        let (view, a, b) = (
            views[v],
            mesh.positions()[a as usize],
            mesh.positions()[b as usize],
        );
        let ends = ((view.view_x(a), view.view_y(a)), (view.view_x(b), view.view_y(b)));
        edges[v].extend(Edge::walked(ends.0, ends.1, times));
    });
    edges
}

/// Calls `found` with the view, the two vertices in ascending order, and how many times more often the edge is walked
/// from the first to the second than back, for every edge that remains in a view.
pub(super) fn each_remaining(mesh: &Mesh, views: &[Azimuth], mut found: impl FnMut(usize, [u32; 2], i32)) {
    let faces = mesh.face_count();
    let tasks = (faces / MIN_TASK_FACES).clamp(1, rayon::current_num_threads());
    let parts: Vec<Vec<Waiting>> = (0..tasks)
        .into_par_iter()
        .map(|t| {
            let own = t * faces / tasks..(t + 1) * faces / tasks;
            let mut table = Table::new(own.len());
            for f in own {
                walk_face(mesh, mesh.face(f), views, &mut table);
            }
            table.finish()
        })
        .collect();
    let mut waiting = parts.concat();
    waiting.par_sort_unstable_by_key(|w| w.key);
    for same in waiting.chunk_by(|a, b| a.key == b.key) {
        let ends = [(same[0].key >> 32) as u32, (same[0].key & 0xffff_ffff) as u32];
        for v in 0..views.len() {
            let times: i32 = same.iter().map(|w| i32::from(w.counts[v])).sum();
            if times != 0 {
                found(v, ends, times);
            }
        }
    }
}

fn walk_face(mesh: &Mesh, face: &[u32], views: &[Azimuth], table: &mut Table) {
    let mut turns: Counts = [0; VIEWS];
    let mut mixed = [false; VIEWS];
    for (v, view) in views.iter().enumerate() {
        let seen = |c: u32| {
            let p = mesh.positions()[c as usize];
            (view.view_x(p), view.view_y(p))
        };
        let (mut left, mut right) = (false, false);
        let apex = seen(face[0]);
        let mut b = seen(face[1]);
        for &corner in &face[2..] {
            let c = seen(corner);
            match orientation(apex, b, c) {
                1 => left = true,
                -1 => right = true,
                _ => {}
            }
            b = c;
        }
        mixed[v] = left && right;
        turns[v] = if mixed[v] {
            0
        } else {
            i16::from(left) - i16::from(right)
        };
    }
    if turns != [0; VIEWS] {
        let mut from = face[face.len() - 1];
        for &to in face {
            table.walk(from, to, turns);
            from = to;
        }
    }
    for (v, view) in views.iter().enumerate().filter(|(v, _)| mixed[*v]) {
        walk_fan(mesh, face, v, *view, table);
    }
}

/// A folded face: triangle by triangle.
#[cold]
fn walk_fan(mesh: &Mesh, face: &[u32], v: usize, view: Azimuth, table: &mut Table) {
    let seen = |c: u32| {
        let p = mesh.positions()[c as usize];
        (view.view_x(p), view.view_y(p))
    };
    for pair in face[1..].windows(2) {
        let (a, b, c) = (face[0], pair[0], pair[1]);
        let mut turns: Counts = [0; VIEWS];
        turns[v] = orientation(seen(a), seen(b), seen(c)) as i16;
        if turns[v] != 0 {
            table.walk(a, b, turns);
            table.walk(b, c, turns);
            table.walk(c, a, turns);
        }
    }
}
