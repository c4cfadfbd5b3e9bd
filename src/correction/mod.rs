//! The correction: which unbalances to add, so that what is left is as small as possible.
//!
//! With `v` the vibration now and `H` the influence coefficients, `r = v + H w` is what is left after adding `w`.
//!
//! | objective | makes smallest |
//! | --- | --- |
//! | [`Objective::LeastSquares`] | `√(Σ g |r|²)` over the channels |
//! | [`Objective::MinMax`] | the worst channel, `max √g |r|` |
//!
//! either with limits on the unbalance of each plane. Every answer carries the dual point that proves how good it is.
//!
//! | file | holds |
//! | --- | --- |
//! | `question` | what is asked: vibration, coefficients, objective, weights, limits |
//! | `answer` | what to add, the total, the prediction, the certificate |
//! | `free` | least squares without limits, in closed form |
//! | `convex` | the solver behind limits and min-max |

mod answer;
mod convex;
mod free;
mod question;

pub use answer::{ActiveChannel, Certificate, Correction, PlaneAtLimit};
pub use question::{CorrectionQuestion, Objective};
