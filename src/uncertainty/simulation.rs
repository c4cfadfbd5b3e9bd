//! Seeded draws from what is believed: a check of first order, and the way for what is not linear (JCGM 101:2008).

use alloc::vec::Vec;

use num_complex::Complex64;
use rand_pcg::Pcg64;
use rand_pcg::rand_core::{Rng, SeedableRng};

use crate::dense::{Cholesky, Matrix};
use crate::error::UncertaintyError;
use crate::math;
use crate::vector::{Influence, Vibration};

use super::joint::Uncertainty;

/// Numbers drawn, in rising order.
///
/// ```
/// # use counterpoise::{Uncertainty, UncertaintyError};
/// # fn show(uncertainty: &Uncertainty) -> Result<(), UncertaintyError> {
/// // How large the first coefficient may be.
/// let sizes = uncertainty.simulated(1, 10_000, |_, influence| influence[0].per_gram_millimetre())?;
/// println!("median {:.2e}, 95 % below {:.2e}", sizes.quantile(0.5), sizes.quantile(0.95));
/// # Ok(()) }
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Simulated {
    sorted: Vec<f64>,
}

impl Simulated {
    /// The value that so large a share of the draws does not exceed; NaN for a share that is no number.
    ///
    /// ```
    /// # fn show(drawn: &counterpoise::Simulated) -> f64 {
    /// drawn.quantile(0.5)
    /// # }
    /// ```
    pub fn quantile(&self, share: f64) -> f64 {
        if share.is_nan() {
            return f64::NAN;
        }
        #[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let place = math::floor(share.clamp(0.0, 1.0) * self.sorted.len() as f64) as usize;
        self.sorted.get(place.min(self.sorted.len().saturating_sub(1))).copied().unwrap_or(f64::NAN)
    }

    /// The share of the draws that do not exceed a limit.
    ///
    /// ```
    /// # fn show(drawn: &counterpoise::Simulated) -> f64 {
    /// drawn.share_within(0.1)
    /// # }
    /// ```
    pub fn share_within(&self, limit: f64) -> f64 {
        #[allow(clippy::cast_precision_loss)]
        let share = self.sorted.partition_point(|&value| value <= limit) as f64 / self.sorted.len() as f64;
        share
    }

    /// All draws, in rising order.
    ///
    /// ```
    /// # fn show(drawn: &counterpoise::Simulated) -> &[f64] {
    /// drawn.sorted()
    /// # }
    /// ```
    pub fn sorted(&self) -> &[f64] {
        &self.sorted
    }
}

/// Two independent standard normal numbers (Box and Muller, Annals of Mathematical Statistics 29, 1958).
fn normals(generator: &mut Pcg64) -> [f64; 2] {
    #[allow(clippy::cast_precision_loss)] // 53 bits are exact
    let mut uniform = || ((generator.next_u64() >> 11) as f64 + 0.5) * (1.0 / 9_007_199_254_740_992.0);
    let radius = math::sqrt(-2.0 * libm::log(uniform()));
    let (sine, cosine) = math::sin_cos_degrees(360.0 * uniform());
    [radius * cosine, radius * sine]
}

/// What one draw believes: a vibration as found for every channel, and the coefficients.
///
/// ```
/// # use counterpoise::Draw;
/// # fn show(draw: &Draw) -> f64 {
/// draw.as_found[0].amplitude()
/// # }
/// ```
#[derive(Debug, Clone, PartialEq, Default)]
#[non_exhaustive]
pub struct Draw {
    /// The vibrations as found, one per channel.
    pub as_found: Vec<Vibration>,
    /// The coefficients, channel by channel, in each the planes.
    pub influence: Vec<Influence>,
}

/// Draws without end, one after the other: given by [`Uncertainty::draws`].
///
/// ```
/// # use counterpoise::{Uncertainty, UncertaintyError};
/// # fn show(uncertainty: &Uncertainty) -> Result<(), UncertaintyError> {
/// for draw in uncertainty.draws(7)?.take(1000) {
///     assert_eq!(draw.as_found.len(), uncertainty.channels());
/// }
/// # Ok(()) }
/// ```
#[derive(Debug, Clone)]
pub struct Draws {
    planes: usize,
    unknowns: Vec<Complex64>,
    /// Standard deviations of the components.
    deviations: Vec<f64>,
    /// The factor of their correlations.
    factor: Cholesky<f64>,
    generator: Pcg64,
    standard: Vec<f64>,
}

impl Draws {
    /// Draws once more into what is there.
    fn draw_into(&mut self, draw: &mut Draw) {
        for pair in self.standard.chunks_mut(2) {
            pair.copy_from_slice(normals(&mut self.generator).get(..pair.len()).unwrap_or_default());
        }
        let lower = self.factor.lower();
        let component = |i: usize| -> f64 {
            let sum: f64 = self.standard.iter().take(i + 1).enumerate().map(|(j, z)| lower[(i, j)] * z).sum();
            sum * self.deviations.get(i).copied().unwrap_or(0.0)
        };
        draw.as_found.clear();
        draw.influence.clear();
        for (place, mean) in self.unknowns.iter().enumerate() {
            let drawn = mean + Complex64 { re: component(2 * place), im: component(2 * place + 1) };
            if place % (self.planes + 1) == 0 {
                draw.as_found.push(Vibration::computed(drawn));
            } else {
                draw.influence.push(Influence::computed(drawn));
            }
        }
    }
}

impl Iterator for Draws {
    type Item = Draw;

    fn next(&mut self) -> Option<Draw> {
        let mut draw = Draw::default();
        self.draw_into(&mut draw);
        Some(draw)
    }
}

impl Uncertainty {
    /// The most samples that [`simulated`](Self::simulated) keeps: 80 MB. [`draws`](Self::draws) keeps none.
    ///
    /// ```
    /// assert_eq!(counterpoise::Uncertainty::MOST_SAMPLES, 10_000_000);
    /// ```
    pub const MOST_SAMPLES: usize = 10_000_000;

    /// Draws vibrations as found and coefficients from the normal distribution with the joint covariance, as many as are taken.
    /// The same seed gives the same bits on every platform. Covariances count as known here.
    ///
    /// # Errors
    /// [`UncertaintyError::NotPositiveDefinite`] where nothing can be drawn from the covariance.
    ///
    /// ```
    /// # use counterpoise::{Uncertainty, UncertaintyError};
    /// # fn show(uncertainty: &Uncertainty) -> Result<f64, UncertaintyError> {
    /// // The mean size of the first coefficient.
    /// let sizes = uncertainty.draws(7)?.take(1000).map(|draw| draw.influence[0].per_gram_millimetre());
    /// Ok(sizes.sum::<f64>() / 1000.0)
    /// # }
    /// ```
    pub fn draws(&self, seed: u64) -> Result<Draws, UncertaintyError> {
        let size = 2 * self.unknowns.len();
        // Scaled to unit variances, so that small coefficients cost no digits.
        let deviations: Vec<f64> = (0..size).map(|i| math::sqrt(self.joint.entry(i, i))).collect();
        let deviation = |i: usize| deviations.get(i).copied().unwrap_or(0.0);
        let correlation =
            Matrix::from_fn(size, size, |i, j| self.joint.entry(i, j) / (deviation(i) * deviation(j)));
        let factor = Cholesky::factor(&correlation).map_err(|_| UncertaintyError::NotPositiveDefinite)?;
        Ok(Draws {
            planes: self.planes,
            unknowns: self.unknowns.clone(),
            deviations,
            factor,
            generator: Pcg64::seed_from_u64(seed),
            standard: alloc::vec![0.0; size],
        })
    }

    /// Makes so many [`draws`](Self::draws), and sorts what a function of them comes to.
    ///
    /// # Errors
    /// [`UncertaintyError::NotPositiveDefinite`] where nothing can be drawn from the covariance, [`UncertaintyError::Count`]
    /// for no samples, [`UncertaintyError::TooMany`] for more than [`MOST_SAMPLES`](Self::MOST_SAMPLES).
    ///
    /// ```
    /// # use counterpoise::{Uncertainty, UncertaintyError};
    /// # fn show(uncertainty: &Uncertainty) -> Result<f64, UncertaintyError> {
    /// // The chance that the first channel, as found, is above 3.
    /// let drawn = uncertainty.simulated(7, 1000, |as_found, _| as_found[0].amplitude())?;
    /// Ok(1.0 - drawn.share_within(3.0))
    /// # }
    /// ```
    pub fn simulated(
        &self,
        seed: u64,
        samples: usize,
        mut function: impl FnMut(&[Vibration], &[Influence]) -> f64,
    ) -> Result<Simulated, UncertaintyError> {
        if samples == 0 {
            return Err(UncertaintyError::Count { what: "samples, one or more", expected: 1, got: 0 });
        }
        if samples > Self::MOST_SAMPLES {
            let most = Self::MOST_SAMPLES;
            return Err(UncertaintyError::TooMany { what: "samples", most, got: samples });
        }
        let mut draws = self.draws(seed)?;
        let mut sorted = Vec::with_capacity(samples);
        let mut draw = Draw::default();
        for _ in 0..samples {
            draws.draw_into(&mut draw);
            sorted.push(function(&draw.as_found, &draw.influence));
        }
        sorted.sort_unstable_by(f64::total_cmp);
        Ok(Simulated { sorted })
    }
}
