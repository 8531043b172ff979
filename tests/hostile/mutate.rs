//! Hostile files out of real ones: bytes, lines, numbers and chunks are changed, doubled, dropped, moved, cut.
//! The same seed gives the same file on every machine.

use super::png;

/// A generator of numbers: SplitMix64 (Steele, Lea and Flood 2014).
pub(crate) struct Rng(u64);

impl Rng {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0x5DEE_CE66)
    }

    pub(crate) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// Below `n`; 0 where `n` is 0.
    pub(crate) fn below(&mut self, n: usize) -> usize {
        (self.next() % n.max(1) as u64) as usize
    }

    /// From 0 to below 1.
    pub(crate) fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    fn of<'a, T>(&mut self, all: &'a [T]) -> &'a T {
        &all[self.below(all.len())]
    }
}

/// Numbers at which readers break: the ends of integer and float types, what is no number, what is none quite.
const NUMBERS: [&str; 30] = [
    "0",
    "-0",
    "1",
    "-1",
    "2",
    "nan",
    "NaN",
    "inf",
    "-inf",
    "1e308",
    "-1e308",
    "1e309",
    "1e-320",
    "5e-324",
    "1e999999999",
    "0.1e",
    "1.",
    ".5",
    ".",
    "+",
    "-",
    "2147483647",
    "2147483648",
    "4294967295",
    "4294967296",
    "-2147483649",
    "9223372036854775807",
    "18446744073709551616",
    "99999999999999999999999999999",
    "0x10",
];
/// Bytes that mean something to one of the readers.
const BYTES: &[u8] = b"\0\n\r\t \\/#\"'=[]{},.-+eE0179fvgo\x7f\x80\xff\xfe";
/// Names of chunks to which a decoder does something.
const NAMES: [&[u8; 4]; 9] = [
    b"PLTE", b"tRNS", b"IDAT", b"acTL", b"fcTL", b"fdAT", b"eXIf", b"iCCP", b"zTXt",
];
/// Most changes of a file.
const MOST_CHANGES: usize = 8;

/// A mutation of one of the seeds.
pub(crate) fn mutate(seeds: &[&[u8]], rng: &mut Rng) -> Vec<u8> {
    let mut bytes = rng.of(seeds).to_vec();
    if let Some(mut chunks) = png::chunks(&bytes)
        && rng.below(3) > 0
    {
        for _ in 0..=rng.below(MOST_CHANGES) {
            change_chunks(&mut chunks, rng);
        }
        bytes = png::file(&chunks);
        if rng.below(4) > 0 {
            return bytes;
        }
    }
    for _ in 0..=rng.below(MOST_CHANGES) {
        match rng.below(12) {
            0..=4 => change_bytes(&mut bytes, rng),
            5..=7 => change_numbers(&mut bytes, rng),
            8..=10 => change_lines(&mut bytes, rng),
            _ => {
                // The head of one file, the tail of another.
                let other = rng.of(seeds);
                let (cut, from) = (rng.below(bytes.len()), rng.below(other.len()));
                bytes.truncate(cut);
                bytes.extend_from_slice(&other[from..]);
            }
        }
    }
    bytes
}

fn change_bytes(bytes: &mut Vec<u8>, rng: &mut Rng) {
    if bytes.is_empty() {
        return;
    }
    // Headers decide most, so their bytes are changed more often.
    let at = if rng.below(2) == 0 {
        rng.below(bytes.len().min(64))
    } else {
        rng.below(bytes.len())
    };
    let span = 1 + rng.below(16);
    let end = (at + span).min(bytes.len());
    match rng.below(7) {
        0 => bytes[at] ^= 1 << rng.below(8),
        1 => bytes[at] = rng.next() as u8,
        2 => bytes[at] = *rng.of(BYTES),
        3 => bytes.insert(at, *rng.of(BYTES)),
        4 => drop(bytes.drain(at..end)),
        5 => {
            let part = bytes[at..end].to_vec();
            let to = rng.below(bytes.len());
            bytes.splice(to..to, part);
        }
        _ => bytes.truncate(at),
    }
}

/// Replaces a number in a text by a hostile one.
fn change_numbers(bytes: &mut Vec<u8>, rng: &mut Rng) {
    let is_number = |b: &u8| b.is_ascii_digit() || matches!(b, b'.' | b'-' | b'+');
    let from = rng.below(bytes.len());
    let Some(start) = bytes[from..].iter().position(is_number).map(|p| from + p) else {
        return;
    };
    let length = bytes[start..].iter().take_while(|b| is_number(b)).count();
    bytes.splice(start..start + length, rng.of(&NUMBERS).bytes());
}

/// Drops, doubles or moves a line.
fn change_lines(bytes: &mut Vec<u8>, rng: &mut Rng) {
    let from = rng.below(bytes.len());
    let start = bytes[..from]
        .iter()
        .rposition(|b| *b == b'\n')
        .map_or(0, |p| p + 1);
    let end = bytes[from..]
        .iter()
        .position(|b| *b == b'\n')
        .map_or(bytes.len(), |p| from + p + 1);
    let line = bytes[start..end].to_vec();
    let action = rng.below(3);
    if action != 1 {
        bytes.drain(start..end);
    }
    if action > 0 {
        let to = rng.below(bytes.len());
        let to = bytes[..to].iter().rposition(|b| *b == b'\n').map_or(0, |p| p + 1);
        bytes.splice(to..to, line);
    }
}

/// Changes chunks of a PNG file; their checksums are made anew, so that the decoder gets beyond them.
fn change_chunks(chunks: &mut Vec<png::Chunk>, rng: &mut Rng) {
    if chunks.is_empty() {
        return;
    }
    let at = rng.below(chunks.len());
    match rng.below(6) {
        0 => drop(chunks.remove(at)),
        1 => {
            let copy = chunks[at].clone();
            let to = rng.below(chunks.len());
            chunks.insert(to, copy);
        }
        2 => chunks[at].0 = **rng.of(&NAMES),
        3 => {
            // The header: a size, depth, colour type or interlace method that may not fit.
            if let Some(field) = chunks[0].1.get_mut(rng.below(13)) {
                *field = *rng.of(&[0, 1, 2, 3, 4, 5, 6, 7, 8, 16, 32, 255]);
            }
        }
        _ => change_bytes(&mut chunks[at].1, rng),
    }
}
