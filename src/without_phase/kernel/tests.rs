//! The kernel against outside figures, against plants made up here, and against bad input.

// Reference figures are copied with all their digits; equal bits are meant where floats are compared exactly.
// The platform's functions are the independent check of the crate's own.
#![allow(clippy::float_cmp, clippy::unreadable_literal, clippy::disallowed_methods)]

mod bad_input;
mod figures;
mod plants;

use super::*;

/// Difference of two directions in degrees, in [0, 180].
fn apart(a: f64, b: f64) -> f64 {
    let turn = libm::fmod((a - b).abs(), 360.0);
    turn.min(360.0 - turn)
}

fn close(got: f64, want: f64, relative: f64) -> bool {
    (got - want).abs() <= relative * want.abs()
}

/// The parts of a unique outcome.
struct Unique {
    fit: Fit,
    next: Option<Fit>,
    mirages: Vec<Mirage>,
    closed: ClosedForm,
}

fn unique(outcome: Outcome) -> Unique {
    match outcome {
        Outcome::Unique { fit, next_local_minimum: next, mirages, closed_form: Some(closed) } => {
            Unique { fit, next, mirages, closed }
        }
        other => panic!("not unique: {other:?}"),
    }
}

fn ambiguous(outcome: Outcome) -> (Ambiguity, Vec<Fit>) {
    match outcome {
        Outcome::Ambiguous { reason, fits, .. } => (reason, fits),
        other => panic!("not ambiguous: {other:?}"),
    }
}

fn trial(amount: f64, angle_deg: f64, amplitude: f64) -> Trial {
    Trial { amount, angle_deg, amplitude }
}
