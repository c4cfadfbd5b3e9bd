//! What is believed of the coefficients before the runs of this job.

use alloc::vec::Vec;

use crate::error::{EstimateError, QuantityError};
use crate::vector::Influence;

use super::covariance::Covariance;
use super::fit::InfluenceFit;
use super::matrix::InfluenceMatrix;

/// Coefficients of an earlier job or of a sister machine, and how far those of this machine may differ from them.
///
/// With a prior and one reading the estimator does one-shot balancing; with runs, an update; the more the runs say, the
/// less the prior weighs. It is Gaussian: a mean, and for every channel a covariance over the planes.
///
/// ```
/// use counterpoise::{
///     Channel, Detector, Influence, InfluenceMatrix, PhaseSense, Prior, Speed, SpeedWindow, VibrationScale,
///     VibrationUnit,
/// };
/// let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
/// let channel = Channel::new(1, unit, PhaseSense::Lag, SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?);
/// let stored = [Influence::from_components_per_gram_millimetre(2e-4, -1e-4)?];
/// let matrix = InfluenceMatrix::new(&[channel], 1, &stored)?;
/// // Machines of this type differ by some 20 %.
/// let prior = Prior::with_relative_spread(matrix, 0.20)?;
/// assert!((prior.covariances()[0].entries()[0] - (0.2f64 * 0.2) * 5e-8).abs() < 1e-20);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Prior {
    mean: InfluenceMatrix,
    /// One per channel, over the planes.
    covariances: Vec<Covariance>,
}

impl Prior {
    /// Coefficients that may each differ by a fraction of their size, in any direction: the standard deviation of each
    /// component is the fraction times `|H|`.
    ///
    /// # Errors
    /// [`EstimateError::PriorCovariance`] where the fraction is not positive and finite, or a coefficient is zero.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lead, window);
    /// # let h = Influence::from_components_per_gram_millimetre(2e-3, 0.0)?;
    /// # let matrix = InfluenceMatrix::new(&[channel], 1, &[h])?;
    /// let prior = Prior::with_relative_spread(matrix, 0.5)?;
    /// assert!((prior.covariances()[0].entries()[0] - 1e-6).abs() < 1e-18);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn with_relative_spread(mean: InfluenceMatrix, fraction: f64) -> Result<Self, EstimateError> {
        let spread = |influence: &Influence| fraction * influence.per_gram_millimetre();
        let deviations: Vec<f64> = mean.coefficients().iter().map(spread).collect();
        Self::with_standard_deviations(mean, &deviations)
    }

    /// Coefficients that may each differ by a standard deviation of its own, per component and g mm, in the order of the
    /// coefficients.
    ///
    /// # Errors
    /// [`EstimateError::Count`] for another count, [`EstimateError::PriorCovariance`] where one is not positive and
    /// finite.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lead, window);
    /// # let h = Influence::from_components_per_gram_millimetre(2e-3, 0.0)?;
    /// # let matrix = InfluenceMatrix::new(&[channel], 1, &[h])?;
    /// let prior = Prior::with_standard_deviations(matrix, &[1e-3])?;
    /// assert!((prior.covariances()[0].entries()[0] - 1e-6).abs() < 1e-18);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn with_standard_deviations(
        mean: InfluenceMatrix,
        standard_deviations: &[f64],
    ) -> Result<Self, EstimateError> {
        if standard_deviations.len() != mean.coefficients().len() {
            return Err(EstimateError::Count {
                what: "standard deviations, one per coefficient",
                expected: mean.coefficients().len(),
                got: standard_deviations.len(),
            });
        }
        let of_channel = |(channel, deviations): (usize, &[f64])| {
            let variances: Vec<f64> = deviations.iter().map(|deviation| deviation * deviation).collect();
            let usable = |variance: &f64| (f64::MIN_POSITIVE..=f64::MAX).contains(variance);
            let positive =
                variances.iter().all(usable) && deviations.iter().all(|&deviation| deviation > 0.0);
            if positive {
                Covariance::independent(&variances)
            } else {
                Err(EstimateError::PriorCovariance { channel })
            }
        };
        let rows = standard_deviations.chunks(mean.planes()).enumerate();
        let covariances = rows.map(of_channel).collect::<Result<Vec<_>, _>>()?;
        Ok(Self { mean, covariances })
    }

    /// Coefficients with a full covariance for every channel, over the planes.
    ///
    /// # Errors
    /// [`EstimateError::Count`] where there is not one covariance per channel, [`EstimateError::PriorDoesNotFit`] where
    /// one is not over the planes. Whether each is positive definite shows in the fit.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lead, window);
    /// # let h = Influence::from_components_per_gram_millimetre(2e-3, 0.0)?;
    /// # let matrix = InfluenceMatrix::new(&[channel], 1, &[h])?;
    /// let covariance = Covariance::from_entries(1, &[1e-6, 2e-7, 2e-7, 4e-6])?;
    /// let prior = Prior::with_covariances(matrix, vec![covariance])?;
    /// assert_eq!(prior.mean().planes(), 1);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn with_covariances(
        mean: InfluenceMatrix,
        covariances: Vec<Covariance>,
    ) -> Result<Self, EstimateError> {
        if covariances.len() != mean.channels().len() {
            return Err(EstimateError::Count {
                what: "covariances, one per channel",
                expected: mean.channels().len(),
                got: covariances.len(),
            });
        }
        if covariances.iter().any(|covariance| covariance.unknowns() != mean.planes()) {
            return Err(EstimateError::PriorDoesNotFit);
        }
        Ok(Self { mean, covariances })
    }

    /// The coefficients of an earlier fit with its covariance; `None` where the fit has none, because there were only as
    /// many runs as unknowns and no known variances, or because its residuals show no scatter at all.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lead, window);
    /// # let trial = UnbalanceVector::from_components_gram_millimetres(1000.0, 0.0)?;
    /// # let mut estimator = Estimator::with_relative_weights(&[channel], 1)?;
    /// # estimator.add(Run::new("as found").reading(channel.reading(3.0, 0.0)?))?;
    /// # estimator.add(Run::new("trial").mounted(0, trial).reading(channel.reading(4.0, 0.0)?))?;
    /// # estimator.add(Run::new("again").mounted(0, trial).reading(channel.reading(4.2, 0.0)?))?;
    /// # let fit = estimator.fit()?;
    /// let prior = Prior::from_fit(&fit).ok_or("no covariance")?;
    /// assert_eq!(prior.mean(), fit.influence());
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn from_fit(fit: &InfluenceFit) -> Option<Self> {
        let covariance_of_coefficients = |channel: &super::fit::ChannelFit| {
            let covariance = channel.covariance()?.past(1);
            // No scatter at all is no knowledge of it.
            let scatters = (0..2 * covariance.unknowns()).all(|i| covariance.entry(i, i) > 0.0);
            scatters.then_some(covariance)
        };
        let covariances =
            fit.channels().iter().map(covariance_of_coefficients).collect::<Option<Vec<_>>>()?;
        Some(Self { mean: fit.influence().clone(), covariances })
    }

    /// The same prior for another machine of the type, which differs by a further fraction of each coefficient: its
    /// square times `|H|²` is added to both variances.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lead, window);
    /// # let trial = UnbalanceVector::from_components_gram_millimetres(1000.0, 0.0)?;
    /// # let mut estimator = Estimator::with_relative_weights(&[channel], 1)?;
    /// # estimator.add(Run::new("as found").reading(channel.reading(3.0, 0.0)?))?;
    /// # estimator.add(Run::new("trial").mounted(0, trial).reading(channel.reading(4.0, 0.0)?))?;
    /// # estimator.add(Run::new("again").mounted(0, trial).reading(channel.reading(4.2, 0.0)?))?;
    /// # let fit = estimator.fit()?;
    /// let prior = Prior::from_fit(&fit).ok_or("no covariance")?;
    /// let for_a_sister = prior.clone().widened_by(0.2)?;
    /// assert!(for_a_sister.covariances()[0].entries()[0] > prior.covariances()[0].entries()[0]);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// [`EstimateError::Quantity`] where the fraction is negative or not finite, [`EstimateError::PriorCovariance`] where a
    /// variance is then beyond the range of numbers.
    pub fn widened_by(mut self, fraction: f64) -> Result<Self, EstimateError> {
        if !fraction.is_finite() {
            return Err(QuantityError::NotFinite { quantity: "fraction", value: fraction }.into());
        }
        if fraction < 0.0 {
            let unit = "(a plain number)";
            return Err(QuantityError::Negative { quantity: "fraction", value: fraction, unit }.into());
        }
        let rows = self.mean.coefficients().chunks(self.mean.planes());
        for (channel, (covariance, row)) in self.covariances.iter_mut().zip(rows).enumerate() {
            for (plane, influence) in row.iter().enumerate() {
                let spread = fraction * influence.per_gram_millimetre();
                for component in [2 * plane, 2 * plane + 1] {
                    let wider = covariance.entry(component, component) + spread * spread;
                    if !wider.is_finite() {
                        return Err(EstimateError::PriorCovariance { channel });
                    }
                    covariance.set(component, component, wider);
                }
            }
        }
        Ok(self)
    }

    /// The coefficients themselves.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lead, window);
    /// # let h = Influence::from_components_per_gram_millimetre(2e-3, 0.0)?;
    /// # let matrix = InfluenceMatrix::new(&[channel], 1, &[h])?;
    /// let prior = Prior::with_relative_spread(matrix, 0.2)?;
    /// assert_eq!(prior.mean().get(0, 0), Some(h));
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn mean(&self) -> &InfluenceMatrix {
        &self.mean
    }

    /// How far they may differ: one covariance per channel, over the planes, per g mm squared.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lead, window);
    /// # let h = Influence::from_components_per_gram_millimetre(2e-3, 0.0)?;
    /// # let matrix = InfluenceMatrix::new(&[channel], 1, &[h])?;
    /// let prior = Prior::with_relative_spread(matrix, 0.2)?;
    /// assert_eq!(prior.covariances().len(), 1);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn covariances(&self) -> &[Covariance] {
        &self.covariances
    }
}
