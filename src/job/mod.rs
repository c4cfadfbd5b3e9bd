//! The record of a job: what the machine is, and what was done and read, in the order in which it happened.
//!
//! A [`Record`] is a [`Machine`] and a list of [`Fact`]s that only grows. Nothing is overwritten: a fact that was wrong is
//! [amended](Fact::Amend) by a later one, and both stay. What is mounted now and which runs belong together is not
//! stored; it is derived, by going through the facts from the first to the last ([`State`]), and comes out with the same
//! bits every time. So a record is enough to compute every answer of the job again.
//!
//! ```
//! use counterpoise::job::{Fact, Machine, Record, StatedReading};
//! use counterpoise::{
//!     Channel, Convention, Detector, Mass, PhaseSense, Radius, RotorSense, Speed, SpeedWindow, VibrationScale,
//!     VibrationUnit,
//! };
//! let convention = Convention { phase: PhaseSense::Lag, rotor: RotorSense::AgainstRotation };
//! let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
//! let window = SpeedWindow::around_percent(Speed::from_rpm(2350.0)?, 1.0)?;
//! let channel = Channel::new(1, unit, convention.phase, window);
//! let mut record = Record::new(Machine::new("a trainer", convention, &[channel], &["spinner bulkhead"])?);
//!
//! let read = |amplitude, phase| StatedReading::new(0, amplitude, phase, 2350.0);
//! record.add(Fact::run("as found", &[read(0.45, 48.0)]))?;
//! let trial = convention.weight(Mass::from_grams(8.0)?, Radius::from_millimetres(165.0)?, 90.0)?;
//! let on = record.add(Fact::WeightOn { plane: 0, weight: trial })?;
//! record.add(Fact::run("trial", &[read(0.61, 75.0)]))?;
//! record.add(Fact::WeightOff { on })?;
//!
//! let state = record.state();
//! assert_eq!((state.runs().len(), state.weights().len()), (2, 0));
//! let fit = state.estimator(record.machine())?.fit()?;
//! assert!(fit.influence().get(0, 0).is_some());
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

/// The machine of the examples: `machine`, with one `channel`, the `convention` and 24 holes for two kinds of washer.
macro_rules! example_machine {
    () => {
        concat!(
            "# use counterpoise::{Channel, Convention, Detector, Hardware, HoleCircle, HoleRing, Mass, PhaseSense, Radius};\n",
            "# use counterpoise::{RotorAngle, RotorSense, Speed, SpeedWindow, VibrationScale, VibrationUnit, job::Machine};\n",
            "# let convention = Convention { phase: PhaseSense::Lag, rotor: RotorSense::AgainstRotation };\n",
            "# let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);\n",
            "# let window = SpeedWindow::around_percent(Speed::from_rpm(2350.0)?, 1.0)?;\n",
            "# let channel = Channel::new(1, unit, convention.phase, window);\n",
            "# let ring = HoleRing::even(HoleCircle::new(24, RotorAngle::MARK, convention.rotor)?, Radius::from_millimetres(165.0)?);\n",
            "# let washers = [Hardware::new(\"large\", Mass::from_grams(4.0)?), Hardware::new(\"small\", Mass::from_grams(1.0)?)];\n",
            "# let machine = Machine::new(\"trainer\", convention, &[channel], &[\"bulkhead\"])?;\n",
            "# let machine = machine.with_holes(&[ring.each(|hole| hole.limit_pieces(3))], &washers)?;",
        )
    };
}

mod advice;
mod fact;
mod limit;
mod machine;
mod memory;
mod mounting;
mod names;
mod planning;
mod reason;
mod record;
mod runs;
mod standing;
mod state;
#[cfg(feature = "serde")]
pub(crate) mod wire;

pub use advice::{Action, Advice, AdviceOptions, Step};
pub use fact::{Change, CheckResult, Entry, Fact, Pieces, StatedReading};
pub use limit::{ExpectedResponse, LimitPurpose, RingPurpose, RingUse, VibrationLimit, VisitDrift};
pub use machine::{Machine, MachinePart, MassLimit};
pub use memory::{OneShot, StoredCoefficients, pooled_prior};
pub use mounting::{Mounting, PlannedWeight};
pub use reason::Reason;
pub use record::Record;
pub use runs::{WeightInRuns, WeightPlace};
pub use standing::Standing;
pub(crate) use standing::estimate_of;
pub use state::{ChangeMade, CheckMade, JobRun, Note, RunReading, State, WeightOn};
