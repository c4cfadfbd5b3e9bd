//! The question: which orders, sampled how; and the answer in one piece.

#[cfg(feature = "alloc")]
use alloc::vec::Vec;

use super::fit::solve;
use super::gathered::Gathered;
use super::kernel::Sampling;
use super::order::Order;
#[cfg(feature = "alloc")]
use super::rotation::Mark;
use super::rotation::{Rotation, SpeedSums};
use super::synchronous_vector::SynchronousVector;
use crate::error::SynchronousError;
use crate::math;

/// Below so many turns no scatter can be told from what is fitted.
pub(super) const LEAST_TURNS: u32 = 3;

/// Which orders are extracted, and how the samples were taken: the first at 0 s on the clock of the marks, the others evenly
/// after it. A sample may be an `f32`, an `f64`, or a count of a converter up to `i32`.
///
/// Orders that are in the signal and strong should be named, however little they are wanted: half orders of the crank,
/// blade passing. What is named is fitted together with once-per-turn and leaves no trace in it; what is not adds to the
/// scatter.
///
/// ```
/// use counterpoise::synchronous::{Extraction, Mark, Order, Rotation};
/// // 20 turns a second, sampled 1000 times a second: 0.3 once per turn, 40° after the mark, and more twice per turn.
/// let samples: Vec<f64> = (0..1000)
///     .map(|i| {
///         let turned = core::f64::consts::TAU * 0.02 * f64::from(i);
///         0.3 * libm::cos(turned - 40_f64.to_radians()) + 0.5 * libm::cos(2.0 * turned) + 9.8
///     })
///     .collect();
/// let marks: Vec<Mark> = (0..20).map(|n| Mark { seconds: 0.05 * f64::from(n), turns: f64::from(n) }).collect();
///
/// let orders = [Order::ONCE_PER_TURN, Order::of_rotor(2.0)?];
/// let vector = Extraction::new(orders, 1000.0)?.extract(&samples, &Rotation::through(&marks)?)?;
/// assert!((vector.once_per_turn().amplitude() - 0.3).abs() < 1e-12);
/// assert!((vector.once_per_turn().phase(counterpoise::PhaseSense::Lag).degrees() - 40.0).abs() < 1e-9);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Extraction<const ORDERS: usize> {
    pub(super) orders: [Order; ORDERS],
    pub(super) rate: f64,
    pub(super) limits: Option<[f64; 2]>,
}

impl Extraction<1> {
    /// Once per turn alone, with a constant and a slow drift.
    ///
    /// # Errors
    /// [`SynchronousError::BadNumber`] where the rate is not a positive number, or beyond 1e9.
    ///
    /// ```
    /// use counterpoise::synchronous::Extraction;
    /// assert_eq!(Extraction::once_per_turn(5000.0)?.rate_hertz(), 5000.0);
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn once_per_turn(rate_hertz: f64) -> Result<Self, SynchronousError> {
        Self::new([Order::ONCE_PER_TURN], rate_hertz)
    }
}

impl<const ORDERS: usize> Extraction<ORDERS> {
    /// Once per turn, which stands first, and the other orders; so many samples a second.
    ///
    /// # Errors
    /// [`SynchronousError::FirstOrder`]; [`SynchronousError::BadNumber`] where the rate is not a positive number, or beyond
    /// 1e9.
    ///
    /// ```
    /// use counterpoise::synchronous::{Extraction, Order};
    /// let error = Extraction::new([Order::of_rotor(2.0)?], 5000.0).unwrap_err();
    /// assert_eq!(error.code(), 1304);
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn new(orders: [Order; ORDERS], rate_hertz: f64) -> Result<Self, SynchronousError> {
        let first = orders.first().map_or(0.0, |order| order.per_turn());
        if first != 1.0 {
            return Err(SynchronousError::FirstOrder { order: first });
        }
        Ok(Self { orders, rate: checked_rate(rate_hertz)?, limits: None })
    }

    /// The same, with samples at or beyond these values left out as saturated. They are the converter's ends, or a little
    /// inside. See [`saturation_found`] where they are not known.
    ///
    /// Leaving them out keeps the fit straight but for this: noise decides which samples near the limits are left out, so
    /// the more there are, the more once-per-turn is drawn to the side.
    ///
    /// # Errors
    /// [`SynchronousError::BadNumber`] where the upper limit is not above the lower one.
    ///
    /// ```
    /// use counterpoise::synchronous::Extraction;
    /// let extraction = Extraction::once_per_turn(5000.0)?.saturating_at(-32768.0, 32767.0)?;
    /// assert!(extraction.saturating_at(1.0, -1.0).is_err());
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn saturating_at(self, lowest: f64, highest: f64) -> Result<Self, SynchronousError> {
        let range = highest - lowest;
        if range > 0.0 {
            Ok(Self { limits: Some([lowest, highest]), ..self })
        } else {
            let (what, wanted) =
                ("the range from the lower limit of saturation to the upper one", "positive");
            Err(SynchronousError::BadNumber { what, value: range, wanted })
        }
    }

    /// The orders.
    ///
    /// ```
    /// use counterpoise::synchronous::{Extraction, Order};
    /// assert_eq!(Extraction::once_per_turn(5000.0)?.orders(), &[Order::ONCE_PER_TURN]);
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub const fn orders(&self) -> &[Order; ORDERS] {
        &self.orders
    }

    /// Samples a second.
    ///
    /// ```
    /// use counterpoise::synchronous::Extraction;
    /// assert_eq!(Extraction::once_per_turn(2048.0)?.rate_hertz(), 2048.0);
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub const fn rate_hertz(&self) -> f64 {
        self.rate
    }

    /// The vectors of a whole record. Samples before the first mark and after the last are not used: how far the shaft had
    /// turned is not known there.
    ///
    /// # Errors
    /// [`SynchronousError`]: too few turns or samples, orders that cannot be told apart in so many turns or at this rate, a
    /// sample that is not finite.
    ///
    /// ```
    /// use counterpoise::synchronous::{Extraction, Mark, Rotation};
    /// let marks = [0.0, 0.05, 0.10].map(|seconds| Mark { seconds, turns: 20.0 * seconds });
    /// let error = Extraction::once_per_turn(1000.0)?.extract(&[0.0_f32; 100], &Rotation::through(&marks)?).unwrap_err();
    /// assert_eq!(error.to_string(), "the record has 2.0 turns between its first and last mark: record at least 3");
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn extract<T: Copy + Into<f64>>(
        &self,
        samples: &[T],
        rotation: &Rotation<'_>,
    ) -> Result<SynchronousVector<ORDERS>, SynchronousError> {
        let mut gathering: Option<(Gathered<ORDERS>, Sampling<ORDERS>)> = None;
        let step = 1.0 / self.rate;
        // Only stretches that were sampled from their start to their end.
        for stretch in rotation.stretches().skip_while(|stretch| stretch.start().seconds <= 0.0 - step) {
            let first = self.first_at_or_after(stretch.start().seconds);
            let after = self.first_at_or_after(stretch.end().seconds);
            let [from, to] = [first, after].map(|number| usize::try_from(number).unwrap_or(usize::MAX));
            let Some(inside) = samples.get(from..to) else { break };
            let (gathered, sampling) = gathering.get_or_insert_with(|| {
                let gathered = Gathered::new(stretch.start(), self.turns_per_group());
                (gathered, self.sampling(stretch.start().seconds, offset_of(inside)))
            });
            if let Some(bad) = gathered.add(&stretch, sampling, first, inside) {
                return Err(not_finite(inside, bad, first));
            }
        }
        let Some((gathered, sampling)) = gathering else {
            return Err(SynchronousError::TooFewTurns { turns: 0.0, least: LEAST_TURNS });
        };
        self.estimate(&gathered, sampling.offset)
    }

    /// The vectors of several sensors that were sampled together, each with its own outcome.
    ///
    /// ```
    /// use counterpoise::synchronous::{Extraction, Mark, Rotation};
    /// let marks: Vec<Mark> = (0..20).map(|n| Mark { seconds: 0.05 * f64::from(n), turns: f64::from(n) }).collect();
    /// let extraction = Extraction::once_per_turn(1000.0)?;
    /// let vectors = extraction.extract_each(&[&[1.5_f32; 1000], &[f32::NAN; 1000]], &Rotation::through(&marks)?);
    /// assert!(vectors[0].is_ok());
    /// assert_eq!(vectors[1].as_ref().map_err(|error| error.code()), Err(1308));
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    #[cfg(feature = "alloc")]
    pub fn extract_each<T: Copy + Into<f64>>(
        &self,
        sensors: &[&[T]],
        rotation: &Rotation<'_>,
    ) -> Vec<Result<SynchronousVector<ORDERS>, SynchronousError>> {
        sensors.iter().map(|samples| self.extract(samples, rotation)).collect()
    }

    /// Whether a sample is at or beyond the converter's limits.
    pub(super) fn is_saturated(&self, value: f64) -> bool {
        self.limits.is_some_and(|[low, high]| value <= low || value >= high)
    }

    pub(super) fn sampling(&self, origin_seconds: f64, offset: f64) -> Sampling<ORDERS> {
        Sampling { orders: self.per_turn(), rate: self.rate, origin_seconds, offset, limits: self.limits }
    }

    fn per_turn(&self) -> [f64; ORDERS] {
        self.orders.map(Order::per_turn)
    }

    /// The number of the first sample taken at an instant or after it.
    pub(super) fn first_at_or_after(&self, seconds: f64) -> u64 {
        if seconds <= 0.0 {
            return 0;
        }
        let near = math::floor(seconds * self.rate);
        // i/rate is compared as the kernel computes it, so that every sample belongs to one stretch.
        let at =
            [near - 1.0, near, near + 1.0].into_iter().find(|&at| at >= 0.0 && at / self.rate >= seconds);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // positive, and far below 2⁵³
        let number = at.unwrap_or(near + 2.0) as u64;
        number
    }

    /// The marks between which so many samples show everything.
    #[cfg(feature = "alloc")]
    pub(super) fn sampled<'m>(&self, marks: &'m [Mark], samples: usize) -> &'m [Mark] {
        let step = 1.0 / self.rate;
        let from = marks.partition_point(|mark| mark.seconds <= 0.0 - step);
        let to = marks.partition_point(|mark| self.first_at_or_after(mark.seconds) <= samples as u64);
        marks.get(from..to).unwrap_or(&[])
    }

    /// Groups of so many turns that the orders go round a whole number of times, where few are enough for it.
    pub(super) fn turns_per_group(&self) -> f64 {
        let whole = |turns: &f64| {
            self.per_turn().iter().all(|order| {
                let rounds = order * turns;
                (rounds - math::floor(rounds + 0.5)).abs() < 1e-9
            })
        };
        [1.0, 2.0, 3.0, 4.0].into_iter().find(whole).unwrap_or(1.0)
    }

    pub(super) fn estimate(
        &self,
        gathered: &Gathered<ORDERS>,
        offset: f64,
    ) -> Result<SynchronousVector<ORDERS>, SynchronousError> {
        let turns = gathered.speed.turns();
        if turns < f64::from(LEAST_TURNS) - 1e-6 {
            return Err(SynchronousError::TooFewTurns { turns, least: LEAST_TURNS });
        }
        self.check_orders(turns, &gathered.speed)?;
        let samples = gathered.used;
        let unknowns = 2 * ORDERS + 2;
        let undetermined = SynchronousError::Undetermined { samples, unknowns };
        if samples <= unknowns as u64 {
            return Err(undetermined);
        }
        let fit = solve(gathered).ok_or(undetermined)?;
        Ok(SynchronousVector::of(self, gathered, &fit, offset))
    }

    fn check_orders(&self, turns: f64, speed: &SpeedSums) -> Result<(), SynchronousError> {
        let (fastest, per_turn) = (speed.highest(), self.per_turn());
        for (at, &one) in per_turn.iter().enumerate() {
            let hertz = one * fastest;
            if hertz >= 0.5 * self.rate {
                let rpm = 60.0 * fastest;
                return Err(SynchronousError::BeyondNyquist {
                    order: one,
                    rpm,
                    hertz,
                    rate_hertz: self.rate,
                });
            }
            // The constant is the order 0.
            let others = per_turn.iter().take(at).copied().chain(core::iter::once(0.0));
            for other in others {
                if (one - other).abs() * turns < 1.0 - 1e-6 {
                    return Err(SynchronousError::OrdersTooClose { one, other, turns });
                }
            }
        }
        Ok(())
    }
}

/// Samples a second: a positive number, and at most 1e9.
pub(super) fn checked_rate(rate_hertz: f64) -> Result<f64, SynchronousError> {
    if rate_hertz > 0.0 && rate_hertz <= 1e9 {
        Ok(rate_hertz)
    } else {
        let (what, wanted) = ("samples a second", "positive, and at most 1e9");
        Err(SynchronousError::BadNumber { what, value: rate_hertz, wanted })
    }
}

/// What is taken off every sample: the first of them, where it is a number.
pub(super) fn offset_of<T: Copy + Into<f64>>(samples: &[T]) -> f64 {
    let first = samples.first().map_or(0.0, |&sample| sample.into());
    if first.is_finite() { first } else { 0.0 }
}

/// The error for a sample of a stretch, whose first sample has a number, that is not finite.
pub(super) fn not_finite<T: Copy + Into<f64>>(samples: &[T], at: usize, first: u64) -> SynchronousError {
    let value = samples.get(at).map_or(f64::NAN, |&sample| sample.into());
    SynchronousError::SampleNotFinite { sample: first + at as u64, value }
}

/// The values at which a record saturates, where it shows: its greatest value, and its lowest, counts as a limit where it
/// comes at least three times in a row in at least two places. Where only one side saturates, the other limit is infinite.
///
/// A converter with coarse steps repeats its peaks without being at its end: state its limits with
/// [`saturating_at`](Extraction::saturating_at) instead.
///
/// ```
/// use counterpoise::synchronous::saturation_found;
/// let flat = [0.0, 0.8, 1.0, 1.0, 1.0, 0.4, -0.9, -0.3, 0.9, 1.0, 1.0, 1.0, 0.2];
/// assert_eq!(saturation_found(&flat), Some([f64::NEG_INFINITY, 1.0]));
/// assert_eq!(saturation_found(&[0.0, 1.0, 0.5, 1.0, -0.2]), None);
/// ```
pub fn saturation_found<T: Copy + Into<f64>>(samples: &[T]) -> Option<[f64; 2]> {
    let mut extremes = [f64::INFINITY, f64::NEG_INFINITY];
    for &sample in samples {
        let value: f64 = sample.into();
        extremes[0] = extremes[0].min(value);
        extremes[1] = extremes[1].max(value);
    }
    let flat = extremes.map(|extreme| {
        let (mut length, mut places) = (0_u32, 0_u32);
        for &sample in samples {
            let value: f64 = sample.into();
            length = if value == extreme { length.saturating_add(1) } else { 0 };
            places = places.saturating_add(u32::from(length == 3));
        }
        places >= 2
    });
    match flat {
        [false, false] => None,
        [low, high] if extremes[0] < extremes[1] => Some([
            if low { extremes[0] } else { f64::NEG_INFINITY },
            if high { extremes[1] } else { f64::INFINITY },
        ]),
        _ => None,
    }
}
