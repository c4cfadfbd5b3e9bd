//! Tolerances: how much unbalance may stay.
//!
//! Balance quality grades and their allocation to two planes (ISO 21940-11:2016), errors of a balance (ISO 21940-14), other
//! rules. Each limit says where it comes from; figures from memory say so in their provenance.

use counterpoise::tolerance::{
    Allocation, BalanceGrade, GuardBand, IndexedByHalfTurn, ShareLimits, StaticCoupleLimits, TolerancePlanes,
    accepted_with_error, allocate_symmetric, chance_of_value_within, chance_of_vector_within, combined_error,
    coupling_floor, is_negligible, journal_rule, naval_rule, shop_test_vibration,
};
use counterpoise::{Length, Mass, QuantityError, Speed, Unbalance, UnbalanceVector};

use crate::argument::{list, output, value};
use crate::constant::Constant;
use crate::convention::cpoise_unbalance_vector;
use crate::detail::cpoise_detail;
use crate::failure::Failure;
use crate::provenance::cpoise_limit;
use crate::status::cpoise_status;

/// Gyroscopes, precision spindles. Grades are in mm/s.
pub const CPOISE_GRADE_G0_4: f64 = 0.4;
/// Grinding machine drives.
pub const CPOISE_GRADE_G1: f64 = 1.0;
/// Gas and steam turbines, compressors, machine-tool drives, electric motors of some size and speed.
pub const CPOISE_GRADE_G2_5: f64 = 2.5;
/// Fans, pumps, general machinery, aircraft gas turbines, small electric motors, water turbines.
pub const CPOISE_GRADE_G6_3: f64 = 6.3;
/// Drive shafts, crushing and agricultural machinery.
pub const CPOISE_GRADE_G16: f64 = 16.0;
/// Car wheels and drive shafts.
pub const CPOISE_GRADE_G40: f64 = 40.0;
/// Complete reciprocating engines.
pub const CPOISE_GRADE_G100: f64 = 100.0;
/// Crankshaft drives of diesel engines, the first of four steps.
pub const CPOISE_GRADE_G250: f64 = 250.0;
/// Crankshaft drives of diesel engines, the second step.
pub const CPOISE_GRADE_G630: f64 = 630.0;
/// Crankshaft drives of diesel engines, the third step.
pub const CPOISE_GRADE_G1600: f64 = 1600.0;
/// Crankshaft drives of large slow diesel engines, unbalanced by design.
pub const CPOISE_GRADE_G4000: f64 = 4000.0;

/// The least share of a plane, wherever the centre of mass lies (ISO 21940-11:2016, from memory).
pub const CPOISE_SHARE_LEAST: f64 = 0.3;
/// The greatest share where the centre of mass lies between the planes (ISO 21940-11:2016, from memory).
pub const CPOISE_SHARE_MOST_INBOARD: f64 = 0.7;
/// The greatest share where it lies outside, as of an overhung rotor (ISO 21940-11:2016, from memory).
pub const CPOISE_SHARE_MOST_OVERHUNG: f64 = 1.3;

/// What each of two tolerance planes may keep.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_allocation {
    /// The part of plane A and that of plane B, in g mm.
    pub amounts_g_mm: [f64; 2],
    /// The shares that the lever gives, with their signs: they sum to 1.
    pub shares: [f64; 2],
    /// For each plane 1 where its share was held at a limit, else 0.
    pub limited: [i32; 2],
    /// 1 where the centre of mass lies between the planes, else 0.
    pub inboard: i32,
}

fn grade_of(mm_per_s: f64) -> Result<BalanceGrade, Failure> {
    #[allow(clippy::float_cmp)] // a grade of the list is exactly so written
    let listed = BalanceGrade::LISTED.iter().find(|grade| grade.millimetres_per_second() == mm_per_s);
    Ok(listed.map_or_else(|| BalanceGrade::from_millimetres_per_second(mm_per_s), |grade| Ok(*grade))?)
}

fn positive_mass(grams: f64) -> Result<Mass, Failure> {
    let mass = Mass::from_grams(grams)?;
    if grams > 0.0 {
        Ok(mass)
    } else {
        Err(QuantityError::NotPositive { quantity: "mass", value: grams, unit: "g" }.into())
    }
}

fn allocation_of(from: Allocation, inboard: bool) -> cpoise_allocation {
    cpoise_allocation {
        amounts_g_mm: from.amounts.map(Unbalance::gram_millimetres),
        shares: from.shares,
        limited: from.limited.map(i32::from),
        inboard: i32::from(inboard),
    }
}

/// The permissible residual unbalance, in g mm, of a rotor at its highest service speed: U = 1000 G m / W, m in kg.
///
/// grade_mm_per_s: a CPOISE_GRADE_ constant, or another. mass_g: of the rotor, in g.
///
/// Refuses: a grade that is not positive or beyond 1e9 (1401), a mass or a speed that cannot be one (101, 102, 104),
/// CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_grade_permissible(
    grade_mm_per_s: f64,
    mass_g: f64,
    speed_rpm: f64,
    permissible_g_mm: *mut cpoise_limit,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let permissible_g_mm = output(permissible_g_mm, "permissible_g_mm")?;
        let (grade, mass) = (grade_of(grade_mm_per_s)?, positive_mass(mass_g)?);
        let limit = grade.permissible(mass, Speed::from_rpm(speed_rpm)?);
        permissible_g_mm.write(cpoise_limit::new(limit, Unbalance::gram_millimetres));
        Ok(())
    })
}

/// The permissible specific unbalance, in mm, at a speed: e = G / W, the distance of the centre of mass from the axis.
///
/// Refuses: a grade that is not positive or beyond 1e9 (1401), a speed that cannot be one (101, 102, 104),
/// CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_grade_specific_unbalance(
    grade_mm_per_s: f64,
    speed_rpm: f64,
    specific_mm: *mut cpoise_limit,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let specific_mm = output(specific_mm, "specific_mm")?;
        let limit = grade_of(grade_mm_per_s)?.specific_unbalance(Speed::from_rpm(speed_rpm)?);
        specific_mm.write(cpoise_limit::new(limit, Length::millimetres));
        Ok(())
    })
}

/// The grade, in mm/s, that a rotor has with a residual unbalance at a speed: G = U W / (1000 m).
///
/// Refuses: no mass, or no unbalance (1401); numbers that cannot be what they stand for (101, 102, 104),
/// CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_grade_of_residual(
    residual_g_mm: f64,
    mass_g: f64,
    speed_rpm: f64,
    grade_mm_per_s: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let grade_mm_per_s = output(grade_mm_per_s, "grade_mm_per_s")?;
        let residual = Unbalance::from_gram_millimetres(residual_g_mm)?;
        let grade =
            BalanceGrade::of_residual(residual, Mass::from_grams(mass_g)?, Speed::from_rpm(speed_rpm)?)?;
        grade_mm_per_s.write(grade.millimetres_per_second());
        Ok(())
    })
}

/// 4 W/N: what a tolerance plane may keep, in g mm, with W the static load on its journal, given as a mass (API 617, 610).
///
/// Refuses: a load that is not positive (1401), numbers that cannot be what they stand for (101, 102, 104),
/// CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_journal_rule(
    static_load_g: f64,
    speed_rpm: f64,
    permissible_g_mm: *mut cpoise_limit,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let permissible_g_mm = output(permissible_g_mm, "permissible_g_mm")?;
        let limit = journal_rule(Mass::from_grams(static_load_g)?, Speed::from_rpm(speed_rpm)?)?;
        permissible_g_mm.write(cpoise_limit::new(limit, Unbalance::gram_millimetres));
        Ok(())
    })
}

/// The naval rule, in g mm, with the mass of the whole rotor (MIL-STD-167-1, 1974): in oz in with W in lb, up to 150 rpm
/// 0.177 W, up to 1000 rpm 4000 W/N^2, above 4 W/N. The ranges below 1000 rpm are from memory, and the limit says so.
///
/// Refuses: a mass that is not positive (1401), numbers that cannot be what they stand for (101, 102, 104),
/// CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_naval_rule(
    rotor_g: f64,
    speed_rpm: f64,
    permissible_g_mm: *mut cpoise_limit,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let permissible_g_mm = output(permissible_g_mm, "permissible_g_mm")?;
        let limit = naval_rule(Mass::from_grams(rotor_g)?, Speed::from_rpm(speed_rpm)?)?;
        permissible_g_mm.write(cpoise_limit::new(limit, Unbalance::gram_millimetres));
        Ok(())
    })
}

/// The least, in g mm, that a coupling need not go below: 0.01 oz in (API 671, secondary source).
///
/// Refuses: CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_coupling_floor(
    floor_g_mm: *mut cpoise_limit,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let floor_g_mm = output(floor_g_mm, "floor_g_mm")?;
        floor_g_mm.write(cpoise_limit::new(coupling_floor(), Unbalance::gram_millimetres));
        Ok(())
    })
}

/// The shaft vibration, in mm peak to peak, that a shop test permits: 0.0254 sqrt(12000/N), at most 0.0254 (API 617,
/// secondary source).
///
/// Refuses: a speed that cannot be one (101, 102, 104), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_shop_test_vibration(
    speed_rpm: f64,
    vibration_mm: *mut cpoise_limit,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let vibration_mm = output(vibration_mm, "vibration_mm")?;
        let limit = shop_test_vibration(Speed::from_rpm(speed_rpm)?);
        vibration_mm.write(cpoise_limit::new(limit, Length::millimetres));
        Ok(())
    })
}

/// A permissible unbalance shared between two tolerance planes by the lever, each share held within limits.
///
/// plane_a_mm, plane_b_mm, centre_of_mass_mm: where they lie along the axis, from any point on it. least_share,
/// most_share: CPOISE_SHARE_LEAST with CPOISE_SHARE_MOST_INBOARD or CPOISE_SHARE_MOST_OVERHUNG; 0 and INFINITY for none.
///
/// Refuses: planes at one place (1403), limits that are none (1404), numbers that cannot be what they stand for (101,
/// 104), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_allocate(
    plane_a_mm: f64,
    plane_b_mm: f64,
    centre_of_mass_mm: f64,
    permissible_g_mm: f64,
    least_share: f64,
    most_share: f64,
    allocation: *mut cpoise_allocation,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let allocation = output(allocation, "allocation")?;
        let [a, b, centre] = [plane_a_mm, plane_b_mm, centre_of_mass_mm].map(Length::from_millimetres);
        let planes = TolerancePlanes::new(a?, b?, centre?)?;
        let permissible = Unbalance::from_gram_millimetres(permissible_g_mm)?;
        let shared = planes.allocate(permissible, ShareLimits::new(least_share, most_share)?);
        allocation.write(allocation_of(shared, planes.is_inboard()));
        Ok(())
    })
}

/// A permissible unbalance shared in equal halves: two correction planes of a rotor that is symmetric (H. P. Bloch,
/// F. K. Geitner, Machinery Component Maintenance and Repair, 3rd ed., fig. 6-33).
///
/// Refuses: an amount that cannot be one (101, 104), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_allocate_symmetric(
    permissible_g_mm: f64,
    allocation: *mut cpoise_allocation,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let allocation = output(allocation, "allocation")?;
        let halves = allocate_symmetric(Unbalance::from_gram_millimetres(permissible_g_mm)?);
        allocation.write(allocation_of(halves, true));
        Ok(())
    })
}

/// Limits of an overhung rotor, or of one whose correction planes lie close together, in g mm: what the resultant of all
/// unbalances may be, (U/2)(d/2c), and what each of the two couple planes may carry, (U/2)(3d/4b). From memory, with little
/// confidence: check it against a copy.
///
/// bearing_span_mm: d. overhang_mm: c, of the static plane. couple_planes_apart_mm: b.
///
/// Refuses: a distance that is not positive (1401), numbers that cannot be what they stand for (101, 104),
/// CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_static_couple_limits(
    permissible_g_mm: f64,
    bearing_span_mm: f64,
    overhang_mm: f64,
    couple_planes_apart_mm: f64,
    resultant_g_mm: *mut cpoise_limit,
    couple_per_plane_g_mm: *mut cpoise_limit,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let resultant_g_mm = output(resultant_g_mm, "resultant_g_mm")?;
        let couple_per_plane_g_mm = output(couple_per_plane_g_mm, "couple_per_plane_g_mm")?;
        let permissible = Unbalance::from_gram_millimetres(permissible_g_mm)?;
        let [span, overhang, apart] =
            [bearing_span_mm, overhang_mm, couple_planes_apart_mm].map(Length::from_millimetres);
        let limits = StaticCoupleLimits::of_overhung(permissible, span?, overhang?, apart?)?;
        resultant_g_mm.write(cpoise_limit::new(limits.resultant, Unbalance::gram_millimetres));
        couple_per_plane_g_mm.write(cpoise_limit::new(limits.couple_per_plane, Unbalance::gram_millimetres));
        Ok(())
    })
}

/// What indexing by half a turn takes apart: the rotor's own unbalance, (u1 - u2)/2, and that of the fixture it sits on,
/// (u1 + u2)/2 (the idea of ISO 21940-14, from memory).
///
/// first, turned: the indicated unbalance as first put on, and with the rotor turned by half a turn on the fixture, both at
/// the angles of the fixture. rotor: at the angles of the first reading.
///
/// Refuses: numbers that are not finite (101) or beyond 1e100 (104), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_index_by_half_turn(
    first: *const cpoise_unbalance_vector,
    turned: *const cpoise_unbalance_vector,
    rotor: *mut cpoise_unbalance_vector,
    fixture: *mut cpoise_unbalance_vector,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let (rotor, fixture) = (output(rotor, "rotor")?, output(fixture, "fixture")?);
        let first = UnbalanceVector::try_from(value(first, "first")?)?;
        let parts = IndexedByHalfTurn::of(first, value(turned, "turned")?.try_into()?);
        rotor.write(parts.rotor.into());
        fixture.write(parts.fixture.into());
        Ok(())
    })
}

/// Errors that do not repeat, taken together, in g mm: the root of the sum of their squares (ISO 21940-14, from memory).
///
/// errors_g_mm: a list of count.
///
/// Refuses: an error that is below zero (1406), numbers that cannot be what they stand for (101, 104),
/// CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_combined_error(
    errors_g_mm: *const f64,
    count: usize,
    combined_g_mm: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let combined_g_mm = output(combined_g_mm, "combined_g_mm")?;
        // √(a² + b²), one after the other, as of the whole list, without a heap to make a list of.
        let mut all = Unbalance::ZERO;
        for (at, error) in list(errors_g_mm, count, "errors_g_mm")?.iter().enumerate() {
            let error = Unbalance::from_gram_millimetres(*error)?;
            if error < Unbalance::ZERO {
                let value = error.gram_millimetres();
                return Err(counterpoise::ToleranceError::NegativeError { at, value }.into());
            }
            all = combined_error(&[all, error])?;
        }
        combined_g_mm.write(all.gram_millimetres());
        Ok(())
    })
}

/// The verdict on a measured residual against a permissible one, with the error of the measurement, all in g mm. The
/// producer accepts below the limit by the error, the user rejects above it by the error (ISO 21940-14, from memory); an
/// error that is negligible is left out where it stands against acceptance.
///
/// conformity: CPOISE_WITHIN, CPOISE_OUTSIDE or CPOISE_UNDECIDED.
///
/// Refuses: numbers that cannot be what they stand for (101, 104), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_accepted_with_error(
    measured_g_mm: f64,
    permissible_g_mm: f64,
    error_g_mm: f64,
    conformity: *mut i32,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let conformity = output(conformity, "conformity")?;
        let [measured, permissible, error] =
            [measured_g_mm, permissible_g_mm, error_g_mm].map(Unbalance::from_gram_millimetres);
        conformity.write(accepted_with_error(measured?, permissible?, error?).number());
        Ok(())
    })
}

/// Whether an error, 0 or more, is so small that it may be left out: below 5 % of the permissible unbalance (ISO 21940-14,
/// from memory). Both in g mm; negligible: 1 or 0.
///
/// Refuses: numbers that cannot be what they stand for (101, 104), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_error_is_negligible(
    error_g_mm: f64,
    permissible_g_mm: f64,
    negligible: *mut i32,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let negligible = output(negligible, "negligible")?;
        let error = Unbalance::from_gram_millimetres(error_g_mm)?;
        negligible.write(is_negligible(error, Unbalance::from_gram_millimetres(permissible_g_mm)?).into());
        Ok(())
    })
}

/// The guard band of a limit with an expanded uncertainty k u, in one unit: a value up to L - k u is surely within, one
/// above L + k u surely outside. The verdict is that of cpoise_conformity_of.
///
/// Refuses: a limit that is not a positive number, an uncertainty that is negative or not finite (1401),
/// CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_guard_band(
    limit: f64,
    expanded_uncertainty: f64,
    accepted_up_to: *mut f64,
    rejected_above: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let accepted_up_to = output(accepted_up_to, "accepted_up_to")?;
        let rejected_above = output(rejected_above, "rejected_above")?;
        let band = GuardBand::new(limit, expanded_uncertainty)?;
        accepted_up_to.write(band.accepted_up_to());
        rejected_above.write(band.rejected_above());
        Ok(())
    })
}

/// How likely it is, 0 to 1, that the size of a vector is within a limit, where it was measured as so large with a standard
/// uncertainty per component: 1 - Q1(r/u, L/u) (S. O. Rice, Mathematical analysis of random noise, 1944; a flat prior). All
/// in one unit.
///
/// Refuses: size and limit outside 0 to 1e100, an uncertainty outside 1e-100 to 1e100 (1401), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_chance_of_vector_within(
    size: f64,
    standard_uncertainty_per_component: f64,
    limit: f64,
    chance: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let chance = output(chance, "chance")?;
        chance.write(chance_of_vector_within(size, standard_uncertainty_per_component, limit)?);
        Ok(())
    })
}

/// How likely it is, 0 to 1, that a value is within an upper limit, where it was measured with a standard uncertainty:
/// Phi((L - r)/u). All in one unit.
///
/// Refuses: value and limit outside 0 to 1e100, an uncertainty outside 1e-100 to 1e100 (1401), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_chance_of_value_within(
    value: f64,
    standard_uncertainty: f64,
    limit: f64,
    chance: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let chance = output(chance, "chance")?;
        chance.write(chance_of_value_within(value, standard_uncertainty, limit)?);
        Ok(())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    #[allow(clippy::float_cmp)] // written alike
    fn listed_grades_and_shares_are_those_of_rust() {
        let listed = BalanceGrade::LISTED.map(BalanceGrade::millimetres_per_second);
        let here = [
            CPOISE_GRADE_G0_4,
            CPOISE_GRADE_G1,
            CPOISE_GRADE_G2_5,
            CPOISE_GRADE_G6_3,
            CPOISE_GRADE_G16,
            CPOISE_GRADE_G40,
            CPOISE_GRADE_G100,
            CPOISE_GRADE_G250,
            CPOISE_GRADE_G630,
            CPOISE_GRADE_G1600,
            CPOISE_GRADE_G4000,
        ];
        assert_eq!(listed, here);
        assert_eq!(ShareLimits::new(CPOISE_SHARE_LEAST, CPOISE_SHARE_MOST_INBOARD), Ok(ShareLimits::INBOARD));
        assert_eq!(
            ShareLimits::new(CPOISE_SHARE_LEAST, CPOISE_SHARE_MOST_OVERHUNG),
            Ok(ShareLimits::OVERHUNG)
        );
        assert_eq!(ShareLimits::new(0.0, f64::INFINITY), Ok(ShareLimits::NONE));
    }
}
