//! What jobs teach about machines of a kind: coefficients kept, pooled, and used for a first shot.

use alloc::string::String;
use alloc::vec::Vec;

use crate::channel::Reading;
use crate::error::{EstimateError, JobError, UncertaintyError};
use crate::influence::{Estimator, InfluenceMatrix, Prior, Run};
use crate::math;
use crate::uncertainty::{CorrectionEstimate, Estimate, Uncertainty};
use crate::vector::{Influence, UnbalanceVector, Vibration};

/// The coefficients of one machine, as a job left them.
///
/// ```
/// use counterpoise::job::StoredCoefficients;
/// # use counterpoise::*;
/// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
/// # let window = SpeedWindow::around_percent(Speed::from_rpm(2350.0)?, 1.0)?;
/// # let channel = Channel::new(1, unit, PhaseSense::Lag, window);
/// let coefficient = Influence::from_components_per_gram_millimetre(1.2e-4, -0.5e-4)?;
/// let influence = InfluenceMatrix::new(&[channel], 1, &[coefficient])?;
/// let stored = StoredCoefficients::new("two blades", "the club's trainer", influence);
/// assert_eq!(stored.kind(), "two blades");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(deny_unknown_fields))]
pub struct StoredCoefficients {
    kind: String,
    machine: String,
    influence: InfluenceMatrix,
}

impl StoredCoefficients {
    /// The coefficients of a machine of a kind. Machines of one kind are those that are expected to answer alike.
    ///
    /// ```
    /// # use counterpoise::job::StoredCoefficients;
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2350.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lag, window);
    /// # let coefficient = Influence::from_components_per_gram_millimetre(1.2e-4, -0.5e-4)?;
    /// # let influence = InfluenceMatrix::new(&[channel], 1, &[coefficient])?;
    /// assert_eq!(StoredCoefficients::new("two blades", "no. 7", influence).machine(), "no. 7");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn new(kind: impl Into<String>, machine: impl Into<String>, influence: InfluenceMatrix) -> Self {
        Self { kind: kind.into(), machine: machine.into(), influence }
    }

    /// The kind.
    ///
    /// ```
    /// # use counterpoise::job::StoredCoefficients;
    /// fn of_trainers(stored: &StoredCoefficients) -> bool {
    ///     stored.kind() == "two blades"
    /// }
    /// ```
    pub fn kind(&self) -> &str {
        &self.kind
    }

    /// The machine.
    ///
    /// ```
    /// # use counterpoise::job::StoredCoefficients;
    /// fn of_this(stored: &StoredCoefficients) -> bool {
    ///     stored.machine() == "no. 7"
    /// }
    /// ```
    pub fn machine(&self) -> &str {
        &self.machine
    }

    /// The coefficients.
    ///
    /// ```
    /// # use counterpoise::job::StoredCoefficients;
    /// fn planes(stored: &StoredCoefficients) -> usize {
    ///     stored.influence().planes()
    /// }
    /// ```
    pub const fn influence(&self) -> &InfluenceMatrix {
        &self.influence
    }
}

/// What is believed of a machine of a kind before its own runs: the mean of the stored coefficients, and how far such machines
/// differ.
///
/// The spread is estimated from the machines that are there and from what the caller expects of it, which counts as much as
/// two machines more: `s² = (ν₀ (f|h̄|)² + Σ|h − h̄|²)/(ν₀ + 2(n − 1))` a component with ν₀ = 4, times `1 + 1/n` as the mean is
/// not sure either. So one machine gives a prior as wide as expected, and many the one that they show (shrinkage of a
/// variance: G. K. Smyth, 2004, Stat. Appl. Genet. Mol. Biol. 3, from memory).
///
/// # Errors
/// [`JobError::NothingStored`] where no machine of the kind is stored; [`JobError::StoredDiffer`] where they are of other
/// channels or planes than the first; [`EstimateError`] where the expected spread is not a positive number.
///
/// ```
/// use counterpoise::job::{StoredCoefficients, pooled_prior};
/// # use counterpoise::*;
/// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
/// # let window = SpeedWindow::around_percent(Speed::from_rpm(2350.0)?, 1.0)?;
/// # let channel = Channel::new(1, unit, PhaseSense::Lag, window);
/// let of = |machine: &str, re, im| -> Result<StoredCoefficients, Box<dyn std::error::Error>> {
///     let coefficient = Influence::from_components_per_gram_millimetre(re, im)?;
///     Ok(StoredCoefficients::new("two blades", machine, InfluenceMatrix::new(&[channel], 1, &[coefficient])?))
/// };
/// let stored = [of("a", 1.0e-4, 0.0)?, of("b", 1.2e-4, 0.0)?];
/// // Machines of this kind are expected to differ by a fifth.
/// let prior = pooled_prior(&stored, "two blades", 0.2)?;
/// assert!((prior.mean().coefficients()[0].complex().re - 1.1e-4).abs() < 1e-18);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn pooled_prior(
    stored: &[StoredCoefficients],
    kind: &str,
    expected_spread: f64,
) -> Result<Prior, JobError> {
    /// What is expected counts as so many degrees of freedom.
    const EXPECTED: f64 = 4.0;
    let of_kind: Vec<&InfluenceMatrix> =
        stored.iter().filter(|one| one.kind == kind).map(|one| &one.influence).collect();
    let Some(first) = of_kind.first() else { return Err(JobError::NothingStored) };
    for (machine, one) in of_kind.iter().enumerate() {
        if one.channels() != first.channels() || one.planes() != first.planes() {
            return Err(JobError::StoredDiffer { machine });
        }
    }
    #[allow(clippy::cast_precision_loss)] // a count of machines
    let n = of_kind.len() as f64;
    let count = first.coefficients().len();
    let (mut means, mut deviations) = (Vec::with_capacity(count), Vec::with_capacity(count));
    for at in 0..count {
        let values = || of_kind.iter().filter_map(move |one| one.coefficients().get(at).copied());
        let mean: Influence = values().map(|value| value * (1.0 / n)).sum();
        let squares: f64 = values()
            .map(|value| {
                let apart = (value - mean).per_gram_millimetre();
                apart * apart
            })
            .sum();
        let expected = expected_spread * mean.per_gram_millimetre();
        let variance = (EXPECTED * expected * expected + squares) / (EXPECTED + 2.0 * (n - 1.0));
        means.push(mean);
        deviations.push(math::sqrt(variance * (1.0 + 1.0 / n)));
    }
    let mean = InfluenceMatrix::new(first.channels(), first.planes(), &means)?;
    Ok(Prior::with_standard_deviations(mean, &deviations)?)
}

/// A correction from one reading and what is known of machines of the kind, without a trial run.
///
/// ```
/// use counterpoise::job::{OneShot, StoredCoefficients, pooled_prior};
/// # use counterpoise::*;
/// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
/// # let window = SpeedWindow::around_percent(Speed::from_rpm(2350.0)?, 1.0)?;
/// # let channel = Channel::new(1, unit, PhaseSense::Lag, window);
/// # let coefficient = Influence::from_components_per_gram_millimetre(1.2e-4, -0.5e-4)?;
/// # let influence = InfluenceMatrix::new(&[channel], 1, &[coefficient])?;
/// let stored = [StoredCoefficients::new("two blades", "a sister ship", influence)];
/// let now = [channel.reading(0.40, 210.0)?.with_standard_deviation(0.01)?];
/// // Sister ships that differ by a fifth: worth a shot.
/// let shot = OneShot::of(pooled_prior(&stored, "two blades", 0.2)?, &now)?;
/// assert!(shot.is_trusted(0.95));
/// // Sister ships of which little is known: make a trial run.
/// let shot = OneShot::of(pooled_prior(&stored, "two blades", 0.9)?, &now)?;
/// assert!(!shot.is_trusted(0.95));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct OneShot {
    correction: CorrectionEstimate,
    next: Vec<Estimate<Vibration>>,
    now: Vec<f64>,
}

impl OneShot {
    /// The correction that the coefficients of a prior make of readings as found, one per channel, whose scatter is known.
    ///
    /// # Errors
    /// [`EstimateError`] where a reading is not of a channel of the prior, or does not say how it scatters;
    /// [`UncertaintyError`] where the coefficients determine no correction.
    ///
    /// ```
    /// # use counterpoise::job::{OneShot, StoredCoefficients, pooled_prior};
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2350.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lag, window);
    /// # let coefficient = Influence::from_components_per_gram_millimetre(1.2e-4, -0.5e-4)?;
    /// # let influence = InfluenceMatrix::new(&[channel], 1, &[coefficient])?;
    /// # let stored = [StoredCoefficients::new("two blades", "a sister ship", influence)];
    /// let prior = pooled_prior(&stored, "two blades", 0.2)?;
    /// // The scatter of this reading is not known.
    /// assert_eq!(OneShot::of(prior, &[channel.reading(0.40, 210.0)?]).unwrap_err().code(), 1517);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn of(prior: Prior, now: &[Reading]) -> Result<Self, JobError> {
        let (channels, planes) = (prior.mean().channels().to_vec(), prior.mean().planes());
        let mut estimator = Estimator::with_known_variances(&channels, planes)?.with_prior(prior)?;
        let run = now.iter().fold(Run::new("as found"), |run, &reading| run.reading(reading));
        estimator.add(run)?;
        let uncertainty = Uncertainty::of(&estimator.fit()?)?;
        let correction = uncertainty.correction(&[])?;
        let total: Vec<UnbalanceVector> = correction.total().iter().map(Estimate::value).collect();
        let next = uncertainty.vibration_with(&total)?;
        let amplitude = |channel: usize| Ok(uncertainty.as_found(channel)?.value().amplitude());
        let now = (0..channels.len()).map(amplitude).collect::<Result<Vec<f64>, UncertaintyError>>()?;
        Ok(Self { correction, next, now })
    }

    /// The correction, with its uncertainty.
    ///
    /// ```
    /// # use counterpoise::job::OneShot;
    /// fn planes(shot: &OneShot) -> usize {
    ///     shot.correction().total().len()
    /// }
    /// ```
    pub const fn correction(&self) -> &CorrectionEstimate {
        &self.correction
    }

    /// The vibration of every channel after it, with its uncertainty.
    ///
    /// ```
    /// # use counterpoise::job::OneShot;
    /// fn at_most(shot: &OneShot) -> Vec<f64> {
    ///     shot.vibration_after().iter().map(|next| next.magnitude(0.95)).collect()
    /// }
    /// ```
    pub fn vibration_after(&self) -> &[Estimate<Vibration>] {
        &self.next
    }

    /// Whether it may be trusted: with this confidence it leaves every channel with less than it has now. Where not, make a
    /// trial run first.
    ///
    /// ```
    /// # use counterpoise::job::OneShot;
    /// fn advice(shot: &OneShot) -> &'static str {
    ///     if shot.is_trusted(0.95) { "put it on" } else { "make a trial run" }
    /// }
    /// ```
    pub fn is_trusted(&self, confidence: f64) -> bool {
        self.correction.is_determined()
            && self.next.iter().zip(&self.now).all(|(next, &now)| next.magnitude(confidence) < now)
    }
}

impl From<EstimateError> for JobError {
    fn from(error: EstimateError) -> Self {
        Self::Estimate(error)
    }
}

impl From<UncertaintyError> for JobError {
    fn from(error: UncertaintyError) -> Self {
        Self::Uncertainty(error)
    }
}
