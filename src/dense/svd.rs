//! Singular values by one-sided Jacobi rotations, after a QR factorisation.
//!
//! The method is that of Z. Drmač and K. Veselić, "New fast and accurate Jacobi SVD algorithm",
//! SIAM Journal on Matrix Analysis and Applications 29 (2008) (from memory): A P = Q R with
//! pivoting, then the columns of Rᴴ are turned against each other until they are orthogonal. Their
//! norms are the singular values and their directions, rows put back in the caller's order, the
//! right singular vectors; no rotation need be remembered. It finds small singular values to the
//! digits that the data hold: columns of A may be scaled by any factors without loss.

use alloc::vec::Vec;

use super::householder::ORDINARY_NORM;
use super::matrix::Matrix;
use super::qr::Qr;
use super::scalar::{Scalar, exponent, norm, times_power_of_two};

/// The singular values and right singular vectors of a matrix: A = U Σ Vᴴ.
#[derive(Clone, Debug)]
pub(crate) struct Svd<T> {
    /// Descending; as many as the lesser of the counts of rows and columns.
    values: Vec<f64>,
    /// V, unitary; columns beyond the singular values span what A takes to zero because it has too
    /// few rows.
    right_vectors: Matrix<T>,
}

/// Sweeps after which the iteration is given up. It converges quadratically: the tests, with up to
/// twenty columns, need eight at most.
const SWEEPS: usize = 40;

/// 2 to this power is the ratio to the greatest below which a singular value counts as zero: the
/// condition number would be near the end of the range of `f64`.
const NEGLIGIBLE: i32 = -1000;

impl<T: Scalar> Svd<T> {
    /// Decomposes A, of any shape. `None` when an entry is not finite (or a column norm is above
    /// 1e307).
    pub(crate) fn factor(matrix: Matrix<T>) -> Option<Self> {
        let columns = matrix.columns();
        let qr = Qr::factor(matrix);
        let factors = qr.factors();
        let steps = factors.steps();
        // X = P Rᴴ, so that Aᴴ = X Qᴴ
        let mut x =
            Matrix::from_fn(columns, steps, |j, k| if j < k { T::ZERO } else { factors.r(k, j).conjugate() });
        for k in 0..steps {
            factors.restore_order(x.column_mut(k));
        }
        let norms = orthogonalise(&mut x)?;
        let mut order: Vec<usize> = (0..steps).collect();
        order.sort_by(|&a, &b| norms[b].total_cmp(&norms[a]));
        let values: Vec<f64> = order.iter().map(|&k| norms[k]).collect();
        let directions = order.iter().zip(&values).take_while(|&(_, &value)| value > 0.0);
        let right_vectors = unitary(columns, directions.map(|(&k, &value)| unit(x.column(k), value)));
        Some(Self { values, right_vectors })
    }

    /// The singular values, descending; as many as the lesser of the counts of rows and columns.
    ///
    /// Each is within a few ε times the condition number of A with its columns scaled to equal
    /// norms, which is often small when the condition number of A is not. Less than 2⁻¹⁰⁰⁰ of the
    /// greatest is given as zero.
    pub(crate) fn values(&self) -> &[f64] {
        &self.values
    }

    /// V, unitary, as many columns as A has; the first belong to the singular values, in their
    /// order, and those of the zero ones together with any further ones span the null space.
    pub(crate) fn right_vectors(&self) -> &Matrix<T> {
        &self.right_vectors
    }

    /// The greatest singular value over the least; `None` when the least is zero, the quotient is
    /// beyond the range, or there are no singular values.
    pub(crate) fn condition(&self) -> Option<f64> {
        let condition = self.values.first()? / self.values.last()?;
        condition.is_finite().then_some(condition)
    }
}

/// Turns the columns of X against each other until they are orthogonal, and returns their norms.
/// `None` when they are not finite.
fn orthogonalise<T: Scalar>(x: &mut Matrix<T>) -> Option<Vec<f64>> {
    let (rows, columns) = (x.rows(), x.columns());
    let mut norms: Vec<f64> = (0..columns).map(|k| norm(x.column(k))).collect();
    let greatest = norms.iter().copied().fold(0.0, f64::max);
    if !norms.iter().all(|norm| norm.is_finite()) {
        return None;
    }
    for (k, norm) in norms.iter_mut().enumerate() {
        if times_power_of_two(*norm, -exponent(greatest)) < times_power_of_two(1.0, NEGLIGIBLE) {
            x.column_mut(k).fill(T::ZERO);
            *norm = 0.0;
        }
    }
    // The cosine that rounding can leave between orthogonal columns.
    #[allow(clippy::cast_precision_loss)] // some hundreds
    let tolerance = 2.0 * f64::EPSILON * rows.max(2) as f64;
    for _ in 0..SWEEPS {
        let mut turned = false;
        for p in 0..columns {
            for q in p + 1..columns {
                turned |= turn(x, &mut norms, (p, q), tolerance);
            }
        }
        if !turned {
            return Some(norms);
        }
    }
    None
}

/// Makes columns p < q of X orthogonal by a rotation; false when they were so already.
fn turn<T: Scalar>(x: &mut Matrix<T>, norms: &mut [f64], (p, q): (usize, usize), tolerance: f64) -> bool {
    let (size_p, size_q) = (norms[p], norms[q]);
    if size_p == 0.0 || size_q == 0.0 {
        return false;
    }
    let rows = x.rows();
    let (before, after) = x.entries_mut().split_at_mut(q * rows);
    let (column_p, column_q) = (&mut before[p * rows..(p + 1) * rows], &mut after[..rows]);
    // γ = x_pᴴ x_q / (‖x_p‖ ‖x_q‖)
    let gamma = if ORDINARY_NORM.contains(&size_p) && ORDINARY_NORM.contains(&size_q) {
        T::dot(column_p, column_q).over(size_p * size_q)
    } else {
        T::dot(&unit(column_p, size_p), &unit(column_q, size_q))
    };
    let cosine = gamma.modulus();
    if cosine <= tolerance {
        return false;
    }
    // t² + 2ζt − 1 = 0 with ζ = (‖x_q‖² − ‖x_p‖²) / (2 |x_pᴴ x_q|), the root of lesser modulus.
    // With ρ ≤ 1 the ratio of the norms, d = 1 − ρ² and m = 2ρ|γ|: |ζ| = d/m and
    // |t| = m / (d + √(d² + m²))
    let ratio = size_p.min(size_q) / size_p.max(size_q);
    let (difference, product) = ((1.0 - ratio) * (1.0 + ratio), 2.0 * ratio * cosine);
    let root = libm::sqrt(difference * difference + product * product);
    let tangent = (product / (difference + root)).copysign(size_q - size_p);
    // c = 1/√(1 + t²), s = c t γ/|γ|
    let real = 1.0 / libm::sqrt(1.0 + tangent * tangent);
    let complex = gamma.over(cosine).times(real * tangent);
    // x_p ← c x_p − s̄ x_q,  x_q ← s x_p + c x_q
    for (a, b) in column_p.iter_mut().zip(column_q.iter_mut()) {
        (*a, *b) = (a.times(real) - complex.conjugate() * *b, complex * *a + b.times(real));
    }
    norms[p] = norm(column_p);
    norms[q] = norm(column_q);
    true
}

/// The column over its norm.
fn unit<T: Scalar>(column: &[T], norm: f64) -> Vec<T> {
    let n = exponent(norm);
    let norm = times_power_of_two(norm, -n);
    column.iter().map(|&entry| times_power_of_two(entry, -n).over(norm)).collect()
}

/// The unitary matrix that starts with these orthonormal columns; the others are any that complete
/// it.
fn unitary<T: Scalar>(size: usize, start: impl Iterator<Item = Vec<T>>) -> Matrix<T> {
    let mut unitary = Matrix::zeros(size, size);
    let mut given = 0;
    for (k, column) in start.enumerate() {
        unitary.column_mut(k).copy_from_slice(&column);
        given = k + 1;
    }
    if given < size {
        // The columns of Q beyond the rank are orthogonal to all that were given.
        let known = Matrix::from_fn(size, given, |i, j| unitary[(i, j)]);
        let qr = Qr::factor(known);
        for k in given..size {
            let column = unitary.column_mut(k);
            column[k] = T::ONE;
            qr.factors().apply(column);
        }
    }
    unitary
}

#[cfg(test)]
mod tests {
    use num_complex::Complex64;
    use proptest::prelude::*;

    use super::super::testing::{
        Numbers, SHAPES, Sample, adjoint, any_graded_matrix, any_matrix, product, to_nalgebra,
        with_scaled_columns,
    };
    use super::*;

    const EPSILON: f64 = f64::EPSILON;

    /// V is unitary, and the columns of A V are orthogonal and as long as the singular values say.
    fn the_vectors_belong_to_the_values<T: Scalar>(a: &Matrix<T>) {
        let svd = Svd::factor(a.clone()).unwrap();
        let (v, n) = (svd.right_vectors(), a.columns());
        let shape = (a.rows(), n);
        let gram = product(&adjoint(v), v);
        for j in 0..n {
            for i in 0..n {
                let expected = if i == j { T::ONE } else { T::ZERO };
                let error = (gram[(i, j)] - expected).modulus();
                assert!(error <= 8.0 * EPSILON * (n + 2) as f64, "{shape:?}: {i} {j} {error}");
            }
        }
        assert_eq!(svd.values().len(), a.rows().min(n));
        assert!(svd.values().is_sorted_by(|a, b| a >= b));
        let greatest = svd.values().first().copied().unwrap_or(0.0);
        for k in 0..n {
            let image = norm(&a.times_vector(v.column(k)));
            let value = svd.values().get(k).copied().unwrap_or(0.0);
            assert!(
                (image - value).abs() <= 4.0 * EPSILON * (n + 2) as f64 * greatest,
                "{shape:?}: {k} {image} {value}"
            );
        }
    }

    fn values_are<T: Scalar>(a: &Matrix<T>, expected: impl Fn(usize) -> f64, tolerance: f64) {
        let svd = Svd::factor(a.clone()).unwrap();
        for (k, &value) in svd.values().iter().enumerate() {
            let expected = expected(k);
            assert!((value / expected - 1.0).abs() <= tolerance, "{k}: {value} {expected}");
        }
        the_vectors_belong_to_the_values(a);
    }

    /// The (n+1)×n matrix of differences has the singular values 2 sin(kπ / (2(n+1))), for its
    /// square is the well-known tridiagonal matrix (−1, 2, −1) (textbook, from memory).
    #[test]
    fn differences() {
        for n in 1..=20 {
            let a = Matrix::from_fn(n + 1, n, |i, j| match i.wrapping_sub(j) {
                0 => 1.0,
                1 => -1.0,
                _ => 0.0,
            });
            let expected =
                |k: usize| 2.0 * libm::sin((n - k) as f64 * core::f64::consts::PI / (2.0 * (n + 1) as f64));
            values_are(&a, expected, 8.0 * EPSILON * n as f64);
            values_are(&adjoint(&a), expected, 8.0 * EPSILON * n as f64);
        }
    }

    /// The discrete Fourier transform is √n times a unitary matrix.
    #[test]
    fn fourier() {
        for n in 1..=16 {
            let a = Matrix::from_fn(n, n, |i, j| {
                let angle = -2.0 * core::f64::consts::PI * ((i * j) % n) as f64 / n as f64;
                Complex64::new(libm::cos(angle), libm::sin(angle))
            });
            values_are(&a, |_| libm::sqrt(n as f64), 4.0 * EPSILON * n as f64);
        }
    }

    /// [1 1; 0 δ] with a small δ: σ₁σ₂ = δ and σ₁² + σ₂² = 2 + δ², so σ₁ = √2 (1 + δ²/8 …) and σ₂ =
    /// δ/σ₁.
    #[test]
    fn tiny_values_keep_their_digits() {
        for power in [-30, -200, -500, -900, -990] {
            let small = libm::scalbn(1.0, power);
            let a = Matrix::from_columns(2, 2, alloc::vec![1.0, 0.0, 1.0, small]).unwrap();
            let root = libm::sqrt(2.0);
            values_are(&a, |k| if k == 0 { root } else { small / root }, 4.0 * EPSILON);
            values_are(&adjoint(&a), |k| if k == 0 { root } else { small / root }, 4.0 * EPSILON);
        }
    }

    /// [2 −1 0; −1 2 −1; 0 −1 2] has determinant 4; with its columns times d₀, d₁, d₂, which differ
    /// widely, the product of the singular values is 4 d₀d₁d₂, the greatest is the norm √5 or √6 of
    /// the greatest column, and the least is the inverse of the norm of a row of the inverse: [3 2
    /// 1; 2 4 2; 1 2 3]/4.
    #[test]
    fn graded_columns_keep_the_small_values() {
        let whole = [[2.0, -1.0, 0.0], [-1.0, 2.0, -1.0], [0.0, -1.0, 2.0]];
        for order in [[0, 1, 2], [0, 2, 1], [1, 0, 2], [1, 2, 0], [2, 0, 1], [2, 1, 0]] {
            let power = |j: usize| [490, -3, -500][order[j]];
            let place = |k: usize| order.iter().position(|&o| o == k).unwrap();
            let a = Matrix::from_fn(3, 3, |i, j| Complex64::new(0.0, libm::scalbn(whole[i][j], power(j))));
            let column_norm = |j: usize| libm::sqrt([5.0, 6.0, 5.0][j]);
            let inverse_row_norm = |j: usize| libm::sqrt([14.0, 24.0, 14.0][j]) / 4.0;
            let first = libm::scalbn(column_norm(place(0)), 490);
            let last = libm::scalbn(1.0 / inverse_row_norm(place(2)), -500);
            let middle = libm::scalbn(4.0 / column_norm(place(0)) * inverse_row_norm(place(2)), -3);
            values_are(&a, |k| [first, middle, last][k], 16.0 * EPSILON);
        }
    }

    fn agrees_with_nalgebra<T: Sample>() {
        let mut numbers = Numbers(30);
        for (rows, columns) in SHAPES.into_iter().chain(SHAPES.map(|(m, n)| (n, m))) {
            let a = numbers.matrix::<T>(rows, columns);
            let ours = Svd::factor(a.clone()).unwrap();
            let theirs = to_nalgebra(&a).singular_values();
            for (k, (x, y)) in ours.values().iter().zip(theirs.iter()).enumerate() {
                assert!(
                    (x - y).abs() <= 8.0 * EPSILON * columns as f64 * theirs[0],
                    "{rows}x{columns}, {k}: {x} {y}"
                );
            }
            for scale in [1e-300, 1e-150, 1.0, 1e150, 1e300] {
                the_vectors_belong_to_the_values(&with_scaled_columns(&a, |_| scale));
            }
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

    /// Columns a and a + δb with a, b orthonormal: σ₁σ₂ = δ and σ₁² + σ₂² = 2 + δ², so κ = 2/δ but
    /// for a part of about δ².
    #[test]
    fn condition_of_nearly_parallel_columns() {
        let delta = 1e-8;
        let a = Matrix::from_columns(2, 2, alloc::vec![1.0, 0.0, 1.0, delta]).unwrap();
        let kappa = Svd::factor(a).unwrap().condition().unwrap();
        assert!((kappa * delta / 2.0 - 1.0).abs() <= 8.0 * EPSILON, "{kappa}");
    }

    #[test]
    fn deficient_matrices_have_no_condition() {
        let mut a = Numbers(31).matrix::<Complex64>(4, 3);
        a.column_mut(1).fill(Complex64::ZERO);
        let svd = Svd::factor(a.clone()).unwrap();
        assert_eq!((svd.values()[2], svd.condition()), (0.0, None));
        // The null vector is the zero column.
        assert!((svd.right_vectors()[(1, 2)].modulus() - 1.0).abs() <= 4.0 * EPSILON);
        the_vectors_belong_to_the_values(&a);
        for (rows, columns) in [(3, 3), (2, 5), (5, 2), (0, 3), (3, 0), (0, 0)] {
            let zero = Matrix::<Complex64>::zeros(rows, columns);
            assert_eq!(Svd::factor(zero.clone()).unwrap().condition(), None);
            the_vectors_belong_to_the_values(&zero);
        }
        // Whole columns, the third twice the first: rounding leaves at most a trace of the third
        // value.
        let parallel =
            Matrix::from_fn(6, 3, |i, j| [i as f64 + 1.0, 7.0 - (i * i) as f64, 2.0 * i as f64 + 2.0][j]);
        let svd = Svd::factor(parallel.clone()).unwrap();
        assert!(svd.condition().is_none_or(|kappa| kappa > 1e15));
        the_vectors_belong_to_the_values(&parallel);
    }

    #[test]
    fn a_negligible_value_is_zero() {
        let diagonal =
            |power| Matrix::from_columns(2, 2, alloc::vec![1.0, 0.0, 0.0, libm::scalbn(1.0, power)]).unwrap();
        assert_eq!(Svd::factor(diagonal(-1000)).unwrap().condition(), Some(libm::scalbn(1.0, 1000)));
        assert_eq!(Svd::factor(diagonal(-1001)).unwrap().condition(), None);
    }

    #[test]
    fn a_bad_entry_is_refused() {
        for bad in [f64::NAN, f64::INFINITY] {
            for (rows, columns) in [(1, 1), (4, 2), (2, 4)] {
                for place in 0..rows * columns {
                    let mut a = Numbers(32).matrix::<Complex64>(rows, columns);
                    a.entries_mut()[place].im = bad;
                    assert!(Svd::factor(a).is_none());
                }
            }
        }
    }

    proptest! {
        #[test]
        fn nothing_panics(a in any_matrix()) {
            if let Some(svd) = Svd::factor(a) {
                prop_assert!(svd.values().iter().all(|value| value.is_finite()));
            }
        }

        #[test]
        fn graded_matrices(a in any_graded_matrix()) {
            the_vectors_belong_to_the_values(&a);
        }
    }
}
