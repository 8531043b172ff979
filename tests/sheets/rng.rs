//! A small generator of numbers, the same on every machine: SplitMix64 (Steele, Lea and Flood 2014).

/// The generator.
#[derive(Clone)]
pub(crate) struct Rng(u64);

impl Rng {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0x5DEE_CE66)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// From 0 to below 1.
    pub(crate) fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// From `a` to below `b`.
    pub(crate) fn range(&mut self, a: f64, b: f64) -> f64 {
        a + (b - a) * self.unit()
    }

    /// Below `n`.
    pub(crate) fn below(&mut self, n: usize) -> usize {
        (self.unit() * n as f64) as usize
    }

    /// Mean 0, standard deviation 1: the sum of twelve uniform numbers, good enough for grain.
    pub(crate) fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.unit()).sum::<f64>() - 6.0
    }

    /// A smooth closed curve of random height about 0, one value a step, largest value about 1.
    pub(crate) fn waves(&mut self, steps: usize, shortest: usize) -> Vec<f64> {
        let most = (steps / shortest.max(1)).clamp(1, 60);
        let terms: Vec<(f64, f64, f64)> = (0..8)
            .map(|_| {
                let k = 1 + self.below(most);
                (
                    k as f64,
                    self.range(0.0, std::f64::consts::TAU),
                    self.range(0.1, 0.3),
                )
            })
            .collect();
        (0..steps)
            .map(|i| {
                let t = i as f64 / steps as f64 * std::f64::consts::TAU;
                terms.iter().map(|(k, p, a)| a * (k * t + p).sin()).sum()
            })
            .collect()
    }
}
