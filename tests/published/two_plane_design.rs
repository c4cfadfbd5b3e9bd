//! Discs along a rigid rotor: what balances force and couple in two planes, and what of them is left.

use counterpoise::relocation::{PlaneUnbalance, StaticCouple, correction_in_two_planes, in_two_planes};
use counterpoise::{Length, Mass, Radius, UnbalanceVector};
use serde_json::Value;

use super::case::{Case, assert_direction, assert_near};
use super::rigid_design::{PLAIN, millimetres};
use crate::support::vectors::Fields;

/// A disc that carries a mass: where along the rotor, and its unbalance.
fn disc(station: Length, mass: Mass, radius: Radius, degrees: f64) -> PlaneUnbalance {
    PlaneUnbalance::new(station, PLAIN.weight(mass, radius, degrees).unwrap().unbalance())
}

fn axial(value: f64) -> Length {
    Length::from_millimetres(value).unwrap()
}

/// What is left of force and couple, over what the discs make without regard to direction, about the first disc.
fn left_over(discs: &[PlaneUnbalance]) -> (f64, f64) {
    let whole = StaticCouple::of(discs.iter().copied(), discs[0].station).unwrap();
    let amounts: f64 = discs.iter().map(|disc| disc.unbalance.amount().gram_millimetres()).sum();
    let arm =
        discs.iter().map(|disc| (disc.station - discs[0].station).millimetres().abs()).fold(0.0, f64::max);
    (
        whole.resultant().amount().gram_millimetres() / amounts,
        whole.moment().gram_square_millimetres() / (amounts * arm),
    )
}

pub(crate) fn planes_x_and_y(case: &Case) {
    let (inputs, expected) = (case.inputs(), case.expected());
    let mut discs: Vec<PlaneUnbalance> = inputs
        .list("masses")
        .iter()
        .map(|mass| {
            let kilograms = Mass::from_kilograms(mass.number("kg")).unwrap();
            disc(axial(mass.number("z_mm")), kilograms, millimetres(mass.number("r_mm")), mass.number("deg"))
        })
        .collect();
    let stations = [inputs.number("plane_X_z_mm"), inputs.number("plane_Y_z_mm")].map(axial);
    let planes = correction_in_two_planes(discs.clone(), stations[0], stations[1]).unwrap();
    let radius = millimetres(inputs.number("radius_mm"));
    for (plane, key) in planes.iter().zip(["X_kg", "Y_kg"]) {
        let want = expected.number(key);
        let kilograms = plane.unbalance.weight_at(radius).mass.kilograms();
        assert_near(kilograms, want, case.tolerance("rel") * want);
    }
    // Drawn, and counted the other way round.
    let clockwise = planes[0].unbalance.angle().against_rotation().degrees();
    assert_direction(clockwise, expected.number("X_deg_cw_from_A"), case.tolerance("deg"));
    discs.extend(planes);
    let (force, couple) = left_over(&discs);
    assert!(force < 1e-15 && couple < 1e-15, "{force:e} {couple:e}");
}

pub(crate) fn planes_a_and_b(case: &Case) {
    let (inputs, expected) = (case.inputs(), case.expected());
    let metres = |key| Length::from_metres(inputs.number(key)).unwrap();
    let discs = inputs.list("masses").iter().map(|mass| {
        let (kilograms, radius) =
            (Mass::from_kilograms(mass.number("kg")), Radius::from_metres(mass.number("r_m")));
        let station = Length::from_metres(mass.number("z_m")).unwrap();
        disc(station, kilograms.unwrap(), radius.unwrap(), mass.number("deg"))
    });
    let planes = correction_in_two_planes(discs, metres("plane_A_z_m"), metres("plane_B_z_m")).unwrap();
    for (plane, key) in planes.iter().zip(["A_kg_m", "B_kg_m"]) {
        let amount = plane.unbalance.amount().kilogram_metres();
        assert_near(amount, expected[key].number("mag"), case.tolerance("kg_m"));
        let degrees = plane.unbalance.angle().with_rotation().degrees();
        assert_direction(degrees, expected[key].number("deg"), case.tolerance("deg"));
    }
}

/// One mass outside the two planes, or between them.
pub(crate) fn one_mass(case: &Case) {
    let (inputs, expected) = (case.inputs(), case.expected());
    let inches = |key| Length::from_inches(inputs.number(key)).unwrap();
    let mass = Mass::from_pounds(inputs.number("mass_lb")).unwrap();
    let radius = Radius::from_inches(inputs.number("r_in")).unwrap();
    let heavy = disc(inches("z_in"), mass, radius, inputs.number("deg"));
    let planes = correction_in_two_planes([heavy], inches("plane_1_z_in"), inches("plane_m_z_in")).unwrap();
    let radius = Radius::from_inches(inputs.number("correction_radius_in")).unwrap();
    for (plane, key) in planes.iter().zip(["B1_lb", "Bm_lb"]) {
        assert_near(
            plane.unbalance.weight_at(radius).mass.pounds(),
            expected.number(key),
            case.tolerance("mass_lb"),
        );
    }
    // The near weight sits opposite the mass; the far one, too, unless the mass is overhung.
    let [near, far] = planes.map(|plane| plane.unbalance.angle().with_rotation().degrees());
    let overhung = inputs.number("z_in") < inputs.number("plane_1_z_in");
    assert_eq!((near, far), (180.0, if overhung { 0.0 } else { 180.0 }));
}

/// A mass of a case that gives kilograms at a radius in cm or mm.
fn placed(of: &Value, kilograms: f64, degrees: f64, station_mm: f64) -> PlaneUnbalance {
    let radius = if of["r_cm"].is_number() { 10.0 * of.number("r_cm") } else { of.number("r_mm") };
    disc(axial(station_mm), Mass::from_kilograms(kilograms).unwrap(), millimetres(radius), degrees)
}

/// The planes are asked for, and the answer was drawn: with the recomputed one there is neither force nor couple, and the
/// drawn one comes near it.
pub(crate) fn four_planes_by_stations(case: &Case) {
    let (inputs, expected, exact) = (case.inputs(), case.expected(), &case["recomputed"]);
    let given = |name: &str, station: f64| {
        let of = &inputs[name];
        placed(of, of.number("kg"), of.number("deg"), station)
    };
    let metre = 1000.0;
    let (a_kg, a_degrees, a_z) = (exact.number("A_kg"), exact.number("A_deg_ccw"), exact.number("A_z_m"));
    let discs = [
        given("B", metre * inputs["B"].number("z_m")),
        given("C", metre * inputs["C"].number("z_m")),
        given("D", metre * exact.number("D_z_m")),
        placed(&inputs["A"], a_kg, a_degrees, metre * a_z),
    ];
    let (force, couple) = left_over(&discs);
    assert!(force < 2e-6 && couple < 5e-6, "{force:e} {couple:e}");
    // A alone balances the force of the other three.
    let a = -discs[..3].iter().map(|disc| disc.unbalance).sum::<UnbalanceVector>();
    let (want, rel) = (expected.number("A_kg"), case.tolerance("rel"));
    let radius = millimetres(10.0 * inputs["A"].number("r_cm"));
    assert_near(a.weight_at(radius).mass.kilograms(), want, rel * want);
    let clockwise = a.angle().against_rotation().degrees();
    assert_direction(clockwise, expected.number("A_deg_from_B_cw"), case.tolerance("deg"));
    assert_near(a_z, expected.number("A_z_m"), rel * expected.number("A_z_m"));
}

pub(crate) fn four_planes_by_masses(case: &Case) {
    let (inputs, expected, exact) = (case.inputs(), case.expected(), &case["recomputed"]);
    let given = |name: &str| {
        let of = &inputs[name];
        placed(of, of.number("kg"), of.number("deg"), of.number("z_mm"))
    };
    let (a, d) = (&inputs["A"], &inputs["D"]);
    let discs = [
        given("B"),
        given("C"),
        placed(a, exact.number("A_kg"), a.number("deg"), a.number("z_mm")),
        placed(d, exact.number("D_kg"), exact.number("D_deg"), exact.number("D_z_mm")),
    ];
    let (force, couple) = left_over(&discs);
    assert!(force < 2e-6 && couple < 2e-6, "{force:e} {couple:e}");
    let rel = case.tolerance("rel");
    for key in ["A_kg", "D_kg"] {
        assert_near(exact.number(key), expected.number(key), rel * expected.number(key));
    }
    assert_direction(exact.number("D_deg"), expected.number("D_deg"), case.tolerance("deg"));
    // Off by as little as the drawing is, force and couple show it.
    let drawn = placed(d, expected.number("D_kg"), expected.number("D_deg"), exact.number("D_z_mm"));
    let (force, couple) = left_over(&[discs[0], discs[1], discs[2], drawn]);
    assert!(force > 1e-3 && couple > 1e-3, "{force:e} {couple:e}");
}

/// A uniform rotor between two bearings, balanced as if it were rigid.
pub(crate) fn uniform_rotor(case: &Case) {
    let (inputs, expected, abs) = (case.inputs(), case.expected(), case.tolerance("abs"));
    // Lengths in parts of the rotor's, as m; amounts in the unit of the unbalance, as g mm.
    let at = |part: f64| Length::from_metres(part).unwrap();
    let amount =
        UnbalanceVector::from_components_gram_millimetres(inputs.number("unbalance_U"), 0.0).unwrap();
    let unbalance = PlaneUnbalance::new(at(inputs.number("unbalance_z_over_l")), amount);
    let signed = |plane: &PlaneUnbalance| {
        assert_eq!(plane.unbalance.y_gram_millimetres(), 0.0);
        plane.unbalance.x_gram_millimetres()
    };
    let bearings = in_two_planes([unbalance], at(0.0), at(1.0)).unwrap();
    assert_near(signed(&bearings[0]), expected.number("bearing_force_left_over_w2rU"), abs);
    assert_near(signed(&bearings[1]), expected.number("bearing_force_right_over_w2rU"), abs);
    let stations = inputs.numbers("correction_z_over_l");
    let planes = correction_in_two_planes([unbalance], at(stations[0]), at(stations[1])).unwrap();
    assert_near(signed(&planes[0]), expected.number("U1_over_U"), abs);
    assert_near(signed(&planes[1]), expected.number("U2_over_U"), abs);
}
