//! What a correction looks like: what to add, what is left, and the proof.

use alloc::vec::Vec;

use num_complex::Complex64;

use crate::caution::Caution;
use crate::vector::{UnbalanceVector, Vibration};

/// A correction: what to add in every plane, and what is then left.
///
/// ```
/// # use counterpoise::*;
/// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
/// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
/// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
/// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
/// # let influence = InfluenceMatrix::new(&channels, 1, &[h(2e-3)?, h(1e-3)?])?;
/// # let now = [Vibration::from_components(4.0, 0.0)?, Vibration::from_components(3.0, 0.0)?];
/// # let answer = CorrectionQuestion::new(&influence, &now)?.solve()?;
/// assert!((answer.added()[0].amount().gram_millimetres() - 2200.0).abs() < 1e-9);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Correction {
    pub(super) added: Vec<UnbalanceVector>,
    pub(super) total: Vec<UnbalanceVector>,
    pub(super) predicted: Vec<Vibration>,
    pub(super) roots: Vec<f64>,
    pub(super) value: f64,
    pub(super) certificate: Certificate,
    pub(super) cautions: Vec<Caution>,
}

impl Correction {
    /// What to add to what is mounted now, plane by plane.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// # let influence = InfluenceMatrix::new(&channels, 1, &[h(2e-3)?, h(1e-3)?])?;
    /// # let now = [Vibration::from_components(4.0, 0.0)?, Vibration::from_components(3.0, 0.0)?];
    /// # let answer = CorrectionQuestion::new(&influence, &now)?.solve()?;
    /// assert!((answer.added()[0].x_gram_millimetres() - -2200.0).abs() < 1e-9);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn added(&self) -> &[UnbalanceVector] {
        &self.added
    }

    /// What is mounted afterwards, plane by plane: what was said to be mounted now, and what is added.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// # let influence = InfluenceMatrix::new(&channels, 1, &[h(2e-3)?, h(1e-3)?])?;
    /// # let now = [Vibration::from_components(4.0, 0.0)?, Vibration::from_components(3.0, 0.0)?];
    /// # let answer = CorrectionQuestion::new(&influence, &now)?.solve()?;
    /// // Nothing was said to be mounted now.
    /// assert_eq!(answer.total(), answer.added());
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn total(&self) -> &[UnbalanceVector] {
        &self.total
    }

    /// The vibration that is left at every channel, as predicted from the coefficients: `r = v + H w`.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// # let influence = InfluenceMatrix::new(&channels, 1, &[h(2e-3)?, h(1e-3)?])?;
    /// # let now = [Vibration::from_components(4.0, 0.0)?, Vibration::from_components(3.0, 0.0)?];
    /// # let answer = CorrectionQuestion::new(&influence, &now)?.solve()?;
    /// assert!((answer.predicted()[1].amplitude() - 0.8).abs() < 1e-12);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn predicted(&self) -> &[Vibration] {
        &self.predicted
    }

    /// The value of the objective: `√(Σ g |r|²)` or `max √g |r|`.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// # let influence = InfluenceMatrix::new(&channels, 1, &[h(2e-3)?, h(1e-3)?])?;
    /// # let now = [Vibration::from_components(4.0, 0.0)?, Vibration::from_components(3.0, 0.0)?];
    /// # let answer = CorrectionQuestion::new(&influence, &now)?.solve()?;
    /// assert!((answer.objective_value() - 0.8_f64.sqrt()).abs() < 1e-12);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn objective_value(&self) -> f64 {
        self.value
    }

    /// The weighted root mean square of what is left: `√(Σ g |r|² / Σ g)`.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// # let influence = InfluenceMatrix::new(&channels, 1, &[h(2e-3)?, h(1e-3)?])?;
    /// # let now = [Vibration::from_components(4.0, 0.0)?, Vibration::from_components(3.0, 0.0)?];
    /// # let answer = CorrectionQuestion::new(&influence, &now)?.solve()?;
    /// assert!((answer.weighted_rms() - 0.4_f64.sqrt()).abs() < 1e-12);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn weighted_rms(&self) -> f64 {
        weighted_rms(&self.predicted, &self.roots)
    }

    /// The largest amplitude that is left, without regard to weights, each in its channel's unit.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// # let influence = InfluenceMatrix::new(&channels, 1, &[h(2e-3)?, h(1e-3)?])?;
    /// # let now = [Vibration::from_components(4.0, 0.0)?, Vibration::from_components(3.0, 0.0)?];
    /// # let answer = CorrectionQuestion::new(&influence, &now)?.solve()?;
    /// assert!((answer.largest_amplitude() - 0.8).abs() < 1e-12);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn largest_amplitude(&self) -> f64 {
        self.predicted.iter().map(|vibration| vibration.amplitude()).fold(0.0, f64::max)
    }

    /// The largest weighted amplitude that is left: `max √g |r|`.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// # let influence = InfluenceMatrix::new(&channels, 1, &[h(2e-3)?, h(1e-3)?])?;
    /// # let now = [Vibration::from_components(4.0, 0.0)?, Vibration::from_components(3.0, 0.0)?];
    /// # let answer = CorrectionQuestion::new(&influence, &now)?.solve()?;
    /// assert!((answer.largest_weighted_amplitude() - 0.8).abs() < 1e-12);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn largest_weighted_amplitude(&self) -> f64 {
        largest_weighted_amplitude(&self.predicted, &self.roots)
    }

    /// The proof that no weights do better.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// # let influence = InfluenceMatrix::new(&channels, 1, &[h(2e-3)?, h(1e-3)?])?;
    /// # let now = [Vibration::from_components(4.0, 0.0)?, Vibration::from_components(3.0, 0.0)?];
    /// # let answer = CorrectionQuestion::new(&influence, &now)?.solve()?;
    /// let gap = answer.objective_value() - answer.certificate().lower_bound();
    /// assert!(gap.abs() < 1e-12);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn certificate(&self) -> &Certificate {
        &self.certificate
    }

    /// What to think of before mounting it.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// # let influence = InfluenceMatrix::new(&channels, 1, &[h(2e-3)?, h(1e-3)?])?;
    /// # let now = [Vibration::from_components(4.0, 0.0)?, Vibration::from_components(3.0, 0.0)?];
    /// # let answer = CorrectionQuestion::new(&influence, &now)?.solve()?;
    /// assert!(answer.cautions().is_empty());
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn cautions(&self) -> &[Caution] {
        &self.cautions
    }
}

/// The proof of an optimum: a dual point, and the bound it sets.
///
/// For any `y` with `Σ |y_k|/√g_k ≤ 1` (min-max) or `Σ |y_k|²/g_k ≤ 1` (least squares), over the channels with a weight, zero in the others, and with `Σ_k conj(H_kp) y_k = 0`
/// in every plane without a limit, no admissible weights have a value below
/// `Re Σ conj(y_k) v_k − Σ_p L_p |Σ_k conj(H_kp) y_k|`.
///
/// ```
/// # use counterpoise::*;
/// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
/// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
/// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
/// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
/// # let influence = InfluenceMatrix::new(&channels, 1, &[h(2e-3)?, h(1e-3)?])?;
/// # let now = [Vibration::from_components(4.0, 0.0)?, Vibration::from_components(3.0, 0.0)?];
/// # let answer = CorrectionQuestion::new(&influence, &now)?.solve()?;
/// // y stands against v with the value itself, and against H with nothing.
/// let y = answer.certificate().dual();
/// let in_plane = y[0].re * 2e-3 + y[1].re * 1e-3;
/// assert!(in_plane.abs() < 1e-15);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Certificate {
    pub(super) lower_bound: f64,
    pub(super) dual: Vec<Complex64>,
    pub(super) active_channels: Vec<ActiveChannel>,
    pub(super) planes_at_limit: Vec<PlaneAtLimit>,
}

impl Certificate {
    /// What no admissible weights can fall below, in the unit of the objective value.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// # let influence = InfluenceMatrix::new(&channels, 1, &[h(2e-3)?, h(1e-3)?])?;
    /// # let now = [Vibration::from_components(4.0, 0.0)?, Vibration::from_components(3.0, 0.0)?];
    /// # let answer = CorrectionQuestion::new(&influence, &now)?.solve()?;
    /// assert!((answer.certificate().lower_bound() - 0.8_f64.sqrt()).abs() < 1e-12);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn lower_bound(&self) -> f64 {
        self.lower_bound
    }

    /// The dual point `y`, one number per channel.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// # let influence = InfluenceMatrix::new(&channels, 1, &[h(2e-3)?, h(1e-3)?])?;
    /// # let now = [Vibration::from_components(4.0, 0.0)?, Vibration::from_components(3.0, 0.0)?];
    /// # let answer = CorrectionQuestion::new(&influence, &now)?.solve()?;
    /// assert_eq!(answer.certificate().dual().len(), 2);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn dual(&self) -> &[Complex64] {
        &self.dual
    }

    /// The channels that decide a min-max value, with their shares, which sum to 1; empty for least squares.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// # let influence = InfluenceMatrix::new(&channels, 1, &[h(2e-3)?, h(1e-3)?])?;
    /// # let now = [Vibration::from_components(4.0, 0.0)?, Vibration::from_components(3.0, 0.0)?];
    /// let answer = CorrectionQuestion::new(&influence, &now)?.objective(Objective::MinMax).solve()?;
    /// // Both channels end up equally bad.
    /// assert_eq!(answer.certificate().active_channels().len(), 2);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn active_channels(&self) -> &[ActiveChannel] {
        &self.active_channels
    }

    /// The planes at their limit, each with what one g mm more would take off the value.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// # let influence = InfluenceMatrix::new(&channels, 1, &[h(2e-3)?, h(1e-3)?])?;
    /// # let now = [Vibration::from_components(4.0, 0.0)?, Vibration::from_components(3.0, 0.0)?];
    /// let limit = Unbalance::from_gram_millimetres(1000.0)?;
    /// let answer = CorrectionQuestion::new(&influence, &now)?.limit_added(0, limit).solve()?;
    /// assert_eq!(answer.certificate().planes_at_limit().len(), 1);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn planes_at_limit(&self) -> &[PlaneAtLimit] {
        &self.planes_at_limit
    }
}

/// A channel that decides a min-max value.
///
/// ```
/// # fn show(certificate: &counterpoise::Certificate) {
/// for active in certificate.active_channels() {
///     println!("channel {}: {:.0} %", active.channel, 100.0 * active.share);
/// }
/// # }
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct ActiveChannel {
    /// The channel, counted from 0.
    pub channel: usize,
    /// Its share; all sum to 1.
    pub share: f64,
}

/// A plane whose limit binds.
///
/// ```
/// # fn show(certificate: &counterpoise::Certificate) {
/// for at_limit in certificate.planes_at_limit() {
///     println!("plane {}: {:.1e} less for each g mm more", at_limit.plane, at_limit.gain_per_gram_millimetre);
/// }
/// # }
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct PlaneAtLimit {
    /// The plane, counted from 0.
    pub plane: usize,
    /// What one g mm more would take off the value.
    pub gain_per_gram_millimetre: f64,
}

/// `√(Σ g |r|² / Σ g)`, with the roots of the weights.
pub(super) fn weighted_rms(residuals: &[Vibration], roots: &[f64]) -> f64 {
    let weights: f64 = roots.iter().map(|root| root * root).sum();
    root_of_weighted_squares(residuals, roots) / crate::math::sqrt(weights)
}

/// `√(Σ g |r|²)`, with the roots of the weights.
pub(super) fn root_of_weighted_squares(residuals: &[Vibration], roots: &[f64]) -> f64 {
    let scale = power_of_two_of_largest(residuals, roots);
    scale * crate::math::sqrt(scaled_squares(residuals, roots, scale).sum::<f64>())
}

/// `max √g |r|`, with the roots of the weights.
pub(super) fn largest_weighted_amplitude(residuals: &[Vibration], roots: &[f64]) -> f64 {
    let scale = power_of_two_of_largest(residuals, roots);
    scale * crate::math::sqrt(scaled_squares(residuals, roots, scale).fold(0.0, f64::max))
}

/// `g |r|²` over the square of a scale, so that no square overflows or vanishes that matters.
fn scaled_squares(residuals: &[Vibration], roots: &[f64], scale: f64) -> impl Iterator<Item = f64> {
    residuals.iter().zip(roots).map(move |(residual, root)| {
        let Complex64 { re, im } = residual.complex() * (*root / scale);
        re * re + im * im
    })
}

/// The power of two next to the largest weighted component.
pub(super) fn power_of_two_of_largest(residuals: &[Vibration], roots: &[f64]) -> f64 {
    let largest = |(residual, root): (&Vibration, &f64)| {
        let Complex64 { re, im } = residual.complex();
        re.abs().max(im.abs()) * root
    };
    crate::math::power_of_two_near(residuals.iter().zip(roots).map(largest).fold(0.0, f64::max))
}
