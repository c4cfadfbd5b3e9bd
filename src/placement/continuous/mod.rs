//! Continuous masses at given holes: the least residual, and of all that reach it the least mass.
//!
//! | file | holds |
//! | --- | --- |
//! | `question` | what is asked |
//! | `answer` | the masses, what they leave, and the proof |
//! | `columns` | the problem as few rows of numbers |
//! | `nearest` | the least residual, by an active set |
//! | `lightest` | the least mass that leaves it, by the simplex method with bounds |

mod answer;
mod columns;
mod lightest;
mod nearest;
mod question;

pub use answer::{ContinuousCertificate, ContinuousPlacement, HoleMass};
pub use question::ContinuousQuestion;
