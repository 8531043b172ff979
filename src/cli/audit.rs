//! `drawntrue audit`: whether a mesh is sound before it is smoothed and rigged.

use std::path::PathBuf;

use clap::Args;

use super::limits::MeshArguments;
use super::progress::Progress;
use super::{EXIT_OFF, EXIT_WITHIN};
use crate::audit::model::Outcome;
use crate::audit::{Options, audit};
use crate::error::{Error, Result};
use crate::mesh::formats::FromFile;
use crate::mesh::prepare::{Preparation, prepare};
use crate::mesh::select::Choice;
use crate::mesh::{Mesh, UpAxis};
use crate::report::audit::picture::pictures;
use crate::report::audit::{json, terminal::summary};
use crate::report::files;

/// Arguments of `drawntrue audit`, as typed.
#[derive(Debug, Args)]
pub(super) struct AuditArguments {
    /// The mesh: OBJ, glTF, PLY or STL
    mesh: PathBuf,
    /// Write the audit as JSON to a file, or to standard output with `-`
    #[arg(long, value_name = "FILE|-")]
    json: Option<PathBuf>,
    /// Folder for audit.json and the pictures audit-front.png, audit-side.png, audit-three-quarter.png
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Where the mirror plane x = X lies (without it the plane is found)
    #[arg(long, value_name = "X", allow_negative_numbers = true, value_parser = super::finite)]
    plane: Option<f64>,
    /// Open borders that are meant, each named by one of its vertices, counted from 0
    #[arg(long, value_name = "VERTEX,…", value_delimiter = ',')]
    meant_border: Vec<u32>,
    /// A setup file, for what is not given here: which axis is up, groups, mirror plane, borders that are meant, unit
    #[arg(long, value_name = "FILE")]
    setup: Option<PathBuf>,
    /// Only these groups of the file count
    #[arg(long, value_name = "NAME,…", value_delimiter = ',')]
    groups: Vec<String>,
    /// These groups of the file do not count
    #[arg(long, value_name = "NAME,…", value_delimiter = ',')]
    skip_groups: Vec<String>,
    /// Which axis of the mesh file points up: y (facing +z) or z (facing −y)
    #[arg(long, value_name = "y|z", value_parser = super::up_axis)]
    up: Option<UpAxis>,
    /// Name of the mesh's unit of length
    #[arg(long, value_name = "LABEL")]
    unit: Option<String>,
    #[command(flatten)]
    meshes: MeshArguments,
    /// Print nothing but errors
    #[arg(long)]
    quiet: bool,
}

/// Names of the command line, else the setup's.
fn named(typed: &[String], setup: &Option<Vec<String>>) -> Vec<String> {
    match setup {
        Some(names) if typed.is_empty() => names.clone(),
        _ => typed.to_vec(),
    }
}

pub(super) fn run(arguments: &AuditArguments) -> Result<u8> {
    let progress = Progress::new(!arguments.quiet);
    progress.step("reading the mesh");
    let setup = super::setup_of(arguments.setup.as_deref())?;
    let borders = super::meant_borders(&arguments.meant_border, &setup);
    let path = &arguments.mesh;
    let FromFile {
        mesh: file,
        notes,
        welded,
        ..
    } = arguments.meshes.read_mesh(path)?;
    let vertices = welded.as_ref().map_or(file.positions().len(), Vec::len);
    if let Some(v) = borders.iter().find(|&&v| v as usize >= vertices) {
        return Err(
            Error::new(format!("there is no vertex {v}, the mesh has {vertices}"))
                .advise("name a vertex of the border with --meant-border or in the setup, counted from 0"),
        );
    }
    let how = Preparation {
        axes: super::axes_of(arguments.up, &setup),
        choice: Choice {
            groups: named(&arguments.groups, &setup.mesh.groups),
            skip_groups: named(&arguments.skip_groups, &setup.mesh.skip_groups),
        },
        mirror: false,
    };
    let noted = prepare(file.clone(), &how).map_err(|e| e.in_file(path))?;
    progress.step("auditing");
    let options = Options {
        plane_x: arguments.plane.or(setup.mesh.plane),
        meant_borders: match &welded {
            Some(welded) => borders.iter().map(|&v| welded[v as usize]).collect(),
            None => borders,
        },
        unit: arguments.unit.clone().or(setup.unit).unwrap_or_default(),
        quick: false,
    };
    let mut result = audit(&noted.mesh, &options);
    result.mesh.path = path.display().to_string();
    result.notes.splice(0..0, notes.into_iter().chain(noted.notes));
    if noted.mesh.face_count() != file.face_count() {
        result.renumber_faces(&numbers_in_file(&file, &noted.mesh));
    }
    let text = json::write(&result)?;
    if let Some(folder) = &arguments.out {
        progress.step("drawing");
        files::prepare(folder)?;
        for (name, content) in pictures(&noted.mesh, &result)? {
            files::write_one(folder, &name, &content, &[path])?;
        }
        files::write_one(folder, "audit.json", &text, &[path])?;
    }
    progress.done();
    let to_screen = arguments.json.as_ref().is_some_and(|p| p.as_os_str() == "-");
    match &arguments.json {
        Some(_) if to_screen => super::print(&String::from_utf8_lossy(&text))?,
        Some(to) => files::write_to(to, &text, &[path])?,
        None => {}
    }
    if !arguments.quiet && !to_screen {
        super::print(&summary(&result, super::style()))?;
    }
    Ok(if result.outcome() == Outcome::Fail {
        EXIT_OFF
    } else {
        EXIT_WITHIN
    })
}

/// The number in the file of each face that was kept. Faces are kept in order, so the first that agrees is the one; of
/// equal faces that follow each other without another kept one between, the number may be that of a twin.
fn numbers_in_file(file: &Mesh, kept: &Mesh) -> Vec<u32> {
    let mut next = 0;
    kept.faces()
        .map(|face| {
            while next < file.face_count() && file.face(next) != face {
                next += 1;
            }
            next += 1;
            next as u32 - 1
        })
        .collect()
}
