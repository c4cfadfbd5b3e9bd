//! Units, centrifugal force, and rules of thumb made of them.

use counterpoise::first_weight::SizeRule;
use counterpoise::{
    Channel, Detector, Force, PhaseSense, Radius, Speed, SpeedWindow, Unbalance, VibrationScale,
    VibrationUnit,
};

use super::case::{Case, assert_near};
use crate::support::{self, vectors::Fields};

const fn unit(scale: VibrationScale, detector: Detector) -> VibrationUnit {
    VibrationUnit::new(scale, detector)
}

const IN_S: VibrationUnit = unit(VibrationScale::InchPerSecond, Detector::Peak);
const MM_S: VibrationUnit = unit(VibrationScale::MillimetrePerSecond, Detector::Peak);

pub(crate) fn inch_and_millimetre(case: &Case) {
    let (inputs, expected, abs) = (case.inputs(), case.expected(), case.tolerance("abs"));
    // The speed does not enter between two velocities.
    let speed = Speed::from_rpm(1000.0).unwrap();
    let millimetres = IN_S.convert_amplitude(inputs.number("a_in_s_pk"), MM_S, speed);
    assert_near(millimetres, expected.number("a_mm_s_pk"), abs);
    let inches = MM_S.convert_amplitude(inputs.number("b_mm_s_pk"), IN_S, speed);
    assert_near(inches, expected.number("b_in_s_pk"), abs);
}

pub(crate) fn chain(case: &Case) {
    let speed = Speed::from_rpm(case.inputs().number("speed_rpm")).unwrap();
    let from = case.inputs().number("v_in_s_pk");
    for (key, to) in [
        ("mm_s_pk", MM_S),
        ("mm_s_rms", unit(VibrationScale::MillimetrePerSecond, Detector::Rms)),
        ("mil_pp", unit(VibrationScale::Mil, Detector::PeakToPeak)),
        ("um_pp", unit(VibrationScale::Micrometre, Detector::PeakToPeak)),
        ("g_pk", unit(VibrationScale::StandardGravity, Detector::Peak)),
        ("g_rms", unit(VibrationScale::StandardGravity, Detector::Rms)),
    ] {
        let want = case.expected().number(key);
        // The figures are printed to 6 places.
        assert_near(IN_S.convert_amplitude(from, to, speed), want, case.tolerance("rel") * want + 5e-7);
    }
}

pub(crate) fn ounce_inch(case: &Case) {
    let amount = Unbalance::from_ounce_inches(case.inputs().number("ozin")).unwrap();
    let want = case.expected().number("gmm");
    assert_near(amount.gram_millimetres(), want, case.tolerance("rel") * want);
}

pub(crate) fn centrifugal_force(case: &Case) {
    let amount = Unbalance::from_ounce_inches(case.inputs().number("U_ozin")).unwrap();
    let speed = Speed::from_rpm(case.inputs().number("N_rpm")).unwrap();
    let want = case.expected().number("F_lbf");
    assert_near(amount.centrifugal_force(speed).pounds_force(), want, case.tolerance("rel") * want);
}

pub(crate) fn trial_weight_by_static_load(case: &Case) {
    let (inputs, expected, rel) = (case.inputs(), case.expected(), case.tolerance("rel"));
    // What weighs so many pounds presses with as many pounds-force.
    let load = Force::from_pounds_force(inputs.number("static_load_lb")).unwrap();
    let speed = Speed::from_rpm(inputs.number("N_rpm")).unwrap();
    let window = SpeedWindow::around_percent(speed, 1.0).unwrap();
    // The rule looks at the speed of the reading only.
    let reading = Channel::new(1, IN_S, PhaseSense::Lag, window).reading(0.3, 0.0).unwrap();
    let rule = SizeRule::static_load_fraction(load, inputs.number("fraction")).unwrap();
    let amount = rule.amount(&reading).unwrap();
    assert_eq!(SizeRule::static_load(load).unwrap().amount(&reading), Ok(amount));
    // The figures are printed to 5 digits.
    let want = expected.number("unbalance_ozin");
    assert_near(amount.ounce_inches(), want, rel * want + 5e-5);
    let radius = Radius::from_inches(inputs.number("radius_in")).unwrap();
    let want = expected.number("trial_oz");
    assert_near((amount / radius).ounces(), want, rel * want + 5e-6);
    // By hand: F = U Ω²
    let force = amount.centrifugal_force(speed).newtons();
    assert_near(force, inputs.number("fraction") * load.newtons(), 1e-12 * force);
}

/// Whether a trial shows enough is judged later; what it is judged by is here: the change of amplitude, the turn of the
/// phase across 0, and the change of the vector.
pub(crate) fn thirty_thirty(case: &Case) {
    let channel = support::channel(1);
    let pairs = case.inputs().list("pairs");
    let passes = case.expected().list("passes");
    assert_eq!(pairs.len(), passes.len());
    for (pair, passes) in pairs.iter().zip(passes) {
        let before = channel.reading(pair.number("v0"), pair.number("d0")).unwrap();
        let after = channel.reading(pair.number("v1"), pair.number("d1")).unwrap();
        let (was, is) = (before.vibration(), after.vibration());
        let of_amplitude = (is.amplitude() - was.amplitude()).abs() / was.amplitude();
        let lead = PhaseSense::Lead;
        let of_phase = is.phase(lead).separation_degrees(was.phase(lead));
        // Across 0, and either way round.
        assert_near(of_phase, support::turn_between(pair.number("d1"), pair.number("d0")), 1e-12);
        assert_near(was.phase(lead).separation_degrees(is.phase(lead)), of_phase, 1e-12);
        assert_eq!(of_amplitude >= 0.30 || of_phase >= 30.0, passes.as_bool().unwrap(), "{pair}");
        // |v1 − v0|² = v0² + v1² − 2 v0 v1 cos φ
        let (a, b) = (pair.number("v0"), pair.number("v1"));
        let angle = of_phase * (core::f64::consts::PI / 180.0);
        let change = libm::sqrt(a * a + b * b - 2.0 * a * b * libm::cos(angle));
        assert_near(after.change_from(&before).unwrap().amplitude(), change, 1e-12);
    }
}
