//! What comes out of a fit: unknowns, residuals, and how sure they are.

use alloc::vec::Vec;

use num_complex::Complex64;

use crate::caution::Caution;
use crate::error::{CorrectionError, EstimateError};
use crate::math;
use crate::scatter::DegreesOfFreedom;
use crate::vector::{Influence, UnbalanceVector, Vibration};

use super::covariance::Covariance;
use super::design::{Rows, Solution};
use super::matrix::InfluenceMatrix;

/// What was known of the scatter before the fit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Known {
    Nothing,
    Variances,
    VariancesAndPrior,
}

/// Vibration as found and influence coefficients of all channels, as estimated from all runs.
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
/// let fitted = fit.vibration_with(&[trial])?;
/// assert!((fitted[0].amplitude() - 4.1).abs() < 1e-14);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct InfluenceFit {
    influence: InfluenceMatrix,
    channels: Vec<ChannelFit>,
    /// Per run, one unbalance per plane.
    mounted: Vec<Vec<UnbalanceVector>>,
    cautions: Vec<Caution>,
}

impl InfluenceFit {
    pub(super) fn new(
        influence: InfluenceMatrix,
        channels: Vec<ChannelFit>,
        mounted: Vec<Vec<UnbalanceVector>>,
        cautions: Vec<Caution>,
    ) -> Self {
        Self { influence, channels, mounted, cautions }
    }

    /// The influence coefficients.
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
    /// assert!((fit.influence().coefficients()[0].per_gram_millimetre() - 1.1e-3).abs() < 1e-17);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn influence(&self) -> &InfluenceMatrix {
        &self.influence
    }

    /// The vibration as found of every channel: that of the bare rotor, from which all mounted weights were counted.
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
    pub fn as_found(&self) -> Vec<Vibration> {
        self.channels.iter().map(ChannelFit::as_found).collect()
    }

    /// The fit channel by channel, in the order in which channels were named.
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
    /// assert_eq!(fit.channels().len(), 1);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn channels(&self) -> &[ChannelFit] {
        &self.channels
    }

    /// What was mounted in a run, one unbalance per plane; `None` for a run that does not exist.
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
    /// assert_eq!(fit.mounted_in(2), Some([trial].as_slice()));
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn mounted_in(&self, run: usize) -> Option<&[UnbalanceVector]> {
        self.mounted.get(run).map(Vec::as_slice)
    }

    /// The vibration of every channel with given unbalances mounted, one per plane: `v_k = v0_k + Σ_p H_kp u_p`.
    ///
    /// # Errors
    /// [`CorrectionError::Count`] where there is not one unbalance per plane.
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
    /// let doubled = fit.vibration_with(&[trial * 2.0])?;
    /// assert!((doubled[0].amplitude() - 5.2).abs() < 1e-14);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn vibration_with(&self, mounted: &[UnbalanceVector]) -> Result<Vec<Vibration>, CorrectionError> {
        let effect = self.influence.effect_of(mounted)?;
        Ok(self.channels.iter().zip(effect).map(|(channel, change)| channel.as_found() + change).collect())
    }

    /// The same fit with one residual variance for all channels, which says more where they scatter alike: `Σ g|e|²` over all
    /// channels, with their degrees of freedom together. It changes nothing where the scatter of readings was given.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let mut estimator = Estimator::with_relative_weights(&channels, 1)?;
    /// # let trial = UnbalanceVector::from_components_gram_millimetres(1000.0, 0.0)?;
    /// # for (label, on, read) in [("as found", 0.0, 3.0), ("trial", 1.0, 4.0), ("again", 1.0, 4.2)] {
    /// #     let [one, two] = channels;
    /// #     estimator.add(Run::new(label).mounted(0, trial * on).reading(one.reading(read, 0.0)?).reading(two.reading(read, 0.0)?))?;
    /// # }
    /// let fit = estimator.fit()?.with_common_variance();
    /// assert_eq!(fit.channels()[1].degrees_of_freedom(), Some(DegreesOfFreedom::Circular(4.0)));
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    #[must_use]
    pub fn with_common_variance(mut self) -> Self {
        let squares: f64 = self.channels.iter().map(|channel| channel.weighted_squares).sum();
        let excess: usize = self.channels.iter().map(|channel| channel.excess).sum();
        #[allow(clippy::cast_precision_loss)] // a count of readings
        let degrees = 2.0 * excess as f64;
        if let Some(variance) = residual_variance(squares, excess) {
            for channel in &mut self.channels {
                channel.common = Some((variance, degrees));
            }
        }
        self
    }

    /// What was noticed on the way: readings scaled to the nominal speed, runs that hardly differ, planes without response.
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
    /// assert!(fit.cautions().is_empty());
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn cautions(&self) -> &[Caution] {
        &self.cautions
    }
}

/// A sum of squares over known variances, which is χ² distributed where the equation holds and the variances are right.
///
/// ```
/// # use counterpoise::*;
/// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
/// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
/// # let channel = Channel::new(1, unit, PhaseSense::Lead, window);
/// let mut estimator = Estimator::with_known_variances(&[channel], 1)?;
/// let trial = UnbalanceVector::from_components_gram_millimetres(1000.0, 0.0)?;
/// let reading = |amplitude| channel.reading(amplitude, 0.0)?.with_standard_deviation(0.1);
/// estimator.add(Run::new("as found").reading(reading(3.0)?))?;
/// estimator.add(Run::new("trial").mounted(0, trial).reading(reading(4.0)?))?;
/// estimator.add(Run::new("again").mounted(0, trial).reading(reading(4.2)?))?;
/// let fit = estimator.fit()?;
/// let chi_squared = fit.channels()[0].chi_squared().ok_or("variances are known")?;
/// assert!((chi_squared.value - 2.0).abs() < 1e-11);
/// assert_eq!(chi_squared.degrees_of_freedom, 2);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct ChiSquared {
    /// The sum over both components of all readings.
    pub value: f64,
    /// Real readings less real unknowns.
    pub degrees_of_freedom: usize,
}

/// The fit of one channel.
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
/// let of_channel = &fit.channels()[0];
/// assert!((of_channel.influence()[0].per_gram_millimetre() - 1.1e-3).abs() < 1e-17);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct ChannelFit {
    as_found: Vibration,
    influence: Vec<Influence>,
    /// Per run; `None` where the channel was not read.
    residuals: Vec<Option<Residual>>,
    /// Readings less complex unknowns.
    excess: usize,
    /// Σ g |e|².
    weighted_squares: f64,
    cofactor: Covariance,
    /// The covariance, where the cofactor does not say it.
    carried: Option<Covariance>,
    degrees_of_freedom: DegreesOfFreedom,
    /// The residual variance of all channels together, and its degrees of freedom, where they scatter alike.
    common: Option<(f64, f64)>,
    known: Known,
}

/// What is left of one reading.
#[derive(Debug, Clone, Copy)]
struct Residual {
    vibration: Vibration,
    leverage: f64,
    /// √g.
    root: f64,
}

impl ChannelFit {
    pub(super) fn new(
        channel: usize,
        runs: usize,
        rows: &Rows,
        solution: Solution,
        known: Known,
    ) -> Result<Self, EstimateError> {
        let mut residuals: Vec<Option<Residual>> = Vec::new();
        residuals.resize_with(runs, || None);
        let mut weighted_squares = 0.0;
        let of_rows = rows.runs.iter().zip(&rows.entries).zip(&rows.readings).zip(&rows.roots);
        for ((((run, entries), reading), root), leverage) in of_rows.zip(&solution.leverages) {
            // e = y − A x
            let fitted: Complex64 = entries.iter().zip(&solution.unknowns).map(|(a, x)| a * x).sum();
            let mut left = reading - fitted;
            // What is no more than the rounding of its terms is nothing, and says nothing of the scatter.
            let terms = entries.iter().zip(&solution.unknowns).map(|(a, x)| math::modulus(a * x));
            let terms = terms.fold(math::modulus(*reading), |sum, term| sum + term);
            #[allow(clippy::cast_precision_loss)] // a count of planes
            let rounding = 4.0 * entries.len() as f64 * f64::EPSILON * terms;
            if math::modulus(left) <= rounding {
                left = Complex64::default();
            }
            let weighted = math::modulus(left) * root;
            weighted_squares += weighted * weighted;
            if let Some(place) = residuals.get_mut(*run) {
                *place =
                    Some(Residual { vibration: Vibration::computed(left), leverage: *leverage, root: *root });
            }
        }
        let excess = rows.runs.len().saturating_sub(solution.unknowns.len());
        let carried = if known == Known::Variances { rows.carried(&solution.cofactor) } else { None };
        let degrees_of_freedom = rows.degrees_of_freedom();
        let finite = solution.unknowns.iter().all(|x| x.re.is_finite() && x.im.is_finite());
        // The covariance that will be asked for: the cofactor, and the cofactor times the residual variance.
        let variance =
            if known == Known::Nothing { residual_variance(weighted_squares, excess) } else { None };
        let factor = variance.unwrap_or(1.0);
        let sure =
            solution.cofactor.entries().iter().all(|entry| entry.is_finite() && (entry * factor).is_finite());
        if !(finite && sure && weighted_squares.is_finite()) {
            return Err(EstimateError::NotRepresentable { channel });
        }
        let mut unknowns = solution.unknowns.into_iter();
        let as_found = Vibration::computed(unknowns.next().unwrap_or_default());
        let influence = unknowns.map(Influence::computed).collect();
        Ok(Self {
            as_found,
            influence,
            residuals,
            excess,
            weighted_squares,
            cofactor: solution.cofactor,
            carried,
            degrees_of_freedom,
            common: None,
            known,
        })
    }

    /// The vibration as found, in the channel's unit.
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
    /// assert!((fit.channels()[0].as_found().amplitude() - 3.0).abs() < 1e-14);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn as_found(&self) -> Vibration {
        self.as_found
    }

    /// The influence coefficients, plane by plane.
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
    /// assert_eq!(fit.channels()[0].influence().len(), 1);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn influence(&self) -> &[Influence] {
        &self.influence
    }

    /// Reading less fit, at the nominal speed; `None` where the channel was not read in the run.
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
    /// let left = fit.channels()[0].residual(1).unwrap_or_default();
    /// assert!((left.complex().re - -0.1).abs() < 1e-14);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn residual(&self, run: usize) -> Option<Vibration> {
        self.of_run(run).map(|residual| residual.vibration)
    }

    /// How much of its own reading the fit of a run takes, between 0 and 1; `None` where the channel was not read. A run
    /// with leverage 1 is alone in showing something, and its residual is zero whatever it read.
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
    /// let leverage = fit.channels()[0].leverage(1).unwrap_or(f64::NAN);
    /// assert!((leverage - 0.5).abs() < 1e-14);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn leverage(&self, run: usize) -> Option<f64> {
        self.of_run(run).map(|residual| residual.leverage)
    }

    fn of_run(&self, run: usize) -> Option<Residual> {
        self.residuals.get(run).copied().flatten()
    }

    /// Readings less complex unknowns: each counts two real degrees of freedom.
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
    /// assert_eq!(fit.channels()[0].excess_readings(), 1);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn excess_readings(&self) -> usize {
        self.excess
    }

    /// The variance per component of a reading of weight 1, estimated from the residuals: `σ² = Σ g |e|² / 2(n − q)`.
    ///
    /// `None` with known variances, and where there are no more readings than unknowns.
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
    /// let variance = fit.channels()[0].residual_variance().unwrap_or(f64::NAN);
    /// assert!((variance - 0.01).abs() < 1e-14);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn residual_variance(&self) -> Option<f64> {
        if self.known != Known::Nothing {
            return None;
        }
        match self.common {
            Some((variance, _)) => Some(variance),
            None => residual_variance(self.weighted_squares, self.excess),
        }
    }

    /// `χ² = Σ |e|² / σ²` with its degrees of freedom, where the variances are known and no prior took part; `None`
    /// otherwise.
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
    /// // With relative weights the variance is estimated, and there is nothing to test it against.
    /// assert!(fit.channels()[0].chi_squared().is_none());
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn chi_squared(&self) -> Option<ChiSquared> {
        (self.known == Known::Variances)
            .then(|| ChiSquared { value: self.weighted_squares, degrees_of_freedom: 2 * self.excess })
    }

    /// The weighted sum of squared residuals, `Σ g |e|²`.
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
    /// assert!((fit.channels()[0].weighted_sum_of_squares() - 0.02).abs() < 1e-14);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn weighted_sum_of_squares(&self) -> f64 {
        self.weighted_squares
    }

    /// The covariance of `v0, H_1, …, H_P` for a variance of 1 per component at weight 1: it depends on the runs alone,
    /// not on the readings.
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
    /// // One run determines v0.
    /// assert!((fit.channels()[0].cofactor().entries()[0] - 1.0).abs() < 1e-14);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn cofactor(&self) -> &Covariance {
        &self.cofactor
    }

    /// The covariance of `v0, H_1, …, H_P`: the cofactor times the variance, known or estimated. `None` where the
    /// variance is neither.
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
    /// let covariance = fit.channels()[0].covariance().ok_or("no covariance")?;
    /// assert!((covariance.entries()[0] - 0.01).abs() < 1e-14);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn covariance(&self) -> Option<Covariance> {
        match self.known {
            Known::Nothing => self.residual_variance().map(|variance| self.cofactor.scaled(variance)),
            Known::Variances | Known::VariancesAndPrior => {
                Some(self.carried.as_ref().unwrap_or(&self.cofactor).clone())
            }
        }
    }

    /// How well the covariance is known: from the readings' own scatter, or from the residuals with `2 (n − 1 − P)` degrees
    /// of freedom. Where readings differ in this, as the worst known of them.
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
    /// assert_eq!(fit.channels()[0].degrees_of_freedom(), Some(DegreesOfFreedom::Circular(2.0)));
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn degrees_of_freedom(&self) -> Option<DegreesOfFreedom> {
        match (self.known, self.common) {
            (Known::Nothing, Some((_, degrees))) => Some(DegreesOfFreedom::Circular(degrees)),
            (Known::Nothing, None) => {
                #[allow(clippy::cast_precision_loss)] // a count of runs
                let degrees = 2.0 * self.excess as f64;
                (self.excess > 0).then_some(DegreesOfFreedom::Circular(degrees))
            }
            _ => Some(self.degrees_of_freedom),
        }
    }

    /// √g of the reading of a run.
    pub(crate) fn root_of_run(&self, run: usize) -> Option<f64> {
        self.of_run(run).map(|residual| residual.root)
    }

    pub(crate) const fn has_common_variance(&self) -> bool {
        self.common.is_some()
    }

    /// The residual over its standard deviation: `r = |e| √g / √(2σ²(1 − h))`. `None` where the channel was not read,
    /// where the variance is unknown, or where the leverage is 1.
    ///
    /// About 1 is usual; both components are taken together.
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
    /// let r = fit.channels()[0].standardised_residual(1).unwrap_or(f64::NAN);
    /// assert!((r - 1.0).abs() < 1e-12);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn standardised_residual(&self, run: usize) -> Option<f64> {
        let Residual { vibration, leverage, root } = self.of_run(run)?;
        let variance = match self.known {
            Known::Nothing => self.residual_variance()?,
            Known::Variances | Known::VariancesAndPrior => 1.0,
        };
        let left = 2.0 * variance * (1.0 - leverage);
        // Below this the leverage is 1 to rounding, and the quotient means nothing.
        (1.0 - leverage > 1e-12 && left > 0.0).then(|| vibration.amplitude() * root / math::sqrt(left))
    }

    /// The standardised residual with the variance estimated from the other runs only:
    /// `t = r √((ν − 1)/(ν − r²))`, ν the excess readings. `None` where the standardised residual is, with known
    /// variances, and with fewer than two excess readings.
    ///
    /// An outlier inflates the common variance and so hides in `r`; it does not hide in `t`. Infinite where the other
    /// runs agree to the last digit and this one does not.
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
    /// // One reading more than unknowns leaves none to estimate the variance from without it.
    /// assert!(fit.channels()[0].studentised_residual(1).is_none());
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn studentised_residual(&self, run: usize) -> Option<f64> {
        if self.known != Known::Nothing || self.excess < 2 {
            return None;
        }
        #[allow(clippy::cast_precision_loss)] // a count of runs
        let excess = self.excess as f64;
        let r = self.standardised_residual(run)?;
        let rest = excess - r * r;
        Some(if rest > 0.0 { r * math::sqrt((excess - 1.0) / rest) } else { f64::INFINITY })
    }
}

/// `Σ g |e|² / 2(n − q)`; `None` where there are no more readings than unknowns.
fn residual_variance(weighted_squares: f64, excess: usize) -> Option<f64> {
    #[allow(clippy::cast_precision_loss)] // a count of runs
    let degrees_of_freedom = 2.0 * excess as f64;
    (excess > 0).then(|| weighted_squares / degrees_of_freedom)
}
