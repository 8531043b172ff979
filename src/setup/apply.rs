//! From a setup to the reading of an image: what it overrules before, what it names after.

use super::{ImageSetup, Shows, ViewSetup};
use crate::place::assign::Asked;
use crate::sheet::overrule::{Overrules, overlap};
use crate::sheet::read::Reading;

/// A figure is the view that a box means if they overlap by at least this much (intersection over union).
const SAME_BOX: f64 = 0.5;
/// A guide line of the setup is one of the sheet's if it lies this near to it, pixels: numbers are written with two
/// decimals, and a person may round them.
const SAME_LINE_PX: f64 = 1.0;

impl ImageSetup {
    /// What the setup overrules in the reading of its image.
    pub fn overrules(&self) -> Overrules {
        Overrules {
            edge: self.line_edge.unwrap_or_default(),
            threshold: self.threshold,
            widest_gap_pct: self.widest_gap,
            erase: self.erase.clone(),
            ground: self.ground.clone(),
            surface: self.surface.clone(),
            boxes: self.views.iter().map(|v| v.box_px).collect(),
            from_above: self.shows == Shows::Top,
        }
    }

    /// The view that the setup means by the figure in a box.
    fn view_of(&self, box_px: [f64; 4]) -> Option<&ViewSetup> {
        self.views
            .iter()
            .map(|v| (overlap(v.box_px, box_px), v))
            .filter(|(share, _)| *share >= SAME_BOX)
            .max_by(|a, b| a.0.total_cmp(&b.0))
            .map(|(_, v)| v)
    }

    /// The name that the setup gives to the figure in a box.
    pub fn name_of(&self, box_px: [f64; 4]) -> Option<&str> {
        self.view_of(box_px).map(|v| v.name.as_str())
    }

    /// For each figure of a reading the column of its axis, where the setup gives it.
    pub fn axes_px(&self, reading: &Reading) -> Vec<Option<f64>> {
        reading
            .figures
            .iter()
            .map(|f| self.view_of(f.box_px)?.axis_px)
            .collect()
    }

    /// Puts the setup's guide lines and views into a reading; what each figure was named as.
    pub fn apply(&self, reading: &mut Reading) -> Vec<Option<Asked>> {
        if !self.guides.is_empty() {
            let mut guides = self.guides.clone();
            guides.sort_by(|a, b| a.y_px.total_cmp(&b.y_px));
            let found = std::mem::take(&mut reading.guide_lines_px);
            let on_sheet = |y: f64| found.iter().any(|g| (g - y).abs() <= SAME_LINE_PX);
            reading.guide_given = guides.iter().map(|g| !on_sheet(g.y_px)).collect();
            reading.guide_lines_px = guides.iter().map(|g| g.y_px).collect();
            reading.guide_means = guides.into_iter().map(|g| g.means).collect();
        }
        reading
            .figures
            .iter_mut()
            .map(|f| {
                let name = self.name_of(f.box_px)?;
                f.oblique = name == "three-quarter";
                match name {
                    "front" => Some(Asked::Front),
                    "side" => Some(Asked::Side),
                    "back" => Some(Asked::Back),
                    "top" => Some(Asked::Top),
                    _ => None,
                }
            })
            .collect()
    }
}
