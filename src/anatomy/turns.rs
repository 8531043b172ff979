//! Where a curve turns: its highs and lows that stand out from what lies beside them.

/// A high or a low.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Turn {
    /// Index of the value.
    pub(super) at: usize,
    /// A high, not a low.
    pub(super) high: bool,
    /// The smaller of its swings to both sides.
    pub(super) by: f64,
}

/// Highs and lows in turn, each at least `least` away from its neighbours; the ends of the curve are none.
pub(super) fn turns(values: &[f64], least: f64) -> Vec<Turn> {
    let Some(&first) = values.first() else {
        return Vec::new();
    };
    // Extremes so far: index and value of the highest and lowest since the last turn.
    let (mut high, mut low) = ((0, first), (0, first));
    let mut found: Vec<(usize, bool)> = Vec::new();
    let mut climbing: Option<bool> = None;
    for (i, &v) in values.iter().enumerate() {
        if v > high.1 {
            high = (i, v);
        }
        if v < low.1 {
            low = (i, v);
        }
        if climbing != Some(false) && high.1 - v >= least {
            found.push((high.0, true));
            climbing = Some(false);
            low = (i, v);
        } else if climbing != Some(true) && v - low.1 >= least {
            found.push((low.0, false));
            climbing = Some(true);
            high = (i, v);
        }
    }
    let last = match climbing {
        Some(true) => high.1,
        Some(false) => low.1,
        None => return Vec::new(),
    };
    let value = |k: usize| found.get(k).map_or(last, |f| values[f.0]);
    (0..found.len())
        .filter(|k| found[*k].0 != 0)
        .map(|k| {
            let here = value(k);
            let before = if k == 0 {
                extreme(&values[..found[0].0], !found[0].1)
            } else {
                value(k - 1)
            };
            Turn {
                at: found[k].0,
                high: found[k].1,
                by: (here - before).abs().min((here - value(k + 1)).abs()),
            }
        })
        .filter(|t| t.by >= least)
        .collect()
}

fn extreme(values: &[f64], highest: bool) -> f64 {
    let start = values.first().copied().unwrap_or(0.0);
    values
        .iter()
        .fold(start, |m, v| if highest { m.max(*v) } else { m.min(*v) })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn small_swings_are_none() {
        let curve = [0.0, 5.0, 4.8, 5.2, 1.0, 1.2, 0.9, 3.0, 3.0];
        let found = turns(&curve, 1.0);
        let places: Vec<(usize, bool)> = found.iter().map(|t| (t.at, t.high)).collect();
        assert_eq!(places, [(3, true), (6, false)]);
        assert!((found[1].by - 2.1).abs() < 1e-12);
    }

    #[test]
    fn slopes_have_none() {
        assert!(turns(&[1.0, 2.0, 3.0], 0.5).is_empty());
        assert!(turns(&[], 0.5).is_empty());
    }
}
