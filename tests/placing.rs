//! Placement comes back: a body's own silhouettes, laid out as a drawing at known scales and shifts, are found again
//! from the whole mesh and from a mesh that lacks its upper part.

use std::path::Path;

use drawntrue::mesh::Mesh;
use drawntrue::mesh::obj::{Limits, read_file};
use drawntrue::place::fit::{Care, Drawn, Effort, Fit, Known, Modelled, Pair, everything};
use drawntrue::place::transform::Placement;
use drawntrue::profile::Outline;
use drawntrue::silhouette::{Azimuth, silhouettes};
use drawntrue::space::{Level, ViewUnits};

/// Rows of the outlines: fine enough that tracing them errs by less than a twentieth of the tolerance.
const ROWS: usize = 700;
const VIEWS: [Azimuth; 2] = [Azimuth::FRONT, Azimuth::FACING_RIGHT];

fn body() -> Mesh {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("refs/tamsel.obj");
    read_file(&path, Limits::default()).expect("the demo mesh")
}

/// The faces that lie wholly below a height.
fn below(mesh: &Mesh, y: f64) -> Mesh {
    let keep: Vec<bool> = mesh
        .faces()
        .map(|f| f.iter().all(|&c| mesh.positions()[c as usize][1] < y))
        .collect();
    mesh.keep_faces(&keep)
}

fn outlines(mesh: &Mesh) -> Vec<Outline<ViewUnits>> {
    silhouettes(mesh, &VIEWS)
        .iter()
        .map(|s| s.outline(ROWS))
        .collect()
}

fn drawn(outline: &Outline<ViewUnits>, placement: &Placement) -> Outline<Level> {
    Outline {
        rings: outline
            .rings
            .iter()
            .map(|r| r.iter().map(|p| placement.to_sheet(*p)).collect())
            .collect(),
    }
}

/// Lays the whole body out as a drawing and fits the outlines of `mesh` onto it.
fn placed(mesh: &Mesh, truth: &[Placement; 2]) -> Fit {
    let drawings: Vec<Drawn> = outlines(&body())
        .iter()
        .zip(truth)
        .map(|(o, p)| Drawn::new(&drawn(o, p)).expect("a drawing"))
        .collect();
    let models: Vec<Modelled> = outlines(mesh)
        .iter()
        .map(|o| Modelled::new(o).expect("an outline"))
        .collect();
    let pairs: Vec<Pair<'_>> = drawings
        .iter()
        .zip(&models)
        .map(|(drawn, modelled)| Pair {
            drawn,
            modelled,
            origin_px: None,
        })
        .collect();
    everything(&pairs, &Known::default(), Effort::Everywhere, Care::Fine).expect("a placement")
}

fn truth(units_per_px: f64, zero_px: f64, shift: f64) -> [Placement; 2] {
    [600.0, 1500.0].map(|x| Placement {
        units_per_px,
        origin_px: x + shift,
        zero_px,
        mirrored: false,
    })
}

#[track_caller]
fn agrees(found: &Fit, truth: &[Placement; 2], percent: f64) {
    let height_px = 152.0 / truth[0].units_per_px;
    let off = |a: f64, b: f64| (a - b).abs() / height_px * 100.0;
    let scale = (found.units_per_px / truth[0].units_per_px - 1.0).abs() * 100.0;
    assert!(scale < percent, "scale off by {scale:.3} %");
    assert!(
        off(found.zero_px, truth[0].zero_px) < percent,
        "ground {} of {}",
        found.zero_px,
        truth[0].zero_px
    );
    for (a, b) in found.origins_px.iter().zip(truth) {
        assert!(off(*a, b.origin_px) < percent, "origin {a} of {}", b.origin_px);
    }
}

#[test]
fn a_whole_body_is_found_at_any_scale() {
    for (units_per_px, zero_px, shift) in [(0.14, 1200.0, 0.0), (0.031, 5000.5, 33.3), (0.3, 611.0, -17.0)] {
        let truth = truth(units_per_px, zero_px, shift);
        // The drawing is the mesh's own outline: what remains is the rounding of the last steps.
        agrees(&placed(&body(), &truth), &truth, 0.02);
    }
}

#[test]
fn a_body_without_head_or_without_head_and_arms_is_found() {
    // 0.5 % of the figure height is what unfinished meshes are to be placed to.
    for (top, units_per_px) in [(104.0, 0.14), (104.0, 0.05), (84.0, 0.14), (84.0, 0.21)] {
        let truth = truth(units_per_px, 1200.0, 12.0);
        agrees(&placed(&below(&body(), top), &truth), &truth, 0.5);
    }
}
