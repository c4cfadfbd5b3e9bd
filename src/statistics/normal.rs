//! The normal distribution.

use core::f64::consts::{FRAC_1_SQRT_2, PI};

use super::root::reached;
use crate::math;

/// `Φ(x) = ½ erfc(−x/√2)`
pub(super) fn normal_lower(x: f64) -> f64 {
    0.5 * libm::erfc(-x * FRAC_1_SQRT_2)
}

/// `φ(x) = e^(−x²/2)/√(2π)`
pub(super) fn normal_density(x: f64) -> f64 {
    libm::exp(-0.5 * x * x) / math::sqrt(2.0 * PI)
}

/// The value that a standard normal number exceeds with a given chance.
pub(crate) fn normal_quantile(chance_above: f64) -> f64 {
    if chance_above > 0.5 {
        return -normal_quantile(1.0 - chance_above);
    }
    let wanted = libm::log(chance_above);
    reached(0.0, 1.0, |x| {
        let chance = normal_lower(-x);
        if chance > 0.0 { wanted - libm::log(chance) } else { 1.0 }
    })
}
