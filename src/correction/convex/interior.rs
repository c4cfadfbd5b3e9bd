//! The smallest greatest group of residuals under limits, by an interior-point method.
//!
//! The rows fall into groups of equal length (one row each: min-max; all rows in one: least squares).
//! With r = b + A z the problem is the conic one
//!
//! ```text
//! minimise t   subject to   (t, r_g) ∈ Q for every group g,   (ρᵢ, Tᵢ z) ∈ Q for every limit i,
//! ```
//!
//! Q the pairs (s₀, s) with |s| ≤ s₀. Its dual points are yᵢ ∈ Q, one per cone, with `Σ_g y₀` = 1 and
//! Σ Aᵢ* yᵢ = 0, where the row of a limit is Tᵢ. Both sides start inside their cones and stay there, so
//! that every iterate has its own gap, Σ sᵢ·yᵢ. As soon as it is small, the active set is guessed and
//! Newton's method finishes (`polish`); steps go on only as long as that does not prove its result.

use super::cone::{self, Head, Tail};
use super::newton::{factor, solve_factored};
use super::reduced::{Reduced, inner, sum_of_squares};
use alloc::vec;
use alloc::vec::Vec;
use core::ops::Range;
use num_complex::Complex64;

const ZERO: Complex64 = Complex64::new(0.0, 0.0);

/// Interior-point steps at most; half a dozen is usual.
const STEPS: usize = 60;

/// The relative gap at which the active set is worth a first guess.
const FIRST_GUESS: f64 = 0.005;

/// By how much the gap must have shrunk before the same guess is tried again.
const NEXT_GUESS: f64 = 1e-2;

/// The relative gap of a proven optimum.
const GAP: f64 = 1e-13;

/// The relative gap beyond which rounding rules the interior steps.
const LEAST_GAP: f64 = 1e-15;

/// The part of the way to the nearest edge of a cone that one step may go.
const REACH: f64 = 0.98;

/// A step shorter than this is none.
const LEAST_STEP: f64 = 1e-8;

/// Unknowns, with the multipliers of the constraints: those of the groups, µ, then those of the limits,
/// λ, in Σ µg Σ_{k∈g} Aₖ* rₖ + Σ λᵢ Tᵢ* Tᵢ z = 0, Σ µg = 1; τ = t².
#[derive(Clone)]
pub(crate) struct Point {
    pub(crate) z: Vec<Complex64>,
    pub(crate) tau: f64,
    pub(crate) multipliers: Vec<f64>,
}

/// The best primal and the best dual point found.
pub(crate) struct Solution {
    pub(crate) point: Point,
    /// The greatest group at `point`: `max |r_g|`.
    pub(crate) value: f64,
    /// The dual point in the rows of the reduced problem, and the bound it proves.
    pub(crate) eta: Vec<Complex64>,
    pub(crate) bound: f64,
    /// Which constraints (groups, then limited unknowns) hold with equality.
    pub(crate) active: Vec<bool>,
    pub(crate) flat: bool,
}

impl Solution {
    /// The answer when the greatest group is zero to rounding: nothing is active, nothing to prove.
    fn vanish(mut self, z: &[Complex64], greatest: f64) -> Self {
        self.point.z.copy_from_slice(z);
        self.point.multipliers.fill(0.0);
        self.value = libm::sqrt(greatest);
        self.eta.fill(ZERO);
        self.bound = 0.0;
        self.active.fill(false);
        self
    }
}

/// One search and its scratch.
pub(crate) struct Search<'a> {
    pub(crate) reduced: &'a Reduced<'a>,
    pub(crate) per_group: usize,
    pub(crate) groups: usize,
    /// Real unknowns: twice the complex ones.
    pub(crate) n: usize,
    /// The residuals rₖ and, behind them, Tⱼ z; per constraint (groups, then limits) Sᵢ, the sum of their
    /// squares; both at the last point evaluated. The slope aᵢ of one of them, n reals.
    pub(crate) r: Vec<Complex64>,
    pub(crate) square: Vec<f64>,
    pub(crate) gradient: Vec<f64>,
    /// Unknowns by unknowns, lower triangle: a weighted sum of Aₖ* Aₖ.
    pub(crate) curvature: Vec<Complex64>,
    /// The systems of an interior step (n + 1), and of the active set, with its scratch.
    pub(crate) matrix: Vec<f64>,
    pub(crate) system: Vec<f64>,
    pub(crate) right: Vec<f64>,
    pub(crate) scale: Vec<f64>,
    pub(crate) order: Vec<usize>,
    pub(crate) guess: Vec<bool>,
    pub(crate) eta: Vec<Complex64>,
    /// The cones of an interior point: one head per constraint, one tail per row of A and T.
    pub(crate) heads: Vec<Head>,
    pub(crate) tails: Vec<Tail>,
    t: f64,
    /// An interior step: dz and dt.
    pub(crate) step: Vec<f64>,
    /// n + 1 reals: Jᵀ of one cone vector.
    image: Vec<f64>,
    /// One per unknown.
    pub(crate) along: Vec<Complex64>,
    /// The scaled corrections of a point.
    pub(crate) x: Vec<Complex64>,
}

impl<'a> Search<'a> {
    pub(crate) fn new(reduced: &'a Reduced<'a>, per_group: usize) -> Self {
        let rows = reduced.scaled.b.len();
        let per_group = per_group.max(1);
        let groups = rows / per_group;
        let n = 2 * reduced.unknowns;
        let count = groups + reduced.limited.len();
        let largest = 4 * n + 8;
        Self {
            reduced,
            per_group,
            groups,
            n,
            r: vec![ZERO; reduced.b.len()],
            square: vec![0.0; count],
            gradient: vec![0.0; n],
            curvature: vec![ZERO; n * n / 4],
            matrix: vec![0.0; (n + 1) * (n + 1)],
            system: vec![0.0; largest * largest],
            right: vec![0.0; largest],
            scale: vec![0.0; largest],
            order: vec![0; largest],
            guess: vec![false; count],
            eta: vec![ZERO; rows],
            heads: vec![Head::default(); count],
            tails: vec![Tail::default(); reduced.b.len()],
            t: 0.0,
            step: vec![0.0; n + 1],
            image: vec![0.0; n + 1],
            along: vec![ZERO; reduced.unknowns],
            x: vec![ZERO; reduced.scaled.planes],
        }
    }

    /// The rows of constraint `i`.
    fn span(&self, i: usize) -> Range<usize> {
        span(self.groups, self.per_group, self.eta.len(), i)
    }

    /// The number of unknowns, which the compiler knows when it is M, and M is not zero: the loops over
    /// one or two unknowns are too short to be worth their own bookkeeping.
    fn width<const M: usize>(&self) -> usize {
        if M == 0 { self.reduced.unknowns } else { M }
    }

    /// What √Sᵢ must not exceed: t for a group, and the radius of a limit.
    pub(crate) fn level(&self, i: usize, t: f64) -> f64 {
        if i < self.groups { t } else { self.reduced.radius[i - self.groups] }
    }

    /// Sets `r` and `square` for the unknowns `z`; returns the greatest group.
    pub(crate) fn evaluate(&mut self, z: &[Complex64]) -> f64 {
        match self.reduced.unknowns {
            1 => self.evaluate_known::<1>(z),
            2 => self.evaluate_known::<2>(z),
            _ => self.evaluate_known::<0>(z),
        }
        for i in 0..self.square.len() {
            let rows = self.span(i);
            self.square[i] = sum_of_squares(&self.r[rows]);
        }
        self.square[..self.groups].iter().fold(0.0, |most, &square| most.max(square))
    }

    fn evaluate_known<const M: usize>(&mut self, z: &[Complex64]) {
        let m = self.width::<M>();
        self.r.copy_from_slice(&self.reduced.b);
        let rows = self.reduced.a.chunks_exact(m.max(1));
        for (r, row) in self.r.iter_mut().zip(rows) {
            *r = row.iter().zip(&z[..m]).fold(*r, |sum, (a, z)| sum + a * z);
        }
    }

    /// aᵢ = Σ Aₖ* rₖ of constraint `i` at the point last evaluated, into `gradient`.
    pub(crate) fn slope(&mut self, i: usize) {
        let m = self.reduced.unknowns;
        let rows = self.span(i);
        self.gradient.fill(0.0);
        let a = self.reduced.a[rows.start * m..rows.end * m].chunks_exact(m.max(1));
        for (row, r) in a.zip(&self.r[rows]) {
            add_image(&mut self.gradient, row, *r);
        }
    }

    /// Σ weightᵢ Aᵢ* Aᵢ over the constraints into `curvature`.
    pub(crate) fn bend(&mut self, weights: &[f64]) {
        let m = self.reduced.unknowns;
        self.curvature.fill(ZERO);
        for (i, &weight) in weights.iter().enumerate() {
            if weight != 0.0 {
                let rows = self.span(i);
                let a = &self.reduced.a[rows.start * m..rows.end * m];
                add_curvature(&mut self.curvature, a, m, weight);
            }
        }
    }

    /// `curvature` times `factor` as a real matrix (lower triangle) onto the rows of `matrix`, `width`
    /// apart: a complex c becomes the block [Re c, −Im c; Im c, Re c].
    pub(crate) fn expand_curvature(&mut self, factor: f64, width: usize) {
        let m = self.reduced.unknowns;
        for i in 0..m {
            for j in 0..=i {
                let c = self.curvature[i * m + j] * factor;
                let corner = 2 * i * width + 2 * j;
                self.matrix[corner] += c.re;
                self.matrix[corner + 1] -= c.im;
                self.matrix[corner + width] += c.im;
                self.matrix[corner + width + 1] += c.re;
            }
        }
    }

    /// First points inside all cones: t somewhat above the greatest group; y from the residuals of least
    /// squares, shortened; those of the limits so that Σ Aᵢ* yᵢ = 0.
    fn enter<const M: usize>(&mut self, z: &[Complex64], greatest: f64) {
        self.t = 1.3 * libm::sqrt(greatest);
        self.place::<M>(z);
        let (groups, rows) = (self.groups, self.eta.len());
        let share = 1.0 / groups as f64;
        let shortened = 0.9 * share / self.t;
        let mut product = 0.0;
        for (eta, tail) in self.eta.iter_mut().zip(&mut self.tails[..rows]) {
            tail.y = -tail.s * shortened;
            *eta = tail.y;
            product += inner(tail.s, tail.y);
        }
        let product = (self.t + product) * share;
        for head in &mut self.heads[..groups] {
            head.y = share;
        }
        for (i, &p) in self.reduced.limited.iter().enumerate() {
            let along = -self.reduced.scaled.column_product(p, &self.eta);
            let tail = &mut self.tails[rows + i];
            tail.y = along;
            let head = &mut self.heads[groups + i];
            head.y = ((product - inner(tail.s, along)) / head.s).max(1.1 * libm::sqrt(along.norm_sqr()));
        }
    }

    /// Sets s = (t, r) for the groups, (ρ, T z) for the limits. Returns Σ sᵢ·yᵢ, or `None` when some
    /// vector is not inside its cone.
    fn place<const M: usize>(&mut self, z: &[Complex64]) -> Option<f64> {
        let m = self.width::<M>();
        let z = &z[..m];
        let (mut sum, mut inside) = (0.0, true);
        for i in 0..self.heads.len() {
            let rows = self.span(i);
            let level = self.level(i, self.t);
            let head = &mut self.heads[i];
            head.s = level;
            let a = self.reduced.a[rows.start * m..rows.end * m].chunks_exact(m);
            let b = &self.reduced.b[rows.clone()];
            let tails = &mut self.tails[rows];
            for ((tail, row), &b) in tails.iter_mut().zip(a).zip(b) {
                tail.s = row.iter().zip(z).fold(b, |sum, (a, z)| sum + a * z);
            }
            inside &= cone::measure(head, tails);
            sum += head.product;
        }
        inside.then_some(sum)
    }

    /// Scales every cone and factors the system of an interior step:
    ///
    /// ```text
    /// M = Σ Jᵢᵀ Wᵢ⁻² Jᵢ = Σ (Aᵢ* Aᵢ − eₜ eₜᵀ + 2 pᵢ pᵢᵀ)/βᵢ²,  pᵢ = (Aᵢ* w̄ᵢ, −w̄ᵢ₀)
    /// ```
    ///
    /// with neither eₜ nor w̄₀ for a limit.
    fn prepare<const M: usize>(&mut self) {
        let m = self.width::<M>();
        let (n, width) = (2 * m, 2 * m + 1);
        self.matrix.fill(0.0);
        self.curvature.fill(ZERO);
        for i in 0..self.heads.len() {
            let rows = self.span(i);
            let a = &self.reduced.a[rows.start * m..rows.end * m];
            let head = &mut self.heads[i];
            let tails = &mut self.tails[rows];
            cone::scale(head, tails);
            add_curvature(&mut self.curvature, a, m, head.stretch);
            let image = &mut self.image[..width];
            image.fill(0.0);
            for (row, tail) in a.chunks_exact(m).zip(tails) {
                add_image(&mut image[..n], row, tail.w);
            }
            if i < self.groups {
                image[n] = -head.w;
                self.matrix[n * width + n] -= head.stretch;
            }
            let twice = 2.0 * head.stretch;
            for (j, row) in self.matrix[..width * width].chunks_exact_mut(width).enumerate() {
                let scaled = twice * image[j];
                for (x, b) in row.iter_mut().zip(&image[..=j]) {
                    *x += scaled * b;
                }
            }
        }
        self.expand_curvature(1.0, width);
        factor(&mut self.matrix, width);
    }

    /// Solves for the step, M (dz, dt) = Σ Jᵢᵀ turnᵢ − eₜ, and returns how far of it, at most all, keeps
    /// every vector in its cone. The predictor has no turn: it aims straight at the optimum.
    fn solve<const M: usize>(&mut self, centre: Option<f64>) -> f64 {
        let m = self.width::<M>();
        let n = 2 * m;
        self.step.fill(0.0);
        for i in 0..self.heads.len() {
            let rows = self.span(i);
            let a = &self.reduced.a[rows.start * m..rows.end * m];
            let head = &mut self.heads[i];
            let tails = &mut self.tails[rows];
            if let Some(centre) = centre {
                cone::correct(head, tails, centre);
                for (row, tail) in a.chunks_exact(m).zip(tails) {
                    add_image(&mut self.step[..n], row, tail.turn);
                }
                if i < self.groups {
                    self.step[n] += head.turn;
                }
            } else {
                head.turn = 0.0;
                for tail in tails.iter_mut() {
                    tail.turn = ZERO;
                }
            }
        }
        self.step[n] -= 1.0;
        solve_factored(&self.matrix, n + 1, &mut self.step);

        let mut room = 1.0;
        for i in 0..self.heads.len() {
            let rows = self.span(i);
            let a = &self.reduced.a[rows.start * m..rows.end * m];
            let head = &mut self.heads[i];
            let tails = &mut self.tails[rows];
            head.ds = if i < self.groups { self.step[n] } else { 0.0 };
            for (row, tail) in a.chunks_exact(m).zip(tails.iter_mut()) {
                let steps = row.iter().zip(self.step[..n].chunks_exact(2));
                tail.ds = steps.fold(ZERO, |sum, (a, dz)| sum + a * Complex64::new(dz[0], dz[1]));
            }
            cone::dual_step(head, tails);
            room = cone::room(head, tails, room);
        }
        room
    }

    /// Takes `length` of the step; returns the gap as [`Search::place`] does.
    fn go<const M: usize>(&mut self, z: &mut [Complex64], length: f64) -> Option<f64> {
        for (z, dz) in z.iter_mut().zip(self.step.chunks_exact(2)) {
            *z += Complex64::new(dz[0], dz[1]) * length;
        }
        self.t += length * self.step[self.n];
        for head in &mut self.heads {
            head.y += length * head.dy;
        }
        for tail in &mut self.tails {
            tail.y += tail.dy * length;
        }
        self.place::<M>(z)
    }

    /// Writes the iterate, `length` of the step further on, as a point with the multipliers of the
    /// squared constraints.
    fn describe(&self, z: &[Complex64], length: f64, point: &mut Point) {
        point.z.copy_from_slice(z);
        for (z, dz) in point.z.iter_mut().zip(self.step.chunks_exact(2)) {
            *z += Complex64::new(dz[0], dz[1]) * length;
        }
        let t = self.t + length * self.step[self.n];
        point.tau = t * t;
        for i in 0..self.guess.len() {
            let y = self.heads[i].y + length * self.heads[i].dy;
            point.multipliers[i] = y * t / self.level(i, t);
        }
    }

    fn run<const M: usize>(&mut self, start: Vec<Complex64>, noise: f64) -> Solution {
        let count = self.guess.len();
        let mut z = start;
        let mut point = Point { z: z.clone(), tau: 0.0, multipliers: vec![0.0; count] };
        let mut best = Solution {
            point: point.clone(),
            value: f64::INFINITY,
            eta: vec![ZERO; self.eta.len()],
            bound: 0.0,
            active: vec![false; count],
            flat: false,
        };
        let greatest = self.evaluate(&z);
        if greatest <= noise * noise {
            return best.vanish(&z, greatest);
        }
        let reduced = self.reduced;
        if reduced.unknowns == 0 || (self.groups == 1 && reduced.limited.is_empty()) {
            // Nothing to choose, or plain least squares: the start is the answer.
            if let Some(g) = self.square.iter().position(|&square| square == greatest) {
                point.multipliers[g] = 1.0;
                self.guess[g] = true;
            }
            self.settle(&mut point, &mut best, noise, true);
            return best;
        }

        self.enter::<M>(&z, greatest);
        let mut gap = self.place::<M>(&z);
        let mut last_gap = f64::INFINITY;
        let mut length = 0.0;
        for _ in 0..STEPS {
            let Some(sum) = gap else {
                // Rounding has carried the point out of a cone: back.
                self.go::<M>(&mut z, -length);
                break;
            };
            let relative = sum / self.t;
            if relative.is_nan() || relative < LEAST_GAP {
                break;
            }
            self.prepare::<M>();
            let room = self.solve::<M>(None);
            // On a straight line the products fall as 1 − α.
            let left = 1.0 - room;
            let ahead = relative * left;
            if ahead < FIRST_GUESS && (self.guess() || ahead < NEXT_GUESS * last_gap) {
                last_gap = ahead;
                self.describe(&z, room, &mut point);
                if self.polish(&mut point, noise) && self.settle(&mut point, &mut best, noise, true) {
                    return best;
                }
            }
            // Where the predictor gets far, aim low.
            let centre = left * left * left * sum / count as f64;
            length = REACH * self.solve::<M>(Some(centre));
            if length.is_nan() || length < LEAST_STEP {
                break;
            }
            gap = self.go::<M>(&mut z, length);
            // t is an upper bound of the value.
            if self.t <= noise {
                let greatest = self.evaluate(&z);
                return best.vanish(&z, greatest);
            }
        }
        self.describe(&z, 0.0, &mut point);
        self.settle(&mut point, &mut best, noise, false);
        best
    }

    /// Makes a certificate for `point`, keeps what is better than before, and tells whether the value
    /// is proven.
    fn settle(&mut self, point: &mut Point, best: &mut Solution, noise: f64, polished: bool) -> bool {
        let (value, bound) = self.certify(point, polished);
        let proven = value - bound <= GAP * value + noise;
        if value < best.value || proven {
            best.value = value;
            best.point.z.copy_from_slice(&point.z);
            best.point.multipliers.copy_from_slice(&point.multipliers);
            for (i, active) in best.active.iter_mut().enumerate() {
                *active = self.guess[i] && point.multipliers[i] > 0.0;
            }
        }
        if bound > best.bound || proven {
            best.bound = bound;
            best.eta.copy_from_slice(&self.eta);
        }
        proven
    }

    /// Guesses the active set from the predictor, which leaves a multiplier about as it is when its
    /// constraint is active and takes it away when it is not, whatever the scales. Returns whether the
    /// guess differs from the one before.
    fn guess(&mut self) -> bool {
        let mut new = false;
        for (guess, head) in self.guess.iter_mut().zip(&self.heads) {
            let tight = head.y + head.dy > 0.5 * head.y;
            new |= tight != *guess;
            *guess = tight;
        }
        new
    }
}

/// weight Σ Aₖ* Aₖ over the rows in `a`, to the lower triangle `curvature`.
fn add_curvature(curvature: &mut [Complex64], a: &[Complex64], m: usize, weight: f64) {
    for row in a.chunks_exact(m.max(1)) {
        for (i, sums) in curvature[..m * m].chunks_exact_mut(m).enumerate() {
            let scaled = row[i].conj() * weight;
            for (sum, b) in sums.iter_mut().zip(&row[..=i]) {
                *sum += scaled * b;
            }
        }
    }
}

/// A* x of one row, to the pairs of reals `image`.
fn add_image(image: &mut [f64], row: &[Complex64], x: Complex64) {
    for (part, a) in image.chunks_exact_mut(2).zip(row) {
        let c = a.conj() * x;
        part[0] += c.re;
        part[1] += c.im;
    }
}

/// The rows of constraint `i`, of which the first `groups` have `per_group` rows each, `rows` in all.
fn span(groups: usize, per_group: usize, rows: usize, i: usize) -> Range<usize> {
    if i < groups {
        i * per_group..(i + 1) * per_group
    } else {
        let row = rows + i - groups;
        row..row + 1
    }
}

/// Solves the problem from `start`, inside the limits. A value below `noise` counts as zero.
pub(crate) fn solve(reduced: &Reduced<'_>, per_group: usize, start: Vec<Complex64>, noise: f64) -> Solution {
    let mut search = Search::new(reduced, per_group);
    let mut solution = match reduced.unknowns {
        1 => search.run::<1>(start, noise),
        2 => search.run::<2>(start, noise),
        _ => search.run::<0>(start, noise),
    };
    solution.flat = search.is_flat(&solution);
    solution
}
