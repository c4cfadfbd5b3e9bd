//! Correction: the unbalances to add that make the vibration smallest, what is then left, and the proof.
//!
//! min over w of sqrt(sum g |v + H w|^2) (least squares; T. P. Goodman, 1964) or of max sqrt(g) |v + H w| (min-max), with
//! limits in the planes. The proof is a dual point, which sets a lower bound that no admissible weights can fall below.

use alloc::vec::Vec;

use counterpoise::{
    Caution, Correction, CorrectionQuestion, InfluenceMatrix, Objective, Reading, Unbalance, UnbalanceVector,
    Vibration,
};

use crate::argument::{Options, handle, list, options, output, results};
use crate::caution::{cpoise_caution, write_all};
use crate::channel::cpoise_reading;
use crate::constant::chosen;
use crate::convention::{cpoise_unbalance_vector, cpoise_vibration};
use crate::detail::cpoise_detail;
use crate::failure::Failure;
use crate::influence::{cpoise_influence_matrix, each};
use crate::status::{CPOISE_NO_SUCH_INDEX, CPOISE_NO_VALUE, CPOISE_UNKNOWN_CONSTANT, cpoise_status};

constants! {
    /// What a correction makes smallest.
    Objective, "objective" {
        /// The weighted sum of squares over the channels. The default.
        CPOISE_LEAST_SQUARES = 1 => LeastSquares,
        /// The worst channel.
        CPOISE_MIN_MAX = 2 => MinMax,
    }
}

/// A limit on what is mounted in a plane afterwards, all together.
pub const CPOISE_LIMIT_TOTAL: i32 = 1;
/// A limit on what is added in a plane.
pub const CPOISE_LIMIT_ADDED: i32 = 2;

/// How much is allowed in a plane.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_plane_limit {
    /// The plane, counted from 0.
    pub plane: usize,
    /// CPOISE_LIMIT_TOTAL or CPOISE_LIMIT_ADDED.
    pub kind: i32,
    /// The limit, 0 or more; with 0 the plane takes no part.
    pub amount_g_mm: f64,
}

/// What else a correction is to keep to. Declared with CPOISE_CORRECTION_OPTIONS_INIT; every member may stay zero.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_correction_options {
    /// The size of this struct, as its INIT macro sets it.
    pub size: usize,
    /// CPOISE_LEAST_SQUARES (also 0) or CPOISE_MIN_MAX.
    pub objective: i32,
    /// What is mounted now, by plane: it enters the total, and limits on it. NULL for nothing.
    pub mounted_now: *const cpoise_unbalance_vector,
    /// How many there are: one per plane, or 0.
    pub mounted_count: usize,
    /// Weights g by channel, which multiply the squared residual. Channels in different units want weights that bring them
    /// to a common one. NULL for 1 each.
    pub channel_weights: *const f64,
    /// How many there are: one per channel, or 0.
    pub weight_count: usize,
    /// Limits in planes; a later one for the same plane replaces an earlier one. NULL for none.
    pub limits: *const cpoise_plane_limit,
    /// How many there are.
    pub limit_count: usize,
}

// SAFETY: repr(C), numbers and pointers, the size first.
unsafe impl Options for cpoise_correction_options {
    const FIRST_SIZE: usize = size_of::<Self>();
}

/// A correction. Never changes once it is made, and does not depend on the matrix.
pub struct cpoise_correction(pub Correction);

/// What a correction comes to.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_correction_summary {
    /// The value of the objective: sqrt(sum g |r|^2) or max sqrt(g) |r|.
    pub objective_value: f64,
    /// What no admissible weights can fall below, in the same unit.
    pub lower_bound: f64,
    /// The weighted root mean square of what is left: sqrt(sum g |r|^2 / sum g).
    pub weighted_rms: f64,
    /// The largest amplitude that is left, without regard to weights, each in its channel's unit.
    pub largest_amplitude: f64,
    /// The largest weighted amplitude that is left: max sqrt(g) |r|.
    pub largest_weighted_amplitude: f64,
}

/// A number of the proof: the dual point of one channel.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_complex {
    /// Real part.
    pub re: f64,
    /// Imaginary part.
    pub im: f64,
}

/// A channel or a plane of a proof, with its figure.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_share {
    /// The channel or plane, counted from 0.
    pub index: usize,
    /// Its figure.
    pub figure: f64,
}

unsafe fn solved(
    question: CorrectionQuestion<'_>,
    wanted: *const cpoise_correction_options,
) -> Result<cpoise_correction, Failure> {
    // SAFETY: the caller keeps the rules at the top of the header.
    let (wanted, mounted, weights, limits) = unsafe {
        let wanted = options(wanted, "options")?;
        (
            wanted,
            list(wanted.mounted_now, wanted.mounted_count, "mounted_now")?,
            list(wanted.channel_weights, wanted.weight_count, "channel_weights")?,
            list(wanted.limits, wanted.limit_count, "limits")?,
        )
    };
    let mut question = question;
    if wanted.objective != 0 {
        question = question.objective(chosen(wanted.objective)?);
    }
    if !mounted.is_empty() {
        let mounted: Vec<UnbalanceVector> = each(mounted)?;
        question = question.mounted_now(&mounted)?;
    }
    if !weights.is_empty() {
        question = question.channel_weights(weights);
    }
    for limit in limits {
        let amount = Unbalance::from_gram_millimetres(limit.amount_g_mm)?;
        question = match limit.kind {
            CPOISE_LIMIT_TOTAL => question.limit_total(limit.plane, amount),
            CPOISE_LIMIT_ADDED => question.limit_added(limit.plane, amount),
            other => {
                return Err(Failure::new(
                    CPOISE_UNKNOWN_CONSTANT,
                    format_args!(
                        "kind of limit {other} is not known: take one of the constants in the header"
                    ),
                ));
            }
        };
    }
    Ok(cpoise_correction(question.solve()?))
}

/// Computes a correction from vibrations.
///
/// now: the vibration of every channel, a list of count in the order of the matrix, with everything on that is mounted now:
/// that of cpoise_fit_as_found with nothing mounted. options: NULL for least squares with nothing mounted and no limits.
/// correction: the new handle.
///
/// Refuses: another count (401), a weight that cannot be one (403, 405), numbers that are not finite (101, 406, 407) or
/// beyond range (104), a limit for a plane that does not exist (408) or below zero (409), planes without an effect of their
/// own and without a limit (410), a result beyond range (412); CPOISE_BAD_SIZE, CPOISE_UNKNOWN_CONSTANT,
/// CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_correction_new(
    matrix: *const cpoise_influence_matrix,
    now: *const cpoise_vibration,
    count: usize,
    options: *const cpoise_correction_options,
    correction: *mut *mut cpoise_correction,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let correction = handle::new(correction)?;
        let matrix: &InfluenceMatrix = &handle::shared(matrix, "matrix")?.0;
        let now: Vec<Vibration> = each(list(now, count, "now")?)?;
        correction.write(solved(CorrectionQuestion::new(matrix, &now)?, options)?);
        Ok(())
    })
}

/// The same from readings, which must be of the channels of the matrix, in their order: trim balancing with known
/// coefficients, by one reading and no trial run.
///
/// Refuses: as cpoise_correction_new; a reading of another channel (402), one that cannot be a reading (101 to 104, 201, 202,
/// 205, 206, CPOISE_OUT_OF_RANGE).
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_correction_from_readings_new(
    matrix: *const cpoise_influence_matrix,
    now: *const cpoise_reading,
    count: usize,
    options: *const cpoise_correction_options,
    correction: *mut *mut cpoise_correction,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let correction = handle::new(correction)?;
        let matrix: &InfluenceMatrix = &handle::shared(matrix, "matrix")?.0;
        let now: Vec<Reading> = each(list(now, count, "now")?)?;
        correction.write(solved(CorrectionQuestion::from_readings(matrix, &now)?, options)?);
        Ok(())
    })
}

/// Frees a correction; NULL is nothing to free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_correction_free(correction: *mut cpoise_correction) {
    guarded_value!((), { handle::free(correction) });
}

/// What to add to what is mounted now, by plane.
///
/// Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_correction_added(
    correction: *const cpoise_correction,
    unbalances: *mut cpoise_unbalance_vector,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let unbalances = results(unbalances, capacity, used, "unbalances")?;
        unbalances.write(handle::shared(correction, "correction")?.0.added().iter().map(|u| (*u).into()))
    })
}

/// What is mounted afterwards, by plane: what was said to be mounted now, and what is added.
///
/// Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_correction_total(
    correction: *const cpoise_correction,
    unbalances: *mut cpoise_unbalance_vector,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let unbalances = results(unbalances, capacity, used, "unbalances")?;
        unbalances.write(handle::shared(correction, "correction")?.0.total().iter().map(|u| (*u).into()))
    })
}

/// The vibration that is left at every channel, as predicted: r = v + H w.
///
/// Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_correction_predicted(
    correction: *const cpoise_correction,
    vibrations: *mut cpoise_vibration,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let vibrations = results(vibrations, capacity, used, "vibrations")?;
        vibrations.write(handle::shared(correction, "correction")?.0.predicted().iter().map(|v| (*v).into()))
    })
}

/// What a correction comes to: its value, the bound that proves it, and what is left.
///
/// Refuses: CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_correction_get_summary(
    correction: *const cpoise_correction,
    summary: *mut cpoise_correction_summary,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let summary = output(summary, "summary")?;
        let of = &handle::shared(correction, "correction")?.0;
        summary.write(cpoise_correction_summary {
            objective_value: of.objective_value(),
            lower_bound: of.certificate().lower_bound(),
            weighted_rms: of.weighted_rms(),
            largest_amplitude: of.largest_amplitude(),
            largest_weighted_amplitude: of.largest_weighted_amplitude(),
        });
        Ok(())
    })
}

/// The dual point y of the proof, by channel. No admissible weights have a value below
/// Re sum conj(y_k) v_k - sum over limited planes of L_p |sum conj(h_kp) y_k|.
///
/// Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_correction_dual(
    correction: *const cpoise_correction,
    dual: *mut cpoise_complex,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let dual = results(dual, capacity, used, "dual")?;
        let point = handle::shared(correction, "correction")?.0.certificate().dual();
        dual.write(point.iter().map(|y| cpoise_complex { re: y.re, im: y.im }))
    })
}

/// The channels that decide a min-max value, with their shares, which sum to 1; none for least squares.
///
/// Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_correction_active_channels(
    correction: *const cpoise_correction,
    channels: *mut cpoise_share,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let channels = results(channels, capacity, used, "channels")?;
        let active = handle::shared(correction, "correction")?.0.certificate().active_channels();
        channels.write(active.iter().map(|of| cpoise_share { index: of.channel, figure: of.share }))
    })
}

/// The planes at their limit, each with what one g mm more would take off the value.
///
/// Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_correction_planes_at_limit(
    correction: *const cpoise_correction,
    planes: *mut cpoise_share,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let planes = results(planes, capacity, used, "planes")?;
        let limited = handle::shared(correction, "correction")?.0.certificate().planes_at_limit();
        planes.write(
            limited.iter().map(|of| cpoise_share { index: of.plane, figure: of.gain_per_gram_millimetre }),
        )
    })
}

/// What to think of before mounting it.
///
/// Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_correction_cautions(
    correction: *const cpoise_correction,
    cautions: *mut cpoise_caution,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let cautions = results(cautions, capacity, used, "cautions")?;
        write_all(cautions, handle::shared(correction, "correction")?.0.cautions())
    })
}

/// The combination of unbalances that is least seen, by plane, of 1 g mm together: that of a caution of
/// CPOISE_CAUTION_ILL_CONDITIONED_PLANES.
///
/// caution: its index in cpoise_correction_cautions.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_NO_VALUE for another caution, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE,
/// CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_correction_least_seen(
    correction: *const cpoise_correction,
    caution: usize,
    unbalances: *mut cpoise_unbalance_vector,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let unbalances = results(unbalances, capacity, used, "unbalances")?;
        match handle::shared(correction, "correction")?.0.cautions().get(caution) {
            Some(Caution::IllConditionedPlanes { combination, .. }) => {
                unbalances.write(combination.iter().map(|u| (*u).into()))
            }
            Some(_) => {
                Err(Failure::new(CPOISE_NO_VALUE, format_args!("caution {caution} has no combination")))
            }
            None => {
                Err(Failure::new(CPOISE_NO_SUCH_INDEX, format_args!("there is no caution {caution}, from 0")))
            }
        }
    })
}
