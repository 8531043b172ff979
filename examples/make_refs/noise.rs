//! Smooth value noise in one and two dimensions from an integer hash (method: value noise on a lattice with
//! the smooth step 3 t^2 - 2 t^3; the hash is the finaliser of Steele, Lea and Flood's SplitMix, 2014).
//! Deterministic: the same place and seed always give the same value.

/// A value in -1..1 for a lattice point.
pub(crate) fn hash(x: i64, y: i64, seed: u64) -> f64 {
    let mut h = seed
        .wrapping_mul(0x9e37_79b9_7f4a_7c15)
        .wrapping_add(x.cast_unsigned().wrapping_mul(0xbf58_476d_1ce4_e5b9))
        .wrapping_add(y.cast_unsigned().wrapping_mul(0x94d0_49bb_1331_11eb));
    h = (h ^ (h >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    h = (h ^ (h >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    h ^= h >> 31;
    // 53 bits are what an f64 holds.
    (h >> 11) as f64 / (1_u64 << 52) as f64 - 1.0
}

fn smooth(t: f64) -> f64 {
    t * t * (3.0 - 2.0 * t)
}

/// Noise along a line, -1..1, features about one unit long.
pub(crate) fn along(t: f64, seed: u64) -> f64 {
    let cell = t.floor();
    let (a, b) = (hash(cell as i64, 0, seed), hash(cell as i64 + 1, 0, seed));
    a + (b - a) * smooth(t - cell)
}

/// Noise on a plane, -1..1, features about one unit wide.
pub(crate) fn over(x: f64, y: f64, seed: u64) -> f64 {
    let (cx, cy) = (x.floor(), y.floor());
    let (i, j) = (cx as i64, cy as i64);
    let (u, v) = (smooth(x - cx), smooth(y - cy));
    let low = hash(i, j, seed) * (1.0 - u) + hash(i + 1, j, seed) * u;
    let high = hash(i, j + 1, seed) * (1.0 - u) + hash(i + 1, j + 1, seed) * u;
    low + (high - low) * v
}
