//! Holes and seen angles.

use counterpoise::{Angle, HoleCircle, RotorSense, Turning, View, Viewpoint};

use super::several;

pub fn numbers() -> Vec<(String, f64)> {
    let with = |degrees| RotorSense::WithRotation.degrees(degrees).unwrap();
    let holes = HoleCircle::new(24, with(345.1), RotorSense::AgainstRotation).unwrap().numbered_from(5);
    let view = View::new(Viewpoint::Front, Turning::CounterClockwise, Angle::from_degrees(30.3).unwrap())
        .with_holes(holes);
    let other = view.from_the_other_side();
    let angle = |degrees| Angle::from_degrees(degrees).unwrap();
    let words = view.locate(with(123.456), RotorSense::AgainstRotation);
    several(
        "view",
        &[
            holes.place(7).unwrap().with_rotation().degrees(),
            f64::from(holes.number(7).unwrap()),
            f64::from(holes.nearest(with(100.0))),
            view.seen(with(77.7)).degrees(),
            other.seen(with(77.7)).degrees(),
            view.place_seen_at(angle(12.5)).with_rotation().degrees(),
            view.place_of_hole(9).unwrap().with_rotation().degrees(),
            view.space_angle(angle(12.5)).degrees(),
            other.mark().degrees(),
            f64::from(words.hour()),
            view.read(&format!("{words:#.9}")).unwrap().with_rotation().degrees(),
        ],
    )
}
