//! What can be wrong with an OBJ file, in words, and what a file that is no OBJ looks like.

use crate::Error;

/// What is wrong, and the byte at which the statement begins.
pub(super) struct Fault {
    pub(super) place: usize,
    pub(super) kind: FaultKind,
}

/// What is wrong with a statement.
pub(super) enum FaultKind {
    /// The text stops within the statement.
    Cut,
    /// A vertex has only so many coordinates.
    FewCoordinates(usize),
    /// A coordinate is no number.
    Number(Vec<u8>),
    /// A coordinate is NaN or infinite.
    NotFinite,
    /// A face has only so many corners.
    FewCorners(usize),
    /// A corner is not written as one.
    Corner(Vec<u8>),
    /// A corner names vertex 0.
    IndexZero,
    /// A corner names a vertex that does not exist.
    NoSuchVertex(Vec<u8>),
    /// More faces than wanted.
    ManyFaces,
    /// Not a fault: the face whose place was asked for.
    Watched,
}

/// Characters of the file that a message shows at most; keeps it on one line of a terminal.
const SHOWN: usize = 24;

/// Advice for a file that breaks off.
pub(super) const CUT_ADVICE: &str = "export the mesh again, or copy the whole file";

impl FaultKind {
    /// The fault as an error, without its line.
    pub(super) fn into_error(self) -> Error {
        match self {
            Self::Cut => Error::new("the file breaks off within this line").advise(CUT_ADVICE),
            Self::FewCoordinates(count) => {
                Error::new(format!("a vertex has {count} of its three coordinates")).advise(CUT_ADVICE)
            }
            Self::Number(token) if token.contains(&b',') => {
                Error::new(format!("{} is not a number", shown(&token)))
                    .advise("write decimals with a point and no comma")
            }
            Self::Number(token) if token.windows(2).any(|w| w == b".#") => Self::not_finite(&shown(&token)),
            Self::Number(token) => {
                Error::new(format!("{} is not a number", shown(&token))).advise("export the mesh again")
            }
            Self::NotFinite => Self::not_finite("a coordinate"),
            Self::FewCorners(count) => {
                Error::new(format!("a face has {count} corners, at least three are needed"))
                    .advise("remove the face, or export the mesh again")
            }
            Self::Corner(token) => Error::new(format!("{} is not a corner of a face", shown(&token)))
                .advise("corners are written 1, 1/2, 1//3 or 1/2/3"),
            Self::IndexZero => Error::new("a face names vertex 0, the first vertex is 1")
                .advise("export the mesh again, counting vertices from 1"),
            Self::NoSuchVertex(token) => Error::new(format!(
                "a face names vertex {}, which does not exist",
                shown(&token)
            ))
            .advise("the file is incomplete or its vertices were removed: export it again"),
            Self::ManyFaces => Error::new("the mesh has more faces than the limit allows"),
            Self::Watched => Error::new("this face is at fault"),
        }
    }

    fn not_finite(what: &str) -> Error {
        Error::new(format!("{what} is not a finite number"))
            .advise("repair the vertex and export the mesh again")
    }
}

/// Bytes of the file as they can stand in a message.
fn shown(token: &[u8]) -> String {
    let text = String::from_utf8_lossy(token);
    let mut short: String = text
        .chars()
        .take(SHOWN)
        .map(|c| if c.is_control() { '?' } else { c })
        .collect();
    if text.chars().nth(SHOWN).is_some() {
        short.push('…');
    }
    format!("\"{short}\"")
}

/// Number of the line, from 1, on which a byte stands. LF, CR LF and CR end lines.
pub(super) fn line_of(bytes: &[u8], place: usize) -> usize {
    let before = &bytes[..place.min(bytes.len())];
    let feeds = before.iter().filter(|&&b| b == b'\n').count();
    let returns = before
        .windows(2)
        .filter(|w| w[0] == b'\r' && w[1] != b'\n')
        .count();
    // Of a CR that stands last before the place, the LF cannot follow: a statement never begins with one.
    1 + feeds + returns + usize::from(before.last() == Some(&b'\r'))
}

/// Beginnings that tell what a file is (from memory: the formats' own signatures).
const BINARY_SIGNATURES: [(&[u8], &str); 15] = [
    (b"\x89PNG", "a PNG picture"),
    (b"\xff\xd8\xff", "a JPEG picture"),
    (b"GIF8", "a GIF picture"),
    (b"II*\0", "a TIFF picture"),
    (b"MM\0*", "a TIFF picture"),
    (b"RIFF", "a RIFF file (a WebP picture, for instance)"),
    (b"BM", "a BMP picture"),
    (b"%PDF", "a PDF document"),
    (b"PK\x03\x04", "a ZIP archive"),
    (b"\x1f\x8b", "a gzip archive"),
    (b"7z\xbc\xaf", "a 7z archive"),
    (b"glTF", "a binary glTF mesh"),
    (b"ply", "a PLY mesh"),
    (b"\xff\xfe", "text in UTF-16"),
    (b"\xfe\xff", "text in UTF-16"),
];

const TEXT_SIGNATURES: [(&[u8], &str); 9] = [
    (b"ply", "a PLY mesh"),
    (b"solid", "an STL mesh"),
    (b"OFF", "an OFF mesh"),
    (b"newmtl", "an OBJ material file"),
    (b"<svg", "an SVG drawing"),
    (b"<?xml", "an XML file"),
    (b"<", "a web page or XML file"),
    (b"{", "a JSON file (a glTF mesh, for instance)"),
    (b"#!", "a script"),
];

/// Bytes at the beginning in which a text has no zero byte.
const PROBE: usize = 4096;

/// Says what binary data looks like; `None` for text.
pub(super) fn looks_binary(bytes: &[u8]) -> Option<&'static str> {
    let probe = &bytes[..bytes.len().min(PROBE)];
    let utf16 = probe.starts_with(b"\xff\xfe") || probe.starts_with(b"\xfe\xff");
    if !probe.contains(&0) && !utf16 {
        return None;
    }
    let known = BINARY_SIGNATURES
        .iter()
        .find(|(signature, _)| probe.starts_with(signature));
    Some(known.map_or("binary data", |(_, name)| name))
}

/// Says what a file looks like that could not be read as an OBJ; `None` if nothing speaks against one.
pub(super) fn looks_foreign(bytes: &[u8]) -> Option<&'static str> {
    let text = bytes.trim_ascii_start();
    let signatures = BINARY_SIGNATURES.iter().filter(|(s, _)| *s != b"BM");
    let binary = signatures.filter(|(s, _)| bytes.starts_with(s));
    let texts = TEXT_SIGNATURES.iter().filter(|(s, _)| text.starts_with(s));
    binary.chain(texts).map(|(_, name)| *name).next()
}

/// The error for a file that is no OBJ.
pub(super) fn foreign(looks_like: &str) -> Error {
    Error::new(format!("this is not an OBJ mesh, it looks like {looks_like}")).advise(
        if looks_like.contains("UTF-16") {
            "save the file as UTF-8"
        } else {
            "export the mesh as OBJ"
        },
    )
}
