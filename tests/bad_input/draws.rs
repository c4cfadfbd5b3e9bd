//! Numbers of any bits, and counters of what they reach.

use core::cell::Cell;

use counterpoise::{
    Channel, Convention, Detector, PhaseSense, RotorSense, Speed, SpeedLaw, SpeedWindow, VibrationScale,
    VibrationUnit,
};
use num_complex::Complex64;
use proptest::prelude::*;
use proptest::test_runner::TestRunner;

use crate::support::cases;

/// Any bits, or a usual number; whole numbers and powers of two among them, so that sums cancel and planes coincide.
pub(super) fn number() -> impl Strategy<Value = f64> {
    prop_oneof![
        2 => any::<u64>().prop_map(f64::from_bits),
        1 => (-400..=400_i32, any::<u32>()).prop_map(|(power, digits)| {
            let sign = if digits % 2 == 0 { 1.0 } else { -1.0 };
            sign * libm::exp2(f64::from(power)) * (1.0 + f64::from(digits) / 4_294_967_296.0)
        }),
        3 => (-4..=4_i32).prop_map(f64::from),
        3 => (-1000..=1000_i32).prop_map(|n| f64::from(n) / 64.0),
        1 => prop::sample::select(vec![
            0.0, -0.0, f64::NAN, f64::INFINITY, f64::NEG_INFINITY, f64::MAX, f64::MIN, f64::MIN_POSITIVE, 5e-324, 1e100,
            -1e100, 1e50, 1e-50, 1e-100, 1e154, 1e-154,
        ]),
    ]
}

/// A size from the smallest to the largest that a vibration or an unbalance may have, each power of two as likely.
pub(super) fn spread() -> impl Strategy<Value = f64> {
    (-1070..=332_i32, any::<bool>()).prop_map(|(power, negative)| {
        let size = libm::exp2(f64::from(power));
        if negative { -size } else { size }
    })
}

/// 1, or any power of two that weights or readings may have as their common size.
pub(super) fn scale() -> impl Strategy<Value = f64> {
    prop_oneof![1 => Just(1.0), 1 => (-1060..=320_i32).prop_map(|power| libm::exp2(f64::from(power)))]
}

/// Two components: any numbers, or one size far from the usual, so that quotients of several go beyond all bounds.
pub(super) fn pair() -> impl Strategy<Value = [f64; 2]> {
    prop_oneof![
        1 => (number(), number()).prop_map(|(x, y)| [x, y]),
        1 => (spread(), any::<bool>()).prop_map(|(size, turned)| if turned { [0.0, size] } else { [size, 0.0] }),
    ]
}

/// Runs a property over draws, with counters of what it reached.
pub(super) fn over<S: Strategy>(
    count: u32,
    draws: S,
    property: impl Fn(S::Value) -> Result<(), TestCaseError>,
) {
    TestRunner::new(cases(count)).run(&draws, property).unwrap_or_else(|error| panic!("{error}"));
}

#[derive(Default)]
pub(super) struct Count(Cell<u32>);

impl Count {
    pub(super) fn one(&self) {
        self.0.set(self.0.get() + 1);
    }

    #[track_caller]
    pub(super) fn at_least(&self, least: u32) {
        assert!(self.0.get() >= least, "reached only {} times", self.0.get());
    }
}

pub(super) fn finite(values: &[Complex64]) -> bool {
    values.iter().all(|z| z.re.is_finite() && z.im.is_finite())
}

pub(super) fn pick<T: Copy>(list: &[T], at: u8) -> T {
    list[usize::from(at) % list.len()]
}

pub(super) fn convention(bits: u8) -> Convention {
    Convention {
        phase: if bits & 1 == 0 { PhaseSense::Lag } else { PhaseSense::Lead },
        rotor: if bits & 2 == 0 { RotorSense::WithRotation } else { RotorSense::AgainstRotation },
    }
}

/// A channel, if these numbers make one.
pub(super) fn channel_of(sensor: u16, [nominal, percent]: [f64; 2], bits: u8) -> Option<Channel> {
    let window = SpeedWindow::around_percent(Speed::from_rpm(nominal).ok()?, percent).ok()?;
    let unit = VibrationUnit::new(pick(VibrationScale::ALL, bits), pick(Detector::ALL, bits / 7));
    let channel = Channel::new(sensor, unit, convention(bits).phase, window);
    Some(match bits % 3 {
        0 => channel,
        1 => channel.with_law(SpeedLaw::StiffnessControlled),
        _ => channel.with_law(SpeedLaw::MassControlled),
    })
}
