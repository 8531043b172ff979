//! The table of landmarks: drawing in front and side view, mesh, difference, also in heads.

use crate::anatomy::{Anatomy, Found, Landmark, NAMES};
use crate::report::model::{LandmarkRow, LandmarkSeen};

/// A view's drawing and mesh, divided.
pub struct Divided {
    /// The drawing.
    pub drawing: Anatomy,
    /// The mesh.
    pub mesh: Anatomy,
}

/// Sets a height that a person or a guide line names: it wins over what the outline shows. Other words mark no landmark.
pub fn named(anatomy: &mut Anatomy, name: &str, y: f64, found: Found) {
    /// A line is drawn by hand where its name says.
    const SURE: f64 = 0.95;
    let Some(name) = NAMES.iter().find(|n| n.eq_ignore_ascii_case(name.trim())) else {
        return;
    };
    anatomy.landmarks.retain(|l| l.name != *name);
    anatomy.landmarks.push(Landmark {
        name,
        y,
        within: 0.0,
        confidence: SURE,
        found,
    });
    anatomy.landmarks.sort_by(|a, b| a.y.total_cmp(&b.y));
}

/// A level line farther above or below a figure than this share of its height belongs to another row of views.
const GUIDE_ROOM: f64 = 0.15;

/// Whether a level line at a height may be about the figure that stands on `ground`.
pub fn is_near(y: f64, ground: f64, height: f64) -> bool {
    let room = GUIDE_ROOM * height;
    (ground - room..=ground + height + room).contains(&y)
}

fn seen(l: &Landmark) -> LandmarkSeen {
    LandmarkSeen {
        y: l.y,
        within: l.within,
        confidence: l.confidence,
        found: l.found,
    }
}

/// The table, from the crown down; landmarks that nothing shows are left out. Heights above the ground and heads are
/// counted from each figure's own ground.
pub fn table(front: Option<&Divided>, side: Option<&Divided>) -> Vec<LandmarkRow> {
    let of = |a: Option<&Anatomy>, name: &str| a.and_then(|a| a.landmark(name)).cloned();
    let views = [front, side];
    let drawn = |name: &str| views.map(|v| of(v.map(|v| &v.drawing), name));
    let meshed = |name: &str| views.map(|v| of(v.map(|v| &v.mesh), name));
    let first = |some: [Option<Landmark>; 2]| some.into_iter().flatten().next().map(|l| l.y);
    // A head reaches from the crown to the chin, and a chin is seen from the side.
    let head = |v: Option<&Anatomy>| Some(v?.landmark("crown")?.y - v?.landmark("chin")?.y);
    let drawn_head = head(side.map(|s| &s.drawing));
    let mesh_head = head(side.map(|s| &s.mesh));
    let heads = |y: Option<f64>, ground: Option<f64>, head: Option<f64>| {
        Some((y? - ground?) / head?).filter(|h| h.is_finite())
    };
    NAMES
        .iter()
        .filter_map(|&name| {
            let (d, m) = (drawn(name), meshed(name));
            let both = (0..2).find(|&k| d[k].is_some() && m[k].is_some());
            let mesh = match both {
                Some(k) => m[k].as_ref().map(|l| l.y),
                None => first(m.clone()),
            };
            let difference = both.and_then(|k| Some(m[k].as_ref()?.y - d[k].as_ref()?.y));
            if mesh.is_none() && d.iter().all(Option::is_none) {
                return None;
            }
            Some(LandmarkRow {
                name,
                drawing_front: d[0].as_ref().map(seen),
                drawing_side: d[1].as_ref().map(seen),
                mesh,
                difference,
                drawing_heads: heads(first(d), first(drawn("ground")), drawn_head),
                mesh_heads: heads(mesh, first(meshed("ground")), mesh_head),
            })
        })
        .collect()
}
