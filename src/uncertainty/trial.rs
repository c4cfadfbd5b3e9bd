//! The next trial weight: large enough to be seen, small enough for every limit.

use alloc::vec::Vec;

use num_complex::Complex64;

use crate::angle::{Angle, RotorAngle};
use crate::error::UncertaintyError;
use crate::influence::Prior;
use crate::math;
use crate::statistics::{Ellipse, centre_seen_outside, chi_squared_quantile};
use crate::unit::Unbalance;
use crate::vector::{Influence, Vibration};

use super::response::TrialResponse;

/// What is believed of a coefficient before the trial run.
///
/// ```
/// use counterpoise::{Influence, InfluenceBelief};
/// let bounds = InfluenceBelief::between_per_gram_millimetre(1e-4, 4e-4)?;
/// let about = InfluenceBelief::about(Influence::from_components_per_gram_millimetre(2e-4, 0.0)?, 0.2)?;
/// assert_eq!(bounds.highest_per_gram_millimetre(), 4e-4);
/// assert!(about.lowest_per_gram_millimetre() < 2e-4);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InfluenceBelief {
    /// Zero where the direction is not known.
    centre: Complex64,
    /// How far the coefficient may lie from the centre.
    reach: f64,
    lowest: f64,
}

impl InfluenceBelief {
    /// Only the size is bounded, per g mm; the direction is not known.
    ///
    /// # Errors
    /// [`UncertaintyError::BadNumber`] unless `0 < lowest <= highest`, in the range of numbers.
    ///
    /// ```
    /// use counterpoise::InfluenceBelief;
    /// assert!(InfluenceBelief::between_per_gram_millimetre(4e-4, 1e-4).is_err());
    /// ```
    pub fn between_per_gram_millimetre(lowest: f64, highest: f64) -> Result<Self, UncertaintyError> {
        let lowest = positive("the lowest size of the coefficient", lowest)?;
        let highest = positive("the highest size of the coefficient", highest)?;
        if lowest > highest {
            return Err(UncertaintyError::BadNumber {
                what: "the highest size of the coefficient",
                value: highest,
                wanted: "at least the lowest",
            });
        }
        Ok(Self { centre: Complex64::new(0.0, 0.0), reach: highest, lowest })
    }

    /// A coefficient with a relative spread: the standard deviation of each component is the fraction times its size, as
    /// in [`Prior::with_relative_spread`](crate::Prior::with_relative_spread). The circle that holds it with 95 %,
    /// √5.991 standard deviations wide, is what the worst case is taken over.
    ///
    /// # Errors
    /// [`UncertaintyError::BadNumber`] for a coefficient of zero or a fraction that is negative or not finite.
    ///
    /// ```
    /// use counterpoise::{Influence, InfluenceBelief};
    /// let about = InfluenceBelief::about(Influence::from_components_per_gram_millimetre(2e-4, 0.0)?, 0.2)?;
    /// // 2e-4 (1 + 0.2 · 2.4477)
    /// assert!((about.highest_per_gram_millimetre() - 2.9791e-4).abs() < 1e-9);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn about(influence: Influence, fraction: f64) -> Result<Self, UncertaintyError> {
        let size = positive("the size of the coefficient", influence.per_gram_millimetre())?;
        if !(0.0..=1e6).contains(&fraction) {
            return Err(UncertaintyError::BadNumber {
                what: "the relative spread of the coefficient",
                value: fraction,
                wanted: "a part of the whole, not below zero",
            });
        }
        let reach = math::sqrt(chi_squared_quantile(0.05, 2.0)) * fraction * size;
        Ok(Self { centre: influence.complex(), reach, lowest: (size - reach).max(0.0) })
    }

    /// The coefficient of a channel in a plane, both counted from 0, as a prior has it, with the larger principal standard
    /// deviation in every direction. What the prior knows of other planes is left out.
    ///
    /// # Errors
    /// [`UncertaintyError::OutOfRange`]; otherwise as [`about`](Self::about).
    ///
    /// ```
    /// use counterpoise::{InfluenceBelief, Prior, UncertaintyError};
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lead, window);
    /// # let h = Influence::from_components_per_gram_millimetre(2e-3, 0.0)?;
    /// # let matrix = InfluenceMatrix::new(&[channel], 1, &[h])?;
    /// let prior = Prior::with_relative_spread(matrix, 0.2)?;
    /// let belief = InfluenceBelief::from_prior(&prior, 0, 0)?;
    /// assert!((belief.highest_per_gram_millimetre() - 2.9791e-3).abs() < 1e-8);
    /// assert_eq!(InfluenceBelief::from_prior(&prior, 0, 1).unwrap_err().code(), 1203);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn from_prior(prior: &Prior, channel: usize, plane: usize) -> Result<Self, UncertaintyError> {
        let (planes, channels) = (prior.mean().planes(), prior.covariances().len());
        if plane >= planes {
            return Err(UncertaintyError::OutOfRange { what: "plane", number: plane, count: planes });
        }
        let missing = UncertaintyError::OutOfRange { what: "channel", number: channel, count: channels };
        let block = prior.covariances().get(channel).and_then(|of| of.block(plane, plane));
        let (Some(influence), Some(block)) = (prior.mean().get(channel, plane), block) else {
            return Err(missing);
        };
        // The circle about the ellipse: at least as wide in every direction.
        let deviation = Ellipse::of(block).major;
        Self::about(influence, deviation / influence.per_gram_millimetre())
    }

    /// The least size it may have; 0 where it may be none at all.
    ///
    /// ```
    /// use counterpoise::InfluenceBelief;
    /// assert_eq!(InfluenceBelief::between_per_gram_millimetre(1e-4, 4e-4)?.lowest_per_gram_millimetre(), 1e-4);
    /// # Ok::<(), counterpoise::UncertaintyError>(())
    /// ```
    pub const fn lowest_per_gram_millimetre(&self) -> f64 {
        self.lowest
    }

    /// The largest size it may have.
    ///
    /// ```
    /// use counterpoise::InfluenceBelief;
    /// assert_eq!(InfluenceBelief::between_per_gram_millimetre(1e-4, 4e-4)?.highest_per_gram_millimetre(), 4e-4);
    /// # Ok::<(), counterpoise::UncertaintyError>(())
    /// ```
    pub fn highest_per_gram_millimetre(&self) -> f64 {
        math::modulus(self.centre) + self.reach
    }
}

/// A channel that watches the trial run.
///
/// ```
/// use counterpoise::{InfluenceBelief, TrialChannel, Vibration};
/// let belief = InfluenceBelief::between_per_gram_millimetre(1e-3, 4e-3)?;
/// assert!(TrialChannel::new(Vibration::from_components(3.0, 0.0)?, 0.1, 7.0, belief).is_ok());
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrialChannel {
    vibration: Complex64,
    noise: f64,
    limit: f64,
    belief: InfluenceBelief,
}

impl TrialChannel {
    /// The vibration now, the standard deviation of each component of one reading (of the mean, where readings are
    /// averaged), the amplitude never to be exceeded, and what is believed of the coefficient; all in the channel's unit.
    ///
    /// # Errors
    /// [`UncertaintyError::BadNumber`] for what is not finite, or a noise or limit that is not greater than zero.
    ///
    /// ```
    /// use counterpoise::{InfluenceBelief, TrialChannel, Vibration};
    /// let belief = InfluenceBelief::between_per_gram_millimetre(1e-3, 4e-3)?;
    /// assert!(TrialChannel::new(Vibration::ZERO, 0.0, 7.0, belief).is_err());
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn new(
        vibration: Vibration,
        noise: f64,
        limit: f64,
        belief: InfluenceBelief,
    ) -> Result<Self, UncertaintyError> {
        let noise = positive("the noise of a reading", noise)?;
        let limit = positive("the limit of the vibration", limit)?;
        if !vibration.is_finite() {
            return Err(UncertaintyError::BadNumber {
                what: "the vibration now",
                value: vibration.amplitude(),
                wanted: "a finite number",
            });
        }
        Ok(Self { vibration: vibration.complex(), noise, limit, belief })
    }

    /// The unbalance whose change has a root noncentrality: `U = √λ √2 σ/|H|`.
    fn unbalance_seen(&self, root: f64) -> f64 {
        root * (core::f64::consts::SQRT_2 * self.noise / self.belief.lowest)
    }

    /// The largest U with `|v + H e^(jβ) U| + r U <= L`.
    fn largest(&self, direction: Complex64) -> f64 {
        // In units of the limit and of the largest coefficient, nothing overflows.
        let unit = self.belief.highest_per_gram_millimetre();
        let (v, r) = (self.vibration / self.limit, self.belief.reach / unit);
        let h = self.belief.centre / unit * direction;
        // Squared: (|h|² − r²) U² + 2 (Re v̄h + r) U − (1 − |v|²) = 0
        let size = math::modulus(v);
        let c = ((1.0 - size) * (1.0 + size)).max(0.0);
        let length = math::modulus(h);
        let a = (length - r) * (length + r);
        let b = v.re * h.re + v.im * h.im + r;
        let root = math::sqrt((b * b + a * c).max(0.0));
        // The form without cancellation.
        let scaled = if b < 0.0 {
            (root - b) / a
        } else if b + root > 0.0 {
            c / (b + root)
        } else {
            0.0
        };
        // r U <= L always, where the squares lose the sign.
        scaled.min(1.0 / r).max(0.0) * (self.limit / unit)
    }
}

/// Designs the next trial weight in one plane; ask once per plane.
///
/// A response is detected where two readings, each with variance σ² per component, differ by more than chance allows at
/// 5 %: `d² = |Δv|²/(2σ²) > 5.991`. With a response d² is noncentral chi-squared with 2 degrees of freedom and
/// `λ = (|H| U)²/(2σ²)`; the least U is the one that passes with the confidence asked for at the lowest `|H|`.
///
/// ```
/// use counterpoise::{InfluenceBelief, TrialChannel, TrialDesign, TrialOutcome, Vibration};
/// let belief = InfluenceBelief::between_per_gram_millimetre(1e-3, 4e-3)?;
/// let channel = TrialChannel::new(Vibration::from_components(3.0, 0.0)?, 0.05, 7.0, belief)?;
/// let TrialOutcome::Weight(weight) = TrialDesign::new(&[channel])?.answer()? else { panic!() };
/// // |v| + |H| U <= L: (7 − 3)/0.004
/// assert!((weight.largest.gram_millimetres() - 1000.0).abs() < 1e-9);
/// // d² = 100: 10 √2 · 0.05/0.001
/// assert!((weight.recommended.gram_millimetres() - 707.1068).abs() < 1e-4);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct TrialDesign {
    channels: Vec<TrialChannel>,
    confidence: f64,
}

/// What a trial weight can be.
///
/// ```
/// # fn show(weight: &counterpoise::TrialWeight) {
/// println!("{:?} g mm", weight.recommended.gram_millimetres());
/// # }
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct TrialWeight {
    /// The least that is detected in at least one channel.
    pub least: Unbalance,
    /// The channel that detects it, counted from 0.
    pub seen_by: usize,
    /// The least that each channel detects with the confidence; `None` where a coefficient may be zero.
    pub least_in_all: Option<Unbalance>,
    /// The least whose change is clear in the channel named: `λ = 100`.
    pub clear: Unbalance,
    /// The largest that keeps every channel within its limit at worst.
    pub largest: Unbalance,
    /// The channel that reaches its limit first, counted from 0.
    pub limited_by: usize,
    /// Where to put it; `None` where no direction is known and any place will do.
    pub place: Option<RotorAngle>,
    /// The clear one where the limits allow it, else the largest.
    pub recommended: Unbalance,
}

/// The answer of a design.
///
/// ```
/// use counterpoise::{InfluenceBelief, TrialChannel, TrialDesign, TrialOutcome, Vibration};
/// let belief = InfluenceBelief::between_per_gram_millimetre(1e-3, 4e-3)?;
/// let channel = TrialChannel::new(Vibration::from_components(6.0, 0.0)?, 0.2, 7.0, belief)?;
/// let outcome = TrialDesign::new(&[channel])?.answer()?;
/// // 1112 g mm would be seen and 250 are allowed: (1112/250)² = 19.8.
/// assert!(matches!(outcome, TrialOutcome::NoWeight { averaged: Some(20), .. }));
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum TrialOutcome {
    /// These weights do both.
    Weight(TrialWeight),
    /// No weight is both detected and within the limits.
    NoWeight {
        /// The least that is detected; `None` where every coefficient may be zero.
        least: Option<Unbalance>,
        /// The largest that the limits allow.
        largest: Unbalance,
        /// How many readings like the present one, averaged before and after, make the largest detectable, as noise
        /// falls with √n; `None` where no reasonable number does (a million).
        averaged: Option<u32>,
    },
}

impl TrialOutcome {
    /// The stable number, the same in Rust and in C.
    ///
    /// ```
    /// # fn show(outcome: &counterpoise::TrialOutcome) {
    /// assert!(outcome.code() == 1 || outcome.code() == 2);
    /// # }
    /// ```
    pub const fn code(&self) -> i32 {
        match self {
            Self::Weight(_) => 1,
            Self::NoWeight { .. } => 2,
        }
    }
}

impl TrialDesign {
    /// A design for these channels, with a confidence of 0.95.
    ///
    /// # Errors
    /// [`UncertaintyError::Count`] for no channel, [`UncertaintyError::AboveLimit`] where one vibrates above its limit now.
    ///
    /// ```
    /// assert_eq!(counterpoise::TrialDesign::new(&[]).unwrap_err().code(), 1202);
    /// ```
    pub fn new(channels: &[TrialChannel]) -> Result<Self, UncertaintyError> {
        if channels.is_empty() {
            return Err(UncertaintyError::Count { what: "channels, one or more", expected: 1, got: 0 });
        }
        for (channel, stated) in channels.iter().enumerate() {
            let amplitude = math::modulus(stated.vibration);
            if amplitude > stated.limit {
                return Err(UncertaintyError::AboveLimit { channel, amplitude, limit: stated.limit });
            }
        }
        Ok(Self { channels: channels.to_vec(), confidence: 0.95 })
    }

    /// Another confidence of detection.
    ///
    /// # Errors
    /// [`UncertaintyError::BadNumber`] where it is not from 0.06 to 0.999999: at 0.05 chance alone does as much.
    ///
    /// ```
    /// # fn show(design: counterpoise::TrialDesign) -> Result<counterpoise::TrialDesign, counterpoise::UncertaintyError> {
    /// design.confidence(0.99)
    /// # }
    /// ```
    pub fn confidence(mut self, confidence: f64) -> Result<Self, UncertaintyError> {
        if !(0.06..=0.999_999).contains(&confidence) {
            return Err(UncertaintyError::BadNumber {
                what: "the confidence of detection",
                value: confidence,
                wanted: "a number from 0.06 to 0.999999",
            });
        }
        self.confidence = confidence;
        Ok(self)
    }

    /// The weights that do both, or that none does.
    ///
    /// # Errors
    /// [`UncertaintyError::BadNumber`] where the unbalance leaves the range of numbers.
    ///
    /// ```
    /// # use counterpoise::{TrialDesign, TrialOutcome, UncertaintyError};
    /// # fn show(design: &TrialDesign) -> Result<TrialOutcome, UncertaintyError> {
    /// design.answer()
    /// # }
    /// ```
    pub fn answer(&self) -> Result<TrialOutcome, UncertaintyError> {
        let root = centre_seen_outside(math::sqrt(chi_squared_quantile(0.05, 2.0)), self.confidence);
        let (mut least, mut seen_by, mut in_all) = (f64::INFINITY, 0, 0.0_f64);
        for (number, channel) in self.channels.iter().enumerate() {
            let seen = channel.unbalance_seen(root);
            in_all = in_all.max(seen);
            if seen < least {
                (least, seen_by) = (seen, number);
            }
        }
        let (place, largest, limited_by) = self.farthest();
        let largest_amount = amount(largest)?;
        if least > largest {
            // least/√n <= largest
            let ratio = least / largest;
            let wanted = libm::ceil(ratio * ratio);
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // whole, and at most a million
            let averaged = (wanted <= 1e6).then_some(wanted as u32);
            let least = if least.is_finite() { Some(amount(least)?) } else { None };
            return Ok(TrialOutcome::NoWeight { least, largest: largest_amount, averaged });
        }
        let clear = least / root * math::sqrt(TrialResponse::CLEAR_FROM);
        Ok(TrialOutcome::Weight(TrialWeight {
            least: amount(least)?,
            seen_by,
            least_in_all: if in_all.is_finite() { Some(amount(in_all)?) } else { None },
            clear: amount(clear)?,
            largest: largest_amount,
            limited_by,
            place,
            // At the highest confidence √λ is 7.2: the clear one is never below the least.
            recommended: amount(clear.min(largest))?,
        }))
    }

    /// The place that allows the most, what it allows, and the channel that limits it.
    fn farthest(&self) -> (Option<RotorAngle>, f64, usize) {
        if self.channels.iter().all(|channel| channel.belief.centre == Complex64::new(0.0, 0.0)) {
            let (largest, limited_by) = self.allowed(0.0);
            return (None, largest, limited_by);
        }
        // Half-degrees, and the place that lowers each channel most: with one channel that is the answer.
        let mut best = (0.0, self.allowed(0.0));
        let attempt = |degrees: f64, best: &mut (f64, (f64, usize))| {
            let found = self.allowed(degrees);
            if found.0 > best.1.0 {
                *best = (degrees, found);
            }
        };
        for channel in &self.channels {
            // β = arg(−v/H)
            let turned = -(channel.vibration / channel.limit)
                * (channel.belief.centre / channel.belief.highest_per_gram_millimetre()).conj();
            attempt(math::argument_degrees(turned.im, turned.re), &mut best);
        }
        for step in 0..720_u16 {
            attempt(0.5 * f64::from(step), &mut best);
        }
        let mut step = 0.25;
        while step > 1e-9 {
            let centre = best.0;
            attempt(centre - step, &mut best);
            attempt(centre + step, &mut best);
            step *= 0.5;
        }
        let place = RotorAngle::from_with_rotation(Angle::reduced(best.0));
        // The place as it is told, to the last digit.
        let (largest, limited_by) = self.allowed(place.with_rotation().degrees());
        (Some(place), largest, limited_by)
    }

    fn allowed(&self, degrees: f64) -> (f64, usize) {
        let (sine, cosine) = math::sin_cos_degrees(degrees);
        let mut least = (f64::INFINITY, 0);
        for (number, channel) in self.channels.iter().enumerate() {
            let largest = channel.largest(Complex64::new(cosine, sine));
            if largest < least.0 {
                least = (largest, number);
            }
        }
        least
    }
}

/// The change between two readings, by the 30/30 rule.
///
/// ```
/// # fn show(change: &counterpoise::ThirtyThirty) {
/// println!("{} % and {} deg", change.percent, change.degrees);
/// # }
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct ThirtyThirty {
    /// The change of amplitude, in percent of that before, without sign; infinite from no vibration.
    pub percent: f64,
    /// The change of phase, from 0 to 180.
    pub degrees: f64,
    /// Whether either reaches 30.
    pub met: bool,
}

/// The 30/30 rule: a trial weight should change the amplitude by 30 % or the phase by 30° (common practice, no source).
///
/// The change of the vector against its scatter is better. The rule misses a change of 25 % and 20° that is many times
/// the scatter of steady readings, and it accepts any turn of a vibration that is no more than noise:
///
/// ```
/// use counterpoise::{Vibration, thirty_thirty};
/// // |Δv| = 1.2 with σ = 0.05 is d² = 294: clear, and missed.
/// let missed = thirty_thirty(Vibration::from_components(4.0, 0.0)?, Vibration::from_components(4.7, 1.0)?);
/// assert!(!missed.met);
/// // |Δv| = 0.07 with the same scatter is d² = 1: nothing, and accepted.
/// let wrong = thirty_thirty(Vibration::from_components(0.05, 0.0)?, Vibration::from_components(0.0, 0.05)?);
/// assert!(wrong.met);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
pub fn thirty_thirty(before: Vibration, after: Vibration) -> ThirtyThirty {
    let (from, to) = (before.amplitude(), after.amplitude());
    let percent = if from == to { 0.0 } else { 100.0 * ((to - from) / from).abs() };
    let phase = |vibration: Vibration| Angle::of_vector(vibration.complex().re, vibration.complex().im);
    // No vibration has no phase.
    let degrees = if from > 0.0 && to > 0.0 { phase(before).separation_degrees(phase(after)) } else { 0.0 };
    ThirtyThirty { percent, degrees, met: percent >= 30.0 || degrees >= 30.0 }
}

fn positive(what: &'static str, value: f64) -> Result<f64, UncertaintyError> {
    if (1e-100..=1e100).contains(&value) {
        Ok(value)
    } else {
        Err(UncertaintyError::BadNumber { what, value, wanted: "a number from 1e-100 to 1e100" })
    }
}

fn amount(gram_millimetres: f64) -> Result<Unbalance, UncertaintyError> {
    Unbalance::from_gram_millimetres(gram_millimetres).map_err(|_| UncertaintyError::BadNumber {
        what: "the unbalance of the trial weight",
        value: gram_millimetres,
        wanted: "noise, limits and coefficients that give one in the range of numbers",
    })
}
