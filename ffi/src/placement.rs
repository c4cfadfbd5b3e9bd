//! Placement: which pieces go into which holes, with the proof that none do better.
//!
//! A question is put together from rings of holes, a list of hardware and what is wanted, with options; a search begins
//! from it and is advanced by so many steps at a time, which gives progress and a way to stop; at any time it has an
//! answer, which says what is proven of it. Holes, rings, planes and hardware are counted from 0, as they were given.

use alloc::vec::Vec;

use counterpoise::{
    InfluenceMatrix, Mass, PlacementAnswer, PlacementNorm, PlacementQuestion, PlacementSearch,
    UnbalanceVector, Vibration,
};

use crate::argument::{Options, handle, list, options, output};
use crate::constant::chosen;
use crate::convention::{cpoise_unbalance_vector, cpoise_vibration};
use crate::detail::cpoise_detail;
use crate::failure::Failure;
use crate::influence::{cpoise_influence_matrix, each};
use crate::rings::{all_hardware, cpoise_hardware, cpoise_rings};
use crate::status::{CPOISE_UNKNOWN_CONSTANT, cpoise_status};

constants! {
    /// How large a residual is.
    PlacementNorm, "norm" {
        /// The root of the sum of squares over planes, or over weighted channels. The default.
        CPOISE_NORM_EUCLIDEAN = 1 => Euclidean,
        /// The worst plane, or the worst weighted channel.
        CPOISE_NORM_WORST = 2 => Worst,
        /// The largest component of all vectors.
        CPOISE_NORM_WORST_COMPONENT = 3 => WorstComponent,
    }
}

// What the best placement is.

/// The least residual; among ties the fewest holes, then pieces, then mass. The default.
pub const CPOISE_AIM_LEAST: i32 = 1;
/// The fewest holes, then pieces, then mass, that leave no more than eps.
pub const CPOISE_AIM_WITHIN: i32 = 2;
/// The fewest pieces put on and taken off, then holes, then mass, that leave no more than eps.
pub const CPOISE_AIM_LEAST_CHANGE: i32 = 3;
/// As CPOISE_AIM_WITHIN, with the usual eps for what is wanted.
pub const CPOISE_AIM_USUAL: i32 = 4;
/// As CPOISE_AIM_USUAL, with a stated scatter in the place of the usual one.
pub const CPOISE_AIM_SCATTER: i32 = 5;

// What is limited; no numbers of the limits of a correction.

/// Holes touched, over all planes.
pub const CPOISE_LIMIT_HOLES: i32 = 11;
/// Holes touched in one plane.
pub const CPOISE_LIMIT_HOLES_IN_PLANE: i32 = 12;
/// Pieces handled, put on or taken off.
pub const CPOISE_LIMIT_PIECES: i32 = 13;
/// Net mass added, over all planes.
pub const CPOISE_LIMIT_NET_MASS: i32 = 14;

/// A question for a placement. Never changes once it is made, and does not depend on what it was made from.
pub struct cpoise_placement_question(PlacementQuestion);

/// A search, which goes on call by call. Does not depend on its question.
pub struct cpoise_placement_search(PlacementSearch);

/// An answer. Never changes, and does not depend on its search.
pub struct cpoise_placement_answer(pub(crate) PlacementAnswer);

/// A limit of a placement as a whole.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_placement_limit {
    /// One of CPOISE_LIMIT_HOLES, CPOISE_LIMIT_HOLES_IN_PLANE, CPOISE_LIMIT_PIECES and CPOISE_LIMIT_NET_MASS.
    pub kind: i32,
    /// The most holes or pieces; not read for net mass.
    pub most: u32,
    /// The plane, for CPOISE_LIMIT_HOLES_IN_PLANE; else not read.
    pub plane: usize,
    /// The most mass in g, for CPOISE_LIMIT_NET_MASS; else not read.
    pub mass_g: f64,
}

/// What else is asked of a placement. Declared with CPOISE_PLACEMENT_OPTIONS_INIT; every member may stay zero.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_placement_options {
    /// The size of this struct, as its INIT macro sets it.
    pub size: usize,
    /// CPOISE_NORM_EUCLIDEAN (also 0), CPOISE_NORM_WORST or CPOISE_NORM_WORST_COMPONENT.
    pub norm: i32,
    /// CPOISE_AIM_LEAST (also 0) or another CPOISE_AIM_.
    pub aim: i32,
    /// For CPOISE_AIM_WITHIN and CPOISE_AIM_LEAST_CHANGE: how much may be left, in the residual's unit.
    pub eps: f64,
    /// For CPOISE_AIM_SCATTER: the root mean square size of the error of what is wanted and of what is placed, together.
    pub scatter: f64,
    /// For CPOISE_AIM_USUAL and CPOISE_AIM_SCATTER: the permissible residual, in the residual's unit; 0 for none stated.
    pub permissible: f64,
    /// How many answers, no two of them on the same holes: 1 to 1000; 0 is 1, more than 1000 is 1000.
    pub answers: usize,
    /// Weights g by channel, which multiply the squared residual, for a question through coefficients. NULL for 1 each.
    pub channel_weights: *const f64,
    /// How many there are: one per channel, or 0.
    pub weight_count: usize,
    /// Limits; a later one of the same kind (and plane) replaces an earlier one. NULL for none.
    pub limits: *const cpoise_placement_limit,
    /// How many there are.
    pub limit_count: usize,
    /// The memory that lists of sums may take, at least 1048576 bytes; 0 for 200 MiB.
    pub memory_bytes: usize,
}

// SAFETY: repr(C), numbers and pointers, the size first.
unsafe impl Options for cpoise_placement_options {
    const FIRST_SIZE: usize = size_of::<Self>();
}

/// A question with what its options add.
unsafe fn with_options(
    question: PlacementQuestion,
    wanted: *const cpoise_placement_options,
) -> Result<cpoise_placement_question, Failure> {
    // SAFETY: the caller keeps the rules at the top of the header.
    let (wanted, weights, limits) = unsafe {
        let wanted = options(wanted, "options")?;
        (
            wanted,
            list(wanted.channel_weights, wanted.weight_count, "channel_weights")?,
            list(wanted.limits, wanted.limit_count, "limits")?,
        )
    };
    let unknown = |what: &str, number: i32| {
        Failure::new(
            CPOISE_UNKNOWN_CONSTANT,
            format_args!("{what} {number} is not known: take one of the constants in the header"),
        )
    };
    let mut question = question;
    if wanted.norm != 0 {
        question = question.norm(chosen(wanted.norm)?);
    }
    if !weights.is_empty() {
        question = question.channel_weights(weights)?;
    }
    // Not a number is stated, and refused.
    let permissible = if wanted.permissible == 0.0 { None } else { Some(wanted.permissible) };
    question = match wanted.aim {
        0 | CPOISE_AIM_LEAST => question,
        CPOISE_AIM_WITHIN => question.within(wanted.eps)?,
        CPOISE_AIM_LEAST_CHANGE => question.least_change_within(wanted.eps)?,
        CPOISE_AIM_USUAL => question.within_usual(permissible)?,
        CPOISE_AIM_SCATTER => question.within_scatter(wanted.scatter, permissible)?,
        other => return Err(unknown("aim", other)),
    };
    if wanted.answers != 0 {
        question = question.best_of_different_holes(wanted.answers);
    }
    if wanted.memory_bytes != 0 {
        question = question.limit_memory(wanted.memory_bytes)?;
    }
    for limit in limits {
        let holes = usize::try_from(limit.most).unwrap_or(usize::MAX);
        question = match limit.kind {
            CPOISE_LIMIT_HOLES => question.limit_holes(holes),
            CPOISE_LIMIT_HOLES_IN_PLANE => question.limit_holes_in_plane(limit.plane, holes)?,
            CPOISE_LIMIT_PIECES => question.limit_pieces(limit.most),
            CPOISE_LIMIT_NET_MASS => question.limit_net_mass(Mass::from_grams(limit.mass_g)?)?,
            other => return Err(unknown("kind of limit", other)),
        };
    }
    Ok(cpoise_placement_question(question))
}

/// Asks for an unbalance to be added to what is mounted now, one vector per plane. Residuals are in g mm.
///
/// rings and hardware are copied; hardware is a list of hardware_count, wanted one of wanted_count. options: NULL for the
/// least residual without limits. question: the new handle.
///
/// Refuses: no holes (801), no hardware (802), a piece without mass (803) or of negative thickness (804), a limit that
/// cannot be (805, 812, 816), too many holes (808) or planes (818), a hole that says of another number of kinds what is in
/// it (809), a ring in a plane without a wanted vector (810), channel weights where there are no channels (811), too little
/// memory (814), numbers that are not finite (101) or beyond range (104); CPOISE_BAD_SIZE, CPOISE_UNKNOWN_CONSTANT,
/// CPOISE_NOT_UTF8, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_question_new(
    rings: *const cpoise_rings,
    hardware: *const cpoise_hardware,
    hardware_count: usize,
    wanted: *const cpoise_unbalance_vector,
    wanted_count: usize,
    options: *const cpoise_placement_options,
    question: *mut *mut cpoise_placement_question,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let question = handle::new(question)?;
        let rings = &handle::shared(rings, "rings")?.0;
        let hardware = all_hardware(hardware, hardware_count)?;
        let wanted: Vec<UnbalanceVector> = each(list(wanted, wanted_count, "wanted")?)?;
        question.write(with_options(PlacementQuestion::new(rings, &hardware, &wanted)?, options)?);
        Ok(())
    })
}

/// Asks for the vibration to become small through influence coefficients. Residuals are in the channels' unit.
///
/// now: the vibration of every channel, a list of count in the order of the matrix, with everything on that is mounted
/// now. All else as in cpoise_placement_question_new.
///
/// Refuses: as cpoise_placement_question_new; another count of vibrations or of weights (811), weights that cannot be
/// (812) or are all zero (817).
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_question_through_new(
    rings: *const cpoise_rings,
    hardware: *const cpoise_hardware,
    hardware_count: usize,
    matrix: *const cpoise_influence_matrix,
    now: *const cpoise_vibration,
    count: usize,
    options: *const cpoise_placement_options,
    question: *mut *mut cpoise_placement_question,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let question = handle::new(question)?;
        let rings = &handle::shared(rings, "rings")?.0;
        let matrix: &InfluenceMatrix = &handle::shared(matrix, "matrix")?.0;
        let hardware = all_hardware(hardware, hardware_count)?;
        let now: Vec<Vibration> = each(list(now, count, "now")?)?;
        question.write(with_options(PlacementQuestion::through(rings, &hardware, matrix, &now)?, options)?);
        Ok(())
    })
}

/// Frees a question; NULL is nothing to free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_question_free(question: *mut cpoise_placement_question) {
    guarded_value!((), { handle::free(question) });
}

/// A search, not yet begun.
///
/// Refuses: nothing that limits a stack (806), a hole that allows too many different stacks (807), numbers beyond range
/// (815), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_search_new(
    question: *const cpoise_placement_question,
    search: *mut *mut cpoise_placement_search,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let search = handle::new(search)?;
        search.write(cpoise_placement_search(handle::shared(question, "question")?.0.search()?));
        Ok(())
    })
}

/// Frees a search; NULL is nothing to free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_search_free(search: *mut cpoise_placement_search) {
    guarded_value!((), { handle::free(search) });
}

/// Goes on by at most about so many steps. The answer depends on how many there were in all, and not on the clock.
///
/// ended: 1 when the search has come to its end, and more steps change nothing; else 0.
///
/// Refuses: CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_search_advance(
    search: *mut cpoise_placement_search,
    steps: u64,
    ended: *mut i32,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let ended = output(ended, "ended")?;
        ended.write(handle::exclusive(search, "search")?.0.advance(steps).into());
        Ok(())
    })
}

/// How many steps were spent.
///
/// Refuses: CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_search_steps(
    search: *const cpoise_placement_search,
    steps: *mut u64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let steps = output(steps, "steps")?;
        steps.write(handle::shared(search, "search")?.0.steps());
        Ok(())
    })
}

/// The best so far, and what is proven of it; the search can go on afterwards.
///
/// Refuses: CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_search_answer_new(
    search: *const cpoise_placement_search,
    answer: *mut *mut cpoise_placement_answer,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let answer = handle::new(answer)?;
        answer.write(cpoise_placement_answer(handle::shared(search, "search")?.0.answer()));
        Ok(())
    })
}
