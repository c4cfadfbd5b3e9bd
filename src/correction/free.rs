//! Least squares without limits: `w = argmin Σ g |v + H w|²`, by QR with pivoting.

use alloc::vec;
use alloc::vec::Vec;

use num_complex::Complex64;

use crate::dense::{Matrix, Qr, Scalar, norm};
use crate::error::CorrectionError;
use crate::influence::InfluenceMatrix;
use crate::math;
use crate::vector::{Influence, Vibration};

/// The relative size of a diagonal entry of R below which its plane counts as a combination of the others, per row or
/// column and unit of rounding.
const ROUNDINGS: f64 = 64.0;

/// The least share in a combination without effect, of columns of equal length, that is called taking part in it.
const TAKES_PART: f64 = 1e-6;

/// The factored weighted influence matrix: `√g H D⁻¹`, with D powers of two that make the columns about equally long.
pub(super) struct Weighted<'a> {
    influence: &'a InfluenceMatrix,
    roots: &'a [f64],
    qr: Qr<Complex64>,
    /// The channel of every row, by falling weight: elimination with the heavy rows first loses nothing to them.
    order: Vec<usize>,
    scales: Vec<f64>,
    /// ‖√g H‖, the root of the sum of all squares.
    size: f64,
}

/// A least-squares optimum without limits, with what proves it.
pub(super) struct Free {
    /// What to add, per plane.
    pub(super) added: Vec<Complex64>,
    /// What no weights can fall below, whatever rounding did.
    pub(super) lower_bound: f64,
    /// The dual point, per channel; all zero where nothing but rounding is left.
    pub(super) dual: Vec<Complex64>,
}

impl<'a> Weighted<'a> {
    /// Factors the matrix.
    ///
    /// # Errors
    /// [`CorrectionError::InseparablePlanes`] where the planes do not all have an effect of their own.
    pub(super) fn factored(
        influence: &'a InfluenceMatrix,
        roots: &'a [f64],
    ) -> Result<Self, CorrectionError> {
        let (channels, planes) = (influence.channels().len(), influence.planes());
        let root = |channel: usize| roots.get(channel).copied().unwrap_or(0.0);
        let mut order: Vec<usize> = (0..channels).collect();
        if !roots.is_sorted_by(|a, b| a >= b) {
            order.sort_by(|&a, &b| root(b).total_cmp(&root(a)));
        }
        let mut entries = Vec::with_capacity(channels * planes);
        let mut rows: Vec<(&[Influence], f64)> =
            influence.coefficients().chunks_exact(planes).zip(roots.iter().copied()).collect();
        // Stable, as the order of the channels is.
        rows.sort_by(|(_, a), (_, b)| b.total_cmp(a));
        for plane in 0..planes {
            let entry = |(row, root): &(&[Influence], f64)| {
                row.get(plane).copied().unwrap_or_default().complex() * *root
            };
            entries.extend(rows.iter().map(entry));
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
        Ok(Self { influence, roots, qr, order, scales, size: math::sqrt(squares) })
    }

    /// `w = −(√g H)⁺ √g v`, with the proof: what is left of `√g v` beside the columns of `√g H`.
    pub(super) fn solved(&self, now: &[Vibration]) -> Result<Free, CorrectionError> {
        let planes = self.scales.len();
        let of = |channel: usize| now.get(channel).copied().unwrap_or_default().complex();
        let root = |channel: usize| self.roots.get(channel).copied().unwrap_or(0.0);
        let factors = self.qr.factors();
        let mut left: Vec<Complex64> = self.order.iter().map(|&k| of(k) * root(k)).collect();
        factors.solve(&mut left).ok_or(CorrectionError::NotRepresentable)?;
        // The first entries are the solution, the others what of Qᴴ √g v no weights can reach.
        let mut added = vec![Complex64::ZERO; planes];
        for ((w, x), scale) in added.iter_mut().zip(&mut left).zip(&self.scales) {
            *w = Complex64::ZERO - *x / *scale;
            *x = Complex64::ZERO;
        }
        let optimum = norm(&left);
        #[allow(clippy::cast_precision_loss)] // counts of channels and planes
        let rounding = 4.0 * (planes + 1) as f64 * f64::EPSILON * self.size_of_terms(now, &added);
        let mut dual = vec![Complex64::ZERO; now.len()];
        // Also where the sum of squares is not a number.
        if !(optimum > rounding && optimum >= f64::MIN_POSITIVE) {
            return Ok(Free { added, lower_bound: 0.0, dual });
        }
        factors.apply(&mut left);
        let reciprocal = 1.0 / optimum;
        for (&channel, rest) in self.order.iter().zip(&left) {
            // y = √g ρ/‖ρ‖, with ρ what is left
            if let Some(y) = dual.get_mut(channel) {
                *y = rest.times(reciprocal).times(root(channel));
            }
        }
        Ok(Free { added, lower_bound: optimum - rounding, dual })
    }

    /// `√(Σ g (|v| + Σ_p |H_kp w_p|)²)`, in units of whose rounding the residuals are uncertain.
    fn size_of_terms(&self, now: &[Vibration], added: &[Complex64]) -> f64 {
        let size = |z: Complex64| z.re.abs() + z.im.abs();
        let weights: Vec<f64> = added.iter().map(|&w| size(w)).collect();
        let mut squares = 0.0;
        let rows = self.influence.coefficients().chunks_exact(added.len());
        for ((v, row), root) in now.iter().zip(rows).zip(self.roots) {
            let mut terms = size(v.complex());
            for (h, w) in row.iter().zip(&weights) {
                terms += size(h.complex()) * w;
            }
            squares += (terms * root) * (terms * root);
        }
        // Beyond the range of squares it is infinite, and nothing is proven.
        math::sqrt(squares)
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
