//! A real covariance matrix over complex unknowns.

use alloc::vec;
use alloc::vec::Vec;

use num_complex::Complex64;

use crate::error::EstimateError;

/// The covariance of complex unknowns `z_0, z_1, …`: a real symmetric matrix over `Re z_0, Im z_0, Re z_1, Im z_1, …`.
///
/// Scatter that is stated in amplitude and phase is not circular, so a complex covariance would not hold it: the full
/// real matrix does. For circular scatter the block of two unknowns is `[[a, -b], [b, a]]`, with `2(a + jb)` the complex
/// covariance `E[z_i conj(z_j)]`.
///
/// ```
/// use counterpoise::Covariance;
/// let covariance = Covariance::independent(&[0.04, 0.01])?;
/// assert_eq!(covariance.block(0, 0), Some([[0.04, 0.0], [0.0, 0.04]]));
/// assert_eq!(covariance.block(0, 1), Some([[0.0, 0.0], [0.0, 0.0]]));
/// # Ok::<(), counterpoise::EstimateError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Covariance {
    unknowns: usize,
    /// Row-major, `2 unknowns` by `2 unknowns`.
    entries: Vec<f64>,
}

impl Covariance {
    /// Circular scatter of unknowns that have nothing to do with each other: one variance per unknown, of each of its
    /// two components.
    ///
    /// # Errors
    /// [`EstimateError::CovarianceEntry`] for a variance that is negative or not finite.
    ///
    /// ```
    /// # use counterpoise::Covariance;
    /// assert_eq!(Covariance::independent(&[0.5])?.get(1, 1), Some(0.5));
    /// assert!(Covariance::independent(&[-0.5]).is_err());
    /// # Ok::<(), counterpoise::EstimateError>(())
    /// ```
    pub fn independent(variances: &[f64]) -> Result<Self, EstimateError> {
        let mut covariance = Self::zeros(variances.len());
        for (unknown, &variance) in variances.iter().enumerate() {
            if !(variance.is_finite() && variance >= 0.0) {
                return Err(EstimateError::CovarianceEntry {
                    row: 2 * unknown,
                    column: 2 * unknown,
                    value: variance,
                });
            }
            covariance.set(2 * unknown, 2 * unknown, variance);
            covariance.set(2 * unknown + 1, 2 * unknown + 1, variance);
        }
        Ok(covariance)
    }

    /// A covariance from all its entries, row by row: `(2 unknowns)²` numbers.
    ///
    /// # Errors
    /// [`EstimateError::Count`] for another count, [`EstimateError::CovarianceEntry`] where an entry is not finite, a
    /// variance negative, or the matrix not symmetric to the last digit.
    ///
    /// ```
    /// # use counterpoise::Covariance;
    /// let covariance = Covariance::from_entries(1, &[0.04, 0.01, 0.01, 0.09])?;
    /// assert_eq!(covariance.get(0, 1), Some(0.01));
    /// assert!(Covariance::from_entries(1, &[0.04, 0.01, 0.02, 0.09]).is_err());
    /// # Ok::<(), counterpoise::EstimateError>(())
    /// ```
    pub fn from_entries(unknowns: usize, entries: &[f64]) -> Result<Self, EstimateError> {
        let size = unknowns.saturating_mul(2);
        let expected = size.saturating_mul(size);
        if entries.len() != expected {
            return Err(EstimateError::Count { what: "covariance entries", expected, got: entries.len() });
        }
        let covariance = Self { unknowns, entries: entries.to_vec() };
        for row in 0..size {
            for column in 0..size {
                let (entry, mirrored) = (covariance.entry(row, column), covariance.entry(column, row));
                if !entry.is_finite() || entry != mirrored || (row == column && entry < 0.0) {
                    return Err(EstimateError::CovarianceEntry { row, column, value: entry });
                }
            }
        }
        Ok(covariance)
    }

    pub(crate) fn zeros(unknowns: usize) -> Self {
        Self { unknowns, entries: vec![0.0; 4 * unknowns * unknowns] }
    }

    pub(crate) fn set(&mut self, row: usize, column: usize, value: f64) {
        let size = 2 * self.unknowns;
        if let Some(entry) = self.entries.get_mut(row * size + column) {
            *entry = value;
        }
    }

    /// An entry that is known to exist; 0 outside.
    pub(crate) fn entry(&self, row: usize, column: usize) -> f64 {
        self.entries.get(row * 2 * self.unknowns + column).copied().unwrap_or(0.0)
    }

    /// The number of complex unknowns; the matrix has twice as many rows.
    ///
    /// ```
    /// # use counterpoise::Covariance;
    /// assert_eq!(Covariance::independent(&[0.5, 0.5, 0.1])?.unknowns(), 3);
    /// # Ok::<(), counterpoise::EstimateError>(())
    /// ```
    pub const fn unknowns(&self) -> usize {
        self.unknowns
    }

    /// One entry; `None` outside the matrix.
    ///
    /// ```
    /// # use counterpoise::Covariance;
    /// assert_eq!(Covariance::independent(&[0.5])?.get(2, 0), None);
    /// # Ok::<(), counterpoise::EstimateError>(())
    /// ```
    pub fn get(&self, row: usize, column: usize) -> Option<f64> {
        let size = 2 * self.unknowns;
        (row < size && column < size).then(|| self.entry(row, column))
    }

    /// The two-by-two block of two unknowns: rows `Re z_i, Im z_i`, columns `Re z_j, Im z_j`.
    ///
    /// ```
    /// # use counterpoise::Covariance;
    /// assert_eq!(Covariance::independent(&[0.5])?.block(0, 1), None);
    /// # Ok::<(), counterpoise::EstimateError>(())
    /// ```
    pub fn block(&self, i: usize, j: usize) -> Option<[[f64; 2]; 2]> {
        (i < self.unknowns && j < self.unknowns).then(|| {
            let at = |row, column| self.entry(2 * i + row, 2 * j + column);
            [[at(0, 0), at(0, 1)], [at(1, 0), at(1, 1)]]
        })
    }

    /// All entries, row by row.
    ///
    /// ```
    /// # use counterpoise::Covariance;
    /// assert_eq!(Covariance::independent(&[0.5])?.entries(), [0.5, 0.0, 0.0, 0.5]);
    /// # Ok::<(), counterpoise::EstimateError>(())
    /// ```
    pub fn entries(&self) -> &[f64] {
        &self.entries
    }

    /// A circular covariance, as the complex matrix it stands for, times the conjugates of a vector: `C z̄`.
    pub(crate) fn times_conjugate(&self, vector: &[Complex64]) -> Vec<Complex64> {
        let row = |i: usize| {
            let term = |(j, z): (usize, &Complex64)| {
                let entry = Complex64 { re: self.entry(2 * i, 2 * j), im: self.entry(2 * i + 1, 2 * j) };
                entry * z.conj()
            };
            vector.iter().enumerate().map(term).sum()
        };
        (0..self.unknowns).map(row).collect()
    }

    /// Adds `B(g) S B(g)ᵀ`: what a scatter S of one complex number does to unknowns that change by g for each unit of it.
    pub(crate) fn add_carried(&mut self, gains: &[Complex64], scatter: [[f64; 2]; 2]) {
        let rows = |gain: &Complex64| [[gain.re, 0.0 - gain.im], [gain.im, gain.re]];
        let jacobian: Vec<[f64; 2]> = gains.iter().flat_map(rows).collect();
        self.add_product(&jacobian, scatter);
    }

    /// Adds `J S Jᵀ`, J by its rows.
    pub(crate) fn add_product(&mut self, jacobian: &[[f64; 2]], scatter: [[f64; 2]; 2]) {
        for (row, left) in jacobian.iter().enumerate() {
            let carried = [
                left[0] * scatter[0][0] + left[1] * scatter[1][0],
                left[0] * scatter[0][1] + left[1] * scatter[1][1],
            ];
            for (column, right) in jacobian.iter().enumerate() {
                let entry = self.entry(row, column) + carried[0] * right[0] + carried[1] * right[1];
                self.set(row, column, entry);
            }
        }
    }

    /// The covariance times a positive factor.
    pub(crate) fn scaled(&self, factor: f64) -> Self {
        Self { unknowns: self.unknowns, entries: self.entries.iter().map(|entry| entry * factor).collect() }
    }

    /// The covariance of the unknowns from number `first` on.
    pub(crate) fn past(&self, first: usize) -> Self {
        let mut part = Self::zeros(self.unknowns.saturating_sub(first));
        for row in 0..2 * part.unknowns {
            for column in 0..2 * part.unknowns {
                part.set(row, column, self.entry(2 * first + row, 2 * first + column));
            }
        }
        part
    }
}
