//! Tolerances and severity: what must hold for every rotor, every limit and every reading, and what is refused.
//!
//! Rotors and readings are drawn as whole numbers and mapped onto ranges in which every draw is a sound one, so that no
//! draw is thrown away; the tests with any bits count what they reach.
#![cfg(feature = "alloc")]
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a test fails by panicking")]

mod support;

#[allow(dead_code, reason = "each test binary uses a part of it")]
#[path = "bad_input/draws.rs"]
mod draws;

#[path = "tolerance/any_bits.rs"]
mod any_bits;
#[path = "tolerance/limits.rs"]
mod limits;
#[path = "tolerance/planes.rs"]
mod planes;
#[path = "tolerance/refusals.rs"]
mod refusals;
#[path = "tolerance/verdicts.rs"]
mod verdicts;
#[path = "tolerance/zones.rs"]
mod zones;

use counterpoise::{Length, Mass, Speed, Unbalance};

fn kilograms(value: f64) -> Mass {
    Mass::from_kilograms(value).unwrap()
}

fn rpm(value: f64) -> Speed {
    Speed::from_rpm(value).unwrap()
}

fn millimetres(value: f64) -> Length {
    Length::from_millimetres(value).unwrap()
}

fn g_mm(value: f64) -> Unbalance {
    Unbalance::from_gram_millimetres(value).unwrap()
}

/// The next larger number, of a positive one.
fn next_above(value: f64) -> f64 {
    f64::from_bits(value.to_bits() + 1)
}

/// Equal but for a few roundings.
#[track_caller]
fn assert_close(got: f64, want: f64) {
    assert!((got - want).abs() <= 8.0 * support::EPS * want.abs(), "got {got:e}, want {want:e}");
}
