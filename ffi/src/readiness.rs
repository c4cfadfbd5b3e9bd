//! Before and after a job: blades against one another, and what a person is reminded of.
//!
//! What differs from blade to blade shakes a propeller once per turn as an unbalance does, and no weight mends it. Blades
//! are counted from 0. The makers' limits go before those here.

use core::ffi::c_char;

use counterpoise::Length;
use counterpoise::readiness::{BladeAngles, BladeTrack, Reminder};

use crate::argument::{list, output, results, write_text};
use crate::constant::Constant;
use crate::detail::cpoise_detail;
use crate::failure::Failure;
use crate::provenance::{cpoise_limit, cpoise_provenance};
use crate::status::{CPOISE_NO_SUCH_INDEX, cpoise_status};

/// The most blades that are taken.
pub const CPOISE_MOST_BLADES: usize = 6;

// When a reminder is due; the numbers are the same as in Rust.

/// Before anything is run.
pub const CPOISE_BEFORE_FIRST_RUN: i32 = 1;
/// Before every run.
pub const CPOISE_BEFORE_EVERY_RUN: i32 = 2;
/// When the speed is reached, before a reading is taken.
pub const CPOISE_DURING_RUN: i32 = 3;
/// After every run, before the rotor is touched.
pub const CPOISE_AFTER_EVERY_RUN: i32 = 4;
/// Whenever a weight is put on.
pub const CPOISE_WHEN_MOUNTING: i32 = 5;
/// When the job is done.
pub const CPOISE_AT_THE_END: i32 = 6;

/// Blades against one another.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_blades {
    /// From the least to the largest value.
    pub spread: f64,
    /// How far each blade lies from the mean of all; 0 where there is no such blade.
    pub apart_from_mean: [f64; 6],
    /// The blade farthest from the mean; of several the first.
    pub standing_out: usize,
    /// The verdict on the spread: CPOISE_WITHIN, CPOISE_OUTSIDE or CPOISE_UNDECIDED.
    pub conformity: i32,
}

/// Something a person is reminded of.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_reminder {
    /// Its stable number.
    pub code: i32,
    /// When it is due, such as CPOISE_BEFORE_FIRST_RUN.
    pub moment: i32,
    /// 1 where it is for any rotor, 0 where it is for a propeller on its engine, which all are for.
    pub any_rotor: i32,
    /// 1 where a person can be hurt if it is not followed, else 0. Then approved data, local rules and licensed personnel
    /// decide what is done.
    pub can_hurt: i32,
    /// Where it comes from.
    pub provenance: cpoise_provenance,
}

fn reminder_of(index: usize) -> Result<Reminder, Failure> {
    Reminder::ALL.get(index).copied().ok_or_else(|| {
        let count = Reminder::ALL.len();
        Failure::new(
            CPOISE_NO_SUCH_INDEX,
            format_args!("there is no reminder {index}: there are {count}, from 0"),
        )
    })
}

/// The track of 2 to 6 blades: how far forward or aft of any mark, all from the same, the tip of each passes, in mm.
///
/// offsets_mm: a list of count, in the order of the blades' numbers. limit_mm, expanded_uncertainty_mm: what the spread is
/// judged with; an uncertainty below zero decides nothing.
///
/// Refuses: another number of blades (1451), a value that is not finite (101) or beyond 1e100 (104), a limit or uncertainty
/// likewise, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_blade_track(
    offsets_mm: *const f64,
    count: usize,
    limit_mm: f64,
    expanded_uncertainty_mm: f64,
    blades: *mut cpoise_blades,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let blades = output(blades, "blades")?;
        let given = list(offsets_mm, count, "offsets_mm")?;
        let mut lengths = [Length::ZERO; CPOISE_MOST_BLADES + 1];
        // One more than are taken, so that too many are refused as such.
        for (to, offset) in lengths.iter_mut().zip(given) {
            *to = Length::from_millimetres(*offset)?;
        }
        let track = BladeTrack::of(lengths.get(..count.min(lengths.len())).unwrap_or(&[]))?;
        let mut apart_from_mean = [0.0; CPOISE_MOST_BLADES];
        for (blade, to) in apart_from_mean.iter_mut().enumerate() {
            *to = track.apart_from_mean(blade).map_or(0.0, Length::millimetres);
        }
        let limit = Length::from_millimetres(limit_mm)?;
        let uncertainty = Length::from_millimetres(expanded_uncertainty_mm)?;
        blades.write(cpoise_blades {
            spread: track.spread().millimetres(),
            apart_from_mean,
            standing_out: track.standing_out(),
            conformity: track.conformity(limit, uncertainty).number(),
        });
        Ok(())
    })
}

/// The angles at which 2 to 6 blades are set, at one station of each, in degrees.
///
/// angles_deg: a list of count, in the order of the blades' numbers. limit_deg, expanded_uncertainty_deg: what the spread is
/// judged with; an uncertainty below zero, or numbers that are not finite, decide nothing.
///
/// Refuses: another number of blades (1451), an angle that is not finite or beyond 1e100 (1452), CPOISE_COUNT_TOO_LARGE,
/// CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_blade_angles(
    angles_deg: *const f64,
    count: usize,
    limit_deg: f64,
    expanded_uncertainty_deg: f64,
    blades: *mut cpoise_blades,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let blades = output(blades, "blades")?;
        let angles = BladeAngles::of_degrees(list(angles_deg, count, "angles_deg")?)?;
        let mut apart_from_mean = [0.0; CPOISE_MOST_BLADES];
        for (blade, to) in apart_from_mean.iter_mut().enumerate() {
            *to = angles.apart_from_mean_degrees(blade).unwrap_or(0.0);
        }
        blades.write(cpoise_blades {
            spread: angles.spread_degrees(),
            apart_from_mean,
            standing_out: angles.standing_out(),
            conformity: angles.conformity(limit_deg, expanded_uncertainty_deg).number(),
        });
        Ok(())
    })
}

/// What the track of blades may spread where the maker's limit is not known, in mm: of a metal propeller up to 6 ft across,
/// of a wooden one, and of any.
///
/// Refuses: CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_blade_track_limits(
    metal_to_six_feet_mm: *mut cpoise_limit,
    wood_mm: *mut cpoise_limit,
    common_practice_mm: *mut cpoise_limit,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let metal = output(metal_to_six_feet_mm, "metal_to_six_feet_mm")?;
        let wood = output(wood_mm, "wood_mm")?;
        let any = output(common_practice_mm, "common_practice_mm")?;
        metal.write(cpoise_limit::new(BladeTrack::METAL_TO_SIX_FEET, Length::millimetres));
        wood.write(cpoise_limit::new(BladeTrack::WOOD, Length::millimetres));
        any.write(cpoise_limit::new(BladeTrack::COMMON_PRACTICE, Length::millimetres));
        Ok(())
    })
}

/// About what the angles of blades may spread where the maker's limit is not known, in degrees: common practice, no source.
///
/// Refuses: CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_blade_angles_limit(
    limit_deg: *mut cpoise_limit,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let limit_deg = output(limit_deg, "limit_deg")?;
        limit_deg.write(cpoise_limit::new(BladeAngles::COMMON_PRACTICE_DEGREES, |degrees| degrees));
        Ok(())
    })
}

/// How many reminders there are. They are counted from 0, in the order in which they are due.
///
/// Refuses: CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_reminder_count(
    reminders: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let reminders = output(reminders, "reminders")?;
        reminders.write(Reminder::ALL.len());
        Ok(())
    })
}

/// A reminder. They are the usual ones of the trade; the makers' approved data, local rules and licensed personnel go before
/// them.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_reminder_of(
    index: usize,
    reminder: *mut cpoise_reminder,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let to = output(reminder, "reminder")?;
        let reminder = reminder_of(index)?;
        to.write(cpoise_reminder {
            code: reminder.code(),
            moment: reminder.moment().code(),
            any_rotor: i32::from(reminder.is_for_any_rotor()),
            can_hurt: i32::from(reminder.can_hurt()),
            provenance: reminder.provenance().into(),
        });
        Ok(())
    })
}

/// What a reminder says to do.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_reminder_text(
    index: usize,
    words: *mut c_char,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let to = results(words, capacity, used, "words")?;
        write_text(to, format_args!("{}", reminder_of(index)?.text()))
    })
}

/// Why.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_reminder_reason(
    index: usize,
    words: *mut c_char,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let to = results(words, capacity, used, "words")?;
        write_text(to, format_args!("{}", reminder_of(index)?.reason()))
    })
}
