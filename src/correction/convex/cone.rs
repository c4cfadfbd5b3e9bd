//! One second-order cone, Q = {(s₀, s): |s| ≤ s₀}, on the way of an interior-point method: its primal
//! and its dual vector, the scaling between them, and how far a step may go.
//!
//! Method: Yu. E. Nesterov, M. J. Todd, Self-scaled barriers and interior-point methods for convex
//! programming, Mathematics of Operations Research 22, 1997; S. Mehrotra, On the implementation of a
//! primal-dual interior point method, SIAM Journal on Optimization 2, 1992.

use super::reduced::inner;
use num_complex::Complex64;

/// The heads of the vectors of a cone, and what belongs to the cone as a whole.
#[derive(Clone, Copy, Default)]
pub(crate) struct Head {
    pub(crate) s: f64,
    pub(crate) y: f64,
    pub(crate) ds: f64,
    pub(crate) dy: f64,
    pub(crate) w: f64,
    pub(crate) turn: f64,
    /// 1/β²
    pub(crate) stretch: f64,
    /// s·y, and det s = s₀² − |s|².
    pub(crate) product: f64,
    det_s: f64,
    det_y: f64,
}

/// One element of the tails.
#[derive(Clone, Copy, Default)]
pub(crate) struct Tail {
    /// The primal and the dual vector, and their steps.
    pub(crate) s: Complex64,
    pub(crate) y: Complex64,
    pub(crate) ds: Complex64,
    pub(crate) dy: Complex64,
    /// The scaling point w̄.
    pub(crate) w: Complex64,
    /// What bends the straight step: see [`correct`].
    pub(crate) turn: Complex64,
}

/// Sets the product and the determinants. True when both vectors are inside the cone.
pub(crate) fn measure(head: &mut Head, tails: &[Tail]) -> bool {
    let (mut ss, mut yy, mut sy) = (0.0, 0.0, 0.0);
    for tail in tails {
        ss += tail.s.norm_sqr();
        yy += tail.y.norm_sqr();
        sy += inner(tail.s, tail.y);
    }
    head.det_s = head.s * head.s - ss;
    head.det_y = head.y * head.y - yy;
    head.product = head.s * head.y + sy;
    head.det_s > 0.0 && head.det_y > 0.0
}

/// The scaling W of what was measured, in which both vectors become the same, W⁻¹ s = W y:
///
/// ```text
/// s̄ = s/√det s,  ȳ = y/√det y,  γ = √((1 + s̄·ȳ)/2),  w̄ = (s̄ + J ȳ)/(2γ),  β⁴ = det s/det y
/// W⁻² = (2 (J w̄)(J w̄)ᵀ − J)/β²,  J = diag(1, −1, …)
/// ```
pub(crate) fn scale(head: &mut Head, tails: &mut [Tail]) {
    let (size_s, size_y) = (libm::sqrt(head.det_s), libm::sqrt(head.det_y));
    let cosine = head.product / (size_s * size_y);
    let half = 0.5 / libm::sqrt(0.5 * (1.0 + cosine));
    let (of_s, of_y) = (half / size_s, half / size_y);
    head.stretch = size_y / size_s;
    head.w = of_s * head.s + of_y * head.y;
    for tail in tails {
        tail.w = tail.s * of_s - tail.y * of_y;
    }
}

/// dy = turn − y − W⁻² ds
pub(crate) fn dual_step(head: &mut Head, tails: &mut [Tail]) {
    let mut along = head.w * head.ds;
    for tail in tails.iter() {
        along -= inner(tail.w, tail.ds);
    }
    let twice = 2.0 * along;
    head.dy = head.turn - head.y - head.stretch * (twice * head.w - head.ds);
    for tail in tails {
        tail.dy = tail.turn - tail.y + (tail.w * twice - tail.ds) * head.stretch;
    }
}

/// What the corrector adds to the predictor, from the predictor's steps: the pull to products of
/// `centre`, less the second order that the predictor leaves out.
///
/// ```text
/// turn = centre s⁻¹ − W⁻¹ (λ \ ((W⁻¹ ds) ∘ (W dy))),   s⁻¹ = J s/det s,  λ = W y
/// a ∘ b = (a·b, a₀ b + b₀ a), which λ \ undoes for a = λ
/// W = β (2 v vᵀ − J),  v = (w̄ + e)/√(2 (w̄₀ + 1))
/// ```
pub(crate) fn correct(head: &mut Head, tails: &mut [Tail], centre: f64) {
    let shrink = libm::sqrt(head.stretch);
    let beta = 1.0 / shrink;
    let v0 = libm::sqrt(0.5 * (head.w + 1.0));
    let tilt = 0.5 / v0;
    let (mut wy, mut ws, mut wd) = (0.0, 0.0, 0.0);
    for tail in tails.iter() {
        wy += inner(tail.w, tail.y);
        wd += inner(tail.w, tail.dy);
        ws += inner(tail.w, tail.ds);
    }
    let along_y = 2.0 * (v0 * head.y + tilt * wy);
    let along_dy = 2.0 * (v0 * head.dy + tilt * wd);
    let along_ds = 2.0 * (v0 * head.ds - tilt * ws);
    let lambda0 = beta * (along_y * v0 - head.y);
    let a0 = shrink * (along_ds * v0 - head.ds);
    let b0 = beta * (along_dy * v0 - head.dy);
    // d = a ∘ b with the tails a = (ds − along v)/β, b = β (along v + dy), λ = β (along v + y)
    let (mut d0, mut lambda_d, mut lambda_lambda) = (a0 * b0, 0.0, 0.0);
    for tail in tails.iter_mut() {
        let v = tail.w * tilt;
        let lambda = (v * along_y + tail.y) * beta;
        let a = (tail.ds - v * along_ds) * shrink;
        let b = (v * along_dy + tail.dy) * beta;
        let d = b * a0 + a * b0;
        d0 += inner(a, b);
        lambda_d += inner(lambda, d);
        lambda_lambda += lambda.norm_sqr();
        tail.turn = d;
        tail.dy = lambda;
    }
    // λ \ d = x:  x₀ = (λ₀ d₀ − λ·d)/det λ,  x = (d − x₀ λ)/λ₀
    let x0 = (lambda0 * d0 - lambda_d) / (lambda0 * lambda0 - lambda_lambda);
    let inverse = 1.0 / lambda0;
    let mut along = 0.0;
    for tail in tails.iter_mut() {
        tail.turn = (tail.turn - tail.dy * x0) * inverse;
        along += inner(tail.w, tail.turn);
    }
    let along = 2.0 * (v0 * x0 - tilt * along);
    let pull = centre / head.det_s;
    head.turn = pull * head.s - shrink * (along * v0 - x0);
    for tail in tails {
        tail.turn = (tail.w * (tilt * along) - tail.turn) * shrink - tail.s * pull;
    }
}

/// The largest step, at most `most`, that keeps s and y inside.
pub(crate) fn room(head: &Head, tails: &[Tail], most: f64) -> f64 {
    let (mut s_ds, mut ds_ds, mut y_dy, mut dy_dy) = (0.0, 0.0, 0.0, 0.0);
    for tail in tails {
        s_ds += inner(tail.s, tail.ds);
        ds_ds += tail.ds.norm_sqr();
        y_dy += inner(tail.y, tail.dy);
        dy_dy += tail.dy.norm_sqr();
    }
    let most = edge(
        head.s + most * head.ds > 0.0,
        [head.det_s, head.s * head.ds - s_ds, head.ds * head.ds - ds_ds],
        most,
    );
    edge(
        head.y + most * head.dy > 0.0,
        [head.det_y, head.y * head.dy - y_dy, head.dy * head.dy - dy_dy],
        most,
    )
}

/// The largest α ≤ `most` with c + 2 b α + a α² ≥ 0, c > 0: the determinant along the step. `up` tells
/// whether the head stays positive.
fn edge(up: bool, [c, b, a]: [f64; 3], most: f64) -> f64 {
    if up && c + most * (2.0 * b + a * most) > 0.0 {
        return most;
    }
    // The smaller positive root, in the form that does not cancel.
    let root = libm::sqrt((b * b - a * c).max(0.0));
    let edge = if b < 0.0 { c / (root - b) } else { (-b - root) / a };
    if edge > 0.0 { edge.min(most) } else { 0.0 }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::disallowed_methods, reason = "the answers are compared with tolerances")]

    use super::super::optimum::trial::Dice;
    use super::*;

    /// A vector of the cone as three reals.
    type Vector = [f64; 3];

    fn vector(head: f64, tail: Complex64) -> Vector {
        [head, tail.re, tail.im]
    }

    /// W = β (2 v vᵀ − J) and its inverse, as it stands in the literature, element by element.
    fn scaling(head: &Head, tail: &Tail) -> [[Vector; 3]; 2] {
        let beta = 1.0 / head.stretch.sqrt();
        let w = vector(head.w, tail.w);
        let v = [w[0] + 1.0, w[1], w[2]].map(|x| x / (2.0 * (w[0] + 1.0)).sqrt());
        let j = [1.0, -1.0, -1.0];
        let mut both = [[[0.0; 3]; 3]; 2];
        for row in 0..3 {
            for column in 0..3 {
                let unit = if row == column { j[row] } else { 0.0 };
                let product = 2.0 * v[row] * v[column];
                both[0][row][column] = beta * (product - unit);
                both[1][row][column] = (j[row] * j[column] * product - unit) / beta;
            }
        }
        both
    }

    fn apply(matrix: &[Vector; 3], x: Vector) -> Vector {
        [0, 1, 2].map(|row| (0..3).map(|column| matrix[row][column] * x[column]).sum())
    }

    fn circle(a: Vector, b: Vector) -> Vector {
        let dot = a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
        [dot, a[0] * b[1] + b[0] * a[1], a[0] * b[2] + b[0] * a[2]]
    }

    fn near(a: Vector, b: Vector) {
        let size = a.iter().chain(&b).fold(1.0, |most: f64, x| most.max(x.abs()));
        for (a, b) in a.iter().zip(&b) {
            assert!((a - b).abs() < 1e-12 * size, "{a} {b}");
        }
    }

    fn inside(dice: &mut Dice) -> (f64, Complex64) {
        let tail = dice.complex();
        (tail.norm() + 0.05 + dice.signed().abs(), tail)
    }

    fn measured(dice: &mut Dice) -> (Head, [Tail; 1]) {
        let (mut head, mut tail) = (Head::default(), Tail::default());
        (head.s, tail.s) = inside(dice);
        (head.y, tail.y) = inside(dice);
        assert!(measure(&mut head, &[tail]));
        (head, [tail])
    }

    #[test]
    fn the_scaling_takes_s_to_y() {
        let mut dice = Dice(1);
        for _ in 0..100 {
            let (mut head, mut tails) = measured(&mut dice);
            scale(&mut head, &mut tails);
            let [w, inverse] = scaling(&head, &tails[0]);
            let lambda = apply(&w, vector(head.y, tails[0].y));
            near(lambda, apply(&inverse, vector(head.s, tails[0].s)));
            // dy = −y − W⁻² ds vanishes for ds = −s.
            head.ds = -head.s;
            tails[0].ds = -tails[0].s;
            dual_step(&mut head, &mut tails);
            near(vector(head.dy, tails[0].dy), [0.0; 3]);
        }
    }

    #[test]
    fn predictor_and_corrector_meet_their_equations() {
        let mut dice = Dice(2);
        for _ in 0..100 {
            let (mut head, mut tails) = measured(&mut dice);
            scale(&mut head, &mut tails);
            let [w, inverse] = scaling(&head, &tails[0]);
            let lambda = apply(&w, vector(head.y, tails[0].y));
            let square = circle(lambda, lambda);

            // λ ∘ (W⁻¹ ds + W dy) = −λ ∘ λ
            head.ds = dice.signed();
            tails[0].ds = dice.complex();
            dual_step(&mut head, &mut tails);
            let ds = apply(&inverse, vector(head.ds, tails[0].ds));
            let dy = apply(&w, vector(head.dy, tails[0].dy));
            let both = [0, 1, 2].map(|i| ds[i] + dy[i]);
            near(circle(lambda, both), square.map(|x| -x));

            // λ ∘ (W⁻¹ ds + W dy) = centre e − λ ∘ λ − (W⁻¹ ds) ∘ (W dy), the last of the predictor
            let centre = dice.signed().abs();
            let second = circle(ds, dy);
            correct(&mut head, &mut tails, centre);
            head.ds = dice.signed();
            tails[0].ds = dice.complex();
            dual_step(&mut head, &mut tails);
            let ds = apply(&inverse, vector(head.ds, tails[0].ds));
            let dy = apply(&w, vector(head.dy, tails[0].dy));
            let both = [0, 1, 2].map(|i| ds[i] + dy[i]);
            let mut want = [0, 1, 2].map(|i| -square[i] - second[i]);
            want[0] += centre;
            near(circle(lambda, both), want);
        }
    }

    #[test]
    fn room_ends_at_the_edge() {
        let mut dice = Dice(3);
        let (mut whole, mut cut) = (0, 0);
        for _ in 0..500 {
            let (mut head, mut tails) = measured(&mut dice);
            head.ds = dice.signed() * 2.0;
            tails[0].ds = dice.complex() * 2.0;
            head.dy = dice.signed() * 2.0;
            tails[0].dy = dice.complex() * 2.0;
            let room = room(&head, &tails, 1.0);
            let slack = |step: f64| {
                let s = head.s + step * head.ds - (tails[0].s + tails[0].ds * step).norm();
                let y = head.y + step * head.dy - (tails[0].y + tails[0].dy * step).norm();
                s.min(y)
            };
            if room == 1.0 {
                assert!(slack(1.0) >= 0.0);
                whole += 1;
            } else {
                assert!(slack(room).abs() < 1e-9, "{}", slack(room));
                assert!(slack(0.999 * room) > 0.0);
                cut += 1;
            }
        }
        assert!(whole > 20 && cut > 100, "{whole} {cut}");
    }
}
