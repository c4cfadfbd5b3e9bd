//! From raw samples and tach pulses to a correction: an invented record of a propeller, with everything that is in the way.
//!
//! A two-blade propeller on a four-cylinder engine at some 2350 rpm, one accelerometer, a tach that misses a pulse now and
//! then and fires once too often. The signal is that of `x(t) = Σ A_o cos(o θ(t) − φ_o)`, with the half orders of the crank
//! and the blade passing stronger than what is looked for, a slow drift of the speed, noise of a first-order
//! autoregression, and a converter that saturates at 1.2 g.
//!
//! `cargo run --release --example raw_record`

#![allow(clippy::disallowed_methods, clippy::cast_precision_loss)] // a program computes as it likes
#![allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // of counts

use std::error::Error;
use std::f64::consts::TAU;

use counterpoise::synchronous::{
    Extraction, MarkPattern, Order, PulseTrain, SensorChain, SynchronousVector, saturation_found,
};
use counterpoise::{
    Channel, Conformity, Convention, Detector, Estimator, Influence, Mass, PhaseSense, Precision, Radius,
    Reading, RotorSense, Run, Speed, SpeedWindow, UnbalanceVector, Uncertainty, Vibration, VibrationScale,
    VibrationUnit,
};
use num_complex::Complex64;
use rand_pcg::Pcg64;
use rand_pcg::rand_core::{Rng, SeedableRng};

const RATE_HERTZ: f64 = 6400.0;
const SECONDS: f64 = 10.0;
const CONVENTION: Convention = Convention { phase: PhaseSense::Lag, rotor: RotorSense::AgainstRotation };
/// The half orders of the crank, blade passing, and their neighbours.
const ORDERS: [f64; 6] = [1.0, 0.5, 1.5, 2.0, 2.5, 4.0];

fn main() -> Result<(), Box<dyn Error>> {
    let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    let window = SpeedWindow::around_percent(Speed::from_rpm(2350.0)?, 1.5)?;
    let channel = Channel::new(1, unit, CONVENTION.phase, window);
    let mut plant = Plant { draws: Pcg64::seed_from_u64(1_925) };
    let trial = CONVENTION.weight(Mass::from_grams(8.0)?, Radius::from_millimetres(165.0)?, 120.0)?;

    println!("An invented record; {RATE_HERTZ} samples a second, {SECONDS} s a run.\n");
    let mut runs = Estimator::with_known_variances(&[channel], 1)?;
    for (label, mounted) in [("as found", UnbalanceVector::ZERO), ("trial", trial.unbalance())] {
        let (samples, pulses) = plant.record(mounted);
        let reading = read(label, &samples, &pulses, channel)?;
        runs.add(Run::new(label).mounted(0, mounted).reading(reading))?;
    }

    let uncertainty = Uncertainty::of(&runs.fit()?)?;
    let correction = uncertainty.correction(&[])?;
    let [total] = correction.total() else { return Err("one plane".into()) };
    let weight = total.value().weight_at(trial.radius);
    let place = weight.angle.in_sense(CONVENTION.rotor).degrees();
    println!(
        "take the trial off; add {:.2} at {place:.1} deg against rotation, {}",
        weight.mass, trial.radius
    );
    let [long, short] = total.region_semi_axes(0.95);
    let grams = |unbalance: f64| unbalance / trial.radius.millimetres();
    println!("  its 95 % region reaches {:.2} g one way and {:.2} g the other", grams(long), grams(short));

    let next = uncertainty.vibration_with(&[total.value()])?;
    let [next] = next.as_slice() else { return Err("one channel".into()) };
    let verdict = match next.judged(0.1, 0.95) {
        Conformity::Within => "within",
        Conformity::Outside => "outside",
        _ => "not decided against",
    };
    println!(
        "  the next run: at most {:.3} in/s peak with 95 % confidence; {verdict} a limit of 0.1 in/s",
        next.magnitude(0.95)
    );

    let (samples, pulses) = plant.record(total.value());
    read("corrected", &samples, &pulses, channel)?;
    Ok(())
}

/// What a program does with a record: pulses, orders, vector, reading; and what it tells about them.
fn read(label: &str, samples: &[f32], pulses: &[f64], channel: Channel) -> Result<Reading, Box<dyn Error>> {
    let train = PulseTrain::read(pulses, MarkPattern::ONE)?;
    let mut orders = [Order::ONCE_PER_TURN; 6];
    for (order, per_turn) in orders.iter_mut().zip(ORDERS) {
        *order = Order::of_rotor(per_turn)?;
    }
    let mut extraction = Extraction::new(orders, RATE_HERTZ)?;
    if let Some([low, high]) = saturation_found(samples) {
        extraction = extraction.saturating_at(low, high)?;
    }
    let vector = extraction.extract(samples, &train.rotation()?)?;
    // 1 g_n a unit, delayed by 0.4 ms in the filter before the converter.
    let chain = SensorChain::new(VibrationScale::StandardGravity, 1.0)?.delayed_by_seconds(0.0004)?;
    let reading = chain.reading(&vector, channel)?;
    report(label, &train, &vector, &reading)?;
    Ok(reading)
}

fn report(
    label: &str,
    train: &PulseTrain,
    vector: &SynchronousVector<6>,
    reading: &Reading,
) -> Result<(), Box<dyn Error>> {
    let polar = reading.channel().polar(reading.vibration());
    let (amplitude, lag) = (polar.amplitude, polar.phase);
    let Precision::Scatter(scatter) = reading.precision() else {
        return Err("the record scatters".into());
    };
    println!(
        "{label}: {amplitude:.4} in/s peak, lag {:.1} deg, within {:.4} with 95 % confidence ({:.0} turns, {:.0})",
        lag.degrees(),
        scatter.semi_axes(0.95)[0],
        vector.turns,
        vector.speed.mean
    );
    println!("  pulses: {} missing, {} spurious", train.missing().len(), train.spurious().len());
    let [_, half, _, blades, ..] = vector.shares();
    println!(
        "  once in two turns {:.2} times as strong, blade passing {:.2} times (acceleration)",
        half.of_once_per_turn, blades.of_once_per_turn
    );
    for caution in vector.cautions() {
        println!("  caution: {caution}");
    }
    println!();
    Ok(())
}

/// The invented machine.
struct Plant {
    draws: Pcg64,
}

impl Plant {
    fn uniform(&mut self) -> f64 {
        ((self.draws.next_u64() >> 11) as f64 + 0.5) / 9_007_199_254_740_992.0
    }

    /// Box and Muller.
    fn normal(&mut self) -> f64 {
        (-2.0 * self.uniform().ln()).sqrt() * (TAU * self.uniform()).cos()
    }

    /// Samples in `g_n` and pulse times, with what is mounted.
    fn record(&mut self, mounted: UnbalanceVector) -> (Vec<f32>, Vec<f64>) {
        // 39.1 turns a second, up by one percent and down again, from anywhere in a turn.
        let start = self.uniform();
        let turned = |t: f64| start + 39.1 * t + 0.3 * (1.0 - (TAU * t / SECONDS).cos());
        // The velocity that the unbalance makes, in in/s, as acceleration: A = jΩ V.
        let as_found = Complex64::from_polar(0.32, -1.1);
        let influence = Influence::from_components_per_gram_millimetre(-0.4e-4, 1.3e-4);
        let effect = influence.map_or(Vibration::ZERO, |influence| influence * mounted);
        let velocity = as_found + effect.complex();
        let omega = TAU * 39.1;
        let once = velocity * Complex64::new(0.0, omega * 0.0254 / 9.80665);
        let late = |t: f64| turned(t - 0.0004);
        let mut last = 0.0;
        let samples = (0..(SECONDS * RATE_HERTZ) as usize)
            .map(|i| {
                let t = i as f64 / RATE_HERTZ;
                let theta = TAU * late(t);
                last = 0.8 * last + 0.12 * self.normal();
                let value = once.norm() * (theta + once.arg()).cos()
                    + 0.15 * (0.5 * theta - 0.3).cos()
                    + 0.10 * (1.5 * theta + 1.0).cos()
                    + 0.60 * (2.0 * theta - 2.0).cos()
                    + 0.20 * (4.0 * theta).sin()
                    + 0.02
                    + last;
                value.clamp(-1.2, 1.2) as f32
            })
            .collect();
        let mut pulses = Vec::new();
        let mut turn = 1.0;
        while turn < turned(SECONDS) {
            // Newton's steps to the passing of the mark.
            let mut t = (turn - start) / 39.1;
            for _ in 0..20 {
                t -= (turned(t) - turn) / 39.1;
            }
            let chance = self.uniform();
            if chance > 0.01 {
                pulses.push(t + 2e-6 * self.normal());
            }
            if chance > 0.99 {
                pulses.push(t + 0.008 * (0.5 + self.uniform()));
            }
            turn += 1.0;
        }
        (samples, pulses)
    }
}
