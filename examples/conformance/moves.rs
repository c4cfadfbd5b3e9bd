//! File `moves`: the same effect from other weights, radii or planes. The groups about holes are in `holes`.

use counterpoise::relocation::{
    PlaneUnbalance, Replacement, at_radius, combine, in_two_planes, to_other_plane,
};
use counterpoise::{Angle, Influence, Length, Mass, Radius, RotorSense, UnbalanceVector, Vibration, Weight};
use num_complex::Complex64;

use crate::case::{Case, largest};
use crate::checks::Checks;
use crate::node::{Node, Polar, Problem};

/// The weight of `{"mass_g", "deg"}` at a radius in millimetres.
pub(crate) fn weight(node: &Node<'_>, millimetres: f64, rotor: RotorSense) -> Result<Weight, Problem> {
    let Polar { amount, degrees } = node.polar("mass_g", "deg")?;
    let (mass, radius) = (Mass::from_grams(amount)?, Radius::from_millimetres(millimetres)?);
    Ok(Weight::new(mass, radius, rotor.degrees(degrees)?))
}

/// Mass and angle in the case's own sense.
pub(crate) fn printed(weight: Weight, rotor: RotorSense) -> Polar {
    Polar { amount: weight.mass.grams(), degrees: weight.angle.in_sense(rotor).degrees() }
}

/// The member whose name is a stem, a number of millimetres and `_mm`: the file has the radius in the name.
fn with_radius<'a>(node: &Node<'a>, stem: &str) -> Result<(Node<'a>, f64), Problem> {
    for (key, member) in node.members()? {
        let number = key.strip_prefix(stem).and_then(|rest| rest.strip_suffix("_mm"));
        if let Some(Ok(millimetres)) = number.map(str::parse) {
            return Ok((member, millimetres));
        }
    }
    Err(format!("{} has no member {stem}<radius>_mm", node.path()).into())
}

/// Group `other_radius`.
pub(crate) fn other_radius(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let (inputs, expected, rotor) = (&case.inputs, &case.expected, case.rotor_sense()?);
    let old = weight(inputs, inputs.get("radius_mm")?.number()?, rotor)?;
    let new = at_radius(old, Radius::from_millimetres(inputs.get("new_radius_mm")?.number()?)?)?;
    let (relative, absolute) = (case.tolerance_of("rel")?, case.tolerance_of("abs")?);
    let Polar { amount, degrees } = printed(new, rotor);
    let unbalance = (new.mass * new.radius).gram_millimetres();
    for (field, got) in [("mass_g", amount), ("unbalance_g_mm", unbalance)] {
        let want = expected.get(field)?;
        checks.number(&want, got, relative * want.number()?.abs() + absolute)?;
    }
    checks.angle(&expected.get("deg")?, degrees, case.tolerance.get("deg_abs")?.number()?)
}

/// Group `combine`: the resultant, in polar form and in components, and the one weight that does the same.
pub(crate) fn combination(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let (expected, rotor) = (&case.expected, case.rotor_sense()?);
    let mut weights = Vec::new();
    for node in case.inputs.get("weights")?.items()? {
        weights.push(weight(&node, node.get("radius_mm")?.number()?, rotor)?);
    }
    let combined = combine(weights)?;
    let resultant = combined.resultant();
    let polar = Polar {
        amount: resultant.amount().gram_millimetres(),
        degrees: resultant.angle().in_sense(rotor).degrees(),
    };
    let want = expected.get("resultant")?;
    let size = want.given("g_mm").map_or(Ok(0.0), |size| size.number())?;
    let tolerance = case.tolerance_of("rel")? * size + case.tolerance_of("abs_g_mm")?;
    if want.is_null() {
        checks.demand(&want, combined.vanishes(), &polar, &"null");
    } else if want.get("deg")?.is_null() {
        // The angle of what vanishes is not defined.
        checks.demand(&want.get("deg")?, combined.vanishes(), &"an angle", &"null");
        checks.number(&want.get("g_mm")?, polar.amount, tolerance)?;
    } else {
        checks.polar(&want, ("g_mm", "deg"), polar, tolerance)?;
    }
    let components = expected.get("in_own_direction_xy_g_mm")?;
    let y = match rotor {
        RotorSense::WithRotation => resultant.y_gram_millimetres(),
        RotorSense::AgainstRotation => -resultant.y_gram_millimetres(),
    };
    checks.number(&components.get("x")?, resultant.x_gram_millimetres(), tolerance)?;
    checks.number(&components.get("y")?, y, tolerance)?;
    checks.flag(&expected.get("vanishes")?, combined.vanishes())?;

    let (want, millimetres) = with_radius(expected, "equivalent_at_")?;
    match combined.equivalent_at(Radius::from_millimetres(millimetres)?)? {
        Some(weight) if !want.is_null() => {
            checks.polar(&want, ("mass_g", "deg"), printed(weight, rotor), tolerance / millimetres)
        }
        None if !want.is_null() => {
            // No weight is one of no mass, at any angle.
            checks.number(&want.get("mass_g")?, 0.0, tolerance / millimetres)?;
            checks.demand(&want.get("deg")?, combined.vanishes(), &"no weight", &"one");
            Ok(())
        }
        weight => {
            checks.demand(&want, weight.is_none(), &"a weight", &"null");
            Ok(())
        }
    }
}

/// The coefficient of `{"re", "im"}` per gram at a radius.
fn influence(node: &Node<'_>, millimetres: f64) -> Result<Influence, Problem> {
    let Complex64 { re, im } = node.complex()? / millimetres;
    Ok(Influence::from_components_per_gram_millimetre(re, im)?)
}

/// Group `other_plane_influence`.
pub(crate) fn other_plane(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let (inputs, expected, rotor) = (&case.inputs, &case.expected, case.rotor_sense()?);
    let radii = inputs.get("radii_mm")?.numbers()?;
    let &[old_radius, new_radius] = radii.as_slice() else {
        return Err("inputs.radii_mm is not of two".into());
    };
    let (mut from, mut to) = (Vec::new(), Vec::new());
    for row in inputs.get("influence_from_to")?.items()? {
        let [old, new] = <[Node<'_>; 2]>::try_from(row.items()?).map_err(|_| "a row is not of two planes")?;
        from.push(influence(&old, old_radius)?);
        to.push(influence(&new, new_radius)?);
    }
    let old = weight(inputs, old_radius, rotor)?.unbalance();
    let moved = to_other_plane(old, &from, &to, &[])?;

    let (relative, absolute) = (case.tolerance_of("rel")?, case.tolerance_of("abs")?);
    let want = expected.get("weight_new_plane")?;
    let tolerance = relative * want.get("mass_g")?.number()? + absolute;
    let new = moved.vector().weight_at(Radius::from_millimetres(new_radius)?);
    checks.polar(&want, ("mass_g", "deg"), printed(new, rotor), tolerance)?;
    // The change is a difference of two effects: it is compared in their size.
    let size = largest(from.iter().map(|influence| (*influence * old).complex()));
    let changes: Vec<Complex64> = moved.changes().map(Vibration::complex).collect();
    checks.complexes(
        &expected.get("change_of_vibration_canonical")?,
        &changes,
        relative * size + absolute,
    )?;
    checks.number(&expected.get("change_max")?, moved.largest_change(), relative * size + absolute)
}

/// Group `two_planes_statics`: two weights moved to two other planes of a rigid rotor.
pub(crate) fn two_planes_statics(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let (inputs, rotor) = (&case.inputs, case.rotor_sense()?);
    let stations = |key: &str| -> Result<Vec<Length>, Problem> {
        inputs.get(key)?.numbers()?.iter().map(|z| Ok(Length::from_metres(*z)?)).collect()
    };
    let (old, new) = (stations("plane_z_m")?, stations("new_plane_z_m")?);
    let &[first, second] = new.as_slice() else { return Err("inputs.new_plane_z_m is not of two".into()) };
    let mut unbalances = Vec::new();
    let old_radii = inputs.get("radii_mm")?.numbers()?;
    for ((node, station), radius) in inputs.get("weights")?.items()?.iter().zip(&old).zip(&old_radii) {
        unbalances.push(PlaneUnbalance::new(*station, weight(node, *radius, rotor)?.unbalance()));
    }
    let moved = in_two_planes(unbalances, first, second)?;

    let want = case.expected.get("weights")?;
    let (items, radii) = (want.items()?, inputs.get("new_radii_mm")?.numbers()?);
    checks.count(&want, items.len(), moved.len());
    let mut sizes = Vec::new();
    for item in &items {
        sizes.push(item.polar("mass_g", "deg")?.vector());
    }
    let tolerance = case.tolerance_of("rel")? * largest(sizes);
    for ((item, plane), radius) in items.iter().zip(moved).zip(radii) {
        let got = printed(plane.unbalance.weight_at(Radius::from_millimetres(radius)?), rotor);
        checks.polar(item, ("mass_g", "deg"), got, tolerance)?;
        if item.get("mass_g")?.number()? > tolerance {
            checks.angle(&item.get("deg")?, got.degrees, case.tolerance.get("deg_abs")?.number()?)?;
        }
    }
    Ok(())
}

/// Group `temporary_to_permanent`.
pub(crate) fn temporary_to_permanent(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let (inputs, expected, convention) = (&case.inputs, &case.expected, case.convention()?);
    let (coefficient, radius) = with_radius(inputs, "influence_canonical_per_g_at_")?;
    let mounted = |key: &str| -> Result<UnbalanceVector, Problem> {
        let node = inputs.get(key)?;
        Ok(weight(&node, node.get("radius_mm")?.number()?, convention.rotor)?.unbalance())
    };
    let replacement = Replacement {
        influence: influence(&coefficient, radius)?,
        temporary: mounted("temporary")?,
        permanent: mounted("permanent")?,
    };
    let read = inputs.get("reading_with_temporary_weight")?.polar("amp", "deg")?;
    let now = Vibration::from_polar(read.amount, convention.phase, Angle::from_degrees(read.degrees)?)?;
    let next = replacement.predicted(now);

    let relative = case.tolerance_of("rel")?;
    let tolerance = relative * case.tolerance.get("scale")?.number()?;
    let polar = convention.polar_vibration(next);
    let (amount, phase) = (polar.amplitude, polar.phase);
    let polar = Polar { amount, degrees: phase.degrees() };
    checks.polar(&expected.get("predicted_reading")?, ("amp", "deg"), polar, tolerance)?;
    checks.complex(&expected.get("predicted_canonical")?, next.complex(), tolerance)?;
    checks.complex(&expected.get("change_canonical")?, replacement.change().complex(), tolerance)?;
    // A difference of two weights: it is compared in the size of what is taken off.
    let (want, at) = with_radius(expected, "weight_difference_at_")?;
    let difference = replacement.difference().weight_at(Radius::from_millimetres(at)?);
    let size = inputs.get("temporary")?.get("mass_g")?.number()?.abs();
    checks.polar(&want, ("mass_g", "deg"), printed(difference, convention.rotor), relative * size)
}
