//! Samples and shaft marks to once per turn: tach channel, pulse gate, and the streaming form, all without a heap.
//!
//! Least squares in the angle of the shaft: orders, a constant and a slow drift, so that neither leakage nor a drifting
//! speed bends it. The scatter comes from the residuals near once per turn.
//!
//! The order of calls is: a sample, then the marks that passed up to it. The clock of samples and marks begins with the first
//! sample, at 0 s.

use counterpoise::first_weight::Polarity;
use counterpoise::synchronous::{
    Edge, Extraction, Mark, Order, PulseGate, ResponsePoint, SensorChain, Stream, SynchronousVector,
    TachLevels, TachReader,
};
use counterpoise::{Channel, Scatter, Speed, SpeedWindow, VibrationScale};

use crate::argument::{Options, handle, list, optional, options, output, value};
use crate::channel::{cpoise_channel, cpoise_reading, cpoise_scatter};
use crate::constant::chosen;
use crate::convention::cpoise_vibration;
use crate::detail::cpoise_detail;
use crate::failure::Failure;
use crate::status::{
    CPOISE_BUFFER_TOO_SMALL, CPOISE_MISALIGNED, CPOISE_NULL_POINTER, CPOISE_OUT_OF_RANGE, CPOISE_WRONG_COUNT,
    CPOISE_WRONG_STATE, cpoise_status,
};

constants! {
    /// Which edge of a pulse is the mark.
    Edge, "edge" {
        /// From the low level to the high one.
        CPOISE_EDGE_RISING = 1 => Rising,
        /// From the high level to the low one.
        CPOISE_EDGE_FALLING = 2 => Falling,
    }
    /// Which way a sensor counts as positive.
    Polarity, "polarity" {
        /// Motion along the sensor's direction gives positive samples.
        CPOISE_POLARITY_ALONG = 1 => Along,
        /// It gives negative samples.
        CPOISE_POLARITY_AGAINST = 2 => Against,
    }
}

/// The largest number of orders that are fitted together in one piece; a stream takes up to 4.
pub const CPOISE_MOST_ORDERS: usize = 8;
/// Samples were left out as saturated. A bit in the cautions of a vector.
pub const CPOISE_VECTOR_SATURATED: u32 = 1;
/// So few turns that the scatter is hardly known. A bit in the cautions of a vector.
pub const CPOISE_VECTOR_FEW_TURNS: u32 = 2;
/// Once per turn is not the same in both halves of the record. A bit in the cautions of a vector.
pub const CPOISE_VECTOR_TREND: u32 = 4;
/// The speed changed much while the record was made. A bit in the cautions of a vector.
pub const CPOISE_VECTOR_SPEED_RANGE: u32 = 8;
/// How the memory of a stream is aligned, in bytes.
pub const CPOISE_STREAM_ALIGNMENT: usize = 8;

/// A passing of a mark.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_mark {
    /// The instant on the clock of the samples: that of the first sample is 0.
    pub seconds: f64,
    /// How far the shaft had turned: a whole number whenever the reference mark passes its pickup.
    pub turns: f64,
}

/// Which orders are extracted, and how the samples were taken. Declared with CPOISE_EXTRACTION_INIT.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_extraction {
    /// The size of this struct, as its INIT macro sets it.
    pub size: usize,
    /// Samples a second: up to 1e9.
    pub rate_hertz: f64,
    /// Orders of the rotor, once per turn (1) first: what is strong in the signal should be named. NULL for once per turn
    /// alone.
    pub orders: *const f64,
    /// How many there are: up to CPOISE_MOST_ORDERS, or 0.
    pub order_count: usize,
    /// Not 0 where samples at or beyond the two values below are left out as saturated.
    pub saturates: i32,
    /// The converter's lower end.
    pub lowest: f64,
    /// The converter's upper end.
    pub highest: f64,
}

// SAFETY: repr(C), numbers and pointers, the size first.
unsafe impl Options for cpoise_extraction {
    const FIRST_SIZE: usize = size_of::<Self>();
}

/// How a chain answers at one frequency, against how it answers where its sensitivity was stated.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_response_point {
    /// The frequency.
    pub hertz: f64,
    /// The amplitude that comes out, as a share of what the sensitivity says.
    pub gain: f64,
    /// How far what comes out is ahead of the vibration; negative where it lags.
    pub phase_lead_deg: f64,
}

/// The most points of a chain's response.
pub const CPOISE_MOST_RESPONSE_POINTS: usize = 64;

/// A sensor with its chain: what makes a reading of a vector. Declared with CPOISE_SENSOR_CHAIN_INIT.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_sensor_chain {
    /// The size of this struct, as its INIT macro sets it.
    pub size: usize,
    /// The scale of the samples times per_unit: a CPOISE_SCALE_ constant.
    pub scale: i32,
    /// CPOISE_POLARITY_ALONG (also 0) or CPOISE_POLARITY_AGAINST.
    pub polarity: i32,
    /// Vibration in the scale per unit of the samples: the inverse of the sensitivity; positive.
    pub per_unit: f64,
    /// How late a sample is after what it shows, against the clock of the marks, in s: 0 to 1000.
    pub delay_seconds: f64,
    /// How it answers against frequency, in rising order; NULL for alike everywhere.
    pub response: *const cpoise_response_point,
    /// How many points there are: up to CPOISE_MOST_RESPONSE_POINTS.
    pub response_count: usize,
    /// The standard uncertainty of its gain, as a share: 0 to 1.
    pub gain_uncertainty: f64,
    /// The standard uncertainty of its phase, in degrees: 0 to 360.
    pub phase_uncertainty_deg: f64,
}

// SAFETY: repr(C), numbers and pointers, the size first.
unsafe impl Options for cpoise_sensor_chain {
    const FIRST_SIZE: usize = size_of::<Self>();
}

/// What a record says: orders at the mean speed, in the unit of the samples, zero to peak.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_synchronous_vector {
    /// How many orders there are.
    pub order_count: usize,
    /// The vector of every order, once per turn first; what is beyond the count is 0.
    pub vectors: [cpoise_vibration; CPOISE_MOST_ORDERS],
    /// 1 where the scatter of once per turn is known.
    pub has_scatter: i32,
    /// CPOISE_VECTOR_ bits: what makes it a poor one.
    pub cautions: u32,
    /// The scatter of once per turn, from the residuals near it.
    pub scatter: cpoise_scatter,
    /// The mean of the signal.
    pub mean: f64,
    /// The slow drift of the signal, per second.
    pub drift_per_second: f64,
    /// Root of the mean square of the residuals: what is neither an order nor drift.
    pub residual_rms: f64,
    /// The mean speed between the first and the last mark.
    pub mean_rpm: f64,
    /// That of the slowest stretch between two marks.
    pub lowest_rpm: f64,
    /// That of the fastest.
    pub highest_rpm: f64,
    /// Turns between the first and the last mark.
    pub turns: f64,
    /// Samples that were used.
    pub samples_used: u64,
    /// Samples that were left out as saturated.
    pub samples_saturated: u64,
    /// How rare a difference as between the halves of the record would be by chance; NaN where nothing scatters.
    pub chance_of_trend: f64,
    /// 1 where a chain and a channel were given, and the readings below are made.
    pub has_reading: i32,
    /// The reading of the channel, with its scatter; what is the same in every run, as the calibration, is left out.
    pub reading: cpoise_reading,
    /// The same with the uncertainty of the calibration, for a comparison with a limit.
    pub calibrated_reading: cpoise_reading,
}

impl From<cpoise_mark> for Mark {
    fn from(from: cpoise_mark) -> Self {
        Self { seconds: from.seconds, turns: from.turns }
    }
}

impl From<Mark> for cpoise_mark {
    fn from(from: Mark) -> Self {
        Self { seconds: from.seconds, turns: from.turns }
    }
}

/// The question as of a call, with its orders checked; the list of orders is the caller's.
pub unsafe fn question<'a>(
    from: *const cpoise_extraction,
) -> Result<(cpoise_extraction, &'a [f64]), Failure> {
    // SAFETY: the caller keeps the rules at the top of the header.
    let (from, orders) = unsafe {
        if from.is_null() {
            return Err(Failure::new(CPOISE_NULL_POINTER, format_args!("extraction is NULL")));
        }
        let from = options(from, "extraction")?;
        (from, list(from.orders, from.order_count, "orders")?)
    };
    let orders = if orders.is_empty() { &[1.0] } else { orders };
    if orders.len() > CPOISE_MOST_ORDERS {
        let count = orders.len();
        return Err(Failure::new(
            CPOISE_OUT_OF_RANGE,
            format_args!("order_count must be at most {CPOISE_MOST_ORDERS}, got {count}"),
        ));
    }
    Ok((from, orders))
}

/// The question with its orders counted by the type.
pub fn extraction_of<const ORDERS: usize>(
    from: &cpoise_extraction,
    orders: &[f64],
) -> Result<Extraction<ORDERS>, Failure> {
    let mut checked = [Order::ONCE_PER_TURN; ORDERS];
    for (to, order) in checked.iter_mut().zip(orders) {
        *to = Order::of_rotor(*order)?;
    }
    let extraction = Extraction::new(checked, from.rate_hertz)?;
    Ok(if from.saturates == 0 { extraction } else { extraction.saturating_at(from.lowest, from.highest)? })
}

/// A vector across the border, with readings where a chain and a channel are given.
pub unsafe fn vector_of<const ORDERS: usize>(
    from: &SynchronousVector<ORDERS>,
    chain: *const cpoise_sensor_chain,
    channel: *const cpoise_channel,
) -> Result<cpoise_synchronous_vector, Failure> {
    // SAFETY: the caller keeps the rules at the top of the header.
    let readings = unsafe { readings_of(from, chain, channel) }?;
    let mut vectors = [cpoise_vibration { re: 0.0, im: 0.0 }; CPOISE_MOST_ORDERS];
    for (to, vector) in vectors.iter_mut().zip(from.vectors) {
        *to = vector.into();
    }
    let mut cautions = 0;
    for caution in from.cautions() {
        cautions |= match caution.code() {
            1031 => CPOISE_VECTOR_SATURATED,
            1032 => CPOISE_VECTOR_FEW_TURNS,
            1033 => CPOISE_VECTOR_TREND,
            1034 => CPOISE_VECTOR_SPEED_RANGE,
            _ => 0,
        };
    }
    // SAFETY: numbers only, for which zero bytes are a value.
    let none: cpoise_synchronous_vector = unsafe { core::mem::zeroed() };
    let (reading, calibrated_reading) = readings.unwrap_or((none.reading, none.calibrated_reading));
    Ok(cpoise_synchronous_vector {
        order_count: ORDERS,
        vectors,
        has_scatter: from.scatter.is_some().into(),
        cautions,
        scatter: from.scatter.map_or(none.scatter, <cpoise_scatter as From<Scatter>>::from),
        mean: from.mean,
        drift_per_second: from.drift_per_second,
        residual_rms: from.residual_rms,
        mean_rpm: from.speed.mean.rpm(),
        lowest_rpm: from.speed.lowest.rpm(),
        highest_rpm: from.speed.highest.rpm(),
        turns: from.turns,
        samples_used: from.samples_used,
        samples_saturated: from.samples_saturated,
        chance_of_trend: from.chance_of_trend().unwrap_or(f64::NAN),
        has_reading: readings.is_some().into(),
        reading,
        calibrated_reading,
    })
}

unsafe fn readings_of<const ORDERS: usize>(
    vector: &SynchronousVector<ORDERS>,
    chain: *const cpoise_sensor_chain,
    channel: *const cpoise_channel,
) -> Result<Option<(cpoise_reading, cpoise_reading)>, Failure> {
    // SAFETY: the caller keeps the rules at the top of the header.
    let (channel, chain, points) = unsafe {
        let Some(channel) = optional(channel, "channel")? else { return Ok(None) };
        if chain.is_null() {
            return Err(Failure::new(
                CPOISE_NULL_POINTER,
                format_args!("a channel is given, and chain is NULL"),
            ));
        }
        let chain = options(chain, "chain")?;
        (channel, chain, list(chain.response, chain.response_count, "response")?)
    };
    let channel = Channel::try_from(channel)?;
    if points.len() > CPOISE_MOST_RESPONSE_POINTS {
        let count = points.len();
        return Err(Failure::new(
            CPOISE_OUT_OF_RANGE,
            format_args!("response_count must be at most {CPOISE_MOST_RESPONSE_POINTS}, got {count}"),
        ));
    }
    let mut table =
        [ResponsePoint { hertz: 0.0, gain: 0.0, phase_lead_degrees: 0.0 }; CPOISE_MOST_RESPONSE_POINTS];
    for (to, point) in table.iter_mut().zip(points) {
        *to =
            ResponsePoint { hertz: point.hertz, gain: point.gain, phase_lead_degrees: point.phase_lead_deg };
    }
    let polarity = if chain.polarity == 0 { Polarity::Along } else { chosen(chain.polarity)? };
    let sensor = SensorChain::new(chosen::<VibrationScale>(chain.scale)?, chain.per_unit)?
        .polarity(polarity)
        .delayed_by_seconds(chain.delay_seconds)?
        .response(table.get(..points.len()).unwrap_or(&[]))?
        .calibrated_within(chain.gain_uncertainty, chain.phase_uncertainty_deg)?;
    Ok(Some((sensor.reading(vector, channel)?.into(), sensor.calibrated_reading(vector, channel)?.into())))
}

/// The state of a tach reader: plain memory of the caller's, made by cpoise_tach_reader_make.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_tach_reader {
    /// Nothing in it is to be read or written by the caller.
    pub opaque: [u64; 16],
}

/// The state of a pulse gate: plain memory of the caller's, made by cpoise_pulse_gate_make.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_pulse_gate {
    /// Nothing in it is to be read or written by the caller.
    pub opaque: [u64; 24],
}

/// A state with the number that shows that it was made.
#[repr(C)]
struct Made<T> {
    number: u64,
    state: T,
}

const TACH_READER: u64 = 0x6370_6f69_7365_7401;
const PULSE_GATE: u64 = 0x6370_6f69_7365_6701;

const _: () = {
    assert!(size_of::<Made<TachReader>>() <= size_of::<cpoise_tach_reader>());
    assert!(align_of::<Made<TachReader>>() <= align_of::<cpoise_tach_reader>());
    assert!(size_of::<Made<PulseGate>>() <= size_of::<cpoise_pulse_gate>());
    assert!(align_of::<Made<PulseGate>>() <= align_of::<cpoise_pulse_gate>());
};

/// The state in memory of the caller's, once it is known to have been made.
unsafe fn made<'a, T, M>(memory: *mut M, number: u64, what: &str) -> Result<&'a mut T, Failure> {
    // SAFETY: the caller keeps the rules at the top of the header: what bears the number was made.
    let state = unsafe { handle::exclusive(memory.cast::<Made<T>>(), what) }?;
    if state.number == number {
        Ok(&mut state.state)
    } else {
        Err(Failure::new(CPOISE_WRONG_STATE, format_args!("{what} was not made: begin with its _make call")))
    }
}

unsafe fn make<T, M>(memory: *mut M, number: u64, state: T, what: &str) -> Result<(), Failure> {
    // SAFETY: as for `made`.
    let memory = unsafe { output(memory.cast::<Made<T>>(), what) }?;
    memory.write(Made { number, state });
    Ok(())
}

/// The two levels of a tach channel from a record of it. An edge is where the signal passes half-way between them.
///
/// samples: a list of count; what is not finite is passed over. low, high: the levels.
///
/// Refuses: samples that do not lie about two levels, as noise does not (1314), CPOISE_COUNT_TOO_LARGE,
/// CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_tach_levels_found(
    samples: *const f64,
    count: usize,
    low: *mut f64,
    high: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let (low, high) = (output(low, "low")?, output(high, "high")?);
        let levels = TachLevels::found(list(samples, count, "samples")?)?;
        low.write(levels.low());
        high.write(levels.high());
        Ok(())
    })
}

/// Makes a reader of a tach channel, sample by sample.
///
/// low, high: its levels. edge: CPOISE_EDGE_RISING or CPOISE_EDGE_FALLING. rate_hertz: samples a second.
///
/// Refuses: a high level that is not above the low one (1314), a rate that is not positive or beyond 1e9 (1303),
/// CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_tach_reader_make(
    low: f64,
    high: f64,
    edge: i32,
    rate_hertz: f64,
    reader: *mut cpoise_tach_reader,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        output(reader, "reader")?;
        let made = TachReader::new(TachLevels::new(low, high)?, chosen(edge)?, rate_hertz)?;
        make(reader, TACH_READER, made, "reader")
    })
}

/// The next sample of a tach channel. found: 1 where an edge is now sure, whose instant, in s, is then written to seconds;
/// else 0. A sample that is not finite is no edge.
///
/// Refuses: a reader that was not made (CPOISE_WRONG_STATE), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_tach_reader_sample(
    reader: *mut cpoise_tach_reader,
    sample: f64,
    found: *mut i32,
    seconds: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let (found, seconds) = (output(found, "found")?, output(seconds, "seconds")?);
        let edge = made::<TachReader, _>(reader, TACH_READER, "reader")?.sample(sample);
        found.write(edge.is_some().into());
        if let Some(edge) = edge {
            seconds.write(edge);
        }
        Ok(())
    })
}

/// Makes a gate that makes marks of pulses as they come, leaving out spurious ones and bridging missing ones.
///
/// marks: evenly spaced on the shaft, at least 1; the first pulse is taken as the reference. The speeds are those within
/// which the shaft turns.
///
/// Refuses: no marks (1315), a window that does not hold its nominal speed (201), a speed that cannot be one (101, 102, 104),
/// CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_pulse_gate_make(
    marks: u32,
    lowest_rpm: f64,
    nominal_rpm: f64,
    highest_rpm: f64,
    gate: *mut cpoise_pulse_gate,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        output(gate, "gate")?;
        let [lowest, nominal, highest] = [lowest_rpm, nominal_rpm, highest_rpm].map(Speed::from_rpm);
        let made = PulseGate::new(marks, SpeedWindow::between(lowest?, nominal?, highest?)?)?;
        make(gate, PULSE_GATE, made, "gate")
    })
}

/// The next pulse, at an instant in s. taken: 1 where it is a true one, whose mark is then written; else 0.
///
/// Refuses: a pulse that does not come after the one before (1313), pulses that are not clear (1312), a gate that was not
/// made (CPOISE_WRONG_STATE), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_pulse_gate_pulse(
    gate: *mut cpoise_pulse_gate,
    seconds: f64,
    taken: *mut i32,
    mark: *mut cpoise_mark,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let (taken, to_mark) = (output(taken, "taken")?, output(mark, "mark")?);
        let mark = made::<PulseGate, _>(gate, PULSE_GATE, "gate")?.pulse(seconds)?;
        taken.write(mark.is_some().into());
        if let Some(mark) = mark {
            to_mark.write(mark.into());
        }
        Ok(())
    })
}

/// An extraction while the samples come in, in memory of the caller's: there is nothing to free.
pub struct cpoise_stream {
    kind: u64,
}

/// A stream as it lies in the caller's memory.
#[repr(C)]
struct Kept<const ORDERS: usize, const BUFFER: usize> {
    kind: u64,
    stream: Stream<ORDERS, BUFFER>,
}

const fn kind(orders: usize, buffer: usize) -> u64 {
    0x6370_6f69_0000_0000 + ((orders as u64) << 24) + buffer as u64
}

/// Runs a body with the two sizes that were chosen as constants.
macro_rules! of_sizes {
    ($kind:expr, $ORDERS:ident, $BUFFER:ident => $body:expr, else $otherwise:expr) => {
        of_sizes!(@ $kind, $ORDERS, $BUFFER, $body, $otherwise,
            (1 1024) (1 4096) (1 16384) (2 1024) (2 4096) (2 16384)
            (3 1024) (3 4096) (3 16384) (4 1024) (4 4096) (4 16384))
    };
    (@ $kind:expr, $ORDERS:ident, $BUFFER:ident, $body:expr, $otherwise:expr, $(($orders:literal $buffer:literal))+) => {
        match $kind {
            $( value if value == kind($orders, $buffer) => {
                const $ORDERS: usize = $orders;
                const $BUFFER: usize = $buffer;
                $body
            } )+
            _ => $otherwise,
        }
    };
}

/// Runs a body with the stream in the caller's memory.
macro_rules! with_stream {
    ($memory:expr, $way:ident, $cast:ident, $kept:ident => $body:expr) => {{
        let kind_of = handle::shared($memory.cast_const(), "stream")?.kind;
        of_sizes!(kind_of, ORDERS, BUFFER => {
            let $kept = handle::$way($memory.$cast::<Kept<ORDERS, BUFFER>>(), "stream")?;
            $body
        }, else Err(Failure::new(
            CPOISE_WRONG_STATE,
            format_args!("the stream was not made: begin with cpoise_stream_make"),
        )))
    }};
}

fn no_such_stream(orders: usize, buffer: usize) -> Failure {
    Failure::new(
        CPOISE_WRONG_COUNT,
        format_args!(
            "there is no stream for {orders} orders and a buffer of {buffer}: 1 to 4, and 1024, 4096 or 16384"
        ),
    )
}

/// The bytes of memory, aligned to CPOISE_STREAM_ALIGNMENT, that a stream takes.
///
/// order_count: 1 to 4. buffer: how many samples it can keep, those of a little more than two turns at the lowest speed:
/// 1024, 4096 or 16384. While it is made, the stack holds it once.
///
/// Refuses: other sizes (CPOISE_WRONG_COUNT), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_stream_size(
    order_count: usize,
    buffer: usize,
    bytes: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let bytes = output(bytes, "bytes")?;
        if order_count > 4 || buffer > 16384 {
            return Err(no_such_stream(order_count, buffer));
        }
        of_sizes!(kind(order_count, buffer), ORDERS, BUFFER => {
            bytes.write(size_of::<Kept<ORDERS, BUFFER>>());
            Ok(())
        }, else Err(no_such_stream(order_count, buffer)))
    })
}

/// Makes a stream in memory of the caller's, which must stay until the last call with it.
///
/// extraction: its order_count, 1 to 4 (or 0 for once per turn alone), and buffer as of cpoise_stream_size. memory: bytes of
/// it, aligned to CPOISE_STREAM_ALIGNMENT. stream: the same place, for the calls below.
///
/// Refuses: memory that is too small (CPOISE_BUFFER_TOO_SMALL) or not aligned (CPOISE_MISALIGNED), sizes other than those
/// (CPOISE_WRONG_COUNT); a first order other than once per turn (1304), numbers that cannot be what they stand for (1303);
/// CPOISE_BAD_SIZE, CPOISE_OUT_OF_RANGE, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_stream_make(
    extraction: *const cpoise_extraction,
    buffer: usize,
    memory: *mut core::ffi::c_void,
    bytes: usize,
    stream: *mut *mut cpoise_stream,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let stream = output(stream, "stream")?;
        if memory.is_null() {
            return Err(Failure::new(CPOISE_NULL_POINTER, format_args!("memory is NULL")));
        }
        if !memory.cast::<u64>().is_aligned() {
            return Err(Failure::new(
                CPOISE_MISALIGNED,
                format_args!("memory is not aligned to {CPOISE_STREAM_ALIGNMENT} bytes"),
            ));
        }
        let (from, orders) = question(extraction)?;
        if orders.len() > 4 || buffer > 16384 {
            return Err(no_such_stream(orders.len(), buffer));
        }
        of_sizes!(kind(orders.len(), buffer), ORDERS, BUFFER => {
            const { assert!(align_of::<Kept<ORDERS, BUFFER>>() <= CPOISE_STREAM_ALIGNMENT) };
            let needed = size_of::<Kept<ORDERS, BUFFER>>();
            if bytes < needed {
                return Err(Failure::new(
                    CPOISE_BUFFER_TOO_SMALL,
                    format_args!("the stream needs {needed} bytes, and memory has {bytes}"),
                ));
            }
            let made = extraction_of::<ORDERS>(&from, orders)?.stream::<BUFFER>();
            output(memory.cast::<Kept<ORDERS, BUFFER>>(), "memory")?
                .write(Kept { kind: kind(ORDERS, BUFFER), stream: made });
            stream.write(memory.cast::<cpoise_stream>());
            Ok(())
        }, else Err(no_such_stream(orders.len(), buffer)))
    })
}

/// The lowest speed, in rpm, that the buffer holds two turns of.
///
/// Refuses: a stream that was not made (CPOISE_WRONG_STATE), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_stream_lowest_speed(
    stream: *const cpoise_stream,
    lowest_rpm: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let lowest_rpm = output(lowest_rpm, "lowest_rpm")?;
        let stream = stream.cast_mut();
        with_stream!(stream, shared, cast, kept => {
            lowest_rpm.write(kept.stream.lowest_rpm());
            Ok(())
        })
    })
}

/// The next sample.
///
/// Refuses: one that is not finite (1308); one that would be lost, as no mark has come for so long (1310). After a lost
/// sample the stream takes no more, and gives the same status; what was extracted before stays. A stream that was not made
/// (CPOISE_WRONG_STATE), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_stream_sample(
    stream: *mut cpoise_stream,
    sample: f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, { with_stream!(stream, exclusive, cast, kept => Ok(kept.stream.sample(sample)?)) })
}

/// The next mark, after the samples up to it.
///
/// Refuses: one that does not come after the one before, or before the samples between them (1302): it is not taken. The
/// status of a lost sample, after one. A stream that was not made (CPOISE_WRONG_STATE), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_stream_mark(
    stream: *mut cpoise_stream,
    mark: *const cpoise_mark,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let mark = value(mark, "mark")?;
        with_stream!(stream, exclusive, cast, kept => Ok(kept.stream.mark(mark.into())?))
    })
}

/// What the samples so far say, up to the last mark but one. Bit for bit that of the same samples in one piece.
///
/// chain, channel: NULL, or what makes readings of it.
///
/// Refuses: too few turns (1307), orders that cannot be told apart (1305) or that the sampling cannot show (1306), samples
/// that do not determine the orders (1309); a chain or channel that cannot be one (101, 102, 104, 201, 1303, 1316, 1317,
/// CPOISE_BAD_SIZE, CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT); a stream that was not made (CPOISE_WRONG_STATE),
/// CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_stream_estimate(
    stream: *const cpoise_stream,
    chain: *const cpoise_sensor_chain,
    channel: *const cpoise_channel,
    vector: *mut cpoise_synchronous_vector,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let vector = output(vector, "vector")?;
        let stream = stream.cast_mut();
        with_stream!(stream, shared, cast, kept => {
            vector.write(vector_of(&kept.stream.estimate()?, chain, channel)?);
            Ok(())
        })
    })
}

/// What all samples say, up to the last mark; the stream may go on. The stack holds the stream once meanwhile.
///
/// Refuses: as cpoise_stream_estimate.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_stream_finish(
    stream: *const cpoise_stream,
    chain: *const cpoise_sensor_chain,
    channel: *const cpoise_channel,
    vector: *mut cpoise_synchronous_vector,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let vector = output(vector, "vector")?;
        let stream = stream.cast_mut();
        with_stream!(stream, shared, cast, kept => {
            vector.write(vector_of(&kept.stream.clone().finish()?, chain, channel)?);
            Ok(())
        })
    })
}
