//! A channel is a sensor at a speed: the door through which readings come in, and answers go out.

use core::fmt;

use crate::angle::{Angle, PhaseSense};
use crate::error::ReadingError;
use crate::math;
use crate::scatter::{Scatter, positive};
use crate::speed_window::{SpeedLaw, SpeedWindow};
use crate::unit::Speed;
use crate::vector::{PolarVibration, Vibration};
use crate::vibration_unit::VibrationUnit;

/// A measuring point at a speed: which sensor, its unit, how its phase is counted, and the speeds it holds for.
///
/// Numbers become vibrations here and nowhere else, so that the senses are converted once. Two readings belong
/// together when their channels are equal.
///
/// ```
/// use counterpoise::{Channel, Detector, PhaseSense, Speed, SpeedWindow, VibrationScale, VibrationUnit};
/// let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
/// let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
/// let channel = Channel::new(1, unit, PhaseSense::Lag, window);
/// let reading = channel.reading(0.62, 328.8)?.at(Speed::from_rpm(2395.0)?)?;
/// assert_eq!(channel.to_string(), "sensor 1 at 2400 rpm (in/s peak)");
/// assert!((reading.vibration().amplitude() - 0.62).abs() < 1e-15);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(deny_unknown_fields))]
pub struct Channel {
    sensor: u16,
    unit: VibrationUnit,
    phase: PhaseSense,
    window: SpeedWindow,
    #[cfg_attr(feature = "serde", serde(default, skip_serializing_if = "Option::is_none"))]
    law: Option<SpeedLaw>,
}

impl Channel {
    /// A channel of a sensor, which the caller numbers as they like.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, PhaseSense, Speed, SpeedWindow, VibrationScale, VibrationUnit};
    /// let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// assert_eq!(Channel::new(7, unit, PhaseSense::Lead, window).sensor(), 7);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn new(sensor: u16, unit: VibrationUnit, phase: PhaseSense, window: SpeedWindow) -> Self {
        Self { sensor, unit, phase, window, law: None }
    }

    /// The same channel with a law that brings readings at any speed to the nominal one.
    ///
    /// The window no longer refuses a reading; every reading is scaled, and the factor is reported with it.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, PhaseSense, Speed, SpeedLaw, SpeedWindow, VibrationScale, VibrationUnit};
    /// let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    /// let channel = Channel::new(1, unit, PhaseSense::Lag, window).with_law(SpeedLaw::MassControlled);
    /// let reading = channel.reading(0.50, 0.0)?.at(Speed::from_rpm(2000.0)?)?;
    /// assert_eq!(reading.speed_factor(), 1.2);
    /// assert_eq!(reading.at_nominal_speed().amplitude(), 0.6);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    #[must_use]
    pub const fn with_law(self, law: SpeedLaw) -> Self {
        Self { law: Some(law), ..self }
    }

    /// The caller's number of the sensor.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, PhaseSense, Speed, SpeedWindow, VibrationScale, VibrationUnit};
    /// # let unit = VibrationUnit::new(VibrationScale::Mil, Detector::PeakToPeak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1200.0)?, 1.0)?;
    /// assert_eq!(Channel::new(3, unit, PhaseSense::Lag, window).sensor(), 3);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn sensor(&self) -> u16 {
        self.sensor
    }

    /// The unit of its readings.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, PhaseSense, Speed, SpeedWindow, VibrationScale, VibrationUnit};
    /// # let unit = VibrationUnit::new(VibrationScale::Mil, Detector::PeakToPeak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1200.0)?, 1.0)?;
    /// assert_eq!(Channel::new(3, unit, PhaseSense::Lag, window).unit(), unit);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn unit(&self) -> VibrationUnit {
        self.unit
    }

    /// How the phases of its readings are counted.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, PhaseSense, Speed, SpeedWindow, VibrationScale, VibrationUnit};
    /// # let unit = VibrationUnit::new(VibrationScale::Mil, Detector::PeakToPeak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1200.0)?, 1.0)?;
    /// assert_eq!(Channel::new(3, unit, PhaseSense::Lag, window).phase_sense(), PhaseSense::Lag);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn phase_sense(&self) -> PhaseSense {
        self.phase
    }

    /// The speeds it holds for.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, PhaseSense, Speed, SpeedWindow, VibrationScale, VibrationUnit};
    /// # let unit = VibrationUnit::new(VibrationScale::Mil, Detector::PeakToPeak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1200.0)?, 1.0)?;
    /// assert_eq!(Channel::new(3, unit, PhaseSense::Lag, window).window().nominal().rpm(), 1200.0);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn window(&self) -> SpeedWindow {
        self.window
    }

    /// The law declared for readings at other speeds, if one was.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, PhaseSense, Speed, SpeedWindow, VibrationScale, VibrationUnit};
    /// # let unit = VibrationUnit::new(VibrationScale::Mil, Detector::PeakToPeak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1200.0)?, 1.0)?;
    /// assert_eq!(Channel::new(3, unit, PhaseSense::Lag, window).law(), None);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn law(&self) -> Option<SpeedLaw> {
        self.law
    }

    /// A reading from an amplitude in the channel's unit and a phase in degrees, counted as the channel says, at the
    /// nominal speed. Say with [`Reading::at`] at which speed it really was.
    ///
    /// # Errors
    /// [`ReadingError::Quantity`] where a number is not finite, or the amplitude negative or beyond range.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, PhaseSense, Speed, SpeedWindow, VibrationScale, VibrationUnit};
    /// # let unit = VibrationUnit::new(VibrationScale::Mil, Detector::PeakToPeak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1200.0)?, 1.0)?;
    /// let channel = Channel::new(1, unit, PhaseSense::Lag, window);
    /// assert_eq!(channel.reading(4.0, 90.0)?.vibration().complex().im, -4.0);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn reading(&self, amplitude: f64, phase_degrees: f64) -> Result<Reading, ReadingError> {
        let vibration = Vibration::from_polar(amplitude, self.phase, Angle::from_degrees(phase_degrees)?)?;
        Ok(self.reading_of(vibration))
    }

    /// A reading from a vibration that is canonical already, at the nominal speed.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, PhaseSense, Speed, SpeedWindow, Vibration, VibrationScale, VibrationUnit};
    /// # let unit = VibrationUnit::new(VibrationScale::Mil, Detector::PeakToPeak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1200.0)?, 1.0)?;
    /// let channel = Channel::new(1, unit, PhaseSense::Lead, window);
    /// let vibration = Vibration::from_components(0.3, -0.1)?;
    /// assert_eq!(channel.reading_of(vibration).vibration(), vibration);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn reading_of(&self, vibration: Vibration) -> Reading {
        let precision = Precision::Relative { weight: 1.0 };
        Reading { channel: *self, vibration, speed: self.window.nominal(), precision }
    }

    /// Amplitude in the channel's unit, and phase counted as the channel says.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, PhaseSense, Speed, SpeedWindow, Vibration, VibrationScale, VibrationUnit};
    /// # let unit = VibrationUnit::new(VibrationScale::Mil, Detector::PeakToPeak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1200.0)?, 1.0)?;
    /// let channel = Channel::new(1, unit, PhaseSense::Lag, window);
    /// let polar = channel.polar(Vibration::from_components(0.0, -2.0)?);
    /// let (amplitude, phase) = (polar.amplitude, polar.phase);
    /// assert_eq!((amplitude, phase.degrees()), (2.0, 90.0));
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn polar(&self, vibration: Vibration) -> PolarVibration {
        PolarVibration { amplitude: vibration.amplitude(), phase: vibration.phase(self.phase) }
    }
}

/// The first two places of a list that name one channel, and its sensor.
#[cfg(feature = "alloc")]
pub(crate) fn repeated(channels: &[Channel]) -> Option<(usize, usize, u16)> {
    channels.iter().enumerate().find_map(|(second, channel)| {
        let first = channels.iter().take(second).position(|earlier| earlier == channel)?;
        Some((first, second, channel.sensor))
    })
}

impl fmt::Display for Channel {
    /// Sensor, nominal speed and unit.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "sensor {} at {} ({})", self.sensor, self.window.nominal(), self.unit)
    }
}

/// How precise a reading is: the one number that weights it in a fit. "Variance" is always per real component.
///
/// ```
/// use counterpoise::Precision;
/// assert_ne!(Precision::Relative { weight: 1.0 }, Precision::Relative { weight: 2.0 });
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "snake_case"))]
pub enum Precision {
    /// A weight up to a common factor, such as the number of readings averaged.
    Relative {
        /// Multiplies the squared residual.
        weight: f64,
    },
    /// A scatter: stated, or estimated from repeated readings.
    Scatter(Scatter),
}

/// One reading of one channel: a vibration, the speed it was taken at, and how precise it is.
///
/// ```
/// use counterpoise::{Channel, Detector, PhaseSense, Speed, SpeedWindow, VibrationScale, VibrationUnit};
/// let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
/// let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
/// let channel = Channel::new(1, unit, PhaseSense::Lag, window);
/// let before = channel.reading(0.30, 0.0)?;
/// let after = channel.reading(0.40, 90.0)?.with_standard_deviation(0.005)?;
/// assert!((after.change_from(&before)?.amplitude() - 0.5).abs() < 1e-15);
///
/// let error = channel.reading(0.3, 0.0)?.at(Speed::from_rpm(2300.0)?).unwrap_err();
/// assert_eq!(
///     error.to_string(),
///     "a reading at 2300.0 rpm lies outside the 2376.0 to 2424.0 rpm of sensor 1: \
///      read again at speed, widen the window, or declare how the response grows with speed",
/// );
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    channel: Channel,
    vibration: Vibration,
    speed: Speed,
    precision: Precision,
}

impl Reading {
    /// The same reading, with the speed it was taken at.
    ///
    /// # Errors
    /// [`ReadingError::SpeedOutsideWindow`] where the channel's window does not hold the speed and no law was declared.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, PhaseSense, Speed, SpeedWindow, VibrationScale, VibrationUnit};
    /// # let unit = VibrationUnit::new(VibrationScale::Mil, Detector::PeakToPeak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1200.0)?, 1.0)?;
    /// let channel = Channel::new(1, unit, PhaseSense::Lag, window);
    /// assert_eq!(channel.reading(4.0, 90.0)?.at(Speed::from_rpm(1195.0)?)?.speed().rpm(), 1195.0);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn at(self, speed: Speed) -> Result<Self, ReadingError> {
        let window = self.channel.window;
        if self.channel.law.is_none() && !window.holds(speed) {
            return Err(ReadingError::SpeedOutsideWindow {
                sensor: self.channel.sensor,
                rpm: speed.rpm(),
                lowest_rpm: window.lowest().rpm(),
                highest_rpm: window.highest().rpm(),
            });
        }
        let scaled = Self { speed, ..self };
        let (factor, amplitude) = (scaled.speed_factor(), scaled.at_nominal_speed().amplitude());
        if factor.is_finite() && factor > 0.0 && amplitude <= crate::unit::LARGEST_PRODUCT {
            Ok(scaled)
        } else {
            Err(ReadingError::ScalingBeyondRange { sensor: self.channel.sensor, rpm: speed.rpm(), factor })
        }
    }

    /// The same reading, with a weight in a fit whose variance is to be estimated: say, the number of readings averaged.
    ///
    /// # Errors
    /// [`ReadingError::Quantity`] where the weight is not positive and finite.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, PhaseSense, Precision, Speed, SpeedWindow, VibrationScale, VibrationUnit};
    /// # let unit = VibrationUnit::new(VibrationScale::Mil, Detector::PeakToPeak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1200.0)?, 1.0)?;
    /// let channel = Channel::new(1, unit, PhaseSense::Lag, window);
    /// let reading = channel.reading(4.0, 90.0)?.with_weight(8.0)?;
    /// assert_eq!(reading.precision(), Precision::Relative { weight: 8.0 });
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn with_weight(self, weight: f64) -> Result<Self, ReadingError> {
        let weight = positive("weight", weight, "(a plain number)")?;
        Ok(Self { precision: Precision::Relative { weight }, ..self })
    }

    /// The same reading, with the known standard deviation of each of its two components, in the channel's unit.
    ///
    /// # Errors
    /// [`ReadingError::Quantity`] where it is not positive and finite.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, PhaseSense, Precision, Speed, SpeedWindow, VibrationScale, VibrationUnit, Scatter};
    /// # let unit = VibrationUnit::new(VibrationScale::Mil, Detector::PeakToPeak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1200.0)?, 1.0)?;
    /// let channel = Channel::new(1, unit, PhaseSense::Lag, window);
    /// let reading = channel.reading(4.0, 90.0)?.with_standard_deviation(0.5)?;
    /// assert_eq!(reading.precision(), Precision::Scatter(Scatter::known(0.5)?));
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn with_standard_deviation(self, standard_deviation: f64) -> Result<Self, ReadingError> {
        Ok(self.with_scatter(Scatter::known(standard_deviation)?))
    }

    /// The same reading, with the covariance of its two components: stated, or estimated from repeated readings.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::Mil, Detector::PeakToPeak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1200.0)?, 1.0)?;
    /// let channel = Channel::new(1, unit, PhaseSense::Lag, window);
    /// let readings = [(4.0, 90.0), (4.1, 91.0), (3.9, 90.5)].map(|(mils, lag)| channel.reading(mils, lag));
    /// let repeats = Repeats::of(&[readings[0]?.vibration(), readings[1]?.vibration(), readings[2]?.vibration()])?;
    /// let scatter = repeats.scatter_of_mean().ok_or("too few readings")?;
    /// let reading = channel.reading_of(repeats.mean()).with_scatter(scatter);
    /// assert_eq!(reading.precision(), Precision::Scatter(scatter));
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    #[must_use]
    pub const fn with_scatter(self, scatter: Scatter) -> Self {
        Self { precision: Precision::Scatter(scatter), ..self }
    }

    /// The channel it belongs to.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, PhaseSense, Speed, SpeedWindow, VibrationScale, VibrationUnit};
    /// # let unit = VibrationUnit::new(VibrationScale::Mil, Detector::PeakToPeak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1200.0)?, 1.0)?;
    /// let channel = Channel::new(1, unit, PhaseSense::Lag, window);
    /// assert_eq!(channel.reading(4.0, 90.0)?.channel(), &channel);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn channel(&self) -> &Channel {
        &self.channel
    }

    /// The vibration as it was read.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, PhaseSense, Speed, SpeedWindow, VibrationScale, VibrationUnit};
    /// # let unit = VibrationUnit::new(VibrationScale::Mil, Detector::PeakToPeak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1200.0)?, 1.0)?;
    /// let channel = Channel::new(1, unit, PhaseSense::Lead, window);
    /// assert_eq!(channel.reading(4.0, 90.0)?.vibration().complex().im, 4.0);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn vibration(&self) -> Vibration {
        self.vibration
    }

    /// The speed it was taken at.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, PhaseSense, Speed, SpeedWindow, VibrationScale, VibrationUnit};
    /// # let unit = VibrationUnit::new(VibrationScale::Mil, Detector::PeakToPeak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1200.0)?, 1.0)?;
    /// let channel = Channel::new(1, unit, PhaseSense::Lead, window);
    /// assert_eq!(channel.reading(4.0, 90.0)?.speed().rpm(), 1200.0);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn speed(&self) -> Speed {
        self.speed
    }

    /// How precise it is.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, PhaseSense, Precision, Speed, SpeedWindow, VibrationScale, VibrationUnit};
    /// # let unit = VibrationUnit::new(VibrationScale::Mil, Detector::PeakToPeak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1200.0)?, 1.0)?;
    /// let channel = Channel::new(1, unit, PhaseSense::Lead, window);
    /// assert_eq!(channel.reading(4.0, 90.0)?.precision(), Precision::Relative { weight: 1.0 });
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn precision(&self) -> Precision {
        self.precision
    }

    /// What the declared law multiplies the reading with to bring it to the nominal speed; 1 without a law.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, PhaseSense, Speed, SpeedLaw, SpeedWindow, VibrationScale, VibrationUnit};
    /// # let unit = VibrationUnit::new(VibrationScale::Mil, Detector::PeakToPeak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1200.0)?, 1.0)?;
    /// let channel = Channel::new(1, unit, PhaseSense::Lead, window).with_law(SpeedLaw::StiffnessControlled);
    /// assert_eq!(channel.reading(4.0, 90.0)?.at(Speed::from_rpm(600.0)?)?.speed_factor(), 4.0);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn speed_factor(&self) -> f64 {
        let Some(law) = self.channel.law else { return 1.0 };
        let exponent = law.exponent(self.channel.unit.scale.quantity());
        // f = (N₀/N)ᵖ
        math::power(self.channel.window.nominal().rpm() / self.speed.rpm(), exponent)
    }

    /// The vibration as it would be at the nominal speed, by the declared law; as it was read, without one.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, PhaseSense, Speed, SpeedLaw, SpeedWindow, VibrationScale, VibrationUnit};
    /// # let unit = VibrationUnit::new(VibrationScale::Mil, Detector::PeakToPeak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1200.0)?, 1.0)?;
    /// let channel = Channel::new(1, unit, PhaseSense::Lead, window).with_law(SpeedLaw::StiffnessControlled);
    /// let slow = channel.reading(4.0, 0.0)?.at(Speed::from_rpm(600.0)?)?;
    /// assert_eq!(slow.at_nominal_speed().amplitude(), 16.0);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn at_nominal_speed(&self) -> Vibration {
        self.vibration * self.speed_factor()
    }

    /// How the vibration changed since an earlier reading of the same channel, both at the nominal speed.
    ///
    /// # Errors
    /// [`ReadingError::DifferentChannels`] where the two are not readings of one channel.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, PhaseSense, Speed, SpeedWindow, VibrationScale, VibrationUnit};
    /// # let unit = VibrationUnit::new(VibrationScale::Mil, Detector::PeakToPeak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1200.0)?, 1.0)?;
    /// let (left, right) =
    ///     (Channel::new(1, unit, PhaseSense::Lead, window), Channel::new(2, unit, PhaseSense::Lead, window));
    /// let error = left.reading(4.0, 0.0)?.change_from(&right.reading(3.0, 0.0)?).unwrap_err();
    /// assert_eq!(
    ///     error.to_string(),
    ///     "readings of sensor 1 at 1200.0 rpm and of sensor 2 at 1200.0 rpm do not go together: \
    ///      compare readings of one channel, with one unit, phase sense, window and law",
    /// );
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn change_from(&self, earlier: &Self) -> Result<Vibration, ReadingError> {
        if self.channel == earlier.channel {
            Ok(self.at_nominal_speed() - earlier.at_nominal_speed())
        } else {
            Err(ReadingError::DifferentChannels {
                sensor: self.channel.sensor,
                rpm: self.channel.window.nominal().rpm(),
                other_sensor: earlier.channel.sensor,
                other_rpm: earlier.channel.window.nominal().rpm(),
            })
        }
    }

    /// The weight `g` of the reading at the nominal speed, and whether it is one over a known variance.
    #[cfg(feature = "alloc")]
    pub(crate) fn weight_at_nominal_speed(&self) -> (f64, bool) {
        let factor = self.speed_factor();
        // A reading scaled by f scatters f times as much.
        match self.precision {
            Precision::Relative { weight } => (weight / (factor * factor), false),
            Precision::Scatter(scatter) => (1.0 / (scatter.variance() * factor * factor), true),
        }
    }

    /// The scatter of the reading at the nominal speed, where it is known or was estimated.
    #[cfg(feature = "alloc")]
    pub(crate) fn scatter_at_nominal_speed(&self) -> Option<Scatter> {
        let factor = self.speed_factor();
        match self.precision {
            Precision::Relative { .. } => None,
            Precision::Scatter(scatter) => Some(scatter.scaled(factor * factor)),
        }
    }
}
