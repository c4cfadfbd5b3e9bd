//! Every set of weights that the runs do not rule out.

use alloc::vec::Vec;

use num_complex::Complex64;

use crate::angle::{Angle, RotorAngle};
use crate::dense::{Cholesky, Matrix};
use crate::error::UncertaintyError;
use crate::math;
use crate::scatter::DegreesOfFreedom;
use crate::statistics::mahalanobis_squared;
use crate::unit::Unbalance;
use crate::vector::UnbalanceVector;

use super::joint::{Uncertainty, factors_of};

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
/// let boundary = region.boundary(72).ok_or("without end")?;
/// // Along the correction, in units of the trial: 4 r² = 5.9915 · 0.05² (2.5 + 4 r + 2 r²), so r = 0.10496.
/// assert!((boundary[0].amount().gram_millimetres() - 1604.96).abs() < 0.01);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct CorrectionRegion<'a> {
    uncertainty: &'a Uncertainty,
    confidence: f64,
    /// What the statistic must not exceed.
    limit: f64,
    kind: Kind,
}

/// How the channels' distances make one statistic.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
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
    /// # fn show(uncertainty: &Uncertainty) -> Result<CorrectionRegion<'_>, UncertaintyError> {
    /// uncertainty.correction_region(0.95)
    /// # }
    /// ```
    pub fn correction_region(&self, confidence: f64) -> Result<CorrectionRegion<'_>, UncertaintyError> {
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
        let (kind, limit) = if self.coupled {
            (Kind::Joint, degrees.squared_factor(2 * self.channels, confidence))
        } else if degrees == DegreesOfFreedom::Known || self.common {
            (Kind::Sum, degrees.squared_factor(2 * self.channels, confidence))
        } else {
            let each = libm::pow(confidence, 1.0 / channels);
            // Distances are taken over each channel's own limit.
            (Kind::Largest, each)
        };
        Ok(CorrectionRegion { uncertainty: self, confidence, limit, kind })
    }
}

impl CorrectionRegion<'_> {
    /// The confidence.
    ///
    /// ```
    /// # fn show(region: &counterpoise::CorrectionRegion<'_>) -> f64 {
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
    /// # fn show(region: &CorrectionRegion<'_>, total: &[UnbalanceVector]) -> Result<f64, UncertaintyError> {
    /// region.statistic_over_limit(total)
    /// # }
    /// ```
    pub fn statistic_over_limit(&self, total: &[UnbalanceVector]) -> Result<f64, UncertaintyError> {
        let of = self.uncertainty;
        if total.len() != of.planes {
            let what = "unbalances, one per plane";
            return Err(UncertaintyError::Count { what, expected: of.planes, got: total.len() });
        }
        if self.kind == Kind::Joint {
            return Ok(self.joint_distance(&factors_of(total)) / self.limit);
        }
        let distances = (0..of.channels).map(|channel| {
            let next = of.predicted(channel, total);
            let v = next.value().complex();
            (channel, mahalanobis_squared([v.re, v.im], next.covariance()))
        });
        Ok(self.combined(distances))
    }

    fn combined(&self, distances: impl Iterator<Item = (usize, f64)>) -> f64 {
        match self.kind {
            Kind::Largest => distances
                .map(|(channel, distance)| {
                    distance / self.uncertainty.degrees_of(channel).squared_factor(2, self.limit)
                })
                .fold(0.0, f64::max),
            _ => distances.map(|(_, distance)| distance).sum::<f64>() / self.limit,
        }
    }

    /// `rᵀ C⁻¹ r` over all channels.
    fn joint_distance(&self, factors: &[Complex64]) -> f64 {
        let of = self.uncertainty;
        let size = 2 * of.channels;
        let mut covariance = Matrix::zeros(size, size);
        let mut left = Vec::new();
        for channel in 0..of.channels {
            let v: Complex64 =
                factors.iter().enumerate().map(|(i, w)| of.unknown(of.place(channel, i)) * w).sum();
            left.extend([v.re, v.im]);
            for other in 0..of.channels {
                let block = of.cross(channel, other, factors);
                for (i, row) in block.iter().enumerate() {
                    for (j, &entry) in row.iter().enumerate() {
                        if let Some(place) = covariance.column_mut(2 * other + j).get_mut(2 * channel + i) {
                            *place = entry;
                        }
                    }
                }
            }
        }
        let Ok(factor) = Cholesky::factor(&covariance) else { return f64::INFINITY };
        factor.solve_lower(&mut left);
        left.iter().map(|x| x * x).sum()
    }

    /// Whether the region holds these unbalances, counted from the bare rotor.
    ///
    /// # Errors
    /// [`UncertaintyError::Count`] where there is not one unbalance per plane.
    ///
    /// ```
    /// # use counterpoise::{CorrectionRegion, UnbalanceVector, UncertaintyError};
    /// # fn show(region: &CorrectionRegion<'_>, total: &[UnbalanceVector]) -> Result<bool, UncertaintyError> {
    /// region.holds(total)
    /// # }
    /// ```
    pub fn holds(&self, total: &[UnbalanceVector]) -> Result<bool, UncertaintyError> {
        Ok(self.statistic_over_limit(total)? <= 1.0)
    }

    /// Whether the region has an end. Where it has none the correction is not determined.
    ///
    /// With one plane: whether "no response at all" is rejected at the same confidence, with all the scatter that the region
    /// takes into account. With more: whether [`without_end`](Self::without_end) finds no combination of weights.
    ///
    /// ```
    /// # fn show(region: &counterpoise::CorrectionRegion<'_>) -> bool {
    /// region.is_bounded()
    /// # }
    /// ```
    pub fn is_bounded(&self) -> bool {
        self.without_end().is_none()
    }

    /// The combination of unbalances, one per plane and of 1 g mm together, along which the region has no end: what the runs
    /// do not show to have an effect at all. `None` where it has an end.
    ///
    /// With more than one plane the combination with the least statistic far out is searched for from many starts, always
    /// the same: one that is found is sure, that there is none is as sure as the search.
    ///
    /// ```
    /// # use counterpoise::{CorrectionRegion, UnbalanceVector};
    /// # fn show(region: &CorrectionRegion<'_>) -> Option<Vec<UnbalanceVector>> {
    /// region.without_end()
    /// # }
    /// ```
    pub fn without_end(&self) -> Option<Vec<UnbalanceVector>> {
        let planes = self.uncertainty.planes;
        let mut best: Option<(f64, Vec<Complex64>)> = None;
        for start in starts(planes) {
            let found = self.descended(start);
            if best.as_ref().is_none_or(|(least, _)| found.0 < *least) {
                best = Some(found);
            }
        }
        let (least, direction) = best?;
        // NaN is no proof of an end.
        let bounded = least > 1.0;
        (!bounded).then(|| direction.into_iter().map(UnbalanceVector::computed).collect())
    }

    /// What the statistic over its limit comes to far out along a combination of weights, where v0 no longer counts.
    fn far_out(&self, direction: &[Complex64]) -> f64 {
        let of = self.uncertainty;
        let zero = core::iter::once(Complex64::default());
        let factors: Vec<Complex64> = zero.chain(direction.iter().copied()).collect();
        if self.kind == Kind::Joint {
            return self.joint_distance(&factors) / self.limit;
        }
        self.combined((0..of.channels).map(|channel| {
            let v: Complex64 =
                factors.iter().enumerate().map(|(i, w)| of.unknown(of.place(channel, i)) * w).sum();
            (channel, mahalanobis_squared([v.re, v.im], of.cross(channel, channel, &factors)))
        }))
    }

    /// The least statistic far out near a start: one component after the other is moved by a step that halves.
    fn descended(&self, start: Vec<Complex64>) -> (f64, Vec<Complex64>) {
        let mut here = start;
        let mut least = self.far_out(&here);
        if here.len() < 2 {
            return (least, here);
        }
        let mut step = 0.5;
        while step > 1e-6 {
            let mut moved = false;
            for place in 0..here.len() {
                for turn in [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)] {
                    let mut there = here.clone();
                    if let Some(entry) = there.get_mut(place) {
                        *entry += Complex64 { re: turn.0 * step, im: turn.1 * step };
                    }
                    normalise(&mut there);
                    let value = self.far_out(&there);
                    if value < least {
                        (least, here, moved) = (value, there, true);
                    }
                }
            }
            if !moved {
                step *= 0.5;
            }
        }
        (least, here)
    }

    /// With one plane, so many points of the boundary, by equal angles about the plain correction, beginning along it;
    /// `None` with more planes, and where the region has no end: the correction is not determined.
    ///
    /// From the plain correction outwards every ray leaves the region once.
    ///
    /// ```
    /// # use counterpoise::{CorrectionRegion, UnbalanceVector};
    /// # fn show(region: &CorrectionRegion<'_>) -> Option<Vec<UnbalanceVector>> {
    /// region.boundary(72)
    /// # }
    /// ```
    pub fn boundary(&self, points: u32) -> Option<Vec<UnbalanceVector>> {
        if self.uncertainty.planes != 1 || !self.is_bounded() {
            return None;
        }
        let (plain, ..) = self.uncertainty.least_squares(&[1.0]).ok()?;
        let centre = plain.first().copied()?;
        let along = centre.angle().with_rotation().degrees();
        let first = self.uncertainty.correction(&[]).ok()?.total().first()?.radius(self.confidence);
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

/// Each plane alone, every two of them in eight phases, and all together.
fn starts(planes: usize) -> Vec<Vec<Complex64>> {
    let unit = Complex64 { re: 1.0, im: 0.0 };
    let alone = |plane: usize| {
        let mut start = alloc::vec![Complex64::default(); planes];
        if let Some(entry) = start.get_mut(plane) {
            *entry = unit;
        }
        start
    };
    let mut starts: Vec<Vec<Complex64>> = (0..planes).map(alone).collect();
    if planes > 1 {
        starts.push(alloc::vec![unit; planes]);
    }
    for one in 0..planes {
        for other in one + 1..planes {
            for eighth in 0..8_u8 {
                let (sine, cosine) = math::sin_cos_degrees(45.0 * f64::from(eighth));
                let mut start = alone(one);
                if let Some(entry) = start.get_mut(other) {
                    *entry = Complex64 { re: cosine, im: sine };
                }
                starts.push(start);
            }
        }
    }
    for start in &mut starts {
        normalise(start);
    }
    starts
}

fn normalise(direction: &mut [Complex64]) {
    let size = direction.iter().map(|&z| math::modulus(z)).fold(0.0, math::hypot);
    if size > 0.0 {
        for z in direction {
            *z /= size;
        }
    }
}
