//! Permissible unbalance, its allocation, residuals in tolerance planes, verdicts.

use counterpoise::relocation::{PlaneUnbalance, StaticCouple, in_two_planes};
use counterpoise::tolerance::{
    BalanceGrade, GuardBand, ShareLimits, TolerancePlanes, chance_of_value_within, chance_of_vector_within,
    journal_rule,
};
use counterpoise::{
    Conformity, Length, LengthUnit, Mass, MassUnit, Speed, Unbalance, UnbalanceUnit, UnbalanceVector,
};

use crate::case::Case;
use crate::checks::Checks;
use crate::node::{Node, Polar, Problem};

/// The tolerance of a number: a share of it.
fn within(case: &Case<'_>, want: &Node<'_>) -> Result<f64, Problem> {
    Ok(case.tolerance_of("rel")? * want.number()?.abs() + case.tolerance_of("abs")?)
}

/// Compares a number under a name.
fn number(case: &Case<'_>, checks: &mut Checks, name: &str, got: f64) -> Result<(), Problem> {
    let want = case.expected.get(name)?;
    let tolerance = within(case, &want)?;
    checks.number(&want, got, tolerance)
}

fn rotor(case: &Case<'_>) -> Result<(Mass, Speed), Problem> {
    let mass = Mass::from_kilograms(case.inputs.get("mass_kg")?.number()?)?;
    Ok((mass, Speed::from_rpm(case.inputs.get("rpm")?.number()?)?))
}

/// Group `grade`.
pub(crate) fn grade(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let (mass, speed) = rotor(case)?;
    let value = case.inputs.get("grade_mm_per_s")?.number()?;
    let grade = BalanceGrade::from_millimetres_per_second(value)?;
    let (permissible, specific) =
        (grade.permissible(mass, speed).value, grade.specific_unbalance(speed).value);
    number(case, checks, "U_per_g_mm", permissible.gram_millimetres())?;
    number(case, checks, "U_per_oz_in", permissible.value_in(UnbalanceUnit::OunceInch))?;
    number(case, checks, "U_per_kg_m", permissible.value_in(UnbalanceUnit::KilogramMetre))?;
    number(case, checks, "e_per_um", specific.value_in(LengthUnit::Micrometre))?;
    number(case, checks, "e_per_mil", specific.value_in(LengthUnit::Mil))?;
    number(case, checks, "force_at_U_per_N", permissible.centrifugal_force(speed).newtons())?;
    let again = BalanceGrade::of_residual(permissible, mass, speed)?;
    number(case, checks, "cm_velocity_mm_s", again.millimetres_per_second())
}

/// Group `grade_of_residual`.
pub(crate) fn grade_of_residual(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let (mass, speed) = rotor(case)?;
    let residual = Unbalance::from_gram_millimetres(case.inputs.get("U_g_mm")?.number()?)?;
    let grade = BalanceGrade::of_residual(residual, mass, speed)?;
    let eccentricity = grade.specific_unbalance(speed).value;
    number(case, checks, "cm_displacement_um", eccentricity.value_in(LengthUnit::Micrometre))?;
    number(case, checks, "cm_displacement_mil", eccentricity.value_in(LengthUnit::Mil))?;
    // A free rotor turns about its centre of mass: the axis goes round it.
    number(
        case,
        checks,
        "free_rotor_displacement_pkpk_um",
        2.0 * eccentricity.value_in(LengthUnit::Micrometre),
    )?;
    number(case, checks, "cm_velocity_mm_s", grade.millimetres_per_second())?;
    number(case, checks, "cm_velocity_in_s", grade.millimetres_per_second() / 25.4)?;
    number(case, checks, "grade", grade.millimetres_per_second())
}

/// Group `allocation`.
pub(crate) fn allocation(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let at = |name: &str| -> Result<Length, Problem> {
        Ok(Length::from_metres(case.inputs.get(name)?.number()?)?)
    };
    let planes = TolerancePlanes::new(at("plane_A_z_m")?, at("plane_B_z_m")?, at("cg_z_m")?)?;
    let limits = match case.inputs.given("clamp_share") {
        Some(limits) => match limits.numbers()?.as_slice() {
            [least, most] => ShareLimits::new(*least, *most)?,
            _ => return Err("clamp_share is not of two".into()),
        },
        None => ShareLimits::NONE,
    };
    let permissible = Unbalance::from_gram_millimetres(case.inputs.get("U_per_g_mm")?.number()?)?;
    let parts = planes.allocate(permissible, limits);
    let [a, b] = parts.amounts.map(Unbalance::gram_millimetres);
    number(case, checks, "U_A_g_mm", a)?;
    number(case, checks, "U_B_g_mm", b)?;
    let [a, b] = parts.shares;
    number(case, checks, "signed_static_share_A", a)?;
    number(case, checks, "signed_static_share_B", b)?;
    checks.flag(&case.expected.get("cg_between_planes")?, planes.is_inboard())?;
    let clamped = case.expected.get("clamped")?;
    checks.count(&clamped, clamped.items()?.len(), 2);
    for (want, got) in clamped.items()?.iter().zip(parts.limited) {
        checks.flag(want, got)?;
    }
    Ok(())
}

/// Group `four_W_over_N`.
pub(crate) fn four_w_over_n(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let unit = match case.inputs.get("weight_unit")?.text()? {
        "lb" => MassUnit::Pound,
        "kg" => MassUnit::Kilogram,
        other => return Err(format!("a weight in {other}").into()),
    };
    let weight = Mass::new(case.inputs.get("weight")?.number()?, unit)?;
    let speed = Speed::from_rpm(case.inputs.get("rpm")?.number()?)?;
    let shares = match case.inputs.given("journal_shares_signed") {
        Some(shares) => shares.numbers()?,
        None => vec![1.0],
    };
    let mut limits = Vec::new();
    for share in shares {
        limits.push(journal_rule(weight * share.abs(), speed)?.value);
    }
    for (name, unit) in
        [("U_oz_in_per_plane", UnbalanceUnit::OunceInch), ("U_g_mm_per_plane", UnbalanceUnit::GramMillimetre)]
    {
        let want = case.expected.get(name)?;
        checks.count(&want, want.items()?.len(), limits.len());
        for (item, limit) in want.items()?.iter().zip(&limits) {
            let tolerance = within(case, item)?;
            checks.number(item, limit.value_in(unit), tolerance)?;
        }
    }
    // The grade of what the whole rotor would keep by the rule.
    let whole = journal_rule(weight, speed)?.value;
    let grade = BalanceGrade::of_residual(whole, weight, speed)?;
    number(case, checks, "equivalent_grade_mm_s", grade.millimetres_per_second())
}

/// Group `planes_to_bearings`.
pub(crate) fn planes_to_bearings(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let sense = case.rotor_sense()?;
    let at = |name: &str| -> Result<Length, Problem> {
        Ok(Length::from_metres(case.inputs.get(name)?.number()?)?)
    };
    let residual = |name: &str| -> Result<UnbalanceVector, Problem> {
        let Polar { amount, degrees } = case.inputs.get(name)?.polar("g_mm", "deg")?;
        let amount = Unbalance::from_gram_millimetres(amount)?;
        Ok(UnbalanceVector::from_polar(amount, sense.degrees(degrees)?))
    };
    let given = [
        PlaneUnbalance::new(at("plane_1_z_m")?, residual("residual_1")?),
        PlaneUnbalance::new(at("plane_2_z_m")?, residual("residual_2")?),
    ];
    let (a, b) = (at("bearing_A_z_m")?, at("bearing_B_z_m")?);
    let shown = |vector: UnbalanceVector| Polar {
        amount: vector.amount().gram_millimetres(),
        degrees: vector.angle().in_sense(sense).degrees(),
    };
    let size = given.iter().map(|plane| plane.unbalance.amount().gram_millimetres()).fold(0.0, f64::max);
    let tolerance = case.tolerance_of("rel")? * size;
    let moved = in_two_planes(given, a, b)?;
    for (name, plane) in ["bearing_A", "bearing_B"].iter().zip(moved) {
        checks.polar(&case.expected.get(name)?, ("g_mm", "deg"), shown(plane.unbalance), tolerance)?;
    }
    let middle = a + (b - a) * 0.5;
    let couple = StaticCouple::of(given, middle)?;
    checks.polar(&case.expected.get("static_sum")?, ("g_mm", "deg"), shown(couple.resultant()), tolerance)?;
    let moment = Polar {
        amount: couple.moment().gram_square_millimetres() / 1000.0,
        degrees: couple.moment().angle().in_sense(sense).degrees(),
    };
    let reach = [a, b, at("plane_1_z_m")?, at("plane_2_z_m")?].map(|z| (z - middle).millimetres().abs());
    let tolerance = tolerance * reach.into_iter().fold(0.0, f64::max) / 1000.0;
    checks.polar(&case.expected.get("couple_about_midpoint_g_mm_m")?, ("g_mm_m", "deg"), moment, tolerance)
}

/// Group `pass_fail`.
pub(crate) fn pass_fail(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let input = |name: &str| case.inputs.get(name)?.number();
    let (residual, limit) = (input("residual")?, input("limit")?);
    let u = input("standard_uncertainty_per_component")?;
    let band = GuardBand::new(limit, input("coverage_factor")? * u)?;
    number(case, checks, "acceptance_limit", band.accepted_up_to())?;
    number(case, checks, "rejection_limit", band.rejected_above())?;
    let verdict = match band.verdict(residual) {
        Conformity::Within => "pass",
        Conformity::Outside => "fail",
        _ => "undecided",
    };
    let want = case.expected.get("verdict")?;
    let wanted = want.text()?;
    checks.demand(&want, verdict == wanted, &verdict, &wanted);
    let tolerance = case.tolerance_of("probability_abs")?;
    let vector = chance_of_vector_within(residual, u, limit)?;
    checks.number(&case.expected.get("probability_within_limit_vector")?, vector, tolerance)?;
    let value = chance_of_value_within(residual, u, limit)?;
    checks.number(&case.expected.get("probability_within_limit_scalar_normal")?, value, tolerance)
}
