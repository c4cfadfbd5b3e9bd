//! A disc on a flexible shaft: how far it whirls, and where. The plant lives here; the library has none.

use counterpoise::{
    Influence, OnePlane, PhaseSense, RotorAngle, Speed, Unbalance, UnbalanceVector, Vibration,
};
use num_complex::Complex64;

use super::case::{Case, assert_direction, assert_near};
use crate::support::{self, vectors::Fields};

/// A disc in the middle of a light shaft (the Jeffcott rotor): m x″ + c x′ + k x = U Ω² e^{jΩt}.
struct Disc {
    mass_kg: f64,
    stiffness: f64,
    damping: f64,
}

impl Disc {
    /// G = Ω² / (k − m Ω² + j c Ω), in um per g mm: 1 g mm is 1e-6 kg m, and 1 m is 1e6 um.
    fn influence(&self, speed: Speed) -> Influence {
        let omega = speed.radians_per_second();
        let impedance = Complex64::new(self.stiffness - self.mass_kg * omega * omega, self.damping * omega);
        support::influence(Complex64::new(omega * omega, 0.0) / impedance)
    }
}

pub(crate) fn jeffcott(case: &Case) {
    let (inputs, expected, rel) = (case.inputs(), case.expected(), case.tolerance("rel"));
    let (mass_kg, stiffness, zeta) =
        (inputs.number("m_kg"), inputs.number("k_N_per_m"), inputs.number("zeta"));
    // c = 2 ζ √(k m)
    let disc = Disc { mass_kg, stiffness, damping: 2.0 * zeta * libm::sqrt(stiffness * mass_kg) };
    // U = m e, with 1 kg um = 1 g mm; the heavy spot is at the mark.
    let amount = Unbalance::from_gram_millimetres(mass_kg * inputs.number("e_um")).unwrap();
    let heavy = UnbalanceVector::from_polar(amount, RotorAngle::MARK);

    let speed = Speed::from_rpm(inputs.number("speed_rpm")).unwrap();
    let vibration: Vibration = disc.influence(speed) * heavy;
    let amplitude = expected.number("amplitude_um");
    assert_near(vibration.amplitude(), amplitude, rel * amplitude);
    // The heavy spot passes the sensor at the pulse; the deflection follows it by the lag.
    assert_direction(
        vibration.phase(PhaseSense::Lag).degrees(),
        expected.number("phase_lag_deg"),
        rel * 360.0,
    );

    let critical = libm::sqrt(stiffness / mass_kg);
    let amplitude_at = |ratio: f64| {
        let speed = Speed::from_radians_per_second(critical * ratio).unwrap();
        (disc.influence(speed) * heavy).amplitude()
    };
    let at_critical = expected.number("amplitude_at_critical_um");
    assert_near(amplitude_at(1.0), at_critical, rel * at_critical);
    // The peak stands at Ω/ω = 1 / √(1 − 2ζ²), and nothing on either side is higher.
    let peak = amplitude_at(1.0 / libm::sqrt(1.0 - 2.0 * zeta * zeta));
    let maximum = expected.number("max_amplitude_um");
    assert_near(peak, maximum, rel * maximum);
    assert!((1..400).all(|step| amplitude_at(f64::from(step) * 0.005) <= peak * (1.0 + 1e-12)));

    // Two runs find the heavy spot, and the weight that opposes it.
    let trial = support::unbalance(Complex64::new(0.0, amount.gram_millimetres() / 10.0));
    let plane = OnePlane::from_trial(vibration, vibration + disc.influence(speed) * trial, trial).unwrap();
    let correction = plane.correction(vibration).unwrap();
    assert!((correction + heavy).amount().gram_millimetres() < 1e-9 * amount.gram_millimetres());
}
