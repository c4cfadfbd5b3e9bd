//! Questions for a correction.

use counterpoise::{
    Caution, CorrectionQuestion, Influence, InfluenceMatrix, OnePlane, TwoPlanes, Unbalance, UnbalanceVector,
    Vibration,
};
use num_complex::Complex64;

use super::refused;
use crate::support::{channel, channels, influence, unbalance, vibration};

fn c(re: f64, im: f64) -> Complex64 {
    Complex64::new(re, im)
}

fn matrix(points: usize, planes: usize, coefficients: &[Complex64]) -> InfluenceMatrix {
    let coefficients: Vec<Influence> = coefficients.iter().copied().map(influence).collect();
    InfluenceMatrix::new(&channels(points), planes, &coefficients).unwrap()
}

#[test]
fn counts() {
    let matrix = matrix(2, 1, &[c(1.0, 0.0), c(2.0, 0.0)]);
    let now = [vibration(c(1.0, 0.0)); 2];
    refused(
        CorrectionQuestion::new(&matrix, &now[..1]),
        401,
        "wrong number of vibrations, one per channel: expected 2, got 1",
    );
    refused(
        CorrectionQuestion::new(&matrix, &[]),
        401,
        "wrong number of vibrations, one per channel: expected 2, got 0",
    );
    refused(
        CorrectionQuestion::from_readings(&matrix, &[]),
        401,
        "wrong number of readings, one per channel: expected 2, got 0",
    );
    let question = CorrectionQuestion::new(&matrix, &now).unwrap();
    refused(
        question.clone().mounted_now(&[]),
        401,
        "wrong number of unbalances mounted now, one per plane: expected 1, got 0",
    );
    let weights = "wrong number of channel weights, one per channel: expected 2, got 3";
    refused(question.clone().channel_weights(&[1.0; 3]).solve(), 401, weights);
    refused(matrix.condition_number(&[1.0; 3]), 401, weights);
    refused(matrix.singular_values(&[1.0; 3]), 401, weights);
    refused(
        matrix.effect_of(&[]),
        401,
        "wrong number of unbalance vectors, one per plane: expected 1, got 0",
    );
    let reading = |sensor| channel(sensor).reading(1.0, 0.0).unwrap();
    refused(
        CorrectionQuestion::from_readings(&matrix, &[reading(1), reading(5)]),
        402,
        "reading 1 is of sensor 5, but the coefficients there are those of sensor 2 at its own speed and unit: give one \
         reading per channel, in the order of the channels",
    );
    refused(
        CorrectionQuestion::from_readings(&matrix, &[reading(2), reading(1)]),
        402,
        "reading 0 is of sensor 2, but the coefficients there are those of sensor 1 at its own speed and unit: give one \
         reading per channel, in the order of the channels",
    );
}

#[test]
fn channel_weights() {
    let matrix = matrix(2, 1, &[c(1.0, 0.0), c(2.0, 0.0)]);
    let question = CorrectionQuestion::new(&matrix, &[vibration(c(1.0, 0.0)); 2]).unwrap();
    for (weights, channel, value) in [
        ([f64::NAN, 1.0], 0, "NaN"),
        ([1.0, -0.5], 1, "-0.5"),
        ([1.0, f64::INFINITY], 1, "inf"),
        ([1e101, 1.0], 0, "1e101"),
    ] {
        let text = format!("the weight of channel {channel} must be zero or more and finite, got {value}");
        refused(question.clone().channel_weights(&weights).solve(), 403, &text);
        refused(matrix.condition_number(&weights), 403, &text);
    }
    let none = "all channels have weight zero: give at least one a weight";
    refused(question.clone().channel_weights(&[0.0, 0.0]).solve(), 405, none);
    refused(matrix.singular_values(&[0.0, 0.0]), 405, none);
    // A channel of weight zero does not count; the prediction for it stands all the same.
    let answer = question.channel_weights(&[0.0, 4.0]).solve().unwrap();
    assert!((answer.added()[0].complex() - c(-0.5, 0.0)).re.abs() < 1e-15);
    assert!((answer.predicted()[0].amplitude() - 0.5).abs() < 1e-15);
    assert!(answer.objective_value() < 1e-15);
}

#[test]
fn numbers_that_are_not_finite() {
    let matrix = matrix(2, 1, &[c(1.0, 0.0), c(2.0, 0.0)]);
    let beyond = vibration(c(1e100, 0.0)) * f64::MAX;
    refused(
        CorrectionQuestion::new(&matrix, &[Vibration::ZERO, beyond]),
        406,
        "the vibration of channel 1 is not finite: check where the numbers come from",
    );
    let question = CorrectionQuestion::new(&matrix, &[vibration(c(1.0, 0.0)); 2]).unwrap();
    refused(
        question.mounted_now(&[unbalance(c(0.0, -1e100)) * f64::MAX]),
        407,
        "the unbalance in plane 0 is not finite: check where the numbers come from",
    );
    let tiny = self::matrix(1, 1, &[c(1e-300, 0.0)]);
    refused(
        CorrectionQuestion::new(&tiny, &[vibration(c(1e100, 0.0))]).unwrap().solve(),
        412,
        "the result is beyond the range of numbers: check the units of readings and coefficients",
    );
}

/// A channel of weight zero, which nothing holds back: its components are finite, its amplitude is not.
#[test]
fn an_amplitude_beyond_the_range_of_doubles() {
    let matrix = matrix(2, 1, &[c(1e100, 1e100), c(0.6e-108, 0.0)]);
    let now = [Vibration::ZERO, vibration(c(1e100, 0.0))];
    refused(
        CorrectionQuestion::new(&matrix, &now).unwrap().channel_weights(&[0.0, 1.0]).solve(),
        412,
        "the result is beyond the range of numbers: check the units of readings and coefficients",
    );
}

#[test]
fn limits() {
    let matrix = matrix(2, 1, &[c(1.0, 0.0), c(2.0, 0.0)]);
    let question = CorrectionQuestion::new(&matrix, &[vibration(c(1.0, 0.0)); 2]).unwrap();
    let limit = |g_mm| Unbalance::from_gram_millimetres(g_mm).unwrap();
    let text = "a limit is set for plane 1, but there are 1 planes, counted from 0";
    refused(question.clone().limit_added(1, limit(5.0)).solve(), 408, text);
    refused(question.clone().limit_total(1, limit(5.0)).solve(), 408, text);
    refused(
        question.limit_total(0, limit(-5.0)).solve(),
        409,
        "the limit of plane 0 must not be negative, got -5.0 g mm",
    );
}

#[test]
fn planes_that_cannot_be_told_apart() {
    let text = |planes: &str, rank: usize, of: usize| {
        format!(
            "at these measuring points planes {planes} have no effect of their own (rank {rank} of {of}): correct in fewer \
             planes, or add a measuring point or a speed"
        )
    };
    let solved = |matrix: &InfluenceMatrix| {
        let now = vec![vibration(c(1.0, 0.5)); matrix.channels().len()];
        CorrectionQuestion::new(matrix, &now).unwrap().solve()
    };
    // Fewer points than planes; proportional planes; a plane without effect; nothing at all.
    refused(solved(&matrix(1, 2, &[c(1.0, 0.0), c(2.0, 0.0)])), 410, &text("[0, 1]", 1, 2));
    let proportional = [c(1.0, 0.0), c(0.0, 2.0), c(3.0, 0.0), c(0.0, 6.0)];
    refused(solved(&matrix(2, 2, &proportional)), 410, &text("[0, 1]", 1, 2));
    let (zero, one) = (c(0.0, 0.0), c(1.0, 0.0));
    refused(solved(&matrix(2, 2, &[one, zero, c(0.5, 0.5), zero])), 410, &text("[1]", 1, 2));
    refused(solved(&matrix(1, 1, &[zero])), 410, &text("[0]", 0, 1));
    assert_eq!(matrix(1, 2, &[c(1.0, 0.0), c(2.0, 0.0)]).condition_number(&[]), Ok(f64::INFINITY));
    assert_eq!(matrix(1, 1, &[zero]).condition_number(&[]), Ok(f64::INFINITY));

    // Nearly so is an answer with a caution that says how near, and which combination is hardly seen.
    let nearly = [c(1.0, 0.0), c(0.0, 2.0), c(3.0, 0.0), c(1e-6, 6.0)];
    let answer = solved(&matrix(2, 2, &nearly)).unwrap();
    let caution = answer.cautions().iter().find(|caution| caution.code() == 1001).unwrap();
    let Caution::IllConditionedPlanes { condition_number, combination } = caution else {
        panic!("{caution}")
    };
    assert!((1e6..1e8).contains(condition_number));
    let effect = matrix(2, 2, &nearly).effect_of(combination).unwrap();
    assert!(effect.iter().all(|v| v.amplitude() < 1e-5));
}

#[test]
fn closed_forms() {
    let none = "the influence coefficient is zero: this plane does nothing at this measuring point";
    let beyond = "the result is beyond the range of numbers: check the units of readings and coefficients";
    refused(OnePlane::from_influence(Influence::ZERO), 404, none);
    refused(OnePlane::from_influence(influence(c(1e100, 0.0)) * f64::MAX), 412, beyond);
    let rows = |a, b, c_, d| [[influence(a), influence(b)], [influence(c_), influence(d)]];
    let mut overflowing = rows(c(1.0, 0.0), c(0.0, 0.0), c(0.0, 0.0), c(1.0, 0.0));
    overflowing[1][0] = influence(c(1e100, 0.0)) * f64::MAX;
    refused(TwoPlanes::from_influence(overflowing), 412, beyond);
    let now = [vibration(c(1.0, 0.0)); 2];
    let proportional = "the two planes act in proportion at the two measuring points, so they cannot be told apart: correct in one \
         plane, or measure elsewhere";
    for rows in [
        rows(c(1.0, 0.0), c(0.0, 2.0), c(3.0, 0.0), c(0.0, 6.0)),
        rows(c(1.0, 0.0), c(0.0, 0.0), c(3.0, 0.0), c(0.0, 0.0)),
        [[Influence::ZERO; 2]; 2],
    ] {
        let planes = TwoPlanes::from_influence(rows).unwrap();
        refused(planes.correction(now), 411, proportional);
        assert_eq!(planes.condition_number(), f64::INFINITY);
    }
    let tiny =
        TwoPlanes::from_influence(rows(c(1e-300, 0.0), c(0.0, 0.0), c(0.0, 0.0), c(1.0, 0.0))).unwrap();
    refused(tiny.correction([vibration(c(1e100, 0.0)), Vibration::ZERO]), 412, beyond);
}

/// Nothing to correct: nothing to add.
#[test]
fn no_vibration() {
    let matrix = matrix(2, 1, &[c(1.0, 0.0), c(2.0, 0.0)]);
    let answer = CorrectionQuestion::new(&matrix, &[Vibration::ZERO; 2]).unwrap().solve().unwrap();
    assert_eq!(
        (answer.added(), answer.predicted()),
        (&[UnbalanceVector::ZERO][..], &[Vibration::ZERO; 2][..])
    );
    assert_eq!((answer.objective_value(), answer.certificate().lower_bound()), (0.0, 0.0));
    let plane = OnePlane::from_influence(influence(c(1.0, 1.0))).unwrap();
    assert_eq!(plane.correction(Vibration::ZERO), Ok(UnbalanceVector::ZERO));
}
