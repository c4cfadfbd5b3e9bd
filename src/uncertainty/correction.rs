//! The correction to first order, and the weights with the least expected squares.

use alloc::vec::Vec;

use num_complex::Complex64;

use crate::dense::{Cholesky, Matrix, Qr};
use crate::error::UncertaintyError;
use crate::influence::Covariance;
use crate::math;
use crate::vector::{UnbalanceVector, Vibration};

use super::estimate::Estimate;
use super::joint::{Uncertainty, reflection, rotation};
use super::response::Detectability;

/// The diagonal of R, relative to its first entry, below which planes are not told apart.
const TOLERANCE: f64 = 1e-12;

/// The least-squares correction of the bare rotor with its first-order covariance.
///
/// ```
/// # use counterpoise::{Uncertainty, UncertaintyError};
/// # fn show(uncertainty: &Uncertainty) -> Result<(), UncertaintyError> {
/// let correction = uncertainty.correction(&[])?;
/// for (plane, total) in correction.total().iter().enumerate() {
///     println!("plane {plane}: {}, known to {:.1} g mm", total.value().amount(), total.radius(0.95));
/// }
/// # Ok(()) }
/// ```
#[derive(Debug, Clone)]
pub struct CorrectionEstimate {
    total: Vec<Estimate<UnbalanceVector>>,
    covariance: Covariance,
    determined: bool,
}

impl CorrectionEstimate {
    /// The unbalance of every plane, counted from the bare rotor, with its 2x2 covariance.
    ///
    /// ```
    /// # use counterpoise::{CorrectionEstimate, Estimate, UnbalanceVector};
    /// # fn show(correction: &CorrectionEstimate) -> &[Estimate<UnbalanceVector>] {
    /// correction.total()
    /// # }
    /// ```
    pub fn total(&self) -> &[Estimate<UnbalanceVector>] {
        &self.total
    }

    /// Whether the weights of every plane were seen at all, by one channel at least. Where not, ask this first and say no more:
    /// the correction is not determined, it has no finite variance, and the first-order covariance means nothing. The
    /// [exact region](Uncertainty::correction_region) has no end then.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lead, window);
    /// # let trial = UnbalanceVector::from_components_gram_millimetres(10.0, 0.0)?;
    /// let mut estimator = Estimator::with_known_variances(&[channel], 1)?;
    /// let read = |amplitude| channel.reading(amplitude, 0.0)?.with_standard_deviation(0.05);
    /// estimator.add(Run::new("as found").reading(read(3.0)?))?;
    /// // A change of 0.1 with a scatter of 0.07 of the difference: perhaps none.
    /// estimator.add(Run::new("trial").mounted(0, trial).reading(read(2.9)?))?;
    /// let uncertainty = Uncertainty::of(&estimator.fit()?)?;
    /// assert!(!uncertainty.correction(&[])?.is_determined());
    /// assert!(!uncertainty.correction_region(0.95)?.is_bounded());
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn is_determined(&self) -> bool {
        self.determined
    }

    /// The covariance of all planes together, components in the order x, y of plane 0, then of plane 1, in (g mm)².
    ///
    /// ```
    /// # use counterpoise::{CorrectionEstimate, Covariance};
    /// # fn show(correction: &CorrectionEstimate) -> &Covariance {
    /// correction.covariance()
    /// # }
    /// ```
    pub const fn covariance(&self) -> &Covariance {
        &self.covariance
    }
}

/// The weights that leave the least expected squares when the coefficients are not sure.
///
/// ```
/// # use counterpoise::{Uncertainty, UncertaintyError};
/// # fn show(uncertainty: &Uncertainty) -> Result<(), UncertaintyError> {
/// let optimum = uncertainty.least_expected_squares(&[])?;
/// println!("{:?}: rms {:.3} instead of {:.3}", optimum.total(), optimum.expected_rms(), optimum.plain_expected_rms());
/// # Ok(()) }
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct ExpectedOptimum {
    total: Vec<UnbalanceVector>,
    expected: f64,
    plain: f64,
    weights: f64,
}

impl ExpectedOptimum {
    /// The unbalance of every plane, counted from the bare rotor.
    ///
    /// ```
    /// # use counterpoise::{ExpectedOptimum, UnbalanceVector};
    /// # fn show(optimum: &ExpectedOptimum) -> &[UnbalanceVector] {
    /// optimum.total()
    /// # }
    /// ```
    pub fn total(&self) -> &[UnbalanceVector] {
        &self.total
    }

    /// The expected weighted root mean square over the channels, with these weights: `√(E Σ g|v|²/Σ g)`.
    ///
    /// ```
    /// # fn show(optimum: &counterpoise::ExpectedOptimum) -> f64 {
    /// optimum.expected_rms()
    /// # }
    /// ```
    pub fn expected_rms(&self) -> f64 {
        math::sqrt(self.expected / self.weights)
    }

    /// The same with the plain least-squares correction; infinite where the coefficients determine none.
    ///
    /// ```
    /// # fn show(optimum: &counterpoise::ExpectedOptimum) -> f64 {
    /// optimum.plain_expected_rms()
    /// # }
    /// ```
    pub fn plain_expected_rms(&self) -> f64 {
        math::sqrt(self.plain / self.weights)
    }
}

impl Uncertainty {
    fn weights(&self, channel_weights: &[f64]) -> Result<Vec<f64>, UncertaintyError> {
        if channel_weights.is_empty() {
            return Ok(alloc::vec![1.0; self.channels]);
        }
        let weights = channel_weights;
        if weights.len() != self.channels {
            let what = "channel weights, one per channel";
            return Err(UncertaintyError::Count { what, expected: self.channels, got: weights.len() });
        }
        if let Some(&value) = weights.iter().find(|weight| !(0.0..=1e100).contains(*weight)) {
            let wanted = "zero or a positive number";
            return Err(UncertaintyError::BadNumber { what: "a channel weight", value, wanted });
        }
        if weights.iter().all(|&weight| weight == 0.0) {
            let wanted = "a positive one to a channel at least";
            return Err(UncertaintyError::BadNumber { what: "all channel weights", value: 0.0, wanted });
        }
        Ok(weights.to_vec())
    }

    /// The least-squares correction `argmin Σ g|v0 + H w|²`, counted from the bare rotor, with its covariance to first order.
    ///
    /// `dw = −(HᴴGH)⁻¹ [HᴴG (dv0 + dH w) + dHᴴ G r]`, with r what is left. The weights `g` are those of
    /// the channels, all 1 where the list is empty. Where a trial was not [clearly seen](Self::trial_response) it understates:
    /// ask for the [exact region](Self::correction_region).
    ///
    /// # Errors
    /// [`UncertaintyError::Undetermined`] where the coefficients determine none; [`UncertaintyError::Count`] and
    /// [`UncertaintyError::BadNumber`] for weights that do not fit.
    ///
    /// ```
    /// # use counterpoise::{CorrectionEstimate, Uncertainty, UncertaintyError};
    /// # fn show(uncertainty: &Uncertainty) -> Result<CorrectionEstimate, UncertaintyError> {
    /// uncertainty.correction(&[])
    /// # }
    /// ```
    pub fn correction(&self, channel_weights: &[f64]) -> Result<CorrectionEstimate, UncertaintyError> {
        let weights = self.weights(channel_weights)?;
        let (total, qr, scale) = self.least_squares(&weights)?;
        let inverse = qr.inverse_normal().ok_or(UncertaintyError::Undetermined)?;
        let entry = |i: usize, j: usize| inverse[(i, j)] / (scale * scale);
        // The Jacobian of w by every unknown: rows of w by columns of (v0, H) of every channel.
        let per_channel = self.planes + 1;
        let mut covariance = Covariance::zeros(self.planes);
        let columns = 2 * self.channels * per_channel;
        let mut jacobian = alloc::vec![alloc::vec![0.0; columns]; 2 * self.planes];
        for channel in 0..self.channels {
            let g = weights.get(channel).copied().unwrap_or(0.0);
            let left = self.predicted(channel, &total).value().complex();
            for plane in 0..self.planes {
                // −(HᴴGH)⁻¹ Hᴴ g, for one channel.
                let direct: Complex64 = (0..self.planes)
                    .map(|other| {
                        let h: Complex64 = self.unknown(self.place(channel, other + 1));
                        Complex64::default() - entry(plane, other) * h.conj() * g
                    })
                    .sum();
                for unknown in 0..per_channel {
                    let factor = match unknown.checked_sub(1) {
                        None => Complex64 { re: 1.0, im: 0.0 },
                        Some(other) => total.get(other).copied().unwrap_or_default().complex(),
                    };
                    let through = match unknown.checked_sub(1) {
                        None => Complex64::default(),
                        Some(other) => Complex64::default() - entry(plane, other) * left * g,
                    };
                    let (one, two) = (rotation(direct * factor), reflection(through));
                    for (row, (a, b)) in one.iter().zip(&two).enumerate() {
                        for (column, (a, b)) in a.iter().zip(b).enumerate() {
                            let at = 2 * self.place(channel, unknown) + column;
                            if let Some(place) =
                                jacobian.get_mut(2 * plane + row).and_then(|row| row.get_mut(at))
                            {
                                *place = a + b;
                            }
                        }
                    }
                }
            }
        }
        // C_w = J C Jᵀ
        let through = |row: &[f64]| -> Vec<f64> {
            (0..columns)
                .map(|j| row.iter().enumerate().map(|(i, a)| a * self.joint.entry(i, j)).sum())
                .collect()
        };
        for (i, row) in jacobian.iter().enumerate() {
            let carried = through(row);
            for (j, other) in jacobian.iter().enumerate().skip(i) {
                let entry = carried.iter().zip(other).map(|(a, b)| a * b).sum();
                covariance.set(i, j, entry);
                covariance.set(j, i, entry);
            }
        }
        let degrees = self.degrees_of_all();
        let estimate = |(plane, value): (usize, &UnbalanceVector)| {
            Estimate::new(*value, covariance.block(plane, plane).unwrap_or_default(), degrees)
        };
        let total = total.iter().enumerate().map(estimate).collect();
        let seen = |plane: usize| {
            (0..self.channels).any(|channel| {
                let response = self.trial_response(channel, plane);
                response.is_ok_and(|response| response.detectability() != Detectability::NotDetectable)
            })
        };
        let determined = (0..self.planes).all(seen);
        Ok(CorrectionEstimate { total, covariance, determined })
    }

    /// `argmin Σ g|v0 + H w|²`, with the factorisation of `√G H` and the power of two it was scaled by.
    pub(super) fn least_squares(
        &self,
        weights: &[f64],
    ) -> Result<(Vec<UnbalanceVector>, Qr<Complex64>, f64), UncertaintyError> {
        let root = |channel: usize| math::sqrt(weights.get(channel).copied().unwrap_or(0.0));
        let influence = |channel: usize, plane: usize| self.unknown(self.place(channel, plane + 1));
        let largest = (0..self.channels)
            .flat_map(|channel| (0..self.planes).map(move |plane| (channel, plane)))
            .map(|(channel, plane)| super::joint::modulus(influence(channel, plane)) * root(channel))
            .fold(0.0, f64::max);
        let scale = math::power_of_two_near(largest);
        let matrix = Matrix::from_fn(self.channels, self.planes, |channel, plane| {
            influence(channel, plane) * (root(channel) / scale)
        });
        let qr = Qr::factor(matrix);
        if self.channels < self.planes || qr.rank(TOLERANCE) < self.planes {
            return Err(UncertaintyError::Undetermined);
        }
        let rhs: Vec<Complex64> = (0..self.channels)
            .map(|channel| Complex64::default() - self.unknown(self.place(channel, 0)) * root(channel))
            .collect();
        let solved = qr.solve(&rhs).ok_or(UncertaintyError::Undetermined)?;
        Ok((solved.iter().map(|w| UnbalanceVector::computed(w / scale)).collect(), qr, scale))
    }

    /// The weights that minimise the *expected* weighted squares of the next vibration, over what is not known of `v0` and
    /// `H`, with their covariance as it stands: `argmin E Σ g|v0 + H w|²`. For one plane and one channel
    /// `w = −(H̄ v0 + c)/(|H|² + s_H²)` with `c = E[dH̄ dv0]`. Beside the plain correction it says what caution gains; it is
    /// shorter with stored coefficients, and may be longer or turned where `H` and `v0` come from the same runs. The weights
    /// `g` are those of the channels, all 1 where the list is empty.
    ///
    /// # Errors
    /// As [`correction`](Self::correction).
    ///
    /// ```
    /// # use counterpoise::{ExpectedOptimum, Uncertainty, UncertaintyError};
    /// # fn show(uncertainty: &Uncertainty) -> Result<ExpectedOptimum, UncertaintyError> {
    /// uncertainty.least_expected_squares(&[])
    /// # }
    /// ```
    pub fn least_expected_squares(
        &self,
        channel_weights: &[f64],
    ) -> Result<ExpectedOptimum, UncertaintyError> {
        let weights = self.weights(channel_weights)?;
        // Q_ij = Σ_k g_k E[x̄_i x_j] = Σ_k g_k (μ̄_i μ_j + tr-like part of C_ij), over v0 (0) and H_p (p).
        let size = self.planes + 1;
        let expected = |i: usize, j: usize| -> Complex64 {
            let of_channel = |channel: usize| {
                let (one, two) = (self.place(channel, i), self.place(channel, j));
                let [[rr, ri], [ir, ii]] = self.joint.block(one, two).unwrap_or_default();
                // E[dx̄_i dx_j] = (C_rr + C_ii) + j (C_ri − C_ir)
                let scatter = Complex64 { re: rr + ii, im: ri - ir };
                let weight = weights.get(channel).copied().unwrap_or(0.0);
                (self.unknown(one).conj() * self.unknown(two) + scatter) * weight
            };
            (0..self.channels).map(of_channel).sum()
        };
        let largest = (1..size).map(|i| expected(i, i).re).fold(0.0, f64::max);
        let scale = math::power_of_two_near(largest);
        let matrix = Matrix::from_fn(self.planes, self.planes, |i, j| expected(i + 1, j + 1) / scale);
        let factor = Cholesky::factor(&matrix).map_err(|_| UncertaintyError::Undetermined)?;
        let mut solved: Vec<Complex64> =
            (0..self.planes).map(|i| Complex64::default() - expected(i + 1, 0) / scale).collect();
        factor.solve(&mut solved);
        let total: Vec<UnbalanceVector> = solved.into_iter().map(UnbalanceVector::computed).collect();
        let squares = |total: &[UnbalanceVector]| -> f64 {
            (0..self.channels)
                .map(|channel| {
                    let next: Estimate<Vibration> = self.predicted(channel, total);
                    let [[rr, _], [_, ii]] = next.covariance();
                    let size = next.value().amplitude();
                    weights.get(channel).copied().unwrap_or(0.0) * (size * size + rr + ii)
                })
                .sum()
        };
        let plain = self.least_squares(&weights).map_or(f64::INFINITY, |(plain, ..)| squares(&plain));
        Ok(ExpectedOptimum { expected: squares(&total), plain, weights: weights.iter().sum(), total })
    }
}
