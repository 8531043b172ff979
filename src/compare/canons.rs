//! Canons of proportion: where landmarks lie on a body that others measured or taught, in percent of its height.
//!
//! None is right for a cartoon figure; they are what to hold one against, and a cast's own table (see
//! [`super::proportions`]) is mostly the better one.

/// A canon.
#[derive(Debug, Clone, PartialEq)]
pub struct Canon {
    /// As it is chosen.
    pub name: String,
    /// Who measured or taught it.
    pub source: String,
    /// Landmarks and their heights, percent of the whole height above the ground.
    pub heights: Vec<(String, f64)>,
}

/// Name, source, heights.
type Written = (&'static str, &'static str, &'static [(&'static str, f64)]);

/// The canons that come with the program.
const CANONS: [Written; 5] = [
    (
        "segments",
        "Drillis and Contini 1966, in Winter, Biomechanics and Motor Control of Human Movement, 2009, figure 4.1: \
         segments as fractions of stature, elbow, wrist and fingertip of a hanging arm",
        &[
            ("chin", 87.0),
            ("shoulder", 81.8),
            ("elbow", 63.2),
            ("wrist", 48.6),
            ("fingertip", 37.8),
            ("knee", 28.5),
            ("ankle", 3.9),
        ],
    ),
    (
        "survey-men",
        "ANSUR II 2012 (NATICK/TR-15/007), mean of men over mean stature; knee: middle of the kneecap",
        &[
            ("wrist", 48.25),
            ("crotch", 48.15),
            ("fingertip", 37.24),
            ("knee", 27.8),
        ],
    ),
    (
        "survey-women",
        "ANSUR II 2012 (NATICK/TR-15/007), mean of women over mean stature; knee: middle of the kneecap",
        &[
            ("wrist", 48.77),
            ("crotch", 48.02),
            ("fingertip", 37.64),
            ("knee", 27.56),
        ],
    ),
    (
        "seven-and-a-half-heads",
        "the ordinary figure of teaching texts since Richer, Anatomie artistique, 1890: 7 1/2 heads, the crotch half way \
         up (from memory)",
        &[
            ("chin", 100.0 * 6.5 / 7.5),
            ("crotch", 50.0),
            ("knee", 100.0 * 2.0 / 7.5),
        ],
    ),
    (
        "eight-heads",
        "the ideal figure of teaching texts, as in Loomis, Figure Drawing for All It's Worth, 1943: 8 heads, the crotch \
         at 4, below the knee 2 (from memory)",
        &[("chin", 87.5), ("crotch", 50.0), ("knee", 25.0)],
    ),
];

impl Canon {
    /// The names of the canons that come with the program.
    pub fn names() -> Vec<&'static str> {
        CANONS.iter().map(|c| c.0).collect()
    }

    /// The canon of a name.
    pub fn named(name: &str) -> Option<Self> {
        CANONS
            .iter()
            .find(|c| c.0 == name)
            .map(|(name, source, heights)| Self {
                name: (*name).to_string(),
                source: (*source).to_string(),
                heights: heights.iter().map(|(n, h)| ((*n).to_string(), *h)).collect(),
            })
    }

    /// Another character's table, as `landmarks.csv` of its own check has it: of each landmark the drawn height, or the
    /// mesh's where none is drawn, between its own ground and crown. `None` where the table has no ground and crown.
    ///
    /// `lines` are its rows: name, drawn from the front, drawn from the side, mesh.
    pub fn of_table(name: &str, lines: &[(String, [Option<f64>; 3])]) -> Option<Self> {
        let height = |wanted: &str| {
            let (_, seen) = lines.iter().find(|l| l.0 == wanted)?;
            seen.iter().flatten().next().copied()
        };
        let (ground, crown) = (height("ground")?, height("crown")?);
        let tall = crown - ground;
        (tall > 0.0).then(|| Self {
            name: name.to_string(),
            source: "the landmarks of another character".to_string(),
            heights: lines
                .iter()
                .filter(|l| l.0 != "ground" && l.0 != "crown")
                .filter_map(|l| Some((l.0.clone(), 100.0 * (height(&l.0)? - ground) / tall)))
                .collect(),
        })
    }

    /// Height of a landmark, percent.
    pub fn height(&self, landmark: &str) -> Option<f64> {
        match landmark {
            "crown" => Some(100.0),
            "ground" => Some(0.0),
            _ => self.heights.iter().find(|h| h.0 == landmark).map(|h| h.1),
        }
    }

    /// Heads, from crown to chin, that the whole is high.
    pub fn heads(&self) -> Option<f64> {
        Some(100.0 / (100.0 - self.height("chin")?)).filter(|h| h.is_finite() && *h > 0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::anatomy::NAMES;

    #[test]
    fn canons_have_sources_and_known_landmarks_in_order() {
        for name in Canon::names() {
            let canon = Canon::named(name).expect("a canon");
            assert!(!canon.source.is_empty());
            assert!(
                canon.heights.iter().all(|h| NAMES.contains(&h.0.as_str())),
                "{name}"
            );
            assert!(canon.heights.windows(2).all(|w| w[0].1 > w[1].1), "{name}");
        }
        assert_eq!(Canon::named("eight-heads").and_then(|c| c.heads()), Some(8.0));
        assert!(Canon::named("nine-heads").is_none());
    }

    /// Published shares of two sources agree where both measure the same: wrist and fingertip of a hanging arm to 0.6 %
    /// of the stature (Drillis and Contini 1966; ANSUR II 2012).
    #[test]
    fn sources_agree() {
        let [a, b] = ["segments", "survey-men"].map(|n| Canon::named(n).expect("a canon"));
        for landmark in ["wrist", "fingertip", "knee"] {
            let off = a.height(landmark).expect("there") - b.height(landmark).expect("there");
            assert!(off.abs() < 0.8, "{landmark}: {off}");
        }
    }

    #[test]
    fn a_table_of_another_character() {
        let line = |name: &str, seen| (name.to_string(), seen);
        let table = [
            line("crown", [Some(110.0), None, Some(111.0)]),
            line("chin", [None, Some(85.0), None]),
            line("knee", [None, None, Some(35.0)]),
            line("ground", [Some(10.0), Some(10.0), Some(9.0)]),
        ];
        let canon = Canon::of_table("ally", &table).expect("ground and crown");
        assert_eq!(canon.height("chin"), Some(75.0));
        assert_eq!(canon.height("knee"), Some(25.0));
        assert_eq!(canon.heads(), Some(4.0));
        assert!(Canon::of_table("ally", &table[..3]).is_none());
    }
}
