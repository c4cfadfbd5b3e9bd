//! Angles, and the two senses in which this trade counts them.

use core::ops::{Add, Neg, Sub};

use crate::error::QuantityError;
use crate::math;

/// A plain angle in `[0, 360)` degrees.
///
/// Any finite number of degrees is taken and reduced exactly before anything else is done with it; sines, cosines and
/// sums are exact at multiples of 90 degrees. An angle by itself has no sense: [`RotorAngle`] says whether it is
/// counted with or against rotation, [`PhaseSense`] whether a phase is a lag or a lead.
///
/// ```
/// use counterpoise::Angle;
/// let angle = Angle::from_degrees(-90.0)?;
/// assert_eq!(angle.degrees(), 270.0);
/// assert_eq!((angle + Angle::from_degrees(180.0)?).degrees(), 90.0);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(try_from = "f64", into = "f64")
)]
pub struct Angle {
    degrees: f64,
}

impl Angle {
    /// The angle of 0 degrees.
    ///
    /// ```
    /// assert_eq!(counterpoise::Angle::ZERO.degrees(), 0.0);
    /// ```
    pub const ZERO: Self = Self { degrees: 0.0 };

    /// An angle of any finite number of degrees, reduced to `[0, 360)`.
    ///
    /// A value so little below zero that no double lies between it and a full turn becomes 0.
    ///
    /// # Errors
    /// [`QuantityError::NotFinite`] for NaN and the infinities.
    ///
    /// ```
    /// use counterpoise::Angle;
    /// assert_eq!(Angle::from_degrees(-1e-17)?.degrees(), 0.0);
    /// assert_eq!(Angle::from_degrees(725.0)?.degrees(), 5.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn from_degrees(degrees: f64) -> Result<Self, QuantityError> {
        if degrees.is_finite() {
            Ok(Self { degrees: math::reduce_degrees(degrees) })
        } else {
            Err(QuantityError::NotFinite { quantity: "angle", value: degrees })
        }
    }

    /// An angle in radians, reduced to a turn after conversion to degrees.
    ///
    /// Beyond a few turns the unit itself loses digits (no double is a multiple of π): prefer
    /// [`from_degrees`](Self::from_degrees).
    ///
    /// # Errors
    /// [`QuantityError::NotFinite`] for NaN and the infinities, and [`QuantityError::BeyondRange`] where the number of
    /// degrees overflows.
    ///
    /// ```
    /// use counterpoise::Angle;
    /// let angle = Angle::from_radians(core::f64::consts::FRAC_PI_2)?;
    /// assert_eq!(angle.degrees(), 90.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn from_radians(radians: f64) -> Result<Self, QuantityError> {
        let degrees = radians * (180.0 / core::f64::consts::PI);
        if radians.is_finite() && !degrees.is_finite() {
            return Err(QuantityError::BeyondRange { quantity: "angle", value: radians, unit: "rad" });
        }
        Self::from_degrees(degrees)
    }

    /// The argument of the complex number `x + j y`; 0 for the zero vector.
    pub(crate) fn of_vector(x: f64, y: f64) -> Self {
        Self { degrees: math::argument_degrees(y, x) }
    }

    /// For degrees that are known to be finite.
    pub(crate) fn reduced(degrees: f64) -> Self {
        Self { degrees: math::reduce_degrees(degrees) }
    }

    /// The angle in degrees, in `[0, 360)`.
    ///
    /// ```
    /// # use counterpoise::Angle;
    /// assert_eq!(Angle::from_degrees(360.0)?.degrees(), 0.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub const fn degrees(self) -> f64 {
        self.degrees
    }

    /// The angle in radians, in `[0, 2π)`.
    ///
    /// ```
    /// # use counterpoise::Angle;
    /// assert_eq!(Angle::from_degrees(180.0)?.radians(), core::f64::consts::PI);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn radians(self) -> f64 {
        self.degrees * (core::f64::consts::PI / 180.0)
    }

    /// The angle in degrees, in `(-180, 180]`.
    ///
    /// ```
    /// # use counterpoise::Angle;
    /// assert_eq!(Angle::from_degrees(350.0)?.signed_degrees(), -10.0);
    /// assert_eq!(Angle::from_degrees(180.0)?.signed_degrees(), 180.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn signed_degrees(self) -> f64 {
        if self.degrees > 180.0 { self.degrees - 360.0 } else { self.degrees }
    }

    /// How far two angles lie apart, in degrees, in `[0, 180]`, the shorter way round.
    ///
    /// ```
    /// # use counterpoise::Angle;
    /// let (late, early) = (Angle::from_degrees(350.0)?, Angle::from_degrees(5.0)?);
    /// assert_eq!(late.separation_degrees(early), 15.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn separation_degrees(self, other: Self) -> f64 {
        (self - other).signed_degrees().abs()
    }

    /// The angle half a turn further.
    ///
    /// ```
    /// # use counterpoise::Angle;
    /// assert_eq!(Angle::from_degrees(200.0)?.opposite().degrees(), 20.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    #[must_use]
    pub fn opposite(self) -> Self {
        Self::reduced(self.degrees + 180.0)
    }

    /// Sine and cosine, exact at multiples of 90 degrees.
    ///
    /// ```
    /// # use counterpoise::Angle;
    /// assert_eq!(Angle::from_degrees(270.0)?.sin_cos(), (-1.0, 0.0));
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn sin_cos(self) -> (f64, f64) {
        math::sin_cos_degrees(self.degrees)
    }
}

impl Add for Angle {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::reduced(self.degrees + other.degrees)
    }
}

impl Sub for Angle {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::reduced(self.degrees - other.degrees)
    }
}

impl Neg for Angle {
    type Output = Self;
    fn neg(self) -> Self {
        Self::reduced(-self.degrees)
    }
}

impl TryFrom<f64> for Angle {
    type Error = QuantityError;
    /// The number is taken as degrees.
    fn try_from(degrees: f64) -> Result<Self, QuantityError> {
        Self::from_degrees(degrees)
    }
}

impl From<Angle> for f64 {
    /// The angle in degrees.
    fn from(angle: Angle) -> Self {
        angle.degrees
    }
}

/// How a phase is counted.
///
/// There is no default: an answer computed in the wrong sense is mirrored, and the weight goes to the wrong place.
///
/// ```
/// use counterpoise::{Angle, PhaseSense};
/// let phase = Angle::from_degrees(30.0)?;
/// assert_eq!(PhaseSense::Lag.to_lead(phase).degrees(), 330.0);
/// assert_eq!(PhaseSense::Lead.to_lead(phase).degrees(), 30.0);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "snake_case"))]
pub enum PhaseSense {
    /// Degrees of shaft rotation from the mark's pulse to the next positive peak: `X = A exp(-j lag)`.
    Lag,
    /// The argument of the complex amplitude: `X = A exp(+j lead)`.
    Lead,
}

impl PhaseSense {
    /// A phase counted in this sense, as a lead.
    ///
    /// ```
    /// # use counterpoise::{Angle, PhaseSense};
    /// let lag = Angle::from_degrees(90.0)?;
    /// assert_eq!(PhaseSense::Lag.to_lead(lag).degrees(), 270.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn to_lead(self, phase: Angle) -> Angle {
        match self {
            Self::Lag => -phase,
            Self::Lead => phase,
        }
    }

    /// A lead, counted in this sense.
    ///
    /// ```
    /// # use counterpoise::{Angle, PhaseSense};
    /// let lead = Angle::from_degrees(90.0)?;
    /// assert_eq!(PhaseSense::Lag.from_lead(lead).degrees(), 270.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn from_lead(self, lead: Angle) -> Angle {
        // The mirror is its own inverse.
        self.to_lead(lead)
    }
}

/// The direction in which angles on the rotor are counted, from the reference mark.
///
/// There is no default: the caller says which, and every answer can be read in either.
///
/// ```
/// use counterpoise::RotorSense;
/// let hole = RotorSense::AgainstRotation.degrees(143.0)?;
/// assert_eq!(hole.with_rotation().degrees(), 217.0);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "snake_case"))]
pub enum RotorSense {
    /// A point at a larger angle passes a fixed sensor earlier.
    WithRotation,
    /// A point at a larger angle passes a fixed sensor later.
    AgainstRotation,
}

impl RotorSense {
    /// A place on the rotor, counted in this sense from the mark.
    ///
    /// ```
    /// # use counterpoise::{Angle, RotorSense};
    /// let place = RotorSense::AgainstRotation.angle(Angle::from_degrees(96.0)?);
    /// assert_eq!(place.with_rotation().degrees(), 264.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn angle(self, angle: Angle) -> RotorAngle {
        match self {
            Self::WithRotation => RotorAngle::from_with_rotation(angle),
            Self::AgainstRotation => RotorAngle::from_against_rotation(angle),
        }
    }

    /// A place on the rotor, any finite number of degrees in this sense from the mark.
    ///
    /// # Errors
    /// [`QuantityError::NotFinite`] for NaN and the infinities.
    ///
    /// ```
    /// # use counterpoise::RotorSense;
    /// assert_eq!(RotorSense::WithRotation.degrees(-30.0)?.with_rotation().degrees(), 330.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn degrees(self, degrees: f64) -> Result<RotorAngle, QuantityError> {
        Angle::from_degrees(degrees).map(|angle| self.angle(angle))
    }

    /// The other sense.
    ///
    /// ```
    /// # use counterpoise::RotorSense;
    /// assert_eq!(RotorSense::WithRotation.reversed(), RotorSense::AgainstRotation);
    /// ```
    #[must_use]
    pub const fn reversed(self) -> Self {
        match self {
            Self::WithRotation => Self::AgainstRotation,
            Self::AgainstRotation => Self::WithRotation,
        }
    }

    /// The sense in words: `with rotation` or `against rotation`.
    ///
    /// ```
    /// # use counterpoise::RotorSense;
    /// assert_eq!(RotorSense::AgainstRotation.words(), "against rotation");
    /// ```
    pub const fn words(self) -> &'static str {
        match self {
            Self::WithRotation => "with rotation",
            Self::AgainstRotation => "against rotation",
        }
    }
}

/// A place on the rotor: an angle from the reference mark whose sense is known.
///
/// The mark passes its pickup at the instant of the pulse. Build it from a [`RotorSense`], and read it in the sense
/// the reader works in.
///
/// ```
/// use counterpoise::RotorSense;
/// let heavy_spot = RotorSense::WithRotation.degrees(37.0)?;
/// let light_spot = heavy_spot.opposite();
/// assert_eq!(light_spot.with_rotation().degrees(), 217.0);
/// assert_eq!(light_spot.against_rotation().degrees(), 143.0);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(deny_unknown_fields))]
pub struct RotorAngle {
    /// Counted with rotation, the one sense used inside.
    #[cfg_attr(feature = "serde", serde(rename = "with_rotation_deg"))]
    with_rotation: Angle,
}

impl RotorAngle {
    /// The place of the reference mark itself.
    ///
    /// ```
    /// # use counterpoise::RotorAngle;
    /// assert_eq!(RotorAngle::MARK.with_rotation().degrees(), 0.0);
    /// ```
    pub const MARK: Self = Self { with_rotation: Angle::ZERO };

    /// A place counted with rotation from the mark.
    ///
    /// ```
    /// # use counterpoise::{Angle, RotorAngle};
    /// let place = RotorAngle::from_with_rotation(Angle::from_degrees(30.0)?);
    /// assert_eq!(place.against_rotation().degrees(), 330.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub const fn from_with_rotation(angle: Angle) -> Self {
        Self { with_rotation: angle }
    }

    /// A place counted against rotation from the mark.
    ///
    /// ```
    /// # use counterpoise::{Angle, RotorAngle};
    /// let place = RotorAngle::from_against_rotation(Angle::from_degrees(30.0)?);
    /// assert_eq!(place.with_rotation().degrees(), 330.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn from_against_rotation(angle: Angle) -> Self {
        Self { with_rotation: -angle }
    }

    /// The angle counted with rotation from the mark.
    ///
    /// ```
    /// # use counterpoise::RotorSense;
    /// assert_eq!(RotorSense::AgainstRotation.degrees(10.0)?.with_rotation().degrees(), 350.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub const fn with_rotation(self) -> Angle {
        self.with_rotation
    }

    /// The angle counted against rotation from the mark.
    ///
    /// ```
    /// # use counterpoise::RotorSense;
    /// assert_eq!(RotorSense::WithRotation.degrees(10.0)?.against_rotation().degrees(), 350.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn against_rotation(self) -> Angle {
        -self.with_rotation
    }

    /// The angle counted in the given sense from the mark.
    ///
    /// ```
    /// # use counterpoise::RotorSense;
    /// let place = RotorSense::WithRotation.degrees(217.0)?;
    /// assert_eq!(place.in_sense(RotorSense::AgainstRotation).degrees(), 143.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn in_sense(self, sense: RotorSense) -> Angle {
        match sense {
            RotorSense::WithRotation => self.with_rotation(),
            RotorSense::AgainstRotation => self.against_rotation(),
        }
    }

    /// The place half a turn away.
    ///
    /// ```
    /// # use counterpoise::RotorSense;
    /// let place = RotorSense::AgainstRotation.degrees(30.0)?.opposite();
    /// assert_eq!(place.against_rotation().degrees(), 210.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    #[must_use]
    pub fn opposite(self) -> Self {
        Self { with_rotation: self.with_rotation.opposite() }
    }

    /// The place a further angle on, counted with rotation.
    ///
    /// ```
    /// # use counterpoise::{Angle, RotorSense};
    /// let place = RotorSense::WithRotation.degrees(350.0)?.turned_with_rotation(Angle::from_degrees(20.0)?);
    /// assert_eq!(place.with_rotation().degrees(), 10.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    #[must_use]
    pub fn turned_with_rotation(self, angle: Angle) -> Self {
        Self { with_rotation: self.with_rotation + angle }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_largest_double_below_a_turn_stays() {
        let below = f64::from_bits(360.0_f64.to_bits() - 1);
        assert_eq!(Angle::from_degrees(below).unwrap().degrees(), below);
        // Its mirror image is so close to zero that it is kept, too.
        assert!((-Angle::from_degrees(below).unwrap()).degrees() > 0.0);
    }

    #[test]
    fn sums_and_mirrors_stay_below_a_turn() {
        let tiny = Angle::from_degrees(1e-300).unwrap();
        assert_eq!((-tiny).degrees(), 0.0);
        assert_eq!((Angle::ZERO - tiny).degrees(), 0.0);
        assert_eq!((-Angle::ZERO).degrees().to_bits(), 0);
    }

    #[test]
    fn non_finite_angles_are_refused_with_their_value() {
        let text = Angle::from_degrees(f64::NAN).unwrap_err().to_string();
        assert_eq!(text, "angle must be a finite number, got NaN: check where the number comes from");
        let error = Angle::from_radians(f64::MAX).unwrap_err();
        assert_eq!(error, QuantityError::BeyondRange { quantity: "angle", value: f64::MAX, unit: "rad" });
        assert!(Angle::from_radians(f64::NEG_INFINITY).is_err());
    }
}
