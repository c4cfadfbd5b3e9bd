//! The convex solver behind limits and min-max: a small second-order cone program, solved and proven.
//!
//! | file | holds |
//! | --- | --- |
//! | `reduced` | the problem in well-conditioned coordinates, and back |
//! | `newton` | small real linear systems |
//! | `cone` | the scaling of second-order cones |
//! | `interior` | the interior-point iteration |
//! | `active` | which rows and limits decide, and Newton's method on these alone |
//! | `certificate` | the dual point, the bound it proves, and whether the optimum is flat |
//! | `optimum` | from the problem as stated to the optimum as reported |
//! | `minimax`, `limited` | the two objectives |
// Kernels index: each index is bounded by a shape that is set where the memory is laid out.
#![allow(clippy::indexing_slicing)]
// Counts of channels, planes and groups, far below 2⁵³.
#![allow(clippy::cast_precision_loss)]
#![cfg_attr(
    test,
    allow(
        clippy::cast_possible_truncation,
        clippy::cast_possible_wrap,
        clippy::unwrap_used,
        clippy::expect_used,
        clippy::panic,
        clippy::cast_sign_loss,
        clippy::manual_midpoint,
        clippy::range_plus_one,
        clippy::redundant_closure_for_method_calls
    )
)]

mod active;
mod certificate;
mod cone;
mod interior;
mod limited;
mod minimax;
mod newton;
mod optimum;
mod reduced;

pub(super) use limited::limited_least_squares;
pub(super) use minimax::minimax;
pub(super) use reduced::Problem;
