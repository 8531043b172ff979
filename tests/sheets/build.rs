//! People of any proportion from a few numbers, all as shares of the height.

use super::body::Body;
use super::solid::{Solid, ball, oval};

pub(crate) const SKIN: [u8; 3] = [238, 200, 170];
pub(crate) const SHIRT: [u8; 3] = [120, 150, 96];
pub(crate) const TROUSERS: [u8; 3] = [92, 84, 120];
pub(crate) const SHOES: [u8; 3] = [96, 60, 44];
pub(crate) const HAIR: [u8; 3] = [70, 46, 38];

#[derive(Clone, Copy)]
pub(crate) enum Hand {
    Mitten,
    /// Three fingers and a thumb, spread.
    Spread,
}

/// One arm: shoulder, elbow, wrist, tip of the hand; x away from the body.
pub(crate) type Arm = [[f64; 3]; 4];

#[derive(Clone, Copy)]
pub(crate) struct Build {
    pub(crate) shoulder: f64,
    pub(crate) crotch: f64,
    /// Half width and half depth.
    pub(crate) chest: [f64; 2],
    pub(crate) waist: [f64; 2],
    pub(crate) hips: [f64; 2],
    /// Half the distance of the ankles.
    pub(crate) stance: f64,
    pub(crate) thigh: f64,
    pub(crate) knee: f64,
    pub(crate) ankle: f64,
    /// Radii at shoulder, elbow, wrist, hand.
    pub(crate) arm: [f64; 4],
    /// The left one of the picture, the right one of the picture.
    pub(crate) arms: [Arm; 2],
    pub(crate) hand: Hand,
    /// Half axes.
    pub(crate) head: [f64; 3],
    pub(crate) neck: f64,
    pub(crate) foot: f64,
}

/// The body of a person; parts are added by the caller.
pub(crate) fn person(b: &Build) -> Body {
    let mut body = Body {
        rounding: 0.0045,
        ..Body::default()
    };
    let mid = (b.shoulder + b.crotch) / 2.0;
    let trunk = vec![
        oval(
            [0.0, b.shoulder - 0.03, 0.0],
            [b.chest[0], 0.035, b.chest[1] * 0.8],
        ),
        oval(
            [0.0, b.shoulder - 0.11, 0.005],
            [b.chest[0] * 0.94, 0.05, b.chest[1]],
        ),
        oval([0.0, mid, 0.0], [b.waist[0], 0.05, b.waist[1]]),
        oval([0.0, b.crotch + 0.045, -0.005], [b.hips[0], 0.05, b.hips[1]]),
    ];
    body.add(Solid::Loft(trunk), SHIRT, false);
    for side in [-1.0, 1.0] {
        let hip = (b.hips[0] - b.thigh).max(0.3 * b.thigh);
        let knee = b.crotch * 0.54;
        let leg = vec![
            ball(side * hip, b.crotch + 0.04, 0.0, b.thigh),
            ball(side * (hip + b.stance) / 2.0, knee, 0.012, b.knee),
            ball(side * b.stance, 0.045, -0.01, b.ankle),
        ];
        body.add(Solid::Loft(leg), TROUSERS, true);
        let foot = vec![
            ball(side * b.stance, b.ankle, -0.02, b.ankle),
            oval([side * (b.stance + 0.012), 0.018, b.foot], [b.ankle, 0.018, 0.03]),
        ];
        body.add(Solid::Loft(foot), SHOES, true);
    }
    for (arm, side) in b.arms.iter().zip([-1.0, 1.0]) {
        let at = |k: usize| [side * arm[k][0], arm[k][1], arm[k][2]];
        let balls = (0..3).map(|k| oval(at(k), [b.arm[k]; 3])).collect();
        body.add(Solid::Loft(balls), SHIRT, true);
        hand(&mut body, b, at(2), at(3));
    }
    let neck = vec![
        ball(0.0, b.shoulder - 0.02, -0.01, b.neck),
        ball(0.0, 1.0 - 1.5 * b.head[1], 0.0, b.neck),
    ];
    body.add(Solid::Loft(neck), SKIN, false);
    body.add(
        Solid::Loft(vec![oval([0.0, 1.0 - b.head[1], 0.005], b.head)]),
        SKIN,
        true,
    );
    let nose = vec![
        ball(0.0, 1.0 - 1.1 * b.head[1], b.head[2] * 0.9, 0.008),
        ball(0.0, 1.0 - 1.25 * b.head[1], b.head[2] * 1.13, 0.009),
    ];
    body.add(Solid::Loft(nose), SKIN, true);
    let (x, y, z) = (b.head[0] * 0.42, 1.0 - 0.95 * b.head[1], b.head[2] * 0.85);
    body.eyes = [-x, x]
        .map(|x| ([x, y, z], [b.head[0] * 0.14, b.head[1] * 0.13]))
        .to_vec();
    body.belts = vec![b.crotch + 0.075];
    body
}

fn hand(body: &mut Body, b: &Build, wrist: [f64; 3], tip: [f64; 3]) {
    let along = [0, 1, 2].map(|k| tip[k] - wrist[k]);
    let part = |t: f64, r: f64| oval([0, 1, 2].map(|k| wrist[k] + t * along[k]), [r; 3]);
    match b.hand {
        Hand::Mitten => {
            let balls = vec![
                part(0.0, b.arm[2]),
                part(0.45, b.arm[3]),
                part(0.95, b.arm[3] * 0.6),
            ];
            body.add(Solid::Loft(balls), SKIN, true);
        }
        Hand::Spread => {
            body.add(
                Solid::Loft(vec![part(0.0, b.arm[2]), part(0.4, b.arm[3])]),
                SKIN,
                true,
            );
            // Turned in the plane of the picture about the palm.
            for (angle, reach) in [(-58.0_f64, 0.78), (-21.0, 1.05), (3.0, 1.12), (27.0, 1.0)] {
                let (s, c) = (angle * wrist[0].signum()).to_radians().sin_cos();
                let palm = [0, 1, 2].map(|k| wrist[k] + 0.4 * along[k]);
                let d = [along[0] * c - along[1] * s, along[0] * s + along[1] * c, along[2]];
                let end = [0, 1, 2].map(|k| palm[k] + reach * 0.62 * d[k]);
                let r = b.arm[3] * 0.27;
                body.add(
                    Solid::Loft(vec![oval(palm, [r * 1.2; 3]), oval(end, [r; 3])]),
                    SKIN,
                    false,
                );
            }
        }
    }
}

/// Arms that are the same on both sides.
pub(crate) fn both(arm: Arm) -> [Arm; 2] {
    [arm, arm]
}
