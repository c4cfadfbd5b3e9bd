//! The two places of a ring that lie about an angle.

use crate::angle::{Angle, RotorAngle};
use crate::error::RelocationError;
use crate::vector::UnbalanceVector;

use super::geometry::{AT_PLACE_DEGREES, accepted, mass_at};
use super::{Material, Part, Place, split};

/// Where an angle lies among the places of a list; the numbers are indices into the list, from 0.
///
/// ```
/// use counterpoise::{RotorSense, relocation::{Neighbours, neighbours}};
/// let at = |degrees| RotorSense::WithRotation.degrees(degrees);
/// let places = [at(330.0)?, at(90.0)?, at(30.0)?];
/// assert_eq!(neighbours(at(355.0)?, places)?, Neighbours::Between { before: 0, after: 2 });
/// assert_eq!(neighbours(at(90.0)?, places)?, Neighbours::At(1));
/// # Ok::<(), counterpoise::RelocationError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Neighbours {
    /// At a place, within 1e-12 degrees.
    At(usize),
    /// Between two places that are less than half a turn apart.
    Between {
        /// The nearest place against rotation.
        before: usize,
        /// The nearest place with rotation.
        after: usize,
    },
}

/// The two neighbouring places that have the wanted angle between them.
///
/// Of several places at one angle the first of the list is taken.
///
/// # Errors
/// [`RelocationError::NoPlaces`] for an empty list, and [`RelocationError::NotBracketed`] where the nearest places on
/// either side are half a turn or more apart.
///
/// ```
/// use counterpoise::{HoleCircle, RotorAngle, RotorSense, relocation::{Neighbours, neighbours}};
/// let ring = HoleCircle::new(18, RotorAngle::MARK, RotorSense::AgainstRotation)?.places();
/// let wanted = RotorSense::AgainstRotation.degrees(254.03)?;
/// // With rotation, place 13 of a ring counted against rotation comes before place 12.
/// assert_eq!(neighbours(wanted, ring)?, Neighbours::Between { before: 13, after: 12 });
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
pub fn neighbours<I>(wanted: RotorAngle, places: I) -> Result<Neighbours, RelocationError>
where
    I: IntoIterator<Item = RotorAngle>,
{
    let wanted = wanted.with_rotation();
    // The index, and how far it lies from the wanted angle.
    let (mut before, mut after) = (None::<(usize, Angle)>, None::<(usize, Angle)>);
    for (index, place) in places.into_iter().enumerate() {
        let place = place.with_rotation();
        if place.separation_degrees(wanted) <= AT_PLACE_DEGREES {
            return Ok(Neighbours::At(index));
        }
        if before.is_none_or(|(_, least)| wanted - place < least) {
            before = Some((index, wanted - place));
        }
        if after.is_none_or(|(_, least)| place - wanted < least) {
            after = Some((index, place - wanted));
        }
    }
    let (Some((before, behind)), Some((after, ahead))) = (before, after) else {
        return Err(RelocationError::NoPlaces);
    };
    if behind.degrees() + ahead.degrees() < 180.0 {
        Ok(Neighbours::Between { before, after })
    } else {
        Err(RelocationError::NotBracketed {
            wanted_degrees: wanted.degrees(),
            first_degrees: (wanted - behind).degrees(),
            second_degrees: (wanted + ahead).degrees(),
        })
    }
}

/// Splits an unbalance between the two places of a list that lie about it, exactly; one part where it lies at a place.
///
/// No unbalance is no mass at the first place.
///
/// # Errors
/// Those of [`neighbours`] and of [`split`].
///
/// ```
/// use counterpoise::relocation::{Place, split_to_neighbours};
/// use counterpoise::{HoleCircle, Mass, Radius, RotorAngle, RotorSense, Weight};
/// let radius = Radius::from_millimetres(150.0)?;
/// let holes: Vec<Place> = HoleCircle::new(6, RotorAngle::MARK, RotorSense::WithRotation)?
///     .places()
///     .map(|angle| Place::new(radius, angle))
///     .collect();
/// let wanted = Weight::new(Mass::from_grams(31.5)?, radius, RotorSense::WithRotation.degrees(77.0)?);
/// let (before, after) = split_to_neighbours(wanted, &holes)?;
/// assert_eq!(before.index, 1);
/// // The sine rule: 31.5 sin 43°/sin 60° and 31.5 sin 17°/sin 60°.
/// assert!((before.weight.mass.grams() - 24.80637).abs() < 1e-5);
/// assert!((after.ok_or("none")?.weight.mass.grams() - 10.63446).abs() < 1e-5);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
pub fn split_to_neighbours(
    wanted: impl Into<UnbalanceVector>,
    places: &[Place],
) -> Result<(Part, Option<Part>), RelocationError> {
    let wanted = accepted(wanted.into())?;
    let place = |index: usize| places.get(index).copied().ok_or(RelocationError::NoPlaces);
    let amount = wanted.amount().gram_millimetres();
    let neighbours = if amount == 0.0 {
        Neighbours::At(0)
    } else {
        neighbours(wanted.angle(), places.iter().map(|place| place.angle))?
    };
    match neighbours {
        Neighbours::At(index) => {
            let place = place(index)?;
            Ok((Part { index, weight: place.weight(mass_at(place, amount)?) }, None))
        }
        Neighbours::Between { before, after } => {
            let [first, second] = split(wanted, place(before)?, place(after)?, Material::AddedOnly)?;
            Ok((Part { index: before, weight: first }, Some(Part { index: after, weight: second })))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::angle::RotorSense;
    use crate::unit::Radius;

    fn at(degrees: f64) -> RotorAngle {
        RotorSense::WithRotation.degrees(degrees).unwrap()
    }

    #[test]
    fn a_bracket_may_lie_across_the_mark() {
        let places = [330.0, 30.0, 200.0].map(at);
        for wanted in [331.0, 359.9, 0.0, 29.0] {
            let found = neighbours(at(wanted), places).unwrap();
            assert_eq!(found, Neighbours::Between { before: 0, after: 1 }, "{wanted}");
        }
        assert_eq!(neighbours(at(330.0 + 1e-13), places).unwrap(), Neighbours::At(0));
    }

    #[test]
    fn the_first_of_two_places_at_one_angle_is_taken() {
        let places = [10.0, 50.0, 10.0, 50.0].map(at);
        assert_eq!(neighbours(at(20.0), places).unwrap(), Neighbours::Between { before: 0, after: 1 });
        assert_eq!(neighbours(at(50.0), places).unwrap(), Neighbours::At(1));
    }

    #[test]
    fn half_a_turn_is_no_bracket() {
        assert_eq!(neighbours(at(20.0), []).unwrap_err(), RelocationError::NoPlaces);
        assert_eq!(
            RelocationError::NoPlaces.to_string(),
            "no places were given: list at least one place for the weight"
        );
        assert_eq!(
            neighbours(at(20.0), [0.0, 180.0].map(at)).unwrap_err(),
            RelocationError::NotBracketed { wanted_degrees: 20.0, first_degrees: 0.0, second_degrees: 180.0 }
        );
        assert_eq!(neighbours(at(200.0), [90.0].map(at)).unwrap_err().code(), 502);
        assert_eq!(neighbours(at(90.0), [90.0].map(at)).unwrap(), Neighbours::At(0));
        let single = [Place { radius: Radius::from_millimetres(50.0).unwrap(), angle: at(90.0) }];
        let (part, none) = split_to_neighbours(UnbalanceVector::ZERO, &single).unwrap();
        assert_eq!((part.index, part.weight.mass.grams(), none), (0, 0.0, None));
        assert_eq!(split_to_neighbours(UnbalanceVector::ZERO, &[]).unwrap_err().code(), 501);
    }
}
