//! Vectors in the plane of the rotor, and sums that keep their digits.

use num_complex::Complex64;

use crate::error::QuantityError;
use crate::unit::{Mass, Unbalance};
use crate::vector::UnbalanceVector;

use super::Place;

/// Sines below this count as zero where a wanted angle meets that of a place: 1e-12 degrees, a few roundings of an
/// angle near a full turn.
pub(super) const AT_PLACE: f64 = 1.75e-14;
/// The same in degrees.
pub(super) const AT_PLACE_DEGREES: f64 = 1e-12;

/// a·b
pub(super) fn dot(a: Complex64, b: Complex64) -> f64 {
    a.re * b.re + a.im * b.im
}

/// The component of a × b along the axis.
pub(super) fn cross(a: Complex64, b: Complex64) -> f64 {
    a.re * b.im - a.im * b.re
}

/// The unit vector towards a place.
pub(super) fn towards(place: Place) -> Complex64 {
    let (sine, cosine) = place.angle.with_rotation().sin_cos();
    Complex64 { re: cosine, im: sine }
}

/// A vector that may come from overflowing arithmetic, or why it is refused.
pub(super) fn accepted(vector: UnbalanceVector) -> Result<UnbalanceVector, QuantityError> {
    UnbalanceVector::from_components_gram_millimetres(
        vector.x_gram_millimetres(),
        vector.y_gram_millimetres(),
    )
}

/// A computed vector, refused where it left the range of unbalances.
pub(super) fn vector(value: Complex64) -> Result<UnbalanceVector, QuantityError> {
    UnbalanceVector::from_components_gram_millimetres(value.re, value.im)
}

/// The mass of a computed amount of unbalance at a place, refused where it left the range of masses.
pub(super) fn mass_at(place: Place, gram_millimetres: f64) -> Result<Mass, QuantityError> {
    // m = U/r
    Mass::from_grams((Unbalance::canonical(gram_millimetres) / place.radius).grams())
}

/// A sum that carries the digits lost in each step along (A. Neumaier, ZAMM 54, 1974; from memory).
#[derive(Clone, Copy, Default)]
pub(super) struct CompensatedSum {
    sum: f64,
    lost: f64,
}

impl CompensatedSum {
    pub(super) fn add(&mut self, term: f64) {
        let next = self.sum + term;
        self.lost +=
            if self.sum.abs() >= term.abs() { (self.sum - next) + term } else { (term - next) + self.sum };
        self.sum = next;
    }

    pub(super) fn value(self) -> f64 {
        self.sum + self.lost
    }
}

/// A compensated sum of vectors.
#[derive(Clone, Copy, Default)]
pub(super) struct VectorSum {
    re: CompensatedSum,
    im: CompensatedSum,
}

impl VectorSum {
    pub(super) fn add(&mut self, term: Complex64) {
        self.re.add(term.re);
        self.im.add(term.im);
    }

    pub(super) fn value(self) -> Complex64 {
        Complex64 { re: self.re.value(), im: self.im.value() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lost_digits_are_kept() {
        let mut sum = CompensatedSum::default();
        for term in [1.0, 1e100, 1.0, -1e100] {
            sum.add(term);
        }
        assert_eq!(sum.value(), 2.0);
    }
}
