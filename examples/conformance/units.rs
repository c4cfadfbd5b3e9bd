//! File `units`: conversions of vibration, mass, length, unbalance and force.

use counterpoise::{
    Angle, ForceUnit, Length, LengthUnit, Mass, MassUnit, Radius, Speed, SpeedUnit, Unbalance, UnbalanceUnit,
    Vibration,
};

use crate::case::{Case, vibration_unit};
use crate::checks::Checks;
use crate::node::{Node, Problem};

fn tolerance(case: &Case<'_>, want: &Node<'_>) -> Result<f64, Problem> {
    Ok(case.tolerance_of("rel")? * want.number()?.abs() + case.tolerance_of("abs")?)
}

/// Checks one value in every unit that is asked for.
fn check_values(
    case: &Case<'_>,
    checks: &mut Checks,
    converted: impl Fn(&str) -> Result<f64, Problem>,
) -> Result<(), Problem> {
    for (unit, want) in case.expected.get("values")?.members()? {
        checks.number(&want, converted(unit)?, tolerance(case, &want)?)?;
    }
    Ok(())
}

/// The unit of that symbol, among all of its kind.
fn unit_of<U: Copy>(all: &[U], symbol: impl Fn(U) -> &'static str, name: &str) -> Result<U, Problem> {
    // The files write the product with a star.
    let name = name.replace('*', " ");
    all.iter()
        .copied()
        .find(|unit| symbol(*unit) == name)
        .ok_or_else(|| format!("unit {name} is not known").into())
}

/// Group `vibration`: an amplitude in other units at one speed.
pub(crate) fn vibration(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let speed = Speed::from_rpm(case.inputs.get("rpm")?.number()?)?;
    let unit = vibration_unit(case.inputs.get("unit")?.text()?)?;
    let value = case.inputs.get("value")?.number()?;
    check_values(case, checks, |to| Ok(unit.convert_amplitude(value, vibration_unit(to)?, speed)))?;
    checks.by("vector conversion");
    let vibration = Vibration::from_components(value, 0.0)?;
    check_values(case, checks, |to| Ok(unit.convert(vibration, vibration_unit(to)?, speed).amplitude()))
}

/// Group `phase`: amplitude and phase in another unit, with the quarter turns of the time derivatives.
pub(crate) fn phase(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let speed = Speed::from_rpm(case.inputs.get("rpm")?.number()?)?;
    let sense = case.phase_sense()?;
    let unit = vibration_unit(case.inputs.get("unit")?.text()?)?;
    let to = vibration_unit(case.inputs.get("to_unit")?.text()?)?;
    let read = case.inputs.polar("amp", "deg")?;
    let vibration = Vibration::from_polar(read.amount, sense, Angle::from_degrees(read.degrees)?)?;
    let converted = unit.convert(vibration, to, speed);

    let amplitude = case.expected.get("amp")?;
    let tolerance = tolerance(case, &amplitude)?;
    checks.number(&amplitude, converted.amplitude(), tolerance)?;
    let degrees = case.expected.get("deg")?;
    if amplitude.number()? == 0.0 {
        // The phase of no vibration means nothing.
        checks.demand(&degrees, true, &"", &"");
    } else {
        checks.angle(&degrees, converted.phase(sense).degrees(), case.tolerance.get("deg_abs")?.number()?)?;
    }
    checks.complex(&case.expected.get("canonical")?, converted.complex(), tolerance)
}

/// Group `mass`.
pub(crate) fn mass(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let unit = |name: &str| unit_of(MassUnit::ALL, MassUnit::symbol, name);
    let mass = Mass::new(case.inputs.get("value")?.number()?, unit(case.inputs.get("unit")?.text()?)?)?;
    check_values(case, checks, |to| Ok(mass.value_in(unit(to)?)))
}

/// Group `length`.
pub(crate) fn length(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let unit = |name: &str| unit_of(LengthUnit::ALL, LengthUnit::symbol, name);
    let length = Length::new(case.inputs.get("value")?.number()?, unit(case.inputs.get("unit")?.text()?)?)?;
    check_values(case, checks, |to| Ok(length.value_in(unit(to)?)))
}

/// Group `unbalance`.
pub(crate) fn unbalance(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let unit = |name: &str| unit_of(UnbalanceUnit::ALL, UnbalanceUnit::symbol, name);
    let amount =
        Unbalance::new(case.inputs.get("value")?.number()?, unit(case.inputs.get("unit")?.text()?)?)?;
    check_values(case, checks, |to| Ok(amount.value_in(unit(to)?)))
}

/// Group `force`: the centrifugal force of a mass at a radius and a speed.
pub(crate) fn force(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let mass_unit = unit_of(MassUnit::ALL, MassUnit::symbol, case.inputs.get("mass_unit")?.text()?)?;
    let radius_unit = unit_of(LengthUnit::ALL, LengthUnit::symbol, case.inputs.get("radius_unit")?.text()?)?;
    let mass = Mass::new(case.inputs.get("mass")?.number()?, mass_unit)?;
    let radius = Radius::new(case.inputs.get("radius")?.number()?, radius_unit)?;
    let speed = Speed::from_rpm(case.inputs.get("rpm")?.number()?)?;
    let amount = mass * radius;
    let force = amount.centrifugal_force(speed);
    for (field, got) in [
        ("unbalance_g_mm", amount.value_in(UnbalanceUnit::GramMillimetre)),
        ("force_N", force.value_in(ForceUnit::Newton)),
        ("force_lbf", force.value_in(ForceUnit::PoundForce)),
        ("omega_rad_s", speed.value_in(SpeedUnit::RadianPerSecond)),
    ] {
        let want = case.expected.get(field)?;
        checks.number(&want, got, tolerance(case, &want)?)?;
    }
    Ok(())
}
