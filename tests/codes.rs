//! The numbers of outcomes and reasons: part of the interface, never renumbered or used again.
#![cfg(feature = "alloc")]
#![allow(clippy::unwrap_used, clippy::disallowed_methods)]
#![allow(clippy::items_after_statements)] // names of variants stand beside their use

use PlacementProof::{Best, BestInHoles, BestInPieces, NoneWithin, Stopped};
use counterpoise::checks::{
    Examination, ExplanationKind, LeftOut, NextRunStart, Plane, Verdict, WhatToLookAt,
};
use counterpoise::first_weight::{FirstWeightCaution, StartingReason};
use counterpoise::without_phase::{Ambiguity, Outcome, Trial, solve};
use counterpoise::{
    Channel, DegreesOfFreedom, Detectability, Detector, InfluenceBelief, Mass, PhaseSense, PlacementProof,
    Radius, RotorAngle, Speed, SpeedWindow, ToleranceReason, TrialChannel, TrialDesign, UnbalanceVector,
    Vibration, VibrationScale, VibrationUnit, Weight,
};

/// The numbers stand in the order of their list and begin at 1: 0 is left for "none" in C.
fn in_order(codes: &[i32]) {
    let wanted: Vec<i32> = (1..).take(codes.len()).collect();
    assert_eq!(codes, wanted);
}

#[test]
fn outcomes_of_uncertainty() {
    use Detectability::{Clear, NotDetectable, Weak};
    in_order(&[NotDetectable, Weak, Clear].map(Detectability::code));
    let degrees = [DegreesOfFreedom::Known, DegreesOfFreedom::Circular(8.0), DegreesOfFreedom::Full(4.0)];
    in_order(&degrees.map(DegreesOfFreedom::code));
    let outcome = |amplitude: f64, noise: f64| {
        let belief = InfluenceBelief::between_per_gram_millimetre(1e-3, 4e-3).unwrap();
        let vibration = Vibration::from_components(amplitude, 0.0).unwrap();
        let channel = TrialChannel::new(vibration, noise, 7.0, belief).unwrap();
        TrialDesign::new(&[channel]).unwrap().answer().unwrap().code()
    };
    in_order(&[outcome(3.0, 0.05), outcome(6.0, 0.2)]);
}

#[test]
fn outcomes_of_examinations() {
    use ExplanationKind as Kind;
    in_order(
        &[
            Kind::NoMistake,
            Kind::WeightMirrored,
            Kind::WeightHalfTurn,
            Kind::WeightOffByHoles,
            Kind::WeightLeftOn,
            Kind::WeightNotMounted,
            Kind::MassUnit,
            Kind::PlanesExchanged,
            Kind::ChannelsExchanged,
            Kind::MarkMoved,
            Kind::OtherSpeed,
            Kind::DetectorSlip,
            Kind::UnitSlip,
            Kind::Outlier,
            Kind::SenseWrong,
        ]
        .map(Kind::code),
    );
    let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0).unwrap(), 1.0).unwrap();
    let channel = Channel::new(1, unit, PhaseSense::Lag, window);
    let weight =
        Weight::new(Mass::from_grams(1.0).unwrap(), Radius::from_millimetres(1.0).unwrap(), RotorAngle::MARK);
    let mut job = Examination::new(&[channel], &[Plane::new()]).unwrap();
    let item = job.add_item(0, weight).unwrap();
    in_order(
        &[
            WhatToLookAt::Nothing,
            WhatToLookAt::PlaceOf { item },
            WhatToLookAt::RemovedPiece { item },
            WhatToLookAt::PresenceOf { item },
            WhatToLookAt::MassOf { item },
            WhatToLookAt::Planes { planes: [0, 1] },
            WhatToLookAt::Cables { channels: [0, 1] },
            WhatToLookAt::MarkAndPickup,
            WhatToLookAt::SpeedOf { run: 0 },
            WhatToLookAt::DetectorOf { run: 0 },
            WhatToLookAt::UnitOf { run: 0 },
            WhatToLookAt::ReadingOf { run: 0, channel: 0 },
            WhatToLookAt::SenseOfAngles,
        ]
        .map(WhatToLookAt::code),
    );
    let stands = Verdict::OneStands(counterpoise::checks::Explanation::SenseWrong);
    let verdicts =
        [Verdict::Untested, Verdict::NothingToAccuse, stands, Verdict::SeveralStand, Verdict::Unclear];
    in_order(&verdicts.map(|verdict| verdict.code()));
    in_order(&[LeftOut::OtherSpeed, LeftOut::HolesOff { plane: 0 }].map(LeftOut::code));
    in_order(&[NextRunStart::AsFound, NextRunStart::LastRun].map(NextRunStart::code));
}

#[test]
fn reasons_of_placements_and_first_weights() {
    use ToleranceReason::{HalfPermissible, Permissible, Scatter, StatedScatter, Wanted};
    in_order(&[Wanted, Scatter, StatedScatter, Permissible, HalfPermissible].map(ToleranceReason::code));
    in_order(&[Best, NoneWithin, BestInHoles(2), BestInPieces(2), Stopped].map(PlacementProof::code));
    use StartingReason::{HalfForgives, StatedByCaller, TrialAmount};
    in_order(&[TrialAmount, HalfForgives, StatedByCaller].map(StartingReason::code));
    use FirstWeightCaution::{NothingToCorrect, RegimesDisagree};
    in_order(&[NothingToCorrect, RegimesDisagree].map(FirstWeightCaution::code));
}

#[test]
fn outcomes_without_phase() {
    let line = Ambiguity::OneLine { with_rotation_degrees: 0.0 };
    in_order(&[line, Ambiguity::TwoPlaces, Ambiguity::EqualFits].map(|why| why.code()));
    // |2 + exp(jθ)| for a weight at 0, 120 and 240 deg, by hand.
    let trial = |x, y, amplitude| Trial {
        unbalance: UnbalanceVector::from_components_gram_millimetres(x, y).unwrap(),
        amplitude,
    };
    let (side, height) = (3_f64.sqrt(), 75_f64.sqrt() * 10.0);
    let trials = [trial(100.0, 0.0, 3.0), trial(-50.0, height, side), trial(-50.0, -height, side)];
    let unique = solve(&[2.0], &trials).unwrap();
    assert!(matches!(unique, Outcome::Unique { .. }));
    assert_eq!(unique.code(), 1);
    let ambiguous = Outcome::Ambiguous { reason: line, solutions: Vec::new() };
    let impossible = Outcome::Impossible { closed_form: None, best: None };
    let no_effect = Outcome::NoEffect { closed_form: None };
    let others = [ambiguous, Outcome::Undetermined, impossible, no_effect, Outcome::NothingToCorrect];
    assert_eq!(others.map(|outcome| outcome.code()), [2, 3, 4, 5, 6]);
}
