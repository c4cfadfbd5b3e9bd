//! What the integration tests share: a machine that is exactly linear, channels to read it with, and comparisons.
#![allow(dead_code, reason = "each test binary uses a part of it")]
#![allow(
    clippy::panic,
    clippy::unwrap_used,
    clippy::indexing_slicing,
    reason = "a test that cannot go on fails"
)]

pub(crate) mod double_double;
pub(crate) mod drawn;
pub(crate) mod vectors;

use counterpoise::{
    Channel, Detector, Estimator, Influence, InfluenceMatrix, PhaseSense, Reading, Run, Speed, SpeedWindow,
    UnbalanceVector, VibrationScale, VibrationUnit,
};
use num_complex::Complex64;
use proptest::test_runner::{Config, RngSeed};

pub(crate) use counterpoise::Vibration;

/// ε = 2⁻⁵²
pub(crate) const EPS: f64 = f64::EPSILON;

/// Proptest that draws the same cases in every run; `PROPTEST_RNG_SEED` draws others.
pub(crate) fn cases(cases: u32) -> Config {
    let config = Config::default();
    let rng_seed = match config.rng_seed {
        RngSeed::Random => RngSeed::Fixed(21_940),
        fixed @ RngSeed::Fixed(_) => fixed,
    };
    Config { cases, rng_seed, failure_persistence: None, ..config }
}

/// |z|
pub(crate) fn modulus(z: Complex64) -> f64 {
    libm::hypot(z.re, z.im)
}

/// A complex number from its size and argument in degrees.
pub(crate) fn polar(size: f64, degrees: f64) -> Complex64 {
    let radians = degrees * (core::f64::consts::PI / 180.0);
    Complex64::new(size * libm::cos(radians), size * libm::sin(radians))
}

/// The argument in degrees, in [0, 360).
pub(crate) fn degrees(z: Complex64) -> f64 {
    let signed = libm::atan2(z.im, z.re) * (180.0 / core::f64::consts::PI);
    if signed < 0.0 { signed + 360.0 } else { signed }
}

/// The least turn from one direction to another, in degrees, 0 to 180.
pub(crate) fn turn_between(a: f64, b: f64) -> f64 {
    let turn = libm::fmod((a - b).abs(), 360.0);
    if turn > 180.0 { 360.0 - turn } else { turn }
}

/// ‖z‖
pub(crate) fn length(z: &[Complex64]) -> f64 {
    libm::sqrt(z.iter().map(|z| z.re * z.re + z.im * z.im).sum::<f64>())
}

/// ‖a − b‖
pub(crate) fn distance(a: &[Complex64], b: &[Complex64]) -> f64 {
    assert_eq!(a.len(), b.len());
    length(&a.iter().zip(b).map(|(a, b)| a - b).collect::<Vec<_>>())
}

pub(crate) fn vibration(z: Complex64) -> Vibration {
    Vibration::from_components(z.re, z.im).unwrap()
}

pub(crate) fn unbalance(z: Complex64) -> UnbalanceVector {
    UnbalanceVector::from_components_gram_millimetres(z.re, z.im).unwrap()
}

pub(crate) fn influence(z: Complex64) -> Influence {
    Influence::from_components_per_gram_millimetre(z.re, z.im).unwrap()
}

/// Their canonical complex numbers.
pub(crate) fn complex<T: Copy + Into<Complex64>>(quantities: &[T]) -> Vec<Complex64> {
    quantities.iter().map(|&quantity| quantity.into()).collect()
}

pub(crate) fn unbalances(z: &[Complex64]) -> Vec<UnbalanceVector> {
    z.iter().copied().map(unbalance).collect()
}

pub(crate) fn vibrations(z: &[Complex64]) -> Vec<Vibration> {
    z.iter().copied().map(vibration).collect()
}

pub(crate) const MM_S: VibrationUnit =
    VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Peak);

/// A channel in mm/s peak at 2400 rpm whose window is 1 % wide.
pub(crate) fn channel(sensor: u16) -> Channel {
    channel_in(sensor, MM_S)
}

pub(crate) fn channel_in(sensor: u16, unit: VibrationUnit) -> Channel {
    let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0).unwrap(), 1.0).unwrap();
    Channel::new(sensor, unit, PhaseSense::Lead, window)
}

pub(crate) fn channels(count: usize) -> Vec<Channel> {
    (1..).take(count).map(channel).collect()
}

/// A run of these channels, with what is mounted plane by plane.
pub(crate) fn run(channels: &[Channel], mounted: &[Complex64], read: &[Complex64]) -> Run {
    let readings: Vec<Reading> =
        channels.iter().zip(read).map(|(channel, &v)| channel.reading_of(vibration(v))).collect();
    run_of(mounted, &readings)
}

pub(crate) fn run_of(mounted: &[Complex64], readings: &[Reading]) -> Run {
    let with_weights =
        (0..).zip(mounted).fold(Run::new("run"), |run, (plane, &u)| run.mounted(plane, unbalance(u)));
    readings.iter().fold(with_weights, |run, &reading| run.reading(reading))
}

/// An estimator with relative weights, and all these runs: what was mounted, and what was read.
pub(crate) fn estimator(
    channels: &[Channel],
    planes: usize,
    runs: &[(Vec<Complex64>, Vec<Complex64>)],
) -> Estimator {
    let mut estimator = Estimator::with_relative_weights(channels, planes).unwrap();
    for (mounted, read) in runs {
        estimator.add(run(channels, mounted, read)).unwrap();
    }
    estimator
}

/// A machine that is exactly linear: `v = v0 + H u`, one row per measuring point, one column per plane.
#[derive(Debug, Clone)]
pub(crate) struct Plant {
    pub(crate) as_found: Vec<Complex64>,
    pub(crate) influence: Vec<Vec<Complex64>>,
}

impl Plant {
    pub(crate) fn planes(&self) -> usize {
        self.influence[0].len()
    }

    pub(crate) fn points(&self) -> usize {
        self.influence.len()
    }

    /// v = v0 + H u
    pub(crate) fn read(&self, mounted: &[Complex64]) -> Vec<Complex64> {
        let row = |(v0, row): (&Complex64, &Vec<Complex64>)| {
            row.iter().zip(mounted).fold(*v0, |sum, (h, u)| sum + h * u)
        };
        self.as_found.iter().zip(&self.influence).map(row).collect()
    }

    /// What is mounted and read in a run with these weights.
    pub(crate) fn run(&self, mounted: &[Complex64]) -> (Vec<Complex64>, Vec<Complex64>) {
        (mounted.to_vec(), self.read(mounted))
    }

    /// The run as found, and one run for each trial weight, taken off before the next.
    pub(crate) fn runs(&self, trials: &[Complex64]) -> Vec<(Vec<Complex64>, Vec<Complex64>)> {
        let planes = self.planes();
        let none = vec![Complex64::default(); planes];
        let with_trial = |(plane, &trial): (usize, &Complex64)| {
            let mut mounted = none.clone();
            mounted[plane] = trial;
            self.run(&mounted)
        };
        let as_found = core::iter::once(self.run(&none));
        as_found.chain(trials.iter().enumerate().map(with_trial)).collect()
    }

    pub(crate) fn estimator(&self, trials: &[Complex64]) -> Estimator {
        estimator(&channels(self.points()), self.planes(), &self.runs(trials))
    }

    /// The true coefficients as a matrix of the library.
    pub(crate) fn matrix(&self) -> InfluenceMatrix {
        let coefficients: Vec<Influence> = self.influence.iter().flatten().copied().map(influence).collect();
        InfluenceMatrix::new(&channels(self.points()), self.planes(), &coefficients).unwrap()
    }
}
