//! All facts together: what hinders balancing, what makes it doubtful, what is not known.

use core::fmt;

use super::blades::{BladeAngles, BladeTrack};
use crate::conformity::Conformity;
use crate::error::ReadinessError;
use crate::provenance::{Limit, Provenance};
use crate::synchronous::{GearRatio, SpeedSlope, beside_once_per_turn};
use crate::tolerance::{PropellerLimits, PropellerVibration};
use crate::unit::{Length, Speed};
use crate::vibration_unit::{Detector, VibrationScale, VibrationUnit};

/// The vibration as found, once per turn.
///
/// ```
/// use counterpoise::readiness::FoundVibration;
/// use counterpoise::{Detector, Speed, VibrationScale, VibrationUnit};
/// let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
/// let found = FoundVibration { amplitude: 0.45, unit, speed: Speed::from_rpm(2350.0)? };
/// assert_eq!(found.amplitude, 0.45);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FoundVibration {
    /// The amplitude.
    pub amplitude: f64,
    /// Its unit.
    pub unit: VibrationUnit,
    /// The speed at which it was read.
    pub speed: Speed,
}

impl FoundVibration {
    /// As it was read, and in the unit of what it is compared with where that is another.
    fn write_in(&self, unit: VibrationUnit, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.2} {}", self.amplitude, self.unit)?;
        if self.unit == unit {
            return Ok(());
        }
        write!(f, " ({:.2} {unit})", self.unit.convert_size(self.amplitude, unit, self.speed))
    }
}

/// How rough the engine runs: the strongest half order of its crank against once per turn of the propeller, both in velocity,
/// or both in whatever they were read in.
///
/// ```
/// use counterpoise::readiness::Roughness;
/// let rough = Roughness { half_order: 0.5, half_order_over_once_per_turn: 1.4 };
/// assert!(rough.half_order_over_once_per_turn > Roughness::COMMON_PRACTICE.value);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Roughness {
    /// The order, in turns of the crank: 0.5, 1.5, ...
    pub half_order: f64,
    /// Its amplitude over that of once per turn.
    pub half_order_over_once_per_turn: f64,
}

impl Roughness {
    /// From so much on an engine is called rough: common practice, no source.
    ///
    /// ```
    /// assert_eq!(counterpoise::readiness::Roughness::COMMON_PRACTICE.value, 1.0);
    /// ```
    pub const COMMON_PRACTICE: Limit<f64> = Limit::new(1.0, Provenance::COMMON_PRACTICE);
}

/// The static speed that the engine reached, against the range that its maker gives.
///
/// ```
/// use counterpoise::{Speed, readiness::RatedSpeed};
/// let rpm = Speed::from_rpm;
/// let reached = RatedSpeed::new(rpm(2180.0)?, rpm(2250.0)?, rpm(2400.0)?)?;
/// assert!(!reached.is_within());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RatedSpeed {
    reached: Speed,
    lowest: Speed,
    highest: Speed,
}

impl RatedSpeed {
    /// What was reached, and from where to where it should lie.
    ///
    /// # Errors
    /// [`ReadinessError::SpeedRange`].
    ///
    /// ```
    /// use counterpoise::{Speed, readiness::RatedSpeed};
    /// let rpm = Speed::from_rpm;
    /// assert_eq!(RatedSpeed::new(rpm(2300.0)?, rpm(2400.0)?, rpm(2250.0)?).unwrap_err().code(), 1454);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn new(reached: Speed, lowest: Speed, highest: Speed) -> Result<Self, ReadinessError> {
        if lowest.rpm() <= highest.rpm() {
            Ok(Self { reached, lowest, highest })
        } else {
            Err(ReadinessError::SpeedRange { lowest_rpm: lowest.rpm(), highest_rpm: highest.rpm() })
        }
    }

    /// Whether it lies there.
    ///
    /// ```
    /// use counterpoise::{Speed, readiness::RatedSpeed};
    /// let rpm = Speed::from_rpm;
    /// assert!(RatedSpeed::new(rpm(2300.0)?, rpm(2250.0)?, rpm(2400.0)?)?.is_within());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn is_within(&self) -> bool {
        (self.lowest.rpm()..=self.highest.rpm()).contains(&self.reached.rpm())
    }
}

/// A speed that matters, and how much of the time the machine runs at it.
///
/// ```
/// use counterpoise::{Speed, readiness::SpeedInUse};
/// let cruise = SpeedInUse { speed: Speed::from_rpm(2350.0)?, share: 0.8 };
/// assert_eq!(cruise.share, 0.8);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpeedInUse {
    /// The speed.
    pub speed: Speed,
    /// Its share of the time, or any other weight: 0 or more.
    pub share: f64,
}

/// At which speed to balance, where several matter.
///
/// ```
/// use counterpoise::readiness::BalancingSpeed;
/// assert_eq!(BalancingSpeed::AllWithWeights.code(), 2);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum BalancingSpeed {
    /// At this one: the machine runs at it most of the time.
    At {
        /// The speed.
        speed: Speed,
        /// Its share of all.
        share: f64,
    },
    /// At all, each a channel with its share as weight: none has most of the time.
    AllWithWeights,
}

impl BalancingSpeed {
    /// A speed that has this share of the time, or more, is balanced at alone: common practice, no source.
    ///
    /// ```
    /// assert_eq!(counterpoise::readiness::BalancingSpeed::ALONE_FROM, 0.7);
    /// ```
    pub const ALONE_FROM: f64 = 0.7;

    /// The stable number, the same in Rust and in C.
    ///
    /// ```
    /// use counterpoise::readiness::BalancingSpeed;
    /// assert_eq!(BalancingSpeed::AllWithWeights.code(), 2);
    /// ```
    pub const fn code(&self) -> i32 {
        match self {
            Self::At { .. } => 1,
            Self::AllWithWeights => 2,
        }
    }

    /// What the speeds in use advise; `None` where there are none.
    ///
    /// # Errors
    /// [`ReadinessError::BadNumber`] where a share is negative or not finite, or all are 0.
    ///
    /// ```
    /// use counterpoise::{Speed, readiness::{BalancingSpeed, SpeedInUse}};
    /// let uses = [(2350.0, 8.0), (2550.0, 1.0), (2000.0, 1.0)].map(|(rpm, share)| {
    ///     Speed::from_rpm(rpm).map(|speed| SpeedInUse { speed, share })
    /// });
    /// let uses = uses.into_iter().collect::<Result<Vec<_>, _>>()?;
    /// let advised = BalancingSpeed::advised(&uses)?.ok_or("three speeds")?;
    /// assert_eq!(advised, BalancingSpeed::At { speed: uses[0].speed, share: 0.8 });
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn advised(uses: &[SpeedInUse]) -> Result<Option<Self>, ReadinessError> {
        let mut all = 0.0;
        for one in uses {
            if !(one.share >= 0.0 && one.share <= 1e100) {
                let (what, wanted) = ("the share of a speed", "0 or more");
                return Err(ReadinessError::BadNumber { what, value: one.share, wanted });
            }
            all += one.share;
        }
        if uses.is_empty() {
            return Ok(None);
        }
        if all <= 0.0 {
            let (what, wanted) = ("the sum of all shares", "positive");
            return Err(ReadinessError::BadNumber { what, value: all, wanted });
        }
        let most = uses.iter().max_by(|one, other| one.share.total_cmp(&other.share));
        Ok(most.map(|most| {
            let share = most.share / all;
            if share >= Self::ALONE_FROM {
                Self::At { speed: most.speed, share }
            } else {
                Self::AllWithWeights
            }
        }))
    }
}

/// What is known of a propeller on its engine before it is balanced. What is not stated is not known, and is said to be so;
/// a figure that is no figure, such as an amplitude below zero, is not known either.
///
/// ```
/// use counterpoise::readiness::{Facts, Finding};
/// // Nothing is known yet: that is what is found.
/// let facts = Facts::default();
/// assert!(facts.findings().all(|finding| matches!(finding, Finding::NotKnown { .. })));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Facts {
    statically_balanced: Option<bool>,
    track: Option<(BladeTrack, Limit<Length>, Length)>,
    angles: Option<(BladeAngles, Limit<f64>, f64)>,
    roughness: Option<(Roughness, Limit<f64>)>,
    gear: Option<(GearRatio, f64)>,
    rated_speed: Option<RatedSpeed>,
    found: Option<(FoundVibration, PropellerLimits)>,
    phase_turn: Option<(f64, Limit<f64>)>,
}

impl Facts {
    /// The same with whether it was balanced statically.
    ///
    /// ```
    /// use counterpoise::readiness::{Facts, Finding};
    /// let facts = Facts::default().with_static_balance(false);
    /// assert_eq!(facts.findings().next(), Some(Finding::NotStaticallyBalanced));
    /// ```
    #[must_use]
    pub const fn with_static_balance(self, balanced: bool) -> Self {
        Self { statically_balanced: Some(balanced), ..self }
    }

    /// The same with the blade track, the limit it is judged by, and the expanded uncertainty of the spread.
    ///
    /// ```
    /// use counterpoise::readiness::{BladeTrack, Facts};
    /// use counterpoise::{Length, Limit};
    /// let mm = Length::from_millimetres;
    /// let track = BladeTrack::of(&[mm(0.0)?, mm(0.6)?, mm(4.0)?])?;
    /// let facts = Facts::default().with_track(track, Limit::of_caller(mm(3.0)?), mm(0.5)?);
    /// assert_eq!(facts.findings().next().map(|finding| finding.code()), Some(2));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub const fn with_track(
        self,
        track: BladeTrack,
        limit: Limit<Length>,
        expanded_uncertainty: Length,
    ) -> Self {
        Self { track: Some((track, limit, expanded_uncertainty)), ..self }
    }

    /// The same with the blade angles, the limit they are judged by and the expanded uncertainty of the spread, both in
    /// degrees.
    ///
    /// ```
    /// use counterpoise::readiness::{BladeAngles, Facts};
    /// let angles = BladeAngles::of_degrees(&[18.0, 18.0, 18.6])?;
    /// let facts = Facts::default().with_angles(angles, BladeAngles::COMMON_PRACTICE_DEGREES, 0.1);
    /// assert_eq!(facts.findings().next().map(|finding| finding.code()), Some(3));
    /// # Ok::<(), counterpoise::ReadinessError>(())
    /// ```
    #[must_use]
    pub const fn with_angles(
        self,
        angles: BladeAngles,
        limit_degrees: Limit<f64>,
        expanded_uncertainty_degrees: f64,
    ) -> Self {
        Self { angles: Some((angles, limit_degrees, expanded_uncertainty_degrees)), ..self }
    }

    /// The same with how rough the engine runs, and from how much on that is called rough.
    ///
    /// ```
    /// use counterpoise::readiness::{Facts, Roughness};
    /// let rough = Roughness { half_order: 0.5, half_order_over_once_per_turn: 1.4 };
    /// let facts = Facts::default().with_roughness(rough, Roughness::COMMON_PRACTICE);
    /// assert_eq!(facts.findings().next().map(|finding| finding.code()), Some(4));
    /// ```
    #[must_use]
    pub const fn with_roughness(self, roughness: Roughness, limit: Limit<f64>) -> Self {
        Self { roughness: Some((roughness, limit)), ..self }
    }

    /// The same with the gear between crank and propeller, and how many turns of the propeller a record has.
    ///
    /// ```
    /// use counterpoise::readiness::Facts;
    /// use counterpoise::synchronous::GearRatio;
    /// let facts = Facts::default().with_gear(GearRatio::new(2, 1)?, 400.0);
    /// assert_eq!(facts.findings().next().map(|finding| finding.code()), Some(5));
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    #[must_use]
    pub const fn with_gear(self, gear: GearRatio, turns: f64) -> Self {
        Self { gear: Some((gear, turns)), ..self }
    }

    /// The same with the static speed that was reached.
    ///
    /// ```
    /// use counterpoise::{Speed, readiness::{Facts, RatedSpeed}};
    /// let rpm = Speed::from_rpm;
    /// let reached = RatedSpeed::new(rpm(2180.0)?, rpm(2250.0)?, rpm(2400.0)?)?;
    /// let facts = Facts::default().with_rated_speed(reached);
    /// assert_eq!(facts.findings().next().map(|finding| finding.code()), Some(6));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub const fn with_rated_speed(self, reached: RatedSpeed) -> Self {
        Self { rated_speed: Some(reached), ..self }
    }

    /// The same with the vibration as found, and the limits it is judged by.
    ///
    /// ```
    /// use counterpoise::readiness::{Facts, FoundVibration};
    /// use counterpoise::tolerance::PropellerLimits;
    /// use counterpoise::{Detector, Speed, VibrationScale, VibrationUnit};
    /// let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// let found = FoundVibration { amplitude: 1.3, unit, speed: Speed::from_rpm(2350.0)? };
    /// let facts = Facts::default().with_vibration(found, PropellerLimits::USUAL);
    /// assert_eq!(facts.findings().next().map(|finding| finding.code()), Some(7));
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    #[must_use]
    pub const fn with_vibration(self, found: FoundVibration, limits: PropellerLimits) -> Self {
        Self { found: Some((found, limits)), ..self }
    }

    /// The same with by how many degrees the phase turns for one percent of speed, and from how many on a resonance is
    /// called near.
    ///
    /// ```
    /// use counterpoise::readiness::{Facts, Finding};
    /// let facts = Facts::default().with_phase_turn(6.5, Finding::RESONANCE_NEAR_FROM);
    /// assert_eq!(facts.findings().next().map(|finding| finding.code()), Some(9));
    /// ```
    #[must_use]
    pub const fn with_phase_turn(self, lag_degrees_per_percent: f64, limit: Limit<f64>) -> Self {
        Self { phase_turn: Some((lag_degrees_per_percent, limit)), ..self }
    }
}

/// What is asked of the facts.
///
/// ```
/// assert_eq!(counterpoise::readiness::Question::Track.code(), 2);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[non_exhaustive]
pub enum Question {
    /// Is it balanced statically?
    StaticBalance,
    /// Do the blades track?
    Track,
    /// Are the blades set alike?
    Angles,
    /// Does the engine run evenly?
    Roughness,
    /// Does an order of the crank fall beside once per turn of the propeller?
    Orders,
    /// Does the engine reach its static speed?
    RatedSpeed,
    /// How large is the vibration?
    Vibration,
    /// Is a resonance near?
    Resonance,
}

impl Question {
    /// The stable number, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::readiness::Question::StaticBalance.code(), 1);
    /// ```
    pub const fn code(self) -> i32 {
        match self {
            Self::StaticBalance => 1,
            Self::Track => 2,
            Self::Angles => 3,
            Self::Roughness => 4,
            Self::Orders => 5,
            Self::RatedSpeed => 6,
            Self::Vibration => 7,
            Self::Resonance => 8,
        }
    }
}

/// One thing that the facts say, with its figure and where its limit comes from. Texts count blades from 1, as people do.
///
/// None of them says that a machine may be run or flown: approved data and licensed personnel do.
///
/// ```
/// use counterpoise::readiness::{Concern, Finding};
/// let finding = Finding::NotStaticallyBalanced;
/// assert_eq!(finding.concern(), Concern::Hinders);
/// assert_eq!(finding.to_string(), "it is not balanced statically: do that first");
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Finding {
    /// It is not balanced statically.
    NotStaticallyBalanced,
    /// The blades do not track, or it is not sure that they do.
    Track {
        /// The spread of the tips.
        spread: Length,
        /// The blade that stands out, counted from 0.
        blade: usize,
        /// The limit.
        limit: Limit<Length>,
        /// Outside, or undecided.
        verdict: Conformity,
    },
    /// The blades are not set alike, or it is not sure that they are.
    Angles {
        /// The spread in degrees.
        spread_degrees: f64,
        /// The blade that stands out, counted from 0.
        blade: usize,
        /// The limit in degrees.
        limit: Limit<f64>,
        /// Outside, or undecided.
        verdict: Conformity,
    },
    /// The engine runs rough: a misfire is not an unbalance.
    EngineRough {
        /// The half order, in turns of the crank.
        half_order: f64,
        /// Its amplitude over that of once per turn.
        over_once_per_turn: f64,
        /// The limit of that.
        limit: Limit<f64>,
    },
    /// An order of the crank falls beside once per turn of the propeller.
    OrderBesideOncePerTurn {
        /// The order, in turns of the crank.
        half_order: f64,
        /// How often it comes per turn of the propeller.
        per_turn: f64,
    },
    /// The engine does not reach its static speed, or passes it.
    StaticSpeedOutside {
        /// What it reached.
        reached: Speed,
        /// From where.
        lowest: Speed,
        /// To where it should.
        highest: Speed,
    },
    /// The vibration is so large that static balancing comes first.
    TooMuchVibration {
        /// As found.
        found: FoundVibration,
        /// The limit, in in/s.
        limit: Limit<f64>,
        /// The detector of the limit.
        detector: Detector,
    },
    /// The vibration is a good result as it is: nothing to do.
    NothingToDo {
        /// As found.
        found: FoundVibration,
        /// What is called a good result, in in/s.
        limit: Limit<f64>,
        /// The detector of the limit.
        detector: Detector,
    },
    /// A resonance is near the speed.
    ResonanceNear {
        /// By how many degrees the phase turns for one percent of speed.
        lag_degrees_per_percent: f64,
        /// From how many on it is called near.
        limit: Limit<f64>,
    },
    /// A question to which no fact is known.
    NotKnown {
        /// The question.
        question: Question,
    },
}

/// How much a finding weighs.
///
/// ```
/// use counterpoise::readiness::Concern;
/// assert!(Concern::Hinders < Concern::Unknown);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[non_exhaustive]
pub enum Concern {
    /// It is to be put right before anything is balanced.
    Hinders,
    /// Balancing may go on, with care.
    Caution,
    /// It is not known.
    Unknown,
}

impl Concern {
    /// The stable number, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::readiness::Concern::Caution.code(), 2);
    /// ```
    pub const fn code(self) -> i32 {
        match self {
            Self::Hinders => 1,
            Self::Caution => 2,
            Self::Unknown => 3,
        }
    }
}

impl Finding {
    /// From so many degrees per percent of speed on a resonance is called near: common practice, no source.
    ///
    /// ```
    /// assert_eq!(counterpoise::readiness::Finding::RESONANCE_NEAR_FROM.value, 3.0);
    /// ```
    pub const RESONANCE_NEAR_FROM: Limit<f64> =
        Limit::new(SpeedSlope::STEEP_DEGREES_PER_PERCENT, Provenance::COMMON_PRACTICE);

    /// The stable number, the same in Rust and in C.
    ///
    /// ```
    /// use counterpoise::readiness::Finding;
    /// assert_eq!(Finding::NotStaticallyBalanced.code(), 1);
    /// ```
    pub const fn code(&self) -> i32 {
        match self {
            Self::NotStaticallyBalanced => 1,
            Self::Track { .. } => 2,
            Self::Angles { .. } => 3,
            Self::EngineRough { .. } => 4,
            Self::OrderBesideOncePerTurn { .. } => 5,
            Self::StaticSpeedOutside { .. } => 6,
            Self::TooMuchVibration { .. } => 7,
            Self::NothingToDo { .. } => 8,
            Self::ResonanceNear { .. } => 9,
            Self::NotKnown { .. } => 10,
        }
    }

    /// How much it weighs.
    ///
    /// ```
    /// use counterpoise::readiness::{Concern, Finding, Question};
    /// assert_eq!(Finding::NotKnown { question: Question::Track }.concern(), Concern::Unknown);
    /// ```
    pub const fn concern(&self) -> Concern {
        match self {
            Self::Track { verdict: Conformity::Undecided, .. }
            | Self::Angles { verdict: Conformity::Undecided, .. }
            | Self::OrderBesideOncePerTurn { .. }
            | Self::NothingToDo { .. }
            | Self::ResonanceNear { .. } => Concern::Caution,
            Self::NotKnown { .. } => Concern::Unknown,
            _ => Concern::Hinders,
        }
    }
}

impl Facts {
    /// What the facts say, what hinders first and what is not known last.
    ///
    /// ```
    /// use counterpoise::readiness::{BladeTrack, Concern, Facts, Finding};
    /// use counterpoise::Length;
    /// let mm = Length::from_millimetres;
    /// let track = BladeTrack::of(&[mm(0.0)?, mm(0.5)?, mm(4.5)?])?;
    /// let facts = Facts::default().with_track(track, BladeTrack::WOOD, mm(0.3)?);
    /// let first = facts.findings().next().ok_or("the blades do not track")?;
    /// assert!(matches!(first, Finding::Track { blade: 2, .. }));
    /// assert_eq!(first.concern(), Concern::Hinders);
    /// println!("{first}");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn findings(&self) -> impl Iterator<Item = Finding> + use<> {
        let found = self.each();
        [Concern::Hinders, Concern::Caution, Concern::Unknown].into_iter().flat_map(move |concern| {
            found.into_iter().flatten().filter(move |finding| finding.concern() == concern)
        })
    }

    fn each(&self) -> [Option<Finding>; 8] {
        use Question::{Angles, Orders, RatedSpeed, Resonance, StaticBalance, Track, Vibration};
        // A figure that is no figure is not known. An engine without once per turn has an infinite ratio, and is rough.
        let roughness = self.roughness.filter(|(rough, _)| rough.half_order_over_once_per_turn >= 0.0);
        let gear = self.gear.filter(|(_, turns)| *turns > 0.0 && turns.is_finite());
        let found = self.found.filter(|(found, _)| found.amplitude >= 0.0);
        let phase_turn =
            self.phase_turn.filter(|(lag_degrees_per_percent, _)| !lag_degrees_per_percent.is_nan());
        let answers = [
            (StaticBalance, self.statically_balanced.map(of_static_balance)),
            (Track, self.track.map(of_track)),
            (Angles, self.angles.map(of_angles)),
            (Question::Roughness, roughness.map(of_roughness)),
            (Orders, gear.map(of_orders)),
            (RatedSpeed, self.rated_speed.map(of_rated_speed)),
            (Vibration, found.map(of_vibration)),
            (Resonance, phase_turn.map(of_phase_turn)),
        ];
        answers.map(|(question, answer)| answer.unwrap_or(Some(Finding::NotKnown { question })))
    }
}

// Each says what a fact asks for: a finding, or none where all is well.

fn of_static_balance(balanced: bool) -> Option<Finding> {
    (!balanced).then_some(Finding::NotStaticallyBalanced)
}

fn of_track((track, limit, uncertainty): (BladeTrack, Limit<Length>, Length)) -> Option<Finding> {
    let verdict = track.conformity(limit.value, uncertainty);
    let (spread, blade) = (track.spread(), track.standing_out());
    (verdict != Conformity::Within).then_some(Finding::Track { spread, blade, limit, verdict })
}

fn of_angles((angles, limit, uncertainty): (BladeAngles, Limit<f64>, f64)) -> Option<Finding> {
    let verdict = angles.conformity(limit.value, uncertainty);
    let (spread_degrees, blade) = (angles.spread_degrees(), angles.standing_out());
    (verdict != Conformity::Within).then_some(Finding::Angles { spread_degrees, blade, limit, verdict })
}

fn of_roughness((roughness, limit): (Roughness, Limit<f64>)) -> Option<Finding> {
    let Roughness { half_order, half_order_over_once_per_turn: over_once_per_turn } = roughness;
    let smooth = over_once_per_turn <= limit.value;
    (!smooth).then_some(Finding::EngineRough { half_order, over_once_per_turn, limit })
}

fn of_orders((gear, turns): (GearRatio, f64)) -> Option<Finding> {
    beside_once_per_turn(gear, turns).next().map(|half_order| {
        let per_turn = half_order * gear.value();
        Finding::OrderBesideOncePerTurn { half_order, per_turn }
    })
}

fn of_rated_speed(speed: RatedSpeed) -> Option<Finding> {
    let RatedSpeed { reached, lowest, highest } = speed;
    (!speed.is_within()).then_some(Finding::StaticSpeedOutside { reached, lowest, highest })
}

fn of_vibration((found, limits): (FoundVibration, PropellerLimits)) -> Option<Finding> {
    let detector = limits.detector();
    match limits.judge(found.amplitude, found.unit, found.speed) {
        PropellerVibration::StaticFirst => {
            Some(Finding::TooMuchVibration { found, limit: limits.static_first(), detector })
        }
        PropellerVibration::Good => Some(Finding::NothingToDo { found, limit: limits.good(), detector }),
        _ => None,
    }
}

fn of_phase_turn((lag_degrees_per_percent, limit): (f64, Limit<f64>)) -> Option<Finding> {
    let far = lag_degrees_per_percent.abs() < limit.value;
    (!far).then_some(Finding::ResonanceNear { lag_degrees_per_percent, limit })
}

impl fmt::Display for Question {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::StaticBalance => "whether it is balanced statically",
            Self::Track => "whether the blades track",
            Self::Angles => "whether the blades are set alike",
            Self::Roughness => "whether the engine runs evenly",
            Self::Orders => "whether an order of the crank falls beside once per turn",
            Self::RatedSpeed => "whether the engine reaches its static speed",
            Self::Vibration => "how large the vibration is",
            Self::Resonance => "whether a resonance is near",
        })
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotStaticallyBalanced => f.write_str("it is not balanced statically: do that first"),
            Self::Track { spread, blade, limit, verdict: Conformity::Undecided } => write!(
                f,
                "the blade tips spread over {spread:.2}, blade {} most; the limit of {:.2} ({}) lies inside the uncertainty: measure \
                 more closely",
                blade + 1,
                limit.value,
                limit.provenance
            ),
            Self::Track { spread, blade, limit, .. } => write!(
                f,
                "the blade tips spread over {spread:.2}, blade {} most, above the limit of {:.2} ({}): put the track right first",
                blade + 1,
                limit.value,
                limit.provenance
            ),
            Self::Angles { spread_degrees, blade, limit, verdict: Conformity::Undecided } => write!(
                f,
                "the blade angles spread over {spread_degrees:.2} deg, blade {} most; the limit of {:.2} deg ({}) lies inside the \
                 uncertainty: measure more closely",
                blade + 1,
                limit.value,
                limit.provenance
            ),
            Self::Angles { spread_degrees, blade, limit, .. } => write!(
                f,
                "the blade angles spread over {spread_degrees:.2} deg, blade {} most, above the limit of {:.2} deg ({}): set them \
                 alike first",
                blade + 1,
                limit.value,
                limit.provenance
            ),
            Self::EngineRough { half_order, over_once_per_turn, limit } => write!(
                f,
                "order {half_order:.1} of the crank is {over_once_per_turn:.2} times as strong as once per turn, above {:.2} ({}): \
                 a misfire is not an unbalance, look at the engine first",
                limit.value, limit.provenance
            ),
            Self::OrderBesideOncePerTurn { half_order, per_turn } => write!(
                f,
                "order {half_order:.1} of the crank comes {per_turn:.3} times per turn of the propeller, too near to once to be \
                 told apart: record for longer, or expect it to come and go"
            ),
            Self::StaticSpeedOutside { reached, lowest, highest } => write!(
                f,
                "the engine reached {reached:.1}, and should reach {lowest:.1} to {highest:.1}: find out why first"
            ),
            Self::TooMuchVibration { found, limit, detector } => {
                let unit = VibrationUnit::new(VibrationScale::InchPerSecond, *detector);
                found.write_in(unit, f)?;
                write!(
                    f,
                    " is above {:.2} {unit} ({}): balance statically first, and look for damage",
                    limit.value, limit.provenance
                )
            }
            Self::NothingToDo { found, limit, detector } => {
                let unit = VibrationUnit::new(VibrationScale::InchPerSecond, *detector);
                found.write_in(unit, f)?;
                write!(
                    f,
                    " is a good result already, at or below {:.2} {unit} ({}): more may do no good",
                    limit.value, limit.provenance
                )
            }
            Self::ResonanceNear { lag_degrees_per_percent, limit } => write!(
                f,
                "the phase turns by {lag_degrees_per_percent:.1} deg per percent of speed, {:.1} or more ({}): hold the speed \
                 closely, or choose another",
                limit.value, limit.provenance
            ),
            Self::NotKnown { question } => write!(f, "not known: {question}"),
        }
    }
}
