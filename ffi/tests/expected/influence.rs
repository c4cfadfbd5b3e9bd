//! Two channels, two planes, four runs: fit, prior, figures of the fit.

use counterpoise::{
    Channel, Convention, Detector, Estimator, Influence, InfluenceFit, Mass, PhaseSense, Prior, Radius,
    Reading, RotorSense, Run, Speed, SpeedWindow, UnbalanceVector, VibrationScale, VibrationUnit,
};

use super::several;

pub const CONVENTION: Convention = Convention { phase: PhaseSense::Lag, rotor: RotorSense::AgainstRotation };

pub fn channels() -> [Channel; 2] {
    let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    let window = SpeedWindow::around_percent(Speed::from_rpm(2350.0).unwrap(), 1.0).unwrap();
    [1, 2].map(|sensor| Channel::new(sensor, unit, CONVENTION.phase, window))
}

/// Amplitude and phase of both channels, and grams and place in both planes, run by run.
pub const RUNS: [[f64; 8]; 4] = [
    [0.45, 48.0, 0.33, 120.0, 0.0, 0.0, 0.0, 0.0],
    [0.61, 75.0, 0.28, 101.0, 12.0, 90.0, 0.0, 0.0],
    [0.39, 21.0, 0.52, 150.0, 0.0, 0.0, 9.0, 200.0],
    [0.55, 49.0, 0.44, 133.0, 12.0, 90.0, 9.0, 200.0],
];

fn unbalance(grams: f64, place: f64) -> UnbalanceVector {
    let radius = Radius::from_millimetres(165.0).unwrap();
    CONVENTION.weight(Mass::from_grams(grams).unwrap(), radius, place).unwrap().unbalance()
}

pub fn fit_of(
    mut estimator: Estimator,
    runs: &[[f64; 8]],
    precise: impl Fn(Reading) -> Reading,
) -> InfluenceFit {
    let channels = channels();
    for &[a, a_phase, b, b_phase, one, one_place, two, two_place] in runs {
        let run = Run::new("")
            .mounted(0, unbalance(one, one_place))
            .mounted(1, unbalance(two, two_place))
            .reading(precise(channels[0].reading(a, a_phase).unwrap()))
            .reading(precise(channels[1].reading(b, b_phase).unwrap()));
        estimator.add(run).unwrap();
    }
    estimator.fit().unwrap()
}

fn of_influence(h: &Influence) -> [f64; 2] {
    [h.complex().re, h.complex().im]
}

pub fn of_fit(fit: &InfluenceFit) -> Vec<f64> {
    let mut values: Vec<f64> = fit.as_found().iter().flat_map(|v| [v.complex().re, v.complex().im]).collect();
    values.extend(fit.influence().coefficients().iter().flat_map(of_influence));
    for channel in fit.channels() {
        values.extend([
            channel.weighted_sum_of_squares(),
            channel.residual_variance().unwrap_or(0.0),
            channel.chi_squared().map_or(0.0, |chi| chi.value),
            channel.residual(1).unwrap().complex().re,
            channel.leverage(1).unwrap_or(0.0),
            channel.standardised_residual(1).unwrap_or(0.0),
            channel.studentised_residual(1).unwrap_or(0.0),
        ]);
        values.extend(channel.covariance().unwrap().entries());
        values.extend(channel.cofactor().entries());
    }
    values.extend(
        fit.vibration_with(&[unbalance(3.0, 10.0), unbalance(4.0, 20.0)])
            .unwrap()
            .iter()
            .flat_map(|v| [v.complex().re, v.complex().im]),
    );
    values
}

pub fn relative() -> InfluenceFit {
    fit_of(Estimator::with_relative_weights(&channels(), 2).unwrap(), &RUNS, |reading| reading)
}

pub fn numbers() -> Vec<(String, f64)> {
    let fit = relative();
    let known = Estimator::with_known_variances(&channels(), 2).unwrap();
    let prior = Prior::with_relative_spread(fit.influence().clone(), 0.2).unwrap();
    let sigma = |reading: Reading| reading.with_standard_deviation(0.02).unwrap();
    let stated = fit_of(known.clone().with_prior(prior).unwrap(), &RUNS[..1], sigma);
    let from_fit = Prior::from_fit(&fit).unwrap().widened_by(0.1).unwrap();
    let updated = fit_of(known.with_prior(from_fit).unwrap(), &RUNS[..2], sigma);
    let one_run = |fit: &InfluenceFit| {
        let mut values: Vec<f64> =
            fit.as_found().iter().flat_map(|v| [v.complex().re, v.complex().im]).collect();
        values.extend(fit.influence().coefficients().iter().flat_map(of_influence));
        values
    };
    let mut matrix = fit.influence().singular_values(&[1.0, 4.0]).unwrap();
    matrix.push(fit.influence().condition_number(&[]).unwrap());
    [
        several("fit", &of_fit(&fit)),
        several("common", &of_fit(&fit.clone().with_common_variance())),
        several("prior", &one_run(&stated)),
        several("update", &one_run(&updated)),
        several("matrix", &matrix),
    ]
    .concat()
}
