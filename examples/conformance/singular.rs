//! Group `singular` of file `multiplane`: planes without effect, planes that act in proportion, or nearly so.

use counterpoise::{Caution, Correction, CorrectionQuestion, InfluenceFit, UnbalanceVector};

use crate::case::{Case, check_unbalances, largest};
use crate::checks::Checks;
use crate::node::{Node, Problem};
use crate::textbook::{check_influence, largest_coefficient, one_plane, trials, two_planes};

/// Numbers of an ill-conditioned case are demanded to `100 cond 1e-15`, as the note of the tolerance says. From the
/// condition number on where this is 1, no digit is left, and a case counts as unsolvable.
const PER_CONDITION: f64 = 100.0 * 1e-15;

pub(crate) fn singular(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let expected = &case.expected;
    let estimator = trials(case)?;
    let fit = estimator.fit()?;
    let want_influence = expected.get("influence")?;

    // A coefficient that is nothing but rounding is compared with what a reading over a trial weight could make.
    let natural = largest_reading(case)? / smallest_trial(&fit)?;
    let size = match largest_coefficient(&want_influence)? {
        0.0 => natural,
        size => size,
    };
    let tolerance = case.tolerance.get("influence_rel")?.number()? * size;
    let coefficient =
        |channel, plane| fit.influence().get(channel, plane).map(counterpoise::Influence::complex);
    check_influence(checks, &want_influence, &coefficient, tolerance)?;
    // What the least singular value may be off by makes the tolerated change of the condition number.
    let singular_values = fit.influence().singular_values(&[])?;
    checks.numbers(&expected.get("singular_values")?, &singular_values, PER_CONDITION * size.max(natural))?;
    check_condition(case, checks, fit.influence().condition_number(&[])?)?;

    let answer = CorrectionQuestion::new(fit.influence(), &fit.as_found())?.solve();
    let solvable = expected.get("solvable")?;
    match answer {
        Ok(answer) => {
            let warned = is_warned(&answer);
            let met = solvable.flag()? || warned;
            checks.demand(
                &solvable,
                met,
                &"an answer without caution",
                &"an error, or an answer with a caution",
            );
            check_answer(case, checks, answer.added(), warned)?;
        }
        Err(error) => {
            checks.demand(&solvable, !solvable.flag()?, &error, &"a correction");
        }
    }
    closed_forms(case, checks, &estimator)
}

fn is_warned(answer: &Correction) -> bool {
    answer.cautions().iter().any(|caution| matches!(caution, Caution::IllConditionedPlanes { .. }))
}

/// The answer of an ill-conditioned case.
fn check_answer(
    case: &Case<'_>,
    checks: &mut Checks,
    added: &[UnbalanceVector],
    warned: bool,
) -> Result<(), Problem> {
    if let Some(must_warn) = case.expected.find("must_warn") {
        let met = warned || !must_warn.flag()?;
        checks.demand(&must_warn, met, &"no caution of ill-conditioned planes", &"one");
    }
    let Some(want) = case.expected.given("corrections_total_all_trials_removed") else { return Ok(()) };
    let mut sizes = Vec::new();
    for entry in want.items()? {
        sizes.push(entry.polar("mass_g", "deg")?.vector());
    }
    let tolerance = case.tolerance.get("weights_rel")?.number()? * largest(sizes);
    check_unbalances(checks, &want, added, case.rotor_sense()?, tolerance)
}

/// `null`, or so large that no digit means anything, where the case is unsolvable. Of a matrix that is zero to rounding it
/// means nothing at all.
fn check_condition(case: &Case<'_>, checks: &mut Checks, got: f64) -> Result<(), Problem> {
    let want = case.expected.get("condition_number")?;
    if want.is_null() && largest_coefficient(&case.expected.get("influence")?)? == 0.0 {
        checks.demand(&want, true, &"", &"");
        return Ok(());
    }
    let number = if want.is_null() { f64::INFINITY } else { want.number()? };
    if PER_CONDITION * number < 1.0 {
        checks.number(&want, got, PER_CONDITION * number * number)
    } else {
        let text = format!("{got:?}");
        checks.demand(&want, PER_CONDITION * got >= 1.0, &text, &"infinite to rounding");
        Ok(())
    }
}

/// The closed forms refuse what is unsolvable, or show it by their condition number; they agree on the rest.
fn closed_forms(
    case: &Case<'_>,
    checks: &mut Checks,
    estimator: &counterpoise::Estimator,
) -> Result<(), Problem> {
    let solvable = case.expected.get("solvable")?;
    if let Some(one) = one_plane(estimator) {
        checks.by("the one-plane closed form");
        let answer = one.and_then(|(as_found, plane)| Ok(plane.correction(as_found)?));
        check_closed(case, checks, &solvable, answer.map(|added| vec![added]))?;
    }
    if let Some(two) = two_planes(estimator) {
        checks.by("the two-plane closed form");
        let flagged = two.as_ref().is_ok_and(|(_, planes)| PER_CONDITION * planes.condition_number() >= 1.0);
        let answer = two.and_then(|(as_found, planes)| Ok(planes.correction(as_found)?.to_vec()));
        if !flagged || solvable.flag()? {
            check_closed(case, checks, &solvable, answer)?;
        }
    }
    checks.by("");
    Ok(())
}

fn check_closed(
    case: &Case<'_>,
    checks: &mut Checks,
    solvable: &Node<'_>,
    answer: Result<Vec<UnbalanceVector>, Problem>,
) -> Result<(), Problem> {
    match answer {
        Ok(added) => {
            checks.demand(solvable, solvable.flag()?, &"a correction", &"an error");
            // The closed forms carry no cautions: their condition number is for the caller to look at.
            check_answer(case, checks, &added, true)
        }
        Err(error) => {
            checks.demand(solvable, !solvable.flag()?, &error, &"a correction");
            Ok(())
        }
    }
}

fn largest_reading(case: &Case<'_>) -> Result<f64, Problem> {
    let mut all = Vec::new();
    for run in case.inputs.get("runs")?.items()? {
        for reading in run.get("readings")?.items()? {
            all.push(reading.polar("amp", "deg")?.vector());
        }
    }
    Ok(largest(all))
}

/// The smallest weight, in grams, that was mounted in any run.
fn smallest_trial(fit: &InfluenceFit) -> Result<f64, Problem> {
    let runs = (0..).map_while(|run| fit.mounted_in(run));
    let masses = runs.flatten().map(|u| u.amount().gram_millimetres()).filter(|mass| *mass > 0.0);
    masses.reduce(f64::min).ok_or_else(|| "no run mounts a weight".into())
}
