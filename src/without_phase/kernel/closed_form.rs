//! What can be said in closed form: whether the trial places settle the answer, the linear solution of three or more
//! trials, and both rotors of two.
//!
//! Squared, the model is linear but for one side condition:
//!
//! ```text
//! A² − A₀² = |u|² a + u_x p + u_y q,   a = c², p = 2 A₀ c cos δ, q = −2 A₀ c sin δ,   p² + q² = 4 A₀² a
//! ```
//!
//! A trial place u so enters as the row `(|u|², u_x, u_y)`. The rows span all three dimensions unless the places lie on
//! one circle through the shaft centre, or on one line through it.

use alloc::vec::Vec;

use num_complex::Complex64;

use super::model::{Reading, Rotor, magnitude};

type Vector = [f64; 3];

/// How far the trial places reach: what amplitudes taken there can settle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Places {
    /// All in one place: one condition for the two components of the answer.
    One,
    /// All on one circle or line through the shaft centre. The unit vector is normal to all rows.
    Circle { normal: Vector },
    /// Any other: the answer is settled.
    Spread,
}

/// Part of the largest row below which a direction counts as not there: 1e-8 of the largest trial, or 6e-7 degrees.
const NO_REACH: f64 = 1e-8;

impl Places {
    pub(super) fn of(trials: &[Reading]) -> Places {
        let longest = farthest(trials, norm);
        let reach = norm(longest) * NO_REACH;
        let first = unit(longest);
        let second = farthest(trials, |row| norm(cross(first, row)));
        let across = cross(first, second);
        if norm(across) <= reach {
            return Places::One;
        }
        let normal = unit(across);
        let third = farthest(trials, |row| dot(normal, row).abs());
        if dot(normal, third).abs() > reach { Places::Spread } else { Places::Circle { normal } }
    }
}

/// True where the circle of a normal vector has opened into a line through the shaft centre.
pub(super) fn is_line([na, _, _]: Vector) -> bool {
    na.abs() <= NO_REACH
}

/// The other rotor with the same amplitude at every place of the circle.
///
/// (a, p, q) + t n leaves every amplitude as it is; the side condition is a quadratic in t with one root at 0.
pub(super) fn partner(normal: Vector, rotor: Rotor) -> Rotor {
    let [na, np, nq] = normal;
    let Complex64 { re: x, im: y } = rotor.influence;
    // t = −(2 (p n_p + q n_q) − 4 A₀² n_a)/(n_p² + n_q²), with p = 2 A₀ x, q = −2 A₀ y, and t = 2 A₀ τ
    let tau = (2.0 * rotor.initial * na - 2.0 * (x * np - y * nq)) / (np * np + nq * nq);
    Rotor { initial: rotor.initial, influence: Complex64::new(x + tau * np, y - tau * nq) }
}

/// The rotors that show two trial amplitudes, given A₀: two, or one where both coincide or come nearest to each other.
///
/// |A₀ + H u| = A is a circle in the plane of H, about −A₀/u with radius A/|u|; the rotors are where two circles meet. (In
/// (a, p, q) the same is a quadratic, but one that loses half the digits where A₀ and c are of different size.) One of them
/// may have no effect at all (H = 0).
pub(super) fn two_trial_rotors(initial: f64, trials: [Reading; 2]) -> Vec<Rotor> {
    let [(centre, radius), (other_centre, other_radius)] = trials.map(|t| {
        let inverse = t.mounted.inv();
        (-inverse * initial, t.amplitude * magnitude(inverse))
    });
    let between = other_centre - centre;
    let distance = magnitude(between);
    let along = between.unscale(distance);
    // x = (R₁² − R₂² + d²)/(2 d) from the first centre along the line of centres, y² = R₁² − x² across it
    let x = 0.5 * ((radius - other_radius) * (radius + other_radius) / distance + distance);
    let square = (radius - x) * (radius + x);
    let at = |y: f64| Rotor { initial, influence: centre + along * Complex64::new(x, y) };
    if square > 0.0 {
        let y = libm::sqrt(square);
        alloc::vec![at(y), at(-y)]
    } else {
        alloc::vec![at(0.0)]
    }
}

/// (a, p, q) of the linear system, by least squares of the squared amplitudes where there are more than three trials.
///
/// `None` where the rows do not determine them.
pub(super) fn linear_solution(initial: f64, trials: &[Reading]) -> Option<Vector> {
    let column = |pick: fn(Vector) -> f64| trials.iter().map(|t| pick(row(*t))).collect::<Vec<f64>>();
    let mut by_a = column(|[a, _, _]| a);
    let mut by_p = column(|[_, p, _]| p);
    let mut by_q = column(|[_, _, q]| q);
    let mut rest: Vec<f64> = trials.iter().map(|t| change(initial, *t)).collect();
    // Modified Gram-Schmidt with the right-hand side as a last column: as stable as Householder's factors
    // (Å. Björck, "Solving linear least squares problems by Gram-Schmidt orthogonalization", BIT 7, 1967; from memory).
    let raa = normalise(&mut by_a);
    let rap = remove(&mut by_p, &by_a);
    let raq = remove(&mut by_q, &by_a);
    let za = remove(&mut rest, &by_a);
    let rpp = normalise(&mut by_p);
    let rpq = remove(&mut by_q, &by_p);
    let zp = remove(&mut rest, &by_p);
    let rqq = normalise(&mut by_q);
    let zq = remove(&mut rest, &by_q);
    let q = zq / rqq;
    let p = (zp - rpq * q) / rpp;
    let a = (za - rap * p - raq * q) / raa;
    (a.is_finite() && p.is_finite() && q.is_finite()).then_some([a, p, q])
}

/// Scales a column to length 1 and gives the length it had.
fn normalise(column: &mut [f64]) -> f64 {
    let mut sum = 0.0;
    for x in column.iter() {
        sum += x * x;
    }
    let length = libm::sqrt(sum);
    for x in column.iter_mut() {
        *x /= length;
    }
    length
}

/// Takes the part along a unit column out of another and gives its length.
fn remove(column: &mut [f64], unit: &[f64]) -> f64 {
    let mut length = 0.0;
    for (x, e) in column.iter().zip(unit) {
        length += x * e;
    }
    for (x, e) in column.iter_mut().zip(unit) {
        *x -= length * e;
    }
    length
}

/// The row `(|u|², u_x, u_y)` of a trial place.
fn row(trial: Reading) -> Vector {
    let Complex64 { re, im } = trial.mounted;
    [re * re + im * im, re, im]
}

/// A² − A₀², without cancellation of squares.
fn change(initial: f64, trial: Reading) -> f64 {
    (trial.amplitude - initial) * (trial.amplitude + initial)
}

/// The row for which a measure is largest, the first of equals; zero without trials.
fn farthest(trials: &[Reading], measure: impl Fn(Vector) -> f64) -> Vector {
    let mut best = ([0.0; 3], -1.0);
    for trial in trials {
        let candidate = row(*trial);
        let size = measure(candidate);
        if size > best.1 {
            best = (candidate, size);
        }
    }
    best.0
}

fn dot([a0, a1, a2]: Vector, [b0, b1, b2]: Vector) -> f64 {
    a0 * b0 + a1 * b1 + a2 * b2
}

fn cross([a0, a1, a2]: Vector, [b0, b1, b2]: Vector) -> Vector {
    [a1 * b2 - a2 * b1, a2 * b0 - a0 * b2, a0 * b1 - a1 * b0]
}

fn norm([a, b, c]: Vector) -> f64 {
    libm::hypot(libm::hypot(a, b), c)
}

fn unit(v: Vector) -> Vector {
    let length = norm(v);
    let [a, b, c] = v;
    [a / length, b / length, c / length]
}

/// The direction of the line of a normal vector with `n_a` = 0, as a unit vector.
pub(super) fn line([_, np, nq]: Vector) -> Complex64 {
    let across = Complex64::new(np, nq);
    Complex64::new(-nq, np).unscale(magnitude(across))
}
