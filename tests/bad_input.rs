//! Input that cannot be right: each a typed error that names the value and the run, or a meaning that is written down.
//! Texts are compared to the letter, codes with them: both are part of the interface.
#![cfg(feature = "alloc")]
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a test fails by panicking")]

mod support;

#[path = "bad_input/any_bits.rs"]
mod any_bits;
#[path = "bad_input/any_bits_around.rs"]
mod any_bits_around;
#[path = "bad_input/any_bits_of_scatter.rs"]
mod any_bits_of_scatter;
#[path = "bad_input/corrections.rs"]
mod corrections;
#[path = "bad_input/draws.rs"]
mod draws;
#[path = "bad_input/estimates.rs"]
mod estimates;
#[path = "bad_input/placement.rs"]
mod placement;
#[path = "bad_input/quantities.rs"]
mod quantities;
#[path = "bad_input/without_phase.rs"]
mod without_phase;

use core::error::Error;
use core::fmt::Debug;

use counterpoise::{
    CorrectionError, EstimateError, PlacementError, QuantityError, ReadingError, WithoutPhaseError,
};

/// The codes of the errors, the same in Rust and in C.
trait Code: Error {
    fn number(&self) -> i32;
}

macro_rules! codes {
    ($($Error:ty),+) => { $(impl Code for $Error { fn number(&self) -> i32 { self.code() } })+ };
}

codes!(QuantityError, ReadingError, EstimateError, CorrectionError, PlacementError, WithoutPhaseError);

/// An outcome is this error, to the letter.
#[track_caller]
fn refused<T: Debug, E: Code>(outcome: Result<T, E>, code: i32, text: &str) {
    let error = match outcome {
        Ok(accepted) => panic!("{accepted:?} should have been refused: {text}"),
        Err(error) => error,
    };
    assert_eq!((error.number(), error.to_string().as_str()), (code, text));
}
