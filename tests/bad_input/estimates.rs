//! Runs, priors and trial weights.

use counterpoise::{
    Channel, CorrectionQuestion, Covariance, EstimateError, Estimator, Influence, InfluenceMatrix, OnePlane,
    Prior, Run, Speed, SpeedWindow, TwoPlaneRun, TwoPlanes, UnbalanceVector, Vibration,
};
use num_complex::Complex64;

use super::refused;
use crate::support::{MM_S, channel, channels, estimator, influence, run, unbalance, vibration};

fn c(re: f64, im: f64) -> Complex64 {
    Complex64::new(re, im)
}

fn relative(channels: &[Channel], planes: usize) -> Estimator {
    Estimator::with_relative_weights(channels, planes).unwrap()
}

fn known(channels: &[Channel], planes: usize) -> Estimator {
    Estimator::with_known_variances(channels, planes).unwrap()
}

/// One channel, some planes, and runs given by what is mounted and what is read.
fn fitted(
    planes: usize,
    runs: &[(&[Complex64], Complex64)],
) -> Result<counterpoise::InfluenceFit, EstimateError> {
    let runs: Vec<_> = runs.iter().map(|(mounted, read)| (mounted.to_vec(), vec![*read])).collect();
    estimator(&channels(1), planes, &runs).fit()
}

#[test]
fn nothing_to_estimate_from() {
    let no_channel = "there is no channel: name at least one sensor at one speed";
    let no_plane = "there is no correction plane: say how many the rotor has, one or more";
    refused(Estimator::with_relative_weights(&[], 1), 304, no_channel);
    refused(Estimator::with_known_variances(&[], 1), 304, no_channel);
    refused(Estimator::with_relative_weights(&channels(1), 0), 305, no_plane);
    refused(InfluenceMatrix::new(&[], 1, &[]), 304, no_channel);
    refused(InfluenceMatrix::new(&channels(1), 0, &[]), 305, no_plane);
    refused(
        relative(&channels(2), 1).fit(),
        306,
        "there is no run: add the run as found, and a trial run for every plane",
    );
    let twice = [channel(4), channel(5), channel(4)];
    let text = "channels 0 and 2 are the same, sensor 4: name each once, or number the sensors apart";
    refused(Estimator::with_relative_weights(&twice, 1), 307, text);
    refused(InfluenceMatrix::new(&twice, 1, &[Influence::ZERO; 3]), 307, text);
    refused(
        InfluenceMatrix::new(&channels(2), 3, &[Influence::ZERO; 5]),
        308,
        "wrong number of influence coefficients: expected 6, got 5",
    );
    let beyond = influence(c(1e100, 0.0)) * f64::MAX;
    refused(
        InfluenceMatrix::new(&channels(2), 1, &[Influence::ZERO, beyond]),
        320,
        "channel 1: the result is beyond the range of numbers; check the units of weights and readings",
    );
    refused(relative(&channels(2), 1).design(2), 321, "there is no channel 2: 2 are named, counted from 0");
}

#[test]
fn runs_that_do_not_fit_the_estimator() {
    let channels = channels(2);
    let mut estimator = relative(&channels, 1);
    estimator.add(run(&channels, &[c(0.0, 0.0)], &[c(1.0, 0.0), c(2.0, 0.0)])).unwrap();
    refused(
        estimator.add(run(&channels, &[c(0.0, 0.0), c(5.0, 0.0)], &[c(1.0, 0.0), c(2.0, 0.0)])),
        309,
        "run 1 mounts a weight in plane 1, but there are 1 planes, counted from 0",
    );
    let beyond = unbalance(c(1e100, 0.0)) * f64::MAX;
    refused(
        estimator
            .add(Run::new("overflow").mounted(0, beyond).reading(channels[0].reading(1.0, 0.0).unwrap())),
        310,
        "run 1 mounts an unbalance that is not finite in plane 0: check where the numbers come from",
    );
    refused(
        estimator.add(Run::new("forgotten").mounted(0, unbalance(c(5.0, 0.0)))),
        311,
        "run 1 has no reading: add one, or leave the run out",
    );
    let other = channel(9);
    refused(
        estimator.add(Run::new("other").reading(other.reading(1.0, 0.0).unwrap())),
        312,
        "run 1 has a reading of sensor 9 at 2400.0 rpm whose channel is none of the named ones: unit, phase sense, window and law must be the same, too",
    );
    // The same sensor at another speed is another channel.
    let window = SpeedWindow::around_percent(Speed::from_rpm(1200.0).unwrap(), 1.0).unwrap();
    let slow = Channel::new(1, MM_S, channels[0].phase_sense(), window);
    refused(
        estimator.add(Run::new("slow").reading(slow.reading(1.0, 0.0).unwrap())),
        312,
        "run 1 has a reading of sensor 1 at 1200.0 rpm whose channel is none of the named ones: unit, phase sense, window and law must be the same, too",
    );
    let reading = channels[1].reading(1.0, 0.0).unwrap();
    refused(
        estimator.add(Run::new("twice").reading(reading).reading(reading)),
        313,
        "run 1 has two readings of channel 1: average them first, or make them two runs",
    );
    let precision = "run 1, channel 1: with known variances every reading says its standard deviation, with relative \
                     weights none does";
    refused(
        estimator.add(Run::new("known").reading(reading.with_standard_deviation(0.1).unwrap())),
        314,
        precision,
    );
    let mut known = known(&channels, 1);
    known.add(Run::new("known").reading(reading.with_standard_deviation(0.1).unwrap())).unwrap();
    refused(known.add(Run::new("relative").reading(reading)), 314, precision);
    refused(known.add(Run::new("weight").reading(reading.with_weight(2.0).unwrap())), 314, precision);
    // A refused run leaves no trace.
    assert_eq!((estimator.runs().len(), known.runs().len()), (1, 1));
    assert_eq!(estimator.add(run(&channels, &[c(1.0, 0.0)], &[c(0.0, 0.0), c(2.0, 0.0)])), Ok(1));
}

#[test]
fn runs_that_do_not_determine_the_unknowns() {
    let text = |counts: &str, groups: &str| {
        format!("channel 0: {counts} unknowns; {groups}: add a run in which what is mounted there differs")
    };
    let (none, trial) = (c(0.0, 0.0), c(10.0, 5.0));
    // One run; two that mount nothing; a trial weight of zero.
    refused(
        fitted(1, &[(&[none], c(1.0, 0.0))]),
        319,
        &text("1 run(s) determine 1 of 2", "no run shows what plane 0 does"),
    );
    refused(
        fitted(1, &[(&[none], c(1.0, 0.0)), (&[none], c(2.0, 0.0))]),
        319,
        &text("2 run(s) determine 1 of 2", "no run shows what plane 0 does"),
    );
    // The same weight in every run.
    refused(
        fitted(1, &[(&[trial], c(1.0, 0.0)), (&[trial], c(1.0, 0.0))]),
        319,
        &text("2 run(s) determine 1 of 2", "not told apart: the vibration as found and plane 0"),
    );
    // Two planes in two runs, and a plane that always carries as much as another.
    refused(
        fitted(2, &[(&[none, none], c(1.0, 0.0)), (&[trial, none], c(2.0, 0.0))]),
        319,
        &text("2 run(s) determine 2 of 3", "no run shows what plane 1 does"),
    );
    let (a, b) = (c(3.0, 1.0), c(-2.0, 4.0));
    refused(
        fitted(2, &[(&[none, none], c(1.0, 0.0)), (&[a, a], c(2.0, 0.0)), (&[b, b], c(3.0, 0.0))]),
        319,
        &text("3 run(s) determine 2 of 3", "not told apart: plane 0 and plane 1"),
    );
    // A channel that was never read.
    let channels = channels(2);
    let mut partly = relative(&channels, 1);
    partly.add(run(&channels[..1], &[none], &[c(1.0, 0.0)])).unwrap();
    partly.add(run(&channels[..1], &[trial], &[c(2.0, 0.0)])).unwrap();
    refused(
        partly.fit(),
        319,
        "channel 1: 0 run(s) determine 0 of 2 unknowns; no run shows the vibration as found; no run shows what plane 0 \
         does: add a run in which what is mounted there differs",
    );
    assert_eq!(partly.design(1).unwrap().rank, 0);
    let EstimateError::Undetermined(found) = partly.fit().unwrap_err() else { panic!("another error") };
    assert_eq!((found.channel, found.rank, found.unknowns, found.readings), (1, 0, 2, 0));
}

/// A trial that shows nothing is an answer, too: the coefficient is zero, and only the correction refuses.
#[test]
fn a_trial_without_response() {
    let (read, trial) = (c(0.3, -0.2), c(10.0, 5.0));
    let fit = fitted(1, &[(&[c(0.0, 0.0)], read), (&[trial], read)]).unwrap();
    // What rounding alone would leave is not taken for a tiny coefficient that asks for an enormous weight.
    assert_eq!(fit.influence().get(0, 0), Some(Influence::ZERO));
    let refusal = CorrectionQuestion::new(fit.influence(), &fit.as_found()).unwrap().solve().unwrap_err();
    assert_eq!(
        refusal.to_string(),
        "at these measuring points planes [0] have no effect of their own (rank 0 of 1): correct in fewer planes, or add a \
         measuring point or a speed"
    );
    let text = "the trial run reads as the run before it (0.5 and 0.5 in the channel's unit): check that the weight was \
                on and the reading new, or use a larger weight";
    let before = vibration(c(0.3, 0.4));
    refused(OnePlane::from_trial(before, before, unbalance(trial)), 302, text);
    // Also to the last digits.
    let after = vibration(c(0.3, f64::from_bits(0.4_f64.to_bits() + 1)));
    assert_eq!(OnePlane::from_trial(before, after, unbalance(trial)).unwrap_err().code(), 302);
    refused(
        OnePlane::from_trial(Vibration::ZERO, Vibration::ZERO, unbalance(trial)),
        302,
        &text.replace("0.5", "0.0"),
    );
}

#[test]
fn closed_forms() {
    let zero = "the trial weight changes the unbalance by nothing: give its mass, radius and place";
    let (before, after) = (vibration(c(0.3, 0.4)), vibration(c(0.1, 0.0)));
    refused(OnePlane::from_trial(before, after, UnbalanceVector::ZERO), 301, zero);

    let run = |mounted: [Complex64; 2], read: [Complex64; 2]| TwoPlaneRun {
        mounted: mounted.map(unbalance),
        vibration: read.map(vibration),
    };
    let (none, a, b) = (c(0.0, 0.0), c(10.0, 0.0), c(0.0, 20.0));
    let first = run([none, none], [c(3.0, 4.0), c(1.0, 0.0)]);
    let second = run([a, none], [c(2.0, 0.0), c(1.0, 1.0)]);
    let third = run([none, b], [c(1.0, 0.0), c(0.0, 1.0)]);
    assert!(TwoPlanes::from_runs(&[first, second, third]).is_ok());
    refused(TwoPlanes::from_runs(&[first, first, third]), 301, zero);
    refused(
        TwoPlanes::from_runs(&[first, second, TwoPlaneRun { mounted: first.mounted, ..third }]),
        301,
        zero,
    );
    refused(
        TwoPlanes::from_runs(&[first, second, TwoPlaneRun { vibration: first.vibration, ..third }]),
        302,
        "the trial run reads as the run before it (5.0 and 5.0 in the channel's unit): check that the weight was on and \
         the reading new, or use a larger weight",
    );
    // The second trial in the plane of the first.
    refused(
        TwoPlanes::from_runs(&[
            first,
            second,
            TwoPlaneRun { mounted: [unbalance(b), unbalance(none)], ..third },
        ]),
        303,
        "the two trial runs change both planes in proportion, so the planes cannot be told apart: put the second trial \
         weight in the other plane",
    );
    refused(
        TwoPlanes::from_runs(&[
            run([none, none], [none, none]),
            run([c(1e-300, 0.0), none], [c(1e100, 0.0), none]),
            run([none, c(1e-300, 0.0)], [none, c(1e100, 0.0)]),
        ]),
        320,
        "channel 0: the result is beyond the range of numbers; check the units of weights and readings",
    );
}

#[test]
fn covariances() {
    let text = |value: &str, row: usize, column: usize| {
        format!(
            "the covariance has {value} in row {row}, column {column}: it must be finite, symmetric and not negative"
        )
    };
    refused(Covariance::independent(&[0.1, -0.1]), 317, &text("-0.1", 2, 2));
    refused(Covariance::independent(&[f64::NAN]), 317, &text("NaN", 0, 0));
    refused(Covariance::from_entries(1, &[1.0, 0.5, 0.4, 1.0]), 317, &text("0.5", 0, 1));
    refused(Covariance::from_entries(1, &[1.0, f64::INFINITY, f64::INFINITY, 1.0]), 317, &text("inf", 0, 1));
    refused(Covariance::from_entries(1, &[1.0, 0.0, 0.0, -2.0]), 317, &text("-2.0", 1, 1));
    refused(
        Covariance::from_entries(2, &[1.0, 0.0, 0.0, 1.0]),
        308,
        "wrong number of covariance entries: expected 16, got 4",
    );
    refused(
        Covariance::from_entries(usize::MAX, &[1.0]),
        308,
        &format!("wrong number of covariance entries: expected {}, got 1", usize::MAX),
    );
    assert_eq!(Covariance::independent(&[]).unwrap().entries(), [0.0; 0]);
}

#[test]
fn priors() {
    let channels = channels(2);
    let matrix =
        |first: Influence| InfluenceMatrix::new(&channels, 1, &[first, influence(c(2e-3, 1e-3))]).unwrap();
    let stored = matrix(influence(c(1e-3, 0.0)));
    let prior = Prior::with_relative_spread(stored.clone(), 0.2).unwrap();
    refused(
        relative(&channels, 1).with_prior(prior.clone()),
        315,
        "a prior says how far coefficients may differ, in their unit: it needs readings with known standard deviations to \
         be weighed against",
    );
    let other = "the prior is for other channels or another number of planes than the estimator";
    refused(known(&channels[..1], 1).with_prior(prior.clone()), 316, other);
    refused(known(&[channels[1], channels[0]], 1).with_prior(prior.clone()), 316, other);
    refused(known(&channels, 2).with_prior(prior), 316, other);
    let of_two = vec![Covariance::independent(&[1.0, 1.0]).unwrap(); 2];
    refused(Prior::with_covariances(stored.clone(), of_two), 316, other);

    let firm = |channel: usize| {
        format!(
            "the covariance of the prior of channel {channel} is not positive definite: say of every coefficient how far \
             it may differ, by more than nothing"
        )
    };
    refused(Prior::with_relative_spread(stored.clone(), 0.0), 318, &firm(0));
    refused(Prior::with_relative_spread(stored.clone(), f64::NAN), 318, &firm(0));
    refused(Prior::with_relative_spread(stored.clone(), -0.2), 318, &firm(0));
    refused(Prior::with_relative_spread(matrix(Influence::ZERO), 0.2), 318, &firm(0));
    refused(Prior::with_standard_deviations(stored.clone(), &[1e-4, f64::INFINITY]), 318, &firm(1));
    refused(
        Prior::with_standard_deviations(stored.clone(), &[1e-4]),
        308,
        "wrong number of standard deviations, one per coefficient: expected 2, got 1",
    );
    refused(
        Prior::with_covariances(stored.clone(), Vec::new()),
        308,
        "wrong number of covariances, one per channel: expected 2, got 0",
    );

    // A covariance that only the fit can judge: of the second channel, whose components are one and the same.
    let degenerate = Covariance::from_entries(1, &[1e-8, 1e-8, 1e-8, 1e-8]).unwrap();
    let sound = Covariance::independent(&[1e-8]).unwrap();
    let prior = Prior::with_covariances(stored, vec![sound, degenerate]).unwrap();
    let mut estimator = known(&channels, 1).with_prior(prior).unwrap();
    let reading =
        |channel: &Channel| channel.reading(0.5, 20.0).unwrap().with_standard_deviation(0.01).unwrap();
    estimator.add(Run::new("now").reading(reading(&channels[0])).reading(reading(&channels[1]))).unwrap();
    refused(estimator.fit(), 318, &firm(1));

    // With a prior, too, a channel must be read.
    let stored = matrix(influence(c(1e-3, 0.0)));
    let prior = Prior::with_relative_spread(stored, 0.2).unwrap();
    let mut estimator = known(&channels, 1).with_prior(prior).unwrap();
    estimator.add(Run::new("now").reading(reading(&channels[1]))).unwrap();
    refused(
        estimator.fit(),
        319,
        "channel 0: 0 run(s) determine 1 of 2 unknowns; no run shows the vibration as found: add a run in which what is \
         mounted there differs",
    );

    // A fit without a variance has no prior to give.
    let exact = fitted(1, &[(&[c(0.0, 0.0)], c(1.0, 0.0)), (&[c(9.0, 0.0)], c(2.0, 0.0))]).unwrap();
    assert_eq!(Prior::from_fit(&exact), None);
}

/// Numbers that are sound one by one, so far apart that the coefficient is beyond the range of doubles.
#[test]
fn a_fit_beyond_the_range_of_doubles() {
    let beyond = |channel: usize| {
        format!(
            "channel {channel}: the result is beyond the range of numbers; check the units of weights and readings"
        )
    };
    let (none, usual) = (c(0.0, 0.0), c(1.0, 0.0));
    refused(fitted(1, &[(&[none], none), (&[c(1e-250, 0.0)], c(1e100, 0.0))]), 320, &beyond(0));
    // The coefficient is within range, its variance is not.
    refused(fitted(1, &[(&[none], none), (&[c(1e-200, 0.0)], usual)]), 320, &beyond(0));
    // So are the cofactor and the residual variance, and their product is not.
    let loud = c(1e100, 0.0);
    let scattered = [(&[none][..], none), (&[c(1e-100, 0.0)][..], none), (&[none][..], loud)];
    refused(fitted(1, &scattered), 320, &beyond(0));
    // In the second channel only, which weighs less.
    let channels = channels(2);
    let mut weighted = relative(&channels, 1);
    for (mounted, read) in [(none, none), (c(1e-120, 0.0), usual)] {
        let readings = [1.0, 1e-100]
            .iter()
            .zip(&channels)
            .map(|(&weight, channel)| channel.reading_of(vibration(read)).with_weight(weight).unwrap());
        let run = Run::new("far apart").mounted(0, unbalance(mounted));
        weighted.add(readings.fold(run, Run::reading)).unwrap();
    }
    refused(weighted.fit(), 320, &beyond(1));
}

/// What is asked about a run, a channel or a plane that does not exist.
#[test]
fn nothing_there() {
    let fit = fitted(1, &[(&[c(0.0, 0.0)], c(1.0, 0.0)), (&[c(9.0, 0.0)], c(2.0, 0.0))]).unwrap();
    let of_channel = &fit.channels()[0];
    assert_eq!((of_channel.residual(2), of_channel.leverage(2)), (None, None));
    assert_eq!((of_channel.standardised_residual(2), of_channel.studentised_residual(2)), (None, None));
    // As many runs as unknowns: no variance, and leverages of 1.
    assert_eq!((of_channel.residual_variance(), of_channel.covariance()), (None, None));
    assert_eq!((of_channel.standardised_residual(1), of_channel.studentised_residual(1)), (None, None));
    assert_eq!(
        (fit.influence().get(1, 0), fit.influence().get(0, 1), fit.influence().row(1)),
        (None, None, None)
    );
    assert_eq!(fit.influence().get(usize::MAX, 0), None);
    assert_eq!(fit.mounted_in(2), None);
    let cofactor = of_channel.cofactor();
    assert_eq!((cofactor.get(4, 0), cofactor.block(2, 0)), (None, None));
    refused(
        fit.vibration_with(&[]),
        401,
        "wrong number of unbalance vectors, one per plane: expected 1, got 0",
    );
}
