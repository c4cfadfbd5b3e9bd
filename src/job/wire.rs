//! How a record is written and read: a version first, and everything through the checks of a record made by hand.

use alloc::string::String;
use alloc::vec::Vec;

use super::fact::Entry;
use super::machine::{self, MachinePart};
use super::record;
use crate::channel::Channel;
use crate::convention::Convention;
use crate::error::JobError;
use crate::placement::{Hardware, HoleRing};

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
}

impl From<machine::Machine> for Machine {
    fn from(machine: machine::Machine) -> Self {
        let machine::Machine { name, kind, parts, convention, planes, channels, hardware, rings } = machine;
        Self { name, kind, parts, convention, planes, channels, hardware, rings }
    }
}

impl TryFrom<Machine> for machine::Machine {
    type Error = JobError;
    fn try_from(wire: Machine) -> Result<Self, JobError> {
        let planes: Vec<&str> = wire.planes.iter().map(String::as_str).collect();
        let machine = Self::new(wire.name, wire.convention, &wire.channels, &planes)?;
        let machine = machine.with_holes(&wire.rings, &wire.hardware)?.of_kind(wire.kind);
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
