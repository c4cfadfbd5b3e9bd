//! What a person is to put on and take off, and the facts that say it was done.

use alloc::format;
use alloc::string::String;
use alloc::vec::Vec;

use super::fact::{Fact, Pieces};
use super::machine::Machine;
use super::state::State;
use crate::placement::HoleChange;
use crate::unit::Radius;
use crate::vector::UnbalanceVector;

/// A weight for a plane without holes.
///
/// ```
/// use counterpoise::{Radius, UnbalanceVector, job::PlannedWeight};
/// let unbalance = UnbalanceVector::from_components_gram_millimetres(1000.0, 0.0)?;
/// let weight = PlannedWeight { plane: 0, unbalance, radius: Some(Radius::from_millimetres(100.0)?) };
/// assert_eq!(weight.radius.map(|radius| unbalance.weight_at(radius).mass.grams()), Some(10.0));
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct PlannedWeight {
    /// Its plane.
    pub plane: usize,
    /// Its unbalance.
    pub unbalance: UnbalanceVector,
    /// The radius it goes to; `None` where the machine does not say.
    pub radius: Option<Radius>,
}

/// What is to be put on and taken off. Nothing else is to change.
///
/// ```
/// # use counterpoise::job::{Advice, AdviceOptions, Action, Fact, Record, StatedReading};
#[doc = example_machine!()]
/// # let mut record = Record::new(machine);
/// # let read = |amplitude, phase| StatedReading::new(0, amplitude, phase, 2350.0);
/// # record.add(Fact::run("as found", &[read(0.45, 48.0), read(0.452, 48.3), read(0.449, 47.9)]))?;
/// # record.add(Fact::PutOn { ring: 0, hole: 6, pieces: vec![counterpoise::job::Pieces { item: 0, count: 2 }] })?;
/// # record.add(Fact::run("trial", &[read(0.61, 75.0), read(0.612, 75.2), read(0.609, 74.8)]))?;
/// let advice = Advice::of(&record, &AdviceOptions::default());
/// let Action::Mount { mounting, .. } = advice.first().action() else { return Err("the trial was clear".into()) };
/// for line in mounting.words(record.machine()) {
///     println!("{line}");
/// }
/// for fact in mounting.facts().ok_or("all in holes")? {
///     record.add(fact)?;
/// }
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Mounting {
    pub(super) changes: Vec<HoleChange>,
    pub(super) put_on: Vec<PlannedWeight>,
    pub(super) taken_off: Vec<usize>,
    pub(super) added: Vec<UnbalanceVector>,
}

impl Mounting {
    /// What leads from what is on to another arrangement, and to weights that are still to be put on.
    pub(super) fn between(machine: &Machine, now: &State, after: &State, put_on: Vec<PlannedWeight>) -> Self {
        let kinds = machine.hardware().len();
        let mut changes = Vec::new();
        let mut pieces = now.pieces().iter().zip(after.pieces());
        for (ring, of_ring) in machine.rings().iter().enumerate() {
            for hole in 0..of_ring.holes().len() {
                let (mut added, mut removed) = (Vec::new(), Vec::new());
                for (kind, (&is, &will)) in pieces.by_ref().take(kinds).enumerate() {
                    if will > is {
                        added.push((kind, will - is));
                    } else if is > will {
                        removed.push((kind, is - will));
                    }
                }
                if !(added.is_empty() && removed.is_empty()) {
                    changes.push(HoleChange { ring, hole, added, removed });
                }
            }
        }
        let stays =
            |on: &&super::state::WeightOn| after.weights().iter().any(|other| other.entry == on.entry);
        let taken_off = now.weights().iter().filter(|on| !stays(on)).map(|on| on.entry).collect();
        let mut added: Vec<UnbalanceVector> =
            now.mounted().iter().zip(after.mounted()).map(|(&is, &will)| will - is).collect();
        for weight in &put_on {
            if let Some(sum) = added.get_mut(weight.plane) {
                *sum = *sum + weight.unbalance;
            }
        }
        Self { changes, put_on, taken_off, added }
    }

    pub(super) fn is_nothing(&self) -> bool {
        self.changes.is_empty() && self.put_on.is_empty() && self.taken_off.is_empty()
    }

    /// Hole by hole, with the machine's rings, holes and hardware counted from 0.
    ///
    /// ```
    /// # fn show(mounting: &counterpoise::job::Mounting) -> usize {
    /// mounting.changes().len()
    /// # }
    /// ```
    pub fn changes(&self) -> &[HoleChange] {
        &self.changes
    }

    /// Weights to put on in planes without holes.
    ///
    /// ```
    /// # fn show(mounting: &counterpoise::job::Mounting) -> usize {
    /// mounting.put_on().len()
    /// # }
    /// ```
    pub fn put_on(&self) -> &[PlannedWeight] {
        &self.put_on
    }

    /// Weights in no hole that come off: the entries that put them on.
    ///
    /// ```
    /// # fn show(mounting: &counterpoise::job::Mounting) -> &[usize] {
    /// mounting.taken_off()
    /// # }
    /// ```
    pub fn taken_off(&self) -> &[usize] {
        &self.taken_off
    }

    /// What it adds to every plane, after everything is put on and taken off.
    ///
    /// ```
    /// # fn show(mounting: &counterpoise::job::Mounting) -> f64 {
    /// mounting.added()[0].amount().gram_millimetres()
    /// # }
    /// ```
    pub fn added(&self) -> &[UnbalanceVector] {
        &self.added
    }

    /// The facts to add to the record when it is done as it stands here; `None` where the radius of a weight is not known.
    ///
    /// ```
    /// # fn show(mounting: &counterpoise::job::Mounting) -> Option<Vec<counterpoise::job::Fact>> {
    /// mounting.facts()
    /// # }
    /// ```
    pub fn facts(&self) -> Option<Vec<Fact>> {
        let mut facts: Vec<Fact> = self.taken_off.iter().map(|&on| Fact::WeightOff { on }).collect();
        let pieces = |counts: &[(usize, u32)]| -> Vec<Pieces> {
            counts.iter().map(|&(item, count)| Pieces { item, count }).collect()
        };
        for &HoleChange { ring, hole, ref removed, .. } in &self.changes {
            if !removed.is_empty() {
                facts.push(Fact::TakenOff { ring, hole, pieces: pieces(removed) });
            }
        }
        for &HoleChange { ring, hole, ref added, .. } in &self.changes {
            if !added.is_empty() {
                facts.push(Fact::PutOn { ring, hole, pieces: pieces(added) });
            }
        }
        for weight in &self.put_on {
            facts.push(Fact::WeightOn {
                plane: weight.plane,
                weight: weight.unbalance.weight_at(weight.radius?),
            });
        }
        Some(facts)
    }

    /// One line for each thing to do, with the machine's names, holes counted from 1 and angles in the machine's sense.
    ///
    /// ```
    /// # use counterpoise::job::{Machine, Mounting};
    /// # fn show(mounting: &Mounting, machine: &Machine) {
    /// for line in mounting.words(machine) {
    ///     println!("{line}");
    /// }
    /// # }
    /// ```
    pub fn words(&self, machine: &Machine) -> Vec<String> {
        let mut lines = Vec::new();
        for &on in &self.taken_off {
            lines.push(format!("take off the weight of entry {on}"));
        }
        for change in &self.changes {
            let place = machine.hole_words(change.ring, change.hole);
            if !change.removed.is_empty() {
                lines.push(format!("{place}: take off {}", machine.pieces_words(&change.removed)));
            }
            if !change.added.is_empty() {
                lines.push(format!("{place}: put on {}", machine.pieces_words(&change.added)));
            }
        }
        for weight in &self.put_on {
            let plane = machine.plane_words(weight.plane);
            let place = machine.angle_words(weight.unbalance.angle());
            lines.push(match weight.radius {
                Some(radius) => format!(
                    "{plane}: put on {:.1} g at {:.0} mm, {place}",
                    weight.unbalance.weight_at(radius).mass.grams(),
                    radius.millimetres()
                ),
                None => format!(
                    "{plane}: put on {:.0} g mm (mass in g times radius in mm), {place}",
                    weight.unbalance.amount().gram_millimetres()
                ),
            });
        }
        lines
    }
}
