//! `drawntrue repair`: mends what needs no taste, into a new file.

use std::path::PathBuf;

use clap::Args;

use super::limits::{MeshArguments, MeshText};
use super::{EXIT_OFF, EXIT_WITHIN};
use crate::audit::Options;
use crate::audit::model::Outcome;
use crate::error::{Error, Result};
use crate::mesh::UpAxis;
use crate::repair::{ALL, Kind, Repaired, Wanted, repair};
use crate::report::files;

/// Lines of what was left that are shown.
const MOST_LEFT: usize = 20;

/// Arguments of `drawntrue repair`, as typed.
#[derive(Debug, Args)]
pub(super) struct RepairArguments {
    /// The mesh: OBJ, glTF, PLY or STL
    mesh: PathBuf,
    /// Where the repaired mesh goes
    #[arg(long, value_name = "FILE")]
    mesh_out: PathBuf,
    /// What was changed and the new number of each vertex and face, as JSON; FILE of --mesh-out with .map.json behind
    /// it if not given
    #[arg(long, value_name = "FILE")]
    map: Option<PathBuf>,
    /// Only these repairs: faces, weld, centre, mirror, turn, loose
    #[arg(long, value_name = "NAME,…", value_delimiter = ',', value_parser = named)]
    only: Vec<Kind>,
    /// Not these repairs
    #[arg(long, value_name = "NAME,…", value_delimiter = ',', value_parser = named)]
    skip: Vec<Kind>,
    /// The character's side that is copied to the other one where they differ: left or right; without it only where one
    /// of them is clearly right
    #[arg(long, value_name = "SIDE", value_parser = left_side)]
    from: Option<bool>,
    /// Where the mirror plane x = X lies (without it the plane is found)
    #[arg(long, value_name = "X", allow_negative_numbers = true, value_parser = super::finite)]
    plane: Option<f64>,
    /// Open borders that are meant, each named by one of its vertices, counted from 0
    #[arg(long, value_name = "VERTEX,…", value_delimiter = ',')]
    meant_border: Vec<u32>,
    /// A setup file, for what is not given here: which axis is up, mirror plane, borders that are meant
    #[arg(long, value_name = "FILE")]
    setup: Option<PathBuf>,
    /// Which axis of the mesh file points up: y (facing +z) or z (facing −y)
    #[arg(long, value_name = "y|z", value_parser = super::up_axis)]
    up: Option<UpAxis>,
    #[command(flatten)]
    meshes: MeshArguments,
    /// Print nothing but errors
    #[arg(long)]
    quiet: bool,
}

fn named(text: &str) -> std::result::Result<Kind, String> {
    Kind::named(text).ok_or_else(|| {
        let all: Vec<&str> = ALL.iter().map(|k| k.name()).collect();
        format!("use one of {}", all.join(", "))
    })
}

fn left_side(text: &str) -> std::result::Result<bool, String> {
    match text {
        "left" => Ok(true),
        "right" => Ok(false),
        _ => Err("use left or right".to_string()),
    }
}

pub(super) fn run(arguments: &RepairArguments) -> Result<u8> {
    let path = &arguments.mesh;
    let map = arguments.map.clone().unwrap_or_else(|| {
        let mut name = arguments.mesh_out.clone().into_os_string();
        name.push(".map.json");
        PathBuf::from(name)
    });
    if map == arguments.mesh_out {
        return Err(Error::new("the mesh and its map would be one file")
            .in_file(&map)
            .advise("give --map another name"));
    }
    let setup = super::setup_of(arguments.setup.as_deref())?;
    let MeshText { text, notes, .. } = arguments.meshes.read_text(path)?;
    let wanted = Wanted {
        kinds: ALL
            .into_iter()
            .filter(|k| arguments.only.is_empty() || arguments.only.contains(k))
            .filter(|k| !arguments.skip.contains(k))
            .collect(),
        from_left: arguments.from,
        up: arguments.up.or(setup.mesh.up).unwrap_or_default(),
        limits: arguments.meshes.limits(),
        audit: Options {
            plane_x: arguments.plane.or(setup.mesh.plane),
            meant_borders: super::meant_borders(&arguments.meant_border, &setup),
            ..Options::default()
        },
    };
    let done = repair(&text, &wanted).map_err(|e| e.in_file(path))?;
    let mut json = serde_json::to_vec(&done).map_err(|e| Error::new(e.to_string()))?;
    json.push(b'\n');
    files::write_to(&map, &json, &[path])?;
    let (out, lost) = arguments
        .meshes
        .as_named(done.text.clone(), &arguments.mesh_out)?;
    files::write_to(&arguments.mesh_out, &out, &[path])?;
    if !arguments.quiet {
        super::print_notes(&notes, lost)?;
        super::print(&described(&done))?;
    }
    Ok(if done.audit.outcome() == Outcome::Fail {
        EXIT_OFF
    } else {
        EXIT_WITHIN
    })
}

/// What was done, in a few lines.
fn described(done: &Repaired) -> String {
    let mut out = String::new();
    if done.changes.is_empty() {
        out += "nothing was changed\n";
    }
    for c in &done.changes {
        out += &format!("{:<7} {}\n", c.repair.name(), c.text);
    }
    for text in done.left.iter().take(MOST_LEFT) {
        out += &format!("left    {text}\n");
    }
    if done.left.len() > MOST_LEFT {
        out += &format!("left    and {} more, see the map\n", done.left.len() - MOST_LEFT);
    }
    out
}
