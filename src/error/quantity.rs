//! What can be wrong with a plain number.

/// A number that cannot be the quantity it was given for. Codes 100 to 199.
///
/// ```
/// use counterpoise::{Mass, QuantityError};
/// let error = Mass::from_grams(f64::INFINITY).unwrap_err();
/// assert_eq!(error.code(), 101);
/// assert_eq!(error.to_string(), "mass must be a finite number, got inf: check where the number comes from");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum QuantityError {
    /// Not a number, or infinite.
    #[error("{quantity} must be a finite number, got {value:?}: check where the number comes from")]
    NotFinite {
        /// The quantity in words, such as `mass`.
        quantity: &'static str,
        /// The number as it was given.
        value: f64,
    },
    /// Zero or negative where only a positive number has a meaning.
    #[error("{quantity} must be greater than zero, got {value:?} {unit}: give its size, without a sign")]
    NotPositive {
        /// The quantity in words, such as `radius`.
        quantity: &'static str,
        /// The number as it was given.
        value: f64,
        /// The unit it was given in.
        unit: &'static str,
    },
    /// Negative where zero is the least that has a meaning.
    #[error("{quantity} must not be negative, got {value:?} {unit}: give its size, without a sign")]
    Negative {
        /// The quantity in words, such as `amplitude`.
        quantity: &'static str,
        /// The number as it was given.
        value: f64,
        /// The unit it was given in.
        unit: &'static str,
    },
    /// So large or so small that results computed from it would overflow.
    #[error("{quantity} {value:?} {unit} is beyond what can be computed with: check the number and its unit")]
    BeyondRange {
        /// The quantity in words.
        quantity: &'static str,
        /// The number as it was given.
        value: f64,
        /// The unit it was given in.
        unit: &'static str,
    },
    /// A reading that would not scatter in one direction, so that nothing beside a line would be possible.
    #[error(
        "a reading without scatter of its {quantity} rules out all beside one line: give the least that the instrument \
         can show, a step of its display over the root of 12, or one deviation for both components"
    )]
    WithoutScatter {
        /// What would not scatter: `amplitude`, `phase`, or the `direction` of no vibration.
        quantity: &'static str,
    },
}

impl QuantityError {
    /// The stable number of this error, the same in Rust and in C.
    ///
    /// ```
    /// use counterpoise::Radius;
    /// assert_eq!(Radius::from_millimetres(0.0).unwrap_err().code(), 102);
    /// ```
    pub const fn code(&self) -> i32 {
        match self {
            Self::NotFinite { .. } => 101,
            Self::NotPositive { .. } => 102,
            Self::Negative { .. } => 103,
            Self::BeyondRange { .. } => 104,
            Self::WithoutScatter { .. } => 105,
        }
    }
}
