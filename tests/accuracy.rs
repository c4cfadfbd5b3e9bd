//! How exact the corrections are, on machines without noise.
//!
//! The measure is the relative error of all weights together, against
//! `16 ε κ max (|V0| + |V1|) / |V1 − V0|`, with ε = 2⁻⁵², κ the condition number of the weighted influence matrix, and the
//! maximum taken over channels and trial runs: the digits that are lost where a trial changes a reading by little are lost
//! in the readings, and no arithmetic brings them back.
//!
//! Two kinds of reference: for random machines the same doubles solved in arithmetic of 31 digits
//! (`support/double_double.rs`), and the reference vectors, whose figures were computed with 50 digits from the doubles
//! printed there.
#![cfg(feature = "alloc")]
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a test fails by panicking")]

mod support;

use counterpoise::{CorrectionQuestion, OnePlane, Reading, TwoPlaneRun, TwoPlanes};
use num_complex::Complex64;
use serde_json::Value;
use support::double_double::{Complex, least_squares, solve};
use support::vectors::{Fields, Job, read};
use support::{
    EPS, Plant, channels, complex, distance, estimator, length, modulus, polar, unbalance, vibration,
    vibrations,
};

type Runs = Vec<(Vec<Complex64>, Vec<Complex64>)>;

/// Numbers that look random and are the same in every run (the `SplitMix64` generator; from memory).
struct Numbers(u64);

impl Numbers {
    /// Evenly spread from 0 to 1.
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^= z >> 31;
        #[allow(clippy::cast_precision_loss, reason = "the 53 bits of a double")]
        let value = (z >> 11) as f64 / (1_u64 << 53) as f64;
        value
    }

    /// A size evenly spread over so many decades above and below 1, in any direction.
    fn complex(&mut self, decades: f64) -> Complex64 {
        let size = libm::pow(10.0, decades * (2.0 * self.unit() - 1.0));
        polar(size, 360.0 * self.unit())
    }

    fn list(&mut self, count: usize, decades: f64) -> Vec<Complex64> {
        (0..count).map(|_| self.complex(decades)).collect()
    }
}

/// The largest error seen over its bound, and how many were looked at.
#[derive(Default)]
struct Worst {
    share: f64,
    cases: usize,
}

impl Worst {
    #[track_caller]
    fn take(&mut self, got: &[Complex64], want: &[Complex64], bound: f64) {
        let error = distance(got, want) / length(want);
        assert!(error <= bound, "relative error {error:e}, bound {bound:e}, of {want:?}");
        self.share = self.share.max(error / bound);
        self.cases += 1;
    }

    fn say(&self, what: &str) {
        println!("{what}: {} cases, the largest error {:.3} of its bound", self.cases, self.share);
    }
}

/// max (|V0| + |V1|) / |V1 − V0|, over channels, and over pairs of a run and the one its trial is counted from.
fn amplification(pairs: &[(&[Complex64], &[Complex64])]) -> f64 {
    let of_pair = |(before, after): &(&[Complex64], &[Complex64])| {
        let of_channel =
            |(&v0, &v1): (&Complex64, &Complex64)| (modulus(v0) + modulus(v1)) / modulus(v1 - v0);
        before.iter().zip(*after).map(of_channel).fold(0.0, f64::max)
    };
    pairs.iter().map(of_pair).fold(0.0, f64::max)
}

fn bound(kappa: f64, amplification: f64) -> f64 {
    16.0 * EPS * kappa * amplification
}

/// The exact weights for the readings of the first run, in 31 digits: `H` from the runs, then `argmin Σ g |v + H w|²`.
/// Also the exact `H`, rounded.
fn exact(runs: &Runs, weights: &[f64]) -> (Vec<Complex64>, Vec<Vec<Complex64>>) {
    let points = runs[0].1.len();
    let of = |z: Complex64| Complex::of(z);
    // Differences to the first run: Σ_p H_kp (u_ip − u_0p) = v_ik − v_0k
    let design: Vec<Vec<Complex>> = runs[1..]
        .iter()
        .map(|(mounted, _)| mounted.iter().zip(&runs[0].0).map(|(&u, &base)| of(u) - of(base)).collect())
        .collect();
    let rows: Vec<Vec<Complex>> = (0..points)
        .map(|k| solve(design.clone(), runs[1..].iter().map(|(_, v)| of(v[k]) - of(runs[0].1[k])).collect()))
        .collect();
    let now: Vec<Complex> = runs[0].1.iter().map(|&v| -of(v)).collect();
    let correction = least_squares(&rows, &now, weights);
    let rounded = rows.iter().map(|row| row.iter().map(|h| h.value()).collect()).collect();
    (correction.iter().map(|w| w.value()).collect(), rounded)
}

/// What the general way answers, for the readings of the first run.
fn general(runs: &Runs, weights: &[f64]) -> Vec<Complex64> {
    let channels = channels(runs[0].1.len());
    let fit = estimator(&channels, runs[0].0.len(), runs).fit().unwrap();
    let question = CorrectionQuestion::new(fit.influence(), &vibrations(&runs[0].1)).unwrap();
    complex(question.channel_weights(weights).solve().unwrap().added())
}

fn closed_one_plane(runs: &Runs) -> Vec<Complex64> {
    let [(none, before), (trial, after)] = &runs[..] else { panic!("not two runs") };
    let change = unbalance(trial[0]) - unbalance(none[0]);
    let plane = OnePlane::from_trial(vibration(before[0]), vibration(after[0]), change).unwrap();
    vec![plane.correction(vibration(before[0])).unwrap().complex()]
}

fn closed_two_planes(runs: &Runs) -> Vec<Complex64> {
    let run = |(mounted, read): &(Vec<Complex64>, Vec<Complex64>)| TwoPlaneRun {
        mounted: [unbalance(mounted[0]), unbalance(mounted[1])],
        vibration: [vibration(read[0]), vibration(read[1])],
    };
    let [first, second, third] = &runs[..] else { panic!("not three runs") };
    let planes = TwoPlanes::from_runs(&[run(first), run(second), run(third)]).unwrap();
    complex(&planes.correction([vibration(first.1[0]), vibration(first.1[1])]).unwrap())
}

/// The run as found and trial runs, each trial taken off before the next or left on, and the pairs that show the trials.
fn trial_runs(plant: &Plant, trials: &[Complex64], left_on: bool) -> Runs {
    let mut mounted = vec![Complex64::default(); trials.len()];
    let mut runs = vec![plant.run(&mounted)];
    for (plane, &trial) in trials.iter().enumerate() {
        if !left_on {
            mounted.fill(Complex64::default());
        }
        mounted[plane] = trial;
        runs.push(plant.run(&mounted));
    }
    runs
}

fn amplification_of(runs: &Runs, left_on: bool) -> f64 {
    let pair = |at: usize| (&runs[if left_on { at - 1 } else { 0 }].1[..], &runs[at].1[..]);
    amplification(&(1..runs.len()).map(pair).collect::<Vec<_>>())
}

/// The condition number of √g H, by another library's singular values.
fn condition(influence: &[Vec<Complex64>], weights: &[f64]) -> f64 {
    let weighted = nalgebra::DMatrix::from_fn(influence.len(), influence[0].len(), |k, p| {
        influence[k][p] * libm::sqrt(weights[k])
    });
    let values = weighted.singular_values();
    values.max() / values.min()
}

/// Responses from the size of the reading down to a millionth of a millionth of it.
#[test]
fn one_plane() {
    let mut numbers = Numbers(1);
    let (mut closed, mut estimated) = (Worst::default(), Worst::default());
    for _ in 0..20_000 {
        let before = numbers.complex(6.0);
        let response = before * numbers.complex(6.0) * 1e-6;
        let trial = numbers.complex(6.0);
        let none = vec![Complex64::default()];
        let runs = vec![(none, vec![before]), (vec![trial], vec![before + response])];
        let (want, _) = exact(&runs, &[1.0]);
        let bound = bound(1.0, amplification_of(&runs, false));
        closed.take(&closed_one_plane(&runs), &want, bound);
        estimated.take(&general(&runs, &[1.0]), &want, bound);
    }
    closed.say("one plane, closed");
    estimated.say("one plane, general");
}

/// A machine whose planes act more and more alike, by so many decades.
fn alike(numbers: &mut Numbers, points: usize, planes: usize, decades: f64) -> Vec<Vec<Complex64>> {
    let common = numbers.list(points, 0.5);
    let turned = numbers.list(planes, 0.5);
    let apart = libm::pow(10.0, -decades * numbers.unit());
    common.iter().map(|c| turned.iter().map(|t| c * t + numbers.complex(0.5) * apart).collect()).collect()
}

#[test]
fn two_planes() {
    let mut numbers = Numbers(2);
    let (mut closed, mut estimated) = (Worst::default(), Worst::default());
    for case in 0..10_000 {
        let influence = alike(&mut numbers, 2, 2, 5.0);
        let plant = Plant { as_found: numbers.list(2, 1.0), influence };
        let trials = numbers.list(2, 1.5);
        let left_on = case % 2 == 1;
        let runs = trial_runs(&plant, &trials, left_on);
        let (want, influence) = exact(&runs, &[1.0; 2]);
        let bound = bound(condition(&influence, &[1.0; 2]), amplification_of(&runs, left_on));
        closed.take(&closed_two_planes(&runs), &want, bound);
        estimated.take(&general(&runs, &[1.0; 2]), &want, bound);
    }
    closed.say("two planes, closed");
    estimated.say("two planes, general");
}

/// One to four planes, up to four points more than planes, channel weights over four decades. The unbalance sits in the
/// correction planes, so that nothing is left over, as in a machine without noise that can be balanced; or anywhere, and
/// then least squares answers for what is left with κ² (G. H. Golub & C. F. Van Loan, "Matrix Computations", chapter 5;
/// from memory): κ becomes κ + κ² ‖r‖ / (‖H‖ ‖w‖).
#[test]
fn several_planes() {
    let mut numbers = Numbers(3);
    let (mut balanced, mut left_over) = (Worst::default(), Worst::default());
    for case in 0..8_000 {
        let (planes, more) = (1 + case % 4, case / 4 % 5);
        let points = planes + more;
        let influence = alike(&mut numbers, points, planes, 4.0);
        let inside = case % 3 > 0;
        let bare = Plant { as_found: vec![Complex64::default(); points], influence };
        let as_found = if inside { bare.read(&numbers.list(planes, 1.0)) } else { numbers.list(points, 1.0) };
        let plant = Plant { as_found, ..bare };
        let trials = numbers.list(planes, 1.0);
        let weights: Vec<f64> = (0..points).map(|_| libm::pow(10.0, 4.0 * numbers.unit() - 2.0)).collect();
        let left_on = case % 5 == 0;
        let runs = trial_runs(&plant, &trials, left_on);
        let (want, influence) = exact(&runs, &weights);
        let mut kappa = condition(&influence, &weights);
        if !inside {
            let exact = Plant { as_found: runs[0].1.clone(), influence: influence.clone() };
            let root = |(r, g): (&Complex64, &f64)| r * libm::sqrt(*g);
            let left: Vec<Complex64> = exact.read(&want).iter().zip(&weights).map(root).collect();
            let weighted = |(row, g): (&Vec<Complex64>, &f64)| {
                row.iter().map(|h| h * libm::sqrt(*g)).collect::<Vec<_>>()
            };
            let size = length(&influence.iter().zip(&weights).flat_map(weighted).collect::<Vec<_>>());
            kappa += kappa * kappa * length(&left) / (size * length(&want));
        }
        let bound = bound(kappa, amplification_of(&runs, left_on));
        let worst = if inside { &mut balanced } else { &mut left_over };
        worst.take(&general(&runs, &weights), &want, bound);
    }
    assert!(balanced.cases > 5000 && left_over.cases > 2500);
    balanced.say("several planes, nothing left over");
    left_over.say("several planes, something left over");
}

/// Whole numbers, where every reading is exact and the answer known without any arithmetic.
#[test]
fn whole_numbers() {
    let mut numbers = Numbers(4);
    let mut whole = |least: f64| (least + 9.0 * numbers.unit()).trunc();
    let mut worst = Worst::default();
    for _ in 0..5_000 {
        let mut entry = |least: f64| Complex64::new(whole(least), whole(least) - 5.0);
        let influence =
            vec![vec![entry(20.0), entry(0.0)], vec![entry(0.0), entry(20.0)], vec![entry(0.0), entry(0.0)]];
        let bare = Plant { as_found: vec![Complex64::default(); 3], influence };
        let (unbalance, trials) = ([entry(1.0), entry(1.0)], [entry(1.0), entry(1.0)]);
        let plant = Plant { as_found: bare.read(&unbalance), ..bare };
        let runs = trial_runs(&plant, &trials, false);
        let want = unbalance.map(|u| -u);
        let bound = bound(condition(&plant.influence, &[1.0; 3]), amplification_of(&runs, false));
        if bound.is_finite() {
            worst.take(&general(&runs, &[]), &want, bound);
        }
    }
    // A coefficient of 0 shows no response, and the bound is then infinite.
    assert!(worst.cases > 4_500, "{}", worst.cases);
    worst.say("whole numbers");
}

/// The noise-free cases of the reference vectors; the answer as found, and what is to be added to the last trial.
#[test]
fn reference_vectors() {
    let (mut one, mut two, mut all) = (Worst::default(), Worst::default(), Worst::default());
    for file in ["vectors/singleplane.json", "vectors/multiplane.json"] {
        let vectors = read(file);
        let noise_free = |case: &&Value| case["inputs"]["noise_sigma_per_component"].as_f64() == Some(0.0);
        for case in vectors.list("cases").iter().filter(noise_free) {
            let (job, inputs, expected) = (Job::of(case), &case["inputs"], &case["expected"]);
            let left_on = inputs.text("trial_policy").contains("left on");
            let is_trial =
                |run: &&Value| run.text("label").starts_with("trial_plane") || run["label"] == "as_found";
            let runs: Runs = inputs
                .list("runs")
                .iter()
                .filter(is_trial)
                .map(|run| {
                    let mounted = job.unbalances(run.list("weights_on_rotor"));
                    let read: Vec<_> = job.readings(run).iter().map(Reading::vibration).collect();
                    (complex(&mounted), complex(&read))
                })
                .collect();
            assert_eq!(runs.len(), job.planes + 1);
            let weights = if inputs["channel_weights"].is_null() {
                vec![1.0; job.channels.len()]
            } else {
                inputs.numbers("channel_weights")
            };
            let bound = bound(expected.number("condition_number"), amplification_of(&runs, left_on));
            let want = complex(&job.unbalances(expected.list("corrections_total_all_trials_removed")));
            all.take(&general(&runs, &weights), &want, bound);
            match (job.planes, job.channels.len()) {
                (1, 1) => one.take(&closed_one_plane(&runs), &want, bound),
                (2, 2) => two.take(&closed_two_planes(&runs), &want, bound),
                _ => {}
            }
        }
    }
    one.say("reference vectors, one plane, closed");
    two.say("reference vectors, two planes, closed");
    all.say("reference vectors, general");
    assert!(one.cases >= 7 && two.cases >= 2 && all.cases >= 14, "{} {} {}", one.cases, two.cases, all.cases);
}
