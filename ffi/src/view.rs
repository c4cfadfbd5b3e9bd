//! Views: rings of holes, and words for a person at the rotor.
//!
//! A seen angle is counted clockwise from the top, as the hours on a clock, by a person who looks along the axis.

use core::ffi::c_char;

use counterpoise::{Angle, HoleCircle, HoleNeighbours, RotorSense, Turning, View, Viewpoint};

use crate::argument::{output, results, text, value, write_text};
use crate::constant::{Constant, chosen};
use crate::convention::with_rotation;
use crate::detail::cpoise_detail;
use crate::failure::Failure;
use crate::status::{CPOISE_NO_SUCH_INDEX, CPOISE_OUT_OF_RANGE, cpoise_status};

/// Ahead of the propeller, looking aft.
pub const CPOISE_VIEW_FRONT: i32 = 1;
/// Behind the propeller, looking forward, as from the seat behind a tractor propeller.
pub const CPOISE_VIEW_REAR: i32 = 2;
/// In the caller's own words.
pub const CPOISE_VIEW_NAMED: i32 = 3;

constants! {
    /// Which way the rotor turns, as seen from the viewpoint.
    Turning, "way of turning" {
        /// As the hands of a clock.
        CPOISE_CLOCKWISE = 1 => Clockwise,
        /// The other way.
        CPOISE_COUNTER_CLOCKWISE = 2 => CounterClockwise,
    }
}

/// Evenly spaced holes on the rotor. An index counts them from 0 in the order of their numbers; a number is what is
/// written beside the hole.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_hole_circle {
    /// How many holes: 1 to 65535.
    pub count: u32,
    /// The number beside the first hole, mostly 1: 0 to 65535.
    pub first_number: u32,
    /// The sense in which the numbers rise: CPOISE_WITH_ROTATION or CPOISE_AGAINST_ROTATION.
    pub sense: i32,
    /// The place of the first hole in degrees from the mark, counted with the rotation whatever the sense is.
    pub first_with_rotation_deg: f64,
}

/// How a person sees the rotor at rest, ready for the work.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_view {
    /// CPOISE_VIEW_FRONT, CPOISE_VIEW_REAR or CPOISE_VIEW_NAMED.
    pub viewpoint: i32,
    /// Which way the rotor turns as seen from there: CPOISE_CLOCKWISE or CPOISE_COUNTER_CLOCKWISE.
    pub turning: i32,
    /// Where the mark stands when the rotor is at rest for the work: its seen angle in degrees, 0 at 12 o'clock.
    pub mark_deg: f64,
    /// For CPOISE_VIEW_NAMED the words that follow "seen from", such as "the drive end", UTF-8; else not read.
    pub words: *const c_char,
    /// For CPOISE_VIEW_NAMED the words for the side across the rotor; else not read.
    pub other_side_words: *const c_char,
    /// The ring of holes, or NULL for none.
    pub holes: *const cpoise_hole_circle,
}

fn small(number: u32, what: &str) -> Result<u16, Failure> {
    u16::try_from(number).map_err(|_| {
        Failure::new(CPOISE_OUT_OF_RANGE, format_args!("{what} must be at most 65535, got {number}"))
    })
}

impl TryFrom<cpoise_hole_circle> for HoleCircle {
    type Error = Failure;
    fn try_from(from: cpoise_hole_circle) -> Result<Self, Failure> {
        let (count, first_number) = (small(from.count, "count")?, small(from.first_number, "first_number")?);
        let first = with_rotation(from.first_with_rotation_deg)?;
        Ok(Self::new(count, first, chosen(from.sense)?)?.numbered_from(first_number))
    }
}

/// A view for as long as the body of a call: its words belong to the caller.
unsafe fn view_of(from: *const cpoise_view) -> Result<View, Failure> {
    // SAFETY: the caller keeps the rules at the top of the header.
    unsafe {
        let from = value(from, "view")?;
        let viewpoint = match from.viewpoint {
            CPOISE_VIEW_FRONT => Viewpoint::Front,
            CPOISE_VIEW_REAR => Viewpoint::Rear,
            CPOISE_VIEW_NAMED => Viewpoint::named(
                text(from.words, "the view's words")?,
                text(from.other_side_words, "the view's other_side_words")?,
            )?,
            other => return Err(unknown_viewpoint(other)),
        };
        let view = View::new(viewpoint, chosen(from.turning)?, Angle::from_degrees(from.mark_deg)?);
        if from.holes.is_null() {
            return Ok(view);
        }
        Ok(view.with_holes(HoleCircle::try_from(value(from.holes, "the view's holes")?)?))
    }
}

fn unknown_viewpoint(number: i32) -> Failure {
    Failure::new(
        crate::status::CPOISE_UNKNOWN_CONSTANT,
        format_args!("viewpoint {number} is not known: take one of the constants in the header"),
    )
}

fn index_of(ring: HoleCircle, index: u32) -> Result<u16, Failure> {
    u16::try_from(index).ok().filter(|index| *index < ring.count()).ok_or_else(|| {
        Failure::new(
            CPOISE_NO_SUCH_INDEX,
            format_args!("there is no hole of index {index}: there are {} holes", ring.count()),
        )
    })
}

/// The place of a hole in degrees from the mark, counted with the rotation.
///
/// index: from 0 in the order of the numbers.
///
/// Refuses: CPOISE_NO_SUCH_INDEX; a ring that cannot be (101, 701, CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT),
/// CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_hole_place(
    ring: *const cpoise_hole_circle,
    index: u32,
    with_rotation_deg: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let with_rotation_deg = output(with_rotation_deg, "with_rotation_deg")?;
        let ring = HoleCircle::try_from(value(ring, "ring")?)?;
        let place = ring.place(index_of(ring, index)?).unwrap_or_default();
        with_rotation_deg.write(place.with_rotation().degrees());
        Ok(())
    })
}

/// The number beside a hole.
///
/// Refuses: CPOISE_NO_SUCH_INDEX; a ring that cannot be (101, 701, CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT),
/// CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_hole_number(
    ring: *const cpoise_hole_circle,
    index: u32,
    number: *mut u32,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let number = output(number, "number")?;
        let ring = HoleCircle::try_from(value(ring, "ring")?)?;
        number.write(ring.number(index_of(ring, index)?).unwrap_or_default());
        Ok(())
    })
}

/// The index of the hole that bears a number.
///
/// Refuses: CPOISE_NO_SUCH_INDEX where none bears it; a ring that cannot be (101, 701, CPOISE_OUT_OF_RANGE,
/// CPOISE_UNKNOWN_CONSTANT), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_hole_index(
    ring: *const cpoise_hole_circle,
    number: u32,
    index: *mut u32,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let index = output(index, "index")?;
        let ring = HoleCircle::try_from(value(ring, "ring")?)?;
        let found = ring.index_of(number).ok_or_else(|| {
            Failure::new(CPOISE_NO_SUCH_INDEX, format_args!("no hole of the ring bears the number {number}"))
        })?;
        index.write(found.into());
        Ok(())
    })
}

/// The index of the hole nearest to a place; half way between two, the one before it in the order of the numbers.
///
/// Refuses: a place that is not finite (101); a ring that cannot be (101, 701, CPOISE_OUT_OF_RANGE,
/// CPOISE_UNKNOWN_CONSTANT), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_hole_nearest(
    ring: *const cpoise_hole_circle,
    with_rotation_deg: f64,
    index: *mut u32,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let index = output(index, "index")?;
        let ring = HoleCircle::try_from(value(ring, "ring")?)?;
        index.write(ring.nearest(with_rotation(with_rotation_deg)?).into());
        Ok(())
    })
}

/// Where a place lies among the holes. at: 1 where it is at a hole, within 1e-9 degrees, whose index is then both before
/// and after; 0 where it lies after the one and before the other, in the order of the numbers.
///
/// Refuses: a place that is not finite (101); a ring that cannot be (101, 701, CPOISE_OUT_OF_RANGE,
/// CPOISE_UNKNOWN_CONSTANT), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_hole_neighbours(
    ring: *const cpoise_hole_circle,
    with_rotation_deg: f64,
    at: *mut i32,
    before: *mut u32,
    after: *mut u32,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let to_at = output(at, "at")?;
        let (to_before, to_after) = (output(before, "before")?, output(after, "after")?);
        let ring = HoleCircle::try_from(value(ring, "ring")?)?;
        let (at, before, after) = match ring.neighbours(with_rotation(with_rotation_deg)?) {
            HoleNeighbours::At(index) => (1, index, index),
            HoleNeighbours::Between(before, after) => (0, before, after),
        };
        to_at.write(at);
        to_before.write(before.into());
        to_after.write(after.into());
        Ok(())
    })
}

/// The same rotor at rest as the person across it sees it. The words and the ring are those of the view given, and not
/// copied.
///
/// Refuses: a view that cannot be (101, 701, 702, CPOISE_NOT_UTF8, CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT),
/// CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_view_from_the_other_side(
    view: *const cpoise_view,
    other_side: *mut cpoise_view,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let other_side = output(other_side, "other_side")?;
        let turned = view_of(view)?.from_the_other_side();
        let from = value(view, "view")?;
        other_side.write(cpoise_view {
            viewpoint: match turned.viewpoint() {
                Viewpoint::Front => CPOISE_VIEW_FRONT,
                Viewpoint::Rear => CPOISE_VIEW_REAR,
                Viewpoint::Named(_) => CPOISE_VIEW_NAMED,
            },
            turning: turned.turning().number(),
            mark_deg: turned.mark().degrees(),
            words: from.other_side_words,
            other_side_words: from.words,
            holes: from.holes,
        });
        Ok(())
    })
}

/// The seen angle, in degrees clockwise from the top, of a place on the rotor at rest.
///
/// Refuses: a place that is not finite (101); a view that cannot be (101, 701, 702, CPOISE_NOT_UTF8,
/// CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_view_seen(
    view: *const cpoise_view,
    with_rotation_deg: f64,
    seen_deg: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let seen_deg = output(seen_deg, "seen_deg")?;
        seen_deg.write(view_of(view)?.seen(with_rotation(with_rotation_deg)?).degrees());
        Ok(())
    })
}

/// The place on the rotor at rest, counted with the rotation, that stands at a seen angle.
///
/// Refuses: an angle that is not finite (101); a view that cannot be (101, 701, 702, CPOISE_NOT_UTF8,
/// CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_view_place_seen_at(
    view: *const cpoise_view,
    seen_deg: f64,
    with_rotation_deg: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let with_rotation_deg = output(with_rotation_deg, "with_rotation_deg")?;
        let place = view_of(view)?.place_seen_at(Angle::from_degrees(seen_deg)?);
        with_rotation_deg.write(place.with_rotation().degrees());
        Ok(())
    })
}

/// The place, counted with the rotation, of the hole that bears a number.
///
/// Refuses: no such hole (703), a view without holes (704); a view that cannot be (101, 701, 702, CPOISE_NOT_UTF8,
/// CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_view_place_of_hole(
    view: *const cpoise_view,
    number: u32,
    with_rotation_deg: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let with_rotation_deg = output(with_rotation_deg, "with_rotation_deg")?;
        with_rotation_deg.write(view_of(view)?.place_of_hole(number)?.with_rotation().degrees());
        Ok(())
    })
}

/// A fixed direction seen clockwise from the top, such as that of a sensor, as degrees counted with the rotation from the
/// top: what is asked for a first weight.
///
/// Refuses: an angle that is not finite (101); a view that cannot be (101, 701, 702, CPOISE_NOT_UTF8,
/// CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_view_space_angle(
    view: *const cpoise_view,
    seen_deg: f64,
    space_deg: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let space_deg = output(space_deg, "space_deg")?;
        space_deg.write(view_of(view)?.space_angle(Angle::from_degrees(seen_deg)?).degrees());
        Ok(())
    })
}

/// The hour of a clock, 1 to 12, to which a place is nearest as it is seen; half way, the later.
///
/// Refuses: a place that is not finite (101); a view that cannot be (101, 701, 702, CPOISE_NOT_UTF8,
/// CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_view_hour(
    view: *const cpoise_view,
    with_rotation_deg: f64,
    hour: *mut u32,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let hour = output(hour, "hour")?;
        let location = view_of(view)?.locate(with_rotation(with_rotation_deg)?, RotorSense::WithRotation);
        hour.write(location.hour().into());
        Ok(())
    })
}

/// A place in words that a person can act on, such as "seen from the front, turning clockwise, 96 deg against rotation
/// from the mark, between holes 6 and 7".
///
/// sense: in which the angle from the mark is counted, CPOISE_WITH_ROTATION or CPOISE_AGAINST_ROTATION. decimals: of the
/// degrees, 0 to 17. at_rest: not 0 adds where the place is seen when the mark stands as the view says. text: room for
/// capacity bytes; used: the bytes written, the NUL among them.
///
/// Refuses: CPOISE_BUFFER_TOO_SMALL; a place that is not finite (101); decimals beyond 17 (CPOISE_OUT_OF_RANGE); a view
/// that cannot be (101, 701, 702, CPOISE_NOT_UTF8, CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_view_words(
    view: *const cpoise_view,
    with_rotation_deg: f64,
    sense: i32,
    decimals: u32,
    at_rest: i32,
    text: *mut c_char,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let text = results(text, capacity, used, "text")?;
        let location = view_of(view)?.locate(with_rotation(with_rotation_deg)?, chosen(sense)?);
        let decimals =
            usize::try_from(decimals).ok().filter(|decimals| *decimals <= 17).ok_or_else(|| {
                Failure::new(CPOISE_OUT_OF_RANGE, format_args!("decimals must be at most 17, got {decimals}"))
            })?;
        if at_rest == 0 {
            write_text(text, format_args!("{location:.decimals$}"))
        } else {
            write_text(text, format_args!("{location:#.decimals$}"))
        }
    })
}

/// Reads such words back: the place, counted with the rotation, to the precision at which its angle was written.
/// Everything else in the words is checked against the view.
///
/// words: UTF-8 that ends with a NUL.
///
/// Refuses: words that are not those of a place (705) or contradict the view (703, 704, 706 to 711), CPOISE_NOT_UTF8; a
/// view that cannot be (101, 701, 702, CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_view_read(
    view: *const cpoise_view,
    words: *const c_char,
    with_rotation_deg: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let with_rotation_deg = output(with_rotation_deg, "with_rotation_deg")?;
        let place = view_of(view)?.read(text(words, "words")?)?;
        with_rotation_deg.write(place.with_rotation().degrees());
        Ok(())
    })
}
