//! A published case as it stands in its file.

use core::ops::Deref;

use serde_json::Value;

use crate::support::vectors::{Fields, read};

pub(crate) struct Case {
    value: Value,
}

impl Deref for Case {
    type Target = Value;
    fn deref(&self) -> &Value {
        &self.value
    }
}

impl Case {
    pub(crate) fn read(file: &str, id: &str) -> Self {
        let found = all(file).into_iter().find(|case| case.id() == id);
        found.unwrap_or_else(|| panic!("{file}.json has no case {id}"))
    }

    pub(crate) fn id(&self) -> &str {
        self.text("id")
    }

    pub(crate) fn basis(&self) -> &str {
        self.text("expected_basis")
    }

    pub(crate) fn inputs(&self) -> &Value {
        &self.value["inputs"]
    }

    pub(crate) fn expected(&self) -> &Value {
        &self.value["expected"]
    }

    pub(crate) fn tolerance(&self, key: &str) -> f64 {
        self.value["tolerance"].number(key)
    }
}

/// The names of the data files.
pub(crate) fn files() -> Vec<String> {
    let directory = format!("{}/tests/published", env!("CARGO_MANIFEST_DIR"));
    let mut names: Vec<String> = std::fs::read_dir(directory)
        .unwrap()
        .filter_map(|entry| entry.unwrap().file_name().to_str()?.strip_suffix(".json").map(str::to_owned))
        .collect();
    names.sort();
    names
}

/// The cases of one file. Each says where it is from, and how its figures were come by.
pub(crate) fn all(file: &str) -> Vec<Case> {
    let cases = read(&format!("published/{file}.json"));
    let cases = cases.as_array().unwrap_or_else(|| panic!("{file}.json is no list"));
    for case in cases {
        for (field, of) in [("author", &case["source"]), ("title", &case["source"]), ("provenance", case)] {
            assert!(!of.text(field).is_empty(), "{file}.json: a case without {field}");
        }
    }
    cases.iter().map(|value| Case { value: value.clone() }).collect()
}

#[track_caller]
pub(crate) fn assert_near(got: f64, want: f64, tolerance: f64) {
    assert!((got - want).abs() <= tolerance, "got {got}, want {want} to {tolerance}");
}

/// For angles in degrees, across 0.
#[track_caller]
pub(crate) fn assert_direction(got: f64, want: f64, tolerance: f64) {
    let off = crate::support::turn_between(got, want);
    assert!(off <= tolerance, "got {got}, want {want} to {tolerance} degrees");
}
