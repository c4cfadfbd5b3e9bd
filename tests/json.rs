//! Texts of records and of coefficients: where an error stands, versions, hostile texts, and the guide's examples.

#![cfg(feature = "json")]
#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic)] // a test that cannot go on fails

#[path = "support/histories.rs"]
mod histories;

use counterpoise::job::{
    Advice, AdviceOptions, Entry, Fact, Machine, Pieces, Record, StatedReading, StoredCoefficients,
};
use counterpoise::{Influence, InfluenceMatrix, json};
use histories::{CONVENTION, channel, every_field, machine};
use json::JsonError;

fn text() -> String {
    json::to_text(&every_field()).unwrap()
}

/// The error of the record with every field, with one part of its text replaced.
#[track_caller]
fn broken(from: &str, to: &str) -> JsonError {
    let whole = text();
    assert!(whole.contains(from), "{from}");
    json::record_from_text(&whole.replacen(from, to, 1)).unwrap_err()
}

#[test]
fn an_error_tells_the_line_the_column_and_the_path() {
    let text =
        "{\n \"version\": 1,\n \"machine\": {\"name\": \"x\", \"convention\": {\"phase\": \"lagging\"}}}";
    let error = json::record_from_text(text).unwrap_err();
    assert_eq!((error.line, error.column, error.code()), (3, 59, 900));
    assert_eq!(
        error.to_string(),
        "line 3, column 59, at machine.convention.phase: unknown variant `lagging`, expected `lag` or `lead`"
    );
    // What a value of its own refuses stands at that value.
    let error = broken("{\"mm\":140.0}", "{\"mm\":-140.0}");
    assert_eq!(error.path, "machine.radii[1]");
    assert!(error.reason.starts_with("radius must be greater than zero, got -140.0 mm"));
}

#[test]
fn what_only_the_record_refuses_has_its_place_too() {
    let places = [
        ("\"amplitude\":4.2", "\"amplitude\":-4.2", "entries[3].fact.run.readings[0]", 1508),
        ("\"hole\":0", "\"hole\":6", "entries[4]", 1506),
        ("\"on\":5", "\"on\":4", "entries[7]", 1511),
        ("\"entry\":11", "\"entry\":16", "entries[16]", 1512),
        ("\"planes\":[\"front\",\"rear\"]", "\"planes\":[]", "machine.planes", 1503),
        ("\"planes\":[\"front\",\"rear\"]", "\"planes\":[\"front\"]", "machine.radii[1]", 1519),
        ("\"radii\":[null,", "\"radii\":[null,null,null,", "machine.radii[2]", 1519),
        ("\"plane\":0", "\"plane\":5", "machine.rings[0].plane", 1504),
        ("\"mounted\":[1,0]", "\"mounted\":[1]", "machine.rings[0].holes[1].mounted", 1505),
        ("\"channel\":1,\"purpose\"", "\"channel\":9,\"purpose\"", "machine.limits[2]", 1519),
        ("\"crank_turns_per_turn\":2.43", "\"crank_turns_per_turn\":0", "machine.crank_turns_per_turn", 1520),
        ("\"version\":1", "\"version\":2", "version", 1514),
    ];
    for (from, to, path, code) in places {
        let error = broken(from, to);
        assert_eq!((error.path.as_str(), error.code()), (path, code), "{error}");
        // The place in the text lies just before the value that the path names, in the one line there is.
        let changed = text().replacen(from, to, 1);
        let pointer: String = path.replace('[', "/").replace(']', "").replace('.', "/");
        let whole: serde_json::Value = serde_json::from_str(&changed).unwrap();
        let value = whole.pointer(&format!("/{pointer}")).unwrap();
        assert_eq!(error.line, 1);
        let rest = &changed[error.column..];
        let first = serde_json::Deserializer::from_str(rest).into_iter::<serde_json::Value>().next();
        assert_eq!(&first.unwrap().unwrap(), value, "{path}");
    }
    // An amended fact has no place of its own: the entry is told, as far as the path is there.
    let mut record = Record::new(machine());
    record.add(Fact::remark("calm")).unwrap();
    let wrong = Fact::run("x", &[StatedReading::new(0, 0.1, 0.0, 2350.0)]);
    record.add(Fact::amend(0, wrong, "it ran")).unwrap();
    let text = json::to_text(&record).unwrap().replace("\"amplitude\":0.1", "\"amplitude\":-0.1");
    let error = json::record_from_text(&text).unwrap_err();
    assert_eq!((error.path.as_str(), error.code()), ("entries[0].fact", 1508));
}

#[test]
fn a_version_that_is_not_known_is_refused_with_a_code_and_words() {
    let later = r#"{"version": 2, "written_by": {"a": ["later", "one"]}}"#;
    let error = json::record_from_text(later).unwrap_err();
    let words = "line 1, column 12, at version: the record is of version 2 and this library reads versions 1 to 1: \
                 read it with one that knows it";
    assert_eq!((error.code(), error.to_string().as_str()), (1514, words));
    let error = json::coefficients_from_text(later).unwrap_err();
    assert_eq!(error.code(), 1514);
    assert!(error.reason.starts_with("the store of coefficients is of version 2"), "{error}");
    for none in ["{}", "[]", r#"{"version": "1"}"#, r#"{"version": -1}"#, r#"{"version": 4294967296}"#] {
        assert_eq!(json::record_from_text(none).unwrap_err().code(), 900, "{none}");
        assert_eq!(json::coefficients_from_text(none).unwrap_err().code(), 900, "{none}");
    }
    assert_eq!(json::record_from_text(r#"{"version": 0}"#).unwrap_err().code(), 1514);
}

#[test]
fn coefficients_come_back_bit_for_bit_with_their_version() {
    let coefficient = |re, im| Influence::from_components_per_gram_millimetre(re, im).unwrap();
    let of = |kind: &str, re| {
        let list = [
            coefficient(re, -1e-5),
            coefficient(1.0 / 3.0, 5e-324),
            coefficient(0.0, 1e-4),
            coefficient(re, re),
        ];
        let influence = InfluenceMatrix::new(&[channel(1), channel(2)], 2, &list).unwrap();
        StoredCoefficients::new(kind, "no. 7", influence)
    };
    let stored = [of("two blades", 0.1 + 0.2), of("", 1e-300)];
    let text = json::coefficients_to_text(&stored).unwrap();
    assert!(text.starts_with("{\"version\":1,\"coefficients\":[{\"kind\":\"two blades\""));
    let back = json::coefficients_from_text(&text).unwrap();
    assert_eq!(format!("{back:?}"), format!("{:?}", stored.to_vec()));

    let error = json::coefficients_from_text(&text.replacen("\"machine\"", "\"craft\"", 1)).unwrap_err();
    assert!(
        error.path == "coefficients[0].craft" && error.reason.starts_with("unknown field `craft`"),
        "{error}"
    );
    let error = json::coefficients_from_text(&text.replacen("\"planes\":2", "\"planes\":3", 1)).unwrap_err();
    assert_eq!(error.path, "coefficients[0].influence");
}

#[test]
fn a_plan_of_what_to_mount_is_written() {
    let two = machine();
    let ring = two.rings()[0].clone().each(|hole| hole.limit_pieces(3));
    let one = Machine::new("one", CONVENTION, &[channel(1)], &["front"]).unwrap();
    let mut record = Record::new(one.with_holes(&[ring], two.hardware()).unwrap());
    let read = |amplitude, phase| StatedReading::new(0, amplitude, phase, 2350.0);
    let as_found = [read(0.45, 48.0), read(0.452, 48.3), read(0.449, 47.9)];
    record.add(Fact::run("as found", &as_found)).unwrap();
    record.add(Fact::PutOn { ring: 0, hole: 6, pieces: vec![Pieces { item: 0, count: 2 }] }).unwrap();
    record.add(Fact::run("trial", &[read(0.61, 75.0), read(0.612, 75.2), read(0.609, 74.8)])).unwrap();
    let advice = Advice::of(&record, &AdviceOptions::default());
    let planned = advice.steps().iter().find_map(|step| step.action().mounting());
    let text = json::to_text(planned.unwrap()).unwrap();
    let value: serde_json::Value = serde_json::from_str(&text).unwrap();
    let keys: Vec<&String> = value.as_object().unwrap().keys().collect();
    assert_eq!(keys, ["added", "changes", "put_on", "taken_off"]);
    assert!(value["added"][0]["x_g_mm"].is_f64(), "{text}");
}

/// A text with something in the place of its last remark.
fn with_remark(inside: &str) -> String {
    text().replacen("{\"text\":\"calm\"}", inside, 1)
}

#[test]
fn hostile_texts_give_an_error_with_its_place() {
    let whole = text();
    let deep = |open: &str, close: &str, depth| open.repeat(depth) + "0" + &close.repeat(depth);
    let amends = "{\"amend\":{\"entry\":0,\"reason\":\"\",\"instead\":";
    let hostile = [
        ("", "EOF while parsing"),
        ("null", "invalid type: null"),
        ("\u{feff}{\"version\":1}", "byte order mark"),
        ("{\"version\":1}{", "trailing characters"),
        (&deep("[", "]", 1_000_000), "invalid type: sequence"),
        (&format!("{{\"version\":1,\"machine\":{}}}", deep("[", "]", 1_000_000)), "invalid type"),
        (&format!("{{\"deep\":{},\"version\":1}}", deep("{\"a\":", "}", 1_000_000)), "unknown field `deep`"),
        (&with_remark(&deep("[", "]", 1_000_000)), "invalid type: sequence, expected a string"),
        (
            &whole.replacen("{\"remark\":{\"text\":\"calm\"}}", &deep(amends, "}}", 100_000), 1),
            "recursion limit exceeded",
        ),
        (
            &whole.replacen("\"mounted\":[1,0]", &format!("\"mounted\":[{}1]", "0,".repeat(1_000_000)), 1),
            "counts 1000001 kinds",
        ),
        (
            &whole.replacen("\"name\":", &format!("\"{}\":1,\"name\":", "n".repeat(5_000_000)), 1),
            "unknown field `nnn",
        ),
        (&whole.replacen("\"known\"", &format!("\"{}\"", "k".repeat(5_000_000)), 1), "unknown variant `kkk"),
        (&whole.replacen("\"amplitude\":4.2", "\"amplitude\":1e999", 1), "number out of range"),
        (
            &whole.replacen("\"amplitude\":4.2", &format!("\"amplitude\":{}", "9".repeat(1_000_000)), 1),
            "number out of range",
        ),
        (&whole.replacen("\"amplitude\":4.2", "\"amplitude\":null", 1), "invalid type: null"),
        (&whole.replacen("\"amplitude\":4.2", "\"amplitude\":NaN", 1), "expected value"),
        (&whole.replacen("\"sensor\":1", "\"sensor\":65536", 1), "invalid value: integer `65536`"),
        (&whole.replacen("\"sensor\":1", "\"sensor\":1,\"sensor\":1", 1), "duplicate field `sensor`"),
        (&whole.replacen("\"version\":1", "\"version\":1,\"version\":1", 1), "duplicate field `version`"),
        (&whole.replacen("\"entries\":", "\"entries\":null,\"e\":", 1), "invalid type: null"),
        (&with_remark("{\"text\":\"\\ud800\"}"), "unexpected end of hex escape"),
        (&with_remark("{\"text\":\"\u{1}\"}"), "control character"),
    ];
    for (text, words) in hostile {
        let error = json::record_from_text(text).unwrap_err();
        let start: String = text.chars().take(80).collect();
        assert!(error.reason.contains(words), "{start}: {error}");
        assert!(error.reason.len() <= 400 && error.path.len() <= 400, "{start}: {error}");
        assert!(error.line >= 1 && (error.column >= 1 || text.is_empty()), "{start}: {error}");
    }
    // A million numbers cannot be counted by holes that have two kinds; the same as a long number is one number.
    let long = whole.replacen("\"amplitude\":4.2", &format!("\"amplitude\":4.2{}", "0".repeat(1_000_000)), 1);
    assert_eq!(json::record_from_text(&long).unwrap(), every_field());
    // A remark may be long.
    let remark = format!("{{\"text\":\"{}\"}}", "x".repeat(5_000_000));
    assert!(json::record_from_text(&with_remark(&remark)).is_ok());
}

/// A machine with so many holes, kinds and planes, and these entries.
fn large(holes: usize, kinds: usize, planes: usize, entries: &str) -> String {
    let hole = "{\"radius_mm\":1,\"angle\":{\"with_rotation_deg\":0}}";
    let list = |one: &str, count: usize| vec![one; count].join(",");
    let whole: serde_json::Value = serde_json::from_str(&text()).unwrap();
    let channels = whole["machine"]["channels"].to_string();
    format!(
        "{{\"version\":1,\"machine\":{{\"name\":\"\",\"convention\":{{\"phase\":\"lag\",\"rotor\":\"with_rotation\"}},\"planes\":[{}],\"channels\":{channels},\"hardware\":[{}],\"rings\":[{{\"holes\":[{}]}}]}},\"entries\":[{entries}]}}",
        list("\"\"", planes),
        list("{\"name\":\"\",\"mass_g\":1}", kinds),
        list(hole, holes),
    )
}

#[test]
fn what_a_record_derives_is_bounded() {
    let run = "{\"fact\":{\"run\":{\"label\":\"\",\"readings\":[{\"channel\":0,\"amplitude\":1,\"phase_degrees\":0,\"rpm\":2350}]}}}";
    let on = "{\"fact\":{\"weight_on\":{\"plane\":0,\"weight\":{\"mass\":{\"g\":1},\"radius\":{\"mm\":1},\"angle\":{\"with_rotation_deg\":0}}}}}";
    let put = "{\"fact\":{\"put_on\":{\"ring\":0,\"hole\":1,\"pieces\":[{\"item\":1,\"count\":1}]}}}";
    let times = |one: &str, count: usize| vec![one; count].join(",");
    let notes: Vec<String> = (0..1001)
        .map(|name| format!("{{\"fact\":{{\"noted\":{{\"what\":\"{name}\",\"value\":\"\"}}}}}}"))
        .collect();
    let refused = [
        (large(0, 0, 1001, ""), "the machine has 1001 planes, and at most 1000 are taken", 1521),
        (large(20_001, 0, 1, ""), "the machine has 20001 holes, and at most 20000 are taken", 1521),
        (large(0, 1001, 1, ""), "the machine has 1001 kinds of hardware, and at most 1000 are taken", 1521),
        (
            large(20_000, 101, 1, ""),
            "the machine has 2020000 holes times kinds of hardware, and at most 2000000 are taken",
            1521,
        ),
        // 2,000,000 counts of 4 bytes, and a plane of 16: 33 runs are within 2²⁸ bytes, by hand.
        (
            large(2000, 1000, 1, &times(run, 34)),
            "entry 33 makes more than 268435456 bytes of what was mounted in its runs, which is more than a record keeps",
            1522,
        ),
        (
            large(0, 0, 1, &times(on, 10_001)),
            "entry 10000 makes more than 10000 weights at once that are in no hole, which is more than a record keeps",
            1522,
        ),
        (
            large(0, 0, 1, &notes.join(",")),
            "entry 1000 makes more than 1000 lines of the log, which is more than a record keeps",
            1522,
        ),
    ];
    for (text, words, code) in refused {
        let error = json::record_from_text(&text).unwrap_err();
        assert_eq!((error.reason.as_str(), error.code()), (words, code));
    }
    assert!(json::record_from_text(&large(2000, 1000, 1, &times(run, 33))).is_ok());
    // What follows from the pieces is derived at the end, not after each of many facts.
    let state = json::record_from_text(&large(2000, 1000, 1, &times(put, 20_000))).unwrap();
    assert_eq!(state.state().rings()[0].holes()[1].pieces_mounted()[1], 20_000);
    let many: Vec<String> = (0..1001).map(channel_text).collect();
    let channels =
        serde_json::from_str::<serde_json::Value>(&text()).unwrap()["machine"]["channels"].to_string();
    let text = large(0, 0, 1, "").replacen(&channels, &format!("[{}]", many.join(",")), 1);
    let error = json::record_from_text(&text).unwrap_err();
    assert_eq!(
        (error.reason.as_str(), error.path.as_str()),
        ("the machine has 1001 channels, and at most 1000 are taken", "machine.channels")
    );
}

fn channel_text(sensor: u16) -> String {
    json::to_text(&channel(sensor)).unwrap()
}

/// A refused fact leaves the counts as they were, even where one kind is named twice.
#[test]
fn pieces_that_are_refused_in_part_are_refused_whole() {
    let mut record = Record::new(machine());
    let before = format!("{record:?}");
    let put = |pieces: &[(usize, u32)]| {
        let pieces = pieces.iter().map(|&(item, count)| Pieces { item, count }).collect();
        Fact::PutOn { ring: 0, hole: 2, pieces }
    };
    for pieces in [&[(0, 3), (0, 4), (2, 1)][..], &[(1, 1), (0, u32::MAX)], &[(1, u32::MAX), (1, 1)]] {
        assert!(record.add(put(pieces)).is_err());
        assert_eq!(format!("{record:?}"), before);
    }
    assert!(record.add(put(&[(0, 3), (0, 4)])).is_ok());
    assert_eq!(record.state().rings()[0].holes()[2].pieces_mounted(), [8, 0]);
}

#[test]
fn the_examples_of_the_guide_are_one_record() {
    let guide = include_str!("../src/guide/record.md");
    let mut blocks = guide.split("```json\n").skip(1).map(|block| block.split("```").next().unwrap());
    let mut record = json::record_from_text(blocks.next().unwrap()).unwrap();
    assert_eq!(record.machine().planes().len(), 2);
    let mut names = Vec::new();
    for block in blocks {
        let entry: Entry = json::from_text(block).unwrap_or_else(|error| panic!("{error}\n{block}"));
        let value: serde_json::Value = serde_json::from_str(block).unwrap();
        names.extend(value["fact"].as_object().unwrap().keys().cloned());
        record.add(entry).unwrap_or_else(|error| panic!("{error}\n{block}"));
    }
    let order = [
        "checked",
        "noted",
        "run",
        "put_on",
        "taken_off",
        "weight_on",
        "weight_off",
        "changed",
        "remark",
        "amend",
        "amend",
    ];
    assert_eq!(names, order);
    // The washer counted from the other side is in hole 0, the bracket was straight.
    assert_eq!(record.state().rings()[0].holes()[0].pieces_mounted(), [1, 0]);
    assert_eq!(record.state().rings()[0].holes()[2].pieces_mounted(), [0, 0]);
    assert!(record.state().changes().is_empty() && record.state().weights().is_empty());
}
