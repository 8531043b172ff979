//! Few colours for many, so that a picture is small: the median cut (Heckbert 1982, "Color image quantization for frame
//! buffer display"), on colours of five bits a channel.
//!
//! White keeps itself: it is the paper. The order is fixed by the colours alone, so that the same picture always gets the
//! same palette.

/// Bits that a channel keeps.
const BITS: u32 = 5;
/// Colours of so many bits.
const CELLS: usize = 1 << (3 * BITS);
/// Most colours of a palette (PNG, 11.2.2).
const MOST: usize = 256;

/// Number of a colour among those of five bits a channel.
#[inline]
pub(super) fn cell([r, g, b]: [u8; 3]) -> u16 {
    let high = |v: u8| u16::from(v >> (8 - BITS));
    (high(r) << BITS | high(g)) << BITS | high(b)
}

/// A picture's palette and each pixel's place in it.
pub(super) struct Palette {
    /// Red, green, blue, one after the other; white first.
    pub(super) colours: Vec<u8>,
    /// One byte a pixel.
    pub(super) indices: Vec<u8>,
}

/// A box of cells.
struct Part {
    cells: std::ops::Range<usize>,
    /// Channel of the longest side, and that side's length times the number of pixels.
    longest: usize,
    worth: u64,
}

/// Chooses the palette of a picture of cells.
pub(super) fn palette(pixels: &[u16]) -> Palette {
    let mut counts = vec![0u32; CELLS];
    for run in pixels.chunk_by(|a, b| a == b) {
        counts[usize::from(run[0])] += run.len() as u32;
    }
    let white = CELLS - 1;
    let mut used: Vec<([u8; 3], u32)> = (0..white)
        .filter(|c| counts[*c] > 0)
        .map(|c| (parts(c), counts[c]))
        .collect();
    let mut boxes = Vec::new();
    if !used.is_empty() {
        boxes.push(part(&used, 0..used.len()));
    }
    // One place is the paper's.
    while boxes.len() < MOST - 1 {
        let widest = (0..boxes.len()).max_by_key(|i| (boxes[*i].worth, std::cmp::Reverse(*i)));
        let Some(i) = widest.filter(|i| boxes[*i].worth > 0) else {
            break;
        };
        let Part { cells, longest, .. } = boxes.swap_remove(i);
        let slice = &mut used[cells.clone()];
        slice.sort_unstable_by_key(|(c, _)| (c[longest], *c));
        let half = slice.iter().map(|c| u64::from(c.1)).sum::<u64>() / 2;
        let mut seen = 0;
        let middle = slice
            .iter()
            .position(|c| {
                seen += u64::from(c.1);
                seen > half
            })
            .unwrap_or(0);
        // Cells of one value along the side stay together, and neither part is empty.
        let value = slice[middle].0[longest];
        let first = slice.partition_point(|c| c.0[longest] < value);
        let cut = if first > 0 {
            first
        } else {
            slice.partition_point(|c| c.0[longest] <= value)
        };
        let cut = cells.start + cut;
        boxes.push(part(&used, cells.start..cut));
        boxes.push(part(&used, cut..cells.end));
    }
    let mut colours = vec![u8::MAX; 3];
    let mut places = vec![0u8; CELLS];
    for b in &boxes {
        let inside = &used[b.cells.clone()];
        let weight: u64 = inside.iter().map(|c| u64::from(c.1)).sum();
        for k in 0..3 {
            let sum: u64 = inside
                .iter()
                .map(|(c, n)| u64::from(whole(c[k])) * u64::from(*n))
                .sum();
            colours.push(((sum + weight / 2) / weight) as u8);
        }
        for (c, _) in inside {
            let [r, g, b] = c.map(usize::from);
            places[(r << BITS | g) << BITS | b] = (colours.len() / 3 - 1) as u8;
        }
    }
    let indices = pixels.iter().map(|p| places[usize::from(*p)]).collect();
    Palette { colours, indices }
}

/// The channels of a cell.
fn parts(cell: usize) -> [u8; 3] {
    let low = (1 << BITS) - 1;
    [cell >> (2 * BITS) & low, cell >> BITS & low, cell & low].map(|v| v as u8)
}

/// A channel of five bits in eight: 0 stays 0, the brightest becomes the brightest.
fn whole(v: u8) -> u8 {
    v << (8 - BITS) | v >> (2 * BITS - 8)
}

fn part(used: &[([u8; 3], u32)], cells: std::ops::Range<usize>) -> Part {
    let inside = &used[cells.clone()];
    let (mut low, mut high) = ([u8::MAX; 3], [0; 3]);
    for (c, _) in inside {
        for k in 0..3 {
            low[k] = low[k].min(c[k]);
            high[k] = high[k].max(c[k]);
        }
    }
    let side = |k: &usize| high[*k] - low[*k];
    let longest = (0..3)
        .max_by_key(|k| (side(k), std::cmp::Reverse(*k)))
        .unwrap_or(0);
    let pixels: u64 = inside.iter().map(|c| u64::from(c.1)).sum();
    Part {
        worth: u64::from(side(&longest)) * pixels,
        cells,
        longest,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn few_colours_keep_themselves() {
        let colours = [[255, 255, 255], [0, 0, 0], [0, 115, 181], [214, 90, 0]];
        let pixels: Vec<u16> = (0..4000).map(|i| cell(colours[i % 4])).collect();
        let p = palette(&pixels);
        assert_eq!(p.colours.len(), 12);
        for (i, place) in p.indices.iter().enumerate() {
            let shown = &p.colours[3 * usize::from(*place)..][..3];
            let off = (0..3).map(|k| shown[k].abs_diff(colours[i % 4][k])).max();
            assert!(off <= Some(8), "{shown:?} for {:?}", colours[i % 4]);
        }
        assert_eq!(p.colours[..3], [255; 3]);
    }

    /// All 32,768 colours once: 255 boxes of about 5 cells a side, so that no channel is off by more than four cells.
    #[test]
    fn many_colours_are_shared_out_evenly() {
        let pixels: Vec<u16> = (0..CELLS as u16).collect();
        let p = palette(&pixels);
        assert!(p.colours.len() == 3 * MOST);
        let off = pixels.iter().zip(&p.indices).flat_map(|(c, i)| {
            let (c, shown) = (parts(usize::from(*c)), &p.colours[3 * usize::from(*i)..][..3]);
            (0..3)
                .map(move |k| whole(c[k]).abs_diff(shown[k]))
                .collect::<Vec<_>>()
        });
        assert!(off.max() <= Some(33));
    }
}
