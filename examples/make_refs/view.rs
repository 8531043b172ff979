//! One orthographic view of the cage: its exact outline, what is seen at each pixel, and the lines that an
//! inker would find on it (occluding contours and seams between materials).
//!
//! The outline is the union of the projected triangles (crate `i_overlay`, polygon clipping). Contours are
//! the zero set of normal times view direction, interpolated over the faces (Hertzmann and Zorin,
//! "Illustrating smooth surfaces", 2000), taken on a once more smoothed cage so that they run smoothly; that
//! smoothed cage lies up to a few millimetres inside, which does not matter for inner drawing.

use crate::cage::{Cage, Material, V3, cross, dot, sub};
use i_overlay::core::fill_rule::FillRule;
use i_overlay::float::simplify::SimplifyShape;
use std::collections::BTreeMap;

/// A point of a view: right and up, cm.
pub(crate) type V2 = [f64; 2];

/// The views of the sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum View {
    Front,
    /// Facing right: the figure's right side is seen.
    Side,
    Back,
}

impl View {
    /// Right, up and towards the viewer.
    pub(crate) fn seen(self, [x, y, z]: V3) -> V3 {
        match self {
            Self::Front => [x, y, z],
            Self::Side => [z, y, -x],
            Self::Back => [-x, y, -z],
        }
    }
}

/// The exact outline: closed rings, cm.
pub(crate) fn outline(cage: &Cage, view: View) -> Vec<Vec<V2>> {
    let seen: Vec<V3> = cage.positions.iter().map(|&p| view.seen(p)).collect();
    let mut triangles: Vec<Vec<V2>> = Vec::with_capacity(2 * cage.quads.len());
    for &[a, b, c, d] in &cage.quads {
        for t in [[a, b, c], [a, c, d]] {
            let [p, q, r] = t.map(|i| {
                let [x, y, _] = seen[i as usize];
                [x, y]
            });
            let area = (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]);
            // All the same way round, so that no overlap cancels.
            triangles.push(if area >= 0.0 { vec![p, q, r] } else { vec![p, r, q] });
        }
    }
    triangles
        .simplify_shape(FillRule::NonZero)
        .into_iter()
        .flatten()
        .collect()
}

/// What a view shows at each cell of a grid.
pub(crate) struct Seen {
    pub(crate) width: usize,
    pub(crate) height: usize,
    /// Left edge and top edge of the grid, cm.
    pub(crate) origin: V2,
    /// Cells a cm.
    pub(crate) density: f64,
    /// Distance towards the viewer, cm; minus infinity where nothing is seen.
    pub(crate) depth: Vec<f64>,
    pub(crate) material: Vec<Option<Material>>,
    /// Share of the light from the upper left front, -1..1.
    pub(crate) light: Vec<f64>,
}

/// The light comes over the artist's left shoulder.
const LIGHT: V3 = [-0.5, 0.62, 0.6];

impl Seen {
    /// Draws the cage into a grid.
    pub(crate) fn new(cage: &Cage, view: View, origin: V2, size: [usize; 2], density: f64) -> Self {
        let [width, height] = size;
        let mut s = Self {
            width,
            height,
            origin,
            density,
            depth: vec![f64::NEG_INFINITY; width * height],
            material: vec![None; width * height],
            light: vec![0.0; width * height],
        };
        let seen: Vec<V3> = cage.positions.iter().map(|&p| view.seen(p)).collect();
        let light: Vec<f64> = cage.normals().iter().map(|&n| dot(view.seen(n), LIGHT)).collect();
        for (&[a, b, c, d], &m) in cage.quads.iter().zip(&cage.materials) {
            for t in [[a, b, c], [a, c, d]] {
                s.triangle(t.map(|i| (seen[i as usize], light[i as usize])), m);
            }
        }
        s
    }

    fn cell(&self, p: V3) -> V2 {
        [
            (p[0] - self.origin[0]) * self.density,
            (self.origin[1] - p[1]) * self.density,
        ]
    }

    fn triangle(&mut self, corners: [(V3, f64); 3], material: Material) {
        let n = cross(sub(corners[1].0, corners[0].0), sub(corners[2].0, corners[0].0));
        if n[2] <= 0.0 {
            return;
        }
        let [p, q, r] = corners.map(|c| self.cell(c.0));
        let area = (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]);
        let range = |axis: usize, limit: usize| {
            let low = p[axis].min(q[axis]).min(r[axis]).floor().max(0.0);
            let high = p[axis].max(q[axis]).max(r[axis]).ceil();
            low as usize..high.clamp(0.0, limit as f64) as usize
        };
        for y in range(1, self.height) {
            for x in range(0, self.width) {
                let c = [x as f64 + 0.5, y as f64 + 0.5];
                let part =
                    |u: V2, v: V2| ((v[0] - u[0]) * (c[1] - u[1]) - (v[1] - u[1]) * (c[0] - u[0])) / area;
                let w = [part(q, r), part(r, p), part(p, q)];
                if w.iter().any(|&w| w < 0.0) {
                    continue;
                }
                let depth: f64 = w.iter().zip(&corners).map(|(w, c)| w * c.0[2]).sum();
                let i = y * self.width + x;
                if depth > self.depth[i] {
                    self.depth[i] = depth;
                    self.material[i] = Some(material);
                    self.light[i] = w.iter().zip(&corners).map(|(w, c)| w * c.1).sum();
                }
            }
        }
    }

    /// Whether a point of the surface is in sight. Compared with the farthest of the cells around, as a
    /// contour lies on the edge between near and far.
    fn in_sight(&self, p: V3) -> bool {
        /// A surface point may lie this far behind its cell's depth (cell size times a steep slope), cm.
        const SLACK: f64 = 0.25;
        let [x, y] = self.cell(p);
        let mut far = f64::INFINITY;
        for j in -1..=1 {
            for i in -1..=1 {
                let (u, v) = (x.floor() as i64 + i, y.floor() as i64 + j);
                if let (Ok(u), Ok(v)) = (usize::try_from(u), usize::try_from(v))
                    && u < self.width
                    && v < self.height
                {
                    far = far.min(self.depth[v * self.width + u]);
                }
            }
        }
        p[2] >= far - SLACK
    }
}

/// The visible inner lines: occluding contours, and seams between materials.
pub(crate) struct Lines {
    pub(crate) contours: Vec<Vec<V2>>,
    pub(crate) seams: Vec<Vec<V2>>,
}

type Node = (u32, u32);

/// Finds the inner lines of a view on the cage that `sight` was made from.
pub(crate) fn lines(cage: &Cage, view: View, sight: &Seen) -> Lines {
    let facing: Vec<f64> = cage.normals().iter().map(|&n| view.seen(n)[2]).collect();
    let mut contour = Vec::new();
    let mut sides: BTreeMap<Node, Vec<Material>> = BTreeMap::new();
    for (&[a, b, c, d], &m) in cage.quads.iter().zip(&cage.materials) {
        for t in [[a, b, c], [a, c, d]] {
            let crossed: Vec<Node> = (0..3)
                .map(|i| (t[i], t[(i + 1) % 3]))
                .filter(|&(u, v)| (facing[u as usize] > 0.0) != (facing[v as usize] > 0.0))
                .map(|(u, v)| (u.min(v), u.max(v)))
                .collect();
            if let [p, q] = crossed[..] {
                contour.push((p, q));
            }
        }
        for (u, v) in [(a, b), (b, c), (c, d), (d, a)] {
            sides.entry((u.min(v), u.max(v))).or_default().push(m);
        }
    }
    let seams: Vec<(Node, Node)> = sides
        .iter()
        .filter(|(_, m)| m.len() == 2 && m[0] != m[1])
        .map(|(&(u, v), _)| ((u, u), (v, v)))
        .collect();
    let place = |(u, v): Node| {
        let (p, q) = (cage.positions[u as usize], cage.positions[v as usize]);
        let (f, g) = (facing[u as usize], facing[v as usize]);
        let t = if u == v { 0.0 } else { f / (f - g) };
        view.seen([0, 1, 2].map(|i| p[i] + t * (q[i] - p[i])))
    };
    let visible = |chains: Vec<Vec<Node>>, turned: bool| {
        let mut runs = Vec::new();
        for chain in chains {
            let mut run: Vec<V2> = Vec::new();
            for node in chain {
                let p = place(node);
                // A seam on the far side of the figure is not in sight, however near the silhouette.
                if sight.in_sight(p) && (turned || facing[node.0 as usize] > 0.0) {
                    run.push([p[0], p[1]]);
                } else {
                    runs.push(std::mem::take(&mut run));
                }
            }
            runs.push(run);
        }
        runs.retain(|r| r.len() > 2);
        runs
    };
    Lines {
        contours: visible(chained(&contour), true),
        seams: visible(chained(&seams), false),
    }
}

/// Joins segments into chains; ends at nodes where not exactly two segments meet.
fn chained(segments: &[(Node, Node)]) -> Vec<Vec<Node>> {
    let mut at: BTreeMap<Node, Vec<usize>> = BTreeMap::new();
    for (i, &(a, b)) in segments.iter().enumerate() {
        at.entry(a).or_default().push(i);
        at.entry(b).or_default().push(i);
    }
    let mut used = vec![false; segments.len()];
    let mut chains = Vec::new();
    // Open chains from their ends first, closed ones from anywhere after.
    let ends = at.iter().filter(|(_, s)| s.len() != 2).map(|(&n, _)| n);
    for start in ends.chain(at.keys().copied()) {
        while let Some(&first) = at[&start].iter().find(|&&s| !used[s]) {
            let mut chain = vec![start];
            let mut next = Some(first);
            while let Some(s) = next {
                used[s] = true;
                let (a, b) = segments[s];
                let here = chain[chain.len() - 1];
                let far = if a == here { b } else { a };
                chain.push(far);
                next = (at[&far].len() == 2)
                    .then(|| at[&far].iter().copied().find(|&s| !used[s]))
                    .flatten();
            }
            chains.push(chain);
        }
    }
    chains
}
