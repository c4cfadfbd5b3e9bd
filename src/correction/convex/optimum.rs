//! From the problem as stated to the optimum as reported, for either objective.

use super::interior::{Solution, solve};
use super::reduced::{Problem, Reduced, Scaled, inner};
use alloc::vec;
use alloc::vec::Vec;
use num_complex::Complex64;

const ZERO: Complex64 = Complex64::new(0.0, 0.0);

/// A sum below this fraction of the sum of the sizes of its terms is zero to rounding, and counts as
/// zero: else a limit a thousand million times wider than needed would blur the bound.
const ROUNDING: f64 = 16.0 * f64::EPSILON;

/// What is made smallest.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Objective {
    /// maxₖ √gₖ |rₖ|
    Greatest,
    /// √(Σ gₖ |rₖ|²)
    SumOfSquares,
}

/// An optimal correction and the proof that it is one.
#[derive(Clone, Debug)]
pub(crate) struct Optimum {
    /// The corrections wₚ, in the unit that the influence coefficients are per.
    pub(crate) corrections: Vec<Complex64>,
    /// What was made smallest, evaluated at `corrections`. The caller evaluates what it hands over for itself.
    #[cfg_attr(not(test), allow(dead_code))]
    pub(crate) value: f64,
    /// The dual point yₖ, one per measuring point. No admissible correction whatever leaves a value
    /// below `bound` = Re Σ conj(yₖ) vₖ − Σₚ Lₚ |Σₖ conj(Hₖₚ) yₖ|; for a plane without limit the inner
    /// sum is zero to rounding. All zero when the value is zero to rounding.
    pub(crate) dual: Vec<Complex64>,
    /// The lower bound that `dual` proves, never below zero.
    pub(crate) bound: f64,
    /// The measuring points that determine a min-max value, with their multipliers µₖ = |yₖ|/√gₖ,
    /// which sum to 1. Empty for least squares and for a value of zero.
    pub(crate) active: Vec<(usize, f64)>,
    /// The planes at their limit, with −∂value/∂Lₚ = |Σₖ conj(Hₖₚ) yₖ|: what one unit more would gain.
    pub(crate) capped: Vec<(usize, f64)>,
    /// Quite other corrections are as good, or as good as makes no difference.
    pub(crate) flat: bool,
}

/// Solves for either objective.
pub(crate) fn optimum(problem: Problem<'_>, objective: Objective) -> Optimum {
    let scaled = Scaled::new(problem);
    let per_group = match objective {
        Objective::Greatest => 1,
        Objective::SumOfSquares => scaled.b.len(),
    };
    let reduced = Reduced::new(&scaled);
    let start = reduced.start();
    let mut x = vec![ZERO; scaled.planes];
    reduced.expand(&start, &mut x);
    let solution = solve(&reduced, per_group, start, scaled.rounding(&x));
    reduced.admit(&solution.point.z, &mut x);
    report(&reduced, objective, &solution, &x)
}

/// Value, dual point and bound in the caller's units, from the numbers that are returned.
fn report(reduced: &Reduced<'_>, objective: Objective, solution: &Solution, x: &[Complex64]) -> Optimum {
    let scaled = reduced.scaled;
    let Problem { influence, vibration, channel_weights, limits } = scaled.problem;
    let planes = scaled.planes;
    let corrections = scaled.corrections(x);

    // rₖ = vₖ + Σₚ Hₖₚ wₚ
    let mut sizes = Vec::with_capacity(scaled.points.len());
    let mut largest = 0.0_f64;
    for &k in &scaled.points {
        let mut r = vibration[k];
        for (h, w) in influence[k * planes..(k + 1) * planes].iter().zip(&corrections) {
            r += h * w;
        }
        let size = libm::sqrt(channel_weights[k]) * libm::hypot(r.re, r.im);
        largest = largest.max(size);
        sizes.push(size);
    }
    let value = match objective {
        Objective::Greatest => largest,
        Objective::SumOfSquares if largest > 0.0 => {
            let sum = sizes.iter().fold(0.0, |sum, size| sum + (size / largest) * (size / largest));
            largest * libm::sqrt(sum)
        }
        Objective::SumOfSquares => 0.0,
    };

    // yₖ = √gₖ ηₖ;  bound = Re Σ conj(yₖ) vₖ − Σ Lₚ κₚ,  κₚ = |Σ conj(Hₖₚ) yₖ|
    let mut dual = vec![ZERO; vibration.len()];
    let mut bound = 0.0;
    for (&k, eta) in scaled.points.iter().zip(&solution.eta) {
        dual[k] = eta * libm::sqrt(channel_weights[k]);
        bound += inner(dual[k], vibration[k]);
    }
    let mut capped = Vec::new();
    let first_limit = solution.active.len() - reduced.limited.len();
    for p in 0..planes {
        let Some(limit) = limits[p] else { continue };
        let mut sum = ZERO;
        let mut size = 0.0;
        for &k in &scaled.points {
            let term = influence[k * planes + p].conj() * dual[k];
            sum += term;
            size += term.re.abs() + term.im.abs();
        }
        let mut gain = libm::hypot(sum.re, sum.im);
        if gain <= ROUNDING * size {
            gain = 0.0;
        }
        bound -= limit.max(0.0) * gain;
        let held = scaled.radius[p] == 0.0
            || (reduced.limited.iter().zip(&solution.active[first_limit..]))
                .any(|(&plane, &held)| plane == p && held);
        if gain > 0.0 && held {
            capped.push((p, gain));
        }
    }

    let mut active = Vec::new();
    if objective == Objective::Greatest {
        for (g, &k) in scaled.points.iter().enumerate() {
            if solution.active[g] {
                active.push((k, libm::sqrt(solution.eta[g].norm_sqr())));
            }
        }
    }
    Optimum { corrections, value, dual, bound: bound.max(0.0), active, capped, flat: solution.flat }
}

/// What the tests of both objectives share: problems, and a checker that knows nothing of the method.
#[cfg(test)]
pub(crate) mod trial {
    #![allow(clippy::disallowed_methods, reason = "the answers are compared with tolerances")]

    use super::{Objective, Optimum, Problem, ZERO, optimum};
    use alloc::string::String;
    use alloc::vec;
    use alloc::vec::Vec;
    use num_complex::Complex64;

    /// xorshift64*.
    pub(crate) struct Dice(pub(crate) u64);

    impl Dice {
        /// In [-1, 1).
        pub(crate) fn signed(&mut self) -> f64 {
            self.0 ^= self.0 >> 12;
            self.0 ^= self.0 << 25;
            self.0 ^= self.0 >> 27;
            let bits = self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 11;
            bits as f64 / (1_u64 << 52) as f64 - 1.0
        }

        pub(crate) fn complex(&mut self) -> Complex64 {
            Complex64::new(self.signed(), self.signed())
        }

        pub(crate) fn below(&mut self, end: usize) -> usize {
            ((self.signed() + 1.0) / 2.0 * end as f64) as usize
        }

        /// 10 to a power between -decades and decades.
        pub(crate) fn decades(&mut self, decades: f64) -> f64 {
            libm::pow(10.0, decades * self.signed())
        }
    }

    #[derive(Clone, Debug, Default)]
    pub(crate) struct Case {
        pub(crate) influence: Vec<Complex64>,
        pub(crate) vibration: Vec<Complex64>,
        pub(crate) channel_weights: Vec<f64>,
        pub(crate) limits: Vec<Option<f64>>,
    }

    impl Case {
        pub(crate) fn random(dice: &mut Dice, points: usize, planes: usize, limited: bool) -> Self {
            Self {
                influence: (0..points * planes).map(|_| dice.complex()).collect(),
                vibration: (0..points).map(|_| dice.complex()).collect(),
                channel_weights: vec![1.0; points],
                limits: (0..planes)
                    .map(|_| (limited && dice.signed() > -0.3).then(|| 0.4 * (1.0 + dice.signed())))
                    .collect(),
            }
        }

        pub(crate) fn problem(&self) -> Problem<'_> {
            Problem {
                influence: &self.influence,
                vibration: &self.vibration,
                channel_weights: &self.channel_weights,
                limits: &self.limits,
            }
        }

        pub(crate) fn at(&mut self, point: usize, plane: usize) -> &mut Complex64 {
            &mut self.influence[point * self.limits.len() + plane]
        }

        pub(crate) fn residual(&self, w: &[Complex64]) -> Vec<Complex64> {
            (0..self.vibration.len())
                .map(|k| {
                    let row = &self.influence[k * w.len()..(k + 1) * w.len()];
                    self.vibration[k] + row.iter().zip(w).map(|(h, w)| h * w).sum::<Complex64>()
                })
                .collect()
        }

        pub(crate) fn value(&self, objective: Objective, w: &[Complex64]) -> f64 {
            let r = self.residual(w);
            let squares = r.iter().zip(&self.channel_weights).map(|(r, g)| g * r.norm_sqr());
            match objective {
                Objective::Greatest => squares.fold(0.0, f64::max).sqrt(),
                Objective::SumOfSquares => squares.sum::<f64>().sqrt(),
            }
        }

        /// Units in the last place of the largest row, terms taken by their sizes.
        pub(crate) fn rounding(&self, w: &[Complex64]) -> f64 {
            let mut largest = 0.0_f64;
            for (k, v) in self.vibration.iter().enumerate() {
                let row = &self.influence[k * w.len()..(k + 1) * w.len()];
                let terms: f64 = row.iter().zip(w).map(|(h, w)| h.norm() * w.norm()).sum();
                largest = largest.max(self.channel_weights[k].sqrt() * (v.norm() + terms));
            }
            largest * f64::EPSILON * (8 * (w.len() + 1)) as f64
        }

        /// Holds an answer against its promises and returns its relative gap.
        pub(crate) fn check(&self, objective: Objective, answer: &Optimum) -> f64 {
            let w = &answer.corrections;
            for (w, limit) in w.iter().zip(&self.limits) {
                if let Some(limit) = limit {
                    assert!(w.norm() <= limit * (1.0 + 1e-15), "{} > {limit}", w.norm());
                }
            }
            let rounding = self.rounding(w);
            let value = self.value(objective, w);
            assert!((value - answer.value).abs() <= 1e-14 * value + rounding, "{value} {}", answer.value);
            if answer.bound == 0.0 {
                assert!(answer.value <= 4.0 * rounding, "no proof: {answer:?}");
                return 0.0;
            }
            self.check_dual(objective, answer);
            let excess = answer.value - answer.bound;
            assert!(
                excess.abs() <= 1e-8 * value + 4.0 * rounding,
                "gap {excess} of {value}, rounding {rounding}"
            );
            (excess.abs() - 4.0 * rounding).max(0.0) / value
        }

        /// Re Σ conj(yₖ) vₖ − Σ Lₚ |Σ conj(Hₖₚ) yₖ|, with y in the dual unit ball.
        fn check_dual(&self, objective: Objective, answer: &Optimum) {
            let y = &answer.dual;
            let parts = y.iter().zip(&self.channel_weights).filter(|(_, g)| **g > 0.0);
            let size = match objective {
                Objective::Greatest => parts.map(|(y, g)| y.norm() / g.sqrt()).sum::<f64>(),
                Objective::SumOfSquares => parts.map(|(y, g)| y.norm_sqr() / g).sum::<f64>().sqrt(),
            };
            assert!((size - 1.0).abs() < 1e-13, "dual norm {size}");
            let mut bound: f64 = y.iter().zip(&self.vibration).map(|(y, v)| (y.conj() * v).re).sum();
            for (p, limit) in self.limits.iter().enumerate() {
                let column = self.influence.iter().skip(p).step_by(self.limits.len());
                let terms: Vec<_> = column.zip(y).map(|(h, y)| h.conj() * y).collect();
                let size: f64 = terms.iter().map(|z| z.norm()).sum();
                let sum = terms.iter().sum::<Complex64>().norm();
                let column = self.influence.iter().skip(p).step_by(self.limits.len());
                let weighted = column.zip(&self.channel_weights);
                let largest = weighted.fold(0.0_f64, |most, (h, g)| most.max(h.norm() * g.sqrt()));
                match limit {
                    None => assert!(sum <= 1e-13 * largest, "plane {p}: {sum} of {largest}"),
                    Some(_) if sum <= 1e-14 * size => {}
                    Some(limit) => bound -= limit * sum,
                }
            }
            let rounding = self.rounding(&answer.corrections);
            assert!(
                (bound - answer.bound).abs() <= 1e-12 * bound.abs() + rounding,
                "{bound} {}",
                answer.bound
            );
        }

        /// No admissible neighbour, near or far, is better.
        pub(crate) fn check_by_wandering(&self, objective: Objective, answer: &Optimum, dice: &mut Dice) {
            let scale = answer.corrections.iter().map(|w| w.norm()).fold(1e-30, f64::max);
            let allowed = 1e-9 * answer.value + 4.0 * self.rounding(&answer.corrections);
            for _ in 0..60 {
                let size = scale * libm::pow(10.0, 4.0 * dice.signed() - 4.0);
                let w: Vec<_> = answer
                    .corrections
                    .iter()
                    .zip(&self.limits)
                    .map(|(w, limit)| {
                        let w = w + dice.complex() * size;
                        match limit {
                            Some(limit) if w.norm() > *limit => w * (limit / w.norm()),
                            _ => w,
                        }
                    })
                    .collect();
                let value = self.value(objective, &w);
                assert!(value >= answer.value - allowed, "{value} < {}", answer.value);
            }
        }

        pub(crate) fn solve(&self, objective: Objective) -> Optimum {
            optimum(self.problem(), objective)
        }
    }

    /// Names of the kinds of [`awkward`].
    pub(crate) const KINDS: [&str; 16] = [
        "plain",
        "proportional planes",
        "columns from 1e-9 to 1e9",
        "no more points than planes",
        "identical points",
        "points no plane reaches, or of weight zero",
        "tiny limits",
        "some limits of zero",
        "planes hard to tell apart",
        "whole numbers, ties",
        "small residual",
        "weights from 1e-6 to 1e6",
        "limits from 1e-9 to 1e9",
        "a plane without effect",
        "ring",
        "one point dominates",
    ];

    /// A random problem of a kind that has broken, or might break, a solver.
    pub(crate) fn awkward(kind: usize, dice: &mut Dice, limited: bool) -> Case {
        let planes = 1 + dice.below(5);
        let points = if kind == 3 { 1 + dice.below(planes) } else { planes + 1 + dice.below(20) };
        let mut case = Case::random(dice, points, planes, limited);
        match kind {
            1 if planes > 1 => {
                let factor = dice.complex();
                for k in 0..points {
                    *case.at(k, 1) = *case.at(k, 0) * factor;
                }
            }
            2 => {
                for p in 0..planes {
                    let factor = dice.decades(9.0);
                    (0..points).for_each(|k| *case.at(k, p) *= factor);
                    case.limits[p] = case.limits[p].map(|limit| limit / factor);
                }
            }
            4 => {
                for k in (1..points).step_by(2) {
                    case.vibration[k] = case.vibration[k - 1];
                    (0..planes).for_each(|p| *case.at(k, p) = *case.at(k - 1, p));
                }
            }
            5 => {
                for k in 0..points {
                    if dice.signed() > 0.3 {
                        (0..planes).for_each(|p| *case.at(k, p) = ZERO);
                    }
                    if dice.signed() > 0.8 {
                        case.channel_weights[k] = 0.0;
                    }
                }
            }
            6 => case.limits.iter_mut().flatten().for_each(|limit| *limit *= 1e-9),
            7 => {
                for limit in case.limits.iter_mut().flatten() {
                    if dice.signed() > 0.0 {
                        *limit = 0.0;
                    }
                }
            }
            8 if planes > 1 => {
                let apart = 1e-4 * dice.decades(2.0);
                for k in 0..points {
                    *case.at(k, 1) = *case.at(k, 0) + *case.at(k, 1) * apart;
                }
            }
            9 => {
                for z in case.influence.iter_mut().chain(&mut case.vibration) {
                    *z = Complex64::new((2.0 * z.re).round(), (2.0 * z.im).round());
                }
            }
            10 => {
                let left = 1e-4 * dice.decades(4.0);
                let w: Vec<_> = (0..planes).map(|_| dice.complex() * 0.2).collect();
                case.vibration.iter_mut().for_each(|v| *v *= left);
                case.vibration = case.residual(&w);
            }
            11 => case.channel_weights.iter_mut().for_each(|g| *g = dice.decades(6.0)),
            12 => case.limits.iter_mut().flatten().for_each(|limit| *limit *= dice.decades(9.0)),
            13 => {
                let p = dice.below(planes);
                (0..points).for_each(|k| *case.at(k, p) = ZERO);
            }
            14 => {
                for k in 0..points {
                    let turn = core::f64::consts::TAU * k as f64 / points as f64;
                    case.vibration[k] = Complex64::from_polar(0.7, turn) + Complex64::new(0.1, 0.2);
                    for p in 0..planes {
                        *case.at(k, p) = Complex64::from_polar(1.0, 2.0 * turn * p as f64);
                    }
                }
            }
            15 => {
                (0..planes).for_each(|p| *case.at(0, p) *= 1e-3);
                case.vibration[0] *= 30.0;
            }
            _ => {}
        }
        case
    }

    /// Cases of one group of tests/vectors/optimum.json (the reference vectors).
    pub(crate) fn reference(group: &str) -> Vec<(String, Case, serde_json::Value)> {
        let file = include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/vectors/optimum.json"));
        let file: serde_json::Value = serde_json::from_str(file).unwrap();
        let mut found = Vec::new();
        for case in file["cases"].as_array().unwrap() {
            if case["group"] != group {
                continue;
            }
            let inputs = &case["inputs"];
            let numbers = |list: &serde_json::Value| -> Vec<f64> {
                list.as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect()
            };
            let rows = inputs["influence_canonical_unit_per_g"].as_array().unwrap();
            let planes = rows[0].as_array().unwrap().len();
            let lag = case["conventions"]["phase"] == "lag_deg_pulse_to_next_positive_peak";
            let limits = &inputs["mass_limit_g"];
            found.push((
                String::from(case["id"].as_str().unwrap()),
                Case {
                    influence: rows.iter().flat_map(|row| row.as_array().unwrap()).map(complex).collect(),
                    vibration: inputs["as_found"]
                        .as_array()
                        .unwrap()
                        .iter()
                        .map(|v| polar(&v["amp"], &v["deg"], lag))
                        .collect(),
                    channel_weights: numbers(&inputs["channel_weights"]),
                    limits: (0..planes).map(|p| limits.get(p).and_then(|limit| limit.as_f64())).collect(),
                },
                case.clone(),
            ));
        }
        assert!(!found.is_empty(), "no case of {group}");
        found
    }

    pub(crate) fn complex(z: &serde_json::Value) -> Complex64 {
        Complex64::new(z["re"].as_f64().unwrap(), z["im"].as_f64().unwrap())
    }

    fn polar(size: &serde_json::Value, degrees: &serde_json::Value, mirrored: bool) -> Complex64 {
        let turn = degrees.as_f64().unwrap().to_radians();
        Complex64::from_polar(size.as_f64().unwrap(), if mirrored { -turn } else { turn })
    }

    /// Value, corrections, and the whole check, against the reference vectors.
    pub(crate) fn check_reference(case: &Case, objective: Objective, file: &serde_json::Value) -> Optimum {
        let answer = case.solve(objective);
        assert!(case.check(objective, &answer) < 1e-12);
        let (expected, tolerance) = (&file["expected"], &file["tolerance"]);
        let want = expected["objective_value"].as_f64().unwrap();
        let rel = tolerance["objective_rel"].as_f64().unwrap() * 1e-4;
        assert!((answer.value - want).abs() <= rel * want, "{} {want}", answer.value);
        let mirrored = file["conventions"]["rotor_angle_direction"] == "against_rotation";
        let scale = tolerance["scale_weight_g"].as_f64().unwrap();
        let rel = tolerance["weights_rel"].as_f64().unwrap() * 1e-4;
        for weight in expected["weights"].as_array().unwrap() {
            let got = answer.corrections[weight["plane"].as_u64().unwrap() as usize];
            let want = polar(&weight["mass_g"], &weight["deg"], mirrored);
            assert!((got - want).norm() <= rel * scale, "{got} {want}");
        }
        let capped: Vec<u64> = answer.capped.iter().map(|&(p, _)| p as u64).collect();
        let planes = expected["optimality"]["capped_planes"].as_array();
        let want: Vec<u64> =
            planes.map_or_else(Vec::new, |planes| planes.iter().map(|p| p.as_u64().unwrap()).collect());
        assert_eq!(capped, want);
        answer
    }
}
