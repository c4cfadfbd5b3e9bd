//! What no tolerance can be made of: each refusal to the letter, with its code.

use core::fmt::Debug;

use counterpoise::tolerance::{
    BalanceGrade, GuardBand, OwnScale, ScaleStep, SeverityZones, ShareLimits, TolerancePlanes,
    chance_of_value_within, chance_of_vector_within, combined_error, journal_rule, naval_rule,
};
use counterpoise::{
    Detector, Length, Mass, Provenance, ProvenanceKind, ToleranceError, Unbalance, VibrationScale,
    VibrationUnit,
};

use super::{g_mm, kilograms, millimetres, rpm};

#[track_caller]
fn refused<T: Debug>(outcome: Result<T, ToleranceError>, code: i32, text: &str) {
    let error = outcome.unwrap_err();
    assert_eq!((error.code(), error.to_string().as_str()), (code, text));
}

#[test]
fn numbers_that_cannot_be() {
    let grade = BalanceGrade::from_millimetres_per_second;
    for (value, shown) in
        [(0.0, "0.0"), (-6.3, "-6.3"), (f64::NAN, "NaN"), (f64::INFINITY, "inf"), (2e9, "2000000000.0")]
    {
        refused(
            grade(value),
            1401,
            &format!("the balance quality grade in mm/s must be positive, and at most 1e9, got {shown}"),
        );
    }
    let residual = |amount| BalanceGrade::of_residual(amount, kilograms(3.0), rpm(3000.0));
    refused(
        residual(Unbalance::ZERO),
        1401,
        "the balance quality grade in mm/s must be positive, and at most 1e9, got 0.0",
    );
    assert!(residual(g_mm(-5.0)).is_err() && residual(g_mm(5.0)).is_ok());
    let text = "the mass of the rotor in g must be positive, got -3000.0";
    refused(BalanceGrade::of_residual(g_mm(5.0), -kilograms(3.0), rpm(3000.0)), 1401, text);
    refused(journal_rule(-kilograms(3.0), rpm(3000.0)), 1401, text);
    refused(naval_rule(-kilograms(3.0), rpm(3000.0)), 1401, text);
    let endless = Mass::from_grams(1.0).unwrap() * f64::INFINITY;
    assert_eq!(journal_rule(endless, rpm(3000.0)).unwrap_err().code(), 101);
    refused(GuardBand::new(0.0, 0.1), 1401, "the limit must be positive and finite, got 0.0");
    refused(
        GuardBand::new(0.1, -0.5),
        1401,
        "the expanded uncertainty must be 0 or more, and finite, got -0.5",
    );
    for chance in [chance_of_value_within, chance_of_vector_within] {
        refused(chance(-0.1, 0.1, 0.2), 1401, "the value must be 0 to 1e100, got -0.1");
        refused(chance(0.1, 0.0, 0.2), 1401, "the standard uncertainty must be 1e-100 to 1e100, got 0.0");
        refused(chance(0.1, 0.1, f64::NAN), 1401, "the limit must be 0 to 1e100, got NaN");
    }
}

#[test]
fn a_wrong_number_keeps_its_own_code() {
    let wrong = Mass::from_grams(f64::NAN).unwrap_err();
    refused(Err::<(), _>(ToleranceError::from(wrong)), 101, &wrong.to_string());
    let far = [Unbalance::from_gram_millimetres(1e100).unwrap(); 2];
    refused(
        combined_error(&far),
        104,
        "unbalance 1.414213562373095e100 g mm is beyond what can be computed with: check the number and its unit",
    );
}

#[test]
fn planes_that_are_one() {
    let planes = |a: f64, b: f64, centre: f64| {
        TolerancePlanes::new(millimetres(a), millimetres(b), millimetres(centre))
    };
    refused(
        planes(25.0, 25.0, 0.0),
        1403,
        "the tolerance planes both lie at 25.0 mm: give two that lie apart",
    );
    refused(planes(0.0, 0.0, 0.0), 1403, "the tolerance planes both lie at 0.0 mm: give two that lie apart");
    assert_eq!(planes(0.3, 0.1 + 0.2, 0.0).unwrap_err().code(), 1403);
    // Seen from so far they are one.
    assert_eq!(planes(0.0, 1e-6, 1e10).unwrap_err().code(), 1403);
    let endless = millimetres(1.0) * f64::INFINITY;
    assert_eq!(TolerancePlanes::new(Length::ZERO, endless, Length::ZERO).unwrap_err().code(), 101);
    assert!(planes(0.0, 0.001, 1000.0).is_ok());
}

#[test]
fn limits_of_shares_and_scales() {
    let rule = "the limits must be 0 or more, the first not above the second";
    refused(ShareLimits::new(0.7, 0.3), 1404, &format!("a share between 0.7 and 0.3: {rule}"));
    refused(ShareLimits::new(-0.1, 0.3), 1404, &format!("a share between -0.1 and 0.3: {rule}"));
    assert!(ShareLimits::new(f64::NAN, 0.3).is_err() && ShareLimits::new(0.3, f64::NAN).is_err());
    assert!(ShareLimits::new(0.3, 0.3).is_ok());

    let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    let rule = "boundaries must be positive, each above the one before it";
    let zones = |boundaries| SeverityZones::new(unit, boundaries, Provenance::CALLER);
    refused(zones([0.0, 1.0, 2.0]), 1405, &format!("boundary 0 of the scale is 0.0: {rule}"));
    refused(zones([1.0, 1.0, 2.0]), 1405, &format!("boundary 1 of the scale is 1.0: {rule}"));
    refused(zones([1.0, 2.0, f64::INFINITY]), 1405, &format!("boundary 2 of the scale is inf: {rule}"));
    let steps = [0.5, f64::NAN].map(|up_to| ScaleStep { up_to, name: "" });
    refused(OwnScale::new(unit, &steps, ""), 1405, &format!("boundary 1 of the scale is NaN: {rule}"));

    refused(
        combined_error(&[g_mm(2.0), g_mm(-3.0)]),
        1406,
        "error 1 is -3.0 g mm: an error must be 0 or more",
    );
    assert_eq!(combined_error(&[]).unwrap(), Unbalance::ZERO);
}

#[test]
fn every_limit_says_where_it_is_from() {
    let kinds = [
        ProvenanceKind::Read,
        ProvenanceKind::FromMemory,
        ProvenanceKind::CommonPractice,
        ProvenanceKind::Caller,
    ];
    assert_eq!(kinds.map(ProvenanceKind::code), [1, 2, 3, 4]);
    let listed = BalanceGrade::G2_5.permissible(kilograms(3.0), rpm(3000.0)).provenance;
    assert_eq!(
        listed.to_string(),
        "ISO 21940-11:2016, Rotor balancing: procedures and tolerances, table 1; from memory, check it against a copy"
    );
    // A value of the caller's own does not become a listed grade by being equal to one.
    let own = BalanceGrade::from_millimetres_per_second(2.5).unwrap();
    assert_eq!(own.permissible(kilograms(3.0), rpm(3000.0)).provenance, Provenance::CALLER);
    let read = journal_rule(kilograms(3.0), rpm(3000.0)).unwrap().provenance;
    assert_eq!((read.kind(), read.source().is_empty()), (ProvenanceKind::Read, false));
}
