//! Units of vibration: scale and detector, and conversion among them.

use core::ffi::{CStr, c_char};

use counterpoise::{
    Detector, MotionQuantity, QuantityError, Speed, Vibration, VibrationScale, VibrationUnit,
};

use crate::argument::{output, value};
use crate::constant::{Constant, chosen};
use crate::convention::cpoise_vibration;
use crate::detail::cpoise_detail;
use crate::failure::Failure;
use crate::status::cpoise_status;

constants! {
    /// What of a motion is measured.
    MotionQuantity, "quantity of motion" {
        /// How far the point moves.
        CPOISE_DISPLACEMENT = 1 => Displacement,
        /// How fast it moves.
        CPOISE_VELOCITY = 2 => Velocity,
        /// How its velocity changes.
        CPOISE_ACCELERATION = 3 => Acceleration,
    }
    /// Scales of vibration.
    VibrationScale, "scale of vibration" {
        /// Displacement in millimetres.
        CPOISE_SCALE_MILLIMETRE = 1 => Millimetre,
        /// Displacement in micrometres.
        CPOISE_SCALE_MICROMETRE = 2 => Micrometre,
        /// Displacement in thousandths of an inch.
        CPOISE_SCALE_MIL = 3 => Mil,
        /// Velocity in millimetres per second.
        CPOISE_SCALE_MILLIMETRE_PER_SECOND = 4 => MillimetrePerSecond,
        /// Velocity in inches per second.
        CPOISE_SCALE_INCH_PER_SECOND = 5 => InchPerSecond,
        /// Acceleration in metres per second squared.
        CPOISE_SCALE_METRE_PER_SECOND_SQUARED = 6 => MetrePerSecondSquared,
        /// Acceleration in units of gravity, 9.80665 m/s^2. This is not the gram.
        CPOISE_SCALE_STANDARD_GRAVITY = 7 => StandardGravity,
    }
    /// What of a sinusoid is called its amplitude.
    Detector, "detector" {
        /// Zero to peak.
        CPOISE_PEAK = 1 => Peak,
        /// Peak to peak: twice the peak.
        CPOISE_PEAK_TO_PEAK = 2 => PeakToPeak,
        /// Root mean square: the peak over the root of 2.
        CPOISE_RMS = 3 => Rms,
    }
}

/// A scale with a detector, such as in/s peak.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_vibration_unit {
    /// A CPOISE_SCALE_ constant.
    pub scale: i32,
    /// CPOISE_PEAK, CPOISE_PEAK_TO_PEAK or CPOISE_RMS.
    pub detector: i32,
}

impl TryFrom<cpoise_vibration_unit> for VibrationUnit {
    type Error = Failure;
    fn try_from(from: cpoise_vibration_unit) -> Result<Self, Failure> {
        Ok(Self { scale: chosen(from.scale)?, detector: chosen(from.detector)? })
    }
}

impl From<VibrationUnit> for cpoise_vibration_unit {
    fn from(from: VibrationUnit) -> Self {
        Self { scale: from.scale.number(), detector: from.detector.number() }
    }
}

/// What a scale measures: CPOISE_DISPLACEMENT, CPOISE_VELOCITY or CPOISE_ACCELERATION.
///
/// Refuses: CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_vibration_scale_quantity(
    scale: i32,
    quantity: *mut i32,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let quantity = output(quantity, "quantity")?;
        quantity.write(chosen::<VibrationScale>(scale)?.quantity().number());
        Ok(())
    })
}

/// The symbol of a scale, such as "mm/s"; static, never freed.
///
/// Refuses: CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_vibration_scale_symbol(
    scale: i32,
    symbol: *mut *const c_char,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let symbol = output(symbol, "symbol")?;
        symbol.write(scale_symbol(chosen(scale)?).as_ptr());
        Ok(())
    })
}

fn scale_symbol(scale: VibrationScale) -> &'static CStr {
    match scale {
        VibrationScale::Millimetre => c"mm",
        VibrationScale::Micrometre => c"um",
        VibrationScale::Mil => c"mil",
        VibrationScale::MillimetrePerSecond => c"mm/s",
        VibrationScale::InchPerSecond => c"in/s",
        VibrationScale::MetrePerSecondSquared => c"m/s^2",
        VibrationScale::StandardGravity => c"g_n",
        _ => c"",
    }
}

/// A detector in words, such as "peak-to-peak"; static, never freed.
///
/// Refuses: CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_detector_words(
    detector: i32,
    words: *mut *const c_char,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let words = output(words, "words")?;
        words.write(detector_words(chosen(detector)?).as_ptr());
        Ok(())
    })
}

fn detector_words(detector: Detector) -> &'static CStr {
    match detector {
        Detector::Peak => c"peak",
        Detector::PeakToPeak => c"peak-to-peak",
        Detector::Rms => c"RMS",
    }
}

/// Converts an amplitude from one unit to another. Between displacement, velocity and acceleration each derivative
/// multiplies by the angular speed.
///
/// speed_rpm: the speed it was read at; it matters where the quantity changes.
///
/// Refuses: an amplitude that is not finite (101) or a result that is not (104), a speed that cannot be one (101, 102,
/// 104), CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_vibration_convert_amplitude(
    amplitude: f64,
    from: *const cpoise_vibration_unit,
    to: *const cpoise_vibration_unit,
    speed_rpm: f64,
    result: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let result = output(result, "result")?;
        let from = VibrationUnit::try_from(value(from, "from")?)?;
        let to = VibrationUnit::try_from(value(to, "to")?)?;
        let speed = Speed::from_rpm(speed_rpm)?;
        if !amplitude.is_finite() {
            return Err(QuantityError::NotFinite { quantity: "amplitude", value: amplitude }.into());
        }
        let converted = from.convert_amplitude(amplitude, to, speed);
        if !converted.is_finite() {
            let unit = from.scale.symbol();
            return Err(QuantityError::BeyondRange { quantity: "amplitude", value: amplitude, unit }.into());
        }
        result.write(converted);
        Ok(())
    })
}

/// Converts a vibration from one unit to another, with the quarter turn that its phase takes per derivative: velocity
/// leads displacement by 90 degrees.
///
/// speed_rpm: the speed it was read at; it matters where the quantity changes.
///
/// Refuses: a vibration that is not finite (101) or beyond 1e100 (104), before or after; a speed that cannot be one (101,
/// 102, 104), CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_vibration_convert(
    vibration: *const cpoise_vibration,
    from: *const cpoise_vibration_unit,
    to: *const cpoise_vibration_unit,
    speed_rpm: f64,
    result: *mut cpoise_vibration,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let result = output(result, "result")?;
        let vibration = Vibration::try_from(value(vibration, "vibration")?)?;
        let from = VibrationUnit::try_from(value(from, "from")?)?;
        let to = VibrationUnit::try_from(value(to, "to")?)?;
        let converted = cpoise_vibration::from(from.convert(vibration, to, Speed::from_rpm(speed_rpm)?));
        // What comes back can be given back.
        Vibration::try_from(converted)?;
        result.write(converted);
        Ok(())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_scale_and_detector_has_its_constant_and_words() {
        for &scale in VibrationScale::ALL {
            assert_eq!(VibrationScale::of_number(scale.number()), Some(scale));
            assert_eq!(scale_symbol(scale).to_str().unwrap_or_default(), scale.symbol());
            assert_ne!(scale.quantity().number(), 0);
        }
        for &detector in Detector::ALL {
            assert_eq!(Detector::of_number(detector.number()), Some(detector));
            assert_eq!(detector_words(detector).to_str().unwrap_or_default(), detector.words());
        }
    }
}
