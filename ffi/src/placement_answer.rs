//! The answer to a placement: which pieces go into which holes, and what is proven of it.
//!
//! A front of residual against pieces is had from questions for the least residual with CPOISE_LIMIT_PIECES 0, 1, 2, ...

use alloc::vec::Vec;

use counterpoise::{Placement, PlacementProof, PlacementTolerance, Unbalance};

use crate::argument::{handle, output, results};
use crate::caution::{cpoise_caution, write_all};
use crate::convention::{cpoise_unbalance_vector, cpoise_vibration};
use crate::detail::cpoise_detail;
use crate::failure::Failure;
use crate::placement::cpoise_placement_answer;
use crate::status::{CPOISE_NO_SUCH_INDEX, CPOISE_NO_VALUE, cpoise_status};

// What is proven of an answer; the same numbers as in Rust.

/// No placement within the limits is better.
pub const CPOISE_PROOF_BEST: i32 = 1;
/// No placement leaves as little as eps. The nearest found is given, and not proven nearest.
pub const CPOISE_PROOF_NONE_WITHIN: i32 = 2;
/// No placement in at most so many holes is better; more holes were not looked at to the end.
pub const CPOISE_PROOF_BEST_IN_HOLES: i32 = 3;
/// No placement that handles at most so many pieces is better; more were not looked at to the end.
pub const CPOISE_PROOF_BEST_IN_PIECES: i32 = 4;
/// Stopped before anything was proven but the lower bound.
pub const CPOISE_PROOF_STOPPED: i32 = 5;

// What decided the usual eps; the same numbers as in Rust.

/// 1 % of what is wanted.
pub const CPOISE_NEAR_WANTED: i32 = 1;
/// 0.3 of the usual scatter of weights and readings.
pub const CPOISE_NEAR_SCATTER: i32 = 2;
/// 0.3 of the stated scatter of weights and readings.
pub const CPOISE_NEAR_STATED_SCATTER: i32 = 3;
/// 5 % of the permissible residual.
pub const CPOISE_NEAR_PERMISSIBLE: i32 = 4;
/// Half the permissible residual, which is never exceeded.
pub const CPOISE_NEAR_HALF_PERMISSIBLE: i32 = 5;

/// Pieces of one kind put on or taken off at one hole.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_placement_change {
    /// The ring.
    pub ring: usize,
    /// The hole in the ring.
    pub hole: usize,
    /// The kind of hardware.
    pub hardware: usize,
    /// Pieces to put on.
    pub added: u32,
    /// Pieces to take off.
    pub removed: u32,
}

/// What a placement comes to.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_placement_summary {
    /// What is left: in g mm, or in the channels' unit for a question through coefficients.
    pub residual: f64,
    /// Holes touched.
    pub holes: usize,
    /// Pieces handled, put on or taken off.
    pub pieces: u64,
    /// The net mass added in g.
    pub net_mass_g: f64,
    /// The moment in g mm that works against what is placed: what lies more than a quarter turn from the unbalance placed
    /// in its plane, along it. Zero is best.
    pub heavy_side_moment_g_mm: f64,
}

/// How good an answer is known to be.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_placement_certificate {
    /// A CPOISE_PROOF_ number.
    pub proof: i32,
    /// 1 where the search came to its end, so that nothing better is possible within the limits; else 0.
    pub proven: i32,
    /// For CPOISE_PROOF_BEST_IN_HOLES and CPOISE_PROOF_BEST_IN_PIECES: how many of them; else 0.
    pub proven_up_to: u64,
    /// What the residual of no placement within the limits falls below; eps, where none is within it.
    pub lower_bound: f64,
    /// The steps that were spent.
    pub steps: u64,
    /// 1 where the search ended because the rest does not fit into the memory allowed; else 0.
    pub out_of_memory: i32,
}

/// The usual eps: how near is near enough.
/// max(1 % of what is wanted, 0.3 of the scatter, 5 % of the permissible residual), never above half the permissible
/// residual. Scatter as is usual, unless it is stated: piece mass 0.5 %, wanted correction 3 % and 2 degrees. Common
/// practice, no source.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_placement_tolerance {
    /// The eps, in the residual's unit.
    pub eps: f64,
    /// What decided it: a CPOISE_NEAR_ number.
    pub reason: i32,
    /// What not even the best correction takes off, which does not count against the placement; 0 for an unbalance.
    pub unavoidable: f64,
}

impl From<PlacementTolerance> for cpoise_placement_tolerance {
    fn from(from: PlacementTolerance) -> Self {
        Self { eps: from.eps(), reason: from.reason().code(), unavoidable: from.unavoidable() }
    }
}

/// Frees an answer; NULL is nothing to free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_answer_free(answer: *mut cpoise_placement_answer) {
    guarded_value!((), { handle::free(answer) });
}

/// What is proven.
///
/// Refuses: CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_answer_certificate(
    answer: *const cpoise_placement_answer,
    certificate: *mut cpoise_placement_certificate,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let certificate = output(certificate, "certificate")?;
        let of = handle::shared(answer, "answer")?.0.certificate();
        let proven_up_to = match of.proof() {
            PlacementProof::BestInHoles(holes) => u64::try_from(holes).unwrap_or(u64::MAX),
            PlacementProof::BestInPieces(pieces) => pieces.into(),
            _ => 0,
        };
        certificate.write(cpoise_placement_certificate {
            proof: of.proof().code(),
            proven: of.is_proven().into(),
            proven_up_to,
            lower_bound: of.lower_bound(),
            steps: of.steps(),
            out_of_memory: of.out_of_memory().into(),
        });
        Ok(())
    })
}

/// How many placements an answer has: the best, and its runners-up, each on other holes than those before it.
///
/// Refuses: CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_answer_count(
    answer: *const cpoise_placement_answer,
    count: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let count = output(count, "count")?;
        count.write(1 + handle::shared(answer, "answer")?.0.runners_up().len());
        Ok(())
    })
}

unsafe fn placement_of<'a>(
    answer: *const cpoise_placement_answer,
    which: usize,
) -> Result<&'a Placement, Failure> {
    // SAFETY: the caller keeps the rules at the top of the header.
    let answer = unsafe { &handle::shared(answer, "answer")?.0 };
    match which.checked_sub(1) {
        None => Ok(answer.best()),
        Some(runner_up) => answer.runners_up().get(runner_up).ok_or_else(|| {
            Failure::new(
                CPOISE_NO_SUCH_INDEX,
                format_args!(
                    "there is no placement {which}: there are {}, counted from 0",
                    1 + answer.runners_up().len()
                ),
            )
        }),
    }
}

/// What a placement comes to.
///
/// which: 0 for the best, from 1 for the runners-up, here and in the calls below.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_answer_summary(
    answer: *const cpoise_placement_answer,
    which: usize,
    summary: *mut cpoise_placement_summary,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let summary = output(summary, "summary")?;
        let of = placement_of(answer, which)?;
        summary.write(cpoise_placement_summary {
            residual: of.residual(),
            holes: of.changes().len(),
            pieces: of.pieces(),
            net_mass_g: of.net_mass().grams(),
            heavy_side_moment_g_mm: of.heavy_side_moment().gram_millimetres(),
        });
        Ok(())
    })
}

/// What changes, hole by hole and kind by kind, at each hole first what is put on; what stays as it is is left out.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_answer_changes(
    answer: *const cpoise_placement_answer,
    which: usize,
    changes: *mut cpoise_placement_change,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let changes = results(changes, capacity, used, "changes")?;
        let mut rows = Vec::new();
        for at in placement_of(answer, which)?.changes() {
            let (ring, hole) = (at.ring, at.hole);
            rows.extend(at.added.iter().map(|&(hardware, added)| cpoise_placement_change {
                ring,
                hole,
                hardware,
                added,
                removed: 0,
            }));
            rows.extend(at.removed.iter().map(|&(hardware, removed)| cpoise_placement_change {
                ring,
                hole,
                hardware,
                added: 0,
                removed,
            }));
        }
        changes.write(rows.into_iter())
    })
}

/// The unbalance added in each plane.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_answer_placed(
    answer: *const cpoise_placement_answer,
    which: usize,
    unbalances: *mut cpoise_unbalance_vector,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let unbalances = results(unbalances, capacity, used, "unbalances")?;
        unbalances.write(placement_of(answer, which)?.placed().iter().map(|u| (*u).into()))
    })
}

/// What is still wanted in each plane.
///
/// Refuses: CPOISE_NO_VALUE where vibration was asked about, CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL,
/// CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_answer_left(
    answer: *const cpoise_placement_answer,
    which: usize,
    unbalances: *mut cpoise_unbalance_vector,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let unbalances = results(unbalances, capacity, used, "unbalances")?;
        let left = placement_of(answer, which)?.left().ok_or_else(|| {
            Failure::new(CPOISE_NO_VALUE, format_args!("vibration was asked about: see what is predicted"))
        })?;
        unbalances.write(left.iter().map(|u| (*u).into()))
    })
}

/// The vibration that every channel should show next.
///
/// Refuses: CPOISE_NO_VALUE where no coefficients were given, CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL,
/// CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_answer_predicted(
    answer: *const cpoise_placement_answer,
    which: usize,
    vibrations: *mut cpoise_vibration,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let vibrations = results(vibrations, capacity, used, "vibrations")?;
        let predicted = placement_of(answer, which)?.predicted().ok_or_else(|| {
            Failure::new(CPOISE_NO_VALUE, format_args!("no coefficients were given: see what is left"))
        })?;
        vibrations.write(predicted.iter().map(|v| (*v).into()))
    })
}

/// How far each plane's placed unbalance scatters, in g mm: the root mean square length of its error when the moment of
/// every changed hole scatters on its own, by a share of its size (mass) and by an angle (place):
/// s^2 = sum |u_h|^2 (s_m^2 + s_b^2), to first order.
///
/// mass_share: such as 0.005. angle_deg: such as 0.5.
///
/// Refuses: a result that is not finite (101) or beyond range (104), CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL,
/// CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_answer_scatter(
    answer: *const cpoise_placement_answer,
    which: usize,
    mass_share: f64,
    angle_deg: f64,
    scatter_g_mm: *mut f64,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let scatter_g_mm = results(scatter_g_mm, capacity, used, "scatter_g_mm")?;
        let scatter = placement_of(answer, which)?.scatter(mass_share, angle_deg);
        let checked: Vec<f64> = scatter
            .into_iter()
            .map(|of| {
                Unbalance::from_gram_millimetres(of.gram_millimetres()).map(Unbalance::gram_millimetres)
            })
            .collect::<Result<_, _>>()?;
        scatter_g_mm.write(checked.into_iter())
    })
}

/// The usual eps, and why it is so.
///
/// Refuses: CPOISE_NO_VALUE where neither CPOISE_AIM_USUAL nor CPOISE_AIM_SCATTER asked for it, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_answer_tolerance(
    answer: *const cpoise_placement_answer,
    tolerance: *mut cpoise_placement_tolerance,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let tolerance = output(tolerance, "tolerance")?;
        tolerance.write(handle::shared(answer, "answer")?.0.tolerance().map(Into::into).ok_or_else(
            || Failure::new(CPOISE_NO_VALUE, format_args!("the question did not ask for the usual eps")),
        )?);
        Ok(())
    })
}

/// What to think of before mounting it.
///
/// Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_answer_cautions(
    answer: *const cpoise_placement_answer,
    cautions: *mut cpoise_caution,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let cautions = results(cautions, capacity, used, "cautions")?;
        write_all(cautions, handle::shared(answer, "answer")?.0.cautions())
    })
}
