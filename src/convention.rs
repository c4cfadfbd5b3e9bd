//! The caller's pair of senses, stated once: how phases and how rotor angles are counted.

use crate::angle::{Angle, PhaseSense, RotorAngle, RotorSense};
use crate::error::QuantityError;
use crate::unit::{Mass, Radius};
use crate::vector::{PolarUnbalance, PolarVibration, UnbalanceVector, Vibration, Weight};

/// How the caller counts phases and rotor angles. Numbers are turned into canonical ones here, and back.
///
/// Of the four pairs, (with rotation, lead) and (against rotation, lag) happen to agree with plain polar arithmetic;
/// the other two mirror the answer of anyone who takes the printed numbers as they are. Through this type all four give
/// the same place on the rotor.
///
/// ```
/// use counterpoise::{Convention, PhaseSense, RotorSense, Unbalance, UnbalanceVector};
/// let convention = Convention { phase: PhaseSense::Lag, rotor: RotorSense::AgainstRotation };
/// let reading = convention.vibration(0.62, 328.8)?;
/// assert!((reading.phase(PhaseSense::Lead).degrees() - 31.2).abs() < 1e-12);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(deny_unknown_fields))]
pub struct Convention {
    /// How phases are counted.
    pub phase: PhaseSense,
    /// How places on the rotor are counted.
    pub rotor: RotorSense,
}

impl Convention {
    /// A vibration from an amplitude in the channel's unit and a phase in degrees, in the caller's sense.
    ///
    /// # Errors
    /// [`QuantityError`] where a number is not finite, or the amplitude negative or beyond range.
    ///
    /// ```
    /// # use counterpoise::{Convention, PhaseSense, RotorSense};
    /// let convention = Convention { phase: PhaseSense::Lag, rotor: RotorSense::WithRotation };
    /// assert_eq!(convention.vibration(0.5, 90.0)?.complex().im, -0.5);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn vibration(self, amplitude: f64, phase_degrees: f64) -> Result<Vibration, QuantityError> {
        Vibration::from_polar(amplitude, self.phase, Angle::from_degrees(phase_degrees)?)
    }

    /// A place on the rotor, in degrees from the mark in the caller's sense.
    ///
    /// # Errors
    /// [`QuantityError::NotFinite`] for NaN and the infinities.
    ///
    /// ```
    /// # use counterpoise::{Convention, PhaseSense, RotorSense};
    /// let convention = Convention { phase: PhaseSense::Lag, rotor: RotorSense::AgainstRotation };
    /// assert_eq!(convention.place(96.0)?.with_rotation().degrees(), 264.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn place(self, degrees: f64) -> Result<RotorAngle, QuantityError> {
        self.rotor.degrees(degrees)
    }

    /// A weight from its mass, its radius and its place in degrees from the mark in the caller's sense.
    ///
    /// # Errors
    /// [`QuantityError::NotFinite`] for an angle of NaN or infinity.
    ///
    /// ```
    /// # use counterpoise::{Convention, Mass, PhaseSense, Radius, RotorSense};
    /// let convention = Convention { phase: PhaseSense::Lag, rotor: RotorSense::AgainstRotation };
    /// let trial = convention.weight(Mass::from_grams(12.0)?, Radius::from_millimetres(165.0)?, 90.0)?;
    /// assert_eq!(trial.unbalance().y_gram_millimetres(), -1980.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn weight(self, mass: Mass, radius: Radius, degrees: f64) -> Result<Weight, QuantityError> {
        Ok(Weight { mass, radius, angle: self.place(degrees)? })
    }

    /// Amplitude, and phase in the caller's sense.
    ///
    /// ```
    /// # use counterpoise::{Convention, PhaseSense, RotorSense};
    /// let convention = Convention { phase: PhaseSense::Lag, rotor: RotorSense::WithRotation };
    /// let polar = convention.polar_vibration(convention.vibration(0.5, 90.0)?);
    /// let (amplitude, phase) = (polar.amplitude, polar.phase);
    /// assert_eq!((amplitude, phase.degrees()), (0.5, 90.0));
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn polar_vibration(self, vibration: Vibration) -> PolarVibration {
        PolarVibration { amplitude: vibration.amplitude(), phase: vibration.phase(self.phase) }
    }

    /// Amount, and place in the caller's sense.
    ///
    /// ```
    /// # use counterpoise::{Convention, PhaseSense, RotorSense, UnbalanceVector};
    /// let convention = Convention { phase: PhaseSense::Lag, rotor: RotorSense::AgainstRotation };
    /// let vector = UnbalanceVector::from_components_gram_millimetres(0.0, -80.0)?;
    /// let polar = convention.polar_unbalance(vector);
    /// let (amount, place) = (polar.amount, polar.place);
    /// assert_eq!((amount.gram_millimetres(), place.degrees()), (80.0, 90.0));
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn polar_unbalance(self, vector: UnbalanceVector) -> PolarUnbalance {
        PolarUnbalance { amount: vector.amount(), place: vector.angle().in_sense(self.rotor) }
    }
}
