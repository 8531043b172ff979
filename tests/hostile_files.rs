//! Hostile and broken files: every reader ends with a sound value or an error of one line, whatever it is given.

mod hostile;

use std::time::{Duration, Instant};

use drawntrue::mesh::obj::{Limits, read};
use drawntrue::setup::SetupFile;
use drawntrue::sheet::decode::decode;
use drawntrue::sheet::picture::Picture;
use hostile::{draw, holds, mutate, png, seeds};

/// Mutations a reader in this short run; the long one is `examples/fuzz_readers.rs`.
const MESHES: u64 = 600;
const FORMATS: u64 = 3_000;
const PICTURES: u64 = 600;
const FIGURES: u64 = 60;
const SETUPS: u64 = 600;

fn content(all: &[seeds::Seed]) -> Vec<&'static [u8]> {
    all.iter().map(|(_, bytes)| *bytes).collect()
}

#[test]
fn mutated_meshes() {
    let files: Vec<_> = content(seeds::MESHES).into_iter().take(2).collect();
    for seed in 0..MESHES {
        holds::mesh(&mutate::mutate(&files, &mut mutate::Rng::new(seed)));
    }
}

#[test]
fn mutated_meshes_of_other_formats() {
    let files = content(seeds::FORMATS);
    for seed in 0..FORMATS {
        holds::format(&mutate::mutate(&files, &mut mutate::Rng::new(seed)));
    }
}

#[test]
fn mutated_pictures() {
    let files = content(seeds::PICTURES);
    for seed in 0..PICTURES {
        let bytes = mutate::mutate(&files, &mut mutate::Rng::new(seed));
        if let Ok(picture) = decode(&bytes, holds::MAX_PIXELS) {
            assert!((picture.width() * picture.height()) as u64 <= holds::MAX_PIXELS);
        }
    }
}

#[test]
fn mutated_drawings() {
    let files = seeds::drawings();
    let files: Vec<&[u8]> = files.iter().map(Vec::as_slice).collect();
    for seed in 0..FIGURES {
        let bytes = mutate::mutate(&files, &mut mutate::Rng::new(seed));
        let overrules = holds::overrules(bytes.get(4..).unwrap_or_default());
        holds::figures(&draw::drawn(&bytes), &overrules);
    }
}

/// Found by mutation: a stroke that hangs on the figure encloses some of an area that the figure encloses too. Once it is
/// taken off, that part lies outside the figure's box.
#[test]
fn an_enclosed_area_reaches_into_a_stroke_that_is_taken_off() {
    const INPUT: [u8; 98] = [
        200, 220, 1, 240, 0, 0, 0, 0, 0, 0, 0, 0, 0, 210, 120, 230, 1, 90, 150, 100, 210, 120, 230, 1, 60, 0,
        0, 0, 0, 210, 120, 40, 1, 60, 90, 30, 140, 80, 40, 1, 100, 20, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0,
        0, 3, 80, 43, 20, 25, 0, 230, 3, 80, 120, 35, 60, 0, 230, 1, 70, 150, 60, 210, 120, 230, 1, 90, 150,
        100, 210, 120, 230, 1, 60, 90, 30, 140, 80, 230, 1, 100, 90, 130, 140, 80, 230,
    ];
    holds::figures(&draw::drawn(&INPUT), &holds::overrules(&INPUT[4..]));
}

#[test]
fn mutated_setups() {
    let files = content(seeds::SETUPS);
    // Too small for a figure: what is tried here is the setup.
    let picture = Picture::new(40, 40, drawntrue::sheet::picture::Channels::Grey, vec![200; 1600]);
    for seed in 0..SETUPS {
        holds::setup(&mutate::mutate(&files, &mut mutate::Rng::new(seed)), &picture);
    }
}

#[test]
fn the_seeds_are_sound() {
    for (name, bytes) in seeds::MESHES {
        let mesh = read(bytes, Limits::default()).unwrap_or_else(|e| panic!("{name}: {e}"));
        assert!(mesh.face_count() > 5, "{name}");
    }
    for (name, bytes) in seeds::SETUPS {
        let text = std::str::from_utf8(bytes).expect("a text");
        SetupFile::parse(text).unwrap_or_else(|e| panic!("{name}: {e}"));
    }
    let grey = |p: &Picture, x: usize, y: usize| {
        let [r, g, b, a] = p.rgba(x, y);
        // On white: half-transparent pixels have the colour that they were made from.
        let on_white = |v: u8| 255.0 - f64::from(a) / 255.0 * (255.0 - f64::from(v));
        (on_white(r) * 0.299 + on_white(g) * 0.587 + on_white(b) * 0.114).round()
    };
    let truth = seeds::side_view();
    for (name, bytes) in seeds::PICTURES.iter().filter(|(n, _)| n.starts_with("pictures/")) {
        let picture = match decode(bytes, 1 << 20) {
            Ok(picture) => picture,
            Err(e) => {
                // TIFF with a palette: a kind that the decoder does not take.
                assert!(name.ends_with("palette.tif"), "{name}: {e}");
                continue;
            }
        };
        if name.contains("turned") {
            assert_eq!(
                (picture.width(), picture.height()),
                (62, 215),
                "{name}: turned by its tag"
            );
        }
        assert_eq!((picture.width(), picture.height()), (62, 215), "{name}");
        // Pillow 13.0.0 wrote all of them from one picture; the median difference tells that they show it.
        let mut off: Vec<f64> = (0..215)
            .flat_map(|y| (0..62).map(move |x| (x, y)))
            .map(|(x, y)| (grey(&picture, x, y) - grey(&truth, x, y)).abs())
            .collect();
        off.sort_by(f64::total_cmp);
        let (median, limit) = (
            off[off.len() / 2],
            if name.contains("1-bit") || name.contains("fax") || name.contains("packbits") {
                40.0
            } else {
                6.0
            },
        );
        assert!(median <= limit, "{name}: pixels differ by {median}");
    }
}

/// Status of a broken picture: refused in one line that names the reason.
#[track_caller]
fn refused(name: &str, bytes: &[u8]) {
    let since = Instant::now();
    let text = match decode(bytes, 1 << 20) {
        Ok(_) => panic!("{name} was read"),
        Err(e) => e.to_string(),
    };
    assert!(
        !text.contains(char::is_control) && text.contains("; "),
        "{name}: {text:?}"
    );
    assert!(text.len() < 250, "{name}: {text}");
    assert!(
        since.elapsed() < Duration::from_secs(2),
        "{name} took {:?}",
        since.elapsed()
    );
}

/// What is broken in a PNG file, and the file.
fn broken_png() -> Vec<(&'static str, Vec<u8>)> {
    const SIZE: u32 = 40;
    let sound = png::sound(SIZE, SIZE);
    let whole = png::file(&sound);
    let with = |change: &dyn Fn(&mut Vec<png::Chunk>)| {
        let mut chunks = sound.clone();
        change(&mut chunks);
        png::file(&chunks)
    };
    let bytes = |change: &dyn Fn(&mut Vec<u8>)| {
        let mut file = whole.clone();
        change(&mut file);
        file
    };
    let header = |field: usize, value: u8| with(&|c| c[0].1[field] = value);
    // The signature has the bytes that transfers change (PNG 5.2); bytes 8 to 33 are the header chunk, then the data.
    const HEADER_CRC: usize = 29;
    let data_crc = whole.len() - 12 - 4;
    vec![
        // The names are those of the PngSuite's corrupted files (xs1n0g01 and so on), see below.
        (
            "xs1n0g01 signature byte 1 MSBit reset to zero",
            bytes(&|f| f[0] &= 0x7F),
        ),
        ("xs2n0g01 signature byte 2 is a 'Q'", bytes(&|f| f[1] = b'Q')),
        ("xs4n0g01 signature byte 4 lowercase", bytes(&|f| f[3] = b'g')),
        (
            "xs7n0g01 7th byte a space instead of control-Z",
            bytes(&|f| f[6] = b' '),
        ),
        (
            "xcrn0g04 added CR bytes",
            bytes(&|f| {
                let made: Vec<u8> = f
                    .iter()
                    .flat_map(|b| if *b == b'\n' { vec![b'\r', b'\n'] } else { vec![*b] })
                    .collect();
                *f = made;
            }),
        ),
        (
            "xlfn0g04 added LF bytes",
            bytes(&|f| {
                let made: Vec<u8> = f
                    .iter()
                    .flat_map(|b| if *b == b'\r' { vec![b'\r', b'\n'] } else { vec![*b] })
                    .collect();
                *f = made;
            }),
        ),
        ("xhdn0g08 incorrect IHDR checksum", bytes(&|f| f[HEADER_CRC] ^= 1)),
        ("xcsn0g01 incorrect IDAT checksum", bytes(&|f| f[data_crc] ^= 1)),
        ("xc1n0g08 color type 1", header(9, 1)),
        ("xc9n2c08 color type 9", header(9, 9)),
        ("xd0n2c08 bit-depth 0", header(8, 0)),
        ("xd3n2c08 bit-depth 3", header(8, 3)),
        ("xd9n2c08 bit-depth 99", header(8, 99)),
        ("xdtn0g01 missing IDAT chunk", with(&|c| drop(c.remove(1)))),
        ("a width of zero", with(&|c| c[0].1[..4].fill(0))),
        ("a width beyond 2^31", with(&|c| c[0].1[..4].fill(0xFF))),
        ("a compression method that is not there", header(10, 1)),
        ("a filter method that is not there", header(11, 1)),
        ("an interlace method that is not there", header(12, 9)),
        ("no header", with(&|c| drop(c.remove(0)))),
        ("a header of 12 bytes", with(&|c| c[0].1.truncate(12))),
        ("a palette that is missing", header(9, 3)),
        // Found by mutation: the decoder panics here, which the reader catches.
        (
            "a palette of one byte",
            png::file(&[
                png::header(SIZE, SIZE, 8, 3, 0),
                (*b"PLTE", vec![0]),
                (*b"IDAT", png::stored(&[0; 40 * 41])),
                png::end(),
            ]),
        ),
        (
            "true colour of 4 bits",
            with(&|c| c[0] = png::header(SIZE, SIZE, 4, 2, 0)),
        ),
        (
            "an unknown critical chunk",
            with(&|c| c.insert(1, (*b"ABCD", vec![1, 2, 3]))),
        ),
        ("data that is no zlib stream", with(&|c| c[1].1 = vec![0xAB; 200])),
        // A wrong Adler sum of the zlib stream is no case: the decoder leaves it to the chunk's CRC.
        (
            "half the rows",
            with(&|c| c[1].1 = png::stored(&vec![0; 20 * 41])),
        ),
        ("no rows", with(&|c| c[1].1 = png::stored(&[]))),
        (
            "a filter of a row that is not there",
            with(&|c| c[1].1 = png::stored(&vec![7; 40 * 41])),
        ),
        (
            "a chunk longer than the file",
            bytes(&|f| f[33..37].copy_from_slice(&[0x7F, 0xFF, 0xFF, 0xFF])),
        ),
        ("signature only", png::SIGNATURE.to_vec()),
        ("cut within the header", whole[..20].to_vec()),
        ("cut within the data", whole[..whole.len() / 2].to_vec()),
    ]
}

/// Willem van Schaik, "PngSuite, the official set of PNG test images" (1996–2011), part "Corrupted files". The files
/// are made here after its descriptions, and so are others in their manner after the PNG Specification, third edition
/// (W3C 2025).
#[test]
fn broken_png_files_are_refused_in_one_line() {
    decode(&png::file(&png::sound(40, 40)), 1 << 20).expect("a sound file is read");
    for (name, bytes) in broken_png() {
        refused(name, &bytes);
    }
}

/// The middle of `bytes` after the first place where `pattern` stands.
fn behind(bytes: &[u8], pattern: &[u8]) -> usize {
    let at = bytes.windows(pattern.len()).position(|w| w == pattern);
    at.expect("the pattern is there") + pattern.len()
}

fn seed(name: &str) -> Vec<u8> {
    let found = seeds::PICTURES.iter().find(|(n, _)| n.ends_with(name));
    found.expect("a seed").1.to_vec()
}

/// In the manner of the PngSuite for the other formats. Sources: ITU-T T.81 (1992), annex B, for the markers of JPEG;
/// Adobe, TIFF 6.0 (1992), section 2; Google, WebP Container Specification (RFC 9649, 2024).
#[test]
fn broken_files_of_other_formats_are_refused_in_one_line() {
    let changed = |name: &str, change: &dyn Fn(&mut Vec<u8>)| {
        let mut bytes = seed(name);
        change(&mut bytes);
        bytes
    };
    let jpeg = |change: &dyn Fn(&mut Vec<u8>)| changed("side-baseline.jpg", change);
    // Behind SOF0: length (2 bytes), precision, height (2), width (2), components.
    let frame = behind(&seed("side-baseline.jpg"), &[0xFF, 0xC0]);
    refused("JPEG: precision 9", &jpeg(&|b| b[frame + 2] = 9));
    refused("JPEG: height 0", &jpeg(&|b| b[frame + 3..frame + 5].fill(0)));
    refused("JPEG: width 0", &jpeg(&|b| b[frame + 5..frame + 7].fill(0)));
    refused(
        "JPEG: 65,500 pixels in square",
        &jpeg(&|b| b[frame + 3..frame + 7].copy_from_slice(&[0xFF, 0xDC, 0xFF, 0xDC])),
    );
    refused("JPEG: nine components", &jpeg(&|b| b[frame + 7] = 9));
    refused("JPEG: sampling 0", &jpeg(&|b| b[frame + 9] = 0));
    refused(
        "JPEG: no quantisation table",
        &jpeg(&|b| {
            let at = behind(b, &[0xFF, 0xDB]);
            b[at - 1] = 0xE9;
        }),
    );
    refused("JPEG: no frame", &jpeg(&|b| b[frame - 1] = 0xEA));
    refused("JPEG: start only", &[0xFF, 0xD8, 0xFF]);

    let tiff = |change: &dyn Fn(&mut Vec<u8>)| changed("side-lzw.tif", change);
    refused("TIFF: version 41", &tiff(&|b| b[2] = 41));
    refused(
        "TIFF: directory beyond the end",
        &tiff(&|b| b[4..8].copy_from_slice(&[0xFF, 0xFF, 0xFF, 0x7F])),
    );
    refused("TIFF: directory at 0", &tiff(&|b| b[4..8].fill(0)));
    refused(
        "TIFF: directory of 65,535 entries",
        &tiff(&|b| {
            let at = u32::from_le_bytes([b[4], b[5], b[6], b[7]]) as usize;
            b[at..at + 2].fill(0xFF);
        }),
    );
    // Entries of the directory: tag (2 bytes), type (2), count (4), value (4).
    let entry = |tag: u16, value: [u8; 4]| {
        tiff(&|b| {
            let at = u32::from_le_bytes([b[4], b[5], b[6], b[7]]) as usize;
            let count = usize::from(u16::from_le_bytes([b[at], b[at + 1]]));
            let found = (0..count)
                .map(|i| at + 2 + 12 * i)
                .find(|e| b[*e..e + 2] == tag.to_le_bytes());
            let e = found.expect("the tag is there");
            b[e + 8..e + 12].copy_from_slice(&value);
        })
    };
    refused("TIFF: width 0", &entry(256, [0; 4]));
    refused("TIFF: height of 2^31", &entry(257, [0, 0, 0, 0x80]));
    refused("TIFF: 77 bits", &entry(258, [77, 0, 0, 0]));
    refused("TIFF: compression 9,999", &entry(259, [0x0F, 0x27, 0, 0]));
    refused(
        "TIFF: strips beyond the end",
        &entry(273, [0xFF, 0xFF, 0xFF, 0x7F]),
    );

    for name in ["side-lossy.webp", "side-lossless.webp", "side-alpha.webp"] {
        let webp = |change: &dyn Fn(&mut Vec<u8>)| changed(name, change);
        refused(&format!("{name}: form WEBX"), &webp(&|b| b[11] = b'X'));
        refused(
            &format!("{name}: an unknown first chunk"),
            &webp(&|b| b[12..16].copy_from_slice(b"ABCD")),
        );
        refused(
            &format!("{name}: a first chunk of no bytes"),
            &webp(&|b| b[16..20].fill(0)),
        );
        refused(
            &format!("{name}: a first chunk beyond the end"),
            &webp(&|b| b[16..20].fill(0xEF)),
        );
    }
    for (name, text) in [
        ("GIF", &b"GIF89a\x28\0\x28\0\0\0\0;"[..]),
        ("BMP", b"BM\0\0\0\0\0\0"),
        ("SVG", b"<svg xmlns=\"a\"/>"),
        ("PDF", b"%PDF-1.7"),
        ("PSD", b"8BPS\0\x01"),
        ("zeros", &[0; 500]),
    ] {
        refused(name, text);
    }
}

/// A picture that was cut off while it was copied is not taken as whole: the lower part of a figure would be missing.
#[test]
fn cut_pictures_are_refused() {
    for (name, bytes) in seeds::PICTURES {
        for share in [0.3, 0.6, 0.9] {
            let cut = (bytes.len() as f64 * share) as usize;
            refused(&format!("{name}, {share} of it"), &bytes[..cut]);
        }
    }
}

#[test]
fn a_picture_beyond_the_limit_is_refused_before_its_pixels_are_made() {
    // Each claims 60,000 × 60,000 pixels or so; what is behind the header does not matter.
    let png = png::file(&[
        png::header(60_000, 60_000, 8, 6, 0),
        (*b"IDAT", png::stored(&[0; 100])),
        png::end(),
    ]);
    let mut jpeg = seed("side-baseline.jpg");
    let frame = behind(&jpeg, &[0xFF, 0xC0]);
    jpeg[frame + 3..frame + 7].copy_from_slice(&[0xEA, 0x60, 0xEA, 0x60]);
    let mut webp = seed("side-lossless.webp");
    // Behind the signature byte 0x2F: 14 bits of width less one, 14 bits of height less one (RFC 9649, 3.4).
    let size = behind(&webp, b"VP8L") + 5;
    webp[size..size + 4].copy_from_slice(&0x0FFF_BFFEu32.to_le_bytes());
    for (name, bytes) in [("png", png), ("jpeg", jpeg), ("webp", webp)] {
        let since = Instant::now();
        let text = decode(&bytes, 250_000_000).expect_err("refused").to_string();
        assert!(
            text.contains("more than the limit of 250000000") && text.contains("--max-pixels"),
            "{name}: {text}"
        );
        assert!(since.elapsed() < Duration::from_secs(1), "{name}");
    }
}

/// Found by mutating `statements.obj`: a face so flat and slanting that no two rows of its outline meet was halved through
/// all its height, for seconds and with millions of rows.
#[test]
fn a_slanting_sliver_ends() {
    let since = Instant::now();
    holds::mesh(include_bytes!("data/hostile/sliver.obj"));
    assert!(since.elapsed() < Duration::from_secs(5), "{:?}", since.elapsed());
}

/// Found by mutation: a mesh of which repairs drop every face had no vertex left that could tell the mirror plane.
#[test]
fn a_mesh_that_loses_every_face_to_repairs_is_no_panic() {
    holds::mesh(include_bytes!("data/hostile/no-face-left.obj"));
}
