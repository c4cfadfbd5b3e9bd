//! What can be wrong with runs, and with the estimation from them.

#[cfg(feature = "alloc")]
use alloc::vec::Vec;
#[cfg(feature = "alloc")]
use core::fmt;

use super::{QuantityError, ReadingError};

/// Runs from which influence coefficients cannot be estimated. Codes 300 to 399; a wrong number or reading keeps its
/// own code. Runs, channels and planes are counted from 0, as in the calls.
///
/// ```
/// use counterpoise::{EstimateError, OnePlane, UnbalanceVector, Vibration};
/// let reading = Vibration::from_components(0.3, 0.1)?;
/// let error = OnePlane::from_trial(reading, reading, UnbalanceVector::ZERO).unwrap_err();
/// assert_eq!(error, EstimateError::ZeroTrial);
/// assert_eq!(error.code(), 301);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum EstimateError {
    /// One of the numbers cannot be what it was given for.
    #[error(transparent)]
    Quantity(#[from] QuantityError),
    /// One of the readings cannot be used.
    #[error(transparent)]
    Reading(#[from] ReadingError),
    /// The trial weight makes no unbalance, or the same as was there before.
    #[error("the trial weight changes the unbalance by nothing: give its mass, radius and place")]
    ZeroTrial,
    /// The vibration did not change with the trial weight, as far as the digits show.
    #[error(
        "the trial run reads as the run before it ({before:?} and {after:?} in the channel's unit): check that the \
         weight was on and the reading new, or use a larger weight"
    )]
    NoResponse {
        /// The amplitude before.
        before: f64,
        /// The amplitude with the trial weight.
        after: f64,
    },
    /// The two trial runs changed the unbalance of the two planes in proportion.
    #[error(
        "the two trial runs change both planes in proportion, so the planes cannot be told apart: put the second trial \
         weight in the other plane"
    )]
    ProportionalTrials,
    /// There is no channel.
    #[error("there is no channel: name at least one sensor at one speed")]
    NoChannels,
    /// There is no correction plane.
    #[error("there is no correction plane: say how many the rotor has, one or more")]
    NoPlanes,
    /// There is no run.
    #[error("there is no run: add the run as found, and a trial run for every plane")]
    NoRuns,
    /// One channel is named twice.
    #[error(
        "channels {first} and {second} are the same, sensor {sensor}: name each once, or number the sensors apart"
    )]
    RepeatedChannel {
        /// The one.
        first: usize,
        /// The other.
        second: usize,
        /// The number of the sensor.
        sensor: u16,
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
    /// A run mounts a weight in a plane that the rotor does not have.
    #[error("run {run} mounts a weight in plane {plane}, but there are {planes} planes, counted from 0")]
    PlaneOutOfRange {
        /// The run.
        run: usize,
        /// The plane that was named.
        plane: usize,
        /// How many planes there are.
        planes: usize,
    },
    /// A run mounts an unbalance that is not finite.
    #[error(
        "run {run} mounts an unbalance that is not finite in plane {plane}: check where the numbers come from"
    )]
    UnbalanceNotFinite {
        /// The run.
        run: usize,
        /// The plane.
        plane: usize,
    },
    /// A run has no reading.
    #[error("run {run} has no reading: add one, or leave the run out")]
    NoReading {
        /// The run.
        run: usize,
    },
    /// A run has a reading of a channel that was not named.
    #[error(
        "run {run} has a reading of sensor {sensor} at {rpm:?} rpm whose channel is none of the named ones: unit, phase sense, window and law must be the same, too"
    )]
    UnknownChannel {
        /// The run.
        run: usize,
        /// The number of the sensor.
        sensor: u16,
        /// The nominal speed of the reading's channel.
        rpm: f64,
    },
    /// A run has two readings of one channel.
    #[error("run {run} has two readings of channel {channel}: average them first, or make them two runs")]
    RepeatedReading {
        /// The run.
        run: usize,
        /// The channel.
        channel: usize,
    },
    /// A reading says its weight where the estimator was told to expect variances, or the other way round.
    #[error(
        "run {run}, channel {channel}: with known variances every reading says its standard deviation, with relative \
         weights none does"
    )]
    Precision {
        /// The run.
        run: usize,
        /// The channel.
        channel: usize,
    },
    /// A prior was given to an estimator that has only relative weights.
    #[error(
        "a prior says how far coefficients may differ, in their unit: it needs readings with known standard deviations \
         to be weighed against"
    )]
    PriorNeedsVariances,
    /// A prior is for other channels or planes.
    #[error("the prior is for other channels or another number of planes than the estimator")]
    PriorDoesNotFit,
    /// An entry of a covariance matrix that cannot be one.
    #[error(
        "the covariance has {value:?} in row {row}, column {column}: it must be finite, symmetric and not negative"
    )]
    CovarianceEntry {
        /// The row.
        row: usize,
        /// The column.
        column: usize,
        /// The entry.
        value: f64,
    },
    /// The covariance of a prior is not positive definite.
    #[error(
        "the covariance of the prior of channel {channel} is not positive definite: say of every coefficient how far it \
         may differ, by more than nothing"
    )]
    PriorCovariance {
        /// The channel.
        channel: usize,
    },
    /// The runs do not determine all unknowns of a channel.
    #[cfg(feature = "alloc")]
    #[error("{0}")]
    Undetermined(Undetermined),
    /// A channel was asked for that was not named.
    #[error("there is no channel {channel}: {channels} are named, counted from 0")]
    ChannelOutOfRange {
        /// The channel as it was asked for.
        channel: usize,
        /// How many channels there are.
        channels: usize,
    },
    /// The numbers of the runs are so far apart in size that the result is not a finite number.
    #[error(
        "channel {channel}: the result is beyond the range of numbers; check the units of weights and readings"
    )]
    NotRepresentable {
        /// The channel.
        channel: usize,
    },
}

/// Why the runs do not determine all unknowns of a channel.
///
/// ```
/// use counterpoise::{
///     Channel, Detector, EstimateError, Estimator, PhaseSense, Run, Speed, SpeedWindow, UnbalanceVector,
///     VibrationScale, VibrationUnit,
/// };
/// let unit = VibrationUnit::new(VibrationScale::Mil, Detector::PeakToPeak);
/// let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
/// let channel = Channel::new(1, unit, PhaseSense::Lag, window);
/// let trial = UnbalanceVector::from_components_gram_millimetres(1000.0, 0.0)?;
/// let mut estimator = Estimator::with_relative_weights(&[channel], 2)?;
/// estimator.add(Run::new("as found").reading(channel.reading(3.0, 10.0)?))?;
/// estimator.add(Run::new("both").mounted(0, trial).mounted(1, trial).reading(channel.reading(4.0, 20.0)?))?;
/// let Err(EstimateError::Undetermined(undetermined)) = estimator.fit() else { return Ok(()) };
/// assert_eq!(undetermined.groups[0].planes, [0, 1]);
/// assert_eq!(
///     undetermined.to_string(),
///     "channel 0: 2 run(s) determine 2 of 3 unknowns; not told apart: plane 0 and plane 1: \
///      add a run in which what is mounted there differs",
/// );
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[cfg(feature = "alloc")]
#[derive(Debug, Clone, PartialEq)]
pub struct Undetermined {
    /// The channel, counted from 0.
    pub channel: usize,
    /// How many combinations of the unknowns the runs determine.
    pub rank: usize,
    /// How many complex unknowns there are: the vibration as found, and one coefficient per plane.
    pub unknowns: usize,
    /// How many runs have a reading of this channel.
    pub readings: usize,
    /// The groups that cannot be told apart: in each, the planes whose coefficients may be traded against each other,
    /// and whether the vibration as found takes part.
    pub groups: Vec<Inseparable>,
}

/// Unknowns that can be traded against each other without any run showing it.
///
/// ```
/// use counterpoise::Inseparable;
/// let group = Inseparable { as_found: true, planes: vec![0] };
/// assert!(group.as_found);
/// ```
#[cfg(feature = "alloc")]
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Inseparable {
    /// Whether the vibration as found takes part.
    pub as_found: bool,
    /// The planes that take part, counted from 0.
    pub planes: Vec<usize>,
}

#[cfg(feature = "alloc")]
impl fmt::Display for Undetermined {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "channel {}: {} run(s) determine {} of {} unknowns; ",
            self.channel, self.readings, self.rank, self.unknowns
        )?;
        for (at, group) in self.groups.iter().enumerate() {
            if at > 0 {
                f.write_str("; ")?;
            }
            match (group.as_found, group.planes.as_slice()) {
                (false, [plane]) => write!(f, "no run shows what plane {plane} does")?,
                (true, []) => f.write_str("no run shows the vibration as found")?,
                (as_found, planes) => {
                    f.write_str("not told apart: ")?;
                    if as_found {
                        f.write_str("the vibration as found")?;
                    }
                    for (place, plane) in planes.iter().enumerate() {
                        let join = if as_found || place > 0 { " and " } else { "" };
                        write!(f, "{join}plane {plane}")?;
                    }
                }
            }
        }
        f.write_str(": add a run in which what is mounted there differs")
    }
}

impl EstimateError {
    /// The stable number of this error, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::EstimateError::NoRuns.code(), 306);
    /// ```
    pub const fn code(&self) -> i32 {
        match self {
            Self::Quantity(error) => error.code(),
            Self::Reading(error) => error.code(),
            Self::ZeroTrial => 301,
            Self::NoResponse { .. } => 302,
            Self::ProportionalTrials => 303,
            Self::NoChannels => 304,
            Self::NoPlanes => 305,
            Self::NoRuns => 306,
            Self::RepeatedChannel { .. } => 307,
            Self::Count { .. } => 308,
            Self::PlaneOutOfRange { .. } => 309,
            Self::UnbalanceNotFinite { .. } => 310,
            Self::NoReading { .. } => 311,
            Self::UnknownChannel { .. } => 312,
            Self::RepeatedReading { .. } => 313,
            Self::Precision { .. } => 314,
            Self::PriorNeedsVariances => 315,
            Self::PriorDoesNotFit => 316,
            Self::CovarianceEntry { .. } => 317,
            Self::PriorCovariance { .. } => 318,
            #[cfg(feature = "alloc")]
            Self::Undetermined(_) => 319,
            Self::NotRepresentable { .. } => 320,
            Self::ChannelOutOfRange { .. } => 321,
        }
    }
}
