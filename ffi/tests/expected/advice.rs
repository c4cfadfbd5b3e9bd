//! The correction that is advised after a trial run.

use counterpoise::job::{Action, Advice, AdviceOptions, CheckResult, Fact, Pieces, Record, StatedReading};
use counterpoise::json;

use super::{record, several};

/// As found and one trial, three readings each, on the machine without its second plane.
fn tried() -> Record {
    let one_plane = record::machine_text().replace(", \"flywheel\"", "");
    let mut record = json::record_from_text(&one_plane).unwrap();
    let read = |amplitude, phase| StatedReading::new(0, amplitude, phase, 2350.0);
    record.add(Fact::checked("blade track", CheckResult::InOrder, "1 mm")).unwrap();
    let readings = [read(0.45, 48.0), read(0.452, 48.3), read(0.449, 47.9)];
    record.add(Fact::run("as found", &readings)).unwrap();
    record.add(Fact::PutOn { ring: 0, hole: 2, pieces: vec![Pieces { item: 0, count: 2 }] }).unwrap();
    let readings = [read(0.61, 75.0), read(0.612, 75.2), read(0.609, 74.8)];
    record.add(Fact::run("trial", &readings)).unwrap();
    record
}

pub fn numbers() -> Vec<(String, f64)> {
    let mut values = Vec::new();
    let advice = Advice::of(&tried(), &AdviceOptions::default());
    for step in advice.steps() {
        values.push(f64::from(step.action().code()));
        values.extend(step.reasons().iter().map(|reason| f64::from(reason.code())));
        if let Some(mounting) = step.action().mounting() {
            for sum in mounting.added() {
                values.extend([sum.x_gram_millimetres(), sum.y_gram_millimetres()]);
            }
        }
        if let Action::Mount { predicted, .. } = step.action() {
            for of in predicted {
                values.extend([of.value().complex().re, of.value().complex().im]);
            }
        }
    }
    several("advice", &values)
}
