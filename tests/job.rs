//! The record of a job: what follows from the facts, live and by replay; what is refused; what the calls get from it.

#![cfg(feature = "json")]
#![allow(clippy::cast_precision_loss)] // of counts
#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic)] // a test that cannot go on fails
#![allow(clippy::disallowed_methods)] // the plants of the tests need not give the same bits everywhere

#[path = "support/histories.rs"]
mod histories;
mod support;

use counterpoise::checks::Explanation;
use counterpoise::job::{
    Change, CheckResult, Entry, Fact, Machine, OneShot, Record, StatedReading, StoredCoefficients,
    VisitDrift, WeightPlace, pooled_prior,
};
use counterpoise::{
    Channel, DegreesOfFreedom, Hardware, HoleCircle, HoleRing, Influence, InfluenceMatrix, JobError,
    Precision, Reading, RotorAngle, Scatter, SpeedLaw, Vibration, json,
};
use histories::{
    CONVENTION, Histories, any_entry, any_machine, bits, channel, every_field, grams, machine, millimetres,
    off, put, read,
};
use proptest::prelude::*;
use support::drawn::Draws;

#[test]
fn what_is_mounted_is_counted_from_the_machine_as_found() {
    let mut record = Record::new(machine());
    // The washer that was found in hole 2 comes off: at 90 deg against rotation, −4 g × 100 mm. By hand.
    record.add(off(2, 0, 1)).unwrap();
    let mounted = record.state().mounted()[0];
    assert_eq!(mounted.amount().gram_millimetres(), 400.0);
    assert_eq!(mounted.angle().in_sense(CONVENTION.rotor).degrees(), 270.0);
    // Two small ones opposite, hole 6, add 2 × 1 g × 100 mm in the same direction; plane 1 carries nothing.
    record.add(put(6, 1, 2)).unwrap();
    assert_eq!(record.state().mounted()[0].amount().gram_millimetres(), 600.0);
    assert_eq!(record.state().mounted()[1].amount().gram_millimetres(), 0.0);
    assert_eq!(record.state().rings()[0].holes()[2].pieces_mounted(), [0, 0]);
    assert_eq!(record.state().rings()[0].holes()[6].pieces_mounted(), [0, 2]);
    assert_eq!(record.machine().rings()[0].holes()[2].pieces_mounted(), [1, 0]);
}

#[test]
fn an_amendment_changes_what_follows_and_nothing_that_was_written() {
    let mut record = Record::new(machine());
    let wrong = record.add(Entry::at("10:05", put(1, 0, 1))).unwrap();
    record.add(Fact::run("trial", &[read(0, 0.5, 20.0)])).unwrap();
    record.add(Entry::at("10:20", Fact::amend(wrong, put(7, 0, 1), "counted from the other side"))).unwrap();
    assert_eq!(record.entries()[wrong].fact(), &put(1, 0, 1));
    let state = record.state();
    assert_eq!(state.rings()[0].holes()[1].pieces_mounted(), [0, 0]);
    assert_eq!(state.rings()[0].holes()[7].pieces_mounted(), [1, 0]);
    assert_eq!(state.runs()[0].mounted(), state.mounted());

    // The amendment itself is withdrawn: the entry counts again as it was written.
    record.add(Fact::withdraw(2, "it was hole 2 after all")).unwrap();
    assert_eq!(record.state().rings()[0].holes()[1].pieces_mounted(), [1, 0]);
    assert_eq!(record.state_after(3).unwrap().rings()[0].holes()[7].pieces_mounted(), [1, 0]);
}

#[test]
fn what_cannot_be_is_refused_with_its_place() {
    let mut record = Record::new(machine());
    record.add(put(0, 0, 1)).unwrap();
    let before = record.clone();
    let weight = CONVENTION.weight(grams(5.0), millimetres(80.0), 10.0).unwrap();
    let refused = [
        (
            off(0, 0, 2),
            1509,
            "entry 1 takes 2 pieces of hardware 0 off hole 0 of ring 0, and 1 are there: amend the entry that put them on, or take off fewer",
        ),
        (put(8, 0, 1), 1506, "entry 1 names hole 8: they are counted from 0, and there are 8"),
        (put(0, 2, 1), 1506, "entry 1 names hardware 2: they are counted from 0, and there are 2"),
        (
            put(0, 0, u32::MAX),
            1510,
            "entry 1 puts 4294967295 pieces more on hole 0 of ring 0 than can be counted",
        ),
        (
            Fact::PutOn { ring: 2, hole: 0, pieces: vec![] },
            1506,
            "entry 1 names ring 2: they are counted from 0, and there are 2",
        ),
        (
            Fact::WeightOn { plane: 2, weight },
            1506,
            "entry 1 names plane 2: they are counted from 0, and there are 2",
        ),
        (
            Fact::WeightOff { on: 0 },
            1511,
            "entry 1 takes off the weight of entry 0, which put none on or is off already",
        ),
        (
            Fact::run("empty", &[]),
            1507,
            "entry 1 is a run without a reading: state at least one, or write a remark",
        ),
        (
            Fact::run("x", &[read(2, 0.1, 0.0)]),
            1506,
            "entry 1 names channel 2: they are counted from 0, and there are 2",
        ),
        (Fact::withdraw(1, "?"), 1512, "entry 1 amends entry 1: only an earlier entry can be amended"),
        (
            Fact::amend(0, Fact::withdraw(0, "?"), "?"),
            1513,
            "entry 1 puts an amendment in the place of entry 0: put the fact itself there",
        ),
        (
            Fact::run("fast", &[StatedReading::new(0, 0.1, 0.0, 2900.0)]),
            1508,
            "entry 1, reading 0: a reading at 2900.0 rpm lies outside the 2326.5 to 2373.5 rpm of sensor 1: read again at speed, widen the window, or declare how the response grows with speed",
        ),
    ];
    for (fact, code, text) in refused {
        let error = record.add(fact).unwrap_err();
        assert_eq!((error.code(), error.to_string().as_str()), (code, text));
        assert_eq!(record, before);
    }
    // A piece put on is amended away while a later entry takes it off: refused as a whole.
    record.add(off(0, 0, 1)).unwrap();
    assert_eq!(record.add(Fact::withdraw(0, "never on")).unwrap_err().code(), 1509);
    assert_eq!(record.entries().len(), 2);
}

#[test]
fn a_machine_that_cannot_be_is_refused() {
    let one = |channels: &[Channel], planes: &[&str]| Machine::new("m", CONVENTION, channels, planes);
    let texts = [
        (one(&[], &["a"]), "the machine has no channel: name at least one sensor at one speed"),
        (one(&[channel(4), channel(4)], &["a"]), "channels 0 and 1 are the same, sensor 4: name each once"),
        (one(&[channel(4)], &[]), "the machine has no correction plane: name at least one"),
        (
            one(&[channel(4)], &["a"]).unwrap().with_holes(&[HoleRing::listed(vec![]).in_plane(1)], &[]),
            "ring 0 lies in plane 1: the planes are counted from 0, and there are 1",
        ),
        (
            machine().with_holes(machine().rings(), &[Hardware::new("one", grams(1.0))]),
            "hole 2 of ring 0 counts 2 kinds of hardware and the machine has 1: one count for each, or none",
        ),
    ];
    for (at, (machine, text)) in texts.into_iter().enumerate() {
        let error: JobError = machine.unwrap_err();
        assert_eq!(error.to_string(), text);
        assert_eq!(error.code(), 1501 + i32::try_from(at).unwrap());
    }
}

#[test]
fn repeats_are_averaged_as_vectors_and_scatter_as_they_do() {
    let mut record = Record::new(machine());
    // Two readings 90 deg apart: their mean has 1/√2 of the amplitude, half way between. By hand.
    record.add(Fact::run("as found", &[read(0, 0.2, 0.0), read(0, 0.2, 90.0), read(1, 0.1, 5.0)])).unwrap();
    let state = record.state();
    let means = state.mean_readings(record.machine(), &state.runs()[0]);
    let polar = channel(1).polar(means[0].vibration());
    let (amplitude, phase) = (polar.amplitude, polar.phase);
    assert!((amplitude - 0.1 * 2.0_f64.sqrt()).abs() < 1e-15 && (phase.degrees() - 45.0).abs() < 1e-12);
    // Each lies 0.1414 from the mean: 2 × 0.02 in two components over 2 degrees of freedom; half of it for the mean.
    let Precision::Scatter(scatter) = means[0].precision() else { panic!("the repeats scatter") };
    assert!((scatter.variance() - 0.01).abs() < 1e-15);
    assert_eq!(scatter.degrees_of_freedom().count(), 2.0);
    // The other channel was not repeated: nothing is known of it, and all weigh by their count.
    assert_eq!(means[1].precision(), Precision::Relative { weight: 1.0 });
    let estimator = state.estimator(record.machine()).unwrap();
    let weights: Vec<Precision> = estimator.runs()[0].readings().iter().map(Reading::precision).collect();
    assert_eq!(weights, [Precision::Relative { weight: 2.0 }, Precision::Relative { weight: 1.0 }]);
}

#[test]
fn stated_scatters_combine_to_that_of_the_mean() {
    let mut record = Record::new(machine());
    let one = |sigma: f64| read(0, 0.3, 10.0).with_scatter(Scatter::known(sigma).unwrap());
    record.add(Fact::run("as found", &[one(0.03), one(0.04)])).unwrap();
    let state = record.state();
    let means = state.mean_readings(record.machine(), &state.runs()[0]);
    let Precision::Scatter(scatter) = means[0].precision() else { panic!("stated") };
    // (0.03² + 0.04²) / 2², by hand
    assert!((scatter.variance() - 0.000_625).abs() < 1e-18);
}

#[test]
fn readings_at_other_speeds_are_averaged_where_the_law_brings_them() {
    let channel = channel(1).with_law(SpeedLaw::MassControlled);
    let machine = Machine::new("fan", CONVENTION, &[channel], &["disc"]).unwrap();
    let mut record = Record::new(machine.clone());
    // Velocity grows with the speed under this law: 0.20 at 2350 rpm, 0.10 at 1175 rpm, are the same machine.
    let slow = StatedReading::new(0, 0.10, 30.0, 1175.0);
    record.add(Fact::run("as found", &[read(0, 0.20, 30.0), slow])).unwrap();
    let state = record.state();
    let means = state.mean_readings(&machine, &state.runs()[0]);
    assert!((means[0].vibration().amplitude() - 0.20).abs() < 1e-15);
    assert_eq!(means[0].speed().rpm(), 2350.0);
}

#[test]
fn runs_before_a_change_are_not_fitted_with_those_after() {
    let mut record = Record::new(machine());
    let run = |label: &str| Fact::run(label, &[read(0, 0.4, 10.0), read(1, 0.2, 80.0)]);
    record.add(run("as found")).unwrap();
    record.add(Fact::Changed { what: Change::Pickup, remark: "bracket bent".into() }).unwrap();
    record.add(run("as found again")).unwrap();
    record.add(put(1, 0, 1)).unwrap();
    record.add(run("trial")).unwrap();
    let labels = |record: &Record| -> Vec<String> {
        let estimator = record.state().estimator(record.machine()).unwrap();
        estimator.runs().iter().map(|run| run.label().to_owned()).collect()
    };
    assert_eq!(labels(&record), ["as found again", "trial"]);
    // It had not moved after all.
    record.add(Fact::withdraw(1, "the bracket was straight")).unwrap();
    assert_eq!(labels(&record), ["as found", "as found again", "trial"]);
}

/// A linear machine read without scatter: the weight of hole 1 really went into the hole at the mirrored angle.
#[test]
fn a_weight_in_the_mirrored_hole_is_found_from_the_record() {
    let circle = HoleCircle::new(8, RotorAngle::MARK, CONVENTION.rotor).unwrap();
    let ring = HoleRing::even(circle, millimetres(100.0));
    let machine = Machine::new("stand", CONVENTION, &[channel(1)], &["front"]).unwrap();
    let machine = machine.with_holes(&[ring], &[Hardware::new("large", grams(4.0))]).unwrap();
    let mut record = Record::new(machine);
    let scatter = Scatter::known(0.002).unwrap();
    let really = |holes: &[usize]| {
        // v = 0.3 + 0.00025 e^{j 40°} per g mm, places counted against rotation: m exp(−jb).
        let mut v = num_complex::Complex64::new(0.3, 0.0);
        for &hole in holes {
            let at = -45.0_f64.to_radians() * f64::from(u32::try_from(hole).unwrap());
            v += num_complex::Complex64::from_polar(0.00025 * 400.0, at + 40.0_f64.to_radians());
        }
        // lag: A exp(−j lag)
        let (amplitude, phase) = v.to_polar();
        read(0, amplitude, -phase.to_degrees()).with_scatter(scatter)
    };
    record.add(Fact::run("as found", &[really(&[])])).unwrap();
    record.add(put(0, 0, 1)).unwrap();
    record.add(Fact::run("first trial", &[really(&[0])])).unwrap();
    record.add(off(0, 0, 1)).unwrap();
    record.add(put(1, 0, 1)).unwrap();
    record.add(Fact::run("second trial", &[really(&[7])])).unwrap();
    record.add(put(2, 0, 1)).unwrap();
    record.add(Fact::run("third", &[really(&[7, 2])])).unwrap();
    record.add(off(1, 0, 1)).unwrap();
    record.add(put(3, 0, 1)).unwrap();
    record.add(Fact::run("fourth", &[really(&[2, 3])])).unwrap();
    let findings = record.state().examination(record.machine()).unwrap().examine().unwrap();
    let best = &findings.ranked()[0];
    let weights = record.state().weights_in_runs(record.machine());
    let Explanation::WeightMirrored { item } = best.explanation else { panic!("{:?}", best.explanation) };
    assert_eq!(weights[item.number()].place, WeightPlace::Hole { ring: 0, hole: 1 });
    assert_eq!((weights[item.number()].first, weights[item.number()].last), (2, 3));
    assert!(findings.plain().p_value.unwrap() < 1e-6);
}

#[test]
fn replay_equals_the_live_state_after_every_prefix_of_a_history() {
    let (mut added, mut amended, mut refused) = (0, 0, 0);
    let entries = prop::collection::vec(any_entry(), 1..25);
    let mut draws = Histories::new();
    let (mut notes, mut machines) = (0, std::collections::BTreeSet::new());
    for _ in 0..400 {
        let mut record = Record::new(draws.draw(&any_machine()));
        let mut live = vec![bits(record.state())];
        for entry in draws.draw(&entries) {
            let before = bits(&record);
            let is_amendment = matches!(entry.fact(), Fact::Amend { .. });
            if let Ok(number) = record.add(entry) {
                assert_eq!(number + 1, record.entries().len());
                added += 1;
                amended += usize::from(is_amendment);
                live.push(bits(record.state()));
            } else {
                refused += 1;
                assert_eq!(bits(&record), before);
            }
        }
        for (entries, then) in live.iter().enumerate() {
            assert_eq!(&bits(&record.state_after(entries).unwrap()), then);
        }
        let again = Record::with_entries(record.machine().clone(), record.entries().to_vec()).unwrap();
        assert_eq!(bits(&again), bits(&record));
        notes += record.state().notes().len();

        // And through the text, bit for bit.
        let text = json::to_text(&record).unwrap();
        let back = json::record_from_text(&text).unwrap();
        assert_eq!(bits(&back), bits(&record));
        assert_eq!(json::to_text(&back).unwrap(), text);
        let whole: serde_json::Value = serde_json::from_str(&text).unwrap();
        machines.extend(whole["machine"].as_object().unwrap().keys().cloned());
    }
    // What was drawn is not mostly refused, and nothing was left out.
    assert!(
        added > 2000 && amended > 100 && refused > 200 && notes > 100,
        "{added} {amended} {refused} {notes}"
    );
    assert_eq!(machines.len(), 16, "{machines:?}");
}

#[test]
fn the_same_things_on_the_rotor_have_the_same_sum_whatever_their_order() {
    let facts = [put(0, 0, 1), put(3, 1, 2), put(5, 0, 1), put(3, 0, 1), put(6, 1, 1)];
    let mut forward = Record::new(machine());
    let mut backward = Record::new(machine());
    for fact in &facts {
        forward.add(fact.clone()).unwrap();
    }
    for fact in facts.iter().rev() {
        backward.add(fact.clone()).unwrap();
    }
    assert_eq!(bits(&forward.state()), bits(&backward.state()));
}

/// A text of version 1 as this version wrote it; every later version must read it.
const VERSION_1: &str = include_str!("job/version_1.json");

#[test]
fn a_record_of_version_1_is_read_for_good() {
    let record = json::record_from_text(VERSION_1).unwrap();
    assert_eq!(record.machine().name(), "stand");
    assert_eq!(record.entries().len(), 11);
    assert_eq!(record.state().runs().len(), 2);
    let changes = record.state().changes();
    assert_eq!((changes.len(), changes[0].entry, changes[0].what), (1, 8, Change::Rotor));
    assert_eq!(record.state().rings()[0].holes()[6].pieces_mounted(), [0, 2]);
    if Record::VERSION == 1 {
        assert_eq!(json::to_text(&record).unwrap(), VERSION_1.trim_end());
    }
}

/// The same with every field of the machine and every fact.
const VERSION_1_EVERY_FIELD: &str = include_str!("job/version_1_every_field.json");

#[test]
fn a_record_of_version_1_with_every_field_is_read_for_good() {
    let record = json::record_from_text(VERSION_1_EVERY_FIELD).unwrap();
    assert_eq!(record, every_field());
    // Whatever can be left out is there.
    let text: serde_json::Value = serde_json::from_str(VERSION_1_EVERY_FIELD).unwrap();
    let machine = text["machine"].as_object().unwrap();
    assert_eq!(machine.len(), 16, "{:?}", machine.keys());
    let mut facts: Vec<&String> = text["entries"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|entry| entry["fact"].as_object().unwrap().keys())
        .collect();
    facts.sort();
    facts.dedup();
    let all = [
        "amend",
        "changed",
        "checked",
        "noted",
        "put_on",
        "remark",
        "run",
        "taken_off",
        "weight_off",
        "weight_on",
    ];
    assert_eq!(facts, all);
    if Record::VERSION == 1 {
        assert_eq!(json::to_text(&record).unwrap(), VERSION_1_EVERY_FIELD.trim_end());
    }
}

/// Writes the texts above, when a field is added before the first release. Run with `--ignored`.
#[test]
#[ignore = "rewrites the committed texts"]
fn write_version_1() {
    let mut record = Record::new(machine());
    let weight = CONVENTION.weight(grams(5.5), millimetres(80.0), 10.0).unwrap();
    let scatter = Scatter::known(0.004).unwrap();
    let facts = [
        Fact::Checked { what: "track".into(), result: CheckResult::InOrder, remark: "1 mm".into() },
        Fact::run("as found", &[read(0, 0.41, 77.25).with_scatter(scatter), read(1, 0.1, 359.9)]),
        put(6, 1, 3),
        Fact::WeightOn { plane: 1, weight },
        Fact::run("trial", &[read(0, 0.3, 12.5), read(0, 0.31, 11.5)]),
        Fact::WeightOff { on: 3 },
        off(6, 1, 1),
        Fact::amend(0, Fact::remark("track not checked"), "another aircraft's"),
        Fact::Changed { what: Change::Rotor, remark: "spinner back on".into() },
        Fact::remark("calm"),
        Fact::withdraw(9, "it was not"),
    ];
    for (minute, fact) in facts.into_iter().enumerate() {
        record.add(Entry::at(format!("2026-05-03 10:{minute:02}"), fact)).unwrap();
    }
    std::fs::create_dir_all("tests/job").unwrap();
    std::fs::write("tests/job/version_1.json", json::to_text(&record).unwrap() + "\n").unwrap();
    std::fs::write("tests/job/version_1_every_field.json", json::to_text(&every_field()).unwrap() + "\n")
        .unwrap();
}

#[test]
fn a_text_that_is_not_a_record_gives_an_error_with_its_place() {
    let broken = |from: &str, to: &str| {
        assert!(VERSION_1.contains(from), "{from}");
        json::record_from_text(&VERSION_1.replacen(from, to, 1)).unwrap_err().to_string()
    };
    let version = "line 1, column 11, at version: the record is of version 2 and this library reads versions 1 to 1: read it with one that knows it";
    assert_eq!(broken("\"version\":1", "\"version\":2"), version);
    assert!(broken("\"version\":1", "\"version\":0").contains("of version 0"));
    assert!(broken("\"amplitude\":0.41", "\"amplitude\":1e999").contains("number out of range"));
    assert!(broken("\"amplitude\":0.41", "\"amplitude\":-0.41").contains("entry 1, reading 0"));
    assert!(broken("\"in_order\"", "\"in order\"").contains("unknown variant `in order`"));
    assert!(
        broken("\"name\":\"stand\"", "\"name\":\"stand\",\"colour\":1").contains("unknown field `colour`")
    );
    assert!(broken("\"ring\":0", "\"ring\":-1").contains("invalid value"));
    assert!(broken("\"hole\":6", "\"hole\":60000").contains("names hole 60000"));
    // Cut off anywhere, or with any one byte changed to another, it is an error or a record; never a panic.
    let mut errors = 0;
    for end in 0..VERSION_1.trim_end().len() {
        assert!(json::record_from_text(&VERSION_1[..end]).is_err());
        for byte in ["0", "\"", "}", "-", "e"] {
            let text = format!("{}{byte}{}", &VERSION_1[..end], &VERSION_1[end + 1..]);
            errors += usize::from(json::record_from_text(&text).is_err());
        }
    }
    assert!(errors > 1000, "{errors}");
}

/// Machines of one kind: their coefficients lie about a common one, each component by a fifth of its size.
#[test]
fn a_trusted_first_shot_leaves_less_and_the_spread_of_many_machines_is_theirs() {
    let mut draws = Draws::new(5);
    let usual = num_complex::Complex64::new(1.5e-4, 1.0e-4);
    let (mut trusted, mut less, mut spread) = (0, 0, 0.0);
    let jobs = 400;
    for _ in 0..jobs {
        let machine = |draws: &mut Draws| {
            let h = usual + draws.normals() * (0.2 * usual.norm());
            let h = Influence::from_components_per_gram_millimetre(h.re, h.im).unwrap();
            InfluenceMatrix::new(&[channel(1)], 1, &[h]).unwrap()
        };
        let stored: Vec<StoredCoefficients> = (0..6)
            .map(|number| StoredCoefficients::new("kind", format!("{number}"), machine(&mut draws)))
            .collect();
        let truth = machine(&mut draws);
        let v0 = draws.normals() * 0.3;
        let read = v0 + draws.normals() * 0.01;
        let read = Vibration::from_components(read.re, read.im).unwrap();
        let reading = channel(1).reading_of(read).with_standard_deviation(0.01).unwrap();
        let prior = pooled_prior(&stored, "kind", 0.2).unwrap();
        // 0.2 of a coefficient a component, and the mean of six is not sure: √(1 + 1/6).
        spread +=
            (prior.covariances()[0].entries()[0]).sqrt() / (0.2 * usual.norm() * (7.0_f64 / 6.0).sqrt());
        let shot = OneShot::of(prior, &[reading]).unwrap();
        if shot.is_trusted(0.95) {
            trusted += 1;
            let total = shot.correction().total()[0].value();
            let left = v0 + truth.effect_of(&[total]).unwrap()[0].complex();
            less += u32::from(left.norm() < v0.norm());
        }
    }
    let mean_spread = spread / f64::from(jobs);
    assert!((mean_spread - 1.0).abs() < 0.06, "{mean_spread}");
    assert!(trusted > jobs / 2 && less * 100 >= trusted * 95, "{less} of {trusted} trusted");
}

#[test]
fn what_is_stored_comes_back_and_what_does_not_fit_is_refused() {
    let matrix = |sensor| {
        let h = Influence::from_components_per_gram_millimetre(1e-4, -2e-5).unwrap();
        InfluenceMatrix::new(&[channel(sensor)], 1, &[h]).unwrap()
    };
    let stored =
        [StoredCoefficients::new("a", "one", matrix(1)), StoredCoefficients::new("a", "two", matrix(2))];
    let back: Vec<StoredCoefficients> = json::from_text(&json::to_text(&stored).unwrap()).unwrap();
    assert_eq!(back, stored);
    let refused = [
        (
            pooled_prior(&stored, "b", 0.2),
            1515,
            "no coefficients of machines of this kind are stored: finish a job with trial runs first",
        ),
        (
            pooled_prior(&stored, "a", 0.2),
            1516,
            "the coefficients of machine 1 are of other channels or planes than those of the first: give them a kind of their own",
        ),
        (
            pooled_prior(&stored[..1], "a", 0.0),
            1517,
            "the covariance of the prior of channel 0 is not positive definite: say of every coefficient how far it may differ, by more than nothing",
        ),
    ];
    for (outcome, code, text) in refused {
        let error = outcome.unwrap_err();
        assert_eq!((error.code(), error.to_string().as_str()), (code, text));
    }
    // Machines that are all alike are believed to differ by less than was expected, and by more than not at all.
    let alike: Vec<StoredCoefficients> =
        (0..9).map(|number| StoredCoefficients::new("a", format!("{number}"), matrix(1))).collect();
    let deviation = |stored: &[StoredCoefficients]| {
        pooled_prior(stored, "a", 0.2).unwrap().covariances()[0].entries()[0].sqrt()
    };
    assert!(deviation(&alike) < 0.6 * deviation(&alike[..1]) && deviation(&alike) > 0.0);
}

#[test]
fn drift_between_runs_is_added_once_and_not_lessened_by_repeats() {
    let machine = machine().with_drift(VisitDrift::new(0, 0.03, "the test").with_share(0.1)).unwrap();
    let mut record = Record::new(machine);
    let known = |amplitude| read(0, amplitude, 0.0).with_scatter(Scatter::known(0.04).unwrap());
    let readings = [known(0.5), known(0.5), known(0.5), known(0.5), read(1, 0.5, 0.0)];
    record.add(Fact::run("as found", &readings)).unwrap();
    let means = record.state().mean_readings(record.machine(), &record.state().runs()[0]);
    let Precision::Scatter(scatter) = means[0].precision() else { panic!() };
    // 0.04²/4 + 0.03² + (0.1 × 0.5)²; by hand.
    assert!((scatter.variance() - (0.0004 + 0.0009 + 0.0025)).abs() < 1e-15, "{}", scatter.variance());
    assert_eq!(scatter.degrees_of_freedom(), DegreesOfFreedom::Known);
    // A channel of which nothing is known is not known by its drift alone.
    assert!(matches!(means[1].precision(), Precision::Relative { .. }));
    let text = json::to_text(&record).unwrap();
    assert_eq!(json::record_from_text(&text).unwrap(), record);
    let bad =
        |standard_deviation| record.machine().clone().with_drift(VisitDrift::new(0, standard_deviation, ""));
    assert_eq!(
        bad(-1.0).unwrap_err().to_string(),
        "the drift between runs must be a finite number, zero or more, got -1.0"
    );
    assert!(bad(f64::NAN).is_err() && bad(0.0).is_ok());
}

#[test]
fn amendments_that_only_fit_together_are_added_together_or_not_at_all() {
    let mut record = Record::new(machine());
    record.add(put(6, 0, 2)).unwrap();
    record.add(off(6, 0, 1)).unwrap();
    let amended = [Fact::amend(0, put(5, 0, 2), "hole 5"), Fact::amend(1, off(5, 0, 1), "hole 5")];
    let before = record.clone();
    for alone in &amended {
        assert_eq!(record.add(alone.clone()).unwrap_err().code(), 1509);
    }
    // One that cannot be takes the others with it.
    assert!(record.add_all([amended[0].clone(), amended[1].clone(), off(5, 0, 2)]).is_err());
    assert!(record == before);
    assert_eq!(record.add_all(amended).unwrap(), 2);
    assert_eq!(record.state().rings()[0].holes()[5].pieces_mounted(), [1, 0]);
    assert_eq!(record.state().rings()[0].holes()[6].pieces_mounted(), [0, 0]);
    assert!(Record::with_entries(record.machine().clone(), record.entries().to_vec()).unwrap() == record);
    assert_eq!(record.add_all(Vec::<Fact>::new()).unwrap(), 4);
}
