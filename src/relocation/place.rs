//! Places that can take a weight, and what is put there.

use crate::angle::RotorAngle;
use crate::unit::{Mass, Radius};
use crate::vector::Weight;

/// A place for a weight in a correction plane: a radius and an angle.
///
/// ```
/// use counterpoise::{Mass, Radius, RotorSense, relocation::Place};
/// let hole = Place::new(Radius::from_millimetres(150.0)?, RotorSense::WithRotation.degrees(90.0)?);
/// assert_eq!(hole.weight(Mass::from_grams(4.0)?).unbalance().y_gram_millimetres(), 600.0);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Place {
    /// How far from the axis the centre of mass of the weight sits.
    pub radius: Radius,
    /// Where on the rotor it is.
    pub angle: RotorAngle,
}

impl Place {
    /// A place at a radius and an angle.
    ///
    /// ```
    /// # use counterpoise::{Radius, RotorAngle, relocation::Place};
    /// let place = Place::new(Radius::from_inches(6.0)?, RotorAngle::MARK);
    /// assert_eq!(place.radius.millimetres(), 152.4);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub const fn new(radius: Radius, angle: RotorAngle) -> Self {
        Self { radius, angle }
    }

    /// The weight of a mass at this place.
    ///
    /// ```
    /// # use counterpoise::{Mass, Radius, RotorAngle, relocation::Place};
    /// let place = Place::new(Radius::from_millimetres(100.0)?, RotorAngle::MARK);
    /// assert_eq!(place.weight(Mass::from_grams(2.0)?).unbalance().x_gram_millimetres(), 200.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub const fn weight(self, mass: Mass) -> Weight {
        Weight { mass, radius: self.radius, angle: self.angle }
    }

    /// The same place with the most that it may carry.
    ///
    /// ```
    /// # use counterpoise::{Mass, Radius, RotorAngle, relocation::Place};
    /// let place = Place::new(Radius::from_millimetres(100.0)?, RotorAngle::MARK);
    /// assert_eq!(place.capped(Mass::from_grams(6.0)?).cap, Some(Mass::from_grams(6.0)?));
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub const fn capped(self, cap: Mass) -> CappedPlace {
        CappedPlace { place: self, cap: Some(cap) }
    }

    /// The same place, free to carry any mass.
    ///
    /// ```
    /// # use counterpoise::{Radius, RotorAngle, relocation::Place};
    /// let place = Place::new(Radius::from_millimetres(100.0)?, RotorAngle::MARK);
    /// assert_eq!(place.uncapped().cap, None);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub const fn uncapped(self) -> CappedPlace {
        CappedPlace { place: self, cap: None }
    }
}

/// A place with the most mass that it may carry.
///
/// ```
/// use counterpoise::{Mass, Radius, RotorAngle, relocation::{CappedPlace, Place}};
/// let place = Place::new(Radius::from_millimetres(100.0)?, RotorAngle::MARK);
/// let full = CappedPlace { place, cap: Some(Mass::ZERO) };
/// assert_eq!(full, place.capped(Mass::ZERO));
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct CappedPlace {
    /// Where it is.
    pub place: Place,
    /// The most mass it may carry, zero or more; `None` for no limit.
    pub cap: Option<Mass>,
}

/// What one place of a list takes.
///
/// ```
/// use counterpoise::{Mass, Radius, RotorAngle, relocation::{Part, Place}};
/// let place = Place::new(Radius::from_millimetres(100.0)?, RotorAngle::MARK);
/// let part = Part { index: 3, weight: place.weight(Mass::from_grams(2.0)?) };
/// assert_eq!(part.weight.mass.grams(), 2.0);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Part {
    /// The index of the place in the list it was chosen from, from 0.
    pub index: usize,
    /// The weight to put there.
    pub weight: Weight,
}
