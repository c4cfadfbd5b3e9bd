//! Small dense linear algebra, real and complex: the arithmetic under every estimate and every
//! correction.
//!
//! The matrices here are small: up to some hundreds of rows, up to about twenty columns. So nothing
//! is blocked or threaded; what counts is that the inner loops run over contiguous columns and that
//! small problems cost little.
//!
//! | file | holds |
//! | --- | --- |
//! | `scalar` | a trait for real and complex numbers, the vector kernels, robust norms |
//! | `matrix` | a matrix by columns |
//! | `householder` | QR with column pivoting on borrowed slices, without a heap |
//! | `qr` | the owning factorisation: least squares, covariance, leverage, null space |
//! | `svd` | singular values to high relative accuracy, condition number |
//! | `cholesky` | factor of a covariance, to whiten with it |
//!
//! Every sum is taken in one fixed order and every root comes from `libm`, so results are the same
//! bits everywhere. Scaling the columns is the caller's job. NaN or infinity in gives `None`, rank
//! 0 or NaN out, never a panic.
// Kernels index: each index is bounded by a shape that was checked when the value was built.
#![allow(clippy::indexing_slicing)]
// Tests count in small numbers and compare exactly where the answer is exact.
#![cfg_attr(
    test,
    allow(
        clippy::cast_possible_truncation,
        clippy::cast_possible_wrap,
        clippy::cast_precision_loss,
        clippy::float_cmp
    )
)]

#[cfg(feature = "alloc")]
mod cholesky;
#[cfg(feature = "alloc")]
mod householder;
#[cfg(feature = "alloc")]
mod matrix;
#[cfg(feature = "alloc")]
mod qr;
// Without a heap only the closed forms compute, and they need its quotient and modulus alone.
#[cfg_attr(not(feature = "alloc"), allow(dead_code))]
mod scalar;
#[cfg(feature = "alloc")]
mod svd;
#[cfg(all(test, feature = "alloc"))]
mod testing;

#[cfg(feature = "alloc")]
pub(crate) use cholesky::Cholesky;
#[cfg(feature = "alloc")]
pub(crate) use matrix::Matrix;
#[cfg(feature = "alloc")]
pub(crate) use qr::Qr;
pub(crate) use scalar::Scalar;
#[cfg(feature = "alloc")]
pub(crate) use scalar::norm;
#[cfg(feature = "alloc")]
pub(crate) use svd::Svd;
