//! What a placement is asked about comes back from its JSON text bit for bit; bad text is refused with its place; answers
//! are written, with units in the names, and hold what the answer holds.
#![cfg(feature = "json")]
#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "a test fails by panicking")]

use core::fmt::Debug;

use counterpoise::{
    ContinuousQuestion, Hardware, Hole, HoleChange, HoleCircle, HoleMass, HoleRing, Length, Mass,
    PlacementNorm, PlacementProof, PlacementQuestion, Radius, RotorAngle, RotorSense, ToleranceReason,
    UnbalanceVector, json,
};
use serde::{Serialize, de::DeserializeOwned};
use serde_json::{Value, json};

/// Reproducible numbers: the generator of Steele, Lea and Flood, "Fast splittable pseudorandom number generators",
/// OOPSLA 2014 (constants from memory).
struct Dice(u64);

impl Dice {
    fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }
    fn small(&mut self) -> u32 {
        u32::try_from(self.bits() % 7).unwrap()
    }
    fn coin(&mut self) -> bool {
        self.bits() % 2 == 0
    }
    /// Any mantissa, and sizes from 2⁻¹⁶ to 2¹⁶: most are not short decimals.
    fn positive(&mut self) -> f64 {
        let exponent = 1023 - 16 + self.bits() % 32;
        f64::from_bits((exponent << 52) | (self.bits() >> 12))
    }
    fn mass(&mut self) -> Mass {
        let sign = if self.coin() { 1.0 } else { -1.0 };
        Mass::from_grams(sign * self.positive()).unwrap()
    }
    fn hardware(&mut self) -> Hardware {
        let name = ["M6 washer", "\"quoted\" \\ name", "Müller 8,4 mm", ""][self.small() as usize % 4];
        let piece = Hardware::new(name, self.mass());
        let piece = if self.coin() {
            piece.with_thickness(Length::from_millimetres(self.positive()).unwrap())
        } else {
            piece
        };
        if self.coin() { piece.in_stock(u32::try_from(self.bits() >> 32).unwrap()) } else { piece }
    }
    fn hole(&mut self) -> Hole {
        let place = RotorSense::WithRotation.degrees(self.positive()).unwrap();
        let mut hole = Hole::new(Radius::from_millimetres(self.positive()).unwrap(), place);
        if self.coin() {
            hole = hole.limit_mass(Mass::from_grams(self.positive()).unwrap());
        }
        if self.coin() {
            hole = hole.limit_pieces(self.small());
        }
        if self.coin() {
            hole = hole.limit_height(Length::from_millimetres(self.positive()).unwrap());
        }
        if self.coin() {
            hole = hole.keep_pieces(self.small()).mounted(&[self.small(), self.small()]);
        }
        if self.coin() {
            hole = hole.block();
        }
        if self.coin() {
            hole = hole.fixed();
        }
        if self.coin() { hole.symmetric() } else { hole }
    }
}

/// The value comes back equal; and, as its text does too, with the same bits: shortest decimals tell all doubles apart.
#[track_caller]
fn comes_back<T: Serialize + DeserializeOwned + PartialEq + Debug>(value: &T) {
    let text = json::to_text(value).unwrap();
    let back: T = json::from_text(&text).unwrap();
    assert_eq!(&back, value, "{text}");
    assert_eq!(json::to_text(&back).unwrap(), text);
}

#[test]
fn the_vocabulary_comes_back_bit_for_bit() {
    let mut dice = Dice(21_940);
    for _ in 0..2_000 {
        let piece = dice.hardware();
        comes_back(&piece);
        let back: Hardware = json::from_text(&json::to_text(&piece).unwrap()).unwrap();
        assert_eq!(back.mass().grams().to_bits(), piece.mass().grams().to_bits());
        assert_eq!(back.thickness().millimetres().to_bits(), piece.thickness().millimetres().to_bits());
        let hole = dice.hole();
        let back: Hole = json::from_text(&json::to_text(&hole).unwrap()).unwrap();
        assert_eq!(back.radius().millimetres().to_bits(), hole.radius().millimetres().to_bits());
        let degrees = |hole: &Hole| hole.angle().with_rotation().degrees().to_bits();
        assert_eq!(degrees(&back), degrees(&hole));
        let holes = (0..dice.small()).map(|_| dice.hole()).chain([hole]).collect();
        comes_back(&HoleRing::listed(holes).in_plane(dice.small() as usize));
        comes_back(&HoleMass { ring: dice.small() as usize, hole: dice.small() as usize, mass: dice.mass() });
        let added = (0..dice.small()).map(|item| (item as usize, dice.small())).collect();
        comes_back(&HoleChange {
            ring: 1,
            hole: dice.small() as usize,
            added,
            removed: vec![(0, dice.small())],
        });
    }
    for norm in [PlacementNorm::Euclidean, PlacementNorm::Worst, PlacementNorm::WorstComponent] {
        comes_back(&norm);
    }
    for reason in [
        ToleranceReason::Wanted,
        ToleranceReason::Scatter,
        ToleranceReason::StatedScatter,
        ToleranceReason::Permissible,
        ToleranceReason::HalfPermissible,
    ] {
        comes_back(&reason);
    }
    for proof in [
        PlacementProof::Best,
        PlacementProof::NoneWithin,
        PlacementProof::BestInHoles(3),
        PlacementProof::BestInPieces(4),
        PlacementProof::Stopped,
    ] {
        comes_back(&proof);
    }
}

#[test]
fn names_hold_the_units_and_what_is_left_out_is_what_new_says() {
    let hole = Hole::new(Radius::from_millimetres(120.5).unwrap(), RotorAngle::MARK)
        .limit_mass(Mass::from_grams(15.0).unwrap())
        .limit_height(Length::from_millimetres(8.0).unwrap())
        .mounted(&[1, 0]);
    let text = json::to_text(&HoleRing::listed(vec![hole]).in_plane(1)).unwrap();
    assert_eq!(
        text,
        r#"{"plane":1,"holes":[{"radius_mm":120.5,"angle":{"with_rotation_deg":0.0},"most_mass_g":15.0,"most_height_mm":8.0,"least_pieces":0,"blocked":false,"mounted":[1,0],"removable":true,"symmetric":false}]}"#
    );
    let short: Hole = json::from_text(r#"{"radius_mm": 120, "angle": {"with_rotation_deg": 0}}"#).unwrap();
    assert_eq!(short, Hole::new(Radius::from_millimetres(120.0).unwrap(), RotorAngle::MARK));
    let nut: Hardware = json::from_text(r#"{"name": "nut", "mass_g": 2.5}"#).unwrap();
    assert_eq!(nut, Hardware::new("nut", Mass::from_grams(2.5).unwrap()));
    assert_eq!(json::to_text(&nut).unwrap(), r#"{"name":"nut","mass_g":2.5,"thickness_mm":0.0}"#);
    let change = HoleChange { ring: 0, hole: 3, added: vec![(1, 2)], removed: vec![] };
    assert_eq!(
        json::to_text(&change).unwrap(),
        r#"{"ring":0,"hole":3,"added":[{"hardware":1,"pieces":2}],"removed":[]}"#
    );
    assert_eq!(json::to_text(&PlacementProof::BestInHoles(3)).unwrap(), r#"{"best_in_holes":3}"#);
}

#[track_caller]
fn refused<T: DeserializeOwned + Debug>(text: &str, reason: &str) {
    let error = json::from_text::<T>(text).unwrap_err();
    assert!(error.reason.starts_with(reason), "{text}: {error}");
}

#[test]
fn bad_text_is_refused() {
    refused::<Hardware>(r#"{"name": "nut", "mass_oz": 2.5}"#, "unknown field `mass_oz`");
    refused::<Hardware>(r#"{"name": "nut"}"#, "missing field `mass_g`");
    refused::<Hardware>(r#"{"name": "nut", "mass_g": null}"#, "invalid type: null");
    refused::<Hardware>(r#"{"name": "nut", "mass_g": 1e200}"#, "mass 1e200 g is beyond what");
    refused::<Hardware>(r#"{"name": "nut", "mass_g": 1e999}"#, "number out of range");
    refused::<Hardware>(
        r#"{"name": "nut", "mass_g": 1, "thickness_mm": 1e200}"#,
        "length 1e200 mm is beyond what",
    );
    refused::<Hardware>(r#"{"name": "nut", "mass_g": 1, "stock": -1}"#, "invalid value: integer `-1`");
    let hole = |more: &str| format!(r#"{{"radius_mm": 100, "angle": {{"with_rotation_deg": 0}}{more}}}"#);
    assert!(json::from_text::<Hole>(&hole("")).is_ok());
    refused::<Hole>(&hole(", \"radius_in\": 4"), "unknown field `radius_in`");
    refused::<Hole>(&hole("").replace("100", "-100"), "radius must be greater than zero, got -100.0 mm");
    refused::<Hole>(&hole("").replace("100", "0"), "radius must be greater than zero, got 0.0 mm");
    refused::<Hole>(&hole(", \"most_mass_g\": 1e200"), "mass 1e200 g is beyond what");
    refused::<Hole>(&hole(", \"most_height_mm\": -1e200"), "length -1e200 mm is beyond what");
    refused::<Hole>(&hole(", \"most_pieces\": 2.5"), "invalid type: floating point `2.5`");
    refused::<Hole>(&hole(", \"mounted\": [1, -1]"), "invalid value: integer `-1`");
    refused::<HoleRing>(r#"{"plane": 0}"#, "missing field `holes`");
    refused::<HoleRing>(r#"{"plane": -1, "holes": []}"#, "invalid value: integer `-1`");
    refused::<HoleRing>(r#"{"planes": 0, "holes": []}"#, "unknown field `planes`");
    refused::<PlacementNorm>("\"best\"", "unknown variant `best`");
    refused::<ToleranceReason>("\"none\"", "unknown variant `none`");
    refused::<PlacementProof>("\"best_in_holes\"", "invalid type: unit variant");
    refused::<HoleMass>(r#"{"ring": 0, "hole": 0, "mass_g": 1e200}"#, "mass 1e200 g is beyond what");
    let count = r#"{"ring":0,"hole":3,"added":[{"hardware":1,"pieces":2,"grams":3}],"removed":[]}"#;
    refused::<HoleChange>(count, "unknown field `grams`");
}

#[test]
fn numbers_that_are_not_finite_are_not_written() {
    let beyond = Mass::from_grams(1e50).unwrap() * f64::MAX;
    assert!(json::to_text(&Hardware::new("nut", beyond)).unwrap_err().reason.contains("not finite"));
    let hole = Hole::new(Radius::from_millimetres(1.0).unwrap(), RotorAngle::MARK).limit_mass(beyond);
    assert!(json::to_text(&hole).unwrap_err().reason.contains("not finite"));
    assert!(json::to_text(&HoleMass { ring: 0, hole: 0, mass: beyond }).is_err());
}

/// What no question accepts is still refused by the question when it came from a text.
#[test]
fn what_only_the_question_can_judge_is_judged_there() {
    let limited: HoleRing = json::from_text(
        r#"{"holes": [{"radius_mm": 100, "angle": {"with_rotation_deg": 0}, "most_mass_g": -1}]}"#,
    )
    .unwrap();
    let nut: Hardware = json::from_text(r#"{"name": "nut", "mass_g": 2.5}"#).unwrap();
    let weightless: Hardware = json::from_text(r#"{"name": "air", "mass_g": 0}"#).unwrap();
    let code = |ring: &HoleRing, hardware: Hardware| {
        let rings = core::slice::from_ref(ring);
        PlacementQuestion::new(rings, &[hardware], &[UnbalanceVector::ZERO]).unwrap_err().code()
    };
    assert_eq!(code(&limited, nut), 805);
    assert_eq!(code(&ring(4), weightless), 803);
}

fn ring(holes: u16) -> HoleRing {
    let circle = HoleCircle::new(holes, RotorAngle::MARK, RotorSense::WithRotation).unwrap();
    HoleRing::even(circle, Radius::from_millimetres(100.0).unwrap())
}

fn written<T: Serialize>(value: &T) -> Value {
    serde_json::from_str(&json::to_text(value).unwrap()).unwrap()
}

#[test]
fn an_answer_is_written_as_it_stands() {
    let wanted = [UnbalanceVector::from_components_gram_millimetres(-300.0, 0.1).unwrap()];
    let rings =
        [ring(8).each(|hole| hole.limit_pieces(2).mounted(&[1, 0])).at(4, |hole| hole.mounted(&[0, 0]))];
    let pieces = [1.0, 2.9].map(|grams| Hardware::new("washer", Mass::from_grams(grams).unwrap()));
    let question = PlacementQuestion::new(&rings, &pieces, &wanted).unwrap().best_of_different_holes(2);
    let answer = question.clone().within_usual(Some(1000.0)).unwrap().solve(1_000_000).unwrap();
    let (best, text) = (answer.best(), written(&answer));
    assert_eq!(text["best"]["residual"].as_f64().unwrap().to_bits(), best.residual().to_bits());
    assert_eq!(text["best"]["net_mass_g"].as_f64().unwrap().to_bits(), best.net_mass().grams().to_bits());
    assert_eq!(text["best"]["pieces"], json!(best.pieces()));
    assert_eq!(text["best"]["placed"][0]["x_g_mm"], json!(best.placed()[0].x_gram_millimetres()));
    assert_eq!(text["best"]["left"][0]["y_g_mm"], json!(best.left().unwrap()[0].y_gram_millimetres()));
    assert!(text["best"].get("predicted").is_none());
    assert_eq!(text["best"]["changes"], written(&best.changes()));
    assert_eq!(text["runners_up"].as_array().unwrap().len(), answer.runners_up().len());
    assert_eq!(text["certificate"]["proof"], json!("best"));
    assert_eq!(text["certificate"]["lower_bound"], json!(answer.certificate().lower_bound()));
    assert_eq!(text["certificate"]["steps"], json!(answer.certificate().steps()));
    assert_eq!(text["certificate"]["out_of_memory"], json!(false));
    let tolerance = answer.tolerance().unwrap();
    assert_eq!(
        text["tolerance"],
        json!({"eps": tolerance.eps(), "reason": "permissible", "unavoidable": 0.0})
    );
    assert_eq!(text["cautions"], json!([]));

    let stopped = question.within(0.0).unwrap().solve(0).unwrap();
    let text = written(&stopped);
    assert_eq!(text["certificate"]["proof"], json!("stopped"));
    assert!(text.get("tolerance").is_none());
    let caution = &stopped.cautions()[0];
    assert_eq!(text["cautions"], json!([{"code": caution.code(), "text": caution.to_string()}]));
}

#[test]
fn continuous_masses_are_written_with_their_proof() {
    let wanted = [UnbalanceVector::from_components_gram_millimetres(300.0, -700.0).unwrap()];
    let cap = Mass::from_grams(5.0).unwrap();
    let rings = [ring(4).each(|hole| hole.limit_mass(cap))];
    let answer = ContinuousQuestion::new(&rings, &wanted).unwrap().solve().unwrap();
    let (text, proof) = (written(&answer), answer.certificate());
    assert_eq!(
        text["masses"],
        json!([{"ring": 0, "hole": 0, "mass_g": 3.0}, {"ring": 0, "hole": 3, "mass_g": 5.0}])
    );
    assert_eq!(text["residual"], json!(answer.residual()));
    assert_eq!(text["total_mass_g"], json!(answer.total_mass().grams()));
    assert_eq!(text["certificate"]["lower_bound"], json!(proof.lower_bound()));
    assert_eq!(text["certificate"]["least_mass_g"], json!(proof.least_mass().grams()));
    assert_eq!(text["certificate"]["dual"], json!([{"re": proof.dual()[0].re, "im": proof.dual()[0].im}]));
    let [x, y] = proof.prices()[0].per_gram_millimetre(RotorSense::WithRotation);
    assert_eq!(text["certificate"]["prices"], json!([{"x_g_per_g_mm": x, "y_g_per_g_mm": y}]));
    assert_ne!(x, y);
}
