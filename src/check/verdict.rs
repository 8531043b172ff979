//! Whether the drawn views agree with each other, and what to take from a check.

use crate::report::model::{Agreement, DrawnView, LandmarkAgreement, SheetFinding, Symmetry, Verdict, View};
use crate::sheet::confidence::UNSURE;
use crate::sheet::read::Figure;

/// Drawn views whose heights differ by more than this share contradict each other. A hand is true to 0.15 % of the
/// height at each end.
const HEIGHTS_DIFFER: f64 = 0.007;

/// How far the drawn views of the leading image agree with the lead, and what contradicts.
pub(super) fn sheet_agreement(
    drawn: &[DrawnView],
    figures: &[(usize, &Figure)],
    lead: usize,
    landmarks: Vec<LandmarkAgreement>,
    symmetry: Option<Symmetry>,
    tolerance_pct: f64,
) -> (Agreement, Vec<SheetFinding>) {
    let height = |v: &DrawnView| v.ground_px - v.crown_px;
    let mut findings = Vec::new();
    let height_diff_pct = drawn
        .iter()
        .zip(figures)
        .map(|(v, (image, _))| {
            // Other images have a scale of their own: their heights agree by definition. A view from above has none.
            if *image != figures[lead].0 || v.name.starts_with("top") {
                return 0.0;
            }
            let ratio = height(v) / height(&drawn[lead]) - 1.0;
            if ratio.abs() > HEIGHTS_DIFFER {
                findings.push(SheetFinding {
                    kind: "views-disagree".to_string(),
                    text: format!(
                        "the {} view is drawn {:.1} % {} than the {} view; one mesh cannot match both",
                        v.name,
                        (100.0 * ratio).abs(),
                        if ratio > 0.0 { "taller" } else { "shorter" },
                        drawn[lead].name,
                    ),
                });
            }
            100.0 * ratio
        })
        .collect();
    let line = |v: &DrawnView| v.line_px;
    let line_diff_pct = drawn
        .iter()
        .map(|v| match (line(v), line(&drawn[lead])) {
            (a, b) if a > 0.0 && b > 0.0 => 100.0 * (a / b - 1.0),
            _ => 0.0,
        })
        .collect();
    // Views of different height disagree about everything else too.
    if findings.is_empty() {
        // A height that is vague is no finding before it is off by as much as it is vague.
        let beyond =
            |l: &&LandmarkAgreement| l.contradicts && l.diff_pct.abs() > tolerance_pct + l.within_pct;
        findings.extend(landmarks.iter().filter(beyond).map(|l| {
            let nearer = l
                .mesh_nearer
                .map_or(String::new(), |v| format!(", the mesh agrees with the {v} view"));
            SheetFinding {
                kind: "views-disagree".to_string(),
                text: format!(
                    "the {} is drawn {:.1} % {} in the side view than in the front view{nearer}",
                    l.name,
                    l.diff_pct.abs(),
                    if l.diff_pct > 0.0 { "higher" } else { "lower" },
                ),
            }
        }));
    }
    let agreement = Agreement {
        height_diff_pct,
        line_diff_pct,
        landmarks,
        symmetry,
    };
    (agreement, findings)
}

/// The verdict, and if it is `undecided` why, and what would help.
pub(super) fn verdict(
    views: &[View],
    findings: &[SheetFinding],
    drawn: &[DrawnView],
    doubt: Option<&str>,
) -> (Verdict, Vec<String>) {
    let mut reasons = Vec::new();
    reasons.extend(doubt.map(str::to_string));
    for v in drawn.iter().filter(|v| v.confidence < UNSURE) {
        reasons.push(format!(
            "the {} view may have been read wrongly (confidence {:.2}); drawntrue sheet --stages shows where, a setup \
             file overrules it",
            v.name, v.confidence
        ));
    }
    let counted = || views.iter().flat_map(|v| &v.findings).filter(|f| !f.excused);
    let across = views
        .iter()
        .flat_map(|v| &v.limbs)
        .any(|l| !l.findings.is_empty());
    if reasons.is_empty()
        && findings.is_empty()
        && !across
        && counted().count() > 0
        && counted().all(|f| f.unsure)
    {
        reasons.push(
            "every finding rests on places where the drawing's outline is open, faint or disturbed; close and clean it \
             in the drawing, or erase what touches it in a setup file"
                .to_string(),
        );
    }
    if !reasons.is_empty() {
        return (Verdict::Undecided, reasons);
    }
    let verdict = if counted().count() > 0 || across || !findings.is_empty() {
        Verdict::OffModel
    } else {
        Verdict::OnModel
    };
    (verdict, reasons)
}
