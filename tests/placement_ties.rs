//! Wanted unbalances that pieces can meet exactly, in rings whose holes are exact sums of each other: many placements leave
//! nothing, and the rule among equals decides. Every placement is tried.

#![allow(clippy::unwrap_used)] // a test fails by panicking

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
const STACKS: [[u32; 2]; 6] = [[0, 0], [1, 0], [0, 1], [2, 0], [1, 1], [0, 2]];

/// Holes, pieces and grams of every placement, with its moment in units of half a radius along 0 and 90 degrees: exact, but
/// for the factor √3 of the second.
fn every(of: &mut impl FnMut(usize, u32, u32, [i32; 2])) {
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
            let mass = (ones + 2 * twos).cast_signed();
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
            assert_eq!((found.changes().len(), found.pieces()), (holes, u64::from(pieces)), "{moment:?}");
            assert!((found.net_mass().grams() - f64::from(grams)).abs() < 1e-9, "{moment:?}");
        }
    }
    // The moments that can be met, each in three norms.
    assert_eq!(best.len(), 217);
}
