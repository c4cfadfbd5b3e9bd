//! Bad input, degenerate trial places and readings no rotor could give.

use proptest::prelude::*;
use std::{vec, vec::Vec};

use super::*;

const THIRDS: [f64; 3] = [0.0, 120.0, 240.0];

fn thirds(amplitudes: [f64; 3]) -> [Trial; 3] {
    let [a, b, c] = amplitudes;
    [trial(1.0, THIRDS[0], a), trial(1.0, THIRDS[1], b), trial(1.0, THIRDS[2], c)]
}

#[test]
fn missing_runs() {
    assert_eq!(solve(&[], &thirds([1.0; 3])), Err(InputError::NoAsFound));
    assert_eq!(solve(&[1.0], &[]), Err(InputError::NoTrials));
}

#[test]
fn values_that_are_no_readings() {
    let good = thirds([1.0, 2.0, 3.0]);
    for value in [-1.0, f64::INFINITY, f64::NEG_INFINITY, 1.1e75, -1e-300] {
        assert_eq!(solve(&[1.0, value], &good), Err(InputError::AsFound { index: 1, value }));
        let mut bad = good;
        bad[2].amplitude = value;
        assert_eq!(solve(&[1.0], &bad), Err(InputError::Amplitude { index: 2, value }));
        let mut bad = good;
        bad[1].amount = value;
        assert_eq!(solve(&[1.0], &bad), Err(InputError::Amount { index: 1, value }));
    }
    for value in [0.0, 1e-76] {
        let mut bad = good;
        bad[1].amount = value;
        assert_eq!(solve(&[1.0], &bad), Err(InputError::Amount { index: 1, value }));
    }
    let mut bad = good;
    bad[0].angle_deg = f64::INFINITY;
    let value = f64::INFINITY;
    assert_eq!(solve(&[1.0], &bad), Err(InputError::Angle { index: 0, value }));
    // A NaN is not equal to itself.
    let is_nan = |error: Result<Outcome, InputError>| match error {
        Err(
            InputError::AsFound { index, value }
            | InputError::Amount { index, value }
            | InputError::Angle { index, value }
            | InputError::Amplitude { index, value },
        ) => value.is_nan().then_some(index),
        _ => None,
    };
    assert_eq!(is_nan(solve(&[f64::NAN], &good)), Some(0));
    for index in 0..3 {
        let mut bad = [good; 3];
        bad[0][index].amount = f64::NAN;
        bad[1][index].angle_deg = f64::NAN;
        bad[2][index].amplitude = f64::NAN;
        assert!(bad.iter().all(|b| is_nan(solve(&[1.0], b)) == Some(index)));
    }
}

#[test]
fn nothing_to_correct() {
    assert_eq!(solve(&[0.0, 0.0], &thirds([1.0, 2.0, 3.0])), Ok(Outcome::NothingToCorrect));
    assert_eq!(solve(&[0.0], &thirds([0.0; 3])), Ok(Outcome::NothingToCorrect));
    assert_eq!(solve(&[-0.0], &thirds([0.0; 3])), Ok(Outcome::NothingToCorrect));
    // One of two repeats is a reading.
    assert!(matches!(solve(&[0.0, 0.1], &thirds([1.0, 2.0, 1.5])), Ok(Outcome::Unique { .. })));
}

#[test]
fn trials_in_one_place_determine_nothing() {
    assert_eq!(solve(&[1.0], &[trial(1.0, 30.0, 2.0)]), Ok(Outcome::Undetermined));
    let repeats = [trial(1.0, 30.0, 2.0), trial(1.0, 390.0, 2.1), trial(1.0, -330.0, 1.9)];
    assert_eq!(solve(&[1.0], &repeats), Ok(Outcome::Undetermined));
    // A second mass in the same place is another place of the plane, on a line through the centre.
    let outcome = solve(&[1.0], &[trial(1.0, 30.0, 1.2), trial(0.5, 30.0, 1.05)]);
    let (reason, fits) = ambiguous(outcome.unwrap());
    assert!(matches!(reason, Ambiguity::Line { axis_deg } if (axis_deg - 30.0).abs() < 1e-12));
    assert_eq!(fits.len(), 2);
}

#[test]
fn unchanged_amplitudes_show_no_effect() {
    for trials in [&thirds([1.0; 3])[..], &[trial(1.0, 0.0, 1.0), trial(1.0, 180.0, 1.0)]] {
        assert!(matches!(solve(&[1.0], trials), Ok(Outcome::NoEffect { .. })));
    }
    let last_bit = 1.0 + f64::EPSILON;
    let trials = [trial(1.0, 0.0, last_bit), trial(1.0, 180.0, 1.0)];
    assert!(matches!(solve(&[1.0], &trials), Ok(Outcome::NoEffect { .. })));
    // At 0° and 120° a unit weight at 60° is as far from both places as from the centre: it explains them too.
    let (reason, fits) = ambiguous(solve(&[1.0], &[trial(1.0, 0.0, 1.0), trial(1.0, 120.0, 1.0)]).unwrap());
    assert_eq!((reason, fits.len()), (Ambiguity::Circle, 1));
    assert!((fits[0].correction_amount - 1.0).abs() < 1e-12 && (fits[0].correction_deg - 60.0).abs() < 1e-10);
}

#[test]
fn a_trial_that_cancels_the_vibration() {
    // H m exp(i 120°) = −v₀: the amplitudes elsewhere are √3 and √3 times as found.
    let root = libm::sqrt(3.0);
    let Unique { fit, .. } = unique(solve(&[2.0], &thirds([2.0 * root, 0.0, 2.0 * root])).unwrap());
    assert!((fit.correction_amount - 1.0).abs() < 1e-14);
    assert!((fit.correction_deg - 120.0).abs() < 1e-12);
}

/// Both roots coincide where the correction lies on the line of the trials: two trials reach it directly, more of them down
/// a floor that is flat to the fourth order.
#[test]
fn a_correction_on_the_line_is_single() {
    for tenths in 2_i32..20 {
        // v₀ = 1, H = c at the angle 0: correction 1/c at 180°.
        let c = f64::from(tenths) / 8.0;
        let mut trials = vec![trial(1.0, 0.0, 1.0 + c), trial(1.0, 180.0, (1.0 - c).abs())];
        for (extra, digits) in [(None, 1e-12), (Some(trial(0.5, 0.0, 1.0 + 0.5 * c)), 1e-8)] {
            trials.extend(extra);
            let (reason, fits) = ambiguous(solve(&[1.0], &trials).unwrap());
            assert_eq!((reason, fits.len()), (Ambiguity::Line { axis_deg: 0.0 }, 1), "{c} {fits:?}");
            assert!((fits[0].correction_amount * c - 1.0).abs() < digits, "{c} {fits:?}");
            // The angle carries the root of the rounding only.
            assert!(
                apart(fits[0].correction_deg, 180.0).to_radians() < 10.0 * libm::sqrt(digits),
                "{c} {fits:?}"
            );
        }
    }
}

/// Two trials that no rotor shows exactly, by a little and by far.
#[test]
fn two_trials_without_a_root() {
    let (reason, fits) = ambiguous(solve(&[1.0], &[trial(1.0, 0.0, 1.51), trial(1.0, 180.0, 0.48)]).unwrap());
    assert_eq!((reason, fits.len()), (Ambiguity::Line { axis_deg: 0.0 }, 1));
    assert!(fits[0].rms > 1e-3 && fits[0].rms < 0.01);
    let far = solve(&[1.0], &[trial(1.0, 0.0, 0.1), trial(1.0, 180.0, 0.1)]);
    assert!(matches!(far, Ok(Outcome::Impossible { closed_form: None, .. })), "{far:?}");
}

#[test]
fn three_readings_lowered_everywhere_are_impossible() {
    // Not quite alike, so that there is a best of the bad fits.
    let Ok(Outcome::Impossible { closed_form, best }) = solve(&[0.5], &thirds([0.05, 0.1, 0.2])) else {
        panic!("possible");
    };
    // mean of A² − A₀²
    let a = (0.0025 + 0.01 + 0.04) / 3.0 - 0.25;
    assert!((closed_form.unwrap().a - a).abs() < 1e-15);
    assert!(best.unwrap().rms > 0.02);
}

/// Ties: three readings that a turn by a third leaves as they are can only be fitted alike three times, or not at all.
#[test]
fn equal_fits_are_all_listed() {
    let outcome = solve(&[1.0], &thirds([3.0, 3.0, 3.0])).unwrap();
    let (reason, fits) = ambiguous(outcome);
    assert_eq!((reason, fits.len()), (Ambiguity::EqualFits, 3));
    for pair in fits.windows(2) {
        assert!((pair[1].correction_deg - pair[0].correction_deg - 120.0).abs() < 1e-9);
    }
}

/// Amplitudes raised alike in three directions fit no rotor with an effect, though a > 0.
#[test]
fn readings_raised_everywhere() {
    let outcome = solve(&[1.0], &thirds([1.3; 3]));
    let Ok(Outcome::Impossible { closed_form: Some(closed), best: None }) = outcome else {
        panic!("{outcome:?}");
    };
    assert!(closed.a > 0.6 && closed.effect_from_pq < 1e-15);
    assert!(matches!(solve(&[1.0], &thirds([1.1; 3])), Ok(Outcome::NoEffect { .. })));
}

#[test]
fn angles_of_any_size() {
    let trials = |deg: [f64; 3]| -> Vec<Trial> {
        let amplitudes = [1.4, 1.1, 0.7];
        deg.iter().zip(amplitudes).map(|(d, a)| trial(1.0, *d, a)).collect()
    };
    let Unique { fit, .. } = unique(solve(&[1.0], &trials(THIRDS)).unwrap());
    let below = f64::from_bits(360.0_f64.to_bits() - 1);
    for deg in [[-1e-17, 120.0, 240.0], [below, 120.0, 240.0], [360e14, 120.0, -120.0]] {
        let Unique { fit: same, .. } = unique(solve(&[1.0], &trials(deg)).unwrap());
        assert!(apart(same.correction_deg, fit.correction_deg) < 1e-10);
    }
    // Reduced exactly, 1e300 is one definite angle.
    let far = libm::fmod(1e300, 360.0);
    let Unique { fit: one, .. } = unique(solve(&[1.0], &trials([far, 120.0, 240.0])).unwrap());
    let Unique { fit: other, .. } = unique(solve(&[1.0], &trials([1e300, 120.0, 240.0])).unwrap());
    assert_eq!(one, other);
}

fn any_amplitude() -> impl Strategy<Value = f64> {
    prop_oneof![
        4 => 0.0..10.0,
        1 => Just(0.0),
        1 => Just(1.0),
        1 => (-320.0..76.0).prop_map(|e| libm::pow(10.0, e)),
        1 => any::<f64>(),
    ]
}

fn any_trial() -> impl Strategy<Value = Trial> {
    let amount = prop_oneof![
        4 => Just(1.0),
        2 => 0.1..3.0,
        1 => (-76.0..76.0).prop_map(|e| libm::pow(10.0, e)),
        1 => any::<f64>(),
    ];
    let angle = prop_oneof![
        4 => (0_i32..24).prop_map(|k| f64::from(15 * k)),
        2 => -720.0..720.0,
        1 => any::<f64>(),
    ];
    (amount, angle, any_amplitude())
        .prop_map(|(amount, angle_deg, amplitude)| trial(amount, angle_deg, amplitude))
}

fn check_fit(fit: &Fit, readings: usize) {
    assert!(fit.initial > 0.0 && fit.initial.is_finite(), "{fit:?}");
    assert!(fit.effect >= 0.0 && fit.effect.is_finite(), "{fit:?}");
    assert!(fit.correction_amount >= 0.0 && !fit.correction_amount.is_nan(), "{fit:?}");
    assert!((0.0..360.0).contains(&fit.correction_deg) && (0.0..360.0).contains(&fit.delta_deg));
    assert!(fit.rms >= 0.0 && fit.rms.is_finite() && fit.sum_squares.is_finite());
    assert_eq!(fit.residuals.len(), readings);
    assert!(fit.residuals.iter().all(|r| r.is_finite()));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 3000, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever comes in, nothing panics and every answer is made of numbers in their ranges.
    #[test]
    fn no_input_panics(
        as_found in proptest::collection::vec(any_amplitude(), 0..3),
        trials in proptest::collection::vec(any_trial(), 0..7),
    ) {
        let n = as_found.len() + trials.len();
        match solve(&as_found, &trials) {
            Ok(Outcome::Unique { fit, next_local_minimum, mirages, .. }) => {
                check_fit(&fit, n);
                if let Some(next) = next_local_minimum {
                    check_fit(&next, n);
                    prop_assert!(next.sum_squares >= fit.sum_squares);
                }
                prop_assert!(mirages.iter().all(|m| m.initial <= 0.0 && m.sum_squares >= fit.sum_squares * (1.0 - 1e-9)));
            }
            Ok(Outcome::Ambiguous { fits, .. }) => {
                prop_assert!(!fits.is_empty());
                for fit in &fits {
                    check_fit(fit, n);
                }
                prop_assert!(fits.windows(2).all(|p| p[0].correction_deg <= p[1].correction_deg));
            }
            Ok(Outcome::Impossible { best, .. }) => best.iter().for_each(|f| check_fit(f, n)),
            Ok(Outcome::Undetermined | Outcome::NoEffect { .. } | Outcome::NothingToCorrect) | Err(_) => {}
        }
    }
}
