//! Wanted unbalances that pieces can meet exactly, in rings whose holes are exact sums of each other: many placements leave
//! nothing, and the rule among equals decides. Every placement is tried.

#![allow(clippy::unwrap_used, clippy::indexing_slicing)] // a test fails by panicking

use counterpoise::{
    Hardware, HoleCircle, HoleRing, Mass, PlacementNorm, PlacementQuestion, Radius, RotorAngle, RotorSense,
    UnbalanceVector,
};

const HOLES: usize = 6;
/// Grams.
const MASSES: [f64; 2] = [1.0, 2.0];
const NORMS: [PlacementNorm; 3] =
    [PlacementNorm::Euclidean, PlacementNorm::Worst, PlacementNorm::WorstComponent];

/// The stacks of at most two pieces: counts per kind.
const STACKS: [[i32; 2]; 6] = [[0, 0], [1, 0], [0, 1], [2, 0], [1, 1], [0, 2]];

/// Holes, pieces and grams of every placement, with its moment in units of half a radius along 0 and 90 degrees: exact, but
/// for the factor √3 of the second.
fn every(of: &mut impl FnMut(usize, i32, i32, [i32; 2])) {
    // cos and sin/√3 of k · 60 degrees, doubled
    const ARMS: [[i32; 2]; HOLES] = [[2, 0], [1, 1], [-1, 1], [-2, 0], [-1, -1], [1, -1]];
    for number in 0..STACKS.len().pow(6) {
        let (mut rest, mut holes, mut pieces, mut grams, mut moment) = (number, 0, 0, 0, [0, 0]);
        for arm in ARMS {
            let [ones, twos] = STACKS[rest % STACKS.len()];
            rest /= STACKS.len();
            holes += usize::from(ones + twos > 0);
            pieces += ones + twos;
            grams += ones + 2 * twos;
            let mass = ones + 2 * twos;
            moment = [moment[0] + mass * arm[0], moment[1] + mass * arm[1]];
        }
        of(holes, pieces, grams, moment);
    }
}

#[test]
fn among_placements_that_leave_nothing_the_rule_decides() {
    let mut best = std::collections::BTreeMap::new();
    every(&mut |holes, pieces, grams, moment| {
        let rank = (holes, pieces, grams);
        best.entry(moment).and_modify(|least| *least = rank.min(*least)).or_insert(rank);
    });
    let circle = HoleCircle::new(6, RotorAngle::MARK, RotorSense::WithRotation).unwrap();
    let radius = Radius::from_millimetres(100.0).unwrap();
    let ring = HoleRing::even(circle, radius).each(|hole| hole.limit_pieces(2));
    let hardware = MASSES.map(|grams| Hardware::new("piece", Mass::from_grams(grams).unwrap()));
    for (&moment, &(holes, pieces, grams)) in &best {
        let [x, y] = moment.map(f64::from);
        let wanted =
            [UnbalanceVector::from_components_gram_millimetres(x * 50.0, y * 50.0 * libm::sqrt(3.0))];
        let wanted = wanted.map(Result::unwrap);
        for norm in NORMS {
            let question = PlacementQuestion::new(std::slice::from_ref(&ring), &hardware, &wanted).unwrap();
            let answer = question.norm(norm).solve(u64::MAX).unwrap();
            let found = answer.best();
            assert!(answer.certificate().is_proven() && found.residual() < 1e-6, "{moment:?} {answer:?}");
            assert_eq!(
                (found.changes().len(), found.pieces()),
                (holes, u64::try_from(pieces).unwrap()),
                "{moment:?}"
            );
            assert!((found.net_mass().grams() - f64::from(grams)).abs() < 1e-9, "{moment:?}");
        }
    }
    // The moments that can be met, each in three norms.
    assert_eq!(best.len(), 217);
}

#[test]
fn a_first_placement_within_eps_is_not_the_answer_before_its_level_is_done() {
    // Drawn: five pieces in four holes lie within eps, and so do four.
    let circle = HoleCircle::new(12, RotorAngle::MARK, RotorSense::WithRotation).unwrap();
    let most = [2, 2, 0, 1, 0, 2, 2, 2, 2, 1, 1, 2];
    let mut ring = HoleRing::even(circle, Radius::from_millimetres(100.0).unwrap());
    for (hole, most) in most.into_iter().enumerate() {
        ring = ring.at(hole, |hole| hole.limit_pieces(most));
    }
    let grams = |grams| Mass::from_grams(grams).unwrap();
    ring =
        ring.at(0, |hole| hole.limit_mass(grams(5.233_696))).at(7, |hole| hole.limit_mass(grams(5.597_036)));
    let masses = [3.927_193_1, 3.910_178_1, 4.299_108_2, 3.652_677_6];
    let mut hardware = masses.map(|mass| Hardware::new("piece", grams(mass)));
    hardware[0] = hardware[0].clone().in_stock(1);
    let wanted = [UnbalanceVector::from_components_gram_millimetres(-234.66, -16.4585).unwrap()];
    let question =
        PlacementQuestion::new(&[ring], &hardware, &wanted).unwrap().norm(PlacementNorm::WorstComponent);
    let answer = question.within(7.563_45).unwrap().solve(u64::MAX).unwrap();
    assert_eq!((answer.best().changes().len(), answer.best().pieces()), (4, 4));
}
