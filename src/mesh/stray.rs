//! A single vertex that was dragged far away from all others: it makes the mesh as large as itself, and nothing fits.

use super::Mesh;

/// Meshes of fewer vertices have no shape that one could stray from.
const LEAST_VERTICES: usize = 100;
/// It lies farther from the nearest of the others along an axis than this share of what all of them span there.
const FAR: f64 = 0.5;

/// A vertex far from all others.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stray {
    /// Its number, from 0, in the order of the mesh.
    pub vertex: u32,
    /// 0 for x, 1 for y, 2 for z.
    axis: usize,
    /// Its place along that axis.
    at: f64,
    /// Between which all others lie.
    others: [f64; 2],
}

impl std::fmt::Display for Stray {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        // Millions and more in powers of ten, or they are a line of zeros.
        let number = |v: f64| {
            if v.abs() < 1e6 {
                format!("{v:.3}")
            } else {
                format!("{v:.2e}")
            }
        };
        write!(
            f,
            "vertex {} (counted from 0) lies far from all others: {} = {}, where they lie between {} and {}",
            self.vertex,
            ["x", "y", "z"][self.axis],
            number(self.at),
            number(self.others[0]),
            number(self.others[1])
        )
    }
}

/// The vertex that strays farthest, if one does.
pub fn stray(mesh: &Mesh) -> Option<Stray> {
    let positions = mesh.positions();
    if positions.len() < LEAST_VERTICES {
        return None;
    }
    (0..3).filter_map(|axis| along(positions, axis)).max_by(|a, b| {
        let off = |s: &Stray| (s.at - s.others[0]).abs().max((s.at - s.others[1]).abs());
        off(a).total_cmp(&off(b))
    })
}

fn along(positions: &[[f64; 3]], axis: usize) -> Option<Stray> {
    // The two lowest and the two highest, lowest and highest first.
    let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
    let (mut lowest, mut highest) = (0, 0);
    for (i, v) in (0u32..).zip(positions.iter().map(|p| p[axis])) {
        if v < low[0] {
            low = [v, low[0]];
            lowest = i;
        } else if v < low[1] {
            low[1] = v;
        }
        if v > high[0] {
            high = [v, high[0]];
            highest = i;
        } else if v > high[1] {
            high[1] = v;
        }
    }
    let strays = |vertex, at: f64, others: [f64; 2], gap: f64| {
        (gap > FAR * (others[1] - others[0]) && others[1] > others[0]).then_some(Stray {
            vertex,
            axis,
            at,
            others,
        })
    };
    strays(highest, high[0], [low[0], high[1]], high[0] - high[1])
        .or_else(|| strays(lowest, low[0], [low[1], high[0]], low[1] - low[0]))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grid(moved: Option<(usize, [f64; 3])>) -> Mesh {
        let mut positions: Vec<[f64; 3]> = (0..144)
            .map(|i| [f64::from(i % 12), f64::from(i / 12), f64::from(i % 7)])
            .collect();
        if let Some((i, to)) = moved {
            positions[i] = to;
        }
        let faces: Vec<[u32; 4]> = (0..11u32)
            .flat_map(|r| (0..11u32).map(move |c| 12 * r + c))
            .map(|a| [a, a + 1, a + 13, a + 12])
            .collect();
        Mesh::from_polygons(positions, &faces).expect("a mesh")
    }

    #[test]
    fn one_that_was_dragged_away_is_named() {
        assert_eq!(stray(&grid(None)), None);
        assert_eq!(stray(&grid(Some((5, [15.0, 0.0, 0.0])))), None);
        let text = stray(&grid(Some((77, [5.0, -40.0, 3.0]))))
            .expect("one")
            .to_string();
        assert!(
            text.starts_with("vertex 77 ")
                && text.contains("y = -40.000, where they lie between 0.000 and 11.000"),
            "{text}"
        );
        let far = stray(&grid(Some((7, [1e9, 0.0, 0.0])))).expect("one");
        assert_eq!((far.vertex, far.axis, far.others), (7, 0, [0.0, 11.0]));
    }
}
