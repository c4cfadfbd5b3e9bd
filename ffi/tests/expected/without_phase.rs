//! Amplitudes alone: one rotor, two, and the closed form.

use counterpoise::UnbalanceVector;
use counterpoise::without_phase::{Outcome, Solution, Trial, solve};

use super::several;

fn of(solution: &Solution) -> Vec<f64> {
    let mut values = vec![
        solution.correction.x_gram_millimetres(),
        solution.correction.y_gram_millimetres(),
        solution.as_found_amplitude,
        solution.influence_per_gram_millimetre,
        solution.response_lead.degrees(),
        solution.sum_of_squares,
        solution.rms_residual,
    ];
    values.extend(&solution.residuals);
    values
}

pub fn numbers() -> Vec<(String, f64)> {
    // An invented fan.
    let trials = [(1500.0, 0.0, 0.78), (-750.0, 1299.0, 0.79), (-750.0, -1299.0, 0.1), (0.0, 1500.0, 0.93)];
    let trials = trials.map(|(x, y, amplitude)| {
        let unbalance = UnbalanceVector::from_components_gram_millimetres(x, y).unwrap();
        Trial { unbalance, amplitude }
    });
    let mut values = Vec::new();
    for count in [4, 2] {
        match solve(&[0.5, 0.51], &trials[..count]).unwrap() {
            Outcome::Unique { solution, next_best, closed_form, .. } => {
                values.extend(of(&solution));
                values.extend(next_best.iter().flat_map(of));
                let closed = closed_form.unwrap();
                let correction = closed.correction.unwrap();
                values.extend([
                    closed.squared_influence,
                    closed.influence_from_mean.unwrap(),
                    closed.influence_from_places,
                    closed.response_lead.degrees(),
                    closed.inconsistency_ratio.unwrap(),
                    correction.x_gram_millimetres(),
                    correction.y_gram_millimetres(),
                ]);
            }
            Outcome::Ambiguous { solutions, .. } => values.extend(solutions.iter().flat_map(of)),
            other => panic!("{other:?}"),
        }
    }
    several("amplitudes", &values)
}
