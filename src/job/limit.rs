//! What a machine's vibration is held against, and what is known of its response before any run.

use alloc::string::String;

use crate::scatter::{ProportionalDrift, Scatter};
use crate::vector::Vibration;

/// What a limit of the vibration is for.
///
/// ```
/// use counterpoise::job::LimitPurpose;
/// assert_eq!(LimitPurpose::Done.code(), 1);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "snake_case"))]
#[non_exhaustive]
pub enum LimitPurpose {
    /// Within it the job is done.
    Done,
    /// Never to be exceeded, not even in a trial run.
    Highest,
    /// Above it the rotor is balanced statically first.
    StaticFirst,
}

impl LimitPurpose {
    /// The stable number, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::job::LimitPurpose::StaticFirst.code(), 3);
    /// ```
    pub const fn code(self) -> i32 {
        match self {
            Self::Done => 1,
            Self::Highest => 2,
            Self::StaticFirst => 3,
        }
    }
}

/// A limit of the vibration of a channel, and where it comes from.
///
/// ```
/// use counterpoise::job::{LimitPurpose, VibrationLimit};
/// let limit = VibrationLimit::new(0, LimitPurpose::Done, 0.2, "the propeller maker's manual");
/// assert_eq!(limit.amplitude, 0.2);
/// ```
#[derive(Debug, Clone, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(deny_unknown_fields))]
pub struct VibrationLimit {
    /// The machine's channel, counted from 0.
    pub channel: usize,
    /// What the limit is for.
    pub purpose: LimitPurpose,
    /// The amplitude, in the channel's unit and detector.
    #[cfg_attr(feature = "serde", serde(serialize_with = "crate::unit::finite"))]
    pub amplitude: f64,
    /// Where it comes from, in the caller's words.
    pub source: String,
}

impl VibrationLimit {
    /// A limit with its source.
    ///
    /// ```
    /// # use counterpoise::job::{LimitPurpose, VibrationLimit};
    /// let limit = VibrationLimit::new(0, LimitPurpose::Highest, 1.2, "common practice, no source");
    /// assert_eq!(limit.channel, 0);
    /// ```
    pub fn new(channel: usize, purpose: LimitPurpose, amplitude: f64, source: impl Into<String>) -> Self {
        Self { channel, purpose, amplitude, source: source.into() }
    }
}

/// How much a channel is expected to answer an unbalance, before any run: what a first trial weight is designed from.
///
/// ```
/// use counterpoise::job::ExpectedResponse;
/// let expected = ExpectedResponse::new(0, 5e-5, 5e-4, "sister ships").in_plane(1);
/// assert_eq!((expected.lowest_per_gram_millimetre, expected.plane), (5e-5, Some(1)));
/// ```
#[derive(Debug, Clone, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(deny_unknown_fields))]
pub struct ExpectedResponse {
    /// The machine's channel, counted from 0.
    pub channel: usize,
    /// The plane, counted from 0; `None` for every plane of which nothing else is said.
    #[cfg_attr(feature = "serde", serde(default, skip_serializing_if = "Option::is_none"))]
    pub plane: Option<usize>,
    /// The least size of the influence coefficient: the channel's unit per g mm.
    #[cfg_attr(feature = "serde", serde(serialize_with = "crate::unit::finite"))]
    pub lowest_per_gram_millimetre: f64,
    /// The largest.
    #[cfg_attr(feature = "serde", serde(serialize_with = "crate::unit::finite"))]
    pub highest_per_gram_millimetre: f64,
    /// Where the figures come from, in the caller's words.
    pub source: String,
}

impl ExpectedResponse {
    /// Bounds of the size of the coefficients of all planes, in the channel's unit per g mm, with their source.
    ///
    /// ```
    /// # use counterpoise::job::ExpectedResponse;
    /// assert_eq!(ExpectedResponse::new(1, 5e-5, 5e-4, "sister ships").plane, None);
    /// ```
    pub fn new(channel: usize, lowest: f64, highest: f64, source: impl Into<String>) -> Self {
        Self {
            channel,
            plane: None,
            lowest_per_gram_millimetre: lowest,
            highest_per_gram_millimetre: highest,
            source: source.into(),
        }
    }

    /// The same bounds for one plane.
    ///
    /// ```
    /// # use counterpoise::job::ExpectedResponse;
    /// assert_eq!(ExpectedResponse::new(1, 5e-5, 5e-4, "sister ships").in_plane(0).plane, Some(0));
    /// ```
    #[must_use]
    pub fn in_plane(self, plane: usize) -> Self {
        Self { plane: Some(plane), ..self }
    }
}

/// How far a channel reads otherwise from one visit to the next with nothing changed, beyond what repeats of one run show:
/// warmth, wind, a propeller that settles.
///
/// ```
/// use counterpoise::job::VisitDrift;
/// let drift = VisitDrift::new(0, 0.01, "earlier jobs").with_share(0.03);
/// assert_eq!((drift.standard_deviation, drift.share), (0.01, 0.03));
/// ```
#[derive(Debug, Clone, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(deny_unknown_fields))]
pub struct VisitDrift {
    /// The machine's channel, counted from 0.
    pub channel: usize,
    /// The standard deviation of each component, in the channel's unit, as far as it is the same whatever is read.
    pub standard_deviation: f64,
    /// The part that grows with what is read: the standard deviation of each component as a share of the amplitude.
    #[cfg_attr(feature = "serde", serde(default))]
    pub share: f64,
    /// Where the figures come from, in the caller's words.
    pub source: String,
}

impl VisitDrift {
    /// A drift that is the same whatever is read, with its source.
    ///
    /// ```
    /// # use counterpoise::job::VisitDrift;
    /// assert_eq!(VisitDrift::new(0, 0.01, "earlier jobs").share, 0.0);
    /// ```
    pub fn new(channel: usize, standard_deviation: f64, source: impl Into<String>) -> Self {
        Self { channel, standard_deviation, share: 0.0, source: source.into() }
    }

    /// The same with a part that grows with what is read.
    ///
    /// ```
    /// # use counterpoise::job::VisitDrift;
    /// assert_eq!(VisitDrift::new(0, 0.01, "earlier jobs").with_share(0.03).share, 0.03);
    /// ```
    #[must_use]
    pub fn with_share(self, share: f64) -> Self {
        Self { share, ..self }
    }

    /// The scatter that it adds to a run in which this is read.
    pub(super) fn scatter_of(&self, vibration: Vibration) -> Option<Scatter> {
        let same = Scatter::known(self.standard_deviation).ok();
        let growing = ProportionalDrift::new(self.share).ok().and_then(|drift| drift.scatter_of(vibration));
        match (same, growing) {
            (Some(same), Some(growing)) => Some(same.plus(&growing)),
            (same, growing) => same.or(growing),
        }
    }
}

/// Whether the weights of a ring stay there.
///
/// ```
/// use counterpoise::job::RingPurpose;
/// assert_eq!(RingPurpose::Temporary.code(), 2);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "snake_case"))]
#[non_exhaustive]
pub enum RingPurpose {
    /// What is put there may stay.
    #[default]
    Permanent,
    /// For the job only: at its end what is there moves to a permanent ring.
    Temporary,
}

impl RingPurpose {
    /// The stable number, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::job::RingPurpose::Permanent.code(), 1);
    /// ```
    pub const fn code(self) -> i32 {
        match self {
            Self::Permanent => 1,
            Self::Temporary => 2,
        }
    }
}

/// What a ring of holes is called, and whether weights stay there.
///
/// ```
/// use counterpoise::job::{RingPurpose, RingUse};
/// let spinner = RingUse::new("spinner screws", RingPurpose::Temporary);
/// assert_eq!(spinner.purpose, RingPurpose::Temporary);
/// ```
#[derive(Debug, Clone, PartialEq, Eq, Default)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(deny_unknown_fields))]
pub struct RingUse {
    /// What it is called; empty where nothing was said.
    pub name: String,
    /// Whether weights stay there.
    pub purpose: RingPurpose,
}

impl RingUse {
    /// A name and a purpose.
    ///
    /// ```
    /// # use counterpoise::job::{RingPurpose, RingUse};
    /// assert_eq!(RingUse::new("bulkhead", RingPurpose::Permanent).name, "bulkhead");
    /// ```
    pub fn new(name: impl Into<String>, purpose: RingPurpose) -> Self {
        Self { name: name.into(), purpose }
    }
}
