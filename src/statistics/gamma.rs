//! The regularised incomplete gamma function, and chi-squared with it.

use super::root::reached;

/// More terms than any sum or fraction here needs.
const TERMS: usize = 100_000;

/// `Q(a, x) = Γ(a, x)/Γ(a)` for a above 0 and x from 0 on.
pub(super) fn upper(a: f64, x: f64) -> f64 {
    if x <= 0.0 {
        return 1.0;
    }
    if !x.is_finite() {
        return 0.0;
    }
    // xᵃ e⁻ˣ / Γ(a)
    let front = libm::exp(a * libm::log(x) - x - libm::lgamma(a));
    if x < a + 1.0 {
        // P = xᵃ e⁻ˣ / Γ(a) Σ xⁿ / (a (a+1) … (a+n))
        let (mut term, mut sum, mut below) = (1.0 / a, 1.0 / a, a);
        for _ in 0..TERMS {
            below += 1.0;
            term *= x / below;
            sum += term;
            if term <= sum * f64::EPSILON {
                break;
            }
        }
        (1.0 - front * sum).clamp(0.0, 1.0)
    } else {
        // Q = xᵃ e⁻ˣ / Γ(a) · 1/(x+1−a− 1(1−a)/(x+3−a− 2(2−a)/(x+5−a− …)))
        let mut b = x + 1.0 - a;
        let mut c = 1.0 / f64::MIN_POSITIVE;
        let mut d = 1.0 / b;
        let mut fraction = d;
        let mut n = 0.0;
        for _ in 0..TERMS {
            n += 1.0;
            let numerator = n * (a - n);
            b += 2.0;
            d = 1.0 / nonzero(numerator * d + b);
            c = nonzero(b + numerator / c);
            let factor = d * c;
            fraction *= factor;
            if (factor - 1.0).abs() <= f64::EPSILON {
                break;
            }
        }
        (front * fraction).clamp(0.0, 1.0)
    }
}

/// `ln Γ(a+b) − ln Γ(a)` for positive numbers, without the loss of digits when a is large.
pub(super) fn log_gamma_ratio(a: f64, b: f64) -> f64 {
    if a < 20.0 {
        return libm::lgamma(a + b) - libm::lgamma(a);
    }
    // ln Γ(x) = (x−½) ln x − x + ½ ln 2π + s(x), s(x) = 1/12x − 1/360x³ + 1/1260x⁵ − 1/1680x⁷ + 1/1188x⁹ − …
    let s = |x: f64| {
        let y = 1.0 / (x * x);
        (1.0 / 12.0 - y * (1.0 / 360.0 - y * (1.0 / 1260.0 - y * (1.0 / 1680.0 - y / 1188.0)))) / x
    };
    // b ln a + (a+b−½) ln(1+b/a) − b + s(a+b) − s(a)
    b * libm::log(a) + ((a + b - 0.5) * libm::log1p(b / a) - b) + (s(a + b) - s(a))
}

/// Keeps a continued fraction going where a denominator vanishes.
pub(super) fn nonzero(value: f64) -> f64 {
    if value.abs() < 1e-300 { 1e-300 } else { value }
}

/// The chance that chi-squared with so many degrees of freedom exceeds a value: `Q(ν/2, x/2)`.
pub(crate) fn chi_squared_upper(value: f64, degrees_of_freedom: f64) -> f64 {
    if degrees_of_freedom <= 0.0 {
        return if value > 0.0 { 0.0 } else { 1.0 };
    }
    upper(0.5 * degrees_of_freedom, 0.5 * value)
}

/// The value that chi-squared exceeds with a given chance.
pub(crate) fn chi_squared_quantile(chance_above: f64, degrees_of_freedom: f64) -> f64 {
    if degrees_of_freedom == 2.0 {
        // Q(1, x/2) = e^(−x/2)
        return -2.0 * libm::log(chance_above);
    }
    // In logarithms the far tail keeps its digits.
    let wanted = libm::log(chance_above);
    reached(0.0, degrees_of_freedom, |x| {
        let chance = chi_squared_upper(x, degrees_of_freedom);
        if chance > 0.0 { wanted - libm::log(chance) } else { 1.0 }
    })
}
