//! A weight over two of the positions that a rotor has.

use counterpoise::relocation::{Material, Place, split, split_to_neighbours};
use counterpoise::{
    Hardware, Hole, HoleRing, Mass, PlacementProof, PlacementQuestion, RelocationError, UnbalanceVector,
};

use super::case::{Case, assert_near};
use super::rigid_design::{PLAIN, millimetres};
use crate::support::vectors::Fields;

/// The exact split, by closed form.
fn over_two_positions(case: &Case) {
    let (inputs, expected) = (case.inputs(), case.expected());
    let radius = millimetres(150.0);
    let mass = Mass::from_grams(inputs.number("mass_g")).unwrap();
    let wanted = PLAIN.weight(mass, radius, inputs.number("deg")).unwrap();
    let place = |degrees| Place::new(radius, PLAIN.place(degrees).unwrap());
    let places: Vec<Place> = inputs.numbers("positions_deg").into_iter().map(place).collect();
    let (before, after) = split_to_neighbours(wanted, &places).unwrap();
    let parts = [before, after.unwrap()];
    assert_eq!(expected.as_object().unwrap().len(), parts.len());
    for part in parts {
        let key = format!("at_{:.0}_g", part.weight.angle.with_rotation().degrees());
        assert_near(part.weight.mass.grams(), expected.number(&key), case.tolerance("mass_g"));
        assert_eq!(part.weight.angle, places[part.index].angle);
    }
    let sum = parts.iter().map(|part| part.weight.unbalance()).sum::<UnbalanceVector>();
    assert!((sum - wanted.unbalance()).amount().gram_millimetres() < 1e-11);

    // The rule: the positions must lie about the weight, less than half a turn apart; on one side means taking off.
    let opposite = Place::new(radius, parts[0].weight.angle.opposite());
    let in_line = split(wanted, places[parts[0].index], opposite, Material::AddedOrRemoved).unwrap_err();
    assert!(matches!(in_line, RelocationError::PlacesInLine { .. }), "{in_line}");
    let (first, second) = (place(inputs.number("deg") + 30.0), place(inputs.number("deg") + 90.0));
    let aside = split(wanted, first, second, Material::AddedOnly).unwrap_err();
    assert!(matches!(aside, RelocationError::NotBracketed { .. }), "{aside}");
    let [put_on, taken_off] = split(wanted, first, second, Material::AddedOrRemoved).unwrap();
    assert!(put_on.mass.grams() > 0.0 && taken_off.mass.grams() < 0.0);
}

/// The same in whole pieces of a gram, a tenth and a hundredth: among all pairs of positions the two neighbours take the
/// fewest pieces, and the counts are those of the split to the nearest piece or two. Where the rule says that there is no
/// split, the search proves what is left.
pub(crate) fn in_whole_pieces(case: &Case) {
    over_two_positions(case);
    let (inputs, expected) = (case.inputs(), case.expected());
    let (mass, degrees) = (inputs.number("mass_g"), inputs.number("deg"));
    let wanted =
        [PLAIN.weight(Mass::from_grams(mass).unwrap(), millimetres(150.0), degrees).unwrap().unbalance()];
    let positions = inputs.numbers("positions_deg");
    for piece in [1.0, 0.1, 0.01] {
        // Rounding both weights of a split moves the sum by at most half a piece along either: √3/2 pieces at 60 degrees.
        let eps = 0.87 * piece * 150.0;
        let question = PlacementQuestion::new(&[holes(&positions)], &[grams(piece)], &wanted).unwrap();
        let answer = question.within(eps).unwrap().solve(u64::MAX).unwrap();
        assert_eq!(answer.certificate().proof(), PlacementProof::Best);
        let changes = answer.best().changes();
        assert_eq!(changes.len(), expected.as_object().unwrap().len());
        for change in changes {
            let placed = f64::from(change.added[0].1) * piece;
            let split = expected.number(&format!("at_{:.0}_g", positions[change.hole]));
            // What is left, |δ₁ e₁ + δ₂ e₂| ≤ eps, bounds either δ by eps / (r sin 60°).
            assert_near(placed, split, eps / (150.0 * 0.866) + case.tolerance("mass_g"));
        }
        assert_eq!(answer.best().pieces(), fewest_in_pairs(mass, degrees, &positions, piece, eps));
    }

    // In line with each other: what lies across is left. Both on one side: what lies across the nearer is left, unless
    // material may be taken off at the farther.
    let least = |degrees: &[f64], hardware: &[Hardware]| {
        let answer =
            PlacementQuestion::new(&[holes(degrees)], hardware, &wanted).unwrap().solve(u64::MAX).unwrap();
        assert_eq!(answer.certificate().proof(), PlacementProof::Best);
        answer.best().residual()
    };
    let across = |apart: f64| mass * 150.0 * libm::sin(apart * (core::f64::consts::PI / 180.0)).abs();
    let piece = 0.1;
    let in_line = least(&[positions[0], positions[0] + 180.0], &[grams(piece)]);
    let expected = across(positions[0] - degrees);
    assert!(in_line >= expected - 1e-9 && in_line < expected + piece * 150.0, "{in_line} {expected}");
    let aside = [degrees + 30.0, degrees + 90.0];
    let left = least(&aside, &[grams(piece)]);
    assert!(left >= across(30.0) - 1e-9 && left < across(30.0) + piece * 150.0, "{left}");
    assert!(least(&aside, &[grams(piece), grams(-piece)]) < 0.87 * piece * 150.0);
}

fn grams(mass: f64) -> Hardware {
    Hardware::new("piece", Mass::from_grams(mass).unwrap())
}

fn holes(degrees: &[f64]) -> HoleRing {
    let hole = |&degrees: &f64| {
        Hole::new(millimetres(150.0), PLAIN.place(degrees).unwrap())
            .limit_mass(Mass::from_grams(60.0).unwrap())
    };
    HoleRing::listed(degrees.iter().map(hole).collect())
}

/// The fewest pieces at two positions within eps: every pair, every count of the first, the best of the second.
fn fewest_in_pairs(mass: f64, degrees: f64, positions: &[f64], piece: f64, eps: f64) -> u64 {
    let unit = |degrees: f64| crate::support::polar(150.0, degrees);
    let wanted = unit(degrees) * mass;
    let mut fewest = u64::MAX;
    for (at, &one) in positions.iter().enumerate() {
        for &two in &positions[at + 1..] {
            let (one, two) = (unit(one) * piece, unit(two) * piece);
            let mut count = 0_u32;
            while f64::from(count) * piece <= 60.0 + 1e-9 {
                let left = wanted - one * f64::from(count);
                // Counts about the projection: t = Re(l conj(e)) / |e|²
                let projected = (left * two.conj()).re / (two * two.conj()).re;
                let mut other = libm::floor(projected - 2.0).max(0.0);
                while other <= projected + 2.0 && other * piece <= 60.0 + 1e-9 {
                    if crate::support::modulus(left - two * other) <= eps {
                        #[allow(
                            clippy::cast_possible_truncation,
                            clippy::cast_sign_loss,
                            reason = "small whole"
                        )]
                        let pieces = u64::from(count) + other as u64;
                        fewest = fewest.min(pieces);
                    }
                    other += 1.0;
                }
                count += 1;
            }
        }
    }
    fewest
}
