//! Where the heavy spot is, from one reading and what is known of the machine.

use crate::angle::{Angle, PhaseSense, RotorAngle};
use crate::channel::Reading;
use crate::error::FirstWeightError;
use crate::unit::Speed;
use crate::vibration_unit::MotionQuantity;

/// Which motion makes the output of a sensor positive.
///
/// ```
/// use counterpoise::first_weight::Polarity;
/// assert_ne!(Polarity::Along, Polarity::Against);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "snake_case"))]
pub enum Polarity {
    /// Motion along the direction stated for the sensor.
    Along,
    /// Motion against it.
    Against,
}

/// How the sensor and the pickup of the mark stand about the rotor.
///
/// Both angles are space angles, counted **with rotation** from one fixed line, such as the upward vertical;
/// [`View::space_angle`](crate::View::space_angle) gives them from what a person sees.
///
/// ```
/// use counterpoise::{Angle, Turning, View, Viewpoint, first_weight::{Polarity, Sensor}};
/// // From the seat the propeller turns clockwise; the sensor sits on top, the pickup to the right of the hub.
/// let view = View::new(Viewpoint::Rear, Turning::Clockwise, Angle::ZERO);
/// let sensor = Sensor::new(
///     view.space_angle(Angle::ZERO),
///     view.space_angle(Angle::from_degrees(90.0)?),
///     Polarity::Along,
/// );
/// assert_eq!(sensor.pickup.degrees(), 90.0);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Sensor {
    /// The direction of the motion it reads, γ: as a rule the one in which it sits, seen from the axis.
    pub direction: Angle,
    /// Where the mark is at the instant of its pulse, τ: the position of the pickup.
    pub pickup: Angle,
    /// Whether motion along `direction`, or against it, makes its output positive.
    pub polarity: Polarity,
}

impl Sensor {
    /// A sensor that reads motion in a direction, and the position of the pickup that gives its phase.
    ///
    /// ```
    /// use counterpoise::{Angle, first_weight::{Polarity, Sensor}};
    /// let sensor = Sensor::new(Angle::from_degrees(90.0)?, Angle::ZERO, Polarity::Along);
    /// assert_eq!(sensor.direction.degrees(), 90.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub const fn new(direction: Angle, pickup: Angle, polarity: Polarity) -> Self {
        Self { direction, pickup, polarity }
    }

    /// The heavy spot: the place on the rotor of the unbalance that makes the reading; `None` for a reading of zero.
    ///
    /// Phase shifts of the instrument itself must be corrected for already. The formula follows from the geometry: an
    /// unbalance at β pulls in the direction τ + β + Ωt, so the reading is `X = G U exp(j(β + τ − γ))`.
    ///
    /// # Errors
    /// [`FirstWeightError::Quantity`] where the vibration was computed from others and is not finite.
    ///
    /// ```
    /// use counterpoise::{
    ///     Angle, Channel, Detector, PhaseSense, Speed, SpeedWindow, VibrationScale, VibrationUnit,
    ///     first_weight::{Polarity, Regime, Sensor},
    /// };
    /// let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    /// let reading = Channel::new(1, unit, PhaseSense::Lead, window).reading(0.62, 30.0)?;
    /// let sensor = Sensor::new(Angle::from_degrees(90.0)?, Angle::ZERO, Polarity::Along);
    /// // A velocity far below resonance leads the pull by a quarter turn: 30 + 90 - 0 - 90.
    /// let heavy = sensor.heavy_spot(&reading, Regime::FarBelowResonance)?;
    /// assert_eq!(heavy.map(|place| place.with_rotation().degrees()), Some(30.0));
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn heavy_spot(
        &self,
        reading: &Reading,
        regime: Regime,
    ) -> Result<Option<RotorAngle>, FirstWeightError> {
        let vibration = super::finite(reading.vibration())?;
        if vibration.amplitude() == 0.0 {
            return Ok(None);
        }
        let read = vibration.phase(PhaseSense::Lead);
        let lead = match self.polarity {
            Polarity::Along => read,
            Polarity::Against => read.opposite(),
        };
        // β = arg X + γ − τ − arg G
        let response = regime.response_lead(reading.channel().unit().scale.quantity());
        Ok(Some(RotorAngle::from_with_rotation(lead + self.direction - self.pickup - response)))
    }
}

/// How the machine answers the pull of an unbalance at the speed of the reading: what is known of `arg G`.
///
/// `G` is the response per unbalance of the quantity that is read, `arg G` its lead before the pull.
///
/// | | displacement | velocity | acceleration |
/// | --- | --- | --- | --- |
/// | far below resonance | 0° | 90° | 180° |
/// | far above resonance | −180° | −90° | 0° |
///
/// ```
/// use counterpoise::{Speed, first_weight::Regime};
/// let (speed, mount_resonance) = (Speed::from_rpm(2400.0)?, Speed::from_rpm(700.0)?);
/// assert_eq!(Regime::from_resonance(speed, mount_resonance)?, Regime::FarAboveResonance);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "snake_case"))]
pub enum Regime {
    /// Stiffness holds the pull: the rotor moves with it.
    FarBelowResonance,
    /// Mass alone holds the pull, as on an engine on soft mounts: the rotor moves against it.
    FarAboveResonance,
    /// The angle itself, of the quantity that is read: from an earlier job, or a calculation.
    Stated(Angle),
}

impl Regime {
    /// Up to this part of the resonance speed the machine is taken as far below resonance (common practice, no source).
    ///
    /// There, damping of 5 % of critical turns the response by 3.8 degrees, of 20 % by 15.
    ///
    /// ```
    /// assert_eq!(counterpoise::first_weight::Regime::FAR_BELOW, 0.5);
    /// ```
    pub const FAR_BELOW: f64 = 0.5;

    /// From this multiple of the resonance speed on the machine is taken as far above resonance (common practice, no
    /// source). Damping turns the response there as much as at [`FAR_BELOW`](Self::FAR_BELOW).
    ///
    /// ```
    /// assert_eq!(counterpoise::first_weight::Regime::FAR_ABOVE, 2.0);
    /// ```
    pub const FAR_ABOVE: f64 = 2.0;

    /// The regime at a speed, for a machine with one resonance that matters.
    ///
    /// # Errors
    /// [`FirstWeightError::NearResonance`] between half and twice the resonance speed, bounds excluded.
    ///
    /// ```
    /// use counterpoise::{Speed, first_weight::Regime};
    /// let resonance = Speed::from_rpm(1000.0)?;
    /// assert_eq!(Regime::from_resonance(Speed::from_rpm(500.0)?, resonance)?, Regime::FarBelowResonance);
    /// assert_eq!(
    ///     Regime::from_resonance(Speed::from_rpm(900.0)?, resonance).unwrap_err().to_string(),
    ///     "at 900.0 rpm the resonance at 1000.0 rpm is too near for the heavy spot to be told: \
    ///      state the angle of the response, or make a trial run",
    /// );
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn from_resonance(speed: Speed, resonance: Speed) -> Result<Self, FirstWeightError> {
        let (speed_rpm, resonance_rpm) = (speed.rpm(), resonance.rpm());
        if speed_rpm <= Self::FAR_BELOW * resonance_rpm {
            Ok(Self::FarBelowResonance)
        } else if speed_rpm >= Self::FAR_ABOVE * resonance_rpm {
            Ok(Self::FarAboveResonance)
        } else {
            Err(FirstWeightError::NearResonance { speed_rpm, resonance_rpm })
        }
    }

    /// `arg G`: how far a quantity leads the pull of the unbalance, counted with rotation.
    ///
    /// ```
    /// use counterpoise::{MotionQuantity, first_weight::Regime};
    /// assert_eq!(Regime::FarBelowResonance.response_lead(MotionQuantity::Acceleration).degrees(), 180.0);
    /// assert_eq!(Regime::FarAboveResonance.response_lead(MotionQuantity::Velocity).degrees(), 270.0);
    /// ```
    pub fn response_lead(self, quantity: MotionQuantity) -> Angle {
        let displacement = match self {
            Self::FarBelowResonance => 0.0,
            Self::FarAboveResonance => 180.0,
            Self::Stated(lead) => return lead,
        };
        // Each time derivative leads by a further quarter turn.
        Angle::reduced(displacement + 90.0 * f64::from(quantity.order()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::channel::Channel;
    use crate::speed_window::SpeedWindow;
    use crate::vector::Vibration;
    use crate::vibration_unit::{Detector, VibrationScale, VibrationUnit};

    fn angle(degrees: f64) -> Angle {
        Angle::from_degrees(degrees).unwrap()
    }

    fn rpm(value: f64) -> Speed {
        Speed::from_rpm(value).unwrap()
    }

    fn channel(scale: VibrationScale, phase: PhaseSense) -> Channel {
        let window = SpeedWindow::around_percent(rpm(2400.0), 1.0).unwrap();
        Channel::new(1, VibrationUnit::new(scale, Detector::Peak), phase, window)
    }

    fn heavy(reading: &Reading, sensor: Sensor, regime: Regime) -> f64 {
        sensor.heavy_spot(reading, regime).unwrap().unwrap().with_rotation().degrees()
    }

    #[test]
    fn the_heavy_spot_of_the_reference_rotor_is_found() {
        // The reference vectors, singleplane/1p1s_jeffcott/01 and 02: γ 90, τ 0, arg G 84.156; heavy spot 37 degrees.
        let sensor = Sensor::new(angle(90.0), Angle::ZERO, Polarity::Along);
        let lead = channel(VibrationScale::InchPerSecond, PhaseSense::Lead);
        let reading = lead.reading(0.62, 31.156_284_935_310_527).unwrap();
        let regime = Regime::Stated(angle(84.156));
        assert!((heavy(&reading, sensor, regime) - 37.0).abs() < 1e-3);
        let lag = channel(VibrationScale::InchPerSecond, PhaseSense::Lag);
        let same = lag.reading(0.62, 360.0 - 31.156_284_935_310_527).unwrap();
        assert!((heavy(&same, sensor, regime) - 37.0).abs() < 1e-3);
    }

    #[test]
    fn every_angle_of_the_formula_counts_with_its_sign() {
        let reading = channel(VibrationScale::Mil, PhaseSense::Lead).reading(1.0, 100.0).unwrap();
        let stated = |degrees| Regime::Stated(angle(degrees));
        let sensor = |gamma, tau, polarity| Sensor::new(angle(gamma), angle(tau), polarity);
        assert_eq!(heavy(&reading, sensor(0.0, 0.0, Polarity::Along), stated(0.0)), 100.0);
        assert_eq!(heavy(&reading, sensor(20.0, 0.0, Polarity::Along), stated(0.0)), 120.0);
        assert_eq!(heavy(&reading, sensor(0.0, 20.0, Polarity::Along), stated(0.0)), 80.0);
        assert_eq!(heavy(&reading, sensor(0.0, 0.0, Polarity::Along), stated(30.0)), 70.0);
        assert_eq!(heavy(&reading, sensor(0.0, 0.0, Polarity::Against), stated(0.0)), 280.0);
    }

    #[test]
    fn the_lead_of_the_response_is_the_stated_table() {
        use MotionQuantity::{Acceleration, Displacement, Velocity};
        for (quantity, below, above) in
            [(Displacement, 0.0, 180.0), (Velocity, 90.0, 270.0), (Acceleration, 180.0, 0.0)]
        {
            assert_eq!(Regime::FarBelowResonance.response_lead(quantity).degrees(), below);
            assert_eq!(Regime::FarAboveResonance.response_lead(quantity).degrees(), above);
            assert_eq!(Regime::Stated(angle(12.0)).response_lead(quantity).degrees(), 12.0);
        }
    }

    #[test]
    fn the_band_about_a_resonance_is_refused_and_its_bounds_are_not() {
        let resonance = rpm(1000.0);
        let at = |speed| Regime::from_resonance(rpm(speed), resonance);
        assert_eq!(at(500.0), Ok(Regime::FarBelowResonance));
        assert_eq!(at(2000.0), Ok(Regime::FarAboveResonance));
        for speed in [500.1, 1000.0, 1999.9] {
            let error = FirstWeightError::NearResonance { speed_rpm: speed, resonance_rpm: 1000.0 };
            assert_eq!(at(speed), Err(error));
        }
    }

    #[test]
    fn a_reading_of_zero_has_no_heavy_spot_and_one_of_nan_is_refused() {
        let channel = channel(VibrationScale::Mil, PhaseSense::Lag);
        let sensor = Sensor::new(Angle::ZERO, Angle::ZERO, Polarity::Along);
        let nothing = channel.reading(0.0, 120.0).unwrap();
        assert_eq!(sensor.heavy_spot(&nothing, Regime::FarBelowResonance), Ok(None));
        let computed = Vibration::from_components(1.0, 2.0).unwrap() * f64::NAN;
        let error = sensor.heavy_spot(&channel.reading_of(computed), Regime::FarBelowResonance).unwrap_err();
        assert_eq!(
            error.to_string(),
            "vibration must be a finite number, got NaN: check where the number comes from"
        );
    }
}
