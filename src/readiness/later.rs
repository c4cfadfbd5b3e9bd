//! How long it holds: a later reading against the record, and what may have changed.

use alloc::vec;
use alloc::vec::Vec;
use core::fmt;

use num_complex::Complex64;

use crate::channel::{Precision, Reading};
use crate::error::ReadinessError;
use crate::influence::InfluenceMatrix;
use crate::math;
use crate::placement::{Hardware, HoleRing};
use crate::statistics::chi_squared_upper;
use crate::unit::Mass;
use crate::vector::{UnbalanceVector, Vibration, Weight};

/// What may have happened to a rotor since its last job. Everything is counted from 0.
///
/// ```
/// use counterpoise::readiness::LaterExplanation;
/// let lost = LaterExplanation::PiecesLost { ring: 0, hole: 6, item: 1, pieces: 2 };
/// assert_eq!(lost.to_string(), "2 of hardware 1 are gone from hole 6 of ring 0");
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum LaterExplanation {
    /// Nothing: the reading differs by chance.
    Nothing,
    /// Pieces are gone from a hole.
    PiecesLost {
        /// The ring.
        ring: usize,
        /// The hole.
        hole: usize,
        /// The kind of hardware.
        item: usize,
        /// How many are gone.
        pieces: u32,
    },
    /// A piece was replaced by one of another kind, such as a screw of another length.
    PieceExchanged {
        /// The ring.
        ring: usize,
        /// The hole.
        hole: usize,
        /// The kind that was there.
        was: usize,
        /// The kind that is there now.
        is: usize,
    },
    /// What was in a hole is in another of the same ring.
    HoleMistaken {
        /// The ring.
        ring: usize,
        /// The hole it was in.
        hole: usize,
        /// The hole it is in now.
        now: usize,
    },
    /// What carries a ring was put back turned by so many holes, with all that is in it: a spinner, for instance. The unbalance
    /// of the part itself is not known and turns with it; only what is mounted is counted.
    RingTurned {
        /// The ring.
        ring: usize,
        /// By how many holes, in the order in which they are listed.
        holes: usize,
    },
    /// Some other unbalance in a plane: whatever it is, this is what it would have to be.
    OtherUnbalance {
        /// The plane.
        plane: usize,
        /// The unbalance that explains the reading best.
        unbalance: UnbalanceVector,
    },
}

impl LaterExplanation {
    /// The stable number of its kind, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::readiness::LaterExplanation::Nothing.code(), 1);
    /// ```
    pub const fn code(&self) -> i32 {
        match self {
            Self::Nothing => 1,
            Self::PiecesLost { .. } => 2,
            Self::PieceExchanged { .. } => 3,
            Self::HoleMistaken { .. } => 4,
            Self::RingTurned { .. } => 5,
            Self::OtherUnbalance { .. } => 6,
        }
    }
}

impl fmt::Display for LaterExplanation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Nothing => f.write_str("nothing has changed"),
            Self::PiecesLost { ring, hole, item, pieces } => {
                write!(f, "{pieces} of hardware {item} are gone from hole {hole} of ring {ring}")
            }
            Self::PieceExchanged { ring, hole, was, is } => {
                write!(
                    f,
                    "in hole {hole} of ring {ring} a piece of hardware {was} was replaced by one of {is}"
                )
            }
            Self::HoleMistaken { ring, hole, now } => {
                write!(f, "what was in hole {hole} of ring {ring} is in hole {now}")
            }
            Self::RingTurned { ring, holes } => write!(f, "ring {ring} was put back turned by {holes} holes"),
            Self::OtherUnbalance { plane, unbalance } => {
                write!(f, "another unbalance in plane {plane}, {:.0} in size", unbalance.amount())
            }
        }
    }
}

/// An explanation with how well it fits.
///
/// ```
/// use counterpoise::readiness::{LaterExplanation, RankedChange};
/// let ranked = RankedChange { explanation: LaterExplanation::Nothing, chi_squared: 1.2, score: 1.2, log10_odds: 0.0 };
/// assert_eq!(ranked.log10_odds, 0.0);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RankedChange {
    /// The explanation.
    pub explanation: LaterExplanation,
    /// What it leaves: squares over variances, summed over both components of all channels.
    pub chi_squared: f64,
    /// `χ² + 2 ln M`, with M variants of the kind; for an unbalance of any size and place, the price of its freedom besides:
    /// minus twice the logarithm of the share that stays of where it might have been.
    pub score: f64,
    /// How much less likely it is than the best, as a power of ten: 0 for the best.
    pub log10_odds: f64,
}

/// A later reading against the record of a job: what is expected, what was read, how the machine answers, and what was
/// mounted.
///
/// The scatter of the readings must hold what readings days apart differ by: the drift between visits, and not only that of
/// repeats one after the other. The coefficients are taken as they are.
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
    deviations: Vec<f64>,
    rings: Vec<HoleRing>,
    hardware: Vec<Hardware>,
}

/// At most so many holes and kinds are gone through: pieces lost and exchanged grow with their product, and holes mistaken
/// with the square of the holes.
const MOST_VARIANTS: usize = 100_000;

impl Later {
    /// What was read at the end of the job and what was read later, one reading per channel of the coefficients, in their order.
    ///
    /// # Errors
    /// [`ReadinessError::Count`]; [`ReadinessError::DifferentChannels`]; [`ReadinessError::ScatterUnknown`] where a reading
    /// does not say how it scatters.
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
        let (mut changes, mut deviations) = (Vec::new(), Vec::new());
        for (reading, ((then, now), channel)) in then.iter().zip(now).zip(channels).enumerate() {
            if then.channel() != channel || now.channel() != channel {
                return Err(ReadinessError::DifferentChannels { reading });
            }
            let scatter = |of: &Reading| match of.precision() {
                Precision::Scatter(_) => of.scatter_at_nominal_speed(),
                Precision::Relative { .. } => None,
            };
            let (Some(one), Some(other)) = (scatter(then), scatter(now)) else {
                return Err(ReadinessError::ScatterUnknown { reading });
            };
            let deviation = math::sqrt(one.plus(&other).variance());
            let change: Vibration = now.at_nominal_speed() - then.at_nominal_speed();
            changes.push(change.complex() / deviation);
            deviations.push(deviation);
        }
        let influence = influence.clone();
        Ok(Self { influence, changes, deviations, rings: Vec::new(), hardware: Vec::new() })
    }

    /// The same with what was mounted at the end of the job.
    ///
    /// # Errors
    /// [`ReadinessError::Plane`] for a ring in a plane without coefficients; [`ReadinessError::Count`] where a hole counts
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
            for hole in stated.holes() {
                let (got, expected) = (hole.pieces_mounted().len(), hardware.len());
                if got != 0 && got != expected {
                    return Err(ReadinessError::Count {
                        what: "counts of pieces, one per kind",
                        expected,
                        got,
                    });
                }
            }
        }
        Ok(Self { rings: rings.to_vec(), hardware: hardware.to_vec(), ..self })
    }

    /// What an unbalance in a plane does to every channel, over its deviation.
    fn effect(&self, plane: usize, unbalance: UnbalanceVector) -> impl Iterator<Item = Complex64> + '_ {
        let coefficients = (0..self.changes.len()).map(move |channel| self.influence.get(channel, plane));
        coefficients.zip(&self.deviations).map(move |(influence, deviation)| {
            influence.map_or(Complex64::default(), |influence| (influence * unbalance).complex() / *deviation)
        })
    }

    /// What an unbalance in a plane leaves.
    fn left(&self, plane: usize, unbalance: UnbalanceVector) -> f64 {
        let rest = self.effect(plane, unbalance).zip(&self.changes).map(|(effect, change)| change - effect);
        rest.map(|rest| rest.re * rest.re + rest.im * rest.im).sum()
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
        let numbers = 2 * self.changes.len();
        let plain = self.changes.iter().map(|change| change.re * change.re + change.im * change.im).sum();
        let mut kinds: [Vec<(LaterExplanation, f64)>; 5] = [vec![], vec![], vec![], vec![], vec![]];
        let [lost, exchanged, mistaken, turned, other] = &mut kinds;
        for (ring, stated) in self.rings.iter().enumerate() {
            self.of_holes(ring, stated, [lost, exchanged, mistaken]);
            self.of_turns(ring, stated, turned);
        }
        let mut of_unbalance = Vec::new();
        for plane in 0..self.influence.planes() {
            if let Some((unbalance, left, information)) = self.best_unbalance(plane) {
                other.push((LaterExplanation::OtherUnbalance { plane, unbalance }, left));
                of_unbalance.push(self.price_of_unbalance(plane, unbalance, information));
            }
        }
        let mut ranked = vec![(LaterExplanation::Nothing, plain, plain)];
        for kind in kinds {
            #[allow(clippy::cast_precision_loss)] // a count of variants
            let variants = 2.0 * math::log(kind.len().max(1) as f64);
            for (at, (explanation, left)) in kind.into_iter().enumerate() {
                let fitted = match explanation {
                    LaterExplanation::OtherUnbalance { .. } => of_unbalance.get(at).copied().unwrap_or(0.0),
                    _ => 0.0,
                };
                ranked.push((explanation, left, left + fitted + variants));
            }
        }
        ranked.sort_by(|one, other| one.2.total_cmp(&other.2));
        let least = ranked.first().map_or(0.0, |best| best.2);
        let ranked = ranked
            .into_iter()
            .map(|(explanation, chi_squared, score)| {
                let log10_odds = 0.5 * (score - least) / core::f64::consts::LN_10;
                RankedChange { explanation, chi_squared, score, log10_odds }
            })
            .collect();
        #[allow(clippy::cast_precision_loss)] // a count of numbers read
        let chance = chi_squared_upper(plain, numbers as f64);
        LaterFindings { ranked, chance }
    }

    /// Pieces lost, exchanged, and in another hole.
    fn of_holes(
        &self,
        ring: usize,
        stated: &HoleRing,
        [lost, exchanged, mistaken]: [&mut Vec<(LaterExplanation, f64)>; 3],
    ) {
        let plane = stated.plane();
        let room = |list: &Vec<_>| list.len() < MOST_VARIANTS;
        let mass = |item: usize| self.hardware.get(item).map_or(0.0, |piece| piece.mass().grams());
        for (hole, of) in stated.holes().iter().enumerate() {
            let at = |grams: f64, hole: &crate::placement::Hole| {
                Weight::new(Mass::canonical(grams), hole.radius(), hole.angle()).unbalance()
            };
            let mut whole = 0.0;
            for (was, &count) in of.pieces_mounted().iter().enumerate().filter(|(_, count)| **count > 0) {
                whole += f64::from(count) * mass(was);
                for pieces in (1..=count).take(16) {
                    if room(lost) {
                        let left = self.left(plane, at(0.0 - f64::from(pieces) * mass(was), of));
                        lost.push((LaterExplanation::PiecesLost { ring, hole, item: was, pieces }, left));
                    }
                }
                for is in (0..self.hardware.len()).filter(|&is| is != was) {
                    if room(exchanged) {
                        let left = self.left(plane, at(mass(is) - mass(was), of));
                        exchanged.push((LaterExplanation::PieceExchanged { ring, hole, was, is }, left));
                    }
                }
            }
            if whole != 0.0 {
                for (now, other) in stated.holes().iter().enumerate().filter(|(now, _)| *now != hole) {
                    if room(mistaken) {
                        let left = self.left(plane, at(whole, other) - at(whole, of));
                        mistaken.push((LaterExplanation::HoleMistaken { ring, hole, now }, left));
                    }
                }
            }
        }
    }

    /// The ring with all that is in it turned by some holes.
    fn of_turns(&self, ring: usize, stated: &HoleRing, turned: &mut Vec<(LaterExplanation, f64)>) {
        let holes = stated.holes();
        let mass = |of: &crate::placement::Hole| -> f64 {
            let counts = of.pieces_mounted().iter().zip(&self.hardware);
            counts.map(|(&count, piece)| f64::from(count) * piece.mass().grams()).sum()
        };
        let sum = |by: usize| {
            let places = holes.iter().cycle().skip(by);
            let weights = holes
                .iter()
                .zip(places)
                .map(|(of, at)| Weight::new(Mass::canonical(mass(of)), at.radius(), at.angle()).unbalance());
            weights.sum::<UnbalanceVector>()
        };
        if holes.iter().all(|hole| mass(hole) == 0.0) {
            return;
        }
        let now = sum(0);
        for by in (1..holes.len()).take(360) {
            let left = self.left(stated.plane(), sum(by) - now);
            turned.push((LaterExplanation::RingTurned { ring, holes: by }, left));
        }
    }

    /// The unbalance in a plane that leaves least, `u = Σ conj(h) c / Σ |h|²`, what it leaves, and `Σ |h|²`.
    fn best_unbalance(&self, plane: usize) -> Option<(UnbalanceVector, f64, f64)> {
        let one = UnbalanceVector::computed(Complex64 { re: 1.0, im: 0.0 });
        let (mut top, mut information) = (Complex64::default(), 0.0);
        for (h, change) in self.effect(plane, one).zip(&self.changes) {
            top += h.conj() * change;
            information += h.re * h.re + h.im * h.im;
        }
        let unbalance = UnbalanceVector::computed(top / information);
        (information > 0.0 && unbalance.is_finite())
            .then(|| (unbalance, self.left(plane, unbalance), information))
    }

    /// What an unbalance of any size and place costs for being able to fit so much. Before the reading it may lie anywhere in
    /// a circle as large as all that is mounted in the plane put together, or as itself; after it, it is known to
    /// `σ² = 1/Σ|h|²` a component: the share of the circle is `2σ²/R²`, and the price `−2 ln` of that.
    fn price_of_unbalance(&self, plane: usize, unbalance: UnbalanceVector, information: f64) -> f64 {
        let in_plane = self.rings.iter().filter(|ring| ring.plane() == plane);
        let mounted: f64 = in_plane
            .flat_map(HoleRing::holes)
            .map(|hole| {
                let counts = hole.pieces_mounted().iter().zip(&self.hardware);
                let grams: f64 =
                    counts.map(|(&count, piece)| f64::from(count) * piece.mass().grams().abs()).sum();
                grams * hole.radius().millimetres()
            })
            .sum();
        let reach = mounted.max(unbalance.amount().gram_millimetres());
        2.0 * math::log((0.5 * reach * reach * information).max(1.0))
    }
}

/// What a later reading says.
///
/// ```
/// # use counterpoise::readiness::LaterFindings;
/// fn show(findings: &LaterFindings) {
///     if findings.is_significant(0.99) {
///         for ranked in findings.not_told_apart() {
///             println!("perhaps {}", ranked.explanation);
///         }
///     }
/// }
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct LaterFindings {
    ranked: Vec<RankedChange>,
    chance: f64,
}

impl LaterFindings {
    /// An explanation is spoken of alone only where its odds over every other reach so many.
    ///
    /// ```
    /// assert_eq!(counterpoise::readiness::LaterFindings::ODDS_TO_SPEAK, 100.0);
    /// ```
    pub const ODDS_TO_SPEAK: f64 = 100.0;

    /// How rare a difference as large as this would be by chance.
    ///
    /// ```
    /// # use counterpoise::readiness::LaterFindings;
    /// fn by_chance(findings: &LaterFindings) -> bool {
    ///     findings.chance() > 0.05
    /// }
    /// ```
    pub const fn chance(&self) -> f64 {
        self.chance
    }

    /// Whether something has changed, at a confidence: a difference as large would be rarer by chance than what is left of it.
    ///
    /// ```
    /// # use counterpoise::readiness::LaterFindings;
    /// fn look_again(findings: &LaterFindings) -> bool {
    ///     findings.is_significant(0.99)
    /// }
    /// ```
    pub fn is_significant(&self, confidence: f64) -> bool {
        self.chance < 1.0 - confidence
    }

    /// All explanations, the best first.
    ///
    /// ```
    /// # use counterpoise::readiness::LaterFindings;
    /// fn best(findings: &LaterFindings) -> Option<String> {
    ///     findings.ranked().first().map(|best| best.explanation.to_string())
    /// }
    /// ```
    pub fn ranked(&self) -> &[RankedChange] {
        &self.ranked
    }

    /// The best explanation, and all others that are not at least a hundred times less likely. Where it is one, it may be spoken
    /// of; where they are several, the readings cannot tell them apart.
    ///
    /// ```
    /// # use counterpoise::readiness::LaterFindings;
    /// fn is_one(findings: &LaterFindings) -> bool {
    ///     findings.not_told_apart().count() == 1
    /// }
    /// ```
    pub fn not_told_apart(&self) -> impl Iterator<Item = &RankedChange> {
        self.ranked.iter().filter(|ranked| ranked.log10_odds < 2.0)
    }

    /// The unbalance in a plane that the change is worth; `None` where there is no such plane, or it has no effect.
    ///
    /// ```
    /// # use counterpoise::{UnbalanceVector, readiness::LaterFindings};
    /// fn worth(findings: &LaterFindings) -> Option<UnbalanceVector> {
    ///     findings.unbalance_in(0)
    /// }
    /// ```
    pub fn unbalance_in(&self, plane: usize) -> Option<UnbalanceVector> {
        self.ranked.iter().find_map(|ranked| match ranked.explanation {
            LaterExplanation::OtherUnbalance { plane: at, unbalance } if at == plane => Some(unbalance),
            _ => None,
        })
    }
}
