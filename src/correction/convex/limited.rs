//! Least squares with a limit on the correction in each plane.

use super::optimum::{Objective, Optimum, optimum};
use super::reduced::Problem;

/// Minimises √(Σ gₖ |vₖ + Σₚ Hₖₚ wₚ|²) subject to |wₚ| ≤ Lₚ.
///
/// Without limits, or when none is reached, this is plain least squares by orthogonal columns.
pub(crate) fn limited_least_squares(problem: Problem<'_>) -> Optimum {
    optimum(problem, Objective::SumOfSquares)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::disallowed_methods, reason = "the answers are compared with tolerances")]

    use super::super::optimum::trial::{Case, Dice, KINDS, awkward, check_reference, reference};
    use super::*;
    use alloc::vec;
    use num_complex::Complex64;

    const OBJECTIVE: Objective = Objective::SumOfSquares;

    #[test]
    fn reference_vectors() {
        for (id, case, file) in reference("ls_limited") {
            let answer = check_reference(&case, OBJECTIVE, &file);
            // y = g r/value
            for ((y, r), g) in
                answer.dual.iter().zip(case.residual(&answer.corrections)).zip(&case.channel_weights)
            {
                assert!((y - r * (g / answer.value)).norm() < 1e-12, "{id}");
            }
        }
    }

    #[test]
    fn without_limits_the_residual_is_orthogonal_to_every_column() {
        let mut dice = Dice(8);
        for trial in 0..200 {
            let planes = 1 + trial % 6;
            let points = planes + 1 + dice.below(20);
            let case = Case::random(&mut dice, points, planes, false);
            let answer = limited_least_squares(case.problem());
            assert!(answer.capped.is_empty() && answer.active.is_empty());
            let r = case.residual(&answer.corrections);
            for p in 0..planes {
                let column = case.influence.iter().skip(p).step_by(planes);
                let sum: Complex64 = column.zip(&r).map(|(h, r)| h.conj() * r).sum();
                assert!(sum.norm() < 1e-13, "{sum}");
            }
            let mut wide = case.clone();
            wide.limits = vec![Some(1e3); planes];
            let limited = limited_least_squares(wide.problem());
            for (a, b) in answer.corrections.iter().zip(&limited.corrections) {
                assert!((a - b).norm() < 1e-11 * (1.0 + a.norm()), "{a} {b}");
            }
        }
    }

    #[test]
    fn one_plane_is_the_plain_answer_shortened() {
        // From memory: the sum of squares of one plane is a circular bowl about w = −(H* G v)/(H* G H).
        let mut dice = Dice(21);
        for _ in 0..200 {
            let points = 1 + dice.below(9);
            let mut case = Case::random(&mut dice, points, 1, false);
            case.channel_weights.iter_mut().for_each(|g| *g = dice.decades(2.0));
            let sums = |a: &[Complex64], b: &[Complex64]| -> Complex64 {
                (0..points).map(|k| a[k].conj() * b[k] * case.channel_weights[k]).sum()
            };
            let free = -sums(&case.influence, &case.vibration) / sums(&case.influence, &case.influence).re;
            let limit = free.norm() * (0.2 + 0.7 * dice.signed().abs());
            case.limits = vec![Some(limit)];
            let answer = limited_least_squares(case.problem());
            let want = free * (limit / free.norm());
            assert!((answer.corrections[0] - want).norm() < 1e-13 * limit);
            assert_eq!(answer.capped.len(), 1);
            // −∂value/∂L = (H* G H) (|w free| − L)/value
            let slope = sums(&case.influence, &case.influence).re * (free.norm() - limit) / answer.value;
            assert!((answer.capped[0].1 / slope - 1.0).abs() < 1e-10);
            case.check(OBJECTIVE, &answer);
        }
    }

    #[test]
    fn random_problems_of_all_shapes_are_proven_optimal() {
        let mut dice = Dice(99);
        let (mut worst, mut capped) = (0.0_f64, 0);
        for trial in 0..3000 {
            let planes = 1 + trial % 8;
            let points = match trial % 50 {
                0 => 100,
                _ => 1 + dice.below(30),
            };
            let mut case = Case::random(&mut dice, points, planes, trial % 5 != 0);
            if trial % 4 == 0 {
                case.channel_weights.iter_mut().for_each(|g| *g = dice.decades(1.5));
            }
            let answer = limited_least_squares(case.problem());
            worst = worst.max(case.check(OBJECTIVE, &answer));
            capped += answer.capped.len();
            if trial % 10 == 0 {
                case.check_by_wandering(OBJECTIVE, &answer, &mut dice);
            }
        }
        assert!(worst < 1e-12, "worst gap {worst}");
        assert!(capped > 1000, "{capped}");
    }

    #[test]
    fn awkward_problems_are_proven_optimal() {
        let mut dice = Dice(1234);
        for (kind, name) in KINDS.iter().enumerate() {
            let mut worst = 0.0_f64;
            for trial in 0..200 {
                let case = awkward(kind, &mut dice, trial % 2 == 1);
                let answer = limited_least_squares(case.problem());
                worst = worst.max(case.check(OBJECTIVE, &answer));
                if trial % 10 == 0 {
                    case.check_by_wandering(OBJECTIVE, &answer, &mut dice);
                }
            }
            assert!(worst < 1e-10, "{name}: worst gap {worst}");
        }
    }

    #[test]
    fn all_limits_zero_leave_the_vibration_as_it_is() {
        let mut dice = Dice(3);
        let mut case = Case::random(&mut dice, 5, 3, false);
        case.limits = vec![Some(0.0); 3];
        let answer = limited_least_squares(case.problem());
        let value = case.value(OBJECTIVE, &[Complex64::new(0.0, 0.0); 3]);
        assert!((answer.value - value).abs() < 1e-15 * value);
        assert_eq!(answer.capped.len(), 3);
        assert!(case.check(OBJECTIVE, &answer) < 1e-14);
    }
}
