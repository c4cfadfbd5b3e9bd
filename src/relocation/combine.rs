//! Several weights as one, and one weight at another radius.

use crate::error::RelocationError;
use crate::unit::{Mass, Radius, Unbalance};
use crate::vector::{UnbalanceVector, Weight};

use super::geometry::{CompensatedSum, VectorSum, accepted, vector};

/// A resultant below this part of the sum of all amounts vanishes: nobody knows a mass, a radius or an angle to eleven
/// digits, and the rounding of the sum stays below 1e-14 of it.
const VANISHING: f64 = 1e-11;

/// What several weights in one plane add up to.
///
/// ```
/// use counterpoise::{Mass, Radius, RotorSense, Weight, relocation::combine};
/// let (mass, radius) = (Mass::from_grams(8.0)?, Radius::from_millimetres(150.0)?);
/// let at = |degrees| Ok::<_, counterpoise::QuantityError>(Weight::new(mass, radius, RotorSense::WithRotation.degrees(degrees)?));
/// let opposed = combine([at(20.0)?, at(200.0)?])?;
/// assert!(opposed.vanishes());
/// assert_eq!(opposed.equivalent_at(radius)?, None);
/// # Ok::<(), counterpoise::RelocationError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Combination {
    resultant: UnbalanceVector,
    sum_of_amounts: Unbalance,
}

impl Combination {
    /// The resultant unbalance: `U = Σ mᵢ rᵢ exp(+jβᵢ)`, as computed, even where it vanishes.
    ///
    /// ```
    /// # use counterpoise::{Mass, Radius, RotorAngle, Weight, relocation::combine};
    /// let weight = Weight::new(Mass::from_grams(2.0)?, Radius::from_millimetres(150.0)?, RotorAngle::MARK);
    /// assert_eq!(combine([weight, weight])?.resultant().x_gram_millimetres(), 600.0);
    /// # Ok::<(), counterpoise::RelocationError>(())
    /// ```
    pub const fn resultant(&self) -> UnbalanceVector {
        self.resultant
    }

    /// The sum of the amounts of all weights, material taken off counted like material put on: the scale against which
    /// the resultant is judged.
    ///
    /// ```
    /// # use counterpoise::{Mass, Radius, RotorAngle, Weight, relocation::combine};
    /// let radius = Radius::from_millimetres(150.0)?;
    /// let added = Weight::new(Mass::from_grams(2.0)?, radius, RotorAngle::MARK);
    /// let removed = Weight::new(Mass::from_grams(-2.0)?, radius, RotorAngle::MARK);
    /// assert_eq!(combine([added, removed])?.sum_of_amounts().gram_millimetres(), 600.0);
    /// # Ok::<(), counterpoise::RelocationError>(())
    /// ```
    pub const fn sum_of_amounts(&self) -> Unbalance {
        self.sum_of_amounts
    }

    /// Whether the weights cancel: the resultant is at most 1e-11 of the sum of amounts, and its angle means nothing.
    ///
    /// ```
    /// # use counterpoise::relocation::combine;
    /// assert!(combine([])?.vanishes());
    /// # Ok::<(), counterpoise::RelocationError>(())
    /// ```
    pub fn vanishes(&self) -> bool {
        let amount = self.resultant.amount().gram_millimetres();
        amount <= VANISHING * self.sum_of_amounts.gram_millimetres()
    }

    /// The one weight to put on at a radius that does the same; `None` where the weights cancel.
    ///
    /// # Errors
    /// [`RelocationError::Quantity`] where its mass is beyond the range of masses.
    ///
    /// ```
    /// # use counterpoise::{Mass, Radius, RotorAngle, Weight, relocation::combine};
    /// let weight = Weight::new(Mass::from_grams(2.0)?, Radius::from_millimetres(150.0)?, RotorAngle::MARK);
    /// let one = combine([weight, weight])?.equivalent_at(Radius::from_millimetres(100.0)?)?;
    /// assert_eq!(one.map(|weight| weight.mass.grams()), Some(6.0));
    /// # Ok::<(), counterpoise::RelocationError>(())
    /// ```
    pub fn equivalent_at(&self, radius: Radius) -> Result<Option<Weight>, RelocationError> {
        if self.vanishes() {
            return Ok(None);
        }
        let weight = self.resultant.weight_at(radius);
        Ok(Some(Weight { mass: Mass::from_grams(weight.mass.grams())?, ..weight }))
    }

    /// The material to take off at a radius that does the same: a negative mass, half a turn from the resultant; `None`
    /// where the weights cancel.
    ///
    /// # Errors
    /// [`RelocationError::Quantity`] where its mass is beyond the range of masses.
    ///
    /// ```
    /// # use counterpoise::{Mass, Radius, RotorAngle, Weight, relocation::combine};
    /// let radius = Radius::from_millimetres(150.0)?;
    /// let weight = Weight::new(Mass::from_grams(2.0)?, radius, RotorAngle::MARK);
    /// let drilled = combine([weight, weight])?.removal_at(radius)?;
    /// assert_eq!(drilled, Some(Weight::new(Mass::from_grams(-4.0)?, radius, RotorAngle::MARK.opposite())));
    /// # Ok::<(), counterpoise::RelocationError>(())
    /// ```
    pub fn removal_at(&self, radius: Radius) -> Result<Option<Weight>, RelocationError> {
        let added = self.equivalent_at(radius)?;
        Ok(added.map(|weight| Weight { mass: -weight.mass, radius, angle: weight.angle.opposite() }))
    }
}

/// Adds up weights of one plane: `U = Σ mᵢ rᵢ exp(+jβᵢ)`. A negative mass is material taken off.
///
/// # Errors
/// [`RelocationError::Quantity`] where a mass is not finite, or the sum beyond the range of unbalances.
///
/// ```
/// use counterpoise::{Mass, Radius, RotorSense, Weight, relocation::combine};
/// let radius = Radius::from_millimetres(100.0)?;
/// let first = Weight::new(Mass::from_grams(3.0)?, radius, RotorSense::WithRotation.degrees(0.0)?);
/// let second = Weight::new(Mass::from_grams(4.0)?, radius, RotorSense::WithRotation.degrees(90.0)?);
/// assert_eq!(combine([first, second])?.resultant().amount().gram_millimetres(), 500.0);
/// # Ok::<(), counterpoise::RelocationError>(())
/// ```
pub fn combine<I>(weights: I) -> Result<Combination, RelocationError>
where
    I: IntoIterator<Item = Weight>,
{
    let (mut resultant, mut amounts) = (VectorSum::default(), CompensatedSum::default());
    for weight in weights {
        Mass::from_grams(weight.mass.grams())?;
        // U = Σ mᵢ rᵢ exp(+jβᵢ)
        resultant.add(accepted(weight.unbalance())?.complex());
        amounts.add((weight.mass * weight.radius).gram_millimetres().abs());
    }
    let sum_of_amounts = Unbalance::from_gram_millimetres(amounts.value())?;
    Ok(Combination { resultant: vector(resultant.value())?, sum_of_amounts })
}

/// The weight at another radius that gives the same unbalance: `m₂ = m₁ r₁/r₂`.
///
/// # Errors
/// [`RelocationError::Quantity`] where the new mass is not finite or beyond the range of masses.
///
/// ```
/// use counterpoise::{Mass, Radius, RotorAngle, Weight, relocation::at_radius};
/// let weight = Weight::new(Mass::from_grams(10.0)?, Radius::from_millimetres(150.0)?, RotorAngle::MARK);
/// assert_eq!(at_radius(weight, Radius::from_millimetres(120.0)?)?.mass.grams(), 12.5);
/// # Ok::<(), counterpoise::RelocationError>(())
/// ```
pub fn at_radius(weight: Weight, radius: Radius) -> Result<Weight, RelocationError> {
    // m₂ = m₁ r₁/r₂
    let mass = weight.mass * weight.radius / radius;
    Ok(Weight { mass: Mass::from_grams(mass.grams())?, radius, ..weight })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::angle::RotorSense;

    fn weight(grams: f64, millimetres: f64, degrees: f64) -> Weight {
        Weight {
            mass: Mass::from_grams(grams).unwrap(),
            radius: Radius::from_millimetres(millimetres).unwrap(),
            angle: RotorSense::WithRotation.degrees(degrees).unwrap(),
        }
    }

    #[test]
    fn three_equal_weights_a_third_of_a_turn_apart_cancel() {
        for start in [0.0, 7.3, 101.0, 359.9] {
            let ring = [0.0, 120.0, 240.0].map(|step| weight(12.5, 152.4, start + step));
            let sum = combine(ring).unwrap();
            assert!(sum.vanishes(), "{sum:?}");
            assert_eq!(sum.removal_at(Radius::from_millimetres(100.0).unwrap()).unwrap(), None);
        }
    }

    #[test]
    fn a_small_remainder_is_not_lost() {
        let sum = combine([weight(10.0, 100.0, 0.0), weight(10.0, 100.0, 180.0), weight(1e-6, 100.0, 90.0)]);
        assert!(!sum.unwrap().vanishes());
        let sum = combine([weight(10.0, 100.0, 0.0), weight(10.0, 100.0, 180.0), weight(1e-11, 100.0, 90.0)]);
        let sum = sum.unwrap();
        assert!(sum.vanishes());
        assert!((sum.resultant().y_gram_millimetres() - 1e-9).abs() < 1e-22);
    }

    #[test]
    fn numbers_out_of_range_are_refused() {
        let mut heavy = weight(1e50, 1e50, 30.0);
        heavy.mass = heavy.mass * f64::INFINITY;
        assert_eq!(
            combine([heavy]).unwrap_err().to_string(),
            "mass must be a finite number, got inf: check where the number comes from"
        );
        let error = at_radius(weight(1e50, 1e50, 0.0), Radius::from_millimetres(1e-50).unwrap()).unwrap_err();
        assert_eq!(error.code(), 104);
        assert_eq!(combine([weight(1e50, 1e50, 0.0), weight(1e50, 1e50, 0.0)]).unwrap_err().code(), 104);
    }
}
