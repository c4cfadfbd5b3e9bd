//! What can be wrong with a job that is to be examined.

/// A job that cannot be examined. Codes 1100 to 1199. Everything is counted from 0.
///
/// ```
/// use counterpoise::{ExaminationError, checks::Examination};
/// assert_eq!(Examination::new(&[], &[]).unwrap_err(), ExaminationError::NoChannels);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ExaminationError {
    /// There is no channel.
    #[error("there is no channel: name at least one sensor at one speed")]
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
    /// There is no plane.
    #[error("there is no correction plane: name at least one")]
    NoPlanes,
    /// An item in a plane that does not exist.
    #[error("there is no plane {plane}: the planes are counted from 0, and there are {planes}")]
    NoSuchPlane {
        /// The plane as it was given.
        plane: usize,
        /// How many there are.
        planes: usize,
    },
    /// An item of another examination.
    #[error("run {run} names item {item}, and there are {items}: take items that this examination gave")]
    NoSuchItem {
        /// The run.
        run: usize,
        /// The item.
        item: usize,
        /// How many there are.
        items: usize,
    },
    /// An item that is on the rotor twice.
    #[error("run {run} names item {item} twice: an item is one piece; add another for a second one")]
    RepeatedItem {
        /// The run.
        run: usize,
        /// The item.
        item: usize,
    },
    /// A reading of a channel that was not named.
    #[error(
        "run {run} has a reading of sensor {sensor} whose channel was not named: name all channels at the start"
    )]
    UnknownChannel {
        /// The run.
        run: usize,
        /// The sensor of the reading.
        sensor: u16,
    },
    /// Two readings of one channel in one run.
    #[error("run {run} has two readings of channel {channel}: give their mean, with its standard deviation")]
    RepeatedReading {
        /// The run.
        run: usize,
        /// The channel.
        channel: usize,
    },
    /// A reading that does not say how much it scatters.
    #[error(
        "run {run}: the reading of channel {channel} states no standard deviation, without which nothing can be judged"
    )]
    ScatterUnknown {
        /// The run.
        run: usize,
        /// The channel.
        channel: usize,
    },
    /// A run without any reading.
    #[error("run {run} has no reading: leave it out")]
    NoReading {
        /// The run.
        run: usize,
    },
    /// There is no run.
    #[error("there is no run: give each with the items that were on, and its readings")]
    NoRuns,
    /// A damping ratio that is none.
    #[error(
        "a damping ratio must be finite and greater than zero, got {value:?}: give the part of critical damping"
    )]
    DampingRatio {
        /// The number as it was given.
        value: f64,
    },
    /// The misfit of the runs is too large for a number.
    #[error(
        "the misfit of the runs is beyond what can be computed with: check the readings and their standard deviations"
    )]
    NotRepresentable,
}

impl ExaminationError {
    /// The stable number of this error, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::ExaminationError::NoChannels.code(), 1101);
    /// ```
    pub const fn code(&self) -> i32 {
        match self {
            Self::NoChannels => 1101,
            Self::RepeatedChannel { .. } => 1102,
            Self::NoPlanes => 1103,
            Self::NoSuchPlane { .. } => 1104,
            Self::NoSuchItem { .. } => 1105,
            Self::RepeatedItem { .. } => 1106,
            Self::UnknownChannel { .. } => 1107,
            Self::RepeatedReading { .. } => 1108,
            Self::ScatterUnknown { .. } => 1109,
            Self::NoReading { .. } => 1110,
            Self::NoRuns => 1111,
            Self::DampingRatio { .. } => 1112,
            Self::NotRepresentable => 1113,
        }
    }
}
