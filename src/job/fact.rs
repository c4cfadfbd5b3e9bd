//! What happened in a job: one fact after the other.

use alloc::boxed::Box;
use alloc::string::String;
use alloc::vec::Vec;

use crate::channel::{Channel, Reading};
use crate::error::ReadingError;
use crate::scatter::Scatter;
use crate::unit::Speed;
use crate::vector::Weight;

/// A reading as it was stated: amplitude in the channel's unit, phase as the channel counts it, speed.
///
/// The stated numbers are kept, not what they mean, so that the record says what the person or the instrument said.
///
/// ```
/// use counterpoise::job::StatedReading;
/// let reading = StatedReading::new(0, 0.45, 48.0, 2346.0);
/// assert_eq!((reading.amplitude, reading.phase_degrees, reading.rpm), (0.45, 48.0, 2346.0));
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(deny_unknown_fields))]
pub struct StatedReading {
    /// The machine's channel, counted from 0.
    pub channel: usize,
    /// The amplitude, in the channel's unit and detector.
    #[cfg_attr(feature = "serde", serde(serialize_with = "crate::unit::finite"))]
    pub amplitude: f64,
    /// The phase in degrees, counted as the channel says.
    #[cfg_attr(feature = "serde", serde(serialize_with = "crate::unit::finite"))]
    pub phase_degrees: f64,
    /// The speed in revolutions a minute.
    #[cfg_attr(feature = "serde", serde(serialize_with = "crate::unit::finite"))]
    pub rpm: f64,
    /// The scatter of this reading, where it is known.
    #[cfg_attr(feature = "serde", serde(default, skip_serializing_if = "Option::is_none"))]
    pub scatter: Option<Scatter>,
}

impl StatedReading {
    /// A reading whose scatter is not stated.
    ///
    /// ```
    /// # use counterpoise::job::StatedReading;
    /// assert_eq!(StatedReading::new(0, 0.45, 48.0, 2346.0).scatter, None);
    /// ```
    pub const fn new(channel: usize, amplitude: f64, phase_degrees: f64, rpm: f64) -> Self {
        Self { channel, amplitude, phase_degrees, rpm, scatter: None }
    }

    /// The same reading with its scatter.
    ///
    /// ```
    /// # use counterpoise::{Scatter, job::StatedReading};
    /// let reading = StatedReading::new(0, 0.45, 48.0, 2346.0).with_scatter(Scatter::known(0.01)?);
    /// assert!(reading.scatter.is_some());
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    #[must_use]
    pub const fn with_scatter(self, scatter: Scatter) -> Self {
        Self { scatter: Some(scatter), ..self }
    }

    /// What the numbers mean in their channel.
    pub(super) fn reading(&self, channel: &Channel) -> Result<Reading, ReadingError> {
        let speed = Speed::from_rpm(self.rpm)?;
        let reading = channel.reading(self.amplitude, self.phase_degrees)?.at(speed)?;
        Ok(match self.scatter {
            Some(scatter) => reading.with_scatter(scatter),
            None => reading,
        })
    }
}

/// So many pieces of one kind of hardware.
///
/// ```
/// use counterpoise::job::Pieces;
/// let two_large = Pieces { item: 0, count: 2 };
/// assert_eq!(two_large.count, 2);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(deny_unknown_fields))]
pub struct Pieces {
    /// The kind, as the machine's hardware is listed, counted from 0.
    pub item: usize,
    /// How many.
    pub count: u32,
}

/// What was changed so that the runs before and after do not belong to one rotor, one mark and one sensor.
///
/// ```
/// use counterpoise::job::Change;
/// assert!(Change::Rotor.keeps_coefficients());
/// assert!(!Change::Sensor.keeps_coefficients());
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "snake_case"))]
#[non_exhaustive]
pub enum Change {
    /// A sensor was moved, turned or exchanged.
    Sensor,
    /// The mark on the rotor was moved.
    Mark,
    /// The pickup that sees the mark was moved.
    Pickup,
    /// The rotor itself: a blade dressed, the propeller or the spinner put back in another position.
    Rotor,
    /// The machine on its mounts: an engine mount, a strut, what the machine stands on.
    Machine,
}

impl Change {
    /// The stable number, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::job::Change::Sensor.code(), 1);
    /// ```
    pub const fn code(self) -> i32 {
        match self {
            Self::Sensor => 1,
            Self::Mark => 2,
            Self::Pickup => 3,
            Self::Rotor => 4,
            Self::Machine => 5,
        }
    }

    /// Whether the machine still answers an unbalance as it did: only where the change was to the rotor.
    ///
    /// ```
    /// assert!(!counterpoise::job::Change::Mark.keeps_coefficients());
    /// ```
    pub const fn keeps_coefficients(self) -> bool {
        matches!(self, Self::Rotor)
    }
}

/// What a check found.
///
/// ```
/// use counterpoise::job::CheckResult;
/// assert_eq!(CheckResult::InOrder.code(), 1);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "snake_case"))]
#[non_exhaustive]
pub enum CheckResult {
    /// In order, says the person who checked.
    InOrder,
    /// Not in order.
    NotInOrder,
    /// Not checked, and known not to be.
    NotDone,
}

impl CheckResult {
    /// The stable number, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::job::CheckResult::NotDone.code(), 3);
    /// ```
    pub const fn code(self) -> i32 {
        match self {
            Self::InOrder => 1,
            Self::NotInOrder => 2,
            Self::NotDone => 3,
        }
    }
}

/// One thing that happened. Entries, rings, holes, planes and kinds of hardware are counted from 0.
///
/// ```
/// use counterpoise::job::{Fact, Pieces};
/// let fact = Fact::PutOn { ring: 0, hole: 7, pieces: vec![Pieces { item: 1, count: 2 }] };
/// assert_ne!(fact, Fact::remark("two small washers in hole 8"));
/// ```
#[derive(Debug, Clone, PartialEq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(rename_all = "snake_case", deny_unknown_fields)
)]
#[non_exhaustive]
pub enum Fact {
    /// The machine ran with what was mounted, and this was read. Several readings of one channel are repeats.
    Run {
        /// What the run is called.
        label: String,
        /// What was read.
        readings: Vec<StatedReading>,
    },
    /// Pieces were put into a hole.
    PutOn {
        /// The ring.
        ring: usize,
        /// The hole.
        hole: usize,
        /// Which pieces, and how many.
        pieces: Vec<Pieces>,
    },
    /// Pieces came out of a hole.
    TakenOff {
        /// The ring.
        ring: usize,
        /// The hole.
        hole: usize,
        /// Which pieces, and how many.
        pieces: Vec<Pieces>,
    },
    /// A weight was put on that is in no hole.
    WeightOn {
        /// The plane.
        plane: usize,
        /// The weight.
        weight: Weight,
    },
    /// A weight that is in no hole came off.
    WeightOff {
        /// The entry that says it was put on.
        on: usize,
    },
    /// Something was changed after which runs are not compared with those before.
    Changed {
        /// What.
        what: Change,
        /// How, in the person's words.
        remark: String,
    },
    /// Something was checked.
    Checked {
        /// What, in the person's words.
        what: String,
        /// What was found.
        result: CheckResult,
        /// How, in the person's words.
        remark: String,
    },
    /// A line of the log: hours, which blade the mark is on, who did it, where the sensor sits. The last of one name counts.
    Noted {
        /// What, as it is to be printed.
        what: String,
        /// The value, as it is to be printed.
        value: String,
    },
    /// Anything worth writing down.
    Remark {
        /// The text.
        text: String,
    },
    /// An earlier entry was wrong. It stays, and counts as if the other fact stood in its place, or none.
    Amend {
        /// The entry that was wrong.
        entry: usize,
        /// What should have stood there; `None` where it did not happen.
        #[cfg_attr(feature = "serde", serde(default, skip_serializing_if = "Option::is_none"))]
        instead: Option<Box<Fact>>,
        /// Why, in the person's words.
        reason: String,
    },
}

impl Fact {
    /// A run with its readings.
    ///
    /// ```
    /// use counterpoise::job::{Fact, StatedReading};
    /// let run = Fact::run("as found", &[StatedReading::new(0, 0.45, 48.0, 2346.0)]);
    /// assert!(matches!(run, Fact::Run { .. }));
    /// ```
    pub fn run(label: impl Into<String>, readings: &[StatedReading]) -> Self {
        Self::Run { label: label.into(), readings: readings.to_vec() }
    }

    /// A remark.
    ///
    /// ```
    /// use counterpoise::job::Fact;
    /// assert_eq!(Fact::remark("wind 5 kt, steady"), Fact::Remark { text: "wind 5 kt, steady".into() });
    /// ```
    pub fn remark(text: impl Into<String>) -> Self {
        Self::Remark { text: text.into() }
    }

    /// A line of the log.
    ///
    /// ```
    /// use counterpoise::job::Fact;
    /// assert!(matches!(Fact::noted("hours", "1204.6"), Fact::Noted { .. }));
    /// ```
    pub fn noted(what: impl Into<String>, value: impl Into<String>) -> Self {
        Self::Noted { what: what.into(), value: value.into() }
    }

    /// Something was checked.
    ///
    /// ```
    /// use counterpoise::job::{CheckResult, Fact};
    /// let track = Fact::checked("blade track", CheckResult::InOrder, "1 mm");
    /// assert!(matches!(track, Fact::Checked { .. }));
    /// ```
    pub fn checked(what: impl Into<String>, result: CheckResult, remark: impl Into<String>) -> Self {
        Self::Checked { what: what.into(), result, remark: remark.into() }
    }

    /// An amendment: another fact in the place of an earlier entry.
    ///
    /// ```
    /// use counterpoise::job::Fact;
    /// let amended = Fact::amend(3, Fact::remark("hole 8"), "the remark said hole 7");
    /// assert!(matches!(amended, Fact::Amend { entry: 3, .. }));
    /// ```
    pub fn amend(entry: usize, instead: Self, reason: impl Into<String>) -> Self {
        Self::Amend { entry, instead: Some(Box::new(instead)), reason: reason.into() }
    }

    /// An amendment: an earlier entry did not happen.
    ///
    /// ```
    /// use counterpoise::job::Fact;
    /// let withdrawn = Fact::withdraw(3, "written down twice");
    /// assert!(matches!(withdrawn, Fact::Amend { entry: 3, instead: None, .. }));
    /// ```
    pub fn withdraw(entry: usize, reason: impl Into<String>) -> Self {
        Self::Amend { entry, instead: None, reason: reason.into() }
    }
}

/// A fact with its time, as the caller writes times; the library has no clock.
///
/// ```
/// use counterpoise::job::{Entry, Fact};
/// let entry = Entry::at("2026-05-03 10:15", Fact::remark("wind 5 kt, steady"));
/// assert_eq!(entry.when(), "2026-05-03 10:15");
/// ```
#[derive(Debug, Clone, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(deny_unknown_fields))]
pub struct Entry {
    #[cfg_attr(feature = "serde", serde(default, skip_serializing_if = "String::is_empty"))]
    pub(super) when: String,
    pub(super) fact: Fact,
}

impl Entry {
    /// A fact at a time.
    ///
    /// ```
    /// # use counterpoise::job::{Entry, Fact};
    /// assert_eq!(Entry::at("10:15", Fact::remark("calm")).fact(), &Fact::remark("calm"));
    /// ```
    pub fn at(when: impl Into<String>, fact: Fact) -> Self {
        Self { when: when.into(), fact }
    }

    /// When it happened; empty where nothing was said.
    ///
    /// ```
    /// # use counterpoise::job::{Entry, Fact};
    /// assert_eq!(Entry::from(Fact::remark("calm")).when(), "");
    /// ```
    pub fn when(&self) -> &str {
        &self.when
    }

    /// What happened.
    ///
    /// ```
    /// # use counterpoise::job::{Entry, Fact};
    /// assert_eq!(Entry::from(Fact::remark("calm")).fact(), &Fact::remark("calm"));
    /// ```
    pub const fn fact(&self) -> &Fact {
        &self.fact
    }
}

impl From<Fact> for Entry {
    fn from(fact: Fact) -> Self {
        Self { when: String::new(), fact }
    }
}
