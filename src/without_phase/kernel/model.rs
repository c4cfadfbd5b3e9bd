//! The rotor seen through amplitudes, the sum of squares it leaves, and the way down to a minimum of it.
//!
//! Only the turn between v₀ and H shows in amplitudes, so v₀ is turned to be real and H with it: three real unknowns
//! (A₀, Re H, Im H) = (A₀, c cos δ, c sin δ). In these the sum of squares is smooth wherever no vibration vanishes; in
//! (A₀, c, δ) it would be singular at c = 0.
//!
//! The model of a reading as found is A₀ itself, not |A₀|, so that a descent may pass through A₀ = 0. A minimum with
//! A₀ < 0 is no rotor; turned half round, (−A₀, −H), it is one and fits better. So the lowest minimum has A₀ > 0.

use num_complex::Complex64;

/// One amplitude: the mass mounted, as a vector, and what the sensor showed.
#[derive(Debug, Clone, Copy)]
pub(super) struct Reading {
    pub(super) mounted: Complex64,
    pub(super) amplitude: f64,
}

/// The linear rotor, turned so that its vibration as found is real.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Rotor {
    pub(super) initial: f64,
    pub(super) influence: Complex64,
}

impl Rotor {
    /// What a reading should show: |v|, or A₀ with its sign where nothing is mounted.
    pub(super) fn amplitude(self, mounted: Complex64) -> f64 {
        if is_nothing(mounted) { self.initial } else { magnitude(self.vibration(mounted)) }
    }

    /// |H|: the effect of a unit mass.
    pub(super) fn effect(self) -> f64 {
        magnitude(self.influence)
    }

    pub(super) fn midpoint(self, other: Rotor) -> Rotor {
        Rotor {
            initial: 0.5 * (self.initial + other.initial),
            influence: (self.influence + other.influence) * 0.5,
        }
    }

    /// Largest difference of A₀ and of H, each relative to its own size, if that is not itself rounding.
    pub(super) fn distance(self, other: Rotor) -> f64 {
        let least = NOTHING * self.size().max(other.size());
        let initial = self.initial.abs().max(other.initial.abs()).max(least);
        let influence = self.effect().max(other.effect()).max(least);
        let between = (
            (self.initial - other.initial).abs() / initial,
            magnitude(self.influence - other.influence) / influence,
        );
        between.0.max(between.1)
    }

    fn vibration(self, mounted: Complex64) -> Complex64 {
        // v = v₀ + H u
        self.influence * mounted + self.initial
    }

    fn stepped(self, [initial, re, im]: [f64; 3]) -> Rotor {
        Rotor {
            initial: self.initial - initial,
            influence: Complex64::new(self.influence.re - re, self.influence.im - im),
        }
    }

    fn size(self) -> f64 {
        self.initial.abs().max(self.effect())
    }
}

/// A part of a rotor this small beside the other is rounding.
const NOTHING: f64 = 1e-9;

fn is_nothing(mounted: Complex64) -> bool {
    mounted.re == 0.0 && mounted.im == 0.0
}

pub(super) fn magnitude(v: Complex64) -> f64 {
    libm::hypot(v.re, v.im)
}

/// Σ (A − model)² over the readings.
pub(super) fn sum_squares(readings: &[Reading], rotor: Rotor) -> f64 {
    let mut sum = 0.0;
    for reading in readings {
        let residual = reading.amplitude - rotor.amplitude(reading.mounted);
        sum += residual * residual;
    }
    sum
}

/// A stationary point of the sum of squares that curves upwards, within rounding.
#[derive(Debug, Clone, Copy)]
pub(super) struct Minimum {
    pub(super) rotor: Rotor,
    pub(super) sum_squares: f64,
}

/// Half the sum of squares: value (doubled again), gradient and second derivatives at one rotor.
struct Slope {
    sum_squares: f64,
    gradient: [f64; 3],
    curvature: Symmetric,
}

impl Slope {
    fn at(readings: &[Reading], rotor: Rotor) -> Slope {
        let mut sum = 0.0;
        let [mut g0, mut g1, mut g2] = [0.0; 3];
        let mut curvature = Symmetric::default();
        for reading in readings {
            let modelled = rotor.amplitude(reading.mounted);
            let residual = reading.amplitude - modelled;
            sum += residual * residual;
            if is_nothing(reading.mounted) {
                g0 -= residual;
                curvature.xx += 1.0;
                continue;
            }
            let v = rotor.vibration(reading.mounted);
            // e = v/|v|; any direction serves where v vanishes.
            let unit = if modelled > 0.0 { v.unscale(modelled) } else { Complex64::new(1.0, 0.0) };
            // ∂v/∂A₀ = 1, ∂v/∂Re H = u, ∂v/∂Im H = i u, each seen along e (real part) and across it (imaginary part).
            let by_initial = unit.conj();
            let by_re = by_initial * reading.mounted;
            let (radial, across) =
                ([by_initial.re, by_re.re, -by_re.im], [by_initial.im, by_re.im, by_re.re]);
            // ½ ∂(A − |v|)²/∂x = −(A − |v|) Re(e* ∂v/∂x)
            g0 -= residual * radial[0];
            g1 -= residual * radial[1];
            g2 -= residual * radial[2];
            curvature.add_square(1.0, radial);
            // |v| bends by |∂v across e|²/|v|, and −(A − |v|)/|v| = 1 − A/|v|. At v = 0 that is 1 if A = 0; otherwise there is a
            // peak, which no descent stays on.
            let bend = if modelled > 0.0 { -residual / modelled } else { 1.0 };
            curvature.add_square(bend, across);
        }
        Slope { sum_squares: sum, gradient: [g0, g1, g2], curvature }
    }

    fn steepness(&self) -> f64 {
        let [g0, g1, g2] = self.gradient;
        g0.abs().max(g1.abs()).max(g2.abs())
    }
}

/// A symmetric 3 × 3 matrix.
#[derive(Debug, Clone, Copy, Default)]
struct Symmetric {
    xx: f64,
    xy: f64,
    xz: f64,
    yy: f64,
    yz: f64,
    zz: f64,
}

impl Symmetric {
    fn add_square(&mut self, weight: f64, [x, y, z]: [f64; 3]) {
        self.xx += weight * x * x;
        self.xy += weight * x * y;
        self.xz += weight * x * z;
        self.yy += weight * y * y;
        self.yz += weight * y * z;
        self.zz += weight * z * z;
    }

    fn largest_diagonal(&self) -> f64 {
        self.xx.abs().max(self.yy.abs()).max(self.zz.abs())
    }

    /// (M + λ I)⁻¹ b by the square-root-free Cholesky factors, or `None` where M + λ I does not curve upwards.
    fn solve(&self, damping: f64, [b0, b1, b2]: [f64; 3]) -> Option<[f64; 3]> {
        // M + λ I = L D Lᵀ
        let d0 = self.xx + damping;
        let (l10, l20) = (self.xy / d0, self.xz / d0);
        let d1 = self.yy + damping - l10 * self.xy;
        let m21 = self.yz - l10 * self.xz;
        let l21 = m21 / d1;
        let d2 = self.zz + damping - l20 * self.xz - l21 * m21;
        if !(d0 > 0.0 && d1 > 0.0 && d2 > 0.0) {
            return None;
        }
        let y1 = b1 - l10 * b0;
        let y2 = b2 - l20 * b0 - l21 * y1;
        let x2 = y2 / d2;
        let x1 = y1 / d1 - l21 * x2;
        let x0 = b0 / d0 - l10 * x1 - l20 * x2;
        Some([x0, x1, x2])
    }
}

/// Steps are counted only so that a pathological input cannot run for ever; ordinary descents take five to thirty.
const STEP_LIMIT: usize = 300;
/// Relative step below which differences of the sum of squares drown in rounding, and the gradient leads instead.
const LAST_STEP: f64 = 1e-8;
/// Largest gradient, per reading in units of the largest reading, still taken for zero.
const FLAT: f64 = 1e-10;
/// Share of the curvature that may be missing to rounding at a minimum.
const CURVATURE_ROUNDING: f64 = 1e-9;

/// Newton's method downhill from a start, damped where the sum of squares does not curve upwards or would rise.
///
/// `None` when the descent ends on a saddle (starts on a line of symmetry may) or does not end at all.
pub(super) fn descend(readings: &[Reading], start: Rotor) -> Option<Minimum> {
    let mut here = start;
    let mut slope = Slope::at(readings, here);
    let mut damping = 0.0;
    for _ in 0..STEP_LIMIT {
        let scale = slope.curvature.largest_diagonal();
        if let Some(step) = slope.curvature.solve(damping, slope.gradient) {
            let next = here.stepped(step);
            let small = step_size(step) <= LAST_STEP * here.size();
            if sum_squares(readings, next) < slope.sum_squares {
                here = next;
                slope = Slope::at(readings, here);
                damping = if damping > 1e-6 * scale { damping / 8.0 } else { 0.0 };
                if small && damping == 0.0 {
                    break;
                }
                continue;
            }
            if small {
                break;
            }
        }
        damping = if damping > 0.0 { 4.0 * damping } else { 1e-3 * scale };
    }
    let end = polish(readings, here);
    let last = Slope::at(readings, end);
    let curves_upwards =
        last.curvature.solve(CURVATURE_ROUNDING * last.curvature.largest_diagonal(), last.gradient).is_some();
    let flat = last.steepness() <= FLAT * count(readings);
    (flat && curves_upwards).then_some(Minimum { rotor: end, sum_squares: last.sum_squares })
}

/// Plain Newton steps for as long as they make the gradient smaller: to the last digits the readings carry.
fn polish(readings: &[Reading], start: Rotor) -> Rotor {
    let mut here = start;
    let mut slope = Slope::at(readings, here);
    for _ in 0..10 {
        let Some(step) = slope.curvature.solve(0.0, slope.gradient) else {
            break;
        };
        let next = here.stepped(step);
        let next_slope = Slope::at(readings, next);
        // A NaN is not less and ends the loop.
        if next_slope.steepness() < slope.steepness() {
            here = next;
            slope = next_slope;
        } else {
            break;
        }
    }
    here
}

fn step_size([a, b, c]: [f64; 3]) -> f64 {
    a.abs().max(libm::hypot(b, c))
}

/// The number of readings as a float; exact below 2⁵³ readings.
#[allow(clippy::cast_precision_loss)]
pub(super) fn count(readings: &[Reading]) -> f64 {
    readings.len() as f64
}
