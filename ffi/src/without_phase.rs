//! Balancing without phase: the correction from amplitudes alone.
//!
//! One reading as found and one with a trial weight at each of several places, the last weight taken off each time. For a
//! linear rotor A_i = |v0 + H u_i|. Three trials in different directions settle it, more are fitted by least squares, two
//! leave two answers. Readings that no linear rotor can give are told from a poor fit.

use counterpoise::without_phase::{Ambiguity, ClosedForm, Outcome, Solution, Trial, solve};

use alloc::vec::Vec;

use crate::argument::{handle, list, output, results};
use crate::convention::cpoise_unbalance_vector;
use crate::detail::cpoise_detail;
use crate::failure::Failure;
use crate::influence::each;
use crate::status::{CPOISE_NO_SUCH_INDEX, CPOISE_NO_VALUE, cpoise_status};

// What amplitudes alone can say; the same numbers as in Rust.

/// One rotor fits best: solution 0. Solution 1, where there is one, is the next higher local minimum.
pub const CPOISE_OUTCOME_UNIQUE: i32 = 1;
/// Several rotors fit alike: all solutions, by rising angle of the correction. Only one of them is the machine.
pub const CPOISE_OUTCOME_AMBIGUOUS: i32 = 2;
/// One trial, or all trials at one place: a whole circle of corrections fits.
pub const CPOISE_OUTCOME_UNDETERMINED: i32 = 3;
/// The readings contradict every linear rotor. Solution 0, where there is one, is the best of the bad fits.
pub const CPOISE_OUTCOME_IMPOSSIBLE: i32 = 4;
/// No rotor on which the trial weights act fits better than one on which they do not.
pub const CPOISE_OUTCOME_NO_EFFECT: i32 = 5;
/// There was no vibration as found.
pub const CPOISE_OUTCOME_NOTHING_TO_CORRECT: i32 = 6;

// Why more than one rotor shows the same amplitudes; the same numbers as in Rust.

/// All trial places lie on one line through the shaft's centre: add a trial off the line.
pub const CPOISE_AMBIGUITY_ONE_LINE: i32 = 1;
/// Two places leave two answers: add a trial at a third place.
pub const CPOISE_AMBIGUITY_TWO_PLACES: i32 = 2;
/// Several rotors fit these readings equally badly: read again, or add a trial at another place.
pub const CPOISE_AMBIGUITY_EQUAL_FITS: i32 = 3;

/// One trial run: the unbalance of the weight that was mounted for it, alone, and the amplitude it gave.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_amplitude_trial {
    /// What was mounted.
    pub unbalance: cpoise_unbalance_vector,
    /// What was read, in the unit and detector of the reading as found.
    pub amplitude: f64,
}

/// What amplitudes say. Never changes once it is made.
pub struct cpoise_without_phase(Outcome);

/// What the amplitudes came to.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_without_phase_outcome {
    /// A CPOISE_OUTCOME_ number.
    pub outcome: i32,
    /// For CPOISE_OUTCOME_AMBIGUOUS a CPOISE_AMBIGUITY_ number; else 0.
    pub ambiguity: i32,
    /// For CPOISE_AMBIGUITY_ONE_LINE where the line points, in degrees with rotation from the mark, in [0, 180); else 0.
    pub line_with_rotation_deg: f64,
    /// How many solutions there are.
    pub solutions: usize,
    /// 1 where there is a closed form; else 0.
    pub has_closed_form: i32,
}

/// A linear rotor that explains the amplitudes, and the correction it asks for.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_amplitude_solution {
    /// What to mount, with the trial weights off.
    pub correction: cpoise_unbalance_vector,
    /// The amplitude as found, as fitted.
    pub as_found_amplitude: f64,
    /// The size of the influence coefficient, in the unit of the readings per g mm.
    pub influence_per_g_mm: f64,
    /// How far the response to an unbalance at the mark leads the vibration as found, in degrees.
    pub response_lead_deg: f64,
    /// The sum of squared residuals.
    pub sum_of_squares: f64,
    /// The root of their mean square: the misfit, in the unit of the readings.
    pub rms_residual: f64,
}

/// The textbook's figure beside the fit, from three or more trials; NaN for what there is not.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_closed_form {
    /// The squared influence coefficient, per g^2 mm^2; negative where the readings contradict a linear rotor, or by noise.
    pub squared_influence: f64,
    /// The influence coefficient from it, per g mm; NaN unless it is positive.
    pub influence_from_mean: f64,
    /// The influence coefficient from how the amplitude changes with the place, per g mm.
    pub influence_from_places: f64,
    /// As that of a solution.
    pub response_lead_deg: f64,
    /// The first coefficient over the second: 1 for consistent readings; NaN where there is none.
    pub inconsistency_ratio: f64,
    /// 1 where there is a correction with the first coefficient; else 0.
    pub has_correction: i32,
    /// That correction; zero where there is none.
    pub correction: cpoise_unbalance_vector,
}

impl TryFrom<cpoise_amplitude_trial> for Trial {
    type Error = Failure;
    fn try_from(from: cpoise_amplitude_trial) -> Result<Self, Failure> {
        Ok(Self { unbalance: from.unbalance.try_into()?, amplitude: from.amplitude })
    }
}

fn solutions(outcome: &Outcome) -> Vec<&Solution> {
    match outcome {
        Outcome::Unique { solution, next_best, .. } => core::iter::once(solution).chain(next_best).collect(),
        Outcome::Ambiguous { solutions, .. } => solutions.iter().collect(),
        Outcome::Impossible { best, .. } => best.iter().collect(),
        _ => Vec::new(),
    }
}

fn closed_form(outcome: &Outcome) -> Option<ClosedForm> {
    match outcome {
        Outcome::Unique { closed_form, .. }
        | Outcome::Impossible { closed_form, .. }
        | Outcome::NoEffect { closed_form } => *closed_form,
        _ => None,
    }
}

unsafe fn solution_of<'a>(
    answer: *const cpoise_without_phase,
    which: usize,
) -> Result<&'a Solution, Failure> {
    // SAFETY: the caller keeps the rules at the top of the header.
    let outcome = unsafe { &handle::shared(answer, "answer")?.0 };
    solutions(outcome).get(which).copied().ok_or_else(|| {
        Failure::new(CPOISE_NO_SUCH_INDEX, format_args!("there is no solution {which}, counted from 0"))
    })
}

/// What the amplitudes say: every linear rotor that explains them best.
///
/// as_found: readings without a trial weight, a list of as_found_count. trials: a list of trial_count.
///
/// Refuses: no reading as found (651), no trial (652), amplitudes that cannot be (653, 655), a trial weight that makes no
/// unbalance (654), numbers that are not finite (101) or beyond range (104), CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_without_phase_new(
    as_found: *const f64,
    as_found_count: usize,
    trials: *const cpoise_amplitude_trial,
    trial_count: usize,
    answer: *mut *mut cpoise_without_phase,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let answer = handle::new(answer)?;
        let as_found = list(as_found, as_found_count, "as_found")?;
        let trials: Vec<Trial> = each(list(trials, trial_count, "trials")?)?;
        answer.write(cpoise_without_phase(solve(as_found, &trials)?));
        Ok(())
    })
}

/// Frees an answer; NULL is nothing to free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_without_phase_free(answer: *mut cpoise_without_phase) {
    guarded_value!((), { handle::free(answer) });
}

/// What the amplitudes came to.
///
/// Refuses: CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_without_phase_get_outcome(
    answer: *const cpoise_without_phase,
    outcome: *mut cpoise_without_phase_outcome,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let outcome = output(outcome, "outcome")?;
        let of = &handle::shared(answer, "answer")?.0;
        let (ambiguity, line) = match of {
            Outcome::Ambiguous { reason: Ambiguity::OneLine { with_rotation_degrees }, .. } => {
                (CPOISE_AMBIGUITY_ONE_LINE, *with_rotation_degrees)
            }
            Outcome::Ambiguous { reason, .. } => (reason.code(), 0.0),
            _ => (0, 0.0),
        };
        outcome.write(cpoise_without_phase_outcome {
            outcome: of.code(),
            ambiguity,
            line_with_rotation_deg: line,
            solutions: solutions(of).len(),
            has_closed_form: closed_form(of).is_some().into(),
        });
        Ok(())
    })
}

/// A solution, counted from 0.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_without_phase_solution(
    answer: *const cpoise_without_phase,
    which: usize,
    solution: *mut cpoise_amplitude_solution,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let solution = output(solution, "solution")?;
        let of = solution_of(answer, which)?;
        solution.write(cpoise_amplitude_solution {
            correction: of.correction.into(),
            as_found_amplitude: of.as_found_amplitude,
            influence_per_g_mm: of.influence_per_gram_millimetre,
            response_lead_deg: of.response_lead.degrees(),
            sum_of_squares: of.sum_of_squares,
            rms_residual: of.rms_residual,
        });
        Ok(())
    })
}

/// Measured less fitted of a solution: the readings as found first, then the trials, in the order given.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_without_phase_residuals(
    answer: *const cpoise_without_phase,
    which: usize,
    residuals: *mut f64,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let residuals = results(residuals, capacity, used, "residuals")?;
        residuals.write(solution_of(answer, which)?.residuals.iter().copied())
    })
}

/// The textbook's figure beside the fit.
///
/// Refuses: CPOISE_NO_VALUE where there is none, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_without_phase_closed_form(
    answer: *const cpoise_without_phase,
    closed: *mut cpoise_closed_form,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let closed = output(closed, "closed")?;
        let of = closed_form(&handle::shared(answer, "answer")?.0)
            .ok_or_else(|| Failure::new(CPOISE_NO_VALUE, format_args!("these trials have no closed form")))?;
        closed.write(cpoise_closed_form {
            squared_influence: of.squared_influence,
            influence_from_mean: of.influence_from_mean.unwrap_or(f64::NAN),
            influence_from_places: of.influence_from_places,
            response_lead_deg: of.response_lead.degrees(),
            inconsistency_ratio: of.inconsistency_ratio.unwrap_or(f64::NAN),
            has_correction: of.correction.is_some().into(),
            correction: of.correction.unwrap_or_default().into(),
        });
        Ok(())
    })
}
