//! `drawntrue smooth`: the surface that smoothing makes of a cage, as a mesh.

use std::path::PathBuf;

use clap::Args;

use super::EXIT_WITHIN;
use super::limits::{MeshArguments, MeshText};
use crate::error::{Error, Result};
use crate::mesh::Mesh;
use crate::mesh::mirror::{looks_like_a_half, mirror_and_trace};
use crate::mesh::obj::dress::Dress;
use crate::mesh::obj::write::{Part, Wear, write_with};
use crate::report::files;
use crate::smooth::{Plan, Smoothing, Values};

/// Arguments of `drawntrue smooth`, as typed.
#[derive(Debug, Args)]
pub(super) struct SmoothArguments {
    /// The mesh: OBJ, glTF, PLY or STL
    mesh: PathBuf,
    /// Catmull-Clark steps, 1 to 5, or the limit surface
    #[arg(long, value_name = "N|limit", value_parser = super::smoothing)]
    steps: Smoothing,
    /// Where the smoothed mesh goes: positions, faces, texture coordinates, names of objects, groups and materials
    #[arg(long, value_name = "FILE")]
    mesh_out: PathBuf,
    /// The mesh is one half: mirror it at its border plane and join it first
    #[arg(long)]
    mirror: bool,
    #[command(flatten)]
    meshes: MeshArguments,
    /// Print nothing but errors
    #[arg(long)]
    quiet: bool,
}

pub(super) fn run(arguments: &SmoothArguments) -> Result<u8> {
    let path = &arguments.mesh;
    let MeshText {
        text,
        mesh: half,
        notes,
    } = arguments.meshes.read_text(path)?;
    if half.face_count() == 0 {
        return Err(Error::new("the mesh has no faces to smooth").in_file(path));
    }
    let half_at = if arguments.mirror {
        None
    } else {
        looks_like_a_half(&half)
    };
    let dress = Dress::read(&text).map_err(|e| e.in_file(path))?;
    let faces = half.face_count();
    let (mesh, images_of) = if arguments.mirror {
        let (noted, images_of) = mirror_and_trace(half).map_err(|e| e.in_file(path))?;
        (noted.mesh, images_of)
    } else {
        (half, Vec::new())
    };
    let plan = Plan::new(&mesh, arguments.steps, &[]).map_err(|e| e.in_file(path))?;
    let cage = Cage {
        mesh: &mesh,
        faces,
        images_of: &images_of,
    };
    let wear = cage.wear(&dress, &plan).map_err(|e| e.in_file(path))?;
    let smoothed = plan.into_mesh(&mesh).map_err(|e| e.in_file(path))?;
    let out = write_with(&smoothed, &wear, "smoothed by Catmull-Clark");
    let (out, lost) = arguments.meshes.as_named(out, &arguments.mesh_out)?;
    files::write_to(&arguments.mesh_out, &out, &[path])?;
    if !arguments.quiet {
        super::print_notes(&notes, lost)?;
        if let Some(x) = half_at {
            super::print(&format!(
                "the mesh is open along x = {x} and lies on one side of it: if it is one half, smooth it with --mirror, or its centre line draws in like a border\n"
            ))?;
        }
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

/// A cage that was perhaps completed from a half.
struct Cage<'a> {
    mesh: &'a Mesh,
    /// Faces of the file; those behind them are images.
    faces: usize,
    /// For each image the face of the file.
    images_of: &'a [u32],
}

impl Cage<'_> {
    /// Texture coordinates and names of the smoothed surface. A part of the file keeps its mirrored faces with it; these
    /// have the texture coordinates of the faces whose images they are, as a chart of their own.
    fn wear(&self, dress: &Dress, plan: &Plan) -> Result<Wear> {
        let values = if dress.corners.is_empty() {
            Values::default()
        } else {
            let given = Values {
                at: dress.values.clone(),
                corners: self.corners(&dress.corners)?,
            };
            plan.values(self.mesh, &given, |f| u8::from(f >= self.faces))?
        };
        let parts = dress.parts.iter().map(|part| {
            let images = part
                .faces
                .map(|f| self.faces + self.images_of.partition_point(|&of| (of as usize) < f));
            Part {
                statements: part.statements.clone(),
                faces: [part.faces, images]
                    .into_iter()
                    .filter(|faces| faces[0] < faces[1])
                    .map(|faces| plan.faces_of(faces))
                    .collect(),
            }
        });
        Ok(Wear {
            dimensions: dress.dimensions,
            values: values.at,
            corners: values.corners,
            parts: parts.collect(),
        })
    }

    /// Places of texture coordinates for all corners, from those of the file's corners.
    fn corners(&self, of_file: &[u32]) -> Result<Vec<u32>> {
        let mut corners = of_file.to_vec();
        for &of in self.images_of {
            let ends = [0, 1].map(|k| self.mesh.starts()[of as usize + k] as usize);
            // The image starts at the same corner and runs the other way round.
            corners.push(of_file[ends[0]]);
            corners.extend(of_file[ends[0] + 1..ends[1]].iter().rev());
        }
        if corners.len() != self.mesh.corners().len() {
            return Err(Error::new("texture coordinates and faces do not belong together")
                .advise("report this as a fault of the program"));
        }
        Ok(corners)
    }
}
