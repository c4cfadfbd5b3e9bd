//! What can be wrong with a move of correction weights.

use super::QuantityError;

/// A move that cannot be made. Codes 500 to 599; a wrong number keeps its own code.
///
/// Angles in these errors are counted with rotation from the mark. A wanted unbalance that capped places cannot reach
/// is not an error but an outcome, `relocation::LeastMass::OutOfReach`.
///
/// ```
/// use counterpoise::{Angle, Mass, Radius, RotorAngle, Weight, relocation};
/// let weight = Weight::new(Mass::from_grams(5.0)?, Radius::from_millimetres(150.0)?, RotorAngle::MARK);
/// let error = relocation::split_symmetric(weight, Angle::from_degrees(90.0)?).unwrap_err();
/// assert_eq!(error.code(), 504);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum RelocationError {
    /// One of the numbers, given or computed, cannot be the quantity it stands for.
    #[error(transparent)]
    Quantity(#[from] QuantityError),
    /// There is no place to put anything.
    #[error("no places were given: list at least one place for the weight")]
    NoPlaces,
    /// The two places do not have the wanted angle between them, the shorter way round.
    #[error(
        "an unbalance at {wanted_degrees:?} deg does not lie between places at {first_degrees:?} and \
         {second_degrees:?} deg, less than half a turn apart: choose places on either side of it, \
         or allow material to be removed"
    )]
    NotBracketed {
        /// Where the unbalance is wanted.
        wanted_degrees: f64,
        /// The one place.
        first_degrees: f64,
        /// The other place.
        second_degrees: f64,
    },
    /// The two places lie on one line through the axis, and the wanted angle does not.
    #[error(
        "places at {first_degrees:?} and {second_degrees:?} deg lie on one line through the axis, \
         an unbalance at {wanted_degrees:?} deg does not: choose another place for one of them"
    )]
    PlacesInLine {
        /// Where the unbalance is wanted.
        wanted_degrees: f64,
        /// The one place.
        first_degrees: f64,
        /// The other place.
        second_degrees: f64,
    },
    /// Two equal weights a quarter turn or more to either side do not add up to one between them.
    #[error(
        "weights {half_spread_degrees:?} deg to either side do not add up between them: \
         give a half spread below 90 deg"
    )]
    SpreadTooWide {
        /// The angle to either side.
        half_spread_degrees: f64,
    },
    /// The most that a place may carry is less than nothing.
    #[error("place {index} has a cap of {grams:?} g: give zero or more, or no cap")]
    NegativeCap {
        /// The place's index in the list, from 0.
        index: usize,
        /// The cap as it was given.
        grams: f64,
    },
    /// The new plane does nothing at the measuring points, so that no weight there has the wanted effect.
    #[error(
        "the new plane has no effect on the channels beside that of the old one: \
         choose another plane, or measure its influence again"
    )]
    NoEffect,
    /// The lists of influence coefficients and of weights do not belong to the same channels.
    #[error(
        "{from} influence coefficients of the old plane, {to} of the new one and {weights} weights \
         do not go together: give one of each per channel"
    )]
    ChannelCountsDiffer {
        /// How many coefficients of the old plane.
        from: usize,
        /// How many coefficients of the new plane.
        to: usize,
        /// How many channel weights.
        weights: usize,
    },
    /// Two correction planes at one station cannot take up a moment.
    #[error(
        "correction planes at {first_millimetres:?} and {second_millimetres:?} mm coincide and take up no moment: \
         choose planes some way apart"
    )]
    PlanesCoincide {
        /// The station of the one plane.
        first_millimetres: f64,
        /// The station of the other plane.
        second_millimetres: f64,
    },
    /// The search for the least mass did not come to its end, which is not known to happen on any input.
    #[error(
        "the least mass was not settled within {moves} moves: drop places that nearly coincide with others"
    )]
    NotSettled {
        /// After how many moves it was given up.
        moves: usize,
    },
}

impl RelocationError {
    /// The stable number of this error, the same in Rust and in C.
    ///
    /// ```
    /// use counterpoise::{QuantityError, RelocationError};
    /// assert_eq!(RelocationError::NoPlaces.code(), 501);
    /// let inner = QuantityError::NotFinite { quantity: "mass", value: f64::NAN };
    /// assert_eq!(RelocationError::from(inner).code(), 101);
    /// ```
    pub const fn code(&self) -> i32 {
        match self {
            Self::Quantity(error) => error.code(),
            Self::NoPlaces => 501,
            Self::NotBracketed { .. } => 502,
            Self::PlacesInLine { .. } => 503,
            Self::SpreadTooWide { .. } => 504,
            Self::NegativeCap { .. } => 505,
            Self::NoEffect => 506,
            Self::ChannelCountsDiffer { .. } => 507,
            Self::PlanesCoincide { .. } => 508,
            Self::NotSettled { .. } => 509,
        }
    }
}
