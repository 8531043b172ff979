//! How often a surface winds around a point: 1 inside a closed surface, 0 outside, in between near open ones.
//!
//! Method: the solid angles of the triangles, summed (Jacobson, Kavan and Sorkine-Hornung 2013); far groups of
//! triangles are replaced by their dipole, first order (Barill, Dickson, Schmidt, Levin and Jacobson 2018). A group is
//! far at more than [`FAR`] of its radii. Good for telling inside from outside, not for more than two digits.

use crate::mesh::vector::{Vector, add_scaled, cross, dot, norm, sub};

/// Found by trial on a ball: with the dipole's first term alone 2 radii err by 0.027, 3 by less than 0.02.
const FAR: f64 = 3.0;
/// Triangles of a leaf: found by reasoning, a dipole costs about as much as one triangle.
const LEAF: usize = 8;

/// Parts of more triangles than this are built side by side.
const SIDE_BY_SIDE: usize = 1 << 14;

/// A surface, ready to be asked.
pub(super) struct Winding {
    triangles: Vec<[Vector; 3]>,
    nodes: Vec<Node>,
}

struct Node {
    from: u32,
    to: u32,
    /// Second child; the first follows its parent. 0 for a leaf.
    second: u32,
    middle: Vector,
    radius: f64,
    /// Sum of the triangles' area vectors.
    area: Vector,
}

impl Winding {
    pub(super) fn new(mut triangles: Vec<[Vector; 3]>) -> Self {
        let nodes = if triangles.is_empty() {
            Vec::new()
        } else {
            build(&mut triangles, 0)
        };
        Self { triangles, nodes }
    }

    /// The winding number about a point.
    pub(super) fn about(&self, at: Vector) -> f64 {
        let mut sum = 0.0;
        let mut open = if self.nodes.is_empty() {
            vec![]
        } else {
            vec![0_u32]
        };
        while let Some(n) = open.pop() {
            let node = &self.nodes[n as usize];
            let away = sub(node.middle, at);
            let distance = norm(away);
            if distance > FAR * node.radius {
                sum += dot(away, node.area) / (distance * distance * distance);
            } else if node.second == 0 {
                for t in &self.triangles[node.from as usize..node.to as usize] {
                    sum += solid_angle(t, at);
                }
            } else {
                open.push(node.second);
                open.push(n + 1);
            }
        }
        sum / (4.0 * std::f64::consts::PI)
    }
}

fn centre(t: &[Vector; 3]) -> Vector {
    [0, 1, 2].map(|k| (t[0][k] + t[1][k] + t[2][k]) / 3.0)
}

/// The tree over some triangles, the first of which has the number `from` among all. Large halves are built side by side.
fn build(triangles: &mut [[Vector; 3]], from: usize) -> Vec<Node> {
    let mut nodes = Vec::new();
    if triangles.len() <= SIDE_BY_SIDE {
        grow(triangles, from, &mut nodes);
        return nodes;
    }
    let (node, axis) = head(triangles, from);
    nodes.push(node);
    let (left, right) = halves(triangles, axis);
    let middle = from + left.len();
    let (first, second) = rayon::join(|| build(left, from), || build(right, middle));
    nodes[0].second = 1 + first.len() as u32;
    for part in [first, second] {
        // Their numbers count from the part's own beginning.
        let begin = nodes.len() as u32;
        nodes.extend(part.into_iter().map(|node| Node {
            second: if node.second == 0 { 0 } else { node.second + begin },
            ..node
        }));
    }
    nodes
}

/// The same in one thread, behind the nodes that are there.
fn grow(triangles: &mut [[Vector; 3]], from: usize, nodes: &mut Vec<Node>) {
    let (node, axis) = head(triangles, from);
    let place = nodes.len();
    nodes.push(node);
    if triangles.len() <= LEAF {
        return;
    }
    let (left, right) = halves(triangles, axis);
    let middle = from + left.len();
    grow(left, from, nodes);
    nodes[place].second = nodes.len() as u32;
    grow(right, middle, nodes);
}

/// The triangles cut into two halves across an axis.
fn halves(triangles: &mut [[Vector; 3]], axis: usize) -> (&mut [[Vector; 3]], &mut [[Vector; 3]]) {
    let half = triangles.len() / 2;
    triangles.select_nth_unstable_by(half, |a, b| centre(a)[axis].total_cmp(&centre(b)[axis]));
    triangles.split_at_mut(half)
}

/// The node of some triangles, without children, and the axis along which they reach farthest.
fn head(triangles: &[[Vector; 3]], from: usize) -> (Node, usize) {
    let (mut low, mut high) = ([f64::MAX; 3], [f64::MIN; 3]);
    let (mut area, mut weight, mut middle) = ([0.0; 3], 0.0, [0.0; 3]);
    for t in triangles {
        let c = centre(t);
        for k in 0..3 {
            low[k] = low[k].min(c[k]);
            high[k] = high[k].max(c[k]);
        }
        let a = cross(sub(t[1], t[0]), sub(t[2], t[0])).map(|v| v / 2.0);
        area = add_scaled(area, 1.0, a);
        let size = norm(a);
        middle = add_scaled(middle, size, c);
        weight += size;
    }
    let middle = if weight > 0.0 {
        middle.map(|v| v / weight)
    } else {
        centre(&triangles[0])
    };
    let radius = triangles
        .iter()
        .flatten()
        .map(|p| norm(sub(*p, middle)))
        .fold(0.0, f64::max);
    let axis = (0..3).fold(0, |best, k| {
        if high[k] - low[k] > high[best] - low[best] {
            k
        } else {
            best
        }
    });
    let node = Node {
        from: from as u32,
        to: (from + triangles.len()) as u32,
        second: 0,
        middle,
        radius,
        area,
    };
    (node, axis)
}

/// The signed solid angle of a triangle (Van Oosterom and Strackee 1983).
pub(super) fn solid_angle(t: &[Vector; 3], at: Vector) -> f64 {
    let [a, b, c] = t.map(|p| sub(p, at));
    let [la, lb, lc] = [norm(a), norm(b), norm(c)];
    let volume = dot(a, cross(b, c));
    let below = la * lb * lc + dot(a, b) * lc + dot(b, c) * la + dot(c, a) * lb;
    if volume == 0.0 && below == 0.0 {
        return 0.0;
    }
    2.0 * volume.atan2(below)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A ball of radius 1 in rings and sectors, outward.
    fn ball(rings: usize, sectors: usize) -> Vec<[Vector; 3]> {
        let at = |i: usize, j: usize| {
            let (a, b) = (
                std::f64::consts::PI * i as f64 / rings as f64,
                std::f64::consts::TAU * j as f64 / sectors as f64,
            );
            [a.sin() * b.sin(), a.cos(), a.sin() * b.cos()]
        };
        let mut out = Vec::new();
        for i in 0..rings {
            for j in 0..sectors {
                let [a, b, c, d] = [at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)];
                out.extend([[a, b, c], [a, c, d]]);
            }
        }
        out
    }

    /// A closed surface winds once around its inside and not at all around its outside.
    #[test]
    fn a_ball_winds_once_about_its_inside() {
        let ball = Winding::new(ball(24, 48));
        for k in 0..50 {
            let r = 0.03 * f64::from(k);
            let at = [0.36 * r, 0.48 * r, 0.8 * r];
            let expected = if r < 0.99 { 1.0 } else { 0.0 };
            // The dipoles' error; the surface itself is crossed between 0.99 and 1.
            if !(0.97..1.01).contains(&r) {
                assert!(
                    (ball.about(at) - expected).abs() < 0.02,
                    "{r}: {}",
                    ball.about(at)
                );
            }
        }
    }

    /// From the middle of a cube a face takes a sixth of the sphere, each of its two triangles a twelfth.
    #[test]
    fn solid_angle_of_a_cubes_face() {
        let half = [[-1.0, -1.0, 1.0], [1.0, -1.0, 1.0], [1.0, 1.0, 1.0]];
        let expected = 4.0 * std::f64::consts::PI / 12.0;
        assert!((solid_angle(&half, [0.0; 3]) - expected).abs() < 1e-12);
    }
}
