//! The same body in every format reads the same; files of general-purpose libraries; published facts; what is refused.
//!
//! `tests/data/formats` was written by trimesh 4.12.2 and pygltflib 1.16.5 (see `make.py` there).

use std::path::{Path, PathBuf};

use base64::Engine as _;
use drawntrue::mesh::formats::{Format, FromFile, Wanted, read, write};
use drawntrue::mesh::obj::{self, Limits};
use drawntrue::mesh::{Axes, Mesh};
use drawntrue::silhouette::{Azimuth, Silhouette};

fn data(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data/formats")
        .join(name)
}

fn from(name: &str) -> FromFile {
    let path = data(name);
    read(
        &std::fs::read(&path).expect("the file"),
        &path,
        &Wanted::default(),
    )
    .unwrap_or_else(|e| panic!("{name}: {e}"))
}

/// Six times the enclosed volume: positive where faces look outwards.
fn volume(mesh: &Mesh) -> f64 {
    let p = |v: u32| mesh.positions()[v as usize];
    mesh.triangles()
        .map(|t| {
            let [a, b, c] = t.map(p);
            a[0] * (b[1] * c[2] - b[2] * c[1]) - a[1] * (b[0] * c[2] - b[2] * c[0])
                + a[2] * (b[0] * c[1] - b[1] * c[0])
        })
        .sum::<f64>()
        / 6.0
}

/// A box of 2 by 4 by 6 and an octahedron of radius 1.5: 14 vertices once welded, 20 triangles, volume 48 + 4/3 · 1.5³.
#[test]
fn files_of_general_purpose_libraries_show_one_body() {
    let expected = from("both.ply").mesh;
    for name in [
        "both.stl",
        "both-text.stl",
        "both.ply",
        "both-text.ply",
        "both-big.ply",
        "both.glb",
        "nodes.gltf",
        "embedded.gltf",
    ] {
        let file = from(name);
        let mesh = &file.mesh;
        assert_eq!((mesh.positions().len(), mesh.face_count()), (14, 20), "{name}");
        assert!((volume(mesh) - 52.5).abs() < 1e-5, "{name}: {}", volume(mesh));
        let bounds = mesh.bounds().expect("a box");
        for k in 0..3 {
            assert!((bounds.min[k] - [-1.5, 0.0, -1.5][k]).abs() < 1e-6, "{name}");
            assert!((bounds.max[k] - [2.0, 9.5, 6.0][k]).abs() < 1e-6, "{name}");
        }
        for degrees in [0.0, 33.0, 90.0] {
            let azimuth = Azimuth::from_degrees(degrees);
            let areas = [mesh, &expected].map(|m| Silhouette::new(m, azimuth).projected_area());
            assert!((areas[0] - areas[1]).abs() < 1e-5, "{name} at {degrees}");
        }
    }
    let groups =
        |name: &str| -> Vec<String> { from(name).mesh.groups().iter().map(|g| g.name.clone()).collect() };
    assert_eq!(groups("nodes.gltf"), ["box", "ball"]);
    let fixed = from("both.glb").format;
    assert_eq!((fixed.unit(), fixed.axes()), (Some("m"), Some(Axes::default())));
}

/// A body whose coordinates single precision holds exactly, of quads, in two groups.
fn body() -> Mesh {
    let mut text = String::new();
    let (rows, cols) = (12, 8);
    for part in 0..2 {
        for r in 0..rows {
            for c in 0..cols {
                let a = std::f64::consts::TAU * f64::from(c) / f64::from(cols);
                let radius = 10.0 + f64::from(r % 5) + 30.0 * f64::from(part);
                let exact = |v: f64| (v * 1024.0).round() / 1024.0;
                text += &format!(
                    "v {} {} {}\n",
                    exact(radius * a.cos()),
                    15 * r + 200 * part,
                    exact(0.7 * radius * a.sin())
                );
            }
        }
    }
    for part in 0..2 {
        text += &format!("g part {part}\n");
        for r in 0..rows - 1 {
            for c in 0..cols {
                let at = |r: i32, c: i32| part * rows * cols + r * cols + c % cols + 1;
                text += &format!(
                    "f {} {} {} {}\n",
                    at(r, c),
                    at(r + 1, c),
                    at(r + 1, c + 1),
                    at(r, c + 1)
                );
            }
        }
    }
    obj::read(text.as_bytes(), Limits::default()).expect("a mesh")
}

#[test]
fn the_same_body_reads_the_same_in_every_format() {
    let body = body();
    let ys: Vec<f64> = (0..370).map(|i| f64::from(i) + 0.37).collect();
    for (format, ending) in [
        (Format::Obj, "obj"),
        (Format::Ply, "ply"),
        (Format::Stl, "stl"),
        (Format::Gltf, "gltf"),
        (Format::Glb, "glb"),
    ] {
        let bytes = write::write(&body, format, "a test").expect("written");
        let path = PathBuf::from(format!("body.{ending}"));
        assert_eq!(
            Format::of(&bytes, Path::new("nameless")),
            format,
            "told by its bytes"
        );
        let plain = read(&bytes, &path, &Wanted::default()).expect("read");
        assert_eq!(plain.mesh.positions().len(), body.positions().len(), "{ending}");
        for degrees in [0.0, 90.0] {
            let azimuth = Azimuth::from_degrees(degrees);
            let spans = [&plain.mesh, &body].map(|m| Silhouette::new(m, azimuth).row_spans(&ys));
            for i in 0..ys.len() {
                assert_eq!(spans[0].row(i).len(), spans[1].row(i).len(), "{ending}, row {i}");
                for (a, b) in spans[0].row(i).iter().zip(spans[1].row(i)) {
                    assert!(
                        (a.x0 - b.x0).abs() < 1e-6 && (a.x1 - b.x1).abs() < 1e-6,
                        "{ending}"
                    );
                }
            }
        }
        // Polygons come back: as they were, or put together from their triangles.
        let wanted = Wanted {
            quads: true,
            ..Wanted::default()
        };
        let quads = read(&bytes, &path, &wanted).expect("read").mesh;
        assert_eq!(quads.face_counts().quads, body.face_count(), "{ending}");
        if format != Format::Stl && format != Format::Ply {
            assert_eq!(quads.groups(), body.groups(), "{ending}");
        }
        if matches!(format, Format::Obj | Format::Ply) {
            assert_eq!(plain.mesh.positions(), body.positions(), "every digit, {ending}");
            assert_eq!(plain.mesh.corners(), body.corners());
            assert!(plain.notes.is_empty());
        } else {
            assert!(
                plain.notes.iter().any(|n| n.contains("triangles only")),
                "{:?}",
                plain.notes
            );
        }
    }
}

/// A document after the smallest one of the Khronos glTF tutorial ("A minimal glTF file": one triangle, three positions,
/// 44 bytes) and after its sample model SimpleSparseAccessor (14 positions, 36 indices, 3 positions replaced, so that y
/// reaches 4).
fn document(sparse: bool) -> Vec<u8> {
    let mut bytes: Vec<u8> = Vec::new();
    let (count, triangles) = if sparse { (14u16, 12u16) } else { (3, 1) };
    let indices: Vec<u16> = if sparse {
        (0..6).flat_map(|i| [i, i + 8, i + 7, i, i + 1, i + 8]).collect()
    } else {
        vec![0, 1, 2]
    };
    bytes.extend(indices.iter().flat_map(|i| i.to_le_bytes()));
    bytes.resize(bytes.len().next_multiple_of(4), 0);
    let positions = bytes.len();
    for i in 0..count {
        let at = if sparse {
            [f32::from(i % 7), f32::from(i / 7), 0.0]
        } else {
            [[0.0f32, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]][usize::from(i)]
        };
        bytes.extend(at.iter().flat_map(|c| c.to_le_bytes()));
    }
    let mut views = format!(
        r#"{{"buffer":0,"byteLength":{}}},{{"buffer":0,"byteOffset":{positions},"byteLength":{}}}"#,
        2 * indices.len(),
        bytes.len() - positions
    );
    let mut extra = String::new();
    if sparse {
        let at = bytes.len();
        bytes.extend([8u16, 10, 12].iter().flat_map(|i| i.to_le_bytes()));
        bytes.extend([0; 2]);
        let values = bytes.len();
        bytes.extend(
            [1.0f32, 2.0, 0.0, 3.0, 3.0, 0.0, 5.0, 4.0, 0.0]
                .iter()
                .flat_map(|c| c.to_le_bytes()),
        );
        views += &format!(
            r#",{{"buffer":0,"byteOffset":{at},"byteLength":6}},{{"buffer":0,"byteOffset":{values},"byteLength":36}}"#
        );
        extra = r#","sparse":{"count":3,"indices":{"bufferView":2,"componentType":5123},"values":{"bufferView":3}}"#.into();
    }
    let text = base64::engine::general_purpose::STANDARD.encode(&bytes);
    let most = if sparse { "[6,4,0]" } else { "[1,1,0]" };
    format!(
        r#"{{"asset":{{"version":"2.0"}},"scene":0,"scenes":[{{"nodes":[0]}}],"nodes":[{{"mesh":0}}],
        "meshes":[{{"primitives":[{{"attributes":{{"POSITION":1}},"indices":0}}]}}],
        "buffers":[{{"byteLength":{},"uri":"data:application/octet-stream;base64,{text}"}}],"bufferViews":[{views}],
        "accessors":[{{"bufferView":0,"componentType":5123,"count":{},"type":"SCALAR"}},
        {{"bufferView":1,"componentType":5126,"count":{count},"type":"VEC3","min":[0,0,0],"max":{most}{extra}}}]}}"#,
        bytes.len(),
        3 * triangles
    )
    .into_bytes()
}

#[test]
fn published_documents_have_their_published_counts() {
    let one = read(&document(false), Path::new("one.gltf"), &Wanted::default())
        .expect("read")
        .mesh;
    assert_eq!((one.positions().len(), one.face_count()), (3, 1));
    let sparse = read(&document(true), Path::new("sparse.gltf"), &Wanted::default())
        .expect("read")
        .mesh;
    assert_eq!((sparse.positions().len(), sparse.face_count()), (14, 12));
    assert_eq!(sparse.positions()[8], [1.0, 2.0, 0.0]);
    assert_eq!(sparse.positions()[10], [3.0, 3.0, 0.0]);
    assert_eq!(sparse.bounds().expect("a box").max, [6.0, 4.0, 0.0]);
}

/// Every file cut off at every place, and with every byte changed: read or refused in one line, never a panic.
#[test]
fn broken_files_give_one_line() {
    let one_line = |bytes: &[u8], name: &str| {
        if let Err(e) = read(bytes, Path::new(name), &Wanted::default()) {
            let text = e.to_string();
            assert!(!text.is_empty() && !text.contains('\n'), "{name}: {text:?}");
        }
    };
    for name in [
        "both.stl",
        "both-text.stl",
        "both.ply",
        "both-text.ply",
        "both-big.ply",
        "both.glb",
        "embedded.gltf",
    ] {
        let whole = std::fs::read(data(name)).expect("the file");
        for end in 0..whole.len() {
            one_line(&whole[..end], name);
        }
        for at in 0..whole.len() {
            for with in [0, b'9', 0xff, whole[at] ^ 1] {
                let mut changed = whole.clone();
                changed[at] = with;
                one_line(&changed, name);
            }
        }
    }
}

#[test]
fn what_cannot_be_read_is_said() {
    let said = |bytes: &[u8], name: &str| {
        let e = read(bytes, Path::new(name), &Wanted::default())
            .expect_err("refused")
            .to_string();
        assert!(!e.contains('\n'), "{e:?}");
        e
    };
    let nodes = std::fs::read(data("nodes.gltf")).expect("the file");
    assert!(said(&nodes, "elsewhere/nodes.gltf").contains("a buffer.bin"));
    let text = String::from_utf8(nodes).expect("text");
    let away = text.replace("a%20buffer.bin", "../secret.bin");
    assert!(said(away.as_bytes(), "nodes.gltf").contains("elsewhere"));
    // The last of the root's children becomes the root itself.
    let begin = text.find("\"children\"").expect("children");
    let end = begin + text[begin..].find(']').expect("their end");
    let cycle = format!("{}\"children\": [1, 0{}", &text[..begin], &text[end..]);
    assert_ne!(cycle, text);
    let path = data("nodes.gltf");
    let refused = read(cycle.as_bytes(), &path, &Wanted::default()).expect_err("refused");
    assert!(refused.to_string().contains("node"), "{refused}");
    let few = Wanted {
        limits: Limits { max_faces: 5 },
        ..Wanted::default()
    };
    for name in ["both.stl", "both-text.stl", "both.ply", "both.glb"] {
        let bytes = std::fs::read(data(name)).expect("the file");
        let e = read(&bytes, &data(name), &few).expect_err("refused").to_string();
        assert!(e.contains("--max-faces"), "{name}: {e}");
    }
    assert!(said(b"ply\nformat ascii 1.0\nelement vertex 0\nend_header\n", "a.ply").contains("no faces"));
}

/// A binary file may begin with the word that text files begin with, and a text may hold several solids.
#[test]
fn stl_of_both_kinds_is_told_apart() {
    let mut binary = std::fs::read(data("both.stl")).expect("the file");
    binary[..6].copy_from_slice(b"solid ");
    let told = read(&binary, Path::new("x.stl"), &Wanted::default()).expect("read");
    assert_eq!(told.mesh.face_count(), 20);
    let text = std::fs::read_to_string(data("both-text.stl")).expect("the file");
    let two = format!(
        "{}\n{}",
        text.replacen("solid ", "SOLID Box one", 1),
        text.replacen("solid ", "solid Two", 1)
    );
    let told = read(two.as_bytes(), Path::new("x.stl"), &Wanted::default())
        .expect("read")
        .mesh;
    assert_eq!(told.face_count(), 40);
    let names: Vec<&str> = told.groups().iter().map(|g| g.name.as_str()).collect();
    assert_eq!(names, ["Box one", "Two"]);
}
