//! A checked mesh fitted to its drawing: the arms' lengths first, then both outlines, in the pose in which they are
//! compared; the moves come back to the mesh as it is modelled.

use std::borrow::Cow;

use super::{Checked, Shown};
use crate::arms::{self, MeshArm, Turn};
use crate::audit::{Examined, Options, examine};
use crate::compare::moves;
use crate::error::{Error, Result};
use crate::fit::{Ask, Fit, Move, NO_PARTNER, Reason, Rest, Stretch, Target, advise, fit};
use crate::mesh::axes::{turn_back, turn_upright};
use crate::mesh::plane::leave_out_drawing_planes;
use crate::mesh::vector::{Vector, mirrored};
use crate::mesh::{Axes, Mesh};
use crate::profile::Outline;
use crate::report::model::{AdvisedMove, ArmReport, Arrow, Report, Side, Verdict, View};
use crate::space::{Point, ViewUnits};

/// Views between front and side are drawn less surely: they count so much.
const OBLIQUE_WEIGHT: f64 = 0.25;
/// Turns that are this near to a quarter turn, in degrees, are one.
const QUARTER: f64 = 0.5;
/// Around a place of an outline a part is looked for this far away, in shares of the height.
const BESIDE: f64 = 0.006;
/// Distance of arrows along an outline, in shares of the height.
const ARROWS_APART: f64 = 0.03;
/// A finding is mended this far beyond its ends, in shares of the height.
const BEYOND: f64 = 0.01;

/// What a fit is confined to; what is empty confines nothing. Of one kind any, of different kinds all must hold.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Only {
    /// Findings by their number.
    pub findings: Vec<usize>,
    /// Views by their name.
    pub views: Vec<String>,
    /// Parts of the body by their name.
    pub parts: Vec<String>,
    /// Groups of the file.
    pub groups: Vec<String>,
}

impl Only {
    /// Reads what was asked for: the number of a finding, or the name of a view, a part or a group.
    ///
    /// # Errors
    /// There is nothing of that name; the message says what there is.
    pub fn parse(asked: &[String], checked: &Checked, mesh: &Mesh) -> Result<Self> {
        let mut out = Self::default();
        let views: Vec<&str> = checked.report.views.iter().map(|v| v.name.as_str()).collect();
        let rows = checked.report.views.iter().flat_map(|v| &v.rows);
        let mut parts: Vec<&str> = rows.flat_map(|r| r.spans.iter().map(|s| s.part)).collect();
        parts.extend(findings(checked).flat_map(|(_, f)| f.parts.iter().copied()));
        parts.sort_unstable();
        parts.dedup();
        let groups: Vec<&str> = mesh.groups().iter().map(|g| g.name.as_str()).collect();
        let numbers = findings(checked).count();
        for name in asked {
            let same = |other: &&&str| other.eq_ignore_ascii_case(name);
            if let Ok(number) = name.parse::<usize>() {
                if number == 0 || number > numbers {
                    return Err(
                        Error::new(format!("there is no finding {number}")).advise(match numbers {
                            0 => "the check has no findings".to_string(),
                            n => format!("give a number from 1 to {n}"),
                        }),
                    );
                }
                out.findings.push(number);
            } else if views.iter().any(|v| same(&v)) {
                out.views.push(name.to_ascii_lowercase());
            } else if parts.iter().any(|p| same(&p)) {
                out.parts.push(name.to_ascii_lowercase());
            } else if groups.contains(&name.as_str()) {
                out.groups.push(name.clone());
            } else {
                let list = |what: &str, names: &[&str]| match names {
                    [] => String::new(),
                    _ => format!("; {what}: {}", names.join(", ")),
                };
                return Err(Error::new(format!("nothing is called {name}")).advise(format!(
                    "give the number of a finding{}{}{}",
                    list("views", &views),
                    list("parts", &parts),
                    list("groups", &groups)
                )));
            }
        }
        Ok(out)
    }
}

/// How to fit a checked mesh.
pub struct FitAsk<'a> {
    /// What it is confined to.
    pub only: Only,
    /// Largest move of a vertex, percent of the figure's height.
    pub most_move_pct: f64,
    /// Share of the way, 0 to 1.
    pub amount: f64,
    /// Told the number of each round as it begins.
    pub progress: &'a (dyn Fn(usize) + Sync),
}

/// A fitted mesh.
pub struct Fitted {
    /// Where each vertex goes, in the file's own axes.
    pub positions: Vec<Vector>,
    /// Where each vertex was, in the file's own axes.
    pub places: Vec<Vector>,
    /// Which of them move.
    pub moved: Vec<bool>,
    /// The fit, on the mesh as it was compared: upright, its arms turned.
    pub fit: Fit,
    /// The moves of the mesh as modelled, upright.
    pub moves: Vec<Vector>,
    /// Length that was taken from an arm, or added to it where negative: the character's left one first.
    pub arms: Vec<(Side, f64)>,
    /// What was known of the mesh before.
    pub before: Examined,
    /// The mesh as it was compared.
    pub cage: Mesh,
}

impl Fitted {
    /// How far a vertex goes, in the file's own axes.
    pub fn by(&self, vertex: usize) -> Vector {
        std::array::from_fn(|i| self.positions[vertex][i] - self.places[vertex][i])
    }
}

/// All findings of all views with the index of their view.
pub fn findings(checked: &Checked) -> impl Iterator<Item = (usize, &crate::report::model::Finding)> {
    let views = checked.report.views.iter().enumerate();
    views.flat_map(|(v, view)| view.findings.iter().map(move |f| (v, f)))
}

/// Fits a mesh, ready as it was checked, to the drawing that it was checked against.
///
/// # Errors
/// The check is undecided; the equations cannot be solved.
pub fn fitted(mesh: &Mesh, checked: &Checked, ask: &FitAsk<'_>) -> Result<Fitted> {
    let report = &checked.report;
    if report.verdict == Verdict::Undecided {
        let why = report.undecided.first().cloned().unwrap_or_default();
        return Err(
            Error::new(format!("the drawing is not sure enough to fit to: {why}"))
                .advise("say what it shows in a setup file, or give --figure-height"),
        );
    }
    let by = checked.stands.turned_by;
    let upright = if by == Axes::default() {
        mesh.clone()
    } else {
        let turned = turn_upright(mesh.clone(), by);
        if report.settings.groups.is_empty() {
            leave_out_drawing_planes(turned).mesh
        } else {
            turned
        }
    };
    let before = examine(
        &upright,
        &Options {
            quick: true,
            plane_x: report.settings.plane,
            meant_borders: report.settings.borders.clone(),
            ..Options::default()
        },
    );
    let partners = partners(&upright, &before);
    let found = checked.stands.arms.found(&upright);
    let (stretches, arm_lengths) = arm_lengths(&upright, &found, checked, ask);
    let lengthened = upright.moved(sums(upright.positions(), &stretches));
    let counting = checked.stands.arms.counting(&upright, &found);
    let posed = match counting {
        // What is left out is not seen but goes along.
        Some(_) => lengthened.clone(),
        None => checked.stands.arms.done(&lengthened, &found),
    };
    let made = fit_posed(&posed, counting.as_deref(), &partners, &before.same, checked, ask)?;
    let turns = |v: usize| -> f64 {
        if counting.is_some() {
            return 0.0;
        }
        found
            .iter()
            .map(|(arm, turn)| arms::angle(arm, turn, v, lengthened.positions()[v]))
            .sum()
    };
    let mut moves: Vec<Vector> = (0..made.moves.len())
        .map(|v| {
            let [x, y, z] = made.moves[v];
            let [x, y] = match turns(v) {
                0.0 => [x, y],
                angle => arms::rotated([x, y], [0.0; 2], -angle),
            };
            std::array::from_fn(|i| [x, y, z][i] + stretches[v][i])
        })
        .collect();
    keep_mirrored(&mut moves, &partners);
    let plane = before.plane.map_or(0.0, |p| p.x);
    let exact = exact_pairs(&upright, &partners, plane);
    let new = sums(upright.positions(), &moves);
    let given = report.settings.axes().unwrap_or_default();
    let to_file = |p: Vector| turn_back(turn_back(p, by), given);
    let moved: Vec<bool> = moves.iter().map(|m| *m != [0.0; 3]).collect();
    let positions = (0..new.len())
        .map(|v| match exact[v] {
            // To the bit.
            Some(u) if u < v => to_file(mirrored(new[u], plane)),
            _ => to_file(new[v]),
        })
        .collect();
    let places = upright.positions().iter().map(|p| to_file(*p)).collect();
    Ok(Fitted {
        positions,
        places,
        moved,
        fit: made,
        moves,
        arms: arm_lengths,
        before,
        cage: posed,
    })
}

impl Checked {
    /// Takes over what a fit found as advice. `originals`: vertices of the file; those that mirroring added are not told.
    pub fn advise(&mut self, fitted: &Fitted, originals: usize) {
        let told = advice(fitted, self);
        let height = self.report.figure_height;
        let of: Vec<(usize, String)> = findings(self)
            .map(|(v, f)| (f.number, self.report.views[v].name.clone()))
            .collect();
        self.report.advice = told
            .into_iter()
            .map(|mut one| {
                one.vertices.retain(|v| (*v as usize) < originals);
                let (finding, view) = of[one.finding].clone();
                AdvisedMove {
                    finding,
                    view,
                    text: moves::advised(&one, height),
                    vertices: one.vertices,
                    both_sides: one.both_sides,
                    axis: ['x', 'y', 'z'][one.axis],
                    amount: one.amount,
                    fade: one.fade,
                    at: one.at,
                }
            })
            .filter(|one| !one.vertices.is_empty())
            .collect();
        self.report.advice.sort_by_key(|one| one.finding);
        self.draw_arrows(fitted);
        let by = |v: usize| fitted.by(v);
        let moved = (0..originals.min(fitted.moved.len())).filter(|v| fitted.moved[*v]);
        self.moves = Some(moved.map(|v| (v as u32, by(v))).collect());
    }

    /// An arrow every few steps along the stretches that are off.
    fn draw_arrows(&mut self, fitted: &Fitted) {
        let height = self.report.figure_height;
        let least = 2.0 * crate::fit::LEFT_ALONE * self.report.settings.tolerance_pct / 100.0 * height;
        for (v, view) in self.report.views.iter_mut().enumerate() {
            let mut last: Option<Point<ViewUnits>> = None;
            for pull in fitted.fit.pulls.iter().filter(|p| p.view == v) {
                let far = last.is_none_or(|l| l.distance(pull.at) >= ARROWS_APART * height);
                if far && pull.by[0].hypot(pull.by[1]) >= least {
                    last = Some(pull.at);
                    view.arrows.push(Arrow {
                        from: [pull.at.x, pull.at.y],
                        to: [pull.at.x + pull.by[0], pull.at.y + pull.by[1]],
                    });
                }
            }
        }
    }
}

/// The moves that a person could make, finding by finding, in the order of [`findings`].
fn advice(fitted: &Fitted, checked: &Checked) -> Vec<Move> {
    let beyond = BEYOND * checked.report.figure_height;
    let stretches: Vec<Stretch> = findings(checked)
        .map(|(view, f)| Stretch {
            view,
            y_from: f.y_from - beyond,
            y_to: f.y_to + beyond,
        })
        .collect();
    let partners = partners(&fitted.cage, &fitted.before);
    advise(
        &fitted.cage,
        &fitted.fit,
        &stretches,
        &partners,
        checked.report.figure_height,
    )
}

fn sums(places: &[Vector], moves: &[Vector]) -> Vec<Vector> {
    let both = places.iter().zip(moves);
    both.map(|(p, m)| std::array::from_fn(|i| p[i] + m[i])).collect()
}

/// Who mirrors whom; of a half model the vertices on its plane mirror themselves.
fn partners(mesh: &Mesh, examined: &Examined) -> Vec<u32> {
    if let Some(symmetry) = &examined.symmetry {
        return symmetry.partner.clone();
    }
    let half = examined.plane.filter(|p| p.half);
    let places = mesh.positions().iter().enumerate();
    places
        .map(|(v, p)| match half {
            Some(plane) if (p[0] - plane.x).abs() <= plane.reach => v as u32,
            _ => NO_PARTNER,
        })
        .collect()
}

/// The partner of each vertex that is its mirror image to the bit; itself left out.
fn exact_pairs(mesh: &Mesh, partners: &[u32], plane: f64) -> Vec<Option<usize>> {
    let at = |v: usize| mesh.positions()[v];
    let own = partners.iter().enumerate();
    own.map(|(v, &u)| {
        let u = Some(u as usize).filter(|_| u != NO_PARTNER && u as usize != v)?;
        let low = u.min(v);
        (mirrored(at(low), plane) == at(u.max(v))).then_some(u)
    })
    .collect()
}

/// Arms that hang differently in the drawing pull mirrored vertices apart: they go the mean way.
fn keep_mirrored(moves: &mut [Vector], partners: &[u32]) {
    for v in 0..moves.len() {
        let u = partners[v];
        if u == NO_PARTNER || (u as usize) <= v {
            continue;
        }
        let (own, other) = (moves[v], moves[u as usize]);
        let mean = [
            (own[0] - other[0]) / 2.0,
            (own[1] + other[1]) / 2.0,
            (own[2] + other[2]) / 2.0,
        ];
        moves[v] = mean;
        moves[u as usize] = [-mean[0], mean[1], mean[2]];
    }
}

fn fit_posed(
    posed: &Mesh,
    counting: Option<&[bool]>,
    partners: &[u32],
    same: &[u32],
    checked: &Checked,
    ask: &FitAsk<'_>,
) -> Result<Fit> {
    let report = &checked.report;
    let height = report.figure_height;
    let asked: Vec<Box<dyn Fn(Point<ViewUnits>) -> bool + Sync + '_>> = report
        .views
        .iter()
        .zip(&checked.views)
        .map(
            |(view, shown)| -> Box<dyn Fn(Point<ViewUnits>) -> bool + Sync + '_> {
                let only = &ask.only;
                Box::new(move |p| is_asked(only, view, shown, p, height))
            },
        )
        .collect();
    let heights = Heights::of(report);
    let drawings: Vec<Cow<'_, Outline<ViewUnits>>> = report
        .views
        .iter()
        .zip(&checked.views)
        .map(|(view, shown)| match frontal_or_profile(view) {
            Some(which) if !heights.knots.is_empty() && !shown.placed.azimuth.is_above() => {
                Cow::Owned(heights.at_mean(which, &shown.drawing))
            }
            _ => Cow::Borrowed(&shown.drawing),
        })
        .collect();
    let targets: Vec<Target<'_>> = report
        .views
        .iter()
        .zip(&checked.views)
        .zip(asked.iter().zip(&drawings))
        .map(|((view, shown), (asked, drawing))| Target {
            azimuth: shown.placed.azimuth,
            drawing: drawing.as_ref(),
            weight: if frontal_or_profile(view).is_some() {
                1.0
            } else {
                OBLIQUE_WEIGHT
            },
            asked,
        })
        .collect();
    let tolerance = report.settings.tolerance_pct / 100.0 * height;
    // What is on model is touched up at most.
    let most = if report.verdict == Verdict::OnModel {
        crate::fit::LEFT_ALONE * tolerance
    } else {
        ask.most_move_pct / 100.0 * height
    };
    let movable = movable(posed, &ask.only.groups);
    let mut made = fit(
        posed,
        &targets,
        &Ask {
            height,
            tolerance,
            smoothing: report.settings.smooth,
            partners,
            same,
            movable: &movable,
            counting,
            most_move: most,
            amount: ask.amount,
            progress: ask.progress,
        },
    )?;
    made.rest
        .extend(heights.rest(report, 2.0 * crate::fit::LEFT_ALONE * tolerance));
    Ok(made)
}

/// Whether a place of a view's outline may be corrected.
fn is_asked(only: &Only, view: &View, shown: &Shown, p: Point<ViewUnits>, height: f64) -> bool {
    if !only.views.is_empty() && !only.views.contains(&view.name) {
        return false;
    }
    let beside = |parts: &dyn Fn(&str) -> bool| {
        let d = BESIDE * height;
        [[0.0, 0.0], [d, 0.0], [-d, 0.0], [0.0, d], [0.0, -d]]
            .iter()
            .any(|[dx, dy]| {
                let of = |a: &crate::anatomy::Anatomy| a.part_at(p.x + dx, p.y + dy);
                let own = [of(&shown.divided.mesh), of(&shown.divided.drawing)];
                own.into_iter().flatten().any(|part| parts(part.name()))
            })
    };
    let beyond = BEYOND * height;
    let in_finding = |number: &usize| {
        view.findings.iter().any(|f| {
            f.number == *number
                && (f.y_from - beyond..=f.y_to + beyond).contains(&p.y)
                && (f.parts.is_empty() || beside(&|name| f.parts.contains(&name)))
        })
    };
    (only.findings.is_empty() || only.findings.iter().any(in_finding))
        && (only.parts.is_empty() || beside(&|name| only.parts.iter().any(|p| p == name)))
}

/// The vertices that may move: all, or those of which every face belongs to one of the groups.
fn movable(mesh: &Mesh, groups: &[String]) -> Vec<bool> {
    if groups.is_empty() {
        return Vec::new();
    }
    let mut out = vec![true; mesh.positions().len()];
    for run in mesh.group_runs() {
        if !groups.contains(&mesh.groups()[run.group].name) {
            for &v in run.faces.flat_map(|f| mesh.face(f)) {
                out[v as usize] = false;
            }
        }
    }
    out
}

/// What makes both arms as long as the drawn ones, and how much that is.
fn arm_lengths(
    mesh: &Mesh,
    found: &[(MeshArm, Turn)],
    checked: &Checked,
    ask: &FitAsk<'_>,
) -> (Vec<Vector>, Vec<(Side, f64)>) {
    let mut moves = vec![[0.0; 3]; mesh.positions().len()];
    let mut told = Vec::new();
    let report = &checked.report;
    if ask.only != Only::default() {
        return (moves, told);
    }
    let left_alone = crate::fit::LEFT_ALONE * report.settings.tolerance_pct / 100.0 * report.figure_height;
    for (arm, _) in found {
        let side = if arm.left { Side::Left } else { Side::Right };
        let Some(own) = report.arms.iter().find(|a| a.side == side) else {
            continue;
        };
        let Some(diff) = own.length_diff.filter(|d| d.abs() > left_alone) else {
            continue;
        };
        let knots = knots(own, diff, ask.amount);
        for (sum, m) in moves.iter_mut().zip(arms::stretched(mesh, arm, &knots)) {
            *sum = std::array::from_fn(|i| sum[i] + m[i]);
        }
        told.push((side, diff * ask.amount));
    }
    (moves, told)
}

/// Where the places along an arm are and should be: part by part where both show the same parts, else in proportion.
fn knots(arm: &ArmReport, diff: f64, amount: f64) -> Vec<arms::Knot> {
    let mut knots: Vec<arms::Knot> = Vec::new();
    let (mut now, mut wanted) = (0.0, 0.0);
    for segment in &arm.segments {
        now += segment.mesh_length;
        wanted += segment.mesh_length - amount * segment.diff;
        knots.push((now, wanted));
    }
    let whole = arm.mesh_length;
    // Parts that do not make up the arm are not all of it.
    let complete = (now - whole).abs() < 0.02 * whole && (now - wanted - amount * diff).abs() < 0.02 * whole;
    if complete && arm.segments.iter().all(|s| s.diff.abs() < 0.5 * s.mesh_length) {
        knots
    } else {
        vec![(whole, whole - amount * diff)]
    }
}

/// Heights in which the drawn front and side contradict each other, with the mean that both are fitted to.
struct Heights {
    /// Heights in the front and in the side view, ascending in both.
    knots: Vec<[f64; 2]>,
}

impl Heights {
    fn of(report: &Report) -> Self {
        let mut knots: Vec<[f64; 2]> = report
            .sheet
            .agreement
            .landmarks
            .iter()
            .filter(|l| l.contradicts || ["crown", "ground"].contains(&l.name))
            .map(|l| [l.front, l.side])
            .collect();
        knots.sort_by(|a, b| a[0].total_cmp(&b[0]));
        // Landmarks in another order say nothing of the heights between them.
        knots.dedup_by(|next, kept| next[0] <= kept[0] || next[1] <= kept[1]);
        let contradicts = report.sheet.agreement.landmarks.iter().any(|l| l.contradicts);
        Self {
            knots: if contradicts && knots.len() > 1 {
                knots
            } else {
                Vec::new()
            },
        }
    }

    /// By how much a height of the front view (0) or the side view (1) goes up to the mean of both.
    fn rise(&self, view: usize, y: f64) -> f64 {
        let rise = |k: &[f64; 2]| 0.5 * (k[1 - view] - k[view]);
        let above = self.knots.partition_point(|k| k[view] < y);
        match (
            above.checked_sub(1).and_then(|i| self.knots.get(i)),
            self.knots.get(above),
        ) {
            (Some(a), Some(b)) => {
                let t = (y - a[view]) / (b[view] - a[view]);
                rise(a) + t * (rise(b) - rise(a))
            }
            (Some(k), None) | (None, Some(k)) => rise(k),
            (None, None) => 0.0,
        }
    }

    /// A drawn outline with its heights at the mean.
    fn at_mean(&self, view: usize, drawing: &Outline<ViewUnits>) -> Outline<ViewUnits> {
        let moved = |p: &Point<ViewUnits>| Point::new(p.x, p.y + self.rise(view, p.y));
        Outline {
            rings: drawing
                .rings
                .iter()
                .map(|r| r.iter().map(moved).collect())
                .collect(),
        }
    }

    /// What each view is left off by, where that is worth telling.
    fn rest(&self, report: &Report, left_alone: f64) -> Vec<Rest> {
        let mut out = Vec::new();
        for (v, view) in report.views.iter().enumerate() {
            let Some(which) = frontal_or_profile(view) else {
                continue;
            };
            for knot in &self.knots {
                let off = -self.rise(which, knot[which]);
                if off.abs() > left_alone {
                    out.push(Rest {
                        view: v,
                        y_from: knot[which],
                        y_to: knot[which],
                        off,
                        reason: Reason::ViewsDisagree,
                    });
                }
            }
        }
        out
    }
}

/// 0 for views from the front or from behind, 1 for those from a side, none for others.
fn frontal_or_profile(view: &View) -> Option<usize> {
    let turn = view.azimuth_deg.rem_euclid(180.0);
    if turn <= QUARTER || turn >= 180.0 - QUARTER {
        Some(0)
    } else {
        ((turn - 90.0).abs() <= QUARTER).then_some(1)
    }
}
