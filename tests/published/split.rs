//! A weight over two of the positions that a rotor has.

use counterpoise::relocation::{Material, Place, split, split_to_neighbours};
use counterpoise::{Mass, RelocationError, UnbalanceVector};

use super::case::{Case, assert_near};
use super::rigid_design::{PLAIN, millimetres};
use crate::support::vectors::Fields;

pub(crate) fn over_two_positions(case: &Case) {
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
