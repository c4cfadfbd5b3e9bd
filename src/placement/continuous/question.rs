//! What is asked of continuous masses.

use alloc::vec::Vec;
use core::cmp::Ordering;

use super::answer::ContinuousPlacement;
use super::columns::{Columns, Origin, Seat};
use super::lightest::lightest;
use super::nearest::nearest;
use crate::error::PlacementError;
use crate::influence::InfluenceMatrix;
use crate::placement::hardware::Hardware;
use crate::placement::ring::{Hole, HoleRing, check_rings};
use crate::placement::wanted::Wanted;
use crate::unit::Mass;
use crate::vector::{UnbalanceVector, Vibration};

/// The most numbers that the columns may hold: 128 MiB.
const MOST_NUMBERS: usize = 1 << 24;

/// A question for masses of any size at given holes: what is wanted, with the most mass that each hole takes.
///
/// The answer leaves the least residual (the Euclidean one, `√(Σ |r|²)` over the planes or `√(Σ g |r|²)` over the
/// channels); of all masses that do, it has the least total; and of these, the first hole by plane, angle with rotation,
/// radius and room carries the most that it can, then the second, and so on. The order in which holes are given does not
/// matter.
///
/// A hole's [`limit_mass`](crate::Hole::limit_mass) is the cap, without which it takes any mass;
/// [`mounted`](crate::Hole::mounted) pieces count against it and stay;
/// [`block`](crate::Hole::block) leaves the hole out. Limits of pieces and of height, and symmetric stacks, are about
/// pieces and take no part. Masses are put on; to take material off, ask for the opposite of what is wanted.
///
/// ```
/// use counterpoise::{ContinuousQuestion, HoleCircle, HoleRing, Mass, Radius, RotorAngle, RotorSense, UnbalanceVector};
/// let circle = HoleCircle::new(4, RotorAngle::MARK, RotorSense::WithRotation)?;
/// let cap = Mass::from_grams(5.0)?;
/// let ring = HoleRing::even(circle, Radius::from_millimetres(100.0)?).each(|hole| hole.limit_mass(cap));
/// let wanted = UnbalanceVector::from_components_gram_millimetres(300.0, 700.0)?;
/// let answer = ContinuousQuestion::new(&[ring], &[wanted])?.solve()?;
/// let masses: Vec<(usize, f64)> = answer.masses().iter().map(|one| (one.hole, one.mass.grams())).collect();
/// // Hole 1 is full, and 200 g mm are left.
/// assert_eq!(masses, [(0, 3.0), (1, 5.0)]);
/// assert!((answer.residual() - 200.0).abs() < 1e-9);
/// assert!((answer.certificate().lower_bound() - 200.0).abs() < 1e-9);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct ContinuousQuestion {
    rings: Vec<HoleRing>,
    mounted: Vec<Hardware>,
    wanted: Wanted,
}

impl ContinuousQuestion {
    fn ask(rings: &[HoleRing], wanted: Wanted) -> Result<Self, PlacementError> {
        // What is mounted is checked when it is known of what.
        let plain: Vec<HoleRing> =
            rings.iter().map(|ring| ring.clone().each(|hole| hole.mounted(&[]))).collect();
        check_rings(&plain, wanted.planes(), 0)?;
        let channels = match &wanted {
            Wanted::Unbalance(wanted) => wanted.len(),
            Wanted::Vibration { now, .. } => now.len(),
        };
        let holes: usize = rings.iter().map(|ring| ring.holes.len()).sum();
        let limit = MOST_NUMBERS / (2 * channels.min(wanted.planes())).max(1);
        if holes > limit {
            return Err(PlacementError::TooManyHoles { holes, limit });
        }
        Ok(Self { rings: rings.to_vec(), mounted: Vec::new(), wanted })
    }

    /// The unbalance that is to be added to what is mounted now, one vector per plane. Residuals are in g mm.
    ///
    /// # Errors
    /// [`PlacementError`] for no holes, a ring in a plane without a wanted vector, limits that cannot be, and vectors that
    /// are not finite.
    ///
    /// ```
    /// # use counterpoise::ContinuousQuestion;
    /// assert_eq!(ContinuousQuestion::new(&[], &[]).unwrap_err().code(), 801);
    /// ```
    pub fn new(rings: &[HoleRing], wanted: &[UnbalanceVector]) -> Result<Self, PlacementError> {
        Self::ask(rings, Wanted::unbalance(wanted)?)
    }

    /// The vibration now, one per channel, that is to become small through the influence coefficients of the planes;
    /// residuals are `√(Σ g |v + H w|²)`, with the [channel weights](Self::channel_weights) g.
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
    /// # let ring = HoleRing::even(circle, Radius::from_millimetres(100.0)?);
    /// let influence = InfluenceMatrix::new(&channels, 1, &[h(2e-3)?, h(1e-3)?])?;
    /// let now = [Vibration::from_components(4.0, 0.0)?, Vibration::from_components(3.0, 0.0)?];
    /// let answer = ContinuousQuestion::through(&[ring], &influence, &now)?.solve()?;
    /// // 2200 g mm opposite the mark.
    /// assert_eq!(answer.masses()[0].hole, 4);
    /// assert!((answer.masses()[0].mass.grams() - 22.0).abs() < 1e-12);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn through(
        rings: &[HoleRing],
        influence: &InfluenceMatrix,
        now: &[Vibration],
    ) -> Result<Self, PlacementError> {
        Self::ask(rings, Wanted::through(influence, now)?)
    }

    /// One weight `g` per channel; it multiplies the squared residual. All weights are 1 unless told otherwise.
    ///
    /// # Errors
    /// As [`PlacementQuestion::channel_weights`](crate::PlacementQuestion::channel_weights).
    ///
    /// ```
    /// # use counterpoise::{ContinuousQuestion, PlacementError};
    /// # let ask = |question: ContinuousQuestion|
    /// question.channel_weights(&[1.0, 4.0])
    /// # ;
    /// ```
    pub fn channel_weights(self, weights: &[f64]) -> Result<Self, PlacementError> {
        Ok(Self { wanted: self.wanted.weighted(weights)?, ..self })
    }

    /// The kinds of piece that the holes' [`mounted`](crate::Hole::mounted) counts are of. Their size counts against the
    /// caps.
    ///
    /// # Errors
    /// [`PlacementError::Mounted`] where a hole counts another number of kinds.
    ///
    /// ```
    /// # use counterpoise::{ContinuousQuestion, Hardware, Hole, HoleRing, Mass, Radius, RotorAngle, UnbalanceVector};
    /// let nut = Hardware::new("nut", Mass::from_grams(2.0)?);
    /// let hole = Hole::new(Radius::from_millimetres(100.0)?, RotorAngle::MARK).limit_mass(Mass::from_grams(5.0)?);
    /// let ring = HoleRing::listed(vec![hole.mounted(&[1])]);
    /// let wanted = UnbalanceVector::from_components_gram_millimetres(1000.0, 0.0)?;
    /// let answer = ContinuousQuestion::new(&[ring], &[wanted])?.mounted_hardware(&[nut])?.solve()?;
    /// assert_eq!(answer.masses()[0].mass.grams(), 3.0);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn mounted_hardware(self, hardware: &[Hardware]) -> Result<Self, PlacementError> {
        check_rings(&self.rings, self.wanted.planes(), hardware.len())?;
        Ok(Self { mounted: hardware.to_vec(), ..self })
    }

    /// The masses, and what is proven of them.
    ///
    /// # Errors
    /// [`PlacementError::Mounted`] where a hole has pieces mounted and
    /// [`mounted_hardware`](Self::mounted_hardware) does not say of which kinds;
    /// [`PlacementError::NotRepresentable`] where numbers overflow.
    ///
    /// ```
    /// # use counterpoise::{ContinuousPlacement, ContinuousQuestion, PlacementError};
    /// # let ask = |question: ContinuousQuestion| -> Result<ContinuousPlacement, PlacementError> {
    /// question.solve()
    /// # };
    /// ```
    pub fn solve(&self) -> Result<ContinuousPlacement, PlacementError> {
        let (seats, places) = self.seats()?;
        let rows = self.wanted.rows();
        let columns =
            Columns::of(&rows, self.wanted.planes(), &seats).ok_or(PlacementError::NotRepresentable)?;
        let mut found = nearest(&columns);
        let price = lightest(&columns, &mut found);
        ContinuousPlacement::of(&self.wanted, &seats, &places, &columns, &found.mass, price)
    }

    /// The holes that can take a mass, in an order of their own, and their places in the caller's lists.
    fn seats(&self) -> Result<(Vec<Seat>, Vec<Origin>), PlacementError> {
        let mut found: Vec<(Seat, &Hole, Origin)> = Vec::new();
        for (ring, stated) in self.rings.iter().enumerate() {
            for (at, hole) in stated.holes.iter().enumerate().filter(|(_, hole)| !hole.blocked) {
                let known = hole.mounted.len() == self.mounted.len();
                if !known && hole.mounted.iter().any(|&count| count > 0) {
                    return Err(PlacementError::Mounted {
                        ring,
                        hole: at,
                        expected: self.mounted.len(),
                        got: hole.mounted.len(),
                    });
                }
                let piece = |(&count, kind): (&u32, &Hardware)| f64::from(count) * kind.mass().grams().abs();
                let mounted: f64 = hole.mounted.iter().zip(&self.mounted).map(piece).sum();
                let cap = hole.most_mass.map_or(f64::INFINITY, |most| most.grams() - mounted);
                if cap > 0.0 {
                    let (sine, cosine) = hole.angle.with_rotation().sin_cos();
                    let radius = hole.radius.millimetres();
                    let arm = [radius * cosine, radius * sine];
                    found.push((Seat { plane: stated.plane, arm, cap }, hole, (ring, at)));
                }
            }
        }
        let key = |(seat, hole, _): &(Seat, &Hole, Origin)| {
            (seat.plane, hole.angle.with_rotation().degrees(), hole.radius.millimetres(), seat.cap)
        };
        found.sort_by(|one, other| key(one).partial_cmp(&key(other)).unwrap_or(Ordering::Equal));
        Ok(found.into_iter().map(|(seat, _, place)| (seat, place)).unzip())
    }
}

/// The mass that stands for a number of grams.
pub(super) fn grams(value: f64) -> Result<Mass, PlacementError> {
    Mass::from_grams(value).map_err(|_| PlacementError::NotRepresentable)
}
