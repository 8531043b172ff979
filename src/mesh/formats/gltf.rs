//! Reads glTF 2.0 meshes, text and binary, through the crate `gltf`.
//!
//! Read: the meshes of the file's own scene (its first one if it names none, all nodes if it has none), each placed by
//! its node and the nodes above it; triangles, strips and fans; any index type; strided and sparse accessors. A skinned
//! mesh is taken in its bind pose, where it stands by itself: its node's place does not count (glTF 2.0, 3.7.3). Morph
//! targets are at rest. A primitive's group is called after its node or mesh, and its material if there are several.
//!
//! Buffers may lie in the file, in a data URI, or in a file beside or below it.

use std::collections::HashMap;
use std::path::{Component, Path, PathBuf};

use base64::Engine as _;
use gltf::accessor::DataType;
use gltf::mesh::Mode;
use gltf::{Gltf, Primitive, Semantic};

use super::assembly::{Assembly, too_many};
use super::{Format, refused};
use crate::mesh::Mesh;
use crate::mesh::obj::Limits;
use crate::{Error, Result};

/// Bytes of buffers at most, for each face of the largest mesh, and besides: as much as a vertex with normals, tangents,
/// colours and weights takes at each corner.
const BYTES_A_FACE: u64 = 512;
const OTHER_BYTES: u64 = 1 << 26;
/// Nodes above a node at most.
const DEEPEST: usize = 1000;

/// Columns of a matrix that places a node.
type Place = [[f64; 4]; 4];

const AT_REST: Place = [
    [1.0, 0.0, 0.0, 0.0],
    [0.0, 1.0, 0.0, 0.0],
    [0.0, 0.0, 1.0, 0.0],
    [0.0, 0.0, 0.0, 1.0],
];

fn within(a: Place, b: Place) -> Place {
    std::array::from_fn(|c| std::array::from_fn(|r| (0..4).map(|k| a[k][r] * b[c][k]).sum()))
}

/// A node's own matrix. The file's numbers are single; a rotation is made one again, so that sizes stay as they are.
fn own(node: &gltf::Node<'_>) -> Place {
    let (t, r, s) = match node.transform() {
        gltf::scene::Transform::Matrix { matrix } => return matrix.map(|column| column.map(f64::from)),
        gltf::scene::Transform::Decomposed {
            translation,
            rotation,
            scale,
        } => (
            translation.map(f64::from),
            rotation.map(f64::from),
            scale.map(f64::from),
        ),
    };
    let long = r.iter().map(|c| c * c).sum::<f64>().sqrt().max(f64::MIN_POSITIVE);
    let [x, y, z, w] = r.map(|c| c / long);
    let turn = [
        [
            1.0 - 2.0 * (y * y + z * z),
            2.0 * (x * y + z * w),
            2.0 * (x * z - y * w),
        ],
        [
            2.0 * (x * y - z * w),
            1.0 - 2.0 * (x * x + z * z),
            2.0 * (y * z + x * w),
        ],
        [
            2.0 * (x * z + y * w),
            2.0 * (y * z - x * w),
            1.0 - 2.0 * (x * x + y * y),
        ],
    ];
    let column = |k: usize| [turn[k][0] * s[k], turn[k][1] * s[k], turn[k][2] * s[k], 0.0];
    [column(0), column(1), column(2), [t[0], t[1], t[2], 1.0]]
}

fn placed(place: &Place, p: [f32; 3]) -> [f64; 3] {
    let p = p.map(f64::from);
    std::array::from_fn(|r| place[0][r] * p[0] + place[1][r] * p[1] + place[2][r] * p[2] + place[3][r])
}

/// Whether a place turns the inside out.
fn mirrors(m: &Place) -> bool {
    let minor = |a: usize, b: usize| m[1][a] * m[2][b] - m[1][b] * m[2][a];
    m[0][0] * minor(1, 2) - m[0][1] * minor(0, 2) + m[0][2] * minor(0, 1) < 0.0
}

/// Reads a glTF mesh. `folder` is where files lie that it refers to; without it there are none.
///
/// # Errors
/// The file is no glTF 2.0, needs an extension that is not known, refers to a buffer that is not there, has no triangles
/// or more than the limit, or its nodes form a cycle.
pub fn read(bytes: &[u8], folder: Option<&Path>, limits: Limits) -> Result<(Mesh, Vec<String>)> {
    let file = Gltf::from_slice(bytes).map_err(|e| refused(Format::Gltf, &e))?;
    let buffers = buffers(&file, folder, limits)?;
    let mut notes = Vec::new();
    if file.scenes().len() > 1 {
        notes.push(format!(
            "the file has {} scenes, the one that it opens with counts",
            file.scenes().len()
        ));
    }
    let mut reading = Reading {
        buffers: &buffers,
        assembly: Assembly::new(limits),
        limits,
        skinned: 0,
        passed_over: 0,
    };
    let scene = file.default_scene().or_else(|| file.scenes().next());
    let roots: Vec<gltf::Node<'_>> = match &scene {
        Some(scene) => scene.nodes().collect(),
        None => {
            let below: Vec<usize> = file
                .nodes()
                .flat_map(|n| n.children().map(|c| c.index()).collect::<Vec<_>>())
                .collect();
            file.nodes().filter(|n| !below.contains(&n.index())).collect()
        }
    };
    let mut seen = vec![false; file.nodes().len()];
    let mut waiting: Vec<(gltf::Node<'_>, Place, usize)> =
        roots.into_iter().rev().map(|n| (n, AT_REST, 0)).collect();
    while let Some((node, above, depth)) = waiting.pop() {
        if std::mem::replace(&mut seen[node.index()], true) || depth > DEEPEST {
            return Err(Error::new("a node hangs below two others, or below itself")
                .at(format!("node {}", node.index()))
                .advise("export the mesh again"));
        }
        let place = within(above, own(&node));
        if let Some(mesh) = node.mesh() {
            let skinned = node.skin().is_some();
            reading.skinned += usize::from(skinned);
            let several = mesh.primitives().len() > 1;
            let name = node
                .name()
                .or(mesh.name())
                .map_or_else(|| format!("mesh {}", mesh.index()), str::to_string);
            for primitive in mesh.primitives() {
                let material = primitive.material().name().map(str::to_string);
                reading.assembly.group(match material.filter(|_| several) {
                    Some(material) => format!("{name} {material}"),
                    None => name.clone(),
                });
                reading.primitive(&primitive, if skinned { &AT_REST } else { &place })?;
            }
        }
        let children: Vec<_> = node.children().collect();
        waiting.extend(children.into_iter().rev().map(|c| (c, place, depth + 1)));
    }
    if reading.skinned > 0 {
        notes.push("skinned meshes are taken in their bind pose".to_string());
    }
    if reading.passed_over > 0 {
        notes.push(format!(
            "{} primitives of points or lines are passed over",
            reading.passed_over
        ));
    }
    Ok((reading.assembly.finish()?, notes))
}

/// What is read so far.
struct Reading<'a> {
    buffers: &'a [Vec<u8>],
    assembly: Assembly,
    limits: Limits,
    skinned: usize,
    passed_over: usize,
}

impl Reading<'_> {
    fn primitive(&mut self, primitive: &Primitive<'_>, place: &Place) -> Result<()> {
        let bad = |what: &str| {
            Error::new(format!("this is no glTF file that can be read ({what})"))
                .advise("export the mesh again")
        };
        let mode = primitive.mode();
        if !matches!(mode, Mode::Triangles | Mode::TriangleStrip | Mode::TriangleFan) {
            self.passed_over += 1;
            return Ok(());
        }
        let accessor = primitive
            .get(&Semantic::Positions)
            .ok_or_else(|| bad("a primitive has no positions"))?;
        if accessor.data_type() != DataType::F32 {
            return Err(bad("positions are no single-precision numbers"));
        }
        let corners = primitive.indices().map_or(accessor.count(), |i| i.count());
        let most = self.limits.max_faces.saturating_sub(self.assembly.faces());
        let faces = if mode == Mode::Triangles {
            corners / 3
        } else {
            corners.saturating_sub(2)
        };
        // Sparse accessors can claim any number of elements without bytes for them.
        if faces > most || accessor.count() > 3usize.saturating_mul(self.limits.max_faces) {
            return Err(too_many(self.limits.max_faces));
        }
        let reader = primitive.reader(|b| self.buffers.get(b.index()).map(Vec::as_slice));
        let positions: Vec<[f32; 3]> = reader
            .read_positions()
            .ok_or_else(|| bad("positions lie outside of their buffer"))?
            .collect();
        if positions.len() != accessor.count() {
            return Err(bad("positions lie outside of their buffer"));
        }
        let indices: Vec<u32> = match primitive.indices() {
            None => (0..positions.len() as u32).collect(),
            Some(asked) => {
                let read: Vec<u32> = reader
                    .read_indices()
                    .ok_or_else(|| bad("indices lie outside of their buffer"))?
                    .into_u32()
                    .collect();
                if read.len() != asked.count() {
                    return Err(bad("indices lie outside of their buffer"));
                }
                read
            }
        };
        if let Some(i) = indices.iter().find(|i| **i as usize >= positions.len()) {
            return Err(bad(&format!("there is no vertex {i}")));
        }
        let first = self.assembly.positions.len() as u32;
        self.assembly
            .positions
            .extend(positions.iter().map(|p| placed(place, *p)));
        let back = mirrors(place);
        let mut face = |a: u32, b: u32, c: u32| {
            let (b, c) = if back { (c, b) } else { (b, c) };
            self.assembly.face([first + a, first + b, first + c])
        };
        match mode {
            Mode::TriangleStrip => {
                for (k, t) in indices.windows(3).enumerate() {
                    // Every second triangle of a strip runs the other way round.
                    let (b, c) = if k % 2 == 0 { (t[1], t[2]) } else { (t[2], t[1]) };
                    // Strips repeat a vertex where they turn; that is no face.
                    if t[0] != t[1] && t[1] != t[2] && t[2] != t[0] {
                        face(t[0], b, c)?;
                    }
                }
            }
            Mode::TriangleFan => {
                for pair in indices.get(1..).unwrap_or_default().windows(2) {
                    face(indices[0], pair[0], pair[1])?;
                }
            }
            _ => {
                for t in indices.chunks_exact(3) {
                    face(t[0], t[1], t[2])?;
                }
            }
        }
        Ok(())
    }
}

/// The bytes of every buffer.
fn buffers(file: &Gltf, folder: Option<&Path>, limits: Limits) -> Result<Vec<Vec<u8>>> {
    let most = (limits.max_faces as u64)
        .saturating_mul(BYTES_A_FACE)
        .saturating_add(OTHER_BYTES);
    let mut read: HashMap<String, Vec<u8>> = HashMap::new();
    file.buffers()
        .map(|buffer| {
            let wrong = |matter: String| {
                Error::new(matter)
                    .at(format!("buffer {}", buffer.index()))
                    .advise("export the mesh again, best as one binary file")
            };
            if buffer.length() as u64 > most {
                return Err(too_many(limits.max_faces));
            }
            let bytes = match buffer.source() {
                gltf::buffer::Source::Bin => file
                    .blob
                    .clone()
                    .ok_or_else(|| wrong("the file has no binary part".into()))?,
                gltf::buffer::Source::Uri(uri) => match uri.strip_prefix("data:") {
                    Some(data) => embedded(data).ok_or_else(|| wrong("its data cannot be decoded".into()))?,
                    None => match read.get(uri) {
                        Some(bytes) => bytes.clone(),
                        None => {
                            let bytes = beside(uri, folder, most).map_err(wrong)?;
                            read.insert(uri.to_string(), bytes.clone());
                            bytes
                        }
                    },
                },
            };
            if bytes.len() < buffer.length() {
                return Err(wrong(format!(
                    "it has {} bytes, {} are wanted",
                    bytes.len(),
                    buffer.length()
                )));
            }
            Ok(bytes)
        })
        .collect()
}

/// Bytes of a data URI (RFC 2397) in base64.
fn embedded(data: &str) -> Option<Vec<u8>> {
    let (kind, data) = data.split_once(',')?;
    kind.ends_with(";base64")
        .then(|| base64::engine::general_purpose::STANDARD.decode(data.trim()).ok())
        .flatten()
}

/// The files that a file's buffers lie in.
pub(super) fn files_beside(bytes: &[u8], folder: Option<&Path>) -> Vec<PathBuf> {
    let Ok(file) = Gltf::from_slice_without_validation(bytes) else {
        return Vec::new();
    };
    let uris = file.buffers().filter_map(|b| match b.source() {
        gltf::buffer::Source::Uri(uri) if !uri.starts_with("data:") => place_beside(uri, folder).ok(),
        _ => None,
    });
    uris.collect()
}

/// Bytes of a file beside or below the mesh file.
fn beside(uri: &str, folder: Option<&Path>, most: u64) -> std::result::Result<Vec<u8>, String> {
    let path = place_beside(uri, folder)?;
    let shown = path.display();
    let size = std::fs::metadata(&path)
        .map_err(|e| format!("its file {shown} cannot be read ({e})"))?
        .len();
    if size > most {
        return Err(format!("its file {shown} is too large"));
    }
    std::fs::read(&path).map_err(|e| format!("its file {shown} cannot be read ({e})"))
}

/// Where a file beside or below the mesh file lies.
fn place_beside(uri: &str, folder: Option<&Path>) -> std::result::Result<PathBuf, String> {
    let name = unescaped(uri).ok_or("the name of its file cannot be read")?;
    let path = Path::new(&name);
    let inside = path
        .components()
        .all(|c| matches!(c, Component::Normal(_) | Component::CurDir));
    if name.contains("://") || !inside {
        return Err(
            "it lies elsewhere than beside or below the mesh file, and is not read from there".to_string(),
        );
    }
    Ok(folder.unwrap_or(Path::new("")).join(path))
}

/// A URI's path with its percent signs resolved (RFC 3986, 2.1).
fn unescaped(uri: &str) -> Option<String> {
    let mut out = Vec::with_capacity(uri.len());
    let mut bytes = uri.bytes();
    while let Some(b) = bytes.next() {
        if b == b'%' {
            let mut digit = || char::from(bytes.next()?).to_digit(16);
            out.push((digit()? * 16 + digit()?) as u8);
        } else {
            out.push(b);
        }
    }
    String::from_utf8(out).ok()
}
