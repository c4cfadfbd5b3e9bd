//! Any bits in the calls around the estimate: first weights, views, amplitudes alone, moves.

use counterpoise::first_weight::{FirstWeight, Polarity, Regime, Sensor, SizeRule};
use counterpoise::relocation::{
    CappedPlace, LeastMass, MassStep, Material, Place, PlaneUnbalance, StaticCouple, in_two_planes,
    largest_reachable, least_mass, nearest_place, nearest_reachable, split, split_symmetric,
    split_to_neighbours, to_other_plane,
};
use counterpoise::without_phase::{Outcome, Trial, solve};
use counterpoise::{
    Angle, Force, HoleCircle, Influence, Length, Mass, Radius, RotorSense, Speed, Turning, Unbalance,
    UnbalanceVector, Vibration, View, Viewpoint, Weight,
};
use proptest::collection::vec;
use proptest::prelude::*;

use super::draws::{Count, channel_of, convention, number, over, pair};

#[test]
fn first_weights() {
    let (made, placed) = (Count::default(), Count::default());
    over(10_000, (vec(number(), 8), any::<[u8; 4]>()), |(n, [bits, at, polarity, kind])| {
        let Some(channel) = channel_of(1, [n[0].abs(), 1.0], bits) else { return Ok(()) };
        let Ok(reading) = channel.reading(n[1].abs(), n[2]) else { return Ok(()) };
        let rule = match kind % 3 {
            0 => Force::from_newtons(n[3]).map(|load| SizeRule::static_load_fraction(load, n[4])),
            1 => Mass::from_grams(n[3]).map(SizeRule::mass_controlled),
            _ => Unbalance::from_gram_millimetres(n[3])
                .map(|amount| SizeRule::per_vibration(amount, channel.unit(), n[4], "any")),
        };
        let by_influence = Influence::from_components_per_gram_millimetre(n[3], n[4])
            .map(|influence| FirstWeight::by_influence(&reading, influence, "any"));
        let (Ok(direction), Ok(pickup)) = (Angle::from_degrees(n[5]), Angle::from_degrees(n[6])) else {
            return Ok(());
        };
        let polarity = if polarity % 2 == 0 { Polarity::Along } else { Polarity::Against };
        let regime = match (Speed::from_rpm(n[7]), at % 3) {
            (Ok(resonance), 0) => {
                Regime::from_resonance(reading.speed(), resonance).unwrap_or(Regime::FarAboveResonance)
            }
            (_, 1) => Regime::FarBelowResonance,
            _ => Regime::Stated(direction),
        };
        let by_rule = match rule {
            Ok(Ok(rule)) => {
                made.one();
                FirstWeight::by_rule(&reading, &rule, Sensor::new(direction, pickup, polarity), regime).ok()
            }
            _ => None,
        };
        for first in by_rule.into_iter().chain(by_influence.ok().and_then(Result::ok)) {
            placed.one();
            prop_assert!(first.estimate().is_finite() && first.advised().is_finite());
            if let Ok(first) = first.with_starting_fraction(n[4]) {
                prop_assert!(first.advised().is_finite());
            }
        }
        Ok(())
    });
    made.at_least(300);
    placed.at_least(300);
}

#[test]
fn views_and_holes() {
    let read = Count::default();
    let draws = (any::<[u16; 3]>(), vec(number(), 3), any::<u8>(), any::<u32>());
    over(10_000, draws, |([count, index, first_number], n, bits, hole)| {
        let convention = convention(bits);
        let (Ok(first), Ok(place), Ok(mark)) =
            (convention.place(n[0]), convention.place(n[1]), Angle::from_degrees(n[2]))
        else {
            return Ok(());
        };
        let turning = if bits & 4 == 0 { Turning::Clockwise } else { Turning::CounterClockwise };
        let viewpoint = if bits & 8 == 0 { Viewpoint::Front } else { Viewpoint::Rear };
        let mut view = View::new(viewpoint, turning, mark);
        if let Ok(circle) = HoleCircle::new(count, first, convention.rotor) {
            let circle = circle.numbered_from(first_number);
            prop_assert_eq!(circle.place(index).is_some(), index < count);
            prop_assert!(circle.nearest(place) < count);
            let of_number = circle.index_of(hole).and_then(|index| circle.number(index));
            prop_assert!(of_number.is_none_or(|number| number == hole));
            view = view.with_holes(circle);
        }
        let _ = view.place_of_hole(hole);
        prop_assert!((0.0..360.0).contains(&view.seen(place).degrees()));
        // The other side sees the mirror image.
        let mirrored = -view.from_the_other_side().seen(place);
        prop_assert!(mirrored.separation_degrees(view.seen(place)) <= 1e-12);
        // What is printed in full precision is read back, and so is what the other side sees.
        for view in [view, view.from_the_other_side()] {
            let words = format!("{:.12}", view.locate(place, convention.rotor));
            let back = view.read(&words).unwrap();
            let off = back.with_rotation().separation_degrees(place.with_rotation());
            prop_assert!(off <= 1e-9, "{words}: {off}");
            read.one();
        }
        Ok(())
    });
    read.at_least(5_000);
}

#[test]
fn words_of_any_kind() {
    let view = View::new(Viewpoint::Front, Turning::Clockwise, Angle::ZERO);
    let said = view
        .locate(RotorSense::AgainstRotation.degrees(96.0).unwrap(), RotorSense::AgainstRotation)
        .to_string();
    let draws = (any::<String>(), vec((any::<prop::sample::Index>(), any::<char>()), 0..=4));
    over(5_000, draws, |(text, changes)| {
        let _ = view.read(&text);
        let mut words: Vec<char> = said.chars().collect();
        for (at, letter) in changes {
            let at = at.index(words.len());
            words[at] = letter;
        }
        let _ = view.read(&words.iter().collect::<String>());
        Ok(())
    });
    assert!(view.read(&said).is_ok());
}

#[test]
fn amplitudes_without_phase() {
    let (solved, unique) = (Count::default(), Count::default());
    let usual = || prop_oneof![9 => (0..=900_i32).prop_map(|n| f64::from(n) / 64.0), 1 => number()];
    let trial = (vec(usual(), 2), usual());
    over(4_000, (vec(usual(), 0..=2), vec(trial, 0..=5)), |(as_found, trials)| {
        let trials: Vec<Trial> = trials
            .into_iter()
            .filter_map(|(u, amplitude)| {
                let unbalance =
                    UnbalanceVector::from_components_gram_millimetres(u[0] - 7.0, u[1] - 7.0).ok()?;
                Some(Trial { unbalance, amplitude })
            })
            .collect();
        let Ok(outcome) = solve(&as_found, &trials) else { return Ok(()) };
        solved.one();
        let (solutions, closed): (Vec<_>, _) = match outcome {
            Outcome::Unique { solution, next_best, closed_form, .. } => {
                unique.one();
                (core::iter::once(solution).chain(next_best).collect(), closed_form)
            }
            Outcome::Ambiguous { solutions, .. } => (solutions, None),
            Outcome::Impossible { closed_form, best } => (best.into_iter().collect(), closed_form),
            Outcome::NoEffect { closed_form } => (Vec::new(), closed_form),
            _ => (Vec::new(), None),
        };
        for solution in solutions {
            prop_assert!(solution.correction.is_finite(), "{solution:?}");
            prop_assert!(
                solution.as_found_amplitude.is_finite() && solution.influence_per_gram_millimetre.is_finite()
            );
            prop_assert!(solution.rms_residual.is_finite() && solution.sum_of_squares.is_finite());
            prop_assert!(solution.residuals.iter().all(|residual| residual.is_finite()));
        }
        if let Some(closed) = closed {
            prop_assert!(closed.squared_influence.is_finite() && closed.influence_from_places.is_finite());
            prop_assert!(closed.correction.is_none_or(UnbalanceVector::is_finite), "{closed:?}");
        }
        Ok(())
    });
    solved.at_least(1_000);
    unique.at_least(300);
}

/// Places at any angle and radius, some with a cap.
fn places() -> impl Strategy<Value = Vec<CappedPlace>> {
    let usual = || (0..=24_i32).prop_map(|step| 15.0 * f64::from(step));
    let odd = |weight: f64| prop::option::weighted(weight, number());
    let one = (usual(), odd(0.05), 50..=300_u32, odd(0.05), -1..=40_i32, odd(0.1));
    vec(one, 0..=7).prop_map(|list| {
        let place = |(degrees, odd_degrees, radius, odd_radius, cap, odd_cap): (
            f64,
            Option<f64>,
            u32,
            Option<f64>,
            i32,
            Option<f64>,
        )| {
            let angle = RotorSense::WithRotation.degrees(odd_degrees.unwrap_or(degrees)).ok()?;
            let radius = Radius::from_millimetres(odd_radius.unwrap_or_else(|| f64::from(radius))).ok()?;
            let cap = match odd_cap {
                Some(odd) => Mass::from_grams(odd).ok(),
                None => (cap >= 0).then(|| Mass::from_grams(f64::from(cap)).unwrap()),
            };
            Some(CappedPlace { place: Place::new(radius, angle), cap })
        };
        list.into_iter().filter_map(place).collect()
    })
}

#[test]
fn moves_between_places() {
    let (reached, halves) = (Count::default(), Count::default());
    over(5_000, (pair(), places(), number(), any::<bool>()), |([x, y], places, step, removal)| {
        let Ok(wanted) = UnbalanceVector::from_components_gram_millimetres(x, y) else { return Ok(()) };
        // What comes out could be entered again.
        let sound =
            |weight: Weight| Mass::from_grams(weight.mass.grams()).is_ok() && weight.unbalance().is_finite();
        if let Ok(LeastMass::Reached(split)) = least_mass(wanted, &places) {
            reached.one();
            prop_assert!(split.parts().iter().all(|part| sound(part.weight)));
            prop_assert!(split.total_mass().grams().is_finite() && split.lower_bound().grams().is_finite());
        }
        if let Ok(nearest) = nearest_reachable(wanted, &places) {
            prop_assert!(nearest.unbalance.is_finite() && nearest.error.is_finite());
        }
        if let Ok(Some(most)) = largest_reachable(wanted.angle(), &places) {
            prop_assert!(most.gram_millimetres().is_finite());
        }
        let free: Vec<Place> = places.iter().map(|capped| capped.place).collect();
        if let Ok((first, second)) = split_to_neighbours(wanted, &free) {
            prop_assert!(sound(first.weight) && second.is_none_or(|part| sound(part.weight)));
        }
        let steps = [MassStep::Any].into_iter().chain(Mass::from_grams(step).ok().map(MassStep::MultiplesOf));
        for step in steps {
            if let Ok(nearest) = nearest_place(wanted, free.iter().copied(), step) {
                prop_assert!(sound(nearest.weight) && nearest.error.is_finite());
            }
        }
        if let [first, second, ..] = free[..] {
            let material = if removal { Material::AddedOrRemoved } else { Material::AddedOnly };
            if let Ok(parts) = split(wanted, first, second, material) {
                halves.one();
                prop_assert!(parts.into_iter().all(sound));
            }
            if let Ok(parts) = split_symmetric(wanted.weight_at(first.radius), second.angle.with_rotation()) {
                prop_assert!(parts.into_iter().all(sound));
            }
        }
        Ok(())
    });
    reached.at_least(500);
    halves.at_least(500);
}

#[test]
fn moves_along_the_rotor() {
    let (moved, elsewhere) = (Count::default(), Count::default());
    over(
        5_000,
        (vec((number(), pair()), 0..=4), [number(), number()], vec(pair(), 4)),
        |(discs, planes, pairs)| {
            let discs: Vec<PlaneUnbalance> = discs
                .into_iter()
                .filter_map(|(station, [x, y])| {
                    let unbalance = UnbalanceVector::from_components_gram_millimetres(x, y).ok()?;
                    Some(PlaneUnbalance::new(Length::from_millimetres(station).ok()?, unbalance))
                })
                .collect();
            if let [Ok(first), Ok(second)] = planes.map(Length::from_millimetres) {
                if let Ok(planes) = in_two_planes(discs.iter().copied(), first, second) {
                    moved.one();
                    prop_assert!(planes.iter().all(|plane| plane.unbalance.is_finite()));
                }
                if let Ok(whole) = StaticCouple::of(discs.iter().copied(), first) {
                    prop_assert!(whole.resultant().is_finite());
                    prop_assert!(whole.moment().gram_square_millimetres().is_finite());
                    if let Ok(planes) = whole.in_planes(first, second) {
                        prop_assert!(planes.iter().all(|plane| plane.unbalance.is_finite()));
                    }
                }
            }
            let coefficients: Option<Vec<Influence>> = pairs
                .iter()
                .map(|&[x, y]| Influence::from_components_per_gram_millimetre(x, y).ok())
                .collect();
            if let (Some(h), Some(disc)) = (coefficients, discs.first()) {
                if let Ok(other) = to_other_plane(disc.unbalance, &h[..2], &h[2..], &[1.0, planes[0]]) {
                    elsewhere.one();
                    prop_assert!(other.vector().is_finite());
                    prop_assert!(other.changes().all(Vibration::is_finite), "{other:?}");
                }
            }
            Ok(())
        },
    );
    moved.at_least(1_000);
    elsewhere.at_least(100);
}
