//! How badly an explanation misses a change, channel by channel: the full scatter of the readings, how well it is known, and
//! what is not known of the coefficients.

use alloc::vec::Vec;

use num_complex::Complex64;

use crate::math;
use crate::scatter::{DegreesOfFreedom, Scatter};
use crate::statistics::{Symmetric, chi_squared_upper, dot};

/// A direction in which readings are said not to scatter at all is taken to scatter by a millionth of the other, so that
/// the covariance has an inverse.
const LEAST_DETERMINANT: f64 = 1e-12;

/// How the change of one channel scatters, all over the mean deviation of one component.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Noise {
    deviation: f64,
    covariance: Symmetric,
    degrees_of_freedom: DegreesOfFreedom,
    /// What one component of the coefficient of each plane deviates by; empty where they are taken as they are.
    coefficients: Vec<f64>,
}

/// How badly one explanation misses one channel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Misfit {
    /// `rᵀ C⁻¹ r`
    pub(super) squared: f64,
    /// Minus twice the logarithm of its likelihood, but for what all explanations share.
    pub(super) cost: f64,
}

impl Noise {
    /// From the scatter of a change; `None` where its variance is no positive number.
    pub(super) fn of(scatter: &Scatter) -> Option<Self> {
        let variance = scatter.variance();
        let deviation = math::sqrt(variance);
        if !(variance > 0.0 && variance.is_finite()) {
            return None;
        }
        let [[a, b], [_, c]] = scatter.covariance().map(|row| row.map(|value| value / variance));
        let covariance = Symmetric::new(a, b, c);
        let covariance = if covariance.determinant() >= LEAST_DETERMINANT {
            covariance
        } else {
            covariance.plus_identity(LEAST_DETERMINANT)
        };
        let degrees_of_freedom = scatter.degrees_of_freedom();
        Some(Self { deviation, covariance, degrees_of_freedom, coefficients: Vec::new() })
    }

    pub(super) const fn deviation(&self) -> f64 {
        self.deviation
    }

    pub(super) const fn degrees_of_freedom(&self) -> DegreesOfFreedom {
        self.degrees_of_freedom
    }

    pub(super) fn set_coefficients(&mut self, deviations: impl Iterator<Item = f64>) {
        let of_change = self.deviation;
        self.coefficients = deviations.map(|deviation| deviation / of_change).collect();
    }

    /// The covariance of what is left by an unbalance of so many g mm in a plane: `S + |u|² s_H² I`.
    pub(super) fn covariance_with(&self, plane: usize, gram_millimetres: f64) -> Symmetric {
        let deviation = self.coefficients.get(plane).copied().unwrap_or(0.0) * gram_millimetres;
        self.covariance.plus_identity(deviation * deviation)
    }

    /// What is left of a channel by an unbalance of so many g mm in a plane.
    ///
    /// A known scatter makes a normal distribution, an estimated one a plane t distribution:
    /// `d² + ln |C|/|S|` and `(ν + 2) ln(1 + d²/(s ν)) + ln |C|/|S|`.
    pub(super) fn misfit(&self, rest: Complex64, plane: usize, gram_millimetres: f64) -> Misfit {
        let covariance = self.covariance_with(plane, gram_millimetres);
        let squared = dot(rest, covariance.solve(rest));
        // A square cannot be negative, and what overflowed fits nothing.
        let squared = if squared.is_nan() { f64::INFINITY } else { squared.max(0.0) };
        let wider = math::log(covariance.determinant() / self.covariance.determinant()).max(0.0);
        let (scale, degrees) = self.degrees_of_freedom.as_t(2);
        let likelihood = if degrees == f64::INFINITY {
            squared
        } else if degrees > 0.0 {
            (degrees + 2.0) * math::log1p(squared / (scale * degrees))
        } else {
            0.0
        };
        Misfit { squared, cost: likelihood + wider }
    }

    /// How rare so large a squared distance is by chance.
    fn chance(&self, squared: f64) -> f64 {
        if squared < f64::INFINITY { self.degrees_of_freedom.chance_above(2, squared) } else { 0.0 }
    }
}

/// How rare so large a change of all channels together is by chance.
///
/// Each channel has a chance `p` of its own, of its own scatter known as well as it is; `−2 Σ ln p` is chi-squared with two
/// degrees of freedom a channel (R. A. Fisher, Statistical methods for research workers, 1932; from memory). Of a known
/// scatter it is the sum of the squared distances.
pub(super) fn chance_of(changes: &[Complex64], noise: &[Noise]) -> f64 {
    let each = changes.iter().zip(noise).map(|(&change, noise)| {
        let chance = noise.chance(noise.misfit(change, 0, 0.0).squared);
        if chance > 0.0 { -2.0 * math::log(chance) } else { f64::INFINITY }
    });
    let all: f64 = each.sum();
    #[allow(clippy::cast_precision_loss)] // a count of numbers read
    if all < f64::INFINITY { chi_squared_upper(all, 2.0 * changes.len() as f64) } else { 0.0 }
}
