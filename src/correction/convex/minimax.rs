//! The min-max correction: the smallest worst measuring point.

use super::optimum::{Objective, Optimum, optimum};
use super::reduced::Problem;

/// Minimises maxₖ √gₖ |vₖ + Σₚ Hₖₚ wₚ| subject to |wₚ| ≤ Lₚ.
///
/// Some measuring points are left with the same, greatest vibration: the `active` ones. When they are
/// too few to pin every plane down, other corrections are as good, and the answer is `flat`; it is still
/// always the same one.
pub(crate) fn minimax(problem: Problem<'_>) -> Optimum {
    optimum(problem, Objective::Greatest)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::disallowed_methods, reason = "the answers are compared with tolerances")]

    use super::super::optimum::trial::{self, Case, Dice, KINDS, awkward, check_reference, reference};
    use super::*;
    use alloc::vec;
    use alloc::vec::Vec;
    use num_complex::Complex64;

    const OBJECTIVE: Objective = Objective::Greatest;

    fn c(re: f64, im: f64) -> Complex64 {
        Complex64::new(re, im)
    }

    /// One plane of unit effect everywhere: w moves all points of `vibration` alike.
    fn circle(vibration: Vec<Complex64>) -> Case {
        let points = vibration.len();
        Case {
            influence: vec![c(1.0, 0.0); points],
            vibration,
            channel_weights: vec![1.0; points],
            limits: vec![None],
        }
    }

    #[test]
    fn reference_vectors() {
        for group in ["minmax", "minmax_weighted", "minmax_limited"] {
            for (id, case, file) in reference(group) {
                let answer = check_reference(&case, OBJECTIVE, &file);
                assert!(!answer.flat, "{id}");
                let optimality = &file["expected"]["optimality"];
                let rows = optimality["active_rows"].as_array().unwrap();
                let multipliers = optimality["multipliers"].as_array().unwrap();
                assert_eq!(answer.active.len(), rows.len(), "{id}: {:?}", answer.active);
                for (&(row, multiplier), (want_row, want)) in
                    answer.active.iter().zip(rows.iter().zip(multipliers))
                {
                    assert_eq!(row as u64, want_row.as_u64().unwrap(), "{id}");
                    assert!((multiplier - want.as_f64().unwrap()).abs() < 1e-11, "{id} row {row}");
                }
                for want in optimality["dual_y"].as_array().unwrap() {
                    let got = answer.dual[want["row"].as_u64().unwrap() as usize];
                    assert!((got - trial::complex(want)).norm() < 1e-10 * got.norm(), "{id}");
                }
                // The vectors' cap multipliers λ belong to λ w and to a column scaled to max |H| = 1:
                // λ = κ value / (L max |H|²).
                for (&(p, gain), want) in
                    answer.capped.iter().zip(optimality["cap_multipliers"].as_array().unwrap())
                {
                    let column = case.influence.iter().skip(p).step_by(case.limits.len());
                    let largest = column.map(|h| h.norm_sqr()).fold(0.0, f64::max);
                    let got = gain * answer.value / (case.limits[p].unwrap() * largest);
                    assert!((got / want.as_f64().unwrap() - 1.0).abs() < 1e-10, "{id}: {got}");
                }
            }
        }
    }

    #[test]
    fn smallest_enclosing_circle() {
        // Elementary geometry, from memory: the circle through three points of an acute triangle, or on two as
        // diameter when the third lies inside; minus its centre is the correction.
        let centre = c(0.3, -0.2);
        let on = |degrees: f64| centre + Complex64::from_polar(2.0, degrees.to_radians());
        let three = vec![on(10.0), on(130.0), on(250.0), centre + c(0.4, 0.1)];
        let answer = minimax(circle(three).problem());
        assert!((answer.value - 2.0).abs() < 1e-14);
        assert!((answer.corrections[0] + centre).norm() < 1e-14);
        assert_eq!(answer.active.len(), 3);

        let two = vec![on(40.0), on(220.0), centre + c(-0.5, 1.0)];
        let answer = minimax(circle(two).problem());
        assert!((answer.value - 2.0).abs() < 1e-14);
        assert!((answer.corrections[0] + centre).norm() < 1e-14);
        let active: Vec<usize> = answer.active.iter().map(|&(k, _)| k).collect();
        assert_eq!(active, [0, 1]);
        assert!(!answer.flat);
    }

    #[test]
    fn random_problems_of_all_shapes_are_proven_optimal() {
        let mut dice = Dice(2024);
        let mut worst = 0.0_f64;
        for trial in 0..3000 {
            let planes = 1 + trial % 8;
            let points = match trial % 50 {
                0 => 100,
                _ => planes + 1 + dice.below(24),
            };
            let mut case = Case::random(&mut dice, points, planes, trial % 3 == 0);
            if trial % 4 == 0 {
                case.channel_weights.iter_mut().for_each(|g| *g = dice.decades(1.5));
            }
            let answer = minimax(case.problem());
            worst = worst.max(case.check(OBJECTIVE, &answer));
            if trial % 10 == 0 {
                case.check_by_wandering(OBJECTIVE, &answer, &mut dice);
            }
            if answer.bound > 0.0 {
                let sum: f64 = answer.active.iter().map(|&(_, multiplier)| multiplier).sum();
                assert!((sum - 1.0).abs() < 1e-9, "multipliers add up to {sum}");
            }
        }
        assert!(worst < 1e-12, "worst gap {worst}");
    }

    #[test]
    fn awkward_problems_are_proven_optimal() {
        let mut dice = Dice(4242);
        for (kind, name) in KINDS.iter().enumerate() {
            let mut worst = 0.0_f64;
            for trial in 0..200 {
                let case = awkward(kind, &mut dice, trial % 2 == 1);
                let answer = minimax(case.problem());
                worst = worst.max(case.check(OBJECTIVE, &answer));
                if trial % 10 == 0 {
                    case.check_by_wandering(OBJECTIVE, &answer, &mut dice);
                }
            }
            assert!(worst < 2e-9, "{name}: worst gap {worst}");
        }
    }

    #[test]
    fn limits_that_hold_planes_hard_to_tell_apart_keep_their_digits() {
        let mut dice = Dice(8);
        let (mut worst, mut coarse) = (0.0_f64, 0);
        for _ in 0..1500 {
            let mut case = awkward(8, &mut dice, true);
            case.limits.iter_mut().for_each(|limit| *limit = limit.or(Some(0.3)));
            let answer = minimax(case.problem());
            let gap = case.check(OBJECTIVE, &answer);
            worst = worst.max(gap);
            coarse += usize::from(gap > 1e-12);
        }
        assert!(worst < 5e-9 && coarse < 30, "worst gap {worst}, {coarse} above 1e-12");
    }

    #[test]
    fn an_answer_that_is_not_flat_is_pinned_down() {
        let mut dice = Dice(77);
        let mut pinned = 0;
        for trial in 0..400 {
            let case = awkward([0, 5, 7, 15][trial % 4], &mut dice, trial % 8 > 3);
            let answer = minimax(case.problem());
            if answer.flat || answer.bound == 0.0 {
                continue;
            }
            pinned += 1;
            let column = |p: usize| case.influence.iter().skip(p).step_by(case.limits.len());
            let effect = |p: usize| column(p).map(|h| h.norm()).fold(0.0, f64::max);
            let effects: Vec<f64> = (0..case.limits.len()).map(effect).collect();
            let parts = answer.corrections.iter().zip(&effects).map(|(w, e)| w.norm() * e);
            let largest = parts.fold(answer.value, f64::max);
            for _ in 0..50 {
                // Ten times the move that must be felt, all planes together, in a random direction.
                let moved: Vec<_> = (answer.corrections.iter().zip(&effects).zip(&case.limits))
                    .map(|((w, effect), limit)| {
                        let w = w + dice.complex() * (1e-2 * largest / effect.max(1e-300));
                        match limit {
                            Some(limit) if w.norm() > *limit => w * (limit / w.norm().max(1e-300)),
                            _ => w,
                        }
                    })
                    .collect();
                let far = (answer.corrections.iter().zip(&moved).zip(&effects))
                    .any(|((a, b), effect)| (a - b).norm() * effect > 4e-3 * largest);
                if far {
                    let value = case.value(OBJECTIVE, &moved);
                    assert!(value > answer.value * (1.0 + 1e-8), "{case:?}");
                }
            }
        }
        assert!(pinned > 150, "{pinned}");
    }

    #[test]
    fn flat_optima_are_flagged() {
        // One point far worse than the rest, two planes: all that leaves it alone is as good.
        let mut case = circle(vec![c(9.0, 0.0), c(0.1, 0.0), c(0.0, 0.1)]);
        case.limits = vec![None, None];
        case.influence = vec![c(1e-3, 0.0), c(0.0, 0.0), c(1.0, 0.0), c(2.0, 1.0), c(0.5, 0.0), c(1.0, -1.0)];
        case.limits[0] = Some(0.5);
        let answer = minimax(case.problem());
        case.check(OBJECTIVE, &answer);
        assert!(answer.flat);
        assert_eq!(answer.active.len(), 1);
        assert_eq!(answer.capped.len(), 1);

        // A point that no plane reaches, above all others.
        let mut case = circle(vec![c(0.3, 0.1), c(0.0, 5.0), c(-0.2, 0.0)]);
        case.influence[1] = c(0.0, 0.0);
        let answer = minimax(case.problem());
        assert_eq!(answer.value, 5.0);
        assert_eq!(answer.bound, 5.0);
        assert_eq!(answer.active, [(1, 1.0)]);
        assert!(answer.flat);

        // Proportional planes; a plane without effect.
        let mut dice = Dice(5);
        for kind in [1, 13] {
            for trial in 0..40 {
                let mut case = awkward(kind, &mut dice, trial % 2 == 1);
                case.limits.iter_mut().flatten().for_each(|limit| *limit *= 100.0);
                if case.limits.len() > 1 {
                    assert!(minimax(case.problem()).flat);
                }
            }
        }
    }

    #[test]
    fn exactly_solvable_is_zero_with_nothing_to_prove() {
        let case = circle(vec![c(0.6, -0.8)]);
        let answer = minimax(case.problem());
        assert_eq!((answer.value, answer.bound), (0.0, 0.0));
        assert_eq!(answer.corrections, [c(-0.6, 0.8)]);
        assert_eq!(answer.dual, [c(0.0, 0.0)]);
        assert!(answer.active.is_empty() && answer.capped.is_empty() && !answer.flat);

        // Two planes for one point: the same, but any mixture of the planes would do.
        let mut case = circle(vec![c(0.6, -0.8)]);
        case.influence.push(c(0.5, 0.5));
        case.limits.push(None);
        let answer = minimax(case.problem());
        assert!(answer.value < 1e-15 && answer.bound == 0.0 && answer.flat);

        // The limit decides: 1 − 0.25 stays.
        let mut case = circle(vec![c(0.6, -0.8)]);
        case.limits = vec![Some(0.25)];
        let answer = minimax(case.problem());
        assert!((answer.value - 0.75).abs() < 1e-15);
        assert_eq!(answer.capped.len(), 1);
        assert!((answer.capped[0].1 - 1.0).abs() < 1e-14, "one unit more would gain 1");

        let mut case = circle(vec![c(0.0, 0.0), c(0.0, 0.0)]);
        case.limits = vec![Some(1.0)];
        let answer = minimax(case.problem());
        assert_eq!((answer.value, answer.corrections[0]), (0.0, c(0.0, 0.0)));
    }

    #[test]
    fn degenerate_shapes() {
        let nothing = Case::default();
        let answer = minimax(nothing.problem());
        assert_eq!((answer.value, answer.bound, answer.flat), (0.0, 0.0, false));

        let mut no_plane = circle(vec![c(3.0, 4.0), c(1.0, 0.0)]);
        no_plane.influence.clear();
        no_plane.limits.clear();
        let answer = minimax(no_plane.problem());
        assert_eq!((answer.value, answer.bound), (5.0, 5.0));
        assert_eq!(answer.active, [(0, 1.0)]);

        let mut held = circle(vec![c(3.0, 4.0), c(1.0, 0.0)]);
        held.limits = vec![Some(0.0)];
        let answer = minimax(held.problem());
        assert_eq!((answer.value, answer.bound), (5.0, 5.0));
        assert_eq!(answer.corrections, [c(0.0, 0.0)]);
        assert_eq!(answer.capped, [(0, 1.0)]);

        let mut unweighted = circle(vec![c(3.0, 4.0), c(1.0, 0.0)]);
        unweighted.channel_weights = vec![0.0, 0.0];
        assert_eq!(minimax(unweighted.problem()).value, 0.0);

        // The second of two planes has no room, the first one the smallest there is.
        let mut tiny = circle(vec![c(1.0, 0.0), c(0.0, 1.0)]);
        tiny.limits = vec![Some(f64::MIN_POSITIVE)];
        let answer = minimax(tiny.problem());
        assert_eq!((answer.value, answer.bound), (1.0, 1.0));
    }

    #[test]
    fn units_of_any_size() {
        let mut dice = Dice(31);
        for trial in 0..60 {
            let case = Case::random(&mut dice, 9, 2, trial % 2 == 1);
            let plain = minimax(case.problem());
            // Powers of two change no digit.
            let (v, h, g) = ([0, 400, -400][trial % 3], [0, -300, 500][trial % 2], 2 * (trial as i32 - 30));
            let mut other = case.clone();
            let scaled = |z: &mut Complex64, by: i32| *z = c(libm::scalbn(z.re, by), libm::scalbn(z.im, by));
            other.vibration.iter_mut().for_each(|z| scaled(z, v));
            other.influence.iter_mut().for_each(|z| scaled(z, h));
            other.channel_weights.iter_mut().for_each(|x| *x = libm::scalbn(*x, g));
            other.limits.iter_mut().flatten().for_each(|x| *x = libm::scalbn(*x, v - h));
            let answer = minimax(other.problem());
            assert_eq!(answer.value, libm::scalbn(plain.value, v + g / 2));
            assert_eq!(answer.bound, libm::scalbn(plain.bound, v + g / 2));
            for (mut got, want) in answer.corrections.into_iter().zip(plain.corrections) {
                scaled(&mut got, h - v);
                assert_eq!(got, want);
            }
        }
    }

    #[test]
    fn whatever_comes_in_something_comes_out() {
        let strange = [f64::NAN, f64::INFINITY, -f64::INFINITY, 1e308, 5e-324, -1.0, 0.0, 1e-200];
        let mut dice = Dice(13);
        for trial in 0..2000 {
            let mut case = Case::random(&mut dice, 1 + trial % 7, trial % 4, trial % 2 == 0);
            for _ in 0..1 + trial % 3 {
                let x = strange[dice.below(strange.len())];
                let k = dice.below(case.vibration.len());
                match dice.below(4) {
                    0 => case.vibration[k].re = x,
                    1 => case.channel_weights[k] = x,
                    2 if !case.influence.is_empty() => {
                        let place = dice.below(case.influence.len());
                        case.influence[place].im = x;
                    }
                    _ if !case.limits.is_empty() => {
                        let place = dice.below(case.limits.len());
                        case.limits[place] = Some(x);
                    }
                    _ => {}
                }
            }
            let answer = minimax(case.problem());
            assert_eq!(answer.corrections.len(), case.limits.len());
            assert_eq!(answer.dual.len(), case.vibration.len());
            // Lengths that do not fit.
            case.influence.truncate(case.influence.len() / 2);
            case.channel_weights.push(1.0);
            minimax(case.problem());
        }
    }
}
