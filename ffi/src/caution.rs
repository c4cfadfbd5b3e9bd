//! Cautions: reasons to trust an answer less. They come with the answer, and are no refusals.

use core::ffi::c_char;

use counterpoise::Caution;

use crate::argument::{Results, TextBuffer};

/// Bytes of a caution's text, the NUL at its end among them.
pub const CPOISE_CAUTION_BYTES: usize = 400;

/// Stands in a caution for a channel, plane or run that it does not name.
pub const CPOISE_NONE: i32 = -1;

// The numbers of the cautions, the same as in Rust.

/// Some combination of unbalances is hardly seen. figures: condition number.
pub const CPOISE_CAUTION_ILL_CONDITIONED_PLANES: i32 = 1001;
/// Weights that differ from these do as well.
pub const CPOISE_CAUTION_FLAT_OPTIMUM: i32 = 1002;
/// The optimum was approached, and not proven. figures: value, lower bound.
pub const CPOISE_CAUTION_OPTIMUM_NOT_PROVEN: i32 = 1003;
/// A reading was brought to the nominal speed by the declared law: run, channel. figures: speed in rpm, factor.
pub const CPOISE_CAUTION_SCALED_TO_SPEED: i32 = 1004;
/// The runs hardly tell the unknowns of a channel apart: channel. figures: condition number.
pub const CPOISE_CAUTION_ILL_CONDITIONED_RUNS: i32 = 1005;
/// A channel showed no response to a plane: channel, plane.
pub const CPOISE_CAUTION_NO_RESPONSE: i32 = 1006;
/// Channels in different units without weights that bring them to a common one.
pub const CPOISE_CAUTION_MIXED_UNITS: i32 = 1007;
/// The search for a placement stopped before the best was proven. figures: residual, lower bound.
pub const CPOISE_CAUTION_PLACEMENT_NOT_PROVEN: i32 = 1008;
/// No placement leaves as little as was asked for. figures: asked for, residual, lower bound.
pub const CPOISE_CAUTION_NONE_WITHIN: i32 = 1009;
/// A channel saw the weights of a plane too little: channel, plane. figures: squared distance from none.
pub const CPOISE_CAUTION_WEAK_TRIAL: i32 = 1010;
/// The runs do not fit one linear machine: channel. figures: chi-squared, degrees of freedom, chance.
pub const CPOISE_CAUTION_INCONSISTENT_RUNS: i32 = 1011;
/// Two masses in one place did not act in proportion: channel, plane, run, other run. figures: squared distance.
pub const CPOISE_CAUTION_NON_LINEAR_RESPONSE: i32 = 1012;
/// Two runs with the same weights read differently: channel, run, other run. figures: squared distance.
pub const CPOISE_CAUTION_DRIFT_BETWEEN_RUNS: i32 = 1013;
/// The correction lies far beyond anything tried: plane. figures: its amount and the largest trial, in g mm.
pub const CPOISE_CAUTION_BEYOND_TRIALS: i32 = 1014;
/// The correction goes against what is mounted: plane. figures: by how much, in g mm.
pub const CPOISE_CAUTION_AGAINST_MOUNTED: i32 = 1015;
/// A coefficient is not the same at two speeds: sensor (in channel), plane. figures: the speeds in rpm, change per percent.
pub const CPOISE_CAUTION_CHANGES_WITH_SPEED: i32 = 1016;
/// The phase of a reading scatters much: run, channel. figures: its standard deviation in degrees.
pub const CPOISE_CAUTION_PHASE_NOT_REPEATABLE: i32 = 1017;
/// The runs were read at different speeds: channel. figures: lowest and highest in rpm.
pub const CPOISE_CAUTION_SPEEDS_DIFFER: i32 = 1018;
/// What is left is less than the scatter can resolve: stop. figures: its share of that.
pub const CPOISE_CAUTION_NOTHING_TO_RESOLVE: i32 = 1019;
/// Two corrections one after the other did not help: run, other run. figures: before, after.
pub const CPOISE_CAUTION_WITHOUT_GAIN: i32 = 1020;
/// A resonance is near. figures: speed in rpm, lag in degrees per percent of speed.
pub const CPOISE_CAUTION_NEAR_RESONANCE: i32 = 1021;

/// A caution with its figures.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_caution {
    /// A CPOISE_CAUTION_ number, which says which of the members below it names.
    pub code: i32,
    /// The channel, counted from 0, or CPOISE_NONE.
    pub channel: i32,
    /// The plane, counted from 0, or CPOISE_NONE.
    pub plane: i32,
    /// The run, counted from 0, or CPOISE_NONE.
    pub run: i32,
    /// The other run, or CPOISE_NONE.
    pub other_run: i32,
    /// The figures that raised it, in the order that its number says; what is not used is 0.
    pub figures: [f64; 3],
    /// One English sentence for a person, UTF-8 that ends with a NUL.
    pub text: [c_char; CPOISE_CAUTION_BYTES],
}

fn index(of: usize) -> i32 {
    i32::try_from(of).unwrap_or(i32::MAX)
}

impl From<&Caution> for cpoise_caution {
    fn from(from: &Caution) -> Self {
        #[allow(clippy::cast_precision_loss)] // degrees of freedom are far below 2⁵³
        let (channel, plane, runs, figures) = match *from {
            Caution::IllConditionedPlanes { condition_number, .. } => {
                (None, None, None, [condition_number, 0.0, 0.0])
            }
            Caution::OptimumNotProven { value, lower_bound } => (None, None, None, [value, lower_bound, 0.0]),
            Caution::IllConditionedRuns { channel, condition_number } => {
                (Some(channel), None, None, [condition_number, 0.0, 0.0])
            }
            Caution::NoResponse { channel, plane } => (Some(channel), Some(plane), None, [0.0; 3]),
            Caution::ScaledToSpeed { run, channel, rpm, factor } => {
                (Some(channel), None, Some([Some(run), None]), [rpm, factor, 0.0])
            }
            Caution::PlacementNotProven { residual, lower_bound } => {
                (None, None, None, [residual, lower_bound, 0.0])
            }
            Caution::NoneWithin { eps, residual, lower_bound } => {
                (None, None, None, [eps, residual, lower_bound])
            }
            Caution::WeakTrial { channel, plane, distance_squared } => {
                (Some(channel), Some(plane), None, [distance_squared, 0.0, 0.0])
            }
            Caution::InconsistentRuns { channel, chi_squared, degrees_of_freedom, chance } => {
                (Some(channel), None, None, [chi_squared, degrees_of_freedom as f64, chance])
            }
            Caution::NonLinearResponse { channel, plane, runs, distance_squared } => {
                (Some(channel), Some(plane), Some(runs.map(Some)), [distance_squared, 0.0, 0.0])
            }
            Caution::DriftBetweenRuns { channel, runs, distance_squared } => {
                (Some(channel), None, Some(runs.map(Some)), [distance_squared, 0.0, 0.0])
            }
            Caution::BeyondTrials { plane, amount, largest_trial } => {
                (None, Some(plane), None, [amount, largest_trial, 0.0])
            }
            Caution::AgainstMounted { plane, amount } => (None, Some(plane), None, [amount, 0.0, 0.0]),
            Caution::ChangesWithSpeed { sensor, plane, rpm: [one, other], change_per_percent } => {
                (Some(sensor.into()), Some(plane), None, [one, other, change_per_percent])
            }
            Caution::PhaseNotRepeatable { run, channel, degrees } => {
                (Some(channel), None, Some([Some(run), None]), [degrees, 0.0, 0.0])
            }
            Caution::SpeedsDiffer { channel, lowest_rpm, highest_rpm } => {
                (Some(channel), None, None, [lowest_rpm, highest_rpm, 0.0])
            }
            Caution::NothingToResolve { share } => (None, None, None, [share, 0.0, 0.0]),
            Caution::WithoutGain { runs, before, after } => {
                (None, None, Some(runs.map(Some)), [before, after, 0.0])
            }
            Caution::NearResonance { rpm, lag_degrees_per_percent } => {
                (None, None, None, [rpm, lag_degrees_per_percent, 0.0])
            }
            // Those without figures, and those that are newer than this file.
            _ => (None, None, None, [0.0; 3]),
        };
        let [run, other_run] = runs.unwrap_or([None; 2]);
        let place = |of: Option<usize>| of.map_or(CPOISE_NONE, index);
        let mut text = TextBuffer::new();
        text.write(format_args!("{from}"));
        Self {
            code: from.code(),
            channel: place(channel),
            plane: place(plane),
            run: place(run),
            other_run: place(other_run),
            figures,
            text: text.ended(),
        }
    }
}

/// All cautions of an answer.
pub fn write_all(to: Results<cpoise_caution>, cautions: &[Caution]) -> Result<(), crate::failure::Failure> {
    to.write(cautions.iter().map(Into::into))
}
