//! Tolerances, allocation, errors of balance, zones, propellers.

use counterpoise::tolerance::{
    BalanceGrade, GuardBand, IndexedByHalfTurn, MachineClass, MachineGroup, PropellerLimits, SeverityZones,
    ShareLimits, StaticCoupleLimits, Support, TolerancePlanes, allocate_symmetric, chance_of_value_within,
    chance_of_vector_within, combined_error, coupling_floor, journal_rule, naval_rule, shop_test_vibration,
};
use counterpoise::{Length, Mass, Speed, Unbalance, UnbalanceVector};

use super::several;

pub fn numbers() -> Vec<(String, f64)> {
    let mass = Mass::from_grams(40_000.0).unwrap();
    let speed = Speed::from_rpm(2951.3).unwrap();
    let slow = Speed::from_rpm(333.3).unwrap();
    let mm = |value| Length::from_millimetres(value).unwrap();
    let g_mm = |value| Unbalance::from_gram_millimetres(value).unwrap();
    let permissible = BalanceGrade::G6_3.permissible(mass, speed).value;
    let own = BalanceGrade::from_millimetres_per_second(5.1).unwrap();
    let shares = TolerancePlanes::new(mm(0.0), mm(600.0), mm(100.0)).unwrap();
    let shares = shares.allocate(permissible, ShareLimits::INBOARD);
    let overhung = TolerancePlanes::new(mm(0.0), mm(600.0), mm(-100.0)).unwrap();
    let overhung = overhung.allocate(permissible, ShareLimits::OVERHUNG);
    let couple = StaticCoupleLimits::of_overhung(permissible, mm(400.0), mm(100.0), mm(60.0)).unwrap();
    let vector = |x, y| UnbalanceVector::from_components_gram_millimetres(x, y).unwrap();
    let indexed = IndexedByHalfTurn::of(vector(10.0, 3.3), vector(-4.0, 7.7));
    let band = GuardBand::new(4.5, 0.7).unwrap();
    let rules = [
        permissible.gram_millimetres(),
        own.permissible(mass, speed).value.gram_millimetres(),
        own.specific_unbalance(speed).value.millimetres(),
        BalanceGrade::of_residual(g_mm(815.0), mass, speed).unwrap().millimetres_per_second(),
        journal_rule(mass, speed).unwrap().value.gram_millimetres(),
        naval_rule(mass, speed).unwrap().value.gram_millimetres(),
        naval_rule(mass, slow).unwrap().value.gram_millimetres(),
        coupling_floor().value.gram_millimetres(),
        shop_test_vibration(Speed::from_rpm(15_000.0).unwrap()).value.millimetres(),
        couple.resultant.value.gram_millimetres(),
        couple.couple_per_plane.value.gram_millimetres(),
        indexed.rotor.x_gram_millimetres(),
        indexed.rotor.y_gram_millimetres(),
        indexed.fixture.x_gram_millimetres(),
        indexed.fixture.y_gram_millimetres(),
        combined_error(&[g_mm(3.1), g_mm(4.1), g_mm(1.7)]).unwrap().gram_millimetres(),
        band.accepted_up_to(),
        band.rejected_above(),
        chance_of_vector_within(4.1, 0.3, 4.5).unwrap(),
        chance_of_value_within(4.1, 0.3, 4.5).unwrap(),
    ];
    let allocations: Vec<f64> = [shares, overhung, allocate_symmetric(permissible)]
        .iter()
        .flat_map(|all| all.amounts.map(Unbalance::gram_millimetres).into_iter().chain(all.shares))
        .collect();
    let zones = [
        SeverityZones::iso_20816_3(MachineGroup::Large, Support::Rigid),
        SeverityZones::iso_20816_3(MachineGroup::Large, Support::Flexible),
        SeverityZones::iso_20816_3(MachineGroup::Medium, Support::Rigid),
        SeverityZones::iso_20816_3(MachineGroup::Medium, Support::Flexible),
        SeverityZones::iso_20816_3_displacement(MachineGroup::Large, Support::Rigid),
        SeverityZones::iso_20816_3_displacement(MachineGroup::Medium, Support::Flexible),
        SeverityZones::iso_10816_1(MachineClass::I),
        SeverityZones::iso_10816_1(MachineClass::II),
        SeverityZones::iso_10816_1(MachineClass::III),
        SeverityZones::iso_10816_1(MachineClass::IV),
        SeverityZones::shaft_displacement(speed),
    ];
    let boundaries: Vec<f64> = zones
        .iter()
        .flat_map(|zones| zones.boundaries().into_iter().chain([zones.significant_change().value]))
        .collect();
    let usual = PropellerLimits::USUAL;
    let propeller = [usual.good().value, usual.most().value, usual.static_first().value];
    [
        several("rules", &rules),
        several("allocated", &allocations),
        several("zones", &boundaries),
        several("propeller", &propeller),
    ]
    .concat()
}
