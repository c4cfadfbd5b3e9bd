//! Masses on a rigid rotor: what balances them, by statics alone.

use counterpoise::{Convention, Length, Mass, PhaseSense, Radius, RotorSense, UnbalanceVector, Weight};
use serde_json::Value;

use super::case::{Case, assert_direction, assert_near};
use crate::support::vectors::Fields;

pub(crate) const PLAIN: Convention = Convention { phase: PhaseSense::Lead, rotor: RotorSense::WithRotation };

pub(crate) fn millimetres(value: f64) -> Radius {
    Radius::from_millimetres(value).unwrap()
}

/// A mass at a radius and an angle, in the units the case uses.
fn weight(of: &Value) -> Weight {
    let kilograms = |key| Mass::from_kilograms(of.number(key)).unwrap();
    let (mass, radius) = if of["kg_m"].is_number() {
        // The product alone is given, in kg m.
        (kilograms("kg_m"), Radius::from_metres(of.number("x1")).unwrap())
    } else if of["m"].is_number() {
        (kilograms("kg"), Radius::from_metres(of.number("m")).unwrap())
    } else {
        (kilograms("kg"), millimetres(of.number("mm")))
    };
    PLAIN.weight(mass, radius, of.number("deg")).unwrap()
}

pub(crate) fn one_plane(case: &Case) {
    let masses: Vec<Weight> = case.inputs().list("masses").iter().map(weight).collect();
    let correction = -masses.iter().map(|weight| weight.unbalance()).sum::<UnbalanceVector>();
    let expected = case.expected();
    assert_direction(
        correction.angle().with_rotation().degrees(),
        expected.number("correction_deg"),
        case.tolerance("deg"),
    );
    if expected["correction_kg_m"].is_number() {
        let kilogram_metres = correction.amount().kilogram_metres();
        assert_near(kilogram_metres, expected.number("correction_kg_m"), case.tolerance("kg_m"));
    }
    if expected["correction_kg"].is_number() {
        let radius = case.inputs().number("correction_radius");
        // The radius is in the unit of the masses' own.
        let in_millimetres = case.inputs().list("masses")[0]["mm"].is_number();
        let length =
            if in_millimetres { Length::from_millimetres(radius) } else { Length::from_metres(radius) };
        let radius = Radius::from_length(length.unwrap()).unwrap();
        let tolerance = if case["tolerance"]["kg"].is_number() { "kg" } else { "mass_kg" };
        let kilograms = correction.weight_at(radius).mass.kilograms();
        assert_near(kilograms, expected.number("correction_kg"), case.tolerance(tolerance));
    }
}
