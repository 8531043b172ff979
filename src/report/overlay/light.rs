//! Mixing colours by light: sRGB is decoded to linear light, mixed, and encoded again (IEC 61966-2-1).

use std::sync::LazyLock;

use crate::report::look::Colour;

/// Linear red, green and blue, 0 to 1, and a lane that is always 0: four lanes fill a vector register.
pub(crate) type Light = [f32; 4];

/// Steps of the encoding table: fine enough that every byte comes back as itself (checked below).
const STEPS: usize = 4096;

static DECODE: LazyLock<[f32; 256]> = LazyLock::new(|| {
    std::array::from_fn(|i| {
        let v = i as f32 / 255.0;
        if v <= 0.04045 {
            v / 12.92
        } else {
            ((v + 0.055) / 1.055).powf(2.4)
        }
    })
});

static ENCODE: LazyLock<[u8; STEPS + 1]> = LazyLock::new(|| {
    std::array::from_fn(|i| {
        let v = i as f32 / STEPS as f32;
        let v = if v <= 0.003_130_8 {
            v * 12.92
        } else {
            1.055 * v.powf(1.0 / 2.4) - 0.055
        };
        (v * 255.0).round() as u8
    })
});

/// The decoding table, for loops over many bytes.
pub(super) fn table() -> &'static [f32; 256] {
    &DECODE
}

/// The light of a colour.
#[inline]
pub(crate) fn decode(colour: Colour) -> Light {
    let light = |v: u8| DECODE[usize::from(v)];
    [light(colour[0]), light(colour[1]), light(colour[2]), 0.0]
}

/// The colour of a light.
#[inline]
pub(crate) fn encode(light: Light) -> Colour {
    let table: &[u8; STEPS + 1] = &ENCODE;
    // Signed, as the processor converts numbers of 32 bits at once.
    let byte = |v: f32| table[(v.clamp(0.0, 1.0) * STEPS as f32 + 0.5) as i32 as usize];
    [byte(light[0]), byte(light[1]), byte(light[2])]
}

/// `share` of `b` over `a`.
#[inline]
pub(super) fn mix(a: Light, b: Light, share: f32) -> Light {
    let lane = |k: usize| a[k] + (b[k] - a[k]) * share;
    [lane(0), lane(1), lane(2), lane(3)]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_byte_comes_back() {
        for v in 0..=255u8 {
            assert_eq!(encode(decode([v; 3])), [v; 3]);
        }
    }

    /// IEC 61966-2-1, computed apart from this program: byte to linear light. Single precision keeps seven digits.
    #[test]
    fn light_of_known_bytes() {
        for (byte, light) in [
            (1, 0.000_303_527),
            (10, 0.003_035_27),
            (128, 0.215_860_5),
            (188, 0.502_886_46),
        ] {
            assert!(
                (f64::from(DECODE[byte]) - light).abs() < 2e-7 * light.max(1.0),
                "{byte}"
            );
        }
    }

    /// Half black, half white by light is byte 188, not 128.
    #[test]
    fn mixing_is_by_light() {
        assert_eq!(encode(mix(decode([0; 3]), decode([255; 3]), 0.5)), [188; 3]);
    }
}
