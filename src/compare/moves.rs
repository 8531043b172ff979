//! Words for moves of vertices and for what a fit leaves.

use super::wording::length;
use crate::fit::{Move, Reason};

/// Vertices that are listed one by one; of more, which are not in a row, the ends are told.
const MOST_LISTED: usize = 4;

/// A move in words: which vertices, where to, how far, over what distance it fades out.
pub fn advised(one: &Move, height: f64) -> String {
    let which = match (one.is_loop, &one.vertices[..]) {
        (true, [_, _, ..]) => format!("loop through {}", vertices(&one.vertices)),
        (_, [v]) => format!("around vertex {v}"),
        (_, some) => vertices(some),
    };
    format!(
        "{which}{}: {} by {}; fading out over {}",
        if one.both_sides {
            " and its mirror image"
        } else {
            ""
        },
        direction(one.axis, one.amount, one.both_sides),
        length(one.amount.abs(), height),
        length(one.fade, height)
    )
}

fn direction(axis: usize, amount: f64, mirrored: bool) -> &'static str {
    match (axis, amount > 0.0, mirrored) {
        (0, true, true) => "out",
        (0, false, true) => "in",
        (0, true, false) => "to the figure's left",
        (0, false, false) => "to the figure's right",
        (1, true, _) => "up",
        (1, false, _) => "down",
        (_, true, _) => "forward",
        (_, false, _) => "back",
    }
}

fn vertices(of: &[u32]) -> String {
    let (low, high) = (of.iter().min(), of.iter().max());
    match (low, high) {
        (Some(a), Some(b)) if of.len() > 1 && (b - a) as usize == of.len() - 1 => format!("vertices {a}–{b}"),
        _ if of.len() <= MOST_LISTED => {
            let all: Vec<String> = of.iter().map(u32::to_string).collect();
            format!("vertices {}", all.join(", "))
        }
        _ => format!(
            "vertices {}, {} … {} ({})",
            of[0],
            of[1],
            of[of.len() - 1],
            of.len()
        ),
    }
}

/// A stretch that a fit left off, in words; `off` is how far the mesh lies beyond the drawing.
pub fn left_over(view: &str, heights: [f64; 2], off: f64, reason: Reason, height: f64) -> String {
    let why = match reason {
        Reason::NotSymmetric => "the drawing is not symmetric here, the mesh takes the mean of both sides",
        Reason::ViewsDisagree => "another view asks for another height here",
        Reason::TooFar => "it is farther than the largest move that is allowed",
        Reason::NotAsked => "it was not asked for",
        Reason::CageTooCoarse => "the mesh has no loop there that could follow the drawing without folding",
    };
    format!(
        "{view}, y {} to {}: still {} {} the drawing; {why}",
        length(heights[0], height),
        length(heights[1], height),
        length(off.abs(), height),
        if off > 0.0 { "beyond" } else { "short of" }
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn moved(vertices: &[u32], axis: usize, amount: f64, both_sides: bool) -> Move {
        Move {
            finding: 0,
            vertices: vertices.to_vec(),
            both_sides,
            is_loop: vertices.len() > 1,
            axis,
            amount,
            fade: 6.0,
            at: [0.0; 3],
        }
    }

    #[test]
    fn moves_are_told_in_the_figures_own_directions() {
        let row: Vec<u32> = (812..=839).rev().collect();
        assert_eq!(
            advised(&moved(&row, 2, -2.9, false), 178.0),
            "loop through vertices 812–839: back by 2.9; fading out over 6.0"
        );
        assert_eq!(
            advised(&moved(&[3, 9, 27, 81, 243], 0, 1.0, true), 178.0),
            "loop through vertices 3, 9 … 243 (5) and its mirror image: out by 1.0; fading out over 6.0"
        );
        assert_eq!(
            advised(&moved(&[7], 1, 1.0, false), 178.0),
            "around vertex 7: up by 1.0; fading out over 6.0"
        );
    }
}
