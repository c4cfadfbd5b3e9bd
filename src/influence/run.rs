//! One run: what was mounted in every plane, and what was read.

use alloc::string::String;
use alloc::vec::Vec;

use crate::channel::Reading;
use crate::vector::UnbalanceVector;

/// A run of the machine: the weights that were mounted, and the readings.
///
/// All weights that differ from the bare rotor (the state that `v0` is to describe) are said in every run, whether they
/// were put on for this run or left on from one before. A plane that is not mentioned carries nothing.
///
/// ```
/// use counterpoise::{Run, UnbalanceVector};
/// let trial = UnbalanceVector::from_components_gram_millimetres(1800.0, 0.0)?;
/// let run = Run::new("trial in plane 0").mounted(0, trial);
/// assert_eq!(run.unbalance_in(0), trial);
/// assert_eq!(run.unbalance_in(1), UnbalanceVector::ZERO);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    label: String,
    mounted: Vec<MountedUnbalance>,
    readings: Vec<Reading>,
}

/// An unbalance that was stated to be on in a run.
///
/// ```
/// # use counterpoise::{Run, UnbalanceVector};
/// let run = Run::new("trial").mounted(1, UnbalanceVector::ZERO);
/// assert_eq!(run.mounted_unbalances()[0].unbalance, UnbalanceVector::ZERO);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct MountedUnbalance {
    /// The plane, counted from 0.
    pub plane: usize,
    /// The unbalance.
    pub unbalance: UnbalanceVector,
}

impl Run {
    /// A run with nothing mounted and nothing read yet. The label is for the person who reads a report.
    ///
    /// ```
    /// # use counterpoise::Run;
    /// assert_eq!(Run::new("as found").label(), "as found");
    /// ```
    pub fn new(label: impl Into<String>) -> Self {
        Self { label: label.into(), mounted: Vec::new(), readings: Vec::new() }
    }

    /// The run with one more weight or unbalance in a plane, counted from 0. Several in one plane add up.
    ///
    /// ```
    /// # use counterpoise::{Mass, Radius, RotorAngle, Run, Weight};
    /// let weight = Weight::new(Mass::from_grams(5.0)?, Radius::from_millimetres(100.0)?, RotorAngle::MARK);
    /// let run = Run::new("two at the mark").mounted(0, weight).mounted(0, weight);
    /// assert_eq!(run.unbalance_in(0).amount().gram_millimetres(), 1000.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    #[must_use]
    pub fn mounted(mut self, plane: usize, weight: impl Into<UnbalanceVector>) -> Self {
        self.mounted.push(MountedUnbalance { plane, unbalance: weight.into() });
        self
    }

    /// The run with one more reading. A channel that was not read in a run is left out.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, PhaseSense, Run, Speed, SpeedWindow, VibrationScale, VibrationUnit};
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    /// let channel = Channel::new(1, unit, PhaseSense::Lag, window);
    /// let run = Run::new("as found").reading(channel.reading(0.3, 75.0)?);
    /// assert_eq!(run.readings().len(), 1);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    #[must_use]
    pub fn reading(mut self, reading: Reading) -> Self {
        self.readings.push(reading);
        self
    }

    /// What the run is called.
    ///
    /// ```
    /// # use counterpoise::Run;
    /// assert_eq!(Run::new("verify").label(), "verify");
    /// ```
    pub fn label(&self) -> &str {
        &self.label
    }

    /// The sum of what is mounted in a plane; zero for a plane that was not mentioned.
    ///
    /// ```
    /// # use counterpoise::{Run, UnbalanceVector};
    /// assert_eq!(Run::new("as found").unbalance_in(3), UnbalanceVector::ZERO);
    /// ```
    pub fn unbalance_in(&self, plane: usize) -> UnbalanceVector {
        self.mounted.iter().filter(|one| one.plane == plane).map(|one| one.unbalance).sum()
    }

    /// What was mounted, in the order in which it was said: planes, counted from 0, and unbalances.
    ///
    /// ```
    /// # use counterpoise::{Run, UnbalanceVector};
    /// let run = Run::new("trial").mounted(1, UnbalanceVector::ZERO);
    /// assert_eq!(run.mounted_unbalances()[0].plane, 1);
    /// ```
    pub fn mounted_unbalances(&self) -> &[MountedUnbalance] {
        &self.mounted
    }

    /// What was read.
    ///
    /// ```
    /// # use counterpoise::Run;
    /// assert!(Run::new("as found").readings().is_empty());
    /// ```
    pub fn readings(&self) -> &[Reading] {
        &self.readings
    }
}
