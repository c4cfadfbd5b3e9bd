//! Measured runs: readings taken back to back say too little of the next visit; one drift term for all states mends most of it,
//! and one in proportion to what is read the rest.
//!
//! The rotor kit under `examples/data/rotor_kit` was read in 27 states, each at a visit of its own with up to three readings
//! back to back. A model fitted to some visits predicts what the four probes show at another, whose weights are known; the
//! region stated for that holds the visit's mean or not. To ask so is to ask whether the weights that were on lie in the
//! region of weights that the runs do not rule out.
//!
//! The visits that estimate scatter, drift and coefficients, and the visits that are judged, are kept apart in two ways, by
//! rules that look at no reading:
//!
//! 1. by what was on: bare, or on one disk, estimates; on both disks, and the second bare visit, is judged;
//! 2. each visit is judged by all the others.
//!
//! The four probes of a visit drift together, so only the visits of one probe count as independent of each other.
#![cfg(feature = "alloc")]
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)]

use counterpoise::{
    Caution, Channel, CorrectionQuestion, Detector, Estimator, InfluenceFit, PhaseSense, ProportionalDrift,
    Repeats, RotorSense, Run, Scatter, Speed, SpeedWindow, Unbalance, UnbalanceVector, Uncertainty,
    Vibration, VibrationScale, VibrationUnit,
};
use num_complex::Complex64;

const PROBES: usize = 4;

/// What was on the disks, and what each probe read, once per repeat.
struct Visit {
    name: String,
    disks: [UnbalanceVector; 2],
    readings: [Vec<Vibration>; PROBES],
}

impl Visit {
    fn repeats(&self, probe: usize) -> Repeats {
        Repeats::of(&self.readings[probe]).unwrap()
    }

    /// The repeats, brought to the bare rotor with fitted coefficients: all visits become visits of one state.
    fn repeats_of_bare_rotor(&self, probe: usize, fit: &InfluenceFit) -> Repeats {
        let effect = fit.influence().effect_of(&self.disks).unwrap()[probe];
        let bare: Vec<Vibration> = self.readings[probe].iter().map(|&reading| reading - effect).collect();
        Repeats::of(&bare).unwrap()
    }

    fn loads_both_disks(&self) -> bool {
        self.disks.iter().all(|&disk| disk != UnbalanceVector::ZERO)
    }
}

fn visits() -> Vec<Visit> {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/data/rotor_kit/runs.csv");
    let mut visits: Vec<Visit> = Vec::new();
    for row in csv::Reader::from_path(path).unwrap().deserialize() {
        let (name, _speed, _repeat, _rpm, disks, probes): (String, String, u32, f64, [f64; 4], [f64; 8]) =
            row.unwrap();
        if visits.last().is_none_or(|visit| visit.name != name) {
            let disk = |amount, degrees| {
                let place = RotorSense::WithRotation.degrees(degrees).unwrap();
                UnbalanceVector::from_polar(Unbalance::from_gram_millimetres(amount).unwrap(), place)
            };
            let disks = [disk(disks[0], disks[1]), disk(disks[2], disks[3])];
            visits.push(Visit { name, disks, readings: Default::default() });
        }
        for (readings, pair) in visits.last_mut().unwrap().readings.iter_mut().zip(probes.chunks(2)) {
            readings.push(Vibration::from_components(pair[0], pair[1]).unwrap());
        }
    }
    assert_eq!(visits.len(), 27);
    visits
}

fn channels() -> Vec<Channel> {
    let unit = VibrationUnit::new(VibrationScale::Mil, Detector::Peak);
    let rpm = |rpm| Speed::from_rpm(rpm).unwrap();
    let window = SpeedWindow::between(rpm(995.0), rpm(1005.0), rpm(1015.0)).unwrap();
    (1..=4).map(|probe| Channel::new(probe, unit, PhaseSense::Lead, window)).collect()
}

/// The scatter of the mean of so many readings at one visit.
type OfMean<'a> = &'a dyn Fn(usize, u32) -> Scatter;

fn fit(visits: &[&Visit], of_mean: OfMean<'_>) -> InfluenceFit {
    let channels = channels();
    let mut estimator = Estimator::with_known_variances(&channels, 2).unwrap();
    for visit in visits {
        let [first, second] = visit.disks;
        let mut run = Run::new(&visit.name).mounted(0, first).mounted(1, second);
        for (probe, channel) in channels.iter().enumerate() {
            let repeats = visit.repeats(probe);
            let reading = channel.reading_of(repeats.mean());
            run = run.reading(reading.with_scatter(of_mean(probe, repeats.count())));
        }
        estimator.add(run).unwrap();
    }
    estimator.fit().unwrap()
}

/// What is known of scatter, probe by probe, from the visits that estimate.
struct Known {
    back_to_back: Vec<Scatter>,
    drift: Vec<Scatter>,
}

impl Known {
    /// Repeats from all these visits; drift from those of them that are named so.
    fn from(visits: &[&Visit], calibration: &[&Visit], drifting: &[&Visit]) -> Self {
        let pooled = |probe| {
            let all: Vec<Repeats> = visits.iter().map(|visit| visit.repeats(probe)).collect();
            Repeats::pooled(&all).unwrap()
        };
        let back_to_back: Vec<Scatter> = (0..PROBES).map(pooled).collect();
        let fit = fit(calibration, &|probe, count| back_to_back[probe].of_mean(count));
        let drift_of = |probe| {
            let bare: Vec<Repeats> =
                drifting.iter().map(|visit| visit.repeats_of_bare_rotor(probe, &fit)).collect();
            Repeats::drift(&bare).unwrap()
        };
        Self { drift: (0..PROBES).map(drift_of).collect(), back_to_back }
    }

    fn without_drift(&self) -> impl Fn(usize, u32) -> Scatter {
        |probe, count| self.back_to_back[probe].of_mean(count)
    }

    fn with_drift(&self) -> impl Fn(usize, u32) -> Scatter {
        |probe, count| self.back_to_back[probe].of_mean(count).plus(&self.drift[probe])
    }
}

/// Per probe, whether the 95 % region for the mean of a visit, from a fit to others, holds it.
fn holds(calibration: &[&Visit], visit: &Visit, of_mean: OfMean<'_>) -> [bool; PROBES] {
    let uncertainty = Uncertainty::of(&fit(calibration, of_mean)).unwrap();
    let expected = uncertainty.vibration_with(&visit.disks).unwrap();
    core::array::from_fn(|probe| {
        let repeats = visit.repeats(probe);
        // What is not known of the model, and what the visit's own mean scatters.
        let [[a, c], [_, b]] = expected[probe].covariance();
        let of_model =
            Scatter::from_covariance([[a, c], [c, b]], expected[probe].degrees_of_freedom()).unwrap();
        let scatter = of_model.plus(&of_mean(probe, repeats.count()));
        let z: Complex64 = (repeats.mean() - expected[probe].value()).complex();
        // zᵀ C⁻¹ z
        let [[a, c], [_, b]] = scatter.covariance();
        let squared = (b * z.re * z.re - 2.0 * c * z.re * z.im + a * z.im * z.im) / (a * b - c * c);
        squared <= scatter.degrees_of_freedom().squared_factor(2, 0.95)
    })
}

fn add(counts: &mut [usize; PROBES], held: [bool; PROBES]) {
    for (count, held) in counts.iter_mut().zip(held) {
        *count += usize::from(held);
    }
}

/// The least count out of so many trials of chance 0.95 that is not in the lowest 2.5 % of counts.
fn least_in_band(trials: u32) -> usize {
    let (chance, mut below, mut misses) = (0.95_f64, 1.0, 0_u32);
    let mut term = (0..trials).fold(1.0, |product, _| product * chance);
    loop {
        // P(more misses than this) = 1 − Σ C(n, k) 0.05ᵏ 0.95ⁿ⁻ᵏ
        below -= term;
        if below < 0.025 {
            return usize::try_from(trials - misses).unwrap();
        }
        term *= f64::from(trials - misses) / f64::from(misses + 1) * (1.0 - chance) / chance;
        misses += 1;
    }
}

/// First rule. The coefficients are the authors' calibration (bare, 48 g mm on either disk), the drift comes from the eleven
/// other visits with one disk loaded. It mends most, and is still too small: seven of the eight regions that miss belong to
/// three visits, one (A024) with twice the unbalance of any that estimated the drift, and two (B031, A027) that were taken
/// two to three days later. A drift that is estimated from near visits says little of far ones.
#[test]
fn drift_between_near_visits_mends_most_of_what_back_to_back_repeats_miss() {
    let visits = visits();
    let (judged, estimating): (Vec<&Visit>, Vec<&Visit>) =
        visits.iter().partition(|visit| visit.loads_both_disks() || visit.name == "BLND06");
    let (calibration, drifting): (Vec<&Visit>, Vec<&Visit>) =
        estimating.iter().partition(|visit| ["BASE", "A007", "A015"].contains(&visit.name.as_str()));
    assert_eq!((calibration.len(), drifting.len(), judged.len()), (3, 11, 13));
    let known = Known::from(&estimating, &calibration, &drifting);

    // From one visit to the next the mean scatters 4 to 11 times as much as single readings back to back.
    for (drift, back_to_back) in known.drift.iter().zip(&known.back_to_back) {
        let ratio = libm::sqrt(drift.variance() / back_to_back.variance());
        assert!((4.0..12.0).contains(&ratio), "{ratio}");
    }

    let (mut without, mut with) = ([0; PROBES], [0; PROBES]);
    let mut missed = Vec::new();
    for visit in &judged {
        add(&mut without, holds(&calibration, visit, &known.without_drift()));
        let held = holds(&calibration, visit, &known.with_drift());
        missed.extend(held.iter().filter(|held| !**held).map(|_| visit.name.as_str()));
        add(&mut with, held);
    }
    // 1 of 52 where 95 % were promised, and 44 of 52, or 85 %.
    assert_eq!(without, [0, 0, 0, 1]);
    assert_eq!(with, [10, 12, 11, 11]);
    assert_eq!(missed, ["A024", "A024", "BLND02", "B031", "B031", "A027", "A027", "A027"]);
    // One probe in four is one visit short of the band.
    assert_eq!(least_in_band(13), 11);
}

/// Second rule. With every other visit behind them, near and far, light and heavy, the regions hold of each probe as many
/// visits as 95 % may by chance. All four counts lie in the lower half of that band, 88 % together: drift grows with the load
/// and with the days, and one variance for all is too small for the few visits that went furthest. (The visits that show the
/// drift have fitted the coefficients too, which makes it some 4 % smaller than it is.)
#[test]
fn drift_between_all_other_visits_holds_as_many_of_the_next_as_chance_allows() {
    let visits = visits();
    let (mut without, mut with) = ([0; PROBES], [0; PROBES]);
    for visit in &visits {
        let others: Vec<&Visit> = visits.iter().filter(|other| other.name != visit.name).collect();
        let known = Known::from(&others, &others, &others);
        add(&mut without, holds(&others, visit, &known.without_drift()));
        add(&mut with, holds(&others, visit, &known.with_drift()));
    }
    // 4 of 108, and 95 of 108; were the probes independent, the band would begin at 98.
    assert_eq!((without, with), ([0, 2, 0, 2], [24, 25, 23, 23]));
    let least = least_in_band(27);
    assert_eq!((least, least_in_band(108)), (23, 98));
    assert!(with.iter().all(|&held| held >= least));
}

/// How each visit scatters, probe by probe: the mean of its repeats, and a drift in proportion to what is expected there.
struct Proportional {
    back_to_back: Scatter,
    drift: ProportionalDrift,
    fit: InfluenceFit,
}

impl Proportional {
    /// From visits: a fit that knows no drift yet, the share of it that is left, and a fit that knows it; of one probe.
    fn of(visits: &[&Visit], probe: usize) -> Self {
        let repeats: Vec<Repeats> = visits.iter().map(|visit| visit.repeats(probe)).collect();
        let back_to_back = Repeats::pooled(&repeats).unwrap();
        let channel = channels()[probe];
        let fitted = |scatter: &dyn Fn(usize) -> Scatter| {
            let mut estimator = Estimator::with_known_variances(&[channel], 2).unwrap();
            for (at, visit) in visits.iter().enumerate() {
                let [first, second] = visit.disks;
                let run = Run::new(&visit.name).mounted(0, first).mounted(1, second);
                let reading = channel.reading_of(repeats[at].mean());
                estimator.add(run.reading(reading.with_scatter(scatter(at)))).unwrap();
            }
            estimator.fit().unwrap()
        };
        let expected = |fit: &InfluenceFit| -> Vec<Vibration> {
            visits.iter().map(|visit| fit.vibration_with(&visit.disks).unwrap()[0]).collect()
        };
        let mut fit = fitted(&|_| Scatter::known(0.01).unwrap());
        let mut drift = ProportionalDrift::of(&repeats, &expected(&fit), 3).unwrap();
        // Once more with what the first says: the share changes by some percent, and then no more.
        for _ in 0..2 {
            let at = expected(&fit);
            fit = fitted(&|visit| {
                let of_mean = back_to_back.of_mean(repeats[visit].count());
                of_mean.plus(&drift.scatter_of(at[visit]).unwrap())
            });
            drift = ProportionalDrift::of(&repeats, &expected(&fit), 3).unwrap();
        }
        Self { back_to_back, drift, fit }
    }

    fn holds(&self, visit: &Visit, probe: usize) -> bool {
        let expected = Uncertainty::of(&self.fit).unwrap().vibration_with(&visit.disks).unwrap()[0];
        let [[a, c], [_, b]] = expected.covariance();
        let of_model = Scatter::from_covariance([[a, c], [c, b]], expected.degrees_of_freedom()).unwrap();
        let repeats = visit.repeats(probe);
        let of_visit = self.drift.scatter_of(expected.value()).unwrap();
        let scatter = of_model.plus(&of_visit).plus(&self.back_to_back.of_mean(repeats.count()));
        let z: Complex64 = (repeats.mean() - expected.value()).complex();
        let [[a, c], [_, b]] = scatter.covariance();
        let squared = (b * z.re * z.re - 2.0 * c * z.re * z.im + a * z.im * z.im) / (a * b - c * c);
        squared <= scatter.degrees_of_freedom().squared_factor(2, 0.95)
    }
}

/// Second rule again, with a drift that is a share of what is read in place of one for all states: 100 of 108 regions hold,
/// 92.6 %, each probe and all together inside the band of 95 %. The share is 3 to 4 % at three probes and 14 % at the first, which
/// reads least. What still misses lies mostly in the two visits days later.
#[test]
fn a_drift_in_proportion_to_what_is_read_holds_what_95_percent_promises() {
    let visits = visits();
    let mut held = [0; PROBES];
    let mut missed = Vec::new();
    let mut shares = [0.0; PROBES];
    for visit in &visits {
        let others: Vec<&Visit> = visits.iter().filter(|other| other.name != visit.name).collect();
        for probe in 0..PROBES {
            let known = Proportional::of(&others, probe);
            shares[probe] += known.drift.share() / 27.0;
            let holds = known.holds(visit, probe);
            held[probe] += usize::from(holds);
            if !holds {
                missed.push((visit.name.as_str(), probe));
            }
        }
    }
    assert_eq!(held, [25, 26, 24, 25]);
    assert!(held.iter().all(|&held| held >= least_in_band(27)));
    assert!(held.iter().sum::<usize>() >= least_in_band(108));
    let later = [("B031", 0), ("A027", 0), ("A027", 2), ("A027", 3)];
    assert!(missed.len() == 8 && later.iter().all(|miss| missed.contains(miss)), "{missed:?}");
    for (share, about) in shares.iter().zip([0.143, 0.026, 0.028, 0.034]) {
        assert!((share - about).abs() < 0.005, "{shares:?}");
    }
}

/// At 1005 rpm, below the first critical speed, the disks act nearly alike: their sum is seen, their difference is not. The
/// correction says so, and its covariance is long where it says.
#[test]
fn the_combination_that_is_hardly_seen_is_named() {
    let visits = visits();
    let calibration: Vec<&Visit> =
        visits.iter().filter(|visit| ["BASE", "A007", "A015"].contains(&visit.name.as_str())).collect();
    let others: Vec<&Visit> =
        visits.iter().filter(|visit| !visit.loads_both_disks() && visit.name != "BLND06").collect();
    let drifting: Vec<&Visit> = others
        .iter()
        .copied()
        .filter(|visit| calibration.iter().all(|other| other.name != visit.name))
        .collect();
    let known = Known::from(&others, &calibration, &drifting);
    let fit = fit(&calibration, &known.with_drift());

    let advice = CorrectionQuestion::new(fit.influence(), &fit.as_found()).unwrap().solve().unwrap();
    let [Caution::IllConditionedPlanes { condition_number, combination }] = advice.cautions() else {
        panic!("{:?}", advice.cautions())
    };
    // The authors publish 16.99, with weights that are equal.
    assert!((condition_number - 16.99).abs() < 0.01, "{condition_number}");
    let [first, second] = [0, 1].map(|disk| combination[disk].complex());
    // Opposed, and of about one size.
    let [one, other] = [0, 1].map(|disk| combination[disk].angle().with_rotation());
    let turn = one.separation_degrees(other);
    let share = first.norm_sqr() / (first.norm_sqr() + second.norm_sqr());
    assert!(turn > 170.0, "{turn}");
    assert!((0.4..0.6).contains(&share), "{share}");

    // dᵀ C d for a unit vector d over both disks, and for the same a quarter turn on.
    let correction = Uncertainty::of(&fit).unwrap().correction(&[]).unwrap();
    let variance_along = |vector: [Complex64; 2]| -> f64 {
        let quarters = [Complex64::new(1.0, 0.0), Complex64::new(0.0, 1.0)];
        quarters
            .iter()
            .map(|quarter| {
                let d: Vec<f64> = vector.iter().flat_map(|z| [(z * quarter).re, (z * quarter).im]).collect();
                let entry = |i, j| correction.covariance().get(i, j).unwrap();
                (0..4)
                    .flat_map(|i| (0..4).map(move |j| (i, j)))
                    .map(|(i, j)| d[i] * entry(i, j) * d[j])
                    .sum::<f64>()
            })
            .sum()
    };
    // What is seen best is at a right angle to what is seen least.
    let (least_seen, best_seen) =
        (variance_along([first, second]), variance_along([second.conj(), -first.conj()]));
    let ratio = libm::sqrt(least_seen / best_seen);
    assert!((20.0..23.0).contains(&ratio), "{ratio}");
}

/// The runs of two disks, told from the calibration runs with one disk at 0 deg, which read the same in either sense.
#[test]
fn the_other_sense_of_the_angles_costs_six_times_the_error() {
    let visits = visits();
    let named = |name: &str| visits.iter().find(|visit| visit.name == name).unwrap();
    let calibration = ["BASE", "A007", "A015"].map(named);
    let fit = fit(&calibration, &|_, count| Scatter::known(0.01).unwrap().of_mean(count));
    let as_found = fit.as_found();
    let conjugate = |u: UnbalanceVector| {
        UnbalanceVector::from_components_gram_millimetres(u.x_gram_millimetres(), -u.y_gram_millimetres())
            .unwrap()
    };
    let [mut right, mut wrong] = [0.0; 2];
    let judged = ["BLND01", "BLND02", "BLND03", "BLND04", "BLND05"].map(named);
    for visit in judged {
        let change: Vec<Vibration> =
            (0..PROBES).map(|probe| visit.repeats(probe).mean() - as_found[probe]).collect();
        let undo = CorrectionQuestion::new(fit.influence(), &change).unwrap().solve().unwrap();
        for (added, on) in undo.added().iter().zip(visit.disks) {
            right += (-*added - on).amount().gram_millimetres() / 10.0;
            wrong += (-*added - conjugate(on)).amount().gram_millimetres() / 10.0;
        }
    }
    // In the sense stated and in the other: 4.8 and 29.8 g mm, from memory.
    assert!((right - 4.8).abs() < 0.05 && (wrong - 29.8).abs() < 0.05, "{right} {wrong}");
}
