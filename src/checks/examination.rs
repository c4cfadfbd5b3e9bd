//! The job as it was stated: channels, planes, pieces, runs.

use alloc::vec;
use alloc::vec::Vec;
use core::fmt;

use crate::channel::{Channel, Precision, Reading, repeated};
use crate::error::ExaminationError;
use crate::hole_circle::HoleCircle;
use crate::influence::{Estimator, MountedUnbalance};
use crate::unit::{MassUnit, Radius, Speed};
use crate::vector::{UnbalanceVector, Weight};

use super::findings::Findings;

/// A piece that was stated to be on the rotor: one weight, the same one in all runs in which it is named.
///
/// Given by [`Examination::add_item`].
///
/// ```
/// # use counterpoise::*;
/// # use counterpoise::checks::{Examination, Plane};
/// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
/// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
/// # let channel = Channel::new(1, unit, PhaseSense::Lag, window);
/// # let weight = Weight::new(Mass::from_grams(10.0)?, Radius::from_millimetres(150.0)?, RotorAngle::MARK);
/// let mut job = Examination::new(&[channel], &[Plane::new()])?;
/// let trial = job.add_item(0, weight)?;
/// assert_eq!((trial.number(), trial.to_string()), (0, "item 0".to_owned()));
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Item(pub(super) usize);

impl Item {
    /// Its number, counted from 0 in the order in which items were added.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # use counterpoise::checks::{Examination, Plane};
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lag, window);
    /// # let weight = Weight::new(Mass::from_grams(10.0)?, Radius::from_millimetres(150.0)?, RotorAngle::MARK);
    /// # let mut job = Examination::new(&[channel], &[Plane::new()])?;
    /// assert_eq!(job.add_item(0, weight)?.number(), 0);
    /// assert_eq!(job.add_item(0, weight)?.number(), 1);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn number(self) -> usize {
        self.0
    }
}

impl fmt::Display for Item {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "item {}", self.0)
    }
}

/// A correction plane, as far as an examination wants to know: its ring of holes, and the radius of the ring.
///
/// Without a ring no one can be some holes off in it; without a radius an item that sits in this plane by mistake is taken
/// to keep its own.
///
/// ```
/// use counterpoise::checks::Plane;
/// use counterpoise::{HoleCircle, Radius, RotorAngle, RotorSense};
/// let ring = HoleCircle::new(24, RotorAngle::MARK, RotorSense::AgainstRotation)?;
/// let plane = Plane::new().with_holes(ring).at_radius(Radius::from_millimetres(165.0)?);
/// assert_eq!(plane.holes().map(HoleCircle::count), Some(24));
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Plane {
    holes: Option<HoleCircle>,
    radius: Option<Radius>,
}

impl Plane {
    /// A plane of which nothing more is known.
    ///
    /// ```
    /// assert_eq!(counterpoise::checks::Plane::new().holes(), None);
    /// ```
    pub const fn new() -> Self {
        Self { holes: None, radius: None }
    }

    /// The plane with its ring of holes.
    ///
    /// ```
    /// # use counterpoise::{HoleCircle, RotorAngle, RotorSense, checks::Plane};
    /// let ring = HoleCircle::new(12, RotorAngle::MARK, RotorSense::WithRotation)?;
    /// assert_eq!(Plane::new().with_holes(ring).holes(), Some(ring));
    /// # Ok::<(), counterpoise::ViewError>(())
    /// ```
    #[must_use]
    pub const fn with_holes(self, holes: HoleCircle) -> Self {
        Self { holes: Some(holes), ..self }
    }

    /// The plane with the radius at which weights sit in it.
    ///
    /// ```
    /// # use counterpoise::{Radius, checks::Plane};
    /// let radius = Radius::from_millimetres(165.0)?;
    /// assert_eq!(Plane::new().at_radius(radius).radius(), Some(radius));
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    #[must_use]
    pub const fn at_radius(self, radius: Radius) -> Self {
        Self { radius: Some(radius), ..self }
    }

    /// The ring of holes, if one was given.
    ///
    /// ```
    /// assert!(counterpoise::checks::Plane::new().holes().is_none());
    /// ```
    pub const fn holes(&self) -> Option<HoleCircle> {
        self.holes
    }

    /// The radius, if one was given.
    ///
    /// ```
    /// assert!(counterpoise::checks::Plane::new().radius().is_none());
    /// ```
    pub const fn radius(&self) -> Option<Radius> {
        self.radius
    }
}

/// One resonance, by which the response to an unbalance changes with speed: for velocity,
/// `ρ(N) = N³/(N_c² − N² + 2jζN_cN)`; displacement grows with one power less, acceleration with one more.
///
/// ```
/// use counterpoise::{Speed, checks::Resonance};
/// let resonance = Resonance::new(Speed::from_rpm(1850.0)?, 0.06)?;
/// assert_eq!(resonance.critical_speed().rpm(), 1850.0);
/// let error = Resonance::new(Speed::from_rpm(1850.0)?, 0.0).unwrap_err();
/// assert_eq!(
///     error.to_string(),
///     "a damping ratio must be finite and greater than zero, got 0.0: give the part of critical damping",
/// );
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Resonance {
    critical: Speed,
    damping_ratio: f64,
}

impl Resonance {
    /// A resonance at a speed with a damping ratio: the part of critical damping, not percent.
    ///
    /// # Errors
    /// [`ExaminationError::DampingRatio`] for a ratio that is not positive and finite.
    ///
    /// ```
    /// # use counterpoise::{Speed, checks::Resonance};
    /// assert_eq!(Resonance::new(Speed::from_rpm(1850.0)?, 0.06)?.damping_ratio(), 0.06);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn new(critical: Speed, damping_ratio: f64) -> Result<Self, ExaminationError> {
        if damping_ratio.is_finite() && damping_ratio > 0.0 {
            Ok(Self { critical, damping_ratio })
        } else {
            Err(ExaminationError::DampingRatio { value: damping_ratio })
        }
    }

    /// The speed of the resonance without damping.
    ///
    /// ```
    /// # use counterpoise::{Speed, checks::Resonance};
    /// assert_eq!(Resonance::new(Speed::from_rpm(900.0)?, 0.1)?.critical_speed().rpm(), 900.0);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn critical_speed(&self) -> Speed {
        self.critical
    }

    /// The part of critical damping.
    ///
    /// ```
    /// # use counterpoise::{Speed, checks::Resonance};
    /// assert_eq!(Resonance::new(Speed::from_rpm(900.0)?, 0.1)?.damping_ratio(), 0.1);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn damping_ratio(&self) -> f64 {
        self.damping_ratio
    }
}

/// An item, and how it was stated.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stated {
    pub(super) plane: usize,
    pub(super) weight: Weight,
    pub(super) mass_unit: MassUnit,
}

/// A run: which items were on, and what each channel read.
#[derive(Debug, Clone)]
pub(super) struct StatedRun {
    /// Rising numbers of items.
    on: Vec<Item>,
    /// One for each channel.
    pub(super) readings: Vec<Option<Reading>>,
}

impl StatedRun {
    pub(super) fn holds(&self, item: Item) -> bool {
        self.on.contains(&item)
    }
}

/// A job to be cross-examined: what was stated to be on the rotor in every run, and what was read.
///
/// ```
/// use counterpoise::checks::{Examination, Explanation, Plane, Verdict};
/// use counterpoise::{
///     Channel, Convention, Detector, Mass, PhaseSense, Radius, RotorSense, Speed, SpeedWindow, VibrationScale,
///     VibrationUnit,
/// };
/// let convention = Convention { phase: PhaseSense::Lead, rotor: RotorSense::WithRotation };
/// let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
/// let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
/// let channel = Channel::new(1, unit, convention.phase, window);
/// let read = |amplitude, degrees| channel.reading(amplitude, degrees)?.with_standard_deviation(0.005);
/// let weight = |grams, degrees| -> Result<_, counterpoise::QuantityError> {
///     convention.weight(Mass::from_grams(grams)?, Radius::from_millimetres(150.0)?, degrees)
/// };
///
/// // An invented rotor: 0.5 in/s at 0 deg as found, 0.02 in/s per gram, in phase with the weight.
/// let mut job = Examination::new(&[channel], &[Plane::new()])?;
/// let [a, b, c] = [job.add_item(0, weight(10.0, 90.0)?)?, job.add_item(0, weight(10.0, 30.0)?)?,
///     job.add_item(0, weight(20.0, 200.0)?)?];
/// job.add_run(&[], &[read(0.5, 0.0)?])?;
/// job.add_run(&[a], &[read(0.538_516, 21.801_409)?])?;
/// job.add_run(&[b], &[read(0.680_607, -8.448_412)?])?; // really at -30 deg
/// job.add_run(&[c], &[read(0.186_099, -47.310_374)?])?;
/// job.add_run(&[a, c], &[read(0.140_145, 25.805_343)?])?;
/// job.add_run(&[b, c], &[read(0.384_604, -38.007_1)?])?;
///
/// let findings = job.examine()?;
/// assert!(matches!(findings.verdict(), Verdict::OneStands(Explanation::WeightMirrored { item }) if item == b));
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct Examination {
    pub(super) channels: Vec<Channel>,
    pub(super) planes: Vec<Plane>,
    pub(super) items: Vec<Stated>,
    pub(super) runs: Vec<StatedRun>,
    pub(super) resonance: Option<Resonance>,
}

impl Examination {
    /// A job of some channels and planes, without runs yet.
    ///
    /// # Errors
    /// [`ExaminationError::NoChannels`], [`ExaminationError::RepeatedChannel`], [`ExaminationError::NoPlanes`].
    ///
    /// ```
    /// # use counterpoise::*;
    /// # use counterpoise::checks::{Examination, Plane};
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lag, window);
    /// assert!(Examination::new(&[channel], &[Plane::new(), Plane::new()]).is_ok());
    /// assert_eq!(Examination::new(&[channel], &[]).unwrap_err().code(), 1103);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn new(channels: &[Channel], planes: &[Plane]) -> Result<Self, ExaminationError> {
        if channels.is_empty() {
            return Err(ExaminationError::NoChannels);
        }
        if let Some((first, second, sensor)) = repeated(channels) {
            return Err(ExaminationError::RepeatedChannel { first, second, sensor });
        }
        if planes.is_empty() {
            return Err(ExaminationError::NoPlanes);
        }
        Ok(Self {
            channels: channels.to_vec(),
            planes: planes.to_vec(),
            items: Vec::new(),
            runs: Vec::new(),
            resonance: None,
        })
    }

    /// The job with the resonance by which responses change with speed, so that a run at another speed than stated can be
    /// told. Without it the laws of the channels ([`Channel::with_law`]) serve, where all have one; without these, too,
    /// that explanation is left out, which [`Findings::left_out`] says.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # use counterpoise::checks::{Examination, Plane, Resonance};
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lag, window);
    /// let resonance = Resonance::new(Speed::from_rpm(1850.0)?, 0.06)?;
    /// let mut job = Examination::new(&[channel], &[Plane::new()])?.with_resonance(resonance);
    /// job.add_run(&[], &[channel.reading(0.3, 10.0)?.with_standard_deviation(0.01)?])?;
    /// assert!(job.examine()?.left_out().is_empty());
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    #[must_use]
    pub fn with_resonance(self, resonance: Resonance) -> Self {
        Self { resonance: Some(resonance), ..self }
    }

    /// Adds a piece in a plane, whose mass was stated in grams: where it sits and what it weighs as far as is known. In
    /// which runs it was on is said with the runs. A piece that is moved to another place is another item.
    ///
    /// # Errors
    /// [`ExaminationError::NoSuchPlane`].
    ///
    /// ```
    /// # use counterpoise::*;
    /// # use counterpoise::checks::{Examination, Plane};
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lag, window);
    /// let weight = Weight::new(Mass::from_grams(10.0)?, Radius::from_millimetres(150.0)?, RotorAngle::MARK);
    /// let mut job = Examination::new(&[channel], &[Plane::new()])?;
    /// job.add_item(0, weight)?;
    /// assert_eq!(
    ///     job.add_item(1, weight).unwrap_err().to_string(),
    ///     "there is no plane 1: the planes are counted from 0, and there are 1",
    /// );
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn add_item(&mut self, plane: usize, weight: Weight) -> Result<Item, ExaminationError> {
        self.add_item_stated_in(MassUnit::Gram, plane, weight)
    }

    /// Adds a piece whose mass was stated in some unit: grams may be ounces by mistake, and ounces grams; other units are
    /// not doubted.
    ///
    /// # Errors
    /// [`ExaminationError::NoSuchPlane`].
    ///
    /// ```
    /// # use counterpoise::*;
    /// # use counterpoise::checks::{Examination, Plane};
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lag, window);
    /// let weight = Weight::new(Mass::from_ounces(0.4)?, Radius::from_inches(6.0)?, RotorAngle::MARK);
    /// let mut job = Examination::new(&[channel], &[Plane::new()])?;
    /// assert!(job.add_item_stated_in(MassUnit::Ounce, 0, weight).is_ok());
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn add_item_stated_in(
        &mut self,
        mass_unit: MassUnit,
        plane: usize,
        weight: Weight,
    ) -> Result<Item, ExaminationError> {
        if plane >= self.planes.len() {
            return Err(ExaminationError::NoSuchPlane { plane, planes: self.planes.len() });
        }
        self.items.push(Stated { plane, weight, mass_unit });
        Ok(Item(self.items.len() - 1))
    }

    /// Adds a run: the items that were stated to be on, all others off, and the readings, in any order. Channels that were
    /// not read are left out. Every reading says its scatter: of all that differs from run to run, not of back-to-back
    /// repeats alone. A standard deviation ([`Reading::with_standard_deviation`]) is taken as known; an estimated
    /// [`Scatter`](crate::Scatter) is trusted as far as its degrees of freedom go ([`Ranked::score`](super::Ranked::score)).
    ///
    /// # Errors
    /// [`ExaminationError::NoSuchItem`], [`ExaminationError::RepeatedItem`], [`ExaminationError::NoReading`],
    /// [`ExaminationError::UnknownChannel`], [`ExaminationError::RepeatedReading`],
    /// [`ExaminationError::ScatterUnknown`].
    ///
    /// ```
    /// # use counterpoise::*;
    /// # use counterpoise::checks::{Examination, Plane};
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lag, window);
    /// let mut job = Examination::new(&[channel], &[Plane::new()])?;
    /// let reading = channel.reading(0.3, 10.0)?;
    /// assert_eq!(
    ///     job.add_run(&[], &[reading]).unwrap_err().to_string(),
    ///     "run 0: the reading of channel 0 states no standard deviation, without which nothing can be judged",
    /// );
    /// job.add_run(&[], &[reading.with_standard_deviation(0.01)?])?;
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn add_run(&mut self, items_on: &[Item], readings: &[Reading]) -> Result<(), ExaminationError> {
        let run = self.runs.len();
        let mut on = items_on.to_vec();
        on.sort_unstable();
        for (at, item) in on.iter().enumerate() {
            if item.0 >= self.items.len() {
                return Err(ExaminationError::NoSuchItem { run, item: item.0, items: self.items.len() });
            }
            if on.get(at + 1) == Some(item) {
                return Err(ExaminationError::RepeatedItem { run, item: item.0 });
            }
        }
        if readings.is_empty() {
            return Err(ExaminationError::NoReading { run });
        }
        let mut by_channel = vec![None; self.channels.len()];
        for reading in readings {
            let named = self.channels.iter().position(|channel| channel == reading.channel());
            let unknown = ExaminationError::UnknownChannel { run, sensor: reading.channel().sensor() };
            let channel = named.ok_or(unknown)?;
            let place = by_channel.get_mut(channel).ok_or(unknown)?;
            if matches!(reading.precision(), Precision::Relative { .. }) {
                return Err(ExaminationError::ScatterUnknown { run, channel });
            }
            if place.replace(*reading).is_some() {
                return Err(ExaminationError::RepeatedReading { run, channel });
            }
        }
        self.runs.push(StatedRun { on, readings: by_channel });
        Ok(())
    }

    /// The runs of an estimator, so that they are entered once. An unbalance that is named in several runs, in the same plane and
    /// to the last digit the same, is one piece; of several alike in one run each is its own. It sits at the radius of its plane,
    /// at 1 mm where none was given; masses count as stated in grams. Zeros are nothing mounted.
    ///
    /// # Errors
    /// [`ExaminationError::NoSuchPlane`] for fewer planes than the estimator has, [`ExaminationError::ScatterUnknown`] where
    /// readings were added with relative weights, and as [`new`](Self::new).
    ///
    /// ```
    /// # use counterpoise::*;
    /// # use counterpoise::checks::{Examination, Explanation, Plane, Verdict};
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lead, window);
    /// let read = |amplitude, degrees| channel.reading(amplitude, degrees)?.with_standard_deviation(0.005);
    /// let at = UnbalanceVector::from_components_gram_millimetres;
    /// let [a, b] = [at(1000.0, 0.0)?, at(500.0, 866.025_404)?];
    /// let mut estimator = Estimator::with_known_variances(&[channel], 1)?;
    /// estimator.add(Run::new("as found").reading(read(0.5, 0.0)?))?;
    /// estimator.add(Run::new("one").mounted(0, a).reading(read(0.7, 0.0)?))?;
    /// estimator.add(Run::new("other").mounted(0, b).reading(read(0.435_890, -23.413_224)?))?; // really at -120 deg
    /// estimator.add(Run::new("first again").mounted(0, a).reading(read(0.7, 0.0)?))?;
    /// estimator.add(Run::new("both").mounted(0, a).mounted(0, b).reading(read(0.624_500, -16.102_114)?))?;
    /// let findings = Examination::of(&estimator, &[Plane::new()])?.examine()?;
    /// assert!(matches!(findings.verdict(), Verdict::OneStands(Explanation::WeightHalfTurn { .. })));
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn of(estimator: &Estimator, planes: &[Plane]) -> Result<Self, ExaminationError> {
        if let Some(plane) = estimator.planes().checked_sub(1).filter(|&last| last >= planes.len()) {
            if !planes.is_empty() {
                return Err(ExaminationError::NoSuchPlane { plane, planes: planes.len() });
            }
        }
        let mut job = Self::new(estimator.channels(), planes)?;
        // Item n was added for the unbalance in place n.
        let mut known: Vec<MountedUnbalance> = Vec::new();
        for run in estimator.runs() {
            let mut on: Vec<Item> = Vec::new();
            for &mounted in run.mounted_unbalances() {
                let MountedUnbalance { plane, unbalance, .. } = mounted;
                if unbalance == UnbalanceVector::ZERO {
                    continue;
                }
                let mut alike = known.iter().enumerate().filter(|(_, one)| **one == mounted);
                let item = if let Some((number, _)) = alike.find(|(number, _)| !on.contains(&Item(*number))) {
                    Item(number)
                } else {
                    let radius = planes.get(plane).and_then(Plane::radius);
                    let radius = radius.map_or_else(|| Radius::from_millimetres(1.0), Ok);
                    let radius = radius.map_err(|_| ExaminationError::NotRepresentable)?;
                    let weight = Weight::new(unbalance.amount() / radius, radius, unbalance.angle());
                    known.push(mounted);
                    job.add_item(plane, weight)?
                };
                on.push(item);
            }
            job.add_run(&on, run.readings())?;
        }
        Ok(job)
    }

    /// Fits the runs anew under every explanation, ranks these, and says what may be said.
    ///
    /// # Errors
    /// [`ExaminationError::NoRuns`], and [`ExaminationError::NotRepresentable`] where the misfit overflows.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # use counterpoise::checks::{Examination, Plane, Verdict};
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lag, window);
    /// let mut job = Examination::new(&[channel], &[Plane::new()])?;
    /// assert!(job.examine().is_err());
    /// job.add_run(&[], &[channel.reading(0.3, 10.0)?.with_standard_deviation(0.01)?])?;
    /// // One run is fitted by anything.
    /// assert_eq!(job.examine()?.verdict(), Verdict::Untested);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn examine(&self) -> Result<Findings, ExaminationError> {
        if self.runs.is_empty() {
            return Err(ExaminationError::NoRuns);
        }
        Findings::of(self.clone())
    }

    /// The first run in which an item was stated to be on.
    pub(super) fn first_run_of(&self, item: Item) -> Option<usize> {
        self.runs.iter().position(|run| run.holds(item))
    }

    /// Every item that was on in some run, in the order in which they were added.
    pub(super) fn mounted_items(&self) -> impl Iterator<Item = (Item, &Stated)> {
        let items = self.items.iter().enumerate().map(|(number, stated)| (Item(number), stated));
        items.filter(|(item, _)| self.first_run_of(*item).is_some())
    }
}
