//! Disjoint sets of numbers: what belongs together, found by joining pairs.

/// Disjoint sets of numbers (Galler and Fischer 1964), the lowest member standing for its set.
#[derive(Debug, Clone)]
pub(crate) struct Sets {
    parent: Vec<u32>,
}

impl Sets {
    /// Each number below `count` in a set of its own.
    pub(crate) fn new(count: usize) -> Self {
        Self {
            parent: (0..count as u32).collect(),
        }
    }

    /// The lowest member of a number's set.
    pub(crate) fn root(&mut self, mut of: u32) -> u32 {
        while self.parent[of as usize] != of {
            let up = self.parent[self.parent[of as usize] as usize];
            self.parent[of as usize] = up;
            of = up;
        }
        of
    }

    /// Makes two sets one.
    pub(crate) fn join(&mut self, a: u32, b: u32) {
        let (a, b) = (self.root(a), self.root(b));
        self.parent[a.max(b) as usize] = a.min(b);
    }
}
