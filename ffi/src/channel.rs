//! Channels and readings: a sensor at a speed, what it read, and how precise that is.
//!
//! Readings that are put together must be of equal channels: sensor, unit, phase sense, window and law. "Variance" is
//! always per real component.

use counterpoise::{
    Channel, DegreesOfFreedom, PhaseSense, PolarVibration, Precision, Reading, Scatter, Speed, SpeedLaw,
    SpeedWindow, Vibration,
};

use crate::argument::{optional_output, output, value};
use crate::constant::{Constant, chosen};
use crate::convention::cpoise_vibration;
use crate::detail::cpoise_detail;
use crate::failure::Failure;
use crate::status::{CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT, cpoise_status};
use crate::vibration_unit::cpoise_vibration_unit;

/// No law: a reading outside the channel's window is refused.
pub const CPOISE_LAW_NONE: i32 = 0;

constants! {
    /// How the response to one unbalance grows with speed, away from resonance.
    SpeedLaw, "law of speed" {
        /// Far below resonance: displacement grows as the 2nd power of speed, velocity as the 3rd, acceleration as the 4th.
        CPOISE_LAW_STIFFNESS_CONTROLLED = 1 => StiffnessControlled,
        /// Far above resonance: displacement does not change with speed, velocity grows as the 1st power, acceleration as
        /// the 2nd.
        CPOISE_LAW_MASS_CONTROLLED = 2 => MassControlled,
    }
}

/// The scatter is stated, as good as exact: limits come from chi-squared.
pub const CPOISE_DEGREES_KNOWN: i32 = 1;
/// One variance for all components was estimated, with so many real degrees of freedom: limits come from F.
pub const CPOISE_DEGREES_CIRCULAR: i32 = 2;
/// A full covariance was estimated with so many degrees of freedom, readings less one: limits come from Hotelling's T^2.
pub const CPOISE_DEGREES_FULL: i32 = 3;

/// A reading has a weight up to a common factor, such as the number of readings averaged.
pub const CPOISE_PRECISION_RELATIVE: i32 = 1;
/// A reading has a scatter: stated, or estimated from repeated readings.
pub const CPOISE_PRECISION_SCATTER: i32 = 2;

/// A measuring point at a speed. Made by cpoise_channel_make.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_channel {
    /// The caller's number of the sensor: 0 to 65535.
    pub sensor: u32,
    /// How the phases of its readings are counted: CPOISE_PHASE_LAG or CPOISE_PHASE_LEAD.
    pub phase: i32,
    /// The unit of its readings.
    pub unit: cpoise_vibration_unit,
    /// The lowest speed it holds for.
    pub lowest_rpm: f64,
    /// The speed it is meant for.
    pub nominal_rpm: f64,
    /// The highest speed it holds for.
    pub highest_rpm: f64,
    /// CPOISE_LAW_NONE, or the law that brings readings at any speed to the nominal one.
    pub law: i32,
}

/// The scatter of one vibration: the covariance of its two components, in the channel's unit squared.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_scatter {
    /// The variance of the real part.
    pub re_re: f64,
    /// The covariance of the two parts.
    pub re_im: f64,
    /// The variance of the imaginary part.
    pub im_im: f64,
    /// How well it is known: CPOISE_DEGREES_KNOWN, CPOISE_DEGREES_CIRCULAR or CPOISE_DEGREES_FULL.
    pub degrees_kind: i32,
    /// Degrees of freedom; not read where it is known.
    pub degrees_of_freedom: f64,
}

/// One reading of one channel. Made by cpoise_reading_make.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_reading {
    /// The channel it belongs to.
    pub channel: cpoise_channel,
    /// The vibration as it was read, canonical.
    pub vibration: cpoise_vibration,
    /// The speed it was taken at.
    pub speed_rpm: f64,
    /// CPOISE_PRECISION_RELATIVE or CPOISE_PRECISION_SCATTER.
    pub precision: i32,
    /// With CPOISE_PRECISION_RELATIVE: what multiplies the squared residual, 1 for a single reading.
    pub weight: f64,
    /// With CPOISE_PRECISION_SCATTER.
    pub scatter: cpoise_scatter,
}

const NO_SCATTER: cpoise_scatter =
    cpoise_scatter { re_re: 0.0, re_im: 0.0, im_im: 0.0, degrees_kind: 0, degrees_of_freedom: 0.0 };

impl TryFrom<cpoise_channel> for Channel {
    type Error = Failure;
    fn try_from(from: cpoise_channel) -> Result<Self, Failure> {
        let sensor = u16::try_from(from.sensor).map_err(|_| {
            Failure::new(
                CPOISE_OUT_OF_RANGE,
                format_args!("sensor must be at most 65535, got {}", from.sensor),
            )
        })?;
        let [lowest, nominal, highest] =
            [from.lowest_rpm, from.nominal_rpm, from.highest_rpm].map(Speed::from_rpm);
        let window = SpeedWindow::between(lowest?, nominal?, highest?)?;
        let channel = Self::new(sensor, from.unit.try_into()?, chosen::<PhaseSense>(from.phase)?, window);
        Ok(if from.law == CPOISE_LAW_NONE { channel } else { channel.with_law(chosen(from.law)?) })
    }
}

impl From<Channel> for cpoise_channel {
    fn from(from: Channel) -> Self {
        let window = from.window();
        Self {
            sensor: from.sensor().into(),
            phase: from.phase_sense().number(),
            unit: from.unit().into(),
            lowest_rpm: window.lowest().rpm(),
            nominal_rpm: window.nominal().rpm(),
            highest_rpm: window.highest().rpm(),
            law: from.law().map_or(CPOISE_LAW_NONE, Constant::number),
        }
    }
}

/// Degrees of freedom as kind and number.
pub fn degrees(from: DegreesOfFreedom) -> (i32, f64) {
    (from.code(), from.count())
}

impl TryFrom<cpoise_scatter> for Scatter {
    type Error = Failure;
    fn try_from(from: cpoise_scatter) -> Result<Self, Failure> {
        let degrees = match from.degrees_kind {
            CPOISE_DEGREES_KNOWN => DegreesOfFreedom::Known,
            CPOISE_DEGREES_CIRCULAR => DegreesOfFreedom::Circular(from.degrees_of_freedom),
            CPOISE_DEGREES_FULL => DegreesOfFreedom::Full(from.degrees_of_freedom),
            other => {
                return Err(Failure::new(
                    CPOISE_UNKNOWN_CONSTANT,
                    format_args!(
                        "degrees_kind {other} is not known: take one of the constants in the header"
                    ),
                ));
            }
        };
        Ok(Self::from_covariance([[from.re_re, from.re_im], [from.re_im, from.im_im]], degrees)?)
    }
}

impl From<Scatter> for cpoise_scatter {
    fn from(from: Scatter) -> Self {
        let [[re_re, re_im], [_, im_im]] = from.covariance();
        let (degrees_kind, degrees_of_freedom) = degrees(from.degrees_of_freedom());
        Self { re_re, re_im, im_im, degrees_kind, degrees_of_freedom }
    }
}

impl TryFrom<cpoise_reading> for Reading {
    type Error = Failure;
    fn try_from(from: cpoise_reading) -> Result<Self, Failure> {
        let channel = Channel::try_from(from.channel)?;
        let reading = channel.reading_of(from.vibration.try_into()?).at(Speed::from_rpm(from.speed_rpm)?)?;
        match from.precision {
            CPOISE_PRECISION_RELATIVE => Ok(reading.with_weight(from.weight)?),
            CPOISE_PRECISION_SCATTER => Ok(reading.with_scatter(from.scatter.try_into()?)),
            other => Err(Failure::new(
                CPOISE_UNKNOWN_CONSTANT,
                format_args!("precision {other} is not known: take one of the constants in the header"),
            )),
        }
    }
}

impl From<Reading> for cpoise_reading {
    fn from(from: Reading) -> Self {
        let (precision, weight, scatter) = match from.precision() {
            Precision::Relative { weight } => (CPOISE_PRECISION_RELATIVE, weight, NO_SCATTER),
            Precision::Scatter(scatter) => (CPOISE_PRECISION_SCATTER, 0.0, scatter.into()),
        };
        Self {
            channel: (*from.channel()).into(),
            vibration: from.vibration().into(),
            speed_rpm: from.speed().rpm(),
            precision,
            weight,
            scatter,
        }
    }
}

/// A channel of a sensor, which the caller numbers as he likes, with a window of so many percent to either side of its
/// nominal speed; away from resonances one percent is common practice (no source). Other bounds, and a law, are written
/// into its members.
///
/// phase: CPOISE_PHASE_LAG or CPOISE_PHASE_LEAD.
///
/// Refuses: a window that does not hold the nominal speed (201), a speed that cannot be one (101, 102, 104), a sensor
/// beyond 65535 (CPOISE_OUT_OF_RANGE), CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_channel_make(
    sensor: u32,
    unit: *const cpoise_vibration_unit,
    phase: i32,
    nominal_rpm: f64,
    percent: f64,
    channel: *mut cpoise_channel,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let channel = output(channel, "channel")?;
        let unit = value(unit, "unit")?;
        let window = SpeedWindow::around_percent(Speed::from_rpm(nominal_rpm)?, percent)?;
        let made = cpoise_channel {
            sensor,
            phase,
            unit,
            lowest_rpm: window.lowest().rpm(),
            nominal_rpm,
            highest_rpm: window.highest().rpm(),
            law: CPOISE_LAW_NONE,
        };
        // Through the same checks as wherever it is used.
        channel.write(Channel::try_from(made)?.into());
        Ok(())
    })
}

/// A reading from an amplitude in the channel's unit and a phase in degrees, counted as the channel says, taken at a speed.
/// Its precision is a weight of 1; write another, or a scatter, into its members.
///
/// Refuses: a speed outside the channel's window where it has no law (202), numbers that cannot be what they stand for
/// (101 to 104), a channel that cannot be one (201, CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_reading_make(
    channel: *const cpoise_channel,
    amplitude: f64,
    phase_deg: f64,
    speed_rpm: f64,
    reading: *mut cpoise_reading,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let reading = output(reading, "reading")?;
        let channel = Channel::try_from(value(channel, "channel")?)?;
        reading.write(channel.reading(amplitude, phase_deg)?.at(Speed::from_rpm(speed_rpm)?)?.into());
        Ok(())
    })
}

/// Amplitude in the channel's unit, and phase in degrees in [0, 360), counted as the channel says.
///
/// Refuses: numbers that cannot be what they stand for (101, 102, 104), a channel that cannot be one (201,
/// CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_channel_polar(
    channel: *const cpoise_channel,
    vibration: *const cpoise_vibration,
    amplitude: *mut f64,
    phase_deg: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let (to_amplitude, to_phase) = (output(amplitude, "amplitude")?, output(phase_deg, "phase_deg")?);
        let channel = Channel::try_from(value(channel, "channel")?)?;
        let PolarVibration { amplitude, phase, .. } =
            channel.polar(value(vibration, "vibration")?.try_into()?);
        to_amplitude.write(amplitude);
        to_phase.write(phase.degrees());
        Ok(())
    })
}

/// The vibration of a reading as it would be at the nominal speed, and the factor that the channel's law multiplies it
/// with: 1 without a law. factor may be NULL.
///
/// Refuses: a reading that cannot be one (101 to 104, 201, 202, 205, 206, CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT),
/// CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_reading_at_nominal_speed(
    reading: *const cpoise_reading,
    vibration: *mut cpoise_vibration,
    factor: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let vibration = output(vibration, "vibration")?;
        let factor = optional_output(factor, "factor")?;
        let reading = Reading::try_from(value(reading, "reading")?)?;
        vibration.write(reading.at_nominal_speed().into());
        if let Some(factor) = factor {
            factor.write(reading.speed_factor());
        }
        Ok(())
    })
}

/// How the vibration changed since an earlier reading of the same channel, both at the nominal speed.
///
/// Refuses: readings of two channels (203), a reading that cannot be one (101 to 104, 201, 202, 205, 206,
/// CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_reading_change(
    reading: *const cpoise_reading,
    earlier: *const cpoise_reading,
    change: *mut cpoise_vibration,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let change = output(change, "change")?;
        let reading = Reading::try_from(value(reading, "reading")?)?;
        let earlier = Reading::try_from(value(earlier, "earlier")?)?;
        change.write(reading.change_from(&earlier)?.into());
        Ok(())
    })
}

/// A stated standard deviation of each component, in the channel's unit, as a scatter that is known.
///
/// Refuses: one that is not a positive number (101, 102, 104), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_scatter_known(
    standard_deviation: f64,
    scatter: *mut cpoise_scatter,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let scatter = output(scatter, "scatter")?;
        scatter.write(Scatter::known(standard_deviation)?.into());
        Ok(())
    })
}

/// Stated standard deviations of the amplitude, in the channel's unit, and of the phase, in degrees, of a vibration: s_A^2
/// along it and (A s_phi)^2 across it, to first order.
///
/// Refuses: one that is negative or not finite, or both components without scatter (101 to 104), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_scatter_known_polar(
    vibration: *const cpoise_vibration,
    amplitude_deviation: f64,
    phase_deviation_deg: f64,
    scatter: *mut cpoise_scatter,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let scatter = output(scatter, "scatter")?;
        let vibration = Vibration::try_from(value(vibration, "vibration")?)?;
        scatter.write(Scatter::known_polar(vibration, amplitude_deviation, phase_deviation_deg)?.into());
        Ok(())
    })
}

/// Both scatters at once, as of a reading that repeats and drifts: covariances add; degrees of freedom by Welch and
/// Satterthwaite (JCGM 100:2008, G.4.1).
///
/// Refuses: a scatter that cannot be one (205, 206, CPOISE_UNKNOWN_CONSTANT), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_scatter_plus(
    one: *const cpoise_scatter,
    other: *const cpoise_scatter,
    sum: *mut cpoise_scatter,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let sum = output(sum, "sum")?;
        let one = Scatter::try_from(value(one, "one")?)?;
        sum.write(one.plus(&value(other, "other")?.try_into()?).into());
        Ok(())
    })
}

/// The semi-axes, larger first, of the ellipse about a vibration that holds the truth with a confidence, such as 0.95, in
/// the channel's unit; infinite where the scatter is known too little.
///
/// Refuses: a scatter that cannot be one (205, 206, CPOISE_UNKNOWN_CONSTANT), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_scatter_semi_axes(
    scatter: *const cpoise_scatter,
    confidence: f64,
    larger: *mut f64,
    smaller: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let (to_larger, to_smaller) = (output(larger, "larger")?, output(smaller, "smaller")?);
        let [larger, smaller] = Scatter::try_from(value(scatter, "scatter")?)?.semi_axes(confidence);
        to_larger.write(larger);
        to_smaller.write(smaller);
        Ok(())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kinds_of_degrees_are_numbered_as_in_rust() {
        assert_eq!(degrees(DegreesOfFreedom::Known), (CPOISE_DEGREES_KNOWN, f64::INFINITY));
        assert_eq!(degrees(DegreesOfFreedom::Circular(3.0)), (CPOISE_DEGREES_CIRCULAR, 3.0));
        assert_eq!(degrees(DegreesOfFreedom::Full(4.0)), (CPOISE_DEGREES_FULL, 4.0));
    }
}
