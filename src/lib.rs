//! Rotor-balancing mathematics: from readings to influence coefficients, corrections and moves.
//!
//! The vibration that a rotor shows once per revolution is linear in the unbalance on it,
//!
//! ```text
//! v_i = v0_i + Σ_p H_ip u_p
//! ```
//!
//! and everything here is a use of this one equation. Start with a [`Convention`] (how phases and places on the rotor
//! are counted) and a [`Channel`] (a sensor at a speed); tell an [`Estimator`] what was mounted and what was read; ask a
//! [`CorrectionQuestion`] what to add. [`OnePlane`] and [`TwoPlanes`] are the closed forms, without a heap.
//!
//! ```
//! use counterpoise::{Convention, Mass, OnePlane, PhaseSense, Radius, RotorSense};
//! let convention = Convention { phase: PhaseSense::Lag, rotor: RotorSense::AgainstRotation };
//! let radius = Radius::from_millimetres(165.0)?;
//! let as_found = convention.vibration(0.45, 48.0)?;
//! let trial = convention.weight(Mass::from_grams(12.0)?, radius, 90.0)?;
//! let with_trial = convention.vibration(0.61, 75.0)?;
//!
//! let plane = OnePlane::from_trial(as_found, with_trial, trial.unbalance())?;
//! let add = plane.correction(as_found)?.weight_at(radius);
//! let place = add.angle.in_sense(convention.rotor);
//! println!("take the trial off; add {:.1} at {:.0} deg against rotation", add.mass, place.degrees());
//! # assert!(add.mass.grams() > 0.0);
//! # Ok::<(), Box<dyn core::error::Error>>(())
//! ```
//!
//! | to | take |
//! | --- | --- |
//! | give numbers units and angles senses | [`Mass`], [`Radius`], [`Speed`], [`Unbalance`], [`Angle`], [`RotorAngle`] |
//! | convert vibration | [`VibrationUnit`] |
//! | estimate influence coefficients | [`Estimator`], [`Run`], [`Prior`], [`InfluenceFit`] |
//! | correct | [`CorrectionQuestion`], [`Correction`] |
//! | say how sure an answer is | [`Scatter`], [`Repeats`], [`Uncertainty`] |
//! | judge a residual or a vibration | [`tolerance`] |
//! | see whether to balance at all, and how long it held | [`readiness`] |
//! | make readings of raw samples and tach pulses | [`synchronous`] |
//! | design the next trial weight | [`TrialDesign`] |
//! | find a mistake in the runs | [`checks`] |
//! | move, split, combine weights | [`relocation`] |
//! | choose holes and hardware | [`PlacementQuestion`], [`HoleRing`], [`Hardware`] |
//! | choose a first weight | [`first_weight`] |
//! | balance from amplitudes alone | [`without_phase`] |
//! | keep the record of a job, and see what to do next | [`job`], [`job::Advice`] |
//! | report a job | [`report`] |
//! | tell a person where | [`View`], [`HoleCircle`] |
//!
//! The [`guide`] holds the longer texts. The library never says that a machine may be run or flown: it computes, and
//! defers to makers' approved data, local rules and licensed personnel.
// The tests of every level run hosted.
#![cfg_attr(not(any(feature = "std", test)), no_std)]
#![forbid(unsafe_code)]

#[cfg(any(feature = "alloc", test))]
extern crate alloc;

// In order of dependency: a module uses only what stands above it.
mod math;
// Without a heap only the limits of a scatter need them.
#[cfg_attr(not(feature = "alloc"), allow(dead_code, unused_imports))]
mod statistics;

mod error;

mod angle;
mod unit;
mod vector;

mod scatter;

mod conformity;
mod provenance;

mod convention;
mod vibration_unit;

mod speed_window;

mod channel;

mod hole_circle;
mod view;

mod location;

#[cfg(feature = "alloc")]
mod caution;
mod dense;

mod closed;
#[cfg(feature = "alloc")]
mod influence;

#[cfg(feature = "alloc")]
mod correction;

#[cfg(feature = "alloc")]
mod uncertainty;

pub mod relocation;

#[cfg(feature = "alloc")]
mod placement;

pub mod first_weight;
#[cfg(feature = "alloc")]
pub mod without_phase;

#[cfg(feature = "alloc")]
pub mod checks;

pub mod tolerance;

pub mod synchronous;

pub mod readiness;

#[cfg(feature = "alloc")]
pub mod job;

#[cfg(feature = "alloc")]
pub mod report;

#[cfg(feature = "json")]
pub mod json;

pub mod guide;

pub use angle::{Angle, PhaseSense, RotorAngle, RotorSense};
#[cfg(feature = "alloc")]
pub use caution::Caution;
pub use channel::{Channel, Precision, Reading};
pub use closed::{OnePlane, TwoPlaneRun, TwoPlanes};
pub use conformity::Conformity;
pub use convention::Convention;
#[cfg(feature = "alloc")]
pub use correction::{ActiveChannel, Certificate, Correction, CorrectionQuestion, Objective, PlaneAtLimit};
pub use error::{
    CorrectionError, EstimateError, FirstWeightError, PlacementError, QuantityError, ReadinessError,
    ReadingError, RelocationError, SynchronousError, ToleranceError, ViewError,
};
#[cfg(feature = "alloc")]
pub use error::{ExaminationError, Inseparable, JobError, UncertaintyError, Undetermined, WithoutPhaseError};
pub use hole_circle::{HoleCircle, HoleNeighbours, NumberedHoles};
#[cfg(feature = "alloc")]
pub use influence::{
    ChannelFit, ChiSquared, Covariance, Design, Estimator, InfluenceFit, InfluenceMatrix, MountedUnbalance,
    Prior, Run,
};
pub use location::Location;
#[cfg(feature = "alloc")]
pub use placement::{
    ContinuousCertificate, ContinuousPlacement, ContinuousQuestion, Hardware, Hole, HoleChange, HoleMass,
    HoleRing, Placement, PlacementAnswer, PlacementCertificate, PlacementNorm, PlacementProof,
    PlacementQuestion, PlacementSearch, PlacementTolerance, ToleranceReason,
};
pub use provenance::{Limit, Provenance, ProvenanceKind};
pub use scatter::{DegreesOfFreedom, ProportionalDrift, Repeats, Scatter};
pub use speed_window::{SpeedLaw, SpeedWindow};
#[cfg(feature = "alloc")]
pub use uncertainty::{
    CorrectionEstimate, CorrectionRegion, Detectability, Draw, Draws, Estimate, ExpectedOptimum,
    InfluenceBelief, RegionEnd, Simulated, ThirtyThirty, TrialChannel, TrialDesign, TrialOutcome,
    TrialResponse, TrialWeight, Uncertainty, thirty_thirty,
};
pub use unit::{
    Force, ForceUnit, Length, LengthUnit, Mass, MassUnit, Radius, Speed, SpeedUnit, Unbalance, UnbalanceUnit,
};
pub use vector::{Influence, PolarUnbalance, PolarVibration, UnbalanceVector, Vibration, Weight};
pub use vibration_unit::{Detector, MotionQuantity, VibrationScale, VibrationUnit};
pub use view::{NamedViewpoint, Turning, View, Viewpoint};

/// The README's example, run with the documentation tests.
#[cfg(doctest)]
#[doc = include_str!("../README.md")]
struct Readme;
