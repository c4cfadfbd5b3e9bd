//! Rotor-balancing mathematics.
#![cfg_attr(not(feature = "std"), no_std)]
#![forbid(unsafe_code)]

#[cfg(feature = "alloc")]
extern crate alloc;

mod angle;
mod channel;
mod convention;
mod error;
mod math;
mod unit;
mod vector;
mod vibration_unit;

pub use angle::{Angle, PhaseSense, RotorAngle, RotorSense};
pub use channel::{Channel, Precision, Reading, SpeedLaw, SpeedWindow};
pub use convention::Convention;
pub use error::{QuantityError, ReadingError};
pub use unit::{
    Force, ForceUnit, Length, LengthUnit, Mass, MassUnit, Radius, Speed, SpeedUnit, Unbalance, UnbalanceUnit,
};
pub use vector::{Influence, UnbalanceVector, Vibration, Weight};
pub use vibration_unit::{Detector, MotionQuantity, VibrationScale, VibrationUnit};
