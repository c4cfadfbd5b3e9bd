//! What can be wrong with a question about uncertainty.

/// An uncertainty that cannot be told. Codes 1200 to 1299. Channels, planes and runs are counted from 0.
///
/// ```
/// use counterpoise::UncertaintyError;
/// assert_eq!(UncertaintyError::ScatterUnknown { channel: 0 }.code(), 1201);
/// ```
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum UncertaintyError {
    /// Nothing says how the readings of a channel scatter.
    #[error(
        "nothing says how channel {channel} scatters: state it, repeat readings, or run more often than there are unknowns"
    )]
    ScatterUnknown {
        /// The channel.
        channel: usize,
    },
    /// A list has another length than it must have.
    #[error("wrong number of {what}: expected {expected}, got {got}")]
    Count {
        /// What is counted.
        what: &'static str,
        /// How many there must be.
        expected: usize,
        /// How many there were.
        got: usize,
    },
    /// A channel, plane or run that does not exist.
    #[error("{what} {number} does not exist: there are {count}, counted from 0")]
    OutOfRange {
        /// What is numbered.
        what: &'static str,
        /// The number given.
        number: usize,
        /// How many there are.
        count: usize,
    },
    /// A number that cannot be what it was given for.
    #[error("{what} cannot be {value:?}: give {wanted}")]
    BadNumber {
        /// What it was given for.
        what: &'static str,
        /// As given.
        value: f64,
        /// What it should be.
        wanted: &'static str,
    },
    /// The exact region of a correction needs as many planes as channels.
    #[error(
        "the exact region of a correction needs as many planes as channels; there are {planes} and {channels}: \
         ask for the first-order covariance"
    )]
    NotSquare {
        /// The planes.
        planes: usize,
        /// The channels.
        channels: usize,
    },
    /// The coefficients do not determine a correction.
    #[error(
        "the coefficients do not determine a correction: some combination of weights has no effect at all"
    )]
    Undetermined,
    /// A covariance that nothing can be drawn from, or numbers beyond range.
    #[error(
        "the covariance is not positive definite to the digits there are: add what is missing of the scatter"
    )]
    NotPositiveDefinite,
    /// More than is computed in one piece.
    #[error("{got} {what} are more than the {most} that are computed at once: ask for fewer")]
    TooMany {
        /// What is counted.
        what: &'static str,
        /// The most that there may be.
        most: usize,
        /// How many were asked for.
        got: usize,
    },
    /// A channel vibrates above its limit before any weight is mounted.
    #[error(
        "channel {channel} vibrates at {amplitude:?}, above its limit of {limit:?}: no trial weight until that is settled"
    )]
    AboveLimit {
        /// The channel.
        channel: usize,
        /// The amplitude now.
        amplitude: f64,
        /// The limit.
        limit: f64,
    },
}

impl UncertaintyError {
    /// The stable number of this error, the same in Rust and in C.
    ///
    /// ```
    /// use counterpoise::UncertaintyError;
    /// assert_eq!(UncertaintyError::Undetermined.code(), 1206);
    /// ```
    pub const fn code(&self) -> i32 {
        match self {
            Self::ScatterUnknown { .. } => 1201,
            Self::Count { .. } => 1202,
            Self::OutOfRange { .. } => 1203,
            Self::BadNumber { .. } => 1204,
            Self::NotSquare { .. } => 1205,
            Self::Undetermined => 1206,
            Self::NotPositiveDefinite => 1207,
            Self::AboveLimit { .. } => 1208,
            Self::TooMany { .. } => 1209,
        }
    }
}
