//! The problems that are timed and counted: invented numbers, the same in every run.

pub mod placement;

use counterpoise::{
    Channel, Detector, Influence, InfluenceMatrix, PhaseSense, QuantityError, Speed, SpeedWindow,
    TwoPlaneRun, UnbalanceVector, Vibration, VibrationScale, VibrationUnit,
};
use num_complex::Complex64;

/// Numbers that look random and are not: the fractional parts of multiples of an irrational number, in (-1, 1).
struct Sequence(f64);

impl Sequence {
    fn next(&mut self) -> f64 {
        self.0 = (self.0 + 0.618_033_988_749_894_9).fract();
        2.0 * self.0 - 1.0
    }

    fn complex(&mut self) -> Complex64 {
        Complex64 { re: self.next(), im: self.next() }
    }
}

/// As found, with trial, and the trial.
pub fn one_plane() -> Result<(Vibration, Vibration, UnbalanceVector), QuantityError> {
    Ok((
        Vibration::from_components(0.30, -0.33)?,
        Vibration::from_components(0.50, -0.57)?,
        UnbalanceVector::from_components_gram_millimetres(-510.0, 1910.0)?,
    ))
}

/// As found, and a trial in each plane.
pub fn two_planes() -> Result<[TwoPlaneRun; 3], QuantityError> {
    let vibration = Vibration::from_components;
    let (none, trial) =
        (UnbalanceVector::ZERO, UnbalanceVector::from_components_gram_millimetres(-800.0, 600.0)?);
    Ok([
        TwoPlaneRun { mounted: [none, none], vibration: [vibration(4.86, 6.35)?, vibration(3.73, -6.17)?] },
        TwoPlaneRun { mounted: [trial, none], vibration: [vibration(1.01, 10.27)?, vibration(1.97, -3.37)?] },
        TwoPlaneRun { mounted: [none, trial], vibration: [vibration(2.77, 8.28)?, vibration(-0.77, -3.52)?] },
    ])
}

/// Influence coefficients and present vibrations of `channels` channels and `planes` planes.
pub fn many(
    channels: u16,
    planes: usize,
) -> Result<(InfluenceMatrix, Vec<Vibration>), Box<dyn std::error::Error>> {
    let mut numbers = Sequence(0.2);
    let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    let names: Vec<Channel> =
        (0..channels).map(|sensor| Channel::new(sensor, unit, PhaseSense::Lag, window)).collect();
    let coefficients = (0..usize::from(channels) * planes)
        .map(|_| {
            let h = numbers.complex() * 1e-3;
            Influence::from_components_per_gram_millimetre(h.re, h.im)
        })
        .collect::<Result<Vec<_>, _>>()?;
    let now = (0..channels)
        .map(|_| {
            let v = numbers.complex() * 5.0;
            Vibration::from_components(v.re, v.im)
        })
        .collect::<Result<Vec<_>, _>>()?;
    Ok((InfluenceMatrix::new(&names, planes, &coefficients)?, now))
}
