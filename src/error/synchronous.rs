//! What can be wrong with shaft marks and samples.

use super::ReadingError;

/// Marks or samples from which no once-per-turn vector can be made. Codes 1301 to 1399. Everything is counted from 0.
///
/// ```
/// use counterpoise::{SynchronousError, synchronous::Rotation};
/// assert_eq!(Rotation::through(&[]).unwrap_err(), SynchronousError::TooFewMarks { marks: 0 });
/// ```
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SynchronousError {
    /// Fewer marks than a rotation needs.
    #[error("{marks} marks were seen: a rotation needs three or more")]
    TooFewMarks {
        /// How many there were.
        marks: usize,
    },
    /// A mark that does not come after the one before it.
    #[error(
        "mark {mark}, at {seconds:?} s and {turns:?} turns, does not come after the one before it, or is not finite: list the marks in the order in which they passed"
    )]
    MarkOutOfOrder {
        /// The mark.
        mark: usize,
        /// Its instant.
        seconds: f64,
        /// Its turns.
        turns: f64,
    },
    /// A number that cannot be what it was given for.
    #[error("{what} must be {wanted}, got {value:?}")]
    BadNumber {
        /// What it is.
        what: &'static str,
        /// As given.
        value: f64,
        /// What it should be.
        wanted: &'static str,
    },
    /// The first order is not once per turn.
    #[error("the first order is {order:?}: name once per turn, order 1, first and the others after it")]
    FirstOrder {
        /// The first order.
        order: f64,
    },
    /// Two orders that this record cannot tell apart.
    #[error(
        "orders {one:?} and {other:?} lie closer than one over the {turns:?} turns of the record: record for longer, or leave one out"
    )]
    OrdersTooClose {
        /// The one.
        one: f64,
        /// The other.
        other: f64,
        /// How many turns the record has.
        turns: f64,
    },
    /// An order that the sampling cannot show.
    #[error(
        "order {order:?} at {rpm:?} rpm lies at {hertz:?} Hz, and {rate_hertz:?} samples a second show what lies below half of that: sample faster, or leave the order out"
    )]
    BeyondNyquist {
        /// The order.
        order: f64,
        /// The highest speed.
        rpm: f64,
        /// Its frequency there.
        hertz: f64,
        /// The samples a second.
        rate_hertz: f64,
    },
    /// Fewer turns than an estimate with a scatter needs.
    #[error("the record has {turns:?} turns between its first and last mark: record at least {least}")]
    TooFewTurns {
        /// How many there are.
        turns: f64,
        /// How many are needed.
        least: u32,
    },
    /// A sample that is not finite.
    #[error(
        "sample {sample} is {value:?}: leave out what the converter did not deliver, or mark it as saturated"
    )]
    SampleNotFinite {
        /// The sample.
        sample: u64,
        /// Its value.
        value: f64,
    },
    /// The samples left do not determine the orders.
    #[error(
        "{samples} samples between the marks do not determine {unknowns} unknowns: record for longer, or name fewer orders"
    )]
    Undetermined {
        /// How many samples there are.
        samples: u64,
        /// How many unknowns.
        unknowns: usize,
    },
    /// The streaming buffer filled up before the shaft passed its next marks.
    #[error(
        "the buffer of {buffer} samples filled up before the next mark but one came: at {rate_hertz:?} samples a second it holds speeds above {lowest_rpm:?} rpm with one mark a turn"
    )]
    BufferFull {
        /// How many samples it holds.
        buffer: usize,
        /// The samples a second.
        rate_hertz: f64,
        /// The lowest speed it holds for, with one mark a turn.
        lowest_rpm: f64,
    },
    /// A gear ratio that is not one.
    #[error("a gear ratio of {driving} to {driven} turns: both must be at least 1")]
    GearRatio {
        /// Turns of the one shaft.
        driving: u32,
        /// Turns of the other in the same time.
        driven: u32,
    },
    /// Pulses that no pattern of marks explains.
    #[error(
        "of {pulses} pulses {spurious} would be spurious and {missing} missing, the first at pulse {first}: check the threshold and how many marks the shaft has"
    )]
    PulsesUnclear {
        /// How many pulses there were.
        pulses: usize,
        /// How many would be spurious.
        spurious: usize,
        /// How many would be missing.
        missing: usize,
        /// The first pulse that does not fit.
        first: usize,
    },
    /// A pulse that does not come after the one before it.
    #[error(
        "pulse {pulse}, at {seconds:?} s, does not come after the one before it, or is not finite: list the pulses in the order of their times"
    )]
    PulseOutOfOrder {
        /// The pulse.
        pulse: usize,
        /// Its time.
        seconds: f64,
    },
    /// A tach channel without two levels.
    #[error("the tach channel lies between {low:?} and {high:?}: there is no pulse in it")]
    NoPulses {
        /// Its lowest value.
        low: f64,
        /// Its highest value.
        high: f64,
    },
    /// A pattern of marks that is not one.
    #[error(
        "a pattern of {marks} marks with {missing} missing: at least one mark must stay, and two where some are missing"
    )]
    MarkPattern {
        /// How many marks, the missing ones among them.
        marks: u32,
        /// How many of them are missing.
        missing: u32,
    },
    /// A table of the sensor's response that is not one.
    #[error(
        "point {point} of the response table, at {hertz:?} Hz with gain {gain:?}, must be above the one before it in frequency, with a positive gain"
    )]
    ResponseTable {
        /// The point.
        point: usize,
        /// Its frequency.
        hertz: f64,
        /// Its gain.
        gain: f64,
    },
    /// Fewer points than a sweep needs.
    #[error("a sweep of {points} points: give at least {least}")]
    TooFewPoints {
        /// How many there are.
        points: usize,
        /// How many are needed.
        least: usize,
    },
    /// An instant at which it is not known how far the shaft had turned.
    #[error(
        "{seconds:?} s lies outside the marks, which pass from {first_seconds:?} s to {last_seconds:?} s: give an instant between them"
    )]
    OutsideMarks {
        /// The instant, in seconds.
        seconds: f64,
        /// That of the first mark.
        first_seconds: f64,
        /// That of the last mark.
        last_seconds: f64,
    },
    /// The vector does not make a reading of its channel.
    #[error("the vector is no reading of its channel: {0}")]
    Reading(#[source] ReadingError),
}

impl SynchronousError {
    /// The stable number of this error, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::SynchronousError::TooFewMarks { marks: 0 }.code(), 1301);
    /// ```
    pub const fn code(&self) -> i32 {
        match self {
            Self::TooFewMarks { .. } => 1301,
            Self::MarkOutOfOrder { .. } => 1302,
            Self::BadNumber { .. } => 1303,
            Self::FirstOrder { .. } => 1304,
            Self::OrdersTooClose { .. } => 1305,
            Self::BeyondNyquist { .. } => 1306,
            Self::TooFewTurns { .. } => 1307,
            Self::SampleNotFinite { .. } => 1308,
            Self::Undetermined { .. } => 1309,
            Self::BufferFull { .. } => 1310,
            Self::GearRatio { .. } => 1311,
            Self::PulsesUnclear { .. } => 1312,
            Self::PulseOutOfOrder { .. } => 1313,
            Self::NoPulses { .. } => 1314,
            Self::MarkPattern { .. } => 1315,
            Self::ResponseTable { .. } => 1316,
            Self::Reading(_) => 1317,
            Self::TooFewPoints { .. } => 1318,
            Self::OutsideMarks { .. } => 1319,
        }
    }
}
