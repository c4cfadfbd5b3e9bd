//! From the problem as stated to well-conditioned coordinates and back.
//!
//! Two steps. First everything is scaled by powers of two (no rounding): the vibration, each plane's
//! column and each limit. Then the columns are made orthonormal, those of the planes without a limit
//! first, so that planes that are hard to tell apart do no harm:
//!
//! ```text
//! r = b + A x = b + Q z,   z = R x,   |xₚ| = |Tₚ z| ≤ ρₚ,   T = R⁻¹
//! ```

use alloc::vec;
use alloc::vec::Vec;
use num_complex::Complex64;

const ZERO: Complex64 = Complex64::new(0.0, 0.0);

/// A column of which no more than this fraction is left beside the earlier ones depends on them.
const DEPENDENT: f64 = 64.0 * f64::EPSILON;

/// The same for a limited plane: what is left is not made a unit vector but kept as it is, since its
/// limit does not let it do much, and long inverse columns would only cost digits.
const NEARLY_DEPENDENT: f64 = 1e-8;

/// A limit below this, in the scaled unit, is none to speak of: the plane stays empty.
const LEAST_RADIUS: f64 = 1e-100;

/// Measuring points, correction planes and limits: r = v + H w, |wₚ| ≤ Lₚ.
///
/// Lengths that do not fit are cut to the shortest that do.
#[derive(Clone, Copy)]
pub(crate) struct Problem<'a> {
    /// The influence coefficients Hₖₚ, row-major: one row per measuring point, one column per plane.
    pub(crate) influence: &'a [Complex64],
    /// The vibration vₖ before the correction.
    pub(crate) vibration: &'a [Complex64],
    /// The weights gₖ ≥ 0 of the squared residuals. A point of weight zero takes no part.
    pub(crate) channel_weights: &'a [f64],
    /// The largest |wₚ| allowed in each plane; `None`: any. Its length is the number of planes.
    pub(crate) limits: &'a [Option<f64>],
}

/// The problem scaled by powers of two: b = √g v, A = √g H, x = w and the limits, each in a unit that
/// makes the largest element of b and of every column of A about 1.
pub(crate) struct Scaled<'a> {
    pub(crate) problem: Problem<'a>,
    pub(crate) planes: usize,
    /// The measuring points of positive weight.
    pub(crate) points: Vec<usize>,
    /// Rows by planes, row-major.
    pub(crate) a: Vec<Complex64>,
    pub(crate) b: Vec<Complex64>,
    /// Limits on |x|, zero or from [`LEAST_RADIUS`] to its inverse, or infinite: none.
    pub(crate) radius: Vec<f64>,
    /// wₚ = 2^unit xₚ.
    unit: Vec<i32>,
}

/// The binary exponent of `x`, kept within the range in which its power of two is a normal number.
fn exponent(x: f64) -> i32 {
    if x > 0.0 { libm::ilogb(x).clamp(-1000, 1000) } else { 0 }
}

/// The larger part of `z`.
fn extent(z: Complex64) -> f64 {
    z.re.abs().max(z.im.abs())
}

/// Re conj(a) b.
pub(crate) fn inner(a: Complex64, b: Complex64) -> f64 {
    a.re * b.re + a.im * b.im
}

/// `z` shortened, if need be, to `radius`.
pub(crate) fn clip(z: Complex64, radius: f64) -> Complex64 {
    let square = z.norm_sqr();
    if square > radius * radius { z * (radius * (1.0 - f64::EPSILON) / libm::sqrt(square)) } else { z }
}

impl<'a> Scaled<'a> {
    pub(crate) fn new(problem: Problem<'a>) -> Self {
        let planes = problem.limits.len();
        let listed = problem.vibration.len().min(problem.channel_weights.len());
        let count = match problem.influence.len().checked_div(planes) {
            Some(full_rows) => listed.min(full_rows),
            None => listed,
        };
        let points: Vec<usize> = (0..count).filter(|&k| problem.channel_weights[k] > 0.0).collect();
        let mut root: Vec<f64> = points.iter().map(|&k| libm::sqrt(problem.channel_weights[k])).collect();
        let largest = root.iter().fold(0.0, |m: f64, &x| m.max(x));
        let one = libm::scalbn(1.0, -exponent(largest));
        for x in &mut root {
            *x *= one;
        }

        let mut b: Vec<Complex64> =
            points.iter().zip(&root).map(|(&k, &weight)| problem.vibration[k] * weight).collect();
        let b_exponent = exponent(b.iter().fold(0.0, |m: f64, &z| m.max(extent(z))));
        let factor = libm::scalbn(1.0, -b_exponent);
        for z in &mut b {
            *z *= factor;
        }

        let mut a = vec![ZERO; points.len() * planes];
        let mut radius = vec![f64::INFINITY; planes];
        let mut unit = vec![0; planes];
        for p in 0..planes {
            let mut largest = 0.0_f64;
            for (row, (&k, &weight)) in points.iter().zip(&root).enumerate() {
                let z = problem.influence[k * planes + p] * weight;
                largest = largest.max(extent(z));
                a[row * planes + p] = z;
            }
            let a_exponent = exponent(largest);
            let factor = libm::scalbn(1.0, -a_exponent);
            for row in 0..points.len() {
                a[row * planes + p] *= factor;
            }
            unit[p] = b_exponent - a_exponent;
            if let Some(limit) = problem.limits[p] {
                let limit = libm::scalbn(limit, -unit[p]);
                if limit <= 1.0 / LEAST_RADIUS {
                    radius[p] = if limit > LEAST_RADIUS { limit } else { 0.0 };
                } else if limit.is_nan() {
                    radius[p] = 0.0;
                }
            }
        }
        Self { problem, planes, points, a, b, radius, unit }
    }

    /// The corrections that scaled unknowns stand for, within their limits.
    pub(crate) fn corrections(&self, x: &[Complex64]) -> Vec<Complex64> {
        (x.iter().zip(&self.radius).zip(&self.unit))
            .map(|((&x, &radius), &unit)| {
                let x = clip(x, radius);
                Complex64::new(libm::scalbn(x.re, unit), libm::scalbn(x.im, unit))
            })
            .collect()
    }

    /// Σ conj(Aₖₚ) xₖ
    pub(crate) fn column_product(&self, p: usize, x: &[Complex64]) -> Complex64 {
        let mut sum = ZERO;
        for (row, x) in self.a.chunks_exact(self.planes.max(1)).zip(x) {
            sum += row[p].conj() * x;
        }
        sum
    }

    /// What rounding may leave of a residual that is zero at `x`: the largest sum of the sizes of
    /// the terms of one row, times a few units in the last place.
    pub(crate) fn rounding(&self, x: &[Complex64]) -> f64 {
        let mut largest = 0.0_f64;
        for (k, &b) in self.b.iter().enumerate() {
            let row = &self.a[k * self.planes..(k + 1) * self.planes];
            let terms = row.iter().zip(x).map(|(&a, &x)| extent(a) * extent(x));
            largest = largest.max(terms.fold(extent(b), |sum, term| sum + term));
        }
        4.0 * (self.planes + 1) as f64 * f64::EPSILON * largest
    }
}

/// The problem in the coordinates in which it is solved: r = b + A z, with |Tᵢ z| ≤ radiusᵢ.
pub(crate) struct Reduced<'a> {
    pub(crate) scaled: &'a Scaled<'a>,
    /// Number of complex unknowns z.
    pub(crate) unknowns: usize,
    /// The first of them, of the planes without a limit: their columns of A are orthonormal, and
    /// orthogonal to the rest.
    pub(crate) free: usize,
    /// Rows by unknowns, row-major; behind them T, one row per limit.
    pub(crate) a: Vec<Complex64>,
    /// b, and zeros for the rows of T.
    pub(crate) b: Vec<Complex64>,
    /// Per limit, its plane and its radius.
    pub(crate) limited: Vec<usize>,
    pub(crate) radius: Vec<f64>,
    /// The plane at each unknown: the pivot columns in their order.
    plane: Vec<usize>,
    /// R, upper triangular, column by column, `planes` apart.
    r: Vec<Complex64>,
    /// Some plane does nothing, or nothing that the others could not do as well as far as their limits
    /// let them: other amounts give the same residuals.
    pub(crate) dependent: bool,
}

impl<'a> Reduced<'a> {
    pub(crate) fn new(scaled: &'a Scaled<'a>) -> Self {
        let (rows, planes) = (scaled.b.len(), scaled.planes);
        let mut dependent = false;
        // Columns side by side: those without a limit first.
        let mut plane = Vec::with_capacity(planes);
        let mut free = 0;
        for p in 0..planes {
            if scaled.radius[p] > 0.0 {
                if (0..rows).all(|k| scaled.a[k * planes + p] == ZERO) {
                    dependent = true;
                } else if scaled.radius[p] == f64::INFINITY {
                    plane.insert(free, p);
                    free += 1;
                } else {
                    plane.push(p);
                }
            }
        }
        let mut q = vec![ZERO; rows * plane.len()];
        for (column, &p) in q.chunks_exact_mut(rows.max(1)).zip(&plane) {
            for (k, z) in column.iter_mut().enumerate() {
                *z = scaled.a[k * planes + p];
            }
        }
        let mut columns = Columns {
            rows,
            planes,
            reach: scaled.radius.iter().map(|x| (x * x).clamp(1e-200, 1e100)).collect(),
            original: q.chunks_exact(rows.max(1)).map(sum_of_squares).collect(),
            r: vec![ZERO; planes * plane.len()],
            q,
            plane,
        };
        let rank = columns.orthonormalise(0, free, DEPENDENT);
        if rank < free {
            dependent = true;
            columns.drop(rank, free);
            free = rank;
        }
        let unknowns = columns.plane.len();
        // A free plane that depends on others is not needed. A limited one is, with its own amount for an
        // unknown that by itself has no effect, or hardly any.
        let rank = columns.orthonormalise(free, unknowns, NEARLY_DEPENDENT);
        for j in rank..unknowns {
            let column = &mut columns.q[j * rows..(j + 1) * rows];
            if sum_of_squares(column) <= DEPENDENT * DEPENDENT * columns.original[j] {
                column.fill(ZERO);
                dependent = true;
            }
            columns.r[j * planes + j] = Complex64::new(1.0, 0.0);
        }

        let Columns { q, plane, r, .. } = columns;
        let limited: Vec<usize> = plane[free..].to_vec();
        let radius = limited.iter().map(|&p| scaled.radius[p]).collect();
        let mut a = vec![ZERO; (rows + limited.len()) * unknowns];
        for j in 0..unknowns {
            for k in 0..rows {
                a[k * unknowns + j] = q[j * rows + k];
            }
        }
        let mut b = scaled.b.clone();
        b.resize(rows + limited.len(), ZERO);
        let mut reduced = Self { scaled, unknowns, free, a, b, limited, radius, plane, r, dependent };
        reduced.set_limit_rows();
        reduced
    }

    /// T: what the limited planes have of each unknown.
    fn set_limit_rows(&mut self) {
        if self.limited.is_empty() {
            return;
        }
        let (m, rows) = (self.unknowns, self.scaled.b.len());
        let mut z = vec![ZERO; m];
        let mut x = vec![ZERO; self.scaled.planes];
        for j in 0..m {
            z[j] = Complex64::new(1.0, 0.0);
            self.expand(&z, &mut x);
            z[j] = ZERO;
            for (i, &p) in self.limited.iter().enumerate() {
                self.a[(rows + i) * m + j] = x[p];
            }
        }
    }

    /// Where to start: least squares, with the limited planes shortened to nine tenths of their limits.
    pub(crate) fn start(&self) -> Vec<Complex64> {
        let (m, planes) = (self.unknowns, self.scaled.planes);
        let mut left = self.scaled.b.clone();
        let mut z = vec![ZERO; m];
        for (j, z) in z.iter_mut().enumerate() {
            // zⱼ = −qⱼ* b
            for (k, &b) in left.iter().enumerate() {
                *z -= self.a[k * m + j].conj() * b;
            }
            for (k, b) in left.iter_mut().enumerate() {
                *b += self.a[k * m + j] * *z;
            }
        }
        if self.limited.is_empty() {
            return z;
        }
        let mut x = vec![ZERO; planes];
        self.expand(&z, &mut x);
        z[self.free..].fill(ZERO);
        for i in self.free..m {
            let x = clip(x[self.plane[i]], 0.9 * self.radius[i - self.free]);
            for (z, r) in z[self.free..=i].iter_mut().zip(&self.r[i * planes + self.free..]) {
                *z += r * x;
            }
        }
        z
    }

    /// The scaled corrections x that the unknowns stand for: R x = z.
    pub(crate) fn expand(&self, z: &[Complex64], x: &mut [Complex64]) {
        self.expand_within(z, x, |_| f64::INFINITY);
    }

    /// The same, each shortened to its limit as soon as it is known: those still to come make up for it.
    pub(crate) fn admit(&self, z: &[Complex64], x: &mut [Complex64]) {
        self.expand_within(z, x, |p| self.scaled.radius[p]);
    }

    fn expand_within(&self, z: &[Complex64], x: &mut [Complex64], radius: impl Fn(usize) -> f64) {
        let planes = self.scaled.planes;
        x.fill(ZERO);
        for j in (0..self.unknowns).rev() {
            let mut sum = z[j];
            for i in j + 1..self.unknowns {
                sum -= self.r[i * planes + j] * x[self.plane[i]];
            }
            let p = self.plane[j];
            x[p] = clip(sum / self.r[j * planes + j].re, radius(p));
        }
    }
}

/// Columns on their way to being orthonormal.
struct Columns {
    rows: usize,
    planes: usize,
    q: Vec<Complex64>,
    r: Vec<Complex64>,
    plane: Vec<usize>,
    /// Per plane, the square of the amount it is good for.
    reach: Vec<f64>,
    /// The squared length that each had.
    original: Vec<f64>,
}

impl Columns {
    /// Makes the columns from `first` to `last` orthonormal, and those behind orthogonal to them:
    /// modified Gram-Schmidt, each new direction made orthogonal once more, the plane that can still do
    /// the most first. Returns where those
    /// begin that depend on the ones before.
    fn orthonormalise(&mut self, first: usize, last: usize, tolerance: f64) -> usize {
        let (rows, planes) = (self.rows, self.planes);
        for step in first..last {
            let mut best = (step, 0.0);
            for j in step..last {
                let left = sum_of_squares(&self.q[j * rows..(j + 1) * rows]);
                let reach = self.reach[self.plane[j]];
                if left > tolerance * tolerance * self.original[j] && left * reach > best.1 {
                    best = (j, left * reach);
                }
            }
            if best.1 == 0.0 {
                return step;
            }
            self.exchange(step, best.0);
            let (done, rest) = self.q.split_at_mut(step * rows);
            let (column, later) = rest.split_at_mut(rows);
            for (i, earlier) in done.chunks_exact(rows).enumerate() {
                self.r[step * planes + i] += remove(earlier, column);
            }
            let norm = libm::sqrt(sum_of_squares(column));
            self.r[step * planes + step] = Complex64::new(norm, 0.0);
            let inverse = 1.0 / norm;
            for z in column.iter_mut() {
                *z *= inverse;
            }
            for (i, other) in later.chunks_exact_mut(rows).enumerate() {
                self.r[(step + 1 + i) * planes + step] = remove(column, other);
            }
        }
        last
    }

    fn exchange(&mut self, i: usize, j: usize) {
        if i < j {
            for (buffer, length) in [(&mut self.q, self.rows), (&mut self.r, self.planes)] {
                let (left, right) = buffer.split_at_mut(j * length);
                left[i * length..(i + 1) * length].swap_with_slice(&mut right[..length]);
            }
            self.plane.swap(i, j);
            self.original.swap(i, j);
        }
    }

    fn drop(&mut self, first: usize, last: usize) {
        self.q.drain(first * self.rows..last * self.rows);
        self.r.drain(first * self.planes..last * self.planes);
        self.plane.drain(first..last);
        self.original.drain(first..last);
    }
}

/// Σ |zₖ|²
pub(crate) fn sum_of_squares(column: &[Complex64]) -> f64 {
    column.iter().fold(0.0, |sum, z| sum + z.norm_sqr())
}

/// Takes the part along the unit vector `q` out of `column` and returns it: c = q* column.
fn remove(q: &[Complex64], column: &mut [Complex64]) -> Complex64 {
    let mut c = ZERO;
    for (q, z) in q.iter().zip(column.iter()) {
        c += q.conj() * z;
    }
    for (q, z) in q.iter().zip(column.iter_mut()) {
        *z -= q * c;
    }
    c
}

#[cfg(test)]
mod tests {
    #![allow(clippy::disallowed_methods, reason = "the answers are compared with tolerances")]

    use super::super::optimum::trial::{Case, Dice};
    use super::*;

    #[test]
    fn columns_are_orthonormal_and_lead_back_to_the_corrections() {
        let mut dice = Dice(17);
        for trial in 0..200 {
            let (points, planes) = (6 + trial % 5, 1 + trial % 4);
            let mut case = Case::random(&mut dice, points, planes, trial % 2 == 1);
            if planes > 1 {
                // All but the same as the first.
                let apart = 1e-6 * dice.decades(4.0);
                for k in 0..points {
                    *case.at(k, 1) = *case.at(k, 0) + *case.at(k, 1) * apart;
                }
            }
            let scaled = Scaled::new(case.problem());
            let reduced = Reduced::new(&scaled);
            let m = reduced.unknowns;
            assert_eq!(m, planes);
            let column = |j: usize| reduced.a[j..points * m].iter().step_by(m);
            let whole = (0..m).filter(|&j| reduced.r[j * planes + j] != Complex64::new(1.0, 0.0));
            for j in whole.clone() {
                for i in whole.clone() {
                    let product: Complex64 = column(i).zip(column(j)).map(|(a, b)| a.conj() * b).sum();
                    let want = if i == j { 1.0 } else { 0.0 };
                    assert!((product - want).norm() < 4e-15, "{i} {j} {product}");
                }
            }
            // b + A z and b + A x are the same, A z with orthonormal and A x with scaled columns.
            let z: Vec<_> = (0..m).map(|_| dice.complex() * 0.1).collect();
            let mut x = vec![ZERO; planes];
            reduced.expand(&z, &mut x);
            for k in 0..points {
                let by_z: Complex64 = (0..m).map(|j| reduced.a[k * m + j] * z[j]).sum();
                let by_x: Complex64 = (0..planes).map(|p| scaled.a[k * planes + p] * x[p]).sum();
                assert!((by_z - by_x).norm() < 8.0 * scaled.rounding(&x), "{by_z} {by_x}");
            }
            // The rows of the limits give the corrections of the limited planes.
            for (i, &p) in reduced.limited.iter().enumerate() {
                let row = &reduced.a[(points + i) * m..(points + i + 1) * m];
                let by_row: Complex64 = row.iter().zip(&z).map(|(t, z)| t * z).sum();
                let size = x.iter().fold(1.0_f64, |most, x| most.max(x.norm()));
                assert!((by_row - x[p]).norm() < 1e-14 * size, "{by_row} {}", x[p]);
            }
        }
    }

    #[test]
    fn dependent_planes_are_left_out_unless_limits_keep_them_useful() {
        let mut dice = Dice(18);
        for limited in [false, true] {
            let mut case = Case::random(&mut dice, 7, 3, false);
            for k in 0..7 {
                *case.at(k, 2) = *case.at(k, 0) * Complex64::new(0.3, -2.0);
            }
            if limited {
                case.limits = vec![Some(1.0); 3];
            }
            let scaled = Scaled::new(case.problem());
            let reduced = Reduced::new(&scaled);
            assert!(reduced.dependent);
            assert_eq!(reduced.unknowns, if limited { 3 } else { 2 });
        }
    }

    #[test]
    fn scaling_is_exact_and_about_one() {
        let mut dice = Dice(19);
        let mut case = Case::random(&mut dice, 5, 2, false);
        case.vibration.iter_mut().for_each(|v| *v *= 3e20);
        case.influence.iter_mut().for_each(|h| *h *= 7e-15);
        let scaled = Scaled::new(case.problem());
        for list in [&scaled.a, &scaled.b] {
            let largest = list.iter().fold(0.0_f64, |most, &z| most.max(extent(z)));
            assert!((1.0..2.0).contains(&largest), "{largest}");
        }
        let x = [Complex64::new(0.0, 1e-9), Complex64::new(-1e-9, 0.0)];
        let w = scaled.corrections(&x);
        for ((w, x), unit) in w.iter().zip(&x).zip(&scaled.unit) {
            assert_eq!(w.norm(), x.norm() * libm::scalbn(1.0, *unit));
        }
    }
}
