//! Any sixty-four bits, in every call that takes a number: no panic, what is answered is a number, and none of it is called
//! good by mistake.

use counterpoise::tolerance::{
    BalanceGrade, GuardBand, IndexedByHalfTurn, OwnScale, PropellerLimits, PropellerVibration, ScaleStep,
    SeverityZones, ShareLimits, TolerancePlanes, Zone, accepted_with_error, allocate_symmetric,
    chance_of_value_within, chance_of_vector_within, combined_error, is_negligible, journal_rule, naval_rule,
    shop_test_vibration,
};
use counterpoise::{
    Conformity, Detector, Length, Limit, Mass, Provenance, Speed, Unbalance, UnbalanceVector, Vibration,
    VibrationScale, VibrationUnit,
};
use proptest::prelude::*;

use crate::draws::{Count, number, over, pick};

fn unit_of(bits: u8) -> VibrationUnit {
    VibrationUnit::new(pick(VibrationScale::ALL, bits), pick(Detector::ALL, bits / 7))
}

#[test]
fn limits() {
    let reached = Count::default();
    over(40_000, [number(), number(), number(), number()], |[a, b, c, d]| {
        let Ok(speed) = Speed::from_rpm(b.abs()) else { return Ok(()) };
        let shop = shop_test_vibration(speed).value.millimetres();
        prop_assert!(shop > 0.0 && shop <= 0.0254);
        // Not in range any more after arithmetic, now and then.
        let Ok(mass) = Mass::from_grams(a).map(|mass| mass * d) else { return Ok(()) };
        let residual = Unbalance::from_gram_millimetres(c).map(|amount| amount * d);
        let (grams, amount) = (mass.grams(), residual.unwrap_or(Unbalance::ZERO));
        for limit in [journal_rule(mass, speed), naval_rule(mass, speed)].into_iter().flatten() {
            prop_assert!(grams > 0.0 && limit.value.gram_millimetres().is_finite());
            prop_assert!(limit.value.gram_millimetres() >= 0.0);
        }
        if let Ok(grade) = BalanceGrade::of_residual(amount, mass, speed) {
            prop_assert!(grade.millimetres_per_second() > 0.0 && grade.millimetres_per_second().is_finite());
        }
        if let Ok(grade) = BalanceGrade::from_millimetres_per_second(c) {
            let limit = grade.permissible(mass, speed).value.gram_millimetres();
            prop_assert!(limit >= 0.0 && limit.is_finite(), "{} for {:?}", limit, mass);
            let eccentricity = grade.specific_unbalance(speed).value.millimetres();
            prop_assert!(eccentricity >= 0.0 && eccentricity.is_finite());
            reached.one();
        }
        Ok(())
    });
    reached.at_least(5000);
}

#[test]
fn shares() {
    let reached = Count::default();
    over(
        40_000,
        ([number(), number(), number()], [number(), number()], number()),
        |(z, [least, most], amount)| {
            let [a, b, centre] = z.map(|z| Length::from_millimetres(z).unwrap_or(Length::ZERO));
            let Ok(planes) = TolerancePlanes::new(a, b, centre) else { return Ok(()) };
            prop_assert!(planes.shares().iter().all(|share| share.is_finite()));
            let Ok(amount) = Unbalance::from_gram_millimetres(amount) else { return Ok(()) };
            for limits in [ShareLimits::INBOARD, ShareLimits::OVERHUNG, ShareLimits::NONE] {
                let parts = planes.allocate(amount, limits);
                prop_assert!(
                    parts.amounts.iter().all(|part| part.gram_millimetres().is_finite()),
                    "{:?}",
                    planes
                );
            }
            let limits = ShareLimits::new(least, most);
            prop_assert_eq!(limits.is_ok(), least >= 0.0 && least <= most);
            if let Ok(limits) = limits {
                let _ = planes.allocate(amount, limits);
            }
            // Half of the smallest number is none.
            let [one, other] = allocate_symmetric(amount).amounts;
            prop_assert_eq!(one, other);
            prop_assert!((one + other - amount).gram_millimetres().abs() <= 5e-324);
            reached.one();
            Ok(())
        },
    );
    reached.at_least(8000);
}

#[test]
fn verdicts() {
    let reached = Count::default();
    over(40_000, [number(), number(), number(), number()], |[value, error, limit, factor]| {
        let verdict = Conformity::of(value, error, limit);
        if verdict == Conformity::Within {
            prop_assert!(error >= 0.0 && value <= limit);
        }
        if verdict == Conformity::Outside {
            prop_assert!(error >= 0.0 && value > limit);
        }
        if let Ok(band) = GuardBand::new(limit, error) {
            prop_assert_eq!(band.verdict(value), verdict);
            prop_assert!(band.accepted_up_to() <= band.rejected_above());
            reached.one();
        }
        let amount = |value: f64| Unbalance::from_gram_millimetres(value).map(|amount| amount * factor);
        if let (Ok(value), Ok(error), Ok(limit)) = (amount(value), amount(error), amount(limit)) {
            if accepted_with_error(value, limit, error) == Conformity::Within {
                prop_assert!(value.gram_millimetres().abs() <= limit.gram_millimetres());
                prop_assert!(error.gram_millimetres() >= 0.0);
            }
            prop_assert!(!is_negligible(error, limit) || error.gram_millimetres() >= 0.0);
            if let Ok(all) = combined_error(&[value, error]) {
                let parts = [value, error].map(Unbalance::gram_millimetres);
                prop_assert!(parts.iter().all(|&part| part >= 0.0 && part <= all.gram_millimetres()));
            }
            reached.one();
        }
        {
            let chances =
                [chance_of_value_within(value, error, limit), chance_of_vector_within(value, error, limit)];
            for chance in chances.into_iter().flatten() {
                prop_assert!(
                    (0.0..=1.0).contains(&chance),
                    "{} of {} ± {} in {}",
                    chance,
                    value,
                    error,
                    limit
                );
                reached.one();
            }
        }
        Ok(())
    });
    reached.at_least(20_000);
}

#[test]
fn half_turns() {
    let reached = Count::default();
    over(10_000, [number(), number(), number(), number()], |[a, b, c, d]| {
        let vector = UnbalanceVector::from_components_gram_millimetres;
        let (Ok(first), Ok(turned)) = (vector(a, b), vector(c, d)) else { return Ok(()) };
        let parts = IndexedByHalfTurn::of(first, turned);
        prop_assert!(parts.rotor.is_finite() && parts.fixture.is_finite());
        reached.one();
        Ok(())
    });
    reached.at_least(2000);
}

#[test]
fn severity() {
    let reached = Count::default();
    over(
        40_000,
        ([number(), number(), number()], [number(), number(), number()], any::<[u8; 2]>()),
        |(b, [at, change, rpm], bits)| {
            let Ok(speed) = Speed::from_rpm(rpm.abs()) else { return Ok(()) };
            let (own, unit) = (unit_of(bits[0]), unit_of(bits[1]));
            let rises = b[0] > 0.0 && b[1] > b[0] && b[2] > b[1] && b[2] < f64::INFINITY;
            let zones = SeverityZones::new(own, b, Provenance::CALLER);
            prop_assert_eq!(zones.is_ok(), rises);
            let shaft = SeverityZones::shaft_displacement(speed);
            prop_assert!(shaft.boundaries().iter().all(|&boundary| boundary > 0.0 && boundary.is_finite()));
            for zones in [shaft].into_iter().chain(zones) {
                let zone = zones.zone_of(at, unit, speed);
                prop_assert!(at >= 0.0 || zone == Zone::D);
                let vibration = |x: f64| Vibration::from_components(x, 0.0).unwrap_or(Vibration::ZERO);
                let _ = zones.is_significant_change(vibration(at), vibration(change), unit, speed);
                prop_assert!(!zones.is_significant_change(vibration(at), vibration(at), unit, speed));
                reached.one();
            }
            let steps = b.map(|up_to| ScaleStep { up_to, name: "step" });
            if let Ok(scale) = OwnScale::new(own, &steps, "above") {
                prop_assert!(at >= 0.0 || scale.name_of(at, unit, speed) == "above");
            }
            let [good, most, static_first] = b.map(Limit::of_caller);
            let limits =
                PropellerLimits::USUAL.with_good(good).with_most(most).with_static_first(static_first);
            let judged = limits.in_detector(own.detector).judge(at, unit, speed);
            prop_assert!(at >= 0.0 || judged == PropellerVibration::StaticFirst);
            let verdict = limits.conformity(at, change, unit, speed);
            prop_assert!(
                (at >= 0.0 && change >= 0.0) || verdict == Conformity::Undecided,
                "{} ± {}",
                at,
                change
            );
            Ok(())
        },
    );
    reached.at_least(20_000);
}
