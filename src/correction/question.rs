//! What is asked of a correction, and the way to its answer.

use alloc::vec;
use alloc::vec::Vec;

use num_complex::Complex64;

use crate::caution::Caution;
use crate::channel::Reading;
use crate::error::CorrectionError;
use crate::influence::InfluenceMatrix;
use crate::unit::Unbalance;
use crate::vector::{Influence, UnbalanceVector, Vibration};

use super::answer::{
    ActiveChannel, Certificate, Correction, PlaneAtLimit, largest_weighted_amplitude,
    power_of_two_of_largest, root_of_weighted_squares,
};
use super::convex::{Problem, limited_least_squares, minimax};
use super::free::{Free, Weighted};

/// What a correction makes smallest.
///
/// ```
/// use counterpoise::Objective;
/// assert_ne!(Objective::LeastSquares, Objective::MinMax);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "snake_case"))]
pub enum Objective {
    /// The weighted sum of squares over the channels: `√(Σ g |r|²)`.
    LeastSquares,
    /// The worst channel: `max √g |r|`.
    MinMax,
}

/// The relative gap between value and bound from which on the optimum is called not proven.
const GAP: f64 = 1e-8;

/// What is left is no more than rounding when it is below this, relative to the vibration now.
const ROUNDING: f64 = 1e-12;

/// What the convex solver found.
struct Proven {
    added: Vec<Complex64>,
    certificate: Certificate,
    /// Whether other weights do as well.
    flat: bool,
}

/// How much is allowed in a plane.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Limit {
    /// Of what is mounted afterwards.
    Total(f64),
    /// Of what is added.
    Added(f64),
}

/// A question for a correction: the vibration now, and what is known, wanted and allowed.
///
/// ```
/// use counterpoise::{
///     Channel, CorrectionQuestion, Detector, Influence, InfluenceMatrix, Objective, PhaseSense, Speed, SpeedWindow,
///     Unbalance, VibrationScale, VibrationUnit,
/// };
/// let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
/// let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
/// let [near, far] = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
/// let h = |re, im| Influence::from_components_per_gram_millimetre(re, im);
/// let influence = InfluenceMatrix::new(&[near, far], 1, &[h(2e-3, 0.0)?, h(1e-3, 0.0)?])?;
///
/// let readings = [near.reading(4.0, 0.0)?, far.reading(3.0, 0.0)?];
/// let answer = CorrectionQuestion::from_readings(&influence, &readings)?.solve()?;
/// assert!((answer.added()[0].x_gram_millimetres() - -2200.0).abs() < 1e-9);
///
/// let worst = CorrectionQuestion::from_readings(&influence, &readings)?.objective(Objective::MinMax).solve()?;
/// assert!((worst.added()[0].x_gram_millimetres() - -7000.0 / 3.0).abs() < 1e-6);
/// assert!((worst.largest_amplitude() - 2.0 / 3.0).abs() < 1e-9);
///
/// let limit = Unbalance::from_gram_millimetres(1500.0)?;
/// let limited = CorrectionQuestion::from_readings(&influence, &readings)?.limit_added(0, limit).solve()?;
/// assert!((limited.added()[0].amount().gram_millimetres() - 1500.0).abs() < 1e-9);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct CorrectionQuestion<'a> {
    influence: &'a InfluenceMatrix,
    now: Vec<Vibration>,
    mounted: Vec<UnbalanceVector>,
    channel_weights: Vec<f64>,
    limits: Vec<(usize, Limit)>,
    objective: Objective,
}

impl<'a> CorrectionQuestion<'a> {
    /// A question for the weights that make the present vibrations smallest, by least squares, with nothing mounted now.
    /// One vibration per channel, in the order of the channels.
    ///
    /// `now` is the vibration with everything on that is mounted now: with
    /// [`InfluenceFit::as_found`](crate::InfluenceFit::as_found) that is nothing, with
    /// [`InfluenceFit::vibration_with`](crate::InfluenceFit::vibration_with) what was given to it, which
    /// [`mounted_now`](Self::mounted_now) is then to say, too.
    ///
    /// # Errors
    /// [`CorrectionError::Count`], [`CorrectionError::VibrationNotFinite`].
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// # let influence = InfluenceMatrix::new(&channels, 1, &[h(2e-3)?, h(1e-3)?])?;
    /// # let now = [Vibration::from_components(4.0, 0.0)?, Vibration::from_components(3.0, 0.0)?];
    /// let answer = CorrectionQuestion::new(&influence, &now)?.solve()?;
    /// assert!((answer.added()[0].x_gram_millimetres() - -2200.0).abs() < 1e-9);
    /// assert_eq!(CorrectionQuestion::new(&influence, &now[..1]).unwrap_err().code(), 401);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn new(influence: &'a InfluenceMatrix, now: &[Vibration]) -> Result<Self, CorrectionError> {
        let channels = influence.channels().len();
        if now.len() != channels {
            return Err(CorrectionError::Count {
                what: "vibrations, one per channel",
                expected: channels,
                got: now.len(),
            });
        }
        if let Some(channel) = now.iter().position(|vibration| !vibration.is_finite()) {
            return Err(CorrectionError::VibrationNotFinite { channel });
        }
        Ok(Self {
            influence,
            now: now.to_vec(),
            mounted: vec![UnbalanceVector::ZERO; influence.planes()],
            channel_weights: Vec::new(),
            limits: Vec::new(),
            objective: Objective::LeastSquares,
        })
    }

    /// The same from readings, which must be of the channels of the coefficients, in their order.
    ///
    /// This is trim balancing with known coefficients: one reading, no trial run.
    ///
    /// # Errors
    /// [`CorrectionError::Count`], [`CorrectionError::WrongChannel`], [`CorrectionError::VibrationNotFinite`].
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// # let influence = InfluenceMatrix::new(&channels, 1, &[h(2e-3)?, h(1e-3)?])?;
    /// # let now = [Vibration::from_components(4.0, 0.0)?, Vibration::from_components(3.0, 0.0)?];
    /// let readings = [channels[0].reading(4.0, 0.0)?, channels[1].reading(3.0, 0.0)?];
    /// let answer = CorrectionQuestion::from_readings(&influence, &readings)?.solve()?;
    /// assert!((answer.added()[0].x_gram_millimetres() - -2200.0).abs() < 1e-9);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn from_readings(influence: &'a InfluenceMatrix, now: &[Reading]) -> Result<Self, CorrectionError> {
        Self::new(influence, &influence.vibrations_of(now)?)
    }

    /// What is mounted now, one unbalance per plane: it enters the total, and limits on it.
    ///
    /// # Errors
    /// [`CorrectionError::Count`], [`CorrectionError::UnbalanceNotFinite`].
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// # let influence = InfluenceMatrix::new(&channels, 1, &[h(2e-3)?, h(1e-3)?])?;
    /// # let now = [Vibration::from_components(4.0, 0.0)?, Vibration::from_components(3.0, 0.0)?];
    /// let mounted = UnbalanceVector::from_components_gram_millimetres(500.0, 0.0)?;
    /// let answer = CorrectionQuestion::new(&influence, &now)?.mounted_now(&[mounted])?.solve()?;
    /// assert!((answer.total()[0].x_gram_millimetres() - -1700.0).abs() < 1e-9);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn mounted_now(mut self, mounted: &[UnbalanceVector]) -> Result<Self, CorrectionError> {
        if mounted.len() != self.influence.planes() {
            return Err(CorrectionError::Count {
                what: "unbalances mounted now, one per plane",
                expected: self.influence.planes(),
                got: mounted.len(),
            });
        }
        if let Some(plane) = mounted.iter().position(|unbalance| !unbalance.is_finite()) {
            return Err(CorrectionError::UnbalanceNotFinite { plane });
        }
        self.mounted = mounted.to_vec();
        Ok(self)
    }

    /// What to make smallest.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// # let influence = InfluenceMatrix::new(&channels, 1, &[h(2e-3)?, h(1e-3)?])?;
    /// # let now = [Vibration::from_components(4.0, 0.0)?, Vibration::from_components(3.0, 0.0)?];
    /// let answer = CorrectionQuestion::new(&influence, &now)?.objective(Objective::MinMax).solve()?;
    /// assert!((answer.objective_value() - 2.0 / 3.0).abs() < 1e-9);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    #[must_use]
    pub fn objective(mut self, objective: Objective) -> Self {
        self.objective = objective;
        self
    }

    /// One weight `g` per channel; it multiplies the squared residual. Channels in different units want weights that
    /// bring them to a common one. They are checked by [`solve`](Self::solve).
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// # let influence = InfluenceMatrix::new(&channels, 1, &[h(2e-3)?, h(1e-3)?])?;
    /// # let now = [Vibration::from_components(4.0, 0.0)?, Vibration::from_components(3.0, 0.0)?];
    /// // Only the first channel counts.
    /// let answer = CorrectionQuestion::new(&influence, &now)?.channel_weights(&[1.0, 0.0]).solve()?;
    /// assert!((answer.added()[0].x_gram_millimetres() - -2000.0).abs() < 1e-9);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    #[must_use]
    pub fn channel_weights(mut self, weights: &[f64]) -> Self {
        self.channel_weights = weights.to_vec();
        self
    }

    /// A limit on what is mounted in a plane afterwards, all together. A later limit for the plane replaces it.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// # let influence = InfluenceMatrix::new(&channels, 1, &[h(2e-3)?, h(1e-3)?])?;
    /// # let now = [Vibration::from_components(4.0, 0.0)?, Vibration::from_components(3.0, 0.0)?];
    /// let mounted = UnbalanceVector::from_components_gram_millimetres(500.0, 0.0)?;
    /// let answer = CorrectionQuestion::new(&influence, &now)?
    ///     .mounted_now(&[mounted])?
    ///     .limit_total(0, Unbalance::from_gram_millimetres(1000.0)?)
    ///     .solve()?;
    /// assert!((answer.total()[0].amount().gram_millimetres() - 1000.0).abs() < 1e-9);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    #[must_use]
    pub fn limit_total(self, plane: usize, limit: Unbalance) -> Self {
        self.limit(plane, Limit::Total(limit.gram_millimetres()))
    }

    /// A limit on what is added in a plane. A later limit for the plane replaces it.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// # let influence = InfluenceMatrix::new(&channels, 1, &[h(2e-3)?, h(1e-3)?])?;
    /// # let now = [Vibration::from_components(4.0, 0.0)?, Vibration::from_components(3.0, 0.0)?];
    /// let limit = Unbalance::from_gram_millimetres(1500.0)?;
    /// let answer = CorrectionQuestion::new(&influence, &now)?.limit_added(0, limit).solve()?;
    /// assert!((answer.added()[0].amount().gram_millimetres() - 1500.0).abs() < 1e-9);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    #[must_use]
    pub fn limit_added(self, plane: usize, limit: Unbalance) -> Self {
        self.limit(plane, Limit::Added(limit.gram_millimetres()))
    }

    fn limit(mut self, plane: usize, limit: Limit) -> Self {
        self.limits.retain(|(limited, _)| *limited != plane);
        self.limits.push((plane, limit));
        self
    }

    /// The correction. A plane whose limit is zero takes no part.
    ///
    /// # Errors
    /// [`CorrectionError::InseparablePlanes`] where some planes do not have an effect of their own at these channels, and
    /// no limits hold them;
    /// [`CorrectionError::Count`], [`CorrectionError::ChannelWeight`], [`CorrectionError::NoWeight`] for the channel
    /// weights; [`CorrectionError::PlaneOutOfRange`], [`CorrectionError::NegativeLimit`] for the limits;
    /// [`CorrectionError::NotRepresentable`].
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// # let influence = InfluenceMatrix::new(&channels, 1, &[h(2e-3)?, h(1e-3)?])?;
    /// # let now = [Vibration::from_components(4.0, 0.0)?, Vibration::from_components(3.0, 0.0)?];
    /// let answer = CorrectionQuestion::new(&influence, &now)?.solve()?;
    /// assert!((answer.weighted_rms() - 0.4_f64.sqrt()).abs() < 1e-12);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn solve(&self) -> Result<Correction, CorrectionError> {
        self.check_limits()?;
        let roots = self.influence.weight_roots(&self.channel_weights)?;
        let open = self.planes_where(|limit| limit != Some(0.0));
        if !open.is_empty() && open.len() < self.influence.planes() {
            return self.solved_in(&open);
        }
        let mut cautions = Vec::new();
        // Planes that cannot be told apart have a best combination nonetheless, where limits hold them.
        let weighted = match Weighted::factored(self.influence, &roots) {
            Ok(weighted) => Some(weighted),
            Err(CorrectionError::InseparablePlanes { .. }) if self.limits_hold(&roots) => None,
            Err(error) => return Err(error),
        };
        let bound = weighted.as_ref().map_or(f64::INFINITY, Weighted::condition_bound);
        if bound >= Caution::ILL_CONDITIONED_FROM {
            self.caution_of_condition(&mut cautions)?;
        }
        if self.channel_weights.is_empty() && self.mixes_units() {
            cautions.push(Caution::MixedUnits);
        }
        let free = match (&weighted, self.objective) {
            (Some(weighted), Objective::LeastSquares) => {
                Some(weighted.solved(&self.now)?).filter(|free| self.admits(&free.added))
            }
            _ => None,
        };
        let proven = match free {
            Some(Free { added, lower_bound, dual }) => {
                let (active_channels, planes_at_limit) = (Vec::new(), Vec::new());
                let certificate = Certificate { lower_bound, dual, active_channels, planes_at_limit };
                Proven { added, certificate, flat: false }
            }
            None => self.optimum(&roots),
        };
        let Proven { added, mut certificate, flat } = proven;
        let added: Vec<UnbalanceVector> = added.into_iter().map(UnbalanceVector::computed).collect();
        let total: Vec<UnbalanceVector> =
            self.mounted.iter().zip(&added).map(|(now, add)| *now + *add).collect();
        // r = v + H w
        let rows = self.influence.coefficients().chunks(self.influence.planes());
        let left = |(v, row): (&Vibration, &[Influence])| {
            row.iter().zip(&added).fold(*v, |sum, (&h, &w)| sum + h * w)
        };
        let predicted: Vec<Vibration> = self.now.iter().zip(rows).map(left).collect();
        // The amplitude of finite components may still be beyond the range of doubles.
        let in_range = |z: Complex64| (z.re.abs() + z.im.abs()).is_finite();
        let held = total.iter().all(|u| in_range(u.complex()));
        let left = predicted.iter().all(|v| in_range(v.complex()));
        let value = match self.objective {
            Objective::LeastSquares => root_of_weighted_squares(&predicted, &roots),
            Objective::MinMax => largest_weighted_amplitude(&predicted, &roots),
        };
        if !(held && left && value.is_finite()) {
            return Err(CorrectionError::NotRepresentable);
        }
        if flat {
            cautions.push(Caution::FlatOptimum);
        }
        // The value of what is handed over may lie some roundings below the one that was proven.
        certificate.lower_bound = certificate.lower_bound.min(value);
        let lower_bound = certificate.lower_bound;
        let scale = power_of_two_of_largest(&self.now, &roots);
        if value - lower_bound > GAP * value && value > ROUNDING * scale {
            cautions.push(Caution::OptimumNotProven { value, lower_bound });
        }
        Ok(Correction { added, total, predicted, roots, value, certificate, cautions })
    }

    /// The limit of a plane in g mm, of whichever kind.
    fn limit_of(&self, plane: usize) -> Option<f64> {
        let limit = self.limits.iter().find(|(limited, _)| *limited == plane);
        limit.map(|&(_, Limit::Total(amount) | Limit::Added(amount))| amount)
    }

    /// The planes whose limit is as asked for.
    fn planes_where(&self, holds: impl Fn(Option<f64>) -> bool) -> Vec<usize> {
        (0..self.influence.planes()).filter(|&plane| holds(self.limit_of(plane))).collect()
    }

    /// Whether the planes without a limit have effects of their own, so that the others, which have one, are held.
    fn limits_hold(&self, roots: &[f64]) -> bool {
        let unlimited = self.planes_where(|limit| limit.is_none());
        let held = !self.limits.is_empty();
        held && (unlimited.is_empty()
            || Weighted::factored(&self.influence.in_planes(&unlimited), roots).is_ok())
    }

    fn mixes_units(&self) -> bool {
        let channels = self.influence.channels();
        channels.iter().any(|channel| channels.first().is_some_and(|first| first.unit() != channel.unit()))
    }

    /// The answer when some planes may carry nothing: that of the question without them.
    fn solved_in(&self, open: &[usize]) -> Result<Correction, CorrectionError> {
        let planes = self.influence.planes();
        // What happens in a plane that is shut: nothing is added, or all that is mounted comes off.
        let mut added: Vec<UnbalanceVector> = vec![UnbalanceVector::ZERO; planes];
        for &(plane, limit) in &self.limits {
            if let (Limit::Total(0.0), Some(add), Some(mounted)) =
                (limit, added.get_mut(plane), self.mounted.get(plane))
            {
                *add = -*mounted;
            }
        }
        let effect = self.influence.effect_of(&added)?;
        let reduced = self.influence.in_planes(open);
        let place = |plane: usize| open.iter().position(|&kept| kept == plane);
        let question = CorrectionQuestion {
            influence: &reduced,
            now: self.now.iter().zip(effect).map(|(v, change)| *v + change).collect(),
            mounted: open.iter().filter_map(|&plane| self.mounted.get(plane).copied()).collect(),
            channel_weights: self.channel_weights.clone(),
            limits: self.limits.iter().filter_map(|&(plane, limit)| Some((place(plane)?, limit))).collect(),
            objective: self.objective,
        };
        let numbered = |kept: usize| open.get(kept).copied().unwrap_or(kept);
        let mut answer = question.solve().map_err(|error| match error {
            CorrectionError::InseparablePlanes { planes, rank, of } => CorrectionError::InseparablePlanes {
                planes: planes.into_iter().map(numbered).collect(),
                rank,
                of,
            },
            other => other,
        })?;
        for (&plane, add) in open.iter().zip(&answer.added) {
            if let Some(place) = added.get_mut(plane) {
                *place = *add;
            }
        }
        answer.total = self.mounted.iter().zip(&added).map(|(now, add)| *now + *add).collect();
        answer.added = added;
        let certificate = &mut answer.certificate;
        for at_limit in &mut certificate.planes_at_limit {
            at_limit.plane = numbered(at_limit.plane);
        }
        for plane in self.planes_where(|limit| limit == Some(0.0)) {
            // −∂value/∂L_p = |Σ_k conj(H_kp) y_k|
            let column = (0..).map_while(|channel| self.influence.get(channel, plane));
            let sum: Complex64 = column.zip(&certificate.dual).map(|(h, y)| h.complex().conj() * y).sum();
            let gain_per_gram_millimetre = crate::math::modulus(sum);
            certificate.planes_at_limit.push(PlaneAtLimit { plane, gain_per_gram_millimetre });
        }
        certificate.planes_at_limit.sort_by_key(|at_limit| at_limit.plane);
        for caution in &mut answer.cautions {
            if let Caution::IllConditionedPlanes { combination, .. } = caution {
                let of =
                    |plane| place(plane).and_then(|kept| combination.get(kept)).copied().unwrap_or_default();
                *combination = (0..planes).map(of).collect();
            }
        }
        Ok(answer)
    }

    /// Whether what is to be added keeps all limits.
    fn admits(&self, added: &[Complex64]) -> bool {
        self.limits.iter().all(|&(plane, limit)| {
            let add = UnbalanceVector::computed(added.get(plane).copied().unwrap_or_default());
            let mounted = self.mounted.get(plane).copied().unwrap_or_default();
            match limit {
                Limit::Added(most) => add.amount().gram_millimetres() <= most,
                Limit::Total(most) => (mounted + add).amount().gram_millimetres() <= most,
            }
        })
    }

    fn check_limits(&self) -> Result<(), CorrectionError> {
        for &(plane, limit) in &self.limits {
            let planes = self.influence.planes();
            if plane >= planes {
                return Err(CorrectionError::PlaneOutOfRange { plane, planes });
            }
            let (Limit::Total(amount) | Limit::Added(amount)) = limit;
            if amount < 0.0 {
                return Err(CorrectionError::NegativeLimit { plane, gram_millimetres: amount });
            }
        }
        Ok(())
    }

    fn caution_of_condition(&self, cautions: &mut Vec<Caution>) -> Result<(), CorrectionError> {
        let svd = self.influence.decomposed(&self.channel_weights)?;
        let condition_number = svd.condition().unwrap_or(f64::INFINITY);
        if condition_number >= Caution::ILL_CONDITIONED_FROM {
            let last = self.influence.planes().saturating_sub(1);
            let combination =
                svd.right_vectors().column(last).iter().map(|&z| UnbalanceVector::computed(z)).collect();
            cautions.push(Caution::IllConditionedPlanes { condition_number, combination });
        }
        Ok(())
    }

    /// The convex optimum: what to add, its certificate, and whether it is flat.
    fn optimum(&self, roots: &[f64]) -> Proven {
        let zero = Complex64 { re: 0.0, im: 0.0 };
        // A limit on the total makes the total the unknown: v + H_p w_p = (v − H_p m_p) + H_p (m_p + w_p).
        let of_total = |plane: usize| {
            self.limits.iter().any(|(limited, limit)| *limited == plane && matches!(limit, Limit::Total(_)))
        };
        let offset = |(plane, mounted): (usize, &UnbalanceVector)| {
            if of_total(plane) { *mounted } else { UnbalanceVector::ZERO }
        };
        let offsets: Vec<UnbalanceVector> = self.mounted.iter().enumerate().map(offset).collect();
        let planes = self.influence.planes();
        let limits: Vec<Option<f64>> = (0..planes).map(|plane| self.limit_of(plane)).collect();
        let shifted: Vec<Complex64> = self
            .now
            .iter()
            .zip(self.influence.coefficients().chunks(planes))
            .map(|(v, row)| {
                let held: Vibration = row.iter().zip(&offsets).map(|(&h, &u)| h * u).sum();
                (*v - held).complex()
            })
            .collect();
        let coefficients: Vec<Complex64> =
            self.influence.coefficients().iter().map(|coefficient| coefficient.complex()).collect();
        let weights: Vec<f64> = if self.channel_weights.is_empty() {
            vec![1.0; roots.len()]
        } else {
            self.channel_weights.clone()
        };
        let problem = Problem {
            influence: &coefficients,
            vibration: &shifted,
            channel_weights: &weights,
            limits: &limits,
        };
        let found = match self.objective {
            Objective::LeastSquares => limited_least_squares(problem),
            Objective::MinMax => minimax(problem),
        };
        let added =
            found.corrections.iter().zip(&offsets).map(|(w, held)| w - held.complex() + zero).collect();
        let active = found.active.into_iter();
        let capped = found.capped.into_iter();
        let certificate = Certificate {
            lower_bound: found.bound,
            dual: found.dual,
            active_channels: active.map(|(channel, share)| ActiveChannel { channel, share }).collect(),
            planes_at_limit: capped
                .map(|(plane, gain_per_gram_millimetre)| PlaneAtLimit { plane, gain_per_gram_millimetre })
                .collect(),
        };
        Proven { added, certificate, flat: found.flat }
    }
}
