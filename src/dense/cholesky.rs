//! The Cholesky factor of a covariance.

use super::matrix::Matrix;
use super::scalar::Scalar;

/// A = L Lᴴ, with L lower triangular and its diagonal real and positive.
///
/// For a covariance A, L⁻¹ whitens: L⁻¹ e has unit covariance when e has covariance A.
#[derive(Clone, Debug)]
pub(crate) struct Cholesky<T> {
    lower: Matrix<T>,
}

/// The matrix is not positive definite, or not so that arithmetic could tell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct NotPositiveDefinite {
    /// The first row (and column) whose variance is used up by the rows before it. When the matrix
    /// is not square, the first row or column without its partner.
    pub(crate) pivot: usize,
}

impl<T: Scalar> Cholesky<T> {
    /// Factors a symmetric or Hermitian positive definite matrix, of which only the diagonal's real
    /// part and what stands below the diagonal are read.
    ///
    /// # Errors
    ///
    /// The failing pivot: where what is left of the variance is not finite, not positive, or no
    /// more than rounding, of the entries and of the sum, may have left of nothing.
    pub(crate) fn factor(matrix: &Matrix<T>) -> Result<Self, NotPositiveDefinite> {
        let n = matrix.columns();
        if matrix.rows() != n {
            return Err(NotPositiveDefinite { pivot: n.min(matrix.rows()) });
        }
        let mut lower = Matrix::from_fn(n, n, |i, j| if i < j { T::ZERO } else { matrix[(i, j)] });
        for k in 0..n {
            // d = aₖₖ − Σ_{j<k} |lₖⱼ|², of which the first k columns have taken their parts already
            let left = lower[(k, k)].real();
            #[allow(clippy::cast_precision_loss)] // some hundreds
            let rounding = 4.0 * (k + 1) as f64 * f64::EPSILON * matrix[(k, k)].real();
            if left.is_nan() || left <= rounding {
                return Err(NotPositiveDefinite { pivot: k });
            }
            let root = libm::sqrt(left);
            let (done, later) = lower.entries_mut().split_at_mut((k + 1) * n);
            let column = &mut done[k * n + k..];
            column[0] = T::from_real(root);
            for entry in &mut column[1..] {
                // lᵢₖ = (aᵢₖ − Σ_{j<k} lᵢⱼ l̄ₖⱼ) / lₖₖ
                *entry = entry.over(root);
            }
            for (next, other) in later.chunks_exact_mut(n).enumerate() {
                let rest = &column[next + 1..];
                T::subtract_multiple(&mut other[k + next + 1..], rest[0].conjugate(), rest);
            }
        }
        Ok(Self { lower })
    }

    /// L, with zeros above its diagonal.
    pub(crate) fn lower(&self) -> &Matrix<T> {
        &self.lower
    }

    /// b ← L⁻¹ b, which whitens b, for a b of the size of L; another b is left alone.
    pub(crate) fn solve_lower(&self, b: &mut [T]) {
        let n = self.lower.columns();
        if b.len() != n {
            return;
        }
        for k in 0..n {
            let column = &self.lower.column(k)[k..];
            // yₖ = (bₖ − Σ_{j<k} lₖⱼ yⱼ) / lₖₖ, of which the columns before have taken their parts
            // already
            let y_k = b[k].over(column[0].real());
            b[k] = y_k;
            T::subtract_multiple(&mut b[k + 1..], y_k, &column[1..]);
        }
    }

    /// b ← L⁻ᴴ b, for a b of the size of L; another b is left alone.
    pub(crate) fn solve_lower_adjoint(&self, b: &mut [T]) {
        let n = self.lower.columns();
        if b.len() != n {
            return;
        }
        for k in (0..n).rev() {
            let column = &self.lower.column(k)[k..];
            // xₖ = (bₖ − Σ_{i>k} l̄ᵢₖ xᵢ) / lₖₖ
            b[k] = (b[k] - T::dot(&column[1..], &b[k + 1..])).over(column[0].real());
        }
    }

    /// b ← A⁻¹ b, for a b of the size of A; another b is left alone.
    pub(crate) fn solve(&self, b: &mut [T]) {
        self.solve_lower(b);
        self.solve_lower_adjoint(b);
    }
}

#[cfg(test)]
mod tests {
    use alloc::vec;
    use alloc::vec::Vec;
    use core::cmp::Ordering;

    use num_complex::Complex64;
    use proptest::prelude::*;

    use super::super::testing::{
        Numbers, Sample, adjoint, any_matrix, product, relative_error, ten_to, to_nalgebra,
    };
    use super::*;

    const EPSILON: f64 = f64::EPSILON;

    /// A whole L with 1, 2, 3 on its diagonal: A = L Lᴴ is exact, so are all roots and quotients,
    /// and L comes back.
    fn whole_factors_come_back<T: Sample>() {
        let mut numbers = Numbers(40);
        for n in 0..=12 {
            let any = numbers.whole_matrix::<T>(n, n);
            let lower = Matrix::from_fn(n, n, |i, j| match i.cmp(&j) {
                Ordering::Less => T::ZERO,
                Ordering::Equal => T::from_real(1.0 + (i % 3) as f64),
                Ordering::Greater => any[(i, j)],
            });
            let found = Cholesky::factor(&product(&lower, &adjoint(&lower))).unwrap();
            assert_eq!(found.lower(), &lower);
        }
    }

    #[test]
    fn whole_factors_come_back_real() {
        whole_factors_come_back::<f64>();
    }

    #[test]
    fn whole_factors_come_back_complex() {
        whole_factors_come_back::<Complex64>();
    }

    /// A covariance: B Bᴴ with more columns than rows, times scales dᵢ dⱼ.
    fn covariance(numbers: &mut Numbers, n: usize, scale: impl Fn(usize) -> f64) -> Matrix<Complex64> {
        let b = numbers.matrix::<Complex64>(n, n + 3);
        let b = Matrix::from_fn(n, n + 3, |i, j| b[(i, j)].times(scale(i)));
        product(&b, &adjoint(&b))
    }

    #[test]
    fn agrees_with_nalgebra() {
        let mut numbers = Numbers(41);
        for n in [1, 2, 3, 6, 12, 20] {
            let a = covariance(&mut numbers, n, |_| 1.0);
            let theirs = to_nalgebra(&a).cholesky().unwrap().l();
            let ours = Cholesky::factor(&a).unwrap();
            assert!(relative_error(ours.lower().entries(), theirs.as_slice()) <= 1e-13);
        }
    }

    /// Standard deviations from 1e-140 to 1e140: A = L Lᴴ holds in each entry, for its own size.
    #[test]
    fn graded_covariances() {
        let mut numbers = Numbers(42);
        for n in [2, 5, 9] {
            let scale = |i: usize| ten_to((i as i32 * 97) % 281 - 140);
            let a = covariance(&mut numbers, n, scale);
            let lower = Cholesky::factor(&a).unwrap().lower().clone();
            let back = product(&lower, &adjoint(&lower));
            for j in 0..n {
                for i in j..n {
                    let size = libm::sqrt(a[(i, i)].re) * libm::sqrt(a[(j, j)].re);
                    let error = (back[(i, j)] - a[(i, j)]).modulus() / size;
                    assert!(error <= 2.0 * EPSILON * (n + 1) as f64, "{i} {j} {error}");
                }
            }
        }
    }

    #[test]
    fn triangular_systems() {
        let mut numbers = Numbers(43);
        for n in [0, 1, 2, 5, 12] {
            let a = covariance(&mut numbers, n, |_| 1.0);
            let cholesky = Cholesky::factor(&a).unwrap();
            let x = numbers.vector::<Complex64>(n);
            let close = |found: &[Complex64]| n == 0 || relative_error(found, &x) <= 1e-12;
            let mut b = cholesky.lower().times_vector(&x);
            cholesky.solve_lower(&mut b);
            assert!(close(&b));
            let mut b = cholesky.lower().adjoint_times_vector(&x);
            cholesky.solve_lower_adjoint(&mut b);
            assert!(close(&b));
            let mut b = a.times_vector(&x);
            cholesky.solve(&mut b);
            assert!(close(&b));
        }
    }

    #[test]
    fn the_failing_pivot_is_named() {
        let fails = |n: usize, entries: &[f64]| {
            let a = Matrix::from_columns(n, n, entries.to_vec()).unwrap();
            Cholesky::factor(&a).err().map(|error| error.pivot)
        };
        assert_eq!(fails(1, &[0.0]), Some(0));
        assert_eq!(fails(1, &[-1.0]), Some(0));
        assert_eq!(fails(1, &[f64::NAN]), Some(0));
        assert_eq!(fails(1, &[f64::INFINITY]), Some(0));
        assert_eq!(fails(1, &[f64::from_bits(1)]), None);
        assert_eq!(fails(2, &[1.0, 1.0, 1.0, 1.0]), Some(1));
        assert_eq!(fails(2, &[1.0, 2.0, 2.0, 1.0]), Some(1));
        assert_eq!(fails(2, &[1.0, f64::NAN, 0.0, 1.0]), Some(1));
        assert_eq!(fails(3, &[4.0, 2.0, 2.0, 2.0, 5.0, 3.0, 2.0, 3.0, 2.0]), Some(2));
        for (rows, columns) in [(2, 3), (3, 2)] {
            let error =
                Cholesky::factor(&Matrix::from_fn(rows, columns, |i, j| if i == j { 1.0 } else { 0.0 }));
            assert_eq!(error.unwrap_err(), NotPositiveDefinite { pivot: 2 });
        }
    }

    /// v vᴴ has rank 1, but its rounded entries leave a trace that may be positive.
    #[test]
    fn a_trace_of_rounding_is_not_a_variance() {
        let mut numbers = Numbers(44);
        for _ in 0..500 {
            let v = numbers.vector::<Complex64>(3);
            let a = Matrix::from_fn(3, 3, |i, j| v[i] * Scalar::conjugate(v[j]));
            assert_eq!(Cholesky::factor(&a).unwrap_err().pivot, 1);
        }
    }

    #[test]
    fn other_lengths_are_left_alone() {
        let cholesky =
            Cholesky::factor(&Matrix::from_fn(2, 2, |i, j| if i == j { 4.0 } else { 0.0 })).unwrap();
        for length in [0, 1, 3] {
            let mut b: Vec<f64> = vec![8.0; length];
            cholesky.solve(&mut b);
            cholesky.solve_lower_adjoint(&mut b);
            cholesky.solve_lower(&mut b);
            assert_eq!(b, vec![8.0; length]);
        }
    }

    proptest! {
        #[test]
        fn nothing_panics(a in any_matrix()) {
            if let Ok(cholesky) = Cholesky::factor(&a) {
                cholesky.solve(&mut vec![Complex64::ONE; a.rows()]);
            }
        }
    }
}
