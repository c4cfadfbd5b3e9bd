//! All four conventions, there and back.

use counterpoise::{Convention, Influence, Mass, PhaseSense, Radius, RotorSense, Unbalance, UnbalanceVector};

use super::several;

pub fn numbers() -> Vec<(String, f64)> {
    let mut all = Vec::new();
    let radius = Radius::from_millimetres(165.0).unwrap();
    for (i, phase) in [PhaseSense::Lag, PhaseSense::Lead].into_iter().enumerate() {
        for (j, rotor) in [RotorSense::WithRotation, RotorSense::AgainstRotation].into_iter().enumerate() {
            let convention = Convention { phase, rotor };
            let vibration = convention.vibration(0.45, 48.1).unwrap();
            let polar = convention.polar_vibration(vibration);
            let (amplitude, angle) = (polar.amplitude, polar.phase);
            let weight = convention.weight(Mass::from_grams(12.0).unwrap(), radius, 91.7).unwrap();
            let unbalance = weight.unbalance();
            let back = unbalance.weight_at(radius);
            let polar = convention.polar_unbalance(unbalance);
            let (amount, place) = (polar.amount, polar.place);
            let amount_given = Unbalance::from_gram_millimetres(1980.0).unwrap();
            let direct = UnbalanceVector::from_polar(amount_given, convention.place(91.7).unwrap());
            let influence = Influence::from_components_per_gram_millimetre(-1.4e-4, 0.7e-4).unwrap();
            let caused = influence * unbalance;
            all.extend(several(
                &format!("pair {i}{j}"),
                &[
                    vibration.complex().re,
                    vibration.complex().im,
                    amplitude,
                    angle.degrees(),
                    weight.mass.grams(),
                    weight.radius.millimetres(),
                    weight.angle.with_rotation().degrees(),
                    unbalance.x_gram_millimetres(),
                    unbalance.y_gram_millimetres(),
                    back.mass.grams(),
                    back.angle.with_rotation().degrees(),
                    amount.gram_millimetres(),
                    place.degrees(),
                    direct.x_gram_millimetres(),
                    direct.y_gram_millimetres(),
                    caused.complex().re,
                    caused.complex().im,
                    influence.per_gram_millimetre(),
                    influence.lead().degrees(),
                    convention.place(33.3).unwrap().with_rotation().degrees(),
                    convention.place(33.3).unwrap().in_sense(rotor).degrees(),
                ],
            ));
        }
    }
    all
}
