//! First weights, before any trial run: how heavy, and where.
//!
//! The size comes from a rule ([`SizeRule`]) or a stored influence coefficient, the place from the reading, from how
//! the sensor and the pickup stand ([`Sensor`]), and from how the machine answers ([`Regime`]). Both are estimates: the
//! answer advises a part of the whole to start with, and says why. After it, a trial run tells what the estimate was
//! worth.
//!
//! ```
//! use counterpoise::first_weight::{FirstWeight, Polarity, Regime, Sensor, SizeRule};
//! use counterpoise::{
//!     Angle, Channel, Detector, Mass, PhaseSense, Radius, Speed, SpeedWindow, VibrationScale, VibrationUnit,
//! };
//! let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
//! let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
//! let reading = Channel::new(1, unit, PhaseSense::Lag, window).reading(0.62, 40.0)?;
//!
//! let sensor = Sensor::new(Angle::ZERO, Angle::from_degrees(90.0)?, Polarity::Along);
//! let regime = Regime::from_resonance(reading.speed(), Speed::from_rpm(700.0)?)?;
//! let rule = SizeRule::mass_controlled(Mass::from_kilograms(60.0)?)?;
//! let first = FirstWeight::by_rule(&reading, &rule, sensor, regime)?;
//!
//! // -40 + 0 - 90 - (-90): the heavy spot; the weight goes opposite.
//! let weight = first.advised().weight_at(Radius::from_millimetres(165.0)?);
//! assert!((weight.angle.with_rotation().degrees() - 140.0).abs() < 1e-9);
//! assert_eq!(format!("{:.1}", weight.mass), "11.4 g");
//! assert_eq!(first.starting_fraction(), 0.5);
//! # Ok::<(), Box<dyn core::error::Error>>(())
//! ```

use core::fmt;

use crate::angle::RotorAngle;
use crate::channel::Reading;
use crate::dense::Scalar;
use crate::error::{FirstWeightError, QuantityError};
use crate::unit::{LARGEST_PRODUCT, Unbalance};
use crate::vector::{Influence, UnbalanceVector, Vibration};

mod place;
mod size;

pub use place::{Polarity, Regime, Sensor};
pub use size::SizeRule;

/// Why a first weight starts with the fraction it does.
///
/// ```
/// use counterpoise::first_weight::StartingReason;
/// assert_eq!(StartingReason::StatedByCaller.to_string(), "stated by the caller");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum StartingReason {
    /// The rule gives a trial amount already: all of it.
    TrialAmount,
    /// The estimate may be far off: half of it (common practice to start with a part; the half is ours, for the reason
    /// it prints).
    HalfForgives,
    /// The caller stated the fraction.
    StatedByCaller,
}

impl StartingReason {
    /// The stable number, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::first_weight::StartingReason::TrialAmount.code(), 1);
    /// ```
    pub const fn code(self) -> i32 {
        match self {
            Self::TrialAmount => 1,
            Self::HalfForgives => 2,
            Self::StatedByCaller => 3,
        }
    }

    /// The reason in words.
    ///
    /// ```
    /// # use counterpoise::first_weight::StartingReason;
    /// assert_eq!(
    ///     StartingReason::HalfForgives.words(),
    ///     "half an estimate still lowers the vibration when the estimate is up to four times too large, \
    ///      or its place up to 75 deg out",
    /// );
    /// ```
    pub const fn words(self) -> &'static str {
        // A part f of an estimate e times too large and δ out of place leaves |1 − f e exp(jδ)|, which is below 1 as long
        // as f e < 2 cos δ.
        match self {
            Self::TrialAmount => "the rule gives a trial amount, not the whole unbalance",
            Self::HalfForgives => {
                "half an estimate still lowers the vibration when the estimate is up to four times too large, \
                 or its place up to 75 deg out"
            }
            Self::StatedByCaller => "stated by the caller",
        }
    }
}

impl fmt::Display for StartingReason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.words())
    }
}

/// What to know before a first weight is used.
///
/// ```
/// use counterpoise::first_weight::FirstWeightCaution;
/// assert_eq!(
///     FirstWeightCaution::NothingToCorrect.to_string(),
///     "the reading calls for no weight: there is nothing to correct",
/// );
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum FirstWeightCaution {
    /// The reading is zero, or so small that the estimate is: the estimate is no weight at all.
    NothingToCorrect,
    /// The size was computed as far above resonance, the place as far below it. At least one of the two is wrong.
    RegimesDisagree,
}

impl FirstWeightCaution {
    /// The stable number, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::first_weight::FirstWeightCaution::NothingToCorrect.code(), 1);
    /// ```
    pub const fn code(self) -> i32 {
        match self {
            Self::NothingToCorrect => 1,
            Self::RegimesDisagree => 2,
        }
    }
}

impl fmt::Display for FirstWeightCaution {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::NothingToCorrect => "the reading calls for no weight: there is nothing to correct",
            Self::RegimesDisagree => {
                "the size is computed as far above resonance, the place as far below it: one of them is wrong"
            }
        })
    }
}

/// A first weight: the unbalance to set against the one that makes the reading, before any trial run.
///
/// ```
/// use counterpoise::{Channel, Detector, Influence, PhaseSense, Speed, SpeedWindow, VibrationScale, VibrationUnit};
/// use counterpoise::first_weight::FirstWeight;
/// let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
/// let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
/// let reading = Channel::new(1, unit, PhaseSense::Lead, window).reading(0.5, 90.0)?;
/// let stored = Influence::from_components_per_gram_millimetre(2.5e-4, 0.0)?;
/// let first = FirstWeight::by_influence(&reading, stored, "this machine, last year")?;
/// assert!((first.estimate().y_gram_millimetres() + 2000.0).abs() < 1e-9);
/// assert_eq!(first.provenance(), "this machine, last year");
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FirstWeight<'a> {
    estimate: UnbalanceVector,
    heavy_spot: Option<RotorAngle>,
    starting_fraction: f64,
    reason: StartingReason,
    provenance: &'a str,
    regimes_disagree: bool,
}

impl<'a> FirstWeight<'a> {
    /// A first weight whose size comes from a rule, set opposite the heavy spot.
    ///
    /// For a reading of zero the estimate is no weight, by whatever rule, with a caution.
    ///
    /// # Errors
    /// Those of [`SizeRule::amount`].
    ///
    /// ```
    /// # use counterpoise::{Angle, Channel, Detector, Force, PhaseSense, Speed, SpeedWindow, VibrationScale, VibrationUnit};
    /// # use counterpoise::first_weight::{FirstWeight, Polarity, Regime, Sensor, SizeRule};
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    /// let reading = Channel::new(1, unit, PhaseSense::Lead, window).reading(0.3, 150.0)?;
    /// let rule = SizeRule::static_load(Force::from_newtons(600.0)?)?;
    /// let sensor = Sensor::new(Angle::ZERO, Angle::ZERO, Polarity::Along);
    /// let first = FirstWeight::by_rule(&reading, &rule, sensor, Regime::FarBelowResonance)?;
    /// assert!((first.estimate().angle().with_rotation().degrees() - 240.0).abs() < 1e-12);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn by_rule(
        reading: &Reading,
        rule: &SizeRule<'a>,
        sensor: Sensor,
        regime: Regime,
    ) -> Result<Self, FirstWeightError> {
        let amount = rule.amount(reading)?;
        let heavy_spot = sensor.heavy_spot(reading, regime)?;
        let estimate = heavy_spot
            .map_or(UnbalanceVector::ZERO, |heavy| UnbalanceVector::from_polar(amount, heavy.opposite()));
        let (starting_fraction, reason) = if rule.is_trial_amount() {
            (1.0, StartingReason::TrialAmount)
        } else {
            (HALF, StartingReason::HalfForgives)
        };
        Ok(Self {
            estimate,
            heavy_spot: heavy_spot.filter(|_| estimate != UnbalanceVector::ZERO),
            starting_fraction,
            reason,
            provenance: rule.provenance(),
            // Mass control is the response far above resonance; a place more than a quarter turn from it is not.
            regimes_disagree: rule.is_mass_controlled() && {
                let quantity = reading.channel().unit().scale.quantity();
                let far_above = Regime::FarAboveResonance.response_lead(quantity);
                regime.response_lead(quantity).separation_degrees(far_above) > 90.0
            },
        })
    }

    /// A first weight from an influence coefficient of an earlier job or a sister machine: `U = −v/H`.
    ///
    /// The coefficient belongs to the channel of the reading: in its unit, at its nominal speed. A law declared for the
    /// channel brings the reading to that speed.
    ///
    /// # Errors
    /// [`FirstWeightError::NoResponse`] for a coefficient of zero, [`FirstWeightError::NoProvenance`] for words that say
    /// nothing, [`FirstWeightError::EstimateBeyondRange`] where the answer is beyond the range of numbers, and
    /// [`FirstWeightError::Quantity`] where either was computed from others and is not finite.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, Influence, PhaseSense, Speed, SpeedWindow, VibrationScale, VibrationUnit};
    /// # use counterpoise::first_weight::FirstWeight;
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    /// let reading = Channel::new(1, unit, PhaseSense::Lead, window).reading(0.5, 90.0)?;
    /// let stored = Influence::from_components_per_gram_millimetre(2e-4, 1e-4)?;
    /// let first = FirstWeight::by_influence(&reading, stored, "a sister machine")?;
    /// let left = reading.vibration() + stored * first.estimate();
    /// assert!(left.amplitude() < 1e-15);
    /// assert_eq!(
    ///     FirstWeight::by_influence(&reading, Influence::ZERO, "a sister machine").unwrap_err().to_string(),
    ///     "an influence coefficient of zero says that no weight changes this reading: use another channel or plane",
    /// );
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn by_influence(
        reading: &Reading,
        influence: Influence,
        provenance: &'a str,
    ) -> Result<Self, FirstWeightError> {
        stated(provenance)?;
        let vibration = finite(reading.at_nominal_speed())?;
        if !influence.is_finite() {
            let value = influence.per_gram_millimetre();
            return Err(QuantityError::NotFinite { quantity: "influence coefficient", value }.into());
        }
        if influence == Influence::ZERO {
            return Err(FirstWeightError::NoResponse);
        }
        // U = −v/H
        let estimate = -UnbalanceVector::computed(vibration.complex().quotient(influence.complex()));
        in_range(estimate.amount().gram_millimetres())?;
        let heavy_spot = (estimate != UnbalanceVector::ZERO).then(|| estimate.angle().opposite());
        Ok(Self {
            estimate,
            heavy_spot,
            starting_fraction: HALF,
            reason: StartingReason::HalfForgives,
            provenance,
            regimes_disagree: false,
        })
    }

    /// The same estimate with another fraction to start with.
    ///
    /// # Errors
    /// [`FirstWeightError::BadFraction`] where it is not in `(0, 1]`.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, Influence, PhaseSense, Speed, SpeedWindow, VibrationScale, VibrationUnit};
    /// # use counterpoise::first_weight::{FirstWeight, StartingReason};
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    /// # let reading = Channel::new(1, unit, PhaseSense::Lead, window).reading(0.5, 90.0)?;
    /// # let stored = Influence::from_components_per_gram_millimetre(2.5e-4, 0.0)?;
    /// let first = FirstWeight::by_influence(&reading, stored, "the last job")?.with_starting_fraction(0.8)?;
    /// assert!((first.advised().y_gram_millimetres() + 1600.0).abs() < 1e-9);
    /// assert_eq!(first.reason(), StartingReason::StatedByCaller);
    /// assert_eq!(
    ///     first.with_starting_fraction(-0.5).unwrap_err().to_string(),
    ///     "the fraction to start with must be greater than 0 and at most 1, got -0.5: \
    ///      give a part of the whole, not percent",
    /// );
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn with_starting_fraction(self, starting_fraction: f64) -> Result<Self, FirstWeightError> {
        let starting_fraction = fraction("the fraction to start with", starting_fraction)?;
        Ok(Self { starting_fraction, reason: StartingReason::StatedByCaller, ..self })
    }

    /// The full estimate: what would cancel the unbalance if the estimate were right; for the static-load rule the trial
    /// amount. It lies at the light spot.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, Influence, PhaseSense, Speed, SpeedWindow, VibrationScale, VibrationUnit};
    /// # use counterpoise::first_weight::FirstWeight;
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    /// # let reading = Channel::new(1, unit, PhaseSense::Lead, window).reading(0.5, 0.0)?;
    /// # let stored = Influence::from_components_per_gram_millimetre(2.5e-4, 0.0)?;
    /// let first = FirstWeight::by_influence(&reading, stored, "the last job")?;
    /// assert!((first.estimate().x_gram_millimetres() - -2000.0).abs() < 1e-12);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn estimate(&self) -> UnbalanceVector {
        self.estimate
    }

    /// What to start with: the starting fraction of the estimate, in the same place.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, Influence, PhaseSense, Speed, SpeedWindow, VibrationScale, VibrationUnit};
    /// # use counterpoise::first_weight::FirstWeight;
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    /// # let reading = Channel::new(1, unit, PhaseSense::Lead, window).reading(0.5, 0.0)?;
    /// # let stored = Influence::from_components_per_gram_millimetre(2.5e-4, 0.0)?;
    /// let first = FirstWeight::by_influence(&reading, stored, "the last job")?;
    /// assert!((first.advised().x_gram_millimetres() - -1000.0).abs() < 1e-12);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn advised(&self) -> UnbalanceVector {
        self.estimate * self.starting_fraction
    }

    /// The part of the estimate to start with.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, Influence, PhaseSense, Speed, SpeedWindow, VibrationScale, VibrationUnit};
    /// # use counterpoise::first_weight::FirstWeight;
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    /// # let reading = Channel::new(1, unit, PhaseSense::Lead, window).reading(0.5, 0.0)?;
    /// # let stored = Influence::from_components_per_gram_millimetre(2.5e-4, 0.0)?;
    /// assert_eq!(FirstWeight::by_influence(&reading, stored, "the last job")?.starting_fraction(), 0.5);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn starting_fraction(&self) -> f64 {
        self.starting_fraction
    }

    /// Why that part.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, Influence, PhaseSense, Speed, SpeedWindow, VibrationScale, VibrationUnit};
    /// # use counterpoise::first_weight::{FirstWeight, StartingReason};
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    /// # let reading = Channel::new(1, unit, PhaseSense::Lead, window).reading(0.5, 0.0)?;
    /// # let stored = Influence::from_components_per_gram_millimetre(2.5e-4, 0.0)?;
    /// let first = FirstWeight::by_influence(&reading, stored, "the last job")?;
    /// assert_eq!(first.reason(), StartingReason::HalfForgives);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn reason(&self) -> StartingReason {
        self.reason
    }

    /// Where the rule or the coefficient comes from.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, Influence, PhaseSense, Speed, SpeedWindow, VibrationScale, VibrationUnit};
    /// # use counterpoise::first_weight::FirstWeight;
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    /// # let reading = Channel::new(1, unit, PhaseSense::Lead, window).reading(0.5, 0.0)?;
    /// # let stored = Influence::from_components_per_gram_millimetre(2.5e-4, 0.0)?;
    /// assert_eq!(FirstWeight::by_influence(&reading, stored, "the last job")?.provenance(), "the last job");
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn provenance(&self) -> &'a str {
        self.provenance
    }

    /// The heavy spot, opposite the estimate; `None` where there is nothing to correct.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, Influence, PhaseSense, Speed, SpeedWindow, VibrationScale, VibrationUnit};
    /// # use counterpoise::first_weight::FirstWeight;
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    /// # let reading = Channel::new(1, unit, PhaseSense::Lead, window).reading(0.5, 90.0)?;
    /// # let stored = Influence::from_components_per_gram_millimetre(2.5e-4, 0.0)?;
    /// let first = FirstWeight::by_influence(&reading, stored, "the last job")?;
    /// assert_eq!(first.heavy_spot().map(|place| place.with_rotation().degrees()), Some(90.0));
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn heavy_spot(&self) -> Option<RotorAngle> {
        self.heavy_spot
    }

    /// What to know before it is used, in a fixed order.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, Influence, PhaseSense, Speed, SpeedWindow, UnbalanceVector};
    /// # use counterpoise::{VibrationScale, VibrationUnit, first_weight::{FirstWeight, FirstWeightCaution}};
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    /// # let stored = Influence::from_components_per_gram_millimetre(2.5e-4, 0.0)?;
    /// let quiet = Channel::new(1, unit, PhaseSense::Lead, window).reading(0.0, 0.0)?;
    /// let first = FirstWeight::by_influence(&quiet, stored, "the last job")?;
    /// assert_eq!(first.estimate(), UnbalanceVector::ZERO);
    /// assert!(first.cautions().eq([FirstWeightCaution::NothingToCorrect]));
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn cautions(&self) -> impl Iterator<Item = FirstWeightCaution> + Clone + use<> {
        let nothing = self.estimate == UnbalanceVector::ZERO;
        [
            nothing.then_some(FirstWeightCaution::NothingToCorrect),
            self.regimes_disagree.then_some(FirstWeightCaution::RegimesDisagree),
        ]
        .into_iter()
        .flatten()
    }
}

/// The part of an estimate to start with: see [`StartingReason::HalfForgives`].
const HALF: f64 = 0.5;

/// Refuses a fraction that is not in `(0, 1]`.
fn fraction(what: &'static str, value: f64) -> Result<f64, FirstWeightError> {
    if value > 0.0 && value <= 1.0 { Ok(value) } else { Err(FirstWeightError::BadFraction { what, value }) }
}

/// Refuses words of origin that say nothing.
fn stated(provenance: &str) -> Result<(), FirstWeightError> {
    if provenance.trim().is_empty() { Err(FirstWeightError::NoProvenance) } else { Ok(()) }
}

/// Refuses a vibration that was computed from others and left the range of numbers.
fn finite(vibration: Vibration) -> Result<Vibration, FirstWeightError> {
    if vibration.is_finite() {
        Ok(vibration)
    } else {
        let value = vibration.amplitude();
        Err(QuantityError::NotFinite { quantity: "vibration", value }.into())
    }
}

/// Refuses an amount beyond what other stages compute with.
fn in_range(gram_millimetres: f64) -> Result<Unbalance, FirstWeightError> {
    // Written so that NaN is refused, too.
    if gram_millimetres <= LARGEST_PRODUCT {
        Ok(Unbalance::canonical(gram_millimetres))
    } else {
        Err(FirstWeightError::EstimateBeyondRange { gram_millimetres })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::angle::{Angle, PhaseSense};
    use crate::channel::Channel;
    use crate::math;
    use crate::speed_window::{SpeedLaw, SpeedWindow};
    use crate::unit::{Force, Mass, Speed};
    use crate::vibration_unit::{Detector, VibrationScale, VibrationUnit};

    const IN_PER_S: VibrationUnit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);

    fn channel() -> Channel {
        let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0).unwrap(), 1.0).unwrap();
        Channel::new(1, IN_PER_S, PhaseSense::Lead, window)
    }

    fn sensor() -> Sensor {
        Sensor::new(Angle::from_degrees(90.0).unwrap(), Angle::ZERO, Polarity::Along)
    }

    fn rules() -> [SizeRule<'static>; 3] {
        [
            SizeRule::static_load(Force::from_newtons(600.0).unwrap()).unwrap(),
            SizeRule::mass_controlled(Mass::from_kilograms(80.0).unwrap()).unwrap(),
            SizeRule::per_vibration(
                Unbalance::from_gram_inches(120.0).unwrap(),
                IN_PER_S,
                1.0,
                "earlier jobs",
            )
            .unwrap(),
        ]
    }

    #[test]
    fn the_weight_goes_opposite_the_heavy_spot_in_the_size_of_the_rule() {
        // The reference vectors, singleplane/1p1s_jeffcott/01: heavy spot 37 degrees, so the answer is at 217.
        let reading = channel().reading(0.62, 31.156_284_935_310_527).unwrap();
        let regime = Regime::Stated(Angle::from_degrees(84.156).unwrap());
        // A velocity that leads by 84 degrees answers from below resonance, where the mass does not hold the force.
        for (rule, cautions) in rules().into_iter().zip([0, 1, 0]) {
            let first = FirstWeight::by_rule(&reading, &rule, sensor(), regime).unwrap();
            let place = first.estimate().angle().with_rotation();
            assert!((place.degrees() - 217.0).abs() < 1e-3);
            let amount = rule.amount(&reading).unwrap().gram_millimetres();
            assert!((first.estimate().amount().gram_millimetres() / amount - 1.0).abs() < 1e-15);
            let heavy = first.heavy_spot().unwrap().with_rotation();
            assert!((heavy.degrees() - 37.0).abs() < 1e-3);
            assert_eq!(first.provenance(), rule.provenance());
            assert_eq!(first.cautions().count(), cautions);
        }
    }

    #[test]
    fn a_trial_amount_is_used_whole_and_an_estimate_in_half() {
        let reading = channel().reading(0.62, 31.0).unwrap();
        let [load, mass, own] = rules()
            .map(|rule| FirstWeight::by_rule(&reading, &rule, sensor(), Regime::FarAboveResonance).unwrap());
        assert_eq!((load.starting_fraction(), load.reason()), (1.0, StartingReason::TrialAmount));
        assert_eq!(load.advised(), load.estimate());
        for first in [mass, own] {
            assert_eq!((first.starting_fraction(), first.reason()), (0.5, StartingReason::HalfForgives));
            assert_eq!(first.advised(), first.estimate() * 0.5);
        }
    }

    #[test]
    fn half_an_estimate_forgives_what_its_reason_says() {
        // What is left of 1 by a part f of an estimate e times too large and δ degrees out of place.
        let left = |f: f64, e: f64, degrees: f64| {
            let (sine, cosine) = Angle::from_degrees(degrees).unwrap().sin_cos();
            math::hypot(1.0 - f * e * cosine, f * e * sine)
        };
        assert!(left(HALF, 3.99, 0.0) < 1.0 && left(HALF, 4.01, 0.0) > 1.0);
        assert!(left(HALF, 1.0, 75.0) < 1.0 && left(HALF, 1.0, 76.0) > 1.0);
        // The whole of it forgives less.
        assert!(left(1.0, 2.01, 0.0) > 1.0 && left(1.0, 1.0, 61.0) > 1.0);
    }

    #[test]
    fn a_reading_of_zero_calls_for_no_weight() {
        let quiet = channel().reading(0.0, 0.0).unwrap();
        for rule in rules() {
            let first = FirstWeight::by_rule(&quiet, &rule, sensor(), Regime::FarAboveResonance).unwrap();
            assert_eq!((first.estimate(), first.advised()), (UnbalanceVector::ZERO, UnbalanceVector::ZERO));
            assert_eq!(first.heavy_spot(), None);
            assert!(first.cautions().eq([FirstWeightCaution::NothingToCorrect]));
        }
        // So small that the product with the rule is zero: no weight, and no place made up for it.
        let faint = channel().reading(f64::from_bits(1), 45.0).unwrap();
        let tiny = Unbalance::from_gram_millimetres(1e-3).unwrap();
        let rule = SizeRule::per_vibration(tiny, IN_PER_S, 1.0, "earlier jobs").unwrap();
        let first = FirstWeight::by_rule(&faint, &rule, sensor(), Regime::FarAboveResonance).unwrap();
        assert_eq!(first.heavy_spot(), None);
        assert!(first.cautions().eq([FirstWeightCaution::NothingToCorrect]));
    }

    #[test]
    fn a_size_from_above_resonance_and_a_place_from_below_are_told() {
        let reading = channel().reading(0.62, 31.0).unwrap();
        let [load, mass, own] = rules()
            .map(|rule| FirstWeight::by_rule(&reading, &rule, sensor(), Regime::FarBelowResonance).unwrap());
        assert!(mass.cautions().eq([FirstWeightCaution::RegimesDisagree]));
        assert_eq!(load.cautions().count() + own.cautions().count(), 0);
        // Also where the response is stated: velocity leads by 90 degrees far below resonance, by 270 far above.
        let [_, rule, _] = rules();
        for (lead, disagree) in [(90.0, true), (170.0, true), (190.0, false), (270.0, false)] {
            let stated = Regime::Stated(Angle::from_degrees(lead).unwrap());
            let first = FirstWeight::by_rule(&reading, &rule, sensor(), stated).unwrap();
            assert_eq!(first.cautions().count(), usize::from(disagree), "{lead}");
        }
        assert_eq!(
            FirstWeightCaution::RegimesDisagree.to_string(),
            "the size is computed as far above resonance, the place as far below it: one of them is wrong"
        );
    }

    #[test]
    fn a_stored_coefficient_takes_the_reading_at_the_nominal_speed() {
        let stored = Influence::from_components_per_gram_millimetre(2e-4, -1e-4).unwrap();
        let slow = channel().with_law(SpeedLaw::MassControlled).reading(0.5, 120.0).unwrap();
        let slow = slow.at(Speed::from_rpm(2000.0).unwrap()).unwrap();
        let first = FirstWeight::by_influence(&slow, stored, "a sister machine").unwrap();
        // Velocity far above resonance grows with speed: 0.5 at 2000 rpm is 0.6 at 2400.
        let nominal = channel().reading(0.6, 120.0).unwrap().vibration();
        assert!((nominal + stored * first.estimate()).amplitude() < 1e-15);
    }

    #[test]
    fn a_coefficient_that_cannot_be_used_is_refused() {
        let reading = channel().reading(0.5, 120.0).unwrap();
        let stored = Influence::from_components_per_gram_millimetre(2e-4, -1e-4).unwrap();
        let text = |influence, provenance| {
            let error = FirstWeight::by_influence(&reading, influence, provenance).unwrap_err();
            (error.code(), error.to_string())
        };
        assert_eq!(text(Influence::ZERO, "jobs").0, 603);
        assert_eq!(text(stored, "  ").0, 605);
        assert_eq!(
            text(stored * f64::NAN, "jobs"),
            (
                101,
                "influence coefficient must be a finite number, got NaN: check where the number comes from"
                    .into()
            )
        );
        let faint = Influence::from_components_per_gram_millimetre(0.0, f64::from_bits(1)).unwrap();
        assert_eq!(
            text(faint, "jobs"),
            (
                604,
                "the estimate comes to inf g mm, beyond what can be computed with: \
                 check the reading, the speed and the figures of the rule"
                    .into()
            )
        );
        let first = FirstWeight::by_influence(&reading, stored, "jobs").unwrap();
        for (fraction, printed) in [(0.0, "0.0"), (1.01, "1.01"), (f64::NAN, "NaN")] {
            assert_eq!(
                first.with_starting_fraction(fraction).unwrap_err().to_string(),
                format!(
                    "the fraction to start with must be greater than 0 and at most 1, got {printed}: \
                     give a part of the whole, not percent"
                )
            );
        }
        assert_eq!(first.with_starting_fraction(1.0).unwrap().advised(), first.estimate());
    }

    #[test]
    fn a_vibration_of_nan_is_refused() {
        let reading = channel().reading_of(channel().reading(0.5, 0.0).unwrap().vibration() * f64::NAN);
        let stored = Influence::from_components_per_gram_millimetre(2e-4, -1e-4).unwrap();
        let text = "vibration must be a finite number, got NaN: check where the number comes from";
        assert_eq!(FirstWeight::by_influence(&reading, stored, "jobs").unwrap_err().to_string(), text);
        for rule in rules() {
            let error =
                FirstWeight::by_rule(&reading, &rule, sensor(), Regime::FarAboveResonance).unwrap_err();
            assert_eq!(error.to_string(), text);
        }
    }
}
