//! The placement: which pieces go into which holes, proven best.
//!
//! | file | holds |
//! | --- | --- |
//! | `hardware`, `ring` | the vocabulary: pieces; holes, their limits and what is in them |
//! | `tolerance` | how near is near enough |
//! | `wanted` | what is to be come near to, as rows |
//! | `question` | what is asked |
//! | `certificate` | what is proven of an answer |
//! | `answer` | the placement and its prediction |
//! | `problem` | the same as numbers, in an order of its own |
//! | `options` | every change that a hole allows |
//! | `incumbent` | the best found so far, and the rule among equals |
//! | `reach` | how near any placement can come |
//! | `closure` | the last holes are computed, not searched |
//! | `join` | two halves that meet; two planes |
//! | `tree` | hole by hole, cut by reach |
//! | `start` | a first placement for a wide search |
//! | `levels` | the plan: from few holes to many |
//! | `least_change` | pieces before holes: searches with ever more pieces |
//! | `continuous` | masses of any size at given holes |
//! | `wire` | how the vocabulary and the answers are written and read |
//!
//! The kernel (`options` to `levels`) works on plain numbers and indexes by shapes that `problem` has checked.

mod answer;
mod certificate;
mod closure;
mod continuous;
mod hardware;
mod incumbent;
mod join;
mod least_change;
mod levels;
mod options;
mod problem;
mod question;
mod reach;
mod ring;
mod start;
mod tolerance;
mod tree;
mod wanted;
#[cfg(feature = "serde")]
mod wire;

pub use answer::{HoleChange, Placement, PlacementAnswer};
pub use certificate::{PlacementCertificate, PlacementProof};
pub use continuous::{ContinuousCertificate, ContinuousPlacement, ContinuousQuestion, HoleMass};
pub use hardware::Hardware;
pub use question::{PlacementNorm, PlacementQuestion, PlacementSearch};
pub use ring::{Hole, HoleRing};
pub use tolerance::{PlacementTolerance, ToleranceReason};
