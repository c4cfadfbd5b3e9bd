//! A job played on a simulated machine until it is done.
//!
//! `cargo run --release --example closed_loop [SEED]`

use std::error::Error;

#[path = "plant/mod.rs"]
mod plant;

use counterpoise::job::Record;
use plant::driver::{Event, play};
use plant::policy::Policy;
use plant::population::{Population, Senses};

fn main() -> Result<(), Box<dyn Error + Send + Sync>> {
    let seed: u64 = std::env::args().nth(1).map_or(Ok(7), |text| text.parse())?;
    for planes in [1, 2] {
        let population = Population::new(planes)?;
        println!("{population:?}");
        let (mut rig, known) = population.drawn(seed, Senses::Naive, 0.5)?;
        let mut record = Record::new(rig.machine().clone());
        let mut policy = Policy::new(&known);
        println!("{:?}", rig.mistake);
        let outcome = play(&mut rig, &known, &mut record, &mut policy, &mut |event| println!("{event:?}"))?;
        println!("{outcome:?}");
    }
    Ok(())
}
