//! Values at the corners of faces, such as texture coordinates, carried onto the smoothed surface.
//!
//! Rule: smoothed like positions within a chart, straight along its borders ("linear boundaries" among OpenSubdiv's
//! face-varying rules; DeRose, Kass and Truong 1998 smooth scalars over the surface alike). A chart is what hangs
//! together across edges where both faces have the same values at both ends; corners of one vertex with the same value
//! are one, also where the file lists that value twice. Values on a chart's border stay where they are, so that seams fit
//! and nothing grows beyond the chart.

use std::collections::HashMap;

use super::positions::Borders;
use super::{Plan, Smoothing};
use crate::error::Result;
use crate::mesh::Mesh;
use crate::mesh::adjacency::NONE;

/// Values at the corners of a mesh.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Values {
    /// Up to three numbers each.
    pub at: Vec<[f64; 3]>,
    /// For each corner its place in `at`, [`NONE`] where it has none. A face has a value at all of its corners or counts
    /// as having none.
    pub corners: Vec<u32>,
}

impl Plan {
    /// Values of the smoothed mesh's corners from those of the cage's. `layer` tells faces apart that are never of one
    /// chart, by their number: those of a mirrored half, whose values lie on the other half's.
    ///
    /// # Errors
    /// Values overflow.
    ///
    /// # Panics
    /// `cage` is not the plan's, or the values are not those of its corners.
    pub fn values(&self, cage: &Mesh, given: &Values, layer: impl Fn(usize) -> u8) -> Result<Values> {
        let mut numbers: HashMap<(u32, [u64; 3], u8), u32> = HashMap::new();
        let (mut at, mut corners, mut starts) = (Vec::new(), Vec::new(), vec![0u32]);
        let mut has = Vec::with_capacity(cage.face_count());
        for (f, ends) in cage.starts().windows(2).enumerate() {
            let own = ends[0] as usize..ends[1] as usize;
            has.push(given.corners[own.clone()].iter().all(|v| *v != NONE));
            if !has[f] {
                continue;
            }
            for c in own {
                let value = given.at[given.corners[c] as usize];
                let key = (cage.corners()[c], value.map(f64::to_bits), layer(f));
                corners.push(*numbers.entry(key).or_insert_with(|| {
                    at.push(value);
                    at.len() as u32 - 1
                }));
            }
            starts.push(corners.len() as u32);
        }
        let charts = Mesh::new(at, corners, starts, Vec::new(), Vec::new())?;
        let smoothing = match self.smoothing {
            Smoothing::Limit if charts.face_count() == 0 => Smoothing::Steps(1),
            other => other,
        };
        let plan = Self::build(&charts, self.steps(), smoothing, &[])?;
        let at = plan.carried(charts.positions(), Borders::Straight);
        let mut made = plan.last.corners().iter();
        let mut corners = Vec::with_capacity(self.last.corners().len());
        // Each corner of the cage becomes a face, and that four with every further step.
        let children = 1 << (2 * usize::from(self.steps()));
        for (ends, has) in cage.starts().windows(2).zip(has) {
            let count = (ends[1] - ends[0]) as usize * children;
            if has {
                corners.extend(made.by_ref().take(count));
            } else {
                corners.resize(corners.len() + count, NONE);
            }
        }
        Ok(Values { at, corners })
    }
}
