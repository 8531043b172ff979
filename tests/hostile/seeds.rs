//! The real files that mutations start from.

use drawntrue::sheet::decode::decode;
use drawntrue::sheet::picture::Picture;

use super::draw::{HEADER, STROKE};

macro_rules! files {
    ($($name:literal),* $(,)?) => {
        &[$(($name, include_bytes!(concat!("../data/", $name)) as &[u8])),*]
    };
}

/// Name and content of a file.
pub(crate) type Seed = (&'static str, &'static [u8]);

/// Mesh files.
pub(crate) const MESHES: &[Seed] = files!["meshes/statements.obj", "meshes/head.obj", "animal.obj"];

/// Mesh files of other formats.
pub(crate) const FORMATS: &[Seed] = files![
    "formats/both.glb",
    "formats/both.ply",
    "formats/both.stl",
    "formats/both-big.ply",
    "formats/both-text.ply",
    "formats/both-text.stl",
    "formats/embedded.gltf",
];

/// Picture files of all kinds that are read.
pub(crate) const PICTURES: &[Seed] = files![
    "pictures/side-1-bit.png",
    "pictures/side-16-bit.png",
    "pictures/side-16-bit.tif",
    "pictures/side-alpha.webp",
    "pictures/side-baseline.jpg",
    "pictures/side-cmyk.jpg",
    "pictures/side-fax.tif",
    "pictures/side-grey-alpha.png",
    "pictures/side-grey.jpg",
    "pictures/side-grey.png",
    "pictures/side-jpeg.tif",
    "pictures/side-lossless.webp",
    "pictures/side-lossy.webp",
    "pictures/side-lzw.tif",
    "pictures/side-packbits.tif",
    "pictures/side-palette.png",
    "pictures/side-palette.tif",
    "pictures/side-progressive.jpg",
    "pictures/side-rgb.png",
    "pictures/side-turned.jpg",
    "horse.png",
];

/// Setup files.
pub(crate) const SETUPS: &[Seed] = files!["setups/found.toml", "setups/full.toml"];

/// The demo's side view, small.
pub(crate) fn side_view() -> Picture {
    decode(include_bytes!("../data/pictures/side-grey.png"), 1 << 20).expect("a sound picture")
}

/// Drawings as `draw::drawn` takes them: a figure of discs, one of strokes with a gap, a disc with a hole, all in grain.
pub(crate) fn drawings() -> Vec<Vec<u8>> {
    let made = |header: [u8; 4], strokes: &[[u8; STROKE]]| {
        let mut out = vec![0; HEADER];
        out[..4].copy_from_slice(&header);
        out.extend(strokes.iter().flatten());
        out
    };
    let body: &[[u8; STROKE]] = &[
        [3, 80, 50, 20, 25, 0, 40],
        [3, 80, 120, 35, 60, 0, 40],
        [1, 70, 150, 60, 210, 120, 40],
        [1, 90, 150, 100, 210, 120, 40],
        [1, 60, 90, 30, 140, 80, 40],
        [1, 100, 90, 130, 140, 80, 40],
    ];
    let line: &[[u8; STROKE]] = &[
        [0, 60, 30, 100, 30, 64, 30],
        [0, 100, 30, 110, 120, 64, 30],
        [0, 110, 124, 95, 220, 64, 30],
        [0, 95, 220, 60, 220, 64, 30],
        [0, 60, 220, 60, 30, 64, 30],
        [0, 0, 100, 255, 100, 40, 160],
        [2, 170, 125, 40, 95, 60, 20],
    ];
    let grain: &[[u8; STROKE]] = &[
        [5, 0, 0, 0, 0, 20, 200],
        [2, 100, 120, 60, 90, 70, 30],
        [3, 100, 100, 30, 30, 0, 90],
    ];
    vec![
        made([150, 210, 0, 245], body),
        made([220, 220, 2, 250], line),
        made([200, 220, 1, 240], grain),
        made(
            [230, 230, 3, 20],
            &body
                .iter()
                .map(|s| {
                    let mut s = *s;
                    s[6] = 230;
                    s
                })
                .collect::<Vec<_>>(),
        ),
    ]
}
