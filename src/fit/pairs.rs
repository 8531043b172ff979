//! Which place of the drawn outline a place of the mesh's outline belongs to.
//!
//! Nearest places jump from an arm to the trunk beside it. Here the places of a ring are followed in their order, and the
//! cheapest way of following the drawing along with them is taken: distance and direction are paid for, so are places of
//! the drawing that are passed over, jumps, and places that stand for nothing drawn (dynamic programming along the
//! contour; Viterbi 1967, Sakoe and Chiba 1978). What both do in the same order is matched however far it moved, and what
//! only one of them has is left alone.

use super::traced::{Place, Traced};

/// A distance that costs 1, in shares of the figure's height.
const APART: f64 = 0.02;
/// What a direction costs that is square to the other; one that is opposite costs twice as much.
const SQUARE: f64 = 15.0;
/// Most that places which belong together may be apart, in shares of the height.
const FARTHEST: f64 = 0.15;
/// What a place costs that stands for nothing drawn.
const NOTHING: f64 = 30.0;
/// What it costs to begin or to end standing for nothing.
const BREAK: f64 = 20.0;
/// What a jump to another place of the drawing costs.
const JUMP: f64 = 45.0;
/// Places of the drawing that one step of the mesh may go, and what each deviation from one costs.
const MOST_ONWARD: usize = 4;
const UNEVEN: f64 = 1.0;

/// No place.
pub(super) const NONE: usize = usize::MAX;

/// For each place of the mesh's outline the place of the drawing that it belongs to, [`NONE`] where there is none.
pub(super) fn pairs(mesh: &Traced, drawing: &Traced, height: f64) -> Vec<usize> {
    let mut out = vec![NONE; mesh.places.len()];
    if drawing.places.is_empty() {
        return out;
    }
    let before = before(drawing);
    for ring in mesh.rings() {
        let found = follow(&mesh.places[ring.clone()], drawing, &before, height);
        out[ring].copy_from_slice(&found);
    }
    out
}

/// For each place of the drawing those 1 to [`MOST_ONWARD`] steps before it.
fn before(drawing: &Traced) -> Vec<[usize; MOST_ONWARD]> {
    let mut one = vec![0; drawing.places.len()];
    for (place, next) in drawing.onward().into_iter().enumerate() {
        one[next] = place;
    }
    (0..one.len())
        .map(|place| {
            let mut at = place;
            std::array::from_fn(|_| {
                at = one[at];
                at
            })
        })
        .collect()
}

fn cost(mesh: &Place, drawn: &Place, height: f64) -> f64 {
    let apart = mesh.at.distance(drawn.at) / height;
    if apart > FARTHEST {
        return f64::INFINITY;
    }
    let along = mesh.outward[0] * drawn.outward[0] + mesh.outward[1] * drawn.outward[1];
    (apart / APART).powi(2) + SQUARE * (1.0 - along)
}

/// One closed ring. It is gone round twice, so that where it begins has no say; the second round counts.
fn follow(ring: &[Place], drawing: &Traced, before: &[[usize; MOST_ONWARD]], height: f64) -> Vec<usize> {
    let (count, states) = (ring.len(), drawing.places.len());
    // The last state stands for nothing.
    let nothing = states;
    let mut now = vec![0.0; states + 1];
    let mut from = vec![0_u32; 2 * count * (states + 1)];
    for step in 0..2 * count {
        let place = &ring[step % count];
        let (cheapest, least) =
            now[..states]
                .iter()
                .enumerate()
                .fold(
                    (nothing, f64::INFINITY),
                    |best, (s, c)| {
                        if *c < best.1 { (s, *c) } else { best }
                    },
                );
        let (enter, jump) = (now[nothing] + BREAK, least + JUMP);
        let anywhere = if enter <= jump {
            (enter, nothing)
        } else {
            (jump, cheapest)
        };
        let origins = &mut from[step * (states + 1)..(step + 1) * (states + 1)];
        let mut next = vec![f64::INFINITY; states + 1];
        for (s, drawn) in drawing.places.iter().enumerate() {
            let own = cost(place, drawn, height);
            if own.is_infinite() {
                continue;
            }
            let mut best = anywhere;
            let stay = now[s] + UNEVEN;
            if stay < best.0 {
                best = (stay, s);
            }
            for (k, &b) in before[s].iter().enumerate() {
                let onward = now[b] + UNEVEN * k as f64;
                if onward < best.0 {
                    best = (onward, b);
                }
            }
            next[s] = best.0 + own;
            origins[s] = best.1 as u32;
        }
        let leave = least + BREAK;
        let (rest, origin) = if now[nothing] <= leave {
            (now[nothing], nothing)
        } else {
            (leave, cheapest)
        };
        next[nothing] = rest + NOTHING;
        origins[nothing] = origin as u32;
        now = next;
    }
    let mut state = now
        .iter()
        .enumerate()
        .min_by(|a, b| a.1.total_cmp(b.1))
        .map_or(nothing, |m| m.0);
    let mut out = vec![NONE; count];
    for step in (count..2 * count).rev() {
        out[step - count] = if state == nothing { NONE } else { state };
        state = from[step * (states + 1) + state] as usize;
    }
    out
}

/// For each place of the mesh how many places away the matching breaks off: where a neighbour belongs to nothing, or to a
/// place of the drawing that does not follow.
pub(super) fn from_breaks(mesh: &Traced, drawing: &Traced, found: &[usize]) -> Vec<usize> {
    let before = before(drawing);
    let follows = |a: usize, b: usize| a != NONE && b != NONE && (a == b || before[b].contains(&a));
    let mut out = vec![usize::MAX; found.len()];
    for ring in mesh.rings() {
        let (first, count) = (ring.start, ring.len());
        for i in 0..count {
            let next = first + (i + 1) % count;
            if !follows(found[first + i], found[next]) {
                (out[first + i], out[next]) = (0, 0);
            }
        }
        // Outwards from the breaks, twice round for the ring's end.
        for _ in 0..2 {
            for i in 0..count {
                let (here, next) = (first + i, first + (i + 1) % count);
                out[next] = out[next].min(out[here].saturating_add(1));
                let (here, next) = (first + count - 1 - i, first + (2 * count - 2 - i) % count);
                out[next] = out[next].min(out[here].saturating_add(1));
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::profile::Outline;
    use crate::space::Point;

    fn outline(points: &[[f64; 2]]) -> Outline<crate::space::ViewUnits> {
        Outline {
            rings: vec![points.iter().map(|p| Point::new(p[0], p[1])).collect()],
        }
    }

    /// A trunk with an arm held away from it; `dx` moves the arm.
    fn with_arm(dx: f64) -> Outline<crate::space::ViewUnits> {
        outline(&[
            [-1.0, 0.0],
            [1.0, 0.0],
            [1.0, 6.0],
            [1.4 + dx, 6.0],
            [1.4 + dx, 2.0],
            [2.0 + dx, 2.0],
            [2.0 + dx, 7.0],
            [1.0, 8.0],
            [-1.0, 8.0],
        ])
    }

    #[test]
    fn an_arm_that_moved_over_the_trunks_edge_is_still_the_arm() {
        // The arm's outer edge, moved in by 0.9, lies nearest to the trunk's edge of the drawing.
        let (drawn, mesh) = (with_arm(0.0), with_arm(-0.3));
        let (drawn, mesh) = (Traced::of(&drawn, 0.08), Traced::of(&mesh, 0.08));
        let found = pairs(&mesh, &drawn, 8.0);
        for (place, pair) in mesh.places.iter().zip(found) {
            let p = place.at;
            if p.y > 2.3 && p.y < 5.7 && p.x > 1.05 {
                let q = drawn.places[pair].at;
                assert!((q.x - p.x - 0.3).abs() < 0.1, "{p:?} went to {q:?}");
            }
        }
    }

    #[test]
    fn what_only_one_has_belongs_to_nothing() {
        let drawn = with_arm(0.0);
        let mesh = outline(&[[-1.0, 0.0], [1.0, 0.0], [1.0, 8.0], [-1.0, 8.0]]);
        let (drawn, mesh) = (Traced::of(&drawn, 0.08), Traced::of(&mesh, 0.08));
        for (place, pair) in mesh.places.iter().zip(pairs(&mesh, &drawn, 8.0)) {
            if place.at.x < 0.9 || place.at.y < 5.8 {
                assert!(drawn.places[pair].at.distance(place.at) < 0.1, "{place:?}");
            }
        }
        // The other way round the arm is what the mesh does not have.
        let found = pairs(&drawn, &mesh, 8.0);
        let arm = drawn
            .places
            .iter()
            .zip(found)
            .filter(|(p, _)| p.at.y < 5.5 && p.at.x > 1.9);
        assert!(arm.clone().count() > 30);
        assert!(arm.filter(|(_, pair)| *pair != NONE).count() < 5);
    }
}
