//! People of the test sheets, all invented.

use super::body::Body;
use super::build::{Build, HAIR, Hand, both, person};
use super::solid::{Solid, ball, oval};

const RED: [u8; 3] = [196, 84, 70];
const LEATHER: [u8; 3] = [150, 104, 62];

/// Ordinary proportions, to change from.
pub(crate) fn plain() -> Build {
    Build {
        shoulder: 0.79,
        crotch: 0.45,
        chest: [0.105, 0.07],
        waist: [0.085, 0.06],
        hips: [0.1, 0.07],
        stance: 0.075,
        thigh: 0.052,
        knee: 0.036,
        ankle: 0.026,
        arm: [0.036, 0.028, 0.02, 0.026],
        arms: both([
            [0.12, 0.765, 0.0],
            [0.2, 0.61, -0.01],
            [0.27, 0.47, 0.02],
            [0.3, 0.39, 0.03],
        ]),
        hand: Hand::Mitten,
        head: [0.066, 0.085, 0.075],
        neck: 0.03,
        foot: 0.1,
    }
}

/// Wide and short-legged, big belly.
pub(crate) fn stocky() -> Body {
    let b = Build {
        shoulder: 0.71,
        crotch: 0.27,
        chest: [0.2, 0.15],
        waist: [0.235, 0.2],
        hips: [0.2, 0.16],
        stance: 0.115,
        thigh: 0.092,
        knee: 0.07,
        ankle: 0.052,
        arm: [0.07, 0.055, 0.042, 0.055],
        arms: both([
            [0.2, 0.66, 0.0],
            [0.335, 0.5, -0.01],
            [0.415, 0.37, 0.03],
            [0.45, 0.28, 0.05],
        ]),
        head: [0.125, 0.135, 0.13],
        neck: 0.07,
        foot: 0.15,
        ..plain()
    };
    let mut body = person(&b);
    body.place("crotch", 0.0, [-0.06, 0.1, 0.06, 0.28]);
    body.place("armpit", 0.0, [0.22, 0.36, 0.33, 0.58]);
    body.place("under the chin", 90.0, [0.06, 0.67, 0.2, 0.78]);
    body
}

/// Big head with a bun, small body.
pub(crate) fn child() -> Body {
    let b = Build {
        shoulder: 0.6,
        crotch: 0.24,
        chest: [0.1, 0.085],
        waist: [0.105, 0.1],
        hips: [0.11, 0.095],
        stance: 0.07,
        thigh: 0.056,
        knee: 0.046,
        ankle: 0.036,
        arm: [0.042, 0.036, 0.03, 0.036],
        arms: both([
            [0.1, 0.56, 0.0],
            [0.175, 0.45, 0.0],
            [0.23, 0.35, 0.03],
            [0.25, 0.29, 0.04],
        ]),
        head: [0.165, 0.185, 0.17],
        neck: 0.045,
        foot: 0.09,
        ..plain()
    };
    let mut body = person(&b);
    // The bun sits high on the back of the head, so the head is lowered a little by what follows from the drawing.
    body.add(Solid::Loft(vec![ball(0.0, 1.0, -0.1, 0.07)]), HAIR, true);
    body.place("crotch", 0.0, [-0.04, 0.1, 0.04, 0.24]);
    body.place("armpit", 0.0, [0.11, 0.32, 0.17, 0.49]);
    body.place("under the chin", 90.0, [0.05, 0.58, 0.16, 0.7]);
    body
}

/// Tall and thin with a wide hat; arms hang beside the body with a narrow gap.
pub(crate) fn hatted() -> Body {
    let b = Build {
        shoulder: 0.76,
        crotch: 0.44,
        chest: [0.078, 0.05],
        waist: [0.06, 0.045],
        hips: [0.072, 0.052],
        stance: 0.05,
        thigh: 0.036,
        knee: 0.026,
        ankle: 0.02,
        arm: [0.026, 0.02, 0.016, 0.02],
        arms: both([
            [0.085, 0.735, 0.0],
            [0.112, 0.58, -0.01],
            [0.126, 0.43, 0.015],
            [0.128, 0.34, 0.02],
        ]),
        head: [0.05, 0.066, 0.056],
        neck: 0.022,
        foot: 0.09,
        ..plain()
    };
    let mut body = person(&b);
    let y = 0.962;
    body.add(
        Solid::Loft(vec![oval([0.0, y, 0.0], [0.15, 0.008, 0.15])]),
        HAIR,
        true,
    );
    let crown = vec![
        oval([0.0, y, 0.0], [0.068, 0.01, 0.07]),
        oval([0.0, 1.07, -0.005], [0.045, 0.02, 0.045]),
    ];
    body.add(Solid::Loft(crown), HAIR, true);
    body.place("crotch", 0.0, [-0.03, 0.2, 0.03, 0.45]);
    body.place("between arm and body", 0.0, [0.065, 0.46, 0.105, 0.68]);
    body.place("under the brim", 0.0, [0.055, 0.87, 0.13, 0.955]);
    body
}

/// Bell skirt, hair in a bun, forearms turned out.
pub(crate) fn skirted() -> Body {
    let b = Build {
        chest: [0.082, 0.064],
        waist: [0.058, 0.05],
        hips: [0.09, 0.075],
        stance: 0.045,
        thigh: 0.045,
        arm: [0.03, 0.024, 0.017, 0.022],
        arms: both([
            [0.095, 0.765, 0.0],
            [0.15, 0.615, -0.02],
            [0.255, 0.56, 0.03],
            [0.32, 0.575, 0.05],
        ]),
        ..plain()
    };
    let mut body = person(&b);
    let skirt = vec![
        oval([0.0, 0.585, 0.0], [0.06, 0.012, 0.05]),
        oval([0.0, 0.42, 0.0], [0.15, 0.012, 0.13]),
        oval([0.0, 0.2, 0.0], [0.19, 0.016, 0.165]),
    ];
    body.add(Solid::Loft(skirt), RED, true);
    body.add(Solid::Loft(vec![ball(0.0, 0.97, -0.09, 0.036)]), HAIR, true);
    body.belts = vec![0.72];
    body.place("between the legs", 0.0, [-0.035, 0.03, 0.035, 0.17]);
    body.place("inside the elbow", 0.0, [0.16, 0.56, 0.26, 0.68]);
    body.place("armpit", 0.0, [0.07, 0.6, 0.13, 0.72]);
    body
}

/// A messenger with a bag at one hip: not its own mirror image.
pub(crate) fn messenger() -> Body {
    let mut b = plain();
    b.arms[1] = [
        [0.12, 0.765, 0.0],
        [0.21, 0.63, 0.0],
        [0.285, 0.5, 0.03],
        [0.315, 0.42, 0.05],
    ];
    let mut body = person(&b);
    body.add(
        Solid::Loft(vec![
            oval([-0.145, 0.47, 0.0], [0.035, 0.05, 0.075]),
            oval([-0.16, 0.36, 0.0], [0.05, 0.05, 0.09]),
        ]),
        LEATHER,
        true,
    );
    let strap = vec![ball(0.075, 0.79, 0.05, 0.012), ball(-0.13, 0.5, 0.08, 0.012)];
    body.add(Solid::Loft(strap), LEATHER, true);
    let hair = vec![
        oval([0.0, 0.95, -0.02], [0.074, 0.06, 0.075]),
        oval([0.0, 0.85, -0.05], [0.06, 0.05, 0.04]),
    ];
    body.add(Solid::Loft(hair), HAIR, true);
    body.place("crotch", 0.0, [-0.045, 0.25, 0.045, 0.46]);
    body.place("armpit", 0.0, [0.1, 0.58, 0.19, 0.74]);
    body
}

/// Arms raised to the sides, fingers spread.
pub(crate) fn fingers() -> Body {
    let b = Build {
        arm: [0.038, 0.03, 0.023, 0.036],
        arms: both([
            [0.12, 0.76, 0.0],
            [0.25, 0.74, -0.01],
            [0.38, 0.77, 0.0],
            [0.51, 0.8, 0.0],
        ]),
        hand: Hand::Spread,
        ..plain()
    };
    let mut body = person(&b);
    body.place("crotch", 0.0, [-0.045, 0.25, 0.045, 0.46]);
    body.place("between the fingers", 0.0, [0.4, 0.7, 0.56, 0.9]);
    body.place("under the arm", 0.0, [0.1, 0.6, 0.24, 0.72]);
    body
}

/// Arms hang, hands touch the thighs: a long narrow hole on each side; legs pressed together.
pub(crate) fn soldier() -> Body {
    let b = Build {
        chest: [0.1, 0.065],
        waist: [0.07, 0.052],
        hips: [0.088, 0.06],
        stance: 0.03,
        thigh: 0.047,
        knee: 0.039,
        ankle: 0.032,
        arms: both([
            [0.115, 0.765, 0.0],
            [0.138, 0.61, -0.01],
            [0.128, 0.48, 0.01],
            [0.108, 0.41, 0.02],
        ]),
        ..plain()
    };
    let mut body = person(&b);
    let cap = vec![
        oval([0.0, 0.985, 0.0], [0.075, 0.02, 0.08]),
        oval([0.0, 0.955, 0.06], [0.05, 0.008, 0.06]),
    ];
    body.add(Solid::Loft(cap), HAIR, true);
    body.place("between arm and body", 0.0, [0.075, 0.52, 0.125, 0.68]);
    body.place("under the chin", 90.0, [0.03, 0.78, 0.09, 0.85]);
    body
}
