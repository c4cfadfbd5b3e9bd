//! Why a step is advised, with the figures.

use alloc::format;
use alloc::string::String;
use alloc::vec::Vec;
use core::fmt;

use super::machine::Machine;
use super::names::Names;
use crate::caution::Caution;

/// Why a step is advised. Channels, planes and entries are counted from 0.
///
/// ```
/// use counterpoise::job::Reason;
/// let reason = Reason::NotChecked { what: "blade track".into() };
/// assert_eq!(reason.to_string(), "blade track: not checked yet");
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
        /// What the cross-examination found.
        verdict: String,
        /// What explains them equally well, and what to look at; empty where one does, or none.
        explanations: Vec<String>,
        /// A run that would decide between them.
        next_run: Option<String>,
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
        /// The root mean square of the channels now, or their share of the limits.
        now: f64,
        /// What is to be expected after the correction.
        expected: f64,
        /// Whether the two are shares of the limits, which every channel has then.
        of_limits: bool,
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
    /// No pieces that fit into the holes of a plane make a trial weight.
    NoPiecesForTrial {
        /// The plane.
        plane: usize,
        /// The least that is detected, in g mm.
        least: f64,
        /// The largest that is allowed, in g mm.
        largest: f64,
    },
    /// The weights would be heavier than all balance weights may be.
    AboveMassLimit {
        /// The mass of everything that would be on, in g.
        grams: f64,
        /// The limit, in g.
        limit: f64,
        /// Where the limit comes from.
        source: String,
    },
    /// A correction is expected to help.
    Gain {
        /// The root mean square of the channels now, or their share of the limits.
        now: f64,
        /// What is to be expected after it.
        expected: f64,
        /// Whether the two are shares of the limits, which every channel has then.
        of_limits: bool,
    },
    /// No weights that can be placed leave less than there is now.
    NoGain {
        /// The root mean square of the channels now, or their share of the limits.
        now: f64,
        /// The least that can be placed leaves.
        best: f64,
        /// Whether the two are shares of the limits, which every channel has then.
        of_limits: bool,
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
            Self::NoPiecesForTrial { .. } => 25,
            Self::AboveMassLimit { .. } => 26,
        }
    }
}

impl Reason {
    /// One sentence for a person, with the machine's names and units.
    ///
    /// ```
    /// use counterpoise::job::Reason;
    #[doc = example_machine!()]
    /// let reason = Reason::ScatterUnknown { channel: 0 };
    /// assert_eq!(
    ///     reason.words(&machine),
    ///     "how the readings of sensor 1 at 2350 rpm scatter is not known: repeats of one run show it",
    /// );
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn words(&self, machine: &Machine) -> String {
        let mut words = String::new();
        // Writing into a string does not fail.
        let _ = self.tell(&mut words, &Names(Some(machine)));
        words
    }

    #[allow(clippy::too_many_lines)] // one text after the other
    fn tell(&self, f: &mut dyn fmt::Write, names: &Names<'_>) -> fmt::Result {
        let of = |channel: usize, amplitude: f64| names.amplitude(channel, amplitude);
        match self {
            Self::NotChecked { what } => write!(f, "{what}: not checked yet"),
            Self::NotInOrder { what, remark } if remark.is_empty() => write!(f, "{what}: not in order"),
            Self::NotInOrder { what, remark } => write!(f, "{what}: not in order, {remark}"),
            &Self::AboveStaticLimit { channel, amplitude, limit, ref source } => write!(
                f,
                "{} reads {}, above {} ({source}): static balancing comes first",
                names.channel(channel),
                of(channel, amplitude),
                of(channel, limit)
            ),
            Self::NothingRead => f.write_str("nothing was read yet of the machine as it is now"),
            Self::MountedSince => f.write_str("something was put on or taken off since the last run"),
            &Self::ScatterUnknown { channel } => write!(
                f,
                "how the readings of {} scatter is not known: repeats of one run show it",
                names.channel(channel)
            ),
            &Self::NotRead { channel } => {
                write!(f, "{} was not read with what is mounted now", names.channel(channel))
            }
            &Self::Undecided { channel, amplitude, uncertainty, limit } => write!(
                f,
                "{} reads {}{}: that does not decide about a limit of {}",
                names.channel(channel),
                of(channel, amplitude),
                unsure(uncertainty, &of(channel, uncertainty)),
                of(channel, limit)
            ),
            &Self::AboveLimit { channel, amplitude, limit, ref source } => write!(
                f,
                "{} reads {}, above {} ({source})",
                names.channel(channel),
                of(channel, amplitude),
                of(channel, limit)
            ),
            &Self::NoLimit { channel } => {
                write!(f, "no limit of {} is stated that would say when it is done", names.channel(channel))
            }
            &Self::WithinLimit { channel, amplitude, uncertainty, limit, ref source } => write!(
                f,
                "{} reads {}{}, within {} ({source})",
                names.channel(channel),
                of(channel, amplitude),
                unsure(uncertainty, &of(channel, uncertainty)),
                of(channel, limit)
            ),
            Self::Mistake { verdict, explanations, next_run } => {
                f.write_str(verdict)?;
                for explanation in explanations {
                    write!(f, "; or {explanation}")?;
                }
                next_run.iter().try_for_each(|run| write!(f, "; a run that decides: {run}"))
            }
            Self::NotComputed { words } => f.write_str(words),
            &Self::PlaneNotTried { plane } => {
                write!(f, "how the machine answers a weight in {} is not known", names.plane(plane))
            }
            &Self::NotDetected { channel, plane, distance_squared } => write!(
                f,
                "{} hardly answered the weights in {} (squared distance {distance_squared:.1}, clear from 100)",
                names.channel(channel),
                names.plane(plane)
            ),
            &Self::Unsure { now, expected, of_limits } => write!(
                f,
                "the coefficients are so unsure that {} is to be expected after a correction, and it is {} now",
                size(expected, of_limits),
                size(now, of_limits)
            ),
            Self::TrialNotDesigned => f.write_str(
                "how large a trial weight may be is not known: state the expected response and the highest vibration of a channel",
            ),
            Self::NoTrialWeight { least, largest, averaged } => {
                f.write_str("no trial weight is both seen")?;
                if least.is_finite() {
                    write!(f, " (from {least:.0} g mm)")?;
                }
                write!(f, " and allowed (to {largest:.0} g mm)")?;
                if *averaged > 0 {
                    write!(f, ": average {averaged} readings before and after")?;
                }
                Ok(())
            }
            &Self::AboveHighest { channel, amplitude, limit, ref source } => write!(
                f,
                "{} reads {}, above the highest it may have, {} ({source}): no trial weight can be chosen",
                names.channel(channel),
                of(channel, amplitude),
                of(channel, limit)
            ),
            Self::TrialDesigned { amount, least, largest } => write!(
                f,
                "{amount:.0} g mm is clearly seen (from {least:.0}) and keeps every channel below its highest vibration (to \
                 {largest:.0})"
            ),
            &Self::NoPiecesForTrial { plane, least, largest } => write!(
                f,
                "no pieces that fit into the holes of {} make a trial weight of {least:.0} to {largest:.0} g mm",
                names.plane(plane)
            ),
            Self::AboveMassLimit { grams, limit, source } => write!(
                f,
                "{grams:.1} g would be on in all, and {limit:.1} g is the most ({source})"
            ),
            &Self::Gain { now, expected, of_limits } => write!(
                f,
                "{} is to be expected after it, and it is {} now",
                size(expected, of_limits),
                size(now, of_limits)
            ),
            &Self::NoGain { now, best, of_limits } => write!(
                f,
                "the best that can be placed leaves {}, and it is {} now",
                size(best, of_limits),
                size(now, of_limits)
            ),
            Self::Temporary => f.write_str("weights are in places where they cannot stay"),
            Self::Caution(caution) => write!(f, "{caution}"),
        }
    }
}

/// A root mean square over the channels.
fn size(value: f64, of_limits: bool) -> String {
    if of_limits { format!("{:.0} % of the limit", 100.0 * value) } else { format!("{value:.3}") }
}

fn unsure(uncertainty: f64, words: &str) -> String {
    if uncertainty.is_finite() {
        format!(", unsure by {words}")
    } else {
        ", unsure by what is not known".into()
    }
}

impl fmt::Display for Reason {
    /// One sentence, for a person. Channels and planes are numbered; [`words`](Self::words) names them.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.tell(f, &Names(None))
    }
}
