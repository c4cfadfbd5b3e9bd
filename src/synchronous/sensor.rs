//! From the numbers of a converter to a reading of a channel: what the sensor and its chain made of the vibration is undone.

use num_complex::Complex64;

use super::synchronous_vector::SynchronousVector;
use crate::channel::{Channel, Reading};
use crate::error::{ReadingError, SynchronousError};
use crate::first_weight::Polarity;
use crate::math;
use crate::scatter::Scatter;
use crate::vector::Vibration;
use crate::vibration_unit::{Detector, VibrationScale, VibrationUnit};

/// How a chain answers at one frequency, against how it answers where its sensitivity was stated.
///
/// ```
/// use counterpoise::synchronous::ResponsePoint;
/// let point = ResponsePoint { hertz: 15.0, gain: 0.93, phase_lead_degrees: 12.0 };
/// assert_eq!(point.gain, 0.93);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ResponsePoint {
    /// The frequency.
    pub hertz: f64,
    /// The amplitude that comes out, as a share of what the sensitivity says.
    pub gain: f64,
    /// How far what comes out is ahead of the vibration; negative where it lags.
    pub phase_lead_degrees: f64,
}

/// A sensor with its chain: what one unit of its samples is, which way is positive, how late it is, and how it answers
/// against frequency.
///
/// ```
/// use counterpoise::first_weight::Polarity;
/// use counterpoise::synchronous::SensorChain;
/// use counterpoise::VibrationScale;
/// // 100 mV per g_n into a converter of 0.1526 mV a count; a filter that delays by 0.3 ms.
/// let chain = SensorChain::new(VibrationScale::StandardGravity, 0.1526 / 100.0)?
///     .polarity(Polarity::Against)
///     .delayed_by_seconds(0.0003)?;
/// # Ok::<(), counterpoise::SynchronousError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SensorChain<'a> {
    scale: VibrationScale,
    per_unit: f64,
    sign: f64,
    delay: f64,
    table: &'a [ResponsePoint],
    gain_uncertainty: f64,
    phase_uncertainty_degrees: f64,
}

impl<'a> SensorChain<'a> {
    /// A chain whose samples, times a factor, are vibration in a scale: the inverse of its sensitivity.
    ///
    /// # Errors
    /// [`SynchronousError::BadNumber`] where the factor is not a positive number; [`polarity`](Self::polarity) says which
    /// way is positive.
    ///
    /// ```
    /// # use counterpoise::{VibrationScale, synchronous::SensorChain};
    /// assert!(SensorChain::new(VibrationScale::StandardGravity, -1.0).is_err());
    /// ```
    pub fn new(scale: VibrationScale, per_unit: f64) -> Result<Self, SynchronousError> {
        if !(per_unit > 0.0 && per_unit <= 1e100) {
            let (what, wanted) = ("vibration per unit of the samples", "positive, and at most 1e100");
            return Err(SynchronousError::BadNumber { what, value: per_unit, wanted });
        }
        Ok(Self {
            scale,
            per_unit,
            sign: 1.0,
            delay: 0.0,
            table: &[],
            gain_uncertainty: 0.0,
            phase_uncertainty_degrees: 0.0,
        })
    }

    /// Whether motion along the sensor's direction gives positive samples.
    ///
    /// ```
    /// # use counterpoise::{VibrationScale, first_weight::Polarity, synchronous::SensorChain};
    /// let chain = SensorChain::new(VibrationScale::InchPerSecond, 1.0)?.polarity(Polarity::Against);
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    #[must_use]
    pub const fn polarity(self, polarity: Polarity) -> Self {
        let sign = match polarity {
            Polarity::Along => 1.0,
            Polarity::Against => -1.0,
        };
        Self { sign, ..self }
    }

    /// How late a sample is after what it shows, against the clock of the marks: the delay of a filter, the time between
    /// the channels of a converter.
    ///
    /// # Errors
    /// [`SynchronousError::BadNumber`] where it is negative or not finite, or beyond 1000 s.
    ///
    /// ```
    /// # use counterpoise::{VibrationScale, synchronous::SensorChain};
    /// assert!(SensorChain::new(VibrationScale::InchPerSecond, 1.0)?.delayed_by_seconds(f64::NAN).is_err());
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn delayed_by_seconds(self, seconds: f64) -> Result<Self, SynchronousError> {
        if (0.0..=1000.0).contains(&seconds) {
            Ok(Self { delay: seconds, ..self })
        } else {
            Err(SynchronousError::BadNumber {
                what: "the delay in seconds",
                value: seconds,
                wanted: "0 to 1000",
            })
        }
    }

    /// How it answers against frequency: points in rising order. Between them gain and phase go in straight lines; below the
    /// first and above the last they stay as there.
    ///
    /// # Errors
    /// [`SynchronousError::ResponseTable`].
    ///
    /// ```
    /// # use counterpoise::{VibrationScale, synchronous::{ResponsePoint, SensorChain}};
    /// let table = [
    ///     ResponsePoint { hertz: 10.0, gain: 0.80, phase_lead_degrees: 30.0 },
    ///     ResponsePoint { hertz: 20.0, gain: 0.96, phase_lead_degrees: 14.0 },
    /// ];
    /// let chain = SensorChain::new(VibrationScale::InchPerSecond, 1.0)?.response(&table)?;
    /// assert!(chain.response(&[table[1], table[0]]).is_err());
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn response(self, table: &'a [ResponsePoint]) -> Result<Self, SynchronousError> {
        let mut last = 0.0;
        for (point, &ResponsePoint { hertz, gain, phase_lead_degrees }) in table.iter().enumerate() {
            let in_range = (1e-9..=1e9).contains(&gain) && (-1e6..=1e6).contains(&phase_lead_degrees);
            if !(in_range && hertz > last && hertz <= 1e9) {
                return Err(SynchronousError::ResponseTable { point, hertz, gain });
            }
            last = hertz;
        }
        Ok(Self { table, ..self })
    }

    /// How well it is calibrated: the standard uncertainty of its gain, as a share, and of its phase.
    ///
    /// It is the same in every run, so that it drops out of a correction by influence coefficients; it matters for a vibration
    /// that is compared with a limit. [`calibrated_reading`](Self::calibrated_reading) carries it, [`reading`](Self::reading)
    /// does not.
    ///
    /// # Errors
    /// [`SynchronousError::BadNumber`] where one is negative or not finite, the share above 1, or the phase above 360 degrees.
    ///
    /// ```
    /// # use counterpoise::{VibrationScale, synchronous::SensorChain};
    /// let chain = SensorChain::new(VibrationScale::InchPerSecond, 1.0)?.calibrated_within(0.02, 1.5)?;
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn calibrated_within(self, gain_share: f64, phase_degrees: f64) -> Result<Self, SynchronousError> {
        let refused = |what, value, wanted| Err(SynchronousError::BadNumber { what, value, wanted });
        if !(0.0..=1.0).contains(&gain_share) {
            return refused("the standard uncertainty of the gain, as a share,", gain_share, "0 to 1");
        }
        if !(0.0..=360.0).contains(&phase_degrees) {
            return refused("the standard uncertainty of the phase in degrees", phase_degrees, "0 to 360");
        }
        Ok(Self { gain_uncertainty: gain_share, phase_uncertainty_degrees: phase_degrees, ..self })
    }

    /// Gain and phase lead at a frequency.
    fn answer(&self, hertz: f64) -> (f64, f64) {
        let above = self.table.partition_point(|point| point.hertz <= hertz);
        let below = above.checked_sub(1).and_then(|at| self.table.get(at));
        match (below, self.table.get(above)) {
            (Some(one), Some(other)) => {
                let share = (hertz - one.hertz) / (other.hertz - one.hertz);
                let between = |a: f64, b: f64| a + share * (b - a);
                (between(one.gain, other.gain), between(one.phase_lead_degrees, other.phase_lead_degrees))
            }
            (Some(one), None) | (None, Some(one)) => (one.gain, one.phase_lead_degrees),
            (None, None) => (1.0, 0.0),
        }
    }

    /// What a vector of the samples at a frequency is as vibration: `X = s y/(G exp(j(φ − Ωτ)))`.
    fn factor(&self, hertz: f64) -> Complex64 {
        let (gain, lead) = self.answer(hertz);
        let (sine, cosine) = math::sin_cos_degrees(360.0 * hertz * self.delay - lead);
        let size = self.sign * self.per_unit / gain;
        Complex64 { re: size * cosine, im: size * sine }
    }

    /// The vibration once per turn in the unit of a channel, as its reading at the mean speed of the record, with the scatter
    /// of the record. Integration turns the phase by a quarter turn each time: `X_v = X_a/(jΩ)`.
    ///
    /// # Errors
    /// [`SynchronousError::Reading`] where the speed lies outside the channel's window, or the amplitude beyond range.
    ///
    /// ```
    /// use counterpoise::synchronous::{Extraction, Mark, Rotation, SensorChain};
    /// use counterpoise::{Channel, Detector, PhaseSense, Speed, SpeedWindow, VibrationScale, VibrationUnit};
    /// // 0.1 g peak at 20 turns a second, its positive peak at the mark.
    /// let samples: Vec<f64> = (0..1000).map(|i| 0.1 * libm::cos(core::f64::consts::TAU * 0.02 * f64::from(i))).collect();
    /// let marks: Vec<Mark> = (0..20).map(|n| Mark { seconds: 0.05 * f64::from(n), turns: f64::from(n) }).collect();
    /// let vector = Extraction::once_per_turn(1000.0)?.extract(&samples, &Rotation::through(&marks)?)?;
    ///
    /// let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// let window = SpeedWindow::around_percent(Speed::from_rpm(1200.0)?, 1.0)?;
    /// let channel = Channel::new(1, unit, PhaseSense::Lag, window);
    /// let reading = SensorChain::new(VibrationScale::StandardGravity, 1.0)?.reading(&vector, channel)?;
    /// let polar = channel.polar(reading.vibration());
    /// let (amplitude, lag) = (polar.amplitude, polar.phase);
    /// // 0.1 · 9.80665 m/s² / (2π 20 /s) / 0.0254 m
    /// assert!((amplitude - 0.307_240).abs() < 1e-6 && (lag.degrees() - 90.0).abs() < 1e-9);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn reading<const ORDERS: usize>(
        &self,
        vector: &SynchronousVector<ORDERS>,
        channel: Channel,
    ) -> Result<Reading, SynchronousError> {
        let (reading, scatter) = self.placed(vector, channel)?;
        Ok(scatter.map_or(reading, |scatter| reading.with_scatter(scatter)))
    }

    /// The same, with the uncertainty of the calibration in its scatter.
    ///
    /// # Errors
    /// As [`reading`](Self::reading).
    ///
    /// ```
    /// # use counterpoise::synchronous::{Extraction, Mark, Rotation, SensorChain};
    /// # use counterpoise::{Channel, Detector, PhaseSense, Precision, Speed, SpeedWindow, VibrationScale, VibrationUnit};
    /// # let samples: Vec<f64> = (0..1000).map(|i| 0.1 * libm::cos(core::f64::consts::TAU * 0.02 * f64::from(i))).collect();
    /// # let marks: Vec<Mark> = (0..20).map(|n| Mark { seconds: 0.05 * f64::from(n), turns: f64::from(n) }).collect();
    /// # let vector = Extraction::once_per_turn(1000.0)?.extract(&samples, &Rotation::through(&marks)?)?;
    /// # let unit = VibrationUnit::new(VibrationScale::StandardGravity, Detector::Peak);
    /// # let channel = Channel::new(1, unit, PhaseSense::Lag, SpeedWindow::around_percent(Speed::from_rpm(1200.0)?, 1.0)?);
    /// let chain = SensorChain::new(VibrationScale::StandardGravity, 1.0)?.calibrated_within(0.02, 0.0)?;
    /// let Precision::Scatter(scatter) = chain.calibrated_reading(&vector, channel)?.precision() else { panic!() };
    /// assert!((scatter.covariance()[0][0] - 4e-6).abs() < 1e-12);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn calibrated_reading<const ORDERS: usize>(
        &self,
        vector: &SynchronousVector<ORDERS>,
        channel: Channel,
    ) -> Result<Reading, SynchronousError> {
        let (reading, scatter) = self.placed(vector, channel)?;
        let vibration = reading.vibration();
        let along = vibration.amplitude() * self.gain_uncertainty;
        let across = vibration.amplitude() * self.phase_uncertainty_degrees * (core::f64::consts::PI / 180.0);
        // Of a calibration that is uncertain in gain or in phase alone only the sum is a scatter.
        let calibration = Scatter::polar(vibration, along, across);
        let whole = match scatter {
            Some(scatter) => Some(scatter.plus(&calibration)),
            None => Scatter::known_polar(vibration, along, self.phase_uncertainty_degrees).ok(),
        };
        Ok(whole.map_or(reading, |scatter| reading.with_scatter(scatter)))
    }

    /// The reading of a vector in a channel's unit, at the mean speed, and the scatter of the record there.
    fn placed<const ORDERS: usize>(
        &self,
        vector: &SynchronousVector<ORDERS>,
        channel: Channel,
    ) -> Result<(Reading, Option<Scatter>), SynchronousError> {
        let speed = vector.speed.mean;
        let one = Vibration::computed(self.factor(speed.hertz()));
        let own = VibrationUnit::new(self.scale, Detector::Peak);
        let factor = own.convert(one, channel.unit(), speed).complex();
        let z = vector.once_per_turn().complex() * factor;
        let vibration = Vibration::from_components(z.re, z.im).map_err(ReadingError::from);
        let reading = vibration.and_then(|vibration| channel.reading_of(vibration).at(speed));
        let scatter = vector.scatter.map(|scatter| scatter.times(factor));
        Ok((reading.map_err(SynchronousError::Reading)?, scatter))
    }
}
