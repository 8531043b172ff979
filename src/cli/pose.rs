//! `drawntrue pose`: a mesh with its arms turned about their shoulder joints, as a mesh.

use std::path::PathBuf;

use clap::Args;

use super::EXIT_WITHIN;
use super::limits::{MeshArguments, MeshText};
use crate::arms::{Posed, Told, pose};
use crate::compare::wording::length;
use crate::error::{Error, Result};
use crate::mesh::axes::{turn_back, turn_upright};
use crate::mesh::obj::rewrite::{Edits, FaceEdit, rewrite};
use crate::mesh::{Axes, Heading, UpAxis};
use crate::report::files;
use crate::setup::SetupFile;

/// Arguments of `drawntrue pose`, as typed.
#[derive(Debug, Args)]
pub(super) struct PoseArguments {
    /// The mesh: OBJ, glTF, PLY or STL
    mesh: PathBuf,
    /// Degrees below the horizontal to which both upper arms are turned, from -90 (overhead) to 90 (straight down)
    #[arg(long, value_name = "DEGREES", value_parser = degrees, allow_hyphen_values = true)]
    arms: f64,
    /// Where the posed mesh goes: the file as it is, with other positions
    #[arg(long, value_name = "FILE")]
    mesh_out: PathBuf,
    /// Which axis of the mesh file points up: y (facing z) or z (facing -y) [default: y]
    #[arg(long, value_name = "y|z", value_parser = super::up_axis)]
    up: Option<UpAxis>,
    /// Along which axis of the mesh file the figure looks: x, -x, y, -y, z or -z [default: the usual one for --up]
    #[arg(long, value_name = "AXIS", value_parser = super::heading, allow_hyphen_values = true)]
    facing: Option<Heading>,
    /// Settings kept in a file: joints, axes and vertices of the arms
    #[arg(long, value_name = "FILE")]
    setup: Option<PathBuf>,
    #[command(flatten)]
    meshes: MeshArguments,
    /// Print nothing but errors
    #[arg(long)]
    quiet: bool,
}

fn degrees(text: &str) -> std::result::Result<f64, String> {
    text.parse()
        .ok()
        .filter(|d| (-90.0..=90.0).contains(d))
        .ok_or_else(|| "use degrees below the horizontal, from -90 to 90".to_string())
}

pub(super) fn run(arguments: &PoseArguments) -> Result<u8> {
    let path = &arguments.mesh;
    let MeshText {
        text,
        mesh: read,
        notes,
    } = arguments.meshes.read_text(path)?;
    let axes = match (arguments.up.unwrap_or_default(), arguments.facing) {
        (up, None) => Axes::usual(up),
        (up, Some(facing)) => Axes::new(up, facing)
            .ok_or_else(|| Error::new("the figure would look straight up or down").at("--up and --facing"))?,
    };
    let before = read.positions().to_vec();
    let faces = vec![FaceEdit::Keep; read.face_count()];
    let upright = turn_upright(read, axes);
    let setup = arguments.setup.as_deref().map(SetupFile::read).transpose()?;
    let told: [Told; 2] = match &setup {
        Some(file) => file.setup.told(&upright)?,
        None => Default::default(),
    };
    let posed = pose(&upright, arguments.arms, &told).map_err(|e| e.in_file(path))?;
    // What did not move keeps its digits.
    let moved = upright.positions().iter().zip(posed.mesh.positions());
    let positions: Vec<[f64; 3]> = moved
        .zip(&before)
        .map(|((old, new), file)| if old == new { *file } else { turn_back(*new, axes) })
        .collect();
    let edits = Edits {
        stands_for: (0..positions.len() as u32).collect(),
        dropped: vec![false; positions.len()],
        faces,
        positions,
    };
    let out = rewrite(&text, &before, &edits)?;
    let (out, lost) = arguments.meshes.as_named(out, &arguments.mesh_out)?;
    files::write_to(&arguments.mesh_out, &out, &[path])?;
    if !arguments.quiet {
        super::print_notes(&notes, lost)?;
        super::print(&described(&posed, upright.bounds().map_or(1.0, |b| b.size()[1])))?;
    }
    Ok(EXIT_WITHIN)
}

/// What was turned, a line an arm.
fn described(posed: &Posed, height: f64) -> String {
    let mut out = String::new();
    for (arm, turn) in &posed.arms {
        let [x, y, z] = arm.shoulder.map(|c| length(c, height));
        let down = turn.shoulder.to_degrees() * if arm.left { -1.0 } else { 1.0 };
        out += &format!(
            "{} arm turned {} by {:.1} degrees about {x}, {y}, {z}; {} long\n",
            if arm.left { "left" } else { "right" },
            if down < 0.0 { "up" } else { "down" },
            down.abs(),
            length(arm.length(), height),
        );
    }
    out
}
