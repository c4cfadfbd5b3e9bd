//! The least squares solved, and how far the once-per-turn vector scatters.
//!
//! The unknowns come in pairs, cosine and sine of each order, and constant and slope. The last pair is eliminated first
//! and once-per-turn last, so that what is left for it is the matrix M of its own information, with all others allowed for.
//!
//! The noise is not white, and what counts is how strong it is near once-per-turn. So its variance is not taken from all
//! residuals but from groups of turns: of each group g is what its residuals would add to the right-hand side, and
//!
//! ```text
//! covariance = B/(B − 1) M⁻¹ (Σ g gᵀ) M⁻¹
//! ```
//!
//! over B groups of L turns, which is the spectral density of the residuals within 1/(2L) orders of once-per-turn (batch
//! means: C. Alexopoulos, A. F. Seila, in J. Banks (ed.), Handbook of Simulation, 1998, from memory).

#![allow(clippy::indexing_slicing, clippy::needless_range_loop)] // every index is below the number of orders or of groups

use super::gathered::{GROUPS, Gathered};
use super::kernel::Block;
use crate::statistics::Symmetric;

/// A pair of unknowns is not determined where less than this share of its information is its own.
const OWN_SHARE: f64 = 1e-10;

/// What the sums determine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Fit<const N: usize> {
    /// Cosine and sine of every order.
    pub(super) orders: [[f64; 2]; N],
    /// The constant, without the offset, and the slope per second.
    pub(super) drift: [f64; 2],
    /// Σ of the squared residuals.
    pub(super) residual_squares: f64,
    /// The groups the scatter is from.
    pub(super) groups: usize,
    /// The covariance of cosine and sine of once-per-turn; the variances are 0 where nothing scatters.
    pub(super) covariance: Block,
    /// The difference of once-per-turn between the later half of the groups and the earlier.
    pub(super) trend: [f64; 2],
    /// The covariance of that difference, from the scatter inside the halves, and its degrees of freedom.
    pub(super) trend_covariance: Block,
    pub(super) trend_degrees: f64,
}

/// Solves the sums; `None` where they do not determine every pair.
pub(super) fn solve<const N: usize>(gathered: &Gathered<N>) -> Option<Fit<N>> {
    let (sums, groups, count) = gathered.sums();
    let [n, t, tt] = sums.times;
    let drift_block = [[n, t], [t, tt]];
    let drift_inverse = inverse(&drift_block, &drift_block)?;
    // Constant and slope eliminated: S = A − D C⁻¹ Dᵀ
    let mut left = sums.orders;
    let mut right = sums.values;
    for i in 0..N {
        let weights = multiplied(&sums.drift[i], &drift_inverse);
        for k in 0..=i {
            subtract(&mut left[i][k], &multiplied(&weights, &transposed(&sums.drift[k])));
        }
        let [a, b] = applied(&weights, sums.value_times);
        right[i][0] -= a;
        right[i][1] -= b;
    }
    let whole = left;
    // From the last order to the first: block Gauss, whose last pivot is M.
    let mut inverses = [[[0.0; 2]; 2]; N];
    for p in (0..N).rev() {
        inverses[p] = inverse(&left[p][p], &whole[p][p])?;
        for i in 0..p {
            // S_ip is stored as its transpose, S_pi.
            let weights = multiplied(&transposed(&left[p][i]), &inverses[p]);
            for k in 0..=i {
                let gone = multiplied(&weights, &left[p][k]);
                subtract(&mut left[i][k], &gone);
            }
            let [a, b] = applied(&weights, right[p]);
            right[i][0] -= a;
            right[i][1] -= b;
        }
    }
    let mut orders = [[0.0; 2]; N];
    for p in 0..N {
        let mut rest = right[p];
        for k in 0..p {
            let [a, b] = applied(&left[p][k], orders[k]);
            rest[0] -= a;
            rest[1] -= b;
        }
        orders[p] = applied(&inverses[p], rest);
    }
    let mut rest = sums.value_times;
    for (block, order) in sums.drift.iter().zip(orders) {
        let [a, b] = applied(&transposed(block), order);
        rest[0] -= a;
        rest[1] -= b;
    }
    let drift = applied(&drift_inverse, rest);

    let mut residual_squares = sums.squares;
    for (order, value) in orders.iter().zip(&sums.values) {
        residual_squares -= order[0] * value[0] + order[1] * value[1];
    }
    residual_squares -= drift[0] * sums.value_times[0] + drift[1] * sums.value_times[1];

    // g = A₁ᵀ(y − A x) of every group
    let mut scores = [[0.0; 2]; GROUPS];
    for (score, group) in scores.iter_mut().zip(&groups).take(count) {
        *score = group.values;
        for (block, order) in group.orders.iter().zip(orders) {
            let [a, b] = applied(block, order);
            score[0] -= a;
            score[1] -= b;
        }
        let [a, b] = applied(&group.drift, drift);
        score[0] -= a;
        score[1] -= b;
    }
    let scores = &scores[..count];
    let own = inverses.first().copied().unwrap_or([[0.0; 2]; 2]);
    let mut squares = [[0.0; 2]; 2];
    for &[a, b] in scores {
        super::kernel::add_block(&mut squares, &[[a * a, a * b], [a * b, b * b]]);
    }
    #[allow(clippy::cast_precision_loss)] // at most 32 groups
    let groups = count as f64;
    let factor = if count > 1 { groups / (groups - 1.0) } else { 0.0 };
    let covariance = symmetric(&multiplied(&multiplied(&own, &squares), &own), factor);
    let half = count / 2;
    let early = about_mean(&scores[..half]);
    let late = about_mean(&scores[count - half..]);
    // Each half has half of the information: x_half = 2 M⁻¹ Σ g over its h groups. So the difference is 2 M⁻¹ (Σ_late − Σ_early),
    // of covariance 4 M⁻¹ (2 h s²) M⁻¹, with s² = Σ (g − ḡ)(g − ḡ)ᵀ/(2h − 2) from inside both halves.
    let trend = applied(&own, [late.0[0] - early.0[0], late.0[1] - early.0[1]]).map(|part| 2.0 * part);
    #[allow(clippy::cast_precision_loss)] // at most 32 groups
    let (in_half, trend_degrees) = (half as f64, (2 * half) as f64 - 2.0);
    let mut inside = early.1;
    super::kernel::add_block(&mut inside, &late.1);
    let factor = if trend_degrees > 0.0 { 8.0 * in_half / trend_degrees } else { 0.0 };
    let trend_covariance = symmetric(&multiplied(&multiplied(&own, &inside), &own), factor);
    let residual_squares = residual_squares.max(0.0);
    let groups = count;
    Some(Fit { orders, drift, residual_squares, groups, covariance, trend, trend_covariance, trend_degrees })
}

/// The sum of the scores of some groups, and the sum of the squares about their mean.
fn about_mean(scores: &[[f64; 2]]) -> ([f64; 2], Block) {
    #[allow(clippy::cast_precision_loss)] // at most 32 groups
    let count = (scores.len() as f64).max(1.0);
    let sum = scores.iter().fold([0.0; 2], |sum, score| [sum[0] + score[0], sum[1] + score[1]]);
    let mut squares = [[0.0; 2]; 2];
    for score in scores {
        let [a, b] = [score[0] - sum[0] / count, score[1] - sum[1] / count];
        super::kernel::add_block(&mut squares, &[[a * a, a * b], [a * b, b * b]]);
    }
    (sum, squares)
}

/// A block that is symmetric but for rounding, and is so to the last bit, times a factor.
fn symmetric(block: &Block, factor: f64) -> Block {
    let off = factor * 0.5 * (block[0][1] + block[1][0]);
    [[factor * block[0][0], off], [off, factor * block[1][1]]]
}

/// The inverse of a symmetric pair of pairs; `None` where it has lost nearly all that it had before the elimination.
fn inverse(block: &Block, before: &Block) -> Option<Block> {
    let [[a, b], [_, d]] = *block;
    let symmetric = Symmetric::new(a, b, d);
    let determinant = symmetric.determinant();
    let sound = a > OWN_SHARE * before[0][0]
        && d > OWN_SHARE * before[1][1]
        && determinant > OWN_SHARE * a * d
        && determinant.is_finite();
    sound.then(|| symmetric.inverse())
}

const fn multiplied(a: &Block, b: &Block) -> Block {
    [
        [a[0][0] * b[0][0] + a[0][1] * b[1][0], a[0][0] * b[0][1] + a[0][1] * b[1][1]],
        [a[1][0] * b[0][0] + a[1][1] * b[1][0], a[1][0] * b[0][1] + a[1][1] * b[1][1]],
    ]
}

const fn transposed(a: &Block) -> Block {
    [[a[0][0], a[1][0]], [a[0][1], a[1][1]]]
}

const fn applied(a: &Block, x: [f64; 2]) -> [f64; 2] {
    [a[0][0] * x[0] + a[0][1] * x[1], a[1][0] * x[0] + a[1][1] * x[1]]
}

fn subtract(from: &mut Block, block: &Block) {
    for (row, others) in from.iter_mut().zip(block) {
        for (entry, other) in row.iter_mut().zip(others) {
            *entry -= other;
        }
    }
}
