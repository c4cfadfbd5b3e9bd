//! First weights, before any trial run: how heavy, and where.
//!
//! The size comes from a rule or a stored influence coefficient, the place from the reading, from how the sensor and the
//! pickup stand, and from how the machine answers. Both are estimates: the answer advises a part of the whole to start
//! with, and says why.

use core::ffi::c_char;

use counterpoise::first_weight::{FirstWeight, FirstWeightCaution, Regime, Sensor, SizeRule};
use counterpoise::{Angle, Force, Mass, Reading, Speed, Unbalance};

use crate::argument::{TextBuffer, output, text, value};
use crate::channel::cpoise_reading;
use crate::constant::chosen;
use crate::convention::{cpoise_influence, cpoise_unbalance_vector};
use crate::detail::cpoise_detail;
use crate::failure::Failure;
use crate::provenance::CPOISE_SOURCE_BYTES;
use crate::status::{CPOISE_UNKNOWN_CONSTANT, cpoise_status};
use crate::vibration_unit::cpoise_vibration_unit;

// How the machine answers the pull of an unbalance.

/// Stiffness holds the pull: the rotor moves with it.
pub const CPOISE_FAR_BELOW_RESONANCE: i32 = 1;
/// Mass alone holds the pull, as on an engine on soft mounts: the rotor moves against it.
pub const CPOISE_FAR_ABOVE_RESONANCE: i32 = 2;
/// The angle itself is stated, of the quantity that is read.
pub const CPOISE_RESPONSE_STATED: i32 = 3;

// Rules for the size.

/// The trial weight pulls with a tenth of the static load.
pub const CPOISE_RULE_STATIC_LOAD: i32 = 1;
/// The trial weight pulls with a stated fraction of the static load: U = f F / W^2.
pub const CPOISE_RULE_STATIC_LOAD_FRACTION: i32 = 2;
/// Far above resonance: the mass that moves along holds the pull.
pub const CPOISE_RULE_MASS_CONTROLLED: i32 = 3;
/// The caller's own: so much unbalance per unit of vibration.
pub const CPOISE_RULE_PER_VIBRATION: i32 = 4;

// Why a first weight starts with the fraction it does; the same numbers as in Rust.

/// The rule gives a trial amount already: all of it.
pub const CPOISE_START_TRIAL_AMOUNT: i32 = 1;
/// Half: it still lowers the vibration when the estimate is up to four times too large, or its place up to 75 deg out.
pub const CPOISE_START_HALF_FORGIVES: i32 = 2;
/// The caller stated the fraction.
pub const CPOISE_START_STATED: i32 = 3;

/// How the sensor and the pickup of the mark stand about the rotor. Both angles are space angles in degrees, counted with
/// the rotation from one fixed line: see cpoise_view_space_angle.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_sensor {
    /// The direction of the motion it reads: as a rule the one in which it sits, seen from the axis.
    pub direction_deg: f64,
    /// Where the mark is at the instant of its pulse: the position of the pickup.
    pub pickup_deg: f64,
    /// CPOISE_POLARITY_ALONG or CPOISE_POLARITY_AGAINST.
    pub polarity: i32,
}

/// How the machine answers at the speed of the reading.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_regime {
    /// CPOISE_FAR_BELOW_RESONANCE, CPOISE_FAR_ABOVE_RESONANCE or CPOISE_RESPONSE_STATED.
    pub kind: i32,
    /// For CPOISE_RESPONSE_STATED by how many degrees the response runs ahead of the pull; else not read.
    pub lead_deg: f64,
}

/// A rule for the size of a first weight.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_size_rule {
    /// One of the CPOISE_RULE_ numbers. It says which of the members below are read.
    pub kind: i32,
    /// For both rules of static load: the load in N.
    pub load_n: f64,
    /// For CPOISE_RULE_STATIC_LOAD_FRACTION: above 0, at most 1.
    pub fraction: f64,
    /// For CPOISE_RULE_MASS_CONTROLLED: the mass that moves along, in kg.
    pub effective_mass_kg: f64,
    /// For CPOISE_RULE_PER_VIBRATION: the unbalance in g mm,
    pub amount_g_mm: f64,
    /// for one of this unit,
    pub unit: cpoise_vibration_unit,
    /// times this factor,
    pub factor: f64,
    /// and where that comes from, UTF-8 that ends with a NUL.
    pub provenance: *const c_char,
}

/// A first weight, and what to know before it is used.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_first_weight {
    /// The full estimate: what would cancel the unbalance if the estimate were right; for static load the trial amount.
    pub estimate: cpoise_unbalance_vector,
    /// What to start with: the starting fraction of the estimate, in the same place.
    pub advised: cpoise_unbalance_vector,
    /// The part of the estimate to start with.
    pub starting_fraction: f64,
    /// Why that part: a CPOISE_START_ number.
    pub reason: i32,
    /// 1 where there is a heavy spot; 0 where there is nothing to correct.
    pub has_heavy_spot: i32,
    /// The heavy spot, opposite the estimate, in degrees from the mark, counted with the rotation; NaN where there is none.
    pub heavy_spot_deg: f64,
    /// Caution: 1 where the reading calls for no weight.
    pub nothing_to_correct: i32,
    /// Caution: 1 where the size is computed as far above resonance and the place as far below it. One of them is wrong.
    pub regimes_disagree: i32,
    /// Where the rule or the coefficient comes from, UTF-8 that ends with a NUL; cut off where it is longer.
    pub provenance: [c_char; CPOISE_SOURCE_BYTES],
}

impl TryFrom<cpoise_sensor> for Sensor {
    type Error = Failure;
    fn try_from(from: cpoise_sensor) -> Result<Self, Failure> {
        let (direction, pickup) =
            (Angle::from_degrees(from.direction_deg)?, Angle::from_degrees(from.pickup_deg)?);
        Ok(Self::new(direction, pickup, chosen(from.polarity)?))
    }
}

fn unknown(what: &str, number: i32) -> Failure {
    Failure::new(
        CPOISE_UNKNOWN_CONSTANT,
        format_args!("{what} {number} is not known: take one of the constants in the header"),
    )
}

impl TryFrom<cpoise_regime> for Regime {
    type Error = Failure;
    fn try_from(from: cpoise_regime) -> Result<Self, Failure> {
        match from.kind {
            CPOISE_FAR_BELOW_RESONANCE => Ok(Self::FarBelowResonance),
            CPOISE_FAR_ABOVE_RESONANCE => Ok(Self::FarAboveResonance),
            CPOISE_RESPONSE_STATED => Ok(Self::Stated(Angle::from_degrees(from.lead_deg)?)),
            other => Err(unknown("regime", other)),
        }
    }
}

/// A rule for as long as the body of a call: its words belong to the caller.
unsafe fn rule_of<'a>(from: &cpoise_size_rule) -> Result<SizeRule<'a>, Failure> {
    Ok(match from.kind {
        CPOISE_RULE_STATIC_LOAD => SizeRule::static_load(Force::from_newtons(from.load_n)?)?,
        CPOISE_RULE_STATIC_LOAD_FRACTION => {
            SizeRule::static_load_fraction(Force::from_newtons(from.load_n)?, from.fraction)?
        }
        CPOISE_RULE_MASS_CONTROLLED => {
            SizeRule::mass_controlled(Mass::from_kilograms(from.effective_mass_kg)?)?
        }
        CPOISE_RULE_PER_VIBRATION => {
            // SAFETY: the caller keeps the rules at the top of the header.
            let provenance = unsafe { text(from.provenance, "the rule's provenance") }?;
            let amount = Unbalance::from_gram_millimetres(from.amount_g_mm)?;
            SizeRule::per_vibration(amount, from.unit.try_into()?, from.factor, provenance)?
        }
        other => return Err(unknown("rule", other)),
    })
}

/// What a first weight tells, with another fraction to start with where the caller states one.
fn told(first: FirstWeight<'_>, starting_fraction: f64) -> Result<cpoise_first_weight, Failure> {
    // Not a number is stated, and refused.
    let first =
        if starting_fraction == 0.0 { first } else { first.with_starting_fraction(starting_fraction)? };
    let mut provenance = TextBuffer::new();
    provenance.write(format_args!("{}", first.provenance()));
    let cautioned = |caution| first.cautions().any(|of| of == caution).into();
    Ok(cpoise_first_weight {
        estimate: first.estimate().into(),
        advised: first.advised().into(),
        starting_fraction: first.starting_fraction(),
        reason: first.reason().code(),
        has_heavy_spot: first.heavy_spot().is_some().into(),
        heavy_spot_deg: first.heavy_spot().map_or(f64::NAN, |place| place.with_rotation().degrees()),
        nothing_to_correct: cautioned(FirstWeightCaution::NothingToCorrect),
        regimes_disagree: cautioned(FirstWeightCaution::RegimesDisagree),
        provenance: provenance.ended(),
    })
}

/// The regime at a speed, for a machine with one resonance that matters: far below it up to half its speed, far above it
/// from twice its speed on (common practice, no source).
///
/// Refuses: a speed between (601), one that is not positive (102), numbers that are not finite (101) or beyond range (104),
/// CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_regime_from_resonance(
    speed_rpm: f64,
    resonance_rpm: f64,
    regime: *mut cpoise_regime,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let regime = output(regime, "regime")?;
        let found = Regime::from_resonance(Speed::from_rpm(speed_rpm)?, Speed::from_rpm(resonance_rpm)?)?;
        let kind = match found {
            Regime::FarBelowResonance => CPOISE_FAR_BELOW_RESONANCE,
            _ => CPOISE_FAR_ABOVE_RESONANCE,
        };
        regime.write(cpoise_regime { kind, lead_deg: 0.0 });
        Ok(())
    })
}

/// A first weight whose size comes from a rule, set opposite the heavy spot. For a reading of zero it is no weight, with a
/// caution.
///
/// starting_fraction: above 0, at most 1; 0 for the usual one.
///
/// Refuses: a fraction that is none (602), an estimate beyond range (604), a rule without its origin (605), numbers that
/// cannot be what they stand for (101 to 104), a reading that cannot be one (201, 202, 205, 206, CPOISE_OUT_OF_RANGE),
/// CPOISE_NOT_UTF8, CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_first_weight_by_rule(
    reading: *const cpoise_reading,
    rule: *const cpoise_size_rule,
    sensor: *const cpoise_sensor,
    regime: *const cpoise_regime,
    starting_fraction: f64,
    first_weight: *mut cpoise_first_weight,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let first_weight = output(first_weight, "first_weight")?;
        let (reading, rule) = (value(reading, "reading")?, value(rule, "rule")?);
        let (sensor, regime) = (value(sensor, "sensor")?, value(regime, "regime")?);
        let reading = Reading::try_from(reading)?;
        let first = FirstWeight::by_rule(&reading, &rule_of(&rule)?, sensor.try_into()?, regime.try_into()?)?;
        first_weight.write(told(first, starting_fraction)?);
        Ok(())
    })
}

/// A first weight from an influence coefficient of an earlier job or a sister machine: U = -v/H. The coefficient belongs
/// to the channel of the reading: in its unit, at its nominal speed.
///
/// provenance: where the coefficient comes from, UTF-8 that ends with a NUL. starting_fraction: above 0, at most 1; 0 for
/// the usual one.
///
/// Refuses: a fraction that is none (602), a coefficient of zero (603), an estimate beyond range (604), words that say
/// nothing (605), numbers that cannot be what they stand for (101 to 104), a reading that cannot be one (201, 202, 205,
/// 206, CPOISE_OUT_OF_RANGE), CPOISE_NOT_UTF8, CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_first_weight_by_influence(
    reading: *const cpoise_reading,
    influence: *const cpoise_influence,
    provenance: *const c_char,
    starting_fraction: f64,
    first_weight: *mut cpoise_first_weight,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let first_weight = output(first_weight, "first_weight")?;
        let (reading, influence) = (value(reading, "reading")?, value(influence, "influence")?);
        let provenance = text(provenance, "provenance")?;
        let reading = Reading::try_from(reading)?;
        let first = FirstWeight::by_influence(&reading, influence.try_into()?, provenance)?;
        first_weight.write(told(first, starting_fraction)?);
        Ok(())
    })
}
