//! Runs in other numbers, orders and ways that say the same, and what the machine shows in the end.

use counterpoise::{
    Caution, Channel, CorrectionQuestion, Estimator, OnePlane, PhaseSense, Run, Speed, SpeedLaw, SpeedWindow,
    TwoPlaneRun, TwoPlanes, VibrationScale, VibrationUnit,
};
use num_complex::Complex64;
use proptest::collection::vec;
use proptest::prelude::*;

use super::machines::{machine, machine_and_trials, scattered_job, sized, trials};
use crate::support::{
    Plant, cases, channels, complex, distance, estimator, length, modulus, run, unbalance, vibration,
    vibrations,
};

type Runs = Vec<(Vec<Complex64>, Vec<Complex64>)>;

/// `v0, H` of all channels, one channel after the other.
fn unknowns(estimator: &Estimator) -> Vec<Complex64> {
    let fit = estimator.fit().unwrap();
    let of_channel = |channel: &counterpoise::ChannelFit| {
        core::iter::once(channel.as_found().complex()).chain(complex(channel.influence())).collect::<Vec<_>>()
    };
    fit.channels().iter().flat_map(of_channel).collect()
}

fn close(got: &[Complex64], want: &[Complex64]) -> Result<(), TestCaseError> {
    prop_assert!(distance(got, want) <= 1e-12 * length(want), "{got:?} is not {want:?}");
    Ok(())
}

/// What to add now, by the general way.
fn added(estimator: &Estimator, now: &[Complex64]) -> Vec<Complex64> {
    let fit = estimator.fit().unwrap();
    let question = CorrectionQuestion::new(fit.influence(), &vibrations(now)).unwrap();
    complex(question.solve().unwrap().added())
}

/// The trial weights put on one after the other, none taken off.
fn left_on(plant: &Plant, trials: &[Complex64]) -> Runs {
    let mut mounted = vec![Complex64::default(); plant.planes()];
    let mut runs = vec![plant.run(&mounted)];
    for (plane, &trial) in trials.iter().enumerate() {
        mounted[plane] = trial;
        runs.push(plant.run(&mounted));
    }
    runs
}

proptest! {
    #![proptest_config(cases(300))]

    /// Runs of an exactly linear machine give the machine back.
    #[test]
    fn the_machine_is_found_again((plant, trials) in machine_and_trials()) {
        let truth: Vec<Complex64> = plant
            .as_found
            .iter()
            .zip(&plant.influence)
            .flat_map(|(&v0, row)| core::iter::once(v0).chain(row.iter().copied()))
            .collect();
        close(&unknowns(&plant.estimator(&trials)), &truth)?;
    }

    /// The two-run formula, by itself and as the estimator with as many runs as unknowns.
    #[test]
    fn one_plane_in_closed_form_equals_the_estimator(
        (plant, trial) in (machine(1, 1), trials(1)),
    ) {
        let runs = plant.runs(&trial);
        let (before, after) = (vibration(runs[0].1[0]), vibration(runs[1].1[0]));
        let plane = OnePlane::from_trial(before, after, unbalance(trial[0])).unwrap();
        let general = plant.estimator(&trial);
        close(&[plane.influence().complex()], &unknowns(&general)[1..])?;
        close(&[plane.correction(before).unwrap().complex()], &added(&general, &runs[0].1))?;
        // With the trial left on, what to add to it.
        close(&[plane.correction(after).unwrap().complex()], &added(&general, &runs[1].1))?;
    }

    #[test]
    fn two_planes_in_closed_form_equal_the_estimator(
        (plant, trials) in (machine(2, 2), trials(2)), leave in any::<bool>(),
    ) {
        let runs = if leave { left_on(&plant, &trials) } else { plant.runs(&trials) };
        let of = |(u, v): &(Vec<Complex64>, Vec<Complex64>)| TwoPlaneRun {
            mounted: [unbalance(u[0]), unbalance(u[1])],
            vibration: [vibration(v[0]), vibration(v[1])],
        };
        let closed = TwoPlanes::from_runs(&[of(&runs[0]), of(&runs[1]), of(&runs[2])]).unwrap();
        let general = estimator(&channels(2), 2, &runs);
        let found = unknowns(&general);
        close(&complex(closed.influence().as_flattened()), &[found[1], found[2], found[4], found[5]])?;
        let now = &runs[2].1;
        let weights = closed.correction([vibration(now[0]), vibration(now[1])]).unwrap();
        close(&complex(&weights), &added(&general, now))?;
        let left = closed.predicted([vibration(now[0]), vibration(now[1])], weights);
        prop_assert!(length(&complex(&left)) <= 1e-12 * length(now));
    }

    /// A further run that reads just what the equation says tells nothing new.
    #[test]
    fn an_exact_extra_run_changes_nothing(
        ((plant, trials), more) in machine_and_trials()
            .prop_flat_map(|(plant, trials)| {
                let planes = plant.planes();
                (Just((plant, trials)), vec(vec(sized(0..=4000), planes), 1..=4))
            }),
    ) {
        let mut runs = plant.runs(&trials);
        let few = estimator(&channels(plant.points()), plant.planes(), &runs);
        runs.extend(more.iter().map(|mounted| plant.run(mounted)));
        let many = estimator(&channels(plant.points()), plant.planes(), &runs);
        close(&unknowns(&many), &unknowns(&few))?;
        for channel in many.fit().unwrap().channels() {
            prop_assert_eq!(channel.excess_readings(), more.len());
            let largest = runs.iter().flat_map(|(_, read)| read).map(|&v| modulus(v)).fold(0.0, f64::max);
            prop_assert!(channel.residual_variance().unwrap() <= 1e-26 * largest * largest);
        }
    }

    /// The fit of scattered readings does not ask in which order they came.
    #[test]
    fn the_order_of_the_runs_changes_nothing(job in scattered_job(2)) {
        let channels = channels(job.plant.points());
        let forth = estimator(&channels, job.plant.planes(), &job.runs);
        let back: Runs = job.runs.iter().rev().cloned().collect();
        close(&unknowns(&estimator(&channels, job.plant.planes(), &back)), &unknowns(&forth))?;
    }

    /// Left on or taken off, said as it is, a trial weight shows the same.
    #[test]
    fn a_trial_left_on_is_as_good_as_one_taken_off((plant, trials) in machine_and_trials()) {
        let runs = left_on(&plant, &trials);
        let on = estimator(&channels(plant.points()), plant.planes(), &runs);
        let off = plant.estimator(&trials);
        close(&unknowns(&on), &unknowns(&off))?;

        // What to add to all trials, and the total, against the answer for the bare rotor.
        let now = runs.last().unwrap();
        let fit = on.fit().unwrap();
        let question = CorrectionQuestion::new(fit.influence(), &vibrations(&now.1)).unwrap();
        let mounted: Vec<_> = now.0.iter().copied().map(unbalance).collect();
        let answer = question.mounted_now(&mounted).unwrap().solve().unwrap();
        close(&complex(answer.total()), &added(&off, &plant.as_found))?;
    }

    /// What is predicted after the correction is what the machine then shows, and no weights near it leave less.
    #[test]
    fn the_machine_shows_what_was_predicted(
        ((plant, trials), nudges) in machine_and_trials().prop_flat_map(|(plant, trials)| {
            let planes = plant.planes();
            (Just((plant, trials)), vec(vec(sized(1..=300), planes), 8))
        }),
    ) {
        let estimator = plant.estimator(&trials);
        let fit = estimator.fit().unwrap();
        let now = vibrations(&plant.as_found);
        let answer = CorrectionQuestion::new(fit.influence(), &now).unwrap().solve().unwrap();
        let shown = plant.read(&complex(answer.added()));
        prop_assert!(distance(&complex(answer.predicted()), &shown) <= 1e-12 * length(&plant.as_found));
        prop_assert!((answer.objective_value() - length(&shown)).abs() <= 1e-12 * length(&plant.as_found));
        let predicted = fit.vibration_with(answer.total()).unwrap();
        prop_assert!(distance(&complex(&predicted), &shown) <= 1e-12 * length(&plant.as_found));
        for nudge in nudges {
            let other: Vec<Complex64> =
                complex(answer.added()).iter().zip(&nudge).map(|(w, nudge)| w + nudge).collect();
            prop_assert!(length(&plant.read(&other)) > length(&shown));
        }
    }

    /// The mean of n readings weighs as much as the n.
    #[test]
    fn a_run_repeated_n_times_is_one_of_weight_n(job in scattered_job(1), n in 2..=6_u32) {
        let channels = channels(job.plant.points());
        let planes = job.plant.planes();
        let of = |(mounted, read): &(Vec<Complex64>, Vec<Complex64>), weight: f64| {
            let mut with = Run::new("run");
            for (plane, &u) in mounted.iter().enumerate() {
                with = with.mounted(plane, unbalance(u));
            }
            for (channel, &v) in channels.iter().zip(read) {
                with = with.reading(channel.reading_of(vibration(v)).with_weight(weight).unwrap());
            }
            with
        };
        let mut repeated = Estimator::with_relative_weights(&channels, planes).unwrap();
        let mut weighted = Estimator::with_relative_weights(&channels, planes).unwrap();
        for (at, run) in job.runs.iter().enumerate() {
            let times = if at == 1 { n } else { 1 };
            for _ in 0..times {
                repeated.add(of(run, 1.0)).unwrap();
            }
            weighted.add(of(run, f64::from(times))).unwrap();
        }
        close(&unknowns(&weighted), &unknowns(&repeated))?;
        let (weighted, repeated) = (weighted.fit().unwrap(), repeated.fit().unwrap());
        for (a, b) in weighted.channels().iter().zip(repeated.channels()) {
            for (x, y) in a.cofactor().entries().iter().zip(b.cofactor().entries()) {
                prop_assert!((x - y).abs() <= 1e-12 * b.cofactor().get(0, 0).unwrap().max(y.abs()));
            }
            let (x, y) = (a.weighted_sum_of_squares(), b.weighted_sum_of_squares());
            prop_assert!((x - y).abs() <= 1e-10 * y, "{x} {y}");
        }
    }

    /// Readings at other speeds, of a machine that follows a law, are brought to what they are at the nominal speed; and
    /// they scatter more by as much as they are multiplied.
    #[test]
    fn readings_are_scaled_by_the_declared_law(
        (plant, trials) in machine_and_trials(), stiff in any::<bool>(), scale in 0..VibrationScale::ALL.len(),
        steps in vec(-90..=90_i32, 5),
    ) {
        let law = if stiff { SpeedLaw::StiffnessControlled } else { SpeedLaw::MassControlled };
        let scale = VibrationScale::ALL[scale];
        let unit = VibrationUnit::new(scale, counterpoise::Detector::Peak);
        let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0).unwrap(), 1.0).unwrap();
        let channels: Vec<Channel> = (1..)
            .take(plant.points())
            .map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window).with_law(law))
            .collect();
        // Displacement, velocity, acceleration: Ω², Ω³, Ω⁴ below resonance, Ω⁰, Ω¹, Ω² above.
        let order = match scale {
            VibrationScale::Millimetre | VibrationScale::Micrometre | VibrationScale::Mil => 0,
            VibrationScale::MillimetrePerSecond | VibrationScale::InchPerSecond => 1,
            _ => 2,
        };
        let exponent = f64::from(order + if stiff { 2 } else { 0 });
        let mut estimator = Estimator::with_known_variances(&channels, plant.planes()).unwrap();
        let mut nominal = Estimator::with_known_variances(&channels, plant.planes()).unwrap();
        let mut other_speeds = 0;
        for ((mounted, read), step) in plant.runs(&trials).into_iter().zip(steps) {
            let rpm = 2400.0 + 10.0 * f64::from(step);
            let grown = libm::pow(rpm / 2400.0, exponent);
            let (mut at_speed, mut at_nominal) = (Run::new("at speed"), Run::new("at nominal speed"));
            for (plane, &u) in mounted.iter().enumerate() {
                at_speed = at_speed.mounted(plane, unbalance(u));
                at_nominal = at_nominal.mounted(plane, unbalance(u));
            }
            for (channel, &v) in channels.iter().zip(&read) {
                let reading = channel.reading_of(vibration(v * grown)).with_standard_deviation(0.01).unwrap();
                at_speed = at_speed.reading(reading.at(Speed::from_rpm(rpm).unwrap()).unwrap());
                let brought = channel.reading_of(vibration(v)).with_standard_deviation(0.01 / grown).unwrap();
                at_nominal = at_nominal.reading(brought);
            }
            estimator.add(at_speed).unwrap();
            nominal.add(at_nominal).unwrap();
            // Displacement far above resonance does not change with speed: there is nothing to report.
            other_speeds += if step == 0 || exponent == 0.0 { 0 } else { plant.points() };
        }
        close(&unknowns(&estimator), &unknowns(&nominal))?;
        let (fit, plain) = (estimator.fit().unwrap(), nominal.fit().unwrap());
        for (a, b) in fit.channels().iter().zip(plain.channels()) {
            let size = b.cofactor().entries().iter().fold(0.0, |size: f64, entry| size.max(entry.abs()));
            for (x, y) in a.cofactor().entries().iter().zip(b.cofactor().entries()) {
                prop_assert!((x - y).abs() <= 1e-12 * size);
            }
        }
        let scaled = fit.cautions().iter().filter(|caution| matches!(caution, Caution::ScaledToSpeed { .. })).count();
        prop_assert_eq!(scaled, other_speeds);
    }

    /// A channel that was not read in a run is fitted from the others, as if the run were not there.
    #[test]
    fn a_missing_reading_is_left_out(job in scattered_job(2)) {
        let channels = channels(job.plant.points());
        let planes = job.plant.planes();
        let mut partly = Estimator::with_relative_weights(&channels, planes).unwrap();
        for (at, (mounted, read)) in job.runs.iter().enumerate() {
            // The second reading of the bare rotor lacks channel 1, and all after it.
            let here = if at == 1 { 1 } else { channels.len() };
            partly.add(run(&channels[..here], mounted, &read[..here])).unwrap();
        }
        let mut without: Runs = job.runs.clone();
        without.remove(1);
        let (with, without) =
            (estimator(&channels, planes, &job.runs), estimator(&channels, planes, &without));
        let (got, all, fewer) = (unknowns(&partly), unknowns(&with), unknowns(&without));
        close(&got[..=planes], &all[..=planes])?;
        close(&got[planes + 1..], &fewer[planes + 1..])?;
        prop_assert!(partly.fit().unwrap().channels().iter().skip(1).all(|fit| fit.residual(1).is_none()));
    }
}
