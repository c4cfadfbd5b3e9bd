//! The reference vectors and the published cases.

use serde_json::Value;
use std::{string::String, vec::Vec};

use super::*;

const VECTORS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/vectors/nonphase.json");

struct Case {
    id: String,
    group: String,
    as_found: f64,
    mass: f64,
    trials: Vec<Trial>,
    expected: Value,
}

fn cases() -> Vec<Case> {
    let file: Value = serde_json::from_str(&std::fs::read_to_string(VECTORS).unwrap()).unwrap();
    let cases = file["cases"].as_array().unwrap();
    assert_eq!(cases.len(), 11);
    cases
        .iter()
        .map(|case| {
            let inputs = &case["inputs"];
            let trials = inputs["trials"].as_array().unwrap();
            Case {
                id: case["id"].as_str().unwrap().into(),
                group: case["group"].as_str().unwrap().into(),
                as_found: number(&inputs["as_found_amp"]),
                mass: number(&inputs["trial_mass_g"]),
                trials: trials.iter().map(|t| trial(1.0, number(&t["deg"]), number(&t["amp"]))).collect(),
                expected: case["expected"].clone(),
            }
        })
        .collect()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("not a number: {value}"))
}

impl Case {
    #[track_caller]
    fn close(&self, what: &str, got: f64, want: f64, relative: f64) {
        assert!(close(got, want, relative), "{} {what}: {got} is not {want}", self.id);
    }

    #[track_caller]
    fn degrees(&self, what: &str, got: f64, want: f64, absolute: f64) {
        assert!((0.0..360.0).contains(&got), "{} {what}: {got} out of range", self.id);
        assert!(apart(got, want) <= absolute, "{} {what}: {got} is not {want}", self.id);
    }
}

/// Tolerances as the vectors print them: mass 1e-10, angle 1e-8° for exact data.
fn three_trials_exact(case: &Case) {
    let Unique { fit, closed, .. } = unique(solve(&[case.as_found], &case.trials).unwrap());
    let want = &case.expected["solutions"][0];
    assert_eq!(case.expected["solutions"].as_array().unwrap().len(), 1);
    let (mass, deg) = (number(&want["mass_g"]), number(&want["deg"]));
    case.close("mass", fit.correction_amount * case.mass, mass, 1e-12);
    case.degrees("angle", fit.correction_deg, deg, 1e-10);
    case.close("c", fit.effect, number(&case.expected["c"]), 1e-12);
    case.degrees("delta", fit.delta_deg, number(&case.expected["delta_deg"]), 1e-10);
    let per_gram = number(&case.expected["influence_magnitude_per_g"]);
    case.close("c per gram", fit.effect / case.mass, per_gram, 1e-12);
    case.close("closed mass", closed.correction_amount.unwrap() * case.mass, mass, 1e-10);
    case.degrees("closed angle", closed.correction_deg, deg, 1e-8);
    case.close("ratio", closed.inconsistency_ratio.unwrap(), 1.0, 1e-10);
    assert_eq!(case.expected["consistent"], Value::Bool(true));
    assert!(fit.rms <= 1e-15);
}

/// Tolerances as the vectors print them: mass 1e-8, angle 1e-6°.
fn two_trials_ambiguous(case: &Case) {
    let (_, fits) = ambiguous(solve(&[case.as_found], &case.trials).unwrap());
    let want = case.expected["solutions"].as_array().unwrap();
    assert_eq!(fits.len(), want.len());
    assert!(fits.windows(2).all(|pair| pair[0].correction_deg < pair[1].correction_deg));
    for want in want {
        let (mass, deg) = (number(&want["mass_g"]), number(&want["deg"]));
        let fit = fits.iter().find(|f| apart(f.correction_deg, deg) < 1e-6).unwrap();
        case.close("mass", fit.correction_amount * case.mass, mass, 1e-12);
        case.degrees("angle", fit.correction_deg, deg, 1e-10);
        assert!(fit.rms <= 1e-15);
    }
}

fn degenerate(case: &Case) {
    let (reason, fits) = ambiguous(solve(&[case.as_found], &case.trials).unwrap());
    assert_eq!(case.expected["unique"], Value::Bool(false));
    assert_eq!(reason, Ambiguity::Line { axis_deg: 0.0 });
    // Mirror images in the line of the trials.
    assert_eq!(fits.len(), 2);
    case.close("mass", fits[0].correction_amount, fits[1].correction_amount, 1e-12);
    case.degrees("angle", fits[0].correction_deg, 360.0 - fits[1].correction_deg, 1e-10);
    assert!(fits.iter().all(|f| f.rms <= 1e-15));
}

/// Tolerances as the vectors print them: mass 1e-7, angle 1e-6°, sum of squares 1e-6; closed form held to 1e-10.
fn inconsistent(case: &Case) {
    let Unique { fit, next, mirages, closed } = unique(solve(&[case.as_found], &case.trials).unwrap());
    let want = &case.expected["least_squares"];
    let solution = &want["solution"];
    case.close("mass", fit.correction_amount * case.mass, number(&solution["mass_g"]), 1e-13);
    case.degrees("angle", fit.correction_deg, number(&solution["deg"]), 1e-11);
    case.close("A0", fit.initial, number(&want["A0"]), 1e-13);
    case.close("c", fit.effect, number(&want["c"]), 1e-13);
    case.degrees("delta", fit.delta_deg, number(&want["delta_deg"]), 1e-11);
    case.close("sum", fit.sum_squares, number(&want["sum_squares"]), 1e-11);
    case.close("rms", fit.rms, number(&want["rms_residual"]), 1e-11);
    let residuals = want["residuals_measured_minus_model"].as_array().unwrap();
    assert_eq!(fit.residuals.len(), residuals.len());
    for (got, want) in fit.residuals.iter().zip(residuals) {
        assert!((got - number(want)).abs() <= 1e-14, "{} residual {got} {want}", case.id);
    }
    // The vectors' next minimum is one of A₀ < 0 (-0.0868 in 01, -0.2347 in 10), found from 32 starts; null means none was
    // reached from those starts (04 has one, at A₀ = -0.0041, that only starts beside it reach).
    let value = &want["next_local_minimum_sum_squares"];
    if !value.is_null() {
        let next = number(value);
        assert!(mirages.iter().any(|m| close(m.sum_squares, next, 1e-12)), "{} {mirages:?}", case.id);
    }
    let expected = [("01", 1), ("04", 1), ("07", 0), ("10", 1)];
    let expected = expected.iter().find(|e| case.id.ends_with(e.0)).unwrap();
    assert_eq!(mirages.len(), expected.1, "{}", case.id);
    assert!(mirages.iter().all(|m| m.initial < 0.0));
    assert_eq!(next, None, "{}", case.id);
    closed_form(case, &closed);
}

fn closed_form(case: &Case, closed: &ClosedForm) {
    let want = &case.expected["closed_form"];
    if want.is_object() {
        case.close("a", closed.a, number(&want["a"]), 1e-12);
        case.close("√a", closed.effect_from_a.unwrap(), number(&want["c_from_sqrt_a"]), 1e-12);
        case.close("p, q", closed.effect_from_pq, number(&want["c_from_hypot_pq"]), 1e-12);
        case.degrees("closed delta", closed.delta_deg, number(&want["delta_deg"]), 1e-10);
        let ratio = number(&want["inconsistency_ratio"]);
        case.close("ratio", closed.inconsistency_ratio.unwrap(), ratio, 1e-12);
    } else {
        assert_eq!(case.trials.len(), 4, "only the case of four trials prints no closed form");
    }
}

fn impossible(case: &Case) {
    let Outcome::Impossible { closed_form, best } = solve(&[case.as_found], &case.trials).unwrap() else {
        panic!("{} not impossible", case.id);
    };
    // By symmetry the best of the fits is no effect at all.
    assert_eq!(best, None);
    let closed = closed_form.unwrap();
    case.close("a", closed.a, number(&case.expected["a"]), 1e-12);
    assert_eq!(case.expected["closed_form_solution"], Value::Null);
    assert_eq!((closed.effect_from_a, closed.correction_amount), (None, None));
}

#[test]
fn reference_vectors() {
    let mut counts = [0; 5];
    for case in cases() {
        let group = match case.group.as_str() {
            "three_trials_exact" => {
                three_trials_exact(&case);
                0
            }
            "two_trials_ambiguous" => {
                two_trials_ambiguous(&case);
                1
            }
            "degenerate" => {
                degenerate(&case);
                2
            }
            "inconsistent_least_squares" => {
                inconsistent(&case);
                3
            }
            "impossible" => {
                impossible(&case);
                4
            }
            other => panic!("group {other}"),
        };
        counts[group] += 1;
    }
    assert_eq!(counts, [3, 2, 1, 4, 1]);
}

/// Unknown textbook, three-point balancing test without phase (question with cosine-rule method), year not given,
/// wizedu.com question 69220. Inputs and method are the source's; its figures are lost and were recomputed from the method.
#[test]
fn three_point_test_10_14_20_7() {
    let trials = [trial(50.0, 0.0, 14.0), trial(50.0, 120.0, 20.0), trial(50.0, 240.0, 7.0)];
    let Unique { fit, closed, .. } = unique(solve(&[10.0], &trials).unwrap());
    // The published method, √a.
    assert!((closed.effect_from_a.unwrap() * 50.0 - 10.72381).abs() < 5e-6);
    assert!((closed.correction_amount.unwrap() - 46.6252).abs() < 5e-5);
    assert!((closed.correction_deg - 275.3563).abs() < 5e-5);
    // cos² + sin² of the method is (√(p² + q²)/2A₀)²/a.
    let ratio = closed.inconsistency_ratio.unwrap();
    assert!((1.0 / (ratio * ratio) - 0.9006).abs() < 5e-5);
    // The misfit must be reported: 2.3 % of the readings.
    assert!(fit.rms > 0.27 && fit.rms < 0.28);
    // The recomputed least squares of this source holds A₀ at 10; so do many repeats of the reading as found. Its misfit is
    // over the three trials.
    let Unique { fit, .. } = unique(solve(&[10.0; 1000], &trials).unwrap());
    assert!((fit.correction_amount - 46.539).abs() < 2e-3);
    assert!((fit.correction_deg - 277.413).abs() < 2e-3);
    assert!((libm::sqrt(fit.sum_squares / 3.0) - 0.3178).abs() < 2e-4);
}

/// Constructed, exact by construction (no publication): 10 g at 0° and 180°, 0.3 as found; unbalance 15 g at 75°.
#[test]
fn two_trials_on_a_line() {
    let trials = [trial(10.0, 0.0, 0.401321), trial(10.0, 180.0, 0.31455)];
    let (reason, fits) = ambiguous(solve(&[0.3], &trials).unwrap());
    assert_eq!(reason, Ambiguity::Line { axis_deg: 0.0 });
    assert_eq!(fits.len(), 2);
    for (fit, deg) in fits.iter().zip([105.0, 255.0]) {
        assert!((fit.correction_amount - 15.0).abs() < 0.01);
        assert!((fit.correction_deg - deg).abs() < 0.01);
    }
}
