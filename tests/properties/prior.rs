//! A prior on the coefficients, between nothing known and all known.

use counterpoise::{
    Channel, CorrectionQuestion, Covariance, Estimator, InfluenceMatrix, OnePlane, Prior, Run,
};
use nalgebra::{DMatrix, DVector};
use num_complex::Complex64;
use proptest::collection::vec;
use proptest::prelude::*;

use super::machines::{Scattered, machine, scattered_job, sized, trials};
use crate::support::{
    Plant, cases, channels, complex, distance, influence, length, modulus, unbalance, vibration, vibrations,
};

/// The standard deviation of every reading here.
const SIGMA: f64 = 0.05;

fn read(channels: &[Channel], mounted: &[Complex64], read: &[Complex64], sigma: f64) -> Run {
    let mut run = Run::new("run");
    for (plane, &u) in mounted.iter().enumerate() {
        run = run.mounted(plane, unbalance(u));
    }
    for (channel, &v) in channels.iter().zip(read) {
        run = run.reading(channel.reading_of(vibration(v)).with_standard_deviation(sigma).unwrap());
    }
    run
}

/// An estimator with known variances: a reading of weight g has the variance σ²/g.
fn known(job: &Scattered) -> Estimator {
    let channels = channels(job.plant.points());
    let mut estimator = Estimator::with_known_variances(&channels, job.plant.planes()).unwrap();
    for ((mounted, values), weight) in job.runs.iter().zip(&job.weights) {
        estimator.add(read(&channels, mounted, values, SIGMA / libm::sqrt(*weight))).unwrap();
    }
    estimator
}

fn with_prior(estimator: Estimator, prior: &Prior) -> Estimator {
    estimator.with_prior(prior.clone()).unwrap()
}

/// A prior whose mean is off the machine's coefficients by some tenths.
fn matrix(plant: &Plant, off: Complex64) -> InfluenceMatrix {
    let coefficients: Vec<_> = plant.influence.iter().flatten().map(|h| influence(h * (1.0 + off))).collect();
    InfluenceMatrix::new(&channels(plant.points()), plant.planes(), &coefficients).unwrap()
}

fn close(got: &[Complex64], want: &[Complex64], relative: f64) -> Result<(), TestCaseError> {
    prop_assert!(distance(got, want) <= relative * length(want), "{got:?} is not {want:?}");
    Ok(())
}

/// Two covariances, entry by entry, on the scale of the standard deviations.
fn close_covariance(got: &Covariance, want: &DMatrix<f64>, relative: f64) -> Result<(), TestCaseError> {
    let size = 2 * got.unknowns();
    prop_assert_eq!((want.nrows(), want.ncols()), (size, size));
    for i in 0..size {
        for j in 0..size {
            let scale = libm::sqrt(want[(i, i)] * want[(j, j)]);
            let (x, y) = (got.get(i, j).unwrap(), want[(i, j)]);
            prop_assert!((x - y).abs() <= relative * scale, "({i}, {j}): {x} is not {y}");
        }
    }
    Ok(())
}

/// The real rows of the readings of one channel, each over its standard deviation: a design matrix and a right-hand side.
fn real_rows(job: &Scattered, channel: usize, before: usize, jobs: usize) -> (DMatrix<f64>, DVector<f64>) {
    let planes = job.plant.planes();
    // The columns: one vibration as found for each of so many jobs, of which `before` come first; then the coefficients.
    let unknowns = jobs + planes;
    let mut a = DMatrix::zeros(2 * job.runs.len(), 2 * unknowns);
    let mut y = DVector::zeros(2 * job.runs.len());
    for (row, ((mounted, values), weight)) in job.runs.iter().zip(&job.weights).enumerate() {
        let root = libm::sqrt(*weight) / SIGMA;
        let mut put = |column: usize, z: Complex64| {
            a[(2 * row, 2 * column)] = z.re * root;
            a[(2 * row, 2 * column + 1)] = -z.im * root;
            a[(2 * row + 1, 2 * column)] = z.im * root;
            a[(2 * row + 1, 2 * column + 1)] = z.re * root;
        };
        put(before, Complex64::new(1.0, 0.0));
        for (plane, &u) in mounted.iter().enumerate() {
            put(jobs + plane, u);
        }
        y[2 * row] = values[channel].re * root;
        y[2 * row + 1] = values[channel].im * root;
    }
    (a, y)
}

/// A symmetric positive definite matrix of the coefficients of one channel, from a draw of its factor: no two components
/// alike, all correlated.
fn noncircular(planes: usize, draw: &[i32]) -> DMatrix<f64> {
    let size = 2 * planes;
    let factor = DMatrix::from_fn(size, size, |i, j| match i.cmp(&j) {
        core::cmp::Ordering::Less => 0.0,
        core::cmp::Ordering::Equal => 0.02 + f64::from(draw[i * size + j].abs()) / 5000.0,
        core::cmp::Ordering::Greater => f64::from(draw[i * size + j]) / 10_000.0,
    });
    &factor * factor.transpose()
}

fn covariance(matrix: &DMatrix<f64>) -> Covariance {
    let size = matrix.nrows();
    // Symmetric to the last digit: the upper triangle is that of the lower.
    let entries: Vec<f64> =
        (0..size * size).map(|at| matrix[((at / size).max(at % size), (at / size).min(at % size))]).collect();
    Covariance::from_entries(size / 2, &entries).unwrap()
}

proptest! {
    #![proptest_config(cases(200))]

    #[test]
    fn a_very_wide_prior_is_none(job in scattered_job(2), off in sized(0..=900)) {
        let plain = known(&job).fit().unwrap();
        let prior = Prior::with_relative_spread(matrix(&job.plant, off), 1e7).unwrap();
        let fit = with_prior(known(&job), &prior).fit().unwrap();
        for (got, want) in fit.channels().iter().zip(plain.channels()) {
            close(&complex(got.influence()), &complex(want.influence()), 1e-10)?;
            close(&[got.as_found().complex()], &[want.as_found().complex()], 1e-10)?;
            let size = 2 * want.cofactor().unknowns();
            let entries = DMatrix::from_row_slice(size, size, want.cofactor().entries());
            close_covariance(&got.covariance().unwrap(), &entries, 1e-10)?;
            for run in 0..job.runs.len() {
                let (got, want) = (got.leverage(run).unwrap(), want.leverage(run).unwrap());
                prop_assert!((got - want).abs() <= 1e-10);
            }
        }
    }

    #[test]
    fn a_very_tight_prior_is_returned(job in scattered_job(2), off in sized(0..=900)) {
        let stored = matrix(&job.plant, off);
        let spread = 1e-9;
        let prior = Prior::with_relative_spread(stored.clone(), spread).unwrap();
        let fit = with_prior(known(&job), &prior).fit().unwrap();
        close(&complex(fit.influence().coefficients()), &complex(stored.coefficients()), 1e-8)?;
        for (channel, got) in fit.channels().iter().enumerate() {
            for (plane, h) in stored.row(channel).unwrap().iter().enumerate() {
                let deviation = spread * h.per_gram_millimetre();
                let block = got.covariance().unwrap().block(plane + 1, plane + 1).unwrap();
                prop_assert!((block[0][0] / (deviation * deviation) - 1.0).abs() < 1e-6);
            }
            // With the coefficients known, the vibration as found is the weighted mean of readings less effects.
            let (mut sum, mut weights) = (Complex64::default(), 0.0);
            for ((mounted, values), weight) in job.runs.iter().zip(&job.weights) {
                let effect: Complex64 = stored.row(channel).unwrap().iter().zip(mounted).map(|(h, u)| h.complex() * u).sum();
                sum += (values[channel] - effect) * *weight;
                weights += weight;
            }
            prop_assert!(modulus(got.as_found().complex() - sum / weights) <= 1e-6);
        }
    }

    /// One reading with a prior is one-shot balancing: the coefficients stay, and the correction is that of the stored ones.
    #[test]
    fn one_reading_and_a_prior_is_one_shot(
        (plant, mounted) in (1..=3_usize).prop_flat_map(|planes| (machine(planes, planes), trials(planes))),
        off in sized(0..=900), percent in 1..=50_u32,
    ) {
        let stored = matrix(&plant, off);
        let spread = f64::from(percent) / 100.0;
        let prior = Prior::with_relative_spread(stored.clone(), spread).unwrap();
        let channels = channels(plant.points());
        let mut estimator = Estimator::with_known_variances(&channels, plant.planes()).unwrap().with_prior(prior).unwrap();
        let now = plant.read(&mounted);
        estimator.add(read(&channels, &mounted, &now, SIGMA)).unwrap();
        let fit = estimator.fit().unwrap();
        close(&complex(fit.influence().coefficients()), &complex(stored.coefficients()), 1e-13)?;
        let mounted_now: Vec<_> = mounted.iter().copied().map(unbalance).collect();
        // v0 = v − H u
        let effect = stored.effect_of(&mounted_now).unwrap();
        let bare: Vec<Complex64> = now.iter().zip(effect).map(|(v, effect)| v - effect.complex()).collect();
        let scale = length(&now) + length(&bare);
        prop_assert!(distance(&complex(&fit.as_found()), &bare) <= 1e-13 * scale);
        for (channel, of) in fit.channels().iter().enumerate() {
            // Var v0 = σ² + Σ_p (s |H_p| |u_p|)²
            let from_planes: f64 = stored
                .row(channel)
                .unwrap()
                .iter()
                .zip(&mounted)
                .map(|(h, &u)| spread * h.per_gram_millimetre() * modulus(u))
                .map(|deviation| deviation * deviation)
                .sum();
            let want = SIGMA * SIGMA + from_planes;
            let got = of.covariance().unwrap().get(0, 0).unwrap();
            prop_assert!((got - want).abs() <= 1e-11 * want, "{got} {want}");
            prop_assert!(of.chi_squared().is_none() && of.residual_variance().is_none());
        }
        let question = CorrectionQuestion::new(fit.influence(), &vibrations(&now)).unwrap();
        let answer = question.solve().unwrap();
        if plant.planes() == 1 {
            let one = OnePlane::from_influence(stored.get(0, 0).unwrap()).unwrap();
            close(&complex(answer.added()), &[one.correction(vibration(now[0])).unwrap().complex()], 1e-12)?;
        }
        prop_assert!(length(&complex(answer.predicted())) <= 1e-12 * length(&now));
    }

    /// A prior that says more of some components than of others, against the normal equations in real numbers.
    #[test]
    fn a_noncircular_prior_is_that_of_the_normal_equations(
        job in scattered_job(1), off in sized(0..=900), draw in vec(-1000..=1000_i32, 36),
    ) {
        let planes = job.plant.planes();
        let stored = matrix(&job.plant, off);
        let prior_covariance = noncircular(planes, &draw);
        let of_channels = vec![covariance(&prior_covariance); job.plant.points()];
        let prior = Prior::with_covariances(stored.clone(), of_channels).unwrap();
        let fit = with_prior(known(&job), &prior).fit().unwrap();
        let inverse = prior_covariance.try_inverse().unwrap();
        for (channel, got) in fit.channels().iter().enumerate() {
            let (a, y) = real_rows(&job, channel, 0, 1);
            // (AᵀA + Λ) x = Aᵀy + Λ h0, with Λ zero for v0
            let mut normal = a.transpose() * &a;
            let mut right = a.transpose() * y;
            let mean: Vec<f64> = stored.row(channel).unwrap().iter().flat_map(|h| [h.complex().re, h.complex().im]).collect();
            let pull = &inverse * DVector::from_vec(mean);
            for i in 0..2 * planes {
                right[2 + i] += pull[i];
                for j in 0..2 * planes {
                    normal[(2 + i, 2 + j)] += inverse[(i, j)];
                }
            }
            let inverse_normal = normal.try_inverse().unwrap();
            let x = &inverse_normal * right;
            let want: Vec<Complex64> = (0..=planes).map(|i| Complex64::new(x[2 * i], x[2 * i + 1])).collect();
            let mut found = vec![got.as_found().complex()];
            found.extend(complex(got.influence()));
            close(&found, &want, 1e-10)?;
            close_covariance(&got.covariance().unwrap(), &inverse_normal, 1e-10)?;
            // The leverage of a reading: half the trace of its two rows of A (AᵀA + Λ)⁻¹ Aᵀ.
            let hat = &a * &inverse_normal * a.transpose();
            for run in 0..job.runs.len() {
                let want = f64::midpoint(hat[(2 * run, 2 * run)], hat[(2 * run + 1, 2 * run + 1)]);
                prop_assert!((got.leverage(run).unwrap() - want).abs() <= 1e-10);
            }
        }
    }

    /// Two jobs of one machine, one after the other through a prior, or both at once with a vibration as found for each.
    #[test]
    fn jobs_one_after_the_other_equal_both_at_once(
        (first, second, others) in scattered_job(1)
            .prop_flat_map(|job| {
                let (planes, points) = (job.plant.planes(), job.plant.points());
                (Just(job.clone()), Just(job), vec((vec(sized(0..=4000), planes), vec(sized(500..=9000), points)), 1..=3))
            }),
    ) {
        // The second job has other runs, one of them perhaps alone.
        let second = Scattered { weights: vec![2.0; others.len()], runs: others, ..second };
        let planes = first.plant.planes();
        let stored = Prior::from_fit(&known(&first).fit().unwrap()).unwrap();
        let fit = with_prior(known(&second), &stored).fit().unwrap();
        for (channel, got) in fit.channels().iter().enumerate() {
            let ((a1, y1), (a2, y2)) = (real_rows(&first, channel, 0, 2), real_rows(&second, channel, 1, 2));
            let normal = a1.transpose() * &a1 + a2.transpose() * &a2;
            let inverse = normal.try_inverse().unwrap();
            let x = &inverse * (a1.transpose() * y1 + a2.transpose() * y2);
            let want: Vec<Complex64> = (1..planes + 2).map(|i| Complex64::new(x[2 * i], x[2 * i + 1])).collect();
            let mut found = vec![got.as_found().complex()];
            found.extend(complex(got.influence()));
            close(&found, &want, 1e-9)?;
            let of_second = inverse.view((2, 2), (2 * planes + 2, 2 * planes + 2)).into_owned();
            close_covariance(&got.covariance().unwrap(), &of_second, 1e-9)?;
        }
    }

    /// Widening adds the square of the fraction times the coefficient to each variance, and nothing else.
    #[test]
    fn widening_adds_variances(
        plant in machine(2, 2), draw in vec(-1000..=1000_i32, 16), percent in 0..=100_u32,
    ) {
        let stored = matrix(&plant, Complex64::default());
        let before = covariance(&noncircular(2, &draw));
        let fraction = f64::from(percent) / 100.0;
        let prior = Prior::with_covariances(stored.clone(), vec![before.clone(); 2]).unwrap().widened_by(fraction).unwrap();
        for (channel, after) in prior.covariances().iter().enumerate() {
            for i in 0..4 {
                for j in 0..4 {
                    let spread = fraction * modulus(plant.influence[channel][i / 2]);
                    let want = before.get(i, j).unwrap() + if i == j { spread * spread } else { 0.0 };
                    prop_assert!((after.get(i, j).unwrap() - want).abs() <= 1e-13 * want.abs());
                }
            }
        }
    }
}
