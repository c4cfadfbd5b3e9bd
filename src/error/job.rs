//! What can be wrong with a job's record.

use super::{EstimateError, ReadingError, UncertaintyError};

/// A description or a fact that a record cannot hold. Codes 1501 to 1599. Everything is counted from 0.
///
/// ```
/// use counterpoise::{Convention, JobError, PhaseSense, RotorSense, job::Machine};
/// let convention = Convention { phase: PhaseSense::Lag, rotor: RotorSense::WithRotation };
/// assert_eq!(Machine::new("test stand", convention, &[], &["disc"]).unwrap_err(), JobError::NoChannels);
/// ```
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum JobError {
    /// A machine without channels.
    #[error("the machine has no channel: name at least one sensor at one speed")]
    NoChannels,
    /// A channel is named twice.
    #[error("channels {first} and {second} are the same, sensor {sensor}: name each once")]
    RepeatedChannel {
        /// The one.
        first: usize,
        /// The other.
        second: usize,
        /// Their sensor.
        sensor: u16,
    },
    /// A machine without correction planes.
    #[error("the machine has no correction plane: name at least one")]
    NoPlanes,
    /// A ring in a plane that does not exist.
    #[error("ring {ring} lies in plane {plane}: the planes are counted from 0, and there are {planes}")]
    RingPlane {
        /// The ring.
        ring: usize,
        /// The plane as it was given.
        plane: usize,
        /// How many there are.
        planes: usize,
    },
    /// A hole says of another number of kinds than there are what is in it.
    #[error(
        "hole {hole} of ring {ring} counts {got} kinds of hardware and the machine has {expected}: one count for each, or none"
    )]
    Mounted {
        /// The ring.
        ring: usize,
        /// The hole.
        hole: usize,
        /// How many kinds there are.
        expected: usize,
        /// How many were counted.
        got: usize,
    },
    /// A fact names something that the machine does not have.
    #[error("entry {entry} names {what} {number}: they are counted from 0, and there are {there}")]
    NoSuch {
        /// The entry.
        entry: usize,
        /// What it names.
        what: &'static str,
        /// Its number, as it was given.
        number: usize,
        /// How many there are.
        there: usize,
    },
    /// A run without a reading.
    #[error("entry {entry} is a run without a reading: state at least one, or write a remark")]
    NoReading {
        /// The entry.
        entry: usize,
    },
    /// A reading that cannot be one.
    #[error("entry {entry}, reading {reading}: {source}")]
    Reading {
        /// The entry.
        entry: usize,
        /// The reading.
        reading: usize,
        /// What is wrong with it.
        #[source]
        source: ReadingError,
    },
    /// More pieces are taken off than there are.
    #[error(
        "entry {entry} takes {asked} pieces of hardware {item} off hole {hole} of ring {ring}, and {there} are there: amend the entry that put them on, or take off fewer"
    )]
    NotThere {
        /// The entry.
        entry: usize,
        /// The ring.
        ring: usize,
        /// The hole.
        hole: usize,
        /// The kind of hardware.
        item: usize,
        /// How many are to come off.
        asked: u32,
        /// How many are there.
        there: u32,
    },
    /// More pieces in one hole than can be counted.
    #[error("entry {entry} puts {pieces} pieces more on hole {hole} of ring {ring} than can be counted")]
    TooManyPieces {
        /// The entry.
        entry: usize,
        /// The ring.
        ring: usize,
        /// The hole.
        hole: usize,
        /// How many were to be put on.
        pieces: u32,
    },
    /// A weight comes off that is not on.
    #[error("entry {entry} takes off the weight of entry {on}, which put none on or is off already")]
    NoWeight {
        /// The entry.
        entry: usize,
        /// The entry it names.
        on: usize,
    },
    /// An amendment of something that is not before it.
    #[error("entry {entry} amends entry {of}: only an earlier entry can be amended")]
    AmendsLater {
        /// The entry.
        entry: usize,
        /// The entry it names.
        of: usize,
    },
    /// An amendment that would put an amendment in the place of a fact.
    #[error("entry {entry} puts an amendment in the place of entry {of}: put the fact itself there")]
    AmendmentInstead {
        /// The entry.
        entry: usize,
        /// The entry it names.
        of: usize,
    },
    /// A text of a version that this library does not know.
    #[error(
        "the {what} is of version {found} and this library reads versions 1 to {newest}: read it with one that knows it"
    )]
    Version {
        /// What the text is: a record, or a store of coefficients.
        what: &'static str,
        /// The version of the text.
        found: u32,
        /// The newest that is known.
        newest: u32,
    },
    /// No machine of a kind is stored.
    #[error("no coefficients of machines of this kind are stored: finish a job with trial runs first")]
    NothingStored,
    /// Machines of one kind whose coefficients are of other channels or planes.
    #[error(
        "the coefficients of machine {machine} are of other channels or planes than those of the first: give them a kind of their own"
    )]
    StoredDiffer {
        /// The machine, counted from 0 among those of the kind.
        machine: usize,
    },
    /// The coefficients cannot be estimated.
    #[error(transparent)]
    Estimate(EstimateError),
    /// The uncertainty cannot be computed.
    #[error(transparent)]
    Uncertainty(UncertaintyError),
    /// A description of something that the machine does not have.
    #[error("the machine has no {what} {number}: they are counted from 0, and there are {there}")]
    NoSuchInMachine {
        /// What was named.
        what: &'static str,
        /// Its number, as it was given.
        number: usize,
        /// How many there are.
        there: usize,
    },
    /// A number that cannot be.
    #[error("{what} must be {wanted}, got {value:?}")]
    BadNumber {
        /// What the number is.
        what: &'static str,
        /// The number, as it was given.
        value: f64,
        /// What it must be.
        wanted: &'static str,
    },
    /// A machine has more than is taken.
    #[error("the machine has {count} {what}, and at most {most} are taken")]
    TooManyInMachine {
        /// What there are too many of.
        what: &'static str,
        /// How many there are.
        count: usize,
        /// How many are taken.
        most: usize,
    },
    /// A fact makes a record that derives more than is kept.
    #[error("entry {entry} makes more than {most} {what}, which is more than a record keeps")]
    TooMuch {
        /// The number of the entry.
        entry: usize,
        /// What there is too much of.
        what: &'static str,
        /// How much is kept.
        most: usize,
    },
}

impl JobError {
    /// The stable number of this error, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::JobError::NoChannels.code(), 1501);
    /// ```
    pub const fn code(&self) -> i32 {
        match self {
            Self::NoChannels => 1501,
            Self::RepeatedChannel { .. } => 1502,
            Self::NoPlanes => 1503,
            Self::RingPlane { .. } => 1504,
            Self::Mounted { .. } => 1505,
            Self::NoSuch { .. } => 1506,
            Self::NoReading { .. } => 1507,
            Self::Reading { .. } => 1508,
            Self::NotThere { .. } => 1509,
            Self::TooManyPieces { .. } => 1510,
            Self::NoWeight { .. } => 1511,
            Self::AmendsLater { .. } => 1512,
            Self::AmendmentInstead { .. } => 1513,
            Self::Version { .. } => 1514,
            Self::NothingStored => 1515,
            Self::StoredDiffer { .. } => 1516,
            Self::Estimate(_) => 1517,
            Self::Uncertainty(_) => 1518,
            Self::NoSuchInMachine { .. } => 1519,
            Self::BadNumber { .. } => 1520,
            Self::TooManyInMachine { .. } => 1521,
            Self::TooMuch { .. } => 1522,
        }
    }
}
