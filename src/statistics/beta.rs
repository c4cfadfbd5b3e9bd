//! The regularised incomplete beta function, and the distributions of F and Student's t with it.

use super::gamma::{log_gamma_ratio, nonzero, upper};
use super::normal::normal_lower;
use super::root::reached;
use crate::math;

/// Degrees of freedom from which on the fraction would take thousands of terms and lose digits, and an expansion has them.
const MANY: f64 = 1e6;
/// The same for F.
const MANY_OF_F: f64 = 1e5;
/// More terms than any fraction here needs.
const TERMS: usize = 100_000;

/// `I_x(a, b)` for x in [0, 1], with 1 − x given too, so that neither end loses digits.
fn regularised(a: f64, b: f64, x: f64, rest: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    if rest <= 0.0 {
        return 1.0;
    }
    // The logarithm of what lies near 1 has its digits in what is missing to 1.
    let (log_x, log_rest) =
        if x < rest { (libm::log(x), libm::log1p(-x)) } else { (libm::log1p(-rest), libm::log(rest)) };
    let (larger, smaller) = if a < b { (b, a) } else { (a, b) };
    // xᵃ (1−x)ᵇ Γ(a+b)/(Γ(a)Γ(b))
    let front =
        libm::exp(log_gamma_ratio(larger, smaller) - libm::lgamma(smaller) + a * log_x + b * log_rest);
    if x <= (a + 1.0) / (a + b + 2.0) {
        front * fraction(a, b, x) / a
    } else {
        // I_x(a, b) = 1 − I_(1−x)(b, a)
        1.0 - front * fraction(b, a, rest) / b
    }
}

/// `1/(1+ d₁/(1+ d₂/(1+ …)))`: Abramowitz and Stegun 26.5.8.
fn fraction(a: f64, b: f64, x: f64) -> f64 {
    let mut c = 1.0;
    let mut d = 1.0 / nonzero(1.0 - (a + b) * x / (a + 1.0));
    let mut value = d;
    let mut m = 0.0;
    for _ in 0..TERMS {
        m += 1.0;
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        d = 1.0 / nonzero(1.0 + even * d);
        c = nonzero(1.0 + even / c);
        value *= d * c;
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        d = 1.0 / nonzero(1.0 + odd * d);
        c = nonzero(1.0 + odd / c);
        let factor = d * c;
        value *= factor;
        if (factor - 1.0).abs() <= f64::EPSILON {
            break;
        }
    }
    value
}

/// The chance that F exceeds a value: `I_x(ν₂/2, ν₁/2)` with `x = ν₂/(ν₂ + ν₁ F)`.
pub(crate) fn f_upper(value: f64, numerator: f64, denominator: f64) -> f64 {
    if value <= 0.0 {
        return 1.0;
    }
    if !value.is_finite() {
        return 0.0;
    }
    if numerator == 2.0 {
        // (1 + 2F/ν)^(−ν/2)
        return libm::exp(-0.5 * denominator * libm::log1p(2.0 * value / denominator));
    }
    if denominator >= MANY_OF_F {
        // I_x(a, b) = Q(b, y) + b (b²−1)/(24 N²) (Q(b+2, y) − Q(b, y)) with N = a + (b−1)/2 and y = −N ln x, right to 1/N⁴:
        // the integral over s = −ln t of e^(−Ns) (2 sinh s/2)^(b−1), whose second factor is s^(b−1) (1 + (b−1) s²/24 + …).
        let b = 0.5 * numerator;
        let n = 0.5 * (denominator + b - 1.0);
        let y = n * libm::log1p(numerator * value / denominator);
        let first = upper(b, y);
        return first + b * (b * b - 1.0) / (24.0 * n * n) * (upper(b + 2.0, y) - first);
    }
    let sum = denominator + numerator * value;
    regularised(0.5 * denominator, 0.5 * numerator, denominator / sum, numerator * value / sum)
}

/// The value that F exceeds with a given chance.
pub(crate) fn f_quantile(chance_above: f64, numerator: f64, denominator: f64) -> f64 {
    if numerator == 2.0 {
        // F = ν/2 (p^(−2/ν) − 1)
        return 0.5 * denominator * libm::expm1(-2.0 / denominator * libm::log(chance_above));
    }
    let wanted = libm::log(chance_above);
    reached(0.0, 1.0, |x| {
        let chance = f_upper(x, numerator, denominator);
        if chance > 0.0 { wanted - libm::log(chance) } else { 1.0 }
    })
}

/// The chance that Student's t with so many degrees of freedom lies below a value.
pub(super) fn student_lower(value: f64, degrees_of_freedom: f64) -> f64 {
    let square = value * value;
    if !square.is_finite() {
        return if value < 0.0 { 0.0 } else { 1.0 };
    }
    if degrees_of_freedom >= MANY {
        // Φ(t (1 − 1/4ν)/√(1 + t²/2ν)), right to 1/ν²: Abramowitz and Stegun 26.7.8.
        let shrunk = value * (1.0 - 0.25 / degrees_of_freedom);
        return normal_lower(shrunk / math::sqrt(1.0 + 0.5 * square / degrees_of_freedom));
    }
    let sum = degrees_of_freedom + square;
    // Either tail is ½ I_x(ν/2, ½) with x = ν/(ν + t²).
    let tail = 0.5 * regularised(0.5 * degrees_of_freedom, 0.5, degrees_of_freedom / sum, square / sum);
    if value < 0.0 { tail } else { 1.0 - tail }
}
