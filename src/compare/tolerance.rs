//! How far a place may be off: a share of the figure's height, and where asked for a share of the part's own width.
//!
//! A wrist is held to a closer limit than a hip: at each end of a span the limit is the smaller of the two, the width
//! being that of the span. No limit is closer than what a hand can draw.

use crate::profile::Span;

/// A hand is true to this share of the figure's height. The drawn cases are moved by as much.
const HAND: f64 = 0.0015;

/// What is allowed, in units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tolerance {
    /// The most that any place may be off.
    pub most: f64,
    /// Share of the local width; `None`: the same everywhere.
    pub of_width: Option<f64>,
    /// No limit is closer.
    least: f64,
}

impl Tolerance {
    /// From percent of the figure's height, and percent of the local width.
    pub fn new(height: f64, of_height_pct: f64, of_width_pct: Option<f64>) -> Self {
        let most = of_height_pct / 100.0 * height;
        Self {
            most,
            of_width: of_width_pct.map(|p| p / 100.0),
            least: most.min(HAND * height),
        }
    }

    /// The limit at the ends of a span.
    pub fn at(&self, span: &Span) -> f64 {
        self.of_width.map_or(self.most, |share| {
            (share * span.width()).clamp(self.least, self.most)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn span(width: f64) -> Span {
        Span {
            x0: 1.0,
            x1: 1.0 + width,
        }
    }

    /// A figure 100 tall, 1 % of the height, 10 % of the width: a hip of 30, a wrist of 4, a finger of 1.
    #[test]
    fn the_closer_limit_holds_but_none_closer_than_a_hand() {
        let t = Tolerance::new(100.0, 1.0, Some(10.0));
        let limits = [30.0, 4.0, 1.0].map(|w| t.at(&span(w)));
        for (found, expected) in limits.iter().zip([1.0, 0.4, 0.15]) {
            assert!((found - expected).abs() < 1e-12, "{limits:?}");
        }
        let off = Tolerance::new(100.0, 1.0, None);
        assert_eq!([30.0, 1.0].map(|w| off.at(&span(w))), [1.0, 1.0]);
        // A tolerance that is closer than a hand stays as it was asked for.
        assert_eq!(Tolerance::new(100.0, 0.1, Some(10.0)).at(&span(1.0)), 0.1);
    }
}
