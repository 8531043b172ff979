//! The mesh's arms, turned, against the drawn ones.

use super::wording::{length, spaced};
use crate::arms::{Collapse, End, MeshArm, Shape, Turn, turn};
use crate::report::model::{ArmReport, ArmSegment, ShoulderBend, Side};

/// An arm that is turned by less is compared as it is modelled; a joint cannot be told by so small a turn either.
const TELLING_TURN_DEG: f64 = 30.0;
/// Shares of an arm's length at which it ends at the elbow and at the wrist (Drillis and Contini 1966, in Winter 2009).
const ELBOW: f64 = 0.423;
const WRIST: f64 = 0.755;
/// An arm with a flat or open end within this share of its length of one of the two ends there.
const AT_JOINT: f64 = 0.1;
/// Loops that a joint has at least. Common practice, no source.
const LEAST_LOOPS: usize = 3;
/// Loops carry a bend if no edge loses more of its width, percent: a step of 36 degrees. Found by reasoning.
const CARRIED_PCT: f64 = 5.0;
/// A part is blamed where it is off by this share of the height more than the whole arm is: twice what an outline's
/// narrowest place, the wrist, is sure to, by trial on the drawn cases.
const BLAMED: f64 = 0.015;
/// Share of the height at which the elbow of a hanging arm lies on the mean: shoulder .818 less upper arm .186 (Drillis and
/// Contini 1966, in Winter 2009). That the ribs end there is common practice, no source.
const RIBS: f64 = 0.632;

/// What an arm is compared by.
pub struct Pair<'a> {
    /// The mesh's.
    pub mesh: &'a MeshArm,
    /// The drawn one, where the drawing shows it.
    pub drawn: Option<&'a Shape>,
    /// How the mesh's is turned.
    pub turn: Turn,
    /// The mesh's elbow as modelled, where it can be told.
    pub elbow: Option<[f64; 2]>,
    /// Loops at the shoulder, and what bending it costs.
    pub bends: (Option<usize>, Vec<Collapse>),
}

/// What all arms share.
pub struct Scale<'a> {
    /// Height of the figure.
    pub height: f64,
    /// Height of the ground.
    pub ground: f64,
    /// Height of the drawn knee, where it is seen.
    pub knee: Option<f64>,
    /// Greatest difference within tolerance.
    pub tolerance: f64,
    /// The unit's label.
    pub unit: &'a str,
}

/// Where the mesh's joint lies by the drawing: the place about which its upper arm turns onto the drawn one, where the
/// two lines meet; `None` where they run too much alike to tell, or meet elsewhere than the mesh's own shape allows.
pub fn pole(mesh: &MeshArm, drawn: &Shape, reach: f64) -> Option<[f64; 2]> {
    let angle = turn(drawn.upper.heading() - mesh.shape.upper.heading());
    if angle.abs().to_degrees() < TELLING_TURN_DEG {
        return None;
    }
    let at = mesh.shape.upper.meets(&drawn.upper)?;
    let joint = mesh.joint();
    ((at[0] - joint[0]).hypot(at[1] - joint[1]) <= reach).then_some(at)
}

/// The arm's figures and words.
pub fn compare(pair: &Pair<'_>, scale: &Scale<'_>) -> ArmReport {
    let (arm, shape) = (pair.mesh, &pair.mesh.shape);
    let joint = arm.joint();
    let landed = |p: [f64; 2]| pair.turn.of(arm, p)[1];
    let mesh_length = arm.length();
    let mesh_wrist = shape.wrist(joint);
    let drawn_wrist = pair.drawn.and_then(|d| d.wrist(joint));
    let drawn_length = pair.drawn.map(|d| d.length(joint));
    let ends_early = pair.drawn.and_then(|_| ends_at(arm, drawn_length?));
    let length_diff = drawn_length
        .filter(|_| ends_early.is_none())
        .map(|d| mesh_length - d);
    let side = if arm.left { Side::Left } else { Side::Right };
    let mut report = ArmReport {
        side,
        shoulder: arm.shoulder,
        shoulder_from: arm.from,
        axis: axis(pair),
        half_width: arm.radius,
        angle_deg: pair.drawn.map(|d| d.upper.below_horizontal_deg()),
        mesh_angle_deg: shape.upper.below_horizontal_deg(),
        turned_deg: pair.turn.shoulder.to_degrees() * if arm.left { -1.0 } else { 1.0 },
        elbow_bend_deg: pair.drawn.and_then(bend),
        elbow_y: pair.drawn.and_then(|d| Some(d.elbow()?[1])),
        wrist_y: drawn_wrist.map(|w| w[1]),
        fingertip_y: pair.drawn.map(|d| d.tip[1]),
        mesh_elbow_y: pair.elbow.map(landed),
        mesh_wrist_y: mesh_wrist.map(landed),
        mesh_fingertip_y: landed(shape.tip),
        length: drawn_length,
        mesh_length,
        length_diff,
        segments: segments(pair, drawn_wrist, mesh_wrist),
        end: arm.end,
        armpit_lower: armpit_lower(arm, &pair.turn),
        shoulder_loops: pair.bends.0,
        shoulder_bends: pair
            .bends
            .1
            .iter()
            .map(|c| shoulder_bend(c, pair.bends.0.unwrap_or(0)))
            .collect(),
        text: String::new(),
        practice: Vec::new(),
    };
    report.text = text(&report, ends_early, scale);
    report.practice = practice(&report, scale);
    report
}

/// Where the turned arm runs.
fn axis(pair: &Pair<'_>) -> Vec<[f64; 3]> {
    let arm = pair.mesh;
    let landed = |p: [f64; 2]| {
        let [x, y] = pair.turn.of(arm, p);
        [x, y, arm.shoulder[2]]
    };
    let elbow = pair.turn.elbow.map(|e| e.0).or(arm.shape.elbow());
    let mut out = vec![arm.shoulder];
    out.extend(elbow.map(landed));
    out.push(landed(arm.shape.tip));
    out
}

/// How far the forearm bends.
fn bend(shape: &Shape) -> Option<f64> {
    let fore = shape.fore?;
    Some(turn(fore.heading() - shape.upper.heading()).abs().to_degrees())
}

/// Where the mesh's arm ends so far, if that is not the fingertip.
fn ends_at(arm: &MeshArm, drawn: f64) -> Option<&'static str> {
    let share = arm.length() / drawn;
    let near = |at: f64| (share - at).abs() <= AT_JOINT;
    match arm.end {
        End::Closed => None,
        _ if near(ELBOW) => Some("at the elbow"),
        _ if near(WRIST) => Some("at the wrist"),
        End::Open => Some("in an open border"),
        End::Flat => None,
    }
}

/// How much lower the hand lands when the arm turns about the armpit.
fn armpit_lower(arm: &MeshArm, turn: &Turn) -> f64 {
    let tip = arm.shape.tip;
    let about = |p: [f64; 2]| crate::arms::rotated(tip, p, turn.shoulder)[1];
    about(arm.joint()) - about(arm.armpit)
}

/// Parts that both show.
fn segments(pair: &Pair<'_>, drawn_wrist: Option<[f64; 2]>, mesh_wrist: Option<[f64; 2]>) -> Vec<ArmSegment> {
    let (arm, shape) = (pair.mesh, &pair.mesh.shape);
    let Some(drawn) = pair.drawn else {
        return Vec::new();
    };
    let joint = arm.joint();
    let apart = |a: [f64; 2], b: [f64; 2]| (a[0] - b[0]).hypot(a[1] - b[1]);
    let one = |part, length: f64, mesh_length: f64| ArmSegment {
        part,
        length,
        mesh_length,
        diff: mesh_length - length,
    };
    let mut out = Vec::new();
    // The mesh's own elbow, not one that was guessed to bend it by.
    if let (Some(d), Some(m)) = (drawn.elbow(), pair.elbow) {
        let upper = [apart(joint, d), apart(joint, m)];
        out.push(one("upper arm", upper[0], upper[1]));
        out.push(one(
            "forearm and hand",
            drawn.length(joint) - upper[0],
            arm.length() - upper[1],
        ));
    }
    if let (Some(d), Some(m)) = (drawn_wrist, mesh_wrist) {
        let hand = [
            drawn.last().s(drawn.tip) - drawn.last().s(d),
            shape.last().s(shape.tip) - shape.last().s(m),
        ];
        out.push(one(
            "arm to the wrist",
            drawn.length(joint) - hand[0],
            arm.length() - hand[1],
        ));
        out.push(one("hand", hand[0], hand[1]));
    }
    out
}

/// A bend of the shoulder in the report's words.
fn shoulder_bend(cost: &Collapse, loops: usize) -> ShoulderBend {
    let lost = cost.shoulder_pct.max(cost.armpit_pct);
    let carried = loops >= LEAST_LOOPS && lost <= CARRIED_PCT;
    let count = if loops == 1 {
        "1 loop".to_string()
    } else {
        format!("{loops} loops")
    };
    let volume = match cost.volume_pct {
        v if v.abs() < 0.5 => "volume kept".to_string(),
        v => format!(
            "volume {:.0} % {}",
            v.abs(),
            if v < 0.0 { "lost" } else { "gained" }
        ),
    };
    let why = match (loops >= LEAST_LOOPS, lost <= CARRIED_PCT) {
        (true, true) => format!("{count} carry it"),
        (true, false) => format!(
            "{count} lie too far apart at the bend: up to {:.0} degrees from one to the next",
            cost.step_deg
        ),
        (false, _) => format!("{count} at the joint; common practice is {LEAST_LOOPS} or more"),
    };
    ShoulderBend {
        pose: cost.pose,
        turned_deg: cost.turned_deg,
        volume_pct: cost.volume_pct,
        shoulder_width_lost_pct: cost.shoulder_pct,
        armpit_width_lost_pct: cost.armpit_pct,
        step_deg: cost.step_deg,
        carried,
        text: format!(
            "{}: width lost {:.0} % at the shoulder, {:.0} % at the armpit, {volume}; {why}",
            cost.pose, cost.shoulder_pct, cost.armpit_pct
        ),
    }
}

fn text(report: &ArmReport, ends_early: Option<&str>, scale: &Scale<'_>) -> String {
    let show = |v: f64| format!("{}{}", length(v.abs(), scale.height), spaced(scale.unit));
    let side = report.side.word();
    let how = |d: f64| if d > 0.0 { "long" } else { "short" };
    if let Some(end) = ends_early {
        return format!("{side} arm ends {end} so far; its whole length cannot be compared yet");
    }
    let Some(diff) = report.length_diff else {
        return format!("{side} arm cannot be told from the body in the drawing");
    };
    if diff.abs() <= scale.tolerance {
        return format!(
            "{side} arm as long as drawn, within tolerance ({} {})",
            show(diff),
            how(diff)
        );
    }
    let mut out = format!("{side} arm {} too {}", show(diff), how(diff));
    // Only what the drawing shows is blamed: a part that is off by clearly more than its share of an arm that is so all
    // along.
    let more = |s: &ArmSegment| s.diff - diff * s.length / (report.mesh_length - diff);
    let worst = report
        .segments
        .iter()
        .filter(|s| more(s) * diff > 0.0 && more(s).abs() > BLAMED * scale.height)
        .max_by(|a, b| more(a).abs().total_cmp(&more(b).abs()));
    if let Some(s) = worst {
        out += &format!(": {} {} too {}", s.part, show(s.diff), how(s.diff));
    }
    out
}

/// What is common practice to look at.
fn practice(report: &ArmReport, scale: &Scale<'_>) -> Vec<String> {
    let show = |v: f64| format!("{}{}", length(v.abs(), scale.height), spaced(scale.unit));
    let level = |y: f64| if y < 0.0 { "below" } else { "above" };
    let mut out = Vec::new();
    if let Some(elbow) = report.mesh_elbow_y.or(report.elbow_y) {
        let ribs = scale.ground + RIBS * scale.height;
        out.push(format!(
            "the elbow lies {} {} the end of the ribs (at {:.0} % of the height on the mean); common practice: level with it",
            show(elbow - ribs),
            level(elbow - ribs),
            100.0 * RIBS
        ));
    }
    if let Some(knee) = scale.knee {
        let above = report.mesh_fingertip_y - knee;
        out.push(format!(
            "the fingertips hang {} {} the knee; common practice: just above it",
            show(above),
            level(above)
        ));
    }
    if report.length_diff.is_some_and(|d| d != 0.0) {
        out.push(
            "rather slightly long than short: an elbow that bends a little takes up what is too long, a short arm does \
             not reach what the drawings let it reach; common practice"
                .to_string(),
        );
    }
    out
}
