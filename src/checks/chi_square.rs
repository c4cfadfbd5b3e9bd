//! The upper tail of the chi-square distribution.

/// Terms of the series and of the continued fraction, at most: both converge in about `√a` steps near `x = a`.
const MOST_TERMS: u32 = 100_000;

/// The probability that chi-square with so many degrees of freedom is at least `chi_squared`: `Q(ν/2, χ²/2)`.
///
/// `None` for no degree of freedom, or for numbers that are none.
pub(super) fn upper_tail(chi_squared: f64, degrees_of_freedom: f64) -> Option<f64> {
    if !(degrees_of_freedom > 0.0 && degrees_of_freedom.is_finite() && chi_squared >= 0.0) {
        return None;
    }
    if chi_squared == f64::INFINITY {
        return Some(0.0);
    }
    Some(upper_gamma(0.5 * degrees_of_freedom, 0.5 * chi_squared))
}

/// The regularised upper incomplete gamma function `Q(a, x) = Γ(a, x)/Γ(a)`.
///
/// Series below `a + 1` and continued fraction above it (M. Abramowitz and I. A. Stegun, Handbook of Mathematical
/// Functions, Washington 1964, 6.5.29 and 6.5.31; evaluation by Lentz's method; from memory).
fn upper_gamma(a: f64, x: f64) -> f64 {
    if x == 0.0 {
        return 1.0;
    }
    // xᵃ e⁻ˣ / Γ(a)
    let front = libm::exp(a * libm::log(x) - x - libm::lgamma(a));
    if x < a + 1.0 {
        // P(a, x) = xᵃ e⁻ˣ / Γ(a) · Σ xⁿ / (a (a+1) … (a+n))
        let (mut term, mut sum, mut divisor) = (1.0 / a, 1.0 / a, a);
        for _ in 0..MOST_TERMS {
            divisor += 1.0;
            term *= x / divisor;
            sum += term;
            if term <= sum * f64::EPSILON {
                break;
            }
        }
        (1.0 - front * sum).clamp(0.0, 1.0)
    } else {
        // Γ(a, x) = e⁻ˣ xᵃ (1/(x+1−a− 1(1−a)/(x+3−a− 2(2−a)/(x+5−a− …))))
        let mut b = x + 1.0 - a;
        let mut c = f64::MAX;
        let mut d = 1.0 / b;
        let mut fraction = d;
        for n in 1..=MOST_TERMS {
            let n = f64::from(n);
            let numerator = -n * (n - a);
            b += 2.0;
            d = 1.0 / away_from_zero(numerator * d + b);
            c = away_from_zero(b + numerator / c);
            let step = d * c;
            fraction *= step;
            if (step - 1.0).abs() <= f64::EPSILON {
                break;
            }
        }
        (front * fraction).clamp(0.0, 1.0)
    }
}

/// Lentz's method divides by both sequences: a zero is replaced by the least that divides.
fn away_from_zero(value: f64) -> f64 {
    if value.abs() < 1e-300 { 1e-300 } else { value }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tail(chi_squared: f64, degrees: u32) -> f64 {
        upper_tail(chi_squared, f64::from(degrees)).unwrap()
    }

    /// For an even number of degrees the tail is a finite sum, an independent route:
    /// `Q(n, x) = e⁻ˣ Σ_{j<n} xʲ/j!`.
    fn finite_sum(chi_squared: f64, degrees: u32) -> f64 {
        let x = 0.5 * chi_squared;
        let (mut term, mut sum) = (1.0, 1.0);
        for j in 1..degrees / 2 {
            term *= x / f64::from(j);
            sum += term;
        }
        libm::exp(-x) * sum
    }

    #[test]
    fn even_degrees_agree_with_the_finite_sum() {
        for degrees in [2, 4, 6, 10, 24, 60, 120] {
            for step in 0..400 {
                let chi_squared = 0.5 * f64::from(step);
                let (got, want) = (tail(chi_squared, degrees), finite_sum(chi_squared, degrees));
                assert!(
                    (got - want).abs() <= 1e-12 * want.max(1e-3),
                    "{degrees} {chi_squared}: {got} {want}"
                );
                if want < 0.01 {
                    assert!((got / want - 1.0).abs() < 1e-11, "{degrees} {chi_squared}: {got} {want}");
                }
            }
        }
    }

    /// With one degree of freedom it is the normal law: `Q = erfc(√(χ²/2))`; with three,
    /// `erfc(√(χ²/2)) + √(2χ²/π) exp(−χ²/2)`.
    #[test]
    fn odd_degrees_agree_with_the_error_function() {
        for step in 1..600 {
            let chi_squared = 0.1 * f64::from(step);
            let one = libm::erfc(libm::sqrt(0.5 * chi_squared));
            assert!((tail(chi_squared, 1) / one - 1.0).abs() < 1e-11);
            let three =
                one + libm::sqrt(2.0 * chi_squared / core::f64::consts::PI) * libm::exp(-0.5 * chi_squared);
            assert!((tail(chi_squared, 3) / three - 1.0).abs() < 1e-11);
        }
    }

    /// The usual 95 % points (any table of chi-square; from memory).
    #[test]
    fn table_values() {
        for (degrees, point) in
            [(1, 3.841), (2, 5.991), (5, 11.070), (10, 18.307), (30, 43.773), (100, 124.342)]
        {
            assert!((tail(point, degrees) - 0.05).abs() < 2e-5, "{degrees}");
        }
    }

    #[test]
    fn ends_and_numbers_that_are_none() {
        assert_eq!(upper_tail(0.0, 4.0), Some(1.0));
        assert_eq!(upper_tail(f64::INFINITY, 4.0), Some(0.0));
        assert_eq!(upper_tail(1e300, 4.0), Some(0.0));
        assert_eq!(upper_tail(1e5, 4.0), Some(0.0));
        assert_eq!(upper_tail(1.0, 0.0), None);
        assert_eq!(upper_tail(f64::NAN, 4.0), None);
        assert_eq!(upper_tail(-1.0, 4.0), None);
        assert_eq!(upper_tail(1.0, f64::NAN), None);
        let many = tail(1e6, 1_000_000);
        assert!((many - 0.5).abs() < 1e-3, "{many}");
    }
}
