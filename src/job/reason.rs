//! Why a step is advised, with the figures.

use core::fmt;

use alloc::string::String;

use crate::caution::Caution;

/// Why a step is advised. Channels, planes and entries are counted from 0.
///
/// ```
/// use counterpoise::job::Reason;
/// let reason = Reason::NotChecked { what: "blade track".into() };
/// assert_eq!(reason.to_string(), "blade track was not checked yet");
/// ```
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Reason {
    /// Something is to be checked before the first run.
    NotChecked {
        /// What.
        what: String,
    },
    /// Something was checked and is not in order.
    NotInOrder {
        /// What.
        what: String,
        /// How it was found.
        remark: String,
    },
    /// The vibration is so large that the rotor is balanced statically first.
    AboveStaticLimit {
        /// The channel.
        channel: usize,
        /// What it read.
        amplitude: f64,
        /// The limit.
        limit: f64,
        /// Where the limit comes from.
        source: String,
    },
    /// Nothing was read yet, or nothing since something was changed.
    NothingRead,
    /// Something was put on or taken off since the last run.
    MountedSince,
    /// How the readings of a channel scatter is neither stated nor seen in repeats.
    ScatterUnknown {
        /// The channel.
        channel: usize,
    },
    /// A channel was not read with what is mounted now.
    NotRead {
        /// The channel.
        channel: usize,
    },
    /// The scatter leaves open whether a channel is within its limit.
    Undecided {
        /// The channel.
        channel: usize,
        /// What it read.
        amplitude: f64,
        /// How far that may be off at the confidence asked for; not a number where it is not known.
        uncertainty: f64,
        /// The limit.
        limit: f64,
    },
    /// A channel is above its limit.
    AboveLimit {
        /// The channel.
        channel: usize,
        /// What it read.
        amplitude: f64,
        /// The limit.
        limit: f64,
        /// Where the limit comes from.
        source: String,
    },
    /// No limit is stated that would say when the job is done.
    NoLimit {
        /// The channel.
        channel: usize,
    },
    /// A channel is within its limit.
    WithinLimit {
        /// The channel.
        channel: usize,
        /// What it read.
        amplitude: f64,
        /// How far that may be off at the confidence asked for; not a number where it is not known.
        uncertainty: f64,
        /// The limit.
        limit: f64,
        /// Where the limit comes from.
        source: String,
    },
    /// The runs do not fit as they were stated.
    Mistake {
        /// What explains them, and what to look at.
        words: String,
    },
    /// It is not known how the machine answers weights in a plane.
    PlaneNotTried {
        /// The plane.
        plane: usize,
    },
    /// A channel did not clearly answer the weights in a plane.
    NotDetected {
        /// The channel.
        channel: usize,
        /// The plane.
        plane: usize,
        /// The squared distance of its response from none, in units of its scatter; clear from 100.
        distance_squared: f64,
    },
    /// The coefficients are so unsure that the correction may as well make it worse.
    Unsure {
        /// The root mean square of the channels now, each over its limit where it has one.
        now: f64,
        /// What is to be expected after the correction.
        expected: f64,
    },
    /// Nothing says how large a trial weight may be: neither an expected response and a highest vibration of a channel, nor runs.
    TrialNotDesigned,
    /// No trial weight is both detected and within the highest vibration.
    NoTrialWeight {
        /// The least that would be detected, in g mm; not a number where none would.
        least: f64,
        /// The largest that is allowed, in g mm.
        largest: f64,
        /// How many readings, averaged, make the largest detectable; 0 where no reasonable number does.
        averaged: u32,
    },
    /// A channel is above the highest vibration that it may have, even in a trial run.
    AboveHighest {
        /// The channel.
        channel: usize,
        /// What it read.
        amplitude: f64,
        /// The limit.
        limit: f64,
        /// Where the limit comes from.
        source: String,
    },
    /// The weight is as large as it must be to be seen, and never brings a channel above its highest vibration.
    TrialDesigned {
        /// Its unbalance, in g mm.
        amount: f64,
        /// The least that is detected, in g mm.
        least: f64,
        /// The largest that is allowed, in g mm.
        largest: f64,
    },
    /// A correction is expected to help.
    Gain {
        /// The root mean square of the channels now, each over its limit where it has one.
        now: f64,
        /// What is to be expected after it.
        expected: f64,
    },
    /// No weights that can be placed leave less than there is now.
    NoGain {
        /// The root mean square of the channels now, each over its limit where it has one.
        now: f64,
        /// The least that can be placed leaves.
        best: f64,
    },
    /// Weights are in places where they cannot stay.
    Temporary,
    /// Something that makes the runs less trusted.
    Caution(Caution),
    /// An answer cannot be computed.
    NotComputed {
        /// Why not.
        words: String,
    },
}

impl Reason {
    /// The stable number, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::job::Reason::NothingRead.code(), 4);
    /// ```
    pub const fn code(&self) -> i32 {
        match self {
            Self::NotChecked { .. } => 1,
            Self::NotInOrder { .. } => 2,
            Self::AboveStaticLimit { .. } => 3,
            Self::NothingRead => 4,
            Self::MountedSince => 5,
            Self::ScatterUnknown { .. } => 6,
            Self::NotRead { .. } => 7,
            Self::Undecided { .. } => 8,
            Self::AboveLimit { .. } => 9,
            Self::NoLimit { .. } => 10,
            Self::WithinLimit { .. } => 11,
            Self::Mistake { .. } => 12,
            Self::PlaneNotTried { .. } => 13,
            Self::NotDetected { .. } => 14,
            Self::Unsure { .. } => 15,
            Self::TrialNotDesigned => 16,
            Self::NoTrialWeight { .. } => 17,
            Self::AboveHighest { .. } => 18,
            Self::TrialDesigned { .. } => 19,
            Self::Gain { .. } => 20,
            Self::NoGain { .. } => 21,
            Self::Temporary => 22,
            Self::Caution(_) => 23,
            Self::NotComputed { .. } => 24,
        }
    }
}

impl fmt::Display for Reason {
    /// One sentence, for a person.
    #[allow(clippy::too_many_lines)] // one text after the other
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotChecked { what } => write!(f, "{what} was not checked yet"),
            Self::NotInOrder { what, remark } if remark.is_empty() => write!(f, "{what} is not in order"),
            Self::NotInOrder { what, remark } => write!(f, "{what} is not in order: {remark}"),
            Self::AboveStaticLimit { channel, amplitude, limit, source } => write!(
                f,
                "channel {channel} reads {amplitude:.3}, above {limit:.3} ({source}): static balancing comes first"
            ),
            Self::NothingRead => f.write_str("nothing was read yet of the machine as it is now"),
            Self::MountedSince => f.write_str("something was put on or taken off since the last run"),
            Self::ScatterUnknown { channel } => write!(
                f,
                "how the readings of channel {channel} scatter is not known: repeats of one run show it"
            ),
            Self::NotRead { channel } => {
                write!(f, "channel {channel} was not read with what is mounted now")
            }
            Self::Undecided { channel, amplitude, uncertainty, limit } if uncertainty.is_nan() => write!(
                f,
                "channel {channel} reads {amplitude:.3} beside a limit of {limit:.3}, and how far that may be off is not known"
            ),
            Self::Undecided { channel, amplitude, uncertainty, limit } => write!(
                f,
                "channel {channel} reads {amplitude:.3}, unsure by {uncertainty:.3}: that does not decide about a limit of \
                 {limit:.3}"
            ),
            Self::AboveLimit { channel, amplitude, limit, source } => {
                write!(f, "channel {channel} reads {amplitude:.3}, above {limit:.3} ({source})")
            }
            Self::NoLimit { channel } => {
                write!(f, "no limit of channel {channel} is stated that would say when it is done")
            }
            Self::WithinLimit { channel, amplitude, uncertainty, limit, source } if uncertainty.is_nan() => write!(
                f,
                "channel {channel} reads {amplitude:.3}, below {limit:.3} ({source}); how far that may be off is not known"
            ),
            Self::WithinLimit { channel, amplitude, uncertainty, limit, source } => write!(
                f,
                "channel {channel} reads {amplitude:.3}, unsure by {uncertainty:.3}, within {limit:.3} ({source})"
            ),
            Self::Mistake { words } => f.write_str(words),
            Self::PlaneNotTried { plane } => {
                write!(f, "how the machine answers a weight in plane {plane} is not known")
            }
            Self::NotDetected { channel, plane, distance_squared } => write!(
                f,
                "channel {channel} hardly answered the weights in plane {plane} (squared distance {distance_squared:.1}, clear \
                 from 100)"
            ),
            Self::Unsure { now, expected } => write!(
                f,
                "the coefficients are so unsure that {expected:.3} is to be expected after a correction, and it is {now:.3} now"
            ),
            Self::TrialNotDesigned => f.write_str(
                "how large a trial weight may be is not known: state the expected response and the highest vibration of a channel"
            ),
            Self::NoTrialWeight { least, largest, averaged } => {
                write!(f, "no trial weight is both seen")?;
                if least.is_finite() {
                    write!(f, " (from {least:.0} g mm)")?;
                }
                write!(f, " and allowed (to {largest:.0} g mm)")?;
                if *averaged > 0 {
                    write!(f, ": average {averaged} readings before and after")?;
                }
                Ok(())
            }
            Self::AboveHighest { channel, amplitude, limit, source } => write!(
                f,
                "channel {channel} reads {amplitude:.3}, above the highest it may have, {limit:.3} ({source}): no trial weight \
                 can be chosen"
            ),
            Self::TrialDesigned { amount, least, largest } => write!(
                f,
                "{amount:.0} g mm is clearly seen (from {least:.0}) and keeps every channel below its highest vibration (to \
                 {largest:.0})"
            ),
            Self::Gain { now, expected } => {
                write!(f, "{expected:.3} is to be expected after it, and it is {now:.3} now")
            }
            Self::NoGain { now, best } => {
                write!(f, "the best that can be placed leaves {best:.3}, and it is {now:.3} now")
            }
            Self::Temporary => f.write_str("weights are in places where they cannot stay"),
            Self::Caution(caution) => fmt::Display::fmt(caution, f),
            Self::NotComputed { words } => f.write_str(words),
        }
    }
}
