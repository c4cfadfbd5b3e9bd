//! Are the stated uncertainties true? A seeded study: jobs with a known truth are drawn, fitted, and asked; what is counted is
//! how often a stated 95 % region holds the truth, and how often what has a stated chance comes true.
//!
//! `cargo run --release --example calibration [jobs per cell]` (20,000 where not given). All jobs are counted; none is dropped.
//! Regions without end count as holding the truth, and are listed. The machines are invented.
#![allow(
    clippy::disallowed_methods,
    clippy::indexing_slicing,
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss
)]

use counterpoise::{
    Channel, Conformity, Detector, Estimator, InfluenceFit, PhaseSense, Repeats, Run, Scatter, Speed,
    SpeedWindow, UnbalanceVector, Uncertainty, Vibration, VibrationScale, VibrationUnit,
};
use num_complex::Complex64;

type Problem = Box<dyn core::error::Error>;

/// Standard deviation per component of a reading.
const SIGMA: f64 = 0.1;
/// Readings of each run, where they are repeated.
const REPEATS: u32 = 3;

/// Vibrations as found spread so many trial responses: broad against their uncertainty in every cell, so that a stated chance,
/// which supposes nothing about the truth beforehand, can be held against how often it comes true.
const BROAD: f64 = 6.0;
/// Chances are asked for in one job of so many: they take longer than all the rest.
const CHANCE_IN: u32 = 20;

/// `SplitMix64` (Steele, Lea and Flood, Fast splittable pseudorandom number generators, OOPSLA 2014).
struct Numbers(u64);

impl Numbers {
    fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / 9_007_199_254_740_992.0
    }

    fn place(&mut self) -> Complex64 {
        Complex64::from_polar(1.0, core::f64::consts::TAU * self.uniform())
    }

    /// Circular normal, with this standard deviation per component.
    fn normal(&mut self, sigma: f64) -> Complex64 {
        let radius = sigma * (-2.0 * (1.0 - self.uniform()).ln()).sqrt();
        self.place() * radius
    }
}

#[derive(Clone, Copy, PartialEq)]
enum Known {
    Stated,
    Repeated,
    Residuals,
}

#[derive(Clone, Copy)]
struct Cell {
    planes: usize,
    runs: usize,
    known: Known,
    /// The response to a trial weight, in standard deviations of a reading.
    signal: f64,
}

/// What was counted in a cell.
#[derive(Default)]
struct Counts {
    jobs: u32,
    influence: u32,
    correction: u32,
    next: u32,
    endless: u32,
}

/// Ten classes of stated chance: how many were stated, their sum, and how many came true.
#[derive(Default, Clone, Copy)]
struct Class {
    stated: u32,
    sum: f64,
    true_after_all: u32,
}

struct Machine {
    as_found: Vec<Complex64>,
    influence: Vec<Vec<Complex64>>,
}

fn unbalance(z: Complex64) -> Result<UnbalanceVector, Problem> {
    Ok(UnbalanceVector::from_components_gram_millimetres(z.re, z.im)?)
}

fn fit(
    cell: Cell,
    machine: &Machine,
    channels: &[Channel],
    mounted: &[Vec<Complex64>],
    numbers: &mut Numbers,
) -> Result<InfluenceFit, Problem> {
    let mut estimator = if cell.known == Known::Residuals {
        Estimator::with_relative_weights(channels, cell.planes)?
    } else {
        Estimator::with_known_variances(channels, cell.planes)?
    };
    let readings = if cell.known == Known::Repeated { REPEATS } else { 1 };
    let mut states: Vec<Vec<Repeats>> = vec![Vec::new(); channels.len()];
    for on in mounted {
        for (channel, (v0, h)) in machine.as_found.iter().zip(&machine.influence).enumerate() {
            let truth: Complex64 = v0 + h.iter().zip(on).map(|(h, u)| h * u).sum::<Complex64>();
            let read: Vec<Vibration> = (0..readings)
                .map(|_| truth + numbers.normal(SIGMA))
                .map(|z| Vibration::from_components(z.re, z.im))
                .collect::<Result<_, _>>()?;
            states[channel].push(Repeats::of(&read)?);
        }
    }
    let scatter = |channel: usize| -> Result<Option<Scatter>, Problem> {
        Ok(match cell.known {
            Known::Stated => Some(Scatter::known(SIGMA)?),
            Known::Repeated => Repeats::pooled(&states[channel]).map(|one| one.of_mean(REPEATS)),
            Known::Residuals => None,
        })
    };
    for (run, on) in mounted.iter().enumerate() {
        let mut of_run = Run::new("run");
        for (plane, &u) in on.iter().enumerate() {
            of_run = of_run.mounted(plane, unbalance(u)?);
        }
        for (channel, named) in channels.iter().enumerate() {
            let reading = named.reading_of(states[channel][run].mean());
            of_run = of_run.reading(match scatter(channel)? {
                Some(scatter) => reading.with_scatter(scatter),
                None => reading,
            });
        }
        estimator.add(of_run)?;
    }
    Ok(estimator.fit()?)
}

fn job(
    cell: Cell,
    channels: &[Channel],
    numbers: &mut Numbers,
    counts: &mut Counts,
    classes: &mut [Class; 10],
) -> Result<(), Problem> {
    // Trials of some 1000 g mm; a coefficient makes `signal` standard deviations of them.
    let size = cell.signal * SIGMA / 1000.0;
    let machine = Machine {
        as_found: channels.iter().map(|_| numbers.normal(BROAD * cell.signal * SIGMA)).collect(),
        influence: (0..channels.len())
            .map(|channel| {
                (0..cell.planes)
                    .map(|plane| numbers.place() * size * if plane == channel { 1.0 } else { 0.4 })
                    .collect()
            })
            .collect(),
    };
    let mounted: Vec<Vec<Complex64>> = (0..cell.runs)
        .map(|run| {
            // As found, then one plane after the other, then anything.
            (0..cell.planes)
                .map(|plane| match run {
                    0 => Complex64::default(),
                    run if run <= cell.planes && plane + 1 != run => Complex64::default(),
                    _ => numbers.place() * 1000.0,
                })
                .collect()
        })
        .collect();
    let uncertainty = Uncertainty::of(&fit(cell, &machine, channels, &mounted, numbers)?)?;
    counts.jobs += 1;

    let truth = machine.influence[0][0];
    let truth = counterpoise::Influence::from_components_per_gram_millimetre(truth.re, truth.im)?;
    counts.influence += u32::from(uncertainty.influence(0, 0)?.region_holds(truth, 0.95));

    // The correction that would leave nothing: Cramer's rule is enough for one and two planes.
    let exact = match (machine.as_found.as_slice(), machine.influence.as_slice()) {
        ([v], [h]) => vec![-v / h[0]],
        ([v, w], [h, k]) => {
            let determinant = h[0] * k[1] - h[1] * k[0];
            vec![(h[1] * w - k[1] * v) / determinant, (k[0] * v - h[0] * w) / determinant]
        }
        _ => return Err("one or two planes".into()),
    };
    let exact = exact.into_iter().map(unbalance).collect::<Result<Vec<_>, _>>()?;
    let region = uncertainty.correction_region(0.95)?;
    counts.endless += u32::from(!region.is_bounded());
    counts.correction += u32::from(region.holds(&exact)?);

    let on: Vec<Complex64> = (0..cell.planes).map(|_| numbers.place() * 800.0).collect();
    let next: Complex64 =
        machine.as_found[0] + machine.influence[0].iter().zip(&on).map(|(h, u)| h * u).sum::<Complex64>();
    let on = on.into_iter().map(unbalance).collect::<Result<Vec<_>, _>>()?;
    let predicted = uncertainty.vibration_with(&on)?[0];
    counts.next += u32::from(predicted.region_holds(Vibration::from_components(next.re, next.im)?, 0.95));

    if counts.jobs % CHANCE_IN != 0 {
        return Ok(());
    }
    // A limit somewhere about the prediction, and the chance to be within it.
    let [[variance, _], _] = predicted.covariance();
    let spread = variance.sqrt();
    let limit =
        (predicted.value().amplitude() + 3.0 * spread * (2.0 * numbers.uniform() - 1.0)).max(0.05 * spread);
    let chance = predicted.chance_within(limit);
    let class = &mut classes[((chance * 10.0) as usize).min(9)];
    class.stated += 1;
    class.sum += chance;
    class.true_after_all += u32::from(next.norm() <= limit);
    // A verdict is a chance beyond the confidence.
    let judged = predicted.judged(limit, 0.95);
    assert_eq!(judged == Conformity::Within, chance >= 0.95);
    Ok(())
}

fn main() -> Result<(), Problem> {
    let jobs: u32 = std::env::args().nth(1).map_or(Ok(20_000), |jobs| jobs.parse())?;
    let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    println!("{jobs} jobs a cell; a stated 95 % region should hold the truth in 95 % of them");
    println!("planes  runs  scatter    signal/noise      H  correction  next vibration  without end");
    let mut classes = [[Class::default(); 10]; 2];
    let (mut lowest, mut highest) = (1.0_f64, 0.0_f64);
    for planes in [1, 2] {
        for runs in [2, 3, 4, 8] {
            for known in [Known::Stated, Known::Repeated, Known::Residuals] {
                let least = planes + 1 + usize::from(known == Known::Residuals);
                if runs < least {
                    continue;
                }
                for signal in [3.0, 10.0, 30.0, 100.0] {
                    let cell = Cell { planes, runs, known, signal };
                    let mut numbers =
                        Numbers(0x5eed ^ ((planes * 1000 + runs * 100) as u64) << 32 ^ signal.to_bits());
                    let mut counts = Counts::default();
                    for _ in 0..jobs {
                        job(
                            cell,
                            &channels[..planes],
                            &mut numbers,
                            &mut counts,
                            &mut classes[usize::from(signal < 10.0)],
                        )?;
                    }
                    let share = |count: u32| f64::from(count) / f64::from(counts.jobs);
                    let shares = [counts.influence, counts.correction, counts.next].map(share);
                    lowest = shares.iter().copied().fold(lowest, f64::min);
                    highest = shares.iter().copied().fold(highest, f64::max);
                    let name = match known {
                        Known::Stated => "known",
                        Known::Repeated => "repeats",
                        Known::Residuals => "residuals",
                    };
                    println!(
                        "{planes:6}  {runs:4}  {name:9}  {signal:12}  {:5.2} %     {:5.2} %         {:5.2} %  {:11}",
                        100.0 * shares[0],
                        100.0 * shares[1],
                        100.0 * shares[2],
                        counts.endless
                    );
                }
            }
        }
    }
    println!("all shares lie between {:.2} and {:.2} %\n", 100.0 * lowest, 100.0 * highest);
    println!("stated chance to be within a limit, and how often it came true");
    println!(
        "signal/noise 10 and more                signal/noise 3 (what is known of H beforehand is not broad there)"
    );
    for (clear, weak) in classes[0].iter().zip(&classes[1]) {
        let line = |class: &Class| {
            let stated = f64::from(class.stated);
            let (chance, share) =
                (100.0 * class.sum / stated, 100.0 * f64::from(class.true_after_all) / stated);
            format!("{chance:6.2} %   {share:6.2} %   of {:6}", class.stated)
        };
        println!("{}         {}", line(clear), line(weak));
    }
    if jobs >= 20_000 && !(0.94..=0.96).contains(&lowest) | !(0.94..=0.96).contains(&highest) {
        return Err("a stated 95 % region holds the truth in less than 94 or more than 96 %".into());
    }
    Ok(())
}
