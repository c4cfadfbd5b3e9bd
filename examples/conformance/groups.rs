//! Which function runs which group of which file.

use crate::case::Case;
use crate::checks::Checks;
use crate::node::Problem;
use crate::{
    coverage, history, holes, mistakes, moves, nonphase, optimum, signal, singular, textbook, uncertainty,
    units,
};

/// What to do with the cases of a group.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Group {
    /// Compares every expected field with what the library answers.
    Run(fn(&Case<'_>, &mut Checks) -> Result<(), Problem>),
    /// The library does not have it yet: the cases are skipped.
    Later,
}

/// The group of that name in the file of that name; `None` where the name is not known.
pub(crate) fn of(file: &str, group: &str) -> Option<Group> {
    Some(match (file, group) {
        ("units", "vibration") => Group::Run(units::vibration),
        ("units", "phase") => Group::Run(units::phase),
        ("units", "mass") => Group::Run(units::mass),
        ("units", "length") => Group::Run(units::length),
        ("units", "unbalance") => Group::Run(units::unbalance),
        ("units", "force") => Group::Run(units::force),
        ("singleplane", "1p1s_jeffcott" | "1p1s_propeller" | "1p1s_noisy" | "1pms_least_squares")
        | ("multiplane", "2x2" | "4s2p3speeds" | "4s2p3speeds_weighted" | "N_planes") => {
            Group::Run(textbook::textbook)
        }
        ("multiplane", "singular") => Group::Run(singular::singular),
        ("optimum", "minmax" | "minmax_weighted" | "ls_limited" | "minmax_limited") => {
            Group::Run(optimum::optimum)
        }
        (
            "history",
            "equal_weights" | "weighted_runs" | "outlier" | "undetermined" | "exactly_determined",
        ) => Group::Run(history::history),
        ("moves", "other_radius") => Group::Run(moves::other_radius),
        ("moves", "combine") => Group::Run(moves::combination),
        ("moves", "split_two_holes") => Group::Run(holes::split_two_holes),
        ("moves", "split_symmetric") => Group::Run(holes::symmetric),
        ("moves", "nearest_hole") => Group::Run(holes::nearest_hole),
        ("moves", "least_mass_capped") => Group::Run(holes::least_mass_capped),
        ("moves", "other_plane_influence") => Group::Run(moves::other_plane),
        ("moves", "two_planes_statics") => Group::Run(moves::two_planes_statics),
        ("moves", "temporary_to_permanent") => Group::Run(moves::temporary_to_permanent),
        ("nonphase", "three_trials_exact") => Group::Run(nonphase::exact),
        ("nonphase", "two_trials_ambiguous") => Group::Run(nonphase::ambiguous),
        ("nonphase", "degenerate") => Group::Run(nonphase::degenerate),
        ("nonphase", "inconsistent_least_squares") => Group::Run(nonphase::least_squares),
        ("nonphase", "impossible") => Group::Run(nonphase::impossible),
        ("mistakes", "strong" | "clean" | "undecidable") => Group::Run(mistakes::mistakes),
        ("uncertainty", "1plane" | "1plane_trial_uncertain" | "first_order_fails") => {
            Group::Run(uncertainty::one_plane)
        }
        ("uncertainty", "2x2" | "least_squares") => Group::Run(uncertainty::planes),
        ("coverage", "known_noise" | "repeated_readings" | "residuals") => Group::Run(coverage::coverage),
        ("signal", "record") => Group::Run(signal::record),
        ("tolerance", _) => Group::Later,
        _ => return None,
    })
}
