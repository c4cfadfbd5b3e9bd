//! Plain numbers, angles, channels and readings.

use counterpoise::{
    Angle, Convention, Detector, Force, Influence, Length, Mass, OnePlane, PhaseSense, Radius, RotorAngle,
    RotorSense, Speed, SpeedLaw, SpeedWindow, Unbalance, UnbalanceVector, Vibration, VibrationScale,
    VibrationUnit, Weight,
};

use super::refused;
use crate::support::{channel, channel_in};

const NAN: f64 = f64::NAN;
const INF: f64 = f64::INFINITY;

#[test]
fn numbers_that_are_not_finite() {
    const WHY: &str = "check where the number comes from";
    let text = |what: &str, value: &str| format!("{what} must be a finite number, got {value}: {WHY}");
    refused(Mass::from_grams(NAN), 101, &text("mass", "NaN"));
    refused(Mass::from_ounces(INF), 101, &text("mass", "inf"));
    refused(Length::from_mils(-INF), 101, &text("length", "-inf"));
    refused(Radius::from_millimetres(NAN), 101, &text("radius", "NaN"));
    refused(Speed::from_hertz(INF), 101, &text("speed", "inf"));
    refused(Unbalance::from_ounce_inches(NAN), 101, &text("unbalance", "NaN"));
    refused(Force::from_newtons(-INF), 101, &text("force", "-inf"));
    refused(Angle::from_degrees(INF), 101, &text("angle", "inf"));
    refused(Angle::from_radians(NAN), 101, &text("angle", "NaN"));
    refused(RotorSense::AgainstRotation.degrees(NAN), 101, &text("angle", "NaN"));
    refused(Vibration::from_components(0.0, NAN), 101, &text("vibration", "NaN"));
    refused(Vibration::from_polar(INF, PhaseSense::Lag, Angle::ZERO), 101, &text("amplitude", "inf"));
    refused(UnbalanceVector::from_components_gram_millimetres(NAN, 1.0), 101, &text("unbalance", "NaN"));
    refused(
        Influence::from_components_per_gram_millimetre(1.0, -INF),
        101,
        &text("influence coefficient", "-inf"),
    );
    let convention = Convention { phase: PhaseSense::Lag, rotor: RotorSense::WithRotation };
    refused(convention.vibration(NAN, 0.0), 101, &text("amplitude", "NaN"));
    refused(convention.vibration(1.0, INF), 101, &text("angle", "inf"));
    refused(convention.place(NAN), 101, &text("angle", "NaN"));
    refused(channel(1).reading(1.0, NAN), 101, &text("angle", "NaN"));
    refused(channel(1).reading(-INF, 0.0), 101, &text("amplitude", "-inf"));
}

#[test]
fn sizes_with_a_sign() {
    const WHY: &str = "give its size, without a sign";
    let positive = |what: &str, value: &str| format!("{what} must be greater than zero, got {value}: {WHY}");
    refused(Radius::from_millimetres(-165.0), 102, &positive("radius", "-165.0 mm"));
    refused(Radius::from_inches(0.0), 102, &positive("radius", "0.0 in"));
    refused(Radius::from_length(Length::from_inches(-1.0).unwrap()), 102, &positive("radius", "-25.4 mm"));
    refused(Speed::from_rpm(0.0), 102, &positive("speed", "0.0 rpm"));
    refused(Speed::from_hertz(-40.0), 102, &positive("speed", "-40.0 Hz"));
    refused(Speed::from_radians_per_second(-0.0), 102, &positive("speed", "-0.0 rad/s"));
    refused(
        Vibration::from_polar(-0.62, PhaseSense::Lead, Angle::ZERO),
        103,
        "amplitude must not be negative, got -0.62 in the channel's unit: give its size, without a sign",
    );
}

#[test]
fn numbers_beyond_range() {
    let text =
        |what: &str| format!("{what} is beyond what can be computed with: check the number and its unit");
    refused(Mass::from_kilograms(1e300), 104, &text("mass 1e300 kg"));
    refused(Radius::from_millimetres(1e-300), 104, &text("radius 1e-300 mm"));
    refused(Speed::from_rpm(f64::MIN_POSITIVE), 104, &text("speed 2.2250738585072014e-308 rpm"));
    refused(Unbalance::from_gram_millimetres(-1e101), 104, &text("unbalance -1e101 g mm"));
    refused(Force::from_pounds_force(f64::MAX), 104, &text("force 1.7976931348623157e308 lbf"));
    refused(Vibration::from_components(1e101, 0.0), 104, &text("vibration 1e101 in the channel's unit"));
    refused(
        UnbalanceVector::from_components_gram_millimetres(0.0, -2e100),
        104,
        &text("unbalance -2e100 g mm"),
    );
    refused(
        Influence::from_components_per_gram_millimetre(1e200, 0.0),
        104,
        &text("influence coefficient 1e200 per g mm"),
    );
    refused(Angle::from_radians(1e308), 104, &text("angle 1e308 rad"));
    refused(channel(1).reading(1e150, 0.0), 104, &text("amplitude 1e150 in the channel's unit"));
}

/// Signs that mean something: material taken off, and stations before the origin. Zeros have no sign.
#[test]
fn negative_numbers_with_a_meaning() {
    let drilled = Weight::new(
        Mass::from_grams(-2.0).unwrap(),
        Radius::from_millimetres(100.0).unwrap(),
        RotorAngle::MARK,
    );
    assert_eq!(drilled.unbalance().amount().gram_millimetres(), 200.0);
    assert_eq!(drilled.unbalance().angle().with_rotation().degrees(), 180.0);
    assert_eq!(Length::from_metres(-0.5).unwrap().millimetres(), -500.0);
    let nothing = Vibration::from_polar(-0.0, PhaseSense::Lag, Angle::from_degrees(75.0).unwrap()).unwrap();
    assert_eq!(nothing, Vibration::ZERO);
    assert_eq!((nothing.amplitude(), nothing.phase(PhaseSense::Lag).degrees()), (0.0, 0.0));
    assert!((-Vibration::ZERO).complex().re.is_sign_positive());
    assert!((-UnbalanceVector::ZERO).complex().im.is_sign_positive());
}

#[test]
fn angles_of_any_size() {
    let degrees = |value: f64| Angle::from_degrees(value).unwrap().degrees();
    let below = f64::from_bits(360.0_f64.to_bits() - 1);
    // Nearer to a whole turn than a double can say.
    assert_eq!(degrees(-1e-17), 0.0);
    assert_eq!(degrees(below), below);
    assert_eq!(degrees(360.0), 0.0);
    assert_eq!(degrees(-360.0).to_bits(), 0.0_f64.to_bits());
    assert_eq!(degrees(720.0 + 45.0), 45.0);
    // The remainders are exact: those of the doubles as whole numbers, by integer arithmetic.
    assert_eq!(degrees(1e300), 0.0);
    assert_eq!(degrees(1e299), 216.0);
    assert_eq!(degrees(-1e299), 144.0);
    assert_eq!(degrees(f64::MAX), 128.0);
    assert_eq!(degrees(f64::MIN_POSITIVE), f64::MIN_POSITIVE);
    // The sum, the difference, the mirror image and the opposite stay in range, too.
    let tiny = Angle::from_degrees(1e-300).unwrap();
    for angle in [-tiny, Angle::ZERO - tiny, Angle::from_degrees(below).unwrap() + tiny, tiny.opposite()] {
        assert!((0.0..360.0).contains(&angle.degrees()), "{angle:?}");
    }
    for value in [-1e-17, 1e300, below, -1e299, 5e-324, -5e-324] {
        for convention in [
            Convention { phase: PhaseSense::Lag, rotor: RotorSense::AgainstRotation },
            Convention { phase: PhaseSense::Lead, rotor: RotorSense::WithRotation },
        ] {
            let place = convention.place(value).unwrap().in_sense(convention.rotor).degrees();
            let polar = convention.polar_vibration(convention.vibration(2.0, value).unwrap());
            let (amplitude, phase) = (polar.amplitude, polar.phase);
            for printed in [place, phase.degrees()] {
                let off = libm::fmod((printed - degrees(value)).abs(), 360.0);
                assert!(
                    (0.0..360.0).contains(&printed) && off.min(360.0 - off) < 1e-12,
                    "{value}: {printed}"
                );
            }
            assert!((amplitude - 2.0).abs() < 1e-15);
        }
    }
}

#[test]
fn speed_windows() {
    let speed = |rpm| Speed::from_rpm(rpm).unwrap();
    let text = |lowest: &str, highest: &str, nominal: &str| {
        format!(
            "a speed window of {lowest} to {highest} rpm does not hold its nominal {nominal} rpm: give bounds on \
             either side of it"
        )
    };
    refused(SpeedWindow::around_percent(speed(2400.0), NAN), 201, &text("NaN", "NaN", "2400.0"));
    refused(SpeedWindow::around_percent(speed(2400.0), -1.0), 201, &text("2424.0", "2376.0", "2400.0"));
    refused(SpeedWindow::around_percent(speed(2400.0), 100.0), 201, &text("0.0", "4800.0", "2400.0"));
    refused(SpeedWindow::around_percent(speed(2400.0), INF), 201, &text("-inf", "inf", "2400.0"));
    refused(
        SpeedWindow::between(speed(2000.0), speed(1900.0), speed(2100.0)),
        201,
        &text("2000.0", "2100.0", "1900.0"),
    );
    // A window without width holds its own speed.
    assert!(SpeedWindow::around_percent(speed(2400.0), 0.0).unwrap().holds(speed(2400.0)));
}

#[test]
fn readings_at_the_wrong_speed() {
    let reading = channel(7).reading(0.3, 20.0).unwrap();
    refused(
        reading.at(Speed::from_rpm(2375.9).unwrap()),
        202,
        "a reading at 2375.9 rpm lies outside the 2376.0 to 2424.0 rpm of sensor 7: read again at speed, widen the \
         window, or declare how the response grows with speed",
    );
    assert!(reading.at(Speed::from_rpm(2376.0).unwrap()).is_ok());
    let unit = VibrationUnit::new(VibrationScale::MetrePerSecondSquared, Detector::Peak);
    let scaled = channel_in(7, unit).with_law(SpeedLaw::StiffnessControlled).reading(0.3, 20.0).unwrap();
    // (2¹¹⁰)⁴ = 2⁴⁴⁰, exactly
    let slow = 2400.0 / libm::exp2(110.0);
    refused(
        scaled.at(Speed::from_rpm(slow).unwrap()),
        204,
        &format!(
            "a reading of sensor 7 at {slow:?} rpm would be scaled by {:?}: check the speed, or declare no law",
            libm::exp2(440.0),
        ),
    );
    let displacement = VibrationUnit::new(VibrationScale::Mil, Detector::PeakToPeak);
    refused(
        reading.change_from(&channel_in(7, displacement).reading(0.3, 20.0).unwrap()),
        203,
        "readings of sensor 7 at 2400.0 rpm and of sensor 7 at 2400.0 rpm do not go together: compare readings of one \
         channel, with one unit, phase sense, window and law",
    );
}

#[test]
fn weights_and_standard_deviations_of_readings() {
    let reading = channel(1).reading(0.3, 20.0).unwrap();
    refused(
        reading.with_weight(0.0),
        102,
        "weight must be greater than zero, got 0.0 (a plain number): give its size, without a sign",
    );
    refused(
        reading.with_weight(NAN),
        101,
        "weight must be a finite number, got NaN: check where the number comes from",
    );
    refused(
        reading.with_weight(1e101),
        104,
        "weight 1e101 (a plain number) is beyond what can be computed with: check the number and its unit",
    );
    refused(
        reading.with_standard_deviation(-0.01),
        102,
        "standard deviation must be greater than zero, got -0.01 in the channel's unit: give its size, without a sign",
    );
    refused(
        reading.with_standard_deviation(1e-200),
        104,
        "standard deviation 1e-200 in the channel's unit is beyond what can be computed with: check the number and its \
         unit",
    );
}

/// A quotient of accepted numbers may still be beyond the range of doubles.
#[test]
fn quotients_beyond_the_range_of_doubles() {
    let small = Influence::from_components_per_gram_millimetre(0.0, 1e-300).unwrap();
    let plane = OnePlane::from_influence(small).unwrap();
    refused(
        plane.correction(Vibration::from_components(1e100, 0.0).unwrap()),
        412,
        "the result is beyond the range of numbers: check the units of readings and coefficients",
    );
    let (before, after) = (Vibration::ZERO, Vibration::from_components(1e-300, 0.0).unwrap());
    let heavy = UnbalanceVector::from_components_gram_millimetres(1e100, 0.0).unwrap();
    refused(
        OnePlane::from_trial(before, after, heavy),
        320,
        "channel 0: the result is beyond the range of numbers; check the units of weights and readings",
    );
}
