//! The mesh's arms turned before anything is compared, and how they compare with the drawn ones.

use crate::anatomy::{Anatomy, Aspect, Frame};
use crate::arms::{self, Figure, JointFrom, MeshArm, Shape, Told, Turn};
use crate::compare::arms::{Pair, Scale, compare, pole};
use crate::mesh::Mesh;
use crate::place::assign::{Placing, reach};
use crate::profile::Outline;
use crate::report::model::{ArmReport, ArmsMode, Settings, SheetFinding};
use crate::sheet::read::Figure as DrawnFigure;
use crate::silhouette::Azimuth;
use crate::space::ViewUnits;

/// The drawing moves a joint by at most this share of the height: more, and the two have different shoulders.
const POLE_REACH: f64 = 0.03;
/// A vertex whose share of the turn is at least this belongs to the arm where arms are left out.
const LEFT_OUT: f64 = 0.5;

/// What was done about the arms.
#[derive(Default)]
pub(super) struct Arms {
    /// The mesh that is compared.
    pub(super) mesh: Option<Mesh>,
    /// What of it turned with the arms.
    pub(super) turned: Option<Mesh>,
    /// For the report.
    pub(super) reports: Vec<ArmReport>,
    /// What contradicts.
    pub(super) findings: Vec<SheetFinding>,
    /// What a person should know.
    pub(super) notes: Vec<String>,
    /// What was done, to be done to other surfaces of the same figure.
    pub(super) turns: ArmTurns,
}

/// What was done about the arms of a mesh.
#[derive(Debug, Clone, Default)]
pub struct ArmTurns {
    mode: ArmsMode,
    turns: Vec<(Told, bool, Turn)>,
}

impl ArmTurns {
    /// The arms of another surface of the same figure, each with its turn; empty where none were turned.
    pub(super) fn found(&self, mesh: &Mesh) -> Vec<(MeshArm, Turn)> {
        let Some(figure) = Figure::new(mesh, None).filter(|_| !self.turns.is_empty()) else {
            return Vec::new();
        };
        let told = |left: bool| {
            let known = self.turns.iter().find(|t| t.1 == left);
            known.map_or_else(Told::default, |t| t.0.clone())
        };
        arms::find(mesh, &figure, &[told(true), told(false)])
            .into_iter()
            .filter_map(|a| {
                let turn = self.turns.iter().find(|t| t.1 == a.left)?.2;
                Some((a, turn))
            })
            .collect()
    }

    /// A surface with its arms turned or left out.
    pub(super) fn done(&self, mesh: &Mesh, found: &[(MeshArm, Turn)]) -> Mesh {
        let turned: Vec<(&MeshArm, Turn)> = found.iter().map(|(a, t)| (a, *t)).collect();
        done(mesh, &turned, self.mode)
    }

    /// For each face whether it counts: not where arms are left out.
    pub(super) fn counting(&self, mesh: &Mesh, found: &[(MeshArm, Turn)]) -> Option<Vec<bool>> {
        let turned: Vec<(&MeshArm, Turn)> = found.iter().map(|(a, t)| (a, *t)).collect();
        (self.mode == ArmsMode::Ignore).then(|| kept(mesh, &turned))
    }
}

/// A drawn view from the front or from behind, in the mesh's units.
struct DrawnView {
    outline: Outline<ViewUnits>,
    anatomy: Anatomy,
    from_behind: bool,
}

/// Finds the arms of a mesh that stands upright and turns them as the settings say.
pub(super) fn arms(
    mesh: &Mesh,
    placing: &Placing,
    figures: &[(usize, &DrawnFigure)],
    settings: &Settings,
    told: &[Told; 2],
) -> Arms {
    let mode = settings.arms;
    let mut out = Arms {
        turns: ArmTurns {
            mode,
            turns: Vec::new(),
        },
        ..Arms::default()
    };
    if mode == ArmsMode::AsModelled {
        return out;
    }
    let (crown, ground) = reach(&placing.views[placing.lead].placement, figures[placing.lead].1);
    let height = crown - ground;
    let Some(figure) = Figure::new(mesh, Some([ground, crown])) else {
        return out;
    };
    let mut found = arms::find(mesh, &figure, told);
    for left in [true, false] {
        if !found.iter().any(|a| a.left == left) {
            out.notes.push(format!(
                "no {} arm is found in the mesh; a setup file can name its joint and its vertices",
                if left { "left" } else { "right" }
            ));
        }
    }
    let view = frontal(placing, figures, ground, height);
    let drawn: [Option<Shape>; 2] = view.as_ref().map_or([None, None], |v| {
        arms::drawn(&v.outline, &v.anatomy, v.from_behind, &found)
    });
    let scale = Scale {
        height,
        ground,
        knee: view
            .as_ref()
            .and_then(|v| v.anatomy.landmark("knee"))
            .map(|l| l.y),
        tolerance: settings.tolerance_pct / 100.0 * height,
        unit: &settings.unit,
    };
    let mut turns = Vec::with_capacity(found.len());
    for arm in &mut found {
        let own = drawn[usize::from(!arm.left)].as_ref();
        if let Some(at) = own
            .filter(|_| arm.from == JointFrom::Armpit)
            .and_then(|d| pole(arm, d, POLE_REACH * height))
        {
            (arm.shoulder[0], arm.shoulder[1]) = (at[0], at[1]);
            arm.from = JointFrom::Drawing;
        }
        // An arm that the drawing does not show hangs as the other one.
        let like = own.or(drawn[usize::from(arm.left)].as_ref());
        let turn = match mode {
            ArmsMode::Degrees(degrees) => arms::to_degrees(arm, degrees),
            _ => like.map(|d| arms::onto(arm, d, own.is_none())).unwrap_or(Turn {
                shoulder: 0.0,
                elbow: None,
            }),
        };
        if own.is_none() && mode != ArmsMode::Ignore {
            out.notes.push(format!(
                "the {} arm cannot be told from the body in the drawing{}",
                side(arm.left),
                match (mode, like) {
                    (ArmsMode::Degrees(_), _) => "",
                    (_, Some(_)) => "; it is turned as the other one",
                    (_, None) => "; it is left as modelled, --arms DEGREES turns it",
                }
            ));
        }
        turns.push(turn);
    }
    for (arm, turn) in found.iter().zip(&turns) {
        let told = Told {
            shoulder: Some(arm.shoulder),
            axis: Some([arm.shape.upper.along[0], arm.shape.upper.along[1], 0.0]),
            vertices: Vec::new(),
        };
        out.turns.turns.push((told, arm.left, *turn));
        if mode == ArmsMode::Ignore {
            continue;
        }
        let report = compare(
            &Pair {
                mesh: arm,
                drawn: drawn[usize::from(!arm.left)].as_ref(),
                turn: *turn,
                elbow: arm.elbow(),
                bends: (
                    arms::loops(mesh, &figure, arm),
                    arms::collapse(mesh, &figure, arm),
                ),
            },
            &scale,
        );
        if report.length_diff.is_some_and(|d| d.abs() > scale.tolerance) {
            out.findings.push(SheetFinding {
                kind: "arm-length".to_string(),
                text: report.text.clone(),
            });
        }
        out.reports.push(report);
    }
    let turned: Vec<(&MeshArm, Turn)> = found.iter().zip(turns).collect();
    let posed = done(mesh, &turned, mode);
    if mode != ArmsMode::Ignore {
        let member = |v: u32| found.iter().any(|a| a.members[v as usize]);
        let keep: Vec<bool> = posed.faces().map(|f| f.iter().all(|&v| member(v))).collect();
        out.turned = Some(posed.keep_faces(&keep));
    }
    out.mesh = Some(posed);
    out
}

fn side(left: bool) -> &'static str {
    if left { "left" } else { "right" }
}

/// The mesh as it is compared.
fn done(mesh: &Mesh, turns: &[(&MeshArm, Turn)], mode: ArmsMode) -> Mesh {
    if mode != ArmsMode::Ignore {
        return arms::turned(mesh, turns);
    }
    mesh.keep_faces(&kept(mesh, turns))
}

/// The faces that are left where arms are left out.
fn kept(mesh: &Mesh, turns: &[(&MeshArm, Turn)]) -> Vec<bool> {
    let out = |v: u32| {
        let p = mesh.positions()[v as usize];
        turns
            .iter()
            .any(|(a, _)| arms::share(a, v as usize, p) >= LEFT_OUT)
    };
    mesh.faces().map(|f| !f.iter().all(|&v| out(v))).collect()
}

/// The front view, else the back view.
fn frontal(
    placing: &Placing,
    figures: &[(usize, &DrawnFigure)],
    ground: f64,
    height: f64,
) -> Option<DrawnView> {
    let of = |azimuth: Azimuth| placing.views.iter().position(|p| p.azimuth == azimuth);
    let (v, from_behind) = match of(Azimuth::FRONT) {
        Some(v) => (v, false),
        None => (of(Azimuth::BACK)?, true),
    };
    let outline = placing.views[v].outline(&figures[v].1.level);
    let frame = Frame {
        ground,
        height,
        crotch: None,
        neck: None,
    };
    let anatomy = Anatomy::of(&outline, &frame, Aspect::Frontal);
    Some(DrawnView {
        outline,
        anatomy,
        from_behind,
    })
}
