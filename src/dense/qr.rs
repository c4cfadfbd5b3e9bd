//! The owning QR factorisation: least squares, and what a fit wants to know about its design.

use alloc::vec;
use alloc::vec::Vec;

use super::householder::{Factors, Pivot, factor};
use super::matrix::Matrix;
use super::scalar::Scalar;

/// A P = Q R by Householder reflections with column pivoting; see [`Factors`], which does the
/// arithmetic.
#[derive(Clone, Debug)]
pub(crate) struct Qr<T> {
    factors: Matrix<T>,
    /// One for each column.
    pivots: Vec<Pivot<T>>,
}

impl<T: Scalar> Qr<T> {
    /// Factors A, of any shape.
    pub(crate) fn factor(mut matrix: Matrix<T>) -> Self {
        let mut pivots = vec![Pivot::NEW; matrix.columns()];
        factor(matrix.rows(), matrix.entries_mut(), &mut pivots);
        Self { factors: matrix, pivots }
    }

    /// The factors as a view, with what needs no heap: `rank`, `apply`, `apply_adjoint`, `solve`
    /// into a slice.
    #[inline]
    pub(crate) fn factors(&self) -> Factors<'_, T> {
        Factors::of(self.factors.rows(), self.factors.entries(), &self.pivots)
    }

    /// The number of columns that can be told apart; see [`Factors::rank`].
    pub(crate) fn rank(&self, tolerance: f64) -> usize {
        self.factors().rank(tolerance)
    }

    /// The x that makes ‖A x − b‖ least. `None` when b has not as many entries as A has rows, when
    /// there are fewer rows than columns, or when R has a zero on its diagonal.
    pub(crate) fn solve(&self, b: &[T]) -> Option<Vec<T>> {
        let mut x = b.to_vec();
        self.factors().solve(&mut x)?;
        x.truncate(self.pivots.len());
        Some(x)
    }

    /// W = P R⁻¹, so that (AᴴA)⁻¹ = W Wᴴ and A⁺ = W Qᴴ. Its rows are in the caller's order of the
    /// columns of A.
    ///
    /// `None` when there are fewer rows than columns, or when R has a zero on its diagonal.
    pub(crate) fn inverse_r(&self) -> Option<Matrix<T>> {
        let factors = self.factors();
        if !factors.is_invertible() {
            return None;
        }
        let n = factors.columns();
        let mut inverse = Matrix::zeros(n, n);
        for k in 0..n {
            let w = inverse.column_mut(k);
            // R w = eₖ; w has no entries below k
            w[k] = T::ONE;
            factors.back_substitute(&mut w[..=k]);
            factors.restore_order(w);
        }
        Some(inverse)
    }

    /// (AᴴA)⁻¹, exactly Hermitian: the covariance of the least-squares x per unit variance of b.
    ///
    /// `None` when there are fewer rows than columns, or when R has a zero on its diagonal.
    pub(crate) fn inverse_normal(&self) -> Option<Matrix<T>> {
        let w = self.inverse_r()?;
        let n = w.columns();
        let mut inverse = Matrix::zeros(n, n);
        for k in 0..n {
            // (AᴴA)⁻¹ = Σₖ wₖ wₖᴴ
            for j in 0..n {
                let factor = -w[(j, k)].conjugate();
                T::subtract_multiple(&mut inverse.column_mut(j)[j..], factor, &w.column(k)[j..]);
            }
        }
        for j in 0..n {
            for i in j + 1..n {
                inverse[(j, i)] = inverse[(i, j)].conjugate();
            }
        }
        Some(inverse)
    }

    /// The leverage of each row: the diagonal of Q₁ Q₁ᴴ, with Q₁ the first `rank` columns of Q.
    ///
    /// With the full rank these are the diagonal entries of the hat matrix A (AᴴA)⁻¹ Aᴴ: how much
    /// of its own reading each fitted value takes. Each is between 0 and 1 up to rounding, and
    /// their sum is the rank.
    pub(crate) fn leverages(&self, rank: usize) -> Vec<f64> {
        let factors = self.factors();
        let mut leverages = vec![0.0; factors.rows()];
        let mut column = vec![T::ZERO; factors.rows()];
        for k in 0..rank.min(factors.steps()) {
            column.fill(T::ZERO);
            column[k] = T::ONE;
            factors.apply(&mut column);
            // hᵢ = Σₖ |qᵢₖ|²
            for (leverage, entry) in leverages.iter_mut().zip(&column) {
                *leverage += entry.modulus_squared();
            }
        }
        leverages
    }

    /// The combinations of columns that give nothing when the rank is `rank`: as many vectors z, in
    /// the caller's order of the columns, as columns exceed it, with A z = 0 up to what the rank
    /// tolerance let pass.
    ///
    /// Each is scaled so that its greatest entry is exactly 1, and they are independent: each holds
    /// one of the columns that the pivoting put last, and none of the other ones. Empty when R is
    /// not finite.
    pub(crate) fn null_combinations(&self, rank: usize) -> Vec<Vec<T>> {
        let factors = self.factors();
        // A zero on the diagonal is beyond any rank.
        let rank = rank.min(factors.rank(0.0));
        let finite = (0..factors.steps()).all(|k| factors.r(k, k).real().is_finite());
        if !finite {
            return Vec::new();
        }
        // R = [R₁₁ R₁₂; 0 ~0] has the null vectors (−R₁₁⁻¹ r, eₖ), r a column of R₁₂
        let combination = |k: usize| {
            let mut z = vec![T::ZERO; factors.columns()];
            for (i, entry) in z.iter_mut().enumerate().take(rank) {
                *entry = -factors.r(i, k);
            }
            factors.back_substitute(&mut z[..rank]);
            z[k] = T::ONE;
            factors.restore_order(&mut z);
            scaled_to_greatest(z)
        };
        (rank..factors.columns()).map(combination).collect()
    }
}

/// z divided by its entry of greatest modulus, the first of equals, which becomes exactly 1.
fn scaled_to_greatest<T: Scalar>(mut z: Vec<T>) -> Vec<T> {
    let mut greatest = 0;
    for (i, entry) in z.iter().enumerate() {
        if entry.modulus() > z[greatest].modulus() {
            greatest = i;
        }
    }
    let divisor = z[greatest];
    for entry in &mut z {
        *entry = entry.quotient(divisor);
    }
    z[greatest] = T::ONE;
    z
}

#[cfg(test)]
mod tests {
    use nalgebra::DVector;
    use num_complex::Complex64;
    use proptest::prelude::*;

    use super::super::norm;
    use super::super::svd::Svd;
    use super::super::testing::{
        Numbers, SHAPES, Sample, adjoint, any_graded_matrix, any_matrix, product, relative_error, to_complex,
        to_nalgebra, with_scaled_columns,
    };
    use super::*;

    const EPSILON: f64 = f64::EPSILON;

    fn c(re: f64, im: f64) -> Complex64 {
        Complex64::new(re, im)
    }

    fn condition<T: Scalar>(a: &Matrix<T>) -> f64 {
        Svd::factor(a.clone()).unwrap().condition().unwrap()
    }

    /// A and x are whole numbers, so that b = A x is exact and x is known.
    fn whole_systems_are_solved<T: Sample>() {
        let mut numbers = Numbers(10);
        for (rows, columns) in SHAPES {
            for _ in 0..20 {
                let (a, x) = (numbers.whole_matrix::<T>(rows, columns), numbers.whole_vector::<T>(columns));
                let kappa = Svd::factor(a.clone()).unwrap().condition().unwrap_or(f64::INFINITY);
                if kappa > 1e6 || norm(&x) == 0.0 {
                    continue;
                }
                let solution = Qr::factor(a.clone()).solve(&a.times_vector(&x)).unwrap();
                let error = relative_error(&solution, &x);
                assert!(error <= 8.0 * EPSILON * kappa, "{rows}x{columns}: {error} {kappa}");
            }
        }
    }

    #[test]
    fn whole_systems_are_solved_real() {
        whole_systems_are_solved::<f64>();
    }

    #[test]
    fn whole_systems_are_solved_complex() {
        whole_systems_are_solved::<Complex64>();
    }

    /// A = [B; B] and b = [B x + d; B x − d]: the residuals d and −d cancel in Aᴴ, so x is the
    /// least-squares solution.
    #[test]
    fn whole_least_squares_problems_are_solved() {
        let mut numbers = Numbers(11);
        for (rows, columns) in SHAPES {
            let half = numbers.whole_matrix::<Complex64>(rows, columns);
            let x = numbers.whole_vector::<Complex64>(columns);
            let d = numbers.whole_vector::<Complex64>(rows);
            let a = Matrix::from_fn(2 * rows, columns, |i, j| half[(i % rows, j)]);
            let mut b = a.times_vector(&x);
            for i in 0..rows {
                b[i] += d[i];
                b[i + rows] -= d[i];
            }
            let kappa = condition(&a);
            let qr = Qr::factor(a.clone());
            let error = relative_error(&qr.solve(&b).unwrap(), &x);
            // The residual is as large as the rest of b at most, so κ² enters with a factor of
            // about 1.
            assert!(error <= 8.0 * EPSILON * kappa * kappa, "{rows}x{columns}: {error} {kappa}");
            let mut rest = b.clone();
            qr.factors().solve(&mut rest).unwrap();
            let residual = norm(&rest[columns..]);
            let expected = norm(&d) * libm::sqrt(2.0);
            assert!(
                (residual - expected).abs() <= 1e-14 * norm(&b),
                "{rows}x{columns}: {residual} {expected}"
            );
        }
    }

    /// The solution by nalgebra's singular value decomposition, an independent route.
    fn agrees_with_nalgebra<T: Sample>() {
        let mut numbers = Numbers(12);
        for (rows, columns) in SHAPES {
            let (a, b) = (numbers.matrix::<T>(rows, columns), numbers.vector::<T>(rows));
            let x = Qr::factor(a.clone()).solve(&b).unwrap();
            let theirs =
                to_nalgebra(&a).svd(true, true).solve(&DVector::from_vec(to_complex(&b)), 0.0).unwrap();
            let kappa = condition(&a);
            let error = relative_error(&to_complex(&x), theirs.as_slice());
            assert!(error <= 50.0 * EPSILON * kappa * kappa, "{rows}x{columns}: {error} {kappa}");
        }
    }

    #[test]
    fn agrees_with_nalgebra_real() {
        agrees_with_nalgebra::<f64>();
    }

    #[test]
    fn agrees_with_nalgebra_complex() {
        agrees_with_nalgebra::<Complex64>();
    }

    /// Columns scaled by powers of two from 2⁻⁵⁰⁰ to 2⁵⁰⁰: the solution is scaled the other way,
    /// and its parts are as good as before, each for itself.
    #[test]
    fn graded_columns_lose_nothing() {
        let mut numbers = Numbers(13);
        for (rows, columns) in SHAPES {
            let (a, x) = (
                numbers.whole_matrix::<Complex64>(rows, columns),
                numbers.whole_vector::<Complex64>(columns),
            );
            let kappa = condition(&a);
            let b = a.times_vector(&x);
            let scale = |j: usize| libm::scalbn(1.0, (j as i32 * 377) % 1001 - 500);
            let solution = Qr::factor(with_scaled_columns(&a, scale)).solve(&b).unwrap();
            for (j, (&found, &x_j)) in solution.iter().zip(&x).enumerate() {
                let error = (found.times(scale(j)) - x_j).modulus();
                assert!(error <= 16.0 * EPSILON * kappa * norm(&x), "{rows}x{columns}, {j}: {error}");
            }
        }
    }

    /// Two rows that weigh 2⁰ to 2⁶⁰ times the others. Put last, they would cost the digits of the
    /// others.
    #[test]
    fn heavy_rows_first_lose_nothing() {
        let mut numbers = Numbers(21);
        for power in [0, 20, 40, 60] {
            for _ in 0..100 {
                let plain = numbers.whole_matrix::<Complex64>(8, 4);
                let x = numbers.whole_vector::<Complex64>(4);
                let weight = |i: usize| if i < 2 { libm::scalbn(1.0, power) } else { 1.0 };
                let a = Matrix::from_fn(8, 4, |i, j| plain[(i, j)].times(weight(i)));
                let solution = Qr::factor(a.clone()).solve(&a.times_vector(&x)).unwrap();
                assert!(relative_error(&solution, &x) <= 40.0 * EPSILON, "2^{power}");
            }
        }
    }

    #[test]
    fn parallel_columns_up_to_1e_8() {
        let mut numbers = Numbers(14);
        for (rows, columns) in [(2, 2), (4, 2), (8, 4), (24, 6)] {
            let mut a = numbers.matrix::<Complex64>(rows, columns);
            for i in 0..rows {
                a[(i, columns - 1)] =
                    a[(i, 0)] * c(0.6, 0.8) + Complex64::from_parts(|| numbers.uniform()).times(1e-8);
            }
            let qr = Qr::factor(a.clone());
            assert_eq!((qr.rank(1e-12), qr.rank(1e-6)), (columns, columns - 1));
            let x = numbers.vector::<Complex64>(columns);
            let kappa = condition(&a);
            assert!(kappa > 1e7);
            let error = relative_error(&qr.solve(&a.times_vector(&x)).unwrap(), &x);
            assert!(error <= 8.0 * EPSILON * kappa, "{rows}x{columns}: {error} {kappa}");
            // z₀ (0.6 + 0.8 j) + z_last ≈ 0, of one modulus
            let z = &qr.null_combinations(columns - 1)[0];
            assert!(
                (z[0] * c(0.6, 0.8).conjugate() + z[columns - 1]).modulus() < 1e-6 || {
                    (z[0] + z[columns - 1] * c(0.6, 0.8)).modulus() < 1e-6
                }
            );
            assert!(z[1..columns - 1].iter().all(|z| z.modulus() < 1e-6));
        }
    }

    /// Products of whole rows×r and r×columns matrices have rank r exactly.
    #[test]
    fn rank_and_null_combinations_of_whole_matrices() {
        let mut numbers = Numbers(15);
        for (rows, columns) in [(2, 2), (4, 3), (3, 5), (6, 6), (24, 6), (5, 12)] {
            for rank in 0..=rows.min(columns) {
                let left = numbers.whole_matrix::<Complex64>(rows, rank);
                let a = product(&left, &numbers.whole_matrix::<Complex64>(rank, columns));
                let qr = Qr::factor(a.clone());
                assert_eq!(qr.rank(1e-13), rank, "{rows}x{columns}");
                let combinations = qr.null_combinations(rank);
                assert_eq!(combinations.len(), columns - rank);
                for z in &combinations {
                    let size = norm(&a.times_vector(z));
                    assert!(size <= 1e-13 * norm(a.entries()), "{rows}x{columns}, {rank}: {size}");
                    assert!(z.contains(&Complex64::ONE));
                    assert!(z.iter().all(|z| z.modulus() <= 1.0 + EPSILON));
                }
                let together = Matrix::from_fn(columns, columns - rank, |i, k| combinations[k][i]);
                assert_eq!(Qr::factor(together).rank(1e-10), columns - rank);
            }
        }
    }

    #[test]
    fn a_known_null_combination() {
        // a₂ = 2 a₀ − 4j a₁, so z = (2, −4j, −1) / −4j = (j/2, 1, −j/4)
        let a = Matrix::from_fn(3, 3, |i, j| match (i, j) {
            (0, 0) | (1, 1) => c(1., 0.),
            (0, 2) => c(2., 0.),
            (1, 2) => c(0., -4.),
            _ => c(0., 0.),
        });
        let qr = Qr::factor(a);
        assert_eq!(qr.rank(1e-14), 2);
        let z = qr.null_combinations(2);
        assert_eq!(z.len(), 1);
        assert!(relative_error(&z[0], &[c(0., 0.5), c(1., 0.), c(0., -0.25)]) <= 4.0 * EPSILON, "{z:?}");
    }

    #[test]
    fn zero_columns_are_named() {
        let mut a = Numbers(16).matrix::<f64>(5, 4);
        for j in [0, 2] {
            a.column_mut(j).fill(0.0);
        }
        let qr = Qr::factor(a);
        assert_eq!((qr.rank(0.0), qr.rank(-1.0)), (2, 2));
        assert_eq!(qr.solve(&[1.0; 5]), None);
        assert!(qr.inverse_r().is_none() && qr.inverse_normal().is_none());
        let mut combinations = qr.null_combinations(2);
        combinations.sort_by(|a, b| b[0].total_cmp(&a[0]));
        assert_eq!(combinations, [[1.0, 0.0, 0.0, 0.0], [0.0, 0.0, 1.0, 0.0]]);
    }

    /// B = (AᴴA)⁻¹ against nalgebra's inverse by elimination.
    #[test]
    fn inverse_normal_agrees_with_elimination() {
        let mut numbers = Numbers(17);
        for (rows, columns) in SHAPES {
            let a = numbers.matrix::<Complex64>(rows, columns);
            let inverse = Qr::factor(a.clone()).inverse_normal().unwrap();
            let theirs = (to_nalgebra(&a).adjoint() * to_nalgebra(&a)).try_inverse().unwrap();
            let error = relative_error(inverse.entries(), theirs.as_slice());
            let kappa = condition(&a);
            assert!(error <= 16.0 * EPSILON * kappa * kappa, "{rows}x{columns}: {error} {kappa}");
            assert_eq!(inverse, adjoint(&inverse));
        }
    }

    /// A straight line through the points 0, 1, 2, 4, 8: the columns (1, …) and (t) have (AᵀA)⁻¹ =
    /// [Σt², −Σt; −Σt, n] / (n Σt² − (Σt)²) and hᵢ = 1/n + (tᵢ − t̄)² / Σ(t − t̄)² (textbook, from
    /// memory).
    #[test]
    fn covariance_and_leverages_of_a_straight_line() {
        let t = [0.0, 1.0, 2.0, 4.0, 8.0];
        let qr = Qr::factor(Matrix::from_fn(5, 2, |i, j| if j == 0 { 1.0 } else { t[i] }));
        let inverse = qr.inverse_normal().unwrap();
        assert!(relative_error(inverse.entries(), &[0.425, -0.075, -0.075, 0.025]) <= 8.0 * EPSILON);
        let expected = t.map(|t| 0.2 + (t - 3.0) * (t - 3.0) / 40.0);
        assert!(relative_error(&qr.leverages(2), &expected) <= 8.0 * EPSILON);
    }

    #[test]
    fn leverages_are_the_diagonal_of_the_hat_matrix() {
        let mut numbers = Numbers(18);
        for (rows, columns) in SHAPES {
            let a = numbers.matrix::<Complex64>(rows, columns);
            let qr = Qr::factor(a.clone());
            let leverages = qr.leverages(columns);
            let total: f64 = leverages.iter().sum();
            assert!((total - columns as f64).abs() <= 8.0 * EPSILON * (rows * columns) as f64);
            // A (AᴴA)⁻¹ Aᴴ = (A W)(A W)ᴴ
            let thin = product(&a, &qr.inverse_r().unwrap());
            for (i, &leverage) in leverages.iter().enumerate() {
                let row: Vec<Complex64> = (0..columns).map(|k| thin[(i, k)]).collect();
                let expected = Complex64::sum_of_squares(&row);
                assert!(
                    (leverage - expected).abs() <= 32.0 * EPSILON * condition(&a),
                    "{rows}x{columns}, {i}"
                );
            }
        }
    }

    #[test]
    fn leverages_of_a_deficient_matrix_sum_to_its_rank() {
        let a = Matrix::from_fn(4, 3, |i, j| (i as f64 + 1.0) * (j as f64 + 1.0));
        let leverages = Qr::factor(a).leverages(1);
        // hᵢ = tᵢ² / Σt²
        assert!(
            relative_error(&leverages, &[1.0 / 30.0, 4.0 / 30.0, 9.0 / 30.0, 16.0 / 30.0]) <= 8.0 * EPSILON
        );
    }

    #[test]
    fn wide_one_by_one_and_empty() {
        let wide = Qr::factor(Numbers(19).matrix::<Complex64>(2, 4));
        assert_eq!((wide.rank(1e-12), wide.solve(&[c(1., 0.); 2])), (2, None));
        assert!(wide.inverse_normal().is_none());
        assert_eq!(wide.null_combinations(2).len(), 2);

        let single = Qr::factor(Matrix::from_fn(1, 1, |_, _| c(3.0, 4.0)));
        assert!(relative_error(&single.solve(&[c(-10.0, 5.0)]).unwrap(), &[c(-0.4, 2.2)]) <= 4.0 * EPSILON);
        assert!(relative_error(single.inverse_normal().unwrap().entries(), &[c(0.04, 0.0)]) <= 4.0 * EPSILON);
        assert!((single.leverages(1)[0] - 1.0).abs() <= 4.0 * EPSILON);

        let no_columns = Qr::factor(Matrix::<f64>::zeros(3, 0));
        assert_eq!((no_columns.rank(0.0), no_columns.solve(&[1.0; 3])), (0, Some(vec![])));
        assert_eq!(no_columns.leverages(0), [0.0; 3]);
        let no_rows = Qr::factor(Matrix::<f64>::zeros(0, 2));
        assert_eq!((no_rows.rank(0.0), no_rows.solve(&[])), (0, None));
        assert_eq!(no_rows.null_combinations(0), [[1.0, 0.0], [0.0, 1.0]]);
    }

    #[test]
    fn a_right_side_of_another_length_is_refused() {
        let qr = Qr::factor(Numbers(20).matrix::<f64>(3, 2));
        assert_eq!((qr.solve(&[1.0; 2]), qr.solve(&[1.0; 4])), (None, None));
    }

    fn everything(a: &Matrix<Complex64>, tolerance: f64) -> Qr<Complex64> {
        let qr = Qr::factor(a.clone());
        let rank = qr.rank(tolerance);
        let factors = qr.factors();
        let finite = (0..factors.steps()).all(|k| factors.r(k, k).re.is_finite());
        qr.solve(&vec![Complex64::ONE; a.rows()]);
        qr.inverse_normal();
        assert_eq!(qr.leverages(rank).len(), a.rows());
        qr.null_combinations(rank);
        for rank in 0..8 {
            // More than the greatest possible rank counts as that.
            assert_eq!(qr.leverages(rank).len(), a.rows());
            let expected = if finite { a.columns() - rank.min(qr.rank(0.0)) } else { 0 };
            assert_eq!(qr.null_combinations(rank).len(), expected);
        }
        qr
    }

    proptest! {
        #[test]
        fn nothing_panics(a in any_matrix(), tolerance in prop::num::f64::ANY) {
            everything(&a, tolerance);
        }

        #[test]
        fn null_combinations_of_graded_matrices(a in any_graded_matrix()) {
            let qr = everything(&a, 0.0);
            let rank = qr.rank(1e-14);
            // What the tolerance let pass, and the rounding of a column.
            let greatest = (0..a.columns()).map(|j| norm(a.column(j))).fold(0.0, f64::max);
            for z in qr.null_combinations(rank) {
                prop_assert!(z.contains(&Complex64::ONE));
                prop_assert!(norm(&a.times_vector(&z)) <= 1e-13 * greatest);
            }
        }
    }
}
