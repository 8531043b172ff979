//! Straight lines in the frontal plane: fitted to the middles of an arm, met with each other.

/// A place or a direction in the frontal plane: x to the figure's left, y up.
pub type Flat = [f64; 2];

/// Rounds of weighing a fit anew: places that lie off it count less (Huber 1964).
const ROUNDS: usize = 6;
/// Below this sine two lines count as parallel: their meeting place would be wrong by thirty times what they are.
const PARALLEL: f64 = 0.03;

/// A line with a direction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// A place on it.
    pub at: Flat,
    /// Unit vector towards the fingertip.
    pub along: Flat,
}

impl Line {
    /// The line through two places, from the first to the second.
    pub fn through(a: Flat, b: Flat) -> Option<Self> {
        let d = [b[0] - a[0], b[1] - a[1]];
        let long = d[0].hypot(d[1]);
        (long > 0.0 && long.is_finite()).then(|| Self {
            at: a,
            along: [d[0] / long, d[1] / long],
        })
    }

    /// How far along the line a place lies.
    pub fn s(&self, p: Flat) -> f64 {
        (p[0] - self.at[0]) * self.along[0] + (p[1] - self.at[1]) * self.along[1]
    }

    /// How far to the left of the line a place lies.
    pub fn off(&self, p: Flat) -> f64 {
        (p[1] - self.at[1]) * self.along[0] - (p[0] - self.at[0]) * self.along[1]
    }

    /// The place so far along the line and to its left.
    pub fn place(&self, s: f64, off: f64) -> Flat {
        [
            self.at[0] + s * self.along[0] - off * self.along[1],
            self.at[1] + s * self.along[1] + off * self.along[0],
        ]
    }

    /// The same line with another origin: the place on it nearest to `p`.
    #[must_use]
    pub fn beginning_at(&self, p: Flat) -> Self {
        Self {
            at: self.place(self.s(p), 0.0),
            ..*self
        }
    }

    /// Where two lines meet; `None` where they are nearly parallel.
    pub fn meets(&self, other: &Self) -> Option<Flat> {
        let sine = self.along[0] * other.along[1] - self.along[1] * other.along[0];
        if sine.abs() < PARALLEL {
            return None;
        }
        let d = [other.at[0] - self.at[0], other.at[1] - self.at[1]];
        let s = (d[0] * other.along[1] - d[1] * other.along[0]) / sine;
        Some(self.place(s, 0.0))
    }

    /// How far it points below the horizontal, degrees, whichever side it points to.
    pub fn below_horizontal_deg(&self) -> f64 {
        (-self.along[1]).atan2(self.along[0].abs()).to_degrees()
    }

    /// The direction as an angle, counter-clockwise from x.
    pub fn heading(&self) -> f64 {
        self.along[1].atan2(self.along[0])
    }
}

/// The line that lies best among places in the order of the arm (total least squares, weighed anew so that single
/// places that lie off count less), and the root of the mean weighed square of what is left.
pub fn fit(places: &[Flat]) -> Option<(Line, f64)> {
    let (first, last) = (places.first()?, places.last()?);
    let mut weights = vec![1.0; places.len()];
    let mut found = None;
    for _ in 0..ROUNDS {
        let sum: f64 = weights.iter().sum();
        let mean = |k: usize| places.iter().zip(&weights).map(|(p, w)| w * p[k]).sum::<f64>() / sum;
        let (mx, my) = (mean(0), mean(1));
        let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
        for (p, w) in places.iter().zip(&weights) {
            let (x, y) = (p[0] - mx, p[1] - my);
            xx += w * x * x;
            xy += w * x * y;
            yy += w * y * y;
        }
        // The main axis of the second moments.
        let angle = 0.5 * (2.0 * xy).atan2(xx - yy);
        let mut along = [angle.cos(), angle.sin()];
        if (last[0] - first[0]) * along[0] + (last[1] - first[1]) * along[1] < 0.0 {
            along = along.map(|c| -c);
        }
        let line = Line { at: [mx, my], along };
        let mut off: Vec<f64> = places.iter().map(|p| line.off(*p).abs()).collect();
        let left = (off.iter().zip(&weights).map(|(o, w)| w * o * o).sum::<f64>() / sum).sqrt();
        found = Some((line, left));
        let each = off.clone();
        off.sort_by(f64::total_cmp);
        // Huber's bend at 1.5 deviations, the deviation from the median (1.4826: of a normal distribution).
        let bend = 1.5 * 1.4826 * off[off.len() / 2];
        if bend <= f64::EPSILON * (last[0] - first[0]).hypot(last[1] - first[1]) {
            break;
        }
        weights = each.iter().map(|o| (bend / o.max(bend)).min(1.0)).collect();
    }
    found.filter(|(l, _)| l.along.iter().chain(&l.at).all(|c| c.is_finite()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_lies_among_its_places_and_lets_go_of_one_that_is_off() {
        let mut places: Vec<Flat> = (0..40)
            .map(|i| [f64::from(i), 3.0 - 0.5 * f64::from(i)])
            .collect();
        places[12][1] += 8.0;
        let (line, _) = fit(&places).unwrap();
        assert!((line.below_horizontal_deg() - 0.5f64.atan().to_degrees()).abs() < 0.05);
        let level = Line::through([0.0, 1.0], [5.0, 1.0]).unwrap();
        let met = line.meets(&level).unwrap();
        assert!((met[0] - 4.0).abs() < 0.05 && (met[1] - 1.0).abs() < 1e-9);
        assert_eq!(level.off([2.0, 4.0]), 3.0);
        assert!(level.meets(&level).is_none());
    }
}
