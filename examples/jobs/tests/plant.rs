//! The simulated machine of the examples of the jobs against closed forms, symmetries and the reference vectors.

// A test rounds as it likes.
#![allow(clippy::disallowed_methods, clippy::unwrap_used, clippy::indexing_slicing, clippy::panic)]

use counterpoise::job::{Fact, Pieces, Record};
use counterpoise::{Detector, Mass, Scatter, VibrationScale, VibrationUnit, Weight};
use counterpoise_jobs::advised::Advised;
use counterpoise_jobs::body::{Body, Four, Mount, Turns};
use counterpoise_jobs::draws::{Draws, size, turned};
use counterpoise_jobs::driver::{Driver, Stopped, play};
use counterpoise_jobs::hand::{self, ByHand};
use counterpoise_jobs::mistake::Mistake;
use counterpoise_jobs::policy::Policy;
use counterpoise_jobs::population::{Known, Population, Senses};
use counterpoise_jobs::rig::{Inexact, Rig};
use counterpoise_jobs::sensor::Sensor;
use num_complex::Complex64;

const J: Complex64 = Complex64::new(0.0, 1.0);

fn rad_per_s(rpm: f64) -> f64 {
    rpm * core::f64::consts::PI / 30.0
}

fn body(draws: &mut Draws) -> Body {
    let mut pair = |low, high| [draws.between(low, high), draws.between(low, high)];
    let mount = |station_m, draws: &mut dyn FnMut(f64, f64) -> [f64; 2]| Mount {
        station_m,
        stiffness_n_per_m: draws(1e5, 9e5),
        damping_n_s_per_m: draws(100.0, 900.0),
        tilt_stiffness_n_m_per_rad: draws(1e4, 9e4),
        tilt_damping_n_m_s_per_rad: draws(10.0, 90.0),
    };
    Body {
        mass_kg: 140.0,
        transverse_inertia_kg_m2: pair(10.0, 20.0),
        polar_inertia_kg_m2: 1.6,
        turns: Turns::FromYToZ,
        mounts: vec![mount(-0.4, &mut pair), mount(0.1, &mut pair)],
    }
}

fn close(got: Complex64, want: Complex64, relative: f64) -> bool {
    size(got - want) <= relative * size(want)
}

/// What a sensor shows of an unbalance in kg m.
fn shown(body: &Body, sensor: &Sensor, rpm: f64, station_m: f64, unbalance: Complex64) -> Complex64 {
    let spin = rad_per_s(rpm);
    let motion = body.motion(spin, spin, body.pull(spin, station_m, unbalance)).unwrap();
    sensor.shows(motion, spin)
}

fn inches_per_second(station_m: f64, direction_degrees: f64) -> Sensor {
    let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    Sensor { station_m, direction_degrees, along: true, unit }
}

#[test]
fn without_tilt_it_is_the_rotor_of_the_reference_vectors() {
    // The reference vectors, singleplane: 1p1s_jeffcott, all of them; the plants and the vibration they show are in the file.
    let text =
        std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/vectors/singleplane.json"));
    let file: serde_json::Value = serde_json::from_str(&text.unwrap()).unwrap();
    let mut kept = 0;
    for case in file["cases"].as_array().unwrap() {
        if case["group"] != "1p1s_jeffcott" {
            continue;
        }
        let number = |pointer: &str| case.pointer(pointer).unwrap().as_f64().unwrap();
        let (k, c) = (number("/inputs/plant/k_N_per_m"), number("/inputs/plant/c_Ns_per_m"));
        let mount = Mount { stiffness_n_per_m: [k; 2], damping_n_s_per_m: [c; 2], ..Mount::default() };
        let body = Body {
            mass_kg: number("/inputs/plant/m_kg"),
            transverse_inertia_kg_m2: [1.0; 2],
            polar_inertia_kg_m2: 0.0,
            turns: Turns::FromYToZ,
            mounts: vec![Mount { tilt_stiffness_n_m_per_rad: [1.0; 2], ..mount }],
        };
        let unit = match case["inputs"]["sensors"][0]["unit"].as_str().unwrap() {
            "in/s_pk" => VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak),
            "mil_pk-pk" => VibrationUnit::new(VibrationScale::Mil, Detector::PeakToPeak),
            other => panic!("{other} is new"),
        };
        let direction_degrees = number("/inputs/sensors/0/gamma_deg");
        let sensor = Sensor { station_m: 0.0, direction_degrees, along: true, unit };
        let rpm = number("/inputs/rpm/0");
        let tach = number("/inputs/plant/tach_angle_deg");
        let truth = case.pointer("/expected/plant_truth").unwrap();
        let complex = |value: &serde_json::Value| {
            Complex64::new(value["re"].as_f64().unwrap(), value["im"].as_f64().unwrap())
        };
        let unbalance = &truth["unbalance_all_plant_planes_g_mm_with_rotation"][0];
        let kg_m = Complex64::new(unbalance["g_mm"].as_f64().unwrap() * 1e-6, 0.0);
        let as_found =
            shown(&body, &sensor, rpm, 0.0, turned(kg_m, unbalance["deg"].as_f64().unwrap() + tach));
        // The file's numbers are right to the double.
        assert!(close(as_found, complex(&truth["as_found"][0]), 1e-12), "{}", case["id"]);
        // Per gram at the plane's radius.
        let gram = Complex64::new(number("/inputs/planes/0/radius_mm") * 1e-6, 0.0);
        let influence = shown(&body, &sensor, rpm, 0.0, turned(gram, tach));
        assert!(close(influence, complex(&truth["influence"][0][0]), 1e-12), "{}", case["id"]);
        kept += 1;
    }
    assert_eq!(kept, 4);
}

#[test]
fn with_the_same_mounts_all_round_it_moves_in_circles() {
    // Isotropic mounts: y = Y, z = ∓j Y, and two complex equations remain,
    // (k − mW² + jWc) Y + (sk + jWsc) Φ = F, (sk + jWsc) Y + (s²k + κ − (I − I_p) W² + jW s²c) Φ = a F:
    // a body that whirls with its speed resists a slope with I − I_p only (from memory; G. Genta, 2005).
    let mut draws = Draws::seeded(1);
    for turns in [Turns::FromYToZ, Turns::FromZToY] {
        for _ in 0..200 {
            let (m, inertia, polar) =
                (draws.between(50.0, 300.0), draws.between(5.0, 30.0), draws.between(0.2, 4.0));
            let (k, c, kappa) = (draws.between(1e5, 3e6), draws.between(10.0, 2e3), draws.between(0.0, 2e5));
            let (s, a, w) = (draws.between(-0.5, 0.5), draws.between(-0.8, 0.8), draws.between(20.0, 400.0));
            let u = draws.on_circle(1e-3);
            let body = Body {
                mass_kg: m,
                transverse_inertia_kg_m2: [inertia; 2],
                polar_inertia_kg_m2: polar,
                turns,
                mounts: vec![Mount {
                    station_m: s,
                    stiffness_n_per_m: [k; 2],
                    damping_n_s_per_m: [c; 2],
                    tilt_stiffness_n_m_per_rad: [kappa; 2],
                    tilt_damping_n_m_s_per_rad: [0.0; 2],
                }],
            };
            let force = u * (w * w);
            let across = Complex64::new(k, w * c);
            let (d11, d12) = (across - m * w * w, across * s);
            let d22 = across * (s * s) + (kappa - (inertia - polar) * w * w);
            let determinant = d11 * d22 - d12 * d12;
            let y = force * (d22 - d12 * a) / determinant;
            let phi = force * (d11 * a - d12) / determinant;
            let motion = body.motion(w, w, body.pull(w, a, u)).unwrap();
            let scale = size(y) + size(phi);
            for (got, want) in motion.iter().zip([y, -J * y * turns.sign(), phi, -J * phi * turns.sign()]) {
                assert!(size(got - want) <= 1e-11 * scale, "{motion:?}");
            }
        }
    }
}

/// The determinant, by cofactors of the first two columns: another way than the elimination under test.
fn determinant(d: Four<Four<Complex64>>) -> Complex64 {
    let minor = |rows: [usize; 2], columns: [usize; 2]| {
        d[rows[0]][columns[0]] * d[rows[1]][columns[1]] - d[rows[0]][columns[1]] * d[rows[1]][columns[0]]
    };
    let pairs = [([0, 1], [2, 3], 1.0), ([0, 2], [1, 3], -1.0), ([0, 3], [1, 2], 1.0)];
    let more = [([1, 2], [0, 3], 1.0), ([1, 3], [0, 2], -1.0), ([2, 3], [0, 1], 1.0)];
    pairs.iter().chain(&more).map(|&(top, rest, sign)| minor(top, [0, 1]) * minor(rest, [2, 3]) * sign).sum()
}

#[test]
fn the_tilt_modes_split_as_those_of_a_gyro_pendulum() {
    // I ω² ∓ I_p W ω − κ = 0: forward faster, backward slower than at rest (textbooks of gyroscopics; from memory).
    let (inertia, polar, kappa) = (12.0, 1.5, 8e4);
    for turns in [Turns::FromYToZ, Turns::FromZToY] {
        let body = Body {
            mass_kg: 100.0,
            transverse_inertia_kg_m2: [inertia; 2],
            polar_inertia_kg_m2: polar,
            turns,
            mounts: vec![Mount {
                stiffness_n_per_m: [1e7; 2],
                tilt_stiffness_n_m_per_rad: [kappa; 2],
                ..Mount::default()
            }],
        };
        for rpm in [600.0, 2400.0, 6000.0] {
            let spin = rad_per_s(rpm);
            let half = polar * spin / (2.0 * inertia);
            let root = (half * half + kappa / inertia).sqrt();
            let zero_near = |expected: f64| {
                let at = |frequency: f64| determinant(body.dynamic_stiffness(spin, frequency)).re;
                let (mut low, mut high) = (expected * 0.97, expected * 1.03);
                assert!(at(low) * at(high) < 0.0, "no mode near {expected}");
                for _ in 0..60 {
                    let middle = 0.5 * (low + high);
                    if at(low) * at(middle) <= 0.0 { high = middle } else { low = middle }
                }
                0.5 * (low + high)
            };
            for expected in [root + half, root - half] {
                assert!((zero_near(expected) - expected).abs() < 1e-9 * expected);
            }
            // The faster one is forward: at it, slopes that run round with the rotor need no moment.
            let d = body.dynamic_stiffness(spin, root + half);
            let forward = [Complex64::new(1.0, 0.0), -J * turns.sign()];
            let moment = d[2][2] * forward[0] + d[2][3] * forward[1];
            assert!(size(moment) < 1e-9 * kappa, "{moment}");
        }
    }
}

#[test]
fn force_and_sensor_may_change_places_where_nothing_turns() {
    // Maxwell and Betti; with a rotor that turns, places change only together with the sense of turning (from memory).
    let mut draws = Draws::seeded(2);
    let (mut apart, pairs) = (0, 300);
    for _ in 0..pairs {
        let turning = body(&mut draws);
        let still = Body { polar_inertia_kg_m2: 0.0, ..turning.clone() };
        let back = Body { turns: Turns::FromZToY, ..turning.clone() };
        let mut place = || (draws.between(-0.8, 0.8), 360.0 * draws.uniform());
        let (one, other, w) = (place(), place(), rad_per_s(2300.0));
        let unit = VibrationUnit::new(VibrationScale::Micrometre, Detector::Peak);
        let receptance = |body: &Body, from: (f64, f64), to: (f64, f64)| {
            let force = Complex64::new(1.0, 0.0);
            let (y, z) = (turned(force, from.1).re * force, turned(force, from.1).im * force);
            let motion = body.motion(w, w, [y, z, y * from.0, z * from.0]).unwrap();
            Sensor { station_m: to.0, direction_degrees: to.1, along: true, unit }.shows(motion, w)
        };
        assert!(close(receptance(&still, one, other), receptance(&still, other, one), 1e-9));
        assert!(close(receptance(&turning, one, other), receptance(&back, other, one), 1e-9));
        apart +=
            usize::from(!close(receptance(&turning, one, other), receptance(&turning, other, one), 1e-3));
    }
    assert!(apart > pairs / 2, "the rotor's turning shows in {apart} of {pairs}");
}

#[test]
fn a_machine_and_its_mirror_image_show_the_same() {
    // z → −z: the rotor turns the other way, a sensor at γ sits at −γ, and everything counted with rotation stays.
    let mut draws = Draws::seeded(3);
    let mut told_apart = 0;
    for _ in 0..100 {
        let body = body(&mut draws);
        let mirrored = Body { turns: Turns::FromZToY, ..body.clone() };
        let (station, direction) = (draws.between(-0.8, 0.8), draws.between(10.0, 80.0));
        let unbalance = draws.on_circle(1e-3);
        let here = shown(&body, &inches_per_second(station, direction), 2300.0, 0.6, unbalance);
        let there = shown(&mirrored, &inches_per_second(station, -direction), 2300.0, 0.6, unbalance);
        assert!(close(here, there, 1e-12));
        let same_place = shown(&mirrored, &inches_per_second(station, direction), 2300.0, 0.6, unbalance);
        told_apart += usize::from(!close(same_place, here, 0.01));
    }
    assert!(told_apart > 90, "only {told_apart} of 100 see which way the rotor turns");
}

#[test]
fn effects_add_up() {
    let mut draws = Draws::seeded(4);
    for _ in 0..100 {
        let body = body(&mut draws);
        let sensor = inches_per_second(0.4, 70.0);
        let (one, other) = (draws.on_circle(1e-3), draws.on_circle(2e-3));
        let show = |station, unbalance| shown(&body, &sensor, 2300.0, station, unbalance);
        let spin = rad_per_s(2300.0);
        let pulls = [body.pull(spin, 0.6, one), body.pull(spin, -0.3, other)];
        let both = core::array::from_fn(|at| pulls[0][at] + pulls[1][at]);
        let together = sensor.shows(body.motion(spin, spin, both).unwrap(), spin);
        let apart = show(0.6, one) + show(-0.3, other);
        assert!(close(together, apart, 1e-11));
        assert!(close(show(0.6, one * 3.0), show(0.6, one) * 3.0, 1e-12));
    }
}

#[test]
fn polarity_quantity_and_detector_are_what_they_say() {
    let mut draws = Draws::seeded(5);
    let body = body(&mut draws);
    let w = rad_per_s(2300.0);
    let show = |scale, detector, along| {
        let sensor =
            Sensor { along, unit: VibrationUnit::new(scale, detector), ..inches_per_second(0.4, 70.0) };
        shown(&body, &sensor, 2300.0, 0.6, Complex64::new(1e-3, 0.0))
    };
    let velocity = show(VibrationScale::MillimetrePerSecond, Detector::Peak, true);
    assert!(close(show(VibrationScale::MillimetrePerSecond, Detector::Peak, false), -velocity, 1e-15));
    assert!(close(
        show(VibrationScale::MillimetrePerSecond, Detector::Rms, true),
        velocity / 2.0_f64.sqrt(),
        1e-15
    ));
    // v = jW x, a = jW v; exact units
    let x = show(VibrationScale::Micrometre, Detector::PeakToPeak, true);
    assert!(close(x * J * w / 2000.0, velocity, 1e-14));
    let a = show(VibrationScale::StandardGravity, Detector::Peak, true);
    assert!(close(a * 9806.65, velocity * J * w, 1e-14));
}

/// Machines of every kind that the study draws.
fn rigs(planes: usize, seeds: core::ops::Range<u64>, mistakes: f64) -> Vec<(Rig, Known)> {
    let population = Population::new(planes).unwrap();
    let senses = |seed| if seed % 2 == 0 { Senses::Naive } else { Senses::Mirrored };
    seeds.map(|seed| population.drawn(seed, senses(seed), mistakes).unwrap()).collect()
}

fn exact(rig: &Rig) -> Rig {
    let mut rig = rig.clone();
    rig.make_exact();
    rig
}

fn trial(rig: &Rig, plane: usize, hole: usize, grams: f64) -> Fact {
    let ring = rig.machine.rings().iter().find(|ring| ring.plane() == plane).unwrap();
    let hole = &ring.holes()[hole];
    let mass = Mass::from_grams(grams).unwrap();
    Fact::WeightOn { plane, weight: Weight::new(mass, hole.radius(), hole.angle()) }
}

#[test]
fn without_noise_readings_are_stated_in_the_shops_senses() {
    // v0 + H u, by the library's own conversion of senses, against what the machine showed.
    for planes in [1, 2] {
        for (rig, _) in rigs(planes, 0..20, 0.0) {
            let mut rig = exact(&rig);
            let machine = rig.machine.clone();
            let as_found = rig.shown(&rig.reality.as_found.clone(), rig.reality.nominal_rpm);
            let fact = trial(&rig, planes - 1, 5, 8.0);
            let Fact::WeightOn { plane, weight } = fact else { panic!("a weight") };
            let unbalance = weight.unbalance().complex();
            let coefficients = rig.coefficients(plane);
            rig.carry_out(fact, 0);
            for reading in rig.run(1, 1) {
                let channel = &machine.channels()[reading.channel];
                let got =
                    channel.reading(reading.amplitude, reading.phase_degrees).unwrap().vibration().complex();
                let want = as_found[reading.channel] + coefficients[reading.channel] * unbalance;
                assert!(close(got, want, 1e-12), "{got} {want}");
            }
        }
    }
}

#[test]
fn readings_scatter_as_is_said() {
    let (rig, _) = rigs(1, 0..1, 0.0).remove(0);
    let mut rig = exact(&rig);
    let truth = rig.truth()[0];
    rig.reality.inexact = Inexact { reading: 0.01, drift: 0.02, drift_share: 0.05, ..Inexact::NOTHING };
    let (starts, repeats) = (4000, 3);
    let (mut within, mut of_means) = (0.0, 0.0);
    let channel = rig.machine.channels()[0];
    let expected = rig.shown(&rig.reality.as_found.clone(), rig.reality.nominal_rpm)[0];
    for _ in 0..starts {
        let read: Vec<Complex64> = rig
            .run(repeats, 0)
            .iter()
            .map(|one| channel.reading(one.amplitude, one.phase_degrees).unwrap().vibration().complex())
            .collect();
        let mean = read.iter().sum::<Complex64>() / f64::from(repeats);
        within += read.iter().map(|one| (one - mean).norm_sqr()).sum::<f64>();
        of_means += (mean - expected).norm_sqr();
    }
    // Per component: σ², and σ²/n + d² + (b|v|)²; 8000 components tell a variance to 5 % (3 standard deviations).
    let within = within / (2.0 * f64::from(starts) * f64::from(repeats - 1));
    let of_means = of_means / (2.0 * f64::from(starts));
    let wanted = 1e-4 / f64::from(repeats) + 4e-4 + (0.05 * truth).powi(2);
    assert!((within / 1e-4 - 1.0).abs() < 0.05, "{within}");
    assert!((of_means / wanted - 1.0).abs() < 0.05, "{of_means} {wanted}");
}

#[test]
fn the_same_seed_gives_the_same_bits() {
    for planes in [1, 2] {
        let population = Population::new(planes).unwrap();
        let mut outcomes = Vec::new();
        for seed in 0..30 {
            let play_once = || {
                let (mut rig, known) = population.drawn(seed, Senses::Naive, 0.5).unwrap();
                let mut record = Record::new(rig.machine.clone());
                let outcome = play(&mut rig, &mut record, &mut Policy::new(&known), &mut |_| ()).unwrap();
                (record, outcome)
            };
            let (one, other) = (play_once(), play_once());
            assert_eq!(one, other);
            // The record alone gives the state again.
            let entries = one.0.entries().to_vec();
            assert_eq!(Record::with_entries(one.0.machine().clone(), entries).unwrap(), one.0);
            outcomes.push(one.1);
        }
        outcomes.dedup_by(|one, other| one == other);
        assert_eq!(outcomes.len(), 30, "every seed is another job");
    }
}

/// Each kind of mistake, made in a job without noise.
fn mistakes(planes: usize) -> Vec<Mistake> {
    let mut all = vec![
        Mistake::MirroredHole { mounting: 0 },
        Mistake::MirroredHole { mounting: planes },
        Mistake::OtherHole { mounting: 0, holes: 2 },
        Mistake::OtherHole { mounting: planes, holes: -1 },
        Mistake::LeftOn { removal: 0 },
        Mistake::OuncesForGrams { trial: 0 },
        Mistake::MarkMoved { run: 1, degrees: 40.0 },
        Mistake::DetectorSlip { run: 1 },
        Mistake::PhaseMiswritten { run: 1, channel: 0, degrees: 77.0 },
    ];
    if planes == 2 {
        all.push(Mistake::CablesExchanged { run: 1 });
    }
    all
}

/// A job of trials and a correction; the record as it was written.
fn job_with(rig: &mut Rig, planes: usize) -> Record {
    let mut record = Record::new(rig.machine.clone());
    let run = |rig: &mut Rig, record: &mut Record| {
        let readings = rig.run(1, record.entries().len());
        let known = Scatter::known(1e-6).unwrap();
        let readings: Vec<_> = readings.into_iter().map(|one| one.with_scatter(known)).collect();
        record.add(Fact::run("run", &readings)).unwrap();
    };
    let act = |rig: &mut Rig, record: &mut Record, fact: Fact| {
        let entry = record.entries().len();
        for fact in rig.carry_out(fact, entry) {
            record.add(fact).unwrap();
        }
        entry
    };
    run(rig, &mut record);
    for plane in 0..planes {
        let fact = trial(rig, plane, 5, 6.0);
        let on = act(rig, &mut record, fact);
        run(rig, &mut record);
        act(rig, &mut record, Fact::WeightOff { on });
    }
    for (number, (hole, item)) in [(4, 3), (9, 2), (15, 3), (20, 2)].into_iter().enumerate() {
        let pieces = vec![Pieces { item, count: 2 }];
        act(rig, &mut record, Fact::PutOn { ring: number % planes, hole, pieces });
        run(rig, &mut record);
    }
    record
}

#[test]
fn every_mistake_spoils_the_record_and_is_put_right_by_looking() {
    for planes in [1, 2] {
        for (rig, _) in rigs(planes, 0..4, 0.0) {
            let rig = exact(&rig);
            for mistake in mistakes(planes) {
                let mut rig = rig.clone();
                rig.mistake = Some(mistake);
                let mut record = job_with(&mut rig, planes);
                let misfit = |record: &Record| {
                    let state = record.state();
                    state.examination(record.machine()).unwrap().examine().unwrap().plain().chi_squared
                };
                let before = misfit(&record);
                // The machine is exact, and its drift is stated all the same.
                assert!(before > 30.0, "{mistake:?} leaves no trace: {before}");
                let findings = record.state().examination(record.machine()).unwrap().examine().unwrap();
                let looked = findings.ranked().iter().map(|one| one.explanation).find_map(|explanation| {
                    let amendments = rig.look(&explanation, &record);
                    (!amendments.is_empty()).then_some(amendments)
                });
                for fact in looked.expect("some explanation leads there") {
                    record.add(fact).unwrap();
                }
                // Readings are rounded to nothing, weights exact: what is left is rounding against 1e-6.
                let after = misfit(&record);
                assert!(after < 1e-6, "{mistake:?} is not put right: {after}");
                assert!(rig.look(&findings.ranked()[0].explanation, &record).is_empty(), "it is found once");
            }
        }
    }
}

#[test]
fn pieces_in_another_hole_than_said_are_seen_when_they_come_off() {
    let (rig, _) = rigs(1, 0..1, 0.0).remove(0);
    let mut rig = exact(&rig);
    rig.mistake = Some(Mistake::OtherHole { mounting: 0, holes: 3 });
    let before = rig.truth();
    let pieces = vec![Pieces { item: 4, count: 1 }];
    let mut record = Record::new(rig.machine.clone());
    for fact in [
        Fact::PutOn { ring: 0, hole: 22, pieces: pieces.clone() },
        Fact::TakenOff { ring: 0, hole: 22, pieces },
    ] {
        for written in rig.carry_out(fact, record.entries().len()) {
            record.add(written).unwrap();
        }
    }
    // 22 + 3 is hole 1 of 24.
    assert!(matches!(record.entries()[1].fact(), Fact::Amend { entry: 0, .. }));
    assert!(matches!(record.entries()[2].fact(), Fact::TakenOff { hole: 1, .. }));
    assert_eq!(rig.truth(), before);
    assert_eq!(rig.hardware_on(), (0, 0.0));
}

#[test]
fn by_hand_is_right_in_naive_senses_and_wrong_in_the_others() {
    let population = Population::new(1).unwrap();
    let mut left = [Vec::new(), Vec::new()];
    for (senses, left) in [Senses::Naive, Senses::Mirrored].into_iter().zip(&mut left) {
        for seed in 0..60 {
            let (rig, known) = population.drawn(seed, senses, 0.0).unwrap();
            let outcome = ByHand::new(&mut exact(&rig)).play(&known).unwrap();
            left.push(outcome.left / outcome.found);
        }
        left.sort_by(f64::total_cmp);
    }
    // Half a pitch of 15 degrees off leaves 13 %, half the smallest washer little more.
    assert!(left[0][50] < 0.16, "{:?}", left[0]);
    assert!(left[1][10] > 0.16, "{:?}", left[1]);
}

#[test]
fn the_hand_formulae_are_those_of_the_library() {
    // One and two planes in closed form, in a pair of senses for which polar arithmetic holds.
    let mut draws = Draws::seeded(6);
    for _ in 0..200 {
        let mut complex = || draws.on_circle(1.0) * (0.2 + draws.uniform());
        let (h, v) = ([complex(), complex(), complex(), complex()], [complex(), complex()]);
        let one = hand::correction(&[vec![h[0]]], &v[..1]).unwrap();
        assert!(size(h[0] * one[0] + v[0]) < 1e-12);
        let two = hand::correction(&[h[..2].to_vec(), h[2..].to_vec()], &v).unwrap();
        let scale = size(two[0]) + size(two[1]);
        for (row, v) in [&h[..2], &h[2..]].iter().zip(v) {
            assert!(size(row[0] * two[0] + row[1] * two[1] + v) < 1e-11 * (1.0 + scale));
        }
    }
    assert!(hand::correction(&[vec![Complex64::new(0.0, 0.0)]], &[Complex64::new(1.0, 0.0)]).is_none());
}

#[test]
fn washers_are_taken_largest_first() {
    // Counted by hand: XL 10, L 5.2, M 2.5, S 1.2, XS 0.6 g; at most 4 pieces and 9 mm.
    assert_eq!(hand::nearest_washers(17.9), [0, 0, 1, 1, 1]);
    assert_eq!(hand::nearest_washers(0.29), [0; 5]);
    assert_eq!(hand::nearest_washers(0.31), [1, 0, 0, 0, 0]);
    assert_eq!(hand::nearest_washers(100.0), [0, 0, 0, 0, 3]);
    assert_eq!(hand::nearest_washers(9.9), [1, 1, 1, 1, 0]);
}

#[test]
fn advice_and_policy_bring_every_machine_without_a_mistake_within_the_limit() {
    for planes in [1, 2] {
        for (rig, known) in rigs(planes, 0..12, 0.0) {
            let mut ended = Vec::new();
            let drivers: [&mut dyn Driver; 2] = [&mut Advised::new(), &mut Policy::new(&known)];
            for driver in drivers {
                let mut rig = rig.clone();
                let mut record = Record::new(rig.machine.clone());
                let outcome = play(&mut rig, &mut record, driver, &mut |_| ()).unwrap();
                // Whatever the record says is on is on, up to the scatter of masses and places.
                let said: Vec<Complex64> = record.state().mounted().iter().map(|one| one.complex()).collect();
                let unbalance: Vec<_> = rig.reality.planes_m.iter().copied().zip(said).collect();
                let all: Vec<_> = rig.reality.as_found.iter().copied().chain(unbalance).collect();
                let expected = rig.shown(&all, rig.reality.nominal_rpm).into_iter().map(size);
                assert!(rig.truth().iter().zip(expected).all(|(got, want)| (got - want).abs() < 0.02));
                ended.push((outcome.stopped, outcome.left <= known.limit));
            }
            assert_eq!(ended, [(Stopped::WithinLimit, true); 2], "{planes} planes");
        }
    }
}
