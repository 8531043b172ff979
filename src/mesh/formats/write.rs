//! Writes a mesh in the format that a name asks for.
//!
//! OBJ and PLY keep polygons, shared vertices and every digit; OBJ keeps groups. glTF keeps groups, as single-precision
//! triangles in a fan from each polygon's first corner; STL keeps such triangles only.

use base64::Engine as _;
use serde_json::{Value, json};

use super::Format;
use crate::mesh::{Mesh, obj};
use crate::{Error, Result};

/// glTF 2.0, 5.1: an accessor's component types.
const UNSIGNED_INT: u32 = 5125;
const FLOAT: u32 = 5126;
/// glTF 2.0, 4.4: what a binary file begins with, its version, and the kinds of its two chunks.
const MAGIC: u32 = 0x4654_6c67;
const VERSION: u32 = 2;
const JSON_CHUNK: u32 = 0x4e4f_534a;
const BINARY_CHUNK: u32 = 0x004e_4942;

/// What is lost in a format, in words; nothing if all of a mesh is kept.
pub fn loses(format: Format) -> Option<&'static str> {
    match format {
        Format::Obj => None,
        Format::Ply => Some("PLY carries no groups"),
        Format::Gltf | Format::Glb => Some("glTF carries triangles only, and single precision"),
        Format::Stl => {
            Some("STL carries triangles only, no groups, no shared vertices, and single precision")
        }
    }
}

/// The bytes of a mesh's file; `title` is said in it where the format has a place for it.
///
/// # Errors
/// The mesh is too large for the format.
pub fn write(mesh: &Mesh, format: Format, title: &str) -> Result<Vec<u8>> {
    match format {
        Format::Obj => Ok(obj::write::write(mesh, title)),
        Format::Ply => Ok(ply(mesh, title)),
        Format::Stl => stl(mesh),
        Format::Gltf => gltf(mesh, title, false),
        Format::Glb => gltf(mesh, title, true),
    }
}

fn ply(mesh: &Mesh, title: &str) -> Vec<u8> {
    let many = mesh.faces().any(|f| f.len() > usize::from(u8::MAX));
    let count = if many { "uint" } else { "uchar" };
    let mut out = format!(
        "ply\nformat binary_little_endian 1.0\ncomment {title}\nelement vertex {}\nproperty double x\nproperty double y\n\
         property double z\nelement face {}\nproperty list {count} uint vertex_indices\nend_header\n",
        mesh.positions().len(),
        mesh.face_count(),
    )
    .into_bytes();
    for p in mesh.positions() {
        out.extend(p.iter().flat_map(|c| c.to_le_bytes()));
    }
    for face in mesh.faces() {
        if many {
            out.extend((face.len() as u32).to_le_bytes());
        } else {
            out.push(face.len() as u8);
        }
        out.extend(face.iter().flat_map(|v| v.to_le_bytes()));
    }
    out
}

fn single(p: [f64; 3]) -> [f32; 3] {
    p.map(|c| c as f32)
}

fn stl(mesh: &Mesh) -> Result<Vec<u8>> {
    let triangles: Vec<stl_io::Triangle> = mesh
        .triangles()
        .map(|t| {
            let p = t.map(|v| mesh.positions()[v as usize]);
            let normal = crate::mesh::vector::unit(crate::mesh::vector::newell(&p)).unwrap_or_default();
            stl_io::Triangle {
                normal: stl_io::Normal::new(single(normal)),
                vertices: p.map(|p| stl_io::Vertex::new(single(p))),
            }
        })
        .collect();
    let mut out = std::io::Cursor::new(Vec::new());
    stl_io::write_stl(&mut out, triangles.iter())
        .map_err(|e| Error::new(format!("STL cannot be written ({e})")))?;
    Ok(out.into_inner())
}

fn gltf(mesh: &Mesh, title: &str, binary: bool) -> Result<Vec<u8>> {
    let points: Vec<[f32; 3]> = mesh.positions().iter().map(|p| single(*p)).collect();
    let edge = |of: fn(f32, f32) -> f32, from: f32| {
        points
            .iter()
            .fold([from; 3], |a, p| [0, 1, 2].map(|k| of(a[k], p[k])))
    };
    let mut data: Vec<u8> = points.iter().flatten().flat_map(|c| c.to_le_bytes()).collect();
    let mut accessors = vec![json!({
        "bufferView": 0, "componentType": FLOAT, "count": points.len(), "type": "VEC3",
        "min": edge(f32::min, f32::INFINITY), "max": edge(f32::max, f32::NEG_INFINITY),
    })];
    let mut views = vec![json!({"buffer": 0, "byteOffset": 0, "byteLength": data.len()})];
    let (mut meshes, mut nodes): (Vec<Value>, Vec<Value>) = (Vec::new(), Vec::new());
    for (g, group) in mesh.groups().iter().enumerate() {
        let begin = data.len();
        for run in mesh.group_runs().filter(|r| r.group == g) {
            for face in run.faces.map(|f| mesh.face(f)) {
                for pair in face[1..].windows(2) {
                    data.extend([face[0], pair[0], pair[1]].iter().flat_map(|v| v.to_le_bytes()));
                }
            }
        }
        let count = (data.len() - begin) / size_of::<u32>();
        if count == 0 {
            continue;
        }
        accessors.push(json!({"bufferView": views.len(), "componentType": UNSIGNED_INT, "count": count, "type": "SCALAR"}));
        views.push(json!({"buffer": 0, "byteOffset": begin, "byteLength": data.len() - begin}));
        let primitive = json!({"attributes": {"POSITION": 0}, "indices": accessors.len() - 1});
        nodes.push(json!({"name": group.name, "mesh": meshes.len()}));
        meshes.push(json!({"name": group.name, "primitives": [primitive]}));
    }
    let mut buffer = json!({"byteLength": data.len()});
    if !binary {
        let text = base64::engine::general_purpose::STANDARD.encode(&data);
        buffer["uri"] = Value::String(format!("data:application/octet-stream;base64,{text}"));
    }
    let roots: Vec<usize> = (0..nodes.len()).collect();
    let document = json!({
        "asset": {"version": "2.0", "generator": title},
        "scene": 0, "scenes": [{"nodes": roots}],
        "nodes": nodes, "meshes": meshes, "accessors": accessors, "bufferViews": views, "buffers": [buffer],
    });
    let mut text = serde_json::to_vec(&document).map_err(|e| Error::new(e.to_string()))?;
    if !binary {
        text.push(b'\n');
        return Ok(text);
    }
    // Chunks end at multiples of four bytes, text filled up with blanks.
    text.resize(text.len().next_multiple_of(4), b' ');
    data.resize(data.len().next_multiple_of(4), 0);
    let length = u32::try_from(12 + 8 + text.len() + 8 + data.len())
        .map_err(|_| Error::new("the mesh is too large for a binary glTF file").advise("write OBJ or PLY"))?;
    let mut out = Vec::with_capacity(length as usize);
    for word in [MAGIC, VERSION, length, text.len() as u32, JSON_CHUNK] {
        out.extend(word.to_le_bytes());
    }
    out.extend(text);
    for word in [data.len() as u32, BINARY_CHUNK] {
        out.extend(word.to_le_bytes());
    }
    out.extend(data);
    Ok(out)
}
