//! A placement that is kept from one version of a mesh to the next, so that numbers of places nobody touched stay.

use serde::{Deserialize, Serialize};

use super::outlines::{Modelled, Sample};
use super::placing::{Given, Placed, Placing};
use super::solve::AGREES;
use super::transform::Placement;
use crate::error::{Error, Result};
use crate::profile::{DistanceIndex, Outline};
use crate::sheet::views::Facing;
use crate::silhouette::Azimuth;
use crate::space::{Level, Point, ViewUnits};

/// The value of `schema` in a kept placement.
pub const HELD_SCHEMA: &str = "drawntrue.placement/1";

/// A kept placement, and what it belongs to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Held<A> {
    /// [`HELD_SCHEMA`].
    pub schema: String,
    /// SHA-256 of the sheet's images, in their order.
    pub sheets: Vec<String>,
    /// What a person gave when it was made.
    pub given: Given,
    /// How the mesh stands and looks in its file.
    pub axes: A,
    /// Index of the leading view.
    pub lead: usize,
    /// The views, in the order of the drawn figures.
    pub views: Vec<HeldView>,
}

/// Where one drawn view lies.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HeldView {
    /// Its name.
    pub name: String,
    /// Where it looks.
    pub facing: Facing,
    /// The mesh's view that it shows.
    pub azimuth_deg: f64,
    /// The mesh is seen from above.
    pub above: bool,
    /// Mesh units per levelled pixel.
    pub units_per_px: f64,
    /// Levelled column of view x = 0.
    pub axis_px: f64,
    /// Levelled row of view y = 0.
    pub zero_px: f64,
}

impl HeldView {
    fn new(view: &Placed) -> Self {
        let p = view.placement;
        Self {
            name: view.name.clone(),
            facing: view.facing,
            azimuth_deg: view.azimuth.degrees(),
            above: view.azimuth.is_above(),
            units_per_px: p.units_per_px,
            axis_px: p.origin_px,
            zero_px: p.zero_px,
        }
    }

    fn placed(&self, agreeing: f64) -> Placed {
        let azimuth = Azimuth::from_degrees(self.azimuth_deg);
        Placed {
            name: self.name.clone(),
            facing: self.facing,
            azimuth: if self.above { azimuth.from_above() } else { azimuth },
            placement: self.placement(),
            agreeing,
        }
    }

    /// Where it lies.
    pub fn placement(&self) -> Placement {
        Placement {
            units_per_px: self.units_per_px,
            origin_px: self.axis_px,
            zero_px: self.zero_px,
            mirrored: false,
        }
    }
}

/// Share of a mesh's outline that lies on a drawn one where it is laid, as a fit would judge it; 0 for an empty outline.
pub fn agreeing(drawn: &Outline<Level>, mesh: &Outline<ViewUnits>, placement: &Placement) -> f64 {
    let Some(modelled) = Modelled::new(mesh) else {
        return 0.0;
    };
    let index = DistanceIndex::new(drawn);
    let limit = AGREES * modelled.size() / placement.units_per_px;
    let lies = |s: &&Sample| {
        let x = placement.origin_px + s.x / placement.units_per_px;
        let y = placement.zero_px - s.y / placement.units_per_px;
        index.within(Point::new(x, y), limit).is_some()
    };
    modelled.samples.iter().filter(lies).count() as f64 / modelled.samples.len().max(1) as f64
}

impl<A: PartialEq + Serialize + for<'a> Deserialize<'a>> Held<A> {
    /// What is to be kept of a placement.
    pub fn new(placing: &Placing, sheets: Vec<String>, given: Given, axes: A) -> Self {
        Self {
            schema: HELD_SCHEMA.to_string(),
            sheets,
            given,
            axes,
            lead: placing.lead,
            views: placing.views.iter().map(HeldView::new).collect(),
        }
    }

    /// Reads a kept placement.
    ///
    /// # Errors
    /// The text is none.
    pub fn parse(text: &[u8]) -> Result<Self> {
        let no = |why: String| {
            Error::new(format!("this is no kept placement ({why})"))
                .advise("remove the file, and the next run keeps its own")
        };
        let held: Self = serde_json::from_slice(text).map_err(|e| no(e.to_string()))?;
        let finite = |v: &HeldView| {
            v.units_per_px.is_finite()
                && v.units_per_px > 0.0
                && v.axis_px.is_finite()
                && v.zero_px.is_finite()
                && v.azimuth_deg.is_finite()
        };
        if held.schema != HELD_SCHEMA {
            return Err(no(format!("its schema is {}", held.schema)));
        }
        if held.lead >= held.views.len() || !held.views.iter().all(finite) {
            return Err(no("a number in it is out of range".to_string()));
        }
        Ok(held)
    }

    /// As it is kept, ended by a line feed.
    ///
    /// # Errors
    /// A number is not finite.
    pub fn write(&self) -> Result<Vec<u8>> {
        let mut out = serde_json::to_vec_pretty(self)
            .map_err(|e| Error::new(format!("the placement cannot be kept ({e})")))?;
        out.push(b'\n');
        Ok(out)
    }

    /// Why it does not belong to a sheet of which so many figures were read; `None` if it does.
    pub fn stranger(&self, sheets: &[String], figures: usize, given: &Given) -> Option<&'static str> {
        if self.sheets != sheets {
            Some("the drawing is another one")
        } else if self.views.len() != figures {
            Some("other views were read from the drawing")
        } else if self.given != *given {
            Some("scale or ground were given otherwise")
        } else {
            None
        }
    }

    /// Puts it in the place of a fresh one; what the fresh one says of its own sureness stays.
    pub fn hold(&self, placing: &mut Placing) {
        placing.lead = self.lead;
        placing.views = self
            .views
            .iter()
            .zip(&placing.views)
            .map(|(held, fresh)| held.placed(fresh.agreeing))
            .collect();
    }
}
