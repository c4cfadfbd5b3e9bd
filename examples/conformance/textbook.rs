//! Files `singleplane` and `multiplane`: influence coefficients from the run as found and the trial runs, the correction,
//! what it leaves, the trim.

use counterpoise::{
    Correction, CorrectionQuestion, Estimator, InfluenceFit, OnePlane, TwoPlaneRun, TwoPlanes,
    UnbalanceVector, Vibration,
};
use num_complex::Complex64;

use crate::case::{Case, channels, check_unbalances, largest, readings, run, unbalance, unbalances};
use crate::checks::Checks;
use crate::node::{Node, Problem};

/// The three tolerances of a case: `|got − want| ≤ rel scale + abs`.
struct Tolerances {
    relative: f64,
    vibration: f64,
    weight: f64,
    influence: f64,
}

impl Tolerances {
    fn of(case: &Case<'_>, influence: &Node<'_>) -> Result<Self, Problem> {
        let (relative, absolute) = (case.tolerance_of("rel")?, case.tolerance_of("abs")?);
        let scale = |key: &str| Ok::<_, Problem>(relative * case.tolerance.get(key)?.number()? + absolute);
        Ok(Self {
            relative,
            vibration: scale("scale_vibration")?,
            weight: scale("scale_weight_g")?,
            // No scale is given for coefficients: the largest of them, so that one that vanishes may do so to rounding.
            influence: relative * largest_coefficient(influence)? + absolute,
        })
    }
}

/// The largest of a matrix of `{"re", "im"}`.
pub(crate) fn largest_coefficient(matrix: &Node<'_>) -> Result<f64, Problem> {
    let mut all = Vec::new();
    for row in matrix.items()? {
        for entry in row.items()? {
            all.push(entry.complex()?);
        }
    }
    Ok(largest(all))
}

/// Compares coefficients, channel by channel and plane by plane.
pub(crate) fn check_influence(
    checks: &mut Checks,
    want: &Node<'_>,
    got: &dyn Fn(usize, usize) -> Option<Complex64>,
    tolerance: f64,
) -> Result<(), Problem> {
    for (channel, row) in want.items()?.iter().enumerate() {
        for (plane, entry) in row.items()?.iter().enumerate() {
            let got =
                got(channel, plane).ok_or_else(|| format!("there is no coefficient for {}", entry.path()))?;
            checks.complex(entry, got, tolerance)?;
        }
    }
    Ok(())
}

/// The estimator with the run as found and the trial runs, in the order of the file.
pub(crate) fn trials(case: &Case<'_>) -> Result<Estimator, Problem> {
    let channels = channels(case)?;
    let planes = case.inputs.get("planes")?.items()?.len();
    let mut estimator = Estimator::with_relative_weights(&channels, planes)?;
    for node in case.inputs.get("runs")?.items()? {
        let label = node.get("label")?.text()?;
        if label == "as_found" || label.starts_with("trial") {
            estimator.add(run(&node, &channels, case.convention()?, 1.0)?)?;
        }
    }
    Ok(estimator)
}

/// The run of that label.
fn labelled<'a>(case: &Case<'a>, label: &str) -> Result<Node<'a>, Problem> {
    for run in case.inputs.get("runs")?.items()? {
        if run.get("label")?.text()? == label {
            return Ok(run);
        }
    }
    Err(format!("inputs.runs has no run {label}").into())
}

/// All groups but `singular`.
pub(crate) fn textbook(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let (expected, convention) = (&case.expected, case.convention()?);
    let estimator = trials(case)?;
    let fit = estimator.fit()?;
    let (influence, planes) = (fit.influence(), estimator.planes());
    let weights = match case.inputs.given("channel_weights") {
        Some(weights) => weights.numbers()?,
        None => Vec::new(),
    };
    let want_influence = expected.get("influence")?;
    let tolerances = Tolerances::of(case, &want_influence)?;
    checks.count(&want_influence, want_influence.items()?.len(), estimator.channels().len());
    let coefficient = |channel, plane| influence.get(channel, plane).map(counterpoise::Influence::complex);
    check_influence(checks, &want_influence, &coefficient, tolerances.influence)?;

    let condition = influence.condition_number(&weights)?;
    check_condition(checks, &expected.get("condition_number")?, condition, tolerances.relative)?;

    // From the bare rotor.
    let total = CorrectionQuestion::new(influence, &fit.as_found())?.channel_weights(&weights).solve()?;
    let want_total = expected.get("corrections_total_all_trials_removed")?;
    check_unbalances(checks, &want_total, total.added(), convention.rotor, tolerances.weight)?;
    check_left_by(checks, &expected.get("predicted_residual_exact_weights")?, &total, tolerances.vibration)?;

    // From the state of the last trial run.
    let last = estimator.runs().len().saturating_sub(1);
    let mounted = fit.mounted_in(last).ok_or("there is no run")?;
    check_unbalances(
        checks,
        &expected.get("last_trial_state")?,
        mounted,
        convention.rotor,
        tolerances.weight,
    )?;
    let last_readings = estimator.runs().last().ok_or("there is no run")?.readings();
    let added = CorrectionQuestion::from_readings(influence, last_readings)?
        .mounted_now(mounted)?
        .channel_weights(&weights)
        .solve()?;
    let want_added = expected.get("corrections_added_to_last_trial_state")?;
    check_unbalances(checks, &want_added, added.added(), convention.rotor, tolerances.weight)?;
    checks.by("total from the last trial state");
    check_unbalances(checks, &want_total, added.total(), convention.rotor, tolerances.weight)?;
    checks.by("");

    // With the installed weights, which are rounded ones.
    let installed = unbalances(&case.inputs.get("installed_correction")?, planes, convention)?;
    check_installed(case, checks, &fit, &installed, &weights, tolerances.vibration)?;

    // The trim, from the reading with the installed weights and the same coefficients.
    let corrected = readings(&labelled(case, "corrected")?.get("readings")?, estimator.channels())?;
    let trim = CorrectionQuestion::from_readings(influence, &corrected)?
        .mounted_now(&installed)?
        .channel_weights(&weights)
        .solve()?;
    let want_trim = expected.get("trim_added_to_corrected_state")?;
    check_unbalances(checks, &want_trim, trim.added(), convention.rotor, tolerances.weight)?;
    // What is really on after the trim: the weights of the run with the rounded trim, not the computed ones.
    let trimmed = run(&labelled(case, "trimmed")?, estimator.channels(), convention, 1.0)?;
    let combined: Vec<UnbalanceVector> = (0..planes).map(|plane| trimmed.unbalance_in(plane)).collect();
    let want_combined = expected.get("combined_after_trim")?;
    check_unbalances(checks, &want_combined, &combined, convention.rotor, tolerances.weight)?;

    closed_forms(case, checks, &estimator, weights.is_empty(), &tolerances)
}

/// A condition number, `null` where it is infinite.
fn check_condition(checks: &mut Checks, want: &Node<'_>, got: f64, relative: f64) -> Result<(), Problem> {
    let tolerance = if want.is_null() { 0.0 } else { relative * want.number()? };
    checks.optional(want, got.is_finite().then_some(got), tolerance)
}

/// What a computed correction leaves.
fn check_left_by(
    checks: &mut Checks,
    want: &Node<'_>,
    correction: &Correction,
    tolerance: f64,
) -> Result<(), Problem> {
    let left: Vec<Complex64> = correction.predicted().iter().map(|vibration| vibration.complex()).collect();
    checks.complexes(&want.get("canonical")?, &left, tolerance)?;
    checks.number(&want.get("weighted_rms")?, correction.weighted_rms(), tolerance)?;
    checks.number(&want.get("max")?, correction.largest_amplitude(), tolerance)
}

/// What the installed weights leave, by the fitted model.
fn check_installed(
    case: &Case<'_>,
    checks: &mut Checks,
    fit: &InfluenceFit,
    installed: &[UnbalanceVector],
    weights: &[f64],
    tolerance: f64,
) -> Result<(), Problem> {
    let want = case.expected.get("predicted_residual_installed")?;
    let left = fit.vibration_with(installed)?;
    let complex: Vec<Complex64> = left.iter().map(|vibration| vibration.complex()).collect();
    checks.complexes(&want.get("canonical")?, &complex, tolerance)?;
    let display = want.get("display")?;
    let shown = display.items()?;
    checks.count(&display, shown.len(), left.len());
    for ((want, channel), vibration) in shown.iter().zip(fit.influence().channels()).zip(&left) {
        let polar = channel.polar(*vibration);
        let (amount, phase) = (polar.amplitude, polar.phase);
        let got = crate::node::Polar { amount, degrees: phase.degrees() };
        checks.polar(want, ("amp", "deg"), got, tolerance)?;
    }
    checks.number(&want.get("weighted_rms")?, weighted_rms(&complex, weights), tolerance)?;
    checks.number(&want.get("max")?, largest(complex), tolerance)
}

/// `√(Σ g |r|² / Σ g)`; every weight is 1 where none is given.
fn weighted_rms(vibrations: &[Complex64], weights: &[f64]) -> f64 {
    let all = weights.iter().copied().chain(core::iter::repeat(1.0).skip(weights.len()));
    let (mut squares, mut sum) = (0.0, 0.0);
    for (vibration, weight) in vibrations.iter().zip(all) {
        squares += weight * vibration.norm_sqr();
        sum += weight;
    }
    (squares / sum).sqrt()
}

/// The closed forms for one and two planes, where the case has that shape: the same answers.
fn closed_forms(
    case: &Case<'_>,
    checks: &mut Checks,
    estimator: &Estimator,
    unweighted: bool,
    tolerances: &Tolerances,
) -> Result<(), Problem> {
    let (expected, rotor) = (&case.expected, case.rotor_sense()?);
    let (want_influence, want_total) =
        (expected.get("influence")?, expected.get("corrections_total_all_trials_removed")?);
    if let Some(one) = one_plane(estimator) {
        checks.by("the one-plane closed form");
        let (as_found, plane) = one?;
        let coefficient = |_, _| Some(plane.influence().complex());
        check_influence(checks, &want_influence, &coefficient, tolerances.influence)?;
        check_unbalances(checks, &want_total, &[plane.correction(as_found)?], rotor, tolerances.weight)?;
        let installed = case.inputs.get("installed_correction")?.items()?;
        if let [weight] = installed.as_slice() {
            let left = plane.predicted(as_found, unbalance(weight, case.convention()?)?);
            let want = expected.get("predicted_residual_installed")?.get("canonical")?;
            checks.complexes(&want, &[left.complex()], tolerances.vibration)?;
        }
    }
    if let Some(two) = two_planes(estimator) {
        checks.by("the two-plane closed form");
        let (as_found, planes) = two?;
        let coefficient = |channel: usize, plane: usize| {
            planes.influence().get(channel).and_then(|row| row.get(plane)).map(|h| h.complex())
        };
        check_influence(checks, &want_influence, &coefficient, tolerances.influence)?;
        check_unbalances(checks, &want_total, &planes.correction(as_found)?, rotor, tolerances.weight)?;
        let installed = unbalances(&case.inputs.get("installed_correction")?, 2, case.convention()?)?;
        if let Ok(installed) = <[UnbalanceVector; 2]>::try_from(installed) {
            let left = planes.predicted(as_found, installed).map(Vibration::complex);
            let want = expected.get("predicted_residual_installed")?.get("canonical")?;
            checks.complexes(&want, &left, tolerances.vibration)?;
        }
        if unweighted {
            let want = expected.get("condition_number")?;
            check_condition(checks, &want, planes.condition_number(), tolerances.relative)?;
        }
    }
    checks.by("");
    Ok(())
}

/// The vibration as found and the closed form of two runs, where there is one plane and one channel.
pub(crate) fn one_plane(estimator: &Estimator) -> Option<Result<(Vibration, OnePlane), Problem>> {
    let ([before, after], 1) = (estimator.runs(), estimator.planes()) else { return None };
    let ([as_found], [with_trial]) = (before.readings(), after.readings()) else { return None };
    let change = after.unbalance_in(0) - before.unbalance_in(0);
    let (as_found, with_trial) = (as_found.vibration(), with_trial.vibration());
    let plane = OnePlane::from_trial(as_found, with_trial, change);
    Some(plane.map(|plane| (as_found, plane)).map_err(Problem::from))
}

/// The vibrations as found and the closed form of three runs, where there are two planes and two channels.
pub(crate) fn two_planes(estimator: &Estimator) -> Option<Result<([Vibration; 2], TwoPlanes), Problem>> {
    let ([first, second, third], 2) = (estimator.runs(), estimator.planes()) else { return None };
    let two = |run: &counterpoise::Run| match run.readings() {
        [one, other] => Some(TwoPlaneRun {
            mounted: [run.unbalance_in(0), run.unbalance_in(1)],
            vibration: [one.vibration(), other.vibration()],
        }),
        _ => None,
    };
    let runs = [two(first)?, two(second)?, two(third)?];
    let [TwoPlaneRun { vibration: as_found, .. }, ..] = runs;
    Some(TwoPlanes::from_runs(&runs).map(|planes| (as_found, planes)).map_err(Problem::from))
}
