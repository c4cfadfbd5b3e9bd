//! The normal distribution.

use core::f64::consts::{FRAC_1_SQRT_2, PI};

use crate::math;

/// `Φ(x) = ½ erfc(−x/√2)`
pub(crate) fn normal_lower(x: f64) -> f64 {
    0.5 * libm::erfc(-x * FRAC_1_SQRT_2)
}

/// `φ(x) = e^(−x²/2)/√(2π)`
pub(super) fn normal_density(x: f64) -> f64 {
    libm::exp(-0.5 * x * x) / math::sqrt(2.0 * PI)
}
