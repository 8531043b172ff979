//! Which span of the mesh is which span of the drawing, part by part.
//!
//! Spans are paired by order and overlap: the pairing without crossings whose overlaps sum to most. Where the counts
//! differ some stay alone, rather than being paired by force, and an edge behind which the other side has one more span
//! has no difference.

use crate::anatomy::{Anatomy, Part, Region};
use crate::report::model::{Row, SpanPair};

/// Most spans of a row that are paired: hair and fingers have no parts.
const MOST: usize = 16;

/// Writes into a row its matched spans with their parts. Parts are the drawing's, where it has none the mesh's.
pub fn pair(row: &mut Row, drawing: &Anatomy, mesh: &Anatomy) {
    if row.drawing.len() > MOST || row.mesh.len() > MOST {
        return;
    }
    let (d, m, y) = (&row.drawing, &row.mesh, row.y);
    let overlap = |i: usize, j: usize| (d[i][1].min(m[j][1]) - d[i][0].max(m[j][0])).max(0.0);
    row.spans = matched(d.len(), m.len(), overlap)
        .into_iter()
        .map(|(i, j)| {
            let part = of_span(drawing, d[i], y).or_else(|| of_span(mesh, m[j], y));
            // Another span of one side lies on this one of the other.
            let left = (i > 0 && overlap(i - 1, j) > 0.0) || (j > 0 && overlap(i, j - 1) > 0.0);
            let right =
                (i + 1 < d.len() && overlap(i + 1, j) > 0.0) || (j + 1 < m.len() && overlap(i, j + 1) > 0.0);
            SpanPair {
                part: part.map_or("", Part::name),
                drawing: i,
                mesh: j,
                left_diff: (!left).then(|| d[i][0] - m[j][0]),
                right_diff: (!right).then(|| m[j][1] - d[i][1]),
            }
        })
        .collect();
}

/// Pairs of indices, increasing on both sides, whose overlaps sum to most.
fn matched(n: usize, k: usize, overlap: impl Fn(usize, usize) -> f64) -> Vec<(usize, usize)> {
    // best[i][j]: of the first i and the first j.
    let mut best = vec![vec![0.0f64; k + 1]; n + 1];
    for i in 1..=n {
        for j in 1..=k {
            let pair = overlap(i - 1, j - 1);
            let paired = if pair > 0.0 {
                best[i - 1][j - 1] + pair
            } else {
                0.0
            };
            best[i][j] = best[i - 1][j].max(best[i][j - 1]).max(paired);
        }
    }
    let (mut i, mut j) = (n, k);
    let mut out = Vec::new();
    while i > 0 && j > 0 {
        if best[i][j] == best[i - 1][j] {
            i -= 1;
        } else if best[i][j] == best[i][j - 1] {
            j -= 1;
        } else {
            out.push((i - 1, j - 1));
            i -= 1;
            j -= 1;
        }
    }
    out.reverse();
    out
}

/// The part of a span: the trunk where it runs through the trunk, otherwise what takes most of its ends.
fn of_span(anatomy: &Anatomy, [x0, x1]: [f64; 2], y: f64) -> Option<Part> {
    let parts = anatomy.parts_between(x0, x1, y);
    let body = |p: &&Part| matches!(p.region, Region::Trunk | Region::Neck | Region::Head);
    parts
        .iter()
        .find(body)
        .or_else(|| parts.first())
        .copied()
        .or_else(|| anatomy.part_at(f64::midpoint(x0, x1), y))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pairs(d: &[[f64; 2]], m: &[[f64; 2]]) -> Vec<(usize, usize)> {
        matched(d.len(), m.len(), |i, j| {
            (d[i][1].min(m[j][1]) - d[i][0].max(m[j][0])).max(0.0)
        })
    }

    #[test]
    fn spans_are_paired_in_order_by_overlap() {
        // Arm, trunk, arm against trunk, arm: the left arm stays alone.
        let d = [[-9.0, -7.0], [-4.0, 4.0], [7.0, 9.0]];
        assert_eq!(pairs(&d, &[[-4.5, 4.5], [6.5, 9.5]]), [(1, 0), (2, 1)]);
        // One wide span against three: the trunk.
        assert_eq!(pairs(&d, &[[-9.0, 9.0]]), [(1, 0)]);
        assert_eq!(pairs(&d, &[[20.0, 30.0]]), []);
    }
}
