//! How the drawing was placed, for the report.

use crate::place::assign::{Candidate, Given, reach};
use crate::report::model::{HeldReport, PlacedBy, PlacedView, PlacementReport};
use crate::standing::Standing;

pub(super) fn placement_report(
    standing: &Standing<'_>,
    candidates: &[Candidate<'_>],
    given: &Given,
    is_held: bool,
    held: Option<HeldReport>,
    doubt: Option<String>,
) -> PlacementReport {
    let placing = &standing.placing;
    let lead = &placing.views[placing.lead];
    PlacementReport {
        how: match (given.units_per_px, given.ground_y, given.figure_height) {
            _ if is_held => PlacedBy::Held,
            (Some(_), Some(_), _) | (Some(_), None, Some(_)) => PlacedBy::ScaleAndGround,
            (Some(_), None, None) => PlacedBy::Scale,
            (None, _, Some(_)) => PlacedBy::FigureHeight,
            (None, Some(_), None) => PlacedBy::Ground,
            (None, None, None) => PlacedBy::Fit,
        },
        lead: lead.name.clone(),
        units_per_px: lead.placement.units_per_px,
        ground_y: reach(&lead.placement, candidates[placing.lead].figure).1,
        scale_uncertainty_pct: placing.spread.map(|s| s.scale_pct),
        ground_uncertainty: placing.spread.map(|s| s.ground),
        outline_share: placing.spread.map(|s| s.share),
        axes: standing.axes,
        axes_from: standing.from,
        views: placing
            .views
            .iter()
            .zip(candidates)
            .map(|(v, c)| PlacedView {
                name: v.name.clone(),
                axis_px: v.placement.origin_px,
                axis_given: c.axis_px.is_some() && !is_held,
                agreeing: v.agreeing,
            })
            .collect(),
        held,
        // Who holds a placement relies on it.
        doubt: doubt.filter(|_| !is_held),
    }
}
