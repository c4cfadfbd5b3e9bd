//! Which weights would be mounted next: a trial, a correction, the move to where weights stay.

use alloc::string::{String, ToString};
use alloc::vec::Vec;

use super::advice::AdviceOptions;
use super::limit::LimitPurpose;
use super::machine::Machine;
use super::mounting::{Mounting, PlannedWeight};
use super::reason::Reason;
use super::standing::Standing;
use super::state::{State, WeightOn};
use crate::angle::RotorAngle;
use crate::error::{PlacementError, UncertaintyError};
use crate::math;
use crate::placement::{Hole, HoleChange, HoleRing, PlacementAnswer, PlacementQuestion};
use crate::uncertainty::{
    Estimate, InfluenceBelief, TrialChannel, TrialDesign, TrialOutcome, TrialWeight, Uncertainty,
};
use crate::unit::{Mass, Radius, Unbalance};
use crate::vector::{UnbalanceVector, Vibration, Weight};

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
}

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
        let rings = self.state.rings().iter().enumerate();
        let temporary = rings.filter(|(ring, _)| self.machine.is_temporary(*ring));
        self.has_temporary() && temporary.into_iter().all(|(_, ring)| self.has_permanent_ring(ring.plane()))
    }

    /// A trial weight in a plane: the weights, and why they are as they are. Without a design the weights are `None`.
    pub(super) fn trial(&self, plane: usize) -> (Option<Mounting>, Reason) {
        let mut channels = Vec::new();
        for channel in 0..self.machine.channels().len() {
            let (Some(highest), Some(read)) =
                (self.machine.limit(channel, LimitPurpose::Highest), self.standing.estimate(channel))
            else {
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
        let outcome = TrialDesign::new(&channels).and_then(|design| design.answer());
        match outcome {
            Ok(TrialOutcome::Weight(weight)) => self.trial_of(plane, &weight),
            Ok(TrialOutcome::NoWeight { least, largest, averaged }) => {
                let least = least.map_or(f64::NAN, Unbalance::gram_millimetres);
                let (largest, averaged) = (largest.gram_millimetres(), averaged.unwrap_or(0));
                (None, Reason::NoTrialWeight { least, largest, averaged })
            }
            Err(_) => (None, Reason::TrialNotDesigned),
        }
    }

    /// What is believed of a coefficient: what the machine's description says, else what the runs leave open.
    fn belief(&self, channel: usize, plane: usize) -> Option<InfluenceBelief> {
        if let Some(expected) = self.machine.expected_response(channel) {
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
    fn trial_of(&self, plane: usize, weight: &TrialWeight) -> (Option<Mounting>, Reason) {
        let reason = |amount: f64| Reason::TrialDesigned {
            amount,
            least: weight.least.gram_millimetres(),
            largest: weight.largest.gram_millimetres(),
        };
        let in_plane = |&ring: &usize| self.state.rings().get(ring).is_some_and(|ring| ring.plane() == plane);
        let rings: Vec<usize> = self.rings_in_use().into_iter().filter(in_plane).collect();
        let first_hole = rings.first().and_then(|&ring| self.state.rings().get(ring)?.holes().first());
        let place = weight.place.or_else(|| first_hole.map(Hole::angle));
        let place = place.unwrap_or(RotorAngle::MARK);
        let recommended = weight.recommended.gram_millimetres();
        if rings.is_empty() {
            let unbalance = UnbalanceVector::from_polar(weight.recommended, place);
            let mut mounting = Mounting::nothing(self.planes());
            mounting.put_on.push(PlannedWeight { plane, unbalance, radius: self.radius(plane) });
            mounting.add(plane, unbalance);
            return (Some(mounting), reason(recommended));
        }
        // Pieces come in steps: less is asked for until what is placed is allowed.
        let mut asked = recommended;
        for _ in 0..20 {
            let Ok(amount) = Unbalance::from_gram_millimetres(asked) else { break };
            let wanted: Vec<UnbalanceVector> = (0..self.planes())
                .map(|of| {
                    if of == plane {
                        UnbalanceVector::from_polar(amount, place)
                    } else {
                        UnbalanceVector::ZERO
                    }
                })
                .collect();
            let stated: Vec<HoleRing> =
                rings.iter().filter_map(|&ring| self.state.rings().get(ring).cloned()).collect();
            let found =
                PlacementQuestion::new(&stated, self.machine.hardware(), &wanted).and_then(|question| {
                    self.within_mass(question)?
                        .limit_holes(2)
                        .within(0.1 * asked)?
                        .solve(self.options.placement_steps)
                });
            let Ok(answer) = found else { break };
            let mounting = self.mounting_of(&rings, &answer);
            let placed = mounting.added.get(plane).copied().unwrap_or_default().amount().gram_millimetres();
            let (least, largest) = (weight.least.gram_millimetres(), weight.largest.gram_millimetres());
            if (least..=largest).contains(&placed) {
                return (Some(mounting), reason(placed));
            }
            asked *= 0.9;
        }
        (None, reason(recommended))
    }

    /// The correction, in the holes that are in use; `None` with the reason where it cannot be computed.
    pub(super) fn correction(&self) -> Result<Planned, Reason> {
        let rings = self.rings_in_use();
        let has_ring = |plane: usize| {
            rings.iter().any(|&ring| self.state.rings().get(ring).is_some_and(|ring| ring.plane() == plane))
        };
        let mut mounting = Mounting::nothing(self.planes());
        let uncertainty = self.uncertainty()?;
        if !(0..self.planes()).all(has_ring) {
            self.free_weights(uncertainty, &has_ring, &mut mounting)?;
        }
        self.placed(&rings, mounting)
    }

    /// What was put where it cannot stay comes off, and the best that can stay goes on.
    pub(super) fn moved(&self) -> Result<Planned, Reason> {
        let mut mounting = Mounting::nothing(self.planes());
        mounting.take_off(self.state, |plane| self.has_permanent_ring(plane));
        let both = self.state.rings().iter().zip(self.machine.rings()).enumerate();
        for (ring, (now, found)) in both.filter(|&(ring, _)| self.machine.is_temporary(ring)) {
            for (hole, (now_in, found_in)) in now.holes().iter().zip(found.holes()).enumerate() {
                self.back_to(ring, hole, now_in, found_in, &mut mounting);
            }
        }
        let permanent: Vec<usize> =
            (0..self.state.rings().len()).filter(|&ring| !self.machine.is_temporary(ring)).collect();
        self.placed(&permanent, mounting)
    }

    /// A hole is brought back to what was in it as the machine was found.
    fn back_to(&self, ring: usize, hole: usize, now: &Hole, found: &Hole, mounting: &mut Mounting) {
        let count = |counts: &[u32], kind: usize| counts.get(kind).copied().unwrap_or(0);
        let (mut added, mut removed) = (Vec::new(), Vec::new());
        for (kind, piece) in self.machine.hardware().iter().enumerate() {
            let (is, was) = (count(now.pieces_mounted(), kind), count(found.pieces_mounted(), kind));
            if is > was {
                removed.push((kind, is - was));
            } else if was > is {
                added.push((kind, was - is));
            }
            let mass = piece.mass() * (f64::from(was) - f64::from(is));
            let plane = self.state.rings().get(ring).map_or(0, HoleRing::plane);
            mounting.add(plane, Weight::new(mass, now.radius(), now.angle()).unbalance());
        }
        if !(added.is_empty() && removed.is_empty()) {
            mounting.changes.push(HoleChange { ring, hole, added, removed });
        }
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

    /// In planes without holes one weight takes the place of all that are on.
    fn free_weights(
        &self,
        uncertainty: &Uncertainty,
        has_ring: &impl Fn(usize) -> bool,
        mounting: &mut Mounting,
    ) -> Result<(), Reason> {
        let not_computed = |error: UncertaintyError| Reason::NotComputed { words: error.to_string() };
        let correction = uncertainty.correction(&self.weights()).map_err(not_computed)?;
        mounting.take_off(self.state, |plane| !has_ring(plane));
        for (plane, total) in correction.total().iter().enumerate().filter(|(plane, _)| !has_ring(*plane)) {
            let on = self.state.mounted().get(plane).copied().unwrap_or_default();
            let without = mounting.added.get(plane).copied().unwrap_or_default();
            // What is on and stays is what was counted less what comes off.
            let unbalance = total.value() - (on + without);
            mounting.put_on.push(PlannedWeight { plane, unbalance, radius: self.radius(plane) });
            mounting.add(plane, unbalance);
        }
        Ok(())
    }

    fn radius(&self, plane: usize) -> Option<Radius> {
        let in_plane = |radius: Option<Radius>, on: &WeightOn| {
            if on.plane == plane { Some(on.weight.radius) } else { radius }
        };
        let used = self.state.runs().iter().flat_map(|run| &run.weights).fold(None, in_plane);
        self.machine.radius(plane).or(used)
    }

    /// The best pieces in some rings after what a mounting changes already, and what follows.
    fn placed(&self, rings: &[usize], mut mounting: Mounting) -> Result<Planned, Reason> {
        let uncertainty = self.uncertainty()?;
        let fit = self.standing.fit().ok_or(Reason::NothingRead)?;
        let now = self.now();
        let not_computed = |words: String| Reason::NotComputed { words };
        let mut answer = None;
        if !rings.is_empty() {
            let effect = fit
                .influence()
                .effect_of(&mounting.added)
                .map_err(|error| not_computed(error.to_string()))?;
            let left: Vec<Vibration> = now.iter().zip(effect).map(|(&now, effect)| now + effect).collect();
            let stated: Vec<HoleRing> =
                rings.iter().filter_map(|&ring| self.state.rings().get(ring).cloned()).collect();
            let solved = PlacementQuestion::through(&stated, self.machine.hardware(), fit.influence(), &left)
                .and_then(|question| {
                    let question = match self.weights() {
                        weights if weights.is_empty() => question,
                        weights => question.channel_weights(&weights)?,
                    };
                    let question = self.within_mass(question)?;
                    question
                        .within_scatter(self.scatter(), self.permissible())?
                        .solve(self.options.placement_steps)
                })
                .map_err(|error| not_computed(error.to_string()))?;
            let of_rings = self.mounting_of(rings, &solved);
            mounting.changes.extend(of_rings.changes);
            for (plane, &more) in of_rings.added.iter().enumerate() {
                mounting.add(plane, more);
            }
            answer = Some(solved);
        }
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
        Ok(Planned { mounting, predicted, answer, now, best, expected, of_limits })
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
        #[allow(clippy::cast_precision_loss)] // a count of channels
        let count = self.machine.channels().len() as f64;
        let sum =
            amplitudes.enumerate().fold(0.0, |sum, (channel, size)| math::hypot(sum, weight(channel) * size));
        sum / math::sqrt(count)
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
        #[allow(clippy::cast_precision_loss)] // a count of channels
        let count = self.machine.channels().len() as f64;
        (!self.weights().is_empty()).then(|| math::sqrt(count))
    }

    /// What the limit of mass still allows.
    fn within_mass(&self, question: PlacementQuestion) -> Result<PlacementQuestion, PlacementError> {
        let Some(limit) = self.machine.mass_limit() else { return Ok(question) };
        let in_holes = self.state.rings().iter().flat_map(HoleRing::holes).flat_map(|hole| {
            hole.pieces_mounted()
                .iter()
                .zip(self.machine.hardware())
                .map(|(&count, kind)| kind.mass().grams() * f64::from(count))
        });
        let free = self.state.weights().iter().map(|on| on.weight.mass.grams());
        let left = (limit.mass.grams() - in_holes.chain(free).sum::<f64>()).max(0.0);
        match Mass::from_grams(left) {
            Ok(mass) => question.limit_net_mass(mass),
            Err(_) => Ok(question),
        }
    }

    /// A placement, with the machine's numbers of the rings.
    fn mounting_of(&self, rings: &[usize], answer: &PlacementAnswer) -> Mounting {
        let mut mounting = Mounting::nothing(self.planes());
        for change in answer.best().changes() {
            let mut change = change.clone();
            change.ring = rings.get(change.ring).copied().unwrap_or(change.ring);
            mounting.changes.push(change);
        }
        for (plane, &placed) in answer.best().placed().iter().enumerate() {
            mounting.add(plane, placed);
        }
        mounting
    }
}
