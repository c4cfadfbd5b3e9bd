//! Which run to take next, so that the explanations that stand can be told apart.

use alloc::vec::Vec;
use core::fmt;

use num_complex::Complex64;

use crate::angle::{Angle, RotorAngle, RotorSense};
use crate::vector::Weight;

use super::examination::{Examination, Item};
use super::explanation::Explanation;
use super::findings::{Findings, Ranked};
use super::model::Model;
use super::regression;

/// How many places are tried in a plane, at most.
const PLACES: u16 = 24;

/// What is on the rotor when the next run is prepared.
///
/// ```
/// use counterpoise::checks::NextRunStart;
/// assert_ne!(NextRunStart::AsFound, NextRunStart::LastRun);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum NextRunStart {
    /// All items are taken off.
    AsFound,
    /// What was stated to be on in the last run stays on.
    LastRun,
}

impl NextRunStart {
    /// The stable number, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::checks::NextRunStart::AsFound.code(), 1);
    /// ```
    pub const fn code(self) -> i32 {
        match self {
            Self::AsFound => 1,
            Self::LastRun => 2,
        }
    }
}

/// How far the predictions of two explanations for the next run lie apart.
///
/// ```
/// # use counterpoise::*;
/// # use counterpoise::checks::{Examination, Plane};
/// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
/// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
/// # let channel = Channel::new(1, unit, PhaseSense::Lead, window);
/// # let read = |amplitude: f64, degrees: f64| channel.reading(amplitude, degrees)?.with_standard_deviation(0.002);
/// # let weight = Weight::new(Mass::from_grams(10.0)?, Radius::from_millimetres(100.0)?, RotorAngle::MARK);
/// # let mut job = Examination::new(&[channel], &[Plane::new()])?;
/// # let trial = job.add_item(0, weight)?;
/// # job.add_run(&[], &[read(0.5, 0.0)?])?;
/// # job.add_run(&[trial], &[read(0.7, 20.0)?])?;
/// # let findings = job.examine()?;
/// let next = findings.next_run().ok_or("none")?;
/// assert!(next.separations.iter().all(|separation| separation.sigmas >= 0.0));
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Separation {
    /// The one.
    pub first: Explanation,
    /// The other.
    pub second: Explanation,
    /// The difference of the predicted readings over the standard deviation of a new reading about its prediction, over
    /// all channels: `d² = Σ_k |Δ_k|²/(σ_k² + (s_k² + s'_k²)/2)`, with `s` the standard deviations of the two
    /// predictions.
    pub sigmas: f64,
}

/// A weight to mount, and in which plane.
///
/// ```
/// # fn show(added: &counterpoise::checks::AddedWeight) {
/// println!("{:.1} in plane {}", added.weight.mass, added.plane);
/// # }
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct AddedWeight {
    /// The plane, counted from 0.
    pub plane: usize,
    /// The weight.
    pub weight: Weight,
}

/// A run that would tell explanations apart.
///
/// ```
/// # use counterpoise::*;
/// # use counterpoise::checks::{Examination, NextRunStart, Plane};
/// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
/// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
/// # let channel = Channel::new(1, unit, PhaseSense::Lead, window);
/// # let read = |amplitude: f64, degrees: f64| channel.reading(amplitude, degrees)?.with_standard_deviation(0.002);
/// # let weight = Weight::new(Mass::from_grams(10.0)?, Radius::from_millimetres(100.0)?, RotorAngle::MARK);
/// # let mut job = Examination::new(&[channel], &[Plane::new()])?;
/// # let trial = job.add_item(0, weight)?;
/// # job.add_run(&[], &[read(0.5, 0.0)?])?;
/// # job.add_run(&[trial], &[read(0.7, 20.0)?])?;
/// # let findings = job.examine()?;
/// let next = findings.next_run().ok_or("none")?;
/// println!("{next}");
/// assert!(next.start == NextRunStart::AsFound || next.start == NextRunStart::LastRun);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct NextRun {
    /// What the run starts from.
    pub start: NextRunStart,
    /// What to mount besides; `None` for nothing.
    pub added: Option<AddedWeight>,
    /// For every two undistinguished explanations of different consequence, how far the run would tell them apart.
    pub separations: Vec<Separation>,
}

impl NextRun {
    /// The separation from which on a run decides: with 5, the true explanation is ahead 100 to 1 after it in nine cases
    /// of ten.
    ///
    /// ```
    /// assert_eq!(counterpoise::checks::NextRun::DECIDES_FROM_SIGMAS, 5.0);
    /// ```
    pub const DECIDES_FROM_SIGMAS: f64 = 5.0;

    /// How many of the pairs the run would decide.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # use counterpoise::checks::{Examination, Plane};
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lead, window);
    /// # let read = |amplitude: f64, degrees: f64| channel.reading(amplitude, degrees)?.with_standard_deviation(0.002);
    /// # let weight = Weight::new(Mass::from_grams(10.0)?, Radius::from_millimetres(100.0)?, RotorAngle::MARK);
    /// # let mut job = Examination::new(&[channel], &[Plane::new()])?;
    /// # let trial = job.add_item(0, weight)?;
    /// # job.add_run(&[], &[read(0.5, 0.0)?])?;
    /// # job.add_run(&[trial], &[read(0.7, 20.0)?])?;
    /// # let findings = job.examine()?;
    /// let next = findings.next_run().ok_or("none")?;
    /// assert!(0 < next.decided() && next.decided() <= next.separations.len());
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn decided(&self) -> usize {
        self.separations.iter().filter(|pair| pair.sigmas >= Self::DECIDES_FROM_SIGMAS).count()
    }

    fn least(&self) -> f64 {
        self.separations.iter().map(|pair| pair.sigmas).fold(f64::INFINITY, f64::min)
    }

    fn sum(&self) -> f64 {
        // A pair that is decided anyway gains nothing from being decided twice.
        let most = 2.0 * Self::DECIDES_FROM_SIGMAS;
        self.separations.iter().fold(0.0, |sum, pair| sum + pair.sigmas.min(most))
    }

    fn better_than(&self, other: &Self) -> bool {
        let key = |run: &Self| (run.decided(), run.least(), run.sum());
        key(self) > key(other)
    }
}

impl fmt::Display for NextRun {
    /// What to do, for a person.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self.start {
            NextRunStart::AsFound => "take all weights off",
            NextRunStart::LastRun => "leave the weights of the last run on",
        })?;
        if let Some(AddedWeight { plane, weight }) = &self.added {
            let degrees = weight.angle.with_rotation().degrees();
            write!(
                f,
                ", mount {:.1} at {:.1} at {degrees:.1} deg with rotation from the mark in plane {plane}",
                weight.mass, weight.radius
            )?;
        }
        let (decided, pairs) = (self.decided(), self.separations.len());
        write!(f, ", and read again: decides {decided} of {pairs} pairs of explanations")
    }
}

/// An explanation with what was fitted under it.
struct Fitted<'a> {
    explanation: &'a Explanation,
    solutions: Vec<Option<regression::Solution>>,
}

/// A prediction for one channel: the number that would be stated, and its variance.
type Predicted = Vec<Option<(Complex64, f64)>>;

impl Fitted<'_> {
    fn predict(&self, job: &Examination, start: NextRunStart, added: Option<AddedWeight>) -> Predicted {
        let last = job.runs.last();
        let stated_on = |item: Item| match start {
            NextRunStart::AsFound => false,
            NextRunStart::LastRun => last.is_some_and(|run| run.holds(item)),
        };
        let mut mounted = job.on_rotor_if(self.explanation, job.runs.len(), stated_on);
        if let Some(AddedWeight { plane, weight }) = added {
            if let Some(sum) = mounted.get_mut(plane) {
                *sum += Examination::newly_mounted_if(self.explanation, weight.unbalance());
            }
        }
        // A mark that was moved stays where it is now.
        let turn = match self.explanation {
            Explanation::MarkMoved { turn_degrees, .. } => job.unturned(*turn_degrees).conj(),
            _ => Complex64::ONE,
        };
        let of_channel = |solution: &regression::Solution| {
            (solution.vibration(&mounted) * turn, solution.variance(&mounted))
        };
        self.solutions.iter().map(|solution| solution.as_ref().map(of_channel)).collect()
    }
}

/// The variance of a new reading of each channel: that of the last one.
fn reading_variances(stated: &Model) -> Vec<Option<f64>> {
    let channels = stated.taken.first().map_or(0, Vec::len);
    let last = |channel: usize| {
        let column = stated.taken.iter().rev().filter_map(|row| row.get(channel).copied().flatten());
        column.map(|taken| 1.0 / (taken.root * taken.root)).next()
    };
    (0..channels).map(last).collect()
}

/// The root of `Σ |Δ|²/(σ² + (s² + s'²)/2)`.
fn separation(one: &Predicted, other: &Predicted, variances: &[Option<f64>]) -> f64 {
    let mut square = 0.0;
    for ((one, other), variance) in one.iter().zip(other).zip(variances) {
        if let (Some((v, s)), Some((w, t)), Some(variance)) = (one, other, variance) {
            let part = (v - w).norm_sqr() / (variance + 0.5 * (s + t));
            square += if part.is_finite() { part } else { 0.0 };
        }
    }
    crate::math::sqrt(square)
}

/// Weights like the heaviest that were mounted in each plane, at places all around it.
fn candidates(job: &Examination) -> Vec<(NextRunStart, Option<AddedWeight>)> {
    let mut added = alloc::vec![None];
    for (plane, stated) in job.planes.iter().enumerate() {
        let in_plane =
            job.mounted_items().filter(|(_, item)| item.plane == plane).map(|(_, item)| item.weight);
        let heaviest = in_plane.reduce(|best, weight| {
            let unbalance = |weight: Weight| (weight.mass * weight.radius).gram_millimetres().abs();
            if unbalance(weight) > unbalance(best) { weight } else { best }
        });
        let Some(weight) = heaviest else { continue };
        let places: Vec<RotorAngle> = match stated.holes() {
            Some(holes) => {
                let step = usize::from(holes.count().div_ceil(PLACES).max(1));
                holes.places().step_by(step).collect()
            }
            None => (0..PLACES)
                .map(|place| Angle::reduced(f64::from(place) * 360.0 / f64::from(PLACES)))
                .map(|angle| RotorSense::WithRotation.angle(angle))
                .collect(),
        };
        added.extend(
            places.into_iter().map(|angle| Some(AddedWeight { plane, weight: Weight { angle, ..weight } })),
        );
    }
    let starts = [NextRunStart::AsFound, NextRunStart::LastRun];
    starts.iter().flat_map(|start| added.iter().map(|added| (*start, *added))).collect()
}

/// The candidate that decides most of the pairs; of equal ones, that with the largest least separation.
pub(super) fn best(findings: &Findings, job: &Examination, stated: &Model) -> Option<NextRun> {
    let standing = findings.undistinguished();
    let fit = |ranked: &Ranked| regression::solve(&job.model_if(stated, &ranked.explanation));
    let fitted: Vec<Fitted<'_>> = standing
        .iter()
        .map(|ranked| Fitted { explanation: &ranked.explanation, solutions: fit(ranked) })
        .collect();
    // Once for each explanation, not for each pair: a refit costs far more than a comparison.
    let consequences: Vec<_> = standing.iter().map(|ranked| findings.consequence(ranked)).collect();
    let mut pairs = Vec::new();
    for (first, one) in consequences.iter().enumerate() {
        for (second, other) in consequences.iter().enumerate().skip(first + 1) {
            let same = one.as_ref().zip(other.as_ref()).is_some_and(|(one, other)| one.same_as(other));
            if !same {
                pairs.push((first, second));
            }
        }
    }
    let variances = reading_variances(stated);
    let mut best: Option<NextRun> = None;
    for (start, added) in candidates(job) {
        let predicted: Vec<Predicted> =
            fitted.iter().map(|fitted| fitted.predict(job, start, added)).collect();
        let separations = pairs.iter().filter_map(|(first, second)| {
            let (one, other) = (standing.get(*first)?, standing.get(*second)?);
            Some(Separation {
                first: one.explanation,
                second: other.explanation,
                sigmas: separation(predicted.get(*first)?, predicted.get(*second)?, &variances),
            })
        });
        let run = NextRun { start, added, separations: separations.collect() };
        if best.as_ref().is_none_or(|best| run.better_than(best)) {
            best = Some(run);
        }
    }
    best.filter(|run| run.decided() > 0)
}
