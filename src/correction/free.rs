//! Least squares without limits: `w = argmin Σ g |v + H w|²`, by QR with pivoting.

use alloc::vec::Vec;

use num_complex::Complex64;

use crate::dense::{Matrix, Qr, Scalar, norm};
use crate::error::CorrectionError;
use crate::influence::InfluenceMatrix;
use crate::math;
use crate::vector::Vibration;

/// The relative size of a diagonal entry of R below which its plane counts as a combination of the others, per row or
/// column and unit of rounding.
const ROUNDINGS: f64 = 64.0;

/// The least share in a combination without effect, of columns of equal length, that is called taking part in it.
const TAKES_PART: f64 = 1e-6;

/// The factored weighted influence matrix: `√g H D⁻¹`, with D powers of two that make the columns about equally long.
pub(super) struct Weighted {
    qr: Qr<Complex64>,
    scales: Vec<f64>,
    /// ‖√g H‖, the root of the sum of all squares.
    size: f64,
}

impl Weighted {
    /// Factors the matrix.
    ///
    /// # Errors
    /// [`CorrectionError::InseparablePlanes`] where the planes do not all have an effect of their own.
    pub(super) fn factored(influence: &InfluenceMatrix, roots: &[f64]) -> Result<Self, CorrectionError> {
        let (channels, planes) = (influence.channels().len(), influence.planes());
        let mut entries = Vec::with_capacity(channels * planes);
        for plane in 0..planes {
            let rows = influence.coefficients().chunks_exact(planes).zip(roots);
            entries
                .extend(rows.map(|(row, root)| row.get(plane).copied().unwrap_or_default().complex() * root));
        }
        let mut weighted =
            Matrix::from_columns(channels, planes, entries).ok_or(CorrectionError::NotRepresentable)?;
        let mut scales = Vec::with_capacity(planes);
        let mut squares = 0.0;
        for plane in 0..planes {
            let length = norm(weighted.column(plane));
            let scale = math::power_of_two_near(length);
            let reciprocal = 1.0 / scale;
            for entry in weighted.column_mut(plane) {
                *entry = entry.times(reciprocal);
            }
            squares += length * length;
            scales.push(scale);
        }
        let qr = Qr::factor(weighted);
        #[allow(clippy::cast_precision_loss)] // counts of channels and planes
        let tolerance = ROUNDINGS * channels.max(planes) as f64 * f64::EPSILON;
        let rank = qr.rank(tolerance);
        if rank < planes {
            return Err(CorrectionError::InseparablePlanes {
                planes: taking_part(&qr.null_combinations(rank)),
                rank,
                of: planes,
            });
        }
        Ok(Self { qr, scales, size: math::sqrt(squares) })
    }

    /// `w = −(√g H)⁺ √g v`.
    pub(super) fn solved(&self, now: &[Vibration], roots: &[f64]) -> Result<Vec<Complex64>, CorrectionError> {
        let weighted: Vec<Complex64> = now.iter().zip(roots).map(|(v, root)| v.complex() * root).collect();
        let mut solved = self.qr.solve_with(weighted).ok_or(CorrectionError::NotRepresentable)?;
        for (x, scale) in solved.iter_mut().zip(&self.scales) {
            *x = Complex64::ZERO - *x / *scale;
        }
        Ok(solved)
    }

    /// An upper bound of the condition number of `√g H`, cheap to have: `κ < 2/|det| (‖√g H‖/√n)ⁿ`, with `|det|` the
    /// product of the singular values, here of the diagonal of R.
    ///
    /// H. W. Guggenheimer, A. S. Edelman, C. R. Johnson, "A simple estimate of the condition number of a linear system",
    /// The College Mathematics Journal 26 (1995) 2-5, from memory.
    pub(super) fn condition_bound(&self) -> f64 {
        let factors = self.qr.factors();
        #[allow(clippy::cast_precision_loss)] // a count of planes
        let mean_size = self.size / math::sqrt(factors.columns() as f64);
        let ratio = |(k, scale): (usize, &f64)| mean_size / (factors.r(k, k).real().abs() * scale);
        2.0 * self.scales.iter().enumerate().map(ratio).product::<f64>()
    }
}

/// The planes that take part in any of the combinations without effect.
fn taking_part(combinations: &[Vec<Complex64>]) -> Vec<usize> {
    let planes = combinations.first().map_or(0, Vec::len);
    let takes_part = |plane: &usize| {
        combinations.iter().any(|z| z.get(*plane).is_some_and(|entry| entry.modulus() > TAKES_PART))
    };
    (0..planes).filter(takes_part).collect()
}
