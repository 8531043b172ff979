//! PNG files put together by hand, chunk by chunk, so that any part of them can be wrong.
//! Source: PNG Specification, third edition (W3C 2025): 5.3 chunk layout, 11.2 critical chunks, annex D (CRC code).

/// First bytes of every PNG file (5.2).
pub(crate) const SIGNATURE: [u8; 8] = [0x89, b'P', b'N', b'G', 0x0D, 0x0A, 0x1A, 0x0A];

/// A chunk: its name and data.
pub(crate) type Chunk = ([u8; 4], Vec<u8>);

/// The CRC of annex D.
pub(crate) fn crc(bytes: impl IntoIterator<Item = u8>) -> u32 {
    let mut crc = u32::MAX;
    for byte in bytes {
        crc ^= u32::from(byte);
        for _ in 0..8 {
            crc = if crc & 1 == 1 {
                0xEDB8_8320 ^ (crc >> 1)
            } else {
                crc >> 1
            };
        }
    }
    !crc
}

/// A chunk as it stands in a file.
pub(crate) fn chunk((name, data): &Chunk) -> Vec<u8> {
    let mut out = (data.len() as u32).to_be_bytes().to_vec();
    out.extend(name);
    out.extend(data);
    let sum = crc(name.iter().chain(data).copied());
    out.extend(sum.to_be_bytes());
    out
}

/// A file of chunks.
pub(crate) fn file(chunks: &[Chunk]) -> Vec<u8> {
    let mut out = SIGNATURE.to_vec();
    out.extend(chunks.iter().flat_map(chunk));
    out
}

/// The header chunk: size, bit depth, colour type, interlace method.
pub(crate) fn header(width: u32, height: u32, depth: u8, colour: u8, interlace: u8) -> Chunk {
    let mut data = width.to_be_bytes().to_vec();
    data.extend(height.to_be_bytes());
    data.extend([depth, colour, 0, 0, interlace]);
    (*b"IHDR", data)
}

/// Data in a zlib stream of stored blocks (RFC 1950, RFC 1951).
pub(crate) fn stored(data: &[u8]) -> Vec<u8> {
    /// Most bytes of a stored block.
    const BLOCK: usize = 65_535;
    let mut out = vec![0x78, 0x01];
    let blocks = data.chunks(BLOCK).count().max(1);
    for (i, block) in data.chunks(BLOCK).enumerate() {
        out.push(u8::from(i + 1 == blocks));
        let n = block.len() as u16;
        out.extend(n.to_le_bytes());
        out.extend((!n).to_le_bytes());
        out.extend(block);
    }
    let (mut a, mut b) = (1u32, 0u32);
    for v in data {
        a = (a + u32::from(*v)) % 65_521;
        b = (b + a) % 65_521;
    }
    out.extend(((b << 16) | a).to_be_bytes());
    out
}

/// The last chunk.
pub(crate) fn end() -> Chunk {
    (*b"IEND", Vec::new())
}

/// A sound grey picture of 8 bits: paper with a dark disc.
pub(crate) fn sound(width: u32, height: u32) -> Vec<Chunk> {
    let (cx, cy) = (f64::from(width) / 2.0, f64::from(height) / 2.0);
    let mut rows = Vec::new();
    for y in 0..height {
        rows.push(0);
        for x in 0..width {
            let inside = (f64::from(x) - cx).hypot(f64::from(y) - cy) < 0.4 * f64::from(width.min(height));
            rows.push(if inside { 60 } else { 250 });
        }
    }
    vec![header(width, height, 8, 0, 0), (*b"IDAT", stored(&rows)), end()]
}

/// The chunks of a file, as far as they are sound.
pub(crate) fn chunks(bytes: &[u8]) -> Option<Vec<Chunk>> {
    let mut rest = bytes.strip_prefix(&SIGNATURE)?;
    let mut out = Vec::new();
    while let Some((length, tail)) = rest.split_first_chunk::<4>() {
        let length = u32::from_be_bytes(*length) as usize;
        let (name, tail) = tail.split_first_chunk::<4>()?;
        let data = tail.get(..length)?;
        rest = tail.get(length + 4..)?;
        out.push((*name, data.to_vec()));
    }
    Some(out)
}
