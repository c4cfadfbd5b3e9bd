//! An invented one-plane propeller job from the first reading to the permanent weights, step by step.
//!
//! A two-blade propeller on a light aircraft, one velocity sensor on top of the engine, a ring of 24 holes behind the
//! spinner. The readings come from an invented machine at the end of this file.

#![allow(clippy::disallowed_methods)] // a program rounds as it likes; only the library must give the same bits

use std::error::Error;

use counterpoise::first_weight::{FirstWeight, Polarity, Regime, Sensor, SizeRule};
use counterpoise::relocation::{Place, Replacement, combine, split_to_neighbours};
use counterpoise::{
    Angle, Channel, ChannelFit, Convention, CorrectionQuestion, Detector, Estimator, HoleCircle, Influence,
    Mass, PhaseSense, Radius, Reading, RotorAngle, RotorSense, Run, Speed, SpeedWindow, Turning,
    UnbalanceVector, Vibration, VibrationScale, VibrationUnit, View, Viewpoint, Weight,
};

/// This shop reads phases as lags and counts places against rotation, from the mark on blade 1.
const CONVENTION: Convention = Convention { phase: PhaseSense::Lag, rotor: RotorSense::AgainstRotation };

fn main() -> Result<(), Box<dyn Error>> {
    let speed = Speed::from_rpm(2350.0)?;
    let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    let sensor = Channel::new(1, unit, CONVENTION.phase, SpeedWindow::around_percent(speed, 1.0)?);
    let holes = HoleCircle::new(24, RotorAngle::MARK, CONVENTION.rotor)?;
    let view = View::new(Viewpoint::Front, Turning::CounterClockwise, Angle::ZERO).with_holes(holes);
    let (temporary, permanent) = (Radius::from_millimetres(165.0)?, Radius::from_millimetres(152.4)?);
    let machine = Machine { sensor };

    println!(
        "An invented job. Before it: static balance, blade track, blade pitch and a healthy engine are checked;"
    );
    println!(
        "chocks, a clear arc, ignition off before a blade is touched. The makers' approved data come first.\n"
    );

    // As found, and a first weight from the mass of the engine on its mounts, which resonate far below this speed.
    let mut runs = Estimator::with_relative_weights(&[sensor], 1)?;
    let found = machine.reading(UnbalanceVector::ZERO, 2346.0, 0.002, 0.001)?;
    show("as found", &found);
    runs.add(Run::new("as found").reading(found))?;
    let regime = Regime::from_resonance(speed, Speed::from_rpm(620.0)?)?;
    let upright = Sensor::new(view.space_angle(Angle::ZERO), view.space_angle(Angle::ZERO), Polarity::Along);
    let rule = SizeRule::mass_controlled(Mass::from_kilograms(60.0)?)?;
    let first = FirstWeight::by_rule(&found, &rule, upright, regime)?;
    println!("  first weight by \"{}\":", first.provenance());
    println!(
        "  start with {:.0} % of {:.1}",
        100.0 * first.starting_fraction(),
        first.estimate().weight_at(temporary).mass
    );

    // A trial weight near there, in a hole, of a mass that can be made up.
    let hole = holes.nearest(first.advised().angle());
    let at = holes.place(hole).ok_or("the nearest hole exists")?;
    let trial = Weight::new(Mass::from_grams(8.0)?, temporary, at);
    put(&view, trial);
    let with_trial = machine.reading(trial.unbalance(), 2353.0, -0.001, 0.002)?;
    show("trial", &with_trial);
    runs.add(Run::new("trial").mounted(0, trial).reading(with_trial))?;

    // The correction, from the bare rotor; split over the two holes about it.
    let fit = runs.fit()?;
    let wanted = CorrectionQuestion::new(fit.influence(), &fit.as_found())?.solve()?;
    let total = wanted.total().first().copied().unwrap_or_default();
    println!("\n  correction {:.2} in all; the trial weight comes off", total.weight_at(temporary).mass);
    let places: Vec<Place> = holes.places().map(|angle| Place::new(temporary, angle)).collect();
    let (before, after) = split_to_neighbours(total, &places)?;
    let mut run = Run::new("corrected");
    let mut weights = Vec::new();
    for part in [Some(before), after].into_iter().flatten() {
        // Washers come in steps of half a gram.
        let halves: f64 = 2.0 * part.weight.mass.grams() + 0.5;
        let mass = Mass::from_grams(halves.trunc() / 2.0)?;
        let weight = Weight { mass, ..part.weight };
        put(&view, weight);
        weights.push(weight);
        run = run.mounted(0, weight);
    }
    let mounted = run.unbalance_in(0);
    let prediction = fit.vibration_with(&[mounted])?;
    println!("  predicted {:.3} in/s peak", prediction.first().copied().unwrap_or_default().amplitude());
    let corrected = machine.reading(mounted, 2349.0, 0.001, -0.001)?;
    show("corrected", &corrected);
    runs.add(run.reading(corrected))?;

    // All three runs together know the machine better: is a trim worth the work?
    let fit = runs.fit()?;
    let now = fit.vibration_with(&[mounted])?;
    let trim = CorrectionQuestion::new(fit.influence(), &now)?.mounted_now(&[mounted])?.solve()?;
    let more = trim.added().first().copied().unwrap_or_default().weight_at(temporary);
    println!(
        "\n  with all three runs: a trim of {:.2} would be next; below a washer, so the job ends here",
        more.mass
    );
    let scatter = fit.channels().first().and_then(ChannelFit::residual_variance).unwrap_or(f64::NAN);
    println!("  scatter of a reading, from the residuals: variance {scatter:.1e} (in/s)^2 per component");

    // The temporary weights become permanent ones on another radius.
    let equivalent = combine(weights)?.equivalent_at(permanent)?.ok_or("there is something to move")?;
    let for_good = Weight { mass: Mass::from_grams(equivalent.mass.grams().round())?, ..equivalent };
    println!("\n  permanent, at {permanent:.1} radius:");
    put(&view, for_good);
    let influence = fit.influence().get(0, 0).ok_or("one channel, one plane")?;
    let replacement = Replacement { influence, temporary: mounted, permanent: for_good.unbalance() };
    let next = replacement.predicted(now.first().copied().unwrap_or_default());
    println!(
        "  predicted {:.3} in/s peak; verify with a run, record it, mark how the spinner sits",
        next.amplitude()
    );
    Ok(())
}

fn show(label: &str, reading: &Reading) {
    let polar = reading.channel().polar(reading.vibration());
    let (amplitude, phase) = (polar.amplitude, polar.phase);
    println!("{label:<10} {:.0}: {amplitude:.3} in/s peak, lag {:.0} deg", reading.speed(), phase.degrees());
}

fn put(view: &View, weight: Weight) {
    println!("  {:5.2} {}", weight.mass, view.locate(weight.angle, CONVENTION.rotor));
}

/// The invented machine: 0.45 in/s as found, and soft mounts under an engine of some 60 kg effective mass.
struct Machine {
    sensor: Channel,
}

impl Machine {
    /// What the sensor would read, with a little disturbance.
    fn reading(
        &self,
        mounted: UnbalanceVector,
        rpm: f64,
        re: f64,
        im: f64,
    ) -> Result<Reading, Box<dyn Error>> {
        let as_found = CONVENTION.vibration(0.45, 48.0)?;
        let influence = Influence::from_components_per_gram_millimetre(-0.9e-6, 160.0e-6)?;
        let disturbance = Vibration::from_components(re, im)?;
        let reading = self.sensor.reading_of(as_found + influence * mounted + disturbance);
        Ok(reading.at(Speed::from_rpm(rpm)?)?)
    }
}
