//! The invented character: Tamsel Wick, a lamp trimmer. Tables of rings, in centimetres, lofted into the
//! half x >= 0 of a control cage; mirrored and smoothed once it is the cage of the demo.
//!
//! Every number in the tables is a design decision, made by eye; the smoothing step draws rings in a
//! little, so finished widths are some percent below those of the tables. The figure stands in a T-pose,
//! y up, facing +z, the ground at y = 0.

use crate::cage::{Cage, Material, V3};
use std::f64::consts::PI;

/// Height of the finished figure, crown to ground, cm.
pub(crate) const HEIGHT: f64 = 152.0;

/// Steps of half a body ring, from the front centre over the figure's left to the back centre.
const HALF: usize = 8;
/// Vertices of a leg ring: half a body ring, closed by three vertices of the crotch.
const LEG: usize = 12;
/// Vertices of an arm ring, as many as the border of the arm's opening in the torso has.
const ARM: usize = 8;
/// The columns of the torso's rings between which the arm's opening lies.
const ARMHOLE: (usize, usize) = (3, 5);
/// Body rings are superellipses with this exponent on sine and cosine: below 1 is boxier than a circle.
const BOXINESS: f64 = 0.86;

/// A closed ring of the body, seen from above: half width, and how far it reaches to front and back of
/// its widest place `mid`.
#[derive(Clone, Copy)]
struct Hoop {
    y: f64,
    /// Added to y at the front and taken away at the back.
    tilt: f64,
    half_width: f64,
    front: f64,
    back: f64,
    mid: f64,
    material: Material,
}

const fn hoop(y: f64, tilt: f64, size: [f64; 4], material: Material) -> Hoop {
    let [half_width, front, back, mid] = size;
    Hoop {
        y,
        tilt,
        half_width,
        front,
        back,
        mid,
        material,
    }
}

/// Pelvis to scarf, from below. The material is that of the band above the ring.
const TORSO: [Hoop; 16] = [
    hoop(60.0, 0.0, [17.6, 9.6, -11.6, 0.0], Material::Breeches),
    hoop(64.5, 0.0, [18.4, 10.4, -12.6, 0.0], Material::Coat),
    hoop(61.6, -0.4, [20.6, 13.2, -15.2, -0.5], Material::Coat),
    hoop(63.6, -0.4, [20.8, 13.4, -15.4, -0.5], Material::Coat),
    hoop(69.5, 0.0, [18.8, 12.0, -13.4, -0.5], Material::Coat),
    hoop(75.0, 0.0, [16.2, 10.6, -10.8, 0.0], Material::Belt),
    hoop(79.4, 0.0, [15.7, 10.6, -10.2, 0.0], Material::Coat),
    hoop(85.5, 0.0, [16.8, 11.8, -10.6, 0.0], Material::Coat),
    hoop(91.0, 0.0, [18.2, 12.4, -11.2, -0.3], Material::Coat),
    hoop(98.2, 0.0, [18.4, 11.6, -11.8, -1.0], Material::Coat),
    hoop(105.4, 0.0, [15.6, 8.4, -10.6, -1.5], Material::Coat),
    hoop(108.4, -0.8, [9.6, 6.2, -8.6, -1.5], Material::Scarf),
    hoop(107.6, -1.4, [12.4, 11.6, -11.2, -1.0], Material::Scarf),
    hoop(111.6, -1.0, [13.2, 12.4, -11.8, -1.0], Material::Scarf),
    hoop(114.8, -0.6, [10.6, 9.4, -9.6, -1.0], Material::Scarf),
    hoop(113.2, -0.2, [7.2, 6.4, -7.0, -0.5], Material::Skin),
];

/// Neck to top-knot, from below, with what is added to z of the first columns (nose, lips, chin).
const HEAD: [(Hoop, [f64; 4]); 17] = [
    (
        hoop(116.6, -0.4, [7.4, 8.4, -7.6, -0.5], Material::Skin),
        [0.0; 4],
    ),
    (
        hoop(117.0, -0.6, [11.6, 11.4, -13.0, -1.0], Material::Skin),
        [0.6, 0.2, -0.8, -0.6],
    ),
    (
        hoop(119.4, -0.6, [13.6, 12.4, -15.0, -1.5], Material::Skin),
        [1.2, 0.4, -1.2, -0.8],
    ),
    (
        hoop(122.8, -0.2, [14.2, 12.4, -15.6, -1.6], Material::Skin),
        [0.4, 0.2, -0.6, -0.6],
    ),
    (
        hoop(126.0, 0.0, [14.2, 12.8, -15.6, -1.6], Material::Skin),
        [0.9, 0.1, 0.0, -0.6],
    ),
    (
        hoop(127.6, 0.0, [14.1, 13.0, -15.4, -1.6], Material::Skin),
        [4.2, 0.4, 0.0, -0.6],
    ),
    (
        hoop(130.2, 0.0, [14.0, 12.9, -15.2, -1.6], Material::Skin),
        [3.4, 0.0, -0.2, -0.6],
    ),
    (
        hoop(133.6, 0.0, [13.9, 12.6, -15.0, -1.6], Material::Skin),
        [0.2, -0.5, -0.6, -0.6],
    ),
    (
        hoop(137.4, 0.0, [13.8, 13.0, -14.8, -1.6], Material::Hair),
        [0.2, 0.0, -0.4, -0.4],
    ),
    (
        hoop(138.0, -0.4, [14.0, 15.0, -14.8, -1.6], Material::Hair),
        [0.0; 4],
    ),
    (
        hoop(141.4, 0.0, [13.0, 14.4, -13.8, -1.2], Material::Hair),
        [0.0; 4],
    ),
    (
        hoop(145.4, 0.6, [9.8, 10.4, -10.8, -1.0], Material::Hair),
        [0.0; 4],
    ),
    (
        hoop(147.6, 1.0, [4.2, 2.6, -6.2, -2.0], Material::Tie),
        [0.0; 4],
    ),
    (
        hoop(149.4, 1.0, [4.2, 2.2, -6.6, -2.2], Material::Hair),
        [0.0; 4],
    ),
    (
        hoop(150.2, 1.2, [7.2, 5.0, -10.2, -2.6], Material::Hair),
        [0.0; 4],
    ),
    (
        hoop(154.6, 1.2, [7.8, 5.0, -11.6, -3.2], Material::Hair),
        [0.0; 4],
    ),
    (
        hoop(158.6, 1.0, [5.0, 2.0, -9.0, -3.6], Material::Hair),
        [0.0; 4],
    ),
];
/// Rise of the top-knot's cap above its last ring, cm.
const CAP_RISE: f64 = 1.2;
/// Columns of the head that belong to the face below the fringe.
const FACE_COLUMNS: usize = 3;

/// A ring of a leg: centre x, half width, y and z at the front, y and z at the back.
struct Cuff {
    x: f64,
    half_width: f64,
    front: [f64; 2],
    back: [f64; 2],
    /// The material of the band above the ring.
    material: Material,
}

const fn leg(x: f64, half_width: f64, front: [f64; 2], back: [f64; 2], material: Material) -> Cuff {
    Cuff {
        x,
        half_width,
        front,
        back,
        material,
    }
}

/// Thigh to sole, from above.
const LEGS: [Cuff; 14] = [
    leg(9.7, 8.9, [54.0, 9.8], [54.0, -10.8], Material::Breeches),
    leg(10.0, 8.9, [48.0, 10.0], [48.0, -10.4], Material::Breeches),
    leg(10.5, 8.6, [41.5, 9.8], [41.5, -9.6], Material::Breeches),
    leg(10.9, 8.0, [36.0, 9.0], [36.0, -8.8], Material::Breeches),
    leg(11.0, 6.4, [34.0, 7.0], [34.0, -7.0], Material::Breeches),
    leg(11.0, 8.6, [34.4, 9.2], [33.4, -9.4], Material::Boot),
    leg(11.1, 8.9, [28.6, 9.4], [27.6, -9.6], Material::Boot),
    leg(11.1, 7.0, [27.6, 7.2], [27.0, -7.8], Material::Boot),
    leg(11.2, 6.7, [19.0, 7.2], [19.0, -7.8], Material::Boot),
    leg(11.3, 6.5, [12.5, 8.0], [11.0, -7.4], Material::Boot),
    leg(11.6, 7.0, [10.4, 13.2], [6.6, -8.0], Material::Boot),
    leg(11.9, 8.0, [6.6, 19.2], [3.8, -8.8], Material::Boot),
    leg(11.9, 8.4, [2.6, 20.4], [2.6, -9.4], Material::Boot),
    leg(11.9, 8.4, [0.0, 20.2], [0.0, -9.3], Material::Sole),
];
/// The inner ring of the sole is this much smaller than its edge; it keeps the edge of the sole crisp.
const SOLE_INSET: f64 = 0.9;
/// How far the toes point outward: x gained for each cm of z.
const TOE_OUT: f64 = 0.10;
/// Crotch vertices on the mirror plane, from back to front: y, z.
const CROTCH: [[f64; 2]; 3] = [[57.0, -6.5], [55.4, -0.6], [57.0, 5.4]];

/// Rings of the arm, from the shoulder outward: x, y and z of the centre, half height, half depth.
const ARMS: [([f64; 3], [f64; 2], Material); 15] = [
    ([22.5, 98.6, -1.4], [6.9, 7.0], Material::Coat),
    ([28.0, 98.8, -1.5], [6.6, 6.6], Material::Coat),
    ([33.5, 98.6, -1.5], [6.2, 6.2], Material::Coat),
    ([37.4, 98.4, -1.5], [5.6, 5.6], Material::Coat),
    ([36.8, 98.4, -1.5], [7.2, 7.2], Material::Cuff),
    ([41.6, 98.4, -1.4], [7.4, 7.4], Material::Cuff),
    ([42.2, 98.4, -1.4], [5.0, 5.0], Material::Cuff),
    ([46.5, 98.4, -1.2], [4.6, 4.7], Material::Skin),
    ([50.6, 98.4, -1.0], [4.0, 4.2], Material::Skin),
    ([50.0, 98.4, -1.0], [6.2, 6.2], Material::Glove),
    ([55.0, 98.4, -0.8], [4.6, 4.9], Material::Glove),
    ([57.6, 98.4, -0.6], [3.9, 5.2], Material::Glove),
    ([62.4, 98.4, -0.2], [3.9, 6.0], Material::Glove),
    ([68.0, 98.0, -0.2], [3.5, 5.9], Material::Glove),
    ([72.4, 97.6, -0.4], [2.6, 4.4], Material::Glove),
];
/// The thumb leaves the palm in the band after this ring of the arm.
const THUMB_AFTER: usize = 11;
/// Rings of the thumb: centre, half length along the palm, half height.
const THUMB: [([f64; 3], [f64; 2]); 3] = [
    ([61.6, 98.0, 6.4], [2.5, 2.3]),
    ([64.2, 97.7, 9.4], [2.5, 2.2]),
    ([66.0, 97.4, 11.4], [1.7, 1.6]),
];
/// Direction of the palm-wise axis of the thumb's rings (x and z), a right angle to the thumb.
const THUMB_AXIS: [f64; 2] = [0.82, -0.57];
/// Fingertips reach this far beyond the last ring of the arm, cm.
const TIP: f64 = 0.6;

fn signed_power(v: f64, e: f64) -> f64 {
    v.abs().powf(e).copysign(v)
}

fn hoop_points(h: Hoop, face: [f64; 4]) -> Vec<V3> {
    (0..=HALF)
        .map(|k| {
            let angle = PI * k as f64 / HALF as f64;
            let (s, c) = if k == HALF {
                (0.0, -1.0)
            } else {
                angle.sin_cos()
            };
            let c = signed_power(c, BOXINESS);
            let reach = if c > 0.0 {
                h.front - h.mid
            } else {
                h.mid - h.back
            };
            [
                h.half_width * signed_power(s, BOXINESS),
                h.y + h.tilt * c,
                h.mid + reach * c + face.get(k).copied().unwrap_or(0.0),
            ]
        })
        .collect()
}

fn cuff_points(c: &Cuff, inset: f64) -> Vec<V3> {
    (0..LEG)
        .map(|j| {
            // The second vertex looks to the front, the fifth outward.
            let (s, f) = ((j as f64 - 1.0) * PI / 6.0).sin_cos();
            let t = 0.5 + 0.5 * signed_power(f, BOXINESS);
            let z = inset * (c.back[1] + t * (c.front[1] - c.back[1])) + (1.0 - inset) * c.front[1] / 4.0;
            let y = c.back[0] + t * (c.front[0] - c.back[0]);
            let x = c.x + inset * c.half_width * signed_power(s, BOXINESS) + TOE_OUT * z.max(0.0) * ground_share(y);
            [x, y, z]
        })
        .collect()
}

/// Below this height a leg ring belongs to the foot, whose toes point outward.
const FOOT_TOP: f64 = 14.0;

fn ground_share(y: f64) -> f64 {
    ((FOOT_TOP - y) / FOOT_TOP).clamp(0.0, 1.0)
}

/// The figure as it was drawn: the cage without faults.
pub(crate) fn on_model() -> Cage {
    let fine = control_cage().mirrored().subdivided();
    let mut half = fine.positive_half();
    settle(&mut half);
    half.mirrored()
}

/// Stands the figure on the ground and gives it its height exactly. Smoothing lifts the edge of the sole
/// a little; everything below the lift goes flat onto the ground.
fn settle(cage: &mut Cage) {
    /// Height of the rounded edge of the sole that is pressed flat, cm.
    const PRESSED: f64 = 0.35;
    let crown = cage.positions.iter().fold(0.0_f64, |m, p| m.max(p[1]));
    for p in &mut cage.positions {
        p[1] = if p[1] < PRESSED {
            0.0
        } else {
            p[1] * HEIGHT / crown
        };
    }
}

fn control_cage() -> Cage {
    let mut cage = Cage::default();
    let pelvis = cage.ring(&hoop_points(TORSO[0], [0.0; 4]));
    let neck = torso(&mut cage, &pelvis);
    head(&mut cage, &neck);
    legs(&mut cage, &pelvis);
    cage
}

fn torso(cage: &mut Cage, pelvis: &[u32]) -> Vec<u32> {
    /// The band below and the band above the middle of the arm's opening.
    const ARM_BANDS: [usize; 2] = [8, 9];
    /// The apron covers these bands of the front, in this many columns.
    const APRON_BANDS: std::ops::RangeInclusive<usize> = 2..=8;
    const APRON_COLUMNS: usize = 2;
    let mut rings = vec![pelvis.to_vec()];
    for h in &TORSO[1..] {
        rings.push(cage.ring(&hoop_points(*h, [0.0; 4])));
    }
    for (band, pair) in rings.windows(2).enumerate() {
        cage.loft(&pair[0], &pair[1], false, |k| {
            let hole = ARM_BANDS.contains(&band) && (ARMHOLE.0..ARMHOLE.1).contains(&k);
            let apron = APRON_BANDS.contains(&band)
                && k < APRON_COLUMNS
                && TORSO[band].material == Material::Coat;
            match (hole, apron) {
                (true, _) => None,
                (_, true) => Some(Material::Apron),
                _ => Some(TORSO[band].material),
            }
        });
    }
    let [low, _] = ARM_BANDS;
    let (a, b) = ARMHOLE;
    let top = &rings[low + 2];
    let (middle, bottom) = (&rings[low + 1], &rings[low]);
    // From the top over the front, as the arm's rings run.
    let opening = vec![
        top[a + 1],
        top[a],
        middle[a],
        bottom[a],
        bottom[a + 1],
        bottom[b],
        middle[b],
        top[b],
    ];
    arm(cage, opening);
    rings.pop().unwrap_or_default()
}

fn head(cage: &mut Cage, neck: &[u32]) {
    /// Bands whose first columns show the face.
    const FACE_BANDS: usize = 8;
    let mut below = neck.to_vec();
    let mut band_material = Material::Skin;
    for (band, (h, face)) in HEAD.iter().enumerate() {
        let ring = cage.ring(&hoop_points(*h, *face));
        cage.loft(&below, &ring, false, |k| {
            let hair = (1..=FACE_BANDS).contains(&band) && k >= FACE_COLUMNS;
            Some(if hair { Material::Hair } else { band_material })
        });
        below = ring;
        band_material = h.material;
    }
    // A cap of two by four quads closes the half ring.
    let top = HEAD[HEAD.len() - 1].0;
    let rows: Vec<[u32; 3]> = (0..=4)
        .map(|i| match i {
            0 => [below[0], below[1], below[2]],
            4 => [below[8], below[7], below[6]],
            _ => {
                let t = f64::from(i) / 4.0;
                let z = top.front + t * (top.back - top.front);
                let y = top.y + top.tilt * (1.0 - 2.0 * t) + CAP_RISE;
                [
                    cage.vertex([0.0, y, z]),
                    cage.vertex([top.half_width * 0.45, y - CAP_RISE * 0.2, z]),
                    below[2 + i as usize],
                ]
            }
        })
        .collect();
    for pair in rows.windows(2) {
        let (f, b) = (pair[0], pair[1]);
        cage.quad([f[0], f[1], b[1], b[0]], Material::Hair);
        cage.quad([f[1], f[2], b[2], b[1]], Material::Hair);
    }
}

fn legs(cage: &mut Cage, pelvis: &[u32]) {
    let mut above = pelvis.to_vec();
    for [y, z] in CROTCH {
        above.push(cage.vertex([0.0, y, z]));
    }
    for c in &LEGS {
        let ring = cage.ring(&cuff_points(c, 1.0));
        cage.loft(&ring, &above, true, |_| Some(c.material));
        above = ring;
    }
    let sole = &LEGS[LEGS.len() - 1];
    let ring = cage.ring(&cuff_points(sole, SOLE_INSET));
    cage.loft(&ring, &above, true, |_| Some(Material::Sole));
    // Two by four quads close the sole, rows from the toes to the heel.
    let rows: Vec<[u32; 3]> = (0..=4)
        .map(|i| {
            let (inner, outer) = (ring[(LEG - i) % LEG], ring[2 + i]);
            let middle = match i {
                0 => ring[1],
                4 => ring[7],
                _ => {
                    let (p, q) = (cage.positions[inner as usize], cage.positions[outer as usize]);
                    cage.vertex([(p[0] + q[0]) / 2.0, 0.0, (p[2] + q[2]) / 2.0])
                }
            };
            [inner, middle, outer]
        })
        .collect();
    for pair in rows.windows(2) {
        let (f, b) = (pair[0], pair[1]);
        cage.quad([f[0], b[0], b[1], f[1]], Material::Sole);
        cage.quad([f[1], b[1], b[2], f[2]], Material::Sole);
    }
}

fn arm(cage: &mut Cage, opening: Vec<u32>) {
    let mut inner = opening;
    for (i, (centre, half, material)) in ARMS.iter().enumerate() {
        let points: Vec<V3> = (0..ARM)
            .map(|j| {
                let (s, c) = (PI * j as f64 / 4.0).sin_cos();
                [centre[0], centre[1] + half[0] * c, centre[2] + half[1] * s]
            })
            .collect();
        let ring = cage.ring(&points);
        let thumb = i == THUMB_AFTER + 1;
        cage.loft(&inner, &ring, true, |j| {
            (!(thumb && (j == 1 || j == 2))).then(|| ARMS[i.saturating_sub(1)].2)
        });
        if thumb {
            thumb_from(cage, [ring[1], inner[1], inner[2], inner[3], ring[3], ring[2]]);
        }
        let _ = material;
        inner = ring;
    }
    let (last, _, material) = ARMS[ARMS.len() - 1];
    let tip = cage.vertex([last[0] + TIP, last[1], last[2]]);
    for j in [0, 2, 4, 6] {
        cage.quad([inner[j], inner[j + 1], inner[(j + 2) % ARM], tip], material);
    }
}

fn thumb_from(cage: &mut Cage, opening: [u32; 6]) {
    /// Places of the six vertices on the ring: along the palm and up, in half sizes.
    const SIX: [[f64; 2]; 6] = [
        [0.6, 1.0],
        [-0.6, 1.0],
        [-1.0, 0.0],
        [-0.6, -1.0],
        [0.6, -1.0],
        [1.0, 0.0],
    ];
    let mut inner = opening.to_vec();
    for (c, half) in THUMB {
        let points: Vec<V3> = SIX
            .iter()
            .map(|[u, v]| {
                let along = u * half[0];
                [
                    c[0] + along * THUMB_AXIS[0],
                    c[1] + v * half[1],
                    c[2] + along * THUMB_AXIS[1],
                ]
            })
            .collect();
        let ring = cage.ring(&points);
        cage.loft(&inner, &ring, true, |_| Some(Material::Glove));
        inner = ring;
    }
    let r = &inner;
    cage.quad([r[0], r[1], r[2], r[5]], Material::Glove);
    cage.quad([r[2], r[3], r[4], r[5]], Material::Glove);
}
