//! The same numbers by the linear algebra of another library.

use counterpoise::{CorrectionQuestion, Estimator, Run, TwoPlanes};
use nalgebra::{DMatrix, DVector};
use num_complex::Complex64;
use proptest::collection::vec;
use proptest::prelude::*;

use super::machines::{Scattered, machine, scattered_job, sized};
use crate::support::{
    Plant, cases, channels, complex, distance, influence, length, modulus, unbalance, vibration, vibrations,
};

/// How the readings of a job are said to scatter.
#[derive(Clone, Copy, PartialEq)]
enum Scatter {
    Relative,
    /// With this standard deviation at weight 1.
    Known(f64),
}

fn estimated(job: &Scattered, scatter: Scatter, leave_out: Option<usize>) -> Estimator {
    let channels = channels(job.plant.points());
    let planes = job.plant.planes();
    let mut estimator = match scatter {
        Scatter::Relative => Estimator::with_relative_weights(&channels, planes),
        Scatter::Known(_) => Estimator::with_known_variances(&channels, planes),
    }
    .unwrap();
    for (at, ((mounted, read), &weight)) in job.runs.iter().zip(&job.weights).enumerate() {
        if leave_out == Some(at) {
            continue;
        }
        let mut run = Run::new("run");
        for (plane, &u) in mounted.iter().enumerate() {
            run = run.mounted(plane, unbalance(u));
        }
        for (channel, &v) in channels.iter().zip(read) {
            let reading = channel.reading_of(vibration(v));
            let reading = match scatter {
                Scatter::Relative => reading.with_weight(weight),
                Scatter::Known(sigma) => reading.with_standard_deviation(sigma / libm::sqrt(weight)),
            };
            run = run.reading(reading.unwrap());
        }
        estimator.add(run).unwrap();
    }
    estimator
}

/// √g A in real numbers: two rows for each run, two columns for each unknown.
fn real_design(job: &Scattered) -> DMatrix<f64> {
    let unknowns = job.plant.planes() + 1;
    DMatrix::from_fn(2 * job.runs.len(), 2 * unknowns, |i, j| {
        let (run, column) = (i / 2, j / 2);
        let z = if column == 0 { Complex64::new(1.0, 0.0) } else { job.runs[run].0[column - 1] };
        let root = libm::sqrt(job.weights[run]);
        root * match (i % 2, j % 2) {
            (0, 0) | (1, 1) => z.re,
            (0, _) => -z.im,
            _ => z.im,
        }
    })
}

fn real_readings(job: &Scattered, channel: usize) -> DVector<f64> {
    DVector::from_fn(2 * job.runs.len(), |i, _| {
        let v = job.runs[i / 2].1[channel];
        libm::sqrt(job.weights[i / 2]) * if i % 2 == 0 { v.re } else { v.im }
    })
}

fn complex_influence(plant: &Plant, weights: &[f64]) -> DMatrix<Complex64> {
    DMatrix::from_fn(plant.points(), plant.planes(), |k, p| plant.influence[k][p] * libm::sqrt(weights[k]))
}

/// A machine with a weight of its own for every channel.
fn weighted_machine() -> impl Strategy<Value = (Plant, Vec<f64>)> {
    (1..=4_usize, 0..=5_usize).prop_flat_map(|(planes, more)| {
        let weights = vec((1..=500_u32).prop_map(|tenths| f64::from(tenths) / 10.0), planes + more);
        (machine(planes + more, planes), weights)
    })
}

proptest! {
    #![proptest_config(cases(200))]

    /// The unknowns, the residual variance, the cofactor and both covariances of a fit.
    #[test]
    fn fit_and_covariance(job in scattered_job(2), sigma in 1..=1000_u32) {
        let sigma = f64::from(sigma) / 1000.0;
        let relative = estimated(&job, Scatter::Relative, None).fit().unwrap();
        let known = estimated(&job, Scatter::Known(sigma), None).fit().unwrap();
        let a = real_design(&job);
        let inverse = (a.transpose() * &a).try_inverse().unwrap();
        let unknowns = job.plant.planes() + 1;
        for channel in 0..job.plant.points() {
            let y = real_readings(&job, channel);
            let x = &inverse * (a.transpose() * &y);
            let residual = &y - &a * &x;
            let squares = residual.norm_squared();
            #[allow(clippy::cast_precision_loss, reason = "a dozen runs")]
            let variance = squares / (2.0 * (job.runs.len() - unknowns) as f64);
            let want: Vec<Complex64> = (0..unknowns).map(|i| Complex64::new(x[2 * i], x[2 * i + 1])).collect();
            for (fit, factor, of_cofactor) in [(&relative, variance, 1.0), (&known, sigma * sigma, sigma * sigma)] {
                let fit = &fit.channels()[channel];
                let mut got = vec![fit.as_found().complex()];
                got.extend(complex(fit.influence()));
                prop_assert!(distance(&got, &want) <= 1e-11 * length(&want));
                let covariance = fit.covariance().unwrap();
                for i in 0..2 * unknowns {
                    for j in 0..2 * unknowns {
                        let scale = libm::sqrt(inverse[(i, i)] * inverse[(j, j)]);
                        let want = inverse[(i, j)];
                        let got = covariance.get(i, j).unwrap();
                        prop_assert!((got - factor * want).abs() <= 1e-9 * factor * scale, "({i}, {j})");
                        let got = fit.cofactor().get(i, j).unwrap();
                        prop_assert!((got - of_cofactor * want).abs() <= 1e-11 * of_cofactor * scale, "({i}, {j})");
                    }
                }
            }
            let of = &relative.channels()[channel];
            prop_assert!((of.residual_variance().unwrap() - variance).abs() <= 1e-9 * variance);
            prop_assert!((of.weighted_sum_of_squares() - squares).abs() <= 1e-9 * squares);
            prop_assert!(of.chi_squared().is_none());
            let chi = known.channels()[channel].chi_squared().unwrap();
            prop_assert!((chi.value - squares / (sigma * sigma)).abs() <= 1e-9 * chi.value);
            prop_assert_eq!(chi.degrees_of_freedom, 2 * (job.runs.len() - unknowns));
        }
    }

    /// Leverages are the diagonal of the hat matrix and sum to the number of unknowns; what is left is at right angles to
    /// what the runs can show.
    #[test]
    fn leverages_and_residuals(job in scattered_job(1)) {
        let fit = estimated(&job, Scatter::Relative, None).fit().unwrap();
        let a = real_design(&job);
        let hat = &a * (a.transpose() * &a).try_inverse().unwrap() * a.transpose();
        for channel in fit.channels() {
            let mut sum = 0.0;
            for run in 0..job.runs.len() {
                let leverage = channel.leverage(run).unwrap();
                prop_assert!((leverage - hat[(2 * run, 2 * run)]).abs() <= 1e-11);
                sum += leverage;
            }
            #[allow(clippy::cast_precision_loss, reason = "a few planes")]
            let unknowns = (job.plant.planes() + 1) as f64;
            prop_assert!((sum - unknowns).abs() <= 1e-11);
            let left = DVector::from_fn(2 * job.runs.len(), |i, _| {
                let e = channel.residual(i / 2).unwrap().complex();
                libm::sqrt(job.weights[i / 2]) * if i % 2 == 0 { e.re } else { e.im }
            });
            prop_assert!((a.transpose() * left).norm() <= 1e-10);
        }
    }

    /// A studentised residual is what the fit of the other runs finds wrong with this one, over what it expects.
    #[test]
    fn studentised_residuals_are_those_of_leaving_one_out(job in scattered_job(1)) {
        let fit = estimated(&job, Scatter::Relative, None).fit().unwrap();
        for left_out in 0..job.runs.len() {
            let rest = estimated(&job, Scatter::Relative, Some(left_out)).fit().unwrap();
            let (mounted, read) = &job.runs[left_out];
            let weights: Vec<_> = mounted.iter().copied().map(unbalance).collect();
            for (channel, predicted) in rest.vibration_with(&weights).unwrap().iter().enumerate() {
                let others = &rest.channels()[channel];
                let deleted = modulus(read[channel] - predicted.complex());
                // Var = σ² (1/g + a C aᴴ), of each component: aᵀ of the real rows of this run.
                let mut row = vec![1.0, 0.0];
                row.extend(mounted.iter().flat_map(|u| [u.re, -u.im]));
                let mut spread = 1.0 / job.weights[left_out];
                for (i, x) in row.iter().enumerate() {
                    for (j, y) in row.iter().enumerate() {
                        spread += x * y * others.cofactor().get(i, j).unwrap();
                    }
                }
                let want = deleted / libm::sqrt(2.0 * others.residual_variance().unwrap() * spread);
                let got = fit.channels()[channel].studentised_residual(left_out).unwrap();
                prop_assert!((got - want).abs() <= 1e-7 * (1.0 + want), "{got} {want}");
                // And the plain one: r = |e| √g / √(2 σ² (1 − h)).
                let of = &fit.channels()[channel];
                let (e, h) = (of.residual(left_out).unwrap().amplitude(), of.leverage(left_out).unwrap());
                let plain = e * libm::sqrt(job.weights[left_out] / (2.0 * of.residual_variance().unwrap() * (1.0 - h)));
                prop_assert!((of.standardised_residual(left_out).unwrap() - plain).abs() <= 1e-12 * (1.0 + plain));
            }
        }
    }

    #[test]
    fn singular_values_and_condition_number((plant, weights) in weighted_machine()) {
        let matrix = plant.matrix();
        for weights in [weights, Vec::new()] {
            let all = if weights.is_empty() { vec![1.0; plant.points()] } else { weights.clone() };
            let mut want = complex_influence(&plant, &all).singular_values().as_slice().to_vec();
            want.sort_by(|a, b| b.total_cmp(a));
            let got = matrix.singular_values(&weights).unwrap();
            prop_assert_eq!(got.len(), want.len());
            for (got, value) in got.iter().zip(&want) {
                prop_assert!((got - value).abs() <= 1e-13 * want[0]);
            }
            let condition = want[0] / want[want.len() - 1];
            let got = matrix.condition_number(&weights).unwrap();
            prop_assert!((got - condition).abs() <= 1e-12 * condition * condition);
        }
    }

    #[test]
    fn condition_number_of_two_planes_in_closed_form(plant in machine(2, 2)) {
        let rows = [0, 1].map(|k| [0, 1].map(|p| influence(plant.influence[k][p])));
        let got = TwoPlanes::from_influence(rows).unwrap().condition_number();
        let values = complex_influence(&plant, &[1.0, 1.0]).singular_values();
        let want = values.max() / values.min();
        prop_assert!((got - want).abs() <= 1e-13 * want * want, "{got} {want}");
    }

    #[test]
    fn least_squares((plant, weights) in weighted_machine()) {
        let matrix = plant.matrix();
        let question = CorrectionQuestion::new(&matrix, &vibrations(&plant.as_found)).unwrap();
        let answer = question.channel_weights(&weights).solve().unwrap();
        let weighted = complex_influence(&plant, &weights);
        let right = DVector::from_fn(plant.points(), |k, _| -plant.as_found[k] * libm::sqrt(weights[k]));
        // By QR: the other library's SVD is a hundred times less exact here.
        let qr = weighted.clone().qr();
        let want = qr.r().solve_upper_triangular(&(qr.q().adjoint() * &right)).unwrap();
        // The parts of the answer may nearly cancel: ‖v‖/σ, with σ the least singular value, is what they are as large as.
        // What is left over adds as much again, times κ.
        let values = weighted.clone().singular_values();
        let (parts, kappa) = (right.norm() / values.min(), values.max() / values.min());
        let off = distance(&complex(answer.added()), want.as_slice());
        prop_assert!(off <= 1e-14 * kappa * parts, "{off} of {parts}, condition number {kappa}");
        let value = (&weighted * &want - &right).norm();
        prop_assert!((answer.objective_value() - value).abs() <= 1e-12 * right.norm());
        let sum: f64 = weights.iter().sum();
        prop_assert!((answer.weighted_rms() - value / libm::sqrt(sum)).abs() <= 1e-12 * right.norm());

        // The certificate: at right angles to every plane, of unit length, and its bound is the value.
        if plant.points() > plant.planes() {
            prop_assert!(value > 1e-6 * right.norm());
            let dual = answer.certificate().dual();
            for plane in 0..plant.planes() {
                let along: Complex64 = (0..plant.points()).map(|k| plant.influence[k][plane].conj() * dual[k]).sum();
                prop_assert!(modulus(along) <= 1e-8 * length(dual));
            }
            let squares: f64 = dual.iter().zip(&weights).map(|(y, g)| (y.re * y.re + y.im * y.im) / g).sum();
            prop_assert!((squares - 1.0).abs() <= 1e-9);
            prop_assert!((answer.certificate().lower_bound() - value).abs() <= 1e-9 * right.norm());
        }
    }

    /// What the runs of a channel can tell.
    #[test]
    fn design(job in scattered_job(1), column in sized(1..=9)) {
        let estimator = estimated(&job, Scatter::Relative, None);
        let design = estimator.design(0).unwrap();
        let a = real_design(&job);
        let mut want = a.singular_values().as_slice().to_vec();
        want.sort_by(|a, b| b.total_cmp(a));
        // Every singular value of the complex matrix is one twice of the real.
        for (at, value) in design.singular_values.iter().enumerate() {
            prop_assert!((value - want[2 * at]).abs() <= 1e-12 * want[0]);
        }
        let unknowns = job.plant.planes() + 1;
        prop_assert_eq!((design.rank, design.unknowns, design.readings), (unknowns, unknowns, job.runs.len()));
        prop_assert!(design.condition_number >= 1.0 && design.condition_number.is_finite());

        // A plane more whose weight always goes with that of plane 0 cannot be told from it.
        let tied: Vec<_> = job
            .runs
            .iter()
            .map(|(mounted, read)| {
                let mut more = mounted.clone();
                more.push(mounted[0] * column);
                (more, read.clone())
            })
            .collect();
        let tied = crate::support::estimator(&channels(job.plant.points()), unknowns, &tied);
        let design = tied.design(0).unwrap();
        prop_assert_eq!((design.rank, design.unknowns), (unknowns, unknowns + 1));
        prop_assert!(design.condition_number.is_infinite());
        let error = tied.fit().unwrap_err();
        let counterpoise::EstimateError::Undetermined(undetermined) = error else { panic!("{error}") };
        prop_assert_eq!(&undetermined.groups[0].planes, &vec![0, unknowns - 1]);
        prop_assert!(!undetermined.groups[0].as_found);
    }
}
