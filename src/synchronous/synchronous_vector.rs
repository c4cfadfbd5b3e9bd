//! The answer: the vectors, how far they scatter, and what they are made from.

use num_complex::Complex64;

use super::extraction::Extraction;
use super::fit::Fit;
use super::gathered::Gathered;
use super::order::Order;
use super::rotation::SpeedSummary;
use crate::math;
use crate::scatter::{DegreesOfFreedom, Scatter};
use crate::vector::Vibration;

/// From so many groups of turns on, the covariance is taken as it comes; below, the same in all directions.
const GROUPS_FOR_FULL: usize = 8;
/// The difference between halves counts as a trend where it would be rarer than this by chance.
const TREND_CHANCE: f64 = 0.01;

/// What a record says: the vector of every order at the mean speed, in the unit of the samples, zero to peak, with the
/// phase of `x(t) = Re(X exp(+jΩt))`, t = 0 at the mark; the scatter of the first, once per turn; and what it is made from.
///
/// ```
/// use counterpoise::synchronous::{Extraction, Mark, Rotation};
/// let samples: Vec<f32> = (0..1000_i16).map(|i| libm::cosf(0.125_664 * f32::from(i)) + 0.1 * f32::from(i % 7)).collect();
/// let marks: Vec<Mark> = (0..20).map(|n| Mark { seconds: 0.05 * f64::from(n), turns: f64::from(n) }).collect();
/// let vector = Extraction::once_per_turn(1000.0)?.extract(&samples, &Rotation::through(&marks)?)?;
/// assert_eq!(vector.turns, 19.0);
/// let scatter = vector.scatter.ok_or("19 turns scatter")?;
/// assert!(scatter.semi_axes(0.95)[0] < 0.02);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct SynchronousVector<const ORDERS: usize> {
    /// The orders, once per turn first.
    pub orders: [Order; ORDERS],
    /// The vector of every order.
    pub vectors: [Vibration; ORDERS],
    /// The scatter of once-per-turn, from the residuals near it; `None` where nothing scatters, and where there is one group of
    /// turns only, which cannot say.
    pub scatter: Option<Scatter>,
    /// The mean of the signal.
    pub mean: f64,
    /// The slow drift of the signal, per second.
    pub drift_per_second: f64,
    /// Root of the mean square of the residuals: what is neither an order nor drift.
    pub residual_rms: f64,
    /// The speed between the first and the last mark.
    pub speed: SpeedSummary,
    /// Turns between the first and the last mark.
    pub turns: f64,
    /// Samples that were used.
    pub samples_used: u64,
    /// Samples that were left out as saturated.
    pub samples_saturated: u64,
    /// Groups of turns that the scatter is from.
    pub groups: usize,
    /// Once-per-turn of the later half of the record less that of the earlier half.
    pub trend: Vibration,
    /// The scatter of that difference, from the groups inside the halves; `None` where nothing scatters, or with fewer than
    /// four groups.
    pub trend_scatter: Option<Scatter>,
}

/// What makes a vector a poor one, with the figure that says so.
///
/// ```
/// use counterpoise::synchronous::VectorCaution;
/// let caution = VectorCaution::Saturated { share: 0.22 };
/// assert_eq!(caution.to_string(), "22 % of the samples were saturated and are left out: lower the gain and record again");
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum VectorCaution {
    /// Samples were left out as saturated.
    Saturated {
        /// Their share of all.
        share: f64,
    },
    /// So few turns that the scatter is hardly known.
    FewTurns {
        /// How many.
        turns: f64,
    },
    /// Once-per-turn is not the same in both halves of the record.
    Trend {
        /// How rare such a difference would be by chance.
        chance: f64,
    },
    /// The speed changed much while the record was made.
    SpeedRange {
        /// The lowest, in rpm.
        lowest_rpm: f64,
        /// The highest, in rpm.
        highest_rpm: f64,
    },
}

impl VectorCaution {
    /// Fewer turns than this are few: common practice, no source.
    ///
    /// ```
    /// assert_eq!(counterpoise::synchronous::VectorCaution::FEW_TURNS, 10.0);
    /// ```
    pub const FEW_TURNS: f64 = 10.0;
    /// A range of speeds wider than this share of the mean is wide: common practice, no source.
    ///
    /// ```
    /// assert_eq!(counterpoise::synchronous::VectorCaution::WIDE_SPEED_RANGE, 0.05);
    /// ```
    pub const WIDE_SPEED_RANGE: f64 = 0.05;

    /// The stable number, the same in Rust and in C.
    ///
    /// ```
    /// use counterpoise::synchronous::VectorCaution;
    /// assert_eq!(VectorCaution::FewTurns { turns: 4.0 }.code(), 1032);
    /// ```
    pub const fn code(&self) -> i32 {
        match self {
            Self::Saturated { .. } => 1031,
            Self::FewTurns { .. } => 1032,
            Self::Trend { .. } => 1033,
            Self::SpeedRange { .. } => 1034,
        }
    }
}

impl core::fmt::Display for VectorCaution {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::Saturated { share } => write!(
                f,
                "{:.0} % of the samples were saturated and are left out: lower the gain and record again",
                100.0 * share
            ),
            Self::FewTurns { turns } => {
                write!(f, "the record has {turns:.0} turns: its scatter is hardly known; record for longer")
            }
            Self::Trend { chance } => write!(
                f,
                "once per turn differs between the halves of the record, by chance in {:.2} of 100: warm up, or wait until it is steady",
                100.0 * chance
            ),
            Self::SpeedRange { lowest_rpm, highest_rpm } => write!(
                f,
                "the speed ranged from {lowest_rpm:.0} to {highest_rpm:.0} rpm: hold it steadier, or treat the record as a sweep"
            ),
        }
    }
}

impl<const ORDERS: usize> SynchronousVector<ORDERS> {
    pub(super) fn of(
        extraction: &Extraction<ORDERS>,
        gathered: &Gathered<ORDERS>,
        fit: &Fit<ORDERS>,
        offset: f64,
    ) -> Self {
        // a cos θ + b sin θ = Re((a − jb) exp(jθ))
        let vector = |[a, b]: [f64; 2]| Vibration::computed(Complex64 { re: a + 0.0, im: 0.0 - b });
        let [[aa, ab], [_, bb]] = fit.covariance;
        #[allow(clippy::cast_precision_loss)] // counts far below 2⁵³
        let (samples, groups) = (gathered.used as f64, fit.groups as f64);
        let (covariance, degrees) = if fit.groups >= GROUPS_FOR_FULL {
            ([[aa, 0.0 - ab], [0.0 - ab, bb]], DegreesOfFreedom::Full(groups - 1.0))
        } else {
            let variance = 0.5 * (aa + bb);
            ([[variance, 0.0], [0.0, variance]], DegreesOfFreedom::Circular(2.0 * (groups - 1.0)))
        };
        #[allow(clippy::cast_precision_loss)] // twice a number of orders
        let unknowns = (2 * ORDERS + 2) as f64;
        let [sum, times] = gathered.mean_time();
        Self {
            orders: extraction.orders,
            vectors: fit.orders.map(vector),
            scatter: Scatter::from_covariance(covariance, degrees).ok(),
            mean: offset + fit.drift[0] + fit.drift[1] * if sum > 0.0 { times / sum } else { 0.0 },
            drift_per_second: fit.drift[1],
            residual_rms: math::sqrt(fit.residual_squares / (samples - unknowns)),
            speed: gathered.speed.summary(),
            turns: gathered.speed.turns(),
            samples_used: gathered.used,
            samples_saturated: gathered.saturated,
            groups: fit.groups,
            trend: vector(fit.trend),
            trend_scatter: {
                let [[aa, ab], [_, bb]] = fit.trend_covariance;
                let degrees = DegreesOfFreedom::Full(fit.trend_degrees);
                Scatter::from_covariance([[aa, 0.0 - ab], [0.0 - ab, bb]], degrees).ok()
            },
        }
    }

    /// The vector of once-per-turn, at the mean speed.
    ///
    /// ```
    /// # use counterpoise::synchronous::{Extraction, Mark, Rotation};
    /// # let marks: Vec<Mark> = (0..20).map(|n| Mark { seconds: 0.05 * f64::from(n), turns: f64::from(n) }).collect();
    /// let vector = Extraction::once_per_turn(1000.0)?.extract(&[2.5_f64; 1000], &Rotation::through(&marks)?)?;
    /// assert!(vector.once_per_turn().amplitude() < 1e-15 && (vector.mean - 2.5).abs() < 1e-12);
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn once_per_turn(&self) -> Vibration {
        self.vectors.first().copied().unwrap_or_default()
    }

    /// How rare a difference as between the halves of the record would be by chance; `None` where nothing scatters.
    ///
    /// ```
    /// # use counterpoise::synchronous::{Extraction, Mark, Rotation};
    /// # let marks: Vec<Mark> = (0..20).map(|n| Mark { seconds: 0.05 * f64::from(n), turns: f64::from(n) }).collect();
    /// // Once per turn grows with time.
    /// let growing: Vec<f64> = (0..1000)
    ///     .map(|i| f64::from(i) * libm::cos(core::f64::consts::TAU * 0.02 * f64::from(i)))
    ///     .collect();
    /// let vector = Extraction::once_per_turn(1000.0)?.extract(&growing, &Rotation::through(&marks)?)?;
    /// assert!(vector.chance_of_trend().ok_or("it scatters")? < 0.001);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn chance_of_trend(&self) -> Option<f64> {
        let scatter = self.trend_scatter?;
        let z = self.trend.complex();
        let squared = crate::statistics::mahalanobis_squared([z.re, z.im], scatter.covariance());
        Some(scatter.degrees_of_freedom().chance_above(2, squared))
    }

    /// Whether it is steady enough to stop: once per turn is known within a radius, in the unit of the samples, with this
    /// confidence, and its halves do not differ by more than one in a hundred would by chance.
    ///
    /// ```
    /// # use counterpoise::synchronous::{Extraction, Mark, Rotation};
    /// # let marks: Vec<Mark> = (0..20).map(|n| Mark { seconds: 0.05 * f64::from(n), turns: f64::from(n) }).collect();
    /// # let samples: Vec<f64> = (0..1000).map(|i| f64::from(i % 7)).collect();
    /// let vector = Extraction::once_per_turn(1000.0)?.extract(&samples, &Rotation::through(&marks)?)?;
    /// assert!(vector.is_steady_within(0.1, 0.95) && !vector.is_steady_within(1e-6, 0.95));
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn is_steady_within(&self, radius: f64, confidence: f64) -> bool {
        let known = match self.scatter {
            Some(scatter) => scatter.semi_axes(confidence)[0] <= radius,
            None => self.groups > 1,
        };
        known && self.chance_of_trend().is_none_or(|chance| chance >= TREND_CHANCE)
    }

    /// What makes it a poor one.
    ///
    /// ```
    /// # use counterpoise::synchronous::{Extraction, Mark, Rotation};
    /// # let marks: Vec<Mark> = (0..5).map(|n| Mark { seconds: 0.05 * f64::from(n), turns: f64::from(n) }).collect();
    /// let vector = Extraction::once_per_turn(1000.0)?.extract(&[2.5_f64; 1000], &Rotation::through(&marks)?)?;
    /// assert_eq!(vector.cautions().next().map(|caution| caution.code()), Some(1032));
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn cautions(&self) -> impl Iterator<Item = VectorCaution> + use<ORDERS> {
        #[allow(clippy::cast_precision_loss)] // counts far below 2⁵³
        let share =
            self.samples_saturated as f64 / (self.samples_saturated + self.samples_used).max(1) as f64;
        let (lowest_rpm, highest_rpm) = (self.speed.lowest.rpm(), self.speed.highest.rpm());
        let wide = (highest_rpm - lowest_rpm) > VectorCaution::WIDE_SPEED_RANGE * self.speed.mean.rpm();
        let trend = self.chance_of_trend().filter(|&chance| chance < TREND_CHANCE);
        let found = [
            (share > 0.0).then_some(VectorCaution::Saturated { share }),
            (self.turns < VectorCaution::FEW_TURNS).then_some(VectorCaution::FewTurns { turns: self.turns }),
            trend.map(|chance| VectorCaution::Trend { chance }),
            wide.then_some(VectorCaution::SpeedRange { lowest_rpm, highest_rpm }),
        ];
        found.into_iter().flatten()
    }
}
