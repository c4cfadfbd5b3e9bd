//! Amplitudes alone.

use counterpoise::without_phase::{Ambiguity, Outcome, Trial, solve};
use counterpoise::{Convention, PhaseSense, RotorSense, Unbalance, UnbalanceVector};

use super::case::{Case, assert_direction, assert_near};
use crate::support::{self, vectors::Fields};

/// The positions are counted in one sense that is not stated, and either gives the same numbers.
const SENSES: [RotorSense; 2] = [RotorSense::WithRotation, RotorSense::AgainstRotation];

/// The trials of a case, at 1 mm, where grams are g mm.
fn trials(case: &Case, sense: RotorSense, amplitudes: &[f64]) -> Vec<Trial> {
    let inputs = case.inputs();
    let convention = Convention { phase: PhaseSense::Lead, rotor: sense };
    let amount = Unbalance::from_gram_millimetres(inputs.number("trial_g")).unwrap();
    let places = inputs.numbers("positions_deg");
    assert_eq!(places.len(), amplitudes.len());
    let trial = |(degrees, &amplitude): (f64, &f64)| {
        let unbalance = UnbalanceVector::from_polar(amount, convention.place(degrees).unwrap());
        Trial { unbalance, amplitude }
    };
    places.into_iter().zip(amplitudes).map(trial).collect()
}

#[track_caller]
fn assert_grams_at(vector: UnbalanceVector, sense: RotorSense, grams: f64, degrees: f64, case: &Case) {
    assert_near(vector.amount().gram_millimetres(), grams, case.tolerance("mass_g"));
    assert_direction(vector.angle().in_sense(sense).degrees(), degrees, case.tolerance("deg"));
}

/// The readings contradict one another a little: the textbook's closed form and the fit of all amplitudes differ, and the
/// misfit is reported.
pub(crate) fn three_points(case: &Case) {
    let (inputs, expected, recomputed) = (case.inputs(), case.expected(), &case["recomputed"]);
    for sense in SENSES {
        let trials = trials(case, sense, &inputs.numbers("v_mm"));
        let outcome = solve(&[inputs.number("v0_mm")], &trials).unwrap();
        let Outcome::Unique { solution, closed_form: Some(closed), .. } = outcome else {
            panic!("{outcome:?}")
        };

        let effect = closed.influence_from_mean.unwrap() * inputs.number("trial_g");
        assert_near(effect, expected.number("trial_effect_mm"), 5e-5);
        let (grams, degrees) = (expected.number("correction_g"), expected.number("correction_deg"));
        assert_grams_at(closed.correction.unwrap(), sense, grams, degrees, case);
        // cos² + sin², with the effect from the mean in the denominators, is 1 for one linear rotor.
        let ratio = closed.inconsistency_ratio.unwrap();
        assert_near(1.0 / (ratio * ratio), recomputed.number("consistency_cos2_plus_sin2"), 5e-5);

        // The case's own least squares holds the amplitude as found at what was read and fits the other three; here all
        // four are fitted, which can only leave less. Its figures: by a descent on the sum of squares, apart from the
        // library.
        let held = recomputed["amplitude_least_squares"].number("rms_misfit_mm");
        assert!(solution.sum_of_squares < 3.0 * held * held);
        assert_grams_at(solution.correction, sense, 45.697_45, 277.353_4, case);
        assert_near(solution.as_found_amplitude, 9.904_392, 1e-5);
        assert_near(solution.rms_residual, 0.271_781_9, 1e-6);
        let squares: f64 = solution.residuals.iter().map(|residual| residual * residual).sum();
        assert_near(solution.sum_of_squares, squares, 1e-12);
    }
}

pub(crate) fn two_trials(case: &Case) {
    let readings = case.inputs().numbers("v_mm_s");
    for sense in SENSES {
        let trials = trials(case, sense, &readings[1..]);
        let outcome = solve(&readings[..1], &trials).unwrap();
        let Outcome::Ambiguous { reason: Ambiguity::OneLine { .. }, solutions } = &outcome else {
            panic!("{outcome:?}")
        };
        let mut candidates = case.expected().numbers("correction_deg_candidates");
        assert_eq!(solutions.len(), candidates.len());
        for solution in solutions {
            // Each candidate is found once.
            let degrees = solution.correction.angle().in_sense(sense).degrees();
            let nearest = |a: &f64, b: &f64| {
                support::turn_between(*a, degrees).total_cmp(&support::turn_between(*b, degrees))
            };
            let want = candidates.iter().copied().min_by(nearest).unwrap();
            candidates.retain(|candidate| *candidate != want);
            assert_grams_at(solution.correction, sense, case.expected().number("correction_g"), want, case);
        }
    }
}
