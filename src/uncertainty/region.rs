//! Every set of weights that the runs do not rule out.

use alloc::vec::Vec;

use num_complex::Complex64;

use crate::angle::{Angle, RotorAngle};
use crate::dense::{Cholesky, Matrix, Svd};
use crate::error::UncertaintyError;
use crate::influence::Covariance;
use crate::scatter::DegreesOfFreedom;
use crate::statistics::{Ellipse, mahalanobis_squared};
use crate::unit::Unbalance;
use crate::vector::UnbalanceVector;

use super::estimate::Estimate;
use super::far_out::{Found, normalise, settled};
use super::joint::{Uncertainty, cross, factors_of};

/// All unbalances w for which `v0 + H w = 0` is not rejected at the stated confidence: exact at any noise, where the
/// first-order ellipse is not (Fieller, Some problems in interval estimation, Journal of the Royal Statistical Society B 16,
/// 1954).
///
/// Where the response is not detectable the region has no end: the correction is not determined, and no size of its
/// uncertainty is given.
///
/// ```
/// # use counterpoise::*;
/// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
/// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
/// # let channel = Channel::new(1, unit, PhaseSense::Lead, window);
/// # let trial = UnbalanceVector::from_components_gram_millimetres(1000.0, 0.0)?;
/// # let mut estimator = Estimator::with_known_variances(&[channel], 1)?;
/// # estimator.add(Run::new("as found").reading(channel.reading(3.0, 0.0)?.with_standard_deviation(0.05)?))?;
/// # estimator.add(Run::new("trial").mounted(0, trial).reading(channel.reading(1.0, 0.0)?.with_standard_deviation(0.05)?))?;
/// let uncertainty = Uncertainty::of(&estimator.fit()?)?;
/// let region = uncertainty.correction_region(0.95)?;
/// assert!(region.holds(&[trial * 1.5])? && region.holds(&[trial * 1.58])? && !region.holds(&[trial * 1.7])?);
/// let boundary = region.boundary(72)?.ok_or("without end")?;
/// // Along the correction, in units of the trial: 4 r² = 5.9915 · 0.05² (2.5 + 4 r + 2 r²), so r = 0.10496.
/// assert!((boundary[0].amount().gram_millimetres() - 1604.96).abs() < 0.01);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct CorrectionRegion {
    pub(super) channels: usize,
    pub(super) planes: usize,
    /// `v0, H_1, …, H_P` of the first channel, then of the next.
    unknowns: Vec<Complex64>,
    /// The covariance of each channel's unknowns; of all in one where the channels scatter together.
    scatter: Vec<Covariance>,
    confidence: f64,
    /// What the statistic must not exceed: one for all, or one a channel.
    limits: Vec<f64>,
    kind: Kind,
    /// With one plane, the plain correction, and how sure it is to first order.
    centre: Option<Estimate<UnbalanceVector>>,
}

/// Whether a region of corrections has an end, as far as it could be proven.
///
/// With one plane, and with any number where the scatter is circular and known, or one estimate for all channels, and all were read
/// in the same runs, one of the first two is the answer; with two planes nearly always. With more the third is one where the
/// least statistic lies near its limit, the farther from it the more the channels' scatters differ.
///
/// ```
/// # use counterpoise::{CorrectionRegion, RegionEnd};
/// # fn show(region: &CorrectionRegion) -> &'static str {
/// match region.end() {
///     RegionEnd::Bounded => "the correction is determined",
///     RegionEnd::WithoutEnd { .. } => "it is not: see along which weights",
///     _ => "neither was proven: take one more run",
/// }
/// # }
/// ```
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum RegionEnd {
    /// The region has an end: no combination of weights is without a proven effect.
    Bounded,
    /// It has none, along this combination of unbalances, one per plane and of 1 g mm together.
    WithoutEnd {
        /// What the runs do not show to have an effect at all.
        direction: Vec<UnbalanceVector>,
    },
    /// Neither was proven within the budget: the least statistic over its limit, far out, lies between these two, and 1 does, too.
    /// Take it for not determined, and take one more run with weights along the combination.
    NotSettled {
        /// What it is at least.
        at_least: f64,
        /// The least that was found.
        at_most: f64,
        /// Where that was found: unbalances, one per plane and of 1 g mm together.
        direction: Vec<UnbalanceVector>,
    },
}

impl RegionEnd {
    /// The stable number, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::RegionEnd::Bounded.code(), 1);
    /// ```
    pub const fn code(&self) -> i32 {
        match self {
            Self::Bounded => 1,
            Self::WithoutEnd { .. } => 2,
            Self::NotSettled { .. } => 3,
        }
    }
}

/// How the channels' distances make one statistic.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// `Σ_k T_k`: known scatter, or one estimate behind all channels.
    Sum,
    /// `rᵀ C⁻¹ r` over all channels, which do not scatter on their own.
    Joint,
    /// `max_k T_k`: every channel with its own estimate.
    Largest,
}

impl Uncertainty {
    /// The exact region of the correction, counted from the bare rotor, at a confidence such as 0.95.
    ///
    /// With the scatter known, `Σ_k T_k ≤ χ²_2K`; with one estimate behind all channels, `≤ 2K F(2K, ν)`; with an estimate of
    /// its own per channel, every `T_k ≤ 2 F(2, ν_k)` at the confidence to the power 1/K.
    ///
    /// # Errors
    /// [`UncertaintyError::NotSquare`] unless there are as many planes as channels; [`UncertaintyError::BadNumber`] for a
    /// confidence that is not between 0 and 1.
    ///
    /// ```
    /// # use counterpoise::{CorrectionRegion, Uncertainty, UncertaintyError};
    /// # fn show(uncertainty: &Uncertainty) -> Result<CorrectionRegion, UncertaintyError> {
    /// uncertainty.correction_region(0.95)
    /// # }
    /// ```
    pub fn correction_region(&self, confidence: f64) -> Result<CorrectionRegion, UncertaintyError> {
        if self.planes != self.channels {
            return Err(UncertaintyError::NotSquare { planes: self.planes, channels: self.channels });
        }
        if !(confidence > 0.0 && confidence < 1.0) {
            let wanted = "a number between 0 and 1";
            return Err(UncertaintyError::BadNumber { what: "a confidence", value: confidence, wanted });
        }
        #[allow(clippy::cast_precision_loss)] // a count of channels
        let channels = self.channels as f64;
        let degrees = self.degrees_of_all();
        let of_all = || alloc::vec![degrees.squared_factor(2 * self.channels, confidence)];
        let (kind, limits) = if self.coupled {
            (Kind::Joint, of_all())
        } else if degrees == DegreesOfFreedom::Known || self.common {
            (Kind::Sum, of_all())
        } else {
            let each = libm::pow(confidence, 1.0 / channels);
            let limit = |channel| self.degrees_of(channel).squared_factor(2, each);
            (Kind::Largest, (0..self.channels).map(limit).collect())
        };
        let scatter = if self.coupled {
            alloc::vec![self.joint.clone()]
        } else {
            let size = 2 * (self.planes + 1);
            let of_channel = |channel: usize| {
                let mut own = Covariance::zeros(self.planes + 1);
                for row in 0..size {
                    for column in 0..size {
                        let entry = self.joint.entry(channel * size + row, channel * size + column);
                        own.set(row, column, entry);
                    }
                }
                own
            };
            (0..self.channels).map(of_channel).collect()
        };
        let centre = || self.correction(&[]).ok()?.total().first().copied();
        Ok(CorrectionRegion {
            channels: self.channels,
            planes: self.planes,
            unknowns: self.unknowns.clone(),
            scatter,
            confidence,
            limits,
            kind,
            centre: if self.planes == 1 { centre() } else { None },
        })
    }
}

impl CorrectionRegion {
    /// The confidence.
    ///
    /// ```
    /// # fn show(region: &counterpoise::CorrectionRegion) -> f64 {
    /// region.confidence()
    /// # }
    /// ```
    pub const fn confidence(&self) -> f64 {
        self.confidence
    }

    /// The test statistic over its limit, for unbalances counted from the bare rotor: the region holds what has 1 or less.
    ///
    /// # Errors
    /// [`UncertaintyError::Count`] where there is not one unbalance per plane.
    ///
    /// ```
    /// # use counterpoise::{CorrectionRegion, UnbalanceVector, UncertaintyError};
    /// # fn show(region: &CorrectionRegion, total: &[UnbalanceVector]) -> Result<f64, UncertaintyError> {
    /// region.statistic_over_limit(total)
    /// # }
    /// ```
    pub fn statistic_over_limit(&self, total: &[UnbalanceVector]) -> Result<f64, UncertaintyError> {
        if total.len() != self.planes {
            let what = "unbalances, one per plane";
            return Err(UncertaintyError::Count { what, expected: self.planes, got: total.len() });
        }
        Ok(self.over_limit(&factors_of(total)))
    }

    fn over_limit(&self, factors: &[Complex64]) -> f64 {
        let distances = || (0..self.channels).map(|channel| self.channel_distance(channel, factors));
        match self.kind {
            Kind::Joint => self.joint_distance(factors) / self.limit(0),
            Kind::Sum => distances().sum::<f64>() / self.limit(0),
            Kind::Largest => {
                let over = distances().enumerate().map(|(channel, distance)| distance / self.limit(channel));
                over.fold(0.0, f64::max)
            }
        }
    }

    /// The limit of a channel where each has its own, else that of all.
    pub(super) fn limit(&self, channel: usize) -> f64 {
        self.limits.get(channel).or(self.limits.first()).copied().unwrap_or(f64::INFINITY)
    }

    pub(super) fn is_joint(&self) -> bool {
        self.kind == Kind::Joint
    }

    pub(super) fn is_largest(&self) -> bool {
        self.kind == Kind::Largest
    }

    /// Products of 2x2 blocks in one statistic.
    pub(super) fn cost(&self) -> usize {
        let all = self.channels * (self.planes + 1) * (self.planes + 1);
        if self.is_joint() { all * self.channels } else { all }
    }

    const fn place(&self, channel: usize, unknown: usize) -> usize {
        channel * (self.planes + 1) + unknown
    }

    pub(super) fn coefficient(&self, channel: usize, plane: usize) -> Complex64 {
        self.unknowns.get(self.place(channel, plane + 1)).copied().unwrap_or_default()
    }

    /// The covariance of two unknowns, each `v0` (0) or `H_p` (p + 1) of a channel.
    fn unknowns_block(&self, channel: usize, i: usize, other: usize, j: usize) -> [[f64; 2]; 2] {
        let block = if self.is_joint() {
            let all = self.scatter.first();
            all.and_then(|all| all.block(self.place(channel, i), self.place(other, j)))
        } else if channel == other {
            self.scatter.get(channel).and_then(|own| own.block(i, j))
        } else {
            None
        };
        block.unwrap_or_default()
    }

    /// The covariance of two coefficients.
    pub(super) fn block(
        &self,
        channel: usize,
        plane: usize,
        other: usize,
        other_plane: usize,
    ) -> [[f64; 2]; 2] {
        self.unknowns_block(channel, plane + 1, other, other_plane + 1)
    }

    fn response(&self, channel: usize, factors: &[Complex64]) -> [f64; 2] {
        let unknown = |i: usize| self.unknowns.get(self.place(channel, i)).copied().unwrap_or_default();
        let v: Complex64 = factors.iter().enumerate().map(|(i, w)| unknown(i) * w).sum();
        [v.re, v.im]
    }

    fn cross(&self, channel: usize, other: usize, factors: &[Complex64]) -> [[f64; 2]; 2] {
        cross(|i, j| self.unknowns_block(channel, i, other, j), factors)
    }

    /// `T_k`
    pub(super) fn channel_distance(&self, channel: usize, factors: &[Complex64]) -> f64 {
        mahalanobis_squared(self.response(channel, factors), self.cross(channel, channel, factors))
    }

    /// The covariance of all channels.
    fn joint_covariance(&self, factors: &[Complex64]) -> Matrix<f64> {
        let size = 2 * self.channels;
        let mut covariance = Matrix::zeros(size, size);
        for channel in 0..self.channels {
            for other in 0..self.channels {
                let block = self.cross(channel, other, factors);
                for (i, row) in block.iter().enumerate() {
                    for (j, &entry) in row.iter().enumerate() {
                        if let Some(place) = covariance.column_mut(2 * other + j).get_mut(2 * channel + i) {
                            *place = entry;
                        }
                    }
                }
            }
        }
        covariance
    }

    /// `rᵀ C⁻¹ r` over all channels.
    fn joint_distance(&self, factors: &[Complex64]) -> f64 {
        let mut left: Vec<f64> =
            (0..self.channels).flat_map(|channel| self.response(channel, factors)).collect();
        let Ok(factor) = Cholesky::factor(&self.joint_covariance(factors)) else { return f64::INFINITY };
        factor.solve_lower(&mut left);
        left.iter().map(|x| x * x).sum()
    }

    /// The least variance in any direction of each channel, of one for all where they scatter together.
    pub(super) fn least_variances(&self, direction: &[Complex64]) -> Vec<f64> {
        let factors = factors_far_out(direction);
        if self.is_joint() {
            let svd = Svd::factor(self.joint_covariance(&factors));
            return alloc::vec![svd.and_then(|svd| svd.values().last().copied()).unwrap_or(0.0)];
        }
        let least = |channel| {
            let minor = Ellipse::of(self.cross(channel, channel, &factors)).minor;
            minor * minor
        };
        (0..self.channels).map(least).collect()
    }

    /// What the statistic over its limit comes to far out along a combination of weights, where v0 no longer counts.
    pub(super) fn far_out(&self, direction: &[Complex64]) -> f64 {
        self.over_limit(&factors_far_out(direction))
    }

    /// Whether the region holds these unbalances, counted from the bare rotor.
    ///
    /// # Errors
    /// [`UncertaintyError::Count`] where there is not one unbalance per plane.
    ///
    /// ```
    /// # use counterpoise::{CorrectionRegion, UnbalanceVector, UncertaintyError};
    /// # fn show(region: &CorrectionRegion, total: &[UnbalanceVector]) -> Result<bool, UncertaintyError> {
    /// region.holds(total)
    /// # }
    /// ```
    pub fn holds(&self, total: &[UnbalanceVector]) -> Result<bool, UncertaintyError> {
        Ok(self.statistic_over_limit(total)? <= 1.0)
    }

    /// Whether the region has an end. Where it has none the correction is not determined.
    ///
    /// With one plane: whether "no response at all" is rejected at the same confidence, with all the scatter that the region
    /// takes into account. With more, an end is proven by a lower bound on the statistic far out (eigenvalues), that there is
    /// none by a combination of weights that is found; between both a search within a budget of 2 million products of 2x2
    /// blocks, and with two planes a covering of all combinations within as many more, some tenths of a second. The
    /// bound costs one small singular value decomposition: microseconds with 2 planes, some milliseconds with 16.
    ///
    /// ```
    /// # fn show(region: &counterpoise::CorrectionRegion) -> counterpoise::RegionEnd {
    /// region.end()
    /// # }
    /// ```
    pub fn end(&self) -> RegionEnd {
        let Found { at_least, at_most, mut direction } = settled(self);
        normalise(&mut direction);
        let direction = direction.into_iter().map(UnbalanceVector::computed).collect();
        if at_least > 1.0 {
            RegionEnd::Bounded
        } else if at_most <= 1.0 {
            RegionEnd::WithoutEnd { direction }
        } else {
            // NaN is no proof either.
            RegionEnd::NotSettled { at_least, at_most, direction }
        }
    }

    /// Whether the region is proven to have an end ([`end`](Self::end)).
    ///
    /// ```
    /// # fn show(region: &counterpoise::CorrectionRegion) -> bool {
    /// region.is_bounded()
    /// # }
    /// ```
    pub fn is_bounded(&self) -> bool {
        self.end() == RegionEnd::Bounded
    }

    /// The combination of unbalances, one per plane and of 1 g mm together, along which the region has no end: what the runs
    /// do not show to have an effect at all. `None` where it has an end, and where neither was proven ([`end`](Self::end)).
    ///
    /// ```
    /// # use counterpoise::{CorrectionRegion, UnbalanceVector};
    /// # fn show(region: &CorrectionRegion) -> Option<Vec<UnbalanceVector>> {
    /// region.without_end()
    /// # }
    /// ```
    pub fn without_end(&self) -> Option<Vec<UnbalanceVector>> {
        match self.end() {
            RegionEnd::WithoutEnd { direction } => Some(direction),
            _ => None,
        }
    }

    /// The most points of a boundary that are computed.
    ///
    /// ```
    /// assert_eq!(counterpoise::CorrectionRegion::MOST_POINTS, 36_000);
    /// ```
    pub const MOST_POINTS: u32 = 36_000;

    /// With one plane, so many points of the boundary, by equal angles about the plain correction, beginning along it;
    /// `None` with more planes, and where the region has no end: the correction is not determined.
    ///
    /// From the plain correction outwards every ray leaves the region once.
    ///
    /// # Errors
    /// [`UncertaintyError::TooMany`] for more than [`MOST_POINTS`](Self::MOST_POINTS).
    ///
    /// ```
    /// # use counterpoise::{CorrectionRegion, UnbalanceVector, UncertaintyError};
    /// # fn show(region: &CorrectionRegion) -> Result<Option<Vec<UnbalanceVector>>, UncertaintyError> {
    /// region.boundary(72)
    /// # }
    /// ```
    pub fn boundary(&self, points: u32) -> Result<Option<Vec<UnbalanceVector>>, UncertaintyError> {
        if points > Self::MOST_POINTS {
            let (most, got) = (Self::MOST_POINTS as usize, points as usize);
            return Err(UncertaintyError::TooMany { what: "points of a boundary", most, got });
        }
        Ok(self.around(points))
    }

    fn around(&self, points: u32) -> Option<Vec<UnbalanceVector>> {
        if !self.is_bounded() {
            return None;
        }
        let centre = self.centre?;
        let (centre, first) = (centre.value(), centre.radius(self.confidence));
        let along = centre.angle().with_rotation().degrees();
        let mut boundary = Vec::new();
        for point in 0..points {
            let degrees = along + 360.0 * f64::from(point) / f64::from(points);
            let place = RotorAngle::from_with_rotation(Angle::from_degrees(degrees).ok()?);
            let unit = UnbalanceVector::from_polar(Unbalance::from_gram_millimetres(1.0).ok()?, place);
            let over = |distance: f64| {
                self.statistic_over_limit(&[centre + unit * distance]).unwrap_or(f64::INFINITY) - 1.0
            };
            let mut outside = first.max(f64::MIN_POSITIVE);
            while over(outside) <= 0.0 {
                outside *= 2.0;
                if !outside.is_finite() {
                    return None;
                }
            }
            let mut inside = 0.0;
            for _ in 0..100 {
                let middle = 0.5 * (inside + outside);
                if over(middle) <= 0.0 { inside = middle } else { outside = middle }
            }
            boundary.push(centre + unit * outside);
        }
        Some(boundary)
    }
}

/// `(0, w_1, …, w_P)`: what a combination of weights does without the vibration as found.
pub(super) fn factors_far_out(direction: &[Complex64]) -> Vec<Complex64> {
    core::iter::once(Complex64::default()).chain(direction.iter().copied()).collect()
}
