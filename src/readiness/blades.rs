//! Blades against one another: their track, and the angles at which they are set. What differs from blade to blade shakes
//! a propeller once per turn as an unbalance does, and no weight mends it.

use crate::conformity::Conformity;
use crate::error::ReadinessError;
use crate::provenance::{Limit, Provenance};
use crate::unit::Length;

const MOST_BLADES: usize = 6;

/// One value a blade.
#[derive(Debug, Clone, Copy, PartialEq)]
struct PerBlade {
    values: [f64; MOST_BLADES],
    blades: usize,
}

impl PerBlade {
    fn of(given: impl ExactSizeIterator<Item = f64>) -> Result<Self, ReadinessError> {
        let blades = given.len();
        if !(2..=MOST_BLADES).contains(&blades) {
            return Err(ReadinessError::Blades { blades });
        }
        let mut values = [0.0; MOST_BLADES];
        for (blade, (place, value)) in values.iter_mut().zip(given).enumerate() {
            if !(value.is_finite() && value.abs() <= 1e100) {
                return Err(ReadinessError::BladeValue { blade, value });
            }
            *place = value;
        }
        Ok(Self { values, blades })
    }

    fn values(&self) -> &[f64] {
        self.values.get(..self.blades).unwrap_or(&[])
    }

    fn spread(&self) -> f64 {
        let highest = self.values().iter().fold(f64::NEG_INFINITY, |most, &value| most.max(value));
        let lowest = self.values().iter().fold(f64::INFINITY, |least, &value| least.min(value));
        highest - lowest
    }

    fn apart_from_mean(&self, blade: usize) -> Option<f64> {
        #[allow(clippy::cast_precision_loss)] // at most six
        let mean = self.values().iter().map(|value| value / self.blades as f64).sum::<f64>();
        self.values().get(blade).map(|value| value - mean)
    }

    /// The blade farthest from the mean of the others, which is also the farthest from the mean of all; of several the first.
    fn standing_out(&self) -> usize {
        let apart = |blade: usize| self.apart_from_mean(blade).map_or(0.0, f64::abs);
        (1..self.blades).fold(0, |out, blade| if apart(blade) > apart(out) { blade } else { out })
    }
}

/// Where the tip of each blade passes a fixed point: how far forward or aft of any mark, all from the same.
///
/// ```
/// use counterpoise::readiness::BladeTrack;
/// use counterpoise::{Conformity, Length};
/// let mm = Length::from_millimetres;
/// let track = BladeTrack::of(&[mm(10.2)?, mm(10.0)?, mm(12.1)?])?;
/// assert!((track.spread().millimetres() - 2.1).abs() < 1e-12);
/// assert_eq!(track.standing_out(), 2);
/// // 1/16 in for metal blades up to 6 ft, measured to half a millimetre.
/// let verdict = track.conformity(BladeTrack::METAL_TO_SIX_FEET.value, mm(0.5)?);
/// assert_eq!(verdict, Conformity::Outside);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BladeTrack {
    blades: PerBlade,
}

impl BladeTrack {
    /// What a metal propeller up to 6 ft across may spread: 1/16 in. The propeller maker's limit goes before it.
    ///
    /// ```
    /// assert_eq!(counterpoise::readiness::BladeTrack::METAL_TO_SIX_FEET.value.millimetres(), 1.5875);
    /// ```
    pub const METAL_TO_SIX_FEET: Limit<Length> = Limit::new(
        Length::canonical(1.5875),
        Provenance::read("aircraft maintenance licence notes, module 17, blade tracking: metal, up to 6 ft"),
    );

    /// What a wooden propeller may spread: 1/8 in. The propeller maker's limit goes before it.
    ///
    /// ```
    /// assert_eq!(counterpoise::readiness::BladeTrack::WOOD.value.millimetres(), 3.175);
    /// ```
    pub const WOOD: Limit<Length> = Limit::new(
        Length::canonical(3.175),
        Provenance::read("aircraft maintenance licence notes, module 17, blade tracking: wood"),
    );

    /// About what any may spread where nothing better is known: 1/8 in.
    ///
    /// ```
    /// use counterpoise::{ProvenanceKind, readiness::BladeTrack};
    /// assert_eq!(BladeTrack::COMMON_PRACTICE.provenance.kind(), ProvenanceKind::CommonPractice);
    /// ```
    pub const COMMON_PRACTICE: Limit<Length> =
        Limit::new(Length::canonical(3.175), Provenance::COMMON_PRACTICE);

    /// The track of 2 to 6 blades, in the order of their numbers.
    ///
    /// # Errors
    /// [`ReadinessError::Blades`]; [`ReadinessError::BladeValue`].
    ///
    /// ```
    /// use counterpoise::{Length, readiness::BladeTrack};
    /// assert_eq!(BladeTrack::of(&[Length::ZERO]).unwrap_err().code(), 1451);
    /// ```
    pub fn of(offsets: &[Length]) -> Result<Self, ReadinessError> {
        Ok(Self { blades: PerBlade::of(offsets.iter().map(|offset| offset.millimetres()))? })
    }

    /// From the blade farthest forward to the one farthest aft.
    ///
    /// ```
    /// # use counterpoise::{Length, readiness::BladeTrack};
    /// # let mm = Length::from_millimetres;
    /// assert_eq!(BladeTrack::of(&[mm(1.0)?, mm(-1.5)?])?.spread().millimetres(), 2.5);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn spread(&self) -> Length {
        Length::canonical(self.blades.spread())
    }

    /// How far a blade, counted from 0, lies from the mean of all; `None` where there is no such blade.
    ///
    /// ```
    /// # use counterpoise::{Length, readiness::BladeTrack};
    /// # let mm = Length::from_millimetres;
    /// let track = BladeTrack::of(&[mm(1.0)?, mm(-1.5)?])?;
    /// assert_eq!(track.apart_from_mean(0).map(|apart| apart.millimetres()), Some(1.25));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn apart_from_mean(&self, blade: usize) -> Option<Length> {
        self.blades.apart_from_mean(blade).map(Length::canonical)
    }

    /// The blade farthest from the mean, counted from 0; of several the first.
    ///
    /// ```
    /// # use counterpoise::{Length, readiness::BladeTrack};
    /// # let mm = Length::from_millimetres;
    /// assert_eq!(BladeTrack::of(&[mm(0.1)?, mm(0.0)?, mm(-2.0)?, mm(0.2)?])?.standing_out(), 2);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn standing_out(&self) -> usize {
        self.blades.standing_out()
    }

    /// The verdict on the spread against a limit, with the expanded uncertainty of the spread; below zero it decides nothing.
    ///
    /// ```
    /// # use counterpoise::{Conformity, Length, readiness::BladeTrack};
    /// # let mm = Length::from_millimetres;
    /// let track = BladeTrack::of(&[mm(0.0)?, mm(3.0)?])?;
    /// assert_eq!(track.conformity(BladeTrack::WOOD.value, mm(0.3)?), Conformity::Undecided);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn conformity(&self, limit: Length, expanded_uncertainty: Length) -> Conformity {
        Conformity::of(self.blades.spread(), expanded_uncertainty.millimetres(), limit.millimetres())
    }
}

/// The angles at which the blades are set, at one station of each, in degrees.
///
/// ```
/// use counterpoise::readiness::BladeAngles;
/// let angles = BladeAngles::of_degrees(&[18.1, 18.0, 18.4])?;
/// assert!((angles.spread_degrees() - 0.4).abs() < 1e-12);
/// assert_eq!(angles.standing_out(), 2);
/// # Ok::<(), counterpoise::ReadinessError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BladeAngles {
    blades: PerBlade,
}

impl BladeAngles {
    /// About what they may spread where the maker's limit is not known, in degrees: common practice, no source.
    ///
    /// ```
    /// assert_eq!(counterpoise::readiness::BladeAngles::COMMON_PRACTICE_DEGREES.value, 0.2);
    /// ```
    pub const COMMON_PRACTICE_DEGREES: Limit<f64> = Limit::new(0.2, Provenance::COMMON_PRACTICE);

    /// The angles of 2 to 6 blades in degrees, in the order of their numbers.
    ///
    /// # Errors
    /// [`ReadinessError::Blades`]; [`ReadinessError::BladeValue`].
    ///
    /// ```
    /// use counterpoise::readiness::BladeAngles;
    /// assert_eq!(BladeAngles::of_degrees(&[18.0, f64::NAN]).unwrap_err().code(), 1452);
    /// ```
    pub fn of_degrees(angles: &[f64]) -> Result<Self, ReadinessError> {
        Ok(Self { blades: PerBlade::of(angles.iter().copied())? })
    }

    /// From the finest to the coarsest, in degrees.
    ///
    /// ```
    /// # use counterpoise::readiness::BladeAngles;
    /// assert_eq!(BladeAngles::of_degrees(&[18.0, 18.25])?.spread_degrees(), 0.25);
    /// # Ok::<(), counterpoise::ReadinessError>(())
    /// ```
    pub fn spread_degrees(&self) -> f64 {
        self.blades.spread()
    }

    /// How far a blade, counted from 0, lies from the mean of all, in degrees; `None` where there is no such blade.
    ///
    /// ```
    /// # use counterpoise::readiness::BladeAngles;
    /// assert_eq!(BladeAngles::of_degrees(&[18.0, 18.5])?.apart_from_mean_degrees(1), Some(0.25));
    /// # Ok::<(), counterpoise::ReadinessError>(())
    /// ```
    pub fn apart_from_mean_degrees(&self, blade: usize) -> Option<f64> {
        self.blades.apart_from_mean(blade)
    }

    /// The blade farthest from the mean, counted from 0; of several the first.
    ///
    /// ```
    /// # use counterpoise::readiness::BladeAngles;
    /// assert_eq!(BladeAngles::of_degrees(&[18.0, 18.5, 18.0])?.standing_out(), 1);
    /// # Ok::<(), counterpoise::ReadinessError>(())
    /// ```
    pub fn standing_out(&self) -> usize {
        self.blades.standing_out()
    }

    /// The verdict on the spread against a limit, with the expanded uncertainty of the spread, all in degrees; below zero that
    /// decides nothing.
    ///
    /// ```
    /// # use counterpoise::{Conformity, readiness::BladeAngles};
    /// let angles = BladeAngles::of_degrees(&[18.0, 18.5])?;
    /// assert_eq!(angles.conformity(0.2, 0.1), Conformity::Outside);
    /// # Ok::<(), counterpoise::ReadinessError>(())
    /// ```
    pub fn conformity(&self, limit_degrees: f64, expanded_uncertainty_degrees: f64) -> Conformity {
        Conformity::of(self.blades.spread(), expanded_uncertainty_degrees, limit_degrees)
    }
}
