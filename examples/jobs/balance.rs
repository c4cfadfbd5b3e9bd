//! Plays a balancing job from its record: what was advised at every step, what was done and read, and how it came out.
//!
//! `cargo run --release --example balance` plays the invented job in `examples/data/trainer_job.json`; another record can be
//! given as the argument. The report is written to `target/balance/report.html`.

use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};

use counterpoise::job::{
    Action, Advice, AdviceOptions, Fact, LimitPurpose, Machine, Mounting, Record, Standing,
};
use counterpoise::report::Report;
use counterpoise::{Conformity, Estimate, Vibration, json};

const CONFIDENCE: f64 = 0.95;

fn main() -> Result<(), Box<dyn Error>> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let path =
        std::env::args_os().nth(1).map_or_else(|| root.join("examples/data/trainer_job.json"), PathBuf::from);
    let text = fs::read_to_string(&path).map_err(|error| format!("{}: {error}", path.display()))?;
    let record = json::record_from_text(&text).map_err(|error| format!("{}: {error}", path.display()))?;

    println!("{}", record.machine().name());
    play(&record)?;
    outcome(&record)?;

    let target = std::env::var_os("CARGO_TARGET_DIR").map_or_else(|| root.join("target"), PathBuf::from);
    let folder = target.join("balance");
    fs::create_dir_all(&folder)?;
    let report = folder.join("report.html");
    let made = Report::of(&record, CONFIDENCE)?;
    fs::write(&report, made.html())?;
    println!("\n{}", made.log_entry());
    println!("The whole report, with drawings: {}", fs::canonicalize(&report)?.display());
    Ok(())
}

/// Entry by entry, with what was advised before it.
fn play(whole: &Record) -> Result<(), Box<dyn Error>> {
    let machine = whole.machine();
    let mut record = Record::new(machine.clone());
    let mut advised = String::new();
    let mut checks = Vec::new();
    for entry in whole.entries() {
        let options = AdviceOptions::default().confidence(CONFIDENCE)?;
        let advice = Advice::of(&record, &options);
        let action = advice.first().action();
        let words = action.to_string();
        let decides = matches!(
            entry.fact(),
            Fact::Run { .. } | Fact::PutOn { .. } | Fact::TakenOff { .. } | Fact::WeightOn { .. }
        );
        if let Fact::Checked { what, remark, .. } = entry.fact() {
            checks.push(format!("{what} ({remark})"));
        } else if !checks.is_empty() {
            println!("\nChecked first: {}.", checks.join(", "));
            checks.clear();
        }
        if decides && words != advised && !matches!(action, Action::Check { .. }) {
            tell_advice(&advice, machine);
            advised = words;
        }
        record.add(entry.clone())?;
        match entry.fact() {
            Fact::Run { label, .. } => {
                tell_run(&record, label)?;
                advised = String::new();
            }
            Fact::Remark { text } => println!("  {text}"),
            Fact::Changed { remark, .. } => println!("\nChanged: {remark}"),
            Fact::Amend { reason, .. } => println!("\nAmended: {reason}"),
            _ => {}
        }
    }
    Ok(())
}

fn tell_advice(advice: &Advice, machine: &Machine) {
    let action = advice.first().action();
    println!("\nAdvised: {}", action.words(machine));
    if let Some(reason) = advice.first().reasons().first() {
        println!("  because {}", reason.words(machine));
    }
    if let Some(mounting) = action.mounting() {
        tell_mounting(mounting, machine);
    }
    match action {
        Action::Mount { predicted, placement, .. } | Action::MoveToPermanent { predicted, placement, .. } => {
            tell_coefficients(advice.standing(), machine);
            tell_prediction(predicted, machine);
            if placement.as_ref().is_some_and(|answer| answer.certificate().is_proven()) {
                println!(
                    "  no other placement does as well in fewer holes, or in as many with less: that is proven"
                );
            }
        }
        _ => {}
    }
}

fn tell_mounting(mounting: &Mounting, machine: &Machine) {
    for line in mounting.words(machine) {
        println!("  {line}");
    }
}

fn tell_coefficients(standing: &Standing, machine: &Machine) {
    let Some(uncertainty) = standing.uncertainty() else { return };
    for (channel, of) in machine.channels().iter().enumerate() {
        for (plane, name) in machine.planes().iter().enumerate() {
            let Ok(influence) = uncertainty.influence(channel, plane) else { continue };
            println!(
                "  sensor {} answers {:.3} +/- {:.3} {} to 1000 g mm in {name}",
                of.sensor(),
                1000.0 * influence.value().per_gram_millimetre(),
                1000.0 * influence.radius(CONFIDENCE),
                of.unit()
            );
        }
    }
}

fn tell_prediction(predicted: &[Estimate<Vibration>], machine: &Machine) {
    for ((channel, next), of) in predicted.iter().enumerate().zip(machine.channels()) {
        let limit = machine.limit(channel, LimitPurpose::Done);
        let chance = limit.map_or_else(String::new, |limit| {
            let chance = next.chance_within(limit.amplitude);
            let words = if chance > 0.99 { "more than 99".into() } else { format!("{:.0}", 100.0 * chance) };
            format!(", within its limit with a chance of {words} %")
        });
        println!(
            "  expected then: {:.3} {}, at most {:.3}{chance}",
            next.value().amplitude(),
            of.unit(),
            next.magnitude(CONFIDENCE)
        );
    }
}

fn tell_run(record: &Record, label: &str) -> Result<(), Box<dyn Error>> {
    let (machine, state) = (record.machine(), record.state());
    let standing = Standing::of(record, CONFIDENCE)?;
    for (channel, of) in machine.channels().iter().enumerate() {
        let Some(vibration) = standing.vibration(channel) else { continue };
        let unsure = standing.estimate(channel).map(|read| read.radius(CONFIDENCE));
        let unsure = unsure
            .filter(|unsure| unsure.is_finite())
            .map_or_else(String::new, |unsure| format!(" +/- {unsure:.3}"));
        let readings = state
            .runs()
            .last()
            .map_or(0, |run| run.readings().iter().filter(|read| read.channel == channel).count());
        println!(
            "\nRead, {label}: sensor {}, {:.3}{unsure} {} at {:.0} deg ({readings} readings)",
            of.sensor(),
            vibration.amplitude(),
            of.unit(),
            vibration.phase(of.phase_sense()).degrees()
        );
    }
    Ok(())
}

fn outcome(record: &Record) -> Result<(), Box<dyn Error>> {
    let standing = Standing::of(record, CONFIDENCE)?;
    println!();
    for (channel, of) in record.machine().channels().iter().enumerate() {
        let Some(vibration) = standing.vibration(channel) else { continue };
        let verdict = match (standing.verdict(channel), record.machine().limit(channel, LimitPurpose::Done)) {
            (Some(verdict), Some(limit)) => {
                let words = match verdict {
                    Conformity::Within => "within",
                    Conformity::Outside => "outside",
                    _ => "not decided against",
                };
                format!("{words} the limit of {:.3} ({})", limit.amplitude, limit.source)
            }
            _ => String::from("no limit was stated"),
        };
        println!("Outcome: sensor {}, {:.3} {}, {verdict}", of.sensor(), vibration.amplitude(), of.unit());
    }
    for caution in standing.cautions() {
        println!("Caution: {caution}");
    }
    let advice = Advice::of(record, &AdviceOptions::default());
    println!("Next: {}", advice.first().action().words(record.machine()));
    Ok(())
}
