//! Instances with proven optima: the file `tests/vectors/placement.json` (the reference vectors), found by exhaustive
//! enumeration. Residuals are held to 2e-6, as the file says; holes, pieces and mass must be equal.

#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic)] // a file that cannot be read fails the test

use counterpoise::{
    Channel, Detector, Hardware, Hole, HoleRing, Influence, InfluenceMatrix, Mass, PhaseSense, PlacementNorm,
    PlacementQuestion, Radius, RotorSense, Speed, SpeedWindow, UnbalanceVector, Vibration, VibrationScale,
    VibrationUnit,
};
use serde_json::Value;

const STEPS: u64 = 2_000_000_000;

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

fn count(value: &Value) -> Option<u32> {
    value.as_u64().map(|count| u32::try_from(count).unwrap())
}

fn question(instance: &Value) -> PlacementQuestion {
    let hardware: Vec<Hardware> = instance["items"]
        .as_array()
        .unwrap()
        .iter()
        .map(|item| {
            let piece = Hardware::new("piece", Mass::from_grams(number(&item["mass_g"])).unwrap());
            match count(&item["stock"]) {
                Some(stock) => piece.in_stock(stock),
                None => piece,
            }
        })
        .collect();
    let two = instance["kind"] == "P2";
    let mut rings: Vec<HoleRing> = Vec::new();
    // One ring per hole keeps the file's numbering: ring i is hole i.
    for stated in instance["holes"].as_array().unwrap() {
        let place = RotorSense::WithRotation.degrees(number(&stated["angle_deg"])).unwrap();
        let mut hole = Hole::new(Radius::from_millimetres(number(&stated["radius_mm"])).unwrap(), place)
            .limit_mass(Mass::from_grams(number(&stated["max_mass_g"])).unwrap())
            .limit_pieces(count(&stated["max_items"]).unwrap());
        if let Some(existing) = stated["existing"].as_array() {
            let counts: Vec<u32> = existing.iter().map(|one| count(one).unwrap()).collect();
            hole = hole.mounted(&counts);
        }
        if stated["removable"] != true {
            hole = hole.fixed();
        }
        if stated["blocked"] == true {
            hole = hole.block();
        }
        let plane = count(&stated["plane"]).unwrap() as usize;
        rings.push(HoleRing::listed(vec![hole]).in_plane(plane));
    }
    let mut question = if two {
        let pair = |value: &Value| (number(&value[0]), number(&value[1]));
        let now = instance["v"].as_array().unwrap().iter().map(|value| {
            let (re, im) = pair(value);
            Vibration::from_components(re, im).unwrap()
        });
        let now: Vec<Vibration> = now.collect();
        let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
        let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0).unwrap(), 1.0).unwrap();
        let channels: Vec<Channel> = (0..now.len())
            .map(|sensor| Channel::new(u16::try_from(sensor).unwrap(), unit, PhaseSense::Lead, window))
            .collect();
        let coefficients: Vec<Influence> = instance["a"]
            .as_array()
            .unwrap()
            .iter()
            .flat_map(|row| row.as_array().unwrap())
            .map(|value| {
                let (re, im) = pair(value);
                Influence::from_components_per_gram_millimetre(re, im).unwrap()
            })
            .collect();
        // The file's weights multiply |r|; ours multiply |r|².
        let weights: Vec<f64> =
            instance["wt"].as_array().unwrap().iter().map(|w| number(w) * number(w)).collect();
        let influence = InfluenceMatrix::new(&channels, 2, &coefficients).unwrap();
        let question = PlacementQuestion::through(&rings, &hardware, &influence, &now).unwrap();
        question.channel_weights(&weights).unwrap()
    } else {
        let target = &instance["target_gmm"];
        let wanted =
            UnbalanceVector::from_components_gram_millimetres(number(&target[0]), number(&target[1]))
                .unwrap();
        PlacementQuestion::new(&rings, &hardware, &[wanted]).unwrap()
    };
    question = match instance["norm"].as_str().unwrap() {
        "l2" => question,
        "max" => question.norm(PlacementNorm::Worst),
        "linf" => question.norm(PlacementNorm::WorstComponent),
        other => panic!("norm {other}"),
    };
    if let Some(most) = count(&instance["max_holes"]) {
        let most = most as usize;
        question = if two {
            question.limit_holes_in_plane(0, most).unwrap().limit_holes_in_plane(1, most).unwrap()
        } else {
            question.limit_holes(most)
        };
    }
    if let Some(most) = count(&instance["max_items"]) {
        question = question.limit_pieces(most);
    }
    match instance["objective"].as_str().unwrap() {
        "fewest" => question.within(number(&instance["eps"])).unwrap(),
        _ => question,
    }
}

#[test]
fn every_instance_of_the_file_is_solved_and_proven() {
    let file: Value = serde_json::from_str(include_str!("vectors/placement.json")).unwrap();
    let instances = file["instances"].as_array().unwrap();
    assert_eq!(instances.len(), 21);
    let mut failed = Vec::new();
    for instance in instances {
        let name = instance["name"].as_str().unwrap();
        let begun = std::time::Instant::now();
        let answer = question(instance).solve(STEPS).unwrap();
        let best = answer.best();
        let optimum = &instance["optimum"];
        let residual = if instance["objective"] == "fewest" {
            best.residual() <= number(&instance["eps"])
        } else {
            (best.residual() - number(&optimum["residual"])).abs() <= 2e-6
        };
        let same = residual
            && answer.certificate().is_proven()
            && answer.certificate().lower_bound() <= best.residual()
            && best.changes().len() as u64 == optimum["holes"].as_u64().unwrap()
            && best.pieces() == optimum["items"].as_u64().unwrap()
            && (best.net_mass().grams() - number(&optimum["mass_g"])).abs() < 1e-9;
        println!(
            "{name}: {:?}, {} steps, {:?}",
            begun.elapsed(),
            answer.certificate().steps(),
            answer.certificate()
        );
        if !same {
            failed.push(format!(
                "{name}: {} holes {} pieces {} mass {}, expected {optimum}",
                best.residual(),
                best.changes().len(),
                best.pieces(),
                best.net_mass()
            ));
        }
    }
    assert!(failed.is_empty(), "{failed:#?}");
}

#[test]
fn the_front_of_residual_against_pieces_is_that_of_the_file() {
    let file: Value = serde_json::from_str(include_str!("vectors/placement.json")).unwrap();
    let mut compared = 0;
    for instance in file["instances"].as_array().unwrap() {
        let Some(front) = instance["pareto_residual_vs_items"].as_array() else { continue };
        let answers = question(instance).front(4, STEPS).unwrap();
        for (point, answer) in front.iter().zip(&answers) {
            assert!((answer.best().residual() - number(&point["residual"])).abs() <= 2e-6);
            assert_eq!(answer.best().changes().len() as u64, point["holes"].as_u64().unwrap());
            assert!(answer.certificate().is_proven());
            compared += 1;
        }
    }
    assert_eq!(compared, 5);
}
