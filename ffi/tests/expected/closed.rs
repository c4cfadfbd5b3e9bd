//! One plane; two planes.

use counterpoise::{
    Convention, Mass, OnePlane, PhaseSense, Radius, RotorSense, TwoPlaneRun, TwoPlanes, UnbalanceVector,
};

use super::several;

pub fn numbers() -> Vec<(String, f64)> {
    let convention = Convention { phase: PhaseSense::Lag, rotor: RotorSense::AgainstRotation };
    let radius = Radius::from_millimetres(165.0).unwrap();
    let reads = |amplitude, phase| convention.vibration(amplitude, phase).unwrap();
    let weight = |grams, place| {
        convention.weight(Mass::from_grams(grams).unwrap(), radius, place).unwrap().unbalance()
    };
    let as_found = reads(0.45, 48.0);
    let plane = OnePlane::from_trial(as_found, reads(0.61, 75.0), weight(12.0, 90.0)).unwrap();
    let add = plane.correction(as_found).unwrap();
    let left = plane.predicted(as_found, weight(10.0, 200.0));
    let one = [
        plane.influence().complex().re,
        plane.influence().complex().im,
        add.x_gram_millimetres(),
        add.y_gram_millimetres(),
        left.complex().re,
        left.complex().im,
    ];
    let none = UnbalanceVector::ZERO;
    let planes = TwoPlanes::from_runs(&[
        TwoPlaneRun { mounted: [none, none], vibration: [reads(8.5, 60.0), reads(6.5, 205.0)] },
        TwoPlaneRun {
            mounted: [weight(10.0, 270.0), none],
            vibration: [reads(6.0, 125.0), reads(4.5, 230.0)],
        },
        TwoPlaneRun {
            mounted: [none, weight(12.0, 180.0)],
            vibration: [reads(6.0, 35.0), reads(10.5, 160.0)],
        },
    ])
    .unwrap();
    let now = [reads(8.5, 60.0), reads(6.5, 205.0)];
    let add = planes.correction(now).unwrap();
    let then = planes.predicted(now, [weight(1.0, 10.0), weight(2.0, 20.0)]);
    let mut two: Vec<f64> =
        planes.influence().iter().flatten().flat_map(|h| [h.complex().re, h.complex().im]).collect();
    two.extend(add.iter().flat_map(|u| [u.x_gram_millimetres(), u.y_gram_millimetres()]));
    two.extend(then.iter().flat_map(|v| [v.complex().re, v.complex().im]));
    two.push(planes.condition_number());
    [several("one", &one), several("two", &two)].concat()
}
