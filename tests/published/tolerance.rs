//! Permissible unbalance, its allocation, zones, and a propeller maker's limit.

use counterpoise::tolerance::{
    BalanceGrade, MachineClass, MachineGroup, PropellerLimits, PropellerVibration, SeverityZones,
    ShareLimits, Support, TolerancePlanes, Zone, allocate_symmetric, coupling_floor, journal_rule,
    naval_rule, shop_test_vibration,
};
use counterpoise::{
    Detector, Length, Limit, Mass, ProvenanceKind, Speed, Unbalance, UnbalanceUnit, VibrationScale,
    VibrationUnit,
};

use super::case::{Case, assert_near};
use crate::support::vectors::Fields;

fn rpm(value: f64) -> Speed {
    Speed::from_rpm(value).unwrap()
}

fn pounds(value: f64) -> Mass {
    Mass::from_pounds(value).unwrap()
}

fn millimetres(value: f64) -> Length {
    Length::from_millimetres(value).unwrap()
}

pub(crate) fn turbine(case: &Case) {
    let (inputs, expected, rel) = (case.inputs(), case.expected(), case.tolerance("rel"));
    let grade = BalanceGrade::from_millimetres_per_second(inputs.number("G_mm_s")).unwrap();
    assert_eq!(grade.millimetres_per_second(), BalanceGrade::G2_5.millimetres_per_second());
    let (mass, speed) = (Mass::from_kilograms(inputs.number("m_kg")).unwrap(), rpm(inputs.number("n_rpm")));
    let near = |got: f64, key: &str| assert_near(got, expected.number(key), rel * expected.number(key));
    let whole = grade.permissible(mass, speed).value;
    near(grade.specific_unbalance(speed).value.micrometres(), "e_per_um");
    near(whole.gram_millimetres(), "U_per_gmm");
    let planes = TolerancePlanes::new(
        Length::ZERO,
        millimetres(inputs.number("L_mm")),
        millimetres(inputs.number("L_A_mm")),
    );
    let parts = planes.unwrap().allocate(whole, ShareLimits::INBOARD);
    near(parts.amounts[0].gram_millimetres(), "U_A_gmm");
    near(parts.amounts[1].gram_millimetres(), "U_B_gmm");
    assert_eq!(parts.limited, [false; 2]);
}

pub(crate) fn imperial_grade(case: &Case) {
    let (inputs, expected, abs) = (case.inputs(), case.expected(), case.tolerance("abs"));
    let grade = BalanceGrade::from_millimetres_per_second(inputs.number("G")).unwrap();
    let whole = grade.permissible(pounds(inputs.number("W_lb")), rpm(inputs.number("N_rpm"))).value;
    assert_near(whole.ounce_inches(), expected.number("U_per_ozin"), abs);
    for part in allocate_symmetric(whole).amounts {
        assert_near(part.ounce_inches(), expected.number("per_plane_ozin"), abs);
    }
}

pub(crate) fn journal(case: &Case) {
    let limit =
        journal_rule(pounds(case.inputs().number("journal_static_lb")), rpm(case.inputs().number("N_rpm")));
    let limit = limit.unwrap();
    assert_eq!(limit.provenance.kind(), ProvenanceKind::Read);
    assert_near(
        limit.value.ounce_inches(),
        case.expected().number("U_per_plane_ozin"),
        case.tolerance("abs"),
    );
}

pub(crate) fn naval_ranges(case: &Case) {
    let (inputs, expected) = (case.inputs(), case.expected());
    let (speeds, wanted) = (inputs.numbers("N_rpm"), expected.numbers("U_ozin"));
    assert_eq!(speeds.len(), wanted.len());
    for (speed, want) in speeds.into_iter().zip(wanted) {
        let limit = naval_rule(pounds(inputs.number("W_lb")), rpm(speed)).unwrap();
        assert_near(limit.value.ounce_inches(), want, case.tolerance("rel") * want);
        // Only the range above 1000 rpm was read.
        let kind = if speed > 1000.0 { ProvenanceKind::Read } else { ProvenanceKind::FromMemory };
        assert_eq!(limit.provenance.kind(), kind, "{speed} rpm");
    }
}

pub(crate) fn journal_rule_as_a_grade(case: &Case) {
    // Two planes, each with half the rotor: together 4 W/N of the whole, whatever the rotor and the speed.
    for (mass, speed) in [(1000.0, 15_000.0), (31.0, 1800.0)] {
        let plane = journal_rule(pounds(0.5 * mass), rpm(speed)).unwrap().value;
        let grade = BalanceGrade::of_residual(plane + plane, pounds(mass), rpm(speed)).unwrap();
        let want = case.expected().number("G_equiv");
        assert_near(grade.millimetres_per_second(), want, case.tolerance("abs"));
    }
}

pub(crate) fn shop_test_and_floor(case: &Case) {
    let (speeds, wanted) = (case.inputs().numbers("N_rpm"), case.expected().numbers("limit_um_pp"));
    assert_eq!(speeds.len(), wanted.len());
    for (speed, want) in speeds.into_iter().zip(wanted) {
        assert_near(shop_test_vibration(rpm(speed)).value.micrometres(), want, case.tolerance("um"));
    }
    let floor = coupling_floor().value;
    assert_near(floor.gram_millimetres(), case.expected().number("floor_gmm"), case.tolerance("gmm"));
    let stated = Unbalance::new(case.inputs().number("floor_ozin"), UnbalanceUnit::OunceInch).unwrap();
    assert_near(floor.gram_millimetres(), stated.gram_millimetres(), 1e-14);
}

const RMS: VibrationUnit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);

pub(crate) fn zones_by_group(case: &Case) {
    let expected = case.expected();
    for (key, group, support) in [
        ("group1_rigid", MachineGroup::Large, Support::Rigid),
        ("group1_flexible", MachineGroup::Large, Support::Flexible),
        ("group2_rigid", MachineGroup::Medium, Support::Rigid),
        ("group2_flexible", MachineGroup::Medium, Support::Flexible),
    ] {
        let zones = SeverityZones::iso_20816_3(group, support);
        assert_eq!((zones.boundaries().to_vec(), zones.unit()), (expected.numbers(key), RMS));
        let displacement = SeverityZones::iso_20816_3_displacement(group, support);
        assert_eq!(displacement.boundaries().to_vec(), expected.numbers(&format!("{key}_um_rms")));
        let micrometres = VibrationUnit::new(VibrationScale::Micrometre, Detector::Rms);
        assert_eq!(displacement.unit(), micrometres);
        for zones in [zones, displacement] {
            assert_eq!(zones.provenance().kind(), ProvenanceKind::FromMemory);
        }
    }
}

pub(crate) fn zones_by_class(case: &Case) {
    let (expected, reading) = (case.expected(), case.inputs().number("reading_mm_s_rms"));
    for (name, class) in [
        ("I", MachineClass::I),
        ("II", MachineClass::II),
        ("III", MachineClass::III),
        ("IV", MachineClass::IV),
    ] {
        let zones = SeverityZones::iso_10816_1(class);
        assert_eq!(zones.boundaries().to_vec(), expected.numbers(&format!("class_{name}")));
        assert_eq!(zones.provenance().kind(), ProvenanceKind::FromMemory);
        let zone = zones.zone_of(reading, RMS, rpm(1480.0));
        assert_eq!(zone.to_string(), expected["zone_of_3_0"].text(name));
        // A value on a boundary belongs to the better zone.
        for (boundary, zone) in zones.boundaries().into_iter().zip([Zone::A, Zone::B, Zone::C]) {
            assert_eq!(zones.zone_of(boundary, RMS, rpm(1480.0)), zone);
        }
    }
}

pub(crate) fn list_of_grades(case: &Case) {
    let (expected, speed) = (case.expected(), rpm(case.inputs().number("N_rpm")));
    let listed = BalanceGrade::LISTED.map(BalanceGrade::millimetres_per_second);
    assert_eq!(listed.to_vec(), expected.numbers("grades"));
    for (grade, want) in BalanceGrade::LISTED.into_iter().zip(expected.numbers("e_per_um_at_3000")) {
        let Limit { value, provenance } = grade.specific_unbalance(speed);
        // The figures are printed to 5 places.
        assert_near(value.micrometres(), want, case.tolerance("rel") * want + 5e-6);
        assert_eq!(provenance.kind(), ProvenanceKind::FromMemory);
    }
}

pub(crate) fn inboard_limits(case: &Case) {
    let (inputs, expected, abs) = (case.inputs(), case.expected(), case.tolerance("abs"));
    let (before, after) = (inputs.number("L_A_mm"), inputs.number("L_B_mm"));
    let planes = TolerancePlanes::new(millimetres(-before), millimetres(after), Length::ZERO).unwrap();
    let whole = Unbalance::from_gram_millimetres(inputs.number("U_per_gmm")).unwrap();
    let parts = planes.allocate(whole, ShareLimits::INBOARD);
    assert_near(parts.amounts[0].gram_millimetres(), expected.number("U_A_gmm"), abs);
    assert_near(parts.amounts[1].gram_millimetres(), expected.number("U_B_gmm"), abs);
    assert_eq!(parts.limited, [true; 2]);
}

pub(crate) fn halves(case: &Case) {
    let (inputs, expected, abs) = (case.inputs(), case.expected(), case.tolerance("abs"));
    let pound_inches = inputs.number("lb_in_per_lb") * inputs.number("rotor_lb");
    let whole = Unbalance::new(pound_inches, UnbalanceUnit::PoundInch).unwrap();
    assert_near(whole.ounce_inches(), expected.number("total_ozin"), abs);
    assert_near(whole.ounce_inches(), expected.number("disc_single_ozin"), abs);
    for part in allocate_symmetric(whole).amounts {
        assert_near(part.ounce_inches(), expected.number("two_plane_each_ozin"), abs);
    }
}

pub(crate) fn propeller_maker(case: &Case) {
    let (inputs, expected, rel) = (case.inputs(), case.expected(), case.tolerance("rel"));
    let (limits, speed) = (PropellerLimits::USUAL, rpm(inputs.number("speed_rpm")));
    let most = limits.most();
    assert_eq!((most.value, most.provenance.kind()), (expected.number("limit_in_s"), ProvenanceKind::Read));
    assert_eq!(inputs.number("limit_in_s"), most.value);
    // The same limit as a reading in other units: just below it is permitted, just above it is not.
    for (key, scale, detector) in [
        ("mm_s_pk", VibrationScale::MillimetrePerSecond, Detector::Peak),
        ("mm_s_rms", VibrationScale::MillimetrePerSecond, Detector::Rms),
        ("mil_pp", VibrationScale::Mil, Detector::PeakToPeak),
    ] {
        let (unit, at) = (VibrationUnit::new(scale, detector), expected.number(key));
        let judged = |amplitude| limits.judge(amplitude, unit, speed);
        assert_eq!(judged(at * (1.0 - rel)), PropellerVibration::Permitted, "{key}");
        assert_eq!(judged(at * (1.0 + rel)), PropellerVibration::Balance, "{key}");
    }
}
