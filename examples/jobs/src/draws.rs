//! Seeded draws, the same on every platform.

use num_complex::Complex64;
use rand_pcg::Pcg64;
use rand_pcg::rand_core::{Rng, SeedableRng};

/// A stream of draws that its seed determines to the last bit.
#[derive(Debug, Clone)]
pub struct Draws(Pcg64);

impl Draws {
    pub fn seeded(seed: u64) -> Self {
        Self(Pcg64::seed_from_u64(seed))
    }

    /// Above 0 and below 1.
    pub fn uniform(&mut self) -> f64 {
        #[allow(clippy::cast_precision_loss)] // 53 bits are exact
        let bits = (self.0.next_u64() >> 11) as f64;
        (bits + 0.5) * (1.0 / 9_007_199_254_740_992.0)
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.uniform()
    }

    /// Evenly spread in its logarithm: as likely to be half as to be twice the middle.
    pub fn between_ratios(&mut self, low: f64, high: f64) -> f64 {
        low * libm::pow(high / low, self.uniform())
    }

    /// A whole number below a limit.
    pub fn below(&mut self, limit: usize) -> usize {
        #[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let number = (self.uniform() * limit as f64) as usize;
        number.min(limit.saturating_sub(1))
    }

    /// Two independent standard normal numbers (G. E. P. Box and M. E. Muller, Annals of Mathematical Statistics 29, 1958).
    pub fn normal(&mut self) -> Complex64 {
        let radius = libm::sqrt(-2.0 * libm::log(self.uniform()));
        turned(Complex64::new(radius, 0.0), 360.0 * self.uniform())
    }

    /// A vector of this length in any direction.
    pub fn on_circle(&mut self, length: f64) -> Complex64 {
        turned(Complex64::new(length, 0.0), 360.0 * self.uniform())
    }
}

/// `z exp(jα)`.
pub fn turned(vector: Complex64, degrees: f64) -> Complex64 {
    let (sine, cosine) = libm::sincos(degrees * (core::f64::consts::PI / 180.0));
    vector * Complex64::new(cosine, sine)
}

/// `|z|`.
pub fn size(vector: Complex64) -> f64 {
    libm::hypot(vector.re, vector.im)
}
