//! Vibration as found and coefficients of all channels, with one covariance.

use alloc::vec::Vec;

use num_complex::Complex64;

use crate::error::UncertaintyError;
use crate::influence::{ChannelFit, Covariance, InfluenceFit};
use crate::math;
use crate::scatter::DegreesOfFreedom;
use crate::statistics::Symmetric;
use crate::unit::Mass;
use crate::vector::{Influence, UnbalanceVector, Vibration, Weight};

use super::estimate::Estimate;

/// How sure a fit is, and everything that follows from it.
///
/// ```
/// # use counterpoise::*;
/// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
/// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
/// # let channel = Channel::new(1, unit, PhaseSense::Lead, window);
/// # let trial = UnbalanceVector::from_components_gram_millimetres(1000.0, 0.0)?;
/// let mut estimator = Estimator::with_known_variances(&[channel], 1)?;
/// let read = |amplitude, lead| channel.reading(amplitude, lead)?.with_standard_deviation(0.05);
/// estimator.add(Run::new("as found").reading(read(3.0, 0.0)?))?;
/// estimator.add(Run::new("trial").mounted(0, trial).reading(read(1.0, 0.0)?))?;
/// let uncertainty = Uncertainty::of(&estimator.fit()?)?;
///
/// // The trial was seen clearly, and the correction is known to some 5 %.
/// assert_eq!(uncertainty.trial_response(0, 0)?.detectability(), Detectability::Clear);
/// let total = uncertainty.correction(&[])?.total()[0];
/// assert!((total.value().amount().gram_millimetres() - 1500.0).abs() < 1e-9);
/// assert!((total.radius(0.95) - 96.8).abs() < 0.1);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct Uncertainty {
    pub(super) channels: usize,
    pub(super) planes: usize,
    /// `v0, H_1, …, H_P` of the first channel, then of the next.
    pub(super) unknowns: Vec<Complex64>,
    pub(super) joint: Covariance,
    /// `joint` from the readings alone, without the scatter of weights.
    pub(super) of_readings: Covariance,
    pub(super) degrees: Vec<DegreesOfFreedom>,
    /// One estimated variance stands behind all channels.
    pub(super) common: bool,
    /// What scatters in several channels at once was added.
    pub(super) coupled: bool,
    channel_fits: Vec<ChannelPart>,
}

/// What a channel's solution does with an error of a mounted weight.
#[derive(Debug, Clone)]
struct ChannelPart {
    /// Per run, `a_i = (AᴴGA)⁻¹ Ā_i g_i`; `None` where the channel was not read.
    gains: Vec<Option<Vec<Complex64>>>,
    /// Per run, `g_i r_i`.
    left: Vec<Complex64>,
    /// `(AᴴGA)⁻¹` by columns.
    inverse: Vec<Vec<Complex64>>,
}

impl Uncertainty {
    /// From a fit whose readings said how they scatter, or whose residuals do.
    ///
    /// # Errors
    /// [`UncertaintyError::ScatterUnknown`] where neither is so.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lead, window);
    /// # let trial = UnbalanceVector::from_components_gram_millimetres(1000.0, 0.0)?;
    /// let mut estimator = Estimator::with_relative_weights(&[channel], 1)?;
    /// estimator.add(Run::new("as found").reading(channel.reading(3.0, 0.0)?))?;
    /// estimator.add(Run::new("trial").mounted(0, trial).reading(channel.reading(1.0, 0.0)?))?;
    /// // Two runs for two unknowns: nothing is left that could tell of scatter.
    /// assert_eq!(Uncertainty::of(&estimator.fit()?).unwrap_err(), UncertaintyError::ScatterUnknown { channel: 0 });
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn of(fit: &InfluenceFit) -> Result<Self, UncertaintyError> {
        let planes = fit.influence().planes();
        let channels = fit.channels().len();
        let per_channel = planes + 1;
        let mut joint = Covariance::zeros(channels * per_channel);
        let (mut unknowns, mut degrees, mut channel_fits) = (Vec::new(), Vec::new(), Vec::new());
        for (channel, of_channel) in fit.channels().iter().enumerate() {
            let unknown = UncertaintyError::ScatterUnknown { channel };
            let covariance = of_channel.covariance().ok_or_else(|| unknown.clone())?;
            degrees.push(of_channel.degrees_of_freedom().ok_or(unknown)?);
            let first = 2 * channel * per_channel;
            for row in 0..2 * per_channel {
                for column in 0..2 * per_channel {
                    joint.set(first + row, first + column, covariance.entry(row, column));
                }
            }
            unknowns.push(of_channel.as_found().complex());
            unknowns.extend(of_channel.influence().iter().map(|influence| influence.complex()));
            channel_fits.push(ChannelPart::of(fit, channel));
        }
        let common = fit.channels().iter().all(ChannelFit::has_common_variance);
        let of_readings = joint.clone();
        Ok(Self {
            channels,
            planes,
            unknowns,
            joint,
            of_readings,
            degrees,
            common,
            coupled: false,
            channel_fits,
        })
    }

    /// States that one estimate of the scatter stands behind the readings of all channels, as of readings pooled over
    /// channels: limits over several channels at once then know it.
    ///
    /// ```
    /// # use counterpoise::Uncertainty;
    /// # fn pooled(uncertainty: Uncertainty) -> Uncertainty {
    /// uncertainty.with_common_scatter()
    /// # }
    /// ```
    #[must_use]
    pub fn with_common_scatter(self) -> Self {
        Self { common: true, ..self }
    }

    /// Adds what the scatter of a mounted weight makes of the answer: the same weight, on in the runs named, with standard
    /// deviations of its mass and of its angle. It acts on all channels at once.
    ///
    /// # Errors
    /// [`UncertaintyError::OutOfRange`] for a plane or run that does not exist, [`UncertaintyError::BadNumber`] for a
    /// deviation that is negative or not finite.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lead, window);
    /// let trial = Weight::new(Mass::from_grams(10.0)?, Radius::from_millimetres(100.0)?, RotorAngle::MARK);
    /// # let mut estimator = Estimator::with_known_variances(&[channel], 1)?;
    /// # let read = |amplitude| channel.reading(amplitude, 0.0)?.with_standard_deviation(0.05);
    /// # estimator.add(Run::new("as found").reading(read(3.0)?))?;
    /// # estimator.add(Run::new("trial").mounted(0, trial).reading(read(1.0)?))?;
    /// # let uncertainty = Uncertainty::of(&estimator.fit()?)?;
    /// let (before, seen) = (uncertainty.influence(0, 0)?.radius(0.95), uncertainty.trial_response(0, 0)?);
    /// let uncertainty = uncertainty.with_weight_scatter(0, &[1], trial, Mass::from_grams(0.2)?, 2.0)?;
    /// assert!(uncertainty.influence(0, 0)?.radius(0.95) > before);
    /// // Whether the weight was seen is a matter of the readings alone.
    /// assert_eq!(uncertainty.trial_response(0, 0)?, seen);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn with_weight_scatter(
        mut self,
        plane: usize,
        runs: &[usize],
        weight: Weight,
        mass_deviation: Mass,
        angle_deviation_degrees: f64,
    ) -> Result<Self, UncertaintyError> {
        self.check_plane(plane)?;
        for (what, value) in [
            ("the deviation of a mass in g", mass_deviation.grams()),
            ("the deviation of an angle in deg", angle_deviation_degrees),
        ] {
            if !(value >= 0.0 && value.is_finite()) {
                return Err(UncertaintyError::BadNumber { what, value, wanted: "zero or a positive number" });
            }
        }
        let count = self.channel_fits.first().map_or(0, |part| part.gains.len());
        if let Some(&number) = runs.iter().find(|&&run| run >= count) {
            return Err(UncertaintyError::OutOfRange { what: "run", number, count });
        }
        let unbalance = weight.unbalance();
        let along = mass_deviation.grams() * weight.radius.millimetres();
        let across =
            unbalance.amount().gram_millimetres() * angle_deviation_degrees * (core::f64::consts::PI / 180.0);
        let (sine, cosine) = weight.angle.with_rotation().sin_cos();
        let scatter = Symmetric::turned([sine, cosine], along * along, across * across).rows();
        let mut jacobian = Vec::new();
        for (part, unknowns) in self.channel_fits.iter().zip(self.unknowns.chunks(self.planes + 1)) {
            jacobian.extend(part.jacobian(plane, runs, unknowns));
        }
        self.joint.add_product(&jacobian, scatter);
        self.coupled |= self.channels > 1;
        Ok(self)
    }

    pub(super) fn check_plane(&self, plane: usize) -> Result<(), UncertaintyError> {
        if plane < self.planes {
            Ok(())
        } else {
            Err(UncertaintyError::OutOfRange { what: "plane", number: plane, count: self.planes })
        }
    }

    /// How many channels it is of.
    ///
    /// ```
    /// # fn show(uncertainty: &counterpoise::Uncertainty) -> usize {
    /// uncertainty.channels()
    /// # }
    /// ```
    pub const fn channels(&self) -> usize {
        self.channels
    }

    /// How many correction planes it is of.
    ///
    /// ```
    /// # fn show(uncertainty: &counterpoise::Uncertainty) -> usize {
    /// uncertainty.planes()
    /// # }
    /// ```
    pub const fn planes(&self) -> usize {
        self.planes
    }

    pub(super) fn check_channel(&self, channel: usize) -> Result<(), UncertaintyError> {
        if channel < self.channels {
            Ok(())
        } else {
            Err(UncertaintyError::OutOfRange { what: "channel", number: channel, count: self.channels })
        }
    }

    /// The place of `v0` (0) or `H_p` (p + 1) of a channel.
    pub(super) const fn place(&self, channel: usize, unknown: usize) -> usize {
        channel * (self.planes + 1) + unknown
    }

    pub(super) fn unknown(&self, place: usize) -> Complex64 {
        self.unknowns.get(place).copied().unwrap_or_default()
    }

    pub(super) fn degrees_of(&self, channel: usize) -> DegreesOfFreedom {
        self.degrees.get(channel).copied().unwrap_or(DegreesOfFreedom::Known)
    }

    /// How well the scatter of all channels together is known.
    pub(super) fn degrees_of_all(&self) -> DegreesOfFreedom {
        self.degrees.iter().copied().fold(DegreesOfFreedom::Known, DegreesOfFreedom::weaker)
    }

    /// The vibration as found of a channel.
    ///
    /// # Errors
    /// [`UncertaintyError::OutOfRange`].
    ///
    /// ```
    /// # use counterpoise::{Estimate, Uncertainty, UncertaintyError, Vibration};
    /// # fn show(uncertainty: &Uncertainty) -> Result<Estimate<Vibration>, UncertaintyError> {
    /// uncertainty.as_found(0)
    /// # }
    /// ```
    pub fn as_found(&self, channel: usize) -> Result<Estimate<Vibration>, UncertaintyError> {
        self.check_channel(channel)?;
        let place = self.place(channel, 0);
        let value = Vibration::computed(self.unknown(place));
        Ok(Estimate::new(value, self.joint.block(place, place).unwrap_or_default(), self.degrees_of(channel)))
    }

    /// An influence coefficient.
    ///
    /// # Errors
    /// [`UncertaintyError::OutOfRange`].
    ///
    /// ```
    /// # use counterpoise::{Estimate, Influence, Uncertainty, UncertaintyError};
    /// # fn show(uncertainty: &Uncertainty) -> Result<Estimate<Influence>, UncertaintyError> {
    /// uncertainty.influence(0, 0)
    /// # }
    /// ```
    pub fn influence(&self, channel: usize, plane: usize) -> Result<Estimate<Influence>, UncertaintyError> {
        self.check_channel(channel)?;
        self.check_plane(plane)?;
        let place = self.place(channel, plane + 1);
        let value = Influence::computed(self.unknown(place));
        Ok(Estimate::new(value, self.joint.block(place, place).unwrap_or_default(), self.degrees_of(channel)))
    }

    /// The vibration of every channel with given unbalances on the bare rotor, one per plane, without the scatter of the
    /// reading that will show it: `v = v0 + Σ_p H_p u_p`, with the covariance of `v0` and `H` together. For a placement, mount
    /// what stays on plus [`Placement::placed`](crate::Placement::placed).
    ///
    /// # Errors
    /// [`UncertaintyError::Count`] where there is not one unbalance per plane.
    ///
    /// ```
    /// # use counterpoise::{Estimate, Uncertainty, UncertaintyError, UnbalanceVector, Vibration};
    /// # fn show(uncertainty: &Uncertainty) -> Result<Vec<Estimate<Vibration>>, UncertaintyError> {
    /// uncertainty.vibration_with(&[UnbalanceVector::ZERO])
    /// # }
    /// ```
    pub fn vibration_with(
        &self,
        mounted: &[UnbalanceVector],
    ) -> Result<Vec<Estimate<Vibration>>, UncertaintyError> {
        if mounted.len() != self.planes {
            let what = "unbalances, one per plane";
            return Err(UncertaintyError::Count { what, expected: self.planes, got: mounted.len() });
        }
        Ok((0..self.channels).map(|channel| self.predicted(channel, mounted)).collect())
    }

    pub(super) fn predicted(&self, channel: usize, mounted: &[UnbalanceVector]) -> Estimate<Vibration> {
        let factors = factors_of(mounted);
        let value = factors.iter().enumerate().map(|(i, w)| self.unknown(self.place(channel, i)) * w).sum();
        let covariance = self.cross(channel, channel, &factors);
        Estimate::new(Vibration::computed(value), covariance, self.degrees_of(channel))
    }

    /// The covariance of `Σ_i x_ik w_i` and `Σ_j x_jl w_j`: `Σ_ij B(w_i) C_ij B(w_j)ᵀ`.
    pub(super) fn cross(&self, channel: usize, other: usize, factors: &[Complex64]) -> [[f64; 2]; 2] {
        let block = |i, j| self.joint.block(self.place(channel, i), self.place(other, j)).unwrap_or_default();
        cross(block, factors)
    }
}

/// `Σ_ij B(w_i) C_ij B(w_j)ᵀ` of blocks `C_ij`.
pub(super) fn cross(block: impl Fn(usize, usize) -> [[f64; 2]; 2], factors: &[Complex64]) -> [[f64; 2]; 2] {
    let mut sum = [[0.0; 2]; 2];
    for (i, left) in factors.iter().enumerate() {
        for (j, right) in factors.iter().enumerate() {
            let block = block(i, j);
            let (b, c) = (rotation(*left), rotation(*right));
            for (row, of_b) in sum.iter_mut().zip(&b) {
                for (entry, of_c) in row.iter_mut().zip(&c) {
                    *entry += of_b[0] * (block[0][0] * of_c[0] + block[0][1] * of_c[1])
                        + of_b[1] * (block[1][0] * of_c[0] + block[1][1] * of_c[1]);
                }
            }
        }
    }
    sum
}

/// `(1, u_1, …, u_P)`.
pub(super) fn factors_of(mounted: &[UnbalanceVector]) -> Vec<Complex64> {
    let one = core::iter::once(Complex64 { re: 1.0, im: 0.0 });
    one.chain(mounted.iter().map(|unbalance| unbalance.complex())).collect()
}

/// `B(z) = [[Re z, −Im z], [Im z, Re z]]`: multiplication by z, on components.
pub(super) fn rotation(z: Complex64) -> [[f64; 2]; 2] {
    [[z.re, 0.0 - z.im], [z.im, z.re]]
}

/// Multiplication of a conjugate by z, on components: `[[Re z, Im z], [Im z, −Re z]]`.
pub(super) fn reflection(z: Complex64) -> [[f64; 2]; 2] {
    [[z.re, z.im], [z.im, 0.0 - z.re]]
}

impl ChannelPart {
    fn of(fit: &InfluenceFit, channel: usize) -> Self {
        let planes = fit.influence().planes();
        let mut part = Self { gains: Vec::new(), left: Vec::new(), inverse: Vec::new() };
        let Some(of_channel) = fit.channels().get(channel) else { return part };
        let cofactor = of_channel.cofactor();
        let mut run = 0;
        while let Some(mounted) = fit.mounted_in(run) {
            let root = of_channel.root_of_run(run);
            let weight = root.map(|root| root * root);
            let gains = weight.map(|weight| {
                let gains = cofactor.times_conjugate(&factors_of(mounted));
                gains.into_iter().map(|gain| gain * weight).collect()
            });
            let residual = of_channel.residual(run).unwrap_or_default();
            part.left.push(residual.complex() * weight.unwrap_or(0.0));
            part.gains.push(gains);
            run += 1;
        }
        for column in 0..=planes {
            let mut unit = alloc::vec![Complex64::default(); planes + 1];
            if let Some(entry) = unit.get_mut(column) {
                *entry = Complex64 { re: 1.0, im: 0.0 };
            }
            part.inverse.push(cofactor.times_conjugate(&unit));
        }
        part
    }

    /// What the unknowns do for each unit of error of a weight in these runs:
    /// `dx = −Σ_i a_i H_p dU + (AᴴGA)⁻¹ e_p Σ_i g_i r_i dŪ`.
    fn jacobian(&self, plane: usize, runs: &[usize], unknowns: &[Complex64]) -> Vec<[f64; 2]> {
        let influence = unknowns.get(plane + 1).copied().unwrap_or_default();
        let mut left = Complex64::default();
        let mut gains = alloc::vec![Complex64::default(); unknowns.len()];
        for &run in runs {
            if let Some(Some(of_run)) = self.gains.get(run) {
                left += self.left.get(run).copied().unwrap_or_default();
                for (sum, gain) in gains.iter_mut().zip(of_run) {
                    *sum += gain;
                }
            }
        }
        let column = self.inverse.get(plane + 1).map_or(&[][..], Vec::as_slice);
        let mut rows = Vec::new();
        for (i, gain) in gains.iter().enumerate() {
            let direct = rotation(Complex64::default() - gain * influence);
            let through = reflection(column.get(i).copied().unwrap_or_default() * left);
            for (one, two) in direct.iter().zip(&through) {
                rows.push([one[0] + two[0], one[1] + two[1]]);
            }
        }
        rows
    }
}

/// The size of a complex number.
pub(super) fn modulus(z: Complex64) -> f64 {
    math::modulus(z)
}
