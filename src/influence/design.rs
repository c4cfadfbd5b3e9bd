//! The weighted regression of one channel: its rows, what they can tell apart, and its solution.

use alloc::vec;
use alloc::vec::Vec;

use num_complex::Complex64;

use crate::dense::{Cholesky, Matrix, Qr, Scalar, Svd};
use crate::error::{EstimateError, Inseparable, Undetermined};
use crate::math;
use crate::scatter::{DegreesOfFreedom, Scatter};

use super::covariance::Covariance;

/// What the runs of one channel can tell, before any reading is looked at.
///
/// ```
/// use counterpoise::{
///     Channel, Detector, Estimator, PhaseSense, Run, Speed, SpeedWindow, UnbalanceVector, VibrationScale, VibrationUnit,
/// };
/// let unit = VibrationUnit::new(VibrationScale::Mil, Detector::PeakToPeak);
/// let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
/// let channel = Channel::new(1, unit, PhaseSense::Lag, window);
/// let trial = UnbalanceVector::from_components_gram_millimetres(1000.0, 0.0)?;
/// let mut estimator = Estimator::with_relative_weights(&[channel], 2)?;
/// estimator.add(Run::new("as found").reading(channel.reading(3.0, 10.0)?))?;
/// estimator.add(Run::new("trial in plane 0").mounted(0, trial).reading(channel.reading(4.0, 20.0)?))?;
/// // Nothing was mounted in plane 1 yet.
/// let design = estimator.design(0)?;
/// assert_eq!((design.rank, design.unknowns), (2, 3));
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Design {
    /// The channel, counted from 0.
    pub channel: usize,
    /// How many runs have a reading of the channel.
    pub readings: usize,
    /// How many combinations of the unknowns are determined.
    pub rank: usize,
    /// How many complex unknowns there are: the vibration as found, and one coefficient per plane.
    pub unknowns: usize,
    /// The singular values of `√g A`, descending; the columns of `A` are 1 and the unbalance in every plane in g mm.
    pub singular_values: Vec<f64>,
    /// The largest over the least singular value of the same matrix with its columns brought to equal length, which is
    /// how much the design itself worsens the readings. Infinite where not all is determined.
    pub condition_number: f64,
}

/// The rows of one channel's regression, in the order of the runs.
#[derive(Debug, Clone, Default)]
pub(super) struct Rows {
    /// The run of every row.
    pub(super) runs: Vec<usize>,
    /// `1, u_1, …, u_P` of every row.
    pub(super) entries: Vec<Vec<Complex64>>,
    /// √g of every row.
    pub(super) roots: Vec<f64>,
    /// What was read, at the nominal speed.
    pub(super) readings: Vec<Complex64>,
    /// How each reading scatters, where that is known or was estimated.
    pub(super) scatters: Vec<Option<Scatter>>,
}

/// The solution of one channel's regression.
pub(super) struct Solution {
    /// `v0, H_1, …, H_P`.
    pub(super) unknowns: Vec<Complex64>,
    /// The covariance of the unknowns for a variance of 1 per component at weight 1.
    pub(super) cofactor: Covariance,
    /// The leverage of every row.
    pub(super) leverages: Vec<f64>,
    /// The planes that showed no response.
    pub(super) silent: Vec<usize>,
}

/// The prior of one channel: mean and covariance of its coefficients.
pub(super) struct ChannelPrior<'a> {
    pub(super) mean: Vec<Complex64>,
    pub(super) covariance: &'a Covariance,
}

/// The relative size of a diagonal entry of R below which its column counts as a combination of the others, per row or
/// column and unit of rounding: weights that were given in polar form differ by a few roundings where they are equal.
const ROUNDINGS: f64 = 64.0;

/// The size of a response, per run, in units of rounding of the largest reading, up to which it is none.
const ROUNDINGS_OF_READINGS: f64 = 4.0;

/// The least share in an undetermined combination, of columns of equal length, that is called taking part in it.
const TAKES_PART: f64 = 1e-6;

impl Rows {
    /// The covariance of the unknowns where readings do not scatter alike in both components: each reading's own block,
    /// carried through the solution that their scalar precisions weight. `None` where all are circular, and the cofactor
    /// says it.
    ///
    /// `Σ_i B(a_i) S_i B(a_i)ᵀ` with `a_i = (AᴴGA)⁻¹ Ā_i g_i` and `B(z) = [[Re z, −Im z], [Im z, Re z]]`.
    pub(super) fn carried(&self, cofactor: &Covariance) -> Option<Covariance> {
        let circular = |scatter: &Option<Scatter>| scatter.is_none_or(|scatter| scatter.is_circular());
        if self.scatters.iter().all(circular) {
            return None;
        }
        let unknowns = cofactor.unknowns();
        let mut sum = Covariance::zeros(unknowns);
        for (row, scatter) in self.scatters.iter().enumerate() {
            let Some(scatter) = scatter else { continue };
            let gains = self.gains(cofactor, row);
            sum.add_carried(&gains, scatter.covariance());
        }
        Some(sum)
    }

    /// What a unit of one reading adds to every unknown: `a_i = (AᴴGA)⁻¹ Ā_i g_i`.
    fn gains(&self, cofactor: &Covariance, row: usize) -> Vec<Complex64> {
        let weight = self.root(row) * self.root(row);
        let entries = self.entries.get(row).map_or(&[][..], Vec::as_slice);
        cofactor.times_conjugate(entries).into_iter().map(|gain| gain * weight).collect()
    }

    /// How well the scatter of these rows is known: as the worst of them.
    pub(super) fn degrees_of_freedom(&self) -> DegreesOfFreedom {
        let of_rows = self.scatters.iter().flatten().map(Scatter::degrees_of_freedom);
        of_rows.fold(DegreesOfFreedom::Known, DegreesOfFreedom::weaker)
    }

    /// Whether the same runs with the same weights stand behind two channels, so that one factorisation serves both.
    pub(super) fn same_design(&self, other: &Self) -> bool {
        self.runs == other.runs && self.roots == other.roots
    }

    fn entry(&self, row: usize, column: usize) -> Complex64 {
        let entry = self.entries.get(row).and_then(|entries| entries.get(column));
        entry.copied().unwrap_or_default() * self.root(row)
    }

    fn root(&self, row: usize) -> f64 {
        self.roots.get(row).copied().unwrap_or(0.0)
    }

    /// A power of two per column that brings the columns of `√g A` to about equal length.
    fn scales(&self, unknowns: usize) -> Vec<f64> {
        let length = |column: usize| {
            let sum: f64 = (0..self.runs.len()).map(|row| math::modulus(self.entry(row, column))).sum();
            math::power_of_two_near(sum)
        };
        (0..unknowns).map(length).collect()
    }

    /// What can be told apart.
    pub(super) fn design(&self, channel: usize, unknowns: usize) -> Result<Design, EstimateError> {
        let beyond = || EstimateError::NotRepresentable { channel };
        let readings = self.runs.len();
        let weighted = Matrix::from_fn(readings, unknowns, |row, column| self.entry(row, column));
        let singular_values = Svd::factor(weighted).ok_or_else(beyond)?.values().to_vec();
        let scales = self.scales(unknowns);
        let scaled = self.scaled(unknowns, &scales);
        let rank = Qr::factor(scaled.clone()).rank(tolerance(readings, unknowns));
        let condition = Svd::factor(scaled).ok_or_else(beyond)?.condition();
        let condition_number = if rank < unknowns { None } else { condition }.unwrap_or(f64::INFINITY);
        Ok(Design { channel, readings, rank, unknowns, singular_values, condition_number })
    }

    /// The rows by falling weight: elimination with the heavy rows first loses nothing to them.
    fn order(&self) -> Vec<usize> {
        let mut order: Vec<usize> = (0..self.runs.len()).collect();
        order.sort_by(|&a, &b| self.root(b).total_cmp(&self.root(a)));
        order
    }

    fn scaled(&self, unknowns: usize, scales: &[f64]) -> Matrix<Complex64> {
        let order = self.order();
        Matrix::from_fn(self.runs.len(), unknowns, |place, column| {
            let row = order.get(place).copied().unwrap_or(place);
            self.entry(row, column) / scales.get(column).copied().unwrap_or(1.0)
        })
    }

    /// Factors `√g A` with its columns scaled.
    pub(super) fn factored(&self, channel: usize, unknowns: usize) -> Result<Factored, EstimateError> {
        let scales = self.scales(unknowns);
        let scaled = self.scaled(unknowns, &scales);
        let qr = Qr::factor(scaled.clone());
        let rank = qr.rank(tolerance(self.runs.len(), unknowns));
        if rank < unknowns {
            let groups = qr.null_combinations(rank).iter().map(|z| group(z)).collect();
            return Err(EstimateError::Undetermined(Undetermined {
                channel,
                rank,
                unknowns,
                readings: self.runs.len(),
                groups,
            }));
        }
        let beyond = || EstimateError::NotRepresentable { channel };
        // (AᴴGA)⁻¹, back in the units of the columns.
        let inverse = qr.inverse_normal().ok_or_else(beyond)?;
        let mut cofactor = Covariance::zeros(unknowns);
        for (i, scale_i) in scales.iter().enumerate() {
            for (j, scale_j) in scales.iter().enumerate() {
                let entry = inverse[(i, j)] / (scale_i * scale_j);
                // Circular: E[Re Re] = E[Im Im] = Re C / 2 and E[Im_i Re_j] = Im C / 2, with C = 2σ² (AᴴGA)⁻¹.
                cofactor.set(2 * i, 2 * j, entry.re);
                cofactor.set(2 * i + 1, 2 * j + 1, entry.re);
                cofactor.set(2 * i + 1, 2 * j, entry.im);
                cofactor.set(2 * i, 2 * j + 1, 0.0 - entry.im);
            }
        }
        let order = self.order();
        let leverages = back_in_place(&order, &qr.leverages(unknowns));
        let condition_number = Svd::factor(scaled).ok_or_else(beyond)?.condition().unwrap_or(f64::INFINITY);
        Ok(Factored { qr, order, scales, cofactor, leverages, condition_number })
    }

    /// A coefficient whose largest effect in any run is no more than the rounding of the readings is none: a plane that
    /// showed no response must not look like one with a tiny response.
    ///
    /// Returns the planes, counted from 0, that showed none.
    fn drop_rounding(&self, unknowns: &mut [Complex64]) -> Vec<usize> {
        let mut silent = Vec::new();
        let largest =
            |values: &mut dyn Iterator<Item = Complex64>| values.map(math::modulus).fold(0.0, f64::max);
        #[allow(clippy::cast_precision_loss)] // a count of runs
        let rounding = ROUNDINGS_OF_READINGS
            * self.runs.len() as f64
            * f64::EPSILON
            * largest(&mut self.readings.iter().copied());
        for (column, coefficient) in unknowns.iter_mut().enumerate().skip(1) {
            let mounted = largest(&mut self.entries.iter().filter_map(|row| row.get(column)).copied());
            if math::modulus(*coefficient) * mounted <= rounding {
                *coefficient = Complex64::default();
                silent.push(column - 1);
            }
        }
        silent
    }

    /// Solves with a prior on the coefficients: the real regression of all components, with the prior as further rows.
    pub(super) fn solved_with_prior(
        &self,
        channel: usize,
        unknowns: usize,
        prior: &ChannelPrior<'_>,
    ) -> Result<Solution, EstimateError> {
        let beyond = || EstimateError::NotRepresentable { channel };
        let (readings, planes) = (self.runs.len(), unknowns - 1);
        let whitener = whitener(prior.covariance).ok_or(EstimateError::PriorCovariance { channel })?;
        let mean: Vec<f64> = prior.mean.iter().flat_map(|h| [h.re, h.im]).collect();
        // Rows: Re and Im of every reading times √g, then L⁻¹ (h − h0) with L Lᵀ the covariance of the prior.
        let entry = |row: usize, column: usize| -> f64 {
            if row < 2 * readings {
                let z = self.entry(row / 2, column / 2);
                match (row % 2, column % 2) {
                    (0, 0) | (1, 1) => z.re,
                    (0, _) => 0.0 - z.im,
                    _ => z.im,
                }
            } else if column < 2 {
                0.0
            } else {
                whitener[(row - 2 * readings, column - 2)]
            }
        };
        let rows = 2 * readings + 2 * planes;
        let scales: Vec<f64> = (0..2 * unknowns)
            .map(|column| math::power_of_two_near((0..rows).map(|row| entry(row, column).abs()).sum()))
            .collect();
        let scaled = |row, column| entry(row, column) / scales.get(column).copied().unwrap_or(1.0);
        // A firm prior makes heavy rows, too: these come first.
        let weight =
            |row: usize| (0..2 * unknowns).map(|column| scaled(row, column).abs()).fold(0.0, f64::max);
        let weights: Vec<f64> = (0..rows).map(weight).collect();
        let weight_of = |row: usize| weights.get(row).copied().unwrap_or(0.0);
        let mut order: Vec<usize> = (0..rows).collect();
        order.sort_by(|&a, &b| weight_of(b).total_cmp(&weight_of(a)));
        let matrix = Matrix::from_fn(rows, 2 * unknowns, |place, column| {
            scaled(order.get(place).copied().unwrap_or(place), column)
        });
        let mut rhs: Vec<f64> = (0..readings)
            .flat_map(|row| {
                let y = self.readings.get(row).copied().unwrap_or_default() * self.root(row);
                [y.re, y.im]
            })
            .collect();
        rhs.extend(whitener.times_vector(&mean));
        let qr = Qr::factor(matrix);
        let rank = qr.rank(tolerance(rows, 2 * unknowns));
        if rank < 2 * unknowns {
            // Components of one unknown go together, and the two of a pair name the same group.
            let mut groups: Vec<Inseparable> = Vec::new();
            for combination in qr.null_combinations(rank) {
                let pairs: Vec<Complex64> = combination.chunks(2).map(pair).collect();
                let found = group(&pairs);
                if !groups.contains(&found) {
                    groups.push(found);
                }
            }
            return Err(EstimateError::Undetermined(Undetermined {
                channel,
                rank: rank / 2,
                unknowns,
                readings,
                groups,
            }));
        }
        let ordered: Vec<f64> = order.iter().map(|&row| rhs.get(row).copied().unwrap_or(0.0)).collect();
        let solved = qr.solve(&ordered).ok_or_else(beyond)?;
        let inverse = qr.inverse_normal().ok_or_else(beyond)?;
        let mut cofactor = Covariance::zeros(unknowns);
        for (i, scale_i) in scales.iter().enumerate() {
            for (j, scale_j) in scales.iter().enumerate() {
                cofactor.set(i, j, inverse[(i, j)] / (scale_i * scale_j));
            }
        }
        let unscaled: Vec<f64> = solved.iter().zip(&scales).map(|(x, scale)| x / scale).collect();
        let halves = back_in_place(&order, &qr.leverages(2 * unknowns));
        let leverages = halves.chunks(2).take(readings).map(|pair| pair.iter().sum::<f64>() / 2.0).collect();
        Ok(Solution {
            unknowns: unscaled.chunks(2).map(pair).collect(),
            cofactor,
            leverages,
            silent: Vec::new(),
        })
    }
}

/// Two components as a complex number.
fn pair(pair: &[f64]) -> Complex64 {
    match pair {
        [re, im] => Complex64 { re: *re, im: *im },
        _ => Complex64::default(),
    }
}

/// A factored design, ready for the readings of every channel that shares it.
pub(super) struct Factored {
    qr: Qr<Complex64>,
    /// The row that stands in every place.
    order: Vec<usize>,
    scales: Vec<f64>,
    cofactor: Covariance,
    leverages: Vec<f64>,
    /// Of the design, with its columns brought to equal length.
    pub(super) condition_number: f64,
}

impl Factored {
    /// The unknowns for the readings of these rows.
    pub(super) fn solved(&self, channel: usize, rows: &Rows) -> Result<Solution, EstimateError> {
        let weighted: Vec<Complex64> = self
            .order
            .iter()
            .map(|&row| rows.readings.get(row).copied().unwrap_or_default() * rows.root(row))
            .collect();
        let beyond = || EstimateError::NotRepresentable { channel };
        let solved = self.qr.solve(&weighted).ok_or_else(beyond)?;
        let mut unknowns: Vec<Complex64> =
            solved.iter().zip(&self.scales).map(|(x, scale)| x / scale).collect();
        // One step of refinement, x ← x + argmin Σ g |(y − A x) − A d|²: the rounding errors of QR are small against the
        // largest reading of all, after it those of each run are small against its own.
        let left = |&row: &usize| {
            let entries = rows.entries.get(row).map_or(&[][..], Vec::as_slice);
            let fitted: Complex64 = entries.iter().zip(&unknowns).map(|(a, x)| a * x).sum();
            (rows.readings.get(row).copied().unwrap_or_default() - fitted) * rows.root(row)
        };
        let rest: Vec<Complex64> = self.order.iter().map(left).collect();
        let step = self.qr.solve(&rest).ok_or_else(beyond)?;
        for ((x, d), scale) in unknowns.iter_mut().zip(&step).zip(&self.scales) {
            *x += d / scale;
        }
        let silent = rows.drop_rounding(&mut unknowns);
        Ok(Solution { unknowns, cofactor: self.cofactor.clone(), leverages: self.leverages.clone(), silent })
    }
}

/// The values in the order of the rows, from those in the order in which rows were eliminated.
fn back_in_place(order: &[usize], values: &[f64]) -> Vec<f64> {
    let mut placed = vec![0.0; values.len()];
    for (&row, &value) in order.iter().zip(values) {
        if let Some(place) = placed.get_mut(row) {
            *place = value;
        }
    }
    placed
}

/// What rounding alone may leave on the diagonal of R, relative to its first entry.
fn tolerance(rows: usize, columns: usize) -> f64 {
    #[allow(clippy::cast_precision_loss)] // counts of runs and planes, far below 2⁵³
    let size = rows.max(columns) as f64;
    ROUNDINGS * size * f64::EPSILON
}

/// The unknowns that take part in a combination, of columns of equal length, that no row shows.
fn group(combination: &[Complex64]) -> Inseparable {
    let takes_part = |z: &Complex64| z.modulus() > TAKES_PART;
    Inseparable {
        as_found: combination.first().is_some_and(takes_part),
        planes: combination
            .iter()
            .skip(1)
            .enumerate()
            .filter(|(_, z)| takes_part(z))
            .map(|(plane, _)| plane)
            .collect(),
    }
}

/// L⁻¹ for a covariance L Lᵀ; `None` where it is not positive definite.
fn whitener(covariance: &Covariance) -> Option<Matrix<f64>> {
    let size = 2 * covariance.unknowns();
    // Scaled to unit variances first, so that the coefficients' small numbers cost nothing: Σ = D C D.
    let deviations: Vec<f64> = (0..size).map(|i| math::sqrt(covariance.entry(i, i))).collect();
    if deviations.iter().any(|&deviation| !(deviation > 0.0 && deviation.is_finite())) {
        return None;
    }
    let deviation = |i: usize| deviations.get(i).copied().unwrap_or(1.0);
    let correlation =
        Matrix::from_fn(size, size, |i, j| covariance.entry(i, j) / (deviation(i) * deviation(j)));
    let factor = Cholesky::factor(&correlation).ok()?;
    let mut inverse = Matrix::from_fn(size, size, |i, j| if i == j { 1.0 } else { 0.0 });
    for column in 0..size {
        factor.solve_lower(inverse.column_mut(column));
        for entry in inverse.column_mut(column) {
            *entry /= deviation(column);
        }
    }
    Some(inverse)
}
