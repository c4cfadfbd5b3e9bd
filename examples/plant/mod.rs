//! A simulated machine for closed-loop trials: an engine with its propeller as a rigid body on soft mounts, sensors, and a
//! person who mounts weights, reads, and may make one mistake. Shared by examples and tests; none of it is in the library,
//! and none of it uses the library's mathematics, so that the one checks the other.

// Every program takes what it needs of it.
#![allow(dead_code)]

pub(crate) mod advised;
pub(crate) mod body;
pub(crate) mod draws;
pub(crate) mod driver;
pub(crate) mod mistake;
pub(crate) mod policy;
pub(crate) mod population;
pub(crate) mod rig;
pub(crate) mod sensor;

/// Anything that goes wrong in a program; jobs run on several threads.
pub(crate) type Problem = Box<dyn core::error::Error + Send + Sync>;
