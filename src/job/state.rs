//! What follows from the facts: what is mounted now, and the runs, each with what was mounted in it.

use alloc::string::String;
use alloc::vec;
use alloc::vec::Vec;

use super::fact::{Change, CheckResult, Entry, Fact, Pieces, StatedReading};
use super::machine::Machine;
use crate::channel::Reading;
use crate::error::JobError;
use crate::placement::HoleRing;
use crate::vector::{UnbalanceVector, Weight};

/// A weight that is on the rotor and in no hole.
///
/// ```
/// # use counterpoise::job::{Fact, Record};
#[doc = example_machine!()]
/// let mut record = Record::new(machine);
/// let weight = convention.weight(Mass::from_grams(8.0)?, Radius::from_millimetres(165.0)?, 90.0)?;
/// let on = record.add(Fact::WeightOn { plane: 0, weight })?;
/// assert_eq!(record.state().weights()[0].entry, on);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeightOn {
    /// The entry that says it was put on.
    pub entry: usize,
    /// Its plane.
    pub plane: usize,
    /// The weight.
    pub weight: Weight,
}

/// A reading of a run.
///
/// ```
/// # use counterpoise::job::{Fact, Record, StatedReading};
#[doc = example_machine!()]
/// let mut record = Record::new(machine);
/// record.add(Fact::run("as found", &[StatedReading::new(0, 0.45, 48.0, 2346.0)]))?;
/// assert_eq!(record.state().runs()[0].readings()[0].channel, 0);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunReading {
    /// The machine's channel, counted from 0.
    pub channel: usize,
    /// What was read there.
    pub reading: Reading,
}

/// A change that was made, after which runs are not compared with those before.
///
/// ```
/// # use counterpoise::job::{Change, Fact, Record};
#[doc = example_machine!()]
/// let mut record = Record::new(machine);
/// record.add(Fact::Changed { what: Change::Mark, remark: "tape came off".into() })?;
/// assert_eq!(record.state().changes()[0].entry, 0);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ChangeMade {
    /// The entry that says it.
    pub entry: usize,
    /// What was changed.
    pub what: Change,
}

/// A check that was made.
///
/// ```
/// # use counterpoise::job::{CheckResult, Fact, Record};
#[doc = example_machine!()]
/// let mut record = Record::new(machine);
/// record.add(Fact::checked("blade track", CheckResult::InOrder, "1 mm"))?;
/// assert_eq!(record.state().checks()[0].what, "blade track");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CheckMade {
    /// The entry that says it.
    pub entry: usize,
    /// What was checked.
    pub what: String,
    /// What was found.
    pub result: CheckResult,
    /// How, in the person's words.
    pub remark: String,
}

/// A line of the log.
///
/// ```
/// # use counterpoise::job::{Fact, Record};
#[doc = example_machine!()]
/// let mut record = Record::new(machine);
/// record.add(Fact::noted("hours", "1204.6"))?;
/// assert_eq!(record.state().notes()[0].value, "1204.6");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Note {
    /// The entry that says it.
    pub entry: usize,
    /// What, as it is to be printed.
    pub what: String,
    /// The value, as it is to be printed.
    pub value: String,
}

/// One run of the job: what was mounted in it, and what was read.
///
/// ```
/// # use counterpoise::job::{Fact, Record, StatedReading};
#[doc = example_machine!()]
/// let mut record = Record::new(machine);
/// record.add(Fact::run("as found", &[StatedReading::new(0, 0.45, 48.0, 2346.0)]))?;
/// let run = &record.state().runs()[0];
/// assert_eq!((run.label(), run.entry(), run.readings().len()), ("as found", 0, 1));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct JobRun {
    pub(super) entry: usize,
    pub(super) label: String,
    pub(super) group: usize,
    pub(super) readings: Vec<RunReading>,
    /// Pieces of every kind in every hole of every ring, in that order.
    pub(super) pieces: Vec<u32>,
    pub(super) weights: Vec<WeightOn>,
    pub(super) mounted: Vec<UnbalanceVector>,
}

impl JobRun {
    /// The entry that says it.
    ///
    /// ```
    /// # use counterpoise::job::{Fact, Record, StatedReading};
    #[doc = example_machine!()]
    /// let mut record = Record::new(machine);
    /// record.add(Fact::remark("calm"))?;
    /// record.add(Fact::run("as found", &[StatedReading::new(0, 0.45, 48.0, 2346.0)]))?;
    /// assert_eq!(record.state().runs()[0].entry(), 1);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub const fn entry(&self) -> usize {
        self.entry
    }

    /// What it is called.
    ///
    /// ```
    /// # use counterpoise::job::{Fact, Record, StatedReading};
    #[doc = example_machine!()]
    /// # let mut record = Record::new(machine);
    /// # record.add(Fact::run("as found", &[StatedReading::new(0, 0.45, 48.0, 2346.0)]))?;
    /// assert_eq!(record.state().runs()[0].label(), "as found");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn label(&self) -> &str {
        &self.label
    }

    /// Runs of one group are of one rotor, one mark and the same sensors; counted from 0.
    ///
    /// ```
    /// # use counterpoise::job::{Change, Fact, Record, StatedReading};
    #[doc = example_machine!()]
    /// # let mut record = Record::new(machine);
    /// let run = || Fact::run("as found", &[StatedReading::new(0, 0.45, 48.0, 2346.0)]);
    /// record.add(run())?;
    /// record.add(Fact::Changed { what: Change::Sensor, remark: "fell off, put back".into() })?;
    /// record.add(run())?;
    /// assert_eq!(record.state().runs()[0].group(), 0);
    /// assert_eq!(record.state().runs()[1].group(), 1);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub const fn group(&self) -> usize {
        self.group
    }

    /// What was read, as it was stated, repeats one by one.
    ///
    /// ```
    /// # use counterpoise::job::{Fact, Record, StatedReading};
    #[doc = example_machine!()]
    /// # let mut record = Record::new(machine);
    /// # record.add(Fact::run("as found", &[StatedReading::new(0, 0.45, 48.0, 2346.0)]))?;
    /// let read = record.state().runs()[0].readings()[0];
    /// assert_eq!((read.channel, read.reading.speed().rpm()), (0, 2346.0));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn readings(&self) -> &[RunReading] {
        &self.readings
    }

    /// What was mounted more than on the machine as it was found: one sum per plane.
    ///
    /// ```
    /// # use counterpoise::job::{Fact, Pieces, Record, StatedReading};
    #[doc = example_machine!()]
    /// # let mut record = Record::new(machine);
    /// record.add(Fact::PutOn { ring: 0, hole: 0, pieces: vec![Pieces { item: 0, count: 2 }] })?;
    /// record.add(Fact::run("trial", &[StatedReading::new(0, 0.45, 48.0, 2346.0)]))?;
    /// // Two large washers, 4 g each, at 165 mm.
    /// let mounted = record.state().runs()[0].mounted()[0];
    /// assert_eq!(mounted.amount().gram_millimetres(), 1320.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn mounted(&self) -> &[UnbalanceVector] {
        &self.mounted
    }
}

/// What follows from a record's entries. Made by [`Record`](super::Record), from the first entry to the last.
///
/// ```
/// # use counterpoise::job::{Fact, Pieces, Record, StatedReading};
#[doc = example_machine!()]
/// let mut record = Record::new(machine);
/// record.add(Fact::PutOn { ring: 0, hole: 6, pieces: vec![Pieces { item: 0, count: 1 }] })?;
/// let state = record.state();
/// assert_eq!(state.mounted()[0].amount().gram_millimetres(), 660.0);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct State {
    /// Pieces of every kind in every hole of every ring, in that order.
    pieces: Vec<u32>,
    weights: Vec<WeightOn>,
    group: usize,
    changes: Vec<ChangeMade>,
    checks: Vec<CheckMade>,
    notes: Vec<Note>,
    runs: Vec<JobRun>,
    rings: Vec<HoleRing>,
    mounted: Vec<UnbalanceVector>,
    /// Whether `rings` and `mounted` are behind the pieces and the weights.
    stale: bool,
    /// The bytes that the runs keep of what was mounted in them.
    kept: usize,
}

// A record may come from anywhere, so what is derived from it is bounded, in memory and in work.
/// The most bytes that the runs keep of what was mounted in them.
const MOST_KEPT: usize = 1 << 28;
/// The most weights that are on at once in no hole.
const MOST_WEIGHTS: usize = 10_000;
/// The most names of lines of the log.
const MOST_NOTES: usize = 1000;

impl State {
    /// The state before the first entry.
    pub(super) fn as_found(machine: &Machine) -> Self {
        Self {
            pieces: pieces_as_found(machine),
            weights: Vec::new(),
            group: 0,
            changes: Vec::new(),
            checks: Vec::new(),
            notes: Vec::new(),
            runs: Vec::new(),
            rings: machine.rings.clone(),
            mounted: vec![UnbalanceVector::ZERO; machine.planes.len()],
            stale: false,
            kept: 0,
        }
    }

    /// The state after all entries, with every amended entry replaced by what should have stood there.
    pub(super) fn replayed(machine: &Machine, entries: &[Entry]) -> Result<Self, JobError> {
        let mut state = Self::as_found(machine);
        for (number, fact) in effective(entries)?.into_iter().enumerate() {
            if let Some(fact) = fact {
                state.go_on(machine, number, fact)?;
            }
        }
        state.settle(machine);
        Ok(state)
    }

    /// Goes on by one fact; where that is refused, nothing has changed.
    pub(super) fn apply(&mut self, machine: &Machine, entry: usize, fact: &Fact) -> Result<(), JobError> {
        self.go_on(machine, entry, fact)?;
        self.settle(machine);
        Ok(())
    }

    /// What follows from the pieces and the weights is derived when it is asked for: before a run, and at the end. So a
    /// replay works no more than it keeps.
    fn settle(&mut self, machine: &Machine) {
        if self.stale {
            self.derive_mounted(machine);
            self.stale = false;
        }
    }

    fn go_on(&mut self, machine: &Machine, entry: usize, fact: &Fact) -> Result<(), JobError> {
        match fact {
            Fact::Run { label, readings } => {
                let readings = read(machine, entry, readings)?;
                // The sizes of 64 bits, so that every platform keeps the same records.
                let more = 4 * self.pieces.len() + 40 * self.weights.len() + 16 * self.mounted.len();
                let kept = self.kept.saturating_add(more);
                at_most(entry, "bytes of what was mounted in its runs", kept, MOST_KEPT)?;
                self.kept = kept;
                self.settle(machine);
                self.runs.push(JobRun {
                    entry,
                    label: label.clone(),
                    group: self.group,
                    readings,
                    pieces: self.pieces.clone(),
                    weights: self.weights.clone(),
                    mounted: self.mounted.clone(),
                });
                return Ok(());
            }
            Fact::PutOn { ring, hole, pieces } => {
                let more = |entry, there: u32, piece: &Pieces| {
                    let (ring, hole, pieces) = (*ring, *hole, piece.count);
                    let sum = there.checked_add(piece.count);
                    sum.ok_or(JobError::TooManyPieces { entry, ring, hole, pieces })
                };
                self.change_pieces(machine, entry, (*ring, *hole, pieces), more)?;
            }
            Fact::TakenOff { ring, hole, pieces } => {
                let fewer = |entry, there: u32, piece: &Pieces| {
                    let (ring, hole, item, asked) = (*ring, *hole, piece.item, piece.count);
                    let left = there.checked_sub(asked);
                    left.ok_or(JobError::NotThere { entry, ring, hole, item, asked, there })
                };
                self.change_pieces(machine, entry, (*ring, *hole, pieces), fewer)?;
            }
            Fact::WeightOn { plane, weight } => {
                let there = machine.planes.len();
                if *plane >= there {
                    return Err(JobError::NoSuch { entry, what: "plane", number: *plane, there });
                }
                at_most(entry, "weights at once that are in no hole", self.weights.len() + 1, MOST_WEIGHTS)?;
                self.weights.push(WeightOn { entry, plane: *plane, weight: *weight });
            }
            Fact::WeightOff { on } => {
                let at = self.weights.iter().position(|weight| weight.entry == *on);
                self.weights.remove(at.ok_or(JobError::NoWeight { entry, on: *on })?);
            }
            Fact::Changed { what, .. } => {
                self.changes.push(ChangeMade { entry, what: *what });
                self.group += 1;
            }
            Fact::Checked { what, result, remark } => {
                let (what, remark) = (what.clone(), remark.clone());
                self.checks.push(CheckMade { entry, what, result: *result, remark });
                return Ok(());
            }
            Fact::Noted { what, value } => {
                // The last of one name counts, in the place of the first.
                let note = Note { entry, what: what.clone(), value: value.clone() };
                if let Some(earlier) = self.notes.iter_mut().find(|other| other.what == note.what) {
                    *earlier = note;
                } else {
                    at_most(entry, "lines of the log", self.notes.len() + 1, MOST_NOTES)?;
                    self.notes.push(note);
                }
                return Ok(());
            }
            Fact::Remark { .. } | Fact::Amend { .. } => return Ok(()),
        }
        self.stale = true;
        Ok(())
    }

    /// Puts some into a hole or takes some out of it; where one is refused, all are as they were.
    fn change_pieces(
        &mut self,
        machine: &Machine,
        entry: usize,
        (ring, hole, pieces): (usize, usize, &[Pieces]),
        change: impl Fn(usize, u32, &Pieces) -> Result<u32, JobError>,
    ) -> Result<(), JobError> {
        let kinds = machine.hardware.len();
        let there = machine.rings.len();
        let of =
            machine.rings.get(ring).ok_or(JobError::NoSuch { entry, what: "ring", number: ring, there })?;
        let there = of.holes().len();
        if hole >= there {
            return Err(JobError::NoSuch { entry, what: "hole", number: hole, there });
        }
        let first = Self::first_of(machine, ring, hole);
        let counts = self.pieces.get_mut(first..first + kinds).unwrap_or_default();
        let mut as_before = Vec::with_capacity(pieces.len());
        let mut change_one = |piece: &Pieces| {
            let no_such = JobError::NoSuch { entry, what: "hardware", number: piece.item, there: kinds };
            let count = counts.get_mut(piece.item).ok_or(no_such)?;
            let changed = change(entry, *count, piece)?;
            as_before.push((piece.item, *count));
            *count = changed;
            Ok(())
        };
        let outcome = pieces.iter().try_for_each(&mut change_one);
        if outcome.is_err() {
            // From the last: a kind that was named twice has its first count again.
            for (item, count) in as_before.into_iter().rev() {
                if let Some(place) = counts.get_mut(item) {
                    *place = count;
                }
            }
        }
        outcome
    }

    /// What follows from the pieces and the weights. Always summed in the same order, so that the same things on the
    /// rotor have the same sum, whatever the order in which they came.
    fn derive_mounted(&mut self, machine: &Machine) {
        let kinds = machine.hardware.len();
        let as_found = pieces_as_found(machine);
        let mut mounted = vec![UnbalanceVector::ZERO; machine.planes.len()];
        let mut rings = Vec::with_capacity(machine.rings.len());
        let mut first = 0;
        for ring in &machine.rings {
            let mut now = ring.clone();
            for (at, hole) in ring.holes().iter().enumerate() {
                let range = first..first + kinds;
                first += kinds;
                let (Some(counts), Some(found)) = (self.pieces.get(range.clone()), as_found.get(range))
                else {
                    continue;
                };
                now = now.at(at, |hole| hole.mounted(counts));
                for ((&count, &found), piece) in counts.iter().zip(found).zip(&machine.hardware) {
                    if count != found {
                        let mass = piece.mass() * (f64::from(count) - f64::from(found));
                        let more = Weight::new(mass, hole.radius(), hole.angle()).unbalance();
                        if let Some(sum) = mounted.get_mut(ring.plane()) {
                            *sum = *sum + more;
                        }
                    }
                }
            }
            rings.push(now);
        }
        for on in &self.weights {
            if let Some(sum) = mounted.get_mut(on.plane) {
                *sum = *sum + on.weight.unbalance();
            }
        }
        self.mounted = mounted;
        self.rings = rings;
    }

    /// The state with other pieces in the holes, and of the weights in no hole only some.
    pub(super) fn rearranged(
        &self,
        machine: &Machine,
        pieces: Vec<u32>,
        keep: impl Fn(&WeightOn) -> bool,
    ) -> Self {
        let mut state = Self { pieces, ..self.clone() };
        state.weights.retain(|on| keep(on));
        state.derive_mounted(machine);
        state
    }

    /// Where the pieces of a hole stand in [`pieces`](Self::pieces): the first of its kinds.
    pub(super) fn first_of(machine: &Machine, ring: usize, hole: usize) -> usize {
        let before: usize = machine.rings.iter().take(ring).map(|ring| ring.holes().len()).sum();
        (before + hole) * machine.hardware.len()
    }

    pub(super) fn pieces(&self) -> &[u32] {
        &self.pieces
    }

    /// The runs, in the order in which they were made.
    ///
    /// ```
    /// # use counterpoise::job::{Fact, Record, StatedReading};
    #[doc = example_machine!()]
    /// # let mut record = Record::new(machine);
    /// record.add(Fact::run("as found", &[StatedReading::new(0, 0.45, 48.0, 2346.0)]))?;
    /// assert_eq!(record.state().runs().len(), 1);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn runs(&self) -> &[JobRun] {
        &self.runs
    }

    /// The runs that belong to the machine as it is now: those since the last [`Change`].
    ///
    /// ```
    /// # use counterpoise::job::{Change, Fact, Record, StatedReading};
    #[doc = example_machine!()]
    /// # let mut record = Record::new(machine);
    /// record.add(Fact::run("as found", &[StatedReading::new(0, 0.45, 48.0, 2346.0)]))?;
    /// record.add(Fact::Changed { what: Change::Mark, remark: "tape came off".into() })?;
    /// assert_eq!(record.state().present_runs().count(), 0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn present_runs(&self) -> impl Iterator<Item = &JobRun> {
        self.runs.iter().filter(|run| run.group == self.group)
    }

    /// The changes after which runs are not compared with those before.
    ///
    /// ```
    /// # use counterpoise::job::{Change, Fact, Record};
    #[doc = example_machine!()]
    /// # let mut record = Record::new(machine);
    /// record.add(Fact::Changed { what: Change::Mark, remark: "tape came off".into() })?;
    /// assert_eq!(record.state().changes()[0].what, Change::Mark);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn changes(&self) -> &[ChangeMade] {
        &self.changes
    }

    /// The checks that were made, in the order in which they were.
    ///
    /// ```
    /// # use counterpoise::job::Record;
    #[doc = example_machine!()]
    /// assert!(Record::new(machine).state().checks().is_empty());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn checks(&self) -> &[CheckMade] {
        &self.checks
    }

    /// The lines of the log, each name once, with its last value.
    ///
    /// ```
    /// # use counterpoise::job::{Fact, Record};
    #[doc = example_machine!()]
    /// # let mut record = Record::new(machine);
    /// record.add(Fact::noted("hours", "1204.6"))?;
    /// record.add(Fact::noted("hours", "1206.4"))?;
    /// assert_eq!((record.state().notes().len(), record.state().notes()[0].value.as_str()), (1, "1206.4"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn notes(&self) -> &[Note] {
        &self.notes
    }

    /// The last run with just what is mounted now, of the machine as it is now; `None` where there is none yet.
    ///
    /// ```
    /// # use counterpoise::job::{Fact, Pieces, Record, StatedReading};
    #[doc = example_machine!()]
    /// # let mut record = Record::new(machine);
    /// record.add(Fact::run("as found", &[StatedReading::new(0, 0.45, 48.0, 2346.0)]))?;
    /// assert_eq!(record.state().run_as_mounted().map(|run| run.label()), Some("as found"));
    /// record.add(Fact::PutOn { ring: 0, hole: 7, pieces: vec![Pieces { item: 1, count: 2 }] })?;
    /// assert!(record.state().run_as_mounted().is_none());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn run_as_mounted(&self) -> Option<&JobRun> {
        let same = |run: &&JobRun| {
            run.group == self.group && run.pieces == self.pieces && run.weights == self.weights
        };
        self.runs.last().filter(same)
    }

    /// The rings with what is in every hole now, as a placement asks for them.
    ///
    /// ```
    /// # use counterpoise::job::{Fact, Pieces, Record};
    #[doc = example_machine!()]
    /// # let mut record = Record::new(machine);
    /// record.add(Fact::PutOn { ring: 0, hole: 7, pieces: vec![Pieces { item: 1, count: 2 }] })?;
    /// assert_eq!(record.state().rings()[0].holes()[7].pieces_mounted(), [0, 2]);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn rings(&self) -> &[HoleRing] {
        &self.rings
    }

    /// The weights that are on and in no hole.
    ///
    /// ```
    /// # use counterpoise::job::Record;
    #[doc = example_machine!()]
    /// assert!(Record::new(machine).state().weights().is_empty());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn weights(&self) -> &[WeightOn] {
        &self.weights
    }

    /// What is mounted now more than on the machine as it was found: one sum per plane.
    ///
    /// ```
    /// # use counterpoise::{UnbalanceVector, job::Record};
    #[doc = example_machine!()]
    /// assert_eq!(Record::new(machine).state().mounted(), [UnbalanceVector::ZERO]);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn mounted(&self) -> &[UnbalanceVector] {
        &self.mounted
    }
}

/// Refuses what would make a record derive more than is kept.
const fn at_most(entry: usize, what: &'static str, count: usize, most: usize) -> Result<(), JobError> {
    if count > most { Err(JobError::TooMuch { entry, what, most }) } else { Ok(()) }
}

/// The facts as they stand after all amendments; `None` for an entry that did not happen.
fn effective(entries: &[Entry]) -> Result<Vec<Option<&Fact>>, JobError> {
    let mut facts: Vec<Option<&Fact>> = entries.iter().map(|entry| Some(&entry.fact)).collect();
    let mut amended = vec![false; entries.len()];
    // From the last: an amendment that was amended itself no longer amends.
    for number in (0..facts.len()).rev() {
        let Some(&Some(Fact::Amend { entry: of, instead, .. })) = facts.get(number) else { continue };
        if *of >= number {
            return Err(JobError::AmendsLater { entry: number, of: *of });
        }
        if matches!(instead.as_deref(), Some(Fact::Amend { .. })) {
            return Err(JobError::AmendmentInstead { entry: number, of: *of });
        }
        // Of two amendments of one entry the later counts.
        if let (Some(fact), Some(done @ false)) = (facts.get_mut(*of), amended.get_mut(*of)) {
            *fact = instead.as_deref();
            *done = true;
        }
    }
    Ok(facts)
}

/// The readings of a run, each in its channel.
fn read(machine: &Machine, entry: usize, stated: &[StatedReading]) -> Result<Vec<RunReading>, JobError> {
    if stated.is_empty() {
        return Err(JobError::NoReading { entry });
    }
    let there = machine.channels.len();
    let one = |(reading, stated): (usize, &StatedReading)| {
        let channel = stated.channel;
        let no_such = JobError::NoSuch { entry, what: "channel", number: channel, there };
        let meant = stated.reading(machine.channels.get(channel).ok_or(no_such)?);
        let reading = meant.map_err(|source| JobError::Reading { entry, reading, source })?;
        Ok(RunReading { channel, reading })
    };
    stated.iter().enumerate().map(one).collect()
}

fn pieces_as_found(machine: &Machine) -> Vec<u32> {
    let kinds = machine.hardware.len();
    let holes = machine.rings.iter().flat_map(HoleRing::holes);
    let counts = |hole: &crate::placement::Hole| {
        let mounted = hole.pieces_mounted();
        (0..kinds).map(|kind| mounted.get(kind).copied().unwrap_or(0)).collect::<Vec<u32>>()
    };
    holes.flat_map(counts).collect()
}
