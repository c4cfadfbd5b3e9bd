//! Thousands of invented jobs, played to their end in two ways on the same machines: with the library's calls, and by the
//! usual hand method.
//!
//! `cargo run --release --example job_study [JOBS]`

mod hand;
#[path = "../plant/mod.rs"]
mod plant;

use std::io::{IsTerminal, Write};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Instant;

use counterpoise::job::Record;
use plant::Problem;
use plant::advised::Advised;
use plant::driver::{Outcome, play};
use plant::policy::Policy;
use plant::population::{Population, Senses};
use rayon::prelude::*;

use hand::ByHand;

const MISTAKES: f64 = 0.3;

struct Played {
    library: Outcome,
    advised: Outcome,
    hand: Outcome,
}

fn job(population: &Population, seed: u64, senses: Senses) -> Result<Played, Problem> {
    let (rig, known) = population.drawn(seed, senses, MISTAKES)?;
    let mut record = Record::new(rig.machine().clone());
    let library = play(&mut rig.clone(), &known, &mut record, &mut Policy::new(&known), &mut |_| ())
        .map_err(|error| format!("job {seed}: {error}"))?;
    let hand = ByHand::new(&mut rig.clone()).play(&known)?;
    let mut record = Record::new(rig.machine().clone());
    let advised = play(&mut rig.clone(), &known, &mut record, &mut Advised::new(&known), &mut |_| ())
        .map_err(|error| format!("job {seed}, advised: {error}"))?;
    Ok(Played { library, advised, hand })
}

fn main() -> Result<(), Problem> {
    let jobs: u64 = std::env::args().nth(1).map_or(Ok(500), |text| text.parse())?;
    for planes in [1, 2] {
        let population = Population::new(planes)?;
        let start = Instant::now();
        let done = AtomicUsize::new(0);
        let played: Vec<Played> = (0..jobs / 2)
            .into_par_iter()
            .map(|seed| job(&population, seed, Senses::Naive))
            .collect::<Result<_, _>>()?;
        let _ = (&done, Ordering::Relaxed, std::io::stderr().is_terminal());
        std::io::stderr().flush()?;
        eprintln!("{} jobs/s", played.len() as f64 / start.elapsed().as_secs_f64());
        for with in [false, true] {
            let of: Vec<&Played> = played.iter().filter(|p| p.library.mistake.is_some() == with).collect();
            for (name, get) in [
                ("lib", (|p: &Played| p.library) as fn(&Played) -> Outcome),
                ("advised", |p| p.advised),
                ("hand", |p| p.hand),
            ] {
                let o: Vec<Outcome> = of.iter().map(|p| get(p)).collect();
                let q = |f: fn(&Outcome) -> f64| {
                    let mut v: Vec<f64> = o.iter().map(f).collect();
                    v.sort_by(f64::total_cmp);
                    format!("{:.3} {:.3}", v[v.len() / 2], v[v.len() * 95 / 100])
                };
                let s = |f: fn(&Outcome) -> bool| {
                    100.0 * o.iter().filter(|o| f(o)).count() as f64 / o.len() as f64
                };
                println!(
                    "{planes} {with} {name} n {} within {:.1} final {} runs {} found {} high {} pieces {} grams {} holes {} worse {:.1} caught {:.1} named {:.1} vain {:.2} accused {:.1}",
                    o.len(),
                    s(|o| o.left <= 0.07),
                    q(|o| o.left),
                    q(|o| o.runs as f64),
                    q(|o| o.found),
                    q(|o| o.highest / o.found),
                    q(|o| o.pieces as f64),
                    q(|o| o.grams),
                    q(|o| o.holes as f64),
                    s(|o| o.left > o.found),
                    s(|o| o.caught),
                    s(|o| o.named),
                    o.iter().map(|o| o.looks_in_vain as f64).sum::<f64>() / o.len() as f64,
                    s(|o| o.accused_wrongly)
                );
                let mut st = std::collections::BTreeMap::new();
                for o in &o {
                    *st.entry(o.stopped.words()).or_insert(0) += 1;
                }
                println!("   {st:?}");
            }
        }
        for kind in 0..8 {
            let of: Vec<&Played> = played.iter().filter(|p| p.library.mistake == Some(kind)).collect();
            let w = |f: fn(&Played) -> bool| of.iter().filter(|p| f(p)).count();
            println!(
                "  {:<30} {:>4} advised caught {:>4} within {:>4} caught {:>4} named {:>4} within {:>4} hand within {:>4}  worse {:>3} hand {:>3}",
                plant::mistake::KINDS[kind],
                of.len(),
                w(|p| p.advised.caught),
                w(|p| p.advised.left <= 0.07),
                w(|p| p.library.caught),
                w(|p| p.library.named),
                w(|p| p.library.left <= 0.07),
                w(|p| p.hand.left <= 0.07),
                w(|p| p.library.left > p.library.found),
                w(|p| p.hand.left > p.hand.found)
            );
        }
    }
    Ok(())
}
