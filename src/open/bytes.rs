//! Reads input files of at most so many bytes, so that a hostile or mistaken one does not take the machine's memory.

use std::io::Read as _;
use std::path::Path;

use crate::error::{Error, Result};

/// Bytes of a picture file for each of its pixels, at most: 16-bit RGBA without compression.
const PICTURE_BYTES: u64 = 8;
/// Bytes of a mesh file for each of its faces, at most: a triangle with three vertices, texture coordinates and normals
/// of its own, nine lines of some 40 bytes and one of 70.
const MESH_BYTES: u64 = 512;
/// Bytes that a file may have in any case: profiles, previews, comments.
const OTHER_BYTES: u64 = 64 << 20;
/// Most bytes that are taken from a pipe or a device, which do not say how many will come.
const STREAM_BYTES: u64 = 1 << 30;
/// Most bytes of a placement that was kept: it names one number a view and image.
const PLACEMENT_BYTES: u64 = 1 << 20;
/// Most bytes of a table of landmarks: fifteen lines.
const TABLE_BYTES: u64 = 1 << 16;

/// Reads a picture file, of which no more is read than pictures of `max_pixels` can have.
///
/// # Errors
/// There is no such file, it cannot be read, or it is longer.
pub fn picture(path: &Path, max_pixels: u64) -> Result<Vec<u8>> {
    let most = max_pixels
        .saturating_mul(PICTURE_BYTES)
        .saturating_add(OTHER_BYTES);
    let limit = format!("pictures of {max_pixels} pixels have; raise the limit with --max-pixels");
    read_file(path, most, &limit)
}

/// Reads a mesh file, of which no more is read than meshes of `max_faces` can have.
///
/// # Errors
/// As [`picture`].
pub fn mesh(path: &Path, max_faces: usize) -> Result<Vec<u8>> {
    let most = (max_faces as u64)
        .saturating_mul(MESH_BYTES)
        .saturating_add(OTHER_BYTES);
    let limit = format!("meshes of {max_faces} faces have; raise the limit with --max-faces");
    read_file(path, most, &limit)
}

/// Reads a placement that an earlier check kept.
///
/// # Errors
/// As [`picture`].
pub fn placement(path: &Path) -> Result<Vec<u8>> {
    if is_special(path) {
        // Nobody gave it: waiting for what comes out of it would be a surprise.
        return Err(Error::new("this is a device or a pipe, not a kept placement")
            .in_file(path)
            .advise("remove it to take a fresh one"));
    }
    read_file(
        path,
        PLACEMENT_BYTES,
        "a placement has; remove it to take a fresh one",
    )
}

/// Reads another character's table of landmarks.
///
/// # Errors
/// As [`picture`].
pub fn table(path: &Path) -> Result<Vec<u8>> {
    read_file(
        path,
        TABLE_BYTES,
        "a table of landmarks has; give a landmarks.csv",
    )
}

/// Whether there is something at a path that is neither a file nor a folder: a device, a pipe, a socket.
pub(crate) fn is_special(path: &Path) -> bool {
    std::fs::metadata(path).is_ok_and(|m| !m.is_file() && !m.is_dir())
}

/// Reads a whole input file of at most `most` bytes; `limit` says in words what that is.
pub(crate) fn read_file(path: &Path, most: u64, limit: &str) -> Result<Vec<u8>> {
    let unreadable = |e: &std::io::Error| {
        let what = match e.kind() {
            std::io::ErrorKind::NotFound => "there is no such file".to_string(),
            std::io::ErrorKind::PermissionDenied => "the file may not be read".to_string(),
            std::io::ErrorKind::IsADirectory => "this is a folder, not a file".to_string(),
            _ => format!("the file cannot be read ({e})"),
        };
        Error::new(what).in_file(path).advise("check the path")
    };
    let file = std::fs::File::open(path).map_err(|e| unreadable(&e))?;
    let length = file.metadata().map_or(0, |m| m.len());
    let too_long =
        |has: &str| Error::new(format!("the file has {has} bytes, more than {limit}")).in_file(path);
    if length > most {
        return Err(too_long(&length.to_string()));
    }
    let mut bytes = Vec::new();
    bytes
        .try_reserve_exact(usize::try_from(length).unwrap_or(usize::MAX))
        .map_err(|_| {
            Error::new("not enough memory for the file")
                .in_file(path)
                .advise("give a smaller one")
        })?;
    let streamed = is_special(path) && STREAM_BYTES < most;
    let most = if streamed { STREAM_BYTES } else { most };
    file.take(most.saturating_add(1))
        .read_to_end(&mut bytes)
        .map_err(|e| unreadable(&e))?;
    if bytes.len() as u64 > most {
        return Err(if streamed {
            Error::new(format!("more than {most} bytes come from this pipe or device"))
                .in_file(path)
                .advise("save them to a file and give that")
        } else {
            too_long(&format!("more than {most}"))
        });
    }
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_more_is_read_than_the_limit_needs() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("long");
        // A file with a hole: it claims a terabyte and takes no room on the disk.
        let file = std::fs::File::create(&path).expect("a file");
        if file.set_len(1 << 40).is_ok() {
            let text = mesh(&path, 1000).expect_err("refused").to_string();
            assert!(
                text.contains("1099511627776 bytes") && text.contains("--max-faces"),
                "{text}"
            );
            let text = picture(&path, 1000).expect_err("refused").to_string();
            assert!(
                text.contains("1099511627776 bytes") && text.contains("--max-pixels"),
                "{text}"
            );
        }
        std::fs::write(&path, b"short").expect("written");
        assert_eq!(mesh(&path, 1).expect("read"), b"short");
    }

    #[cfg(target_os = "linux")]
    #[test]
    fn a_file_without_an_end_is_refused() {
        let text = read_file(Path::new("/dev/zero"), 100_000, "allowed")
            .expect_err("refused")
            .to_string();
        assert!(text.contains("more than 100000 bytes"), "{text}");
    }
}
