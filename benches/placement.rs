//! Placements over families from six holes to 72, beside a general mixed-integer solver on the same problems: time, peak of
//! memory, and what is proven. `cargo bench -p counterpoise-benches --bench placement`
//!
//! The solver has no 2-norm: it is asked in a polygon of 16 sides, which is an easier question (`milp.rs` says what its
//! answer proves), and for the fewest holes within eps alone, not for the pieces and mass that come after. It stops after
//! ten seconds. Where it failed for a reason of its own the table says so.

#[path = "milp.rs"]
mod milp;

use std::alloc::{GlobalAlloc, Layout, System};
use std::error::Error;
use std::fmt::Write;
use std::hint::black_box;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use counterpoise::PlacementAnswer;
use counterpoise_benches::placement::{Aim, Instance, families};
use criterion::Criterion;
use milp::{Goal, Limits, Measure, Outcome, Patience};

static IN_USE: AtomicUsize = AtomicUsize::new(0);
static PEAK: AtomicUsize = AtomicUsize::new(0);

/// The system's memory, with a count of what is in use.
struct Counting;

// SAFETY: every call is handed on to the system as it came; the counts touch no memory of it.
unsafe impl GlobalAlloc for Counting {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        let now = IN_USE.fetch_add(layout.size(), Ordering::Relaxed) + layout.size();
        PEAK.fetch_max(now, Ordering::Relaxed);
        // SAFETY: as the caller promises.
        unsafe { System.alloc(layout) }
    }

    unsafe fn dealloc(&self, pointer: *mut u8, layout: Layout) {
        IN_USE.fetch_sub(layout.size(), Ordering::Relaxed);
        // SAFETY: as the caller promises.
        unsafe { System.dealloc(pointer, layout) }
    }
}

#[global_allocator]
static COUNTING: Counting = Counting;

/// What it returned, how long it took, and how much memory it had beyond what was there before.
fn measured<T>(run: impl FnOnce() -> T) -> (T, Duration, usize) {
    let before = IN_USE.load(Ordering::Relaxed);
    PEAK.store(before, Ordering::Relaxed);
    let begun = Instant::now();
    let value = run();
    (value, begun.elapsed(), PEAK.load(Ordering::Relaxed).saturating_sub(before))
}

/// All answers of an instance: one, or one per number of pieces.
fn answers(instance: &Instance) -> Result<Vec<PlacementAnswer>, Box<dyn Error>> {
    let question = instance.question()?;
    Ok(match instance.aim {
        Aim::Front(most) => question.front(most, u64::MAX)?,
        _ => vec![question.solve(u64::MAX)?],
    })
}

/// What the general solver makes of it within a time.
fn general(instance: &Instance, time: Duration) -> String {
    let Some(measure) = Measure::of(instance, 16) else { return "not linear".to_owned() };
    let patience = Patience { nodes: None, time: Some(time) };
    let asked: Vec<(Goal, Limits)> = match instance.aim {
        Aim::Least => vec![(Goal::Residual, Limits::default())],
        Aim::Within(eps) => vec![(Goal::Holes, Limits { residual: Some(eps), ..Limits::default() })],
        Aim::Front(most) => {
            let limits =
                (0..=most).map(|pieces| Limits { pieces: Some(u64::from(pieces)), ..Limits::default() });
            limits.map(|limits| (Goal::Residual, limits)).collect()
        }
    };
    let (mut proven, mut last) = (0, String::new());
    for &(goal, limits) in &asked {
        match milp::solve(instance, &measure, goal, limits, patience) {
            Outcome::Proven(value, _) => {
                proven += 1;
                last = format!("proven: {value:.4}");
            }
            Outcome::Infeasible => last = "proven: none".to_owned(),
            Outcome::Open(found, bound) => {
                let number =
                    |value: Option<f64>| value.map_or("nothing".to_owned(), |value| format!("{value:.4}"));
                last = format!("not proven: found {}, bound {}", number(found), number(bound));
                break;
            }
            Outcome::Failed(why) => {
                last = format!("failed: {why}");
                break;
            }
        }
    }
    if asked.len() > 1 { format!("{proven} of {} points proven", asked.len()) } else { last }
}

fn milliseconds(time: Duration) -> String {
    format!("{:.3}", time.as_secs_f64() * 1e3)
}

#[allow(clippy::cast_precision_loss, reason = "a size to be read")]
fn mebibytes(bytes: usize) -> String {
    format!("{:.2}", bytes as f64 / f64::from(1 << 20))
}

/// One row of the table; nothing that is not proven here gets into it.
fn row(instance: &Instance, repeats: u32, patience: Duration) -> Result<String, Box<dyn Error>> {
    let (mut best, mut peak, mut found) = (Duration::MAX, 0, Vec::new());
    for _ in 0..repeats {
        let (answers, time, memory) = measured(|| answers(instance));
        (best, peak, found) = (best.min(time), memory, answers?);
    }
    assert!(found.iter().all(|answer| answer.certificate().is_proven()), "{}", instance.name);
    let mut text = String::new();
    let (holes, options) = (instance.places.len(), instance.options() - 1);
    write!(text, "| {} | {holes} x {options} ", instance.name)?;
    write!(text, "| {} | {} ", milliseconds(best), mebibytes(peak))?;
    let last = found.last().ok_or("no answer")?;
    let (residual, holes) = (last.best().residual(), last.best().changes().len());
    write!(text, "| {:?}, {residual:.4} in {holes} holes ", last.certificate().proof())?;
    let (outcome, time, memory) = measured(|| general(instance, patience));
    write!(text, "| {} | {} | {outcome} |", milliseconds(time), mebibytes(memory))?;
    Ok(text)
}

/// A search with little memory finds the same, and takes no more than it may beside the options and a few buffers.
fn little_memory(instance: &Instance, memory: usize) -> Result<(), Box<dyn Error>> {
    const BESIDE: usize = 1 << 18;
    let question = instance.question()?;
    let plenty = question.solve(u64::MAX)?;
    let question = question.limit_memory(memory)?;
    let (little, time, peak) = measured(|| question.solve(u64::MAX));
    let little = little?;
    assert!(peak <= memory + BESIDE, "{}: {peak} bytes", instance.name);
    assert!(little.certificate().is_proven(), "{}: {:?}", instance.name, little.certificate());
    assert_eq!(little.best(), plenty.best(), "{}", instance.name);
    let name = instance.name;
    println!("{name}, within {} MiB: {} MiB, {} ms", mebibytes(memory), mebibytes(peak), milliseconds(time));
    Ok(())
}

fn main() -> Result<(), Box<dyn Error>> {
    // Under `cargo test` each family runs once, and the general solver gets a moment.
    let timed = std::env::args().any(|argument| argument == "--bench");
    let (repeats, patience) =
        if timed { (5, Duration::from_secs(10)) } else { (1, Duration::from_millis(100)) };
    println!(
        "| problem | holes x stacks | ms | MiB | proof here | general solver, ms | MiB | what it says |"
    );
    println!("| --- | --- | --- | --- | --- | --- | --- | --- |");
    for instance in families() {
        println!("{}", row(&instance, repeats, patience)?);
    }
    for instance in families() {
        match instance.name {
            "36 holes, q 4" => little_memory(&instance, 2 << 20)?,
            // The sums of the first plane are kept whole: 2.7 MiB of them.
            "two planes of 24, q 2 each" => little_memory(&instance, 4 << 20)?,
            "24 holes, q 4" => little_memory(&instance, 8 << 20)?,
            _ => {}
        }
    }
    if timed {
        let mut criterion = Criterion::default()
            .sample_size(10)
            .warm_up_time(Duration::from_millis(300))
            .measurement_time(Duration::from_secs(2))
            .configure_from_args();
        for instance in families() {
            criterion.bench_function(instance.name, |bencher| {
                bencher.iter(|| answers(black_box(&instance)).ok());
            });
        }
        criterion.final_summary();
    }
    Ok(())
}
