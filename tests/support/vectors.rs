//! The reference vectors in `tests/vectors`, and JSON with errors that name the field.

use counterpoise::{
    Channel, Convention, Detector, PhaseSense, Reading, RotorSense, Speed, SpeedWindow, UnbalanceVector,
    VibrationScale, VibrationUnit,
};
use num_complex::Complex64;
use serde_json::Value;

pub(crate) fn read(path: &str) -> Value {
    let full = format!("{}/tests/{path}", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(&full).unwrap_or_else(|error| panic!("{path}: {error}"));
    serde_json::from_str(&text).unwrap_or_else(|error| panic!("{path}: {error}"))
}

/// Numbers, texts and lists of a JSON value, which have to be there.
pub(crate) trait Fields {
    fn number(&self, key: &str) -> f64;
    fn count(&self, key: &str) -> usize;
    fn text(&self, key: &str) -> &str;
    fn list(&self, key: &str) -> &[Value];
    fn numbers(&self, key: &str) -> Vec<f64>;
}

impl Fields for Value {
    fn number(&self, key: &str) -> f64 {
        self[key].as_f64().unwrap_or_else(|| panic!("no number {key} in {self}"))
    }

    fn count(&self, key: &str) -> usize {
        let count = self[key].as_u64().and_then(|count| usize::try_from(count).ok());
        count.unwrap_or_else(|| panic!("no count {key} in {self}"))
    }

    fn text(&self, key: &str) -> &str {
        self[key].as_str().unwrap_or_else(|| panic!("no text {key} in {self}"))
    }

    fn list(&self, key: &str) -> &[Value] {
        self[key].as_array().unwrap_or_else(|| panic!("no list {key} in {self}"))
    }

    fn numbers(&self, key: &str) -> Vec<f64> {
        self.list(key).iter().map(|value| value.as_f64().unwrap()).collect()
    }
}

/// `{"mag", "deg"}`
pub(crate) fn polar(value: &Value) -> Complex64 {
    super::polar(value.number("mag"), value.number("deg"))
}

/// One case of the groups with runs: its conventions, channels, and runs as the library takes them.
pub(crate) struct Job {
    pub(crate) convention: Convention,
    pub(crate) channels: Vec<Channel>,
    pub(crate) planes: usize,
}

impl Job {
    pub(crate) fn of(case: &Value) -> Self {
        let conventions = &case["conventions"];
        let rotor = match conventions.text("rotor_angle_direction") {
            "with_rotation" => RotorSense::WithRotation,
            "against_rotation" => RotorSense::AgainstRotation,
            other => panic!("rotor angles {other}"),
        };
        let phase = match conventions.text("phase") {
            "argument_of_complex_amplitude_deg" => PhaseSense::Lead,
            "lag_deg_pulse_to_next_positive_peak" => PhaseSense::Lag,
            other => panic!("phase {other}"),
        };
        let (scale, detector) = match conventions.text("vibration_unit") {
            "in/s_pk" => (VibrationScale::InchPerSecond, Detector::Peak),
            "mm/s_rms" => (VibrationScale::MillimetrePerSecond, Detector::Rms),
            "mil_pk-pk" => (VibrationScale::Mil, Detector::PeakToPeak),
            "um_pk-pk" => (VibrationScale::Micrometre, Detector::PeakToPeak),
            other => panic!("unit {other}"),
        };
        let channel = |row: &Value| {
            let window =
                SpeedWindow::around_percent(Speed::from_rpm(row.number("rpm")).unwrap(), 1.0).unwrap();
            let sensor = u16::try_from(row.count("sensor")).unwrap();
            Channel::new(sensor, VibrationUnit::new(scale, detector), phase, window)
        };
        let inputs = &case["inputs"];
        Self {
            convention: Convention { phase, rotor },
            channels: inputs.list("channels").iter().map(channel).collect(),
            planes: inputs.list("planes").len(),
        }
    }

    /// What these weights amount to, plane by plane. The cases reckon per gram at each plane's radius: a gram is entered
    /// as a g mm, with the radius as the unit of length.
    pub(crate) fn unbalances(&self, weights: &[Value]) -> Vec<UnbalanceVector> {
        let mut planes = vec![UnbalanceVector::ZERO; self.planes];
        for weight in weights {
            let place = self.convention.place(weight.number("deg")).unwrap();
            let amount = counterpoise::Unbalance::from_gram_millimetres(weight.number("mass_g")).unwrap();
            let plane = &mut planes[weight.count("plane")];
            *plane = *plane + UnbalanceVector::from_polar(amount, place);
        }
        planes
    }

    pub(crate) fn readings(&self, run: &Value) -> Vec<Reading> {
        let reading = |(channel, reading): (&Channel, &Value)| {
            channel.reading(reading.number("amp"), reading.number("deg")).unwrap()
        };
        self.channels.iter().zip(run.list("readings")).map(reading).collect()
    }
}
