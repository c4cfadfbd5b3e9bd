//! One unbalance on two places, exactly.

use crate::angle::Angle;
use crate::error::RelocationError;
use crate::math;
use crate::unit::Mass;
use crate::vector::{UnbalanceVector, Weight};

use super::Place;
use super::geometry::{AT_PLACE, accepted, cross, dot, mass_at, towards};

/// Places whose angles differ from 0 or 180 degrees by a sine below this lie on one line: a split would take masses a
/// thousand million times the wanted one.
const IN_LINE: f64 = 1e-9;

/// What may be done at a place.
///
/// ```
/// use counterpoise::relocation::Material;
/// assert_ne!(Material::AddedOnly, Material::AddedOrRemoved);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "snake_case"))]
pub enum Material {
    /// Weights are put on: masses of zero or more.
    AddedOnly,
    /// Weights are put on, or material is taken off: masses of either sign.
    AddedOrRemoved,
}

/// Splits an unbalance between two places, whose angles and radii may differ; the parts add up to it.
///
/// By the sine rule, `U₁ = U sin(β₂−β)/sin(β₂−β₁)` and `U₂ = U sin(β−β₁)/sin(β₂−β₁)`. Where the unbalance lies at one of
/// the places (within 1e-12 degrees) it all goes there, to the first of two at one angle, and the other part is zero.
///
/// # Errors
/// * [`RelocationError::PlacesInLine`] where the places lie at one angle or half a turn apart, and the unbalance at
///   neither.
/// * [`RelocationError::NotBracketed`] where only [`Material::AddedOnly`] is allowed and the unbalance does not lie
///   between the places, the shorter way round.
/// * [`RelocationError::Quantity`] where a number is not finite or beyond range.
///
/// ```
/// use counterpoise::{Mass, Radius, RotorSense, Weight, relocation::{Material, Place, split}};
/// let radius = Radius::from_millimetres(150.0)?;
/// let at = |degrees| RotorSense::WithRotation.degrees(degrees);
/// let wanted = Weight::new(Mass::from_grams(10.0)?, radius, at(30.0)?);
/// let (first, second) = (Place::new(radius, at(0.0)?), Place::new(radius, at(60.0)?));
/// let parts = split(wanted, first, second, Material::AddedOnly)?;
/// assert!((parts[0].mass.grams() - 10.0 / 3.0_f64.sqrt()).abs() < 1e-14);
///
/// let error = split(wanted, Place::new(radius, at(90.0)?), second, Material::AddedOnly).unwrap_err();
/// assert_eq!(error.code(), 502);
/// # Ok::<(), counterpoise::RelocationError>(())
/// ```
pub fn split(
    wanted: impl Into<UnbalanceVector>,
    first: Place,
    second: Place,
    material: Material,
) -> Result<[Weight; 2], RelocationError> {
    let wanted = accepted(wanted.into())?;
    let (u, size) = (wanted.complex(), wanted.amount().gram_millimetres());
    let (e1, e2) = (towards(first), towards(second));
    let parts = |first_amount: f64, second_amount: f64| -> Result<[Weight; 2], RelocationError> {
        Ok([first.weight(mass_at(first, first_amount)?), second.weight(mass_at(second, second_amount)?)])
    };
    if size == 0.0 {
        return parts(0.0, 0.0);
    }
    let removal = material == Material::AddedOrRemoved;
    let lies_at = |e| cross(e, u).abs() <= AT_PLACE * size;
    // The same half turn first: a weight put on is preferred to material taken off half a turn away.
    if lies_at(e1) && dot(e1, u) > 0.0 {
        return parts(dot(e1, u), 0.0);
    }
    if lies_at(e2) && dot(e2, u) > 0.0 {
        return parts(0.0, dot(e2, u));
    }
    if removal && lies_at(e1) {
        return parts(dot(e1, u), 0.0);
    }
    if removal && lies_at(e2) {
        return parts(0.0, dot(e2, u));
    }
    let (wanted_degrees, first_degrees, second_degrees) = (
        wanted.angle().with_rotation().degrees(),
        first.angle.with_rotation().degrees(),
        second.angle.with_rotation().degrees(),
    );
    let sine = cross(e1, e2);
    if sine.abs() <= IN_LINE {
        return Err(RelocationError::PlacesInLine { wanted_degrees, first_degrees, second_degrees });
    }
    // U₁ = U sin(β₂−β)/sin(β₂−β₁),  U₂ = U sin(β−β₁)/sin(β₂−β₁)
    let (first_amount, second_amount) = (cross(u, e2) / sine, cross(e1, u) / sine);
    if !removal && (first_amount < 0.0 || second_amount < 0.0) {
        return Err(RelocationError::NotBracketed { wanted_degrees, first_degrees, second_degrees });
    }
    parts(first_amount, second_amount)
}

/// Splits a weight into two equal ones at the same radius, as far to either side of it: `m/(2 cos h)` at `β−h` and `β+h`.
///
/// The first of the two is the one that lies against rotation.
///
/// # Errors
/// [`RelocationError::SpreadTooWide`] where the half spread `h` is 90 degrees or more, and [`RelocationError::Quantity`]
/// where a mass is not finite or beyond range.
///
/// ```
/// use counterpoise::{Angle, Mass, Radius, RotorSense, Weight, relocation::split_symmetric};
/// let place = RotorSense::WithRotation.degrees(10.0)?;
/// let weight = Weight::new(Mass::from_grams(12.0)?, Radius::from_millimetres(150.0)?, place);
/// let [before, after] = split_symmetric(weight, Angle::from_degrees(60.0)?)?;
/// assert!((before.mass.grams() - 12.0).abs() < 1e-14);
/// assert_eq!(before.angle.with_rotation().degrees(), 310.0);
/// assert_eq!(after.angle.with_rotation().degrees(), 70.0);
/// # Ok::<(), counterpoise::RelocationError>(())
/// ```
pub fn split_symmetric(weight: Weight, half_spread: Angle) -> Result<[Weight; 2], RelocationError> {
    let half_spread_degrees = half_spread.degrees();
    if half_spread_degrees >= 90.0 {
        return Err(RelocationError::SpreadTooWide { half_spread_degrees });
    }
    let (_, cosine) = math::sin_cos_degrees(half_spread_degrees);
    // m/(2 cos h)
    let mass = Mass::from_grams(weight.mass.grams() / (2.0 * cosine))?;
    Ok([
        Weight { mass, angle: weight.angle.turned_with_rotation(-half_spread), ..weight },
        Weight { mass, angle: weight.angle.turned_with_rotation(half_spread), ..weight },
    ])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::angle::RotorSense;
    use crate::unit::Radius;

    fn place(millimetres: f64, degrees: f64) -> Place {
        Place {
            radius: Radius::from_millimetres(millimetres).unwrap(),
            angle: RotorSense::WithRotation.degrees(degrees).unwrap(),
        }
    }

    fn weight(grams: f64, degrees: f64) -> Weight {
        place(100.0, degrees).weight(Mass::from_grams(grams).unwrap())
    }

    fn masses(wanted: Weight, first: Place, second: Place, material: Material) -> [f64; 2] {
        split(wanted, first, second, material).unwrap().map(|part| part.mass.grams())
    }

    #[test]
    fn at_one_place_the_other_gets_exactly_nothing() {
        for degrees in [0.0, 17.3, 60.0, 123.456, 299.99, 359.9] {
            let (here, there) = (place(120.0, degrees), place(90.0, degrees + 40.0));
            let [full, none] = masses(weight(30.0, degrees), here, there, Material::AddedOnly);
            assert!((full - 25.0).abs() < 1e-13);
            assert_eq!(none, 0.0);
            let [none, full] = masses(weight(30.0, degrees), there, here, Material::AddedOnly);
            assert!((full - 25.0).abs() < 1e-13);
            assert_eq!(none, 0.0);
        }
    }

    #[test]
    fn places_in_line_take_only_what_lies_at_them() {
        let (near, far) = (place(100.0, 10.0), place(100.0, 190.0));
        assert_eq!(masses(weight(5.0, 190.0), near, far, Material::AddedOnly)[0], 0.0);
        // A weight put on is preferred to material taken off half a turn away.
        assert!(masses(weight(5.0, 190.0), near, far, Material::AddedOrRemoved)[1] > 0.0);
        let error = split(weight(5.0, 100.0), near, far, Material::AddedOrRemoved).unwrap_err();
        assert_eq!(error.code(), 503);
        assert_eq!(
            split(weight(5.0, 90.0), place(100.0, 0.0), place(80.0, 180.0), Material::AddedOnly)
                .unwrap_err()
                .to_string(),
            "places at 0.0 and 180.0 deg lie on one line through the axis, an unbalance at 90.0 deg does not: \
             choose another place for one of them"
        );
        let error = split(weight(5.0, 100.0), near, near, Material::AddedOnly).unwrap_err();
        assert_eq!(error.code(), 503);
        // Twice the same place: the first takes all.
        let [all, none] = masses(weight(5.0, 10.0), near, near, Material::AddedOnly);
        assert!((all - 5.0).abs() < 1e-14);
        assert_eq!(none, 0.0);
    }

    #[test]
    fn outside_the_bracket_one_part_is_taken_off() {
        let (first, second) = (place(100.0, 0.0), place(100.0, 30.0));
        assert_eq!(
            split(weight(10.0, 90.0), first, second, Material::AddedOnly).unwrap_err().to_string(),
            "an unbalance at 90.0 deg does not lie between places at 0.0 and 30.0 deg, less than half a turn apart: \
             choose places on either side of it, or allow material to be removed"
        );
        let [off, on] = masses(weight(10.0, 90.0), first, second, Material::AddedOrRemoved);
        // 10 j = m₁ + m₂ (cos 30 + j sin 30): m₂ = 20, m₁ = -20 cos 30.
        assert!((on - 20.0).abs() < 1e-13);
        assert!((off + 17.320_508_075_688_77).abs() < 1e-13);
        let [off, none] = masses(weight(10.0, 180.0), first, second, Material::AddedOrRemoved);
        assert!((off + 10.0).abs() < 1e-14);
        assert_eq!(none, 0.0);
    }

    #[test]
    fn nothing_splits_into_nothing() {
        let parts = masses(weight(0.0, 90.0), place(1.0, 0.0), place(1.0, 0.0), Material::AddedOnly);
        assert_eq!(parts, [0.0, 0.0]);
    }

    #[test]
    fn wide_spreads_are_refused() {
        let below = f64::from_bits(90.0_f64.to_bits() - 1);
        let parts = split_symmetric(weight(1.0, 0.0), Angle::from_degrees(below).unwrap()).unwrap();
        assert!(parts[0].mass.grams() > 1e15);
        assert_eq!(
            split_symmetric(weight(1.0, 0.0), Angle::from_degrees(-10.0).unwrap()).unwrap_err().to_string(),
            "weights 350.0 deg to either side do not add up between them: give a half spread below 90 deg"
        );
    }

    #[test]
    fn numbers_out_of_range_are_refused() {
        let endless = UnbalanceVector::from_components_gram_millimetres(1.0, 0.0).unwrap() * f64::INFINITY;
        let error = split(endless, place(1.0, 0.0), place(1.0, 90.0), Material::AddedOnly).unwrap_err();
        assert_eq!(error.code(), 101);
        let huge = UnbalanceVector::from_components_gram_millimetres(1e99, 1e99).unwrap();
        let error = split(huge, place(1e-50, 0.0), place(1.0, 90.0), Material::AddedOnly).unwrap_err();
        assert_eq!(error.code(), 104);
    }
}
