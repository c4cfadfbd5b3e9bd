//! Cautions: what makes a valid answer a poor one, with the figure that raised it.

use alloc::vec::Vec;
use core::fmt;

use crate::vector::UnbalanceVector;

/// A reason to trust an answer less. It comes with the answer, and is not an error.
///
/// ```
/// use counterpoise::Caution;
/// let caution = Caution::OptimumNotProven { value: 2.0, lower_bound: 1.5 };
/// assert_eq!(
///     caution.to_string(),
///     "the search for the optimum stopped early: the value is 2.0, and none below 1.5 is possible",
/// );
/// ```
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Caution {
    /// Some combination of unbalances in the planes is hardly seen by the measuring points: it cannot be corrected
    /// from these readings, and the weights may fight each other.
    IllConditionedPlanes {
        /// The largest over the least singular value of the weighted influence matrix.
        condition_number: f64,
        /// The combination that is least seen: one unbalance per plane, of 1 g mm together.
        combination: Vec<UnbalanceVector>,
    },
    /// Weights that differ from these do as well: the optimum is flat, or has more than one solution.
    FlatOptimum,
    /// The optimum was approached, and not proven to the digits that are usual here.
    OptimumNotProven {
        /// The value of the objective that was reached.
        value: f64,
        /// What no weights can fall below.
        lower_bound: f64,
    },
    /// The runs hardly tell the unknowns of a channel apart: what was mounted in them differs by little.
    IllConditionedRuns {
        /// The channel, counted from 0.
        channel: usize,
        /// The condition number of the design, with its columns brought to equal length.
        condition_number: f64,
    },
    /// A channel showed no response to a plane, as far as the digits of its readings go: its coefficient is zero.
    NoResponse {
        /// The channel, counted from 0.
        channel: usize,
        /// The plane, counted from 0.
        plane: usize,
    },
    /// Channels in different units were put together without weights that bring them to a common one.
    MixedUnits,
    /// A reading at another speed was brought to the nominal one by the declared law.
    ScaledToSpeed {
        /// The run, counted from 0 in the order in which runs were added.
        run: usize,
        /// The channel, counted from 0.
        channel: usize,
        /// The speed of the reading, in rpm.
        rpm: f64,
        /// What the reading was multiplied with.
        factor: f64,
    },
    /// The search for a placement stopped before the best was proven.
    PlacementNotProven {
        /// What the best found leaves.
        residual: f64,
        /// What no placement leaves less than.
        lower_bound: f64,
    },
    /// No placement leaves as little as was asked for; that is proven. The nearest found is not proven nearest.
    NoneWithin {
        /// What was asked for.
        eps: f64,
        /// What the nearest found leaves.
        residual: f64,
        /// What no placement leaves less than.
        lower_bound: f64,
    },
}

impl Caution {
    /// The condition number of the planes from which on they are called ill-conditioned.
    ///
    /// With it, an error of 1 % in the readings may become one of 10 % in the weights. Common practice, no source.
    ///
    /// ```
    /// assert_eq!(counterpoise::Caution::ILL_CONDITIONED_FROM, 10.0);
    /// ```
    pub const ILL_CONDITIONED_FROM: f64 = 10.0;

    /// The condition number of the runs from which on they are called ill-conditioned. Common practice, no source.
    ///
    /// ```
    /// assert_eq!(counterpoise::Caution::ILL_CONDITIONED_RUNS_FROM, 100.0);
    /// ```
    pub const ILL_CONDITIONED_RUNS_FROM: f64 = 100.0;

    /// The stable number of this caution, the same in Rust and in C.
    ///
    /// ```
    /// use counterpoise::Caution;
    /// assert_eq!(Caution::FlatOptimum.code(), 1002);
    /// ```
    pub const fn code(&self) -> i32 {
        match self {
            Self::IllConditionedPlanes { .. } => 1001,
            Self::FlatOptimum => 1002,
            Self::OptimumNotProven { .. } => 1003,
            Self::ScaledToSpeed { .. } => 1004,
            Self::IllConditionedRuns { .. } => 1005,
            Self::NoResponse { .. } => 1006,
            Self::MixedUnits => 1007,
            Self::PlacementNotProven { .. } => 1008,
            Self::NoneWithin { .. } => 1009,
        }
    }
}

impl fmt::Display for Caution {
    /// One sentence, for a person.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::IllConditionedPlanes { condition_number, .. } => write!(
                f,
                "the planes are hard to tell apart at these measuring points (condition number {condition_number:.1}): \
                 a small error of the readings becomes a large one of the weights"
            ),
            Self::FlatOptimum => f.write_str("the optimum is flat: other weights leave as little"),
            Self::OptimumNotProven { value, lower_bound } => write!(
                f,
                "the search for the optimum stopped early: the value is {value:?}, and none below {lower_bound:?} is \
                 possible"
            ),
            Self::IllConditionedRuns { channel, condition_number } => write!(
                f,
                "the runs hardly tell the unknowns of channel {channel} apart (condition number {condition_number:.1e}): \
                 mount weights that differ more"
            ),
            Self::NoResponse { channel, plane } => write!(
                f,
                "channel {channel} showed no response to plane {plane}: check that the weight was on and the reading new, \
                 or use a larger weight"
            ),
            Self::MixedUnits => f.write_str(
                "channels in different units are summed as they are: give channel weights that bring them to one scale"
            ),
            Self::ScaledToSpeed { run, channel, rpm, factor } => write!(
                f,
                "the reading of channel {channel} in run {run} was taken at {rpm:?} rpm and multiplied by {factor:.4} to \
                 bring it to the nominal speed"
            ),
            Self::PlacementNotProven { residual, lower_bound } => write!(
                f,
                "the search for a placement stopped early: the best found leaves {residual:?}, none leaves less than \
                 {lower_bound:?}, and a better one may exist"
            ),
            Self::NoneWithin { eps, residual, lower_bound } => write!(
                f,
                "no placement leaves as little as {eps:?}: the nearest found leaves {residual:?}, and none leaves less \
                 than {lower_bound:?}"
            ),
        }
    }
}
