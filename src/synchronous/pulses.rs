//! From pulses as they came to marks that are right: spurious pulses left out, missing ones counted.
//!
//! Which pulses are true is chosen for the whole record at once: the choice costs least, where every pulse left out and
//! every pulse missing costs something, and so does every change of the time between neighbours. This is the shortest way
//! through the pulses (R. Bellman, Dynamic Programming, 1957), with the last two true pulses as the state.

#![allow(clippy::indexing_slicing, clippy::needless_range_loop)] // every index is below the number of pulses or the window

use alloc::vec;
use alloc::vec::Vec;

use super::order::GearRatio;
use super::rotation::{Mark, Rotation};
use crate::error::SynchronousError;
use crate::math;

/// What passes the pickup in one turn of the shaft that carries it.
///
/// ```
/// use counterpoise::synchronous::MarkPattern;
/// // A wheel of 60 teeth of which two are missing: the tooth after the gap is the reference.
/// let wheel = MarkPattern::toothed(60, 2)?;
/// assert_eq!(wheel.places(), 60);
/// # Ok::<(), counterpoise::SynchronousError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct MarkPattern {
    places: u32,
    missing: u32,
}

impl MarkPattern {
    /// One mark a turn.
    ///
    /// ```
    /// assert_eq!(counterpoise::synchronous::MarkPattern::ONE.places(), 1);
    /// ```
    pub const ONE: Self = Self { places: 1, missing: 0 };

    /// So many marks, evenly spaced and all alike. Which of them is the reference is not seen: it is the first that is kept,
    /// unless [`PulseTrain::aligned_to`] says another.
    ///
    /// # Errors
    /// [`SynchronousError::MarkPattern`] without a mark.
    ///
    /// ```
    /// # use counterpoise::synchronous::MarkPattern;
    /// assert!(MarkPattern::even(0).is_err());
    /// ```
    pub const fn even(marks: u32) -> Result<Self, SynchronousError> {
        Self::toothed(marks, 0)
    }

    /// So many evenly spaced places, of which some that lie beside one another are empty. The first mark after the gap is the
    /// reference.
    ///
    /// # Errors
    /// [`SynchronousError::MarkPattern`] where fewer than two marks stay beside a gap, or more places are empty than not.
    ///
    /// ```
    /// # use counterpoise::synchronous::MarkPattern;
    /// assert_eq!(MarkPattern::toothed(36, 1)?.missing(), 1);
    /// assert!(MarkPattern::toothed(4, 3).is_err());
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub const fn toothed(places: u32, missing: u32) -> Result<Self, SynchronousError> {
        let sound = if missing == 0 {
            places > 0
        } else {
            missing <= places / 2 && places > 2 * missing && places - missing >= 2
        };
        if !sound || places > 100_000 {
            return Err(SynchronousError::MarkPattern { marks: places, missing });
        }
        Ok(Self { places, missing })
    }

    /// Places in one turn, the empty ones among them.
    ///
    /// ```
    /// # use counterpoise::synchronous::MarkPattern;
    /// assert_eq!(MarkPattern::even(4)?.places(), 4);
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub const fn places(self) -> u32 {
        self.places
    }

    /// Empty places in one turn.
    ///
    /// ```
    /// # use counterpoise::synchronous::MarkPattern;
    /// assert_eq!(MarkPattern::even(4)?.missing(), 0);
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub const fn missing(self) -> u32 {
        self.missing
    }
}

/// The marks that a train of pulses is of, and what was wrong with the pulses.
///
/// ```
/// use counterpoise::synchronous::{MarkPattern, PulseTrain};
/// // 20 turns a second; the pulse at 0.25 s is missing, and one too many comes at 0.413 s.
/// let mut seconds: Vec<f64> = (0..20).map(|n| 0.05 * f64::from(n)).collect();
/// seconds.remove(5);
/// seconds.insert(8, 0.413);
/// let train = PulseTrain::read(&seconds, MarkPattern::ONE)?;
/// assert_eq!((train.spurious(), train.missing()), (&[8][..], &[5][..]));
/// assert_eq!(train.marks().len(), 19);
/// assert!((train.rotation()?.speed().mean.rpm() - 1200.0).abs() < 1e-9);
/// # Ok::<(), counterpoise::SynchronousError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct PulseTrain {
    marks: Vec<Mark>,
    spurious: Vec<usize>,
    missing: Vec<u64>,
}

/// A true pulse follows on one of so many before it: up to six spurious ones between two true ones.
const WINDOW: usize = 7;
/// What a spurious pulse costs, and a missing one a little less. The unit is the square of a usual change of the interval.
const SPURIOUS: f64 = 50.0;
const MISSING: f64 = 40.0;
/// What the greatest change of the interval costs.
const MOST: f64 = 400.0;
/// The usual change of the interval from one to the next, as a share of it, lies between these.
const USUAL: [f64; 2] = [0.005, 0.25];
/// At most this share of the pulses may be spurious, and of the true ones missing.
const MOST_SPURIOUS: f64 = 0.35;
const MOST_MISSING: f64 = 0.3;

/// The least cost at which two pulses are the last two true ones.
#[derive(Debug, Clone, Copy)]
struct Reached {
    cost: f64,
    /// The time between neighbours there.
    period: f64,
}

/// How it was reached: from which pulse before the two, and how many intervals lie between the two. 0: they are the first.
#[derive(Debug, Clone, Copy, Default)]
struct Step {
    before: u8,
    intervals: u32,
}

impl PulseTrain {
    /// Reads pulses in the order of their times, in seconds on the clock of the samples.
    ///
    /// # Errors
    /// [`SynchronousError::PulseOutOfOrder`]; [`SynchronousError::TooFewMarks`] below three; [`SynchronousError::PulsesUnclear`]
    /// where more would be wrong with them than can be put right.
    ///
    /// ```
    /// use counterpoise::synchronous::{MarkPattern, PulseTrain};
    /// // A second mark somewhere on the shaft: every other pulse would be spurious.
    /// let two_marks: Vec<f64> = (0..40).map(|n| 0.05 * f64::from(n / 2) + 0.018 * f64::from(n % 2)).collect();
    /// assert_eq!(PulseTrain::read(&two_marks, MarkPattern::ONE).unwrap_err().code(), 1312);
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn read(seconds: &[f64], pattern: MarkPattern) -> Result<Self, SynchronousError> {
        let mut last = f64::NEG_INFINITY;
        for (pulse, &at) in seconds.iter().enumerate() {
            if !(at.is_finite() && at.abs() <= 1e12 && at > last) {
                return Err(SynchronousError::PulseOutOfOrder { pulse, seconds: at });
            }
            last = at;
        }
        if seconds.len() < 3 {
            return Err(SynchronousError::TooFewMarks { marks: seconds.len() });
        }
        let chosen = true_pulses(seconds);
        Self::of(seconds, &chosen, pattern)
    }

    /// The marks of the chosen pulses, each with its number.
    fn of(seconds: &[f64], chosen: &[(usize, u64)], pattern: MarkPattern) -> Result<Self, SynchronousError> {
        let mut spurious: Vec<usize> = Vec::new();
        let mut next = 0;
        for &(pulse, _) in chosen {
            spurious.extend(next..pulse);
            next = pulse + 1;
        }
        spurious.extend(next..seconds.len());
        let places = u64::from(pattern.places);
        let gap = u64::from(pattern.missing);
        let reference = reference_place(chosen, places, gap);
        // Counted from the reference, a place is empty where it is one of the last of its turn.
        let place_of = |number: u64| (number + places - reference) % places;
        let mut missing = Vec::new();
        for pair in chosen.windows(2) {
            if let [(_, one), (_, other)] = pair {
                missing.extend((one + 1..*other).filter(|&number| place_of(number) < places - gap));
            }
        }
        let pulses = seconds.len();
        #[allow(clippy::cast_precision_loss)] // counts of pulses
        let (all, wrong, kept, gone) =
            (pulses as f64, spurious.len() as f64, chosen.len() as f64, missing.len() as f64);
        if chosen.len() < 3 || wrong > MOST_SPURIOUS * all || gone > MOST_MISSING * (kept + gone) {
            let first = spurious.first().copied().unwrap_or(pulses);
            let (spurious, missing) = (spurious.len(), missing.len());
            return Err(SynchronousError::PulsesUnclear { pulses, spurious, missing, first });
        }
        #[allow(clippy::cast_precision_loss)] // far below 2⁵³
        let turns = |number: u64| (number as f64 - reference as f64) / places as f64;
        let marks: Vec<Mark> = chosen
            .iter()
            .filter_map(|&(pulse, number)| Some(Mark { seconds: *seconds.get(pulse)?, turns: turns(number) }))
            .collect();
        Rotation::through(&marks)?;
        Ok(Self { marks, spurious, missing })
    }

    /// The marks that are true, with the turns of the shaft that carries them.
    ///
    /// ```
    /// # use counterpoise::synchronous::{MarkPattern, PulseTrain};
    /// let train = PulseTrain::read(&[0.00, 0.05, 0.10], MarkPattern::even(2)?)?;
    /// assert_eq!(train.marks()[2].turns, 1.0);
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn marks(&self) -> &[Mark] {
        &self.marks
    }

    /// Which of the given pulses were left out as spurious, counted from 0.
    ///
    /// ```
    /// # use counterpoise::synchronous::{MarkPattern, PulseTrain};
    /// assert!(PulseTrain::read(&[0.00, 0.05, 0.10], MarkPattern::ONE)?.spurious().is_empty());
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn spurious(&self) -> &[usize] {
        &self.spurious
    }

    /// Which true pulses did not come, counted from 0 at the first that is kept, those that did not come among them.
    ///
    /// ```
    /// # use counterpoise::synchronous::{MarkPattern, PulseTrain};
    /// let seconds = [0.00, 0.05, 0.10, 0.20, 0.25, 0.30];
    /// assert_eq!(PulseTrain::read(&seconds, MarkPattern::ONE)?.missing(), [3]);
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn missing(&self) -> &[u64] {
        &self.missing
    }

    /// The rotation through the marks.
    ///
    /// # Errors
    /// [`SynchronousError::MarkOutOfOrder`] where a gear brought the turns beyond range.
    ///
    /// ```
    /// # use counterpoise::synchronous::{MarkPattern, PulseTrain};
    /// let train = PulseTrain::read(&[0.00, 0.05, 0.10], MarkPattern::ONE)?;
    /// assert!((train.rotation()?.turns_at(0.025).ok_or("between")? - 0.5).abs() < 1e-15);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn rotation(&self) -> Result<Rotation<'_>, SynchronousError> {
        Rotation::through(&self.marks)
    }

    /// The same for the shaft that is driven by the one with the marks: its turns. Where the driven shaft does not go round
    /// a whole number of times for each turn of the marks, they do not say where its own mark is: the angles are counted
    /// from where it stood at the reference, and repeat from record to record only if it stands there again. Then give a
    /// passing of its own mark to [`aligned_to`](Self::aligned_to).
    ///
    /// ```
    /// use counterpoise::synchronous::{GearRatio, MarkPattern, PulseTrain};
    /// let crank: Vec<f64> = (0..30).map(|n| 0.02 * f64::from(n)).collect();
    /// let propeller = PulseTrain::read(&crank, MarkPattern::ONE)?.of_driven_shaft(GearRatio::new(3, 2)?);
    /// assert!((propeller.rotation()?.speed().mean.rpm() - 2000.0).abs() < 1e-9);
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    #[must_use]
    pub fn of_driven_shaft(mut self, gear: GearRatio) -> Self {
        for mark in &mut self.marks {
            mark.turns = mark.turns * f64::from(gear.driven()) / f64::from(gear.driving());
        }
        self
    }

    /// The same with the turns counted so that they are a whole number at this instant, when the reference mark passed.
    ///
    /// # Errors
    /// [`SynchronousError::OutsideMarks`] where the instant does not lie between the first and the last mark; as
    /// [`rotation`](Self::rotation).
    ///
    /// ```
    /// use counterpoise::synchronous::{MarkPattern, PulseTrain};
    /// let train = PulseTrain::read(&[0.00, 0.05, 0.10, 0.15], MarkPattern::even(2)?)?.aligned_to(0.05)?;
    /// assert_eq!(train.marks()[1].turns, 0.0);
    /// assert_eq!(train.aligned_to(0.25).unwrap_err().code(), 1319);
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn aligned_to(mut self, seconds: f64) -> Result<Self, SynchronousError> {
        let at = self.rotation()?.turns_at(seconds).ok_or_else(|| {
            let of = |mark: Option<&Mark>| mark.map_or(f64::NAN, |mark| mark.seconds);
            let (first_seconds, last_seconds) = (of(self.marks.first()), of(self.marks.last()));
            SynchronousError::OutsideMarks { seconds, first_seconds, last_seconds }
        })?;
        for mark in &mut self.marks {
            mark.turns -= at;
        }
        Ok(self)
    }
}

/// The place, of those in a turn, of the first mark after the gap: the gap is where the fewest pulses came.
fn reference_place(chosen: &[(usize, u64)], places: u64, gap: u64) -> u64 {
    if gap == 0 {
        return 0;
    }
    let count = usize::try_from(places).unwrap_or(usize::MAX);
    let mut came = vec![0_u64; count];
    for &(_, number) in chosen {
        if let Some(place) = usize::try_from(number % places).ok().and_then(|at| came.get_mut(at)) {
            *place += 1;
        }
    }
    let in_gap = |first: &u64| -> u64 {
        (0..gap).filter_map(|at| came.get(usize::try_from((first + at) % places).unwrap_or(usize::MAX))).sum()
    };
    let first = (0..places).min_by_key(in_gap).unwrap_or(0);
    (first + gap) % places
}

/// The pulses that are true, each with its number: that of the first is 0, and a missing pulse has one too.
fn true_pulses(seconds: &[f64]) -> Vec<(usize, u64)> {
    let count = seconds.len();
    let at = |pulse: usize| seconds.get(pulse).copied().unwrap_or(0.0);
    let usual = usual_change(seconds);
    let first_period =
        median(seconds.windows(2).take(31).map(|pair| at_end(pair) - at_start(pair)).collect());
    #[allow(clippy::cast_precision_loss)] // a count of pulses
    let spurious = |pulses: usize| SPURIOUS * pulses as f64;

    let none = Reached { cost: f64::INFINITY, period: 1.0 };
    // Of the last pulses, by pulse modulo the window, and by how many pulses before it the one before is.
    let mut reached = [[none; WINDOW + 1]; WINDOW + 1];
    let mut steps: Vec<[Step; WINDOW]> = vec![[Step::default(); WINDOW]; count];
    let (mut best, mut least) = ((0, 0), f64::INFINITY);
    for j in 1..count {
        let mut of_pulse = [none; WINDOW + 1];
        for back in 1..=WINDOW.min(j) {
            let i = j - back;
            let interval = at(j) - at(i);
            // As the first two.
            let intervals = math::floor(interval / first_period + 0.5).clamp(1.0, 1e6);
            let mut reach = Reached {
                cost: spurious(i + back - 1) + MISSING * (intervals - 1.0),
                period: interval / intervals,
            };
            let mut step = Step { before: 0, intervals: whole(intervals) };
            // After another.
            for (before, earlier) in reached[i % (WINDOW + 1)].iter().enumerate().skip(1) {
                if earlier.cost == f64::INFINITY {
                    continue;
                }
                let intervals = math::floor(interval / earlier.period + 0.5).clamp(1.0, 1e6);
                let period = interval / intervals;
                let change = 2.0 * (period - earlier.period) / ((period + earlier.period) * usual);
                let cost = earlier.cost
                    + (change * change).min(MOST)
                    + MISSING * (intervals - 1.0)
                    + spurious(back - 1);
                if cost < reach.cost {
                    reach = Reached { cost, period };
                    step = Step { before: u8::try_from(before).unwrap_or(0), intervals: whole(intervals) };
                }
            }
            of_pulse[back] = reach;
            steps[j][back - 1] = step;
            let ended = reach.cost + spurious(count - 1 - j);
            if ended < least {
                least = ended;
                best = (j, back);
            }
        }
        reached[j % (WINDOW + 1)] = of_pulse;
    }

    let mut backwards: Vec<(usize, u32)> = Vec::new();
    let (mut pulse, mut back) = best;
    while back > 0 {
        let step = steps[pulse][back - 1];
        backwards.push((pulse, step.intervals));
        pulse -= back;
        back = usize::from(step.before);
    }
    let mut chosen = vec![(pulse, 0)];
    let mut number = 0;
    for (pulse, intervals) in backwards.into_iter().rev() {
        number += u64::from(intervals);
        chosen.push((pulse, number));
    }
    chosen
}

/// Half as much again as the median change from one interval to the next, as a share of the interval.
fn usual_change(seconds: &[f64]) -> f64 {
    let change = |three: &[f64]| {
        let &[one, two, three] = three else { return 0.0 };
        let (before, after) = (two - one, three - two);
        (2.0 * (after - before) / (after + before)).abs()
    };
    (1.5 * median(seconds.windows(3).map(change).collect())).clamp(USUAL[0], USUAL[1])
}

fn at_start(pair: &[f64]) -> f64 {
    pair.first().copied().unwrap_or(0.0)
}

fn at_end(pair: &[f64]) -> f64 {
    pair.last().copied().unwrap_or(0.0)
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(1.0)
}

/// A whole number between 1 and a million as a count.
fn whole(count: f64) -> u32 {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // it was clamped
    let count = count as u32;
    count
}
