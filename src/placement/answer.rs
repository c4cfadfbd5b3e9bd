//! The placement: what to put on and take off, what it leaves, and what is proven of it.

use alloc::vec::Vec;

use super::certificate::{PlacementCertificate, PlacementProof};
use super::incumbent::{Aim, Candidate};
use super::least_change::LeastChange;
use super::levels::{Search, State};
use super::tolerance::PlacementTolerance;
use super::wanted::Wanted;
use crate::caution::Caution;
use crate::math;
use crate::unit::{Mass, Unbalance};
use crate::vector::{UnbalanceVector, Vibration};

/// What leads from the search's numbers back to the caller's.
#[derive(Debug, Clone)]
pub(super) struct Describing {
    /// Ring and hole of every site.
    pub places: Vec<(usize, usize)>,
    /// The caller's number of every item.
    pub items: Vec<usize>,
    pub wanted: Wanted,
}

/// What changes at one hole.
///
/// ```
/// use counterpoise::HoleChange;
/// let change = HoleChange { ring: 0, hole: 3, added: vec![(1, 2)], removed: vec![] };
/// assert_eq!(change.added[0], (1, 2));
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(deny_unknown_fields))]
pub struct HoleChange {
    /// The ring, counted from 0 as given.
    pub ring: usize,
    /// The hole in the ring, counted from 0.
    pub hole: usize,
    /// Pieces to put on: hardware, counted from 0 as given, and how many.
    #[cfg_attr(feature = "serde", serde(with = "super::wire::counts"))]
    pub added: Vec<(usize, u32)>,
    /// Pieces to take off: hardware and how many.
    #[cfg_attr(feature = "serde", serde(with = "super::wire::counts"))]
    pub removed: Vec<(usize, u32)>,
}

/// Which pieces go where, and what that leaves.
///
/// With the feature `serde` it is written and not read: an answer read from a text would prove nothing.
///
/// ```
/// # use counterpoise::Placement;
/// # fn show(placement: &Placement) {
/// for change in placement.changes() {
///     println!("hole {}: put on {:?}, take off {:?}", change.hole, change.added, change.removed);
/// }
/// # }
/// ```
#[derive(Debug, Clone, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Placement {
    changes: Vec<HoleChange>,
    #[cfg_attr(feature = "serde", serde(serialize_with = "super::wire::finite"))]
    residual: f64,
    pieces: u64,
    #[cfg_attr(
        feature = "serde",
        serde(rename = "net_mass_g", serialize_with = "super::wire::grams::serialize")
    )]
    net_mass: Mass,
    placed: Vec<UnbalanceVector>,
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    left: Option<Vec<UnbalanceVector>>,
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    predicted: Option<Vec<Vibration>>,
    /// The moment of every changed hole, with its plane.
    #[cfg_attr(feature = "serde", serde(skip))]
    moments: Vec<(usize, UnbalanceVector)>,
}

impl Placement {
    pub(super) fn of(search: &Search, describing: &Describing, candidate: &Candidate) -> Self {
        let vector = |[re, im]: [f64; 2]| {
            UnbalanceVector::computed(num_complex::Complex64 { re: re + 0.0, im: im + 0.0 })
        };
        let problem = search.problem();
        let mut changes = Vec::new();
        let (mut net, mut moments) = (0.0, Vec::new());
        for &pick in &candidate.picks {
            net += problem.mass(pick);
            let plane = problem.plane_of(pick);
            moments.extend(problem.moments(&[pick]).get(plane).map(|&moment| (plane, vector(moment))));
            let Some(&(ring, hole)) = describing.places.get(pick.site as usize) else { continue };
            let counts = problem.options(pick.site as usize).counts(pick.option as usize);
            let mut change = HoleChange { ring, hole, added: Vec::new(), removed: Vec::new() };
            for (&count, &item) in counts.iter().zip(&describing.items) {
                if count > 0 {
                    change.added.push((item, count.unsigned_abs()));
                } else if count < 0 {
                    change.removed.push((item, count.unsigned_abs()));
                }
            }
            change.added.sort_unstable();
            change.removed.sort_unstable();
            changes.push(change);
        }
        let placed: Vec<UnbalanceVector> =
            problem.moments(&candidate.picks).into_iter().map(vector).collect();
        let (left, predicted) = (describing.wanted.left(&placed), describing.wanted.predicted(&placed));
        Self {
            changes,
            residual: candidate.residual,
            pieces: candidate.pieces,
            net_mass: Mass::canonical(net + 0.0),
            placed,
            left,
            predicted,
            moments,
        }
    }

    pub(super) fn on_same_holes(&self, other: &Self) -> bool {
        let places = |placement: &Self| -> Vec<(usize, usize)> {
            let mut places: Vec<_> =
                placement.changes.iter().map(|change| (change.ring, change.hole)).collect();
            places.sort_unstable();
            places
        };
        places(self) == places(other)
    }

    /// What changes, hole by hole; holes that stay as they are are left out.
    ///
    /// ```
    /// # use counterpoise::{HoleChange, Placement};
    /// # fn show(placement: &Placement) -> &[HoleChange] {
    /// placement.changes()
    /// # }
    /// ```
    pub fn changes(&self) -> &[HoleChange] {
        &self.changes
    }

    /// What is left, in g mm, or in the channels' unit where coefficients were given.
    ///
    /// ```
    /// # fn show(placement: &counterpoise::Placement) -> f64 {
    /// placement.residual()
    /// # }
    /// ```
    pub const fn residual(&self) -> f64 {
        self.residual
    }

    /// How many pieces are handled, put on or taken off.
    ///
    /// ```
    /// # fn show(placement: &counterpoise::Placement) -> u64 {
    /// placement.pieces()
    /// # }
    /// ```
    pub const fn pieces(&self) -> u64 {
        self.pieces
    }

    /// The net mass added.
    ///
    /// ```
    /// # fn show(placement: &counterpoise::Placement) -> counterpoise::Mass {
    /// placement.net_mass()
    /// # }
    /// ```
    pub const fn net_mass(&self) -> Mass {
        self.net_mass
    }

    /// The unbalance added in each plane.
    ///
    /// ```
    /// # fn show(placement: &counterpoise::Placement) -> &[counterpoise::UnbalanceVector] {
    /// placement.placed()
    /// # }
    /// ```
    pub fn placed(&self) -> &[UnbalanceVector] {
        &self.placed
    }

    /// The moment that works against what is placed: the sum over the changed holes of what lies on the heavy side, more
    /// than a quarter turn from the unbalance placed in their plane, along that unbalance. Zero is best.
    ///
    /// ```
    /// # fn show(placement: &counterpoise::Placement) -> counterpoise::Unbalance {
    /// placement.heavy_side_moment()
    /// # }
    /// ```
    pub fn heavy_side_moment(&self) -> Unbalance {
        let against = |&(plane, moment): &(usize, UnbalanceVector)| {
            let placed = self.placed.get(plane).copied().unwrap_or_default();
            let size = placed.amount().gram_millimetres();
            let along = placed.x_gram_millimetres() * moment.x_gram_millimetres()
                + placed.y_gram_millimetres() * moment.y_gram_millimetres();
            // −(u·m)/|u| where it is positive
            if size > 0.0 { (0.0 - along / size).max(0.0) } else { 0.0 }
        };
        Unbalance::canonical(self.moments.iter().map(against).sum())
    }

    /// How far each plane's placed unbalance scatters: the root mean square length of its error when the moment of every
    /// changed hole scatters on its own, by a share of its size (mass) and by an angle (place):
    /// `s² = Σ |u_h|² (s_m² + s_β²)`, to first order.
    ///
    /// ```
    /// # fn show(placement: &counterpoise::Placement) -> Vec<counterpoise::Unbalance> {
    /// placement.scatter(0.005, 0.5)
    /// # }
    /// ```
    pub fn scatter(&self, mass_share: f64, angle_degrees: f64) -> Vec<Unbalance> {
        let radians = angle_degrees * (core::f64::consts::PI / 180.0);
        let per_size = math::hypot(mass_share, radians);
        let of_plane = |plane: usize| {
            let inside = self.moments.iter().filter(|(of, _)| *of == plane);
            let size = inside.map(|(_, moment)| moment.amount().gram_millimetres()).fold(0.0, math::hypot);
            Unbalance::canonical(size * per_size)
        };
        (0..self.placed.len()).map(of_plane).collect()
    }

    /// What is still wanted in each plane; `None` where vibration was asked about.
    ///
    /// ```
    /// # fn show(placement: &counterpoise::Placement) -> Option<&[counterpoise::UnbalanceVector]> {
    /// placement.left()
    /// # }
    /// ```
    pub fn left(&self) -> Option<&[UnbalanceVector]> {
        self.left.as_deref()
    }

    /// The vibration that every channel should show next; `None` where no coefficients were given.
    ///
    /// ```
    /// # fn show(placement: &counterpoise::Placement) -> Option<&[counterpoise::Vibration]> {
    /// placement.predicted()
    /// # }
    /// ```
    pub fn predicted(&self) -> Option<&[Vibration]> {
        self.predicted.as_deref()
    }
}

/// The best placement, its runners-up on other holes, and the certificate.
///
/// With the feature `serde` it is written and not read, as its certificate; cautions are written as code and sentence.
///
/// ```
/// # use counterpoise::PlacementAnswer;
/// # fn show(answer: &PlacementAnswer) {
/// println!("{:?} leaves {}", answer.best().changes(), answer.best().residual());
/// # }
/// ```
#[derive(Debug, Clone, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct PlacementAnswer {
    best: Placement,
    runners_up: Vec<Placement>,
    certificate: PlacementCertificate,
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    tolerance: Option<PlacementTolerance>,
    #[cfg_attr(feature = "serde", serde(serialize_with = "super::wire::cautions"))]
    cautions: Vec<Caution>,
}

impl PlacementAnswer {
    pub(super) fn of(
        search: &Search,
        describing: &Describing,
        tolerance: Option<PlacementTolerance>,
    ) -> Self {
        let ranked = search.incumbent().ranked();
        let placements =
            ranked.iter().map(|candidate| Placement::of(search, describing, candidate)).collect();
        let eps = match search.incumbent().aim() {
            Aim::Within { eps } => eps,
            Aim::Least { .. } => f64::INFINITY,
        };
        let nearest = ranked.first().map_or(f64::INFINITY, |best| best.residual);
        let proof = match (search.state(), search.complete()) {
            (State::Proven, _) if nearest > eps => PlacementProof::NoneWithin,
            (State::Proven, _) => PlacementProof::Best,
            (_, Some(holes)) => PlacementProof::BestInHoles(holes.min(search.most_holes())),
            _ => PlacementProof::Stopped,
        };
        let certificate = PlacementCertificate {
            proof,
            lower_bound: search.bound(),
            steps: search.steps(),
            out_of_memory: search.state() == State::OutOfMemory,
        };
        Self::with((search, describing), placements, certificate, eps, tolerance)
    }

    pub(super) fn of_least_change(search: &LeastChange, tolerance: Option<PlacementTolerance>) -> Self {
        let (whole, describing) = search.whole();
        let eps = match whole.incumbent().aim() {
            Aim::Within { eps } => eps,
            Aim::Least { .. } => f64::INFINITY,
        };
        let certificate = PlacementCertificate {
            proof: search.proof(),
            lower_bound: whole.bound(),
            steps: search.steps(),
            out_of_memory: search.state() == State::OutOfMemory,
        };
        Self::with((whole, describing), search.placements(), certificate, eps, tolerance)
    }

    fn with(
        (search, describing): (&Search, &Describing),
        placements: Vec<Placement>,
        mut certificate: PlacementCertificate,
        eps: f64,
        tolerance: Option<PlacementTolerance>,
    ) -> Self {
        let mut placements = placements.into_iter();
        let best = placements.next().unwrap_or_else(|| {
            // Nothing within eps: the nearest that was found.
            let untouched = Candidate::of(search.problem(), &[]);
            let ranked = search.incumbent().ranked();
            Placement::of(search, describing, ranked.first().unwrap_or(&untouched))
        });
        let mut cautions = describing.wanted.cautions();
        let residual = best.residual;
        if certificate.proof == PlacementProof::NoneWithin {
            certificate.lower_bound = certificate.lower_bound.max(eps);
            cautions.push(Caution::NoneWithin { eps, residual, lower_bound: certificate.lower_bound });
        } else if !certificate.is_proven() {
            cautions.push(Caution::PlacementNotProven { residual, lower_bound: certificate.lower_bound });
        }
        Self { best, runners_up: placements.collect(), certificate, tolerance, cautions }
    }

    /// The best placement. With eps and none within it, the nearest that was found, which is not proven nearest:
    /// [`cautions`](Self::cautions) then holds [`Caution::NoneWithin`] with its residual and the lower bound.
    ///
    /// ```
    /// # fn show(answer: &counterpoise::PlacementAnswer) -> &counterpoise::Placement {
    /// answer.best()
    /// # }
    /// ```
    pub const fn best(&self) -> &Placement {
        &self.best
    }

    /// The next best, each on other holes than those before it.
    ///
    /// ```
    /// # fn show(answer: &counterpoise::PlacementAnswer) -> &[counterpoise::Placement] {
    /// answer.runners_up()
    /// # }
    /// ```
    pub fn runners_up(&self) -> &[Placement] {
        &self.runners_up
    }

    /// What is proven of the answer.
    ///
    /// ```
    /// # fn show(answer: &counterpoise::PlacementAnswer) -> bool {
    /// answer.certificate().is_proven()
    /// # }
    /// ```
    pub const fn certificate(&self) -> &PlacementCertificate {
        &self.certificate
    }

    /// The usual eps and why it is so, where [`within_usual`](crate::PlacementQuestion::within_usual) or
    /// [`within_scatter`](crate::PlacementQuestion::within_scatter) asked for it.
    ///
    /// ```
    /// # fn show(answer: &counterpoise::PlacementAnswer) -> Option<f64> {
    /// answer.tolerance().map(|tolerance| tolerance.eps())
    /// # }
    /// ```
    pub const fn tolerance(&self) -> Option<PlacementTolerance> {
        self.tolerance
    }

    /// What makes the answer a poor one: [`Caution::PlacementNotProven`], [`Caution::NoneWithin`],
    /// [`Caution::MixedUnits`]; nothing where the best is proven.
    ///
    /// ```
    /// # fn show(answer: &counterpoise::PlacementAnswer) {
    /// for caution in answer.cautions() {
    ///     println!("{caution}");
    /// }
    /// # }
    /// ```
    pub fn cautions(&self) -> &[Caution] {
        &self.cautions
    }
}
