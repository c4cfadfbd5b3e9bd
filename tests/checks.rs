//! Cross-examination of runs: every planted mistake is found, nothing is accused without cause, and neither the order of
//! what is stated nor the senses in which it is counted change the verdict.
#![cfg(feature = "alloc")]
// The functions beside the tests may index, fail and use the platform's functions as tests may.
#![allow(
    clippy::indexing_slicing,
    clippy::unwrap_used,
    clippy::panic,
    clippy::disallowed_methods,
    clippy::type_complexity
)]

use std::path::Path;

use counterpoise::checks::{
    Examination, Explanation, Findings, Item, LeftOut, NextRun, Plane, Ranked, Resonance, Verdict,
};
use counterpoise::{
    Channel, Convention, DegreesOfFreedom, Detector, Estimator, ExaminationError, HoleCircle, Mass, MassUnit,
    PhaseSense, Radius, Reading, RotorAngle, RotorSense, Run, Scatter, Speed, SpeedLaw, SpeedWindow,
    Unbalance, UnbalanceVector, Vibration, VibrationScale, VibrationUnit, Weight,
};
use num_complex::Complex64;

const RPM: f64 = 2400.0;
const SIGMA: f64 = 0.005;
const CONVENTIONS: [Convention; 4] = [
    Convention { phase: PhaseSense::Lag, rotor: RotorSense::WithRotation },
    Convention { phase: PhaseSense::Lag, rotor: RotorSense::AgainstRotation },
    Convention { phase: PhaseSense::Lead, rotor: RotorSense::WithRotation },
    Convention { phase: PhaseSense::Lead, rotor: RotorSense::AgainstRotation },
];

fn channels(phase: PhaseSense) -> [Channel; 2] {
    let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    let window = SpeedWindow::around_percent(Speed::from_rpm(RPM).unwrap(), 1.0).unwrap();
    [1, 2].map(|sensor| Channel::new(sensor, unit, phase, window))
}

/// Plane, grams, canonical degrees, and the runs in which it is on.
const ITEMS: [(usize, f64, f64, &[usize]); 6] = [
    (0, 12.0, 30.0, &[1, 2]),
    (1, 10.0, 75.0, &[2, 5]),
    (0, 15.0, 240.0, &[3, 5, 6]),
    (1, 14.0, 195.0, &[3, 4]),
    (0, 9.0, 120.0, &[4, 6]),
    (1, 11.0, 315.0, &[5, 6, 7]),
];
const RUNS: usize = 8;

fn stated(item: usize) -> Complex64 {
    let (_, grams, degrees, _) = ITEMS[item];
    Complex64::from_polar(grams * 150.0, degrees.to_radians())
}

fn machine() -> ([Complex64; 2], [[Complex64; 2]; 2]) {
    let c = Complex64::new;
    ([c(0.3, -0.4), c(-0.2, 0.35)], [[c(3e-4, 1e-4), c(-0.5e-4, 1e-4)], [c(1e-4, -0.4e-4), c(-1e-4, 2.7e-4)]])
}

/// Readings of the machine with what is really on, run by run.
fn readings(really: impl Fn(usize, usize) -> Option<(usize, Complex64)>) -> Vec<[Complex64; 2]> {
    let (v0, h) = machine();
    (0..RUNS)
        .map(|run| {
            let mut row = v0;
            for item in 0..ITEMS.len() {
                if let Some((plane, u)) = really(run, item) {
                    row[0] += h[0][plane] * u;
                    row[1] += h[1][plane] * u;
                }
            }
            row
        })
        .collect()
}

fn as_stated(run: usize, item: usize) -> Option<(usize, Complex64)> {
    let (plane, _, _, on) = ITEMS[item];
    on.contains(&run).then(|| (plane, stated(item)))
}

fn resonance() -> Resonance {
    Resonance::new(Speed::from_rpm(1900.0).unwrap(), 0.06).unwrap()
}

/// The job as a user of a convention states it; items in the order given.
fn examine_in(convention: Convention, order: &[usize], rows: &[[Complex64; 2]]) -> (Findings, Vec<Item>) {
    let channels = channels(convention.phase);
    let ring = HoleCircle::new(24, RotorAngle::MARK, convention.rotor).unwrap();
    let mut job = Examination::new(&channels, &[Plane::new().with_holes(ring); 2]).unwrap();
    job = job.with_resonance(resonance());
    let mut items = vec![None; ITEMS.len()];
    for item in order {
        let (plane, grams, degrees, _) = ITEMS[*item];
        let place = RotorSense::WithRotation.degrees(degrees).unwrap();
        // Through the user's own number.
        let place = convention.place(place.in_sense(convention.rotor).degrees()).unwrap();
        let radius = Radius::from_millimetres(150.0).unwrap();
        let weight = Weight::new(Mass::from_grams(grams).unwrap(), radius, place);
        items[*item] = Some(job.add_item(plane, weight).unwrap());
    }
    let items: Vec<Item> = items.into_iter().flatten().collect();
    for (run, row) in rows.iter().enumerate() {
        let on: Vec<Item> =
            (0..ITEMS.len()).filter(|item| ITEMS[*item].3.contains(&run)).map(|item| items[item]).collect();
        let read: Vec<Reading> = channels
            .iter()
            .zip(row)
            .map(|(channel, value)| {
                let vibration = Vibration::from_components(value.re, value.im).unwrap();
                let polar = channel.polar(vibration);
                let (amplitude, phase) = (polar.amplitude, polar.phase);
                channel.reading(amplitude, phase.degrees()).unwrap().with_standard_deviation(SIGMA).unwrap()
            })
            .collect();
        job.add_run(&on, &read).unwrap();
    }
    (job.examine().unwrap(), items)
}

fn examine(rows: &[[Complex64; 2]]) -> (Findings, Vec<Item>) {
    examine_in(CONVENTIONS[2], &[0, 1, 2, 3, 4, 5], rows)
}

fn only(item: usize, change: impl Fn(Complex64) -> Complex64) -> Vec<[Complex64; 2]> {
    readings(|run, at| as_stated(run, at).map(|(plane, u)| (plane, if at == item { change(u) } else { u })))
}

type Is = Box<dyn Fn(&[Item], &Explanation) -> bool>;

/// Every kind of mistake, as it is planted, and what is to be found, by item number.
fn planted() -> Vec<(Vec<[Complex64; 2]>, Is)> {
    let turned = |degrees: f64| Complex64::from_polar(1.0, degrees.to_radians());
    let clean = || readings(as_stated);
    let gain = |run: usize, gain: Complex64| {
        let mut rows = clean();
        rows[run] = rows[run].map(|value| value * gain);
        rows
    };
    let mut all: Vec<(Vec<[Complex64; 2]>, Is)> = Vec::new();
    let mut add = |rows, is: Is| all.push((rows, is));
    add(only(2, |u| u.conj()), Box::new(|i, e| *e == Explanation::WeightMirrored { item: i[2] }));
    add(only(1, |u| -u), Box::new(|i, e| *e == Explanation::WeightHalfTurn { item: i[1] }));
    add(
        only(5, |u| u * turned(30.0)),
        Box::new(|i, e| *e == Explanation::WeightOffByHoles { item: i[5], holes: 2 }),
    );
    add(
        readings(|run, at| {
            as_stated(run, at).or_else(|| (at == 0 && run >= 3).then(|| (ITEMS[0].0, stated(0))))
        }),
        Box::new(|i, e| *e == Explanation::WeightLeftOn { item: i[0], run: 3 }),
    );
    add(only(2, |_| Complex64::ZERO), Box::new(|i, e| *e == Explanation::WeightNotMounted { item: i[2] }));
    add(
        only(1, |u| u * 28.349_523_125),
        Box::new(|i, e| *e == Explanation::MassUnit { item: i[1], unit: MassUnit::Ounce }),
    );
    add(
        readings(|run, at| {
            as_stated(run, at).map(|(plane, u)| (if at == 2 || at == 3 { 1 - plane } else { plane }, u))
        }),
        Box::new(|_, e| *e == Explanation::PlanesExchanged { run: 3, planes: [0, 1] }),
    );
    let mut exchanged = clean();
    exchanged[4].swap(0, 1);
    add(exchanged, Box::new(|_, e| *e == Explanation::ChannelsExchanged { run: 4, channels: [0, 1] }));
    let mut moved = clean();
    moved.iter_mut().skip(5).for_each(|row| *row = row.map(|value| value * turned(25.0)));
    add(
        moved,
        Box::new(
            |_, e| matches!(e, Explanation::MarkMoved { run: 5, turn_degrees } if (turn_degrees.abs() - 25.0).abs() < 1e-6),
        ),
    );
    let rho = |n: f64| {
        Complex64::new(n * n * n, 0.0) / Complex64::new(1900.0 * 1900.0 - n * n, 2.0 * 0.06 * 1900.0 * n)
    };
    add(
        gain(3, rho(2250.0) / rho(RPM)),
        Box::new(|_, e| matches!(e, Explanation::OtherSpeed { run: 3, rpm } if (rpm - 2250.0).abs() < 1e-3)),
    );
    add(
        gain(2, Complex64::new(2.0, 0.0)),
        Box::new(|_, e| *e == Explanation::DetectorSlip { run: 2, detector: Detector::PeakToPeak }),
    );
    add(
        gain(6, Complex64::new(25.4, 0.0)),
        Box::new(|_, e| *e == Explanation::UnitSlip { run: 6, scale: VibrationScale::MillimetrePerSecond }),
    );
    let mut outlier = clean();
    outlier[5][1] += Complex64::new(0.2, -0.1);
    add(outlier, Box::new(|_, e| *e == Explanation::Outlier { run: 5, channel: 1 }));
    add(
        readings(|run, at| as_stated(run, at).map(|(plane, u)| (plane, u.conj()))),
        Box::new(|_, e| *e == Explanation::SenseWrong),
    );
    all
}

#[test]
fn every_planted_mistake_is_found_without_noise_in_all_conventions_and_orders() {
    let all = planted();
    assert_eq!(all.len(), 14);
    for (rows, is) in &all {
        for convention in CONVENTIONS {
            for order in [[0, 1, 2, 3, 4, 5], [3, 5, 0, 4, 1, 2]] {
                let (findings, items) = examine_in(convention, &order, rows);
                let best = findings.ranked()[0];
                let Verdict::OneStands(found) = findings.verdict() else {
                    panic!("{:?}: {:?}", findings.verdict(), findings.undistinguished());
                };
                assert_eq!(found, best.explanation);
                // A hole further on in the order of the numbers depends on the sense of the numbers; the rest does not.
                let found = match found {
                    Explanation::WeightOffByHoles { item, holes }
                        if convention.rotor == RotorSense::AgainstRotation =>
                    {
                        Explanation::WeightOffByHoles { item, holes: -holes }
                    }
                    other => other,
                };
                assert!(is(&items, &found), "{found} in {convention:?}");
                assert!(best.chi_squared < 1e-9, "{found}: {}", best.chi_squared);
            }
        }
    }
}

#[test]
fn the_repair_gives_the_correction_of_the_machine() {
    let (v0, h) = machine();
    // Two planes, two channels: v0 + H w = 0.
    let determinant = h[0][0] * h[1][1] - h[0][1] * h[1][0];
    let wanted = [
        (h[0][1] * v0[1] - h[1][1] * v0[0]) / determinant,
        (h[1][0] * v0[0] - h[0][0] * v0[1]) / determinant,
    ];
    for (rows, _) in &planted() {
        let (findings, _) = examine(rows);
        let repair = findings.repair(&findings.ranked()[0]).unwrap();
        for (plane, want) in wanted.iter().enumerate() {
            // With the sense wrong, the place is given on the stated scale.
            let want =
                if findings.ranked()[0].explanation == Explanation::SenseWrong { want.conj() } else { *want };
            let error = (repair.total[plane].complex() - want).norm();
            assert!(error < 1e-8 * want.norm(), "{}: {error}", findings.ranked()[0].explanation);
            let sum = repair.added_to_last_run[plane] + repair.really_on[plane];
            assert!((sum - repair.total[plane]).amount().gram_millimetres() < 1e-8);
        }
    }
}

#[test]
fn a_clean_job_accuses_nothing_and_scatter_alone_rarely_does() {
    let (findings, _) = examine(&readings(as_stated));
    assert_eq!(findings.verdict(), Verdict::NothingToAccuse);
    assert_eq!(findings.ranked()[0].explanation, Explanation::NoMistake);
    // A plain congruential generator (D. Knuth's MMIX constants, from memory); sums of twelve are nearly normal.
    let mut state = 1_u64;
    let mut uniform = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        f64::from(u32::try_from(state >> 32).unwrap()) / 4_294_967_296.0
    };
    let mut accused = 0;
    for _ in 0..300 {
        let mut rows = readings(as_stated);
        for value in rows.iter_mut().flatten() {
            let mut normal = || (0..12).map(|_| uniform()).sum::<f64>() - 6.0;
            *value += Complex64::new(normal(), normal()) * SIGMA;
        }
        accused += u32::from(examine(&rows).0.verdict() != Verdict::NothingToAccuse);
    }
    assert!(accused <= 3, "{accused} of 300");
}

#[test]
fn two_mistakes_at_once_are_unclear() {
    let mut rows = only(2, |u| u.conj());
    rows[6] = rows[6].map(|value| value * 25.4);
    assert_eq!(examine(&rows).0.verdict(), Verdict::Unclear);
}

#[test]
fn weights_on_one_line_leave_the_sense_open_and_a_weight_off_it_tells() {
    let [channel, _] = channels(PhaseSense::Lead);
    let radius = Radius::from_millimetres(150.0).unwrap();
    let mut job = Examination::new(&[channel], &[Plane::new()]).unwrap();
    let place = |degrees| RotorSense::WithRotation.degrees(degrees).unwrap();
    let mut items = Vec::new();
    for (grams, degrees) in [(10.0, 40.0), (12.0, 220.0), (14.0, 40.0)] {
        items.push(
            job.add_item(0, Weight::new(Mass::from_grams(grams).unwrap(), radius, place(degrees))).unwrap(),
        );
    }
    let (v0, h) = machine();
    let read = |u: Complex64| {
        let v = v0[0] + h[0][0] * u;
        let vibration = Vibration::from_components(v.re, v.im).unwrap();
        channel.reading_of(vibration).with_standard_deviation(SIGMA).unwrap()
    };
    let u = |grams: f64, degrees: f64| Complex64::from_polar(grams * 150.0, f64::to_radians(degrees));
    job.add_run(&[], &[read(Complex64::ZERO)]).unwrap();
    job.add_run(&items[..1], &[read(u(10.0, 40.0))]).unwrap();
    job.add_run(&items[1..2], &[read(u(12.0, 220.0))]).unwrap();
    job.add_run(&items[2..], &[read(u(14.0, 40.0))]).unwrap();
    let findings = job.examine().unwrap();
    assert_eq!(findings.verdict(), Verdict::NothingToAccuse);
    let sense = |ranked: &&Ranked| ranked.explanation == Explanation::SenseWrong;
    let wrong = findings.undistinguished().iter().find(sense).copied().unwrap();
    assert!(findings.fitting_alike(findings.plain()).any(|ranked| *ranked == wrong));
    assert!(!findings.same_consequence(&wrong, findings.plain()));
    let next = findings.next_run().unwrap();
    let weight = next.added.unwrap().weight;
    // Off the line: at 40 or 220 deg the two predict the same.
    let off = weight.angle.with_rotation().separation_degrees(place(40.0).with_rotation());
    // They differ by 2 |H w sin(a − 40°)|: most at right angles to the line.
    assert!(off > 60.0 && off < 120.0, "{off}");
    let pair = next.separations.iter().find(|pair| {
        pair.first == Explanation::SenseWrong && pair.second == Explanation::NoMistake
            || pair.second == Explanation::SenseWrong && pair.first == Explanation::NoMistake
    });
    assert!(pair.unwrap().sigmas > NextRun::DECIDES_FROM_SIGMAS);
    assert!(findings.left_out().contains(&LeftOut::OtherSpeed));
    assert!(findings.left_out().contains(&LeftOut::HolesOff { plane: 0 }));
}

#[test]
fn a_speed_law_of_the_channels_serves_where_no_resonance_is_known() {
    let [one, two] = channels(PhaseSense::Lag).map(|channel| channel.with_law(SpeedLaw::StiffnessControlled));
    let mut job = Examination::new(&[one, two], &[Plane::new()]).unwrap();
    for run in 0..5 {
        // Velocity grows with the third power.
        let gain = if run == 3 { 1.1_f64.powi(3) } else { 1.0 };
        let read = |channel: Channel, amplitude: f64, degrees: f64| {
            channel.reading(amplitude * gain, degrees).unwrap().with_standard_deviation(SIGMA).unwrap()
        };
        job.add_run(&[], &[read(one, 0.5, 20.0), read(two, 0.4, 200.0)]).unwrap();
    }
    let findings = job.examine().unwrap();
    assert!(matches!(
        findings.verdict(),
        Verdict::OneStands(Explanation::OtherSpeed { run: 3, rpm }) if (rpm - 1.1 * RPM).abs() < 1e-3
    ));
}

#[test]
fn what_cannot_be_examined_is_refused_with_its_place() {
    let [one, two] = channels(PhaseSense::Lag);
    assert_eq!(
        Examination::new(&[one, one], &[Plane::new()]).unwrap_err(),
        ExaminationError::RepeatedChannel { first: 0, second: 1, sensor: 1 }
    );
    let mut other = Examination::new(&[one], &[Plane::new()]).unwrap();
    let weight =
        Weight::new(Mass::from_grams(1.0).unwrap(), Radius::from_millimetres(1.0).unwrap(), RotorAngle::MARK);
    let item = other.add_item(0, weight).unwrap();
    let mut job = Examination::new(&[one], &[Plane::new()]).unwrap();
    let reading = one.reading(1.0, 0.0).unwrap().with_standard_deviation(0.1).unwrap();
    assert_eq!(job.add_run(&[item], &[reading]).unwrap_err().code(), 1105);
    assert_eq!(other.add_run(&[item, item], &[reading]).unwrap_err().code(), 1106);
    let stranger = two.reading(1.0, 0.0).unwrap().with_standard_deviation(0.1).unwrap();
    assert_eq!(
        job.add_run(&[], &[stranger]).unwrap_err(),
        ExaminationError::UnknownChannel { run: 0, sensor: 2 }
    );
    assert_eq!(job.add_run(&[], &[reading, reading]).unwrap_err().code(), 1108);
    assert_eq!(job.add_run(&[], &[]).unwrap_err().code(), 1110);
    assert_eq!(job.examine().unwrap_err(), ExaminationError::NoRuns);
    // A misfit whose square overflows.
    for amplitude in [1e99, 1e-99] {
        let reading = one.reading(amplitude, 0.0).unwrap().with_standard_deviation(1e-99).unwrap();
        job.add_run(&[], &[reading]).unwrap();
    }
    assert_eq!(job.examine().unwrap_err(), ExaminationError::NotRepresentable);
}

// ---- measured runs ----

type Row = (String, String, u32, f64, [f64; 4], [f64; 8]);

/// Rows of `examples/data/rotor_kit/runs.csv`, averaged over the back-to-back repeats of a condition: what was on the
/// disks, and what the probes read.
fn measured(conditions: &[&str]) -> Vec<([(f64, f64); 2], [Complex64; 4])> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/data/rotor_kit/runs.csv");
    let rows: Vec<Row> = csv::Reader::from_path(path).unwrap().deserialize().map(Result::unwrap).collect();
    let mean = |condition: &&str| {
        let mine: Vec<&Row> = rows.iter().filter(|row| row.0 == *condition).collect();
        assert!(!mine.is_empty(), "{condition}");
        let share = 1.0 / f64::from(u32::try_from(mine.len()).unwrap());
        let mut probes = [Complex64::ZERO; 4];
        for row in &mine {
            for (probe, pair) in probes.iter_mut().zip(row.5.chunks(2)) {
                *probe += Complex64::new(pair[0], pair[1]) * share;
            }
        }
        let [u1, d1, u2, d2] = mine[0].4;
        ([(u1, d1), (u2, d2)], probes)
    };
    conditions.iter().map(mean).collect()
}

/// The runs with known unequal masses, and the calibration runs, stated in a sense.
fn measured_job(sense: RotorSense, scatter: Scatter) -> Findings {
    let conditions = ["BASE", "A007", "A015", "BLND01", "BLND02", "BLND03", "BLND04", "BLND05", "BLND06"];
    let unit = VibrationUnit::new(VibrationScale::Mil, Detector::Peak);
    let window = SpeedWindow::around_percent(Speed::from_rpm(1005.0).unwrap(), 1.0).unwrap();
    let channels = [1, 2, 3, 4].map(|probe| Channel::new(probe, unit, PhaseSense::Lead, window));
    let radius = Radius::from_millimetres(30.0).unwrap();
    let mut job = Examination::new(&channels, &[Plane::new().at_radius(radius); 2]).unwrap();
    for (disks, probes) in measured(&conditions) {
        let mut on = Vec::new();
        for (plane, (amount, degrees)) in
            disks.into_iter().enumerate().filter(|(_, (amount, _))| *amount > 0.0)
        {
            let unbalance = Unbalance::from_gram_millimetres(amount).unwrap();
            let vector = UnbalanceVector::from_polar(unbalance, sense.degrees(degrees).unwrap());
            on.push(job.add_item(plane, vector.weight_at(radius)).unwrap());
        }
        let read = channels.iter().zip(probes).map(|(channel, value)| {
            let vibration = Vibration::from_components(value.re, value.im).unwrap();
            channel.reading_of(vibration).with_scatter(scatter)
        });
        job.add_run(&on, &read.collect::<Vec<_>>()).unwrap();
    }
    job.examine().unwrap()
}

/// The scatter between visits, per component, pooled over the probes: what is left of the runs with masses at 0 deg alone,
/// one mean for each visit. These are the same in either sense, and each condition was a visit of its own. Back-to-back
/// repeats scatter about ten times less, and say nothing of it.
fn between_visits() -> f64 {
    let conditions = [
        "BASE", "A001", "A002", "A003", "A004", "A005", "A007", "A008", "A009", "A010", "A011", "A012",
        "A013", "A015", "A017", "A018", "BLND06",
    ];
    let unit = VibrationUnit::new(VibrationScale::Mil, Detector::Peak);
    let window = SpeedWindow::around_percent(Speed::from_rpm(1005.0).unwrap(), 1.0).unwrap();
    let channels = [1, 2, 3, 4].map(|probe| Channel::new(probe, unit, PhaseSense::Lead, window));
    let mut estimator = Estimator::with_relative_weights(&channels, 2).unwrap();
    for (condition, (disks, probes)) in conditions.iter().zip(measured(&conditions)) {
        let mut run = Run::new(*condition);
        for (plane, (amount, degrees)) in disks.into_iter().enumerate() {
            assert_eq!(degrees, 0.0);
            let vector = UnbalanceVector::from_components_gram_millimetres(amount, 0.0).unwrap();
            run = run.mounted(plane, vector);
        }
        for (channel, value) in channels.iter().zip(probes) {
            run = run.reading(channel.reading_of(Vibration::from_components(value.re, value.im).unwrap()));
        }
        estimator.add(run).unwrap();
    }
    let fit = estimator.fit().unwrap();
    let variances: f64 = fit.channels().iter().map(|channel| channel.residual_variance().unwrap()).sum();
    (variances / 4.0).sqrt()
}

/// With the scatter of the runs at 0 deg the sense is named beyond doubt, but no verdict may be spoken: off that line the
/// rig repeats about 1.4 times worse, so that even the right statement does not fit (p of 5e-5), and a piece of 3 g mm, less
/// than the 4.8 g mm that this rig resolves, is then accused in the right statement. With twice that scatter both verdicts
/// are right. Scatter that is understated makes false accusations: that is what this shows, too.
#[test]
fn measured_runs_stated_in_the_mirrored_sense_are_caught() {
    let sigma = between_visits();
    assert!((sigma - 0.0085).abs() < 0.0005, "{sigma}");
    for factor in [1.0, 2.0] {
        let scatter = Scatter::known(factor * sigma).unwrap();
        let mirrored = measured_job(RotorSense::AgainstRotation, scatter);
        let [best, second] = [mirrored.ranked()[0], mirrored.ranked()[1]];
        assert_eq!(best.explanation, Explanation::SenseWrong);
        assert!(second.log10_odds > 100.0, "{second:?}");
        assert!(mirrored.plain().chi_squared > 50.0 * best.chi_squared);
        let right = measured_job(RotorSense::WithRotation, scatter);
        let sense =
            right.ranked().iter().find(|ranked| ranked.explanation == Explanation::SenseWrong).unwrap();
        assert!(sense.log10_odds > 100.0, "{sense:?}");
        if factor == 2.0 {
            assert_eq!(mirrored.verdict(), Verdict::OneStands(Explanation::SenseWrong));
            assert_eq!(right.verdict(), Verdict::NothingToAccuse);
        } else {
            assert_eq!(mirrored.verdict(), Verdict::Unclear);
        }
    }
}

fn estimated(sigma: f64, degrees_of_freedom: f64) -> Scatter {
    let variance = sigma * sigma;
    let degrees = DegreesOfFreedom::Circular(degrees_of_freedom);
    Scatter::from_covariance([[variance, 0.0], [0.0, variance]], degrees).unwrap()
}

/// The scatter as the runs at 0 deg give it, with its degrees of freedom: 17 visits less 3 unknowns, of two components.
/// Those of one probe only: the probes share the visits, so that all four tell hardly more than one.
#[test]
fn measured_runs_with_estimated_scatter_are_judged_right_in_both_senses() {
    let scatter = estimated(between_visits(), 28.0);
    let right = measured_job(RotorSense::WithRotation, scatter);
    assert_eq!(right.verdict(), Verdict::NothingToAccuse, "{:?}", right.plain());
    let mirrored = measured_job(RotorSense::AgainstRotation, scatter);
    assert_eq!(mirrored.verdict(), Verdict::OneStands(Explanation::SenseWrong), "{:?}", mirrored.ranked()[0]);
}

// ---- estimated scatter ----

#[test]
fn estimated_scatter_has_the_likelihood_with_its_scale_integrated_out() {
    let [channel, _] = channels(PhaseSense::Lead);
    let examined = |scatters: [Scatter; 2]| {
        let mut job = Examination::new(&[channel], &[Plane::new()]).unwrap();
        for (amplitude, scatter) in [0.30, 0.33].into_iter().zip(scatters) {
            job.add_run(&[], &[channel.reading(amplitude, 0.0).unwrap().with_scatter(scatter)]).unwrap();
        }
        *job.examine().unwrap().plain()
    };
    let known = Scatter::known(0.01).unwrap();
    // By hand: χ² = 0.03²/(2 · 0.01²) = 4.5 with 4 numbers and 2 unknowns. F with 2 and ν: (1 + χ²/ν)^(-ν/2).
    let plain = examined([known; 2]);
    assert!((plain.score - (4.5 + 2.0 * 4.0_f64.ln())).abs() < 1e-12);
    assert!((plain.p_value.unwrap() - (-2.25_f64).exp()).abs() < 1e-14);
    let plain = examined([estimated(0.01, 6.0); 2]);
    assert!((plain.score - (10.0 * 1.75_f64.ln() + 2.0 * 4.0_f64.ln())).abs() < 1e-12);
    assert!((plain.p_value.unwrap() - 1.75_f64.powi(-3)).abs() < 1e-14);
    // 1/ν₀ is the mean of 1/6 and 0: ν₀ = 12.
    let plain = examined([estimated(0.01, 6.0), known]);
    assert!((plain.p_value.unwrap() - 1.375_f64.powi(-6)).abs() < 1e-14);
    // The more is known, the nearer.
    let near = examined([estimated(0.01, 1e9); 2]);
    assert!((near.score - examined([known; 2]).score).abs() < 1e-6);
}

// ---- what single jobs may hold ----

/// A job of one plane, pieces of 10 g in turn, and what is really on.
fn one_plane(
    plane: Plane,
    unit: MassUnit,
    factors: [Complex64; 4],
    skipped: Option<usize>,
) -> (Findings, Vec<Item>) {
    let channels = channels(PhaseSense::Lead);
    let radius = Radius::from_millimetres(150.0).unwrap();
    let mut job = Examination::new(&channels, &[plane]).unwrap();
    let (v0, h) = machine();
    let mut items = Vec::new();
    for run in 0..5 {
        let mut really = Complex64::ZERO;
        let mut on = Vec::new();
        if let Some(at) = usize::checked_sub(run, 1) {
            let degrees = [30.0, 100.0, 215.0, 300.0][at];
            let mass = Mass::from_grams(10.0).unwrap();
            let place = RotorSense::WithRotation.degrees(degrees).unwrap();
            let item = job.add_item_stated_in(unit, 0, Weight::new(mass, radius, place)).unwrap();
            really = Complex64::from_polar(1500.0, degrees.to_radians()) * factors[at];
            items.push(item);
            on.push(item);
        }
        let read = (0..2).filter(|channel| *channel == 0 || skipped != Some(run)).map(|channel| {
            let v = v0[channel] + h[channel][0] * really;
            let vibration = Vibration::from_components(v.re, v.im).unwrap();
            channels[channel].reading_of(vibration).with_standard_deviation(SIGMA).unwrap()
        });
        job.add_run(&on, &read.collect::<Vec<_>>()).unwrap();
    }
    (job.examine().unwrap(), items)
}

const RIGHT: [Complex64; 4] = [Complex64::ONE; 4];

#[test]
fn ounces_that_were_grams_are_found() {
    let mut factors = RIGHT;
    factors[1] /= 28.349_523_125;
    let (findings, items) = one_plane(Plane::new(), MassUnit::Ounce, factors, None);
    let found = Explanation::MassUnit { item: items[1], unit: MassUnit::Gram };
    assert_eq!(findings.ranked()[0].explanation, found);
    assert!(findings.ranked()[0].chi_squared < 1e-9);
}

#[test]
fn a_channel_that_was_not_read_in_a_run_is_left_out_and_nothing_else() {
    let (findings, items) = one_plane(Plane::new(), MassUnit::Gram, RIGHT, Some(2));
    assert_eq!(findings.verdict(), Verdict::NothingToAccuse);
    // 9 vectors, 2 unknowns in each of 2 channels.
    assert_eq!((findings.plain().parameters, findings.plain().degrees_of_freedom), (8, 10));
    let exchanged =
        |ranked: &&Ranked| matches!(ranked.explanation, Explanation::ChannelsExchanged { run: 2, .. });
    assert!(!findings.ranked().iter().any(|ranked| exchanged(&ranked)));
    let mut factors = RIGHT;
    factors[2] = -factors[2];
    let (findings, _) = one_plane(Plane::new(), MassUnit::Gram, factors, Some(2));
    assert_eq!(findings.ranked()[0].explanation, Explanation::WeightHalfTurn { item: items[2] });
}

#[test]
fn in_a_small_ring_each_other_hole_is_tried_once() {
    for (count, tried) in [(2, vec![1]), (3, vec![-1, 1])] {
        let ring = HoleCircle::new(count, RotorAngle::MARK, RotorSense::WithRotation).unwrap();
        let mut factors = RIGHT;
        let turn = 360.0 / f64::from(count);
        factors[3] = Complex64::from_polar(1.0, turn.to_radians());
        let (findings, items) = one_plane(Plane::new().with_holes(ring), MassUnit::Gram, factors, None);
        let mut holes: Vec<i8> = findings
            .ranked()
            .iter()
            .filter_map(|ranked| match ranked.explanation {
                Explanation::WeightOffByHoles { item, holes } if item == items[3] => Some(holes),
                _ => None,
            })
            .collect();
        holes.sort_unstable();
        assert_eq!(holes, tried);
        let right = Explanation::WeightOffByHoles { item: items[3], holes: 1 };
        let found = findings.ranked().iter().find(|ranked| ranked.explanation == right).unwrap();
        assert!(found.chi_squared < 1e-9, "{found:?}");
        assert!(findings.undistinguished().contains(found));
    }
}
