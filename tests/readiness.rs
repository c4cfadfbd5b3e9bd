//! Before balancing, and how long it holds: cases by hand, what must not matter, and planted changes found again.

#![cfg(feature = "alloc")]
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)] // a test that cannot go on fails
#![allow(clippy::cast_possible_truncation, clippy::cast_precision_loss, clippy::cast_sign_loss)] // of counts
#![allow(clippy::disallowed_methods)] // the machines of the tests need not have the same bits everywhere

mod support;

#[allow(dead_code, reason = "each test binary uses a part of it")]
#[path = "bad_input/draws.rs"]
mod draws;

#[path = "readiness/any_bits.rs"]
mod any_bits;
#[path = "readiness/later.rs"]
mod later;

use counterpoise::readiness::{
    BalancingSpeed, BladeAngles, BladeTrack, Concern, Facts, Finding, FoundVibration, Moment, Question,
    RatedSpeed, Reminder, Roughness, SpeedInUse,
};
use counterpoise::synchronous::GearRatio;
use counterpoise::tolerance::PropellerLimits;
use counterpoise::{
    Conformity, Detector, Length, Limit, Provenance, ReadinessError, Speed, VibrationScale, VibrationUnit,
};
use support::drawn::Draws;

fn mm(value: f64) -> Length {
    Length::from_millimetres(value).unwrap()
}

fn rpm(value: f64) -> Speed {
    Speed::from_rpm(value).unwrap()
}

#[test]
fn published_limits_of_track() {
    // Aircraft maintenance licence notes, module 17, blade tracking: 1/16 in for metal up to 6 ft, 1/8 in for wood.
    assert_eq!(BladeTrack::METAL_TO_SIX_FEET.value.inches(), 0.0625);
    assert_eq!(BladeTrack::WOOD.value.inches(), 0.125);
}

#[test]
fn track_and_angles_by_hand() {
    // Mean 3.0; spread from 1 to 6.
    let by_hand = track(&[1.0, 2.0, 3.0, 6.0]);
    assert_eq!((by_hand.spread().millimetres(), by_hand.standing_out()), (5.0, 3));
    assert_eq!(by_hand.apart_from_mean(0).unwrap().millimetres(), -2.0);
    assert_eq!(by_hand.apart_from_mean(4), None);
    let by_hand = angles(&[17.5, 18.0, 18.25]);
    assert_eq!((by_hand.spread_degrees(), by_hand.standing_out()), (0.75, 0));
}

#[test]
fn what_must_not_matter_for_blades_does_not() {
    let mut draws = Draws::new(1);
    for _ in 0..2000 {
        let blades = 2 + draws.below(5);
        let offsets: Vec<f64> = (0..blades).map(|_| draws.between(-5.0, 5.0)).collect();
        let plain = track(&offsets);
        // The fixed point they are measured from.
        let shift = draws.between(-100.0, 100.0);
        let shifted = track(&offsets.iter().map(|offset| offset + shift).collect::<Vec<_>>());
        assert!((shifted.spread() - plain.spread()).millimetres().abs() < 1e-12);
        let apart = |track: &BladeTrack, blade| track.apart_from_mean(blade).unwrap().millimetres();
        for blade in 0..blades {
            assert!((apart(&shifted, blade) - apart(&plain, blade)).abs() < 1e-12);
        }
        // Which blade is called the first.
        let by = draws.below(blades);
        let mut turned = offsets.clone();
        turned.rotate_left(by);
        let turned = track(&turned);
        assert_eq!(turned.spread(), plain.spread());
        let (one, other) = (turned.standing_out(), plain.standing_out());
        // Two blades stand out alike: the first is named.
        assert!(blades == 2 || (one + by) % blades == other);
        // The verdict is monotone in the limit and in the uncertainty.
        let order = |verdict| match verdict {
            Conformity::Within => 0,
            Conformity::Undecided => 1,
            _ => 2,
        };
        let (limit, u) = (draws.between(0.1, 12.0), draws.between(0.0, 2.0));
        let verdict = order(plain.conformity(mm(limit), mm(u)));
        assert!(order(plain.conformity(mm(limit + 1.0), mm(u))) <= verdict);
        let less_sure = order(plain.conformity(mm(limit), mm(u + 1.0)));
        assert!(less_sure == verdict || less_sure == 1);
    }
}

const PEAK: VibrationUnit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);

fn track(offsets: &[f64]) -> BladeTrack {
    BladeTrack::of(&offsets.iter().map(|&offset| mm(offset)).collect::<Vec<_>>()).unwrap()
}

fn angles(degrees: &[f64]) -> BladeAngles {
    BladeAngles::of_degrees(degrees).unwrap()
}

fn rough(ratio: f64) -> Roughness {
    Roughness { half_order: 0.5, half_order_over_once_per_turn: ratio }
}

fn found(amplitude: f64, unit: VibrationUnit) -> FoundVibration {
    FoundVibration { amplitude, unit, speed: rpm(2350.0) }
}

fn reached(speed: f64) -> RatedSpeed {
    RatedSpeed::new(rpm(speed), rpm(2250.0), rpm(2400.0)).unwrap()
}

/// States a fact.
type State = fn(Facts) -> Facts;

/// Every fact, all well, by the question that it answers.
fn all_well_by_question() -> [(Question, State); 8] {
    [
        (Question::StaticBalance, |facts| facts.with_static_balance(true)),
        (Question::Track, |facts| {
            facts.with_track(track(&[0.0, 0.4, 0.2]), BladeTrack::METAL_TO_SIX_FEET, mm(0.2))
        }),
        (Question::Angles, |facts| {
            facts.with_angles(angles(&[18.0, 18.05, 18.1]), BladeAngles::COMMON_PRACTICE_DEGREES, 0.05)
        }),
        (Question::Roughness, |facts| facts.with_roughness(rough(0.3), Roughness::COMMON_PRACTICE)),
        (Question::Orders, |facts| facts.with_gear(GearRatio::new(243, 100).unwrap(), 200.0)),
        (Question::RatedSpeed, |facts| facts.with_rated_speed(reached(2300.0))),
        (Question::Vibration, |facts| facts.with_vibration(found(0.45, PEAK), PropellerLimits::USUAL)),
        (Question::Resonance, |facts| facts.with_phase_turn(0.4, Finding::RESONANCE_NEAR_FROM)),
    ]
}

fn all_well() -> Facts {
    all_well_by_question().iter().fold(Facts::default(), |facts, (_, state)| state(facts))
}

#[test]
fn nothing_is_found_where_all_is_well_and_everything_where_nothing_is() {
    assert_eq!(all_well().findings().count(), 0);
    let codes: Vec<i32> = Facts::default()
        .findings()
        .map(|finding| match finding {
            Finding::NotKnown { question } => question.code(),
            other => panic!("{other}"),
        })
        .collect();
    assert_eq!(codes, [1, 2, 3, 4, 5, 6, 7, 8]);
}

#[test]
fn each_question_is_answered_by_its_own_fact() {
    let texts = [
        "not known: whether it is balanced statically",
        "not known: whether the blades track",
        "not known: whether the blades are set alike",
        "not known: whether the engine runs evenly",
        "not known: whether an order of the crank falls beside once per turn",
        "not known: whether the engine reaches its static speed",
        "not known: how large the vibration is",
        "not known: whether a resonance is near",
    ];
    for (left_out, text) in all_well_by_question().map(|(question, _)| question).into_iter().zip(texts) {
        let stated = all_well_by_question().into_iter().filter(|(question, _)| *question != left_out);
        let facts = stated.fold(Facts::default(), |facts, (_, state)| state(facts));
        let findings: Vec<Finding> = facts.findings().collect();
        assert_eq!(findings, [Finding::NotKnown { question: left_out }]);
        assert_eq!((findings[0].code(), findings[0].concern()), (10, Concern::Unknown));
        assert_eq!(findings[0].to_string(), text);
    }
}

type NotWell = (State, i32, Concern, &'static str);

/// Every fact that is not well, with its code, how much it weighs, and how it reads.
fn not_well() -> Vec<NotWell> {
    vec![
        (
            |facts| facts.with_static_balance(false),
            1,
            Concern::Hinders,
            "it is not balanced statically: do that first",
        ),
        (
            |facts| facts.with_track(track(&[0.0, 0.4, 2.4]), BladeTrack::METAL_TO_SIX_FEET, mm(0.2)),
            2,
            Concern::Hinders,
            "the blade tips spread over 2.40 mm, blade 3 most, above the limit of 1.59 mm (aircraft maintenance licence notes, module 17, blade tracking: metal, up to 6 ft): put the track right first",
        ),
        (
            |facts| facts.with_track(track(&[0.0, 0.4, 2.4]), Limit::of_caller(mm(2.5)), mm(0.2)),
            2,
            Concern::Caution,
            "the blade tips spread over 2.40 mm, blade 3 most; the limit of 2.50 mm (stated by the caller) lies inside the uncertainty: measure more closely",
        ),
        (
            |facts| {
                facts.with_angles(angles(&[18.0, 18.1, 18.6]), BladeAngles::COMMON_PRACTICE_DEGREES, 0.05)
            },
            3,
            Concern::Hinders,
            "the blade angles spread over 0.60 deg, blade 3 most, above the limit of 0.20 deg (common practice, no source): set them alike first",
        ),
        (
            |facts| facts.with_angles(angles(&[18.0, 18.1, 18.6]), Limit::of_caller(0.6), 0.05),
            3,
            Concern::Caution,
            "the blade angles spread over 0.60 deg, blade 3 most; the limit of 0.60 deg (stated by the caller) lies inside the uncertainty: measure more closely",
        ),
        (
            |facts| facts.with_roughness(rough(2.25), Roughness::COMMON_PRACTICE),
            4,
            Concern::Hinders,
            "order 0.5 of the crank is 2.25 times as strong as once per turn, above 1.00 (common practice, no source): a misfire is not an unbalance, look at the engine first",
        ),
        (
            |facts| facts.with_roughness(rough(f64::INFINITY), Roughness::COMMON_PRACTICE),
            4,
            Concern::Hinders,
            "order 0.5 of the crank is inf times as strong as once per turn, above 1.00 (common practice, no source): a misfire is not an unbalance, look at the engine first",
        ),
        (
            |facts| facts.with_gear(GearRatio::new(2, 1).unwrap(), 200.0),
            5,
            Concern::Caution,
            "order 0.5 of the crank comes 1.000 times per turn of the propeller, too near to once to be told apart: record for longer, or expect it to come and go",
        ),
        (
            |facts| facts.with_rated_speed(reached(2249.7)),
            6,
            Concern::Hinders,
            "the engine reached 2249.7 rpm, and should reach 2250.0 rpm to 2400.0 rpm: find out why first",
        ),
        (
            |facts| facts.with_vibration(found(1.3, PEAK), PropellerLimits::USUAL),
            7,
            Concern::Hinders,
            "1.30 in/s peak is above 1.00 in/s peak (common practice, no source): balance statically first, and look for damage",
        ),
        (
            // 30 mm/s r.m.s. are 30 √2/25.4 = 1.670 in/s peak (by hand).
            |facts| {
                let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
                facts.with_vibration(found(30.0, unit), PropellerLimits::USUAL)
            },
            7,
            Concern::Hinders,
            "30.00 mm/s RMS (1.67 in/s peak) is above 1.00 in/s peak (common practice, no source): balance statically first, and look for damage",
        ),
        (
            |facts| {
                let limits = PropellerLimits::USUAL.with_good(Limit::of_caller(0.08));
                facts.with_vibration(found(0.07, PEAK), limits)
            },
            8,
            Concern::Caution,
            "0.07 in/s peak is a good result already, at or below 0.08 in/s peak (stated by the caller): more may do no good",
        ),
        (
            |facts| facts.with_phase_turn(-6.5, Finding::RESONANCE_NEAR_FROM),
            9,
            Concern::Caution,
            "the phase turns by -6.5 deg per percent of speed, 3.0 or more (common practice, no source): hold the speed closely, or choose another",
        ),
    ]
}

#[test]
fn each_fact_that_is_not_well_is_found_with_its_figure_and_source() {
    for (state, code, concern, text) in not_well() {
        let findings: Vec<Finding> = state(all_well()).findings().collect();
        assert_eq!(findings.len(), 1, "{findings:?}");
        assert_eq!((findings[0].code(), findings[0].concern()), (code, concern));
        assert_eq!(findings[0].to_string(), text);
        assert!(!text.contains("safe") && !text.contains("airworthy"));
    }
}

#[test]
fn the_order_in_which_facts_are_stated_does_not_matter_and_findings_stand_by_concern() {
    let mut draws = Draws::new(3);
    let mut several = 0;
    for _ in 0..2000 {
        let well = all_well_by_question();
        let mut stated: Vec<State> = Vec::new();
        for (question, state) in well {
            match draws.below(3) {
                0 => {}
                1 => stated.push(state),
                _ => {
                    let bad: Vec<_> =
                        not_well().into_iter().filter(|(_, code, ..)| answers(*code) == question).collect();
                    stated.push(bad[draws.below(bad.len())].0);
                }
            }
        }
        let all = |stated: &[State]| -> Vec<Finding> {
            stated.iter().fold(Facts::default(), |facts, state| state(facts)).findings().collect()
        };
        let findings = all(&stated);
        for at in (1..stated.len()).rev() {
            stated.swap(at, draws.below(at + 1));
        }
        assert_eq!(all(&stated), findings);
        assert!(findings.windows(2).all(|pair| pair[0].concern() <= pair[1].concern()), "{findings:?}");
        several += usize::from(findings.iter().any(|finding| finding.concern() != findings[0].concern()));
    }
    assert!(several > 1000, "{several}");
}

/// The question to which a finding with this code is an answer.
fn answers(code: i32) -> Question {
    match code {
        1 => Question::StaticBalance,
        2 => Question::Track,
        3 => Question::Angles,
        4 => Question::Roughness,
        5 => Question::Orders,
        6 => Question::RatedSpeed,
        7 | 8 => Question::Vibration,
        _ => Question::Resonance,
    }
}

#[test]
fn a_figure_that_is_no_figure_is_not_known() {
    let well = all_well();
    let usual = PropellerLimits::USUAL;
    let cases = [
        (well.with_roughness(rough(f64::NAN), Roughness::COMMON_PRACTICE), Question::Roughness),
        (well.with_roughness(rough(-1.0), Roughness::COMMON_PRACTICE), Question::Roughness),
        (well.with_gear(GearRatio::new(2, 1).unwrap(), f64::NAN), Question::Orders),
        (well.with_gear(GearRatio::new(2, 1).unwrap(), f64::INFINITY), Question::Orders),
        (well.with_gear(GearRatio::new(2, 1).unwrap(), 0.0), Question::Orders),
        (well.with_vibration(found(f64::NAN, PEAK), usual), Question::Vibration),
        (well.with_vibration(found(-0.1, PEAK), usual), Question::Vibration),
        (well.with_phase_turn(f64::NAN, Finding::RESONANCE_NEAR_FROM), Question::Resonance),
    ];
    for (facts, question) in cases {
        assert_eq!(facts.findings().collect::<Vec<_>>(), [Finding::NotKnown { question }]);
    }
    // A limit that is no figure calls nothing well.
    let no_limit = Limit::of_caller(f64::NAN);
    for facts in [
        well.with_roughness(rough(0.1), no_limit),
        well.with_angles(angles(&[18.0, 18.0]), no_limit, 0.0),
        well.with_angles(angles(&[18.0, 18.0]), Limit::of_caller(0.2), f64::NAN),
        well.with_angles(angles(&[18.0, 18.0]), Limit::of_caller(0.2), -0.1),
        well.with_phase_turn(0.0, no_limit),
    ] {
        assert_eq!(facts.findings().count(), 1, "{facts:?}");
    }
}

#[test]
fn the_speed_to_balance_at() {
    let uses = |shares: &[f64]| -> Vec<SpeedInUse> {
        shares
            .iter()
            .enumerate()
            .map(|(at, &share)| SpeedInUse { speed: rpm(2000.0 + 100.0 * at as f64), share })
            .collect()
    };
    let advised = |shares: &[f64]| BalancingSpeed::advised(&uses(shares)).unwrap();
    assert_eq!(advised(&[]), None);
    assert_eq!(advised(&[1.0, 8.0, 1.0]), Some(BalancingSpeed::At { speed: rpm(2100.0), share: 0.8 }));
    assert_eq!(advised(&[5.0, 4.0]), Some(BalancingSpeed::AllWithWeights));
    assert_eq!(BalancingSpeed::advised(&uses(&[1.0, -1.0])).unwrap_err().code(), 1453);
    assert_eq!(
        BalancingSpeed::advised(&uses(&[0.0])).unwrap_err().to_string(),
        "the sum of all shares must be positive, got 0.0"
    );
}

#[test]
fn refusals_to_the_letter() {
    let texts = [
        (BladeTrack::of(&[mm(0.0); 7]).unwrap_err(), 1451, "7 blades: give a value for each of 2 to 6"),
        (
            BladeAngles::of_degrees(&[1.0, f64::INFINITY]).unwrap_err(),
            1452,
            "the value of blade 2 is inf: measure it again",
        ),
        (
            RatedSpeed::new(rpm(1.0), rpm(3.0), rpm(2.0)).unwrap_err(),
            1454,
            "speeds from 3.0 to 2.0 rpm are no range: the second must not be below the first",
        ),
    ];
    for (error, code, text) in texts {
        let error: ReadinessError = error;
        assert_eq!((error.code(), error.to_string().as_str()), (code, text));
    }
}

#[test]
fn reminders_are_all_different_and_say_why() {
    let mut codes: Vec<i32> = Reminder::ALL.iter().map(|reminder| reminder.code()).collect();
    assert_eq!(codes.len(), 23);
    codes.dedup();
    assert_eq!(codes, (1..=23).collect::<Vec<i32>>());
    for reminder in Reminder::ALL {
        assert!(reminder.text() != reminder.reason() && reminder.reason().len() > 10);
        assert_eq!(reminder.provenance(), Provenance::COMMON_PRACTICE);
        for never in ["safe", "airworthy"] {
            assert!(!reminder.text().contains(never) && !reminder.reason().contains(never));
        }
    }
    let before_touching: Vec<Reminder> = (Reminder::ALL.iter().copied())
        .filter(|reminder| reminder.moment() == Moment::AfterEveryRun && reminder.can_hurt())
        .collect();
    assert_eq!(before_touching, [Reminder::IgnitionOff, Reminder::LockedOut]);
    assert_eq!(Question::Track.to_string(), "whether the blades track");
}
