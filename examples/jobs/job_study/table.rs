//! What came of the jobs, in tables.

// A way is counted among the three that there are.
#![allow(clippy::indexing_slicing)]

use crate::{Played, WAYS};
use counterpoise_jobs::driver::{Outcome, Stopped};
use counterpoise_jobs::mistake::KINDS;
use counterpoise_jobs::population::LIMIT;

/// A figure of every job, shown as its median and its 95th percentile.
type Figure = (&'static str, usize, fn(&Outcome) -> f64);
/// A share of the jobs.
type Share = (&'static str, fn(&Outcome) -> bool);

#[allow(clippy::cast_precision_loss)] // counts
const FIGURES: [Figure; 8] = [
    ("final vibration", 3, |job| job.left),
    ("highest of any run, times as found", 2, |job| job.highest / job.found),
    ("runs", 0, |job| job.runs as f64),
    ("readings", 0, |job| f64::from(job.readings)),
    ("places looked at in vain", 0, |job| f64::from(job.looks_in_vain)),
    ("pieces on at the end", 0, |job| job.pieces as f64),
    ("  their mass, g", 1, |job| job.grams),
    ("  in so many holes", 0, |job| job.holes as f64),
];

const SHARES: [Share; 5] = [
    ("within the limit, %", |job| job.left <= LIMIT),
    ("said to be within and is not, %", |job| job.stopped == Stopped::WithinLimit && job.left > LIMIT),
    ("given back to static balancing, %", |job| job.stopped == Stopped::StaticBalanceFirst),
    ("left worse than found, %", |job| job.left > job.found),
    ("sent to look for a mistake, and none found, %", |job| job.accused_wrongly),
];

fn percent(count: usize, of: usize) -> f64 {
    #[allow(clippy::cast_precision_loss)] // counts
    let share = count as f64 / of.max(1) as f64;
    100.0 * share
}

/// The value that so large a part of the jobs, in percent, does not exceed.
fn quantile(mut values: Vec<f64>, percent: usize) -> f64 {
    values.sort_by(f64::total_cmp);
    let at = (values.len() * percent).div_ceil(100).saturating_sub(1);
    values.get(at).copied().unwrap_or(f64::NAN)
}

/// Jobs without a mistake, and jobs in which one was planned.
pub(crate) fn compared(title: &str, played: &[Played]) {
    for with_mistake in [false, true] {
        let jobs: Vec<&Played> = played.iter().filter(|job| job.planned.is_some() == with_mistake).collect();
        let what = if with_mistake { "one mistake planned" } else { "no mistake" };
        let found: Vec<f64> = jobs.iter().map(|job| job.ways[0].found).collect();
        println!(
            "\n{title}, {what}: {} jobs, as found {:.3}, {:.3}",
            jobs.len(),
            quantile(found.clone(), 50),
            quantile(found, 95)
        );
        println!("  {:<46} {:>15} {:>15} {:>15}", "", WAYS[0], WAYS[1], WAYS[2]);
        for (name, of) in SHARES {
            row(name, |way| {
                let count = jobs.iter().filter(|job| of(&job.ways[way])).count();
                format!("{:.1}", percent(count, jobs.len()))
            });
        }
        for (name, digits, of) in FIGURES {
            row(name, |way| {
                let values: Vec<f64> = jobs.iter().map(|job| of(&job.ways[way])).collect();
                let (half, most) = (quantile(values.clone(), 50), quantile(values, 95));
                format!("{half:.digits$} {most:>7.digits$}")
            });
        }
        if with_mistake {
            let made = |way: usize| jobs.iter().filter(move |job| job.ways[way].mistake.is_some());
            row("the mistake came to pass, %", |way| {
                format!("{:.1}", percent(made(way).count(), jobs.len()))
            });
            row("  and was found, % of those", |way| {
                let found = made(way).filter(|job| job.ways[way].caught).count();
                format!("{:.1}", percent(found, made(way).count()))
            });
        }
    }
}

fn row(name: &str, cell: impl Fn(usize) -> String) {
    println!("  {name:<46} {:>15} {:>15} {:>15}", cell(0), cell(1), cell(2));
}

/// Mistake by mistake, the jobs in which it came to pass.
pub(crate) fn by_mistake(title: &str, played: &[Played]) {
    println!("\n{title}, by mistake that came to pass: jobs; found, %; within the limit, %");
    println!("  {:<46} {:>15} {:>15} {:>15}", "", WAYS[0], WAYS[1], WAYS[2]);
    for (kind, name) in KINDS.iter().enumerate() {
        if !played.iter().any(|job| job.planned == Some(kind)) {
            continue;
        }
        row(name, |way| {
            let made: Vec<&Outcome> =
                played.iter().map(|job| &job.ways[way]).filter(|job| job.mistake == Some(kind)).collect();
            let caught = made.iter().filter(|job| job.caught).count();
            let within = made.iter().filter(|job| job.left <= LIMIT).count();
            format!(
                "{} {:>4.0} {:>4.0}",
                made.len(),
                percent(caught, made.len()),
                percent(within, made.len())
            )
        });
    }
}
