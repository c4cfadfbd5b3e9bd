//! Units of vibration: what moves, on which scale, by which detector.

use core::f64::consts::SQRT_2;
use core::fmt;

use num_complex::Complex64;

use crate::math;
use crate::unit::{STANDARD_GRAVITY, Speed};
use crate::vector::Vibration;

/// What a vibration sensor reports.
///
/// ```
/// use counterpoise::{MotionQuantity, VibrationScale};
/// assert_eq!(VibrationScale::InchPerSecond.quantity(), MotionQuantity::Velocity);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "snake_case"))]
pub enum MotionQuantity {
    /// How far the point moves.
    Displacement,
    /// How fast it moves: the time derivative of displacement.
    Velocity,
    /// How its velocity changes: the second time derivative of displacement.
    Acceleration,
}

impl MotionQuantity {
    /// How many time derivatives of displacement it is.
    pub(crate) const fn order(self) -> i32 {
        match self {
            Self::Displacement => 0,
            Self::Velocity => 1,
            Self::Acceleration => 2,
        }
    }
}

/// The scale on which a vibration is given, without its detector.
///
/// ```
/// use counterpoise::VibrationScale;
/// assert_eq!(VibrationScale::Mil.symbol(), "mil");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "snake_case"))]
#[non_exhaustive]
pub enum VibrationScale {
    /// Displacement in millimetres.
    Millimetre,
    /// Displacement in micrometres.
    Micrometre,
    /// Displacement in thousandths of an inch.
    Mil,
    /// Velocity in millimetres per second.
    MillimetrePerSecond,
    /// Velocity in inches per second.
    InchPerSecond,
    /// Acceleration in metres per second squared.
    MetrePerSecondSquared,
    /// Acceleration in units of gravity, 9.80665 m/s². This is not the gram.
    StandardGravity,
}

impl VibrationScale {
    /// Every scale the library knows.
    ///
    /// ```
    /// assert_eq!(counterpoise::VibrationScale::ALL.len(), 7);
    /// ```
    pub const ALL: &[Self] = &[
        Self::Millimetre,
        Self::Micrometre,
        Self::Mil,
        Self::MillimetrePerSecond,
        Self::InchPerSecond,
        Self::MetrePerSecondSquared,
        Self::StandardGravity,
    ];

    /// The quantity that is scaled.
    ///
    /// ```
    /// # use counterpoise::{MotionQuantity, VibrationScale};
    /// assert_eq!(VibrationScale::StandardGravity.quantity(), MotionQuantity::Acceleration);
    /// ```
    pub const fn quantity(self) -> MotionQuantity {
        match self {
            Self::Millimetre | Self::Micrometre | Self::Mil => MotionQuantity::Displacement,
            Self::MillimetrePerSecond | Self::InchPerSecond => MotionQuantity::Velocity,
            Self::MetrePerSecondSquared | Self::StandardGravity => MotionQuantity::Acceleration,
        }
    }

    /// The usual symbol.
    ///
    /// ```
    /// # use counterpoise::VibrationScale;
    /// assert_eq!(VibrationScale::MetrePerSecondSquared.symbol(), "m/s^2");
    /// ```
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Millimetre => "mm",
            Self::Micrometre => "um",
            Self::Mil => "mil",
            Self::MillimetrePerSecond => "mm/s",
            Self::InchPerSecond => "in/s",
            Self::MetrePerSecondSquared => "m/s^2",
            Self::StandardGravity => "g_n",
        }
    }

    /// One of the scale in mm, mm/s or mm/s², as a fraction.
    const fn factor(self) -> (f64, f64) {
        match self {
            Self::Millimetre | Self::MillimetrePerSecond => (1.0, 1.0),
            Self::Micrometre => (1.0, 1000.0),
            Self::Mil => (254.0, 10_000.0),
            Self::InchPerSecond => (254.0, 10.0),
            Self::MetrePerSecondSquared => (1000.0, 1.0),
            Self::StandardGravity => (STANDARD_GRAVITY * 1000.0, 1.0),
        }
    }
}

/// How an amplitude is taken from a sinusoid.
///
/// ```
/// use counterpoise::Detector;
/// assert_eq!(Detector::PeakToPeak.words(), "peak-to-peak");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "snake_case"))]
pub enum Detector {
    /// From zero to the peak of the sinusoid.
    Peak,
    /// From the lowest to the highest point: twice the peak.
    PeakToPeak,
    /// The root of the mean square: the peak over √2.
    Rms,
}

impl Detector {
    /// Every detector.
    ///
    /// ```
    /// assert_eq!(counterpoise::Detector::ALL.len(), 3);
    /// ```
    pub const ALL: &[Self] = &[Self::Peak, Self::PeakToPeak, Self::Rms];

    /// The detector in words.
    ///
    /// ```
    /// assert_eq!(counterpoise::Detector::Rms.words(), "RMS");
    /// ```
    pub const fn words(self) -> &'static str {
        match self {
            Self::Peak => "peak",
            Self::PeakToPeak => "peak-to-peak",
            Self::Rms => "RMS",
        }
    }

    /// The peak of a sinusoid of which this detector gives 1.
    const fn peak(self) -> f64 {
        match self {
            Self::Peak => 1.0,
            Self::PeakToPeak => 0.5,
            Self::Rms => SQRT_2,
        }
    }
}

/// The unit of a channel: a scale and a detector, such as in/s peak.
///
/// Conversion holds for a sinusoid at one speed, which is what a once-per-rev vibration is.
///
/// ```
/// use counterpoise::{Detector, Speed, VibrationScale, VibrationUnit};
/// let velocity = VibrationUnit { scale: VibrationScale::InchPerSecond, detector: Detector::Peak };
/// let displacement = VibrationUnit { scale: VibrationScale::Mil, detector: Detector::PeakToPeak };
/// let mils = velocity.convert_amplitude(0.2, displacement, Speed::from_rpm(2400.0)?);
/// assert!((mils - 1.591_549).abs() < 1e-6);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(deny_unknown_fields))]
pub struct VibrationUnit {
    /// The scale of the number.
    pub scale: VibrationScale,
    /// The detector behind the number.
    pub detector: Detector,
}

impl VibrationUnit {
    /// A unit from its scale and detector.
    ///
    /// ```
    /// # use counterpoise::{Detector, VibrationScale, VibrationUnit};
    /// let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// assert_eq!(unit.to_string(), "mm/s RMS");
    /// ```
    pub const fn new(scale: VibrationScale, detector: Detector) -> Self {
        Self { scale, detector }
    }

    /// The real factor of a conversion, without its phase turn, and the number of quarter turns.
    fn conversion(self, to: Self, speed: Speed) -> (f64, i32) {
        let (from_numerator, from_denominator) = self.scale.factor();
        let (to_numerator, to_denominator) = to.scale.factor();
        let scale = (from_numerator * to_denominator) / (from_denominator * to_numerator);
        let detector = self.detector.peak() / to.detector.peak();
        let order = to.scale.quantity().order() - self.scale.quantity().order();
        // Each time derivative of a sinusoid multiplies its amplitude by Ω and turns it a quarter turn ahead.
        (scale * detector * math::power(speed.radians_per_second(), order), order)
    }

    /// An amplitude in this unit, in another one.
    ///
    /// ```
    /// # use counterpoise::{Detector, Speed, VibrationScale, VibrationUnit};
    /// let peak = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// let metric = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Peak);
    /// assert!((peak.convert_amplitude(0.2, metric, Speed::from_rpm(2400.0)?) - 5.08).abs() < 1e-14);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn convert_amplitude(self, amplitude: f64, to: Self, speed: Speed) -> f64 {
        amplitude * self.conversion(to, speed).0
    }

    /// The size of a sinusoid in this unit, in another one, the same bits where the units are the same; NaN for what is no size:
    /// a number below zero.
    pub(crate) fn convert_size(self, amplitude: f64, to: Self, speed: Speed) -> f64 {
        if amplitude < 0.0 {
            f64::NAN
        } else if self == to {
            amplitude
        } else {
            self.convert_amplitude(amplitude, to, speed)
        }
    }

    /// A vibration in this unit, in another one, with the quarter turn of phase that each integration or
    /// differentiation brings: `V = jΩ X`, `A = jΩ V`.
    ///
    /// ```
    /// # use counterpoise::{Angle, Detector, PhaseSense, Speed, Vibration, VibrationScale, VibrationUnit};
    /// let acceleration = VibrationUnit::new(VibrationScale::StandardGravity, Detector::Peak);
    /// let velocity = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// let read = Vibration::from_polar(0.585, PhaseSense::Lag, Angle::ZERO)?;
    /// let converted = acceleration.convert(read, velocity, Speed::from_rpm(2400.0)?);
    /// // Velocity lags acceleration by a quarter turn.
    /// assert_eq!(converted.phase(PhaseSense::Lag).degrees(), 90.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn convert(self, vibration: Vibration, to: Self, speed: Speed) -> Vibration {
        let (factor, quarter_turns) = self.conversion(to, speed);
        let Complex64 { re, im } = vibration.complex() * factor;
        // Multiplication by j to the power of −2..2, exactly; the sum with 0.0 clears a negative zero.
        let (re, im) = match quarter_turns {
            1 => (-im, re),
            -1 => (im, -re),
            2 | -2 => (-re, -im),
            _ => (re, im),
        };
        Vibration::computed(Complex64 { re: re + 0.0, im: im + 0.0 })
    }
}

impl fmt::Display for VibrationUnit {
    /// The symbol of the scale and the word of the detector, such as `in/s peak`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.scale.symbol(), self.detector.words())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn there_and_back_through_every_pair() {
        let speed = Speed::from_rpm(2345.6).unwrap();
        let vibration = Vibration::from_components(0.123, -0.456).unwrap();
        for &scale in VibrationScale::ALL {
            for &detector in Detector::ALL {
                let unit = VibrationUnit { scale, detector };
                for &other_scale in VibrationScale::ALL {
                    for &other_detector in Detector::ALL {
                        let other = VibrationUnit { scale: other_scale, detector: other_detector };
                        let back = other.convert(unit.convert(vibration, other, speed), unit, speed);
                        assert!((back - vibration).amplitude() <= 8.0 * f64::EPSILON * vibration.amplitude());
                    }
                }
            }
        }
    }

    #[test]
    fn velocity_leads_displacement_by_a_quarter_turn() {
        let speed = Speed::from_radians_per_second(2.0).unwrap();
        let displacement = VibrationUnit::new(VibrationScale::Millimetre, Detector::Peak);
        let velocity = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Peak);
        let moved = displacement.convert(Vibration::from_components(3.0, 0.0).unwrap(), velocity, speed);
        // v = jΩ x with Ω = 2 rad/s.
        assert!((moved - Vibration::from_components(0.0, 6.0).unwrap()).amplitude() < 1e-14);
    }
}
