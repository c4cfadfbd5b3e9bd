//! Verdicts against a limit: a worse rotor, a less sure reading, a stricter limit never gets a better one.

use counterpoise::tolerance::{
    GuardBand, accepted_with_error, chance_of_value_within, chance_of_vector_within, combined_error,
    is_negligible,
};
use counterpoise::{Conformity, Unbalance};
use proptest::collection::vec;
use proptest::prelude::*;

use super::{assert_close, g_mm};
use crate::support::cases;

/// From the best on.
fn rank(verdict: Conformity) -> u8 {
    match verdict {
        Conformity::Within => 0,
        Conformity::Undecided => 1,
        Conformity::Outside => 2,
        _ => panic!("{verdict:?} is not known here"),
    }
}

/// A value and a limit near one another, and an uncertainty that is small or large beside them; in 64ths, so that the
/// edges themselves are drawn; and how much each is raised.
fn drawn() -> impl Strategy<Value = [f64; 4]> {
    (1..=400_u32, 1..=400_u32, prop_oneof![0..=25_u32, 0..=400_u32], 1..=60_u32)
        .prop_map(|(value, limit, error, more)| [value, limit, error, more].map(|n| f64::from(n) / 64.0))
}

/// What must hold for any verdict on a value, with an error, against a limit.
fn monotone(
    judge: impl Fn([f64; 3]) -> Conformity,
    [value, limit, error, more]: [f64; 4],
) -> Result<(), TestCaseError> {
    let verdict = judge([value, limit, error]);
    prop_assert!(rank(judge([value + more, limit, error])) >= rank(verdict), "a larger value got better");
    prop_assert!(rank(judge([value, limit + more, error])) <= rank(verdict), "a wider limit made it worse");
    let surer = judge([value, limit, error]);
    let less_sure = judge([value, limit, error + more]);
    prop_assert!(
        less_sure == surer || less_sure == Conformity::Undecided,
        "less sure, yet decided otherwise"
    );
    // A value within is not above the limit, one outside not within it; far from the limit all is decided.
    match verdict {
        Conformity::Within => prop_assert!(value <= limit),
        Conformity::Outside => prop_assert!(value > limit),
        _ => prop_assert!((value - limit).abs() <= error),
    }
    Ok(())
}

proptest! {
    #![proptest_config(cases(5000))]

    #[test]
    fn guard_bands_are_monotone(drawn in drawn()) {
        let judge = |[value, limit, error]: [f64; 3]| GuardBand::new(limit, error).unwrap().verdict(value);
        monotone(judge, drawn)?;
        let [value, limit, error, _] = drawn;
        let band = GuardBand::new(limit, error).unwrap();
        // Where the edges lie, exactly: 64ths.
        prop_assert_eq!(band.verdict(value) == Conformity::Within, value <= band.accepted_up_to());
        prop_assert_eq!(band.verdict(value) == Conformity::Outside, value > band.rejected_above());
        // Without uncertainty all is decided.
        prop_assert_ne!(judge([value, limit, 0.0]), Conformity::Undecided);
    }

    #[test]
    fn acceptance_with_the_error_of_the_balance_is_monotone(drawn in drawn()) {
        let judge = |[value, limit, error]: [f64; 3]| accepted_with_error(g_mm(value), g_mm(limit), g_mm(error));
        monotone(judge, drawn)?;
        let [value, limit, error, _] = drawn;
        let verdict = judge([value, limit, error]);
        if is_negligible(g_mm(error), g_mm(limit)) {
            prop_assert!(error < 0.05 * limit);
            prop_assert_eq!(verdict == Conformity::Within, value <= limit);
        } else {
            prop_assert_eq!(verdict, GuardBand::new(limit, error).unwrap().verdict(value));
        }
        // An amount counts by its size: material to take off is as much unbalance as material to put on.
        prop_assert_eq!(judge([-value, limit, error]), verdict);
        // An error with a sign is none.
        if error > 0.0 {
            prop_assert_eq!(judge([value, limit, -error]), Conformity::Undecided);
            prop_assert!(!is_negligible(g_mm(-error), g_mm(limit)));
        }
    }

    #[test]
    fn chances_are_monotone([value, limit, error, more] in drawn()) {
        // The reference itself holds to 1e-9.
        const SLACK: f64 = 1e-9;
        let u = 0.1 * error + 0.02;
        for chance in [chance_of_vector_within, chance_of_value_within] {
            let here = chance(value, u, limit).unwrap();
            prop_assert!((0.0..=1.0).contains(&here));
            prop_assert!(chance(value + more, u, limit).unwrap() <= here + SLACK);
            prop_assert!(chance(value, u, limit + more).unwrap() >= here - SLACK);
            // One scale for all of it.
            prop_assert!((chance(8.0 * value, 8.0 * u, 8.0 * limit).unwrap() - here).abs() <= SLACK);
        }
        // The component across makes a vector longer, never shorter.
        let [vector, along] = [chance_of_vector_within, chance_of_value_within].map(|of| of(value, u, limit).unwrap());
        prop_assert!(vector <= along + SLACK);
        // With no unbalance found it is the distribution of Rayleigh: 1 − exp(−L²/2u²).
        let none = chance_of_vector_within(0.0, u, limit).unwrap();
        prop_assert!((none - (1.0 - libm::exp(-0.5 * (limit / u) * (limit / u)))).abs() <= SLACK);
    }

    #[test]
    fn errors_combine_as_squares(parts in vec(0..=10_000_u32, 0..=8)) {
        let errors: Vec<Unbalance> = parts.iter().map(|&part| g_mm(f64::from(part))).collect();
        let all = combined_error(&errors).unwrap().gram_millimetres();
        let squares: f64 = parts.iter().map(|&part| f64::from(part) * f64::from(part)).sum();
        assert_close(all * all, squares);
        let with_one_more = [errors.as_slice(), &[g_mm(5.0)]].concat();
        prop_assert!(combined_error(&with_one_more).unwrap().gram_millimetres() > all);
    }
}

#[test]
fn an_uncertainty_with_a_sign_decides_nothing() {
    assert_eq!(Conformity::of(0.13, -0.03, 0.12), Conformity::Undecided);
    assert_eq!(Conformity::of(0.11, -0.03, 0.12), Conformity::Undecided);
    assert_eq!(Conformity::of(0.11, f64::NAN, 0.12), Conformity::Undecided);
    assert_eq!(Conformity::of(0.11, 0.0, 0.12), Conformity::Within);
}

/// The values of the reference vectors' `pass_fail` group stand in the conformance example; these edges do not.
#[test]
fn five_percent_is_not_below_five_percent() {
    let verdict = |measured, error| accepted_with_error(g_mm(measured), g_mm(1000.0), g_mm(error));
    assert_eq!(verdict(1000.0, 49.0), Conformity::Within);
    assert_eq!(verdict(1000.0, 50.0), Conformity::Undecided);
    assert_eq!(verdict(950.0, 50.0), Conformity::Within);
    // Only above the error a user rejects, however small it is.
    assert_eq!(verdict(1049.0, 49.0), Conformity::Undecided);
    assert_eq!(verdict(1050.0, 49.0), Conformity::Outside);
}
