//! From the runs of a record to the calls that answer: means of repeats, the estimator, the cross-examination.

use alloc::collections::BTreeMap;
use alloc::vec::Vec;

use super::machine::Machine;
use super::state::{JobRun, RunReading, State};
use crate::angle::{RotorAngle, RotorSense};
use crate::channel::{Channel, Precision, Reading};
use crate::checks::{Examination, Item, Plane};
use crate::error::{EstimateError, ExaminationError};
use crate::hole_circle::HoleCircle;
use crate::influence::{Estimator, Run};
use crate::placement::{Hole, HoleRing};
use crate::scatter::{Repeats, Scatter};
use crate::unit::{Mass, Radius, Speed};
use crate::vector::{Vibration, Weight};

/// How far an angle of a hole may lie from its place on an even circle, in degrees, and still be that place.
const SAME_PLACE_DEGREES: f64 = 1e-9;

impl JobRun {
    fn of_channel(&self, channel: usize) -> impl Iterator<Item = &Reading> {
        self.readings.iter().filter(move |read| read.channel == channel).map(|read| &read.reading)
    }

    fn repeats(&self, channel: usize) -> Option<Repeats> {
        let at_nominal: Vec<Vibration> = self.of_channel(channel).map(Reading::at_nominal_speed).collect();
        Repeats::of(&at_nominal).ok()
    }
}

impl State {
    /// How far one reading of a channel scatters, pooled over all runs that repeat it; `None` where none does.
    ///
    /// ```
    /// # use counterpoise::job::{Fact, Record, StatedReading};
    #[doc = example_machine!()]
    /// # let mut record = Record::new(machine);
    /// let read = |amplitude, phase| StatedReading::new(0, amplitude, phase, 2350.0);
    /// record.add(Fact::run("as found", &[read(0.45, 48.0), read(0.46, 47.0), read(0.45, 49.0)]))?;
    /// let scatter = record.state().scatter_of_reading(0).ok_or("three readings scatter")?;
    /// assert_eq!(scatter.degrees_of_freedom().count(), 4.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn scatter_of_reading(&self, channel: usize) -> Option<Scatter> {
        let repeats: Vec<Repeats> = self.runs().iter().filter_map(|run| run.repeats(channel)).collect();
        Repeats::pooled(&repeats)
    }

    /// One reading of every channel that was read in a run: repeats are averaged as vectors. The mean scatters as was
    /// stated, or as the repeats of the whole job do, and as the machine [drifts](Machine::with_drift); where neither is known,
    /// it weighs as many readings as it is of.
    ///
    /// ```
    /// # use counterpoise::{Precision, job::{Fact, Record, StatedReading}};
    #[doc = example_machine!()]
    /// # let mut record = Record::new(machine.clone());
    /// let read = |amplitude, phase| StatedReading::new(0, amplitude, phase, 2350.0);
    /// record.add(Fact::run("as found", &[read(0.44, 48.0), read(0.46, 48.0)]))?;
    /// let state = record.state();
    /// let means = state.mean_readings(&machine, &state.runs()[0]);
    /// assert!((means[0].vibration().amplitude() - 0.45).abs() < 1e-15);
    /// assert!(matches!(means[0].precision(), Precision::Scatter(_)));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn mean_readings(&self, machine: &Machine, run: &JobRun) -> Vec<Reading> {
        means(machine, run, &self.scatters(machine)).map(|mean| mean.reading).collect()
    }

    /// The mean of what every run read of every channel, channels in the machine's order.
    pub(crate) fn means_by_channel(&self, machine: &Machine) -> Vec<Vec<Option<Reading>>> {
        let scatters = self.scatters(machine);
        self.runs().iter().map(|run| by_channel(machine, run, &scatters)).collect()
    }

    /// The mean of what one run read of every channel.
    pub(super) fn means_of(&self, machine: &Machine, run: &JobRun) -> Vec<Option<Reading>> {
        by_channel(machine, run, &self.scatters(machine))
    }

    /// How far one reading of each channel scatters.
    fn scatters(&self, machine: &Machine) -> Vec<Option<Scatter>> {
        (0..machine.channels().len()).map(|channel| self.scatter_of_reading(channel)).collect()
    }

    /// The present runs, ready to be fitted. Where the scatter of every reading is known, stated or from repeats, it is
    /// used; where that of one is not, all readings weigh as many as they are the mean of.
    ///
    /// # Errors
    /// [`EstimateError`], for instance where the sum of what is mounted is beyond range.
    ///
    /// ```
    /// # use counterpoise::job::{Fact, Pieces, Record, StatedReading};
    #[doc = example_machine!()]
    /// # let mut record = Record::new(machine.clone());
    /// let read = |amplitude, phase| StatedReading::new(0, amplitude, phase, 2350.0);
    /// record.add(Fact::run("as found", &[read(0.45, 48.0)]))?;
    /// record.add(Fact::PutOn { ring: 0, hole: 6, pieces: vec![Pieces { item: 0, count: 2 }] })?;
    /// record.add(Fact::run("trial", &[read(0.61, 75.0)]))?;
    /// let fit = record.state().estimator(&machine)?.fit()?;
    /// assert_eq!(fit.as_found().len(), 1);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn estimator(&self, machine: &Machine) -> Result<Estimator, EstimateError> {
        self.estimator_of(machine, self.present_runs())
    }

    /// The runs of a run's group that were made before it, ready to be fitted: what could be expected of it.
    pub(crate) fn estimator_before(
        &self,
        machine: &Machine,
        run: &JobRun,
    ) -> Result<Estimator, EstimateError> {
        let before = |other: &&JobRun| other.group() == run.group() && other.entry() < run.entry();
        self.estimator_of(machine, self.runs().iter().filter(before))
    }

    /// The runs of a group, ready to be fitted.
    pub(super) fn estimator_of_group(
        &self,
        machine: &Machine,
        group: usize,
    ) -> Result<Estimator, EstimateError> {
        self.estimator_of(machine, self.runs().iter().filter(|run| run.group() == group))
    }

    fn estimator_of<'a>(
        &self,
        machine: &Machine,
        runs: impl Iterator<Item = &'a JobRun>,
    ) -> Result<Estimator, EstimateError> {
        let scatters = self.scatters(machine);
        let runs: Vec<(&JobRun, Vec<RunReading>)> =
            runs.map(|run| (run, means(machine, run, &scatters).collect())).collect();
        let known = !runs.is_empty()
            && runs
                .iter()
                .flat_map(|(_, means)| means)
                .all(|mean| matches!(mean.reading.precision(), Precision::Scatter(_)));
        let planes = machine.planes().len();
        let mut estimator = if known {
            Estimator::with_known_variances(machine.channels(), planes)?
        } else {
            Estimator::with_relative_weights(machine.channels(), planes)?
        };
        for (of, means) in runs {
            let mut run = Run::new(of.label());
            for (plane, &mounted) in of.mounted().iter().enumerate() {
                run = run.mounted(plane, mounted);
            }
            for RunReading { channel, reading } in means {
                #[allow(clippy::cast_precision_loss)] // a count of repeats
                let count = of.of_channel(channel).count() as f64;
                let weighed = if known { Ok(reading) } else { reading.with_weight(count) };
                // A mean is of one reading at least.
                run = run.reading(weighed.unwrap_or(reading));
            }
            estimator.add(run)?;
        }
        Ok(estimator)
    }

    /// The weights of the present runs, each with the runs that it was on in. Of equal pieces in one hole the last on is the
    /// first off; pieces of one hole that came on and off together are one weight.
    ///
    /// ```
    /// # use counterpoise::job::Record;
    #[doc = example_machine!()]
    /// assert!(Record::new(machine.clone()).state().weights_in_runs(&machine).is_empty());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn weights_in_runs(&self, machine: &Machine) -> Vec<WeightInRuns> {
        let runs: Vec<&JobRun> = self.present_runs().collect();
        stays(machine, &runs)
    }

    /// The present runs, ready to be cross-examined. Its items are the [weights](Self::weights_in_runs), in that order.
    ///
    /// # Errors
    /// [`ExaminationError::ScatterUnknown`] where the scatter of a reading is neither stated nor seen in repeats.
    ///
    /// ```
    /// # use counterpoise::{Scatter, job::{Fact, Pieces, Record, StatedReading}};
    #[doc = example_machine!()]
    /// # let mut record = Record::new(machine.clone());
    /// let scatter = Scatter::known(0.005)?;
    /// let read = |amplitude, phase| StatedReading::new(0, amplitude, phase, 2350.0).with_scatter(scatter);
    /// record.add(Fact::run("as found", &[read(0.45, 48.0)]))?;
    /// record.add(Fact::PutOn { ring: 0, hole: 6, pieces: vec![Pieces { item: 0, count: 2 }] })?;
    /// record.add(Fact::run("trial", &[read(0.61, 75.0)]))?;
    /// let findings = record.state().examination(&machine)?.examine()?;
    /// assert!(findings.plain().p_value.is_none(), "two runs leave nothing to examine");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn examination(&self, machine: &Machine) -> Result<Examination, ExaminationError> {
        let planes: Vec<Plane> = (0..machine.planes().len()).map(|plane| described(machine, plane)).collect();
        let mut examination = Examination::new(machine.channels(), &planes)?;
        let runs: Vec<&JobRun> = self.present_runs().collect();
        let mut on: Vec<Vec<Item>> = runs.iter().map(|_| Vec::new()).collect();
        for stay in self.weights_in_runs(machine) {
            let item = examination.add_item(stay.plane, stay.weight)?;
            for run in on.iter_mut().take(stay.last + 1).skip(stay.first) {
                run.push(item);
            }
        }
        let scatters = self.scatters(machine);
        for (run, items) in runs.iter().zip(&on) {
            let readings: Vec<Reading> = means(machine, run, &scatters).map(|mean| mean.reading).collect();
            examination.add_run(items, &readings)?;
        }
        Ok(examination)
    }
}

/// The mean of what a run read, channel by channel, with how far one reading of each scatters.
fn means<'a>(
    machine: &'a Machine,
    run: &'a JobRun,
    scatters: &'a [Option<Scatter>],
) -> impl Iterator<Item = RunReading> + 'a {
    let channels = machine.channels().iter().zip(scatters).enumerate();
    channels.filter_map(|(number, (channel, &pooled))| {
        let mean = mean(channel, run, number, pooled)?;
        let drift = machine.drift(number).and_then(|drift| drift.scatter_of(mean.vibration()));
        // All readings of a run share its drift: it does not become less by repeating.
        let reading = match (mean.precision(), drift) {
            (Precision::Scatter(scatter), Some(drift)) => mean.with_scatter(scatter.plus(&drift)),
            _ => mean,
        };
        Some(RunReading { channel: number, reading })
    })
}

/// The same with a place for every channel, whether it was read or not.
fn by_channel(machine: &Machine, run: &JobRun, scatters: &[Option<Scatter>]) -> Vec<Option<Reading>> {
    let mut places: Vec<Option<Reading>> = machine.channels().iter().map(|_| None).collect();
    for RunReading { channel, reading } in means(machine, run, scatters) {
        if let Some(place) = places.get_mut(channel) {
            *place = Some(reading);
        }
    }
    places
}

/// The mean of what a run read of a channel.
fn mean(channel: &Channel, run: &JobRun, number: usize, pooled: Option<Scatter>) -> Option<Reading> {
    let mut readings = run.of_channel(number);
    let first = *readings.next()?;
    let count = u32::try_from(readings.count() + 1).ok()?;
    let stated: Option<Vec<Scatter>> =
        run.of_channel(number).map(Reading::scatter_at_nominal_speed).collect();
    if count == 1 {
        let unknown = matches!(first.precision(), Precision::Relative { .. });
        // A reading scaled by f scatters f times as much; that of repeats is counted at the nominal speed.
        let factor = 1.0 / first.speed_factor();
        return Some(match pooled.filter(|_| unknown) {
            Some(scatter) => first.with_scatter(scatter.scaled(factor * factor)),
            None => first,
        });
    }
    let n = f64::from(count);
    let mean = channel.reading_of(run.repeats(number)?.mean());
    let rpm = run.of_channel(number).map(|reading| reading.speed().rpm() / n).sum::<f64>();
    let window = channel.window();
    let speed = Speed::from_rpm(rpm.clamp(window.lowest().rpm(), window.highest().rpm()));
    // Readings that a law scales are averaged at the nominal speed; others at theirs.
    let mean = match (channel.law(), speed) {
        (None, Ok(speed)) => mean.at(speed).unwrap_or(mean),
        _ => mean,
    };
    let scatter = match stated.as_deref() {
        // Σ C / n²
        Some([first, rest @ ..]) => {
            Some(rest.iter().fold(*first, |sum, one| sum.plus(one)).scaled(1.0 / (n * n)))
        }
        _ => pooled.map(|one| one.of_mean(count)),
    };
    Some(scatter.map_or(mean, |scatter| mean.with_scatter(scatter)))
}

/// Where a weight of a job sits. Counted from 0.
///
/// ```
/// use counterpoise::job::WeightPlace;
/// assert_ne!(WeightPlace::Hole { ring: 0, hole: 7 }, WeightPlace::Free { entry: 3 });
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum WeightPlace {
    /// In a hole.
    Hole {
        /// The ring.
        ring: usize,
        /// The hole.
        hole: usize,
    },
    /// In no hole: the weight of an entry.
    Free {
        /// The entry that says it was put on.
        entry: usize,
    },
}

/// A weight, and the present runs that it stayed on for. A negative mass was there as the machine was found, and is missing.
///
/// ```
/// # use counterpoise::job::{Fact, Pieces, Record, StatedReading, WeightPlace};
#[doc = example_machine!()]
/// # let mut record = Record::new(machine.clone());
/// record.add(Fact::PutOn { ring: 0, hole: 6, pieces: vec![Pieces { item: 0, count: 2 }] })?;
/// record.add(Fact::run("trial", &[StatedReading::new(0, 0.61, 75.0, 2350.0)]))?;
/// let stay = record.state().weights_in_runs(&machine)[0];
/// assert_eq!((stay.place, stay.first, stay.last), (WeightPlace::Hole { ring: 0, hole: 6 }, 0, 0));
/// assert_eq!(stay.weight.mass.grams(), 8.0);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeightInRuns {
    /// Where it sits.
    pub place: WeightPlace,
    /// Its plane.
    pub plane: usize,
    /// The weight: pieces that came on and off together are one.
    pub weight: Weight,
    /// The first of the present runs that it was on in.
    pub first: usize,
    /// The last.
    pub last: usize,
}

/// What was on in some runs more, or less, than on the machine as it was found.
fn stays(machine: &Machine, runs: &[&JobRun]) -> Vec<WeightInRuns> {
    let mut stays = Vec::new();
    let kinds = machine.hardware().len();
    let as_found = State::as_found(machine);
    let mut first = 0;
    for (number, ring) in machine.rings().iter().enumerate() {
        for (at, hole) in ring.holes().iter().enumerate() {
            // By first and last run, and whether it was put on or taken off.
            let mut of_hole: BTreeMap<(usize, usize, bool), f64> = BTreeMap::new();
            for (kind, piece) in machine.hardware().iter().enumerate() {
                let count = |pieces: &[u32]| pieces.get(first + kind).copied().map_or(0, i64::from);
                let found = count(as_found.pieces());
                let more: Vec<i64> = runs.iter().map(|run| count(&run.pieces) - found).collect();
                for (from, to, pieces) in intervals(&more) {
                    let grams = of_hole.entry((from, to, pieces > 0)).or_insert(0.0);
                    #[allow(clippy::cast_precision_loss)] // a count of pieces, below 2³³
                    let pieces = pieces as f64;
                    *grams += piece.mass().grams() * pieces;
                }
            }
            first += kinds;
            for ((from, to, _), grams) in of_hole {
                if let (true, Ok(mass)) = (grams != 0.0, Mass::from_grams(grams)) {
                    let weight = Weight::new(mass, hole.radius(), hole.angle());
                    let place = WeightPlace::Hole { ring: number, hole: at };
                    stays.push(WeightInRuns { place, plane: ring.plane(), weight, first: from, last: to });
                }
            }
        }
    }
    let mut seen: Vec<usize> = Vec::new();
    for (first, run) in runs.iter().enumerate() {
        for on in &run.weights {
            if !seen.contains(&on.entry) {
                seen.push(on.entry);
                let holds = |run: &&&JobRun| run.weights.iter().any(|other| other.entry == on.entry);
                let length = runs.iter().skip(first).take_while(holds).count();
                let (place, last) = (WeightPlace::Free { entry: on.entry }, first + length - 1);
                stays.push(WeightInRuns { place, plane: on.plane, weight: on.weight, first, last });
            }
        }
    }
    stays
}

/// The stays that a number of pieces over the runs is made of: first run, last run, and how many (negative: missing).
fn intervals(more: &[i64]) -> Vec<(usize, usize, i64)> {
    let mut found: Vec<(usize, usize, i64)> = Vec::new();
    // Open stays, the last on on top.
    let mut open: Vec<(usize, i64)> = Vec::new();
    let mut level: i64 = 0;
    for (run, &now) in more.iter().chain(core::iter::once(&0)).enumerate() {
        // Down to zero first where the sign turns.
        let steps = if level.signum() * now.signum() < 0 { [0, now] } else { [now, now] };
        for to in steps {
            while to.abs() < level.abs() {
                let Some((from, pieces)) = open.pop() else { break };
                let off = (level - to).abs().min(pieces.abs()) * pieces.signum();
                found.push((from, run.saturating_sub(1), off));
                if pieces != off {
                    open.push((from, pieces - off));
                }
                level -= off;
            }
            if to != level {
                open.push((run, to - level));
                level = to;
            }
        }
    }
    found
}

/// What the examination knows of a plane: its circle of holes, where it has one that is even.
fn described(machine: &Machine, plane: usize) -> Plane {
    let mut rings = machine.rings().iter().filter(|ring| ring.plane() == plane);
    match (rings.next().and_then(even_circle), rings.next()) {
        (Some((circle, radius)), None) => Plane::new().with_holes(circle).at_radius(radius),
        _ => Plane::new(),
    }
}

/// The circle that a ring's holes lie on evenly, numbered as they are listed.
fn even_circle(ring: &HoleRing) -> Option<(HoleCircle, Radius)> {
    let first = ring.holes().first()?;
    let count = u16::try_from(ring.holes().len()).ok()?;
    let fits = |circle: &HoleCircle| {
        let near = |(hole, place): (&Hole, RotorAngle)| {
            let apart = (hole.angle().with_rotation() - place.with_rotation()).degrees();
            hole.radius() == first.radius() && apart.min(360.0 - apart) < SAME_PLACE_DEGREES
        };
        ring.holes().iter().zip(circle.places()).all(near)
    };
    [RotorSense::WithRotation, RotorSense::AgainstRotation]
        .into_iter()
        .filter_map(|sense| HoleCircle::new(count, first.angle(), sense).ok())
        .find(fits)
        .map(|circle| (circle, first.radius()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_on_is_the_first_off() {
        // Counted by hand.
        assert_eq!(intervals(&[0, 2, 2, 1, 0]), [(1, 2, 1), (1, 3, 1)]);
        assert_eq!(intervals(&[1, 3, 1]), [(1, 1, 2), (0, 2, 1)]);
        assert_eq!(intervals(&[0, -1, -1, 2]), [(1, 2, -1), (3, 3, 2)]);
        assert_eq!(intervals(&[]), []);
        assert_eq!(intervals(&[0, 0]), []);
    }
}
