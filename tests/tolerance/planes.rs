//! Sharing between tolerance planes, and moving residuals there and back.

use counterpoise::relocation::{PlaneUnbalance, StaticCouple, in_two_planes};
use counterpoise::tolerance::{IndexedByHalfTurn, ShareLimits, TolerancePlanes};
use counterpoise::{Length, UnbalanceVector};
use proptest::prelude::*;

use super::{assert_close, g_mm, millimetres};
use crate::support::{EPS, cases};

/// Two planes up to 2 m on either side of the origin and at least 1 mm apart, and a station as near.
fn stations() -> impl Strategy<Value = [Length; 3]> {
    (-2000..=2000_i32, 1..=2000_i32, any::<bool>(), -2000..=2000_i32).prop_map(|(a, span, before, centre)| {
        let b = if before { a - span } else { a + span };
        [a, b, centre].map(|z| millimetres(f64::from(z)))
    })
}

fn vectors() -> impl Strategy<Value = UnbalanceVector> {
    (-100_000..=100_000_i32, -100_000..=100_000_i32).prop_map(|(x, y)| vector(f64::from(x), f64::from(y)))
}

fn vector(x: f64, y: f64) -> UnbalanceVector {
    UnbalanceVector::from_components_gram_millimetres(x, y).unwrap()
}

fn limits() -> impl Strategy<Value = ShareLimits> {
    prop_oneof![
        Just(ShareLimits::INBOARD),
        Just(ShareLimits::OVERHUNG),
        Just(ShareLimits::NONE),
        (0..=100_u32, 0..=200_u32).prop_map(|(least, more)| {
            ShareLimits::new(f64::from(least) / 64.0, f64::from(least + more) / 64.0).unwrap()
        }),
    ]
}

fn size(vector: UnbalanceVector) -> f64 {
    vector.amount().gram_millimetres()
}

proptest! {
    #![proptest_config(cases(3000))]

    #[test]
    fn shares_keep_the_static_unbalance([a, b, centre] in stations(), whole in vectors()) {
        let planes = TolerancePlanes::new(a, b, centre).unwrap();
        let [one, other] = planes.shares();
        let reach = one.abs() + other.abs();
        prop_assert!((one + other - 1.0).abs() <= 4.0 * EPS * reach);
        // The parts of an unbalance at the centre of mass have its sum, and no moment about the centre.
        let parts = [PlaneUnbalance::new(a, whole * one), PlaneUnbalance::new(b, whole * other)];
        let both = StaticCouple::of(parts, centre).unwrap();
        prop_assert!(size(both.resultant() - whole) <= 8.0 * EPS * reach * size(whole));
        let arm = (a - centre).millimetres().abs().max((b - centre).millimetres().abs());
        prop_assert!(both.moment().gram_square_millimetres() <= 8.0 * EPS * reach * size(whole) * arm);
        // They are what the transfer of that unbalance gives.
        let moved = in_two_planes([PlaneUnbalance::new(centre, whole)], a, b).unwrap();
        for (part, moved) in parts.iter().zip(moved) {
            prop_assert!(size(part.unbalance - moved.unbalance) <= 8.0 * EPS * reach * size(whole));
        }
        // Where no limit acts the amounts are the sizes of the parts; inboard they sum to the whole.
        let allowed = planes.allocate(whole.amount(), ShareLimits::NONE);
        prop_assert_eq!(allowed.limited, [false; 2]);
        for (amount, part) in allowed.amounts.into_iter().zip(parts) {
            assert_close(amount.gram_millimetres(), size(part.unbalance));
        }
        let sum = (allowed.amounts[0] + allowed.amounts[1]).gram_millimetres();
        if planes.is_inboard() {
            assert_close(sum, size(whole));
        } else {
            prop_assert!(size(whole) == 0.0 || sum > size(whole));
        }
        let (low, high) = (a.millimetres().min(b.millimetres()), a.millimetres().max(b.millimetres()));
        prop_assert_eq!(planes.is_inboard(), (low..=high).contains(&centre.millimetres()));
    }

    #[test]
    fn limits_of_shares_are_kept([a, b, centre] in stations(), amount in 0..=100_000_u32, limits in limits()) {
        let planes = TolerancePlanes::new(a, b, centre).unwrap();
        let amount = g_mm(f64::from(amount));
        let parts = planes.allocate(amount, limits);
        for ((part, share), limited) in parts.amounts.into_iter().zip(parts.shares).zip(parts.limited) {
            let (part, whole) = (part.gram_millimetres(), amount.gram_millimetres());
            prop_assert!(part >= limits.least() * whole);
            prop_assert!(limits.most().is_infinite() || part <= limits.most() * whole);
            if limited {
                let held = if share.abs() < limits.least() { limits.least() } else { limits.most() };
                prop_assert!(!(limits.least()..=limits.most()).contains(&share.abs()));
                prop_assert_eq!(part, held * whole);
            } else {
                prop_assert_eq!(part, share.abs() * whole);
            }
        }
        // The parts grow with the whole.
        let double = planes.allocate(amount * 2.0, limits);
        prop_assert_eq!(double.amounts, parts.amounts.map(|part| part * 2.0));
        // Between the planes, limits that leave room on both sides keep the whole.
        if planes.is_inboard() && limits == ShareLimits::INBOARD {
            let sum = (parts.amounts[0] + parts.amounts[1]).gram_millimetres();
            prop_assert!((sum - amount.gram_millimetres()).abs() <= 4.0 * EPS * sum);
        }
    }

    #[test]
    fn planes_may_be_exchanged_and_the_axis_moved_and_turned(
        [a, b, centre] in stations(),
        amount in 0..=100_000_u32,
        limits in limits(),
        shift in -1000..=1000_i32,
        loads in [vectors(), vectors()],
    ) {
        let allocate = |a, b, centre| {
            TolerancePlanes::new(a, b, centre).unwrap().allocate(g_mm(f64::from(amount)), limits)
        };
        let parts = allocate(a, b, centre);
        let exchanged = allocate(b, a, centre);
        prop_assert_eq!([exchanged.amounts[1], exchanged.amounts[0]], parts.amounts);
        prop_assert_eq!([exchanged.shares[1], exchanged.shares[0]], parts.shares);
        prop_assert_eq!([exchanged.limited[1], exchanged.limited[0]], parts.limited);
        // Whole millimetres: the same differences to the last bit.
        let moved = |z: Length| z + millimetres(f64::from(shift));
        prop_assert_eq!(allocate(moved(a), moved(b), moved(centre)), parts);
        prop_assert_eq!(allocate(-a, -b, -centre), parts);
        // The transfer, too.
        let given = [PlaneUnbalance::new(centre, loads[0]), PlaneUnbalance::new(moved(a), loads[1])];
        let [at_a, at_b] = in_two_planes(given, a, b).unwrap();
        prop_assert_eq!(in_two_planes(given, b, a).unwrap(), [at_b, at_a]);
        prop_assert_eq!(in_two_planes([given[1], given[0]], a, b).unwrap(), [at_a, at_b]);
    }

    #[test]
    fn there_and_back_is_nothing([a, b, _] in stations(), [c, d, _] in stations(), loads in [vectors(), vectors()]) {
        let given = [PlaneUnbalance::new(c, loads[0]), PlaneUnbalance::new(d, loads[1])];
        let there = in_two_planes(given, a, b).unwrap();
        let back = in_two_planes(there, c, d).unwrap();
        // How far rounding in the planes a and b is carried back to c and d.
        let span = |one: Length, other: Length| (one - other).millimetres().abs();
        let reach = (span(a, c) + span(a, d) + span(b, c) + span(b, d)) / span(c, d);
        let largest = there.iter().chain(&given).map(|plane| size(plane.unbalance)).fold(0.0, f64::max);
        for (back, given) in back.iter().zip(given) {
            prop_assert_eq!(back.station, given.station);
            prop_assert!(size(back.unbalance - given.unbalance) <= 8.0 * EPS * reach * largest);
        }
        // Static unbalance and couple are those of the residuals in the correction planes, about any station.
        for station in [a, c, Length::ZERO] {
            let (before, after) =
                (StaticCouple::of(given, station).unwrap(), StaticCouple::of(there, station).unwrap());
            prop_assert!(size(before.resultant() - after.resultant()) <= 8.0 * EPS * largest);
            let moment = (before.moment() - after.moment()).gram_square_millimetres();
            prop_assert!(moment <= 16.0 * EPS * largest * 8000.0);
        }
    }

    #[test]
    fn half_a_turn_takes_rotor_and_fixture_apart(rotor in vectors(), fixture in vectors()) {
        // On the fixture's own angles the rotor's unbalance changes its sign, the fixture's does not.
        let parts = IndexedByHalfTurn::of(fixture + rotor, fixture - rotor);
        prop_assert_eq!((parts.rotor, parts.fixture), (rotor, fixture));
    }
}
