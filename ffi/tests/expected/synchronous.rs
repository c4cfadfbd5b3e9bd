//! A record that C and Rust make of the same arithmetic: tach channel, marks, extraction in one piece and streamed.

use counterpoise::first_weight::Polarity;
use counterpoise::synchronous::{
    Edge, Extraction, Mark, MarkPattern, Order, PulseGate, PulseTrain, ResponsePoint, SensorChain,
    SynchronousVector, TachLevels, TachReader,
};
use counterpoise::{Channel, Detector, PhaseSense, Speed, SpeedWindow, VibrationScale, VibrationUnit};

use super::several;

const COUNT: u32 = 2000;

/// Once per turn of 50 samples as a parabola, its double, and a little that has no order.
fn sample(i: u32) -> f64 {
    let turned = f64::from(i % 50) / 50.0;
    let twice = f64::from(i % 25) / 25.0;
    let noise = f64::from((i * 7919) % 101) / 1000.0;
    turned * (1.0 - turned) + 0.25 * (twice * (1.0 - twice)) + noise
}

fn tach(i: u32) -> f64 {
    if i % 50 < 5 { 4.0 } else { 0.5 }
}

fn of<const ORDERS: usize>(vector: &SynchronousVector<ORDERS>, chain: &SensorChain<'_>) -> Vec<f64> {
    let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    let window = SpeedWindow::around_percent(Speed::from_rpm(1200.0).unwrap(), 1.0).unwrap();
    let channel = Channel::new(1, unit, PhaseSense::Lag, window);
    let reading = chain.reading(vector, channel).unwrap().vibration().complex();
    let mut values: Vec<f64> = vector.vectors.iter().flat_map(|v| [v.complex().re, v.complex().im]).collect();
    let scatter = vector.scatter.unwrap();
    values.extend([
        scatter.covariance()[0][0],
        scatter.covariance()[0][1],
        scatter.degrees_of_freedom().count(),
        vector.mean,
        vector.drift_per_second,
        vector.residual_rms,
        vector.speed.mean.rpm(),
        vector.turns,
        vector.chance_of_trend().unwrap(),
        reading.re,
        reading.im,
    ]);
    values
}

pub fn numbers() -> Vec<(String, f64)> {
    let samples: Vec<f64> = (0..COUNT).map(sample).collect();
    let tach: Vec<f64> = (0..COUNT).map(tach).collect();
    let levels = TachLevels::found(&tach).unwrap();
    let pulses: Vec<f64> = TachReader::new(levels, Edge::Rising, 1000.0).unwrap().pulses(&tach).collect();
    let train = PulseTrain::read(&pulses, MarkPattern::ONE).unwrap();
    let extraction = Extraction::new([Order::ONCE_PER_TURN, Order::of_rotor(2.0).unwrap()], 1000.0).unwrap();
    let points = [
        ResponsePoint { hertz: 10.0, gain: 0.8, phase_lead_degrees: 30.0 },
        ResponsePoint { hertz: 30.0, gain: 0.96, phase_lead_degrees: 14.0 },
    ];
    let chain = SensorChain::new(VibrationScale::StandardGravity, 0.5)
        .unwrap()
        .polarity(Polarity::Against)
        .delayed_by_seconds(0.0003)
        .unwrap()
        .response(&points)
        .unwrap();
    let in_one = extraction.extract(&samples, &train.rotation().unwrap()).unwrap();
    #[allow(clippy::cast_possible_truncation)] // below 1024
    let counts: Vec<i32> = samples.iter().map(|sample| (sample * 1024.0) as i32).collect();
    #[allow(clippy::cast_precision_loss)] // far below 2²⁴
    let floats: Vec<f32> = counts.iter().map(|count| *count as f32 / 1024.0).collect();
    let of_floats = extraction.extract(&floats, &train.rotation().unwrap()).unwrap();
    let of_counts = extraction.extract(&counts, &train.rotation().unwrap()).unwrap();

    let window = SpeedWindow::around_percent(Speed::from_rpm(1200.0).unwrap(), 10.0).unwrap();
    let mut reader = TachReader::new(levels, Edge::Rising, 1000.0).unwrap();
    let mut gate = PulseGate::new(1, window).unwrap();
    let mut stream = extraction.stream::<1024>();
    for (sample, tach) in samples.iter().zip(&tach) {
        stream.sample(*sample).unwrap();
        if let Some(seconds) = reader.sample(*tach) {
            if let Some(mark) = gate.pulse(seconds).unwrap() {
                stream.mark(mark).unwrap();
            }
        }
    }
    let estimate = stream.estimate().unwrap();
    let lowest = stream.lowest_rpm();
    let marks: Vec<f64> =
        train.marks().iter().flat_map(|&Mark { seconds, turns }| [seconds, turns]).collect();
    [
        several("marks", &marks),
        several("piece", &of(&in_one, &chain)),
        several("float", &of(&of_floats, &chain)),
        several("counts", &of(&of_counts, &chain)),
        several("estimate", &of(&estimate, &chain)),
        several("finish", &of(&stream.finish().unwrap(), &chain)),
        several("levels", &[levels.low(), levels.high(), lowest]),
    ]
    .concat()
}
