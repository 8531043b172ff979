//! What a check hands on: the faults, without words about why they matter.

use super::model::Outcome;

/// Faults of one check. Indices of the audited mesh.
#[derive(Debug, Clone, Default)]
pub struct Found {
    /// Vertices at fault.
    pub vertices: Vec<u32>,
    /// Edges at fault.
    pub edges: Vec<[u32; 2]>,
    /// Faces at fault.
    pub faces: Vec<u32>,
    /// Number of faults.
    pub count: usize,
    /// What was found, one sentence without a full stop.
    pub text: String,
    /// Pass unless it says otherwise.
    pub outcome: Option<Outcome>,
    /// Places that the check itself tells apart; where there are none they are found from the indices.
    pub spots: Vec<Spot>,
}

/// A place with its own words.
#[derive(Debug, Clone, Default)]
pub struct Spot {
    /// Vertices at the place.
    pub vertices: Vec<u32>,
    /// What is there.
    pub text: String,
    /// Where, if not in the middle of its vertices.
    pub at: Option<[f64; 3]>,
}

impl Found {
    /// Nothing found.
    pub fn nothing(text: impl Into<String>) -> Self {
        Self {
            text: text.into(),
            ..Self::default()
        }
    }

    /// Vertices at fault; what is said when there are none and when there are.
    pub fn vertices(
        vertices: Vec<u32>,
        outcome: Outcome,
        none: &str,
        some: impl Fn(usize) -> String,
    ) -> Self {
        let count = vertices.len();
        Self {
            vertices,
            ..Self::default()
        }
        .counted(count, outcome, none, some)
    }

    /// The same for edges.
    pub fn edges(edges: Vec<[u32; 2]>, outcome: Outcome, none: &str, some: impl Fn(usize) -> String) -> Self {
        let count = edges.len();
        Self {
            edges,
            ..Self::default()
        }
        .counted(count, outcome, none, some)
    }

    /// The same for faces.
    pub fn faces(faces: Vec<u32>, outcome: Outcome, none: &str, some: impl Fn(usize) -> String) -> Self {
        let count = faces.len();
        Self {
            faces,
            ..Self::default()
        }
        .counted(count, outcome, none, some)
    }

    fn counted(mut self, count: usize, outcome: Outcome, none: &str, some: impl Fn(usize) -> String) -> Self {
        self.count = count;
        self.text = if count == 0 { none.to_string() } else { some(count) };
        self.outcome = (count > 0).then_some(outcome);
        self
    }
}

/// `1 face`, `2 faces`, `1 vertex`, `2 vertices`.
pub fn counted(count: usize, one: &str) -> String {
    if count == 1 {
        format!("1 {one}")
    } else if one == "vertex" {
        format!("{count} vertices")
    } else {
        format!("{count} {one}s")
    }
}
