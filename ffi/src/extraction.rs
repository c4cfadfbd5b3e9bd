//! Whole records: pulses put right, and once per turn in one piece.

use alloc::vec::Vec;

use counterpoise::synchronous::{GearRatio, Mark, MarkPattern, PulseTrain, Rotation, saturation_found};

use crate::argument::{list, output, results};
use crate::channel::cpoise_channel;
use crate::detail::cpoise_detail;
use crate::failure::Failure;
use crate::status::{CPOISE_NO_VALUE, cpoise_status};
use crate::synchronous::{
    cpoise_extraction, cpoise_mark, cpoise_sensor_chain, cpoise_synchronous_vector, extraction_of, question,
    vector_of,
};

/// The vector of samples of a type, whose number of orders is turned into one of the types that there are.
unsafe fn extract<T: Copy + Into<f64>>(
    (samples, count): (*const T, usize),
    (marks, mark_count): (*const cpoise_mark, usize),
    (extraction, chain, channel): (
        *const cpoise_extraction,
        *const cpoise_sensor_chain,
        *const cpoise_channel,
    ),
    vector: *mut cpoise_synchronous_vector,
) -> Result<(), Failure> {
    // SAFETY: the caller keeps the rules at the top of the header.
    let (vector, samples, marks, (from, orders)) = unsafe {
        let vector = output(vector, "vector")?;
        (vector, list(samples, count, "samples")?, list(marks, mark_count, "marks")?, question(extraction)?)
    };
    macro_rules! of_orders {
        ($from:ident, $orders:ident, $rotation:ident, $($count:literal)+) => {
            match $orders.len() {
                // SAFETY: the caller keeps the rules at the top of the header.
                $( $count => unsafe {
                    let extraction = extraction_of::<$count>(&$from, $orders)?;
                    vector_of(&extraction.extract(samples, &$rotation)?, chain, channel)
                }, )+
                // `question` lets no other through.
                _ => Err(Failure::new(crate::status::CPOISE_OUT_OF_RANGE, format_args!("too many orders"))),
            }
        };
    }
    let marks: Vec<Mark> = marks.iter().map(|mark| (*mark).into()).collect();
    let rotation = Rotation::through(&marks)?;
    vector.write(of_orders!(from, orders, rotation, 1 2 3 4 5 6 7 8)?);
    Ok(())
}

/// Once per turn of a whole record of double samples, and the other orders.
///
/// samples: a list of count, the first at 0 s. marks: a list of mark_count in the order in which they passed; samples before
/// the first and after the last are not used. chain, channel: NULL, or what makes readings of it.
///
/// Refuses: too few marks (1301) or one out of order (1302), too few turns (1307), orders that cannot be told apart (1305) or
/// that the sampling cannot show (1306), a first order other than once per turn (1304), a sample that is not finite (1308),
/// samples that do not determine the orders (1309), numbers that cannot be what they stand for (1303); a chain or channel
/// that cannot be one (101, 102, 104, 201, 1303, 1316, 1317, CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT); CPOISE_BAD_SIZE,
/// CPOISE_OUT_OF_RANGE, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_extract_double(
    samples: *const f64,
    count: usize,
    marks: *const cpoise_mark,
    mark_count: usize,
    extraction: *const cpoise_extraction,
    chain: *const cpoise_sensor_chain,
    channel: *const cpoise_channel,
    vector: *mut cpoise_synchronous_vector,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, { extract((samples, count), (marks, mark_count), (extraction, chain, channel), vector) })
}

/// The same of float samples.
///
/// Refuses: as cpoise_extract_double.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_extract_float(
    samples: *const f32,
    count: usize,
    marks: *const cpoise_mark,
    mark_count: usize,
    extraction: *const cpoise_extraction,
    chain: *const cpoise_sensor_chain,
    channel: *const cpoise_channel,
    vector: *mut cpoise_synchronous_vector,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, { extract((samples, count), (marks, mark_count), (extraction, chain, channel), vector) })
}

/// The same of the counts of a converter.
///
/// Refuses: as cpoise_extract_double.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_extract_counts(
    samples: *const i32,
    count: usize,
    marks: *const cpoise_mark,
    mark_count: usize,
    extraction: *const cpoise_extraction,
    chain: *const cpoise_sensor_chain,
    channel: *const cpoise_channel,
    vector: *mut cpoise_synchronous_vector,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, { extract((samples, count), (marks, mark_count), (extraction, chain, channel), vector) })
}

/// The marks of a whole record of pulses: spurious ones left out, missing ones bridged, the reference found.
///
/// pulses: their instants in s, a list of count, rising. places: evenly spaced on the shaft. missing: how many of them are
/// left out, which shows where the reference is; 0 for none. driving, driven: the teeth of a gear to the shaft that is asked
/// for, 1 and 1 where the marks are on it. marks: in the order in which they passed.
///
/// Refuses: a pattern that is none (1315), a gear that is none (1311), a pulse out of order (1313), pulses that no pattern of
/// marks explains (1312), turns beyond range (1302), CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_pulses_to_marks(
    pulses: *const f64,
    count: usize,
    places: u32,
    missing: u32,
    driving: u32,
    driven: u32,
    marks: *mut cpoise_mark,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let marks = results(marks, capacity, used, "marks")?;
        let pulses = list(pulses, count, "pulses")?;
        let pattern =
            if missing == 0 { MarkPattern::even(places)? } else { MarkPattern::toothed(places, missing)? };
        let train = PulseTrain::read(pulses, pattern)?.of_driven_shaft(GearRatio::new(driving, driven)?);
        train.rotation()?;
        marks.write(train.marks().iter().map(|mark| (*mark).into()))
    })
}

/// The values at which a record of double samples saturates, where it shows; where only one side does, the other is
/// infinite.
///
/// Refuses: a record that does not show saturation (CPOISE_NO_VALUE), CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_saturation_found(
    samples: *const f64,
    count: usize,
    lowest: *mut f64,
    highest: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let (to_lowest, to_highest) = (output(lowest, "lowest")?, output(highest, "highest")?);
        let [lowest, highest] = saturation_found(list(samples, count, "samples")?).ok_or_else(|| {
            Failure::new(CPOISE_NO_VALUE, format_args!("the record does not show saturation"))
        })?;
        to_lowest.write(lowest);
        to_highest.write(highest);
        Ok(())
    })
}
