//! Rotors made up by a seeded generator: exact and noisy readings, and the symmetries of the problem.

use core::f64::consts::TAU;
use std::vec::Vec;

use super::*;

/// Splitmix64 (Steele, Lea, Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014; from memory).
struct Random(u64);

impl Random {
    fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Uniform in [low, high).
    #[allow(clippy::cast_precision_loss)]
    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * ((self.bits() >> 11) as f64 / 9_007_199_254_740_992.0)
    }

    /// Near enough to normal: twelve uniforms.
    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.between(0.0, 1.0)).sum::<f64>() - 6.0
    }
}

/// The truth behind a set of readings, written in the other form of the model.
struct Plant {
    initial: f64,
    effect: f64,
    delta_deg: f64,
}

impl Plant {
    fn random(random: &mut Random) -> Plant {
        let initial = random.between(0.05, 2.0);
        Plant { initial, effect: initial * random.between(0.1, 2.5), delta_deg: random.between(0.0, 360.0) }
    }

    fn amplitude(&self, amount: f64, angle_deg: f64) -> f64 {
        polar(self.initial, amount * self.effect, self.delta_deg + angle_deg)
    }

    fn correction(&self) -> (f64, f64) {
        (self.initial / self.effect, 180.0 - self.delta_deg)
    }
}

/// √(A₀² + c² + 2 A₀ c cos x), as (A₀ + c cos x)² + (c sin x)².
fn polar(initial: f64, effect: f64, x_deg: f64) -> f64 {
    let x = libm::fmod(x_deg, 360.0).to_radians();
    libm::hypot(initial + effect * libm::cos(x), effect * libm::sin(x))
}

/// Trials at distinct places: `count` angles at least 25° apart, amounts alike or between 0.6 and 1.6.
fn places(random: &mut Random, count: usize, alike: bool) -> Vec<(f64, f64)> {
    let mut angles: Vec<f64> = Vec::new();
    while angles.len() < count {
        let angle = random.between(0.0, 360.0);
        if angles.iter().all(|a| apart(*a, angle) > 25.0) {
            angles.push(angle);
        }
    }
    angles.into_iter().map(|angle| (if alike { 1.0 } else { random.between(0.6, 1.6) }, angle)).collect()
}

fn readings(plant: &Plant, places: &[(f64, f64)], mut noise: impl FnMut() -> f64) -> Vec<Trial> {
    places
        .iter()
        .map(|&(amount, angle)| trial(amount, angle, (plant.amplitude(amount, angle) + noise()).abs()))
        .collect()
}

/// How near the answer is to a circle through the shaft centre and the trial places, which leaves it ill determined: the
/// worst change of the answer per change of a reading, by differences.
fn sensitivity(as_found: f64, trials: &[Trial], truth: (f64, f64)) -> f64 {
    let mut worst: f64 = 1.0;
    for index in 0..trials.len() {
        let mut moved = trials.to_vec();
        moved[index].amplitude *= 1.0 + 1e-9;
        let fit = nearest(solve(&[as_found], &moved).unwrap(), truth.1);
        worst = worst.max((fit.correction_amount / truth.0 - 1.0).abs() / 1e-9);
        worst = worst.max(apart(fit.correction_deg, truth.1).to_radians() / 1e-9);
    }
    worst
}

/// The fit whose correction angle is nearest.
fn nearest(outcome: Outcome, angle: f64) -> Fit {
    let fits = match outcome {
        Outcome::Unique { fit, .. } => std::vec![fit],
        Outcome::Ambiguous { fits, .. } => fits,
        other => panic!("no fit: {other:?}"),
    };
    fits.into_iter()
        .min_by(|a, b| apart(a.correction_deg, angle).total_cmp(&apart(b.correction_deg, angle)))
        .unwrap()
}

#[test]
fn exact_readings_give_the_plant_back() {
    let mut random = Random(1);
    let mut wild = 0;
    for round in 0..1500 {
        let plant = Plant::random(&mut random);
        let count = [2, 3, 4, 6][round % 4];
        let places = places(&mut random, count, round % 8 < 4);
        let trials = readings(&plant, &places, || 0.0);
        let truth = plant.correction();
        let outcome = solve(&[plant.initial], &trials).unwrap();
        if count == 2 {
            let (reason, fits) = ambiguous(outcome.clone());
            assert_eq!(reason, Ambiguity::Circle);
            assert!(fits.len() <= 2);
            assert!(fits.iter().all(|f| f.rms <= 1e-13 * plant.initial));
        } else {
            let Unique { fit, closed, .. } = unique(outcome.clone());
            assert!(fit.rms <= 4e-15 * plant.initial.max(plant.effect), "{round} {}", fit.rms);
            let ratio = closed.inconsistency_ratio.unwrap();
            assert!((ratio - 1.0).abs() < 1e-11, "{round} {ratio}");
            // p = 2 A₀ c cos δ, q = −2 A₀ c sin δ
            let (size, delta) = (2.0 * plant.initial * plant.effect, plant.delta_deg.to_radians());
            assert!((closed.p - size * libm::cos(delta)).abs() < 1e-11 * size, "{round}");
            assert!((closed.q + size * libm::sin(delta)).abs() < 1e-11 * size, "{round}");
        }
        let fit = nearest(outcome, truth.1);
        // A rounding of each reading, carried through.
        let allowed = 2e-15 * sensitivity(plant.initial, &trials, truth) * 8.0;
        wild += usize::from(allowed > 1e-12);
        let amount = (fit.correction_amount / truth.0 - 1.0).abs();
        let degrees = apart(fit.correction_deg, truth.1);
        assert!(amount <= allowed, "{round} {count}: {amount:e} {allowed:e}");
        assert!(degrees <= allowed.to_degrees() + 1e-13, "{round} {count}: {degrees:e} {allowed:e}");
        assert!(count == 2 || (amount <= 1e-10 && degrees <= 1e-8), "{round} {amount:e} {degrees:e}");
    }
    // Few places lie so that the answer hangs on the last digits.
    assert!(wild < 100, "{wild}");
}

/// Two trials: the second answer is the inverse of the first in the circle through both places and the shaft centre, and
/// both show the same three amplitudes.
#[test]
fn two_trials_have_inverse_answers() {
    let mut random = Random(2);
    let mut pairs = 0;
    for round in 0..1000 {
        let plant = Plant::random(&mut random);
        let places = places(&mut random, 2, round % 2 == 0);
        let (_, fits) = ambiguous(solve(&[plant.initial], &readings(&plant, &places, || 0.0)).unwrap());
        let [one, other] = fits.as_slice() else {
            continue;
        };
        pairs += 1;
        let at = |amount: f64, deg: f64| unit_vector(deg) * amount;
        let (u, v) = (at(places[0].0, places[0].1), at(places[1].0, places[1].1));
        // Centre z of the circle: Re(z* u) = |u|²/2, Re(z* v) = |v|²/2.
        let det = u.re * v.im - u.im * v.re;
        let (uu, vv) = (0.5 * places[0].0 * places[0].0, 0.5 * places[1].0 * places[1].0);
        let centre = Complex64::new((uu * v.im - vv * u.im) / det, (vv * u.re - uu * v.re) / det);
        // (w − z)(w′ − z)* = |z|²
        let w = at(one.correction_amount, one.correction_deg) - centre;
        let inverse = at(other.correction_amount, other.correction_deg) - centre;
        let product = w * inverse.conj() / (centre * centre.conj()).re;
        assert!((product.re - 1.0).abs() < 1e-6 && product.im.abs() < 1e-6, "{round} {product}");
    }
    assert!(pairs > 950, "{pairs}");
}

/// Residuals and their derivatives by (A₀, c, δ) in the cosine form, and a textbook Levenberg-Marquardt on them: nothing of
/// the kernel's.
fn polar_descent(as_found: f64, trials: &[Trial], mut at: [f64; 3]) -> Option<(f64, [f64; 3])> {
    let residuals = |[a0, c, d]: [f64; 3]| {
        let mut rows = std::vec![(as_found - a0, [1.0, 0.0, 0.0])];
        for t in trials {
            let x = t.angle_deg.to_radians() + d;
            let (e, cos, sin) = (t.amount * c, libm::cos(x), libm::sin(x));
            let f = libm::sqrt((a0 * a0 + e * e + 2.0 * a0 * e * cos).max(1e-300));
            let by = [(a0 + e * cos) / f, t.amount * (e + a0 * cos) / f, -a0 * e * sin / f];
            rows.push((t.amplitude - f, by));
        }
        rows
    };
    let sum = |rows: &[(f64, [f64; 3])]| rows.iter().map(|r| r.0 * r.0).sum::<f64>();
    let mut rows = residuals(at);
    let mut lambda = 1e-3;
    for _ in 0..400 {
        let mut m = [[0.0; 4]; 3];
        for (r, by) in &rows {
            for i in 0..3 {
                for j in 0..3 {
                    m[i][j] += by[i] * by[j];
                }
                m[i][3] += by[i] * r;
            }
        }
        let gradient = (0..3).map(|i| m[i][3].abs()).fold(0.0, f64::max);
        if gradient < 1e-9 {
            return Some((sum(&rows), at));
        }
        for (i, row) in m.iter_mut().enumerate() {
            row[i] *= 1.0 + lambda;
            row[i] += 1e-14;
        }
        // Gauss-Jordan: the damped normal matrix is positive definite.
        for i in 0..3 {
            for k in 0..3 {
                if k != i {
                    let (pivot, factor) = (m[i], m[k][i] / m[i][i]);
                    for (x, p) in m[k].iter_mut().zip(pivot) {
                        *x -= factor * p;
                    }
                }
            }
        }
        let mut next = [0, 1, 2].map(|i| at[i] + m[i][3] / m[i][i]);
        next[2] = libm::fmod(next[2], TAU);
        let next_rows = residuals(next);
        if sum(&next_rows) <= sum(&rows) {
            at = next;
            rows = next_rows;
            lambda = (lambda / 8.0_f64).max(1e-15);
        } else {
            lambda *= 5.0;
            if lambda > 1e12 {
                break;
            }
        }
    }
    None
}

/// ½ ∂ Σ r²/∂(A₀, c, δ) at a fit, in the cosine form.
fn gradient(fit: &Fit, as_found: usize, trials: &[Trial]) -> [f64; 3] {
    let mut g = [-fit.residuals[..as_found].iter().sum::<f64>(), 0.0, 0.0];
    for (t, r) in trials.iter().zip(&fit.residuals[as_found..]) {
        let x = (t.angle_deg + fit.delta_deg).to_radians();
        let e = t.amount * fit.effect;
        let f = polar(fit.initial, e, t.angle_deg + fit.delta_deg);
        g[0] -= r * (fit.initial + e * libm::cos(x)) / f;
        g[1] -= r * t.amount * (e + fit.initial * libm::cos(x)) / f;
        g[2] += r * fit.initial * e * libm::sin(x) / f;
    }
    g
}

/// Readings of growing disorder, the last pure chance: no start of two hundred finds a lower minimum, and every other
/// minimum found is listed where it should be.
#[test]
fn nothing_lower_from_two_hundred_starts() {
    let mut random = Random(3);
    let (mut fitted, mut compared, mut seconds, mut mirages_met) = (0, 0, 0, 0);
    for round in 0..360 {
        let plant = Plant::random(&mut random);
        let count = [3, 4, 6][round % 3];
        let places = places(&mut random, count, round % 2 == 0);
        let noise = [0.003, 0.03, 0.3, 1.0][round / 6 % 4] * plant.initial;
        let trials = readings(&plant, &places, || noise * random.normal());
        let as_found = (plant.initial + 0.3 * noise * random.normal()).abs();
        let (fit, others) = match solve(&[as_found], &trials).unwrap() {
            Outcome::Unique { fit, next_local_minimum, mirages, .. } => {
                (fit, Some((next_local_minimum, mirages)))
            }
            Outcome::Impossible { best: Some(fit), .. } => (fit, None),
            Outcome::Impossible { best: None, .. } | Outcome::NoEffect { .. } => continue,
            other => panic!("{other:?}"),
        };
        fitted += 1;
        assert!(fit.initial > 0.0 && fit.effect > 0.0);
        let scale = plant.initial.max(plant.effect);
        for g in gradient(&fit, 1, &trials) {
            assert!(g.abs() < 1e-13 * scale * scale, "{round} gradient {g:e}");
        }
        for _ in 0..200 {
            let start = [
                random.between(-2.0, 2.0) * as_found,
                random.between(0.01, 3.0) * as_found,
                random.between(0.0, 6.3),
            ];
            let Some((sum, [a0, ..])) = polar_descent(as_found, &trials, start) else {
                continue;
            };
            compared += 1;
            assert!(sum >= fit.sum_squares * (1.0 - 1e-9) - 1e-26, "{round} {sum} < {}", fit.sum_squares);
            let Some((next, mirages)) = others.as_ref().filter(|_| !close(sum, fit.sum_squares, 1e-6)) else {
                continue;
            };
            if a0 > 0.0 {
                seconds += 1;
                let above = next.as_ref().is_some_and(|n| sum >= n.sum_squares * (1.0 - 1e-6));
                assert!(above, "{round} {sum} {next:?}");
            } else {
                mirages_met += 1;
                let listed = mirages.iter().any(|m| close(m.sum_squares, sum, 1e-6));
                assert!(listed, "{round} {sum} not in {mirages:?}");
            }
        }
    }
    assert!(fitted > 330 && compared > 45_000 && seconds > 1000 && mirages_met > 1000);
}

/// Noisy readings of a plant at three, four or six places, well away from any doubt about the answer.
fn noisy(random: &mut Random, round: usize) -> (f64, Vec<Trial>) {
    let plant = Plant::random(random);
    let places = places(random, [3, 4, 6][round % 3], round % 2 == 0);
    let trials = readings(&plant, &places, || 0.01 * plant.initial * random.normal());
    (plant.initial, trials)
}

#[test]
fn turning_all_angles_turns_the_answer() {
    let mut random = Random(4);
    for round in 0..300 {
        let (as_found, trials) = noisy(&mut random, round);
        let by = random.between(-720.0, 720.0);
        let turned: Vec<Trial> =
            trials.iter().map(|t| trial(t.amount, t.angle_deg + by, t.amplitude)).collect();
        let Unique { fit: one, .. } = unique(solve(&[as_found], &trials).unwrap());
        let Unique { fit: other, .. } = unique(solve(&[as_found], &turned).unwrap());
        assert!(close(other.correction_amount, one.correction_amount, 1e-10), "{round}");
        assert!(apart(other.correction_deg, one.correction_deg + by) < 1e-8, "{round}");
        assert!(close(other.sum_squares, one.sum_squares, 1e-9), "{round}");
    }
}

#[test]
fn mirrored_angles_mirror_the_answer() {
    let mut random = Random(5);
    for round in 0..300 {
        let (as_found, trials) = noisy(&mut random, round);
        let mirrored: Vec<Trial> =
            trials.iter().map(|t| trial(t.amount, -t.angle_deg, t.amplitude)).collect();
        let Unique { fit: one, .. } = unique(solve(&[as_found], &trials).unwrap());
        let Unique { fit: other, .. } = unique(solve(&[as_found], &mirrored).unwrap());
        assert!(close(other.correction_amount, one.correction_amount, 1e-10), "{round}");
        assert!(apart(other.correction_deg, -one.correction_deg) < 1e-8, "{round}");
    }
}

/// By powers of two the answer keeps its bits; by other factors, its digits.
#[test]
fn the_unit_does_not_matter() {
    let mut random = Random(6);
    for round in 0..300 {
        let (as_found, trials) = noisy(&mut random, round);
        let Unique { fit: one, closed, .. } = unique(solve(&[as_found], &trials).unwrap());
        for (amplitudes, amounts) in [(64.0, 0.125), (8.0e-3, 454.0)] {
            let scaled: Vec<Trial> = trials
                .iter()
                .map(|t| trial(t.amount * amounts, t.angle_deg, t.amplitude * amplitudes))
                .collect();
            let Unique { fit, closed: scaled_closed, .. } =
                unique(solve(&[as_found * amplitudes], &scaled).unwrap());
            let allowed = if amplitudes == 64.0 { 0.0 } else { 1e-10 };
            assert!(close(fit.correction_amount, one.correction_amount * amounts, allowed), "{round}");
            assert!(apart(fit.correction_deg, one.correction_deg) <= 100.0 * allowed, "{round}");
            assert!(close(fit.initial, one.initial * amplitudes, allowed), "{round}");
            assert!(close(fit.effect, one.effect * amplitudes / amounts, allowed), "{round}");
            assert!(close(fit.rms, one.rms * amplitudes, 100.0 * allowed), "{round}");
            let power = amplitudes * amplitudes;
            assert!(close(fit.sum_squares, one.sum_squares * power, 100.0 * allowed), "{round}");
            assert!(close(scaled_closed.p, closed.p * power / amounts, 1e4 * allowed), "{round}");
            assert!(close(scaled_closed.q, closed.q * power / amounts, 1e4 * allowed), "{round}");
            let a = closed.a * power / (amounts * amounts);
            assert!(close(scaled_closed.a, a, 1e3 * allowed), "{round}");
        }
    }
}

/// An exact further trial, or a repeat of the reading as found, leaves an exact answer as it was.
#[test]
fn exact_further_readings_change_nothing() {
    let mut random = Random(7);
    for round in 0..200 {
        let plant = Plant::random(&mut random);
        let places = places(&mut random, 5, true);
        let truth = plant.correction();
        let all = readings(&plant, &places, || 0.0);
        for (as_found, trials) in [(1, 4), (3, 4), (3, 5)] {
            let as_found = std::vec![plant.initial; as_found];
            let Unique { fit, .. } = unique(solve(&as_found, &all[..trials]).unwrap());
            assert!(close(fit.correction_amount, truth.0, 1e-11), "{round}");
            assert!(apart(fit.correction_deg, truth.1) < 1e-9, "{round}");
        }
    }
}

/// With all trials on one line, or on one circle through the shaft centre, over-determined and noisy: two answers of the
/// same misfit to the last digits, mirror images where the places lie on a line.
#[test]
fn places_on_a_line_or_circle_leave_two_answers() {
    let mut random = Random(8);
    let (mut lines, mut circles) = (0, 0);
    for round in 0..300 {
        let plant = Plant::random(&mut random);
        let axis = random.between(0.0, 180.0);
        // On the circle through the centre with diameter d at the angle of the axis: |u| = d cos(α − axis).
        let places: Vec<(f64, f64)> = if round % 2 == 0 {
            std::vec![(1.0, axis), (1.0, axis + 180.0), (1.0, axis), (0.7, axis)]
        } else {
            [-50.0, -15.0, 20.0, 45.0_f64]
                .iter()
                .map(|x| (1.5 * libm::cos(x.to_radians()), axis + x))
                .collect()
        };
        let trials = readings(&plant, &places, || 1e-3 * plant.initial * random.normal());
        let outcome = solve(&[plant.initial], &trials).unwrap();
        let (reason, fits) = ambiguous(outcome);
        let [one, other] = fits.as_slice() else {
            continue;
        };
        assert!(close(one.sum_squares, other.sum_squares, 1e-9), "{round}");
        let truth = plant.correction();
        if let Ambiguity::Line { axis_deg } = reason {
            lines += 1;
            assert!(round % 2 == 0 && apart(axis_deg, axis) < 1e-9, "{axis_deg} {axis}");
            assert!(close(one.correction_amount, other.correction_amount, 1e-9));
            assert!(apart(one.correction_deg + other.correction_deg, 2.0 * axis) < 1e-7);
        } else {
            circles += 1;
            assert!(round % 2 == 1 && reason == Ambiguity::Circle);
        }
        let fit = fits
            .iter()
            .min_by(|a, b| apart(a.correction_deg, truth.1).total_cmp(&apart(b.correction_deg, truth.1)))
            .unwrap();
        assert!(apart(fit.correction_deg, truth.1) < 20.0, "{round} {fit:?} {truth:?}");
    }
    assert!(lines > 130 && circles > 120, "{lines} {circles}");
}

/// A weak trial mass: noise alone makes a negative about as often as not, and the fit is good all the same.
#[test]
fn a_slightly_negative_a_is_fitted() {
    let mut random = Random(9);
    let mut negative = 0;
    for round in 0..200 {
        let plant = Plant { initial: 1.0, effect: 0.08, delta_deg: random.between(0.0, 360.0) };
        let trials = readings(&plant, &[(1.0, 0.0), (1.0, 120.0), (1.0, 240.0)], || 0.005 * random.normal());
        let Unique { fit, closed, .. } = unique(solve(&[1.0], &trials).unwrap());
        negative += usize::from(closed.a < 0.0);
        assert!((fit.effect - 0.08).abs() < 0.03, "{round} {}", fit.effect);
        assert!(apart(fit.delta_deg, plant.delta_deg) < 25.0, "{round}");
    }
    assert!(negative > 15, "{negative}");
}

/// The correction on the line of two trials: both roots coincide but for the rounding of the readings, and are one answer.
#[test]
fn touching_roots_are_one_answer() {
    let mut random = Random(11);
    for round in 0..2000 {
        let axis = random.between(0.0, 360.0);
        let plant = Plant { delta_deg: 180.0 * f64::from(round % 2) - axis, ..Plant::random(&mut random) };
        let places = [(1.0, axis), (random.between(0.5, 1.0), axis + 180.0)];
        let trials = readings(&plant, &places, || 0.0);
        let (_, fits) = ambiguous(solve(&[plant.initial], &trials).unwrap());
        assert_eq!(fits.len(), 1, "{round} {fits:?}");
        let (amount, angle) = plant.correction();
        assert!(
            close(fits[0].correction_amount, amount, 1e-12),
            "{round} {}",
            fits[0].correction_amount / amount - 1.0
        );
        assert!(
            apart(fits[0].correction_deg, angle) < 1e-5,
            "{round} {}",
            apart(fits[0].correction_deg, angle)
        );
    }
}

/// A rotor that the readings do not confirm is none: here the nearest one to an amplitude that no rotor can show.
#[test]
fn roots_are_verified() {
    let scaled = Scaled::new(&[1.0], &[trial(1.0, 0.0, 1.2), trial(1.0, 110.0, 0.8)]);
    let &[first, second] = scaled.trials() else { panic!() };
    assert_eq!(scaled.exact([first, second]).len(), 2);
    let other = Reading { amplitude: first.amplitude * 4.0, ..first };
    assert_eq!(closed_form::two_trial_rotors(scaled.mean_as_found, [other, second]).len(), 1);
    assert!(scaled.exact([other, second]).is_empty());
}

/// On a circle or line of places the partner of a rotor has the same amplitudes, and the partner of the partner is the rotor.
#[test]
fn partners_look_alike() {
    let mut random = Random(10);
    for round in 0..300 {
        let plant = Plant::random(&mut random);
        let mut places = places(&mut random, 2, false);
        if round % 2 == 0 {
            places[1].1 = places[0].1 + 180.0;
        }
        let scaled = Scaled::new(&[plant.initial], &readings(&plant, &places, || 0.0));
        let Places::Circle { normal } = Places::of(scaled.trials()) else {
            panic!("{places:?}");
        };
        assert_eq!(closed_form::is_line(normal), round % 2 == 0);
        let angle = random.between(0.0, 360.0);
        let rotor = Rotor { initial: random.between(0.1, 1.0), influence: unit_vector(angle) };
        let partner = closed_form::partner(normal, rotor);
        for t in scaled.trials() {
            assert!((partner.amplitude(t.mounted) - rotor.amplitude(t.mounted)).abs() < 1e-13, "{round}");
        }
        let back = closed_form::partner(normal, partner);
        assert!(model::magnitude(back.influence - rotor.influence) < 1e-12, "{round}");
    }
}

/// Three raised readings alike: the axis through a trial carries a minimum on one side of the centre and a saddle, to which a
/// start on the axis leads, on the other. A saddle must not be listed.
#[test]
fn saddles_are_no_minima() {
    let (mut minima, mut saddles) = (0, 0);
    for tenths in 25_i32..60 {
        let side = f64::from(tenths) / 10.0;
        let trials = [trial(1.0, 0.0, side), trial(1.0, 120.0, side), trial(1.0, 240.0, side)];
        let scaled = Scaled::new(&[1.0], &trials);
        for re in [-0.5, 0.5] {
            let on_axis = Rotor { initial: scaled.mean_as_found, influence: Complex64::new(re, 0.0) };
            let Some(m) = model::descend(&scaled.readings, on_axis) else {
                saddles += 1;
                continue;
            };
            minima += 1;
            // A step across must not lead lower.
            for step in [-1e-4, 1e-4] {
                let mut rotor = m.rotor;
                rotor.influence.im += step;
                assert!(model::sum_squares(&scaled.readings, rotor) > m.sum_squares, "{side} {m:?}");
            }
        }
    }
    assert!(minima >= 35 && saddles >= 15, "{minima} {saddles}");
}

/// Readings made so that A₀ = 0 is stationary: no answer and no other minimum may be made of it.
#[test]
fn no_answer_without_vibration_as_found() {
    for tenths in 15_i32..40 {
        let side = f64::from(tenths) / 10.0;
        let trials = [trial(1.0, 0.0, side + 1.0), trial(1.0, 120.0, side), trial(1.0, 240.0, side)];
        let outcome = solve(&[1.0], &trials).unwrap();
        let Outcome::Unique { fit, next_local_minimum, mirages, .. } = outcome else {
            panic!("{side} {outcome:?}");
        };
        assert!(fit.initial > 0.1);
        assert!(next_local_minimum.is_none_or(|n| n.initial > 0.1), "{side}");
        assert!(mirages.iter().all(|m| m.initial < -0.001), "{side} {mirages:?}");
    }
}
