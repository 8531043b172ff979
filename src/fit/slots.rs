//! What moves by itself: one unknown for each vertex and axis, the same one for both of a mirrored pair.

use crate::mesh::adjacency::NONE;

/// Which vertices go together.
#[derive(Debug, Clone, Copy)]
pub(super) struct Partners<'a> {
    /// Who mirrors whom about a plane x = c: itself on the centre line, [`NONE`] without a partner.
    pub(super) of: &'a [u32],
    /// The first vertex at each one's place: seams that are not joined must not tear.
    pub(super) same: &'a [u32],
}

impl Partners<'_> {
    /// The first vertex at the place of a vertex's partner.
    fn first_partner(&self, vertex: u32) -> u32 {
        match self.of[vertex as usize] {
            NONE => NONE,
            partner => self.same[partner as usize],
        }
    }
}

/// The unknowns along one axis.
#[derive(Debug, Clone)]
pub(super) struct Slots {
    pub(super) count: usize,
    /// The unknown of each vertex, [`NONE`] where it stays.
    of: Vec<u32>,
    /// The vertex moves against its unknown.
    against: Vec<bool>,
}

impl Slots {
    /// Unknowns of the free vertices along an axis, 0 for x. On the centre line x stays.
    pub(super) fn new(axis: usize, partners: Partners<'_>, free: &[bool]) -> Self {
        let mut out = Self {
            count: 0,
            of: vec![NONE; free.len()],
            against: vec![false; free.len()],
        };
        for (v, &is_free) in free.iter().enumerate() {
            let first = partners.same[v];
            if (first as usize) < v {
                out.of[v] = out.of[first as usize];
                out.against[v] = out.against[first as usize];
                continue;
            }
            let partner = partners.first_partner(first);
            if !is_free || (axis == 0 && partner == v as u32) {
                continue;
            }
            if partner != NONE && (partner as usize) < v {
                out.of[v] = out.of[partner as usize];
                out.against[v] = axis == 0;
                continue;
            }
            out.of[v] = out.count as u32;
            out.count += 1;
        }
        out
    }

    /// The unknown of a vertex and its sign there; `None` where it stays.
    pub(super) fn get(&self, vertex: u32) -> Option<(usize, f64)> {
        let slot = self.of[vertex as usize];
        (slot != NONE).then(|| {
            (
                slot as usize,
                if self.against[vertex as usize] { -1.0 } else { 1.0 },
            )
        })
    }

    /// A sum over vertices as one over unknowns; ascending, each once.
    pub(super) fn gathered(&self, shares: impl Iterator<Item = (u32, f64)>) -> Vec<(usize, f64)> {
        let mut out: Vec<(usize, f64)> = shares
            .filter_map(|(v, share)| self.get(v).map(|(slot, sign)| (slot, sign * share)))
            .collect();
        out.sort_by_key(|s| s.0);
        out.dedup_by(|next, kept| {
            let same = next.0 == kept.0;
            if same {
                kept.1 += next.1;
            }
            same
        });
        out
    }
}
