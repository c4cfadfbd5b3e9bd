//! What must hold for every machine: symmetries, special cases of one another, and the same numbers by another way.
//!
//! Machines, weights and readings are drawn as whole numbers and mapped onto ranges in which every draw is a sound
//! machine, so that no draw is thrown away: each property sees all the cases it is given.
#![cfg(feature = "alloc")]
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a test fails by panicking")]

mod support;

#[path = "properties/algebra.rs"]
mod algebra;
#[path = "properties/machines.rs"]
mod machines;
#[path = "properties/optimum.rs"]
mod optimum;
#[path = "properties/prior.rs"]
mod prior;
#[path = "properties/runs.rs"]
mod runs;
#[path = "properties/symmetry.rs"]
mod symmetry;
