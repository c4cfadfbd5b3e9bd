//! Whether a region of corrections has an end: a proof by eigenvalues first, then a search, and between both a covering.
//!
//! Far out along a combination of weights w the vibration as found no longer counts, and what is asked is whether the least of
//!
//! ```text
//! S(w) = Σ_k (h_k w)ᵀ C_k(w)⁻¹ (h_k w)
//! ```
//!
//! over its limit is above 1. With `C_k(w) ≤ κ_k wᴴ U w` in every direction and a U common to the channels, S is at least the
//! least eigenvalue of `Σ_k h_kᴴ h_k/κ_k` against U, and this is the very least of it where the scatter is circular and all
//! channels were read in the same runs. A direction with S of 1 or less proves the contrary.

use alloc::vec;
use alloc::vec::Vec;

use num_complex::Complex64;

use crate::dense::{Cholesky, Matrix, Svd};
use crate::math;

use super::region::{CorrectionRegion, factors_far_out};

/// How many products of 2x2 blocks are spent on the search, and again on the covering: some tenths of a second.
const BUDGET: usize = 2_000_000;
/// What rounding may add to a bound.
const ROUNDING: f64 = 1e-9;
/// The largest matrix over all channels whose greatest eigenvalue is computed; of larger ones the number of channels bounds it.
const LARGEST_JOINT: usize = 128;

/// What was found.
pub(super) struct Found {
    /// The least statistic over its limit that is possible; 0 where nothing is proven.
    pub(super) at_least: f64,
    /// The least that was found, and its direction.
    pub(super) at_most: f64,
    pub(super) direction: Vec<Complex64>,
}

/// Coordinates in which the scatter common to all channels is round: `wᴴ U w = |x|²`.
struct Round {
    /// The factor of the common covariance of the coefficients, `U` conjugate.
    factor: Cholesky<Complex64>,
    /// `m_k`, with `h_k w = m_k x`.
    rows: Vec<Vec<Complex64>>,
    /// `κ_k`.
    widths: Vec<f64>,
    /// What correlation between the channels may add: `κ`.
    together: f64,
}

/// Looks for an end.
pub(super) fn settled(of: &CorrectionRegion) -> Found {
    let planes = of.planes;
    if planes == 1 {
        // All directions are one, up to a turn that changes nothing.
        let direction = vec![Complex64::ONE];
        let value = of.far_out(&direction);
        let at_least = if value.is_nan() { 0.0 } else { value };
        return Found { at_least, at_most: value, direction };
    }
    let round = Round::of(of);
    let bound = round.as_ref().and_then(|round| round.bound(of));
    let at_least = bound.as_ref().map_or(0.0, |(least, _)| least * (1.0 - ROUNDING));
    let guess = bound.map(|(_, direction)| direction);
    if at_least > 1.0 {
        return Found { at_least, at_most: f64::INFINITY, direction: Vec::new() };
    }
    let (at_most, direction) = searched(of, guess);
    let mut found = Found { at_least, at_most, direction };
    if let (false, 2, Some(round)) = (found.at_most <= 1.0, planes, round) {
        round.cover(of, &mut found);
    }
    found
}

impl Round {
    /// `None` where the covariance cannot be told from none.
    fn of(of: &CorrectionRegion) -> Option<Self> {
        let (planes, channels) = (of.planes, of.channels);
        // γ_ij = (E[δh_i δh̄_j])/2 of a channel
        let circular = |channel: usize, i: usize, j: usize| {
            let [[a, b], [c, d]] = of.block(channel, i, channel, j);
            Complex64 { re: 0.5 * (a + d), im: 0.5 * (c - b) }
        };
        let of_plane = |plane: usize| {
            let largest = (0..channels).map(|k| circular(k, plane, plane).re).fold(0.0, f64::max);
            let response = (0..channels).map(|k| of.coefficient(k, plane).norm_sqr()).fold(0.0, f64::max);
            // Coefficients that are known exactly: a scatter that is nothing beside them.
            if largest > 0.0 { largest } else { (1e-24 * response).max(f64::MIN_POSITIVE) }
        };
        let scales: Vec<f64> = (0..planes).map(of_plane).collect();
        let scale = |plane: usize| scales.get(plane).copied().unwrap_or(1.0);
        let share =
            |channel: usize| (0..planes).map(|p| circular(channel, p, p).re / scale(p)).fold(0.0, f64::max);
        let shares: Vec<f64> = (0..channels).map(share).collect();
        let mut common = Matrix::zeros(planes, planes);
        for j in 0..planes {
            for (i, entry) in common.column_mut(j).iter_mut().enumerate() {
                let each = shares.iter().enumerate().filter(|(_, share)| **share > 0.0);
                *entry = each.map(|(k, share)| circular(k, i, j) / share).sum();
                if i == j {
                    *entry += 1e-12 * scale(i);
                }
            }
        }
        let factor = Cholesky::factor(&common).ok()?;
        let rows = (0..channels).map(|channel| {
            let mut row: Vec<Complex64> = (0..planes).map(|plane| of.coefficient(channel, plane)).collect();
            factor.solve_lower(&mut row);
            row
        });
        let rows = rows.collect();
        // The same factor on components: each entry becomes a multiplication.
        let components = Cholesky::factor(&Matrix::from_fn(2 * planes, 2 * planes, |i, j| {
            let z = common[(i / 2, j / 2)];
            let [re, im] = if i % 2 == j % 2 { [z.re, 0.0] } else { [0.0, z.im] };
            if i % 2 == 0 { re - im } else { re + im }
        }))
        .ok()?;
        let whitened = |channel: usize, other: usize| {
            let block = Matrix::from_fn(2 * planes, 2 * planes, |i, j| {
                let block = of.block(channel, i / 2, other, j / 2);
                block.as_flattened().get(2 * (i % 2) + j % 2).copied().unwrap_or(0.0)
            });
            whitened(&components, block)
        };
        let widths: Option<Vec<f64>> =
            (0..channels).map(|k| Some(greatest(whitened(k, k))?.max(f64::MIN_POSITIVE))).collect();
        let widths = widths?;
        #[allow(clippy::cast_precision_loss)] // a count of channels
        let most = channels as f64;
        let size = 2 * planes;
        let together = if !of.is_joint() {
            1.0
        } else if size * channels > LARGEST_JOINT {
            most
        } else {
            let mut all = Matrix::zeros(size * channels, size * channels);
            for k in 0..channels {
                for l in 0..channels {
                    let both = whitened(k, l);
                    let widths = |k: usize| widths.get(k).copied().unwrap_or(1.0);
                    let width = math::sqrt(widths(k)) * math::sqrt(widths(l));
                    for j in 0..size {
                        let column = all.column_mut(l * size + j).iter_mut().skip(k * size);
                        for (entry, value) in column.zip(both.column(j)) {
                            *entry = value / width;
                        }
                    }
                }
            }
            greatest(all)?.clamp(1.0, most)
        };
        Some(Self { factor, rows, widths, together })
    }

    /// The weights of a direction in round coordinates: `w = L⁻ᴴ x`, with `L` conjugate to the factor.
    fn weights(&self, x: &[Complex64]) -> Vec<Complex64> {
        let mut w: Vec<Complex64> = x.iter().map(Complex64::conj).collect();
        self.factor.solve_lower_adjoint(&mut w);
        w.iter().map(Complex64::conj).collect()
    }

    /// A lower bound on the least statistic over its limit, and the direction in which it would be met.
    fn bound(&self, of: &CorrectionRegion) -> Option<(f64, Vec<Complex64>)> {
        let channels = self.rows.len();
        #[allow(clippy::cast_precision_loss)] // a count of channels
        let even = 1.0 / channels as f64;
        // Of a largest, any mean of the channels is a bound: max_k T_k ≥ Σ μ_k T_k. The best mean is approached by steps in
        // proportion to what each channel gives.
        let mut mean = vec![even; channels];
        let rounds =
            if of.is_largest() { (BUDGET / (64 * channels * channels * channels)).clamp(1, 60) } else { 1 };
        let mut best: Option<(f64, Vec<Complex64>)> = None;
        for _ in 0..rounds {
            let divisor = |k: usize| {
                let width = self.widths.get(k).copied().unwrap_or(1.0);
                let part = if of.is_largest() { mean.get(k).copied().unwrap_or(0.0) } else { 1.0 };
                math::sqrt(part / (width * of.limit(k)))
            };
            let divisors: Vec<f64> = (0..channels).map(divisor).collect();
            let entry = |k: usize, plane: usize| {
                self.rows.get(k).and_then(|row| row.get(plane)).copied().unwrap_or_default()
            };
            let matrix = Matrix::from_fn(channels, of.planes, |k, plane| {
                entry(k, plane) * divisors.get(k).copied().unwrap_or(0.0)
            });
            let svd = Svd::factor(matrix)?;
            let least = svd.values().last()?;
            let value = least * least / self.together;
            let x = svd.right_vectors().column(of.planes - 1).to_vec();
            if best.as_ref().is_none_or(|(best, _)| value > *best) {
                best = Some((value, self.weights(&x)));
            }
            if value * (1.0 - ROUNDING) > 1.0 {
                break;
            }
            let gives = |k: usize| {
                let width = self.widths.get(k).copied().unwrap_or(1.0);
                let response: Complex64 = x.iter().enumerate().map(|(p, x)| entry(k, p) * x).sum();
                response.norm_sqr() / (width * of.limit(k))
            };
            let given: Vec<f64> = (0..channels).map(gives).collect();
            let largest = given.iter().copied().fold(0.0, f64::max);
            for (part, given) in mean.iter_mut().zip(&given) {
                *part *= libm::exp(if largest > 0.0 { given / largest - 1.0 } else { 0.0 });
            }
            let sum: f64 = mean.iter().sum();
            for part in &mut mean {
                *part /= sum;
            }
        }
        best
    }

    /// Two planes: covers all directions with squares in each of which the statistic is above its limit, or finds a direction in
    /// which it is not, within the budget.
    ///
    /// `√S(w)` is how far the coefficients must be moved, in units of their scatter, for w to do nothing. Moved so far, they do
    /// to a w₀ nearby what they do to `w₀ − w`. So `√S(w₀) ≤ √S(w) + r (a + b √S(w))` within r, with `a² = Σ |m_k|²/c_k` and
    /// `b² = max κ_k/c_k`, where `c_k` is the least variance of channel k at w₀.
    fn cover(&self, of: &CorrectionRegion, found: &mut Found) {
        // Directions (1, z) and (z, 1), z in a square about the origin: (chart, middle, half a side).
        let whole = [(0_u8, Complex64::ZERO, 1.0_f64), (1, Complex64::ZERO, 1.0)];
        let mut left: Vec<(u8, Complex64, f64)> = whole.to_vec();
        let mut squares = BUDGET / (2 * of.cost());
        while let Some((chart, z, half)) = left.pop() {
            let Some(fewer) = squares.checked_sub(1) else { return };
            squares = fewer;
            let x = if chart == 0 { [Complex64::ONE, z] } else { [z, Complex64::ONE] };
            let w = self.weights(&x);
            let value = of.far_out(&w);
            if value < found.at_most {
                (found.at_most, found.direction) = (value, w.clone());
            }
            if value <= 1.0 {
                return;
            }
            if self.is_above(of, &w, value, half * core::f64::consts::SQRT_2) {
                continue;
            }
            let quarter = 0.5 * half;
            // What is too small to be split stays unproven.
            if quarter <= 1e-12 {
                return;
            }
            for (re, im) in [(-1.0, -1.0), (-1.0, 1.0), (1.0, -1.0), (1.0, 1.0)] {
                left.push((chart, z + Complex64 { re: re * quarter, im: im * quarter }, quarter));
            }
        }
        found.at_least = 1.0 + ROUNDING;
    }

    /// Whether the statistic is above its limit everywhere within r of a direction in round coordinates.
    fn is_above(&self, of: &CorrectionRegion, w: &[Complex64], value: f64, r: f64) -> bool {
        let least = of.least_variances(w);
        let size =
            |k: usize| self.rows.get(k).map_or(0.0, |row| row.iter().map(Complex64::norm_sqr).sum::<f64>());
        let width = |k: usize| self.together * self.widths.get(k).copied().unwrap_or(1.0);
        let variance = |k: usize| least.get(k).or(least.first()).copied().unwrap_or(0.0);
        // (√S(w₀) − r a)/(1 + r b)
        let remains = |squared: f64, a_squared: f64, b_squared: f64| {
            (math::sqrt(squared) - r * math::sqrt(a_squared)) / (1.0 + r * math::sqrt(b_squared))
        };
        let channels = 0..of.channels;
        if of.is_largest() {
            // One channel that is above its limit is enough.
            return channels.into_iter().any(|k| {
                let own = of.channel_distance(k, &factors_far_out(w));
                let rest = remains(own, size(k) / variance(k), width(k) / variance(k));
                rest > math::sqrt(of.limit(k)) * (1.0 + ROUNDING)
            });
        }
        let a_squared = channels.clone().map(|k| size(k) / variance(k)).sum();
        let b_squared = channels.map(|k| width(k) / variance(k)).fold(0.0, f64::max);
        let limit = of.limit(0);
        remains(value * limit, a_squared, b_squared) > math::sqrt(limit) * (1.0 + ROUNDING)
    }
}

/// `L⁻¹ A L⁻ᵀ`
fn whitened(factor: &Cholesky<f64>, mut matrix: Matrix<f64>) -> Matrix<f64> {
    for _ in 0..2 {
        for column in 0..matrix.columns() {
            factor.solve_lower(matrix.column_mut(column));
        }
        matrix = Matrix::from_fn(matrix.columns(), matrix.rows(), |i, j| matrix[(j, i)]);
    }
    matrix
}

/// The greatest eigenvalue of a covariance.
fn greatest(matrix: Matrix<f64>) -> Option<f64> {
    Svd::factor(matrix)?.values().first().copied()
}

/// The least statistic that is found near some starts, within the budget: near the first, which is the best guess, the very least
/// is looked for; then the first direction that proves that there is no end is enough.
fn searched(of: &CorrectionRegion, guess: Option<Vec<Complex64>>) -> (f64, Vec<Complex64>) {
    let mut left = BUDGET / of.cost();
    let mut best = (f64::INFINITY, vec![Complex64::ONE; of.planes]);
    for start in guess.into_iter().chain(starts(of.planes)) {
        let found = descended(of, start, &mut left);
        if found.0 < best.0 || found.0.is_nan() {
            best = found;
        }
        if best.0 <= 1.0 || left == 0 {
            break;
        }
    }
    best
}

/// The least statistic far out near a start: one component after the other is moved by a step that halves.
fn descended(of: &CorrectionRegion, start: Vec<Complex64>, left: &mut usize) -> (f64, Vec<Complex64>) {
    let mut here = start;
    normalise(&mut here);
    let mut least = of.far_out(&here);
    *left = left.saturating_sub(1);
    let mut step = 0.5;
    while step > 1e-6 {
        let mut moved = false;
        for place in 0..here.len() {
            for (re, im) in [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)] {
                let Some(fewer) = left.checked_sub(1) else { return (least, here) };
                *left = fewer;
                let mut there = here.clone();
                if let Some(entry) = there.get_mut(place) {
                    *entry += Complex64 { re: re * step, im: im * step };
                }
                normalise(&mut there);
                let value = of.far_out(&there);
                if value < least {
                    (least, here, moved) = (value, there, true);
                }
            }
        }
        if !moved {
            step *= 0.5;
        }
    }
    (least, here)
}

/// Each plane alone, all together, and every two in eight phases.
fn starts(planes: usize) -> impl Iterator<Item = Vec<Complex64>> {
    let of_two = move |one: usize, other: usize, z: Complex64| {
        let mut start = vec![Complex64::default(); planes];
        for (plane, value) in [(other, z), (one, Complex64::ONE)] {
            if let Some(entry) = start.get_mut(plane) {
                *entry = value;
            }
        }
        start
    };
    let alone = (0..planes).map(move |plane| of_two(plane, plane, Complex64::ONE));
    let two = (0..planes).flat_map(move |one| {
        (one + 1..planes).flat_map(move |other| {
            (0..8_u8).map(move |eighth| {
                let (sine, cosine) = math::sin_cos_degrees(45.0 * f64::from(eighth));
                of_two(one, other, Complex64 { re: cosine, im: sine })
            })
        })
    });
    alone.chain(core::iter::once(vec![Complex64::ONE; planes])).chain(two)
}

/// To a length of 1.
pub(super) fn normalise(direction: &mut [Complex64]) {
    let size = direction.iter().map(|&z| math::modulus(z)).fold(0.0, math::hypot);
    if size > 0.0 && size.is_finite() {
        for z in direction {
            *z /= size;
        }
    }
}

#[cfg(test)]
mod tests {
    use num_complex::Complex64;

    use super::*;
    use crate::angle::PhaseSense;
    use crate::channel::Channel;
    use crate::influence::{Estimator, Run};
    use crate::scatter::{DegreesOfFreedom, Scatter};
    use crate::speed_window::SpeedWindow;
    use crate::uncertainty::Uncertainty;
    use crate::unit::{Mass, Radius, Speed};
    use crate::vector::{UnbalanceVector, Vibration, Weight};
    use crate::vibration_unit::{Detector, VibrationScale, VibrationUnit};

    /// Numbers between -1 and 1 (Knuth's MMIX generator, from memory).
    fn number(state: &mut u64) -> f64 {
        *state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        f64::from((*state >> 33) as u32) / f64::from(1 << 30) - 1.0
    }

    fn region(state: &mut u64, coupled: bool, degrees: DegreesOfFreedom) -> CorrectionRegion {
        let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
        let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0).unwrap(), 1.0).unwrap();
        let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
        let mut estimator = Estimator::with_known_variances(&channels, 2).unwrap();
        for run in 0..3 {
            let mut of_run = Run::new("run");
            if run > 0 {
                let unit = UnbalanceVector::from_components_gram_millimetres(1.0, 0.0).unwrap();
                of_run = of_run.mounted(run - 1, unit);
            }
            for channel in channels {
                let vibration = Vibration::from_components(number(state), number(state)).unwrap();
                let (a, b) = (0.3 + 0.2 * number(state), 0.3 + 0.2 * number(state));
                let off = 0.7 * a * b * number(state);
                let scatter = Scatter::from_covariance([[a * a, off], [off, b * b]], degrees).unwrap();
                of_run = of_run.reading(channel.reading_of(vibration).with_scatter(scatter));
            }
            estimator.add(of_run).unwrap();
        }
        let mut uncertainty = Uncertainty::of(&estimator.fit().unwrap()).unwrap();
        if coupled {
            let place = crate::angle::RotorAngle::MARK;
            let mass = Mass::from_grams(0.1).unwrap();
            let weight =
                Weight::new(Mass::from_grams(1.0).unwrap(), Radius::from_millimetres(1.0).unwrap(), place);
            uncertainty = uncertainty.with_weight_scatter(1, &[2], weight, mass, 5.0).unwrap();
        }
        uncertainty.correction_region(0.95).unwrap()
    }

    /// Where a square is said to be above the limit, no direction within it is below.
    #[test]
    fn what_covers_is_above_the_limit_all_over() {
        let mut state = 5;
        for (coupled, degrees) in [
            (false, DegreesOfFreedom::Known),
            (true, DegreesOfFreedom::Known),
            (false, DegreesOfFreedom::Circular(6.0)),
        ] {
            let (mut above, mut not) = (0, 0);
            for _ in 0..40 {
                let region = region(&mut state, coupled, degrees);
                let round = Round::of(&region).unwrap();
                for _ in 0..50 {
                    let mut any = || Complex64::new(number(&mut state), number(&mut state));
                    let x = [Complex64::ONE, any()];
                    let w = round.weights(&x);
                    let (value, r) = (region.far_out(&w), math::power(0.5, (any().re * 4.0) as i32 + 3));
                    if value <= 1.0 || !round.is_above(&region, &w, value, r) {
                        not += 1;
                        continue;
                    }
                    above += 1;
                    for _ in 0..20 {
                        // On the edge, where it is tightest.
                        let step = any();
                        let near = [x[0], x[1] + step * (r / math::modulus(step))];
                        assert!(region.far_out(&round.weights(&near)) > 1.0);
                    }
                }
            }
            assert!(above > 200 && not > 200, "{above} {not}");
        }
    }
}
