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
    /// A channel saw the weights of a plane too little: uncertainties computed from it to first order are too small.
    WeakTrial {
        /// The channel, counted from 0.
        channel: usize,
        /// The plane, counted from 0.
        plane: usize,
        /// The squared distance of the response from none, in units of its scatter.
        distance_squared: f64,
    },
    /// The runs do not fit one linear machine within their stated scatter.
    InconsistentRuns {
        /// The channel, counted from 0.
        channel: usize,
        /// The weighted sum of squared residuals.
        chi_squared: f64,
        /// Its degrees of freedom.
        degrees_of_freedom: usize,
        /// The chance of so much or more where all is well.
        chance: f64,
    },
    /// Two masses in the same place did not act in proportion.
    NonLinearResponse {
        /// The channel, counted from 0.
        channel: usize,
        /// The plane, counted from 0.
        plane: usize,
        /// The two runs, counted from 0.
        runs: [usize; 2],
        /// The squared distance of the two responses per unbalance, in units of their scatter.
        distance_squared: f64,
    },
    /// Two runs with the same weights read differently, by more than their scatter.
    DriftBetweenRuns {
        /// The channel, counted from 0.
        channel: usize,
        /// The two runs, counted from 0.
        runs: [usize; 2],
        /// The squared distance of the two readings, in units of their scatter.
        distance_squared: f64,
    },
    /// The correction lies far beyond anything that was tried.
    BeyondTrials {
        /// The plane, counted from 0.
        plane: usize,
        /// The correction, counted from the bare rotor, in g mm.
        amount: f64,
        /// The largest unbalance that was mounted in the plane, in g mm.
        largest_trial: f64,
    },
    /// The correction lies on the other side than what is mounted: that sits on the heavy side.
    AgainstMounted {
        /// The plane, counted from 0.
        plane: usize,
        /// How far what is to be added goes against it, in g mm.
        amount: f64,
    },
    /// A coefficient is not the same at two speeds that lie close together.
    ChangesWithSpeed {
        /// The sensor.
        sensor: u16,
        /// The plane, counted from 0.
        plane: usize,
        /// The two speeds, in rpm.
        rpm: [f64; 2],
        /// The change over the mean size, per percent of speed.
        change_per_percent: f64,
    },
    /// The phase of a reading that is not small beside the others scatters much.
    PhaseNotRepeatable {
        /// The run, counted from 0.
        run: usize,
        /// The channel, counted from 0.
        channel: usize,
        /// The standard deviation of the phase, in degrees.
        degrees: f64,
    },
    /// The runs were read at different speeds, and no law was declared.
    SpeedsDiffer {
        /// The channel, counted from 0.
        channel: usize,
        /// The lowest speed, in rpm.
        lowest_rpm: f64,
        /// The highest speed, in rpm.
        highest_rpm: f64,
    },
    /// What is left is less than the scatter can resolve: another correction would follow noise. Stop here.
    NothingToResolve {
        /// The largest amplitude of the last run over what its scatter can resolve at 95 %: below 1.
        share: f64,
    },
    /// Two corrections one after the other did not help.
    WithoutGain {
        /// The runs after the two corrections, counted from 0.
        runs: [usize; 2],
        /// The least root mean square of the amplitudes before them, in the channels' unit.
        before: f64,
        /// The lesser of the two after them.
        after: f64,
    },
    /// The phase turns fast with speed where the machine is balanced: a resonance is near.
    NearResonance {
        /// The speed, in rpm.
        rpm: f64,
        /// By how many degrees the vibration falls further behind for one percent more of speed.
        lag_degrees_per_percent: f64,
    },
    /// The machine answers otherwise than machines of its kind are expected to.
    UnexpectedResponse {
        /// The channel, counted from 0.
        channel: usize,
        /// The plane, counted from 0.
        plane: usize,
        /// The size of the coefficient, in the channel's unit per g mm.
        size: f64,
        /// The least and the largest that were expected.
        expected: [f64; 2],
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
            Self::WeakTrial { .. } => 1010,
            Self::InconsistentRuns { .. } => 1011,
            Self::NonLinearResponse { .. } => 1012,
            Self::DriftBetweenRuns { .. } => 1013,
            Self::BeyondTrials { .. } => 1014,
            Self::AgainstMounted { .. } => 1015,
            Self::ChangesWithSpeed { .. } => 1016,
            Self::PhaseNotRepeatable { .. } => 1017,
            Self::SpeedsDiffer { .. } => 1018,
            Self::NothingToResolve { .. } => 1019,
            Self::WithoutGain { .. } => 1020,
            Self::NearResonance { .. } => 1021,
            Self::UnexpectedResponse { .. } => 1022,
        }
    }
}

impl fmt::Display for Caution {
    /// One sentence, for a person.
    #[allow(clippy::too_many_lines)] // one text after the other
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
            Self::WeakTrial { channel, plane, distance_squared } => write!(
                f,
                "channel {channel} hardly saw the weights of plane {plane} (squared distance {distance_squared:.1}, clear from \
                 100): use a larger weight or more readings, and the exact region instead of the first-order one"
            ),
            Self::InconsistentRuns { channel, chi_squared, degrees_of_freedom, chance } => write!(
                f,
                "the runs of channel {channel} do not fit one linear machine (chi-squared {chi_squared:.1} with \
                 {degrees_of_freedom} degrees of freedom, chance {chance:.1e}): have them examined for a mistake, or state \
                 a larger scatter"
            ),
            Self::NonLinearResponse { channel, plane, runs: [one, other], distance_squared } => write!(
                f,
                "in runs {one} and {other} two masses in the same place of plane {plane} did not act in proportion on channel \
                 {channel} (squared distance {distance_squared:.1}): look for looseness, a rub, or a resonance close by"
            ),
            Self::DriftBetweenRuns { channel, runs: [one, other], distance_squared } => write!(
                f,
                "runs {one} and {other} had the same weights and channel {channel} read differently (squared distance \
                 {distance_squared:.1}): warm up alike, and add the drift between visits to the scatter"
            ),
            Self::BeyondTrials { plane, amount, largest_trial } => write!(
                f,
                "plane {plane} asks for {amount:.0} g mm, and {largest_trial:.0} g mm is the most that was tried: mount a part of \
                 it first and read again"
            ),
            Self::AgainstMounted { plane, amount } => write!(
                f,
                "in plane {plane} the correction lies on the other side than what is mounted, which sits on the heavy side \
                 ({amount:.0} g mm against it): take that off, and check first which way the angles were counted"
            ),
            Self::ChangesWithSpeed { sensor, plane, rpm: [one, other], change_per_percent } => write!(
                f,
                "the response of sensor {sensor} to plane {plane} changes by {:.0} % per percent of speed between {one:?} and \
                 {other:?} rpm: hold the speed closely, or choose another",
                100.0 * change_per_percent
            ),
            Self::PhaseNotRepeatable { run, channel, degrees } => write!(
                f,
                "the phase of channel {channel} in run {run} scatters by {degrees:.0} deg: check the mark and its pickup, and \
                 whether there is a once-per-rev vibration at all"
            ),
            Self::SpeedsDiffer { channel, lowest_rpm, highest_rpm } => write!(
                f,
                "channel {channel} was read at {lowest_rpm:?} to {highest_rpm:?} rpm: read at one speed, or declare how the \
                 response grows with it"
            ),
            Self::NothingToResolve { share } => write!(
                f,
                "what is left is {:.0} % of what the scatter can resolve: another correction would follow noise, stop here",
                100.0 * share
            ),
            Self::WithoutGain { runs: [one, other], before, after } => write!(
                f,
                "the corrections before runs {one} and {other} brought nothing ({before:.3} before, {after:.3} after): look for \
                 causes other than unbalance, such as blade pitch, track or the engine; these change with power"
            ),
            Self::NearResonance { rpm, lag_degrees_per_percent } => write!(
                f,
                "near {rpm:.0} rpm the phase turns by {lag_degrees_per_percent:.1} deg per percent of speed: a resonance is near; \
                 hold the speed closely, or choose another"
            ),
            Self::UnexpectedResponse { channel, plane, size, expected: [lowest, highest] } => write!(
                f,
                "channel {channel} answers plane {plane} with {size:.2e} per g mm, and {lowest:.2e} to {highest:.2e} were expected: \
                 look at the mass and radius that were written down, and at the units of mass and vibration"
            ),
        }
    }
}
