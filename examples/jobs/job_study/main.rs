//! Thousands of invented jobs, each played to its end in three ways on the same machine.
//!
//! `cargo run --release --example job_study [JOBS]`: so many jobs, half of them with one correction plane and one sensor, half
//! with two of each. Every job has a seed of its own, so that the tables do not depend on the number of threads; how far it
//! is goes to the standard error.

mod progress;
mod table;

use counterpoise::job::Record;
use rayon::prelude::*;

use counterpoise_jobs::Problem;
use counterpoise_jobs::advised::Advised;
use counterpoise_jobs::driver::{Driver, Outcome, play};
use counterpoise_jobs::hand::ByHand;
use counterpoise_jobs::policy::Policy;
use counterpoise_jobs::population::{LIMIT, NEVER_ABOVE, Population, RPM, Senses, WASHERS, Written};
use progress::Progress;

/// One mistake is planned in so large a share of the jobs.
const MISTAKES: f64 = 0.3;

/// One job: the kind of mistake that was planned, and how each way of playing it went.
pub(crate) struct Played {
    pub(crate) planned: Option<usize>,
    pub(crate) ways: [Outcome; WAYS.len()],
}

pub(crate) const WAYS: [&str; 3] = ["advice", "policy", "by hand"];
const WAYS_IN_WORDS: &str = "
  advice    what the library advises first, three readings a run. Trial weights are of its washers and stay on,
            so that they are neither weighed wrong nor forgotten; where it leaves their size to the person, it is
            that of the policy
  policy    a plain policy of this program, with the library's calls, three readings a run
  by hand   one reading a run, polar arithmetic, the nearest hole, washers largest first
";

fn job(population: &Population, seed: u64, senses: Senses) -> Result<Played, Problem> {
    let (rig, known) = population.drawn(seed, senses, MISTAKES)?;
    let driven = |driver: &mut dyn Driver| {
        let mut record = Record::new(rig.machine.clone());
        play(&mut rig.clone(), &mut record, driver, &mut |_| ())
            .map_err(|error| format!("job {seed}: {error}"))
    };
    let ways = [
        driven(&mut Advised::new())?,
        driven(&mut Policy::new(&known))?,
        ByHand::new(&mut rig.clone()).play(&known)?,
    ];
    Ok(Played { planned: rig.mistake.map(counterpoise_jobs::mistake::Mistake::kind), ways })
}

fn all(title: &str, population: &Population, senses: Senses, jobs: u64) -> Result<Vec<Played>, Problem> {
    let progress = Progress::new(title, jobs);
    let played = (0..jobs).into_par_iter().map(|seed| {
        let played = job(population, seed, senses);
        progress.one_more();
        played
    });
    let played = played.collect();
    progress.end();
    played
}

fn main() -> Result<(), Problem> {
    let jobs: u64 = std::env::args().nth(1).map_or(Ok(500), |text| text.parse())?;
    let washers: Vec<String> = WASHERS.iter().map(|(_, grams, _)| grams.to_string()).collect();
    println!(
        "{jobs} invented jobs: light engines with their propellers on soft mounts, at {RPM} rpm; 24 holes in each plane;\n\
         washers of {} g, at most 4 in a hole. To come down to {LIMIT} in/s peak, and never\n\
         above {NEVER_ABOVE} in any run. Readings scatter, machines drift from start to start, washers and holes are not\n\
         exact, and in {} % of the jobs one mistake is planned; whoever looks at the right weight, or at the right numbers, finds\n\
         it. Each job was played in three ways on the same machine:\n\
         {WAYS_IN_WORDS}\n\
         Vibration is that of the worst sensor as it really is, without noise, in in/s peak. Of two figures the first\n\
         is the median; 95 % of the jobs do not exceed the second.",
        washers.join(", "),
        100.0 * MISTAKES
    );
    for planes in [1, 2] {
        let population = Population::new(planes)?;
        let title = if planes == 1 { "One plane, one sensor" } else { "Two planes, two sensors" };
        let played = all(title, &population, Senses::Naive, jobs / 2)?;
        table::compared(title, &played);
        table::by_mistake(title, &played);
        if planes == 1 {
            let title = "One plane, senses that mirror";
            let played = all(title, &population, Senses::Mirrored, jobs / 10)?;
            println!(
                "\nSo far places and phases were counted in senses for which polar arithmetic holds. Where it gives the mirror\n\
                 image (places with rotation and phases as lags, or places against it and phases as leads):"
            );
            table::compared(title, &played);
        }
        let title = if planes == 1 { "One plane, drift not stated" } else { "Two planes, drift not stated" };
        let played = all(title, &population.written(Written::NoDrift), Senses::Naive, jobs / 10)?;
        println!(
            "\nAnd where nothing is said of how far such a machine drifts from one start to the next. The readings of one start\n\
             do not show that:"
        );
        table::compared(title, &played);
    }
    Ok(())
}
