//! What must hold for any input of a reader: it ends, without a panic, with a sound value or an error of one line.

use std::path::{Path, PathBuf};

use drawntrue::audit::Options;
use drawntrue::mesh::formats;
use drawntrue::mesh::obj::{Limits, read};
use drawntrue::mesh::prepare::{Preparation, prepare};
use drawntrue::mesh::select::Choice;
use drawntrue::mesh::{Axes, Mesh, UpAxis};
use drawntrue::repair::{ALL, Wanted, repair};
use drawntrue::setup::{Found, FoundView, ImageSetup, SetupFile, write};
use drawntrue::sheet::decode::decode;
use drawntrue::sheet::edge::LineEdge;
use drawntrue::sheet::overrule::Overrules;
use drawntrue::sheet::picture::Picture;
use drawntrue::sheet::read::{Reading, read_overruled};
use drawntrue::silhouette::{Azimuth, Silhouette};
use drawntrue::{Error, Result};

/// Largest mesh, in faces, that is read here.
pub(crate) const MAX_FACES: usize = 20_000;
/// Largest mesh that is also mirrored, projected, examined and repaired.
const MAX_FACES_REPAIRED: usize = 300;
/// Largest picture that is decoded here, pixels.
pub(crate) const MAX_PIXELS: u64 = 1 << 20;
/// Largest picture whose figures are read here.
const MAX_PIXELS_READ: usize = 1 << 16;
/// Images of a setup that are tried on a picture.
const MAX_IMAGES_TRIED: usize = 2;

/// An error must be one line that says something.
fn one_line(error: &Error) {
    let text = error.to_string();
    assert!(!text.trim().is_empty(), "an empty message");
    assert!(!text.contains(['\n', '\r']), "more than one line: {text:?}");
}

fn checked<T>(result: Result<T>) -> Option<T> {
    result.inspect_err(one_line).ok()
}

/// A mesh file: read, prepared whole and as a half, projected; a small one also repaired.
pub(crate) fn mesh(bytes: &[u8]) {
    let limits = Limits { max_faces: MAX_FACES };
    let Some(mesh) = checked(read(bytes, limits)) else {
        return;
    };
    sound(&mesh);
    assert!(mesh.face_count() <= MAX_FACES);
    if mesh.face_count() > MAX_FACES_REPAIRED {
        return;
    }
    for mirror in [false, true] {
        let how = Preparation {
            axes: Axes::usual(if mirror { UpAxis::Z } else { UpAxis::Y }),
            choice: Choice {
                groups: Vec::new(),
                skip_groups: Vec::new(),
            },
            mirror,
        };
        if let Some(noted) = checked(prepare(mesh.clone(), &how)) {
            sound(&noted.mesh);
            project(&noted.mesh);
        }
    }
    let wanted = Wanted {
        kinds: ALL.to_vec(),
        from_left: None,
        up: UpAxis::Y,
        limits,
        audit: Options::default(),
    };
    if let Some(done) = checked(repair(bytes, &wanted)) {
        let again = read(&done.text, limits).expect("what repair writes can be read");
        sound(&again);
    }
}

/// A mesh file of any format, told by its first bytes: read, welded, its quads put together, projected.
pub(crate) fn format(bytes: &[u8]) {
    let wanted = formats::Wanted {
        limits: Limits { max_faces: MAX_FACES },
        quads: true,
        ..formats::Wanted::default()
    };
    // Files that it refers to lie nowhere.
    let nowhere = Path::new("/dev/null/mesh");
    if let Some(file) = checked(formats::read(bytes, nowhere, &wanted)) {
        sound(&file.mesh);
        assert!(file.mesh.face_count() <= MAX_FACES);
        if file.mesh.face_count() <= MAX_FACES_REPAIRED {
            project(&file.mesh);
        }
    }
}

fn sound(mesh: &Mesh) {
    let count = mesh.positions().len();
    assert!(mesh.faces().all(|f| f.len() >= 3), "a face of two corners");
    assert!(
        mesh.corners().iter().all(|c| (*c as usize) < count),
        "a corner without a vertex"
    );
    assert!(
        mesh.positions().iter().flatten().all(|v| v.is_finite()),
        "a coordinate that is no number"
    );
    assert_eq!(mesh.triangles().count(), mesh.triangle_count());
}

fn project(mesh: &Mesh) {
    /// Rows of the projection.
    const ROWS: usize = 40;
    for azimuth in [Azimuth::FRONT, Azimuth::FACING_RIGHT] {
        let outline = Silhouette::new(mesh, azimuth).outline(ROWS);
        assert!(
            outline
                .rings
                .iter()
                .flatten()
                .all(|p| p.x.is_finite() && p.y.is_finite()),
            "an outline that is no number"
        );
    }
}

/// A picture file: decoded and, if small, read.
pub(crate) fn picture(bytes: &[u8]) {
    if let Some(picture) = checked(decode(bytes, MAX_PIXELS)) {
        assert!((picture.width() * picture.height()) as u64 <= MAX_PIXELS);
        if picture.width() * picture.height() <= MAX_PIXELS_READ {
            figures(&picture, &Overrules::default());
        }
    }
}

/// A decoded picture and what a person overrules in it.
pub(crate) fn figures(picture: &Picture, overrules: &Overrules) -> Option<Reading> {
    let reading = checked(read_overruled(picture, overrules))?;
    assert!(!reading.figures.is_empty(), "a reading without a figure");
    assert!(reading.guide_lines_px.iter().all(|y| y.is_finite()));
    for figure in &reading.figures {
        let numbers = [
            figure.crown_px,
            figure.ground_px,
            figure.line_px,
            figure.face,
            figure.confidence,
        ];
        assert!(
            numbers.iter().chain(&figure.box_px).all(|v| v.is_finite()),
            "{numbers:?} {:?}",
            figure.box_px
        );
        assert!((0.0..=1.0).contains(&figure.confidence));
        assert!(!figure.upright.rings.is_empty(), "a figure without an outline");
        assert!(
            figure
                .upright
                .rings
                .iter()
                .flatten()
                .all(|p| p.x.is_finite() && p.y.is_finite()),
            "an outline that is no number"
        );
        assert!(figure.warnings.iter().all(|w| !w.contains('\n')));
    }
    Some(reading)
}

/// A setup file: parsed, its settings tried on a picture, and written again.
pub(crate) fn setup(bytes: &[u8], picture: &Picture) {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return;
    };
    let Some(file) = checked(SetupFile::parse(text)) else {
        return;
    };
    assert_eq!(file.text, text, "the text is kept as it is");
    for image in file.setup.images.iter().take(MAX_IMAGES_TRIED) {
        if let Some(mut reading) = figures(picture, &image.overrules()) {
            let named = image.apply(&mut reading);
            assert_eq!(named.len(), reading.figures.len());
        }
        written(image);
    }
}

/// What is written for an image can be read, whatever its path.
fn written(image: &ImageSetup) {
    let path = image.file.to_string_lossy().into_owned();
    let found = Found {
        file: path.clone(),
        threshold: image.threshold.unwrap_or(16),
        widest_gap: image.widest_gap.unwrap_or(3.0),
        views: image
            .views
            .iter()
            .map(|v| FoundView {
                name: v.name.clone(),
                box_px: v.box_px,
                confidence: 0.5,
                warnings: vec![path.clone()],
            })
            .collect(),
        ..Found::default()
    };
    let again = SetupFile::parse(&write(&found)).expect("what is written can be read");
    assert_eq!(again.setup.images[0].file, PathBuf::from(path));
}

/// Overrules from a few bytes.
pub(crate) fn overrules(bytes: &[u8]) -> Overrules {
    let at = |i: usize| bytes.get(i).copied().unwrap_or(0);
    let place = |i: usize| [f64::from(at(i)), f64::from(at(i + 1))];
    let a_box = |i: usize| {
        let [x, y] = place(i);
        [
            x,
            y,
            x + 1.0 + f64::from(at(i + 2)),
            y + 1.0 + f64::from(at(i + 3)),
        ]
    };
    let flags = at(0);
    Overrules {
        from_above: flags & 128 != 0,
        edge: [LineEdge::Centre, LineEdge::Outer, LineEdge::Inner][usize::from(flags % 3)],
        threshold: (flags & 4 != 0).then(|| at(1).clamp(1, 254)),
        widest_gap_pct: (flags & 8 != 0).then(|| f64::from(at(2)) / 25.5),
        erase: if flags & 16 != 0 {
            vec![a_box(3)]
        } else {
            Vec::new()
        },
        ground: if flags & 32 != 0 {
            vec![place(7)]
        } else {
            Vec::new()
        },
        surface: if flags & 64 != 0 {
            vec![place(9)]
        } else {
            Vec::new()
        },
        boxes: if flags & 128 != 0 {
            vec![a_box(11)]
        } else {
            Vec::new()
        },
    }
}
