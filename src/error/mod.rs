//! Errors: one small enum per stage, each variant with a stable numeric code.
//!
//! Why they look as they do: a caller fixes one stage at a time, so a call returns the errors of its own stage and
//! no others; the value that was refused travels in the variant, so that a program can show it and nothing is lost;
//! the text says what to do. The codes are the numbers that C callers see: they are never renumbered or reused.
//!
//! | codes | stage | enum |
//! | --- | --- | --- |
//! | 100.. | quantities and units | [`QuantityError`] |
//! | 200.. | channels and readings | [`ReadingError`] |
//! | 300.. | estimation of influence coefficients | [`EstimateError`] |
//! | 400.. | correction | [`CorrectionError`] |
//! | 500.. | moves | [`RelocationError`] |
//! | 600.. | first weights, and balancing without phase | [`FirstWeightError`], [`WithoutPhaseError`] |
//! | 700.. | views and rings of holes | [`ViewError`] |
//! | 800.. | placement | [`PlacementError`] |
//! | 900.. | JSON | `JsonError` |
//! | 1200.. | uncertainty | [`UncertaintyError`] |
//! | 1300.. | shaft marks and samples | [`SynchronousError`] |
//! | 1400.. | tolerances; before and after a job | [`ToleranceError`], [`ReadinessError`] |
//! | 1500.. | the record of a job | `JobError` |
//! | 1100.. | cross-examination of runs | `ExaminationError` |
//!
//! A poor but valid answer is not an error: it comes with [`Caution`](crate::Caution)s.

#[cfg(feature = "alloc")]
mod checks;
mod correction;
mod estimate;
mod first_weight;
#[cfg(feature = "alloc")]
mod job;
mod placement;
mod quantity;
mod readiness;
mod reading;
mod relocation;
mod synchronous;
mod tolerance;
#[cfg(feature = "alloc")]
mod uncertainty;
mod view;
#[cfg(feature = "alloc")]
mod without_phase;

#[cfg(feature = "alloc")]
pub use checks::ExaminationError;
pub use correction::CorrectionError;
pub use estimate::EstimateError;
#[cfg(feature = "alloc")]
pub use estimate::{Inseparable, Undetermined};
pub use first_weight::FirstWeightError;
#[cfg(feature = "alloc")]
pub use job::JobError;
pub use placement::PlacementError;
pub use quantity::QuantityError;
pub use readiness::ReadinessError;
pub use reading::ReadingError;
pub use relocation::RelocationError;
pub use synchronous::SynchronousError;
pub use tolerance::ToleranceError;
#[cfg(feature = "alloc")]
pub use uncertainty::UncertaintyError;
pub use view::ViewError;
#[cfg(feature = "alloc")]
pub use without_phase::WithoutPhaseError;
