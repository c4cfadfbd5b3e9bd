//! The record: a machine and its facts, and the one place where they are added.

use alloc::vec::Vec;

use super::fact::{Entry, Fact};
use super::machine::Machine;
use super::state::State;
use crate::error::JobError;

/// Everything that is known of a job: the machine as it was found, and the facts in the order in which they happened.
///
/// Facts are added and never removed. A fact that cannot be (a reading of a channel that is not there, a piece taken off
/// that is not on) is refused, and the record stays as it was.
///
/// ```
/// use counterpoise::job::{Fact, Pieces, Record};
#[doc = example_machine!()]
/// let mut record = Record::new(machine);
/// let put = record.add(Fact::PutOn { ring: 0, hole: 7, pieces: vec![Pieces { item: 0, count: 1 }] })?;
/// record.add(Fact::amend(put, Fact::PutOn { ring: 0, hole: 6, pieces: vec![Pieces { item: 0, count: 1 }] }, "hole 7"))?;
/// assert_eq!(record.entries().len(), 2);
/// assert_eq!(record.state().rings()[0].holes()[7].pieces_mounted(), [0, 0]);
/// assert_eq!(record.state().rings()[0].holes()[6].pieces_mounted(), [1, 0]);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(try_from = "super::wire::Record", into = "super::wire::Record")
)]
pub struct Record {
    machine: Machine,
    entries: Vec<Entry>,
    state: State,
}

impl Record {
    /// The version of the text that is written. Every earlier one is read; a text of a later version is refused, and so is
    /// a field that its version does not have.
    ///
    /// ```
    /// assert_eq!(counterpoise::job::Record::VERSION, 1);
    /// ```
    pub const VERSION: u32 = 1;

    /// A record without facts.
    ///
    /// ```
    /// # use counterpoise::job::Record;
    #[doc = example_machine!()]
    /// assert!(Record::new(machine).entries().is_empty());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn new(machine: Machine) -> Self {
        let state = State::as_found(&machine);
        Self { machine, entries: Vec::new(), state }
    }

    /// A record with these entries, one after the other.
    ///
    /// # Errors
    /// As [`add`](Self::add); an amendment later in the list may mend what would be refused before it.
    ///
    /// ```
    /// # use counterpoise::job::{Entry, Fact, Record};
    #[doc = example_machine!()]
    /// let record = Record::with_entries(machine, vec![Entry::at("10:15", Fact::remark("calm"))])?;
    /// assert_eq!(record.entries().len(), 1);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn with_entries(machine: Machine, entries: Vec<Entry>) -> Result<Self, JobError> {
        let state = State::replayed(&machine, &entries)?;
        Ok(Self { machine, entries, state })
    }

    /// Adds a fact, or an [`Entry`] with its time; gives the number of the entry, counted from 0.
    ///
    /// # Errors
    /// [`JobError`] where the fact names what is not there, or cannot be after those before it. The record stays as it
    /// was.
    ///
    /// ```
    /// # use counterpoise::job::{Fact, Pieces, Record};
    #[doc = example_machine!()]
    /// let mut record = Record::new(machine);
    /// let too_many = Fact::TakenOff { ring: 0, hole: 3, pieces: vec![Pieces { item: 0, count: 1 }] };
    /// assert_eq!(record.add(too_many).unwrap_err().code(), 1509);
    /// assert!(record.entries().is_empty());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn add(&mut self, entry: impl Into<Entry>) -> Result<usize, JobError> {
        let entry = entry.into();
        let number = self.entries.len();
        if matches!(entry.fact, Fact::Amend { .. }) {
            // What was derived from the amended fact is derived again, from the first entry on.
            self.entries.push(entry);
            match State::replayed(&self.machine, &self.entries) {
                Ok(state) => self.state = state,
                Err(error) => {
                    self.entries.pop();
                    return Err(error);
                }
            }
        } else {
            self.state.apply(&self.machine, number, &entry.fact)?;
            self.entries.push(entry);
        }
        Ok(number)
    }

    /// Adds several entries at once, all or none: amendments that only together make facts that can be, such as of a hole in
    /// which pieces were said to be put and taken off again. Gives the number of the first.
    ///
    /// # Errors
    /// As [`add`](Self::add), for the record with all of them. The record stays as it was.
    ///
    /// ```
    /// # use counterpoise::job::{Fact, Pieces, Record};
    #[doc = example_machine!()]
    /// # let mut record = Record::new(machine);
    /// let pieces = || vec![Pieces { item: 0, count: 1 }];
    /// record.add(Fact::PutOn { ring: 0, hole: 7, pieces: pieces() })?;
    /// record.add(Fact::TakenOff { ring: 0, hole: 7, pieces: pieces() })?;
    /// let on = Fact::amend(0, Fact::PutOn { ring: 0, hole: 6, pieces: pieces() }, "it was hole 6");
    /// let off = Fact::amend(1, Fact::TakenOff { ring: 0, hole: 6, pieces: pieces() }, "it was hole 6");
    /// // One without the other would take off what is not there.
    /// assert_eq!(record.add(on.clone()).unwrap_err().code(), 1509);
    /// assert_eq!(record.add_all([on, off])?, 2);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn add_all<E: Into<Entry>>(
        &mut self,
        entries: impl IntoIterator<Item = E>,
    ) -> Result<usize, JobError> {
        let first = self.entries.len();
        self.entries.extend(entries.into_iter().map(Into::into));
        match State::replayed(&self.machine, &self.entries) {
            Ok(state) => self.state = state,
            Err(error) => {
                self.entries.truncate(first);
                return Err(error);
            }
        }
        Ok(first)
    }

    /// The machine, as it was found.
    ///
    /// ```
    /// # use counterpoise::job::Record;
    #[doc = example_machine!()]
    /// assert_eq!(Record::new(machine).machine().name(), "trainer");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub const fn machine(&self) -> &Machine {
        &self.machine
    }

    /// Every entry ever made.
    ///
    /// ```
    /// # use counterpoise::job::{Fact, Record};
    #[doc = example_machine!()]
    /// let mut record = Record::new(machine);
    /// record.add(Fact::remark("calm"))?;
    /// assert_eq!(record.entries()[0].fact(), &Fact::remark("calm"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// What follows from the entries.
    ///
    /// ```
    /// # use counterpoise::job::Record;
    #[doc = example_machine!()]
    /// assert!(Record::new(machine).state().runs().is_empty());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub const fn state(&self) -> &State {
        &self.state
    }

    /// What followed from the first so many entries: the job as it stood then.
    ///
    /// # Errors
    /// As [`add`](Self::add), where only a later amendment made the facts possible.
    ///
    /// ```
    /// # use counterpoise::job::{Fact, Pieces, Record};
    #[doc = example_machine!()]
    /// let mut record = Record::new(machine);
    /// record.add(Fact::PutOn { ring: 0, hole: 7, pieces: vec![Pieces { item: 0, count: 1 }] })?;
    /// record.add(Fact::TakenOff { ring: 0, hole: 7, pieces: vec![Pieces { item: 0, count: 1 }] })?;
    /// assert_eq!(record.state_after(1)?.rings()[0].holes()[7].pieces_mounted(), [1, 0]);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn state_after(&self, entries: usize) -> Result<State, JobError> {
        State::replayed(&self.machine, self.entries.get(..entries).unwrap_or(&self.entries))
    }
}
