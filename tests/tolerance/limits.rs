//! How limits follow mass, speed and grade.

use counterpoise::tolerance::{BalanceGrade, SeverityZones, journal_rule, naval_rule, shop_test_vibration};
use counterpoise::{Mass, Speed};
use proptest::prelude::*;

use super::{assert_close, kilograms, next_above, rpm};
use crate::support::cases;

/// A mass from 1 g to 1000 t, a speed from 1 to 200,000 rpm, a grade from 0.01 to 10,000 mm/s.
fn rotors() -> impl Strategy<Value = (Mass, Speed, BalanceGrade)> {
    (1..=1_000_000_u32, 0..=6_u32, 1..=200_000_u32, 1..=1_000_000_u32).prop_map(
        |(mass, tens, speed, grade)| {
            let mass = f64::from(mass) / f64::from(10_u32.pow(tens)) + 0.001;
            let grade = BalanceGrade::from_millimetres_per_second(f64::from(grade) / 100.0);
            (kilograms(mass), rpm(f64::from(speed)), grade.unwrap())
        },
    )
}

fn times(speed: Speed, factor: f64) -> Speed {
    rpm(speed.rpm() * factor)
}

proptest! {
    #![proptest_config(cases(2000))]

    #[test]
    fn grades_follow_mass_speed_and_grade((mass, speed, grade) in rotors(), part in 1..=999_u32) {
        let amount = |grade: BalanceGrade, mass: Mass, speed: Speed| {
            grade.permissible(mass, speed).value.gram_millimetres()
        };
        let whole = amount(grade, mass, speed);
        prop_assert!(whole > 0.0);
        // Twice the mass twice the limit, twice the speed half, twice the grade twice: exact in powers of two.
        prop_assert_eq!(amount(grade, mass * 2.0, speed), 2.0 * whole);
        prop_assert_eq!(amount(grade, mass, times(speed, 2.0)), 0.5 * whole);
        let mm_s = grade.millimetres_per_second();
        let double = BalanceGrade::from_millimetres_per_second(2.0 * mm_s).unwrap();
        prop_assert_eq!(amount(double, mass, speed), 2.0 * whole);
        // Any factor, but for rounding.
        let factor = f64::from(part) / 100.0;
        assert_close(amount(grade, mass * factor, speed), factor * whole);
        assert_close(amount(grade, mass, times(speed, factor)), whole / factor);
        // By hand, from revolutions: U [g mm] = G m / (2 π n/60), m in g
        let by_hand = mm_s * mass.grams() * 60.0 / (2.0 * core::f64::consts::PI * speed.rpm());
        assert_close(whole, by_hand);
        // The specific unbalance is the same for every mass, e [mm] = U [g mm]/m [g].
        assert_close(grade.specific_unbalance(speed).value.millimetres(), whole / mass.grams());
        // A rotor that keeps just so much has just that grade; one with less has a finer one.
        let kept = grade.permissible(mass, speed).value;
        let back = BalanceGrade::of_residual(kept, mass, speed).unwrap();
        assert_close(back.millimetres_per_second(), mm_s);
        prop_assert!(BalanceGrade::of_residual(kept * 0.9, mass, speed).unwrap() < grade);
        prop_assert!(BalanceGrade::of_residual(kept, mass * 2.0, speed).unwrap() < grade);
        prop_assert!(BalanceGrade::of_residual(kept, mass, times(speed, 2.0)).unwrap() > grade);
        // The centrifugal force at the limit is that of the mass at the speed of its centre: F = m G Ω.
        let force = kept.centrifugal_force(speed).newtons();
        assert_close(force, mass.kilograms() * mm_s / 1000.0 * speed.radians_per_second());
    }

    #[test]
    fn other_rules_follow_mass_and_speed((mass, speed, _) in rotors()) {
        let journal = |mass: Mass, speed: Speed| {
            journal_rule(mass, speed).unwrap().value.gram_millimetres()
        };
        let whole = journal(mass, speed);
        // Exactly 6350 W/N in g mm, W in kg: 4 oz in/lb are 4 · 25.4/16 · 1000 g mm/kg.
        assert_close(whole, 6350.0 * mass.kilograms() / speed.rpm());
        assert_close(journal(mass * 3.0, speed), 3.0 * whole);
        assert_close(journal(mass, times(speed, 3.0)), whole / 3.0);
        // The same grade whatever the rotor: 6350 · 2π/60 / 1000 mm/s.
        let grade = BalanceGrade::of_residual(journal_rule(mass, speed).unwrap().value, mass, speed);
        assert_close(grade.unwrap().millimetres_per_second(), 6.35 * core::f64::consts::PI / 30.0);

        let naval = |mass: Mass, speed: Speed| naval_rule(mass, speed).unwrap().value.gram_millimetres();
        let whole = naval(mass, speed);
        assert_close(naval(mass * 3.0, speed), 3.0 * whole);
        // A faster rotor never may keep more, but for the step that the rule has at 150 rpm.
        let faster = naval(mass, times(speed, 1.25));
        prop_assert!(faster <= whole * 1.005);
        if speed.rpm() > 1000.0 {
            prop_assert_eq!(whole, journal(mass, speed));
        } else if speed.rpm() > 150.0 {
            // 4000 W/N² is 4 W/N times 1000/N.
            assert_close(whole, journal(mass, speed) * 1000.0 / speed.rpm());
        } else {
            prop_assert_eq!(whole, naval(mass, rpm(1.0)));
        }

        let shop = |speed: Speed| shop_test_vibration(speed).value.mils();
        prop_assert!(shop(speed) <= 1.0 && shop(times(speed, 1.1)) <= shop(speed));
        if speed.rpm() >= 12_000.0 {
            prop_assert_eq!(shop(times(speed, 4.0)), 0.5 * shop(speed));
        } else {
            prop_assert_eq!(shop(speed), 1.0);
        }
        let shaft = |speed: Speed| SeverityZones::shaft_displacement(speed).boundaries();
        let [slow, fast] = [shaft(speed), shaft(times(speed, 4.0))];
        prop_assert_eq!(fast, slow.map(|boundary| 0.5 * boundary));
        let root = slow.map(|boundary| boundary * libm::sqrt(speed.rpm()));
        root.into_iter().zip([4800.0, 9000.0, 13_200.0]).for_each(|(got, want)| assert_close(got, want));
    }
}

#[test]
fn the_ranges_of_the_naval_rule_meet_where_they_should() {
    let mass = Mass::from_pounds(1000.0).unwrap();
    let at = |value: f64| naval_rule(mass, rpm(value)).unwrap().value.ounce_inches();
    // Both ends belong to the slower range; at 150 rpm there is a step of 0.4 %, at 1000 rpm none.
    assert_close(at(150.0), 177.0);
    assert_close(at(next_above(150.0)), 4000.0 * 1000.0 / 22_500.0);
    assert_close(at(1000.0), 4.0);
    assert_close(at(next_above(1000.0)), 4.0);
}

#[test]
fn a_rotor_without_mass_may_keep_nothing() {
    let grade = BalanceGrade::G6_3;
    for mass in [Mass::ZERO, -kilograms(3.0), kilograms(1.0) * f64::INFINITY, kilograms(1.0) * f64::NAN] {
        assert_eq!(grade.permissible(mass, rpm(3000.0)).value.gram_millimetres(), 0.0, "{mass:?}");
    }
}

#[test]
fn the_list_of_grades_rises() {
    for pair in BalanceGrade::LISTED.windows(2) {
        assert!(pair[0] < pair[1]);
        // Steps of about 2.5, as of preferred numbers.
        let step = pair[1].millimetres_per_second() / pair[0].millimetres_per_second();
        assert!((2.45..2.6).contains(&step), "{step}");
    }
}
