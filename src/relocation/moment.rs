//! The moment of unbalances about a point of the axis.

use core::iter::Sum;
use core::ops::{Add, Neg, Sub};

use num_complex::Complex64;

use crate::angle::{Angle, RotorAngle};
use crate::error::QuantityError;
use crate::math;
use crate::unit::{LARGEST_PRODUCT, Length};
use crate::vector::UnbalanceVector;

/// The moment of unbalances about a station of the axis: `M = Σ (z − z₀) U`, in g mm·mm.
///
/// Its angle is that of the unbalances themselves: a pair of opposite vectors has the angle of the one at the larger
/// station, and lies in that plane through the axis. (The vector that mechanics draws for a couple stands square to it.)
///
/// ```
/// use counterpoise::{Length, RotorSense, Unbalance, UnbalanceVector, relocation::UnbalanceMoment};
/// let place = RotorSense::WithRotation.degrees(90.0)?;
/// let unbalance = UnbalanceVector::from_polar(Unbalance::from_gram_millimetres(50.0)?, place);
/// let moment = UnbalanceMoment::of(unbalance, Length::from_millimetres(200.0)?);
/// assert_eq!(moment.gram_square_millimetres(), 10_000.0);
/// assert_eq!(moment.angle().with_rotation().degrees(), 90.0);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct UnbalanceMoment {
    value: Complex64,
}

impl UnbalanceMoment {
    /// No moment.
    ///
    /// ```
    /// # use counterpoise::relocation::UnbalanceMoment;
    /// assert_eq!(UnbalanceMoment::ZERO.gram_square_millimetres(), 0.0);
    /// ```
    pub const ZERO: Self = Self { value: Complex64 { re: 0.0, im: 0.0 } };

    /// A moment from its components in g mm·mm: `x` towards the mark, `y` a quarter turn further with rotation.
    ///
    /// # Errors
    /// [`QuantityError`] where a component is not finite or beyond range.
    ///
    /// ```
    /// # use counterpoise::relocation::UnbalanceMoment;
    /// assert_eq!(UnbalanceMoment::from_gram_square_millimetres(3.0, 4.0)?.gram_square_millimetres(), 5.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn from_gram_square_millimetres(x: f64, y: f64) -> Result<Self, QuantityError> {
        let component = |value: f64| {
            if !value.is_finite() {
                Err(QuantityError::NotFinite { quantity: "unbalance moment", value })
            } else if value.abs() > LARGEST_PRODUCT {
                Err(QuantityError::BeyondRange { quantity: "unbalance moment", value, unit: "g mm mm" })
            } else {
                Ok(value + 0.0)
            }
        };
        Ok(Self { value: Complex64 { re: component(x)?, im: component(y)? } })
    }

    /// The moment of one unbalance at a distance along the axis: `M = a U`.
    ///
    /// ```
    /// # use counterpoise::{Length, UnbalanceVector, relocation::UnbalanceMoment};
    /// let unbalance = UnbalanceVector::from_components_gram_millimetres(0.0, 50.0)?;
    /// let moment = UnbalanceMoment::of(unbalance, Length::from_millimetres(-10.0)?);
    /// assert_eq!(moment.y_gram_square_millimetres(), -500.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn of(unbalance: UnbalanceVector, distance: Length) -> Self {
        // M = a U
        Self::computed(unbalance.complex() * distance.millimetres())
    }

    /// For a value computed from accepted ones. Adding 0.0 turns a negative zero into a positive one.
    pub(super) fn computed(value: Complex64) -> Self {
        Self { value: Complex64 { re: value.re + 0.0, im: value.im + 0.0 } }
    }

    /// The canonical complex number, in g mm·mm.
    ///
    /// ```
    /// # use counterpoise::relocation::UnbalanceMoment;
    /// assert_eq!(UnbalanceMoment::from_gram_square_millimetres(3.0, 4.0)?.complex().im, 4.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub const fn complex(self) -> Complex64 {
        self.value
    }

    /// The component towards the mark, in g mm·mm.
    ///
    /// ```
    /// # use counterpoise::relocation::UnbalanceMoment;
    /// assert_eq!(UnbalanceMoment::from_gram_square_millimetres(3.0, 4.0)?.x_gram_square_millimetres(), 3.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub const fn x_gram_square_millimetres(self) -> f64 {
        self.value.re
    }

    /// The component a quarter turn with rotation from the mark, in g mm·mm.
    ///
    /// ```
    /// # use counterpoise::relocation::UnbalanceMoment;
    /// assert_eq!(UnbalanceMoment::from_gram_square_millimetres(3.0, 4.0)?.y_gram_square_millimetres(), 4.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub const fn y_gram_square_millimetres(self) -> f64 {
        self.value.im
    }

    /// The amount, in g mm·mm.
    ///
    /// ```
    /// # use counterpoise::relocation::UnbalanceMoment;
    /// assert_eq!(UnbalanceMoment::from_gram_square_millimetres(0.0, -4.0)?.gram_square_millimetres(), 4.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn gram_square_millimetres(self) -> f64 {
        math::modulus(self.value)
    }

    /// The place on the rotor; the mark for no moment.
    ///
    /// ```
    /// # use counterpoise::relocation::UnbalanceMoment;
    /// let moment = UnbalanceMoment::from_gram_square_millimetres(0.0, -4.0)?;
    /// assert_eq!(moment.angle().with_rotation().degrees(), 270.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn angle(self) -> RotorAngle {
        RotorAngle::from_with_rotation(Angle::of_vector(self.value.re, self.value.im))
    }
}

impl Add for UnbalanceMoment {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { value: self.value + other.value }
    }
}

impl Sub for UnbalanceMoment {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self { value: self.value - other.value }
    }
}

impl Neg for UnbalanceMoment {
    type Output = Self;
    fn neg(self) -> Self {
        // 0 - x, so that the opposite of zero is a positive zero.
        Self::ZERO - self
    }
}

impl Sum for UnbalanceMoment {
    /// The sum in the order of the iterator.
    fn sum<I: Iterator<Item = Self>>(moments: I) -> Self {
        moments.fold(Self::ZERO, Add::add)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn refusals_carry_the_value() {
        assert_eq!(
            UnbalanceMoment::from_gram_square_millimetres(0.0, 1e101).unwrap_err().to_string(),
            "unbalance moment 1e101 g mm mm is beyond what can be computed with: check the number and its unit"
        );
        assert_eq!(UnbalanceMoment::from_gram_square_millimetres(f64::NAN, 0.0).unwrap_err().code(), 101);
        let zero = UnbalanceMoment::from_gram_square_millimetres(-0.0, -0.0).unwrap();
        assert!(zero.x_gram_square_millimetres().is_sign_positive());
        assert!((-zero).y_gram_square_millimetres().is_sign_positive());
    }
}
