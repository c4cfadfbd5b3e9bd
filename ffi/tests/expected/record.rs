//! Runs of a record, and what is mounted.

use counterpoise::job::{Fact, Pieces, Record, StatedReading};
use counterpoise::{Convention, Mass, PhaseSense, Radius, RotorSense, Scatter, json};

use super::several;

/// The text of `tests/c/machine.h`, whose lines are put together as a C compiler does.
pub fn machine_text() -> String {
    include_str!("../c/machine.h")
        .lines()
        .filter_map(|line| line.trim().strip_prefix('"'))
        .map(|line| line.trim_end_matches(';').strip_suffix('"').unwrap().replace("\\\"", "\""))
        .collect()
}

/// As found, trial, a mistake amended, and a weight in no hole.
pub fn told() -> Record {
    let mut record = json::record_from_text(&machine_text()).unwrap();
    let read = |amplitude, phase, rpm| StatedReading::new(0, amplitude, phase, rpm);
    let run = |label: &str, readings: &[StatedReading]| Fact::run(label, readings);
    let scatter = Scatter::known(0.003).unwrap();
    let as_found = read(0.45, 48.0, 2346.0);
    record.add(run("as found", &[as_found, read(0.452, 48.5, 2351.0).with_scatter(scatter)])).unwrap();
    let put_on = |hole| Fact::PutOn {
        ring: 0,
        hole,
        pieces: vec![Pieces { item: 0, count: 1 }, Pieces { item: 1, count: 2 }],
    };
    let on = record.add(put_on(1)).unwrap();
    record.add(run("trial", &[read(0.61, 75.0, 2350.0), read(0.612, 75.4, 2349.0)])).unwrap();
    record.add(Fact::amend(on, put_on(2), "counted from the other side")).unwrap();
    record.add(Fact::TakenOff { ring: 0, hole: 1, pieces: vec![Pieces { item: 0, count: 1 }] }).unwrap();
    let convention = Convention { phase: PhaseSense::Lag, rotor: RotorSense::AgainstRotation };
    let (mass, radius) = (Mass::from_grams(5.5).unwrap(), Radius::from_millimetres(140.0).unwrap());
    let weight = convention.weight(mass, radius, 10.0).unwrap();
    record.add(Fact::WeightOn { plane: 1, weight }).unwrap();
    record
}

pub fn numbers() -> Vec<(String, f64)> {
    let record = told();
    let state = record.state();
    let mut values = Vec::new();
    for run in state.runs() {
        for read in run.readings() {
            let (of, rpm) = (read.reading.vibration().complex(), read.reading.speed().rpm());
            values.extend([of.re, of.im, rpm]);
        }
        for sum in run.mounted() {
            values.extend([sum.x_gram_millimetres(), sum.y_gram_millimetres()]);
        }
    }
    for sum in state.mounted() {
        values.extend([sum.x_gram_millimetres(), sum.y_gram_millimetres()]);
    }
    let on = state.weights()[0].weight;
    values.extend([on.mass.grams(), on.radius.millimetres(), on.angle.with_rotation().degrees()]);
    several("record", &values)
}
