//! The proof that comes with an answer, a dual point and its bound, and whether the optimum is flat.

use super::interior::{Point, Search, Solution};
use super::newton::{factor, forward};
use super::reduced::{inner, sum_of_squares};
use alloc::vec;
use num_complex::Complex64;

const ZERO: Complex64 = Complex64::new(0.0, 0.0);

/// A rise of the value by this fraction makes no difference.
const RISE: f64 = 1e-8;

/// A move of the corrections by this fraction does.
const MOVE: f64 = 1e-3;

/// Stands for the inverse of a zero pivot.
const UNBOUND: f64 = 1e20;

impl Search<'_> {
    /// Makes `point` admissible and its multipliers a dual point, left in `eta`. Returns the value and
    /// the bound.
    pub(crate) fn certify(&mut self, point: &mut Point, polished: bool) -> (f64, f64) {
        let m = self.reduced.unknowns;
        for multiplier in &mut point.multipliers {
            *multiplier = multiplier.max(0.0);
        }
        let mut greatest = self.evaluate(&point.z);
        if !self.reduced.limited.is_empty() {
            greatest = self.admissible(&point.z);
        }
        let value = libm::sqrt(greatest);

        for (k, eta) in self.eta.iter_mut().enumerate() {
            *eta =
                if polished { self.r[k] * point.multipliers[k / self.per_group] } else { -self.tails[k].y };
        }
        // ζ = Q* η must be ζ' = Σ Tᵢ* cᵢ over the limits, with cᵢ = −λᵢ Tᵢ z (or yᵢ): zero for the planes
        // that are not held. Take the difference, what rounding and the last step have left, out twice:
        // η ← η − Q (ζ − ζ').
        let rows = self.eta.len();
        for _ in 0..2 {
            self.along.fill(ZERO);
            for (row, eta) in self.reduced.a.chunks_exact(m.max(1)).zip(&self.eta) {
                for (along, a) in self.along.iter_mut().zip(row) {
                    *along += a.conj() * eta;
                }
            }
            for k in rows..self.r.len() {
                let c = if polished {
                    -self.r[k] * point.multipliers[self.groups + k - rows]
                } else {
                    self.tails[k].y
                };
                for (along, t) in self.along.iter_mut().zip(&self.reduced.a[k * m..]) {
                    *along -= t.conj() * c;
                }
            }
            for (row, eta) in self.reduced.a.chunks_exact(m.max(1)).zip(&mut self.eta) {
                for (a, along) in row.iter().zip(&self.along) {
                    *eta -= a * along;
                }
            }
        }
        // Σg √(Σ_{k∈g} |ηₖ|²) = 1
        let groups = self.eta.chunks_exact(self.per_group);
        let norm = groups.fold(0.0, |sum, rows| sum + libm::sqrt(sum_of_squares(rows)));
        for eta in &mut self.eta {
            *eta /= norm;
        }
        // bound = Re Σ conj(ηₖ) bₖ − Σ ρₚ |Σ conj(Aₖₚ) ηₖ|
        let mut bound = 0.0;
        for (&eta, &b) in self.eta.iter().zip(&self.reduced.scaled.b) {
            bound += inner(eta, b);
        }
        for (&p, radius) in self.reduced.limited.iter().zip(&self.reduced.radius) {
            let along = self.reduced.scaled.column_product(p, &self.eta);
            bound -= radius * libm::sqrt(along.norm_sqr());
        }
        (value, bound)
    }

    /// The greatest group once the corrections are shortened to their limits.
    fn admissible(&mut self, z: &[Complex64]) -> f64 {
        let scaled = self.reduced.scaled;
        self.reduced.admit(z, &mut self.x);
        let mut greatest = 0.0_f64;
        let mut sum = 0.0;
        let rows = scaled.a.chunks_exact(scaled.planes);
        for (k, (row, &b)) in rows.zip(&scaled.b).enumerate() {
            let mut r = b;
            for (a, x) in row.iter().zip(&self.x) {
                r += a * x;
            }
            sum += r.norm_sqr();
            if (k + 1) % self.per_group == 0 {
                greatest = greatest.max(sum);
                sum = 0.0;
            }
        }
        greatest
    }

    /// Whether the corrections could be quite different, or different by a thousandth, with no more
    /// than 1e-8 of the value lost.
    ///
    /// Let z be the optimum and z + t d admissible with a value of at most t (1 + ε). The problem being
    /// quadratic, the multipliers prove the first line; the active constraints, weighted by their
    /// multipliers, sum to zero, which gives the others:
    ///
    /// ```text
    /// d* (Σ µᵢ Aᵢ* Aᵢ) d ≤ 2 ε + ε²
    /// |(ag/t)·d| ≤ ε max(1, (1 − µg)/µg)  (groups),   |(aᵢ/t)·d| ≤ ε / µᵢ  (limits)
    /// ```
    ///
    /// Their sum, each divided by its right side, is an ellipsoid dᵀ M d ≤ 1 (up to the square root of
    /// the number of lines). Its extent in each plane is held against the largest correction, or
    /// against the correction that would do as much as the vibration that is left.
    pub(crate) fn is_flat(&mut self, solution: &Solution) -> bool {
        let (n, m, groups) = (self.n, self.reduced.unknowns, self.groups);
        let planes = self.reduced.scaled.planes;
        let t = solution.value;
        if self.reduced.dependent || m == 0 {
            return self.reduced.dependent;
        }
        if solution.point.multipliers.iter().all(|&x| x == 0.0) {
            // A value of zero: the corrections are what makes every residual vanish.
            return false;
        }
        self.evaluate(&solution.point.z);
        let multipliers = &solution.point.multipliers;
        self.bend(multipliers);
        self.matrix.fill(0.0);
        self.expand_curvature(1.0 / (2.0 * RISE), n);
        for i in (0..solution.active.len()).filter(|&i| solution.active[i]) {
            let mu = multipliers[i];
            let times = if i < groups { ((1.0 - mu) / mu).max(1.0) } else { 1.0 / mu };
            let width = RISE * t * times;
            self.slope(i);
            let a = &self.gradient;
            for row in 0..n {
                for column in 0..=row {
                    self.matrix[row * n + column] += (a[row] / width) * (a[column] / width);
                }
            }
        }
        factor(&mut self.matrix[..n * n], n);

        self.reduced.expand(&solution.point.z, &mut self.x);
        let sizes = self.x.iter().map(|x| x.re.abs().max(x.im.abs()));
        let largest = sizes.fold(t, f64::max);
        // Column j of the map from z to x.
        let mut map = vec![ZERO; m * planes];
        self.along.fill(ZERO);
        for (j, column) in map.chunks_exact_mut(planes).enumerate() {
            self.along[j].re = 1.0;
            self.reduced.expand(&self.along, column);
            self.along[j].re = 0.0;
        }
        (0..planes).any(|p| {
            let moved = t * libm::sqrt(self.extent(&map[p..], planes));
            moved.min(2.0 * self.reduced.scaled.radius[p]) > MOVE * largest
        })
    }

    /// Σ vᵀ M⁻¹ v over the two rows v of the map from z to the real and the imaginary part of one
    /// correction; `row` holds, every `stride` elements, what it has of each unknown, and `matrix` M,
    /// factored.
    fn extent(&mut self, row: &[Complex64], stride: usize) -> f64 {
        let n = self.n;
        let mut square = 0.0;
        for imaginary in [false, true] {
            for (pair, c) in self.step.chunks_exact_mut(2).zip(row.iter().step_by(stride)) {
                let (of_re, of_im) = if imaginary { (c.im, c.re) } else { (c.re, -c.im) };
                pair[0] = of_re;
                pair[1] = of_im;
            }
            forward(&self.matrix, n, &mut self.step[..n]);
            for (i, y) in self.step[..n].iter().enumerate() {
                let inverse = self.matrix[i * n + i];
                square += y * y * if inverse > 0.0 { inverse } else { UNBOUND };
            }
        }
        square
    }
}
