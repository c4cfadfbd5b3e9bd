//! One weight on the single place where it errs least.

use crate::error::{QuantityError, RelocationError};
use crate::math;
use crate::unit::Mass;
use crate::vector::{UnbalanceVector, Weight};

use super::Place;
use super::geometry::{accepted, dot, mass_at, towards};

/// Errors that differ by less than this part of the wanted amount count as equal.
const TIE: f64 = 1e-12;

/// The masses that can be made.
///
/// ```
/// use counterpoise::{Mass, relocation::MassStep};
/// assert_ne!(MassStep::Any, MassStep::MultiplesOf(Mass::from_grams(0.5)?));
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "snake_case"))]
pub enum MassStep {
    /// Any mass of zero or more.
    Any,
    /// A whole number of times a mass, zero included.
    MultiplesOf(Mass),
}

/// The single place and mass nearest to what was wanted, and what it misses.
///
/// ```
/// use counterpoise::{Mass, Radius, RotorAngle, Weight, relocation::{MassStep, Place, nearest_place}};
/// let hole = Place::new(Radius::from_millimetres(100.0)?, RotorAngle::MARK);
/// let nearest = nearest_place(hole.weight(Mass::from_grams(5.0)?), [hole], MassStep::MultiplesOf(Mass::from_grams(2.0)?))?;
/// // 4 g and 6 g are as far off: the lighter is taken.
/// assert_eq!(nearest.weight.mass.grams(), 4.0);
/// assert_eq!(nearest.error.x_gram_millimetres(), -100.0);
/// assert_eq!(nearest.error_percent, 20.0);
/// # Ok::<(), counterpoise::RelocationError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NearestPlace {
    /// The index of the place in the list, from 0.
    pub index: usize,
    /// The weight to put there.
    pub weight: Weight,
    /// The unbalance placed minus the one wanted.
    pub error: UnbalanceVector,
    /// The size of the error in percent of the wanted amount; 0 where nothing was wanted.
    pub error_percent: f64,
}

/// The single place, and the mass that can be made, with the least error vector.
///
/// Of places whose errors are equal to 12 digits the first of the list is taken, and of two masses the lighter.
///
/// # Errors
/// [`RelocationError::NoPlaces`] for an empty list, and [`RelocationError::Quantity`] where the step is not positive or a
/// number is not finite or beyond range.
///
/// ```
/// use counterpoise::relocation::{MassStep, Place, nearest_place};
/// use counterpoise::{HoleCircle, Mass, Radius, RotorAngle, RotorSense, Weight};
/// let radius = Radius::from_millimetres(150.0)?;
/// let holes = HoleCircle::new(8, RotorSense::WithRotation.degrees(7.5)?, RotorSense::WithRotation)?
///     .places()
///     .map(|angle| Place::new(radius, angle));
/// let wanted = Weight::new(Mass::from_grams(7.77)?, radius, RotorSense::WithRotation.degrees(10.29)?);
/// let nearest = nearest_place(wanted, holes, MassStep::MultiplesOf(Mass::from_grams(2.0)?))?;
/// // Check values: the reference vectors.
/// assert_eq!((nearest.index, nearest.weight.mass.grams()), (0, 8.0));
/// assert!((nearest.error_percent - 5.759).abs() < 1e-3);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
pub fn nearest_place<I>(
    wanted: impl Into<UnbalanceVector>,
    places: I,
    step: MassStep,
) -> Result<NearestPlace, RelocationError>
where
    I: IntoIterator<Item = Place>,
{
    let step = match step {
        MassStep::Any => None,
        MassStep::MultiplesOf(step) => Some(accepted_step(step.grams())?),
    };
    let wanted = accepted(wanted.into())?;
    let size = wanted.amount().gram_millimetres();
    let mut best = None::<(f64, usize, Weight, UnbalanceVector)>;
    for (index, place) in places.into_iter().enumerate() {
        // m = max(0, U·e)/r leaves the least error at this place.
        let ideal = mass_at(place, dot(towards(place), wanted.complex()).max(0.0))?.grams();
        let mass = step.map_or(ideal, |step| nearest_multiple(ideal, step));
        let weight = place.weight(Mass::from_grams(mass)?);
        let error = weight.unbalance() - wanted;
        let amount = error.amount().gram_millimetres();
        if best.as_ref().is_none_or(|(least, ..)| amount < least - TIE * size) {
            best = Some((amount, index, weight, error));
        }
    }
    let (amount, index, weight, error) = best.ok_or(RelocationError::NoPlaces)?;
    let error_percent = if size == 0.0 { 0.0 } else { 100.0 * (amount / size) };
    Ok(NearestPlace { index, weight, error, error_percent })
}

/// Refuses a step that is not a mass greater than zero.
fn accepted_step(grams: f64) -> Result<f64, QuantityError> {
    let grams = Mass::from_grams(grams)?.grams();
    if grams > 0.0 {
        Ok(grams)
    } else {
        Err(QuantityError::NotPositive { quantity: "mass step", value: grams, unit: "g" })
    }
}

/// The multiple of `step` nearest to `ideal`, the lesser of two as near to 12 digits.
fn nearest_multiple(ideal: f64, step: f64) -> f64 {
    let count = math::floor(ideal / step);
    let (below, above) = (count * step, (count + 1.0) * step);
    if (above - ideal) < (ideal - below) - TIE * ideal { above } else { below }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::angle::RotorSense;
    use crate::unit::Radius;

    fn place(degrees: f64) -> Place {
        Place {
            radius: Radius::from_millimetres(100.0).unwrap(),
            angle: RotorSense::WithRotation.degrees(degrees).unwrap(),
        }
    }

    fn grams(value: f64) -> Mass {
        Mass::from_grams(value).unwrap()
    }

    #[test]
    fn ties_go_to_the_first_place() {
        for degrees in [0.0, 13.7, 100.0, 350.0] {
            let holes = [place(degrees), place(degrees + 40.0)];
            let nearest =
                nearest_place(place(degrees + 20.0).weight(grams(9.0)), holes, MassStep::Any).unwrap();
            assert_eq!(nearest.index, 0);
            // The best mass is the projection: m = 9 cos 20, error 9 sin 20.
            let (sine, cosine) = math::sin_cos_degrees(20.0);
            assert!((nearest.weight.mass.grams() - 9.0 * cosine).abs() < 1e-13);
            assert!((nearest.error_percent - 100.0 * sine).abs() < 1e-11);
        }
    }

    #[test]
    fn a_place_on_the_far_side_takes_nothing() {
        let nearest = nearest_place(place(180.0).weight(grams(9.0)), [place(0.0)], MassStep::Any).unwrap();
        assert_eq!((nearest.weight.mass.grams(), nearest.error_percent), (0.0, 100.0));
        let nearest = nearest_place(UnbalanceVector::ZERO, [place(0.0)], MassStep::Any).unwrap();
        assert_eq!((nearest.weight.mass.grams(), nearest.error_percent), (0.0, 0.0));
    }

    #[test]
    fn a_multiple_that_rounding_hides_is_found() {
        // 0.3/0.1 is a little below 3 in doubles.
        let nearest =
            nearest_place(place(0.0).weight(grams(0.3)), [place(0.0)], MassStep::MultiplesOf(grams(0.1)));
        assert!((nearest.unwrap().weight.mass.grams() - 0.3).abs() < 1e-15);
        let nearest =
            nearest_place(place(0.0).weight(grams(1e40)), [place(0.0)], MassStep::MultiplesOf(grams(1e-40)));
        assert!((nearest.unwrap().weight.mass.grams() / 1e40 - 1.0).abs() < 1e-14);
    }

    #[test]
    fn bad_steps_and_empty_lists_are_refused() {
        let wanted = place(0.0).weight(grams(1.0));
        let error = nearest_place(wanted, [place(0.0)], MassStep::MultiplesOf(grams(0.0))).unwrap_err();
        assert_eq!(
            error.to_string(),
            "mass step must be greater than zero, got 0.0 g: give its size, without a sign"
        );
        assert_eq!(nearest_place(wanted, [], MassStep::Any).unwrap_err(), RelocationError::NoPlaces);
        let endless = MassStep::MultiplesOf(grams(1.0) * f64::NAN);
        assert_eq!(nearest_place(wanted, [place(0.0)], endless).unwrap_err().code(), 101);
    }
}
