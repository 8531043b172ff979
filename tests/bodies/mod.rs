//! Standing figures put together from ellipsoids, capsules and tori, of random build and pose; any part can be left
//! out or made wrong on purpose. Feet at y = 0, facing +z, about 1 tall before they are scaled.
#![allow(dead_code, reason = "every test file uses another part of it")]

use std::f64::consts::{PI, TAU};

use drawntrue::mesh::Mesh;
use drawntrue::place::assign::{Asked, Candidate};
use drawntrue::profile::Outline;
use drawntrue::sheet::evidence::Evidence;
use drawntrue::sheet::read::Figure;
use drawntrue::silhouette::{Azimuth, silhouettes};
use drawntrue::space::{Level, Point, ViewUnits};

use crate::rng::Rng;

/// Rings and columns of each solid: its outline then errs by less than a twentieth of a percent of its own radius.
const RINGS: usize = 15;
const COLUMNS: usize = 24;
/// Rows of the outlines.
pub(crate) const ROWS: usize = 600;

/// A solid with the name of the part that it belongs to.
struct Solid {
    part: &'static str,
    positions: Vec<[f64; 3]>,
    faces: Vec<Vec<u32>>,
}

/// What is wrong with a part on purpose.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Wrong {
    /// Whose.
    pub(crate) part: &'static str,
    /// Its thickness is multiplied by this.
    pub(crate) thick: f64,
    /// Its length is multiplied by this; what hangs on it moves along.
    pub(crate) long: f64,
}

/// The measures of a figure, drawn at random.
#[derive(Debug, Clone)]
pub(crate) struct Build {
    girth: f64,
    head: f64,
    shoulders: f64,
    hips: f64,
    stance: f64,
    lean: f64,
    nod: f64,
    belt: bool,
    skirt: bool,
    one_side: f64,
    /// Arms below the horizontal, degrees.
    pub(crate) arms: f64,
    /// And how much the forearms turn on from there.
    pub(crate) elbow: f64,
}

impl Build {
    pub(crate) fn random(rng: &mut Rng) -> Self {
        Self {
            girth: rng.range(0.85, 1.3),
            head: rng.range(0.85, 1.6),
            shoulders: rng.range(0.1, 0.135),
            hips: rng.range(0.055, 0.075),
            stance: rng.range(0.0, 0.06),
            lean: rng.range(-0.03, 0.03),
            nod: rng.range(-0.2, 0.2),
            belt: rng.unit() < 0.5,
            skirt: rng.unit() < 0.25,
            one_side: rng.range(0.0, 0.02),
            arms: rng.range(0.0, 70.0),
            elbow: rng.range(0.0, 25.0),
        }
    }

    /// The figure: whole, but without the parts `missing`, with `wrong` parts.
    pub(crate) fn figure(&self, missing: &[&str], wrong: &[Wrong], scale: f64) -> Mesh {
        let mut all = Solids {
            wrong: wrong.to_vec(),
            solids: Vec::new(),
        };
        let g = self.girth;
        for side in [-1.0, 1.0] {
            let hip = [side * self.hips, 0.52, 0.0];
            let knee = [side * (self.hips + 0.4 * self.stance), 0.285, 0.012];
            let ankle = [side * (self.hips + self.stance), 0.05, -0.008];
            let [thigh, calf, foot] = if side < 0.0 {
                ["right-thigh", "right-calf", "right-foot"]
            } else {
                ["left-thigh", "left-calf", "left-foot"]
            };
            all.capsule(thigh, hip, knee, 0.046 * g);
            all.capsule(calf, knee, ankle, 0.032 * g);
            all.ellipsoid(
                foot,
                [ankle[0], 0.024, 0.035],
                [0.03 * g.min(1.1), 0.0245, 0.075],
                0.0,
            );
        }
        all.ellipsoid(
            "pelvis",
            [0.0, 0.53, -0.008],
            [self.hips + 0.042 * g, 0.07, 0.068 * g],
            0.0,
        );
        all.ellipsoid(
            "torso",
            [0.0, 0.645, 0.004 + self.lean],
            [0.078 * g, 0.12, 0.058 * g],
            0.0,
        );
        all.ellipsoid(
            "torso",
            [0.0, 0.745, 0.01 + self.lean],
            [0.095 * g, 0.09, 0.07 * g],
            0.0,
        );
        if self.belt {
            all.torus("torso", [0.0, 0.6, 0.0], 0.08 * g, 0.014);
        }
        if self.skirt {
            all.torus("pelvis", [0.0, 0.44, 0.0], self.hips + 0.05 * g, 0.022);
        }
        let neck = 0.06 * all.long("neck") - 0.06;
        let root = [0.0, 0.815, self.lean];
        let nape = [0.0, 0.875 + neck, self.lean + 0.008];
        all.capsule("neck", root, nape, 0.028 * g);
        let h = self.head;
        let middle = [0.0, 0.86 + neck + 0.07 * h, self.lean + 0.012];
        all.ellipsoid("head", middle, [0.056 * h, 0.078 * h, 0.066 * h], self.nod);
        all.ellipsoid(
            "head",
            [middle[0], middle[1] - 0.015 * h, middle[2] + 0.066 * h],
            [0.012, 0.012, 0.02],
            0.0,
        );
        // A lock of hair to one side: the front view is not quite its own mirror image.
        all.ellipsoid(
            "head",
            [0.05 * h, middle[1] + 0.03 * h, middle[2]],
            [0.01 + self.one_side, 0.03, 0.03],
            0.0,
        );
        for side in [-1.0, 1.0] {
            let [upper, fore, hand] = if side < 0.0 {
                ["right-upper-arm", "right-forearm", "right-hand"]
            } else {
                ["left-upper-arm", "left-forearm", "left-hand"]
            };
            let along = |from: [f64; 3], angle: f64, length: f64| {
                let (s, c) = angle.to_radians().sin_cos();
                [from[0] + side * c * length, from[1] - s * length, from[2]]
            };
            let shoulder = [side * self.shoulders, 0.79, self.lean];
            let elbow = along(shoulder, self.arms, 0.17 * all.long(upper));
            let wrist = along(elbow, self.arms + self.elbow, 0.145 * all.long(fore));
            let palm = along(wrist, self.arms + self.elbow, 0.05);
            all.capsule(upper, shoulder, elbow, 0.025 * g);
            all.capsule(fore, elbow, wrist, 0.02 * g);
            all.capsule(hand, wrist, palm, 0.018);
        }
        all.mesh(missing, scale)
    }
}

/// Names of parts that belong together.
pub(crate) const HEAD: [&str; 2] = ["head", "neck"];
pub(crate) const ARMS: [&str; 6] = [
    "left-upper-arm",
    "right-upper-arm",
    "left-forearm",
    "right-forearm",
    "left-hand",
    "right-hand",
];
pub(crate) const LEG: [&str; 3] = ["left-thigh", "left-calf", "left-foot"];
pub(crate) const FEET: [&str; 2] = ["left-foot", "right-foot"];

struct Solids {
    wrong: Vec<Wrong>,
    solids: Vec<Solid>,
}

impl Solids {
    fn thick(&self, part: &str) -> f64 {
        self.wrong
            .iter()
            .filter(|w| w.part == part)
            .map(|w| w.thick)
            .product()
    }

    fn long(&self, part: &str) -> f64 {
        self.wrong
            .iter()
            .filter(|w| w.part == part)
            .map(|w| w.long)
            .product()
    }

    /// A closed grid: `place` of the ring's angle from −π/2 to π/2 and of the turn around.
    fn grid(&mut self, part: &'static str, closed: bool, place: impl Fn(f64, f64) -> [f64; 3]) {
        let rings = RINGS;
        let mut positions = Vec::new();
        for i in 0..rings {
            let a = if closed {
                TAU * i as f64 / rings as f64
            } else {
                PI * (i as f64 / (rings - 1) as f64 - 0.5)
            };
            for j in 0..COLUMNS {
                positions.push(place(a, TAU * j as f64 / COLUMNS as f64));
            }
        }
        let last = if closed { rings } else { rings - 1 };
        let at = |i: usize, j: usize| ((i % rings) * COLUMNS + j % COLUMNS) as u32;
        let faces = (0..last)
            .flat_map(|i| {
                (0..COLUMNS).map(move |j| vec![at(i, j), at(i, j + 1), at(i + 1, j + 1), at(i + 1, j)])
            })
            .collect();
        self.solids.push(Solid {
            part,
            positions,
            faces,
        });
    }

    /// Half axes along x, y, z, nodding forward by `nod` radians.
    fn ellipsoid(&mut self, part: &'static str, at: [f64; 3], half: [f64; 3], nod: f64) {
        let (t, l) = (self.thick(part), self.long(part));
        // A foot or a head that is too long is longer forward; feet stay on the ground.
        let half = [
            half[0] * t,
            half[1] * if part.contains("foot") { 1.0 } else { t },
            half[2] * t * l,
        ];
        let (sn, cn) = nod.sin_cos();
        self.grid(part, false, |a, b| {
            let p = [
                half[0] * a.cos() * b.cos(),
                half[1] * a.sin(),
                half[2] * a.cos() * b.sin(),
            ];
            [
                at[0] + p[0],
                at[1] + p[1] * cn - p[2] * sn,
                at[2] + p[1] * sn + p[2] * cn,
            ]
        });
    }

    fn capsule(&mut self, part: &'static str, from: [f64; 3], to: [f64; 3], radius: f64) {
        let r = radius * self.thick(part);
        let d: [f64; 3] = std::array::from_fn(|k| to[k] - from[k]);
        let length = d.iter().map(|v| v * v).sum::<f64>().sqrt();
        let w = d.map(|v| v / length);
        // Two directions square to the axis.
        let u = if w[2].abs() < 0.9 {
            [0.0, 0.0, 1.0]
        } else {
            [1.0, 0.0, 0.0]
        };
        let cross = |a: [f64; 3], b: [f64; 3]| {
            [
                a[1] * b[2] - a[2] * b[1],
                a[2] * b[0] - a[0] * b[2],
                a[0] * b[1] - a[1] * b[0],
            ]
        };
        let v = cross(w, u);
        let n = v.iter().map(|x| x * x).sum::<f64>().sqrt();
        let v = v.map(|x| x / n);
        let u = cross(v, w);
        self.grid(part, false, |a, b| {
            // The middle ring stands for the whole cylinder: lower half at one end, upper half at the other.
            let (s, c) = a.sin_cos();
            let along = r * s + if s > 1e-9 { length } else { 0.0 };
            std::array::from_fn(|k| from[k] + along * w[k] + r * c * (b.cos() * u[k] + b.sin() * v[k]))
        });
    }

    /// A ring about the y axis.
    fn torus(&mut self, part: &'static str, at: [f64; 3], big: f64, small: f64) {
        let big = big * self.thick(part);
        self.grid(part, true, |a, b| {
            let r = big + small * a.cos();
            [at[0] + r * b.cos(), at[1] + small * a.sin(), at[2] + r * b.sin()]
        });
    }

    fn mesh(&self, missing: &[&str], scale: f64) -> Mesh {
        let (mut positions, mut faces) = (Vec::new(), Vec::new());
        for s in self.solids.iter().filter(|s| !missing.contains(&s.part)) {
            let first = positions.len() as u32;
            positions.extend(s.positions.iter().map(|p| p.map(|v| v * scale)));
            faces.extend(
                s.faces
                    .iter()
                    .map(|f| f.iter().map(|c| c + first).collect::<Vec<u32>>()),
            );
        }
        Mesh::from_polygons(positions, &faces).expect("a sound figure")
    }
}

/// The outlines of a mesh.
pub(crate) fn outlines(mesh: &Mesh, azimuths: &[Azimuth]) -> Vec<Outline<ViewUnits>> {
    silhouettes(mesh, azimuths)
        .iter()
        .map(|s| s.outline(ROWS))
        .collect()
}

/// An outline as a hand draws it: moved along its normals by a smooth curve of at most `most` (units).
pub(crate) fn drawn_by_hand(outline: &Outline<ViewUnits>, most: f64, rng: &mut Rng) -> Outline<ViewUnits> {
    let rings = outline
        .rings
        .iter()
        .map(|r| {
            let n = r.len();
            let waves = rng.waves(n.max(1), 12);
            (0..n)
                .map(|i| {
                    let (a, b) = (r[(i + n - 1) % n], r[(i + 1) % n]);
                    let length = a.distance(b).max(1e-12);
                    let by = most * waves[i].clamp(-1.0, 1.0);
                    Point::new(
                        r[i].x + by * (b.y - a.y) / length,
                        r[i].y - by * (b.x - a.x) / length,
                    )
                })
                .collect()
        })
        .collect();
    Outline { rings }
}

/// Lays an outline onto a sheet.
pub(crate) fn on_sheet(
    outline: &Outline<ViewUnits>,
    placement: &drawntrue::place::transform::Placement,
) -> Outline<Level> {
    Outline {
        rings: outline
            .rings
            .iter()
            .map(|r| r.iter().map(|p| placement.to_sheet(*p)).collect())
            .collect(),
    }
}

/// A drawn figure as the sheet's reader hands it on.
pub(crate) fn read_as(level: Outline<Level>, face: f64, oblique: bool) -> Figure {
    let b = level.bounds().expect("a figure");
    Figure {
        box_px: [b.x0, b.y0, b.x1, b.y1],
        upright: Outline::default(),
        crown_px: b.y0,
        ground_px: b.y1,
        level,
        line_px: 3.0,
        face,
        oblique,
        enclosed: Vec::new(),
        closed: Vec::new(),
        doubtful: Vec::new(),
        soft_px: 0.0,
        evidence: Evidence::default(),
        confidence: 1.0,
        warnings: Vec::new(),
    }
}

/// A figure of a sheet of one image of which nothing is known.
pub(crate) fn candidate(figure: &Figure, asked: Asked) -> Candidate<'_> {
    Candidate {
        image: 0,
        asked,
        figure,
        axis_px: None,
    }
}
