//! The instruction-count twin of the timings: runs one named problem a given number of times. `benches/count` runs it
//! under a counter twice, with different numbers, and divides the difference.

use std::error::Error;
use std::hint::black_box;

use counterpoise::{CorrectionQuestion, Objective, OnePlane, TwoPlanes};
use counterpoise_benches::{many, one_plane, two_planes};

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let name = arguments.next().ok_or("name a problem")?;
    let times: u32 = arguments.next().ok_or("say how often")?.parse()?;
    match name.as_str() {
        "one-plane" => {
            let (as_found, with_trial, trial) = one_plane()?;
            for _ in 0..times {
                let plane =
                    OnePlane::from_trial(black_box(as_found), black_box(with_trial), black_box(trial))?;
                black_box(plane.correction(black_box(as_found))?);
            }
        }
        "two-planes" => {
            let runs = two_planes()?;
            for _ in 0..times {
                let [as_found, ..] = black_box(&runs);
                black_box(TwoPlanes::from_runs(black_box(&runs))?.correction(as_found.vibration)?);
            }
        }
        "least-squares-12x2" => solve(12, 2, Objective::LeastSquares, times)?,
        "least-squares-24x6" => solve(24, 6, Objective::LeastSquares, times)?,
        "min-max-12x2" => solve(12, 2, Objective::MinMax, times)?,
        other => return Err(format!("no problem is called {other}").into()),
    }
    Ok(())
}

fn solve(channels: u16, planes: usize, objective: Objective, times: u32) -> Result<(), Box<dyn Error>> {
    let (influence, now) = many(channels, planes)?;
    for _ in 0..times {
        black_box(CorrectionQuestion::new(black_box(&influence), &now)?.objective(objective).solve()?);
    }
    Ok(())
}
