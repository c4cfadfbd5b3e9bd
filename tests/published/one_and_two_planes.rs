//! One and two planes by influence coefficients.

use counterpoise::{
    Convention, CorrectionQuestion, Length, Mass, OnePlane, PhaseSense, Radius, RotorSense, TwoPlaneRun,
    TwoPlanes, Unbalance, UnbalanceVector, Vibration,
};
use num_complex::Complex64;
use serde_json::Value;

use super::case::{Case, assert_direction, assert_near};
use crate::support::{self, channels, estimator, vectors, vectors::Fields};

/// The sources count phases and weights in one sense and do not say lag or lead: either pair that agrees with plain polar
/// numbers will do.
const PLAIN: Convention = Convention { phase: PhaseSense::Lead, rotor: RotorSense::WithRotation };

/// A case that gives no radius is reckoned at 1 mm, where grams are g mm.
fn at_unit_radius(mass: f64, degrees: f64, convention: Convention) -> UnbalanceVector {
    let place = convention.place(degrees).unwrap();
    UnbalanceVector::from_polar(Unbalance::from_gram_millimetres(mass).unwrap(), place)
}

fn amount_and_degrees(vector: UnbalanceVector, convention: Convention) -> (f64, f64) {
    let polar = convention.polar_unbalance(vector);
    let (amount, place) = (polar.amount, polar.place);
    (amount.gram_millimetres(), place.degrees())
}

pub(crate) fn flywheel(case: &Case) {
    let inputs = case.inputs();
    let before = PLAIN.vibration(inputs.number("v0_mm"), inputs.number("v0_deg_ccw")).unwrap();
    let after = PLAIN.vibration(inputs.number("v1_mm"), inputs.number("v1_deg_ccw")).unwrap();
    let trial = at_unit_radius(inputs.number("trial_g"), inputs.number("trial_deg_ccw"), PLAIN);
    let plane = OnePlane::from_trial(before, after, trial).unwrap();
    let correction = plane.correction(before).unwrap();
    let (grams, degrees) = amount_and_degrees(correction, PLAIN);
    // The mass is the source's; its angle is lost, and the one compared was recomputed.
    assert_near(grams, case.expected().number("correction_g"), case.tolerance("mass_g"));
    assert_direction(degrees, case["recomputed"].number("correction_deg_ccw"), case.tolerance("deg"));
    assert!(plane.predicted(before, correction).amplitude() < 1e-15);
}

pub(crate) fn grinding_wheel(case: &Case) {
    let inputs = case.inputs();
    let before = PLAIN.vibration(inputs.number("v0_thousandths_in"), inputs.number("v0_deg_ccw")).unwrap();
    let after = PLAIN.vibration(inputs.number("v1_thousandths_in"), inputs.number("v1_deg_ccw")).unwrap();
    let radius = Radius::from_length(Length::from_inches(inputs.number("radius_in")).unwrap()).unwrap();
    let mass = Mass::from_ounces(inputs.number("trial_oz")).unwrap();
    let trial = PLAIN.weight(mass, radius, inputs.number("trial_deg_ccw")).unwrap();
    let plane = OnePlane::from_trial(before, after, trial.unbalance()).unwrap();
    let weight = plane.correction(before).unwrap().weight_at(radius);
    assert_near(weight.mass.ounces(), case.expected().number("correction_oz"), case.tolerance("mass_oz"));
    let degrees = weight.angle.in_sense(PLAIN.rotor).degrees();
    assert_direction(degrees, case.expected().number("correction_deg_ccw"), case.tolerance("deg"));
}

/// As found, with the trial weight, and the trial weight, of a case with plain names.
fn two_runs(inputs: &Value, convention: Convention) -> (Vibration, Vibration, UnbalanceVector) {
    let vibration =
        |amplitude, degrees| convention.vibration(inputs.number(amplitude), inputs.number(degrees)).unwrap();
    let trial = at_unit_radius(inputs.number("trial_g"), inputs.number("trial_deg"), convention);
    (vibration("v0_mm_s", "v0_deg"), vibration("v1_mm_s", "v1_deg"), trial)
}

pub(crate) fn lag_and_lead(case: &Case) {
    let pairs = [
        ("lead", Convention { phase: PhaseSense::Lead, rotor: RotorSense::WithRotation }),
        ("lag", Convention { phase: PhaseSense::Lag, rotor: RotorSense::AgainstRotation }),
    ];
    let mut places = Vec::new();
    for (name, convention) in pairs {
        let (before, after, trial) = two_runs(&case.inputs()[name], convention);
        let correction = OnePlane::from_trial(before, after, trial).unwrap().correction(before).unwrap();
        let (grams, degrees) = amount_and_degrees(correction, convention);
        let expected = &case.expected()[name];
        assert_near(grams, expected.number("correction_g"), case.tolerance("mass_g"));
        assert_direction(degrees, expected.number("correction_deg"), case.tolerance("deg"));
        places.push(correction);
    }
    // Both are the same job: the same hole on the rotor.
    assert!((places[0] - places[1]).amount().gram_millimetres() < case.tolerance("mass_g"));

    // Phases from the lag job with weights from the lead job: right when the pair is said as it is, wrong when not.
    let (lead, lag) = (&case.inputs()["lead"], &case.inputs()["lag"]);
    let mixed = |convention: Convention| {
        let vibration =
            |amplitude, degrees| convention.vibration(lag.number(amplitude), lag.number(degrees)).unwrap();
        let (before, after) = (vibration("v0_mm_s", "v0_deg"), vibration("v1_mm_s", "v1_deg"));
        let trial = at_unit_radius(lead.number("trial_g"), lead.number("trial_deg"), convention);
        let correction = OnePlane::from_trial(before, after, trial).unwrap().correction(before).unwrap();
        amount_and_degrees(correction, convention).1
    };
    let wanted = case.expected()["lead"].number("correction_deg");
    let said = Convention { phase: PhaseSense::Lag, rotor: RotorSense::WithRotation };
    assert_direction(mixed(said), wanted, case.tolerance("deg"));
    // Taken as they stand, the mirrored phases mirror the answer about the trial weight.
    let mirrored = 2.0 * lead.number("trial_deg") - wanted;
    assert_direction(mixed(PLAIN), mirrored, case.tolerance("deg"));
    assert!(support::turn_between(mirrored, wanted) > 10.0);
}

pub(crate) fn trial_left_on(case: &Case) {
    let (before, after, trial) = two_runs(case.inputs(), PLAIN);
    let (expected, mass, degree) = (case.expected(), case.tolerance("mass_g"), case.tolerance("deg"));
    let additional = OnePlane::from_trial(before, after, trial).unwrap().correction(after).unwrap();
    let (grams, degrees) = amount_and_degrees(additional, PLAIN);
    assert_near(grams, expected["additional"].number("mag"), mass);
    assert_direction(degrees, expected["additional"].number("deg"), degree);

    let channel = channels(1);
    let none = vec![Complex64::default()];
    let runs = [(none, vec![before.complex()]), (vec![trial.complex()], vec![after.complex()])];
    let fit = estimator(&channel, 1, &runs).fit().unwrap();
    let question = CorrectionQuestion::new(fit.influence(), &[after]).unwrap();
    let answer = question.mounted_now(&[trial]).unwrap().solve().unwrap();
    let (grams, degrees) = amount_and_degrees(answer.total()[0], PLAIN);
    assert_near(grams, expected.number("total_g"), mass);
    assert_direction(degrees, expected.number("total_deg"), degree);
    assert!((answer.added()[0] - additional).amount().gram_millimetres() < 1e-12);
}

pub(crate) fn turbine(case: &Case) {
    let (inputs, expected) = (case.inputs(), case.expected());
    let read = |run: &str| {
        ["bearing_A", "bearing_B"].map(|bearing| {
            let of = &inputs[bearing];
            PLAIN.vibration(of.number(&format!("{run}_mil")), of.number(&format!("{run}_deg"))).unwrap()
        })
    };
    // Ounces at the unit of radius.
    let left = at_unit_radius(inputs.number("trial_L_oz"), inputs.number("trial_L_deg"), PLAIN);
    let right = at_unit_radius(inputs.number("trial_R_oz"), inputs.number("trial_R_deg"), PLAIN);
    let none = UnbalanceVector::ZERO;
    let planes = TwoPlanes::from_runs(&[
        TwoPlaneRun { mounted: [none, none], vibration: read("v0") },
        TwoPlaneRun { mounted: [left, none], vibration: read("vL") },
        TwoPlaneRun { mounted: [none, right], vibration: read("vR") },
    ])
    .unwrap();
    let weights = planes.correction(read("v0")).unwrap();
    for left_over in planes.predicted(read("v0"), weights) {
        assert!(left_over.amplitude() < 1e-13);
    }
    for (weight, plane) in weights.into_iter().zip(["L", "R"]) {
        let (ounces, degrees) = amount_and_degrees(weight, PLAIN);
        assert_near(ounces, expected.number(&format!("{plane}_oz")), case.tolerance("mass_oz"));
        // The angles that are recalled from the book are those of the unbalance, half a turn away: no evidence.
        assert_direction(degrees, expected.number(&format!("{plane}_deg_correction")), case.tolerance("deg"));
        let recalled = &case["recomputed"][format!("original_unbalance_{plane}")];
        assert_direction(degrees, recalled.number("deg") + 180.0, case.tolerance("deg"));
    }
}

pub(crate) fn general_trial_matrix(case: &Case) {
    let (inputs, expected) = (case.inputs(), case.expected());
    let table = |key: &str| -> Vec<Vec<Complex64>> {
        let row = |row: &Value| row.as_array().unwrap().iter().map(vectors::polar).collect();
        inputs.list(key).iter().map(row).collect()
    };
    let (by_plane, by_bearing) =
        (table("trial_weights_oz_by_plane_L_then_R"), table("readings_by_bearing_A_then_B"));
    let as_found: Vec<Complex64> = inputs.list("v0").iter().map(vectors::polar).collect();
    let mut runs = vec![(vec![Complex64::default(); 2], as_found.clone())];
    runs.extend((0..3).map(|run| {
        let of_run = |rows: &[Vec<Complex64>]| rows.iter().map(|row| row[run]).collect::<Vec<_>>();
        (of_run(&by_plane), of_run(&by_bearing))
    }));
    let fit = estimator(&channels(2), 2, &runs).fit().unwrap();

    // The coefficients are printed to 6 places, the weights to 4: half a unit of the last joins the tolerance.
    for (channel, plane, name) in [(0, 0, "AL"), (0, 1, "AR"), (1, 0, "BL"), (1, 1, "BR")] {
        let (got, want) = (fit.influence().get(channel, plane).unwrap(), &expected["alpha_mil_per_oz"][name]);
        let size = want.number("mag");
        assert_near(got.per_gram_millimetre(), size, case.tolerance("rel") * size + 5e-7);
        assert_direction(got.lead().degrees(), want.number("deg"), case.tolerance("deg"));
    }
    let question = CorrectionQuestion::new(fit.influence(), &support::vibrations(&as_found)).unwrap();
    for (weight, name) in question.solve().unwrap().added().iter().zip(["correction_L", "correction_R"]) {
        let (ounces, degrees) = amount_and_degrees(*weight, PLAIN);
        let size = expected[name].number("mag");
        assert_near(ounces, size, case.tolerance("rel") * size + 5e-5);
        assert_direction(degrees, expected[name].number("deg"), case.tolerance("deg"));
    }
}
