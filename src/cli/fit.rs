//! `drawntrue fit`: the mesh moved onto its drawing, written, read back, and checked again.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use clap::Args;

use super::EXIT_OFF;
use super::check::{self, CheckArguments, Opened, Wanted};
use super::progress::Progress;
use crate::audit::model::{Audit, Outcome};
use crate::audit::{Options, examine};
use crate::check::fitted::{FitAsk, Fitted, Only, fitted};
use crate::check::{Ahead, Checked, Held};
use crate::compare::moves::left_over;
use crate::compare::wording::length;
use crate::error::Result;
use crate::mesh::Mesh;
use crate::mesh::axes::turn_upright;
use crate::mesh::obj::rewrite::{Edits, FaceEdit, rewrite};
use crate::open::{self, OpenMesh};
use crate::report::files;
use crate::report::model::{ArmFit, FitReport, Report, RestReport, Summary};
use crate::report::terminal::{self, summary};

/// A view is worse where its outline is farther from the drawing by more than these shares of the tolerance: on the mean,
/// and at the place that 95 of 100 are nearer than.
const WORSE: [f64; 2] = [0.1, crate::fit::LEFT_ALONE];

/// Arguments of `drawntrue fit`, as typed.
#[derive(Debug, Args)]
pub(super) struct FitArguments {
    #[command(flatten)]
    check: CheckArguments,
    /// The file for the fitted mesh: same vertices in the same order, same faces; only positions move
    #[arg(long, value_name = "FILE")]
    mesh_out: PathBuf,
    /// Largest move of a vertex, in percent of the figure height
    #[arg(long, value_name = "PCT", allow_negative_numbers = true, value_parser = check::positive, default_value_t = 100.0 * crate::fit::MOST_MOVE)]
    max_move: f64,
    /// How much of the way to go: 0 leaves the mesh as it is, 1 goes all the way
    #[arg(long, value_name = "SHARE", allow_negative_numbers = true, value_parser = share, default_value_t = 1.0)]
    amount: f64,
    /// Correct only this: the number of a finding, or the name of a view, of a part of the body or of a group of the file;
    /// may be given several times
    #[arg(long, value_name = "WHAT")]
    only: Vec<String>,
}

fn share(text: &str) -> std::result::Result<f64, String> {
    match text.parse::<f64>() {
        Ok(v) if (0.0..=1.0).contains(&v) => Ok(v),
        _ => Err("a number from 0 to 1 is needed".to_string()),
    }
}

pub(super) fn run(arguments: &FitArguments) -> Result<u8> {
    let quiet = arguments.check.quiet;
    let progress = Progress::new(!quiet);
    let asked = &arguments.check;
    let case = asked.case()?;
    files::prepare(&asked.out)?;
    let Opened {
        mesh,
        ahead,
        pictures,
        images,
    } = check::opened(asked, &case, &progress)?;
    progress.step("comparing");
    let held = check::kept_placement(&asked.out, &case.settings)?;
    let checked = |mesh: &OpenMesh, held: Option<&Held>, ahead: Option<&Ahead>| {
        case.check(mesh, &images, held, None, asked.contact, ahead)
    };
    let before = checked(&mesh, held.as_ref(), Some(&ahead))?;
    let only = Only::parse(&arguments.only, &before, &mesh.mesh)?;
    progress.step("fitting");
    let ask = FitAsk {
        only,
        most_move_pct: arguments.max_move,
        amount: arguments.amount,
        progress: &|round| progress.step(ROUNDS[round.min(ROUNDS.len() - 1)]),
    };
    let found = fitted(&mesh.mesh, &before, &ask)?;
    progress.step("writing the mesh");
    let inputs = asked.inputs(&case);
    let moved = write_mesh(&found, arguments, &inputs)?;
    progress.step("checking the fitted mesh");
    // What counts is the file as it lies there.
    let again = open::mesh(&arguments.mesh_out, &case.settings, &asked.meshes.wanted())?;
    let mut after = checked(&again, before.to_hold.as_ref(), None)?;
    let upright = turn_upright(again.mesh, before.stands.turned_by);
    after.report.fit = Some(told(&found, moved, &before, &after, &upright, arguments));
    progress.step("drawing overlays");
    let outputs = check::outputs(&after, &pictures, &images, asked, Wanted::default())?;
    let written = check::write(asked, &outputs, &inputs)?;
    progress.done();
    let worse = after.report.fit.as_ref().is_some_and(|f| !f.worse.is_empty());
    if !quiet {
        super::print(&summary(&after.report, super::style()))?;
        super::print(&described(&after.report))?;
        let names: Vec<String> = written
            .iter()
            .filter_map(|p| p.file_name())
            .map(|n| n.to_string_lossy().into_owned())
            .collect();
        super::print(&format!(
            "{}\n{}\n",
            terminal::written(&arguments.check.out, &names),
            arguments.mesh_out.display()
        ))?;
    }
    Ok(if worse {
        EXIT_OFF
    } else {
        check::status(after.report.verdict)
    })
}

/// What is announced for each round.
const ROUNDS: [&str; 8] = [
    "fitting",
    "fitting, round 1",
    "fitting, round 2",
    "fitting, round 3",
    "fitting, round 4",
    "fitting, round 5",
    "fitting, round 6",
    "fitting, last look",
];

/// Writes the mesh file's own text with other positions; says how many vertices of it moved.
fn write_mesh(found: &Fitted, arguments: &FitArguments, inputs: &[&Path]) -> Result<usize> {
    let path = &arguments.check.mesh;
    let text = arguments.check.meshes.read_text(path)?;
    let before = text.mesh.positions();
    let count = before.len();
    // What does not move keeps its digits.
    let positions: Vec<[f64; 3]> = (0..count)
        .map(|v| {
            if found.moved[v] {
                found.positions[v]
            } else {
                before[v]
            }
        })
        .collect();
    let moved = (0..count).filter(|v| found.moved[*v]).count();
    let edits = Edits {
        stands_for: (0..count as u32).collect(),
        dropped: vec![false; count],
        faces: vec![FaceEdit::Keep; text.mesh.face_count()],
        positions,
    };
    let out = rewrite(&text.text, before, &edits)?;
    let (out, lost) = arguments.check.meshes.as_named(out, &arguments.mesh_out)?;
    files::write_to(&arguments.mesh_out, &out, inputs)?;
    if !arguments.check.quiet {
        super::print_notes(&[], lost)?;
    }
    Ok(moved)
}

fn told(
    found: &Fitted,
    moved: usize,
    before: &Checked,
    after: &Checked,
    upright: &Mesh,
    arguments: &FitArguments,
) -> FitReport {
    let report = &before.report;
    let height = report.figure_height;
    let summaries = |r: &Report| -> BTreeMap<String, Summary> {
        let views = r.views.iter();
        views.map(|v| (v.name.clone(), v.summary)).collect()
    };
    let (old, new) = (summaries(report), summaries(&after.report));
    let tolerance = report.settings.tolerance_pct / 100.0 * height;
    let mut worse = farther(&old, &new, tolerance, height);
    let options = Options {
        quick: true,
        plane_x: report.settings.plane,
        meant_borders: report.settings.borders.clone(),
        ..Options::default()
    };
    worse.extend(faults(&found.before.audit, &examine(upright, &options).audit));
    let rest = found
        .fit
        .rest
        .iter()
        .map(|r| {
            let view = report.views[r.view].name.clone();
            RestReport {
                text: left_over(&view, [r.y_from, r.y_to], -r.off, r.reason, height),
                view,
                y_from: r.y_from,
                y_to: r.y_to,
                off: -r.off,
                reason: r.reason,
            }
        })
        .collect();
    let largest = (0..found.moved.len())
        .map(|v| crate::mesh::vector::norm(found.by(v)))
        .fold(0.0, f64::max);
    FitReport {
        moved,
        largest_move: largest,
        before: old,
        after: new,
        amount: arguments.amount,
        max_move: arguments.max_move / 100.0 * height,
        only: arguments.only.clone(),
        rounds: found.fit.rounds,
        unmeasured: found.fit.unseen,
        cut: found.fit.cut,
        held_back: found.fit.held_back,
        arms: found
            .arms
            .iter()
            .map(|&(side, shortened)| ArmFit { side, shortened })
            .collect(),
        rest,
        worse,
    }
}

/// Views whose outline is farther from the drawing than before.
fn farther(
    old: &BTreeMap<String, Summary>,
    new: &BTreeMap<String, Summary>,
    tolerance: f64,
    height: f64,
) -> Vec<String> {
    old.iter()
        .filter_map(|(name, was)| Some((name, was, new.get(name)?)))
        .filter(|(_, was, is)| {
            is.contour_mean > was.contour_mean + WORSE[0] * tolerance
                || is.contour_p95 > was.contour_p95 + WORSE[1] * tolerance
        })
        .map(|(name, was, is)| {
            format!(
                "the {name} view got worse: its outline is {} off on the mean and less than {} in 95 of 100 places, it was {} and {}",
                length(is.contour_mean, height),
                length(is.contour_p95, height),
                length(was.contour_mean, height),
                length(was.contour_p95, height)
            )
        })
        .collect()
}

/// Checks of the audit that count more faults than before.
fn faults(old: &Audit, new: &Audit) -> Vec<String> {
    new.checks
        .iter()
        .filter(|c| c.outcome != Outcome::Pass)
        .filter_map(|c| Some((c, old.checks.iter().find(|o| o.id == c.id)?)))
        .filter(|(c, o)| c.count > o.count)
        .map(|(c, o)| format!("a fault of the mesh: {} ({} before)", c.text, o.count))
        .collect()
}

/// What was done, in words.
fn described(report: &Report) -> String {
    let Some(fit) = &report.fit else {
        return String::new();
    };
    let height = report.figure_height;
    let mut out = if fit.moved == 0 {
        "nothing was moved: what there is agrees with the drawing or was not asked for\n".to_string()
    } else {
        format!(
            "{} vertices moved, the farthest by {}; {} of them are on no outline, they went along and were not measured\n",
            fit.moved,
            length(fit.largest_move, height),
            fit.unmeasured
        )
    };
    for arm in &fit.arms {
        out += &format!(
            "{} arm {} by {}\n",
            arm.side.word(),
            if arm.shortened > 0.0 {
                "shortened"
            } else {
                "lengthened"
            },
            length(arm.shortened.abs(), height)
        );
    }
    if fit.cut > 0 {
        out += &format!(
            "{} vertices would go farther than {}; raise --max-move if that is meant\n",
            fit.cut,
            length(fit.max_move, height)
        );
    }
    if fit.held_back > 0 {
        out += &format!(
            "{} vertices went less far, so that no face turns over and nothing goes through itself\n",
            fit.held_back
        );
    }
    for (name, was) in &fit.before {
        if let Some(is) = fit.after.get(name) {
            out += &format!(
                "{name}: outline off by {} on the mean, before {}; rows outside {}, before {}\n",
                length(is.contour_mean, height),
                length(was.contour_mean, height),
                is.rows_outside,
                was.rows_outside
            );
        }
    }
    for rest in &fit.rest {
        out += &format!("left: {}\n", rest.text);
    }
    for worse in &fit.worse {
        out += &format!("{worse}\n");
    }
    out
}
