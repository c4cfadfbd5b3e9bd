//! Drawn machines and histories of a job, and one record that has every field and every fact.
#![allow(dead_code, reason = "each test binary uses a part of it")]
#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "a test that cannot go on fails")]

use counterpoise::job::{
    Change, CheckResult, Entry, ExpectedResponse, Fact, LimitPurpose, Machine, MachinePart, MassLimit,
    Pieces, Record, RingPurpose, RingUse, StatedReading, VibrationLimit, VisitDrift,
};
use counterpoise::{
    Channel, Convention, DegreesOfFreedom, Detector, Hardware, Hole, HoleCircle, HoleRing, Length, Mass,
    PhaseSense, Radius, RotorAngle, RotorSense, Scatter, Speed, SpeedLaw, SpeedWindow, VibrationScale,
    VibrationUnit,
};
use proptest::prelude::*;
use proptest::sample::select;
use proptest::strategy::ValueTree;
use proptest::test_runner::{RngAlgorithm, TestRng, TestRunner};

pub(crate) const CONVENTION: Convention =
    Convention { phase: PhaseSense::Lag, rotor: RotorSense::AgainstRotation };

pub(crate) fn channel(sensor: u16) -> Channel {
    let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    let window = SpeedWindow::around_percent(Speed::from_rpm(2350.0).unwrap(), 1.0).unwrap();
    Channel::new(sensor, unit, CONVENTION.phase, window)
}

pub(crate) fn grams(grams: f64) -> Mass {
    Mass::from_grams(grams).unwrap()
}

pub(crate) fn millimetres(millimetres: f64) -> Radius {
    Radius::from_millimetres(millimetres).unwrap()
}

/// Two planes: eight holes with a large washer in hole 2 as found, and six holes.
pub(crate) fn machine() -> Machine {
    let circle = |count| HoleCircle::new(count, RotorAngle::MARK, CONVENTION.rotor).unwrap();
    let front = HoleRing::even(circle(8), millimetres(100.0)).at(2, |hole| hole.mounted(&[1, 0]));
    let rear = HoleRing::even(circle(6), millimetres(50.0)).in_plane(1);
    Machine::new("stand", CONVENTION, &[channel(1), channel(2)], &["front", "rear"])
        .unwrap()
        .of_kind("two discs")
        .with_part(MachinePart::new("rotor", "R-3"))
        .with_holes(&[front, rear], &[Hardware::new("large", grams(4.0)), Hardware::new("small", grams(1.0))])
        .unwrap()
}

pub(crate) fn read(channel: usize, amplitude: f64, phase_degrees: f64) -> StatedReading {
    StatedReading::new(channel, amplitude, phase_degrees, 2350.0)
}

pub(crate) fn put(hole: usize, item: usize, count: u32) -> Fact {
    Fact::PutOn { ring: 0, hole, pieces: vec![Pieces { item, count }] }
}

pub(crate) fn off(hole: usize, item: usize, count: u32) -> Fact {
    Fact::TakenOff { ring: 0, hole, pieces: vec![Pieces { item, count }] }
}

/// The same to the last bit: a comparison of numbers would take 0 for −0.
pub(crate) fn bits(of: &impl std::fmt::Debug) -> String {
    format!("{of:?}")
}

/// Draws the same in every run.
pub(crate) struct Histories(TestRunner);

impl Histories {
    pub(crate) fn new() -> Self {
        Self(TestRunner::new_with_rng(
            ProptestConfig::default(),
            TestRng::deterministic_rng(RngAlgorithm::ChaCha),
        ))
    }

    pub(crate) fn draw<T: std::fmt::Debug>(&mut self, strategy: &impl Strategy<Value = T>) -> T {
        strategy.new_tree(&mut self.0).unwrap().current()
    }

    /// A record of those drawn facts that can be.
    pub(crate) fn record(&mut self) -> Record {
        let mut record = Record::new(self.draw(&any_machine()));
        for entry in self.draw(&prop::collection::vec(any_entry(), 1..25)) {
            let _ = record.add(entry);
        }
        record
    }
}

/// Any text, control characters and quotes among them.
fn any_words() -> impl Strategy<Value = String> {
    prop_oneof![
        3 => "[a-z \"\\\\]{0,12}",
        1 => prop::collection::vec(any::<char>(), 0..8).prop_map(|all| all.into_iter().collect()),
    ]
}

const SCALES: &[VibrationScale] = VibrationScale::ALL;

fn any_channel(sensor: u16) -> impl Strategy<Value = Channel> {
    let laws = vec![None, Some(SpeedLaw::StiffnessControlled), Some(SpeedLaw::MassControlled)];
    let senses = vec![PhaseSense::Lag, PhaseSense::Lead];
    (select(SCALES), select(Detector::ALL), select(senses), 1.0..30.0_f64, select(laws)).prop_map(
        move |(scale, detector, sense, percent, law)| {
            let window = SpeedWindow::around_percent(Speed::from_rpm(2350.0).unwrap(), percent).unwrap();
            let channel = Channel::new(sensor, VibrationUnit::new(scale, detector), sense, window);
            law.map_or(channel, |law| channel.with_law(law))
        },
    )
}

/// What a hole may say of itself, for two kinds of hardware.
fn any_hole() -> impl Strategy<Value = [Option<u32>; 8]> {
    prop::array::uniform8(prop::option::weighted(0.3, 0..4_u32))
}

fn hole_with(hole: Hole, says: [Option<u32>; 8]) -> Hole {
    let [mass, pieces, height, least, blocked, mounted, fixed, symmetric] = says;
    let hole =
        mass.map_or(hole.clone(), |grams| hole.limit_mass(Mass::from_grams(f64::from(grams)).unwrap()));
    let hole = pieces.map_or(hole.clone(), |most| hole.limit_pieces(most));
    let hole = height.map_or(hole.clone(), |most| {
        hole.limit_height(Length::from_millimetres(f64::from(most) / 3.0).unwrap())
    });
    let hole = least.map_or(hole.clone(), |least| hole.keep_pieces(least));
    let hole = blocked.map_or(hole.clone(), |_| hole.block());
    let hole = mounted.map_or(hole.clone(), |count| hole.mounted(&[count, 1]));
    let hole = fixed.map_or(hole.clone(), |_| hole.fixed());
    symmetric.map_or(hole.clone(), |_| hole.symmetric())
}

fn any_rings() -> impl Strategy<Value = Vec<HoleRing>> {
    (prop::collection::vec(any_hole(), 14), 20.0..300.0_f64, -360.0..360.0_f64).prop_map(
        |(says, radius, first)| {
            let first = CONVENTION.rotor.degrees(first).unwrap();
            let ring = |count, plane, says: &[[Option<u32>; 8]]| {
                let circle = HoleCircle::new(count, first, CONVENTION.rotor).unwrap();
                let mut says = says.iter();
                HoleRing::even(circle, millimetres(radius))
                    .in_plane(plane)
                    .each(|hole| hole_with(hole, *says.next().unwrap()))
            };
            vec![ring(8, 0, &says[..8]), ring(6, 1, &says[8..])]
        },
    )
}

fn any_hardware() -> impl Strategy<Value = Hardware> {
    (any_words(), -9.0..9.0_f64, 0.0..3.0_f64, prop::option::of(0..9_u32)).prop_map(
        |(name, mass, thickness, stock)| {
            let piece = Hardware::new(&name, grams(mass))
                .with_thickness(Length::from_millimetres(thickness).unwrap());
            stock.map_or(piece.clone(), |stock| piece.in_stock(stock))
        },
    )
}

/// A machine with two channels, planes, rings and kinds of hardware; every other field is drawn, or left out.
pub(crate) fn any_machine() -> impl Strategy<Value = Machine> {
    let senses = select(vec![RotorSense::WithRotation, RotorSense::AgainstRotation]);
    let body =
        (any_words(), senses, any_channel(1), any_channel(2), any_rings(), any_hardware(), any_hardware())
            .prop_map(|(name, rotor, first, second, rings, large, small)| {
                let convention = Convention { rotor, ..CONVENTION };
                Machine::new(name, convention, &[first, second], &["front", ""])
                    .unwrap()
                    .with_holes(&rings, &[large, small])
                    .unwrap()
            });
    let purposes = vec![LimitPurpose::Done, LimitPurpose::Highest, LimitPurpose::StaticFirst];
    let limit = (0..2_usize, select(purposes), 1e-3..9.0_f64, any_words()).prop_map(
        |(channel, purpose, amplitude, source)| VibrationLimit::new(channel, purpose, amplitude, source),
    );
    let expected = (0..2_usize, 1e-6..1e-4_f64, 1.0..9.0_f64, any_words()).prop_map(
        |(channel, lowest, ratio, source)| {
            let expected = ExpectedResponse::new(channel, lowest, lowest * ratio, source);
            // Of one plane, or of all.
            if ratio < 5.0 { expected.in_plane(channel) } else { expected }
        },
    );
    let drift = (0..2_usize, 0.0..0.1_f64, 0.0..0.2_f64, any_words()).prop_map(
        |(channel, deviation, share, source)| VisitDrift::new(channel, deviation, source).with_share(share),
    );
    let uses = vec![RingPurpose::Permanent, RingPurpose::Temporary];
    let ring_use = (0..2_usize, any_words(), select(uses));
    let said = (
        prop::option::of(any_words()),
        prop::collection::vec((any_words(), any_words()), 0..3),
        prop::collection::vec(limit, 0..4),
        (prop::collection::vec(expected, 0..3), prop::collection::vec(drift, 0..3)),
        prop::collection::vec(ring_use, 0..3),
        prop::collection::vec((0..2_usize, 20.0..300.0_f64), 0..3),
        prop::option::of((0.0..200.0_f64, any_words())),
        prop::collection::vec(any_words(), 0..3),
        prop::option::of(0.1..9.0_f64),
    );
    (body, said).prop_map(
        |(machine, (kind, parts, limits, (expected, drifts), uses, radii, mass, checks, gear))| {
            let machine = kind.map_or(machine.clone(), |kind| machine.of_kind(kind));
            let machine = parts
                .into_iter()
                .fold(machine, |machine, (name, serial)| machine.with_part(MachinePart::new(name, serial)));
            let machine =
                limits.into_iter().fold(machine, |machine, limit| machine.with_limit(limit).unwrap());
            let machine = expected
                .into_iter()
                .fold(machine, |machine, expected| machine.with_expected_response(expected).unwrap());
            let machine =
                drifts.into_iter().fold(machine, |machine, drift| machine.with_drift(drift).unwrap());
            let machine = uses.into_iter().fold(machine, |machine, (ring, name, purpose)| {
                machine.with_ring_use(ring, RingUse::new(name, purpose)).unwrap()
            });
            let machine = radii.into_iter().fold(machine, |machine, (plane, radius)| {
                machine.with_radius(plane, millimetres(radius)).unwrap()
            });
            let machine = match mass {
                Some((mass, source)) => {
                    machine.with_mass_limit(MassLimit { mass: grams(mass), source }).unwrap()
                }
                None => machine,
            };
            let checks: Vec<&str> = checks.iter().map(String::as_str).collect();
            let machine = machine.with_checks(&checks);
            match gear {
                Some(gear) => machine.geared(gear).unwrap(),
                None => machine,
            }
        },
    )
}

fn any_reading() -> impl Strategy<Value = StatedReading> {
    let amplitude = prop_oneof![8 => 0.0..2.0_f64, 1 => select(vec![0.0, -0.0, 5e-324, 0.1 + 0.2])];
    let phase = prop_oneof![6 => 0.0..360.0_f64, 1 => any::<f64>().prop_filter("finite", |x| x.is_finite())];
    let scatter = (0..4_u8, 1e-3..0.1_f64, -0.9..0.9_f64, 0.5..40.0_f64).prop_map(
        |(kind, sigma, correlation, degrees)| {
            let other = sigma * sigma * correlation;
            let covariance = [[sigma * sigma, other], [other, sigma * sigma]];
            let of = |degrees| Some(Scatter::from_covariance(covariance, degrees).unwrap());
            match kind {
                0 => None,
                1 => Some(Scatter::known(sigma).unwrap()),
                2 => of(DegreesOfFreedom::Circular(degrees)),
                _ => of(DegreesOfFreedom::Full(degrees)),
            }
        },
    );
    (0..2_usize, amplitude, phase, 2330.0..2370.0_f64, scatter).prop_map(
        |(channel, amplitude, phase, rpm, scatter)| StatedReading {
            scatter,
            ..StatedReading::new(channel, amplitude, phase, rpm)
        },
    )
}

/// Any fact on the machines above, most of them possible.
pub(crate) fn any_fact() -> impl Strategy<Value = Fact> {
    let pieces = || {
        prop::collection::vec((0..2_usize, 0..3_u32), 0..3)
            .prop_map(|list| list.into_iter().map(|(item, count)| Pieces { item, count }).collect::<Vec<_>>())
    };
    let run = (any_words(), prop::collection::vec(any_reading(), 1..5))
        .prop_map(|(label, readings)| Fact::run(label, &readings));
    let weight = (0..2_usize, -5.0..30.0_f64, 20.0..200.0_f64, 0.0..360.0_f64).prop_map(
        |(plane, mass, radius, degrees)| Fact::WeightOn {
            plane,
            weight: CONVENTION.weight(grams(mass), millimetres(radius), degrees).unwrap(),
        },
    );
    let changes = vec![Change::Sensor, Change::Mark, Change::Pickup, Change::Rotor, Change::Machine];
    let results = vec![CheckResult::InOrder, CheckResult::NotInOrder, CheckResult::NotDone];
    let plain = prop_oneof![
        4 => run,
        4 => (0..2_usize, 0..6_usize, pieces()).prop_map(|(ring, hole, pieces)| Fact::PutOn { ring, hole, pieces }),
        2 => (0..2_usize, 0..6_usize, pieces()).prop_map(|(ring, hole, pieces)| Fact::TakenOff { ring, hole, pieces }),
        1 => weight,
        1 => (0..20_usize).prop_map(|on| Fact::WeightOff { on }),
        1 => (select(changes), any_words()).prop_map(|(what, remark)| Fact::Changed { what, remark }),
        1 => (any_words(), select(results), any_words())
            .prop_map(|(what, result, remark)| Fact::checked(what, result, remark)),
        // Few names, so that a later line of one name takes the place of an earlier.
        1 => (select(vec!["hours", "by"]), any_words()).prop_map(|(what, value)| Fact::noted(what, value)),
        1 => any_words().prop_map(Fact::remark),
    ];
    (plain, prop::option::weighted(0.2, (0..20_usize, any::<bool>(), any_words()))).prop_map(
        |(fact, amends)| match amends {
            Some((entry, true, why)) => Fact::amend(entry, fact, why),
            Some((entry, false, why)) => Fact::withdraw(entry, why),
            None => fact,
        },
    )
}

pub(crate) fn any_entry() -> impl Strategy<Value = Entry> {
    (any_words(), any_fact()).prop_map(|(when, fact)| Entry::at(when, fact))
}

/// A record that has every field of the machine and every fact.
pub(crate) fn every_field() -> Record {
    let convention = CONVENTION;
    let window = |rpm| SpeedWindow::around_percent(Speed::from_rpm(rpm).unwrap(), 2.0).unwrap();
    let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    let probe = VibrationUnit::new(VibrationScale::Micrometre, Detector::PeakToPeak);
    let channels = [
        Channel::new(1, unit, PhaseSense::Lag, window(2350.0)),
        Channel::new(2, probe, PhaseSense::Lead, window(2350.0)).with_law(SpeedLaw::MassControlled),
    ];
    let circle = HoleCircle::new(6, convention.rotor.degrees(15.0).unwrap(), convention.rotor).unwrap();
    let front = HoleRing::even(circle, millimetres(100.0))
        .each(|hole| hole.limit_pieces(3).limit_mass(grams(12.0)))
        .at(1, |hole| {
            hole.limit_height(Length::from_millimetres(7.5).unwrap()).keep_pieces(1).mounted(&[1, 0])
        })
        .at(2, Hole::block)
        .at(3, |hole| hole.mounted(&[0, 2]).fixed())
        .at(4, Hole::symmetric);
    let washer = Hardware::new("washer", grams(4.0)).with_thickness(Length::from_millimetres(1.6).unwrap());
    let drilled = Hardware::new("drilled", grams(-0.5)).in_stock(10);
    let expected = ExpectedResponse::new(0, 5e-5, 5e-4, "sister machines");
    let machine = Machine::new("geared stand", convention, &channels, &["front", "rear"])
        .unwrap()
        .of_kind("two discs")
        .with_part(MachinePart::new("rotor", "R-3"))
        .with_holes(&[front], &[washer, drilled])
        .and_then(|machine| machine.with_ring_use(0, RingUse::new("screws", RingPurpose::Temporary)))
        .and_then(|machine| machine.with_radius(1, millimetres(140.0)))
        .and_then(|machine| machine.with_limit(VibrationLimit::new(0, LimitPurpose::Done, 1.8, "agreed")))
        .and_then(|machine| machine.with_limit(VibrationLimit::new(0, LimitPurpose::Highest, 18.0, "agreed")))
        .and_then(|machine| {
            machine.with_limit(VibrationLimit::new(1, LimitPurpose::StaticFirst, 90.0, "agreed"))
        })
        .and_then(|machine| machine.with_expected_response(expected.clone()))
        .and_then(|machine| machine.with_expected_response(expected.in_plane(1)))
        .and_then(|machine| machine.with_drift(VisitDrift::new(1, 0.02, "earlier jobs").with_share(0.03)))
        .and_then(|machine| {
            machine.with_mass_limit(MassLimit { mass: grams(120.0), source: "the maker".into() })
        })
        .map(|machine| machine.with_checks(&["bearings", "static balance"]))
        .and_then(|machine| machine.geared(2.43))
        .unwrap();
    let mut record = Record::new(machine);
    let weight = convention.weight(grams(5.5), millimetres(140.0), 10.0).unwrap();
    let covariance = [[4e-4, 1e-4], [1e-4, 2e-4]];
    let repeated = Scatter::from_covariance(covariance, DegreesOfFreedom::Full(5.0)).unwrap();
    let circular =
        Scatter::from_covariance([[1.0, 0.0], [0.0, 1.0]], DegreesOfFreedom::Circular(8.0)).unwrap();
    let facts = [
        Fact::checked("bearings", CheckResult::InOrder, "no play"),
        Fact::checked("static balance", CheckResult::NotDone, ""),
        Fact::noted("hours", "1204.6"),
        Fact::run(
            "as found",
            &[
                StatedReading::new(0, 4.2, 77.25, 2351.0).with_scatter(repeated),
                StatedReading::new(1, 61.0, 359.9, 1900.0).with_scatter(circular),
            ],
        ),
        Fact::PutOn {
            ring: 0,
            hole: 0,
            pieces: vec![Pieces { item: 0, count: 2 }, Pieces { item: 1, count: 1 }],
        },
        Fact::WeightOn { plane: 1, weight },
        Fact::run("trial", &[read(0, 3.9, 12.5).with_scatter(Scatter::known(0.02).unwrap())]),
        Fact::WeightOff { on: 5 },
        Fact::TakenOff { ring: 0, hole: 0, pieces: vec![Pieces { item: 0, count: 1 }] },
        Fact::amend(1, Fact::checked("static balance", CheckResult::NotInOrder, "on knives"), "it was done"),
        Fact::Changed { what: Change::Sensor, remark: "bracket bent".into() },
        Fact::Changed { what: Change::Mark, remark: String::new() },
        Fact::Changed { what: Change::Pickup, remark: String::new() },
        Fact::Changed { what: Change::Machine, remark: "on other mounts".into() },
        Fact::Changed { what: Change::Rotor, remark: "cover back on".into() },
        Fact::remark("calm"),
        Fact::withdraw(11, "the mark stayed"),
    ];
    for (minute, fact) in facts.into_iter().enumerate() {
        record.add(Entry::at(format!("2026-11-25 10:{minute:02}"), fact)).unwrap();
    }
    record
}
