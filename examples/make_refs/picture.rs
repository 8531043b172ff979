//! The sheet's pixels and their way into a small PNG: at most 256 colours, chosen by median cut
//! (Heckbert, "Color image quantization for frame buffer display", 1982), then an indexed file.

use std::collections::BTreeMap;

/// Red, green, blue, 0..255.
pub(crate) type Rgb = [f64; 3];

/// A picture in full precision.
pub(crate) struct Picture {
    pub(crate) width: u32,
    pub(crate) height: u32,
    pub(crate) pixels: Vec<Rgb>,
}

/// Colours of an indexed PNG.
const COLOURS: usize = 256;

impl Picture {
    /// Lays a colour over a pixel.
    pub(crate) fn blend(&mut self, i: usize, colour: Rgb, share: f64) {
        for (c, k) in self.pixels[i].iter_mut().zip(colour) {
            *c += (k - *c) * share;
        }
    }

    /// The picture as an indexed PNG that says how many pixels make a metre.
    pub(crate) fn to_png(&self, per_metre: u32) -> Result<Vec<u8>, String> {
        let exact: Vec<[u8; 3]> = self
            .pixels
            .iter()
            .map(|p| p.map(|c| c.round().clamp(0.0, 255.0) as u8))
            .collect();
        let mut counts: BTreeMap<[u8; 3], u32> = BTreeMap::new();
        for &p in &exact {
            *counts.entry(p).or_default() += 1;
        }
        let (palette, index) = palette(&counts);
        let data: Vec<u8> = exact.iter().map(|p| index[p]).collect();
        let mut bytes = Vec::new();
        let mut encoder = png::Encoder::new(&mut bytes, self.width, self.height);
        encoder.set_color(png::ColorType::Indexed);
        encoder.set_depth(png::BitDepth::Eight);
        encoder.set_palette(palette);
        encoder.set_compression(png::Compression::High);
        encoder.set_filter(png::Filter::NoFilter);
        encoder.set_pixel_dims(Some(png::PixelDimensions {
            xppu: per_metre,
            yppu: per_metre,
            unit: png::Unit::Meter,
        }));
        let mut writer = encoder.write_header().map_err(|e| e.to_string())?;
        writer.write_image_data(&data).map_err(|e| e.to_string())?;
        writer.finish().map_err(|e| e.to_string())?;
        Ok(bytes)
    }
}

struct Cut {
    colours: Vec<([u8; 3], u32)>,
    axis: usize,
    /// What splitting this box is worth: its extent, weighed by the fourth root of its pixels (found by
    /// eye), so that washes and the edges of lines get colours beside the many pixels of the paper.
    worth: f64,
}

impl Cut {
    fn new(colours: Vec<([u8; 3], u32)>) -> Self {
        let extent = |a: usize| {
            let values = || colours.iter().map(|(c, _)| c[a]);
            f64::from(values().max().unwrap_or(0) - values().min().unwrap_or(0))
        };
        let axis = (0..3).fold(0, |best, a| if extent(a) > extent(best) { a } else { best });
        let count: f64 = colours.iter().map(|(_, n)| f64::from(*n)).sum();
        let worth = extent(axis).powi(2) * count.sqrt().sqrt();
        Self { colours, axis, worth }
    }
}

fn palette(counts: &BTreeMap<[u8; 3], u32>) -> (Vec<u8>, BTreeMap<[u8; 3], u8>) {
    let mut cuts = vec![Cut::new(counts.iter().map(|(&c, &n)| (c, n)).collect())];
    while cuts.len() < COLOURS {
        let Some(at) = (0..cuts.len()).reduce(|b, i| if cuts[i].worth > cuts[b].worth { i } else { b })
        else {
            break;
        };
        if cuts[at].worth == 0.0 {
            break;
        }
        let Cut {
            mut colours, axis, ..
        } = cuts.swap_remove(at);
        colours.sort_unstable_by_key(|(c, _)| (c[axis], *c));
        // Cut in the middle of the range: halves the error rather than the population.
        let low = f64::from(colours[0].0[axis]);
        let high = f64::from(colours[colours.len() - 1].0[axis]);
        let split = colours.partition_point(|(c, _)| f64::from(c[axis]) <= (low + high) / 2.0);
        let rest = colours.split_off(split);
        cuts.push(Cut::new(colours));
        cuts.push(Cut::new(rest));
    }
    let mut bytes = Vec::new();
    let mut index = BTreeMap::new();
    for (i, cut) in cuts.iter().enumerate() {
        let total: f64 = cut.colours.iter().map(|(_, n)| f64::from(*n)).sum();
        for a in 0..3 {
            let sum: f64 = cut
                .colours
                .iter()
                .map(|(c, n)| f64::from(c[a]) * f64::from(*n))
                .sum();
            bytes.push((sum / total).round() as u8);
        }
        for (c, _) in &cut.colours {
            index.insert(*c, u8::try_from(i).unwrap_or(u8::MAX));
        }
    }
    (bytes, index)
}
