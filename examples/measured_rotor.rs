//! The main job on real measured runs: a rotor kit with two disks and four probes at 1005 rpm.
//!
//! Three states of the rotor (bare, 48 g mm on disk 1, 48 g mm on disk 2), three readings each, give the influence
//! coefficients. With these, the unbalance on the rotor is estimated for five runs in which it was known, and set beside
//! the truth. Data, source and licence: `examples/data/rotor_kit/`.

// A program rounds as it likes; only the library must give the same bits. Counts here are small.
#![allow(clippy::disallowed_methods, clippy::cast_precision_loss)]

use std::error::Error;
use std::path::Path;

use counterpoise::{
    Caution, Channel, CorrectionQuestion, Detector, Estimator, InfluenceFit, PhaseSense, Reading, RotorSense,
    Run, Speed, SpeedWindow, Unbalance, UnbalanceVector, Vibration, VibrationScale, VibrationUnit,
};

/// How this rig counts: disk angles with rotation, phases as leads (see the notes beside the data).
const ROTOR_SENSE: RotorSense = RotorSense::WithRotation;
const PROBES: [&str; 4] = ["1x", "1y", "2x", "2y"];

/// One row of the table: a condition, what was on the disks, and what the probes read.
struct Record {
    condition: String,
    disks: [UnbalanceVector; 2],
    readings: Vec<Reading>,
}

fn main() -> Result<(), Box<dyn Error>> {
    let channels = channels()?;
    let records = records(&channels)?;

    println!(
        "Two disks, four probes, 1005 rpm. Displacement in mil, unbalance in g mm, disk angles with rotation."
    );
    println!(
        "Measured runs: M-Nouioua, rk4-rotor-unbalance-estimation (2026), DOI 10.5281/zenodo.23152815, MIT.\n"
    );

    let fit = calibration(&channels, &records)?;
    let condition_number = show_influence(&fit)?;
    show_known_runs(&fit, &records)?;

    let nothing = vec![Vibration::ZERO; channels.len()];
    let advice = CorrectionQuestion::new(fit.influence(), &nothing)?.solve()?;
    for caution in advice.cautions() {
        println!("\nCaution: {caution}.");
        if let Caution::IllConditionedPlanes { combination, .. } = caution {
            let parts = combination.iter().zip(1..).map(|(part, disk)| {
                let (share, angle) = (part.amount().gram_millimetres(), part.angle().in_sense(ROTOR_SENSE));
                format!("{share:.2} g mm at {:.0} deg on disk {disk}", angle.degrees())
            });
            println!("Least seen: {}.", parts.collect::<Vec<_>>().join(" together with "));
            println!(
                "The two disks are nearly indistinguishable at this speed: their sum is known, their difference is"
            );
            println!("not; a speed at which the shaft bends the other way would tell them apart.");
        }
    }
    println!("\nCondition number {condition_number:.2}; the authors publish 16.99.");
    Ok(())
}

/// The four probes, for readings between 995 and 1015 rpm.
fn channels() -> Result<Vec<Channel>, Box<dyn Error>> {
    let unit = VibrationUnit::new(VibrationScale::Mil, Detector::Peak);
    let rpm = Speed::from_rpm;
    let window = SpeedWindow::between(rpm(995.0)?, rpm(1005.0)?, rpm(1015.0)?)?;
    Ok((1..=4).map(|probe| Channel::new(probe, unit, PhaseSense::Lead, window)).collect())
}

fn records(channels: &[Channel]) -> Result<Vec<Record>, Box<dyn Error>> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/data/rotor_kit/runs.csv");
    let mut records = Vec::new();
    for row in csv::Reader::from_path(path)?.deserialize() {
        let (condition, _speed, _repeat, rpm, disks, probes): (String, String, u32, f64, [f64; 4], [f64; 8]) =
            row?;
        let speed = Speed::from_rpm(rpm)?;
        let [amount_1, degrees_1, amount_2, degrees_2] = disks;
        let readings = channels.iter().zip(probes.chunks(2)).map(|(channel, pair)| {
            let [re, im] = [pair.first(), pair.last()].map(|part| part.copied().unwrap_or(f64::NAN));
            Ok(channel.reading_of(Vibration::from_components(re, im)?).at(speed)?)
        });
        records.push(Record {
            condition,
            disks: [unbalance(amount_1, degrees_1)?, unbalance(amount_2, degrees_2)?],
            readings: readings.collect::<Result<_, Box<dyn Error>>>()?,
        });
    }
    Ok(records)
}

fn unbalance(gram_millimetres: f64, degrees: f64) -> Result<UnbalanceVector, Box<dyn Error>> {
    let amount = Unbalance::from_gram_millimetres(gram_millimetres)?;
    Ok(UnbalanceVector::from_polar(amount, ROTOR_SENSE.degrees(degrees)?))
}

/// The fit of the authors' calibration runs: bare, trial on disk 1, trial on disk 2, three readings each.
fn calibration(channels: &[Channel], records: &[Record]) -> Result<InfluenceFit, Box<dyn Error>> {
    let mut estimator = Estimator::with_relative_weights(channels, 2)?;
    for record in
        records.iter().filter(|record| ["BASE", "A007", "A015"].contains(&record.condition.as_str()))
    {
        let [disk_1, disk_2] = record.disks;
        let bare = Run::new(&record.condition).mounted(0, disk_1).mounted(1, disk_2);
        estimator.add(record.readings.iter().fold(bare, |run, reading| run.reading(*reading)))?;
    }
    println!(
        "Calibration: {} runs of BASE (bare), A007 (48 g mm on disk 1), A015 (48 g mm on disk 2).\n",
        estimator.runs().len()
    );
    Ok(estimator.fit()?)
}

/// Prints the influence coefficients, and returns their condition number.
fn show_influence(fit: &InfluenceFit) -> Result<f64, Box<dyn Error>> {
    println!("Influence coefficients, mil per 100 g mm, phase as lead");
    println!("  probe          disk 1            disk 2     scatter of a reading");
    for (channel, name) in fit.channels().iter().zip(PROBES) {
        let polar: Vec<String> = channel
            .influence()
            .iter()
            .map(|h| format!("{:7.4} at {:5.1} deg", 100.0 * h.per_gram_millimetre(), h.lead().degrees()))
            .collect();
        let scatter = channel.residual_variance().unwrap_or(f64::NAN).sqrt();
        println!("  {name:<5} {}   {:.4} mil", polar.join(" "), scatter);
    }
    Ok(fit.influence().condition_number(&[])?)
}

/// Prints, for the runs with known unequal masses on both disks, the estimate beside the truth.
fn show_known_runs(fit: &InfluenceFit, records: &[Record]) -> Result<(), Box<dyn Error>> {
    let as_found = fit.as_found();
    println!("\nUnbalance added to the rotor: mean of the estimates from each record, and truth");
    println!("                       disk 1                            disk 2                 error");
    println!("  run        estimate       truth            estimate       truth      disk 1 disk 2    sum");
    let mut errors = [0.0; 3];
    let conditions = ["BLND01", "BLND02", "BLND03", "BLND04", "BLND05"];
    for condition in conditions {
        let repeats: Vec<&Record> = records.iter().filter(|record| record.condition == condition).collect();
        let mut estimate = [UnbalanceVector::ZERO; 2];
        let share = 1.0 / repeats.len() as f64;
        let mut truth = [UnbalanceVector::ZERO; 2];
        for record in &repeats {
            let readings = fit.influence().vibrations_of(&record.readings)?;
            let change: Vec<Vibration> =
                readings.iter().zip(&as_found).map(|(now, found)| *now - *found).collect();
            // What would have to be added to undo the change is the opposite of what was added.
            let undo = CorrectionQuestion::new(fit.influence(), &change)?.solve()?;
            for (sum, added) in estimate.iter_mut().zip(undo.added()) {
                *sum = *sum - *added * share;
            }
            truth = record.disks;
        }
        let ([estimate_1, estimate_2], [truth_1, truth_2]) = (estimate, truth);
        let (error_1, error_2) = (estimate_1 - truth_1, estimate_2 - truth_2);
        let sizes = [error_1, error_2, error_1 + error_2].map(|error| error.amount().gram_millimetres());
        for (total, size) in errors.iter_mut().zip(sizes) {
            *total += size / conditions.len() as f64;
        }
        let [of_disk_1, of_disk_2, of_sum] = sizes;
        println!(
            "  {condition}  {} {}    {} {}    {of_disk_1:5.1}  {of_disk_2:5.1}  {of_sum:5.1}",
            polar(estimate_1),
            polar(truth_1),
            polar(estimate_2),
            polar(truth_2),
        );
    }
    let [of_disk_1, of_disk_2, of_sum] = errors;
    let of_a_disk = f64::midpoint(of_disk_1, of_disk_2);
    println!("  mean error of a disk {of_a_disk:.1} g mm, of the sum (static unbalance) {of_sum:.1} g mm");
    Ok(())
}

/// Amount and place, in the sense of the rig.
fn polar(vector: UnbalanceVector) -> String {
    let angle = vector.angle().in_sense(ROTOR_SENSE);
    format!("{:5.1} at {:5.1} deg", vector.amount().gram_millimetres(), angle.degrees())
}
