//! Questions for a placement.

use counterpoise::{
    ContinuousQuestion, Hardware, HoleCircle, HoleRing, InfluenceMatrix, Mass, PlacementQuestion, Radius,
    RotorAngle, RotorSense, UnbalanceVector,
};
use num_complex::Complex64;

use super::refused;
use crate::support::{channels, influence, vibration};

fn ring() -> HoleRing {
    let circle = HoleCircle::new(4, RotorAngle::MARK, RotorSense::WithRotation).unwrap();
    HoleRing::even(circle, Radius::from_millimetres(100.0).unwrap()).each(|hole| hole.limit_pieces(1))
}

fn nut() -> Hardware {
    Hardware::new("nut", Mass::from_grams(2.0).unwrap())
}

/// Two channels and one plane.
fn through(ask: impl Fn(&InfluenceMatrix)) {
    let coefficients = [1e-3, 2e-3].map(|re| influence(Complex64::new(re, 0.0)));
    ask(&InfluenceMatrix::new(&channels(2), 1, &coefficients).unwrap());
}

#[test]
fn a_limit_for_a_plane_that_is_not_there() {
    let question = |planes: usize| {
        PlacementQuestion::new(&[ring()], &[nut()], &vec![UnbalanceVector::ZERO; planes]).unwrap()
    };
    let text = |plane: usize, planes: usize| {
        format!("there is no plane {plane} to be limited: the question has {planes} planes, counted from 0")
    };
    refused(question(1).limit_holes_in_plane(1, 2), 816, &text(1, 1));
    refused(question(2).limit_holes_in_plane(2, 0), 816, &text(2, 2));
    refused(question(2).limit_holes_in_plane(usize::MAX, 1), 816, &text(usize::MAX, 2));
    assert!(question(2).limit_holes_in_plane(1, 0).is_ok());
    through(|matrix| {
        let now = [vibration(Complex64::new(1.0, 0.0)); 2];
        let question = PlacementQuestion::through(&[ring()], &[nut()], matrix, &now).unwrap();
        // Planes count, not channels.
        refused(question.limit_holes_in_plane(1, 2), 816, &text(1, 1));
    });
}

#[test]
fn channel_weights_that_are_all_zero() {
    let text = "all channel weights are zero: then every placement is as good";
    through(|matrix| {
        let now = [vibration(Complex64::new(1.0, 0.0)); 2];
        let question = PlacementQuestion::through(&[ring()], &[nut()], matrix, &now).unwrap();
        refused(question.clone().channel_weights(&[0.0, 0.0]), 817, text);
        refused(question.clone().channel_weights(&[-0.0, 0.0]), 817, text);
        let wrong = |got: &str| format!("a channel weight must be zero or more and finite, got {got}");
        refused(question.clone().channel_weights(&[0.0, f64::NAN]), 812, &wrong("NaN"));
        refused(question.clone().channel_weights(&[-1.0, 1.0]), 812, &wrong("-1.0"));
        let count = "wrong number of channel weights, one per channel: expected 2, got ";
        refused(question.clone().channel_weights(&[1.0; 3]), 811, &format!("{count}3"));
        refused(question.clone().channel_weights(&[]), 811, &format!("{count}0"));
        assert!(question.channel_weights(&[0.0, 1.0]).is_ok());
        let question = ContinuousQuestion::through(&[ring()], matrix, &now).unwrap();
        refused(question.channel_weights(&[0.0, 0.0]), 817, text);
    });
}

#[test]
fn more_planes_than_are_taken() {
    let wanted = |planes: usize| vec![UnbalanceVector::ZERO; planes];
    let text = "1001 planes are more than the 1000 that are taken: give only those that have holes";
    refused(PlacementQuestion::new(&[ring()], &[nut()], &wanted(1001)), 818, text);
    refused(ContinuousQuestion::new(&[ring()], &wanted(1001)), 818, text);
    assert!(PlacementQuestion::new(&[ring()], &[nut()], &wanted(1000)).is_ok());
    assert!(ContinuousQuestion::new(&[ring()], &wanted(1000)).is_ok());
}

#[test]
fn an_eps_a_scatter_or_a_permissible_residual_that_cannot_be() {
    let question = PlacementQuestion::new(&[ring()], &[nut()], &[UnbalanceVector::ZERO]).unwrap();
    let text = |what: &str, got: &str| format!("{what} must be zero or more and finite, got {got}");
    for (value, got) in [(-1.0, "-1.0"), (f64::NAN, "NaN"), (f64::INFINITY, "inf")] {
        refused(question.clone().within(value), 812, &text("eps", got));
        refused(question.clone().least_change_within(value), 812, &text("eps", got));
        let permissible = text("the permissible residual", got);
        refused(question.clone().within_usual(Some(value)), 812, &permissible);
        refused(question.clone().within_scatter(1.0, Some(value)), 812, &permissible);
        refused(question.clone().within_scatter(value, None), 812, &text("the scatter", got));
    }
}
