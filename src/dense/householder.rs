//! QR by Householder reflections with column pivoting, on borrowed slices and without a heap.
//!
//! A P = Q R, with Q unitary, R upper triangular with a real diagonal, and P an order of the
//! columns in which every |rₖₖ| is at least as large as the norm of what is left of any later
//! column. That order shows the rank.
//!
//! The method is P. Businger and G. H. Golub, "Linear least squares solutions by Householder
//! transformations", Numerische Mathematik 7 (1965); the reflections are those of Golub and Van
//! Loan, "Matrix Computations", chapter 5, in the form that needs no square root beside the norm;
//! when the running norms must be taken anew is from Z. Drmač and Z. Bujanović, "On the failure of
//! rank-revealing QR factorization software", ACM Transactions on Mathematical Software 35 (2008).
//! (All three from memory.)
//!
//! Rows of very different size keep their digits only with the heavy ones first: weights of 1 and
//! 2⁴⁰ then cost no digit, but with the heavy rows last all but about three or four digits are
//! gone. Sorting the rows is the caller's job, as is scaling the columns. (A. J. Cox and N. J.
//! Higham, "Stability of Householder QR factorization for weighted least squares problems", 1998,
//! from memory.)

use super::scalar::{Scalar, exponent, norm, times_power_of_two};

/// What the factorisation keeps about one column, in the order of the pivots.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Pivot<T> {
    /// The place with which this one was exchanged in its step.
    exchanged: usize,
    /// τ of the reflection I − τ v vᴴ that made this column triangular.
    tau: T,
    /// The norm of the column below the rows already done, as it was last summed up.
    summed: f64,
    /// The part of the square of `summed` that is still below the rows already done.
    left: f64,
    /// The norm of the column below the rows already done: `summed * sqrt(left)`.
    norm: f64,
}

impl<T: Scalar> Pivot<T> {
    /// The state before the factorisation, to fill the slice that [`Factors::factor`] wants.
    pub(crate) const NEW: Self = Self { exchanged: 0, tau: T::ZERO, summed: 0.0, left: 1.0, norm: 0.0 };

    /// Takes the norm of what is left of a column from its entries.
    #[inline]
    fn sum_up(&mut self, column: &[T]) {
        self.summed = norm(column);
        self.left = 1.0;
        self.norm = self.summed;
    }

    /// Brings the norm up to date when `top` has left the column and `rest` remains.
    #[inline]
    fn pass(&mut self, top: T, rest: &[T]) {
        // ‖rest‖² = ‖column‖² − |top|²
        self.left -= top.over(self.summed).modulus_squared();
        if self.left > LEAST_LEFT {
            self.norm = self.summed * libm::sqrt(self.left);
        } else {
            self.sum_up(rest);
        }
    }
}

/// √ε: with less than this left of the square, too few digits of the norm have survived the
/// subtractions.
const LEAST_LEFT: f64 = 1.490_116_119_384_765_6e-8;

/// Column norms in this range are neither near overflow nor near underflow when squared.
pub(super) const ORDINARY_NORM: core::ops::RangeInclusive<f64> = 1e-130..=1e130;

/// The factors of A P = Q R, on the slices that hold them.
///
/// R stands on and above the diagonal. Below it, column k holds the vector v of the reflection k
/// without its first entry, which is 1. An entry of A that is infinite or NaN makes the diagonal of
/// R NaN from its first entry on: the rank is then 0 and nothing is solved. Column norms up to
/// 1e307 are handled.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Factors<'a, T> {
    rows: usize,
    /// `rows * pivots.len()` entries, one column after the other.
    entries: &'a [T],
    pivots: &'a [Pivot<T>],
}

impl<'a, T: Scalar> Factors<'a, T> {
    /// Factors the matrix with `rows` rows and as many columns as there are `pivots`; `entries`
    /// holds its columns, one after the other, and is overwritten. `None` when `entries` has
    /// another length than that.
    #[cfg(test)]
    pub(crate) fn factor(rows: usize, entries: &'a mut [T], pivots: &'a mut [Pivot<T>]) -> Option<Self> {
        factor(rows, entries, pivots).then_some(Self { rows, entries, pivots })
    }

    /// The view of factors that are already there; the lengths have been checked by [`factor`].
    pub(super) fn of(rows: usize, entries: &'a [T], pivots: &'a [Pivot<T>]) -> Self {
        Self { rows, entries, pivots }
    }

    /// The number of rows of A.
    #[inline]
    pub(crate) fn rows(&self) -> usize {
        self.rows
    }

    /// The number of columns of A.
    #[inline]
    pub(crate) fn columns(&self) -> usize {
        self.pivots.len()
    }

    /// The number of reflections, which is the lesser of the counts of rows and columns, and the
    /// greatest rank.
    #[inline]
    pub(crate) fn steps(&self) -> usize {
        self.rows.min(self.columns())
    }

    /// The entry of R in row i and column k, i ≤ k, in the order of the pivots.
    #[inline]
    pub(crate) fn r(&self, i: usize, k: usize) -> T {
        self.column(k)[i]
    }

    #[inline]
    fn column(&self, k: usize) -> &'a [T] {
        &self.entries[k * self.rows..(k + 1) * self.rows]
    }

    /// The number of columns that can be told apart: how many |rₖₖ| exceed `tolerance` times the
    /// greatest, |r₀₀|.
    ///
    /// What rounding alone can leave is about ε times the greater of the counts of rows and
    /// columns; the caller, who knows how columns are scaled and how well they are known, sets the
    /// tolerance. 0 when A is not finite.
    pub(crate) fn rank(&self, tolerance: f64) -> usize {
        let diagonal = |k| self.r(k, k).real().abs();
        (0..self.steps()).take_while(|&k| diagonal(k) > 0.0 && diagonal(k) > tolerance * diagonal(0)).count()
    }

    /// b ← Qᴴ b, for a b of as many entries as A has rows; of another b, nothing is changed.
    pub(crate) fn apply_adjoint(&self, b: &mut [T]) {
        if b.len() != self.rows {
            return;
        }
        // Qᴴ = Hₙ₋₁ᴴ … H₁ᴴ H₀ᴴ, with H = I − τ v vᴴ
        for (k, pivot) in self.pivots.iter().enumerate().take(self.steps()) {
            reflect(&self.column(k)[k + 1..], pivot.tau.conjugate(), &mut b[k..]);
        }
    }

    /// b ← Q b, for a b of as many entries as A has rows; of another b, nothing is changed.
    pub(crate) fn apply(&self, b: &mut [T]) {
        if b.len() != self.rows {
            return;
        }
        // Q = H₀ H₁ … Hₙ₋₁
        for (k, pivot) in self.pivots.iter().enumerate().take(self.steps()).rev() {
            reflect(&self.column(k)[k + 1..], pivot.tau, &mut b[k..]);
        }
    }

    /// c ← R₁₁⁻¹ c for the leading square of R that has as many rows as c; its diagonal must not
    /// hold a zero.
    #[inline]
    pub(super) fn back_substitute(&self, c: &mut [T]) {
        for k in (0..c.len().min(self.steps())).rev() {
            let column = self.column(k);
            // xₖ = (cₖ − Σ_{j>k} rₖⱼ xⱼ) / rₖₖ, of which the columns after have taken their parts
            // already
            let x_k = c[k].over(column[k].real());
            c[k] = x_k;
            T::subtract_multiple(&mut c[..k], x_k, &column[..k]);
        }
    }

    /// Whether R has an inverse that can be computed with: as many rows as columns, all rₖₖ finite
    /// and not zero.
    pub(super) fn is_invertible(&self) -> bool {
        self.columns() <= self.rows
            && (0..self.columns()).all(|k| {
                let diagonal = self.r(k, k).real();
                diagonal.is_finite() && diagonal != 0.0
            })
    }

    /// z ← P z: brings entries that belong to the columns in the order of the pivots into the
    /// caller's order.
    #[inline]
    pub(crate) fn restore_order(&self, z: &mut [T]) {
        for (k, pivot) in self.pivots.iter().enumerate().take(z.len().min(self.steps())).rev() {
            z.swap(k, pivot.exchanged);
        }
    }

    /// Replaces b by the x that makes ‖A x − b‖ least, followed by the last entries of Qᴴ b: as
    /// many as there are more rows than columns; their norm is ‖A x − b‖.
    ///
    /// `None`, with b as it was, when b has not as many entries as A has rows, when there are fewer
    /// rows than columns, or when R has a zero on its diagonal. Whether the columns of A are
    /// independent enough to mean something is for [`rank`](Self::rank) to say first.
    pub(crate) fn solve(&self, b: &mut [T]) -> Option<()> {
        if b.len() != self.rows || !self.is_invertible() {
            return None;
        }
        // x = P R⁻¹ (Qᴴ b)
        self.apply_adjoint(b);
        let x = &mut b[..self.pivots.len()];
        self.back_substitute(x);
        self.restore_order(x);
        Some(())
    }
}

/// y ← (I − τ v vᴴ) y, where v is 1 followed by `v_rest`.
#[inline]
fn reflect<T: Scalar>(v_rest: &[T], tau: T, y: &mut [T]) {
    if let [top, rest @ ..] = y {
        let multiple = tau * (*top + T::dot(v_rest, rest));
        *top -= multiple;
        T::subtract_multiple(rest, multiple, v_rest);
    }
}

/// Turns x into the vector v of the reflection H = I − τ v vᴴ with Hᴴ x = (β, 0, …, 0), v = (1, …),
/// and returns τ. The first entry of x becomes β, which is real; the others become those of v.
/// `norm` is ‖x‖.
#[inline]
fn make_reflection<T: Scalar>(x: &mut [T], norm: f64) -> T {
    if !ORDINARY_NORM.contains(&norm) {
        return make_scaled_reflection(x, norm);
    }
    let [top, rest @ ..] = x else { return T::ZERO };
    // β = −sign(x₀′) ‖x‖, so that x₀ − β does not cancel
    let beta = -norm.copysign(top.real());
    let head = *top - T::from_real(beta);
    // v = x / (x₀ − β)
    let inverse = head.conjugate().over(head.modulus_squared());
    for entry in rest {
        *entry = *entry * inverse;
    }
    *top = T::from_real(beta);
    // τ = (β − x₀) / β
    -head.over(beta)
}

/// [`make_reflection`] for a column of zeros, of very large or very small entries, or of such as
/// are not finite.
#[cold]
fn make_scaled_reflection<T: Scalar>(x: &mut [T], size: f64) -> T {
    if size == 0.0 {
        return T::ZERO;
    }
    if !size.is_finite() {
        x.fill(T::from_real(f64::NAN));
        return T::from_real(f64::NAN);
    }
    // v and τ do not change with the scale of x, and β changes in proportion.
    let n = exponent(size);
    for entry in x.iter_mut() {
        *entry = times_power_of_two(*entry, -n);
    }
    let tau = make_reflection(x, norm(x));
    if let Some(top) = x.first_mut() {
        *top = times_power_of_two(*top, n);
    }
    tau
}

/// The place of the column with the greatest norm, the first of equals; a NaN counts as the
/// greatest, so that it comes to the diagonal at once.
#[inline]
fn greatest<T>(pivots: &[Pivot<T>]) -> usize {
    let mut best = 0;
    let mut norm = -1.0;
    for (place, pivot) in pivots.iter().enumerate() {
        if pivot.norm.is_nan() {
            return place;
        }
        if pivot.norm > norm {
            (best, norm) = (place, pivot.norm);
        }
    }
    best
}

/// Overwrites the columns of A with its factors, as [`Factors`] describes; false and no change when
/// the length is wrong.
pub(super) fn factor<T: Scalar>(rows: usize, entries: &mut [T], pivots: &mut [Pivot<T>]) -> bool {
    let columns = pivots.len();
    if rows.checked_mul(columns) != Some(entries.len()) {
        return false;
    }
    if rows == 0 {
        return true;
    }
    for (pivot, column) in pivots.iter_mut().zip(entries.chunks_exact(rows)) {
        pivot.sum_up(column);
    }
    for k in 0..rows.min(columns) {
        let best = k + greatest(&pivots[k..]);
        let (done, later) = entries.split_at_mut((k + 1) * rows);
        let column = &mut done[k * rows..];
        if best != k {
            pivots.swap(k, best);
            column.swap_with_slice(&mut later[(best - k - 1) * rows..(best - k) * rows]);
        }
        let (pivots_done, later_pivots) = pivots.split_at_mut(k + 1);
        let (pivot, column) = (&mut pivots_done[k], &mut column[k..]);
        pivot.exchanged = best;
        if k > 0 {
            pivot.sum_up(column);
        }
        pivot.tau = make_reflection(column, pivot.norm);
        let (v_rest, tau) = (&column[1..], pivot.tau.conjugate());
        // A last column has none to be compared with.
        let choice = later_pivots.len() > 1;
        for (other, pivot) in later.chunks_exact_mut(rows).zip(later_pivots) {
            let y = &mut other[k..];
            reflect(v_rest, tau, y);
            if choice {
                pivot.pass(y[0], &y[1..]);
            }
        }
    }
    true
}

#[cfg(test)]
mod tests {
    use alloc::vec::Vec;
    use core::cmp::Ordering;

    use num_complex::Complex64;
    use proptest::prelude::*;

    use super::super::matrix::Matrix;
    use super::super::testing::{
        Numbers, SHAPES, Sample, any_graded_matrix, any_matrix, relative_error, ten_to, with_scaled_columns,
    };
    use super::*;

    const EPSILON: f64 = f64::EPSILON;

    fn factored<T: Scalar>(a: &Matrix<T>, work: impl FnOnce(Factors<'_, T>)) {
        let mut entries = a.entries().to_vec();
        let mut pivots = alloc::vec![Pivot::NEW; a.columns()];
        work(Factors::factor(a.rows(), &mut entries, &mut pivots).unwrap());
    }

    /// The columns of A in the order of the pivots, from the factors: Q R.
    fn product_of_factors<T: Scalar>(f: Factors<'_, T>) -> Vec<Vec<T>> {
        let column = |k: usize| {
            let mut column = alloc::vec![T::ZERO; f.rows()];
            for (i, entry) in column.iter_mut().enumerate().take(k + 1) {
                *entry = f.r(i, k);
            }
            f.apply(&mut column);
            column
        };
        (0..f.columns()).map(column).collect()
    }

    /// For each place the caller's number of the column that stands there.
    fn order<T: Scalar>(f: Factors<'_, T>) -> Vec<usize> {
        let mut order: Vec<usize> = (0..f.columns()).collect();
        for (k, pivot) in f.pivots.iter().enumerate().take(f.steps()) {
            order.swap(k, pivot.exchanged);
        }
        order
    }

    /// Each column of Q R is that of A P to a few ε times its own norm, whatever the norms of the
    /// others.
    fn the_factors_give_the_matrix<T: Sample>(a: &Matrix<T>) {
        factored(a, |f| {
            for (product, &source) in product_of_factors(f).iter().zip(&order(f)) {
                let column = a.column(source);
                if norm(column) > 0.0 {
                    let error = relative_error(product, column);
                    assert!(
                        error <= 4.0 * EPSILON * (f.steps() as f64 + 2.0),
                        "{}x{}: {error}",
                        f.rows(),
                        f.columns()
                    );
                } else {
                    assert_eq!(product, column);
                }
            }
        });
    }

    fn the_factors_give_the_matrix_at_all_scales<T: Sample>() {
        let mut numbers = Numbers(3);
        for (rows, columns) in SHAPES.into_iter().chain(SHAPES.map(|(m, n)| (n, m))) {
            let a = numbers.matrix::<T>(rows, columns);
            the_factors_give_the_matrix(&a);
            for scale in [1e-290, 1e-150, 1e150, 1e300] {
                the_factors_give_the_matrix(&with_scaled_columns(&a, |_| scale));
            }
            // 1e-150 to 1e150, in no order
            the_factors_give_the_matrix(&with_scaled_columns(&a, |j| ten_to((j as i32 * 111) % 301 - 150)));
            // two columns parallel up to 1e-8, and a zero column
            the_factors_give_the_matrix(&Matrix::from_fn(rows, columns + 2, |i, j| match j {
                0 => T::ZERO,
                1 => a[(i, columns - 1)] + a[(i, 0)].times(1e-8),
                _ => a[(i, j - 2)],
            }));
        }
    }

    #[test]
    fn the_factors_give_the_matrix_real() {
        the_factors_give_the_matrix_at_all_scales::<f64>();
    }

    #[test]
    fn the_factors_give_the_matrix_complex() {
        the_factors_give_the_matrix_at_all_scales::<Complex64>();
    }

    #[test]
    fn q_is_unitary() {
        let mut numbers = Numbers(4);
        for (rows, columns) in SHAPES {
            let (a, b) = (numbers.matrix::<Complex64>(rows, columns), numbers.vector::<Complex64>(rows));
            factored(&a, |f| {
                let mut turned = b.clone();
                f.apply_adjoint(&mut turned);
                assert!((norm(&turned) / norm(&b) - 1.0).abs() <= 2.0 * EPSILON * columns as f64);
                f.apply(&mut turned);
                assert!(relative_error(&turned, &b) <= 4.0 * EPSILON * columns as f64);
            });
        }
    }

    /// |rₖₖ|² ≥ |rₖⱼ|² + … + |rⱼⱼ|² for all j > k, which is what pivoting promises, up to the
    /// digits that the running norms may have lost: half of them.
    fn the_diagonal_leads(f: Factors<'_, Complex64>) {
        for k in 0..f.steps() {
            for j in k + 1..f.columns() {
                let rest: Vec<Complex64> = (k..f.rows().min(j + 1)).map(|i| f.r(i, j)).collect();
                assert!(f.r(k, k).real().abs() >= norm(&rest) * (1.0 - 1e-7), "{k} {j}");
            }
        }
    }

    #[test]
    fn the_diagonal_leads_when_columns_are_nearly_dependent() {
        let mut numbers = Numbers(5);
        for trial in 0..300 {
            let (rows, columns) = (12, 8);
            // Columns that share a few directions, the rest at 1e-6 to 1e-14 of them: the running
            // norms cancel.
            let base = numbers.matrix::<Complex64>(rows, 3);
            let small = ten_to(-6 - trial % 9);
            let a = Matrix::from_fn(rows, columns, |i, j| {
                let rest = Complex64::from_parts(|| numbers.uniform()).times(small);
                base[(i, j % 3)].times(1.0 + j as f64) + rest
            });
            factored(&a, the_diagonal_leads);
        }
    }

    /// W. Kahan's matrix, "Numerical linear algebra", Canadian Mathematical Bulletin 9 (1966) (from
    /// memory): row i is sⁱ (0, …, 0, 1, −c, −c, …) with s² + c² = 1. All that is left of its
    /// columns is equal in each step, so the running norms decide between ties, and they shrink
    /// step by step.
    #[test]
    fn the_diagonal_leads_on_the_matrix_of_kahan() {
        let (s, c) = (0.28, 0.96);
        let a = Matrix::from_fn(20, 20, |i, j| {
            let entry = match i.cmp(&j) {
                Ordering::Less => -c,
                Ordering::Equal => 1.0,
                Ordering::Greater => 0.0,
            };
            Complex64::from_real(entry * libm::pow(s, i as f64))
        });
        factored(&a, the_diagonal_leads);
        the_factors_give_the_matrix(&a);
    }

    #[test]
    fn scaling_by_a_power_of_two_changes_nothing_else() {
        let mut numbers = Numbers(6);
        let (a, b) = (numbers.matrix::<Complex64>(8, 4), numbers.vector::<Complex64>(8));
        let mut plain = b.clone();
        factored(&a, |f| f.solve(&mut plain).unwrap());
        for n in [-900, -500, -400, 400, 500, 900] {
            let scaled = with_scaled_columns(&a, |_| libm::scalbn(1.0, n));
            let mut x = b.clone();
            factored(&scaled, |f| f.solve(&mut x).unwrap());
            let back: Vec<Complex64> = x[..4].iter().map(|&x| times_power_of_two(x, n)).collect();
            assert!(relative_error(&back, &plain[..4]) <= 8.0 * EPSILON, "2^{n}");
            assert!(relative_error(&x[4..], &plain[4..]) <= 8.0 * EPSILON, "2^{n}");
        }
    }

    #[test]
    fn wrong_lengths_change_nothing() {
        let (mut entries, mut pivots) = ([1.0, 2.0, 3.0, 4.0, 5.0], [Pivot::NEW; 2]);
        assert!(Factors::factor(2, &mut entries, &mut pivots).is_none());
        assert!(Factors::factor(usize::MAX, &mut entries, &mut pivots).is_none());
        assert_eq!(entries, [1.0, 2.0, 3.0, 4.0, 5.0]);
        let f = Factors::factor(2, &mut entries[..4], &mut pivots).unwrap();
        let mut b = [1.0, 2.0, 3.0];
        f.apply(&mut b);
        f.apply_adjoint(&mut b);
        assert_eq!((f.solve(&mut b), b), (None, [1.0, 2.0, 3.0]));
    }

    #[test]
    fn a_bad_entry_anywhere_makes_the_rank_zero() {
        for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            for (rows, columns) in [(1, 1), (1, 3), (4, 2), (3, 3), (2, 5)] {
                for place in 0..rows * columns {
                    let mut a = Numbers(7).matrix::<f64>(rows, columns);
                    a.entries_mut()[place] = bad;
                    factored(&a, |f| {
                        assert_eq!((f.rank(0.0), f.rank(f64::NAN)), (0, 0));
                        assert_eq!(f.solve(&mut alloc::vec![1.0; rows]), None);
                    });
                }
            }
        }
    }

    proptest! {
        #[test]
        fn nothing_panics(a in any_matrix(), tolerance in prop::num::f64::ANY) {
            factored(&a, |f| {
                assert!(f.rank(tolerance) <= f.steps());
                let mut b = alloc::vec![Complex64::ONE; f.rows()];
                f.apply(&mut b);
                f.apply_adjoint(&mut b);
                f.solve(&mut b);
            });
        }

        #[test]
        fn graded_matrices(a in any_graded_matrix()) {
            the_factors_give_the_matrix(&a);
            factored(&a, the_diagonal_leads);
        }
    }
}
