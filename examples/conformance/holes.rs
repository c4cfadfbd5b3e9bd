//! File `moves`, the groups about holes: a weight split over two or more of them, or put into the nearest one.

use counterpoise::relocation::{
    CappedPlace, LeastMass, MassStep, Part, Place, least_mass, nearest_place, split_symmetric,
    split_to_neighbours,
};
use counterpoise::{Angle, HoleCircle, Mass, Radius, RotorAngle, RotorSense};

use crate::case::Case;
use crate::checks::Checks;
use crate::moves::{printed, weight};
use crate::node::{Node, Polar, Problem};

/// The radius of a case in which all weights and holes have the same one, which is then not said: the unit of length.
const COMMON_RADIUS: f64 = 1.0;

/// The holes of `{"count", "offset_deg", "radius_mm"}`: hole i at offset + i·360/count, in the case's own sense.
fn holes(case: &Case<'_>) -> Result<Vec<Place>, Problem> {
    let (node, rotor) = (case.inputs.get("holes")?, case.rotor_sense()?);
    let radius = match node.given("radius_mm") {
        Some(radius) => radius.number()?,
        None => COMMON_RADIUS,
    };
    let radius = Radius::from_millimetres(radius)?;
    let first = rotor.degrees(node.get("offset_deg")?.number()?)?;
    let count = u16::try_from(node.get("count")?.index()?)?;
    Ok(HoleCircle::new(count, first, rotor)?.places().map(|angle| Place::new(radius, angle)).collect())
}

/// Group `split_two_holes`: between the two holes that lie about the weight.
pub(crate) fn split_two_holes(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let (inputs, rotor) = (&case.inputs, case.rotor_sense()?);
    let holes = holes(case)?;
    let wanted = weight(inputs, inputs.get("radius_mm")?.number()?, rotor)?;
    let (one, other) = split_to_neighbours(wanted, &holes)?;
    let parts: Vec<Part> = core::iter::once(one).chain(other).collect();
    let total: f64 = parts.iter().map(|part| part.weight.mass.grams()).sum();
    let want = case.expected.get("total_mass_g")?;
    let tolerance = case.tolerance_of("rel")? * want.number()?.abs() + case.tolerance_of("abs")?;
    checks.number(&want, total, tolerance)?;
    let numbered: Vec<(usize, f64)> =
        parts.iter().map(|part| (part.index, part.weight.mass.grams())).collect();
    check_parts(checks, &case.expected.get("parts")?, &numbered, &holes, rotor, tolerance)
}

/// Compares masses by hole: a hole that one side leaves out carries nothing.
fn check_parts(
    checks: &mut Checks,
    want: &Node<'_>,
    got: &[(usize, f64)],
    holes: &[Place],
    rotor: RotorSense,
    tolerance: f64,
) -> Result<(), Problem> {
    let items = want.items()?;
    let mut named = Vec::new();
    for item in &items {
        let hole = item.get("hole_index")?.index()?;
        checks.demand(&item.get("hole_index")?, !named.contains(&hole), &hole, &"a hole once");
        named.push(hole);
        let place = holes.get(hole).ok_or_else(|| format!("{} names no hole", item.path()))?;
        let mass: f64 = got.iter().filter(|(index, _)| *index == hole).map(|(_, mass)| *mass).sum();
        checks.number(&item.get("mass_g")?, mass, tolerance)?;
        check_hole_angle(checks, &item.get("deg")?, place.angle, rotor)?;
    }
    let elsewhere: f64 =
        got.iter().filter(|(index, _)| !named.contains(index)).map(|(_, mass)| mass.abs()).sum();
    checks.demand(want, elsewhere <= tolerance, &format!("{elsewhere:?} g in other holes"), &"none");
    Ok(())
}

/// The angle of a hole: exact but for the one division.
fn check_hole_angle(
    checks: &mut Checks,
    want: &Node<'_>,
    got: RotorAngle,
    rotor: RotorSense,
) -> Result<(), Problem> {
    checks.angle(want, got.in_sense(rotor).degrees(), 1e-12 * 360.0)
}

/// Group `split_symmetric`.
pub(crate) fn symmetric(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let (inputs, expected, rotor) = (&case.inputs, &case.expected, case.rotor_sense()?);
    let half_spread = Angle::from_degrees(inputs.get("half_spread_deg")?.number()?)?;
    let mut parts = split_symmetric(weight(inputs, COMMON_RADIUS, rotor)?, half_spread)?;
    // The library names the one against rotation first, the file the one at the smaller angle of its own sense.
    if rotor == RotorSense::AgainstRotation {
        parts.reverse();
    }
    let (mass, degrees) = (expected.get("each_mass_g")?, expected.get("degs")?);
    let tolerance = case.tolerance_of("rel")? * mass.number()?.abs() + case.tolerance_of("abs")?;
    let items = degrees.items()?;
    checks.count(&degrees, items.len(), parts.len());
    for (want, part) in items.iter().zip(parts) {
        let got = printed(part, rotor);
        checks.number(&mass, got.amount, tolerance)?;
        checks.angle(want, got.degrees, case.tolerance.get("deg_abs")?.number()?)?;
    }
    Ok(())
}

/// Group `nearest_hole`: the one hole and mass with the least error vector.
pub(crate) fn nearest_hole(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let (inputs, expected, rotor) = (&case.inputs, &case.expected, case.rotor_sense()?);
    let wanted = weight(inputs, COMMON_RADIUS, rotor)?;
    let step = match inputs.given("mass_step_g") {
        Some(step) => MassStep::MultiplesOf(Mass::from_grams(step.number()?)?),
        None => MassStep::Any,
    };
    let nearest = nearest_place(wanted, holes(case)?, step)?;
    let relative = case.tolerance_of("rel")?;
    // The error is a difference: it is compared in the size of what was wanted.
    let tolerance = relative * wanted.mass.grams().abs();
    checks.index(&expected.get("hole_index")?, nearest.index)?;
    check_hole_angle(checks, &expected.get("deg")?, nearest.weight.angle, rotor)?;
    checks.number(&expected.get("mass_g")?, nearest.weight.mass.grams(), tolerance)?;
    let error = nearest.error.weight_at(Radius::from_millimetres(COMMON_RADIUS)?);
    let Polar { amount, .. } = printed(error, rotor);
    checks.polar(&expected.get("error_vector")?, ("mass_g", "deg"), printed(error, rotor), tolerance)?;
    checks.number(&expected.get("error_mass_g")?, amount, tolerance)?;
    checks.number(&expected.get("error_percent")?, nearest.error_percent, relative * 100.0)
}

/// Group `least_mass_capped`: the least total mass in holes that hold no more than so much each.
pub(crate) fn least_mass_capped(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let (inputs, expected, rotor) = (&case.inputs, &case.expected, case.rotor_sense()?);
    let (holes, available) = (holes(case)?, inputs.get("available_holes")?.indices()?);
    let cap = Mass::from_grams(inputs.get("cap_per_hole_g")?.number()?)?;
    let mut places: Vec<CappedPlace> = Vec::new();
    for hole in &available {
        places.push(holes.get(*hole).ok_or("inputs.available_holes names no hole")?.capped(cap));
    }
    let outcome = least_mass(weight(inputs, COMMON_RADIUS, rotor)?, &places)?;
    checks.flag(&expected.get("feasible")?, outcome.reached().is_some())?;
    let LeastMass::Reached(split) = outcome else {
        // Where nothing fits, nothing is given.
        for field in ["total_mass_g", "parts", "dual"] {
            let Some(want) = expected.find(field) else { continue };
            let nothing = want.is_null() || want.items().is_ok_and(|items| items.is_empty());
            checks.demand(&want, nothing, &"out of reach", &"an answer");
        }
        return Ok(());
    };
    let want = expected.get("total_mass_g")?;
    let tolerance = case.tolerance_of("rel")? * want.number()?;
    checks.number(&want, split.total_mass().grams(), tolerance)?;
    checks.by("lower bound");
    checks.number(&want, split.lower_bound().grams(), tolerance)?;
    checks.by("");
    let mut parts = Vec::new();
    for part in split.parts() {
        let hole = available.get(part.index).ok_or("a part is in no hole")?;
        parts.push((*hole, part.weight.mass.grams()));
    }
    check_parts(checks, &expected.get("parts")?, &parts, &holes, rotor, tolerance)?;
    // Grams per gram of the wanted weight, along the angle 0 and 90 degrees of the case's own sense.
    let dual = expected.get("dual")?;
    let size = dual.numbers()?.iter().fold(0.0, |size: f64, value| size.max(value.abs()));
    let price = split.price().per_gram_millimetre(rotor);
    checks.numbers(&dual, &price, case.tolerance_of("rel")? * size)
}
