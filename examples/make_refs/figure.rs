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
/// Vertices of a leg ring: half a body ring, closed by one vertex of the crotch.
const LEG: usize = 10;
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
const TORSO: [Hoop; 14] = [
    hoop(60.0, 0.0, [18.0, 9.8, -11.6, 0.0], Material::Breeches),
    hoop(64.5, 0.0, [18.8, 10.6, -12.8, 0.0], Material::Coat),
    hoop(61.0, -0.4, [22.4, 14.0, -16.4, -0.5], Material::Coat),
    hoop(63.4, -0.4, [22.4, 14.2, -16.4, -0.5], Material::Coat),
    hoop(69.5, 0.0, [19.2, 12.4, -13.6, -0.5], Material::Coat),
    hoop(75.0, 0.0, [16.4, 10.8, -10.8, 0.0], Material::Belt),
    hoop(79.4, 0.0, [16.0, 10.8, -10.2, 0.0], Material::Coat),
    hoop(91.0, 0.0, [18.4, 12.6, -11.4, -0.3], Material::Coat),
    hoop(98.2, 0.0, [18.4, 11.6, -12.0, -1.0], Material::Coat),
    hoop(105.0, 0.0, [15.2, 8.4, -10.6, -1.5], Material::Coat),
    hoop(107.8, -0.8, [9.6, 6.2, -8.6, -1.5], Material::Scarf),
    hoop(106.4, -1.4, [13.0, 12.4, -12.0, -1.0], Material::Scarf),
    hoop(111.4, -1.0, [14.2, 13.4, -12.8, -1.0], Material::Scarf),
    hoop(113.4, 0.0, [9.6, 9.0, -9.0, -1.0], Material::Scarf),
];

/// Neck to top-knot, from below; then what is added to z of the first columns (nose, lips, chin), and how
/// much of their width the columns beside the centre keep (the jaw is narrower than the hair around it).
const HEAD: [(Hoop, [f64; 4], f64); 16] = [
    (
        hoop(113.4, 0.2, [7.6, 7.6, -7.6, -0.5], Material::Skin),
        [0.0, 0.0, 0.0, 0.0],
        1.0,
    ),
    (
        hoop(117.4, -1.0, [15.2, 11.2, -15.0, -1.5], Material::Skin),
        [0.8, 0.2, -1.2, -0.6],
        0.78,
    ),
    (
        hoop(118.4, -1.2, [16.8, 12.2, -17.6, -1.8], Material::Skin),
        [1.6, 0.8, -1.2, -0.8],
        0.82,
    ),
    (
        hoop(122.4, -0.4, [16.2, 12.6, -17.2, -1.8], Material::Skin),
        [0.5, 0.5, -0.2, -0.4],
        0.92,
    ),
    (
        hoop(127.4, 0.0, [15.4, 13.0, -16.6, -1.7], Material::Skin),
        [3.8, 0.5, 0.2, -0.4],
        0.94,
    ),
    (
        hoop(130.0, 0.0, [15.1, 13.0, -16.2, -1.7], Material::Skin),
        [3.0, 0.1, -0.2, -0.4],
        0.92,
    ),
    (
        hoop(133.6, 0.0, [14.8, 12.9, -15.8, -1.7], Material::Skin),
        [0.0, -0.6, -0.8, -0.4],
        0.92,
    ),
    (
        hoop(137.2, 0.0, [14.5, 13.2, -15.4, -1.6], Material::Hair),
        [0.0, -0.2, -0.4, -0.2],
        0.96,
    ),
    (
        hoop(137.4, -0.6, [14.6, 15.6, -15.4, -1.6], Material::Hair),
        [0.0, 0.0, 0.0, 0.0],
        1.0,
    ),
    (
        hoop(142.4, 0.0, [13.8, 14.8, -14.2, -1.2], Material::Hair),
        [0.0, 0.0, 0.0, 0.0],
        1.0,
    ),
    (
        hoop(146.8, 0.6, [9.8, 9.8, -10.8, -1.2], Material::Hair),
        [0.0, 0.0, 0.0, 0.0],
        1.0,
    ),
    (
        hoop(148.4, 1.4, [4.0, 1.0, -7.0, -3.0], Material::Tie),
        [0.0, 0.0, 0.0, 0.0],
        1.0,
    ),
    (
        hoop(150.4, 1.4, [4.0, 0.6, -7.4, -3.4], Material::Hair),
        [0.0, 0.0, 0.0, 0.0],
        1.0,
    ),
    (
        hoop(151.2, 2.0, [8.0, 4.0, -12.2, -4.2], Material::Hair),
        [0.0, 0.0, 0.0, 0.0],
        1.0,
    ),
    (
        hoop(156.2, 2.2, [8.6, 3.6, -14.4, -5.4], Material::Hair),
        [0.0, 0.0, 0.0, 0.0],
        1.0,
    ),
    (
        hoop(161.0, 1.0, [5.2, 0.0, -11.4, -5.8], Material::Hair),
        [0.0, 0.0, 0.0, 0.0],
        1.0,
    ),
];
/// Rise of the top-knot's cap above its last ring, cm.
const CAP_RISE: f64 = 1.2;
/// Columns of the head that belong to the face below the fringe.
const FACE_COLUMNS: usize = 2;

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
const LEGS: [Cuff; 12] = [
    leg(9.9, 9.4, [53.5, 10.2], [53.5, -11.2], Material::Breeches),
    leg(10.9, 9.9, [45.5, 10.8], [45.5, -11.4], Material::Breeches),
    leg(11.2, 9.2, [38.0, 10.2], [38.0, -10.4], Material::Breeches),
    leg(11.2, 6.6, [35.0, 7.2], [35.0, -7.2], Material::Breeches),
    leg(11.3, 9.4, [35.4, 10.0], [34.0, -10.2], Material::Boot),
    leg(11.3, 9.2, [28.4, 9.8], [27.2, -10.0], Material::Boot),
    leg(11.3, 6.8, [27.6, 7.2], [27.0, -7.8], Material::Boot),
    leg(11.4, 6.2, [14.0, 7.0], [12.6, -7.0], Material::Boot),
    leg(11.8, 7.2, [11.2, 13.0], [6.8, -8.2], Material::Boot),
    leg(12.2, 8.4, [8.2, 20.0], [3.8, -9.2], Material::Boot),
    leg(12.2, 8.8, [2.6, 21.4], [2.6, -9.8], Material::Boot),
    leg(12.2, 8.8, [0.0, 21.2], [0.0, -9.7], Material::Sole),
];
/// The inner ring of the sole is this much smaller than its edge; it keeps the edge of the sole crisp.
const SOLE_INSET: f64 = 0.9;
/// How far the toes point outward: x gained for each cm of z.
const TOE_OUT: f64 = 0.10;
/// The crotch's vertex on the mirror plane: y, z.
const CROTCH: [f64; 2] = [54.6, -0.6];

/// Rings of the arm, from the shoulder outward: x, y and z of the centre, half height, half depth, and the
/// material of the band beyond the ring.
const ARMS: [([f64; 3], [f64; 2], Material); 13] = [
    ([23.5, 98.4, -1.4], [7.0, 7.2], Material::Coat),
    ([32.0, 98.4, -1.5], [6.6, 6.6], Material::Coat),
    ([37.6, 98.2, -1.5], [5.6, 5.6], Material::Coat),
    ([36.8, 98.2, -1.5], [7.6, 7.6], Material::Cuff),
    ([42.2, 98.2, -1.4], [7.6, 7.6], Material::Cuff),
    ([42.6, 98.2, -1.4], [4.9, 4.9], Material::Skin),
    ([51.0, 98.2, -1.0], [4.0, 4.2], Material::Skin),
    ([49.6, 98.2, -1.0], [7.2, 7.2], Material::Glove),
    ([56.0, 98.2, -0.8], [4.6, 5.0], Material::Glove),
    ([59.0, 98.2, -0.6], [4.5, 5.8], Material::Glove),
    ([64.0, 98.0, -0.2], [4.6, 6.8], Material::Glove),
    ([70.6, 97.2, -0.2], [4.2, 6.6], Material::Glove),
    ([74.4, 96.6, -0.4], [2.9, 4.6], Material::Glove),
];
/// The thumb leaves the palm in the band after this ring of the arm.
const THUMB_AFTER: usize = 9;
/// Rings of the thumb: centre, half length along the palm, half height.
const THUMB: [([f64; 3], [f64; 2]); 3] = [
    ([62.6, 97.8, 7.2], [2.7, 2.5]),
    ([65.4, 97.5, 10.6], [2.7, 2.4]),
    ([67.4, 97.2, 12.8], [1.8, 1.7]),
];
/// Direction of the palm-wise axis of the thumb's rings (x and z), a right angle to the thumb.
const THUMB_AXIS: [f64; 2] = [0.82, -0.57];
/// Fingertips reach this far beyond the last ring of the arm, cm.
const TIP: f64 = 0.6;

fn signed_power(v: f64, e: f64) -> f64 {
    v.abs().powf(e).copysign(v)
}

fn hoop_points(h: Hoop, face: [f64; 4], narrow: f64) -> Vec<V3> {
    (0..=HALF)
        .map(|k| {
            let angle = PI * k as f64 / HALF as f64;
            let (s, c) = if k == HALF { (0.0, -1.0) } else { angle.sin_cos() };
            let c = signed_power(c, BOXINESS);
            let kept = if k <= FACE_COLUMNS { narrow } else { 1.0 };
            let reach = if c > 0.0 { h.front - h.mid } else { h.mid - h.back };
            [
                kept * h.half_width * signed_power(s, BOXINESS),
                h.y + h.tilt * c,
                h.mid + reach * c + face.get(k).copied().unwrap_or(0.0),
            ]
        })
        .collect()
}

fn cuff_points(c: &Cuff, inset: f64) -> Vec<V3> {
    (0..LEG)
        .map(|j| {
            // The fifth vertex looks outward, the first and the ninth came from the mirror plane.
            let (s, f) = (PI / 2.0 + (j as f64 - 4.0) * PI / 5.0).sin_cos();
            let t = 0.5 + 0.5 * signed_power(f, BOXINESS);
            let z = inset * (c.back[1] + t * (c.front[1] - c.back[1])) + (1.0 - inset) * c.front[1] / 4.0;
            let y = c.back[0] + t * (c.front[0] - c.back[0]);
            let x = c.x
                + inset * c.half_width * signed_power(s, BOXINESS)
                + TOE_OUT * z.max(0.0) * ground_share(y);
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
    let pelvis = cage.ring(&hoop_points(TORSO[0], [0.0; 4], 1.0));
    let neck = torso(&mut cage, &pelvis);
    head(&mut cage, &neck);
    legs(&mut cage, &pelvis);
    cage
}

fn torso(cage: &mut Cage, pelvis: &[u32]) -> Vec<u32> {
    /// The band below and the band above the middle of the arm's opening.
    const ARM_BANDS: [usize; 2] = [7, 8];
    /// The apron covers these bands of the front, in this many columns.
    const APRON_BANDS: std::ops::RangeInclusive<usize> = 2..=7;
    const APRON_COLUMNS: usize = 2;
    let mut rings = vec![pelvis.to_vec()];
    for h in &TORSO[1..] {
        rings.push(cage.ring(&hoop_points(*h, [0.0; 4], 1.0)));
    }
    for (band, pair) in rings.windows(2).enumerate() {
        cage.loft(&pair[0], &pair[1], false, |k| {
            let hole = ARM_BANDS.contains(&band) && (ARMHOLE.0..ARMHOLE.1).contains(&k);
            let apron =
                APRON_BANDS.contains(&band) && k < APRON_COLUMNS && TORSO[band].material == Material::Coat;
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
    const FACE_BANDS: usize = 7;
    let mut below = neck.to_vec();
    let mut band_material = Material::Skin;
    for (band, (h, face, narrow)) in HEAD.iter().enumerate() {
        let ring = cage.ring(&hoop_points(*h, *face, *narrow));
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
    above.push(cage.vertex([0.0, CROTCH[0], CROTCH[1]]));
    for c in &LEGS {
        let ring = cage.ring(&cuff_points(c, 1.0));
        cage.loft(&ring, &above, true, |_| Some(c.material));
        above = ring;
    }
    let sole = &LEGS[LEGS.len() - 1];
    let ring = cage.ring(&cuff_points(sole, SOLE_INSET));
    cage.loft(&ring, &above, true, |_| Some(Material::Sole));
    // Four quads close the sole, from the toes to the heel.
    for i in 0..4 {
        let inner = |i: usize| ring[(LEG + 1 - i) % LEG];
        cage.quad([inner(i), inner(i + 1), ring[3 + i], ring[2 + i]], Material::Sole);
    }
}

fn arm(cage: &mut Cage, opening: Vec<u32>) {
    let mut inner = opening;
    for (i, (centre, half, _)) in ARMS.iter().enumerate() {
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
