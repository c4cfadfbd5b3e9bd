//! What can be wrong with a tolerance.

use super::QuantityError;

/// Something that no tolerance can be made of. Codes 1401 to 1449; a wrong number keeps its own code.
///
/// ```
/// use counterpoise::{ToleranceError, tolerance::BalanceGrade};
/// let error = BalanceGrade::from_millimetres_per_second(-1.0).unwrap_err();
/// assert_eq!(error, ToleranceError::BadNumber { what: "the balance quality grade in mm/s", value: -1.0, wanted: "positive, and at most 1e9" });
/// ```
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ToleranceError {
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
    /// A quantity that cannot be one.
    #[error(transparent)]
    Quantity(#[from] QuantityError),
    /// Two planes that are one.
    #[error("the tolerance planes both lie at {millimetres:?} mm: give two that lie apart")]
    PlanesCoincide {
        /// Where they lie.
        millimetres: f64,
    },
    /// Limits of a share that are none.
    #[error(
        "a share between {least:?} and {most:?}: the limits must be 0 or more, the first not above the second"
    )]
    ShareLimits {
        /// The least share.
        least: f64,
        /// The greatest share.
        most: f64,
    },
    /// Boundaries of a scale that do not rise.
    #[error(
        "boundary {at} of the scale is {value:?}: boundaries must be positive, each above the one before it"
    )]
    Scale {
        /// The boundary, counted from 0.
        at: usize,
        /// Its value.
        value: f64,
    },
    /// Errors that cannot be combined.
    #[error("error {at} is {value:?} g mm: an error must be 0 or more")]
    NegativeError {
        /// The error, counted from 0.
        at: usize,
        /// Its value in g mm.
        value: f64,
    },
}

impl ToleranceError {
    /// The stable number of this error, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::ToleranceError::PlanesCoincide { millimetres: 0.0 }.code(), 1403);
    /// ```
    pub const fn code(&self) -> i32 {
        match self {
            Self::BadNumber { .. } => 1401,
            Self::Quantity(error) => error.code(),
            Self::PlanesCoincide { .. } => 1403,
            Self::ShareLimits { .. } => 1404,
            Self::Scale { .. } => 1405,
            Self::NegativeError { .. } => 1406,
        }
    }
}
