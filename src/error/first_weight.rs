//! What can be wrong with a first weight.

use super::QuantityError;

/// A first weight that cannot be estimated. Codes 600 to 649; a wrong number keeps its own code.
///
/// ```
/// use counterpoise::{FirstWeightError, Speed, first_weight::Regime};
/// let error = Regime::from_resonance(Speed::from_rpm(1200.0)?, Speed::from_rpm(1000.0)?).unwrap_err();
/// assert_eq!(error.code(), 601);
/// assert_eq!(error, FirstWeightError::NearResonance { speed_rpm: 1200.0, resonance_rpm: 1000.0 });
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum FirstWeightError {
    /// One of the numbers cannot be what it was given for.
    #[error(transparent)]
    Quantity(#[from] QuantityError),
    /// The speed is so near a resonance that the angle of the response is not known.
    #[error(
        "at {speed_rpm:?} rpm the resonance at {resonance_rpm:?} rpm is too near for the heavy spot to be told: \
         state the angle of the response, or make a trial run"
    )]
    NearResonance {
        /// The speed of the reading.
        speed_rpm: f64,
        /// The speed of the resonance.
        resonance_rpm: f64,
    },
    /// A fraction that is not one.
    #[error(
        "{what} must be greater than 0 and at most 1, got {value:?}: give a part of the whole, not percent"
    )]
    BadFraction {
        /// What it is a fraction of, in words.
        what: &'static str,
        /// The number as it was given.
        value: f64,
    },
    /// A stored influence coefficient of zero.
    #[error(
        "an influence coefficient of zero says that no weight changes this reading: use another channel or plane"
    )]
    NoResponse,
    /// The estimate leaves the range of numbers.
    #[error(
        "the estimate comes to {gram_millimetres:?} g mm, beyond what can be computed with: \
         check the reading, the speed and the figures of the rule"
    )]
    EstimateBeyondRange {
        /// The amount as it was computed.
        gram_millimetres: f64,
    },
    /// An estimate whose origin is not stated.
    #[error("the origin of the rule or coefficient is not stated: say where it comes from")]
    NoProvenance,
}

impl FirstWeightError {
    /// The stable number of this error, the same in Rust and in C.
    ///
    /// ```
    /// use counterpoise::{FirstWeightError, QuantityError};
    /// assert_eq!(FirstWeightError::NoResponse.code(), 603);
    /// let inner = QuantityError::NotFinite { quantity: "vibration", value: f64::NAN };
    /// assert_eq!(FirstWeightError::from(inner).code(), 101);
    /// ```
    pub const fn code(&self) -> i32 {
        match self {
            Self::Quantity(error) => error.code(),
            Self::NearResonance { .. } => 601,
            Self::BadFraction { .. } => 602,
            Self::NoResponse => 603,
            Self::EstimateBeyondRange { .. } => 604,
            Self::NoProvenance => 605,
        }
    }
}
