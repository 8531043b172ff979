//! `drawntrue smooth`: the surface that smoothing makes of a cage, as a mesh.

use std::path::PathBuf;

use clap::Args;

use super::limits::MeshLimit;
use super::{EXIT_WITHIN, write_whole};
use crate::error::{Error, Result};
use crate::mesh::mirror::mirror;
use crate::mesh::obj;
use crate::smooth::{Smoothing, smooth};

/// Arguments of `drawntrue smooth`, as typed.
#[derive(Debug, Args)]
pub(super) struct SmoothArguments {
    /// The mesh: OBJ
    mesh: PathBuf,
    /// Catmull-Clark steps, 1 to 5, or the limit surface
    #[arg(long, value_name = "N|limit", value_parser = super::smoothing)]
    steps: Smoothing,
    /// Where the smoothed mesh goes: positions, faces and groups
    #[arg(long, value_name = "FILE")]
    mesh_out: PathBuf,
    /// The mesh is one half: mirror it at its border plane and join it first
    #[arg(long)]
    mirror: bool,
    #[command(flatten)]
    meshes: MeshLimit,
    /// Print nothing but errors
    #[arg(long)]
    quiet: bool,
}

pub(super) fn run(arguments: &SmoothArguments) -> Result<u8> {
    let path = &arguments.mesh;
    let bytes = arguments.meshes.read(path)?;
    let mut mesh = obj::read(&bytes, arguments.meshes.limits()).map_err(|e| e.in_file(path))?;
    if mesh.face_count() == 0 {
        return Err(Error::new("the mesh has no faces to smooth").in_file(path));
    }
    if arguments.mirror {
        mesh = mirror(mesh).map_err(|e| e.in_file(path))?.mesh;
    }
    let smoothed = smooth(&mesh, arguments.steps).map_err(|e| e.in_file(path))?;
    write_whole(
        &arguments.mesh_out,
        &obj::write::write(&smoothed, "smoothed by Catmull-Clark"),
        &[path],
    )?;
    if !arguments.quiet {
        super::print(&format!(
            "{} faces of {} became {} faces of {} vertices\n",
            mesh.face_count(),
            mesh.positions().len(),
            smoothed.face_count(),
            smoothed.positions().len()
        ))?;
    }
    Ok(EXIT_WITHIN)
}
