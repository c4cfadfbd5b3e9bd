//! What Rust computes for the numbers that the programs in `tests/c` print: one file per program.

pub mod advice;
pub mod channel;
pub mod closed;
pub mod convention;
pub mod correction;
pub mod first_weight;
pub mod influence;
pub mod placement;
pub mod quantity;
pub mod readiness;
pub mod record;
pub mod store;
pub mod synchronous;
pub mod tolerance;
pub mod vibration_unit;
pub mod view;
pub mod without_phase;

/// A program that prints no numbers.
pub fn nothing() -> Vec<(String, f64)> {
    Vec::new()
}

/// Numbers under one name.
pub fn several(name: &str, values: &[f64]) -> Vec<(String, f64)> {
    values.iter().enumerate().map(|(index, value)| (format!("{name} {index}"), *value)).collect()
}
