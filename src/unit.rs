//! Scalar quantities: mass, length, radius, speed, unbalance, force.
//!
//! Each holds its number in one canonical unit, and names the unit in every constructor and accessor. The factors are
//! exact definitions (1 in = 25.4 mm, 1 lb = 453.59237 g, 1 oz = 28.349523125 g, 1 lbf = 4.4482216152605 N), kept as
//! fractions of whole numbers so that a conversion is one multiplication and one division.

use core::f64::consts::PI;
use core::fmt;
use core::ops::{Add, Div, Mul, Neg, Sub};

use crate::error::QuantityError;

/// The largest mass, length or speed, in canonical units, that is taken: products of two never overflow.
const LARGEST: f64 = 1e50;
/// The least radius and speed that is taken: quotients never overflow.
const LEAST: f64 = 1e-50;
/// The largest unbalance, force or vibration that is taken: its square never overflows.
pub(crate) const LARGEST_PRODUCT: f64 = 1e100;

/// Writes a number that is finite; JSON has no other, and its writer would put `null`.
#[cfg(feature = "serde")]
#[allow(clippy::trivially_copy_pass_by_ref)] // serde hands over a reference to the field
pub(crate) fn finite<S: serde::Serializer>(value: &f64, serializer: S) -> Result<S::Ok, S::Error> {
    if value.is_finite() {
        serializer.serialize_f64(*value)
    } else {
        Err(serde::ser::Error::custom("a number that is not finite cannot be written"))
    }
}

/// What numbers a quantity takes.
#[derive(Clone, Copy)]
enum Domain {
    /// Any sign: material put on, or taken off; before, or behind.
    Signed { largest: f64 },
    /// Greater than zero.
    Positive,
}

impl Domain {
    /// The canonical value of `value` units of `numerator / denominator`, or why it is refused.
    fn canonical(
        self,
        quantity: &'static str,
        value: f64,
        unit: &'static str,
        (numerator, denominator): (f64, f64),
    ) -> Result<f64, QuantityError> {
        if !value.is_finite() {
            return Err(QuantityError::NotFinite { quantity, value });
        }
        let canonical = value * numerator / denominator;
        match self {
            Self::Positive if value <= 0.0 => Err(QuantityError::NotPositive { quantity, value, unit }),
            Self::Positive if !(LEAST..=LARGEST).contains(&canonical) => {
                Err(QuantityError::BeyondRange { quantity, value, unit })
            }
            Self::Signed { largest } if canonical.abs() > largest => {
                Err(QuantityError::BeyondRange { quantity, value, unit })
            }
            // Adding 0.0 turns a negative zero into a positive one.
            _ => Ok(canonical + 0.0),
        }
    }
}

/// Declares the units of one kind of quantity: an enum with symbols, and exact factors to the first unit named.
macro_rules! units {
    (
        $(#[$doc:meta])*
        $Unit:ident, canonical $canonical:ident $canonical_symbol:literal;
        $( $Variant:ident, $symbol:literal, $long:literal, $numerator:literal / $denominator:expr; )+
    ) => {
        $(#[$doc])*
        ///
        /// ```
        #[doc = concat!("use counterpoise::", stringify!($Unit), ";")]
        #[doc = concat!("assert_eq!(", stringify!($Unit), "::", stringify!($canonical), ".symbol(), \"", $canonical_symbol, "\");")]
        /// ```
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
        #[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "snake_case"))]
        #[non_exhaustive]
        pub enum $Unit {
            $(
                #[doc = concat!("The ", $long, " (", $symbol, ").")]
                $Variant,
            )+
        }

        impl $Unit {
            /// Every unit of this kind.
            ///
            /// ```
            #[doc = concat!("use counterpoise::", stringify!($Unit), ";")]
            #[doc = concat!("assert!(", stringify!($Unit), "::ALL.contains(&", stringify!($Unit), "::", stringify!($canonical), "));")]
            /// ```
            pub const ALL: &[Self] = &[$(Self::$Variant),+];

            #[doc = concat!("The usual symbol, such as `", $canonical_symbol, "`.")]
            ///
            /// ```
            #[doc = concat!("use counterpoise::", stringify!($Unit), ";")]
            #[doc = concat!("assert_eq!(", stringify!($Unit), "::", stringify!($canonical), ".symbol(), \"", $canonical_symbol, "\");")]
            /// ```
            pub const fn symbol(self) -> &'static str {
                match self { $( Self::$Variant => $symbol, )+ }
            }

            /// One of this unit as a fraction of whole numbers of the canonical unit.
            const fn factor(self) -> (f64, f64) {
                match self { $( Self::$Variant => ($numerator, $denominator), )+ }
            }
        }
    };
}

/// Declares a scalar quantity held in the canonical unit, with a constructor and an accessor per unit.
macro_rules! quantity {
    (
        $(#[$doc:meta])*
        $Name:ident, $words:literal, $domain:expr, $Unit:ident, canonical $canonical:ident $canonical_symbol:literal, field $field:literal;
        $( $Variant:ident, $from:ident, $get:ident; )+
    ) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
        pub struct $Name {
            canonical: f64,
        }

        impl $Name {
            #[doc = concat!("A ", $words, " of `value` in the given unit.")]
            ///
            /// # Errors
            /// [`QuantityError`] with the value and its unit, where the number is not finite or beyond the range of the
            /// quantity.
            ///
            /// ```
            #[doc = concat!("use counterpoise::{", stringify!($Name), ", ", stringify!($Unit), "};")]
            #[doc = concat!("let quantity = ", stringify!($Name), "::new(2.0, ", stringify!($Unit), "::", stringify!($canonical), ")?;")]
            #[doc = concat!("assert_eq!(quantity.value_in(", stringify!($Unit), "::", stringify!($canonical), "), 2.0);")]
            /// # Ok::<(), counterpoise::QuantityError>(())
            /// ```
            pub fn new(value: f64, unit: $Unit) -> Result<Self, QuantityError> {
                let canonical = $domain.canonical($words, value, unit.symbol(), unit.factor())?;
                Ok(Self { canonical })
            }

            /// The number in the given unit.
            ///
            /// ```
            #[doc = concat!("use counterpoise::{", stringify!($Name), ", ", stringify!($Unit), "};")]
            #[doc = concat!("let quantity = ", stringify!($Name), "::new(3.0, ", stringify!($Unit), "::", stringify!($canonical), ")?;")]
            #[doc = concat!("assert_eq!(quantity.value_in(", stringify!($Unit), "::", stringify!($canonical), "), 3.0);")]
            /// # Ok::<(), counterpoise::QuantityError>(())
            /// ```
            pub const fn value_in(self, unit: $Unit) -> f64 {
                let (numerator, denominator) = unit.factor();
                self.canonical * denominator / numerator
            }

            $(
                #[doc = concat!("A ", $words, " in units of [`", stringify!($Unit), "::", stringify!($Variant), "`].")]
                ///
                /// # Errors
                /// [`QuantityError`] with the value, where the number is not finite or beyond the range of the quantity.
                ///
                /// ```
                #[doc = concat!("use counterpoise::", stringify!($Name), ";")]
                #[doc = concat!("let quantity = ", stringify!($Name), "::", stringify!($from), "(2.5)?;")]
                #[doc = concat!("assert!((quantity.", stringify!($get), "() - 2.5).abs() < 1e-15);")]
                /// # Ok::<(), counterpoise::QuantityError>(())
                /// ```
                pub fn $from(value: f64) -> Result<Self, QuantityError> {
                    Self::new(value, $Unit::$Variant)
                }

                #[doc = concat!("The number in units of [`", stringify!($Unit), "::", stringify!($Variant), "`].")]
                ///
                /// ```
                #[doc = concat!("use counterpoise::", stringify!($Name), ";")]
                #[doc = concat!("let quantity = ", stringify!($Name), "::", stringify!($from), "(4.0)?;")]
                #[doc = concat!("assert!((quantity.", stringify!($get), "() - 4.0).abs() < 1e-15);")]
                /// # Ok::<(), counterpoise::QuantityError>(())
                /// ```
                pub const fn $get(self) -> f64 {
                    self.value_in($Unit::$Variant)
                }
            )+

            /// For a number in the canonical unit that is known to lie in range.
            #[allow(dead_code)]
            pub(crate) const fn canonical(canonical: f64) -> Self {
                Self { canonical }
            }
        }

        impl fmt::Display for $Name {
            #[doc = concat!("The number in ", $canonical_symbol, ", with the formatter's precision, and the unit.")]
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                fmt::Display::fmt(&self.canonical, f)?;
                f.write_str(concat!(" ", $canonical_symbol))
            }
        }

        /// Written as one number under a field that names the unit; read back through the same checks as everything.
        #[cfg(feature = "serde")]
        const _: () = {
            use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error as _, ser::Error as _};

            #[derive(Serialize, Deserialize)]
            #[serde(deny_unknown_fields)]
            struct Wire {
                #[serde(rename = $field)]
                value: f64,
            }

            impl Serialize for $Name {
                fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                    if !self.canonical.is_finite() {
                        return Err(S::Error::custom("a number that is not finite cannot be written"));
                    }
                    Wire { value: self.canonical }.serialize(serializer)
                }
            }

            impl<'de> Deserialize<'de> for $Name {
                fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                    let Wire { value } = Wire::deserialize(deserializer)?;
                    Self::new(value, $Unit::$canonical).map_err(D::Error::custom)
                }
            }
        };
    };
}

/// Sums, differences and multiples of a signed quantity.
macro_rules! signed_arithmetic {
    ($($Name:ident),+) => { $(
        impl Add for $Name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self { canonical: self.canonical + other.canonical }
            }
        }

        impl Sub for $Name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self { canonical: self.canonical - other.canonical }
            }
        }

        impl Neg for $Name {
            type Output = Self;
            fn neg(self) -> Self {
                Self { canonical: 0.0 - self.canonical }
            }
        }

        impl Mul<f64> for $Name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self {
                Self { canonical: self.canonical * factor }
            }
        }

        impl $Name {
            #[doc = concat!("Nothing: a ", stringify!($Name), " of zero.")]
            ///
            /// ```
            #[doc = concat!("use counterpoise::", stringify!($Name), ";")]
            #[doc = concat!("assert_eq!(", stringify!($Name), "::ZERO + ", stringify!($Name), "::ZERO, ", stringify!($Name), "::ZERO);")]
            /// ```
            pub const ZERO: Self = Self { canonical: 0.0 };
        }
    )+ };
}

units! {
    /// Units of mass. `Gram` is a mass; the acceleration unit is [`VibrationScale::StandardGravity`](crate::VibrationScale).
    MassUnit, canonical Gram "g";
    Gram, "g", "gram", 1.0 / 1.0;
    Kilogram, "kg", "kilogram", 1000.0 / 1.0;
    Milligram, "mg", "milligram", 1.0 / 1000.0;
    Ounce, "oz", "avoirdupois ounce", 28_349_523_125.0 / 1e9;
    Pound, "lb", "avoirdupois pound", 45_359_237.0 / 1e5;
}

quantity! {
    /// A mass. Negative means material taken off.
    ///
    /// ```
    /// use counterpoise::Mass;
    /// let washer = Mass::from_ounces(0.25)?;
    /// assert!((washer.grams() - 7.08738078125).abs() < 1e-14);
    /// assert_eq!(format!("{washer:.2}"), "7.09 g");
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    Mass, "mass", Domain::Signed { largest: LARGEST }, MassUnit, canonical Gram "g", field "g";
    Gram, from_grams, grams;
    Kilogram, from_kilograms, kilograms;
    Milligram, from_milligrams, milligrams;
    Ounce, from_ounces, ounces;
    Pound, from_pounds, pounds;
}

units! {
    /// Units of length, for radii, axial stations and offsets.
    LengthUnit, canonical Millimetre "mm";
    Millimetre, "mm", "millimetre", 1.0 / 1.0;
    Metre, "m", "metre", 1000.0 / 1.0;
    Centimetre, "cm", "centimetre", 10.0 / 1.0;
    Micrometre, "um", "micrometre", 1.0 / 1000.0;
    Inch, "in", "inch", 254.0 / 10.0;
    Mil, "mil", "thousandth of an inch", 254.0 / 10_000.0;
    Foot, "ft", "foot", 3048.0 / 10.0;
}

quantity! {
    /// A length with a sign, such as an axial station. A radius has its own type, [`Radius`].
    ///
    /// ```
    /// use counterpoise::Length;
    /// assert_eq!(Length::from_inches(6.0)?.millimetres(), 152.4);
    /// assert_eq!(Length::from_metres(-0.25)?.millimetres(), -250.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    Length, "length", Domain::Signed { largest: LARGEST }, LengthUnit, canonical Millimetre "mm", field "mm";
    Millimetre, from_millimetres, millimetres;
    Metre, from_metres, metres;
    Centimetre, from_centimetres, centimetres;
    Micrometre, from_micrometres, micrometres;
    Inch, from_inches, inches;
    Mil, from_mils, mils;
    Foot, from_feet, feet;
}

quantity! {
    /// The distance of a mass from the axis: greater than zero.
    ///
    /// ```
    /// use counterpoise::Radius;
    /// assert_eq!(Radius::from_inches(6.0)?.millimetres(), 152.4);
    /// let error = Radius::from_millimetres(-3.0).unwrap_err();
    /// assert_eq!(
    ///     error.to_string(),
    ///     "radius must be greater than zero, got -3.0 mm: give its size, without a sign",
    /// );
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    Radius, "radius", Domain::Positive, LengthUnit, canonical Millimetre "mm", field "mm";
    Millimetre, from_millimetres, millimetres;
    Metre, from_metres, metres;
    Centimetre, from_centimetres, centimetres;
    Inch, from_inches, inches;
    Foot, from_feet, feet;
}

units! {
    /// Units of rotational speed.
    SpeedUnit, canonical RevolutionPerMinute "rpm";
    RevolutionPerMinute, "rpm", "revolution per minute", 1.0 / 1.0;
    Hertz, "Hz", "revolution per second", 60.0 / 1.0;
    RadianPerSecond, "rad/s", "radian per second", 30.0 / PI;
}

quantity! {
    /// The speed at which the rotor turns: greater than zero. Which way it turns is a matter of the [`View`](crate::View).
    ///
    /// ```
    /// use counterpoise::Speed;
    /// let speed = Speed::from_rpm(2400.0)?;
    /// assert_eq!(speed.hertz(), 40.0);
    /// assert_eq!(speed.radians_per_second(), 80.0 * core::f64::consts::PI);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    Speed, "speed", Domain::Positive, SpeedUnit, canonical RevolutionPerMinute "rpm", field "rpm";
    RevolutionPerMinute, from_rpm, rpm;
    Hertz, from_hertz, hertz;
    RadianPerSecond, from_radians_per_second, radians_per_second;
}

units! {
    /// Units of unbalance: mass times radius.
    UnbalanceUnit, canonical GramMillimetre "g mm";
    GramMillimetre, "g mm", "gram millimetre", 1.0 / 1.0;
    GramCentimetre, "g cm", "gram centimetre", 10.0 / 1.0;
    GramMetre, "g m", "gram metre", 1000.0 / 1.0;
    GramInch, "g in", "gram inch", 254.0 / 10.0;
    KilogramMillimetre, "kg mm", "kilogram millimetre", 1000.0 / 1.0;
    KilogramMetre, "kg m", "kilogram metre", 1e6 / 1.0;
    OunceInch, "oz in", "ounce inch", 7_200_778_873_750.0 / 1e10;
    OunceMillimetre, "oz mm", "ounce millimetre", 28_349_523_125.0 / 1e9;
    PoundInch, "lb in", "pound inch", 11_521_246_198.0 / 1e6;
}

quantity! {
    /// An amount of unbalance, mass times radius. With an angle it is an [`UnbalanceVector`](crate::UnbalanceVector).
    /// Negative means material taken off.
    ///
    /// ```
    /// use counterpoise::{Mass, Radius, Unbalance};
    /// let amount: Unbalance = Mass::from_grams(10.0)? * Radius::from_millimetres(150.0)?;
    /// assert_eq!(amount.gram_millimetres(), 1500.0);
    /// assert_eq!((amount / Radius::from_millimetres(100.0)?).grams(), 15.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    Unbalance, "unbalance", Domain::Signed { largest: LARGEST_PRODUCT }, UnbalanceUnit, canonical GramMillimetre "g mm", field "g_mm";
    GramMillimetre, from_gram_millimetres, gram_millimetres;
    GramInch, from_gram_inches, gram_inches;
    KilogramMetre, from_kilogram_metres, kilogram_metres;
    OunceInch, from_ounce_inches, ounce_inches;
}

units! {
    /// Units of force.
    ForceUnit, canonical Newton "N";
    Newton, "N", "newton", 1.0 / 1.0;
    PoundForce, "lbf", "pound-force", 44_482_216_152_605.0 / 1e13;
}

quantity! {
    /// A force, such as the centrifugal force of an unbalance or the load on a bearing.
    ///
    /// ```
    /// use counterpoise::Force;
    /// assert!((Force::from_pounds_force(1.0)?.newtons() - 4.4482216152605).abs() < 1e-15);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    Force, "force", Domain::Signed { largest: LARGEST_PRODUCT }, ForceUnit, canonical Newton "N", field "n";
    Newton, from_newtons, newtons;
    PoundForce, from_pounds_force, pounds_force;
}

signed_arithmetic!(Mass, Length, Unbalance, Force);

/// The acceleration of gravity by definition, in m/s².
pub(crate) const STANDARD_GRAVITY: f64 = 9.806_65;

impl Mul<Radius> for Mass {
    type Output = Unbalance;
    fn mul(self, radius: Radius) -> Unbalance {
        Unbalance { canonical: self.canonical * radius.canonical }
    }
}

impl Div<Radius> for Unbalance {
    type Output = Mass;
    fn div(self, radius: Radius) -> Mass {
        Mass { canonical: self.canonical / radius.canonical }
    }
}

impl Unbalance {
    /// The centrifugal force of this unbalance at a speed: `F = U Ω²`.
    ///
    /// ```
    /// use counterpoise::{Speed, Unbalance};
    /// let force = Unbalance::from_gram_millimetres(1500.0)?.centrifugal_force(Speed::from_rpm(2400.0)?);
    /// assert!((force.newtons() - 94.748_202).abs() < 1e-6);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn centrifugal_force(self, speed: Speed) -> Force {
        let omega = speed.radians_per_second();
        // F [N] = U [kg m] Ω² [rad²/s²], and 1 g mm = 1e-6 kg m.
        Force { canonical: self.canonical * omega * omega / 1e6 }
    }

    /// The unbalance whose centrifugal force at a speed is the given one: `U = F / Ω²`.
    ///
    /// ```
    /// use counterpoise::{Force, Speed, Unbalance};
    /// let speed = Speed::from_rpm(2400.0)?;
    /// let amount = Unbalance::of_centrifugal_force(Force::from_newtons(94.748_202)?, speed);
    /// assert!((amount.gram_millimetres() - 1500.0).abs() < 1e-4);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn of_centrifugal_force(force: Force, speed: Speed) -> Self {
        let omega = speed.radians_per_second();
        Self { canonical: force.canonical / (omega * omega) * 1e6 }
    }
}

impl Length {
    /// The distance along the axis from this plane to another, in mm; `None` where they coincide: nearer than 1e-12 of the farthest
    /// of both and of what else counts from the same origin, which is what rounding leaves, or where one is no number.
    pub(crate) fn to_plane_millimetres(self, other: Self, farthest: Self) -> Option<f64> {
        let [one, other, farthest] = [self, other, farthest].map(Self::millimetres);
        let apart = other - one;
        let size = one.abs().max(other.abs()).max(farthest.abs());
        (apart.abs() > 1e-12 * size && apart.is_finite()).then_some(apart)
    }
}

impl From<Radius> for Length {
    fn from(radius: Radius) -> Self {
        Self { canonical: radius.canonical }
    }
}

impl Radius {
    /// A length as a radius.
    ///
    /// # Errors
    /// [`QuantityError`] where the length is zero, negative or beyond the range of a radius.
    ///
    /// ```
    /// use counterpoise::{Length, Radius};
    /// assert_eq!(Radius::from_length(Length::from_inches(6.0)?)?.millimetres(), 152.4);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn from_length(length: Length) -> Result<Self, QuantityError> {
        Self::from_millimetres(length.canonical)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_definitions_come_back_exactly() {
        // Exact definitions of the units (international yard and pound, 1959).
        assert_eq!(Mass::from_ounces(16.0).unwrap().grams(), Mass::from_pounds(1.0).unwrap().grams());
        assert_eq!(Mass::from_pounds(1.0).unwrap().grams(), 453.592_37);
        assert_eq!(Length::from_feet(1.0).unwrap().inches(), 12.0);
        assert_eq!(Length::from_inches(1.0).unwrap().mils(), 1000.0);
        assert_eq!(Unbalance::from_ounce_inches(1.0).unwrap().gram_millimetres(), 720.077_887_375);
    }

    #[test]
    fn refusals_carry_the_value_and_its_unit() {
        assert_eq!(
            Speed::from_rpm(0.0).unwrap_err().to_string(),
            "speed must be greater than zero, got 0.0 rpm: give its size, without a sign"
        );
        assert_eq!(
            Mass::from_kilograms(1e300).unwrap_err().to_string(),
            "mass 1e300 kg is beyond what can be computed with: check the number and its unit"
        );
        assert_eq!(
            Radius::from_inches(f64::NAN).unwrap_err().to_string(),
            "radius must be a finite number, got NaN: check where the number comes from"
        );
        assert_eq!(Mass::from_grams(f64::MAX).unwrap_err().code(), 104);
        assert_eq!(Radius::from_millimetres(1e-320).unwrap_err().code(), 104);
        assert!(Length::from_metres(f64::MAX).is_err());
    }

    #[test]
    fn negative_zero_is_zero() {
        assert!(Mass::from_grams(-0.0).unwrap().grams().is_sign_positive());
        assert!((-Mass::ZERO).grams().is_sign_positive());
    }

    #[test]
    fn planes_coincide_where_rounding_could_have_parted_them() {
        let mm = |z| Length::from_millimetres(z).unwrap();
        let apart = |a, b, c| mm(a).to_plane_millimetres(mm(b), mm(c));
        assert_eq!(apart(100.0, 350.0, 0.0), Some(250.0));
        assert_eq!(apart(350.0, 100.0, 0.0), Some(-250.0));
        assert_eq!(apart(0.0, 0.0, 0.0), None);
        assert_eq!(apart(1e6, 1e6 + 9e-7, 0.0), None);
        assert!(apart(1e6, 1e6 + 1.1e-6, 0.0).is_some());
        // Seen from farther off, the same two are one.
        assert_eq!(apart(1e6, 1e6 + 1.1e-6, 2e6), None);
    }

    #[test]
    fn the_largest_products_stay_finite() {
        let mass = Mass::from_grams(LARGEST).unwrap();
        let (wide, narrow) =
            (Radius::from_millimetres(LARGEST).unwrap(), Radius::from_millimetres(LEAST).unwrap());
        let amount = mass * wide;
        assert!((amount / narrow).grams().is_finite());
        let fast = Speed::from_rpm(LARGEST).unwrap();
        assert!(amount.centrifugal_force(fast).newtons().is_finite());
        let slow = Speed::from_rpm(LEAST).unwrap();
        let force = Force::from_newtons(LARGEST_PRODUCT).unwrap();
        assert!(Unbalance::of_centrifugal_force(force, slow).gram_millimetres().is_finite());
    }
}
