//! Creatures, machines and poses of the test sheets, all invented.

use super::body::Body;
use super::build::{Build, HAIR, SHIRT, SHOES, SKIN, TROUSERS, both, person};
use super::people::plain;
use super::solid::{Solid, ball, oval};

const STEEL: [u8; 3] = [150, 160, 172];
const FUR: [u8; 3] = [206, 150, 96];

/// Ears and a long tail, digitigrade enough to be no person.
pub(crate) fn tailed() -> Body {
    let b = Build {
        shoulder: 0.735,
        crotch: 0.33,
        chest: [0.1, 0.09],
        waist: [0.085, 0.075],
        hips: [0.115, 0.1],
        stance: 0.1,
        thigh: 0.068,
        knee: 0.042,
        ankle: 0.034,
        arm: [0.036, 0.03, 0.026, 0.034],
        arms: both([
            [0.11, 0.7, 0.0],
            [0.19, 0.57, 0.01],
            [0.22, 0.44, 0.06],
            [0.225, 0.38, 0.08],
        ]),
        head: [0.12, 0.105, 0.115],
        neck: 0.05,
        foot: 0.13,
        ..plain()
    };
    let mut body = person(&b);
    for part in &mut body.parts {
        part.colour = FUR;
    }
    for side in [-1.0, 1.0] {
        let ear = vec![
            oval([side * 0.075, 0.93, -0.01], [0.04, 0.04, 0.02]),
            oval([side * 0.125, 1.07, -0.02], [0.006, 0.008, 0.006]),
        ];
        body.add(Solid::Loft(ear), FUR, true);
    }
    let tail = [
        (0.0, 0.38, -0.08, 0.03),
        (0.05, 0.3, -0.2, 0.028),
        (0.14, 0.29, -0.31, 0.028),
        (0.24, 0.37, -0.38, 0.03),
        (0.31, 0.49, -0.4, 0.034),
        (0.32, 0.58, -0.37, 0.012),
    ];
    let tail = tail.iter().map(|&(x, y, z, r)| ball(x, y, z, r)).collect();
    body.add(Solid::Loft(tail), FUR, true);
    body.place("crotch", 0.0, [-0.055, 0.12, 0.055, 0.34]);
    body.place("between the ears", 0.0, [-0.08, 0.98, 0.08, 1.06]);
    body.place("inside the tail", 90.0, [-0.36, 0.36, -0.13, 0.52]);
    body
}

/// A robot of boxes with an antenna: sharp corners, straight edges.
pub(crate) fn robot() -> Body {
    let mut body = Body::default();
    let mut block = |at: [f64; 3], half: [f64; 3]| body.add(Solid::Block(oval(at, half)), STEEL, true);
    block([0.0, 0.56, 0.0], [0.16, 0.15, 0.1]);
    block([0.0, 0.84, 0.01], [0.11, 0.085, 0.1]);
    block([0.0, 0.73, 0.0], [0.05, 0.04, 0.04]);
    block([0.02, 0.96, 0.0], [0.008, 0.05, 0.008]);
    block([0.02, 1.0, 0.0], [0.02, 0.016, 0.02]);
    for side in [-1.0, 1.0] {
        block([side * 0.085, 0.25, 0.0], [0.05, 0.17, 0.055]);
        block([side * 0.095, 0.04, 0.04], [0.065, 0.04, 0.11]);
        block([side * 0.19, 0.66, 0.0], [0.035, 0.03, 0.04]);
        block([side * 0.25, 0.52, 0.0], [0.04, 0.19, 0.05]);
        block([side * 0.25, 0.3, 0.02], [0.055, 0.035, 0.055]);
    }
    body.eyes = vec![
        ([-0.045, 0.86, 0.1], [0.02, 0.02]),
        ([0.045, 0.86, 0.1], [0.02, 0.02]),
    ];
    body.belts = vec![0.5];
    body.place("crotch", 0.0, [-0.06, 0.2, 0.06, 0.45]);
    body.place("between arm and body", 0.0, [0.14, 0.44, 0.23, 0.66]);
    body
}

/// Hands on the hips: the ground shows between arms and body.
pub(crate) fn akimbo() -> Body {
    let b = Build {
        stance: 0.11,
        arms: both([
            [0.12, 0.765, 0.0],
            [0.265, 0.625, -0.02],
            [0.13, 0.535, 0.02],
            [0.095, 0.5, 0.05],
        ]),
        ..plain()
    };
    let mut body = person(&b);
    body.place("inside the elbow", 0.0, [0.1, 0.56, 0.22, 0.72]);
    body.place("crotch", 0.0, [-0.05, 0.25, 0.05, 0.46]);
    body
}

/// A walker in a long open coat, feet apart, one arm up, one down.
pub(crate) fn wanderer() -> Body {
    let mut b = plain();
    b.stance = 0.14;
    b.arms = [
        [
            [0.12, 0.765, 0.0],
            [0.2, 0.66, 0.0],
            [0.27, 0.78, -0.01],
            [0.29, 0.87, -0.02],
        ],
        [
            [0.12, 0.765, 0.0],
            [0.21, 0.63, -0.01],
            [0.29, 0.51, 0.02],
            [0.32, 0.44, 0.03],
        ],
    ];
    let mut body = person(&b);
    let coat = vec![
        oval([0.0, 0.56, -0.01], [0.09, 0.02, 0.07]),
        oval([0.0, 0.33, -0.02], [0.17, 0.012, 0.11]),
    ];
    body.add(Solid::Loft(coat), TROUSERS, true);
    body.add(
        Solid::Loft(vec![oval([0.0, 0.885, 0.05], [0.045, 0.05, 0.04])]),
        HAIR,
        true,
    );
    body.parts[0].colour = SHIRT;
    body.parts[3].colour = SHOES;
    body.place("inside the raised elbow", 0.0, [-0.26, 0.68, -0.16, 0.8]);
    body.place("between the legs", 0.0, [-0.1, 0.05, 0.1, 0.33]);
    body
}

/// A snow-man-like round figure without a neck, thin twig arms.
pub(crate) fn dumpling() -> Body {
    let mut body = Body {
        rounding: 0.004,
        ..Body::default()
    };
    body.add(
        Solid::Loft(vec![oval([0.0, 0.3, 0.0], [0.3, 0.27, 0.28])]),
        SKIN,
        false,
    );
    body.add(
        Solid::Loft(vec![oval([0.0, 0.76, 0.0], [0.235, 0.24, 0.22])]),
        SKIN,
        true,
    );
    for side in [-1.0, 1.0] {
        body.add(
            Solid::Loft(vec![oval([side * 0.14, 0.035, 0.06], [0.1, 0.035, 0.16])]),
            SHOES,
            true,
        );
        let arm = vec![
            ball(side * 0.24, 0.45, 0.0, 0.035),
            ball(side * 0.42, 0.33, 0.03, 0.03),
        ];
        body.add(Solid::Loft(arm), SKIN, true);
        body.add(Solid::Loft(vec![ball(side * 0.45, 0.31, 0.03, 0.05)]), SKIN, true);
    }
    body.eyes = vec![
        ([-0.09, 0.8, 0.19], [0.028, 0.04]),
        ([0.09, 0.8, 0.19], [0.028, 0.04]),
    ];
    body.place("under the arm", 0.0, [0.26, 0.22, 0.4, 0.38]);
    body.place("between head and body", 0.0, [0.19, 0.48, 0.3, 0.62]);
    body
}
