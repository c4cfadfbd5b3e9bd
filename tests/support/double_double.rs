//! Complex arithmetic of some 31 digits: the unevaluated sum of two doubles (T. J. Dekker, "A floating-point technique
//! for extending the available precision", Numerische Mathematik 18, 1971; from memory).

use core::ops::{Add, Mul, Neg, Sub};

use num_complex::Complex64;

/// `high + low`, with `|low| ≤ ulp(high) / 2`.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Real {
    high: f64,
    low: f64,
}

impl Real {
    pub(crate) const fn of(value: f64) -> Self {
        Self { high: value, low: 0.0 }
    }

    pub(crate) fn value(self) -> f64 {
        self.high + self.low
    }

    /// a + b and its rounding error, exactly.
    fn sum(a: f64, b: f64) -> Self {
        let high = a + b;
        let part = high - a;
        Self { high, low: (a - (high - part)) + (b - part) }
    }

    /// a b and its rounding error, exactly, by halves of 26 bits.
    fn product(a: f64, b: f64) -> Self {
        let split = |x: f64| {
            let spread = 134_217_729.0 * x; // 2²⁷ + 1
            let top = spread - (spread - x);
            (top, x - top)
        };
        let ((a1, a2), (b1, b2)) = (split(a), split(b));
        let high = a * b;
        Self { high, low: ((a1 * b1 - high) + a1 * b2 + a2 * b1) + a2 * b2 }
    }

    fn quotient(self, by: Self) -> Self {
        // Three digits in base 2⁵³ of a long division.
        let first = self.high / by.high;
        let rest = self - by * Self::of(first);
        let second = rest.high / by.high;
        let rest = rest - by * Self::of(second);
        let third = rest.high / by.high;
        Self::sum(first, second) + Self::of(third)
    }
}

impl Add for Real {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        let high = Self::sum(self.high, other.high);
        let low = Self::sum(self.low, other.low);
        let middle = Self::sum(high.high, high.low + low.high);
        Self::sum(middle.high, middle.low + low.low)
    }
}

impl Neg for Real {
    type Output = Self;
    fn neg(self) -> Self {
        Self { high: -self.high, low: -self.low }
    }
}

impl Sub for Real {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        self + -other
    }
}

impl Mul for Real {
    type Output = Self;
    fn mul(self, other: Self) -> Self {
        let exact = Self::product(self.high, other.high);
        Self::sum(exact.high, exact.low + (self.high * other.low + self.low * other.high))
    }
}

/// A complex number of two such.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Complex {
    re: Real,
    im: Real,
}

impl Complex {
    pub(crate) const fn of(z: Complex64) -> Self {
        Self { re: Real::of(z.re), im: Real::of(z.im) }
    }

    pub(crate) fn value(self) -> Complex64 {
        Complex64::new(self.re.value(), self.im.value())
    }

    pub(crate) fn conjugate(self) -> Self {
        Self { re: self.re, im: -self.im }
    }

    fn size(self) -> f64 {
        self.re.high.abs() + self.im.high.abs()
    }

    pub(crate) fn over(self, by: Self) -> Self {
        let squared = by.re * by.re + by.im * by.im;
        let product = self * by.conjugate();
        Self { re: product.re.quotient(squared), im: product.im.quotient(squared) }
    }
}

impl Add for Complex {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { re: self.re + other.re, im: self.im + other.im }
    }
}

impl Sub for Complex {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self { re: self.re - other.re, im: self.im - other.im }
    }
}

impl Neg for Complex {
    type Output = Self;
    fn neg(self) -> Self {
        Self { re: -self.re, im: -self.im }
    }
}

impl Mul for Complex {
    type Output = Self;
    fn mul(self, other: Self) -> Self {
        Self { re: self.re * other.re - self.im * other.im, im: self.re * other.im + self.im * other.re }
    }
}

/// The solution of a square system, by elimination with the largest pivot of each column.
pub(crate) fn solve(mut matrix: Vec<Vec<Complex>>, mut rhs: Vec<Complex>) -> Vec<Complex> {
    let n = rhs.len();
    for k in 0..n {
        let pivot = (k..n).max_by(|&i, &j| matrix[i][k].size().total_cmp(&matrix[j][k].size())).unwrap();
        matrix.swap(k, pivot);
        rhs.swap(k, pivot);
        let (done, later) = matrix.split_at_mut(k + 1);
        let pivot_row = &done[k];
        for (row, at) in later.iter_mut().zip(k + 1..) {
            let factor = row[k].over(pivot_row[k]);
            for (entry, above) in row.iter_mut().zip(pivot_row).skip(k) {
                *entry = *entry - factor * *above;
            }
            rhs[at] = rhs[at] - factor * rhs[k];
        }
    }
    for k in (0..n).rev() {
        for j in k + 1..n {
            rhs[k] = rhs[k] - matrix[k][j] * rhs[j];
        }
        rhs[k] = rhs[k].over(matrix[k][k]);
    }
    rhs
}

/// argmin Σ g |A x − b|², by the normal equations: with 31 digits they lose nothing that a double could show while the
/// condition number stays below 1e7.
pub(crate) fn least_squares(rows: &[Vec<Complex>], rhs: &[Complex], weights: &[f64]) -> Vec<Complex> {
    let n = rows[0].len();
    let product = |left: &dyn Fn(usize) -> Complex, right: &dyn Fn(usize) -> Complex| {
        (0..rows.len()).fold(Complex::default(), |sum, k| {
            let weight = Complex::of(Complex64::new(weights[k], 0.0));
            sum + left(k).conjugate() * right(k) * weight
        })
    };
    let normal: Vec<Vec<Complex>> =
        (0..n).map(|i| (0..n).map(|j| product(&|k| rows[k][i], &|k| rows[k][j])).collect()).collect();
    let right: Vec<Complex> = (0..n).map(|i| product(&|k| rows[k][i], &|k| rhs[k])).collect();
    solve(normal, right)
}
