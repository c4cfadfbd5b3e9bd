//! Uncertainty against ways to the same number that share no code with it: differences, plain matrices, seeded draws.
#![cfg(feature = "alloc")]
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::disallowed_methods,
    clippy::cast_precision_loss,
    clippy::needless_range_loop
)]

mod support;

use counterpoise::{
    Channel, Conformity, DegreesOfFreedom, Detectability, Detector, Estimator, InfluenceFit, Length, Mass,
    PhaseSense, Radius, Reading, Repeats, RotorAngle, Run, Scatter, Speed, SpeedWindow, UnbalanceVector,
    Uncertainty, UncertaintyError, Vibration, VibrationScale, VibrationUnit, Weight,
};
use num_complex::Complex64;
use proptest::prelude::*;
use support::drawn::Draws;

fn channels(count: u16) -> Vec<Channel> {
    let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0).unwrap(), 1.0).unwrap();
    (1..=count).map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window)).collect()
}

fn vibration(z: Complex64) -> Vibration {
    Vibration::from_components(z.re, z.im).unwrap()
}

fn unbalance(z: Complex64) -> UnbalanceVector {
    UnbalanceVector::from_components_gram_millimetres(z.re, z.im).unwrap()
}

/// Runs of a job: what was mounted per plane, what was read per channel and how it scatters.
#[derive(Debug, Clone)]
struct Job {
    mounted: Vec<Vec<Complex64>>,
    read: Vec<Vec<Complex64>>,
    scatter: Vec<Vec<[[f64; 2]; 2]>>,
}

impl Job {
    fn fit(&self) -> InfluenceFit {
        let channels = channels(u16::try_from(self.read[0].len()).unwrap());
        let mut estimator = Estimator::with_known_variances(&channels, self.mounted[0].len()).unwrap();
        for ((mounted, read), scatter) in self.mounted.iter().zip(&self.read).zip(&self.scatter) {
            let mut run = Run::new("run");
            for (plane, &u) in mounted.iter().enumerate() {
                run = run.mounted(plane, unbalance(u));
            }
            for ((channel, &z), &s) in channels.iter().zip(read).zip(scatter) {
                let scatter = Scatter::from_covariance(s, DegreesOfFreedom::Known).unwrap();
                run = run.reading(channel.reading_of(vibration(z)).with_scatter(scatter));
            }
            estimator.add(run).unwrap();
        }
        estimator.fit().unwrap()
    }

    fn total(&self) -> Vec<Complex64> {
        let correction = Uncertainty::of(&self.fit()).unwrap().correction(&[]).unwrap();
        correction.total().iter().map(|total| total.value().complex()).collect()
    }
}

fn complex(size: f64) -> impl Strategy<Value = Complex64> {
    (-1.0..1.0, -1.0..1.0).prop_map(move |(re, im)| Complex64::new(re, im) * size)
}

fn covariance() -> impl Strategy<Value = [[f64; 2]; 2]> {
    (0.01..0.1_f64, 0.01..0.1_f64, -0.9..0.9_f64)
        .prop_map(|(a, b, r)| [[a * a, r * a * b], [r * a * b, b * b]])
}

/// Trials plane by plane, and as many runs more as are asked for.
fn job(planes: usize, channels: usize, more: usize) -> impl Strategy<Value = Job> {
    let runs = planes + 1 + more;
    (
        prop::collection::vec(complex(5.0), channels),
        prop::collection::vec(prop::collection::vec((1.0..3.0_f64, 0.0..6.0_f64), planes), channels),
        prop::collection::vec(prop::collection::vec((0.5..1.5_f64, 0.0..6.0_f64), planes), runs),
        prop::collection::vec(prop::collection::vec(complex(0.1), channels), runs),
        prop::collection::vec(prop::collection::vec(covariance(), channels), runs),
    )
        .prop_map(move |(as_found, influence, on, noise, scatter)| {
            let polar = |&(size, turn): &(f64, f64)| Complex64::from_polar(size, turn);
            let mounted: Vec<Vec<Complex64>> = on
                .iter()
                .enumerate()
                .map(|(run, on)| {
                    let on_in = |(plane, on): (usize, &(f64, f64))| {
                        let trial = run > planes || run == plane + 1;
                        if trial { polar(on) * 1000.0 } else { Complex64::default() }
                    };
                    on.iter().enumerate().map(on_in).collect()
                })
                .collect();
            // The planes act on channels of their own first, so that the correction is well determined.
            let h = |channel: usize, plane: usize| {
                let weight = if channel % planes == plane { 1.0 } else { 0.2 };
                polar(&influence[channel][plane]) * weight * 1e-3
            };
            let read = mounted
                .iter()
                .zip(&noise)
                .map(|(on, noise)| {
                    let of_channel = |(channel, noise): (usize, &Complex64)| {
                        let effect: Complex64 =
                            on.iter().enumerate().map(|(plane, u)| h(channel, plane) * u).sum();
                        as_found[channel] + effect + noise
                    };
                    noise.iter().enumerate().map(of_channel).collect()
                })
                .collect();
            Job { mounted, read, scatter }
        })
}

fn jobs() -> impl Strategy<Value = Job> {
    prop_oneof![job(1, 1, 0), job(1, 1, 3), job(2, 2, 0), job(2, 2, 2), job(1, 3, 1), job(2, 4, 1)]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// `C_w = Σ J_i S_i J_iᵀ`, the Jacobian of each reading by differences of the whole computation.
    #[test]
    fn first_order_covariance_is_what_differences_of_the_readings_give(job in jobs()) {
        let planes = job.mounted[0].len();
        let correction = Uncertainty::of(&job.fit()).unwrap().correction(&[]).unwrap();
        let mut naive = vec![vec![0.0; 2 * planes]; 2 * planes];
        let step = 1e-5;
        for run in 0..job.read.len() {
            for channel in 0..job.read[0].len() {
                let columns: Vec<Vec<f64>> = [Complex64::new(step, 0.0), Complex64::new(0.0, step)]
                    .iter()
                    .map(|&d| {
                        let moved = |d: Complex64| {
                            let mut moved = job.clone();
                            moved.read[run][channel] += d;
                            moved.total()
                        };
                        let (up, down) = (moved(d), moved(-d));
                        up.iter().zip(&down).flat_map(|(a, b)| { let z = (a - b) / (2.0 * step); [z.re, z.im] }).collect()
                    })
                    .collect();
                let s = job.scatter[run][channel];
                for i in 0..2 * planes {
                    for j in 0..2 * planes {
                        for a in 0..2 {
                            for b in 0..2 {
                                naive[i][j] += columns[a][i] * s[a][b] * columns[b][j];
                            }
                        }
                    }
                }
            }
        }
        let largest = (0..2 * planes).map(|i| naive[i][i]).fold(0.0, f64::max);
        for i in 0..2 * planes {
            for j in 0..2 * planes {
                let got = correction.covariance().get(i, j).unwrap();
                prop_assert!((got - naive[i][j]).abs() <= 1e-5 * largest, "{} {}: {} {}", i, j, got, naive[i][j]);
            }
        }
    }

    /// The same of the prediction with given weights.
    #[test]
    fn the_prediction_scatters_as_differences_of_the_readings_say(job in jobs(), on in complex(2000.0)) {
        let planes = job.mounted[0].len();
        let on = vec![unbalance(on); planes];
        let got = Uncertainty::of(&job.fit()).unwrap().vibration_with(&on).unwrap();
        for (channel, got) in got.iter().enumerate() {
            let mut naive = [[0.0; 2]; 2];
            for run in 0..job.read.len() {
                let gain = |d: Complex64| {
                    let mut moved = job.clone();
                    moved.read[run][channel] += d;
                    let before = job.fit().vibration_with(&on).unwrap()[channel].complex();
                    moved.fit().vibration_with(&on).unwrap()[channel].complex() - before
                };
                let columns = [gain(Complex64::new(1.0, 0.0)), gain(Complex64::new(0.0, 1.0))].map(|z| [z.re, z.im]);
                let s = job.scatter[run][channel];
                for i in 0..2 { for j in 0..2 { for a in 0..2 { for b in 0..2 {
                    naive[i][j] += columns[a][i] * s[a][b] * columns[b][j];
                } } } }
            }
            let largest = naive[0][0].max(naive[1][1]);
            for i in 0..2 { for j in 0..2 {
                prop_assert!((got.covariance()[i][j] - naive[i][j]).abs() <= 1e-9 * largest);
            } }
        }
    }

    /// A trial weight that was heavier or elsewhere: differences of the whole computation again.
    #[test]
    fn weight_scatter_is_carried_as_differences_say(job in prop_oneof![job(1, 2, 0), job(2, 2, 0), job(2, 3, 2)]) {
        let planes = job.mounted[0].len();
        let radius = Radius::from_millimetres(100.0).unwrap();
        let trial = unbalance(job.mounted[1][0]).weight_at(radius);
        let (mass_deviation, angle_deviation) = (0.05, 1.5);
        let plain = Uncertainty::of(&job.fit()).unwrap();
        let before = plain.correction(&[]).unwrap();
        let with = plain
            .clone()
            .with_weight_scatter(0, &[1], trial, Mass::from_grams(mass_deviation).unwrap(), angle_deviation)
            .unwrap()
            .correction(&[])
            .unwrap();
        let unit = job.mounted[1][0] / job.mounted[1][0].norm();
        let across = job.mounted[1][0].norm() * angle_deviation.to_radians();
        let moves = [unit * mass_deviation * 100.0, unit * Complex64::new(0.0, 1.0) * across];
        let mut naive = vec![vec![0.0; 2 * planes]; 2 * planes];
        for d in moves {
            let step = 1e-4;
            let moved = |sign: f64| {
                let mut moved = job.clone();
                moved.mounted[1][0] += d * (step * sign);
                moved.total()
            };
            let column: Vec<f64> = moved(1.0)
                .iter()
                .zip(&moved(-1.0))
                .flat_map(|(a, b)| { let z = (a - b) / (2.0 * step); [z.re, z.im] })
                .collect();
            for i in 0..2 * planes { for j in 0..2 * planes { naive[i][j] += column[i] * column[j]; } }
        }
        let largest = (0..2 * planes).map(|i| naive[i][i]).fold(0.0, f64::max);
        for i in 0..2 * planes { for j in 0..2 * planes {
            let got = with.covariance().get(i, j).unwrap() - before.covariance().get(i, j).unwrap();
            prop_assert!((got - naive[i][j]).abs() <= 1e-4 * largest + 1e-9 * before.covariance().get(i, i).unwrap(), "{} {}: {} {}", i, j, got, naive[i][j]);
        } }
    }

    /// No weights near the answer have less expected squares, and the plain correction has no less.
    #[test]
    fn nothing_beats_the_least_expected_squares(job in jobs(), turn in complex(1.0)) {
        let uncertainty = Uncertainty::of(&job.fit()).unwrap();
        let optimum = uncertainty.least_expected_squares(&[]).unwrap();
        let channels = job.read[0].len() as f64;
        let expected = |total: &[UnbalanceVector]| -> f64 {
            let next = uncertainty.vibration_with(total).unwrap();
            next.iter().map(|next| {
                let c = next.covariance();
                next.value().amplitude().powi(2) + c[0][0] + c[1][1]
            }).sum()
        };
        let least = optimum.expected_rms().powi(2) * channels;
        prop_assert!((expected(optimum.total()) / least - 1.0).abs() < 1e-9);
        prop_assert!(optimum.plain_expected_rms() >= optimum.expected_rms() * (1.0 - 1e-12));
        for plane in 0..optimum.total().len() {
            let mut moved = optimum.total().to_vec();
            moved[plane] = moved[plane] + unbalance(turn * 50.0);
            prop_assert!(expected(&moved) >= least * (1.0 - 1e-9));
        }
    }

    /// What scatters in both channels at once joins them; where it is next to nothing, the joint statistic is the sum.
    #[test]
    fn a_coupled_region_tends_to_the_uncoupled_one(job in job(2, 2, 1), on in complex(3000.0), off in complex(3000.0)) {
        let plain = Uncertainty::of(&job.fit()).unwrap();
        let trial = unbalance(job.mounted[1][0]).weight_at(Radius::from_millimetres(100.0).unwrap());
        let hardly = plain.clone().with_weight_scatter(0, &[1], trial, Mass::from_grams(1e-9).unwrap(), 0.0).unwrap();
        let much = plain.clone().with_weight_scatter(0, &[1], trial, Mass::from_grams(1.0).unwrap(), 5.0).unwrap();
        let total = [unbalance(on), unbalance(off)];
        let over = |uncertainty: &Uncertainty| {
            uncertainty.correction_region(0.9).unwrap().statistic_over_limit(&total).unwrap()
        };
        prop_assert!((over(&hardly) / over(&plain) - 1.0).abs() < 1e-6);
        prop_assert!(over(&much) < over(&plain));
    }

    /// With two planes seen through two channels with one scatter, the least statistic far out is the least singular value of
    /// the whitened coefficients: both planes as they are, and one nearly the double of the other.
    #[test]
    fn two_planes_that_are_not_told_apart_leave_a_region_without_end(job in job(2, 2, 1), alike in 0.0..0.02_f64) {
        let mut job = job;
        for scatter in job.scatter.iter_mut().flatten() {
            *scatter = [[2.5e-3, 0.0], [0.0, 2.5e-3]];
        }
        let seen = Uncertainty::of(&job.fit()).unwrap();
        prop_assert!(seen.correction_region(0.95).unwrap().is_bounded());
        // What plane 1 does is made nearly what plane 0 does: no run tells the two apart.
        let h: Vec<Vec<Complex64>> = {
            let fit = job.fit();
            (0..2).map(|k| (0..2).map(|p| fit.influence().get(k, p).unwrap().complex()).collect()).collect()
        };
        for (on, read) in job.mounted.iter().zip(&mut job.read) {
            for (k, read) in read.iter_mut().enumerate() {
                *read += (h[k][0] * 2.0 * (1.0 + alike * (k as f64 - 0.5)) - h[k][1]) * on[1];
            }
        }
        let blurred = Uncertainty::of(&job.fit()).unwrap();
        let region = blurred.correction_region(0.95).unwrap();
        let combination = region.without_end();
        prop_assert!(combination.is_some());
        let combination: Vec<Complex64> = combination.unwrap().iter().map(|u| u.complex()).collect();
        // Twice as much in plane 0, on the other side, is what nothing shows.
        prop_assert!((combination[0] + combination[1] * 2.0).norm() < 0.5, "{:?}", combination);
    }

    /// With one plane the boundary is where the statistic is at its limit, and clear trials have nearly the ellipse of first
    /// order.
    #[test]
    fn the_boundary_of_the_exact_region_is_at_the_limit(job in prop_oneof![job(1, 1, 0), job(1, 1, 2)]) {
        let uncertainty = Uncertainty::of(&job.fit()).unwrap();
        let region = uncertainty.correction_region(0.95).unwrap();
        let response = uncertainty.trial_response(0, 0).unwrap();
        prop_assert_eq!(region.is_bounded(), response.detectability() != Detectability::NotDetectable);
        if let Some(boundary) = region.boundary(24).unwrap() {
            for point in boundary {
                prop_assert!((region.statistic_over_limit(&[point]).unwrap() - 1.0).abs() < 1e-9);
            }
        }
        let plain: Vec<UnbalanceVector> = job.total().into_iter().map(unbalance).collect();
        prop_assert!(region.holds(&plain).unwrap());
    }
}

#[test]
fn draws_agree_with_first_order_and_repeat_with_their_seed() {
    let [channel] = channels(1)[..] else { panic!("one channel") };
    let read = |re, im| {
        channel.reading_of(Vibration::from_components(re, im).unwrap()).with_standard_deviation(0.02).unwrap()
    };
    let mut estimator = Estimator::with_known_variances(&[channel], 1).unwrap();
    let trial = UnbalanceVector::from_components_gram_millimetres(1000.0, 0.0).unwrap();
    estimator.add(Run::new("as found").reading(read(3.0, 0.5))).unwrap();
    estimator.add(Run::new("trial").mounted(0, trial).reading(read(0.8, -1.0))).unwrap();
    let uncertainty = Uncertainty::of(&estimator.fit().unwrap()).unwrap();
    let half = trial * 0.5;
    let sizes = |seed| {
        uncertainty
            .simulated(seed, 200_000, |as_found, influence| {
                let total = influence[0] * half;
                (as_found[0] + total).amplitude()
            })
            .unwrap()
    };
    let drawn = sizes(1);
    assert_eq!(drawn, sizes(1));
    assert_ne!(drawn, sizes(2));
    let next = uncertainty.vibration_with(&[half]).unwrap()[0];
    for share in [0.05, 0.5, 0.95] {
        // Sampling scatters a quantile by some 0.0001 here.
        assert!((drawn.quantile(share) - next.magnitude(share)).abs() < 3e-4);
        assert!((drawn.share_within(next.magnitude(share)) - share).abs() < 3e-3);
    }
}

#[test]
fn what_cannot_be_told_is_an_error_that_says_why() {
    let [channel, other] = channels(2)[..] else { panic!("two channels") };
    let trial = UnbalanceVector::from_components_gram_millimetres(1000.0, 0.0).unwrap();
    let read = |channel: Channel, re: f64| -> Reading {
        channel.reading(re, 0.0).unwrap().with_standard_deviation(0.1).unwrap()
    };
    let mut estimator = Estimator::with_known_variances(&[channel, other], 1).unwrap();
    estimator.add(Run::new("as found").reading(read(channel, 3.0)).reading(read(other, 1.0))).unwrap();
    estimator
        .add(Run::new("trial").mounted(0, trial).reading(read(channel, 2.0)).reading(read(other, 2.0)))
        .unwrap();
    let uncertainty = Uncertainty::of(&estimator.fit().unwrap()).unwrap();
    let error = uncertainty.correction_region(0.95).unwrap_err();
    assert_eq!((error.code(), error.to_string()), (1205, "the exact region of a correction needs as many planes as channels; there are 1 and 2: ask for the first-order covariance".to_owned()));
    let error = uncertainty.influence(2, 0).unwrap_err();
    assert_eq!(error.to_string(), "channel 2 does not exist: there are 2, counted from 0");
    assert_eq!(
        uncertainty.vibration_with(&[]).unwrap_err(),
        UncertaintyError::Count { what: "unbalances, one per plane", expected: 1, got: 0 }
    );
    let error = uncertainty.correction(&[1.0, f64::NAN]).unwrap_err();
    assert!(matches!(error, UncertaintyError::BadNumber { value, .. } if value.is_nan()));
    assert!(uncertainty.correction(&[0.0, 0.0]).is_err());
    let error = uncertainty.correction(&[]).unwrap().residual_with(&[trial * f64::INFINITY]).unwrap_err();
    assert!(matches!(error, UncertaintyError::BadNumber { value: f64::INFINITY, .. }), "{error}");
    let weight = Weight::new(
        Mass::from_grams(1.0).unwrap(),
        Radius::from_millimetres(10.0).unwrap(),
        RotorAngle::MARK,
    );
    let error = uncertainty.clone().with_weight_scatter(0, &[7], weight, Mass::ZERO, 1.0).unwrap_err();
    assert_eq!(error, UncertaintyError::OutOfRange { what: "run", number: 7, count: 2 });
    assert!(uncertainty.with_weight_scatter(0, &[1], weight, Mass::ZERO, f64::INFINITY).is_err());
}

#[test]
fn scatter_that_is_hardly_known_gives_no_limit() {
    let at = |re, im| Vibration::from_components(re, im).unwrap();
    let two = Repeats::of(&[at(1.0, 0.0), at(1.1, 0.1)]).unwrap();
    assert!(two.scatter_of_mean().is_none());
    // Two in all have two degrees of freedom: a wide limit, not none.
    let pooled = Repeats::pooled(&[two]).unwrap();
    assert_eq!(pooled.degrees_of_freedom(), DegreesOfFreedom::Circular(2.0));
    // 2 F(2, 2) at 95 % is 38: from memory, F is 19.00.
    assert!((DegreesOfFreedom::Circular(2.0).squared_factor(2, 0.95) - 38.0).abs() < 1e-9);
    assert_eq!(DegreesOfFreedom::Full(1.0).squared_factor(2, 0.95), f64::INFINITY);
    assert_eq!(DegreesOfFreedom::Known.squared_factor(2, 1.0), f64::INFINITY);
    assert_eq!(Conformity::of(0.1, f64::INFINITY, 0.2), Conformity::Undecided);
}

/// Two channels that scatter alike: one variance from both, its degrees of freedom together, and one limit over all four
/// components; each on its own: two variances, two limits at the root of the confidence.
#[test]
fn one_variance_behind_all_channels_says_more_than_one_each() {
    let [one, other] = channels(2)[..] else { panic!("two channels") };
    let mut estimator = Estimator::with_relative_weights(&[one, other], 2).unwrap();
    let u = |x, y| UnbalanceVector::from_components_gram_millimetres(x, y).unwrap();
    let rows = [
        (u(0.0, 0.0), u(0.0, 0.0), (3.0, 0.1), (-1.0, 2.0)),
        (u(1000.0, 0.0), u(0.0, 0.0), (5.1, 0.0), (-0.8, 2.5)),
        (u(0.0, 0.0), u(0.0, 1000.0), (2.4, 0.3), (1.1, 2.1)),
        (u(-800.0, 300.0), u(500.0, 0.0), (1.5, 0.9), (-1.0, 0.6)),
        (u(200.0, 700.0), u(-400.0, 100.0), (3.2, 1.4), (-0.7, 2.9)),
    ];
    for (first, second, (a, b), (c, d)) in rows {
        let read = |channel: Channel, re, im| channel.reading_of(Vibration::from_components(re, im).unwrap());
        let run = Run::new("run").mounted(0, first).mounted(1, second);
        estimator.add(run.reading(read(one, a, b)).reading(read(other, c, d))).unwrap();
    }
    let apart = estimator.fit().unwrap();
    let common = apart.clone().with_common_variance();
    // Two readings more than unknowns in each channel: 4 degrees of freedom each, 8 together.
    let variance = |fit: &InfluenceFit, channel: usize| fit.channels()[channel].residual_variance().unwrap();
    let mean = 0.5 * (variance(&apart, 0) + variance(&apart, 1));
    for channel in 0..2 {
        assert!((variance(&common, channel) / mean - 1.0).abs() < 1e-12);
        assert_eq!(apart.channels()[channel].degrees_of_freedom(), Some(DegreesOfFreedom::Circular(4.0)));
        assert_eq!(common.channels()[channel].degrees_of_freedom(), Some(DegreesOfFreedom::Circular(8.0)));
    }
    let total = [u(-1500.0, 200.0), u(300.0, -900.0)];
    let distances = |fit: &InfluenceFit| {
        Uncertainty::of(fit)
            .unwrap()
            .vibration_with(&total)
            .unwrap()
            .iter()
            .map(|next| {
                // Circular: |v|²/s².
                next.value().amplitude().powi(2) / next.covariance()[0][0]
            })
            .collect::<Vec<f64>>()
    };
    let over = |fit: &InfluenceFit| {
        Uncertainty::of(fit).unwrap().correction_region(0.95).unwrap().statistic_over_limit(&total).unwrap()
    };
    let limit = DegreesOfFreedom::Circular(8.0).squared_factor(4, 0.95);
    let want = distances(&common).iter().sum::<f64>() / limit;
    assert!((over(&common) / want - 1.0).abs() < 1e-9);
    let each = DegreesOfFreedom::Circular(4.0).squared_factor(2, 0.95_f64.sqrt());
    let want = distances(&apart).iter().copied().fold(0.0, f64::max) / each;
    assert!((over(&apart) / want - 1.0).abs() < 1e-9);
    // Scatter that was pooled over the channels before the fit is the same, once it is said.
    let stated = Uncertainty::of(&apart).unwrap().with_common_scatter();
    let got = stated.correction_region(0.95).unwrap().statistic_over_limit(&total).unwrap();
    let limit = DegreesOfFreedom::Circular(4.0).squared_factor(4, 0.95);
    assert!((got / (distances(&apart).iter().sum::<f64>() / limit) - 1.0).abs() < 1e-9);
}

/// One plane, one channel: two readings with one scatter, the second with a unit of unbalance on.
fn two_runs(as_found: Vibration, with_trial: Vibration, scatter: Scatter) -> Uncertainty {
    let channels = channels(1);
    let mut estimator = Estimator::with_known_variances(&channels, 1).unwrap();
    let on = unbalance(Complex64::new(1.0, 0.0));
    estimator
        .add(Run::new("as found").reading(channels[0].reading_of(as_found).with_scatter(scatter)))
        .unwrap();
    let trial = Run::new("trial").mounted(0, on);
    estimator.add(trial.reading(channels[0].reading_of(with_trial).with_scatter(scatter))).unwrap();
    Uncertainty::of(&estimator.fit().unwrap()).unwrap()
}

#[test]
fn a_covariance_beyond_the_numbers_is_no_certainty() {
    let at = |re| vibration(Complex64::new(re, 0.0));
    let uncertainty = two_runs(at(1.0), at(9.0), Scatter::known(1e90).unwrap());
    // (1e90)² times (1e80)² is no double.
    let next = uncertainty.vibration_with(&[unbalance(Complex64::new(1e80, 1e80))]).unwrap()[0];
    assert!(!next.covariance()[0][0].is_finite());
    assert_eq!((next.radius(0.95), next.magnitude(0.95)), (f64::INFINITY, f64::INFINITY));
    assert_eq!(next.region_semi_axes(0.95), [f64::INFINITY; 2]);
    assert!(next.chance_within(1.0).is_nan());
    assert_eq!(next.judged(1.0, 0.95), Conformity::Undecided);
    assert!(next.region_holds(at(0.0), 0.95));
}

#[test]
fn a_response_against_a_scatter_that_is_not_known_is_not_detectable() {
    // A covariance of one degree of freedom bounds nothing in two dimensions, even where its own ellipse is a line.
    let at = |re, im| vibration(Complex64::new(re, im));
    let scatter = Scatter::from_covariance([[1.0, 0.0], [0.0, 0.0]], DegreesOfFreedom::Full(1.0)).unwrap();
    let response = two_runs(at(1.0, 0.0), at(1.0, 1.0), scatter).trial_response(0, 0).unwrap();
    assert_eq!((response.distance_squared(), response.chance_without_response()), (f64::INFINITY, 1.0));
    assert_eq!(response.detectability(), Detectability::NotDetectable);
}

#[test]
fn what_no_limit_or_confidence_can_ask_is_undecided() {
    let at = |re| vibration(Complex64::new(re, 0.0));
    let estimate = two_runs(at(3.0), at(9.0), Scatter::known(0.05).unwrap()).as_found(0).unwrap();
    // Every vibration is within no limit at all.
    assert_eq!(estimate.chance_within(f64::INFINITY), 1.0);
    assert!(estimate.chance_within(f64::NAN).is_nan());
    // Below a half both "within" and "outside" would hold; percent are no confidence.
    for confidence in [-1.0, 0.0, 0.4, 95.0, f64::NAN] {
        for limit in [0.1, 3.0, 9.0] {
            assert_eq!(estimate.judged(limit, confidence), Conformity::Undecided, "{limit} at {confidence}");
        }
    }
    assert_eq!(estimate.judged(9.0, 0.5), Conformity::Within);
    assert_eq!(estimate.judged(0.1, 0.5), Conformity::Outside);
}

#[test]
fn each_refusal_says_what_to_do() {
    let texts = [
        (
            UncertaintyError::ScatterUnknown { channel: 1 },
            "nothing says how channel 1 scatters: state it, repeat readings, or run more often than there are unknowns",
        ),
        (
            UncertaintyError::Count { what: "unbalances, one per plane", expected: 1, got: 0 },
            "wrong number of unbalances, one per plane: expected 1, got 0",
        ),
        (
            UncertaintyError::OutOfRange { what: "channel", number: 2, count: 1 },
            "channel 2 does not exist: there are 1, counted from 0",
        ),
        (
            UncertaintyError::BadNumber {
                what: "a confidence",
                value: 95.0,
                wanted: "a number between 0 and 1",
            },
            "a confidence cannot be 95.0: give a number between 0 and 1",
        ),
        (
            UncertaintyError::NotSquare { planes: 1, channels: 2 },
            "the exact region of a correction needs as many planes as channels; there are 1 and 2: \
             ask for the first-order covariance",
        ),
        (
            UncertaintyError::Undetermined,
            "the coefficients do not determine a correction: some combination of weights has no effect at all",
        ),
        (
            UncertaintyError::NotPositiveDefinite,
            "the covariance is not positive definite to the digits there are: add what is missing of the scatter",
        ),
        (
            UncertaintyError::AboveLimit { channel: 0, amplitude: 7.5, limit: 7.0 },
            "channel 0 vibrates at 7.5, above its limit of 7.0: no trial weight until that is settled",
        ),
    ];
    for ((error, text), code) in texts.into_iter().zip(1201..) {
        assert_eq!((error.code(), error.to_string().as_str()), (code, text));
    }
}

#[test]
fn no_channel_weights_are_equal_ones() {
    let channels = channels(2);
    let read = |channel: usize, re: f64| {
        let reading = channels[channel].reading_of(vibration(Complex64::new(re, 0.2)));
        reading.with_standard_deviation(0.05).unwrap()
    };
    let mut estimator = Estimator::with_known_variances(&channels, 1).unwrap();
    estimator.add(Run::new("as found").reading(read(0, 3.0)).reading(read(1, 1.0))).unwrap();
    let trial = Run::new("trial").mounted(0, unbalance(Complex64::new(100.0, 0.0)));
    estimator.add(trial.reading(read(0, 1.0)).reading(read(1, 2.0))).unwrap();
    let uncertainty = Uncertainty::of(&estimator.fit().unwrap()).unwrap();
    let total = |weights: &[f64]| uncertainty.correction(weights).unwrap().total()[0].value();
    assert_eq!(total(&[]), total(&[1.0; 2]));
    assert_ne!(total(&[]), total(&[1.0, 0.0]));
    let optimum = |weights: &[f64]| uncertainty.least_expected_squares(weights).unwrap();
    assert_eq!(optimum(&[]), optimum(&[1.0; 2]));
    assert_eq!(uncertainty.correction(&[1.0]).unwrap_err().code(), 1202);
}

#[test]
fn nothing_drawn_is_no_answer() {
    let at = |re| vibration(Complex64::new(re, 0.0));
    let uncertainty = two_runs(at(3.0), at(9.0), Scatter::known(0.05).unwrap());
    let error = uncertainty.simulated(1, 0, |_, _| 1.0).unwrap_err();
    assert_eq!(error, UncertaintyError::Count { what: "samples, one or more", expected: 1, got: 0 });
    let drawn = uncertainty.simulated(1, 100, |as_found, _| as_found[0].amplitude()).unwrap();
    assert!(drawn.quantile(f64::NAN).is_nan());
    assert_eq!((drawn.quantile(0.0), drawn.quantile(1.0)), (drawn.sorted()[0], drawn.sorted()[99]));
}

#[test]
fn no_dimension_has_no_extent() {
    for degrees in [DegreesOfFreedom::Known, DegreesOfFreedom::Circular(5.0), DegreesOfFreedom::Full(5.0)] {
        assert_eq!(degrees.squared_factor(0, 0.95), 0.0, "{degrees:?}");
    }
}

/// Drawn jobs of one machine: the residuals scatter in the tolerance planes as is stated, and are right on average.
#[test]
fn residuals_in_tolerance_planes_scatter_as_stated() {
    let mm = |value: f64| Length::from_millimetres(value).unwrap();
    let (truth, h) = (
        [Complex64::new(2.0, -1.0), Complex64::new(0.5, 1.5)],
        [
            [Complex64::new(2.0e-2, 0.4e-2), Complex64::new(0.6e-2, -0.3e-2)],
            [Complex64::new(-0.5e-2, 0.7e-2), Complex64::new(1.6e-2, 1.1e-2)],
        ],
    );
    let mounted =
        [[0.0; 2], [60.0, 0.0], [0.0, 80.0]].map(|row| row.map(|u| Complex64::new(u, 0.0)).to_vec());
    let sigma = 0.02;
    let (correction_planes, bearings) = ([mm(100.0), mm(450.0)], [mm(0.0), mm(500.0)]);
    // What is on at the end, and what is then left: H r = v0 + H u by Cramer's rule, and the lever by hand.
    let on = [Complex64::new(-40.0, 25.0), Complex64::new(10.0, -30.0)];
    let left: Vec<Complex64> = (0..2).map(|k| truth[k] + h[k][0] * on[0] + h[k][1] * on[1]).collect();
    let det = h[0][0] * h[1][1] - h[0][1] * h[1][0];
    let residual =
        [(left[0] * h[1][1] - left[1] * h[0][1]) / det, (left[1] * h[0][0] - left[0] * h[1][0]) / det];
    let expected = [residual[0] * 0.8 + residual[1] * 0.1, residual[0] * 0.2 + residual[1] * 0.9];

    let mut draws = Draws::new(7);
    let mut noise = move || draws.normals() * sigma;
    let jobs = 4000;
    let (mut squares, mut stated, mut inside) = ([[0.0; 2]; 2], [[0.0; 2]; 2], [0_u32; 2]);
    for _ in 0..jobs {
        let read: Vec<Vec<Complex64>> = mounted
            .iter()
            .map(|u| (0..2).map(|k| truth[k] + h[k][0] * u[0] + h[k][1] * u[1] + noise()).collect())
            .collect();
        let variance = [[sigma * sigma, 0.0], [0.0, sigma * sigma]];
        let job = Job { mounted: mounted.to_vec(), read, scatter: vec![vec![variance; 2]; 3] };
        let correction = Uncertainty::of(&job.fit()).unwrap().correction(&[]).unwrap();
        let found = correction.residual_in_planes(&on.map(unbalance), &correction_planes, bearings).unwrap();
        for (side, found) in found.iter().enumerate() {
            let apart = found.value().complex() - expected[side];
            squares[side][0] += apart.re * apart.re;
            squares[side][1] += apart.im * apart.im;
            stated[side][0] += found.covariance()[0][0];
            stated[side][1] += found.covariance()[1][1];
            inside[side] += u32::from(found.region_holds(unbalance(expected[side]), 0.95));
        }
    }
    for side in 0..2 {
        for part in 0..2 {
            // 4000 squares give a variance to 2.2 %.
            let ratio = stated[side][part] / squares[side][part];
            assert!((ratio - 1.0).abs() < 0.08, "{side} {part}: {ratio}");
        }
        let share = f64::from(inside[side]) / f64::from(jobs);
        assert!((0.94..0.96).contains(&share), "{side}: {share}");
    }
}
