//! All runs together, and the fit.

use alloc::vec::Vec;

use crate::caution::Caution;
use crate::channel::Channel;
use crate::error::EstimateError;
use crate::vector::{Influence, UnbalanceVector};

use super::design::{ChannelPrior, Design, Factored, Rows};
use super::fit::{ChannelFit, InfluenceFit, Known};
use super::matrix::{InfluenceMatrix, check_channels};
use super::prior::Prior;
use super::run::{MountedUnbalance, Run};

use num_complex::Complex64;

/// How the scatter of the readings is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Scatter {
    /// Up to a common factor, which is estimated from the residuals.
    Relative,
    /// Every reading says its standard deviation.
    Known,
}

/// Estimates the vibration as found and the influence coefficients from all runs.
///
/// ```
/// use counterpoise::{
///     Channel, Convention, Detector, Estimator, Mass, PhaseSense, Radius, RotorSense, Run, Speed, SpeedWindow,
///     VibrationScale, VibrationUnit,
/// };
/// let convention = Convention { phase: PhaseSense::Lag, rotor: RotorSense::AgainstRotation };
/// let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
/// let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
/// let channel = Channel::new(1, unit, convention.phase, window);
/// let trial = convention.weight(Mass::from_grams(10.0)?, Radius::from_millimetres(150.0)?, 330.0)?;
///
/// let mut estimator = Estimator::with_relative_weights(&[channel], 1)?;
/// estimator.add(Run::new("as found").reading(channel.reading(0.480, 265.0)?))?;
/// estimator.add(Run::new("trial").mounted(0, trial).reading(channel.reading(0.876_679, 260.455_693)?))?;
/// let fit = estimator.fit()?;
///
/// let influence = fit.influence().get(0, 0).unwrap_or_default();
/// assert!((influence.per_gram_millimetre() - 0.04 / 150.0).abs() < 1e-9);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct Estimator {
    channels: Vec<Channel>,
    planes: usize,
    scatter: Scatter,
    prior: Option<Prior>,
    runs: Vec<Run>,
}

impl Estimator {
    /// An estimator whose readings have relative weights (1 each, or [`Reading::with_weight`](crate::Reading::with_weight));
    /// how much they scatter is estimated from the residuals, channel by channel, where there are more runs than unknowns.
    ///
    /// # Errors
    /// [`EstimateError::NoChannels`], [`EstimateError::RepeatedChannel`], [`EstimateError::NoPlanes`].
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lead, window);
    /// let estimator = Estimator::with_relative_weights(&[channel], 2)?;
    /// assert_eq!(estimator.planes(), 2);
    /// assert!(Estimator::with_relative_weights(&[channel], 0).is_err());
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn with_relative_weights(channels: &[Channel], planes: usize) -> Result<Self, EstimateError> {
        Self::new(channels, planes, Scatter::Relative)
    }

    /// An estimator whose readings all say how much they scatter
    /// ([`Reading::with_standard_deviation`](crate::Reading::with_standard_deviation)).
    ///
    /// # Errors
    /// [`EstimateError::NoChannels`], [`EstimateError::RepeatedChannel`], [`EstimateError::NoPlanes`].
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lead, window);
    /// let mut estimator = Estimator::with_known_variances(&[channel], 1)?;
    /// let reading = channel.reading(3.0, 0.0)?;
    /// assert!(estimator.add(Run::new("as found").reading(reading)).is_err());
    /// estimator.add(Run::new("as found").reading(reading.with_standard_deviation(0.05)?))?;
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn with_known_variances(channels: &[Channel], planes: usize) -> Result<Self, EstimateError> {
        Self::new(channels, planes, Scatter::Known)
    }

    fn new(channels: &[Channel], planes: usize, scatter: Scatter) -> Result<Self, EstimateError> {
        check_channels(channels)?;
        if planes == 0 {
            return Err(EstimateError::NoPlanes);
        }
        Ok(Self { channels: channels.to_vec(), planes, scatter, prior: None, runs: Vec::new() })
    }

    /// The same estimator with a prior on the coefficients.
    ///
    /// # Errors
    /// [`EstimateError::PriorNeedsVariances`] with relative weights, which leave nothing to weigh a prior against;
    /// [`EstimateError::PriorDoesNotFit`] for other channels or another number of planes.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lead, window);
    /// # let h = Influence::from_components_per_gram_millimetre(2e-3, 0.0)?;
    /// # let matrix = InfluenceMatrix::new(&[channel], 1, &[h])?;
    /// // One-shot balancing: stored coefficients, one reading, no trial run.
    /// let prior = Prior::with_relative_spread(matrix, 0.2)?;
    /// let mut estimator = Estimator::with_known_variances(&[channel], 1)?.with_prior(prior)?;
    /// estimator.add(Run::new("as found").reading(channel.reading(3.0, 0.0)?.with_standard_deviation(0.05)?))?;
    /// let fit = estimator.fit()?;
    /// assert!((fit.influence().get(0, 0).unwrap_or_default().per_gram_millimetre() - 2e-3).abs() < 1e-15);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn with_prior(self, prior: Prior) -> Result<Self, EstimateError> {
        if self.scatter == Scatter::Relative {
            return Err(EstimateError::PriorNeedsVariances);
        }
        if prior.mean().channels() != self.channels || prior.mean().planes() != self.planes {
            return Err(EstimateError::PriorDoesNotFit);
        }
        Ok(Self { prior: Some(prior), ..self })
    }

    /// Adds a run, and returns its number, counted from 0. A run that is refused leaves the estimator as it was.
    ///
    /// # Errors
    /// [`EstimateError::PlaneOutOfRange`], [`EstimateError::UnbalanceNotFinite`], [`EstimateError::NoReading`],
    /// [`EstimateError::UnknownChannel`], [`EstimateError::RepeatedReading`], [`EstimateError::Precision`], each with
    /// the number the run would have had, and [`EstimateError::NotRepresentable`] where a reading or its weight is beyond the
    /// range of numbers.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lead, window);
    /// let mut estimator = Estimator::with_relative_weights(&[channel], 1)?;
    /// assert_eq!(estimator.add(Run::new("as found").reading(channel.reading(3.0, 0.0)?))?, 0);
    /// let error = estimator.add(Run::new("trial").mounted(1, UnbalanceVector::ZERO)).unwrap_err();
    /// assert_eq!(error.to_string(), "run 1 mounts a weight in plane 1, but there are 1 planes, counted from 0");
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn add(&mut self, run: Run) -> Result<usize, EstimateError> {
        let number = self.runs.len();
        for &MountedUnbalance { plane, unbalance } in run.mounted_unbalances() {
            if plane >= self.planes {
                return Err(EstimateError::PlaneOutOfRange { run: number, plane, planes: self.planes });
            }
            if !unbalance.is_finite() || !run.unbalance_in(plane).is_finite() {
                return Err(EstimateError::UnbalanceNotFinite { run: number, plane });
            }
        }
        if run.readings().is_empty() {
            return Err(EstimateError::NoReading { run: number });
        }
        for (at, reading) in run.readings().iter().enumerate() {
            let Some(channel) = self.channels.iter().position(|channel| channel == reading.channel()) else {
                return Err(EstimateError::UnknownChannel {
                    run: number,
                    sensor: reading.channel().sensor(),
                    rpm: reading.channel().window().nominal().rpm(),
                });
            };
            if run.readings().iter().take(at).any(|earlier| earlier.channel() == reading.channel()) {
                return Err(EstimateError::RepeatedReading { run: number, channel });
            }
            let (weight, known) = reading.weight_at_nominal_speed();
            if known != (self.scatter == Scatter::Known) {
                return Err(EstimateError::Precision { run: number, channel });
            }
            if !(weight.is_finite() && weight > 0.0 && reading.vibration().is_finite()) {
                return Err(EstimateError::NotRepresentable { channel });
            }
        }
        self.runs.push(run);
        Ok(number)
    }

    /// The runs, in the order in which they were added.
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
    /// assert_eq!(estimator.runs()[1].label(), "trial");
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn runs(&self) -> &[Run] {
        &self.runs
    }

    /// The channels, in the order in which they were named.
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
    /// assert_eq!(estimator.channels(), [channel]);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn channels(&self) -> &[Channel] {
        &self.channels
    }

    /// The number of correction planes.
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
    /// assert_eq!(estimator.planes(), 1);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn planes(&self) -> usize {
        self.planes
    }

    /// What the runs alone, without a prior, can tell of a channel.
    ///
    /// # Errors
    /// [`EstimateError::ChannelOutOfRange`] for a channel that does not exist, [`EstimateError::NotRepresentable`] where the numbers
    /// are too far apart.
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
    /// let design = estimator.design(0)?;
    /// assert_eq!((design.readings, design.rank, design.unknowns), (3, 2, 2));
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn design(&self, channel: usize) -> Result<Design, EstimateError> {
        if channel >= self.channels.len() {
            return Err(EstimateError::ChannelOutOfRange { channel, channels: self.channels.len() });
        }
        self.rows(channel).design(channel, self.unknowns())
    }

    /// The fit of all runs: `x = argmin Σ g |y − A x|²` for every channel, and with a prior the mean of what is then
    /// believed.
    ///
    /// # Errors
    /// [`EstimateError::NoRuns`]; [`EstimateError::Undetermined`] where the runs do not determine all unknowns, which
    /// says which planes cannot be told apart; [`EstimateError::PriorCovariance`]; [`EstimateError::NotRepresentable`].
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
    /// assert!((fit.as_found()[0].amplitude() - 3.0).abs() < 1e-14);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn fit(&self) -> Result<InfluenceFit, EstimateError> {
        if self.runs.is_empty() {
            return Err(EstimateError::NoRuns);
        }
        let mut channels = Vec::with_capacity(self.channels.len());
        // Sensors that were read in the same runs with the same weights share one factorisation.
        let mut shared: Option<(Rows, Factored)> = None;
        let mut cautions = self.cautions();
        for channel in 0..self.channels.len() {
            let rows = self.rows(channel);
            let solution = if let Some(prior) = self.channel_prior(channel) {
                rows.solved_with_prior(channel, self.unknowns(), &prior)?
            } else {
                let factored = match shared.take() {
                    Some((before, factored)) if before.same_design(&rows) => factored,
                    _ => {
                        let factored = rows.factored(channel, self.unknowns())?;
                        let condition_number = factored.condition_number;
                        if condition_number >= Caution::ILL_CONDITIONED_RUNS_FROM {
                            cautions.push(Caution::IllConditionedRuns { channel, condition_number });
                        }
                        factored
                    }
                };
                let solution = factored.solved(channel, &rows)?;
                shared = Some((rows.clone(), factored));
                solution
            };
            cautions.extend(solution.silent.iter().map(|&plane| Caution::NoResponse { channel, plane }));
            let known = match (self.scatter, self.channel_prior(channel)) {
                (Scatter::Relative, _) => Known::Nothing,
                (Scatter::Known, None) => Known::Variances,
                (Scatter::Known, Some(_)) => Known::VariancesAndPrior,
            };
            channels.push(ChannelFit::new(channel, self.runs.len(), &rows, solution, known)?);
        }
        let row = |fit: &ChannelFit| fit.influence().to_vec();
        let coefficients: Vec<Influence> = channels.iter().flat_map(row).collect();
        let influence = InfluenceMatrix::computed(self.channels.clone(), self.planes, coefficients);
        let mounted = self.runs.iter().map(|run| self.mounted_in(run)).collect();
        Ok(InfluenceFit::new(influence, channels, mounted, cautions))
    }

    /// One complex unknown for the vibration as found, and one per plane.
    fn unknowns(&self) -> usize {
        self.planes + 1
    }

    fn mounted_in(&self, run: &Run) -> Vec<UnbalanceVector> {
        (0..self.planes).map(|plane| run.unbalance_in(plane)).collect()
    }

    fn rows(&self, channel: usize) -> Rows {
        let mut rows = Rows::default();
        let Some(wanted) = self.channels.get(channel) else { return rows };
        for (number, run) in self.runs.iter().enumerate() {
            let Some(reading) = run.readings().iter().find(|reading| reading.channel() == wanted) else {
                continue;
            };
            let one = core::iter::once(Complex64 { re: 1.0, im: 0.0 });
            let unbalances = self.mounted_in(run).into_iter().map(UnbalanceVector::complex);
            rows.runs.push(number);
            rows.entries.push(one.chain(unbalances).collect());
            rows.roots.push(crate::math::sqrt(reading.weight_at_nominal_speed().0));
            rows.readings.push(reading.at_nominal_speed().complex());
            rows.scatters.push(reading.scatter_at_nominal_speed());
        }
        rows
    }

    fn channel_prior(&self, channel: usize) -> Option<ChannelPrior<'_>> {
        let prior = self.prior.as_ref()?;
        let mean = prior.mean().row(channel)?.iter().map(|influence| influence.complex()).collect();
        Some(ChannelPrior { mean, covariance: prior.covariances().get(channel)? })
    }

    /// A caution for every reading that was scaled.
    fn cautions(&self) -> Vec<Caution> {
        let mut cautions = Vec::new();
        for (run, of_run) in self.runs.iter().enumerate() {
            for reading in of_run.readings() {
                let factor = reading.speed_factor();
                let channel = self.channels.iter().position(|channel| channel == reading.channel());
                if let (Some(channel), true) = (channel, factor != 1.0) {
                    cautions.push(Caution::ScaledToSpeed {
                        run,
                        channel,
                        rpm: reading.speed().rpm(),
                        factor,
                    });
                }
            }
        }
        cautions
    }
}
