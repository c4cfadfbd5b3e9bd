//! Any sixty-four bits, in every call that takes a number: no panic, what is answered is a number, and none of it is called
//! well by mistake.

use counterpoise::readiness::{
    BalancingSpeed, BladeAngles, BladeTrack, Facts, Finding, FoundVibration, Later, Question, RatedSpeed,
    Roughness, SpeedInUse,
};
use counterpoise::synchronous::GearRatio;
use counterpoise::tolerance::PropellerLimits;
use counterpoise::{
    DegreesOfFreedom, Detector, Hardware, HoleCircle, HoleRing, Influence, InfluenceMatrix, Length, Limit,
    Mass, Radius, RotorAngle, RotorSense, Scatter, Speed, Vibration, VibrationScale, VibrationUnit,
};
use proptest::prelude::*;

use crate::draws::{Count, channel_of, number, over, pair, pick};

#[test]
fn blades_and_facts() {
    let [reached, well] = [Count::default(), Count::default()];
    let draws =
        (prop::collection::vec(number(), 0..8), [number(), number(), number()], number(), any::<u8>());
    over(40_000, draws, |(values, [a, b, c], d, bits)| {
        let mut facts =
            Facts::default().with_static_balance(bits & 1 == 0).with_phase_turn(a, Limit::of_caller(b));
        if let Ok(angles) = BladeAngles::of_degrees(&values) {
            prop_assert!(angles.spread_degrees() >= 0.0 && angles.standing_out() < values.len());
            let apart: f64 =
                (0..values.len()).filter_map(|blade| angles.apart_from_mean_degrees(blade)).sum();
            // But for roundings, also of the smallest numbers.
            let size: f64 = values.iter().map(|value| value.abs()).sum();
            prop_assert!(apart.abs() <= 1e-14 * size + 1e-320);
            facts = facts.with_angles(angles, Limit::of_caller(a), b);
            reached.one();
        }
        let offsets: Vec<Length> =
            values.iter().filter_map(|&value| Length::from_millimetres(value).ok()).collect();
        let length = |value| Length::from_millimetres(value).unwrap_or(Length::ZERO);
        if let Ok(track) = BladeTrack::of(&offsets) {
            prop_assert!(track.spread().millimetres().is_finite());
            facts = facts.with_track(track, Limit::of_caller(length(b)), length(c));
        }
        let rough = Roughness { half_order: c, half_order_over_once_per_turn: a };
        facts = facts.with_roughness(rough, Limit::of_caller(b));
        if let Ok(gear) = GearRatio::new(u32::from(bits), u32::from(bits / 3)) {
            facts = facts.with_gear(gear, d);
        }
        let unit = VibrationUnit::new(pick(VibrationScale::ALL, bits), pick(Detector::ALL, bits / 7));
        let speeds = [a, b, c].map(Speed::from_rpm);
        if let [Ok(reached), Ok(lowest), Ok(highest)] = speeds {
            if let Ok(rated) = RatedSpeed::new(reached, lowest, highest) {
                facts = facts.with_rated_speed(rated);
            }
            let found = FoundVibration { amplitude: d, unit, speed: reached };
            let limits = PropellerLimits::USUAL.with_good(Limit::of_caller(a));
            facts = facts.with_vibration(found, limits.with_static_first(Limit::of_caller(b)));
            let uses = [lowest, highest].map(|speed| SpeedInUse { speed, share: d });
            if let Ok(Some(BalancingSpeed::At { share, .. })) = BalancingSpeed::advised(&uses) {
                prop_assert!((0.7..=1.0).contains(&share));
            }
        }
        let findings: Vec<Finding> = facts.findings().collect();
        prop_assert!(findings.iter().all(|finding| !finding.to_string().is_empty()));
        let found = |code: i32| findings.iter().any(|finding| finding.code() == code);
        let unknown = |question| findings.contains(&Finding::NotKnown { question });
        // What is called well is so in figures.
        if !found(4) && !unknown(Question::Roughness) {
            prop_assert!((0.0..=b).contains(&a));
            well.one();
        }
        prop_assert!(found(9) || unknown(Question::Resonance) || a.abs() < b);
        // What is neither large nor small is an amplitude.
        if !found(7) && !found(8) && !unknown(Question::Vibration) {
            prop_assert!(d >= 0.0);
        }
        Ok(())
    });
    reached.at_least(5000);
    well.at_least(1000);
}

#[test]
fn later_readings() {
    let [reached, significant] = [Count::default(), Count::default()];
    let draws = (
        [pair(), pair(), pair()],
        [number(), number(), number()],
        [number(), number(), number(), number()],
        prop::collection::vec(0..4_u32, 6),
        any::<u8>(),
    );
    over(40_000, draws, |([v, w, h], [a, b, c], [radius, first, second, deviation], counts, bits)| {
        let Some(channel) = channel_of(1, [2350.0, 1.0], bits) else { return Ok(()) };
        let degrees = match bits % 5 {
            0 => DegreesOfFreedom::Circular(f64::from(bits)),
            1 => DegreesOfFreedom::Full(f64::from(bits % 16)),
            _ => DegreesOfFreedom::Known,
        };
        let covariance = if bits % 2 == 0 { [[a, b], [b, c]] } else { [[a.abs(), 0.0], [0.0, a.abs()]] };
        let Ok(scatter) = Scatter::from_covariance(covariance, degrees) else { return Ok(()) };
        let readings = [v, w].map(|[re, im]| {
            Vibration::from_components(re, im).map(|read| channel.reading_of(read).with_scatter(scatter))
        });
        let [Ok(then), Ok(now)] = readings else { return Ok(()) };
        let Ok(coefficient) = Influence::from_components_per_gram_millimetre(h[0], h[1]) else {
            return Ok(());
        };
        let Ok(influence) = InfluenceMatrix::new(&[channel], 1, &[coefficient]) else { return Ok(()) };
        let Ok(later) = Later::new(&influence, &[then], &[now]) else { return Ok(()) };
        let circle = HoleCircle::new(3, RotorAngle::MARK, RotorSense::WithRotation).unwrap();
        let radius =
            Radius::from_millimetres(radius.abs()).unwrap_or(Radius::from_millimetres(100.0).unwrap());
        let holes = |ring: HoleRing, at: usize| ring.at(at, |hole| hole.mounted(&counts[2 * at..2 * at + 2]));
        let ring = (0..3).fold(HoleRing::even(circle, radius), holes);
        let hardware = [first, second]
            .map(|grams| Hardware::new("piece", Mass::from_grams(grams).unwrap_or(Mass::ZERO)));
        let mut later = later.with_mounted(&[ring], &hardware).unwrap();
        if let Ok(unsure) = later.clone().with_coefficient_deviations(&[deviation]) {
            later = unsure;
        }
        let findings = later.findings();
        prop_assert!((0.0..=1.0).contains(&findings.chance()), "{:?}", later);
        let ranked = findings.ranked();
        prop_assert!(
            ranked.iter().all(|one| one.log10_odds >= 0.0 && one.chi_squared >= 0.0),
            "{:?}",
            findings
        );
        prop_assert!(ranked.windows(2).all(|pair| pair[0].score <= pair[1].score), "{:?}", findings);
        prop_assert!(findings.not_told_apart().count() >= 1);
        prop_assert!(ranked.iter().all(|one| !one.explanation.to_string().is_empty()));
        if let Some(worth) = findings.unbalance_in(0) {
            prop_assert!(
                worth.value().is_finite() && worth.covariance().as_flattened().iter().all(|c| c.is_finite())
            );
        }
        if then == now {
            prop_assert!(findings.chance() > 0.999, "{:?}", findings);
        }
        reached.one();
        if findings.is_significant(0.99) {
            significant.one();
        }
        Ok(())
    });
    reached.at_least(3000);
    significant.at_least(500);
}
