//! Which function runs which group of which file.

use crate::case::Case;
use crate::checks::Checks;
use crate::node::Problem;
use crate::{
    coverage, history, holes, mistakes, moves, nonphase, optimum, signal, singular, textbook, tolerance,
    uncertainty, units,
};

/// Compares every expected field of a case with what the library answers.
pub(crate) type Group = fn(&Case<'_>, &mut Checks) -> Result<(), Problem>;

/// The group of that name in the file of that name; `None` where the name is not known.
pub(crate) fn of(file: &str, group: &str) -> Option<Group> {
    Some(match (file, group) {
        ("units", "vibration") => units::vibration,
        ("units", "phase") => units::phase,
        ("units", "mass") => units::mass,
        ("units", "length") => units::length,
        ("units", "unbalance") => units::unbalance,
        ("units", "force") => units::force,
        ("singleplane", "1p1s_jeffcott" | "1p1s_propeller" | "1p1s_noisy" | "1pms_least_squares")
        | ("multiplane", "2x2" | "4s2p3speeds" | "4s2p3speeds_weighted" | "N_planes") => textbook::textbook,
        ("multiplane", "singular") => singular::singular,
        ("optimum", "minmax" | "minmax_weighted" | "ls_limited" | "minmax_limited") => optimum::optimum,
        (
            "history",
            "equal_weights" | "weighted_runs" | "outlier" | "undetermined" | "exactly_determined",
        ) => history::history,
        ("moves", "other_radius") => moves::other_radius,
        ("moves", "combine") => moves::combination,
        ("moves", "split_two_holes") => holes::split_two_holes,
        ("moves", "split_symmetric") => holes::symmetric,
        ("moves", "nearest_hole") => holes::nearest_hole,
        ("moves", "least_mass_capped") => holes::least_mass_capped,
        ("moves", "other_plane_influence") => moves::other_plane,
        ("moves", "two_planes_statics") => moves::two_planes_statics,
        ("moves", "temporary_to_permanent") => moves::temporary_to_permanent,
        ("nonphase", "three_trials_exact") => nonphase::exact,
        ("nonphase", "two_trials_ambiguous") => nonphase::ambiguous,
        ("nonphase", "degenerate") => nonphase::degenerate,
        ("nonphase", "inconsistent_least_squares") => nonphase::least_squares,
        ("nonphase", "impossible") => nonphase::impossible,
        ("mistakes", "strong" | "clean" | "undecidable") => mistakes::mistakes,
        ("uncertainty", "1plane" | "1plane_trial_uncertain" | "first_order_fails") => uncertainty::one_plane,
        ("uncertainty", "2x2" | "least_squares") => uncertainty::planes,
        ("coverage", "known_noise" | "repeated_readings" | "residuals") => coverage::coverage,
        ("signal", "record") => signal::record,
        ("tolerance", "grade") => tolerance::grade,
        ("tolerance", "grade_of_residual") => tolerance::grade_of_residual,
        ("tolerance", "allocation") => tolerance::allocation,
        ("tolerance", "four_W_over_N") => tolerance::four_w_over_n,
        ("tolerance", "planes_to_bearings") => tolerance::planes_to_bearings,
        ("tolerance", "pass_fail") => tolerance::pass_fail,
        _ => return None,
    })
}
