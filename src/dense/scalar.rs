//! What the factorisations need of a number, and the loops over vectors of it.

use core::fmt::Debug;
use core::ops::{Add, AddAssign, Mul, Neg, Sub, SubAssign};

use num_complex::Complex64;

/// A real or complex number: one QR, SVD and Cholesky serve both.
///
/// The loops over slices stand here and not in generic code, because the complex ones are fast only
/// when their products are laid out component by component. Slices of different lengths are used up
/// to the shorter.
pub(crate) trait Scalar:
    Copy
    + Debug
    + PartialEq
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Neg<Output = Self>
    + AddAssign
    + SubAssign
{
    /// 0.
    const ZERO: Self;
    /// 1.
    const ONE: Self;

    /// The number with this real part and no imaginary part.
    fn from_real(real: f64) -> Self;
    /// The real part.
    fn real(self) -> f64;
    /// The complex conjugate.
    fn conjugate(self) -> Self;
    /// |z|², which overflows from |z| ≈ 1e154 and underflows below |z| ≈ 1e-154.
    fn modulus_squared(self) -> f64;
    /// |z|, without overflow or underflow on the way.
    fn modulus(self) -> f64;
    /// The largest of the absolute values of the components. A NaN component may be passed over.
    fn largest_component(self) -> f64;
    /// The number times a real factor.
    fn times(self, factor: f64) -> Self;
    /// The number over a real divisor, each component rounded once.
    fn over(self, divisor: f64) -> Self;
    /// The quotient `self / divisor`.
    ///
    /// Its error is a few units in the last place of its modulus for all finite operands whose
    /// quotient is a normal number: there is no overflow or underflow on the way. A zero divisor or
    /// an operand that is not finite gives a quotient that is not finite, or NaN, except that a
    /// real number over infinity is zero.
    fn quotient(self, divisor: Self) -> Self;

    /// xᴴ y.
    fn dot(x: &[Self], y: &[Self]) -> Self;
    /// ‖x‖², with the limits of [`modulus_squared`](Self::modulus_squared).
    fn sum_of_squares(x: &[Self]) -> f64;
    /// y ← y − f x.
    fn subtract_multiple(y: &mut [Self], factor: Self, x: &[Self]);
}

impl Scalar for f64 {
    const ZERO: Self = 0.0;
    const ONE: Self = 1.0;

    #[inline]
    fn from_real(real: f64) -> Self {
        real
    }

    #[inline]
    fn real(self) -> f64 {
        self
    }

    #[inline]
    fn conjugate(self) -> Self {
        self
    }

    #[inline]
    fn modulus_squared(self) -> f64 {
        self * self
    }

    #[inline]
    fn modulus(self) -> f64 {
        self.abs()
    }

    #[inline]
    fn largest_component(self) -> f64 {
        self.abs()
    }

    #[inline]
    fn times(self, factor: f64) -> Self {
        self * factor
    }

    #[inline]
    fn over(self, divisor: f64) -> Self {
        self / divisor
    }

    #[inline]
    fn quotient(self, divisor: Self) -> Self {
        self / divisor
    }

    #[inline]
    fn dot(x: &[Self], y: &[Self]) -> Self {
        // Four running sums, because one would wait for every addition before it.
        let mut sums = [0.0; 4];
        let (mut xs, mut ys) = (x.chunks_exact(4), y.chunks_exact(4));
        for (a, b) in (&mut xs).zip(&mut ys) {
            for i in 0..4 {
                sums[i] += a[i] * b[i];
            }
        }
        let mut sum = (sums[0] + sums[1]) + (sums[2] + sums[3]);
        for (a, b) in xs.remainder().iter().zip(ys.remainder()) {
            sum += a * b;
        }
        sum
    }

    #[inline]
    fn sum_of_squares(x: &[Self]) -> f64 {
        Self::dot(x, x)
    }

    #[inline]
    fn subtract_multiple(y: &mut [Self], factor: Self, x: &[Self]) {
        for (b, a) in y.iter_mut().zip(x) {
            *b -= factor * a;
        }
    }
}

impl Scalar for Complex64 {
    const ZERO: Self = Self::new(0.0, 0.0);
    const ONE: Self = Self::new(1.0, 0.0);

    #[inline]
    fn from_real(real: f64) -> Self {
        Self::new(real, 0.0)
    }

    #[inline]
    fn real(self) -> f64 {
        self.re
    }

    #[inline]
    fn conjugate(self) -> Self {
        Self::new(self.re, -self.im)
    }

    #[inline]
    fn modulus_squared(self) -> f64 {
        self.re * self.re + self.im * self.im
    }

    #[inline]
    fn modulus(self) -> f64 {
        libm::hypot(self.re, self.im)
    }

    #[inline]
    fn largest_component(self) -> f64 {
        self.re.abs().max(self.im.abs())
    }

    #[inline]
    fn times(self, factor: f64) -> Self {
        Self::new(self.re * factor, self.im * factor)
    }

    #[inline]
    fn over(self, divisor: f64) -> Self {
        Self::new(self.re / divisor, self.im / divisor)
    }

    #[inline]
    fn quotient(self, divisor: Self) -> Self {
        let square = divisor.modulus_squared();
        if ORDINARY_SQUARE.contains(&square) && ORDINARY_SQUARE.contains(&self.modulus_squared()) {
            // a/b = a b̄ / |b|²
            return (self * divisor.conjugate()).over(square);
        }
        scaled_quotient(self, divisor)
    }

    #[inline]
    fn dot(x: &[Self], y: &[Self]) -> Self {
        // xᴴy = Σ (x′ − j x″) y = Σ x′y − j Σ x″y: each sum is of complex numbers times a real one,
        // which runs in two lanes. Even and odd elements have sums of their own, because one would
        // wait for every addition before it.
        let (mut by_real, mut by_imaginary) = ([Self::ZERO; 2], [Self::ZERO; 2]);
        let (mut xs, mut ys) = (x.chunks_exact(2), y.chunks_exact(2));
        for (a, b) in (&mut xs).zip(&mut ys) {
            for i in 0..2 {
                by_real[i] += b[i].times(a[i].re);
                by_imaginary[i] += b[i].times(a[i].im);
            }
        }
        for (a, b) in xs.remainder().iter().zip(ys.remainder()) {
            by_real[0] += b.times(a.re);
            by_imaginary[0] += b.times(a.im);
        }
        let (p, q) = (by_real[0] + by_real[1], by_imaginary[0] + by_imaginary[1]);
        Self::new(p.re + q.im, p.im - q.re)
    }

    #[inline]
    fn sum_of_squares(x: &[Self]) -> f64 {
        let (mut even, mut odd) = ([0.0; 2], [0.0; 2]);
        let mut pairs = x.chunks_exact(2);
        for pair in &mut pairs {
            even[0] += pair[0].re * pair[0].re;
            even[1] += pair[0].im * pair[0].im;
            odd[0] += pair[1].re * pair[1].re;
            odd[1] += pair[1].im * pair[1].im;
        }
        for last in pairs.remainder() {
            even[0] += last.re * last.re;
            even[1] += last.im * last.im;
        }
        (even[0] + odd[0]) + (even[1] + odd[1])
    }

    #[inline]
    fn subtract_multiple(y: &mut [Self], factor: Self, x: &[Self]) {
        // y − f x = (y − f′ x) − f″ (j x), in two lanes
        for (b, a) in y.iter_mut().zip(x) {
            let turned = Self::new(-a.im, a.re);
            *b = (*b - a.times(factor.re)) - turned.times(factor.im);
        }
    }
}

/// Squares and sums of squares in this range have lost nothing to underflow and are far from
/// overflow, and so are their products and quotients with one another's roots.
const ORDINARY_SQUARE: core::ops::RangeInclusive<f64> = power_of_two(-900)..=power_of_two(900);

/// 2ⁿ, for n from −1022 to 1023.
#[inline]
#[allow(clippy::cast_sign_loss)] // n + 1023 ≥ 1
const fn power_of_two(n: i32) -> f64 {
    f64::from_bits(((n + 1023) as u64) << 52)
}

/// 2ⁿ x, rounded once. An n beyond ±2044 counts as ±2044, which overflows or underflows from any x
/// near 1.
#[inline]
pub(super) fn times_power_of_two<T: Scalar>(x: T, n: i32) -> T {
    let n = n.clamp(-2044, 2044);
    let half = n / 2;
    x.times(power_of_two(half)).times(power_of_two(n - half))
}

/// The n with 2ⁿ ≤ x < 2ⁿ⁺¹ for a positive x, so that 2⁻ⁿ x is near 1; something out of reach for 0
/// and infinity.
pub(super) fn exponent(x: f64) -> i32 {
    // Subnormal numbers have no exponent of their own.
    if x < f64::MIN_POSITIVE { exponent_field(x * power_of_two(60)) - 60 } else { exponent_field(x) }
}

#[allow(clippy::cast_possible_truncation)] // eleven bits
fn exponent_field(x: f64) -> i32 {
    ((x.to_bits() >> 52) & 0x7ff) as i32 - 1023
}

/// a/b when squares of a or b would overflow or underflow.
#[cold]
fn scaled_quotient(a: Complex64, b: Complex64) -> Complex64 {
    let finite = a.re.is_finite() && a.im.is_finite() && b.re.is_finite() && b.im.is_finite();
    if !finite || b == Complex64::ZERO {
        return Complex64::new(f64::NAN, f64::NAN);
    }
    if a == Complex64::ZERO {
        return a;
    }
    let (m, n) = (exponent(a.largest_component()), exponent(b.largest_component()));
    let (a, b) = (times_power_of_two(a, -m), times_power_of_two(b, -n));
    // a/b = 2ᵐ⁻ⁿ (2⁻ᵐa)(2⁻ⁿb)* / |2⁻ⁿb|²
    times_power_of_two((a * b.conjugate()).over(b.modulus_squared()), m - n)
}

/// ‖x‖, without overflow or underflow on the way. NaN or infinite when an entry is, or when ‖x‖ is
/// beyond the range.
#[inline]
pub(crate) fn norm<T: Scalar>(x: &[T]) -> f64 {
    let square = T::sum_of_squares(x);
    if ORDINARY_SQUARE.contains(&square) { libm::sqrt(square) } else { scaled_norm(x) }
}

#[cold]
fn scaled_norm<T: Scalar>(x: &[T]) -> f64 {
    let largest = x.iter().fold(0.0, |largest: f64, a| largest.max(a.largest_component()));
    let n = exponent(largest);
    // ‖x‖ = 2ⁿ ‖2⁻ⁿx‖
    let square = x.iter().fold(0.0, |sum, &a| sum + times_power_of_two(a, -n).modulus_squared());
    times_power_of_two(libm::sqrt(square), n)
}

#[cfg(all(test, feature = "alloc"))]
mod tests {
    use alloc::vec::Vec;

    use super::super::testing::{Numbers, Sample};
    use super::*;

    const EPSILON: f64 = f64::EPSILON;

    fn c(re: f64, im: f64) -> Complex64 {
        Complex64::new(re, im)
    }

    fn power(n: i32) -> f64 {
        libm::scalbn(1.0, n)
    }

    #[test]
    fn powers_of_two_and_exponents() {
        for n in -1074..=1023 {
            assert_eq!(exponent(power(n)), n);
            assert_eq!(times_power_of_two(1.0, n), power(n), "2^{n}");
            assert_eq!(times_power_of_two(power(n), -n), 1.0, "2^{n}");
        }
        assert_eq!(exponent(f64::MAX), 1023);
        assert_eq!(exponent(power(-1022) - power(-1074)), -1023);
        assert_eq!(times_power_of_two(1.0, i32::MAX), f64::INFINITY);
        assert_eq!(times_power_of_two(1.0, i32::MIN), 0.0);
    }

    /// The ten hard divisions of M. Baudin and R. L. Smith, "A Robust Complex Division in Scilab",
    /// 2012 (from memory; the quotients were worked out in exact fractions). The error is that of
    /// the whole quotient, not of each part.
    #[test]
    fn hard_divisions() {
        let p = power;
        let cases = [
            (c(1., 1.), c(1., p(1023)), c(p(-1023), -p(-1023))),
            (c(1., 1.), c(p(-1023), p(-1023)), c(p(1023), 0.)),
            (c(p(1023), p(-1023)), c(p(677), p(-677)), c(p(346), -p(-1008))),
            (c(p(1023), p(1023)), c(1., 1.), c(p(1023), 0.)),
            (c(p(1020), p(-844)), c(p(656), p(-780)), c(p(364), -p(-1072))),
            (c(p(-71), p(1021)), c(p(1001), p(-323)), c(p(-1072), p(20))),
            (
                c(p(-347), p(-54)),
                c(p(-1037), p(-1058)),
                c(3.898_125_604_559_113e289, 8.174_961_907_852_354e295),
            ),
            (c(p(-1074), p(-1074)), c(p(-1073), p(-1074)), c(0.6, 0.2)),
            (c(p(1015), p(-989)), c(p(1023), p(1023)), c(0.001_953_125, -0.001_953_125)),
            (
                c(p(-622), p(-1071)),
                c(p(-343), p(-798)),
                c(1.029_511_517_893_605_8e-84, 6.971_459_875_150_762e-220),
            ),
        ];
        for (a, b, expected) in cases {
            let error = (a.quotient(b) - expected).modulus();
            assert!(
                error <= 4.0 * EPSILON * expected.modulus(),
                "{a} / {b} = {}, not {expected}",
                a.quotient(b)
            );
        }
    }

    /// a b and a/b at scales from 2⁻⁵⁰⁰ to 2⁵⁰⁰ each: division undoes multiplication. The product
    /// rounds by at most √5 ε/2 of its modulus and the quotient by a few ε.
    #[test]
    fn division_undoes_multiplication_at_any_scale() {
        let mut numbers = Numbers(1);
        for _ in 0..2000 {
            let mut any = |limit: f64| {
                let n = (numbers.uniform() * limit) as i32;
                times_power_of_two(Complex64::from_parts(|| numbers.uniform()), n)
            };
            let (a, b) = (any(500.), any(500.));
            let error = (a * b).quotient(b) - a;
            assert!(error.modulus() <= 5.0 * EPSILON * a.modulus(), "{a} {b}");
        }
    }

    #[test]
    fn division_at_the_ends_of_the_range() {
        let least = power(-1074);
        assert_eq!(c(0., 0.).quotient(c(least, 0.)), c(0., 0.));
        assert_eq!(c(f64::MAX, f64::MAX).quotient(c(f64::MAX, f64::MAX)), c(1., 0.));
        assert_eq!(c(least, -least).quotient(c(least, -least)), c(1., 0.));
        assert_eq!(c(least, 0.).quotient(c(f64::MAX, 0.)), c(0., 0.));
        assert!(!c(f64::MAX, 0.).quotient(c(least, 0.)).is_finite());
        for bad in [f64::NAN, f64::INFINITY] {
            assert!(c(1., bad).quotient(c(1., 1.)).is_nan());
            assert!(c(1., 1.).quotient(c(bad, 1.)).is_nan());
        }
        assert!(c(1., 1.).quotient(c(0., 0.)).is_nan());
        assert!(c(0., 0.).quotient(c(0., 0.)).is_nan());
    }

    #[test]
    fn norms_reach_the_ends_of_the_range() {
        assert_eq!(norm::<f64>(&[]), 0.0);
        assert_eq!(norm(&[c(0., -0.)]), 0.0);
        assert_eq!(norm(&[3.0, -4.0]), 5.0);
        for n in [-1074, -1060, -600, -449, 451, 600, 1019] {
            let unit = power(n);
            // 1² + 2² + 4² + 10² = 11²
            assert_eq!(norm(&[c(1.0 * unit, -2.0 * unit), c(4.0 * unit, 10.0 * unit)]), 11.0 * unit, "2^{n}");
        }
        assert_eq!(norm(&[f64::MAX, f64::MAX]), f64::INFINITY);
        assert_eq!(norm(&[c(0.0, f64::NEG_INFINITY)]), f64::INFINITY);
        assert!(norm(&[c(0.0, f64::NAN), c(1e300, 0.0)]).is_nan());
    }

    fn kernels_agree_with_the_plain_sums<T: Sample>() {
        let mut numbers = Numbers(2);
        for length in 0..20 {
            // Whole numbers: every sum is exact, in any order.
            let (x, y) = (numbers.whole_vector::<T>(length), numbers.whole_vector::<T>(length));
            let products = x.iter().zip(&y).map(|(&x, &y)| Scalar::conjugate(x) * y);
            assert_eq!(T::dot(&x, &y), products.fold(T::ZERO, |sum, p| sum + p));
            assert_eq!(T::sum_of_squares(&x), Scalar::real(T::dot(&x, &x)));
            let factor = T::from_parts(|| numbers.whole());
            let mut z = y.clone();
            T::subtract_multiple(&mut z, factor, &x);
            let plain: Vec<T> = x.iter().zip(&y).map(|(&x, &y)| y - factor * x).collect();
            assert_eq!(z, plain);
        }
    }

    #[test]
    fn kernels_agree_with_the_plain_sums_real() {
        kernels_agree_with_the_plain_sums::<f64>();
    }

    #[test]
    fn kernels_agree_with_the_plain_sums_complex() {
        kernels_agree_with_the_plain_sums::<Complex64>();
    }
}
