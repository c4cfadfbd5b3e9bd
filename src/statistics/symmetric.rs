//! Symmetric matrices of two rows: covariances and information in the plane.
// What only the parts with a heap ask.
#![cfg_attr(not(feature = "alloc"), allow(dead_code))]

use num_complex::Complex64;

/// A symmetric matrix `[[a, b], [b, c]]`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Symmetric {
    a: f64,
    b: f64,
    c: f64,
}

impl Symmetric {
    pub(crate) const ZERO: Self = Self { a: 0.0, b: 0.0, c: 0.0 };

    pub(crate) const fn new(a: f64, b: f64, c: f64) -> Self {
        Self { a, b, c }
    }

    /// `R diag(a, b) Rᵀ`, with R a turn by the angle whose sine and cosine are given: so much along it, and so much across.
    pub(crate) fn turned([sine, cosine]: [f64; 2], along: f64, across: f64) -> Self {
        Self {
            a: along * cosine * cosine + across * sine * sine,
            b: (along - across) * cosine * sine,
            c: along * sine * sine + across * cosine * cosine,
        }
    }

    pub(crate) const fn rows(self) -> [[f64; 2]; 2] {
        [[self.a, self.b], [self.b, self.c]]
    }

    pub(crate) fn determinant(self) -> f64 {
        self.a * self.c - self.b * self.b
    }

    pub(crate) fn plus_identity(self, times: f64) -> Self {
        Self { a: self.a + times, c: self.c + times, ..self }
    }

    /// `A⁻¹ z`
    pub(crate) fn solve(self, z: Complex64) -> Complex64 {
        let re = self.c * z.re - self.b * z.im;
        let im = self.a * z.im - self.b * z.re;
        Complex64 { re, im } / self.determinant()
    }

    pub(crate) fn inverse(self) -> [[f64; 2]; 2] {
        let over = 1.0 / self.determinant();
        [[self.c * over, 0.0 - self.b * over], [0.0 - self.b * over, self.a * over]]
    }

    /// `A + Jᵀ C⁻¹ J`, with J the real matrix of a multiplication by `h`.
    pub(crate) fn plus_information(self, h: Complex64, covariance: Self) -> Self {
        // The columns of J are h and jh.
        let column = Complex64 { re: -h.im, im: h.re };
        let (one, other) = (covariance.solve(h), covariance.solve(column));
        Self { a: self.a + dot(h, one), b: self.b + dot(h, other), c: self.c + dot(column, other) }
    }
}

/// The product of two vectors in the plane.
pub(crate) fn dot(x: Complex64, y: Complex64) -> f64 {
    x.re * y.re + x.im * y.im
}
