//! Balancing without phase: the correction from amplitudes alone.
//!
//! One reading as found and one with a trial weight at each of several places, the last weight taken off each time. For a
//! linear rotor, with `u_i` the trial unbalances,
//!
//! ```text
//! A_i = |v0 + H u_i|
//! ```
//!
//! Three trials in different directions settle it, more are fitted by least squares, two leave two answers. What the
//! amplitudes can say is an [`Outcome`]; readings that no linear rotor can give are told from a poor fit.
//!
//! ```
//! use counterpoise::without_phase::{Outcome, Trial, solve};
//! use counterpoise::{Mass, Radius, RotorSense, Weight};
//! let radius = Radius::from_millimetres(150.0)?;
//! let trial = |degrees, amplitude| -> Result<Trial, counterpoise::QuantityError> {
//!     let weight = Weight::new(Mass::from_grams(10.0)?, radius, RotorSense::AgainstRotation.degrees(degrees)?);
//!     Ok(Trial { unbalance: weight.unbalance(), amplitude })
//! };
//! // An invented fan: 0.5 as found, 0.04 per gram; the heavy spot at 60 deg.
//! let trials = [trial(0.0, 0.781_024_967_6)?, trial(120.0, 0.781_024_967_6)?, trial(240.0, 0.1)?];
//! let Outcome::Unique { solution, .. } = solve(&[0.5], &trials)? else { return Err("not unique".into()) };
//! let correction = solution.correction.weight_at(radius);
//! assert!((correction.mass.grams() - 12.5).abs() < 1e-6);
//! assert!((correction.angle.in_sense(RotorSense::AgainstRotation).degrees() - 240.0).abs() < 1e-6);
//! # Ok::<(), Box<dyn core::error::Error>>(())
//! ```

mod kernel;

use alloc::vec::Vec;

use crate::angle::Angle;
use crate::error::WithoutPhaseError;
use crate::unit::Unbalance;
use crate::vector::UnbalanceVector;

/// One trial run: the unbalance of the weight that was mounted for it, alone, and the amplitude it gave.
///
/// ```
/// use counterpoise::{UnbalanceVector, without_phase::Trial};
/// let trial = Trial { unbalance: UnbalanceVector::from_components_gram_millimetres(1500.0, 0.0)?, amplitude: 0.7 };
/// assert_eq!(trial.amplitude, 0.7);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trial {
    /// What was mounted.
    pub unbalance: UnbalanceVector,
    /// What was read, in the unit and detector of the reading as found.
    pub amplitude: f64,
}

/// A linear rotor that explains the amplitudes, and the correction it asks for.
///
/// ```
/// use counterpoise::{UnbalanceVector, without_phase::{Outcome, Trial, solve}};
/// let trials = [(100.0, 0.0, 3.0), (-100.0, 0.0, 1.0), (0.0, 100.0, 5.0_f64.sqrt())];
/// let trials = trials.map(|(x, y, amplitude)| {
///     let unbalance = UnbalanceVector::from_components_gram_millimetres(x, y).unwrap_or_default();
///     Trial { unbalance, amplitude }
/// });
/// let Outcome::Unique { solution, .. } = solve(&[2.0], &trials)? else { return Err("not unique".into()) };
/// assert!((solution.influence_per_gram_millimetre - 0.01).abs() < 1e-9);
/// assert!((solution.correction.x_gram_millimetres() - -200.0).abs() < 1e-6);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Solution {
    /// What to mount, with the trial weights off: it cancels the vibration as found.
    pub correction: UnbalanceVector,
    /// The amplitude as found, as fitted.
    pub as_found_amplitude: f64,
    /// The size of the influence coefficient, in the unit of the readings per g mm.
    pub influence_per_gram_millimetre: f64,
    /// How far the response to an unbalance at the mark leads the vibration as found, with both counted with rotation.
    pub response_lead: Angle,
    /// Measured less fitted: the readings as found first, then the trials, in the order given.
    pub residuals: Vec<f64>,
    /// The sum of squared residuals.
    pub sum_of_squares: f64,
    /// The root of their mean square: the misfit, in the unit of the readings.
    pub rms_residual: f64,
}

/// The textbook's figure beside the fit, from three or more trials: the squared amplitudes are linear in `a`, `p`, `q`,
/// `A_i² − A0² = |u_i|² a + |u_i| (p cos β_i + q sin β_i)`.
///
/// With three trials it is met exactly, and ignores that `p² + q² = 4 A0² a` must hold: how badly it does is the
/// inconsistency ratio.
///
/// ```
/// use counterpoise::{UnbalanceVector, without_phase::{Outcome, Trial, solve}};
/// let trials = [(100.0, 0.0, 3.0), (-100.0, 0.0, 1.0), (0.0, 100.0, 5.0_f64.sqrt())];
/// let trials = trials.map(|(x, y, amplitude)| {
///     let unbalance = UnbalanceVector::from_components_gram_millimetres(x, y).unwrap_or_default();
///     Trial { unbalance, amplitude }
/// });
/// let Outcome::Unique { closed_form: Some(closed), .. } = solve(&[2.0], &trials)? else { return Err("none".into()) };
/// assert!((closed.inconsistency_ratio.unwrap_or(f64::NAN) - 1.0).abs() < 1e-12);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct ClosedForm {
    /// The squared influence coefficient, per g² mm²; negative where the readings contradict a linear rotor, or by noise.
    pub squared_influence: f64,
    /// The influence coefficient from it, per g mm; `None` unless it is positive.
    pub influence_from_mean: Option<f64>,
    /// The influence coefficient from how the amplitude changes with the place, per g mm.
    pub influence_from_places: f64,
    /// As [`Solution::response_lead`].
    pub response_lead: Angle,
    /// The first coefficient over the second: 1 for consistent readings.
    pub inconsistency_ratio: Option<f64>,
    /// The correction with the first coefficient; `None` where there is none.
    pub correction: Option<UnbalanceVector>,
}

/// Why more than one rotor shows the same amplitudes.
///
/// ```
/// use counterpoise::without_phase::Ambiguity;
/// assert_eq!(Ambiguity::TwoPlaces.to_string(), "two places leave two answers: add a trial at a third place");
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Ambiguity {
    /// All trial places lie on one line through the shaft's centre: an answer and its mirror image in that line fit alike.
    OneLine {
        /// Where the line points, in degrees with rotation from the mark, in `[0, 180)`.
        with_rotation_degrees: f64,
    },
    /// Two places only, or all on one circle through the shaft's centre: an answer and its counterpart fit alike.
    TwoPlaces,
    /// The places would settle it, but several rotors fit these readings equally badly.
    EqualFits,
}

impl Ambiguity {
    /// The stable number, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::without_phase::Ambiguity::TwoPlaces.code(), 2);
    /// ```
    pub const fn code(&self) -> i32 {
        match self {
            Self::OneLine { .. } => 1,
            Self::TwoPlaces => 2,
            Self::EqualFits => 3,
        }
    }
}

impl core::fmt::Display for Ambiguity {
    /// What the readings lack, and what to do.
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::OneLine { .. } => {
                f.write_str("all places lie on one line, so an answer and its mirror image fit alike: add a trial off the line")
            }
            Self::TwoPlaces => f.write_str("two places leave two answers: add a trial at a third place"),
            Self::EqualFits => {
                f.write_str("several rotors fit these readings equally badly: read again, or add a trial at another place")
            }
        }
    }
}

/// What amplitudes alone can say.
///
/// ```
/// use counterpoise::{UnbalanceVector, without_phase::{Outcome, Trial, solve}};
/// let trial = Trial { unbalance: UnbalanceVector::from_components_gram_millimetres(100.0, 0.0)?, amplitude: 3.0 };
/// // One place leaves a whole circle of answers.
/// assert_eq!(solve(&[2.0], &[trial, trial])?, Outcome::Undetermined);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Outcome {
    /// One rotor fits best.
    Unique {
        /// The least squares over all amplitudes.
        solution: Solution,
        /// The next higher local minimum, if there is one: where its sum of squares is not much larger, the readings
        /// hardly tell the two apart.
        next_best: Option<Solution>,
        /// The sums of squares of the local minima at which the fitted amplitude as found is negative: no rotor, but where
        /// a descent without bounds may end. Lowest first.
        spurious_minima: Vec<f64>,
        /// The textbook's figure, where there is one.
        closed_form: Option<ClosedForm>,
    },
    /// Several rotors fit alike; only one of them is the machine.
    Ambiguous {
        /// What the readings lack.
        reason: Ambiguity,
        /// Every solution, by rising angle of the correction with rotation.
        solutions: Vec<Solution>,
    },
    /// One trial, or all trials at one place: a whole circle of corrections fits.
    Undetermined,
    /// The readings contradict every linear rotor: the best fit misses by more than a tenth of the readings, and there is no
    /// closed form.
    Impossible {
        /// The textbook's figure, with its negative square.
        closed_form: Option<ClosedForm>,
        /// The best of the bad fits.
        best: Option<Solution>,
    },
    /// No rotor on which the trial weights act fits better than one on which they do not.
    NoEffect {
        /// The textbook's figure, where there is one.
        closed_form: Option<ClosedForm>,
    },
    /// There was no vibration as found.
    NothingToCorrect,
}

impl Outcome {
    /// The stable number, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::without_phase::Outcome::Undetermined.code(), 3);
    /// ```
    pub const fn code(&self) -> i32 {
        match self {
            Self::Unique { .. } => 1,
            Self::Ambiguous { .. } => 2,
            Self::Undetermined => 3,
            Self::Impossible { .. } => 4,
            Self::NoEffect { .. } => 5,
            Self::NothingToCorrect => 6,
        }
    }
}

/// What the amplitudes say: every linear rotor that explains them best, and the correction it asks for.
///
/// `as_found` holds one reading of the bare rotor, or several, each of which counts. The sense of rotor angles does not
/// matter to the method; corrections come as vectors like everything else.
///
/// # Errors
/// [`WithoutPhaseError`] with the first reading or trial that cannot be one.
///
/// ```
/// use counterpoise::{UnbalanceVector, without_phase::{Trial, solve}};
/// let trial = Trial { unbalance: UnbalanceVector::from_components_gram_millimetres(100.0, 0.0)?, amplitude: -3.0 };
/// assert_eq!(
///     solve(&[2.0], &[trial]).unwrap_err().to_string(),
///     "trial 0: an amplitude must be finite and not negative, got -3.0",
/// );
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
pub fn solve(as_found: &[f64], trials: &[Trial]) -> Result<Outcome, WithoutPhaseError> {
    let runs: Vec<kernel::Trial> = trials
        .iter()
        .map(|trial| kernel::Trial {
            amount: trial.unbalance.amount().gram_millimetres(),
            angle_deg: trial.unbalance.angle().with_rotation().degrees(),
            amplitude: trial.amplitude,
        })
        .collect();
    if let Some(index) = trials.iter().position(|trial| !trial.unbalance.is_finite()) {
        return Err(WithoutPhaseError::Amount { index, gram_millimetres: f64::INFINITY });
    }
    Ok(match kernel::solve(as_found, &runs).map_err(error)? {
        kernel::Outcome::Unique { fit, next_local_minimum, mirages, closed_form } => Outcome::Unique {
            solution: solution(fit),
            next_best: next_local_minimum.map(solution),
            spurious_minima: mirages.iter().map(|mirage| mirage.sum_squares).collect(),
            closed_form: closed_form.map(textbook),
        },
        kernel::Outcome::Ambiguous { reason, fits, .. } => Outcome::Ambiguous {
            reason: match reason {
                kernel::Ambiguity::Line { axis_deg } => {
                    Ambiguity::OneLine { with_rotation_degrees: axis_deg }
                }
                kernel::Ambiguity::Circle => Ambiguity::TwoPlaces,
                kernel::Ambiguity::EqualFits => Ambiguity::EqualFits,
            },
            solutions: fits.into_iter().map(solution).collect(),
        },
        kernel::Outcome::Undetermined => Outcome::Undetermined,
        kernel::Outcome::Impossible { closed_form, best } => {
            Outcome::Impossible { closed_form: closed_form.map(textbook), best: best.map(solution) }
        }
        kernel::Outcome::NoEffect { closed_form } => {
            Outcome::NoEffect { closed_form: closed_form.map(textbook) }
        }
        kernel::Outcome::NothingToCorrect => Outcome::NothingToCorrect,
    })
}

fn correction(gram_millimetres: f64, with_rotation_degrees: f64) -> UnbalanceVector {
    let place = crate::angle::RotorAngle::from_with_rotation(Angle::reduced(with_rotation_degrees));
    UnbalanceVector::from_polar(Unbalance::canonical(gram_millimetres), place)
}

fn solution(fit: kernel::Fit) -> Solution {
    Solution {
        correction: correction(fit.correction_amount, fit.correction_deg),
        as_found_amplitude: fit.initial,
        influence_per_gram_millimetre: fit.effect,
        response_lead: Angle::reduced(fit.delta_deg),
        residuals: fit.residuals,
        sum_of_squares: fit.sum_squares,
        rms_residual: fit.rms,
    }
}

fn textbook(closed: kernel::ClosedForm) -> ClosedForm {
    ClosedForm {
        squared_influence: closed.a,
        influence_from_mean: closed.effect_from_a,
        influence_from_places: closed.effect_from_pq,
        response_lead: Angle::reduced(closed.delta_deg),
        inconsistency_ratio: closed.inconsistency_ratio,
        correction: closed.correction_amount.map(|amount| correction(amount, closed.correction_deg)),
    }
}

fn error(error: kernel::InputError) -> WithoutPhaseError {
    match error {
        kernel::InputError::NoAsFound => WithoutPhaseError::NoAsFound,
        kernel::InputError::NoTrials => WithoutPhaseError::NoTrials,
        kernel::InputError::AsFound { index, value } => WithoutPhaseError::AsFound { index, value },
        // An angle that is not finite comes from an unbalance that is not.
        kernel::InputError::Amount { index, value } | kernel::InputError::Angle { index, value } => {
            WithoutPhaseError::Amount { index, gram_millimetres: value }
        }
        kernel::InputError::Amplitude { index, value } => WithoutPhaseError::Amplitude { index, value },
    }
}
