//! Quantities: mass, length, radius, speed, unbalance, force, angle.
//!
//! Everywhere else in this header the unit stands in the name: _g (gram), _mm (millimetre), _rpm (revolution per
//! minute), _g_mm (gram millimetre), _n (newton), _deg (degree). Numbers in other units are converted here. The factors
//! are exact by definition (1 in = 25.4 mm, 1 lb = 453.59237 g, 1 oz = 28.349523125 g, 1 lbf = 4.4482216152605 N; the
//! international yard and pound agreement of 1959), and a conversion is one multiplication and one division.

use core::ffi::{CStr, c_char};

use counterpoise::{
    Angle, Force, ForceUnit, Length, LengthUnit, Mass, MassUnit, Radius, Speed, SpeedUnit, Unbalance,
    UnbalanceUnit,
};

use crate::argument::output;
use crate::constant::{Constant, chosen};
use crate::detail::cpoise_detail;
use crate::failure::Failure;
use crate::status::cpoise_status;

constants! {
    /// Units of mass.
    MassUnit, "unit of mass" {
        /// The gram.
        CPOISE_GRAM = 1 => Gram,
        /// The kilogram.
        CPOISE_KILOGRAM = 2 => Kilogram,
        /// The milligram.
        CPOISE_MILLIGRAM = 3 => Milligram,
        /// The avoirdupois ounce.
        CPOISE_OUNCE = 4 => Ounce,
        /// The avoirdupois pound.
        CPOISE_POUND = 5 => Pound,
    }
    /// Units of length and of radius.
    LengthUnit, "unit of length" {
        /// The millimetre.
        CPOISE_MILLIMETRE = 1 => Millimetre,
        /// The metre.
        CPOISE_METRE = 2 => Metre,
        /// The centimetre.
        CPOISE_CENTIMETRE = 3 => Centimetre,
        /// The micrometre.
        CPOISE_MICROMETRE = 4 => Micrometre,
        /// The inch.
        CPOISE_INCH = 5 => Inch,
        /// The thousandth of an inch.
        CPOISE_MIL = 6 => Mil,
        /// The foot.
        CPOISE_FOOT = 7 => Foot,
    }
    /// Units of rotational speed.
    SpeedUnit, "unit of speed" {
        /// The revolution per minute.
        CPOISE_REVOLUTION_PER_MINUTE = 1 => RevolutionPerMinute,
        /// The revolution per second.
        CPOISE_HERTZ = 2 => Hertz,
        /// The radian per second.
        CPOISE_RADIAN_PER_SECOND = 3 => RadianPerSecond,
    }
    /// Units of unbalance: mass times radius.
    UnbalanceUnit, "unit of unbalance" {
        /// The gram millimetre.
        CPOISE_GRAM_MILLIMETRE = 1 => GramMillimetre,
        /// The gram centimetre.
        CPOISE_GRAM_CENTIMETRE = 2 => GramCentimetre,
        /// The gram metre.
        CPOISE_GRAM_METRE = 3 => GramMetre,
        /// The gram inch.
        CPOISE_GRAM_INCH = 4 => GramInch,
        /// The kilogram millimetre.
        CPOISE_KILOGRAM_MILLIMETRE = 5 => KilogramMillimetre,
        /// The kilogram metre.
        CPOISE_KILOGRAM_METRE = 6 => KilogramMetre,
        /// The ounce inch.
        CPOISE_OUNCE_INCH = 7 => OunceInch,
        /// The ounce millimetre.
        CPOISE_OUNCE_MILLIMETRE = 8 => OunceMillimetre,
        /// The pound inch.
        CPOISE_POUND_INCH = 9 => PoundInch,
    }
    /// Units of force.
    ForceUnit, "unit of force" {
        /// The newton.
        CPOISE_NEWTON = 1 => Newton,
        /// The pound-force.
        CPOISE_POUND_FORCE = 2 => PoundForce,
    }
}

/// Converts a mass. Negative means material taken off.
///
/// value: in units of from, a CPOISE_GRAM.. constant. result: in units of to.
///
/// Refuses: not finite (101), beyond 1e50 g (104), CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_mass_convert(
    value: f64,
    from: i32,
    to: i32,
    result: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let result = output(result, "result")?;
        result.write(Mass::new(value, chosen(from)?)?.value_in(chosen(to)?));
        Ok(())
    })
}

/// Converts a length, such as the distance between planes or an eccentricity; of either sign.
///
/// value: in units of from, a CPOISE_MILLIMETRE.. constant. result: in units of to.
///
/// Refuses: not finite (101), beyond 1e50 mm (104), CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_length_convert(
    value: f64,
    from: i32,
    to: i32,
    result: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let result = output(result, "result")?;
        result.write(Length::new(value, chosen(from)?)?.value_in(chosen(to)?));
        Ok(())
    })
}

/// Converts a radius: the distance of a weight from the axis, greater than zero.
///
/// value: in units of from, a CPOISE_MILLIMETRE.. constant. result: in units of to.
///
/// Refuses: not finite (101), not greater than zero (102), outside 1e-50 to 1e50 mm (104), CPOISE_UNKNOWN_CONSTANT,
/// CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_radius_convert(
    value: f64,
    from: i32,
    to: i32,
    result: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let result = output(result, "result")?;
        result.write(Radius::new(value, chosen(from)?)?.value_in(chosen(to)?));
        Ok(())
    })
}

/// Converts a speed of rotation, greater than zero.
///
/// value: in units of from, a CPOISE_REVOLUTION_PER_MINUTE.. constant. result: in units of to.
///
/// Refuses: not finite (101), not greater than zero (102), outside 1e-50 to 1e50 rpm (104), CPOISE_UNKNOWN_CONSTANT,
/// CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_speed_convert(
    value: f64,
    from: i32,
    to: i32,
    result: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let result = output(result, "result")?;
        result.write(Speed::new(value, chosen(from)?)?.value_in(chosen(to)?));
        Ok(())
    })
}

/// Converts an amount of unbalance: mass times radius.
///
/// value: in units of from, a CPOISE_GRAM_MILLIMETRE.. constant. result: in units of to.
///
/// Refuses: not finite (101), beyond 1e100 g mm (104), CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_unbalance_convert(
    value: f64,
    from: i32,
    to: i32,
    result: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let result = output(result, "result")?;
        result.write(Unbalance::new(value, chosen(from)?)?.value_in(chosen(to)?));
        Ok(())
    })
}

/// Converts a force.
///
/// value: in units of from, a CPOISE_NEWTON.. constant. result: in units of to.
///
/// Refuses: not finite (101), beyond 1e100 N (104), CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_force_convert(
    value: f64,
    from: i32,
    to: i32,
    result: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let result = output(result, "result")?;
        result.write(Force::new(value, chosen(from)?)?.value_in(chosen(to)?));
        Ok(())
    })
}

/// The centrifugal force, in N, of an unbalance in g mm at a speed in rpm: F = U W^2.
///
/// Refuses: an unbalance or a speed that cannot be one (101, 102, 104), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_centrifugal_force(
    unbalance_g_mm: f64,
    speed_rpm: f64,
    force_n: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let force_n = output(force_n, "force_n")?;
        let unbalance = Unbalance::from_gram_millimetres(unbalance_g_mm)?;
        force_n.write(unbalance.centrifugal_force(Speed::from_rpm(speed_rpm)?).newtons());
        Ok(())
    })
}

/// The unbalance, in g mm, whose centrifugal force at a speed in rpm is the given one in N: U = F / W^2.
///
/// Refuses: a force or a speed that cannot be one (101, 102, 104), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_unbalance_of_force(
    force_n: f64,
    speed_rpm: f64,
    unbalance_g_mm: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let unbalance_g_mm = output(unbalance_g_mm, "unbalance_g_mm")?;
        let force = Force::from_newtons(force_n)?;
        let unbalance = Unbalance::of_centrifugal_force(force, Speed::from_rpm(speed_rpm)?);
        unbalance_g_mm.write(unbalance.gram_millimetres());
        Ok(())
    })
}

/// An angle in degrees reduced to [0, 360), without loss: never 360 itself, never a negative zero.
///
/// Refuses: not finite (101), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_angle_reduce(
    angle_deg: f64,
    reduced_deg: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let reduced_deg = output(reduced_deg, "reduced_deg")?;
        reduced_deg.write(Angle::from_degrees(angle_deg)?.degrees());
        Ok(())
    })
}

/// An angle in radians as degrees in [0, 360).
///
/// Refuses: not finite (101), so large that its degrees overflow (104), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_angle_from_radians(
    angle_rad: f64,
    angle_deg: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let angle_deg = output(angle_deg, "angle_deg")?;
        angle_deg.write(Angle::from_radians(angle_rad)?.degrees());
        Ok(())
    })
}

/// An angle in degrees reduced to (-180, 180].
///
/// Refuses: not finite (101), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_angle_signed(
    angle_deg: f64,
    signed_deg: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let signed_deg = output(signed_deg, "signed_deg")?;
        signed_deg.write(Angle::from_degrees(angle_deg)?.signed_degrees());
        Ok(())
    })
}

/// How far apart two angles in degrees are, the shorter way round: 0 to 180.
///
/// Refuses: not finite (101), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_angle_separation(
    angle_deg: f64,
    other_deg: f64,
    separation_deg: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let separation_deg = output(separation_deg, "separation_deg")?;
        let other = Angle::from_degrees(other_deg)?;
        separation_deg.write(Angle::from_degrees(angle_deg)?.separation_degrees(other));
        Ok(())
    })
}

/// Sine and cosine of an angle in degrees, exact at multiples of 90, with the same bits on every machine.
///
/// Refuses: not finite (101), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_angle_sine_cosine(
    angle_deg: f64,
    sine: *mut f64,
    cosine: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let (to_sine, to_cosine) = (output(sine, "sine")?, output(cosine, "cosine")?);
        let (sine, cosine) = Angle::from_degrees(angle_deg)?.sin_cos();
        to_sine.write(sine);
        to_cosine.write(cosine);
        Ok(())
    })
}

/// A symbol as C text. The symbols of the mathematics have no NUL of their own.
macro_rules! symbols {
    ($unit:expr, $Unit:ident { $($Variant:ident => $symbol:literal,)+ }) => {
        match $unit {
            $( $Unit::$Variant => $symbol, )+
            _ => c"",
        }
    };
}

fn symbol_of<T: Constant>(
    unit: i32,
    symbol: *mut *const c_char,
    of: impl Fn(T) -> &'static CStr,
) -> Result<(), Failure> {
    // SAFETY: the caller keeps the rules at the top of the header.
    let symbol = unsafe { output(symbol, "symbol") }?;
    symbol.write(of(chosen(unit)?).as_ptr());
    Ok(())
}

/// The symbol of a unit of mass, such as "g"; static, never freed.
///
/// Refuses: CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_mass_unit_symbol(
    unit: i32,
    symbol: *mut *const c_char,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, { symbol_of(unit, symbol, mass_symbol) })
}

fn mass_symbol(unit: MassUnit) -> &'static CStr {
    symbols!(unit, MassUnit {
        Gram => c"g", Kilogram => c"kg", Milligram => c"mg", Ounce => c"oz", Pound => c"lb",
    })
}

/// The symbol of a unit of length, such as "mm"; static, never freed.
///
/// Refuses: CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_length_unit_symbol(
    unit: i32,
    symbol: *mut *const c_char,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, { symbol_of(unit, symbol, length_symbol) })
}

fn length_symbol(unit: LengthUnit) -> &'static CStr {
    symbols!(unit, LengthUnit {
        Millimetre => c"mm", Metre => c"m", Centimetre => c"cm", Micrometre => c"um", Inch => c"in",
        Mil => c"mil", Foot => c"ft",
    })
}

/// The symbol of a unit of speed, such as "rpm"; static, never freed.
///
/// Refuses: CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_speed_unit_symbol(
    unit: i32,
    symbol: *mut *const c_char,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, { symbol_of(unit, symbol, speed_symbol) })
}

fn speed_symbol(unit: SpeedUnit) -> &'static CStr {
    symbols!(unit, SpeedUnit {
        RevolutionPerMinute => c"rpm", Hertz => c"Hz", RadianPerSecond => c"rad/s",
    })
}

/// The symbol of a unit of unbalance, such as "g mm"; static, never freed.
///
/// Refuses: CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_unbalance_unit_symbol(
    unit: i32,
    symbol: *mut *const c_char,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, { symbol_of(unit, symbol, unbalance_symbol) })
}

fn unbalance_symbol(unit: UnbalanceUnit) -> &'static CStr {
    symbols!(unit, UnbalanceUnit {
        GramMillimetre => c"g mm", GramCentimetre => c"g cm", GramMetre => c"g m", GramInch => c"g in",
        KilogramMillimetre => c"kg mm", KilogramMetre => c"kg m", OunceInch => c"oz in",
        OunceMillimetre => c"oz mm", PoundInch => c"lb in",
    })
}

/// The symbol of a unit of force, such as "N"; static, never freed.
///
/// Refuses: CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_force_unit_symbol(
    unit: i32,
    symbol: *mut *const c_char,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, { symbol_of(unit, symbol, force_symbol) })
}

fn force_symbol(unit: ForceUnit) -> &'static CStr {
    symbols!(unit, ForceUnit { Newton => c"N", PoundForce => c"lbf", })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn every<T: Constant + Copy + PartialEq + core::fmt::Debug>(
        all: &[T],
        symbol: fn(T) -> &'static str,
        c: fn(T) -> &'static CStr,
    ) {
        for &unit in all {
            assert_eq!(T::of_number(unit.number()), Some(unit), "{unit:?} has no constant");
            assert_eq!(c(unit).to_str().unwrap_or_default(), symbol(unit));
        }
    }

    #[test]
    fn every_unit_has_its_constant_and_symbol() {
        every(MassUnit::ALL, MassUnit::symbol, mass_symbol);
        every(LengthUnit::ALL, LengthUnit::symbol, length_symbol);
        every(SpeedUnit::ALL, SpeedUnit::symbol, speed_symbol);
        every(UnbalanceUnit::ALL, UnbalanceUnit::symbol, unbalance_symbol);
        every(ForceUnit::ALL, ForceUnit::symbol, force_symbol);
    }
}
