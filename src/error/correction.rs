//! What can be wrong with a question for a correction.

#[cfg(feature = "alloc")]
use alloc::vec::Vec;

use super::QuantityError;

/// A correction that cannot be computed. Codes 400 to 499; a wrong number keeps its own code. Channels and planes are
/// counted from 0, as in the calls.
///
/// ```
/// use counterpoise::{CorrectionError, Influence, OnePlane, Vibration};
/// let error = OnePlane::from_influence(Influence::ZERO).unwrap_err();
/// assert_eq!(error.code(), 404);
/// ```
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum CorrectionError {
    /// One of the numbers cannot be what it was given for.
    #[error(transparent)]
    Quantity(#[from] QuantityError),
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
    /// A reading does not belong to the channel in whose place it stands.
    #[error(
        "reading {channel} is of sensor {got_sensor}, but the coefficients there are those of sensor {expected_sensor} at \
         its own speed and unit: give one reading per channel, in the order of the channels"
    )]
    WrongChannel {
        /// The place in the list.
        channel: usize,
        /// The sensor whose reading belongs there.
        expected_sensor: u16,
        /// The sensor whose reading was given.
        got_sensor: u16,
    },
    /// A channel weight that cannot be one.
    #[error("the weight of channel {channel} must be zero or more and finite, got {value:?}")]
    ChannelWeight {
        /// The channel.
        channel: usize,
        /// The weight as it was given.
        value: f64,
    },
    /// All channels have weight zero.
    #[error("all channels have weight zero: give at least one a weight")]
    NoWeight,
    /// The plane has no effect on the measuring point.
    #[error("the influence coefficient is zero: this plane does nothing at this measuring point")]
    NoInfluence,
    /// A vibration that is not finite.
    #[error("the vibration of channel {channel} is not finite: check where the numbers come from")]
    VibrationNotFinite {
        /// The channel.
        channel: usize,
    },
    /// An unbalance that is not finite.
    #[error("the unbalance in plane {plane} is not finite: check where the numbers come from")]
    UnbalanceNotFinite {
        /// The plane.
        plane: usize,
    },
    /// A limit for a plane that the rotor does not have.
    #[error("a limit is set for plane {plane}, but there are {planes} planes, counted from 0")]
    PlaneOutOfRange {
        /// The plane.
        plane: usize,
        /// How many planes there are.
        planes: usize,
    },
    /// A limit that is negative.
    #[error("the limit of plane {plane} must not be negative, got {gram_millimetres:?} g mm")]
    NegativeLimit {
        /// The plane.
        plane: usize,
        /// The limit in g mm.
        gram_millimetres: f64,
    },
    /// Some planes, or a combination of them, have no effect of their own at the measuring points.
    #[cfg(feature = "alloc")]
    #[error(
        "at these measuring points planes {planes:?} have no effect of their own (rank {rank} of {of}): correct in fewer planes, \
         or add a measuring point or a speed"
    )]
    InseparablePlanes {
        /// The planes that take part, counted from 0.
        planes: Vec<usize>,
        /// How many combinations of planes have an effect of their own.
        rank: usize,
        /// How many planes there are.
        of: usize,
    },
    /// The two planes have no effects of their own at the two measuring points.
    #[error(
        "the two planes act in proportion at the two measuring points, so they cannot be told apart: correct in one \
         plane, or measure elsewhere"
    )]
    ProportionalPlanes,
    /// The numbers are so far apart in size that the result is not a finite number.
    #[error("the result is beyond the range of numbers: check the units of readings and coefficients")]
    NotRepresentable,
}

impl CorrectionError {
    /// The stable number of this error, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::CorrectionError::NoWeight.code(), 405);
    /// ```
    pub const fn code(&self) -> i32 {
        match self {
            Self::Quantity(error) => error.code(),
            Self::Count { .. } => 401,
            Self::WrongChannel { .. } => 402,
            Self::ChannelWeight { .. } => 403,
            Self::NoInfluence => 404,
            Self::NoWeight => 405,
            Self::VibrationNotFinite { .. } => 406,
            Self::UnbalanceNotFinite { .. } => 407,
            Self::PlaneOutOfRange { .. } => 408,
            Self::NegativeLimit { .. } => 409,
            #[cfg(feature = "alloc")]
            Self::InseparablePlanes { .. } => 410,
            Self::ProportionalPlanes => 411,
            Self::NotRepresentable => 412,
        }
    }
}
