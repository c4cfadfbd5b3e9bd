//! The one door to elementary functions.
//!
//! Every function here is built on the `libm` crate alone, so that desktop, embedded and wasm builds give the
//! same bits. Platform versions of `sin` and `hypot` differ in the last bit for a few percent of all values.

use core::f64::consts::PI;
use num_complex::Complex64;

pub(crate) use libm::{floor, fmod, hypot, sqrt};
#[cfg(feature = "alloc")]
pub(crate) use libm::{log, log1p};

/// Degrees in a half turn, for the conversions below.
const HALF_TURN: f64 = 180.0;

/// Brings any finite number of degrees into `[0, 360)`, exactly but for the last rounding of a negative value.
///
/// A value so little below zero that the sum rounds to 360 becomes 0.
pub(crate) fn reduce_degrees(degrees: f64) -> f64 {
    // fmod is exact, whatever the size of its argument.
    let rest = fmod(degrees, 360.0);
    let reduced = if rest < 0.0 { rest + 360.0 } else { rest };
    // Adding 0.0 turns a negative zero into a positive one.
    if reduced >= 360.0 { 0.0 } else { reduced + 0.0 }
}

/// Sine and cosine of an angle in degrees, exact at multiples of 90.
pub(crate) fn sin_cos_degrees(degrees: f64) -> (f64, f64) {
    let reduced = reduce_degrees(degrees);
    // The nearest multiple of 90; the subtraction is exact (Sterbenz), so no digit is lost before the conversion.
    let quadrant = floor(reduced / 90.0 + 0.5);
    let rest = reduced - 90.0 * quadrant;
    let radians = rest * (PI / HALF_TURN);
    let (sine, cosine) = (libm::sin(radians), libm::cos(radians));
    // `quadrant` is one of 0, 1, 2, 3, 4.
    if quadrant == 1.0 {
        (cosine, -sine)
    } else if quadrant == 2.0 {
        (-sine, -cosine)
    } else if quadrant == 3.0 {
        (-cosine, sine)
    } else {
        (sine, cosine)
    }
}

/// Sine and cosine of an angle in radians.
pub(crate) fn sin_cos(radians: f64) -> (f64, f64) {
    (libm::sin(radians), libm::cos(radians))
}

/// The argument of `x + j y` in degrees, in `[0, 360)`; exact on the axes; 0 for the zero vector.
pub(crate) fn argument_degrees(y: f64, x: f64) -> f64 {
    let (rise, run) = (y.abs(), x.abs());
    if rise == 0.0 && run == 0.0 {
        return 0.0;
    }
    // Fold into the first octant, where the arctangent keeps its relative accuracy, then unfold in degrees.
    let octant = if rise <= run {
        libm::atan(rise / run) * (HALF_TURN / PI)
    } else {
        90.0 - libm::atan(run / rise) * (HALF_TURN / PI)
    };
    let half = if x < 0.0 { 180.0 - octant } else { octant };
    let whole = if y < 0.0 { 360.0 - half } else { half };
    if whole >= 360.0 { 0.0 } else { whole }
}

/// |z| without avoidable overflow or underflow.
pub(crate) fn modulus(z: Complex64) -> f64 {
    hypot(z.re, z.im)
}

/// base^exponent for a small whole exponent, by repeated multiplication in a fixed order.
pub(crate) fn power(base: f64, exponent: i32) -> f64 {
    let mut product = 1.0;
    for _ in 0..exponent.unsigned_abs() {
        product *= base;
    }
    if exponent < 0 { 1.0 / product } else { product }
}

/// The power of two next to a positive number: scaling by it costs no digit. 1 for zero and for what is not finite.
#[cfg(feature = "alloc")]
pub(crate) fn power_of_two_near(value: f64) -> f64 {
    if value > 0.0 && value.is_finite() { libm::ldexp(1.0, libm::frexp(value).1 - 1) } else { 1.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn multiples_of_ninety_are_exact() {
        for turns in -8_i32..=8 {
            let full = 360.0 * f64::from(turns);
            assert_eq!(sin_cos_degrees(full), (0.0, 1.0));
            assert_eq!(sin_cos_degrees(full + 90.0), (1.0, 0.0));
            assert_eq!(sin_cos_degrees(full + 180.0), (0.0, -1.0));
            assert_eq!(sin_cos_degrees(full + 270.0), (-1.0, 0.0));
        }
        for (y, x, degrees) in [
            (0.0, 2.0, 0.0),
            (3.0, 0.0, 90.0),
            (0.0, -1.0, 180.0),
            (-5.0, 0.0, 270.0),
            (-0.0, 1.0, 0.0),
            (1.0, 1.0, 45.0),
            (1.0, -1.0, 135.0),
            (-1.0, -1.0, 225.0),
            (-1.0, 1.0, 315.0),
        ] {
            assert_eq!(argument_degrees(y, x), degrees);
        }
    }

    #[test]
    fn reduction_never_returns_the_full_turn() {
        assert_eq!(reduce_degrees(-1e-17), 0.0);
        assert_eq!(reduce_degrees(360.0), 0.0);
        let below = f64::from_bits(360.0_f64.to_bits() - 1);
        assert_eq!(reduce_degrees(below), below);
        assert!((0.0..360.0).contains(&reduce_degrees(1e300)));
        assert!((0.0..360.0).contains(&reduce_degrees(-1e300)));
        assert!(reduce_degrees(-0.0).is_sign_positive());
        assert_eq!(argument_degrees(-1e-300, 1.0), 0.0);
    }

    #[test]
    fn sine_and_argument_are_inverse_to_a_few_ulp() {
        for step in 0..3600 {
            let degrees = f64::from(step) * 0.1;
            let (sine, cosine) = sin_cos_degrees(degrees);
            assert!((sine * sine + cosine * cosine - 1.0).abs() <= 4.0 * f64::EPSILON);
            assert!((argument_degrees(sine, cosine) - degrees).abs() <= 360.0 * f64::EPSILON);
        }
    }
}
