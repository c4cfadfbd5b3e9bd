//! Published cases, and constructed ones of the same kind, through the public interface.
//!
//! The data stand in `tests/published`, one file per source, each case with its source, how it was seen, and on what its
//! expected figures rest. Only figures that a source itself prints count as evidence from outside; the last test says how
//! many of each kind were run, and fails where a case in the data has no check.
#![cfg(feature = "alloc")]
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a test fails by panicking")]

mod support;

#[path = "published/case.rs"]
mod case;
#[path = "published/multi_plane.rs"]
mod multi_plane;
#[path = "published/one_and_two_planes.rs"]
mod one_and_two_planes;
#[path = "published/rigid_design.rs"]
mod rigid_design;
#[path = "published/split.rs"]
mod split;
#[path = "published/tolerance.rs"]
mod tolerance;
#[path = "published/two_plane_design.rs"]
mod two_plane_design;
#[path = "published/uncertainty.rs"]
mod uncertainty;
#[path = "published/units.rs"]
mod units;
#[path = "published/whirl.rs"]
mod whirl;
#[path = "published/without_phase.rs"]
mod without_phase;

use std::collections::BTreeMap;

use case::Case;

/// One test per case, and the table of all of them.
macro_rules! checks {
    ($($name:ident: $file:literal, $id:literal, $check:path;)+) => {
        $(
            #[test]
            fn $name() {
                $check(&Case::read($file, $id));
            }
        )+

        const CHECKS: &[(&str, &str, fn(&Case))] = &[$(($file, $id, $check)),+];
    };
}

checks! {
    rao_flywheel: "rao", "A1-rao-flywheel", one_and_two_planes::flywheel;
    rao_grinding_wheel: "rao", "A3-rao-grinding-1200", one_and_two_planes::grinding_wheel;
    lag_and_lead: "constructed", "A5-lag-lead-pair", one_and_two_planes::lag_and_lead;
    trial_left_on: "constructed", "A6-trial-left-on", one_and_two_planes::trial_left_on;
    rao_turbine: "rao", "B1-rao-turbine-two-plane", one_and_two_planes::turbine;
    yu_trial_matrix: "yu", "B4-general-trial-matrix", one_and_two_planes::general_trial_matrix;
    three_points: "three_point_test", "C1-three-point-10-14-20-7", without_phase::three_points;
    two_trials: "constructed", "C4-two-trial-ambiguity", without_phase::two_trials;
    goodman_four_objectives: "goodman", "D2-lsq-3sensors-2speeds-2planes", multi_plane::all_objectives;
    rao_whirl: "rao", "D5-jeffcott-whirl", whirl::jeffcott;
    sarkar_four_masses: "sarkar", "E1-sarkar-8-1", rigid_design::one_plane;
    khurmi_four_masses: "khurmi", "E3-khurmi-21-1", rigid_design::one_plane;
    notes_three_masses: "rotating_machinery_notes", "E4-notes-exercise-4", rigid_design::one_plane;
    lesson_three_masses: "balancing_lesson", "E5-three-masses-3-1-4kg", rigid_design::one_plane;
    norton_two_masses: "norton", "E6-norton-12-1", rigid_design::one_plane;
    sarkar_planes_x_and_y: "sarkar", "E8-sarkar-8-3-khurmi-21-2", two_plane_design::planes_x_and_y;
    norton_planes_a_and_b: "norton", "E9-norton-12-2", two_plane_design::planes_a_and_b;
    bevan_mass_outside: "bevan", "E10a-bevan-14-1a", two_plane_design::one_mass;
    bevan_mass_between: "bevan", "E10b-bevan-14-1b", two_plane_design::one_mass;
    sarkar_four_planes_by_stations: "sarkar", "E11-sarkar-8-4", two_plane_design::four_planes_by_stations;
    sarkar_four_planes_by_masses: "sarkar", "E13-four-planes-AD", two_plane_design::four_planes_by_masses;
    xie_uniform_rotor: "xie", "D1-flexible-rotor-rigid-two-plane", two_plane_design::uniform_rotor;
    foiles_six_positions: "foiles", "H1-split-6-positions", split::in_whole_pieces;
    split_across_zero: "constructed", "H4-split-across-zero", split::in_whole_pieces;
    easa_in_mm: "easa", "I1-easa-in-mm", units::inch_and_millimetre;
    chain_of_units: "constructed", "I2-chain-0.2ips-2400rpm", units::chain;
    neqsim_ounce_inch: "neqsim", "I4-ozin-gmm", units::ounce_inch;
    gum_impedance: "gum", "J1-gum-h2", uncertainty::impedance;
    gum_small_vector: "gum", "J3-jcgm102-polar-r0", uncertainty::small_vector;
    gum_sum_of_four: "gum", "J6-gum-s1-additive", uncertainty::sum_of_four;
    average_across_zero: "constructed", "J5-vector-average", uncertainty::vector_average;
    handbook_force: "handbook_rules", "I5-centrifugal-1.77", units::centrifugal_force;
    handbook_trial_weight: "handbook_rules", "K1-trial-10-percent-imperial", units::trial_weight_by_static_load;
    thirty_thirty: "field_practice", "K3-30-30-rule", units::thirty_thirty;
    iso_turbine: "iso_1940_1", "F1-iso1940-turbine-allocation", tolerance::turbine;
    energy_tech_grade: "energy_tech", "F2-iso-imperial-15000", tolerance::imperial_grade;
    energy_tech_journal: "energy_tech", "F3-api-4WN", tolerance::journal;
    naval_ranges: "mil_std_167_1", "F5-mil-167-1-ranges", tolerance::naval_ranges;
    journal_rule_as_a_grade: "kanesdictionary", "F6-api-vs-G", tolerance::journal_rule_as_a_grade;
    neqsim_shop_test: "neqsim", "F7-api617-vibration-and-671-floor", tolerance::shop_test_and_floor;
    zones_by_group: "iso_20816_3", "F9-iso20816-3-zones", tolerance::zones_by_group;
    zones_by_class: "iso_10816_1", "F10-iso10816-1-classes", tolerance::zones_by_class;
    list_of_grades: "iso_21940_11", "F11-iso21940-11-grades", tolerance::list_of_grades;
    inboard_limits: "iso_21940_11", "F12-inboard-clamp", tolerance::inboard_limits;
    bloch_geitner_halves: "bloch_geitner", "F16-two-plane-half", tolerance::halves;
    propeller_maker: "hartzell", "G1-propeller-limit-0.2ips", tolerance::propeller_maker;
}

/// Whether the expected figures are those that the source itself gives: "published", "published (as recalled)",
/// "published (graphical)" and the like; not "published method, figures recomputed", not "rule published …, numbers
/// constructed".
fn is_outside_evidence(basis: &str) -> bool {
    basis == "published" || basis.starts_with("published (")
}

#[test]
fn every_case_is_run_and_outside_evidence_is_counted() {
    let mut run = Vec::new();
    let mut by_basis: BTreeMap<String, usize> = BTreeMap::new();
    for file in case::files() {
        for case in case::all(&file) {
            let id = case.id();
            let Some((_, _, check)) = CHECKS.iter().find(|(of, named, _)| *of == file && *named == id) else {
                panic!("{file}.json: no check for {id}");
            };
            check(&case);
            run.push(id.to_owned());
            *by_basis.entry(case.basis().to_owned()).or_default() += 1;
        }
    }
    let outside: usize =
        by_basis.iter().filter(|(basis, _)| is_outside_evidence(basis)).map(|(_, count)| count).sum();
    for (basis, count) in &by_basis {
        let kind = if is_outside_evidence(basis) { "outside evidence" } else { "own figures" };
        println!("{count:3}  {kind:16}  {basis}");
    }
    println!("{:3}  in all, {outside} of them with figures from outside", run.len());
    assert_eq!(run.len(), CHECKS.len(), "a check has no case, or a case stands in two files");
    assert_eq!((run.len(), outside), (46, 24));
    run.sort();
    run.dedup();
    assert_eq!(run.len(), CHECKS.len(), "two cases have one name");
}
