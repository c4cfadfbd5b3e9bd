//! A job on a simulated machine, each step as the library advises it, until it is done.
//!
//! `cargo run --release --example closed_loop [SEED [PLANES]]`: the machine, its noise and the mistake that a person may make
//! follow from the seed; one or two correction planes. Only the machine knows what it really does; it tells at the end.

use counterpoise::job::{Fact, Machine, Record, StatedReading};
use counterpoise::{Channel, Repeats, RotorSense, Vibration};
use counterpoise_jobs::Problem;
use counterpoise_jobs::advised::Advised;
use counterpoise_jobs::driver::{Driver, Event, Step, play};
use counterpoise_jobs::population::{Population, Senses};

/// One mistake is planned in so large a share of the machines.
const MISTAKES: f64 = 0.5;

/// Says what is advised and why, before it is done.
struct Telling(Advised);

impl Driver for Telling {
    fn next(&mut self, record: &Record) -> Result<Step, Problem> {
        let step = self.0.next(record)?;
        println!("\n- {}", self.0.action);
        for reason in &self.0.reasons {
            println!("{}", wrapped(&format!("because {reason}")));
        }
        Ok(step)
    }

    fn looked(&mut self, found: bool) {
        self.0.looked(found);
    }
}

fn main() -> Result<(), Problem> {
    let mut arguments = std::env::args().skip(1);
    let seed: u64 = arguments.next().map_or(Ok(12), |text| text.parse())?;
    let planes: usize = arguments.next().map_or(Ok(1), |text| text.parse())?;
    if !(1..=2).contains(&planes) {
        return Err("one or two planes".into());
    }
    let (mut rig, known) = Population::new(planes)?.drawn(seed, Senses::Naive, MISTAKES)?;
    let machine = rig.machine.clone();
    let counted = if machine.convention().rotor == RotorSense::WithRotation { "with" } else { "against" };
    println!(
        "An invented machine, seed {seed}: weights go into {}, 24 holes each, at places counted {counted} rotation;\n\
         phases are {}. To come down to {} in/s peak once per turn.",
        machine.planes().join(" and "),
        machine.channels().first().map_or("", |channel| match channel.phase_sense() {
            counterpoise::PhaseSense::Lead => "leads",
            counterpoise::PhaseSense::Lag => "lags",
        }),
        known.limit
    );
    let mut record = Record::new(machine.clone());
    let mut runs: Vec<(String, Vec<StatedReading>)> = Vec::new();
    let mut driver = Telling(Advised::new());
    let mut tell = |event: Event| match event {
        Event::Done(fact) => println!("    {}", done(&machine, fact)),
        Event::Run { label, readings, .. } => {
            println!("    {}", read(&machine, readings));
            runs.push((label.to_owned(), readings.to_vec()));
        }
        Event::Looked { at, found } => {
            let was = if found { "so it was" } else { "in order" };
            println!("{}", wrapped(&format!("{at}? {}: {was}", at.what_to_look_at())));
        }
    };
    let outcome = play(&mut rig, &mut record, &mut driver, &mut tell)?;

    println!("\n  run  with                 as it was read");
    for (number, (label, readings)) in runs.iter().enumerate() {
        println!("  {number:>3}  {label:<20} {}", read(&machine, readings));
    }
    println!(
        "\nIt ended after {} runs, {}: {} pieces in {} holes, {:.1} g.",
        outcome.runs,
        outcome.stopped.words(),
        outcome.pieces,
        outcome.holes,
        outcome.grams
    );
    let mistake = match (rig.mishap(), outcome.caught) {
        (None, _) => "no mistake was made".to_owned(),
        (Some(mishap), true) => format!("one mistake was made and found: {}", mishap.mistake.words()),
        (Some(mishap), false) => format!("one mistake was made and not found: {}", mishap.mistake.words()),
    };
    println!("What only the machine knows: {mistake}.");
    let truth: Vec<String> = rig.truth().iter().map(|amplitude| format!("{amplitude:.3}")).collect();
    println!(
        "It really vibrates with {} in/s peak now; with {:.3} as found.",
        truth.join(" and "),
        outcome.found
    );
    Ok(())
}

/// In lines of a hundred characters, set in.
fn wrapped(text: &str) -> String {
    let (mut lines, mut line) = (Vec::new(), String::from("   "));
    for word in text.split(' ') {
        if line.len() + word.len() > 99 {
            lines.push(core::mem::replace(&mut line, String::from("     ")));
        }
        line.push(' ');
        line.push_str(word);
    }
    lines.push(line);
    lines.join("\n")
}

/// The mean of the readings of every sensor, as vectors.
fn read(machine: &Machine, readings: &[StatedReading]) -> String {
    let one = |(number, channel): (usize, &Channel)| {
        let of_channel = readings.iter().filter(|reading| reading.channel == number);
        let vibrations: Vec<Vibration> = of_channel
            .filter_map(|reading| channel.reading(reading.amplitude, reading.phase_degrees).ok())
            .map(|reading| reading.vibration())
            .collect();
        let mean = Repeats::of(&vibrations).ok()?.mean();
        let degrees = mean.phase(channel.phase_sense()).degrees();
        let count = vibrations.len();
        Some(format!(
            "sensor {}: {:.3} in/s at {degrees:>3.0} deg, mean of {count}",
            number + 1,
            mean.amplitude()
        ))
    };
    machine.channels().iter().enumerate().filter_map(one).collect::<Vec<_>>().join("; ")
}

/// What was done, for a person; holes are counted from 1.
fn done(machine: &Machine, fact: &Fact) -> String {
    let named = |ring: usize, hole: usize, pieces: &[counterpoise::job::Pieces]| {
        let plane = machine.rings().get(ring).map_or(0, counterpoise::HoleRing::plane);
        let plane = machine.planes().get(plane).map_or("", String::as_str);
        let name = |item: usize| machine.hardware().get(item).map_or("", counterpoise::Hardware::name);
        let pieces: Vec<String> =
            pieces.iter().map(|piece| format!("{} {}", piece.count, name(piece.item))).collect();
        format!("{plane}, hole {}: {}", hole + 1, pieces.join(", "))
    };
    match fact {
        Fact::PutOn { ring, hole, pieces } => format!("on   {}", named(*ring, *hole, pieces)),
        Fact::TakenOff { ring, hole, pieces } => format!("off  {}", named(*ring, *hole, pieces)),
        Fact::Amend { entry, instead: Some(fact), reason } => {
            format!("entry {entry} is put right, {reason}: {}", done(machine, fact))
        }
        Fact::Amend { entry, instead: None, reason } => format!("entry {entry} did not happen, {reason}"),
        Fact::Run { readings, .. } => read(machine, readings),
        other => format!("{other:?}"),
    }
}
