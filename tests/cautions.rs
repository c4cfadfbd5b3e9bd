//! Every caution on runs: raised with its figure by a job that has the fault, and by none that has not.
#![cfg(feature = "alloc")]
#![allow(clippy::indexing_slicing)]
#![allow(clippy::unwrap_used, clippy::disallowed_methods)]

use counterpoise::{
    Caution, Channel, DegreesOfFreedom, Detector, Estimator, PhaseSense, Run, Scatter, Speed, SpeedWindow,
    UnbalanceVector, Vibration, VibrationScale, VibrationUnit, checks,
};
use num_complex::Complex64;

fn channel_at(rpm: f64, percent: f64) -> Channel {
    let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    let window = SpeedWindow::around_percent(Speed::from_rpm(rpm).unwrap(), percent).unwrap();
    Channel::new(1, unit, PhaseSense::Lead, window)
}

fn on(x: f64, y: f64) -> UnbalanceVector {
    UnbalanceVector::from_components_gram_millimetres(x, y).unwrap()
}

/// A machine that adds 2 mm/s per 1000 g mm, a quarter turn ahead, to 3 mm/s; each run with what is on and what is read on
/// top of it.
fn job(runs: &[(UnbalanceVector, Complex64)], sigma: f64) -> Estimator {
    let channel = channel_at(1480.0, 1.0);
    let mut estimator = Estimator::with_known_variances(&[channel], 1).unwrap();
    for &(mounted, more) in runs {
        let z = Complex64::new(3.0, 0.0) + Complex64::new(0.0, 2e-3) * mounted.complex() + more;
        let reading = channel.reading_of(Vibration::from_components(z.re, z.im).unwrap());
        let reading = reading.with_standard_deviation(sigma).unwrap();
        estimator.add(Run::new("run").mounted(0, mounted).reading(reading)).unwrap();
    }
    estimator
}

/// The same with a standard deviation that was estimated from repeats.
fn estimated(runs: &[(UnbalanceVector, Complex64)], sigma: f64, degrees: DegreesOfFreedom) -> Estimator {
    let channel = channel_at(1480.0, 1.0);
    let scatter = Scatter::from_covariance([[sigma * sigma, 0.0], [0.0, sigma * sigma]], degrees).unwrap();
    let mut estimator = Estimator::with_known_variances(&[channel], 1).unwrap();
    for run in job(runs, sigma).runs() {
        let reading = channel.reading_of(run.readings()[0].vibration()).with_scatter(scatter);
        estimator.add(Run::new("run").mounted(0, run.unbalance_in(0)).reading(reading)).unwrap();
    }
    estimator
}

fn of(estimator: &Estimator) -> Vec<Caution> {
    checks::cautions(estimator, &estimator.fit().unwrap())
}

const NONE: Complex64 = Complex64::new(0.0, 0.0);

#[test]
fn a_sound_job_raises_none() {
    let runs = [
        (on(0.0, 0.0), NONE),
        (on(1000.0, 0.0), NONE),
        (on(500.0, 0.0), NONE),
        (on(0.0, 1000.0), NONE),
        (on(0.0, 0.0), NONE),
    ];
    assert_eq!(of(&job(&runs, 0.05)), []);
}

#[test]
fn a_trial_that_is_hardly_seen_is_weak() {
    let found = of(&job(&[(on(0.0, 0.0), NONE), (on(1000.0, 0.0), NONE)], 0.2));
    // |H U|²/(2σ²) = 4/0.08, by hand.
    let [Caution::WeakTrial { channel: 0, plane: 0, distance_squared }] = found[..] else {
        panic!("{found:?}")
    };
    assert!((distance_squared - 50.0).abs() < 1e-9);
}

#[test]
fn runs_that_do_not_fit_are_inconsistent() {
    let runs = [
        (on(0.0, 0.0), NONE),
        (on(1000.0, 0.0), NONE),
        (on(0.0, 1000.0), Complex64::new(1.0, 0.0)),
        (on(-700.0, 300.0), NONE),
    ];
    let found = of(&job(&runs, 0.05));
    let [Caution::InconsistentRuns { channel: 0, degrees_of_freedom: 4, chi_squared, chance }] = found[..]
    else {
        panic!("{found:?}")
    };
    assert!(chi_squared > 50.0 && chance < 1e-6);
}

#[test]
fn two_masses_in_one_place_that_do_not_act_in_proportion_are_told() {
    let runs = [(on(0.0, 0.0), NONE), (on(1000.0, 0.0), NONE), (on(2000.0, 0.0), Complex64::new(0.0, 1.0))];
    let found = of(&job(&runs, 0.05));
    // D = 2/1000 − 5/2000, its variance σ²(1/1000² + 1/2000² + (1/1000 − 1/2000)²): d² = 0.25/(0.0025 · 1.5), by hand.
    let told = found.iter().find_map(|caution| match caution {
        Caution::NonLinearResponse { channel: 0, plane: 0, runs: [1, 2], distance_squared } => {
            Some(*distance_squared)
        }
        _ => None,
    });
    assert!((told.unwrap() - 0.25 / (0.0025 * 1.5)).abs() < 1e-9, "{found:?}");
}

#[test]
fn the_same_weights_read_differently_drifted() {
    let runs = [(on(0.0, 0.0), NONE), (on(1000.0, 0.0), NONE), (on(0.0, 0.0), Complex64::new(0.3, 0.0))];
    let found = of(&job(&runs, 0.05));
    let told = found.iter().find_map(|caution| match caution {
        Caution::DriftBetweenRuns { channel: 0, runs: [0, 2], distance_squared } => Some(*distance_squared),
        _ => None,
    });
    // 0.3²/(2 · 0.05²), by hand.
    assert!((told.unwrap() - 18.0).abs() < 1e-9, "{found:?}");
}

#[test]
fn a_correction_far_beyond_the_trials_and_one_against_them_are_told() {
    // The correction is 1500 g mm, a quarter turn from the mark.
    let found = of(&job(&[(on(0.0, 0.0), NONE), (on(300.0, 0.0), NONE)], 0.01));
    let [Caution::BeyondTrials { plane: 0, amount, largest_trial }] = found[..] else { panic!("{found:?}") };
    assert!((amount - 1500.0).abs() < 1e-6 && largest_trial == 300.0);
    let found = of(&job(&[(on(0.0, 0.0), NONE), (on(0.0, -1000.0), NONE)], 0.01));
    let [Caution::AgainstMounted { plane: 0, amount }] = found[..] else { panic!("{found:?}") };
    assert!((amount - 2500.0).abs() < 1e-6);
}

#[test]
fn a_phase_that_scatters_is_not_repeatable_and_what_is_left_below_the_scatter_is_not_worth_a_weight() {
    let runs = [(on(0.0, 0.0), NONE), (on(1000.0, 0.0), NONE), (on(0.0, 1490.0), NONE)];
    let found = of(&job(&runs, 0.05));
    // 0.02 mm/s are left, and scatter by 0.05.
    let [Caution::PhaseNotRepeatable { run: 2, channel: 0, degrees }, Caution::NothingToResolve { share }] =
        found[..]
    else {
        panic!("{found:?}")
    };
    assert!((degrees - (0.05_f64 / 0.02).to_degrees()).abs() < 1e-6);
    assert!((share - 0.02 / (0.05 * 5.991_464_547_107_979_f64.sqrt())).abs() < 1e-9);
}

#[test]
fn speeds_that_differ_and_coefficients_that_change_with_speed_are_told() {
    let channel = channel_at(1480.0, 5.0);
    let mut estimator = Estimator::with_relative_weights(&[channel], 1).unwrap();
    let read = |amplitude: f64, rpm: f64| {
        channel.reading(amplitude, 0.0).unwrap().at(Speed::from_rpm(rpm).unwrap()).unwrap()
    };
    estimator.add(Run::new("as found").reading(read(3.0, 1480.0))).unwrap();
    estimator.add(Run::new("trial").mounted(0, on(1000.0, 0.0)).reading(read(2.0, 1510.0))).unwrap();
    assert_eq!(
        of(&estimator),
        [Caution::SpeedsDiffer { channel: 0, lowest_rpm: 1480.0, highest_rpm: 1510.0 }]
    );

    let channels = [channel_at(1480.0, 0.5), channel_at(1509.6, 0.5)];
    let mut estimator = Estimator::with_relative_weights(&channels, 1).unwrap();
    for (mounted, reads) in [(0.0, [3.0, 3.5]), (1000.0, [2.0, 1.5])] {
        let mut run = Run::new("run").mounted(0, on(mounted, 0.0));
        for (channel, read) in channels.iter().zip(reads) {
            run = run.reading(channel.reading(read, 0.0).unwrap());
        }
        estimator.add(run).unwrap();
    }
    let found = of(&estimator);
    let [Caution::ChangesWithSpeed { sensor: 1, plane: 0, rpm: [1480.0, 1509.6], change_per_percent }] =
        found[..]
    else {
        panic!("{found:?}")
    };
    // (2 − 1)/1.5 over 29.6/1494.8 of speed, by hand.
    assert!((change_per_percent - 1.0 / 1.5 / (100.0 * 29.6 / 1494.8)).abs() < 1e-9);
}

#[test]
fn every_caution_has_a_code_and_a_sentence_of_its_own() {
    let all = [
        Caution::WeakTrial { channel: 0, plane: 0, distance_squared: 4.0 },
        Caution::InconsistentRuns { channel: 0, chi_squared: 40.0, degrees_of_freedom: 4, chance: 1e-7 },
        Caution::NonLinearResponse { channel: 0, plane: 0, runs: [1, 2], distance_squared: 20.0 },
        Caution::DriftBetweenRuns { channel: 0, runs: [0, 2], distance_squared: 20.0 },
        Caution::BeyondTrials { plane: 0, amount: 1500.0, largest_trial: 300.0 },
        Caution::AgainstMounted { plane: 0, amount: 200.0 },
        Caution::ChangesWithSpeed { sensor: 1, plane: 0, rpm: [1480.0, 1500.0], change_per_percent: 0.3 },
        Caution::PhaseNotRepeatable { run: 0, channel: 0, degrees: 20.0 },
        Caution::SpeedsDiffer { channel: 0, lowest_rpm: 1480.0, highest_rpm: 1510.0 },
        Caution::NothingToResolve { share: 0.2 },
        Caution::WithoutGain { runs: [2, 3], before: 0.9, after: 1.0 },
    ];
    let codes: Vec<i32> = all.iter().map(Caution::code).collect();
    assert_eq!(codes, (1010..=1020).collect::<Vec<i32>>());
    assert_eq!(
        all[9].to_string(),
        "what is left is 20 % of what the scatter can resolve: another correction would follow noise, stop here",
    );
}

#[test]
fn an_estimated_scatter_widens_the_limits() {
    use DegreesOfFreedom::{Circular, Full, Known};
    // Two runs with the same weights that lie d² = |Δ|²/(2σ²) apart. By hand, at 1 %: −2 ln 0.01 = 9.21 with the scatter
    // known; 2 F(2, 4) = 4 (0.01^(−1/2) − 1) = 36 with four degrees of freedom; (4/3) 2 F(2, 3) with a covariance of four,
    // F(2, 3) = 3/2 (0.01^(−2/3) − 1), which makes 82.2.
    for (degrees, limit) in [(Known, 9.2103), (Circular(4.0), 36.0), (Full(4.0), 82.177)] {
        for (d_squared, raised) in [(0.98 * limit, false), (1.02 * limit, true)] {
            let apart = Complex64::new(0.0, (2.0_f64 * 0.05 * 0.05 * d_squared).sqrt());
            let runs = [(on(0.0, 0.0), NONE), (on(1000.0, 0.0), NONE), (on(0.0, 0.0), apart)];
            let found = of(&estimated(&runs, 0.05, degrees));
            let drift = found.iter().any(|caution| matches!(caution, Caution::DriftBetweenRuns { .. }));
            assert_eq!(drift, raised, "{degrees:?} {d_squared}: {found:?}");
        }
    }
    // What is left may be nothing: (0.2/0.05)² = 16 is beyond 5.99, and within 2 F(2, 4) = 4 (0.05^(−1/2) − 1) = 13.9 it is
    // not; 0.17 makes 11.6, which is.
    let nothing = |left: f64, degrees| {
        let runs = [(on(0.0, 0.0), NONE), (on(0.0, 1500.0), Complex64::new(left, 0.0))];
        let found = of(&estimated(&runs, 0.05, degrees));
        found.into_iter().find_map(|caution| match caution {
            Caution::NothingToResolve { share } => Some(share),
            _ => None,
        })
    };
    assert_eq!((nothing(0.17, Known), nothing(0.2, Circular(4.0))), (None, None));
    let share = nothing(0.17, Circular(4.0)).unwrap();
    assert!((share - (11.56 / 13.8885_f64).sqrt()).abs() < 1e-4, "{share}");
}

#[test]
fn runs_whose_scatter_was_estimated_are_judged_by_how_well_it_is_known() {
    let runs = |apart: f64| {
        [
            (on(0.0, 0.0), NONE),
            (on(1000.0, 0.0), NONE),
            (on(0.0, 1000.0), Complex64::new(apart, 0.0)),
            (on(-700.0, 300.0), NONE),
        ]
    };
    let chi_squared = |apart: f64| {
        let fit = job(&runs(apart), 0.05).fit().unwrap();
        fit.channels()[0].chi_squared().unwrap().value
    };
    // Residuals are in proportion to the one reading that is off: χ² = 40 and 80 over 4.
    let [off_by_40, off_by_80] = [40.0, 80.0].map(|wanted: f64| (wanted / chi_squared(1.0)).sqrt());
    let judged = |apart: f64, degrees: DegreesOfFreedom| {
        let found = of(&estimated(&runs(apart), 0.05, degrees));
        found.into_iter().find_map(|caution| match caution {
            Caution::InconsistentRuns { chi_squared, chance, .. } => Some((chi_squared, chance)),
            _ => None,
        })
    };
    // A known scatter: e^(−20) (1 + 20) = 4.3e-8.
    let (value, chance) = judged(off_by_40, DegreesOfFreedom::Known).unwrap();
    assert!((value - 40.0).abs() < 1e-9 && (chance / (21.0 * (-20.0_f64).exp()) - 1.0).abs() < 1e-9);
    // F(4, 4) exceeds f with the chance 3x² − 2x³, x = 1/(1 + f), in closed form: 2.3 % at 10, which is no alarm.
    assert_eq!(judged(off_by_40, DegreesOfFreedom::Circular(4.0)), None);
    let (_, chance) = judged(off_by_80, DegreesOfFreedom::Circular(4.0)).unwrap();
    let x = 1.0 / 21.0;
    assert!((chance / (x * x * (3.0 - 2.0 * x)) - 1.0).abs() < 1e-9, "{chance}");
}
