//! Least squares of the runs as one explanation has them.

use alloc::vec;
use alloc::vec::Vec;

use num_complex::Complex64;

use crate::dense::{Matrix, Qr};
use crate::math;

use super::model::{Model, Taken};

/// As in the estimator: what is smaller than so many roundings is a combination of the others.
const ROUNDINGS: f64 = 64.0;

/// How well a model fits.
#[derive(Debug, Clone, Copy)]
pub(super) struct Fit {
    /// `χ² = Σ |y − fit|²/σ²`.
    pub(super) chi_squared: f64,
    /// The rank of the design, summed over the channels: complex unknowns that were fitted.
    pub(super) rank: usize,
}

/// What was fitted to one channel, where the runs determine all of it.
#[derive(Debug, Clone)]
pub(super) struct Solution {
    /// `v0, H_1, …, H_P`.
    pub(super) unknowns: Vec<Complex64>,
    /// `W` with `(AᴴGA)⁻¹ = W Wᴴ`, row by row in the order of the unknowns.
    root_of_cofactor: Vec<Vec<Complex64>>,
}

impl Solution {
    /// The vibration with some unbalances mounted: `v0 + Σ H_p u_p`.
    pub(super) fn vibration(&self, mounted: &[Complex64]) -> Complex64 {
        row(mounted).zip(&self.unknowns).fold(Complex64::ZERO, |sum, (a, x)| sum + a * x)
    }

    /// The variance of that vibration, per component.
    pub(super) fn variance(&self, mounted: &[Complex64]) -> f64 {
        // ‖aᵀW‖²
        let mut parts = vec![Complex64::ZERO; self.root_of_cofactor.len()];
        for (a, root) in row(mounted).zip(&self.root_of_cofactor) {
            for (part, entry) in parts.iter_mut().zip(root) {
                *part += a * entry;
            }
        }
        parts.iter().fold(0.0, |sum, part| sum + part.norm_sqr())
    }
}

/// The row of the design: 1 and the unbalance in every plane.
fn row(mounted: &[Complex64]) -> impl Iterator<Item = Complex64> + '_ {
    core::iter::once(Complex64::ONE).chain(mounted.iter().copied())
}

/// The factored design of one channel. Channels whose readings weigh alike share it.
#[derive(Debug)]
struct Factored {
    /// Of every row in the order of the runs, its weight relative to the first; `None` where the channel was not read.
    weights: Vec<Option<Complex64>>,
    /// The runs in the order of the rows: heavy ones first, so that the light ones keep their digits.
    runs: Vec<usize>,
    qr: Qr<Complex64>,
    rank: usize,
}

/// What the columns of the design are divided by: a power of two near the largest unbalance in each plane.
fn scales(model: &Model) -> Vec<f64> {
    let planes = model.mounted.first().map_or(0, Vec::len);
    let largest = |plane: usize| {
        let column = model.mounted.iter().filter_map(|mounted| mounted.get(plane));
        column.fold(0.0_f64, |largest, unbalance| largest.max(math::modulus(*unbalance)))
    };
    (0..planes).map(|plane| math::power_of_two_near(largest(plane))).collect()
}

impl Factored {
    fn of(model: &Model, scales: &[f64], weights: Vec<Option<Complex64>>) -> Self {
        let read = weights.iter().enumerate().filter_map(|(run, weight)| weight.map(|weight| (run, weight)));
        let mut read: Vec<(usize, Complex64)> = read.collect();
        read.sort_by(|(_, a), (_, b)| b.norm_sqr().total_cmp(&a.norm_sqr()));
        let columns = scales.len() + 1;
        let mut design = Matrix::zeros(read.len(), columns);
        for (column, scale) in (0..columns).zip(core::iter::once(&1.0).chain(scales)) {
            for (entry, (run, weight)) in design.column_mut(column).iter_mut().zip(&read) {
                let mounted = model.mounted.get(*run).map(Vec::as_slice).unwrap_or_default();
                *entry = row(mounted).nth(column).unwrap_or_default() * weight / *scale;
            }
        }
        let size = read.len().max(columns);
        let qr = Qr::factor(design);
        // Counts are far below 2⁵².
        #[allow(clippy::cast_precision_loss)]
        let rank = qr.rank(ROUNDINGS * f64::EPSILON * size as f64);
        Self { weights, runs: read.into_iter().map(|(run, _)| run).collect(), qr, rank }
    }

    /// `Qᴴ b` of the readings over their scatter. What stands from the rank on is what the fit leaves.
    fn turned(&self, model: &Model, channel: usize) -> Vec<Complex64> {
        let value = |run: &usize| taken(model, *run, channel).map_or(Complex64::ZERO, |t| t.value * t.root);
        let mut turned: Vec<Complex64> = self.runs.iter().map(value).collect();
        self.qr.factors().apply_adjoint(&mut turned);
        turned
    }
}

fn taken(model: &Model, run: usize, channel: usize) -> Option<Taken> {
    model.taken.get(run).and_then(|row| row.get(channel)).copied().flatten()
}

/// Takes each channel with its factored design, and the scatter root that its weights are relative to.
fn each_channel(model: &Model, mut take: impl FnMut(usize, &Factored, f64)) {
    let scales = scales(model);
    let channels = model.taken.first().map_or(0, Vec::len);
    let mut factored: Option<Factored> = None;
    for channel in 0..channels {
        let column = || (0..model.taken.len()).map(|run| taken(model, run, channel));
        let Some(first) = column().flatten().next().map(|taken| taken.root) else { continue };
        let weights: Vec<Option<Complex64>> =
            column().map(|taken| taken.map(|taken| taken.gain * (taken.root / first))).collect();
        let design = match factored.take() {
            Some(same) if same.weights == weights => same,
            _ => Factored::of(model, &scales, weights),
        };
        take(channel, &design, first);
        factored = Some(design);
    }
}

/// How well the model fits.
pub(super) fn fit(model: &Model) -> Fit {
    let mut fit = Fit { chi_squared: 0.0, rank: 0 };
    each_channel(model, |channel, design, _| {
        let turned = design.turned(model, channel);
        fit.chi_squared = turned.iter().skip(design.rank).fold(fit.chi_squared, |sum, r| sum + r.norm_sqr());
        fit.rank += design.rank;
    });
    if fit.chi_squared.is_nan() {
        fit.chi_squared = f64::INFINITY;
    }
    fit
}

/// What was fitted, channel by channel; `None` for a channel whose runs do not determine all of it.
pub(super) fn solve(model: &Model) -> Vec<Option<Solution>> {
    let scales = scales(model);
    let channels = model.taken.first().map_or(0, Vec::len);
    let mut solutions: Vec<Option<Solution>> = vec![None; channels];
    each_channel(model, |channel, design, first| {
        let unknowns = scales.len() + 1;
        if design.rank < unknowns {
            return;
        }
        let values = design.runs.iter().map(|run| taken(model, *run, channel));
        let whitened: Vec<Complex64> =
            values.map(|taken| taken.map_or(Complex64::ZERO, |taken| taken.value * taken.root)).collect();
        // The design was divided by the scale of each column, and by the root of the first reading.
        let back = || core::iter::once(&1.0).chain(&scales).map(|scale| 1.0 / (scale * first));
        if let (Some(scaled), Some(root)) = (design.qr.solve(&whitened), design.qr.inverse_r()) {
            let solution = Solution {
                unknowns: scaled.iter().zip(back()).map(|(x, back)| x * back).collect(),
                root_of_cofactor: (0..unknowns)
                    .zip(back())
                    .map(|(row, back)| (0..unknowns).map(|column| root[(row, column)] * back).collect())
                    .collect(),
            };
            if let Some(place) = solutions.get_mut(channel) {
                *place = Some(solution);
            }
        }
    });
    solutions
}

/// The unbalances that make `Σ_k |v_k + Σ_p H_kp u_p|²` least; `None` where they are not determined.
pub(super) fn correction(solutions: &[&Solution]) -> Option<Vec<Complex64>> {
    let planes = solutions.first()?.unknowns.len().checked_sub(1)?;
    let response = |channel: usize, plane: usize| -> Complex64 {
        solutions.get(channel).and_then(|s| s.unknowns.get(plane + 1)).copied().unwrap_or_default()
    };
    let largest = |plane: usize| {
        let column = (0..solutions.len()).map(|channel| math::modulus(response(channel, plane)));
        math::power_of_two_near(column.fold(0.0, f64::max))
    };
    let scales: Vec<f64> = (0..planes).map(largest).collect();
    let scale = |plane: usize| scales.get(plane).copied().unwrap_or(1.0);
    let matrix =
        Matrix::from_fn(solutions.len(), planes, |channel, plane| response(channel, plane) / scale(plane));
    let qr = Qr::factor(matrix);
    // Counts are far below 2⁵².
    #[allow(clippy::cast_precision_loss)]
    let tolerance = ROUNDINGS * f64::EPSILON * planes.max(solutions.len()) as f64;
    if qr.rank(tolerance) < planes {
        return None;
    }
    let now: Vec<Complex64> =
        solutions.iter().map(|s| -s.unknowns.first().copied().unwrap_or_default()).collect();
    let unbalances = qr.solve(&now)?;
    let unbalances: Vec<Complex64> =
        unbalances.into_iter().enumerate().map(|(plane, u)| u / scale(plane)).collect();
    unbalances.iter().all(|u| u.re.is_finite() && u.im.is_finite()).then_some(unbalances)
}

/// What the fit of the stated model leaves of a reading, and how much of it the reading itself decides.
#[derive(Debug, Clone, Copy)]
pub(super) struct Left {
    /// The reading over its scatter.
    pub(super) reading: Complex64,
    /// What the fit leaves of it.
    pub(super) residual: Complex64,
    /// The diagonal of the hat matrix.
    pub(super) leverage: f64,
}

/// What the fit leaves of every reading, run by run.
pub(super) fn left(model: &Model) -> Vec<Vec<Option<Left>>> {
    let mut left: Vec<Vec<Option<Left>>> = model.taken.iter().map(|row| vec![None; row.len()]).collect();
    each_channel(model, |channel, design, _| {
        let mut residuals = design.turned(model, channel);
        residuals.iter_mut().take(design.rank).for_each(|entry| *entry = Complex64::ZERO);
        design.qr.factors().apply(&mut residuals);
        let leverages = design.qr.leverages(design.rank);
        for ((run, residual), leverage) in design.runs.iter().zip(residuals).zip(leverages) {
            let place = left.get_mut(*run).and_then(|row| row.get_mut(channel));
            if let (Some(place), Some(taken)) = (place, taken(model, *run, channel)) {
                *place = Some(Left { reading: taken.value * taken.root, residual, leverage });
            }
        }
    });
    left
}

/// `Σ_k r'ₖᴴ r''ₖ` of what the fit leaves of the readings before a run, and of those from it on.
pub(super) fn coherence(model: &Model, run: usize) -> Complex64 {
    let mut sum = Complex64::ZERO;
    each_channel(model, |channel, design, _| {
        let part = |late: bool| {
            let value = |at: &usize| match taken(model, *at, channel) {
                Some(taken) if (*at >= run) == late => taken.value * taken.root,
                _ => Complex64::ZERO,
            };
            let mut part: Vec<Complex64> = design.runs.iter().map(value).collect();
            design.qr.factors().apply_adjoint(&mut part);
            part
        };
        for (early, late) in part(false).iter().zip(part(true)).skip(design.rank) {
            sum += early.conj() * late;
        }
    });
    sum
}
