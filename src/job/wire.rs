//! How a record is written and read: a version first, and everything through the checks of a record made by hand.
//!
//! These are the types of the present version. Whoever changes what they write after a release raises
//! [`VERSION`](record::Record::VERSION), copies this file as it was to `wire_1.rs` (the number is that of its version), where it
//! stays for good, and writes `impl From<wire_1::Record> for Record` here, which says what the new field is in an old
//! text. `json::record_from_text` reads each version by its own types and brings it on, one version at a time. A text of every
//! version stays under `tests/job`, with `record.schema.json` as it was.

use alloc::string::String;
use alloc::vec;
use alloc::vec::Vec;

use super::fact::Entry;
use super::limit::{ExpectedResponse, RingUse, VibrationLimit, VisitDrift};
use super::machine::{self, MachinePart, MassLimit};
use super::record;
use crate::channel::Channel;
use crate::convention::Convention;
use crate::error::JobError;
use crate::placement::{Hardware, HoleRing};
use crate::unit::Radius;

#[derive(serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Machine {
    name: String,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    kind: String,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    parts: Vec<MachinePart>,
    convention: Convention,
    planes: Vec<String>,
    channels: Vec<Channel>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    hardware: Vec<Hardware>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    rings: Vec<HoleRing>,
    /// One per ring, or none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    ring_uses: Vec<RingUse>,
    /// One per plane, or none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    radii: Vec<Option<Radius>>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    limits: Vec<VibrationLimit>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    expected_responses: Vec<ExpectedResponse>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    drifts: Vec<VisitDrift>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    mass_limit: Option<MassLimit>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    checks: Vec<String>,
    #[serde(default = "one", skip_serializing_if = "is_one")]
    crank_turns_per_turn: f64,
}

const fn one() -> f64 {
    1.0
}

#[allow(clippy::trivially_copy_pass_by_ref)] // as serde calls it
fn is_one(value: &f64) -> bool {
    *value == 1.0
}

impl From<machine::Machine> for Machine {
    fn from(machine: machine::Machine) -> Self {
        let machine::Machine { name, kind, parts, convention, planes, channels, hardware, rings, .. } =
            machine;
        let said = |use_: &RingUse| *use_ != RingUse::default();
        let ring_uses = if machine.ring_uses.iter().any(said) { machine.ring_uses } else { Vec::new() };
        let radii = if machine.radii.iter().any(Option::is_some) { machine.radii } else { Vec::new() };
        Self {
            name,
            kind,
            parts,
            convention,
            planes,
            channels,
            hardware,
            rings,
            ring_uses,
            radii,
            limits: machine.limits,
            expected_responses: machine.expected,
            drifts: machine.drifts,
            mass_limit: machine.mass_limit,
            checks: machine.checks,
            crank_turns_per_turn: machine.crank_turns,
        }
    }
}

/// What is wrong with a record, and where it stands.
#[derive(Debug)]
pub(crate) struct Misplaced {
    pub(crate) error: JobError,
    // Without JSON the place is not told.
    #[cfg_attr(not(feature = "json"), allow(dead_code))]
    pub(crate) path: Vec<Step>,
}

/// One step from a value into what it holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Step {
    Key(&'static str),
    Index(usize),
}

use Step::{Index, Key};

impl TryFrom<Machine> for machine::Machine {
    type Error = JobError;
    fn try_from(wire: Machine) -> Result<Self, JobError> {
        made(wire).map_err(|misplaced| misplaced.error)
    }
}

/// Where in a machine its channels, planes or holes cannot be.
fn in_machine(error: &JobError) -> Vec<Step> {
    let (list, within) = match *error {
        JobError::NoChannels | JobError::TooManyInMachine { what: "channels", .. } => {
            ("channels", Vec::new())
        }
        JobError::RepeatedChannel { second, .. } => ("channels", vec![Index(second)]),
        JobError::NoPlanes | JobError::TooManyInMachine { what: "planes", .. } => ("planes", Vec::new()),
        JobError::RingPlane { ring, .. } => ("rings", vec![Index(ring), Key("plane")]),
        JobError::Mounted { ring, hole, .. } => {
            ("rings", vec![Index(ring), Key("holes"), Index(hole), Key("mounted")])
        }
        JobError::TooManyInMachine { what: "rings" | "holes", .. } => ("rings", Vec::new()),
        JobError::TooManyInMachine { .. } => ("hardware", Vec::new()),
        _ => return vec![Key("machine")],
    };
    [vec![Key("machine"), Key(list)], within].concat()
}

fn made(wire: Machine) -> Result<machine::Machine, Misplaced> {
    let planes: Vec<&str> = wire.planes.iter().map(String::as_str).collect();
    let checks: Vec<&str> = wire.checks.iter().map(String::as_str).collect();
    let whole = |error: JobError| Misplaced { path: in_machine(&error), error };
    let one = |list, at| move |error| Misplaced { error, path: vec![Key("machine"), Key(list), Index(at)] };
    let field = |name| move |error| Misplaced { error, path: vec![Key("machine"), Key(name)] };
    let mut machine = machine::Machine::new(wire.name, wire.convention, &wire.channels, &planes)
        .and_then(|machine| machine.with_holes(&wire.rings, &wire.hardware))
        .map_err(whole)?
        .of_kind(wire.kind)
        .with_checks(&checks)
        .geared(wire.crank_turns_per_turn)
        .map_err(field("crank_turns_per_turn"))?;
    for (ring, of_ring) in wire.ring_uses.into_iter().enumerate() {
        machine = machine.with_ring_use(ring, of_ring).map_err(one("ring_uses", ring))?;
    }
    for (plane, radius) in wire.radii.into_iter().enumerate() {
        machine = match radius {
            Some(radius) => machine.with_radius(plane, radius).map_err(one("radii", plane))?,
            // Nothing is said of a plane, which must be there all the same.
            None if plane < planes.len() => machine,
            None => {
                let (what, number, there) = ("plane", plane, planes.len());
                return Err(one("radii", plane)(JobError::NoSuchInMachine { what, number, there }));
            }
        };
    }
    for (at, limit) in wire.limits.into_iter().enumerate() {
        machine = machine.with_limit(limit).map_err(one("limits", at))?;
    }
    for (at, expected) in wire.expected_responses.into_iter().enumerate() {
        machine = machine.with_expected_response(expected).map_err(one("expected_responses", at))?;
    }
    for (at, drift) in wire.drifts.into_iter().enumerate() {
        machine = machine.with_drift(drift).map_err(one("drifts", at))?;
    }
    if let Some(limit) = wire.mass_limit {
        machine = machine.with_mass_limit(limit).map_err(field("mass_limit"))?;
    }
    Ok(wire.parts.into_iter().fold(machine, machine::Machine::with_part))
}

/// A record of a version that this library does not read.
pub(crate) const fn unknown_version(found: u32) -> JobError {
    JobError::Version { what: "record", found, newest: record::Record::VERSION }
}

#[derive(serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Record {
    version: u32,
    machine: Machine,
    #[serde(default)]
    entries: Vec<Entry>,
}

impl Record {
    /// The record, through the checks of one made by hand.
    pub(crate) fn made(self) -> Result<record::Record, Misplaced> {
        if self.version != record::Record::VERSION {
            return Err(Misplaced { error: unknown_version(self.version), path: vec![Key("version")] });
        }
        let machine = made(self.machine)?;
        record::Record::with_entries(machine, self.entries).map_err(|error| {
            let path = match error {
                JobError::Reading { entry, reading, .. } => {
                    vec![
                        Key("entries"),
                        Index(entry),
                        Key("fact"),
                        Key("run"),
                        Key("readings"),
                        Index(reading),
                    ]
                }
                JobError::NoSuch { entry, .. }
                | JobError::NoReading { entry }
                | JobError::NotThere { entry, .. }
                | JobError::TooManyPieces { entry, .. }
                | JobError::NoWeight { entry, .. }
                | JobError::AmendsLater { entry, .. }
                | JobError::AmendmentInstead { entry, .. }
                | JobError::TooMuch { entry, .. } => vec![Key("entries"), Index(entry)],
                _ => vec![Key("entries")],
            };
            Misplaced { error, path }
        })
    }
}

impl From<record::Record> for Record {
    fn from(record: record::Record) -> Self {
        let (machine, entries) = (record.machine().clone().into(), record.entries().to_vec());
        Self { version: record::Record::VERSION, machine, entries }
    }
}

impl TryFrom<Record> for record::Record {
    type Error = JobError;
    fn try_from(wire: Record) -> Result<Self, JobError> {
        wire.made().map_err(|misplaced| misplaced.error)
    }
}
