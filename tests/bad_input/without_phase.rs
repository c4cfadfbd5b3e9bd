//! Amplitudes alone.

use counterpoise::UnbalanceVector;
use counterpoise::without_phase::{Ambiguity, Outcome, Trial, solve};

use super::refused;
use crate::support::{polar, unbalance};

/// Trials of one amount in g mm, at angles in degrees, with the amplitudes they gave.
fn trials<const N: usize>(g_mm: f64, runs: [(f64, f64); N]) -> [Trial; N] {
    runs.map(|(degrees, amplitude)| Trial { unbalance: unbalance(polar(g_mm, degrees)), amplitude })
}

#[test]
fn numbers_that_cannot_be_right() {
    let three = trials(100.0, [(0.0, 3.0), (120.0, 2.0), (240.0, 2.5)]);
    refused(solve(&[], &three), 651, "there is no reading as found: read the bare rotor first");
    refused(
        solve(&[2.0], &[]),
        652,
        "there is no trial run: mount a weight at three places in turn, and read each time",
    );
    let as_found = |value: &str| {
        format!("reading 1 as found: an amplitude must be finite and not negative, got {value}")
    };
    refused(solve(&[2.0, -0.5], &three), 653, &as_found("-0.5"));
    refused(solve(&[2.0, f64::NAN], &three), 653, &as_found("NaN"));
    refused(solve(&[2.0, f64::INFINITY], &three), 653, &as_found("inf"));
    let with = |change: fn(&mut Trial)| {
        let mut changed = three;
        change(&mut changed[2]);
        solve(&[2.0], &changed)
    };
    let amplitude =
        |value: &str| format!("trial 2: an amplitude must be finite and not negative, got {value}");
    refused(with(|trial| trial.amplitude = -1.0), 655, &amplitude("-1.0"));
    refused(with(|trial| trial.amplitude = f64::NEG_INFINITY), 655, &amplitude("-inf"));
    let amount = |value: &str| {
        format!(
            "trial 2: an unbalance of {value} g mm is no trial: give the mass and radius that were mounted"
        )
    };
    refused(with(|trial| trial.unbalance = UnbalanceVector::ZERO), 654, &amount("0.0"));
    refused(with(|trial| trial.unbalance = trial.unbalance * f64::MAX * f64::MAX), 654, &amount("inf"));
}

/// Readings that are sound one by one, and what they say together.
#[test]
fn what_some_amplitudes_cannot_say() {
    // One place, read any number of times, leaves a continuum of answers.
    let once = trials(100.0, [(0.0, 3.0)]);
    assert_eq!(solve(&[2.0], &once), Ok(Outcome::Undetermined));
    // Two places leave two answers.
    let two = solve(&[2.0], &trials(100.0, [(0.0, 3.0), (120.0, 2.0)])).unwrap();
    let Outcome::Ambiguous { reason, solutions } = two else { panic!("{two:?}") };
    assert_eq!((reason, solutions.len()), (Ambiguity::TwoPlaces, 2));
    // Nothing as found, nothing to correct.
    let still = trials(100.0, [(0.0, 1.0), (120.0, 1.0), (240.0, 1.0)]);
    assert_eq!(solve(&[0.0], &still), Ok(Outcome::NothingToCorrect));
    // Trials that change nothing.
    let none = solve(&[2.0], &trials(100.0, [(0.0, 2.0), (120.0, 2.0), (240.0, 2.0)])).unwrap();
    assert!(matches!(none, Outcome::NoEffect { .. }), "{none:?}");
    // On all sides less than as found: no linear rotor does that.
    let less = solve(&[2.0], &trials(100.0, [(0.0, 1.0), (120.0, 1.0), (240.0, 1.0)])).unwrap();
    assert!(matches!(less, Outcome::Impossible { .. }), "{less:?}");
}
