//! The last digits: Newton's method on the equations that hold when the active set is known.

use super::interior::{Point, Search};
use super::newton::solve_indefinite;
use num_complex::Complex64;

const ZERO: Complex64 = Complex64::new(0.0, 0.0);

/// Newton steps on one guess of the active set.
const STEPS: usize = 8;

/// A relative step this small is the last: the error it leaves is about its square.
const LAST_STEP: f64 = 1e-8;

/// A relative step after which a wrong sign or a violated constraint shows a wrong guess.
const NEAR: f64 = 0.03;

/// A diagonal element this small beside the largest is what rounding has left of zero.
const NO_CURVATURE: f64 = 1e-24;

impl Search<'_> {
    /// Newton's method on the conditions of optimality with exactly the guessed constraints active,
    /// from `point` and into it. False when it does not settle, or settles on no optimum.
    pub(crate) fn polish(&mut self, point: &mut Point, noise: f64) -> bool {
        let active = self.guess.iter().filter(|&&tight| tight).count();
        let size = self.n + 1 + active;
        if size > self.order.len() {
            return false;
        }
        for (multiplier, &tight) in point.multipliers.iter_mut().zip(&self.guess) {
            if !tight {
                *multiplier = 0.0;
            }
        }
        let mut change = f64::INFINITY;
        for _ in 0..STEPS {
            self.evaluate(&point.z);
            if change < NEAR && self.violated(libm::sqrt(point.tau), 1.0 + 3.0 * change) {
                return false;
            }
            self.assemble(point, size);
            solve_indefinite(&mut self.system[..size * size], size, &mut self.right[..size], &mut self.order);
            change = self.advance(point);
            if !(point.tau > 0.0 && change < 10.0) {
                return false;
            }
            if change < NEAR && point.multipliers.iter().any(|&x| x < -change) {
                return false;
            }
            if change < LAST_STEP.max(noise / libm::sqrt(point.tau)) {
                return true;
            }
        }
        false
    }

    /// Whether a constraint taken for inactive exceeds its square by more than `factor`.
    fn violated(&self, t: f64, factor: f64) -> bool {
        (0..self.guess.len()).any(|i| {
            let level = self.level(i, t);
            !self.guess[i] && self.square[i] > level * level * factor
        })
    }

    /// Sets up the Newton system. In units of t = √τ, with dz = t dz', dτ = 2 t² dτ', the level lᵢ of a
    /// constraint being t or the radius ρᵢ, and with the multipliers νᵢ = µᵢ lᵢ/t that belong to the
    /// gradients aᵢ/lᵢ of √Sᵢ:
    ///
    /// ```text
    /// Σ µᵢ Aᵢ* Aᵢ dz' + Σ (aᵢ/lᵢ) dνᵢ = −Σ µᵢ aᵢ/t
    /// −Σ dµg = Σ µg − 1
    /// (ag/t)·dz' − dτ' = (τ − Sg)/(2 τ)        for an active group
    /// (aᵢ/ρᵢ)·dz' = (ρᵢ² − Sᵢ)/(2 ρᵢ t)        for an active limit
    /// ```
    fn assemble(&mut self, point: &Point, size: usize) {
        let n = self.n;
        let m = n / 2;
        let t = libm::sqrt(point.tau);
        self.bend(&point.multipliers);
        self.system[..size * size].fill(0.0);
        self.right[..size].fill(0.0);
        let system = &mut self.system[..size * size];
        for i in 0..m {
            for j in 0..=i {
                let c = self.curvature[i * m + j];
                for (row, column, x) in [
                    (2 * i, 2 * j, c.re),
                    (2 * i, 2 * j + 1, -c.im),
                    (2 * i + 1, 2 * j, c.im),
                    (2 * i + 1, 2 * j + 1, c.re),
                ] {
                    system[row * size + column] = x;
                    system[column * size + row] = x;
                }
            }
        }
        self.right[n] = -1.0;
        let mut place = n;
        for i in 0..self.guess.len() {
            if !self.guess[i] {
                continue;
            }
            place += 1;
            let multiplier = point.multipliers[i];
            let level = self.level(i, t);
            self.slope(i);
            let system = &mut self.system[..size * size];
            let right = &mut self.right[..size];
            let (per_level, per_t) = (1.0 / level, multiplier / t);
            for (j, a) in self.gradient.iter().enumerate() {
                system[place * size + j] = a * per_level;
                system[j * size + place] = a * per_level;
                right[j] -= a * per_t;
            }
            if i < self.groups {
                system[place * size + n] = -1.0;
                system[n * size + place] = -1.0;
                right[n] += multiplier;
            }
            right[place] = (level * level - self.square[i]) / (2.0 * level * t);
        }
        self.equilibrate(size);
    }

    /// Scales the system symmetrically, K to D K D and the right side to D b: z' to a unit diagonal,
    /// then the constraints to a largest element of 1.
    fn equilibrate(&mut self, size: usize) {
        let n = self.n;
        let system = &mut self.system[..size * size];
        let scale = &mut self.scale[..size];
        let largest = (0..n).fold(0.0_f64, |most, j| most.max(system[j * size + j]));
        for j in 0..n {
            let diagonal = system[j * size + j];
            scale[j] = if diagonal > NO_CURVATURE * largest { 1.0 / libm::sqrt(diagonal) } else { 1.0 };
        }
        scale[n] = 1.0;
        for i in n + 1..size {
            let row = &system[i * size..i * size + n];
            let largest = row
                .iter()
                .zip(scale.iter())
                .fold(system[i * size + n].abs(), |most, (x, scale)| most.max((x * scale).abs()));
            scale[i] = if largest > 0.0 { 1.0 / largest } else { 1.0 };
        }
        for (i, row) in system.chunks_exact_mut(size).enumerate() {
            for (x, other) in row.iter_mut().zip(scale.iter()) {
                *x *= scale[i] * other;
            }
            self.right[i] *= scale[i];
        }
    }

    /// Takes the step that stands in `right`. Returns the largest change: of an unknown in units of t,
    /// of t itself, of a limited correction in units of its limit, or of a multiplier ν.
    fn advance(&mut self, point: &mut Point) -> f64 {
        let n = self.n;
        let t = libm::sqrt(point.tau);
        for (x, scale) in self.right.iter_mut().zip(&self.scale) {
            *x *= scale;
        }
        let mut change = self.right[n].abs();
        for (z, dz) in point.z.iter_mut().zip(self.right.chunks_exact(2)) {
            *z += Complex64::new(dz[0], dz[1]) * t;
            change = change.max(dz[0].abs()).max(dz[1].abs());
        }
        // |Tᵢ dz|/ρᵢ: planes that are hard to tell apart may move far while the residuals hardly do.
        let rows = self.reduced.a.chunks_exact((n / 2).max(1)).skip(self.eta.len());
        for (row, radius) in rows.zip(&self.reduced.radius) {
            let steps = row.iter().zip(self.right.chunks_exact(2));
            let shift = steps.fold(ZERO, |sum, (a, dz)| sum + a * Complex64::new(dz[0], dz[1]));
            change = change.max(libm::sqrt(shift.norm_sqr()) * t / radius);
        }
        point.tau *= 1.0 + 2.0 * self.right[n];
        let mut place = n;
        for i in 0..self.guess.len() {
            if self.guess[i] {
                place += 1;
                let step = self.right[place];
                point.multipliers[i] += step * t / self.level(i, t);
                change = change.max(step.abs());
            }
        }
        change
    }
}
