//! The designed trial weight against simulated readings and every coefficient that is believed.
#![cfg(feature = "alloc")]
#![allow(clippy::unwrap_used, clippy::panic, clippy::disallowed_methods)]

mod support;

use counterpoise::{
    Channel, Covariance, Detector, Influence, InfluenceBelief, InfluenceMatrix, PhaseSense, Prior,
    RotorAngle, Speed, SpeedWindow, TrialChannel, TrialDesign, TrialOutcome, TrialWeight, UncertaintyError,
    Vibration, VibrationScale, VibrationUnit, thirty_thirty,
};
use num_complex::Complex64;
use support::drawn::Draws;

fn turn(part: f64) -> Complex64 {
    let (sine, cosine) = (part * core::f64::consts::TAU).sin_cos();
    Complex64::new(cosine, sine)
}

fn vibration(z: Complex64) -> Vibration {
    Vibration::from_components(z.re, z.im).unwrap()
}

fn weight(channels: &[TrialChannel], confidence: f64) -> TrialWeight {
    let design = TrialDesign::new(channels).unwrap().confidence(confidence).unwrap();
    match design.answer().unwrap() {
        TrialOutcome::Weight(weight) => weight,
        other => panic!("{other:?}"),
    }
}

#[test]
fn the_least_is_detected_as_often_as_stated() {
    let mut draws = Draws::new(41);
    let jobs = 200_000_u32;
    for confidence in [0.5, 0.8, 0.95, 0.99] {
        let mut seen = 0_u32;
        for _ in 0..jobs / 100 {
            let (noise, lowest) = (draws.between(0.01, 1.0), draws.between(1e-4, 1e-2));
            let belief = InfluenceBelief::between_per_gram_millimetre(lowest, 3.0 * lowest).unwrap();
            let as_found = draws.normals();
            let channel = TrialChannel::new(vibration(as_found), noise, 1e3, belief).unwrap();
            let least = weight(&[channel], confidence).least.gram_millimetres();
            for _ in 0..100 {
                let before = as_found + draws.normals() * noise;
                let after = as_found + draws.direction() * (lowest * least) + draws.normals() * noise;
                // 5.991 = -2 ln 0.05, the 95 % point of chi-squared with 2 degrees of freedom.
                seen += u32::from((after - before).norm_sqr() / (2.0 * noise * noise) > -2.0 * 0.05_f64.ln());
            }
        }
        let share = f64::from(seen) / f64::from(jobs);
        let error = (confidence * (1.0 - confidence) / f64::from(jobs)).sqrt();
        assert!((share - confidence).abs() < 4.0 * error, "{share} for {confidence}");
    }
}

#[test]
fn the_worst_case_reaches_the_limit_at_the_largest_and_not_before() {
    let mut draws = Draws::new(42);
    let (mut about_chosen, mut bounds_chosen) = (0, 0);
    for job in 0..2000 {
        let count = 1 + job % 3;
        let mut drawn = Vec::new();
        let mut channels = Vec::new();
        for _ in 0..count {
            let limit = draws.between(1.0, 10.0);
            let v = draws.direction() * draws.between(0.0, 0.98) * limit;
            let size = draws.between(1e-4, 1e-2);
            let known = draws.uniform() < 0.6;
            let (belief, centre, reach) = if known {
                let (h, fraction) = (draws.direction() * size, draws.between(0.0, 0.6));
                let influence = Influence::from_components_per_gram_millimetre(h.re, h.im).unwrap();
                let reach = fraction * size * (-2.0 * 0.05_f64.ln()).sqrt();
                (InfluenceBelief::about(influence, fraction).unwrap(), h, reach)
            } else {
                (
                    InfluenceBelief::between_per_gram_millimetre(0.3 * size, size).unwrap(),
                    Complex64::new(0.0, 0.0),
                    size,
                )
            };
            channels.push(TrialChannel::new(vibration(v), 1e-9, limit, belief).unwrap());
            drawn.push((v, centre, reach, limit));
        }
        let (largest, place) = match TrialDesign::new(&channels).unwrap().answer().unwrap() {
            TrialOutcome::Weight(weight) => (weight.largest.gram_millimetres(), weight.place),
            // The spread of every channel reaches zero: not detectable for sure, and no other reason.
            TrialOutcome::NoWeight { least, averaged, .. } => {
                assert!(least.is_none() && averaged.is_none());
                assert!(drawn.iter().all(|&(_, h, reach, _)| h.norm() > 0.0 && reach >= h.norm()));
                continue;
            }
            other => panic!("{other:?}"),
        };
        // The worst over a dense ring of coefficients, as a part of the limit.
        let worst = |amount: f64, place: Option<RotorAngle>| {
            let direction = place.map_or(0.0, |place| place.with_rotation().degrees() / 360.0);
            let u = turn(direction) * amount;
            let ring = |&(v, h, reach, limit): &(Complex64, Complex64, f64, f64)| {
                let at = |step: u16| (v + (h + turn(f64::from(step) / 2000.0) * reach) * u).norm() / limit;
                (0..2000).map(at).fold(0.0, f64::max)
            };
            drawn.iter().map(ring).fold(0.0, f64::max)
        };
        assert!(worst(largest, place) <= 1.0 + 1e-12, "{} {drawn:?}", worst(largest, place));
        // A ring of 2,000 misses the worst by less than 1.3e-6 of it.
        assert!(worst(largest * 1.001, place) > 1.0, "{} {drawn:?}", worst(largest * 1.001, place));
        match place {
            Some(_) => {
                about_chosen += 1;
                // No other place allows noticeably more.
                for step in 0..36 {
                    let other = RotorAngle::from_with_rotation(
                        counterpoise::Angle::from_degrees(f64::from(step) * 10.0).unwrap(),
                    );
                    assert!(worst(largest * 1.01, Some(other)) > 1.0, "{drawn:?} {step}");
                }
            }
            None => bounds_chosen += 1,
        }
    }
    assert!(about_chosen > 1000 && bounds_chosen > 200, "{about_chosen} {bounds_chosen}");
}

#[test]
fn as_many_readings_as_stated_are_enough_and_one_fewer_is_not() {
    let mut draws = Draws::new(43);
    let mut counted = 0;
    for _ in 0..1000 {
        let belief = InfluenceBelief::between_per_gram_millimetre(1e-3, 4e-3).unwrap();
        let noise = draws.between(0.05, 3.0);
        let v = vibration(Complex64::new(draws.between(4.0, 6.9), 0.0));
        let design = |noise: f64| {
            let channel = TrialChannel::new(v, noise, 7.0, belief).unwrap();
            TrialDesign::new(&[channel]).unwrap().answer().unwrap()
        };
        let TrialOutcome::NoWeight { averaged: Some(n), .. } = design(noise) else { continue };
        counted += 1;
        let with = |n: u32| matches!(design(noise / f64::from(n).sqrt()), TrialOutcome::Weight(_));
        assert!(with(n) && !with(n - 1), "{n}");
    }
    assert!(counted > 500, "{counted}");
}

#[test]
fn a_design_without_a_channel_is_refused() {
    let error = TrialDesign::new(&[]).unwrap_err();
    assert_eq!(error.to_string(), "wrong number of channels, one or more: expected 1, got 0");
}

#[test]
fn a_channel_above_its_limit_is_refused() {
    let belief = InfluenceBelief::between_per_gram_millimetre(1e-3, 4e-3).unwrap();
    let channel = TrialChannel::new(vibration(Complex64::new(7.5, 0.0)), 0.1, 7.0, belief).unwrap();
    let error = TrialDesign::new(&[channel]).unwrap_err();
    assert_eq!(error, UncertaintyError::AboveLimit { channel: 0, amplitude: 7.5, limit: 7.0 });
    assert_eq!(
        (error.code(), error.to_string().as_str()),
        (1208, "channel 0 vibrates at 7.5, above its limit of 7.0: no trial weight until that is settled")
    );
}

#[test]
fn thirty_percent_or_thirty_degrees() {
    let of = |a: f64, b: Complex64| thirty_thirty(vibration(Complex64::new(a, 0.0)), vibration(b));
    assert!(of(1.0, Complex64::new(1.31, 0.0)).met && !of(1.0, Complex64::new(1.29, 0.0)).met);
    assert!(of(1.0, Complex64::new(0.69, 0.0)).met && !of(1.0, Complex64::new(0.71, 0.0)).met);
    assert!(of(1.0, turn(31.0 / 360.0)).met && !of(1.0, turn(-29.0 / 360.0)).met);
    assert_eq!(of(0.0, Complex64::new(1.0, 0.0)).percent, f64::INFINITY);
}

#[test]
fn a_prior_gives_the_wider_axis_of_the_plane_asked_for() {
    let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0).unwrap(), 1.0).unwrap();
    let channel = Channel::new(1, unit, PhaseSense::Lead, window);
    let h = |re, im| Influence::from_components_per_gram_millimetre(re, im).unwrap();
    let matrix = InfluenceMatrix::new(&[channel], 2, &[h(2e-3, 0.0), h(3e-3, 4e-3)]).unwrap();
    let mut entries = [0.0; 16];
    for (place, variance) in [1e-8, 1e-8, 4e-8, 9e-8].into_iter().enumerate() {
        entries[5 * place] = variance;
    }
    let covariance = Covariance::from_entries(2, &entries).unwrap();
    let prior = Prior::with_covariances(matrix, vec![covariance]).unwrap();
    let belief = InfluenceBelief::from_prior(&prior, 0, 1).unwrap();
    let reach = 3e-4 * (-2.0 * 0.05_f64.ln()).sqrt();
    assert!((belief.highest_per_gram_millimetre() - (5e-3 + reach)).abs() < 1e-15);
    assert!((belief.lowest_per_gram_millimetre() - (5e-3 - reach)).abs() < 1e-15);
    assert_eq!(InfluenceBelief::from_prior(&prior, 1, 0).unwrap_err().code(), 1203);
}
