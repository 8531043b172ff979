//! Loads for the benchmark: a body of closed quad shells and the sheet that it matches, as files.

use std::f64::consts::TAU;
use std::fmt::Write as _;
use std::fs;
use std::io::BufWriter;
use std::path::{Path, PathBuf};

use drawntrue::mesh::Mesh;
use drawntrue::profile::Outline;
use drawntrue::silhouette::{Azimuth, silhouettes};
use drawntrue::space::ViewUnits;
use tiny_skia::{Color, LineCap, LineJoin, Paint, PathBuilder, Pixmap, Stroke, Transform};

/// How much there is to read.
pub(crate) struct Load {
    pub(crate) name: &'static str,
    pub(crate) quads: usize,
    pub(crate) sheet_px: usize,
}

pub(crate) const LOADS: [Load; 4] = [
    Load {
        name: "small",
        quads: 5_000,
        sheet_px: 1_000,
    },
    Load {
        name: "medium",
        quads: 200_000,
        sheet_px: 5_000,
    },
    Load {
        name: "large",
        quads: 1_000_000,
        sheet_px: 9_000,
    },
    Load {
        name: "huge",
        quads: 4_000_000,
        sheet_px: 9_000,
    },
];

/// Files of a load.
pub(crate) struct Files {
    pub(crate) mesh: PathBuf,
    pub(crate) sheet: PathBuf,
}

/// Capsules: two ends and a radius, in units; the figure stands 180 tall.
const BODY: [([f64; 3], [f64; 3], f64); 8] = [
    ([0.0, 92.0, 0.0], [0.0, 132.0, 2.0], 19.0),
    ([0.0, 160.0, 3.0], [0.0, 166.0, 3.0], 14.0),
    ([0.0, 140.0, 0.0], [0.0, 152.0, 2.0], 6.0),
    ([9.0, 8.0, 1.0], [10.0, 88.0, 0.0], 8.0),
    ([-9.0, 8.0, 1.0], [-10.0, 88.0, 0.0], 8.0),
    ([16.0, 138.0, 0.0], [44.0, 84.0, 6.0], 5.5),
    ([-16.0, 138.0, 0.0], [-44.0, 84.0, 6.0], 5.5),
    ([0.0, 104.0, 8.0], [0.0, 108.0, 8.0], 15.0),
];

/// Share of the figure's height that a line is wide.
const LINE: f64 = 0.004;

fn capsule(
    a: [f64; 3],
    b: [f64; 3],
    r: f64,
    around: usize,
    along: usize,
    mesh: &mut (Vec<[f64; 3]>, Vec<[u32; 4]>),
) {
    let (positions, faces) = mesh;
    let base = positions.len();
    let axis: [f64; 3] = std::array::from_fn(|k| b[k] - a[k]);
    let length = axis.iter().map(|v| v * v).sum::<f64>().sqrt();
    let d = axis.map(|v| v / length);
    // Two directions square to the axis; no axis of the body runs along z.
    let flat = (d[0] * d[0] + d[1] * d[1]).sqrt();
    let u = [-d[1] / flat, d[0] / flat, 0.0];
    let v = [
        d[1] * u[2] - d[2] * u[1],
        d[2] * u[0] - d[0] * u[2],
        d[0] * u[1] - d[1] * u[0],
    ];
    for i in 0..=along {
        // From pole to pole; a tiny ring stands for each pole.
        let t = (i as f64 / along as f64 * (TAU / 2.0)).clamp(1e-3, TAU / 2.0 - 1e-3);
        let (height, radius) = (-t.cos() * r, t.sin() * r);
        let shift = if t < TAU / 4.0 { 0.0 } else { length };
        for j in 0..around {
            let (sin, cos) = (TAU * j as f64 / around as f64).sin_cos();
            positions.push(std::array::from_fn(|k| {
                a[k] + d[k] * (height + shift) + radius * (cos * u[k] + sin * v[k])
            }));
        }
    }
    for i in 0..along {
        for j in 0..around {
            let next = (j + 1) % around;
            let at = |i: usize, j: usize| (base + i * around + j) as u32;
            faces.push([at(i, j), at(i, next), at(i + 1, next), at(i + 1, j)]);
        }
    }
}

fn body(quads: usize) -> (Vec<[f64; 3]>, Vec<[u32; 4]>) {
    let mut mesh = (Vec::new(), Vec::new());
    let side = ((quads as f64 / BODY.len() as f64).sqrt().round() as usize).max(8);
    for (a, b, r) in BODY {
        capsule(a, b, r, side, side, &mut mesh);
    }
    mesh
}

fn obj((positions, faces): &(Vec<[f64; 3]>, Vec<[u32; 4]>)) -> String {
    let mut text = String::from("o body\n");
    for [x, y, z] in positions {
        writeln!(text, "v {x:.6} {y:.6} {z:.6}").expect("a string");
    }
    for f in faces {
        let [a, b, c, d] = f.map(|v| v + 1);
        writeln!(text, "f {a} {b} {c} {d}").expect("a string");
    }
    text
}

/// Front and side outline, inked on white, side by side.
fn sheet(mesh: &Mesh, height: usize) -> Pixmap {
    let views: Vec<Outline<ViewUnits>> = silhouettes(mesh, &[Azimuth::FRONT, Azimuth::FACING_RIGHT])
        .iter()
        .map(|s| s.outline(2400))
        .collect();
    let boxes: Vec<_> = views.iter().map(|v| v.bounds().expect("a figure")).collect();
    let scale = 0.86 * height as f64 / boxes[0].height();
    let margin = 0.07 * height as f64;
    let width = boxes
        .iter()
        .map(|b| b.width() * scale + 2.0 * margin)
        .sum::<f64>();
    let mut picture = Pixmap::new(width as u32, height as u32).expect("a picture");
    picture.fill(Color::WHITE);
    let paint = Paint {
        anti_alias: true,
        ..Paint::default()
    };
    let stroke = Stroke {
        width: (LINE * 0.86 * height as f64) as f32,
        line_cap: LineCap::Round,
        line_join: LineJoin::Round,
        ..Stroke::default()
    };
    let mut left = margin;
    for (outline, b) in views.iter().zip(&boxes) {
        let mut path = PathBuilder::new();
        for ring in &outline.rings {
            for (i, p) in ring.iter().enumerate() {
                let (x, y) = (
                    (left + (p.x - b.x0) * scale) as f32,
                    (margin + (b.y1 - p.y) * scale) as f32,
                );
                if i == 0 {
                    path.move_to(x, y);
                } else {
                    path.line_to(x, y);
                }
            }
            path.close();
        }
        let path = path.finish().expect("an outline");
        picture.stroke_path(&path, &paint, &stroke, Transform::identity(), None);
        left += b.width() * scale + 2.0 * margin;
    }
    picture
}

fn save(picture: &Pixmap, to: &Path) {
    let file = BufWriter::new(fs::File::create(to).expect("a file"));
    let mut encoder = png::Encoder::new(file, picture.width(), picture.height());
    encoder.set_color(png::ColorType::Grayscale);
    let grey: Vec<u8> = picture.pixels().iter().map(|p| p.red()).collect();
    let mut writer = encoder.write_header().expect("a header");
    writer.write_image_data(&grey).expect("a picture");
    writer.finish().expect("a picture");
}

/// Makes a load's files, unless they are there.
pub(crate) fn files(load: &Load, folder: &Path) -> Files {
    fs::create_dir_all(folder).expect("a folder");
    let at = |ending: &str| folder.join(format!("{}.{ending}", load.name));
    let files = Files {
        mesh: at("obj"),
        sheet: at("png"),
    };
    if !(files.mesh.exists() && files.sheet.exists()) {
        let made = body(load.quads);
        fs::write(&files.mesh, obj(&made)).expect("written");
        let mesh = Mesh::from_polygons(made.0, &made.1).expect("a mesh");
        save(&sheet(&mesh, load.sheet_px), &files.sheet);
    }
    files
}
