//! The report of a job: what it says follows from the record, and nothing in it is left out or made up.

#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic)] // a test that cannot go on fails

use counterpoise::job::{
    CheckResult, Fact, LimitPurpose, Machine, MachinePart, Pieces, Record, RingPurpose, RingUse, Standing,
    StatedReading, VibrationLimit,
};
use counterpoise::report::Report;
use counterpoise::{
    Channel, Convention, Detector, Hardware, HoleCircle, HoleRing, Mass, PhaseSense, Radius, RotorAngle,
    RotorSense, Speed, SpeedWindow, VibrationScale, VibrationUnit,
};

fn machine(phase: PhaseSense, rotor: RotorSense) -> Machine {
    let convention = Convention { phase, rotor };
    let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0).unwrap(), 1.0).unwrap();
    let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, phase, window));
    let circle = HoleCircle::new(8, RotorAngle::MARK, rotor).unwrap();
    let ring =
        HoleRing::even(circle, Radius::from_millimetres(100.0).unwrap()).each(|hole| hole.limit_pieces(3));
    let washers = [("large", 4.0), ("small", 1.0)]
        .map(|(name, mass)| Hardware::new(name, Mass::from_grams(mass).unwrap()));
    Machine::new("fan 3", convention, &channels, &["drive side", "free side"])
        .unwrap()
        .of_kind("overhung")
        .with_part(MachinePart::new("impeller", "I-77"))
        .with_holes(&[ring.clone(), ring.in_plane(1)], &washers)
        .and_then(|machine| machine.with_ring_use(1, RingUse::new("rim", RingPurpose::Permanent)))
        .and_then(|machine| {
            machine.with_limit(VibrationLimit::new(0, LimitPurpose::Done, 1.4, "the plant's standing order"))
        })
        .unwrap()
        .with_checks(&["bearings", "belt"])
}

fn thrice(channel: usize, amplitude: f64, phase: f64) -> Vec<StatedReading> {
    [-0.02, 0.0, 0.02]
        .map(|off| StatedReading::new(channel, amplitude + off, phase + 40.0 * off, 1480.0))
        .to_vec()
}

fn put(ring: usize, hole: usize, item: usize, count: u32) -> Fact {
    Fact::PutOn { ring, hole, pieces: vec![Pieces { item, count }] }
}

fn both(one: (f64, f64), other: (f64, f64)) -> Vec<StatedReading> {
    [thrice(0, one.0, one.1), thrice(1, other.0, other.1)].concat()
}

fn job() -> Record {
    let mut record = Record::new(machine(PhaseSense::Lag, RotorSense::AgainstRotation));
    record.add(Fact::checked("belt", CheckResult::NotInOrder, "worn, replaced afterwards")).unwrap();
    record.add(Fact::noted("Order", "W-12")).unwrap();
    record.add(Fact::run("as found", &both((4.0, 30.0), (2.0, 200.0)))).unwrap();
    record.add(put(0, 2, 0, 1)).unwrap();
    record.add(Fact::run("front trial", &both((3.0, 60.0), (2.2, 190.0)))).unwrap();
    record.add(put(1, 5, 0, 1)).unwrap();
    record.add(Fact::run("rear trial", &both((3.2, 75.0), (1.1, 150.0)))).unwrap();
    record.add(put(1, 6, 1, 2)).unwrap();
    record.add(Fact::run("correction", &both((0.9, 75.0), (0.5, 150.0)))).unwrap();
    record
}

/// Words, whatever the line they stand in.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn every_reading_weight_check_note_limit_and_part_is_told() {
    let text = flat(&Report::of(&job(), 0.95).unwrap().text());
    for part in [
        "Balancing of fan 3",
        "overhung",
        "impeller, serial number I-77",
        "belt not in order worn, replaced afterwards",
        "bearings not recorded",
        "Order: W-12",
        "as found",
        "front trial",
        "rear trial",
        "correction",
        "sensor 1 at 1480 rpm",
        "sensor 2 at 1480 rpm",
        // 4 g in hole 3, a quarter turn against rotation; 2 g at 100 mm in hole 7 of the rim.
        "drive side, hole 3 (90 deg against rotation): 1 x large",
        "rim, hole 7 (270 deg against rotation): 2 x small",
        "sensor 1 at 1480 rpm: done within 1.400 mm/s RMS; the plant's standing order",
        "within",
        "no limit was stated",
        "Signature:",
    ] {
        assert!(text.contains(part), "{part} in\n{text}");
    }
    // As read: the mean of three about 4 at 30 deg, three digits.
    assert!(text.contains("1 as found sensor 1 at 1480 rpm 4.00 at 30 deg"), "{text}");
    for word in ["airworthy", "is safe", "NaN", "inf "] {
        assert!(!text.contains(word), "{word}");
    }
}

#[test]
fn lines_are_no_wider_than_a_hundred() {
    let report = Report::of(&job(), 0.95).unwrap();
    // Tables may be wider; they have two spaces between columns.
    let prose = |line: &&str| !line.trim().contains("  ") && !line.contains("----");
    let long: Vec<String> = report
        .text()
        .lines()
        .filter(prose)
        .filter(|line| line.chars().count() > 100)
        .map(String::from)
        .collect();
    assert!(long.is_empty(), "{long:?}");
}

#[test]
fn what_was_expected_stands_beside_what_was_read() {
    let text = Report::of(&job(), 0.95).unwrap().text();
    let runs: Vec<&str> = text.lines().filter(|line| line.contains("correction   sensor")).collect();
    assert_eq!(runs.len(), 2, "{text}");
    // Read, unsure by; expected, unsure by.
    assert!(
        runs.iter().all(|line| line.matches(" at ").count() >= 3 && line.matches("+/-").count() == 2),
        "{runs:?}"
    );
    // As found and the first trial could not be expected.
    let first: Vec<&str> = text.lines().filter(|line| line.contains("as found     sensor")).collect();
    assert!(first.iter().all(|line| line.matches("+/-").count() == 1), "{first:?}");
}

#[test]
fn the_log_entry_names_every_weight_with_its_mass_and_place() {
    let entry = flat(&Report::of(&job(), 0.95).unwrap().log_entry());
    for part in [
        "Machine: fan 3, overhung",
        "1 x large 4.00 g 100 mm drive side, hole 3 (90 deg against rotation)",
        "1 x large 4.00 g 100 mm rim, hole 6 (225 deg against rotation)",
        "2 x small 2.00 g 100 mm rim, hole 7 (270 deg against rotation)",
        "1 1480 rpm 4.00 at 30 deg 0.90 at 75 deg mm/s RMS",
        "Licence or authority:",
    ] {
        assert!(entry.contains(part), "{part} in\n{entry}");
    }
}

#[test]
fn senses_are_those_of_the_machine() {
    let mut record = Record::new(machine(PhaseSense::Lead, RotorSense::WithRotation));
    record.add(put(0, 1, 0, 1)).unwrap();
    record.add(Fact::run("as found", &both((4.0, 30.0), (2.0, 200.0)))).unwrap();
    let text = flat(&Report::of(&record, 0.95).unwrap().text());
    assert!(text.contains("hole 2 (45 deg with rotation)") && text.contains("4.00 at 30 deg"), "{text}");
    assert!(text.contains("lead: argument of the vibration") && !text.contains("against rotation"), "{text}");
}

#[test]
fn a_record_without_runs_has_a_report_too() {
    let record = Record::new(machine(PhaseSense::Lag, RotorSense::AgainstRotation));
    let text = Report::of(&record, 0.95).unwrap().text();
    assert!(text.contains("Nothing was read yet with what is mounted now."), "{text}");
    assert!(text.contains("Next: check bearings."), "{text}");
    for confidence in [f64::NAN, 0.0, 1.0, -3.0] {
        assert_eq!(Report::of(&job(), confidence).unwrap_err().code(), 1520);
        assert_eq!(Standing::of(&job(), confidence).unwrap_err().code(), 1520);
    }
    assert_ne!(Report::of(&job(), 0.99).unwrap().text(), Report::of(&job(), 0.95).unwrap().text());
}

#[test]
fn figures_of_any_size_are_printed() {
    for scale in [1e-9, 1e-3, 1.0, 1e6] {
        let mut record = Record::new(machine(PhaseSense::Lag, RotorSense::AgainstRotation));
        let read = |amplitude: f64, phase| StatedReading::new(0, scale * amplitude, phase, 1480.0);
        record.add(Fact::run("as found", &[read(4.0, 30.0), read(4.1, 31.0), read(3.9, 29.0)])).unwrap();
        let report = Report::of(&record, 0.95).unwrap();
        let text = report.text();
        assert!(text.contains("at 30 deg") && !text.contains("0.000 at"), "{scale}: {text}");
        #[cfg(feature = "report")]
        assert!(report.html().contains("<svg"), "{scale}");
    }
}
