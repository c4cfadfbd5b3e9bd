//! How sure an answer is: covariances carried to coefficients, corrections and the next vibration.
//!
//! | file | holds |
//! | --- | --- |
//! | `estimate` | a value with its covariance: regions, chances, verdicts |
//! | `joint` | vibration as found and coefficients of all channels, with one covariance |
//! | `response` | whether a trial weight was seen at all |
//! | `correction` | the correction to first order, and the weights with the least expected squares |
//! | `residual` | the unbalance that is left, in correction planes and in tolerance planes |
//! | `region` | every set of weights that the runs do not rule out |
//! | `far_out` | whether such a region has an end |
//! | `simulation` | seeded draws, as a check and for what is not linear |
//! | `trial` | the next trial weight: large enough to be seen, within every limit |
//!
//! First order, as JCGM 100:2008 (GUM) and JCGM 102:2011 (more than one output quantity): with `y = f(x)` and the Jacobian
//! J, `C_y = J C_x Jᵀ`.

mod correction;
mod estimate;
mod far_out;
mod joint;
mod region;
mod residual;
mod response;
mod simulation;
mod trial;

pub use correction::{CorrectionEstimate, ExpectedOptimum};
pub use estimate::Estimate;
pub use joint::Uncertainty;
pub use region::{CorrectionRegion, RegionEnd};
pub use response::{Detectability, TrialResponse};
pub use simulation::{Draw, Draws, Simulated};
pub use trial::{
    InfluenceBelief, ThirtyThirty, TrialChannel, TrialDesign, TrialOutcome, TrialWeight, thirty_thirty,
};
