//! Exchanged planes of different radius, exchanged sensors read at two speeds, and the pairs that a next run is chosen for.
#![cfg(feature = "alloc")]
// The functions beside the tests may index, fail and use the platform's functions as tests may.
#![allow(clippy::indexing_slicing, clippy::unwrap_used, clippy::panic, clippy::disallowed_methods)]

use counterpoise::checks::{Examination, Explanation, Plane, Ranked, Verdict};
use counterpoise::{
    Channel, Detector, Estimator, ExaminationError, Mass, PhaseSense, Radius, Reading, RotorSense, Run,
    Speed, SpeedWindow, UnbalanceVector, Vibration, VibrationScale, VibrationUnit, Weight,
};
use num_complex::Complex64;

const SIGMA: f64 = 0.005;

fn channel(sensor: u16, rpm: f64) -> Channel {
    let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    let window = SpeedWindow::around_percent(Speed::from_rpm(rpm).unwrap(), 1.0).unwrap();
    Channel::new(sensor, unit, PhaseSense::Lead, window)
}

/// A machine, invented: as found, and per g mm in each of two planes.
const AS_FOUND: [Complex64; 4] = [
    Complex64::new(0.3, -0.4),
    Complex64::new(-0.2, 0.35),
    Complex64::new(0.1, 0.2),
    Complex64::new(0.25, -0.1),
];
const PER_GRAM_MILLIMETRE: [[Complex64; 2]; 4] = [
    [Complex64::new(3e-4, 1e-4), Complex64::new(-0.5e-4, 1e-4)],
    [Complex64::new(1e-4, -0.4e-4), Complex64::new(-1e-4, 2.7e-4)],
    [Complex64::new(1.5e-4, -1e-4), Complex64::new(0.8e-4, 0.2e-4)],
    [Complex64::new(-0.2e-4, 0.9e-4), Complex64::new(2e-4, 0.3e-4)],
];

/// Grams, degrees with rotation, and the plane of each weight; every weight is on in the run of its number plus one, and the
/// last three pairwise after that.
const WEIGHTS: [(f64, f64, usize); 5] =
    [(12.0, 30.0, 0), (10.0, 75.0, 1), (15.0, 240.0, 0), (14.0, 195.0, 1), (11.0, 315.0, 1)];
const RUNS: [&[usize]; 8] = [&[], &[0], &[1], &[2], &[3], &[4], &[2, 3], &[2, 4]];

/// The job with planes at their radii in mm, weights 0 to 4 stated as above, each run read as the machine is with what is really
/// on: a plane and a radius for each weight. `change` may alter what is written down.
fn job(
    channels: &[Channel],
    radii: [f64; 2],
    really: impl Fn(usize) -> (usize, f64),
    change: impl Fn(usize, &mut Vec<Complex64>),
    runs: usize,
) -> Examination {
    let planes = radii.map(|radius| Plane::new().at_radius(Radius::from_millimetres(radius).unwrap()));
    let mut job = Examination::new(channels, &planes).unwrap();
    let items: Vec<_> = WEIGHTS
        .iter()
        .map(|&(grams, degrees, plane)| {
            let radius = Radius::from_millimetres(radii[plane]).unwrap();
            let place = RotorSense::WithRotation.degrees(degrees).unwrap();
            job.add_item(plane, Weight::new(Mass::from_grams(grams).unwrap(), radius, place)).unwrap()
        })
        .collect();
    for (run, on) in RUNS.iter().take(runs).enumerate() {
        let mut rows: Vec<Complex64> = (0..channels.len())
            .map(|channel| {
                on.iter().fold(AS_FOUND[channel], |sum, &weight| {
                    let (grams, degrees, _) = WEIGHTS[weight];
                    let (plane, radius) = really(weight);
                    let unbalance = Complex64::from_polar(grams * radius, degrees.to_radians());
                    sum + PER_GRAM_MILLIMETRE[channel][plane] * unbalance
                })
            })
            .collect();
        change(run, &mut rows);
        let read = |(channel, value): (&Channel, &Complex64)| -> Reading {
            let vibration = Vibration::from_components(value.re, value.im).unwrap();
            channel.reading_of(vibration).with_standard_deviation(SIGMA).unwrap()
        };
        let readings: Vec<Reading> = channels.iter().zip(&rows).map(read).collect();
        let on: Vec<_> = on.iter().map(|&weight| items[weight]).collect();
        job.add_run(&on, &readings).unwrap();
    }
    job
}

#[test]
fn weights_in_each_others_planes_sit_at_the_radius_of_the_plane_they_are_in() {
    let radii = [150.0, 90.0];
    let channels = [channel(1, 2400.0), channel(2, 2400.0)];
    // Weight 2, stated in plane 0 at 150 mm, went into plane 1, where weights sit at 90 mm.
    let really = |weight: usize| {
        let plane = WEIGHTS[weight].2;
        let plane = if weight == 2 { 1 - plane } else { plane };
        (plane, radii[plane])
    };
    let findings = job(&channels, radii, really, |_, _| {}, RUNS.len()).examine().unwrap();
    let exchanged = Explanation::PlanesExchanged { run: 3, planes: [0, 1] };
    assert_eq!(findings.verdict(), Verdict::OneStands(exchanged));
    assert!(findings.ranked()[0].chi_squared < 1e-9);
    // With the radius it was stated at, the exchange would not fit.
    let kept = |weight: usize| (if weight == 2 { 1 } else { WEIGHTS[weight].2 }, radii[WEIGHTS[weight].2]);
    let findings = job(&channels, radii, kept, |_, _| {}, RUNS.len()).examine().unwrap();
    let of = |ranked: &&Ranked| ranked.explanation == exchanged;
    assert!(findings.ranked().iter().find(of).unwrap().chi_squared > 100.0);
}

#[test]
fn two_sensors_that_are_read_at_two_speeds_are_exchanged_at_both() {
    let channels = [channel(1, 2400.0), channel(2, 2400.0), channel(1, 1800.0), channel(2, 1800.0)];
    let really = |weight: usize| (WEIGHTS[weight].2, 150.0);
    let change = |run: usize, row: &mut Vec<Complex64>| {
        if run == 4 {
            row.swap(0, 1);
            row.swap(2, 3);
        }
    };
    let findings = job(&channels, [150.0; 2], really, change, RUNS.len()).examine().unwrap();
    let exchanged = Explanation::ChannelsExchanged { run: 4, channels: [0, 1] };
    assert_eq!(findings.verdict(), Verdict::OneStands(exchanged));
    assert!(findings.ranked()[0].chi_squared < 1e-9);
    // One cable on the wrong input exchanges a sensor at all its speeds: each run has one such explanation, named by its first
    // channels.
    let named: Vec<Explanation> = findings
        .ranked()
        .iter()
        .map(|ranked| ranked.explanation)
        .filter(|explanation| matches!(explanation, Explanation::ChannelsExchanged { .. }))
        .collect();
    assert_eq!(named.len(), RUNS.len());
    assert!(named.iter().all(|e| matches!(e, Explanation::ChannelsExchanged { channels: [0, 1], .. })));
    // Exchanged at one speed alone, no cable explains it.
    let half = |run: usize, row: &mut Vec<Complex64>| {
        if run == 4 {
            row.swap(0, 1);
        }
    };
    let findings = job(&channels, [150.0; 2], really, half, RUNS.len()).examine().unwrap();
    let of = |ranked: &&Ranked| ranked.explanation == exchanged;
    assert!(findings.ranked().iter().find(of).unwrap().chi_squared > 100.0);
}

#[test]
fn the_next_run_is_chosen_for_every_pair_of_another_consequence() {
    let channels = [channel(1, 2400.0), channel(2, 2400.0)];
    let really = |weight: usize| (WEIGHTS[weight].2, 150.0);
    // Three runs are fitted by anything: all explanations stand. A fourth and fifth leave fewer.
    let mut most = 0;
    for runs in [3, 4, 5] {
        let findings = job(&channels, [150.0; 2], really, |_, _| {}, runs).examine().unwrap();
        let standing = findings.undistinguished();
        let mut pairs = Vec::new();
        for (at, one) in standing.iter().enumerate() {
            for other in &standing[at + 1..] {
                // Slowly, each pair refitted.
                if !findings.same_consequence(one, other) {
                    pairs.push((one.explanation, other.explanation));
                }
            }
        }
        let Some(next) = findings.next_run() else { continue };
        let taken: Vec<_> = next.separations.iter().map(|pair| (pair.first, pair.second)).collect();
        assert_eq!(taken, pairs);
        assert!(pairs.len() < standing.len() * (standing.len() - 1) / 2, "some ask for the same");
        most = most.max(pairs.len());
    }
    assert!(most > 100, "{most}");
}

#[test]
fn runs_that_were_added_to_an_estimator_are_examined_as_if_they_had_been_entered() {
    let channels = [channel(1, 2400.0), channel(2, 2400.0)];
    let radii = [150.0, 90.0];
    let stated = |weight: usize| {
        let (grams, degrees, plane) = WEIGHTS[weight];
        let place = RotorSense::WithRotation.degrees(degrees).unwrap();
        let radius = Radius::from_millimetres(radii[plane]).unwrap();
        (plane, Weight::new(Mass::from_grams(grams).unwrap(), radius, place).unbalance())
    };
    // Weight 3 went to the other side: in two runs, as one piece.
    let really = |weight: usize| {
        let plane = WEIGHTS[weight].2;
        (plane, if weight == 3 { -radii[plane] } else { radii[plane] })
    };
    let entered = job(&channels, radii, really, |_, _| {}, RUNS.len()).examine().unwrap();
    let mut estimator = Estimator::with_known_variances(&channels, 2).unwrap();
    for on in RUNS {
        let mut run = Run::new("run").mounted(0, UnbalanceVector::ZERO);
        for &weight in on {
            let (plane, unbalance) = stated(weight);
            run = run.mounted(plane, unbalance);
        }
        for (k, channel) in channels.iter().enumerate() {
            let value = on.iter().fold(AS_FOUND[k], |sum, &weight| {
                let (grams, degrees, _) = WEIGHTS[weight];
                let (plane, radius) = really(weight);
                sum + PER_GRAM_MILLIMETRE[k][plane]
                    * Complex64::from_polar(grams, degrees.to_radians())
                    * radius
            });
            let vibration = Vibration::from_components(value.re, value.im).unwrap();
            run = run.reading(channel.reading_of(vibration).with_standard_deviation(SIGMA).unwrap());
        }
        estimator.add(run).unwrap();
    }
    let planes = radii.map(|radius| Plane::new().at_radius(Radius::from_millimetres(radius).unwrap()));
    let findings = Examination::of(&estimator, &planes).unwrap().examine().unwrap();
    assert!(matches!(findings.verdict(), Verdict::OneStands(Explanation::WeightHalfTurn { .. })));
    assert_eq!(findings.ranked().len(), entered.ranked().len());
    for (one, other) in findings.ranked().iter().zip(entered.ranked()) {
        assert!((one.chi_squared - other.chi_squared).abs() < 1e-7 * other.chi_squared.max(1.0));
    }
    // Two alike in one run are two pieces; a list of planes that is too short, and readings without scatter, are refused.
    let mut twice = Estimator::with_known_variances(&channels[..1], 1).unwrap();
    let reading = channels[0].reading(0.3, 0.0).unwrap().with_standard_deviation(0.01).unwrap();
    let (_, unbalance) = stated(0);
    twice.add(Run::new("two").mounted(0, unbalance).mounted(0, unbalance).reading(reading)).unwrap();
    let findings = Examination::of(&twice, &[Plane::new()]).unwrap().examine().unwrap();
    let not_mounted = |ranked: &&Ranked| matches!(ranked.explanation, Explanation::WeightNotMounted { .. });
    assert_eq!(findings.ranked().iter().filter(not_mounted).count(), 2);
    let error = Examination::of(&estimator, &planes[..1]).unwrap_err();
    assert_eq!(error, ExaminationError::NoSuchPlane { plane: 1, planes: 1 });
    assert_eq!(Examination::of(&estimator, &[]).unwrap_err(), ExaminationError::NoPlanes);
    let mut relative = Estimator::with_relative_weights(&channels[..1], 1).unwrap();
    relative.add(Run::new("as found").reading(channels[0].reading(0.3, 0.0).unwrap())).unwrap();
    let error = Examination::of(&relative, &[Plane::new()]).unwrap_err();
    assert_eq!(error, ExaminationError::ScatterUnknown { run: 0, channel: 0 });
}
