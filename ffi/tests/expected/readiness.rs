//! Blades against one another, and the usual limits.

use counterpoise::Length;
use counterpoise::readiness::{BladeAngles, BladeTrack, Reminder};

use super::several;

pub fn numbers() -> Vec<(String, f64)> {
    let lengths = [10.2, 10.0, 12.1].map(|mm| Length::from_millimetres(mm).unwrap());
    let track = BladeTrack::of(&lengths).unwrap();
    let angles = BladeAngles::of_degrees(&[18.1, 18.0, 18.4, 18.35]).unwrap();
    let mut values = vec![track.spread().millimetres()];
    values.extend((0..3).map(|blade| track.apart_from_mean(blade).unwrap().millimetres()));
    values.push(angles.spread_degrees());
    values.extend((0..4).map(|blade| angles.apart_from_mean_degrees(blade).unwrap()));
    values.extend(
        [BladeTrack::METAL_TO_SIX_FEET, BladeTrack::WOOD, BladeTrack::COMMON_PRACTICE]
            .map(|limit| limit.value.millimetres()),
    );
    values.push(BladeAngles::COMMON_PRACTICE_DEGREES.value);
    for reminder in Reminder::ALL {
        values.extend([reminder.code(), reminder.moment().code()].map(f64::from));
    }
    several("readiness", &values)
}
