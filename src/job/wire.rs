//! How a record is written and read: a version first, and everything through the checks of a record made by hand.

use alloc::string::String;
use alloc::vec::Vec;

use super::fact::Entry;
use super::limit::{ExpectedResponse, RingUse, VibrationLimit};
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
            mass_limit: machine.mass_limit,
            checks: machine.checks,
            crank_turns_per_turn: machine.crank_turns,
        }
    }
}

impl TryFrom<Machine> for machine::Machine {
    type Error = JobError;
    fn try_from(wire: Machine) -> Result<Self, JobError> {
        let planes: Vec<&str> = wire.planes.iter().map(String::as_str).collect();
        let checks: Vec<&str> = wire.checks.iter().map(String::as_str).collect();
        let mut machine = Self::new(wire.name, wire.convention, &wire.channels, &planes)?
            .with_holes(&wire.rings, &wire.hardware)?
            .of_kind(wire.kind)
            .with_checks(&checks)
            .geared(wire.crank_turns_per_turn)?;
        for (ring, of_ring) in wire.ring_uses.into_iter().enumerate() {
            machine = machine.with_ring_use(ring, of_ring)?;
        }
        for (plane, radius) in wire.radii.into_iter().enumerate() {
            machine = match radius {
                Some(radius) => machine.with_radius(plane, radius)?,
                None => machine,
            };
        }
        for limit in wire.limits {
            machine = machine.with_limit(limit)?;
        }
        for expected in wire.expected_responses {
            machine = machine.with_expected_response(expected)?;
        }
        if let Some(limit) = wire.mass_limit {
            machine = machine.with_mass_limit(limit)?;
        }
        Ok(wire.parts.into_iter().fold(machine, Self::with_part))
    }
}

#[derive(serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Record {
    version: u32,
    machine: machine::Machine,
    #[serde(default)]
    entries: Vec<Entry>,
}

impl From<record::Record> for Record {
    fn from(record: record::Record) -> Self {
        let (machine, entries) = (record.machine().clone(), record.entries().to_vec());
        Self { version: record::Record::VERSION, machine, entries }
    }
}

impl TryFrom<Record> for record::Record {
    type Error = JobError;
    fn try_from(wire: Record) -> Result<Self, JobError> {
        Self::check_version(wire.version)?;
        Self::with_entries(wire.machine, wire.entries)
    }
}
