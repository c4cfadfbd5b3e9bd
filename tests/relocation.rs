//! Moves of weights: the reference cases, and properties that hold on any input.
//!
//! `vectors/moves.json` holds the reference vectors of the moves: expected values computed in 50 digits from the
//! printed doubles, each by two routes. The file is kept as it was received.
#![cfg(feature = "alloc")]
// The functions beside the tests may index, fail and use the platform's functions as tests may.
#![allow(
    clippy::indexing_slicing,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::disallowed_methods,
    clippy::cast_precision_loss,
    clippy::manual_range_contains
)]

use counterpoise::relocation::{
    CappedPlace, LeastMass, LeastMassSplit, MassPrice, MassStep, Material, Part, Place, PlaneUnbalance,
    Replacement, StaticCouple, at_radius, combine, correction_in_two_planes, in_two_planes,
    largest_reachable, least_mass, nearest_place, nearest_reachable, split, split_symmetric,
    split_to_neighbours, to_other_plane,
};
use counterpoise::{
    Angle, Convention, HoleCircle, Influence, Length, Mass, PhaseSense, Radius, RotorAngle, RotorSense,
    UnbalanceVector, Vibration, Weight,
};
use proptest::prelude::*;
use serde_json::Value;

fn grams(value: f64) -> Mass {
    Mass::from_grams(value).unwrap()
}

fn millimetres(value: f64) -> Radius {
    Radius::from_millimetres(value).unwrap()
}

fn vector(x: f64, y: f64) -> UnbalanceVector {
    UnbalanceVector::from_components_gram_millimetres(x, y).unwrap()
}

fn amount(vector: UnbalanceVector) -> f64 {
    vector.amount().gram_millimetres()
}

fn sum(parts: &[Part]) -> UnbalanceVector {
    parts.iter().map(|part| part.weight.unbalance()).sum()
}

// ---- the reference vectors ----

struct Case<'a> {
    id: &'a str,
    inputs: &'a Value,
    expected: &'a Value,
    tolerance: &'a Value,
    convention: Convention,
}

impl Case<'_> {
    fn place(&self, degrees: &Value) -> RotorAngle {
        self.convention.place(number(degrees)).unwrap()
    }

    /// Masses without a radius stand at 1 mm.
    fn weight(&self, weight: &Value) -> Weight {
        let radius = millimetres(weight["radius_mm"].as_f64().unwrap_or(1.0));
        Weight::new(grams(number(&weight["mass_g"])), radius, self.place(&weight["deg"]))
    }

    fn holes(&self) -> Vec<Place> {
        let holes = &self.inputs["holes"];
        let count = u16::try_from(holes["count"].as_u64().unwrap()).unwrap();
        let radius = millimetres(holes["radius_mm"].as_f64().unwrap_or(1.0));
        let first = self.place(&holes["offset_deg"]);
        HoleCircle::new(count, first, self.convention.rotor)
            .unwrap()
            .places()
            .map(|angle| Place::new(radius, angle))
            .collect()
    }

    fn close(&self, got: UnbalanceVector, want: UnbalanceVector) {
        let absolute = self.tolerance["abs_g_mm"].as_f64().or(self.tolerance["abs"].as_f64()).unwrap_or(0.0);
        let allowed = number(&self.tolerance["rel"]) * amount(want) + absolute;
        assert!(amount(got - want) <= allowed, "{}: got {got:?}, want {want:?}", self.id);
    }

    fn close_number(&self, got: f64, want: &Value) {
        let allowed = number(&self.tolerance["rel"]) * number(want).abs()
            + self.tolerance["abs"].as_f64().unwrap_or(0.0);
        assert!((got - number(want)).abs() <= allowed, "{}: got {got}, want {want}", self.id);
    }

    fn close_vibration(&self, got: Vibration, want: &Value) {
        let scale = self.tolerance["scale"].as_f64().unwrap_or(1.0);
        let want = Vibration::from_components(number(&want["re"]), number(&want["im"])).unwrap();
        assert!((got - want).amplitude() <= 1e-11 * scale, "{}: got {got:?}, want {want:?}", self.id);
    }

    fn close_parts(&self, got: &[Part], holes: &[Place]) {
        let want = self.expected["parts"].as_array().unwrap();
        assert_eq!(got.len(), want.len(), "{}", self.id);
        for (got, want) in got.iter().zip(want) {
            assert_eq!(got.index, usize::try_from(want["hole_index"].as_u64().unwrap()).unwrap());
            assert_eq!(got.weight.angle, holes[got.index].angle);
            self.close_number(got.weight.mass.grams(), &want["mass_g"]);
        }
    }
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is not a number"))
}

fn influence(value: &Value, radius: f64) -> Influence {
    Influence::from_components_per_gram_millimetre(
        number(&value["re"]) / radius,
        number(&value["im"]) / radius,
    )
    .unwrap()
}

#[test]
fn reference_moves() {
    let file: Value = serde_json::from_str(include_str!("vectors/moves.json")).unwrap();
    let cases = file["cases"].as_array().unwrap();
    assert_eq!(u64::try_from(cases.len()).unwrap(), file["n_cases"].as_u64().unwrap());
    for case in cases {
        let conventions = &case["conventions"];
        let convention = Convention {
            phase: match conventions["phase"].as_str() {
                Some("argument_of_complex_amplitude_deg") => PhaseSense::Lead,
                _ => PhaseSense::Lag,
            },
            rotor: match conventions["rotor_angle_direction"].as_str() {
                Some("with_rotation") => RotorSense::WithRotation,
                Some("against_rotation") => RotorSense::AgainstRotation,
                other => panic!("{other:?}"),
            },
        };
        let case_of_file = Case {
            id: case["id"].as_str().unwrap(),
            inputs: &case["inputs"],
            expected: &case["expected"],
            tolerance: &case["tolerance"],
            convention,
        };
        match case["group"].as_str().unwrap() {
            "other_radius" => check_other_radius(&case_of_file),
            "combine" => check_combine(&case_of_file),
            "split_two_holes" => check_split_two_holes(&case_of_file),
            "split_symmetric" => check_split_symmetric(&case_of_file),
            "nearest_hole" => check_nearest_hole(&case_of_file),
            "least_mass_capped" => check_least_mass(&case_of_file),
            "other_plane_influence" => check_other_plane(&case_of_file),
            "two_planes_statics" => check_statics(&case_of_file),
            "temporary_to_permanent" => check_replacement(&case_of_file),
            other => panic!("unknown group {other}"),
        }
    }
}

fn check_other_radius(case: &Case) {
    let moved =
        at_radius(case.weight(case.inputs), millimetres(number(&case.inputs["new_radius_mm"]))).unwrap();
    case.close_number(moved.mass.grams(), &case.expected["mass_g"]);
    case.close_number(amount(moved.unbalance()), &case.expected["unbalance_g_mm"]);
    assert_eq!(moved.angle, case.place(&case.expected["deg"]));
}

fn check_combine(case: &Case) {
    let weights = case.inputs["weights"].as_array().unwrap();
    let combined = combine(weights.iter().map(|weight| case.weight(weight))).unwrap();
    let want = &case.expected["in_own_direction_xy_g_mm"];
    let sign = if case.convention.rotor == RotorSense::WithRotation { 1.0 } else { -1.0 };
    case.close(combined.resultant(), vector(number(&want["x"]), sign * number(&want["y"])));
    assert_eq!(combined.vanishes(), case.expected["vanishes"].as_bool().unwrap());
    let equivalent = combined.equivalent_at(millimetres(150.0)).unwrap().unwrap();
    let want = &case.expected["equivalent_at_150_mm"];
    let want = Weight::new(grams(number(&want["mass_g"])), millimetres(150.0), case.place(&want["deg"]));
    case.close(equivalent.unbalance(), want.unbalance());
}

fn check_split_two_holes(case: &Case) {
    let holes = case.holes();
    let (before, after) = split_to_neighbours(case.weight(case.inputs), &holes).unwrap();
    let mut parts = [before, after.unwrap()];
    // The file lists holes in its own direction.
    if case.convention.rotor == RotorSense::AgainstRotation {
        parts.reverse();
    }
    case.close_parts(&parts, &holes);
}

fn check_split_symmetric(case: &Case) {
    let half_spread = Angle::from_degrees(number(&case.inputs["half_spread_deg"])).unwrap();
    let mut parts = split_symmetric(case.weight(case.inputs), half_spread).unwrap();
    if case.convention.rotor == RotorSense::AgainstRotation {
        parts.reverse();
    }
    for (part, degrees) in parts.iter().zip(case.expected["degs"].as_array().unwrap()) {
        case.close_number(part.mass.grams(), &case.expected["each_mass_g"]);
        let turned = part.angle.in_sense(case.convention.rotor).degrees() - number(degrees);
        assert!(turned.abs() < 1e-10, "{}: {turned}", case.id);
    }
}

fn check_nearest_hole(case: &Case) {
    let step = MassStep::MultiplesOf(grams(number(&case.inputs["mass_step_g"])));
    let nearest = nearest_place(case.weight(case.inputs), case.holes(), step).unwrap();
    assert_eq!(Some(nearest.index as u64), case.expected["hole_index"].as_u64(), "{}", case.id);
    case.close_number(nearest.weight.mass.grams(), &case.expected["mass_g"]);
    case.close_number(nearest.error_percent, &case.expected["error_percent"]);
    case.close(nearest.error, case.weight(&case.expected["error_vector"]).unbalance());
}

fn check_least_mass(case: &Case) {
    let holes = case.holes();
    let available = case.inputs["available_holes"].as_array().unwrap();
    let cap = grams(number(&case.inputs["cap_per_hole_g"]));
    let capped = |index: usize| {
        let listed = available.iter().any(|hole| hole.as_u64() == Some(index as u64));
        holes[index].capped(if listed { cap } else { Mass::ZERO })
    };
    let places: Vec<CappedPlace> = (0..holes.len()).map(capped).collect();
    let outcome = least_mass(case.weight(case.inputs), &places).unwrap();
    let split = outcome.reached().unwrap();
    case.close_parts(split.parts(), &holes);
    case.close_number(split.total_mass().grams(), &case.expected["total_mass_g"]);
    let dual = split.price().per_gram_millimetre(case.convention.rotor);
    for (got, want) in dual.iter().zip(case.expected["dual"].as_array().unwrap()) {
        case.close_number(*got, want);
    }
}

fn check_other_plane(case: &Case) {
    let radii = [&case.inputs["radii_mm"][0], &case.inputs["radii_mm"][1]].map(number);
    let rows = case.inputs["influence_from_to"].as_array().unwrap();
    let from: Vec<Influence> = rows.iter().map(|row| influence(&row[0], radii[0])).collect();
    let to: Vec<Influence> = rows.iter().map(|row| influence(&row[1], radii[1])).collect();
    let place = Place::new(millimetres(radii[0]), case.place(&case.inputs["deg"]));
    let wanted = place.weight(grams(number(&case.inputs["mass_g"]))).unbalance();
    let moved = to_other_plane(wanted, &from, &to, &[]).unwrap();
    let want = &case.expected["weight_new_plane"];
    let want = Weight::new(grams(number(&want["mass_g"])), millimetres(radii[1]), case.place(&want["deg"]));
    case.close(moved.vector(), want.unbalance());
    assert!((moved.largest_change() - number(&case.expected["change_max"])).abs() < 1e-12);
    let changes = case.expected["change_of_vibration_canonical"].as_array().unwrap();
    assert_eq!(moved.changes().len(), changes.len());
    for (got, want) in moved.changes().zip(changes) {
        case.close_vibration(got, want);
    }
}

fn check_statics(case: &Case) {
    let vectors = |weights: &Value, radii: &str, stations: &str| -> Vec<PlaneUnbalance> {
        let plane = |index: usize| {
            let weight = &weights[index];
            let radius = millimetres(number(&case.inputs[radii][index]));
            let station = Length::from_metres(number(&case.inputs[stations][index])).unwrap();
            let weight = Weight::new(grams(number(&weight["mass_g"])), radius, case.place(&weight["deg"]));
            PlaneUnbalance::new(station, weight.unbalance())
        };
        vec![plane(0), plane(1)]
    };
    let given = vectors(&case.inputs["weights"], "radii_mm", "plane_z_m");
    let want = vectors(&case.expected["weights"], "new_radii_mm", "new_plane_z_m");
    let got = in_two_planes(given, want[0].station, want[1].station).unwrap();
    for (got, want) in got.iter().zip(want) {
        case.close(got.unbalance, want.unbalance);
    }
}

fn check_replacement(case: &Case) {
    let reading =
        |value: &Value| case.convention.vibration(number(&value["amp"]), number(&value["deg"])).unwrap();
    let replacement = Replacement {
        influence: influence(&case.inputs["influence_canonical_per_g_at_165_mm"], 165.0),
        temporary: case.weight(&case.inputs["temporary"]).unbalance(),
        permanent: case.weight(&case.inputs["permanent"]).unbalance(),
    };
    let predicted = replacement.predicted(reading(&case.inputs["reading_with_temporary_weight"]));
    case.close_vibration(predicted, &case.expected["predicted_canonical"]);
    case.close_vibration(replacement.change(), &case.expected["change_canonical"]);
    let want = reading(&case.expected["predicted_reading"]);
    assert!((predicted - want).amplitude() <= 1e-11 * want.amplitude(), "{}", case.id);
    let difference = &case.expected["weight_difference_at_165_mm"];
    let radius = millimetres(165.0);
    let want = Weight::new(grams(number(&difference["mass_g"])), radius, case.place(&difference["deg"]));
    assert!(amount(replacement.difference() - want.unbalance()) < 1e-9 * amount(want.unbalance()));
}

// ---- properties ----

/// Whole tenths of a degree, so that equal and opposite angles do occur.
fn tenths() -> impl Strategy<Value = f64> {
    (0..3600_u32).prop_map(|tenths| f64::from(tenths) / 10.0)
}

/// Angles of a coarse ring, on which most things coincide.
fn twelfths() -> impl Strategy<Value = f64> {
    (0..12_u32).prop_map(|step| f64::from(step) * 30.0)
}

fn radius() -> impl Strategy<Value = f64> {
    (1..400_u32).prop_map(f64::from)
}

fn at(degrees: f64) -> RotorAngle {
    RotorSense::WithRotation.degrees(degrees).unwrap()
}

fn place(radius: f64, degrees: f64) -> Place {
    Place::new(millimetres(radius), at(degrees))
}

/// A place on whole-numbered points of a square grid: three on one straight line, which the radius of an angle hides,
/// occur all the time.
fn grid_place() -> impl Strategy<Value = Place> {
    (0..24_i32).prop_map(|point| {
        // The 24 points of a 5 x 5 grid around the axis, the axis left out.
        let point = if point < 12 { point } else { point + 1 };
        let vector = vector(f64::from(point % 5 - 2) * 10.0, f64::from(point / 5 - 2) * 10.0);
        Place::new(millimetres(amount(vector)), vector.angle())
    })
}

fn any_place() -> impl Strategy<Value = Place> {
    prop_oneof![
        (radius(), tenths()).prop_map(|(r, degrees)| place(r, degrees)),
        twelfths().prop_map(|degrees| place(150.0, degrees)),
        grid_place(),
    ]
}

fn capped_place() -> impl Strategy<Value = CappedPlace> {
    (any_place(), 0..12_u32).prop_map(|(place, cap)| match cap {
        11 => place.uncapped(),
        cap => place.capped(grams(f64::from(cap))),
    })
}

fn wanted() -> impl Strategy<Value = UnbalanceVector> {
    prop_oneof![
        (0..4000_u32, tenths())
            .prop_map(|(size, degrees)| place(1.0, degrees).weight(grams(f64::from(size))).unbalance()),
        (-300..300_i32, -300..300_i32).prop_map(|(x, y)| vector(f64::from(x) * 10.0, f64::from(y) * 10.0)),
        twelfths().prop_map(|degrees| place(150.0, degrees).weight(grams(7.0)).unbalance()),
    ]
}

fn turned(places: &[CappedPlace], turn: f64) -> Vec<CappedPlace> {
    let turn = Angle::from_degrees(turn).unwrap();
    let turned = |place: &CappedPlace| CappedPlace {
        place: Place::new(place.place.radius, place.place.angle.turned_with_rotation(turn)),
        ..*place
    };
    places.iter().map(turned).collect()
}

fn turned_vector(vector: UnbalanceVector, turn: f64) -> UnbalanceVector {
    UnbalanceVector::from_polar(
        vector.amount(),
        vector.angle().turned_with_rotation(Angle::from_degrees(turn).unwrap()),
    )
}

fn mirrored(places: &[CappedPlace]) -> Vec<CappedPlace> {
    let mirrored = |place: &CappedPlace| CappedPlace {
        place: Place::new(
            place.place.radius,
            RotorSense::AgainstRotation.angle(place.place.angle.with_rotation()),
        ),
        ..*place
    };
    places.iter().map(mirrored).collect()
}

fn mirrored_vector(v: UnbalanceVector) -> UnbalanceVector {
    vector(v.x_gram_millimetres(), 0.0 - v.y_gram_millimetres())
}

/// Checks a split against everything it promises, and returns its mass.
fn proven(wanted: UnbalanceVector, places: &[CappedPlace], split: &LeastMassSplit) -> f64 {
    let scale: f64 =
        amount(wanted) + split.parts().iter().map(|part| amount(part.weight.unbalance())).sum::<f64>();
    let missed = amount(combine(split.parts().iter().map(|part| part.weight)).unwrap().resultant() - wanted);
    assert!(missed <= 1e-14 * scale, "{missed} of {scale}");
    for part in split.parts() {
        assert!(part.weight.mass.grams() > 0.0);
        assert!(places[part.index].cap.is_none_or(|cap| part.weight.mass <= cap));
    }
    let total: f64 = split.parts().iter().map(|part| part.weight.mass.grams()).sum();
    assert!((total - split.total_mass().grams()).abs() <= 1e-13 * total);
    let bound = split.price().lower_bound(wanted, places).unwrap();
    assert_eq!(bound, split.lower_bound());
    // What the parts miss of the wanted vector by rounding is priced, too, and dearly at the edge of the reach.
    let [x, y] = split.price().per_gram_millimetre(RotorSense::WithRotation);
    let allowed = 1e-12 * total + (x.abs() + y.abs()) * 1e-14 * scale;
    assert!((bound.grams() - total).abs() <= allowed, "total {total}, bound {bound}");
    total
}

/// The least mass by trying every basis with every choice of full places; infinite where nothing fits.
fn brute_force(wanted: UnbalanceVector, places: &[CappedPlace]) -> f64 {
    let vectors: Vec<(f64, f64)> = places
        .iter()
        .map(|place| place.place.weight(grams(1.0)).unbalance())
        .map(|unit| (unit.x_gram_millimetres(), unit.y_gram_millimetres()))
        .collect();
    let cap = |index: usize| places[index].cap.map_or(f64::INFINITY, Mass::grams);
    let slack = 1e-9 * (1.0 + amount(wanted));
    let mut least = f64::INFINITY;
    for full in 0..1_u32 << places.len() {
        let is_full = |index: usize| full >> index & 1 == 1;
        if (0..places.len()).any(|index| is_full(index) && cap(index).is_infinite()) {
            continue;
        }
        let (mut x, mut y, mut mass) = (wanted.x_gram_millimetres(), wanted.y_gram_millimetres(), 0.0);
        for index in (0..places.len()).filter(|index| is_full(*index)) {
            x -= cap(index) * vectors[index].0;
            y -= cap(index) * vectors[index].1;
            mass += cap(index);
        }
        if x.abs() + y.abs() <= slack {
            least = least.min(mass);
        }
        for one in (0..places.len()).filter(|index| !is_full(*index)) {
            let (ax, ay) = vectors[one];
            let alone = (x * ax + y * ay) / (ax * ax + ay * ay);
            let left = (x - alone * ax).abs() + (y - alone * ay).abs();
            if left <= slack && (-1e-9..=cap(one) + 1e-9).contains(&alone) {
                least = least.min(mass + alone);
            }
            for other in (0..one).filter(|index| !is_full(*index)) {
                let (bx, by) = vectors[other];
                let cross = ax * by - ay * bx;
                if cross.abs() <= 1e-9 * ax.hypot(ay) * bx.hypot(by) {
                    continue;
                }
                let (m, n) = ((x * by - y * bx) / cross, (ax * y - ay * x) / cross);
                if (-1e-9..=cap(one) + 1e-9).contains(&m) && (-1e-9..=cap(other) + 1e-9).contains(&n) {
                    least = least.min(mass + m + n);
                }
            }
        }
    }
    least
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(500))]

    #[test]
    fn parts_of_a_split_combine_to_the_original(
        mass in -5000..5000_i32, from in radius(), degrees in tenths(),
        (r1, d1) in (radius(), tenths()), (r2, d2) in (radius(), tenths()),
    ) {
        let original = place(from, degrees).weight(grams(f64::from(mass) / 100.0));
        let (first, second) = (place(r1, d1), place(r2, d2));
        for material in [Material::AddedOnly, Material::AddedOrRemoved] {
            let Ok(parts) = split(original, first, second, material) else {
                // Refused: the places lie in line, or the wanted angle is not between them.
                let span = first.angle.with_rotation().separation_degrees(second.angle.with_rotation());
                let vector = original.unbalance().angle().with_rotation();
                let (to_first, to_second) =
                    (first.angle.with_rotation().separation_degrees(vector), second.angle.with_rotation().separation_degrees(vector));
                let in_line = span < 1e-6 || span > 180.0 - 1e-6;
                let outside = (to_first + to_second - span).abs() > 1e-9;
                prop_assert!(in_line || (material == Material::AddedOnly && outside));
                continue;
            };
            let again = combine(parts).unwrap();
            let scale = amount(original.unbalance()) + again.sum_of_amounts().gram_millimetres();
            prop_assert!(amount(again.resultant() - original.unbalance()) <= 1e-13 * scale);
            if material == Material::AddedOnly {
                prop_assert!(parts.iter().all(|part| part.mass.grams() >= 0.0));
            }
        }
    }

    #[test]
    fn a_symmetric_split_combines_to_the_original(mass in 1..5000_i32, degrees in tenths(), half in 0..899_u32) {
        let original = place(150.0, degrees).weight(grams(f64::from(mass) / 100.0));
        let parts = split_symmetric(original, Angle::from_degrees(f64::from(half) / 10.0).unwrap()).unwrap();
        let again = combine(parts).unwrap();
        let scale = again.sum_of_amounts().gram_millimetres();
        prop_assert!(amount(again.resultant() - original.unbalance()) <= 1e-13 * scale);
    }

    #[test]
    fn a_split_to_neighbours_uses_the_nearest_places(degrees in tenths(), count in 3..40_u16, first in tenths()) {
        let ring: Vec<Place> = HoleCircle::new(count, at(first), RotorSense::AgainstRotation)
            .unwrap()
            .places()
            .map(|angle| Place::new(millimetres(120.0), angle))
            .collect();
        let original = place(150.0, degrees).weight(grams(20.0)).unbalance();
        let (before, after) = split_to_neighbours(original, &ring).unwrap();
        let parts: Vec<Part> = [Some(before), after].into_iter().flatten().collect();
        prop_assert!(amount(sum(&parts) - original) <= 1e-13 * 3000.0);
        for part in parts {
            let away = part.weight.angle.with_rotation().separation_degrees(at(degrees).with_rotation());
            prop_assert!(away <= 360.0 / f64::from(count) + 1e-9);
        }
    }

    #[test]
    fn the_nearest_place_errs_less_than_any_other(
        wanted in wanted(), places in prop::collection::vec(any_place(), 1..12),
        step in 1..50_u32, other in any::<prop::sample::Index>(), mass in 0..40_u32,
    ) {
        let step = f64::from(step) / 10.0;
        let nearest = nearest_place(wanted, places.iter().copied(), MassStep::MultiplesOf(grams(step))).unwrap();
        let count = nearest.weight.mass.grams() / step;
        prop_assert!((count - count.round()).abs() < 1e-9);
        prop_assert_eq!(nearest.weight.unbalance() - wanted, nearest.error);
        let rival = other.get(&places).weight(grams(f64::from(mass) * step)).unbalance() - wanted;
        prop_assert!(amount(nearest.error) <= amount(rival) * (1.0 + 1e-12) + 1e-12 * amount(wanted));
        let free = nearest_place(wanted, places.iter().copied(), MassStep::Any).unwrap();
        prop_assert!(amount(free.error) <= amount(nearest.error) + 1e-12 * amount(wanted));
    }

    #[test]
    fn the_least_mass_is_that_of_the_best_basis(
        wanted in wanted(), places in prop::collection::vec(capped_place(), 0..7),
    ) {
        let best = brute_force(wanted, &places);
        match least_mass(wanted, &places).unwrap() {
            LeastMass::Reached(split) => {
                let total = proven(wanted, &places, &split);
                prop_assert!((total - best).abs() <= 1e-8 * (1.0 + best), "{total} against {best}");
            }
            LeastMass::OutOfReach { largest } => {
                prop_assert!(best.is_infinite(), "{best}");
                prop_assert!(amount(largest) < amount(wanted));
            }
            other => prop_assert!(false, "{other:?}"),
        }
    }

    #[test]
    fn no_feasible_combination_is_lighter(
        chosen in prop::collection::vec((capped_place(), 0..=8_u32), 1..60),
    ) {
        let places: Vec<CappedPlace> = chosen.iter().map(|(place, _)| *place).collect();
        let weights = chosen.iter().map(|(place, eighths)| {
            let most = place.cap.map_or(20.0, Mass::grams);
            place.place.weight(grams(most * f64::from(*eighths) / 8.0))
        });
        let rival: f64 = weights.clone().map(|weight| weight.mass.grams()).sum();
        let wanted = combine(weights).unwrap().resultant();
        let outcome = least_mass(wanted, &places).unwrap();
        let split = outcome.reached().expect("the rival reaches it");
        prop_assert!(proven(wanted, &places, split) <= rival * (1.0 + 1e-12));
    }

    #[test]
    fn the_largest_reachable_is_the_edge_of_the_reach(
        degrees in tenths(), places in prop::collection::vec(capped_place(), 1..40),
    ) {
        let direction = place(1.0, degrees).weight(grams(1.0)).unbalance();
        match largest_reachable(at(degrees), &places).unwrap() {
            Some(most) => {
                let most = most.gram_millimetres();
                let caps: f64 = places.iter().filter_map(|place| Some(place.place.weight(place.cap?)))
                    .map(|weight| amount(weight.unbalance())).sum();
                match least_mass(direction * most, &places).unwrap().reached() {
                    Some(split) => {
                        proven(direction * most, &places, split);
                    }
                    None => prop_assert!(most < 1e-9 * caps),
                }
                prop_assert!(least_mass(direction * (most * 0.999), &places).unwrap().reached().is_some() || most < 1e-9 * caps);
                let beyond = direction * (most + 1e-9 * (1.0 + caps + most));
                let LeastMass::OutOfReach { largest } = least_mass(beyond, &places).unwrap() else {
                    return Err(TestCaseError::fail("more than the most was reached"));
                };
                prop_assert!((amount(largest) - most).abs() <= 1e-12 * (1.0 + caps + most));
            }
            None => prop_assert!(least_mass(direction * 1e6, &places).unwrap().reached().is_some()),
        }
    }

    #[test]
    fn the_nearest_reachable_is_nearest(
        wanted in wanted(), chosen in prop::collection::vec((capped_place(), 0..=8_u32), 0..20),
    ) {
        let wanted = wanted * 3.0;
        let places: Vec<CappedPlace> = chosen.iter().map(|(place, _)| *place).collect();
        let nearest = nearest_reachable(wanted, &places).unwrap();
        let scale = amount(wanted) + nearest.parts.iter().map(|part| amount(part.weight.unbalance())).sum::<f64>();
        prop_assert!(amount(sum(&nearest.parts) - nearest.unbalance) <= 1e-13 * scale);
        prop_assert!(amount(nearest.unbalance - wanted - nearest.error) <= 1e-13 * scale);
        for part in &nearest.parts {
            prop_assert!(places[part.index].cap.is_none_or(|cap| part.weight.mass <= cap));
        }
        // The nearest point z of a convex set has (u − z)·(q − z) ≤ 0 for every other point q: full where the error
        // points away, empty where it points along.
        let gap = wanted - nearest.unbalance;
        let gain = |v: UnbalanceVector| gap.complex().re * v.complex().re + gap.complex().im * v.complex().im;
        let mut best = 0.0;
        for place in &places {
            let one_gram = place.place.weight(grams(1.0)).unbalance();
            match place.cap {
                Some(cap) => best += cap.grams() * gain(one_gram).max(0.0),
                // More of what has no cap must be no nearer.
                None => prop_assert!(gain(one_gram) <= 1e-13 * scale * amount(one_gram)),
            }
        }
        prop_assert!(best - gain(nearest.unbalance) <= 1e-12 * scale * scale, "{best}");
        // And it is made with the least mass: the same point as a wanted one takes no less.
        if let LeastMass::Reached(split) = least_mass(nearest.unbalance * (1.0 - 1e-12), &places).unwrap() {
            let total: f64 = nearest.parts.iter().map(|part| part.weight.mass.grams()).sum();
            prop_assert!(total <= split.total_mass().grams() + 1e-6 * (1.0 + total));
        }
    }

    #[test]
    fn turning_everything_turns_the_answer(
        wanted in wanted(), places in prop::collection::vec(capped_place(), 1..20), turn in tenths(),
    ) {
        let (turned_wanted, turned_places) = (turned_vector(wanted, turn), turned(&places, turn));
        match (least_mass(wanted, &places).unwrap(), least_mass(turned_wanted, &turned_places).unwrap()) {
            (LeastMass::Reached(one), LeastMass::Reached(other)) => {
                let (one, other) = (proven(wanted, &places, &one), proven(turned_wanted, &turned_places, &other));
                prop_assert!((one - other).abs() <= 1e-11 * one.max(1.0));
            }
            (LeastMass::OutOfReach { largest }, LeastMass::OutOfReach { largest: other }) => {
                prop_assert!(amount(turned_vector(largest, turn) - other) <= 1e-9 * (1.0 + amount(largest)));
            }
            // At the very edge of the reach rounding decides.
            (LeastMass::OutOfReach { largest }, _) | (_, LeastMass::OutOfReach { largest }) => {
                prop_assert!(amount(largest) >= amount(wanted) * (1.0 - 1e-12) || amount(largest) < 1e-9);
            }
            other => prop_assert!(false, "{other:?}"),
        }
        let (one, other) = (
            nearest_reachable(wanted, &places).unwrap(),
            nearest_reachable(turned_wanted, &turned_places).unwrap(),
        );
        prop_assert!(amount(turned_vector(one.unbalance, turn) - other.unbalance) <= 1e-9 * (1.0 + amount(wanted)));
    }

    #[test]
    fn mirroring_everything_mirrors_the_answer(
        wanted in wanted(), places in prop::collection::vec(capped_place(), 1..20),
    ) {
        let (mirrored_wanted, mirrored_places) = (mirrored_vector(wanted), mirrored(&places));
        match (least_mass(wanted, &places).unwrap(), least_mass(mirrored_wanted, &mirrored_places).unwrap()) {
            (LeastMass::Reached(one), LeastMass::Reached(other)) => {
                let (one, other) = (proven(wanted, &places, &one), proven(mirrored_wanted, &mirrored_places, &other));
                prop_assert!((one - other).abs() <= 1e-11 * one.max(1.0));
            }
            (LeastMass::OutOfReach { largest }, LeastMass::OutOfReach { largest: other }) => {
                prop_assert!(amount(mirrored_vector(largest) - other) <= 1e-9 * (1.0 + amount(largest)));
            }
            (LeastMass::OutOfReach { largest }, _) | (_, LeastMass::OutOfReach { largest }) => {
                prop_assert!(amount(largest) >= amount(wanted) * (1.0 - 1e-12) || amount(largest) < 1e-9);
            }
            other => prop_assert!(false, "{other:?}"),
        }
        let (one, other) = (
            nearest_reachable(wanted, &places).unwrap(),
            nearest_reachable(mirrored_wanted, &mirrored_places).unwrap(),
        );
        prop_assert!(amount(mirrored_vector(one.unbalance) - other.unbalance) <= 1e-9 * (1.0 + amount(wanted)));
    }

    #[test]
    fn two_planes_carry_force_and_moment(
        discs in prop::collection::vec((-500..500_i32, wanted()), 0..8), first in -500..500_i32, span in 1..400_i32,
        reference in -500..500_i32,
    ) {
        let station = |millimetres: i32| Length::from_millimetres(f64::from(millimetres)).unwrap();
        let discs: Vec<PlaneUnbalance> =
            discs.into_iter().map(|(z, unbalance)| PlaneUnbalance::new(station(z), unbalance)).collect();
        let corrections = correction_in_two_planes(discs.iter().copied(), station(first), station(first + span)).unwrap();
        let residual = StaticCouple::of(discs.iter().copied().chain(corrections), station(reference)).unwrap();
        let scale: f64 = discs.iter().chain(&corrections).map(|plane| amount(plane.unbalance)).sum();
        prop_assert!(amount(residual.resultant()) <= 1e-14 * scale);
        prop_assert!(residual.moment().gram_square_millimetres() <= 1e-14 * scale * 1000.0);
    }

    #[test]
    fn hostile_numbers_are_answered_or_refused(
        x in prop_oneof![Just(f64::NAN), Just(f64::INFINITY), Just(1e100), Just(1e-300), Just(0.0), Just(-5.0)],
        y in prop_oneof![Just(f64::NEG_INFINITY), Just(-1e100), Just(5e-324), Just(0.0), Just(3.0)],
        sizes in prop::collection::vec(
            (prop_oneof![Just(1e-50), Just(1e50), Just(1.0)], prop_oneof![Just(1e50), Just(-1e50), Just(0.0), Just(1e-50), Just(f64::NAN), Just(2.0)], tenths()),
            0..6,
        ),
    ) {
        let wanted = vector(1.0, 0.0) * x + vector(0.0, 1.0) * y;
        let places: Vec<CappedPlace> = sizes.iter().map(|(r, cap, degrees)| CappedPlace {
            place: place(*r, *degrees),
            cap: Some(grams(1.0) * *cap),
        }).collect();
        let finite = |parts: &[Part]| parts.iter().all(|part| part.weight.mass.grams().is_finite());
        if let Ok(LeastMass::Reached(split)) = least_mass(wanted, &places) {
            prop_assert!(finite(split.parts()));
        }
        if let Ok(nearest) = nearest_reachable(wanted, &places) {
            prop_assert!(finite(&nearest.parts) && nearest.error.is_finite());
        }
        if let Ok(Some(most)) = largest_reachable(at(30.0), &places) {
            prop_assert!(most.gram_millimetres().is_finite());
        }
        let uncapped = places.iter().map(|place| place.place);
        if let Ok(nearest) = nearest_place(wanted, uncapped, MassStep::Any) {
            prop_assert!(nearest.error.is_finite());
        }
        if let [one, other, ..] = places.as_slice() {
            if let Ok(parts) = split(wanted, one.place, other.place, Material::AddedOrRemoved) {
                prop_assert!(parts.iter().all(|part| part.mass.grams().is_finite()));
            }
        }
    }
}

// ---- large and awkward lists ----

/// A spread of whole numbers without a pattern (a linear congruence; common practice, no source).
fn scattered(index: usize, below: usize) -> f64 {
    let mixed =
        (index as u64).wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
    ((mixed >> 33) % below as u64) as f64
}

#[test]
fn ten_thousand_places_are_settled() {
    let places: Vec<CappedPlace> = (0..10_000)
        .map(|index| {
            let place =
                place(50.0 + scattered(index, 1000) / 10.0, scattered(index + 20_000, 3_600_000) / 10_000.0);
            place.capped(grams(scattered(index + 40_000, 100) / 10.0))
        })
        .collect();
    let most = largest_reachable(at(33.0), &places).unwrap().unwrap().gram_millimetres();
    for part in [1e-6, 0.01, 0.3, 0.7, 0.99, 0.999_999, 1.0] {
        let wanted = place(1.0, 33.0).weight(grams(1.0)).unbalance() * (most * part);
        let outcome = least_mass(wanted, &places).unwrap();
        proven(wanted, &places, outcome.reached().unwrap());
    }
    let beyond = place(1.0, 33.0).weight(grams(1.0)).unbalance() * (most * 1.2);
    let nearest = nearest_reachable(beyond, &places).unwrap();
    assert!(amount(nearest.error) < most * 0.2);
}

#[test]
fn a_full_ring_of_ten_thousand_equal_holes_is_settled() {
    let places: Vec<CappedPlace> = HoleCircle::new(10_000, RotorAngle::MARK, RotorSense::WithRotation)
        .unwrap()
        .places()
        .map(|angle| Place::new(millimetres(150.0), angle).capped(grams(1.0)))
        .collect();
    let most = largest_reachable(at(90.0), &places).unwrap().unwrap().gram_millimetres();
    // A half ring of n/2 holes makes (n/π) m r, but for 1/n².
    assert!((most / (10_000.0 / std::f64::consts::PI * 150.0) - 1.0).abs() < 1e-7);
    for part in [1e-3, 0.5, 0.9, 1.0] {
        let wanted = vector(0.0, most * part);
        let outcome = least_mass(wanted, &places).unwrap();
        proven(wanted, &places, outcome.reached().unwrap());
    }
}

#[test]
fn awkward_lists_have_a_defined_answer() {
    let wanted = place(100.0, 40.0).weight(grams(6.0)).unbalance();
    let cap = grams(4.0);
    // Nothing wanted is nothing placed, whatever the places.
    for places in [vec![], vec![place(100.0, 0.0).capped(Mass::ZERO)], vec![place(100.0, 0.0).uncapped()]] {
        let outcome = least_mass(UnbalanceVector::ZERO, &places).unwrap();
        assert_eq!(outcome.reached().unwrap().parts(), []);
    }
    // No place, or none that may carry anything.
    for places in [vec![], vec![place(100.0, 40.0).capped(Mass::ZERO)]] {
        assert_eq!(
            least_mass(wanted, &places).unwrap(),
            LeastMass::OutOfReach { largest: UnbalanceVector::ZERO }
        );
        let nearest = nearest_reachable(wanted, &places).unwrap();
        assert_eq!((nearest.parts, nearest.error), (vec![], -wanted));
    }
    // Places at one angle share, the largest radius first.
    let same = [place(80.0, 40.0).capped(cap), place(100.0, 40.0).capped(cap), place(90.0, 40.0).capped(cap)];
    let outcome = least_mass(wanted, &same).unwrap();
    let split = outcome.reached().unwrap();
    let masses: Vec<(usize, f64)> =
        split.parts().iter().map(|part| (part.index, part.weight.mass.grams())).collect();
    assert_eq!(masses[0], (1, 4.0));
    assert_eq!(masses[1].0, 2);
    assert!((masses[1].1 - 200.0 / 90.0).abs() < 1e-14 && masses.len() == 2);
    // Opposite places only: what lies along them is in reach, nothing else.
    let opposite = [place(100.0, 40.0).capped(cap), place(100.0, 220.0).capped(cap)];
    let LeastMass::OutOfReach { largest } = least_mass(wanted, &opposite).unwrap() else {
        panic!("in reach")
    };
    assert!((amount(largest) - 400.0).abs() < 1e-11);
    let across = place(100.0, 130.0).weight(grams(1.0)).unbalance();
    let LeastMass::OutOfReach { largest } = least_mass(across, &opposite).unwrap() else {
        panic!("in reach")
    };
    assert!(amount(largest) < 1e-9);
    // The same place many times over.
    let many = vec![place(100.0, 40.0).capped(grams(1.0)); 9];
    let outcome = least_mass(wanted, &many).unwrap();
    assert_eq!(outcome.reached().unwrap().parts().len(), 6);
    // A cap that is no limit in practice does not spoil the proof.
    let huge = [place(100.0, 0.0).capped(grams(1e50)), place(100.0, 90.0).capped(grams(1e50))];
    let outcome = least_mass(wanted, &huge).unwrap();
    proven(wanted, &huge, outcome.reached().unwrap());
    // A negative cap is refused with its index.
    let error =
        least_mass(wanted, &[place(100.0, 0.0).capped(cap), place(100.0, 0.0).capped(-cap)]).unwrap_err();
    assert_eq!(error.code(), 505);
    assert_eq!(error.to_string(), "place 1 has a cap of -4.0 g: give zero or more, or no cap");
}

#[test]
fn small_remainders_of_large_places_are_reached() {
    // Little is reachable in these directions, and it is what large opposed places leave: the edge lies where rounding
    // of the large ones would hide it.
    for (degrees, places) in [
        (
            154.1,
            vec![
                place(1.0, 98.6).capped(grams(1.0)),
                place(10.0, 90.0).capped(grams(9.0)),
                place(150.0, 270.0).capped(grams(1.0)),
            ],
        ),
        (207.4, vec![place(267.0, 180.1).capped(grams(4.0)), place(150.0, 0.0).capped(grams(1.0))]),
    ] {
        let most = largest_reachable(at(degrees), &places).unwrap().unwrap();
        let wanted = UnbalanceVector::from_polar(most, at(degrees));
        let outcome = least_mass(wanted, &places).unwrap();
        proven(wanted, &places, outcome.reached().unwrap());
    }
}

#[test]
fn a_point_on_an_endless_edge_is_made() {
    let places = [
        place(150.0, 330.0).capped(grams(7.0)),
        place(22.360_679_774_997_898, 333.434_948_822_922).capped(grams(3.0)),
        place(150.0, 330.0).uncapped(),
        place(22.360_679_774_997_898, 333.434_948_822_922).capped(grams(3.0)),
        place(320.0, 148.8).capped(grams(10.0)),
    ];
    let wanted = place(3150.0, 60.0).weight(grams(1.0)).unbalance();
    let nearest = nearest_reachable(wanted, &places).unwrap();
    assert!(amount(sum(&nearest.parts) - nearest.unbalance) < 1e-10);
    // The edge runs square to the wanted vector.
    assert!(nearest.error.angle().with_rotation().separation_degrees(at(240.0).with_rotation()) < 1e-10);
}

#[test]
fn a_price_without_end_is_told_from_a_long_search() {
    let places = [
        place(150.0, 330.0).capped(grams(7.0)),
        place(28.284_271_247_461_902, 315.0).uncapped(),
        place(210.0, 135.1).capped(grams(5.0)),
    ];
    let wanted = place(1050.0, 30.0).weight(grams(1.0)).unbalance();
    for (wanted, places) in [(wanted, places.to_vec()), (mirrored_vector(wanted), mirrored(&places))] {
        assert!(least_mass(wanted, &places).unwrap().reached().is_none());
    }
}

#[test]
fn no_price_promises_more_than_the_least_mass() {
    for step in 0..100_u32 {
        let degrees = 7.3 * f64::from(step);
        let far = place(130.0, degrees + 30.0);
        // No cap, and one that is none in practice: a rounding of the price times 1e50 g would swamp the bound.
        for far in [far.uncapped(), far.capped(grams(1e50))] {
            let places =
                [place(100.0, degrees - 20.0).uncapped(), far, place(90.0, degrees).capped(grams(2.0))];
            let wanted = place(100.0, degrees).weight(grams(6.0)).unbalance();
            let outcome = least_mass(wanted, &places).unwrap();
            let least = proven(wanted, &places, outcome.reached().unwrap());
            let [x, y] = outcome.reached().unwrap().price().per_gram_millimetre(RotorSense::WithRotation);
            for factor in [-1.0, 0.5, 0.999, 1.001, 2.0] {
                let price =
                    MassPrice::from_per_gram_millimetre(RotorSense::WithRotation, [x * factor, y * factor]);
                assert!(price.lower_bound(wanted, &places).unwrap().grams() <= least * (1.0 + 1e-13));
            }
        }
    }
}

#[test]
fn ten_thousand_places_on_a_dozen_angles_are_settled() {
    // Everything coincides: equal places, opposite places, and ends on one straight line (the grid).
    let ring = |index: usize| place(150.0, 30.0 * scattered(index, 12));
    let grid = |index: usize| {
        let point = [(10.0, 0.0), (10.0, 10.0), (10.0, -10.0), (-10.0, 10.0), (0.0, 10.0), (-10.0, 0.0)];
        let (x, y) = point[index % point.len()];
        let vector = vector(x, y);
        Place::new(millimetres(amount(vector)), vector.angle())
    };
    for (degrees, places) in [
        (0.0, (0..10_000).map(|index| ring(index).capped(grams(1.0))).collect::<Vec<_>>()),
        (10.0, (0..10_000).map(|index| grid(index).capped(grams(1.0))).collect()),
        (45.0, (0..10_000).map(|index| grid(index).capped(grams(scattered(index, 3)))).collect()),
    ] {
        let most = largest_reachable(at(degrees), &places).unwrap().unwrap().gram_millimetres();
        for part in [1e-3, 0.25, 0.5, 0.9, 1.0] {
            let wanted = place(1.0, degrees).weight(grams(1.0)).unbalance() * (most * part);
            let outcome = least_mass(wanted, &places).unwrap();
            proven(wanted, &places, outcome.reached().unwrap());
        }
    }
}
