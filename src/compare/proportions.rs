//! Proportions: landmarks in percent and heads, drawing and mesh against a canon or another character.
//!
//! Information: a cartoon figure departs from every canon on purpose, so nothing here takes part in a verdict.

use super::canons::Canon;
use crate::report::model::{LandmarkRow, ProportionRow, Proportions};

/// The table of a check's landmarks against a canon.
pub fn proportions(landmarks: &[LandmarkRow], canon: &Canon) -> Proportions {
    let drawn = |l: &LandmarkRow| l.drawing_front.or(l.drawing_side).map(|s| s.y);
    let ends = |of: &dyn Fn(&LandmarkRow) -> Option<f64>| {
        let height = |name: &str| landmarks.iter().find(|l| l.name == name).and_then(of);
        Some((height("ground")?, height("crown")?)).filter(|(g, c)| c > g)
    };
    let (drawn_ends, mesh_ends) = (ends(&drawn), ends(&|l| l.mesh));
    let percent =
        |y: Option<f64>, ends: Option<(f64, f64)>| y.zip(ends).map(|(y, (g, c))| 100.0 * (y - g) / (c - g));
    let heads = canon.heads();
    let rows: Vec<ProportionRow> = landmarks
        .iter()
        .map(|l| {
            let drawing_pct = percent(drawn(l), drawn_ends);
            let mesh_pct = percent(l.mesh, mesh_ends);
            let canon_pct = canon.height(l.name);
            let off = |own: Option<f64>| own.zip(canon_pct).map(|(a, b)| a - b);
            ProportionRow {
                name: l.name,
                drawing_pct,
                mesh_pct,
                canon_pct,
                drawing_off_pct: off(drawing_pct),
                mesh_off_pct: off(mesh_pct),
                drawing_heads: l.drawing_heads,
                mesh_heads: l.mesh_heads,
                canon_heads: canon_pct.zip(heads).map(|(p, h)| p / 100.0 * h),
            }
        })
        .collect();
    Proportions {
        canon: canon.name.clone(),
        source: canon.source.clone(),
        rows,
    }
}
