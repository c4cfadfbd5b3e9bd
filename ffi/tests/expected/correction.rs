//! Corrections by every objective, with weights and limits.

use counterpoise::{Correction, CorrectionQuestion, Objective, Unbalance, UnbalanceVector};

use super::influence::relative;
use super::several;

fn of(correction: &Correction) -> Vec<f64> {
    let certificate = correction.certificate();
    let mut values: Vec<f64> = correction
        .added()
        .iter()
        .chain(correction.total())
        .flat_map(|u| [u.x_gram_millimetres(), u.y_gram_millimetres()])
        .collect();
    values.extend(correction.predicted().iter().flat_map(|v| [v.complex().re, v.complex().im]));
    values.extend([
        correction.objective_value(),
        certificate.lower_bound(),
        correction.weighted_rms(),
        correction.largest_amplitude(),
        correction.largest_weighted_amplitude(),
    ]);
    values.extend(certificate.dual().iter().flat_map(|y| [y.re, y.im]));
    values.extend(certificate.active_channels().iter().map(|of| of.share));
    values.extend(certificate.planes_at_limit().iter().map(|of| of.gain_per_gram_millimetre));
    values
}

pub fn numbers() -> Vec<(String, f64)> {
    let fit = relative();
    let as_found = fit.as_found();
    let g_mm = |value| Unbalance::from_gram_millimetres(value).unwrap();
    let question = || CorrectionQuestion::new(fit.influence(), &as_found).unwrap();
    let plain = question().solve().unwrap();
    let mounted = [
        UnbalanceVector::from_components_gram_millimetres(100.0, 50.0).unwrap(),
        UnbalanceVector::from_components_gram_millimetres(-30.0, 10.0).unwrap(),
    ];
    let now = fit.vibration_with(&mounted).unwrap();
    let limited = |objective| {
        CorrectionQuestion::new(fit.influence(), &now)
            .unwrap()
            .objective(objective)
            .mounted_now(&mounted)
            .unwrap()
            .channel_weights(&[1.0, 2.0])
            .limit_total(0, g_mm(500.0))
            .limit_added(1, g_mm(300.0))
            .solve()
            .unwrap()
    };
    [
        several("plain", &of(&plain)),
        several("squares", &of(&limited(Objective::LeastSquares))),
        several("minmax", &of(&limited(Objective::MinMax))),
    ]
    .concat()
}
