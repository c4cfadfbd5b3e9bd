//! What can be wrong with the facts of a machine that is to be balanced.

/// Facts that nothing can be said of. Codes 1451 to 1499. Everything is counted from 0, but for blades in
/// texts: people count them from 1.
///
/// ```
/// use counterpoise::{ReadinessError, readiness::BladeTrack};
/// assert_eq!(BladeTrack::of(&[]).unwrap_err(), ReadinessError::Blades { blades: 0 });
/// ```
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ReadinessError {
    /// A number of blades that no propeller here has.
    #[error("{blades} blades: give a value for each of 2 to 6")]
    Blades {
        /// How many there were.
        blades: usize,
    },
    /// A value of a blade that is not finite, or is beyond 1e100.
    #[error("the value of blade {} is {value:?}: measure it again", .blade + 1)]
    BladeValue {
        /// The blade, counted from 0.
        blade: usize,
        /// Its value.
        value: f64,
    },
    /// A number that has to be positive and finite, or at least 0.
    #[error("{what} must be {wanted}, got {value:?}")]
    BadNumber {
        /// What it is.
        what: &'static str,
        /// As given.
        value: f64,
        /// What it should be.
        wanted: &'static str,
    },
    /// A range whose second end is below its first.
    #[error(
        "speeds from {lowest_rpm:?} to {highest_rpm:?} rpm are no range: the second must not be below the first"
    )]
    SpeedRange {
        /// The first.
        lowest_rpm: f64,
        /// The second.
        highest_rpm: f64,
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
    /// A reading without a scatter.
    #[error("reading {reading} does not say how it scatters: without it no change can be called significant")]
    ScatterUnknown {
        /// The reading.
        reading: usize,
    },
    /// A reading, then or now, that is not of the channel of its coefficients.
    #[error("reading {reading} is of another channel than its coefficients: compare like with like")]
    DifferentChannels {
        /// Which of the readings.
        reading: usize,
    },
    /// A ring in a plane without coefficients.
    #[error("ring {ring} lies in plane {plane}, and coefficients are known of {planes}")]
    Plane {
        /// The ring.
        ring: usize,
        /// Its plane.
        plane: usize,
        /// How many planes there are.
        planes: usize,
    },
    /// A hole says of another number of kinds than there are what is in it.
    #[error(
        "hole {hole} of ring {ring} counts {got} kinds of hardware, and there are {expected}: one count for each, or none"
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
}

impl ReadinessError {
    /// The stable number of this error, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::ReadinessError::Blades { blades: 7 }.code(), 1451);
    /// ```
    pub const fn code(&self) -> i32 {
        match self {
            Self::Blades { .. } => 1451,
            Self::BladeValue { .. } => 1452,
            Self::BadNumber { .. } => 1453,
            Self::SpeedRange { .. } => 1454,
            Self::Count { .. } => 1455,
            Self::ScatterUnknown { .. } => 1456,
            Self::DifferentChannels { .. } => 1457,
            Self::Plane { .. } => 1458,
            Self::Mounted { .. } => 1459,
        }
    }
}
