//! Turning, mirroring and scaling a job. The printed numbers are made here, without the library's conversions.

use counterpoise::{
    Channel, Convention, CorrectionQuestion, Detector, Estimator, Mass, PhaseSense, Radius, RotorSense, Run,
    Speed, SpeedWindow, Unbalance, UnbalanceUnit, UnbalanceVector, VibrationScale, VibrationUnit,
};
use num_complex::Complex64;
use proptest::prelude::*;

use super::machines::{degrees, machine_and_trials, sized};
use crate::support::{
    self, MM_S, Plant, cases, channel_in, complex, distance, length, modulus, polar, run_of, unbalance,
    vibration, vibrations,
};

/// An amount and an angle as a person reads them.
type Printed = (f64, f64);

/// What is on the rotor in each plane, and what each point reads, as printed.
#[derive(Debug, Clone)]
struct PrintedRun {
    mounted: Vec<Printed>,
    read: Vec<Printed>,
}

fn conventions() -> impl Strategy<Value = Convention> {
    (any::<bool>(), any::<bool>()).prop_map(|(lag, against)| Convention {
        phase: if lag { PhaseSense::Lag } else { PhaseSense::Lead },
        rotor: if against { RotorSense::AgainstRotation } else { RotorSense::WithRotation },
    })
}

/// +1 where the printed angle grows with the canonical argument, −1 where it falls.
fn phase_sign(convention: Convention) -> f64 {
    if convention.phase == PhaseSense::Lead { 1.0 } else { -1.0 }
}

fn place_sign(convention: Convention) -> f64 {
    if convention.rotor == RotorSense::WithRotation { 1.0 } else { -1.0 }
}

fn mirrored(convention: Convention) -> Convention {
    let phase = if convention.phase == PhaseSense::Lag { PhaseSense::Lead } else { PhaseSense::Lag };
    Convention { phase, rotor: convention.rotor.reversed() }
}

fn printed(z: Complex64, sign: f64) -> Printed {
    (modulus(z), sign * support::degrees(z))
}

fn printed_job(plant: &Plant, trials: &[Complex64], convention: Convention) -> Vec<PrintedRun> {
    let print = |(mounted, read): (Vec<Complex64>, Vec<Complex64>)| PrintedRun {
        mounted: mounted.iter().map(|&u| printed(u, place_sign(convention))).collect(),
        read: read.iter().map(|&v| printed(v, phase_sign(convention))).collect(),
    };
    plant.runs(trials).into_iter().map(print).collect()
}

/// What to add to the rotor as it was in the first run, from printed numbers, in the way a user of the library goes.
fn corrected(runs: &[PrintedRun], convention: Convention) -> Vec<UnbalanceVector> {
    let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0).unwrap(), 1.0).unwrap();
    let channels: Vec<Channel> = (1..)
        .zip(&runs[0].read)
        .map(|(sensor, _)| Channel::new(sensor, MM_S, convention.phase, window))
        .collect();
    let mut estimator = Estimator::with_relative_weights(&channels, runs[0].mounted.len()).unwrap();
    for run in runs {
        let mut of = Run::new("run");
        for (plane, &(amount, degrees)) in run.mounted.iter().enumerate() {
            let mass = Mass::from_grams(amount).unwrap();
            let radius = Radius::from_millimetres(1.0).unwrap();
            of = of.mounted(plane, convention.weight(mass, radius, degrees).unwrap());
        }
        for (channel, &(amplitude, degrees)) in channels.iter().zip(&run.read) {
            of = of.reading(channel.reading(amplitude, degrees).unwrap());
        }
        estimator.add(of).unwrap();
    }
    let fit = estimator.fit().unwrap();
    let now = estimator.runs()[0].readings().to_vec();
    CorrectionQuestion::from_readings(fit.influence(), &now).unwrap().solve().unwrap().added().to_vec()
}

/// The answer as printed: an amount and an angle for each plane.
fn answered(runs: &[PrintedRun], convention: Convention) -> Vec<Printed> {
    let print = |&vector: &UnbalanceVector| {
        let printed = convention.polar_unbalance(vector);
        let (amount, place) = (printed.amount, printed.place);
        (amount.gram_millimetres(), place.degrees())
    };
    corrected(runs, convention).iter().map(print).collect()
}

/// Both lists of printed vectors, compared as vectors.
fn same(got: &[Printed], want: &[Printed]) -> Result<(), TestCaseError> {
    let vectors =
        |list: &[Printed]| list.iter().map(|&(size, degrees)| polar(size, degrees)).collect::<Vec<_>>();
    close(&vectors(got), &vectors(want))
}

fn close(got: &[Complex64], want: &[Complex64]) -> Result<(), TestCaseError> {
    let (off, size) = (distance(got, want), length(want));
    prop_assert!(off <= 1e-11 * size, "{got:?} is not {want:?}");
    Ok(())
}

fn turned(runs: &[PrintedRun], places: f64, phases: impl Fn(usize) -> f64) -> Vec<PrintedRun> {
    let turn = |run: &PrintedRun| PrintedRun {
        mounted: run.mounted.iter().map(|&(amount, degrees)| (amount, degrees + places)).collect(),
        read: run.read.iter().enumerate().map(|(k, &(a, degrees))| (a, degrees + phases(k))).collect(),
    };
    runs.iter().map(turn).collect()
}

proptest! {
    #![proptest_config(cases(200))]

    /// The mark set ahead by δ, with rotation: it passes its pickup earlier by δ. Every lag grows by δ, every lead falls;
    /// places counted from it fall with rotation and grow against it. So does the answer.
    #[test]
    fn turning_the_mark_turns_the_answer(
        (plant, trials) in machine_and_trials(), convention in conventions(), ahead in degrees(),
    ) {
        let runs = printed_job(&plant, &trials, convention);
        let (of_places, of_phases) = (-place_sign(convention) * ahead, -phase_sign(convention) * ahead);
        let moved = turned(&runs, of_places, |_| of_phases);
        let turn = |&(amount, degrees): &Printed| (amount, degrees + of_places);
        let want: Vec<Printed> = answered(&runs, convention).iter().map(turn).collect();
        same(&answered(&moved, convention), &want)?;
    }

    /// A sensor set elsewhere round a machine that is equally stiff in all directions turns all its phases alike.
    #[test]
    fn turning_the_sensors_changes_nothing(
        (plant, trials) in machine_and_trials(), convention in conventions(), by in degrees(),
    ) {
        let runs = printed_job(&plant, &trials, convention);
        let moved = turned(&runs, 0.0, |k| if k % 2 == 0 { by } else { 2.5 * by });
        same(&answered(&moved, convention), &answered(&runs, convention))?;
    }

    /// With all unbalance turned on the rotor, that as found and the trial weights alike, the answer turns, too; with the
    /// trial weights alone turned, it stays.
    #[test]
    fn turning_all_weights_turns_the_answer(
        (plant, trials) in machine_and_trials(), convention in conventions(), by in degrees(),
    ) {
        // As found, the planes carry what an unbalance of the planes themselves would show.
        let unbalance: Vec<Complex64> = trials.iter().map(|trial| trial * 1.7).collect();
        let rotor = |turn: Complex64| {
            let bare = Plant { as_found: vec![Complex64::default(); plant.points()], ..plant.clone() };
            let heavy: Vec<Complex64> = unbalance.iter().map(|u| u * turn).collect();
            Plant { as_found: bare.read(&heavy), ..bare }
        };
        let still = rotor(polar(1.0, 0.0));
        let turned_trials: Vec<Complex64> = trials.iter().map(|trial| trial * polar(1.0, by)).collect();
        let answer = answered(&printed_job(&still, &trials, convention), convention);
        // The weights that balance are the opposite of the unbalance.
        let opposite: Vec<Printed> = unbalance.iter().map(|&u| printed(-u, place_sign(convention))).collect();
        same(&answer, &opposite)?;

        let all_turned = printed_job(&rotor(polar(1.0, by)), &turned_trials, convention);
        let turn = |&(amount, degrees): &Printed| (amount, degrees + place_sign(convention) * by);
        same(&answered(&all_turned, convention), &answer.iter().map(turn).collect::<Vec<_>>())?;

        let trials_turned = printed_job(&still, &turned_trials, convention);
        same(&answered(&trials_turned, convention), &answer)?;
    }

    /// What is entered comes back as it was printed, in whatever sense.
    #[test]
    fn printed_numbers_come_back(z in sized(1..=20_000), convention in conventions()) {
        let (amount, angle) = (modulus(z), support::degrees(z));
        let printed = convention.polar_vibration(convention.vibration(amount, angle).unwrap());
        let (amplitude, phase) = (printed.amplitude, printed.phase);
        same(&[(amplitude, phase.degrees())], &[(amount, angle)])?;
        let mass = Mass::from_grams(amount).unwrap();
        let weight = convention.weight(mass, Radius::from_millimetres(1.0).unwrap(), angle).unwrap();
        let printed = convention.polar_unbalance(weight.unbalance());
        let (unbalance, place) = (printed.amount, printed.place);
        same(&[(unbalance.gram_millimetres(), place.degrees())], &[(amount, angle)])?;
        // Canonical: X = A exp(+j lead) = A exp(-j lag), U = m r exp(+jβ) with rotation.
        let canonical = |sign: f64| polar(amount, sign * angle);
        let read = convention.vibration(amount, angle).unwrap().complex();
        close(&[read], &[canonical(phase_sign(convention))])?;
        close(&[weight.unbalance().complex()], &[canonical(place_sign(convention))])?;
    }

    /// One machine, written down in all four pairs of senses, gets its weights in the same holes.
    #[test]
    fn the_pair_of_senses_changes_nothing_on_the_rotor((plant, trials) in machine_and_trials()) {
        let mut first: Option<Vec<Complex64>> = None;
        for phase in [PhaseSense::Lag, PhaseSense::Lead] {
            for rotor in [RotorSense::WithRotation, RotorSense::AgainstRotation] {
                let convention = Convention { phase, rotor };
                let runs = printed_job(&plant, &trials, convention);
                let answer = complex(&corrected(&runs, convention));
                match &first {
                    None => first = Some(answer),
                    Some(first) => close(&answer, first)?,
                }
            }
        }
    }

    /// With both senses mirrored the same printed job has the same printed answer; with both senses and all printed angles
    /// mirrored it is the same job.
    #[test]
    fn mirroring_both_senses_changes_nothing(
        (plant, trials) in machine_and_trials(), convention in conventions(),
    ) {
        let runs = printed_job(&plant, &trials, convention);
        let answer = answered(&runs, convention);
        same(&answered(&runs, mirrored(convention)), &answer)?;

        let mirror = |list: &[Printed]| list.iter().map(|&(size, degrees)| (size, -degrees)).collect();
        let image: Vec<PrintedRun> = runs
            .iter()
            .map(|run| PrintedRun { mounted: mirror(&run.mounted), read: mirror(&run.read) })
            .collect();
        close(
            &complex(&corrected(&image, mirrored(convention))),
            &complex(&corrected(&runs, convention)),
        )?;
    }

    /// With one sense alone mirrored, it is another job: the answer of one plane is mirrored about the trial weight.
    #[test]
    fn mirroring_one_sense_mirrors_the_answer(
        own in sized(2000..=5000), as_found in sized(1000..=20_000), trial in sized(500..=4000),
        convention in conventions(),
    ) {
        let plant = Plant { as_found: vec![as_found], influence: vec![vec![own]] };
        let runs = printed_job(&plant, &[trial], convention);
        let (_, trial_degrees) = runs[1].mounted[0];
        let wrong = Convention { rotor: convention.rotor.reversed(), ..convention };
        let (amount, degrees) = answered(&runs, convention)[0];
        same(&answered(&runs, wrong), &[(amount, 2.0 * trial_degrees - degrees)])?;
    }

    /// Readings, weights and unbalance in other units or larger: the weights follow.
    #[test]
    fn scaling_readings_and_weights_scales_the_answer(
        (plant, trials) in machine_and_trials(), louder in 1..=1000_u32, heavier in 1..=1000_u32,
    ) {
        let (louder, heavier) = (f64::from(louder) / 37.0, f64::from(heavier) / 53.0);
        let added = |runs: &[(Vec<Complex64>, Vec<Complex64>)]| {
            let channels = support::channels(plant.points());
            let fit = support::estimator(&channels, plant.planes(), runs).fit().unwrap();
            let now = vibrations(&runs[0].1);
            complex(CorrectionQuestion::new(fit.influence(), &now).unwrap().solve().unwrap().added())
        };
        let runs = plant.runs(&trials);
        let times = |list: &[Complex64], factor: f64| list.iter().map(|z| z * factor).collect::<Vec<_>>();
        let scaled: Vec<_> = runs.iter().map(|(u, v)| (times(u, heavier), times(v, louder))).collect();
        close(&added(&scaled), &times(&added(&runs), heavier))?;
    }

    /// The same readings in any unit, and the same weights in any unit, give the same weights.
    #[test]
    fn units_change_nothing((plant, trials) in machine_and_trials()) {
        let speed = Speed::from_rpm(2400.0).unwrap();
        let solved = |unit: VibrationUnit, mass: UnbalanceUnit| {
            let channels: Vec<Channel> = (1..).take(plant.points()).map(|sensor| channel_in(sensor, unit)).collect();
            let mut estimator = Estimator::with_relative_weights(&channels, plant.planes()).unwrap();
            for (mounted, read) in plant.runs(&trials) {
                let readings: Vec<_> = channels
                    .iter()
                    .zip(&read)
                    .map(|(channel, &v)| channel.reading_of(MM_S.convert(vibration(v), unit, speed)))
                    .collect();
                // Entered in the other unit of unbalance, through its number.
                let entered: Vec<Complex64> = mounted
                    .iter()
                    .map(|&u| {
                        let amount = Unbalance::from_gram_millimetres(modulus(u)).unwrap().value_in(mass);
                        let place = unbalance(u).angle();
                        UnbalanceVector::from_polar(Unbalance::new(amount, mass).unwrap(), place).complex()
                    })
                    .collect();
                estimator.add(run_of(&entered, &readings)).unwrap();
            }
            let fit = estimator.fit().unwrap();
            let question = CorrectionQuestion::from_readings(fit.influence(), estimator.runs()[0].readings());
            complex(question.unwrap().solve().unwrap().added())
        };
        let plain = solved(MM_S, UnbalanceUnit::GramMillimetre);
        for &scale in VibrationScale::ALL {
            for &detector in Detector::ALL {
                close(&solved(VibrationUnit::new(scale, detector), UnbalanceUnit::GramMillimetre), &plain)?;
            }
        }
        for &unit in UnbalanceUnit::ALL {
            close(&solved(MM_S, unit), &plain)?;
        }
    }

    /// Corrections of two vibrations add up to that of their sum.
    #[test]
    fn corrections_superpose(
        (plant, others) in (1..=3_usize, 0..=4_usize).prop_flat_map(|(planes, more)| {
            (super::machines::machine(planes + more, planes), proptest::collection::vec(sized(1..=9000), planes + more))
        }),
    ) {
        let matrix = plant.matrix();
        let added = |now: &[Complex64]| {
            complex(CorrectionQuestion::new(&matrix, &vibrations(now)).unwrap().solve().unwrap().added())
        };
        let sum: Vec<Complex64> = plant.as_found.iter().zip(&others).map(|(a, b)| a + b).collect();
        let (first, second) = (added(&plant.as_found), added(&others));
        let of_parts: Vec<Complex64> = first.iter().zip(&second).map(|(a, b)| a + b).collect();
        // The parts may nearly cancel: what counts is their own size.
        prop_assert!(distance(&added(&sum), &of_parts) <= 1e-12 * (length(&first) + length(&second)));
    }
}
