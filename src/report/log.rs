//! The log entry: what a person signs.

use alloc::format;
use alloc::string::String;
use alloc::vec::Vec;

use super::content::Facts;
use super::document::{Block, Section};
use crate::channel::Reading;
use crate::job::LimitPurpose;
use crate::vector::Weight;

/// Date, machine, parts, what was read before and after, every weight, limits with their sources, and the signature left
/// blank.
pub(super) fn section(facts: &Facts<'_>) -> Section {
    let mut section = Section::new("Log entry");
    let machine = facts.machine;
    let date = facts.record.entries().iter().rev().map(crate::job::Entry::when).find(|when| !when.is_empty());
    section.line(format!("Date: {}", date.unwrap_or("not stated")));
    let kind = if machine.kind().is_empty() { String::new() } else { format!(", {}", machine.kind()) };
    section.line(format!("Machine: {}{kind}", machine.name()));
    for part in machine.parts() {
        section.line(format!("Part: {}, serial number {}", part.name(), part.serial()));
    }
    for note in facts.state.notes() {
        section.line(format!("{}: {}", note.what, note.value));
    }
    section.table(
        &["sensor", "speed", "before", "after", "unit and detector"],
        (0..machine.channels().len()).filter_map(|channel| before_and_after(facts, channel)).collect(),
    );
    let weights = weights(facts);
    if weights.is_empty() {
        section.line("Nothing is mounted that was not there as the machine was found.");
    } else {
        section.line("Mounted, counted from the machine as found (a negative mass came off):");
        section.table(&["part", "mass", "radius", "place"], weights);
    }
    let limits = machine.limits().iter().filter(|limit| limit.purpose == LimitPurpose::Done);
    section.list(
        limits
            .map(|limit| {
                format!(
                    "limit of {}: {}; {}",
                    machine.channel_words(limit.channel),
                    machine.amplitude_words(limit.channel, limit.amplitude),
                    limit.source
                )
            })
            .collect(),
    );
    for name in ["Name", "Licence or authority", "Signature"] {
        section.blocks.push(Block::Blank(name));
    }
    section
}

/// What the first and the last run read of a channel.
fn before_and_after(facts: &Facts<'_>, channel: usize) -> Option<Vec<String>> {
    let of = facts.machine.channels().get(channel)?;
    let read = |means: &Vec<Option<Reading>>| {
        let reading = means.get(channel)?.as_ref()?;
        Some(facts.polar_words(channel, reading.at_nominal_speed()))
    };
    let before = facts.means.iter().find_map(read)?;
    // The first and the last are the same where there is one.
    let after = if facts.means.len() > 1 {
        facts.means.iter().rev().find_map(read)?
    } else {
        String::from("not read")
    };
    Some(alloc::vec![
        format!("{}", of.sensor()),
        format!("{:.0} rpm", of.window().nominal().rpm()),
        before,
        after,
        format!("{}", of.unit()),
    ])
}

/// Every weight that is on now and was not as found, or the other way round.
fn weights(facts: &Facts<'_>) -> Vec<Vec<String>> {
    let machine = facts.machine;
    let row = |part: String, weight: &Weight, place: String| {
        alloc::vec![
            part,
            format!("{:.2} g", weight.mass.grams()),
            format!("{:.0} mm", weight.radius.millimetres()),
            place,
        ]
    };
    let mut rows = Vec::new();
    for (number, (now, found)) in facts.state.rings().iter().zip(machine.rings()).enumerate() {
        for (at, (now, found)) in now.holes().iter().zip(found.holes()).enumerate() {
            for (kind, piece) in machine.hardware().iter().enumerate() {
                let count = |counts: &[u32]| counts.get(kind).copied().map_or(0, i64::from);
                let more = count(now.pieces_mounted()) - count(found.pieces_mounted());
                if more != 0 {
                    #[allow(clippy::cast_precision_loss)] // a count of pieces
                    let mass = piece.mass() * more as f64;
                    let weight = Weight::new(mass, now.radius(), now.angle());
                    rows.push(row(
                        format!("{more} x {}", piece.name()),
                        &weight,
                        machine.hole_words(number, at),
                    ));
                }
            }
        }
    }
    for on in facts.state.weights() {
        let place = format!("{}, {}", machine.plane_words(on.plane), machine.angle_words(on.weight.angle));
        rows.push(row(String::from("weight in no hole"), &on.weight, place));
    }
    rows
}
