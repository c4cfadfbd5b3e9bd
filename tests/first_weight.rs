//! What must hold for every first weight.

// The platform's own functions serve as the independent way here; tolerances cover their last bits.
#![allow(clippy::unwrap_used, clippy::disallowed_methods)]

use core::f64::consts::PI;

use counterpoise::first_weight::{FirstWeight, Polarity, Regime, Sensor, SizeRule};
use counterpoise::{
    Angle, Channel, Detector, Force, Influence, Mass, PhaseSense, Reading, RotorAngle, Speed, SpeedWindow,
    Unbalance, VibrationScale, VibrationUnit,
};
use proptest::prelude::*;
use proptest::sample::select;

const IN_PER_S: VibrationUnit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);

/// Sums of a handful of angles below 360, and arguments of vectors, round to about 1e-13 degrees.
const ROUNDING: f64 = 1e-11;

fn angle(degrees: f64) -> Angle {
    Angle::from_degrees(degrees).unwrap()
}

fn channel(unit: VibrationUnit, phase: PhaseSense, rpm: f64) -> Channel {
    Channel::new(1, unit, phase, SpeedWindow::around_percent(Speed::from_rpm(rpm).unwrap(), 1.0).unwrap())
}

fn reading(amplitude: f64, lead: Angle) -> Reading {
    channel(IN_PER_S, PhaseSense::Lead, 2400.0).reading(amplitude, lead.degrees()).unwrap()
}

fn heavy(reading: &Reading, sensor: Sensor, regime: Regime) -> Angle {
    sensor.heavy_spot(reading, regime).unwrap().unwrap().with_rotation()
}

fn same(one: Angle, other: Angle) -> bool {
    one.separation_degrees(other) <= ROUNDING
}

fn angles() -> impl Strategy<Value = Angle> {
    prop_oneof![
        3 => (0_u32..3_600_000_000).prop_map(|n| angle(f64::from(n) * 1e-7)),
        1 => (0_u32..24).prop_map(|n| angle(f64::from(n) * 15.0)),
    ]
}

fn amplitudes() -> impl Strategy<Value = f64> {
    (1_u32..1_000_000).prop_map(|n| f64::from(n) * 1e-5)
}

fn sensors() -> impl Strategy<Value = Sensor> {
    let polarity = prop_oneof![Just(Polarity::Along), Just(Polarity::Against)];
    (angles(), angles(), polarity).prop_map(|(gamma, tau, polarity)| Sensor::new(gamma, tau, polarity))
}

fn regimes() -> impl Strategy<Value = Regime> {
    prop_oneof![
        Just(Regime::FarBelowResonance),
        Just(Regime::FarAboveResonance),
        angles().prop_map(Regime::Stated),
    ]
}

fn units() -> impl Strategy<Value = VibrationUnit> {
    (select(VibrationScale::ALL), select(Detector::ALL))
        .prop_map(|(scale, detector)| VibrationUnit::new(scale, detector))
}

/// Numbers of any sign and size, and those that are none.
fn wild() -> impl Strategy<Value = f64> {
    prop_oneof![
        8 => (-9_i32..=9, -110_i32..=110).prop_map(|(digit, power)| format!("{digit}e{power}").parse().unwrap()),
        1 => select(vec![0.0, -0.0, f64::MAX, f64::MIN_POSITIVE, f64::from_bits(1), f64::INFINITY, f64::NAN]),
    ]
}

fn rules() -> impl Strategy<Value = SizeRule<'static>> {
    let own = (units(), 1_u32..1_000_000).prop_map(|(unit, n)| {
        let amount = Unbalance::from_gram_millimetres(f64::from(n)).unwrap();
        SizeRule::per_vibration(amount, unit, 1.5, "earlier jobs").unwrap()
    });
    prop_oneof![
        (1_u32..1_000_000)
            .prop_map(|n| SizeRule::static_load(Force::from_newtons(f64::from(n)).unwrap()).unwrap()),
        (1_u32..1_000_000)
            .prop_map(|n| SizeRule::mass_controlled(Mass::from_grams(f64::from(n)).unwrap()).unwrap()),
        own,
    ]
}

/// What a sensor reads off a rotor, worked out in time with plain vectors: the unbalance at `beta` pulls outwards, the
/// machine answers `lead` ahead of the pull, the sensor takes the part along its direction. Returns amplitude and the lag
/// from the pulse to the positive peak.
fn read_in_time(beta: Angle, sensor: Sensor, lead: Angle, sense: f64) -> (f64, Angle) {
    const SAMPLES: u32 = 64;
    let unit = |degrees: f64| (f64::cos(degrees * PI / 180.0), f64::sin(degrees * PI / 180.0));
    let (gx, gy) = unit(sensor.direction.degrees());
    let (mut cosine, mut sine) = (0.0, 0.0);
    for sample in 0..SAMPLES {
        // At the pulse the mark is at the pickup.
        let turned = 360.0 * f64::from(sample) / f64::from(SAMPLES);
        let (x, y) = unit(sensor.pickup.degrees() + turned + beta.degrees() + lead.degrees());
        let output = sense * (x * gx + y * gy);
        let (c, s) = unit(turned);
        cosine += output * c * 2.0 / f64::from(SAMPLES);
        sine += output * s * 2.0 / f64::from(SAMPLES);
    }
    // output = cosine·cos θ + sine·sin θ peaks at θ = atan2(sine, cosine).
    (f64::hypot(cosine, sine), angle(f64::atan2(sine, cosine) * 180.0 / PI))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_heavy_spot_is_where_the_unbalance_is(
        beta in angles(), sensor in sensors(), regime in regimes(), unit in units(),
    ) {
        let lead = regime.response_lead(unit.scale.quantity());
        let sense = if sensor.polarity == Polarity::Along { 1.0 } else { -1.0 };
        let (amplitude, lag) = read_in_time(beta, sensor, lead, sense);
        let reading = channel(unit, PhaseSense::Lag, 2400.0).reading(amplitude, lag.degrees()).unwrap();
        prop_assert!(same(heavy(&reading, sensor, regime), beta));
    }

    #[test]
    fn moving_sensor_or_pickup_leaves_the_heavy_spot(
        amplitude in amplitudes(), lead in angles(), sensor in sensors(), regime in regimes(), moved in angles(),
    ) {
        let spot = heavy(&reading(amplitude, lead), sensor, regime);
        // A sensor further on in the direction of rotation sees the heavy spot later: it reads less lead.
        let further = Sensor { direction: sensor.direction + moved, ..sensor };
        prop_assert!(same(heavy(&reading(amplitude, lead - moved), further, regime), spot));
        // With the pickup further on the pulse comes later: more lead.
        let later = Sensor { pickup: sensor.pickup + moved, ..sensor };
        prop_assert!(same(heavy(&reading(amplitude, lead + moved), later, regime), spot));
        // The other polarity is half a turn of phase.
        let other = if sensor.polarity == Polarity::Along { Polarity::Against } else { Polarity::Along };
        let turned = Sensor { polarity: other, ..sensor };
        prop_assert!(same(heavy(&reading(amplitude, lead.opposite()), turned, regime), spot));
    }

    #[test]
    fn moving_the_mark_renames_the_place_of_the_weight(
        amplitude in amplitudes(), lead in angles(), sensor in sensors(), regime in regimes(), rule in rules(),
        moved in angles(),
    ) {
        // A mark glued on further with rotation comes to the pickup earlier: less lead, and smaller rotor angles.
        let before = FirstWeight::by_rule(&reading(amplitude, lead), &rule, sensor, regime).unwrap();
        let after = FirstWeight::by_rule(&reading(amplitude, lead - moved), &rule, sensor, regime).unwrap();
        let renamed = RotorAngle::from_with_rotation(after.estimate().angle().with_rotation() + moved);
        prop_assert!(same(renamed.with_rotation(), before.estimate().angle().with_rotation()));
        let ratio = after.estimate().amount().gram_millimetres() / before.estimate().amount().gram_millimetres();
        prop_assert!((ratio - 1.0).abs() < 1e-14);
    }

    #[test]
    fn mirroring_every_sense_mirrors_the_place(
        amplitude in amplitudes(), lead in angles(), sensor in sensors(), response in angles(),
    ) {
        let spot = heavy(&reading(amplitude, lead), sensor, Regime::Stated(response));
        let mirrored = Sensor::new(-sensor.direction, -sensor.pickup, sensor.polarity);
        let mirror = heavy(&reading(amplitude, -lead), mirrored, Regime::Stated(-response));
        prop_assert!(same(mirror, -spot));
    }

    #[test]
    fn the_same_motion_in_any_unit_gives_the_same_weight(
        amplitude in amplitudes(), lead in angles(), sensor in sensors(), rule in rules(), unit in units(),
        above in any::<bool>(), rpm in 300_u32..6000,
    ) {
        let rpm = f64::from(rpm);
        let regime = if above { Regime::FarAboveResonance } else { Regime::FarBelowResonance };
        let first = channel(IN_PER_S, PhaseSense::Lead, rpm).reading(amplitude, lead.degrees()).unwrap();
        let converted = IN_PER_S.convert(first.vibration(), unit, Speed::from_rpm(rpm).unwrap());
        let second = channel(unit, PhaseSense::Lead, rpm).reading_of(converted);
        let one = FirstWeight::by_rule(&first, &rule, sensor, regime).unwrap();
        let other = FirstWeight::by_rule(&second, &rule, sensor, regime).unwrap();
        let apart = (one.estimate() - other.estimate()).amount().gram_millimetres();
        prop_assert!(apart <= 1e-12 * one.estimate().amount().gram_millimetres(), "{}", apart);
    }

    #[test]
    fn twice_the_vibration_asks_for_twice_the_estimate_but_no_other_trial(
        amplitude in amplitudes(), lead in angles(), sensor in sensors(), regime in regimes(), rule in rules(),
    ) {
        let once = FirstWeight::by_rule(&reading(amplitude, lead), &rule, sensor, regime).unwrap();
        let twice = FirstWeight::by_rule(&reading(2.0 * amplitude, lead), &rule, sensor, regime).unwrap();
        let whole = once.starting_fraction() == 1.0;
        let expected = once.estimate() * if whole { 1.0 } else { 2.0 };
        let apart = (twice.estimate() - expected).amount().gram_millimetres();
        prop_assert!(apart <= 1e-13 * expected.amount().gram_millimetres());
    }

    #[test]
    fn a_true_coefficient_leaves_nothing(
        amplitude in amplitudes(), lead in angles(), size in 1_u32..1_000_000, turn in angles(),
    ) {
        let reading = reading(amplitude, lead);
        let (sine, cosine) = turn.sin_cos();
        let size = f64::from(size) * 1e-9;
        let influence = Influence::from_components_per_gram_millimetre(size * cosine, size * sine).unwrap();
        let first = FirstWeight::by_influence(&reading, influence, "this machine").unwrap();
        let left = reading.vibration() + influence * first.estimate();
        prop_assert!(left.amplitude() <= 4.0 * f64::EPSILON * amplitude, "{}", left.amplitude());
        // The advised half leaves half.
        let half = reading.vibration() + influence * first.advised();
        prop_assert!((half.amplitude() / amplitude - 0.5).abs() <= 4.0 * f64::EPSILON);
        let heavy = first.heavy_spot().unwrap().with_rotation();
        prop_assert!(same(heavy, first.estimate().angle().with_rotation().opposite()));
    }

    #[test]
    fn any_number_is_taken_or_refused(
        load in wild(), fraction in wild(), factor in wild(), re in wild(), im in wild(), unit in units(),
        sensor in sensors(), speed in -48_i32..=48, amplitude in -320_i32..=99,
    ) {
        // What is taken must give a finite weight, whatever the speed and the reading.
        let speed = Speed::from_rpm(format!("3e{speed}").parse().unwrap()).unwrap();
        let channel = Channel::new(1, unit, PhaseSense::Lag, SpeedWindow::around_percent(speed, 1.0).unwrap());
        let reading = channel.reading(format!("7e{amplitude}").parse().unwrap(), 10.0).unwrap();
        let rules = [
            Force::from_newtons(load).map(|load| SizeRule::static_load_fraction(load, fraction)),
            Force::from_newtons(load).map(SizeRule::static_load),
            Mass::from_grams(load).map(SizeRule::mass_controlled),
            Unbalance::from_gram_millimetres(load)
                .map(|amount| SizeRule::per_vibration(amount, IN_PER_S, factor, "anywhere")),
        ];
        for rule in rules.into_iter().flatten().flatten() {
            if let Ok(first) = FirstWeight::by_rule(&reading, &rule, sensor, Regime::FarAboveResonance) {
                prop_assert!(first.advised().is_finite());
                prop_assert!(first.advised().amount().gram_millimetres() <= 1e100 * (1.0 + 1e-15));
            }
        }
        if let Ok(influence) = Influence::from_components_per_gram_millimetre(re, im) {
            if let Ok(first) = FirstWeight::by_influence(&reading, influence, "anywhere") {
                prop_assert!(first.advised().is_finite());
            }
        }
    }
}
