//! Channels, readings, scatter.

use counterpoise::{
    Channel, Detector, PhaseSense, Repeats, Scatter, Speed, SpeedLaw, SpeedWindow, Vibration, VibrationScale,
    VibrationUnit,
};

use super::several;

pub fn numbers() -> Vec<(String, f64)> {
    let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    let window = SpeedWindow::around_percent(Speed::from_rpm(2350.0).unwrap(), 1.0).unwrap();
    let channel = Channel::new(7, unit, PhaseSense::Lag, window);
    let reading = channel.reading(0.45, 48.0).unwrap().at(Speed::from_rpm(2360.0).unwrap()).unwrap();
    let earlier = channel.reading(0.61, 75.0).unwrap();
    let law = channel.with_law(SpeedLaw::MassControlled);
    let scaled = law.reading(0.45, 48.0).unwrap().at(Speed::from_rpm(2000.0).unwrap()).unwrap();
    let change = reading.change_from(&earlier).unwrap().complex();
    let polar = channel.polar(earlier.vibration());
    let (amplitude, phase) = (polar.amplitude, polar.phase);
    let polar = Scatter::known_polar(reading.vibration(), 0.01, 3.0).unwrap();
    let sum = polar.plus(&Scatter::known(0.02).unwrap());
    let [[re_re, re_im], [_, im_im]] = sum.covariance();
    let [larger, smaller] = sum.semi_axes(0.95);
    let repeats: Vec<Vibration> = [(1.0, 2.0), (1.1, 2.2), (0.8, 2.1), (1.05, 1.9)]
        .map(|(re, im)| Vibration::from_components(re, im).unwrap())
        .into();
    let repeats = Repeats::of(&repeats).unwrap();
    let scatter = repeats.scatter_of_mean().unwrap();
    several(
        "channel",
        &[
            window.lowest().rpm(),
            window.highest().rpm(),
            reading.vibration().complex().re,
            reading.vibration().complex().im,
            scaled.at_nominal_speed().complex().re,
            scaled.speed_factor(),
            change.re,
            change.im,
            amplitude,
            phase.degrees(),
            re_re,
            re_im,
            im_im,
            larger,
            smaller,
            repeats.mean().complex().re,
            scatter.covariance()[0][1],
            scatter.degrees_of_freedom().count(),
        ],
    )
}
