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
    Certificate, Correction, largest_weighted_amplitude, power_of_two_of_largest, root_of_weighted_squares,
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
/// let window = SpeedWindow::around(Speed::from_rpm(1480.0)?, 1.0)?;
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
    /// # Errors
    /// [`CorrectionError::Count`], [`CorrectionError::VibrationNotFinite`].
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around(Speed::from_rpm(1480.0)?, 1.0)?;
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
    /// # let window = SpeedWindow::around(Speed::from_rpm(1480.0)?, 1.0)?;
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
    /// # let window = SpeedWindow::around(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// # let influence = InfluenceMatrix::new(&channels, 1, &[h(2e-3)?, h(1e-3)?])?;
    /// # let now = [Vibration::from_components(4.0, 0.0)?, Vibration::from_components(3.0, 0.0)?];
    /// let mounted = UnbalanceVector::from_gram_millimetres(500.0, 0.0)?;
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
    /// # let window = SpeedWindow::around(Speed::from_rpm(1480.0)?, 1.0)?;
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
    /// # let window = SpeedWindow::around(Speed::from_rpm(1480.0)?, 1.0)?;
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
    /// # let window = SpeedWindow::around(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// # let influence = InfluenceMatrix::new(&channels, 1, &[h(2e-3)?, h(1e-3)?])?;
    /// # let now = [Vibration::from_components(4.0, 0.0)?, Vibration::from_components(3.0, 0.0)?];
    /// let mounted = UnbalanceVector::from_gram_millimetres(500.0, 0.0)?;
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
    /// # let window = SpeedWindow::around(Speed::from_rpm(1480.0)?, 1.0)?;
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

    /// The correction.
    ///
    /// # Errors
    /// [`CorrectionError::InseparablePlanes`] where some planes do not have an effect of their own at these channels;
    /// [`CorrectionError::Count`], [`CorrectionError::ChannelWeight`], [`CorrectionError::NoWeight`] for the channel
    /// weights; [`CorrectionError::PlaneOutOfRange`], [`CorrectionError::NegativeLimit`] for the limits;
    /// [`CorrectionError::NotRepresentable`].
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around(Speed::from_rpm(1480.0)?, 1.0)?;
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
        let weighted = Weighted::factored(self.influence, &roots)?;
        let mut cautions = Vec::new();
        if weighted.condition_bound() >= Caution::ILL_CONDITIONED_FROM {
            self.caution_of_condition(&mut cautions)?;
        }
        let free = match self.objective {
            Objective::LeastSquares => {
                Some(weighted.solved(&self.now)?).filter(|free| self.admits(&free.added))
            }
            Objective::MinMax => None,
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
        let limit_of =
            |plane: usize| self.limits.iter().find(|(limited, _)| *limited == plane).map(|(_, l)| *l);
        let offsets: Vec<UnbalanceVector> = (0..)
            .zip(&self.mounted)
            .map(|(plane, mounted)| match limit_of(plane) {
                Some(Limit::Total(_)) => *mounted,
                _ => UnbalanceVector::ZERO,
            })
            .collect();
        let limits: Vec<Option<f64>> = (0..self.influence.planes())
            .map(|plane| limit_of(plane).map(|(Limit::Total(amount) | Limit::Added(amount))| amount))
            .collect();
        let planes = self.influence.planes();
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
        let certificate = Certificate {
            lower_bound: found.bound,
            dual: found.dual,
            active_channels: found.active,
            planes_at_limit: found.capped,
        };
        Proven { added, certificate, flat: found.flat }
    }
}
