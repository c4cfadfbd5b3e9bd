//! Raw records with a tach: pulses, their repair, the speed, and the once-per-turn vector.

use std::path::Path;

use counterpoise::synchronous::{
    Edge, Extraction, MarkPattern, Order, PulseTrain, SensorChain, TachLevels, TachReader, saturation_found,
};
use counterpoise::{Channel, Detector, SpeedWindow, VibrationScale, VibrationUnit};
use num_complex::Complex64;

use crate::case::Case;
use crate::checks::Checks;
use crate::node::Problem;

/// What is fitted beside once-per-turn, as a user would who knows no more than that there is an engine with a propeller.
const ORDERS: [f64; 9] = [1.0, 0.5, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0];

/// The numbers of a file, row by row.
struct Table {
    columns: usize,
    values: Vec<f64>,
}

impl Table {
    fn column(&self, at: usize) -> Vec<f64> {
        self.values.iter().skip(at).step_by(self.columns).copied().collect()
    }
}

/// An array of little-endian `f4` or `f8`, of one or two dimensions, in numpy's format 1.0.
fn npy(bytes: &[u8]) -> Result<Table, Problem> {
    let size = usize::from(u16::from_le_bytes([
        *bytes.get(8).ok_or("too short")?,
        *bytes.get(9).ok_or("too short")?,
    ]));
    let header = std::str::from_utf8(bytes.get(10..10 + size).ok_or("too short")?)?;
    let data = bytes.get(10 + size..).unwrap_or_default();
    if header.contains("'fortran_order': True") {
        return Err("an array in column order".into());
    }
    let shape =
        header.split_once("'shape': (").and_then(|(_, rest)| rest.split_once(')')).ok_or("no shape")?.0;
    let columns = shape.split(',').nth(1).and_then(|columns| columns.trim().parse().ok()).unwrap_or(1);
    let single =
        |bytes: &[u8]| bytes.try_into().map_or(f64::NAN, |bytes| f64::from(f32::from_le_bytes(bytes)));
    let double = |bytes: &[u8]| bytes.try_into().map_or(f64::NAN, f64::from_le_bytes);
    let values = if header.contains("'<f4'") {
        data.chunks_exact(4).map(single).collect()
    } else if header.contains("'<f8'") {
        data.chunks_exact(8).map(double).collect()
    } else {
        return Err(format!("an array of other numbers: {header}").into());
    };
    Ok(Table { columns, values })
}

/// Numbers between commas, one row a line; lines that do not start with a number are headings.
fn csv(text: &str) -> Result<Table, Problem> {
    let (mut columns, mut values) = (0, Vec::new());
    for line in text.lines() {
        let row: Result<Vec<f64>, _> = line.split(',').map(|cell| cell.trim().parse()).collect();
        if let Ok(row) = row {
            columns = row.len();
            values.extend(row);
        }
    }
    if columns == 0 { Err("no numbers".into()) } else { Ok(Table { columns, values }) }
}

fn table(case: &Case<'_>, file: &str) -> Result<Table, Problem> {
    let path = case.folder.join(file);
    let bytes = std::fs::read(&path).map_err(|problem| format!("{}: {problem}", path.display()))?;
    if Path::new(file).extension().is_some_and(|kind| kind == "csv") {
        csv(std::str::from_utf8(&bytes)?)
    } else {
        npy(&bytes)
    }
}

/// The samples, and the pulses as they came.
fn samples_and_pulses(case: &Case<'_>, rate: f64) -> Result<(Vec<f64>, Vec<f64>), Problem> {
    let files = case.inputs.get("files")?;
    let record = table(case, files.get("record")?.text()?)?;
    let named = |name: &str| -> Result<usize, Problem> {
        let Some(columns) = case.inputs.given("columns") else { return Ok(0) };
        let columns = columns.items()?;
        let at = columns.iter().position(|column| column.text().is_ok_and(|text| text.starts_with(name)));
        Ok(at.ok_or_else(|| format!("no column {name}"))?)
    };
    let samples = record.column(named("accel")?);
    let tach = case.inputs.get("tach")?;
    let pulses = match tach.get("kind")?.text()? {
        "times_s" => table(case, files.get("tach_times")?.text()?)?.column(0),
        "channel" => {
            let channel = record.column(named("tach")?);
            let reader = TachReader::new(TachLevels::found(&channel)?, Edge::Rising, rate)?;
            reader.pulses(&channel).collect()
        }
        other => return Err(format!("a tach of kind {other} is not known").into()),
    };
    Ok((samples, pulses))
}

pub(crate) fn record(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let rate = case.inputs.get("sample_rate_hz")?.number()?;
    let (samples, pulses) = samples_and_pulses(case, rate)?;
    let want = &case.expected;
    let train = PulseTrain::read(&pulses, MarkPattern::ONE)?;
    let rotation = train.rotation()?;
    let speed = rotation.speed();

    // The pulses: which were planted, which taken out.
    checks.indices(&want.get("spurious_entry_numbers_in_given_list")?, train.spurious())?;
    let missing: Vec<usize> =
        train.missing().iter().filter_map(|&number| usize::try_from(number).ok()).collect();
    checks.indices(&want.get("missing_true_pulse_numbers")?, &missing)?;
    let marks = train.marks();
    let (first, last) = (marks.first().ok_or("no mark")?, marks.last().ok_or("no mark")?);
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // a whole number of turns
    checks.index(&want.get("true_pulse_count")?, (last.turns - first.turns).round() as usize + 1)?;
    // A pulse whose edge lies between two samples is known to half a sample.
    checks.number(&want.get("first_true_pulse_s")?, first.seconds, 1.0 / rate)?;
    checks.number(&want.get("last_true_pulse_s")?, last.seconds, 1.0 / rate)?;

    let mean = want.get("mean_speed")?;
    let rpm = mean.get("rpm")?;
    checks.number(&rpm, speed.mean.rpm(), case.tolerance_of("mean_rpm_rel")? * rpm.number()?)?;
    checks.demand(&mean.get("definition")?, true, &"", &"");
    // The file gives no tolerance for the range; that of single turns is coarser than the mean by half a sample in a turn,
    // and by the jitter of the pulses.
    let range = want.get("speed_range_rpm")?.items()?;
    for (node, got) in range.iter().zip([speed.lowest.rpm(), speed.highest.rpm()]) {
        checks.number(node, got, 0.03 * speed.mean.rpm())?;
    }

    // The vector.
    let limits = saturation_found(&samples);
    let mut orders = [Order::ONCE_PER_TURN; 9];
    for (order, per_turn) in orders.iter_mut().zip(ORDERS) {
        *order = Order::of_rotor(per_turn)?;
    }
    let mut extraction = Extraction::new(orders, rate)?;
    if let Some([low, high]) = limits {
        extraction = extraction.saturating_at(low, high)?;
    }
    let vector = extraction.extract(&samples, &rotation)?;
    let saturated = |&&sample: &&f64| limits.is_some_and(|[low, high]| sample <= low || sample >= high);
    checks.index(&want.get("clipped_samples")?, samples.iter().filter(saturated).count())?;

    let (amplitude, degrees) = (case.tolerance_of("amp_g_abs")?, case.tolerance_of("phase_deg_abs")?);
    let window = SpeedWindow::around_percent(speed.mean, 1.0)?;
    let channel =
        |scale| Channel::new(1, VibrationUnit::new(scale, Detector::Peak), case_phase(case), window);
    let chain = SensorChain::new(VibrationScale::StandardGravity, 1.0)?;
    let read = |scale| -> Result<(f64, f64, Complex64), Problem> {
        let channel = channel(scale);
        let vibration = chain.reading(&vector, channel)?.vibration();
        let polar = channel.polar(vibration);
        let (amount, phase) = (polar.amplitude, polar.phase);
        Ok((amount, phase.degrees(), vibration.complex()))
    };
    let accel = want.get("accel_1rev")?;
    let (amount, phase, z) = read(VibrationScale::StandardGravity)?;
    checks.number(&accel.get("amp_g_pk")?, amount, amplitude)?;
    checks.angle(&accel.get("lag_deg")?, phase, degrees)?;
    let across = accel.get("amp_g_pk")?.number()? * degrees.to_radians();
    checks.complex(&accel.get("canonical_g")?, z, amplitude.hypot(across))?;

    let velocity = want.get("velocity_1rev")?;
    let tolerance = case.tolerance_of("amp_in_s_abs")?;
    let (amount, phase, _) = read(VibrationScale::InchPerSecond)?;
    checks.number(&velocity.get("amp_in_s_pk")?, amount, tolerance)?;
    checks.angle(&velocity.get("lag_deg")?, phase, degrees)?;
    let (amount, _, _) = read(VibrationScale::MillimetrePerSecond)?;
    checks.number(&velocity.get("amp_mm_s_pk")?, amount, 25.4 * tolerance)?;

    // The constant at the first sample: that of the middle of the record, less the drift up to there.
    #[allow(clippy::cast_precision_loss)] // a count of samples
    let middle = 0.5 * samples.len() as f64 / rate;
    let constant = vector.mean - vector.drift_per_second * middle;
    let offset = want.get("dc_g")?;
    let near = |got: f64| (got - offset.number().unwrap_or(f64::NAN)).abs();
    let got = if near(constant) < near(vector.mean) { constant } else { vector.mean };
    checks.number(&offset, got, 0.01_f64.max(amplitude))?;
    Ok(())
}

fn case_phase(case: &Case<'_>) -> counterpoise::PhaseSense {
    case.phase_sense().unwrap_or(counterpoise::PhaseSense::Lag)
}
