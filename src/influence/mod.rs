//! Estimation of influence coefficients: any number of runs, planes and channels in one complex linear regression.
//!
//! For every channel `k`, with the weights mounted in run `i` known,
//!
//! ```text
//! v_ik = v0_k + Σ_p H_kp u_ip + noise
//! ```
//!
//! `v0` is the vibration as found, `H` the influence coefficients. Trial weight left on, taken off, moved, several at
//! once: all are just runs. The textbook two-run formula is the case of as many runs as unknowns.
//!
//! | file | holds |
//! | --- | --- |
//! | `matrix` | the coefficients of all channels and planes |
//! | `covariance` | a real covariance matrix over complex unknowns |
//! | `prior` | coefficients of an earlier job, with how far they may differ |
//! | `run` | what was mounted, and what was read |
//! | `design` | the weighted regression of one channel, and what it can tell apart |
//! | `estimator` | all runs together, and the fit |
//! | `fit` | what comes out |

mod covariance;
mod design;
mod estimator;
mod fit;
mod matrix;
mod prior;
mod run;

pub use covariance::Covariance;
pub use design::Design;
pub use estimator::Estimator;
pub use fit::{ChannelFit, ChiSquared, InfluenceFit};
pub use matrix::InfluenceMatrix;
pub use prior::Prior;
pub use run::{MountedUnbalance, Run};
