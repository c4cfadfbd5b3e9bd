//! Pulse times from a sampled tach channel.

use super::extraction::checked_rate;
use crate::error::SynchronousError;

/// Which edge of a pulse is the mark.
///
/// ```
/// assert_ne!(counterpoise::synchronous::Edge::Rising, counterpoise::synchronous::Edge::Falling);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "snake_case"))]
pub enum Edge {
    /// From the low level to the high one.
    Rising,
    /// From the high level to the low one.
    Falling,
}

/// The two levels of a tach channel. An edge is where the signal passes half-way between them.
///
/// ```
/// use counterpoise::synchronous::TachLevels;
/// let levels = TachLevels::new(0.0, 3.3)?;
/// assert_eq!(levels.half_way(), 1.65);
/// # Ok::<(), counterpoise::SynchronousError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TachLevels {
    low: f64,
    high: f64,
}

/// Two levels lie at least so many standard deviations within them apart; a sine comes to 4, noise to 2.7.
const LEVELS_APART: f64 = 3.2;
/// The signal must go on from half-way by this share of the step, or its touching half-way is noise.
const HYSTERESIS: f64 = 0.2;

impl TachLevels {
    /// Levels that are known.
    ///
    /// # Errors
    /// [`SynchronousError::NoPulses`] where the high level is not above the low one.
    ///
    /// ```
    /// # use counterpoise::synchronous::TachLevels;
    /// assert_eq!(TachLevels::new(1.0, 1.0).unwrap_err().code(), 1314);
    /// ```
    pub fn new(low: f64, high: f64) -> Result<Self, SynchronousError> {
        let step = high - low;
        if step > 0.0 && step.is_finite() {
            Ok(Self { low, high })
        } else {
            Err(SynchronousError::NoPulses { low, high })
        }
    }

    /// The levels of a record: the means of the samples below and above the point half-way between them (T. W. Ridler,
    /// S. Calvard, Picture thresholding using an iterative selection method, 1978, IEEE Trans. SMC 8, from memory).
    ///
    /// # Errors
    /// [`SynchronousError::NoPulses`] where the samples do not lie about two levels, as noise does not. Samples that are not
    /// finite are passed over.
    ///
    /// ```
    /// # use counterpoise::synchronous::TachLevels;
    /// let pulses: Vec<f32> = (0..200).map(|i| if i % 20 == 0 { 5.0 } else { 0.0 }).collect();
    /// assert_eq!(TachLevels::found(&pulses)?.half_way(), 2.5);
    /// assert!(TachLevels::found(&[1.5_f32; 200]).is_err());
    /// assert_eq!(TachLevels::found(&[0.0, f64::NAN, 0.0, 5.0, f64::INFINITY, 5.0])?.half_way(), 2.5);
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn found<T: Copy + Into<f64>>(samples: &[T]) -> Result<Self, SynchronousError> {
        let values =
            || samples.iter().map(|&sample| -> f64 { sample.into() }).filter(|value| value.is_finite());
        let (lowest, highest) = values()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(lowest, highest), value| {
                (value.min(lowest), value.max(highest))
            });
        let none = SynchronousError::NoPulses { low: lowest, high: highest };
        let mut half_way = 0.5 * (lowest + highest);
        let mut levels = None;
        // It settles after a few rounds; more than these would not change the levels by much.
        for _ in 0..20 {
            // Below and above: how many, and sum and squares from half-way.
            let mut sides = [[0.0; 3]; 2];
            for value in values() {
                let from = value - half_way;
                let [below, above] = &mut sides;
                let side = if from > 0.0 { above } else { below };
                for (sum, part) in side.iter_mut().zip([1.0, from, from * from]) {
                    *sum += part;
                }
            }
            let [[below, sum_below, squares_below], [above, sum_above, squares_above]] = sides;
            if below == 0.0 || above == 0.0 {
                return Err(none);
            }
            let mean = [sum_below / below, sum_above / above];
            let squares = squares_below - sum_below * mean[0] + squares_above - sum_above * mean[1];
            let within = squares / (below + above);
            let apart = mean[1] - mean[0];
            let clear = apart * apart > LEVELS_APART * LEVELS_APART * within.max(0.0);
            levels = clear.then_some((half_way + mean[0], half_way + mean[1]));
            let next = half_way + 0.5 * (mean[0] + mean[1]);
            if next == half_way {
                break;
            }
            half_way = next;
        }
        let (low, high) = levels.ok_or(none)?;
        Self::new(low, high)
    }

    /// The low level.
    ///
    /// ```
    /// # use counterpoise::synchronous::TachLevels;
    /// assert_eq!(TachLevels::new(0.0, 5.0)?.low(), 0.0);
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub const fn low(&self) -> f64 {
        self.low
    }

    /// The high level.
    ///
    /// ```
    /// # use counterpoise::synchronous::TachLevels;
    /// assert_eq!(TachLevels::new(0.0, 5.0)?.high(), 5.0);
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub const fn high(&self) -> f64 {
        self.high
    }

    /// The value half-way between the levels.
    ///
    /// ```
    /// # use counterpoise::synchronous::TachLevels;
    /// assert_eq!(TachLevels::new(0.0, 5.0)?.half_way(), 2.5);
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn half_way(&self) -> f64 {
        self.low + 0.5 * (self.high - self.low)
    }
}

/// Finds the edges of a tach channel, sample by sample, without a heap.
///
/// The instant is where the straight line between the samples on both sides passes half-way. Of an edge that is steeper
/// than the sampling this is the middle between two samples: right on average, and off by up to half a sample.
///
/// ```
/// use counterpoise::synchronous::{Edge, TachLevels, TachReader};
/// let channel: Vec<f32> = (0..100).map(|i| if i % 25 < 3 { 5.0 } else { 0.0 }).collect();
/// let reader = TachReader::new(TachLevels::found(&channel)?, Edge::Rising, 1000.0)?;
/// let pulses: Vec<f64> = reader.pulses(&channel).collect();
/// // The first sample is high already: its edge was not seen.
/// assert_eq!(pulses.len(), 3);
/// assert!((pulses[0] - 0.0245).abs() < 1e-12);
/// # Ok::<(), counterpoise::SynchronousError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TachReader {
    half_way: f64,
    /// Beyond this the edge is sure; below its negative the next one is awaited. Both from half-way.
    beyond: f64,
    sign: f64,
    rate: f64,
    number: u64,
    last: f64,
    armed: bool,
    passed_at: Option<f64>,
}

impl TachReader {
    /// A reader for a channel with these levels, so many samples a second.
    ///
    /// # Errors
    /// [`SynchronousError::BadNumber`] where the rate is not a positive number, or beyond 1e9.
    ///
    /// ```
    /// # use counterpoise::synchronous::{Edge, TachLevels, TachReader};
    /// assert!(TachReader::new(TachLevels::new(0.0, 5.0)?, Edge::Falling, 0.0).is_err());
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn new(levels: TachLevels, edge: Edge, rate_hertz: f64) -> Result<Self, SynchronousError> {
        Ok(Self {
            half_way: levels.half_way(),
            beyond: HYSTERESIS * (levels.high - levels.low),
            sign: if edge == Edge::Rising { 1.0 } else { -1.0 },
            rate: checked_rate(rate_hertz)?,
            number: 0,
            last: 0.0,
            armed: false,
            passed_at: None,
        })
    }

    /// The next sample; gives the instant of an edge in seconds once it is sure. A sample that is not finite is no edge.
    ///
    /// ```
    /// # use counterpoise::synchronous::{Edge, TachLevels, TachReader};
    /// let mut reader = TachReader::new(TachLevels::new(0.0, 5.0)?, Edge::Rising, 1000.0)?;
    /// assert_eq!(reader.sample(0.0), None);
    /// assert_eq!(reader.sample(5.0), Some(0.0005));
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn sample<T: Into<f64>>(&mut self, sample: T) -> Option<f64> {
        let value: f64 = self.sign * (sample.into() - self.half_way);
        let (last, number) = (self.last, self.number);
        self.last = value;
        self.number += 1;
        if value < 0.0 - self.beyond {
            self.armed = true;
        }
        if value < 0.0 {
            self.passed_at = None;
        } else if self.armed && self.passed_at.is_none() && value >= 0.0 {
            // t = (i − 1 + (0 − y₋)/(y − y₋)) / rate
            #[allow(clippy::cast_precision_loss)] // sample numbers stay far below 2⁵³
            let at = number as f64 - value / (value - last);
            self.passed_at = (last < 0.0).then_some(at / self.rate);
        }
        if self.armed && value > self.beyond {
            self.armed = false;
            return self.passed_at.take();
        }
        None
    }

    /// The edges of a whole channel.
    ///
    /// ```
    /// # use counterpoise::synchronous::{Edge, TachLevels, TachReader};
    /// let reader = TachReader::new(TachLevels::new(0.0, 5.0)?, Edge::Falling, 1000.0)?;
    /// assert_eq!(reader.pulses(&[5.0, 5.0, 0.0, 0.0, 5.0, 0.0]).count(), 2);
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn pulses<T: Copy + Into<f64>>(mut self, samples: &[T]) -> impl Iterator<Item = f64> {
        samples.iter().filter_map(move |&sample| self.sample(sample))
    }

    /// The standard uncertainty of the instant of an edge steeper than the sampling, in seconds: that of one that may lie
    /// anywhere between two samples, `1/(√12 rate)`.
    ///
    /// ```
    /// # use counterpoise::synchronous::{Edge, TachLevels, TachReader};
    /// let reader = TachReader::new(TachLevels::new(0.0, 5.0)?, Edge::Rising, 1000.0)?;
    /// assert!((reader.steep_edge_uncertainty_seconds() - 0.000_288_7).abs() < 1e-7);
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn steep_edge_uncertainty_seconds(&self) -> f64 {
        1.0 / (crate::math::sqrt(12.0) * self.rate)
    }
}
