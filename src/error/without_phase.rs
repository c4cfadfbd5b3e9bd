//! What can be wrong with amplitudes without phase.

/// Readings that cannot be amplitudes of runs. Codes 650 to 699. Readings and trials are counted from 0 in their lists.
///
/// ```
/// use counterpoise::{WithoutPhaseError, without_phase::solve};
/// assert_eq!(solve(&[], &[]).unwrap_err(), WithoutPhaseError::NoAsFound);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum WithoutPhaseError {
    /// There is no reading as found.
    #[error("there is no reading as found: read the bare rotor first")]
    NoAsFound,
    /// There is no trial run.
    #[error("there is no trial run: mount a weight at three places in turn, and read each time")]
    NoTrials,
    /// A reading as found that cannot be an amplitude.
    #[error("reading {index} as found: an amplitude must be finite and not negative, got {value:?}")]
    AsFound {
        /// The reading.
        index: usize,
        /// The amplitude as it was given.
        value: f64,
    },
    /// A trial weight that makes no unbalance, or one beyond range.
    #[error(
        "trial {index}: an unbalance of {gram_millimetres:?} g mm is no trial: give the mass and radius that were mounted"
    )]
    Amount {
        /// The trial.
        index: usize,
        /// The unbalance in g mm.
        gram_millimetres: f64,
    },
    /// A trial reading that cannot be an amplitude.
    #[error("trial {index}: an amplitude must be finite and not negative, got {value:?}")]
    Amplitude {
        /// The trial.
        index: usize,
        /// The amplitude as it was given.
        value: f64,
    },
}

impl WithoutPhaseError {
    /// The stable number of this error, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::WithoutPhaseError::NoTrials.code(), 652);
    /// ```
    pub const fn code(&self) -> i32 {
        match self {
            Self::NoAsFound => 651,
            Self::NoTrials => 652,
            Self::AsFound { .. } => 653,
            Self::Amount { .. } => 654,
            Self::Amplitude { .. } => 655,
        }
    }
}
