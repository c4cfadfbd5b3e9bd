//! Material for the tests: numbers in a repeatable order, and nalgebra's view of a matrix.
#![allow(clippy::unwrap_used)] // helpers of tests fail as tests do

use alloc::vec::Vec;

use nalgebra::DMatrix;
use num_complex::Complex64;
use proptest::num::f64::ANY;
use proptest::prelude::{Strategy, prop};

use super::matrix::Matrix;
use super::scalar::Scalar;

/// Numbers that look random and are the same in every run (the `SplitMix64` generator, from
/// memory).
pub(super) struct Numbers(pub(super) u64);

impl Numbers {
    /// Evenly spread over [−1, 1).
    pub(super) fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^= z >> 31;
        (z >> 11) as f64 / (1_u64 << 52) as f64 - 1.0
    }

    /// A whole number from −9 to 9.
    pub(super) fn whole(&mut self) -> f64 {
        libm::round(self.uniform() * 9.5)
    }

    pub(super) fn matrix<T: Sample>(&mut self, rows: usize, columns: usize) -> Matrix<T> {
        Matrix::from_fn(rows, columns, |_, _| T::from_parts(|| self.uniform()))
    }

    pub(super) fn whole_matrix<T: Sample>(&mut self, rows: usize, columns: usize) -> Matrix<T> {
        Matrix::from_fn(rows, columns, |_, _| T::from_parts(|| self.whole()))
    }

    pub(super) fn vector<T: Sample>(&mut self, length: usize) -> Vec<T> {
        (0..length).map(|_| T::from_parts(|| self.uniform())).collect()
    }

    pub(super) fn whole_vector<T: Sample>(&mut self, length: usize) -> Vec<T> {
        (0..length).map(|_| T::from_parts(|| self.whole())).collect()
    }
}

/// A number that tests can make from real ones, and give to nalgebra.
pub(super) trait Sample: Scalar {
    fn from_parts(part: impl FnMut() -> f64) -> Self;
    fn to_complex(self) -> Complex64;
}

impl Sample for f64 {
    fn from_parts(mut part: impl FnMut() -> f64) -> Self {
        part()
    }

    fn to_complex(self) -> Complex64 {
        Complex64::new(self, 0.0)
    }
}

impl Sample for Complex64 {
    fn from_parts(mut part: impl FnMut() -> f64) -> Self {
        Self::new(part(), part())
    }

    fn to_complex(self) -> Complex64 {
        self
    }
}

/// Shapes that the library meets, and odd ones.
pub(super) const SHAPES: [(usize, usize); 12] =
    [(1, 1), (2, 1), (2, 2), (3, 2), (4, 2), (5, 3), (8, 4), (12, 2), (7, 7), (24, 6), (40, 13), (100, 20)];

pub(super) fn to_nalgebra<T: Sample>(a: &Matrix<T>) -> DMatrix<Complex64> {
    DMatrix::from_fn(a.rows(), a.columns(), |i, j| a[(i, j)].to_complex())
}

pub(super) fn to_complex<T: Sample>(x: &[T]) -> Vec<Complex64> {
    x.iter().map(|x| x.to_complex()).collect()
}

pub(super) fn product<T: Scalar>(a: &Matrix<T>, b: &Matrix<T>) -> Matrix<T> {
    let columns = (0..b.columns()).flat_map(|j| a.times_vector(b.column(j))).collect();
    Matrix::from_columns(a.rows(), b.columns(), columns).unwrap()
}

pub(super) fn adjoint<T: Scalar>(a: &Matrix<T>) -> Matrix<T> {
    Matrix::from_fn(a.columns(), a.rows(), |i, j| a[(j, i)].conjugate())
}

/// The matrix with its column j times `factor(j)`.
pub(super) fn with_scaled_columns<T: Scalar>(a: &Matrix<T>, factor: impl Fn(usize) -> f64) -> Matrix<T> {
    Matrix::from_fn(a.rows(), a.columns(), |i, j| a[(i, j)].times(factor(j)))
}

/// ‖x − y‖ / ‖y‖
pub(super) fn relative_error<T: Scalar>(x: &[T], y: &[T]) -> f64 {
    assert_eq!(x.len(), y.len());
    let difference: Vec<T> = x.iter().zip(y).map(|(&x, &y)| x - y).collect();
    super::norm(&difference) / super::norm(y)
}

/// 10ⁿ, to the last digit or nearly.
pub(super) fn ten_to(n: i32) -> f64 {
    libm::pow(10.0, f64::from(n))
}

/// Matrices of any shape with up to six rows and columns, holding any doubles at all: NaN,
/// infinite, subnormal, huge.
pub(super) fn any_matrix() -> impl Strategy<Value = Matrix<Complex64>> {
    (0..=6_usize, 0..=6_usize).prop_flat_map(|(rows, columns)| {
        prop::collection::vec((ANY, ANY), rows * columns).prop_map(move |parts| {
            let entries = parts.into_iter().map(|(re, im)| Complex64::new(re, im)).collect();
            Matrix::from_columns(rows, columns, entries).unwrap()
        })
    })
}

/// [`any_matrix`] with finite entries that differ by up to 300 powers of ten, and with zeros among
/// them.
pub(super) fn any_graded_matrix() -> impl Strategy<Value = Matrix<Complex64>> {
    let part = || (-9..=9_i32, -150..=150_i32).prop_map(|(digit, power)| f64::from(digit) * ten_to(power));
    (0..=6_usize, 0..=6_usize).prop_flat_map(move |(rows, columns)| {
        prop::collection::vec((part(), part()), rows * columns).prop_map(move |parts| {
            let entries = parts.into_iter().map(|(re, im)| Complex64::new(re, im)).collect();
            Matrix::from_columns(rows, columns, entries).unwrap()
        })
    })
}
