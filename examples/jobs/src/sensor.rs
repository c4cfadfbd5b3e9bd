//! What a sensor on the body shows of its motion.

use counterpoise::{Detector, MotionQuantity, VibrationScale, VibrationUnit};
use num_complex::Complex64;

use super::body::Four;

/// A sensor: where it sits, which way it looks, and what it shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sensor {
    pub station_m: f64,
    /// Its direction as a space angle, from y towards z.
    pub direction_degrees: f64,
    /// Whether it shows motion along its direction as positive; otherwise against it.
    pub along: bool,
    pub unit: VibrationUnit,
}

impl Sensor {
    /// The motion at the sensor, in its unit and detector, as `Re(X exp(jWt))` of a body that moves by `Re(q exp(jWt))`.
    pub fn shows(&self, motion: Four<Complex64>, spin: f64) -> Complex64 {
        let [y, z, phi, psi] = motion;
        let (sine, cosine) = libm::sincos(self.direction_degrees * (core::f64::consts::PI / 180.0));
        // u = (y + s φ) cos γ + (z + s ψ) sin γ
        let metres = (y + phi * self.station_m) * cosine + (z + psi * self.station_m) * sine;
        let derivative = Complex64::new(0.0, spin);
        let of_quantity = match self.unit.scale.quantity() {
            MotionQuantity::Velocity => metres * derivative,
            MotionQuantity::Acceleration => metres * derivative * derivative,
            MotionQuantity::Displacement => metres,
        };
        let sign = if self.along { 1.0 } else { -1.0 };
        of_quantity * (sign * of_one_si_unit(self.unit.scale) * of_one_peak(self.unit.detector))
    }
}

/// So many of a scale are one metre, one m/s or one m/s². By definition 1 in = 25.4 mm and g = 9.80665 m/s².
fn of_one_si_unit(scale: VibrationScale) -> f64 {
    match scale {
        VibrationScale::Millimetre | VibrationScale::MillimetrePerSecond => 1e3,
        VibrationScale::Micrometre => 1e6,
        VibrationScale::Mil => 1e3 / 0.0254,
        VibrationScale::InchPerSecond => 1.0 / 0.0254,
        VibrationScale::StandardGravity => 1.0 / 9.806_65,
        _ => 1.0,
    }
}

fn of_one_peak(detector: Detector) -> f64 {
    match detector {
        Detector::PeakToPeak => 2.0,
        Detector::Rms => core::f64::consts::FRAC_1_SQRT_2,
        Detector::Peak => 1.0,
    }
}
