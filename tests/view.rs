//! What must hold for every view, every place and every ring of holes.

#![allow(clippy::unwrap_used)]

use counterpoise::{
    Angle, HoleCircle, HoleNeighbours, RotorAngle, RotorSense, Turning, View, ViewError, Viewpoint,
};
use proptest::prelude::*;

/// Differences of angles below 360 round to about 1e-13 degrees.
const ROUNDING: f64 = 1e-12;

fn angle(degrees: f64) -> Angle {
    Angle::from_degrees(degrees).unwrap()
}

fn apart(one: Angle, other: Angle) -> f64 {
    one.separation_degrees(other)
}

/// Angles with many digits, and those at which printing and mirrors go wrong first.
fn angles() -> impl Strategy<Value = Angle> {
    prop_oneof![
        4 => (0_u32..3_600_000_000).prop_map(|n| angle(f64::from(n) * 1e-7)),
        1 => (0_u32..720).prop_map(|n| angle(f64::from(n) * 0.5)),
        1 => (0_u32..1000).prop_map(|n| angle(360.0 - f64::from(n) * 1e-3)),
        1 => Just(angle(f64::from_bits(360.0_f64.to_bits() - 1))),
    ]
}

fn places() -> impl Strategy<Value = RotorAngle> {
    angles().prop_map(RotorAngle::from_with_rotation)
}

fn senses() -> impl Strategy<Value = RotorSense> {
    prop_oneof![Just(RotorSense::WithRotation), Just(RotorSense::AgainstRotation)]
}

fn turnings() -> impl Strategy<Value = Turning> {
    prop_oneof![Just(Turning::Clockwise), Just(Turning::CounterClockwise)]
}

fn viewpoints() -> impl Strategy<Value = Viewpoint> {
    prop_oneof![
        Just(Viewpoint::Front),
        Just(Viewpoint::Rear),
        Just(Viewpoint::named("the drive end", "the free end").unwrap()),
    ]
}

fn rings() -> impl Strategy<Value = HoleCircle> {
    (1_u16..=400, places(), senses(), 0_u16..100).prop_map(|(count, first, sense, number)| {
        HoleCircle::new(count, first, sense).unwrap().numbered_from(number)
    })
}

fn views() -> impl Strategy<Value = View> {
    (viewpoints(), turnings(), angles(), proptest::option::of(rings())).prop_map(
        |(viewpoint, turning, mark, ring)| {
            let view = View::new(viewpoint, turning, mark);
            ring.map_or(view, |ring| view.with_holes(ring))
        },
    )
}

/// Every form in which a location can be printed: the words, and half a unit of their last place.
fn forms(view: &View, place: RotorAngle, sense: RotorSense, decimals: usize) -> [(String, f64); 4] {
    let location = view.locate(place, sense);
    let half = format!("0.5e-{decimals}").parse().unwrap();
    [
        (format!("{location}"), 0.5),
        (format!("{location:#}"), 0.5),
        (format!("{location:.decimals$}"), half),
        (format!("{location:#.decimals$}"), half),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn words_are_read_back_to_the_printed_precision(
        view in views(), place in places(), sense in senses(), decimals in 0_usize..=14,
    ) {
        for (words, half) in forms(&view, place, sense, decimals) {
            let read = view.read(&words);
            prop_assert!(read.is_ok(), "{words}: {read:?}");
            let error = apart(read.unwrap().with_rotation(), place.with_rotation());
            prop_assert!(error <= half + ROUNDING, "{words}: {error}");
            prop_assert!(!words.contains(" 360 deg") && !words.contains(" 360."), "{words}");
        }
    }

    #[test]
    fn words_at_a_hole_are_read_back(
        view in views(), ring in rings(), pick in 0_u16..400, sense in senses(), decimals in 0_usize..=14,
    ) {
        let view = view.with_holes(ring);
        let index = pick % ring.count();
        let place = ring.place(index).unwrap();
        let number = ring.number(index).unwrap();
        prop_assert_eq!(view.place_of_hole(number), Ok(place));
        for (words, half) in forms(&view, place, sense, decimals) {
            let named = format!(", at hole {number}");
            prop_assert!(words.contains(&named), "{}", words);
            let read = view.read(&words);
            prop_assert!(read.is_ok(), "{words}: {read:?}");
            prop_assert!(apart(read.unwrap().with_rotation(), place.with_rotation()) <= half + ROUNDING);
        }
    }

    #[test]
    fn words_for_another_viewpoint_or_turning_are_refused(
        view in views(), place in places(), sense in senses(), decimals in 0_usize..=6,
    ) {
        let reversed = View::new(view.viewpoint(), view.turning().reversed(), view.mark());
        for (words, _) in forms(&view, place, sense, decimals) {
            let expected = ViewError::OtherViewpoint {
                view: view.viewpoint().other_side().words(),
                words: view.viewpoint().words(),
            };
            prop_assert_eq!(view.from_the_other_side().read(&words), Err(expected));
            let expected = ViewError::OtherTurning {
                view: view.turning().reversed().words(),
                words: view.turning().words(),
            };
            prop_assert_eq!(reversed.read(&words), Err(expected));
        }
    }

    #[test]
    fn the_other_side_sees_the_mirror_of_the_same_rotor(view in views(), place in places(), sense in senses()) {
        let other = view.from_the_other_side();
        prop_assert!(apart(other.seen(place), -view.seen(place)) <= ROUNDING);
        prop_assert_eq!(other.turning(), view.turning().reversed());
        let (here, there) = (view.locate(place, sense), other.locate(place, sense));
        prop_assert_eq!(here.from_mark(), there.from_mark());
        prop_assert_eq!(here.holes(), there.holes());
        // A fixed sensor, seen from both sides, is one direction counted with rotation.
        let seen = view.seen(place);
        prop_assert!(apart(view.space_angle(seen), other.space_angle(-seen)) <= ROUNDING);
        let back = other.from_the_other_side();
        prop_assert_eq!((back.viewpoint(), back.turning()), (view.viewpoint(), view.turning()));
        prop_assert!(apart(back.mark(), view.mark()) <= ROUNDING);
    }

    #[test]
    fn turning_the_rotor_turns_what_is_seen_with_rotation(view in views(), place in places(), turn in angles()) {
        // The rotor turns on: its mark, and every place with it, is carried the way it turns.
        let carried = view.seen(RotorAngle::from_with_rotation(turn));
        let turned = View::new(view.viewpoint(), view.turning(), carried);
        let further = view.seen(place.turned_with_rotation(turn));
        prop_assert!(apart(turned.seen(place), further) <= ROUNDING);
        let clockwise = (turned.seen(place) - view.seen(place)).degrees();
        let expected = match view.turning() {
            Turning::Clockwise => turn,
            Turning::CounterClockwise => -turn,
        };
        prop_assert!(apart(angle(clockwise), expected) <= ROUNDING);
    }

    #[test]
    fn moving_the_mark_on_a_rotor_at_rest_moves_nothing_else(view in views(), place in places(), moved in angles()) {
        // The mark is glued on `moved` further with rotation: places lose that angle, the rotor stays as it stands.
        let glued = View::new(view.viewpoint(), view.turning(), view.seen(RotorAngle::from_with_rotation(moved)));
        let renamed = RotorAngle::from_with_rotation(place.with_rotation() - moved);
        prop_assert!(apart(glued.seen(renamed), view.seen(place)) <= ROUNDING);
    }

    #[test]
    fn a_seen_angle_is_one_place(view in views(), seen in angles()) {
        prop_assert!(apart(view.seen(view.place_seen_at(seen)), seen) <= ROUNDING);
    }

    #[test]
    fn degrees_in_a_sense_are_one_place(view in views(), degrees in angles(), sense in senses()) {
        let place = view.place_from_mark(degrees.degrees(), sense).unwrap();
        prop_assert!(apart(view.locate(place, sense).from_mark(), degrees) <= ROUNDING);
        prop_assert!(apart(view.locate(place, sense.reversed()).from_mark(), -degrees) <= ROUNDING);
    }

    #[test]
    fn the_nearest_hole_is_the_nearest_of_all(ring in rings(), place in places()) {
        let distance = |hole: RotorAngle| apart(hole.with_rotation(), place.with_rotation());
        let least = ring.places().map(distance).fold(f64::INFINITY, f64::min);
        prop_assert!(distance(ring.place(ring.nearest(place)).unwrap()) <= least + ROUNDING);
    }

    #[test]
    fn neighbours_enclose_the_place_in_the_order_of_numbering(ring in rings(), place in places()) {
        let ahead = |from: RotorAngle, to: RotorAngle| {
            (to.in_sense(ring.sense()) - from.in_sense(ring.sense())).degrees()
        };
        let step = 360.0 / f64::from(ring.count());
        match ring.neighbours(place) {
            HoleNeighbours::At(index) => {
                prop_assert!(apart(ring.place(index).unwrap().with_rotation(), place.with_rotation()) <= 1.1e-9);
            }
            HoleNeighbours::Between(before, after) => {
                prop_assert_eq!(u32::from(after), (u32::from(before) + 1) % u32::from(ring.count()));
                let (since, until) = (ahead(ring.place(before).unwrap(), place), ahead(place, ring.place(after).unwrap()));
                prop_assert!((since + until - step).abs() <= 4.0 * ROUNDING, "{} {} {}", since, until, step);
            }
        }
    }

    #[test]
    fn any_text_is_read_or_refused(view in views(), text in ".{0,80}") {
        // Neither a panic nor a place out of nothing: such text never has the opening words.
        prop_assert!(view.read(&text).is_err());
    }

    #[test]
    fn damaged_words_give_the_place_or_an_error(
        view in views(), place in places(), sense in senses(), cut in 0_usize..200, with in any::<char>(),
    ) {
        let words = format!("{:#.2}", view.locate(place, sense));
        let cut = cut.min(words.len());
        let damaged = format!("{}{with}{}", &words[..cut], words.get(cut + 1..).unwrap_or(""));
        if let Ok(read) = view.read(&damaged) {
            // What still reads differs at most in one digit of the angle from the mark, and agrees with the seen angle.
            let whole = damaged.contains("o'clock");
            let error = apart(read.with_rotation(), place.with_rotation());
            prop_assert!(!whole || error <= 0.0201, "{damaged}: {error}");
        }
    }
}
