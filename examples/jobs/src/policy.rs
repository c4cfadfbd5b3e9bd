//! A plain way to drive a job with the library's calls: three readings as found; a designed trial weight in each plane; fit;
//! place; verify; and go on with all runs until the limit is met or nothing is gained. What does not fit is looked at.

use std::collections::BTreeSet;

use counterpoise::checks::Explanation;
use counterpoise::job::{Fact, JobRun, Pieces, Record};
use counterpoise::{
    Conformity, CorrectionQuestion, Hole, HoleChange, HoleRing, InfluenceBelief, Mass, Placement,
    PlacementProof, PlacementQuestion, Precision, TrialChannel, TrialDesign, TrialOutcome, Unbalance,
    UnbalanceVector, Uncertainty, Vibration, Weight,
};

use super::Problem;
use super::advised::unseen;
use super::driver::{Driver, Step, Stopped};
use super::population::Known;

/// Readings a start.
const REPEATS: u32 = 3;
/// Another placement must leave less than this share of what is there.
const WORTH_WHILE: f64 = 0.7;
/// Runs beside one as found and one trial run a plane.
const MOST_MORE: usize = 6;
/// In how many holes of a plane a placement may change something.
const MOST_HOLES: usize = 3;
/// Steps that the search for a placement may take; it proves nearly all within a fraction of them.
const STEPS: u64 = 200_000;
const CONFIDENCE: f64 = 0.95;
/// The largest trial weight that is allowed is taken where no more readings than this would surely see it.
const MOST_AVERAGED: u32 = 20;
/// A coefficient outside what is known of such machines by this factor is not believed.
const BEYOND: f64 = 2.0;

/// The policy, for one job.
#[derive(Debug)]
pub struct Policy {
    known: Known,
    /// The plane whose trial is next.
    plane: usize,
    /// What was mounted and is to be measured.
    to_measure: Option<String>,
    /// How many runs the record had when it was last examined; none where it was put right since.
    examined: usize,
    looked_at: BTreeSet<String>,
}

impl Policy {
    pub fn new(known: &Known) -> Self {
        Self {
            known: known.clone(),
            plane: 0,
            to_measure: Some("as found".into()),
            examined: 0,
            looked_at: BTreeSet::new(),
        }
    }

    /// The first trial weight in a plane: a bolt with washers that is weighed, and comes off again.
    fn trial(&mut self, record: &Record) -> Result<Step, Problem> {
        let (machine, plane) = (record.machine(), self.plane);
        let first = record.state().runs().first().ok_or("there is no run as found")?;
        let Some(unbalance) = trial_unbalance(record, first, &self.known, plane)? else {
            return Ok(Step::Stop(Stopped::StaticBalanceFirst));
        };
        let hole = trial_hole(record, plane).ok_or("no holes in a plane")?;
        let tenths = libm::round(unbalance.gram_millimetres() / hole.radius().millimetres() * 10.0);
        let mass = Mass::from_grams((tenths / 10.0).clamp(1.0, 30.0))?;
        let weight = Weight::new(mass, hole.radius(), hole.angle());
        let mut facts = trials_off(record);
        facts.push(Fact::WeightOn { plane, weight });
        self.plane += 1;
        self.to_measure = Some(format!("trial, {}", machine.planes().get(plane).map_or("", String::as_str)));
        Ok(Step::Change(facts))
    }

    /// What the runs say against each other: where to look, if anywhere.
    fn suspicion(&mut self, record: &Record) -> Result<Option<Vec<Explanation>>, Problem> {
        let findings = record.state().examination(record.machine())?.examine()?;
        let at = unseen(&findings, &mut self.looked_at);
        Ok((!at.is_empty()).then_some(at))
    }

    /// A coefficient that no machine of the kind has: then the trial weight is not what it is said to be.
    fn incredible(&mut self, record: &Record) -> Result<Option<Vec<Explanation>>, Problem> {
        let (state, machine) = (record.state(), record.machine());
        let plane = self.plane - 1;
        // The trial run against the one as found, in this plane alone.
        let (Some(first), Some(last), Some(on)) =
            (state.runs().first(), state.runs().last(), state.weights().last())
        else {
            return Ok(None);
        };
        let grams = on.weight.unbalance().amount().gram_millimetres();
        let before = state.mean_readings(machine, first);
        let after = state.mean_readings(machine, last);
        let mut pairs = before.iter().zip(&after).zip(&self.known.coefficients);
        let outside = pairs.all(|((before, after), known)| {
            let h = (after.at_nominal_speed() - before.at_nominal_speed()).amplitude() / grams;
            let bounds = known.get(plane).copied().unwrap_or((0.0, f64::INFINITY));
            h < bounds.0 / BEYOND || h > bounds.1 * BEYOND
        });
        if !outside {
            return Ok(None);
        }
        let findings = state.examination(machine)?.examine()?;
        let weights = state.weights_in_runs(machine);
        let of_plane = |item: usize| weights.get(item).is_some_and(|weight| weight.plane == plane);
        let found = findings.ranked().iter().map(|ranked| ranked.explanation).find(
            |explanation| matches!(explanation, Explanation::MassUnit { item, .. } if of_plane(item.number())),
        );
        Ok(found
            .filter(|one| self.looked_at.insert(format!("{:?}", one.what_to_look_at())))
            .map(|one| vec![one]))
    }

    /// Another placement, or the end.
    fn go_on(&mut self, record: &Record) -> Result<Step, Problem> {
        let (state, machine) = (record.state(), record.machine());
        let fit = state.estimator(machine)?.fit()?;
        let uncertainty = Uncertainty::of(&fit)?;
        let trial_on = !state.weights().is_empty();
        let limit = self.known.limit;
        let now = uncertainty.vibration_with(state.mounted())?;
        let verified = !trial_on && state.runs().len() > 1 + machine.planes().len();
        if verified && now.iter().all(|one| one.judged(limit, CONFIDENCE) == Conformity::Within) {
            return Ok(Step::Stop(Stopped::WithinLimit));
        }
        if state.runs().len() > machine.planes().len() + MOST_MORE {
            return Ok(Step::Stop(Stopped::ManyRuns));
        }
        // What is there with the trial weights off.
        let mut mounted: Vec<UnbalanceVector> = state.mounted().to_vec();
        for on in state.weights() {
            if let Some(sum) = mounted.get_mut(on.plane) {
                *sum = *sum - on.weight.unbalance();
            }
        }
        let without: Vec<Vibration> = fit.vibration_with(&mounted)?;
        let wanted = CorrectionQuestion::new(fit.influence(), &without)?.solve()?;
        let mut facts = Vec::new();
        for (plane, wanted) in wanted.added().iter().enumerate() {
            let (deeds, placed) = placed_in(record, plane, *wanted)?;
            facts.extend(deeds);
            if let Some(sum) = mounted.get_mut(plane) {
                *sum = *sum + placed;
            }
        }
        // What comes off, first.
        facts.sort_by_key(|fact| !matches!(fact, Fact::TakenOff { .. }));
        let next = fit.vibration_with(&mounted)?;
        let left = next.iter().map(|one| one.amplitude()).fold(0.0, f64::max);
        let worst = now.iter().map(|one| one.value().amplitude()).fold(0.0, f64::max);
        if verified && (facts.is_empty() || left > WORTH_WHILE * worst) {
            let within = now.iter().all(|one| one.value().amplitude() <= limit);
            return Ok(Step::Stop(if within { Stopped::WithinLimit } else { Stopped::NoFurtherGain }));
        }
        facts.splice(0..0, trials_off(record));
        self.to_measure = Some(if verified { "trim" } else { "corrected" }.into());
        Ok(Step::Change(facts))
    }
}

impl Driver for Policy {
    fn next(&mut self, record: &Record) -> Result<Step, Problem> {
        if let Some(label) = self.to_measure.take() {
            return Ok(Step::Measure { label, repeats: REPEATS });
        }
        let runs = record.state().runs().len();
        if self.examined < runs && runs > 1 + record.machine().planes().len() {
            self.examined = runs;
            if let Some(at) = self.suspicion(record)? {
                return Ok(Step::Look(at));
            }
        }
        if self.plane > 0 && !record.state().weights().is_empty() {
            if let Some(at) = self.incredible(record)? {
                return Ok(Step::Look(at));
            }
        }
        if self.plane < record.machine().planes().len() {
            return self.trial(record);
        }
        self.go_on(record)
    }

    fn looked(&mut self, found: bool) {
        // What was put right is examined once more.
        if found {
            self.examined = 0;
        }
    }
}

/// How large a trial weight may be in a plane, on top of what was mounted in a run; `None` where none that may be
/// seen is within the highest vibration.
pub fn trial_unbalance(
    record: &Record,
    run: &JobRun,
    known: &Known,
    plane: usize,
) -> Result<Option<Unbalance>, Problem> {
    let mut channels = Vec::new();
    let readings = record.state().mean_readings(record.machine(), run);
    for (reading, coefficients) in readings.iter().zip(&known.coefficients) {
        let Precision::Scatter(scatter) = reading.precision() else {
            return Err("a reading does not say how it scatters".into());
        };
        let (least, largest) = *coefficients.get(plane).ok_or("nothing is known of the plane")?;
        let belief = InfluenceBelief::between_per_gram_millimetre(least, largest)?;
        let vibration = reading.at_nominal_speed();
        if vibration.amplitude() > known.never_above {
            return Ok(None);
        }
        let noise = libm::sqrt(scatter.variance());
        channels.push(TrialChannel::new(vibration, noise, known.never_above, belief)?);
    }
    Ok(match TrialDesign::new(&channels)?.answer()? {
        TrialOutcome::Weight(weight) => Some(weight.recommended),
        // Not surely seen, but nearly: a few more readings would do.
        TrialOutcome::NoWeight { largest, averaged: Some(readings), .. } if readings <= MOST_AVERAGED => {
            Some(largest)
        }
        _ => None,
    })
}

/// Any place will do, as no direction is known: but not the mark, at which a mirrored weight would not show.
pub fn trial_hole(record: &Record, plane: usize) -> Option<&Hole> {
    let holes = record.machine().rings().iter().find(|ring| ring.plane() == plane)?.holes();
    holes.get(holes.len() / 6)
}

/// All trial weights come off.
pub fn trials_off(record: &Record) -> Vec<Fact> {
    record.state().weights().iter().map(|on| Fact::WeightOff { on: on.entry }).collect()
}

/// The proven fewest holes and pieces for what is wanted in a plane, or the nearest where none is near enough: what a person
/// is to do, and what it adds.
pub fn placed_in(
    record: &Record,
    plane: usize,
    wanted: UnbalanceVector,
) -> Result<(Vec<Fact>, UnbalanceVector), Problem> {
    let rings = record.state().rings().iter().enumerate().filter(|(_, ring)| ring.plane() == plane);
    let (numbers, rings): (Vec<usize>, Vec<HoleRing>) =
        rings.map(|(number, ring)| (number, ring.clone().in_plane(0))).unzip();
    let question = || PlacementQuestion::new(&rings, record.machine().hardware(), &[wanted]);
    let mut answer = question()?.limit_holes(MOST_HOLES).within_usual(None)?.solve(STEPS)?;
    if answer.certificate().proof() != PlacementProof::Best {
        answer = question()?.limit_holes(MOST_HOLES).solve(STEPS)?;
    }
    let placement = answer.best();
    let mut facts = deeds(placement);
    for fact in &mut facts {
        if let Fact::PutOn { ring, .. } | Fact::TakenOff { ring, .. } = fact {
            *ring = numbers.get(*ring).copied().unwrap_or(*ring);
        }
    }
    Ok((facts, placement.placed().first().copied().unwrap_or_default()))
}

/// What a placement asks a person to do; what comes off, first.
pub fn deeds(placement: &Placement) -> Vec<Fact> {
    let pieces = |counts: &[(usize, u32)]| -> Vec<Pieces> {
        counts.iter().map(|&(item, count)| Pieces { item, count }).collect()
    };
    let off = placement.changes().iter().filter(|change| !change.removed.is_empty());
    let on = placement.changes().iter().filter(|change| !change.added.is_empty());
    off.map(|HoleChange { ring, hole, removed, .. }| {
        let (ring, hole) = (*ring, *hole);
        Fact::TakenOff { ring, hole, pieces: pieces(removed) }
    })
    .chain(on.map(|HoleChange { ring, hole, added, .. }| {
        let (ring, hole) = (*ring, *hole);
        Fact::PutOn { ring, hole, pieces: pieces(added) }
    }))
    .collect()
}
