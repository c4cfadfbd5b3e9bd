//! The explanations with a continuous parameter: how far the mark was moved, and at which speed a run was taken.

use alloc::vec::Vec;

use num_complex::Complex64;

use crate::math;

use super::examination::Examination;
use super::model::Model;
use super::regression::{Left, coherence};

/// The speeds that are tried, in parts of the stated one.
const SLOWEST: f64 = 0.8;
const FASTEST: f64 = 1.2;

/// How many steps the speeds are first looked through in, at least and at most.
const FEWEST_STEPS: u32 = 200;
const MOST_STEPS: u32 = 2000;

/// Steps of the golden section: each keeps 0.618 of the interval, and two steps of the grid shrink to 10⁻¹¹ of them.
const SECTIONS: u32 = 52;

/// `(√5 − 1)/2`.
const GOLDEN: f64 = 0.618_033_988_749_894_8;

/// A reading that decides its own fit leaves nothing at any gain.
const DECIDES_ITSELF: f64 = 1e-10;

/// The turn of the phases from a run on that fits best, in degrees, in the sense of the first channel.
///
/// With `r'` and `r''` what the fit leaves of the readings before the run and from it on, the readings turned back by
/// `exp(jφ)` leave `‖r' + exp(jφ) r''‖²`, which is least at `exp(jφ) = −c̄/|c|`, `c = r'ᴴr''`.
pub(super) fn best_turn(job: &Examination, stated: &Model, run: usize) -> f64 {
    let c = coherence(stated, run);
    if c == Complex64::ZERO { 0.0 } else { job.turn_of(-c.conj()) }
}

/// The speed of a run that fits best, in rpm of the first channel that was read in it.
///
/// With `ŷ` what the other runs predict for a reading, `h` the variance of that, and `g` the gain at a speed, what the
/// reading adds to χ² is `|y − g ŷ|²/(1 + |g|² h)`: no fit is needed while the speed is looked for.
pub(super) fn best_rpm(job: &Examination, left: &[Vec<Option<Left>>], run: usize) -> Option<f64> {
    let readings = &job.runs.get(run)?.readings;
    let stated_rpm = readings.iter().flatten().next()?.speed().rpm();
    // (reading, y, ŷ, h) of the channels whose reading the other runs say something about
    let mut predicted = Vec::new();
    for (reading, left) in readings.iter().zip(left.get(run)?) {
        let (Some(reading), Some(left)) = (reading, left) else { continue };
        let free = 1.0 - left.leverage;
        if free > DECIDES_ITSELF {
            // ŷ = y − r/(1 − ℓ),  h = ℓ/(1 − ℓ)
            predicted.push((
                reading,
                left.reading,
                left.reading - left.residual / free,
                left.leverage / free,
            ));
        }
    }
    let misfit = |ratio: f64| -> f64 {
        predicted.iter().fold(0.0, |sum, (reading, y, predicted, h)| {
            let gain = job.speed_gain(reading, ratio);
            sum + (y - gain * predicted).norm_sqr() / (1.0 + gain.norm_sqr() * h)
        })
    };
    Some(stated_rpm * least(misfit, steps(job)))
}

/// A grid fine enough not to step over the resonance, whose width is about its damping ratio.
fn steps(job: &Examination) -> u32 {
    let Some(resonance) = &job.resonance else { return FEWEST_STEPS };
    let wanted = (FASTEST - SLOWEST) / (0.25 * resonance.damping_ratio());
    if wanted > f64::from(MOST_STEPS) {
        return MOST_STEPS;
    }
    // Positive and at most the number above: the cast cuts off a fraction.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let wanted = math::floor(wanted) as u32;
    wanted.max(FEWEST_STEPS)
}

/// Where a function of the ratio is least: a grid, and a golden section around each of its local minima.
fn least(misfit: impl Fn(f64) -> f64, steps: u32) -> f64 {
    let step = (FASTEST - SLOWEST) / f64::from(steps);
    let at = |number: u32| SLOWEST + step * f64::from(number);
    let grid: Vec<f64> = (0..=steps).map(|number| misfit(at(number))).collect();
    let mut best = (1.0, misfit(1.0));
    let mut before = f64::INFINITY;
    for (number, value) in (0..=steps).zip(&grid) {
        let after = usize::try_from(number).ok().and_then(|number| grid.get(number + 1)).copied();
        if *value <= before && after.is_none_or(|after| *value <= after) {
            let found = section(&misfit, at(number.saturating_sub(1)), at((number + 1).min(steps)));
            if found.1 < best.1 {
                best = found;
            }
        }
        before = *value;
    }
    best.0
}

fn section(misfit: &impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> (f64, f64) {
    let (mut left, mut right) = (high - GOLDEN * (high - low), low + GOLDEN * (high - low));
    let (mut at_left, mut at_right) = (misfit(left), misfit(right));
    for _ in 0..SECTIONS {
        if at_left <= at_right {
            (high, right, at_right) = (right, left, at_left);
            left = high - GOLDEN * (high - low);
            at_left = misfit(left);
        } else {
            (low, left, at_left) = (left, right, at_right);
            right = low + GOLDEN * (high - low);
            at_right = misfit(right);
        }
    }
    if at_left <= at_right { (left, at_left) } else { (right, at_right) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_lowest_of_several_valleys_is_found() {
        // Valleys at 0.85, 1.02 and 1.15, the second one the lowest, each narrower than a tenth of the range.
        let valley = |x: f64, at: f64, depth: f64| -depth / (1.0 + 1e4 * (x - at) * (x - at));
        let misfit = |x: f64| valley(x, 0.85, 1.0) + valley(x, 1.02, 1.5) + valley(x, 1.15, 1.2);
        let found = least(misfit, FEWEST_STEPS);
        assert!((found - 1.02).abs() < 1e-4, "{found}");
        // At an end, and where nothing differs.
        assert!((least(|x| x, FEWEST_STEPS) - SLOWEST).abs() < 1e-9);
        assert!((least(|x| -x, FEWEST_STEPS) - FASTEST).abs() < 1e-9);
        assert_eq!(least(|_| 1.0, FEWEST_STEPS), 1.0);
        assert_eq!(least(|_| f64::NAN, FEWEST_STEPS), 1.0);
    }
}
