//! Severity of vibration: the same in every unit, and never better for more.

use counterpoise::tolerance::{
    MachineClass, MachineGroup, OwnScale, PropellerLimits, PropellerVibration, ScaleStep, SeverityZones,
    Support, Zone,
};
use counterpoise::{
    Conformity, Detector, Limit, Provenance, Speed, Vibration, VibrationScale, VibrationUnit,
};
use proptest::prelude::*;

use super::{next_above, rpm};
use crate::support::{cases, polar, vibration};

fn every_unit() -> impl Iterator<Item = VibrationUnit> {
    VibrationScale::ALL
        .iter()
        .flat_map(|&scale| Detector::ALL.iter().map(move |&detector| VibrationUnit::new(scale, detector)))
}

fn every_zones(speed: Speed) -> Vec<SeverityZones> {
    let mut all = vec![SeverityZones::shaft_displacement(speed)];
    for group in [MachineGroup::Large, MachineGroup::Medium] {
        for support in [Support::Rigid, Support::Flexible] {
            all.push(SeverityZones::iso_20816_3(group, support));
            all.push(SeverityZones::iso_20816_3_displacement(group, support));
        }
    }
    for class in [MachineClass::I, MachineClass::II, MachineClass::III, MachineClass::IV] {
        all.push(SeverityZones::iso_10816_1(class));
    }
    all
}

/// An odd number of two-thousandths: never on a boundary of a table.
fn amplitudes() -> impl Strategy<Value = f64> {
    prop_oneof![0..=30_000_u32, 0..=300_000_u32].prop_map(|n| f64::from(2 * n + 1) / 2000.0)
}

proptest! {
    #![proptest_config(cases(1500))]

    #[test]
    fn zones_are_the_same_in_every_unit(amplitude in amplitudes(), speed in 60..=60_000_u32, more in 1..=9999_u32) {
        let speed = rpm(f64::from(speed) + 0.37);
        for zones in every_zones(speed) {
            let own = zones.unit();
            let zone = zones.zone_of(amplitude, own, speed);
            // By the definition: how many boundaries lie below.
            let below = zones.boundaries().iter().filter(|&&boundary| boundary < amplitude).count();
            prop_assert_eq!(zone, [Zone::A, Zone::B, Zone::C, Zone::D][below]);
            for unit in every_unit() {
                let stated = own.convert_amplitude(amplitude, unit, speed);
                prop_assert_eq!(zones.zone_of(stated, unit, speed), zone, "{} {}", stated, unit);
            }
            let worse = amplitude * (1.0 + f64::from(more) / 1000.0);
            prop_assert!(zones.zone_of(worse, own, speed) >= zone);
        }
    }

    #[test]
    fn boundaries_may_be_anything_that_rises(steps in [1..=900_u32, 1..=900_u32, 1..=900_u32], at in 0..=2000_u32) {
        let mut sum = 0;
        let boundaries = steps.map(|step| {
            sum += step;
            f64::from(sum)
        });
        let unit = VibrationUnit::new(VibrationScale::Mil, Detector::PeakToPeak);
        let zones = SeverityZones::new(unit, boundaries, Provenance::CALLER).unwrap();
        let (at, speed) = (f64::from(at), rpm(900.0));
        // A boundary belongs to the better zone; the caller's own scale of the same steps says the same.
        let below = boundaries.iter().filter(|&&boundary| boundary < at).count();
        let zone = zones.zone_of(at, unit, speed);
        prop_assert_eq!(zone, [Zone::A, Zone::B, Zone::C, Zone::D][below]);
        let names = ["A", "B", "C"];
        let own: Vec<ScaleStep> =
            boundaries.iter().zip(names).map(|(&up_to, name)| ScaleStep { up_to, name }).collect();
        let scale = OwnScale::new(unit, &own, "D").unwrap();
        prop_assert_eq!(scale.name_of(at, unit, speed), zone.to_string());
        let micrometres = VibrationUnit::new(VibrationScale::Micrometre, Detector::Rms);
        let stated = unit.convert_amplitude(at + 0.5, micrometres, speed);
        prop_assert_eq!(scale.name_of(stated, micrometres, speed), scale.name_of(at + 0.5, unit, speed));
    }

    #[test]
    fn a_change_is_of_the_vector(
        size in 0..=4000_u32, turn in 0..=359_u32, change in 0..=4000_u32, across in 0..=359_u32, speed in 60..=60_000_u32,
    ) {
        let speed = rpm(f64::from(speed));
        let before = polar(f64::from(size) / 500.0, f64::from(turn));
        let change = (2.0 * f64::from(change) + 1.0) / 1000.0;
        let after = before + polar(change, f64::from(across));
        for zones in every_zones(speed) {
            let significant = change > 0.25 * zones.boundaries()[1];
            let says = |before: Vibration, after: Vibration, unit| {
                zones.is_significant_change(before, after, unit, speed)
            };
            let (before, after) = (vibration(before), vibration(after));
            prop_assert_eq!(says(before, after, zones.unit()), significant);
            prop_assert_eq!(says(after, before, zones.unit()), significant);
            prop_assert!(!says(before, before, zones.unit()));
            for unit in every_unit() {
                let [before, after] = [before, after].map(|vector| zones.unit().convert(vector, unit, speed));
                prop_assert_eq!(says(before, after, unit), significant, "{}", unit);
            }
        }
    }

    #[test]
    fn a_propeller_is_judged_by_its_maker_first(
        limits in [1..=160_u32, 1..=160_u32, 1..=160_u32], amplitude in 0..=200_u32, more in 1..=100_u32,
        speed in 300..=4000_u32, at in 0..3_usize,
    ) {
        let speed = rpm(f64::from(speed));
        let [good, most, static_first] = limits.map(|n| f64::from(2 * n) / 128.0);
        let detector = Detector::ALL[at];
        // In any order: a maker's limit may lie below what is usually called good.
        let limits = PropellerLimits::USUAL
            .with_good(Limit::of_caller(good))
            .with_most(Limit::of_caller(most))
            .with_static_first(Limit::of_caller(static_first))
            .in_detector(detector);
        let amplitude = f64::from(2 * amplitude + 1) / 128.0;
        let own = VibrationUnit::new(VibrationScale::InchPerSecond, detector);
        let judged = limits.judge(amplitude, own, speed);
        prop_assert_eq!(judged <= PropellerVibration::Permitted, amplitude <= most);
        prop_assert!(judged != PropellerVibration::Good || amplitude <= good);
        prop_assert!(judged != PropellerVibration::StaticFirst || amplitude > static_first);
        if good <= most && most <= static_first {
            let below = [good, most, static_first].iter().filter(|&&limit| limit < amplitude).count();
            prop_assert_eq!(judged.code(), [1, 2, 3, 4][below]);
        }
        prop_assert!(limits.judge(amplitude + f64::from(more) / 64.0, own, speed) >= judged);
        let verdict = limits.conformity(amplitude, 0.0, own, speed);
        prop_assert_eq!(verdict == Conformity::Within, amplitude <= most);
        for unit in every_unit() {
            let [stated, expanded] = [amplitude, 0.03].map(|value| own.convert_amplitude(value, unit, speed));
            prop_assert_eq!(limits.judge(stated, unit, speed), judged, "{}", unit);
            prop_assert_eq!(
                limits.conformity(stated, expanded, unit, speed),
                limits.conformity(amplitude, 0.03, own, speed),
                "{}", unit
            );
        }
    }
}

#[test]
fn what_is_no_amplitude_is_not_called_good() {
    let (unit, speed) = (VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak), rpm(2400.0));
    let steps = [ScaleStep { up_to: 0.1, name: "good" }];
    let scale = OwnScale::new(unit, &steps, "other").unwrap();
    let rms = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    for amplitude in [f64::NAN, f64::INFINITY, -0.05, f64::NEG_INFINITY] {
        for unit in [unit, rms] {
            for zones in every_zones(speed) {
                assert_eq!(zones.zone_of(amplitude, unit, speed), Zone::D, "{amplitude}");
            }
            let limits = PropellerLimits::USUAL;
            assert_eq!(limits.judge(amplitude, unit, speed), PropellerVibration::StaticFirst, "{amplitude}");
            assert_ne!(limits.conformity(amplitude, 0.01, unit, speed), Conformity::Within, "{amplitude}");
            assert_eq!(scale.name_of(amplitude, unit, speed), "other", "{amplitude}");
        }
    }
    // No vibration at all is an amplitude.
    assert_eq!(every_zones(speed)[0].zone_of(0.0, rms, speed), Zone::A);
    assert_eq!(PropellerLimits::USUAL.judge(0.0, unit, speed), PropellerVibration::Good);
}

#[test]
fn codes_count_from_the_best_on() {
    assert_eq!([Zone::A, Zone::B, Zone::C, Zone::D].map(Zone::code), [1, 2, 3, 4]);
    let judged = [
        PropellerVibration::Good,
        PropellerVibration::Permitted,
        PropellerVibration::Balance,
        PropellerVibration::StaticFirst,
    ];
    assert_eq!(judged.map(PropellerVibration::code), [1, 2, 3, 4]);
    let verdicts = [Conformity::Within, Conformity::Outside, Conformity::Undecided];
    assert_eq!(verdicts.map(Conformity::code), [1, 2, 3]);
}

#[test]
fn an_amplitude_on_a_propellers_limit_belongs_to_the_better_side() {
    let (unit, speed) = (VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak), rpm(2400.0));
    let judged = |amplitude: f64| PropellerLimits::USUAL.judge(amplitude, unit, speed).code();
    assert_eq!([0.1, 0.2, 1.0].map(judged), [1, 2, 3]);
    assert_eq!([0.1, 0.2, 1.0].map(next_above).map(judged), [2, 3, 4]);
    // The verdict's edges, in numbers that are exact: 0.25 less and more 0.0625.
    let limits = PropellerLimits::USUAL.with_most(Limit::of_caller(0.25));
    let verdict = |amplitude: f64| limits.conformity(amplitude, 0.0625, unit, speed);
    assert_eq!([0.1875, 0.3125].map(verdict), [Conformity::Within, Conformity::Undecided]);
    // A little more; the next number alone would be lost in the sum.
    let more = |amplitude: f64| amplitude + 1e-15;
    assert_eq!([0.1875, 0.3125].map(more).map(verdict), [Conformity::Undecided, Conformity::Outside]);
}
