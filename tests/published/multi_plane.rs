//! Several sensors and speeds in several planes.

use counterpoise::{
    Channel, Correction, CorrectionQuestion, Detector, Influence, InfluenceMatrix, Objective, PhaseSense,
    Speed, SpeedWindow, Unbalance, VibrationScale, VibrationUnit,
};
use num_complex::Complex64;
use serde_json::Value;

use super::case::{Case, assert_direction, assert_near};
use crate::support::{self, vectors::Fields};

/// The matrix in um per g mm, for grams at a radius of 1 mm, and the vibration as found.
fn machine(case: &Case) -> (InfluenceMatrix, Vec<Complex64>) {
    let inputs = case.inputs();
    let unit = VibrationUnit::new(VibrationScale::Micrometre, Detector::Peak);
    let channel = |(sensor, rpm): (u16, f64)| {
        let window = SpeedWindow::around_percent(Speed::from_rpm(rpm).unwrap(), 1.0).unwrap();
        Channel::new(sensor, unit, PhaseSense::Lead, window)
    };
    // The rows are those of three sensors at 1200 rpm, then at 1800 rpm.
    let rows = [1200.0, 1800.0].into_iter().flat_map(|rpm| [1, 2, 3].map(|sensor| (sensor, rpm)));
    let channels: Vec<Channel> = rows.map(channel).collect();
    let pairs = |row: &Value| row.as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect::<Vec<_>>();
    let sizes = inputs.list("alpha_um_per_g_mag").iter().flat_map(pairs);
    let degrees = inputs.list("alpha_deg").iter().flat_map(pairs);
    let coefficients: Vec<Influence> =
        sizes.zip(degrees).map(|(size, degrees)| support::influence(support::polar(size, degrees))).collect();
    let matrix = InfluenceMatrix::new(&channels, 2, &coefficients).unwrap();
    let (amplitudes, phases) = (inputs.numbers("v0_um"), inputs.numbers("v0_deg"));
    let as_found =
        amplitudes.iter().zip(phases).map(|(&size, degrees)| support::polar(size, degrees)).collect();
    (matrix, as_found)
}

fn compare(case: &Case, key: &str, answer: &Correction) {
    let expected = &case.expected()[key];
    for (weight, want) in answer.added().iter().zip(expected.list("weights")) {
        assert_near(weight.amount().gram_millimetres(), want.number("mag"), case.tolerance("mass_g"));
        assert_direction(weight.angle().with_rotation().degrees(), want.number("deg"), case.tolerance("deg"));
    }
    let residuals = support::complex(answer.predicted());
    #[allow(clippy::cast_precision_loss, reason = "six rows")]
    let rms = support::length(&residuals) / libm::sqrt(residuals.len() as f64);
    assert_near(rms, expected.number("rms"), case.tolerance("residual"));
    assert_near(answer.largest_amplitude(), expected.number("max"), case.tolerance("residual"));
}

fn least_squares(case: &Case) {
    let (matrix, as_found) = machine(case);
    let now = support::vibrations(&as_found);
    let question = CorrectionQuestion::new(&matrix, &now).unwrap();
    let plain = question.solve().unwrap();
    compare(case, "least_squares", &plain);
    assert_near(
        plain.weighted_rms(),
        case.expected()["least_squares"].number("rms"),
        case.tolerance("residual"),
    );

    let weights = case.inputs().numbers("row_weights_for_weighted");
    let weighted = question.clone().channel_weights(&weights).solve().unwrap();
    compare(case, "weighted_least_squares", &weighted);
}

fn min_max_and_limits(case: &Case) {
    let (matrix, as_found) = machine(case);
    let question = CorrectionQuestion::new(&matrix, &support::vibrations(&as_found)).unwrap();
    let worst = question.clone().objective(Objective::MinMax).solve().unwrap();
    compare(case, "min_max", &worst);
    let limit = Unbalance::from_gram_millimetres(case.inputs().number("limit_g_per_plane")).unwrap();
    let limited = question.limit_added(0, limit).limit_added(1, limit).solve().unwrap();
    compare(case, "least_squares_with_limit", &limited);
}

/// Least squares plain and weighted, the worst row made smallest, and least squares with a limit in each plane.
pub(crate) fn all_objectives(case: &Case) {
    least_squares(case);
    min_max_and_limits(case);
}
