//! Bytes as letters: Base64 (RFC 4648, section 4), in which a picture stands in a page.

/// The alphabet of RFC 4648.
const ALPHABET: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
/// Fills the last group.
const PAD: char = '=';

/// Appends bytes as Base64, padded.
pub(super) fn base64(bytes: &[u8], out: &mut String) {
    out.reserve(bytes.len().div_ceil(3) * 4);
    let letter = |group: u32, place: u32| ALPHABET[(group >> (18 - 6 * place) & 63) as usize] as char;
    let mut threes = bytes.chunks_exact(3);
    for b in &mut threes {
        let group = u32::from_be_bytes([0, b[0], b[1], b[2]]);
        out.extend((0..4).map(|place| letter(group, place)));
    }
    match *threes.remainder() {
        [a] => {
            let group = u32::from_be_bytes([0, a, 0, 0]);
            out.extend([letter(group, 0), letter(group, 1), PAD, PAD]);
        }
        [a, b] => {
            let group = u32::from_be_bytes([0, a, b, 0]);
            out.extend([letter(group, 0), letter(group, 1), letter(group, 2), PAD]);
        }
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    /// The test vectors of RFC 4648, section 10.
    #[test]
    fn vectors_of_the_standard() {
        for (text, letters) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            let mut out = String::new();
            super::base64(text.as_bytes(), &mut out);
            assert_eq!(out, letters);
        }
    }
}
