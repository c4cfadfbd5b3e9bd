//! File `nonphase`: a correction from amplitudes alone.

use counterpoise::RotorSense;

use crate::amplitudes::{Answer, ClosedForm, Fit, Trial, ask};
use crate::case::Case;
use crate::checks::Checks;
use crate::node::{Node, Polar, Problem};

/// What the note of the exact cases says of angles, in degrees.
const EXACT_DEGREES: f64 = 1e-8;
/// The same for the sets of two trials.
const AMBIGUOUS_DEGREES: f64 = 1e-6;

/// The answer to the readings of a case, and the mass of its trial weight in grams.
fn answer(case: &Case<'_>) -> Result<(Answer, f64), Problem> {
    // The answer is printed in the sense of the trial angles, whichever it is; some cases do not say.
    let rotor = if case.says_rotor_sense() { case.rotor_sense()? } else { RotorSense::WithRotation };
    let grams = case.inputs.get("trial_mass_g")?.number()?;
    let mut trials = Vec::new();
    for node in case.inputs.get("trials")?.items()? {
        let Polar { amount, degrees } = node.polar("amp", "deg")?;
        trials.push(Trial { grams, degrees, amplitude: amount });
    }
    Ok((ask(case.inputs.get("as_found_amp")?.number()?, &trials, rotor)?, grams))
}

/// Mass and angle of a correction, each with its own tolerance.
fn check_correction(
    checks: &mut Checks,
    want: &Node<'_>,
    got: Polar,
    relative: f64,
    degrees: f64,
) -> Result<(), Problem> {
    let mass = want.get("mass_g")?;
    checks.number(&mass, got.amount, relative * mass.number()?)?;
    checks.angle(&want.get("deg")?, got.degrees, degrees)
}

fn check_relative(
    checks: &mut Checks,
    parent: &Node<'_>,
    field: &str,
    got: f64,
    relative: f64,
) -> Result<(), Problem> {
    let want = parent.get(field)?;
    checks.number(&want, got, relative * want.number()?.abs())
}

/// Group `three_trials_exact`: consistent readings, one solution.
pub(crate) fn exact(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let (expected, relative) = (&case.expected, case.tolerance_of("rel")?);
    let (answer, grams) = answer(case)?;
    let Answer::Found { fits, closed_form, .. } = answer else {
        return Err(format!("an answer is expected, got {answer:?}").into());
    };
    let want = expected.get("solutions")?;
    let solutions = want.items()?;
    checks.count(&want, solutions.len(), fits.len());
    for (want, fit) in solutions.iter().zip(&fits) {
        check_correction(checks, want, fit.correction, relative, EXACT_DEGREES)?;
        check_relative(checks, expected, "c", fit.effect_per_gram * grams, relative)?;
        check_relative(checks, expected, "influence_magnitude_per_g", fit.effect_per_gram, relative)?;
        checks.angle(&expected.get("delta_deg")?, fit.delta_degrees, EXACT_DEGREES)?;
    }
    // Consistent: both estimates of c in the closed form agree.
    let closed = closed_form.ok_or("there is no closed form")?;
    let consistent = closed.inconsistency_ratio.is_some_and(|ratio| (ratio - 1.0).abs() <= relative);
    checks.flag(&expected.get("consistent")?, consistent)
}

/// Group `two_trials_ambiguous`: all solutions, in any order.
pub(crate) fn ambiguous(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let (answer, _) = answer(case)?;
    let Answer::Found { mut fits, .. } = answer else {
        return Err(format!("a set of solutions is expected, got {answer:?}").into());
    };
    let want = case.expected.get("solutions")?;
    let solutions = want.items()?;
    checks.count(&want, solutions.len(), fits.len());
    for want in &solutions {
        let vector = want.polar("mass_g", "deg")?.vector();
        let apart = |fit: &Fit| (fit.correction.vector() - vector).norm();
        let nearest = (0..fits.len()).min_by(|a, b| match (fits.get(*a), fits.get(*b)) {
            (Some(a), Some(b)) => apart(a).total_cmp(&apart(b)),
            _ => core::cmp::Ordering::Equal,
        });
        // Each solution found stands for one that is expected.
        let fit = fits.swap_remove(nearest.ok_or_else(|| format!("{} was not found", want.path()))?);
        check_correction(checks, want, fit.correction, case.tolerance_of("rel")?, AMBIGUOUS_DEGREES)?;
    }
    Ok(())
}

/// Group `degenerate`: refused, or reported as ambiguous.
pub(crate) fn degenerate(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let (answer, _) = answer(case)?;
    let unique = matches!(answer, Answer::Found { unique: true, .. });
    checks.flag(&case.expected.get("unique")?, unique)?;
    // A reason in prose: an outcome that says what the readings lack stands for it.
    let stated = match &answer {
        Answer::Found { reason, .. } => reason.is_some(),
        Answer::Undetermined => true,
        Answer::Impossible { .. } => false,
    };
    checks.demand(&case.expected.get("reason")?, stated, &format_args!("{answer:?}"), &"what is lacking");
    Ok(())
}

/// Group `inconsistent_least_squares`: the least squares over all amplitudes, and the closed form beside it.
pub(crate) fn least_squares(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let (answer, grams) = answer(case)?;
    let Answer::Found { fits, unique, closed_form, next_minima, mirages, .. } = answer else {
        return Err(format!("an answer is expected, got {answer:?}").into());
    };
    let [fit] = fits.as_slice() else { return Err(format!("{} answers for one", fits.len()).into()) };
    checks.demand_also("least squares", unique, &"an ambiguous answer", &"one that is unique");
    let (relative, degrees) =
        (case.tolerance.get("mass_rel")?.number()?, case.tolerance.get("deg_abs")?.number()?);
    let of_squares = case.tolerance.get("sum_squares_rel")?.number()?;
    let want = case.expected.get("least_squares")?;
    check_correction(checks, &want.get("solution")?, fit.correction, relative, degrees)?;
    check_relative(checks, &want, "A0", fit.as_found, relative)?;
    check_relative(checks, &want, "c", fit.effect_per_gram * grams, relative)?;
    checks.angle(&want.get("delta_deg")?, fit.delta_degrees, degrees)?;
    check_relative(checks, &want, "sum_squares", fit.sum_squares, of_squares)?;
    check_relative(checks, &want, "rms_residual", fit.rms, of_squares)?;
    let residuals = want.get("residuals_measured_minus_model")?;
    let size = residuals.numbers()?.iter().fold(0.0, |size: f64, value| size.max(value.abs()));
    checks.numbers(&residuals, &fit.residuals, of_squares * size)?;

    // The file's next minimum comes from a descent without bounds, which may end at a negative A0 where no rotor is;
    // null says that no start led to one.
    let next = want.get("next_local_minimum_sum_squares")?;
    if next.is_null() {
        checks.demand(&next, next_minima.is_empty(), &format_args!("{next_minima:?}"), &"no other rotor");
    } else {
        let value = next.number()?;
        let all = || next_minima.iter().chain(&mirages).copied();
        let nearest = all().min_by(|a, b| (a - value).abs().total_cmp(&(b - value).abs()));
        checks.optional(&next, nearest, of_squares * value)?;
    }
    match (case.expected.given("closed_form"), closed_form) {
        (Some(want), Some(got)) => check_closed_form(checks, &want, &got, grams, (relative, degrees)),
        (Some(_), None) => Err("there is no closed form".into()),
        (None, _) => Ok(()),
    }
}

fn check_closed_form(
    checks: &mut Checks,
    want: &Node<'_>,
    got: &ClosedForm,
    grams: f64,
    (relative, degrees): (f64, f64),
) -> Result<(), Problem> {
    check_relative(checks, want, "a", got.a_per_gram_squared * grams * grams, relative)?;
    for (field, got) in [
        ("c_from_sqrt_a", got.effect_per_gram_from_a.map(|effect| effect * grams)),
        ("c_from_hypot_pq", Some(got.effect_per_gram_from_pq * grams)),
        ("inconsistency_ratio", got.inconsistency_ratio),
    ] {
        let want = want.get(field)?;
        let size = if want.is_null() { 0.0 } else { want.number()?.abs() };
        checks.optional(&want, got, relative * size)?;
    }
    checks.angle(&want.get("delta_deg")?, got.delta_degrees, degrees)
}

/// Group `impossible`: no linear rotor shows such readings.
pub(crate) fn impossible(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let (answer, grams) = answer(case)?;
    let Answer::Impossible { closed_form } = answer else {
        return Err(format!("a contradiction is expected, got {answer:?}").into());
    };
    let closed = closed_form.ok_or("there is no closed form")?;
    let got = closed.a_per_gram_squared * grams * grams;
    check_relative(checks, &case.expected, "a", got, case.tolerance_of("rel")?)?;
    let solution = case.expected.get("closed_form_solution")?;
    if let (Some(got), false) = (closed.correction, solution.is_null()) {
        check_correction(checks, &solution, got, case.tolerance_of("rel")?, EXACT_DEGREES)?;
    } else {
        let met = solution.is_null() && closed.correction.is_none();
        checks.demand(&solution, met, &format_args!("{:?}", closed.correction), &"null");
    }
    // A reason in prose: the outcome, which is no other here, is the reason.
    checks.demand(&case.expected.get("reason")?, true, &"", &"");
    Ok(())
}
