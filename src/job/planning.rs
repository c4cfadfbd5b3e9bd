//! Which weights would be mounted next: a trial, a correction, the move to where weights stay.

use alloc::string::{String, ToString};
use alloc::vec;
use alloc::vec::Vec;

use super::advice::AdviceOptions;
use super::limit::LimitPurpose;
use super::machine::Machine;
use super::mounting::{Mounting, PlannedWeight};
use super::reason::Reason;
use super::standing::{Standing, estimate_of};
use super::state::{State, WeightOn};
use crate::angle::RotorAngle;
use crate::error::{PlacementError, UncertaintyError};
use crate::math;
use crate::placement::{Hole, HoleRing, PlacementAnswer, PlacementQuestion};
use crate::uncertainty::{
    Estimate, InfluenceBelief, TrialChannel, TrialDesign, TrialOutcome, TrialWeight, Uncertainty,
};
use crate::unit::{Mass, Radius, Unbalance};
use crate::vector::{UnbalanceVector, Vibration};

/// What is planned from: the machine, what is on it, and what its runs say.
pub(super) struct Planning<'a> {
    pub machine: &'a Machine,
    pub state: &'a State,
    pub standing: &'a Standing,
    pub options: &'a AdviceOptions,
}

/// Weights that are expected to help, or not.
pub(super) struct Planned {
    pub mounting: Mounting,
    pub predicted: Vec<Estimate<Vibration>>,
    pub answer: Option<PlacementAnswer>,
    /// Root mean squares over the channels: now, with the weights as predicted, and what is to be expected of them with
    /// the uncertainty of the coefficients.
    pub now: f64,
    pub best: f64,
    pub expected: f64,
    /// Whether these are shares of the limits.
    pub of_limits: bool,
    /// What counts as near enough for what is placed.
    near_enough: f64,
    /// The mass of everything that is on then.
    grams: f64,
}

/// From this share of the mass on, everything off and on anew is worth the work. Common practice, no source.
const CLEARLY_LESS_MASS: f64 = 0.8;

impl<'a> Planning<'a> {
    fn planes(&self) -> usize {
        self.machine.planes().len()
    }

    /// The rings of the kind that is used now: those for the job only, until what was there has moved.
    fn rings_in_use(&self) -> Vec<usize> {
        let all = 0..self.state.rings().len();
        let temporary = |ring: &usize| self.machine.is_temporary(*ring);
        let permanent_in_use = self.changed(|ring| !self.machine.is_temporary(ring));
        let temporary_in_use = self.changed(|ring| self.machine.is_temporary(ring));
        let mut planes_with_temporary = (0..self.state.rings().len()).filter(temporary);
        if planes_with_temporary.next().is_none() || (permanent_in_use && !temporary_in_use) {
            return all.filter(|ring| !temporary(ring)).collect();
        }
        // A plane that has only permanent rings uses them from the start.
        let plane_of = |ring: usize| self.state.rings().get(ring).map(HoleRing::plane);
        let has_temporary =
            |plane| (0..self.state.rings().len()).any(|ring| temporary(&ring) && plane_of(ring) == plane);
        all.filter(|&ring| temporary(&ring) || !has_temporary(plane_of(ring))).collect()
    }

    /// Whether the pieces in some of the rings are others than as found.
    fn changed(&self, rings: impl Fn(usize) -> bool) -> bool {
        let both = self.state.rings().iter().zip(self.machine.rings()).enumerate();
        both.filter(|&(ring, _)| rings(ring)).any(|(_, (now, found))| {
            let differ = |(now, found): (&Hole, &Hole)| {
                let none = |counts: &[u32]| counts.iter().all(|&count| count == 0);
                let (now, found) = (now.pieces_mounted(), found.pieces_mounted());
                now != found && !(none(now) && none(found))
            };
            now.holes().iter().zip(found.holes()).any(differ)
        })
    }

    /// Whether something is where it cannot stay: in a ring for the job only, or in no hole of a plane that has permanent rings.
    pub(super) fn has_temporary(&self) -> bool {
        self.changed(|ring| self.machine.is_temporary(ring))
            || self.state.weights().iter().any(|on| self.has_permanent_ring(on.plane))
    }

    fn has_permanent_ring(&self, plane: usize) -> bool {
        let rings = self.state.rings().iter().enumerate();
        rings.filter(|(ring, _)| !self.machine.is_temporary(*ring)).any(|(_, ring)| ring.plane() == plane)
    }

    /// Whether there is a permanent ring for everything that would have to move.
    pub(super) fn can_move(&self) -> bool {
        let mut rings = self.state.rings().iter().enumerate();
        let in_use = |number: usize| self.machine.is_temporary(number) && self.changed(|ring| ring == number);
        self.has_temporary()
            && rings.all(|(number, ring)| !in_use(number) || self.has_permanent_ring(ring.plane()))
    }

    /// A trial weight in a plane: the weights, and why they are as they are. Without a design the weights are `None`.
    ///
    /// It starts from the run that shook least, so that an earlier trial that made it worse comes off.
    pub(super) fn trial(&self, plane: usize) -> (Option<Mounting>, Reason) {
        let (base, read) = self.best_run();
        let mut channels = Vec::new();
        let mut unknown = None;
        for (channel, read) in read.iter().enumerate() {
            let Some(highest) = self.machine.limit(channel, LimitPurpose::Highest) else { continue };
            let Some(read) = read else {
                unknown = self.standing.vibration(channel).map(|_| channel).or(unknown);
                continue;
            };
            let amplitude = read.value().amplitude();
            if amplitude > highest.amplitude {
                let (limit, source) = (highest.amplitude, highest.source.clone());
                return (None, Reason::AboveHighest { channel, amplitude, limit, source });
            }
            let [[xx, xy], [_, yy]] = read.covariance();
            // The larger principal standard deviation: √((a + c)/2 + √(((a − c)/2)² + b²))
            let noise = math::sqrt(0.5 * (xx + yy) + math::hypot(0.5 * (xx - yy), xy));
            let Some(belief) = self.belief(channel, plane) else { continue };
            if let Ok(channel) = TrialChannel::new(read.value(), noise, highest.amplitude, belief) {
                channels.push(channel);
            }
        }
        if let (true, Some(channel)) = (channels.is_empty(), unknown) {
            return (None, Reason::ScatterUnknown { channel });
        }
        match TrialDesign::new(&channels).and_then(|design| design.answer()) {
            Ok(TrialOutcome::Weight(weight)) => self.trial_of(&base, plane, &weight),
            Ok(TrialOutcome::NoWeight { least, largest, averaged }) => {
                let least = least.map_or(f64::NAN, Unbalance::gram_millimetres);
                let (largest, averaged) = (largest.gram_millimetres(), averaged.unwrap_or(0));
                (None, Reason::NoTrialWeight { least, largest, averaged })
            }
            Err(_) => (None, Reason::TrialNotDesigned),
        }
    }

    /// The arrangement of the present run that shook least, and what it read; what is on now where it is as good. An
    /// arrangement with a weight that has come off since is not looked at: it would have to be put on again.
    fn best_run(&self) -> (State, Vec<Option<Estimate<Vibration>>>) {
        let channels = 0..self.machine.channels().len();
        let now = channels.map(|channel| self.standing.estimate(channel)).collect();
        let mut best: (State, Vec<Option<Estimate<Vibration>>>) = (self.state.clone(), now);
        let size = |read: &[Option<Estimate<Vibration>>]| {
            read.iter()
                .copied()
                .collect::<Option<Vec<_>>>()
                .map(|all| self.rms(all.iter().map(|estimate| estimate.value().amplitude())))
        };
        let Some(mut least) = size(&best.1) else { return best };
        let is_on = |on: &WeightOn| self.state.weights().contains(on);
        let present = self.state.changes().len();
        let means = self.state.means_by_channel(self.machine);
        for (run, means) in self.state.runs().iter().zip(means).filter(|(run, _)| run.group() == present) {
            let read: Vec<Option<Estimate<Vibration>>> =
                means.iter().map(|mean| mean.as_ref().and_then(estimate_of)).collect();
            match size(&read) {
                Some(size) if size < least && run.weights.iter().all(is_on) => {
                    least = size;
                    let keep = |on: &WeightOn| run.weights.contains(on);
                    best = (self.state.rearranged(self.machine, run.pieces.clone(), keep), read);
                }
                _ => {}
            }
        }
        best
    }

    /// What is believed of a coefficient: what the machine's description says, else what the runs leave open.
    fn belief(&self, channel: usize, plane: usize) -> Option<InfluenceBelief> {
        if let Some(expected) = self.machine.expected_response(channel, plane) {
            let (lowest, highest) =
                (expected.lowest_per_gram_millimetre, expected.highest_per_gram_millimetre);
            return InfluenceBelief::between_per_gram_millimetre(lowest, highest).ok();
        }
        if let Some(prior) = &self.options.prior {
            return InfluenceBelief::from_prior(prior, channel, plane).ok();
        }
        // No response was ruled out; no more than the region of the coefficient holds is allowed for.
        let influence = self.standing.uncertainty()?.influence(channel, plane).ok()?;
        let highest = influence.magnitude(0.95);
        let lowest = (influence.value().per_gram_millimetre() - influence.radius(0.95)).max(0.1 * highest);
        InfluenceBelief::between_per_gram_millimetre(lowest, highest).ok()
    }

    /// A designed trial weight in the holes that are there.
    fn trial_of(&self, base: &State, plane: usize, weight: &TrialWeight) -> (Option<Mounting>, Reason) {
        let (least, largest) = (weight.least.gram_millimetres(), weight.largest.gram_millimetres());
        let reason = |amount: f64| Reason::TrialDesigned { amount, least, largest };
        let in_plane = |&ring: &usize| base.rings().get(ring).is_some_and(|ring| ring.plane() == plane);
        let rings: Vec<usize> = self.rings_in_use().into_iter().filter(in_plane).collect();
        let place = weight.place.or_else(|| telling_place(base.rings().get(*rings.first()?)?));
        let place = place.unwrap_or(RotorAngle::MARK);
        let recommended = weight.recommended.gram_millimetres();
        if rings.is_empty() {
            let unbalance = UnbalanceVector::from_polar(weight.recommended, place);
            let put_on = vec![PlannedWeight { plane, unbalance, radius: self.radius(plane) }];
            return match self.too_heavy(base, &put_on) {
                Some(too_heavy) => (None, too_heavy),
                None => {
                    (Some(Mounting::between(self.machine, self.state, base, put_on)), reason(recommended))
                }
            };
        }
        // Pieces come in steps: less is asked for until what is placed is allowed.
        let mut asked = recommended;
        for _ in 0..20 {
            let Ok(amount) = Unbalance::from_gram_millimetres(asked) else { break };
            let in_this = |of| {
                if of == plane { UnbalanceVector::from_polar(amount, place) } else { UnbalanceVector::ZERO }
            };
            let wanted: Vec<UnbalanceVector> = (0..self.planes()).map(in_this).collect();
            let found = PlacementQuestion::new(&only(base, &rings), self.machine.hardware(), &wanted)
                .and_then(|question| {
                    self.within_mass(base, &[], question)?
                        .limit_holes(2)
                        .within(0.1 * asked)?
                        .solve(self.options.placement_steps)
                });
            let Ok(answer) = found else { break };
            let placed = answer.best().placed().get(plane).copied().unwrap_or_default();
            let amount = placed.amount().gram_millimetres();
            if (least..=largest).contains(&amount) {
                let after = self.after(base, &rings, &answer);
                return (
                    Some(Mounting::between(self.machine, self.state, &after, Vec::new())),
                    reason(amount),
                );
            }
            asked *= 0.9;
        }
        (None, Reason::NoPiecesForTrial { plane, least, largest })
    }

    /// The correction, in the holes that are in use. It may start from what is on, or take everything off first that the job
    /// has put on: the second where it needs clearly less mass in the end, and leaves as little.
    pub(super) fn correction(&self) -> Result<Planned, Reason> {
        let rings = self.rings_in_use();
        let has_ring = |plane: usize| {
            rings.iter().any(|&ring| self.state.rings().get(ring).is_some_and(|ring| ring.plane() == plane))
        };
        // In planes without holes one weight takes the place of all that are on.
        let kept = |on: &WeightOn| has_ring(on.plane);
        let as_on = self.state.rearranged(self.machine, self.state.pieces().to_vec(), kept);
        let put_on = self.free_weights(&as_on, &has_ring)?;
        let from_here = self.placed(&as_on, &rings, put_on.clone())?;
        let cleared = self.cleared(|ring| rings.contains(&ring), |_| false);
        if rings.is_empty() || (cleared.pieces() == as_on.pieces() && as_on.weights().is_empty()) {
            return Ok(from_here);
        }
        // What comes off in planes without holes is counted in what goes on there.
        let anew = self.placed(&cleared, &rings, put_on)?;
        let leaves_as_little = anew.best <= from_here.best.max(from_here.near_enough);
        if leaves_as_little && anew.grams < CLEARLY_LESS_MASS * from_here.grams {
            return Ok(anew);
        }
        Ok(from_here)
    }

    /// What was put where it cannot stay comes off, and the best that can stay goes on.
    pub(super) fn moved(&self) -> Result<Planned, Reason> {
        let base =
            self.cleared(|ring| self.machine.is_temporary(ring), |on| !self.has_permanent_ring(on.plane));
        let permanent: Vec<usize> =
            (0..self.state.rings().len()).filter(|&ring| !self.machine.is_temporary(ring)).collect();
        self.placed(&base, &permanent, Vec::new())
    }

    /// What is on, with some rings as they were found and some of the weights in no hole.
    fn cleared(&self, rings: impl Fn(usize) -> bool, keep: impl Fn(&WeightOn) -> bool) -> State {
        let as_found = State::as_found(self.machine);
        let kinds = self.machine.hardware().len();
        let mut pieces = Vec::with_capacity(self.state.pieces().len());
        let mut both = self.state.pieces().iter().zip(as_found.pieces());
        for (ring, of_ring) in self.machine.rings().iter().enumerate() {
            let one = |(&is, &was): (&u32, &u32)| if rings(ring) { was } else { is };
            pieces.extend(both.by_ref().take(of_ring.holes().len() * kinds).map(one));
        }
        self.state.rearranged(self.machine, pieces, keep)
    }

    fn uncertainty(&self) -> Result<&'a Uncertainty, Reason> {
        let why = || {
            let words = self.standing.undetermined().map(ToString::to_string);
            Reason::NotComputed {
                words: words.unwrap_or_else(|| "how unsure the coefficients are is not known".into()),
            }
        };
        self.standing.uncertainty().ok_or_else(why)
    }

    /// The weights of the correction in planes without holes, where none is on there.
    fn free_weights(
        &self,
        base: &State,
        has_ring: &impl Fn(usize) -> bool,
    ) -> Result<Vec<PlannedWeight>, Reason> {
        if (0..self.planes()).all(has_ring) {
            return Ok(Vec::new());
        }
        let not_computed = |error: UncertaintyError| Reason::NotComputed { words: error.to_string() };
        let correction = self.uncertainty()?.correction(&self.weights()).map_err(not_computed)?;
        let of = |(plane, total): (usize, &Estimate<UnbalanceVector>)| {
            let on = base.mounted().get(plane).copied().unwrap_or_default();
            PlannedWeight { plane, unbalance: total.value() - on, radius: self.radius(plane) }
        };
        Ok(correction.total().iter().enumerate().filter(|(plane, _)| !has_ring(*plane)).map(of).collect())
    }

    fn radius(&self, plane: usize) -> Option<Radius> {
        let in_plane = |radius: Option<Radius>, on: &WeightOn| {
            if on.plane == plane { Some(on.weight.radius) } else { radius }
        };
        let used = self.state.runs().iter().flat_map(|run| &run.weights).fold(None, in_plane);
        self.machine.radius(plane).or(used)
    }

    /// The best pieces in some rings, from a base on, beside weights that go on in no hole; and what follows.
    fn placed(&self, base: &State, rings: &[usize], put_on: Vec<PlannedWeight>) -> Result<Planned, Reason> {
        let uncertainty = self.uncertainty()?;
        let fit = self.standing.fit().ok_or(Reason::NothingRead)?;
        let now = self.now();
        let not_computed = |words: String| Reason::NotComputed { words };
        let before = Mounting::between(self.machine, self.state, base, put_on.clone());
        let (mut answer, mut near_enough) = (None, 0.0);
        let mut after = base.clone();
        if !rings.is_empty() {
            let effect =
                fit.influence().effect_of(&before.added).map_err(|error| not_computed(error.to_string()))?;
            let left: Vec<Vibration> = now.iter().zip(effect).map(|(&now, effect)| now + effect).collect();
            let solved = PlacementQuestion::through(
                &only(base, rings),
                self.machine.hardware(),
                fit.influence(),
                &left,
            )
            .and_then(|question| {
                let question = match self.weights() {
                    weights if weights.is_empty() => question,
                    weights => question.channel_weights(&weights)?,
                };
                let question = self.within_mass(base, &put_on, question)?;
                question
                    .within_scatter(self.scatter(), self.permissible())?
                    .solve(self.options.placement_steps)
            })
            .map_err(|error| not_computed(error.to_string()))?;
            after = self.after(base, rings, &solved);
            near_enough =
                solved.tolerance().map_or(0.0, |tolerance| tolerance.eps() / self.root_of_channels());
            answer = Some(solved);
        }
        let grams = grams_on(self.machine, &after) + grams_of(&put_on);
        if let Some(too_heavy) = self.too_heavy(&after, &put_on) {
            return Err(too_heavy);
        }
        let mounting = Mounting::between(self.machine, self.state, &after, put_on);
        let total: Vec<UnbalanceVector> =
            self.state.mounted().iter().zip(&mounting.added).map(|(&on, &more)| on + more).collect();
        let predicted =
            uncertainty.vibration_with(&total).map_err(|error| not_computed(error.to_string()))?;
        let best = self.rms(predicted.iter().map(|next| next.value().amplitude()));
        let expected = self.rms(predicted.iter().map(|next| {
            let [[xx, _], [_, yy]] = next.covariance();
            // E|v|² = |v̂|² + tr C
            math::hypot(next.value().amplitude(), math::sqrt(xx + yy))
        }));
        let now = self.rms(now.iter().map(|vibration| vibration.amplitude()));
        let of_limits = !self.weights().is_empty();
        Ok(Planned { mounting, predicted, answer, now, best, expected, of_limits, near_enough, grams })
    }

    /// What every channel shows with what is mounted now: as read, or as predicted where it was not read.
    fn now(&self) -> Vec<Vibration> {
        let predicted = |channel: usize| {
            self.standing.predicted().and_then(|next| next.get(channel)).map(Estimate::value)
        };
        let of = |channel| {
            self.standing.vibration(channel).or_else(|| predicted(channel)).unwrap_or(Vibration::ZERO)
        };
        (0..self.machine.channels().len()).map(of).collect()
    }

    /// Weights that bring every channel to its own limit; none where one has no limit.
    fn weights(&self) -> Vec<f64> {
        let of = |channel| {
            let limit = self.machine.limit(channel, LimitPurpose::Done)?.amplitude;
            Some(1.0 / (limit * limit))
        };
        (0..self.machine.channels().len()).map(of).collect::<Option<Vec<f64>>>().unwrap_or_default()
    }

    fn rms(&self, amplitudes: impl Iterator<Item = f64>) -> f64 {
        let weights = self.weights();
        let weight = |channel: usize| math::sqrt(weights.get(channel).copied().unwrap_or(1.0));
        let sum =
            amplitudes.enumerate().fold(0.0, |sum, (channel, size)| math::hypot(sum, weight(channel) * size));
        sum / self.root_of_channels()
    }

    fn root_of_channels(&self) -> f64 {
        #[allow(clippy::cast_precision_loss)] // a count of channels
        let count = self.machine.channels().len() as f64;
        math::sqrt(count)
    }

    /// The scatter of what is read now over all channels, in the residual's unit.
    fn scatter(&self) -> f64 {
        let weights = self.weights();
        let of = |channel: usize| {
            let [[xx, _], [_, yy]] =
                self.standing.estimate(channel).map_or([[0.0; 2]; 2], |read| read.covariance());
            math::sqrt(weights.get(channel).copied().unwrap_or(1.0) * (xx + yy))
        };
        (0..self.machine.channels().len()).map(of).fold(0.0, math::hypot)
    }

    /// Every channel at its limit, in the residual's unit.
    fn permissible(&self) -> Option<f64> {
        (!self.weights().is_empty()).then(|| self.root_of_channels())
    }

    /// What the limit of mass still allows, from a base on.
    fn within_mass(
        &self,
        base: &State,
        put_on: &[PlannedWeight],
        question: PlacementQuestion,
    ) -> Result<PlacementQuestion, PlacementError> {
        let Some(limit) = self.machine.mass_limit() else { return Ok(question) };
        let left = (limit.mass.grams() - grams_on(self.machine, base) - grams_of(put_on)).max(0.0);
        match Mass::from_grams(left) {
            Ok(mass) => question.limit_net_mass(mass),
            Err(_) => Ok(question),
        }
    }

    /// Where an arrangement has more mass than the limit allows, and more than is on now.
    fn too_heavy(&self, after: &State, put_on: &[PlannedWeight]) -> Option<Reason> {
        let limit = self.machine.mass_limit()?;
        let grams = grams_on(self.machine, after) + grams_of(put_on);
        let most = limit.mass.grams().max(grams_on(self.machine, self.state));
        // Sums of the same pieces in another order differ by rounding.
        let is_above = grams > most + 1e-9 * most.abs();
        let (limit, source) = (limit.mass.grams(), limit.source.clone());
        is_above.then_some(Reason::AboveMassLimit { grams, limit, source })
    }

    /// A base with the changes of a placement in some of its rings.
    fn after(&self, base: &State, rings: &[usize], answer: &PlacementAnswer) -> State {
        let mut pieces = base.pieces().to_vec();
        for change in answer.best().changes() {
            let Some(&ring) = rings.get(change.ring) else { continue };
            let first = State::first_of(self.machine, ring, change.hole);
            for &(kind, count) in &change.added {
                if let Some(there) = pieces.get_mut(first + kind) {
                    *there = there.saturating_add(count);
                }
            }
            for &(kind, count) in &change.removed {
                if let Some(there) = pieces.get_mut(first + kind) {
                    *there = there.saturating_sub(count);
                }
            }
        }
        base.rearranged(self.machine, pieces, |_| true)
    }
}

/// Some of the rings, as a placement is asked for them.
fn only(state: &State, rings: &[usize]) -> Vec<HoleRing> {
    rings.iter().filter_map(|&ring| state.rings().get(ring).cloned()).collect()
}

/// A place where a hole that was mistaken for the mirrored or the opposite one shows: some sixty degrees from the mark.
fn telling_place(ring: &HoleRing) -> Option<RotorAngle> {
    let off = |hole: &&Hole| (hole.angle().with_rotation().degrees() - 60.0).abs();
    ring.holes()
        .iter()
        .filter(|hole| !hole.is_blocked())
        .min_by(|one, other| off(one).total_cmp(&off(other)))
        .map(Hole::angle)
}

/// The mass of everything that is on, as found included, in g.
fn grams_on(machine: &Machine, state: &State) -> f64 {
    let in_holes = state.rings().iter().flat_map(HoleRing::holes).flat_map(|hole| {
        let pieces = hole.pieces_mounted().iter().zip(machine.hardware());
        pieces.map(|(&count, kind)| kind.mass().grams() * f64::from(count))
    });
    in_holes.chain(state.weights().iter().map(|on| on.weight.mass.grams())).sum()
}

/// The mass of weights for planes without holes, as far as their radius is known, in g.
fn grams_of(put_on: &[PlannedWeight]) -> f64 {
    let mass = |weight: &PlannedWeight| Some(weight.unbalance.weight_at(weight.radius?).mass.grams());
    put_on.iter().filter_map(mass).sum()
}
