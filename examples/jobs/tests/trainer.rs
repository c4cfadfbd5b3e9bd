//! The record that `balance` plays: it reads, it follows the advice to its end, and it can be written anew.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)] // a test that cannot go on fails
#![allow(clippy::disallowed_methods)] // rounding is exact everywhere

use std::fs;
use std::path::PathBuf;

use counterpoise::job::{
    Action, Advice, AdviceOptions, CheckResult, Entry, ExpectedResponse, Fact, LimitPurpose, Machine,
    MachinePart, MassLimit, Record, RingPurpose, RingUse, Standing, StatedReading, VibrationLimit,
    VisitDrift,
};
use counterpoise::report::Report;
use counterpoise::{
    Channel, Conformity, Convention, Detector, Hardware, HoleCircle, HoleRing, Influence, Mass, PhaseSense,
    Radius, RotorAngle, RotorSense, Speed, SpeedWindow, Vibration, VibrationScale, VibrationUnit, json,
};

fn path() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../data/trainer_job.json")
}

/// An invented aircraft.
fn trainer() -> Machine {
    let convention = Convention { phase: PhaseSense::Lag, rotor: RotorSense::AgainstRotation };
    let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    let window = SpeedWindow::around_percent(Speed::from_rpm(2350.0).unwrap(), 1.0).unwrap();
    let sensor = Channel::new(1, unit, convention.phase, window);
    let ring = |holes, radius| {
        let circle = HoleCircle::new(holes, RotorAngle::MARK, convention.rotor).unwrap();
        HoleRing::even(circle, Radius::from_millimetres(radius).unwrap())
    };
    let grams = |grams| Mass::from_grams(grams).unwrap();
    let washers =
        [("washer A", 0.9), ("washer B", 1.7), ("washer C", 3.1), ("washer D", 5.2), ("washer E", 9.4)]
            .map(|(name, mass)| Hardware::new(name, grams(mass)));
    let spinner = ring(24, 162.0).each(|hole| hole.limit_pieces(3).limit_mass(grams(20.0)));
    let carrier = ring(12, 141.0).each(|hole| hole.limit_pieces(4).limit_mass(grams(25.0)));
    let limit = |purpose, amplitude, source: &str| VibrationLimit::new(0, purpose, amplitude, source);
    Machine::new("The club's trainer, an invented aircraft", convention, &[sensor], &["behind the spinner"])
        .unwrap()
        .of_kind("two-blade wooden propeller of fixed pitch, 74 kW engine without gear")
        .with_part(MachinePart::new("propeller", "P-1043"))
        .with_part(MachinePart::new("engine", "E-2207"))
        .with_holes(&[spinner, carrier], &washers)
        .and_then(|machine| {
            machine.with_ring_use(0, RingUse::new("spinner bulkhead screws", RingPurpose::Temporary))
        })
        .and_then(|machine| {
            machine.with_ring_use(1, RingUse::new("ring-gear carrier", RingPurpose::Permanent))
        })
        .and_then(|machine| machine.with_limit(limit(LimitPurpose::Done, 0.1, "common practice, no source")))
        .and_then(|machine| {
            machine.with_limit(limit(LimitPurpose::StaticFirst, 1.0, "common practice, no source"))
        })
        .and_then(|machine| machine.with_limit(limit(LimitPurpose::Highest, 1.0, "chosen for this job")))
        .and_then(|machine| {
            machine.with_expected_response(ExpectedResponse::new(
                0,
                4e-5,
                4e-4,
                "invented, as the aircraft is",
            ))
        })
        .and_then(|machine| machine.with_drift(VisitDrift::new(0, 0.004, "invented, as the aircraft is")))
        .and_then(|machine| {
            machine.with_mass_limit(MassLimit {
                mass: grams(60.0),
                source: "invented, as the aircraft is".into(),
            })
        })
        .unwrap()
        .with_checks(&["static balance", "blade track", "blade angles", "engine at idle and magneto drop"])
}

/// `v = v0 + h u`, with scatter of every reading and of every visit.
struct Plant {
    v0: Vibration,
    h: Influence,
    seed: u64,
}

impl Plant {
    /// Numbers between −1 and 1 that look drawn (a linear congruential generator, D. Knuth, from memory).
    fn drawn(&mut self) -> f64 {
        self.seed = self.seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        #[allow(clippy::cast_precision_loss)] // 53 bits
        let whole = (self.seed >> 11) as f64;
        whole / 4_503_599_627_370_496.0 - 1.0
    }

    fn run(&mut self, record: &Record, label: &str) -> Fact {
        let on = record.state().mounted()[0];
        let visit = Vibration::from_components(0.006 * self.drawn(), 0.006 * self.drawn()).unwrap();
        let mut readings = Vec::new();
        for _ in 0..4 {
            let noise = Vibration::from_components(0.014 * self.drawn(), 0.014 * self.drawn()).unwrap();
            let truth = self.v0 + self.h * on + visit + noise;
            let phase = truth.phase(PhaseSense::Lag).degrees();
            // As an instrument shows them.
            let rounded = |value: f64, digits: f64| (value * digits).round() / digits;
            let rpm = 2350.0 + (8.0 * self.drawn()).round();
            readings.push(StatedReading::new(
                0,
                rounded(truth.amplitude(), 1000.0),
                rounded(phase, 1.0),
                rpm,
            ));
        }
        Fact::run(label, &readings)
    }
}

fn written() -> Record {
    let mut record = Record::new(trainer());
    let mut plant = Plant {
        v0: Vibration::from_components(-0.31, 0.27).unwrap(),
        h: Influence::from_components_per_gram_millimetre(1.05e-4, -1.32e-4).unwrap(),
        seed: 20_260_503,
    };
    let mut minutes = 9 * 60;
    let mut add = |record: &mut Record, fact: Fact, after: u32| {
        minutes += after;
        record.add(Entry::at(format!("2026-05-03 {:02}:{:02}", minutes / 60, minutes % 60), fact)).unwrap();
    };
    for (what, value) in [
        ("Hours", "1204.6"),
        ("Clocking", "mark on blade 1, at hole 1 of the bulkhead; spinner marked against the bulkhead"),
        ("Sensor", "on the forward case bolt, pointing up; not moved during the job"),
        ("Wind", "head-on, 4 kt"),
    ] {
        add(&mut record, Fact::noted(what, value), 1);
    }
    let found =
        ["on knife edges, within the maker's limit", "1 mm apart", "0.1 deg apart", "even, drop 60 rpm"];
    let checks: Vec<String> = record.machine().checks().to_vec();
    for (what, remark) in checks.into_iter().zip(found) {
        add(&mut record, Fact::checked(what, CheckResult::InOrder, remark), 12);
    }
    let mut labels = ["as found", "trial", "correction", "moved", "again", "and again"].into_iter();
    for _ in 0..20 {
        let advice = Advice::of(&record, &AdviceOptions::default());
        match advice.first().action() {
            Action::Measure | Action::Verify { .. } => {
                let fact = plant.run(&record, labels.next().unwrap());
                add(&mut record, fact, 15);
            }
            action if action.is_stop() => {
                add(
                    &mut record,
                    Fact::checked(
                        "fasteners locked, spinner on at its mark",
                        CheckResult::InOrder,
                        "looked at by two",
                    ),
                    20,
                );
                add(&mut record, Fact::noted("Hours", "1205.3"), 1);
                return record;
            }
            action => {
                for fact in action.facts().unwrap_or_else(|| panic!("{action}")) {
                    add(&mut record, fact, 6);
                }
            }
        }
    }
    panic!("the job did not end");
}

#[test]
#[ignore = "writes the file anew, where the advice has changed on purpose"]
fn write_the_record() {
    fs::write(path(), json::to_text(&written()).unwrap() + "\n").unwrap();
}

#[test]
fn the_record_follows_the_advice_and_ends_within_the_limit() {
    let record = json::record_from_text(&fs::read_to_string(path()).unwrap()).unwrap();
    assert!(record == written(), "run the ignored test that writes it, and look at what changed");
    assert_eq!(Standing::of(&record, 0.95).unwrap().verdict(0), Some(Conformity::Within));
    let advice = Advice::of(&record, &AdviceOptions::default());
    assert!(matches!(advice.first().action(), Action::StopWithinLimit));
    // A trial, a correction and a move: what the issue of a job is.
    assert_eq!(record.state().runs().len(), 4);
    // Nothing is left in the ring for the job only.
    let [spinner, carrier] = record.state().rings() else { panic!() };
    let pieces =
        |ring: &HoleRing| ring.holes().iter().flat_map(|hole| hole.pieces_mounted().to_vec()).sum::<u32>();
    assert_eq!(pieces(spinner), 0);
    assert!(pieces(carrier) > 0);
}

#[test]
fn the_page_stands_alone_and_runs_nothing() {
    let record = json::record_from_text(&fs::read_to_string(path()).unwrap()).unwrap();
    let page = Report::of(&record, 0.95).unwrap().html();
    for part in ["as found", "P-1043", "Signature", "<svg", "common practice, no source", "1205.3"] {
        assert!(page.contains(part), "{part}");
    }
    // Nothing is fetched: the only address is the name of the SVG language.
    let addresses = page.matches("http").count();
    assert_eq!(addresses, page.matches("xmlns=\"http://www.w3.org/2000/svg\"").count());
    assert!(!page.contains("<script") && !page.contains("url("));
    // What a record says is shown, and not taken as a page.
    let mut hostile = Record::new(trainer());
    hostile.add(Fact::noted("<script>alert(1)</script>", "\"><img src=x onerror=alert(1)>")).unwrap();
    let page = Report::of(&hostile, 0.95).unwrap().html();
    assert!(page.contains("&lt;script&gt;") && !page.contains("<script") && !page.contains("<img"));
}
