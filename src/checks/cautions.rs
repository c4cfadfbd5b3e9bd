//! What makes the runs, and a correction from them, less trusted.

use alloc::vec::Vec;

use num_complex::Complex64;

use crate::caution::Caution;
use crate::influence::{Estimator, InfluenceFit, Run};
use crate::math;
use crate::scatter::{DegreesOfFreedom, Scatter};
use crate::statistics::mahalanobis_squared;
use crate::uncertainty::{TrialResponse, Uncertainty};
use crate::vector::UnbalanceVector;

use super::findings::chance_of_misfit;
use super::model::pooled_degrees_of_freedom;

/// The chance of a false alarm of each test. Common practice, no source.
const FALSE_ALARM: f64 = 0.01;
/// The share of the largest weight tried from which on a correction lies beyond the trials. Common practice, no source.
const BEYOND: f64 = 3.0;
/// Places nearer than this count as the same, in degrees; masses that differ by less do not test proportion.
const SAME_PLACE_DEGREES: f64 = 1.0;
const OTHER_MASS: f64 = 1.2;
/// A coefficient that changes by more than this share per percent of speed changes fast. Common practice, no source.
const FAST: f64 = 0.1;
/// Speeds further apart than this share are not close. Common practice, no source.
const CLOSE_SPEEDS: f64 = 0.1;
/// A phase that scatters by more than this is not repeatable. Common practice, no source.
const PHASE_DEGREES: f64 = 10.0;
/// Speeds of one channel that differ by more than this share. Common practice, no source.
const SPEED_SHARE: f64 = 0.01;

/// Looks through the runs and their fit, and says what makes them, and the least-squares correction from them, less trusted:
/// weak trials, runs that do not fit together, responses not in proportion, drift, a correction beyond the trials or
/// against what is mounted, coefficients that change fast with speed, phases that scatter, speeds that differ, and
/// vibration below what the scatter resolves. Each caution carries the figure that raised it.
///
/// Tests are made at a false-alarm chance of 1 %, with limits from F where the scatter was estimated; they need readings that say how they scatter, or a fit with more runs
/// than unknowns. The fit must be of the same estimator.
///
/// ```
/// use counterpoise::*;
/// let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
/// let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
/// let channel = Channel::new(1, unit, PhaseSense::Lead, window);
/// let trial = UnbalanceVector::from_components_gram_millimetres(100.0, 0.0)?;
/// let mut estimator = Estimator::with_known_variances(&[channel], 1)?;
/// let read = |amplitude| channel.reading(amplitude, 0.0)?.with_standard_deviation(0.05);
/// estimator.add(Run::new("as found").reading(read(3.0)?))?;
/// estimator.add(Run::new("trial").mounted(0, trial).reading(read(2.8)?))?;
/// let fit = estimator.fit()?;
/// let cautions = checks::cautions(&estimator, &fit);
/// // The trial changed little, and the correction is fifteen times as large.
/// assert!(matches!(cautions[0], Caution::WeakTrial { channel: 0, plane: 0, distance_squared } if (distance_squared - 8.0).abs() < 1e-9));
/// assert!(matches!(cautions[1], Caution::BeyondTrials { plane: 0, .. }));
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
pub fn cautions(estimator: &Estimator, fit: &InfluenceFit) -> Vec<Caution> {
    let mut found = Vec::new();
    let uncertainty = Uncertainty::of(fit).ok();
    if let Some(uncertainty) = &uncertainty {
        weak_trials(uncertainty, estimator, &mut found);
    }
    for (channel, of_channel) in fit.channels().iter().enumerate() {
        if let Some(test) = of_channel.chi_squared() {
            #[allow(clippy::cast_precision_loss)] // a count of runs
            let degrees = test.degrees_of_freedom as f64;
            let named = estimator.channels().get(channel);
            let of_channel = estimator.runs().iter().flat_map(Run::readings);
            let of_channel = of_channel.filter(|reading| Some(reading.channel()) == named);
            let chance = chance_of_misfit(test.value, degrees, pooled_degrees_of_freedom(of_channel));
            if degrees > 0.0 && chance < FALSE_ALARM {
                let (chi_squared, degrees_of_freedom) = (test.value, test.degrees_of_freedom);
                found.push(Caution::InconsistentRuns { channel, chi_squared, degrees_of_freedom, chance });
            }
        }
    }
    for channel in 0..estimator.channels().len() {
        let states = states(estimator, fit, channel);
        pairs(&states, channel, &mut found);
        readings(estimator, channel, &states, &mut found);
    }
    if let Some(correction) = uncertainty.as_ref().and_then(|uncertainty| uncertainty.correction(&[]).ok()) {
        let last = estimator.runs().len().checked_sub(1).and_then(|last| fit.mounted_in(last));
        for (plane, total) in correction.total().iter().enumerate() {
            let mounted = last.and_then(|last| last.get(plane)).copied().unwrap_or_default();
            of_plane(estimator, plane, total.value(), mounted, &mut found);
        }
    }
    speeds(estimator, fit, &mut found);
    if let Some(share) = resolved(estimator, fit) {
        if share < 1.0 {
            found.push(Caution::NothingToResolve { share });
        }
    }
    found
}

/// Whether two corrections one after the other brought nothing: of the runs named, in order, each the reading after a
/// correction (the first may be the one as found), the last two have no lower root mean square amplitude over the channels
/// than the best before them. `None` with fewer than three, or where one of them helped.
///
/// ```
/// use counterpoise::*;
/// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
/// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
/// # let channel = Channel::new(1, unit, PhaseSense::Lead, window);
/// let mut estimator = Estimator::with_relative_weights(&[channel], 1)?;
/// for (label, amplitude) in [("as found", 3.0), ("first", 0.9), ("second", 1.0), ("third", 0.95)] {
///     estimator.add(Run::new(label).reading(channel.reading(amplitude, 0.0)?))?;
/// }
/// let caution = checks::without_gain(estimator.runs(), &[0, 1, 2, 3]);
/// assert_eq!(caution, Some(Caution::WithoutGain { runs: [2, 3], before: 0.9, after: 0.95 }));
/// assert_eq!(checks::without_gain(estimator.runs(), &[0, 1, 2]), None);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
pub fn without_gain(runs: &[Run], after_corrections: &[usize]) -> Option<Caution> {
    let [earlier @ .., one, other] = after_corrections else { return None };
    let size = |&run: &usize| -> Option<f64> {
        let readings = runs.get(run)?.readings();
        #[allow(clippy::cast_precision_loss)] // a count of channels
        let count = readings.len() as f64;
        let size = |reading: &crate::channel::Reading| reading.at_nominal_speed().amplitude();
        Some(readings.iter().map(size).fold(0.0, math::hypot) / math::sqrt(count))
    };
    let sizes = earlier.iter().map(size).collect::<Option<Vec<f64>>>()?;
    let before = sizes.into_iter().reduce(f64::min)?;
    let after = size(one)?.min(size(other)?);
    (after >= before).then_some(Caution::WithoutGain { runs: [*one, *other], before, after })
}

fn weak_trials(uncertainty: &Uncertainty, estimator: &Estimator, found: &mut Vec<Caution>) {
    for channel in 0..estimator.channels().len() {
        for plane in 0..estimator.planes() {
            let Ok(response) = uncertainty.trial_response(channel, plane) else { continue };
            let distance_squared = response.distance_squared();
            if distance_squared < TrialResponse::CLEAR_FROM {
                found.push(Caution::WeakTrial { channel, plane, distance_squared });
            }
        }
    }
}

/// One reading with what was mounted.
struct State {
    run: usize,
    mounted: Vec<UnbalanceVector>,
    read: Complex64,
    /// The covariance, and how well it is known; `None` where nothing says how it scatters.
    scatter: Option<([[f64; 2]; 2], DegreesOfFreedom)>,
}

fn states(estimator: &Estimator, fit: &InfluenceFit, channel: usize) -> Vec<State> {
    let (Some(named), Some(of_channel)) = (estimator.channels().get(channel), fit.channels().get(channel))
    else {
        return Vec::new();
    };
    let state = |(run, of_run): (usize, &Run)| {
        let reading = of_run.readings().iter().find(|reading| reading.channel() == named)?;
        let own = reading
            .scatter_at_nominal_speed()
            .map(|scatter: Scatter| (scatter.covariance(), scatter.degrees_of_freedom()));
        let estimated = || {
            let root = of_channel.root_of_run(run)?;
            let variance = of_channel.residual_variance()? / (root * root);
            Some(([[variance, 0.0], [0.0, variance]], of_channel.degrees_of_freedom()?))
        };
        let mounted = fit.mounted_in(run)?.to_vec();
        Some(State {
            run,
            mounted,
            read: reading.at_nominal_speed().complex(),
            scatter: own.or_else(estimated),
        })
    };
    estimator.runs().iter().enumerate().filter_map(state).collect()
}

fn scaled(covariance: [[f64; 2]; 2], factor: f64) -> [[f64; 2]; 2] {
    covariance.map(|row| row.map(|entry| entry * factor))
}

fn sum(one: [[f64; 2]; 2], other: [[f64; 2]; 2]) -> [[f64; 2]; 2] {
    let mut sum = one;
    for (row, more) in sum.iter_mut().zip(&other) {
        for (entry, more) in row.iter_mut().zip(more) {
            *entry += more;
        }
    }
    sum
}

fn distance_squared(z: Complex64, covariance: [[f64; 2]; 2]) -> f64 {
    mahalanobis_squared([z.re, z.im], covariance)
}

/// Runs with the same weights, and runs with two masses in the same place.
fn pairs(states: &[State], channel: usize, found: &mut Vec<Caution>) {
    let beyond = |distance_squared: f64, degrees: DegreesOfFreedom| {
        distance_squared > degrees.squared_factor(2, 1.0 - FALSE_ALARM)
    };
    let bare = states.iter().find(|state| state.mounted.iter().all(|&on| on == UnbalanceVector::ZERO));
    for (at, one) in states.iter().enumerate() {
        for other in states.iter().skip(at + 1) {
            let (Some((s, of_one)), Some((t, of_other))) = (one.scatter, other.scatter) else { continue };
            let degrees = of_one.weaker(of_other);
            let runs = [one.run, other.run];
            if one.mounted == other.mounted {
                let distance_squared = distance_squared(one.read - other.read, sum(s, t));
                if beyond(distance_squared, degrees) {
                    found.push(Caution::DriftBetweenRuns { channel, runs, distance_squared });
                }
            } else if let (Some(bare), Some((plane, a, b))) = (bare, same_place(one, other)) {
                let Some((scatter_of_bare, degrees_of_bare)) = bare.scatter else { continue };
                // Both lie on one line, so their sizes compare: D = (v₁ − v₀)/a − (v₂ − v₀)/b
                let apart = (one.read - bare.read) / a - (other.read - bare.read) / b;
                let scatter = sum(scaled(s, 1.0 / (a * a)), scaled(t, 1.0 / (b * b)));
                let shared = 1.0 / a - 1.0 / b;
                let distance_squared =
                    distance_squared(apart, sum(scatter, scaled(scatter_of_bare, shared * shared)));
                if beyond(distance_squared, degrees.weaker(degrees_of_bare)) {
                    found.push(Caution::NonLinearResponse { channel, plane, runs, distance_squared });
                }
            }
        }
    }
}

/// The plane and the two amounts, where two runs mount different masses in the same place and nothing else.
fn same_place(one: &State, other: &State) -> Option<(usize, f64, f64)> {
    let mut on = (0..one.mounted.len()).filter(|&plane| {
        let in_plane = |state: &State| state.mounted.get(plane).copied().unwrap_or_default();
        in_plane(one) != UnbalanceVector::ZERO || in_plane(other) != UnbalanceVector::ZERO
    });
    let plane = on.next().filter(|_| on.next().is_none())?;
    let (u, w) = (one.mounted.get(plane)?, other.mounted.get(plane)?);
    let (a, b) = (u.amount().gram_millimetres(), w.amount().gram_millimetres());
    let apart = u.angle().with_rotation().separation_degrees(w.angle().with_rotation());
    let differ = a.max(b) > OTHER_MASS * a.min(b);
    (a > 0.0 && b > 0.0 && differ && apart <= SAME_PLACE_DEGREES).then_some((plane, a, b))
}

/// What single readings of a channel show.
fn readings(estimator: &Estimator, channel: usize, states: &[State], found: &mut Vec<Caution>) {
    for state in states {
        let Some((scatter, _)) = state.scatter else { continue };
        let amplitude = math::modulus(state.read);
        if amplitude > 0.0 {
            // The variance across the vector: uᵀ S u with u a quarter turn from it.
            let (x, y) = (-state.read.im / amplitude, state.read.re / amplitude);
            let across = scatter[0][0] * x * x + 2.0 * scatter[0][1] * x * y + scatter[1][1] * y * y;
            let degrees = math::sqrt(across.max(0.0)) / amplitude * (180.0 / core::f64::consts::PI);
            if degrees > PHASE_DEGREES {
                found.push(Caution::PhaseNotRepeatable { run: state.run, channel, degrees });
            }
        }
    }
    let Some(named) = estimator.channels().get(channel).filter(|named| named.law().is_none()) else { return };
    let of_channel =
        |run: &Run| run.readings().iter().find(|reading| reading.channel() == named).map(|r| r.speed().rpm());
    let (mut lowest_rpm, mut highest_rpm) = (f64::INFINITY, 0.0_f64);
    for rpm in estimator.runs().iter().filter_map(of_channel) {
        lowest_rpm = lowest_rpm.min(rpm);
        highest_rpm = highest_rpm.max(rpm);
    }
    if highest_rpm > lowest_rpm * (1.0 + SPEED_SHARE) {
        found.push(Caution::SpeedsDiffer { channel, lowest_rpm, highest_rpm });
    }
}

/// What the correction of a plane looks like beside what was tried and what is on.
fn of_plane(
    estimator: &Estimator,
    plane: usize,
    total: UnbalanceVector,
    mounted: UnbalanceVector,
    found: &mut Vec<Caution>,
) {
    let tried = estimator.runs().iter().map(|run| run.unbalance_in(plane).amount().gram_millimetres());
    let largest_trial = tried.fold(0.0, f64::max);
    let amount = total.amount().gram_millimetres();
    if amount > BEYOND * largest_trial {
        found.push(Caution::BeyondTrials { plane, amount, largest_trial });
    }
    let (added, on) = ((total - mounted).complex(), mounted.complex());
    let size = math::modulus(on);
    if size > 0.0 {
        // −(a·m)/|m|: how far what is added goes back along what is on.
        let back = 0.0 - (added.re * on.re + added.im * on.im) / size;
        // To take a trial weight off is usual; to go past the middle to the other side, by half of it and more, is worth saying:
        // what is on sits on the heavy side, or an angle was read the wrong way.
        if back > 1.5 * size {
            found.push(Caution::AgainstMounted { plane, amount: back });
        }
    }
}

/// Coefficients of one sensor at speeds that lie close together.
fn speeds(estimator: &Estimator, fit: &InfluenceFit, found: &mut Vec<Caution>) {
    let channels = estimator.channels();
    for (at, one) in channels.iter().enumerate() {
        for (later, other) in channels.iter().enumerate().skip(at + 1) {
            let rpm = [one, other].map(|channel| channel.window().nominal().rpm());
            let apart = (rpm[1] - rpm[0]).abs() / (0.5 * (rpm[0] + rpm[1]));
            if one.sensor() != other.sensor() || apart == 0.0 || apart > CLOSE_SPEEDS {
                continue;
            }
            for plane in 0..estimator.planes() {
                let (Some(h), Some(k)) = (fit.influence().get(at, plane), fit.influence().get(later, plane))
                else {
                    continue;
                };
                let mean = (h + k).per_gram_millimetre() * 0.5;
                let change_per_percent = (k - h).per_gram_millimetre() / mean / (100.0 * apart);
                if change_per_percent > FAST {
                    found.push(Caution::ChangesWithSpeed {
                        sensor: one.sensor(),
                        plane,
                        rpm,
                        change_per_percent,
                    });
                }
            }
        }
    }
}

/// The largest amplitude of the last run over what its scatter resolves at 95 %; `None` where that is not known of all.
fn resolved(estimator: &Estimator, fit: &InfluenceFit) -> Option<f64> {
    let last = estimator.runs().len().checked_sub(1)?;
    let mut worst: Option<f64> = None;
    for channel in 0..estimator.channels().len() {
        let state = states(estimator, fit, channel).into_iter().find(|state| state.run == last)?;
        let (scatter, degrees) = state.scatter?;
        let ratio = distance_squared(state.read, scatter) / degrees.squared_factor(2, 0.95);
        worst = Some(worst.map_or(ratio, |worst| worst.max(ratio)));
    }
    worst.map(math::sqrt)
}
