//! Moves labels on a line apart so that none overlap, as little as possible.
//!
//! Method: least squares under the constraint of order, by pooling neighbours that violate it (Ayer et al. 1955):
//! labels that collide form a block whose members lie edge to edge, about the mean of where they want to be.

/// One label: where its middle wants to be, and how much room it takes.
#[derive(Debug, Clone, Copy)]
pub(super) struct Wanted {
    pub(super) middle: f64,
    pub(super) size: f64,
}

/// Middles of the labels, in the order given, which is the order on the line (wanted middles ascending). They keep
/// within `low` and `high` if they fit; otherwise they run over `high`.
pub(super) fn spread(labels: &[Wanted], low: f64, high: f64) -> Vec<f64> {
    struct Block {
        /// Sum of where each member would like the block to begin.
        begins: f64,
        count: usize,
        size: f64,
    }
    let start = |b: &Block| (b.begins / b.count as f64).min(high - b.size).max(low);
    let mut blocks: Vec<Block> = Vec::new();
    for label in labels {
        let mut block = Block {
            begins: label.middle - label.size / 2.0,
            count: 1,
            size: label.size,
        };
        while let Some(before) = blocks.pop_if(|before| start(before) + before.size > start(&block)) {
            block = Block {
                begins: before.begins + block.begins - before.size * block.count as f64,
                count: before.count + block.count,
                size: before.size + block.size,
            };
        }
        blocks.push(block);
    }
    let mut out = Vec::with_capacity(labels.len());
    for block in &blocks {
        let mut at = start(block);
        for label in &labels[out.len()..out.len() + block.count] {
            out.push(at + label.size / 2.0);
            at += label.size;
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn places(wanted: &[f64], size: f64, low: f64, high: f64) -> Vec<f64> {
        let labels: Vec<Wanted> = wanted.iter().map(|&middle| Wanted { middle, size }).collect();
        spread(&labels, low, high)
    }

    /// Worked by hand.
    #[test]
    fn labels_move_as_little_as_possible() {
        assert_eq!(places(&[20.0, 60.0], 10.0, 0.0, 100.0), [20.0, 60.0]);
        assert_eq!(places(&[48.0, 52.0], 10.0, 0.0, 100.0), [45.0, 55.0]);
        assert_eq!(places(&[1.0, 2.0], 10.0, 0.0, 100.0), [5.0, 15.0]);
        assert_eq!(places(&[99.0, 99.0], 10.0, 0.0, 100.0), [85.0, 95.0]);
        assert_eq!(places(&[], 10.0, 0.0, 100.0), [0.0; 0]);
    }

    #[test]
    fn labels_never_overlap() {
        let wanted: Vec<f64> = (0..40).map(|k| (f64::from(k) / 7.0).floor() * 60.0).collect();
        let out = places(&wanted, 20.0, 0.0, 900.0);
        // A sum of forty doubles below a thousand is exact to 1e-10.
        assert!(out.windows(2).all(|w| w[1] - w[0] >= 20.0 - 1e-9), "{out:?}");
        assert!(out[0] >= 10.0 - 1e-9 && out[39] <= 890.0 + 1e-9);
    }
}
