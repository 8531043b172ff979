//! Which part of the body a place of the outline belongs to.

use super::arms::ArmCells;
use super::cells::Cells;
use super::rows::Rows;
use super::{Aspect, Frame, Landmark, height_of};

/// Shares of an arm's length at which forearm and hand begin: upper arm 0.186, forearm 0.146, hand 0.108 of the height
/// (Drillis and Contini 1966, in Winter 2009). Outlines show elbow and wrist too rarely to go by them.
const FOREARM_FROM: f32 = 0.423;
const HAND_FROM: f32 = 0.755;
/// Shares of the crotch's height at which knee and ankle lie where no outline shows them: 0.285 and 0.039 of the height
/// against 0.47 (Drillis and Contini 1966; ANSUR II 2012 for the crotch).
const KNEE_AT: f64 = 0.6;
const ANKLE_AT: f64 = 0.083;
/// The head begins where the width has grown from the neck's by this share of the way to the head's.
const JAW: f64 = 0.35;
/// The trunk begins where the width exceeds the neck's by this factor.
const SHOULDERS: f64 = 1.5;
/// And at most this share of the height below the narrowest place.
const NECK_DOWN: f64 = 0.08;

/// A part of the body, without its side.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs, reason = "the names say it")]
pub enum Region {
    Head,
    Neck,
    Trunk,
    UpperArm,
    Forearm,
    Hand,
    /// An arm that touches the body again, so that its length cannot be told.
    Arm,
    Thigh,
    LowerLeg,
    Foot,
    /// A whole leg.
    Leg,
}

/// As the viewer sees it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs, reason = "the names say it")]
pub enum Side {
    Left,
    Right,
}

/// A part of the body.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Part {
    /// Which.
    pub region: Region,
    /// On which side as seen; `None` for what there is once, and for legs seen from the side.
    pub side: Option<Side>,
}

impl Part {
    /// In a modeller's words.
    pub fn name(self) -> &'static str {
        use Region as R;
        use Side::{Left, Right};
        match (self.region, self.side) {
            (R::Head, _) => "head",
            (R::Neck, _) => "neck",
            (R::Trunk, _) => "trunk",
            (R::UpperArm, Some(Left)) => "left upper arm",
            (R::UpperArm, Some(Right)) => "right upper arm",
            (R::UpperArm, None) => "upper arm",
            (R::Forearm, Some(Left)) => "left forearm",
            (R::Forearm, Some(Right)) => "right forearm",
            (R::Forearm, None) => "forearm",
            (R::Hand, Some(Left)) => "left hand",
            (R::Hand, Some(Right)) => "right hand",
            (R::Hand, None) => "hand",
            (R::Arm, Some(Left)) => "left arm",
            (R::Arm, Some(Right)) => "right arm",
            (R::Arm, None) => "arm",
            (R::Thigh, Some(Left)) => "left thigh",
            (R::Thigh, Some(Right)) => "right thigh",
            (R::Thigh, None) => "thigh",
            (R::LowerLeg, Some(Left)) => "left lower leg",
            (R::LowerLeg, Some(Right)) => "right lower leg",
            (R::LowerLeg, None) => "lower leg",
            (R::Foot, Some(Left)) => "left foot",
            (R::Foot, Some(Right)) => "right foot",
            (R::Foot, None) => "foot",
            (R::Leg, Some(Left)) => "left leg",
            (R::Leg, Some(Right)) => "right leg",
            (R::Leg, None) => "leg",
        }
    }

    /// The whole limb that it is part of; itself where it is part of none.
    pub fn limb(self) -> Self {
        let region = match self.region {
            Region::UpperArm | Region::Forearm | Region::Hand => Region::Arm,
            Region::Thigh | Region::LowerLeg | Region::Foot => Region::Leg,
            other => other,
        };
        Self { region, ..self }
    }
}

/// The part of an arm at a share of its length.
pub(super) fn of_arm(along: f32, looped: bool) -> Region {
    match along {
        _ if looped => Region::Arm,
        a if a < FOREARM_FROM => Region::UpperArm,
        a if a < HAND_FROM => Region::Forearm,
        _ => Region::Hand,
    }
}

/// The part of each cell.
pub(super) fn divide(
    cells: &Cells,
    rows: &Rows,
    landmarks: &[Landmark],
    arms: &[ArmCells],
    frame: &Frame,
    (axis, aspect): (f64, Aspect),
) -> Vec<Option<Part>> {
    let neck = height_of(landmarks, "neck").map(|y| neck_ends(rows, y, frame));
    let crotch = height_of(landmarks, "crotch").or(frame.crotch);
    let leg = crotch.map(|c| {
        let tall = c - frame.ground;
        [
            height_of(landmarks, "knee").unwrap_or(frame.ground + KNEE_AT * tall),
            height_of(landmarks, "ankle").unwrap_or(frame.ground + ANKLE_AT * tall),
            c,
        ]
    });
    (0..cells.len())
        .map(|i| {
            for a in arms {
                if a.along[i] >= 0.0 {
                    return Some(Part {
                        region: of_arm(a.along[i], a.arm.axis.is_empty()),
                        side: Some(a.arm.side),
                    });
                }
            }
            let m = cells.middle(i);
            if let Some([base, jaw]) = neck
                && m.y > base
            {
                let region = if m.y > jaw { Region::Head } else { Region::Neck };
                return Some(Part { region, side: None });
            }
            let Some([_, ankle, crotch]) = leg.filter(|l| m.y < l[2]) else {
                return Some(Part {
                    region: Region::Trunk,
                    side: None,
                });
            };
            let knee = leg.map_or(crotch, |l| l[0]);
            let region = match m.y {
                y if y >= knee => Region::Thigh,
                y if y >= ankle => Region::LowerLeg,
                _ => Region::Foot,
            };
            let side = match aspect {
                Aspect::Frontal => Some(if m.x < axis { Side::Left } else { Side::Right }),
                _ => None,
            };
            Some(Part { region, side })
        })
        .collect()
}

/// Lower and upper end of a neck whose narrowest place is known.
fn neck_ends(rows: &Rows, y: f64, frame: &Frame) -> [f64; 2] {
    let at = rows.between(y - rows.step(), y).start.min(rows.len() - 1);
    let narrow = rows.outer(at);
    let widest = (0..at).map(|i| rows.outer(i)).fold(narrow, f64::max);
    let jaw = (0..at)
        .rev()
        .find(|&i| rows.outer(i) >= narrow + JAW * (widest - narrow))
        .map_or(y, |i| rows.y(i));
    let lowest = y - NECK_DOWN * frame.height;
    let base = (at..rows.len())
        .take_while(|&i| rows.y(i) > lowest)
        .find(|&i| rows.outer(i) >= SHOULDERS * narrow)
        .map_or(lowest, |i| rows.y(i));
    [base, jaw]
}
