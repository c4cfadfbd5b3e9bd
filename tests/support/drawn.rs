//! Numbers that look drawn: the same in every run.

#![allow(clippy::disallowed_methods, reason = "draws need not have the same bits everywhere")]

use core::f64::consts::TAU;

use num_complex::Complex64;

/// `SplitMix64` (Steele, Lea and Flood, OOPSLA 2014, from memory); normal numbers by Box and Muller.
pub(crate) struct Draws(u64);

impl Draws {
    pub(crate) const fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// Between 0 and 1, and neither.
    pub(crate) fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        #[allow(clippy::cast_precision_loss)] // 53 bits
        let whole = ((z ^ (z >> 31)) >> 11) as f64;
        (whole + 0.5) / 9_007_199_254_740_992.0
    }

    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.uniform()
    }

    pub(crate) fn below(&mut self, count: usize) -> usize {
        #[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        // a count
        let drawn = (self.uniform() * count as f64) as usize;
        drawn.min(count - 1)
    }

    /// Of size 1, in any direction.
    pub(crate) fn direction(&mut self) -> Complex64 {
        Complex64::from_polar(1.0, TAU * self.uniform())
    }

    /// Two components of mean 0 and variance 1.
    pub(crate) fn normals(&mut self) -> Complex64 {
        (-2.0 * self.uniform().ln()).sqrt() * self.direction()
    }

    /// One of mean 0 and variance 1.
    pub(crate) fn normal(&mut self) -> f64 {
        self.normals().re
    }
}
