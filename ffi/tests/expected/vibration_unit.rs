//! Every unit of vibration into every other.

use counterpoise::{Detector, Speed, Vibration, VibrationScale, VibrationUnit};

use super::several;

pub fn numbers() -> Vec<(String, f64)> {
    let speed = Speed::from_rpm(2345.6).unwrap();
    let vibration = Vibration::from_components(0.123, -0.456).unwrap();
    let units: Vec<VibrationUnit> = VibrationScale::ALL
        .iter()
        .flat_map(|scale| Detector::ALL.iter().map(|detector| VibrationUnit::new(*scale, *detector)))
        .collect();
    let mut values = Vec::new();
    for from in &units {
        for to in &units {
            let converted = from.convert(vibration, *to, speed).complex();
            values.extend([converted.re, converted.im, from.convert_amplitude(0.789, *to, speed)]);
        }
    }
    several("converted", &values)
}
