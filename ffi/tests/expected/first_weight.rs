//! First weights by every rule and by a stored coefficient.

use counterpoise::first_weight::{FirstWeight, Polarity, Regime, Sensor, SizeRule};
use counterpoise::{Angle, Force, Influence, Mass, Speed, Unbalance, VibrationUnit};

use super::influence::channels;
use super::several;

fn of(first: &FirstWeight<'_>) -> Vec<f64> {
    vec![
        first.estimate().x_gram_millimetres(),
        first.estimate().y_gram_millimetres(),
        first.advised().x_gram_millimetres(),
        first.advised().y_gram_millimetres(),
        first.starting_fraction(),
        f64::from(first.reason().code()),
        first.heavy_spot().map_or(f64::NAN, |place| place.with_rotation().degrees()),
    ]
}

pub fn numbers() -> Vec<(String, f64)> {
    let channel = channels()[0];
    let reading = channel.reading(0.62, 40.0).unwrap();
    let angle = |degrees| Angle::from_degrees(degrees).unwrap();
    let sensor = Sensor::new(angle(12.5), angle(90.0), Polarity::Against);
    let newtons = Force::from_newtons(600.0).unwrap();
    let unit: VibrationUnit = channel.unit();
    let amount = Unbalance::from_gram_millimetres(900.0).unwrap();
    let above = Regime::from_resonance(reading.speed(), Speed::from_rpm(700.0).unwrap()).unwrap();
    let below = Regime::from_resonance(reading.speed(), Speed::from_rpm(5000.0).unwrap()).unwrap();
    let rules = [
        SizeRule::static_load(newtons).unwrap(),
        SizeRule::static_load_fraction(newtons, 0.25).unwrap(),
        SizeRule::mass_controlled(Mass::from_kilograms(60.0).unwrap()).unwrap(),
        SizeRule::per_vibration(amount, unit, 1.5, "the shop's own").unwrap(),
    ];
    let mut values = Vec::new();
    for rule in &rules {
        for regime in [above, below, Regime::Stated(angle(33.0))] {
            values.extend(of(&FirstWeight::by_rule(&reading, rule, sensor, regime).unwrap()));
        }
    }
    let stored = Influence::from_components_per_gram_millimetre(2e-4, 1e-4).unwrap();
    let first = FirstWeight::by_influence(&reading, stored, "a sister machine").unwrap();
    values.extend(of(&first));
    values.extend(of(&first.with_starting_fraction(0.8).unwrap()));
    several("first", &values)
}
