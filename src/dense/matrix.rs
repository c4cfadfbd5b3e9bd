//! A matrix by columns.

use alloc::vec;
use alloc::vec::Vec;
use core::ops::{Index, IndexMut};

use super::scalar::Scalar;

/// A dense matrix of `rows` × `columns` entries, one column after the other; either count may be
/// zero.
///
/// `matrix[(i, j)]` is the entry in row i and column j. An index outside the shape is a mistake of
/// the caller and panics: bring the indices from the shape.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Matrix<T> {
    rows: usize,
    columns: usize,
    /// Always `rows * columns` long.
    entries: Vec<T>,
}

impl<T: Scalar> Matrix<T> {
    /// All zeros.
    pub(crate) fn zeros(rows: usize, columns: usize) -> Self {
        Self { rows, columns, entries: vec![T::ZERO; rows * columns] }
    }

    /// The matrix whose entry in row i and column j is `entry(i, j)`.
    pub(crate) fn from_fn(rows: usize, columns: usize, mut entry: impl FnMut(usize, usize) -> T) -> Self {
        let mut entries = Vec::with_capacity(rows * columns);
        for j in 0..columns {
            entries.extend((0..rows).map(|i| entry(i, j)));
        }
        Self { rows, columns, entries }
    }

    /// The matrix with these entries, one column after the other; `None` unless there are `rows *
    /// columns` of them.
    pub(crate) fn from_columns(rows: usize, columns: usize, entries: Vec<T>) -> Option<Self> {
        (rows.checked_mul(columns) == Some(entries.len())).then_some(Self { rows, columns, entries })
    }

    /// The number of rows.
    #[inline]
    pub(crate) fn rows(&self) -> usize {
        self.rows
    }

    /// The number of columns.
    #[inline]
    pub(crate) fn columns(&self) -> usize {
        self.columns
    }

    /// All entries, one column after the other.
    #[inline]
    pub(crate) fn entries(&self) -> &[T] {
        &self.entries
    }

    /// All entries, one column after the other.
    #[inline]
    pub(crate) fn entries_mut(&mut self) -> &mut [T] {
        &mut self.entries
    }

    /// Column j.
    #[inline]
    pub(crate) fn column(&self, j: usize) -> &[T] {
        &self.entries[j * self.rows..(j + 1) * self.rows]
    }

    /// Column j.
    #[inline]
    pub(crate) fn column_mut(&mut self, j: usize) -> &mut [T] {
        &mut self.entries[j * self.rows..(j + 1) * self.rows]
    }

    /// A x. Entries of x beyond the columns are not used; missing ones count as zero.
    pub(crate) fn times_vector(&self, x: &[T]) -> Vec<T> {
        let mut product = vec![T::ZERO; self.rows];
        for (j, &x_j) in (0..self.columns).zip(x) {
            T::subtract_multiple(&mut product, -x_j, self.column(j));
        }
        product
    }

    /// Aᴴ y. Entries of y beyond the rows are not used; missing ones count as zero.
    #[cfg(test)]
    pub(crate) fn adjoint_times_vector(&self, y: &[T]) -> Vec<T> {
        (0..self.columns).map(|j| T::dot(self.column(j), y)).collect()
    }
}

impl<T: Scalar> Index<(usize, usize)> for Matrix<T> {
    type Output = T;

    #[inline]
    fn index(&self, (i, j): (usize, usize)) -> &T {
        &self.column(j)[i]
    }
}

impl<T: Scalar> IndexMut<(usize, usize)> for Matrix<T> {
    #[inline]
    fn index_mut(&mut self, (i, j): (usize, usize)) -> &mut T {
        &mut self.column_mut(j)[i]
    }
}

#[cfg(test)]
mod tests {
    use num_complex::Complex64;

    use super::*;

    /// A = [1+j 2 −3j; 0 4 5−j]
    fn sample() -> Matrix<Complex64> {
        let c = Complex64::new;
        let columns = [c(1., 1.), c(0., 0.), c(2., 0.), c(4., 0.), c(0., -3.), c(5., -1.)];
        Matrix::from_columns(2, 3, columns.to_vec()).unwrap()
    }

    #[test]
    fn entries_stand_by_columns() {
        let a = sample();
        assert_eq!((a.rows(), a.columns()), (2, 3));
        assert_eq!(a[(0, 2)], Complex64::new(0., -3.));
        assert_eq!(a.column(1), [Complex64::new(2., 0.), Complex64::new(4., 0.)]);
        assert_eq!(a, Matrix::from_fn(2, 3, |i, j| a[(i, j)]));
    }

    #[test]
    fn a_wrong_count_of_entries_is_refused() {
        assert_eq!(Matrix::from_columns(2, 3, vec![0.0; 5]), None);
        assert_eq!(Matrix::<f64>::from_columns(usize::MAX, 2, vec![]), None);
        assert!(Matrix::<f64>::from_columns(0, 3, vec![]).is_some());
    }

    #[test]
    fn products_by_hand() {
        let c = Complex64::new;
        // [ (1+j)j + 2·1 − 3j(1−j), 4·1 + (5−j)(1−j) ]
        assert_eq!(sample().times_vector(&[c(0., 1.), c(1., 0.), c(1., -1.)]), [c(-2., -2.), c(8., -6.)]);
        // [ (1−j)·1, 2·1 + 4j, 3j·1 + (5+j)j ]
        assert_eq!(
            sample().adjoint_times_vector(&[c(1., 0.), c(0., 1.)]),
            [c(1., -1.), c(2., 4.), c(-1., 8.)]
        );
    }

    #[test]
    fn empty_shapes_have_empty_products() {
        assert!(Matrix::<f64>::zeros(0, 3).times_vector(&[1.0; 3]).is_empty());
        assert_eq!(Matrix::<f64>::zeros(0, 3).adjoint_times_vector(&[]), [0.0; 3]);
        assert_eq!(Matrix::<f64>::zeros(2, 0).times_vector(&[]), [0.0; 2]);
    }
}
