//! Every set of weights that the runs do not rule out.

use alloc::vec::Vec;

use crate::angle::{Angle, RotorAngle};
use crate::dense::{Cholesky, Matrix};
use crate::error::UncertaintyError;
use crate::scatter::DegreesOfFreedom;
use crate::unit::Unbalance;
use crate::vector::UnbalanceVector;

use super::estimate::mahalanobis_squared;
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
            return Ok(self.joint_distance(total) / self.limit);
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
    fn joint_distance(&self, total: &[UnbalanceVector]) -> f64 {
        let of = self.uncertainty;
        let factors = factors_of(total);
        let size = 2 * of.channels;
        let mut covariance = Matrix::zeros(size, size);
        let mut left = Vec::new();
        for channel in 0..of.channels {
            let v = of.predicted(channel, total).value().complex();
            left.extend([v.re, v.im]);
            for other in 0..of.channels {
                let block = of.cross(channel, other, &factors);
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

    /// With one plane, whether the region has an end: whether "no response at all" is rejected at the same confidence, with
    /// all the scatter that the region takes into account. With more planes `None`: test single weights with
    /// [`holds`](Self::holds).
    ///
    /// ```
    /// # fn show(region: &counterpoise::CorrectionRegion<'_>) -> Option<bool> {
    /// region.is_bounded()
    /// # }
    /// ```
    pub fn is_bounded(&self) -> Option<bool> {
        let of = self.uncertainty;
        if of.planes != 1 {
            return None;
        }
        // What the statistic comes to far out, where v0 no longer counts.
        let influence = of.influence(0, 0).ok()?;
        let h = influence.value().complex();
        let distance = mahalanobis_squared([h.re, h.im], influence.covariance());
        Some(self.combined(core::iter::once((0, distance))) > 1.0)
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
        if self.is_bounded() != Some(true) {
            return None;
        }
        let (plain, ..) = self.uncertainty.least_squares(&[1.0]).ok()?;
        let centre = plain.first().copied()?;
        let along = centre.angle().with_rotation().degrees();
        let first = self.uncertainty.correction(None).ok()?.total().first()?.radius(self.confidence);
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
