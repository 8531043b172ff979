//! Least squares with few unknowns in each term: gathered into the normal equations and solved by a sparse Cholesky
//! factorisation.

use faer::Side;
use faer::prelude::Solve as _;
use faer::sparse::{SparseColMat, Triplet};

use crate::error::{Error, Result};

/// A sum of squares over unknowns.
#[derive(Debug, Clone)]
pub struct LeastSquares {
    /// Lower half of the normal equations' matrix; places that come several times are summed.
    entries: Vec<Triplet<usize, usize, f64>>,
    right: Vec<f64>,
}

impl LeastSquares {
    /// No terms yet, over so many unknowns.
    pub fn new(unknowns: usize) -> Self {
        Self {
            entries: Vec::new(),
            right: vec![0.0; unknowns],
        }
    }

    /// Adds `weight * (sum of shares - target)²`; `shares` has each unknown once, ascending.
    pub fn add(&mut self, shares: &[(usize, f64)], target: f64, weight: f64) {
        for (i, &(column, a)) in shares.iter().enumerate() {
            self.right[column] += weight * a * target;
            let below = shares[i..]
                .iter()
                .map(|&(row, b)| Triplet::new(row, column, weight * a * b));
            self.entries.extend(below);
        }
    }

    /// The unknowns for which the sum is least.
    ///
    /// # Errors
    /// Some unknown is in no term, or terms contradict each other beyond what numbers can hold.
    pub fn solve(&self) -> Result<Vec<f64>> {
        let count = self.right.len();
        if count == 0 {
            return Ok(Vec::new());
        }
        let failed = |why: String| Error::new(format!("the equations of the fit cannot be solved ({why})"));
        let matrix = SparseColMat::try_new_from_triplets(count, count, &self.entries)
            .map_err(|e| failed(format!("{e:?}")))?;
        let factors = matrix
            .as_ref()
            .sp_cholesky(Side::Lower)
            .map_err(|e| failed(format!("{e:?}")))?;
        let right = faer::Col::<f64>::from_fn(count, |i| self.right[i]);
        let found = factors.solve(&right);
        Ok((0..count).map(|i| found[i]).collect())
    }
}
