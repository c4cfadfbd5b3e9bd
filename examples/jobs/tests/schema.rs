//! The JSON Schema of the record, held against what the library writes and what it refuses, by a validator of others.
//!
//! It stands here and not beside the other tests of the record, so that the library's own tests build without a
//! validator.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)] // a test that cannot go on fails

#[path = "../../../tests/support/histories.rs"]
mod histories;

use std::collections::BTreeMap;
use std::fs;
use std::path::PathBuf;

use boon::{Compiler, SchemaIndex, Schemas};
use counterpoise::job::Record;
use counterpoise::json;
use histories::{Histories, every_field};
use proptest::prelude::*;
use serde_json::{Map, Value, json};

struct Schema(Schemas, SchemaIndex);

impl Schema {
    fn new() -> Self {
        let (mut schemas, mut compiler) = (Schemas::new(), Compiler::new());
        let place = "urn:counterpoise:record:1";
        compiler.add_resource(place, serde_json::from_str(json::RECORD_SCHEMA).unwrap()).unwrap();
        // This also holds the schema against that of draft 2020-12.
        let index = compiler.compile(place, &mut schemas).unwrap();
        Self(schemas, index)
    }

    fn accepts(&self, value: &Value) -> bool {
        self.0.validate(value, self.1).is_ok()
    }

    #[track_caller]
    fn assert_accepts(&self, text: &str) {
        let value: Value = serde_json::from_str(text).unwrap();
        if let Err(error) = self.0.validate(&value, self.1) {
            panic!("{error:#}\n{text}");
        }
    }
}

#[test]
fn every_record_that_is_written_is_valid() {
    let schema = Schema::new();
    let mut draws = Histories::new();
    for _ in 0..400 {
        schema.assert_accepts(&json::to_text(&draws.record()).unwrap());
    }
    schema.assert_accepts(&json::to_text(&every_field()).unwrap());
}

#[test]
fn the_committed_records_are_valid() {
    let schema = Schema::new();
    let root = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../..");
    let mut files: Vec<PathBuf> =
        fs::read_dir(root.join("tests/job")).unwrap().map(|file| file.unwrap().path()).collect();
    files.push(root.join("examples/data/trainer_job.json"));
    assert!(files.len() >= 3, "{files:?}");
    for file in files {
        schema.assert_accepts(&fs::read_to_string(file).unwrap());
    }
}

/// What only the reader sees, with a change of the record with every field that shows it: where, what is put there, and the
/// code and words of the refusal. Whoever adds to this list adds to the guide page on the record. Code 900 comes from a value
/// of its own that is checked as a whole.
fn only_the_reader() -> Vec<(&'static str, Value, i32, &'static str)> {
    let channel = "/machine/channels/1";
    let whole: Value = serde_json::from_str(&json::to_text(&every_field()).unwrap()).unwrap();
    let first = whole.pointer("/machine/channels/0").unwrap().clone();
    let amendment = json!({ "amend": { "entry": 0, "reason": "" } });
    let half_full = json!([{ "item": 0, "count": u32::MAX }, { "item": 0, "count": 1 }]);
    let many = json!(vec!["plane"; 1001]);
    vec![
        ("/machine/channels/0/window/nominal_rpm", json!(100.0), 900, "does not hold its nominal"),
        (
            "/entries/3/fact/run/readings/0/scatter/covariance/0/1",
            json!(9.0),
            900,
            "is no covariance of a reading",
        ),
        (channel, first, 1502, "are the same, sensor"),
        ("/machine/rings/0/plane", json!(2), 1504, "lies in plane"),
        ("/machine/rings/0/holes/1/mounted", json!([1]), 1505, "kinds of hardware"),
        ("/entries/4/fact/put_on/hole", json!(6), 1506, "names hole 6"),
        ("/entries/3/fact/run/readings", json!([]), 1507, "a run without a reading"),
        ("/entries/3/fact/run/readings/0/amplitude", json!(-4.2), 1508, "amplitude must not be negative"),
        (
            "/entries/3/fact/run/readings/0/amplitude",
            json!(1e120),
            1508,
            "is beyond what can be computed with",
        ),
        ("/entries/3/fact/run/readings/0/rpm", json!(0.0), 1508, "speed must be greater than zero"),
        ("/entries/3/fact/run/readings/0/rpm", json!(2500.0), 1508, "lies outside the"),
        ("/entries/8/fact/taken_off/pieces/0/count", json!(3), 1509, "are there: amend the entry"),
        ("/entries/4/fact/put_on/pieces", half_full, 1510, "than can be counted"),
        ("/entries/7/fact/weight_off/on", json!(4), 1511, "which put none on or is off already"),
        ("/entries/16/fact/amend/entry", json!(16), 1512, "only an earlier entry can be amended"),
        ("/entries/9/fact/amend/instead", amendment, 1513, "put the fact itself there"),
        ("/machine/limits/0/channel", json!(2), 1519, "the machine has no"),
        (
            "/machine/expected_responses/0/highest_per_gram_millimetre",
            json!(1e-5),
            1520,
            "at least the lowest",
        ),
        ("/machine/planes", many, 1521, "at most 1000 are taken"),
    ]
}

#[test]
fn what_only_the_reader_sees_is_valid_and_refused() {
    let schema = Schema::new();
    for (place, value, code, words) in only_the_reader() {
        let mut whole: Value = serde_json::from_str(&json::to_text(&every_field()).unwrap()).unwrap();
        *whole.pointer_mut(place).unwrap() = value;
        let text = whole.to_string();
        schema.assert_accepts(&text);
        let error = json::record_from_text(&text).unwrap_err();
        assert!(error.code() == code && error.reason.contains(words), "{place}: {error} ({})", error.code());
    }
    // A number that is whole is a whole number to the schema, however it is written; and it sees no key twice.
    let text = json::to_text(&every_field()).unwrap();
    for (from, to, words) in [
        ("\"sensor\":1,", "\"sensor\":1.0,", "invalid type: floating point"),
        ("\"sensor\":1,", "\"sensor\":1,\"sensor\":1,", "duplicate field `sensor`"),
    ] {
        assert!(text.contains(from));
        let text = text.replacen(from, to, 1);
        schema.assert_accepts(&text);
        let error = json::record_from_text(&text).unwrap_err();
        assert!(error.code() == 900 && error.reason.contains(words), "{error}");
    }
}

/// The places of a value, each with the keys and numbers that lead to it.
fn places(value: &Value, here: &str, found: &mut Vec<String>) {
    found.push(here.to_owned());
    match value {
        Value::Object(map) => {
            for (key, inner) in map {
                places(inner, &format!("{here}/{key}"), found);
            }
        }
        Value::Array(list) => {
            for (at, inner) in list.iter().enumerate() {
                places(inner, &format!("{here}/{at}"), found);
            }
        }
        _ => {}
    }
}

/// Every name that the schema knows.
fn names_of(schema: &Value, names: &mut Vec<String>) {
    match schema {
        Value::Object(map) => {
            if let Some(Value::Array(list)) = map.get("enum") {
                names.extend(list.iter().filter_map(Value::as_str).map(str::to_owned));
            }
            map.values().for_each(|inner| names_of(inner, names));
        }
        Value::Array(list) => list.iter().for_each(|inner| names_of(inner, names)),
        _ => {}
    }
}

/// A change of one place of a record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Mutation {
    FieldRemoved,
    FieldRenamed,
    FieldAdded,
    TypeChanged,
    NameChanged,
    NumberChanged,
    ListCut,
    ElementRepeated,
}

use Mutation::{
    ElementRepeated, FieldAdded, FieldRemoved, FieldRenamed, ListCut, NameChanged, NumberChanged, TypeChanged,
};
const MUTATIONS: [Mutation; 8] = [
    FieldRemoved,
    FieldRenamed,
    FieldAdded,
    TypeChanged,
    NameChanged,
    NumberChanged,
    ListCut,
    ElementRepeated,
];

/// The same record with one place changed, where the mutation can be done there.
fn mutate(place: &mut Value, mutation: Mutation, pick: usize, names: &[String]) -> Option<()> {
    let key_of = |map: &Map<String, Value>| map.keys().nth(pick % map.len().max(1)).cloned();
    match (mutation, place) {
        (FieldRemoved, Value::Object(map)) => {
            let key = key_of(map)?;
            map.remove(&key);
        }
        (FieldRenamed, Value::Object(map)) => {
            let key = key_of(map)?;
            let value = map.remove(&key)?;
            map.insert(format!("{key}_"), value);
        }
        (FieldAdded, Value::Object(map)) => {
            map.insert("colour".to_owned(), Value::from("red"));
        }
        (TypeChanged, place) => {
            let others = [
                Value::Null,
                Value::from(true),
                Value::from(1.5),
                Value::from(3),
                Value::from("3"),
                Value::from(vec![1.5]),
                serde_json::json!({ "g": 1.5 }),
            ];
            let other = others[pick % others.len()].clone();
            if std::mem::discriminant(&other) == std::mem::discriminant(place) {
                return None;
            }
            *place = other;
        }
        (NameChanged, Value::String(name)) if names.contains(name) || name == "known" => {
            *name = if pick % 4 == 0 { format!("{name}s") } else { names[pick % names.len()].clone() };
        }
        (NumberChanged, place @ Value::Number(_)) => {
            let now = place.as_f64()?;
            let others =
                [-now, -1.0 - now, 0.0, now + 0.5, 1e60, -1e60, 1e120, 4e9, 1e-60, now * 1.5, now + 1.0];
            let other = others[pick % others.len()];
            // A count stays a whole number, written as one, unless it is to be none.
            *place = if place.is_u64() && other.fract() == 0.0 && other.abs() < 9e15 {
                #[allow(clippy::cast_possible_truncation)] // whole and small
                Value::from(other as i64)
            } else {
                Value::from(other)
            };
        }
        (ListCut, Value::Array(list)) => list.truncate(list.len().checked_sub(1 + pick % 2)?),
        (ElementRepeated, Value::Array(list)) => list.push(list.get(pick % list.len().max(1))?.clone()),
        _ => return None,
    }
    Some(())
}

#[test]
fn what_the_reader_refuses_for_its_shape_the_schema_refuses_and_nothing_else() {
    let schema = Schema::new();
    let mut names = Vec::new();
    names_of(&serde_json::from_str(json::RECORD_SCHEMA).unwrap(), &mut names);
    assert!(names.len() > 25, "{names:?}");
    let mut draws = Histories::new();
    let mut seen: BTreeMap<(Mutation, bool), usize> = BTreeMap::new();
    let mut in_order = 0;
    let by_the_reader = only_the_reader();
    let mut met = std::collections::BTreeSet::new();
    for round in 0..150 {
        let record = if round % 3 == 0 { every_field() } else { draws.record() };
        let whole: Value = serde_json::from_str(&json::to_text(&record).unwrap()).unwrap();
        let mut all = Vec::new();
        places(&whole, "", &mut all);
        for _ in 0..400 {
            let (at, mutation, pick) =
                draws.draw(&(0..all.len(), prop::sample::select(MUTATIONS.to_vec()), 0..10_000_usize));
            let mut changed = whole.clone();
            let place = changed.pointer_mut(&all[at]).unwrap();
            if mutate(place, mutation, pick, &names).is_none() || changed == whole {
                continue;
            }
            let text = changed.to_string();
            let valid = schema.accepts(&changed);
            *seen.entry((mutation, valid)).or_default() += 1;
            match json::record_from_text(&text) {
                // The reader takes the fields of an object in their order, too; nothing writes that, and the guide says so.
                Ok(_)
                    if !valid && mutation == TypeChanged && changed.pointer(&all[at]).unwrap().is_array() =>
                {
                    in_order += 1;
                }
                Ok(_) => {
                    assert!(valid, "read, and refused by the schema: {mutation:?} at {}\n{text}", all[at])
                }
                Err(error) if valid => {
                    let known = by_the_reader.iter().find(|line| {
                        error.code() == line.2 && (error.code() == 1506 || error.reason.contains(line.3))
                    });
                    let Some(known) = known else {
                        panic!(
                            "valid, and refused: {mutation:?} at {}: {error} ({})\n{text}",
                            all[at],
                            error.code()
                        )
                    };
                    met.insert(known.3);
                }
                Err(_) => {}
            }
        }
    }
    assert!(in_order > 0);
    // A list may be as long as it likes, but for the pairs of a covariance.
    for mutation in MUTATIONS.into_iter().filter(|&mutation| mutation != ElementRepeated) {
        let refused = seen.get(&(mutation, false)).copied().unwrap_or(0);
        assert!(refused > 100, "{mutation:?}: {refused}");
    }
    assert!(met.len() > 10, "{met:?}");
}

/// What is not JSON cannot be held against a schema at all.
#[test]
fn numbers_that_are_not_finite_are_no_json() {
    let text = json::to_text(&every_field()).unwrap();
    assert!(text.contains("\"amplitude\":4.2"));
    for number in ["NaN", "Infinity", "-Infinity", "1e999", "-1e999", "inf"] {
        let text = text.replacen("\"amplitude\":4.2", &format!("\"amplitude\":{number}"), 1);
        assert!(serde_json::from_str::<Value>(&text).is_err(), "{number}");
        assert_eq!(json::record_from_text(&text).unwrap_err().code(), 900, "{number}");
    }
}

/// A version is told apart by the schema too.
#[test]
fn another_version_is_not_valid() {
    let schema = Schema::new();
    let mut value: Value = serde_json::from_str(&json::to_text(&every_field()).unwrap()).unwrap();
    assert!(schema.accepts(&value));
    for version in [0, Record::VERSION + 1] {
        value["version"] = Value::from(version);
        assert!(!schema.accepts(&value), "{version}");
    }
}
