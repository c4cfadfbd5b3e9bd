//! The three complex quantities of the trade, and the one equation that joins them.
//!
//! | type | meaning | unit |
//! | --- | --- | --- |
//! | [`Vibration`] | once-per-rev vibration at a measuring point | the channel's own |
//! | [`UnbalanceVector`] | unbalance in a correction plane, with its place on the rotor | g mm |
//! | [`Influence`] | vibration per unbalance | the channel's own, per g mm |
//!
//! `Influence * UnbalanceVector = Vibration`, and nothing else of that kind compiles.

use core::iter::Sum;
use core::ops::{Add, Mul, Neg, Sub};

use num_complex::Complex64;

use crate::angle::{Angle, PhaseSense, RotorAngle};
use crate::error::QuantityError;
use crate::math;
use crate::unit::{LARGEST_PRODUCT, Mass, Radius, Unbalance};

/// Refuses a component that is not finite or whose square might overflow.
fn component(quantity: &'static str, value: f64, unit: &'static str) -> Result<f64, QuantityError> {
    if !value.is_finite() {
        Err(QuantityError::NotFinite { quantity, value })
    } else if value.abs() > LARGEST_PRODUCT {
        Err(QuantityError::BeyondRange { quantity, value, unit })
    } else {
        Ok(value + 0.0)
    }
}

/// Declares a complex quantity with the arithmetic of a vector space.
macro_rules! complex_quantity {
    ($Name:ident) => {
        impl $Name {
            /// Nothing: the zero vector, whose angle is 0.
            ///
            /// ```
            #[doc = concat!("use counterpoise::", stringify!($Name), ";")]
            #[doc = concat!("assert_eq!(", stringify!($Name), "::ZERO + ", stringify!($Name), "::ZERO, ", stringify!($Name), "::ZERO);")]
            /// ```
            pub const ZERO: Self = Self { value: Complex64 { re: 0.0, im: 0.0 } };

            /// For a value computed from accepted ones.
            pub(crate) const fn computed(value: Complex64) -> Self {
                Self { value }
            }

            /// The canonical complex number.
            ///
            /// ```
            #[doc = concat!("use counterpoise::", stringify!($Name), ";")]
            #[doc = concat!("assert_eq!(", stringify!($Name), "::ZERO.complex().re, 0.0);")]
            /// ```
            pub const fn complex(self) -> Complex64 {
                self.value
            }

            /// Whether both components are finite: sums of accepted values are, unless they overflow.
            ///
            /// ```
            #[doc = concat!("use counterpoise::", stringify!($Name), ";")]
            #[doc = concat!("assert!(", stringify!($Name), "::ZERO.is_finite());")]
            /// ```
            pub fn is_finite(self) -> bool {
                self.value.re.is_finite() && self.value.im.is_finite()
            }
        }

        impl Add for $Name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self { value: self.value + other.value }
            }
        }

        impl Sub for $Name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self { value: self.value - other.value }
            }
        }

        impl Neg for $Name {
            type Output = Self;
            fn neg(self) -> Self {
                // 0 - x, so that the opposite of zero is a positive zero.
                Self::ZERO - self
            }
        }

        impl Mul<f64> for $Name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self {
                Self { value: self.value * factor }
            }
        }

        impl Sum for $Name {
            /// The sum in the order of the iterator.
            fn sum<I: Iterator<Item = Self>>(vectors: I) -> Self {
                vectors.fold(Self::ZERO, Add::add)
            }
        }

        impl From<$Name> for Complex64 {
            fn from(vector: $Name) -> Self {
                vector.value
            }
        }
    };
}

/// A once-per-rev vibration: amplitude and phase in the unit of its channel.
///
/// Held as the canonical complex number `X` of `x(t) = Re(X exp(+jΩt))`, with `t = 0` when the mark passes its pickup.
/// The amplitude is in the channel's own unit and detector (say in/s peak), which this type does not know: readings
/// that come through a [`Channel`](crate::Channel) are checked against mixing.
///
/// ```
/// use counterpoise::{Angle, PhaseSense, Vibration};
/// let vibration = Vibration::from_polar(0.62, PhaseSense::Lag, Angle::from_degrees(90.0)?)?;
/// assert_eq!(vibration.complex().im, -0.62);
/// assert_eq!(vibration.phase(PhaseSense::Lead).degrees(), 270.0);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
///
/// A vibration and an unbalance do not add:
///
/// ```compile_fail
/// use counterpoise::{UnbalanceVector, Vibration};
/// let nonsense = Vibration::ZERO + UnbalanceVector::ZERO;
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Vibration {
    value: Complex64,
}

complex_quantity!(Vibration);

impl Vibration {
    /// A vibration from the components of its canonical complex number, in the channel's unit.
    ///
    /// # Errors
    /// [`QuantityError`] where a component is not finite or beyond range.
    ///
    /// ```
    /// use counterpoise::Vibration;
    /// assert_eq!(Vibration::from_components(3.0, -4.0)?.amplitude(), 5.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn from_components(re: f64, im: f64) -> Result<Self, QuantityError> {
        let re = component("vibration", re, "in the channel's unit")?;
        let im = component("vibration", im, "in the channel's unit")?;
        Ok(Self { value: Complex64 { re, im } })
    }

    /// A vibration from its amplitude, in the channel's unit, and its phase, counted in the sense stated.
    ///
    /// # Errors
    /// [`QuantityError`] where the amplitude is negative, not finite or beyond range.
    ///
    /// ```
    /// use counterpoise::{Angle, PhaseSense, Vibration};
    /// let phase = Angle::from_degrees(180.0)?;
    /// assert_eq!(Vibration::from_polar(2.0, PhaseSense::Lead, phase)?.complex().re, -2.0);
    /// assert_eq!(
    ///     Vibration::from_polar(-2.0, PhaseSense::Lead, phase).unwrap_err().to_string(),
    ///     "amplitude must not be negative, got -2.0 in the channel's unit: give its size, without a sign",
    /// );
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn from_polar(amplitude: f64, sense: PhaseSense, phase: Angle) -> Result<Self, QuantityError> {
        let amplitude = component("amplitude", amplitude, "in the channel's unit")?;
        if amplitude < 0.0 {
            return Err(QuantityError::Negative {
                quantity: "amplitude",
                value: amplitude,
                unit: "in the channel's unit",
            });
        }
        let (sine, cosine) = phase.sin_cos();
        // Lag: X = A exp(-jφ).  Lead: X = A exp(+jφ).
        let im = match sense {
            PhaseSense::Lag => 0.0 - amplitude * sine,
            PhaseSense::Lead => amplitude * sine,
        };
        Ok(Self { value: Complex64 { re: amplitude * cosine, im } })
    }

    /// The amplitude, in the channel's unit.
    ///
    /// ```
    /// # use counterpoise::Vibration;
    /// assert_eq!(Vibration::from_components(0.0, 0.2)?.amplitude(), 0.2);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn amplitude(self) -> f64 {
        math::modulus(self.value)
    }

    /// The phase, counted in the sense asked for; 0 for no vibration.
    ///
    /// ```
    /// # use counterpoise::{PhaseSense, Vibration};
    /// let vibration = Vibration::from_components(0.0, 0.2)?;
    /// assert_eq!(vibration.phase(PhaseSense::Lag).degrees(), 270.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn phase(self, sense: PhaseSense) -> Angle {
        sense.from_lead(Angle::of_vector(self.value.re, self.value.im))
    }
}

/// An unbalance with its place: the vector `U = m r exp(+jβ)` in g mm, β counted with rotation from the mark.
///
/// ```
/// use counterpoise::{RotorSense, Unbalance, UnbalanceVector};
/// let place = RotorSense::AgainstRotation.degrees(90.0)?;
/// let vector = UnbalanceVector::from_polar(Unbalance::from_gram_millimetres(1500.0)?, place);
/// assert_eq!(vector.y_gram_millimetres(), -1500.0);
/// assert_eq!(vector.angle().against_rotation().degrees(), 90.0);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct UnbalanceVector {
    value: Complex64,
}

complex_quantity!(UnbalanceVector);

impl UnbalanceVector {
    /// An unbalance from its components in g mm: `x` towards the mark, `y` a quarter turn further with rotation.
    ///
    /// # Errors
    /// [`QuantityError`] where a component is not finite or beyond range.
    ///
    /// ```
    /// # use counterpoise::UnbalanceVector;
    /// let vector = UnbalanceVector::from_components_gram_millimetres(300.0, 400.0)?;
    /// assert_eq!(vector.amount().gram_millimetres(), 500.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn from_components_gram_millimetres(x: f64, y: f64) -> Result<Self, QuantityError> {
        let x = component("unbalance", x, "g mm")?;
        let y = component("unbalance", y, "g mm")?;
        Ok(Self { value: Complex64 { re: x, im: y } })
    }

    /// An unbalance from its amount and place. A negative amount is material taken off there.
    ///
    /// ```
    /// # use counterpoise::{RotorAngle, Unbalance, UnbalanceVector};
    /// let drilled = UnbalanceVector::from_polar(Unbalance::from_gram_millimetres(-80.0)?, RotorAngle::MARK);
    /// assert_eq!(drilled.angle().with_rotation().degrees(), 180.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn from_polar(amount: Unbalance, place: RotorAngle) -> Self {
        let (sine, cosine) = place.with_rotation().sin_cos();
        let amount = amount.gram_millimetres();
        // U = m r exp(+jβ); adding 0.0 turns a negative zero into a positive one.
        Self { value: Complex64 { re: amount * cosine + 0.0, im: amount * sine + 0.0 } }
    }

    /// The component towards the mark, in g mm.
    ///
    /// ```
    /// # use counterpoise::UnbalanceVector;
    /// assert_eq!(UnbalanceVector::from_components_gram_millimetres(300.0, 400.0)?.x_gram_millimetres(), 300.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub const fn x_gram_millimetres(self) -> f64 {
        self.value.re
    }

    /// The component a quarter turn with rotation from the mark, in g mm.
    ///
    /// ```
    /// # use counterpoise::UnbalanceVector;
    /// assert_eq!(UnbalanceVector::from_components_gram_millimetres(300.0, 400.0)?.y_gram_millimetres(), 400.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub const fn y_gram_millimetres(self) -> f64 {
        self.value.im
    }

    /// The amount, without its place.
    ///
    /// ```
    /// # use counterpoise::UnbalanceVector;
    /// assert_eq!(UnbalanceVector::from_components_gram_millimetres(0.0, -70.0)?.amount().gram_millimetres(), 70.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn amount(self) -> Unbalance {
        Unbalance::canonical(math::modulus(self.value))
    }

    /// The place on the rotor; the mark for no unbalance.
    ///
    /// ```
    /// # use counterpoise::UnbalanceVector;
    /// let vector = UnbalanceVector::from_components_gram_millimetres(0.0, -70.0)?;
    /// assert_eq!(vector.angle().with_rotation().degrees(), 270.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn angle(self) -> RotorAngle {
        RotorAngle::from_with_rotation(Angle::of_vector(self.value.re, self.value.im))
    }

    /// The weight that gives this unbalance at a radius.
    ///
    /// ```
    /// # use counterpoise::{Radius, UnbalanceVector};
    /// let weight = UnbalanceVector::from_components_gram_millimetres(0.0, 1524.0)?.weight_at(Radius::from_inches(6.0)?);
    /// assert_eq!(weight.mass.grams(), 10.0);
    /// assert_eq!(weight.angle.with_rotation().degrees(), 90.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn weight_at(self, radius: Radius) -> Weight {
        Weight { mass: self.amount() / radius, radius, angle: self.angle() }
    }
}

/// An influence coefficient: the vibration of one channel per unbalance in one plane, at one speed.
///
/// In the channel's unit per g mm. Multiplied by what is mounted it gives what it does:
///
/// ```
/// use counterpoise::{Influence, UnbalanceVector, Vibration};
/// let influence = Influence::from_components_per_gram_millimetre(2e-4, -1e-4)?;
/// let weight = UnbalanceVector::from_components_gram_millimetres(1000.0, 0.0)?;
/// let effect: Vibration = influence * weight;
/// assert_eq!(effect, Vibration::from_components(0.2, -0.1)?);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Influence {
    value: Complex64,
}

complex_quantity!(Influence);

impl Influence {
    /// A coefficient from the components of its canonical complex number, in the channel's unit per g mm.
    ///
    /// # Errors
    /// [`QuantityError`] where a component is not finite or beyond range.
    ///
    /// ```
    /// # use counterpoise::Influence;
    /// assert_eq!(Influence::from_components_per_gram_millimetre(3e-4, 4e-4)?.per_gram_millimetre(), 5e-4);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn from_components_per_gram_millimetre(re: f64, im: f64) -> Result<Self, QuantityError> {
        let re = component("influence coefficient", re, "per g mm")?;
        let im = component("influence coefficient", im, "per g mm")?;
        Ok(Self { value: Complex64 { re, im } })
    }

    /// The size of the coefficient, in the channel's unit per g mm.
    ///
    /// ```
    /// # use counterpoise::Influence;
    /// let influence = Influence::from_components_per_gram_millimetre(0.0, -2e-4)?;
    /// assert_eq!(influence.per_gram_millimetre(), 2e-4);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn per_gram_millimetre(self) -> f64 {
        math::modulus(self.value)
    }

    /// How far the vibration leads an unbalance at the mark, with both counted with rotation.
    ///
    /// ```
    /// # use counterpoise::Influence;
    /// let influence = Influence::from_components_per_gram_millimetre(0.0, -2e-4)?;
    /// assert_eq!(influence.lead().degrees(), 270.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn lead(self) -> Angle {
        Angle::of_vector(self.value.re, self.value.im)
    }
}

impl Mul<UnbalanceVector> for Influence {
    type Output = Vibration;
    fn mul(self, unbalance: UnbalanceVector) -> Vibration {
        // v = H u
        Vibration { value: self.value * unbalance.value }
    }
}

/// A weight: a mass at a radius and a place on the rotor. A negative mass is material taken off.
///
/// ```
/// use counterpoise::{Mass, Radius, RotorSense, Weight};
/// let trial = Weight {
///     mass: Mass::from_grams(12.0)?,
///     radius: Radius::from_millimetres(165.0)?,
///     angle: RotorSense::WithRotation.degrees(90.0)?,
/// };
/// assert_eq!(trial.unbalance().y_gram_millimetres(), 1980.0);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(deny_unknown_fields))]
pub struct Weight {
    /// How heavy it is.
    pub mass: Mass,
    /// How far from the axis its centre of mass sits.
    pub radius: Radius,
    /// Where on the rotor it sits.
    pub angle: RotorAngle,
}

impl Weight {
    /// A weight of a mass at a radius and a place.
    ///
    /// ```
    /// # use counterpoise::{Mass, Radius, RotorAngle, Weight};
    /// let weight = Weight::new(Mass::from_grams(2.0)?, Radius::from_millimetres(150.0)?, RotorAngle::MARK);
    /// assert_eq!(weight.unbalance().x_gram_millimetres(), 300.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub const fn new(mass: Mass, radius: Radius, angle: RotorAngle) -> Self {
        Self { mass, radius, angle }
    }

    /// The unbalance it makes: `u = m r exp(+jβ)`.
    ///
    /// ```
    /// # use counterpoise::{Mass, Radius, RotorAngle, Weight};
    /// let drilled = Weight::new(Mass::from_grams(-2.0)?, Radius::from_millimetres(150.0)?, RotorAngle::MARK);
    /// assert_eq!(drilled.unbalance().x_gram_millimetres(), -300.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn unbalance(self) -> UnbalanceVector {
        UnbalanceVector::from_polar(self.mass * self.radius, self.angle)
    }
}

/// A vibration as it is printed: how large, and at which phase. Which unit and which sense is said by what gave it.
///
/// ```
/// use counterpoise::{Convention, PhaseSense, PolarVibration, RotorSense};
/// let convention = Convention { phase: PhaseSense::Lag, rotor: RotorSense::WithRotation };
/// let PolarVibration { amplitude, phase } = convention.polar_vibration(convention.vibration(0.5, 90.0)?);
/// assert_eq!((amplitude, phase.degrees()), (0.5, 90.0));
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PolarVibration {
    /// The amplitude, in the unit of the vibration.
    pub amplitude: f64,
    /// The phase, in the sense that was asked for.
    pub phase: Angle,
}

/// An unbalance as it is printed: how much, and at which place. Which sense is said by what gave it.
///
/// ```
/// use counterpoise::{Convention, PhaseSense, PolarUnbalance, RotorSense, UnbalanceVector};
/// let convention = Convention { phase: PhaseSense::Lag, rotor: RotorSense::AgainstRotation };
/// let vector = UnbalanceVector::from_components_gram_millimetres(0.0, -80.0)?;
/// let PolarUnbalance { amount, place } = convention.polar_unbalance(vector);
/// assert_eq!((amount.gram_millimetres(), place.degrees()), (80.0, 90.0));
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PolarUnbalance {
    /// The amount.
    pub amount: Unbalance,
    /// The angle of the place, in the sense that was asked for.
    pub place: Angle,
}

impl From<Weight> for UnbalanceVector {
    fn from(weight: Weight) -> Self {
        weight.unbalance()
    }
}

/// Complex quantities are written with the unit in the field's name, and read back through the same checks.
#[cfg(feature = "serde")]
mod wire {
    use super::{Influence, UnbalanceVector, Vibration};
    use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error as _, ser::Error as _};

    macro_rules! wire {
        ($Name:ident, $re:literal, $im:literal, $from:ident) => {
            const _: () = {
                #[derive(Serialize, Deserialize)]
                #[serde(deny_unknown_fields)]
                struct Wire {
                    #[serde(rename = $re)]
                    re: f64,
                    #[serde(rename = $im)]
                    im: f64,
                }

                impl Serialize for $Name {
                    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                        if !self.is_finite() {
                            return Err(S::Error::custom("a number that is not finite cannot be written"));
                        }
                        Wire { re: self.value.re, im: self.value.im }.serialize(serializer)
                    }
                }

                impl<'de> Deserialize<'de> for $Name {
                    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                        let Wire { re, im } = Wire::deserialize(deserializer)?;
                        Self::$from(re, im).map_err(D::Error::custom)
                    }
                }
            };
        };
    }

    wire!(Vibration, "re", "im", from_components);
    wire!(UnbalanceVector, "x_g_mm", "y_g_mm", from_components_gram_millimetres);
    wire!(Influence, "re_per_g_mm", "im_per_g_mm", from_components_per_gram_millimetre);
}
