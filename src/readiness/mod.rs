//! Whether to balance at all: what to look at first, what to be reminded of, and later how long it held.
//!
//! A propeller that shakes need not be out of balance. [`Facts`] takes what is known of it and its engine, and says what
//! hinders, what asks for care, and what is not known yet; [`Reminder`]s are what a person is told and when; [`Later`]
//! compares a later reading with the record and names what may have changed.
//!
//! Nothing here says that a machine may be run or flown. The makers' approved data, local rules and licensed personnel decide
//! that.

mod assessment;
mod blades;
#[cfg(feature = "alloc")]
mod changes;
#[cfg(feature = "alloc")]
mod later;
#[cfg(feature = "alloc")]
mod misfit;
mod reminders;

pub use assessment::{
    BalancingSpeed, Concern, Facts, Finding, FoundVibration, Question, RatedSpeed, Roughness, SpeedInUse,
};
pub use blades::{BladeAngles, BladeTrack};
#[cfg(feature = "alloc")]
pub use changes::{LaterExplanation, LaterFindings, RankedChange};
#[cfg(feature = "alloc")]
pub use later::Later;
pub use reminders::{Moment, Reminder};
