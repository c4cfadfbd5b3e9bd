//! Any sixty-four bits, in every call that takes a number: no panic, and what is accepted is finite.
//!
//! Some numbers are any bits at all (NaN, infinite, too large or too small among them), some lie anywhere in the range that
//! is taken, and some are of a usual size, so that the calls further on are reached; the tests count how often they are.

use counterpoise::{
    Angle, Channel, CorrectionQuestion, Covariance, Detector, Estimator, Force, ForceUnit, Influence,
    InfluenceMatrix, Length, LengthUnit, Mass, MassUnit, Objective, OnePlane, Prior, Radius, Reading, Run,
    Speed, SpeedUnit, SpeedWindow, TwoPlaneRun, TwoPlanes, Unbalance, UnbalanceUnit, UnbalanceVector,
    Vibration, VibrationScale, VibrationUnit,
};
use proptest::collection::vec;
use proptest::prelude::*;

use super::draws::{Count, channel_of, convention, finite, number, over, pair, pick, scale};
use crate::support::complex;

#[test]
fn quantities() {
    let accepted = Count::default();
    over(20_000, (number(), any::<u8>()), |(value, at)| {
        macro_rules! every_unit {
            ($($Quantity:ident in $Unit:ident),+) => { $(
                if let Ok(quantity) = $Quantity::new(value, pick($Unit::ALL, at)) {
                    accepted.one();
                    for &unit in $Unit::ALL {
                        prop_assert!(quantity.value_in(unit).is_finite());
                    }
                }
            )+ };
        }
        every_unit!(
            Mass in MassUnit, Length in LengthUnit, Radius in LengthUnit, Speed in SpeedUnit,
            Unbalance in UnbalanceUnit, Force in ForceUnit
        );
        for angle in [Angle::from_degrees(value), Angle::from_radians(value)].into_iter().flatten() {
            accepted.one();
            prop_assert!((0.0..360.0).contains(&angle.degrees()));
            prop_assert!((0.0..360.0).contains(&(-angle).degrees()));
            prop_assert!((0.0..360.0).contains(&angle.opposite().degrees()));
            let (sine, cosine) = angle.sin_cos();
            prop_assert!(sine.abs() <= 1.0 && cosine.abs() <= 1.0);
        }
        Ok(())
    });
    accepted.at_least(60_000);
}

#[test]
fn products_of_quantities() {
    let accepted = Count::default();
    over(10_000, (number(), number(), number(), number(), any::<u8>()), |(a, b, c, d, bits)| {
        if let (Ok(mass), Ok(radius), Ok(place)) =
            (Mass::from_grams(a), Radius::from_millimetres(b.abs()), convention(bits).place(c))
        {
            let unbalance = mass * radius;
            prop_assert!(unbalance.gram_millimetres().is_finite());
            let vector = UnbalanceVector::from_polar(unbalance, place);
            prop_assert!(vector.is_finite());
            let back = vector.weight_at(radius);
            prop_assert!(back.mass.grams().is_finite() && back.unbalance().is_finite());
            if let Ok(speed) = Speed::from_rpm(d.abs()) {
                accepted.one();
                let force = unbalance.centrifugal_force(speed);
                prop_assert!(force.newtons().is_finite());
                prop_assert!(Unbalance::of_centrifugal_force(force, speed).gram_millimetres().is_finite());
            }
        }
        Ok(())
    });
    accepted.at_least(2_000);
}

#[test]
fn vectors_and_conversions() {
    let accepted = Count::default();
    let draws = (number(), number(), number(), any::<[u8; 5]>());
    over(10_000, draws, |(x, y, rpm, [convention_at, from, to, detectors, _])| {
        let convention = convention(convention_at);
        let made = [Vibration::from_components(x, y), convention.vibration(x.abs(), y)];
        for vibration in made.into_iter().flatten() {
            prop_assert!(vibration.is_finite() && vibration.amplitude().is_finite());
            prop_assert!((0.0..360.0).contains(&vibration.phase(convention.phase).degrees()));
            let polar = convention.polar_vibration(vibration);
            let (amplitude, _) = (polar.amplitude, polar.phase);
            prop_assert!(amplitude >= 0.0);
            if let Ok(speed) = Speed::from_rpm(rpm.abs()) {
                accepted.one();
                let from =
                    VibrationUnit::new(pick(VibrationScale::ALL, from), pick(Detector::ALL, detectors));
                let to =
                    VibrationUnit::new(pick(VibrationScale::ALL, to), pick(Detector::ALL, detectors / 3));
                prop_assert!(from.convert(vibration, to, speed).is_finite());
            }
        }
        if let Ok(vector) = UnbalanceVector::from_components_gram_millimetres(x, y) {
            let polar = convention.polar_unbalance(vector);
            let (amount, place) = (polar.amount, polar.place);
            prop_assert!(amount.gram_millimetres().is_finite() && (0.0..360.0).contains(&place.degrees()));
        }
        if let Ok(influence) = Influence::from_components_per_gram_millimetre(x, y) {
            prop_assert!(influence.per_gram_millimetre().is_finite());
            prop_assert!((0.0..360.0).contains(&influence.lead().degrees()));
        }
        Ok(())
    });
    accepted.at_least(5_000);
}

#[test]
fn windows_and_readings() {
    let (windows, readings) = (Count::default(), Count::default());
    over(20_000, (vec(number(), 8), any::<u8>()), |(n, bits)| {
        let speed = |at: usize| Speed::from_rpm(n[at].abs());
        if let (Ok(a), Ok(b), Ok(c)) = (speed(0), speed(1), speed(2)) {
            if let Ok(window) = SpeedWindow::between(a, b, c) {
                windows.one();
                prop_assert!(window.holds(window.nominal()));
            }
        }
        let Some(channel) = channel_of(1, [n[0].abs(), n[3].abs()], bits) else { return Ok(()) };
        let Ok(reading) = channel.reading(n[4].abs(), n[5]) else { return Ok(()) };
        let reading = reading.with_weight(n[6]).unwrap_or(reading);
        let reading = reading.with_standard_deviation(n[7]).unwrap_or(reading);
        if let Ok(reading) = speed(2).map(|speed| reading.at(speed).unwrap_or(reading)) {
            readings.one();
            prop_assert!(reading.speed_factor().is_finite() && reading.speed_factor() > 0.0);
            prop_assert!(reading.at_nominal_speed().is_finite());
            prop_assert!(reading.change_from(&reading).unwrap().is_finite());
        }
        Ok(())
    });
    windows.at_least(1_000);
    readings.at_least(1_000);
}

#[test]
fn one_plane() {
    let (solved, corrected) = (Count::default(), Count::default());
    over(20_000, vec(pair(), 4), |pairs| {
        let n = pairs.as_flattened();
        let (Ok(before), Ok(after), Ok(trial), Ok(now)) = (
            Vibration::from_components(n[0], n[1]),
            Vibration::from_components(n[2], n[3]),
            UnbalanceVector::from_components_gram_millimetres(n[4], n[5]),
            Vibration::from_components(n[6], n[7]),
        ) else {
            return Ok(());
        };
        if let Ok(plane) = OnePlane::from_trial(before, after, trial) {
            solved.one();
            prop_assert!(plane.influence().is_finite());
            if let Ok(add) = plane.correction(now) {
                corrected.one();
                prop_assert!(add.is_finite());
            }
        }
        // Vectors that have overflown before they come here.
        for vibration in [now * n[0], before + after * n[4]] {
            if let Ok(plane) = OnePlane::from_trial(vibration, after, trial * n[6]) {
                prop_assert!(plane.influence().is_finite());
                if let Ok(add) = plane.correction(vibration) {
                    prop_assert!(add.is_finite());
                }
            }
        }
        Ok(())
    });
    solved.at_least(2_000);
    corrected.at_least(2_000);
}

#[test]
fn two_planes() {
    let (solved, corrected) = (Count::default(), Count::default());
    // Odd pairs in a few places only: in all twelve, one of them is nearly always refused.
    let draws = (vec(-9..=9_i32, 24), vec((0..12_usize, pair()), 0..=4), [scale(), scale()], pair());
    over(10_000, draws, |(whole, others, [weights, readings], now)| {
        // Per run: four numbers of what is mounted, four of what is read.
        let scaled = |(at, n): (usize, i32)| f64::from(n) * if at % 8 < 4 { weights } else { readings };
        let mut n: Vec<f64> = whole.into_iter().enumerate().map(scaled).collect();
        for (at, [x, y]) in others {
            n[2 * at] = x;
            n[2 * at + 1] = y;
        }
        let run = |at: usize| -> Option<TwoPlaneRun> {
            let [a, b] = [n[at], n[at + 1]];
            let u = |x: f64, y: f64| UnbalanceVector::from_components_gram_millimetres(x, y).ok();
            let v = |x: f64, y: f64| Vibration::from_components(x, y).ok();
            Some(TwoPlaneRun {
                mounted: [u(a, b)?, u(n[at + 2], n[at + 3])?],
                vibration: [v(n[at + 4], n[at + 5])?, v(n[at + 6], n[at + 7])?],
            })
        };
        let (Some(first), Some(second), Some(third)) = (run(0), run(8), run(16)) else { return Ok(()) };
        if let Ok(planes) = TwoPlanes::from_runs(&[first, second, third]) {
            solved.one();
            prop_assert!(finite(&complex(planes.influence().as_flattened())));
            prop_assert!(planes.condition_number() >= 1.0);
            let other = Vibration::from_components(now[0], now[1]).unwrap_or_default();
            for now in [first.vibration, [other, first.vibration[0]]] {
                if let Ok(add) = planes.correction(now) {
                    corrected.one();
                    prop_assert!(finite(&complex(&add)));
                }
            }
        }
        Ok(())
    });
    solved.at_least(1_500);
    corrected.at_least(1_500);
}

/// A job of any numbers: what is mounted and read in some runs of two channels and two planes, with precisions.
#[derive(Debug, Clone)]
struct AnyJob {
    planes: usize,
    known: bool,
    /// Per run: two numbers for each plane, two for each channel, one for the precision.
    runs: Vec<Vec<f64>>,
    prior: Option<Vec<f64>>,
    now: Vec<f64>,
    weights: Vec<f64>,
    limits: Vec<f64>,
}

fn any_job() -> impl Strategy<Value = AnyJob> {
    let usual = || (-90..=90_i32).prop_map(|n| f64::from(n) / 8.0);
    // A run is of usual numbers, but for an odd pair or precision now and then.
    let odd_pair = prop::option::weighted(0.2, (0..4_usize, pair()));
    let odd_precision = prop::option::weighted(0.05, number());
    let run = (vec(usual(), 9), odd_pair, odd_precision).prop_map(|(mut run, pair, precision)| {
        run[8] = precision.unwrap_or(0.5 + run[8].abs());
        if let Some((at, [x, y])) = pair {
            run[2 * at] = x;
            run[2 * at + 1] = y;
        }
        run
    });
    let list = move |length: usize| {
        (vec(usual(), length), prop::option::weighted(0.3, (0..length, number()))).prop_map(
            |(mut list, odd)| {
                if let Some((at, value)) = odd {
                    list[at] = value;
                }
                list
            },
        )
    };
    let prior = prop::option::of(list(12));
    let now =
        prop_oneof![3 => list(4), 1 => (pair(), pair()).prop_map(|(a, b)| [a, b].as_flattened().to_vec())];
    (1..=2_usize, any::<bool>(), vec(run, 0..=6), prior, (now, list(2), list(2)), [scale(), scale()])
        .prop_map(|(planes, known, mut runs, prior, (now, weights, limits), [heavier, louder])| {
            for run in &mut runs {
                for (at, value) in run.iter_mut().enumerate().take(8) {
                    *value *= if at < 4 { heavier } else { louder };
                }
            }
            AnyJob { planes, known, runs, prior, now, weights, limits }
        })
}

fn prior_of(job: &AnyJob, channels: &[Channel], numbers: &[f64]) -> Option<Prior> {
    let coefficient = |pair: &[f64]| Influence::from_components_per_gram_millimetre(pair[0], pair[1]).ok();
    let mean: Vec<Influence> =
        numbers.chunks(2).take(2 * job.planes).map(coefficient).collect::<Option<_>>()?;
    let matrix = InfluenceMatrix::new(channels, job.planes, &mean).ok()?;
    let spread = numbers[8];
    let full = || {
        let size = 2 * job.planes;
        let entry = |i: usize, j: usize| if i == j { numbers[9].abs() } else { numbers[10] / 8.0 };
        let entries: Vec<f64> = (0..size * size).map(|at| entry(at / size, at % size)).collect();
        let covariance = Covariance::from_entries(job.planes, &entries).ok()?;
        Prior::with_covariances(matrix.clone(), vec![covariance; 2]).ok()
    };
    let of_deviations = || {
        let count = matrix.coefficients().len();
        Prior::with_standard_deviations(matrix.clone(), &numbers[8..8 + count]).ok()
    };
    let prior = if spread < 0.0 { full() } else { None }
        .or_else(|| Prior::with_relative_spread(matrix.clone(), spread).ok())
        .or_else(of_deviations)?;
    Some(if numbers[11] > 3.0 { prior.widened_by(numbers[11]).ok()? } else { prior })
}

#[test]
fn estimates_and_corrections() {
    let (fits, with_prior, answers) = (Count::default(), Count::default(), Count::default());
    over(6_000, any_job(), |job| {
        let channels = crate::support::channels(2);
        let mut estimator = if job.known {
            Estimator::with_known_variances(&channels, job.planes).unwrap()
        } else {
            Estimator::with_relative_weights(&channels, job.planes).unwrap()
        };
        let prior = job.prior.as_ref().and_then(|numbers| prior_of(&job, &channels, numbers));
        let mut has_prior = false;
        if let Some(prior) = prior {
            if let Ok(with) = estimator.clone().with_prior(prior) {
                estimator = with;
                has_prior = true;
            }
        }
        for n in &job.runs {
            let mut run = Run::new("any");
            for plane in 0..job.planes {
                if let Ok(u) =
                    UnbalanceVector::from_components_gram_millimetres(n[2 * plane], n[2 * plane + 1])
                {
                    run = run.mounted(plane, u);
                }
            }
            for (at, channel) in channels.iter().enumerate() {
                let Ok(v) = Vibration::from_components(n[4 + 2 * at], n[5 + 2 * at]) else { continue };
                let reading: Reading = channel.reading_of(v);
                let precise =
                    if job.known { reading.with_standard_deviation(n[8]) } else { reading.with_weight(n[8]) };
                run = run.reading(precise.unwrap_or(reading));
            }
            let _ = estimator.add(run);
        }
        for channel in 0..2 {
            if let Ok(design) = estimator.design(channel) {
                prop_assert!(design.singular_values.iter().all(|value| value.is_finite()));
                prop_assert!(design.condition_number >= 1.0);
            }
        }
        let Ok(fit) = estimator.fit() else { return Ok(()) };
        fits.one();
        if has_prior {
            with_prior.one();
        }
        prop_assert!(finite(&complex(&fit.as_found())) && finite(&complex(fit.influence().coefficients())));
        for channel in fit.channels() {
            prop_assert!(channel.weighted_sum_of_squares().is_finite());
            prop_assert!(channel.cofactor().entries().iter().all(|entry| entry.is_finite()));
            prop_assert!(channel.residual_variance().is_none_or(f64::is_finite));
            prop_assert!(channel.chi_squared().is_none_or(|chi| chi.value.is_finite()));
            if let Some(covariance) = channel.covariance() {
                prop_assert!(covariance.entries().iter().all(|entry| entry.is_finite()));
            }
            for run in 0..estimator.runs().len() {
                prop_assert!(channel.residual(run).is_none_or(Vibration::is_finite));
                prop_assert!(channel.leverage(run).is_none_or(|h| (-1e-9..=1.0 + 1e-9).contains(&h)));
                prop_assert!(channel.standardised_residual(run).is_none_or(f64::is_finite));
                prop_assert!(!channel.studentised_residual(run).is_some_and(f64::is_nan));
            }
        }
        let _ = Prior::from_fit(&fit);

        let Ok(condition) = fit.influence().condition_number(&job.weights) else { return Ok(()) };
        prop_assert!(condition >= 1.0);
        let now: Option<Vec<Vibration>> =
            job.now.chunks(2).map(|pair| Vibration::from_components(pair[0], pair[1]).ok()).collect();
        let Some(now) = now else { return Ok(()) };
        let plain = CorrectionQuestion::new(fit.influence(), &now).unwrap().channel_weights(&job.weights);
        // Without limits and with one on each plane, of what is added or of the total.
        let limit = |at: usize| Unbalance::from_gram_millimetres(job.limits[at]).unwrap_or(Unbalance::ZERO);
        let limited = plain.clone().limit_added(0, limit(0)).limit_total(job.planes - 1, limit(1));
        for question in [
            plain.clone(),
            plain.objective(Objective::MinMax),
            limited.clone(),
            limited.objective(Objective::MinMax),
        ] {
            let Ok(answer) = question.solve() else { continue };
            answers.one();
            prop_assert!(finite(&complex(answer.added())) && finite(&complex(answer.predicted())));
            let certificate = answer.certificate();
            prop_assert!(finite(certificate.dual()) && certificate.lower_bound().is_finite());
            prop_assert!(certificate.active_channels().iter().all(|active| active.share.is_finite()));
            let at_limit = certificate.planes_at_limit();
            prop_assert!(at_limit.iter().all(|plane| plane.gain_per_gram_millimetre.is_finite()));
            for value in [
                answer.objective_value(),
                answer.weighted_rms(),
                answer.largest_amplitude(),
                answer.largest_weighted_amplitude(),
            ] {
                prop_assert!(value.is_finite() && value >= 0.0);
            }
            prop_assert!(certificate.lower_bound() <= answer.objective_value());
        }
        Ok(())
    });
    fits.at_least(1_500);
    with_prior.at_least(150);
    answers.at_least(1_500);
}
