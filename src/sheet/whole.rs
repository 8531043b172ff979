//! Whether a picture file is there to its end. Decoders fill what is missing with grey or with the last rows, so that a
//! file that was cut off while it was copied would be measured as if it were drawn that way.
//!
//! Sources: ITU-T T.81 (1992), annex B: markers of JPEG; RFC 9649 (2024), 2.3 and 2.4: sizes in a WebP file. PNG and
//! TIFF need no such test, their decoders complain.

/// Whether a JPEG file has its end marker behind its last scan.
pub(super) fn jpeg_is_whole(bytes: &[u8]) -> bool {
    const END: u8 = 0xD9;
    let mut at = 0;
    // From marker to marker; within a scan's data 0xFF is followed by 0 or by a restart marker.
    while let Some(found) = bytes[at..].iter().position(|b| *b == 0xFF) {
        at += found + 1;
        match bytes.get(at) {
            Some(&END) => return true,
            // Stuffed zero, temporary use, restarts, start of the picture: no length follows.
            Some(0x00 | 0x01 | 0xD0..=0xD8) => at += 1,
            // Fill bytes.
            Some(0xFF) => {}
            Some(_) => {
                let Some(length) = bytes.get(at + 1..at + 3) else {
                    return false;
                };
                let length = usize::from(u16::from_be_bytes([length[0], length[1]]));
                at += 1 + length;
                if at > bytes.len() {
                    return false;
                }
            }
            None => return false,
        }
    }
    false
}

/// Whether a WebP file is as long as it says, and its first chunk lies in it.
pub(super) fn webp_is_whole(bytes: &[u8]) -> bool {
    let size = |at: usize| {
        let four = bytes.get(at..at + 4)?;
        Some(u64::from(u32::from_le_bytes([
            four[0], four[1], four[2], four[3],
        ])))
    };
    // `RIFF`, size of what follows, `WEBP`, then name and size of the first chunk.
    let (Some(all), Some(first)) = (size(4), size(16)) else {
        return false;
    };
    all + 8 <= bytes.len() as u64 && first + 12 <= all
}
