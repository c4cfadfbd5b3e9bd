//! Whole balancing jobs played with counterpoise: on a record that was kept, and on machines that are simulated.
//!
//! The simulated machine is an engine with its propeller as a rigid body on soft mounts, with sensors, and a person who mounts
//! weights, reads, and may make one mistake. None of it uses the library's mathematics, so that the one checks the other.
//!
//! | module | holds |
//! | --- | --- |
//! | `body` | the rigid gyroscopic body on its mounts |
//! | `sensor` | what a sensor shows of it |
//! | `draws` | seeded draws |
//! | `mistake` | mistakes that people make, and putting them right |
//! | `rig` | the machine as people meet it: scatter, drift, weights not just where they are said to be |
//! | `population` | the ranges that machines are drawn from |
//! | `driver` | a job from its first run to its end |
//! | `advised` | as the library advises |
//! | `policy` | by a simple policy with the library's calls |
//! | `hand` | the usual hand method |

pub mod advised;
pub mod body;
pub mod draws;
pub mod driver;
pub mod hand;
pub mod mistake;
pub mod policy;
pub mod population;
pub mod rig;
pub mod sensor;

/// Anything that goes wrong in a program; jobs run on several threads.
pub type Problem = Box<dyn core::error::Error + Send + Sync>;
