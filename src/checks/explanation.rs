//! What may be wrong with a job: the competing explanations of its runs.

use core::fmt;

use super::examination::Item;
use crate::unit::MassUnit;
use crate::vibration_unit::{Detector, VibrationScale};

/// One explanation of the runs: that nothing is wrong, or one small mistake. Runs, channels and planes are counted from
/// 0 in the order in which they were given.
///
/// ```
/// use counterpoise::checks::{Explanation, WhatToLookAt};
/// let slip = Explanation::MarkMoved { run: 3, turn_degrees: -25.0 };
/// assert_eq!(slip.to_string(), "from run 3 on the mark or its pickup was moved: phases are stated 25.0 deg too small");
/// assert_eq!(slip.what_to_look_at(), WhatToLookAt::MarkAndPickup);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Explanation {
    /// The runs are as they were stated.
    NoMistake,
    /// The item sits at the angle that is the stated one counted the other way from the mark.
    WeightMirrored {
        /// The item, as long as it was on.
        item: Item,
    },
    /// The item sits half a turn from where it was stated.
    WeightHalfTurn {
        /// The item, as long as it was on.
        item: Item,
    },
    /// The item sits some holes from where it was stated.
    WeightOffByHoles {
        /// The item, as long as it was on.
        item: Item,
        /// How many holes it really sits further on, in the order of their numbers; negative the other way.
        holes: i8,
    },
    /// The item was stated to be off, and stayed on to the last run.
    WeightLeftOn {
        /// The item.
        item: Item,
        /// The first run in which it was stated to be off.
        run: usize,
    },
    /// The item was stated to be on, and never was.
    WeightNotMounted {
        /// The item.
        item: Item,
    },
    /// The number stated for the mass of the item is in another unit.
    MassUnit {
        /// The item.
        item: Item,
        /// The unit it is really in.
        unit: MassUnit,
    },
    /// All items that were first mounted in the run sit in the other plane of the pair, as long as they were on.
    PlanesExchanged {
        /// The run.
        run: usize,
        /// The two planes.
        planes: [usize; 2],
    },
    /// The readings of two sensors were exchanged in one run.
    ChannelsExchanged {
        /// The run.
        run: usize,
        /// The two channels; of sensors with several channels, the first ones.
        channels: [usize; 2],
    },
    /// The mark or its pickup was moved before the run, so that all phases from there on are turned alike.
    MarkMoved {
        /// The first run with turned phases.
        run: usize,
        /// What was added to the phases, fitted, in (-180, 180], as the first channel counts its phases: stated less
        /// true.
        turn_degrees: f64,
    },
    /// The run was taken at another speed than stated.
    OtherSpeed {
        /// The run.
        run: usize,
        /// The speed it was taken at, fitted, for the first channel that was read in it. Other channels are off by the
        /// same ratio.
        rpm: f64,
    },
    /// All readings of the run were taken with another detector than stated.
    DetectorSlip {
        /// The run.
        run: usize,
        /// The detector that was used.
        detector: Detector,
    },
    /// All readings of the run were taken on another scale than stated.
    UnitSlip {
        /// The run.
        run: usize,
        /// The scale that was used.
        scale: VibrationScale,
    },
    /// One reading has nothing to do with the others.
    Outlier {
        /// The run.
        run: usize,
        /// The channel.
        channel: usize,
    },
    /// All angles on the rotor run the other way; or all phases do, which is the same to the runs, and gives the same
    /// correction on the scale on which the weights were stated.
    SenseWrong,
}

/// The kind of an explanation, without its run, item or parameter. All kinds are equally probable beforehand.
///
/// ```
/// use counterpoise::checks::{Explanation, ExplanationKind};
/// assert_eq!(Explanation::Outlier { run: 2, channel: 0 }.kind(), ExplanationKind::Outlier);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[non_exhaustive]
pub enum ExplanationKind {
    /// [`Explanation::NoMistake`]
    NoMistake,
    /// [`Explanation::WeightMirrored`]
    WeightMirrored,
    /// [`Explanation::WeightHalfTurn`]
    WeightHalfTurn,
    /// [`Explanation::WeightOffByHoles`]
    WeightOffByHoles,
    /// [`Explanation::WeightLeftOn`]
    WeightLeftOn,
    /// [`Explanation::WeightNotMounted`]
    WeightNotMounted,
    /// [`Explanation::MassUnit`]
    MassUnit,
    /// [`Explanation::PlanesExchanged`]
    PlanesExchanged,
    /// [`Explanation::ChannelsExchanged`]
    ChannelsExchanged,
    /// [`Explanation::MarkMoved`]
    MarkMoved,
    /// [`Explanation::OtherSpeed`]
    OtherSpeed,
    /// [`Explanation::DetectorSlip`]
    DetectorSlip,
    /// [`Explanation::UnitSlip`]
    UnitSlip,
    /// [`Explanation::Outlier`]
    Outlier,
    /// [`Explanation::SenseWrong`]
    SenseWrong,
}

impl ExplanationKind {
    /// The stable number, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::checks::ExplanationKind::NoMistake.code(), 1);
    /// ```
    pub const fn code(self) -> i32 {
        match self {
            Self::NoMistake => 1,
            Self::WeightMirrored => 2,
            Self::WeightHalfTurn => 3,
            Self::WeightOffByHoles => 4,
            Self::WeightLeftOn => 5,
            Self::WeightNotMounted => 6,
            Self::MassUnit => 7,
            Self::PlanesExchanged => 8,
            Self::ChannelsExchanged => 9,
            Self::MarkMoved => 10,
            Self::OtherSpeed => 11,
            Self::DetectorSlip => 12,
            Self::UnitSlip => 13,
            Self::Outlier => 14,
            Self::SenseWrong => 15,
        }
    }
}

impl Explanation {
    /// The kind of the explanation.
    ///
    /// ```
    /// use counterpoise::checks::{Explanation, ExplanationKind};
    /// assert_eq!(Explanation::SenseWrong.kind(), ExplanationKind::SenseWrong);
    /// ```
    pub const fn kind(&self) -> ExplanationKind {
        match self {
            Self::NoMistake => ExplanationKind::NoMistake,
            Self::WeightMirrored { .. } => ExplanationKind::WeightMirrored,
            Self::WeightHalfTurn { .. } => ExplanationKind::WeightHalfTurn,
            Self::WeightOffByHoles { .. } => ExplanationKind::WeightOffByHoles,
            Self::WeightLeftOn { .. } => ExplanationKind::WeightLeftOn,
            Self::WeightNotMounted { .. } => ExplanationKind::WeightNotMounted,
            Self::MassUnit { .. } => ExplanationKind::MassUnit,
            Self::PlanesExchanged { .. } => ExplanationKind::PlanesExchanged,
            Self::ChannelsExchanged { .. } => ExplanationKind::ChannelsExchanged,
            Self::MarkMoved { .. } => ExplanationKind::MarkMoved,
            Self::OtherSpeed { .. } => ExplanationKind::OtherSpeed,
            Self::DetectorSlip { .. } => ExplanationKind::DetectorSlip,
            Self::UnitSlip { .. } => ExplanationKind::UnitSlip,
            Self::Outlier { .. } => ExplanationKind::Outlier,
            Self::SenseWrong => ExplanationKind::SenseWrong,
        }
    }

    /// What to look at on the machine before the explanation is believed.
    ///
    /// ```
    /// use counterpoise::checks::{Explanation, WhatToLookAt};
    /// let look = Explanation::ChannelsExchanged { run: 2, channels: [0, 1] }.what_to_look_at();
    /// assert_eq!(look, WhatToLookAt::Cables { channels: [0, 1] });
    /// ```
    pub const fn what_to_look_at(&self) -> WhatToLookAt {
        match *self {
            Self::NoMistake => WhatToLookAt::Nothing,
            Self::WeightMirrored { item }
            | Self::WeightHalfTurn { item }
            | Self::WeightOffByHoles { item, .. } => WhatToLookAt::PlaceOf { item },
            Self::WeightLeftOn { item, .. } => WhatToLookAt::RemovedPiece { item },
            Self::WeightNotMounted { item } => WhatToLookAt::PresenceOf { item },
            Self::MassUnit { item, .. } => WhatToLookAt::MassOf { item },
            Self::PlanesExchanged { planes, .. } => WhatToLookAt::Planes { planes },
            Self::ChannelsExchanged { channels, .. } => WhatToLookAt::Cables { channels },
            Self::MarkMoved { .. } => WhatToLookAt::MarkAndPickup,
            Self::OtherSpeed { run, .. } => WhatToLookAt::SpeedOf { run },
            Self::DetectorSlip { run, .. } => WhatToLookAt::DetectorOf { run },
            Self::UnitSlip { run, .. } => WhatToLookAt::UnitOf { run },
            Self::Outlier { run, channel } => WhatToLookAt::ReadingOf { run, channel },
            Self::SenseWrong => WhatToLookAt::SenseOfAngles,
        }
    }
}

impl fmt::Display for Explanation {
    /// One statement, for a person.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoMistake => f.write_str("the runs are as they were stated"),
            Self::WeightMirrored { item } => {
                write!(f, "{item} sits at the mirrored angle: counted the other way from the mark")
            }
            Self::WeightHalfTurn { item } => write!(f, "{item} sits half a turn from where it was stated"),
            Self::WeightOffByHoles { item, holes } => {
                let (count, way) = (holes.unsigned_abs(), if *holes < 0 { "back" } else { "on" });
                let plural = if count == 1 { "" } else { "s" };
                write!(
                    f,
                    "{item} sits {count} hole{plural} further {way} than stated, in the order of their numbers"
                )
            }
            Self::WeightLeftOn { item, run } => {
                write!(f, "{item} was left on the rotor from run {run} on, where it was stated to be off")
            }
            Self::WeightNotMounted { item } => write!(f, "{item} was never on the rotor"),
            Self::MassUnit { item, unit } => {
                write!(f, "the number stated for the mass of {item} is in {}", unit.symbol())
            }
            Self::PlanesExchanged { run, planes: [one, other] } => {
                write!(
                    f,
                    "what was first mounted in run {run} sits in the other one of planes {one} and {other}"
                )
            }
            Self::ChannelsExchanged { run, channels: [one, other] } => {
                write!(f, "the readings of channels {one} and {other} were exchanged in run {run}")
            }
            Self::MarkMoved { run, turn_degrees } => {
                let way = if *turn_degrees < 0.0 { "small" } else { "large" };
                let size = turn_degrees.abs();
                write!(
                    f,
                    "from run {run} on the mark or its pickup was moved: phases are stated {size:.1} deg too {way}"
                )
            }
            Self::OtherSpeed { run, rpm } => write!(f, "run {run} was taken at {rpm:.0} rpm"),
            Self::DetectorSlip { run, detector } => {
                write!(f, "the amplitudes of run {run} were read as {}", detector.words())
            }
            Self::UnitSlip { run, scale } => {
                write!(f, "the amplitudes of run {run} are in {}", scale.symbol())
            }
            Self::Outlier { run, channel } => {
                write!(f, "the reading of channel {channel} in run {run} does not belong to the others")
            }
            Self::SenseWrong => {
                f.write_str("the angles on the rotor, or all phases, are counted the other way than stated")
            }
        }
    }
}

/// What to look at on the machine, or in the notes, to settle an explanation.
///
/// ```
/// use counterpoise::checks::WhatToLookAt;
/// assert_eq!(
///     WhatToLookAt::MarkAndPickup.to_string(),
///     "look whether the mark, its tape or the pickup has moved, and which edge of the mark triggers",
/// );
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum WhatToLookAt {
    /// Nothing is suspected.
    Nothing,
    /// In which hole a piece sits.
    PlaceOf {
        /// The piece.
        item: Item,
    },
    /// Whether a piece that was to be taken off is still there.
    RemovedPiece {
        /// The piece.
        item: Item,
    },
    /// Whether a piece is or was on the rotor at all.
    PresenceOf {
        /// The piece.
        item: Item,
    },
    /// How heavy a piece is.
    MassOf {
        /// The piece.
        item: Item,
    },
    /// In which plane the pieces sit.
    Planes {
        /// The two planes.
        planes: [usize; 2],
    },
    /// Which sensor is on which input.
    Cables {
        /// The two channels.
        channels: [usize; 2],
    },
    /// The mark on the rotor and its pickup.
    MarkAndPickup,
    /// The speed of a run.
    SpeedOf {
        /// The run.
        run: usize,
    },
    /// The detector the instrument was set to.
    DetectorOf {
        /// The run.
        run: usize,
    },
    /// The unit the instrument was set to.
    UnitOf {
        /// The run.
        run: usize,
    },
    /// One reading.
    ReadingOf {
        /// The run.
        run: usize,
        /// The channel.
        channel: usize,
    },
    /// Which way the rotor turns and the angles are counted.
    SenseOfAngles,
}

impl WhatToLookAt {
    /// The stable number, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::checks::WhatToLookAt::Nothing.code(), 1);
    /// ```
    pub const fn code(self) -> i32 {
        match self {
            Self::Nothing => 1,
            Self::PlaceOf { .. } => 2,
            Self::RemovedPiece { .. } => 3,
            Self::PresenceOf { .. } => 4,
            Self::MassOf { .. } => 5,
            Self::Planes { .. } => 6,
            Self::Cables { .. } => 7,
            Self::MarkAndPickup => 8,
            Self::SpeedOf { .. } => 9,
            Self::DetectorOf { .. } => 10,
            Self::UnitOf { .. } => 11,
            Self::ReadingOf { .. } => 12,
            Self::SenseOfAngles => 13,
        }
    }
}

impl fmt::Display for WhatToLookAt {
    /// One request, for a person. Common practice, no source.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Nothing => f.write_str("nothing is suspected"),
            Self::PlaceOf { item } => write!(f, "look in which hole {item} sits, counted from the mark the stated way"),
            Self::RemovedPiece { item } => write!(f, "look whether {item} is still on the rotor"),
            Self::PresenceOf { item } => write!(f, "look whether {item} is on the rotor, or lies in the tool box"),
            Self::MassOf { item } => write!(f, "weigh {item} again, and look at the unit of the scale"),
            Self::Planes { planes: [one, other] } => {
                write!(f, "look in which of planes {one} and {other} the pieces sit")
            }
            Self::Cables { channels: [one, other] } => {
                write!(f, "trace the cables of channels {one} and {other} from sensor to instrument")
            }
            Self::MarkAndPickup => f.write_str(
                "look whether the mark, its tape or the pickup has moved, and which edge of the mark triggers",
            ),
            Self::SpeedOf { run } => write!(f, "look at the speed recorded with run {run}, or take the run again"),
            Self::DetectorOf { run } => {
                write!(f, "look at the detector setting of run {run}: peak, peak-to-peak or RMS")
            }
            Self::UnitOf { run } => write!(f, "look at the unit setting of run {run}"),
            Self::ReadingOf { run, channel } => write!(
                f,
                "look at the sensor, mounting and cable of channel {channel}, and take the state of run {run} again"
            ),
            Self::SenseOfAngles => f.write_str(
                "look which way the rotor turns, which way the holes are numbered, and how the instrument counts phase",
            ),
        }
    }
}
