//! Cross-examination of runs: competing explanations of the same readings.
//!
//! Most field jobs that go wrong go wrong by a mistake that the data could have shown: a weight in the mirrored hole, a
//! trial weight that stayed on, ounces for grams. Each is a small change of the one model
//!
//! ```text
//! y_ik = g_ik (v0_k + Σ_p H_kp u_ip) + noise
//! ```
//!
//! of the weights `u`, the gains `g`, or the order of the readings `y`. An [`Examination`] fits `v0` and `H` anew under
//! every one of them, ranks them by likelihood with a stated penalty, and its [`Findings`] say what may be said: that
//! nothing is to be accused, that one [`Explanation`] stands, that several cannot be told apart and which run would do it,
//! or that nothing explains the runs. One mistake at a time is looked for; the scatter of the readings is taken as known.
//!
//! | file | holds |
//! | --- | --- |
//! | `examination` | the job as it was stated |
//! | `explanation` | what may be wrong, and what to look at |
//! | `model` | what each explanation changes |
//! | `regression` | least squares of a changed model |
//! | `continuous` | the explanations with a continuous parameter |
//! | `variants` | every explanation that a job allows |
//! | `findings` | the order of the explanations, and the verdict |
//! | `next_run` | which run would tell apart what stands |
//! | `cautions` | what makes the runs, and a correction from them, less trusted |

mod cautions;
mod continuous;
mod examination;
mod explanation;
mod findings;
mod model;
mod next_run;
mod regression;
mod variants;

pub use cautions::{cautions, without_gain};
pub use examination::{Examination, Item, Plane, Resonance};
pub use explanation::{Explanation, ExplanationKind, WhatToLookAt};
pub use findings::{Findings, LeftOut, Ranked, Repair, Verdict};
pub use next_run::{AddedWeight, NextRun, NextRunStart, Separation};
