//! Severity: how severe a vibration is.
//!
//! Zones of machines (ISO 20816 and older), a scale of the caller's own, limits of propellers. Each limit says where it comes
//! from; figures from memory say so in their provenance.

use counterpoise::tolerance::{
    MachineClass, MachineGroup, OwnScale, PropellerLimits, PropellerVibration, ScaleStep, SeverityZones,
    Support, Zone,
};
use counterpoise::{Limit, Provenance, QuantityError, Speed, Vibration, VibrationUnit};

use crate::argument::{list, output, value};
use crate::constant::{Constant, chosen};
use crate::convention::cpoise_vibration;
use crate::detail::cpoise_detail;
use crate::failure::Failure;
use crate::provenance::{cpoise_limit, cpoise_provenance};
use crate::status::cpoise_status;
use crate::vibration_unit::cpoise_vibration_unit;

constants! {
    /// The zones of the evaluation standards, from the best on.
    Zone, "zone" {
        /// As of machines newly put into service.
        CPOISE_ZONE_A = 1 => A,
        /// As is found acceptable for long-term running.
        CPOISE_ZONE_B = 2 => B,
        /// As is found not satisfactory for long-term running.
        CPOISE_ZONE_C = 3 => C,
        /// As is found severe enough to cause damage.
        CPOISE_ZONE_D = 4 => D,
    }
    /// Groups of machines of ISO 20816-3, by size.
    MachineGroup, "group of machines" {
        /// Group 1: above 300 kW, or electrical machines of 315 mm shaft height and more.
        CPOISE_MACHINE_LARGE = 1 => Large,
        /// Group 2: 15 to 300 kW, or electrical machines of 160 to 315 mm shaft height.
        CPOISE_MACHINE_MEDIUM = 2 => Medium,
    }
    /// What a machine stands on.
    Support, "support" {
        /// The lowest natural frequency of machine and support lies well above the frequency of rotation.
        CPOISE_SUPPORT_RIGID = 1 => Rigid,
        /// Anything else.
        CPOISE_SUPPORT_FLEXIBLE = 2 => Flexible,
    }
    /// Classes of machines of the older ISO 10816-1, annex B.
    MachineClass, "class of machines" {
        /// Small machines, such as electric motors up to 15 kW.
        CPOISE_CLASS_I = 1 => I,
        /// Medium machines, 15 to 75 kW, or up to 300 kW on special foundations.
        CPOISE_CLASS_II = 2 => II,
        /// Large machines on rigid and heavy foundations.
        CPOISE_CLASS_III = 3 => III,
        /// Large machines on soft foundations.
        CPOISE_CLASS_IV = 4 => IV,
    }
    /// What the amplitude of a propeller's vibration asks for.
    PropellerVibration, "vibration of a propeller" {
        /// At or below what is called a good result: nothing to do.
        CPOISE_PROPELLER_GOOD = 1 => Good,
        /// Below the most that is permitted, and above a good result: balancing would better it.
        CPOISE_PROPELLER_PERMITTED = 2 => Permitted,
        /// Above what is permitted: balance.
        CPOISE_PROPELLER_BALANCE = 3 => Balance,
        /// So large that static balancing, and a look at the machine, come first.
        CPOISE_PROPELLER_STATIC_FIRST = 4 => StaticFirst,
    }
}

/// Three boundaries between four zones, in a unit. Filled by the calls below, or by the caller with his own.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_severity_zones {
    /// The unit of the boundaries.
    pub unit: cpoise_vibration_unit,
    /// A/B, B/C and C/D: positive and rising.
    pub boundaries: [f64; 3],
    /// Where they come from.
    pub provenance: cpoise_provenance,
}

/// Amplitudes that a propeller's vibration is judged by, in in/s. Filled by cpoise_propeller_limits_usual; the maker's own
/// limits go before those.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_propeller_limits {
    /// The detector of the limits: CPOISE_PEAK, CPOISE_PEAK_TO_PEAK or CPOISE_RMS.
    pub detector: i32,
    /// What is called a good result.
    pub good: cpoise_limit,
    /// The most that is permitted.
    pub most: cpoise_limit,
    /// Above it static balancing comes first.
    pub static_first: cpoise_limit,
}

impl TryFrom<cpoise_severity_zones> for SeverityZones {
    type Error = Failure;
    fn try_from(from: cpoise_severity_zones) -> Result<Self, Failure> {
        // No verdict depends on where the boundaries come from.
        Ok(Self::new(from.unit.try_into()?, from.boundaries, Provenance::CALLER)?)
    }
}

impl From<SeverityZones> for cpoise_severity_zones {
    fn from(from: SeverityZones) -> Self {
        Self { unit: from.unit().into(), boundaries: from.boundaries(), provenance: from.provenance().into() }
    }
}

impl TryFrom<cpoise_propeller_limits> for PropellerLimits {
    type Error = Failure;
    fn try_from(from: cpoise_propeller_limits) -> Result<Self, Failure> {
        let finite = |limit: cpoise_limit| {
            if limit.value.is_finite() {
                Ok(Limit::of_caller(limit.value))
            } else {
                Err(QuantityError::NotFinite { quantity: "limit", value: limit.value })
            }
        };
        Ok(Self::USUAL
            .in_detector(chosen(from.detector)?)
            .with_good(finite(from.good)?)
            .with_most(finite(from.most)?)
            .with_static_first(finite(from.static_first)?))
    }
}

/// Zones for vibration of parts that do not rotate, in mm/s RMS (ISO 20816-3:2022, from memory; check it against a copy).
///
/// group: CPOISE_MACHINE_LARGE or CPOISE_MACHINE_MEDIUM. support: CPOISE_SUPPORT_RIGID or CPOISE_SUPPORT_FLEXIBLE.
///
/// Refuses: CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_zones_iso_20816_3(
    group: i32,
    support: i32,
    zones: *mut cpoise_severity_zones,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let zones = output(zones, "zones")?;
        zones.write(SeverityZones::iso_20816_3(chosen(group)?, chosen(support)?).into());
        Ok(())
    })
}

/// The same in displacement, um RMS (ISO 20816-3:2022, from memory; check it against a copy).
///
/// Refuses: CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_zones_iso_20816_3_displacement(
    group: i32,
    support: i32,
    zones: *mut cpoise_severity_zones,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let zones = output(zones, "zones")?;
        zones.write(SeverityZones::iso_20816_3_displacement(chosen(group)?, chosen(support)?).into());
        Ok(())
    })
}

/// Zones of the older classes, in mm/s RMS (ISO 10816-1:1995, annex B, from memory; check it against a copy).
///
/// class_of_machine: CPOISE_CLASS_I to CPOISE_CLASS_IV.
///
/// Refuses: CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_zones_iso_10816_1(
    class_of_machine: i32,
    zones: *mut cpoise_severity_zones,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let zones = output(zones, "zones")?;
        zones.write(SeverityZones::iso_10816_1(chosen(class_of_machine)?).into());
        Ok(())
    })
}

/// Zones for vibration of the shaft in its bearings at a speed, um peak to peak: 4800, 9000 and 13200 over sqrt(N) (ISO
/// 7919-3, secondary source).
///
/// Refuses: a speed that cannot be one (101, 102, 104), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_zones_shaft_displacement(
    speed_rpm: f64,
    zones: *mut cpoise_severity_zones,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let zones = output(zones, "zones")?;
        zones.write(SeverityZones::shaft_displacement(Speed::from_rpm(speed_rpm)?).into());
        Ok(())
    })
}

/// The zone of an amplitude in a unit, read at a speed: CPOISE_ZONE_A to CPOISE_ZONE_D. A value on a boundary belongs to the
/// better zone; what is no amplitude, being below zero or not a number, is put into the worst.
///
/// Refuses: boundaries that do not rise (1405), a speed that cannot be one (101, 102, 104), CPOISE_UNKNOWN_CONSTANT,
/// CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_zone_of(
    zones: *const cpoise_severity_zones,
    amplitude: f64,
    unit: *const cpoise_vibration_unit,
    speed_rpm: f64,
    zone: *mut i32,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let zone = output(zone, "zone")?;
        let zones = SeverityZones::try_from(value(zones, "zones")?)?;
        let unit = VibrationUnit::try_from(value(unit, "unit")?)?;
        zone.write(zones.zone_of(amplitude, unit, Speed::from_rpm(speed_rpm)?).number());
        Ok(())
    })
}

/// What a change of the vector has to exceed to be significant: 25 % of the boundary B/C, in the zones' unit (ISO 20816-1,
/// secondary source).
///
/// Refuses: boundaries that do not rise (1405), CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_significant_change(
    zones: *const cpoise_severity_zones,
    change: *mut cpoise_limit,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let change = output(change, "change")?;
        let zones = SeverityZones::try_from(value(zones, "zones")?)?;
        change.write(cpoise_limit::new(zones.significant_change(), |number| number));
        Ok(())
    })
}

/// Whether once per turn changed significantly between two readings in a unit at a speed: the vectors are compared, as an
/// amplitude may stay while the phase turns. significant: 1 or 0.
///
/// Refuses: boundaries that do not rise (1405), numbers that cannot be what they stand for (101, 102, 104),
/// CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_is_significant_change(
    zones: *const cpoise_severity_zones,
    before: *const cpoise_vibration,
    after: *const cpoise_vibration,
    unit: *const cpoise_vibration_unit,
    speed_rpm: f64,
    significant: *mut i32,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let significant = output(significant, "significant")?;
        let zones = SeverityZones::try_from(value(zones, "zones")?)?;
        let before = Vibration::try_from(value(before, "before")?)?;
        let after = Vibration::try_from(value(after, "after")?)?;
        let (unit, speed) = (value(unit, "unit")?.try_into()?, Speed::from_rpm(speed_rpm)?);
        significant.write(zones.is_significant_change(before, after, unit, speed).into());
        Ok(())
    })
}

/// The step of a scale of the caller's own to which an amplitude belongs.
///
/// unit: of the scale. up_to: the greatest value of each step, a list of count, positive and rising. amplitude: in
/// amplitude_unit, read at a speed. step: its index, or count where it is above the last or is no amplitude.
///
/// Refuses: steps that do not rise (1405), a speed that cannot be one (101, 102, 104), CPOISE_COUNT_TOO_LARGE,
/// CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_own_scale_step(
    unit: *const cpoise_vibration_unit,
    up_to: *const f64,
    count: usize,
    amplitude: f64,
    amplitude_unit: *const cpoise_vibration_unit,
    speed_rpm: f64,
    step: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let step = output(step, "step")?;
        let unit = VibrationUnit::try_from(value(unit, "unit")?)?;
        let amplitude_unit = VibrationUnit::try_from(value(amplitude_unit, "amplitude_unit")?)?;
        let speed = Speed::from_rpm(speed_rpm)?;
        let up_to = list(up_to, count, "up_to")?;
        let mut last = 0.0;
        for (at, value) in up_to.iter().copied().enumerate() {
            if !(value > last && value.is_finite()) {
                return Err(counterpoise::ToleranceError::Scale { at, value }.into());
            }
            last = value;
        }
        let within = |up_to: f64| -> Result<bool, Failure> {
            // A scale of this one step: names are the caller's matter, and a list of steps would need a heap.
            let steps = [ScaleStep { up_to, name: "within" }];
            Ok(OwnScale::new(unit, &steps, "above")?.name_of(amplitude, amplitude_unit, speed) == "within")
        };
        let mut found = count;
        for (at, value) in up_to.iter().enumerate() {
            if within(*value)? {
                found = at;
                break;
            }
        }
        step.write(found);
        Ok(())
    })
}

/// The usual limits: 0.1 in/s and below is a good result, and above about 1 in/s static balancing comes first (common
/// practice, no source); a propeller maker's owner's manuals permit or recommend 0.2 in/s. A maker's own limit goes before
/// it: write it into most.
///
/// Refuses: CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_propeller_limits_usual(
    limits: *mut cpoise_propeller_limits,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let limits = output(limits, "limits")?;
        let usual = PropellerLimits::USUAL;
        limits.write(cpoise_propeller_limits {
            detector: usual.detector().number(),
            good: cpoise_limit::new(usual.good(), |number| number),
            most: cpoise_limit::new(usual.most(), |number| number),
            static_first: cpoise_limit::new(usual.static_first(), |number| number),
        });
        Ok(())
    })
}

/// What an amplitude in a unit, read at a speed, asks for: CPOISE_PROPELLER_GOOD to CPOISE_PROPELLER_STATIC_FIRST. What is
/// no amplitude, being below zero or not a number, asks for the most.
///
/// Refuses: limits that are not finite (101), a speed that cannot be one (101, 102, 104), CPOISE_UNKNOWN_CONSTANT,
/// CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_propeller_judge(
    limits: *const cpoise_propeller_limits,
    amplitude: f64,
    unit: *const cpoise_vibration_unit,
    speed_rpm: f64,
    asks_for: *mut i32,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let asks_for = output(asks_for, "asks_for")?;
        let limits = PropellerLimits::try_from(value(limits, "limits")?)?;
        let unit = VibrationUnit::try_from(value(unit, "unit")?)?;
        asks_for.write(limits.judge(amplitude, unit, Speed::from_rpm(speed_rpm)?).number());
        Ok(())
    })
}

/// The verdict on an amplitude with an expanded uncertainty, both in a unit, against the most that is permitted:
/// CPOISE_WITHIN, CPOISE_OUTSIDE or CPOISE_UNDECIDED.
///
/// Refuses: limits that are not finite (101), a speed that cannot be one (101, 102, 104), CPOISE_UNKNOWN_CONSTANT,
/// CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_propeller_conformity(
    limits: *const cpoise_propeller_limits,
    amplitude: f64,
    expanded_uncertainty: f64,
    unit: *const cpoise_vibration_unit,
    speed_rpm: f64,
    conformity: *mut i32,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let conformity = output(conformity, "conformity")?;
        let limits = PropellerLimits::try_from(value(limits, "limits")?)?;
        let unit = VibrationUnit::try_from(value(unit, "unit")?)?;
        let speed = Speed::from_rpm(speed_rpm)?;
        conformity.write(limits.conformity(amplitude, expanded_uncertainty, unit, speed).number());
        Ok(())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_those_of_rust() {
        use PropellerVibration::{Balance, Good, Permitted, StaticFirst};
        for zone in [Zone::A, Zone::B, Zone::C, Zone::D] {
            assert_eq!((zone.number(), Zone::of_number(zone.code())), (zone.code(), Some(zone)));
        }
        for asks in [Good, Permitted, Balance, StaticFirst] {
            assert_eq!(
                (asks.number(), PropellerVibration::of_number(asks.code())),
                (asks.code(), Some(asks))
            );
        }
    }
}
