//! Answers that are valid and poor: each says what makes it so.
#![cfg(feature = "alloc")]
#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic, reason = "a test fails by panicking")]

use counterpoise::{
    Caution, Channel, CorrectionError, CorrectionQuestion, Detector, EstimateError, Estimator, Influence,
    InfluenceMatrix, Objective, PhaseSense, Prior, Run, Speed, SpeedWindow, Unbalance, UnbalanceVector,
    Vibration, VibrationScale, VibrationUnit,
};

fn channel(sensor: u16, scale: VibrationScale) -> Channel {
    let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0).unwrap(), 1.0).unwrap();
    Channel::new(sensor, VibrationUnit::new(scale, Detector::Peak), PhaseSense::Lead, window)
}

fn channels<const N: usize>() -> [Channel; N] {
    core::array::from_fn(|at| channel(u16::try_from(at).unwrap(), VibrationScale::MillimetrePerSecond))
}

fn h(re: f64) -> Influence {
    Influence::from_components_per_gram_millimetre(re, 0.0).unwrap()
}

fn v(re: f64) -> Vibration {
    Vibration::from_components(re, 0.0).unwrap()
}

fn u(x: f64) -> UnbalanceVector {
    UnbalanceVector::from_components_gram_millimetres(x, 0.0).unwrap()
}

fn amount(g_mm: f64) -> Unbalance {
    Unbalance::from_gram_millimetres(g_mm).unwrap()
}

fn codes(cautions: &[Caution]) -> Vec<i32> {
    cautions.iter().map(Caution::code).collect()
}

#[test]
fn a_plane_that_is_shut_takes_no_part() {
    // One measuring point cannot tell two planes apart; with one of them shut there is nothing to tell.
    let matrix = InfluenceMatrix::new(&channels::<1>(), 2, &[h(2e-3), h(1e-3)]).unwrap();
    let question = CorrectionQuestion::new(&matrix, &[v(4.0)]).unwrap();
    assert!(matches!(question.solve(), Err(CorrectionError::InseparablePlanes { rank: 1, of: 2, .. })));
    for objective in [Objective::LeastSquares, Objective::MinMax] {
        let question = question.clone().objective(objective).mounted_now(&[u(100.0), u(500.0)]).unwrap();
        // Nothing may be added there.
        let shut = question.clone().limit_added(1, amount(0.0)).solve().unwrap();
        assert!((shut.added()[0].x_gram_millimetres() + 2000.0).abs() < 1e-6);
        assert_eq!(shut.added()[1], UnbalanceVector::ZERO);
        assert_eq!(shut.total()[1], u(500.0));
        // Nothing may stay there: its 500 g mm come off, and half a mm/s with them.
        let bare = question.limit_total(1, amount(0.0)).solve().unwrap();
        assert_eq!((bare.added()[1], bare.total()[1]), (u(-500.0), UnbalanceVector::ZERO));
        assert!((bare.added()[0].x_gram_millimetres() + 1750.0).abs() < 1e-6);
        assert!(bare.largest_amplitude() < 1e-9);
        assert!(bare.cautions().is_empty(), "{:?}", bare.cautions());
    }
}

#[test]
fn what_a_plane_that_is_shut_would_gain_stands_in_the_certificate() {
    let matrix =
        InfluenceMatrix::new(&channels::<3>(), 2, &[h(2e-3), h(0.0), h(0.0), h(1e-3), h(1e-3), h(1e-3)])
            .unwrap();
    let now = [v(4.0), v(3.0), v(1.0)];
    let solve = |limit: f64| {
        let question = CorrectionQuestion::new(&matrix, &now).unwrap();
        question.limit_added(1, amount(limit)).solve().unwrap()
    };
    let shut = solve(0.0);
    let [at_limit] = shut.certificate().planes_at_limit() else { panic!("one plane is at its limit") };
    let gained = (shut.objective_value() - solve(1.0).objective_value()) / 1.0;
    assert_eq!(at_limit.plane, 1);
    let price = at_limit.gain_per_gram_millimetre;
    assert!((price - gained).abs() < 1e-3 * gained, "{price} {gained}");
}

#[test]
fn limits_hold_planes_that_cannot_be_told_apart() {
    // Two planes that act alike, together good for 3000 g mm of the 2000 that are wanted.
    let matrix = InfluenceMatrix::new(&channels::<2>(), 2, &[h(2e-3), h(2e-3), h(1e-3), h(1e-3)]).unwrap();
    let question = CorrectionQuestion::new(&matrix, &[v(4.0), v(2.0)]).unwrap();
    let one = question.clone().limit_added(0, amount(1500.0));
    // Held in one plane only, the other can make up for anything: there is still one effect for two planes.
    let held = one.clone().limit_added(1, amount(1500.0));
    for objective in [Objective::LeastSquares, Objective::MinMax] {
        let answer = held.clone().objective(objective).solve().unwrap();
        assert!(answer.largest_amplitude() < 1e-8, "{answer:?}");
        assert!(codes(answer.cautions()).contains(&1002));
        assert!(codes(answer.cautions()).contains(&1001));
        assert!(answer.added().iter().all(|add| add.amount().gram_millimetres() <= 1500.0 + 1e-6));
    }
    let unlimited = question.solve().unwrap_err();
    assert_eq!(
        unlimited.to_string(),
        "at these measuring points planes [0, 1] have no effect of their own (rank 1 of 2): correct in fewer planes, or \
         add a measuring point or a speed"
    );
}

#[test]
fn channels_in_different_units_want_weights() {
    let mixed = [channel(1, VibrationScale::MillimetrePerSecond), channel(2, VibrationScale::Mil)];
    let matrix = InfluenceMatrix::new(&mixed, 1, &[h(2e-3), h(1e-3)]).unwrap();
    let question = CorrectionQuestion::new(&matrix, &[v(4.0), v(3.0)]).unwrap();
    assert_eq!(codes(question.solve().unwrap().cautions()), [1007]);
    assert_eq!(codes(question.channel_weights(&[1.0, 20.0]).solve().unwrap().cautions()), [] as [i32; 0]);
}

/// A fit of one channel, from what was mounted in each run and what was read.
fn fit(planes: usize, runs: &[(&[f64], f64)]) -> counterpoise::InfluenceFit {
    let [channel] = channels::<1>();
    let mut estimator = Estimator::with_relative_weights(&[channel], planes).unwrap();
    for (mounted, read) in runs {
        let run = Run::new("run").reading(channel.reading_of(v(*read)));
        estimator.add((0..).zip(*mounted).fold(run, |run, (plane, x)| run.mounted(plane, u(*x)))).unwrap();
    }
    estimator.fit().unwrap()
}

#[test]
fn a_plane_without_response_is_named() {
    let silent = fit(2, &[(&[0.0, 0.0], 3.0), (&[500.0, 0.0], 4.0), (&[0.0, 500.0], 3.0)]);
    assert_eq!(silent.cautions(), [Caution::NoResponse { channel: 0, plane: 1 }]);
    assert_eq!(
        silent.cautions()[0].to_string(),
        "channel 0 showed no response to plane 1: check that the weight was on and the reading new, or use a larger weight"
    );
}

#[test]
fn runs_that_hardly_differ_are_named() {
    let close = fit(1, &[(&[1000.0], 3.0), (&[1000.0001], 4.0)]);
    let [Caution::IllConditionedRuns { channel: 0, condition_number }] = close.cautions() else {
        panic!("{:?}", close.cautions())
    };
    assert!((1e6..1e9).contains(condition_number), "{condition_number}");
    assert!(fit(1, &[(&[0.0], 3.0), (&[1000.0], 4.0)]).cautions().is_empty());
}

#[test]
fn rounding_is_no_scatter() {
    // Fractions without an end in binary, each state read three times: they agree but for the last digits of the fit.
    let mut exact = fit(1, &[(&[0.0], 1.0), (&[1.0], 2.0)]);
    for part in 1..=200_u32 {
        let (before, after, trial) = (f64::from(part) / 7.0, 1.0 / f64::from(part), f64::from(part) / 3.0);
        let (bare, on): (&[f64], &[f64]) = (&[0.0], &[trial]);
        exact =
            fit(1, &[(bare, before), (on, after), (bare, before), (on, after), (bare, before), (on, after)]);
        assert_eq!(exact.channels()[0].residual_variance(), Some(0.0), "{part}");
        assert_eq!(exact.channels()[0].residual(0), Some(Vibration::ZERO));
        assert_eq!(exact.channels()[0].standardised_residual(0), None);
    }
    // And no knowledge of how far the coefficients may differ.
    assert_eq!(Prior::from_fit(&exact), None);
}

#[test]
fn a_prior_too_loose_to_tell_planes_apart_names_them() {
    let [channel] = channels::<1>();
    let matrix = InfluenceMatrix::new(&[channel], 2, &[h(2e-3), h(1e-3)]).unwrap();
    let loose = Prior::with_relative_spread(matrix, 1e20).unwrap();
    let mut estimator = Estimator::with_known_variances(&[channel], 2).unwrap().with_prior(loose).unwrap();
    let read = |re| channel.reading_of(v(re)).with_standard_deviation(0.1).unwrap();
    estimator.add(Run::new("as found").reading(read(3.0))).unwrap();
    estimator.add(Run::new("both").mounted(0, u(500.0)).mounted(1, u(500.0)).reading(read(4.0))).unwrap();
    let Err(EstimateError::Undetermined(found)) = estimator.fit() else { panic!("it is determined") };
    assert_eq!((found.groups[0].as_found, &found.groups[0].planes[..]), (false, &[0, 1][..]));
}

#[test]
fn what_a_prior_is_given_is_checked_at_once() {
    let [channel] = channels::<1>();
    let matrix = InfluenceMatrix::new(&[channel], 1, &[h(2e-3)]).unwrap();
    for fraction in [1e-200, 1e200, 0.0, -0.1, f64::NAN] {
        assert_eq!(
            Prior::with_relative_spread(matrix.clone(), fraction).unwrap_err().code(),
            318,
            "{fraction}"
        );
    }
    let prior = Prior::with_relative_spread(matrix, 0.1).unwrap();
    assert_eq!(
        prior.clone().widened_by(-0.5).unwrap_err().to_string(),
        "fraction must not be negative, got -0.5 (a plain number): give its size, without a sign"
    );
    assert_eq!(prior.clone().widened_by(f64::NAN).unwrap_err().code(), 101);
    assert_eq!(prior.widened_by(1e200).unwrap_err().code(), 318);
}
