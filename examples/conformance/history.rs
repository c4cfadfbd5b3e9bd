//! File `history`: influence coefficients, residuals and covariances from all runs ever made.

use counterpoise::{
    ChannelFit, CorrectionQuestion, Covariance, EstimateError, Estimator, InfluenceFit, UnbalanceVector,
};
use num_complex::Complex64;

use crate::case::{Case, channels, check_unbalances, largest, run};
use crate::checks::Checks;
use crate::node::{Node, Problem};

/// What vanishes in a noise-free case does so to rounding: compared with this part of the largest reading, as the note of
/// the tolerance says.
const NOISE_FREE: f64 = 1e-12;

/// The tolerances of a case.
struct Tolerances {
    relative: f64,
    covariance: f64,
    /// Of residuals that vanish; 0 in a noisy case, where none does.
    residual: f64,
}

fn estimator(case: &Case<'_>) -> Result<Estimator, Problem> {
    let channels = channels(case)?;
    let planes = case.inputs.get("planes")?.items()?.len();
    let mut estimator = Estimator::with_relative_weights(&channels, planes)?;
    let (runs, weights) = (case.inputs.get("runs")?.items()?, case.inputs.get("run_weights")?.numbers()?);
    if runs.len() != weights.len() {
        return Err(format!("{} run weights for {} runs", weights.len(), runs.len()).into());
    }
    for (node, weight) in runs.iter().zip(weights) {
        estimator.add(run(node, &channels, case.convention()?, weight)?)?;
    }
    Ok(estimator)
}

/// Group `undetermined`, and any other case that says `solvable: false`: an error that says why.
fn check_undetermined(
    case: &Case<'_>,
    checks: &mut Checks,
    estimator: &Estimator,
    fit: Result<InfluenceFit, EstimateError>,
) -> Result<(), Problem> {
    let why = match fit {
        Err(EstimateError::Undetermined(why)) => Some(why),
        Err(error) => return Err(error.into()),
        Ok(_) => None,
    };
    checks.flag(&case.expected.get("solvable")?, why.is_none())?;
    let Some(why) = why else { return Ok(()) };
    checks.demand_also("the groups that are not told apart", !why.groups.is_empty(), &"none", &"one or more");
    checks.index(&case.expected.get("rank")?, why.rank)?;
    if let Some(unknowns) = case.expected.find("unknowns") {
        checks.index(&unknowns, why.unknowns)?;
    }
    if let Some(want) = case.expected.find("singular_values") {
        let design = estimator.design(why.channel)?;
        let mut values = design.singular_values;
        // Fewer runs than unknowns have as many singular values as runs; the others are zero.
        values.resize(want.items()?.len(), 0.0);
        let largest = values.first().copied().unwrap_or(0.0);
        checks.numbers(&want, &values, NOISE_FREE * largest)?;
    }
    Ok(())
}

/// All groups.
pub(crate) fn history(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let expected = &case.expected;
    let estimator = estimator(case)?;
    let fit = estimator.fit();
    if !expected.get("solvable")?.flag()? {
        return check_undetermined(case, checks, &estimator, fit);
    }
    let fit = fit?;
    checks.flag(&expected.get("solvable")?, true)?;
    for channel in 0..estimator.channels().len() {
        let design = estimator.design(channel)?;
        checks.index(&expected.get("rank")?, design.rank)?;
        if let Some(unknowns) = expected.find("unknowns") {
            checks.index(&unknowns, design.unknowns)?;
        }
    }

    let readings = || estimator.runs().iter().flat_map(counterpoise::Run::readings);
    let largest_reading = largest(readings().map(|reading| reading.vibration().complex()));
    let noise = case.inputs.get("noise_sigma_single_reading_per_component")?.number()?;
    // As many runs as unknowns leave nothing either.
    let exact = estimator.runs().len() <= estimator.planes() + 1;
    let tolerances = Tolerances {
        relative: case.tolerance_of("rel")?,
        covariance: case.tolerance_of("cov_rel")?,
        residual: if noise == 0.0 || exact { NOISE_FREE * largest_reading } else { 0.0 },
    };
    let channels = expected.get("channels")?.items()?;
    checks.count(&expected.get("channels")?, channels.len(), fit.channels().len());
    let inverse = expected.get("unscaled_inverse_normal_matrix")?;
    let scales = Scales::of(&channels)?;
    for (at, (want, got)) in channels.iter().zip(fit.channels()).enumerate() {
        checks.index(&want.get("row")?, at)?;
        check_channel(checks, want, got, &scales, &tolerances)?;
        check_covariance(checks, want, got, &inverse, &tolerances)?;
        check_matrix(checks, &inverse, tolerances.covariance, None, |a, b| {
            inverse_normal(got.cofactor(), a, b)
        })?;
    }
    check_corrections(case, checks, &fit, tolerances.relative)?;
    check_outlier(case, checks, &fit, tolerances.relative)
}

/// The largest vectors of each kind, over all channels: what the relative tolerance refers to.
struct Scales {
    as_found: f64,
    influence: f64,
    residual: f64,
}

impl Scales {
    fn of(channels: &[Node<'_>]) -> Result<Self, Problem> {
        let mut scales = Self { as_found: 0.0, influence: 0.0, residual: 0.0 };
        let all =
            |list: Node<'_>| list.items()?.iter().map(Node::complex).collect::<Result<Vec<_>, Problem>>();
        for channel in channels {
            scales.as_found = scales.as_found.max(channel.get("v0")?.complex()?.norm());
            scales.influence = scales.influence.max(largest(all(channel.get("influence")?)?));
            scales.residual = scales.residual.max(largest(all(channel.get("residuals")?)?));
        }
        Ok(scales)
    }
}

/// Unknowns, residuals, leverages and residual variance of one channel.
fn check_channel(
    checks: &mut Checks,
    want: &Node<'_>,
    got: &ChannelFit,
    scales: &Scales,
    tolerances: &Tolerances,
) -> Result<(), Problem> {
    let &Tolerances { relative, residual, .. } = tolerances;
    checks.complex(&want.get("v0")?, got.as_found().complex(), relative * scales.as_found)?;
    let influence: Vec<Complex64> = got.influence().iter().map(|h| h.complex()).collect();
    checks.complexes(&want.get("influence")?, &influence, relative * scales.influence)?;

    let residuals = want.get("residuals")?;
    let runs = residuals.items()?.len();
    let left: Vec<Complex64> = (0..runs).map_while(|run| Some(got.residual(run)?.complex())).collect();
    checks.complexes(&residuals, &left, relative * scales.residual + residual)?;
    let leverages: Vec<f64> = (0..runs).map_while(|run| got.leverage(run)).collect();
    checks.numbers(&want.get("leverages")?, &leverages, relative)?;

    checks.index(&want.get("dof_complex")?, got.excess_readings())?;
    let squares = want.get("weighted_rss")?;
    let tolerance = relative * squares.number()? + residual * residual;
    checks.number(&squares, got.weighted_sum_of_squares(), tolerance)?;
    // The file counts the variance of a complex number: that of both components.
    let variance = want.get("s2_complex")?;
    let tolerance = if variance.is_null() { 0.0 } else { relative * variance.number()? };
    let got = got.residual_variance().map(|per_component| 2.0 * per_component);
    checks.optional(&variance, got, tolerance + residual * residual)
}

/// `E[dx_a conj(dx_b)]` from the real covariance of the components.
fn complex_covariance(covariance: &Covariance, a: usize, b: usize) -> Option<Complex64> {
    let [[re_re, re_im], [im_re, im_im]] = covariance.block(a, b)?;
    Some(Complex64::new(re_re + im_im, im_re - re_im))
}

/// The entry of `(AᴴGA)⁻¹`: half the complex covariance of a variance of 1 per component.
fn inverse_normal(cofactor: &Covariance, a: usize, b: usize) -> Option<Complex64> {
    complex_covariance(cofactor, a, b).map(|entry| entry * 0.5)
}

/// The diagonal of a matrix of `{"re", "im"}`.
fn diagonal(matrix: &Node<'_>) -> Result<Vec<f64>, Problem> {
    let entry = |(at, row): (usize, &Node<'_>)| {
        let row = row.items()?;
        Ok(row.get(at).ok_or("a matrix is not square")?.complex()?.re)
    };
    matrix.items()?.iter().enumerate().map(entry).collect()
}

/// Compares a covariance. The entries of different unknowns differ in unit and size, so each is compared in the scale of
/// its own two standard deviations.
fn check_matrix(
    checks: &mut Checks,
    want: &Node<'_>,
    relative: f64,
    floor: Option<(f64, &[f64])>,
    got: impl Fn(usize, usize) -> Option<Complex64>,
) -> Result<(), Problem> {
    let variances = diagonal(want)?;
    for (a, row) in want.items()?.iter().enumerate() {
        for (b, entry) in row.items()?.iter().enumerate() {
            let size = |diagonal: &[f64]| match (diagonal.get(a), diagonal.get(b)) {
                (Some(a), Some(b)) => (a * b).sqrt(),
                _ => 0.0,
            };
            let absolute = floor.map_or(0.0, |(floor, inverse)| floor * size(inverse));
            let got = got(a, b).ok_or_else(|| format!("there is no covariance for {}", entry.path()))?;
            checks.complex(entry, got, relative * size(&variances) + absolute)?;
        }
    }
    Ok(())
}

/// The covariance of the unknowns and the standard deviations of their components; `null` where no variance is known.
fn check_covariance(
    checks: &mut Checks,
    want: &Node<'_>,
    got: &ChannelFit,
    inverse: &Node<'_>,
    tolerances: &Tolerances,
) -> Result<(), Problem> {
    let &Tolerances { covariance: relative, residual, .. } = tolerances;
    let inverse = diagonal(inverse)?;
    let covariance = got.covariance();
    let (matrix, of_v0) = (want.get("cov_complex")?, want.get("sd_v0_per_component")?);
    let of_influence = want.get("sd_influence_per_component")?;
    let Some(covariance) = covariance else {
        for field in [matrix, of_v0, of_influence] {
            checks.demand(&field, field.is_null(), &"null", &"a covariance");
        }
        return Ok(());
    };
    let floor = Some((residual * residual, inverse.as_slice()));
    check_matrix(checks, &matrix, relative, floor, |a, b| complex_covariance(&covariance, a, b))?;

    let mut wanted = vec![of_v0];
    wanted.extend(of_influence.items()?);
    checks.count(&of_influence, wanted.len(), covariance.unknowns());
    for (unknown, (want, inverse)) in wanted.iter().zip(&inverse).enumerate() {
        let tolerance = relative * want.number()? + residual * inverse.sqrt();
        let [[re, _], [_, im]] = covariance.block(unknown, unknown).ok_or("the covariance is too small")?;
        checks.number(want, re.sqrt(), tolerance)?;
        checks.number(want, im.sqrt(), tolerance)?;
    }
    Ok(())
}

/// The correction from the bare rotor, and from what was mounted in the last run.
fn check_corrections(
    case: &Case<'_>,
    checks: &mut Checks,
    fit: &InfluenceFit,
    relative: f64,
) -> Result<(), Problem> {
    let last = case.inputs.get("runs")?.items()?.len().saturating_sub(1);
    let mounted = fit.mounted_in(last).ok_or("there is no run")?;
    let total = CorrectionQuestion::new(fit.influence(), &fit.as_found())?.solve()?;
    let now = fit.vibration_with(mounted)?;
    let added = CorrectionQuestion::new(fit.influence(), &now)?.mounted_now(mounted)?.solve()?;
    // One kind: all are weights. Where they vanish they do so as a difference of weights.
    let all = [total.added(), added.added(), mounted].concat();
    let tolerance = relative * largest(all.iter().map(|unbalance| unbalance.complex()));
    let mut check = |field: &str, got: &[UnbalanceVector]| {
        check_unbalances(checks, &case.expected.get(field)?, got, case.rotor_sense()?, tolerance)
    };
    check("total_correction_from_bare_rotor", total.added())?;
    check("total_correction_from_bare_rotor", added.total())?;
    check("correction_added_to_last_run", added.added())?;
    check("last_run_weights_combined", mounted)
}

/// The run that fits worst, where the case asks for it.
fn check_outlier(
    case: &Case<'_>,
    checks: &mut Checks,
    fit: &InfluenceFit,
    relative: f64,
) -> Result<(), Problem> {
    let runs = case.inputs.get("runs")?.items()?.len();
    let worst_of = |residual: fn(&ChannelFit, usize) -> Option<f64>| -> Vec<Option<f64>> {
        let worst = |run| fit.channels().iter().filter_map(|channel| residual(channel, run)).reduce(f64::max);
        (0..runs).map(worst).collect()
    };
    let standardised = worst_of(ChannelFit::standardised_residual);
    let studentised = worst_of(ChannelFit::studentised_residual);
    for (field, got) in [
        ("max_standardised_residual_by_run", &standardised),
        ("max_externally_studentised_by_run", &studentised),
    ] {
        let Some(want) = case.expected.find(field) else { continue };
        let items = want.items()?;
        checks.count(&want, items.len(), got.len());
        // They are numbers of about 1, and an outlier's studentised residual loses digits as it grows: it is compared in
        // its own size.
        for (item, got) in items.iter().zip(got) {
            let size = if item.is_null() { 1.0 } else { item.number()?.abs().max(1.0) };
            checks.optional(item, *got, relative * size)?;
        }
    }
    let Some(run) = case.expected.find("outlier_run") else { return Ok(()) };
    let first_largest = |best: Option<(usize, f64)>, (run, value): (usize, &Option<f64>)| match (best, value)
    {
        (Some((_, largest)), Some(value)) if *value <= largest => best,
        (_, Some(value)) => Some((run, *value)),
        (best, None) => best,
    };
    let found = studentised.iter().enumerate().fold(None, first_largest).map(|(run, _)| run);
    let is_largest = found == Some(run.index()?);
    // The outlier was put into that run; whether it also fits worst is what the next field says.
    let stated = case.expected.get("outlier_has_largest")?;
    checks.flag(&stated, is_largest)?;
    let met = is_largest == stated.flag()?;
    checks.demand(&run, met, &format_args!("run {found:?}"), &format_args!("run {}", run.index()?));
    Ok(())
}
