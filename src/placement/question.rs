//! What is asked of a placement, and the search that answers.

use alloc::boxed::Box;
use alloc::string::String;
use alloc::vec;
use alloc::vec::Vec;
use core::cmp::Ordering;

use super::answer::{Describing, PlacementAnswer};
use super::hardware::Hardware;
use super::incumbent::Aim;
use super::least_change::LeastChange;
use super::levels::{Search, State};
use super::options::{Allowance, Item, MOST_STACKS, Options, Refusal};
use super::problem::{Norm, Problem, Site, Totals};
use super::ring::{Hole, HoleRing, check_rings};
use super::tolerance::PlacementTolerance;
use super::wanted::Wanted;
use crate::error::PlacementError;
use crate::influence::InfluenceMatrix;
use crate::math;
use crate::unit::Mass;
use crate::vector::{UnbalanceVector, Vibration};

/// The least memory that a search is given.
const LEAST_MEMORY: usize = 1 << 20;

/// How large a residual is.
///
/// ```
/// use counterpoise::PlacementNorm;
/// assert_ne!(PlacementNorm::Euclidean, PlacementNorm::Worst);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "snake_case"))]
#[non_exhaustive]
pub enum PlacementNorm {
    /// `√(Σ |r|²)` over the planes, or over the weighted channels.
    Euclidean,
    /// The worst plane, or the worst weighted channel.
    Worst,
    /// The largest component of all vectors.
    WorstComponent,
}

impl PlacementNorm {
    const fn inner(self) -> Norm {
        match self {
            Self::Euclidean => Norm::Euclidean,
            Self::Worst => Norm::WorstRow,
            Self::WorstComponent => Norm::WorstComponent,
        }
    }
}

/// What the best placement is.
#[derive(Debug, Clone, Copy)]
enum Asked {
    Least,
    Within(f64),
    LeastChange(f64),
    Usual { scatter: Option<f64>, permissible: Option<f64> },
}

/// A question for a placement: rings of holes, hardware, what is wanted, and the limits.
///
/// Unless told otherwise it asks for the least residual. Among placements within the tie tolerance of the least (or, with
/// [`within`](Self::within) and its like, among all that leave no more than eps) the first by this rule is the answer: fewest holes
/// touched, fewest pieces handled, least net mass added, and then the list of changed holes and masses that comes first
/// in dictionary order, holes by plane, angle with rotation and radius. The order in which holes and hardware are given
/// does not matter.
///
/// ```
/// use counterpoise::{
///     Hardware, HoleCircle, HoleRing, Mass, PlacementQuestion, Radius, RotorAngle, RotorSense, UnbalanceVector,
/// };
/// let circle = HoleCircle::new(24, RotorAngle::MARK, RotorSense::AgainstRotation)?;
/// let ring = HoleRing::even(circle, Radius::from_millimetres(127.0)?).each(|hole| hole.limit_pieces(3));
/// let washers = [0.85, 1.63, 2.94].map(|grams| Hardware::new("washer", Mass::from_grams(grams).unwrap()));
/// let wanted = UnbalanceVector::from_components_gram_millimetres(-310.0, 540.0)?;
/// let answer = PlacementQuestion::new(&[ring], &washers, &[wanted])?.within(10.0)?.solve(1_000_000)?;
/// let best = answer.best();
/// assert!(best.residual() <= 10.0 && answer.certificate().is_proven());
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct PlacementQuestion {
    rings: Vec<HoleRing>,
    hardware: Vec<Hardware>,
    wanted: Wanted,
    norm: PlacementNorm,
    asked: Asked,
    keep: usize,
    memory: usize,
    most_holes: Option<usize>,
    most_in_plane: Vec<(usize, usize)>,
    most_pieces: Option<u32>,
    most_mass: Option<Mass>,
}

impl PlacementQuestion {
    /// Residuals nearer to the least than this are as good, in the residual's unit. As the study of the problem took it;
    /// common practice, no source.
    ///
    /// ```
    /// assert_eq!(counterpoise::PlacementQuestion::TIE_TOLERANCE, 1e-6);
    /// ```
    pub const TIE_TOLERANCE: f64 = 1e-6;

    /// The memory that lists of sums may take unless told otherwise: 200 MiB.
    ///
    /// ```
    /// assert_eq!(counterpoise::PlacementQuestion::DEFAULT_MEMORY, 200 << 20);
    /// ```
    pub const DEFAULT_MEMORY: usize = 200 << 20;

    fn ask(rings: &[HoleRing], hardware: &[Hardware], wanted: Wanted) -> Result<Self, PlacementError> {
        check_rings(rings, wanted.planes(), hardware.len())?;
        if hardware.is_empty() {
            return Err(PlacementError::NoHardware);
        }
        for (item, piece) in hardware.iter().enumerate() {
            if piece.mass().grams() == 0.0 {
                return Err(PlacementError::NoMass { item });
            }
            let millimetres = piece.thickness().millimetres();
            if millimetres < 0.0 {
                return Err(PlacementError::NegativeThickness { item, millimetres });
            }
        }
        Ok(Self {
            rings: rings.to_vec(),
            hardware: hardware.to_vec(),
            wanted,
            norm: PlacementNorm::Euclidean,
            asked: Asked::Least,
            keep: 1,
            memory: Self::DEFAULT_MEMORY,
            most_holes: None,
            most_in_plane: Vec::new(),
            most_pieces: None,
            most_mass: None,
        })
    }

    /// The unbalance that is to be added to what is mounted now, one vector per plane. Residuals are in g mm.
    ///
    /// # Errors
    /// [`PlacementError`] for no holes, no hardware, a ring in a plane without a wanted vector, pieces without mass, limits
    /// that cannot be, and vectors that are not finite.
    ///
    /// ```
    /// # use counterpoise::PlacementQuestion;
    /// assert_eq!(PlacementQuestion::new(&[], &[], &[]).unwrap_err().code(), 801);
    /// ```
    pub fn new(
        rings: &[HoleRing],
        hardware: &[Hardware],
        wanted: &[UnbalanceVector],
    ) -> Result<Self, PlacementError> {
        Self::ask(rings, hardware, Wanted::unbalance(wanted)?)
    }

    /// The vibration now, one per channel, that is to become small through the influence coefficients; residuals are
    /// `√g |v + H w|`, with the [channel weights](Self::channel_weights) g.
    ///
    /// # Errors
    /// As [`new`](Self::new); and [`PlacementError::Count`] for vibrations that do not fit the channels.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// # let circle = HoleCircle::new(8, RotorAngle::MARK, RotorSense::WithRotation)?;
    /// # let ring = HoleRing::even(circle, Radius::from_millimetres(100.0)?).each(|hole| hole.limit_pieces(1));
    /// # let nut = Hardware::new("nut", Mass::from_grams(2.0)?);
    /// let influence = InfluenceMatrix::new(&channels, 1, &[h(2e-3)?, h(1e-3)?])?;
    /// let now = [Vibration::from_components(0.4, 0.0)?, Vibration::from_components(0.2, 0.0)?];
    /// let question = PlacementQuestion::through(&[ring], &[nut], &influence, &now)?;
    /// let answer = question.solve(1_000_000)?;
    /// // One nut opposite the mark takes all of it off.
    /// assert_eq!(answer.best().changes()[0].hole, 4);
    /// assert!(answer.best().residual() < 1e-12);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn through(
        rings: &[HoleRing],
        hardware: &[Hardware],
        influence: &InfluenceMatrix,
        now: &[Vibration],
    ) -> Result<Self, PlacementError> {
        Self::ask(rings, hardware, Wanted::through(influence, now)?)
    }

    /// One weight `g` per channel; it multiplies the squared residual. Channels in different units want weights that bring
    /// them to a common one. All weights are 1 unless told otherwise.
    ///
    /// # Errors
    /// [`PlacementError::Count`] where there is not one weight per channel, or no channel at all;
    /// [`PlacementError::BadNumber`] for a weight that is negative or not finite; [`PlacementError::NoWeight`] where all are
    /// zero.
    ///
    /// ```
    /// # use counterpoise::{PlacementError, PlacementQuestion};
    /// # let ask = |question: PlacementQuestion|
    /// // The second channel counts four times as much.
    /// question.channel_weights(&[1.0, 4.0])
    /// # ;
    /// ```
    pub fn channel_weights(self, weights: &[f64]) -> Result<Self, PlacementError> {
        Ok(Self { wanted: self.wanted.weighted(weights)?, ..self })
    }

    /// How large a residual is; Euclidean unless told otherwise.
    ///
    /// ```
    /// # use counterpoise::{PlacementNorm, PlacementQuestion};
    /// # let ask = |question: PlacementQuestion|
    /// question.norm(PlacementNorm::Worst)
    /// # ;
    /// ```
    #[must_use]
    pub fn norm(self, norm: PlacementNorm) -> Self {
        Self { norm, ..self }
    }

    /// Asks for the fewest holes, pieces and mass that leave no more than eps, in the residual's unit.
    ///
    /// # Errors
    /// [`PlacementError::BadNumber`] where eps is negative or not finite.
    ///
    /// ```
    /// # use counterpoise::{PlacementError, PlacementQuestion};
    /// # let ask = |question: PlacementQuestion|
    /// question.within(8.0)
    /// # ;
    /// ```
    pub fn within(self, eps: f64) -> Result<Self, PlacementError> {
        not_negative("eps", eps)?;
        Ok(Self { asked: Asked::Within(eps), ..self })
    }

    /// Asks for the least change of what is mounted that leaves no more than eps, in the residual's unit: fewest pieces
    /// handled (put on and taken off), then fewest holes touched, then least net mass. Of several answers each is the
    /// first by this rule on its holes.
    ///
    /// # Errors
    /// [`PlacementError::BadNumber`] where eps is negative or not finite.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let hole = |degrees: f64| Ok::<_, Box<dyn core::error::Error>>(
    /// #     Hole::new(Radius::from_millimetres(100.0)?, RotorSense::WithRotation.degrees(degrees)?).limit_pieces(4));
    /// let ring = HoleRing::listed(vec![hole(0.0)?.mounted(&[1, 0, 0]), hole(180.0)?]);
    /// let piece = |name, grams| Ok::<_, QuantityError>(Hardware::new(name, Mass::from_grams(grams)?));
    /// let pieces = [piece("washer", 1.0)?.in_stock(0), piece("nut", 2.0)?, piece("plate", 0.75)?];
    /// let wanted = UnbalanceVector::from_components_gram_millimetres(-300.0, 0.0)?;
    /// let question = PlacementQuestion::new(&[ring], &pieces, &[wanted])?;
    /// let handled = |answer: PlacementAnswer| (answer.best().pieces(), answer.best().changes().len());
    /// // Four plates on, or the washer off and a nut on.
    /// assert_eq!(handled(question.clone().within(1.0)?.solve(100_000)?), (4, 1));
    /// assert_eq!(handled(question.least_change_within(1.0)?.solve(100_000)?), (2, 2));
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn least_change_within(self, eps: f64) -> Result<Self, PlacementError> {
        not_negative("eps", eps)?;
        Ok(Self { asked: Asked::LeastChange(eps), ..self })
    }

    /// Asks as [`within`](Self::within) does, with the usual eps for what is wanted; the answer
    /// [tells](PlacementAnswer::tolerance) which it is, and why. See [`PlacementTolerance`].
    ///
    /// The permissible residual is in the residual's unit and norm. What is wanted is, through coefficients, the effect of
    /// the best correction; what not even that takes off does not count against the placement: with it, ρ, and the missed
    /// effect, e, eps is `√(ρ² + e²)`, or `ρ + e` in the other norms, but never above half the permissible residual.
    ///
    /// # Errors
    /// [`PlacementError::BadNumber`] where the permissible residual is negative or not finite.
    ///
    /// ```
    /// # use counterpoise::{PlacementError, PlacementQuestion};
    /// # let ask = |question: PlacementQuestion| -> Result<(), PlacementError> {
    /// let answer = question.within_usual(Some(120.0))?.solve(1_000_000)?;
    /// if let Some(tolerance) = answer.tolerance() {
    ///     println!("near enough: {:.1}, {}", tolerance.eps(), tolerance.reason());
    /// }
    /// # Ok(()) };
    /// ```
    pub fn within_usual(self, permissible: Option<f64>) -> Result<Self, PlacementError> {
        not_negative("the permissible residual", permissible.unwrap_or(0.0))?;
        Ok(Self { asked: Asked::Usual { scatter: None, permissible }, ..self })
    }

    /// The same with the scatter as it was propagated, in the residual's unit: the root mean square size of the error of
    /// what is wanted and of what is placed, together.
    ///
    /// # Errors
    /// [`PlacementError::BadNumber`] where a number is negative or not finite.
    ///
    /// ```
    /// # use counterpoise::{PlacementError, PlacementQuestion};
    /// # let ask = |question: PlacementQuestion|
    /// question.within_scatter(60.0, None)
    /// # ;
    /// ```
    pub fn within_scatter(self, scatter: f64, permissible: Option<f64>) -> Result<Self, PlacementError> {
        not_negative("the scatter", scatter)?;
        not_negative("the permissible residual", permissible.unwrap_or(0.0))?;
        Ok(Self { asked: Asked::Usual { scatter: Some(scatter), permissible }, ..self })
    }

    /// So many answers, no two of them on the same holes.
    ///
    /// ```
    /// # use counterpoise::PlacementQuestion;
    /// # let ask = |question: PlacementQuestion|
    /// question.best_of_different_holes(3)
    /// # ;
    /// ```
    #[must_use]
    pub fn best_of_different_holes(self, answers: usize) -> Self {
        Self { keep: answers.clamp(1, 1000), ..self }
    }

    /// At most so many holes are touched, over all planes.
    ///
    /// ```
    /// # use counterpoise::PlacementQuestion;
    /// # let ask = |question: PlacementQuestion|
    /// question.limit_holes(3)
    /// # ;
    /// ```
    #[must_use]
    pub fn limit_holes(self, most: usize) -> Self {
        Self { most_holes: Some(most), ..self }
    }

    /// At most so many holes are touched in one plane. A later limit for the plane replaces it.
    ///
    /// # Errors
    /// [`PlacementError::LimitedPlane`] where the question has no such plane.
    ///
    /// ```
    /// # use counterpoise::{PlacementError, PlacementQuestion};
    /// # let ask = |question: PlacementQuestion|
    /// question.limit_holes_in_plane(0, 2)
    /// # ;
    /// ```
    pub fn limit_holes_in_plane(mut self, plane: usize, most: usize) -> Result<Self, PlacementError> {
        let planes = self.wanted.planes();
        if plane >= planes {
            return Err(PlacementError::LimitedPlane { plane, planes });
        }
        self.most_in_plane.retain(|&(limited, _)| limited != plane);
        self.most_in_plane.push((plane, most));
        Ok(self)
    }

    /// At most so many pieces are handled, put on or taken off.
    ///
    /// ```
    /// # use counterpoise::PlacementQuestion;
    /// # let ask = |question: PlacementQuestion|
    /// question.limit_pieces(4)
    /// # ;
    /// ```
    #[must_use]
    pub fn limit_pieces(self, most: u32) -> Self {
        Self { most_pieces: Some(most), ..self }
    }

    /// At most so much net mass is added, over all planes.
    ///
    /// # Errors
    /// [`PlacementError::BadNumber`] where it is negative.
    ///
    /// ```
    /// # use counterpoise::{Mass, PlacementQuestion};
    /// # let ask = |question: PlacementQuestion|
    /// question.limit_net_mass(Mass::from_grams(40.0).unwrap())
    /// # ;
    /// ```
    pub fn limit_net_mass(self, most: Mass) -> Result<Self, PlacementError> {
        not_negative("the limit of net mass in g", most.grams())?;
        Ok(Self { most_mass: Some(most), ..self })
    }

    /// How much memory the lists of sums may take, in bytes; [`DEFAULT_MEMORY`](Self::DEFAULT_MEMORY) unless told
    /// otherwise. Beside them stand the options of the holes, at most 2¹⁸ stacks per kind of hole.
    ///
    /// # Errors
    /// [`PlacementError::MemoryLimit`] below 1 MiB.
    ///
    /// ```
    /// # use counterpoise::PlacementQuestion;
    /// # let ask = |question: PlacementQuestion|
    /// question.limit_memory(32 << 20)
    /// # ;
    /// ```
    pub fn limit_memory(self, bytes: usize) -> Result<Self, PlacementError> {
        if bytes < LEAST_MEMORY {
            return Err(PlacementError::MemoryLimit { bytes, least: LEAST_MEMORY });
        }
        Ok(Self { memory: bytes, ..self })
    }

    /// The search, not yet begun.
    ///
    /// # Errors
    /// [`PlacementError`] where nothing limits a stack, a hole allows too many different stacks, or numbers overflow.
    ///
    /// ```
    /// # use counterpoise::{PlacementError, PlacementQuestion};
    /// # fn ask(question: PlacementQuestion) -> Result<(), PlacementError> {
    /// let mut search = question.search()?;
    /// while !search.advance(10_000) {
    ///     // Show progress, or stop here: what is best so far is kept.
    /// }
    /// let answer = search.answer();
    /// # Ok(()) }
    /// ```
    pub fn search(&self) -> Result<PlacementSearch, PlacementError> {
        let tolerance = self.tolerance();
        let by = match self.asked {
            Asked::Least => By::Holes(self.begun(Aim::Least { tie: Self::TIE_TOLERANCE }, self.most_pieces)?),
            Asked::Within(eps) => By::Holes(self.searched(eps, self.most_pieces)?),
            Asked::LeastChange(eps) => {
                let whole = self.searched(eps, self.most_pieces)?;
                By::Pieces(Box::new(LeastChange::new(self.clone(), eps, self.keep, whole)))
            }
            Asked::Usual { .. } => {
                let eps = tolerance.map_or(0.0, PlacementTolerance::eps);
                By::Holes(self.searched(eps, self.most_pieces)?)
            }
        };
        Ok(PlacementSearch { by, tolerance })
    }

    /// The answer after at most about so many steps.
    ///
    /// # Errors
    /// As [`search`](Self::search).
    ///
    /// ```
    /// # use counterpoise::{PlacementAnswer, PlacementError, PlacementQuestion};
    /// # let ask = |question: PlacementQuestion| -> Result<PlacementAnswer, PlacementError> {
    /// question.solve(1_000_000)
    /// # };
    /// ```
    pub fn solve(&self, steps: u64) -> Result<PlacementAnswer, PlacementError> {
        let mut search = self.search()?;
        search.advance(steps);
        Ok(search.answer())
    }

    /// The front of residual against pieces: the least residual with at most 0, 1, 2, … pieces handled, each with about so
    /// many steps.
    ///
    /// # Errors
    /// As [`search`](Self::search).
    ///
    /// ```
    /// # use counterpoise::{PlacementAnswer, PlacementError, PlacementQuestion};
    /// # let ask = |question: PlacementQuestion| -> Result<Vec<PlacementAnswer>, PlacementError> {
    /// question.front(6, 10_000_000)
    /// # };
    /// ```
    pub fn front(&self, most_pieces: u32, steps: u64) -> Result<Vec<PlacementAnswer>, PlacementError> {
        let mut answers = Vec::new();
        for pieces in 0..=most_pieces.min(self.most_pieces.unwrap_or(u32::MAX)) {
            let aim = Aim::Least { tie: Self::TIE_TOLERANCE };
            let by = By::Holes(self.begun(aim, Some(pieces))?);
            let mut search = PlacementSearch { by, tolerance: None };
            search.advance(steps);
            answers.push(search.answer());
        }
        Ok(answers)
    }

    pub(super) const fn most_pieces(&self) -> Option<u32> {
        self.most_pieces
    }

    fn begun(&self, aim: Aim, most_pieces: Option<u32>) -> Result<(Search, Describing), PlacementError> {
        let (problem, describing) = self.canonical(most_pieces)?;
        Ok((Search::new(problem, aim, self.keep, self.memory), describing))
    }

    /// A search by holes within eps.
    pub(super) fn searched(
        &self,
        eps: f64,
        most_pieces: Option<u32>,
    ) -> Result<(Search, Describing), PlacementError> {
        self.begun(Aim::Within { eps }, most_pieces)
    }

    /// The usual eps, where it was asked for.
    fn tolerance(&self) -> Option<PlacementTolerance> {
        let Asked::Usual { scatter, permissible } = self.asked else { return None };
        let open = |plane: &usize| {
            let in_plane = self.rings.iter().filter(|ring| ring.plane == *plane);
            in_plane.flat_map(|ring| &ring.holes).any(|hole| !hole.blocked)
        };
        let planes: Vec<usize> = (0..self.wanted.planes()).filter(open).collect();
        let (effect, rest) = self.wanted.divided(&planes);
        let norm = self.norm.inner();
        let (effect, rest) = (norm.size(effect.into_iter()), norm.size(rest.into_iter()));
        // What is left and what is missed stand square to each other.
        let beside = |missed: f64| match norm {
            Norm::Euclidean => math::hypot(rest, missed),
            _ => rest + missed,
        };
        Some(PlacementTolerance::of(effect, scatter, permissible, beside, rest))
    }

    /// The question as numbers, in an order of its own.
    fn canonical(&self, most_pieces: Option<u32>) -> Result<(Problem, Describing), PlacementError> {
        let item_order = sorted_hardware(&self.hardware);
        let items: Vec<Item> = item_order
            .iter()
            .filter_map(|&at| self.hardware.get(at))
            .map(|piece| Item {
                mass: piece.mass().grams(),
                thickness: piece.thickness().millimetres(),
                stock: piece.stock(),
            })
            .collect();
        let mut holes: Vec<(usize, usize, usize, &Hole, Allowance)> = Vec::new();
        for (ring, stated) in self.rings.iter().enumerate() {
            for (at, hole) in stated.holes.iter().enumerate() {
                if !hole.blocked {
                    holes.push((stated.plane, ring, at, hole, allowance(hole, &item_order)));
                }
            }
        }
        holes.sort_by(|one, other| hole_order((one.0, one.3, &one.4), (other.0, other.3, &other.4)));

        // An item is scarce where the holes together could take more of it than there is.
        let scarce: Vec<usize> =
            (0..items.len()).filter(|&item| items.get(item).is_some_and(|i| i.stock.is_some())).collect();
        let mut kinds: Vec<Options> = Vec::new();
        let mut seen: Vec<Allowance> = Vec::new();
        let (mut sites, mut places) = (Vec::new(), Vec::new());
        for (plane, ring, at, hole, allowed) in holes {
            let kind = if let Some(kind) = seen.iter().position(|one| *one == allowed) {
                kind
            } else {
                let options = Options::listed(&items, &scarce, &allowed, most_pieces);
                let options = options.map_err(|refusal| match refusal {
                    Refusal::Unlimited => PlacementError::NoLimit { ring, hole: at },
                    Refusal::TooMany => PlacementError::TooManyStacks { ring, hole: at, limit: MOST_STACKS },
                })?;
                kinds.push(options);
                seen.push(allowed);
                kinds.len() - 1
            };
            if kinds.get(kind).is_some_and(|options| options.len() > 0) {
                let (sine, cosine) = hole.angle.with_rotation().sin_cos();
                let radius = hole.radius.millimetres();
                sites.push(Site { plane, arm: [radius * cosine, radius * sine], kind });
                places.push((ring, at));
            }
        }
        let (rows, planes) = (self.wanted.rows(), self.wanted.planes());
        let stock = scarce.iter().filter_map(|&item| items.get(item)?.stock).collect();
        let mut holes_in_plane = vec![usize::MAX; planes];
        for &(plane, most) in &self.most_in_plane {
            if let Some(limit) = holes_in_plane.get_mut(plane) {
                *limit = most;
            }
        }
        let totals = Totals {
            holes: self.most_holes.unwrap_or(usize::MAX),
            holes_in_plane,
            pieces: most_pieces,
            net_mass: self.most_mass.map(Mass::grams),
            stock,
        };
        let norm = self.norm.inner();
        let heaviest = kinds.iter().flat_map(|kind| &kind.mass).map(|mass| mass.abs()).fold(0.0, f64::max);
        let mut problem = Problem { sites, kinds, planes, rows, norm, totals, mass_unit: 1.0, rounding: 0.0 };
        if heaviest > 0.0 {
            problem.mass_unit = heaviest * 1e-11;
        }
        problem.rounding = rounding_of(&problem);
        if !problem.rounding.is_finite() || problem.rounding > 1e90 {
            return Err(PlacementError::NotRepresentable);
        }
        Ok((problem, Describing { places, items: item_order, wanted: self.wanted.clone() }))
    }
}

/// What sums and products of these sizes may be rounded by.
fn rounding_of(problem: &Problem) -> f64 {
    let size = |pair: [f64; 2]| math::hypot(pair[0], pair[1]);
    let mut largest = 0.0;
    for row in &problem.rows {
        let mut sum = size(row.wanted);
        for (number, site) in problem.sites.iter().enumerate() {
            let masses = &problem.options(number).mass;
            let most =
                masses.first().into_iter().chain(masses.last()).map(|mass| mass.abs()).fold(0.0, f64::max);
            sum += row.gain.get(site.plane).copied().map_or(0.0, size) * size(site.arm) * most;
        }
        largest += sum;
    }
    largest * 1e-14
}

fn not_negative(what: &'static str, value: f64) -> Result<(), PlacementError> {
    if value >= 0.0 && value.is_finite() { Ok(()) } else { Err(PlacementError::BadNumber { what, value }) }
}

fn allowance(hole: &Hole, item_order: &[usize]) -> Allowance {
    Allowance {
        most_mass: hole.most_mass.map(Mass::grams),
        most_pieces: hole.most_pieces,
        most_height: hole.most_height.map(crate::unit::Length::millimetres),
        least_pieces: hole.least_pieces,
        mounted: item_order.iter().map(|&item| hole.mounted.get(item).copied().unwrap_or(0)).collect(),
        removable: hole.removable,
        blocked: hole.blocked,
        symmetric: hole.symmetric,
    }
}

/// Hardware by mass, thickness, stock and name.
fn sorted_hardware(hardware: &[Hardware]) -> Vec<usize> {
    let key = |at: &usize| {
        let piece = hardware.get(*at);
        let numbers = piece.map_or((0.0, 0.0), |p| (p.mass().grams(), p.thickness().millimetres()));
        (numbers, piece.and_then(Hardware::stock), piece.map_or_else(String::new, |p| String::from(p.name())))
    };
    let mut order: Vec<usize> = (0..hardware.len()).collect();
    order.sort_by(|one, other| key(one).partial_cmp(&key(other)).unwrap_or(Ordering::Equal));
    order
}

/// Holes by plane, angle and radius, and then by what they allow.
fn hole_order(one: (usize, &Hole, &Allowance), other: (usize, &Hole, &Allowance)) -> Ordering {
    let key = |(plane, hole, allowed): (usize, &Hole, &Allowance)| {
        (
            plane,
            hole.angle.with_rotation().degrees(),
            hole.radius.millimetres(),
            (allowed.most_mass, allowed.most_pieces, allowed.most_height, allowed.least_pieces),
            (allowed.mounted.clone(), allowed.removable, allowed.symmetric),
        )
    };
    key(one).partial_cmp(&key(other)).unwrap_or(Ordering::Equal)
}

/// A search that can be carried on in portions; the same answer comes out however it is portioned.
///
/// ```
/// # use counterpoise::{PlacementError, PlacementQuestion};
/// # fn ask(question: PlacementQuestion) -> Result<(), PlacementError> {
/// let mut search = question.search()?;
/// while !search.advance(10_000) && search.steps() < 1_000_000 {}
/// let answer = search.answer();
/// # Ok(()) }
/// ```
#[derive(Debug)]
pub struct PlacementSearch {
    by: By,
    tolerance: Option<PlacementTolerance>,
}

/// Which rule comes first.
#[derive(Debug)]
#[allow(clippy::large_enum_variant)] // there is one at a time
enum By {
    Holes((Search, Describing)),
    Pieces(Box<LeastChange>),
}

impl PlacementSearch {
    /// Works for about so many steps more; true when the search has ended.
    ///
    /// ```
    /// # use counterpoise::PlacementSearch;
    /// # fn carry_on(search: &mut PlacementSearch) {
    /// let ended = search.advance(10_000);
    /// # }
    /// ```
    pub fn advance(&mut self, steps: u64) -> bool {
        let state = match &mut self.by {
            By::Holes((search, _)) => search.advance(steps),
            By::Pieces(search) => search.advance(steps),
        };
        state != State::Running
    }

    /// Steps spent so far.
    ///
    /// ```
    /// # use counterpoise::PlacementSearch;
    /// # fn carry_on(search: &PlacementSearch) -> u64 {
    /// search.steps()
    /// # }
    /// ```
    pub fn steps(&self) -> u64 {
        match &self.by {
            By::Holes((search, _)) => search.steps(),
            By::Pieces(search) => search.steps(),
        }
    }

    /// The best so far, with what is proven of it.
    ///
    /// ```
    /// # use counterpoise::{PlacementAnswer, PlacementSearch};
    /// # fn stop(search: &PlacementSearch) -> PlacementAnswer {
    /// search.answer()
    /// # }
    /// ```
    pub fn answer(&self) -> PlacementAnswer {
        match &self.by {
            By::Holes((search, describing)) => PlacementAnswer::of(search, describing, self.tolerance),
            By::Pieces(search) => PlacementAnswer::of_least_change(search, self.tolerance),
        }
    }
}
