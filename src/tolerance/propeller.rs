//! Limits for a propeller on its engine, once per turn at the speed really flown. The propeller and engine makers' approved
//! data come first; what stands here is what one falls back on to judge a reading, and none of it says that an aircraft may
//! fly.

use crate::conformity::Conformity;
use crate::provenance::{Limit, Provenance};
use crate::unit::Speed;
use crate::vibration_unit::{Detector, VibrationScale, VibrationUnit};

/// Amplitudes that a propeller's vibration is judged by, all in in/s with a detector that the caller says.
///
/// ```
/// use counterpoise::tolerance::{PropellerLimits, PropellerVibration};
/// use counterpoise::{Detector, Limit, Speed, VibrationScale, VibrationUnit};
/// let limits = PropellerLimits::USUAL.with_most(Limit::of_caller(0.15));
/// let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
/// let found = limits.judge(0.45, unit, Speed::from_rpm(2350.0)?);
/// assert_eq!(found, PropellerVibration::Balance);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PropellerLimits {
    detector: Detector,
    good: Limit<f64>,
    most: Limit<f64>,
    static_first: Limit<f64>,
}

/// What the amplitude of a propeller's vibration asks for.
///
/// ```
/// use counterpoise::tolerance::PropellerVibration;
/// assert_eq!(PropellerVibration::Good.code(), 1);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[non_exhaustive]
pub enum PropellerVibration {
    /// At or below what is called a good result: nothing to do.
    Good,
    /// Below the most that is permitted, and above a good result: balancing would better it.
    Permitted,
    /// Above what is permitted: balance.
    Balance,
    /// So large that static balancing, and a look at the machine, come first.
    StaticFirst,
}

impl PropellerVibration {
    /// The stable number, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::tolerance::PropellerVibration::StaticFirst.code(), 4);
    /// ```
    pub const fn code(self) -> i32 {
        match self {
            Self::Good => 1,
            Self::Permitted => 2,
            Self::Balance => 3,
            Self::StaticFirst => 4,
        }
    }
}

impl PropellerLimits {
    /// 0.1 in/s and below is a good result, and above about 1 in/s static balancing comes first (common practice, no source);
    /// a propeller maker's owner's manuals permit or recommend 0.2 in/s, and leave peak or r.m.s. unsaid: here it is peak, as
    /// is common practice. A maker's own limit goes before it: see [`with_most`](Self::with_most).
    ///
    /// ```
    /// use counterpoise::{ProvenanceKind, tolerance::PropellerLimits};
    /// assert_eq!(PropellerLimits::USUAL.most().value, 0.2);
    /// assert_eq!(PropellerLimits::USUAL.most().provenance.kind(), ProvenanceKind::Read);
    /// assert_eq!(PropellerLimits::USUAL.good().provenance.kind(), ProvenanceKind::CommonPractice);
    /// ```
    pub const USUAL: Self = Self {
        detector: Detector::Peak,
        good: Limit::new(0.1, Provenance::COMMON_PRACTICE),
        most: Limit::new(
            0.2,
            Provenance::read(
                "Hartzell Propeller, owner's manuals, chapter 61-00, dynamic balance; an example",
            ),
        ),
        static_first: Limit::new(1.0, Provenance::COMMON_PRACTICE),
    };

    /// The same with the most that is permitted, in in/s: the maker's limit.
    ///
    /// ```
    /// use counterpoise::{Limit, tolerance::PropellerLimits};
    /// assert_eq!(PropellerLimits::USUAL.with_most(Limit::of_caller(0.15)).most().value, 0.15);
    /// ```
    #[must_use]
    pub const fn with_most(self, most: Limit<f64>) -> Self {
        Self { most, ..self }
    }

    /// The same with another amplitude that is called a good result, in in/s.
    ///
    /// ```
    /// use counterpoise::{Limit, tolerance::PropellerLimits};
    /// assert_eq!(PropellerLimits::USUAL.with_good(Limit::of_caller(0.07)).good().value, 0.07);
    /// ```
    #[must_use]
    pub const fn with_good(self, good: Limit<f64>) -> Self {
        Self { good, ..self }
    }

    /// The same with another amplitude above which static balancing comes first, in in/s.
    ///
    /// ```
    /// use counterpoise::{Limit, tolerance::PropellerLimits};
    /// assert_eq!(PropellerLimits::USUAL.with_static_first(Limit::of_caller(0.8)).static_first().value, 0.8);
    /// ```
    #[must_use]
    pub const fn with_static_first(self, static_first: Limit<f64>) -> Self {
        Self { static_first, ..self }
    }

    /// The same for limits that are meant in another detector.
    ///
    /// ```
    /// use counterpoise::{Detector, tolerance::PropellerLimits};
    /// assert_eq!(PropellerLimits::USUAL.in_detector(Detector::Rms).detector(), Detector::Rms);
    /// ```
    #[must_use]
    pub const fn in_detector(self, detector: Detector) -> Self {
        Self { detector, ..self }
    }

    /// The detector of the limits.
    ///
    /// ```
    /// # use counterpoise::{Detector, tolerance::PropellerLimits};
    /// assert_eq!(PropellerLimits::USUAL.detector(), Detector::Peak);
    /// ```
    pub const fn detector(&self) -> Detector {
        self.detector
    }

    /// What is called a good result, in in/s.
    ///
    /// ```
    /// assert_eq!(counterpoise::tolerance::PropellerLimits::USUAL.good().value, 0.1);
    /// ```
    pub const fn good(&self) -> Limit<f64> {
        self.good
    }

    /// The most that is permitted, in in/s.
    ///
    /// ```
    /// assert_eq!(counterpoise::tolerance::PropellerLimits::USUAL.most().value, 0.2);
    /// ```
    pub const fn most(&self) -> Limit<f64> {
        self.most
    }

    /// Above it static balancing comes first, in in/s.
    ///
    /// ```
    /// assert_eq!(counterpoise::tolerance::PropellerLimits::USUAL.static_first().value, 1.0);
    /// ```
    pub const fn static_first(&self) -> Limit<f64> {
        self.static_first
    }

    /// An amplitude in a unit, read at a speed, in the limits' own: in/s.
    fn inches_per_second(&self, amplitude: f64, unit: VibrationUnit, speed: Speed) -> f64 {
        unit.convert_size(amplitude, VibrationUnit::new(VibrationScale::InchPerSecond, self.detector), speed)
    }

    /// What an amplitude asks for. What is not a number, or is below zero, asks for the most. What is above the most that is
    /// permitted is not good either, whatever else is called so.
    ///
    /// ```
    /// use counterpoise::tolerance::{PropellerLimits, PropellerVibration};
    /// use counterpoise::{Detector, Speed, VibrationScale, VibrationUnit};
    /// // 5.08 mm/s peak are 0.2 in/s peak.
    /// let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Peak);
    /// let judged = PropellerLimits::USUAL.judge(5.0, unit, Speed::from_rpm(2400.0)?);
    /// assert_eq!(judged, PropellerVibration::Permitted);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn judge(&self, amplitude: f64, unit: VibrationUnit, speed: Speed) -> PropellerVibration {
        let value = self.inches_per_second(amplitude, unit, speed);
        if value <= self.most.value {
            if value <= self.good.value { PropellerVibration::Good } else { PropellerVibration::Permitted }
        } else if value <= self.static_first.value {
            PropellerVibration::Balance
        } else {
            PropellerVibration::StaticFirst
        }
    }

    /// The verdict on an amplitude with an expanded uncertainty, both in a unit, against the most that is permitted.
    ///
    /// ```
    /// use counterpoise::tolerance::PropellerLimits;
    /// use counterpoise::{Conformity, Detector, Speed, VibrationScale, VibrationUnit};
    /// let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// let verdict = PropellerLimits::USUAL.conformity(0.19, 0.02, unit, Speed::from_rpm(2400.0)?);
    /// assert_eq!(verdict, Conformity::Undecided);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn conformity(
        &self,
        amplitude: f64,
        expanded_uncertainty: f64,
        unit: VibrationUnit,
        speed: Speed,
    ) -> Conformity {
        let [value, expanded] =
            [amplitude, expanded_uncertainty].map(|value| self.inches_per_second(value, unit, speed));
        Conformity::of(value, expanded, self.most.value)
    }
}
