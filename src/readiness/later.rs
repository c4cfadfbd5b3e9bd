//! How long it holds: a later reading against the record, and what may have changed.

use alloc::vec;
use alloc::vec::Vec;

use num_complex::Complex64;

use super::changes::{LaterExplanation, LaterFindings, RankedChange};
use super::misfit::{Misfit, Noise, chance_of};
use crate::channel::{Precision, Reading};
use crate::error::ReadinessError;
use crate::influence::InfluenceMatrix;
use crate::math;
use crate::placement::{Hardware, Hole, HoleRing};
use crate::scatter::DegreesOfFreedom;
use crate::statistics::Symmetric;
use crate::uncertainty::{Estimate, Uncertainty};
use crate::unit::Mass;
use crate::vector::{UnbalanceVector, Vibration, Weight};

/// A later reading against the record of a job: what is expected, what was read, how the machine answers, and what was
/// mounted.
///
/// The scatter of the readings must hold what readings days apart differ by: the drift between visits, and not only that of
/// repeats one after the other ([`Repeats::drift`](crate::Repeats::drift)). Coefficients are never known exactly either: say
/// how well by [`with_uncertainty`](Self::with_uncertainty), or a coefficient that is a tenth wrong makes the wrong screw
/// look guilty.
///
/// ```
/// use counterpoise::readiness::{Later, LaterExplanation};
/// use counterpoise::*;
/// let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
/// let window = SpeedWindow::around_percent(Speed::from_rpm(2350.0)?, 1.0)?;
/// let channels = [Channel::new(1, unit, PhaseSense::Lag, window), Channel::new(2, unit, PhaseSense::Lag, window)];
/// let per_g_mm = Influence::from_components_per_gram_millimetre;
/// let influence = InfluenceMatrix::new(&channels, 1, &[per_g_mm(2e-4, 1e-4)?, per_g_mm(-1e-4, 3e-4)?])?;
/// // Three large washers in hole 2 of 8, and one small one in hole 5.
/// let circle = HoleCircle::new(8, RotorAngle::MARK, RotorSense::WithRotation)?;
/// let ring = HoleRing::even(circle, Radius::from_millimetres(150.0)?)
///     .at(2, |hole| hole.mounted(&[3, 0]))
///     .at(5, |hole| hole.mounted(&[0, 1]));
/// let washers = [Hardware::new("large", Mass::from_grams(4.0)?), Hardware::new("small", Mass::from_grams(1.5)?)];
///
/// // At the end of the job 0.05 in/s were left; later one large washer is gone.
/// let lost = Weight::new(Mass::from_grams(-4.0)?, Radius::from_millimetres(150.0)?, ring.holes()[2].angle());
/// let scatter = Scatter::known(0.01)?;
/// let then: Vec<Reading> = channels
///     .iter()
///     .map(|channel| Ok(channel.reading(0.05, 200.0)?.with_scatter(scatter)))
///     .collect::<Result<_, ReadingError>>()?;
/// let change = influence.effect_of(&[lost.unbalance()])?;
/// let now: Vec<Reading> = then
///     .iter()
///     .zip(&change)
///     .map(|(then, &change)| then.channel().reading_of(then.vibration() + change).with_scatter(scatter))
///     .collect();
///
/// let findings = Later::new(&influence, &then, &now)?.with_mounted(&[ring], &washers)?.findings();
/// assert!(findings.is_significant(0.99));
/// let best = findings.ranked()[0].explanation;
/// assert_eq!(best, LaterExplanation::PiecesLost { ring: 0, hole: 2, item: 0, pieces: 1 });
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Later {
    influence: InfluenceMatrix,
    /// The change of each channel at its nominal speed, over the deviation of one component.
    changes: Vec<Complex64>,
    noise: Vec<Noise>,
    rings: Vec<HoleRing>,
    hardware: Vec<Hardware>,
}

/// At most so many variants of a kind are gone through, and the rest is counted: pieces lost and exchanged grow with the product
/// of holes and kinds of hardware, holes mistaken with the square of the holes.
const MOST_VARIANTS: usize = 100_000;
/// At most so many pieces of a kind lost from a hole.
const MOST_LOST: usize = 16;
/// At most so many holes by which a ring is turned.
const MOST_TURNS: usize = 360;

/// The possible changes of one kind.
type Kind = Vec<(LaterExplanation, Misfit)>;

impl Later {
    /// What was read at the end of the job and what was read later, one reading per channel of the coefficients, in their order.
    ///
    /// # Errors
    /// [`ReadinessError::Count`]; [`ReadinessError::DifferentChannels`]; [`ReadinessError::ScatterUnknown`] where a reading
    /// does not say how it scatters, or its variance is beyond all numbers.
    ///
    /// ```
    /// use counterpoise::readiness::Later;
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2350.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lag, window);
    /// # let coefficient = Influence::from_components_per_gram_millimetre(2e-4, 1e-4)?;
    /// # let influence = InfluenceMatrix::new(&[channel], 1, &[coefficient])?;
    /// let reading = channel.reading(0.05, 200.0)?;
    /// assert_eq!(Later::new(&influence, &[reading], &[reading]).unwrap_err().code(), 1456);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn new(
        influence: &InfluenceMatrix,
        then: &[Reading],
        now: &[Reading],
    ) -> Result<Self, ReadinessError> {
        let channels = influence.channels();
        for list in [then, now] {
            if list.len() != channels.len() {
                let (expected, got) = (channels.len(), list.len());
                return Err(ReadinessError::Count { what: "readings, one per channel", expected, got });
            }
        }
        let (mut changes, mut noise) = (Vec::new(), Vec::new());
        for (reading, ((then, now), channel)) in then.iter().zip(now).zip(channels).enumerate() {
            if then.channel() != channel || now.channel() != channel {
                return Err(ReadinessError::DifferentChannels { reading });
            }
            let scatter = |of: &Reading| match of.precision() {
                Precision::Scatter(_) => of.scatter_at_nominal_speed(),
                Precision::Relative { .. } => None,
            };
            let both = scatter(then).zip(scatter(now)).and_then(|(one, other)| Noise::of(&one.plus(&other)));
            let Some(of_change) = both else { return Err(ReadinessError::ScatterUnknown { reading }) };
            let change: Vibration = now.at_nominal_speed() - then.at_nominal_speed();
            changes.push(change.complex() / of_change.deviation());
            noise.push(of_change);
        }
        let influence = influence.clone();
        Ok(Self { influence, changes, noise, rings: Vec::new(), hardware: Vec::new() })
    }

    /// The same with how well the coefficients are known: what one component of each deviates by, in the channel's unit per
    /// g mm, all planes of the first channel, then of the next. Without it they are taken as exact.
    ///
    /// # Errors
    /// [`ReadinessError::Count`]; [`ReadinessError::BadNumber`] where one is negative or not finite.
    ///
    /// ```
    /// use counterpoise::readiness::Later;
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2350.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lag, window);
    /// # let coefficient = Influence::from_components_per_gram_millimetre(2e-4, 1e-4)?;
    /// # let influence = InfluenceMatrix::new(&[channel], 1, &[coefficient])?;
    /// # let then = channel.reading(0.05, 200.0)?.with_standard_deviation(0.01)?;
    /// # let now = channel.reading(0.25, 200.0)?.with_standard_deviation(0.01)?;
    /// let later = Later::new(&influence, &[then], &[now])?;
    /// let spread = |later: Later| later.findings().unbalance_in(0).map(|worth| worth.covariance()[0][0]);
    /// // A coefficient that may be a tenth wrong says less of how much unbalance the change is worth.
    /// assert!(spread(later.clone().with_coefficient_deviations(&[2e-5])?) > spread(later));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn with_coefficient_deviations(mut self, deviations: &[f64]) -> Result<Self, ReadinessError> {
        let planes = self.influence.planes();
        let expected = self.noise.len().saturating_mul(planes);
        if deviations.len() != expected {
            let (what, got) = ("deviations, one per coefficient", deviations.len());
            return Err(ReadinessError::Count { what, expected, got });
        }
        if let Some(&value) = deviations.iter().find(|&&value| !(0.0..f64::INFINITY).contains(&value)) {
            let (what, wanted) = ("the deviation of a coefficient", "0 or more, and finite");
            return Err(ReadinessError::BadNumber { what, value, wanted });
        }
        for (noise, deviations) in self.noise.iter_mut().zip(deviations.chunks(planes.max(1))) {
            noise.set_coefficients(deviations.iter().copied());
        }
        Ok(self)
    }

    /// The same with how well the coefficients are known, from the runs they were estimated of.
    ///
    /// # Errors
    /// [`ReadinessError::Count`] where it is of another number of channels or planes; [`ReadinessError::BadNumber`] where they
    /// are not determined.
    ///
    /// ```
    /// # use counterpoise::{Uncertainty, ReadinessError, readiness::Later};
    /// # fn show(later: Later, uncertainty: &Uncertainty) -> Result<Later, ReadinessError> {
    /// later.with_uncertainty(uncertainty)
    /// # }
    /// ```
    pub fn with_uncertainty(self, uncertainty: &Uncertainty) -> Result<Self, ReadinessError> {
        let planes = self.influence.planes();
        for (what, expected, got) in [
            ("channels that the uncertainty is of", self.noise.len(), uncertainty.channels()),
            ("planes that the uncertainty is of", planes, uncertainty.planes()),
        ] {
            if got != expected {
                return Err(ReadinessError::Count { what, expected, got });
            }
        }
        let deviation = |channel: usize, plane: usize| {
            let [[re_re, _], [_, im_im]] = uncertainty.influence(channel, plane).ok()?.covariance();
            Some(math::sqrt(0.5 * (re_re + im_im)))
        };
        let each = (0..self.noise.len()).flat_map(|channel| (0..planes).map(move |plane| (channel, plane)));
        // What is not determined is refused there.
        let deviations: Vec<f64> =
            each.map(|(channel, plane)| deviation(channel, plane).unwrap_or(f64::INFINITY)).collect();
        self.with_coefficient_deviations(&deviations)
    }

    /// The same with what was mounted at the end of the job.
    ///
    /// # Errors
    /// [`ReadinessError::Plane`] for a ring in a plane without coefficients; [`ReadinessError::Mounted`] where a hole counts
    /// another number of kinds than there are.
    ///
    /// ```
    /// use counterpoise::readiness::Later;
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2350.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lag, window);
    /// # let coefficient = Influence::from_components_per_gram_millimetre(2e-4, 1e-4)?;
    /// # let influence = InfluenceMatrix::new(&[channel], 1, &[coefficient])?;
    /// # let reading = channel.reading(0.05, 200.0)?.with_standard_deviation(0.01)?;
    /// let later = Later::new(&influence, &[reading], &[reading])?;
    /// assert_eq!(later.with_mounted(&[HoleRing::listed(vec![]).in_plane(3)], &[]).unwrap_err().code(), 1458);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn with_mounted(self, rings: &[HoleRing], hardware: &[Hardware]) -> Result<Self, ReadinessError> {
        let planes = self.influence.planes();
        for (ring, stated) in rings.iter().enumerate() {
            if stated.plane() >= planes {
                return Err(ReadinessError::Plane { ring, plane: stated.plane(), planes });
            }
            for (hole, of) in stated.holes().iter().enumerate() {
                if let Some(got) = of.counts_other_than(hardware.len()) {
                    return Err(ReadinessError::Mounted { ring, hole, expected: hardware.len(), got });
                }
            }
        }
        Ok(Self { rings: rings.to_vec(), hardware: hardware.to_vec(), ..self })
    }

    /// What an unbalance in a plane does to every channel, over its deviation.
    fn effect(&self, plane: usize, unbalance: UnbalanceVector) -> impl Iterator<Item = Complex64> + '_ {
        let coefficients = (0..self.changes.len()).map(move |channel| self.influence.get(channel, plane));
        coefficients.zip(&self.noise).map(move |(influence, noise)| {
            let effect = influence.map(|influence| (influence * unbalance).complex() / noise.deviation());
            effect.unwrap_or_default()
        })
    }

    /// What an unbalance in a plane leaves of all channels.
    fn left(&self, plane: usize, unbalance: UnbalanceVector) -> Misfit {
        let amount = unbalance.amount().gram_millimetres();
        let rests = self.effect(plane, unbalance).zip(&self.changes).map(|(effect, change)| change - effect);
        let mut all = Misfit { squared: 0.0, cost: 0.0 };
        for (noise, rest) in self.noise.iter().zip(rests) {
            let one = noise.misfit(rest, plane, amount);
            all.squared += one.squared;
            all.cost += one.cost;
        }
        all
    }

    /// What changed, as far as the readings say.
    ///
    /// ```
    /// use counterpoise::readiness::{Later, LaterExplanation};
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2350.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lag, window);
    /// # let coefficient = Influence::from_components_per_gram_millimetre(2e-4, 1e-4)?;
    /// # let influence = InfluenceMatrix::new(&[channel], 1, &[coefficient])?;
    /// # let reading = channel.reading(0.05, 200.0)?.with_standard_deviation(0.01)?;
    /// let findings = Later::new(&influence, &[reading], &[reading])?.findings();
    /// assert!(!findings.is_significant(0.95));
    /// assert_eq!(findings.ranked()[0].explanation, LaterExplanation::Nothing);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn findings(&self) -> LaterFindings {
        let mut kinds: [Kind; 4] = [vec![], vec![], vec![], vec![]];
        let [lost, exchanged, mistaken, turned] = &mut kinds;
        let mut left_out: usize = 0;
        for (ring, stated) in self.rings.iter().enumerate() {
            left_out = left_out.saturating_add(self.of_holes(ring, stated, [lost, exchanged, mistaken]));
            left_out = left_out.saturating_add(self.of_turns(ring, stated, turned));
        }
        let nothing = self.left(0, UnbalanceVector::ZERO);
        let mut scored = vec![(LaterExplanation::Nothing, nothing.squared, nothing.cost)];
        for kind in kinds {
            let variants = price_of_variants(kind.len());
            scored.extend(
                kind.into_iter().map(|(explanation, left)| (explanation, left.squared, left.cost + variants)),
            );
        }
        let worth: Vec<Option<Estimate<UnbalanceVector>>> =
            (0..self.influence.planes()).map(|plane| self.best_unbalance(plane)).collect();
        let variants = price_of_variants(worth.iter().flatten().count());
        for (plane, estimate) in worth.iter().enumerate() {
            let Some(estimate) = estimate else { continue };
            let unbalance = estimate.value();
            let left = self.left(plane, unbalance);
            let score = left.cost + self.price_of_unbalance(plane, estimate) + variants;
            scored.push((LaterExplanation::OtherUnbalance { plane, unbalance }, left.squared, score));
        }
        let chance = chance_of(&self.changes, &self.noise);
        LaterFindings { ranked: ranked(scored), chance, worth, left_out }
    }

    /// Pieces lost, exchanged, and in another hole. Gives how many were not gone through.
    fn of_holes(&self, ring: usize, stated: &HoleRing, [lost, exchanged, mistaken]: [&mut Kind; 3]) -> usize {
        let (plane, kinds, holes) = (stated.plane(), self.hardware.len(), stated.holes().len());
        let room = |list: &Kind| MOST_VARIANTS.saturating_sub(list.len());
        let at = |grams: f64, hole: &Hole| {
            Weight::new(Mass::canonical(grams), hole.radius(), hole.angle()).unbalance()
        };
        let mut left_out: usize = 0;
        for (hole, of) in stated.holes().iter().enumerate() {
            for (was, count, mass) in self.pieces_in(of) {
                let taken = (count as usize).min(MOST_LOST).min(room(lost));
                left_out = left_out.saturating_add(count as usize - taken);
                for pieces in (1..=count).take(taken) {
                    let left = self.left(plane, at(0.0 - f64::from(pieces) * mass, of));
                    lost.push((LaterExplanation::PiecesLost { ring, hole, item: was, pieces }, left));
                }
                let taken = (kinds - 1).min(room(exchanged));
                left_out = left_out.saturating_add(kinds - 1 - taken);
                let others = self.hardware.iter().enumerate().filter(|(is, _)| *is != was);
                for (is, piece) in others.take(taken) {
                    let left = self.left(plane, at(piece.mass().grams() - mass, of));
                    exchanged.push((LaterExplanation::PieceExchanged { ring, hole, was, is }, left));
                }
            }
            let whole = self.grams_in(of);
            if whole != 0.0 {
                let taken = (holes - 1).min(room(mistaken));
                left_out = left_out.saturating_add(holes - 1 - taken);
                let others = stated.holes().iter().enumerate().filter(|(now, _)| *now != hole);
                for (now, other) in others.take(taken) {
                    let left = self.left(plane, at(whole, other) - at(whole, of));
                    mistaken.push((LaterExplanation::HoleMistaken { ring, hole, now }, left));
                }
            }
        }
        left_out
    }

    /// The ring with all that is in it turned by some holes. Gives how many turns were not gone through.
    fn of_turns(&self, ring: usize, stated: &HoleRing, turned: &mut Kind) -> usize {
        let holes = stated.holes();
        let grams: Vec<f64> = holes.iter().map(|hole| self.grams_in(hole)).collect();
        if grams.iter().all(|&grams| grams == 0.0) {
            return 0;
        }
        let sum = |by: usize| {
            let places = holes.iter().cycle().skip(by);
            let weights = grams
                .iter()
                .zip(places)
                .map(|(&grams, at)| Weight::new(Mass::canonical(grams), at.radius(), at.angle()).unbalance());
            weights.sum::<UnbalanceVector>()
        };
        let now = sum(0);
        for by in (1..holes.len()).take(MOST_TURNS) {
            let left = self.left(stated.plane(), sum(by) - now);
            turned.push((LaterExplanation::RingTurned { ring, holes: by }, left));
        }
        (holes.len() - 1).saturating_sub(MOST_TURNS)
    }

    /// The pieces in a hole: which kind, how many, and the mass of one in g.
    fn pieces_in<'a>(&'a self, hole: &'a Hole) -> impl Iterator<Item = (usize, u32, f64)> + 'a {
        let counts = hole.pieces_mounted().iter().zip(&self.hardware).enumerate();
        counts
            .filter(|(_, (count, _))| **count > 0)
            .map(|(kind, (&count, piece))| (kind, count, piece.mass().grams()))
    }

    fn grams_in(&self, hole: &Hole) -> f64 {
        self.pieces_in(hole).map(|(_, count, grams)| f64::from(count) * grams).sum()
    }

    /// The unbalance in a plane that leaves least, `u = A⁻¹ Σ Jᵀ C⁻¹ c` with `A = Σ Jᵀ C⁻¹ J`, and its covariance `A⁻¹`.
    ///
    /// What is not known of the coefficients counts with the size of u, so that is found in passes; the third changes
    /// nothing that matters.
    fn best_unbalance(&self, plane: usize) -> Option<Estimate<UnbalanceVector>> {
        let one = UnbalanceVector::computed(Complex64 { re: 1.0, im: 0.0 });
        let (mut unbalance, mut information) = (UnbalanceVector::ZERO, Symmetric::ZERO);
        for _ in 0..3 {
            let amount = unbalance.amount().gram_millimetres();
            let mut toward = Complex64::default();
            information = Symmetric::ZERO;
            for ((h, change), noise) in self.effect(plane, one).zip(&self.changes).zip(&self.noise) {
                let covariance = noise.covariance_with(plane, amount);
                // Jᵀ z is the product with conj(h).
                toward += h.conj() * covariance.solve(*change);
                information = information.plus_information(h, covariance);
            }
            unbalance = UnbalanceVector::computed(information.solve(toward));
        }
        let covariance = information.inverse();
        let sound = unbalance.is_finite() && covariance.iter().flatten().all(|value| value.is_finite());
        sound.then(|| Estimate::new(unbalance, covariance, self.degrees_of_freedom()))
    }

    /// Those of the channel whose scatter is known least.
    fn degrees_of_freedom(&self) -> DegreesOfFreedom {
        let each = self.noise.iter().map(Noise::degrees_of_freedom);
        each.fold(DegreesOfFreedom::Known, DegreesOfFreedom::weaker)
    }

    /// What an unbalance of any size and place costs for being able to fit so much. Before the reading it may lie anywhere in
    /// a circle as large as all that is mounted in the plane put together, or as itself; after it, it is known with the
    /// covariance `Σ`: the share of the circle is `2 √|Σ|/R²`, and the price `−2 ln` of that.
    fn price_of_unbalance(&self, plane: usize, estimate: &Estimate<UnbalanceVector>) -> f64 {
        let in_plane = self.rings.iter().filter(|ring| ring.plane() == plane);
        let mounted: f64 = in_plane
            .flat_map(HoleRing::holes)
            .map(|hole| {
                let pieces = self.pieces_in(hole);
                let grams: f64 = pieces.map(|(_, count, grams)| f64::from(count) * grams.abs()).sum();
                grams * hole.radius().millimetres()
            })
            .sum();
        let reach = mounted.max(estimate.value().amount().gram_millimetres());
        let [[a, b], [_, c]] = estimate.covariance();
        let known_to = math::sqrt(Symmetric::new(a, b, c).determinant().max(0.0));
        let share = 2.0 * known_to / (reach * reach);
        if share < 1.0 { -2.0 * math::log(share) } else { 0.0 }
    }
}

/// `2 ln M`
fn price_of_variants(variants: usize) -> f64 {
    #[allow(clippy::cast_precision_loss)] // a count of variants
    let variants = variants.max(1) as f64;
    2.0 * math::log(variants)
}

/// In order of their scores, with their odds against the best.
fn ranked(mut scored: Vec<(LaterExplanation, f64, f64)>) -> Vec<RankedChange> {
    scored.sort_by(|one, other| one.2.total_cmp(&other.2));
    let least = scored.first().map_or(0.0, |best| best.2);
    let each = scored.into_iter().map(|(explanation, chi_squared, score)| {
        // Where all are beyond all numbers, none is better.
        let behind = if score == least { 0.0 } else { score - least };
        let log10_odds = 0.5 * behind / core::f64::consts::LN_10;
        RankedChange { explanation, chi_squared, score, log10_odds }
    });
    each.collect()
}
